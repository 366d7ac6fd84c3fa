#include "core/submission.h"

#include "core/str.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

const char *sl_submission_name(const struct sl_submission *submission)
{
    return submission->learner == NULL ? sl_base_name(submission->bag) : submission->learner;
}

bool sl_submission_mark_differs(const struct sl_submission_run *run)
{
    return run->marked && run->was_marked &&
           (run->was_faults != run->faults ||
            fabs(run->was_score - run->score) > SL_SUBMISSION_SAME_SCORE);
}

bool sl_submission_drive_differs(const struct sl_submission_run *run)
{
    return run->marked && run->was_marked && run->driven && run->was_came_of != run->came_of;
}

bool sl_submission_differs(const struct sl_submission_run *run)
{
    return sl_submission_mark_differs(run) || sl_submission_drive_differs(run);
}

size_t sl_submission_n_different(const struct sl_submission *submission)
{
    size_t n = 0;
    for (size_t i = 0; i < submission->n_runs; i++) {
        n += sl_submission_differs(&submission->runs[i]) ? 1 : 0;
    }
    return n;
}

void sl_submission_clear(struct sl_submission *submission)
{
    for (size_t i = 0; i < submission->n_runs; i++) {
        free(submission->runs[i].file);
        free(submission->runs[i].junction);
        free(submission->runs[i].failure);
    }
    free(submission->runs);
    free(submission->bag);
    free(submission->learner);
    free(submission->date);
    free(submission->refusal);
    *submission = (struct sl_submission){0};
}
