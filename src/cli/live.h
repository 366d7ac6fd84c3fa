/*
 * The live view of a rehearsal as rows of text, whatever the terminal: what screen_full.c draws.
 * Every bar also has words.
 */
#ifndef SL_CLI_LIVE_H
#define SL_CLI_LIVE_H

#include "cli/screen.h"
#include "core/str.h"

#define SL_LIVE_ROWS_MAX 40

/* Initialise with sl_live_begin; release with sl_live_clear. */
struct sl_live {
    struct sl_screen_run run;
    double at_s, distance_m, speed_mps; /* as of the last event */
    double engine_rpm;                  /* of the driven car, and its gear */
    int gear;
    bool announced, line_reached;
    char *cue;                 /* the last one; NULL: none yet */
    char *heard[SL_PHASE_MAX]; /* by phase, what was heard last; NULL: nothing */
    double from_s[SL_PHASE_MAX], to_s[SL_PHASE_MAX];
    bool unclear[SL_PHASE_MAX]; /* and whether it was not clear */
    char *last_heard;           /* of any phase */
    double level_db;            /* of the microphone, falling back slowly */
    double clipped_s;           /* when the peaks were last cut off */
    char *note;                 /* the last notice */
};

void sl_live_begin(struct sl_live *live, const struct sl_screen_run *run);
void sl_live_event(struct sl_live *live, const struct sl_event *event);
void sl_live_clear(struct sl_live *live);

/* How a row stands out. */
enum sl_live_weight { SL_LIVE_PLAIN, SL_LIVE_STRONG };

struct sl_live_row {
    struct sl_str text;
    enum sl_live_weight weight;
};

/* Initialise with {0}. */
struct sl_live_rows {
    struct sl_live_row items[SL_LIVE_ROWS_MAX];
    size_t n;
};

/*
 * Fills the rows for a terminal of that size, each at most `width` columns wide; not more than
 * `height` of them: what matters least is left out first. Sizes from 20 x 5 make sense, any is
 * taken.
 */
void sl_live_rows(const struct sl_live *live, int width, int height, struct sl_live_rows *rows);
void sl_live_rows_clear(struct sl_live_rows *rows);

/* "no sound", "quiet", "good", "loud": the word for a level in dBFS. */
const char *sl_live_level_word(double level_db);

#endif
