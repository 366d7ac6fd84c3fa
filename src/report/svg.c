#include "report/svg.h"

#include <math.h>

/* As in page.c, contrast of at least 4.5 to 1. */
static const char style[] =
    ".tl{--ink:#1b1f24;--soft:#4d5560;--paper:#ffffff;--edge:#b8c0ca;--window:#d5e3f5;"
    "--due:#2f5d99;--good:#14622f;--bad:#a31515;--unsure:#7a4b00;--wave:#6a7684;"
    "font:13px system-ui,-apple-system,'Segoe UI','DejaVu Sans',sans-serif}"
    "@media screen and (prefers-color-scheme:dark){.tl{--ink:#e9ecf0;--soft:#b3bbc6;"
    "--paper:#14181d;--edge:#4b5561;--window:#2a3f58;--due:#8fb6e8;--good:#7ddc9b;"
    "--bad:#ff9a91;--unsure:#f4c56c;--wave:#8d98a5}}"
    ".tl text{fill:var(--ink)}.tl text.soft{fill:var(--soft)}.tl text.mid{text-anchor:middle}"
    ".tl text.end{text-anchor:end}.tl text.head{font-weight:600}.tl "
    "text.words{unicode-bidi:isolate}"
    ".tl .paper{fill:var(--paper)}.tl .grid{stroke:var(--edge);stroke-width:1}"
    ".tl .line{stroke:var(--ink);stroke-width:3}"
    ".tl .stop{stroke:var(--bad);stroke-width:1.5;stroke-dasharray:5 4}"
    ".tl .window{fill:var(--window)}.tl .due{stroke:var(--due);stroke-width:3}"
    ".tl .driven{fill:none;stroke:var(--due);stroke-width:2.5}"
    ".tl .planned{fill:none;stroke:var(--soft);stroke-width:1.5;stroke-dasharray:5 4}"
    ".tl .wave{fill:none;stroke:var(--wave);stroke-width:1}"
    ".tl rect.good,.tl circle.good{fill:var(--good)}.tl rect.bad,.tl circle.bad{fill:var(--bad)}"
    ".tl rect.unsure,.tl circle.unsure{fill:var(--unsure)}"
    ".tl text.good{fill:var(--good)}.tl text.bad{fill:var(--bad)}"
    ".tl text.unsure{fill:var(--unsure)}"
    ".tl text.number{fill:var(--paper);font-weight:700;font-size:12px;text-anchor:middle}";

void sl_svg_text(struct sl_xml *xml, double x, double y, const char *class, const char *text)
{
    sl_xml_begin(xml, "text");
    sl_xml_attrf(xml, "x", "%.1f", x);
    sl_xml_attrf(xml, "y", "%.1f", y);
    sl_xml_attr(xml, "class", class);
    sl_xml_text(xml, text);
    sl_xml_end(xml);
}

void sl_svg_upright(struct sl_xml *xml, double x, double top, double bottom, const char *class)
{
    sl_xml_begin(xml, "line");
    sl_xml_attrf(xml, "x1", "%.1f", x);
    sl_xml_attrf(xml, "x2", "%.1f", x);
    sl_xml_attrf(xml, "y1", "%.1f", top);
    sl_xml_attrf(xml, "y2", "%.1f", bottom);
    sl_xml_attr(xml, "class", class);
    sl_xml_end(xml);
}

void sl_svg_begin(struct sl_xml *xml, double height, const char *title, const char *words)
{
    sl_xml_begin(xml, "svg");
    sl_xml_attr(xml, "xmlns", "http://www.w3.org/2000/svg");
    sl_xml_attr(xml, "class", "tl");
    sl_xml_attrf(xml, "viewBox", "0 0 %.0f %.0f", SL_SVG_WIDTH, height);
    sl_xml_attr(xml, "role", "img");
    sl_xml_attr(xml, "lang", "en-GB");
    sl_xml_attr(xml, "aria-labelledby", "picture-title");
    sl_xml_attr(xml, "aria-describedby", "picture-desc");
    sl_xml_begin(xml, "title");
    sl_xml_attr(xml, "id", "picture-title");
    sl_xml_text(xml, title);
    sl_xml_end(xml);
    sl_xml_begin(xml, "desc");
    sl_xml_attr(xml, "id", "picture-desc");
    sl_xml_text(xml, words);
    sl_xml_end(xml);
    sl_xml_element(xml, "style", style);
    sl_xml_begin(xml, "rect");
    sl_xml_attr(xml, "class", "paper");
    sl_xml_attr(xml, "width", "100%");
    sl_xml_attr(xml, "height", "100%");
    sl_xml_end(xml);
}

void sl_svg_bar(struct sl_xml *xml, double from_x, double to_x, double y, const char *class)
{
    sl_xml_begin(xml, "rect");
    sl_xml_attrf(xml, "x", "%.1f", from_x);
    sl_xml_attrf(xml, "y", "%.1f", y);
    sl_xml_attrf(xml, "width", "%.1f", fmax(to_x - from_x, 2.0));
    sl_xml_attrf(xml, "height", "%.1f", SL_SVG_BAR);
    sl_xml_attr(xml, "rx", "3");
    sl_xml_attr(xml, "class", class);
    sl_xml_end(xml);
}

void sl_svg_dot(struct sl_xml *xml, double x, double y, double radius, const char *class)
{
    sl_xml_begin(xml, "circle");
    sl_xml_attrf(xml, "cx", "%.1f", x);
    sl_xml_attrf(xml, "cy", "%.1f", y);
    sl_xml_attrf(xml, "r", "%.1f", radius);
    sl_xml_attr(xml, "class", class);
    sl_xml_end(xml);
}
