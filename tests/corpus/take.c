#include "take.h"

#include "speech_list.h"

#include "core/str.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MARGIN_S 0.1      /* from the edge of a window, for what should be in time */
#define CLEARLY_OFF_S 0.4 /* beyond it, for what should not */
#define PEAK_MOST 0.9
#define HISS_DB 66.0 /* of the microphone, below the speech */

static double to_s(size_t samples)
{
    return (double)samples / CORPUS_RATE_HZ;
}

static size_t to_samples(double s)
{
    return s <= 0 ? 0 : (size_t)(s * CORPUS_RATE_HZ + 0.5);
}

/* When a piece should start on the practice clock: what leads up to a step (a filler, a restart)
 * just before it. NAN: any time. */
static double wanted_start_s(const struct corpus_pieces *pieces, size_t i)
{
    const struct corpus_piece *piece = &pieces->items[i];
    double lead_s = 0;
    while (isnan(piece->at_s)) {
        const struct corpus_piece *next = piece + 1;
        if (piece->step == CORPUS_NO_STEP || next == pieces->items + pieces->n ||
            next->step != piece->step) {
            return NAN;
        }
        lead_s += to_s(piece->sound.n) + next->gap_s;
        piece = next;
    }
    return piece->at_s - lead_s;
}

/* Gives every piece its start; returns the moment of the announcement. */
static double place(struct corpus_rng *rng, bool timed, bool from_start,
                    struct corpus_pieces *pieces)
{
    double clock_s = corpus_rng_between(rng, 0.3, 1.2);
    double from_s = 0;
    if (timed && !from_start && pieces->n_lead == 0) {
        from_s = corpus_rng_chance(rng, 0.3) ? 0 : corpus_rng_between(rng, 0.5, 2.5);
    }
    for (size_t i = 0; i < pieces->n; i++) {
        struct corpus_piece *piece = &pieces->items[i];
        if (timed && i == pieces->n_lead && i > 0) {
            from_s = clock_s + corpus_rng_between(rng, 0.3, 1.0);
        }
        double start_s = i == 0 ? clock_s : clock_s + piece->gap_s;
        double wanted_s = from_s + wanted_start_s(pieces, i);
        if (timed && isfinite(wanted_s)) {
            /* On time if there is room for it after a breath. */
            start_s = fmax(clock_s + fmin(piece->gap_s, 0.15), wanted_s);
        }
        piece->onset = to_samples(start_s);
        clock_s = to_s(piece->onset + piece->sound.n);
    }
    return round(from_s * 1000) / 1000;
}

static const struct corpus_fault *fault_of(const struct corpus_steps *steps, size_t phase)
{
    for (size_t i = 0; i < steps->n_faults; i++) {
        if (steps->faults[i].phase == phase) {
            return &steps->faults[i];
        }
    }
    return NULL;
}

/* The moment by which a step must be over, from the routine's rules. */
static double over_by_s(const struct corpus_scene *scene, size_t phase)
{
    double by_s = INFINITY;
    for (size_t i = 0; i < scene->routine->n_rules; i++) {
        const struct sl_rule *rule = &scene->routine->rules[i];
        if (rule->kind == SL_RULE_ROLLING && rule->phase == phase) {
            bool gear = scene->routine->phases[phase].moment == SL_MOMENT_GEAR;
            double change_s = gear ? scene->routine->timing.gear_change_s : 0;
            by_s = fmin(by_s, scene->plan.line_s - rule->seconds - change_s);
        }
    }
    return by_s;
}

/* A decision to go must not come long before enough can be seen. */
static double not_before_s(const struct corpus_scene *scene, const struct corpus_step *step)
{
    double from_s = 0;
    for (size_t i = 0; i < scene->routine->n_rules; i++) {
        const struct sl_rule *rule = &scene->routine->rules[i];
        bool looks = rule->kind == SL_RULE_LOOK_FIRST && rule->phase == step->phase;
        if (looks && step->settings.decision == SL_DECISION_GO) {
            from_s = fmax(from_s, scene->plan.see_s - rule->seconds);
        }
    }
    return from_s;
}

/* Whether a step that starts and ends at these moments is what the faults say of it. */
static bool in_time_as_meant(const struct corpus_run *run, const struct corpus_step *step,
                             const double span_s[2])
{
    const struct corpus_scene *scene = run->scene;
    const struct sl_window *window = &scene->plan.windows[step->phase];
    const struct corpus_fault *fault = fault_of(run->steps, step->phase);
    int kind = fault == NULL ? CORPUS_CORRECTED : fault->kind;
    if (step->out_of_place || kind == SL_FAULT_OUT_OF_ORDER) {
        return true;
    }
    if (kind == SL_FAULT_EARLY) {
        return span_s[0] < window->opens_s - CLEARLY_OFF_S;
    }
    if (kind == SL_FAULT_LATE) {
        return span_s[0] > window->closes_s + CLEARLY_OFF_S;
    }
    double opens_s = fmax(window->opens_s, not_before_s(scene, step));
    return span_s[0] >= opens_s + (opens_s > 0 ? MARGIN_S : 0) &&
           span_s[0] <= window->closes_s - MARGIN_S &&
           span_s[1] <= over_by_s(scene, step->phase) - MARGIN_S;
}

static bool as_meant(const struct corpus_run *run, const struct corpus_pieces *pieces,
                     double from_s)
{
    for (size_t i = 0; i < pieces->n; i++) {
        const struct corpus_piece *piece = &pieces->items[i];
        if (!piece->first) {
            continue;
        }
        size_t last = i;
        while (last + 1 < pieces->n && pieces->items[last + 1].step == piece->step) {
            last++;
        }
        double span_s[2] = {to_s(piece->onset) - from_s,
                            to_s(pieces->items[last].onset + pieces->items[last].sound.n) - from_s};
        if (!in_time_as_meant(run, &run->steps->items[piece->step], span_s)) {
            return false;
        }
    }
    return true;
}

/* Root mean square of all that is said. */
static double speech_rms(const struct corpus_pieces *pieces)
{
    double sum = 0;
    size_t n = 0;
    for (size_t i = 0; i < pieces->n; i++) {
        double rms = corpus_sound_rms(&pieces->items[i].sound);
        sum += rms * rms * (double)pieces->items[i].sound.n;
        n += pieces->items[i].sound.n;
    }
    return n == 0 ? 0 : sqrt(sum / (double)n);
}

static enum sl_status mix(struct corpus_rng *rng, const struct corpus_pieces *pieces,
                          const struct corpus_manner *manner, struct corpus_sound *sound,
                          struct sl_error *error)
{
    const struct corpus_piece *last = &pieces->items[pieces->n - 1];
    size_t n = last->onset + last->sound.n + to_samples(corpus_rng_between(rng, 0.5, 1.3));
    *sound = (struct corpus_sound){calloc(n, sizeof(float)), n};
    if (sound->samples == NULL) {
        return sl_fail_memory(error);
    }
    double level = pow(10, corpus_rng_between(rng, -30, -20) / 20);
    float gain = (float)(level / speech_rms(pieces));
    for (size_t i = 0; i < pieces->n; i++) {
        const struct corpus_piece *piece = &pieces->items[i];
        for (size_t k = 0; k < piece->sound.n; k++) {
            sound->samples[piece->onset + k] = gain * piece->sound.samples[k];
        }
    }
    struct corpus_background hiss = {CORPUS_NOISE_NONE, manner->speakers,
                                     level * pow(10, -HISS_DB / 20)};
    struct corpus_background noise = {manner->noise, manner->speakers,
                                      level * pow(10, -manner->snr_db / 20)};
    enum sl_status status = corpus_room_echo(rng, manner->room, sound, error);
    if (status == SL_OK) {
        status = corpus_room_noise(rng, &hiss, sound, error);
    }
    if (status == SL_OK && manner->noise != CORPUS_NOISE_NONE) {
        status = corpus_room_noise(rng, &noise, sound, error);
    }
    if (status == SL_OK) {
        status = corpus_microphone_apply(manner->microphone, sound, error);
    }
    return status;
}

/* Turns the whole down where it would be cut off. */
static void tame(struct corpus_sound *sound)
{
    double peak = 0;
    for (size_t i = 0; i < sound->n; i++) {
        peak = fmax(peak, fabs((double)sound->samples[i]));
    }
    for (size_t i = 0; peak > PEAK_MOST && i < sound->n; i++) {
        sound->samples[i] = (float)(sound->samples[i] * (PEAK_MOST / peak));
    }
}

static char *voice_text(const struct corpus_voice *voice)
{
    return sl_strf("%s pitch %.3f pace %.3f tract %.3f", voice->base, voice->pitch, voice->pace,
                   voice->tract);
}

static char *noise_text(const struct corpus_manner *manner)
{
    return manner->noise == CORPUS_NOISE_NONE
               ? sl_strdup("clean")
               : sl_strf("%s %g dB", corpus_noise_word(manner->noise), manner->snr_db);
}

static char *place_text(const struct corpus_manner *manner)
{
    return sl_strf("%s %s", corpus_room_word(manner->room),
                   corpus_microphone_word(manner->microphone));
}

static enum sl_status label_truths(const struct corpus_scene *scene,
                                   const struct corpus_steps *steps, struct corpus_labels *labels)
{
    enum sl_status status = SL_OK;
    for (size_t i = 0; i < steps->n_faults && status == SL_OK; i++) {
        const struct corpus_fault *fault = &steps->faults[i];
        const struct sl_phase *phases = scene->routine->phases;
        char *phase = fault->other == fault->phase
                          ? sl_strdup(phases[fault->phase].id)
                          : sl_strf("%s|%s", phases[fault->phase].id, phases[fault->other].id);
        status = phase == NULL ? SL_NO_MEMORY
                               : corpus_labels_truth(labels, corpus_fault_word(fault->kind), phase);
        free(phase);
    }
    return status;
}

static enum sl_status label(const struct corpus_run *run, const struct corpus_pieces *pieces,
                            struct corpus_labels *labels)
{
    labels->junction = sl_strdup(run->scene->junction.name);
    labels->routine = sl_strdup(run->scene->routine->name);
    labels->voice = voice_text(&run->manner->voice);
    labels->noise = noise_text(run->manner);
    labels->place = place_text(run->manner);
    labels->timed = run->steps->timed;
    bool whole = labels->junction != NULL && labels->routine != NULL && labels->voice != NULL &&
                 labels->noise != NULL && labels->place != NULL;
    enum sl_status status = whole ? SL_OK : SL_NO_MEMORY;
    for (size_t i = 0; i < pieces->n && status == SL_OK; i++) {
        const struct corpus_piece *piece = &pieces->items[i];
        struct corpus_said said = {.what = sl_strdup(piece->what),
                                   .start_s = to_s(piece->onset),
                                   .end_s = to_s(piece->onset + piece->sound.n),
                                   .settings = piece->settings,
                                   .text = piece->text};
        status = said.what == NULL ? SL_NO_MEMORY : corpus_labels_say(labels, &said);
        free(said.what);
    }
    return status == SL_OK ? label_truths(run->scene, run->steps, labels) : status;
}

enum sl_status corpus_take_make(struct corpus_rng *rng, const struct corpus_run *run,
                                struct corpus_take *take, struct sl_error *error)
{
    bool timed = run->steps->timed;
    struct corpus_take made = {0};
    struct corpus_pieces pieces = {0};
    enum sl_status status = corpus_pieces_speak(rng, run, &pieces, error);
    if (status == SL_OK) {
        made.labels.from_s = place(rng, timed, run->manner->from_start, &pieces);
        bool good = !timed || as_meant(run, &pieces, made.labels.from_s);
        status = good ? SL_OK : sl_fail(error, SL_INVALID, NULL, NULL, "there is no time for it");
    }
    if (status == SL_OK) {
        status = mix(rng, &pieces, run->manner, &made.sound, error);
    }
    if (status == SL_OK) {
        tame(&made.sound);
        made.labels.duration_s = to_s(made.sound.n);
        status = label(run, &pieces, &made.labels);
    }
    corpus_pieces_clear(&pieces);
    if (status == SL_OK) {
        *take = made;
    } else {
        corpus_take_clear(&made);
    }
    return status;
}

void corpus_take_clear(struct corpus_take *take)
{
    free(take->sound.samples);
    corpus_labels_clear(&take->labels);
    *take = (struct corpus_take){0};
}
