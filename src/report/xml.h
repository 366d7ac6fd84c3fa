/*
 * Writing XML, and HTML that is XML as well: every text and attribute is escaped here (libxml2).
 *
 * Texts are cleaned first: a line end or tab becomes a blank, any other control character, a byte
 * that is no UTF-8 and a code point that XML does not know become '?'. Failures are kept until the
 * end, so that callers need not look at each step.
 */
#ifndef SL_REPORT_XML_H
#define SL_REPORT_XML_H

#include "core/status.h"

struct sl_xml;

/* NULL when memory runs out; every function takes that NULL and sl_xml_finish tells it. */
struct sl_xml *sl_xml_new(void);

/* The document type of HTML; before the first element. */
void sl_xml_html(struct sl_xml *xml);

/* Begins an element; its attributes come next, before any text or element in it. */
void sl_xml_begin(struct sl_xml *xml, const char *name);
void sl_xml_attr(struct sl_xml *xml, const char *name, const char *value);
#if defined(__GNUC__)
__attribute__((format(printf, 3, 4)))
#endif
void sl_xml_attrf(struct sl_xml *xml, const char *name, const char *format, ...);

/* Text in the element; NULL is "". */
void sl_xml_text(struct sl_xml *xml, const char *text);
#if defined(__GNUC__)
__attribute__((format(printf, 2, 3)))
#endif
void sl_xml_textf(struct sl_xml *xml, const char *format, ...);

/* Ends the innermost element, with an end tag even when it is empty, as HTML wants it. */
void sl_xml_end(struct sl_xml *xml);
/* The same for HTML's elements that have no end tag (meta). */
void sl_xml_end_void(struct sl_xml *xml);

/* Begin, text, end. */
void sl_xml_element(struct sl_xml *xml, const char *name, const char *text);

/* Ends all elements, hands out the document (the caller frees) and releases `xml`. SL_NO_MEMORY
 * where anything failed on the way. */
enum sl_status sl_xml_finish(struct sl_xml *xml, char **text, struct sl_error *error);

#endif
