#include "cli/rehearse_parts.h"

#include "core/random.h"
#include "files/models.h"
#include "files/learner.h"
#include "files/prompting_file.h"

#include <locale.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

uint64_t sl_rehearse_seed(const struct sl_rehearse *session, size_t junction)
{
    return (session->options->seed + junction) % ((uint64_t)SL_SEED_MAX + 1);
}

static enum sl_status load_setups(struct sl_rehearse *session, struct sl_error *error)
{
    const struct sl_rehearse_options *options = session->options;
    session->setups = calloc(options->n_junctions, sizeof *session->setups);
    enum sl_status status = session->setups == NULL ? sl_fail_memory(error) : SL_OK;
    for (size_t i = 0; i < options->n_junctions && status == SL_OK; i++) {
        struct sl_setup_names names = {.junction = options->junctions[i],
                                       .routine = options->routine,
                                       .car = options->car,
                                       .seeded = options->drives,
                                       .seed = sl_rehearse_seed(session, i)};
        status = sl_setup_load(&session->setups[i], &names, error);
    }
    return status;
}

static enum sl_status find_folders(struct sl_rehearse *session, struct sl_error *error)
{
    char *data = NULL;
    if (sl_learner_folder(session->options->learner, &data, error) != SL_OK) {
        return error->status;
    }
    const char *folder = session->options->folder;
    session->folder = folder == NULL ? sl_strf("%s/recordings", data) : sl_strdup(folder);
    session->prompting_path = sl_strf("%s/prompting.json", data);
    free(data);
    if (session->folder == NULL || session->prompting_path == NULL) {
        return sl_fail_memory(error);
    }
    enum sl_status status = sl_sound_choice_load_usual(&session->choice, error);
    if (status != SL_OK || session->options->prompting != SL_PROMPTING_COUNT) {
        return status;
    }
    return sl_prompting_load(session->prompting_path, session->setups[0].routine.name,
                             &session->fading, error);
}

static enum sl_status choose_screen(struct sl_rehearse *session, struct sl_error *error)
{
    const struct sl_rehearse_options *options = session->options;
    const char *term = getenv("TERM");
    bool able = isatty(STDOUT_FILENO) == 1 && term != NULL && strcmp(term, "dumb") != 0;
    bool quiet = options->quiet || options->json;
    if (able && !options->plain && !quiet && sl_screen_full(&session->screen, NULL) == SL_OK) {
        return SL_OK;
    }
    return sl_screen_plain(quiet, &session->screen, error);
}

static enum sl_status open_session(struct sl_rehearse *session, struct sl_error *error)
{
    const struct sl_rehearse_options *options = session->options;
    enum sl_status status = load_setups(session, error);
    if (status == SL_OK) {
        status = find_folders(session, error);
    }
    if (status == SL_OK) {
        status = sl_models_path("pronunciations.dict", &session->pronunciations, error);
    }
    if (status == SL_OK) {
        struct sl_recogniser_paths paths = {.pronunciations = session->pronunciations};
        status = sl_recogniser_new(&session->setups[0].routine, &paths, NULL, &session->recogniser,
                                   error);
    }
    if (status == SL_OK) {
        struct sl_cue_voice_choice choice = {.pack = options->pack, .voice = options->voice};
        if (choice.pack == NULL && choice.voice != NULL) {
            choice.pack = "none"; /* one voice for all of it */
        }
        status = sl_cue_voice_open(&choice, &session->voice, error);
    }
    if (status == SL_OK && !options->no_history) {
        status = sl_keep_open(&session->history, error);
    }
    if (status == SL_OK) {
        status = choose_screen(session, error);
    }
    return status;
}

static void close_session(struct sl_rehearse *session)
{
    if (session->screen.free != NULL) {
        session->screen.free(session->screen.self);
    }
    sl_history_close(session->history);
    sl_cue_voice_close(session->voice);
    sl_recogniser_free(session->recogniser);
    sl_listener_free(session->listener);
    sl_sound_choice_clear(&session->choice);
    for (size_t i = 0; session->setups != NULL && i < session->options->n_junctions; i++) {
        sl_setup_clear(&session->setups[i]);
    }
    free(session->setups);
    free(session->pronunciations);
    free(session->folder);
    free(session->prompting_path);
}

/* The junctions of one round, in turn or shuffled. */
static void order_round(const struct sl_rehearse_options *options, uint64_t *random, size_t *order)
{
    if (options->shuffle) {
        sl_random_order(random, order, options->n_junctions);
        return;
    }
    for (size_t i = 0; i < options->n_junctions; i++) {
        order[i] = i;
    }
}

static enum sl_exit save_fading(const struct sl_rehearse *session)
{
    struct sl_error error = {0};
    if (session->options->prompting != SL_PROMPTING_COUNT ||
        sl_prompting_save(session->prompting_path, session->setups[0].routine.name,
                          &session->fading, &error) == SL_OK) {
        return SL_EXIT_DONE;
    }
    sl_complain(&error);
    sl_error_clear(&error);
    return SL_EXIT_FAILED;
}

/* All runs; a run that could not be marked does not end the session, a lost device does. */
static enum sl_exit run_all(struct sl_rehearse *session)
{
    const struct sl_rehearse_options *options = session->options;
    size_t *order = malloc(options->n_junctions * sizeof *order);
    uint64_t random = options->seed;
    enum sl_exit code = order == NULL ? SL_EXIT_FAILED : SL_EXIT_DONE;
    bool go_on = order != NULL;
    for (size_t i = 0; i < session->n_runs && go_on; i++) {
        size_t in_round = i % options->n_junctions;
        if (in_round == 0) {
            order_round(options, &random, order);
        }
        enum sl_exit of_run = sl_rehearse_one(session, i, order[in_round]);
        enum sl_exit saved = save_fading(session);
        code = of_run != SL_EXIT_DONE ? of_run : code;
        code = code == SL_EXIT_DONE ? saved : code;
        go_on = of_run == SL_EXIT_DONE || (of_run == SL_EXIT_FAILED && !session->broken);
    }
    free(order);
    return code;
}

enum sl_status sl_rehearse_check_mic(const struct sl_rehearse_options *options,
                                     struct sl_error *error)
{
    if (options->mic != NULL && (options->input != NULL || options->output != NULL)) {
        return sl_fail(error, SL_INVALID, "--mic", "leave out --input and --output",
                       "a recording in place of the microphone uses no device");
    }
    return SL_OK;
}

enum sl_exit sl_rehearse_session(const struct sl_rehearse_options *options)
{
    struct sl_error error = {0};
    struct sl_rehearse session = {.options = options, .fading = sl_fading_start()};
    session.n_runs = options->repeat * options->n_junctions;
    setlocale(LC_CTYPE, "");
    sl_interrupt_hold(&session.interrupt);
    enum sl_exit code = SL_EXIT_FAILED;
    if (open_session(&session, &error) == SL_OK) {
        code = run_all(&session);
    } else {
        code = sl_exit_for(&error);
        sl_complain(&error);
    }
    sl_error_clear(&error);
    close_session(&session);
    sl_interrupt_release(&session.interrupt);
    return code;
}
