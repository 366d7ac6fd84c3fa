#include "core/settings.h"

#include "core/str.h"
#include "core/units.h"

#include <math.h>
#include <string.h>

#define COUNT_OF(list) (sizeof(list) / sizeof *(list))

/* Speeds that differ by less are the same speed: conversions from and to mph leave a few units in
 * the last place, and nobody says a thousandth of a mile an hour. */
#define SAME_SPEED_MPS 1e-4

/* Indexed by the enumerations; 0 is "not named". */
static const char *const mirror_words[] = {NULL, "interior", "left", "right"};
static const char *const signal_words[] = {NULL, "left", "right", "none"};
static const char *const clutch_words[] = {NULL, "up", "down"};
static const char *const decision_words[] = {NULL, "go", "wait"};
static const char *const position_words[] = {NULL, "left", "right", "ahead"};

/* Indexed by bit number. */
static const char *const setting_keys[] = {"mirrors", "signal",   "speed_mph", "gear",
                                           "clutch",  "decision", "position"};

static const char *word_at(const char *const *words, size_t n_words, size_t index)
{
    return index < n_words ? words[index] : NULL;
}

/* The index of a word, or 0. */
static size_t index_of(const char *const *words, size_t n_words, const char *word)
{
    for (size_t i = 1; i < n_words; i++) {
        if (strcmp(words[i], word) == 0) {
            return i;
        }
    }
    return 0;
}

const char *sl_mirror_word(enum sl_mirror mirror)
{
    return word_at(mirror_words, COUNT_OF(mirror_words), (size_t)mirror);
}

const char *sl_signal_word(enum sl_signal signal)
{
    return word_at(signal_words, COUNT_OF(signal_words), (size_t)signal);
}

const char *sl_clutch_word(enum sl_clutch clutch)
{
    return word_at(clutch_words, COUNT_OF(clutch_words), (size_t)clutch);
}

const char *sl_decision_word(enum sl_decision decision)
{
    return word_at(decision_words, COUNT_OF(decision_words), (size_t)decision);
}

const char *sl_position_word(enum sl_position position)
{
    return word_at(position_words, COUNT_OF(position_words), (size_t)position);
}

enum sl_mirror sl_mirror_from_word(const char *word)
{
    return (enum sl_mirror)index_of(mirror_words, COUNT_OF(mirror_words), word);
}

enum sl_signal sl_signal_from_word(const char *word)
{
    return (enum sl_signal)index_of(signal_words, COUNT_OF(signal_words), word);
}

enum sl_clutch sl_clutch_from_word(const char *word)
{
    return (enum sl_clutch)index_of(clutch_words, COUNT_OF(clutch_words), word);
}

enum sl_decision sl_decision_from_word(const char *word)
{
    return (enum sl_decision)index_of(decision_words, COUNT_OF(decision_words), word);
}

enum sl_position sl_position_from_word(const char *word)
{
    return (enum sl_position)index_of(position_words, COUNT_OF(position_words), word);
}

const char *sl_setting_key(enum sl_setting setting)
{
    for (size_t bit = 0; bit < COUNT_OF(setting_keys); bit++) {
        if ((unsigned)setting == 1U << bit) {
            return setting_keys[bit];
        }
    }
    return NULL;
}

unsigned sl_setting_from_key(const char *key)
{
    for (size_t bit = 0; bit < COUNT_OF(setting_keys); bit++) {
        if (strcmp(setting_keys[bit], key) == 0) {
            return 1U << bit;
        }
    }
    return 0;
}

unsigned sl_settings_named(const struct sl_settings *settings)
{
    unsigned named = 0;
    named |= settings->n_mirrors > 0 ? SL_SET_MIRRORS : 0;
    named |= settings->signal != SL_SIGNAL_UNSAID ? SL_SET_SIGNAL : 0;
    named |= settings->speed_mps > 0 ? SL_SET_SPEED : 0;
    named |= settings->gear > 0 ? SL_SET_GEAR : 0;
    named |= settings->clutch != SL_CLUTCH_UNSAID ? SL_SET_CLUTCH : 0;
    named |= settings->decision != SL_DECISION_UNSAID ? SL_SET_DECISION : 0;
    named |= settings->position != SL_POSITION_UNSAID ? SL_SET_POSITION : 0;
    return named;
}

void sl_settings_add_mirror(struct sl_settings *settings, enum sl_mirror mirror)
{
    if (mirror == SL_MIRROR_UNSAID) {
        return;
    }
    for (size_t i = 0; i < settings->n_mirrors; i++) {
        if (settings->mirrors[i] == mirror) {
            return;
        }
    }
    if (settings->n_mirrors < SL_MIRROR_MAX) {
        settings->mirrors[settings->n_mirrors++] = mirror;
    }
}

void sl_settings_merge(struct sl_settings *into, const struct sl_settings *more)
{
    unsigned named = sl_settings_named(more);
    for (size_t i = 0; i < more->n_mirrors; i++) {
        sl_settings_add_mirror(into, more->mirrors[i]);
    }
    into->signal = (named & SL_SET_SIGNAL) != 0 ? more->signal : into->signal;
    into->speed_mps = (named & SL_SET_SPEED) != 0 ? more->speed_mps : into->speed_mps;
    into->gear = (named & SL_SET_GEAR) != 0 ? more->gear : into->gear;
    into->clutch = (named & SL_SET_CLUTCH) != 0 ? more->clutch : into->clutch;
    into->decision = (named & SL_SET_DECISION) != 0 ? more->decision : into->decision;
    into->position = (named & SL_SET_POSITION) != 0 ? more->position : into->position;
}

struct sl_settings sl_settings_only(const struct sl_settings *settings, unsigned keep)
{
    struct sl_settings kept = {0};
    if ((keep & SL_SET_MIRRORS) != 0) {
        memcpy(kept.mirrors, settings->mirrors, sizeof kept.mirrors);
        kept.n_mirrors = settings->n_mirrors;
    }
    kept.signal = (keep & SL_SET_SIGNAL) != 0 ? settings->signal : SL_SIGNAL_UNSAID;
    kept.speed_mps = (keep & SL_SET_SPEED) != 0 ? settings->speed_mps : 0;
    kept.gear = (keep & SL_SET_GEAR) != 0 ? settings->gear : 0;
    kept.clutch = (keep & SL_SET_CLUTCH) != 0 ? settings->clutch : SL_CLUTCH_UNSAID;
    kept.decision = (keep & SL_SET_DECISION) != 0 ? settings->decision : SL_DECISION_UNSAID;
    kept.position = (keep & SL_SET_POSITION) != 0 ? settings->position : SL_POSITION_UNSAID;
    return kept;
}

static bool same_mirrors(const struct sl_settings *a, const struct sl_settings *b)
{
    if (a->n_mirrors != b->n_mirrors) {
        return false;
    }
    for (size_t i = 0; i < a->n_mirrors; i++) {
        if (a->mirrors[i] != b->mirrors[i]) {
            return false;
        }
    }
    return true;
}

bool sl_settings_equal(const struct sl_settings *a, const struct sl_settings *b)
{
    return same_mirrors(a, b) && a->signal == b->signal &&
           fabs(a->speed_mps - b->speed_mps) < SAME_SPEED_MPS && a->gear == b->gear &&
           a->clutch == b->clutch && a->decision == b->decision && a->position == b->position;
}

static void add_comma(struct sl_str *str)
{
    if (str->length > 0) {
        sl_str_add(str, ", ");
    }
}

/* "interior, left and right mirror" */
static void add_mirrors(struct sl_str *str, const struct sl_settings *settings)
{
    for (size_t i = 0; i < settings->n_mirrors; i++) {
        if (i > 0) {
            sl_str_add(str, i + 1 == settings->n_mirrors ? " and " : ", ");
        }
        sl_str_add(str, mirror_words[settings->mirrors[i]]);
    }
    sl_str_add(str, " mirror");
}

const char *sl_gear_ordinal(int gear)
{
    static const char *const names[] = {"", "first", "second", "third", "fourth", "fifth", "sixth"};
    return gear >= 1 && gear <= 6 ? names[gear] : "";
}

static void add_gear(struct sl_str *str, int gear)
{
    const char *ordinal = sl_gear_ordinal(gear);
    if (ordinal[0] != '\0') {
        sl_str_addf(str, "%s gear", ordinal);
    } else {
        sl_str_addf(str, "gear %d", gear);
    }
}

static void add_setting(struct sl_str *str, const struct sl_settings *settings,
                        enum sl_setting setting)
{
    add_comma(str);
    switch (setting) {
    case SL_SET_MIRRORS:
        add_mirrors(str, settings);
        break;
    case SL_SET_SIGNAL:
        if (settings->signal == SL_SIGNAL_NONE) {
            sl_str_add(str, "no signal");
        } else {
            sl_str_addf(str, "signal %s", signal_words[settings->signal]);
        }
        break;
    case SL_SET_SPEED:
        sl_str_addf(str, "%.3g mph", sl_mph_from_mps(settings->speed_mps));
        break;
    case SL_SET_GEAR:
        add_gear(str, settings->gear);
        break;
    case SL_SET_CLUTCH:
        sl_str_addf(str, "clutch %s", clutch_words[settings->clutch]);
        break;
    case SL_SET_DECISION:
        sl_str_add(str, decision_words[settings->decision]);
        break;
    case SL_SET_POSITION:
    case SL_SET_ALL:
        sl_str_addf(str, "position %s", position_words[settings->position]);
        break;
    }
}

char *sl_settings_words(const struct sl_settings *settings)
{
    /* In the order in which a routine comes to them. */
    static const enum sl_setting order[] = {SL_SET_MIRRORS, SL_SET_SIGNAL, SL_SET_POSITION,
                                            SL_SET_SPEED,   SL_SET_GEAR,   SL_SET_CLUTCH,
                                            SL_SET_DECISION};
    unsigned named = sl_settings_named(settings);
    struct sl_str str = {0};
    for (size_t i = 0; i < COUNT_OF(order); i++) {
        if ((named & (unsigned)order[i]) != 0) {
            add_setting(&str, settings, order[i]);
        }
    }
    return sl_str_take(&str);
}
