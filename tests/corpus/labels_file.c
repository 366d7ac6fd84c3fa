#include "labels.h"

#include "core/str.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void add_said(struct sl_str *text, const struct corpus_said *said)
{
    char *settings = corpus_settings_text(&said->settings);
    sl_str_addf(text, "%s\t%.3f\t%.3f\t%s\t%s\n", said->what, said->start_s, said->end_s,
                settings == NULL ? "" : settings, said->text);
    free(settings);
}

enum sl_status corpus_labels_write(const struct corpus_labels *labels, const char *path,
                                   struct sl_error *error)
{
    struct sl_str text = {0};
    sl_str_addf(&text, "labels\t1\nfile\t%s\njunction\t%s\nroutine\t%s\n", labels->file,
                labels->junction, labels->routine);
    sl_str_addf(&text, "voice\t%s\nnoise\t%s\n", labels->voice, labels->noise);
    if (labels->place != NULL) {
        sl_str_addf(&text, "place\t%s\n", labels->place);
    }
    sl_str_addf(&text, "from_s\t%.3f\nduration_s\t%.3f\ntimed\t%s\n", labels->from_s,
                labels->duration_s, labels->timed ? "yes" : "no");
    for (size_t i = 0; i < labels->n_said; i++) {
        add_said(&text, &labels->said[i]);
    }
    for (size_t i = 0; i < labels->n_truths; i++) {
        const struct corpus_truth *truth = &labels->truths[i];
        bool fault = strcmp(truth->kind, "corrected") != 0;
        sl_str_addf(&text, "%s%s\t%s\n", fault ? "fault\t" : "", truth->kind, truth->phase);
    }
    FILE *file = text.failed ? NULL : fopen(path, "w");
    bool good = file != NULL && fputs(sl_str_text(&text), file) >= 0;
    if (file != NULL && fclose(file) != 0) {
        good = false;
    }
    sl_str_clear(&text);
    return good ? SL_OK
                : sl_fail(error, SL_IO, path, "check that the folder may be written to",
                          "the labels cannot be written");
}

#define MAX_COLUMNS 6

/* Cuts a line at its tabs; the number of columns, at most MAX_COLUMNS. */
static size_t cut(char *line, char *columns[MAX_COLUMNS])
{
    line[strcspn(line, "\r\n")] = '\0';
    size_t n = 0;
    for (char *at = line; at != NULL && n < MAX_COLUMNS; n++) {
        columns[n] = at;
        at = strchr(at, '\t');
        if (at != NULL) {
            *at++ = '\0';
        }
    }
    return n;
}

static bool read_header(struct corpus_labels *labels, const char *key, const char *value)
{
    struct {
        const char *key;
        char **text;
    } texts[] = {{"file", &labels->file},       {"junction", &labels->junction},
                 {"routine", &labels->routine}, {"voice", &labels->voice},
                 {"noise", &labels->noise},     {"place", &labels->place}};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        if (strcmp(key, texts[i].key) == 0) {
            free(*texts[i].text);
            *texts[i].text = sl_strdup(value);
            return true;
        }
    }
    if (strcmp(key, "from_s") == 0) {
        labels->from_s = strtod(value, NULL);
    } else if (strcmp(key, "duration_s") == 0) {
        labels->duration_s = strtod(value, NULL);
    } else if (strcmp(key, "timed") == 0) {
        labels->timed = strcmp(value, "yes") == 0;
    } else if (strcmp(key, "corrected") == 0) {
        return corpus_labels_truth(labels, key, value) == SL_OK;
    } else {
        return strcmp(key, "labels") == 0 && strcmp(value, "1") == 0;
    }
    return true;
}

static bool read_line(struct corpus_labels *labels, char *columns[MAX_COLUMNS], size_t n)
{
    if (n == 1) {
        return columns[0][0] == '\0';
    }
    if (n == 2) {
        return read_header(labels, columns[0], columns[1]);
    }
    if (n == 3 && strcmp(columns[0], "fault") == 0) {
        return corpus_labels_truth(labels, columns[1], columns[2]) == SL_OK;
    }
    struct corpus_said said = {0};
    if (n != 5 || !corpus_settings_read(columns[3], &said.settings)) {
        return false;
    }
    said.what = columns[0];
    said.start_s = strtod(columns[1], NULL);
    said.end_s = strtod(columns[2], NULL);
    said.text = columns[4];
    return corpus_labels_say(labels, &said) == SL_OK;
}

static enum sl_status read_lines(FILE *file, const char *path, struct corpus_labels *labels,
                                 struct sl_error *error)
{
    char *line = NULL;
    size_t room = 0;
    size_t number = 0;
    enum sl_status status = SL_OK;
    while (status == SL_OK && getline(&line, &room, file) >= 0) {
        char *columns[MAX_COLUMNS];
        size_t n = cut(line, columns);
        number++;
        if (!read_line(labels, columns, n)) {
            char *where = sl_strf("%s:%zu", path, number);
            status = sl_fail(error, SL_FORMAT, where, "write labels as docs/formats.md says",
                             "this line is none of a label file");
            free(where);
        }
    }
    free(line);
    return status;
}

enum sl_status corpus_labels_read(const char *path, struct corpus_labels *labels,
                                  struct sl_error *error)
{
    FILE *file = fopen(path, "r");
    if (file == NULL) {
        return sl_fail(error, errno == ENOENT ? SL_NOT_FOUND : SL_IO, path, NULL,
                       "the labels cannot be opened");
    }
    struct corpus_labels read = {0};
    enum sl_status status = read_lines(file, path, &read, error);
    fclose(file);
    if (status != SL_OK) {
        corpus_labels_clear(&read);
        return status;
    }
    *labels = read;
    return SL_OK;
}
