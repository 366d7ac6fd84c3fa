/* The half-life model, its update and the choice of what to ask next. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <stdbool.h>

#include "core/spacing.h"

#define DAY_S 86400.0
#define COUNT_OF(list) (sizeof(list) / sizeof *(list))

/* Settles and Meeder, ACL 2016, doi 10.18653/v1/P16-1174: p = 2^(-delta / h). Half-life and time
 * in days; the values follow from the formula, to four decimals. */
static void chance_follows_the_published_formula(void **state)
{
    (void)state;
    static const struct {
        double delta_days, half_life_days, chance;
    } rows[] = {{7, 7, 0.5}, {14, 7, 0.25}, {3, 7, 0.7430}, {1, 8, 0.9170}, {0, 7, 1.0}};
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        double chance =
            sl_recall_chance(rows[i].half_life_days * DAY_S, rows[i].delta_days * DAY_S);
        assert_float_equal(chance, rows[i].chance, 0.00005);
    }
}

static void a_clock_put_back_is_no_time_at_all(void **state)
{
    (void)state;
    assert_float_equal(sl_recall_chance(DAY_S, -5 * DAY_S), 1.0, 0.0);
    struct sl_memory memory = {.half_life_s = DAY_S, .last_s = 10 * DAY_S, .asked = 1, .right = 1};
    sl_memory_answer(&memory, SL_RECALLED_QUICK, 2 * DAY_S);
    assert_float_equal(memory.half_life_s, DAY_S, 0.0);
}

/* The limits of the paper: 15 minutes to 274 days. */
static void the_half_life_stays_within_the_published_limits(void **state)
{
    (void)state;
    struct sl_memory memory = {0};
    double now_s = 0;
    for (int i = 0; i < 40; i++) {
        now_s += memory.half_life_s;
        sl_memory_answer(&memory, SL_RECALLED_QUICK, now_s);
        assert_true(memory.half_life_s >= 15.0 * 60 && memory.half_life_s <= 274.0 * DAY_S);
    }
    assert_float_equal(memory.half_life_s, 274.0 * DAY_S, 0.0);
    sl_memory_answer(&memory, SL_RECALLED_WRONG, now_s);
    assert_float_equal(memory.half_life_s, 15.0 * 60, 0.0);
    assert_int_equal(memory.asked, 41);
    assert_int_equal(memory.right, 40);
}

/* Rows of our own rule, worked by hand (spacing.h). Leitner (1972): a right answer moves on, a
 * wrong one goes back to the start; the first box is one day. */
static void an_answer_changes_the_half_life_as_described(void **state)
{
    (void)state;
    static const struct {
        const char *name;
        double half_life_s, delta_s;
        enum sl_recalled recalled;
        double expected_s;
    } rows[] = {
        {"first, quick: a day", 0, 0, SL_RECALLED_QUICK, DAY_S},
        {"first, slow: a quarter", 0, 0, SL_RECALLED_SLOW, DAY_S / 4},
        {"first, wrong: the start", 0, 0, SL_RECALLED_WRONG, 900},
        {"slow at an even chance doubles", DAY_S, DAY_S, SL_RECALLED_SLOW, 2 * DAY_S},
        {"quick at an even chance trebles", DAY_S, DAY_S, SL_RECALLED_QUICK, 3 * DAY_S},
        {"at once adds nothing", DAY_S, 0, SL_RECALLED_QUICK, DAY_S},
        {"a lucky one is held back", DAY_S, 60 * DAY_S, SL_RECALLED_QUICK, 4 * DAY_S},
        {"wrong: back to the start", 9 * DAY_S, DAY_S, SL_RECALLED_WRONG, 900},
        {"unclear: as it was", 9 * DAY_S, DAY_S, SL_RECALLED_UNCLEAR, 9 * DAY_S},
    };
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        struct sl_memory memory = {.half_life_s = rows[i].half_life_s, .last_s = 1000};
        sl_memory_answer(&memory, rows[i].recalled, 1000 + rows[i].delta_s);
        if (fabs(memory.half_life_s - rows[i].expected_s) > 1e-6) {
            fail_msg("%s: %g s instead of %g s", rows[i].name, memory.half_life_s,
                     rows[i].expected_s);
        }
    }
}

static struct sl_memory known(double half_life_s, double last_s)
{
    return (struct sl_memory){.half_life_s = half_life_s, .last_s = last_s, .asked = 1, .right = 1};
}

static struct sl_deck *new_deck(struct sl_memory *memories, size_t n, uint64_t seed)
{
    struct sl_deck *deck = NULL;
    assert_int_equal(sl_deck_new(memories, n, seed, &deck, NULL), SL_OK);
    return deck;
}

static void what_is_least_known_is_asked_first(void **state)
{
    (void)state;
    double now_s = 100 * DAY_S;
    struct sl_memory memories[] = {
        known(4 * DAY_S, now_s - 2 * DAY_S), /* 0.71 */
        known(DAY_S, now_s - 3 * DAY_S),     /* 0.125 */
        known(9 * DAY_S, now_s - 9 * DAY_S), /* 0.5 */
    };
    struct sl_deck *deck = new_deck(memories, 3, 7);
    static const size_t order[] = {1, 2, 0};
    for (size_t i = 0; i < 3; i++) {
        assert_int_equal(sl_deck_next(deck, now_s), order[i]);
        assert_int_equal(sl_deck_next(deck, now_s), order[i]);
        assert_int_equal(sl_deck_answer(deck, SL_RECALLED_QUICK, now_s), 0);
    }
    sl_deck_free(deck);
}

static void new_cards_are_mixed_in(void **state)
{
    (void)state;
    enum { N = 400 };
    struct sl_memory memories[N] = {0};
    for (size_t i = 0; i < N / 2; i++) {
        memories[i] = known(DAY_S, -3 * DAY_S);
    }
    struct sl_deck *deck = new_deck(memories, N, 11);
    size_t n_new = 0;
    for (size_t i = 0; i < 200; i++) {
        size_t card = sl_deck_next(deck, 0);
        n_new += card >= N / 2 ? 1 : 0;
        sl_deck_answer(deck, SL_RECALLED_QUICK, 0);
    }
    /* One in three: 67 expected; five standard deviations (6.7) on either side. */
    assert_in_range(n_new, 34, 100);
    sl_deck_free(deck);
}

static void what_is_known_for_sure_gives_way_to_new_cards(void **state)
{
    (void)state;
    struct sl_memory memories[6] = {known(90 * DAY_S, 0), known(90 * DAY_S, 0)};
    struct sl_deck *deck = new_deck(memories, 6, 3);
    for (size_t i = 0; i < 4; i++) {
        assert_true(sl_deck_next(deck, DAY_S) >= 2);
        sl_deck_answer(deck, SL_RECALLED_QUICK, DAY_S);
    }
    assert_true(sl_deck_next(deck, DAY_S) < 2);
    sl_deck_free(deck);
}

/* Even when it was told only a minute ago: two in three questions, about, are it. */
static void what_was_missed_last_time_is_not_known_for_sure(void **state)
{
    (void)state;
    size_t n_first = 0;
    for (uint64_t seed = 0; seed < 300; seed++) {
        struct sl_memory memories[6] = {known(SL_HALF_LIFE_MIN_S, 0)};
        struct sl_deck *deck = new_deck(memories, 6, seed);
        n_first += sl_deck_next(deck, 60) == 0 ? 1 : 0;
        sl_deck_free(deck);
    }
    assert_in_range(n_first, 160, 240); /* 200 expected, standard deviation 8.2 */
}

/* Many sessions with answers at random: a missed card comes back after 2 to 4 other questions, just
 * when it was said, and no other comes twice. */
static void a_missed_card_comes_back_after_two_to_four_others(void **state)
{
    (void)state;
    enum { N = 300, QUESTIONS = 60 };
    for (uint64_t seed = 1; seed <= 200; seed++) {
        struct sl_memory memories[N] = {0};
        size_t due[N] = {0}; /* question at which it comes back; 0: never */
        bool asked[N] = {false};
        struct sl_deck *deck = new_deck(memories, N, seed);
        for (size_t question = 1; question <= QUESTIONS; question++) {
            size_t card = sl_deck_next(deck, 60.0 * (double)question);
            assert_true(!asked[card] || due[card] == question);
            for (size_t i = 0; i < N; i++) {
                assert_true(due[i] != question || i == card);
            }
            bool missed = (seed * 31 + question * question) % 3 != 0;
            size_t between = sl_deck_answer(deck, missed ? SL_RECALLED_WRONG : SL_RECALLED_SLOW,
                                            60.0 * (double)question);
            assert_true(missed ? between >= 2 && between <= 4 : between == 0);
            due[card] = missed ? question + between + 1 : 0;
            asked[card] = true;
        }
        sl_deck_free(deck);
    }
}

static void an_unclear_card_comes_back_with_its_memory_untouched(void **state)
{
    (void)state;
    struct sl_memory memories[8] = {0};
    struct sl_deck *deck = new_deck(memories, 8, 5);
    size_t first = sl_deck_next(deck, 0);
    size_t between = sl_deck_answer(deck, SL_RECALLED_UNCLEAR, 0);
    assert_int_equal(memories[first].asked, 0);
    for (size_t i = 0; i < between; i++) {
        assert_int_not_equal(sl_deck_next(deck, 0), first);
        sl_deck_answer(deck, SL_RECALLED_QUICK, 0);
    }
    assert_int_equal(sl_deck_next(deck, 0), first);
    sl_deck_free(deck);
}

static void small_decks_go_on_and_do_not_repeat_at_once(void **state)
{
    (void)state;
    for (size_t n = 1; n <= 4; n++) {
        struct sl_memory memories[4] = {0};
        struct sl_deck *deck = new_deck(memories, n, n);
        size_t last = n;
        for (size_t i = 0; i < 30; i++) {
            size_t card = sl_deck_next(deck, (double)i);
            assert_true(card < n);
            assert_true(n == 1 || card != last);
            sl_deck_answer(deck, i % 2 == 0 ? SL_RECALLED_WRONG : SL_RECALLED_QUICK, (double)i);
            last = card;
        }
        sl_deck_free(deck);
    }
}

static void one_seed_gives_one_choice(void **state)
{
    (void)state;
    size_t differing = 0;
    struct sl_memory a[50] = {0};
    struct sl_memory b[50] = {0};
    struct sl_memory c[50] = {0};
    struct sl_deck *decks[] = {new_deck(a, 50, 1), new_deck(b, 50, 1), new_deck(c, 50, 2)};
    for (int i = 0; i < 20; i++) {
        size_t first = sl_deck_next(decks[0], 0);
        assert_int_equal(first, sl_deck_next(decks[1], 0));
        differing += first != sl_deck_next(decks[2], 0) ? 1 : 0;
        for (size_t j = 0; j < 3; j++) {
            sl_deck_answer(decks[j], SL_RECALLED_QUICK, 0);
        }
    }
    assert_true(differing > 10);
    for (size_t j = 0; j < 3; j++) {
        sl_deck_free(decks[j]);
    }
}

static void a_slip_outside_of_the_drill_makes_due_again(void **state)
{
    (void)state;
    struct sl_memory memory = {SL_HALF_LIFE_MAX_S, 1000, 5, 4};
    sl_memory_slip(&memory, 999); /* answered since */
    sl_memory_slip(&memory, 1000);
    assert_true(memory.half_life_s == SL_HALF_LIFE_MAX_S && memory.last_s == 1000);
    sl_memory_slip(&memory, 2000);
    assert_true(memory.half_life_s == SL_HALF_LIFE_MIN_S && memory.last_s == 2000);
    assert_true(memory.asked == 5 && memory.right == 4);
    struct sl_memory never = {0};
    sl_memory_slip(&never, 0); /* none */
    assert_true(never.half_life_s == 0);
    sl_memory_slip(&never, 2000);
    assert_true(never.half_life_s == SL_HALF_LIFE_MIN_S);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(chance_follows_the_published_formula),
        cmocka_unit_test(a_clock_put_back_is_no_time_at_all),
        cmocka_unit_test(the_half_life_stays_within_the_published_limits),
        cmocka_unit_test(an_answer_changes_the_half_life_as_described),
        cmocka_unit_test(what_is_least_known_is_asked_first),
        cmocka_unit_test(new_cards_are_mixed_in),
        cmocka_unit_test(what_is_known_for_sure_gives_way_to_new_cards),
        cmocka_unit_test(what_was_missed_last_time_is_not_known_for_sure),
        cmocka_unit_test(a_missed_card_comes_back_after_two_to_four_others),
        cmocka_unit_test(an_unclear_card_comes_back_with_its_memory_untouched),
        cmocka_unit_test(small_decks_go_on_and_do_not_repeat_at_once),
        cmocka_unit_test(a_slip_outside_of_the_drill_makes_due_again),
        cmocka_unit_test(one_seed_gives_one_choice),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
