#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <fcntl.h>
#include <stdio.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>

#include "core/str.h"
#include "files/mark_cache.h"
#include "files/models.h"
#include "files/path.h"
#include "files/scratch.h"
#include "support/temp_folder.h"

#define LINE                                                                                       \
    "{\"schema\":\"sayline-mark-2\",\"file\":\"a.flac\",\"junction\":\"t-left-open\","             \
    "\"routine\":\"decide-last\",\"faults\":[],\"phases\":[{\"phase\":\"gear\",\"heard\":true,"    \
    "\"unclear\":false,\"settled\":null}],\"scores\":{\"overall\":90}}"

/* What a mark is kept for. */
struct scene {
    struct temp_folder folder;
    struct sl_routine routine;
    struct sl_junction junction;
    struct sl_car car;
    struct sl_plan plan;
    char recording[TEMP_PATH_MAX], model[TEMP_PATH_MAX];
};

static void write_file(const char *path, const char *text)
{
    FILE *file = fopen(path, "w");
    assert_non_null(file);
    assert_true(fputs(text, file) >= 0);
    assert_int_equal(fclose(file), 0);
}

static int set_scene(void **state)
{
    struct scene *scene = calloc(1, sizeof *scene);
    *state = scene;
    assert_int_equal(temp_folder_make(&scene->folder), 0);
    assert_int_equal(setenv("XDG_CACHE_HOME", scene->folder.path, 1), 0);
    temp_folder_name(&scene->folder, "a.flac", scene->recording);
    temp_folder_name(&scene->folder, "model", scene->model);
    write_file(scene->recording, "sound");
    write_file(scene->model, "words");
    assert_int_equal(sl_load_routine("decide-last", &scene->routine, NULL), SL_OK);
    assert_int_equal(sl_load_junction("t-left-open", &scene->junction, NULL), SL_OK);
    assert_int_equal(sl_load_car("small-petrol", &scene->car, NULL), SL_OK);
    return sl_plan_make(&scene->junction, &scene->routine, &scene->car, &scene->plan, NULL);
}

static int clear_scene(void **state)
{
    struct scene *scene = *state;
    sl_routine_clear(&scene->routine);
    sl_junction_clear(&scene->junction);
    sl_car_clear(&scene->car);
    sl_remove_folder(scene->folder.path);
    free(scene);
    return unsetenv("XDG_CACHE_HOME");
}

/* Where a mark of the recording is, perhaps of a drive; the cache is opened anew each time. */
static char *place_of_kind(const struct scene *scene, double from_s, bool driven)
{
    struct sl_mark_cache cache;
    const char *const models[] = {scene->model};
    const struct sl_planned against = {&scene->plan, &scene->junction, &scene->routine,
                                       &scene->car};
    const struct sl_mark_cache_key key = {&against, from_s, driven, scene->recording};
    sl_mark_cache_open(&cache, models, 1);
    char *path = sl_mark_cache_path(&cache, &key);
    sl_mark_cache_close(&cache);
    return path;
}

static char *place_of(const struct scene *scene, double from_s)
{
    return place_of_kind(scene, from_s, false);
}

static bool found(const struct scene *scene, double from_s)
{
    struct sl_tally tally = {0};
    char *path = place_of(scene, from_s);
    bool there = sl_mark_cache_find(path, &tally);
    assert_int_equal(tally.n_runs, there ? 1 : 0);
    if (there) {
        assert_int_equal(tally.runs[0].overall, 90);
    }
    sl_tally_clear(&tally);
    free(path);
    return there;
}

static void keep(const struct scene *scene, double from_s)
{
    char *path = place_of(scene, from_s);
    assert_non_null(path);
    sl_mark_cache_keep(path, LINE);
    free(path);
}

static void a_mark_is_found_again_where_all_is_the_same(void **state)
{
    struct scene *scene = *state;
    assert_false(found(scene, 1.5));
    keep(scene, 1.5);
    assert_true(found(scene, 1.5));
    assert_false(found(scene, 1.5 + 1e-9));
    write_file(scene->recording, "Sound");
    assert_false(found(scene, 1.5));
    write_file(scene->recording, "sound");
    assert_true(found(scene, 1.5));
    write_file(scene->model, "other words");
    assert_false(found(scene, 1.5));
    write_file(scene->model, "words");
    assert_true(found(scene, 1.5));
    scene->junction.approach_mps *= 0.9;
    assert_int_equal(
        sl_plan_make(&scene->junction, &scene->routine, &scene->car, &scene->plan, NULL), SL_OK);
    assert_false(found(scene, 1.5));
}

/* Nor does a rehearsal's mark stand for a drive's, or one drive's for another with others there. */
static void a_drive_has_a_mark_of_its_own(void **state)
{
    struct scene *scene = *state;
    char *rehearsed = place_of(scene, 0);
    char *driven = place_of_kind(scene, 0, true);
    scene->junction.traffic = SL_TRAFFIC_BUSY;
    char *busy = place_of_kind(scene, 0, true);
    assert_string_not_equal(rehearsed, driven);
    assert_string_not_equal(driven, busy);
    free(rehearsed);
    free(driven);
    free(busy);
}

static void a_broken_line_is_made_again(void **state)
{
    const struct scene *scene = *state;
    char *path = place_of(scene, 0);
    sl_mark_cache_keep(path, "{\"schema\":\"sayline-mark-2\"");
    free(path);
    assert_false(found(scene, 0));
    keep(scene, 0);
    assert_true(found(scene, 0));
}

static void what_nobody_asks_for_is_removed(void **state)
{
    const struct scene *scene = *state;
    struct stat like;
    const time_t day_s = 24 * 60 * 60;
    char *path = place_of(scene, 0);
    keep(scene, 0);
    struct timespec times[2] = {{.tv_nsec = UTIME_NOW},
                                {.tv_sec = time(NULL) - (SL_MARK_CACHE_DAYS - 1) * day_s}};
    assert_int_equal(utimensat(AT_FDCWD, path, times, 0), 0);
    assert_true(found(scene, 0));
    assert_int_equal(stat(path, &like), 0);
    assert_true(like.st_mtime > time(NULL) - day_s); /* asked for now */
    times[1].tv_sec = time(NULL) - (SL_MARK_CACHE_DAYS + 1) * day_s;
    assert_int_equal(utimensat(AT_FDCWD, path, times, 0), 0);
    assert_false(found(scene, 0));
    assert_false(sl_path_exists(path));
    free(path);
}

static void without_a_model_or_a_recording_nothing_is_kept(void **state)
{
    const struct scene *scene = *state;
    assert_int_equal(remove(scene->recording), 0);
    assert_null(place_of(scene, 0));
    write_file(scene->recording, "sound");
    assert_int_equal(remove(scene->model), 0);
    assert_null(place_of(scene, 0));
    sl_mark_cache_keep(NULL, LINE);
    assert_false(sl_mark_cache_find(NULL, NULL));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_mark_is_found_again_where_all_is_the_same, set_scene,
                                        clear_scene),
        cmocka_unit_test_setup_teardown(a_drive_has_a_mark_of_its_own, set_scene, clear_scene),
        cmocka_unit_test_setup_teardown(a_broken_line_is_made_again, set_scene, clear_scene),
        cmocka_unit_test_setup_teardown(what_nobody_asks_for_is_removed, set_scene, clear_scene),
        cmocka_unit_test_setup_teardown(without_a_model_or_a_recording_nothing_is_kept, set_scene,
                                        clear_scene),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
