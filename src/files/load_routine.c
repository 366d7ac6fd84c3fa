/* Routine files: docs/formats.md, "Routine". */
#include "files/load_routine.h"

#include "files/models.h"
#include "files/path.h"
#include "files/read_settings.h"

#include <stdlib.h>
#include <string.h>

static void read_phase(struct sl_reader *reader, const struct sl_yaml_node *map,
                       struct sl_phase *phase)
{
    static const char *const keys[] = {"id", "title", "moment", "carries", "required", "why", NULL};
    const char *moments[SL_MOMENT_COUNT];
    size_t moment = 0;
    for (int i = 0; i < SL_MOMENT_COUNT; i++) {
        moments[i] = sl_moment_word((enum sl_moment)i);
    }
    if (!sl_is_map(reader, map, "id, title, moment and carries of a phase")) {
        return;
    }
    sl_only_keys(reader, map, keys);
    sl_take_text(reader, sl_need(reader, map, "id", "gear"), &phase->id);
    sl_take_text(reader, sl_need(reader, map, "title", "Gear"), &phase->title);
    sl_take_choice(reader, sl_need(reader, map, "moment", "gear"), moments, SL_MOMENT_COUNT,
                   &moment);
    phase->moment = (enum sl_moment)moment;
    phase->carries = sl_read_setting_set(reader, sl_need(reader, map, "carries", "[gear, clutch]"));
    const struct sl_yaml_node *required = sl_yaml_get(map, "required");
    if (required == NULL) {
        phase->required = 0;
        return;
    }
    phase->required = sl_read_setting_set(reader, required);
    if ((phase->required & ~phase->carries) != 0) {
        sl_refuse(reader, required, "add it to 'carries' as well",
                  "the phase requires a setting that it does not carry");
    }
}

static void read_phases(struct sl_reader *reader, const struct sl_yaml_node *list,
                        struct sl_routine *routine)
{
    if (!sl_is_list(reader, list, "the phases in order, each after a dash")) {
        return;
    }
    size_t count = sl_yaml_count(list);
    if (count < 1 || count > SL_PHASE_MAX) {
        sl_refuse(reader, list, "list 1 to 16 phases", "%zu phases are listed", count);
        return;
    }
    routine->phases = calloc(count, sizeof(*routine->phases));
    if (routine->phases == NULL) {
        sl_refuse_memory(reader);
        return;
    }
    for (const struct sl_yaml_node *item = list->first; item != NULL && reader->status == SL_OK;
         item = item->next) {
        struct sl_phase *phase = &routine->phases[routine->n_phases++];
        read_phase(reader, item, phase);
        sl_read_why(reader, item->type == SL_YAML_MAP ? sl_yaml_get(item, "why") : NULL, false,
                    phase->why);
        if (reader->status == SL_OK &&
            sl_routine_phase(routine, phase->id) != routine->n_phases - 1) {
            sl_refuse(reader, sl_yaml_get(item, "id"), "give every phase an id of its own",
                      "two phases have the id '%s'", phase->id);
        }
    }
}

static void read_views(struct sl_reader *reader, const struct sl_yaml_node *map,
                       struct sl_routine *routine)
{
    static const char *const keys[] = {"open", "closed", "stop", NULL};
    const char *example = "{speed: 10 mph, accept: [8 mph, 12 mph], gear: 2}";
    if (!sl_is_map(reader, map, "'open', 'closed' and 'stop' with their settings")) {
        return;
    }
    sl_only_keys(reader, map, keys);
    sl_read_wanted(reader, sl_need(reader, map, "open", example), &routine->view[SL_VIEW_OPEN]);
    sl_read_wanted(reader, sl_need(reader, map, "closed", example), &routine->view[SL_VIEW_CLOSED]);
    sl_read_wanted(reader, sl_need(reader, map, "stop", example), &routine->stop);
}

static void read_turns(struct sl_reader *reader, const struct sl_yaml_node *map,
                       struct sl_routine *routine)
{
    const char *keys[SL_TURN_COUNT + 1] = {NULL};
    for (int i = 0; i < SL_TURN_COUNT; i++) {
        keys[i] = sl_turn_word((enum sl_turn)i);
    }
    if (!sl_is_map(reader, map, "'left', 'right' and 'ahead' with their settings")) {
        return;
    }
    sl_only_keys(reader, map, keys);
    for (int i = 0; i < SL_TURN_COUNT; i++) {
        sl_read_settings(reader,
                         sl_need(reader, map, keys[i], "{mirrors: [interior, left], signal: left}"),
                         &routine->turn[i]);
    }
}

static void read_routine(struct sl_reader *reader, const struct sl_yaml_node *root,
                         struct sl_routine *routine)
{
    static const char *const keys[] = {"title", "phases", "why",     "rules",   "settings",
                                       "turns", "timing", "scoring", "phrases", NULL};
    sl_only_keys(reader, root, keys);
    sl_take_text(reader, sl_need(reader, root, "title", "a name for people"), &routine->title);
    read_phases(reader, sl_need(reader, root, "phases", "the phases in order"), routine);
    sl_read_why(reader, sl_need(reader, root, "why", "a reason for each kind of fault"), true,
                routine->why);
    sl_read_rules(reader, sl_yaml_get(root, "rules"), routine);
    read_views(reader, sl_need(reader, root, "settings", "the settings of each view"), routine);
    read_turns(reader, sl_need(reader, root, "turns", "the settings of each turn"), routine);
    sl_read_timing(reader, sl_need(reader, root, "timing", "the times"), &routine->timing);
    sl_read_scoring(reader, sl_need(reader, root, "scoring", "the weights"), &routine->scoring);
    if (reader->status == SL_OK) {
        sl_read_phrases(reader, sl_need(reader, root, "phrases", "the phrasebook"), routine);
    }
}

/* The first place where a word stands as a key or a value: the core names a phase, a rule or a view
 * in its errors. */
static const struct sl_yaml_node *find_word(const struct sl_yaml *yaml, const char *word)
{
    for (size_t i = 0; i < yaml->n_nodes && word != NULL; i++) {
        const struct sl_yaml_node *node = yaml->nodes[i];
        if ((node->key != NULL && strcmp(node->key, word) == 0) ||
            (node->text != NULL && strcmp(node->text, word) == 0)) {
            return node;
        }
    }
    return yaml->root;
}

static void check_routine(struct sl_reader *reader, const struct sl_yaml *yaml,
                          const struct sl_routine *routine)
{
    struct sl_error found = {0};
    if (sl_routine_check(routine, &found) != SL_OK) {
        sl_refuse(reader, find_word(yaml, found.where), found.mend, "%s", found.what);
    }
    sl_error_clear(&found);
}

enum sl_status sl_parse_routine(const char *text, const char *origin, struct sl_routine *routine,
                                struct sl_error *error)
{
    struct sl_yaml yaml = {0};
    struct sl_routine made = {.name = sl_path_name(origin)};
    struct sl_reader reader = {.origin = origin, .error = error};
    reader.status = sl_yaml_parse(text, strlen(text), origin, &yaml, error);
    if (made.name == NULL) {
        sl_refuse_memory(&reader);
    }
    if (reader.status == SL_OK) {
        read_routine(&reader, yaml.root, &made);
    }
    if (reader.status == SL_OK) {
        check_routine(&reader, &yaml, &made);
    }
    sl_yaml_clear(&yaml);
    if (reader.status != SL_OK) {
        sl_routine_clear(&made);
        return reader.status;
    }
    *routine = made;
    return SL_OK;
}
