/*
 * A recall drill: chooses questions, has them asked, judges the answers, remembers each at once.
 * How a question is put and an answer taken is the asker's business: typed (src/cli) or spoken
 * (practice/recall_listen.h).
 */
#ifndef SL_PRACTICE_RECALL_RUN_H
#define SL_PRACTICE_RECALL_RUN_H

#include "core/car.h"
#include "core/junction.h"
#include "core/phrasebook.h"
#include "core/plan.h"
#include "core/recall.h"
#include "core/routine.h"
#include "core/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Where a question is about; {0} for a scene. */
struct sl_recall_place {
    struct sl_junction junction;
    struct sl_plan plan;
};

/* What can be asked. Initialise with {0}; release with sl_recall_stock_clear. Its questions point
 * into its routine: it must not be copied. */
struct sl_recall_stock {
    struct sl_routine routine;
    struct sl_car car;
    struct sl_phrasebook book;       /* of all answers: sl_recall_book_make */
    struct sl_phrasebook scene_book; /* of the answers to scenes */
    struct sl_question *questions;
    struct sl_recall_place *places; /* by question */
    size_t n_questions;
    size_t room, places_room;
};

struct sl_recall_wish {
    const char *routine;          /* name or path */
    const char *car;              /* decides on measured views */
    bool settings;                /* ask for the settings of junctions */
    bool scenes;                  /* ask for open or closed by description */
    const char *const *junctions; /* names or paths, for settings; NULL: all that can be named */
    size_t n_junctions;
};

/*
 * Loads all that is wished for. At least one of settings and scenes. Errors of the loaders and of
 * the plans; SL_INVALID when two junctions have the same name. Release *stock in every case.
 */
enum sl_status sl_recall_stock_load(struct sl_recall_stock *stock,
                                    const struct sl_recall_wish *wish, struct sl_error *error);

/* NULL is fine. */
void sl_recall_stock_clear(struct sl_recall_stock *stock);

/* A question's turn. Nothing is owned. */
struct sl_recall_turn {
    const struct sl_question *question;
    size_t number, count; /* from 1; of how many */
    bool slipped;         /* as in struct sl_recall_told */
};

/* What came of asking once. */
struct sl_recall_answer {
    bool ended;            /* nobody answers any more: the session is over */
    struct sl_reply reply; /* else */
    double after_s;        /* from the end of the question to the beginning of the answer */
    double quick_s;        /* up to which that is quick */
};

/* Who asks. The calls come in turn, on the calling thread. */
struct sl_recall_asker {
    /* Puts the question and waits for the answer. An error ends the session. */
    enum sl_status (*ask)(void *user, const struct sl_recall_turn *turn,
                          struct sl_recall_answer *answer, struct sl_error *error);
    /* The answer was judged and is remembered. False ends the session. */
    bool (*told)(void *user, const struct sl_recall_told *told);
    /* The time of day in seconds since 1970. */
    double (*now_s)(void *user);
    void *user;
};

struct sl_recall_options {
    size_t count;            /* questions, at least 1 */
    uint64_t seed;           /* of the choice */
    const char *state;       /* path of the state (files/recall_state.h) */
    const double *slipped_s; /* by question: practice/recall_slips.h; NULL: not known */
};

/*
 * Runs a session over a stock with at least one question. *sum counts what was answered, also when
 * an error ended it: every answer told of is in the state by then. Errors of the state and of the
 * asker.
 */
enum sl_status sl_recall_run(const struct sl_recall_stock *stock,
                             const struct sl_recall_options *options,
                             const struct sl_recall_asker *asker, struct sl_recall_sum *sum,
                             struct sl_error *error);

#endif
