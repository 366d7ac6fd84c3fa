#include "files/mark_cache.h"

#include "core/str.h"
#include "files/atomic.h"
#include "files/digest.h"
#include "files/mark_lines.h"
#include "files/models.h"

#include <dirent.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#define DAY_S ((time_t)24 * 60 * 60)

static void remove_old(const char *folder)
{
    DIR *entries = opendir(folder);
    const struct dirent *entry = NULL;
    const time_t oldest = time(NULL) - SL_MARK_CACHE_DAYS * DAY_S;
    while (entries != NULL && (entry = readdir(entries)) != NULL) {
        struct stat like;
        if (fstatat(dirfd(entries), entry->d_name, &like, AT_SYMLINK_NOFOLLOW) == 0 &&
            S_ISREG(like.st_mode) && like.st_mtime < oldest) {
            (void)unlinkat(dirfd(entries), entry->d_name, 0);
        }
    }
    if (entries != NULL) {
        (void)closedir(entries);
    }
}

/* Adds what a file holds to the digest; false when it cannot be read. */
static bool add_file(struct sl_sha256 *sha, const char *path)
{
    struct sl_digest digest;
    if (sl_file_digest(path, &digest, NULL) != SL_OK) {
        return false;
    }
    sl_sha256_add(sha, digest.sha256, sizeof digest.sha256);
    return true;
}

void sl_mark_cache_open(struct sl_mark_cache *cache, const char *const *models, size_t n_models)
{
    struct sl_sha256 sha;
    char *above = sl_cache_folder();
    *cache = (struct sl_mark_cache){0};
    sl_sha256_begin(&sha);
    bool known = add_file(&sha, "/proc/self/exe");
    for (size_t i = 0; i < n_models; i++) {
        known = known && add_file(&sha, models[i]);
    }
    sl_sha256_end(&sha, cache->made_by);
    if (known && above != NULL) {
        cache->folder = sl_strf("%s/marks", above);
    }
    if (cache->folder != NULL) {
        remove_old(cache->folder);
    }
    free(above);
}

void sl_mark_cache_close(struct sl_mark_cache *cache)
{
    free(cache->folder);
    *cache = (struct sl_mark_cache){0};
}

char *sl_mark_cache_path(const struct sl_mark_cache *cache, const struct sl_mark_cache_key *key)
{
    char *plan = NULL;
    if (cache->folder == NULL || sl_plan_to_json(key->against, &plan, NULL) != SL_OK) {
        return NULL;
    }
    struct sl_sha256 sha;
    char hex[SL_SHA256_HEX];
    char *text = sl_strf("%s\n%.17g\n%s\n%s", cache->made_by, key->from_s, plan,
                         key->driven ? "drive\n" : "");
    sl_sha256_begin(&sha);
    sl_sha256_add(&sha, text == NULL ? "" : text, text == NULL ? 0 : strlen(text));
    bool known = text != NULL && add_file(&sha, key->recording);
    sl_sha256_end(&sha, hex);
    free(text);
    free(plan);
    return known ? sl_strf("%s/%s.json", cache->folder, hex) : NULL;
}

bool sl_mark_cache_find(const char *path, struct sl_tally *tally)
{
    if (path == NULL || sl_mark_lines_add(path, tally, NULL) != SL_OK || tally->n_runs == 0) {
        return false;
    }
    (void)utimensat(AT_FDCWD, path, NULL, 0); /* asked for today */
    return true;
}

void sl_mark_cache_keep(const char *path, const char *line)
{
    if (path != NULL) {
        (void)sl_write_text_file(path, line, strlen(line), NULL);
    }
}
