#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#include "core/str.h"
#include "practice/cue_pack.h"
#include "support/near.h"
#include "support/temp_folder.h"

struct scene {
    struct temp_folder folder;
    struct sl_cue_manifest pack; /* the shipped one */
    struct sl_cue_texts texts;   /* of every junction that ships */
    struct sl_cue_findings findings;
};

static int set_up(void **state)
{
    struct scene *scene = calloc(1, sizeof *scene);
    char *folder = NULL;
    assert_int_equal(temp_folder_make(&scene->folder), 0);
    assert_int_equal(sl_cue_pack_folder("scots", &folder, NULL), SL_OK);
    assert_int_equal(sl_load_cue_manifest(folder, &scene->pack, NULL), SL_OK);
    assert_int_equal(sl_cue_texts_collect(NULL, 0, &scene->texts, NULL), SL_OK);
    free(folder);
    *state = scene;
    return 0;
}

static int tear_down(void **state)
{
    struct scene *scene = *state;
    temp_folder_remove(&scene->folder);
    sl_cue_manifest_clear(&scene->pack);
    sl_cue_texts_clear(&scene->texts);
    sl_cue_findings_clear(&scene->findings);
    free(scene);
    return 0;
}

/* Also: every manifest figure is the file's, every file is within 1 LU of -23 LUFS (EBU R 128's
 * programme level) and its true peak at most -1 dBTP. */
static void the_shipped_pack_has_every_cue_of_every_shipped_junction_at_its_level(void **state)
{
    struct scene *scene = *state;
    assert_true(scene->texts.count > 30);
    assert_int_equal(sl_cue_pack_check(&scene->pack, &scene->texts, &scene->findings, NULL), SL_OK);
    for (size_t i = 0; i < scene->findings.count; i++) {
        const struct sl_cue_finding *finding = &scene->findings.items[i];
        struct sl_str flaws = {0};
        sl_cue_flaws_add(&flaws, finding->flaws);
        if (finding->flaws != 0) {
            fail_msg("%s %s", finding->text, sl_str_text(&flaws));
        }
        sl_str_clear(&flaws);
        assert_near(finding->lufs, -23.0, 1.0);
        assert_true(finding->dbtp <= -1.0);
    }
    assert_int_equal(scene->findings.n_flawed, 0);
    assert_int_equal(scene->findings.count, scene->pack.n_entries); /* nothing needless */
}

static void the_shipped_pack_is_small(void **state)
{
    const struct scene *scene = *state;
    long long bytes = 0;
    for (size_t i = 0; i < scene->pack.n_entries; i++) {
        char *path = sl_cue_entry_path(&scene->pack, &scene->pack.entries[i]);
        struct stat info;
        assert_int_equal(stat(path, &info), 0);
        bytes += info.st_size;
        free(path);
    }
    assert_true(bytes > 100000 && bytes < 2000000);
}

static struct sl_clip tone(double amplitude, double length_s)
{
    struct sl_clip clip = {0};
    size_t n = (size_t)(length_s * SL_CLIP_RATE_HZ);
    assert_int_equal(sl_clip_append(&clip, NULL, n, NULL), SL_OK);
    for (size_t i = 0; i < n; i++) {
        clip.samples[i] = (int16_t)(amplitude * 32767 * sin(0.4 * (double)i));
    }
    return clip;
}

/* What is put into a pack, and what the check says of it. */
static const struct {
    const char *name;
    double amplitude, length_s;
    unsigned flaws;
} rows[] = {
    {"right", 0.1, 1.0, 0},
    {"too loud", 0.3, 1.0, SL_CUE_TOO_LOUD},
    {"too quiet", 0.03, 1.0, SL_CUE_TOO_QUIET},
    {"clipped", 1.0, 1.0, (unsigned)SL_CUE_TOO_LOUD | SL_CUE_CLIPPED},
    {"too long", 0.1, 2.0, SL_CUE_TOO_LONG},
};

static void flaws_of_a_pack_are_found(void **state)
{
    struct scene *scene = *state;
    static char text[] = "Line.";
    char *items[] = {text};
    struct sl_cue_texts texts = {.items = items, .count = 1};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sl_cue_manifest pack = {0};
        struct sl_clip clip = tone(rows[i].amplitude, rows[i].length_s);
        assert_int_equal(sl_cue_pack_begin(scene->folder.path, &pack, NULL), SL_OK);
        assert_int_equal(sl_cue_pack_put(&pack, text, &clip, NULL), SL_OK);
        assert_int_equal(sl_cue_pack_check(&pack, &texts, &scene->findings, NULL), SL_OK);
        if (scene->findings.items[0].flaws != rows[i].flaws) {
            fail_msg("%s: flaws %u", rows[i].name, scene->findings.items[0].flaws);
        }
        sl_clip_clear(&clip);
        sl_cue_manifest_clear(&pack);
    }
}

static void a_missing_cue_a_missing_file_and_a_changed_file_are_found(void **state)
{
    struct scene *scene = *state;
    static char there[] = "Line.";
    static char not_there[] = "Turn left.";
    char *items[] = {there, not_there};
    struct sl_cue_texts texts = {.items = items, .count = 2};
    struct sl_cue_manifest pack = {0};
    struct sl_clip clip = tone(0.1, 0.8);
    char path[TEMP_PATH_MAX];
    assert_int_equal(sl_cue_pack_begin(scene->folder.path, &pack, NULL), SL_OK);
    assert_int_equal(sl_cue_pack_put(&pack, there, &clip, NULL), SL_OK);
    clip.n = clip.n * 9 / 10;
    temp_folder_name(&scene->folder, "line.flac", path);
    assert_int_equal(sl_clip_save(path, &clip, NULL), SL_OK);
    assert_int_equal(sl_cue_pack_check(&pack, &texts, &scene->findings, NULL), SL_OK);
    assert_int_equal(scene->findings.items[0].flaws, SL_CUE_CHANGED);
    assert_int_equal(scene->findings.items[1].flaws, SL_CUE_MISSING);
    assert_int_equal(unlink(path), 0);
    assert_int_equal(sl_cue_pack_check(&pack, &texts, &scene->findings, NULL), SL_OK);
    assert_int_equal(scene->findings.items[0].flaws, SL_CUE_NO_FILE);
    assert_int_equal(scene->findings.n_flawed, 2);
    sl_clip_clear(&clip);
    sl_cue_manifest_clear(&pack);
}

static void a_rendered_pack_is_right_and_can_be_added_to(void **state)
{
    struct scene *scene = *state;
    static const char *const junctions[] = {"example-stop-line"};
    struct sl_cue_texts texts = {0};
    struct sl_cue_manifest pack = {0};
    assert_int_equal(sl_cue_texts_collect(junctions, 1, &texts, NULL), SL_OK);
    assert_in_range(texts.count, 12, 30);
    assert_int_equal(sl_cue_pack_begin(scene->folder.path, &pack, NULL), SL_OK);
    size_t all = texts.count;
    texts.count = 3;
    assert_int_equal(sl_cue_pack_render(&pack, &texts, "slt", NULL), SL_OK);
    sl_cue_manifest_clear(&pack);
    assert_int_equal(sl_cue_pack_begin(scene->folder.path, &pack, NULL), SL_OK);
    assert_int_equal(pack.n_entries, 3);
    assert_int_equal(sl_cue_pack_check(&pack, &texts, &scene->findings, NULL), SL_OK);
    assert_int_equal(scene->findings.n_flawed, 0);
    texts.count = all;
    sl_cue_texts_clear(&texts);
    sl_cue_manifest_clear(&pack);
}

static void a_folder_that_cannot_be_made_is_an_error(void **state)
{
    (void)state;
    struct sl_cue_manifest pack = {0};
    struct sl_error error = {0};
    assert_int_equal(sl_cue_pack_begin("/proc/no/such", &pack, &error), SL_IO);
    assert_non_null(error.mend);
    sl_error_clear(&error);
}

int main(void)
{
#define WITH_SCENE(test) cmocka_unit_test_setup_teardown(test, set_up, tear_down)
    const struct CMUnitTest tests[] = {
        WITH_SCENE(the_shipped_pack_has_every_cue_of_every_shipped_junction_at_its_level),
        WITH_SCENE(the_shipped_pack_is_small),
        WITH_SCENE(flaws_of_a_pack_are_found),
        WITH_SCENE(a_missing_cue_a_missing_file_and_a_changed_file_are_found),
        WITH_SCENE(a_rendered_pack_is_right_and_can_be_added_to),
        cmocka_unit_test(a_folder_that_cannot_be_made_is_an_error),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
