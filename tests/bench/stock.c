#include "bench/stock.h"

#include "bench/keywords.h"
#include "bench/stock_words.h"
#include "core/str.h"

#include <pocketsphinx.h>
#include <sphinxbase/err.h>

#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define MODEL SL_ACOUSTIC_MODEL
#define LANGUAGE_MODEL SL_ACOUSTIC_MODEL "/../en-us.lm.bin"
#define DICTIONARY SL_ACOUSTIC_MODEL "/../cmudict-en-us.dict"
#define FRAME_S 0.01
#define BLOCK 2048 /* samples that its own programs read at a time */

/* The threshold of a keyword, as a power of ten for each of its letters: the best F1 of -1, -2 and
 * -3 on ten clean runs of the tuning speakers. */
#define THRESHOLD_A_LETTER (-2.0)

struct bench_stock {
    enum bench_stock_mode mode;
    const struct sl_routine *routine;
    ps_decoder_t *ps;
};

static int add_keyword(FILE *file, const char *text)
{
    return fprintf(file, "%s /1e%.0f/\n", text, THRESHOLD_A_LETTER * (double)strlen(text));
}

/* The list of keywords in a temporary file, whose name is the caller's to free. */
static enum sl_status write_keywords(const struct sl_phrasebook *book, char **path,
                                     struct sl_error *error)
{
    struct bench_keywords keywords = {0};
    enum sl_status status = bench_keywords_make(book, &keywords, error);
    char *name = status == SL_OK ? sl_strdup("/tmp/keywords-XXXXXX") : NULL;
    int descriptor = name == NULL ? -1 : mkstemp(name);
    FILE *file = descriptor < 0 ? NULL : fdopen(descriptor, "w");
    bool good = file != NULL;
    for (size_t i = 0; i < keywords.count && good; i++) {
        good = add_keyword(file, keywords.texts[i]) > 0;
    }
    if (file != NULL && fclose(file) != 0) {
        good = false;
    }
    bench_keywords_clear(&keywords);
    if (status == SL_OK && !good) {
        status = sl_fail(error, SL_IO, name, NULL, "the keywords cannot be written");
    }
    if (status != SL_OK) {
        free(name);
        return status;
    }
    *path = name;
    return SL_OK;
}

static ps_decoder_t *start(const char *search, const char *file, bool keeps_silence)
{
    cmd_ln_t *config =
        cmd_ln_init(NULL, ps_args(), TRUE, "-hmm", MODEL, "-dict", DICTIONARY, search, file,
                    "-remove_silence", keeps_silence ? "no" : "yes", NULL);
    ps_decoder_t *ps = config == NULL ? NULL : ps_init(config);
    cmd_ln_free_r(config);
    return ps;
}

static enum sl_status start_mode(struct bench_stock *stock, struct sl_error *error)
{
    char *keywords = NULL;
    if (stock->mode == BENCH_STOCK_KEYWORDS) {
        enum sl_status status = write_keywords(&stock->routine->phrasebook, &keywords, error);
        if (status != SL_OK) {
            return status;
        }
        stock->ps = start("-kws", keywords, true);
        unlink(keywords);
        free(keywords);
    } else {
        stock->ps = start("-lm", LANGUAGE_MODEL, stock->mode == BENCH_STOCK_MODEL);
    }
    return stock->ps != NULL
               ? SL_OK
               : sl_fail(error, SL_UNSUPPORTED, MODEL, NULL, "PocketSphinx does not start");
}

enum sl_status bench_stock_new(enum bench_stock_mode mode, const struct sl_routine *routine,
                               struct bench_stock **stock, struct sl_error *error)
{
    /* The library ends the process where a file is missing. */
    if (access(LANGUAGE_MODEL, R_OK) != 0 || access(DICTIONARY, R_OK) != 0) {
        return sl_fail(error, SL_NOT_FOUND, LANGUAGE_MODEL,
                       "install Debian's package pocketsphinx-en-us",
                       "the language model is not there");
    }
    struct bench_stock *made = calloc(1, sizeof *made);
    if (made == NULL) {
        return sl_fail_memory(error);
    }
    made->mode = mode;
    made->routine = routine;
    err_set_logfp(NULL);
    err_set_callback(NULL, NULL);
    enum sl_status status = start_mode(made, error);
    if (status != SL_OK) {
        bench_stock_free(made);
        return status;
    }
    *stock = made;
    return SL_OK;
}

static enum sl_status collect(struct bench_stock *stock, struct bench_words *words,
                              struct sl_error *error)
{
    enum sl_status status = SL_OK;
    for (ps_seg_t *seg = ps_seg_iter(stock->ps); seg != NULL; seg = ps_seg_next(seg)) {
        int first = 0;
        int last = 0;
        int32 unused = 0;
        ps_seg_frames(seg, &first, &last);
        struct bench_word word = {.text = (char *)ps_seg_word(seg),
                                  .start_s = first * FRAME_S,
                                  .end_s = (last + 1) * FRAME_S,
                                  .score = ps_seg_prob(seg, &unused, &unused, &unused)};
        if (status == SL_OK) {
            status = bench_words_add(words, &word, error);
        }
    }
    return status;
}

static enum sl_status refuse(struct sl_error *error)
{
    return sl_fail(error, SL_UNSUPPORTED, "PocketSphinx", NULL, "it does not hear this sound");
}

/* The whole recording as one utterance. */
static enum sl_status hear_whole(struct bench_stock *stock, const int16_t *samples, size_t n,
                                 struct bench_words *words, struct sl_error *error)
{
    if (ps_start_utt(stock->ps) < 0 || ps_process_raw(stock->ps, samples, n, FALSE, TRUE) < 0 ||
        ps_end_utt(stock->ps) < 0) {
        return refuse(error);
    }
    return collect(stock, words, error);
}

/* In blocks; where speech has ended, so does the utterance. */
static enum sl_status hear_blocks(struct bench_stock *stock, const int16_t *samples, size_t n,
                                  struct bench_words *words, struct sl_error *error)
{
    bool spoke = false;
    enum sl_status status = ps_start_utt(stock->ps) < 0 ? refuse(error) : SL_OK;
    for (size_t at = 0; at < n && status == SL_OK; at += BLOCK) {
        size_t block = n - at < BLOCK ? n - at : BLOCK;
        if (ps_process_raw(stock->ps, samples + at, block, FALSE, FALSE) < 0) {
            return refuse(error);
        }
        bool speaks = ps_get_in_speech(stock->ps) != 0;
        bool ended = spoke && !speaks;
        spoke = speaks;
        if (ended) {
            status = ps_end_utt(stock->ps) < 0 ? refuse(error) : collect(stock, words, error);
            status = status == SL_OK && ps_start_utt(stock->ps) < 0 ? refuse(error) : status;
        }
    }
    if (status == SL_OK && ps_end_utt(stock->ps) < 0) {
        return refuse(error);
    }
    return status == SL_OK && spoke ? collect(stock, words, error) : status;
}

enum sl_status bench_stock_hear(struct bench_stock *stock, const int16_t *samples, size_t n,
                                struct sl_heard_list *heard, struct sl_error *error)
{
    /* Frame numbers go on from one utterance to the next unless a stream begins. */
    if (ps_start_stream(stock->ps) < 0) {
        return refuse(error);
    }
    struct bench_words words = {0};
    enum sl_status status = stock->mode == BENCH_STOCK_PLAIN
                                ? hear_blocks(stock, samples, n, &words, error)
                                : hear_whole(stock, samples, n, &words, error);
    if (status == SL_OK && stock->mode == BENCH_STOCK_KEYWORDS) {
        bench_words_keep_best(&words);
    }
    if (status == SL_OK) {
        status = bench_words_read(&words, stock->routine, heard, error);
    }
    bench_words_clear(&words);
    return status;
}

void bench_stock_free(struct bench_stock *stock)
{
    if (stock == NULL) {
        return;
    }
    if (stock->ps != NULL) {
        ps_free(stock->ps);
    }
    free(stock);
}
