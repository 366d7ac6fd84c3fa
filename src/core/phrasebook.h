/*
 * The phrasebook: the ways in which people say each step, as patterns, made into one word graph.
 * The recogniser builds its grammar from the graph; typed text is matched against the same graph.
 *
 * A pattern is words with
 *   [a | b]   optional,
 *   (a | b)   one of,
 *   <name>    a slot: one of the words of a named list, each with its settings ("second": gear 2).
 * Words are lower case letters, with apostrophes and hyphens between them; names of slots are lower
 * case letters and hyphens. Everything else is refused, and so are alternatives outside brackets
 * and patterns of more than 1000 characters.
 */
#ifndef SL_CORE_PHRASEBOOK_H
#define SL_CORE_PHRASEBOOK_H

#include "core/settings.h"
#include "core/status.h"

#include <stddef.h>

/* Fillers ("okay", "and now") and correction words ("no", "sorry", "i mean") are phrases too, with
 * these pseudo-phases. Real phases are indices into the routine. */
#define SL_PHRASE_FILLER ((size_t)-1)
#define SL_PHRASE_CORRECTION ((size_t)-2)

/* One way (or several, by its brackets) to say something. */
struct sl_phrase {
    size_t phase;
    char *pattern;               /* as written */
    struct sl_settings settings; /* meant by the phrase as a whole */
    unsigned line;               /* where it stands in its file, from 1; 0: in none */
};

/* A slot's alternative: plain words, may be several ("walking pace"). */
struct sl_slot_value {
    char *words;
    struct sl_settings settings;
};

struct sl_slot {
    char *name;
    struct sl_slot_value *values;
    size_t n_values;
};

/* A step in the graph: `word` leads from state to state. Words NULL are empty steps. */
struct sl_arc {
    size_t from, to;
    const char *word;            /* points into the graph's own memory; NULL: empty */
    struct sl_settings settings; /* named by taking this arc (slot values) */
    size_t phrase;               /* index of the phrase it belongs to */
};

/*
 * Every phrase is a path from state 0 back to state 0 (the hub). An arc out of state 0 starts a
 * phrase and always has a word; an arc into state 0 ends it and may be empty. But for the hub, the
 * states of a phrase are its own and have no loops. Arcs are sorted by `from`; the same book gives
 * the same numbers. What a path names is the phrase's own settings with those of its arcs merged
 * into them in order (sl_settings_merge).
 */
struct sl_graph {
    size_t n_states;
    struct sl_arc *arcs;
    size_t n_arcs;
    char **words; /* the distinct words, sorted; owned */
    size_t n_words;
};

/* Initialise with {0}. */
struct sl_phrasebook {
    struct sl_phrase *phrases;
    size_t n_phrases;
    struct sl_slot *slots;
    size_t n_slots;
    struct sl_graph graph; /* made by sl_phrasebook_compile */
};

/*
 * Builds the graph from phrases and slots. SL_INVALID names the pattern, the column of the offence
 * and the mend: unknown slot, unbalanced bracket, bad character, empty alternative, a pattern that
 * can be said with no word at all, nesting deeper than 8; slots without a value, with one name, or
 * with values that are not plain words. SL_TOO_LARGE when the graph would have more than 10,000
 * arcs. Replaces an earlier graph; on an error that one stays. n_states is at least 1 afterwards.
 */
enum sl_status sl_phrasebook_compile(struct sl_phrasebook *book, struct sl_error *error);

/*
 * Checks one pattern against the book's slots, as sl_phrasebook_compile does, for a reader that
 * knows where it stands in a file: on SL_INVALID *column (may be NULL) is the offence's column in
 * the pattern, from 1, in characters.
 */
enum sl_status sl_phrasebook_check_pattern(const struct sl_phrasebook *book, const char *pattern,
                                           size_t *column, struct sl_error *error);

/* A phrase found in text. */
struct sl_text_match {
    size_t phrase;               /* index into phrases */
    size_t first_word, n_words;  /* in the text's words */
    struct sl_settings settings; /* phrase's and slots' together */
};

/*
 * Finds phrases in typed text (any case; punctuation is skipped), longest match first from the
 * left, the earlier phrase of the book where two are as long; words that fit nothing are passed
 * over. *matches is the caller's to free (NULL when there are none). Deterministic. The book must
 * be compiled; one that is not has no matches.
 */
enum sl_status sl_phrasebook_match(const struct sl_phrasebook *book, const char *text,
                                   struct sl_text_match **matches, size_t *n_matches,
                                   struct sl_error *error);

void sl_phrasebook_clear(struct sl_phrasebook *book);

/* The first arc out of a state, or where it would stand. */
size_t sl_graph_first(const struct sl_graph *graph, size_t state);

/* The index of a word among the graph's; n_words when it is none of them. */
size_t sl_graph_find_word(const struct sl_graph *graph, const char *word);

/* The index of an arc's word among the graph's words; it must have one. */
size_t sl_graph_word(const struct sl_graph *graph, size_t arc);

/* Replaces *copy, which is to be released with sl_graph_clear. SL_NO_MEMORY only; *copy stays then.
 */
enum sl_status sl_graph_copy(const struct sl_graph *graph, struct sl_graph *copy,
                             struct sl_error *error);

/* NULL is fine. A phrasebook's own graph is released with the book. */
void sl_graph_clear(struct sl_graph *graph);

#endif
