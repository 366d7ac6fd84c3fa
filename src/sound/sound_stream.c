#include "sound/sound_stream.h"

#include "core/str.h"

#include <sndfile.h>

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define MEND "check that the folder may be written to and has room left"
/* The encoder's quick mode: its frames are 72 ms at 16 kHz, so little is in the making. */
#define QUICK 0.0

struct sl_sound_stream {
    char *path;
    int file;
    int failure; /* errno of the first write that failed */
    int rate_hz;
    size_t unsynced; /* samples */
    SNDFILE *sound;
};

static sf_count_t stream_length(void *user)
{
    const struct sl_sound_stream *stream = user;
    struct stat state;
    return fstat(stream->file, &state) == 0 ? (sf_count_t)state.st_size : -1;
}

static sf_count_t stream_seek(sf_count_t offset, int whence, void *user)
{
    const struct sl_sound_stream *stream = user;
    return (sf_count_t)lseek(stream->file, (off_t)offset, whence);
}

static sf_count_t stream_tell(void *user)
{
    return stream_seek(0, SEEK_CUR, user);
}

static sf_count_t stream_read(void *bytes, sf_count_t count, void *user)
{
    const struct sl_sound_stream *stream = user;
    return (sf_count_t)read(stream->file, bytes, (size_t)count);
}

/* The encoder hands over one whole frame a call. Of one that does not fit nothing is left, so that
 * the file ends after the last whole one. */
static sf_count_t stream_write(const void *bytes, sf_count_t count, void *user)
{
    struct sl_sound_stream *stream = user;
    const char *from = bytes;
    off_t begin = lseek(stream->file, 0, SEEK_CUR);
    sf_count_t done = 0;
    while (done < count && stream->failure == 0) {
        ssize_t written = write(stream->file, from + done, (size_t)(count - done));
        if (written > 0) {
            done += written;
        } else if (written == 0 || errno != EINTR) {
            stream->failure = written == 0 ? ENOSPC : errno;
        }
    }
    if (done < count && done > 0 && begin + (off_t)done == (off_t)stream_length(stream)) {
        (void)!ftruncate(stream->file, begin);
    }
    return done;
}

static enum sl_status fail(const struct sl_sound_stream *stream, struct sl_error *error)
{
    return sl_fail(error, SL_IO, stream->path, MEND, "the recording cannot be written: %s",
                   strerror(stream->failure));
}

/* Makes the folders above the file; one that cannot be made shows when the file is. */
static void make_folders(char *path)
{
    for (char *slash = strchr(path + 1, '/'); slash != NULL; slash = strchr(slash + 1, '/')) {
        *slash = '\0';
        (void)mkdir(path, 0700);
        *slash = '/';
    }
}

static enum sl_status create(struct sl_sound_stream *stream, struct sl_error *error)
{
    make_folders(stream->path);
    stream->file = open(stream->path, O_RDWR | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    if (stream->file < 0 && errno == EEXIST) {
        return sl_fail(error, SL_INVALID, stream->path, "give another name",
                       "there is a file of that name already");
    }
    if (stream->file < 0) {
        stream->failure = errno;
        return fail(stream, error);
    }
    SF_INFO info = {
        .samplerate = stream->rate_hz, .channels = 1, .format = SF_FORMAT_FLAC | SF_FORMAT_PCM_16};
    SF_VIRTUAL_IO io = {stream_length, stream_seek, stream_read, stream_write, stream_tell};
    stream->sound = sf_open_virtual(&io, SFM_WRITE, &info, stream);
    if (stream->sound == NULL && stream->failure != 0) {
        return fail(stream, error);
    }
    if (stream->sound == NULL) {
        (void)unlink(stream->path);
        return sl_fail(error, SL_UNSUPPORTED, stream->path, "use a rate between 8000 and 96000 Hz",
                       "no sound can be written at %d Hz: %s", stream->rate_hz, sf_strerror(NULL));
    }
    double level = QUICK;
    sf_command(stream->sound, SFC_SET_COMPRESSION_LEVEL, &level, sizeof level);
    return SL_OK;
}

static void release(struct sl_sound_stream *stream)
{
    if (stream->sound != NULL) {
        sf_close(stream->sound);
    }
    if (stream->file >= 0) {
        close(stream->file);
    }
    free(stream->path);
    free(stream);
}

enum sl_status sl_sound_stream_open(const char *path, int rate_hz, struct sl_sound_stream **stream,
                                    struct sl_error *error)
{
    struct sl_sound_stream *made = calloc(1, sizeof *made);
    if (made == NULL) {
        return sl_fail_memory(error);
    }
    *made = (struct sl_sound_stream){.path = sl_strdup(path), .file = -1, .rate_hz = rate_hz};
    enum sl_status status = made->path == NULL ? sl_fail_memory(error) : create(made, error);
    if (status != SL_OK) {
        release(made);
        return status;
    }
    *stream = made;
    return SL_OK;
}

static void sync_now(struct sl_sound_stream *stream)
{
    if (fsync(stream->file) != 0 && stream->failure == 0) {
        stream->failure = errno;
    }
    stream->unsynced = 0;
}

enum sl_status sl_sound_stream_write(struct sl_sound_stream *stream, const int16_t *samples,
                                     size_t n, struct sl_error *error)
{
    size_t most = (size_t)(SL_SOUND_STREAM_SYNC_S * stream->rate_hz);
    while (n > 0 && stream->failure == 0) {
        size_t part = most - stream->unsynced < n ? most - stream->unsynced : n;
        sf_count_t written = sf_write_short(stream->sound, samples, (sf_count_t)part);
        if (written != (sf_count_t)part && stream->failure == 0) {
            stream->failure = EIO;
        }
        samples += part;
        n -= part;
        stream->unsynced += part;
        if (stream->unsynced >= most) {
            sync_now(stream);
        }
    }
    return stream->failure == 0 ? SL_OK : fail(stream, error);
}

enum sl_status sl_sound_stream_close(struct sl_sound_stream *stream, struct sl_error *error)
{
    if (stream == NULL) {
        return SL_OK;
    }
    int closed = sf_close(stream->sound);
    stream->sound = NULL;
    if (closed != 0 && stream->failure == 0) {
        stream->failure = EIO;
    }
    sync_now(stream);
    int file = stream->file;
    stream->file = -1;
    if (close(file) != 0 && stream->failure == 0) {
        stream->failure = errno;
    }
    enum sl_status status = stream->failure == 0 ? SL_OK : fail(stream, error);
    release(stream);
    return status;
}
