#include "practice/recall_run.h"

#include "core/spacing.h"
#include "files/recall_state.h"

#include <stdlib.h>

struct session {
    const struct sl_recall_stock *stock;
    const struct sl_recall_options *options;
    const struct sl_recall_asker *asker;
    struct sl_memory *memories; /* by question */
    bool over;
    struct sl_deck *deck;
};

static enum sl_status remember_all(struct session *session, struct sl_error *error)
{
    struct sl_recall_state state = {0};
    size_t n = session->stock->n_questions;
    enum sl_status status = sl_recall_state_load(session->options->state, &state, error);
    if (status != SL_OK) {
        return status;
    }
    session->memories = calloc(n, sizeof *session->memories);
    if (session->memories == NULL) {
        sl_recall_state_clear(&state);
        return sl_fail_memory(error);
    }
    for (size_t i = 0; i < n; i++) {
        session->memories[i] = sl_recall_state_get(&state, session->stock->questions[i].id);
        if (session->options->slipped_s != NULL) {
            sl_memory_slip(&session->memories[i], session->options->slipped_s[i]);
        }
    }
    sl_recall_state_clear(&state);
    return sl_deck_new(session->memories, n, session->options->seed, &session->deck, error);
}

/* True until the question was answered. */
static bool slipped(const struct session *session, size_t card)
{
    const double *slipped_s = session->options->slipped_s;
    return slipped_s != NULL && slipped_s[card] > 0.0 &&
           session->memories[card].last_s <= slipped_s[card];
}

/* What the car would have done with what was wrong; a scene has no car. */
static enum sl_status drive(const struct session *session, size_t card, struct sl_recall_told *told,
                            struct sl_error *error)
{
    const struct sl_recall_stock *stock = session->stock;
    const struct sl_recall_place *place = &stock->places[card];
    const struct sl_task task = {.routine = &stock->routine,
                                 .junction = &place->junction,
                                 .plan = &place->plan,
                                 .options = {.timed = true}};
    const struct sl_driving driving = {.task = &task, .car = &stock->car};
    return sl_recall_drive(&driving, told, error);
}

/* Judges, remembers, tells. */
static enum sl_status take_answer(struct session *session, size_t card,
                                  const struct sl_recall_answer *answer, struct sl_recall_sum *sum,
                                  struct sl_error *error)
{
    const struct sl_recall_asker *asker = session->asker;
    const struct sl_question *question = &session->stock->questions[card];
    struct sl_memory *memory = &session->memories[card];
    double now_s = asker->now_s(asker->user);
    struct sl_recall_told told = {.number = sum->asked + 1,
                                  .count = session->options->count,
                                  .question = question,
                                  .reply = &answer->reply,
                                  .slipped = slipped(session, card),
                                  .after_s = answer->after_s};
    told.verdict = sl_reply_judge(question, &answer->reply, answer->after_s, answer->quick_s);
    told.back_after = sl_deck_answer(session->deck, told.verdict.recalled, now_s);
    if (told.number + told.back_after >= told.count) {
        told.back_after = 0; /* the session is over before */
    }
    told.back_in_s = memory->half_life_s;
    if (told.verdict.recalled != SL_RECALLED_UNCLEAR) {
        enum sl_status status =
            sl_recall_state_put(session->options->state, question->id, memory, error);
        if (status != SL_OK) {
            return status;
        }
    }
    sl_recall_sum_add(sum, &told.verdict);
    enum sl_status status = drive(session, card, &told, error);
    if (status == SL_OK) {
        session->over = !asker->told(asker->user, &told);
    }
    sl_recall_cars_clear(&told);
    return status;
}

static enum sl_status ask_all(struct session *session, struct sl_recall_sum *sum,
                              struct sl_error *error)
{
    const struct sl_recall_asker *asker = session->asker;
    enum sl_status status = SL_OK;
    while (status == SL_OK && !session->over && sum->asked < session->options->count) {
        struct sl_recall_answer answer = {0};
        size_t card = sl_deck_next(session->deck, asker->now_s(asker->user));
        struct sl_recall_turn turn = {.question = &session->stock->questions[card],
                                      .number = sum->asked + 1,
                                      .count = session->options->count,
                                      .slipped = slipped(session, card)};
        status = asker->ask(asker->user, &turn, &answer, error);
        session->over = answer.ended;
        if (status == SL_OK && !session->over) {
            status = take_answer(session, card, &answer, sum, error);
        }
    }
    return status;
}

enum sl_status sl_recall_run(const struct sl_recall_stock *stock,
                             const struct sl_recall_options *options,
                             const struct sl_recall_asker *asker, struct sl_recall_sum *sum,
                             struct sl_error *error)
{
    struct session session = {.stock = stock, .options = options, .asker = asker};
    *sum = (struct sl_recall_sum){0};
    enum sl_status status = remember_all(&session, error);
    if (status == SL_OK) {
        status = ask_all(&session, sum, error);
    }
    sl_deck_free(session.deck);
    free(session.memories);
    return status;
}
