#include "core/alike.h"

#include "core/phone_search.h"
#include "core/str.h"

#include <stdlib.h>

/* The words and the phrase of one side of a way. */
static bool read_side(const struct sl_phone_search *search, uint32_t end, int side,
                      struct sl_alike_side *out)
{
    struct sl_str words = {0};
    out->settings = search->meanings[search->nodes[end].meaning[side]].settings;
    for (uint32_t at = end; at != SL_NODE_NONE; at = search->nodes[at].parent) {
        uint32_t number = search->nodes[at].edge[side];
        const struct sl_phone_edge *edge =
            number == SL_NODE_NONE ? NULL : &search->nets[side].edges[number];
        if (edge != NULL && edge->word != NULL) {
            char *rest = sl_str_take(&words);
            sl_str_addf(&words, "%s%s%s", edge->word, rest == NULL || rest[0] == '\0' ? "" : " ",
                        rest == NULL ? "" : rest);
            words.failed = words.failed || rest == NULL;
            free(rest);
        }
        out->phrase = edge != NULL ? edge->phrase : out->phrase;
    }
    out->words = sl_str_take(&words);
    return out->words != NULL;
}

static bool add_found(const struct sl_phone_search *search, uint32_t end, struct sl_alikes *found)
{
    struct sl_alike made = {.distance = (int)search->nodes[end].cost};
    struct sl_alike *items = sl_grow(found->items, found->count, &found->room, sizeof *items);
    found->items = items != NULL ? items : found->items;
    bool fine = items != NULL && read_side(search, end, 0, &made.one) &&
                read_side(search, end, 1, &made.other);
    if (!fine) {
        free(made.one.words);
        free(made.other.words);
        return false;
    }
    found->items[found->count++] = made;
    return true;
}

static enum sl_status end_search(struct sl_phone_search *search, bool fine, struct sl_alikes *found,
                                 struct sl_alikes *made, struct sl_error *error)
{
    bool large = search->n_nodes >= SL_PHONE_NODES_MAX;
    bool failed = search->no_memory || !fine;
    sl_phone_search_clear(search);
    if (failed) {
        sl_alikes_clear(made);
        return large ? sl_fail(error, SL_TOO_LARGE, NULL, "ask for a smaller distance",
                               "the phrasebook is too large to compare all of it")
                     : sl_fail_memory(error);
    }
    sl_alikes_clear(found);
    *found = *made;
    return SL_OK;
}

/* The settings in which two meanings differ, of one of them. */
static struct sl_settings difference(const struct sl_settings *of, const struct sl_settings *from)
{
    unsigned differs = 0;
    for (unsigned bit = 1; bit < SL_SET_ALL; bit <<= 1) {
        struct sl_settings a = sl_settings_only(of, bit);
        struct sl_settings b = sl_settings_only(from, bit);
        differs |= sl_settings_equal(&a, &b) ? 0 : bit;
    }
    return sl_settings_only(of, differs);
}

/* True when the pair of ends tells no more than one that was found. */
static bool is_known(const struct sl_phone_search *search, uint32_t end,
                     const struct sl_alikes *found)
{
    const struct sl_meaning *one = &search->meanings[search->nodes[end].meaning[0]];
    const struct sl_meaning *other = &search->meanings[search->nodes[end].meaning[1]];
    const struct sl_phrase *phrases = search->books[0]->phrases;
    struct sl_settings a = difference(&one->settings, &other->settings);
    struct sl_settings b = difference(&other->settings, &one->settings);
    for (size_t i = 0; i < found->count; i++) {
        const struct sl_alike_side *sides[] = {&found->items[i].one, &found->items[i].other};
        for (int turn = 0; turn < 2; turn++) {
            const struct sl_alike_side *x = sides[turn];
            const struct sl_alike_side *y = sides[1 - turn];
            struct sl_settings of_x = difference(&x->settings, &y->settings);
            struct sl_settings of_y = difference(&y->settings, &x->settings);
            if (phrases[x->phrase].phase == one->phase &&
                phrases[y->phrase].phase == other->phase && sl_settings_equal(&of_x, &a) &&
                sl_settings_equal(&of_y, &b)) {
                return true;
            }
        }
    }
    return false;
}

enum sl_status sl_alike_within(const struct sl_phrasebook *book,
                               const struct sl_pronunciations *pronunciations, int limit,
                               struct sl_alikes *found, struct sl_error *error)
{
    struct sl_phone_search search = {.books = {book, book}, .limit = (uint32_t)limit};
    struct sl_alikes made = {0};
    bool fine = sl_phone_net_of_book(book, pronunciations, &search.nets[0]) &&
                sl_phone_net_of_book(book, pronunciations, &search.nets[1]);
    if (fine) {
        sl_phone_search_begin(&search);
    }
    for (uint32_t end = SL_NODE_NONE;
         fine && (end = sl_phone_search_next(&search)) != SL_NODE_NONE;) {
        if (search.nodes[end].meaning[0] != search.nodes[end].meaning[1] &&
            !is_known(&search, end, &made)) {
            fine = add_found(&search, end, &made);
        }
    }
    return end_search(&search, fine, found, &made, error);
}

enum sl_status sl_alike_nearest(const struct sl_phrasebook *book,
                                const struct sl_pronunciations *pronunciations,
                                const struct sl_alike_text *text, struct sl_alikes *found,
                                struct sl_error *error)
{
    struct sl_phone_search search = {.books = {NULL, book}, .limit = (uint32_t)text->limit};
    struct sl_alikes made = {0};
    bool fine =
        sl_phone_net_of_words(text->words, text->n_words, pronunciations, &search.nets[0]) &&
        sl_phone_net_of_book(book, pronunciations, &search.nets[1]);
    if (fine) {
        sl_phone_search_begin(&search);
    }
    for (uint32_t end = SL_NODE_NONE; fine && made.count < text->most &&
                                      (end = sl_phone_search_next(&search)) != SL_NODE_NONE;) {
        fine = add_found(&search, end, &made);
        for (size_t i = 0; fine && i + 1 < made.count; i++) {
            if (made.items[i].other.phrase == made.items[made.count - 1].other.phrase) {
                made.count--;
                free(made.items[made.count].one.words);
                free(made.items[made.count].other.words);
                break;
            }
        }
    }
    return end_search(&search, fine, found, &made, error);
}

void sl_alikes_clear(struct sl_alikes *found)
{
    for (size_t i = 0; i < found->count; i++) {
        free(found->items[i].one.words);
        free(found->items[i].other.words);
    }
    free(found->items);
    *found = (struct sl_alikes){0};
}
