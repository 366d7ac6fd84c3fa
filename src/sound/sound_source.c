#include "sound/sound_source.h"

#include <errno.h>
#include <fcntl.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdint.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define PIPE_MOST (INT64_C(4) << 30)
#define CHUNK 65536

static enum sl_status fail_system(const char *name, int number, struct sl_error *error)
{
    if (number == ENOENT || number == ENOTDIR) {
        return sl_fail(error, SL_NOT_FOUND, name, "check the spelling and the folder",
                       "there is no such file");
    }
    return sl_fail(error, SL_IO, name, "check that you may read it", "the file cannot be read: %s",
                   strerror(number));
}

/* Writes all of it; false with errno when it cannot. */
static bool write_all(int to, const char *bytes, size_t n)
{
    size_t done = 0;
    while (done < n) {
        ssize_t written = write(to, bytes + done, n - done);
        if (written < 0 && errno != EINTR) {
            return false;
        }
        done += written > 0 ? (size_t)written : 0;
    }
    return true;
}

static enum sl_status copy_all(int from, int to, const char *name, struct sl_error *error)
{
    int64_t total = 0;
    char chunk[CHUNK];
    for (;;) {
        ssize_t n = read(from, chunk, sizeof chunk);
        if (n == 0) {
            return SL_OK;
        }
        if (n < 0 && errno == EINTR) {
            continue;
        }
        if (n < 0) {
            return fail_system(name, errno, error);
        }
        total += n;
        if (total > PIPE_MOST) {
            return sl_fail(error, SL_TOO_LARGE, name, "save it to a file and cut it into parts",
                           "more than 4 GiB came through the pipe");
        }
        if (!write_all(to, chunk, (size_t)n)) {
            return sl_fail(error, SL_IO, name, "make room on the disk for temporary files",
                           "the sound cannot be kept while it is read: %s", strerror(errno));
        }
    }
}

/* A nameless file with all that `from` gives. */
static enum sl_status copy_to_temporary(int from, const char *name, int *file,
                                        struct sl_error *error)
{
    FILE *temporary = tmpfile();
    if (temporary == NULL) {
        return sl_fail(error, SL_IO, name, "make room on the disk for temporary files",
                       "the sound cannot be kept while it is read: %s", strerror(errno));
    }
    int to = fileno(temporary);
    enum sl_status status = copy_all(from, to, name, error);
    int copy = status == SL_OK ? fcntl(to, F_DUPFD_CLOEXEC, 0) : -1;
    int number = errno;
    (void)fclose(temporary);
    if (status != SL_OK) {
        return status;
    }
    if (copy < 0 || lseek(copy, 0, SEEK_SET) < 0) {
        if (copy >= 0) {
            close(copy);
        }
        return fail_system(name, number, error);
    }
    *file = copy;
    return SL_OK;
}

/* Replaces *file by one that can seek and holds something. */
static enum sl_status prepare(int *file, const char *name, struct sl_error *error)
{
    struct stat state;
    if (fstat(*file, &state) != 0) {
        return fail_system(name, errno, error);
    }
    if (S_ISDIR(state.st_mode)) {
        return sl_fail(error, SL_FORMAT, name, "name a file in it", "this is a folder");
    }
    if (!S_ISREG(state.st_mode)) {
        int copy = -1;
        enum sl_status status = copy_to_temporary(*file, name, &copy, error);
        if (status != SL_OK) {
            return status;
        }
        close(*file);
        *file = copy;
        if (fstat(*file, &state) != 0) {
            return fail_system(name, errno, error);
        }
    }
    return state.st_size > 0 ? SL_OK
                             : sl_fail(error, SL_FORMAT, name, "record again", "the file is empty");
}

enum sl_status sl_source_open(const char *path, const char *name, int *file, struct sl_error *error)
{
    int opened = strcmp(path, "-") == 0 ? fcntl(STDIN_FILENO, F_DUPFD_CLOEXEC, 0)
                                        : open(path, O_RDONLY | O_CLOEXEC);
    if (opened < 0) {
        return fail_system(name, errno, error);
    }
    enum sl_status status = prepare(&opened, name, error);
    if (status != SL_OK) {
        close(opened);
        return status;
    }
    *file = opened;
    return SL_OK;
}
