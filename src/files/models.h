/*
 * Finding shipped and own files by name: junctions, routines, cars.
 *
 * Searched in order: the environment's SAYLINE_MODELS, $XDG_DATA_HOME/sayline
 * (~/.local/share/sayline), the folder that belongs to the installed or built program. Under each:
 * junctions/NAME.yaml, routines/NAME.yaml, cars/NAME.yaml, pronunciations.dict.
 */
#ifndef SL_FILES_MODELS_H
#define SL_FILES_MODELS_H

#include "core/car.h"
#include "core/junction.h"
#include "core/routine.h"
#include "core/status.h"

#include <stddef.h>

/*
 * Each takes a name ("t-left-open") or a path (anything with a slash or ending in .yaml; "-" is
 * standard input), reads and checks the file. Errors carry "file:line:column" and the mend;
 * SL_NOT_FOUND lists near names. The result is {0}-initialised by the caller and released with its
 * _clear.
 */
enum sl_status sl_load_junction(const char *name, struct sl_junction *junction,
                                struct sl_error *error);
enum sl_status sl_load_routine(const char *name, struct sl_routine *routine,
                               struct sl_error *error); /* phrasebook compiled */
enum sl_status sl_load_car(const char *name, struct sl_car *car, struct sl_error *error);

/* The same from text; `origin` is named in errors. */
enum sl_status sl_parse_junction(const char *text, const char *origin, struct sl_junction *junction,
                                 struct sl_error *error);
enum sl_status sl_parse_routine(const char *text, const char *origin, struct sl_routine *routine,
                                struct sl_error *error);
enum sl_status sl_parse_car(const char *text, const char *origin, struct sl_car *car,
                            struct sl_error *error);

/* Path of a file below a models folder ("pronunciations.dict"), the first that exists; the caller
 * frees it. */
enum sl_status sl_models_path(const char *relative, char **path, struct sl_error *error);

/* Path of the file that a name ("decide-last") or a path means in a folder of models ("routines");
 * it may not exist where a path was given. The caller frees. SL_NOT_FOUND as the loading functions.
 */
enum sl_status sl_models_locate(const char *folder, const char *name, char **path,
                                struct sl_error *error);

/* $XDG_DATA_HOME/sayline, or ~/.local/share/sayline: the user's own files. It may not exist. The
 * caller frees; NULL where there is no home, and when memory runs out. */
char *sl_user_folder(void);

/* $XDG_CACHE_HOME/sayline, or ~/.cache/sayline: what can be made again. Likewise. */
char *sl_cache_folder(void);

/* Names that exist in a folder ("junctions"), sorted, each once. The caller frees each and the
 * array. */
enum sl_status sl_models_list(const char *folder, char ***names, size_t *n_names,
                              struct sl_error *error);

#endif
