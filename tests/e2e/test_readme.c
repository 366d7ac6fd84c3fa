/* What the README shows is what the program prints: every command in it runs, and the block below
 * one is compared with its output, line by line. */
#include "support/program.h"

#include "core/str.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <ctype.h>
#include <math.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* A live run (--mic) goes by the machine's clock, and so does when a phrase is made out of the
 * sound: lines that begin with their time may come so much sooner or later, in the order that this
 * gives, with the metres that are driven in that time at 30 mph. */
#define LIVE_SLACK_S 2.0
#define LIVE_SLACK_M 27.0

/* Lines of a text: `first` points at the first of them. */
struct lines {
    const char **items;
    size_t count;
};

static size_t line_length(const char *line)
{
    return strcspn(line, "\n");
}

static bool line_is(const char *line, const char *text)
{
    return line_length(line) == strlen(text) && strncmp(line, text, strlen(text)) == 0;
}

/* The lines from `text` up to `end`; the caller frees the items. */
static struct lines lines_of(const char *text, const char *end)
{
    struct lines lines = {.items = calloc(strlen(text) + 1, sizeof *lines.items)};
    assert_non_null(lines.items);
    while (text < end) {
        lines.items[lines.count++] = text;
        text += line_length(text);
        text += *text == '\n' ? 1 : 0;
    }
    return lines;
}

/* How far a live run's figure may be off, by the unit behind it; 0 where it may not. */
static double slack_of(const char *unit)
{
    bool ends = strncmp(unit, " s", 2) == 0 || strncmp(unit, " m", 2) == 0;
    if (!ends || isalnum((unsigned char)unit[2])) {
        return 0;
    }
    return unit[1] == 's' ? LIVE_SLACK_S : LIVE_SLACK_M;
}

/* Passes over a time or a distance at both places if they are near enough. */
static bool pass_figures(const char **a, const char **b)
{
    char *a_end = NULL;
    char *b_end = NULL;
    double difference = fabs(strtod(*a, &a_end) - strtod(*b, &b_end));
    if (a_end == *a || b_end == *b || difference > slack_of(a_end) + 1e-9) {
        return false;
    }
    *a = a_end;
    *b = b_end;
    return true;
}

static bool same_line(const char *a, const char *b)
{
    return line_length(a) == line_length(b) && strncmp(a, b, line_length(a)) == 0;
}

/* Whether a line begins with its time: "  9.8 s  108 m  Said." */
static bool is_stamped(const char *line)
{
    char *end = NULL;
    (void)strtod(line, &end);
    return end != line && slack_of(end) == LIVE_SLACK_S;
}

static bool near_line(const char *shown, const char *printed)
{
    while (*shown != '\0' && *shown != '\n') {
        if (isspace((unsigned char)*shown) || isspace((unsigned char)*printed)) {
            shown += strspn(shown, " "); /* figures stand in columns */
            printed += strspn(printed, " ");
        }
        if (!pass_figures(&shown, &printed) && *shown++ != *printed++) {
            return false;
        }
    }
    return *printed == '\0' || *printed == '\n';
}

/* Takes the stamped lines out of those printed that are near one shown; the first shown that is
 * near none, SIZE_MAX where there is none such. */
static size_t take_stamped(const struct lines *shown, struct lines *printed)
{
    for (size_t i = 0; i < shown->count; i++) {
        size_t at = 0;
        if (!is_stamped(shown->items[i])) {
            continue;
        }
        while (at < printed->count && !near_line(shown->items[i], printed->items[at])) {
            at++;
        }
        if (at == printed->count) {
            return i;
        }
        printed->count--;
        memmove(printed->items + at, printed->items + at + 1,
                (printed->count - at) * sizeof *printed->items);
    }
    return SIZE_MAX;
}

/* The first line shown that is not printed, or, behind the last, where something more is printed;
 * SIZE_MAX when all is as shown. A line "..." stands for any lines, none among them. */
static size_t first_difference(const struct lines *shown, struct lines *printed, bool live)
{
    size_t at = 0;
    bool skips = false;
    size_t unlike = live ? take_stamped(shown, printed) : SIZE_MAX;
    for (size_t i = 0; i < shown->count && unlike == SIZE_MAX; i++) {
        if (line_is(shown->items[i], "...")) {
            skips = true;
            continue;
        }
        if (live && is_stamped(shown->items[i])) {
            continue;
        }
        while (skips && at < printed->count && !same_line(shown->items[i], printed->items[at])) {
            at++;
        }
        skips = false;
        unlike = at < printed->count && same_line(shown->items[i], printed->items[at]) ? unlike : i;
        at++;
    }
    return unlike != SIZE_MAX || skips || at == printed->count ? unlike : shown->count;
}

static size_t compare(const char *shown, const char *printed, bool live)
{
    struct lines a = lines_of(shown, shown + strlen(shown));
    struct lines b = lines_of(printed, printed + strlen(printed));
    size_t first = first_difference(&a, &b, live);
    free(a.items);
    free(b.items);
    return first;
}

static void a_difference_is_found_and_what_is_left_out_is_not_one(void **state)
{
    (void)state;
    static const struct {
        const char *shown, *printed;
        bool live;
        size_t first;
    } rows[] = {
        {"a\nb\n", "a\nb\n", false, SIZE_MAX},
        {"a\nb\n", "a\nc\n", false, 1},
        {"a\nb\n", "a\n", false, 1},
        {"a\n", "a\nb\n", false, 1},
        {"a\n", "a \n", false, 0},
        {"a\n...\nd\n", "a\nb\nc\nd\n", false, SIZE_MAX},
        {"...\nd\n...\n", "a\nd\ne\n", false, SIZE_MAX},
        {"...\nd\n", "a\nd\ne\n", false, 2},
        {"...\nd\n", "a\nb\n", false, 1},
        {"9.8 s  Said.\n", "10.1 s  Said.\n", false, 0},
        {"  9.8 s  108 m  Said.\n", " 10.1 s  104 m  Said.\n", true, SIZE_MAX},
        {"  9.8 s  108 m  Said.\n", " 11.9 s  104 m  Said.\n", true, 0},
        {"  9.8 s  108 m  Said.\n", "  9.8 s   80 m  Said.\n", true, 0},
        {"  9.8 s  108 m  Said.\n", "  9.8 s  108 m  Said so.\n", true, 0},
        {"  9.8 s  108 m  Said.\n", "  9.8 s  108 m  Said\n", true, 0},
        {"  9.8 s  108 m  At 10 mph.\n", "  9.8 s  108 m  At 11 mph.\n", true, 0},
        {"The end: 9.8 s\n", "The end: 9.9 s\n", true, 0},
        {"1.0 s  a\n1.1 s  b\nend\n", "1.1 s  b\n1.3 s  a\nend\n", true, SIZE_MAX},
        {"1.0 s  a\n1.1 s  b\n", "1.1 s  b\n1.0 s  a\n", false, 0},
        {"1.0 s  a\n1.1 s  a\nend\n", "1.1 s  a\nend\n", true, 1},
        {"1.0 s  a\nend\n", "1.0 s  a\n1.1 s  b\nend\n", true, 1},
        {"1.0 s  a\n...\n", "1.0 s  a\n", true, SIZE_MAX},
        {"1.0 s  a\n...\nend\n", "1.0 s  a\n1.1 s  b\nend\n", true, SIZE_MAX},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        size_t first = compare(rows[i].shown, rows[i].printed, rows[i].live);
        if (first != rows[i].first) {
            fail_msg("row %zu: line %zu, not %zu", i, first, rows[i].first);
        }
    }
}

static void write_text(const char *path, const char *text)
{
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    assert_true(fputs(text, file) >= 0);
    assert_int_equal(fclose(file), 0);
}

/* What diff(1) says of the two texts; the caller frees. */
static char *diff_of(const char *folder, const char *shown, const char *printed)
{
    char *a = sl_strf("%s/shown", folder);
    char *b = sl_strf("%s/printed", folder);
    char *command = sl_strf("diff -u --label shown --label printed '%s' '%s'", a, b);
    write_text(a, shown);
    write_text(b, printed);
    struct sl_ran ran = sl_run(command);
    char *said = sl_strf("%s%s", ran.out, ran.err);
    sl_ran_clear(&ran);
    free(command);
    free(a);
    free(b);
    return said;
}

/* A command of the README, with what is shown below it. */
struct example {
    char *command;
    char *shown; /* NULL: nothing is */
    size_t line; /* where `shown` begins, or the command stands; from 1 */
};

/* Whether the program does and prints what is shown; otherwise says where not. */
static bool runs_as_shown(const char *path, const char *folder, const struct example *example)
{
    char *command = sl_strf("export XDG_DATA_HOME='%s/data'\n%s 2>&1", folder, example->command);
    struct sl_ran ran = sl_run(command);
    bool live = strstr(example->command, " --mic ") != NULL;
    bool ran_well = ran.code == 0 && ran.out[0] != '\0';
    size_t first =
        ran_well && example->shown != NULL ? compare(example->shown, ran.out, live) : SIZE_MAX;
    if (!ran_well) {
        fprintf(stderr, "%s:%zu: %s: exit code %d\n%s", path, example->line, example->command,
                ran.code, ran.out);
    } else if (first != SIZE_MAX) {
        char *diff = diff_of(folder, example->shown, ran.out);
        fprintf(stderr, "%s:%zu: %s: prints something else\n%s", path, example->line + first,
                example->command, diff);
        free(diff);
    }
    sl_ran_clear(&ran);
    free(command);
    return ran_well && first == SIZE_MAX;
}

/* The example whose command stands at line `i`: indented by four, a block fenced as text below it
 * after one empty line. False when no command stands there. */
static bool find_example(const struct lines *lines, size_t i, struct example *example)
{
    const char *line = lines->items[i];
    if (strncmp(line, "    sayline ", 12) != 0) {
        return false;
    }
    *example = (struct example){.command = sl_strf("%.*s", (int)line_length(line) - 4, line + 4),
                                .line = i + 1};
    size_t begin = i + 3;
    if (begin >= lines->count || !line_is(lines->items[i + 1], "") ||
        !line_is(lines->items[i + 2], "```text")) {
        return true;
    }
    size_t end = begin;
    while (end < lines->count && !line_is(lines->items[end], "```")) {
        end++;
    }
    assert_true(end < lines->count);
    example->shown =
        sl_strf("%.*s", (int)(lines->items[end] - lines->items[begin]), lines->items[begin]);
    example->line = begin + 1;
    return true;
}

/* Blocks of output in the text, to be counted against those that have a command. */
static size_t count_blocks(const struct lines *lines)
{
    size_t n = 0;
    for (size_t i = 0; i < lines->count; i++) {
        n += line_is(lines->items[i], "```text") ? 1 : 0;
    }
    return n;
}

static void the_readme_shows_what_the_program_prints(void **state)
{
    (void)state;
    struct sl_ran file = sl_run("cat README.md");
    struct lines lines = lines_of(file.out, file.out + strlen(file.out));
    char *folder = sl_scratch_make();
    struct example example;
    size_t n_bad = 0;
    size_t n_shown = 0;
    for (size_t i = 0; i < lines.count; i++) {
        if (find_example(&lines, i, &example)) {
            n_shown += example.shown != NULL ? 1 : 0;
            n_bad += runs_as_shown("README.md", folder, &example) ? 0 : 1;
            free(example.command);
            free(example.shown);
        }
    }
    size_t n_blocks = count_blocks(&lines);
    sl_scratch_remove(folder);
    free(lines.items);
    sl_ran_clear(&file);
    assert_int_equal(n_bad, 0);
    assert_true(n_shown > 0);
    assert_int_equal(n_shown, n_blocks); /* no block that nothing holds */
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_difference_is_found_and_what_is_left_out_is_not_one),
        cmocka_unit_test(the_readme_shows_what_the_program_prints),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
