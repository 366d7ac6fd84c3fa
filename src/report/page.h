/*
 * The frame that all pages share: head, style, tables, facts, the caution at the foot.
 *
 * A page is one file that asks for nothing else: no script, no network. It is light or dark as the
 * reader's system is, prints to A4 in black on white, and says in words what it shows in colour.
 */
#ifndef SL_REPORT_PAGE_H
#define SL_REPORT_PAGE_H

#include "report/text.h"
#include "report/xml.h"

#include <stddef.h>

/* Begins a page, up to its main heading `title`, and returns its writer. */
struct sl_xml *sl_page_begin(const char *title);

/* Adds the cautions, ends the page and releases it; as sl_xml_finish. */
enum sl_status sl_page_finish(struct sl_xml *page, char **text, struct sl_error *error);

/* The class that colours a word: "good", "bad", "unsure" or "plain". */
const char *sl_page_class(enum sl_tint tint);

/* A list of facts, each a term and what it is: begin, facts, end. */
/* A paragraph that begins with a word in bold; takes the text over, and adds nothing where it is
 * NULL or "". */
void sl_page_lead(struct sl_xml *page, const char *term, char *text);

void sl_page_facts_begin(struct sl_xml *page);
void sl_page_fact(struct sl_xml *page, const char *term, const char *text);
void sl_page_facts_end(struct sl_xml *page);

/* A box that scrolls with the keys where the screen is narrow; `name` is for who does not see it.
 */
void sl_page_box_begin(struct sl_xml *page, const char *name);
void sl_page_box_end(struct sl_xml *page);

/* A table with a caption and a heading for each column, in such a box. Then rows; then
 * sl_page_table_end. */
void sl_page_table_begin(struct sl_xml *page, const char *caption, const char *const *headings,
                         size_t n_headings);
/* A row: texts[0] is its heading; `tint` is that of the cell `tinted`. NULL texts are empty. */
void sl_page_row(struct sl_xml *page, const char *const *texts, size_t n_texts, size_t tinted,
                 enum sl_tint tint);
void sl_page_table_end(struct sl_xml *page);

#endif
