/*
 * Plans and marked attempts as JSON (jansson); the schema is in docs/formats.md.
 */
#ifndef SL_FILES_RESULT_JSON_H
#define SL_FILES_RESULT_JSON_H

#include "core/drive.h"
#include "core/heard.h"
#include "core/levels.h"
#include "core/marking.h"
#include "core/plan.h"
#include "core/status.h"
#include "files/settled_file.h"

/* What a result is about; nothing is owned. */
struct sl_result {
    const char *file;
    const struct sl_routine *routine;
    const struct sl_junction *junction;
    const struct sl_plan *plan;
    const struct sl_level_report *levels;
    const struct sl_heard_list *heard;
    const struct sl_mark *mark;
    double from_s;
    const struct sl_settled_file *settled; /* what was applied; NULL: nothing */
    const struct sl_drive *drive;          /* what the words did to a car; NULL: they drove none */
};

/* One object on one line, without the line end; the caller frees. */
enum sl_status sl_result_to_json(const struct sl_result *result, char **json,
                                 struct sl_error *error);

/* {"file": ..., "error": {"status", "what", "where", "mend"}} for a file that could not be marked.
 */
enum sl_status sl_error_to_json(const char *file, const struct sl_error *failure, char **json,
                                struct sl_error *error);

/* A plan and what it was made from; nothing is owned. */
struct sl_planned {
    const struct sl_plan *plan;
    const struct sl_junction *junction;
    const struct sl_routine *routine;
    const struct sl_car *car;
};

/* One object on one line, without the line end; the caller frees. */
enum sl_status sl_plan_to_json(const struct sl_planned *planned, char **json,
                               struct sl_error *error);

#endif
