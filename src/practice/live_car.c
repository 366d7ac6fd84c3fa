#include "practice/live_car.h"

#include "core/car_sound.h"
#include "speech/listener.h"

#include <math.h>
#include <stdatomic.h>
#include <stdlib.h>

#define STILL_S 0.3 /* before the end the sound fades */

/* So often the car is looked at for its sound, which glides: 10 ms. */
#define LOOK_FRAMES 160.0

/* What came of the words so far. */
struct driven {
    struct sl_drive drive;
    size_t n_mirrors; /* times that mirrors were named */
    bool indicates;
};

struct sl_live_car {
    struct sl_task task;
    const struct sl_car *car;
    _Atomic(struct driven *) fresh; /* from the ear to the sound; NULL: nothing new */

    /* The sound's thread. */
    struct driven *driven;
    struct sl_car_sound sound;
};

static void free_driven(struct driven *driven)
{
    if (driven != NULL) {
        sl_drive_clear(&driven->drive);
        free(driven);
    }
}

static void count(const struct sl_task *task, const struct sl_heard_list *heard,
                  struct driven *driven)
{
    for (size_t i = 0; i < heard->count; i++) {
        const struct sl_heard *item = &heard->items[i];
        if (sl_drive_hears(task, item)) {
            unsigned carries = task->routine->phases[item->phase].carries;
            bool mirrors = (carries & SL_SET_MIRRORS) != 0;
            driven->n_mirrors += mirrors ? 1 : 0;
            enum sl_signal signal = item->settings.signal;
            driven->indicates = signal == SL_SIGNAL_UNSAID
                                    ? driven->indicates
                                    : signal == SL_SIGNAL_LEFT || signal == SL_SIGNAL_RIGHT;
        }
    }
}

static enum sl_status drive(struct sl_live_car *car, const struct sl_heard_list *heard,
                            struct driven **driven, struct sl_error *error)
{
    struct driven *made = calloc(1, sizeof *made);
    if (made == NULL) {
        return sl_fail_memory(error);
    }
    const struct sl_driving driving = {.task = &car->task, .car = car->car, .heard = heard};
    enum sl_status status = sl_drive_make(&driving, &made->drive, error);
    if (status != SL_OK) {
        free_driven(made);
        return status;
    }
    count(&car->task, heard, made);
    *driven = made;
    return SL_OK;
}

enum sl_status sl_live_car_new(const struct sl_task *task, const struct sl_car *car,
                               struct sl_live_car **made, struct sl_error *error)
{
    const struct sl_heard_list nothing = {0};
    struct sl_live_car *live = calloc(1, sizeof *live);
    if (live == NULL) {
        return sl_fail_memory(error);
    }
    live->task = *task;
    live->car = car;
    sl_car_sound_start(&live->sound);
    enum sl_status status = drive(live, &nothing, &live->driven, error);
    if (status != SL_OK) {
        sl_live_car_free(live);
        return status;
    }
    *made = live;
    return SL_OK;
}

enum sl_status sl_live_car_hear(struct sl_live_car *car, const struct sl_heard_list *heard,
                                double from_s)
{
    struct sl_heard_list standing = {0};
    struct driven *driven = NULL;
    enum sl_status status = SL_OK;
    for (size_t i = 0; i < heard->count && status == SL_OK; i++) {
        status = sl_heard_add(&standing, &heard->items[i], NULL);
    }
    if (status == SL_OK) {
        sl_listener_drop_replaced(&standing);
        car->task.options.from_s = from_s;
        status = drive(car, &standing, &driven, NULL);
    }
    if (status == SL_OK) {
        free_driven(atomic_exchange(&car->fresh, driven));
    }
    sl_heard_clear(&standing);
    return status;
}

void sl_live_car_look(struct sl_live_car *car)
{
    struct driven *fresh = atomic_exchange(&car->fresh, NULL);
    if (fresh != NULL) {
        if (fresh->n_mirrors > car->driven->n_mirrors) {
            sl_car_sound_mirrors(&car->sound);
        }
        free_driven(car->driven);
        car->driven = fresh;
    }
}

struct sl_drive_sample sl_live_car_at(const struct sl_live_car *car, double at_s)
{
    return sl_drive_at(&car->driven->drive, at_s);
}

double sl_live_car_end_s(const struct sl_live_car *car)
{
    const struct sl_drive *drive = &car->driven->drive;
    const struct sl_drive_sample *last = &drive->samples[drive->n_samples - 1];
    return last->time_s + (last->speed_mps > 0.0 ? SL_LIVE_CAR_GONE_S : SL_LIVE_CAR_STANDS_S);
}

/* Silence before the plan's time 0 and after the end. */
static struct sl_car_heard heard_at(const struct sl_live_car *car, double at_s)
{
    if (at_s < 0.0 || at_s >= sl_live_car_end_s(car) - STILL_S) {
        return (struct sl_car_heard){0};
    }
    struct sl_drive_sample now = sl_live_car_at(car, at_s);
    return (struct sl_car_heard){.engine_rpm = now.engine_rpm,
                                 .speed_mps = now.speed_mps,
                                 .pulls = now.pulls,
                                 .judders = now.judders,
                                 .indicates = car->driven->indicates};
}

void sl_live_car_mix(struct sl_live_car *car, double from_s, int16_t *frames, size_t n)
{
    double first = round(from_s * SL_CAR_SOUND_RATE_HZ);
    double looked = NAN;
    struct sl_car_heard heard = {0};
    for (size_t i = 0; i < n; i++) {
        double look = LOOK_FRAMES * floor((first + (double)i) / LOOK_FRAMES);
        if (look != looked) { /* the same however the frames are asked for */
            looked = look;
            heard = heard_at(car, look / SL_CAR_SOUND_RATE_HZ);
        }
        double sum = frames[i] + INT16_MAX * sl_car_sound_next(&car->sound, &heard);
        frames[i] = (int16_t)lround(fmax(fmin(sum, INT16_MAX), INT16_MIN));
    }
}

const struct sl_drive *sl_live_car_drive(const struct sl_live_car *car)
{
    return &car->driven->drive;
}

void sl_live_car_free(struct sl_live_car *car)
{
    if (car != NULL) {
        free_driven(atomic_load(&car->fresh));
        free_driven(car->driven);
        free(car);
    }
}
