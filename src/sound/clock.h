/*
 * The monotonic clock of the computer, for pacing and for watching over devices; what is heard and
 * played is dated by counting frames, never by this.
 */
#ifndef SL_SOUND_CLOCK_H
#define SL_SOUND_CLOCK_H

/* Seconds since some fixed moment; never goes back. */
double sl_clock_s(void);

/* Sleeps for `time_s` seconds, or a little longer; at once when not above 0. */
void sl_clock_sleep_s(double time_s);

#endif
