/* A run whose words drive a car: the car, and what is told at its end. */
#include "cli/drive_report.h"
#include "cli/rehearse_parts.h"
#include "report/drive_words.h"
#include "report/text.h"

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

/* Heard as a whole, a recording can hold other words than were heard while it was spoken; then the
 * end that was seen is told as well. */
static void add_seen(struct sl_str *out, const struct sl_rehearse_run *run,
                     const struct sl_driving *driving, const struct sl_drive *drive)
{
    const struct sl_drive *seen = sl_live_car_drive(run->car);
    if (sl_arrival_alike(&seen->arrival, &drive->arrival)) {
        return;
    }
    struct sl_str text = {0};
    const struct sl_drive_view view = {run->rehearsal.recording, driving, seen, NULL, NULL};
    sl_str_add(&text,
               "The car that you heard was driven by what could be made out by then, and ended "
               "otherwise: ");
    sl_drive_end(&text, &view);
    sl_str_add(&text, " What follows is of the whole recording.");
    sl_text_fact(out, "", sl_str_text(&text), run->session->options->style.width);
    sl_str_add(out, "\n");
    out->failed = out->failed || text.failed;
    sl_str_clear(&text);
}

/* The first thing that came of the words, where there is a speaker. */
static void say_first(struct sl_rehearse_run *run, const struct sl_drive *drive)
{
    if (run->session->options->mic == NULL) {
        const char *text =
            drive->n_consequences > 0 ? drive->consequences[0].what : SL_DRIVE_AS_PLANNED;
        (void)sl_rehearsal_say(&run->rehearsal, &run->result, text, NULL);
    }
}

static struct sl_driving driving_of(const struct sl_rehearse_run *run)
{
    return (struct sl_driving){.task = &run->task,
                               .car = &run->session->setups[run->junction].car,
                               .heard = &run->attempt.heard};
}

enum sl_status sl_rehearse_drive(struct sl_rehearse_run *run, struct sl_error *error)
{
    run->task.options.from_s = run->result.from_s;
    const struct sl_driving driving = driving_of(run);
    return sl_drive_make(&driving, &run->drive, error);
}

/* Homework counts by the mark of the words, too. */
static void add_saved(struct sl_str *out, const struct sl_rehearse_run *run)
{
    if (run->session->options->folder != NULL) {
        size_t faults = 0;
        for (size_t i = 0; i < run->attempt.mark.n_faults; i++) {
            faults += run->attempt.mark.faults[i].kind == SL_FAULT_UNCLEAR ? 0 : 1;
        }
        sl_str_addf(out, "\nThe words: %.0f of 100, faults: %zu.\n",
                    run->attempt.mark.scores.overall, faults);
    }
    sl_rehearse_saved(out, run);
}

void sl_rehearse_tell_drive(struct sl_rehearse_run *run)
{
    struct sl_rehearse *session = run->session;
    const struct sl_rehearse_options *options = session->options;
    const struct sl_drive_telling telling = {.file = run->rehearsal.recording,
                                             .html = options->html,
                                             .json = options->json,
                                             .style = options->style};
    const struct sl_driving driving = driving_of(run);
    struct sl_str out = {0};
    struct sl_error error = {0};
    sl_live_car_look(run->car); /* the last words came out as the sound ended */
    if (!options->json) {
        sl_str_add(&out, "\n");
        if (run->result.xruns > 0) {
            sl_str_add(&out, "The device lost sound in this run, so its times may be off.\n\n");
        }
        add_seen(&out, run, &driving, &run->drive);
    }
    enum sl_status status =
        sl_drive_tell_all(&telling, &driving, &session->setups[run->junction].others, &out, &error);
    if (status == SL_OK && !options->json) {
        add_saved(&out, run);
    }
    if (status != SL_OK) {
        sl_complain(&error);
        session->broken = true;
    }
    session->broken = !sl_print(&out) || session->broken;
    sl_str_clear(&out);
    if (status == SL_OK) {
        say_first(run, &run->drive);
    }
    sl_error_clear(&error);
}
