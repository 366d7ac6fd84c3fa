#include "practice/forget.h"

#include "core/str.h"
#include "files/learner.h"
#include "files/models.h"
#include "files/path.h"

#include <dirent.h>
#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

static void clear_list(char **list, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        free(list[i]);
    }
    free(list);
}

void sl_forget_clear(struct sl_forget *forget)
{
    clear_list(forget->files, forget->n_files);
    clear_list(forget->elsewhere, forget->n_elsewhere);
    free(forget->learner);
    free(forget->data);
    free(forget->folder);
    *forget = (struct sl_forget){0};
}

/* Adds FOLDER/NAME where it is a file, or a link, of which only the link is removed. */
static enum sl_status add_file(struct sl_forget *forget, const char *folder, const char *name,
                               struct sl_error *error)
{
    struct stat found;
    char *path = sl_strf("%s/%s", folder, name);
    if (path == NULL) {
        return sl_fail_memory(error);
    }
    if (lstat(path, &found) != 0 || S_ISDIR(found.st_mode)) {
        free(path);
        return SL_OK;
    }
    char **grown =
        sl_grow(forget->files, forget->n_files, &forget->files_room, sizeof *forget->files);
    if (grown == NULL) {
        free(path);
        return sl_fail_memory(error);
    }
    forget->files = grown;
    forget->files[forget->n_files++] = path;
    return SL_OK;
}

/* A folder that exists must be where its name says, with no link on the way from the user's data
 * folder. */
static enum sl_status check_place(const struct sl_forget *forget, const char *folder,
                                  struct sl_error *error)
{
    enum sl_status status = SL_OK;
    char *data = realpath(forget->data, NULL);
    char *real = realpath(folder, NULL);
    char *wanted = data == NULL ? NULL : sl_strf("%s%s", data, folder + strlen(forget->data));
    if (real != NULL && (wanted == NULL || strcmp(real, wanted) != 0)) {
        status = sl_fail(error, SL_INVALID, folder, "put the folder itself in the link's place",
                         "this is a link that leads to another place, where nothing is deleted");
    }
    free(wanted);
    free(real);
    free(data);
    return status;
}

static enum sl_status add_recordings(struct sl_forget *forget, struct sl_error *error)
{
    char *folder = sl_strf("%s/recordings", forget->folder);
    enum sl_status status =
        folder == NULL ? sl_fail_memory(error) : check_place(forget, folder, error);
    DIR *entries = status == SL_OK && folder != NULL ? opendir(folder) : NULL;
    const struct dirent *entry;
    while (entries != NULL && status == SL_OK && (entry = readdir(entries)) != NULL) {
        status = add_file(forget, folder, entry->d_name, error);
    }
    if (entries != NULL) {
        (void)closedir(entries);
    }
    free(folder);
    return status;
}

/* Keeps of the history's recordings those that are not to be removed but exist. */
static enum sl_status add_elsewhere(struct sl_history *history, struct sl_forget *forget,
                                    struct sl_error *error)
{
    enum sl_status status = sl_history_sounds(history, forget->learner, &forget->elsewhere,
                                              &forget->n_elsewhere, error);
    char *own = status == SL_OK ? realpath(forget->folder, NULL) : NULL;
    char *inside = own == NULL ? NULL : sl_strf("%s/recordings/", own);
    size_t kept = 0;
    for (size_t i = 0; i < forget->n_elsewhere; i++) {
        char *path = forget->elsewhere[i];
        bool removed = inside != NULL && strncmp(path, inside, strlen(inside)) == 0;
        if (removed || !sl_path_exists(path)) {
            free(path);
        } else {
            forget->elsewhere[kept++] = path;
        }
    }
    forget->n_elsewhere = kept;
    free(inside);
    free(own);
    return status;
}

static bool count(void *user, const struct sl_row *row)
{
    size_t *n = user;
    *n += row->n_values > 0 ? 1 : 0;
    return true;
}

static bool pass_over(void *user, const struct sl_row *row)
{
    (void)user;
    (void)row;
    return true;
}

static enum sl_status count_rows(struct sl_history *history, const char *table, const char *learner,
                                 size_t *n, struct sl_error *error)
{
    const struct sl_history_reader reader = {
        .table = table, .learner = learner, .columns = pass_over, .take = count, .user = n};
    return sl_history_read(history, &reader, error);
}

static enum sl_status look_in_history(struct sl_history *history, struct sl_forget *forget,
                                      struct sl_error *error)
{
    enum sl_status status = sl_history_knows(history, forget->learner, &forget->known, error);
    if (status == SL_OK) {
        status = add_elsewhere(history, forget, error);
    }
    if (status == SL_OK) {
        status = count_rows(history, "runs", forget->learner, &forget->n_runs, error);
    }
    if (status == SL_OK) {
        status = count_rows(history, "answers", forget->learner, &forget->n_answers, error);
    }
    return status;
}

enum sl_status sl_forget_find(struct sl_history *history, const char *learner,
                              struct sl_forget *forget, struct sl_error *error)
{
    enum sl_status status = sl_learner_folder(learner, &forget->folder, error);
    if (status != SL_OK) {
        return status;
    }
    forget->learner = sl_strdup(learner);
    forget->data = sl_user_folder();
    if (forget->learner == NULL || forget->data == NULL) {
        return sl_fail_memory(error);
    }
    status = check_place(forget, forget->folder, error);
    if (status == SL_OK) {
        status = add_recordings(forget, error);
    }
    if (status == SL_OK) {
        status = add_file(forget, forget->folder, "prompting.json", error);
    }
    if (status == SL_OK) {
        status = add_file(forget, forget->folder, "recall.json", error);
    }
    if (status == SL_OK) { /* an earlier sayline kept the learner's voice */
        status = add_file(forget, forget->folder, "voice.json", error);
    }
    if (status == SL_OK && history != NULL) {
        status = look_in_history(history, forget, error);
    }
    forget->known = forget->known || forget->n_files > 0;
    return status;
}

/* Folders that are empty now; others stay. */
static void remove_folders(const struct sl_forget *forget)
{
    char *recordings = sl_strf("%s/recordings", forget->folder);
    if (recordings != NULL) {
        (void)rmdir(recordings);
    }
    free(recordings);
    if (strcmp(forget->folder, forget->data) != 0) {
        (void)rmdir(forget->folder);
    }
}

enum sl_status sl_forget_do(struct sl_history *history, const struct sl_forget *forget,
                            struct sl_error *error)
{
    for (size_t i = 0; i < forget->n_files; i++) {
        if (unlink(forget->files[i]) != 0 && errno != ENOENT) {
            return sl_fail(error, SL_IO, forget->files[i], "check its permissions, then try again",
                           "the file cannot be deleted: %s", strerror(errno));
        }
    }
    remove_folders(forget);
    return history == NULL ? SL_OK : sl_history_forget(history, forget->learner, error);
}
