#include "cli/live.h"

#include "core/settings.h"
#include "core/units.h"
#include "report/facts.h"
#include "report/text.h"
#include "speech/listener.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LEVEL_LEAST_DB (-60.0)
#define LEVEL_FALL_DB 2.0 /* an event, of which there are ten a second */
#define CLIPPED_SHOWN_S 2.0
#define BAR_MAX 40
#define STEP_PAUSE_S 2.0 /* within one step */
#define NEVER_S (-1e9)

void sl_live_begin(struct sl_live *live, const struct sl_screen_run *run)
{
    *live = (struct sl_live){.run = *run,
                             .at_s = NAN,
                             .distance_m = run->setup->plan.distance_m,
                             .speed_mps = run->setup->plan.approach_mps,
                             .level_db = LEVEL_LEAST_DB,
                             .clipped_s = NEVER_S};
}

void sl_live_clear(struct sl_live *live)
{
    free(live->cue);
    free(live->last_heard);
    free(live->note);
    for (size_t i = 0; i < SL_PHASE_MAX; i++) {
        free(live->heard[i]);
    }
    *live = (struct sl_live){0};
}

/* Without memory the old text stays. */
static void set_text(char **text, const char *value)
{
    char *copy = sl_strdup(value);
    if (copy != NULL) {
        free(*text);
        *text = copy;
    }
}

/* What follows close on words of the same phase belongs to them: "second gear", "clutch up". */
static void add_words(struct sl_live *live, const struct sl_heard *heard)
{
    size_t phase = heard->phase;
    bool follows = live->heard[phase] != NULL && heard->start_s >= live->to_s[phase] &&
                   heard->start_s - live->to_s[phase] < STEP_PAUSE_S;
    char *both = follows ? sl_strf("%s, %s", live->heard[phase], heard->text) : NULL;
    set_text(&live->heard[phase], both != NULL ? both : heard->text);
    live->from_s[phase] = both != NULL ? live->from_s[phase] : heard->start_s;
    live->unclear[phase] = heard->unclear || (both != NULL && live->unclear[phase]);
    live->to_s[phase] = heard->end_s;
    free(both);
}

static void take_heard(struct sl_live *live, const struct sl_heard *heard)
{
    if (heard->phase >= live->run.setup->routine.n_phases) {
        return;
    }
    for (size_t i = 0; i < SL_PHASE_MAX; i++) { /* heard out, it may turn out to be another phase */
        struct sl_heard earlier = {.start_s = live->from_s[i], .end_s = live->to_s[i]};
        if (live->heard[i] != NULL && sl_listener_replaces(heard, &earlier)) {
            free(live->heard[i]);
            live->heard[i] = NULL;
        }
    }
    add_words(live, heard);
    set_text(&live->last_heard, heard->text);
}

void sl_live_event(struct sl_live *live, const struct sl_event *event)
{
    const char *note = sl_screen_note(event->kind);
    if (event->kind == SL_EVENT_HEARD) { /* dated back: the clock stands as it is */
        take_heard(live, event->heard);
        return;
    }
    live->at_s = event->at_s;
    live->distance_m = event->distance_m;
    live->speed_mps = event->speed_mps;
    live->engine_rpm = event->engine_rpm;
    live->gear = event->gear;
    live->announced = live->announced || event->kind == SL_EVENT_ANNOUNCED;
    live->line_reached = live->line_reached || event->kind == SL_EVENT_LINE;
    if (event->kind == SL_EVENT_CUE) {
        set_text(&live->cue, event->cue->text);
    }
    if (event->kind == SL_EVENT_LEVEL) {
        live->level_db = fmax(event->level_db, live->level_db - LEVEL_FALL_DB);
        live->clipped_s = event->clipped ? event->at_s : live->clipped_s;
    }
    if (note != NULL) {
        set_text(&live->note, note);
    } else if (event->kind == SL_EVENT_GEAR) { /* it no longer brakes */
        free(live->note);
        live->note = NULL;
    }
}

const char *sl_live_level_word(double level_db)
{
    return level_db < -55.0   ? "no sound"
           : level_db < -40.0 ? "quiet"
           : level_db < -10.0 ? "good"
                              : "loud";
}

/* A bar of `columns` columns, `share` of it full. */
static void add_bar(struct sl_str *out, double share, int columns)
{
    int full = (int)lround(fmin(fmax(share, 0), 1) * columns);
    sl_str_add(out, "[");
    for (int i = 0; i < columns; i++) {
        sl_str_add(out, i < full ? "#" : "-");
    }
    sl_str_add(out, "]");
}

static int bar_columns(int width, int others)
{
    int columns = width - others - 2;
    return columns > BAR_MAX ? BAR_MAX : columns;
}

static void add_title(struct sl_str *out, const struct sl_live *live)
{
    if (live->run.drives && live->run.of > 1) {
        sl_str_addf(out, "Drive %zu of %zu. ", live->run.number, live->run.of);
    }
    if (live->run.drives) {
        sl_str_add(out, "The car does what you say: ");
        sl_text_clean(out, live->run.setup->junction.name);
        return;
    }
    sl_str_addf(out, "Run %zu of %zu: ", live->run.number, live->run.of);
    sl_text_clean(out, live->run.setup->junction.name);
    sl_str_addf(out, ", prompting %s", sl_prompting_word(live->run.prompting));
}

/* Where the driven car is, and its engine. */
static void add_car(struct sl_str *out, const struct sl_live *live)
{
    sl_str_addf(out, "%3.0f m %s the line, %2.0f mph, %s gear, %4.0f rpm", fabs(live->distance_m),
                live->distance_m < 0 ? "past" : "to", sl_mph_from_mps(live->speed_mps),
                live->gear == 0 ? "between" : sl_gear_ordinal(live->gear), live->engine_rpm);
}

static void add_place(struct sl_str *out, const struct sl_live *live)
{
    double left_s = live->run.setup->plan.line_s - live->at_s;
    if (live->run.drives && live->announced) {
        add_car(out, live);
    } else if (live->line_reached) {
        sl_str_add(out, "At the line.");
    } else if (live->announced) {
        sl_str_addf(out, "%3.0f m and %4.1f s to the line, %2.0f mph", live->distance_m, left_s,
                    sl_mph_from_mps(live->speed_mps));
    } else {
        sl_str_addf(out, "Listen. The approach begins at %.0f m.",
                    live->run.setup->plan.distance_m);
    }
}

static void add_road(struct sl_str *out, const struct sl_live *live, int width)
{
    double whole_m = live->run.setup->plan.distance_m;
    double driven_m = live->announced ? whole_m - live->distance_m : 0;
    int columns = width - 8 < 2 ? 2 : width - 8 > 60 ? 60 : width - 8;
    int car = (int)lround(fmin(fmax(driven_m / whole_m, 0), 1) * (columns - 1));
    for (int i = 0; i < columns; i++) {
        sl_str_add(out, i < car ? "=" : i == car ? ">" : ".");
    }
    sl_str_add(out, "| line");
}

/* "NOW, 2.1 s left" and the like; once it was said, when and how. */
static void add_window(struct sl_str *out, const struct sl_live *live, size_t phase)
{
    const struct sl_window *window = &live->run.setup->plan.windows[phase];
    double at_s = live->at_s;
    if (live->heard[phase] != NULL) {
        sl_str_addf(out, "%s at %.1f s: ", live->unclear[phase] ? "unclear" : "said",
                    live->from_s[phase]);
        sl_text_clean(out, live->heard[phase]);
    } else if (live->run.drives) {
        sl_str_add(out, "not heard yet");
    } else if (!live->announced) {
        sl_str_addf(out, "due at %.1f s", window->due_s);
    } else if (at_s >= window->closes_s) {
        sl_str_add(out, "time is over");
    } else if (at_s >= window->opens_s) {
        sl_str_addf(out, "NOW, %.1f s left", window->closes_s - at_s);
    } else {
        sl_str_addf(out, "in %.1f s", window->opens_s - at_s);
    }
}

/* To be said now. */
static bool is_open(const struct sl_live *live, size_t phase)
{
    const struct sl_window *window = &live->run.setup->plan.windows[phase];
    return !live->run.drives && live->announced && live->heard[phase] == NULL &&
           live->at_s >= window->opens_s && live->at_s < window->closes_s;
}

static void add_phase(struct sl_str *out, const struct sl_live *live, size_t phase)
{
    struct sl_str window = {0};
    struct sl_str title = {0};
    add_window(&window, live, phase);
    sl_text_clean(&title, live->run.setup->routine.phases[phase].title);
    sl_str_addf(out, "%s %-9s %s", is_open(live, phase) ? ">" : " ", sl_str_text(&title),
                sl_str_text(&window));
    sl_str_clear(&title);
    sl_str_clear(&window);
}

static void add_level(struct sl_str *out, const struct sl_live *live, int width)
{
    bool clipped = live->at_s - live->clipped_s < CLIPPED_SHOWN_S;
    const char *word = clipped ? "too loud" : sl_live_level_word(live->level_db);
    sl_str_addf(out, "Microphone %-8s ", word);
    int columns = bar_columns(width, 20);
    if (columns >= 5) {
        add_bar(out, (live->level_db - LEVEL_LEAST_DB) / -LEVEL_LEAST_DB, columns);
    }
}

static struct sl_str *new_row(struct sl_live_rows *rows, enum sl_live_weight weight)
{
    if (rows->n == SL_LIVE_ROWS_MAX) {
        rows->n--; /* cannot happen with at most SL_PHASE_MAX phases */
        sl_str_clear(&rows->items[rows->n].text);
    }
    struct sl_live_row *row = &rows->items[rows->n++];
    *row = (struct sl_live_row){.weight = weight};
    return &row->text;
}

/* Adds a label and a text in up to `most` rows. */
static void add_labelled(struct sl_live_rows *rows, const char *label, const char *text, int width,
                         int most)
{
    struct sl_str clean = {0};
    sl_text_clean(&clean, text == NULL ? "" : text);
    const char *rest = sl_str_text(&clean);
    size_t indent = sl_text_columns(label);
    size_t columns = (size_t)width > indent ? (size_t)width - indent : 1;
    for (int i = 0; i < most && (i == 0 || *rest != '\0'); i++) {
        struct sl_str *row = new_row(rows, SL_LIVE_PLAIN);
        const char *next = NULL;
        size_t bytes = sl_text_line(rest, columns, &next);
        sl_str_addf(row, "%*s", (int)indent, i == 0 ? label : "");
        sl_str_add_bytes(row, rest, bytes);
        rest = next;
    }
    sl_str_clear(&clean);
}

/* Cuts a row to the width. */
static void cut(struct sl_str *text, int width)
{
    const char *next = NULL;
    const char *line = sl_str_text(text);
    if (sl_text_columns(line) > (size_t)width) {
        size_t bytes = sl_text_line(line, (size_t)width, &next);
        struct sl_str shorter = {0};
        sl_str_add_bytes(&shorter, line, bytes);
        sl_str_clear(text);
        *text = shorter;
    }
}

void sl_live_rows_clear(struct sl_live_rows *rows)
{
    for (size_t i = 0; i < rows->n; i++) {
        sl_str_clear(&rows->items[i].text);
    }
    rows->n = 0;
}

#define CAUTION "Practise parked or at home, never while driving. Ctrl-C ends the run."
#define CAUTION_SHORT "Never while driving. Ctrl-C: end."

/* How many rows there are for what matters less, out of `spare`. */
struct extras {
    bool road, heard, cue, airy, junction;
    int cue_rows;
};

static struct extras share_out(int spare)
{
    struct extras extras = {.road = spare >= 1, .heard = spare >= 2, .cue = spare >= 3};
    extras.cue_rows = spare >= 4 ? 2 : 1;
    extras.airy = spare >= 8; /* five blank rows */
    extras.junction = spare >= 11;
    return extras;
}

static void add_head(struct sl_live_rows *rows, const struct sl_live *live, int width,
                     const struct extras *extras)
{
    add_title(new_row(rows, SL_LIVE_STRONG), live);
    if (extras->junction) {
        struct sl_str about = {0};
        sl_screen_title(&about, live->run.setup);
        const char *second = strchr(sl_str_text(&about), '\n');
        const char *text = second == NULL ? "" : second + 1;
        sl_str_add_bytes(new_row(rows, SL_LIVE_PLAIN), text, strcspn(text, "\n"));
        sl_str_clear(&about);
    }
    if (extras->airy) {
        new_row(rows, SL_LIVE_PLAIN);
    }
    add_place(new_row(rows, SL_LIVE_STRONG), live);
    if (extras->road) {
        add_road(new_row(rows, SL_LIVE_PLAIN), live, width);
    }
}

static void build(const struct sl_live *live, int width, int spare, struct sl_live_rows *rows)
{
    const struct sl_routine *routine = &live->run.setup->routine;
    struct extras extras = share_out(spare);
    add_head(rows, live, width, &extras);
    if (extras.airy) {
        new_row(rows, SL_LIVE_PLAIN);
    }
    for (size_t i = 0; i < routine->n_phases; i++) {
        add_phase(new_row(rows, is_open(live, i) ? SL_LIVE_STRONG : SL_LIVE_PLAIN), live, i);
    }
    if (extras.airy) {
        new_row(rows, SL_LIVE_PLAIN);
    }
    if (extras.cue) {
        add_labelled(rows, "Cue        ", live->cue, width, extras.cue_rows);
    }
    if (extras.heard) {
        const char *heard = live->run.live_ear ? live->last_heard : "(shown after the run)";
        add_labelled(rows, "Heard      ", heard, width, 1);
    }
    add_level(new_row(rows, SL_LIVE_PLAIN), live, width);
    if (extras.airy) {
        new_row(rows, SL_LIVE_PLAIN);
    }
    if (live->note != NULL) {
        add_labelled(rows, "", live->note, width, extras.airy ? 2 : 1);
    }
    bool wide = (size_t)width >= strlen(CAUTION);
    sl_str_add(new_row(rows, SL_LIVE_PLAIN), wide ? CAUTION : CAUTION_SHORT);
}

void sl_live_rows(const struct sl_live *live, int width, int height, struct sl_live_rows *rows)
{
    sl_live_rows_clear(rows);
    width = width < 1 ? 1 : width;
    int needed = 4 + (int)live->run.setup->routine.n_phases + (live->note != NULL ? 1 : 0);
    build(live, width, height - needed, rows);
    for (size_t i = 0; i < rows->n; i++) {
        cut(&rows->items[i].text, width);
    }
    while (rows->n > 0 && (int)rows->n > height) {
        sl_str_clear(&rows->items[--rows->n].text);
    }
}
