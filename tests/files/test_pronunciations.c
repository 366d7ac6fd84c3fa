/*
 * The shipped pronunciations against the phrasebooks and against an outside dictionary.
 */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "core/str.h"
#include "files/models.h"
#include "files/path.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define CMUDICT "/usr/share/pocketsphinx/model/en-us/cmudict-en-us.dict"

/* True when the dictionary has the line, a blank after the word. */
static bool has_word(const char *dictionary, const char *word)
{
    size_t length = strlen(word);
    for (const char *at = dictionary; at != NULL && *at != '\0'; at = strchr(at, '\n')) {
        at += *at == '\n' ? 1 : 0;
        if (strncmp(at, word, length) == 0 && at[length] == ' ') {
            return true;
        }
    }
    return false;
}

static void every_word_of_the_phrasebooks_has_a_pronunciation(void **state)
{
    static const char *const names[] = {"decide-last", "position-look"};
    struct sl_str dictionary = {0};
    char *path = NULL;
    (void)state;
    assert_int_equal(sl_models_path("pronunciations.dict", &path, NULL), SL_OK);
    assert_int_equal(sl_read_text_file(path, (size_t)1 << 20, &dictionary, NULL), SL_OK);
    for (size_t n = 0; n < 2; n++) {
        struct sl_routine routine = {0};
        assert_int_equal(sl_load_routine(names[n], &routine, NULL), SL_OK);
        for (size_t i = 0; i < routine.phrasebook.graph.n_words; i++) {
            if (!has_word(sl_str_text(&dictionary), routine.phrasebook.graph.words[i])) {
                fail_msg("'%s' has no pronunciation", routine.phrasebook.graph.words[i]);
            }
        }
        sl_routine_clear(&routine);
    }
    sl_str_clear(&dictionary);
    free(path);
}

/* Adds a tab for every line of `text` that says `word`, in the form of the CMU dictionary
 * ("word(2) PHONES"); the pronunciation alone goes into *out, each on a line. */
static void add_variants(struct sl_str *out, const char *text, const char *word)
{
    size_t length = strlen(word);
    for (const char *at = text; at != NULL && *at != '\0'; at = strchr(at, '\n')) {
        at += *at == '\n' ? 1 : 0;
        if (strncmp(at, word, length) != 0 || (at[length] != ' ' && at[length] != '(')) {
            continue;
        }
        const char *phones = strchr(at, ' ') + 1;
        sl_str_addf(out, "\n%.*s\n", (int)strcspn(phones, "\n"), phones);
    }
}

/* Outside figure: the Carnegie Mellon pronouncing dictionary as Debian's pocketsphinx-en-us ships
 * it. Each word that is in it must have one of its pronunciations among ours. */
static void american_pronunciations_agree_with_the_cmu_dictionary(void **state)
{
    struct sl_str ours = {0};
    struct sl_str cmu = {0};
    struct sl_routine routine = {0};
    size_t compared = 0;
    (void)state;
    if (sl_read_text_file(CMUDICT, (size_t)64 << 20, &cmu, NULL) != SL_OK) {
        sl_str_clear(&cmu);
        skip();
    }
    assert_int_equal(sl_read_text_file(SL_SOURCE_DIR "/models/pronunciations.dict", (size_t)1 << 20,
                                       &ours, NULL),
                     SL_OK);
    assert_int_equal(sl_load_routine("decide-last", &routine, NULL), SL_OK);
    for (size_t i = 0; i < routine.phrasebook.graph.n_words; i++) {
        const char *word = routine.phrasebook.graph.words[i];
        struct sl_str theirs = {0};
        struct sl_str mine = {0};
        bool agree = false;
        add_variants(&theirs, sl_str_text(&cmu), word);
        add_variants(&mine, sl_str_text(&ours), word);
        for (const char *at = theirs.text; at != NULL && *at != '\0'; at = strchr(at + 1, '\n')) {
            char *line = sl_strf("\n%.*s\n", (int)strcspn(at + 1, "\n"), at + 1);
            agree = agree || (line[1] != '\n' && strstr(sl_str_text(&mine), line) != NULL);
            free(line);
        }
        if (theirs.length > 0 && !agree) {
            fail_msg("'%s' is said otherwise in the CMU dictionary", word);
        }
        compared += theirs.length > 0 ? 1 : 0;
        sl_str_clear(&theirs);
        sl_str_clear(&mine);
    }
    assert_true(compared > 180);
    sl_routine_clear(&routine);
    sl_str_clear(&ours);
    sl_str_clear(&cmu);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_word_of_the_phrasebooks_has_a_pronunciation),
        cmocka_unit_test(american_pronunciations_agree_with_the_cmu_dictionary),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
