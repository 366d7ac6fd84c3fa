/*
 * The generator of demo recordings and of the test corpus.
 */
#include "demo.h"
#include "runs.h"

#include <errno.h>
#include <getopt.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#define EXIT_WRONG_USE 2

static int usage(FILE *to)
{
    fputs("Usage: corpus demo FOLDER\n"
          "       corpus runs FOLDER [OPTION...]\n"
          "Speaks runs of the routine with known faults and writes recordings with labels:\n"
          "demo those of audio/demo, runs any number for measuring.\n\n"
          "  --split tune|judge       which speakers (tune)\n"
          "  --speakers flite|all     all: voices of the program festival too (flite)\n"
          "  --voice BASE,PITCH,PACE,TRACT\n"
          "                           one speaker for all: slt,1,1,1 (drawn for each run)\n"
          "  --count N                how many runs (20)\n"
          "  --start N                start of the random numbers (1)\n"
          "  --noise clean|DB         speech to noise in dB (clean)\n"
          "  --kind car|fan|babble    kind of noise (one of them at random)\n"
          "  --room dry|near|cabin|living|any\n"
          "                           (near in three of ten runs, otherwise dry)\n"
          "  --microphone flat|laptop|phone|any\n"
          "                           (flat)\n"
          "  --timed                  said at the moments of the approach plan\n"
          "  --faults N               at most so many in a run (2)\n"
          "  --off-topic SHARE        chance of talk about something else (0.15)\n"
          "  --hesitation SHARE       chance of \"um\" or \"er\" in a step (0)\n"
          "  --restart SHARE          chance that a step is begun twice (0)\n"
          "  --outside SHARE          steps worded outside the phrasebook (0)\n"
          "  --book SHARE             steps worded from the phrasebook (0.5)\n"
          "  --routine NAME           (decide-last)\n",
          to);
    return to == stdout ? EXIT_SUCCESS : EXIT_WRONG_USE;
}

static int complain(const struct sl_error *error)
{
    fprintf(stderr, "corpus: %s%s%s\n", error->where == NULL ? "" : error->where,
            error->where == NULL ? "" : ": ", error->what == NULL ? "failed" : error->what);
    if (error->mend != NULL) {
        fprintf(stderr, "  %s\n", error->mend);
    }
    return EXIT_FAILURE;
}

enum option_name {
    SPLIT,
    SPEAKERS,
    VOICE,
    COUNT,
    START,
    NOISE,
    KIND,
    ROOM,
    MICROPHONE,
    TIMED,
    FAULTS,
    OFF_TOPIC,
    HESITATION,
    RESTART,
    OUTSIDE,
    BOOK,
    ROUTINE
};

static const struct option options[] = {{"split", required_argument, NULL, SPLIT},
                                        {"speakers", required_argument, NULL, SPEAKERS},
                                        {"voice", required_argument, NULL, VOICE},
                                        {"count", required_argument, NULL, COUNT},
                                        {"start", required_argument, NULL, START},
                                        {"noise", required_argument, NULL, NOISE},
                                        {"kind", required_argument, NULL, KIND},
                                        {"room", required_argument, NULL, ROOM},
                                        {"microphone", required_argument, NULL, MICROPHONE},
                                        {"timed", no_argument, NULL, TIMED},
                                        {"faults", required_argument, NULL, FAULTS},
                                        {"off-topic", required_argument, NULL, OFF_TOPIC},
                                        {"hesitation", required_argument, NULL, HESITATION},
                                        {"restart", required_argument, NULL, RESTART},
                                        {"outside", required_argument, NULL, OUTSIDE},
                                        {"book", required_argument, NULL, BOOK},
                                        {"routine", required_argument, NULL, ROUTINE},
                                        {NULL, 0, NULL, 0}};

/* What the options say. */
struct wish {
    struct corpus_order order;
    bool festival;
    char base[32]; /* of order.voice */
};

static const char *noise_word(int value)
{
    return corpus_noise_word((enum corpus_noise)value);
}

static const char *room_word(int value)
{
    return corpus_room_word((enum corpus_room)value);
}

static const char *microphone_word(int value)
{
    return corpus_microphone_word((enum corpus_microphone)value);
}

/* A word of an enumeration from `least` to `most`, or "any". */
static bool take_word(const char *value, const char *(*word_of)(int), const int span[2], int *taken)
{
    if (strcmp(value, "any") == 0) {
        *taken = CORPUS_ANY;
        return true;
    }
    for (int i = span[0]; i <= span[1]; i++) {
        if (strcmp(value, word_of(i)) == 0) {
            *taken = i;
            return true;
        }
    }
    return false;
}

static bool take_noise(const char *value, struct corpus_order *order)
{
    char *end = NULL;
    if (strcmp(value, "clean") == 0) {
        return true;
    }
    order->snr_db = strtod(value, &end);
    if (order->noise == CORPUS_NOISE_NONE) {
        order->noise = CORPUS_ANY;
    }
    return end != value && *end == '\0';
}

static bool take_place(int name, const char *value, struct corpus_order *order)
{
    static const int noises[] = {CORPUS_NOISE_CAR, CORPUS_NOISE_BABBLE};
    static const int rooms[] = {CORPUS_ROOM_DRY, CORPUS_ROOM_LIVING};
    static const int microphones[] = {CORPUS_MICROPHONE_FLAT, CORPUS_MICROPHONE_PHONE};
    switch (name) {
    case NOISE:
        return take_noise(value, order);
    case KIND:
        return take_word(value, noise_word, noises, &order->noise);
    case ROOM:
        return take_word(value, room_word, rooms, &order->room);
    default:
        return take_word(value, microphone_word, microphones, &order->microphone);
    }
}

static bool take_speakers(int name, const char *value, struct wish *wish)
{
    if (name == SPEAKERS) {
        wish->festival = strcmp(value, "all") == 0;
        return wish->festival || strcmp(value, "flite") == 0;
    }
    wish->order.speakers.split = strcmp(value, "judge") == 0 ? CORPUS_JUDGE : CORPUS_TUNE;
    return strcmp(value, corpus_split_word(wish->order.speakers.split)) == 0;
}

static bool take_share(int name, const char *value, struct corpus_order *order)
{
    double *const shares[] = {[OFF_TOPIC] = &order->off_topic_chance,
                              [HESITATION] = &order->hesitation_chance,
                              [RESTART] = &order->restart_chance,
                              [OUTSIDE] = &order->outside_share,
                              [BOOK] = &order->book_share};
    char *end = NULL;
    *shares[name] = strtod(value, &end);
    return end != value && *end == '\0' && *shares[name] >= 0 && *shares[name] <= 1;
}

/* "slt,1.1,1,0.9": the base, then pitch, pace and tract. */
static bool take_voice(const char *value, struct wish *wish)
{
    struct corpus_voice *voice = &wish->order.voice;
    size_t length = strcspn(value, ",");
    char *end = NULL;
    if (length == 0 || length >= sizeof wish->base || value[length] != ',') {
        return false;
    }
    memcpy(wish->base, value, length);
    voice->base = wish->base;
    voice->pitch = strtod(value + length + 1, &end);
    voice->pace = *end == ',' ? strtod(end + 1, &end) : 0;
    voice->tract = *end == ',' ? strtod(end + 1, &end) : 0;
    return *end == '\0' && voice->pitch > 0 && voice->pace > 0 && voice->tract > 0;
}

static bool take_option(int name, const char *value, struct wish *wish)
{
    struct corpus_order *order = &wish->order;
    switch (name) {
    case SPLIT:
    case SPEAKERS:
        return take_speakers(name, value, wish);
    case VOICE:
        return take_voice(value, wish);
    case NOISE:
    case KIND:
    case ROOM:
    case MICROPHONE:
        return take_place(name, value, order);
    case COUNT:
        order->count = strtoul(value, NULL, 10);
        return order->count > 0;
    case START:
        order->start = strtoull(value, NULL, 10);
        return true;
    case TIMED:
        order->timed = true;
        return true;
    case FAULTS:
        order->most_faults = strtoul(value, NULL, 10);
        return true;
    case OFF_TOPIC:
    case HESITATION:
    case RESTART:
    case OUTSIDE:
    case BOOK:
        return take_share(name, value, order);
    case ROUTINE:
        order->routine = value;
        return true;
    default:
        return false;
    }
}

static bool make_folder(const char *folder)
{
    bool there = mkdir(folder, 0777) == 0 || errno == EEXIST;
    if (!there) {
        perror(folder);
    }
    return there;
}

static int make_demo(const char *folder)
{
    if (!make_folder(folder)) {
        return EXIT_FAILURE;
    }
    struct sl_error error = {0};
    int code = corpus_demo_make(folder, &error) == SL_OK ? EXIT_SUCCESS : complain(&error);
    sl_error_clear(&error);
    return code;
}

static enum sl_status make_order(struct wish *wish, struct sl_error *error)
{
    struct corpus_speakers *speakers = &wish->order.speakers;
    enum sl_status status =
        wish->festival ? corpus_festival_start(&speakers->festival, error) : SL_OK;
    if (status == SL_OK) {
        status = corpus_runs_make(&wish->order, error);
    }
    corpus_festival_stop(speakers->festival);
    return status;
}

static int make_ordered(int argc, char **argv)
{
    struct wish wish = {.order = {.routine = "decide-last",
                                  .count = 20,
                                  .start = 1,
                                  .room = CORPUS_ROOM_USUAL,
                                  .most_faults = 2,
                                  .off_topic_chance = 0.15,
                                  .book_share = 0.5}};
    int name;
    while ((name = getopt_long(argc, argv, "", options, NULL)) != -1) {
        if (!take_option(name, optarg, &wish)) {
            return usage(stderr);
        }
    }
    if (optind + 1 != argc) {
        return usage(stderr);
    }
    wish.order.folder = argv[optind];
    if (!make_folder(wish.order.folder)) {
        return EXIT_FAILURE;
    }
    struct sl_error error = {0};
    int code = make_order(&wish, &error) == SL_OK ? EXIT_SUCCESS : complain(&error);
    sl_error_clear(&error);
    return code;
}

int main(int argc, char **argv)
{
    if (argc > 1 && strcmp(argv[1], "runs") == 0) {
        return make_ordered(argc - 1, argv + 1);
    }
    if (argc == 3 && strcmp(argv[1], "demo") == 0) {
        return make_demo(argv[2]);
    }
    return usage(argc > 1 && strcmp(argv[1], "--help") == 0 ? stdout : stderr);
}
