#include "cli/drive_report.h"

#include "files/drive_json.h"
#include "report/drive_page.h"
#include "report/drive_text.h"

#include <stdlib.h>
#include <string.h>

static enum sl_status add_json(const struct sl_driven *driven, struct sl_str *out,
                               struct sl_error *error)
{
    char *text = NULL;
    enum sl_status status = sl_drive_to_json(driven, &text, error);
    if (status == SL_OK) {
        sl_str_addf(out, "%s\n", text);
        free(text);
    }
    return status;
}

enum sl_status sl_drive_tell_all(const struct sl_drive_telling *telling,
                                 const struct sl_driving *driving,
                                 const struct sl_situation *others, struct sl_str *out,
                                 struct sl_error *error)
{
    const char *file = strcmp(telling->file, "-") == 0 ? "standard input" : telling->file;
    struct sl_drive drive = {0};
    struct sl_drive_change change = {0};
    char *page = NULL;
    enum sl_status status = sl_drive_make(driving, &drive, error);
    if (status == SL_OK) {
        status = sl_drive_one_change(driving, &drive, &change, error);
    }
    const struct sl_drive_view view = {file, driving, &drive, &change, others};
    if (status == SL_OK && telling->html != NULL) {
        status = sl_drive_page(&view, &page, error);
        status = status == SL_OK ? sl_write_and_free(telling->html, page, error) : status;
    }
    if (status == SL_OK && telling->json) {
        const struct sl_driven driven = {telling->file, driving, &drive, &change, others};
        status = add_json(&driven, out, error);
    } else if (status == SL_OK) {
        sl_report_drive(out, &view, &telling->style);
    }
    sl_drive_clear(&drive);
    return status;
}
