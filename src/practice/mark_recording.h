/*
 * Marking a recording: sound file -> levels and heard phrases -> mark.
 */
#ifndef SL_PRACTICE_MARK_RECORDING_H
#define SL_PRACTICE_MARK_RECORDING_H

#include "core/heard.h"
#include "core/levels.h"
#include "core/marking.h"
#include "core/plan.h"
#include "core/status.h"
#include "files/settled_file.h"
#include "speech/recogniser.h"

/* Initialise with {0}; release with sl_attempt_clear. */
struct sl_attempt {
    char *file;
    struct sl_level_report levels;
    struct sl_heard_list heard;
    struct sl_mark mark;
    unsigned hiding;                /* as the mark was told: what may have hidden words */
    struct sl_settled_file settled; /* what was applied of FILE.settled.json; {0} without */
};

/* Called now and then with the share done (0 to 1, or -1 when the length is unknown). May be NULL.
 */
typedef void sl_progress(void *user, double share);

/* Who listens. The recogniser must be made for the task's routine; it is left ready for another
 * recording, also after an error. */
struct sl_marker {
    struct sl_recogniser *recogniser;
    sl_progress *progress;
    void *user;
    bool settled; /* apply what an instructor settled (files/settled_file.h) */
};

/*
 * Reads, listens, marks. Errors of the sound file and the recogniser, and SL_INVALID when
 * options.from_s lies beyond the end of the recording. With marker->settled also those of
 * sl_settled_load but SL_NOT_FOUND, and of sl_settle.
 */
enum sl_status sl_mark_recording(const struct sl_task *task, const char *path,
                                 const struct sl_marker *marker, struct sl_attempt *attempt,
                                 struct sl_error *error);

/* NULL is fine. */
void sl_attempt_clear(struct sl_attempt *attempt);

#endif
