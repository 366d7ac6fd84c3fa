/*
 * The recogniser's grammar as plain values: what the phrasebook's word graph lets be said
 * (core/automaton.h), with a private name for each way to say a word, and a loop of single phones
 * on the hub that soaks up all other speech. Wherever a phrase ends there is an empty step, so what
 * the decoder returns tells the words of one phrase from those of the next.
 */
#ifndef SL_SPEECH_GRAMMAR_H
#define SL_SPEECH_GRAMMAR_H

#include "core/phrasebook.h"
#include "core/status.h"
#include "speech/pronunciation.h"
#include "speech/recogniser.h"

#include <stddef.h>

#define SL_GRAMMAR_NONE ((size_t)-1)

/* A word of the decoder. */
struct sl_grammar_word {
    char *name;   /* private: "WORD.VARIANT", WORD an index into the graph's words, or "+PHONE" for
                     the loop */
    char *phones; /* "G IH R" */
    size_t word;  /* index into the graph's words; SL_GRAMMAR_NONE: a phone of the loop */
};

/* A step between states; state 0 is the hub, where every sound starts and ends. */
struct sl_grammar_step {
    size_t from, to;
    size_t word;         /* index into words; SL_GRAMMAR_NONE: an empty step */
    double weight_log10; /* 0 or below, before the language weight */
};

/* Initialise with {0}; release with sl_grammar_clear. */
struct sl_grammar {
    size_t n_states;
    struct sl_grammar_word *words;
    size_t n_words, words_room;
    struct sl_grammar_step *steps;
    size_t n_steps, steps_room;
};

/*
 * Makes the grammar of a phrasebook. The first word of a phrase costs entry_log10; every phone of
 * the loop costs loop_log10. SL_INVALID when a word has no pronunciation: `where` is the word,
 * `mend` the line to add; SL_TOO_LARGE as sl_automaton_make.
 */
enum sl_status sl_grammar_make(const struct sl_graph *graph,
                               const struct sl_pronunciations *pronunciations,
                               const struct sl_recogniser_settings *settings,
                               struct sl_grammar *grammar, struct sl_error *error);

/* NULL is fine. */
void sl_grammar_clear(struct sl_grammar *grammar);

#endif
