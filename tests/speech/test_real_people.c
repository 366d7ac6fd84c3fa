/*
 * Real people saying something else: all recordings of Debian's package pocketsphinx-testdata (card
 * names, a novel, a robot's commands, numbers). At most two phases may be found in all of it.
 */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "core/str.h"
#include "files/models.h"
#include "sound/sound_reader.h"
#include "speech/recogniser.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define DATA "/usr/share/pocketsphinx/test/data/"
#define BLOCK 16000

static const char *const recordings[] = {
    "cards/001.wav",
    "cards/002.wav",
    "cards/003.wav",
    "cards/004.wav",
    "cards/005.wav",
    "librivox/sense_and_sensibility_01_austen_64kb-0870.wav",
    "librivox/sense_and_sensibility_01_austen_64kb-0880.wav",
    "librivox/sense_and_sensibility_01_austen_64kb-0890.wav",
    "librivox/sense_and_sensibility_01_austen_64kb-0920.wav",
    "librivox/sense_and_sensibility_01_austen_64kb-0930.wav",
    "goforward.raw",
    "numbers.raw",
    "something.raw",
};

/* 16 kHz 16 bit mono without a header. */
static void feed_raw(struct sl_recogniser *recogniser, const char *path,
                     struct sl_heard_list *heard)
{
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    int16_t *block = malloc(BLOCK * sizeof(*block));
    size_t n;
    while ((n = fread(block, sizeof(*block), BLOCK, file)) > 0) {
        assert_int_equal(sl_recogniser_feed(recogniser, block, n, heard, NULL), SL_OK);
    }
    free(block);
    (void)fclose(file);
}

static void feed_wav(struct sl_recogniser *recogniser, const char *path,
                     struct sl_heard_list *heard)
{
    struct sl_sound_reader *reader = NULL;
    assert_int_equal(sl_sound_open(path, SL_SPEECH_RATE_HZ, &reader, NULL), SL_OK);
    int16_t *block = malloc(BLOCK * sizeof(*block));
    size_t n = 1;
    while (n > 0) {
        assert_int_equal(sl_sound_read(reader, block, BLOCK, &n, NULL), SL_OK);
        assert_int_equal(sl_recogniser_feed(recogniser, block, n, heard, NULL), SL_OK);
    }
    free(block);
    sl_sound_close(reader);
}

static size_t count_phases(const struct sl_routine *routine, const struct sl_heard_list *heard,
                           const char *recording)
{
    size_t n = 0;
    for (size_t i = 0; i < heard->count; i++) {
        const struct sl_heard *item = &heard->items[i];
        if (item->phase < routine->n_phases && !item->unclear) {
            print_message("%s: '%s' at %.1f s, confidence %.2f\n", recording, item->text,
                          item->start_s, item->confidence);
            n++;
        }
    }
    return n;
}

static void people_saying_something_else_say_at_most_two_phases(void **state)
{
    static const char *const routines[] = {"decide-last", "position-look"};
    (void)state;
    FILE *there = fopen(DATA "cards/001.wav", "rb");
    if (there == NULL) {
        skip(); /* pocketsphinx-testdata is not installed */
    }
    (void)fclose(there);
    for (size_t r = 0; r < sizeof(routines) / sizeof(routines[0]); r++) {
        struct sl_routine routine = {0};
        struct sl_recogniser *recogniser = NULL;
        struct sl_recogniser_paths paths = {.pronunciations =
                                                SL_SOURCE_DIR "/models/pronunciations.dict"};
        assert_int_equal(sl_load_routine(routines[r], &routine, NULL), SL_OK);
        assert_int_equal(sl_recogniser_new(&routine, &paths, NULL, &recogniser, NULL), SL_OK);
        size_t phases = 0;
        for (size_t i = 0; i < sizeof(recordings) / sizeof(recordings[0]); i++) {
            struct sl_heard_list heard = {0};
            char *path = sl_strf(DATA "%s", recordings[i]);
            if (strstr(path, ".raw") != NULL) {
                feed_raw(recogniser, path, &heard);
            } else {
                feed_wav(recogniser, path, &heard);
            }
            assert_int_equal(sl_recogniser_finish(recogniser, &heard, NULL), SL_OK);
            phases += count_phases(&routine, &heard, recordings[i]);
            sl_heard_clear(&heard);
            free(path);
        }
        assert_in_range(phases, 0, 2);
        sl_recogniser_free(recogniser);
        sl_routine_clear(&routine);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(people_saying_something_else_say_at_most_two_phases),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
