/*
 * What a recall drill asks and understands, beside junctions and routines: scenes.yaml and
 * answers.yaml of the folders of models (models.h).
 */
#ifndef SL_FILES_LOAD_RECALL_H
#define SL_FILES_LOAD_RECALL_H

#include "core/phrasebook.h"
#include "core/recall.h"
#include "core/status.h"

/* Reads `path`, or scenes.yaml of the models for NULL. At least one scene, ids all different.
 * Errors as sl_load_junction. The list is {0} and released by the caller. */
enum sl_status sl_load_scenes(const char *path, struct sl_scene_list *scenes,
                              struct sl_error *error);

/* The same from text; `origin` is named in errors. */
enum sl_status sl_parse_scenes(const char *text, const char *origin, struct sl_scene_list *scenes,
                               struct sl_error *error);

/* Reads answers.yaml: the phrases with which questions are answered, compiled. */
enum sl_status sl_load_answers(struct sl_phrasebook *answers, struct sl_error *error);

/* The same from text; `origin` is named in errors. */
enum sl_status sl_parse_answers(const char *text, const char *origin, struct sl_phrasebook *answers,
                                struct sl_error *error);

#endif
