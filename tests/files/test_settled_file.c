#include "files/settled_file.h"

#include "core/str.h"
#include "files/path.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "support/routine_fixture.h"

#include <stdio.h>
#include <string.h>
#include <unistd.h>

struct scene {
    char folder[64];
    char *recording, *file;
    struct sl_routine routine;
    struct sl_junction junction;
    struct sl_task task;
};

static void write_text(const char *path, const char *text)
{
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    assert_true(fputs(text, file) >= 0);
    assert_int_equal(fclose(file), 0);
}

static int set_up(void **state)
{
    struct scene *scene = calloc(1, sizeof *scene);
    strcpy(scene->folder, "/tmp/sayline-settled-XXXXXX");
    assert_non_null(mkdtemp(scene->folder));
    scene->recording = sl_strf("%s/run.1.flac", scene->folder);
    scene->file = sl_settled_path(scene->recording);
    scene->routine = fixture_routine();
    scene->junction = fixture_junction();
    free(scene->junction.name);
    scene->junction.name = sl_strdup("fixture-junction");
    scene->task = (struct sl_task){.routine = &scene->routine, .junction = &scene->junction};
    write_text(scene->recording, "sound");
    *state = scene;
    return 0;
}

static int tear_down(void **state)
{
    struct scene *scene = *state;
    unlink(scene->recording);
    unlink(scene->file);
    rmdir(scene->folder);
    sl_routine_clear(&scene->routine);
    sl_junction_clear(&scene->junction);
    free(scene->recording);
    free(scene->file);
    free(scene);
    return 0;
}

static void save_some(const struct scene *scene)
{
    char name[] = "A. Tutor";
    struct sl_settled_file settled = {.by = name};
    settled.settlements.phases[GEAR] = (struct sl_settlement){SL_SETTLED_RIGHT, 17.25};
    settled.settlements.phases[SIGNAL] = (struct sl_settlement){SL_SETTLED_MISSED, NAN};
    assert_int_equal(sl_settled_save(scene->recording, &scene->task, &settled, NULL), SL_OK);
}

static void what_is_saved_is_loaded(void **state)
{
    const struct scene *scene = *state;
    struct sl_settled_file settled = {0};
    save_some(scene);
    assert_int_equal(sl_settled_load(scene->recording, &scene->task, &settled, NULL), SL_OK);
    assert_int_equal(settled.settlements.phases[GEAR].as, SL_SETTLED_RIGHT);
    assert_true(settled.settlements.phases[GEAR].at_s == 17.25);
    assert_int_equal(settled.settlements.phases[SIGNAL].as, SL_SETTLED_MISSED);
    assert_true(isnan(settled.settlements.phases[SIGNAL].at_s));
    assert_int_equal(settled.settlements.phases[MIRRORS].as, SL_SETTLED_NOT);
    assert_string_equal(settled.by, "A. Tutor");
    assert_null(settled.on);
    sl_settled_clear(&settled);
    assert_int_equal(sl_settled_remove(scene->recording, NULL), SL_OK);
    assert_int_equal(sl_settled_remove(scene->recording, NULL), SL_NOT_FOUND);
    assert_int_equal(sl_settled_load(scene->recording, &scene->task, &settled, NULL), SL_NOT_FOUND);
}

static void another_recording_junction_or_routine_is_refused(void **state)
{
    struct scene *scene = *state;
    struct sl_settled_file settled = {0};
    struct sl_error error = {0};
    save_some(scene);
    static const char *const others[] = {"Sound", "sound.", "soun", ""};
    for (size_t i = 0; i < sizeof others / sizeof *others; i++) {
        write_text(scene->recording, others[i]);
        assert_int_equal(sl_settled_load(scene->recording, &scene->task, &settled, &error),
                         SL_INVALID);
        assert_non_null(strstr(error.what, "it was changed since"));
        assert_non_null(strstr(error.mend, "--no-settled"));
    }
    write_text(scene->recording, "sound");
    char **names[] = {&scene->junction.name, &scene->routine.name};
    for (size_t i = 0; i < 2; i++) {
        char *kept = *names[i];
        char other[] = "other";
        *names[i] = other;
        assert_int_equal(sl_settled_load(scene->recording, &scene->task, &settled, &error),
                         SL_INVALID);
        assert_non_null(strstr(error.what, "another junction or routine"));
        *names[i] = kept;
    }
    sl_error_clear(&error);
}

/* The file with one thing changed. */
static void broken_files_are_refused_by_name(void **state)
{
    const struct scene *scene = *state;
    static const struct {
        const char *name, *from, *to;
    } rows[] = {
        {"another version", "\"format\":1", "\"format\":2"},
        {"unknown phase", "\"phase\":\"gear\"", "\"phase\":\"geer\""},
        {"the same phase twice", "\"phase\":\"gear\"", "\"phase\":\"signal\""},
        {"unknown decision", "\"as\":\"right\"", "\"as\":\"fine\""},
        {"no list", "\"settled\":[", "\"others\":["},
        {"before the recording", "17.25", "-1"},
        {"far behind it", "17.25", "1e9"},
        {"who is a number", "\"A. Tutor\"", "7"},
        {"cut off", "\"by\"", ""},
    };
    save_some(scene);
    struct sl_str text = {0};
    assert_int_equal(sl_read_text_file(scene->file, 65536, &text, NULL), SL_OK);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const char *at = strstr(sl_str_text(&text), rows[i].from);
        assert_non_null(at);
        char *changed = rows[i].to[0] == '\0'
                            ? sl_strf("%.*s", (int)(at - text.text), text.text)
                            : sl_strf("%.*s%s%s", (int)(at - text.text), text.text, rows[i].to,
                                      at + strlen(rows[i].from));
        write_text(scene->file, changed);
        struct sl_settled_file settled = {0};
        struct sl_error error = {0};
        if (sl_settled_load(scene->recording, &scene->task, &settled, &error) != SL_FORMAT) {
            fail_msg("%s: %s", rows[i].name, error.what);
        }
        assert_string_equal(error.where, scene->file);
        sl_error_clear(&error);
        free(changed);
    }
    sl_str_clear(&text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(what_is_saved_is_loaded, set_up, tear_down),
        cmocka_unit_test_setup_teardown(another_recording_junction_or_routine_is_refused, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(broken_files_are_refused_by_name, set_up, tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
