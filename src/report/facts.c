#include "report/facts.h"

#include "report/text.h"

#include <stdlib.h>

int sl_fact_width(int width)
{
    return width < 40 ? 40 : width > 100 ? 100 : width;
}

void sl_fact(struct sl_str *out, const char *label, const char *text, int width)
{
    struct sl_str padded = {0};
    sl_str_addf(&padded, SL_LABEL, label);
    sl_text_fact(out, sl_str_text(&padded), text, width);
    out->failed = out->failed || padded.failed;
    sl_str_clear(&padded);
}

static const char *turn_text(enum sl_turn turn)
{
    switch (turn) {
    case SL_TURN_LEFT:
        return "turning left";
    case SL_TURN_RIGHT:
        return "turning right";
    case SL_TURN_AHEAD:
        return "going ahead";
    case SL_TURN_COUNT:
        break;
    }
    return "";
}

static const char *control_text(enum sl_control control)
{
    switch (control) {
    case SL_CONTROL_GIVE_WAY:
        return "give way";
    case SL_CONTROL_STOP:
        return "stop line";
    case SL_CONTROL_LIGHTS:
        return "traffic lights";
    case SL_CONTROL_COUNT:
        break;
    }
    return "";
}

void sl_fact_name(struct sl_str *text, const struct sl_junction *junction)
{
    sl_str_add(text, junction->name == NULL ? "(no name)" : junction->name);
    if (junction->title != NULL) {
        sl_str_addf(text, ": %s", junction->title);
    }
}

void sl_fact_kind(struct sl_str *text, const struct sl_junction *junction,
                  const struct sl_plan *plan)
{
    sl_str_addf(text, "%s; %s; ", sl_kind_title(junction->kind), turn_text(junction->turn));
    if (junction->kind != SL_KIND_LIGHTS) {
        sl_str_addf(text, "%s; ", control_text(junction->control));
    }
    sl_str_addf(text, "%s view", sl_view_word(plan->view));
    if (junction->sight_measured) {
        sl_str_add(text, " (from the measured corners)");
    }
    if (junction->signal_misleads) {
        sl_str_add(text, "; a signal would mislead here, so none");
    }
}

void sl_fact_junction(struct sl_str *out, const struct sl_junction *junction,
                      const struct sl_plan *plan, int width)
{
    struct sl_str text = {0};
    sl_fact_name(&text, junction);
    sl_fact(out, "Junction:", sl_str_text(&text), width);
    out->failed = out->failed || text.failed;
    sl_str_clear(&text);
    sl_fact_kind(&text, junction, plan);
    sl_fact(out, "Kind:", sl_str_text(&text), width);
    out->failed = out->failed || text.failed;
    sl_str_clear(&text);
}

void sl_fact_caution(struct sl_str *out, int width)
{
    sl_text_fact(out, "",
                 "Coaching figures, not limits. Practise parked or at home, never while driving. "
                 "The Highway Code, local codes and your instructor come first.",
                 width);
}
