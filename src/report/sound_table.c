#include "report/sound_table.h"

#include "report/facts.h"
#include "report/text.h"

#include <math.h>

/* Labels of what is to be done stand out of the figures. */
#define CHANGE "  - "

static void fact(struct sl_str *out, const char *label, struct sl_str *text, int width)
{
    sl_fact(out, label, sl_str_text(text), width);
    out->failed = out->failed || text->failed;
    sl_str_clear(text);
}

static void voice_facts(struct sl_str *out, const struct sl_sound_figures *figures, int width)
{
    const struct sl_level_report *levels = &figures->levels;
    struct sl_str text = {0};
    if ((levels->notices & SL_NOTICE_SILENT) != 0) {
        sl_fact(out, "voice", "none was heard", width);
        return;
    }
    sl_str_addf(&text, "%.0f dB, %.0f dB above the noise, highest peak %.0f dB", levels->speech_db,
                levels->snr_db, levels->peak_db);
    if (levels->clipped_share > 0) {
        sl_str_addf(&text, ", %.2f %% of it cut off", 100 * levels->clipped_share);
    }
    sl_str_addf(&text, "; heard for %.1f s", figures->speech_s);
    fact(out, "voice", &text, width);
}

static void echo_facts(struct sl_str *out, const struct sl_sound_figures *figures, int width)
{
    struct sl_str text = {0};
    if (!figures->played) {
        sl_fact(out, "echo", "not measured: nothing was played", width);
        return;
    }
    if (!figures->echo_heard) {
        sl_fact(out, "echo", "the cue did not come back", width);
        return;
    }
    sl_str_addf(&text, "the cue comes back at %.0f dB of what is played, and is %s",
                figures->leak_db, figures->cancelled ? "taken out" : "not taken out");
    fact(out, "echo", &text, width);
    sl_str_addf(&text, "%.0f ms from speaker to microphone", 1000 * figures->round_trip_s);
    if (figures->stamps_known) {
        sl_str_addf(&text, " (the sound system says %.0f ms)", 1000 * figures->stamps_s);
    }
    fact(out, "round trip", &text, width);
}

static void heard_fact(struct sl_str *out, const struct sl_heard_list *heard, int width)
{
    struct sl_str text = {0};
    for (size_t i = 0; i < heard->count; i++) {
        sl_str_addf(&text, "%s\"%s\"", i > 0 ? ", " : "", heard->items[i].text);
    }
    if (heard->count == 0) {
        sl_str_add(&text, "no phrase of the routine");
    }
    fact(out, "heard", &text, width);
}

static void changes(struct sl_str *out, unsigned findings, const struct sl_style *style, int width)
{
    static const struct {
        unsigned bit;
        const char *text;
    } texts[] = {
#define TEXT(code, bit, word, text) {bit, text},
        SL_SOUND_FINDING_MAP(TEXT)
#undef TEXT
    };
    if ((findings & ~SL_SOUND_HARMLESS) == 0) {
        sl_str_add(out, "\n");
        sl_text_tinted(out, "Good to go.", SL_TINT_GOOD, style->colour);
        sl_str_add(out, findings == 0 ? " Nothing to change.\n" : " To know:\n");
    } else {
        sl_str_add(out, "\n");
        sl_text_tinted(out, "To change:", SL_TINT_BAD, style->colour);
        sl_str_add(out, "\n");
    }
    for (size_t i = 0; i < sizeof texts / sizeof *texts; i++) {
        if ((findings & texts[i].bit) != 0) {
            sl_text_fact(out, CHANGE, texts[i].text, width);
        }
    }
}

void sl_report_sound(struct sl_str *out, const struct sl_sound_figures *figures, unsigned findings,
                     const struct sl_heard_list *heard, const struct sl_style *style)
{
    int width = sl_fact_width(style->width);
    struct sl_str text = {0};
    if (figures->empty) {
        sl_str_add(&text, "none, not even noise");
    } else {
        sl_str_addf(&text, "%.0f dB", figures->noise_db);
    }
    fact(out, "noise", &text, width);
    voice_facts(out, figures, width);
    heard_fact(out, heard, width);
    echo_facts(out, figures, width);
    if (figures->lost_s > 0 || figures->xruns > 0) {
        sl_str_addf(&text, "%.0f ms of sound, %u times", 1000 * figures->lost_s, figures->xruns);
        fact(out, "lost", &text, width);
    }
    changes(out, findings, style, width);
}
