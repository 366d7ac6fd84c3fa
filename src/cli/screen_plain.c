/* A rehearsal as lines of text: one an event, good for a screen reader, a pipe, a log. */
#include "cli/screen.h"

#include "core/settings.h"
#include "core/units.h"
#include "report/facts.h"
#include "report/text.h"
#include "speech/listener.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Nothing above this for so long after the announcement: is the microphone on? */
#define SILENT_DB (-60.0)
#define SILENT_S 10.0
/* So long after its end what was said is out, mostly. */
#define HEARD_BY_S 1.0

struct plain {
    struct sl_screen_run run;
    bool quiet;
    double loud_s; /* when something was last loud enough */
    double now_s, now_m;
    struct sl_heard last;         /* phrase heard; its text is owned */
    bool heard[SL_PHASE_MAX];     /* by phase: something, clear or not */
    bool told_over[SL_PHASE_MAX]; /* by phase: that its time is over unheard */
    bool told_silent, told_clipped;
};

static void forget_last(struct plain *plain)
{
    free(plain->last.text);
    plain->last = (struct sl_heard){.start_s = -INFINITY, .end_s = -INFINITY};
}

void sl_screen_title(struct sl_str *out, const struct sl_setup *setup)
{
    sl_fact_junction(out, &setup->junction, &setup->plan, 100);
}

static void begin(void *self, const struct sl_screen_run *run)
{
    struct plain *plain = self;
    struct sl_str out = {0};
    forget_last(plain);
    *plain = (struct plain){.run = *run, .quiet = plain->quiet, .last = plain->last};
    if (plain->quiet) {
        return;
    }
    if (run->drives && run->of > 1) {
        sl_str_addf(&out, "Drive %zu of %zu. ", run->number, run->of);
    }
    if (run->drives) {
        sl_str_add(&out, "The car does what you say, and nothing of itself.\n");
    } else {
        sl_str_addf(&out, "Run %zu of %zu, prompting %s.\n", run->number, run->of,
                    sl_prompting_word(run->prompting));
    }
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
                                                          [SL_CUE_MODEL] = "Model",
                                                          [SL_CUE_ROAD] = "Road"};
    sl_str_addf(out, "%s: ", labels[cue->kind]);
    sl_text_clean(out, cue->text);
}

/* Keeps in mind what was heard last; without memory nothing. */
static void keep_last(struct plain *plain, const struct sl_heard *heard)
{
    char *text = sl_strdup(heard->text);
    forget_last(plain);
    if (text != NULL) {
        plain->last = *heard;
        plain->last.text = text;
    }
}

/* A line stays as it was printed. Where a phrase goes on after it came out, what is new of it
 * follows; where other words turn out to have been said, they come in its place. */
static void add_heard(struct sl_str *out, struct plain *plain, const struct sl_heard *heard)
{
    const struct sl_heard *last = &plain->last;
    bool further = last->text != NULL && sl_listener_goes_on(heard, last);
    bool instead = !further && sl_listener_replaces(heard, last);
    const char *text = further ? heard->text + strlen(last->text) + 1 : heard->text;
    sl_str_addf(out, "Heard%s%s: \"",
                further   ? " further"
                : instead ? " instead"
                          : "",
                heard->unclear ? ", not clearly" : "");
    sl_text_clean(out, text);
    sl_str_addf(out, "\", %s", phase_title(plain, heard->phase));
    if (!further) {
        sl_str_addf(out, ", said at %.1f s", heard->start_s);
    }
    sl_str_add(out, ".");
    if (instead && last->phase < SL_PHASE_MAX) {
        plain->heard[last->phase] = false;
    }
    if (heard->phase < SL_PHASE_MAX) {
        plain->heard[heard->phase] = true;
    }
    keep_last(plain, heard);
}

/* Phases whose time was over a while ago, so that what was said in time is out, and of which
 * nothing was heard. False: none. */
static bool add_over(struct sl_str *out, struct plain *plain)
{
    const struct sl_plan *plan = &plain->run.setup->plan;
    size_t n = plain->run.drives ? 0 : plan->n_windows;
    bool any = false;
    for (size_t i = 0; i < n; i++) {
        bool over = plain->now_s >= plan->windows[i].closes_s + HEARD_BY_S;
        if (over && !plain->heard[i] && !plain->told_over[i]) {
            plain->told_over[i] = true;
            sl_str_addf(out, "%s%s", any ? ", " : "", phase_title(plain, i));
            any = true;
        }
    }
    if (any) {
        sl_str_add(out, ": nothing heard, and the time is over.");
    }
    return any;
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
    case SL_EVENT_BEHIND:
        return "Listening is more than 2 s behind: the computer is busy. The mark is made "
               "afterwards and is not touched by it.";
    case SL_EVENT_INPUT_ENDED:
        return "The recording is at its end.";
    case SL_EVENT_GONE:
        return "The device is gone.";
    case SL_EVENT_DISK:
        return "The recording cannot be written any further.";
    case SL_EVENT_BRAKES:
        return "The car brakes.";
    case SL_EVENT_STANDS:
        return "The car stands.";
    case SL_EVENT_STALLS:
        return "The engine has stalled.";
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
        if (event->cue->kind == SL_CUE_LINE) {
            return false; /* the next event says it */
        }
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
    case SL_EVENT_LINE:
        sl_str_add(out, "At the line");
        if (plain->run.drives) {
            sl_str_addf(out, ", at %.0f mph", sl_mph_from_mps(event->speed_mps));
        }
        sl_str_add(out, ".");
        return true;
    case SL_EVENT_GEAR:
        sl_str_addf(out, "In %s gear, at %.0f mph.", sl_gear_ordinal(event->gear),
                    sl_mph_from_mps(event->speed_mps));
        return true;
    case SL_EVENT_LEVEL: /* ten times a second */
        return add_level(out, plain, event) || add_over(out, plain);
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
    forget_last(self);
}

static void free_plain(void *self)
{
    forget_last(self);
    free(self);
}

enum sl_status sl_screen_plain(bool quiet, struct sl_screen *screen, struct sl_error *error)
{
    struct plain *plain = calloc(1, sizeof *plain);
    if (plain == NULL) {
        return sl_fail_memory(error);
    }
    plain->quiet = quiet;
    *screen = (struct sl_screen){begin, event_line, end, free_plain, plain};
    // cppcheck-suppress memleak ; the screen has it
    return SL_OK;
}
