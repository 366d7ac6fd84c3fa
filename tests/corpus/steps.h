/*
 * What a learner does in a run, step by step, and the faults put into it on purpose.
 */
#ifndef CORPUS_STEPS_H
#define CORPUS_STEPS_H

#include "rng.h"
#include "scene.h"

#include <stdbool.h>

/* A slip that is put right at once, beside the kinds of fault. */
#define CORPUS_CORRECTED SL_FAULT_KIND_COUNT

struct corpus_step {
    size_t phase;
    struct sl_settings settings;
    unsigned required; /* settings that must be named */
    bool corrected;    /* `slip` is said first */
    struct sl_settings slip;
    bool mumbled;
    bool out_of_place; /* moved or repeated: the plan's moments mean nothing for it */
    double at_s;       /* when it should be said, on the practice clock; NAN untimed */
};

struct corpus_fault {
    int kind; /* enum sl_fault_kind or CORPUS_CORRECTED */
    size_t phase;
    size_t other; /* as good an answer as `phase`; the same where there is none */
};

#define CORPUS_STEPS_MAX 24
#define CORPUS_FAULTS_MAX 8

struct corpus_steps {
    struct corpus_step items[CORPUS_STEPS_MAX];
    size_t n;
    struct corpus_fault faults[CORPUS_FAULTS_MAX];
    size_t n_faults;
    bool timed;
};

/* "missed", ..., "corrected". */
const char *corpus_fault_word(int kind);

/* Every phase as the routine wants it, near the moments of the plan. */
void corpus_steps_right(struct corpus_rng *rng, const struct corpus_scene *scene, bool timed,
                        struct corpus_steps *steps);

/* Puts in one fault; false, with nothing changed, where it has no place: the phase has one
 * already, nothing can be wrong about it, there is no time for it. */
bool corpus_steps_fault(struct corpus_rng *rng, const struct corpus_scene *scene, int kind,
                        size_t phase, struct corpus_steps *steps);

/* Up to `most` faults of kinds that are common among learners, drawn at random. */
void corpus_steps_draw(struct corpus_rng *rng, const struct corpus_scene *scene, size_t most,
                       struct corpus_steps *steps);

#endif
