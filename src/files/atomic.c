#include "files/atomic.h"

#include "core/str.h"

#include <errno.h>
#include <fcntl.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define FOLDER_MODE 0700
#define FILE_MODE 0666 /* less the user's mask, as any other file */

static enum sl_status fail(const char *path, int number, struct sl_error *error)
{
    return sl_fail(error, SL_IO, path, "check the folder, its permissions and the free space",
                   "the file cannot be written: %s", strerror(number));
}

/* Makes the folders above the file; one that cannot be made shows when the file is. */
static void make_folders(char *path)
{
    for (char *slash = strchr(path + 1, '/'); slash != NULL; slash = strchr(slash + 1, '/')) {
        *slash = '\0';
        (void)mkdir(path, FOLDER_MODE);
        *slash = '/';
    }
}

static bool write_all(int file, const char *text, size_t length)
{
    while (length > 0) {
        ssize_t n = write(file, text, length);
        if (n < 0 && errno != EINTR) {
            return false;
        }
        text += n > 0 ? n : 0;
        length -= n > 0 ? (size_t)n : 0;
    }
    return true;
}

/* The permissions of mkstemp are the user's alone; a new file gets the usual ones. */
static bool open_up(int file)
{
    mode_t mask = umask(0);
    (void)umask(mask);
    return fchmod(file, FILE_MODE & ~mask) == 0;
}

/* Writes the part; 0 or errno. */
static int write_part(char *part, const char *text, size_t length)
{
    int file = mkstemp(part);
    if (file < 0) {
        return errno;
    }
    int number = open_up(file) && write_all(file, text, length) && fsync(file) == 0 ? 0 : errno;
    if (close(file) != 0 && number == 0) {
        number = errno;
    }
    if (number != 0) {
        (void)unlink(part);
    }
    return number;
}

/* The renaming itself is on disk once the folder is. Some file systems cannot do that. */
static void sync_folder(char *path)
{
    char *slash = strrchr(path, '/');
    if (slash != NULL && slash != path) {
        *slash = '\0';
    }
    int folder = open(slash == NULL ? "." : path, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (folder >= 0) {
        (void)fsync(folder);
        (void)close(folder);
    }
}

void sl_sync_folder_of(const char *path)
{
    char *copy = sl_strdup(path);
    if (copy != NULL) {
        sync_folder(copy);
    }
    free(copy);
}

enum sl_status sl_make_folders(const char *path, struct sl_error *error)
{
    char *copy = sl_strdup(path);
    if (copy == NULL) {
        return sl_fail_memory(error);
    }
    make_folders(copy);
    free(copy);
    return SL_OK;
}

enum sl_status sl_write_text_file(const char *path, const char *text, size_t length,
                                  struct sl_error *error)
{
    char *part = sl_strf("%s.XXXXXX", path);
    char *folder = sl_strdup(path);
    enum sl_status status = SL_OK;
    if (part == NULL || folder == NULL) {
        status = sl_fail_memory(error);
        goto out;
    }
    make_folders(folder);
    int number = write_part(part, text, length);
    if (number == 0 && rename(part, path) != 0) {
        number = errno;
        (void)unlink(part);
    }
    if (number == 0) {
        sync_folder(folder);
    } else {
        status = fail(path, number, error);
    }
out:
    free(part);
    free(folder);
    return status;
}
