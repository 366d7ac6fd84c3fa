/* Bags that mean harm or are broken are refused, each with its own message and by name. The bags
 * are made here, with libarchive. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <archive.h>
#include <archive_entry.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include "core/str.h"
#include "files/bag_reader.h"
#include "files/checksums.h"
#include "support/temp_folder.h"

#define COUNT_OF(list) (sizeof(list) / sizeof *(list))
#define MANIFEST "manifest-sha512.txt"
#define TAG_MANIFEST "tagmanifest-sha512.txt"
#define OTHER_MANIFEST "manifest-sha256.txt"
#define OTHER_TAG_MANIFEST "tagmanifest-sha256.txt"

/* How a bag differs from a right one. */
struct twist {
    const char *name;
    const char *word;     /* of the refusal; NULL: it is taken */
    const char *extra;    /* one more entry, below the bag's folder, or as it stands (raw) */
    size_t zeros;         /* its data */
    const char *drop;     /* an entry left out after the manifests were made */
    const char *spoil;    /* an entry whose data are changed then */
    const char *declared; /* bagit.txt */
    const char *oxum;
    const char *manifest_more; /* added to the manifest */
    size_t many;               /* so many more files */
    size_t cut;                /* per cent of the ZIP file that are left; 0: all */
    unsigned kind;             /* of the extra entry, AE_IF...; 0: a file */
    bool raw, listed;          /* the extra entry: see above; in the manifest that it belongs to */
    bool squeezed;             /* the whole ZIP file is compressed */
    enum { SHA512_ALONE, SHA256_ALONE, BOTH } kinds;
    const char *unlisted; /* an entry that the manifests of SHA-256 leave out */
};

struct entry {
    const char *name;
    struct sl_str data;
    unsigned kind;
};

struct making {
    const struct twist *twist;
    struct entry entries[16];
    size_t n;
};

static void put(struct making *making, const char *name, const char *data)
{
    struct entry *entry = &making->entries[making->n++];
    *entry = (struct entry){.name = name, .kind = AE_IFREG};
    sl_str_add(&entry->data, data);
}

static void list(struct sl_str *manifest, const char *name, const struct sl_str *data,
                 enum sl_checksum kind)
{
    struct sl_checksums sums;
    struct sl_checksums_hex hex;
    assert_true(sl_checksums_begin(&sums));
    sl_checksums_add(&sums, sl_str_text(data), data->length);
    sl_checksums_end(&sums, &hex);
    sl_str_addf(manifest, "%s  %s\n", hex.of[kind], name);
    sl_checksums_clear(&sums);
}

/* The manifest of the entries so far that are payload, or are not. */
static void put_manifest(struct making *making, const char *name, bool payload,
                         enum sl_checksum kind)
{
    const struct twist *twist = making->twist;
    struct sl_str manifest = {0};
    for (size_t i = 0; i < making->n; i++) {
        const struct entry *entry = &making->entries[i];
        bool hidden =
            twist->extra != NULL && strcmp(entry->name, twist->extra) == 0 && !twist->listed;
        hidden = hidden || strncmp(entry->name, "tagmanifest-", 12) == 0 ||
                 (kind == SL_CHECKSUM_SHA256 && twist->unlisted != NULL &&
                  strcmp(entry->name, twist->unlisted) == 0);
        if (!hidden && (strncmp(entry->name, "data/", 5) == 0) == payload) {
            list(&manifest, entry->name, &entry->data, kind);
        }
    }
    if (payload && twist->manifest_more != NULL) {
        sl_str_add(&manifest, twist->manifest_more);
    }
    put(making, name, sl_str_text(&manifest));
    sl_str_clear(&manifest);
}

static void make_entries(struct making *making)
{
    const struct twist *twist = making->twist;
    put(making, "data/set.yaml", "junctions: []\n");
    put(making, "data/runs/001.run.json", "{}\n");
    if (twist->extra != NULL) {
        put(making, twist->extra, "");
        struct entry *extra = &making->entries[making->n - 1];
        extra->kind = twist->kind != 0 ? twist->kind : AE_IFREG;
        static const char zeros[4096];
        for (size_t left = twist->zeros; left > 0;) {
            size_t some = left < sizeof zeros ? left : sizeof zeros;
            sl_str_add_bytes(&extra->data, zeros, some);
            left -= some;
        }
    }
    put(making, "bagit.txt",
        twist->declared != NULL ? twist->declared
                                : "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n");
    put(making, "bag-info.txt", "");
    sl_str_addf(&making->entries[making->n - 1].data,
                "Contact-Name: Ada\nPayload-Oxum: %s\nBagging-Date: 2026-03-14\n",
                twist->oxum != NULL ? twist->oxum : "17.2");
    bool sha512 = twist->kinds != SHA256_ALONE;
    bool sha256 = twist->kinds != SHA512_ALONE;
    if (sha512) {
        put_manifest(making, MANIFEST, true, SL_CHECKSUM_SHA512);
    }
    if (sha256) {
        put_manifest(making, OTHER_MANIFEST, true, SL_CHECKSUM_SHA256);
    }
    if (sha512) {
        put_manifest(making, TAG_MANIFEST, false, SL_CHECKSUM_SHA512);
    }
    if (sha256) {
        put_manifest(making, OTHER_TAG_MANIFEST, false, SL_CHECKSUM_SHA256);
    }
}

static void write_entry(struct archive *zip, const char *path, const struct entry *entry)
{
    struct archive_entry *header = archive_entry_new();
    archive_entry_set_pathname(header, path);
    archive_entry_set_filetype(header, entry->kind);
    archive_entry_set_perm(header, 0600);
    if (entry->kind == AE_IFLNK) {
        archive_entry_set_symlink(header, "/etc/hostname");
    } else {
        archive_entry_set_size(header, (la_int64_t)entry->data.length);
    }
    assert_int_equal(archive_write_header(zip, header), ARCHIVE_OK);
    if (entry->kind == AE_IFREG && entry->data.length > 0) {
        assert_true(archive_write_data(zip, entry->data.text, entry->data.length) >= 0);
    }
    archive_entry_free(header);
}

static void write_zip(const struct making *making, const char *path)
{
    const struct twist *twist = making->twist;
    struct archive *zip = archive_write_new();
    assert_int_equal(archive_write_set_format_zip(zip), ARCHIVE_OK);
    assert_int_equal(twist->squeezed ? archive_write_zip_set_compression_deflate(zip)
                                     : archive_write_zip_set_compression_store(zip),
                     ARCHIVE_OK);
    assert_int_equal(archive_write_open_filename(zip, path), ARCHIVE_OK);
    for (size_t i = 0; i < making->n; i++) {
        struct entry entry = making->entries[i];
        if (twist->drop != NULL && strcmp(twist->drop, entry.name) == 0) {
            continue;
        }
        if (twist->spoil != NULL && strcmp(twist->spoil, entry.name) == 0) {
            entry.data.text[0] ^= 1;
        }
        bool raw = twist->raw && twist->extra != NULL && strcmp(entry.name, twist->extra) == 0;
        char *name = raw ? sl_strdup(entry.name) : sl_strf("bag/%s", entry.name);
        write_entry(zip, name, &entry);
        free(name);
    }
    for (size_t i = 0; i < twist->many; i++) {
        char *name = sl_strf("bag/data/more/%zu", i);
        write_entry(zip, name, &(struct entry){.kind = AE_IFREG});
        free(name);
    }
    assert_int_equal(archive_write_close(zip), ARCHIVE_OK);
    archive_write_free(zip);
}

static void cut_off(const char *path, size_t per_cent)
{
    FILE *file = fopen(path, "r+b");
    assert_non_null(file);
    assert_int_equal(fseek(file, 0, SEEK_END), 0);
    long length = ftell(file);
    assert_int_equal(ftruncate(fileno(file), length * (long)per_cent / 100), 0);
    fclose(file);
}

static void check(const struct twist *twist)
{
    struct temp_folder folder;
    struct temp_folder out;
    struct making making = {.twist = twist};
    struct sl_bag_said said = {0};
    struct sl_error error = {0};
    char path[TEMP_PATH_MAX];
    assert_int_equal(temp_folder_make(&folder), 0);
    assert_int_equal(temp_folder_make(&out), 0);
    temp_folder_name(&folder, "bag.zip", path);
    make_entries(&making);
    write_zip(&making, path);
    if (twist->cut > 0) {
        cut_off(path, twist->cut);
    }
    enum sl_status status = sl_bag_unpack(path, out.path, &said, &error);
    bool right = twist->word == NULL ? status == SL_OK
                                     : status != SL_OK && strstr(error.what, twist->word) != NULL &&
                                           strcmp(error.where, path) == 0 && error.mend != NULL;
    if (!right) {
        fail_msg("%s: %d %s: %s", twist->name, (int)status, error.where, error.what);
    }
    if (status == SL_OK) {
        assert_string_equal(said.contact, "Ada");
        assert_string_equal(said.date, "2026-03-14");
        assert_int_equal(temp_folder_count(&out, 0), 1);
    }
    for (size_t i = 0; i < making.n; i++) {
        sl_str_clear(&making.entries[i].data);
    }
    sl_bag_said_clear(&said);
    sl_error_clear(&error);
    temp_folder_remove(&out);
    temp_folder_remove(&folder);
}

#define HEX16 "0123456789abcdef"
#define HEX128 HEX16 HEX16 HEX16 HEX16 HEX16 HEX16 HEX16 HEX16

static const struct twist right_bag = {.name = "right"};

static void right_bags_of_every_checksum_are_taken(void **state)
{
    (void)state;
    static const struct twist rows[] = {{.name = "SHA-256 alone", .kinds = SHA256_ALONE},
                                        {.name = "both", .kinds = BOTH}};
    check(&right_bag);
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        check(&rows[i]);
    }
}

static void hostile_names_and_kinds_are_refused(void **state)
{
    (void)state;
    static const struct twist rows[] = {
        {.name = "absolute", .extra = "/tmp/x", .raw = true, .word = "absolute"},
        {.name = "drive", .extra = "C:/x", .raw = true, .word = "absolute"},
        {.name = "up", .extra = "data/../../x", .word = "data/../../x: the path leads out"},
        {.name = "up at once", .extra = "../x", .raw = true, .word = "leads out"},
        {.name = "home", .extra = "~/x", .raw = true, .word = "home folder"},
        {.name = "home inside", .extra = "data/~root/x", .word = "home folder"},
        {.name = "backslash", .extra = "data\\..\\x", .word = "backslash"},
        {.name = "dot", .extra = "data/./x", .word = "empty part"},
        {.name = "doubled slash", .extra = "data//x", .word = "empty part"},
        {.name = "outside", .extra = "other/x", .raw = true, .word = "outside"},
        {.name = "control", .extra = "data/a\nb", .word = "other characters"},
        {.name = "composed", .extra = "data/caf\xc3\xa9", .word = "other characters"},
        {.name = "decomposed", .extra = "data/cafe\xcc\x81", .word = "other characters"},
        {.name = "link", .extra = "data/runs/001.flac", .kind = AE_IFLNK, .word = "link"},
        {.name = "twice", .extra = "data/set.yaml", .word = "twice"},
        {.name = "other capitals", .extra = "data/SET.yaml", .word = "twice"},
        {.name = "tag in capitals", .extra = "BagIt.txt", .word = "twice"},
    };
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        check(&rows[i]);
    }
}

static void bombs_are_refused(void **state)
{
    (void)state;
    static const struct twist rows[] = {
        {.name = "ratio",
         .extra = "data/runs/001.flac",
         .zeros = (size_t)8 << 20,
         .squeezed = true,
         .listed = true,
         .word = "far more"},
        {.name = "large",
         .extra = "data/runs/001.flac",
         .zeros = SL_BAG_MOST_FILE_BYTES + 1,
         .word = "larger"},
        {.name = "large tag",
         .extra = "notes.txt",
         .zeros = SL_BAG_MOST_TAG_BYTES + 1,
         .word = "larger"},
        {.name = "many", .many = SL_BAG_MOST_ENTRIES, .word = "more than 4000"},
    };
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        check(&rows[i]);
    }
}

static void broken_bags_are_refused(void **state)
{
    (void)state;
    static const struct twist rows[] = {
        {.name = "payload spoilt", .spoil = "data/set.yaml", .word = MANIFEST " is wrong"},
        {.name = "tag spoilt", .spoil = "bag-info.txt", .word = TAG_MANIFEST " is wrong"},
        {.name = "payload spoilt, SHA-256",
         .spoil = "data/set.yaml",
         .kinds = SHA256_ALONE,
         .word = OTHER_MANIFEST " is wrong"},
        {.name = "tag spoilt, SHA-256",
         .spoil = "bag-info.txt",
         .kinds = SHA256_ALONE,
         .word = OTHER_TAG_MANIFEST " is wrong"},
        {.name = "payload in one of two manifests",
         .unlisted = "data/set.yaml",
         .kinds = BOTH,
         .word = "not in " OTHER_MANIFEST},
        {.name = "tag in one of two manifests",
         .unlisted = MANIFEST,
         .kinds = BOTH,
         .word = "not in " OTHER_TAG_MANIFEST},
        {.name = "the second manifest spoilt",
         .spoil = OTHER_MANIFEST,
         .kinds = BOTH,
         .word = "wrong"},
        {.name = "manifest spoilt", .spoil = MANIFEST, .word = "wrong"},
        {.name = "payload missing", .drop = "data/set.yaml", .word = "listed but missing"},
        {.name = "tag missing", .drop = "bag-info.txt", .word = "listed but missing"},
        {.name = "no manifest", .drop = MANIFEST, .word = "manifest is missing"},
        {.name = "no tag manifest", .drop = TAG_MANIFEST, .word = "manifest is missing"},
        {.name = "no declaration", .drop = "bagit.txt", .word = "no bag"},
        {.name = "extra payload", .extra = "data/x", .word = "not in " MANIFEST},
        {.name = "extra tag", .extra = "notes.txt", .word = "not in " TAG_MANIFEST},
        {.name = "fetch", .extra = "fetch.txt", .listed = true, .word = "fetched"},
        {.name = "md5", .extra = "manifest-md5.txt", .listed = true, .word = "not known"},
        {.name = "sha512 of another length",
         .extra = "manifest-sha512256.txt",
         .listed = true,
         .word = "not known"},
        {.name = "tag md5", .extra = "tagmanifest-md5.txt", .word = "not known"},
        {.name = "octets", .oxum = "18.2", .word = "Payload-Oxum is 18.2"},
        {.name = "streams", .oxum = "17.3", .word = "Payload-Oxum is 17.3"},
        {.name = "version",
         .declared = "BagIt-Version: 2.0\nTag-File-Character-Encoding: UTF-8\n",
         .word = "version 1.0"},
        {.name = "encoding",
         .declared = "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-16\n",
         .word = "version 1.0"},
        {.name = "broken line", .manifest_more = "abc  data/set.yaml\n", .word = "broken"},
        {.name = "line out of it", .manifest_more = HEX128 "  data/../../x\n", .word = "leads out"},
        {.name = "line of a tag", .manifest_more = HEX128 "  bagit.txt\n", .word = "must not"},
        {.name = "line twice", .manifest_more = HEX128 "  data/set.yaml\n", .word = "listed twice"},
        {.name = "cut in half", .cut = 50, .word = "cannot be read"},
        {.name = "cut at the end", .cut = 97, .word = "cannot be read"},
    };
    for (size_t i = 0; i < COUNT_OF(rows); i++) {
        check(&rows[i]);
    }
}

/* A device can only be said in the list at the end of a ZIP file, where no writer says it. */
static void a_device_is_refused(void **state)
{
    (void)state;
    struct temp_folder folder;
    struct making making = {.twist = &right_bag};
    struct sl_bag_said said = {0};
    struct sl_error error = {0};
    char path[TEMP_PATH_MAX];
    char bytes[16384];
    assert_int_equal(temp_folder_make(&folder), 0);
    temp_folder_name(&folder, "bag.zip", path);
    make_entries(&making);
    write_zip(&making, path);
    FILE *file = fopen(path, "r+b");
    size_t length = fread(bytes, 1, sizeof bytes, file);
    size_t at = 0;
    while (at + 46 < length && memcmp(bytes + at, "PK\x01\x02", 4) != 0) {
        at++; /* the first header of the list; its mode stands in the upper half of byte 38 and on
               */
    }
    assert_true(at + 46 < length);
    assert_int_equal(bytes[at + 41] & 0xf0, 0x80); /* a file */
    bytes[at + 41] = (char)((bytes[at + 41] & 0x0f) | 0x20);
    rewind(file);
    assert_int_equal(fwrite(bytes, 1, length, file), length);
    fclose(file);
    assert_int_equal(sl_bag_unpack(path, folder.path, &said, &error), SL_INVALID);
    assert_non_null(strstr(error.what, "device"));
    for (size_t i = 0; i < making.n; i++) {
        sl_str_clear(&making.entries[i].data);
    }
    sl_error_clear(&error);
    temp_folder_remove(&folder);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(right_bags_of_every_checksum_are_taken),
        cmocka_unit_test(hostile_names_and_kinds_are_refused),
        cmocka_unit_test(bombs_are_refused),
        cmocka_unit_test(broken_bags_are_refused),
        cmocka_unit_test(a_device_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
