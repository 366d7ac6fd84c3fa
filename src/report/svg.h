/*
 * What the pictures share: the frame with its words for who does not see it, the style, a few
 * shapes. Lengths are the picture's own units; an SVG scales.
 */
#ifndef SL_REPORT_SVG_H
#define SL_REPORT_SVG_H

#include "report/xml.h"

#define SL_SVG_WIDTH 960.0
#define SL_SVG_LEFT 136.0  /* names of rows stand left of it */
#define SL_SVG_RIGHT 936.0 /* the drawing ends */
#define SL_SVG_BAR 14.0    /* height of a bar */

/* Begins a picture: one a page, as its ids are "picture-title" and "picture-desc". `words` say what
 * is seen in it. sl_xml_end ends it. */
void sl_svg_begin(struct sl_xml *xml, double height, const char *title, const char *words);

/* Classes of texts: "head", "soft", "words", "number", "good", "bad", "unsure"; with "mid" or "end"
 * for where x is. */
void sl_svg_text(struct sl_xml *xml, double x, double y, const char *class, const char *text);

/* An upright line: "grid", "due", "line", "stop". */
void sl_svg_upright(struct sl_xml *xml, double x, double top, double bottom, const char *class);

/* A bar of SL_SVG_BAR below y, at least 2 wide: "window", "good", "bad", "unsure". */
void sl_svg_bar(struct sl_xml *xml, double from_x, double to_x, double y, const char *class);

void sl_svg_dot(struct sl_xml *xml, double x, double y, double radius, const char *class);

#endif
