/* A run whose words drive a car: the car, and what is told at its end. */
#include "cli/drive_report.h"
#include "cli/rehearse_parts.h"
#include "report/drive_words.h"

enum sl_status sl_rehearse_take_car(struct sl_rehearse_run *run, struct sl_error *error)
{
    const struct sl_setup *setup = &run->session->setups[run->junction];
    run->task = (struct sl_task){.routine = &setup->routine,
                                 .junction = &setup->met,
                                 .plan = &setup->plan,
                                 .options = {.timed = true}};
    enum sl_status status = sl_live_car_new(&run->task, &setup->car, &run->car, error);
    run->driven = (struct sl_rehearsal_drive){run->car, &setup->others, &setup->met};
    return status;
}

/* The first thing that came of the words, where there is a speaker. */
static void say_first(struct sl_rehearse_run *run, const struct sl_driving *driving)
{
    struct sl_drive drive = {0};
    if (run->session->options->mic == NULL && sl_drive_make(driving, &drive, NULL) == SL_OK) {
        const char *text =
            drive.n_consequences > 0 ? drive.consequences[0].what : SL_DRIVE_AS_PLANNED;
        (void)sl_rehearsal_say(&run->rehearsal, &run->result, text, NULL);
    }
    sl_drive_clear(&drive);
}

void sl_rehearse_tell_drive(struct sl_rehearse_run *run)
{
    struct sl_rehearse *session = run->session;
    const struct sl_rehearse_options *options = session->options;
    const struct sl_setup *setup = &session->setups[run->junction];
    const struct sl_drive_telling telling = {.file = run->rehearsal.recording,
                                             .html = options->html,
                                             .json = options->json,
                                             .style = options->style};
    run->task.options.from_s = run->result.from_s;
    const struct sl_driving driving = {
        .task = &run->task, .car = &setup->car, .heard = &run->attempt.heard};
    struct sl_str out = {0};
    struct sl_error error = {0};
    if (!options->json) {
        sl_str_add(&out, "\n");
        if (run->result.xruns > 0) {
            sl_str_add(&out, "The device lost sound in this run, so its times may be off.\n\n");
        }
    }
    if (sl_drive_tell_all(&telling, &driving, &setup->others, &out, &error) != SL_OK) {
        sl_complain(&error);
        session->broken = true;
    }
    session->broken = !sl_print(&out) || session->broken;
    sl_str_clear(&out);
    say_first(run, &driving);
    sl_error_clear(&error);
}
