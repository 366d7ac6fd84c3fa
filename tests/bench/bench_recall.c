/*
 * The bench of spoken answers to a junction's settings: the right answer to every junction that is
 * installed is spoken by the voices named, in two manners (a short pause between two settings, and
 * a long one), with the noise of a quiet room, and heard in two ways: as a whole by the recogniser,
 * and as it comes by a listener that keeps the voice from answer to answer.
 *
 *   bench_recall VOICE...
 */
#include "core/recall.h"
#include "core/str.h"
#include "core/units.h"
#include "files/models.h"
#include "practice/recall_run.h"
#include "practice/cue_voice.h"
#include "speech/listener.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define RATE SL_CLIP_RATE_HZ
#define BEFORE_S 0.7
#define AFTER_S 1.5
#define NOISE_PEAK 20
#define BLOCK 320

struct tally {
    size_t answers, whole; /* right in every part */
    size_t parts, right, wrong, unsaid, unclear;
};

struct bench {
    struct sl_recall_stock stock;
    struct sl_recogniser *recogniser;
    struct sl_listener *listener;
    struct tally as_whole, live;
};

static const char *number_word(double mph)
{
    static const struct {
        int mph;
        const char *word;
    } words[] = {{5, "five"}, {10, "ten"}, {15, "fifteen"}, {20, "twenty"}, {30, "thirty"}};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++) {
        if (words[i].mph == (int)lround(mph)) {
            return words[i].word;
        }
    }
    return "ten";
}

/* The right answer as people say it. */
static char *answer_to(const struct sl_question *question, const char *between)
{
    struct sl_str text = {0};
    for (size_t i = 0; sl_parts[i] != 0; i++) {
        unsigned part = sl_parts[i];
        if ((question->parts & part) == 0) {
            continue;
        }
        char *words = sl_parts_words(part, question->view, &question->wanted.settings);
        sl_str_add(&text, text.length > 0 ? between : "");
        if (part == SL_SET_SPEED) {
            double mph = sl_mph_from_mps(question->wanted.settings.speed_mps);
            sl_str_addf(&text, "%s miles an hour", number_word(mph));
        } else {
            sl_str_add(&text, words == NULL ? "" : words);
        }
        free(words);
    }
    return sl_str_take(&text);
}

static unsigned ones(unsigned bits)
{
    unsigned n = 0;
    for (; bits != 0; bits &= bits - 1) {
        n++;
    }
    return n;
}

static void count(struct tally *tally, const struct sl_question *question,
                  const struct sl_heard_list *heard)
{
    struct sl_reply reply = sl_reply_from_heard(heard);
    struct sl_verdict verdict = sl_reply_judge(question, &reply, 0, 1);
    tally->answers++;
    tally->whole += verdict.right == question->parts;
    tally->parts += ones(question->parts);
    tally->right += ones(verdict.right);
    tally->wrong += ones(verdict.wrong);
    tally->unsaid += ones(verdict.unsaid);
    tally->unclear += ones(verdict.unclear);
}

static enum sl_status in_a_room(const char *voice, const char *text, struct sl_clip *room,
                                struct sl_error *error)
{
    struct sl_clip speech = {0};
    uint32_t random = 1;
    enum sl_status status = sl_speak_clip(voice, text, &speech, error);
    if (status == SL_OK) {
        status = sl_clip_append(room, NULL, (size_t)(BEFORE_S * RATE), error);
    }
    if (status == SL_OK) {
        status = sl_clip_append(room, speech.samples, speech.n, error);
    }
    if (status == SL_OK) {
        status = sl_clip_append(room, NULL, (size_t)(AFTER_S * RATE), error);
    }
    for (size_t i = 0; i < room->n; i++) {
        random = random * 1664525U + 1013904223U;
        room->samples[i] =
            (int16_t)(room->samples[i] / 3 + (int)(random >> 16) % NOISE_PEAK - NOISE_PEAK / 2);
    }
    sl_clip_clear(&speech);
    return status;
}

static enum sl_status hear_live(struct sl_listener *listener, const struct sl_clip *room,
                                struct sl_heard_list *heard, struct sl_error *error)
{
    enum sl_status status = SL_OK;
    for (size_t at = 0; at < room->n && status == SL_OK; at += BLOCK) {
        size_t n = room->n - at < BLOCK ? room->n - at : BLOCK;
        status = sl_listener_feed(listener, room->samples + at, n, heard, error);
    }
    if (status == SL_OK) {
        status = sl_listener_finish(listener, heard, error);
    }
    sl_listener_drop_replaced(heard);
    return status;
}

static enum sl_status ask(struct bench *bench, const struct sl_question *question,
                          const char *voice, const char *between, struct sl_error *error)
{
    struct sl_clip room = {0};
    struct sl_heard_list whole = {0};
    struct sl_heard_list live = {0};
    char *text = answer_to(question, between);
    enum sl_status status = in_a_room(voice, text, &room, error);
    if (status == SL_OK) {
        status = sl_recogniser_feed(bench->recogniser, room.samples, room.n, &whole, error);
    }
    if (status == SL_OK) {
        status = sl_recogniser_finish(bench->recogniser, &whole, error);
    }
    if (status == SL_OK) {
        status = hear_live(bench->listener, &room, &live, error);
    }
    if (status == SL_OK) {
        count(&bench->as_whole, question, &whole);
        count(&bench->live, question, &live);
    }
    free(text);
    sl_heard_clear(&whole);
    sl_heard_clear(&live);
    sl_clip_clear(&room);
    return status;
}

static enum sl_status open_bench(struct bench *bench, struct sl_error *error)
{
    struct sl_recall_wish wish = {
        .routine = "decide-last", .car = "small-petrol", .settings = true};
    char *pronunciations = NULL;
    enum sl_status status = sl_recall_stock_load(&bench->stock, &wish, error);
    if (status == SL_OK) {
        status = sl_models_path("pronunciations.dict", &pronunciations, error);
    }
    struct sl_routine answers = {.phrasebook = bench->stock.book};
    struct sl_recogniser_paths paths = {.pronunciations = pronunciations};
    struct sl_listener_setup setup = {.paths = &paths};
    if (status == SL_OK) {
        status = sl_recogniser_new(&answers, &paths, NULL, &bench->recogniser, error);
    }
    if (status == SL_OK) {
        status = sl_listener_new(&answers, &setup, &bench->listener, error);
    }
    free(pronunciations);
    return status;
}

static void print(const char *name, const struct tally *tally)
{
    printf("%-16s %zu answers, %zu right as a whole; %zu settings: %zu right (%.3f), %zu wrong, "
           "%zu not heard, %zu unclear\n",
           name, tally->answers, tally->whole, tally->parts, tally->right,
           (double)tally->right / (double)tally->parts, tally->wrong, tally->unsaid,
           tally->unclear);
}

static enum sl_status try_voice(const char *voice, struct sl_error *error)
{
    static const char *const between[] = {", ", ". "};
    struct bench bench = {0};
    enum sl_status status = open_bench(&bench, error);
    for (size_t i = 0; i < bench.stock.n_questions && status == SL_OK; i++) {
        status = ask(&bench, &bench.stock.questions[i], voice, between[i % 2], error);
    }
    if (status == SL_OK) {
        printf("%s\n", voice);
        print("as a whole", &bench.as_whole);
        print("live", &bench.live);
    }
    sl_recogniser_free(bench.recogniser);
    sl_listener_free(bench.listener);
    sl_recall_stock_clear(&bench.stock);
    return status;
}

int main(int argc, char **argv)
{
    struct sl_error error = {0};
    enum sl_status status = SL_OK;
    if (argc < 2) {
        (void)fputs("usage: bench_recall VOICE...\n", stderr);
        return 2;
    }
    for (int i = 1; i < argc && status == SL_OK; i++) {
        status = try_voice(argv[i], &error);
    }
    if (status != SL_OK) {
        (void)fprintf(stderr, "bench_recall: %s\n",
                      error.what == NULL ? sl_status_name(status) : error.what);
    }
    sl_error_clear(&error);
    return status == SL_OK ? 0 : 1;
}
