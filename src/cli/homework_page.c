/* The page of a class that handed in homework. */
#include "cli/homework_parts.h"
#include "report/class_page.h"
#include "report/class_words.h"

#include <stdlib.h>

/* Sentences; owned. */
struct remarks {
    char **items;
    size_t count, room;
    bool failed;
};

/* Takes the text over. */
static void add(struct remarks *remarks, char *text)
{
    char **items = sl_grow(remarks->items, remarks->count, &remarks->room, sizeof *items);
    remarks->items = items != NULL ? items : remarks->items;
    if (items == NULL || text == NULL) {
        remarks->failed = true;
        free(text);
        return;
    }
    items[remarks->count++] = text;
}

/* What was refused, what is left to do, what differs, what could not be marked or does not count.
 */
static void fill(struct remarks *remarks, const struct sl_class *group)
{
    for (size_t i = 0; i < group->n_submissions; i++) {
        const struct sl_submission *bag = &group->submissions[i];
        if (bag->refusal != NULL) {
            add(remarks, sl_strf("Refused: %s: %s", sl_base_name(bag->bag), bag->refusal));
        }
        int left = sl_homework_left_in_all(group->set, &bag->state);
        if (bag->refusal == NULL && left > 0) {
            add(remarks, sl_strf("%s: %d run%s left to do", sl_submission_name(bag), left,
                                 left == 1 ? " is" : "s are"));
        }
        for (size_t k = 0; k < bag->n_runs; k++) {
            const struct sl_submission_run *run = &bag->runs[k];
            char *remark = sl_class_remark(run);
            if (remark == NULL || remark[0] != '\0') {
                add(remarks, remark == NULL ? NULL
                                            : sl_strf("%s, %s: %s", sl_base_name(bag->bag),
                                                      run->file, remark));
            }
            free(remark);
        }
    }
}

enum sl_status sl_homework_save_page(const char *path, const struct sl_class *group,
                                     struct sl_error *error)
{
    struct remarks remarks = {0};
    char *html = NULL;
    fill(&remarks, group);
    const struct sl_class_page page = {.title = group->set->title != NULL ? group->set->title
                                                                          : group->set->name,
                                       .routine = group->routine,
                                       .grid = group->grid,
                                       .remarks = (const char *const *)remarks.items,
                                       .n_remarks = remarks.count};
    enum sl_status status =
        remarks.failed ? sl_fail_memory(error) : sl_class_page(&page, &html, error);
    for (size_t i = 0; i < remarks.count; i++) {
        free(remarks.items[i]);
    }
    free(remarks.items);
    return status == SL_OK ? sl_write_and_free(path, html, error) : status;
}
