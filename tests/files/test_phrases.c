/*
 * The shipped phrasebooks: what people say, and what it must be taken for. Worked by hand from the
 * words; common practice among learners, no source.
 */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "core/str.h"
#include "files/models.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define GRAPH_ARCS_MAX 1200

/* `heard` is one "phase: settings" for each phrase, with "; " between, or "" for nothing. */
struct spoken {
    const char *text;
    const char *heard;
};

static const struct spoken decide_last[] = {
    /* mirrors */
    {"interior mirror", "mirrors: interior mirror"},
    {"centre mirror", "mirrors: interior mirror"},
    {"inside mirror", "mirrors: interior mirror"},
    {"interior", "mirrors: interior mirror"},
    {"rear view", "mirrors: interior mirror"},
    {"Rear-view", "mirrors: interior mirror"},
    {"rear-view mirror", "mirrors: interior mirror"},
    {"check the rear view mirror", "mirrors: interior mirror"},
    {"look in the interior mirror", "mirrors: interior mirror"},
    {"left mirror", "mirrors: left mirror"},
    {"right mirror", "mirrors: right mirror"},
    {"left door mirror", "mirrors: left mirror"},
    {"right door mirror", "mirrors: right mirror"},
    {"left wing mirror", "mirrors: left mirror"},
    {"right wing mirror", "mirrors: right mirror"},
    {"check my right door mirror", "mirrors: right mirror"},
    {"check my left door mirror", "mirrors: left mirror"},
    {"checking the left side mirror", "mirrors: left mirror"},
    {"checking the right side mirror", "mirrors: right mirror"},
    {"centre and left mirror", "mirrors: interior and left mirror"},
    {"centre and right mirror", "mirrors: interior and right mirror"},
    {"Interior and left mirrors.", "mirrors: interior and left mirror"},
    {"interior and right mirrors", "mirrors: interior and right mirror"},
    {"interior mirror, left door mirror", "mirrors: interior and left mirror"},
    {"interior mirror, right door mirror", "mirrors: interior and right mirror"},
    {"interior mirror then the left mirror", "mirrors: interior and left mirror"},
    {"interior mirror then the right mirror", "mirrors: interior and right mirror"},
    {"interior and left", "mirrors: interior and left mirror"},
    {"interior and right", "mirrors: interior and right mirror"},
    {"check my rear view mirror and my left wing mirror", "mirrors: interior and left mirror"},
    {"check my rear view mirror and my right wing mirror", "mirrors: interior and right mirror"},
    {"left mirror, interior mirror", "mirrors: left and interior mirror"},
    {"right mirror then interior", "mirrors: right and interior mirror"},
    {"left door mirror and interior mirror", "mirrors: left and interior mirror"},
    {"right, interior mirror", "filler:; mirrors: interior mirror"},
    {"mirrors, interior and right", "mirrors: interior and right mirror"},
    {"mirrors", "mirrors:"},
    {"check mirrors", "mirrors:"},
    {"check my mirrors", "mirrors:"},
    {"check all my mirrors", "mirrors: interior, left and right mirror"},
    /* signal */
    {"signal left", "signal: signal left"},
    {"signal right", "signal: signal right"},
    {"signal to the left", "signal: signal left"},
    {"signal to the right", "signal: signal right"},
    {"signalling left", "signal: signal left"},
    {"signalling right", "signal: signal right"},
    {"indicate left", "signal: signal left"},
    {"indicate right", "signal: signal right"},
    {"indicating left", "signal: signal left"},
    {"indicating to the right", "signal: signal right"},
    {"left indicator on", "signal: signal left"},
    {"right indicator on", "signal: signal right"},
    {"left signal", "signal: signal left"},
    {"right signal", "signal: signal right"},
    {"put the left indicator on", "signal: signal left"},
    {"put my right indicator on", "signal: signal right"},
    {"indicator on to the left", "signal: signal left"},
    {"indicator on to the right", "signal: signal right"},
    {"signal", "signal:"},
    {"indicator on", "signal:"},
    {"no signal", "signal: no signal"},
    {"no signal needed", "signal: no signal"},
    {"no indicator required", "signal: no signal"},
    {"no signal, it would mislead", "signal: no signal"},
    {"no signal because it could confuse people", "signal: no signal"},
    {"no signal here, that might be misleading", "signal: no signal"},
    {"a signal would mislead", "signal: no signal"},
    {"no need to signal", "signal: no signal"},
    {"no need for a signal", "signal: no signal"},
    {"not signalling", "signal: no signal"},
    {"I don't need to indicate", "signal: no signal"},
    {"no, signal left", "signal: signal left"},
    {"no, signal right", "signal: signal right"},
    /* speed */
    {"brake gently down to ten", "speed: 10 mph"},
    {"brake gently down to five", "speed: 5 mph"},
    {"slow to five miles an hour", "speed: 5 mph"},
    {"slow to ten miles an hour", "speed: 10 mph"},
    {"slow down to fifteen", "speed: 15 mph"},
    {"slow down to twenty", "speed: 20 mph"},
    {"slowing down to about ten miles per hour", "speed: 10 mph"},
    {"slowing down to about five miles per hour", "speed: 5 mph"},
    {"gently braking down to ten", "speed: 10 mph"},
    {"gently braking down to fifteen", "speed: 15 mph"},
    {"reduce my speed to ten", "speed: 10 mph"},
    {"reducing speed down to five", "speed: 5 mph"},
    {"speed down to ten", "speed: 10 mph"},
    {"speed five", "speed: 5 mph"},
    {"speed ten", "speed: 10 mph"},
    {"bring it down to ten miles an hour", "speed: 10 mph"},
    {"coming down to twenty", "speed: 20 mph"},
    {"easing down to five", "speed: 5 mph"},
    {"down to ten", "speed: 10 mph"},
    {"down to five", "speed: 5 mph"},
    {"ten miles an hour", "speed: 10 mph"},
    {"five miles an hour", "speed: 5 mph"},
    {"under five miles an hour", "speed: 5 mph"},
    {"walking pace", "speed: 5 mph"},
    {"slow walking pace", "speed: 5 mph"},
    {"slow to a walking pace", "speed: 5 mph"},
    {"down to a crawl", "speed: 5 mph"},
    {"around a slow crawl", "speed: 5 mph"},
    {"slow to a slow walking pace", "speed: 5 mph"},
    {"slow to crawl", "speed:"},
    {"slow to a a crawl", "speed:; speed: 5 mph"},
    {"brake to walking speed", "speed: 5 mph"},
    {"off the gas", "speed:"},
    {"foot off the accelerator", "speed:"},
    {"slowing down", "speed:"},
    {"brake gently", "speed:"},
    {"gentle braking", "speed:"},
    {"off the gas, braking down to ten", "speed:; speed: 10 mph"},
    /* gear */
    {"first gear", "gear: first gear"},
    {"second gear", "gear: second gear"},
    {"third gear", "gear: third gear"},
    {"fourth gear", "gear: fourth gear"},
    {"fifth gear", "gear: fifth gear"},
    {"into first", "gear: first gear"},
    {"into second", "gear: second gear"},
    {"into third gear", "gear: third gear"},
    {"change down to second", "gear: second gear"},
    {"change down to first", "gear: first gear"},
    {"change down to third", "gear: third gear"},
    {"change up to third", "gear: third gear"},
    {"changing into second gear", "gear: second gear"},
    {"select first gear", "gear: first gear"},
    {"selecting second", "gear: second gear"},
    {"change down", "gear:"},
    {"second", "gear: second gear"},
    {"clutch up", "gear: clutch up"},
    {"clutch down", "gear: clutch down"},
    {"clutch stays up", "gear: clutch up"},
    {"clutch stays down", "gear: clutch down"},
    {"push the clutch in", "gear: clutch down"},
    {"let the clutch out", "gear: clutch up"},
    {"keep the clutch down", "gear: clutch down"},
    {"keep the clutch up", "gear: clutch up"},
    {"bring the clutch up", "gear: clutch up"},
    {"hold the clutch down", "gear: clutch down"},
    {"off the clutch", "gear: clutch up"},
    {"second gear, clutch up", "gear: second gear, clutch up"},
    {"second gear, clutch down", "gear: second gear, clutch down"},
    {"first gear, clutch down", "gear: first gear, clutch down"},
    {"first gear, clutch up", "gear: first gear, clutch up"},
    {"into first with the clutch down", "gear: first gear, clutch down"},
    {"into second and the clutch comes up", "gear: second gear, clutch up"},
    {"first, no, second gear", "gear: first gear; correction:; gear: second gear"},
    {"second, sorry, first gear", "gear: second gear; correction:; gear: first gear"},
    {"third gear, I mean second gear", "gear: third gear; correction:; gear: second gear"},
    {"left mirror, no, right mirror", "mirrors: left mirror; correction:; mirrors: right mirror"},
    {"down to five, actually down to ten", "speed: 5 mph; correction:; speed: 10 mph"},
    /* decide */
    {"looks clear, going", "decide: go"},
    {"looks clear, stopping", "decide: go; decide: wait"},
    {"not clear, stopping", "decide: wait"},
    {"not clear, going", "decide: wait; decide: go"},
    {"clear, go", "decide: go"},
    {"clear, wait", "decide: wait"},
    {"all clear", "decide: go"},
    {"it's clear, I'm going", "decide: go"},
    {"it's not clear, I'm waiting", "decide: wait"},
    {"it's not clear", "decide: wait"},
    {"not safe to go", "decide: wait"},
    {"safe to go", "decide: go"},
    {"go", "decide: go"},
    {"wait", "decide: wait"},
    {"going now", "decide: go"},
    {"waiting here", "decide: wait"},
    {"stop at the line", "decide: wait"},
    {"stopping at the stop line", "decide: wait"},
    {"green, going", "decide: go"},
    {"green, stopping", "decide: wait"},
    {"red, stopping", "decide: wait"},
    {"red, going", "decide: go"},
    {"red light, waiting", "decide: wait"},
    {"the lights are green, carrying on", "decide: go"},
    {"give way", "decide: wait"},
    {"giving way", "decide: wait"},
    {"someone coming, waiting", "decide: wait"},
    {"nothing coming, so I'm going", "decide: go"},
    {"a car coming", "decide: wait"},
    {"emerging", "decide: go"},
    {"pulling out", "decide: go"},
    {"can't see, stopping", "decide: wait"},
    {"hold back", "decide: wait"},
    /* what is no step */
    {"okay", "filler:"},
    {"right then", "filler:"},
    {"and now", "filler:"},
    {"I'm turning left", "filler:"},
    {"I'm turning right", "filler:"},
    {"looking both ways", "filler:"},
    {"approaching the junction", "filler:"},
    {"no", "correction:"},
    {"sorry", "correction:"},
    {"right", "filler:"},
    {"left", ""},
    {"five", ""},
    {"the weather is lovely today", ""},
    {"", ""},
    /* a whole run */
    {"Okay, interior and left mirror, signal left, and now slow down to ten, second gear, clutch "
     "up, looks clear, going.",
     "filler:; mirrors: interior and left mirror; signal: signal left; filler:; speed: 10 mph; "
     "gear: second gear, clutch up; decide: go"},
};

static const struct spoken position_look[] = {
    {"interior and right mirror", "mirrors: interior and right mirror"},
    {"signal right", "signal: signal right"},
    {"position to the right", "position: position right"},
    {"position to the left", "position: position left"},
    {"keep left", "position: position left"},
    {"keep to the right", "position: position right"},
    {"keeping well over to the left", "position: position left"},
    {"stay in the middle", "position: position ahead"},
    {"near the kerb", "position: position left"},
    {"near the centre line", "position: position right"},
    {"normal position", "position: position ahead"},
    {"right hand lane", "position: position right"},
    {"left hand lane", "position: position left"},
    {"slow down to ten", "speed: 10 mph"},
    {"second gear, clutch up", "speed: second gear, clutch up"},
    {"look both ways", "look:"},
    {"looking right and left", "look:"},
    {"looking left and right", "look:"},
    {"looks clear, going", "look: go"},
    {"not clear, waiting", "look: wait"},
};

static void add_match(struct sl_str *out, const struct sl_routine *routine,
                      const struct sl_text_match *match)
{
    size_t phase = routine->phrasebook.phrases[match->phrase].phase;
    char *words = sl_settings_words(&match->settings);
    const char *id = phase == SL_PHRASE_FILLER       ? "filler"
                     : phase == SL_PHRASE_CORRECTION ? "correction"
                                                     : routine->phases[phase].id;
    sl_str_addf(out, "%s%s:%s%s", out->length == 0 ? "" : "; ", id, words[0] == '\0' ? "" : " ",
                words);
    free(words);
}

static size_t count_wrong(const char *name, const struct spoken *rows, size_t n_rows)
{
    struct sl_routine routine = {0};
    size_t wrong = 0;
    assert_int_equal(sl_load_routine(name, &routine, NULL), SL_OK);
    for (size_t i = 0; i < n_rows; i++) {
        struct sl_text_match *matches = NULL;
        size_t n_matches = 0;
        struct sl_str heard = {0};
        assert_int_equal(
            sl_phrasebook_match(&routine.phrasebook, rows[i].text, &matches, &n_matches, NULL),
            SL_OK);
        for (size_t m = 0; m < n_matches; m++) {
            add_match(&heard, &routine, &matches[m]);
        }
        if (strcmp(sl_str_text(&heard), rows[i].heard) != 0) {
            print_error("%s, '%s': '%s' instead of '%s'\n", name, rows[i].text, sl_str_text(&heard),
                        rows[i].heard);
            wrong++;
        }
        sl_str_clear(&heard);
        free(matches);
    }
    sl_routine_clear(&routine);
    return wrong;
}

static void decide_last_takes_what_learners_say(void **state)
{
    (void)state;
    assert_int_equal(
        count_wrong("decide-last", decide_last, sizeof(decide_last) / sizeof(decide_last[0])), 0);
}

static void position_look_takes_what_learners_say(void **state)
{
    (void)state;
    assert_int_equal(count_wrong("position-look", position_look,
                                 sizeof(position_look) / sizeof(position_look[0])),
                     0);
}

/* Swaps every word of the text by its twin, so that "left" becomes "right" and back. */
static char *with_twin(const char *text, const char *word, const char *twin)
{
    struct sl_str out = {0};
    for (const char *at = text; *at != '\0';) {
        size_t length = strcspn(at, " ");
        bool same = length == strlen(word) && strncmp(at, word, length) == 0;
        sl_str_add_bytes(&out, same ? twin : at, same ? strlen(twin) : length);
        at += length;
        size_t blanks = strspn(at, " ");
        sl_str_add_bytes(&out, at, blanks);
        at += blanks;
    }
    return sl_str_take(&out);
}

/* True when `twin` is, like `text`, one phrase of as many words in the same phase, with other
 * settings where the phase has some. */
static bool is_twin(const struct sl_routine *routine, const char *text, const char *twin)
{
    const struct sl_phrasebook *book = &routine->phrasebook;
    struct sl_text_match *was = NULL;
    struct sl_text_match *is = NULL;
    size_t n_was = 0;
    size_t n_is = 0;
    assert_int_equal(sl_phrasebook_match(book, text, &was, &n_was, NULL), SL_OK);
    assert_int_equal(sl_phrasebook_match(book, twin, &is, &n_is, NULL), SL_OK);
    bool same = n_was == 1 && n_is == 1 && was->n_words == is->n_words &&
                book->phrases[was->phrase].phase == book->phrases[is->phrase].phase;
    if (same && book->phrases[was->phrase].phase < routine->n_phases) {
        same = !sl_settings_equal(&was->settings, &is->settings);
    }
    free(was);
    free(is);
    return same;
}

/* The recogniser never knows the right answer: what can be said with a word can be said with the
 * wrong one. */
static void every_word_can_be_its_wrong_twin(void **state)
{
    static const struct {
        const char *word, *twin;
        const char *only_with; /* "slow down" has no twin, "clutch down" has */
    } twins[] = {
        {"left", "right", ""},       {"first", "second", ""},    {"first", "third", ""},
        {"first", "fourth", "gear"}, {"first", "fifth", "gear"}, {"second", "first", ""},
        {"five", "ten", ""},         {"five", "fifteen", ""},    {"five", "twenty", ""},
        {"up", "down", "clutch"},    {"go", "wait", ""},         {"go", "stop", ""},
        {"going", "waiting", ""},    {"going", "stopping", ""},
    };
    static const char *const says[] = {"interior and left mirror",
                                       "check my left door mirror",
                                       "left mirror then interior",
                                       "signal left",
                                       "indicate to the left",
                                       "left indicator on",
                                       "put the left indicator on",
                                       "no signal left",
                                       "slow right down to five",
                                       "speed five",
                                       "down to five",
                                       "about five miles an hour",
                                       "brake gently to five miles per hour",
                                       "into first",
                                       "first gear",
                                       "change down to first gear",
                                       "first",
                                       "first gear with the clutch up",
                                       "clutch stays up",
                                       "keep the clutch up",
                                       "into second and the clutch is up",
                                       "going now",
                                       "go",
                                       "i'm turning left",
                                       "looking left"};
    struct sl_routine routine = {0};
    size_t tried = 0;
    size_t wrong = 0;
    (void)state;
    assert_int_equal(sl_load_routine("decide-last", &routine, NULL), SL_OK);
    for (size_t i = 0; i < sizeof(says) / sizeof(says[0]) * sizeof(twins) / sizeof(twins[0]); i++) {
        const char *text = says[i / (sizeof(twins) / sizeof(twins[0]))];
        size_t t = i % (sizeof(twins) / sizeof(twins[0]));
        char *twin = with_twin(text, twins[t].word, twins[t].twin);
        if (strcmp(text, twin) != 0 && strstr(text, twins[t].only_with) != NULL) {
            tried++;
            if (!is_twin(&routine, text, twin)) {
                print_error("'%s' is one phrase, its twin '%s' is not\n", text, twin);
                wrong++;
            }
        }
        free(twin);
    }
    sl_routine_clear(&routine);
    assert_int_equal(wrong, 0);
    assert_int_equal(tried, 50); /* that many of them meet */
}

static void graphs_stay_small(void **state)
{
    static const char *const names[] = {"decide-last", "position-look"};
    (void)state;
    for (size_t i = 0; i < 2; i++) {
        struct sl_routine routine = {0};
        assert_int_equal(sl_load_routine(names[i], &routine, NULL), SL_OK);
        assert_in_range(routine.phrasebook.graph.n_arcs, 100, GRAPH_ARCS_MAX);
        sl_routine_clear(&routine);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(decide_last_takes_what_learners_say),
        cmocka_unit_test(position_look_takes_what_learners_say),
        cmocka_unit_test(every_word_can_be_its_wrong_twin),
        cmocka_unit_test(graphs_stay_small),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
