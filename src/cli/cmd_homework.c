/* sayline homework: sets of rehearsals, made, checked, done, packed. */
#include "cli/homework_parts.h"
#include "files/atomic.h"
#include "files/path.h"
#include "report/text.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

enum {
    HOMEWORK_OUT,
    HOMEWORK_DRIVE,
    HOMEWORK_ICS,
    HOMEWORK_YES,
    HOMEWORK_SET,
    HOMEWORK_JOBS,
    HOMEWORK_HTML,
    HOMEWORK_MIC,
    HOMEWORK_INPUT,
    HOMEWORK_OUTPUT,
    HOMEWORK_VOICE,
    HOMEWORK_CUES,
    HOMEWORK_TONE,
    HOMEWORK_LEARNER,
    HOMEWORK_NO_HISTORY,
    HOMEWORK_PLAIN,
    HOMEWORK_QUIET,
    HOMEWORK_JSON,
    HOMEWORK_COLOUR,
    HOMEWORK_OPTIONS
};

#define DAYS_TO_DO_IT 7

static const struct sl_option options[HOMEWORK_OPTIONS] = {
    [HOMEWORK_OUT] = {"out", 0, "FILE",
                      "For new: the file to be written, which must not exist; standard output if "
                      "not given. For pack: the bag; SET-LEARNER.zip beside the set if not given."},
    [HOMEWORK_DRIVE] = {"drive", 'd', NULL,
                        "For new: the junctions are driven to, as by `sayline drive`, not "
                        "rehearsed."},
    [HOMEWORK_ICS] = {"ics", 0, "FILE",
                      "For new and do: write a reminder of the due day for a calendar program."},
    [HOMEWORK_YES] = {"yes", 'y', NULL, "For pack: do not ask."},
    [HOMEWORK_SET] = {"set", 0, "SET",
                      "For collect: the set that was handed out; one in a bag could be changed."},
    [HOMEWORK_JOBS] =
        {"jobs", 'n', "N",
         "For collect: mark N recordings at a time; all of the machine if not given."},
    [HOMEWORK_HTML] = {"html", 0, "PAGE",
                       "For collect: write a page of the class as well: what to teach next, and "
                       "each learner's phases. PAGE is replaced."},
    [HOMEWORK_MIC] = {"mic", 'm', "FILE",
                      "For do: a recording in place of the microphone, as for rehearse."},
    [HOMEWORK_INPUT] = {"input", 'i', "DEVICE", "For do: the microphone, as for rehearse."},
    [HOMEWORK_OUTPUT] = {"output", 'o', "DEVICE", "For do: the speaker, likewise."},
    [HOMEWORK_VOICE] = {"voice", 'v', "NAME", "For do: who speaks the cues, as for rehearse."},
    [HOMEWORK_CUES] = {"cues", 0, "PACK", "For do: the cue pack, as for rehearse."},
    [HOMEWORK_TONE] = {"tone", 't', NULL, "For do: a tone that follows the planned speed."},
    [HOMEWORK_LEARNER] = SL_OPTION_LEARNER,
    [HOMEWORK_NO_HISTORY] = SL_OPTION_NO_HISTORY,
    [HOMEWORK_PLAIN] = {"plain", 0, NULL, "For do: one line an event instead of a full screen."},
    [HOMEWORK_QUIET] = {"quiet", 'q', NULL, "For do: only the faults and the score of each run."},
    [HOMEWORK_JSON] = {"json", 0, NULL,
                       "For do, left and collect: JSON, an object on a line (docs/formats.md)."},
    [HOMEWORK_COLOUR] = SL_OPTION_COLOUR,
};

static struct sl_date date_of(const struct tm *day)
{
    return (struct sl_date){day->tm_year + 1900, day->tm_mon + 1, day->tm_mday};
}

bool sl_homework_today(struct sl_date *today)
{
    time_t now = time(NULL);
    struct tm day;
    if (localtime_r(&now, &day) == NULL) {
        return false;
    }
    *today = date_of(&day);
    return true;
}

/* A week from now: noon, so that no change of the clocks makes it another day. */
static struct sl_date next_week(void)
{
    time_t now = time(NULL);
    struct tm day;
    if (localtime_r(&now, &day) == NULL) {
        return (struct sl_date){2000, 1, 1};
    }
    day.tm_mday += DAYS_TO_DO_IT;
    day.tm_hour = 12;
    day.tm_isdst = -1;
    (void)mktime(&day);
    return date_of(&day);
}

static enum sl_status write_new(const struct sl_homework_options *read, struct sl_str *text,
                                struct sl_error *error)
{
    if (sl_path_exists(read->out)) {
        return sl_fail(error, SL_INVALID, read->out, "give another name, or remove the file",
                       "there is a file of that name already");
    }
    return text->failed ? sl_fail_memory(error)
                        : sl_write_text_file(read->out, sl_str_text(text), text->length, error);
}

/* Junction files are handed out with the set, in the same folders. */
static void add_beside(struct sl_str *out, const struct sl_homework *set)
{
    size_t n = 0;
    for (size_t i = 0; i < set->n_items; i++) {
        if (sl_is_path(set->items[i].junction)) {
            sl_str_add(out, n++ == 0 ? "Hand out with it, as the learner needs them: " : ", ");
            sl_add_argument(out, set->items[i].junction);
        }
    }
    sl_str_add(out, n > 0 ? ".\n" : "");
}

enum sl_exit sl_homework_new(const struct sl_homework_options *read)
{
    static const char *const usual[] = {"t-left-open", "t-left-closed"};
    bool named = read->n_operands > 0;
    const char *const *junctions = named ? read->operands : usual;
    size_t n_junctions = named ? read->n_operands : sizeof usual / sizeof *usual;
    struct sl_str text = {0};
    struct sl_error error = {0};
    struct sl_homework set = {0};
    const struct sl_homework_draft made = {junctions, n_junctions, read->drive, next_week()};
    sl_homework_template(&text, &made);
    const char *origin = read->out != NULL ? read->out : "new.yaml";
    if (sl_homework_parse(sl_str_text(&text), origin, &set, &error) == SL_OK && read->out != NULL) {
        (void)write_new(read, &text, &error);
        sl_str_clear(&text);
        sl_str_add(&text, "Written: ");
        sl_add_argument(&text, read->out);
        sl_str_add(&text, ". Change it with any text editor.\n");
        add_beside(&text, &set);
    }
    if (error.status == SL_OK && read->ics != NULL) {
        (void)sl_homework_save_ics(&set, read->ics, &error);
    }
    sl_homework_clear(&set);
    return sl_conclude(&text, &error);
}

/* Whether an item before names the same junction, which is rehearsed and driven then. */
static bool names_before(const struct sl_homework *set, size_t item)
{
    for (size_t i = 0; i < item; i++) {
        if (strcmp(set->items[i].name, set->items[item].name) == 0) {
            return true;
        }
    }
    return false;
}

static void add_right(struct sl_str *out, const char *path, const struct sl_homework *set)
{
    const struct sl_homework_state none = {0};
    int runs = sl_homework_left_in_all(set, &none);
    int drives = 0;
    size_t junctions = 0;
    for (size_t i = 0; i < set->n_items; i++) {
        drives += set->items[i].drive ? set->items[i].runs : 0;
        junctions += names_before(set, i) ? 0 : 1;
    }
    sl_text_clean(out, path);
    sl_str_addf(out, ": in order: %d %s at %zu %s", runs, runs == 1 ? "run" : "runs", junctions,
                junctions == 1 ? "junction" : "junctions");
    if (drives > 0) {
        sl_str_addf(out, ", %d of them driven", drives);
    }
    sl_str_add(out, "\n");
}

static enum sl_exit check(const struct sl_homework_options *read)
{
    enum sl_exit code = SL_EXIT_DONE;
    for (size_t i = 0; i < read->n_operands; i++) {
        struct sl_error error = {0};
        struct sl_homework set = {0};
        struct sl_str out = {0};
        if (sl_homework_load(read->operands[i], &set, &error) == SL_OK) {
            add_right(&out, read->operands[i], &set);
        }
        code = sl_conclude(&out, &error) == SL_EXIT_DONE ? code : SL_EXIT_FAILED;
        sl_homework_clear(&set);
    }
    return code;
}

struct action {
    const char *word;
    size_t least, most; /* operands after it */
    const char *operand;
    enum sl_exit (*run)(const struct sl_homework_options *options);
};

static const struct action actions[] = {
    {"new", 0, SL_HOMEWORK_ITEMS_MAX, "junctions", sl_homework_new},
    {"check", 1, SIZE_MAX, "files", check},
    {"do", 1, 1, "set", sl_homework_do},
    {"left", 1, 1, "set", sl_homework_show_left},
    {"pack", 1, 1, "set", sl_homework_pack},
    {"collect", 1, SIZE_MAX, "bags", sl_homework_collect},
};

static const struct action *find_action(const struct sl_call *call, struct sl_error *error)
{
    const char *word = call->operands[0];
    size_t n = call->n_operands - 1;
    for (size_t i = 0; i < sizeof actions / sizeof *actions; i++) {
        const struct action *action = &actions[i];
        if (strcmp(action->word, word) == 0) {
            if (n >= action->least && n <= action->most) {
                return action;
            }
            sl_fail(error, SL_INVALID, NULL, "`sayline homework --help` shows how",
                    "homework %s takes %s%zu %s, not %zu", word, n > action->most ? "at most " : "",
                    n > action->most ? action->most : action->least, action->operand, n);
            return NULL;
        }
    }
    sl_fail(error, SL_INVALID, NULL, "say new, check, do, left, pack or collect",
            "\"%s\" is nothing to do", word);
    return NULL;
}

static enum sl_status read_options(const struct sl_call *call, struct sl_homework_options *read,
                                   struct sl_error *error)
{
    const char *const *values = call->values;
    *read = (struct sl_homework_options){.operands = call->operands + 1,
                                         .n_operands = call->n_operands - 1,
                                         .out = values[HOMEWORK_OUT],
                                         .set = values[HOMEWORK_SET],
                                         .ics = values[HOMEWORK_ICS],
                                         .html = values[HOMEWORK_HTML],
                                         .drive = values[HOMEWORK_DRIVE] != NULL,
                                         .yes = values[HOMEWORK_YES] != NULL};
    read->rehearse =
        (struct sl_rehearse_options){.mic = values[HOMEWORK_MIC],
                                     .input = values[HOMEWORK_INPUT],
                                     .output = values[HOMEWORK_OUTPUT],
                                     .voice = values[HOMEWORK_VOICE],
                                     .pack = values[HOMEWORK_CUES],
                                     .learner = sl_learner_of(values[HOMEWORK_LEARNER]),
                                     .no_history = values[HOMEWORK_NO_HISTORY] != NULL,
                                     .repeat = 1,
                                     .plain = values[HOMEWORK_PLAIN] != NULL,
                                     .quiet = values[HOMEWORK_QUIET] != NULL,
                                     .json = values[HOMEWORK_JSON] != NULL,
                                     .tone = values[HOMEWORK_TONE] != NULL};
    struct sl_rehearse_options *rehearse = &read->rehearse;
    if (rehearse->mic != NULL && (rehearse->input != NULL || rehearse->output != NULL)) {
        return sl_fail(error, SL_INVALID, "--mic", "leave out --input and --output",
                       "a recording in place of the microphone uses no device");
    }
    enum sl_status status = sl_learner_check(rehearse->learner, error);
    if (status == SL_OK) {
        status = sl_style_choose(values[HOMEWORK_COLOUR], &rehearse->style, error);
    }
    if (status == SL_OK) {
        status = sl_jobs_choose(values[HOMEWORK_JOBS], &read->jobs, error);
    }
    rehearse->style.brief = rehearse->quiet;
    return status;
}

static enum sl_exit run(const struct sl_call *call)
{
    struct sl_error error = {0};
    struct sl_homework_options read = {0};
    const struct action *action = find_action(call, &error);
    if (action == NULL || read_options(call, &read, &error) != SL_OK) {
        sl_complain(&error);
        sl_error_clear(&error);
        return SL_EXIT_USAGE;
    }
    return action->run(&read);
}

const struct sl_command sl_command_homework = {
    .name = "homework",
    .summary = "make, do, hand in and collect sets of rehearsals and drives",
    .usage = "[OPTION...] ACTION [FILE...]",
    .purpose =
        "new [JUNCTION...] writes a homework set: junctions, how many runs of each, how much is "
        "told on the way, which runs count, and the day it is due. check SET... says whether sets "
        "are right. do SET rehearses and drives what is left of a set, and goes on where it was "
        "left after "
        "any interruption; recordings and marks are kept beside SET in SET.runs. left SET shows "
        "what is done and what is left. pack SET makes one file of the runs that count, to be "
        "handed in, after showing what is in it and asking. collect --set SET BAG... takes in such "
        "files, refuses what is not right, marks each recording again from its sound, and tells "
        "where the marks handed in differ, what is left for whom, which phases go wrong, and what "
        "to teach next. "
        "Practise parked or at home, never while driving: your instructor and the Highway Code "
        "come first.",
    .options = options,
    .n_options = HOMEWORK_OPTIONS,
    .least_operands = 1,
    .most_operands = SIZE_MAX,
    .operand = "new, check, do, left, pack or collect",
    .example = "sayline homework new t-left-open t-right-closed",
    .example_tells = "prints a set, with a word on every line of it.",
    .exit_failed = "a set is not right, a bag was refused, a file cannot be used, a run could not "
                   "be recorded or "
                   "marked, or the results could not be written",
    .device = true,
    .run = run,
};
