/*
 * Ways to say a step that were written down as people might say them, and kept where the shipped
 * phrasebook did not understand them.
 */
#include "script.h"

static const char *const one_mirror[] = {"a glance at the {0} mirror", "eyes to the {0} mirror",
                                         "what's in my {0} mirror", "{0} mirror looks fine", NULL};

static const char *const two_mirrors[] = {"a glance at the {0} mirror|and over to the {1} one",
                                          "what's in my {0} mirror|and what's in the {1} one",
                                          "eyes to the {0} mirror|eyes to the {1} mirror",
                                          "I look at the {0} mirror, after that the {1} one",
                                          "quick check behind, {0}|and {1}",
                                          NULL};

static const char *const three_mirrors[] = {"a glance at the {0}, the {1} and the {2} mirror",
                                            "{0}, then {1}, then {2}", NULL};

static const char *const signal_side[] = {"I let them know I'm going {signal}",
                                          "blinker {signal}",
                                          "flashing {signal}",
                                          "indicator goes on for the {signal} turn",
                                          "I give a signal, {signal} side",
                                          NULL};

static const char *const signal_none[] = {"I won't bother with the indicator",
                                          "nobody here needs a signal", "leave the signal off",
                                          NULL};

static const char *const speed_lines[] = {
    "bring her down to about {speed}", "I want {speed} on the clock",
    "let's drop the speed to {speed}", "easing the brake on until we do {speed}",
    "take it down to {speed}",         NULL};

static const char *const gear_clutch[] = {"popping it into {gear}|clutch pedal {clutch}",
                                          "now I want {gear}|and the clutch goes {clutch}",
                                          "stick it in {gear} gear|with my clutch {clutch}", NULL};

static const char *const gear_only[] = {"popping it into {gear}", "stick it in {gear} gear",
                                        "now I want {gear}", NULL};

static const char *const clutch_only[] = {"clutch pedal {clutch}", "the clutch goes {clutch}",
                                          NULL};

static const char *const decide_go[] = {"there's a gap, I'm off", "no one about, off we go",
                                        "coast is clear, away we go", "looks good, pulling out",
                                        NULL};

static const char *const decide_wait[] = {"someone's there, I'll hang on", "can't go yet",
                                          "not yet, I'll let them past",
                                          "there's a van, I'd better stay put", NULL};

enum sl_status corpus_script_outside(struct corpus_rng *rng, const struct corpus_meaning *meaning,
                                     struct corpus_wording *wording, struct sl_error *error)
{
    static const struct corpus_lines lines = {
        .mirrors = {NULL, one_mirror, two_mirrors, three_mirrors},
        .signal_none = signal_none,
        .signal_side = signal_side,
        .speed = speed_lines,
        .gear = gear_only,
        .gear_clutch = gear_clutch,
        .clutch = clutch_only,
        .go = decide_go,
        .wait = decide_wait,
    };
    return corpus_script_speak(rng, &lines, meaning, wording, error);
}
