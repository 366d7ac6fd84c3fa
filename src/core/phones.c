#include "core/phones.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

const char *const sl_phones[SL_PHONE_COUNT] = {
    "AA", "AE", "AH", "AO", "AW", "AY", "B",  "CH", "D", "DH", "EH", "ER", "EY",
    "F",  "G",  "HH", "IH", "IY", "JH", "K",  "L",  "M", "N",  "NG", "OW", "OY",
    "P",  "R",  "S",  "SH", "T",  "TH", "UH", "UW", "V", "W",  "Y",  "Z",  "ZH"};

enum manner { VOWEL, STOP, AFFRICATE, FRICATIVE, NASAL, LIQUID, GLIDE };

/* Of a consonant: place from the lips (0) to the throat (7), voiced or not. Of a vowel: place is
 * backness from the front (0) to the back (4), height from open (0) to close (4), and the phone to
 * which it glides ('y', 'w', 'r' or 0). */
struct features {
    enum manner manner;
    int place, height;
    bool voiced;
    char glide;
};

static const struct features features[SL_PHONE_COUNT] = {{VOWEL, 4, 0, true, 0},      /* AA */
                                                         {VOWEL, 0, 1, true, 0},      /* AE */
                                                         {VOWEL, 2, 2, true, 0},      /* AH */
                                                         {VOWEL, 4, 1, true, 0},      /* AO */
                                                         {VOWEL, 2, 0, true, 'w'},    /* AW */
                                                         {VOWEL, 2, 0, true, 'y'},    /* AY */
                                                         {STOP, 0, 0, true, 0},       /* B */
                                                         {AFFRICATE, 4, 0, false, 0}, /* CH */
                                                         {STOP, 3, 0, true, 0},       /* D */
                                                         {FRICATIVE, 2, 0, true, 0},  /* DH */
                                                         {VOWEL, 0, 2, true, 0},      /* EH */
                                                         {VOWEL, 2, 2, true, 'r'},    /* ER */
                                                         {VOWEL, 0, 3, true, 'y'},    /* EY */
                                                         {FRICATIVE, 1, 0, false, 0}, /* F */
                                                         {STOP, 6, 0, true, 0},       /* G */
                                                         {FRICATIVE, 7, 0, false, 0}, /* HH */
                                                         {VOWEL, 1, 3, true, 0},      /* IH */
                                                         {VOWEL, 0, 4, true, 0},      /* IY */
                                                         {AFFRICATE, 4, 0, true, 0},  /* JH */
                                                         {STOP, 6, 0, false, 0},      /* K */
                                                         {LIQUID, 3, 0, true, 0},     /* L */
                                                         {NASAL, 0, 0, true, 0},      /* M */
                                                         {NASAL, 3, 0, true, 0},      /* N */
                                                         {NASAL, 6, 0, true, 0},      /* NG */
                                                         {VOWEL, 4, 2, true, 'w'},    /* OW */
                                                         {VOWEL, 4, 1, true, 'y'},    /* OY */
                                                         {STOP, 0, 0, false, 0},      /* P */
                                                         {LIQUID, 4, 0, true, 0},     /* R */
                                                         {FRICATIVE, 3, 0, false, 0}, /* S */
                                                         {FRICATIVE, 4, 0, false, 0}, /* SH */
                                                         {STOP, 3, 0, false, 0},      /* T */
                                                         {FRICATIVE, 2, 0, false, 0}, /* TH */
                                                         {VOWEL, 3, 3, true, 0},      /* UH */
                                                         {VOWEL, 4, 4, true, 0},      /* UW */
                                                         {FRICATIVE, 1, 0, true, 0},  /* V */
                                                         {GLIDE, 0, 0, true, 0},      /* W */
                                                         {GLIDE, 5, 0, true, 0},      /* Y */
                                                         {FRICATIVE, 3, 0, true, 0},  /* Z */
                                                         {FRICATIVE, 4, 0, true, 0}}; /* ZH */

int sl_phone_from_name(const char *name, size_t length)
{
    for (int i = 0; i < SL_PHONE_COUNT; i++) {
        if (strlen(sl_phones[i]) == length && memcmp(sl_phones[i], name, length) == 0) {
            return i;
        }
    }
    return SL_PHONE_NONE;
}

static int at_most(int value, int most)
{
    return value < most ? value : most;
}

/* A vowel for a vowel is never quite another phone: it keeps the syllable. */
static int vowel_cost(const struct features *a, const struct features *b)
{
    int height = abs(a->height - b->height);
    int back = abs(a->place - b->place);
    return at_most(height + back + (a->glide != b->glide ? 3 : 0), SL_PHONE_WHOLE - 3);
}

/* Another manner, voice and place: together a whole phone. In noise place is confused first. */
static int consonant_cost(const struct features *a, const struct features *b)
{
    int cost = at_most(abs(a->place - b->place), 3);
    cost += a->manner != b->manner ? 5 : 0;
    cost += a->voiced != b->voiced ? 4 : 0;
    return cost;
}

int sl_phone_cost(int a, int b)
{
    const struct features *x = &features[a];
    const struct features *y = &features[b];
    if (a == b) {
        return 0;
    }
    if ((x->manner == VOWEL) != (y->manner == VOWEL)) {
        return SL_PHONE_WHOLE;
    }
    int cost = x->manner == VOWEL ? vowel_cost(x, y) : consonant_cost(x, y);
    return cost > 0 ? cost : 1; /* no two phones are the same */
}

size_t sl_pronunciations_find(const struct sl_pronunciations *list, const char *word, size_t *first)
{
    size_t low = 0;
    size_t high = list->count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (strcmp(list->items[middle].word, word) < 0) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    size_t n = 0;
    while (low + n < list->count && strcmp(list->items[low + n].word, word) == 0) {
        n++;
    }
    if (n > 0) {
        *first = low;
    }
    return n;
}
