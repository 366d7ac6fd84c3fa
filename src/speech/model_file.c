#include "speech/model_file.h"

#include "core/str.h"

#include <stdio.h>
#include <stdlib.h>

#define MODEL_MEND "install Debian's package pocketsphinx-en-us"
#define FILE_MOST ((size_t)64 << 20)

/* All of an open file; false when it cannot be read, or is larger than any model. */
static bool read_all(FILE *stream, struct sl_model_file *file)
{
    if (fseek(stream, 0, SEEK_END) != 0) {
        return false;
    }
    long length = ftell(stream);
    if (length <= 0 || (size_t)length > FILE_MOST || fseek(stream, 0, SEEK_SET) != 0) {
        return false;
    }
    file->data = malloc((size_t)length);
    file->length = (size_t)length;
    return file->data != NULL && fread(file->data, 1, file->length, stream) == file->length;
}

enum sl_status sl_model_file_open(const char *folder, const char *name, struct sl_model_file *file,
                                  struct sl_error *error)
{
    *file = (struct sl_model_file){
        .path = sl_strf("%s/%s", folder != NULL ? folder : SL_ACOUSTIC_MODEL, name)};
    if (file->path == NULL) {
        return sl_fail_memory(error);
    }
    FILE *stream = fopen(file->path, "rb");
    if (stream == NULL) {
        return sl_fail(error, SL_NOT_FOUND, file->path, MODEL_MEND,
                       "a file of the acoustic model is missing");
    }
    bool fine = read_all(stream, file);
    (void)fclose(stream);
    return fine ? SL_OK : sl_model_file_broken(file, error);
}

void sl_model_file_clear(struct sl_model_file *file)
{
    if (file == NULL) {
        return;
    }
    free(file->path);
    free(file->data);
    *file = (struct sl_model_file){0};
}

const unsigned char *sl_model_file_take(struct sl_model_file *file, size_t n)
{
    if (file->length - file->at < n) {
        return NULL;
    }
    const unsigned char *taken = file->data + file->at;
    file->at += n;
    return taken;
}

bool sl_model_file_number(struct sl_model_file *file, uint32_t *number)
{
    const unsigned char *b = sl_model_file_take(file, 4);
    if (b == NULL) {
        return false;
    }
    *number = (uint32_t)b[0] | (uint32_t)b[1] << 8 | (uint32_t)b[2] << 16 | (uint32_t)b[3] << 24;
    return true;
}

enum sl_status sl_model_file_broken(const struct sl_model_file *file, struct sl_error *error)
{
    return sl_fail(error, SL_FORMAT, file->path, MODEL_MEND,
                   "this is no whole file of an acoustic model");
}

enum sl_status sl_model_file_other(const struct sl_model_file *file, struct sl_error *error)
{
    return sl_fail(error, SL_UNSUPPORTED, file->path, "use Debian's package pocketsphinx-en-us",
                   "an acoustic model of this make cannot be fitted to a sound");
}
