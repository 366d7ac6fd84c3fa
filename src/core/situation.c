#include "core/situation.h"

#include "core/random.h"

#include <math.h>

/* Seen so long before the decision is due, so that it is heard by then. Ours, no source. */
#define BEFORE_DECISION_S 2.0
/* Seen so long before the signal may be given. */
#define BEFORE_SIGNAL_S 0.5
/* One in so many junctions has another side road close by. */
#define MISLEADS_ONE_IN 4

#define KIND(kind) (1U << (unsigned)(kind))
#define TURN(turn) (1U << (unsigned)(turn))
#define GIVES_WAY                                                                                  \
    (KIND(SL_KIND_T) | KIND(SL_KIND_CROSSROADS) | KIND(SL_KIND_ROUNDABOUT) | KIND(SL_KIND_MINI))
#define NO_LIGHTS (GIVES_WAY | KIND(SL_KIND_MAJOR))
#define TURNS (TURN(SL_TURN_LEFT) | TURN(SL_TURN_RIGHT))
#define ANY_TURN (TURNS | TURN(SL_TURN_AHEAD))

static const struct {
    const char *text;
    enum sl_traffic traffic;
    unsigned kinds, turns;
} events[] = {
    {"Cyclist passing on your left.", SL_TRAFFIC_BUSY, NO_LIGHTS, TURN(SL_TURN_LEFT)},
    {"Van from the right.", SL_TRAFFIC_BUSY, GIVES_WAY, ANY_TURN},
    {"Car coming towards you.", SL_TRAFFIC_BUSY, KIND(SL_KIND_MAJOR) | KIND(SL_KIND_CROSSROADS),
     TURN(SL_TURN_RIGHT)},
    {"Someone is crossing the road that you turn into.", SL_TRAFFIC_BUSY, NO_LIGHTS, TURNS},
    {"Clear to the right, and clear to the left.", SL_TRAFFIC_CLEAR, GIVES_WAY, ANY_TURN},
    {"Nobody coming, nobody crossing.", SL_TRAFFIC_CLEAR, NO_LIGHTS, ANY_TURN},
    {"The lights turn red.", SL_TRAFFIC_BUSY, KIND(SL_KIND_LIGHTS), ANY_TURN},
    {"The lights are green, and the way is clear.", SL_TRAFFIC_CLEAR, KIND(SL_KIND_LIGHTS),
     ANY_TURN},
};

#define N_EVENTS (sizeof events / sizeof events[0])

/* When the first phase of a moment is due, or opens; INFINITY where the routine has none. */
static double moment_s(const struct sl_routine *routine, const struct sl_plan *plan,
                       enum sl_moment moment, bool opens)
{
    for (size_t i = 0; i < routine->n_phases; i++) {
        if (routine->phases[i].moment == moment) {
            return opens ? plan->windows[i].opens_s : plan->windows[i].due_s;
        }
    }
    return INFINITY;
}

/* What is seen where the plan is at this moment. */
static void add(struct sl_situation *situation, const struct sl_plan *plan, double at_s,
                const char *text)
{
    struct sl_road_event *event = &situation->events[situation->n_events++];
    event->distance_m = sl_plan_distance_m(plan, fmax(at_s, 0.0));
    event->text = text;
}

/* One that can happen here, clear as often as busy. */
static size_t choose(const struct sl_junction *junction, uint64_t *chance)
{
    size_t fitting[N_EVENTS] = {0};
    size_t n = 0;
    enum sl_traffic traffic = sl_random_below(chance, 2) == 0 ? SL_TRAFFIC_CLEAR : SL_TRAFFIC_BUSY;
    for (size_t i = 0; i < N_EVENTS; i++) {
        if (events[i].traffic == traffic && (events[i].kinds & KIND(junction->kind)) != 0 &&
            (events[i].turns & TURN(junction->turn)) != 0) {
            fitting[n++] = i;
        }
    }
    return n > 0 ? fitting[sl_random_below(chance, n)] : N_EVENTS;
}

void sl_situation_make(const struct sl_junction *junction, const struct sl_routine *routine,
                       const struct sl_plan *plan, uint64_t seed, struct sl_situation *situation)
{
    *situation = (struct sl_situation){.traffic = SL_TRAFFIC_ANY};
    uint64_t chance = seed;
    bool misleads = sl_random_below(&chance, MISLEADS_ONE_IN) == 0;
    double signal_s = moment_s(routine, plan, SL_MOMENT_SIGNAL, true);
    if (misleads && !junction->signal_misleads && junction->turn != SL_TURN_AHEAD &&
        isfinite(signal_s)) {
        situation->signal_misleads = true;
        add(situation, plan, signal_s - BEFORE_SIGNAL_S,
            junction->turn == SL_TURN_LEFT ? "Another road on the left, just before yours."
                                           : "Another road on the right, just before yours.");
    }
    size_t event = choose(junction, &chance);
    double decision_s = moment_s(routine, plan, SL_MOMENT_DECIDE, false);
    if (junction->traffic == SL_TRAFFIC_ANY && junction->control != SL_CONTROL_STOP &&
        event < N_EVENTS && isfinite(decision_s)) {
        situation->traffic = events[event].traffic;
        add(situation, plan, decision_s - BEFORE_DECISION_S, events[event].text);
    }
}

void sl_situation_apply(const struct sl_situation *situation, struct sl_junction *junction)
{
    junction->signal_misleads = junction->signal_misleads || situation->signal_misleads;
    if (situation->traffic != SL_TRAFFIC_ANY) {
        junction->traffic = situation->traffic;
    }
}
