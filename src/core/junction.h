/*
 * A junction as an instructor describes it: pure data with its checks.
 */
#ifndef SL_CORE_JUNCTION_H
#define SL_CORE_JUNCTION_H

#include "core/status.h"
#include "core/view.h"

#include <stdbool.h>

enum sl_kind {
    SL_KIND_T,          /* "t": from the minor road of a T */
    SL_KIND_MAJOR,      /* "major": turning off the major road */
    SL_KIND_CROSSROADS, /* "crossroads": from the minor road of crossroads */
    SL_KIND_ROUNDABOUT, /* "roundabout" */
    SL_KIND_MINI,       /* "mini": mini-roundabout */
    SL_KIND_LIGHTS,     /* "lights": traffic lights */
    SL_KIND_COUNT
};

enum sl_control {
    SL_CONTROL_GIVE_WAY, /* "give-way" */
    SL_CONTROL_STOP,     /* "stop": a stop line; stopping, whatever the view */
    SL_CONTROL_LIGHTS,   /* "lights" */
    SL_CONTROL_COUNT
};

enum sl_turn { SL_TURN_LEFT, SL_TURN_RIGHT, SL_TURN_AHEAD, SL_TURN_COUNT };

enum sl_view { SL_VIEW_OPEN, SL_VIEW_CLOSED, SL_VIEW_COUNT };

/* Words as in files ("t", "give-way", "left", "open"); never NULL for a valid value. */
const char *sl_kind_word(enum sl_kind kind);
const char *sl_control_word(enum sl_control control);
const char *sl_turn_word(enum sl_turn turn);
const char *sl_view_word(enum sl_view view);
/* For people: "T-junction, from the minor road". */
const char *sl_kind_title(enum sl_kind kind);
/* The number for a word, or the _COUNT value when the word names none. */
enum sl_kind sl_kind_from_word(const char *word);
enum sl_control sl_control_from_word(const char *word);
enum sl_turn sl_turn_from_word(const char *word);
enum sl_view sl_view_from_word(const char *word);

/* What a junction file may ask of the decision. */
enum sl_traffic {
    SL_TRAFFIC_ANY,   /* "any": going and waiting are both right answers (the default) */
    SL_TRAFFIC_CLEAR, /* "clear": the scene is clear, go */
    SL_TRAFFIC_BUSY   /* "busy": someone is coming, wait */
};

/* Initialise with {0}; release with sl_junction_clear. */
struct sl_junction {
    char *name;  /* file name without folder and ending; owned */
    char *title; /* for people, may be NULL; owned */
    enum sl_kind kind;
    enum sl_control control;
    enum sl_turn turn;
    enum sl_view view;     /* as stated; ignored when `sight_measured` */
    bool sight_measured;   /* `sight` below holds a measured view */
    struct sl_sight sight; /* what hides the major road */
    double approach_mps;   /* speed before slowing, more than 0, at most 70 mph */
    double distance_m;     /* from the announcement to the line; 0: as long as the plan needs */
    double gradient;       /* fraction, uphill positive, -0.25 to 0.25 */
    bool signal_misleads;  /* a signal here would mislead: none, and say so */
    enum sl_traffic traffic;
};

/* Limits that a junction must keep, so that no later computation meets nonsense. */
#define SL_APPROACH_MAX_MPH                                                                        \
    70.0 /* the highest national limit for cars in Great Britain, Highway Code rule 124 */
#define SL_DISTANCE_MAX_M 2000.0
#define SL_GRADIENT_MAX 0.25

/*
 * Checks the ranges above and what does not go together (no "ahead" at the end of a T or when
 * turning off a road; lights with another control; not a finite number). SL_INVALID with the value
 * and the mend.
 */
enum sl_status sl_junction_check(const struct sl_junction *junction, struct sl_error *error);

/* Releases the strings and sets the struct to {0}. */
void sl_junction_clear(struct sl_junction *junction);

#endif
