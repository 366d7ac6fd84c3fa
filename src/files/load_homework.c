/* Homework sets: docs/formats.md, "Homework set". */
#include "files/homework_file.h"

#include "files/models.h"
#include "files/path.h"
#include "files/reader.h"

#include <stdlib.h>
#include <string.h>

static const struct sl_limits runs_limits = {1, SL_HOMEWORK_RUNS_MAX, "a whole figure of 1 to 20"};
static const struct sl_limits score_limits = {0, 100, "a score of 0 to 100"};
static const struct sl_limits faults_limits = {0, 100, "a whole figure of 0 to 100"};

/* What is read and from where. */
struct loading {
    struct sl_reader reader;
    struct sl_homework set;
    enum sl_prompting prompting; /* where a junction says nothing else */
};

static void read_due(struct sl_reader *reader, const struct sl_yaml_node *node,
                     struct sl_homework *set)
{
    const char *text = sl_text_of(reader, node);
    if (text == NULL) {
        return;
    }
    set->due_known = sl_date_parse(text, &set->due);
    if (!set->due_known) {
        sl_refuse(reader, node, "write year, month and day such as 2026-03-14",
                  "'%s' is no day of the calendar", text);
    }
}

static void read_prompting(struct sl_reader *reader, const struct sl_yaml_node *node,
                           enum sl_prompting *prompting)
{
    const char *words[SL_PROMPTING_COUNT];
    size_t index = 0;
    for (int i = 0; i < SL_PROMPTING_COUNT; i++) {
        words[i] = sl_prompting_word((enum sl_prompting)i);
    }
    if (sl_take_choice(reader, node, words, SL_PROMPTING_COUNT, &index)) {
        *prompting = (enum sl_prompting)index;
    }
}

static void read_counts(struct sl_reader *reader, const struct sl_yaml_node *map,
                        struct sl_homework *set)
{
    static const char *const keys[] = {"least-score", "most-faults", NULL};
    if (map == NULL || !sl_is_map(reader, map, "{least-score: 80, most-faults: 1}")) {
        return;
    }
    sl_only_keys(reader, map, keys);
    sl_take_number(reader, sl_yaml_get(map, "least-score"), &score_limits, &set->least_score);
    sl_take_whole(reader, sl_yaml_get(map, "most-faults"), &faults_limits, &set->most_faults);
}

/* The name or path at a node, NULL after refusing. A path is one from the set's folder, unless it
 * begins at the root. */
static char *take_name(struct sl_reader *reader, const struct sl_yaml_node *node)
{
    const char *text = sl_text_of(reader, node);
    const char *slash = strrchr(reader->origin, '/');
    if (text == NULL) {
        return NULL;
    }
    if (strcmp(text, "-") == 0) {
        sl_refuse(reader, node, "write a name or a file",
                  "a set takes nothing from standard input");
        return NULL;
    }
    bool beside = sl_is_path(text) && text[0] != '/' && slash != NULL;
    char *name = beside ? sl_strf("%.*s%s", (int)(slash - reader->origin) + 1, reader->origin, text)
                        : sl_strdup(text);
    if (name == NULL) {
        sl_refuse_memory(reader);
    }
    return name;
}

/* What a name or a file stands for is not right: said where the set names it. */
static void pass_on(struct sl_reader *reader, const struct sl_yaml_node *node,
                    struct sl_error *found)
{
    bool elsewhere = found->status != SL_NOT_FOUND && found->where != NULL;
    sl_refuse(reader, node, found->mend, "%s%s%s", elsewhere ? found->where : "",
              elsewhere ? ": " : "", found->what == NULL ? "memory ran out" : found->what);
    sl_error_clear(found);
}

static void read_junction(struct loading *loading, const struct sl_yaml_node *node,
                          struct sl_homework_item *item)
{
    struct sl_reader *reader = &loading->reader;
    struct sl_junction junction = {0};
    struct sl_error found = {0};
    item->junction = take_name(reader, node);
    if (item->junction == NULL) {
        return;
    }
    if (sl_load_junction(item->junction, &junction, &found) != SL_OK) {
        pass_on(reader, node, &found);
        return;
    }
    item->name = sl_strdup(junction.name);
    sl_junction_clear(&junction);
    if (item->name == NULL) {
        sl_refuse_memory(reader);
        return;
    }
    for (size_t i = 0; i + 1 < loading->set.n_items; i++) {
        if (strcmp(loading->set.items[i].name, item->name) == 0 &&
            loading->set.items[i].drive == item->drive) {
            sl_refuse(reader, node, "name it once, with all its runs",
                      "the junction %s is in the set twice%s", item->name,
                      item->drive ? " as a drive" : "");
            return;
        }
    }
}

static void read_routine(struct sl_reader *reader, const struct sl_yaml_node *node,
                         struct sl_homework *set)
{
    struct sl_routine routine = {0};
    struct sl_error found = {0};
    set->routine = node == NULL ? sl_strdup(SL_HOMEWORK_ROUTINE) : take_name(reader, node);
    if (set->routine == NULL) {
        return;
    }
    if (sl_load_routine(set->routine, &routine, &found) != SL_OK) {
        pass_on(reader, node, &found);
        return;
    }
    set->routine_name = sl_strdup(routine.name);
    sl_routine_clear(&routine);
}

static void read_car(struct sl_reader *reader, const struct sl_yaml_node *node,
                     struct sl_homework *set)
{
    struct sl_car car = {0};
    struct sl_error found = {0};
    set->car = node == NULL ? sl_strdup(SL_HOMEWORK_CAR) : take_name(reader, node);
    if (set->car != NULL && sl_load_car(set->car, &car, &found) != SL_OK) {
        pass_on(reader, node, &found);
    }
    sl_car_clear(&car);
}

/* How a junction is practised: driven, or rehearsed with so much prompting. */
static void read_kind(struct sl_reader *reader, const struct sl_yaml_node *node,
                      struct sl_homework_item *item)
{
    const struct sl_yaml_node *prompting = sl_yaml_get(node, "prompting");
    sl_take_yes_no(reader, sl_yaml_get(node, "drive"), &item->drive);
    if (!item->drive) {
        read_prompting(reader, prompting, &item->prompting);
        return;
    }
    item->prompting = SL_PROMPTING_NONE;
    if (prompting != NULL) {
        sl_refuse(reader, prompting, "leave out prompting, or drive",
                  "a drive has no prompting: the car does what is said, and no more");
    }
}

static void read_item(struct loading *loading, const struct sl_yaml_node *node)
{
    static const char *const keys[] = {"junction", "runs", "prompting", "drive", NULL};
    struct sl_reader *reader = &loading->reader;
    struct sl_homework *set = &loading->set;
    if (!sl_is_map(reader, node, "{junction: t-left-open, runs: 2}")) {
        return;
    }
    struct sl_homework_item *items =
        sl_grow(set->items, set->n_items, &set->items_room, sizeof *items);
    if (items == NULL) {
        sl_refuse_memory(reader);
        return;
    }
    set->items = items;
    struct sl_homework_item *item = &items[set->n_items++];
    *item = (struct sl_homework_item){.prompting = loading->prompting, .runs = 1};
    sl_only_keys(reader, node, keys);
    read_kind(reader, node, item);
    read_junction(loading, sl_need(reader, node, "junction", "t-left-open"), item);
    sl_take_whole(reader, sl_yaml_get(node, "runs"), &runs_limits, &item->runs);
}

static void read_items(struct loading *loading, const struct sl_yaml_node *list)
{
    struct sl_reader *reader = &loading->reader;
    if (!sl_is_list(reader, list, "a line '- junction: NAME' for each")) {
        return;
    }
    size_t count = sl_yaml_count(list);
    if (count < 1 || count > SL_HOMEWORK_ITEMS_MAX) {
        sl_refuse(reader, list, "name 1 to 50 junctions", "%zu junctions are listed", count);
    }
    for (const struct sl_yaml_node *node = list->first; node != NULL && reader->status == SL_OK;
         node = node->next) {
        read_item(loading, node);
    }
}

static void read_set(struct loading *loading, const struct sl_yaml_node *root)
{
    static const char *const keys[] = {"title",     "due",    "routine",   "car",
                                       "prompting", "counts", "junctions", NULL};
    struct sl_reader *reader = &loading->reader;
    struct sl_homework *set = &loading->set;
    sl_only_keys(reader, root, keys);
    sl_take_text(reader, sl_yaml_get(root, "title"), &set->title);
    read_due(reader, sl_yaml_get(root, "due"), set);
    read_routine(reader, sl_yaml_get(root, "routine"), set);
    read_car(reader, sl_yaml_get(root, "car"), set);
    read_prompting(reader, sl_yaml_get(root, "prompting"), &loading->prompting);
    read_counts(reader, sl_yaml_get(root, "counts"), set);
    read_items(loading, sl_need(reader, root, "junctions", "[{junction: t-left-open, runs: 2}]"));
}

enum sl_status sl_homework_parse(const char *text, const char *origin, struct sl_homework *set,
                                 struct sl_error *error)
{
    struct sl_yaml yaml = {0};
    struct loading loading = {.reader = {.origin = origin, .error = error},
                              .prompting = SL_PROMPTING_PARTIAL};
    struct sl_homework *made = &loading.set;
    made->name = sl_path_name(origin);
    made->most_faults = SL_HOMEWORK_ANY_FAULTS;
    loading.reader.status = sl_yaml_parse(text, strlen(text), origin, &yaml, error);
    if (loading.reader.status == SL_OK) {
        read_set(&loading, yaml.root);
    }
    if (made->name == NULL || made->routine_name == NULL || made->car == NULL) {
        sl_refuse_memory(&loading.reader); /* unless something was refused before */
    }
    sl_yaml_clear(&yaml);
    if (loading.reader.status != SL_OK) {
        sl_homework_clear(made);
        return loading.reader.status;
    }
    *set = *made;
    return SL_OK;
}

enum sl_status sl_homework_load(const char *path, struct sl_homework *set, struct sl_error *error)
{
    struct sl_str text = {0};
    enum sl_status status = sl_read_text_file(path, SL_YAML_SIZE_MAX, &text, error);
    if (status == SL_OK) {
        const char *origin = strcmp(path, "-") == 0 ? "standard input" : path;
        status = sl_homework_parse(sl_str_text(&text), origin, set, error);
    }
    sl_str_clear(&text);
    return status;
}

void sl_homework_template(struct sl_str *out, const struct sl_homework_draft *made)
{
    const struct sl_date *due = &made->due;
    sl_str_add(out, "# Homework for sayline: change what is below, then give this file to the\n"
                    "# learner, who runs `sayline homework do FILE`. Practise parked or at home,\n"
                    "# never while driving.\n\n"
                    "# What the homework is called.\n"
                    "title: Saying the routine before the next lesson\n\n"
                    "# The day by which it is to be done: year-month-day.\n");
    sl_str_addf(out, "due: %04d-%02d-%02d\n\n", due->year, due->month, due->day);
    sl_str_add(out, "# The routine and the car (`sayline list routines`, `sayline list cars`).\n"
                    "routine: " SL_HOMEWORK_ROUTINE "\ncar: " SL_HOMEWORK_CAR "\n\n"
                    "# How much the learner is told on the way: full (a cue before each phase),\n"
                    "# partial (how far it is to the line) or none.\n"
                    "prompting: partial\n\n"
                    "# Which runs count. A run that does not is done again. Leave out a line, and\n"
                    "# it does not matter.\n"
                    "counts:\n"
                    "  least-score: 70   # of 100\n"
                    "  # most-faults: 1\n\n"
                    "# The junctions (`sayline list junctions`, or a file beside this one), how\n"
                    "# many runs of each (1 to 20), and prompting where it is to differ. With\n"
                    "# drive: yes the words drive a simulated car there, as `sayline drive` does.\n"
                    "junctions:\n");
    for (size_t i = 0; i < made->n_junctions; i++) {
        sl_str_addf(out, "  - junction: %s\n    runs: 2\n", made->junctions[i]);
        if (made->drive) {
            sl_str_add(out, "    drive: yes\n");
        } else if (i == 0) {
            sl_str_add(out, "    # prompting: none\n    # drive: yes\n");
        }
    }
}
