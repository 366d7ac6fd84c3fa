/*
 * A small routine for the recogniser's tests: one chain of words a phrase.
 */
#ifndef SL_TESTS_SPEECH_HAND_BOOK_H
#define SL_TESTS_SPEECH_HAND_BOOK_H

#include "core/routine.h"
#include "core/str.h"

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

enum { MIRRORS, SIGNAL, SPEED, GEAR, DECIDE };

struct hand_phrase {
    size_t phase;
    const char *words;
    struct sl_settings settings;
};

static const struct hand_phrase hand_phrases[] = {
    {MIRRORS,
     "interior mirror left mirror",
     {.mirrors = {SL_MIRROR_INTERIOR, SL_MIRROR_LEFT}, .n_mirrors = 2}},
    {MIRRORS,
     "interior mirror right mirror",
     {.mirrors = {SL_MIRROR_INTERIOR, SL_MIRROR_RIGHT}, .n_mirrors = 2}},
    {SIGNAL, "signal left", {.signal = SL_SIGNAL_LEFT}},
    {SIGNAL, "signal right", {.signal = SL_SIGNAL_RIGHT}},
    {SPEED, "slow down to ten", {.speed_mps = 10 * 0.44704}},
    {SPEED, "slow down to five", {.speed_mps = 5 * 0.44704}},
    {GEAR, "first gear clutch down", {.gear = 1, .clutch = SL_CLUTCH_DOWN}},
    {GEAR, "second gear clutch up", {.gear = 2, .clutch = SL_CLUTCH_UP}},
    {DECIDE, "clear going", {.decision = SL_DECISION_GO}},
    {DECIDE, "not clear stopping", {.decision = SL_DECISION_WAIT}},
    {SL_PHRASE_FILLER, "okay", {.gear = 0}},
    {SL_PHRASE_CORRECTION, "no sorry", {.gear = 0}},
};
enum { N_HAND_PHRASES = sizeof(hand_phrases) / sizeof(hand_phrases[0]) };

static const char hand_pronunciations[] = "clear K L IH R\n"
                                          "clear K L IY R\n"
                                          "clutch K L AH CH\n"
                                          "down D AW N\n"
                                          "first F ER S T\n"
                                          "five F AY V\n"
                                          "gear G IH R\n"
                                          "going G OW IH NG\n"
                                          "interior IH N T IH R IY ER\n"
                                          "left L EH F T\n"
                                          "mirror M IH R ER\n"
                                          "no N OW\n"
                                          "not N AA T\n"
                                          "okay OW K EY\n"
                                          "right R AY T\n"
                                          "second S EH K AH N D\n"
                                          "second S EH K AH N\n"
                                          "signal S IH G N AH L\n"
                                          "slow S L OW\n"
                                          "sorry S AA R IY\n"
                                          "stopping S T AA P IH NG\n"
                                          "ten T EH N\n"
                                          "to T UW\n"
                                          "to T AH\n"
                                          "up AH P\n";

/* Frees what hand_routine made. */
static inline void hand_clear(struct sl_routine *routine)
{
    sl_phrasebook_clear(&routine->phrasebook);
    *routine = (struct sl_routine){0};
}

/* Only the phrasebook is filled. Release with hand_clear. */
static inline struct sl_routine hand_routine(void)
{
    struct sl_routine routine = {0};
    struct sl_phrasebook *book = &routine.phrasebook;
    book->phrases = calloc(N_HAND_PHRASES, sizeof(*book->phrases));
    book->n_phrases = N_HAND_PHRASES;
    for (size_t i = 0; i < N_HAND_PHRASES; i++) {
        book->phrases[i] = (struct sl_phrase){.phase = hand_phrases[i].phase,
                                              .pattern = sl_strdup(hand_phrases[i].words),
                                              .settings = hand_phrases[i].settings};
    }
    if (sl_phrasebook_compile(book, NULL) != SL_OK) {
        hand_clear(&routine); /* a test with it fails */
    }
    return routine;
}

/* Writes the pronunciations into the build folder; the caller frees the path. */
static inline char *hand_pronunciation_file(const char *name)
{
    char *path = sl_strf("%s/%s", SL_BUILD_DIR, name);
    FILE *file = fopen(path, "w");
    if (file != NULL) {
        (void)fputs(hand_pronunciations, file);
        (void)fclose(file);
    }
    return path;
}

#endif
