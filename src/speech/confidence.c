#include "speech/confidence.h"

#include <math.h>
#include <stdbool.h>

#define QUIET_SNR_DB 30.0      /* with less noise than this, scores do not change any more */
#define LOUD_NOISE_SNR_DB 24.0 /* with more noise than this, noise itself is loud now and then */
#define STRAY_FADES_DB 15.0    /* over so much more of it */
#define USUAL_WORD_S 0.5
#define CLOSE_FRAMES 100 /* how far other speech is looked for, on each side */

/* Loud frames of a segment among the n that are next to the phrase. */
static size_t loud_frames(const struct sl_segment *segment, size_t n, bool forwards,
                          const struct sl_activity *activity)
{
    size_t first = forwards ? segment->start_frame : segment->start_frame + segment->n_frames - n;
    size_t loud = 0;
    for (size_t f = first; f < first + n; f++) {
        loud += activity == NULL || (f < activity->n_frames && sl_activity_loud(activity, f));
    }
    return loud;
}

/* Frames of loop phones within CLOSE_FRAMES of the phrase, on one side of it. */
static size_t stray_frames(const struct sl_segments *segments, const struct sl_activity *activity,
                           size_t edge, bool forwards)
{
    size_t seen = 0;
    size_t stray = 0;
    for (size_t i = edge; seen < CLOSE_FRAMES; i += forwards ? 1 : (size_t)-1) {
        if (i >= segments->count || segments->items[i].kind == SL_SEGMENT_GAP) {
            break;
        }
        size_t n = segments->items[i].n_frames;
        n = n < CLOSE_FRAMES - seen ? n : CLOSE_FRAMES - seen;
        stray += segments->items[i].kind == SL_SEGMENT_PHONE
                     ? loud_frames(&segments->items[i], n, forwards, activity)
                     : 0;
        seen += n;
    }
    return stray;
}

struct sl_evidence sl_evidence_of(const struct sl_span *span, const struct sl_segments *segments,
                                  const struct sl_activity *activity, double snr_db)
{
    struct sl_evidence evidence = {
        .pause_s = (double)span->longest_pause * SL_FRAME_S,
        .snr_db = snr_db,
        .fitted = activity != NULL,
        .twin_margin = INFINITY,
        .n_words = span->n_words,
    };
    size_t stray = stray_frames(segments, activity, span->first_segment - 1, false) +
                   stray_frames(segments, activity, span->first_segment + span->n_segments, true);
    evidence.stray_s = (double)stray * SL_FRAME_S;
    double sum = 0;
    size_t n_frames = 0;
    for (size_t i = 0; i < span->n_segments; i++) {
        const struct sl_segment *segment = &segments->items[span->first_segment + i];
        if (segment->kind != SL_SEGMENT_WORD) {
            continue;
        }
        sum += segment->score;
        n_frames += segment->n_frames;
        evidence.worst_score =
            fmin(evidence.worst_score, segment->score / (double)segment->n_frames);
    }
    evidence.score = n_frames > 0 ? sum / (double)n_frames : 0;
    evidence.word_s = (double)n_frames * SL_FRAME_S;
    return evidence;
}

double sl_confidence(const struct sl_evidence *evidence,
                     const struct sl_recogniser_settings *settings)
{
    double length = log(fmax(evidence->word_s, SL_FRAME_S) / USUAL_WORD_S);
    double loud_noise_db = evidence->fitted ? fmax(LOUD_NOISE_SNR_DB - evidence->snr_db, 0) : 0;
    double stray = settings->confidence_stray * fmax(1 - loud_noise_db / STRAY_FADES_DB, 0);
    double z = settings->confidence_score * evidence->score +
               settings->confidence_worst * evidence->worst_score +
               settings->confidence_length * length + stray * evidence->stray_s;
    double adapted = evidence->fitted ? settings->adapted_noisy_bias : settings->adapted_bias;
    z += evidence->adapted ? adapted : settings->confidence_bias;
    if (!evidence->fitted) {
        z += settings->confidence_noise * fmax(QUIET_SNR_DB - evidence->snr_db, 0);
    }
    double against_twin =
        (evidence->twin_margin - settings->twin_even_nats) / settings->twin_scale_nats;
    return 1 / (1 + exp(-fmin(z, against_twin)));
}
