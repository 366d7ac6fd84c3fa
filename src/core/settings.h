/*
 * Settings: what a step of the routine names (which mirrors, which signal, what speed, ...). The
 * same struct says what was heard and what the junction wants. All zero means "nothing named".
 */
#ifndef SL_CORE_SETTINGS_H
#define SL_CORE_SETTINGS_H

#include <stdbool.h>
#include <stddef.h>

/* The word for 0 in every list below is NULL: not named. */
enum sl_mirror { SL_MIRROR_UNSAID, SL_MIRROR_INTERIOR, SL_MIRROR_LEFT, SL_MIRROR_RIGHT };
enum sl_signal { SL_SIGNAL_UNSAID, SL_SIGNAL_LEFT, SL_SIGNAL_RIGHT, SL_SIGNAL_NONE };
enum sl_clutch { SL_CLUTCH_UNSAID, SL_CLUTCH_UP, SL_CLUTCH_DOWN };
enum sl_decision { SL_DECISION_UNSAID, SL_DECISION_GO, SL_DECISION_WAIT };
enum sl_position { SL_POSITION_UNSAID, SL_POSITION_LEFT, SL_POSITION_RIGHT, SL_POSITION_AHEAD };

#define SL_MIRROR_MAX 3 /* interior, left, right: each at most once */

struct sl_settings {
    enum sl_mirror mirrors[SL_MIRROR_MAX]; /* in the order said */
    size_t n_mirrors;
    enum sl_signal signal;
    double speed_mps; /* 0: not named */
    int gear;         /* 1 to 6; 0: not named */
    enum sl_clutch clutch;
    enum sl_decision decision;
    enum sl_position position; /* used by routines with a position phase */
};

/* One bit for each setting, for sets of them. */
enum sl_setting {
    SL_SET_MIRRORS = 1 << 0,
    SL_SET_SIGNAL = 1 << 1,
    SL_SET_SPEED = 1 << 2,
    SL_SET_GEAR = 1 << 3,
    SL_SET_CLUTCH = 1 << 4,
    SL_SET_DECISION = 1 << 5,
    SL_SET_POSITION = 1 << 6,
    SL_SET_ALL = (1 << 7) - 1
};

/* The word for a value ("interior", "left", "none", "up", "go"), as in files and JSON; NULL for
 * the value 0. */
const char *sl_mirror_word(enum sl_mirror mirror);
const char *sl_signal_word(enum sl_signal signal);
const char *sl_clutch_word(enum sl_clutch clutch);
const char *sl_decision_word(enum sl_decision decision);
const char *sl_position_word(enum sl_position position);

/* The value for a word, or 0 (UNSAID) when the word names none. `word` must not be NULL. */
enum sl_mirror sl_mirror_from_word(const char *word);
enum sl_signal sl_signal_from_word(const char *word);
enum sl_clutch sl_clutch_from_word(const char *word);
enum sl_decision sl_decision_from_word(const char *word);
enum sl_position sl_position_from_word(const char *word);

/* The key of one setting as in files and JSON ("mirrors", "signal", "speed_mph", "gear", "clutch",
 * "decision", "position"); NULL when `setting` is not exactly one bit. */
const char *sl_setting_key(enum sl_setting setting);

/* The bit for a key, or 0 when there is none of that name. */
unsigned sl_setting_from_key(const char *key);

/* Which settings are named: a set of enum sl_setting bits. */
unsigned sl_settings_named(const struct sl_settings *settings);

/* "first" to "sixth"; "" for another number. */
const char *sl_gear_ordinal(int gear);

/* Adds a mirror at the end unless it is named already. */
void sl_settings_add_mirror(struct sl_settings *settings, enum sl_mirror mirror);

/* Adds what `more` names to `into`: mirrors are joined, any other setting of `more` wins. */
void sl_settings_merge(struct sl_settings *into, const struct sl_settings *more);

/* Only the settings in `keep` (bits). */
struct sl_settings sl_settings_only(const struct sl_settings *settings, unsigned keep);

/* True when both name the same settings with the same values (mirrors in the same order). */
bool sl_settings_equal(const struct sl_settings *a, const struct sl_settings *b);

/* In words for people: "interior and left mirror", "signal left", "10 mph", "second gear, clutch
 * up"; "" when nothing is named. The caller frees; NULL when memory runs out. */
char *sl_settings_words(const struct sl_settings *settings);

#endif
