#include "sound/hush.h"

#include <fcntl.h>
#include <stdio.h>
#include <unistd.h>

int sl_hush_begin(void)
{
    (void)fflush(stderr);
    int nowhere = open("/dev/null", O_WRONLY | O_CLOEXEC);
    int kept = nowhere < 0 ? -1 : fcntl(STDERR_FILENO, F_DUPFD_CLOEXEC, STDERR_FILENO + 1);
    if (kept >= 0) {
        (void)dup2(nowhere, STDERR_FILENO);
    }
    if (nowhere >= 0) {
        close(nowhere);
    }
    return kept;
}

void sl_hush_end(int kept)
{
    if (kept >= 0) {
        (void)fflush(stderr);
        (void)dup2(kept, STDERR_FILENO);
        close(kept);
    }
}
