/* Reminders, line by line against the rules of RFC 5545; sections are named as remembered. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdlib.h>
#include <string.h>

#include "core/calendar.h"

#define LONG_TEXT                                                                                  \
    "Zo\xc3\xab's homework; t-left-open, mini-left-open \\ and more: 1\nPractise parked or at "    \
    "home, \xe2\x82\xac\xe2\x82\xac\xe2\x82\xac\xe2\x82\xac\xe2\x82\xac\xe2\x82\xac\xe2\x82\xac"   \
    "\xe2\x82\xac\xe2\x82\xac\xe2\x82\xac\xe2\x82\xac\xe2\x82\xac\xe2\x82\xac\xe2\x82\xac\xe2\x82" \
    "\xac\xe2\x82\xac\xe2\x82\xac\xe2\x82\xac\xe2\x82\xac\xe2\x82\xac\xe2\x82\xac\xe2\x82\xac\xe2" \
    "\x82\xac\xe2\x82\xac\xe2\x82\xac\xe2\x82\xac\x07."

static struct sl_reminder reminder(void)
{
    return (struct sl_reminder){.key = "week",
                                .summary = "Homework, due",
                                .description = LONG_TEXT,
                                .day = {2026, 3, 4},
                                .made = {{2026, 2, 1}, 9, 5, 7}};
}

static char *made_from(struct sl_reminder from)
{
    struct sl_str out = {0};
    sl_calendar_add(&out, &from);
    return sl_str_take(&out);
}

/* 3.1: unfolding takes out each CRLF that a blank follows. The caller frees. */
static char *unfolded(const char *text)
{
    struct sl_str out = {0};
    for (const char *at = text; *at != '\0'; at++) {
        if (strncmp(at, "\r\n ", 3) == 0) {
            at += 2;
        } else {
            sl_str_add_bytes(&out, at, 1);
        }
    }
    return sl_str_take(&out);
}

static void lines_end_in_crlf_and_have_at_most_75_octets(void **state)
{
    (void)state;
    char *text = made_from(reminder());
    size_t folded = 0;
    for (const char *line = text; *line != '\0';) {
        const char *end = strstr(line, "\r\n");
        assert_non_null(end);
        size_t length = (size_t)(end - line);
        assert_true(length > 0 && length <= 75);
        assert_null(memchr(line, '\n', length));
        assert_null(memchr(line, '\r', length));
        /* A character of UTF-8 is not cut in two. */
        const char *first = *line == ' ' ? line + 1 : line;
        assert_true(((unsigned char)*first & 0xc0) != 0x80);
        folded += *line == ' ' ? 1 : 0;
        line = end + 2;
    }
    assert_true(folded >= 2);
    free(text);
}

static void text_is_escaped_and_comes_back_when_unfolded(void **state)
{
    (void)state;
    char *text = made_from(reminder());
    char *whole = unfolded(text);
    /* 3.3.11: backslash, semicolon, comma, line end; a colon is not escaped; no other controls. */
    assert_non_null(strstr(whole, "\r\nDESCRIPTION:Zo\xc3\xab's homework\\; t-left-open\\, "
                                  "mini-left-open \\\\ and more: 1\\nPractise parked or at "
                                  "home\\, \xe2\x82\xac"));
    assert_non_null(strstr(whole, "\xe2\x82\xac.\r\n")); /* the bell is gone */
    assert_non_null(strstr(whole, "\r\nSUMMARY:Homework\\, due\r\n"));
    free(whole);
    free(text);
}

static size_t count(const char *text, const char *word)
{
    size_t n = 0;
    for (const char *at = text; (at = strstr(at, word)) != NULL; at++) {
        n++;
    }
    return n;
}

static void what_must_be_there_is_there_once(void **state)
{
    (void)state;
    /* 3.6: VERSION and PRODID; 3.6.1: UID, DTSTAMP, DTSTART (no METHOD); 3.6.6: ACTION, TRIGGER and
     * DESCRIPTION of a display alarm. 3.3.4, 3.3.5: forms of a date and of a time in UTC; 3.3.6: of
     * a duration. */
    static const char *const lines[] = {"\r\nVERSION:2.0\r\n",
                                        "\r\nPRODID:",
                                        "\r\nUID:",
                                        "\r\nDTSTAMP:20260201T090507Z\r\n",
                                        "\r\nDTSTART;VALUE=DATE:20260304\r\n",
                                        "\r\nSUMMARY:",
                                        "\r\nACTION:DISPLAY\r\n",
                                        "\r\nTRIGGER:-PT6H\r\n"};
    char *text = made_from(reminder());
    for (size_t i = 0; i < sizeof lines / sizeof *lines; i++) {
        if (count(text, lines[i]) != 1) {
            fail_msg("%s", lines[i]);
        }
    }
    assert_int_equal(count(text, "\r\nDESCRIPTION:"), 2); /* of the event and of the alarm */
    assert_int_equal(strncmp(text, "BEGIN:VCALENDAR\r\n", 17), 0);
    const char *event = strstr(text, "\r\nBEGIN:VEVENT\r\n");
    const char *alarm = strstr(text, "\r\nBEGIN:VALARM\r\n");
    const char *end = strstr(text, "\r\nEND:VALARM\r\nEND:VEVENT\r\nEND:VCALENDAR\r\n");
    assert_true(event != NULL && alarm > event && end > alarm);
    assert_string_equal(strstr(end, "END:VCALENDAR"), "END:VCALENDAR\r\n");
    free(text);
}

static void the_uid_is_of_the_key_alone(void **state)
{
    (void)state;
    struct sl_reminder later = reminder();
    struct sl_reminder other = reminder();
    later.day.day = 5;
    later.made.hour = 10;
    later.summary = "Homework, put off";
    other.key = "week 2";
    char *texts[] = {made_from(reminder()), made_from(later), made_from(other)};
    char *uids[3];
    for (size_t i = 0; i < 3; i++) {
        const char *uid = strstr(texts[i], "\r\nUID:") + 2;
        uids[i] = sl_strf("%.*s", (int)strcspn(uid, "\r"), uid);
        assert_true(strlen(uids[i]) > strlen("UID:") + 16);
    }
    assert_string_equal(uids[0], uids[1]);
    assert_string_not_equal(uids[0], uids[2]);
    for (size_t i = 0; i < 3; i++) {
        free(uids[i]);
        free(texts[i]);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(lines_end_in_crlf_and_have_at_most_75_octets),
        cmocka_unit_test(text_is_escaped_and_comes_back_when_unfolded),
        cmocka_unit_test(what_must_be_there_is_there_once),
        cmocka_unit_test(the_uid_is_of_the_key_alone),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
