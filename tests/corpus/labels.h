/*
 * Label files: what is said in a recording, when, and which faults it holds (docs/formats.md).
 */
#ifndef CORPUS_LABELS_H
#define CORPUS_LABELS_H

#include "core/settings.h"
#include "core/status.h"

#include <stdbool.h>
#include <stddef.h>

/* Something said; strings are owned. */
struct corpus_said {
    char *what; /* a phase of the routine, or "filler", "correction", "hesitation", "restart",
                   "off-topic" */
    double start_s, end_s;
    struct sl_settings settings;
    char *text;
};

/* A fault that is in the recording, or (kind "corrected") a slip that was put right. */
struct corpus_truth {
    char *kind;
    char *phase; /* "gear"; "gear|speed" where naming either is right */
};

/* Whether the truth is about this phase: one of "gear|speed". */
bool corpus_truth_names(const struct corpus_truth *truth, const char *phase);

/* Initialise with {0}; release with corpus_labels_clear. */
struct corpus_labels {
    char *file, *junction, *routine, *voice, *noise;
    char *place;   /* room and microphone: "living phone"; NULL when not told */
    double from_s; /* announcement of the junction, on the recording's clock */
    double duration_s;
    bool timed; /* said at the plan's moments; if not, only order and settings mean anything */
    struct corpus_said *said;
    size_t n_said, said_room;
    struct corpus_truth *truths;
    size_t n_truths, truths_room;
};

/* Copies its strings. */
enum sl_status corpus_labels_say(struct corpus_labels *labels, const struct corpus_said *said);
enum sl_status corpus_labels_truth(struct corpus_labels *labels, const char *kind,
                                   const char *phase);

/* "mirrors=interior,left;signal=left"; "-" when nothing is named. The caller frees. */
char *corpus_settings_text(const struct sl_settings *settings);

/* The other way; false when it cannot be read. */
bool corpus_settings_read(const char *text, struct sl_settings *settings);

enum sl_status corpus_labels_write(const struct corpus_labels *labels, const char *path,
                                   struct sl_error *error);

/* Errors: SL_NOT_FOUND, SL_IO, SL_FORMAT with file:line. */
enum sl_status corpus_labels_read(const char *path, struct corpus_labels *labels,
                                  struct sl_error *error);

void corpus_labels_clear(struct corpus_labels *labels);

#endif
