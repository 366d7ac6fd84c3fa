#include "sound/sound_writer.h"

#include "core/str.h"

#include <sndfile.h>

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define NAME_TRIES 1000
#define MEND_WRITE "check that the folder exists, may be written to and has room left"

struct sl_sound_writer {
    char *path;
    char *part; /* the temporary file beside it; "" once it is renamed or removed */
    int file;
    int failure; /* errno of the first write that failed; libsndfile does not report all of them */
    SNDFILE *sound;
};

static sf_count_t part_length(void *user)
{
    const struct sl_sound_writer *writer = user;
    struct stat state;
    return fstat(writer->file, &state) == 0 ? (sf_count_t)state.st_size : -1;
}

static sf_count_t part_seek(sf_count_t offset, int whence, void *user)
{
    const struct sl_sound_writer *writer = user;
    return (sf_count_t)lseek(writer->file, (off_t)offset, whence);
}

static sf_count_t part_tell(void *user)
{
    return part_seek(0, SEEK_CUR, user);
}

static sf_count_t part_read(void *bytes, sf_count_t count, void *user)
{
    const struct sl_sound_writer *writer = user;
    return (sf_count_t)read(writer->file, bytes, (size_t)count);
}

static sf_count_t part_write(const void *bytes, sf_count_t count, void *user)
{
    struct sl_sound_writer *writer = user;
    const char *from = bytes;
    sf_count_t done = 0;
    while (done < count && writer->failure == 0) {
        ssize_t written = write(writer->file, from + done, (size_t)(count - done));
        if (written > 0) {
            done += written;
        } else if (written == 0 || errno != EINTR) {
            writer->failure = written == 0 ? ENOSPC : errno;
        }
    }
    return done;
}

static enum sl_status fail_write(const struct sl_sound_writer *writer, int number,
                                 struct sl_error *error)
{
    return sl_fail(error, SL_IO, writer->path, MEND_WRITE, "the sound cannot be written: %s",
                   strerror(number));
}

/* libsndfile's number for the ending of a path; 0: none that we write. */
static int format_of(const char *path)
{
    const char *ending = strrchr(path, '.');
    if (ending != NULL && strcmp(ending, ".flac") == 0) {
        return SF_FORMAT_FLAC | SF_FORMAT_PCM_16;
    }
    if (ending != NULL && strcmp(ending, ".wav") == 0) {
        return SF_FORMAT_WAV | SF_FORMAT_PCM_16;
    }
    return 0;
}

/* Length of the folder's part of a path, its last slash included. */
static size_t folder_length(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash == NULL ? 0 : (size_t)(slash - path) + 1;
}

/* Creates a file of a name that is free, with the rights that any new file gets. */
static enum sl_status create_part(struct sl_sound_writer *writer, struct sl_error *error)
{
    size_t folder = folder_length(writer->path);
    for (int try = 0; try < NAME_TRIES; try++) {
        free(writer->part);
        writer->part = sl_strf("%.*s.%s.%ld-%d.part", (int)folder, writer->path,
                               writer->path + folder, (long)getpid(), try);
        if (writer->part == NULL) {
            return sl_fail_memory(error);
        }
        writer->file = open(writer->part, O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0666);
        if (writer->file >= 0) {
            return SL_OK;
        }
        if (errno != EEXIST) {
            break;
        }
    }
    int number = errno;
    writer->part[0] = '\0';
    return fail_write(writer, number, error);
}

static enum sl_status open_part(struct sl_sound_writer *writer, int rate_hz, struct sl_error *error)
{
    enum sl_status status = create_part(writer, error);
    if (status != SL_OK) {
        return status;
    }
    SF_INFO info = {.samplerate = rate_hz, .channels = 1, .format = format_of(writer->path)};
    SF_VIRTUAL_IO part = {part_length, part_seek, part_read, part_write, part_tell};
    writer->sound = sf_open_virtual(&part, SFM_WRITE, &info, writer);
    if (writer->sound == NULL && writer->failure != 0) {
        return fail_write(writer, writer->failure, error);
    }
    if (writer->sound == NULL) {
        return sl_fail(error, SL_UNSUPPORTED, writer->path, "use a rate between 8000 and 96000 Hz",
                       "no sound can be written at %d Hz: %s", rate_hz, sf_strerror(NULL));
    }
    return SL_OK;
}

enum sl_status sl_sound_create(const char *path, int rate_hz, struct sl_sound_writer **writer,
                               struct sl_error *error)
{
    if (format_of(path) == 0) {
        return sl_fail(error, SL_UNSUPPORTED, path, "let the name end in .flac or .wav",
                       "this kind of sound file cannot be written");
    }
    struct sl_sound_writer *made = calloc(1, sizeof *made);
    if (made == NULL) {
        return sl_fail_memory(error);
    }
    made->file = -1;
    made->path = sl_strdup(path);
    enum sl_status status =
        made->path == NULL ? sl_fail_memory(error) : open_part(made, rate_hz, error);
    if (status != SL_OK) {
        sl_sound_abandon(made);
        return status;
    }
    *writer = made;
    return SL_OK;
}

enum sl_status sl_sound_write(struct sl_sound_writer *writer, const int16_t *samples, size_t n,
                              struct sl_error *error)
{
    sf_count_t written = sf_write_short(writer->sound, samples, (sf_count_t)n);
    if (writer->failure != 0) {
        return fail_write(writer, writer->failure, error);
    }
    if (written != (sf_count_t)n) {
        return sl_fail(error, SL_IO, writer->path, MEND_WRITE, "the sound cannot be written: %s",
                       sf_strerror(writer->sound));
    }
    return SL_OK;
}

/* Makes the new name last through a power cut; where a folder cannot be synced, nothing is lost
 * but that. */
static void sync_folder(const char *path)
{
    size_t length = folder_length(path);
    char *folder = length == 0 ? sl_strdup(".") : sl_strf("%.*s", (int)length, path);
    int file = folder == NULL ? -1 : open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    if (file >= 0) {
        (void)fsync(file);
        close(file);
    }
    free(folder);
}

/* Flushes, closes and renames the part. */
static enum sl_status settle(struct sl_sound_writer *writer, struct sl_error *error)
{
    int closed = sf_close(writer->sound);
    writer->sound = NULL;
    if (writer->failure == 0 && fsync(writer->file) != 0) {
        writer->failure = errno;
    }
    if (writer->failure == 0 && closed != 0) {
        writer->failure = EIO;
    }
    int file = writer->file;
    writer->file = -1;
    if (close(file) != 0 && writer->failure == 0) {
        writer->failure = errno;
    }
    if (writer->failure == 0 && rename(writer->part, writer->path) != 0) {
        writer->failure = errno;
    }
    if (writer->failure != 0) {
        return fail_write(writer, writer->failure, error);
    }
    writer->part[0] = '\0';
    sync_folder(writer->path);
    return SL_OK;
}

enum sl_status sl_sound_finish(struct sl_sound_writer *writer, struct sl_error *error)
{
    enum sl_status status = settle(writer, error);
    sl_sound_abandon(writer);
    return status;
}

void sl_sound_abandon(struct sl_sound_writer *writer)
{
    if (writer == NULL) {
        return;
    }
    if (writer->sound != NULL) {
        sf_close(writer->sound);
    }
    if (writer->file >= 0) {
        close(writer->file);
    }
    if (writer->part != NULL && writer->part[0] != '\0') {
        unlink(writer->part);
    }
    free(writer->part);
    free(writer->path);
    free(writer);
}
