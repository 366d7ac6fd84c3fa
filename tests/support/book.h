/*
 * A phrasebook built by hand, and what holds for the graph of every phrasebook. Include after
 * cmocka.
 */
#ifndef SL_TESTS_BOOK_H
#define SL_TESTS_BOOK_H

#include "core/phrasebook.h"
#include "core/str.h"
#include "core/units.h"
#include "support/random.h"

#include <stdlib.h>
#include <string.h>

#define COUNT_OF(list) (sizeof(list) / sizeof *(list))

static const struct sl_settings none = {.gear = 0};

static inline void add_phrase(struct sl_phrasebook *book, size_t phase, const char *pattern,
                              struct sl_settings settings)
{
    struct sl_phrase *phrases = realloc(book->phrases, (book->n_phrases + 1) * sizeof *phrases);
    assert_non_null(phrases);
    book->phrases = phrases;
    phrases[book->n_phrases++] =
        (struct sl_phrase){.phase = phase, .pattern = sl_strdup(pattern), .settings = settings};
}

static inline void add_slot(struct sl_phrasebook *book, const char *name)
{
    struct sl_slot *slots = realloc(book->slots, (book->n_slots + 1) * sizeof *slots);
    assert_non_null(slots);
    book->slots = slots;
    slots[book->n_slots++] = (struct sl_slot){.name = sl_strdup(name)};
}

/* To the slot added last. */
static inline void add_value(struct sl_phrasebook *book, const char *words,
                             struct sl_settings settings)
{
    struct sl_slot *slot = &book->slots[book->n_slots - 1];
    struct sl_slot_value *values = realloc(slot->values, (slot->n_values + 1) * sizeof *values);
    assert_non_null(values);
    slot->values = values;
    values[slot->n_values++] =
        (struct sl_slot_value){.words = sl_strdup(words), .settings = settings};
}

static inline struct sl_settings mirror(enum sl_mirror which)
{
    return (struct sl_settings){.mirrors = {which}, .n_mirrors = 1};
}

static inline struct sl_settings speed(double mph)
{
    return (struct sl_settings){.speed_mps = sl_mps_from_mph(mph)};
}

static inline void add_sample_slots(struct sl_phrasebook *book)
{
    add_slot(book, "mirror");
    add_value(book, "interior", mirror(SL_MIRROR_INTERIOR));
    add_value(book, "centre", mirror(SL_MIRROR_INTERIOR));
    add_value(book, "rear-view", mirror(SL_MIRROR_INTERIOR));
    add_value(book, "left", mirror(SL_MIRROR_LEFT));
    add_value(book, "left door", mirror(SL_MIRROR_LEFT));
    add_value(book, "right", mirror(SL_MIRROR_RIGHT));
    add_value(book, "right door", mirror(SL_MIRROR_RIGHT));
    add_slot(book, "side");
    add_value(book, "left", (struct sl_settings){.signal = SL_SIGNAL_LEFT});
    add_value(book, "right", (struct sl_settings){.signal = SL_SIGNAL_RIGHT});
    add_slot(book, "speed");
    add_value(book, "five", speed(5));
    add_value(book, "ten", speed(10));
    add_value(book, "walking pace", speed(3));
    add_value(book, "twenty five", speed(25));
    add_value(book, "twenty", speed(20));
    add_slot(book, "gear");
    add_value(book, "first", (struct sl_settings){.gear = 1});
    add_value(book, "second", (struct sl_settings){.gear = 2});
    add_value(book, "third", (struct sl_settings){.gear = 3});
    add_slot(book, "clutch");
    add_value(book, "up", (struct sl_settings){.clutch = SL_CLUTCH_UP});
    add_value(book, "down", (struct sl_settings){.clutch = SL_CLUTCH_DOWN});
}

/* A book like those in models/: what people say in many ways. */
static inline struct sl_phrasebook sample_book(void)
{
    struct sl_phrasebook book = {0};
    add_sample_slots(&book);
    add_phrase(&book, 0, "[check] [my|the] <mirror> [mirror] [[and|then] [the] <mirror> [mirror]]",
               none);
    add_phrase(&book, 0, "[checking|check|look in] [my|the] mirrors", none);
    add_phrase(&book, 1, "(signal|signalling|indicate|indicating) [to the] <side>", none);
    add_phrase(&book, 1, "no signal [[it|that] would mislead]",
               (struct sl_settings){.signal = SL_SIGNAL_NONE});
    add_phrase(&book, 2, "[brake|slow|slowing] [gently] [down] to <speed> [miles an hour|mph]",
               none);
    add_phrase(&book, 3, "[into|select] <gear> [gear] [[and] clutch [stays|is|comes] <clutch>]",
               none);
    add_phrase(&book, 3, "[the] clutch [stays|is|comes] <clutch>", none);
    add_phrase(&book, 4, "[it] (looks|is) clear [[i'm] going|go]",
               (struct sl_settings){.decision = SL_DECISION_GO});
    add_phrase(&book, 4, "not clear [[i'm] (stopping|waiting)]",
               (struct sl_settings){.decision = SL_DECISION_WAIT});
    add_phrase(&book, SL_PHRASE_FILLER, "(okay|right|and now|now)", none);
    add_phrase(&book, SL_PHRASE_CORRECTION, "(no|sorry|i mean)", none);
    assert_int_equal(sl_phrasebook_compile(&book, NULL), SL_OK);
    return book;
}

/* Every phrase ends where it began, states are its own, and no arc is to nowhere. */
static inline void assert_graph_is_sound(const struct sl_phrasebook *book)
{
    const struct sl_graph *graph = &book->graph;
    size_t *owner = calloc(graph->n_states, sizeof *owner); /* phrase + 1 */
    assert_non_null(owner);
    for (size_t i = 0; i < graph->n_arcs; i++) {
        const struct sl_arc *arc = &graph->arcs[i];
        assert_true(arc->from < graph->n_states && arc->to < graph->n_states);
        assert_true(i == 0 || graph->arcs[i - 1].from <= arc->from);
        assert_true(arc->from != 0 || arc->word != NULL);
        assert_true(arc->from != arc->to || arc->from == 0);
        assert_true(arc->phrase < book->n_phrases);
        const size_t ends[] = {arc->from, arc->to};
        for (size_t j = 0; j < 2; j++) {
            if (ends[j] != 0) {
                assert_true(owner[ends[j]] == 0 || owner[ends[j]] == arc->phrase + 1);
                owner[ends[j]] = arc->phrase + 1;
            }
        }
        for (size_t j = 0; j < i; j++) { /* nothing twice */
            const struct sl_arc *other = &graph->arcs[j];
            assert_false(other->from == arc->from && other->to == arc->to &&
                         other->word == arc->word && other->phrase == arc->phrase &&
                         sl_settings_equal(&other->settings, &arc->settings));
        }
    }
    for (size_t state = 1; state < graph->n_states; state++) {
        assert_true(owner[state] != 0);
    }
    for (size_t i = 1; i < graph->n_words; i++) {
        assert_true(strcmp(graph->words[i - 1], graph->words[i]) < 0);
    }
    free(owner);
}

/* Walks at random from the hub to the hub. */
static inline size_t random_path(const struct sl_graph *graph, uint64_t *random,
                                 struct sl_str *text, struct sl_settings *settings)
{
    size_t state = 0;
    size_t phrase = 0;
    *settings = none;
    do {
        size_t first = 0;
        while (graph->arcs[first].from != state) {
            first++;
        }
        size_t n = 0;
        while (first + n < graph->n_arcs && graph->arcs[first + n].from == state) {
            n++;
        }
        const struct sl_arc *arc = &graph->arcs[first + random_below(random, n)];
        if (arc->word != NULL) {
            sl_str_addf(text, "%s%s", text->length == 0 ? "" : " ", arc->word);
        }
        sl_settings_merge(settings, &arc->settings);
        phrase = arc->phrase;
        state = arc->to;
    } while (state != 0);
    return phrase;
}

static inline size_t count_words(const char *text)
{
    size_t count = 1;
    for (; *text != '\0'; text++) {
        count += *text == ' ' ? 1 : 0;
    }
    return count;
}

/* A path taken at random is found as one phrase of all its words, with the settings of the path. */
static inline void assert_a_path_is_matched_whole(const struct sl_phrasebook *book,
                                                  uint64_t *random)
{
    struct sl_str text = {0};
    struct sl_settings settings = none;
    size_t phrase = random_path(&book->graph, random, &text, &settings);
    struct sl_text_match *matches = NULL;
    size_t n_matches = 0;
    assert_int_equal(sl_phrasebook_match(book, sl_str_text(&text), &matches, &n_matches, NULL),
                     SL_OK);
    if (n_matches != 1 || matches[0].n_words != count_words(sl_str_text(&text)) ||
        matches[0].first_word != 0) {
        fail_msg("'%s' is not matched whole", sl_str_text(&text));
    }
    assert_true(matches[0].phrase <= phrase);
    if (matches[0].phrase == phrase) {
        struct sl_settings whole = book->phrases[phrase].settings;
        sl_settings_merge(&whole, &settings);
        assert_true(sl_settings_equal(&whole, &matches[0].settings));
    }
    free(matches);
    sl_str_clear(&text);
}

#endif
