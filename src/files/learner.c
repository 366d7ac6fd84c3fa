#include "files/learner.h"

#include "core/str.h"
#include "files/models.h"
#include "files/utf8.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>

static bool is_letter(char c)
{
    unsigned char byte = (unsigned char)c;
    return byte >= 0x80 || isalnum(byte) != 0; /* beyond ASCII: a part of a letter */
}

enum sl_status sl_learner_check(const char *name, struct sl_error *error)
{
    size_t length = strlen(name);
    char *escaped = sl_utf8_escaped(name);
    if (escaped == NULL) {
        return sl_fail_memory(error);
    }
    bool fine = strcmp(escaped, name) == 0 && length <= SL_LEARNER_MOST_BYTES && is_letter(name[0]);
    free(escaped);
    for (size_t i = 1; fine && i < length; i++) {
        fine = is_letter(name[i]) || strchr(" -_.'", name[i]) != NULL;
    }
    if (!fine) {
        return sl_fail(error, SL_INVALID, "--learner",
                       "use letters, digits and blanks, a letter or digit first",
                       "\"%s\" cannot be a learner's name", name);
    }
    return SL_OK;
}

enum sl_status sl_learner_folder(const char *name, char **folder, struct sl_error *error)
{
    enum sl_status status = sl_learner_check(name, error);
    if (status != SL_OK) {
        return status;
    }
    char *data = sl_user_folder();
    if (data == NULL) {
        return sl_fail(error, SL_NOT_FOUND, NULL, "set HOME or XDG_DATA_HOME",
                       "there is no folder to keep things in");
    }
    char *made = strcmp(name, SL_DEFAULT_LEARNER) == 0 ? sl_strdup(data)
                                                       : sl_strf("%s/learners/%s", data, name);
    free(data);
    if (made == NULL) {
        return sl_fail_memory(error);
    }
    *folder = made;
    return SL_OK;
}

enum sl_status sl_learner_file(const char *learner, const char *name, char **path,
                               struct sl_error *error)
{
    char *folder = NULL;
    enum sl_status status = sl_learner_folder(learner, &folder, error);
    if (status != SL_OK) {
        return status;
    }
    char *made = sl_strf("%s/%s", folder, name);
    free(folder);
    if (made == NULL) {
        return sl_fail_memory(error);
    }
    *path = made;
    return SL_OK;
}
