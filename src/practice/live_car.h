/*
 * A car that is driven live. The car is a model (core/drive.h): whenever something more was heard
 * it is driven again from the start with all words so far, each acting from its own first sound,
 * and the sound goes on with the new drive from the moment at hand. So the car that was heard live
 * is the car of the recording.
 *
 * Two threads: the ear's gives what was heard, the sound's asks where the car is and takes its
 * sound. Neither waits for the other.
 */
#ifndef SL_PRACTICE_LIVE_CAR_H
#define SL_PRACTICE_LIVE_CAR_H

#include "core/drive.h"

#include <stddef.h>
#include <stdint.h>

/* A car that stands waits so long for a word that lets it go on; one that went on is followed so
 * long. */
#define SL_LIVE_CAR_STANDS_S 3.0
#define SL_LIVE_CAR_GONE_S 1.5

struct sl_live_car;

/* `task` (options.from_s is not looked at) and `car` must outlive it. SL_NO_MEMORY. */
enum sl_status sl_live_car_new(const struct sl_task *task, const struct sl_car *car,
                               struct sl_live_car **made, struct sl_error *error);

/* The ear's thread: all that was heard so far, on the recording's clock, and where on it the plan's
 * time 0 is. Phrases that another one took the place of may be in it. SL_NO_MEMORY: the car goes on
 * as before. */
enum sl_status sl_live_car_hear(struct sl_live_car *car, const struct sl_heard_list *heard,
                                double from_s);

/* The sound's thread: looks whether the ear gave anything new. */
void sl_live_car_look(struct sl_live_car *car);

/* The sound's thread: the car at a time on the plan's clock, at the start before time 0. */
struct sl_drive_sample sl_live_car_at(const struct sl_live_car *car, double at_s);

/* The sound's thread: when the run is over if nothing more is heard. */
double sl_live_car_end_s(const struct sl_live_car *car);

/* The sound's thread: adds the car's sound to n frames, the first of which is played `from_s` on
 * the plan's clock. Each call goes on where the one before ended. */
void sl_live_car_mix(struct sl_live_car *car, double from_s, int16_t *frames, size_t n);

/* The sound's thread, or once none uses it: the drive as it is known now; valid until the next
 * look.
 */
const struct sl_drive *sl_live_car_drive(const struct sl_live_car *car);

/* Once no thread uses it. NULL is fine. */
void sl_live_car_free(struct sl_live_car *car);

#endif
