#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "core/phrasebook.h"
#include "core/str.h"
#include "core/units.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define COUNT_OF(list) (sizeof(list) / sizeof *(list))

/* A small generator of our own, so that a failure can be run again. */
static uint32_t next_random(uint32_t *random)
{
    *random = *random * 1664525U + 1013904223U;
    return *random >> 16;
}

static void add_phrase(struct sl_phrasebook *book, size_t phase, const char *pattern,
                       struct sl_settings settings)
{
    struct sl_phrase *phrases = realloc(book->phrases, (book->n_phrases + 1) * sizeof *phrases);
    assert_non_null(phrases);
    book->phrases = phrases;
    phrases[book->n_phrases++] =
        (struct sl_phrase){.phase = phase, .pattern = sl_strdup(pattern), .settings = settings};
}

static void add_slot(struct sl_phrasebook *book, const char *name)
{
    struct sl_slot *slots = realloc(book->slots, (book->n_slots + 1) * sizeof *slots);
    assert_non_null(slots);
    book->slots = slots;
    slots[book->n_slots++] = (struct sl_slot){.name = sl_strdup(name)};
}

/* To the slot added last. */
static void add_value(struct sl_phrasebook *book, const char *words, struct sl_settings settings)
{
    struct sl_slot *slot = &book->slots[book->n_slots - 1];
    struct sl_slot_value *values = realloc(slot->values, (slot->n_values + 1) * sizeof *values);
    assert_non_null(values);
    slot->values = values;
    values[slot->n_values++] =
        (struct sl_slot_value){.words = sl_strdup(words), .settings = settings};
}

static struct sl_settings mirror(enum sl_mirror which)
{
    return (struct sl_settings){.mirrors = {which}, .n_mirrors = 1};
}

static struct sl_settings speed(double mph)
{
    return (struct sl_settings){.speed_mps = sl_mps_from_mph(mph)};
}

static const struct sl_settings none = {.gear = 0};

static void add_sample_slots(struct sl_phrasebook *book)
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
static struct sl_phrasebook sample_book(void)
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
static void assert_graph_is_sound(const struct sl_phrasebook *book)
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

/* ---- what a pattern means ---- */

/* A set of texts, made two ways: by the pattern's generator below and from the graph's paths. */
struct texts {
    char **items;
    size_t count;
};

static void add_text(struct texts *texts, const char *text)
{
    for (size_t i = 0; i < texts->count; i++) {
        if (strcmp(texts->items[i], text) == 0) {
            return;
        }
    }
    char **items = realloc(texts->items, (texts->count + 1) * sizeof *items);
    assert_non_null(items);
    texts->items = items;
    items[texts->count++] = sl_strdup(text);
}

static void clear_texts(struct texts *texts)
{
    for (size_t i = 0; i < texts->count; i++) {
        free(texts->items[i]);
    }
    free(texts->items);
    *texts = (struct texts){0};
}

static void assert_same_texts(const struct texts *a, const struct texts *b, const char *pattern)
{
    for (size_t i = 0; i < a->count; i++) {
        bool found = false;
        for (size_t j = 0; j < b->count; j++) {
            found = found || strcmp(a->items[i], b->items[j]) == 0;
        }
        if (!found) {
            fail_msg("pattern '%s': '%s' is on one side only", pattern, a->items[i]);
        }
    }
    assert_int_equal(a->count, b->count);
}

static void add_paths(const struct sl_graph *graph, size_t state, const char *so_far,
                      struct texts *texts)
{
    for (size_t i = 0; i < graph->n_arcs; i++) {
        const struct sl_arc *arc = &graph->arcs[i];
        if (arc->from != state) {
            continue;
        }
        char *text = sl_strf("%s%s%s", so_far, arc->word != NULL && *so_far != '\0' ? " " : "",
                             arc->word == NULL ? "" : arc->word);
        if (arc->to == 0) {
            add_text(texts, text);
        } else {
            add_paths(graph, arc->to, text, texts);
        }
        free(text);
    }
}

static struct texts paths_of(const char *pattern)
{
    struct sl_phrasebook book = {0};
    struct sl_error error = {0};
    add_slot(&book, "n");
    add_value(&book, "x", none);
    add_value(&book, "y z", none);
    add_phrase(&book, 0, pattern, none);
    if (sl_phrasebook_compile(&book, &error) != SL_OK) {
        fail_msg("pattern '%s': %s", pattern, error.what);
    }
    assert_graph_is_sound(&book);
    struct texts texts = {0};
    add_paths(&book.graph, 0, "", &texts);
    sl_phrasebook_clear(&book);
    return texts;
}

static void patterns_mean_what_the_header_says(void **state)
{
    (void)state;
    static const struct {
        const char *pattern;
        const char *texts[9];
    } rows[] = {
        {"a", {"a"}},
        {"a b c", {"a b c"}},
        {"[a] b", {"b", "a b"}},
        {"a [b]", {"a", "a b"}},
        {"[a | b] c", {"c", "a c", "b c"}},
        {"(a | b) (c | d)", {"a c", "a d", "b c", "b d"}},
        {"(a|b c|d)", {"a", "b c", "d"}},
        {"[a] [b] c", {"c", "a c", "b c", "a b c"}},
        {"a [b] [c]", {"a", "a b", "a c", "a b c"}},
        {"([a] b | c [d])", {"b", "a b", "c", "c d"}},
        {"a [b [c [d]]]", {"a", "a b", "a b c", "a b c d"}},
        {"a ([b] | c)", {"a", "a b", "a c"}},
        {"<n>", {"x", "y z"}},
        {"[<n>] a", {"a", "x a", "y z a"}},
        {"<n> <n>", {"x x", "x y z", "y z x", "y z y z"}},
        {"i'm rear-view", {"i'm rear-view"}},
        {"[[[[[[[[a]]]]]]]] b", {"b", "a b"}},
    };
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        struct texts wanted = {0};
        for (size_t j = 0; rows[i].texts[j] != NULL; j++) {
            add_text(&wanted, rows[i].texts[j]);
        }
        struct texts found = paths_of(rows[i].pattern);
        assert_same_texts(&wanted, &found, rows[i].pattern);
        clear_texts(&wanted);
        clear_texts(&found);
    }
}

/* Every text of `left` with every text of `right` behind it. */
static struct texts join(const struct texts *left, const struct texts *right)
{
    struct texts joined = {0};
    for (size_t i = 0; i < left->count; i++) {
        for (size_t j = 0; j < right->count; j++) {
            const char *a = left->items[i];
            const char *b = right->items[j];
            char *text = sl_strf("%s%s%s", a, *a != '\0' && *b != '\0' ? " " : "", b);
            add_text(&joined, text);
            free(text);
        }
    }
    return joined;
}

/* Writes a random sequence to `pattern` and returns all that it can say. */
static struct texts random_sequence(uint32_t *random, int depth, struct sl_str *pattern);

static struct texts random_item(uint32_t *random, int depth, struct sl_str *pattern)
{
    struct texts texts = {0};
    uint32_t kind = next_random(random) % (depth > 0 ? 6 : 4);
    if (kind == 3) {
        sl_str_add(pattern, "<n>");
        add_text(&texts, "x");
        add_text(&texts, "y z");
    } else if (kind < 3) {
        const char word[] = {(char)('a' + next_random(random) % 4), '\0'};
        sl_str_add(pattern, word);
        add_text(&texts, word);
    } else {
        sl_str_add(pattern, kind == 4 ? "[" : "(");
        uint32_t n = 1 + next_random(random) % 3;
        for (uint32_t i = 0; i < n; i++) {
            sl_str_add(pattern, i == 0 ? "" : "|");
            struct texts more = random_sequence(random, depth - 1, pattern);
            for (size_t j = 0; j < more.count; j++) {
                add_text(&texts, more.items[j]);
            }
            clear_texts(&more);
        }
        sl_str_add(pattern, kind == 4 ? "]" : ")");
        if (kind == 4) {
            add_text(&texts, "");
        }
    }
    return texts;
}

static struct texts random_sequence(uint32_t *random, int depth, struct sl_str *pattern)
{
    struct texts texts = {0};
    add_text(&texts, "");
    uint32_t n = 1 + next_random(random) % 3;
    for (uint32_t i = 0; i < n; i++) {
        sl_str_add(pattern, i == 0 ? "" : " ");
        struct texts item = random_item(random, depth, pattern);
        struct texts joined = join(&texts, &item);
        clear_texts(&texts);
        clear_texts(&item);
        texts = joined;
    }
    return texts;
}

static void random_patterns_say_all_that_they_can_and_no_more(void **state)
{
    (void)state;
    uint32_t random = 7;
    size_t silent = 0;
    for (int i = 0; i < 1500; i++) {
        struct sl_str pattern = {0};
        struct texts wanted = random_sequence(&random, 2, &pattern);
        bool can_be_silent = false;
        for (size_t j = 0; j < wanted.count; j++) {
            can_be_silent = can_be_silent || *wanted.items[j] == '\0';
        }
        struct sl_phrasebook book = {0};
        add_slot(&book, "n");
        add_value(&book, "x", none);
        if (can_be_silent) {
            silent++;
            assert_int_equal(sl_phrasebook_check_pattern(&book, sl_str_text(&pattern), NULL, NULL),
                             SL_INVALID);
        } else if (wanted.count < 300) {
            struct texts found = paths_of(sl_str_text(&pattern));
            assert_same_texts(&wanted, &found, sl_str_text(&pattern));
            clear_texts(&found);
        }
        sl_phrasebook_clear(&book);
        clear_texts(&wanted);
        sl_str_clear(&pattern);
    }
    assert_true(silent > 20 && silent < 700);
}

static void nonsense_is_refused_with_its_column(void **state)
{
    (void)state;
    static const struct {
        const char *pattern;
        size_t column;
    } rows[] = {
        {"", 1},           {"   ", 1},
        {"[a]", 1},        {"[a] [b]", 1},
        {"([a]|b)", 1},    {"a | b", 3},
        {"a (b", 3},       {"a [b", 3},
        {"a b)", 4},       {"a (b]", 5},
        {"a []", 4},       {"a (|b)", 4},
        {"a (b|)", 6},     {"a (b||c)", 6},
        {"a <n", 5},       {"a <> b", 3},
        {"a <no> b", 3},   {"Mirrors", 1},
        {"to 10", 4},      {"a, b", 2},
        {"a\tb", 2},       {"caf\xC3\xA9 x!", 4},
        {"\xC3\xA9 b", 1}, {"a 'b", 3},
        {"a b'", 4},       {"a-", 2},
        {"a <n> <N>", 8},  {"[[[[[[[[[a]]]]]]]]] b", 9},
        {"(a) > b", 5},
    };
    struct sl_phrasebook book = {0};
    add_slot(&book, "n");
    add_value(&book, "x", none);
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        struct sl_error error = {0};
        size_t column = 0;
        enum sl_status status =
            sl_phrasebook_check_pattern(&book, rows[i].pattern, &column, &error);
        if (status != SL_INVALID || column != rows[i].column) {
            fail_msg("'%s': status %d, column %zu instead of %zu", rows[i].pattern, (int)status,
                     column, rows[i].column);
        }
        char *where = sl_strf("pattern '%s', column %zu", rows[i].pattern, column);
        assert_string_equal(error.where, where);
        assert_non_null(error.what);
        assert_non_null(error.mend);
        free(where);
        sl_error_clear(&error);
    }
    sl_phrasebook_clear(&book);
}

static void columns_count_characters_not_bytes(void **state)
{
    (void)state;
    struct sl_phrasebook book = {0};
    size_t column = 0;
    /* The offence is found at the first bad character, so there is never one before it: the column
     * of the bracket that is not closed is the one that could be wrong. */
    assert_int_equal(sl_phrasebook_check_pattern(&book, "a [b \xC3\xA9]", &column, NULL),
                     SL_INVALID);
    assert_int_equal(column, 6);
    sl_phrasebook_clear(&book);
}

static void a_pattern_without_end_is_refused(void **state)
{
    (void)state;
    struct sl_phrasebook book = {0};
    struct sl_error error = {0};
    size_t column = 0;
    char *pattern = malloc(2001);
    assert_non_null(pattern);
    memset(pattern, 'a', 2000);
    pattern[2000] = '\0';
    assert_int_equal(sl_phrasebook_check_pattern(&book, pattern, &column, &error), SL_INVALID);
    assert_non_null(error.what);
    pattern[1000] = '\0';
    assert_int_equal(sl_phrasebook_check_pattern(&book, pattern, &column, &error), SL_OK);
    free(pattern);
    sl_error_clear(&error);
}

static void random_strings_are_taken_or_refused_with_a_text(void **state)
{
    (void)state;
    static const char signs[] = "aab c  [](|)<n>[](|)'-A1,\t\xC3\xA9";
    uint32_t random = 11;
    size_t taken = 0;
    size_t refused = 0;
    for (int i = 0; i < 20000; i++) {
        char pattern[24];
        size_t length = next_random(&random) % (i % 2 == 0 ? 9 : sizeof pattern - 1);
        for (size_t j = 0; j < length; j++) {
            pattern[j] = signs[next_random(&random) % (i % 2 == 0 ? 18 : sizeof signs - 1)];
        }
        pattern[length] = '\0';
        struct sl_phrasebook book = {0};
        struct sl_error error = {0};
        add_slot(&book, "n");
        add_value(&book, "x", none);
        add_phrase(&book, 0, pattern, none);
        enum sl_status status = sl_phrasebook_compile(&book, &error);
        if (status == SL_OK) {
            taken++;
            assert_graph_is_sound(&book);
        } else {
            refused++;
            assert_int_equal(status, SL_INVALID);
            assert_true(error.what != NULL && error.where != NULL && error.mend != NULL);
            assert_int_equal(book.graph.n_arcs, 0);
        }
        sl_error_clear(&error);
        sl_phrasebook_clear(&book);
    }
    print_message("%zu taken, %zu refused\n", taken, refused);
    assert_true(taken > 500 && refused > 500);
}

static void bad_slots_are_refused(void **state)
{
    (void)state;
    static const struct {
        const char *name;   /* of the second slot */
        const char *values; /* its only value; NULL: it has none */
    } rows[] = {{"good", "x"},          {"", "a"},          {"Gear", "a"},          {"a b", "a"},
                {"empty", NULL},        {"bracket", "[a]"}, {"nested", "a <good>"}, {"blank", ""},
                {"figure", "twenty 5"}, {"bar", "a | b"}};
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        struct sl_phrasebook book = {0};
        struct sl_error error = {0};
        add_slot(&book, "good");
        add_value(&book, "a", none);
        add_slot(&book, rows[i].name);
        if (rows[i].values != NULL) {
            add_value(&book, rows[i].values, none);
        }
        add_phrase(&book, 0, "a", none);
        if (sl_phrasebook_compile(&book, &error) != SL_INVALID) {
            fail_msg("slot '%s' was taken", rows[i].name);
        }
        assert_true(error.what != NULL && error.where != NULL && error.mend != NULL);
        sl_error_clear(&error);
        sl_phrasebook_clear(&book);
    }
}

static void an_error_leaves_the_earlier_graph(void **state)
{
    (void)state;
    struct sl_phrasebook book = sample_book();
    size_t n_arcs = book.graph.n_arcs;
    add_phrase(&book, 0, "a <nowhere>", none);
    struct sl_error error = {0};
    assert_int_equal(sl_phrasebook_compile(&book, &error), SL_INVALID);
    assert_string_equal(error.where, "pattern 'a <nowhere>', column 3");
    assert_int_equal(book.graph.n_arcs, n_arcs);
    sl_error_clear(&error);
    sl_phrasebook_clear(&book);
}

static void a_book_beyond_measure_is_too_large(void **state)
{
    (void)state;
    struct sl_phrasebook book = {0};
    add_slot(&book, "n");
    char word[4] = "aaa";
    for (int i = 0; i < 2000; i++) {
        word[0] = (char)('a' + i % 26);
        word[1] = (char)('a' + i / 26 % 26);
        word[2] = (char)('a' + i / 676);
        add_value(&book, word, none);
    }
    add_phrase(&book, 0, "<n> <n> <n> <n>", none);
    assert_int_equal(sl_phrasebook_compile(&book, NULL), SL_OK);
    assert_int_equal(book.graph.n_arcs, 8000);
    assert_int_equal(book.graph.n_words, 2000);
    add_phrase(&book, 0, "b <n>", none);
    assert_int_equal(sl_phrasebook_compile(&book, NULL), SL_TOO_LARGE);
    sl_phrasebook_clear(&book);
}

static void the_graph_is_small_and_always_the_same(void **state)
{
    (void)state;
    struct sl_phrasebook book = sample_book();
    struct sl_phrasebook again = sample_book();
    assert_graph_is_sound(&book);
    assert_int_equal(book.graph.n_arcs, again.graph.n_arcs);
    for (size_t i = 0; i < book.graph.n_arcs; i++) {
        const struct sl_arc *a = &book.graph.arcs[i];
        const struct sl_arc *b = &again.graph.arcs[i];
        assert_true(a->from == b->from && a->to == b->to && a->phrase == b->phrase);
        assert_true((a->word == NULL) == (b->word == NULL));
        assert_true(a->word == NULL || strcmp(a->word, b->word) == 0);
    }
    print_message("sample book: %zu phrases, %zu states, %zu arcs, %zu words\n", book.n_phrases,
                  book.graph.n_states, book.graph.n_arcs, book.graph.n_words);
    assert_true(book.graph.n_arcs < 250);
    sl_phrasebook_clear(&again);
    sl_phrasebook_clear(&book);
}

static void plain_words_and_options_take_no_needless_arcs(void **state)
{
    (void)state;
    static const struct {
        const char *pattern;
        size_t n_states, n_arcs;
    } rows[] = {
        {"a b c", 3, 3},           {"a [b] c", 3, 4}, /* a, b, c and one empty arc */
        {"(a|b) c", 2, 3},                            /* alternatives share both ends */
        {"a (b c d|e c d)", 4, 5},                    /* a shared ending */
        {"a (b c|b d)", 3, 4},                        /* a shared beginning */
        {"[a] b", 2, 3},                              /* no empty arc out of the hub */
        {"a [b]", 2, 3},           {"(a|a)", 1, 1},
    };
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        struct sl_phrasebook book = {0};
        add_phrase(&book, 0, rows[i].pattern, none);
        assert_int_equal(sl_phrasebook_compile(&book, NULL), SL_OK);
        if (book.graph.n_states != rows[i].n_states || book.graph.n_arcs != rows[i].n_arcs) {
            fail_msg("'%s': %zu states, %zu arcs", rows[i].pattern, book.graph.n_states,
                     book.graph.n_arcs);
        }
        sl_phrasebook_clear(&book);
    }
}

static void an_empty_book_has_the_hub_alone(void **state)
{
    (void)state;
    struct sl_phrasebook book = {0};
    struct sl_text_match *matches = NULL;
    size_t n_matches = 9;
    assert_int_equal(sl_phrasebook_match(&book, "mirrors", &matches, &n_matches, NULL), SL_OK);
    assert_int_equal(n_matches, 0);
    assert_int_equal(sl_phrasebook_compile(&book, NULL), SL_OK);
    assert_int_equal(book.graph.n_states, 1);
    assert_int_equal(book.graph.n_arcs, 0);
    assert_int_equal(sl_phrasebook_match(&book, "mirrors", &matches, &n_matches, NULL), SL_OK);
    assert_int_equal(n_matches, 0);
    assert_null(matches);
    sl_phrasebook_clear(&book);
}

/* ---- matching ---- */

/* "phrase:first+words" for each match, with the settings in words. */
static char *describe_matches(const struct sl_phrasebook *book, const char *text)
{
    struct sl_text_match *matches = NULL;
    size_t n_matches = 0;
    assert_int_equal(sl_phrasebook_match(book, text, &matches, &n_matches, NULL), SL_OK);
    struct sl_str str = {0};
    for (size_t i = 0; i < n_matches; i++) {
        char *words = sl_settings_words(&matches[i].settings);
        sl_str_addf(&str, "%s%zu:%zu+%zu", i == 0 ? "" : "; ", matches[i].phrase,
                    matches[i].first_word, matches[i].n_words);
        sl_str_addf(&str, "%s%s", *words == '\0' ? "" : " ", words);
        free(words);
    }
    free(matches);
    return sl_str_take(&str);
}

static void typed_text_is_matched(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        const char *matches;
    } rows[] = {
        {"", ""},
        {"... , !", ""},
        {"what a nice day", ""},
        {"mirrors", "1:0+1"},
        {"Check the INTERIOR mirror, and left!", "0:0+6 interior and left mirror"},
        {"centre and left mirror", "0:0+4 interior and left mirror"},
        {"signal left", "2:0+2 signal left"},
        {"No signal: it would mislead.", "3:0+5 no signal"},
        {"no signal it would", "3:0+2 no signal"}, /* the ending is not whole */
        {"no", "10:0+1"},
        {"first, no, second gear", "5:0+1 first gear; 10:1+1; 5:2+2 second gear"},
        {"slow down to twenty five miles an hour", "4:0+8 25 mph"},
        {"slow down to twenty", "4:0+4 20 mph"},
        {"brake to walking pace", "4:0+4 3 mph"},
        {"brake to walking", ""},
        {"second, clutch up", "5:0+3 second gear, clutch up"},
        {"um I\xE2\x80\x99m not clear\xE2\x80\x94I'm waiting", "8:2+4 wait"},
        {"\xE2\x80\x98okay\xE2\x80\x99 'looks clear' rear\xE2\x80\x90view",
         "9:0+1; 7:1+2 go; 0:3+1 interior mirror"},
        {"right", "0:0+1 right mirror"}, /* both fit: the earlier one in the book */
        {"caf\xC3\xA9 mirrors 10", "1:1+1"},
        {"\xE2", ""},            /* cut off in the middle of a character */
        {"mirrors\xE2\x80", ""}, /* glued to half a character: another word */
        {"mirrorsmirrors", ""},
    };
    struct sl_phrasebook book = sample_book();
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        char *found = describe_matches(&book, rows[i].text);
        if (strcmp(found, rows[i].matches) != 0) {
            fail_msg("'%s' gives '%s' instead of '%s'", rows[i].text, found, rows[i].matches);
        }
        free(found);
    }
    sl_phrasebook_clear(&book);
}

static void of_two_as_long_the_earlier_phrase_counts(void **state)
{
    (void)state;
    struct sl_phrasebook book = {0};
    add_phrase(&book, 0, "a b [c]", (struct sl_settings){.gear = 1});
    add_phrase(&book, 1, "a [b] c", (struct sl_settings){.gear = 2});
    add_phrase(&book, 2, "(a b c | a b)", (struct sl_settings){.gear = 3});
    add_phrase(&book, 2, "a b c d", (struct sl_settings){.gear = 4});
    assert_int_equal(sl_phrasebook_compile(&book, NULL), SL_OK);
    static const char *const rows[][2] = {
        {"a b c", "0:0+3 first gear"},
        {"a b", "0:0+2 first gear"},
        {"a c", "1:0+2 second gear"},
        {"a b c d", "3:0+4 fourth gear"},
        {"a a c a b c", "1:1+2 second gear; 0:3+3 first gear"},
    };
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        char *found = describe_matches(&book, rows[i][0]);
        assert_string_equal(found, rows[i][1]);
        free(found);
    }
    sl_phrasebook_clear(&book);
}

static void a_slot_says_more_than_its_phrase(void **state)
{
    (void)state;
    struct sl_phrasebook book = {0};
    add_sample_slots(&book);
    struct sl_settings settings = mirror(SL_MIRROR_RIGHT);
    settings.gear = 1;
    add_phrase(&book, 0, "all <mirror> <gear>", settings);
    assert_int_equal(sl_phrasebook_compile(&book, NULL), SL_OK);
    char *found = describe_matches(&book, "all left second");
    assert_string_equal(found, "0:0+3 right and left mirror, second gear");
    free(found);
    sl_phrasebook_clear(&book);
}

static void settings_sit_on_the_first_word_of_a_value(void **state)
{
    (void)state;
    struct sl_phrasebook book = {0};
    add_slot(&book, "n");
    add_value(&book, "walking pace please", speed(3));
    add_phrase(&book, 0, "to <n>", none);
    assert_int_equal(sl_phrasebook_compile(&book, NULL), SL_OK);
    assert_int_equal(book.graph.n_arcs, 4);
    for (size_t i = 0; i < 4; i++) {
        bool first = strcmp(book.graph.arcs[i].word, "walking") == 0;
        assert_int_equal(sl_settings_named(&book.graph.arcs[i].settings), first ? SL_SET_SPEED : 0);
    }
    sl_phrasebook_clear(&book);
}

static void one_word_with_two_meanings_stays_two_arcs(void **state)
{
    (void)state;
    struct sl_phrasebook book = {0};
    add_slot(&book, "n");
    add_value(&book, "left door", mirror(SL_MIRROR_LEFT));
    add_value(&book, "left lane", (struct sl_settings){.position = SL_POSITION_LEFT});
    add_phrase(&book, 0, "<n>", none);
    assert_int_equal(sl_phrasebook_compile(&book, NULL), SL_OK);
    assert_int_equal(book.graph.n_arcs, 4);
    char *found = describe_matches(&book, "left door, left lane");
    assert_string_equal(found, "0:0+2 left mirror; 0:2+2 position left");
    free(found);
    sl_phrasebook_clear(&book);
}

/* Walks at random from the hub to the hub. */
static size_t random_path(const struct sl_graph *graph, uint32_t *random, struct sl_str *text,
                          struct sl_settings *settings)
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
        const struct sl_arc *arc = &graph->arcs[first + next_random(random) % n];
        if (arc->word != NULL) {
            sl_str_addf(text, "%s%s", text->length == 0 ? "" : " ", arc->word);
        }
        sl_settings_merge(settings, &arc->settings);
        phrase = arc->phrase;
        state = arc->to;
    } while (state != 0);
    return phrase;
}

static size_t count_words(const char *text)
{
    size_t count = 1;
    for (; *text != '\0'; text++) {
        count += *text == ' ' ? 1 : 0;
    }
    return count;
}

static void every_path_of_the_graph_is_matched_whole(void **state)
{
    (void)state;
    struct sl_phrasebook book = sample_book();
    uint32_t random = 3;
    for (int i = 0; i < 5000; i++) {
        struct sl_str text = {0};
        struct sl_settings settings = none;
        size_t phrase = random_path(&book.graph, &random, &text, &settings);
        struct sl_text_match *matches = NULL;
        size_t n_matches = 0;
        assert_int_equal(sl_phrasebook_match(&book, sl_str_text(&text), &matches, &n_matches, NULL),
                         SL_OK);
        if (n_matches != 1 || matches[0].n_words != count_words(sl_str_text(&text)) ||
            matches[0].first_word != 0) {
            fail_msg("'%s' is not matched whole", sl_str_text(&text));
        }
        assert_true(matches[0].phrase <= phrase);
        if (matches[0].phrase == phrase) {
            struct sl_settings whole = book.phrases[phrase].settings;
            sl_settings_merge(&whole, &settings);
            assert_true(sl_settings_equal(&whole, &matches[0].settings));
        }
        free(matches);
        sl_str_clear(&text);
    }
    sl_phrasebook_clear(&book);
}

static void random_text_is_survived(void **state)
{
    (void)state;
    struct sl_phrasebook book = sample_book();
    uint32_t random = 5;
    for (int i = 0; i < 3000; i++) {
        char text[64];
        size_t length = next_random(&random) % sizeof text;
        for (size_t j = 0; j < length; j++) {
            text[j] = (char)(1 + next_random(&random) % 255);
        }
        text[length == 0 ? 0 : length - 1] = '\0';
        char *found = describe_matches(&book, text);
        assert_non_null(found);
        free(found);
    }
    sl_phrasebook_clear(&book);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(patterns_mean_what_the_header_says),
        cmocka_unit_test(random_patterns_say_all_that_they_can_and_no_more),
        cmocka_unit_test(nonsense_is_refused_with_its_column),
        cmocka_unit_test(columns_count_characters_not_bytes),
        cmocka_unit_test(a_pattern_without_end_is_refused),
        cmocka_unit_test(random_strings_are_taken_or_refused_with_a_text),
        cmocka_unit_test(bad_slots_are_refused),
        cmocka_unit_test(an_error_leaves_the_earlier_graph),
        cmocka_unit_test(a_book_beyond_measure_is_too_large),
        cmocka_unit_test(the_graph_is_small_and_always_the_same),
        cmocka_unit_test(plain_words_and_options_take_no_needless_arcs),
        cmocka_unit_test(an_empty_book_has_the_hub_alone),
        cmocka_unit_test(typed_text_is_matched),
        cmocka_unit_test(of_two_as_long_the_earlier_phrase_counts),
        cmocka_unit_test(a_slot_says_more_than_its_phrase),
        cmocka_unit_test(settings_sit_on_the_first_word_of_a_value),
        cmocka_unit_test(one_word_with_two_meanings_stays_two_arcs),
        cmocka_unit_test(every_path_of_the_graph_is_matched_whole),
        cmocka_unit_test(random_text_is_survived),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
