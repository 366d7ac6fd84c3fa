#include "core/wanted.h"

#include "core/units.h"

/* Half a unit in the third place of what people say in mph, so that conversions do no harm. */
#define SPEED_SLACK_MPS 1e-4

/* Place of a mirror among those named, or n_mirrors. */
static size_t place_of(const struct sl_settings *settings, enum sl_mirror mirror)
{
    size_t place = 0;
    while (place < settings->n_mirrors && settings->mirrors[place] != mirror) {
        place++;
    }
    return place;
}

static bool has_wanted_mirrors(const struct sl_settings *said, const struct sl_settings *wanted)
{
    for (size_t i = 0; i < wanted->n_mirrors; i++) {
        if (place_of(said, wanted->mirrors[i]) == said->n_mirrors) {
            return false;
        }
    }
    return true;
}

bool sl_wanted_in_order(const struct sl_settings *said, const struct sl_settings *wanted)
{
    size_t next = 0;
    for (size_t i = 0; i < wanted->n_mirrors; i++) {
        size_t place = place_of(said, wanted->mirrors[i]);
        if (place == said->n_mirrors) {
            continue;
        }
        if (place < next) {
            return false;
        }
        next = place;
    }
    return true;
}

bool sl_wanted_is_right(enum sl_setting setting, const struct sl_settings *said,
                        const struct sl_wanted *wanted)
{
    if (setting == SL_SET_MIRRORS) {
        return has_wanted_mirrors(said, &wanted->settings);
    }
    if (setting == SL_SET_SPEED) {
        return said->speed_mps >= wanted->speed_min_mps - SPEED_SLACK_MPS &&
               said->speed_mps <= wanted->speed_max_mps + SPEED_SLACK_MPS;
    }
    struct sl_settings one = sl_settings_only(said, setting);
    struct sl_settings right = sl_settings_only(&wanted->settings, setting);
    return sl_settings_equal(&one, &right);
}

void sl_wanted_add_accepted(struct sl_str *text, const struct sl_wanted *wanted)
{
    double most_mph = sl_mph_from_mps(wanted->speed_max_mps);
    if (wanted->speed_min_mps > 0) {
        sl_str_addf(text, " (%.3g to %.3g mph counts as right)",
                    sl_mph_from_mps(wanted->speed_min_mps), most_mph);
    } else {
        sl_str_addf(text, " (up to %.3g mph counts as right)", most_mph);
    }
}
