#include "cli/interrupt.h"

#include <pthread.h>
#include <stddef.h>
#include <time.h>

static sigset_t held_signals(void)
{
    sigset_t held;
    sigemptyset(&held);
    sigaddset(&held, SIGINT);
    sigaddset(&held, SIGTERM);
    sigaddset(&held, SIGHUP);
    sigaddset(&held, SIGQUIT);
    return held;
}

void sl_interrupt_hold(struct sl_interrupt *interrupt)
{
    sigset_t held = held_signals();
    atomic_init(&interrupt->caught, 0);
    pthread_sigmask(SIG_BLOCK, &held, &interrupt->before);
    struct sigaction ignore = {.sa_handler = SIG_IGN};
    sigaction(SIGPIPE, &ignore, NULL);
    sigaction(SIGXFSZ, &ignore, NULL);
}

int sl_interrupt_caught(struct sl_interrupt *interrupt)
{
    sigset_t held = held_signals();
    struct timespec at_once = {0};
    int found = sigtimedwait(&held, NULL, &at_once);
    int none = 0;
    if (found > 0) {
        atomic_compare_exchange_strong(&interrupt->caught, &none, found);
    }
    return atomic_load(&interrupt->caught);
}

void sl_interrupt_release(struct sl_interrupt *interrupt)
{
    pthread_sigmask(SIG_SETMASK, &interrupt->before, NULL);
}
