/* Junction files: docs/formats.md, "Junction". */
#include "files/models.h"

#include "core/units.h"
#include "files/path.h"
#include "files/reader.h"

#include <string.h>

/* 70 mph written in km/h may come out a rounding error above. */
#define SPEED_SLACK_MPS 1e-9

static const struct sl_limits speed_limits = {1e-9,
                                              SL_APPROACH_MAX_MPH *SL_MPS_PER_MPH + SPEED_SLACK_MPS,
                                              "a speed of more than 0 and at most 70 mph"};
static const struct sl_limits distance_limits = {1, SL_DISTANCE_MAX_M, "a length of 1 m to 2000 m"};
static const struct sl_limits gradient_limits = {-SL_GRADIENT_MAX, SL_GRADIENT_MAX,
                                                 "a gradient of -25 % to 25 %, uphill positive"};
static const struct sl_limits corner_limits = {0, 100, "a length of 0 m to 100 m"};

static void read_words(struct sl_reader *reader, const struct sl_yaml_node *root,
                       struct sl_junction *junction)
{
    const char *kinds[SL_KIND_COUNT];
    const char *controls[SL_CONTROL_COUNT];
    const char *turns[SL_TURN_COUNT];
    static const char *const traffics[] = {"any", "clear", "busy"};
    for (int i = 0; i < SL_KIND_COUNT; i++) {
        kinds[i] = sl_kind_word((enum sl_kind)i);
    }
    for (int i = 0; i < SL_CONTROL_COUNT; i++) {
        controls[i] = sl_control_word((enum sl_control)i);
    }
    for (int i = 0; i < SL_TURN_COUNT; i++) {
        turns[i] = sl_turn_word((enum sl_turn)i);
    }
    size_t index = 0;
    if (sl_take_choice(reader, sl_need(reader, root, "kind", "t"), kinds, SL_KIND_COUNT, &index)) {
        junction->kind = (enum sl_kind)index;
    }
    junction->control = junction->kind == SL_KIND_LIGHTS ? SL_CONTROL_LIGHTS : SL_CONTROL_GIVE_WAY;
    if (sl_take_choice(reader, sl_yaml_get(root, "control"), controls, SL_CONTROL_COUNT, &index)) {
        junction->control = (enum sl_control)index;
    }
    if (sl_take_choice(reader, sl_need(reader, root, "turn", "left"), turns, SL_TURN_COUNT,
                       &index)) {
        junction->turn = (enum sl_turn)index;
    }
    if (sl_take_choice(reader, sl_yaml_get(root, "traffic"), traffics, 3, &index)) {
        junction->traffic = (enum sl_traffic)index;
    }
}

static void read_corner(struct sl_reader *reader, const struct sl_yaml_node *node,
                        struct sl_corner *corner)
{
    static const char *const keys[] = {"set-back", "offset", NULL};
    if (!sl_is_map(reader, node, "{set-back: 3 m, offset: 2 m}")) {
        return;
    }
    sl_only_keys(reader, node, keys);
    sl_take_quantity(reader, sl_need(reader, node, "set-back", "3 m"), SL_QUANTITY_LENGTH,
                     &corner_limits, &corner->set_back_m);
    const struct sl_yaml_node *offset = sl_need(reader, node, "offset", "2 m");
    sl_take_quantity(reader, offset, SL_QUANTITY_LENGTH, &corner_limits, &corner->offset_m);
    if (reader->status == SL_OK && corner->set_back_m > 0 && corner->offset_m <= 0) {
        sl_refuse(reader, offset, "write how far to the side of the driver's path it stands",
                  "what hides the road cannot stand in the driver's path");
    }
}

static void read_view(struct sl_reader *reader, const struct sl_yaml_node *node,
                      struct sl_junction *junction)
{
    static const char *const keys[] = {"left", "right", "major-road", NULL};
    const char *views[SL_VIEW_COUNT];
    for (int i = 0; i < SL_VIEW_COUNT; i++) {
        views[i] = sl_view_word((enum sl_view)i);
    }
    size_t index = 0;
    if (node == NULL) {
        return;
    }
    if (node->type == SL_YAML_TEXT) {
        if (sl_take_choice(reader, node, views, SL_VIEW_COUNT, &index)) {
            junction->view = (enum sl_view)index;
        }
        return;
    }
    if (!sl_is_map(reader, node, "'open', 'closed' or the measured view as a mapping")) {
        return;
    }
    sl_only_keys(reader, node, keys);
    junction->sight_measured = true;
    read_corner(reader, sl_yaml_get(node, "left"), &junction->sight.left);
    read_corner(reader, sl_yaml_get(node, "right"), &junction->sight.right);
    sl_take_quantity(reader, sl_need(reader, node, "major-road", "30 mph"), SL_QUANTITY_SPEED,
                     &speed_limits, &junction->sight.major_mps);
}

static void read_junction(struct sl_reader *reader, const struct sl_yaml_node *root,
                          struct sl_junction *junction)
{
    static const char *const keys[] = {
        "title",    "kind",    "control",         "turn", "view", "approach", "distance",
        "gradient", "traffic", "signal-misleads", NULL};
    sl_only_keys(reader, root, keys);
    sl_take_text(reader, sl_yaml_get(root, "title"), &junction->title);
    read_words(reader, root, junction);
    read_view(reader, sl_need(reader, root, "view", "closed"), junction);
    sl_take_quantity(reader, sl_need(reader, root, "approach", "30 mph"), SL_QUANTITY_SPEED,
                     &speed_limits, &junction->approach_mps);
    sl_take_quantity(reader, sl_yaml_get(root, "distance"), SL_QUANTITY_LENGTH, &distance_limits,
                     &junction->distance_m);
    sl_take_quantity(reader, sl_yaml_get(root, "gradient"), SL_QUANTITY_GRADIENT, &gradient_limits,
                     &junction->gradient);
    sl_take_yes_no(reader, sl_yaml_get(root, "signal-misleads"), &junction->signal_misleads);
}

/* What the core refuses after the ranges is about what does not go together: kind with control, or
 * kind with turn. */
static void check_junction(struct sl_reader *reader, const struct sl_yaml_node *root,
                           const struct sl_junction *junction)
{
    struct sl_error found = {0};
    if (sl_junction_check(junction, &found) != SL_OK) {
        bool ahead = junction->turn == SL_TURN_AHEAD;
        const struct sl_yaml_node *node = sl_yaml_get(root, ahead ? "turn" : "control");
        sl_refuse(reader, node == NULL ? root : node, found.mend, "%s", found.what);
    }
    sl_error_clear(&found);
}

enum sl_status sl_parse_junction(const char *text, const char *origin, struct sl_junction *junction,
                                 struct sl_error *error)
{
    struct sl_yaml yaml = {0};
    struct sl_junction made = {.name = sl_path_name(origin)};
    struct sl_reader reader = {.origin = origin, .error = error};
    reader.status = sl_yaml_parse(text, strlen(text), origin, &yaml, error);
    if (made.name == NULL) {
        sl_refuse_memory(&reader);
    }
    if (reader.status == SL_OK) {
        read_junction(&reader, yaml.root, &made);
    }
    if (reader.status == SL_OK) {
        check_junction(&reader, yaml.root, &made);
    }
    sl_yaml_clear(&yaml);
    if (reader.status != SL_OK) {
        sl_junction_clear(&made);
        return reader.status;
    }
    *junction = made;
    return SL_OK;
}
