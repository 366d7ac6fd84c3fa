#include "speech/searches.h"

#include "speech/pronunciation.h"

enum sl_status sl_searches_make_spelt(const struct sl_graph *graph,
                                      const struct sl_pronunciations *spelling,
                                      const struct sl_recogniser_settings *settings,
                                      struct sl_searches *searches, struct sl_error *error)
{
    searches->setup =
        (struct sl_decoder_setup){.grammar = &searches->grammar, .settings = settings};
    return sl_grammar_make(graph, spelling, settings, &searches->grammar, error);
}

enum sl_status sl_searches_make(const struct sl_phrasebook *book,
                                const struct sl_recogniser_paths *paths,
                                const struct sl_recogniser_settings *settings,
                                struct sl_searches *searches, struct sl_error *error)
{
    struct sl_pronunciations pronunciations = {0};
    enum sl_status status = sl_pronunciations_load(paths->pronunciations, &pronunciations, error);
    if (status == SL_OK) {
        status = sl_searches_make_spelt(&book->graph, &pronunciations, settings, searches, error);
    }
    searches->setup.acoustic_model = paths->acoustic_model;
    searches->setup.voice = paths->own_voice;
    sl_pronunciations_clear(&pronunciations);
    return status;
}

void sl_searches_clear(struct sl_searches *searches)
{
    if (searches == NULL) {
        return;
    }
    sl_grammar_clear(&searches->grammar);
    *searches = (struct sl_searches){0};
}
