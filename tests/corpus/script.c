#include "script.h"

#include "core/str.h"
#include "core/units.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const char *const one_mirror[] = {"{0} mirror", "check {0} mirror", "checking my {0} mirror",
                                         "look in the {0} mirror", NULL};

static const char *const two_mirrors[] = {"{0} mirror|{1} mirror",
                                          "{0} and {1} mirror",
                                          "{0} mirror and {1} mirror",
                                          "mirrors, {0} and {1}",
                                          "check {0} mirror|{1} mirror",
                                          "{0} mirror, {1} mirror",
                                          "checking {0} and {1} mirrors",
                                          "{0} mirror then {1} mirror",
                                          "{0}|{1} mirror",
                                          "mirrors|{0}|{1}",
                                          NULL};

static const char *const three_mirrors[] = {"{0} mirror|{1} mirror|{2} mirror",
                                            "{0}, {1} and {2} mirrors", "mirrors, {0}, {1} and {2}",
                                            "{0} mirror, {1} mirror, {2} mirror", NULL};

static const char *const signal_side[] = {"signal {signal}",
                                          "signalling {signal}",
                                          "indicate {signal}",
                                          "indicating {signal}",
                                          "{signal} signal",
                                          "{signal} signal on",
                                          "{signal} indicator",
                                          "{signal} indicator on",
                                          "signal to the {signal}",
                                          "indicator {signal}",
                                          NULL};

static const char *const signal_none[] = {"no signal",
                                          "no signal needed",
                                          "no signal, it would mislead",
                                          "not signalling",
                                          "no indicator",
                                          "no need to signal",
                                          NULL};

static const char *const speed_lines[] = {"{speed} miles an hour",
                                          "slow down to {speed}",
                                          "brake gently down to {speed}",
                                          "slow to {speed} miles an hour",
                                          "speed {speed}",
                                          "braking to {speed}",
                                          "down to {speed} miles per hour",
                                          "brake gently to {speed}",
                                          "reduce speed to {speed}",
                                          "slowing down to {speed} miles an hour",
                                          "speed down to {speed}",
                                          "gentle braking, {speed} miles an hour",
                                          NULL};

static const char *const gear_clutch[] = {"{gear} gear|clutch {clutch}",
                                          "into {gear}|clutch {clutch}",
                                          "{gear} gear, clutch {clutch}",
                                          "select {gear} gear|clutch {clutch}",
                                          "down to {gear} gear|clutch {clutch}",
                                          "{gear} gear and clutch {clutch}",
                                          "change to {gear}|clutch {clutch}",
                                          "gear {gear}|clutch {clutch}",
                                          NULL};

static const char *const gear_up[] = {"into {gear} gear|clutch comes {clutch}",
                                      "{gear} gear|clutch back {clutch}",
                                      "{gear} gear|bring the clutch {clutch}", NULL};

static const char *const gear_down[] = {"into {gear} gear|clutch stays {clutch}",
                                        "{gear} gear|keep the clutch {clutch}",
                                        "{gear}|clutch still {clutch}", NULL};

static const char *const gear_only[] = {"{gear} gear",           "into {gear} gear",
                                        "select {gear} gear",    "into {gear}",
                                        "change down to {gear}", NULL};

static const char *const clutch_only[] = {"clutch {clutch}", "clutch stays {clutch}",
                                          "keep the clutch {clutch}", NULL};

static const char *const decide_go[] = {"clear, go",           "it's clear, going",
                                        "looks clear, going",  "all clear|go",
                                        "it's clear|go",       "road is clear, going",
                                        "clear, so I'm going", "clear on both sides, going",
                                        "nothing coming, go",  NULL};

static const char *const decide_wait[] = {"not clear, stopping",   "not clear, stop",
                                          "car coming, wait",      "not clear|wait",
                                          "stop and wait",         "waiting, it's not clear",
                                          "car coming, stopping",  "stopping at the line",
                                          "not clear, giving way", NULL};

static const char *const interior_names[] = {"interior", "centre", "rear-view",
                                             "inside",   "middle", NULL};

static size_t count(const char *const *lines)
{
    size_t n = 0;
    while (lines[n] != NULL) {
        n++;
    }
    return n;
}

static const char *pick(struct corpus_rng *rng, const char *const *lines)
{
    return lines[corpus_rng_below(rng, count(lines))];
}

/* Gear and clutch together. */
static const char *const *gear_lines(struct corpus_rng *rng, enum sl_clutch clutch)
{
    if (corpus_rng_chance(rng, 0.6)) {
        return gear_clutch;
    }
    return clutch == SL_CLUTCH_UP ? gear_up : gear_down;
}

/* The list of lines for these settings; NULL when there is none. */
static const char *const *lines_for(const struct corpus_lines *lines,
                                    const struct sl_settings *settings)
{
    switch (sl_settings_named(settings)) {
    case SL_SET_MIRRORS:
        return lines->mirrors[settings->n_mirrors];
    case SL_SET_SIGNAL:
        return settings->signal == SL_SIGNAL_NONE ? lines->signal_none : lines->signal_side;
    case SL_SET_SPEED:
        return lines->speed;
    case SL_SET_GEAR:
        return lines->gear;
    case SL_SET_GEAR | SL_SET_CLUTCH:
        return lines->gear_clutch;
    case SL_SET_CLUTCH:
        return lines->clutch;
    case SL_SET_DECISION:
        return settings->decision == SL_DECISION_GO ? lines->go : lines->wait;
    default:
        return NULL;
    }
}

static const char *speed_word(double speed_mps)
{
    static const char *const fives[] = {"zero",        "five",   "ten",         "fifteen", "twenty",
                                        "twenty-five", "thirty", "thirty-five", "forty"};
    double mph = sl_mph_from_mps(speed_mps);
    size_t step = (size_t)lround(mph / 5);
    return step < sizeof fives / sizeof fives[0] ? fives[step] : "fifty";
}

static const char *gear_word(int gear)
{
    static const char *const words[] = {"neutral", "first", "second", "third",
                                        "fourth",  "fifth", "sixth"};
    return gear >= 0 && gear <= 6 ? words[gear] : words[0];
}

/* The word for the slot `name` of `length` letters; what it names goes to `said`. */
static const char *slot_word(struct corpus_rng *rng, const char *name,
                             const struct sl_settings *wanted, struct sl_settings *said)
{
    switch (name[0]) {
    case 's':
        if (name[1] == 'i') {
            said->signal = wanted->signal;
            return sl_signal_word(wanted->signal);
        }
        said->speed_mps = wanted->speed_mps;
        return speed_word(wanted->speed_mps);
    case 'g':
        said->gear = wanted->gear;
        return gear_word(wanted->gear);
    case 'c':
        said->clutch = wanted->clutch;
        return sl_clutch_word(wanted->clutch);
    default:
        break;
    }
    enum sl_mirror mirror = wanted->mirrors[name[0] - '0'];
    sl_settings_add_mirror(said, mirror);
    return mirror == SL_MIRROR_INTERIOR ? pick(rng, interior_names) : sl_mirror_word(mirror);
}

/* Fills the slots of one phrase, `length` bytes from `line`. */
static bool fill_phrase(struct corpus_rng *rng, const char *line, size_t length,
                        const struct sl_settings *wanted, struct corpus_phrase *phrase)
{
    struct sl_str text = {0};
    bool slots = false;
    for (size_t i = 0; i < length; i++) {
        if (line[i] != '{') {
            sl_str_add_bytes(&text, line + i, 1);
            continue;
        }
        slots = true;
        sl_str_add(&text, slot_word(rng, line + i + 1, wanted, &phrase->settings));
        while (line[i] != '}') {
            i++;
        }
    }
    if (!slots) {
        phrase->settings = *wanted;
    }
    phrase->text = sl_str_take(&text);
    return phrase->text != NULL;
}

enum sl_status corpus_script_fill(struct corpus_rng *rng, const char *const *lines,
                                  const struct sl_settings *wanted, struct corpus_wording *wording,
                                  struct sl_error *error)
{
    const char *line = pick(rng, lines);
    while (*line != '\0' && wording->n < CORPUS_PHRASES_MAX) {
        size_t length = strcspn(line, "|");
        if (!fill_phrase(rng, line, length, wanted, &wording->phrases[wording->n])) {
            return sl_fail_memory(error);
        }
        wording->n++;
        line += length;
        line += *line == '|' ? 1 : 0;
    }
    return SL_OK;
}

enum sl_status corpus_script_speak(struct corpus_rng *rng, const struct corpus_lines *lines,
                                   const struct corpus_meaning *meaning,
                                   struct corpus_wording *wording, struct sl_error *error)
{
    const char *const *list = lines_for(lines, &meaning->settings);
    if (list == NULL) {
        return sl_fail(error, SL_NOT_FOUND, "script", NULL, "there are no lines for this step");
    }
    return corpus_script_fill(rng, list, &meaning->settings, wording, error);
}

enum sl_status corpus_script_own(struct corpus_rng *rng, const struct corpus_meaning *meaning,
                                 struct corpus_wording *wording, struct sl_error *error)
{
    struct corpus_lines lines = {
        .mirrors = {NULL, one_mirror, two_mirrors, three_mirrors},
        .signal_none = signal_none,
        .signal_side = signal_side,
        .speed = speed_lines,
        .gear = gear_only,
        .clutch = clutch_only,
        .go = decide_go,
        .wait = decide_wait,
    };
    if (sl_settings_named(&meaning->settings) == (SL_SET_GEAR | SL_SET_CLUTCH)) {
        lines.gear_clutch = gear_lines(rng, meaning->settings.clutch);
    }
    return corpus_script_speak(rng, &lines, meaning, wording, error);
}

void corpus_wording_clear(struct corpus_wording *wording)
{
    for (size_t i = 0; i < wording->n; i++) {
        free(wording->phrases[i].text);
    }
    *wording = (struct corpus_wording){0};
}

const char *corpus_script_hesitation(struct corpus_rng *rng)
{
    static const char *const words[] = {"um", "er", NULL};
    return pick(rng, words);
}

const char *corpus_script_filler(struct corpus_rng *rng)
{
    static const char *const words[] = {"okay", "and now", "so",  "then",     "next",
                                        "well", "right",   "now", "and then", NULL};
    return pick(rng, words);
}

const char *corpus_script_correction(struct corpus_rng *rng)
{
    static const char *const words[] = {"no", "sorry", "no, sorry", "I mean", "no, I mean", NULL};
    return pick(rng, words);
}

const char *corpus_script_off_topic(struct corpus_rng *rng)
{
    static const char *const sentences[] = {
        "It was raining all weekend, so we stayed at home.",
        "Have you seen the film about the lighthouse keeper?",
        "My sister is baking bread for the party on Saturday.",
        "The shop on the corner has run out of oat milk again.",
        "I could really use a cup of tea and a biscuit.",
        "They painted the kitchen yellow, and nobody likes it.",
        "Our neighbours have a puppy that barks at the postman.",
        "The concert was loud, but the singer was wonderful.",
        "I have to phone the dentist before lunch tomorrow.",
        "She knitted a scarf for her grandmother last winter.",
        "We planted tomatoes, beans and a few onions this year.",
        "His train was cancelled, so he worked from the library.",
        "The weather should be sunny by Thursday afternoon.",
        "Remember to buy potatoes, butter and washing powder.",
        "That book has three hundred pages and no pictures at all.",
        "My phone battery is nearly empty, as usual.",
        NULL};
    return pick(rng, sentences);
}
