#include "practice/soundcheck.h"

#include "sound/echo.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define RATE SL_SOUND_RATE_HZ
#define BLOCK SL_ECHO_BLOCK
#define AHEAD_FRAMES (RATE * 3 / 10) /* silence that is written ahead of what is played */
#define SETTLE_S 0.3                 /* a device's first moments are not measured */
#define CUE_TAIL_S 0.9               /* the longest way of the echo, and its fading */
#define VOICE_ENOUGH_S 4.0
#define VOICE_PAUSE_S 1.2 /* after so long a pause the two sentences were said */
#define STALL_S 5.0
#define WAIT_S 0.1
#define MOST_S 90.0        /* of a check, cue and all */
#define CUE_STANDS_OUT 2.0 /* in power: 3 dB over the noise it is heard */
#define EMPTY_DB (-120.0)

/* A check under way: all that was captured and played, by frame. */
struct check {
    const struct sl_soundcheck *plan;
    struct sl_soundcheck_result *result;
    int16_t *mic, *played;
    size_t room;
    size_t n_mic, n_played; /* read, and written */
    size_t stalled_blocks;
    size_t cue_from;                /* the frame that the cue begins with */
    struct sl_endpoint_facts facts; /* as the last step ended */
    bool ended;                     /* the recording in place of the microphone is at its end */
    struct {
        size_t from, to; /* frames captured during the step */
    } steps[SL_SOUNDCHECK_STEPS];
};

const char *sl_soundcheck_step_word(enum sl_soundcheck_step step)
{
    static const char *const words[SL_SOUNDCHECK_STEPS] = {"silence", "cue", "voice"};
    return step < SL_SOUNDCHECK_STEPS ? words[step] : "";
}

void sl_soundcheck_clear(struct sl_soundcheck_result *result)
{
    if (result == NULL) {
        return;
    }
    sl_heard_clear(&result->heard);
    *result = (struct sl_soundcheck_result){0};
}

static size_t frames_of(double time_s)
{
    return (size_t)(time_s * RATE);
}

/* Keeps silence, or what of the cue is its turn, written ahead. */
static void write_ahead(struct check *check)
{
    size_t until = check->n_mic + AHEAD_FRAMES;
    until = until < check->room ? until : check->room;
    while (check->n_played < until) {
        size_t n = sl_endpoint_write(check->plan->endpoint, check->played + check->n_played,
                                     until - check->n_played);
        if (n == 0) {
            return;
        }
        check->n_played += n;
    }
}

/* Why no sound comes: SL_OK when it may still come. */
static enum sl_status look_at_state(struct check *check, struct sl_error *error)
{
    enum sl_endpoint_state state = sl_endpoint_facts(check->plan->endpoint).state;
    check->stalled_blocks++;
    check->ended = state == SL_ENDPOINT_ENDED;
    if (state == SL_ENDPOINT_GONE || state == SL_ENDPOINT_STOPPED) {
        return sl_fail(error, SL_DEVICE, NULL, "plug it in again, then run the check again",
                       "the device went away in the middle of the check");
    }
    if (!check->ended && (double)check->stalled_blocks * WAIT_S > STALL_S) {
        return sl_fail(error, SL_DEVICE, NULL,
                       "choose another one: `sayline soundcheck --list` shows them",
                       "the device gives no sound");
    }
    return SL_OK;
}

/* The next frames, at most a block; the number read goes to *n. */
static enum sl_status turn(struct check *check, size_t *n, struct sl_error *error)
{
    struct sl_endpoint *endpoint = check->plan->endpoint;
    *n = 0;
    write_ahead(check);
    (void)sl_endpoint_wait(endpoint, BLOCK, WAIT_S);
    size_t room = check->room - check->n_mic;
    *n = sl_endpoint_read(endpoint, check->mic + check->n_mic, room < BLOCK ? room : BLOCK);
    check->n_mic += *n;
    check->stalled_blocks = *n > 0 ? 0 : check->stalled_blocks;
    check->ended = sl_endpoint_facts(endpoint).state == SL_ENDPOINT_ENDED && *n < BLOCK;
    if (check->plan->stop != NULL && check->plan->stop(check->plan->user)) {
        check->result->stopped = true;
    }
    return *n > 0 ? SL_OK : look_at_state(check, error);
}

static bool goes_on(const struct check *check, size_t until)
{
    return check->n_mic < until && check->n_mic < check->room && !check->ended &&
           !check->result->stopped;
}

static void begin(struct check *check, enum sl_soundcheck_step step)
{
    if (check->plan->step != NULL) {
        check->plan->step(check->plan->user, step);
    }
    check->steps[step].from = check->steps[step].to = check->n_mic;
}

static enum sl_status pass(struct check *check, enum sl_soundcheck_step step, double time_s,
                           struct sl_error *error)
{
    size_t until = check->n_mic + frames_of(time_s);
    enum sl_status status = SL_OK;
    size_t n = 0;
    begin(check, step);
    while (status == SL_OK && goes_on(check, until)) {
        status = turn(check, &n, error);
    }
    check->steps[step].to = check->n_mic;
    return status;
}

static enum sl_status play_cue(struct check *check, struct sl_error *error)
{
    const struct sl_clip *cue = check->plan->cue;
    size_t room = check->room - check->n_played;
    check->cue_from = check->n_played;
    memcpy(check->played + check->n_played, cue->samples,
           (cue->n < room ? cue->n : room) * sizeof *cue->samples);
    double ahead_s = (double)(check->n_played - check->n_mic) / RATE;
    return pass(check, SL_SOUNDCHECK_PLAYS, ahead_s + sl_clip_length_s(cue) + CUE_TAIL_S, error);
}

/* Listens until the sentences were said. */
static enum sl_status hear_voice(struct check *check, struct sl_error *error)
{
    struct sl_listener *listener = check->plan->listener;
    struct sl_heard_list *heard = &check->result->heard;
    size_t until = check->n_mic + frames_of(SL_SOUNDCHECK_VOICE_MOST_S);
    size_t quiet = 0;
    double speech_s = 0;
    enum sl_status status = SL_OK;
    begin(check, SL_SOUNDCHECK_VOICE);
    while (status == SL_OK && goes_on(check, until)) {
        size_t n = 0;
        status = turn(check, &n, error);
        if (status == SL_OK) {
            status = sl_listener_feed(listener, check->mic + check->n_mic - n, n, heard, error);
        }
        quiet = sl_listener_speaking(listener) ? 0 : quiet + n;
        (void)sl_listener_voice(listener, &speech_s);
        if (speech_s >= VOICE_ENOUGH_S && quiet >= frames_of(VOICE_PAUSE_S)) {
            break;
        }
    }
    check->steps[SL_SOUNDCHECK_VOICE].to = check->n_mic;
    check->facts = sl_endpoint_facts(check->plan->endpoint);
    enum sl_status finished = sl_listener_finish(listener, heard, status == SL_OK ? error : NULL);
    double offset_s = (double)check->steps[SL_SOUNDCHECK_VOICE].from / RATE;
    for (size_t i = 0; i < heard->count; i++) {
        heard->items[i].start_s += offset_s;
        heard->items[i].end_s += offset_s;
    }
    return status == SL_OK ? finished : status;
}

static double power_of(const int16_t *frames, size_t n)
{
    double sum = 0;
    for (size_t i = 0; i < n; i++) {
        sum += (double)frames[i] * frames[i];
    }
    return n > 0 ? sum / (double)n : 0;
}

static double db_of(double power)
{
    double full = power / (32768.0 * 32768.0);
    return full > 0 ? fmax(10 * log10(full), EMPTY_DB) : EMPTY_DB;
}

static void add_levels(struct sl_levels *levels, const int16_t *frames, size_t n)
{
    float block[BLOCK];
    for (size_t at = 0; at < n; at += BLOCK) {
        size_t m = n - at < BLOCK ? n - at : BLOCK;
        for (size_t i = 0; i < m; i++) {
            block[i] = (float)frames[at + i] / 32768.0f;
        }
        sl_levels_add(levels, block, m);
    }
}

/* The frames of a step. */
static size_t step_length(const struct check *check, enum sl_soundcheck_step step)
{
    return check->steps[step].to - check->steps[step].from;
}

static const int16_t *step_frames(const struct check *check, enum sl_soundcheck_step step)
{
    return check->mic + check->steps[step].from;
}

static void measure_levels(struct check *check)
{
    struct sl_sound_figures *figures = &check->result->figures;
    const int16_t *silence = step_frames(check, SL_SOUNDCHECK_SILENCE);
    size_t n = step_length(check, SL_SOUNDCHECK_SILENCE);
    size_t skip = frames_of(SETTLE_S) < n ? frames_of(SETTLE_S) : 0;
    struct sl_levels levels;
    sl_levels_init(&levels, RATE);
    add_levels(&levels, silence + skip, n - skip);
    struct sl_level_report quiet = sl_levels_report(&levels);
    figures->noise_db = db_of(power_of(silence + skip, n - skip));
    figures->noise_swing = quiet.speech_db - quiet.noise_db;
    add_levels(&levels, step_frames(check, SL_SOUNDCHECK_VOICE),
               step_length(check, SL_SOUNDCHECK_VOICE));
    figures->levels = sl_levels_report(&levels);
    figures->empty = true;
    for (size_t i = 0; i < check->n_mic && figures->empty; i++) {
        figures->empty = check->mic[i] == 0;
    }
}

/* What of the cue came back: its energy, less the noise's, against the energy played. */
static void measure_leak(struct check *check, double delay_s, bool aligned)
{
    struct sl_sound_figures *figures = &check->result->figures;
    const struct sl_clip *cue = check->plan->cue;
    size_t from = check->cue_from + frames_of(delay_s);
    size_t to = from + cue->n + frames_of(0.1);
    to = to < check->n_mic ? to : check->n_mic;
    from = from < to ? from : to;
    size_t skip = frames_of(SETTLE_S);
    size_t n_quiet = step_length(check, SL_SOUNDCHECK_SILENCE);
    skip = skip < n_quiet ? skip : 0;
    double noise = power_of(step_frames(check, SL_SOUNDCHECK_SILENCE) + skip, n_quiet - skip);
    double heard = power_of(check->mic + from, to - from);
    bool stands_out = heard > CUE_STANDS_OUT * noise;
    double played = power_of(cue->samples, cue->n) * (double)cue->n;
    figures->echo_heard = aligned;
    figures->disturbed = !aligned && stands_out;
    if (aligned && played > 0) {
        double energy = fmax(heard - noise, 1e-3) * (double)(to - from);
        figures->leak_db = 10 * log10(energy / played);
        figures->round_trip_s = delay_s;
    }
}

/* The canceller goes over all that was captured until the voice. */
static enum sl_status measure_echo(struct check *check, struct sl_error *error)
{
    struct sl_sound_figures *figures = &check->result->figures;
    struct sl_echo *echo = NULL;
    figures->played = true;
    figures->stamps_known = check->facts.offset_known;
    figures->stamps_s = check->facts.offset_s;
    enum sl_status status = sl_echo_new(0, &echo, error);
    if (status != SL_OK) {
        return status;
    }
    int16_t out[BLOCK];
    for (size_t at = 0; at + BLOCK <= check->steps[SL_SOUNDCHECK_PLAYS].to; at += BLOCK) {
        sl_echo_process(echo, check->mic + at, check->played + at, out);
    }
    struct sl_echo_report report = sl_echo_report(echo);
    sl_echo_free(echo);
    figures->cancelled = report.verdict == SL_ECHO_WORKING || report.verdict == SL_ECHO_NONE;
    measure_leak(check, report.aligned ? report.delay_s : check->facts.offset_s, report.aligned);
    return SL_OK;
}

/* Leaves the phrases of the routine and counts the clear ones. */
static void count_phrases(struct sl_soundcheck_result *result)
{
    struct sl_heard_list *heard = &result->heard;
    size_t kept = 0;
    sl_listener_drop_replaced(heard);
    for (size_t i = 0; i < heard->count; i++) {
        if (heard->items[i].phase >= SL_PHASE_MAX) { /* "okay", "no, sorry" */
            free(heard->items[i].text);
            continue;
        }
        result->figures.n_phrases += !heard->items[i].unclear;
        heard->items[kept++] = heard->items[i];
    }
    heard->count = kept;
}

static enum sl_status measure(struct check *check, struct sl_error *error)
{
    struct sl_soundcheck_result *result = check->result;
    uint64_t starved = check->plan->cue != NULL ? check->facts.starved : 0; /* else of silence */
    result->figures.lost_s = (double)(check->facts.lost + starved) / RATE;
    result->figures.xruns = check->facts.xruns;
    measure_levels(check);
    count_phrases(result);
    enum sl_status status = check->plan->cue != NULL ? measure_echo(check, error) : SL_OK;
    if (status == SL_OK) {
        result->voice = sl_listener_voice(check->plan->listener, &result->figures.speech_s);
        result->findings = sl_sound_findings(&result->figures);
        result->voice.known = sl_sound_voice_is_good(result->findings);
    }
    return status;
}

static enum sl_status run_steps(struct check *check, struct sl_error *error)
{
    struct sl_endpoint *endpoint = check->plan->endpoint;
    write_ahead(check);
    enum sl_status status = sl_endpoint_start(endpoint, error);
    if (status == SL_OK) {
        status = pass(check, SL_SOUNDCHECK_SILENCE, SETTLE_S + SL_SOUNDCHECK_SILENCE_S, error);
    }
    if (status == SL_OK && check->plan->cue != NULL && !check->result->stopped) {
        status = play_cue(check, error);
    }
    if (status == SL_OK && !check->result->stopped) {
        status = hear_voice(check, error);
    }
    if (status == SL_OK && !check->result->stopped) {
        status = measure(check, error);
    }
    sl_endpoint_stop(endpoint);
    return status;
}

enum sl_status sl_soundcheck_run(const struct sl_soundcheck *check,
                                 struct sl_soundcheck_result *result, struct sl_error *error)
{
    struct sl_soundcheck_result made = {0};
    size_t room = frames_of(MOST_S);
    struct check run = {.plan = check,
                        .result = &made,
                        .mic = calloc(room, sizeof(int16_t)),
                        .played = calloc(room, sizeof(int16_t)),
                        .room = room};
    enum sl_status status =
        run.mic == NULL || run.played == NULL ? sl_fail_memory(error) : run_steps(&run, error);
    free(run.mic);
    free(run.played);
    if (status != SL_OK) {
        sl_soundcheck_clear(&made);
        return status;
    }
    sl_soundcheck_clear(result);
    *result = made;
    return SL_OK;
}
