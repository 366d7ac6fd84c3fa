#include "steps.h"

#include "core/units.h"

#include <math.h>
#include <string.h>

#define EARLY_LATE_LEAST_S 0.8
#define EARLY_LATE_MOST_S 1.6
#define STEP_ASIDE_S 2.0 /* the others make way for a step that is early or late */

const char *corpus_fault_word(int kind)
{
    return kind == CORPUS_CORRECTED ? "corrected" : sl_fault_word((enum sl_fault_kind)kind);
}

/* A speed that people say, within what is right. */
static double right_speed(struct corpus_rng *rng, const struct sl_wanted *wanted)
{
    double mph = 5.0 * (double)(1 + corpus_rng_below(rng, 6));
    double speed_mps = sl_mps_from_mph(mph);
    bool right =
        speed_mps >= wanted->speed_min_mps - 0.01 && speed_mps <= wanted->speed_max_mps + 0.01;
    return right ? speed_mps : wanted->settings.speed_mps;
}

/* What is right in this phase; free choices are made. */
static struct sl_settings right_settings(struct corpus_rng *rng, const struct corpus_scene *scene,
                                         size_t phase)
{
    const struct sl_wanted *wanted = &scene->wanted[phase];
    unsigned carries = scene->routine->phases[phase].carries;
    struct sl_settings settings = wanted->settings;
    if ((carries & SL_SET_SPEED) != 0) {
        settings.speed_mps = right_speed(rng, wanted);
    }
    if ((carries & SL_SET_DECISION) != 0 && settings.decision == SL_DECISION_UNSAID) {
        settings.decision = corpus_rng_chance(rng, 0.5) ? SL_DECISION_GO : SL_DECISION_WAIT;
    }
    return settings;
}

void corpus_steps_right(struct corpus_rng *rng, const struct corpus_scene *scene, bool timed,
                        struct corpus_steps *steps)
{
    *steps = (struct corpus_steps){.n = scene->routine->n_phases, .timed = timed};
    for (size_t i = 0; i < steps->n; i++) {
        const struct sl_window *window = &scene->plan.windows[i];
        double near_s = window->due_s + corpus_rng_between(rng, -0.4, 0.6);
        double at_s = fmin(fmax(near_s, window->opens_s + 0.2), window->closes_s - 0.5);
        steps->items[i] = (struct corpus_step){.phase = i,
                                               .settings = right_settings(rng, scene, i),
                                               .required = scene->routine->phases[i].required,
                                               .at_s = timed ? at_s : NAN};
    }
}

static bool wrong_mirrors(struct corpus_rng *rng, struct sl_settings *settings)
{
    if (settings->n_mirrors == 1 && settings->mirrors[0] == SL_MIRROR_INTERIOR) {
        settings->mirrors[0] = corpus_rng_chance(rng, 0.5) ? SL_MIRROR_LEFT : SL_MIRROR_RIGHT;
        return true;
    }
    for (size_t i = 0; i < settings->n_mirrors; i++) {
        enum sl_mirror *mirror = &settings->mirrors[i];
        bool side = *mirror != SL_MIRROR_INTERIOR;
        if (side && settings->n_mirrors == 2 && corpus_rng_chance(rng, 0.3)) {
            settings->mirrors[0] = SL_MIRROR_INTERIOR;
            settings->n_mirrors = 1;
            return true;
        }
        if (side && settings->n_mirrors <= 2) {
            *mirror = *mirror == SL_MIRROR_LEFT ? SL_MIRROR_RIGHT : SL_MIRROR_LEFT;
            return true;
        }
    }
    return false;
}

static bool wrong_signal(struct corpus_rng *rng, struct sl_settings *settings)
{
    enum sl_signal right = settings->signal;
    while (settings->signal == right) {
        settings->signal = (enum sl_signal)(SL_SIGNAL_LEFT + corpus_rng_below(rng, 3));
    }
    return true;
}

/* Five for ten, ten for five, or another that is out of range. */
static bool wrong_speed(struct corpus_rng *rng, const struct sl_wanted *wanted,
                        struct sl_settings *settings)
{
    static const double said_mph[] = {5, 10, 5, 10, 15, 20};
    for (int try = 0; try < 40; try++) {
        double speed_mps = sl_mps_from_mph(said_mph[corpus_rng_below(rng, 6)]);
        if (speed_mps < wanted->speed_min_mps - 0.2 || speed_mps > wanted->speed_max_mps + 0.2) {
            settings->speed_mps = speed_mps;
            return true;
        }
    }
    return false;
}

static bool wrong_gear(struct corpus_rng *rng, struct sl_settings *settings)
{
    bool clutch = settings->clutch != SL_CLUTCH_UNSAID;
    if (clutch && corpus_rng_chance(rng, 0.4)) {
        settings->clutch = settings->clutch == SL_CLUTCH_UP ? SL_CLUTCH_DOWN : SL_CLUTCH_UP;
    } else {
        settings->gear = settings->gear == 1 || corpus_rng_chance(rng, 0.2) ? settings->gear + 1
                                                                            : settings->gear - 1;
    }
    return true;
}

/* Makes one of the settings of a phase wrong. */
static bool make_wrong(struct corpus_rng *rng, const struct sl_wanted *wanted,
                       struct sl_settings *settings)
{
    unsigned named = sl_settings_named(&wanted->settings);
    if ((named & SL_SET_MIRRORS) != 0) {
        return wrong_mirrors(rng, settings);
    }
    if ((named & SL_SET_SIGNAL) != 0) {
        return wrong_signal(rng, settings);
    }
    if ((named & SL_SET_SPEED) != 0) {
        return wrong_speed(rng, wanted, settings);
    }
    if ((named & SL_SET_GEAR) != 0) {
        return wrong_gear(rng, settings);
    }
    if ((named & SL_SET_DECISION) != 0) {
        settings->decision =
            settings->decision == SL_DECISION_GO ? SL_DECISION_WAIT : SL_DECISION_GO;
        return true;
    }
    return false;
}

/* The settings of `a` that are not as in `b`. */
static unsigned differing(const struct sl_settings *a, const struct sl_settings *b)
{
    unsigned bits = 0;
    for (unsigned bit = 1; bit < SL_SET_ALL; bit <<= 1) {
        struct sl_settings one = sl_settings_only(a, bit);
        struct sl_settings other = sl_settings_only(b, bit);
        bits |= sl_settings_equal(&one, &other) ? 0 : bit;
    }
    return bits;
}

static size_t find_step(const struct corpus_steps *steps, size_t phase)
{
    size_t i = 0;
    while (i < steps->n && steps->items[i].phase != phase) {
        i++;
    }
    return i;
}

static void remove_step(struct corpus_steps *steps, size_t at)
{
    steps->n--;
    memmove(&steps->items[at], &steps->items[at + 1], (steps->n - at) * sizeof steps->items[0]);
}

static void insert_step(struct corpus_steps *steps, size_t at, const struct corpus_step *step)
{
    struct corpus_step copy = *step;
    memmove(&steps->items[at + 1], &steps->items[at], (steps->n - at) * sizeof steps->items[0]);
    steps->items[at] = copy;
    steps->n++;
}

static bool faulty(const struct corpus_steps *steps, size_t phase)
{
    for (size_t i = 0; i < steps->n_faults; i++) {
        if (steps->faults[i].phase == phase || steps->faults[i].other == phase) {
            return true;
        }
    }
    return false;
}

static bool has_kind(const struct corpus_steps *steps, int kind)
{
    for (size_t i = 0; i < steps->n_faults; i++) {
        if (steps->faults[i].kind == kind) {
            return true;
        }
    }
    return false;
}

static void note(struct corpus_steps *steps, int kind, size_t phase, size_t other)
{
    steps->faults[steps->n_faults++] = (struct corpus_fault){kind, phase, other};
}

/* The door mirror before the interior one: the routine has a rule of its own about that. */
static bool turn_mirrors(struct corpus_steps *steps)
{
    struct sl_settings *settings = &steps->items[0].settings;
    if (settings->n_mirrors != 2) {
        return false;
    }
    enum sl_mirror first = settings->mirrors[0];
    settings->mirrors[0] = settings->mirrors[1];
    settings->mirrors[1] = first;
    return true;
}

/* The step is said just before the one that it should follow. */
static bool move_forward(struct corpus_steps *steps, size_t at)
{
    if (at == 0) {
        return turn_mirrors(steps);
    }
    if (faulty(steps, steps->items[at - 1].phase) || has_kind(steps, SL_FAULT_EXTRA)) {
        return false;
    }
    struct corpus_step moved = steps->items[at];
    size_t other = steps->items[at - 1].phase;
    moved.out_of_place = true;
    moved.at_s = steps->items[at - 1].at_s - 2.5;
    remove_step(steps, at);
    insert_step(steps, at - 1, &moved);
    note(steps, SL_FAULT_OUT_OF_ORDER, moved.phase, other);
    return true;
}

/* The step is said once more, with at least one other in between. */
static bool repeat(struct corpus_rng *rng, struct corpus_steps *steps, size_t at)
{
    if (at + 2 >= steps->n || has_kind(steps, SL_FAULT_OUT_OF_ORDER)) {
        return false;
    }
    struct corpus_step again = steps->items[at];
    size_t after = at + 2 + corpus_rng_below(rng, steps->n - at - 2);
    again.out_of_place = true;
    again.at_s = steps->items[after].at_s - 2.0;
    insert_step(steps, after, &again);
    note(steps, SL_FAULT_EXTRA, again.phase, again.phase);
    return true;
}

static bool move_in_time(struct corpus_rng *rng, const struct corpus_scene *scene, int kind,
                         struct corpus_steps *steps, size_t at)
{
    if (!steps->timed || steps->n_faults > 0) {
        return false;
    }
    struct corpus_step *step = &steps->items[at];
    const struct sl_window *window = &scene->plan.windows[step->phase];
    double off_s = corpus_rng_between(rng, EARLY_LATE_LEAST_S, EARLY_LATE_MOST_S);
    step->at_s = kind == SL_FAULT_EARLY ? window->opens_s - off_s : window->closes_s + off_s;
    if (step->at_s < 0.2) {
        return false;
    }
    for (size_t i = 0; i < at; i++) {
        double back_s = (double)(at - i) * STEP_ASIDE_S;
        steps->items[i].at_s = fmin(steps->items[i].at_s, step->at_s - back_s);
    }
    for (size_t i = at + 1; i < steps->n; i++) {
        double on_s = (double)(i - at) * STEP_ASIDE_S;
        steps->items[i].at_s = fmax(steps->items[i].at_s, step->at_s + on_s);
    }
    note(steps, kind, step->phase, step->phase);
    return true;
}

bool corpus_steps_fault(struct corpus_rng *rng, const struct corpus_scene *scene, int kind,
                        size_t phase, struct corpus_steps *steps)
{
    size_t at = find_step(steps, phase);
    if (at == steps->n || faulty(steps, phase) || steps->n_faults == CORPUS_FAULTS_MAX) {
        return false;
    }
    struct corpus_steps before = *steps;
    struct corpus_step *step = &steps->items[at];
    bool done = true;
    switch (kind) {
    case SL_FAULT_MISSED:
        done = corpus_scene_needs(scene, phase) && !has_kind(steps, SL_FAULT_EXTRA);
        remove_step(steps, at);
        break;
    case SL_FAULT_WRONG_SETTING:
        done = make_wrong(rng, &scene->wanted[phase], &step->settings);
        step->required = SL_SET_ALL;
        break;
    case CORPUS_CORRECTED:
        step->corrected = true;
        step->slip = step->settings;
        step->required = SL_SET_ALL;
        /* A mirror that was left out and is then said is no correction, only an addition. */
        done = make_wrong(rng, &scene->wanted[phase], &step->slip) &&
               step->slip.n_mirrors == step->settings.n_mirrors;
        step->slip = sl_settings_only(&step->slip, differing(&step->slip, &step->settings));
        break;
    case SL_FAULT_UNCLEAR:
        step->mumbled = true;
        break;
    case SL_FAULT_OUT_OF_ORDER:
        done = move_forward(steps, at);
        break;
    case SL_FAULT_EXTRA:
        done = repeat(rng, steps, at);
        break;
    default:
        done = move_in_time(rng, scene, kind, steps, at);
        break;
    }
    if (!done) {
        *steps = before;
    } else if (steps->n_faults == before.n_faults) {
        note(steps, kind, phase, phase);
    }
    return done;
}

void corpus_steps_draw(struct corpus_rng *rng, const struct corpus_scene *scene, size_t most,
                       struct corpus_steps *steps)
{
    static const int kinds[] = {
        SL_FAULT_MISSED,        SL_FAULT_MISSED,        SL_FAULT_OUT_OF_ORDER,
        SL_FAULT_OUT_OF_ORDER,  SL_FAULT_WRONG_SETTING, SL_FAULT_WRONG_SETTING,
        SL_FAULT_WRONG_SETTING, SL_FAULT_EXTRA,         CORPUS_CORRECTED,
        SL_FAULT_EARLY,         SL_FAULT_LATE,          SL_FAULT_LATE};
    size_t n_kinds = sizeof kinds / sizeof kinds[0] - (steps->timed ? 0 : 3);
    for (int try = 0; try < 60 && steps->n_faults < most; try++) {
        int kind = kinds[corpus_rng_below(rng, n_kinds)];
        size_t phase = corpus_rng_below(rng, scene->routine->n_phases);
        (void)corpus_steps_fault(rng, scene, kind, phase, steps);
    }
}
