#include "speech/searches.h"

#include "speech/pronunciation.h"

enum sl_status sl_searches_make(const struct sl_phrasebook *book,
                                const struct sl_recogniser_paths *paths,
                                const struct sl_recogniser_settings *settings,
                                struct sl_searches *searches, struct sl_error *error)
{
    struct sl_pronunciations pronunciations = {0};
    enum sl_status status = sl_pronunciations_load(paths->pronunciations, &pronunciations, error);
    if (status == SL_OK) {
        status =
            sl_grammar_make(&book->graph, &pronunciations, settings, &searches->grammar, error);
    }
    searches->setup = (struct sl_decoder_setup){.acoustic_model = paths->acoustic_model,
                                                .grammar = &searches->grammar,
                                                .settings = settings};
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
