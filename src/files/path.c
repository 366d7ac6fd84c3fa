#include "files/path.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

static const char ending[] = ".yaml";

static bool ends_with(const char *text, const char *end)
{
    size_t length = strlen(text);
    return length >= strlen(end) && strcmp(text + length - strlen(end), end) == 0;
}

char *sl_path_name(const char *path)
{
    const char *slash = strrchr(path, '/');
    const char *base = slash == NULL ? path : slash + 1;
    size_t length = strlen(base);
    if (ends_with(base, ending) && length > strlen(ending)) {
        length -= strlen(ending);
    }
    struct sl_str name = {0};
    sl_str_add_bytes(&name, base, length);
    return sl_str_take(&name);
}

bool sl_is_path(const char *name)
{
    return strchr(name, '/') != NULL || ends_with(name, ending) || strcmp(name, "-") == 0;
}

char *sl_path_whole(const char *name)
{
    return sl_is_path(name) && strcmp(name, "-") != 0 ? realpath(name, NULL) : sl_strdup(name);
}

bool sl_path_exists(const char *path)
{
    struct stat status;
    return stat(path, &status) == 0;
}

static enum sl_status fail_errno(struct sl_error *error, const char *path, int number)
{
    bool missing = number == ENOENT || number == ENOTDIR;
    return sl_fail(error, missing ? SL_NOT_FOUND : SL_IO, path,
                   missing ? "check the spelling of the path" : "check that the file may be read",
                   "%s", strerror(number));
}

static enum sl_status read_stream(FILE *file, const char *origin, size_t most, struct sl_str *text,
                                  struct sl_error *error)
{
    char block[4096];
    size_t got = 0;
    while (text->length <= most && (got = fread(block, 1, sizeof(block), file)) > 0) {
        sl_str_add_bytes(text, block, got);
    }
    if (ferror(file)) {
        return fail_errno(error, origin, errno);
    }
    if (text->failed) {
        return sl_fail_memory(error);
    }
    if (text->length > most) {
        return sl_fail(error, SL_TOO_LARGE, origin, "check that this is the right file",
                       "the file is longer than %zu bytes", most);
    }
    return SL_OK;
}

enum sl_status sl_read_text_file(const char *path, size_t most, struct sl_str *text,
                                 struct sl_error *error)
{
    bool standard = strcmp(path, "-") == 0;
    FILE *file = standard ? stdin : fopen(path, "rb");
    if (file == NULL) {
        return fail_errno(error, path, errno);
    }
    enum sl_status status =
        read_stream(file, standard ? "standard input" : path, most, text, error);
    if (!standard) {
        fclose(file);
    }
    return status;
}
