/*
 * How soon a driven car sounds otherwise, found in what was recorded of a microphone and a speaker
 * on one clock.
 * usage: car_changes RECORDING LEARNER LABELS SCREEN
 *
 * RECORDING holds 16-bit frames at 16 kHz of two channels: what went into the microphone, what came
 * out of the speaker. LEARNER is what was played into the microphone, LABELS what is said in it,
 * SCREEN what the program wrote meanwhile.
 * Prints a line for each phrase that can be heard to do something: the milliseconds from its end to
 * the change, and what that is; "-" where none was found, "<" where it came before the end, "?"
 * where the program did not make the phrase out, so that the car did not obey. What
 * follows within GOES_ON_S on the same phase is one phrase with it: where the change came while it
 * was still spoken, the milliseconds are from the end of what was said by then, and it is marked +.
 * Mirrors: the first frame of their note. A signal: of the first tick. A speed, a gear: the step in
 * the engine's pitch, from windows 110 ms long on both sides of it, good to some 20 ms and late by
 * half the car's glide rather than early; "~" where the model itself has no such step at that
 * moment, as for a gear that waits for the slowing to be done.
 */
#include "corpus/labels.h"
#include "support/find_sound.h"

#include "core/drive.h"
#include "core/units.h"
#include "files/models.h"

#include <stdio.h>
#include <string.h>
#include <strings.h>

#define RATE ((double)SL_CLIP_RATE_HZ)
#define FULL_SCALE 32768.0
#define HOP_S 0.001
#define SOONEST_S 0.05 /* after the end of a phrase; nothing is heard and sounds sooner */
#define EARLY_S 0.1    /* known before its end */
#define USUAL_S 0.7
#define LATEST_S 1.5
#define GOES_ON_S 0.25

/* What core/car_sound.c sounds like. */
#define NOTE_HZ 1320.0
#define NOTE_S 0.1
#define NOTE_LEVEL 0.0035
#define TICK_HZ 2200.0
#define TICK_S 0.006
#define TICK_LEVEL 0.003 /* on average over these first milliseconds */

/* The engine's pitch. */
#define SLOW 8 /* frames in one of the slower ones that it is looked for in, 2 kHz */
#define SLOW_HZ (RATE / SLOW)
#define WINDOW 160   /* slower frames, 80 ms */
#define LAG_LEAST 14 /* 143 Hz */
#define LAG_MOST 84  /* 24 Hz */
#define PITCH_HOP_S 0.005
#define SIDE_FIRST_S 0.04 /* the windows on both sides of a step */
#define SIDE_LAST_S 0.15
#define LEAST_STEP 0.04
#define PITCHES_MAX 2048

/* Where in the recording a change is looked for. */
struct span {
    double from_s, to_s;
};

/* Amplitude of a tone in `n` frames, weighted by half a wave so that its neighbours do not count.
 */
static double tone(const double *sound, size_t n, double hz)
{
    double re = 0;
    double im = 0;
    double weights = 0;
    for (size_t i = 0; i < n; i++) {
        double weight = 0.5 - 0.5 * cos(2 * SL_PI * (double)i / (double)n);
        double phase = 2 * SL_PI * hz * (double)i / RATE;
        re += weight * sound[i] * cos(phase);
        im += weight * sound[i] * sin(phase);
        weights += weight;
    }
    return 2 * sqrt(re * re + im * im) / weights;
}

/* Where a tone of this length and level sounds clearest; NAN: nowhere, or speech drowns it. */
static double find_tone(const double *sound, const struct span *span, double hz, double length_s,
                        double level)
{
    size_t n = (size_t)(length_s * RATE);
    double best = 0;
    double place_s = NAN;
    for (double at_s = span->from_s; at_s < span->to_s; at_s += HOP_S) {
        double now = tone(sound + (size_t)(at_s * RATE), n, hz);
        if (now > best) {
            best = now;
            place_s = at_s;
        } else if (best > level / 2 && at_s > place_s + length_s) {
            break; /* the first one counts */
        }
    }
    return best > level / 2 && best < 3 * level ? place_s : NAN;
}

/* Pitch by autocorrelation: the shortest lag that is nearly as good as the best; NAN: none is. */
static double pitch_hz(const double *sound)
{
    double slow[WINDOW + LAG_MOST + 1];
    double alike[LAG_MOST + 2] = {0};
    double best = 0;
    for (int i = 0; i <= WINDOW + LAG_MOST; i++) {
        slow[i] = 0;
        for (int k = 0; k < SLOW; k++) {
            slow[i] += sound[i * SLOW + k];
        }
    }
    for (int lag = LAG_LEAST; lag <= LAG_MOST; lag++) {
        double both = 0;
        double here = 0;
        double there = 0;
        for (int i = 0; i < WINDOW; i++) {
            both += slow[i] * slow[i + lag];
            here += slow[i] * slow[i];
            there += slow[i + lag] * slow[i + lag];
        }
        alike[lag] = here > 0 && there > 0 ? both / sqrt(here * there) : 0;
        best = fmax(best, alike[lag]);
    }
    for (int lag = LAG_LEAST + 1; lag < LAG_MOST; lag++) {
        double before = alike[lag - 1];
        double after = alike[lag + 1];
        if (alike[lag] >= 0.85 * best && alike[lag] >= before && alike[lag] > after && best > 0.3) {
            double bend = before - 2 * alike[lag] + after;
            return SLOW_HZ / (lag + 0.5 * (before - after) / bend);
        }
    }
    return NAN;
}

static int compare(const void *one, const void *other)
{
    const double *a = one;
    const double *b = other;
    return (*a > *b) - (*a < *b);
}

/* The median of the pitches from..to that are known; NAN: fewer than half are. */
static double median_of(const double *pitches, size_t from, size_t to)
{
    double known[PITCHES_MAX];
    size_t n = 0;
    for (size_t i = from; i < to; i++) {
        if (!isnan(pitches[i])) {
            known[n++] = pitches[i];
        }
    }
    qsort(known, n, sizeof *known, compare);
    return 2 * n >= to - from && n > 0 ? known[n / 2] : NAN;
}

/* The first step of the pitch that is large enough, where it is largest. */
static double find_step(const double *sound, const struct span *span)
{
    double from_s = span->from_s - SIDE_LAST_S;
    size_t n = (size_t)((span->to_s - from_s + SIDE_LAST_S) / PITCH_HOP_S);
    size_t inner = (size_t)(SIDE_FIRST_S / PITCH_HOP_S);
    size_t outer = (size_t)(SIDE_LAST_S / PITCH_HOP_S);
    double pitches[PITCHES_MAX];
    double most = 0;
    size_t first = 0;
    size_t last = 0;
    for (size_t i = 0; i < n; i++) { /* the middle of what a pitch is made of lies at its place */
        double middle_s = from_s + (double)i * PITCH_HOP_S;
        pitches[i] = pitch_hz(sound + (size_t)(middle_s * RATE) - WINDOW * SLOW / 2);
    }
    for (size_t i = outer; i + outer < n; i++) {
        double before = median_of(pitches, i - outer, i - inner);
        double after = median_of(pitches, i + inner, i + outer);
        double step = fabs(log(after / before));
        if (isnan(step) || (step < LEAST_STEP && most < LEAST_STEP)) {
            continue;
        }
        if (step > 1.02 * most) {
            most = step;
            first = i;
            last = i;
        } else if (step > 0.95 * most && i - last <= 2) {
            last = i;
        } else if (i > last + outer) {
            break;
        }
    }
    double middle = (double)(first + last) / 2 * PITCH_HOP_S;
    return most >= LEAST_STEP ? from_s + middle : NAN;
}

/* Whether the program wrote, from when a phrase began until its change can be found, that it made
 * out something of its phase: `  7.9 s  124 m  Heard instead: "left mirror", Mirrors, ...`. */
static bool was_heard(FILE *screen, const struct corpus_labels *labels, size_t first, size_t last)
{
    const char *what = labels->said[first].what;
    char line[512];
    bool heard = false;
    rewind(screen);
    while (!heard && fgets(line, sizeof line, screen) != NULL) {
        double at_s = strtod(line, NULL) + labels->from_s;
        const char *said = strstr(line, "Heard");
        const char *phase = said != NULL ? strstr(said, "\", ") : NULL;
        heard = phase != NULL && strstr(said, "not clearly") == NULL &&
                strncasecmp(phase + strlen("\", "), what, strlen(what)) == 0 &&
                at_s > labels->said[first].start_s && at_s < labels->said[last].end_s + LATEST_S;
    }
    return heard;
}

/* When the change that a phrase makes sounds; NAN: not there. *what stays NULL where none is heard
 * of such a phrase. */
static double find_change(const struct corpus_said *said, const double *speaker,
                          const struct span *span, const char **what)
{
    const struct sl_settings *settings = &said->settings;
    if (strcmp(said->what, "mirrors") == 0) {
        *what = "note";
        return find_tone(speaker, span, NOTE_HZ, NOTE_S, NOTE_LEVEL);
    }
    if (settings->signal == SL_SIGNAL_LEFT || settings->signal == SL_SIGNAL_RIGHT) {
        *what = "tick";
        return find_tone(speaker, span, TICK_HZ, TICK_S, TICK_LEVEL);
    }
    if (settings->speed_mps > 0 || settings->gear > 0) {
        *what = settings->speed_mps > 0 ? "slowing" : "gear";
        return find_step(speaker, span);
    }
    return NAN;
}

/* Where the learner's sound begins in the microphone: by its first phrase. */
static double find_learner_s(const struct sl_clip *microphone, const struct sl_clip *learner,
                             const struct corpus_labels *labels)
{
    size_t from = (size_t)(labels->said[0].start_s * RATE);
    struct sl_clip part = {.samples = learner->samples + from, .n = SL_CLIP_RATE_HZ / 2};
    double place =
        from + part.n <= learner->n ? find_sound(microphone, &part, 0, (double)microphone->n) : -1;
    return place < 0 ? NAN : (place - (double)from) / RATE;
}

/* The recording, apart. */
struct both {
    struct sl_clip microphone;
    double *speaker;
};

static bool load_both(const char *path, struct both *both)
{
    FILE *file = fopen(path, "rb");
    if (file == NULL) {
        return false;
    }
    size_t room = 0;
    int16_t pair[2];
    bool loaded = true;
    while (loaded && fread(pair, sizeof pair, 1, file) == 1) {
        size_t n = both->microphone.n;
        if (n == room) {
            room = 2 * room + SL_CLIP_RATE_HZ;
            int16_t *samples = realloc(both->microphone.samples, room * sizeof *samples);
            both->microphone.samples = samples != NULL ? samples : both->microphone.samples;
            double *speaker = realloc(both->speaker, room * sizeof *speaker);
            both->speaker = speaker != NULL ? speaker : both->speaker;
            loaded = samples != NULL && speaker != NULL;
        }
        if (loaded) {
            both->microphone.samples[n] = pair[0];
            both->speaker[n] = pair[1] / FULL_SCALE;
            both->microphone.n++;
        }
    }
    (void)fclose(file);
    return loaded && both->microphone.n > 0;
}

/* What the labels' words drive. */
struct model {
    struct sl_junction junction;
    struct sl_routine routine;
    struct sl_car car;
    struct sl_plan plan;
    double from_s;
};

static bool load_model(const struct corpus_labels *labels, struct model *model)
{
    model->from_s = labels->from_s;
    return sl_load_junction(labels->junction, &model->junction, NULL) == SL_OK &&
           sl_load_routine(labels->routine, &model->routine, NULL) == SL_OK &&
           sl_load_car("small-petrol", &model->car, NULL) == SL_OK &&
           sl_plan_make(&model->junction, &model->routine, &model->car, &model->plan, NULL) ==
               SL_OK;
}

static void model_clear(struct model *model)
{
    sl_junction_clear(&model->junction);
    sl_routine_clear(&model->routine);
    sl_car_clear(&model->car);
}

/* Drives with the first n of what is said. */
static bool drive_with(const struct model *model, const struct corpus_labels *labels, size_t n,
                       struct sl_drive *drive)
{
    struct sl_heard_list words = {0};
    bool done = true;
    for (size_t i = 0; done && i < n; i++) {
        const struct corpus_said *said = &labels->said[i];
        struct sl_heard heard = {.phase = sl_routine_phase(&model->routine, said->what),
                                 .text = said->text,
                                 .start_s = said->start_s,
                                 .end_s = said->end_s,
                                 .confidence = 1.0,
                                 .settings = said->settings};
        done = heard.phase >= model->routine.n_phases || /* "okay" */
               sl_heard_add(&words, &heard, NULL) == SL_OK;
    }
    const struct sl_task task = {.routine = &model->routine,
                                 .junction = &model->junction,
                                 .plan = &model->plan,
                                 .options = {.from_s = model->from_s}};
    const struct sl_driving driving = {.task = &task, .car = &model->car, .heard = &words};
    done = done && sl_drive_make(&driving, drive, NULL) == SL_OK;
    sl_heard_clear(&words);
    return done;
}

/* Whether the engine turns otherwise because of phrase i nearly wherever its change may come. */
static bool steps(const struct model *model, const struct corpus_labels *labels, size_t i)
{
    struct sl_drive with = {0};
    struct sl_drive without = {0};
    bool drove = drive_with(model, labels, i, &without) && drive_with(model, labels, i + 1, &with);
    int apart = 0;
    int n = 0;
    double end_s = labels->said[i].end_s - model->from_s;
    for (double at_s = end_s + EARLY_S; drove && at_s < end_s + USUAL_S; at_s += 0.01) {
        double ratio = sl_drive_at(&with, at_s).engine_rpm / sl_drive_at(&without, at_s).engine_rpm;
        apart += fabs(log(ratio)) >= LEAST_STEP ? 1 : 0;
        n++;
    }
    sl_drive_clear(&with);
    sl_drive_clear(&without);
    return drove && 4 * apart >= 3 * n;
}

/* The last part of the phrase that begins with part i. */
static size_t last_part(const struct corpus_labels *labels, size_t i)
{
    const struct corpus_said *said = labels->said;
    while (i + 1 < labels->n_said && strcmp(said[i + 1].what, said[i].what) == 0 &&
           said[i + 1].start_s - said[i].end_s < GOES_ON_S) {
        i++;
    }
    return i;
}

static void print_changes(const struct both *both, const struct model *model,
                          const struct corpus_labels *labels, double learner_s, FILE *screen)
{
    double length_s = (double)both->microphone.n / RATE;
    size_t last = 0;
    for (size_t i = 0; i < labels->n_said; i = last + 1) {
        const struct corpus_said *said = &labels->said[i];
        const char *what = NULL;
        last = last_part(labels, i);
        struct span span = {learner_s + said->end_s + SOONEST_S,
                            learner_s + labels->said[last].end_s + LATEST_S};
        if (span.to_s + 1 > length_s) {
            break;
        }
        double at_s = find_change(said, both->speaker, &span, &what);
        bool early = at_s < learner_s + said->end_s + EARLY_S;
        size_t by = i; /* the last part that was over by then */
        while (by < last && learner_s + labels->said[by + 1].end_s + SOONEST_S < at_s) {
            by++;
        }
        bool pitch = said->settings.speed_mps > 0 || said->settings.gear > 0;
        if (what != NULL && pitch && !steps(model, labels, i)) {
            printf("~    %-8s %s\n", what, said->text);
        } else if (what != NULL && !was_heard(screen, labels, i, last)) {
            printf("?    %-8s %s\n", what, said->text);
        } else if (what != NULL && (isnan(at_s) || early)) {
            printf("%s    %-8s %s\n", early ? "<" : "-", what, said->text);
        } else if (what != NULL) {
            double after_s = at_s - learner_s - labels->said[by].end_s;
            printf("%4.0f %-8s %s%s\n", 1000 * after_s, what, said->text, by < last ? " +" : "");
        }
    }
}

int main(int argc, char **argv)
{
    struct both both = {0};
    struct sl_clip learner = {0};
    struct corpus_labels labels = {0};
    struct model model = {0};
    int code = 2;
    FILE *screen = argc == 5 ? fopen(argv[4], "r") : NULL;
    if (screen != NULL && load_both(argv[1], &both) && load_sound(argv[2], &learner) == SL_OK &&
        corpus_labels_read(argv[3], &labels, NULL) == SL_OK && labels.n_said > 0 &&
        load_model(&labels, &model)) {
        double learner_s = find_learner_s(&both.microphone, &learner, &labels);
        code = isnan(learner_s) ? 1 : 0;
        if (code == 0) {
            print_changes(&both, &model, &labels, learner_s, screen);
        }
    }
    if (screen != NULL) {
        (void)fclose(screen);
    }
    free(both.microphone.samples);
    free(both.speaker);
    free(learner.samples);
    corpus_labels_clear(&labels);
    model_clear(&model);
    return code;
}
