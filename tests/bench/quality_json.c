#include "bench/quality_report.h"

#include "files/json_out.h"

#include <math.h>

static json_t *counts_json(const struct bench_counts *counts)
{
    struct sl_json json = sl_json_object();
    sl_json_put(&json, "said", json_integer((json_int_t)counts->labelled));
    sl_json_put(&json, "heard", json_integer((json_int_t)counts->heard));
    sl_json_put(&json, "unclear", json_integer((json_int_t)counts->unclear));
    sl_json_put(&json, "precision", sl_json_number(bench_precision(counts)));
    sl_json_put(&json, "recall", sl_json_number(bench_recall(counts)));
    sl_json_put(&json, "f1", sl_json_number(bench_f1(counts)));
    sl_json_put(&json, "settings", sl_json_number(bench_settings(counts)));
    return sl_json_take(&json);
}

static json_t *phases_json(const struct sl_routine *routine, const struct bench_tally *tally)
{
    struct sl_json json = sl_json_object();
    struct bench_counts total = bench_total(tally);
    for (size_t i = 0; i < routine->n_phases; i++) {
        sl_json_put(&json, routine->phases[i].id, counts_json(&tally->phases[i]));
    }
    sl_json_put(&json, "all", counts_json(&total));
    return sl_json_take(&json);
}

static json_t *pairs_json(const struct bench_pair_counts *pairs)
{
    struct sl_json json = sl_json_object();
    for (int i = 0; i < BENCH_PAIR_COUNT; i++) {
        struct sl_json pair = sl_json_object();
        sl_json_put(&pair, "said", json_integer((json_int_t)pairs[i].said));
        sl_json_put(&pair, "right", json_integer((json_int_t)pairs[i].right));
        sl_json_put(&pair, "twin", json_integer((json_int_t)pairs[i].twin));
        sl_json_put(&pair, "other", json_integer((json_int_t)pairs[i].other));
        sl_json_put(&pair, "unheard", json_integer((json_int_t)pairs[i].unheard));
        sl_json_put(&json, bench_pair_name((enum bench_pair)i), sl_json_take(&pair));
    }
    return sl_json_take(&json);
}

static double share(size_t part, size_t whole)
{
    return whole == 0 ? NAN : (double)part / (double)whole;
}

static json_t *faults_json(const struct bench_faults *faults)
{
    struct sl_json json = sl_json_object();
    sl_json_put(&json, "planted", json_integer((json_int_t)faults->planted));
    sl_json_put(&json, "marked", json_integer((json_int_t)faults->marked));
    sl_json_put(&json, "unclear", json_integer((json_int_t)faults->unclear));
    sl_json_put(&json, "precision", sl_json_number(share(faults->right, faults->marked)));
    sl_json_put(&json, "recall", sl_json_number(share(faults->found, faults->planted)));
    return sl_json_take(&json);
}

static json_t *reliability_json(const struct bench_reliability *reliability)
{
    struct sl_json json = sl_json_object();
    json_t *bins = json_array();
    bool whole = bins != NULL;
    for (int i = 0; i < BENCH_BINS && whole; i++) {
        struct sl_json bin = sl_json_object();
        double n = (double)reliability->n[i];
        sl_json_put(&bin, "n", json_integer((json_int_t)reliability->n[i]));
        sl_json_put(&bin, "confidence", sl_json_number(reliability->sum[i] / n));
        sl_json_put(&bin, "right", sl_json_number((double)reliability->right[i] / n));
        whole = sl_json_append(bins, sl_json_take(&bin));
    }
    sl_json_put(&json, "bins", bins);
    sl_json_put(&json, "error", sl_json_number(bench_reliability_error(reliability)));
    json.failed = json.failed || !whole;
    return sl_json_take(&json);
}

static json_t *outcome_json(const struct sl_routine *routine, struct bench_outcome outcome)
{
    struct sl_json json = sl_json_object();
    double median_s = NAN;
    double p95_s = NAN;
    bench_start_errors(&outcome.tally, &median_s, &p95_s);
    sl_json_put(&json, "phases", phases_json(routine, &outcome.tally));
    sl_json_put(&json, "faults", faults_json(&outcome.faults));
    sl_json_put(&json, "pairs", pairs_json(outcome.tally.pairs));
    sl_json_put(&json, "start_median_s", sl_json_number(median_s));
    sl_json_put(&json, "start_p95_s", sl_json_number(p95_s));
    sl_json_put(&json, "real_time_factor",
                sl_json_number(outcome.tally.cpu_s / outcome.tally.sound_s));
    return sl_json_take(&json);
}

static json_t *condition_json(const struct sl_routine *routine,
                              const struct bench_condition *condition)
{
    struct sl_json json = sl_json_object();
    sl_json_put(&json, "name", sl_json_text(condition->name));
    for (int i = 0; i < BENCH_SYSTEMS; i++) {
        const struct bench_outcome *outcome = &condition->outcomes[i];
        if (outcome->tally.files > 0) {
            sl_json_put(&json, bench_system_name((enum bench_system)i),
                        outcome_json(routine, *outcome));
        }
    }
    sl_json_put(&json, "recordings",
                json_integer((json_int_t)condition->outcomes[BENCH_SAYLINE].tally.files));
    sl_json_put(&json, "warned", json_integer((json_int_t)condition->warned));
    sl_json_put(&json, "reliability", reliability_json(&condition->reliability));
    return sl_json_take(&json);
}

static json_t *talk_json(const struct bench_talk *talk)
{
    struct sl_json json = sl_json_object();
    sl_json_put(&json, "name", sl_json_text(talk->name));
    sl_json_put(&json, "sound_s", sl_json_number(talk->sound_s));
    for (int i = 0; i < BENCH_SYSTEMS; i++) {
        struct sl_json system = sl_json_object();
        double phrases = (double)talk->phrases[i];
        sl_json_put(&system, "false_phrases", json_integer((json_int_t)talk->phrases[i]));
        sl_json_put(&system, "per_minute", sl_json_number(60 * phrases / talk->sound_s));
        sl_json_put(&system, "real_time_factor", sl_json_number(talk->cpu_s[i] / talk->sound_s));
        json_t *value = sl_json_take(&system);
        if (talk->cpu_s[i] > 0) {
            sl_json_put(&json, bench_system_name((enum bench_system)i), value);
        } else {
            json_decref(value);
        }
    }
    return sl_json_take(&json);
}

static json_t *starts_json(const struct bench_start starts[BENCH_SYSTEMS])
{
    struct sl_json json = sl_json_object();
    for (int i = 0; i < BENCH_SYSTEMS; i++) {
        if (!starts[i].known) {
            continue;
        }
        struct sl_json start = sl_json_object();
        sl_json_put(&start, "start_s", sl_json_number(starts[i].start_s));
        sl_json_put(&start, "peak_mb", sl_json_number(starts[i].peak_mb));
        sl_json_put(&json, bench_system_name((enum bench_system)i), sl_json_take(&start));
    }
    return sl_json_take(&json);
}

json_t *bench_make_json(const struct bench_figures *figures)
{
    struct sl_json json = sl_json_object();
    json_t *conditions = json_array();
    json_t *talks = json_array();
    struct bench_reliability reliability = {0};
    bool whole = conditions != NULL && talks != NULL;
    for (size_t i = 0; i < figures->n_conditions && whole; i++) {
        whole =
            sl_json_append(conditions, condition_json(figures->routine, &figures->conditions[i]));
        bench_reliability_join(&reliability, &figures->conditions[i].reliability);
    }
    for (size_t i = 0; i < figures->n_talks && whole; i++) {
        whole = sl_json_append(talks, talk_json(&figures->talks[i]));
    }
    sl_json_put(&json, "routine", sl_json_text(figures->routine->name));
    sl_json_put(&json, "starts", starts_json(figures->starts));
    sl_json_put(&json, "conditions", conditions);
    sl_json_put(&json, "talk", talks);
    sl_json_put(&json, "reliability", reliability_json(&reliability));
    json.failed = json.failed || !whole;
    return sl_json_take(&json);
}
