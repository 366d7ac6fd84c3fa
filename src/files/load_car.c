/* Car files: docs/formats.md, "Car". */
#include "files/models.h"

#include "files/path.h"
#include "files/reader.h"

#include <stddef.h>
#include <string.h>

static const struct sl_limits ratio_limits = {0.2, 8, "a ratio of 0.2 to 8"};
static const struct sl_limits final_limits = {1, 10, "a ratio of 1 to 10"};
static const struct sl_limits idle_limits = {400, 1500, "an engine speed of 400 to 1500 rpm"};
static const struct sl_limits judder_limits = {400, 2500, "an engine speed of 400 to 2500 rpm"};

/* How the car moves, each key on its own: what is left out is 0, the core's own figure. */
static const struct {
    const char *key;
    enum sl_quantity quantity; /* SL_QUANTITY_COUNT: a plain figure */
    struct sl_limits limits;
    size_t at; /* the field in struct sl_car */
} moves[] = {
    {"mass", SL_QUANTITY_MASS, {500, 3500, "500 to 3500 kg"}, offsetof(struct sl_car, mass_kg)},
    {"drag-area", SL_QUANTITY_AREA, {0.2, 2, "0.2 to 2 m2"}, offsetof(struct sl_car, drag_area_m2)},
    {"rolling",
     SL_QUANTITY_COUNT,
     {0.005, 0.05, "a coefficient of 0.005 to 0.05"},
     offsetof(struct sl_car, rolling)},
    {"torque", SL_QUANTITY_TORQUE, {40, 800, "40 to 800 Nm"}, offsetof(struct sl_car, torque_nm)},
    {"engine-braking",
     SL_QUANTITY_TORQUE,
     {1, 100, "1 to 100 Nm"},
     offsetof(struct sl_car, overrun_nm)},
    {"engine-braking-per-1000-rpm",
     SL_QUANTITY_TORQUE,
     {0, 50, "0 to 50 Nm"},
     offsetof(struct sl_car, overrun_krpm)},
    {"engine-inertia",
     SL_QUANTITY_INERTIA,
     {0.02, 1, "0.02 to 1 kgm2"},
     offsetof(struct sl_car, inertia_kgm2)},
    {"stall",
     SL_QUANTITY_ENGINE,
     {200, 1500, "an engine speed of 200 rpm up to idle"},
     offsetof(struct sl_car, stall_rpm)},
};

#define N_MOVES (sizeof moves / sizeof moves[0])

static void read_moves(struct sl_reader *reader, const struct sl_yaml_node *root,
                       struct sl_car *car)
{
    for (size_t i = 0; i < N_MOVES; i++) {
        const struct sl_yaml_node *node = sl_yaml_get(root, moves[i].key);
        double *field = (double *)(void *)((char *)car + moves[i].at);
        if (moves[i].quantity == SL_QUANTITY_COUNT) {
            sl_take_number(reader, node, &moves[i].limits, field);
        } else {
            sl_take_quantity(reader, node, moves[i].quantity, &moves[i].limits, field);
        }
    }
}

static void read_gears(struct sl_reader *reader, const struct sl_yaml_node *list,
                       struct sl_car *car)
{
    if (!sl_is_list(reader, list, "the ratios in brackets: [3.58, 1.93, 1.28, 0.95, 0.76]")) {
        return;
    }
    size_t count = sl_yaml_count(list);
    if (count < 1 || count > SL_GEAR_MAX) {
        sl_refuse(reader, list, "write the ratios of 1 to 6 gears", "%zu gears are listed", count);
        return;
    }
    for (const struct sl_yaml_node *item = list->first; item != NULL; item = item->next) {
        double *ratio = &car->gear_ratio[car->n_gears];
        sl_take_number(reader, item, &ratio_limits, ratio);
        if (reader->status == SL_OK && car->n_gears > 0 && *ratio >= ratio[-1]) {
            sl_refuse(reader, item,
                      "write the ratios from first gear up, each smaller than the "
                      "one before",
                      "the ratio %g does not come after %g", *ratio, ratio[-1]);
        }
        car->n_gears++;
    }
}

static void read_tyre(struct sl_reader *reader, const struct sl_yaml_node *node, struct sl_car *car)
{
    const char *text = sl_text_of(reader, node);
    if (text != NULL && !sl_tyre_parse(text, car)) {
        sl_refuse(reader, node, "write the code on the tyre's side such as '185/60R15'",
                  "the tyre cannot be '%s'", text);
    }
}

static void read_car(struct sl_reader *reader, const struct sl_yaml_node *root, struct sl_car *car)
{
    const char *keys[6 + N_MOVES + 1] = {"title", "gears", "final-drive", "tyre", "idle", "judder"};
    for (size_t i = 0; i < N_MOVES; i++) {
        keys[6 + i] = moves[i].key;
    }
    sl_only_keys(reader, root, keys);
    sl_take_text(reader, sl_yaml_get(root, "title"), &car->title);
    read_gears(reader, sl_need(reader, root, "gears", "[3.58, 1.93, 1.28, 0.95, 0.76]"), car);
    sl_take_number(reader, sl_need(reader, root, "final-drive", "4.06"), &final_limits,
                   &car->final_drive);
    read_tyre(reader, sl_need(reader, root, "tyre", "185/60R15"), car);
    sl_take_quantity(reader, sl_need(reader, root, "idle", "850 rpm"), SL_QUANTITY_ENGINE,
                     &idle_limits, &car->idle_rpm);
    sl_take_quantity(reader, sl_need(reader, root, "judder", "1000 rpm"), SL_QUANTITY_ENGINE,
                     &judder_limits, &car->judder_rpm);
    read_moves(reader, root, car);
}

/* Left to the core: the tyre's ranges, judder below idle and stall above it. */
static void check_car(struct sl_reader *reader, const struct sl_yaml_node *root,
                      const struct sl_car *car)
{
    struct sl_error found = {0};
    if (sl_car_check(car, &found) != SL_OK) {
        const char *key = car->judder_rpm < car->idle_rpm  ? "judder"
                          : car->stall_rpm > car->idle_rpm ? "stall"
                                                           : "tyre";
        sl_refuse(reader, sl_yaml_get(root, key), found.mend, "%s", found.what);
    }
    sl_error_clear(&found);
}

enum sl_status sl_parse_car(const char *text, const char *origin, struct sl_car *car,
                            struct sl_error *error)
{
    struct sl_yaml yaml = {0};
    struct sl_car made = {.name = sl_path_name(origin)};
    struct sl_reader reader = {.origin = origin, .error = error};
    reader.status = sl_yaml_parse(text, strlen(text), origin, &yaml, error);
    if (made.name == NULL) {
        sl_refuse_memory(&reader);
    }
    if (reader.status == SL_OK) {
        read_car(&reader, yaml.root, &made);
    }
    if (reader.status == SL_OK) {
        check_car(&reader, yaml.root, &made);
    }
    sl_yaml_clear(&yaml);
    if (reader.status != SL_OK) {
        sl_car_clear(&made);
        return reader.status;
    }
    *car = made;
    return SL_OK;
}
