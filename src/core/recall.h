/*
 * Recall: questions about junctions and views, and what an answer is worth. No sound, no clock:
 * who asks and listens is in practice/recall_run.h.
 */
#ifndef SL_CORE_RECALL_H
#define SL_CORE_RECALL_H

#include "core/drive.h"
#include "core/heard.h"
#include "core/junction.h"
#include "core/phrasebook.h"
#include "core/routine.h"
#include "core/settings.h"
#include "core/spacing.h"
#include "core/status.h"

#include <stdbool.h>
#include <stddef.h>

/* A part of an answer: a setting's bit (settings.h) or this one, whether the view is open. */
#define SL_PART_VIEW (1U << 7)

/* All parts in the order in which they are asked for; ended by 0. */
extern const unsigned sl_parts[];

/* The key of one part as in JSON: "view", or as sl_setting_key. */
const char *sl_part_key(unsigned part);
/* The same for people: "view", "speed". */
const char *sl_part_title(unsigned part);

/* Pseudo-phases of the phrases with which questions are answered, beside those of phrasebook.h. */
#define SL_PHRASE_OPEN ((size_t)-3)
#define SL_PHRASE_CLOSED ((size_t)-4)
#define SL_PHRASE_PASS ((size_t)-5)    /* "pass", "don't know" */
#define SL_PHRASE_SETTING ((size_t)-6) /* a setting in fewer words than a routine takes: "ten" */

/* What a driver sees, in words, to be judged open or closed. Initialise with {0}. */
struct sl_scene {
    char *id;          /* "hedge-to-line" */
    enum sl_kind kind; /* SL_KIND_COUNT: not said */
    enum sl_turn turn; /* SL_TURN_COUNT: not said */
    enum sl_view view; /* the right answer */
    char *see;         /* whole sentences */
    char *why;         /* why it is open or closed, one sentence */
};

struct sl_scene_list {
    struct sl_scene *items;
    size_t count;
    size_t room;
};

void sl_scene_list_clear(struct sl_scene_list *list);

/* Initialise with {0}; release with sl_question_clear. */
struct sl_question {
    char *id;       /* "decide-last/t-left-open", "scene/hedge-to-line"; spacing goes by it */
    char *text;     /* what is described, whole sentences */
    char *ask;      /* "Open or closed? Speed, gear, clutch?" */
    unsigned parts; /* asked for */
    enum sl_view view;
    struct sl_wanted wanted;          /* settings that are right */
    bool mirrors_in_order;            /* the routine wants the mirrors in their order */
    const struct sl_routine *routine; /* for its reasons; not owned; NULL for a scene */
    char *why;                        /* why the view is what it is */
};

void sl_question_clear(struct sl_question *question);

/*
 * Asks for everything that the routine wants at a junction, and whether it is open. `view` is the
 * resolved one (plan.h). The description does not say the words open or closed. The routine must
 * outlive the question.
 */
enum sl_status sl_question_of_junction(const struct sl_routine *routine,
                                       const struct sl_junction *junction, enum sl_view view,
                                       struct sl_question *question, struct sl_error *error);

/* Asks whether a scene is open or closed. */
enum sl_status sl_question_of_scene(const struct sl_scene *scene, struct sl_question *question,
                                    struct sl_error *error);

/* The reason to be told to who got a part wrong; belongs to the question or its routine. */
const char *sl_question_reason(const struct sl_question *question, unsigned part);

/*
 * One phrasebook for the answers: the routine's phrases, then the phrases of `answers` (with the
 * pseudo-phases above). With `routine` NULL only what answers a scene: no settings either, so that
 * a recogniser has little to mix up. Compiled. SL_INVALID when they do not go together. Release
 * *book with sl_phrasebook_clear.
 */
enum sl_status sl_recall_book_make(const struct sl_phrasebook *routine,
                                   const struct sl_phrasebook *answers, struct sl_phrasebook *book,
                                   struct sl_error *error);

/* An answer, taken apart. {0}: nothing was said. */
struct sl_reply {
    bool gave_up;   /* said pass, and nothing else */
    bool view_said; /* then `view` */
    enum sl_view view;
    struct sl_settings said;
    unsigned unclear; /* parts that could not be made out and were not said clearly either */
    size_t n_phrases; /* understood, fillers left out */
};

/*
 * Takes a typed answer apart; the order does not matter. Numbers may be figures or words, with a
 * unit or without (typed_number.h). Of two answers to one part the later counts; mirrors add up,
 * but not over a correction ("no").
 */
enum sl_status sl_reply_from_text(const struct sl_phrasebook *book, const char *text,
                                  struct sl_reply *reply, struct sl_error *error);

/* The same from what the recogniser heard. */
struct sl_reply sl_reply_from_heard(const struct sl_heard_list *heard);

/* The parts that were said. */
unsigned sl_reply_parts(const struct sl_reply *reply);

/* From the end of a question to the beginning of the answer, for what counts as quick: time enough
 * to hear the question out, picture the junction and begin. Ours, no source. */
#define SL_QUICK_S 3.0
/* A typed answer is timed at its end, so each character earns this: about 40 words a minute, usual
 * for practised typing (from memory). */
#define SL_TYPING_S 0.3

/* The parts asked for, each in one of the four sets. */
struct sl_verdict {
    unsigned right, wrong, unsaid, unclear;
    enum sl_recalled recalled; /* of the question as a whole */
};

/*
 * Judges an answer that began after_s after the question; more than quick_s is slow. The whole is
 * wrong when a part is wrong or was not said, else unclear when a part is. Who gives up has said
 * nothing.
 */
struct sl_verdict sl_reply_judge(const struct sl_question *question, const struct sl_reply *reply,
                                 double after_s, double quick_s);

/* An answer in words, for some of its parts: "open, 10 mph, second gear"; "" for none. The caller
 * frees; NULL when memory runs out. */
char *sl_parts_words(unsigned parts, enum sl_view view, const struct sl_settings *settings);

/* What the car would have done with a wrong answer: sl_drive_with_setting. */
struct sl_recall_car {
    enum sl_setting part;
    struct sl_consequence told; /* its texts are owned */
};

#define SL_RECALL_CARS_MAX 3 /* speed, gear, clutch */

/* One question answered: what a learner is told of it. Nothing is owned but the texts of cars. */
struct sl_recall_told {
    size_t number, count; /* from 1; of how many */
    const struct sl_question *question;
    const struct sl_reply *reply;
    struct sl_verdict verdict;
    double after_s;
    bool slipped;      /* a part was said wrong in a run since it was last asked */
    size_t back_after; /* comes back after so many other questions; 0: not in this session */
    double back_in_s;  /* until the chance that it is still known is even */
    struct sl_recall_car cars[SL_RECALL_CARS_MAX]; /* where the model finds a difference */
    size_t n_cars;
};

/* Drives with each setting that the verdict finds wrong, all else as planned, and adds what would
 * have come of it. Release with sl_recall_cars_clear, also after an error. SL_NO_MEMORY. */
enum sl_status sl_recall_drive(const struct sl_driving *driving, struct sl_recall_told *told,
                               struct sl_error *error);
void sl_recall_cars_clear(struct sl_recall_told *told);

#define SL_PART_COUNT 8

/* A session so far. */
struct sl_recall_sum {
    size_t asked;                       /* answered */
    size_t recalled[SL_RECALLED_COUNT]; /* how many were */
    size_t part_asked[SL_PART_COUNT];   /* by bit number; unclear ones left out */
    size_t part_right[SL_PART_COUNT];
};

void sl_recall_sum_add(struct sl_recall_sum *sum, const struct sl_verdict *verdict);

#endif
