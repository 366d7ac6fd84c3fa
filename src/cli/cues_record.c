#include "cli/cues_record.h"

#include "cli/shared.h"
#include "practice/cue_pack.h"
#include "practice/cue_recorder.h"
#include "report/text.h"

#include <ctype.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>

struct session {
    struct sl_cue_manifest *pack;
    struct sl_endpoint *endpoint;
    size_t number, of; /* of the cue that is asked for */
};

static void say(struct sl_str *text)
{
    (void)sl_print(text);
    sl_str_clear(text);
}

/* The first letter of a line of standard input; '\n' for an empty line, 'q' at its end. */
static int ask(void)
{
    char *line = NULL;
    size_t room = 0;
    ssize_t length = getline(&line, &room, stdin);
    int letter = length <= 0 ? 'q' : tolower((unsigned char)line[0]);
    free(line);
    return letter;
}

/* What the learner answers before a take: '\n' go, 's' skip, 'q' stop. */
static int ask_before(const struct session *session, const char *text)
{
    struct sl_str out = {0};
    sl_str_addf(&out, "%zu of %zu: ", session->number, session->of);
    sl_text_clean(&out, text);
    sl_str_add(&out, "\n  Enter, then say it; s skips it, q stops: ");
    say(&out);
    return ask();
}

/* After a take: 'k' keep, 'r' again, 's' skip, 'q' stop. An empty answer keeps what is right and
 * retakes what is not. */
static int ask_after(const struct sl_take *take)
{
    struct sl_str out = {0};
    sl_str_addf(&out, "  %.2f s. ", sl_clip_length_s(&take->clip));
    if (take->flaws != 0) {
        sl_cue_flaws_add(&out, take->flaws);
        sl_str_add(&out, ".\n  Enter records it again, k keeps it, s skips it, q stops: ");
    } else {
        sl_str_add(&out, "All right.\n  Enter keeps it, r records it again, s skips it, q stops: ");
    }
    say(&out);
    int answer = ask();
    if (answer == '\n') {
        return take->flaws != 0 ? 'r' : 'k';
    }
    return answer == 'k' && take->clip.n == 0 ? 'r' : answer;
}

/* One text to its end: kept, skipped or stopped (*stop). */
static enum sl_status record_text(const struct session *session, const char *text, bool *stop,
                                  struct sl_error *error)
{
    enum sl_status status = SL_OK;
    int answer = ask_before(session, text);
    *stop = answer == 'q';
    bool again = answer != 'q' && answer != 's';
    while (again && status == SL_OK) {
        struct sl_take take = {0};
        status = sl_take_record(session->endpoint, text, &take, error);
        if (status == SL_OK) {
            answer = ask_after(&take);
            again = answer != 'k' && answer != 's' && answer != 'q';
            *stop = answer == 'q';
        }
        if (status == SL_OK && answer == 'k') {
            status = sl_cue_pack_put(session->pack, text, &take.clip, error);
        }
        sl_take_clear(&take);
    }
    return status;
}

static size_t count_missing(const struct sl_cue_manifest *pack, const struct sl_cue_texts *texts)
{
    size_t missing = 0;
    for (size_t i = 0; i < texts->count; i++) {
        missing += sl_cue_manifest_find(pack, texts->items[i]) == NULL ? 1 : 0;
    }
    return missing;
}

enum sl_status sl_cues_record(struct sl_cue_manifest *pack, const struct sl_cue_texts *texts,
                              struct sl_endpoint *endpoint, struct sl_error *error)
{
    struct session session = {.pack = pack, .endpoint = endpoint, .of = count_missing(pack, texts)};
    enum sl_status status = SL_OK;
    bool stop = false;
    for (size_t i = 0; i < texts->count && !stop && status == SL_OK; i++) {
        if (sl_cue_manifest_find(pack, texts->items[i]) == NULL) {
            session.number++;
            status = record_text(&session, texts->items[i], &stop, error);
        }
    }
    struct sl_str out = {0};
    size_t missing = count_missing(pack, texts);
    sl_str_addf(&out, "\n%zu cue%s recorded, %zu still missing%s.\n", session.of - missing,
                session.of - missing == 1 ? "" : "s", missing,
                missing == 0 ? "" : ": a synthetic voice speaks them until they are there");
    say(&out);
    return status;
}
