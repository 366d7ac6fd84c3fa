/*
 * The parts of a routine file; shared by load_routine.c and its neighbours (load_recall.c among
 * them) only. Each takes a node
 * that may be NULL once the reader has refused something.
 */
#ifndef SL_FILES_LOAD_ROUTINE_H
#define SL_FILES_LOAD_ROUTINE_H

#include "core/routine.h"
#include "files/reader.h"

#define SL_RULES_MAX 64

/* {missed: ..., out-of-order: ...}, a sentence a kind of fault. `all`: every kind is needed. */
void sl_read_why(struct sl_reader *reader, const struct sl_yaml_node *map, bool all,
                 char *why[SL_FAULT_KIND_COUNT]);

/* The list of rules; the phases must have been read. */
void sl_read_rules(struct sl_reader *reader, const struct sl_yaml_node *list,
                   struct sl_routine *routine);

/* The id of one of the routine's phases: its index, 0 after refusing. */
size_t sl_read_phase_id(struct sl_reader *reader, const struct sl_yaml_node *node,
                        const struct sl_routine *routine);

void sl_read_timing(struct sl_reader *reader, const struct sl_yaml_node *map,
                    struct sl_timing *timing);
void sl_read_scoring(struct sl_reader *reader, const struct sl_yaml_node *map,
                     struct sl_scoring *scoring);

/* Slots, phrases of each phase, fillers and corrections, and the graph compiled from them. */
void sl_read_phrases(struct sl_reader *reader, const struct sl_yaml_node *map,
                     struct sl_routine *routine);

/* The answers file: phrases for open, closed, pass and single settings, and their graph. */
void sl_read_answers(struct sl_reader *reader, const struct sl_yaml_node *map,
                     struct sl_phrasebook *book);

#endif
