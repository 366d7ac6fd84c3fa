/*
 * Speaking with the voices of the program `festival`, which runs beside this one and is told what
 * to say. Debian packages: festival, festvox-kallpc16k, festvox-kdlpc16k, festvox-us-slt-hts.
 */
#ifndef CORPUS_FESTIVAL_H
#define CORPUS_FESTIVAL_H

#include "core/status.h"
#include "sound/speak.h"

#include <stdbool.h>

struct corpus_festival;

/* Starts the program. SL_NOT_FOUND when it or one of the voices is not installed (mend: the
 * packages); SL_IO when no process or folder can be had. */
enum sl_status corpus_festival_start(struct corpus_festival **festival, struct sl_error *error);

/* "festival-kal", "festival-ked" (diphones at 16 kHz), "festival-slt" (a statistical model). */
bool corpus_festival_has(const char *voice);

/* Whether its pitch can be changed: Debian's build of the statistical model's engine cannot. */
bool corpus_festival_shifts(const char *voice);

/*
 * As sl_speak; stretch and pitch must be given. SL_NOT_FOUND for an unknown voice, SL_INVALID for
 * another pitch than 1 of a voice that does not shift, SL_IO when the program is no longer there.
 */
enum sl_status corpus_festival_speak(struct corpus_festival *festival, const char *voice,
                                     const char *text, const struct sl_manner *manner,
                                     struct sl_spoken *spoken, struct sl_error *error);

/* Ends the program. NULL is fine. */
void corpus_festival_stop(struct corpus_festival *festival);

#endif
