/* sayline cues: render, check and record cue packs. */
#include "cli/cues_record.h"
#include "cli/shared.h"
#include "practice/cue_pack.h"
#include "practice/cue_voice.h"
#include "report/text.h"
#include "sound/device.h"
#include "sound/endpoint_file.h"

#include <stdint.h>
#include <stdlib.h>
#include <string.h>

enum { CUES_VOICE, CUES_INPUT, CUES_MIC, CUES_OPTIONS };

static const struct sl_option options[CUES_OPTIONS] = {
    [CUES_VOICE] = {"voice", 'v', "NAME",
                    "For render: awb (Scottish English), kal16, rms or slt; awb if not given."},
    [CUES_INPUT] = {"input", 0, "DEVICE",
                    "For record: the microphone, by number, name or a part of its name."},
    [CUES_MIC] = {"mic", 0, "FILE", "For record: a sound file in place of the microphone."},
};

/* What an action works on. */
struct work {
    const struct sl_call *call;
    const char *pack; /* as given */
    struct sl_cue_texts texts;
    struct sl_str out;
    bool flawed; /* an answer, but not the one hoped for */
    bool flowed; /* from here on a device that fails was lost */
};

static enum sl_status render(struct work *work, struct sl_error *error)
{
    const char *voice = work->call->values[CUES_VOICE];
    struct sl_cue_manifest pack = {0};
    voice = voice != NULL ? voice : SL_DEFAULT_VOICE;
    enum sl_status status = sl_cue_pack_begin(work->pack, &pack, error);
    if (status == SL_OK && pack.title == NULL) {
        pack.title = sl_strf("Cues spoken by the synthetic voice %s", voice);
        pack.origin = sl_strf("Rendered with sayline cues render, libflite's voice %s.", voice);
    }
    if (status == SL_OK) {
        status = sl_cue_pack_render(&pack, &work->texts, voice, error);
    }
    if (status == SL_OK) {
        sl_text_clean(&work->out, work->pack);
        sl_str_addf(&work->out, ": %zu cues\n", work->texts.count);
    }
    sl_cue_manifest_clear(&pack);
    return status;
}

static void add_finding(struct sl_str *out, const struct sl_cue_finding *finding)
{
    if (finding->flaws == 0) {
        return;
    }
    sl_text_clean(out, finding->text);
    sl_str_add(out, " ");
    sl_cue_flaws_add(out, finding->flaws);
    if (finding->length_s > 0) {
        sl_str_addf(out, "; %.2f s, %.1f LUFS, peak %.1f dBTP", finding->length_s, finding->lufs,
                    finding->dbtp);
    }
    sl_str_add(out, "\n");
}

static enum sl_status check(struct work *work, struct sl_error *error)
{
    char *folder = NULL;
    struct sl_cue_manifest pack = {0};
    struct sl_cue_findings findings = {0};
    enum sl_status status = sl_cue_pack_folder(work->pack, &folder, error);
    if (status == SL_OK) {
        status = sl_load_cue_manifest(folder, &pack, error);
    }
    if (status == SL_OK) {
        status = sl_cue_pack_check(&pack, &work->texts, &findings, error);
    }
    for (size_t i = 0; i < findings.count; i++) {
        add_finding(&work->out, &findings.items[i]);
    }
    if (status == SL_OK) {
        work->flawed = findings.n_flawed > 0;
        sl_text_clean(&work->out, work->pack);
        sl_str_addf(&work->out, ": %zu of %zu cues are right\n", findings.count - findings.n_flawed,
                    findings.count);
    }
    sl_cue_findings_clear(&findings);
    sl_cue_manifest_clear(&pack);
    free(folder);
    return status;
}

static enum sl_status open_microphone(const struct sl_call *call, struct sl_endpoint *endpoint,
                                      struct sl_error *error)
{
    if (call->values[CUES_MIC] != NULL) {
        return sl_endpoint_file_open(call->values[CUES_MIC], endpoint, error);
    }
    struct sl_device_choice choice = {.input = call->values[CUES_INPUT]};
    return sl_device_open(&choice, endpoint, error);
}

static enum sl_status record(struct work *work, struct sl_error *error)
{
    struct sl_cue_manifest pack = {0};
    struct sl_endpoint endpoint = {0};
    enum sl_status status = sl_cue_pack_begin(work->pack, &pack, error);
    if (status == SL_OK && pack.title == NULL) {
        pack.title = sl_strdup("Cues in a voice of one's own");
        pack.origin = sl_strdup("Recorded with sayline cues record.");
    }
    if (status == SL_OK) {
        status = open_microphone(work->call, &endpoint, error);
    }
    if (status == SL_OK) {
        status = sl_endpoint_start(&endpoint, error);
    }
    work->flowed = status == SL_OK;
    if (status == SL_OK) {
        status = sl_cues_record(&pack, &work->texts, &endpoint, error);
    }
    sl_endpoint_close(&endpoint);
    sl_cue_manifest_clear(&pack);
    return status;
}

struct action {
    const char *word;
    enum sl_status (*run)(struct work *work, struct sl_error *error);
};

static const struct action actions[] = {{"record", record}, {"check", check}, {"render", render}};

static const struct action *find_action(const char *word, struct sl_error *error)
{
    for (size_t i = 0; i < sizeof actions / sizeof *actions; i++) {
        if (strcmp(actions[i].word, word) == 0) {
            return &actions[i];
        }
    }
    sl_fail(error, SL_INVALID, NULL, "say record, check or render", "\"%s\" is nothing to do",
            word);
    return NULL;
}

static enum sl_exit act(struct work *work, const struct action *action, struct sl_error *error)
{
    const struct sl_call *call = work->call;
    enum sl_status status =
        sl_cue_texts_collect(call->operands + 2, call->n_operands - 2, &work->texts, error);
    if (status == SL_OK) {
        status = action->run(work, error);
    }
    if (status != SL_OK) {
        return work->flowed && status == SL_DEVICE ? SL_EXIT_DEVICE_LOST : sl_exit_for(error);
    }
    return sl_print(&work->out) && !work->flawed ? SL_EXIT_DONE : SL_EXIT_FAILED;
}

static enum sl_exit run(const struct sl_call *call)
{
    struct sl_error error = {0};
    struct work work = {.call = call, .pack = call->operands[1]};
    const struct action *action = find_action(call->operands[0], &error);
    enum sl_exit code = action != NULL ? act(&work, action, &error) : SL_EXIT_USAGE;
    if (error.status != SL_OK) {
        sl_complain(&error);
    }
    sl_error_clear(&error);
    sl_cue_texts_clear(&work.texts);
    sl_str_clear(&work.out);
    return code;
}

const struct sl_command sl_command_cues = {
    .name = "cues",
    .summary = "record, check or render the spoken cues",
    .usage = "[OPTION...] record|check|render PACK [JUNCTION...]",
    .purpose =
        "A cue pack is a folder with a sound file for every cue and a manifest. record asks for "
        "the cues that the pack lacks, one by one, from the microphone, checks the level of each "
        "and offers a retake. check tells what is missing, too loud, too quiet, too long or "
        "clipped. render speaks them all with a synthetic voice. Cues are for every junction that "
        "is installed, or for the JUNCTIONs given.",
    .options = options,
    .n_options = CUES_OPTIONS,
    .least_operands = 2,
    .most_operands = SIZE_MAX,
    .operand = "action and a PACK",
    .example = "sayline cues check scots",
    .example_tells = "measures the pack that comes with the program.",
    .exit_failed = "the pack lacks something or a cue is not right, a file cannot be used, or "
                   "something could not be written",
    .device = true,
    .run = run,
};
