/* The phrasebooks of the shipped routines: small graphs, and nothing in them that is not matched.
 */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "files/models.h"
#include "support/book.h"
#include "support/random.h"

static const char *const names[] = {"decide-last", "position-look"};

static struct sl_routine load(const char *name)
{
    struct sl_routine routine = {0};
    struct sl_error error = {0};
    if (sl_load_routine(name, &routine, &error) != SL_OK) {
        fail_msg("%s: %s", error.where, error.what);
    }
    return routine;
}

static void shipped_graphs_are_sound_and_small(void **state)
{
    (void)state;
    for (size_t i = 0; i < COUNT_OF(names); i++) {
        struct sl_routine routine = load(names[i]);
        const struct sl_graph *graph = &routine.phrasebook.graph;
        assert_graph_is_sound(&routine.phrasebook);
        print_message("%s: %zu phrases, %zu states, %zu arcs, %zu words\n", names[i],
                      routine.phrasebook.n_phrases, graph->n_states, graph->n_arcs, graph->n_words);
        assert_true(graph->n_arcs < 1500); /* the recogniser's time grows with it */
        sl_routine_clear(&routine);
    }
}

static void every_shipped_phrase_is_matched_whole(void **state)
{
    (void)state;
    for (size_t i = 0; i < COUNT_OF(names); i++) {
        struct sl_routine routine = load(names[i]);
        uint64_t random = 1;
        for (int j = 0; j < 2000; j++) {
            assert_a_path_is_matched_whole(&routine.phrasebook, &random);
        }
        sl_routine_clear(&routine);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(shipped_graphs_are_sound_and_small),
        cmocka_unit_test(every_shipped_phrase_is_matched_whole),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
