#include "files/read_settings.h"

#include "core/junction.h"
#include "core/units.h"

#define WORDS_MAX 4 /* the longest list of words has 3 and the unsaid 0 */
#define N_SETTINGS 7

static const struct sl_limits said_limits = {1e-9, SL_APPROACH_MAX_MPH *SL_MPS_PER_MPH + 1e-9,
                                             "a speed of more than 0 and at most 70 mph"};
static const struct sl_limits accept_limits = {0, SL_APPROACH_MAX_MPH *SL_MPS_PER_MPH + 1e-9,
                                               "a speed of 0 to 70 mph"};
static const struct sl_limits gear_limits = {1, SL_GEAR_MAX, "a gear of 1 to 6"};

static void read_mirrors(struct sl_reader *reader, const struct sl_yaml_node *list,
                         struct sl_settings *settings)
{
    const char *const words[] = {sl_mirror_word(SL_MIRROR_INTERIOR), sl_mirror_word(SL_MIRROR_LEFT),
                                 sl_mirror_word(SL_MIRROR_RIGHT)};
    if (!sl_is_list(reader, list, "the mirrors in brackets: [interior, left]")) {
        return;
    }
    for (const struct sl_yaml_node *item = list->first; item != NULL; item = item->next) {
        size_t index = 0;
        size_t before = settings->n_mirrors;
        if (!sl_take_choice(reader, item, words, 3, &index)) {
            return;
        }
        sl_settings_add_mirror(settings, (enum sl_mirror)(index + SL_MIRROR_INTERIOR));
        if (settings->n_mirrors == before) {
            sl_refuse(reader, item, "name each mirror once", "the mirror '%s' is named twice",
                      item->text);
        }
    }
}

/* The words of one list of settings, with what they stand for: words[i] for the value i, NULL for
 * "not named". */
static size_t read_word(struct sl_reader *reader, const struct sl_yaml_node *map, const char *key,
                        const char *const words[WORDS_MAX])
{
    size_t index = 0;
    sl_take_choice(reader, sl_yaml_get(map, key), words, WORDS_MAX, &index);
    return index;
}

static void read_values(struct sl_reader *reader, const struct sl_yaml_node *map,
                        struct sl_settings *settings)
{
    const char *signals[WORDS_MAX] = {NULL};
    const char *clutches[WORDS_MAX] = {NULL};
    const char *decisions[WORDS_MAX] = {NULL};
    const char *positions[WORDS_MAX] = {NULL};
    for (int i = SL_SIGNAL_LEFT; i <= SL_SIGNAL_NONE; i++) {
        signals[i] = sl_signal_word((enum sl_signal)i);
    }
    for (int i = SL_CLUTCH_UP; i <= SL_CLUTCH_DOWN; i++) {
        clutches[i] = sl_clutch_word((enum sl_clutch)i);
    }
    for (int i = SL_DECISION_GO; i <= SL_DECISION_WAIT; i++) {
        decisions[i] = sl_decision_word((enum sl_decision)i);
    }
    for (int i = SL_POSITION_LEFT; i <= SL_POSITION_AHEAD; i++) {
        positions[i] = sl_position_word((enum sl_position)i);
    }
    read_mirrors(reader, sl_yaml_get(map, "mirrors"), settings);
    settings->signal = (enum sl_signal)read_word(reader, map, "signal", signals);
    sl_take_quantity(reader, sl_yaml_get(map, "speed"), SL_QUANTITY_SPEED, &said_limits,
                     &settings->speed_mps);
    sl_take_whole(reader, sl_yaml_get(map, "gear"), &gear_limits, &settings->gear);
    settings->clutch = (enum sl_clutch)read_word(reader, map, "clutch", clutches);
    settings->decision = (enum sl_decision)read_word(reader, map, "decision", decisions);
    settings->position = (enum sl_position)read_word(reader, map, "position", positions);
}

void sl_read_settings(struct sl_reader *reader, const struct sl_yaml_node *map,
                      struct sl_settings *settings)
{
    static const char *const keys[] = {"mirrors", "signal",   "speed",    "gear",
                                       "clutch",  "decision", "position", NULL};
    if (sl_is_map(reader, map, "settings such as {gear: 2, clutch: up}")) {
        sl_only_keys(reader, map, keys);
        read_values(reader, map, settings);
    }
}

void sl_read_wanted(struct sl_reader *reader, const struct sl_yaml_node *map,
                    struct sl_wanted *wanted)
{
    static const char *const keys[] = {"mirrors", "signal",   "speed",    "accept", "gear",
                                       "clutch",  "decision", "position", NULL};
    if (!sl_is_map(reader, map, "settings such as {speed: 10 mph, accept: [8 mph, 12 mph]}")) {
        return;
    }
    sl_only_keys(reader, map, keys);
    read_values(reader, map, &wanted->settings);
    sl_need(reader, map, "speed", "10 mph");
    sl_need(reader, map, "gear", "2");
    const struct sl_yaml_node *accept = sl_need(reader, map, "accept", "[8 mph, 12 mph]");
    if (!sl_is_list(reader, accept, "the lowest and the highest speed: [8 mph, 12 mph]")) {
        return;
    }
    if (sl_yaml_count(accept) != 2) {
        sl_refuse(reader, accept, "write the lowest and the highest speed: [8 mph, 12 mph]",
                  "accept has %zu entries", sl_yaml_count(accept));
        return;
    }
    sl_take_quantity(reader, accept->first, SL_QUANTITY_SPEED, &accept_limits,
                     &wanted->speed_min_mps);
    sl_take_quantity(reader, accept->last, SL_QUANTITY_SPEED, &accept_limits,
                     &wanted->speed_max_mps);
    double speed_mps = wanted->settings.speed_mps;
    if (wanted->speed_min_mps > speed_mps || wanted->speed_max_mps < speed_mps) {
        sl_refuse(reader, accept, "choose limits on either side of the speed",
                  "the speed does not lie between the accepted ones");
    }
}

unsigned sl_read_setting_set(struct sl_reader *reader, const struct sl_yaml_node *list)
{
    const char *words[N_SETTINGS];
    unsigned set = 0;
    for (unsigned i = 0; i < N_SETTINGS; i++) {
        words[i] = sl_setting_key((enum sl_setting)(1U << i));
    }
    if (!sl_is_list(reader, list, "the settings in brackets: [gear, clutch]")) {
        return 0;
    }
    for (const struct sl_yaml_node *item = list->first; item != NULL; item = item->next) {
        size_t index = 0;
        if (!sl_take_choice(reader, item, words, N_SETTINGS, &index)) {
            return 0;
        }
        set |= 1U << index;
    }
    return set;
}
