#include "bench/delays.h"

#include "core/statistics.h"
#include "core/str.h"
#include "speech/listener.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define SLOW_S 0.5

bool bench_given_stamp(struct bench_given *given, size_t first, double at_s)
{
    for (size_t i = first; i < given->heard.count; i++) {
        double *at = sl_grow(given->at_s, i, &given->at_room, sizeof *at);
        if (at == NULL) {
            return false;
        }
        given->at_s = at;
        at[i] = at_s;
    }
    return true;
}

void bench_given_clear(struct bench_given *given)
{
    sl_heard_clear(&given->heard);
    free(given->at_s);
    *given = (struct bench_given){0};
}

static bool add_delay(struct bench_delays *delays, double delay_s)
{
    double *items = sl_grow(delays->items_s, delays->count, &delays->room, sizeof *items);
    if (items == NULL) {
        return false;
    }
    delays->items_s = items;
    items[delays->count++] = delay_s;
    return true;
}

/* End of the last label of the phrase's phase that it overlaps; NAN when there is none. */
static double label_end_s(const struct sl_routine *routine, const struct corpus_labels *labels,
                          const struct sl_heard *heard)
{
    double end_s = NAN;
    for (size_t i = 0; i < labels->n_said; i++) {
        const struct corpus_said *said = &labels->said[i];
        if (strcmp(said->what, routine->phases[heard->phase].id) == 0 &&
            said->start_s < heard->end_s && said->end_s > heard->start_s) {
            end_s = said->end_s;
        }
    }
    return end_s;
}

/* The phrase that takes the place of phrase i last; i when it stands. */
static size_t stands_for(const struct sl_heard_list *heard, size_t i)
{
    size_t last = i;
    for (size_t j = i + 1; j < heard->count; j++) {
        last = sl_listener_replaces(&heard->items[j], &heard->items[i]) ? j : last;
    }
    return last;
}

/* Counts phrase i, which came out clear; false: no memory. */
static bool note(struct bench_delays *delays, const struct sl_routine *routine,
                 const struct corpus_labels *labels, const struct bench_given *given, size_t i)
{
    const struct sl_heard *item = &given->heard.items[i];
    size_t by = stands_for(&given->heard, i);
    delays->given++;
    if (by != i) {
        const struct sl_heard *instead = &given->heard.items[by];
        bool on = sl_listener_goes_on(instead, item);
        delays->gone_on += on ? 1 : 0;
        delays->replaced += on ? 0 : 1;
        if (delays->list != NULL && !on) {
            (void)fprintf(delays->list, "%s: \"%s\" takes the place of \"%s\"\n", labels->file,
                          instead->text, item->text);
        }
        return true;
    }
    double delay_s = given->at_s[i] - label_end_s(routine, labels, item);
    delays->foreknown_s = fmax(delays->foreknown_s, item->end_s - given->at_s[i]);
    if (delays->list != NULL && delay_s > SLOW_S) {
        (void)fprintf(delays->list, "%s: %.2f s late: %s, heard %.2f to %.2f s\n", labels->file,
                      delay_s, item->text, item->start_s, item->end_s);
    }
    if (delays->list != NULL && delay_s < 0) {
        (void)fprintf(delays->list, "%s: %.2f s before its end: %s, heard %.2f to %.2f s\n",
                      labels->file, -delay_s, item->text, item->start_s, item->end_s);
    }
    return isnan(delay_s) || add_delay(delays, delay_s);
}

enum sl_status bench_delays_add(struct bench_delays *delays, const struct sl_routine *routine,
                                const struct corpus_labels *labels, const struct bench_given *given,
                                struct sl_heard_list *last)
{
    enum sl_status status = SL_OK;
    for (size_t i = 0; i < given->heard.count && status == SL_OK; i++) {
        const struct sl_heard *item = &given->heard.items[i];
        bool clear = item->phase < routine->n_phases && !item->unclear;
        if (clear && !note(delays, routine, labels, given, i)) {
            status = SL_NO_MEMORY;
        }
        if (status == SL_OK && stands_for(&given->heard, i) == i) {
            status = sl_heard_add(last, item, NULL);
        }
    }
    return status;
}

double bench_delays_s(struct bench_delays *delays, double share)
{
    return sl_quantile(delays->items_s, delays->count, share);
}

void bench_delays_clear(struct bench_delays *delays)
{
    free(delays->items_s);
    *delays = (struct bench_delays){0};
}
