/*
 * A run for other programs: subtitles (WebVTT, W3C) and labels for an audio editor (TextGrid of
 * Praat, long text format, UTF-8). Times are the recording's, from its first sample.
 */
#ifndef SL_REPORT_RUN_EXPORTS_H
#define SL_REPORT_RUN_EXPORTS_H

#include "report/table.h"

/* A cue for each phrase heard, with the verdict on its phase in the second line, and one for each
 * phase that was missed, over its window (timed marks only). In order of start. The caller frees;
 * SL_NO_MEMORY. */
enum sl_status sl_run_vtt(const struct sl_mark_view *view, char **vtt, struct sl_error *error);

/*
 * Three tiers: "windows", points at which a phase opens, is due and closes (windows overlap, which
 * intervals of a tier may not; none in an untimed mark); "heard", an interval for each phrase;
 * "faults", a point for each fault, at what was heard, or where it was due. Points of one moment
 * are one. The grid is as long as the recording, or as the last point. The caller frees;
 * SL_NO_MEMORY.
 */
enum sl_status sl_run_textgrid(const struct sl_mark_view *view, char **textgrid,
                               struct sl_error *error);

#endif
