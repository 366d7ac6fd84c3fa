/* A reminder of the day on which homework is due, for a calendar program. */
#include "cli/homework_parts.h"

#include "core/calendar.h"
#include "files/atomic.h"

#include <stdlib.h>
#include <time.h>

static struct sl_instant now(void)
{
    time_t clock = time(NULL);
    struct tm utc;
    if (gmtime_r(&clock, &utc) == NULL) {
        return (struct sl_instant){.day = {1970, 1, 1}};
    }
    return (struct sl_instant){
        {utc.tm_year + 1900, utc.tm_mon + 1, utc.tm_mday}, utc.tm_hour, utc.tm_min, utc.tm_sec};
}

static void add_description(struct sl_str *out, const struct sl_homework *set)
{
    for (size_t i = 0; i < set->n_items; i++) {
        sl_str_addf(out, "%s: %d %s%s\n", set->items[i].name, set->items[i].runs,
                    set->items[i].drive ? "drive" : "run", set->items[i].runs == 1 ? "" : "s");
    }
    sl_str_add(out, "sayline homework do; parked or at home, never while driving.");
}

enum sl_status sl_homework_save_ics(const struct sl_homework *set, const char *path,
                                    struct sl_error *error)
{
    if (!set->due_known) {
        return sl_fail(error, SL_INVALID, "--ics", "write the day into the set, as due: 2026-03-14",
                       "the set does not say when it is due");
    }
    struct sl_str description = {0};
    struct sl_str text = {0};
    add_description(&description, set);
    const struct sl_reminder reminder = {.key = set->name,
                                         .summary = set->title != NULL ? set->title : set->name,
                                         .description = sl_str_text(&description),
                                         .day = set->due,
                                         .made = now()};
    sl_calendar_add(&text, &reminder);
    enum sl_status status = text.failed || description.failed
                                ? sl_fail_memory(error)
                                : sl_write_text_file(path, sl_str_text(&text), text.length, error);
    sl_str_clear(&text);
    sl_str_clear(&description);
    return status;
}
