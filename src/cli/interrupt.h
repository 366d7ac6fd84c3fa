/*
 * Ctrl-C and its like, held back while a run is under way, so that it can end in good order. No
 * handler and no global: the signals are blocked and looked for.
 */
#ifndef SL_CLI_INTERRUPT_H
#define SL_CLI_INTERRUPT_H

#include <signal.h>
#include <stdatomic.h>

struct sl_interrupt {
    sigset_t before; /* signals blocked before */
    atomic_int caught;
};

/* From now on Ctrl-C, a hang-up and a request to end are held back; call it before any thread is
 * started. A pipe that nobody reads and a file that grew too large become errors of writing. */
void sl_interrupt_hold(struct sl_interrupt *interrupt);

/* The signal that came since, the first one; 0: none. Any thread. */
int sl_interrupt_caught(struct sl_interrupt *interrupt);

/* Signals end the program at once again. */
void sl_interrupt_release(struct sl_interrupt *interrupt);

#endif
