#include "core/heard.h"

#include "core/phrasebook.h"
#include "core/str.h"

#include <stdlib.h>

enum sl_status sl_heard_add(struct sl_heard_list *list, const struct sl_heard *heard,
                            struct sl_error *error)
{
    /* Copied before the list grows, as `heard` may be one of its own items. */
    struct sl_heard added = *heard;
    added.text = sl_strdup(heard->text == NULL ? "" : heard->text);
    if (added.text == NULL) {
        return sl_fail_memory(error);
    }
    struct sl_heard *items = sl_grow(list->items, list->count, &list->room, sizeof *list->items);
    if (items == NULL) {
        free(added.text);
        return sl_fail_memory(error);
    }
    list->items = items;
    list->items[list->count++] = added;
    return SL_OK;
}

void sl_heard_clear(struct sl_heard_list *list)
{
    for (size_t i = 0; i < list->count; i++) {
        free(list->items[i].text);
    }
    free(list->items);
    *list = (struct sl_heard_list){0};
}
