/* Scenes and answers: docs/formats.md, "Scenes" and "Answers". */
#include "files/load_recall.h"

#include "files/load_routine.h"
#include "files/models.h"
#include "files/path.h"

#include <stdlib.h>
#include <string.h>

#define SCENES_MAX 1000

/* Reads a file of the models. *path is what errors call it; the caller frees it in every case. */
static enum sl_status fetch(const char *given, const char *relative, char **path,
                            struct sl_str *text, struct sl_error *error)
{
    enum sl_status status = SL_OK;
    if (given == NULL) {
        status = sl_models_path(relative, path, error);
    } else {
        *path = sl_strdup(given);
        status = *path == NULL ? sl_fail_memory(error) : SL_OK;
    }
    if (status == SL_OK) {
        status = sl_read_text_file(*path, SL_YAML_SIZE_MAX, text, error);
    }
    if (status == SL_OK && memchr(sl_str_text(text), '\0', text->length) != NULL) {
        status = sl_fail(error, SL_FORMAT, *path, "name a text file with YAML in it",
                         "this is not a text file");
    }
    return status;
}

/* An optional word; *index stays at `unsaid` without it. */
static void read_word(struct sl_reader *reader, const struct sl_yaml_node *node,
                      const char *const *words, size_t *index)
{
    size_t n_words = *index; /* the _COUNT value follows the last word */
    if (node != NULL) {
        sl_take_choice(reader, node, words, n_words, index);
    }
}

static void read_scene(struct sl_reader *reader, const struct sl_yaml_node *map,
                       struct sl_scene *scene)
{
    static const char *const keys[] = {"id", "kind", "turn", "see", "view", "why", NULL};
    const char *kinds[SL_KIND_COUNT];
    const char *turns[SL_TURN_COUNT];
    const char *views[SL_VIEW_COUNT];
    for (int i = 0; i < SL_KIND_COUNT; i++) {
        kinds[i] = sl_kind_word((enum sl_kind)i);
    }
    for (int i = 0; i < SL_TURN_COUNT; i++) {
        turns[i] = sl_turn_word((enum sl_turn)i);
    }
    for (int i = 0; i < SL_VIEW_COUNT; i++) {
        views[i] = sl_view_word((enum sl_view)i);
    }
    size_t kind = SL_KIND_COUNT;
    size_t turn = SL_TURN_COUNT;
    size_t view = SL_VIEW_COUNT;
    if (!sl_is_map(reader, map, "id, see, view and why of a scene")) {
        return;
    }
    sl_only_keys(reader, map, keys);
    sl_take_text(reader, sl_need(reader, map, "id", "hedges-to-the-corner"), &scene->id);
    read_word(reader, sl_yaml_get(map, "kind"), kinds, &kind);
    read_word(reader, sl_yaml_get(map, "turn"), turns, &turn);
    sl_take_text(reader, sl_need(reader, map, "see", "what the driver sees"), &scene->see);
    read_word(reader, sl_need(reader, map, "view", "open"), views, &view);
    sl_take_text(reader, sl_need(reader, map, "why", "the reason in a sentence"), &scene->why);
    scene->kind = (enum sl_kind)kind;
    scene->turn = (enum sl_turn)turn;
    scene->view = (enum sl_view)view;
}

static void refuse_same_id(struct sl_reader *reader, const struct sl_yaml_node *map,
                           const struct sl_scene_list *scenes)
{
    const char *id = scenes->items[scenes->count - 1].id;
    for (size_t i = 0; reader->status == SL_OK && i + 1 < scenes->count; i++) {
        if (strcmp(scenes->items[i].id, id) == 0) {
            sl_refuse(reader, sl_yaml_get(map, "id"), "give every scene an id of its own",
                      "two scenes have the id '%s'", id);
        }
    }
}

static void read_scenes(struct sl_reader *reader, const struct sl_yaml_node *root,
                        struct sl_scene_list *scenes)
{
    static const char *const keys[] = {"scenes", NULL};
    sl_only_keys(reader, root, keys);
    const struct sl_yaml_node *list = sl_need(reader, root, "scenes", "the scenes in a list");
    if (!sl_is_list(reader, list, "the scenes, each after a dash")) {
        return;
    }
    size_t count = sl_yaml_count(list);
    if (count < 1 || count > SCENES_MAX) {
        sl_refuse(reader, list, "list 1 to 1000 scenes", "%zu scenes are listed", count);
        return;
    }
    scenes->items = calloc(count, sizeof *scenes->items);
    if (scenes->items == NULL) {
        sl_refuse_memory(reader);
        return;
    }
    for (const struct sl_yaml_node *item = list->first; item != NULL && reader->status == SL_OK;
         item = item->next) {
        read_scene(reader, item, &scenes->items[scenes->count++]);
        refuse_same_id(reader, item, scenes);
    }
}

enum sl_status sl_parse_scenes(const char *text, const char *origin, struct sl_scene_list *scenes,
                               struct sl_error *error)
{
    struct sl_yaml yaml = {0};
    struct sl_scene_list made = {0};
    struct sl_reader reader = {.origin = origin, .error = error};
    reader.status = sl_yaml_parse(text, strlen(text), origin, &yaml, error);
    if (reader.status == SL_OK) {
        read_scenes(&reader, yaml.root, &made);
    }
    sl_yaml_clear(&yaml);
    if (reader.status != SL_OK) {
        sl_scene_list_clear(&made);
        return reader.status;
    }
    *scenes = made;
    return SL_OK;
}

enum sl_status sl_load_scenes(const char *path, struct sl_scene_list *scenes,
                              struct sl_error *error)
{
    char *found = NULL;
    struct sl_str text = {0};
    enum sl_status status = fetch(path, "scenes.yaml", &found, &text, error);
    if (status == SL_OK) {
        status = sl_parse_scenes(sl_str_text(&text), found, scenes, error);
    }
    sl_str_clear(&text);
    free(found);
    return status;
}

enum sl_status sl_parse_answers(const char *text, const char *origin, struct sl_phrasebook *answers,
                                struct sl_error *error)
{
    struct sl_yaml yaml = {0};
    struct sl_phrasebook made = {0};
    struct sl_reader reader = {.origin = origin, .error = error};
    reader.status = sl_yaml_parse(text, strlen(text), origin, &yaml, error);
    if (reader.status == SL_OK) {
        sl_read_answers(&reader, yaml.root, &made);
    }
    sl_yaml_clear(&yaml);
    if (reader.status != SL_OK) {
        sl_phrasebook_clear(&made);
        return reader.status;
    }
    *answers = made;
    return SL_OK;
}

enum sl_status sl_load_answers(struct sl_phrasebook *answers, struct sl_error *error)
{
    char *found = NULL;
    struct sl_str text = {0};
    enum sl_status status = fetch(NULL, "answers.yaml", &found, &text, error);
    if (status == SL_OK) {
        status = sl_parse_answers(sl_str_text(&text), found, answers, error);
    }
    sl_str_clear(&text);
    free(found);
    return status;
}
