/* A rehearsal as lines of text: one an event, good for a screen reader, a pipe, a log. */
#include "cli/screen.h"

#include "core/units.h"
#include "report/facts.h"
#include "report/text.h"
#include "speech/listener.h"

#include <math.h>
#include <stdlib.h>

/* Nothing above this for so long after the announcement: is the microphone on? */
#define SILENT_DB (-60.0)
#define SILENT_S 10.0

struct plain {
    struct sl_screen_run run;
    bool quiet;
    double loud_s; /* when something was last loud enough */
    double now_s, now_m;
    double said_from_s, said_to_s; /* of the last phrase heard */
    bool told_silent, told_clipped;
};

void sl_screen_title(struct sl_str *out, const struct sl_setup *setup)
{
    sl_fact_junction(out, &setup->junction, &setup->plan, 100);
}

static void begin(void *self, const struct sl_screen_run *run)
{
    struct plain *plain = self;
    struct sl_str out = {0};
    bool quiet = plain->quiet;
    *plain = (struct plain){
        .run = *run, .quiet = quiet, .said_from_s = -INFINITY, .said_to_s = -INFINITY};
    if (quiet) {
        return;
    }
    sl_str_addf(&out, "Run %zu of %zu, prompting %s.\n", run->number, run->of,
                sl_prompting_word(run->prompting));
    sl_screen_title(&out, run->setup);
    sl_fact_caution(&out, 80);
    sl_str_add(&out, "Recording: ");
    sl_text_clean(&out, run->recording);
    sl_str_add(&out, "\nCtrl-C ends the run and keeps what was recorded.\n");
    (void)sl_print(&out);
    sl_str_clear(&out);
}

/* "  12.3 s  180 m  ": the moment of an event. */
static void add_moment(struct sl_str *out, const struct plain *plain)
{
    sl_str_addf(out, "%6.1f s %4.0f m  ", plain->now_s, fmax(plain->now_m, 0));
}

static const char *phase_title(const struct plain *plain, size_t phase)
{
    const struct sl_routine *routine = &plain->run.setup->routine;
    return phase < routine->n_phases ? routine->phases[phase].title : "Other words";
}

static void add_cue(struct sl_str *out, const struct sl_cue *cue)
{
    static const char *const labels[SL_CUE_KIND_COUNT] = {[SL_CUE_ANNOUNCE] = "Announcement",
                                                          [SL_CUE_PHASE] = "Cue",
                                                          [SL_CUE_DISTANCE] = "Distance",
                                                          [SL_CUE_LINE] = "Line",
                                                          [SL_CUE_MODEL] = "Model"};
    sl_str_addf(out, "%s: ", labels[cue->kind]);
    sl_text_clean(out, cue->text);
}

/* A phrase may be heard out later than it was given out first: then it comes in its place. */
static void add_heard(struct sl_str *out, struct plain *plain, const struct sl_heard *heard)
{
    struct sl_heard earlier = {.start_s = plain->said_from_s, .end_s = plain->said_to_s};
    bool instead = sl_listener_replaces(heard, &earlier);
    sl_str_addf(out, "Heard%s%s: \"", instead ? " instead" : "",
                heard->unclear ? ", not clearly" : "");
    sl_text_clean(out, heard->text);
    sl_str_addf(out, "\", %s, said at %.1f s.", phase_title(plain, heard->phase), heard->start_s);
    plain->said_from_s = heard->start_s;
    plain->said_to_s = heard->end_s;
}

/* Of levels only what has to be mended is said, once. False: nothing to say. */
static bool add_level(struct sl_str *out, struct plain *plain, const struct sl_event *event)
{
    if (event->at_s < 0 || event->level_db > SILENT_DB) {
        plain->loud_s = fmax(event->at_s, 0);
    }
    if (event->clipped && !plain->told_clipped) {
        plain->told_clipped = true;
        sl_str_add(out, "The microphone is too loud: turn it down or move back.");
        return true;
    }
    if (event->at_s - plain->loud_s > SILENT_S && !plain->told_silent) {
        plain->told_silent = true;
        sl_str_add(out, "Nothing is heard: is the right microphone on?");
        return true;
    }
    return false;
}

const char *sl_screen_note(enum sl_event_kind kind)
{
    switch (kind) {
    case SL_EVENT_XRUN:
        return "The device lost a moment of sound; times of this run may be off.";
    case SL_EVENT_STALLED:
        return "The device gives no sound; waiting for it.";
    case SL_EVENT_RESUMED:
        return "The device goes on.";
    case SL_EVENT_HALF_DUPLEX:
        return "The cues cannot be told from your voice: you are not heard while a cue sounds. "
               "Speak after it, or use headphones.";
    case SL_EVENT_FULL_DUPLEX:
        return "You are heard while cues sound, too.";
    case SL_EVENT_INPUT_ENDED:
        return "The recording is at its end.";
    case SL_EVENT_GONE:
        return "The device is gone.";
    case SL_EVENT_DISK:
        return "The recording cannot be written any further.";
    default:
        return NULL;
    }
}

/* What an event says; false: nothing. */
static bool add_event(struct sl_str *out, struct plain *plain, const struct sl_event *event)
{
    const struct sl_window *window = event->phase < plain->run.setup->plan.n_windows
                                         ? &plain->run.setup->plan.windows[event->phase]
                                         : NULL;
    switch (event->kind) {
    case SL_EVENT_CUE:
        add_cue(out, event->cue);
        return true;
    case SL_EVENT_HEARD:
        if (event->heard->phase == SL_PHRASE_FILLER) {
            return false;
        }
        add_heard(out, plain, event->heard);
        return true;
    case SL_EVENT_ANNOUNCED:
        sl_str_addf(out, "The approach begins, at %.0f mph.", sl_mph_from_mps(event->speed_mps));
        return true;
    case SL_EVENT_OPENS:
        sl_str_addf(out, "%s: now, by %.1f s.", phase_title(plain, event->phase),
                    window == NULL ? 0.0 : window->closes_s);
        return window != NULL;
    case SL_EVENT_CLOSES:
        sl_str_addf(out, "%s: its time is over.", phase_title(plain, event->phase));
        return true;
    case SL_EVENT_LINE:
        sl_str_add(out, "At the line.");
        return true;
    case SL_EVENT_LEVEL:
        return add_level(out, plain, event);
    default: {
        const char *note = sl_screen_note(event->kind);
        sl_str_add(out, note == NULL ? "" : note);
        return note != NULL;
    }
    }
}

static void event_line(void *self, const struct sl_event *event)
{
    struct plain *plain = self;
    struct sl_str out = {0};
    if (event->kind != SL_EVENT_HEARD) { /* which is dated back to when it was said */
        plain->now_s = event->at_s;
        plain->now_m = event->distance_m;
    }
    if (!plain->quiet) {
        add_moment(&out, plain);
        if (add_event(&out, plain, event)) {
            sl_str_add(&out, "\n");
            (void)sl_print(&out);
        }
    }
    sl_str_clear(&out);
}

static void end(void *self)
{
    (void)self;
}

enum sl_status sl_screen_plain(bool quiet, struct sl_screen *screen, struct sl_error *error)
{
    struct plain *plain = calloc(1, sizeof *plain);
    if (plain == NULL) {
        return sl_fail_memory(error);
    }
    plain->quiet = quiet;
    *screen = (struct sl_screen){begin, event_line, end, free, plain};
    // cppcheck-suppress memleak ; the screen has it
    return SL_OK;
}
