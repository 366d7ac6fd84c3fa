#include "cli/mark_pages.h"

#include "cli/shared.h"
#include "files/path.h"
#include "practice/read_envelope.h"
#include "report/run_exports.h"
#include "report/run_page.h"
#include "report/timeline.h"

#include <stdlib.h>
#include <string.h>

bool sl_mark_pages_wanted(const struct sl_mark_pages *pages)
{
    return pages->html != NULL || pages->svg != NULL || pages->vtt != NULL ||
           pages->textgrid != NULL;
}

/* Where the sound lies as seen from the page, when it is in the page's folder or below; else NULL.
 * The caller frees. */
static char *beside(const char *page, const char *sound)
{
    const char *slash = strrchr(page, '/');
    char *folder = slash == NULL ? sl_strdup("./") : sl_strf("%.*s/", (int)(slash - page), page);
    char *whole_folder = folder == NULL ? NULL : sl_path_whole(folder);
    char *named = sl_strf("%s%s", strchr(sound, '/') == NULL ? "./" : "", sound);
    char *whole_sound = named == NULL ? NULL : sl_path_whole(named);
    char *path = NULL;
    if (whole_folder != NULL && whole_sound != NULL) {
        size_t length = strlen(whole_folder);
        if (strncmp(whole_sound, whole_folder, length) == 0 && whole_sound[length] == '/') {
            path = sl_strdup(whole_sound + length + 1);
        }
    }
    free(folder);
    free(whole_folder);
    free(named);
    free(whole_sound);
    return path;
}

static enum sl_status write_html(const char *path, const struct sl_mark_view *view,
                                 const struct sl_envelope *wave, const char *sound,
                                 struct sl_error *error)
{
    char *html = NULL;
    char *reference = beside(path, sound);
    enum sl_status status = sl_run_page(view, wave, reference, &html, error);
    free(reference);
    return status == SL_OK ? sl_write_and_free(path, html, error) : status;
}

enum sl_status sl_mark_pages_write(const struct sl_mark_pages *pages,
                                   const struct sl_mark_view *view, const char *sound,
                                   struct sl_error *error)
{
    struct sl_envelope wave = {0};
    char *text = NULL;
    enum sl_status status = SL_OK;
    if ((pages->html != NULL || pages->svg != NULL) && strcmp(sound, "-") != 0) {
        status = sl_read_envelope(sound, &wave, error);
    }
    if (status == SL_OK && pages->html != NULL) {
        status = write_html(pages->html, view, &wave, sound, error);
    }
    if (status == SL_OK && pages->svg != NULL) {
        status = sl_timeline_svg(view, &wave, &text, error);
        status = status == SL_OK ? sl_write_and_free(pages->svg, text, error) : status;
    }
    if (status == SL_OK && pages->vtt != NULL) {
        status = sl_run_vtt(view, &text, error);
        status = status == SL_OK ? sl_write_and_free(pages->vtt, text, error) : status;
    }
    if (status == SL_OK && pages->textgrid != NULL) {
        status = sl_run_textgrid(view, &text, error);
        status = status == SL_OK ? sl_write_and_free(pages->textgrid, text, error) : status;
    }
    sl_envelope_clear(&wave);
    return status;
}
