/* Questions: junctions and scenes in words. */
#include "core/recall.h"

#include "core/number_words.h"
#include "core/str.h"
#include "core/units.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

const unsigned sl_parts[] = {SL_PART_VIEW,    SL_SET_SPEED,    SL_SET_GEAR,
                             SL_SET_CLUTCH,   SL_SET_MIRRORS,  SL_SET_SIGNAL,
                             SL_SET_POSITION, SL_SET_DECISION, 0};

const char *sl_part_key(unsigned part)
{
    return part == SL_PART_VIEW ? "view" : sl_setting_key((enum sl_setting)part);
}

const char *sl_part_title(unsigned part)
{
    return part == SL_SET_SPEED ? "speed" : sl_part_key(part);
}

void sl_scene_list_clear(struct sl_scene_list *list)
{
    for (size_t i = 0; i < list->count; i++) {
        free(list->items[i].id);
        free(list->items[i].see);
        free(list->items[i].why);
    }
    free(list->items);
    *list = (struct sl_scene_list){0};
}

void sl_question_clear(struct sl_question *question)
{
    free(question->id);
    free(question->text);
    free(question->ask);
    free(question->why);
    *question = (struct sl_question){0};
}

/* Where and which way; either may be unsaid. */
static void add_place(struct sl_str *text, enum sl_kind kind, enum sl_turn turn)
{
    static const char *const turns[SL_TURN_COUNT] = {"You turn left. ", "You turn right. ",
                                                     "You go straight ahead. "};
    if (kind < SL_KIND_COUNT) {
        sl_str_addf(text, "%s. ", sl_kind_title(kind));
    }
    if (turn < SL_TURN_COUNT) {
        sl_str_add(text, turns[turn]);
    }
}

/* What can be seen, without the words open and closed. */
static void add_sight(struct sl_str *text, enum sl_kind kind, enum sl_view view)
{
    static const char *const sights[SL_KIND_COUNT][SL_VIEW_COUNT] = {
        [SL_KIND_T] = {"Well before the line you see far along the road on both sides.",
                       "You see nothing of the road on either side until you are at the line."},
        [SL_KIND_MAJOR] = {"From well back you see into the side road and all that comes towards "
                           "you.",
                           "You cannot see into the side road until you are at its mouth."},
        [SL_KIND_CROSSROADS] = {"Well before the line you see far along the road that you meet, on "
                                "both sides.",
                                "You see nothing of the road that you meet until you are at the "
                                "line."},
        [SL_KIND_ROUNDABOUT] = {"Well before the line you see who is on the roundabout and who "
                                "comes to it from the right.",
                                "Who is on the roundabout is hidden from you until you are at the "
                                "line."},
        [SL_KIND_MINI] = {"Well before the line you see everyone who comes to the mini-roundabout.",
                          "Who comes to the mini-roundabout is hidden from you until you are at "
                          "the line."},
        [SL_KIND_LIGHTS] = {"Well before the line you see far into the roads on both sides.",
                            "You see nothing of the roads on either side until you are at the "
                            "line."},
    };
    sl_str_add(text, sights[kind][view]);
}

static char *describe(const struct sl_junction *junction, enum sl_view view)
{
    static const char *const traffic[] = {"", " The way is clear.", " Traffic is coming."};
    struct sl_str text = {0};
    add_place(&text, junction->kind, junction->turn);
    sl_str_add(&text, "You come at ");
    sl_add_number_words(&text, (unsigned)lround(sl_mph_from_mps(junction->approach_mps)));
    sl_str_add(&text, " miles an hour. ");
    if (junction->control == SL_CONTROL_STOP) {
        sl_str_add(&text, "There is a stop line. ");
    }
    add_sight(&text, junction->kind, view);
    if (junction->signal_misleads) {
        sl_str_add(&text, " A signal here would mislead.");
    }
    sl_str_add(&text, traffic[junction->traffic]);
    return sl_str_take(&text);
}

/* "Open or closed? Speed, gear, clutch?" */
static char *ask_for(unsigned parts)
{
    struct sl_str text = {0};
    if ((parts & SL_PART_VIEW) != 0) {
        sl_str_add(&text, "Open or closed?");
    }
    bool first = true;
    for (size_t i = 0; sl_parts[i] != 0; i++) {
        if ((parts & sl_parts[i]) == 0 || sl_parts[i] == SL_PART_VIEW) {
            continue;
        }
        const char *title = sl_part_title(sl_parts[i]);
        if (first) {
            sl_str_addf(&text, "%s%c%s", text.length > 0 ? " " : "", title[0] - 'a' + 'A',
                        title + 1);
        } else {
            sl_str_addf(&text, ", %s", title);
        }
        first = false;
    }
    sl_str_add(&text, first ? "" : "?");
    return sl_str_take(&text);
}

static struct sl_wanted everything_wanted(const struct sl_routine *routine,
                                          const struct sl_junction *junction, enum sl_view view)
{
    struct sl_wanted all = {0};
    for (size_t i = 0; i < routine->n_phases; i++) {
        struct sl_wanted one = sl_routine_wanted(routine, i, junction, view);
        sl_settings_merge(&all.settings, &one.settings);
        if ((sl_settings_named(&one.settings) & SL_SET_SPEED) != 0) {
            all.speed_min_mps = one.speed_min_mps;
            all.speed_max_mps = one.speed_max_mps;
        }
    }
    return all;
}

static bool has_mirror_order(const struct sl_routine *routine)
{
    for (size_t i = 0; i < routine->n_rules; i++) {
        if (routine->rules[i].kind == SL_RULE_MIRROR_ORDER) {
            return true;
        }
    }
    return false;
}

/* Hands `made` over when it is whole. */
static enum sl_status finish(struct sl_question *made, struct sl_question *question,
                             struct sl_error *error)
{
    made->ask = ask_for(made->parts);
    if (made->id == NULL || made->text == NULL || made->ask == NULL || made->why == NULL) {
        sl_question_clear(made);
        return sl_fail_memory(error);
    }
    *question = *made;
    return SL_OK;
}

enum sl_status sl_question_of_junction(const struct sl_routine *routine,
                                       const struct sl_junction *junction, enum sl_view view,
                                       struct sl_question *question, struct sl_error *error)
{
    static const char *const whys[SL_VIEW_COUNT] = {
        "Whoever you must give way to can be seen early, and that is what open means.",
        "Nothing can be seen before the line, and that is what closed means."};
    struct sl_question made = {
        .id = sl_strf("%s/%s", routine->name, junction->name),
        .text = describe(junction, view),
        .view = view,
        .wanted = everything_wanted(routine, junction, view),
        .mirrors_in_order = has_mirror_order(routine),
        .routine = routine,
        .why = sl_strdup(whys[view]),
    };
    made.parts = SL_PART_VIEW | sl_settings_named(&made.wanted.settings);
    return finish(&made, question, error);
}

enum sl_status sl_question_of_scene(const struct sl_scene *scene, struct sl_question *question,
                                    struct sl_error *error)
{
    struct sl_str text = {0};
    add_place(&text, scene->kind, scene->turn);
    sl_str_add(&text, scene->see);
    struct sl_question made = {.id = sl_strf("scene/%s", scene->id),
                               .text = sl_str_take(&text),
                               .parts = SL_PART_VIEW,
                               .view = scene->view,
                               .why = sl_strdup(scene->why)};
    return finish(&made, question, error);
}

const char *sl_question_reason(const struct sl_question *question, unsigned part)
{
    const struct sl_routine *routine = question->routine;
    if (part == SL_PART_VIEW || routine == NULL) {
        return question->why;
    }
    for (size_t i = 0; i < routine->n_phases; i++) {
        const struct sl_phase *phase = &routine->phases[i];
        if ((phase->carries & part) != 0 && phase->why[SL_FAULT_WRONG_SETTING] != NULL) {
            return phase->why[SL_FAULT_WRONG_SETTING];
        }
    }
    return routine->why[SL_FAULT_WRONG_SETTING];
}
