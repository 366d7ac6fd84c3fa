/*
 * Cueing: what is spoken to the learner during one approach, and when.
 *
 * Times are seconds on the plan's clock. Time 0 is the END of the spoken announcement: the plan
 * counts from the moment at which the learner knows the junction. A cue sounds from at_s to end_s.
 *
 * Placement:
 *  announcement  ends at 0;
 *  phase         ends SL_CUE_LEAD_S before the phase is due, so that the learner can begin when it
 *                is; put off behind the cue in front of it where the approach is squeezed, and left
 *                out where it could not end by the due moment. It asks and gives nothing away;
 *  distance      begins when the car is at that distance: every 50 m, then 30, 20 and 10. Left out
 *                where it would come within SL_CUE_GAP_S of another cue, within SL_CUE_CALLS_S of
 *                the call before it, within SL_CUE_SETTLE_S of the announcement, or into the time
 * in which the learner is to speak: from SL_CUE_LEAD_S before a due moment to SL_CUE_TALK_S after
 * it; line          begins when the car reaches the line.
 */
#ifndef SL_CORE_CUEING_H
#define SL_CORE_CUEING_H

#include "core/junction.h"
#include "core/plan.h"
#include "core/prompting.h"
#include "core/routine.h"
#include "core/situation.h"
#include "core/status.h"

#include <stdbool.h>
#include <stddef.h>

/* From the end of a question to the answer: people answer after 0.2 s on average (Stivers et al.,
 * PNAS 2009; from memory); a learner has to think as well. */
#define SL_CUE_LEAD_S 0.5
/* Silence between two cues, at least: a short pause between sentences. */
#define SL_CUE_GAP_S 0.2
/* A step takes about two seconds to say: five to eight syllables at about 4 a second (published
 * rates of speech: 3.3 to 5.9 a second). */
#define SL_CUE_TALK_S 2.0
/* Between two distance calls, so that they do not chatter. */
#define SL_CUE_CALLS_S 1.0
/* After the announcement, which has just said the distance. */
#define SL_CUE_SETTLE_S 2.0

enum sl_cue_kind {
    SL_CUE_ANNOUNCE, /* "announce" */
    SL_CUE_PHASE,    /* "phase" */
    SL_CUE_DISTANCE, /* "distance" */
    SL_CUE_LINE,     /* "line" */
    SL_CUE_MODEL,    /* "model": a phrase of the model commentary, see commentary.h */
    SL_CUE_ROAD,     /* "road": somebody sees something, see situation.h */
    SL_CUE_KIND_COUNT
};

/* The word in JSON and event lines; never NULL for a valid value. */
const char *sl_cue_kind_word(enum sl_cue_kind kind);

#define SL_CUE_NO_PHASE ((size_t)-1)

struct sl_cue {
    enum sl_cue_kind kind;
    double at_s, end_s; /* on the plan's clock; the announcement's at_s is negative; INFINITY: when
                           the driven car is there */
    char *text;         /* whole sentences; owned by the list */
    size_t phase;       /* of the routine, for phase and model; else SL_CUE_NO_PHASE */
    double distance_m;  /* called, for distance; where it is seen, for road; planned at at_s for
                           the others: 0 at the line; for the announcement, at its end */
};

/* In order of time. Initialise with {0}; release with sl_cue_list_clear. */
struct sl_cue_list {
    struct sl_cue *items;
    size_t count;
    size_t room;
};

/* How long speaking `text` takes, in seconds; negative when it cannot be spoken. */
typedef double sl_cue_length(void *user, const char *text);

/* For what cues are made; nothing is owned. */
struct sl_cueing {
    const struct sl_junction *junction;
    const struct sl_routine *routine;
    const struct sl_plan *plan; /* of that junction and routine */
    sl_cue_length *length_s;
    void *user; /* for length_s */
};

/*
 * The cues of one approach at a level of prompting, in order of time; no two overlap, and none
 * begins after the line. What *list held is released, also on an error (then it is empty).
 * SL_UNSUPPORTED when length_s cannot speak a text.
 */
enum sl_status sl_cues_make(const struct sl_cueing *cueing, enum sl_prompting prompting,
                            struct sl_cue_list *list, struct sl_error *error);

/*
 * The cues of an approach that is driven, where only the car knows when it is where: the
 * announcement, then what others do (NULL: nobody), the distance calls and the line in the order in
 * which the car comes by, at_s INFINITY and end_s their length. Errors as sl_cues_make.
 */
enum sl_status sl_cues_make_driven(const struct sl_cueing *cueing,
                                   const struct sl_situation *others, struct sl_cue_list *list,
                                   struct sl_error *error);

/* Whether a distance call at its at_s to end_s keeps away from the cues of the list and from the
 * moments at which the learner is to speak. */
bool sl_cue_has_room(const struct sl_plan *plan, const struct sl_cue_list *list,
                     const struct sl_cue *call);

/*
 * Every cue that could be asked for at this junction whatever the level of prompting and however
 * long speaking takes: for making and checking cue packs. Not placed: they have no length, phase
 * cues stand where the phase is due. length_s is not called. Errors: SL_NO_MEMORY.
 */
enum sl_status sl_cues_every(const struct sl_cueing *cueing, struct sl_cue_list *list,
                             struct sl_error *error);

/* Length of the sentence that `text` begins with: up to and with the mark that ends it. */
size_t sl_sentence_length(const char *text);

/*
 * The announcement's sentences: kind, turn, what can be seen, a stop line, a signal that would
 * mislead, traffic where the junction says, approach speed, distance. Distances to the nearest
 * 10 m from 100 m on, else 5 m. The caller frees; NULL when memory runs out.
 */
char *sl_announcement(const struct sl_junction *junction, const struct sl_plan *plan);

/* Adds a cue at the end; its text is copied. */
enum sl_status sl_cue_list_add(struct sl_cue_list *list, const struct sl_cue *cue,
                               struct sl_error *error);

void sl_cue_list_clear(struct sl_cue_list *list);

#endif
