#include "files/bag_writer.h"

#include "core/str.h"
#include "files/atomic.h"
#include "files/checksums.h"

#include <archive.h>
#include <archive_entry.h>
#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define BLOCK_BYTES 65536
#define DECLARATION "BagIt-Version: 1.0\nTag-File-Character-Encoding: UTF-8\n"

/* A manifest for each kind of checksum. */
struct manifests {
    struct sl_str of[SL_CHECKSUM_COUNT];
};

struct sl_bag_writer {
    char *path, *part; /* the bag, and the file that becomes it */
    char *base;        /* name of the folder in it */
    int file;          /* -1: none */
    struct archive *zip;
    struct sl_checksums sums;
    struct manifests manifests;         /* of the payload */
    unsigned long long octets, streams; /* of the payload */
    bool closed;
    char block[BLOCK_BYTES];
};

static enum sl_status fail_writing(const struct sl_bag_writer *writer, const char *why,
                                   struct sl_error *error)
{
    return sl_fail(error, SL_IO, writer->path, "check the folder and the free space",
                   "the bag cannot be written: %s", why == NULL ? "no reason was given" : why);
}

static enum sl_status fail_zip(const struct sl_bag_writer *writer, struct sl_error *error)
{
    return fail_writing(writer, archive_error_string(writer->zip), error);
}

/* The file's name without its ending. */
static char *base_of(const char *path)
{
    const char *slash = strrchr(path, '/');
    const char *name = slash == NULL ? path : slash + 1;
    size_t length = strlen(name);
    size_t ending = strlen(".zip");
    bool zip = length > ending && strcmp(name + length - ending, ".zip") == 0;
    return sl_strf("%.*s", (int)(zip ? length - ending : length), name);
}

enum sl_status sl_bag_writer_open(const char *path, struct sl_bag_writer **writer,
                                  struct sl_error *error)
{
    struct sl_bag_writer *made = calloc(1, sizeof *made);
    if (made == NULL) {
        return sl_fail_memory(error);
    }
    enum sl_status status = SL_OK;
    made->file = -1;
    made->path = sl_strdup(path);
    made->part = sl_strf("%s.XXXXXX", path);
    made->base = base_of(path);
    made->zip = archive_write_new();
    if (made->path == NULL || made->part == NULL || made->base == NULL || made->zip == NULL ||
        !sl_checksums_begin(&made->sums)) {
        status = sl_fail_memory(error);
    }
    if (status == SL_OK) {
        made->file = mkstemp(made->part);
        status = made->file < 0 ? fail_writing(made, strerror(errno), error) : SL_OK;
    }
    /* Stored, not squeezed: FLAC cannot be made smaller, and a reader can tell a bomb by it. */
    if (status == SL_OK && (archive_write_set_format_zip(made->zip) != ARCHIVE_OK ||
                            archive_write_zip_set_compression_store(made->zip) != ARCHIVE_OK ||
                            archive_write_open_fd(made->zip, made->file) != ARCHIVE_OK)) {
        status = fail_zip(made, error);
    }
    if (status != SL_OK) {
        sl_bag_writer_free(made);
        return status;
    }
    *writer = made;
    return SL_OK;
}

/* A header for BASE/NAME of so many bytes. */
static enum sl_status begin_entry(struct sl_bag_writer *writer, const char *name,
                                  const struct stat *like, struct sl_error *error)
{
    struct archive_entry *entry = archive_entry_new();
    char *path = sl_strf("%s/%s", writer->base, name);
    enum sl_status status = entry == NULL || path == NULL ? sl_fail_memory(error) : SL_OK;
    if (status == SL_OK) {
        archive_entry_set_pathname_utf8(entry, path);
        archive_entry_set_filetype(entry, AE_IFREG);
        archive_entry_set_perm(entry, 0600);
        archive_entry_set_size(entry, like->st_size);
        archive_entry_set_mtime(entry, like->st_mtime, 0);
        status = archive_write_header(writer->zip, entry) == ARCHIVE_OK ? SL_OK
                                                                        : fail_zip(writer, error);
    }
    archive_entry_free(entry);
    free(path);
    return status;
}

static enum sl_status write_data(struct sl_bag_writer *writer, const void *bytes, size_t length,
                                 struct sl_error *error)
{
    sl_checksums_add(&writer->sums, bytes, length);
    return archive_write_data(writer->zip, bytes, length) == (la_ssize_t)length
               ? SL_OK
               : fail_zip(writer, error);
}

/* Lists what was written since the last line. */
static void add_line(struct sl_bag_writer *writer, struct manifests *manifests, const char *name)
{
    struct sl_checksums_hex hex;
    sl_checksums_end(&writer->sums, &hex);
    for (size_t kind = 0; kind < SL_CHECKSUM_COUNT; kind++) {
        sl_str_addf(&manifests->of[kind], "%s  %s\n", hex.of[kind], name);
    }
}

static void clear_manifests(struct manifests *manifests)
{
    for (size_t kind = 0; kind < SL_CHECKSUM_COUNT; kind++) {
        sl_str_clear(&manifests->of[kind]);
    }
}

static enum sl_status copy(struct sl_bag_writer *writer, FILE *file, off_t size, const char *from,
                           struct sl_error *error)
{
    off_t left = size;
    enum sl_status status = SL_OK;
    size_t got = 0;
    while (status == SL_OK && left >= 0 &&
           (got = fread(writer->block, 1, sizeof writer->block, file)) > 0) {
        left -= (off_t)got;
        status = left < 0 ? SL_OK : write_data(writer, writer->block, got, error);
    }
    if (status == SL_OK && (left != 0 || ferror(file))) {
        status = sl_fail(error, SL_IO, from, "pack it again when nothing else is at work",
                         "the file cannot be read, or changed while it was packed");
    }
    return status;
}

enum sl_status sl_bag_writer_add(struct sl_bag_writer *writer, const char *name, const char *from,
                                 struct sl_error *error)
{
    struct stat like;
    FILE *file = fopen(from, "rb");
    if (file == NULL || fstat(fileno(file), &like) != 0) {
        enum sl_status status = errno == ENOENT ? SL_NOT_FOUND : SL_IO;
        sl_fail(error, status, from, "check that the file may be read", "%s", strerror(errno));
        if (file != NULL) {
            fclose(file);
        }
        return status;
    }
    char *path = sl_strf("data/%s", name);
    enum sl_status status =
        path == NULL ? sl_fail_memory(error) : begin_entry(writer, path, &like, error);
    if (status == SL_OK) {
        status = copy(writer, file, like.st_size, from, error);
    }
    if (status == SL_OK) {
        add_line(writer, &writer->manifests, path);
        writer->octets += (unsigned long long)like.st_size;
        writer->streams++;
    }
    free(path);
    fclose(file);
    return status;
}

/* Adds a file of that text, and its lines to the manifests that are to list it. */
static enum sl_status add_text(struct sl_bag_writer *writer, const char *name,
                               const struct sl_str *text, struct manifests *manifests,
                               struct sl_error *error)
{
    struct stat like;
    if (text->failed) {
        return sl_fail_memory(error);
    }
    if (fstat(writer->file, &like) != 0) {
        return fail_writing(writer, strerror(errno), error);
    }
    like.st_size = (off_t)text->length;
    enum sl_status status = begin_entry(writer, name, &like, error);
    if (status == SL_OK) {
        status = write_data(writer, sl_str_text(text), text->length, error);
    }
    if (status == SL_OK) {
        add_line(writer, manifests, name);
    }
    return status;
}

enum sl_status sl_bag_writer_add_text(struct sl_bag_writer *writer, const char *name,
                                      const struct sl_str *text, struct sl_error *error)
{
    char *path = sl_strf("data/%s", name);
    enum sl_status status = path == NULL ? sl_fail_memory(error)
                                         : add_text(writer, path, text, &writer->manifests, error);
    if (status == SL_OK) {
        writer->octets += text->length;
        writer->streams++;
    }
    free(path);
    return status;
}

/* Adds manifest-sha512.txt and its like ("tagmanifest" for those of the tag files). */
static enum sl_status add_manifests(struct sl_bag_writer *writer, const char *word,
                                    const struct manifests *manifests, struct manifests *tags,
                                    struct sl_error *error)
{
    enum sl_status status = SL_OK;
    for (size_t kind = 0; kind < SL_CHECKSUM_COUNT && status == SL_OK; kind++) {
        char *name = sl_strf("%s-%s.txt", word, sl_checksum_name((enum sl_checksum)kind));
        status = name == NULL ? sl_fail_memory(error)
                              : add_text(writer, name, &manifests->of[kind], tags, error);
        free(name);
    }
    return status;
}

static void add_info(struct sl_str *out, const char *label, const char *value)
{
    if (value == NULL) {
        return;
    }
    size_t begin = out->length;
    sl_str_addf(out, "%s: %s", label, value);
    for (size_t i = begin; !out->failed && i < out->length; i++) {
        if (out->text[i] == '\n' || out->text[i] == '\r') {
            out->text[i] = ' ';
        }
    }
    sl_str_add(out, "\n");
}

static enum sl_status add_tags(struct sl_bag_writer *writer, const struct sl_bag_info *info,
                               struct sl_error *error)
{
    struct sl_str declaration = {0};
    struct sl_str about = {0};
    struct manifests tags = {0};
    struct manifests none = {0}; /* lists the tag manifests, and is not kept */
    sl_str_add(&declaration, DECLARATION);
    sl_str_addf(&about, "Bagging-Date: %04d-%02d-%02d\nPayload-Oxum: %llu.%llu\n", info->date.year,
                info->date.month, info->date.day, writer->octets, writer->streams);
    add_info(&about, "Bag-Software-Agent", info->agent);
    add_info(&about, "Contact-Name", info->contact);
    add_info(&about, "External-Description", info->description);
    enum sl_status status = add_text(writer, "bagit.txt", &declaration, &tags, error);
    if (status == SL_OK) {
        status = add_text(writer, "bag-info.txt", &about, &tags, error);
    }
    if (status == SL_OK) {
        status = add_manifests(writer, "manifest", &writer->manifests, &tags, error);
    }
    if (status == SL_OK) {
        status = add_manifests(writer, "tagmanifest", &tags, &none, error);
    }
    sl_str_clear(&declaration);
    sl_str_clear(&about);
    clear_manifests(&tags);
    clear_manifests(&none);
    return status;
}

enum sl_status sl_bag_writer_close(struct sl_bag_writer *writer, const struct sl_bag_info *info,
                                   struct sl_error *error)
{
    enum sl_status status = add_tags(writer, info, error);
    if (status == SL_OK && archive_write_close(writer->zip) != ARCHIVE_OK) {
        status = fail_zip(writer, error);
    }
    if (status == SL_OK && (fsync(writer->file) != 0 || rename(writer->part, writer->path) != 0)) {
        status = fail_writing(writer, strerror(errno), error);
    }
    writer->closed = status == SL_OK;
    if (writer->closed) {
        sl_sync_folder_of(writer->path);
    }
    return status;
}

void sl_bag_writer_free(struct sl_bag_writer *writer)
{
    if (writer == NULL) {
        return;
    }
    if (writer->zip != NULL) {
        if (!writer->closed) {
            (void)archive_write_fail(writer->zip); /* nothing more is to be written */
        }
        (void)archive_write_free(writer->zip);
    }
    if (writer->file >= 0) {
        (void)close(writer->file);
        if (!writer->closed) {
            (void)unlink(writer->part);
        }
    }
    sl_checksums_clear(&writer->sums);
    clear_manifests(&writer->manifests);
    free(writer->path);
    free(writer->part);
    free(writer->base);
    free(writer);
}
