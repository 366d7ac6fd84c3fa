/*
 * Runs written as text, for tests of the marking: what was heard as a line of script, the faults of
 * a mark as a line of text.
 *
 * A script is phrases parted by ';': a phase of the fixture with the settings named, "no" (a word
 * of correction) or "um" (a filler). "?" in front: unclear. "@8" starts it at 8 s, "@8-9.5" ends it
 * as well; without it a phrase starts half a second after the last. A phrase lasts a second. "%60":
 * so many percent sure; 90 else.
 *   "mirrors interior left @4; signal left @8; ?speed 10 @12; gear 2 up @16; decide go @24"
 */
#ifndef SL_TESTS_RUN_SCRIPT_H
#define SL_TESTS_RUN_SCRIPT_H

#include <string.h>

#include "core/heard.h"
#include "core/marking.h"
#include "support/routine_fixture.h"

/* One word of a phrase: a setting of its phase, or its time. */
static inline void script_word(struct sl_heard *heard, const char *word)
{
    struct sl_settings *settings = &heard->settings;
    if (word[0] == '@') {
        char *rest = NULL;
        heard->start_s = strtod(word + 1, &rest);
        heard->end_s = rest[0] == '-' ? strtod(rest + 1, NULL) : heard->start_s + 1;
    } else if (word[0] == '%') {
        heard->confidence = strtod(word + 1, NULL) / 100;
    } else if (heard->phase == MIRRORS) {
        sl_settings_add_mirror(settings, sl_mirror_from_word(word));
    } else if (heard->phase == SIGNAL) {
        settings->signal = sl_signal_from_word(word);
    } else if (heard->phase == SPEED) {
        settings->speed_mps = sl_mps_from_mph(strtod(word, NULL));
    } else if (heard->phase == GEAR && sl_clutch_from_word(word) == SL_CLUTCH_UNSAID) {
        settings->gear = (int)strtol(word, NULL, 10);
    } else if (heard->phase == GEAR) {
        settings->clutch = sl_clutch_from_word(word);
    } else if (heard->phase == DECIDE) {
        settings->decision = sl_decision_from_word(word);
    }
}

/* The next word of *at, up to a space or the end; false when there is none. */
static inline bool script_next(const char **at, char *word, size_t room)
{
    *at += strspn(*at, " ");
    size_t length = strcspn(*at, " ;");
    if (length == 0 || length >= room) {
        return false;
    }
    memcpy(word, *at, length);
    word[length] = '\0';
    *at += length;
    return true;
}

/* Release with sl_heard_clear. */
static inline struct sl_heard_list script_heard(const struct sl_routine *routine,
                                                const char *script)
{
    struct sl_heard_list list = {0};
    double free_s = 0;
    char word[32];
    const char *at = script;
    while (*at != '\0') {
        struct sl_heard heard = {.start_s = free_s, .end_s = free_s + 1, .confidence = 0.9};
        const char *start = at + strspn(at, " ?");
        at += strspn(at, " ");
        heard.unclear = *at == '?';
        at = start;
        size_t length = strcspn(start, ";@");
        while (length > 0 && start[length - 1] == ' ') {
            length--;
        }
        if (script_next(&at, word, sizeof word)) {
            heard.phase = strcmp(word, "no") == 0   ? SL_PHRASE_CORRECTION
                          : strcmp(word, "um") == 0 ? SL_PHRASE_FILLER
                                                    : sl_routine_phase(routine, word);
            while (script_next(&at, word, sizeof word)) {
                script_word(&heard, word);
            }
            char *text = sl_strf("%.*s", (int)length, start);
            heard.text = text;
            (void)sl_heard_add(&list, &heard, NULL);
            free(text);
            free_s = heard.end_s + 0.5;
        }
        at += *at == ';';
    }
    return list;
}

/* "gear missed, decide early look-first"; the rule only where it is not the kind's word. */
static inline char *script_faults(const struct sl_routine *routine, const struct sl_mark *mark)
{
    struct sl_str text = {0};
    for (size_t i = 0; i < mark->n_faults; i++) {
        const struct sl_fault *fault = &mark->faults[i];
        const char *word = sl_fault_word(fault->kind);
        bool plain = strcmp(word, fault->rule) == 0;
        sl_str_addf(&text, "%s%s %s%s%s", i == 0 ? "" : ", ", routine->phases[fault->phase].id,
                    word, plain ? "" : " ", plain ? "" : fault->rule);
    }
    return sl_str_take(&text);
}

#endif
