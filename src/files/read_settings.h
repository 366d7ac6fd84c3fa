/*
 * Settings in routine files: {mirrors: [interior, left], signal: left, speed: 10 mph, gear: 2,
 * clutch: up, decision: go, position: left}, each key optional.
 */
#ifndef SL_FILES_READ_SETTINGS_H
#define SL_FILES_READ_SETTINGS_H

#include "core/routine.h"
#include "core/settings.h"
#include "files/reader.h"

/* Fills *settings from a mapping; NULL is fine. */
void sl_read_settings(struct sl_reader *reader, const struct sl_yaml_node *map,
                      struct sl_settings *settings);

/* The same with the key `accept: [8 mph, 12 mph]` beside `speed`, both needed. */
void sl_read_wanted(struct sl_reader *reader, const struct sl_yaml_node *map,
                    struct sl_wanted *wanted);

/* A list of setting keys ("mirrors", "speed_mph") as a set of bits; NULL gives the empty set. */
unsigned sl_read_setting_set(struct sl_reader *reader, const struct sl_yaml_node *list);

#endif
