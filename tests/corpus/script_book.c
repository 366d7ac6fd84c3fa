#include "script.h"

#include "core/str.h"

#include <stdlib.h>
#include <string.h>

#define WALK_TRIES 600
#define WALK_LONGEST 40 /* arcs; no phrase has more */

/* A random arc out of `state` that belongs to `phrase`; NULL when there is none. */
static const struct sl_arc *draw_arc(struct corpus_rng *rng, const struct sl_graph *graph,
                                     size_t state, size_t phrase)
{
    const struct sl_arc *chosen = NULL;
    size_t seen = 0;
    for (size_t i = 0; i < graph->n_arcs; i++) {
        const struct sl_arc *arc = &graph->arcs[i];
        if (arc->from != state || arc->phrase != phrase) {
            continue;
        }
        seen++;
        if (corpus_rng_below(rng, seen) == 0) {
            chosen = arc;
        }
    }
    return chosen;
}

/* One way through the graph, from the hub back to it. */
static bool walk(struct corpus_rng *rng, const struct sl_phrasebook *book, size_t phrase,
                 struct corpus_phrase *said)
{
    struct sl_str text = {0};
    said->settings = book->phrases[phrase].settings;
    size_t state = 0;
    for (int arcs = 0; arcs < WALK_LONGEST; arcs++) {
        const struct sl_arc *arc = draw_arc(rng, &book->graph, state, phrase);
        if (arc == NULL) {
            break;
        }
        if (arc->word != NULL) {
            sl_str_addf(&text, "%s%s", text.length == 0 ? "" : " ", arc->word);
        }
        unsigned anew = sl_settings_named(&arc->settings) & ~(unsigned)SL_SET_MIRRORS;
        if ((anew & sl_settings_named(&said->settings)) != 0) {
            break; /* "my left indicator on right": nobody says that */
        }
        sl_settings_merge(&said->settings, &arc->settings);
        state = arc->to;
        if (state == 0) {
            said->text = sl_str_take(&text);
            return said->text != NULL;
        }
    }
    sl_str_clear(&text);
    return false;
}

static size_t draw_phrase(struct corpus_rng *rng, const struct sl_phrasebook *book, size_t phase)
{
    size_t chosen = book->n_phrases;
    size_t seen = 0;
    for (size_t i = 0; i < book->n_phrases; i++) {
        if (book->phrases[i].phase == phase) {
            seen++;
            chosen = corpus_rng_below(rng, seen) == 0 ? i : chosen;
        }
    }
    return chosen;
}

/* Names all that is required, and nothing but what is meant. */
static bool means(const struct corpus_phrase *phrase, const struct corpus_meaning *meaning)
{
    const struct sl_settings *said = &phrase->settings;
    unsigned named = sl_settings_named(said);
    bool side = said->signal == SL_SIGNAL_LEFT || said->signal == SL_SIGNAL_RIGHT;
    if (side && strncmp(phrase->text, "no ", 3) == 0) {
        return false; /* "no, signal left" is in the phrasebook for corrections */
    }
    unsigned required = meaning->required & sl_settings_named(&meaning->settings);
    struct sl_settings meant = sl_settings_only(&meaning->settings, named);
    return (required & ~named) == 0 && sl_settings_equal(said, &meant);
}

static bool draw_whole(struct corpus_rng *rng, const struct sl_phrasebook *book,
                       const struct corpus_meaning *meaning, struct corpus_phrase *said)
{
    for (int try = 0; try < WALK_TRIES; try++) {
        size_t phrase = draw_phrase(rng, book, meaning->phase);
        struct corpus_phrase drawn = {0};
        if (phrase == book->n_phrases || !walk(rng, book, phrase, &drawn)) {
            continue;
        }
        if (means(&drawn, meaning)) {
            *said = drawn;
            return true;
        }
        free(drawn.text);
    }
    return false;
}

/* Cuts what is meant into what can be said one after the other: each mirror, gear and clutch. */
static size_t cut(const struct corpus_meaning *meaning,
                  struct corpus_meaning parts[CORPUS_PHRASES_MAX])
{
    const struct sl_settings *settings = &meaning->settings;
    size_t n = 0;
    if (settings->n_mirrors > 1) {
        for (; n < settings->n_mirrors; n++) {
            parts[n] = (struct corpus_meaning){.phase = meaning->phase, .required = SL_SET_ALL};
            sl_settings_add_mirror(&parts[n].settings, settings->mirrors[n]);
        }
        return n;
    }
    if (settings->gear > 0 && settings->clutch != SL_CLUTCH_UNSAID) {
        parts[0] = (struct corpus_meaning){.phase = meaning->phase, .required = SL_SET_ALL};
        parts[1] = parts[0];
        parts[0].settings.gear = settings->gear;
        parts[1].settings.clutch = settings->clutch;
        return 2;
    }
    parts[0] = *meaning;
    return 1;
}

enum sl_status corpus_script_book(struct corpus_rng *rng, const struct sl_phrasebook *book,
                                  const struct corpus_meaning *meaning,
                                  struct corpus_wording *wording, struct sl_error *error)
{
    struct corpus_meaning parts[CORPUS_PHRASES_MAX] = {*meaning};
    size_t n_parts = corpus_rng_chance(rng, 0.5) ? cut(meaning, parts) : 1;
    for (size_t i = 0; i < n_parts; i++) {
        if (!draw_whole(rng, book, &parts[i], &wording->phrases[wording->n])) {
            return sl_fail(error, SL_NOT_FOUND, "phrasebook", NULL,
                           "the phrasebook has no words for this step");
        }
        wording->n++;
    }
    return SL_OK;
}

static bool is_understood(const struct sl_phrasebook *book, size_t phase,
                          const struct corpus_phrase *phrase)
{
    struct sl_text_match *matches = NULL;
    size_t n_matches = 0;
    if (sl_phrasebook_match(book, phrase->text, &matches, &n_matches, NULL) != SL_OK) {
        return false;
    }
    struct sl_settings heard = {0};
    size_t next = 0;
    bool good = n_matches > 0;
    for (size_t i = 0; i < n_matches && good; i++) {
        size_t of = book->phrases[matches[i].phrase].phase;
        good = matches[i].first_word == next && (of == phase || of == SL_PHRASE_FILLER);
        next = matches[i].first_word + matches[i].n_words;
        sl_settings_merge(&heard, &matches[i].settings);
    }
    free(matches);
    /* The last word may not be left over: a word of another phase after it would match nothing. */
    size_t words = 1;
    for (const char *c = phrase->text; *c != '\0'; c++) {
        words += *c == ' ' ? 1 : 0;
    }
    return good && next == words && sl_settings_equal(&heard, &phrase->settings);
}

bool corpus_script_is_in_book(const struct sl_phrasebook *book, size_t phase,
                              const struct corpus_wording *wording)
{
    for (size_t i = 0; i < wording->n; i++) {
        if (!is_understood(book, phase, &wording->phrases[i])) {
            return false;
        }
    }
    return true;
}

bool corpus_script_is_nothing(const struct sl_phrasebook *book, const char *text)
{
    struct sl_text_match *matches = NULL;
    size_t n_matches = 0;
    bool nothing = sl_phrasebook_match(book, text, &matches, &n_matches, NULL) == SL_OK;
    for (size_t i = 0; i < n_matches && nothing; i++) {
        size_t phase = book->phrases[matches[i].phrase].phase;
        nothing = phase == SL_PHRASE_FILLER || phase == SL_PHRASE_CORRECTION;
    }
    free(matches);
    return nothing;
}
