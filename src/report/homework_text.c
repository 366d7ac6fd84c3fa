#include "report/homework_text.h"

#include "report/text.h"

#include <stdlib.h>

#define NAME_COLUMNS 30

static void add_due(struct sl_str *out, const struct sl_homework *set, const struct sl_date *today,
                    bool done)
{
    const struct sl_date *due = &set->due;
    sl_str_addf(out, "Due on %04d-%02d-%02d", due->year, due->month, due->day);
    if (today != NULL && !done) {
        long days = sl_date_days(*today, *due);
        if (days < 0) {
            sl_str_addf(out, ": %ld %s ago", -days, days == -1 ? "day" : "days");
        } else if (days == 0) {
            sl_str_add(out, ": today");
        } else {
            sl_str_addf(out, ": in %ld %s", days, days == 1 ? "day" : "days");
        }
    }
    sl_str_add(out, ".\n");
}

static void add_item(struct sl_str *out, const struct sl_homework *set,
                     const struct sl_homework_state *state, size_t item, bool colour)
{
    const struct sl_homework_item *wanted = &set->items[item];
    int left = sl_homework_left(set, state, item);
    char *done = sl_strf("%d of %d", wanted->runs - left, wanted->runs);
    char *rest = left == 0 ? sl_strdup("done") : sl_strf("%d left", left);
    const struct sl_cell cells[] = {
        {.text = wanted->name, .columns = NAME_COLUMNS},
        {.text = wanted->drive ? "drive" : sl_prompting_word(wanted->prompting), .columns = 9},
        {.text = done == NULL ? "" : done, .columns = 8, .right = true},
        {.text = rest == NULL ? "" : rest,
         .columns = 8,
         .tint = left == 0 ? SL_TINT_GOOD : SL_TINT_NONE}};
    out->failed = out->failed || done == NULL || rest == NULL;
    sl_text_row(out, cells, sizeof cells / sizeof *cells, colour);
    free(done);
    free(rest);
}

void sl_report_homework(struct sl_str *out, const struct sl_homework *set,
                        const struct sl_homework_state *state, const struct sl_date *today,
                        const struct sl_style *style)
{
    const struct sl_cell heading[] = {
        {.text = "junction", .columns = NAME_COLUMNS, .tint = SL_TINT_HEADING},
        {.text = "prompting", .columns = 9, .tint = SL_TINT_HEADING},
        {.text = "runs", .columns = 8, .right = true, .tint = SL_TINT_HEADING},
        {.text = "left", .columns = 8, .tint = SL_TINT_HEADING}};
    int left = sl_homework_left_in_all(set, state);
    sl_text_fact(out, "Homework: ", set->title != NULL ? set->title : set->name, style->width);
    if (set->due_known) {
        add_due(out, set, today, left == 0);
    }
    sl_str_add(out, "\n");
    sl_text_row(out, heading, sizeof heading / sizeof *heading, style->colour);
    for (size_t i = 0; i < set->n_items; i++) {
        add_item(out, set, state, i, style->colour);
    }
    if (state->uncounted > 0) {
        sl_str_addf(out, "\n%zu more %s made that %s not count.\n", state->uncounted,
                    state->uncounted == 1 ? "run was" : "runs were",
                    state->uncounted == 1 ? "does" : "do");
    }
    if (left == 0) {
        sl_str_add(out, "\nAll is done.\n");
    } else {
        sl_str_addf(out, "\n%d %s left to do.\n", left, left == 1 ? "run is" : "runs are");
    }
}
