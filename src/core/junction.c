#include "core/junction.h"

#include "core/range.h"
#include "core/units.h"

#include <stdlib.h>
#include <string.h>

static const char *const kind_words[SL_KIND_COUNT] = {"t",          "major", "crossroads",
                                                      "roundabout", "mini",  "lights"};
static const char *const kind_titles[SL_KIND_COUNT] = {"T-junction, from the minor road",
                                                       "Side road, off the major road",
                                                       "Crossroads, from the minor road",
                                                       "Roundabout",
                                                       "Mini-roundabout",
                                                       "Traffic lights"};
static const char *const control_words[SL_CONTROL_COUNT] = {"give-way", "stop", "lights"};
static const char *const turn_words[SL_TURN_COUNT] = {"left", "right", "ahead"};
static const char *const view_words[SL_VIEW_COUNT] = {"open", "closed"};

/* words[value], or NULL beyond the list. */
static const char *word_of(const char *const *words, unsigned count, unsigned value)
{
    return value < count ? words[value] : NULL;
}

/* The index of `word`, or `count`. */
static unsigned index_of(const char *const *words, unsigned count, const char *word)
{
    unsigned i = 0;
    while (i < count && strcmp(words[i], word) != 0) {
        i++;
    }
    return i;
}

const char *sl_kind_word(enum sl_kind kind)
{
    return word_of(kind_words, SL_KIND_COUNT, kind);
}

const char *sl_control_word(enum sl_control control)
{
    return word_of(control_words, SL_CONTROL_COUNT, control);
}

const char *sl_turn_word(enum sl_turn turn)
{
    return word_of(turn_words, SL_TURN_COUNT, turn);
}

const char *sl_view_word(enum sl_view view)
{
    return word_of(view_words, SL_VIEW_COUNT, view);
}

const char *sl_kind_title(enum sl_kind kind)
{
    return word_of(kind_titles, SL_KIND_COUNT, kind);
}

enum sl_kind sl_kind_from_word(const char *word)
{
    return (enum sl_kind)index_of(kind_words, SL_KIND_COUNT, word);
}

enum sl_control sl_control_from_word(const char *word)
{
    return (enum sl_control)index_of(control_words, SL_CONTROL_COUNT, word);
}

enum sl_turn sl_turn_from_word(const char *word)
{
    return (enum sl_turn)index_of(turn_words, SL_TURN_COUNT, word);
}

enum sl_view sl_view_from_word(const char *word)
{
    return (enum sl_view)index_of(view_words, SL_VIEW_COUNT, word);
}

static enum sl_status check_words(const struct sl_junction *junction, struct sl_error *error)
{
    if ((unsigned)junction->kind >= SL_KIND_COUNT ||
        (unsigned)junction->control >= SL_CONTROL_COUNT ||
        (unsigned)junction->turn >= SL_TURN_COUNT || (unsigned)junction->view >= SL_VIEW_COUNT ||
        (unsigned)junction->traffic > SL_TRAFFIC_BUSY) {
        return sl_fail(error, SL_INVALID, junction->name,
                       "give kind, control, turn, view and traffic by their words",
                       "the kind, control, turn, view or traffic is none of the known ones "
                       "(numbers %u, %u, %u, %u, %u)",
                       (unsigned)junction->kind, (unsigned)junction->control,
                       (unsigned)junction->turn, (unsigned)junction->view,
                       (unsigned)junction->traffic);
    }
    return SL_OK;
}

/* What each field allows alone may still not go together. */
static enum sl_status check_together(const struct sl_junction *junction, struct sl_error *error)
{
    bool no_ahead = junction->kind == SL_KIND_T || junction->kind == SL_KIND_MAJOR;
    if (junction->turn == SL_TURN_AHEAD && no_ahead) {
        return sl_fail(error, SL_INVALID, junction->name, "turn left or right, or change the kind",
                       "the turn is ahead, but the kind is %s (%s)", sl_kind_word(junction->kind),
                       sl_kind_title(junction->kind));
    }
    if (junction->kind == SL_KIND_LIGHTS && junction->control != SL_CONTROL_LIGHTS) {
        return sl_fail(
            error, SL_INVALID, junction->name, "make the control lights, or change the kind",
            "the kind is lights, but the control is %s", sl_control_word(junction->control));
    }
    return SL_OK;
}

enum sl_status sl_junction_check(const struct sl_junction *junction, struct sl_error *error)
{
    const struct sl_range ranges[] = {
        {"the approach speed", "mph", sl_mph_from_mps(junction->approach_mps), 0.0,
         SL_APPROACH_MAX_MPH, true},
        {"the distance to the line", "m", junction->distance_m, 0.0, SL_DISTANCE_MAX_M, false},
        {"the gradient", "%", 100.0 * junction->gradient, -100.0 * SL_GRADIENT_MAX,
         100.0 * SL_GRADIENT_MAX, false},
    };
    enum sl_status status = check_words(junction, error);
    if (status == SL_OK) {
        status = sl_ranges_check(ranges, sizeof ranges / sizeof ranges[0], junction->name, error);
    }
    if (status == SL_OK) {
        status = check_together(junction, error);
    }
    if (status == SL_OK && junction->sight_measured) {
        status = sl_sight_check(&junction->sight, error);
    }
    return status;
}

void sl_junction_clear(struct sl_junction *junction)
{
    free(junction->name);
    free(junction->title);
    *junction = (struct sl_junction){0};
}
