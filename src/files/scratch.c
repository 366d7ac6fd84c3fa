#include "files/scratch.h"

#include "core/str.h"
#include "files/path.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <ftw.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/file.h>
#include <sys/stat.h>
#include <unistd.h>

#define MARKS "-XXXXXX" /* as mkdtemp wants them */
#define TRIES 3
#define MOST_FOLDERS_OPEN 8

static const char *base_folder(void)
{
    const char *base = getenv("TMPDIR");
    return base == NULL || *base == '\0' ? "/tmp" : base;
}

static int remove_one(const char *path, const struct stat *like, int kind, struct FTW *place)
{
    (void)like;
    (void)kind;
    (void)place;
    (void)remove(path);
    return 0;
}

void sl_remove_folder(const char *path)
{
    (void)nftw(path, remove_one, MOST_FOLDERS_OPEN, FTW_DEPTH | FTW_PHYS);
}

/* Takes hold of a folder of the user's that nobody holds: a file descriptor, or -1. */
static int hold(const char *path)
{
    struct stat like;
    int folder = open(path, O_RDONLY | O_DIRECTORY | O_NOFOLLOW | O_CLOEXEC);
    if (folder < 0) {
        return -1;
    }
    if (fstat(folder, &like) != 0 || like.st_uid != geteuid() ||
        flock(folder, LOCK_EX | LOCK_NB) != 0) {
        (void)close(folder);
        return -1;
    }
    return folder;
}

/* Removes what killed programs left. */
static void sweep(const char *base, const char *prefix)
{
    DIR *entries = opendir(base);
    const struct dirent *entry = NULL;
    size_t length = strlen(prefix);
    while (entries != NULL && (entry = readdir(entries)) != NULL) {
        const char *name = entry->d_name;
        if (strncmp(name, prefix, length) != 0 || strlen(name) != length + strlen(MARKS) ||
            name[length] != '-') {
            continue;
        }
        char *path = sl_strf("%s/%s", base, name);
        int held = path == NULL ? -1 : hold(path);
        if (held >= 0) {
            sl_remove_folder(path);
            (void)close(held);
        }
        free(path);
    }
    if (entries != NULL) {
        (void)closedir(entries);
    }
}

/* Makes the folder and holds it; false when it cannot be made, or was swept away before it was
 * held.
 */
static bool make(char *path, int *lock)
{
    if (mkdtemp(path) == NULL) {
        return false;
    }
    *lock = hold(path);
    if (*lock >= 0 && sl_path_exists(path)) {
        return true;
    }
    if (*lock >= 0) {
        (void)close(*lock);
    }
    errno = EAGAIN;
    return false;
}

enum sl_status sl_scratch_open(const char *prefix, struct sl_scratch *scratch,
                               struct sl_error *error)
{
    const char *base = base_folder();
    sweep(base, prefix);
    errno = EAGAIN;
    for (int i = 0; i < TRIES && errno == EAGAIN; i++) {
        char *path = sl_strf("%s/%s" MARKS, base, prefix);
        int lock = -1;
        if (path == NULL) {
            return sl_fail_memory(error);
        }
        if (make(path, &lock)) {
            *scratch = (struct sl_scratch){.path = path, .lock = lock};
            return SL_OK;
        }
        free(path);
    }
    return sl_fail(error, SL_IO, base, "set TMPDIR to a folder that can be written to",
                   "no folder can be made there: %s", strerror(errno));
}

void sl_scratch_close(struct sl_scratch *scratch)
{
    if (scratch->path != NULL) {
        sl_remove_folder(scratch->path);
        (void)close(scratch->lock);
        free(scratch->path);
    }
    *scratch = (struct sl_scratch){0};
}
