#include "report/class_text.h"

#include "report/class_words.h"
#include "report/tally_table.h"
#include "report/text.h"

#include <stdlib.h>

static double mean_score(const struct sl_submission *submission, size_t *n)
{
    double sum = 0;
    *n = 0;
    for (size_t i = 0; i < submission->n_runs; i++) {
        if (submission->runs[i].marked) {
            sum += submission->runs[i].score;
            ++*n;
        }
    }
    return *n == 0 ? 0 : sum / (double)*n;
}

static void add_submission(struct sl_str *out, const struct sl_class *group,
                           const struct sl_submission *submission, bool colour)
{
    size_t n = 0;
    double mean = mean_score(submission, &n);
    int left = sl_homework_left_in_all(group->set, &submission->state);
    size_t different = sl_submission_n_different(submission);
    char *runs = sl_strf("%zu", n);
    char *score = n == 0 ? sl_strdup("-") : sl_strf("%.0f", mean);
    char *rest = left == 0 ? sl_strdup("done") : sl_strf("%d left", left);
    char *differ = sl_strf("%zu", different);
    bool whole = runs != NULL && score != NULL && rest != NULL && differ != NULL;
    const struct sl_cell cells[] = {
        {.text = sl_submission_name(submission), .columns = 24},
        {.text = submission->date == NULL ? "" : submission->date, .columns = 10},
        {.text = whole ? runs : "", .columns = 4, .right = true},
        {.text = whole ? score : "", .columns = 5, .right = true},
        {.text = whole ? rest : "", .columns = 8, .tint = left == 0 ? SL_TINT_GOOD : SL_TINT_NONE},
        {.text = whole ? differ : "",
         .columns = 15,
         .tint = different > 0 ? SL_TINT_BAD : SL_TINT_NONE}};
    out->failed = out->failed || !whole;
    sl_text_row(out, cells, sizeof cells / sizeof *cells, colour);
    free(runs);
    free(score);
    free(rest);
    free(differ);
}

static void add_remarks(struct sl_str *out, const struct sl_submission *submission, int width)
{
    for (size_t i = 0; i < submission->n_runs; i++) {
        const struct sl_submission_run *run = &submission->runs[i];
        char *remark = sl_class_remark(run);
        out->failed = out->failed || remark == NULL;
        if (remark != NULL && remark[0] != '\0') {
            struct sl_str label = {0};
            sl_str_add(out, "\n");
            sl_text_clean(&label, submission->bag);
            sl_str_add(&label, ": ");
            sl_text_clean(&label, run->file);
            sl_str_add(&label, ": ");
            sl_text_fact(out, sl_str_text(&label), remark, width);
            out->failed = out->failed || label.failed;
            sl_str_clear(&label);
        }
        free(remark);
    }
}

/* A fact in a line of its own; takes the text over, and adds nothing where it is "". */
static void add_fact(struct sl_str *out, const char *label, char *text, int width)
{
    out->failed = out->failed || text == NULL;
    if (text != NULL && text[0] != '\0') {
        sl_text_fact(out, label, text, width);
    }
    free(text);
}

void sl_report_class(struct sl_str *out, const struct sl_class *group, const struct sl_style *style)
{
    static const struct sl_cell heading[] = {
        {.text = "Learner", .columns = 24, .tint = SL_TINT_HEADING},
        {.text = "Packed", .columns = 10, .tint = SL_TINT_HEADING},
        {.text = "Runs", .columns = 4, .right = true, .tint = SL_TINT_HEADING},
        {.text = "Score", .columns = 5, .right = true, .tint = SL_TINT_HEADING},
        {.text = "Homework", .columns = 8, .tint = SL_TINT_HEADING},
        {.text = "Marks that differ", .columns = 17, .tint = SL_TINT_HEADING}};
    size_t refused = 0;
    sl_text_fact(out,
                 "Homework: ", group->set->title != NULL ? group->set->title : group->set->name,
                 style->width);
    sl_str_add(out, "\n");
    sl_text_row(out, heading, sizeof heading / sizeof *heading, style->colour);
    for (size_t i = 0; i < group->n_submissions; i++) {
        if (group->submissions[i].refusal == NULL) {
            add_submission(out, group, &group->submissions[i], style->colour);
        } else {
            refused++;
        }
    }
    for (size_t i = 0; i < group->n_submissions; i++) {
        add_remarks(out, &group->submissions[i], style->width);
    }
    if (refused > 0) {
        sl_str_addf(out, "\nBags that were refused: %zu of %zu.\n", refused, group->n_submissions);
    }
    if (group->tally->n_runs > 0) {
        sl_str_add(out, "\n");
        const struct sl_style brief = {.brief = true, .width = style->width};
        sl_report_tally(out, group->tally, &brief);
        sl_str_add(out, "\n");
        add_fact(out, "Teach next: ", sl_class_teach(group->routine, group->grid), style->width);
        add_fact(out, "Who:        ", sl_class_whom(group->grid), style->width);
    }
}
