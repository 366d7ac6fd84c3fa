#include "speech/decoder_library.h"

#include "core/str.h"

#include <sphinxbase/err.h>
#include <sphinxbase/fsg_model.h>

#include <math.h>
#include <pthread.h>
#include <stdbool.h>
#include <stdlib.h>
#include <sys/stat.h>

/* Scores are logarithms to the base 1.0001, shifted right by this many bits (the library's
 * SENSCR_SHIFT, which no public header carries). */
#define SCORE_SHIFT 10

#define MODEL_MEND "install Debian's package pocketsphinx-en-us"

static pthread_once_t silenced = PTHREAD_ONCE_INIT; /* the library's log is global to the process */

static void silence_library(void)
{
    err_set_logfp(NULL);
    err_set_callback(NULL, NULL);
}

/* The library calls exit() on a missing or empty model file. */
static enum sl_status check_model(const char *folder, struct sl_error *error)
{
    static const char *const files[] = {
        "mdef", "means", "variances", "transition_matrices", "sendump", "feat.params", "noisedict"};
    for (size_t i = 0; i < sizeof(files) / sizeof(files[0]); i++) {
        char *path = sl_strf("%s/%s", folder, files[i]);
        if (path == NULL) {
            return sl_fail_memory(error);
        }
        struct stat info;
        enum sl_status status = SL_OK;
        if (stat(path, &info) != 0) {
            status = sl_fail(error, SL_NOT_FOUND, path, MODEL_MEND,
                             "a file of the acoustic model is missing");
        } else if (!S_ISREG(info.st_mode) || info.st_size == 0) {
            status =
                sl_fail(error, SL_FORMAT, path, MODEL_MEND, "this is no file of an acoustic model");
        }
        free(path);
        if (status != SL_OK) {
            return status;
        }
    }
    return SL_OK;
}

static ps_decoder_t *start(const char *folder, double language_weight)
{
    char *weight = sl_strf("%g", language_weight);
    cmd_ln_t *config =
        weight == NULL ? NULL
                       : cmd_ln_init(NULL, ps_args(), TRUE, "-hmm", folder, "-lw", weight,
                                     /* would shift every time after a pause */
                                     "-remove_silence", "no",
                                     /* silence is put into the grammars by this file */
                                     "-fsgusefiller", "no", "-fsgusealtpron", "no",
                                     /* no cost of words or phones but the grammar's */
                                     "-wip", "1", "-pip", "1", "-bestpath", "no",
                                     /* frames are scored when they are searched, not before */
                                     "-pl_window", "0",
                                     /* more of a state's Gaussians than the library's 4: in
                                        noise the best are little ahead of the next */
                                     "-topn", "6",
                                     /* wider than the library's for states: short words were
                                        pruned; narrower for ends of words, which lost none and
                                        takes a tenth less time */
                                     "-beam", "1e-50", "-pbeam", "1e-50", "-wbeam", "1e-25", NULL);
    free(weight);
    if (config == NULL) {
        return NULL;
    }
    ps_decoder_t *ps = ps_init(config);
    cmd_ln_free_r(config);
    if (ps != NULL) {
        ps_get_feat(ps)->cmn = CMN_NONE; /* sl_decoder_load takes the mean off */
    }
    return ps;
}

static bool add_words(ps_decoder_t *ps, const struct sl_grammar *grammar)
{
    for (size_t i = 0; i < grammar->n_words; i++) {
        const struct sl_grammar_word *word = &grammar->words[i];
        char *known = ps_lookup_word(ps, word->name);
        if (known == NULL && ps_add_word(ps, word->name, word->phones, FALSE) < 0) {
            return false;
        }
        free(known);
    }
    return true;
}

static fsg_model_t *make_fsg(const struct sl_grammar *grammar, logmath_t *lmath,
                             const struct sl_recogniser_settings *settings)
{
    fsg_model_t *fsg = fsg_model_init(SL_LIBRARY_SEARCH, lmath, (float32)settings->language_weight,
                                      (int32)grammar->n_states);
    if (fsg == NULL) {
        return NULL;
    }
    fsg->start_state = 0;
    fsg->final_state = 0;
    for (size_t i = 0; i < grammar->n_steps; i++) {
        const struct sl_grammar_step *step = &grammar->steps[i];
        int32 cost =
            (int32)(logmath_log10_to_log(lmath, step->weight_log10) * settings->language_weight);
        if (step->word == SL_GRAMMAR_NONE) {
            (void)fsg_model_null_trans_add(fsg, (int32)step->from, (int32)step->to, cost);
        } else {
            int wid = fsg_model_word_add(fsg, grammar->words[step->word].name);
            fsg_model_trans_add(fsg, (int32)step->from, (int32)step->to, cost, wid);
        }
    }
    glist_free(fsg_model_null_trans_closure(fsg, NULL));
    (void)fsg_model_add_silence(fsg, "<sil>", -1, (float32)pow(10, settings->silence_log10));
    return fsg;
}

enum sl_status sl_library_open(const char *folder, double language_weight, ps_decoder_t **ps,
                               struct sl_error *error)
{
    enum sl_status status = check_model(folder, error);
    if (status != SL_OK) {
        return status;
    }
    (void)pthread_once(&silenced, silence_library);
    *ps = start(folder, language_weight);
    return *ps != NULL ? SL_OK
                       : sl_fail(error, SL_FORMAT, folder, MODEL_MEND,
                                 "PocketSphinx cannot use this acoustic model");
}

enum sl_status sl_library_set(ps_decoder_t *ps, const struct sl_grammar *grammar,
                              const struct sl_recogniser_settings *settings, struct sl_error *error)
{
    fsg_model_t *fsg =
        add_words(ps, grammar) ? make_fsg(grammar, ps_get_logmath(ps), settings) : NULL;
    bool set = fsg != NULL && ps_set_fsg(ps, SL_LIBRARY_SEARCH, fsg) == 0;
    fsg_model_free(fsg); /* the decoder keeps its own reference */
    return set ? SL_OK
               : sl_fail(error, SL_UNSUPPORTED, NULL, MODEL_MEND,
                         "PocketSphinx does not take the grammar of the phrasebook");
}

double sl_library_unit(ps_decoder_t *ps)
{
    return logmath_log_to_ln(ps_get_logmath(ps), 1 << SCORE_SHIFT);
}
