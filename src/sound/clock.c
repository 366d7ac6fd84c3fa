#include "sound/clock.h"

#include <errno.h>
#include <time.h>

double sl_clock_s(void)
{
    struct timespec now = {0};
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + (double)now.tv_nsec * 1e-9;
}

void sl_clock_sleep_s(double time_s)
{
    if (!(time_s > 0)) {
        return;
    }
    struct timespec left = {.tv_sec = (time_t)time_s};
    left.tv_nsec = (long)((time_s - (double)left.tv_sec) * 1e9);
    while (nanosleep(&left, &left) != 0 && errno == EINTR) {
    }
}
