/* The timing and the scoring of a routine file: tables of keys. */
#include "files/load_routine.h"

#include <stddef.h>

/* One key with a figure. The target is a double, `offset` bytes into the struct. */
struct field {
    const char *key;
    const char *example;
    enum sl_quantity quantity; /* SL_QUANTITY_COUNT: a plain figure */
    const struct sl_limits *limits;
    size_t offset;
};

static const struct sl_limits rate_limits = {0.1, 9.80665, "a rate of 0.1 m/s2 to 9.8 m/s2"};
static const struct sl_limits time_limits = {0, 120, "a time of 0 s to 120 s"};
static const struct sl_limits zero_limits = {0.1, 120, "a time of 0.1 s to 120 s"};
static const struct sl_limits weight_limits = {0, 1000, "a weight of 0 to 1000"};
static const struct sl_limits points_limits = {0, 100, "0 to 100 points"};
static const struct sl_limits share_limits = {0, 1, "a share of 0 to 1"};

#define TIME(key, example, member)                                                                 \
    {                                                                                              \
        key, example, SL_QUANTITY_TIME, &time_limits, offsetof(struct sl_timing, member)           \
    }
#define RATE(key, example, member)                                                                 \
    {                                                                                              \
        key, example, SL_QUANTITY_RATE, &rate_limits, offsetof(struct sl_timing, member)           \
    }
#define PLAIN(key, example, limits, member)                                                        \
    {                                                                                              \
        key, example, SL_QUANTITY_COUNT, &(limits), offsetof(struct sl_scoring, member)            \
    }

static const struct field timing_fields[] = {
    RATE("comfort", "1.5 m/s2", comfort_mps2),
    RATE("firm", "2.45 m/s2", firm_mps2),
    TIME("reaction", "0.7 s", reaction_s),
    TIME("rolling", "5 s", rolling_s),
    TIME("rolling-margin", "2 s", rolling_margin_s),
    TIME("gear-change", "1.5 s", gear_change_s),
    TIME("announce", "5 s", announce_s),
    TIME("step", "3 s", step_s),
    TIME("early", "1.5 s", early_s),
    TIME("at-line", "3 s", at_line_s),
};

static const struct field scoring_fields[] = {
    PLAIN("order", "25", weight_limits, weight_order),
    PLAIN("completeness", "30", weight_limits, weight_completeness),
    PLAIN("settings", "25", weight_limits, weight_settings),
    PLAIN("timing", "20", weight_limits, weight_timing),
    {"timing-zero", "5 s", SL_QUANTITY_TIME, &zero_limits,
     offsetof(struct sl_scoring, timing_zero_s)},
    PLAIN("extra-penalty", "5", points_limits, extra_penalty),
    PLAIN("unclear-share", "0.5", share_limits, unclear_share),
};

#define N_TIMING (sizeof(timing_fields) / sizeof(timing_fields[0]))
#define N_SCORING (sizeof(scoring_fields) / sizeof(scoring_fields[0]))
#define N_FIELDS_MAX (N_TIMING > N_SCORING ? N_TIMING : N_SCORING)

static void read_fields(struct sl_reader *reader, const struct sl_yaml_node *map,
                        const struct field *fields, size_t n_fields, void *target)
{
    const char *keys[N_FIELDS_MAX + 1];
    for (size_t i = 0; i < n_fields; i++) {
        keys[i] = fields[i].key;
    }
    keys[n_fields] = NULL;
    if (!sl_is_map(reader, map, "'key: value' lines below it")) {
        return;
    }
    sl_only_keys(reader, map, keys);
    for (size_t i = 0; i < n_fields; i++) {
        const struct field *field = &fields[i];
        const struct sl_yaml_node *node = sl_need(reader, map, field->key, field->example);
        double *out = (double *)(void *)((char *)target + field->offset);
        if (field->quantity == SL_QUANTITY_COUNT) {
            sl_take_number(reader, node, field->limits, out);
        } else {
            sl_take_quantity(reader, node, field->quantity, field->limits, out);
        }
    }
}

void sl_read_timing(struct sl_reader *reader, const struct sl_yaml_node *map,
                    struct sl_timing *timing)
{
    read_fields(reader, map, timing_fields, N_TIMING, timing);
    if (reader->status == SL_OK && timing->firm_mps2 < timing->comfort_mps2) {
        sl_refuse(reader, sl_yaml_get(map, "firm"), "make firm at least as much as comfort",
                  "firm slowing cannot be gentler than comfortable slowing");
    }
}

void sl_read_scoring(struct sl_reader *reader, const struct sl_yaml_node *map,
                     struct sl_scoring *scoring)
{
    read_fields(reader, map, scoring_fields, N_SCORING, scoring);
}
