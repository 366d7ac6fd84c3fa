#include "report/run_exports.h"

#include "report/mark_words.h"
#include "report/text.h"

#include <math.h>
#include <stdlib.h>

#define SHORTEST_MS 1 /* a cue ends after it begins */

struct cue {
    double start_s, end_s;
    const char *words; /* NULL: nothing was said */
    size_t phase;      /* n_phases and more: no phase of the routine */
};

static void add_time(struct sl_str *out, long ms)
{
    sl_str_addf(out, "%02ld:%02ld:%02ld.%03ld", ms / 3600000, ms / 60000 % 60, ms / 1000 % 60,
                ms % 1000);
}

/* Text of a cue: what would begin a tag or a reference is written as a reference. */
static void add_text(struct sl_str *out, const char *text)
{
    struct sl_str clean = {0};
    sl_text_clean(&clean, text);
    for (const char *at = sl_str_text(&clean); *at != '\0'; at++) {
        switch (*at) {
        case '&':
            sl_str_add(out, "&amp;");
            break;
        case '<':
            sl_str_add(out, "&lt;");
            break;
        case '>':
            sl_str_add(out, "&gt;");
            break;
        default:
            sl_str_add_bytes(out, at, 1);
        }
    }
    out->failed = out->failed || clean.failed;
    sl_str_clear(&clean);
}

static void add_cue(struct sl_str *out, const struct sl_mark_view *view, const struct cue *cue,
                    size_t number)
{
    long start_ms = lround(1000.0 * fmax(cue->start_s, 0.0));
    long end_ms = lround(1000.0 * fmax(cue->end_s, 0.0));
    sl_str_addf(out, "\n%zu\n", number);
    add_time(out, start_ms);
    sl_str_add(out, " --> ");
    add_time(out, end_ms > start_ms ? end_ms : start_ms + SHORTEST_MS);
    sl_str_add(out, "\n");
    add_text(out, cue->words == NULL ? "(nothing heard)" : cue->words);
    sl_str_add(out, "\n");
    if (cue->phase < view->mark->n_phases) {
        enum sl_tint tint = SL_TINT_NONE;
        char *verdict = sl_mark_verdict(view->mark, cue->phase, &tint);
        add_text(out, view->routine->phases[cue->phase].title);
        sl_str_add(out, ": ");
        add_text(out, verdict == NULL ? "" : verdict);
        sl_str_add(out, "\n");
        free(verdict);
    }
}

static int by_start(const void *a, const void *b)
{
    const struct cue *first = a;
    const struct cue *second = b;
    return (first->start_s > second->start_s) - (first->start_s < second->start_s);
}

static size_t fill_cues(struct cue *cues, const struct sl_mark_view *view)
{
    size_t n = 0;
    for (size_t i = 0; i < view->heard->count; i++) {
        const struct sl_heard *heard = &view->heard->items[i];
        cues[n++] = (struct cue){heard->start_s, heard->end_s, heard->text, heard->phase};
    }
    for (size_t i = 0; i < view->mark->n_faults; i++) {
        const struct sl_fault *fault = &view->mark->faults[i];
        if (fault->kind == SL_FAULT_MISSED && view->mark->timed) {
            const struct sl_window *window = &view->plan->windows[fault->phase];
            cues[n++] = (struct cue){view->from_s + window->opens_s,
                                     view->from_s + window->closes_s, NULL, fault->phase};
        }
    }
    return n;
}

enum sl_status sl_run_vtt(const struct sl_mark_view *view, char **vtt, struct sl_error *error)
{
    struct cue *cues = calloc(view->heard->count + view->mark->n_faults + 1, sizeof *cues);
    if (cues == NULL) {
        return sl_fail_memory(error);
    }
    struct sl_str out = {0};
    size_t n = fill_cues(cues, view);
    qsort(cues, n, sizeof *cues, by_start);
    sl_str_add(&out, "WEBVTT\n");
    for (size_t i = 0; i < n; i++) {
        add_cue(&out, view, &cues[i], i + 1);
    }
    free(cues);
    char *text = sl_str_take(&out);
    if (text == NULL) {
        return sl_fail_memory(error);
    }
    *vtt = text;
    return SL_OK;
}
