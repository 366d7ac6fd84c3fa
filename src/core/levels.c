#include "core/levels.h"

#include <math.h>

#define FRAME_S 0.02 /* as speech changes: about the length of a short sound */
#define FLOOR_DB (-120.0)
#define MUTED_FRAMES 25 /* half a second of exact zeros; shorter ones are pauses of made sound */

/* Samples from here on count as full scale: 16-bit sound ends at 32767/32768, and resampling
 * rounds the corners of what was cut off. */
#define FULL_SCALE 0.999
#define CLIPPED_RUN 3 /* one or two such samples may be a peak that just fits */
/* Half a thousandth: 8 samples in a second at 16 kHz. Single clicks stay below, a voice that is
 * cut off on its vowels is far above. */
#define CLIPPED_SHARE_MOST 0.0005
#define BROKEN_SHARE_MOST 0.0005 /* likewise */
/* Two of the demo recordings made louder step by step lost no phrase up to 0.016 cut off and some
 * from 0.033; made fainter, none at -58 dBFS and one at -62. */
#define HIDING_CLIPPED_SHARE 0.02
#define HIDING_BELOW_DB SILENT_BELOW_DB

/* Speech at arm's length from an ordinary microphone is at -35 to -15 dBFS, the noise of a quiet
 * room and its converter at -70 to -55. Common practice, no source. */
#define SILENT_BELOW_DB (-55.0)
#define QUIET_BELOW_DB (-45.0)
/* Speech rises and falls by 20 dB and more; what does not even rise by 6 is a steady noise. */
#define STANDS_OUT_DB 6.0
/* 0.2 s, the length of the shortest phrase; so a click or a knock is not taken for speech. */
#define SPEECH_FRAMES_LEAST 10
/* Below this too much is misheard to be marked: with noise 10 dB below the voice, 13 to 22 as it is
 * measured here (babble most), a third of the steps are lost; with noise 20 dB below, 23 to 32
 * here, one in twelve (synthetic voices, docs/method.md). */
#define NOISY_BELOW_DB 22.5

#define SPEECH_SHARE 0.95
#define NOISE_SHARE 0.10
#define STANDING_OUT_SHARE 0.80

void sl_levels_init(struct sl_levels *levels, double rate_hz)
{
    *levels = (struct sl_levels){.rate_hz = rate_hz};
    double frame_samples = round(rate_hz * FRAME_S);
    levels->frame_samples = frame_samples < 1 ? 1 : (size_t)frame_samples;
}

static double db_from_power(double power)
{
    double db = power > 0 ? 10 * log10(power) : FLOOR_DB;
    return db < FLOOR_DB ? FLOOR_DB : db;
}

static size_t bin_of_frame(double energy, size_t n_samples)
{
    return (size_t)lround(db_from_power(energy / (double)n_samples) - FLOOR_DB);
}

/* Frames of zeros that were no more than a pause belong to the sound. */
static void end_zeros(struct sl_levels *levels)
{
    if (levels->zero_frames < MUTED_FRAMES) {
        levels->bins[0] += levels->zero_frames;
        levels->frames += levels->zero_frames;
    }
    levels->zero_frames = 0;
}

static void end_frame(struct sl_levels *levels)
{
    if (levels->frame_energy > 0) {
        end_zeros(levels);
        levels->bins[bin_of_frame(levels->frame_energy, levels->in_frame)]++;
        levels->frames++;
    } else {
        levels->zero_frames++;
    }
    levels->in_frame = 0;
    levels->frame_energy = 0;
}

void sl_levels_add(struct sl_levels *levels, const float *samples, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        double size = isnan(samples[i]) ? 0 : fmin(fabs((double)samples[i]), 1);
        levels->broken += isfinite(samples[i]) ? 0 : 1;
        levels->peak = size > levels->peak ? size : levels->peak;
        levels->run = size >= FULL_SCALE ? levels->run + 1 : 0;
        if (levels->run >= CLIPPED_RUN) {
            levels->clipped += levels->run == CLIPPED_RUN ? CLIPPED_RUN : 1;
        }
        levels->frame_energy += size * size;
        levels->in_frame++;
        if (levels->in_frame == levels->frame_samples) {
            end_frame(levels);
        }
    }
    levels->samples += n;
}

/* Frames at `db` or above. */
static size_t frames_from(const struct sl_levels *levels, double db)
{
    size_t count = 0;
    for (size_t bin = 0; bin < SL_LEVEL_BINS; bin++) {
        count += (double)bin + FLOOR_DB >= db ? levels->bins[bin] : 0;
    }
    return count;
}

/* The least level at or under which lie at least this share of the frames from `from_db` on. */
static double percentile_db(const struct sl_levels *levels, double from_db, double share)
{
    double wanted = share * (double)frames_from(levels, from_db);
    size_t count = 0;
    for (size_t bin = 0; bin < SL_LEVEL_BINS; bin++) {
        double db = (double)bin + FLOOR_DB;
        count += db >= from_db ? levels->bins[bin] : 0;
        if (count > 0 && (double)count >= wanted) {
            return db;
        }
    }
    return FLOOR_DB;
}

static double snr_db(double speech_db, double noise_db)
{
    double speech = pow(10, speech_db / 10) - pow(10, noise_db / 10);
    return speech > 0 ? fmax(db_from_power(speech) - noise_db, 0) : 0;
}

static unsigned notices_of(const struct sl_levels *levels, const struct sl_level_report *report)
{
    unsigned notices = report->clipped_share > CLIPPED_SHARE_MOST ? SL_NOTICE_CLIPPED : 0;
    notices |= report->broken_share > BROKEN_SHARE_MOST ? SL_NOTICE_DAMAGED : 0;
    bool too_low = frames_from(levels, SILENT_BELOW_DB) < SPEECH_FRAMES_LEAST;
    bool steady = frames_from(levels, report->noise_db + STANDS_OUT_DB) < SPEECH_FRAMES_LEAST;
    if (too_low || (steady && report->speech_db < QUIET_BELOW_DB)) {
        return notices | SL_NOTICE_SILENT; /* and nothing more about a voice that is not there */
    }
    notices |= report->speech_db < QUIET_BELOW_DB ? SL_NOTICE_QUIET : 0;
    notices |= report->snr_db < NOISY_BELOW_DB ? SL_NOTICE_NOISY : 0;
    return notices;
}

struct sl_level_report sl_levels_report(const struct sl_levels *levels)
{
    struct sl_levels whole = *levels;
    end_zeros(&whole);
    if (whole.frames == 0 && whole.in_frame > 0) { /* shorter than a frame */
        whole.bins[bin_of_frame(whole.frame_energy, whole.in_frame)]++;
        whole.frames++;
    }
    struct sl_level_report report = {
        .duration_s = (double)whole.samples / whole.rate_hz,
        .peak_db = db_from_power(whole.peak * whole.peak),
        .speech_db = percentile_db(&whole, FLOOR_DB, SPEECH_SHARE),
        .noise_db = percentile_db(&whole, FLOOR_DB, NOISE_SHARE),
        .clipped_share = whole.samples == 0 ? 0 : (double)whole.clipped / (double)whole.samples,
        .broken_share = whole.samples == 0 ? 0 : (double)whole.broken / (double)whole.samples,
    };
    double stands_out_db = report.noise_db + STANDS_OUT_DB;
    if (frames_from(&whole, stands_out_db) >= SPEECH_FRAMES_LEAST) {
        report.speech_db =
            fmax(report.speech_db, percentile_db(&whole, stands_out_db, STANDING_OUT_SHARE));
    }
    report.snr_db = snr_db(report.speech_db, report.noise_db);
    report.notices = notices_of(&whole, &report);
    return report;
}

unsigned sl_levels_hiding(const struct sl_level_report *report)
{
    unsigned hiding = report->notices & (SL_NOTICE_NOISY | SL_NOTICE_DAMAGED);
    if (report->speech_db < HIDING_BELOW_DB) {
        hiding |= report->notices & SL_NOTICE_QUIET;
    }
    if (report->clipped_share >= HIDING_CLIPPED_SHARE) {
        hiding |= report->notices & SL_NOTICE_CLIPPED;
    }
    return hiding;
}
