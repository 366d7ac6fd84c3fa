#include "files/models.h"

#include "core/str.h"
#include "files/near.h"
#include "files/path.h"
#include "files/yaml.h"

#include <dirent.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* The places that are searched, in order. */
enum place { PLACE_SET, PLACE_USER, PLACE_BESIDE, PLACE_SOURCE, PLACE_INSTALLED, PLACE_COUNT };

/* PREFIX/share/sayline for a program at PREFIX/bin/sayline, wherever the prefix was moved to. NULL
 * where the system does not tell. */
static char *beside_program(void)
{
    size_t room = 256;
    char *path = NULL;
    ssize_t length = (ssize_t)room;
    while (length == (ssize_t)room) { /* cut off: once more with more room */
        room *= 2;
        char *larger = realloc(path, room + 1);
        if (larger == NULL) {
            free(path);
            return NULL;
        }
        path = larger;
        length = readlink("/proc/self/exe", path, room);
    }
    char *found = NULL;
    if (length > 0) {
        path[length] = '\0';
        char *slash = strrchr(path, '/');
        if (slash != NULL) {
            *slash = '\0';
            found = sl_strf("%s/../share/sayline", path);
        }
    }
    free(path);
    return found;
}

/* The folder of ours in the XDG folder of that variable, or in the one below the home. */
static char *xdg_folder(const char *variable, const char *below_home)
{
    const char *folder = getenv(variable);
    if (folder != NULL && folder[0] == '/') { /* the XDG rules: a relative one is passed over */
        return sl_strf("%s/sayline", folder);
    }
    const char *home = getenv("HOME");
    return home == NULL || home[0] == '\0' ? NULL : sl_strf("%s/%s/sayline", home, below_home);
}

char *sl_user_folder(void)
{
    return xdg_folder("XDG_DATA_HOME", ".local/share");
}

char *sl_cache_folder(void)
{
    return xdg_folder("XDG_CACHE_HOME", ".cache");
}

/* The folder of a place, which the caller frees; NULL when there is none. */
static char *place_folder(enum place place)
{
    const char *set = getenv("SAYLINE_MODELS");
    switch (place) {
    case PLACE_SET:
        return set == NULL || set[0] == '\0' ? NULL : sl_strdup(set);
    case PLACE_USER:
        return sl_user_folder();
    case PLACE_BESIDE:
        return beside_program();
    case PLACE_SOURCE:
        return sl_strdup(SL_MODELS_SOURCE);
    case PLACE_INSTALLED:
        return sl_strdup(SL_MODELS_INSTALLED);
    case PLACE_COUNT:
        break;
    }
    return NULL;
}

/* The first existing file; NULL in *path when there is none. */
static enum sl_status find(const char *relative, char **path, struct sl_error *error)
{
    for (int place = 0; place < PLACE_COUNT; place++) {
        char *folder = place_folder((enum place)place);
        if (folder == NULL) {
            continue;
        }
        char *candidate = sl_strf("%s/%s", folder, relative);
        free(folder);
        if (candidate == NULL) {
            return sl_fail_memory(error);
        }
        if (sl_path_exists(candidate)) {
            *path = candidate;
            return SL_OK;
        }
        free(candidate);
    }
    return SL_NOT_FOUND;
}

enum sl_status sl_models_path(const char *relative, char **path, struct sl_error *error)
{
    enum sl_status status = find(relative, path, error);
    if (status == SL_NOT_FOUND) {
        return sl_fail(error, status, relative,
                       "install the program, or set SAYLINE_MODELS to its folder of models",
                       "the file is in none of the folders of models");
    }
    return status;
}

struct names {
    char **items;
    size_t count;
    size_t room;
};

static void clear_names(struct names *names)
{
    for (size_t i = 0; i < names->count; i++) {
        free(names->items[i]);
    }
    free(names->items);
    *names = (struct names){0};
}

/* Adds the name of a YAML file; other files are passed over. False when memory ran out. */
static bool add_name(struct names *names, const char *file)
{
    if (file[0] == '.' || strcmp(file, "-") == 0 || !sl_is_path(file)) {
        return true;
    }
    void *grown = sl_grow(names->items, names->count, &names->room, sizeof(*names->items));
    if (grown == NULL) {
        return false;
    }
    names->items = grown;
    char *name = sl_path_name(file);
    if (name == NULL) {
        return false;
    }
    names->items[names->count++] = name;
    return true;
}

static bool add_folder(struct names *names, const char *path)
{
    DIR *folder = opendir(path);
    if (folder == NULL) {
        return true; /* most places do not exist */
    }
    bool fine = true;
    const struct dirent *entry = NULL;
    while (fine && (entry = readdir(folder)) != NULL) {
        fine = add_name(names, entry->d_name);
    }
    closedir(folder);
    return fine;
}

static int compare_names(const void *a, const void *b)
{
    return strcmp(*(char *const *)a, *(char *const *)b);
}

static void sort_once_each(struct names *names)
{
    size_t kept = 0;
    if (names->count == 0) {
        return;
    }
    qsort(names->items, names->count, sizeof(*names->items), compare_names);
    for (size_t i = 0; i < names->count; i++) {
        if (kept > 0 && strcmp(names->items[kept - 1], names->items[i]) == 0) {
            free(names->items[i]);
        } else {
            names->items[kept++] = names->items[i];
        }
    }
    names->count = kept;
}

enum sl_status sl_models_list(const char *folder, char ***names, size_t *n_names,
                              struct sl_error *error)
{
    struct names found = {0};
    for (int place = 0; place < PLACE_COUNT; place++) {
        char *root = place_folder((enum place)place);
        if (root == NULL) {
            continue;
        }
        char *path = sl_strf("%s/%s", root, folder);
        free(root);
        bool fine = path != NULL && add_folder(&found, path);
        free(path);
        if (!fine) {
            clear_names(&found);
            return sl_fail_memory(error);
        }
    }
    sort_once_each(&found);
    *names = found.items;
    *n_names = found.count;
    return SL_OK;
}

/* What to do about a name that is not there: the nearest one, else those that begin with it, else
 * all of them. */
static void add_choices(struct sl_str *mend, const char *name, const struct names *found)
{
    const char *near = sl_nearest(name, (const char *const *)found->items, found->count);
    size_t n = 0;
    if (near != NULL) {
        sl_str_addf(mend, "did you mean '%s'?", near);
        return;
    }
    if (found->count == 0) {
        sl_str_add(mend, "install the program, or set SAYLINE_MODELS to its folder of models");
        return;
    }
    for (size_t i = 0; i < found->count; i++) {
        if (*name != '\0' && strncmp(found->items[i], name, strlen(name)) == 0) {
            sl_str_addf(mend, "%s'%s'", n++ == 0 ? "did you mean " : " or ", found->items[i]);
        }
    }
    if (n > 0) {
        sl_str_add(mend, "?");
        return;
    }
    sl_str_add(mend, "give the path of a file that ends in .yaml, or one of these names: ");
    for (size_t i = 0; i < found->count; i++) {
        sl_str_addf(mend, "%s%s", i == 0 ? "" : ", ", found->items[i]);
    }
}

static enum sl_status fail_unknown(const char *folder, const char *name, struct sl_error *error)
{
    struct names found = {0};
    struct sl_str mend = {0};
    enum sl_status status = sl_models_list(folder, &found.items, &found.count, error);
    if (status != SL_OK) {
        return status;
    }
    add_choices(&mend, name, &found);
    status = sl_fail(error, SL_NOT_FOUND, name, sl_str_text(&mend),
                     "there is no file '%s.yaml' "
                     "among the %s",
                     name, folder);
    sl_str_clear(&mend);
    clear_names(&found);
    return status;
}

enum sl_status sl_models_locate(const char *folder, const char *name, char **path,
                                struct sl_error *error)
{
    if (name[0] == '\0') {
        return fail_unknown(folder, name, error);
    }
    if (sl_is_path(name)) {
        *path = sl_strdup(name);
        return *path == NULL ? sl_fail_memory(error) : SL_OK;
    }
    char *relative = sl_strf("%s/%s.yaml", folder, name);
    if (relative == NULL) {
        return sl_fail_memory(error);
    }
    enum sl_status status = find(relative, path, error);
    free(relative);
    return status == SL_NOT_FOUND ? fail_unknown(folder, name, error) : status;
}

/* Finds and reads a file. A zero byte would end the text early and hide the rest, so it is refused
 * here. *origin is what errors call the file. */
static enum sl_status fetch(const char *folder, const char *name, char **origin,
                            struct sl_str *text, struct sl_error *error)
{
    char *path = NULL;
    enum sl_status status = sl_models_locate(folder, name, &path, error);
    if (status != SL_OK || path == NULL) {
        return status;
    }
    status = sl_read_text_file(path, SL_YAML_SIZE_MAX, text, error);
    if (status == SL_OK && memchr(sl_str_text(text), '\0', text->length) != NULL) {
        status = sl_fail(error, SL_FORMAT, path, "name a text file with YAML in it",
                         "this is not a text file");
    }
    if (status == SL_OK && strcmp(path, "-") == 0) {
        free(path);
        path = sl_strdup("standard input");
        status = path == NULL ? sl_fail_memory(error) : SL_OK;
    }
    if (status != SL_OK) {
        free(path);
        return status;
    }
    *origin = path;
    return SL_OK;
}

enum sl_status sl_load_junction(const char *name, struct sl_junction *junction,
                                struct sl_error *error)
{
    char *origin = NULL;
    struct sl_str text = {0};
    enum sl_status status = fetch("junctions", name, &origin, &text, error);
    if (status == SL_OK) {
        status = sl_parse_junction(sl_str_text(&text), origin, junction, error);
    }
    sl_str_clear(&text);
    free(origin);
    return status;
}

enum sl_status sl_load_routine(const char *name, struct sl_routine *routine, struct sl_error *error)
{
    char *origin = NULL;
    struct sl_str text = {0};
    enum sl_status status = fetch("routines", name, &origin, &text, error);
    if (status == SL_OK) {
        status = sl_parse_routine(sl_str_text(&text), origin, routine, error);
    }
    sl_str_clear(&text);
    free(origin);
    return status;
}

enum sl_status sl_load_car(const char *name, struct sl_car *car, struct sl_error *error)
{
    char *origin = NULL;
    struct sl_str text = {0};
    enum sl_status status = fetch("cars", name, &origin, &text, error);
    if (status == SL_OK) {
        status = sl_parse_car(sl_str_text(&text), origin, car, error);
    }
    sl_str_clear(&text);
    free(origin);
    return status;
}
