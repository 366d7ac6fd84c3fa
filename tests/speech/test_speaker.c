/* Whoever speaks is got to know by what was surely heard, and forgotten with the sound. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "speech/decoder_speaker.h"
#include "speech/searches.h"

#include "speech/hand_book.h"
#include "speech/spoken.h"

#include <stdio.h>

static const char *const run[] = {"interior mirror, left mirror.", "signal left.",
                                  "slow down to ten.", "second gear, clutch up.", "clear, going."};
#define N_RUN (sizeof run / sizeof *run)

struct hall {
    struct sl_routine routine;
    char *pronunciations;
    struct sl_recogniser_settings settings;
    struct sl_searches searches;
    struct sl_decoder *decoder;
    struct sound sound;
    bool *speech; /* by frame: false in the middle of the pauses */
    size_t n_frames;
    struct sl_segments words;
};

#define SMALLER 1.15

static size_t smaller(size_t frame)
{
    return (size_t)((double)frame / SMALLER);
}

/* The phrases of the run, each in an island of its own. */
static void speak(struct hall *hall)
{
    size_t pauses[N_RUN][2] = {{0}};
    add_noise(&hall->sound, 0.3, 10);
    for (size_t i = 0; i < N_RUN; i++) {
        (void)say(&hall->sound, run[i]); /* ends with 0.7 s of pause */
        pauses[i][1] = hall->sound.n / SL_FRAME_SAMPLES - 20;
        pauses[i][0] = pauses[i][1] - 30;
    }
    make_smaller(&hall->sound, SMALLER);
    hall->n_frames = hall->sound.n / SL_FRAME_SAMPLES + 1;
    hall->speech = malloc(hall->n_frames * sizeof *hall->speech);
    assert_non_null(hall->speech);
    memset(hall->speech, true, hall->n_frames);
    for (size_t i = 0; i + 1 < N_RUN; i++) {
        memset(hall->speech + smaller(pauses[i][0]), false, smaller(pauses[i][1] - pauses[i][0]));
    }
}

static int set_up(void **state)
{
    static struct hall hall;
    hall = (struct hall){.routine = hand_routine(),
                         .pronunciations = hand_pronunciation_file("speaker.dict"),
                         .settings = sl_recogniser_defaults()};
    const struct sl_recogniser_paths paths = {.pronunciations = hall.pronunciations};
    assert_int_equal(
        sl_searches_make(&hall.routine.phrasebook, &paths, &hall.settings, &hall.searches, NULL),
        SL_OK);
    assert_int_equal(sl_decoder_new(&hall.searches.setup, &hall.decoder, NULL), SL_OK);
    speak(&hall);
    const struct sl_stretch stretch = {
        .samples = hall.sound.samples, .n_samples = hall.sound.n, .speech = hall.speech};
    assert_int_equal(sl_decoder_load(hall.decoder, &stretch, NULL), SL_OK);
    assert_int_equal(sl_decoder_run(hall.decoder, &hall.words, NULL), SL_OK);
    *state = &hall;
    return 0;
}

static int tear_down(void **state)
{
    struct hall *hall = *state;
    sl_segments_clear(&hall->words);
    free(hall->speech);
    free(hall->sound.samples);
    sl_decoder_free(hall->decoder);
    sl_searches_clear(&hall->searches);
    (void)remove(hall->pronunciations);
    free(hall->pronunciations);
    hand_clear(&hall->routine);
    return 0;
}

static size_t count(const struct sl_segments *segments, enum sl_segment_kind kind)
{
    size_t n = 0;
    for (size_t i = 0; i < segments->count; i++) {
        n += segments->items[i].kind == kind;
    }
    return n;
}

static void copy(const struct sl_segments *from, struct sl_segments *to)
{
    *to = (struct sl_segments){.items = malloc(from->count * sizeof *to->items),
                               .count = from->count,
                               .room = from->count};
    assert_non_null(to->items);
    memcpy(to->items, from->items, from->count * sizeof *to->items);
}

static void assert_same_segment(const struct sl_segment *a, const struct sl_segment *b)
{
    assert_int_equal(a->kind, b->kind);
    assert_int_equal(a->arc, b->arc);
    assert_int_equal(a->start_frame, b->start_frame);
    assert_int_equal(a->n_frames, b->n_frames);
    assert_true(a->score == b->score);
}

static void assert_same_segments(const struct sl_segments *a, const struct sl_segments *b)
{
    assert_int_equal(a->count, b->count);
    for (size_t i = 0; i < a->count; i++) {
        assert_same_segment(&a->items[i], &b->items[i]);
    }
}

/* Adapts to words, those that are sure from this segment on. */
static bool adapt(struct hall *hall, size_t first_sure)
{
    bool *sure = calloc(hall->words.count, sizeof *sure);
    bool adapted = true;
    assert_non_null(sure);
    for (size_t i = first_sure; i < hall->words.count; i++) {
        sure[i] = hall->words.items[i].kind == SL_SEGMENT_WORD;
    }
    assert_int_equal(sl_decoder_adapt(hall->decoder, &hall->words, sure, &adapted, NULL), SL_OK);
    free(sure);
    return adapted;
}

/* What all words score together, in nats. */
static double words_score(const struct sl_segments *segments)
{
    double sum = 0;
    for (size_t i = 0; i < segments->count; i++) {
        sum += segments->items[i].kind == SL_SEGMENT_WORD ? segments->items[i].score : 0;
    }
    return sum;
}

static void the_run_is_heard_in_islands(void **state)
{
    const struct hall *hall = *state;
    assert_int_equal(count(&hall->words, SL_SEGMENT_GAP), N_RUN);
    assert_int_equal(count(&hall->words, SL_SEGMENT_WORD), 16);
}

static void searching_again_what_is_in_no_doubt_changes_nothing(void **state)
{
    struct hall *hall = *state;
    bool *frames = calloc(hall->n_frames, sizeof *frames);
    struct sl_segments again = {0};
    copy(&hall->words, &again);
    assert_int_equal(sl_decoder_run_again(hall->decoder, frames, &again, NULL), SL_OK);
    assert_same_segments(&again, &hall->words);
    /* One frame: its island is searched as before, and all of it is told. */
    frames[60] = true;
    assert_int_equal(sl_decoder_run_again(hall->decoder, frames, &again, NULL), SL_OK);
    assert_same_segments(&again, &hall->words);
    size_t n = 0;
    while (frames[n]) {
        assert_true(hall->speech[n]);
        n++;
    }
    assert_true(n > 100);
    assert_false(hall->speech[n]);
    for (; n < hall->n_frames; n++) {
        assert_false(frames[n]);
    }
    sl_segments_clear(&again);
    free(frames);
}

static void a_known_speaker_fits_better_where_it_is_searched_again(void **state)
{
    struct hall *hall = *state;
    bool *frames = calloc(hall->n_frames, sizeof *frames);
    struct sl_segments again = {0};
    copy(&hall->words, &again);
    assert_true(adapt(hall, 0));
    size_t last = hall->words.count - 2; /* of the last island, before its gap */
    frames[hall->words.items[last].start_frame] = true;
    assert_int_equal(sl_decoder_run_again(hall->decoder, frames, &again, NULL), SL_OK);
    size_t i = 0; /* up to the last island nothing changed */
    for (size_t gaps = 0; gaps + 1 < N_RUN; i++) {
        assert_same_segment(&again.items[i], &hall->words.items[i]);
        gaps += again.items[i].kind == SL_SEGMENT_GAP;
    }
    const struct sl_segments before = {.items = hall->words.items + i,
                                       .count = hall->words.count - i};
    const struct sl_segments after = {.items = again.items + i, .count = again.count - i};
    assert_int_equal(count(&after, SL_SEGMENT_WORD), 2); /* clear, going */
    assert_true(words_score(&after) > words_score(&before) + 10);
    sl_segments_clear(&again);
    free(frames);
}

static void the_speaker_is_forgotten_with_the_sound(void **state)
{
    struct hall *hall = *state;
    assert_true(adapt(hall, 0));
    const struct sl_stretch stretch = {
        .samples = hall->sound.samples, .n_samples = hall->sound.n, .speech = hall->speech};
    struct sl_segments anew = {0};
    assert_int_equal(sl_decoder_load(hall->decoder, &stretch, NULL), SL_OK);
    assert_int_equal(sl_decoder_run(hall->decoder, &anew, NULL), SL_OK);
    assert_same_segments(&anew, &hall->words);
    sl_segments_clear(&anew);
}

static void too_little_tells_nothing_of_a_speaker(void **state)
{
    struct hall *hall = *state;
    bool *frames = calloc(hall->n_frames, sizeof *frames);
    struct sl_segments again = {0};
    copy(&hall->words, &again);
    assert_false(adapt(hall, hall->words.count));     /* nothing is sure */
    assert_false(adapt(hall, hall->words.count - 4)); /* "clear, going", about a second */
    memset(frames, true, hall->n_frames);
    assert_int_equal(sl_decoder_run_again(hall->decoder, frames, &again, NULL), SL_OK);
    assert_same_segments(&again, &hall->words);
    sl_segments_clear(&again);
    free(frames);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(the_run_is_heard_in_islands, set_up, tear_down),
        cmocka_unit_test_setup_teardown(searching_again_what_is_in_no_doubt_changes_nothing, set_up,
                                        tear_down),
        cmocka_unit_test_setup_teardown(a_known_speaker_fits_better_where_it_is_searched_again,
                                        set_up, tear_down),
        cmocka_unit_test_setup_teardown(the_speaker_is_forgotten_with_the_sound, set_up, tear_down),
        cmocka_unit_test_setup_teardown(too_little_tells_nothing_of_a_speaker, set_up, tear_down),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
