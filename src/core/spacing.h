/*
 * Spacing: when to ask what again.
 *
 * The half-life model: the chance that something is still known delta seconds after it was last
 * asked is p = 2^(-delta / h), h being its half-life (Settles and Meeder, A Trainable Spaced
 * Repetition Model for Language Learning, ACL 2016, doi 10.18653/v1/P16-1174), within 15 minutes
 * and 274 days as in that paper. The paper fits h to the answers of many learners; with one learner
 * a plain update takes the fit's place (sl_memory_answer). It is ours and was measured on nobody.
 *
 * Times are seconds since any fixed moment, the same for all; the caller reads the clock.
 */
#ifndef SL_CORE_SPACING_H
#define SL_CORE_SPACING_H

#include "core/status.h"

#include <stddef.h>
#include <stdint.h>

#define SL_HALF_LIFE_MIN_S (15.0 * 60.0)
#define SL_HALF_LIFE_MAX_S (274.0 * 86400.0)
/* After a first answer that is right; slow: a quarter of it. One day is the first interval of
 * Leitner's boxes (1, 3, 5 days). */
#define SL_HALF_LIFE_FIRST_S 86400.0
/* One right answer multiplies the half-life by this at most: it may have been a guess. */
#define SL_HALF_LIFE_GROWTH_MAX 4.0

/* How well something was known. */
enum sl_recalled {
    SL_RECALLED_WRONG,   /* "wrong": wrong, incomplete or not known */
    SL_RECALLED_SLOW,    /* "slow": right, but only after thinking */
    SL_RECALLED_QUICK,   /* "quick": right at once */
    SL_RECALLED_UNCLEAR, /* "unclear": could not be made out; counts for nothing */
    SL_RECALLED_COUNT
};

/* The word in JSON; never NULL for a valid value. */
const char *sl_recalled_word(enum sl_recalled recalled);

/* What is remembered of one item; {0}: never asked. */
struct sl_memory {
    double half_life_s; /* 0: never asked; else within the limits above */
    double last_s;      /* when it was last answered */
    unsigned asked, right;
};

/* 2^(-delta_s / half_life_s); half_life_s above 0. A delta below 0 (a clock put back) counts
 * as 0. */
double sl_recall_chance(double half_life_s, double delta_s);

/*
 * Takes in an answer given at now_s. delta is the time since the last one:
 *  wrong    the half-life shrinks to its start, SL_HALF_LIFE_MIN_S;
 *  slow     it grows by delta: what lasted that long is taken to last as long again. An answer that
 *           comes just when the chance is even (delta = h) doubles it, one that comes at once after
 *           the last adds nothing;
 *  quick    it grows by twice delta;
 *  unclear  nothing changes, nor do the counts.
 * Grown at most SL_HALF_LIFE_GROWTH_MAX times, and kept within the limits. The first answer starts
 * it: wrong at SL_HALF_LIFE_MIN_S, quick at SL_HALF_LIFE_FIRST_S, slow at a quarter of that.
 */
void sl_memory_answer(struct sl_memory *memory, enum sl_recalled recalled, double now_s);

/* Takes in that the item was got wrong outside of the drill, at at_s: unless it was answered since,
 * its half-life shrinks as after a wrong answer, or starts so. The counts stay. */
void sl_memory_slip(struct sl_memory *memory, double at_s);

/*
 * A session's deck: chooses what to ask next. A missed card comes back after SL_BACK_LEAST to
 * SL_BACK_MOST other questions. Otherwise it is the card with the lowest chance of being known, not
 * asked in this session before; one question in three, about, is a card never asked, and so is
 * every one as long as all that was asked before is known for sure: a chance above SL_KNOWN_CHANCE,
 * and not missed the last time. When every card was asked in this session, the lowest chance of all
 * but the last one.
 */
#define SL_BACK_LEAST 2
#define SL_BACK_MOST 4
#define SL_KNOWN_CHANCE 0.9

struct sl_deck;

/* A deck over `n` memories, at least 1, which stay the caller's and must outlive it. The same
 * memories, seed, times and answers give the same choices. */
enum sl_status sl_deck_new(struct sl_memory *memories, size_t n, uint64_t seed,
                           struct sl_deck **deck, struct sl_error *error);

/* The index of the card to ask at now_s. Until it is answered it stays the same. */
size_t sl_deck_next(struct sl_deck *deck, double now_s);

/*
 * Answers the card that sl_deck_next gave: its memory takes the answer in. Returns after how many
 * other questions the card comes back in this session, 0: not because of this answer. An unclear
 * card comes back like a missed one. Decks of three cards or fewer cannot keep the distance: then
 * the count is what was meant.
 */
size_t sl_deck_answer(struct sl_deck *deck, enum sl_recalled recalled, double now_s);

/* NULL is fine. */
void sl_deck_free(struct sl_deck *deck);

#endif
