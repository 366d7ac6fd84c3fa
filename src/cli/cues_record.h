/*
 * The conversation of `sayline cues record`: prompt by prompt, with a check and retakes.
 */
#ifndef SL_CLI_CUES_RECORD_H
#define SL_CLI_CUES_RECORD_H

#include "files/cue_manifest.h"
#include "practice/cue_texts.h"
#include "sound/endpoint.h"

/* Asks for every text that the pack lacks; answers come from standard input, whose end stops it.
 * Each take that is kept is in the pack at once. */
enum sl_status sl_cues_record(struct sl_cue_manifest *pack, const struct sl_cue_texts *texts,
                              struct sl_endpoint *endpoint, struct sl_error *error);

#endif
