/*
 * The 39 phones of the CMU pronouncing dictionary and how unlike two of them are.
 *
 * The cost of taking one for the other is the share of articulatory features in which they differ.
 * Comparing pronunciations by an edit distance with such costs is Kessler 1995 (Irish Gaelic) and
 * Nerbonne and Heeringa 1997 (Dutch dialects), both from memory; place, manner and voice of the
 * consonants, height, backness and glide of the vowels are those of any textbook of phonetics. The
 * figures are ours (common practice, no source).
 */
#ifndef SL_CORE_PHONES_H
#define SL_CORE_PHONES_H

#include <stddef.h>

#define SL_PHONE_COUNT 39
#define SL_PHONE_NONE SL_PHONE_COUNT

/* What leaving a phone out, or putting one in, costs; also the most that a change costs. Distances
 * are whole numbers of these parts of a phone, so that they add up exactly. */
#define SL_PHONE_WHOLE 12

/* The phones by name, sorted. */
extern const char *const sl_phones[SL_PHONE_COUNT];

/* The number of a phone, or SL_PHONE_NONE; `name` need not end where the phone's name does. */
int sl_phone_from_name(const char *name, size_t length);

/* What taking phone `a` for phone `b` costs, 0 (the same) to SL_PHONE_WHOLE; symmetric. */
int sl_phone_cost(int a, int b);

/* A way to say a word. */
struct sl_pronunciation {
    char *word;
    char *phones; /* names with single spaces between, "G IH R" */
    size_t line;  /* where it stands in the file, from 1 */
};

/* Sorted by word, variants in the order of the file. Initialise with {0}; read and released by
 * speech/pronunciation.h. */
struct sl_pronunciations {
    struct sl_pronunciation *items;
    size_t count;
    size_t room;
};

/* How many variants a word has; the index of the first goes to *first when there are any. */
size_t sl_pronunciations_find(const struct sl_pronunciations *list, const char *word,
                              size_t *first);

#endif
