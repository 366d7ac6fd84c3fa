#include "core/calendar.h"

#include "core/sha256.h"

#include <string.h>

#define LINE_OCTETS 75 /* RFC 5545, 3.1, without the line break */
#define UID_DIGITS 32

/* Adds a content line, folded: a line break and a blank go before the character that is too much.
 */
static void add_line(struct sl_str *out, const struct sl_str *line)
{
    const char *text = sl_str_text(line);
    size_t used = 0;
    for (size_t at = 0; at < line->length;) {
        size_t length = 1;
        while (((unsigned char)text[at + length] & 0xc0) == 0x80) {
            length++;
        }
        if (used + length > LINE_OCTETS) {
            sl_str_add(out, "\r\n ");
            used = 1;
        }
        sl_str_add_bytes(out, text + at, length);
        used += length;
        at += length;
    }
    sl_str_add(out, "\r\n");
    out->failed = out->failed || line->failed;
}

/* A property whose value is a TEXT: RFC 5545, 3.3.11. */
static void add_text(struct sl_str *out, const char *name, const char *text)
{
    struct sl_str line = {0};
    sl_str_addf(&line, "%s:", name);
    for (const char *at = text; *at != '\0'; at++) {
        if (*at == '\n') {
            sl_str_add(&line, "\\n");
        } else if (*at == '\\' || *at == ';' || *at == ',') {
            sl_str_addf(&line, "\\%c", *at);
        } else if ((unsigned char)*at >= ' ' && *at != 0x7f) {
            sl_str_add_bytes(&line, at, 1);
        }
    }
    add_line(out, &line);
    sl_str_clear(&line);
}

static void add_uid(struct sl_str *out, const char *key)
{
    char hex[SL_SHA256_HEX];
    struct sl_sha256 digest;
    sl_sha256_begin(&digest);
    sl_sha256_add(&digest, key, strlen(key));
    sl_sha256_end(&digest, hex);
    sl_str_addf(out, "UID:%.*s\r\n", UID_DIGITS, hex);
}

void sl_calendar_add(struct sl_str *out, const struct sl_reminder *reminder)
{
    const struct sl_instant *made = &reminder->made;
    const struct sl_date *day = &reminder->day;
    sl_str_add(out, "BEGIN:VCALENDAR\r\nVERSION:2.0\r\nPRODID:-//sayline//homework//EN\r\n"
                    "BEGIN:VEVENT\r\n");
    add_uid(out, reminder->key);
    sl_str_addf(out, "DTSTAMP:%04d%02d%02dT%02d%02d%02dZ\r\n", made->day.year, made->day.month,
                made->day.day, made->hour, made->minute, made->second);
    sl_str_addf(out, "DTSTART;VALUE=DATE:%04d%02d%02d\r\n", day->year, day->month, day->day);
    sl_str_add(out, "TRANSP:TRANSPARENT\r\n");
    add_text(out, "SUMMARY", reminder->summary);
    add_text(out, "DESCRIPTION", reminder->description);
    sl_str_add(out, "BEGIN:VALARM\r\nACTION:DISPLAY\r\nTRIGGER:-PT6H\r\n");
    add_text(out, "DESCRIPTION", reminder->summary);
    sl_str_add(out, "END:VALARM\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n");
}
