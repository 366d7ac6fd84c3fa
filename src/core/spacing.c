#include "core/spacing.h"

#include "core/random.h"

#include <assert.h>
#include <math.h>
#include <stdbool.h>
#include <stdlib.h>

#define SLOW_SHARE 0.25 /* of SL_HALF_LIFE_FIRST_S */
#define NEW_ONE_IN 3
#define NONE ((size_t)-1)

struct card {
    size_t back_at; /* number of the question at which it comes back; NONE */
    bool asked;     /* in this session */
};

struct sl_deck {
    struct sl_memory *memories;
    struct card *cards;
    size_t n;
    size_t question; /* number of the question that comes next, from 0 */
    size_t chosen;   /* for it; NONE: not yet */
    size_t last;     /* the card asked before; NONE at first */
    uint64_t random;
};

const char *sl_recalled_word(enum sl_recalled recalled)
{
    static const char *const words[SL_RECALLED_COUNT] = {"wrong", "slow", "quick", "unclear"};
    return (unsigned)recalled < SL_RECALLED_COUNT ? words[recalled] : NULL;
}

double sl_recall_chance(double half_life_s, double delta_s)
{
    return exp2(-fmax(delta_s, 0.0) / half_life_s);
}

static double grown_s(const struct sl_memory *memory, enum sl_recalled recalled, double now_s)
{
    double factor = recalled == SL_RECALLED_QUICK ? 2.0 : 1.0;
    if (memory->half_life_s <= 0.0) {
        return SL_HALF_LIFE_FIRST_S * (recalled == SL_RECALLED_QUICK ? 1.0 : SLOW_SHARE);
    }
    double more_s = factor * fmax(now_s - memory->last_s, 0.0);
    return fmin(memory->half_life_s + more_s, memory->half_life_s * SL_HALF_LIFE_GROWTH_MAX);
}

void sl_memory_answer(struct sl_memory *memory, enum sl_recalled recalled, double now_s)
{
    if (recalled == SL_RECALLED_UNCLEAR) {
        return;
    }
    bool right = recalled != SL_RECALLED_WRONG;
    double half_life_s = right ? grown_s(memory, recalled, now_s) : SL_HALF_LIFE_MIN_S;
    memory->half_life_s = fmin(fmax(half_life_s, SL_HALF_LIFE_MIN_S), SL_HALF_LIFE_MAX_S);
    memory->last_s = now_s;
    memory->asked++;
    memory->right += right ? 1 : 0;
}

void sl_memory_slip(struct sl_memory *memory, double at_s)
{
    if (at_s > memory->last_s) {
        memory->half_life_s = SL_HALF_LIFE_MIN_S;
        memory->last_s = at_s;
    }
}

enum sl_status sl_deck_new(struct sl_memory *memories, size_t n, uint64_t seed,
                           struct sl_deck **deck, struct sl_error *error)
{
    assert(n > 0);
    struct sl_deck *made = calloc(1, sizeof *made);
    struct card *cards = calloc(n, sizeof *cards);
    if (made == NULL || cards == NULL) {
        free(made);
        free(cards);
        return sl_fail_memory(error);
    }
    for (size_t i = 0; i < n; i++) {
        cards[i].back_at = NONE;
    }
    *made = (struct sl_deck){
        .memories = memories, .cards = cards, .n = n, .chosen = NONE, .last = NONE, .random = seed};
    *deck = made;
    return SL_OK;
}

/* The card that was to come back first, if its question has come; NONE. */
static size_t coming_back(const struct sl_deck *deck)
{
    size_t first = NONE;
    for (size_t i = 0; i < deck->n; i++) {
        size_t back_at = deck->cards[i].back_at;
        if (back_at <= deck->question && (first == NONE || back_at < deck->cards[first].back_at)) {
            first = i;
        }
    }
    return first;
}

static double chance_of(const struct sl_deck *deck, size_t card, double now_s)
{
    const struct sl_memory *memory = &deck->memories[card];
    return sl_recall_chance(memory->half_life_s, now_s - memory->last_s);
}

static bool is_new(const struct sl_deck *deck, size_t card)
{
    return deck->memories[card].half_life_s <= 0.0;
}

/* Neither asked in this session nor waiting to come back. */
static bool is_free(const struct sl_deck *deck, size_t card)
{
    return !deck->cards[card].asked && deck->cards[card].back_at == NONE;
}

static size_t random_new(struct sl_deck *deck)
{
    size_t n_new = 0;
    for (size_t i = 0; i < deck->n; i++) {
        n_new += is_free(deck, i) && is_new(deck, i) ? 1 : 0;
    }
    size_t skip = n_new == 0 ? 0 : sl_random_below(&deck->random, n_new);
    for (size_t i = 0; i < deck->n; i++) {
        if (is_free(deck, i) && is_new(deck, i) && skip-- == 0) {
            return i;
        }
    }
    return NONE;
}

/* The free card asked before with the lowest chance; NONE. */
static size_t least_known(const struct sl_deck *deck, double now_s)
{
    size_t least = NONE;
    for (size_t i = 0; i < deck->n; i++) {
        if (is_free(deck, i) && !is_new(deck, i) &&
            (least == NONE || chance_of(deck, i, now_s) < chance_of(deck, least, now_s))) {
            least = i;
        }
    }
    return least;
}

/* When no card is free: the one with the lowest chance, not the last asked where there is
 * another. Those that were only answered unclearly have no chance yet and come first. */
static size_t once_more(const struct sl_deck *deck, double now_s)
{
    size_t least = NONE;
    double least_chance = 0.0;
    for (size_t i = 0; i < deck->n; i++) {
        double chance = is_new(deck, i) ? 0.0 : chance_of(deck, i, now_s);
        if ((i != deck->last || deck->n == 1) && (least == NONE || chance < least_chance)) {
            least = i;
            least_chance = chance;
        }
    }
    return least;
}

/* What was missed last time is not known for sure, however short ago it was told. */
static bool is_sure(const struct sl_deck *deck, size_t card, double now_s)
{
    return deck->memories[card].half_life_s > SL_HALF_LIFE_MIN_S &&
           chance_of(deck, card, now_s) > SL_KNOWN_CHANCE;
}

static size_t choose(struct sl_deck *deck, double now_s)
{
    size_t card = coming_back(deck);
    if (card != NONE) {
        return card;
    }
    size_t known = least_known(deck, now_s);
    bool prefers_new = known == NONE || is_sure(deck, known, now_s) ||
                       sl_random_below(&deck->random, NEW_ONE_IN) == 0;
    card = prefers_new ? random_new(deck) : NONE;
    if (card == NONE) {
        card = known;
    }
    return card != NONE ? card : once_more(deck, now_s);
}

size_t sl_deck_next(struct sl_deck *deck, double now_s)
{
    if (deck->chosen == NONE) {
        deck->chosen = choose(deck, now_s);
    }
    return deck->chosen;
}

static bool is_taken(const struct sl_deck *deck, size_t question)
{
    for (size_t i = 0; i < deck->n; i++) {
        if (deck->cards[i].back_at == question) {
            return true;
        }
    }
    return false;
}

/* A question within reach at which no other card comes back. The furthest is always free: the
 * questions before could not reach it. */
static size_t book_return(struct sl_deck *deck)
{
    size_t range = SL_BACK_MOST - SL_BACK_LEAST + 1;
    size_t between = SL_BACK_LEAST + sl_random_below(&deck->random, range);
    while (between < SL_BACK_MOST && is_taken(deck, deck->question + 1 + between)) {
        between++;
    }
    return between;
}

size_t sl_deck_answer(struct sl_deck *deck, enum sl_recalled recalled, double now_s)
{
    assert(deck->chosen != NONE);
    size_t between = 0;
    struct card *card = &deck->cards[deck->chosen];
    sl_memory_answer(&deck->memories[deck->chosen], recalled, now_s);
    card->asked = true;
    card->back_at = NONE;
    if (recalled == SL_RECALLED_WRONG || recalled == SL_RECALLED_UNCLEAR) {
        between = book_return(deck);
        card->back_at = deck->question + 1 + between;
    }
    deck->last = deck->chosen;
    deck->chosen = NONE;
    deck->question++;
    return between;
}

void sl_deck_free(struct sl_deck *deck)
{
    if (deck != NULL) {
        free(deck->cards);
        free(deck);
    }
}
