/* sayline phrases: the words that the recogniser knows, checked and tried. */
#include "cli/shared.h"
#include "files/models.h"
#include "files/path.h"
#include "files/phrases_json.h"
#include "practice/phrases_try.h"
#include "report/text.h"
#include "speech/pronunciation.h"

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/types.h>

enum { PHRASES_ROUTINE, PHRASES_SOUND, PHRASES_JSON, PHRASES_OPTIONS };

static const struct sl_option options[PHRASES_OPTIONS] = {
    [PHRASES_ROUTINE] = SL_OPTION_ROUTINE,
    [PHRASES_SOUND] = {"sound", 0, "FILE",
                       "For try: listen to a sound file instead of reading words."},
    [PHRASES_JSON] = {"json", 0, NULL, "JSON, one object a line (docs/formats.md)."},
};

/* Pairs up to this far apart are listed; which are too near, alike.h says. */
#define LISTED_WITHIN (SL_PHONE_WHOLE + SL_PHONE_WHOLE / 2)

/* What both actions work with. */
struct work {
    const struct sl_call *call;
    struct sl_routine routine;
    char *routine_path, *dictionary; /* as errors name them */
    struct sl_pronunciations pronunciations;
    struct sl_str out;
    bool json;
    bool flawed; /* an answer, but not the one hoped for */
};

static enum sl_status load(struct work *work, struct sl_error *error)
{
    const char *name = work->call->values[PHRASES_ROUTINE];
    name = name == NULL ? SL_DEFAULT_ROUTINE : name;
    char *relative = sl_strf("routines/%s.yaml", name);
    enum sl_status status = sl_load_routine(name, &work->routine, error);
    if (status == SL_OK && sl_is_path(name)) {
        work->routine_path = sl_strdup(name);
    } else if (status == SL_OK && relative != NULL) {
        status = sl_models_path(relative, &work->routine_path, error);
    }
    free(relative);
    if (status == SL_OK) {
        status = sl_models_path("pronunciations.dict", &work->dictionary, error);
    }
    if (status == SL_OK) {
        status = sl_pronunciations_load(work->dictionary, &work->pronunciations, error);
    }
    return status;
}

static const char *phase_title(const struct sl_routine *routine, size_t phase)
{
    return phase < routine->n_phases       ? routine->phases[phase].title
           : phase == SL_PHRASE_CORRECTION ? "Correction"
                                           : "Filler";
}

/* "Gear (third gear)"; only the phase where nothing is named. */
static void add_meaning(struct sl_str *out, const struct sl_routine *routine, size_t phase,
                        const struct sl_settings *settings)
{
    char *words = sl_settings_words(settings);
    sl_str_add(out, phase_title(routine, phase));
    if (words != NULL && words[0] != '\0') {
        sl_str_addf(out, " (%s)", words);
    }
    free(words);
}

static void add_side(struct sl_str *out, const struct work *work, const struct sl_alike_side *side)
{
    const struct sl_phrase *phrase = &work->routine.phrasebook.phrases[side->phrase];
    sl_str_addf(out, "\"%s\", ", side->words);
    add_meaning(out, &work->routine, phrase->phase, &side->settings);
    if (phrase->line > 0) {
        sl_str_addf(out, ", line %u", phrase->line);
    }
}

static void add_unspoken(struct work *work, const struct sl_unspoken *unspoken)
{
    const struct sl_phrase *phrase = &work->routine.phrasebook.phrases[unspoken->phrase];
    sl_text_clean(&work->out, work->routine_path);
    sl_str_addf(&work->out, ":%u: no pronunciation for \"%s\"; add a line to ", phrase->line,
                unspoken->word);
    sl_text_clean(&work->out, work->dictionary);
    sl_str_addf(&work->out, ": %s PHONE PHONE ...\n", unspoken->word);
}

static void add_alikes(struct work *work, const struct sl_alikes *alikes)
{
    for (size_t i = 0; i < alikes->count; i++) {
        const struct sl_alike *alike = &alikes->items[i];
        bool near = alike->distance < SL_ALIKE_TOO_NEAR;
        sl_str_addf(&work->out, "%5.2f  %s  ", (double)alike->distance / SL_PHONE_WHOLE,
                    near ? "too alike" : "near     ");
        add_side(&work->out, work, &alike->one);
        sl_str_add(&work->out, "\n                  ");
        add_side(&work->out, work, &alike->other);
        sl_str_add(&work->out, "\n");
    }
}

static enum sl_status check(struct work *work, struct sl_error *error)
{
    struct sl_unspoken_list unspoken = {0};
    struct sl_alikes alikes = {0};
    const struct sl_phrasebook *book = &work->routine.phrasebook;
    enum sl_status status = sl_unspoken_find(book, &work->pronunciations, &unspoken, error);
    if (status == SL_OK) {
        status = sl_alike_within(book, &work->pronunciations, LISTED_WITHIN, &alikes, error);
    }
    size_t n_near = 0;
    while (n_near < alikes.count && alikes.items[n_near].distance < SL_ALIKE_TOO_NEAR) {
        n_near++;
    }
    work->flawed = unspoken.count + n_near > 0;
    if (status == SL_OK && work->json) {
        char *json = NULL;
        status = sl_phrases_to_json(&work->routine, &unspoken, &alikes, &json, error);
        sl_str_addf(&work->out, "%s\n", json == NULL ? "" : json);
        free(json);
    } else if (status == SL_OK) {
        for (size_t i = 0; i < unspoken.count; i++) {
            add_unspoken(work, &unspoken.items[i]);
        }
        add_alikes(work, &alikes);
        sl_text_clean(&work->out, work->routine.name);
        sl_str_addf(
            &work->out,
            ": %zu phrases, %zu words; %zu without pronunciation; %zu pairs too alike (less "
            "than one phone apart), %zu more near\n",
            book->n_phrases, book->graph.n_words, unspoken.count, n_near, alikes.count - n_near);
    }
    free(unspoken.items);
    sl_alikes_clear(&alikes);
    return status;
}

static void add_tried(struct work *work, const char *text, const struct sl_phrases_tried *tried)
{
    struct sl_str *out = &work->out;
    sl_text_clean(out, text);
    sl_str_add(out, tried->heard.count > 0     ? ":\n"
                    : tried->nearest.count > 0 ? ": no phrase; the nearest are\n"
                                               : ": no phrase\n");
    for (size_t i = 0; i < tried->heard.count; i++) {
        const struct sl_heard *item = &tried->heard.items[i];
        sl_str_add(out, "  ");
        if (item->start_s >= 0) {
            sl_str_addf(out, "%6.2f to %6.2f s, %3.0f %%%s: ", item->start_s, item->end_s,
                        100 * item->confidence, item->unclear ? ", unclear" : "");
        }
        sl_str_addf(out, "\"%s\", ", item->text);
        add_meaning(out, &work->routine, item->phase, &item->settings);
        sl_str_add(out, "\n");
    }
    for (size_t i = 0; i < tried->unknown.count; i++) {
        sl_str_add(out, "  passed over, as it has no pronunciation: ");
        sl_text_clean(out, tried->unknown.items[i]);
        sl_str_add(out, "\n");
    }
    for (size_t i = 0; i < tried->nearest.count; i++) {
        const struct sl_alike *alike = &tried->nearest.items[i];
        sl_str_addf(out, "  %5.2f phones away: ", (double)alike->distance / SL_PHONE_WHOLE);
        add_side(out, work, &alike->other);
        sl_str_add(out, "\n");
    }
}

/* Shows what a text or a sound was heard as, at once. */
static enum sl_status tell(struct work *work, const char *text,
                           const struct sl_phrases_tried *tried, struct sl_error *error)
{
    enum sl_status status = SL_OK;
    work->flawed = work->flawed || tried->heard.count == 0;
    if (work->json) {
        char *json = NULL;
        const struct sl_tried told = {text, &tried->heard,
                                      tried->heard.count == 0 ? &tried->nearest : NULL};
        status = sl_tried_to_json(&work->routine, &told, &json, error);
        sl_str_addf(&work->out, "%s\n", json == NULL ? "" : json);
        free(json);
    } else {
        add_tried(work, text, tried);
    }
    return status;
}

static enum sl_status try_text(struct work *work, const char *text, struct sl_error *error)
{
    struct sl_phrases_tried tried = {0};
    enum sl_status status =
        sl_phrases_try_text(&work->routine, &work->pronunciations, text, &tried, error);
    if (status == SL_OK) {
        status = tell(work, text, &tried, error);
    }
    sl_phrases_tried_clear(&tried);
    return status;
}

static enum sl_status try_lines(struct work *work, struct sl_error *error)
{
    char *line = NULL;
    size_t room = 0;
    enum sl_status status = SL_OK;
    while (status == SL_OK && getline(&line, &room, stdin) >= 0) {
        line[strcspn(line, "\r\n")] = '\0';
        status = try_text(work, line, error);
    }
    free(line);
    return status;
}

static enum sl_status try_sound(struct work *work, const char *file, struct sl_error *error)
{
    struct sl_phrases_tried tried = {0};
    struct sl_recogniser *recogniser = NULL;
    struct sl_recogniser_paths paths = {.pronunciations = work->dictionary};
    enum sl_status status = sl_recogniser_new(&work->routine, &paths, NULL, &recogniser, error);
    if (status == SL_OK) {
        status = sl_phrases_try_sound(recogniser, file, &tried, error);
    }
    if (status == SL_OK) {
        status = tell(work, file, &tried, error);
    }
    sl_recogniser_free(recogniser);
    sl_phrases_tried_clear(&tried);
    return status;
}

static enum sl_status try(struct work *work, struct sl_error *error)
{
    const struct sl_call *call = work->call;
    enum sl_status status = SL_OK;
    if (call->values[PHRASES_SOUND] != NULL) {
        status = try_sound(work, call->values[PHRASES_SOUND], error);
    }
    for (size_t i = 1; i < call->n_operands && status == SL_OK; i++) {
        const char *text = call->operands[i];
        status = strcmp(text, "-") == 0 ? try_lines(work, error) : try_text(work, text, error);
    }
    return status;
}

static enum sl_status check_use(const struct sl_call *call, struct sl_error *error)
{
    bool checks = strcmp(call->operands[0], "check") == 0;
    bool tries = strcmp(call->operands[0], "try") == 0;
    bool sound = call->values[PHRASES_SOUND] != NULL;
    if (!checks && !tries) {
        return sl_fail(error, SL_INVALID, NULL, "say check or try", "\"%s\" is nothing to do",
                       call->operands[0]);
    }
    if (checks && (call->n_operands > 1 || sound)) {
        return sl_fail(error, SL_INVALID, NULL, "say which with --routine",
                       "check takes the whole phrasebook");
    }
    if (tries && call->n_operands < 2 && !sound) {
        return sl_fail(error, SL_INVALID, NULL, "give words in quotes, - or --sound FILE",
                       "try needs something to try");
    }
    return SL_OK;
}

static enum sl_exit run(const struct sl_call *call)
{
    struct sl_error error = {0};
    struct work work = {.call = call, .json = call->values[PHRASES_JSON] != NULL};
    enum sl_exit code = SL_EXIT_USAGE;
    if (check_use(call, &error) == SL_OK) {
        enum sl_status status = load(&work, &error);
        if (status == SL_OK) {
            status =
                strcmp(call->operands[0], "check") == 0 ? check(&work, &error) : try(&work, &error);
        }
        code = status != SL_OK                       ? sl_exit_for(&error)
               : sl_print(&work.out) && !work.flawed ? SL_EXIT_DONE
                                                     : SL_EXIT_FAILED;
    }
    if (error.status != SL_OK) {
        sl_complain(&error);
    }
    sl_error_clear(&error);
    sl_routine_clear(&work.routine);
    sl_pronunciations_clear(&work.pronunciations);
    free(work.routine_path);
    free(work.dictionary);
    sl_str_clear(&work.out);
    return code;
}

const struct sl_command sl_command_phrases = {
    .name = "phrases",
    .summary = "check and try the phrases that are understood",
    .usage = "[OPTION...] check | try WORDS...",
    .purpose =
        "check lists the words of the routine's phrasebook without a pronunciation, with the line "
        "of their phrase, and the phrases of different meaning that sound alike, with their "
        "distance in phones; nearer than a third of one is too alike. try tells how words would be "
        "heard, and the nearest phrases where none fits; - reads lines from standard input.",
    .options = options,
    .n_options = PHRASES_OPTIONS,
    .least_operands = 1,
    .most_operands = SIZE_MAX,
    .operand = "action",
    .example = "sayline phrases try 'into second gear, clutch up'",
    .example_tells = "shows the phase and the settings that this would be heard as.",
    .exit_failed = "check found a word without pronunciation or a pair too alike, try found no "
                   "phrase in some words, a file cannot be used, or the results could not be "
                   "written",
    .run = run,
};
