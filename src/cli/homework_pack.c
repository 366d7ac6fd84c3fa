/* Packing homework into a submission: what counts, and nothing before the learner has agreed. */
#include "cli/homework_parts.h"

#include "files/bag_writer.h"
#include "files/share_json.h"
#include "report/text.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

/* A file and its name in the bag, below data/. All is owned. */
struct packed {
    char *name, *from;
    struct sl_str text; /* of a run file or a mark: what is packed in place of the file */
    double bytes;
};

struct packing {
    const struct sl_homework_job *job;
    char *path; /* of the bag */
    struct packed *files;
    size_t n_files, room, n_runs;
};

/* Takes the names over. `share`: a run file or a mark, which tells nothing of this machine. */
static enum sl_status add_file(struct packing *packing, char *name, char *from, bool share,
                               struct sl_error *error)
{
    struct stat like;
    struct packed *files = sl_grow(packing->files, packing->n_files, &packing->room, sizeof *files);
    packing->files = files != NULL ? files : packing->files;
    if (files == NULL || name == NULL || from == NULL) {
        free(name);
        free(from);
        return sl_fail_memory(error);
    }
    struct packed *file = &files[packing->n_files++];
    *file = (struct packed){.name = name, .from = from};
    if (share) {
        enum sl_status status = sl_json_without_paths(from, &file->text, error);
        file->bytes = (double)file->text.length;
        return status;
    }
    if (stat(from, &like) != 0) {
        return sl_fail(error, SL_NOT_FOUND, from, "do the run again", "the file is not there");
    }
    file->bytes = (double)like.st_size;
    return SL_OK;
}

/* A recording, its run file and its mark, numbered: a name of a junction may hold anything. */
static enum sl_status add_run(struct packing *packing, const char *recording,
                              struct sl_error *error)
{
    static const char *const endings[] = {"flac", "run.json", "mark.json"};
    char *const paths[] = {sl_strdup(recording), sl_run_file_path(recording),
                           sl_homework_mark_path(recording)};
    enum sl_status status = SL_OK;
    packing->n_runs++;
    for (size_t i = 0; i < sizeof paths / sizeof *paths; i++) {
        if (status == SL_OK) {
            char *name = sl_strf("runs/%03zu.%s", packing->n_runs, endings[i]);
            status = add_file(packing, name, paths[i], i > 0, error);
        } else {
            free(paths[i]);
        }
    }
    return status;
}

static enum sl_status gather(struct packing *packing, struct sl_error *error)
{
    const struct sl_homework_job *job = packing->job;
    const char *out = job->options->out;
    size_t stem = strlen(job->folder) - strlen(".runs");
    packing->path = out != NULL ? sl_strdup(out)
                                : sl_strf("%.*s-%s.zip", (int)stem, job->folder,
                                          job->options->rehearse.learner);
    if (packing->path == NULL) {
        return sl_fail_memory(error);
    }
    enum sl_status status =
        add_file(packing, sl_strdup("set.yaml"), sl_strdup(job->path), false, error);
    for (size_t i = 0; i < job->takes.count && status == SL_OK; i++) {
        const struct sl_homework_take *take = &job->takes.items[i];
        if (sl_homework_objection(&job->set, &take->run) == NULL) {
            status = add_run(packing, take->recording, error);
        }
    }
    if (status == SL_OK && packing->n_runs == 0) {
        status = sl_fail(error, SL_INVALID, job->path, "do some of it: sayline homework do",
                         "there is no run that counts, so there is nothing to hand in");
    }
    return status;
}

static void add_contents(struct sl_str *out, const struct packing *packing)
{
    const struct sl_homework_job *job = packing->job;
    struct sl_homework_state state = sl_homework_state_of(&job->set, &job->takes);
    int left = sl_homework_left_in_all(&job->set, &state);
    double bytes = 0;
    sl_str_add(out, "In the bag:\n");
    for (size_t i = 0; i < packing->n_files; i++) {
        sl_str_addf(out, "  %9.1f kB  ", packing->files[i].bytes / 1000);
        sl_text_clean(out, packing->files[i].name);
        sl_str_add(out, "\n");
        bytes += packing->files[i].bytes;
    }
    sl_str_addf(out, "  %9.1f kB  in all: %zu %s of your voice, with marks\n", bytes / 1000,
                packing->n_runs, packing->n_runs == 1 ? "recording" : "recordings");
    const char *learner = job->options->rehearse.learner;
    sl_text_fact(out, "Name in it: ", learner, 80);
    if (strcmp(learner, SL_DEFAULT_LEARNER) == 0) {
        sl_text_fact(out, "", "With --learner NAME, whoever collects it sees whose it is.", 80);
    }
    sl_text_fact(out, "", "Run files and marks are packed without the folders of this machine.",
                 80);
    if (left > 0) {
        sl_str_addf(out, "%d %s still left to do.\n", left,
                    left == 1 ? "run of the homework is" : "runs of the homework are");
    }
}

/* Whether the learner agrees; nobody there to be asked is an error. */
static bool agreed(const struct packing *packing, struct sl_error *error)
{
    char answer[8] = "";
    struct sl_str text = {0};
    add_contents(&text, packing);
    bool ask = !packing->job->options->yes;
    if (ask) {
        sl_str_add(&text, "Pack it, to hand it in? Say yes or no: ");
    }
    fputs(sl_str_text(&text), stderr);
    sl_str_clear(&text);
    if (!ask) {
        return true;
    }
    if (isatty(STDIN_FILENO) != 1) {
        fputs("\n", stderr);
        sl_fail(error, SL_INVALID, NULL, "say --yes", "there is nobody here to be asked");
        return false;
    }
    if (fgets(answer, sizeof answer, stdin) != NULL && strcmp(answer, "yes\n") == 0) {
        return true;
    }
    sl_fail(error, SL_INVALID, NULL, "say yes when you want it", "nothing was packed");
    return false;
}

static enum sl_status write_bag(const struct packing *packing, struct sl_error *error)
{
    const struct sl_homework_job *job = packing->job;
    struct sl_bag_info info = {.contact = job->options->rehearse.learner,
                               .description =
                                   job->set.title != NULL ? job->set.title : job->set.name,
                               .agent = "sayline " SL_VERSION};
    struct sl_bag_writer *writer = NULL;
    (void)sl_homework_today(&info.date);
    enum sl_status status = sl_bag_writer_open(packing->path, &writer, error);
    for (size_t i = 0; i < packing->n_files && status == SL_OK; i++) {
        const struct packed *file = &packing->files[i];
        status = file->text.length > 0
                     ? sl_bag_writer_add_text(writer, file->name, &file->text, error)
                     : sl_bag_writer_add(writer, file->name, file->from, error);
    }
    if (status == SL_OK) {
        status = sl_bag_writer_close(writer, &info, error);
    }
    sl_bag_writer_free(writer);
    return status;
}

static void clear_packing(struct packing *packing)
{
    for (size_t i = 0; i < packing->n_files; i++) {
        free(packing->files[i].name);
        free(packing->files[i].from);
        sl_str_clear(&packing->files[i].text);
    }
    free(packing->files);
    free(packing->path);
}

static enum sl_exit pack(const struct sl_homework_job *job, struct sl_error *error)
{
    struct packing packing = {.job = job};
    struct sl_str out = {0};
    enum sl_exit code = SL_EXIT_FAILED;
    if (gather(&packing, error) == SL_OK) {
        if (!agreed(&packing, error)) {
            code = isatty(STDIN_FILENO) == 1 ? SL_EXIT_FAILED : SL_EXIT_USAGE;
        } else if (write_bag(&packing, error) == SL_OK) {
            sl_str_add(&out, "Packed: ");
            sl_add_argument(&out, packing.path);
            sl_str_add(&out, "\n");
            code = sl_print(&out) ? SL_EXIT_DONE : SL_EXIT_FAILED;
        }
    }
    sl_str_clear(&out);
    clear_packing(&packing);
    return code;
}

enum sl_exit sl_homework_pack(const struct sl_homework_options *options)
{
    struct sl_error error = {0};
    struct sl_homework_job job = {0};
    enum sl_exit caught_up = SL_EXIT_DONE;
    enum sl_exit code = SL_EXIT_FAILED;
    if (sl_homework_open(&job, options, &error) != SL_OK) {
        code = sl_exit_for(&error);
    } else if (sl_homework_catch_up(&job, &caught_up, &error) == SL_OK) {
        code = pack(&job, &error);
    }
    if (error.status != SL_OK) {
        sl_complain(&error);
    }
    sl_error_clear(&error);
    sl_homework_close(&job);
    return code == SL_EXIT_DONE ? caught_up : code;
}
