/*
 * What learners say: the words for one step of the routine with given settings, fillers,
 * corrections, and talk about something else.
 */
#ifndef CORPUS_SCRIPT_H
#define CORPUS_SCRIPT_H

#include "rng.h"

#include "core/phrasebook.h"
#include "core/settings.h"
#include "core/status.h"

#include <stdbool.h>
#include <stddef.h>

/* A stretch of speech without a pause. */
struct corpus_phrase {
    char *text;
    struct sl_settings settings; /* named in it */
};

#define CORPUS_PHRASES_MAX 4

/* Initialise with {0}; release with corpus_wording_clear. */
struct corpus_wording {
    struct corpus_phrase phrases[CORPUS_PHRASES_MAX];
    size_t n;
};

/* What is to be said. */
struct corpus_meaning {
    size_t phase;
    unsigned required;           /* settings that must be named */
    struct sl_settings settings; /* all that may be named */
};

/*
 * Words for a step from this program's own lists, written without looking at the phrasebook.
 * SL_NOT_FOUND when the lists have none for these settings.
 */
enum sl_status corpus_script_own(struct corpus_rng *rng, const struct corpus_meaning *meaning,
                                 struct corpus_wording *wording, struct sl_error *error);

/*
 * Fills one of `lines` (NULL-terminated), drawn at random: phrases cut at '|'; {0} {1} {2} are
 * mirrors in the order wanted, {signal}, {speed}, {gear} and {clutch} their settings. A phrase
 * without braces says all that is wanted.
 */
enum sl_status corpus_script_fill(struct corpus_rng *rng, const char *const *lines,
                                  const struct sl_settings *wanted, struct corpus_wording *wording,
                                  struct sl_error *error);

/* Lists of lines by what they say; each ends with NULL. */
struct corpus_lines {
    const char *const *mirrors[4]; /* by how many */
    const char *const *signal_none, *const *signal_side, *const *speed;
    const char *const *gear, *const *gear_clutch, *const *clutch;
    const char *const *go, *const *wait;
};

/* Fills a line of the list for the meaning's settings; SL_NOT_FOUND when there is none for them. */
enum sl_status corpus_script_speak(struct corpus_rng *rng, const struct corpus_lines *lines,
                                   const struct corpus_meaning *meaning,
                                   struct corpus_wording *wording, struct sl_error *error);

/* Words that people say and that phrasebooks lack; the caller checks that this one does.
 * SL_NOT_FOUND when there are none for these settings. */
enum sl_status corpus_script_outside(struct corpus_rng *rng, const struct corpus_meaning *meaning,
                                     struct corpus_wording *wording, struct sl_error *error);

/*
 * Words for a step from the routine's phrasebook: random ways through its graph that name what is
 * required, nothing else than `settings`, with the same values. SL_NOT_FOUND when none was found.
 */
enum sl_status corpus_script_book(struct corpus_rng *rng, const struct sl_phrasebook *book,
                                  const struct corpus_meaning *meaning,
                                  struct corpus_wording *wording, struct sl_error *error);

/* Whether the phrasebook understands every phrase as this phase with these settings. */
bool corpus_script_is_in_book(const struct sl_phrasebook *book, size_t phase,
                              const struct corpus_wording *wording);

/* Whether the phrasebook finds no phrase of a step in the text. */
bool corpus_script_is_nothing(const struct sl_phrasebook *book, const char *text);

/* "um", "er" */
const char *corpus_script_hesitation(struct corpus_rng *rng);
const char *corpus_script_filler(struct corpus_rng *rng);
const char *corpus_script_correction(struct corpus_rng *rng);
const char *corpus_script_off_topic(struct corpus_rng *rng);

void corpus_wording_clear(struct corpus_wording *wording);

#endif
