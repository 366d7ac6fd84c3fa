#include "speech/grammar.h"

#include "core/automaton.h"
#include "core/str.h"

#include <stdlib.h>

/* Takes over `name` and copies `phones`. */
static enum sl_status add_word(struct sl_grammar *grammar, char *name, const char *phones,
                               size_t word, struct sl_error *error)
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
    words[grammar->n_words++] = (struct sl_grammar_word){name, copy, word};
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
            const struct sl_grammar_step step = {0, 0, grammar->n_words - 1, settings->loop_log10};
            status = add_step(grammar, step, error);
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

/* Where a word's ways of saying it stand among the grammar's words. */
struct said {
    size_t first, n;
};

/* Adds each pronunciation of each of the graph's words. */
static enum sl_status add_words(struct sl_grammar *grammar, const struct sl_graph *graph,
                                const struct sl_pronunciations *pronunciations, struct said *said,
                                struct sl_error *error)
{
    enum sl_status status = SL_OK;
    for (size_t word = 0; word < graph->n_words && status == SL_OK; word++) {
        size_t first = 0;
        size_t n = sl_pronunciations_find(pronunciations, graph->words[word], &first);
        if (n == 0) {
            return fail_unpronounced(error, graph->words[word]);
        }
        said[word] = (struct said){grammar->n_words, n};
        for (size_t i = 0; i < n && status == SL_OK; i++) {
            status = add_word(grammar, sl_strf("%zu.%zu", word, i),
                              pronunciations->items[first + i].phones, word, error);
        }
    }
    return status;
}

/* A step for each way of saying its word. */
static enum sl_status add_automaton_step(struct sl_grammar *grammar,
                                         const struct sl_automaton_step *step,
                                         const struct said *said, double entry_log10,
                                         struct sl_error *error)
{
    double weight_log10 = step->from == 0 ? entry_log10 : 0;
    struct sl_grammar_step added = {step->from, step->to, SL_GRAMMAR_NONE, weight_log10};
    if (step->word == SL_AUTOMATON_END) {
        return add_step(grammar, added, error);
    }
    enum sl_status status = SL_OK;
    for (size_t i = 0; i < said[step->word].n && status == SL_OK; i++) {
        added.word = said[step->word].first + i;
        status = add_step(grammar, added, error);
    }
    return status;
}

static enum sl_status add_phrases(struct sl_grammar *grammar, const struct sl_graph *graph,
                                  const struct sl_pronunciations *pronunciations,
                                  double entry_log10, struct sl_error *error)
{
    struct sl_automaton automaton = {0};
    struct said *said = calloc(graph->n_words + 1, sizeof *said);
    if (said == NULL) {
        return sl_fail_memory(error);
    }
    enum sl_status status = add_words(grammar, graph, pronunciations, said, error);
    if (status == SL_OK) {
        status = sl_automaton_make(graph, &automaton, error);
    }
    for (size_t i = 0; i < automaton.n_steps && status == SL_OK; i++) {
        status = add_automaton_step(grammar, &automaton.steps[i], said, entry_log10, error);
    }
    grammar->n_states = automaton.n_states;
    sl_automaton_clear(&automaton);
    free(said);
    return status;
}

enum sl_status sl_grammar_make(const struct sl_graph *graph,
                               const struct sl_pronunciations *pronunciations,
                               const struct sl_recogniser_settings *settings,
                               struct sl_grammar *grammar, struct sl_error *error)
{
    struct sl_grammar made = {0};
    enum sl_status status = add_phrases(&made, graph, pronunciations, settings->entry_log10, error);
    if (status == SL_OK) {
        status = add_loop(&made, settings, error);
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
