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
#define STRANGER_ROUNDS 2         /* a third gains next to nothing */
#define AGAIN_FROM_DB 20.0        /* in noisier sound a second search of doubts gains nothing */

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
    return findings->noisy ? (struct burst_limits){.loud = 20, .longest = SIZE_MAX}
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

static void doubt_frames(bool *again, size_t first, size_t end)
{
    for (size_t f = first; f < end; f++) {
        again[f] = true;
    }
}

/* Marks the frames that are in doubt. True when there are some. */
static bool find_doubts(const struct sl_finder *finder, const struct sl_findings *findings,
                        bool *again)
{
    const size_t n_frames = findings->activity.n_frames;
    bool any = false;
    size_t from = 0;
    for (size_t i = 0; i <= findings->spans.count; i++) {
        const struct sl_span *span = i < findings->spans.count ? &findings->spans.items[i] : NULL;
        struct sl_burst burst;
        while (sl_findings_burst(findings, &from, span != NULL ? span->start_frame : n_frames,
                                 &burst)) {
            doubt_frames(again, burst.first, burst.end);
            any = true;
        }
        if (span == NULL) {
            break;
        }
        from = span->end_frame;
        if (findings->each[i].confidence < finder->settings->doubt_below) {
            doubt_frames(again, span->start_frame, span->end_frame);
            any = true;
        }
    }
    return any;
}

/* Whether enough is surely said to know the speaker by. */
static bool knows_speaker(const struct sl_finder *finder, const struct sl_findings *findings)
{
    size_t n_frames = 0;
    for (size_t i = 0; i < findings->spans.count; i++) {
        const struct sl_span *span = &findings->spans.items[i];
        bool sure = findings->each[i].confidence >= finder->settings->sure_from;
        n_frames += sure ? span->end_frame - span->start_frame : 0;
    }
    return n_frames >= SL_SPEAKER_LEAST_FRAMES;
}

/* Marks, by segment, what to learn the speaker from: the words of phrases that are sure, or for a
 * stranger those of likely ones and the phones of all speech that is no phrase. */
static void choose_trusted(const struct sl_finder *finder, const struct sl_findings *findings,
                           bool stranger, bool *trusted)
{
    double least = stranger ? finder->settings->likely_from : finder->settings->sure_from;
    for (size_t i = 0; i < findings->words.count; i++) {
        trusted[i] = stranger && findings->words.items[i].kind == SL_SEGMENT_PHONE;
    }
    for (size_t i = 0; i < findings->spans.count; i++) {
        const struct sl_span *span = &findings->spans.items[i];
        for (size_t k = 0; k < span->n_segments; k++) {
            size_t segment = span->first_segment + k;
            trusted[segment] = findings->each[i].confidence >= least &&
                               findings->words.items[segment].kind == SL_SEGMENT_WORD;
        }
    }
}

static enum sl_status learn_speaker(const struct sl_finder *finder,
                                    const struct sl_findings *findings, bool stranger, bool *learnt,
                                    struct sl_error *error)
{
    bool *trusted = calloc(findings->words.count + 1, sizeof(*trusted));
    if (trusted == NULL) {
        return sl_fail_memory(error);
    }
    choose_trusted(finder, findings, stranger, trusted);
    enum sl_status status =
        sl_decoder_adapt(finder->decoder, &findings->words, trusted, learnt, error);
    free(trusted);
    return status;
}

/* What was found, but for the activity. */
static void forget_words(struct sl_findings *findings)
{
    free(findings->each);
    findings->each = NULL;
    sl_spans_clear(&findings->spans);
    sl_segments_clear(&findings->words);
}

/* Searches all of the sound again with what is learnt from what a stranger may have said. Nothing
 * is found when that does not determine a voice. `anew` borrows the activity. */
static enum sl_status hear_anew(const struct sl_finder *finder, const struct sl_findings *before,
                                struct sl_findings *anew, struct sl_error *error)
{
    bool learnt = false;
    *anew = (struct sl_findings){.activity = before->activity, .noisy = before->noisy};
    enum sl_status status = learn_speaker(finder, before, true, &learnt, error);
    if (status != SL_OK || !learnt) {
        return status;
    }
    status = sl_decoder_run_again(finder->decoder, NULL, &anew->words, error);
    return status == SL_OK ? gather(finder, NULL, NULL, anew, error) : status;
}

/* Gets to know a speaker whom the model knows so badly that next to nothing is sure. It counts only
 * when enough is sure in the end: what was found of somebody who says nothing of a routine stays as
 * it was, and *known is false. */
static enum sl_status hear_stranger(const struct sl_finder *finder, struct sl_findings *findings,
                                    bool *known, struct sl_error *error)
{
    struct sl_findings last = {0};
    enum sl_status status = SL_OK;
    for (int round = 0; round < STRANGER_ROUNDS && status == SL_OK && !knows_speaker(finder, &last);
         round++) {
        struct sl_findings anew;
        status = hear_anew(finder, round == 0 ? findings : &last, &anew, error);
        forget_words(&last);
        last = anew;
    }
    *known = status == SL_OK && knows_speaker(finder, &last);
    forget_words(*known ? findings : &last);
    if (*known) {
        *findings = last;
    }
    return status;
}

/* Gets to know the speaker by what is sure, and searches what is in doubt again. */
static enum sl_status search_doubts(const struct sl_finder *finder, struct sl_findings *findings,
                                    struct sl_error *error)
{
    bool *again = calloc(findings->activity.n_frames + 1, sizeof(*again)); /* by frame */
    if (again == NULL) {
        return sl_fail_memory(error);
    }
    bool learnt = false;
    enum sl_status status = SL_OK;
    if (find_doubts(finder, findings, again)) {
        status = learn_speaker(finder, findings, false, &learnt, error);
    }
    if (status == SL_OK && learnt) {
        findings->adapted = true;
        status = sl_decoder_run_again(finder->decoder, again, &findings->words, error);
        struct sl_findings before = {.spans = findings->spans, .each = findings->each};
        findings->spans = (struct sl_spans){0};
        findings->each = NULL;
        if (status == SL_OK) {
            status = gather(finder, &before, again, findings, error);
        }
        forget_words(&before);
    }
    free(again);
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
    bool known = knows_speaker(finder, findings);
    bool stranger = !known;
    if (status == SL_OK && stranger) {
        status = hear_stranger(finder, findings, &known, error);
    }
    /* By what is sure after once the speaker is known better. Clean sound gains too little by it.
     */
    bool twice = stranger || (findings->noisy && findings->activity.snr_db >= AGAIN_FROM_DB);
    for (int round = 0; round < (twice ? 2 : 1) && status == SL_OK && known; round++) {
        status = search_doubts(finder, findings, error);
    }
    return status;
}

void sl_findings_clear(struct sl_findings *findings)
{
    if (findings == NULL) {
        return;
    }
    forget_words(findings);
    sl_activity_clear(&findings->activity);
    *findings = (struct sl_findings){0};
}
