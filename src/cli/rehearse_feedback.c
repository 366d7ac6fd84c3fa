/* What is said after a run: the one most useful thing first, then the table of `sayline mark`. */
#include "cli/rehearse_parts.h"
#include "files/homework_file.h"
#include "files/result_json.h"
#include "report/text.h"

#include <stdlib.h>

static void print(struct sl_rehearse *session, struct sl_str *out)
{
    session->broken = !sl_print(out) || session->broken;
    sl_str_clear(out);
}

static struct sl_result result_of(const struct sl_rehearse_run *run)
{
    const struct sl_setup *setup = &run->session->setups[run->junction];
    return (struct sl_result){.file = run->rehearsal.recording,
                              .routine = &setup->routine,
                              .junction = &setup->met,
                              .plan = &setup->plan,
                              .levels = &run->attempt.levels,
                              .heard = &run->attempt.heard,
                              .mark = &run->attempt.mark,
                              .from_s = run->result.from_s,
                              .drive = run->car == NULL ? NULL : &run->drive};
}

enum sl_status sl_rehearse_keep_mark(const struct sl_rehearse_run *run, struct sl_error *error)
{
    struct sl_result result = result_of(run);
    return run->session->options->folder == NULL
               ? SL_OK
               : sl_homework_mark_save(&result, &run->rehearsal.run, error);
}

static void add_json(struct sl_str *out, const struct sl_rehearse_run *run)
{
    struct sl_result result = result_of(run);
    char *mark = NULL;
    char *whole = NULL;
    if (sl_result_to_json(&result, &mark, NULL) == SL_OK) {
        (void)sl_run_to_json(mark, &run->rehearsal.run, &whole, NULL);
    }
    out->failed = out->failed || whole == NULL;
    sl_str_addf(out, "%s\n", whole == NULL ? "" : whole);
    free(whole);
    free(mark);
}

void sl_rehearse_saved(struct sl_str *out, const struct sl_rehearse_run *run)
{
    if (run->session->options->folder != NULL && !run->session->broken) {
        sl_str_add(out, "\nSaved, with its mark: ");
        sl_add_argument(out, run->rehearsal.recording);
        sl_str_add(out, "\n");
    }
}

static void add_table(struct sl_str *out, const struct sl_rehearse_run *run)
{
    const struct sl_rehearse *session = run->session;
    const struct sl_setup *setup = &session->setups[run->junction];
    struct sl_mark_view view = {.file = run->rehearsal.recording,
                                .routine = &setup->routine,
                                .junction = &setup->junction,
                                .plan = &setup->plan,
                                .levels = &run->attempt.levels,
                                .heard = &run->attempt.heard,
                                .mark = &run->attempt.mark,
                                .from_s = run->result.from_s};
    sl_str_add(out, "\n");
    sl_text_fact(out, "First of all: ", run->attempt.mark.next, session->options->style.width);
    if (run->result.xruns > 0) {
        sl_str_add(out, "The device lost sound in this run, so its times may be off.\n");
    }
    sl_str_add(out, "\n");
    sl_report_mark(out, &view, &session->options->style);
    sl_rehearse_saved(out, run);
}

void sl_rehearse_feedback(struct sl_rehearse_run *run)
{
    struct sl_rehearse *session = run->session;
    struct sl_str out = {0};
    if (session->options->json) {
        add_json(&out, run);
    } else {
        add_table(&out, run);
    }
    print(session, &out);
    if (session->options->mic == NULL && run->attempt.mark.next != NULL) {
        (void)sl_rehearsal_say(&run->rehearsal, &run->result, run->attempt.mark.next, NULL);
    }
}

void sl_rehearse_kept(const struct sl_rehearse_run *run)
{
    if (run->session->options->json) {
        return;
    }
    struct sl_str out = {0};
    sl_str_addf(&out, "%.1f s were recorded and are kept", run->result.length_s);
    sl_str_add(&out, run->result.from_known ? ". To mark them:\n  sayline mark " : ":\n  ");
    sl_add_argument(&out, run->rehearsal.recording);
    sl_str_add(&out, "\n");
    print(run->session, &out);
}

void sl_rehearse_failed(const struct sl_rehearse_run *run, const struct sl_error *error)
{
    char *json = NULL;
    if (run->session->options->json &&
        sl_error_to_json(run->rehearsal.recording, error, &json, NULL) == SL_OK) {
        struct sl_str out = {0};
        sl_str_addf(&out, "%s\n", json);
        print(run->session, &out);
    }
    free(json);
}
