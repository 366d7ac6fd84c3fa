#include "files/reading.h"

#include "core/str.h"
#include "files/models.h"
#include "files/path.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define MOST_BYTES 65536

void sl_reading_clear(struct sl_reading *reading)
{
    if (reading == NULL) {
        return;
    }
    for (size_t i = 0; i < reading->n; i++) {
        free(reading->phrases[i]);
    }
    *reading = (struct sl_reading){0};
}

/* Words of a to z and apostrophes, single spaces between. */
static bool is_phrase(const char *line, size_t length)
{
    static const char letters[] = "abcdefghijklmnopqrstuvwxyz'";
    bool fine = line[0] != ' ' && line[length - 1] != ' ';
    for (size_t i = 0; i < length; i++) {
        bool letter = strchr(letters, line[i]) != NULL;
        fine = fine && (letter || (line[i] == ' ' && line[i + 1] != ' '));
    }
    return fine;
}

static enum sl_status fail_line(const char *origin, size_t line, const char *what,
                                struct sl_error *error)
{
    char *where = sl_strf("%s:%zu", origin, line);
    enum sl_status status =
        where == NULL
            ? sl_fail_memory(error)
            : sl_fail(error, SL_INVALID, where,
                      "write lower-case words with single spaces between, a phrase a line", "%s",
                      what);
    free(where);
    return status;
}

static enum sl_status add_line(const char *line, size_t length, struct sl_reading *reading,
                               struct sl_error *error)
{
    char *phrase = sl_strf("%.*s", (int)length, line);
    if (phrase == NULL) {
        return sl_fail_memory(error);
    }
    reading->phrases[reading->n++] = phrase;
    return SL_OK;
}

static enum sl_status parse(const char *text, const char *origin, struct sl_reading *reading,
                            struct sl_error *error)
{
    size_t number = 0;
    for (const char *line = text; *line != '\0';) {
        size_t length = strcspn(line, "\n");
        number++;
        if (length > 0 && line[0] != '#') {
            if (!is_phrase(line, length)) {
                return fail_line(origin, number, "this is no phrase to be read aloud", error);
            }
            if (reading->n == SL_READING_MOST) {
                return fail_line(origin, number, "there are more than 40 phrases", error);
            }
            enum sl_status status = add_line(line, length, reading, error);
            if (status != SL_OK) {
                return status;
            }
        }
        line += length + (line[length] == '\n' ? 1 : 0);
    }
    return reading->n > 0 ? SL_OK : fail_line(origin, 1, "there is no phrase in the file", error);
}

enum sl_status sl_reading_parse(const char *text, const char *origin, struct sl_reading *reading,
                                struct sl_error *error)
{
    struct sl_reading made = {0};
    enum sl_status status = parse(text, origin, &made, error);
    if (status != SL_OK) {
        sl_reading_clear(&made);
        return status;
    }
    sl_reading_clear(reading);
    *reading = made;
    return SL_OK;
}

enum sl_status sl_reading_load(struct sl_reading *reading, struct sl_error *error)
{
    char *path = NULL;
    struct sl_str text = {0};
    enum sl_status status = sl_models_path("reading.txt", &path, error);
    if (status == SL_OK) {
        status = sl_read_text_file(path, MOST_BYTES, &text, error);
    }
    if (status == SL_OK) {
        status = sl_reading_parse(sl_str_text(&text), path, reading, error);
    }
    sl_str_clear(&text);
    free(path);
    return status;
}
