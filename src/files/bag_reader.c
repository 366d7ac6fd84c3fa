#include "files/bag_parts.h"

#include <archive.h>
#include <archive_entry.h>
#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <sys/stat.h>
#include <unistd.h>

#define BLOCK_BYTES 65536

/* A bag on its way from the ZIP file into the folder. */
struct unpacking {
    struct sl_bag bag;
    const char *folder;
    char *base; /* the bag's folder in the ZIP file */
    struct archive *zip;
    struct sl_checksums sums;
    unsigned long long packed, unpacked; /* bytes of the ZIP file, and out of it so far */
    char block[BLOCK_BYTES];
};

static enum sl_status fail_zip(const struct unpacking *job, struct sl_error *error)
{
    const char *why = archive_error_string(job->zip);
    return sl_bag_refuse(&job->bag, NULL, SL_FORMAT, error, "the ZIP file cannot be read: %s",
                         why == NULL ? "no reason was given" : why);
}

/* What is no file, in words; NULL: a file or a folder. */
static const char *kind_flaw(struct archive_entry *entry)
{
    if (archive_entry_hardlink(entry) != NULL || archive_entry_symlink(entry) != NULL ||
        archive_entry_filetype(entry) == AE_IFLNK) {
        return "it is a link";
    }
    if (archive_entry_is_encrypted(entry) != 0) {
        return "it is encrypted";
    }
    bool plain =
        archive_entry_filetype(entry) == AE_IFREG || archive_entry_filetype(entry) == AE_IFDIR;
    return plain ? NULL : "it is a device or something else that is no file";
}

/* The name below the bag's folder, or NULL after refusing; the first entry tells the folder. */
static const char *inner_name(struct unpacking *job, const char *path, struct sl_error *error)
{
    size_t length = strcspn(path, "/");
    if (job->base == NULL) {
        job->base = sl_strf("%.*s", (int)length, path);
    }
    if (job->base == NULL) {
        sl_fail_memory(error);
        return NULL;
    }
    const char *base = job->base;
    bool lead = strcmp(base, "..") == 0 || strcmp(base, ".") == 0 || *base == '\0' ||
                strpbrk(base, "~\\:") != NULL;
    if (lead || strncmp(path, base, strlen(base)) != 0 || path[strlen(base)] != '/') {
        const char *flaw = sl_bag_name_flaw(path);
        sl_bag_refuse(&job->bag, path, SL_INVALID, error, "%s",
                      flaw != NULL ? flaw : "it lies outside of the bag's folder");
        return NULL;
    }
    const char *name = path + strlen(base) + 1;
    const char *flaw = *name == '\0' ? NULL : sl_bag_name_flaw(name);
    if (flaw != NULL) {
        sl_bag_refuse(&job->bag, path, SL_INVALID, error, "%s", flaw);
        return NULL;
    }
    return name;
}

static enum sl_status add_entry(struct unpacking *job, const char *name, struct sl_error *error)
{
    struct sl_bag *bag = &job->bag;
    for (size_t i = 0; i < bag->n_entries; i++) {
        if (strcasecmp(bag->entries[i].name, name) == 0) {
            return sl_bag_refuse(bag, name, SL_INVALID, error, "the name is there twice");
        }
    }
    if (bag->n_entries == SL_BAG_MOST_ENTRIES) {
        return sl_bag_refuse(bag, NULL, SL_TOO_LARGE, error, "there are more than %d files in it",
                             SL_BAG_MOST_ENTRIES);
    }
    struct sl_bag_entry *entries =
        sl_grow(bag->entries, bag->n_entries, &bag->room, sizeof *entries);
    char *copy = sl_strdup(name);
    bag->entries = entries != NULL ? entries : bag->entries;
    if (entries == NULL || copy == NULL) {
        free(copy);
        return sl_fail_memory(error);
    }
    entries[bag->n_entries++] = (struct sl_bag_entry){.name = copy};
    return SL_OK;
}

static enum sl_status check_size(const struct unpacking *job, const struct sl_bag_entry *entry,
                                 struct sl_error *error)
{
    bool tag = !sl_bag_is_payload(entry->name);
    if (entry->bytes > (tag ? SL_BAG_MOST_TAG_BYTES : SL_BAG_MOST_FILE_BYTES)) {
        return sl_bag_refuse(&job->bag, entry->name, SL_TOO_LARGE, error,
                             "the file is larger than a submission needs");
    }
    if (job->unpacked > SL_BAG_MOST_BYTES) {
        return sl_bag_refuse(&job->bag, NULL, SL_TOO_LARGE, error,
                             "the bag is larger than a submission needs");
    }
    if (job->unpacked > SL_BAG_FREE_BYTES && job->unpacked / SL_BAG_MOST_RATIO > job->packed) {
        return sl_bag_refuse(&job->bag, entry->name, SL_TOO_LARGE, error,
                             "it unpacks to far more than it is packed: not a recording");
    }
    return SL_OK;
}

static enum sl_status keep_block(const struct unpacking *job, struct sl_bag_entry *entry, int file,
                                 size_t length, struct sl_error *error)
{
    if (!sl_bag_is_payload(entry->name)) {
        sl_str_add_bytes(&entry->text, job->block, length);
        return entry->text.failed ? sl_fail_memory(error) : SL_OK;
    }
    for (size_t done = 0; file >= 0 && done < length;) {
        ssize_t n = write(file, job->block + done, length - done);
        if (n < 0 && errno != EINTR) {
            return sl_fail(error, SL_IO, job->folder, "make room on the disk", "%s",
                           strerror(errno));
        }
        done += n > 0 ? (size_t)n : 0;
    }
    return SL_OK;
}

/* Reads the entry's data; into `file` where it is one. */
static enum sl_status read_data(struct unpacking *job, struct sl_bag_entry *entry, int file,
                                struct sl_error *error)
{
    for (;;) {
        la_ssize_t got = archive_read_data(job->zip, job->block, sizeof job->block);
        if (got < 0) {
            return fail_zip(job, error);
        }
        if (got == 0) {
            sl_checksums_end(&job->sums, &entry->sums);
            return SL_OK;
        }
        entry->bytes += (unsigned long long)got;
        job->unpacked += (unsigned long long)got;
        sl_checksums_add(&job->sums, job->block, (size_t)got);
        enum sl_status status = check_size(job, entry, error);
        if (status == SL_OK) {
            status = keep_block(job, entry, file, (size_t)got, error);
        }
        if (status != SL_OK) {
            return status;
        }
    }
}

static enum sl_status read_file(struct unpacking *job, const char *name, struct sl_error *error)
{
    static const char runs[] = "data/runs/";
    enum sl_status status = add_entry(job, name, error);
    if (status != SL_OK) {
        return status;
    }
    struct sl_bag_entry *entry = &job->bag.entries[job->bag.n_entries - 1];
    const char *rest = strncmp(name, runs, strlen(runs)) == 0 ? name + strlen(runs) : NULL;
    int file = -1;
    if (rest != NULL && strchr(rest, '/') == NULL) {
        char *to = sl_strf("%s/%s", job->folder, rest);
        if (to == NULL) {
            return sl_fail_memory(error);
        }
        file = open(to, O_WRONLY | O_CREAT | O_EXCL | O_NOFOLLOW | O_CLOEXEC, 0600);
        free(to);
        if (file < 0) {
            return sl_fail(error, SL_IO, job->folder, "check the folder and the free space", "%s",
                           strerror(errno));
        }
    }
    status = read_data(job, entry, file, error);
    if (file >= 0 && close(file) != 0 && status == SL_OK) {
        status = sl_fail(error, SL_IO, job->folder, "make room on the disk", "%s", strerror(errno));
    }
    return status;
}

static enum sl_status read_entries(struct unpacking *job, struct sl_error *error)
{
    struct archive_entry *entry = NULL;
    int found;
    while ((found = archive_read_next_header(job->zip, &entry)) == ARCHIVE_OK) {
        const char *path = archive_entry_pathname_utf8(entry);
        path = path != NULL ? path : archive_entry_pathname(entry);
        if (path == NULL) {
            return sl_bag_refuse(&job->bag, NULL, SL_INVALID, error, "a name in it is no text");
        }
        const char *flaw = kind_flaw(entry);
        if (flaw != NULL) {
            return sl_bag_refuse(&job->bag, path, SL_INVALID, error, "%s", flaw);
        }
        bool folder = archive_entry_filetype(entry) == AE_IFDIR;
        char *copy = sl_strdup(path);
        enum sl_status status = copy == NULL ? sl_fail_memory(error) : SL_OK;
        if (copy != NULL && folder && *copy != '\0' && copy[strlen(copy) - 1] == '/') {
            copy[strlen(copy) - 1] = '\0';
            char *with = sl_strf("%s%s", copy, strchr(copy, '/') == NULL ? "/" : "");
            free(copy);
            copy = with;
        }
        const char *name = copy == NULL ? NULL : inner_name(job, copy, error);
        status = name == NULL ? (copy == NULL ? sl_fail_memory(error) : SL_INVALID) : status;
        if (status == SL_OK && !folder) {
            status = read_file(job, name, error);
        }
        free(copy);
        if (status != SL_OK) {
            return status;
        }
    }
    return found == ARCHIVE_EOF ? SL_OK : fail_zip(job, error);
}

static enum sl_status open_zip(struct unpacking *job, struct sl_error *error)
{
    struct stat like;
    job->zip = archive_read_new();
    if (!sl_checksums_begin(&job->sums) || job->zip == NULL) {
        return sl_fail_memory(error);
    }
    if (stat(job->bag.path, &like) != 0) {
        return sl_fail(error, errno == ENOENT ? SL_NOT_FOUND : SL_IO, job->bag.path,
                       "check the spelling of the path", "%s", strerror(errno));
    }
    job->packed = (unsigned long long)like.st_size;
    /* The seeking reader goes by the ZIP file's list at its end, which tells links from files. */
    if (archive_read_support_format_zip_seekable(job->zip) != ARCHIVE_OK ||
        archive_read_open_filename(job->zip, job->bag.path, BLOCK_BYTES) != ARCHIVE_OK) {
        return fail_zip(job, error);
    }
    return SL_OK;
}

enum sl_status sl_bag_unpack(const char *path, const char *folder, struct sl_bag_said *said,
                             struct sl_error *error)
{
    struct unpacking *job = calloc(1, sizeof *job);
    if (job == NULL) {
        return sl_fail_memory(error);
    }
    job->bag.path = path;
    job->folder = folder;
    enum sl_status status = open_zip(job, error);
    if (status == SL_OK) {
        status = read_entries(job, error);
    }
    if (status == SL_OK) {
        status = sl_bag_check(&job->bag, said, error);
    }
    if (job->zip != NULL) {
        (void)archive_read_free(job->zip);
    }
    sl_checksums_clear(&job->sums);
    for (size_t i = 0; i < job->bag.n_entries; i++) {
        free(job->bag.entries[i].name);
        sl_str_clear(&job->bag.entries[i].text);
    }
    free(job->bag.entries);
    free(job->base);
    free(job);
    return status;
}
