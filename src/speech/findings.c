#include "speech/findings.h"

#include "speech/decoder_speaker.h"
#include "speech/decoder_twins.h"

#include <stdlib.h>

#define STANDS_OUT_DB 6.0 /* with less, the loudest of the sound may be noise */
/* Fainter sound is a few steps of its samples: the dither beneath it is no noise of a room, and
 * what a canceller leaves of a cue lies here too. A voice at arm's length is at -35 dBFS or more.
 */
#define FAINT_DB (-65.0)
#define TWIN_FRAMES ((size_t)5)   /* around a phrase: another word may be longer */
#define APART_FRAMES ((size_t)30) /* without speech: what follows is not the same */

/* What speech that was not understood has to be like so that it may have been a phrase, in frames.
 */
struct burst_limits {
    size_t loud;    /* at least */
    size_t longest; /* at most, from its first to its last; longer is about something else */
};

/* In noise little of a phrase may stand out, and what comes before and after it seems one with it.
 */
static struct burst_limits burst_limits(const struct sl_findings *findings)
{
    return findings->noisy ? (struct burst_limits){.loud = 25, .longest = SIZE_MAX}
                           : (struct burst_limits){.loud = 45, .longest = 200};
}

bool sl_findings_burst(const struct sl_findings *findings, size_t *from, size_t to,
                       struct sl_burst *burst)
{
    const struct sl_activity *activity = &findings->activity;
    if (activity->snr_db < STANDS_OUT_DB || activity->speech_db < FAINT_DB) {
        return false;
    }
    const struct burst_limits limits = burst_limits(findings);
    to = to < activity->n_frames ? to : activity->n_frames;
    while (*from < to) {
        size_t n_loud = 0;
        *burst = (struct sl_burst){0};
        for (; *from < to && (n_loud == 0 || *from <= burst->end + APART_FRAMES); (*from)++) {
            if (sl_activity_loud(activity, *from)) {
                burst->first = n_loud == 0 ? *from : burst->first;
                burst->end = *from + 1;
                n_loud++;
            }
        }
        if (n_loud >= limits.loud && burst->end - burst->first <= limits.longest) {
            return true;
        }
    }
    return false;
}

static enum sl_status hold_against_twins(const struct sl_finder *finder,
                                         const struct sl_findings *findings,
                                         const struct sl_span *span, struct sl_evidence *evidence,
                                         struct sl_error *error)
{
    struct sl_twins twins = {0};
    const size_t frames[2] = {
        span->start_frame > TWIN_FRAMES ? span->start_frame - TWIN_FRAMES : 0,
        span->end_frame + TWIN_FRAMES,
    };
    enum sl_status status = sl_twins_find(finder->paths, span, &findings->words, &twins, error);
    if (status == SL_OK) {
        status = sl_decoder_twins(finder->decoder, &twins, frames, &evidence->twin_margin, error);
    }
    sl_twins_clear(&twins);
    return status;
}

/* How sure a phrase is. */
static enum sl_status weigh(const struct sl_finder *finder, const struct sl_findings *findings,
                            const struct sl_span *span, struct sl_finding *finding,
                            struct sl_error *error)
{
    const struct sl_activity *activity =
        sl_decoder_fitted(finder->decoder) ? &findings->activity : NULL;
    finding->evidence = sl_evidence_of(span, &findings->words, activity, findings->activity.snr_db);
    finding->evidence.adapted = findings->adapted;
    finding->confidence = sl_confidence(&finding->evidence, finder->settings);
    enum sl_status status = SL_OK;
    if (finding->confidence >= finder->settings->unclear_below) {
        status = hold_against_twins(finder, findings, span, &finding->evidence, error);
        finding->confidence = sl_confidence(&finding->evidence, finder->settings);
    }
    return status;
}

static enum sl_status first_search(const struct sl_finder *finder, const int16_t *samples,
                                   size_t n_samples, struct sl_findings *findings,
                                   struct sl_error *error)
{
    double margin_s = finder->settings->margin_s;
    enum sl_status status =
        sl_activity_measure(samples, n_samples, margin_s, &findings->activity, error);
    if (status != SL_OK) {
        return status;
    }
    const struct sl_activity *activity = &findings->activity;
    findings->noisy =
        activity->speech_db >= FAINT_DB && activity->snr_db < finder->settings->fit_below_db;
    struct sl_stretch stretch = {
        .samples = samples,
        .n_samples = n_samples,
        .speech = margin_s < 0 ? NULL : activity->speech,
        .noise = margin_s >= 0 && findings->noisy ? activity->noise : NULL,
    };
    status = sl_decoder_load(finder->decoder, &stretch, error);
    return status == SL_OK ? sl_decoder_run(finder->decoder, &findings->words, error) : status;
}

/* Gathers the phrases and weighs each. Those that stood before, outside the frames searched again,
 * are as sure as they were; `before` and `again` are NULL after the first search. */
static enum sl_status gather(const struct sl_finder *finder, const struct sl_findings *before,
                             const bool *again, struct sl_findings *findings,
                             struct sl_error *error)
{
    enum sl_status status =
        sl_spans_gather(finder->paths, &findings->words, &findings->spans, error);
    if (status != SL_OK) {
        return status;
    }
    findings->each = calloc(findings->spans.count + 1, sizeof(*findings->each));
    if (findings->each == NULL) {
        return sl_fail_memory(error);
    }
    size_t old = 0;
    for (size_t i = 0; i < findings->spans.count && status == SL_OK; i++) {
        const struct sl_span *span = &findings->spans.items[i];
        if (again == NULL || again[span->start_frame]) {
            status = weigh(finder, findings, span, &findings->each[i], error);
            continue;
        }
        while (before->spans.items[old].start_frame < span->start_frame) {
            old++;
        }
        findings->each[i] = before->each[old];
    }
    return status;
}

/* Which words were surely said, and which frames are in doubt. */
struct doubts {
    bool *sure;  /* by segment */
    bool *again; /* by frame */
};

static void doubt_frames(bool *again, size_t first, size_t end)
{
    for (size_t f = first; f < end; f++) {
        again[f] = true;
    }
}

/* True when something is in doubt. */
static bool find_doubts(const struct sl_finder *finder, const struct sl_findings *findings,
                        const struct doubts *doubts)
{
    const struct sl_recogniser_settings *settings = finder->settings;
    const size_t n_frames = findings->activity.n_frames;
    bool any = false;
    size_t from = 0;
    for (size_t i = 0; i <= findings->spans.count; i++) {
        const struct sl_span *span = i < findings->spans.count ? &findings->spans.items[i] : NULL;
        struct sl_burst burst;
        while (sl_findings_burst(findings, &from, span != NULL ? span->start_frame : n_frames,
                                 &burst)) {
            doubt_frames(doubts->again, burst.first, burst.end);
            any = true;
        }
        if (span == NULL) {
            break;
        }
        from = span->end_frame;
        if (findings->each[i].confidence < settings->doubt_below) {
            doubt_frames(doubts->again, span->start_frame, span->end_frame);
            any = true;
        }
        for (size_t k = 0; k < span->n_segments; k++) {
            size_t segment = span->first_segment + k;
            doubts->sure[segment] = findings->each[i].confidence >= settings->sure_from &&
                                    findings->words.items[segment].kind == SL_SEGMENT_WORD;
        }
    }
    return any;
}

/* Searches what is in doubt again, if the speaker can be known. */
static enum sl_status search_doubts(const struct sl_finder *finder, const struct doubts *doubts,
                                    struct sl_findings *findings, struct sl_error *error)
{
    enum sl_status status = sl_decoder_adapt(finder->decoder, &findings->words, doubts->sure,
                                             &findings->adapted, error);
    if (status != SL_OK || !findings->adapted) {
        return status;
    }
    status = sl_decoder_run_again(finder->decoder, doubts->again, &findings->words, error);
    struct sl_findings before = {.spans = findings->spans, .each = findings->each};
    findings->spans = (struct sl_spans){0};
    findings->each = NULL;
    if (status == SL_OK) {
        status = gather(finder, &before, doubts->again, findings, error);
    }
    sl_findings_clear(&before);
    return status;
}

enum sl_status sl_findings_make(const struct sl_finder *finder, const int16_t *samples,
                                size_t n_samples, struct sl_findings *findings,
                                struct sl_error *error)
{
    enum sl_status status = first_search(finder, samples, n_samples, findings, error);
    if (status == SL_OK) {
        status = gather(finder, NULL, NULL, findings, error);
    }
    if (status != SL_OK || findings->spans.count == 0) {
        return status;
    }
    struct doubts doubts = {calloc(findings->words.count, sizeof(bool)),
                            calloc(findings->activity.n_frames + 1, sizeof(bool))};
    if (doubts.sure == NULL || doubts.again == NULL) {
        status = sl_fail_memory(error);
    } else if (find_doubts(finder, findings, &doubts)) {
        status = search_doubts(finder, &doubts, findings, error);
    }
    free(doubts.sure);
    free(doubts.again);
    return status;
}

void sl_findings_clear(struct sl_findings *findings)
{
    if (findings == NULL) {
        return;
    }
    free(findings->each);
    sl_spans_clear(&findings->spans);
    sl_segments_clear(&findings->words);
    sl_activity_clear(&findings->activity);
    *findings = (struct sl_findings){0};
}
