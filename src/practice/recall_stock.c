/* What a recall drill can ask: junctions and scenes loaded and made into questions. */
#include "practice/recall_run.h"

#include "core/plan.h"
#include "core/str.h"
#include "files/load_recall.h"
#include "files/models.h"

#include <stdlib.h>
#include <string.h>

void sl_recall_stock_clear(struct sl_recall_stock *stock)
{
    if (stock == NULL) {
        return;
    }
    for (size_t i = 0; i < stock->n_questions; i++) {
        sl_question_clear(&stock->questions[i]);
        sl_junction_clear(&stock->places[i].junction);
    }
    free(stock->questions);
    free(stock->places);
    sl_phrasebook_clear(&stock->book);
    sl_phrasebook_clear(&stock->scene_book);
    sl_car_clear(&stock->car);
    sl_routine_clear(&stock->routine);
    *stock = (struct sl_recall_stock){0};
}

/* Takes question and place over, also when it fails. */
static enum sl_status keep(struct sl_recall_stock *stock, struct sl_question *question,
                           struct sl_recall_place *place, struct sl_error *error)
{
    for (size_t i = 0; i < stock->n_questions; i++) {
        if (strcmp(stock->questions[i].id, question->id) == 0) {
            enum sl_status status =
                sl_fail(error, SL_INVALID, question->id, "name each once; spacing goes by the name",
                        "two questions have the same name");
            sl_question_clear(question);
            sl_junction_clear(&place->junction);
            return status;
        }
    }
    void *grown =
        sl_grow(stock->questions, stock->n_questions, &stock->room, sizeof *stock->questions);
    stock->questions = grown != NULL ? grown : stock->questions;
    void *places =
        sl_grow(stock->places, stock->n_questions, &stock->places_room, sizeof *stock->places);
    stock->places = places != NULL ? places : stock->places;
    if (grown == NULL || places == NULL) {
        sl_question_clear(question);
        sl_junction_clear(&place->junction);
        return sl_fail_memory(error);
    }
    stock->places[stock->n_questions] = *place;
    stock->questions[stock->n_questions++] = *question;
    return SL_OK;
}

static enum sl_status add_junction(struct sl_recall_stock *stock, const char *name,
                                   struct sl_error *error)
{
    struct sl_recall_place place = {0};
    struct sl_question question = {0};
    enum sl_status status = sl_load_junction(name, &place.junction, error);
    if (status == SL_OK) {
        status = sl_plan_make(&place.junction, &stock->routine, &stock->car, &place.plan, error);
    }
    if (status == SL_OK) {
        status = sl_question_of_junction(&stock->routine, &place.junction, place.plan.view,
                                         &question, error);
    }
    if (status != SL_OK) {
        sl_junction_clear(&place.junction);
        return status;
    }
    return keep(stock, &question, &place, error);
}

static enum sl_status add_junctions(struct sl_recall_stock *stock, const char *const *names,
                                    size_t n_names, struct sl_error *error)
{
    enum sl_status status = SL_OK;
    for (size_t i = 0; i < n_names && status == SL_OK; i++) {
        status = add_junction(stock, names[i], error);
    }
    return status;
}

static enum sl_status add_all_junctions(struct sl_recall_stock *stock, struct sl_error *error)
{
    char **names = NULL;
    size_t n_names = 0;
    enum sl_status status = sl_models_list("junctions", &names, &n_names, error);
    if (status == SL_OK) {
        status = add_junctions(stock, (const char *const *)names, n_names, error);
    }
    for (size_t i = 0; i < n_names; i++) {
        free(names[i]);
    }
    free(names);
    return status;
}

static enum sl_status add_scenes(struct sl_recall_stock *stock, struct sl_error *error)
{
    struct sl_scene_list scenes = {0};
    enum sl_status status = sl_load_scenes(NULL, &scenes, error);
    for (size_t i = 0; i < scenes.count && status == SL_OK; i++) {
        struct sl_question question = {0};
        struct sl_recall_place nowhere = {0};
        status = sl_question_of_scene(&scenes.items[i], &question, error);
        if (status == SL_OK) {
            status = keep(stock, &question, &nowhere, error);
        }
    }
    sl_scene_list_clear(&scenes);
    return status;
}

static enum sl_status make_book(struct sl_recall_stock *stock, struct sl_error *error)
{
    struct sl_phrasebook answers = {0};
    enum sl_status status = sl_load_answers(&answers, error);
    if (status == SL_OK) {
        status = sl_recall_book_make(&stock->routine.phrasebook, &answers, &stock->book, error);
    }
    if (status == SL_OK) {
        status = sl_recall_book_make(NULL, &answers, &stock->scene_book, error);
    }
    sl_phrasebook_clear(&answers);
    return status;
}

enum sl_status sl_recall_stock_load(struct sl_recall_stock *stock,
                                    const struct sl_recall_wish *wish, struct sl_error *error)
{
    enum sl_status status = sl_load_routine(wish->routine, &stock->routine, error);
    if (status == SL_OK) {
        status = sl_load_car(wish->car, &stock->car, error);
    }
    if (status == SL_OK) {
        status = make_book(stock, error);
    }
    if (status == SL_OK && wish->settings) {
        status = wish->junctions == NULL
                     ? add_all_junctions(stock, error)
                     : add_junctions(stock, wish->junctions, wish->n_junctions, error);
    }
    if (status == SL_OK && wish->scenes) {
        status = add_scenes(stock, error);
    }
    if (status == SL_OK && stock->n_questions == 0) {
        status = sl_fail(error, SL_NOT_FOUND, NULL,
                         "install the program, or set SAYLINE_MODELS to its folder of models",
                         "there is no junction to ask about");
    }
    return status;
}
