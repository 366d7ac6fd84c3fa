#include "bench/score.h"

#include "core/statistics.h"
#include "core/str.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define START_LISTED_S 0.15

/* Labels of one phase; its text is that of the first. */
struct step {
    size_t phase;
    size_t first, last; /* labels */
    double start_s, end_s;
    struct sl_settings settings;
};

static bool overlaps(const struct sl_heard *heard, const struct step *step)
{
    return heard->start_s < step->end_s && step->start_s < heard->end_s;
}

/* The next step from label `at` on; false when there is none. */
static bool next_step(const struct sl_routine *routine, const struct corpus_labels *labels,
                      size_t at, struct step *step)
{
    *step = (struct step){.phase = routine->n_phases};
    for (; at < labels->n_said; at++) {
        const struct corpus_said *said = &labels->said[at];
        size_t phase = sl_routine_phase(routine, said->what);
        if (phase == routine->n_phases) {
            continue; /* a filler, a correction, talk about something else */
        }
        if (step->phase == routine->n_phases) {
            *step = (struct step){.phase = phase, .first = at, .start_s = said->start_s};
        } else if (phase != step->phase) {
            break;
        }
        step->last = at;
        step->end_s = said->end_s;
        sl_settings_merge(&step->settings, &said->settings);
    }
    return step->phase != routine->n_phases;
}

/* The step of its phase that a phrase overlaps; false when there is none. */
static bool step_of(const struct sl_routine *routine, const struct corpus_labels *labels,
                    const struct sl_heard *heard, struct step *step)
{
    for (size_t at = 0; next_step(routine, labels, at, step); at = step->last + 1) {
        if (step->phase == heard->phase && overlaps(heard, step)) {
            return true;
        }
    }
    return false;
}

bool bench_is_right(const struct sl_routine *routine, const struct corpus_labels *labels,
                    const struct sl_heard *heard)
{
    struct step step;
    return step_of(routine, labels, heard, &step);
}

/* A slip and what it was corrected to were both said, so any row of the step will do. */
static bool was_said(const struct corpus_labels *labels, const struct step *step,
                     const struct sl_settings *one)
{
    for (size_t i = step->first; i <= step->last; i++) {
        struct sl_settings said =
            sl_settings_only(&labels->said[i].settings, sl_settings_named(one));
        struct sl_settings both = said;
        sl_settings_merge(&both, one);
        if (sl_settings_named(&said) != 0 && sl_settings_equal(&said, &both)) {
            return true;
        }
    }
    return false;
}

bool bench_is_wholly_right(const struct sl_routine *routine, const struct corpus_labels *labels,
                           const struct sl_heard *heard)
{
    struct step step;
    bool right = step_of(routine, labels, heard, &step);
    for (size_t i = 0; i < heard->settings.n_mirrors && right; i++) {
        struct sl_settings mirror = {.mirrors = {heard->settings.mirrors[i]}, .n_mirrors = 1};
        right = was_said(labels, &step, &mirror);
    }
    for (unsigned bit = SL_SET_MIRRORS << 1; bit < SL_SET_ALL && right; bit <<= 1) {
        struct sl_settings one = sl_settings_only(&heard->settings, bit);
        right = sl_settings_named(&one) == 0 || was_said(labels, &step, &one);
    }
    return right;
}

static bool counts_as_phrase(const struct sl_routine *routine, const struct sl_heard *heard)
{
    return heard->phase < routine->n_phases && !heard->unclear;
}

/* One line: the file, what differs, when, what was said, what was heard there. */
static void list_step(FILE *list, const struct corpus_labels *labels, const char *kind,
                      const struct step *step, const struct sl_heard_list *heard)
{
    if (list == NULL) {
        return;
    }
    (void)fprintf(list, "%s\t%s\t%.2f\tsaid %s:", labels->file, kind, step->start_s,
                  labels->said[step->first].what);
    for (size_t i = step->first; i <= step->last; i++) {
        (void)fprintf(list, " %s |", labels->said[i].text);
    }
    char *wanted = corpus_settings_text(&step->settings);
    (void)fprintf(list, " [%s]\theard:", wanted);
    free(wanted);
    for (size_t i = 0; i < heard->count; i++) {
        const struct sl_heard *item = &heard->items[i];
        if (overlaps(item, step)) {
            char *settings = corpus_settings_text(&item->settings);
            (void)fprintf(list, " %s [%s] (%.2f%s) |", item->text, settings, item->confidence,
                          item->unclear ? ", unclear" : "");
            free(settings);
        }
    }
    (void)fprintf(list, "\n");
}

static void list_false(FILE *list, const struct corpus_labels *labels, const struct sl_heard *heard)
{
    if (list == NULL) {
        return;
    }
    (void)fprintf(list, "%s\tfalse\t%.2f\theard: %s (%.2f)\tsaid:", labels->file, heard->start_s,
                  heard->text, heard->confidence);
    for (size_t i = 0; i < labels->n_said; i++) {
        if (heard->start_s < labels->said[i].end_s && labels->said[i].start_s < heard->end_s) {
            (void)fprintf(list, " %s |", labels->said[i].text);
        }
    }
    (void)fprintf(list, "\n");
}

static bool add_start_error(struct bench_tally *tally, double error_s)
{
    double *errors = sl_grow(tally->start_errors_s, tally->n_start_errors,
                             &tally->start_errors_room, sizeof(*errors));
    if (errors == NULL) {
        return false;
    }
    tally->start_errors_s = errors;
    errors[tally->n_start_errors++] = error_s;
    return true;
}

static bool score_step(const struct corpus_labels *labels, const struct step *step,
                       const struct sl_heard_list *heard, struct bench_tally *tally)
{
    struct bench_counts *counts = &tally->phases[step->phase];
    struct sl_settings settings = {0};
    double start_s = NAN;
    counts->labelled++;
    for (size_t i = 0; i < heard->count; i++) {
        const struct sl_heard *item = &heard->items[i];
        if (item->phase != step->phase || item->unclear || !overlaps(item, step)) {
            continue;
        }
        start_s = isnan(start_s) ? item->start_s : start_s;
        sl_settings_merge(&settings, &item->settings);
    }
    bench_pairs_count(&step->settings, &settings, tally->pairs);
    if (isnan(start_s)) {
        list_step(tally->list, labels, "missed", step, heard);
        return true;
    }
    counts->found++;
    if (sl_settings_equal(&settings, &step->settings)) {
        counts->settings_right++;
    } else {
        list_step(tally->list, labels, "settings", step, heard);
    }
    double error_s = start_s - step->start_s;
    if (fabs(error_s) > START_LISTED_S) {
        struct sl_str kind = {0};
        sl_str_addf(&kind, "%.2f s %s", fabs(error_s), error_s < 0 ? "early" : "late");
        list_step(tally->list, labels, sl_str_text(&kind), step, heard);
        sl_str_clear(&kind);
    }
    return add_start_error(tally, error_s);
}

enum sl_status bench_score(const struct sl_routine *routine, const struct corpus_labels *labels,
                           const struct sl_heard_list *heard, struct bench_tally *tally,
                           struct sl_error *error)
{
    struct step step;
    for (size_t at = 0; next_step(routine, labels, at, &step); at = step.last + 1) {
        if (!score_step(labels, &step, heard, tally)) {
            return sl_fail_memory(error);
        }
    }
    for (size_t i = 0; i < heard->count; i++) {
        const struct sl_heard *item = &heard->items[i];
        if (item->phase < routine->n_phases) {
            tally->phases[item->phase].unclear += item->unclear;
        }
        if (!counts_as_phrase(routine, item)) {
            continue;
        }
        tally->phases[item->phase].heard++;
        if (bench_is_right(routine, labels, item)) {
            tally->phases[item->phase].right++;
        } else {
            list_false(tally->list, labels, item);
        }
    }
    tally->files++;
    return SL_OK;
}

struct bench_counts bench_total(const struct bench_tally *tally)
{
    struct bench_counts total = {0};
    for (size_t i = 0; i < SL_PHASE_MAX; i++) {
        const struct bench_counts *counts = &tally->phases[i];
        total.labelled += counts->labelled;
        total.found += counts->found;
        total.heard += counts->heard;
        total.right += counts->right;
        total.settings_right += counts->settings_right;
        total.unclear += counts->unclear;
    }
    return total;
}

static double share(size_t part, size_t whole)
{
    return whole > 0 ? (double)part / (double)whole : NAN;
}

double bench_precision(const struct bench_counts *counts)
{
    return share(counts->right, counts->heard);
}

double bench_recall(const struct bench_counts *counts)
{
    return share(counts->found, counts->labelled);
}

double bench_f1(const struct bench_counts *counts)
{
    double precision = bench_precision(counts);
    double recall = bench_recall(counts);
    return 2 * precision * recall / (precision + recall);
}

double bench_settings(const struct bench_counts *counts)
{
    return share(counts->settings_right, counts->found);
}

void bench_start_errors(struct bench_tally *tally, double *median_s, double *p95_s)
{
    for (size_t i = 0; i < tally->n_start_errors; i++) {
        tally->start_errors_s[i] = fabs(tally->start_errors_s[i]);
    }
    *median_s = sl_quantile(tally->start_errors_s, tally->n_start_errors, 0.5);
    *p95_s = sl_quantile(tally->start_errors_s, tally->n_start_errors, 0.95);
}

void bench_tally_clear(struct bench_tally *tally)
{
    if (tally == NULL) {
        return;
    }
    free(tally->start_errors_s);
    *tally = (struct bench_tally){0};
}
