#include "practice/cue_texts.h"

#include "core/cueing.h"
#include "core/str.h"
#include "files/models.h"

#include <stdlib.h>
#include <string.h>

/* Cue texts do not depend on the car (a plan needs one). */
#define ANY_CAR "small-petrol"

void sl_cue_texts_clear(struct sl_cue_texts *texts)
{
    for (size_t i = 0; i < texts->count; i++) {
        free(texts->items[i]);
    }
    free(texts->items);
    *texts = (struct sl_cue_texts){0};
}

static enum sl_status add_once(struct sl_cue_texts *texts, const char *sentence, size_t length,
                               struct sl_error *error)
{
    for (size_t i = 0; i < texts->count; i++) {
        if (strncmp(texts->items[i], sentence, length) == 0 && texts->items[i][length] == '\0') {
            return SL_OK;
        }
    }
    void *grown = sl_grow(texts->items, texts->count, &texts->room, sizeof *texts->items);
    texts->items = grown != NULL ? grown : texts->items;
    char *copy = sl_strf("%.*s", (int)length, sentence);
    if (grown == NULL || copy == NULL) {
        free(copy);
        return sl_fail_memory(error);
    }
    texts->items[texts->count++] = copy;
    return SL_OK;
}

static enum sl_status add_sentences(struct sl_cue_texts *texts, const char *text,
                                    struct sl_error *error)
{
    enum sl_status status = SL_OK;
    while (*text != '\0' && status == SL_OK) {
        size_t length = sl_sentence_length(text);
        status = add_once(texts, text, length, error);
        text += length;
        text += strspn(text, " ");
    }
    return status;
}

static enum sl_status add_junction(struct sl_cue_texts *texts, const struct sl_junction *junction,
                                   const struct sl_routine *routine, struct sl_error *error)
{
    struct sl_car car = {0};
    struct sl_plan plan = {0};
    enum sl_status status = sl_load_car(ANY_CAR, &car, error);
    if (status != SL_OK) {
        return status;
    }
    struct sl_cue_list cues = {0};
    if (sl_plan_make(junction, routine, &car, &plan, NULL) == SL_OK) {
        struct sl_cueing cueing = {.junction = junction, .routine = routine, .plan = &plan};
        status = sl_cues_every(&cueing, &cues, error);
    }
    for (size_t i = 0; i < cues.count && status == SL_OK; i++) {
        status = add_sentences(texts, cues.items[i].text, error);
    }
    sl_cue_list_clear(&cues);
    sl_car_clear(&car);
    return status;
}

static enum sl_status add_with_routine(struct sl_cue_texts *texts, const char *const *junctions,
                                       size_t n_junctions, const char *routine_name,
                                       struct sl_error *error)
{
    struct sl_routine routine = {0};
    enum sl_status status = sl_load_routine(routine_name, &routine, error);
    for (size_t i = 0; i < n_junctions && status == SL_OK; i++) {
        struct sl_junction junction = {0};
        status = sl_load_junction(junctions[i], &junction, error);
        if (status == SL_OK) {
            status = add_junction(texts, &junction, &routine, error);
        }
        sl_junction_clear(&junction);
    }
    sl_routine_clear(&routine);
    return status;
}

static void free_names(char **names, size_t n_names)
{
    for (size_t i = 0; i < n_names; i++) {
        free(names[i]);
    }
    free(names);
}

enum sl_status sl_cue_texts_collect(const char *const *junctions, size_t n_junctions,
                                    struct sl_cue_texts *texts, struct sl_error *error)
{
    char **routines = NULL;
    size_t n_routines = 0;
    char **all = NULL;
    size_t n_all = 0;
    struct sl_cue_texts made = {0};
    enum sl_status status = sl_models_list("routines", &routines, &n_routines, error);
    if (status == SL_OK && n_junctions == 0) {
        status = sl_models_list("junctions", &all, &n_all, error);
        junctions = (const char *const *)all;
        n_junctions = n_all;
    }
    for (size_t i = 0; i < n_routines && status == SL_OK; i++) {
        status = add_with_routine(&made, junctions, n_junctions, routines[i], error);
    }
    free_names(routines, n_routines);
    free_names(all, n_all);
    if (status != SL_OK) {
        sl_cue_texts_clear(&made);
        return status;
    }
    sl_cue_texts_clear(texts);
    *texts = made;
    return SL_OK;
}
