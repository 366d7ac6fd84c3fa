#include "files/mark_lines.h"

#include "core/str.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "support/random.h"
#include "support/temp_folder.h"

#define PHASE(id, heard, unclear)                                                                  \
    "{\"phase\":\"" id "\",\"heard\":" heard ",\"unclear\":" unclear ",\"settled\":null}"
#define FAULT(kind, phase) "{\"kind\":\"" kind "\",\"phase\":\"" phase "\"}"
#define MARK(file, overall, faults, phases)                                                        \
    "{\"schema\":\"sayline-mark-2\",\"file\":\"" file                                              \
    "\",\"junction\":\"t-left-open\",\"routine\":\"r\",\"faults\":[" faults                        \
    "],\"phases\":[" phases "],\"scores\":{\"overall\":" overall "}}\n"
#define BOTH PHASE("mirrors", "true", "false") "," PHASE("signal", "false", "true")

static const char *const lines[] = {
    MARK("b.wav", "70.1", FAULT("late", "mirrors"), BOTH),
    MARK("a.wav", "80.2", "", BOTH),
    MARK("c.wav", "90.3", FAULT("late", "mirrors") "," FAULT("extra", "mirrors"), BOTH),
    "{\"schema\":\"sayline-error-1\",\"file\":\"d.wav\",\"error\":{\"what\":\"it is empty\"}}\n",
    MARK("e.wav", "10.7", FAULT("missed", "signal"),
         PHASE("mirrors", "true", "false") "," PHASE("signal", "false", "false")),
};
#define N_LINES (sizeof lines / sizeof *lines)

static enum sl_status add_text(const struct temp_folder *folder, const char *text,
                               struct sl_tally *tally, struct sl_error *error)
{
    char path[TEMP_PATH_MAX];
    temp_folder_name(folder, "marks.jsonl", path);
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    assert_true(fputs(text, file) >= 0);
    assert_int_equal(fclose(file), 0);
    return sl_mark_lines_add(path, tally, error);
}

/* Whatever the order and the split, the same report. */
static void order_and_split_make_no_difference(void **state)
{
    (void)state;
    struct temp_folder folder;
    uint64_t random = 20250101;
    char *first = NULL;
    assert_int_equal(temp_folder_make(&folder), 0);
    for (int turn = 0; turn < 50; turn++) {
        size_t order[N_LINES];
        for (size_t i = 0; i < N_LINES; i++) {
            size_t other = (size_t)random_below(&random, (uint32_t)i + 1);
            order[i] = order[other];
            order[other] = i;
        }
        struct sl_tally tally = {0};
        struct sl_str text = {0};
        for (size_t i = 0; i < N_LINES; i++) {
            sl_str_add(&text, lines[order[i]]);
            if (i + 1 == N_LINES || random_below(&random, 2) == 0) {
                assert_int_equal(add_text(&folder, sl_str_text(&text), &tally, NULL), SL_OK);
                sl_str_clear(&text);
            }
        }
        char *json = NULL;
        assert_int_equal(sl_tally_sort(&tally, NULL), SL_OK);
        assert_int_equal(sl_tally_to_json(&tally, &json, NULL), SL_OK);
        if (first == NULL) {
            first = json;
            json = NULL;
        } else {
            assert_string_equal(json, first);
        }
        free(json);
        sl_tally_clear(&tally);
    }
    assert_non_null(strstr(first, "\"overall\":62.825"));
    assert_non_null(strstr(first,
                           "{\"routine\":\"r\",\"phase\":\"mirrors\",\"recordings\":4,\"heard\":4,"
                           "\"unclear\":0,\"settled\":0,\"missed\":0,\"out-of-order\":0,"
                           "\"wrong-setting\":0,\"early\":0,\"late\":2,\"extra\":1}"));
    assert_non_null(strstr(first,
                           "{\"routine\":\"r\",\"phase\":\"signal\",\"recordings\":4,\"heard\":0,"
                           "\"unclear\":3,\"settled\":0,\"missed\":1,"));
    assert_non_null(strstr(first, "\"failed\":[{\"file\":\"d.wav\",\"what\":\"it is empty\"}]"));
    free(first);
    temp_folder_remove(&folder);
}

static void a_recording_that_is_there_twice_is_refused(void **state)
{
    (void)state;
    struct temp_folder folder;
    struct sl_tally tally = {0};
    struct sl_error error = {0};
    char text[4096];
    assert_int_equal(temp_folder_make(&folder), 0);
    snprintf(text, sizeof text, "%s%s\n%s", lines[0], lines[1], lines[0]);
    assert_int_equal(add_text(&folder, text, &tally, NULL), SL_OK);
    assert_int_equal(sl_tally_sort(&tally, &error), SL_INVALID);
    assert_non_null(strstr(error.what, "b.wav is there twice"));
    assert_non_null(strstr(error.what, "marks.jsonl:1"));
    assert_non_null(strstr(error.where, "marks.jsonl:4")); /* the empty line counts */
    sl_error_clear(&error);
    sl_tally_clear(&tally);
    temp_folder_remove(&folder);
}

static void broken_lines_are_refused_by_name(void **state)
{
    (void)state;
    static const struct {
        const char *name, *line;
    } rows[] = {
        {"cut off", "{\"schema\":\"sayline-mark-2\",\"file\":\"a.w"},
        {"no object", "[]"},
        {"no JSON", "sayline: no such file"},
        {"two on a line", "{} {}"},
        {"another schema", "{\"schema\":\"sayline-mark-1\",\"file\":\"a.wav\"}"},
        {"no schema", "{}"},
        {"no phases", MARK("a.wav", "1", "", "")},
        {"a score that is none", MARK("a.wav", "\"high\"", "", BOTH)},
        {"an unknown fault", MARK("a.wav", "1", FAULT("odd", "mirrors"), BOTH)},
        {"a fault of no phase", MARK("a.wav", "1", FAULT("late", "horn"), BOTH)},
        {"an unknown end of a drive",
         MARK("a.wav", "1},\"drive\":[\"odd\"],\"then\":{\"n\":1", "", BOTH)},
        {"a drive that is no list", MARK("a.wav", "1},\"drive\":{\"n\":1", "", BOTH)},
        {"a phase twice", MARK("a.wav", "1", "", BOTH "," BOTH)},
    };
    struct temp_folder folder;
    assert_int_equal(temp_folder_make(&folder), 0);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sl_tally tally = {0};
        struct sl_error error = {0};
        char text[4096];
        snprintf(text, sizeof text, "%s%s", lines[1], rows[i].line);
        if (add_text(&folder, text, &tally, &error) != SL_FORMAT ||
            strstr(error.where, "marks.jsonl:2") == NULL) {
            fail_msg("%s: %s", rows[i].name, error.where);
        }
        sl_error_clear(&error);
        sl_tally_clear(&tally);
    }
    temp_folder_remove(&folder);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(order_and_split_make_no_difference),
        cmocka_unit_test(a_recording_that_is_there_twice_is_refused),
        cmocka_unit_test(broken_lines_are_refused_by_name),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
