#include "speech_list.h"

#include "script.h"

#include "core/str.h"
#include "core/units.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* All that the functions below need. */
struct speaking {
    struct corpus_rng *rng;
    const struct corpus_scene *scene;
    const struct corpus_manner *manner;
    struct corpus_pieces *pieces;
};

static enum sl_status add_piece(const struct speaking *speaking, const char *what,
                                const struct corpus_phrase *phrase, struct corpus_piece **added,
                                struct sl_error *error)
{
    struct corpus_pieces *pieces = speaking->pieces;
    void *grown = sl_grow(pieces->items, pieces->n, &pieces->room, sizeof *pieces->items);
    if (grown == NULL) {
        return sl_fail_memory(error);
    }
    pieces->items = grown;
    struct corpus_piece *piece = &pieces->items[pieces->n];
    *piece = (struct corpus_piece){.what = what,
                                   .text = sl_strdup(phrase->text),
                                   .settings = phrase->settings,
                                   .step = CORPUS_NO_STEP,
                                   .at_s = NAN};
    if (piece->text == NULL) {
        return sl_fail_memory(error);
    }
    pieces->n++;
    enum sl_status status = corpus_voice_speak(
        &speaking->manner->speakers, &speaking->manner->voice, piece->text, &piece->sound, error);
    if (status != SL_OK) {
        return status;
    }
    float loudness = (float)pow(10, corpus_rng_between(speaking->rng, -2, 2) / 20);
    for (size_t i = 0; i < piece->sound.n; i++) {
        piece->sound.samples[i] *= loudness;
    }
    *added = piece;
    return SL_OK;
}

/* A filler, a correction, a sentence about something else. */
static enum sl_status add_aside(const struct speaking *speaking, const char *what, const char *text,
                                double gap_s, struct sl_error *error)
{
    char *copy = sl_strdup(text);
    struct corpus_phrase phrase = {.text = copy};
    struct corpus_piece *piece = NULL;
    enum sl_status status =
        copy == NULL ? sl_fail_memory(error) : add_piece(speaking, what, &phrase, &piece, error);
    free(copy);
    if (status == SL_OK) {
        piece->gap_s = gap_s;
    }
    return status;
}

/* True with the chance `p`; draws no number where there is none. */
static bool chance(const struct speaking *speaking, double p)
{
    return p > 0 && corpus_rng_chance(speaking->rng, p);
}

#define TRIES 40

typedef enum sl_status script(struct corpus_rng *rng, const struct corpus_meaning *meaning,
                              struct corpus_wording *wording, struct sl_error *error);

/* From lists of ours, until the phrasebook understands it or, `outside`, does not. SL_NOT_FOUND
 * when nothing like that is among them. */
static enum sl_status word_own(const struct speaking *speaking,
                               const struct corpus_meaning *meaning, bool outside,
                               struct corpus_wording *wording, struct sl_error *error)
{
    const struct sl_phrasebook *book = &speaking->scene->routine->phrasebook;
    script *write = outside ? corpus_script_outside : corpus_script_own;
    for (int try = 0; try < TRIES; try++) {
        corpus_wording_clear(wording);
        enum sl_status status = write(speaking->rng, meaning, wording, error);
        if (status == SL_NO_MEMORY ||
            (status == SL_OK &&
             corpus_script_is_in_book(book, meaning->phase, wording) != outside)) {
            return status;
        }
    }
    corpus_wording_clear(wording);
    return SL_NOT_FOUND;
}

/* Outside the phrasebook, from our own lists as far as it understands them, or from the phrasebook.
 */
static enum sl_status word(const struct speaking *speaking, const struct corpus_meaning *meaning,
                           struct corpus_wording *wording, struct sl_error *error)
{
    const struct corpus_manner *manner = speaking->manner;
    if (manner->own_words) {
        return corpus_script_own(speaking->rng, meaning, wording, error);
    }
    enum sl_status status = SL_NOT_FOUND;
    if (chance(speaking, manner->outside_share)) {
        status = word_own(speaking, meaning, true, wording, error);
    }
    if (status == SL_NOT_FOUND && !corpus_rng_chance(speaking->rng, manner->book_share)) {
        status = word_own(speaking, meaning, false, wording, error);
    }
    if (status == SL_NOT_FOUND) {
        status = corpus_script_book(speaking->rng, &speaking->scene->routine->phrasebook, meaning,
                                    wording, error);
    }
    return status;
}

/* Puts a hesitation between two words; false when memory runs out. */
static bool hesitate(struct corpus_rng *rng, struct corpus_phrase *phrase)
{
    size_t spaces = 0;
    for (const char *c = phrase->text; *c != '\0'; c++) {
        spaces += *c == ' ' ? 1 : 0;
    }
    if (spaces == 0) {
        return true;
    }
    const char *at = phrase->text;
    for (size_t skip = corpus_rng_below(rng, spaces) + 1; skip > 0; skip--) {
        at = strchr(at, ' ') + 1;
    }
    size_t before = (size_t)(at - phrase->text) - 1;
    bool comma = before > 0 && phrase->text[before - 1] == ',';
    char *text = sl_strf("%.*s%s %s, %s", (int)before, phrase->text, comma ? "" : ",",
                         corpus_script_hesitation(rng), at);
    if (text == NULL) {
        return false;
    }
    free(phrase->text);
    phrase->text = text;
    return true;
}

/* The step's words with these settings; `gap_s` before the first. */
static enum sl_status add_words(const struct speaking *speaking, const struct corpus_step *step,
                                const struct sl_settings *settings, double gap_s,
                                struct sl_error *error)
{
    struct corpus_meaning meaning = {step->phase, step->required, *settings};
    struct corpus_wording wording = {0};
    enum sl_status status = word(speaking, &meaning, &wording, error);
    if (status == SL_OK && chance(speaking, speaking->manner->hesitation_chance / 2)) {
        size_t in = corpus_rng_below(speaking->rng, wording.n);
        status = hesitate(speaking->rng, &wording.phrases[in]) ? SL_OK : sl_fail_memory(error);
    }
    for (size_t i = 0; i < wording.n && status == SL_OK; i++) {
        struct corpus_piece *piece = NULL;
        status = add_piece(speaking, speaking->scene->routine->phases[step->phase].id,
                           &wording.phrases[i], &piece, error);
        if (status != SL_OK) {
            break;
        }
        piece->gap_s = i == 0 ? gap_s : corpus_rng_between(speaking->rng, 0.06, 0.3);
        if (step->mumbled) {
            corpus_room_mumble(speaking->rng, &piece->sound);
        }
    }
    corpus_wording_clear(&wording);
    return status;
}

/* The twin of a setting, by itself: "left" where right is meant; NULL where there is none. */
static const char *twin_word(const struct sl_settings *settings)
{
    for (size_t i = 0; i < settings->n_mirrors; i++) {
        if (settings->mirrors[i] != SL_MIRROR_INTERIOR) {
            return settings->mirrors[i] == SL_MIRROR_LEFT ? "right" : "left";
        }
    }
    if (settings->signal == SL_SIGNAL_LEFT || settings->signal == SL_SIGNAL_RIGHT) {
        return settings->signal == SL_SIGNAL_LEFT ? "right" : "left";
    }
    if (settings->speed_mps > 0) {
        return sl_mph_from_mps(settings->speed_mps) < 7.5 ? "ten" : "five";
    }
    return NULL;
}

/* The first words of one way to say the step; NULL when it is one word or none was found. */
static enum sl_status first_words(const struct speaking *speaking, const struct corpus_step *step,
                                  char **words, struct sl_error *error)
{
    const struct sl_settings *settings = step->corrected ? &step->slip : &step->settings;
    struct corpus_meaning meaning = {step->phase, 0, *settings};
    struct corpus_wording wording = {0};
    enum sl_status status = word(speaking, &meaning, &wording, error);
    const char *text = status == SL_OK ? wording.phrases[0].text : "";
    const char *end = strchr(text, ' ');
    if (end != NULL && corpus_rng_chance(speaking->rng, 0.5)) {
        const char *second = strchr(end + 1, ' ');
        end = second == NULL ? end : second;
    }
    *words = end == NULL ? NULL : sl_strf("%.*s", (int)(end - text), text);
    if (status == SL_OK && end != NULL && *words == NULL) {
        status = sl_fail_memory(error);
    }
    corpus_wording_clear(&wording);
    return status;
}

/*
 * A false start: the first words of the step, broken off where the phrasebook does not understand
 * them yet, and often a word of correction ("clutch", "no"); or a twin taken back ("left", "no").
 * Nothing is said where it would be understood.
 */
static enum sl_status add_restart(const struct speaking *speaking, const struct corpus_step *step,
                                  double gap_s, struct sl_error *error)
{
    struct corpus_rng *rng = speaking->rng;
    const char *twin = corpus_rng_chance(rng, 0.4) ? twin_word(&step->settings) : NULL;
    char *words = NULL;
    enum sl_status status = twin == NULL ? first_words(speaking, step, &words, error) : SL_OK;
    const char *text = twin == NULL ? words : twin;
    const struct sl_phrasebook *book = &speaking->scene->routine->phrasebook;
    if (status == SL_OK && text != NULL && corpus_script_is_nothing(book, text)) {
        status = add_aside(speaking, "restart", text, gap_s, error);
        if (status == SL_OK && (twin != NULL || corpus_rng_chance(rng, 0.5))) {
            status = add_aside(speaking, "correction", corpus_script_correction(rng),
                               corpus_rng_between(rng, 0.05, 0.3), error);
        }
    }
    free(words);
    return status;
}

/* What comes before a step at times: a filler, a hesitation, a false start. */
static enum sl_status add_lead(const struct speaking *speaking, const struct corpus_step *step,
                               double *gap_s, struct sl_error *error)
{
    struct corpus_rng *rng = speaking->rng;
    const struct corpus_manner *manner = speaking->manner;
    size_t before = speaking->pieces->n;
    enum sl_status status = SL_OK;
    if (corpus_rng_chance(rng, manner->filler_chance)) {
        status = add_aside(speaking, "filler", corpus_script_filler(rng), *gap_s, error);
    }
    if (status == SL_OK && chance(speaking, manner->hesitation_chance / 2)) {
        double pause_s = before == speaking->pieces->n ? *gap_s : 0.2;
        status = add_aside(speaking, "hesitation", corpus_script_hesitation(rng), pause_s, error);
    }
    if (status == SL_OK && chance(speaking, manner->restart_chance)) {
        double pause_s = before == speaking->pieces->n ? *gap_s : 0.2;
        status = add_restart(speaking, step, pause_s, error);
    }
    if (speaking->pieces->n > before) {
        *gap_s = corpus_rng_between(rng, 0.06, 0.35);
    }
    return status;
}

/* What leads up to it, a slip with its correction if there is one, then the words. */
static enum sl_status add_step(const struct speaking *speaking, const struct corpus_step *step,
                               size_t index, struct sl_error *error)
{
    struct corpus_rng *rng = speaking->rng;
    size_t first = speaking->pieces->n;
    double gap_s = corpus_rng_between(rng, 0.4, 1.7);
    enum sl_status status = add_lead(speaking, step, &gap_s, error);
    size_t own = speaking->pieces->n;
    if (status == SL_OK && step->corrected) {
        status = add_words(speaking, step, &step->slip, gap_s, error);
        gap_s = corpus_rng_between(rng, 0.08, 0.3);
        if (status == SL_OK) {
            status = add_aside(speaking, "correction", corpus_script_correction(rng),
                               corpus_rng_between(rng, 0.1, 0.4), error);
        }
    }
    if (status == SL_OK) {
        status = add_words(speaking, step, &step->settings, gap_s, error);
    }
    for (size_t i = first; i < speaking->pieces->n; i++) {
        speaking->pieces->items[i].step = index;
    }
    if (own < speaking->pieces->n) {
        speaking->pieces->items[own].first = true;
        speaking->pieces->items[own].at_s = step->at_s;
    }
    return status;
}

static enum sl_status maybe_off_topic(const struct speaking *speaking, struct sl_error *error)
{
    if (!corpus_rng_chance(speaking->rng, speaking->manner->off_topic_chance)) {
        return SL_OK;
    }
    return add_aside(speaking, "off-topic", corpus_script_off_topic(speaking->rng),
                     corpus_rng_between(speaking->rng, 0.5, 1.5), error);
}

enum sl_status corpus_pieces_speak(struct corpus_rng *rng, const struct corpus_run *run,
                                   struct corpus_pieces *pieces, struct sl_error *error)
{
    const struct corpus_steps *steps = run->steps;
    struct speaking speaking = {rng, run->scene, run->manner, pieces};
    enum sl_status status = maybe_off_topic(&speaking, error);
    pieces->n_lead = pieces->n;
    /* Untimed, the second sentence comes between two steps; timed, there is no time for it. */
    size_t between = steps->timed ? steps->n : corpus_rng_below(rng, steps->n + 1);
    for (size_t i = 0; i <= steps->n && status == SL_OK; i++) {
        if (i == between) {
            status = maybe_off_topic(&speaking, error);
        }
        if (status == SL_OK && i < steps->n) {
            status = add_step(&speaking, &steps->items[i], i, error);
        }
    }
    return status;
}

void corpus_pieces_clear(struct corpus_pieces *pieces)
{
    for (size_t i = 0; i < pieces->n; i++) {
        free(pieces->items[i].text);
        free(pieces->items[i].sound.samples);
    }
    free(pieces->items);
    *pieces = (struct corpus_pieces){0};
}
