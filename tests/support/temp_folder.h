/*
 * A folder of its own for a test, thrown away afterwards.
 */
#ifndef SUPPORT_TEMP_FOLDER_H
#define SUPPORT_TEMP_FOLDER_H

#include <dirent.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#define TEMP_PATH_MAX 256

struct temp_folder {
    char path[64];
};

/* 0 when it is there. */
static inline int temp_folder_make(struct temp_folder *folder)
{
    snprintf(folder->path, sizeof folder->path, "/tmp/sayline-test-XXXXXX");
    return mkdtemp(folder->path) == NULL ? -1 : 0;
}

static inline void temp_folder_name(const struct temp_folder *folder, const char *name,
                                    char path[TEMP_PATH_MAX])
{
    snprintf(path, TEMP_PATH_MAX, "%s/%.180s", folder->path, name);
}

/* Number of files in it; removes them when `remove_all`. */
static inline int temp_folder_count(const struct temp_folder *folder, int remove_all)
{
    DIR *entries = opendir(folder->path);
    int n = 0;
    const struct dirent *entry;
    while (entries != NULL && (entry = readdir(entries)) != NULL) {
        if (strcmp(entry->d_name, ".") == 0 || strcmp(entry->d_name, "..") == 0) {
            continue;
        }
        char path[TEMP_PATH_MAX];
        temp_folder_name(folder, entry->d_name, path);
        n++;
        if (remove_all && unlink(path) != 0) {
            rmdir(path);
        }
    }
    if (entries != NULL) {
        closedir(entries);
    }
    return n;
}

static inline void temp_folder_remove(const struct temp_folder *folder)
{
    temp_folder_count(folder, 1);
    rmdir(folder->path);
}

#endif
