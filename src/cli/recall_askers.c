#include "cli/recall_askers.h"

#include "cli/shared.h"
#include "files/recall_json.h"
#include "report/recall_text.h"
#include "report/text.h"
#include "sound/clock.h"

#include <poll.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#define RETRIES 2 /* a question is put again so often when nothing was heard or understood */

void sl_recall_talk_clear(struct sl_recall_talk *talk)
{
    sl_hearing_clear(&talk->heard);
    free(talk->line);
    talk->line = NULL;
    talk->line_room = 0;
}

/* What belongs to the conversation: on standard output, but with --json on standard error. */
static void converse(struct sl_recall_talk *talk, struct sl_str *text)
{
    if (talk->json) {
        fputs(sl_str_text(text), stderr);
    } else {
        talk->broken = !sl_print(text) || talk->broken;
    }
    sl_str_clear(text);
}

static void remark(struct sl_recall_talk *talk, const char *sentence)
{
    struct sl_str text = {0};
    sl_text_fact(&text, "", sentence, talk->style.width);
    converse(talk, &text);
}

static enum sl_status say_question(struct sl_recall_talk *talk, const struct sl_question *question,
                                   struct sl_error *error)
{
    if (talk->ear == NULL) {
        return SL_OK;
    }
    struct sl_str text = {0};
    sl_str_addf(&text, "%s %s", question->text, question->ask);
    enum sl_status status =
        text.failed ? sl_fail_memory(error) : sl_ear_say(talk->ear, sl_str_text(&text), error);
    sl_str_clear(&text);
    return status;
}

static void prompt(struct sl_recall_talk *talk)
{
    if (isatty(STDIN_FILENO) == 1) {
        struct sl_str text = {0};
        sl_str_add(&text, "> ");
        converse(talk, &text);
    }
}

/* Reads lines until one is understood. Lines that say nothing are not held against the learner. */
static enum sl_status read_answer(struct sl_recall_talk *talk, struct sl_recall_answer *answer,
                                  struct sl_error *error)
{
    double asked_s = sl_clock_s();
    for (;;) {
        prompt(talk);
        ssize_t length = getline(&talk->line, &talk->line_room, stdin);
        if (length < 0) {
            answer->ended = true;
            return SL_OK;
        }
        enum sl_status status =
            sl_reply_from_text(&talk->stock->book, talk->line, &answer->reply, error);
        if (status != SL_OK) {
            return status;
        }
        if (answer->reply.n_phrases > 0) {
            answer->after_s = sl_clock_s() - asked_s;
            answer->quick_s = SL_QUICK_S + SL_TYPING_S * (double)length;
            return SL_OK;
        }
        remark(talk, "Nothing of that was understood. Say it in other words, or pass; Ctrl-D "
                     "ends.");
    }
}

/* Everything asked for was unclear. */
static void count_for_nothing(struct sl_recall_talk *talk, const struct sl_question *question,
                              struct sl_recall_answer *answer)
{
    (void)talk;
    answer->reply = (struct sl_reply){.unclear = question->parts};
    answer->quick_s = SL_QUICK_S;
}

static void tell_heard(struct sl_recall_talk *talk)
{
    struct sl_str text = {0};
    sl_str_addf(&text, "Heard: %s.", talk->heard.words);
    remark(talk, sl_str_text(&text));
    sl_str_clear(&text);
}

/* Listens until an answer is understood, the question put again a few times. */
static enum sl_status hear_answer(struct sl_recall_talk *talk, const struct sl_question *question,
                                  struct sl_recall_answer *answer, struct sl_error *error)
{
    /* One or two words, as scenes are answered with, are too little for the listener. */
    bool scene = question->parts == SL_PART_VIEW;
    struct sl_understanding by = {.recogniser = scene ? talk->scene_recogniser : talk->recogniser,
                                  .listener = scene ? NULL : talk->listener,
                                  .parts = question->parts};
    for (int put = 0;; put++) {
        enum sl_status status = sl_ear_hear(talk->ear, &by, &talk->heard, error);
        bool over = status != SL_OK || talk->heard.kind == SL_HEARD_END;
        if (over) {
            answer->ended = true;
            return status;
        }
        if (talk->heard.kind == SL_HEARD_ANSWER) {
            tell_heard(talk);
            answer->reply = talk->heard.reply;
            answer->after_s = talk->heard.after_s;
            answer->quick_s = SL_QUICK_S;
            return SL_OK;
        }
        bool silence = talk->heard.kind == SL_HEARD_SILENCE;
        if (put == RETRIES && silence) {
            answer->ended = true;
            remark(talk, "Nothing was heard three times, so the session ends here. Check the "
                         "microphone.");
            return SL_OK;
        }
        if (put == RETRIES) {
            count_for_nothing(talk, question, answer);
            return SL_OK;
        }
        remark(talk, silence ? "Nothing was heard. The question once more."
                             : "That could not be made out. Say it again, or pass.");
        status = silence ? say_question(talk, question, error)
                         : sl_ear_say(talk->ear, "Again, please.", error);
        if (status != SL_OK) {
            return status;
        }
    }
}

static enum sl_status ask(void *user, const struct sl_recall_turn *turn,
                          struct sl_recall_answer *answer, struct sl_error *error)
{
    struct sl_recall_talk *talk = user;
    struct sl_str text = {0};
    sl_report_question(&text, turn->question, turn->number, turn->count, talk->style.width);
    converse(talk, &text);
    if (turn->slipped) {
        remark(talk, "You said something of this wrong in a run since you were last asked.");
    }
    enum sl_status status = say_question(talk, turn->question, error);
    if (status == SL_OK) {
        status = talk->typed ? read_answer(talk, answer, error)
                             : hear_answer(talk, turn->question, answer, error);
    }
    return status;
}

static enum sl_status say_verdict(struct sl_recall_talk *talk, const struct sl_recall_told *told,
                                  struct sl_error *error)
{
    const struct sl_question *question = told->question;
    const struct sl_verdict *verdict = &told->verdict;
    unsigned missed = verdict->wrong | verdict->unsaid | verdict->unclear;
    struct sl_str text = {0};
    if (missed == 0) {
        sl_str_add(&text, "Right.");
    } else {
        char *words = sl_parts_words(missed, question->view, &question->wanted.settings);
        sl_str_addf(&text, "%s Right is %s.", verdict->wrong != 0 ? "Wrong." : "Not all.",
                    words == NULL ? "" : words);
        free(words);
    }
    enum sl_status status = sl_ear_say(talk->ear, sl_str_text(&text), error);
    sl_str_clear(&text);
    return status;
}

static bool told(void *user, const struct sl_recall_told *what)
{
    struct sl_recall_talk *talk = user;
    struct sl_error error = {0};
    struct sl_str text = {0};
    if (talk->json) {
        char *line = NULL;
        if (sl_recall_to_json(what, talk->heard.words, &line, &error) == SL_OK) {
            sl_str_addf(&text, "%s\n", line);
        }
        text.failed = text.failed || line == NULL;
        free(line);
    } else {
        sl_report_recall(&text, what, &talk->style);
    }
    talk->broken = !sl_print(&text) || talk->broken;
    sl_str_clear(&text);
    bool fine = !talk->broken;
    if (fine && talk->ear != NULL && say_verdict(talk, what, &error) != SL_OK) {
        sl_complain(&error); /* the next question would say so, but may never come */
        fine = false;
    }
    sl_error_clear(&error);
    return fine;
}

static double now_s(void *user)
{
    (void)user;
    return (double)time(NULL);
}

struct sl_recall_asker sl_recall_asker_of(struct sl_recall_talk *talk)
{
    return (struct sl_recall_asker){.ask = ask, .told = told, .now_s = now_s, .user = talk};
}

bool sl_recall_terminal_ended(void *user)
{
    (void)user;
    struct pollfd input = {.fd = STDIN_FILENO, .events = POLLIN};
    char bytes[256];
    return isatty(STDIN_FILENO) == 1 && poll(&input, 1, 0) > 0 &&
           read(STDIN_FILENO, bytes, sizeof bytes) == 0;
}
