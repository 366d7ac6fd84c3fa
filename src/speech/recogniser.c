#include "speech/recogniser.h"

#include "core/str.h"
#include "speech/activity.h"
#include "speech/confidence.h"
#include "speech/decoder.h"
#include "speech/decoder_twins.h"
#include "speech/dither.h"
#include "speech/phrases.h"
#include "speech/searches.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define WHOLE_SAMPLES ((size_t)60 * SL_SPEECH_RATE_HZ) /* recognised at once, at most */
#define CUT_FROM (WHOLE_SAMPLES / 4 * 3)               /* a cut lies behind this sample */
#define QUIET_FRAMES ((size_t)30)                      /* a cut is in the middle of 0.3 s */
#define STANDS_OUT_DB 6.0 /* with less, the loudest of the sound may be noise */
/* Fainter sound is a few steps of its samples: the dither beneath it is no noise of a room, and
 * what a canceller leaves of a cue lies here too. A voice at arm's length is at -35 dBFS or more.
 */
#define FAINT_DB (-65.0)
#define TWIN_FRAMES ((size_t)5)   /* around a phrase: another word may be longer */
#define APART_FRAMES ((size_t)30) /* without speech: what follows is not the same */

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
        .confidence_bias = 5.6,
        .confidence_gain = 0.9,
        .confidence_worst = 0.5,
        .confidence_length = 3.4,
        .confidence_noise = 0.3,
        .confidence_stray = -6.2,
        .fitted_bias = 2.9,
        .twin_even_nats = 17,
        .twin_scale_nats = 27.7,
        .longest_pause_s = 0.8,
        .unclear_below = 0.45,
        .drop_below = 0.15,
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

/* Both searches over a stretch of sound and what came of them. */
struct findings {
    struct sl_activity activity;
    struct sl_segments words, loop;
    struct sl_loop_scores loop_scores;
    struct sl_spans spans;
};

static void findings_clear(struct findings *findings)
{
    sl_spans_clear(&findings->spans);
    sl_loop_scores_clear(&findings->loop_scores);
    sl_segments_clear(&findings->loop);
    sl_segments_clear(&findings->words);
    sl_activity_clear(&findings->activity);
}

/* True when noise is heard behind a voice, so that the acoustic model is to be fitted to it. */
static bool is_noisy(const struct sl_recogniser *recogniser, const struct sl_activity *activity)
{
    return activity->speech_db >= FAINT_DB && activity->snr_db < recogniser->settings.fit_below_db;
}

static enum sl_status search(struct sl_recogniser *recogniser, size_t n_samples,
                             struct findings *findings, struct sl_error *error)
{
    double margin_s = recogniser->settings.margin_s;
    enum sl_status status =
        sl_activity_measure(recogniser->samples, n_samples, margin_s, &findings->activity, error);
    if (status == SL_OK) {
        const struct sl_activity *activity = &findings->activity;
        struct sl_stretch stretch = {
            .samples = recogniser->samples,
            .n_samples = n_samples,
            .speech = margin_s < 0 ? NULL : activity->speech,
            .noise = margin_s >= 0 && is_noisy(recogniser, activity) ? activity->noise : NULL,
        };
        status = sl_decoder_load(recogniser->decoder, &stretch, error);
    }
    if (status == SL_OK) {
        status = sl_decoder_run(recogniser->decoder, SL_SEARCH_PHRASES, &findings->words, error);
    }
    if (status == SL_OK) {
        status = sl_spans_gather(&recogniser->paths, &findings->words, &findings->spans, error);
    }
    if (status != SL_OK || findings->spans.count == 0) {
        return status; /* nothing to be confident about */
    }
    status = sl_decoder_run(recogniser->decoder, SL_SEARCH_LOOP, &findings->loop, error);
    if (status == SL_OK) {
        status = sl_loop_scores_fill(&findings->loop, &findings->loop_scores, error);
    }
    return status;
}

/* What speech that was not understood has to be like so that it may have been a phrase, in frames.
 */
struct burst_limits {
    size_t loud;    /* at least */
    size_t longest; /* at most, from its first to its last; longer is about something else */
};

/* In noise little of a phrase may stand out, and what comes before and after it seems one with it.
 */
static struct burst_limits burst_limits(const struct sl_recogniser *recogniser,
                                        const struct findings *findings)
{
    return is_noisy(recogniser, &findings->activity)
               ? (struct burst_limits){.loud = 25, .longest = SIZE_MAX}
               : (struct burst_limits){.loud = 45, .longest = 200};
}

static enum sl_status add_burst(const struct sl_recogniser *recogniser, size_t first, size_t end,
                                struct sl_heard_list *heard, struct sl_error *error)
{
    double offset_s = (double)recogniser->done_samples / SL_SPEECH_RATE_HZ;
    char nothing[] = "";
    struct sl_heard item = {.phase = SL_PHRASE_FILLER,
                            .text = nothing,
                            .start_s = offset_s + (double)first * SL_FRAME_S,
                            .end_s = offset_s + (double)end * SL_FRAME_S,
                            .unclear = true};
    return sl_heard_add(heard, &item, error);
}

/* Adds the speech between two frames as not understood, each burst of it that may be a phrase. */
static enum sl_status add_not_understood(const struct sl_recogniser *recogniser,
                                         const struct findings *findings, const size_t between[2],
                                         struct sl_heard_list *heard, struct sl_error *error)
{
    const struct sl_activity *activity = &findings->activity;
    if (activity->snr_db < STANDS_OUT_DB || activity->speech_db < FAINT_DB) {
        return SL_OK;
    }
    struct burst_limits limits = burst_limits(recogniser, findings);
    size_t first = 0; /* of the burst at hand, and the end of its last loud frame */
    size_t end = 0;
    size_t n_loud = 0;
    size_t to = between[1] < activity->n_frames ? between[1] : activity->n_frames;
    enum sl_status status = SL_OK;
    for (size_t f = between[0]; f <= to && status == SL_OK; f++) {
        if (f == to || f > end + APART_FRAMES) {
            if (n_loud >= limits.loud && end - first <= limits.longest) {
                status = add_burst(recogniser, first, end, heard, error);
            }
            n_loud = 0;
        }
        if (f < to && sl_activity_loud(activity, f)) {
            first = n_loud == 0 ? f : first;
            end = f + 1;
            n_loud++;
        }
    }
    return status;
}

static enum sl_status hold_against_twins(const struct sl_recogniser *recogniser,
                                         const struct findings *findings,
                                         const struct sl_span *span, struct sl_evidence *evidence,
                                         struct sl_error *error)
{
    struct sl_twins twins = {0};
    const size_t frames[2] = {
        span->start_frame > TWIN_FRAMES ? span->start_frame - TWIN_FRAMES : 0,
        span->end_frame + TWIN_FRAMES,
    };
    enum sl_status status =
        sl_twins_find(&recogniser->paths, span, &findings->words, &twins, error);
    if (status == SL_OK) {
        status =
            sl_decoder_twins(recogniser->decoder, &twins, frames, &evidence->twin_margin, error);
    }
    sl_twins_clear(&twins);
    return status;
}

static enum sl_status report(const struct sl_recogniser *recogniser,
                             const struct findings *findings, struct sl_heard_list *heard,
                             struct sl_error *error)
{
    const struct sl_recogniser_settings *settings = &recogniser->settings;
    double offset_s = (double)recogniser->done_samples / SL_SPEECH_RATE_HZ;
    const bool fitted = sl_decoder_fitted(recogniser->decoder);
    size_t between[2] = {0, 0}; /* phrases, in frames */
    for (size_t i = 0; i < findings->spans.count; i++) {
        const struct sl_span *span = &findings->spans.items[i];
        struct sl_evidence evidence =
            sl_evidence_of(span, &findings->words, &findings->loop_scores,
                           fitted ? &findings->activity : NULL, findings->activity.snr_db);
        double confidence = sl_confidence(&evidence, settings);
        enum sl_status status = SL_OK;
        if (confidence >= settings->unclear_below) {
            status = hold_against_twins(recogniser, findings, span, &evidence, error);
            confidence = sl_confidence(&evidence, settings);
        }
        if (status != SL_OK) {
            return status;
        }
        struct sl_heard item = {
            .phase = span->phase,
            .text = span->text,
            .start_s = offset_s + (double)span->start_frame * SL_FRAME_S,
            .end_s = offset_s + (double)span->end_frame * SL_FRAME_S,
            .confidence = confidence,
            .unclear = confidence < settings->unclear_below ||
                       evidence.pause_s > settings->longest_pause_s,
            .settings = span->settings,
        };
        if (settings->trace != NULL) {
            settings->trace(settings->trace_user, &item, &evidence);
        }
        if (confidence < settings->drop_below) {
            continue;
        }
        between[1] = span->start_frame;
        status = add_not_understood(recogniser, findings, between, heard, error);
        if (status == SL_OK) {
            status = sl_heard_add(heard, &item, error);
        }
        if (status != SL_OK) {
            return status;
        }
        between[0] = span->end_frame;
    }
    between[1] = findings->activity.n_frames;
    return add_not_understood(recogniser, findings, between, heard, error);
}

/* Recognises the first n_samples of what is kept and drops them. */
static enum sl_status recognise(struct sl_recogniser *recogniser, size_t n_samples,
                                struct sl_heard_list *heard, struct sl_error *error)
{
    if (n_samples == 0) {
        return SL_OK;
    }
    struct findings findings = {0};
    enum sl_status status = search(recogniser, n_samples, &findings, error);
    if (status == SL_OK) {
        status = report(recogniser, &findings, heard, error);
    }
    findings_clear(&findings);
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
