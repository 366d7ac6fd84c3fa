#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdlib.h>
#include <string.h>

#include "core/str.h"
#include "files/cue_manifest.h"
#include "support/near.h"
#include "support/temp_folder.h"

static void a_manifest_that_is_written_is_read_again(void **state)
{
    (void)state;
    struct temp_folder folder;
    assert_int_equal(temp_folder_make(&folder), 0);
    struct sl_cue_manifest made = {.folder = sl_strdup(folder.path),
                                   .title = sl_strdup("Cues \"in quotes\""),
                                   .origin = sl_strdup("back\\slash: #5")};
    struct sl_cue_entry one = {"Turn left.", "turn-left.flac", 0.85, -23.04, -6.2};
    struct sl_cue_entry two = {"Mirrors?", "mirrors.flac", 0.5, -22.6, -4};
    assert_int_equal(sl_cue_manifest_put(&made, &one, NULL), SL_OK);
    assert_int_equal(sl_cue_manifest_put(&made, &two, NULL), SL_OK);
    assert_int_equal(sl_save_cue_manifest(&made, NULL), SL_OK);
    struct sl_cue_manifest again = {0};
    assert_int_equal(sl_load_cue_manifest(folder.path, &again, NULL), SL_OK);
    assert_string_equal(again.title, made.title);
    assert_string_equal(again.origin, made.origin);
    assert_int_equal(again.n_entries, 2);
    const struct sl_cue_entry *entry = sl_cue_manifest_find(&again, "Turn left.");
    assert_non_null(entry);
    assert_string_equal(entry->file, "turn-left.flac");
    assert_near(entry->length_s, 0.85, 1e-9);
    assert_near(entry->lufs, -23.0, 1e-9);
    assert_near(entry->dbtp, -6.2, 1e-9);
    assert_null(sl_cue_manifest_find(&again, "turn left."));
    assert_int_equal(temp_folder_count(&folder, 0), 1); /* nothing half written */
    sl_cue_manifest_clear(&made);
    sl_cue_manifest_clear(&again);
    temp_folder_remove(&folder);
}

static void a_text_that_is_put_again_replaces_the_first(void **state)
{
    (void)state;
    struct sl_cue_manifest manifest = {0};
    struct sl_cue_entry one = {"Line.", "a.flac", 1, -23, -6};
    struct sl_cue_entry two = {"Line.", "b.flac", 2, -23, -6};
    assert_int_equal(sl_cue_manifest_put(&manifest, &one, NULL), SL_OK);
    assert_int_equal(sl_cue_manifest_put(&manifest, &two, NULL), SL_OK);
    assert_int_equal(manifest.n_entries, 1);
    assert_string_equal(sl_cue_manifest_find(&manifest, "Line.")->file, "b.flac");
    sl_cue_manifest_clear(&manifest);
}

#define ENTRY "  - {text: A., file: a.flac, length: 1 s, lufs: -23, dbtp: -6}\n"

static const struct {
    const char *name, *text, *where;
} refused[] = {
    {"no cues", "title: x\n", "p"},
    {"an unknown key", "cues: []\nvoice: awb\n", "p:2:1"},
    {"cues that are no list", "cues: yes\n", "p:1:7"},
    {"a cue without a text", "cues:\n  - {file: a.flac, length: 1 s, lufs: -23, dbtp: -6}\n",
     "p:2:5"},
    {"a path as a file",
     "cues:\n  - {text: A., file: ../a.flac, length: 1 s, lufs: -23, dbtp: 0}\n", "p:2:22"},
    {"a hidden file", "cues:\n  - {text: A., file: .a, length: 1 s, lufs: -23, dbtp: 0}\n",
     "p:2:22"},
    {"a text given twice", "cues:\n" ENTRY ENTRY, "p:3:12"},
    {"a length without a unit", "cues:\n  - {text: A., file: a, length: 1, lufs: -23, dbtp: 0}\n",
     "p:2:33"},
    {"a length beyond all cues",
     "cues:\n  - {text: A., file: a, length: 31 s, lufs: -23, dbtp: 0}\n", "p:2:33"},
};

static void a_bad_manifest_is_refused_with_its_place(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof refused / sizeof *refused; i++) {
        struct sl_error error = {0};
        struct sl_cue_manifest manifest = {0};
        if (sl_parse_cue_manifest(refused[i].text, "p", "f", &manifest, &error) != SL_INVALID) {
            fail_msg("%s was taken", refused[i].name);
        }
        if (strncmp(error.where, refused[i].where, strlen(refused[i].where)) != 0) {
            fail_msg("%s: %s, not %s", refused[i].name, error.where, refused[i].where);
        }
        assert_non_null(error.mend);
        assert_int_equal(manifest.n_entries, 0);
        sl_error_clear(&error);
    }
}

static void file_names_are_plain(void **state)
{
    (void)state;
    static const char *const rows[][2] = {
        {"T-junction.", "t-junction.flac"},
        {"Two hundred and forty metres.", "two-hundred-and-forty-metres.flac"},
        {"../x", "x.flac"},
        {"?!", "cue.flac"},
        {"", "cue.flac"},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char *name = sl_cue_file_name(rows[i][0]);
        assert_string_equal(name, rows[i][1]);
        free(name);
    }
}

static void the_shipped_pack_is_found_by_name_and_others_are_not(void **state)
{
    (void)state;
    char *folder = NULL;
    struct sl_error error = {0};
    assert_int_equal(sl_cue_pack_folder("scots", &folder, NULL), SL_OK);
    assert_non_null(strstr(folder, "cues/scots"));
    free(folder);
    static const char *const names[] = {"no-such-pack", "", "..", "./no-such-folder"};
    for (size_t i = 0; i < sizeof names / sizeof *names; i++) {
        assert_int_equal(sl_cue_pack_folder(names[i], &folder, &error), SL_NOT_FOUND);
        assert_non_null(error.mend);
        sl_error_clear(&error);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_manifest_that_is_written_is_read_again),
        cmocka_unit_test(a_text_that_is_put_again_replaces_the_first),
        cmocka_unit_test(a_bad_manifest_is_refused_with_its_place),
        cmocka_unit_test(file_names_are_plain),
        cmocka_unit_test(the_shipped_pack_is_found_by_name_and_others_are_not),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
