/*
 * What the parts of a session share: rehearse.c (the session), rehearse_run.c (one run),
 * rehearse_feedback.c (what is said after it), rehearse_drive.c (the car, where the words drive
 * one).
 */
#ifndef SL_CLI_REHEARSE_PARTS_H
#define SL_CLI_REHEARSE_PARTS_H

#include "cli/rehearse.h"
#include "cli/shared.h"
#include "files/sound_choice.h"
#include "practice/keep.h"
#include "speech/listener.h"

struct sl_rehearse {
    const struct sl_rehearse_options *options;
    struct sl_setup *setups; /* by junction */
    char *pronunciations;
    struct sl_recogniser *recogniser; /* marks */
    struct sl_listener *listener;     /* listens live */
    struct sl_live_ear ear;           /* the same for the rehearsal */
    struct sl_sound_choice choice;    /* as the sound check left it */
    struct sl_cue_voice *voice;
    struct sl_screen screen;
    struct sl_interrupt interrupt;
    struct sl_fading fading;
    char *folder;         /* of the recordings */
    char *prompting_path; /* NULL: levels do not fade */
    size_t n_runs;
    struct sl_history *history; /* NULL: nothing is kept */
    bool broken;                /* results could not be written */
    bool unkept;                /* a run could not be kept in the history */
};

/* One run: its number from 0, its junction, what came of it. Nothing is owned but recording, result
 * of the attempt and run file. */
struct sl_rehearse_run {
    struct sl_rehearse *session;
    size_t number, junction;
    struct sl_endpoint endpoint;
    struct sl_rehearsal rehearsal;
    struct sl_rehearsal_result result;
    struct sl_attempt attempt;
    struct sl_live_car *car; /* driven; owned; NULL at the plan's pace */
    struct sl_task task;     /* that its words are judged against */
    struct sl_rehearsal_drive driven;
    struct sl_drive drive; /* by the words of the whole recording, once it is marked; owned */
    double file_from_s;    /* where in the recording that is the microphone the plan's time 0 is */
    bool flowed, marked;
};

/* Who else is there when a junction of the session is driven to: others at each, from a seed of its
 * own. */
uint64_t sl_rehearse_seed(const struct sl_rehearse *session, size_t junction);

/* Opens what the run hears and plays with, and makes the live ear where there is none yet. */
enum sl_status sl_rehearse_open_sound(struct sl_rehearse_run *run, struct sl_error *error);

/* Makes run `number` of the session at a junction. */
enum sl_exit sl_rehearse_one(struct sl_rehearse *session, size_t number, size_t junction);

/* Saves the mark of a run beside its recording, where options->folder asks for it. */
enum sl_status sl_rehearse_keep_mark(const struct sl_rehearse_run *run, struct sl_error *error);

/* Written and, where there is a speaker, spoken. Sound goes on meanwhile. */
void sl_rehearse_feedback(struct sl_rehearse_run *run);

/* A driven car for the run. */
enum sl_status sl_rehearse_take_car(struct sl_rehearse_run *run, struct sl_error *error);

/* Lets the words of the marked recording drive it: run->drive. */
enum sl_status sl_rehearse_drive(struct sl_rehearse_run *run, struct sl_error *error);

/* Adds where a run was saved with its mark, where options->folder asks for it. */
void sl_rehearse_saved(struct sl_str *out, const struct sl_rehearse_run *run);

/* What came of the words that drove it: written, and the first of it spoken. */
void sl_rehearse_tell_drive(struct sl_rehearse_run *run);

/* What was recorded, and how to mark it, for a run that was not marked. */
void sl_rehearse_kept(const struct sl_rehearse_run *run);

/* An error as a JSON object on standard output, where results are JSON. */
void sl_rehearse_failed(const struct sl_rehearse_run *run, const struct sl_error *error);

#endif
