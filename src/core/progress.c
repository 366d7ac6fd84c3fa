#include "core/progress.h"

#include <math.h>
#include <stdlib.h>

#define BIT(kind) (1U << (kind))

const char *sl_trend_word(enum sl_trend trend)
{
    static const char *const words[] = {"too-few", "no-change", "better", "worse"};
    return words[trend];
}

const char *sl_ready_word(enum sl_ready ready)
{
    static const char *const words[] = {"no-rehearsal", "stay", "drop", "back", "already-none"};
    return words[ready];
}

void sl_course_add(struct sl_course *course, bool hit)
{
    struct sl_share *share =
        course->lately.of < SL_PROGRESS_LATELY ? &course->lately : &course->before;
    share->of++;
    share->hits += hit ? 1 : 0;
}

void sl_course_end(struct sl_course *course, bool good)
{
    course->range = sl_wilson_95(course->lately.hits, course->lately.of);
    struct sl_interval change = sl_difference_95(course->lately, course->before);
    if (isnan(change.low)) {
        course->trend = SL_TREND_UNKNOWN;
    } else if (change.low > 0) {
        course->trend = good ? SL_TREND_BETTER : SL_TREND_WORSE;
    } else if (change.high < 0) {
        course->trend = good ? SL_TREND_WORSE : SL_TREND_BETTER;
    } else {
        course->trend = SL_TREND_SAME;
    }
}

static unsigned kinds_of(const struct sl_progress_run *run, size_t n_phases)
{
    unsigned kinds = 0;
    for (size_t i = 0; i < n_phases; i++) {
        kinds |= run->steps[i].kinds;
    }
    return kinds;
}

/* Values that come from the newest to the oldest, in one array: lately, then before. */
struct values {
    double *items;
    size_t n;
};

static void add_value(struct values *values, double value)
{
    if (!isnan(value)) {
        values->items[values->n++] = value;
    }
}

static struct sl_spread spread_of(double *values, size_t n)
{
    return (struct sl_spread){.n = n,
                              .median = sl_quantile(values, n, 0.5),
                              .low = sl_quantile(values, n, 0.25),
                              .high = sl_quantile(values, n, 0.75)};
}

static void end_spreads(struct values *values, struct sl_spread *lately, struct sl_spread *before)
{
    size_t n_lately = values->n < SL_PROGRESS_LATELY ? values->n : SL_PROGRESS_LATELY;
    *lately = spread_of(values->items, n_lately);
    *before = spread_of(values->items + n_lately, values->n - n_lately);
    values->n = 0;
}

/* Runs as they are summed up. */
struct summing {
    const struct sl_progress_run *runs; /* oldest first */
    size_t n_runs;
    struct sl_progress *progress;
    double *scratch; /* a value a run */
};

static void sum_phase(const struct summing *summing, size_t phase)
{
    struct sl_progress_phase *made = &summing->progress->phases[phase];
    struct values values = {.items = summing->scratch};
    for (size_t i = summing->n_runs; i-- > 0;) {
        const struct sl_progress_step *step = &summing->runs[i].steps[phase];
        add_value(&values, step->after_due_s);
        if (!step->unclear) {
            sl_course_add(&made->right, (step->kinds & ~BIT(SL_FAULT_UNCLEAR)) == 0);
        }
    }
    sl_course_end(&made->right, true);
    end_spreads(&values, &made->after_due_lately, &made->after_due_before);
}

static void sum_run(struct sl_progress *progress, const struct sl_progress_run *run)
{
    unsigned kinds = kinds_of(run, progress->n_phases);
    for (size_t i = 0; i < SL_FAULT_KIND_COUNT; i++) {
        sl_course_add(&progress->faults[i], (kinds & BIT(i)) != 0);
    }
    progress->runs_at[run->kind][run->view]++;
    if (kinds != BIT(SL_FAULT_UNCLEAR)) {
        bool clean = kinds == 0;
        sl_course_add(&progress->clean, clean);
        sl_course_add(&progress->clean_at[run->kind][run->view], clean);
    }
}

static void sum_runs(const struct summing *summing)
{
    struct sl_progress *progress = summing->progress;
    struct values rolling = {.items = summing->scratch};
    for (size_t i = summing->n_runs; i-- > 0;) {
        sum_run(progress, &summing->runs[i]);
        add_value(&rolling, summing->runs[i].rolling_s);
    }
    for (size_t i = 0; i < SL_FAULT_KIND_COUNT; i++) {
        sl_course_end(&progress->faults[i], false);
    }
    for (size_t i = 0; i < (size_t)SL_KIND_COUNT * SL_VIEW_COUNT; i++) {
        sl_course_end(&progress->clean_at[i / SL_VIEW_COUNT][i % SL_VIEW_COUNT], true);
    }
    sl_course_end(&progress->clean, true);
    end_spreads(&rolling, &progress->rolling_lately, &progress->rolling_before);
}

/* The phase and kind of fault in most of the runs lately; of equals the more serious kind, then the
 * earlier phase. */
static struct sl_next commonest_fault(const struct summing *summing)
{
    struct sl_next next = {.why = SL_NEXT_FAULT};
    size_t first = summing->n_runs - summing->progress->n_lately;
    for (size_t kind = 0; kind < SL_FAULT_UNCLEAR; kind++) {
        for (size_t phase = 0; phase < summing->progress->n_phases; phase++) {
            size_t times = 0;
            for (size_t i = first; i < summing->n_runs; i++) {
                times += (summing->runs[i].steps[phase].kinds & BIT(kind)) != 0 ? 1 : 0;
            }
            if (times > next.times) {
                next.times = times;
                next.phase = phase;
                next.fault = (enum sl_fault_kind)kind;
            }
        }
    }
    return next;
}

static struct sl_next least_practised(const struct sl_progress *progress)
{
    struct sl_next next = {.why = SL_NEXT_JUNCTION, .times = progress->runs_at[0][0]};
    for (size_t i = 1; i < (size_t)SL_KIND_COUNT * SL_VIEW_COUNT; i++) {
        size_t kind = i / SL_VIEW_COUNT;
        size_t view = i % SL_VIEW_COUNT;
        if (progress->runs_at[kind][view] < next.times) {
            next.times = progress->runs_at[kind][view];
            next.kind = (enum sl_kind)kind;
            next.view = (enum sl_view)view;
        }
    }
    return next;
}

static void choose_next(const struct summing *summing)
{
    struct sl_progress *progress = summing->progress;
    progress->next = commonest_fault(summing);
    if (progress->next.times == 0) {
        progress->next = least_practised(progress);
    }
}

static void judge_level(const struct summing *summing)
{
    struct sl_progress *progress = summing->progress;
    struct sl_fading fading = sl_fading_start();
    progress->level = SL_PROMPTING_COUNT;
    for (size_t i = 0; i < summing->n_runs; i++) {
        const struct sl_progress_run *run = &summing->runs[i];
        if (run->prompting == SL_PROMPTING_COUNT) {
            continue;
        }
        if (run->prompting != fading.level) {
            fading = (struct sl_fading){.level = run->prompting};
        }
        progress->level = run->prompting;
        fading = sl_fading_after_kinds(fading, kinds_of(run, progress->n_phases));
    }
    if (progress->level == SL_PROMPTING_COUNT) {
        progress->ready = SL_READY_NONE;
    } else if (fading.level != progress->level) {
        progress->ready = fading.level > progress->level ? SL_READY_DROP : SL_READY_BACK;
    } else if (progress->level == SL_PROMPTING_NONE) {
        progress->ready = SL_READY_ALREADY;
    } else {
        progress->ready = SL_READY_STAY;
        progress->clean_more = SL_FADE_AFTER_CLEAN - fading.clean_runs;
    }
}

enum sl_status sl_progress_make(const struct sl_progress_run *runs, size_t n_runs, size_t n_phases,
                                struct sl_progress *progress, struct sl_error *error)
{
    double *scratch = malloc((n_runs + 1) * sizeof *scratch);
    if (scratch == NULL) {
        return sl_fail_memory(error);
    }
    *progress = (struct sl_progress){
        .n_runs = n_runs,
        .n_lately = n_runs < SL_PROGRESS_LATELY ? n_runs : SL_PROGRESS_LATELY,
        .n_phases = n_phases,
    };
    const struct summing summing = {
        .runs = runs, .n_runs = n_runs, .progress = progress, .scratch = scratch};
    for (size_t i = 0; i < n_runs; i++) {
        progress->n_driven += runs[i].driven ? 1 : 0;
    }
    for (size_t phase = 0; phase < n_phases; phase++) {
        sum_phase(&summing, phase);
    }
    sum_runs(&summing);
    choose_next(&summing);
    judge_level(&summing);
    free(scratch);
    return SL_OK;
}
