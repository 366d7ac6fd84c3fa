/*
 * Prompting: how much a rehearsal tells the learner, and how it fades as the learner needs it less.
 */
#ifndef SL_CORE_PROMPTING_H
#define SL_CORE_PROMPTING_H

#include "core/marking.h"

/* What is said after the announcement, which always comes. From most to least. */
enum sl_prompting {
    SL_PROMPTING_FULL,    /* "full": a cue before each phase, distance calls, the line */
    SL_PROMPTING_PARTIAL, /* "partial": distance calls, the line */
    SL_PROMPTING_NONE,    /* "none": nothing */
    SL_PROMPTING_COUNT
};

/* The word in options and files; never NULL for a valid value. "fading" is not a level but a wish:
 * see struct sl_fading. */
const char *sl_prompting_word(enum sl_prompting prompting);
/* The level for a word, or SL_PROMPTING_COUNT when it names none. */
enum sl_prompting sl_prompting_from_word(const char *word);

/*
 * Fading. A run is
 *  clean    no fault at all;
 *  late     nothing worse than timing: only early and late;
 *  faulty   a step missed, out of order, wrong or said again.
 * A run in which something was unclear and nothing was faulty tells nothing: as if it had not been.
 * After SL_FADE_AFTER_CLEAN clean runs in a row prompting drops one level; after one faulty run, or
 * SL_FADE_BACK_AFTER_LATE late ones in a row, it comes back one level. After each change of level
 * the counting starts anew. Faded prompts that come back on error are common practice in teaching;
 * the numbers are ours, no source.
 */
#define SL_FADE_AFTER_CLEAN 2
#define SL_FADE_BACK_AFTER_LATE 2

struct sl_fading {
    enum sl_prompting level; /* of the next run */
    unsigned clean_runs;     /* in a row at this level */
    unsigned late_runs;
};

/* The start: full, nothing counted. */
struct sl_fading sl_fading_start(void);

/* The state after a run that was marked so; pure. */
struct sl_fading sl_fading_after(struct sl_fading fading, const struct sl_mark *mark);

/* The same from the kinds of its faults: a set of bits 1 << enum sl_fault_kind. */
struct sl_fading sl_fading_after_kinds(struct sl_fading fading, unsigned kinds);

#endif
