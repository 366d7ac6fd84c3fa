/*
 * The picture of a drive (SVG): speed, engine speed and distance to the line over the seconds since
 * the announcement, the plan's beneath the car's, with the words at their moments.
 */
#ifndef SL_REPORT_DRIVE_PICTURE_H
#define SL_REPORT_DRIVE_PICTURE_H

#include "report/drive_words.h"
#include "report/xml.h"

/* Adds the picture as an element; its ids begin with "picture-". */
void sl_drive_picture_add(struct sl_xml *xml, const struct sl_drive_view *view);

#endif
