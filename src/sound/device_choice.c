#include "sound/device_choice.h"

#include "core/str.h"

#include <ctype.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>

#define MEND_LIST "choose one that 'sayline soundcheck' lists"

static const char *side_name(enum sl_device_side side)
{
    return side == SL_DEVICE_INPUT ? "microphone" : "speaker";
}

static bool has_side(const struct sl_device *device, enum sl_device_side side)
{
    return (side == SL_DEVICE_INPUT ? device->in_channels : device->out_channels) > 0;
}

static bool is_default(const struct sl_device *device, enum sl_device_side side)
{
    return side == SL_DEVICE_INPUT ? device->default_input : device->default_output;
}

static enum sl_status find_default(const struct sl_device_list *list, enum sl_device_side side,
                                   const struct sl_device **found, struct sl_error *error)
{
    for (size_t i = 0; i < list->n; i++) {
        if (is_default(&list->items[i], side)) {
            *found = &list->items[i];
            return SL_OK;
        }
    }
    return sl_fail(error, SL_DEVICE, NULL,
                   "plug in a headset, or choose a device by name, or practise with --mic FILE",
                   "no %s was found", side_name(side));
}

/* Letters of either case are the same. */
static bool begins_with(const char *text, const char *part)
{
    while (*part != '\0' && tolower((unsigned char)*text) == tolower((unsigned char)*part)) {
        text++;
        part++;
    }
    return *part == '\0';
}

static bool contains(const char *name, const char *part)
{
    while (*name != '\0' && !begins_with(name, part)) {
        name++;
    }
    return *name != '\0';
}

/* A whole number from 0, else -1. */
static long as_number(const char *text)
{
    char *rest = NULL;
    errno = 0;
    long number = strtol(text, &rest, 10);
    bool whole = isdigit((unsigned char)text[0]) && *rest == '\0' && errno == 0;
    return whole ? number : -1;
}

static bool means(const struct sl_device *device, const char *wanted, bool whole)
{
    return whole ? strcmp(device->name, wanted) == 0 || as_number(wanted) == device->index
                 : contains(device->name, wanted);
}

/* How many of the side are meant; *found becomes the first of them, their names go to `names`. */
static size_t count(const struct sl_device_list *list, enum sl_device_side side, const char *wanted,
                    const struct sl_device **found, struct sl_str *names)
{
    size_t n = 0;
    for (int whole = 1; whole >= 0 && n == 0; whole--) {
        for (size_t i = 0; i < list->n; i++) {
            const struct sl_device *device = &list->items[i];
            if (has_side(device, side) && means(device, wanted, whole != 0)) {
                *found = n == 0 ? device : *found;
                n = whole ? 1 : n + 1;
                sl_str_addf(names, "%s%d (%s)",
                            names->length == 0 ? "choose one by its number: " : ", ", device->index,
                            device->name);
            }
        }
    }
    return n;
}

enum sl_status sl_device_find(const struct sl_device_list *list, enum sl_device_side side,
                              const char *wanted, const struct sl_device **found,
                              struct sl_error *error)
{
    if (list->n == 0) {
        return sl_fail(error, SL_DEVICE, NULL, "plug in a headset, or practise with --mic FILE",
                       "no sound device was found");
    }
    if (wanted == NULL) {
        return find_default(list, side, found, error);
    }
    struct sl_str names = {0};
    const struct sl_device *first = NULL;
    enum sl_status status = SL_OK;
    switch (wanted[0] == '\0' ? 0 : count(list, side, wanted, &first, &names)) {
    case 0:
        status = sl_fail(error, SL_NOT_FOUND, wanted, MEND_LIST, "there is no %s '%s'",
                         side_name(side), wanted);
        break;
    case 1:
        *found = first;
        break;
    default:
        status = sl_fail(error, SL_INVALID, wanted, sl_str_text(&names),
                         "'%s' is a part of the name of several devices", wanted);
    }
    sl_str_clear(&names);
    return status;
}
