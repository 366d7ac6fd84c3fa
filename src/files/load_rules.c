/* The reasons and the rules of a routine file. */
#include "files/load_routine.h"

#include <stdlib.h>

static const struct sl_limits seconds_limits = {0, 120, "a time of 0 s to 120 s"};

/* In the order of enum sl_rule_kind. */
static const char *const rule_words[SL_RULE_KIND_COUNT] = {"after", "rolling", "look-first",
                                                           "mirror-order"};

void sl_read_why(struct sl_reader *reader, const struct sl_yaml_node *map, bool all,
                 char *why[SL_FAULT_KIND_COUNT])
{
    const char *keys[SL_FAULT_KIND_COUNT + 1] = {NULL};
    if (!sl_is_map(reader, map, "'missed: a sentence' and the other kinds of fault below it")) {
        return;
    }
    for (int i = 0; i < SL_FAULT_KIND_COUNT; i++) {
        keys[i] = sl_fault_word((enum sl_fault_kind)i);
    }
    sl_only_keys(reader, map, keys);
    for (int i = 0; i < SL_FAULT_KIND_COUNT; i++) {
        const struct sl_yaml_node *node =
            all ? sl_need(reader, map, keys[i], "the reason") : sl_yaml_get(map, keys[i]);
        sl_take_text(reader, node, &why[i]);
    }
}

size_t sl_read_phase_id(struct sl_reader *reader, const struct sl_yaml_node *node,
                        const struct sl_routine *routine)
{
    const char *ids[SL_PHASE_MAX];
    size_t index = 0;
    for (size_t i = 0; i < routine->n_phases; i++) {
        ids[i] = routine->phases[i].id;
    }
    sl_take_choice(reader, node, ids, routine->n_phases, &index);
    return index;
}

static void read_rule(struct sl_reader *reader, const struct sl_yaml_node *map,
                      const struct sl_routine *routine, struct sl_rule *rule)
{
    static const char *const keys[] = {"id",      "kind", "phase",  "after",
                                       "seconds", "rule", "reason", NULL};
    size_t kind = 0;
    if (!sl_is_map(reader, map, "id, kind, phase, rule and reason of a rule")) {
        return;
    }
    sl_only_keys(reader, map, keys);
    sl_take_text(reader, sl_need(reader, map, "id", "gear-after-speed"), &rule->id);
    sl_take_choice(reader, sl_need(reader, map, "kind", "after"), rule_words, SL_RULE_KIND_COUNT,
                   &kind);
    rule->kind = (enum sl_rule_kind)kind;
    rule->phase = sl_read_phase_id(reader, sl_need(reader, map, "phase", "gear"), routine);
    const struct sl_yaml_node *after = sl_yaml_get(map, "after");
    const struct sl_yaml_node *seconds = sl_yaml_get(map, "seconds");
    if (rule->kind == SL_RULE_AFTER) {
        after = sl_need(reader, map, "after", "speed");
        rule->other = sl_read_phase_id(reader, after, routine);
    } else if (after != NULL) {
        sl_refuse_key(reader, after, "leave the line out", "only a rule of kind after has 'after'");
    }
    if (rule->kind == SL_RULE_ROLLING || rule->kind == SL_RULE_LOOK_FIRST) {
        seconds = sl_need(reader, map, "seconds", "5 s");
        sl_take_quantity(reader, seconds, SL_QUANTITY_TIME, &seconds_limits, &rule->seconds);
    } else if (seconds != NULL) {
        sl_refuse_key(reader, seconds, "leave the line out", "a rule of kind %s has no 'seconds'",
                      rule_words[rule->kind]);
    }
    sl_take_text(reader, sl_need(reader, map, "rule", "the rule in words"), &rule->text);
    sl_take_text(reader, sl_need(reader, map, "reason", "why, for the learner"), &rule->reason);
    if (reader->status == SL_OK && rule->kind == SL_RULE_AFTER && rule->other == rule->phase) {
        sl_refuse(reader, after, "name two different phases", "a phase cannot come after itself");
    }
}

void sl_read_rules(struct sl_reader *reader, const struct sl_yaml_node *list,
                   struct sl_routine *routine)
{
    if (!sl_is_list(reader, list, "the rules, each after a dash")) {
        return;
    }
    size_t count = sl_yaml_count(list);
    if (count > SL_RULES_MAX) {
        sl_refuse(reader, list, "keep the rules that matter most", "there are more than %d rules",
                  SL_RULES_MAX);
        return;
    }
    routine->rules = calloc(count == 0 ? 1 : count, sizeof(*routine->rules));
    if (routine->rules == NULL) {
        sl_refuse_memory(reader);
        return;
    }
    for (const struct sl_yaml_node *item = list->first; item != NULL; item = item->next) {
        read_rule(reader, item, routine, &routine->rules[routine->n_rules++]);
    }
}
