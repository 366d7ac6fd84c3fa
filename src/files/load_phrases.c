/* The phrases of a routine file. */
#include "files/load_routine.h"

#include "core/recall.h"
#include "core/str.h"
#include "files/read_settings.h"

#include <stdlib.h>

/* Where a phrase stands in the file. */
struct place {
    const struct sl_yaml_node *node;
};

/* While the list grows: its phrases and, in the same order, their places. */
struct phrase_list {
    struct sl_phrasebook *book;
    struct place *places;
    size_t room;
    size_t places_room;
};

static const char pattern_help[] =
    "one pattern in quotes after the dash, or {say: \"...\", means: {...}}";

/* `node` is the pattern, phrase the rest. */
static void add_phrase(struct sl_reader *reader, struct phrase_list *list,
                       const struct sl_yaml_node *node, const struct sl_phrase *phrase)
{
    struct sl_phrasebook *book = list->book;
    if (reader->status != SL_OK) {
        return;
    }
    void *phrases = sl_grow(book->phrases, book->n_phrases, &list->room, sizeof(*book->phrases));
    if (phrases != NULL) {
        book->phrases = phrases;
    }
    void *places =
        sl_grow(list->places, book->n_phrases, &list->places_room, sizeof(*list->places));
    if (places != NULL) {
        list->places = places;
    }
    char *pattern = sl_strdup(node->text);
    if (phrases == NULL || places == NULL || pattern == NULL) {
        free(pattern);
        sl_refuse_memory(reader);
        return;
    }
    list->places[book->n_phrases].node = node;
    book->phrases[book->n_phrases] = *phrase;
    book->phrases[book->n_phrases].pattern = pattern;
    book->phrases[book->n_phrases].line = node->line;
    book->n_phrases++;
}

/* "a pattern" or {say: "a pattern", means: {...}}. */
static void read_phrase(struct sl_reader *reader, const struct sl_yaml_node *item, size_t phase,
                        struct phrase_list *list)
{
    static const char *const keys[] = {"say", "means", NULL};
    struct sl_phrase phrase = {.phase = phase};
    const struct sl_yaml_node *say = item;
    if (item->type == SL_YAML_LIST) {
        sl_is_map(reader, item, pattern_help);
        return;
    }
    if (item->type == SL_YAML_MAP) {
        sl_only_keys(reader, item, keys);
        say = sl_need(reader, item, "say", "\"a pattern\"");
        sl_read_settings(reader, sl_need(reader, item, "means", "{gear: 2}"), &phrase.settings);
    }
    if (sl_text_of(reader, say) != NULL) {
        add_phrase(reader, list, say, &phrase);
    }
}

static void read_phrase_list(struct sl_reader *reader, const struct sl_yaml_node *node,
                             size_t phase, struct phrase_list *list)
{
    if (!sl_is_list(reader, node, "the patterns, each after a dash")) {
        return;
    }
    if (node->first == NULL) {
        sl_refuse(reader, node, "write at least one pattern", "the list has no phrase");
    }
    for (const struct sl_yaml_node *item = node->first; item != NULL; item = item->next) {
        read_phrase(reader, item, phase, list);
    }
}

/* A phrase that means what its phase does not carry would be heard and then thrown away. */
static void check_carried(struct sl_reader *reader, const struct phrase_list *list,
                          const struct sl_routine *routine)
{
    for (size_t i = 0; i < list->book->n_phrases && list->places != NULL; i++) {
        const struct sl_phrase *phrase = &list->book->phrases[i];
        unsigned named = sl_settings_named(&phrase->settings);
        unsigned carries =
            phrase->phase < routine->n_phases ? routine->phases[phrase->phase].carries : 0;
        unsigned odd = named & ~carries;
        if (odd != 0) {
            const char *key = sl_setting_key((enum sl_setting)(odd & (~odd + 1U)));
            sl_refuse(reader, list->places[i].node,
                      "add it to 'carries' of the phase or leave it out",
                      "the phrase means %s, which its phase does not carry", key);
        }
    }
}

static void read_say(struct sl_reader *reader, const struct sl_yaml_node *map,
                     const struct sl_routine *routine, struct phrase_list *list)
{
    const char *keys[SL_PHASE_MAX + 1] = {NULL};
    for (size_t i = 0; i < routine->n_phases; i++) {
        keys[i] = routine->phases[i].id;
    }
    if (!sl_is_map(reader, map, "the phases' ids with a list of phrases each")) {
        return;
    }
    sl_only_keys(reader, map, keys);
    for (size_t i = 0; i < routine->n_phases; i++) {
        read_phrase_list(reader, sl_need(reader, map, keys[i], "[a phrase, another phrase]"), i,
                         list);
    }
}

static void read_slot(struct sl_reader *reader, const struct sl_yaml_node *map,
                      struct sl_slot *slot)
{
    if (!sl_is_map(reader, map, "'word: {gear: 1}' lines below the slot's name")) {
        return;
    }
    size_t count = sl_yaml_count(map);
    slot->name = sl_strdup(map->key);
    slot->values = calloc(count == 0 ? 1 : count, sizeof(*slot->values));
    if (slot->name == NULL || slot->values == NULL) {
        sl_refuse_memory(reader);
        return;
    }
    for (const struct sl_yaml_node *value = map->first; value != NULL; value = value->next) {
        struct sl_slot_value *to = &slot->values[slot->n_values++];
        to->words = sl_strdup(value->key);
        if (to->words == NULL) {
            sl_refuse_memory(reader);
            return;
        }
        sl_read_settings(reader, value, &to->settings);
    }
}

static void read_slots(struct sl_reader *reader, const struct sl_yaml_node *map,
                       struct sl_phrasebook *book)
{
    if (!sl_is_map(reader, map, "the slots' names with their words")) {
        return;
    }
    book->slots = calloc(sl_yaml_count(map) + 1, sizeof(*book->slots));
    if (book->slots == NULL) {
        sl_refuse_memory(reader);
        return;
    }
    for (const struct sl_yaml_node *slot = map->first; slot != NULL; slot = slot->next) {
        read_slot(reader, slot, &book->slots[book->n_slots++]);
    }
}

/* The core compiles the book as a whole; checking the phrases one by one finds the bad one, hence
 * its line and column. */
static void refuse_pattern(struct sl_reader *reader, const struct phrase_list *list,
                           const struct sl_yaml_node *map, const struct sl_error *whole)
{
    const struct sl_phrasebook *book = list->book;
    for (size_t i = 0; i < book->n_phrases && list->places != NULL; i++) {
        struct sl_error found = {0};
        size_t column = 1;
        const char *pattern = book->phrases[i].pattern;
        if (sl_phrasebook_check_pattern(book, pattern, &column, &found) != SL_OK) {
            struct sl_yaml_node place = *list->places[i].node;
            place.column += (unsigned)(column - 1);
            sl_refuse(reader, &place, found.mend, "%s", found.what);
            sl_error_clear(&found);
            return;
        }
    }
    sl_refuse(reader, map, whole->mend, "%s", whole->what);
}

static void compile(struct sl_reader *reader, const struct phrase_list *list,
                    const struct sl_yaml_node *map)
{
    struct sl_error found = {0};
    if (reader->status != SL_OK) {
        return;
    }
    enum sl_status status = sl_phrasebook_compile(list->book, &found);
    if (status == SL_NO_MEMORY) {
        sl_refuse_memory(reader);
    } else if (status != SL_OK) {
        refuse_pattern(reader, list, map, &found);
    }
    sl_error_clear(&found);
}

void sl_read_phrases(struct sl_reader *reader, const struct sl_yaml_node *map,
                     struct sl_routine *routine)
{
    static const char *const keys[] = {"slots", "say", "fillers", "corrections", NULL};
    struct phrase_list list = {.book = &routine->phrasebook};
    if (!sl_is_map(reader, map, "slots, say, fillers and corrections below it")) {
        return;
    }
    sl_only_keys(reader, map, keys);
    read_slots(reader, sl_yaml_get(map, "slots"), list.book);
    read_say(reader, sl_need(reader, map, "say", "the phases with their phrases"), routine, &list);
    read_phrase_list(reader, sl_yaml_get(map, "fillers"), SL_PHRASE_FILLER, &list);
    read_phrase_list(reader, sl_yaml_get(map, "corrections"), SL_PHRASE_CORRECTION, &list);
    check_carried(reader, &list, routine);
    compile(reader, &list, map);
    free(list.places);
}

void sl_read_answers(struct sl_reader *reader, const struct sl_yaml_node *map,
                     struct sl_phrasebook *book)
{
    static const char *const keys[] = {"open", "closed", "pass", "settings", NULL};
    static const size_t phases[] = {SL_PHRASE_OPEN, SL_PHRASE_CLOSED, SL_PHRASE_PASS,
                                    SL_PHRASE_SETTING};
    struct phrase_list list = {.book = book};
    sl_only_keys(reader, map, keys);
    for (size_t i = 0; keys[i] != NULL; i++) {
        read_phrase_list(reader, sl_need(reader, map, keys[i], "[a phrase, another phrase]"),
                         phases[i], &list);
    }
    compile(reader, &list, map);
    free(list.places);
}
