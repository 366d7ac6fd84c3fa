#include "practice/phrases_try.h"

#include "core/str.h"
#include "core/words.h"
#include "sound/sound_reader.h"

#include <math.h>
#include <stdlib.h>

#define NEAREST 3
#define NEAREST_WITHIN (5 * SL_PHONE_WHOLE)
#define CHUNK_SAMPLES 16000

static enum sl_status add_match(const struct sl_routine *routine, const struct sl_words *words,
                                const struct sl_text_match *match, struct sl_heard_list *heard,
                                struct sl_error *error)
{
    struct sl_str text = {0};
    for (size_t i = 0; i < match->n_words; i++) {
        sl_str_addf(&text, "%s%s", i == 0 ? "" : " ", words->items[match->first_word + i]);
    }
    char *taken = sl_str_take(&text);
    const struct sl_heard item = {.phase = routine->phrasebook.phrases[match->phrase].phase,
                                  .text = taken,
                                  .start_s = NAN,
                                  .end_s = NAN,
                                  .confidence = 1,
                                  .settings = match->settings};
    enum sl_status status =
        taken == NULL ? sl_fail_memory(error) : sl_heard_add(heard, &item, error);
    free(taken);
    return status;
}

/* The words that nobody can pronounce yet. */
static enum sl_status note_unknown(const struct sl_pronunciations *pronunciations,
                                   const struct sl_words *words, struct sl_words *unknown,
                                   struct sl_error *error)
{
    for (size_t i = 0; i < words->count; i++) {
        size_t first = 0;
        bool known = sl_pronunciations_find(pronunciations, words->items[i], &first) > 0;
        if (!known && !sl_words_split(words->items[i], unknown)) {
            return sl_fail_memory(error);
        }
    }
    return SL_OK;
}

static enum sl_status find_nearest(const struct sl_routine *routine,
                                   const struct sl_pronunciations *pronunciations,
                                   const struct sl_words *words, struct sl_alikes *nearest,
                                   struct sl_error *error)
{
    const struct sl_alike_text text = {.words = (const char *const *)words->items,
                                       .n_words = words->count,
                                       .most = NEAREST,
                                       .limit = NEAREST_WITHIN};
    return words->count == 0
               ? SL_OK
               : sl_alike_nearest(&routine->phrasebook, pronunciations, &text, nearest, error);
}

enum sl_status sl_phrases_try_text(const struct sl_routine *routine,
                                   const struct sl_pronunciations *pronunciations, const char *text,
                                   struct sl_phrases_tried *tried, struct sl_error *error)
{
    struct sl_text_match *matches = NULL;
    size_t n_matches = 0;
    struct sl_words words = {0};
    enum sl_status status =
        sl_phrasebook_match(&routine->phrasebook, text, &matches, &n_matches, error);
    if (status == SL_OK && !sl_words_split(text, &words)) {
        status = sl_fail_memory(error);
    }
    for (size_t i = 0; i < n_matches && status == SL_OK; i++) {
        status = add_match(routine, &words, &matches[i], &tried->heard, error);
    }
    if (status == SL_OK && n_matches == 0) {
        status = note_unknown(pronunciations, &words, &tried->unknown, error);
        status = status == SL_OK
                     ? find_nearest(routine, pronunciations, &words, &tried->nearest, error)
                     : status;
    }
    free(matches);
    sl_words_clear(&words);
    return status;
}

enum sl_status sl_phrases_try_sound(struct sl_recogniser *recogniser, const char *path,
                                    struct sl_phrases_tried *tried, struct sl_error *error)
{
    struct sl_sound_reader *reader = NULL;
    int16_t *samples = malloc(CHUNK_SAMPLES * sizeof *samples);
    enum sl_status status = samples == NULL ? sl_fail_memory(error) : SL_OK;
    if (status == SL_OK) {
        status = sl_sound_open(path, SL_SPEECH_RATE_HZ, &reader, error);
    }
    for (size_t n = 1; status == SL_OK && n > 0;) {
        status = sl_sound_read(reader, samples, CHUNK_SAMPLES, &n, error);
        if (status == SL_OK && n > 0) {
            status = sl_recogniser_feed(recogniser, samples, n, &tried->heard, error);
        }
    }
    if (status == SL_OK) {
        status = sl_recogniser_finish(recogniser, &tried->heard, error);
    }
    if (reader != NULL) {
        sl_sound_close(reader);
    }
    free(samples);
    return status;
}

void sl_phrases_tried_clear(struct sl_phrases_tried *tried)
{
    sl_heard_clear(&tried->heard);
    sl_alikes_clear(&tried->nearest);
    sl_words_clear(&tried->unknown);
}
