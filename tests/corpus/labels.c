#include "labels.h"

#include "core/str.h"
#include "core/units.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

enum sl_status corpus_labels_say(struct corpus_labels *labels, const struct corpus_said *said)
{
    void *grown = sl_grow(labels->said, labels->n_said, &labels->said_room, sizeof *labels->said);
    if (grown == NULL) {
        return SL_NO_MEMORY;
    }
    labels->said = grown;
    struct corpus_said *copy = &labels->said[labels->n_said];
    *copy = *said;
    copy->what = sl_strdup(said->what);
    copy->text = sl_strdup(said->text);
    labels->n_said++;
    return copy->what == NULL || copy->text == NULL ? SL_NO_MEMORY : SL_OK;
}

enum sl_status corpus_labels_truth(struct corpus_labels *labels, const char *kind,
                                   const char *phase)
{
    void *grown =
        sl_grow(labels->truths, labels->n_truths, &labels->truths_room, sizeof *labels->truths);
    if (grown == NULL) {
        return SL_NO_MEMORY;
    }
    labels->truths = grown;
    struct corpus_truth *copy = &labels->truths[labels->n_truths++];
    *copy = (struct corpus_truth){sl_strdup(kind), sl_strdup(phase)};
    return copy->kind == NULL || copy->phase == NULL ? SL_NO_MEMORY : SL_OK;
}

bool corpus_truth_names(const struct corpus_truth *truth, const char *phase)
{
    size_t length = strlen(phase);
    for (const char *at = truth->phase; at != NULL; at = strchr(at, '|')) {
        at += *at == '|' ? 1 : 0;
        if (strncmp(at, phase, length) == 0 && (at[length] == '|' || at[length] == '\0')) {
            return true;
        }
    }
    return false;
}

static void add_setting(struct sl_str *str, enum sl_setting setting, const char *value)
{
    if (value != NULL) {
        sl_str_addf(str, "%s%s=%s", str->length == 0 ? "" : ";", sl_setting_key(setting), value);
    }
}

static void add_number(struct sl_str *str, enum sl_setting setting, double value)
{
    if (value > 0) {
        char *text = sl_strf("%g", value);
        add_setting(str, setting, text);
        free(text);
    }
}

char *corpus_settings_text(const struct sl_settings *settings)
{
    struct sl_str mirrors = {0};
    for (size_t i = 0; i < settings->n_mirrors; i++) {
        sl_str_addf(&mirrors, "%s%s", i == 0 ? "" : ",", sl_mirror_word(settings->mirrors[i]));
    }
    struct sl_str text = {0};
    add_setting(&text, SL_SET_MIRRORS, settings->n_mirrors == 0 ? NULL : sl_str_text(&mirrors));
    add_setting(&text, SL_SET_SIGNAL, sl_signal_word(settings->signal));
    add_number(&text, SL_SET_SPEED, round(sl_mph_from_mps(settings->speed_mps) * 10) / 10);
    add_number(&text, SL_SET_GEAR, settings->gear);
    add_setting(&text, SL_SET_CLUTCH, sl_clutch_word(settings->clutch));
    add_setting(&text, SL_SET_DECISION, sl_decision_word(settings->decision));
    add_setting(&text, SL_SET_POSITION, sl_position_word(settings->position));
    sl_str_clear(&mirrors);
    if (text.length == 0) {
        sl_str_add(&text, "-");
    }
    return sl_str_take(&text);
}

static bool read_mirrors(char *words, struct sl_settings *settings)
{
    char *rest = NULL;
    for (char *word = strtok_r(words, ",", &rest); word != NULL;
         word = strtok_r(NULL, ",", &rest)) {
        enum sl_mirror mirror = sl_mirror_from_word(word);
        if (mirror == SL_MIRROR_UNSAID) {
            return false;
        }
        sl_settings_add_mirror(settings, mirror);
    }
    return true;
}

static bool read_setting(unsigned setting, char *value, struct sl_settings *settings)
{
    switch (setting) {
    case SL_SET_MIRRORS:
        return read_mirrors(value, settings);
    case SL_SET_SIGNAL:
        return (settings->signal = sl_signal_from_word(value)) != SL_SIGNAL_UNSAID;
    case SL_SET_SPEED:
        return (settings->speed_mps = sl_mps_from_mph(strtod(value, NULL))) > 0;
    case SL_SET_GEAR:
        return (settings->gear = (int)strtol(value, NULL, 10)) > 0;
    case SL_SET_CLUTCH:
        return (settings->clutch = sl_clutch_from_word(value)) != SL_CLUTCH_UNSAID;
    case SL_SET_DECISION:
        return (settings->decision = sl_decision_from_word(value)) != SL_DECISION_UNSAID;
    case SL_SET_POSITION:
        return (settings->position = sl_position_from_word(value)) != SL_POSITION_UNSAID;
    default:
        return false;
    }
}

bool corpus_settings_read(const char *text, struct sl_settings *settings)
{
    struct sl_settings read = {0};
    char *copy = sl_strdup(text);
    bool good = copy != NULL;
    char *rest = NULL;
    char *pair = NULL;
    if (good && strcmp(text, "-") != 0) {
        pair = strtok_r(copy, ";", &rest);
    }
    for (; good && pair != NULL; pair = strtok_r(NULL, ";", &rest)) {
        char *equals = strchr(pair, '=');
        good = equals != NULL;
        if (good) {
            *equals = '\0';
            good = read_setting(sl_setting_from_key(pair), equals + 1, &read);
        }
    }
    free(copy);
    if (good) {
        *settings = read;
    }
    return good;
}

void corpus_labels_clear(struct corpus_labels *labels)
{
    if (labels == NULL) {
        return;
    }
    for (size_t i = 0; i < labels->n_said; i++) {
        free(labels->said[i].what);
        free(labels->said[i].text);
    }
    for (size_t i = 0; i < labels->n_truths; i++) {
        free(labels->truths[i].kind);
        free(labels->truths[i].phase);
    }
    free(labels->said);
    free(labels->truths);
    free(labels->file);
    free(labels->junction);
    free(labels->routine);
    free(labels->voice);
    free(labels->noise);
    free(labels->place);
    *labels = (struct corpus_labels){0};
}
