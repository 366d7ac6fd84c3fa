/*
 * The decoder as this machine has it, against recordings of real people with their transcriptions:
 * Debian's package pocketsphinx-testdata (cards/cards.gram, cards/cards.transcription). Where this
 * fails, the acoustic model or the library is broken, not sayline.
 */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "core/str.h"

#include <pocketsphinx.h>
#include <sphinxbase/err.h>

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define CARDS "/usr/share/pocketsphinx/test/data/cards/"
#define WAV_HEADER 44

static const struct {
    const char *file, *words;
} cards[] = {
    {"001.wav", "ten of clubs"},
    {"002.wav", "four queen of clubs"},
    {"003.wav", "seven of clubs"},
    {"004.wav", "five five"},
    {"005.wav", "eight of spades four of clubs seven of hearts"},
};

/* The samples of a 16 bit WAV file with the plain header; the caller frees. */
static int16_t *read_wav(const char *name, size_t *n)
{
    char *path = sl_strf(CARDS "%s", name);
    FILE *file = fopen(path, "rb");
    free(path);
    if (file == NULL) {
        return NULL;
    }
    int16_t *samples = malloc(sizeof(*samples) * 16000 * 20);
    assert_int_equal(fseek(file, WAV_HEADER, SEEK_SET), 0);
    *n = fread(samples, sizeof(*samples), (size_t)16000 * 20, file);
    (void)fclose(file);
    return samples;
}

static void real_speech_is_recognised_as_transcribed_with_its_own_grammar(void **state)
{
    (void)state;
    err_set_logfp(NULL);
    cmd_ln_t *config =
        cmd_ln_init(NULL, ps_args(), TRUE, "-hmm", SL_ACOUSTIC_MODEL, "-dict",
                    SL_ACOUSTIC_MODEL "/../cmudict-en-us.dict", "-jsgf", CARDS "cards.gram", NULL);
    FILE *there = fopen(CARDS "cards.gram", "r");
    if (there == NULL) {
        cmd_ln_free_r(config);
        skip(); /* pocketsphinx-testdata is not installed */
    }
    (void)fclose(there);
    ps_decoder_t *ps = ps_init(config);
    assert_non_null(ps);
    for (size_t i = 0; i < sizeof(cards) / sizeof(cards[0]); i++) {
        size_t n = 0;
        int16_t *samples = read_wav(cards[i].file, &n);
        assert_non_null(samples);
        assert_int_equal(ps_start_stream(ps), 0);
        assert_int_equal(ps_start_utt(ps), 0);
        assert_true(ps_process_raw(ps, samples, n, FALSE, TRUE) > 0);
        assert_int_equal(ps_end_utt(ps), 0);
        assert_string_equal(ps_get_hyp(ps, NULL), cards[i].words);
        free(samples);
    }
    ps_free(ps);
    cmd_ln_free_r(config);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(real_speech_is_recognised_as_transcribed_with_its_own_grammar),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
