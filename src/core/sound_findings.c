#include "core/sound_findings.h"

#include <math.h>

#define SWING_MOST_DB 12.0 /* of a room's noise; a word or a knock is above it */
#define LOUD_LEAK_DB (-10.0)
#define LATE_S 0.5
#define STAMPS_OFF_S 0.02 /* as much as the bar on cues against the plan */
#define LOST_MOST_S 0.01

static unsigned when(bool is, enum sl_sound_finding finding)
{
    return is ? (unsigned)finding : 0;
}

static unsigned voice_findings(const struct sl_sound_figures *figures)
{
    unsigned notices = figures->levels.notices;
    if ((notices & SL_NOTICE_SILENT) != 0) {
        return SL_SOUND_SILENT;
    }
    return when((notices & SL_NOTICE_QUIET) != 0, SL_SOUND_QUIET) |
           when((notices & SL_NOTICE_CLIPPED) != 0, SL_SOUND_CLIPPED) |
           when((notices & SL_NOTICE_NOISY) != 0, SL_SOUND_NOISY) |
           when(figures->speech_s < SL_SOUND_SPEECH_LEAST_S, SL_SOUND_SHORT);
}

static unsigned echo_findings(const struct sl_sound_figures *figures)
{
    if (!figures->played) {
        return 0;
    }
    if (!figures->echo_heard) {
        return figures->disturbed ? SL_SOUND_DISTURBED : SL_SOUND_NO_ECHO;
    }
    double off_s = fabs(figures->round_trip_s - figures->stamps_s);
    return when(figures->leak_db > LOUD_LEAK_DB, SL_SOUND_LOUD_ECHO) |
           when(!figures->cancelled, SL_SOUND_STAYING_ECHO) |
           when(figures->round_trip_s > LATE_S, SL_SOUND_LATE) |
           when(figures->stamps_known && off_s > STAMPS_OFF_S, SL_SOUND_STAMPS);
}

unsigned sl_sound_findings(const struct sl_sound_figures *figures)
{
    unsigned lost = when(figures->lost_s > LOST_MOST_S || figures->xruns > 0, SL_SOUND_LOST);
    if (figures->empty) {
        return SL_SOUND_EMPTY | lost;
    }
    return voice_findings(figures) | echo_findings(figures) | lost |
           when(figures->noise_swing > SWING_MOST_DB, SL_SOUND_RESTLESS);
}

bool sl_sound_voice_is_good(unsigned findings)
{
    unsigned bad = SL_SOUND_EMPTY | SL_SOUND_SILENT | SL_SOUND_QUIET | SL_SOUND_CLIPPED |
                   SL_SOUND_NOISY | SL_SOUND_SHORT;
    return (findings & bad) == 0;
}
