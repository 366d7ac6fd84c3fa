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
          "  --split tune|judge       which voices (tune)\n"
          "  --count N                how many runs (20)\n"
          "  --start N                start of the random numbers (1)\n"
          "  --noise clean|DB         speech to noise in dB (clean)\n"
          "  --kind car|fan|babble    kind of noise (car or fan at random)\n"
          "  --timed                  said at the moments of the approach plan\n"
          "  --faults N               at most so many in a run (2)\n"
          "  --off-topic SHARE        chance of talk about something else (0.15)\n"
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

enum option_name { SPLIT, COUNT, START, NOISE, KIND, TIMED, FAULTS, OFF_TOPIC, BOOK, ROUTINE };

static const struct option options[] = {{"split", required_argument, NULL, SPLIT},
                                        {"count", required_argument, NULL, COUNT},
                                        {"start", required_argument, NULL, START},
                                        {"noise", required_argument, NULL, NOISE},
                                        {"kind", required_argument, NULL, KIND},
                                        {"timed", no_argument, NULL, TIMED},
                                        {"faults", required_argument, NULL, FAULTS},
                                        {"off-topic", required_argument, NULL, OFF_TOPIC},
                                        {"book", required_argument, NULL, BOOK},
                                        {"routine", required_argument, NULL, ROUTINE},
                                        {NULL, 0, NULL, 0}};

static bool take_noise(const char *value, struct corpus_order *order)
{
    char *end = NULL;
    if (strcmp(value, "clean") == 0) {
        return true;
    }
    order->snr_db = strtod(value, &end);
    order->any_noise = order->noise == CORPUS_NOISE_NONE;
    return end != value && *end == '\0';
}

static bool take_kind(const char *value, struct corpus_order *order)
{
    for (int kind = CORPUS_NOISE_CAR; kind <= CORPUS_NOISE_BABBLE; kind++) {
        if (strcmp(value, corpus_noise_word((enum corpus_noise)kind)) == 0) {
            order->noise = (enum corpus_noise)kind;
            order->any_noise = false;
            return true;
        }
    }
    return false;
}

static bool take_option(int name, const char *value, struct corpus_order *order)
{
    switch (name) {
    case SPLIT:
        order->split = strcmp(value, "judge") == 0 ? CORPUS_JUDGE : CORPUS_TUNE;
        return order->split == CORPUS_JUDGE || strcmp(value, "tune") == 0;
    case COUNT:
        order->count = strtoul(value, NULL, 10);
        return order->count > 0;
    case START:
        order->start = strtoull(value, NULL, 10);
        return true;
    case NOISE:
        return take_noise(value, order);
    case KIND:
        return take_kind(value, order);
    case TIMED:
        order->timed = true;
        return true;
    case FAULTS:
        order->most_faults = strtoul(value, NULL, 10);
        return true;
    case OFF_TOPIC:
        order->off_topic_chance = strtod(value, NULL);
        return true;
    case BOOK:
        order->book_share = strtod(value, NULL);
        return true;
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

static int make_runs(int argc, char **argv)
{
    struct corpus_order order = {.routine = "decide-last",
                                 .count = 20,
                                 .start = 1,
                                 .most_faults = 2,
                                 .off_topic_chance = 0.15,
                                 .book_share = 0.5};
    int name;
    while ((name = getopt_long(argc, argv, "", options, NULL)) != -1) {
        if (!take_option(name, optarg, &order)) {
            return usage(stderr);
        }
    }
    if (optind + 1 != argc) {
        return usage(stderr);
    }
    order.folder = argv[optind];
    if (!make_folder(order.folder)) {
        return EXIT_FAILURE;
    }
    struct sl_error error = {0};
    int code = corpus_runs_make(&order, &error) == SL_OK ? EXIT_SUCCESS : complain(&error);
    sl_error_clear(&error);
    return code;
}

int main(int argc, char **argv)
{
    if (argc > 1 && strcmp(argv[1], "runs") == 0) {
        return make_runs(argc - 1, argv + 1);
    }
    if (argc == 3 && strcmp(argv[1], "demo") == 0) {
        return make_demo(argv[2]);
    }
    return usage(argc > 1 && strcmp(argv[1], "--help") == 0 ? stdout : stderr);
}
