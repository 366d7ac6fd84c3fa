/*
 * A rehearsal: one approach, live. The cues go to the speaker at the moments of the plan, what the
 * microphone gives is freed of the cues' echo, recorded, and heard by who listens live.
 *
 * One clock: frames of the endpoint. Captured frame k is the moment k / SL_SOUND_RATE_HZ on the
 * recording's clock. The plan's time 0, the end of the announcement, lies at from_s on it: the
 * frame that ends the announcement in what is played, plus the offset from playing to capturing.
 *
 * A rehearsal keeps the plan's pace. Driven (struct sl_rehearsal_drive), what is heard moves a car:
 * its sound is played, it is called out where it is, and it decides when the run is over.
 *
 * Threads. sl_rehearsal_run starts one for the sound, which never waits for any other, one that
 * writes the recording and one for the live ear; all are over when it returns. Events come on the
 * calling thread, in order, and may take their time: sound does not wait for them.
 */
#ifndef SL_PRACTICE_REHEARSAL_H
#define SL_PRACTICE_REHEARSAL_H

#include "core/cueing.h"
#include "core/heard.h"
#include "core/plan.h"
#include "core/prompting.h"
#include "core/routine.h"
#include "files/run_file.h"
#include "practice/cue_voice.h"
#include "practice/live_car.h"
#include "practice/mark_recording.h"
#include "sound/echo.h"
#include "sound/endpoint.h"

#include <stdbool.h>
#include <stddef.h>

/* The run ends so long after the line, or after the last window closes if that is later... */
#define SL_REHEARSAL_TAIL_S 3.0
#define SL_REHEARSAL_LAST_S 1.5
/* ... or so long after the line when every phase was heard live. */
#define SL_REHEARSAL_SAID_S 1.5
/* Where the speaker can be heard by the microphone, the announcement is recorded as silence up to
 * so long before its end: nobody is to speak yet, and the canceller learns the echo from it. */
#define SL_REHEARSAL_EARLY_S 0.5
/* A driven car's sound is handed over so long before the device takes it, so that what was heard
 * changes it no sooner. Each time that this was too short for the device, it gets a quarter more,
 * up to the most. */
#define SL_REHEARSAL_CAR_AHEAD_S 0.06
#define SL_REHEARSAL_CAR_AHEAD_MOST_S 0.2
/* A device that gives no frame for so long is given up. */
#define SL_REHEARSAL_STALL_S 10.0
/* So much sound waits for the live ear when it is said to be behind. */
#define SL_REHEARSAL_BEHIND_S 2.0

enum sl_event_kind {
    SL_EVENT_STARTED,     /* sound flows */
    SL_EVENT_CUE,         /* a cue begins: `cue` */
    SL_EVENT_ANNOUNCED,   /* the plan's time 0 */
    SL_EVENT_OPENS,       /* the window of `phase` opens */
    SL_EVENT_CLOSES,      /* and closes */
    SL_EVENT_LEVEL,       /* ten times a second: `level_db`, `clipped` */
    SL_EVENT_HEARD,       /* the live ear is sure of a phrase: `heard`, on the plan's clock */
    SL_EVENT_XRUN,        /* the device lost sound; times of this run may be off */
    SL_EVENT_STALLED,     /* the device gives nothing */
    SL_EVENT_RESUMED,     /* and goes on */
    SL_EVENT_HALF_DUPLEX, /* from now on the learner is not heard while a cue sounds */
    SL_EVENT_FULL_DUPLEX, /* from now on the learner is heard at all times */
    SL_EVENT_BEHIND,      /* the live ear is behind; told once a run. The mark is the same */
    SL_EVENT_INPUT_ENDED, /* the recording in place of the microphone is at its end */
    SL_EVENT_LINE,        /* the planned, or driven, car is at the line */
    SL_EVENT_BRAKES,      /* the driven car begins to brake */
    SL_EVENT_GEAR,        /* it is in another gear: `gear` */
    SL_EVENT_STANDS,      /* it stands */
    SL_EVENT_STALLS,      /* its engine stalled */
    SL_EVENT_GONE,        /* the device went away, stalled for too long, or gives what it plays */
    SL_EVENT_DISK         /* the recording cannot be written further */
};

struct sl_event {
    enum sl_event_kind kind;
    double at_s;       /* on the plan's clock; negative during the announcement */
    double distance_m; /* of the planned, or driven, car to the line, and its speed */
    double speed_mps;
    double engine_rpm; /* of the driven car, and its gear; 0 without one */
    int gear;
    size_t phase;
    const struct sl_cue *cue;
    const struct sl_heard *heard;
    double level_db; /* dBFS, root mean square over a tenth of a second, -120 at the least */
    bool clipped;
};

/* Who listens while the learner speaks. Called on a thread of its own. */
struct sl_live_ear {
    /* The next 20 ms or less; settled phrases are added, on the recording's clock. What goes wrong
     * ends the live listening, not the run. */
    enum sl_status (*feed)(void *self, const int16_t *samples, size_t n,
                           struct sl_heard_list *heard, struct sl_error *error);
    /* The sound is at its end. */
    enum sl_status (*finish)(void *self, struct sl_heard_list *heard, struct sl_error *error);
    void *self;
};

/* The car that is driven, and who else is there; nothing is owned. */
struct sl_rehearsal_drive {
    struct sl_live_car *car;
    const struct sl_situation *others;
    const struct sl_junction *junction; /* with the others in it: against it the words are marked */
};

/* Nothing is owned. */
struct sl_rehearsal {
    const struct sl_junction *junction;
    const struct sl_routine *routine;
    const struct sl_plan *plan;              /* of that junction and routine */
    enum sl_prompting prompting;             /* not looked at when driven */
    const struct sl_rehearsal_drive *driven; /* NULL: at the plan's pace */
    struct sl_cue_voice *voice;
    struct sl_endpoint *endpoint; /* opened, not started */
    const char *recording;        /* the FLAC file to be made */
    struct sl_run_file run;       /* what its run file says; filled in by the run */
    double lead_s;                /* silence before the announcement, 0 to 60 */
    bool road_tone;
    bool echo;                     /* the speaker may be heard by the microphone */
    const struct sl_live_ear *ear; /* NULL: nobody listens live */
    void (*event)(void *user, const struct sl_event *event);
    /* Before sound flows: the frame that is the plan's time 0 in what is played. May be NULL. */
    void (*prepared)(void *user, uint64_t zero_frame);
    /* Polled on the sound's thread a hundred times a second: true ends the run. May be NULL. */
    bool (*stop)(void *user);
    void *user; /* of all three */
};

/* Why a run ended. */
enum sl_rehearsal_end {
    SL_REHEARSAL_DONE,    /* "done": at its planned end */
    SL_REHEARSAL_STOPPED, /* "stopped": asked to */
    SL_REHEARSAL_GONE,    /* "device-lost" */
    SL_REHEARSAL_DISK     /* "disk-full": the recording could not be written further */
};

const char *sl_rehearsal_end_word(enum sl_rehearsal_end end);

struct sl_rehearsal_result {
    enum sl_rehearsal_end end;
    bool line_reached;
    double from_s;    /* of the mark */
    bool from_known;  /* the announcement ended, and the offset was known */
    double length_s;  /* recorded */
    double starved_s; /* played as silence because the computer was too slow */
    double lost_s;    /* recorded as silence because the computer was too slow */
    unsigned xruns;
    bool half_duplex;           /* at the end of the run */
    uint64_t written;           /* frames given to the speaker, for sl_rehearsal_say */
    struct sl_echo_report echo; /* {0} when `echo` was false */
};

/*
 * Makes the cues and runs one approach to its end. The recording and its run file stay in every
 * case in which sound had begun to flow. SL_OK also when the run was stopped, the device went or
 * the disk was full: see `end`. Errors before sound flows: of the cues, the recording, the device;
 * SL_NO_MEMORY at any time. The endpoint is left running, so that feedback can be spoken.
 */
enum sl_status sl_rehearsal_run(struct sl_rehearsal *rehearsal, struct sl_rehearsal_result *result,
                                struct sl_error *error);

/* Marks the recording of a run: the same pass as over any recording. */
enum sl_status sl_rehearsal_mark(const struct sl_rehearsal *rehearsal,
                                 const struct sl_rehearsal_result *result,
                                 const struct sl_marker *marker, struct sl_attempt *attempt,
                                 struct sl_error *error);

/* Says a text after the run; returns when it was said, the device is gone or `stop` wants to end.
 */
enum sl_status sl_rehearsal_say(const struct sl_rehearsal *rehearsal,
                                struct sl_rehearsal_result *result, const char *text,
                                struct sl_error *error);

#endif
