#include "report/run_exports.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdio.h>
#include <string.h>

#include "report/page_scene.h"
#include "support/near.h"

#define HOSTILE "a --> b <b>&amp; \"quoted\" \x01"
#define MOST 64

/* The next line without its end; "" at the end of the text. */
static const char *next_line(const char **at, char *line, size_t room)
{
    size_t length = strcspn(*at, "\n");
    assert_true(length < room);
    memcpy(line, *at, length);
    line[length] = '\0';
    *at += length + ((*at)[length] == '\n');
    return line;
}

struct cue {
    double start_s, end_s;
    char text[256]; /* lines parted by '|', as written */
};

static double read_time(const char *text)
{
    unsigned hours = 0;
    unsigned minutes = 0;
    double seconds = 0.0;
    assert_int_equal(strlen(text), 12); /* hours of two figures, three of milliseconds */
    assert_int_equal(sscanf(text, "%2u:%2u:%6lf", &hours, &minutes, &seconds), 3);
    assert_true(minutes < 60 && seconds < 60.0);
    return 3600.0 * hours + 60.0 * minutes + seconds;
}

/* A reader after W3C's "WebVTT: The Web Video Text Tracks Format", sections 4.1 and 6.1 (from
 * memory): signature, a blank line, then blocks of identifier, timings and text, each ended by a
 * blank line. Text has no
 * "-->", and neither '<' nor '&' of its own. */
static size_t read_vtt(const char *text, struct cue *cues)
{
    char line[256];
    char start[16];
    char end[16];
    size_t n = 0;
    assert_string_equal(next_line(&text, line, sizeof line), "WEBVTT");
    assert_string_equal(next_line(&text, line, sizeof line), "");
    while (*text != '\0') {
        assert_true(n < MOST);
        struct cue *cue = &cues[n++];
        next_line(&text, line, sizeof line);
        assert_null(strstr(line, "-->"));
        next_line(&text, line, sizeof line);
        assert_int_equal(sscanf(line, "%15s --> %15s", start, end), 2);
        cue->start_s = read_time(start);
        cue->end_s = read_time(end);
        assert_true(cue->end_s > cue->start_s);
        assert_true(n < 2 || cue->start_s >= cues[n - 2].start_s);
        cue->text[0] = '\0';
        while (*next_line(&text, line, sizeof line) != '\0') {
            assert_null(strstr(line, "-->"));
            assert_null(strchr(line, '<'));
            assert_true(strlen(cue->text) + strlen(line) + 2 < sizeof cue->text);
            strcat(strcat(cue->text, line), "|");
        }
    }
    return n;
}

static void subtitles_say_what_was_heard_and_the_verdict(void **state)
{
    (void)state;
    struct scene scene;
    struct cue cues[MOST];
    char *vtt = NULL;
    scene_begin(&scene, HOSTILE, true);
    scene.mark.faults[0].kind = SL_FAULT_WRONG_SETTING;
    assert_int_equal(sl_run_vtt(&scene.view, &vtt, NULL), SL_OK);
    assert_int_equal(read_vtt(vtt, cues), 5);
    assert_string_equal(cues[0].text, "a --&gt; b &lt;b&gt;&amp;amp; \"quoted\" ?|Mirrors: right|");
    assert_near(cues[0].start_s, FROM_S + 4.0, 1e-9);
    assert_near(cues[0].end_s, FROM_S + 4.8, 1e-9);
    assert_string_equal(cues[4].text, "second gear clutch up|Gear: wrong setting|");
    assert_string_equal(cues[3].text, "(nothing heard)|Decide: missed|");
    assert_near(cues[3].start_s, FROM_S + scene.plan.windows[4].opens_s, 6e-4);
    assert_near(cues[3].end_s, FROM_S + scene.plan.windows[4].closes_s, 6e-4);
    free(vtt);
    scene_end(&scene);
}

struct entry {
    double from_s, to_s; /* the same for a point */
    char text[256];
};

struct tier {
    char class[32], name[32];
    struct entry entries[MOST];
    size_t n_entries;
};

/* The next value that stands free in the text: a number or a quoted string, in which quotes are
 * doubled; anything else is for people. So Praat's manual, "TextGrid file formats", has it read
 * (from memory). */
static const char *next_value(const char **at, char *value, size_t room)
{
    size_t n = 0;
    while (**at != '\0') {
        *at += strspn(*at, " \n");
        if (**at == '"') {
            for (++*at; **at != '"' || (*at)[1] == '"'; ++*at) {
                assert_true(**at != '\0' && n + 1 < room);
                *at += **at == '"';
                value[n++] = **at;
            }
            ++*at;
            break;
        }
        size_t length = strcspn(*at, " \n");
        if (strspn(*at, "0123456789.") == length || strncmp(*at, "<exists>", 8) == 0) {
            assert_true(length < room);
            memcpy(value, *at, length);
            n = length;
            *at += length;
            break;
        }
        *at += length;
    }
    value[n] = '\0';
    return value;
}

static double next_number(const char **at)
{
    char value[64];
    char *end = NULL;
    double number = strtod(next_value(at, value, sizeof value), &end);
    assert_true(end != value && *end == '\0');
    return number;
}

static void read_tier(const char **at, struct tier *tier, double end_s)
{
    next_value(at, tier->class, sizeof tier->class);
    next_value(at, tier->name, sizeof tier->name);
    assert_near(next_number(at), 0.0, 1e-9);
    assert_near(next_number(at), end_s, 1e-9);
    bool intervals = strcmp(tier->class, "IntervalTier") == 0;
    assert_true(intervals || strcmp(tier->class, "TextTier") == 0);
    tier->n_entries = (size_t)next_number(at);
    assert_true(tier->n_entries < MOST);
    double done_s = intervals ? 0.0 : -1.0;
    for (size_t i = 0; i < tier->n_entries; i++) {
        struct entry *entry = &tier->entries[i];
        entry->from_s = next_number(at);
        entry->to_s = intervals ? next_number(at) : entry->from_s;
        next_value(at, entry->text, sizeof entry->text);
        if (intervals) {
            assert_near(entry->from_s, done_s, 1e-9); /* no hole, no overlap */
            assert_true(entry->to_s > entry->from_s);
        } else {
            assert_true(entry->from_s > done_s);
        }
        done_s = entry->to_s;
    }
    assert_true(!intervals || done_s == end_s);
}

static double read_grid(const char *text, struct tier *tiers)
{
    char value[64];
    const char *at = text;
    assert_int_equal(strncmp(text, "File type = \"ooTextFile\"\nObject class = \"TextGrid\"\n", 50),
                     0);
    assert_string_equal(next_value(&at, value, sizeof value), "ooTextFile");
    assert_string_equal(next_value(&at, value, sizeof value), "TextGrid");
    assert_near(next_number(&at), 0.0, 1e-9);
    double end_s = next_number(&at);
    assert_string_equal(next_value(&at, value, sizeof value), "<exists>");
    assert_near(next_number(&at), 3.0, 1e-9);
    for (size_t i = 0; i < 3; i++) {
        read_tier(&at, &tiers[i], end_s);
    }
    assert_string_equal(next_value(&at, value, sizeof value), "");
    return end_s;
}

static const struct entry *entry_of(const struct tier *tier, const char *part)
{
    for (size_t i = 0; i < tier->n_entries; i++) {
        if (strstr(tier->entries[i].text, part) != NULL) {
            return &tier->entries[i];
        }
    }
    fail_msg("%s has no \"%s\"", tier->name, part);
    abort(); /* not reached: for the analyser */
}

static void labels_have_windows_phrases_and_faults(void **state)
{
    (void)state;
    static struct tier tiers[3];
    struct scene scene;
    char *grid = NULL;
    scene_begin(&scene, HOSTILE, true);
    /* Said while the last was still being said: a tier has no overlap. */
    say(&scene, 0, 21.4, "overlapping", (struct sl_settings){0});
    scene.mark.faults[0].kind = SL_FAULT_WRONG_SETTING;
    assert_int_equal(sl_run_textgrid(&scene.view, &grid, NULL), SL_OK);
    assert_near(read_grid(grid, tiers), 31.25, 1e-9);
    assert_string_equal(tiers[0].name, "windows");
    assert_string_equal(tiers[1].name, "heard");
    assert_string_equal(tiers[2].name, "faults");
    for (size_t i = 0; i < 5; i++) {
        char label[64];
        (void)snprintf(label, sizeof label, "%s due", scene.routine.phases[i].title);
        assert_near(entry_of(&tiers[0], label)->from_s, FROM_S + scene.plan.windows[i].due_s, 1e-4);
    }
    assert_string_equal(tiers[1].entries[1].text, "a --> b <b>&amp; \"quoted\" ?");
    assert_near(entry_of(&tiers[1], "second gear")->from_s, FROM_S + 21.0, 1e-4);
    assert_near(entry_of(&tiers[1], "overlapping")->from_s, FROM_S + 21.8, 1e-4);
    assert_near(entry_of(&tiers[2], "Gear: wrong-setting")->from_s, FROM_S + 21.0, 1e-4);
    assert_int_equal(tiers[2].n_entries, 2);
    free(grid);
    scene_end(&scene);
}

static void an_untimed_run_has_no_windows(void **state)
{
    (void)state;
    static struct tier tiers[3];
    struct scene scene;
    char *grid = NULL;
    scene_begin(&scene, "interior and left mirror", false);
    assert_int_equal(sl_run_textgrid(&scene.view, &grid, NULL), SL_OK);
    assert_near(read_grid(grid, tiers), 31.25, 1e-9);
    assert_int_equal(tiers[0].n_entries, 0);
    free(grid);
    scene_end(&scene);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(subtitles_say_what_was_heard_and_the_verdict),
        cmocka_unit_test(labels_have_windows_phrases_and_faults),
        cmocka_unit_test(an_untimed_run_has_no_windows),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
