#include "report/page.h"

#include <stdlib.h>

/* Without the signs that XML escapes, as a style is not unescaped. Contrast of every pair of
 * colours is at least 4.5 to 1 (WCAG 2.1, 1.4.3). */
static const char style[] =
    ":root{--ink:#1b1f24;--soft:#4d5560;--paper:#ffffff;--box:#f3f5f8;--edge:#b8c0ca;"
    "--good:#14622f;--bad:#a31515;--unsure:#7a4b00;--focus:#0b57d0}"
    "@media screen and (prefers-color-scheme:dark){:root{--ink:#e9ecf0;--soft:#b3bbc6;"
    "--paper:#14181d;--box:#1e242b;--edge:#4b5561;--good:#7ddc9b;--bad:#ff9a91;--unsure:#f4c56c;"
    "--focus:#8ab4f8}}"
    "*{box-sizing:border-box}"
    "html{color-scheme:light dark}"
    "body{margin:0;background:var(--paper);color:var(--ink);"
    "font:1rem/1.5 system-ui,-apple-system,'Segoe UI','DejaVu Sans',sans-serif}"
    "main,footer{max-width:64rem;margin:0 auto;padding:1rem 1.25rem}"
    "h1{font-size:1.6rem;line-height:1.2;margin:.5rem 0 1rem}"
    "h2{font-size:1.2rem;line-height:1.3;margin:2rem 0 .5rem}"
    "h1,h2,dd,li,p{overflow-wrap:anywhere}td{overflow-wrap:break-word}"
    ".lead{background:var(--box);border-left:.3rem solid var(--focus);border-radius:.3rem;"
    "padding:.75rem 1rem;margin:0 0 1.25rem}"
    ".lead p{margin:0}.lead p+p{margin-top:.35rem}"
    "dl{display:grid;grid-template-columns:max-content 1fr;gap:.3rem 1rem;margin:0}"
    "dt{color:var(--soft)}dd{margin:0}"
    ".wide{overflow-x:auto;border:1px solid var(--edge);border-radius:.4rem}"
    ".wide:focus-visible{outline:3px solid var(--focus);outline-offset:2px}"
    "figure{margin:0 0 1rem}figure .wide{padding:.5rem}"
    "figure svg{display:block;width:100%;min-width:46rem;height:auto}"
    "figcaption{color:var(--soft);font-size:.9rem;margin-top:.4rem}"
    "audio{display:block;width:100%;margin:.5rem 0 1rem}"
    "table{border-collapse:collapse;width:100%;font-variant-numeric:tabular-nums}"
    "caption{text-align:left;font-weight:600;padding:.6rem .75rem}"
    "th,td{text-align:left;vertical-align:top;padding:.45rem .75rem;"
    "border-top:1px solid var(--edge)}"
    "thead th{color:var(--soft);font-weight:600;font-size:.9rem;vertical-align:bottom}"
    "tbody th{font-weight:600}"
    ".good{color:var(--good);font-weight:600}.bad{color:var(--bad);font-weight:600}"
    ".unsure{color:var(--unsure);font-weight:600}"
    "ol,ul{padding-left:1.4rem}li{margin:.5rem 0}li p{margin:.15rem 0}"
    ".why{color:var(--soft)}"
    "footer{color:var(--soft)}footer p{border-top:1px solid var(--edge);padding-top:1rem}"
    "@media "
    "(max-width:34rem){table{min-width:36rem;font-size:.92rem}caption{max-width:90vw}dl{grid-"
    "template-columns:1fr;gap:0}dd{margin-bottom:.5rem}}"
    /* What is wider than the screen says so; the second value leaves it out of what is read aloud.
     */
    "@media screen and (max-width:48rem){figcaption::before{"
    "content:'Slide the picture sideways to see all of it. ';"
    "content:'Slide the picture sideways to see all of it. ' / ''}}"
    "@media screen and (max-width:34rem){caption::after{font-weight:400;color:var(--soft);"
    "content:' (slide it sideways)';content:' (slide it sideways)' / ''}}"
    "@page{size:A4;margin:13mm}"
    "@media "
    "print{html{color-scheme:light;font-size:9.4pt}body{line-height:1.35}main,footer{max-width:"
    "none;"
    "padding:0}"
    "audio{display:none}.wide{overflow:visible;border:0}figure .wide{padding:0}"
    "figure svg,table{min-width:0}tr,li,figure,.lead,.wide{break-inside:avoid}h2{break-after:avoid}"
    "h1{margin:0 0 .5rem}.lead{padding:.4rem .75rem;margin-bottom:.6rem}figure{margin-bottom:.5rem}"
    "h2{margin:.8rem 0 .3rem}caption{padding:.15rem 0}th,td{padding:.12rem .5rem .12rem 0}"
    "li{margin:.2rem 0}dl{gap:.1rem 1rem}footer p{margin:.6rem 0 0;padding-top:.2rem}"
    /* What is told in many words, so that it leaves room for a picture on the sheet. */
    ".close{font-size:8pt;line-height:1.2}.close h2{font-size:10pt;margin:.4rem 0 .1rem}"
    ".close ol{margin:.2rem 0}.close li{margin:.1rem 0}.close li p{margin:0}"
    ".close th,.close td{padding:.08rem .5rem .08rem 0}"
    ".close dl{grid-template-columns:max-content 1fr max-content 1fr}"
    /* Tables side by side, where their captions say enough. */
    ".pairs{columns:2;column-gap:6mm}.pairs table{font-size:8pt}.pairs td{white-space:nowrap}"
    ".pairs h2{display:none}.pairs .wide{margin-bottom:.6rem}}";

static void meta(struct sl_xml *page, const char *key, const char *name, const char *content)
{
    sl_xml_begin(page, "meta");
    sl_xml_attr(page, key, name);
    if (content != NULL) {
        sl_xml_attr(page, "content", content);
    }
    sl_xml_end_void(page);
}

struct sl_xml *sl_page_begin(const char *title)
{
    struct sl_xml *page = sl_xml_new();
    sl_xml_html(page);
    sl_xml_begin(page, "html");
    sl_xml_attr(page, "xmlns", "http://www.w3.org/1999/xhtml");
    sl_xml_attr(page, "lang", "en-GB");
    sl_xml_begin(page, "head");
    meta(page, "charset", "utf-8", NULL);
    meta(page, "name", "viewport", "width=device-width, initial-scale=1");
    /* Nothing is fetched but sound that lies beside the page. */
    meta(page, "http-equiv", "Content-Security-Policy",
         "default-src 'none'; style-src 'unsafe-inline'; media-src 'self' file:");
    meta(page, "name", "color-scheme", "light dark");
    sl_xml_element(page, "title", title);
    sl_xml_element(page, "style", style);
    sl_xml_end(page);
    sl_xml_begin(page, "body");
    sl_xml_begin(page, "main");
    sl_xml_begin(page, "h1");
    sl_xml_attr(page, "dir", "auto");
    sl_xml_text(page, title);
    sl_xml_end(page);
    return page;
}

enum sl_status sl_page_finish(struct sl_xml *page, char **text, struct sl_error *error)
{
    sl_xml_end(page); /* main */
    sl_xml_begin(page, "footer");
    sl_xml_element(page, "p",
                   "Coaching figures, not limits. Practise parked or at home, never while driving. "
                   "The Highway Code, local codes and your instructor come first.");
    sl_xml_end(page);
    return sl_xml_finish(page, text, error);
}

const char *sl_page_class(enum sl_tint tint)
{
    switch (tint) {
    case SL_TINT_GOOD:
        return "good";
    case SL_TINT_BAD:
        return "bad";
    case SL_TINT_UNSURE:
        return "unsure";
    case SL_TINT_NONE:
    case SL_TINT_HEADING:
        break;
    }
    return "plain";
}

void sl_page_lead(struct sl_xml *page, const char *term, char *text)
{
    if (text != NULL && text[0] != '\0') {
        sl_xml_begin(page, "p");
        sl_xml_element(page, "strong", term);
        sl_xml_textf(page, " %s", text);
        sl_xml_end(page);
    }
    free(text);
}

void sl_page_facts_begin(struct sl_xml *page)
{
    sl_xml_begin(page, "dl");
}

void sl_page_fact(struct sl_xml *page, const char *term, const char *text)
{
    sl_xml_element(page, "dt", term);
    sl_xml_begin(page, "dd");
    sl_xml_attr(page, "dir", "auto");
    sl_xml_text(page, text);
    sl_xml_end(page);
}

void sl_page_facts_end(struct sl_xml *page)
{
    sl_xml_end(page);
}

static void cell(struct sl_xml *page, const char *name, const char *scope, const char *text)
{
    sl_xml_begin(page, name);
    sl_xml_attr(page, "scope", scope);
    sl_xml_text(page, text);
    sl_xml_end(page);
}

void sl_page_box_begin(struct sl_xml *page, const char *name)
{
    sl_xml_begin(page, "div");
    sl_xml_attr(page, "class", "wide");
    sl_xml_attr(page, "role", "region");
    sl_xml_attr(page, "tabindex", "0");
    sl_xml_attr(page, "aria-label", name);
}

void sl_page_box_end(struct sl_xml *page)
{
    sl_xml_end(page);
}

void sl_page_table_begin(struct sl_xml *page, const char *caption, const char *const *headings,
                         size_t n_headings)
{
    sl_page_box_begin(page, caption);
    sl_xml_begin(page, "table");
    sl_xml_element(page, "caption", caption);
    sl_xml_begin(page, "thead");
    sl_xml_begin(page, "tr");
    for (size_t i = 0; i < n_headings; i++) {
        cell(page, "th", "col", headings[i]);
    }
    sl_xml_end(page);
    sl_xml_end(page);
    sl_xml_begin(page, "tbody");
}

void sl_page_row(struct sl_xml *page, const char *const *texts, size_t n_texts, size_t tinted,
                 enum sl_tint tint)
{
    sl_xml_begin(page, "tr");
    cell(page, "th", "row", texts[0]);
    for (size_t i = 1; i < n_texts; i++) {
        sl_xml_begin(page, "td");
        sl_xml_attr(page, "dir", "auto");
        if (i == tinted && tint != SL_TINT_NONE) {
            sl_xml_attr(page, "class", sl_page_class(tint));
        }
        sl_xml_text(page, texts[i]);
        sl_xml_end(page);
    }
    sl_xml_end(page);
}

void sl_page_table_end(struct sl_xml *page)
{
    sl_xml_end(page); /* tbody */
    sl_xml_end(page); /* table */
    sl_page_box_end(page);
}
