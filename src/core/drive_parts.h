/*
 * The parts of which drive.c is made; for drive*.c only.
 */
#ifndef SL_CORE_DRIVE_PARTS_H
#define SL_CORE_DRIVE_PARTS_H

#include "core/drive.h"

/* Adds the consequences to a drive whose trace and arrival are made. SL_NO_MEMORY. */
enum sl_status sl_drive_judge(const struct sl_driving *driving, struct sl_drive *drive,
                              struct sl_error *error);

/* A phase as it should be said, at its moment. Its text is no word of anybody's, and never freed.
 */
struct sl_heard sl_drive_right_words(const struct sl_task *task, size_t phase);

#endif
