#include "speech/grammar.h"

#include "core/str.h"

#include <stdlib.h>

/* Takes over `name` and copies `phones`; the index of the word goes to *word. */
static enum sl_status add_word(struct sl_grammar *grammar, char *name, const char *phones,
                               size_t arc, struct sl_error *error)
{
    char *copy = sl_strdup(phones);
    struct sl_grammar_word *words = NULL;
    if (name != NULL && copy != NULL) {
        words = sl_grow(grammar->words, grammar->n_words, &grammar->words_room, sizeof(*words));
    }
    if (words == NULL) {
        free(name);
        free(copy);
        return sl_fail_memory(error);
    }
    grammar->words = words;
    words[grammar->n_words++] = (struct sl_grammar_word){name, copy, arc};
    return SL_OK;
}

static enum sl_status add_step(struct sl_grammar *grammar, struct sl_grammar_step step,
                               struct sl_error *error)
{
    struct sl_grammar_step *steps =
        sl_grow(grammar->steps, grammar->n_steps, &grammar->steps_room, sizeof(*steps));
    if (steps == NULL) {
        return sl_fail_memory(error);
    }
    grammar->steps = steps;
    steps[grammar->n_steps++] = step;
    return SL_OK;
}

static enum sl_status add_loop(struct sl_grammar *grammar,
                               const struct sl_recogniser_settings *settings,
                               struct sl_error *error)
{
    enum sl_status status = SL_OK;
    for (size_t i = 0; i < SL_PHONE_COUNT && status == SL_OK; i++) {
        status =
            add_word(grammar, sl_strf("+%s", sl_phones[i]), sl_phones[i], SL_GRAMMAR_NONE, error);
        if (status == SL_OK) {
            status = add_step(
                grammar, (struct sl_grammar_step){0, 0, grammar->n_words - 1, settings->loop_log10},
                error);
        }
    }
    return status;
}

static enum sl_status fail_unpronounced(struct sl_error *error, const char *word)
{
    char *mend = sl_strf("add a line to the pronunciations: %s PHONE PHONE ...", word);
    enum sl_status status = mend == NULL ? sl_fail_memory(error)
                                         : sl_fail(error, SL_INVALID, word, mend,
                                                   "the word '%s' has no pronunciation", word);
    free(mend);
    return status;
}

/* What a grammar is made from. */
struct parts {
    const struct sl_graph *graph;
    const struct sl_pronunciations *pronunciations;
    const struct sl_recogniser_settings *settings;
};

/* A word and a step for each pronunciation of the arc's word. */
static enum sl_status add_arc(struct sl_grammar *grammar, const struct parts *parts, size_t arc,
                              struct sl_error *error)
{
    const struct sl_pronunciations *pronunciations = parts->pronunciations;
    const struct sl_arc *a = &parts->graph->arcs[arc];
    double weight_log10 = a->from == 0 ? parts->settings->entry_log10 : 0;
    struct sl_grammar_step step = {a->from, a->to, SL_GRAMMAR_NONE, weight_log10};
    if (a->word == NULL) {
        return add_step(grammar, step, error);
    }
    size_t first = 0;
    size_t n = sl_pronunciations_find(pronunciations, a->word, &first);
    if (n == 0) {
        return fail_unpronounced(error, a->word);
    }
    enum sl_status status = SL_OK;
    for (size_t i = 0; i < n && status == SL_OK; i++) {
        status = add_word(grammar, sl_strf("%zu.%zu", arc, i),
                          pronunciations->items[first + i].phones, arc, error);
        if (status == SL_OK) {
            step.word = grammar->n_words - 1;
            status = add_step(grammar, step, error);
        }
    }
    return status;
}

enum sl_status sl_grammar_make(const struct sl_graph *graph,
                               const struct sl_pronunciations *pronunciations,
                               const struct sl_recogniser_settings *settings,
                               struct sl_grammar *grammar, struct sl_error *error)
{
    struct parts parts = {graph, pronunciations, settings};
    struct sl_grammar made = {.n_states = graph->n_states > 0 ? graph->n_states : 1};
    enum sl_status status = add_loop(&made, settings, error);
    for (size_t i = 0; i < graph->n_arcs && status == SL_OK; i++) {
        status = add_arc(&made, &parts, i, error);
    }
    if (status != SL_OK) {
        sl_grammar_clear(&made);
        return status;
    }
    sl_grammar_clear(grammar);
    *grammar = made;
    return SL_OK;
}

void sl_grammar_clear(struct sl_grammar *grammar)
{
    if (grammar == NULL) {
        return;
    }
    for (size_t i = 0; i < grammar->n_words; i++) {
        free(grammar->words[i].name);
        free(grammar->words[i].phones);
    }
    free(grammar->words);
    free(grammar->steps);
    *grammar = (struct sl_grammar){0};
}
