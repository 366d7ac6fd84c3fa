/*
 * Keeping what sound libraries print to standard error from the user.
 */
#ifndef SL_SOUND_HUSH_H
#define SL_SOUND_HUSH_H

/* Sends everything the process prints to standard error to nowhere; returns what sl_hush_end needs,
 * -1 when it cannot. All threads are silenced. Pairs may be nested. */
int sl_hush_begin(void);

/* Gives standard error back. */
void sl_hush_end(int kept);

#endif
