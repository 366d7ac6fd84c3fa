#include "cli/screen.h"
enum sl_status sl_screen_full(struct sl_screen *screen, struct sl_error *error)
{
    (void)screen;
    return sl_fail(error, SL_UNSUPPORTED, NULL, NULL, "not yet");
}
