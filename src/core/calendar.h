/*
 * A reminder for a calendar program: iCalendar, RFC 5545.
 */
#ifndef SL_CORE_CALENDAR_H
#define SL_CORE_CALENDAR_H

#include "core/homework.h"
#include "core/str.h"

/* A moment in Universal Time. */
struct sl_instant {
    struct sl_date day;
    int hour, minute, second;
};

/* Nothing is owned. */
struct sl_reminder {
    const char *key;         /* what the reminder is of: the same key gives the same UID */
    const char *summary;     /* one line */
    const char *description; /* any text */
    struct sl_date day;      /* a whole day; the alarm comes six hours before it begins */
    struct sl_instant made;  /* DTSTAMP */
};

/* Adds a calendar with one event; lines end in CRLF and are folded at 75 octets, never inside a
 * character of UTF-8. Control characters but line ends are left out: a TEXT may not hold them. */
void sl_calendar_add(struct sl_str *out, const struct sl_reminder *reminder);

#endif
