#include "speech/recogniser.h"

#include "core/str.h"
#include "speech/dither.h"
#include "speech/findings.h"
#include "speech/searches.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define WHOLE_SAMPLES ((size_t)60 * SL_SPEECH_RATE_HZ) /* recognised at once, at most */
#define CUT_FROM (WHOLE_SAMPLES / 4 * 3)               /* a cut lies behind this sample */
#define QUIET_FRAMES ((size_t)30)                      /* a cut is in the middle of 0.3 s */

struct sl_recogniser {
    struct sl_recogniser_settings settings;
    struct sl_paths paths;
    struct sl_decoder *decoder;
    int16_t *samples; /* not recognised yet */
    size_t n_samples, room;
    size_t done_samples; /* recognised before */
};

struct sl_recogniser_settings sl_recogniser_defaults(void)
{
    return (struct sl_recogniser_settings){
        .language_weight = 4,
        .loop_log10 = -1.5,
        .entry_log10 = -3,
        .silence_log10 = -2.3,
        .margin_s = 0.3,
        .fit_below_db = 32,
        .confidence_bias = 7.2,
        .confidence_score = 1,
        .confidence_worst = 0.43,
        .confidence_length = 3.9,
        .confidence_noise = 0.3,
        .confidence_stray = -4.5,
        .adapted_bias = 8.8,
        .adapted_noisy_bias = 7.6,
        .twin_even_nats = 8,
        .twin_scale_nats = 27.7,
        .longest_pause_s = 0.8,
        .unclear_below = 0.6,
        .drop_below = 0.15,
        .sure_from = 0.6,
        .likely_from = 0.3,
        .doubt_below = 0.9,
    };
}

static enum sl_status make_decoder(struct sl_recogniser *recogniser,
                                   const struct sl_phrasebook *book,
                                   const struct sl_recogniser_paths *paths, struct sl_error *error)
{
    struct sl_searches searches = {0};
    enum sl_status status = sl_searches_make(book, paths, &recogniser->settings, &searches, error);
    if (status == SL_OK) {
        status = sl_decoder_new(&searches.setup, &recogniser->decoder, error);
    }
    sl_searches_clear(&searches);
    return status;
}

enum sl_status sl_recogniser_new(const struct sl_routine *routine,
                                 const struct sl_recogniser_paths *paths,
                                 const struct sl_recogniser_settings *settings,
                                 struct sl_recogniser **recogniser, struct sl_error *error)
{
    struct sl_recogniser *made = calloc(1, sizeof(*made));
    if (made == NULL) {
        return sl_fail_memory(error);
    }
    made->settings = settings != NULL ? *settings : sl_recogniser_defaults();
    enum sl_status status = sl_paths_copy(&routine->phrasebook, &made->paths, error);
    if (status == SL_OK) {
        status = make_decoder(made, &routine->phrasebook, paths, error);
    }
    if (status != SL_OK) {
        sl_recogniser_free(made);
        return status;
    }
    *recogniser = made;
    return SL_OK;
}

/* Adds the speech between two frames as not understood, each burst of it that may be a phrase. */
static enum sl_status add_not_understood(const struct sl_recogniser *recogniser,
                                         const struct sl_findings *findings,
                                         const size_t between[2], struct sl_heard_list *heard,
                                         struct sl_error *error)
{
    size_t from = between[0];
    double offset_s = (double)recogniser->done_samples / SL_SPEECH_RATE_HZ;
    struct sl_burst burst;
    enum sl_status status = SL_OK;
    while (status == SL_OK && sl_findings_burst(findings, &from, between[1], &burst)) {
        char nothing[] = "";
        struct sl_heard item = {.phase = SL_PHRASE_FILLER,
                                .text = nothing,
                                .start_s = offset_s + (double)burst.first * SL_FRAME_S,
                                .end_s = offset_s + (double)burst.end * SL_FRAME_S,
                                .unclear = true};
        status = sl_heard_add(heard, &item, error);
    }
    return status;
}

static struct sl_heard heard_of(const struct sl_recogniser *recogniser,
                                const struct sl_findings *findings, size_t which)
{
    const struct sl_span *span = &findings->spans.items[which];
    const struct sl_finding *finding = &findings->each[which];
    size_t onset = sl_activity_onset(&findings->activity, span->start_frame, span->end_frame);
    const struct sl_recogniser_settings *settings = &recogniser->settings;
    double offset_s = (double)recogniser->done_samples / SL_SPEECH_RATE_HZ;
    return (struct sl_heard){
        .phase = span->phase,
        .text = span->text,
        .start_s = offset_s + (double)onset * SL_FRAME_S,
        .end_s = offset_s + (double)span->end_frame * SL_FRAME_S,
        .confidence = finding->confidence,
        .unclear = finding->confidence < settings->unclear_below ||
                   finding->evidence.pause_s > settings->longest_pause_s,
        .settings = span->settings,
    };
}

static enum sl_status report(const struct sl_recogniser *recogniser,
                             const struct sl_findings *findings, struct sl_heard_list *heard,
                             struct sl_error *error)
{
    const struct sl_recogniser_settings *settings = &recogniser->settings;
    size_t between[2] = {0, 0}; /* phrases, in frames */
    enum sl_status status = SL_OK;
    for (size_t i = 0; i < findings->spans.count && status == SL_OK; i++) {
        const struct sl_span *span = &findings->spans.items[i];
        const struct sl_heard item = heard_of(recogniser, findings, i);
        if (settings->trace != NULL) {
            settings->trace(settings->trace_user, &item, &findings->each[i].evidence);
        }
        if (item.confidence < settings->drop_below) {
            continue;
        }
        between[1] = span->start_frame;
        status = add_not_understood(recogniser, findings, between, heard, error);
        if (status == SL_OK) {
            status = sl_heard_add(heard, &item, error);
        }
        between[0] = span->end_frame;
    }
    between[1] = findings->activity.n_frames;
    return status == SL_OK ? add_not_understood(recogniser, findings, between, heard, error)
                           : status;
}

/* Recognises the first n_samples of what is kept and drops them. */
static enum sl_status recognise(struct sl_recogniser *recogniser, size_t n_samples,
                                struct sl_heard_list *heard, struct sl_error *error)
{
    if (n_samples == 0) {
        return SL_OK;
    }
    const struct sl_finder finder = {recogniser->decoder, &recogniser->paths,
                                     &recogniser->settings};
    struct sl_findings findings = {0};
    enum sl_status status =
        sl_findings_make(&finder, recogniser->samples, n_samples, &findings, error);
    if (status == SL_OK) {
        status = report(recogniser, &findings, heard, error);
    }
    sl_findings_clear(&findings);
    recogniser->n_samples -= n_samples;
    recogniser->done_samples += n_samples;
    memmove(recogniser->samples, recogniser->samples + n_samples,
            recogniser->n_samples * sizeof(*recogniser->samples));
    return status;
}

/* The middle of the quietest QUIET_FRAMES behind CUT_FROM, in samples. */
static size_t quietest(const int16_t *samples, size_t n_samples)
{
    double best = INFINITY;
    size_t cut = n_samples;
    double window = 0;
    size_t n = 0;
    double energies[QUIET_FRAMES] = {0};
    for (size_t at = CUT_FROM; at + SL_FRAME_SAMPLES <= n_samples; at += SL_FRAME_SAMPLES) {
        double energy = 0;
        for (size_t i = 0; i < SL_FRAME_SAMPLES; i++) {
            energy += (double)samples[at + i] * samples[at + i];
        }
        window += energy - energies[n % QUIET_FRAMES];
        energies[n % QUIET_FRAMES] = energy;
        n++;
        if (n >= QUIET_FRAMES && window < best) {
            best = window;
            cut = at + SL_FRAME_SAMPLES - (size_t)(QUIET_FRAMES / 2) * SL_FRAME_SAMPLES;
        }
    }
    return cut;
}

/* Room for n samples. */
static bool make_room(struct sl_recogniser *recogniser, size_t n)
{
    if (n <= recogniser->room) {
        return true;
    }
    size_t room = recogniser->room == 0 ? WHOLE_SAMPLES / 16 : recogniser->room;
    while (room < n) {
        room *= 2;
    }
    int16_t *samples = realloc(recogniser->samples, room * sizeof(*samples));
    if (samples == NULL) {
        return false;
    }
    recogniser->samples = samples;
    recogniser->room = room;
    return true;
}

enum sl_status sl_recogniser_feed(struct sl_recogniser *recogniser, const int16_t *samples,
                                  size_t n_samples, struct sl_heard_list *heard,
                                  struct sl_error *error)
{
    while (n_samples > 0) {
        size_t n = WHOLE_SAMPLES - recogniser->n_samples;
        if (n > n_samples) {
            n = n_samples;
        }
        if (!make_room(recogniser, recogniser->n_samples + n)) {
            return sl_fail_memory(error);
        }
        sl_dither_copy(recogniser->samples + recogniser->n_samples, samples, n,
                       recogniser->done_samples + recogniser->n_samples);
        recogniser->n_samples += n;
        samples += n;
        n_samples -= n;
        if (recogniser->n_samples == WHOLE_SAMPLES) {
            enum sl_status status =
                recognise(recogniser, quietest(recogniser->samples, WHOLE_SAMPLES), heard, error);
            if (status != SL_OK) {
                return status;
            }
        }
    }
    return SL_OK;
}

enum sl_status sl_recogniser_finish(struct sl_recogniser *recogniser, struct sl_heard_list *heard,
                                    struct sl_error *error)
{
    enum sl_status status = recognise(recogniser, recogniser->n_samples, heard, error);
    recogniser->n_samples = 0;
    recogniser->done_samples = 0;
    return status;
}

void sl_recogniser_free(struct sl_recogniser *recogniser)
{
    if (recogniser == NULL) {
        return;
    }
    sl_decoder_free(recogniser->decoder);
    sl_paths_clear(&recogniser->paths);
    free(recogniser->samples);
    free(recogniser);
}
