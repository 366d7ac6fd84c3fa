#include "practice/cue_pack.h"

#include "core/str.h"
#include "files/path.h"
#include "practice/cue_voice.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

/* What a manifest says may differ from what is measured by its own rounding. */
#define LENGTH_SLACK_S 0.002
#define LEVEL_SLACK_DB 0.15

#define BLOCK 1024

static const struct {
    unsigned flaw;
    const char *word, *text;
} flaw_texts[] = {
#define SL_CUE_FLAW_ROW(code, bit, word, text) {code, word, text},
    SL_CUE_FLAW_MAP(SL_CUE_FLAW_ROW)
#undef SL_CUE_FLAW_ROW
};

void sl_cue_flaws_add(struct sl_str *out, unsigned flaws)
{
    const char *between = "";
    for (size_t i = 0; i < sizeof flaw_texts / sizeof *flaw_texts; i++) {
        if ((flaws & flaw_texts[i].flaw) != 0) {
            sl_str_addf(out, "%s%s (%s)", between, flaw_texts[i].word, flaw_texts[i].text);
            between = "; ";
        }
    }
}

double sl_cue_longest_s(const char *text)
{
    return 0.5 + 0.12 * (double)strlen(text);
}

unsigned sl_cue_clip_flaws(const struct sl_clip *clip, const char *text,
                           const struct sl_loudness *loudness)
{
    double above = loudness->integrated_lufs - SL_LOUDNESS_TARGET_LUFS;
    unsigned flaws = 0;
    if (!isfinite(loudness->integrated_lufs)) {
        return SL_CUE_SILENT;
    }
    flaws |= above > SL_LOUDNESS_TOLERANCE_LU ? SL_CUE_TOO_LOUD : 0U;
    flaws |= above < -SL_LOUDNESS_TOLERANCE_LU ? SL_CUE_TOO_QUIET : 0U;
    flaws |= loudness->true_peak_dbtp > SL_TRUE_PEAK_MAX_DBTP ? SL_CUE_CLIPPED : 0U;
    flaws |= sl_clip_length_s(clip) > sl_cue_longest_s(text) ? SL_CUE_TOO_LONG : 0U;
    return flaws;
}

unsigned sl_cue_take_flaws(const struct sl_clip *take)
{
    struct sl_levels levels;
    float block[BLOCK];
    sl_levels_init(&levels, SL_CLIP_RATE_HZ);
    for (size_t done = 0; done < take->n;) {
        size_t n = take->n - done < BLOCK ? take->n - done : BLOCK;
        for (size_t i = 0; i < n; i++) {
            block[i] = (float)take->samples[done + i] / (float)INT16_MAX;
        }
        sl_levels_add(&levels, block, n);
        done += n;
    }
    unsigned notices = sl_levels_report(&levels).notices;
    unsigned flaws = 0;
    flaws |= (notices & SL_NOTICE_SILENT) != 0 ? SL_CUE_SILENT : 0U;
    flaws |= (notices & SL_NOTICE_CLIPPED) != 0 ? SL_CUE_CLIPPED : 0U;
    flaws |= (notices & SL_NOTICE_QUIET) != 0 ? SL_CUE_TOO_QUIET : 0U;
    flaws |= (notices & SL_NOTICE_NOISY) != 0 ? SL_CUE_NOISY : 0U;
    return flaws;
}

void sl_cue_findings_clear(struct sl_cue_findings *findings)
{
    free(findings->items);
    *findings = (struct sl_cue_findings){0};
}

static void compare_with_entry(const struct sl_cue_entry *entry, struct sl_cue_finding *finding)
{
    if (fabs(entry->length_s - finding->length_s) > LENGTH_SLACK_S ||
        fabs(entry->lufs - finding->lufs) > LEVEL_SLACK_DB ||
        fabs(entry->dbtp - finding->dbtp) > LEVEL_SLACK_DB) {
        finding->flaws |= SL_CUE_CHANGED;
    }
}

static enum sl_status check_entry(const struct sl_cue_manifest *pack,
                                  const struct sl_cue_entry *entry, struct sl_cue_finding *finding,
                                  struct sl_error *error)
{
    char *path = sl_cue_entry_path(pack, entry);
    if (path == NULL) {
        return sl_fail_memory(error);
    }
    struct sl_clip clip = {0};
    struct sl_loudness loudness = {0};
    enum sl_status status = sl_clip_load(path, &clip, NULL);
    free(path);
    if (status == SL_OK) {
        status = sl_clip_measure(&clip, &loudness, NULL);
    }
    if (status == SL_OK) {
        finding->length_s = sl_clip_length_s(&clip);
        finding->lufs = loudness.integrated_lufs;
        finding->dbtp = loudness.true_peak_dbtp;
        finding->flaws = sl_cue_clip_flaws(&clip, entry->text, &loudness);
        compare_with_entry(entry, finding);
    } else {
        finding->flaws = SL_CUE_NO_FILE;
    }
    sl_clip_clear(&clip);
    return status == SL_NO_MEMORY ? sl_fail_memory(error) : SL_OK;
}

static enum sl_status add_finding(const struct sl_cue_manifest *pack, const char *text,
                                  struct sl_cue_findings *findings, struct sl_error *error)
{
    struct sl_cue_finding finding = {.text = text};
    const struct sl_cue_entry *entry = sl_cue_manifest_find(pack, text);
    struct sl_cue_finding *items =
        sl_grow(findings->items, findings->count, &findings->room, sizeof *items);
    if (items == NULL) {
        return sl_fail_memory(error);
    }
    findings->items = items;
    if (entry != NULL) {
        enum sl_status status = check_entry(pack, entry, &finding, error);
        if (status != SL_OK) {
            return status;
        }
    } else {
        finding.flaws = SL_CUE_MISSING;
    }
    findings->n_flawed += finding.flaws != 0 ? 1 : 0;
    items[findings->count++] = finding;
    return SL_OK;
}

static bool is_among(const struct sl_cue_texts *texts, const char *text)
{
    for (size_t i = 0; i < texts->count; i++) {
        if (strcmp(texts->items[i], text) == 0) {
            return true;
        }
    }
    return false;
}

enum sl_status sl_cue_pack_check(const struct sl_cue_manifest *pack,
                                 const struct sl_cue_texts *texts, struct sl_cue_findings *findings,
                                 struct sl_error *error)
{
    enum sl_status status = SL_OK;
    sl_cue_findings_clear(findings);
    for (size_t i = 0; i < texts->count && status == SL_OK; i++) {
        status = add_finding(pack, texts->items[i], findings, error);
    }
    for (size_t i = 0; i < pack->n_entries && status == SL_OK; i++) {
        if (!is_among(texts, pack->entries[i].text)) {
            status = add_finding(pack, pack->entries[i].text, findings, error);
        }
    }
    if (status != SL_OK) {
        sl_cue_findings_clear(findings);
    }
    return status;
}

enum sl_status sl_cue_pack_begin(const char *folder, struct sl_cue_manifest *pack,
                                 struct sl_error *error)
{
    if (mkdir(folder, 0777) != 0 && errno != EEXIST) {
        return sl_fail(error, SL_IO, folder, "check the path and your rights there",
                       "the folder cannot be made: %s", strerror(errno));
    }
    char *path = sl_strf("%s/" SL_CUE_MANIFEST_FILE, folder);
    if (path == NULL) {
        return sl_fail_memory(error);
    }
    bool there = sl_path_exists(path);
    free(path);
    if (there) {
        return sl_load_cue_manifest(folder, pack, error);
    }
    sl_cue_manifest_clear(pack);
    pack->folder = sl_strdup(folder);
    return pack->folder != NULL ? SL_OK : sl_fail_memory(error);
}

enum sl_status sl_cue_pack_put(struct sl_cue_manifest *pack, const char *text,
                               const struct sl_clip *clip, struct sl_error *error)
{
    struct sl_loudness loudness = {0};
    char *file = sl_cue_file_name(text);
    if (file == NULL) {
        return sl_fail_memory(error);
    }
    char *path = sl_strf("%s/%s", pack->folder, file);
    enum sl_status status =
        path != NULL ? sl_clip_measure(clip, &loudness, error) : sl_fail_memory(error);
    if (status == SL_OK) {
        status = sl_clip_save(path, clip, error);
    }
    if (status == SL_OK) {
        struct sl_cue_entry entry = {.text = (char *)text,
                                     .file = file,
                                     .length_s = sl_clip_length_s(clip),
                                     .lufs = loudness.integrated_lufs,
                                     .dbtp = loudness.true_peak_dbtp};
        status = sl_cue_manifest_put(pack, &entry, error);
    }
    free(path);
    free(file);
    return status == SL_OK ? sl_save_cue_manifest(pack, error) : status;
}

enum sl_status sl_cue_pack_render(struct sl_cue_manifest *pack, const struct sl_cue_texts *texts,
                                  const char *voice, struct sl_error *error)
{
    enum sl_status status = SL_OK;
    for (size_t i = 0; i < texts->count && status == SL_OK; i++) {
        struct sl_clip clip = {0};
        status = sl_speak_clip(voice, texts->items[i], &clip, error);
        if (status == SL_OK) {
            status = sl_cue_pack_put(pack, texts->items[i], &clip, error);
        }
        sl_clip_clear(&clip);
    }
    return status;
}
