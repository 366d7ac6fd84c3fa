/*
 * What every page must be, looked up in the parsed document (libxml2). Include after cmocka.h.
 */
#ifndef SL_TESTS_PAGE_CHECK_H
#define SL_TESTS_PAGE_CHECK_H

#include <libxml/parser.h>
#include <libxml/xpath.h>
#include <libxml/xpathInternals.h>
#include <string.h>

/* Parses a page or picture, which must be well-formed; free with xmlFreeDoc. */
static inline xmlDocPtr page_parse(const char *text)
{
    xmlDocPtr doc = xmlReadMemory(text, (int)strlen(text), NULL, NULL,
                                  XML_PARSE_NONET | XML_PARSE_NOERROR | XML_PARSE_NOWARNING);
    if (doc == NULL) {
        fail_msg("not well-formed:\n%s", text);
    }
    return doc;
}

/* What an XPath expression gives; h: HTML, s: SVG. Free with xmlXPathFreeObject. */
static inline xmlXPathObjectPtr page_find(xmlDocPtr doc, const char *path)
{
    xmlXPathContextPtr context = xmlXPathNewContext(doc);
    assert_non_null(context);
    xmlXPathRegisterNs(context, BAD_CAST "h", BAD_CAST "http://www.w3.org/1999/xhtml");
    xmlXPathRegisterNs(context, BAD_CAST "s", BAD_CAST "http://www.w3.org/2000/svg");
    xmlXPathObjectPtr found = xmlXPathEvalExpression(BAD_CAST path, context);
    xmlXPathFreeContext(context);
    if (found == NULL) {
        fail_msg("no expression: %s", path);
    }
    return found;
}

/* How many, or the number that the expression itself is. */
static inline double page_number(xmlDocPtr doc, const char *path)
{
    xmlXPathObjectPtr found = page_find(doc, path);
    double number = found->type == XPATH_NODESET ? xmlXPathNodeSetGetLength(found->nodesetval)
                                                 : xmlXPathCastToNumber(found);
    xmlXPathFreeObject(found);
    return number;
}

static inline void page_check_count(xmlDocPtr doc, const char *path, int wanted)
{
    int got = (int)page_number(doc, path);
    if (got != wanted) {
        fail_msg("%s: %d, not %d", path, got, wanted);
    }
}

/* Each that `path` finds must be found by `path` with the condition. */
static inline void page_check_all(xmlDocPtr doc, const char *path, const char *condition)
{
    char with[512];
    int length = snprintf(with, sizeof with, "%s[not(%s)]", path, condition);
    assert_true(length > 0 && (size_t)length < sizeof with);
    page_check_count(doc, with, 0);
}

/* Nothing runs, nothing is fetched: no script, no handler, no address but of what lies beside. */
static inline void page_check_alone(xmlDocPtr doc)
{
    page_check_count(doc,
                     "//*[local-name() = 'script' or local-name() = 'link' or "
                     "local-name() = 'iframe' or local-name() = 'object']",
                     0);
    page_check_count(doc, "//@*[starts-with(local-name(), 'on')]", 0);
    page_check_count(doc, "//@*[contains(., 'http:') or contains(., 'https:')]", 0);
    page_check_all(doc, "//@*[local-name() = 'src' or local-name() = 'href']",
                   "starts-with(., './')");
    page_check_count(doc,
                     "//*[local-name() = 'style'][contains(., 'url(') or contains(., '@import') "
                     "or contains(., '//')]",
                     0);
}

/* What HTML 5.2 and WCAG 2.1 (1.1.1, 1.3.1, 2.4.2, 3.1.1, 4.1.1, 4.1.2) ask for, as far as the
 * document alone shows it. */
static inline void page_check_sound(xmlDocPtr doc)
{
    page_check_count(doc, "/h:html[@lang = 'en-GB']/h:head/h:title[string-length(.) > 0]", 1);
    page_check_count(doc, "//h:h1", 1);
    page_check_count(doc, "//h:main", 1);
    page_check_all(doc, "//*[@id]", "not(@id = preceding::*/@id or @id = ancestor::*/@id)");
    page_check_all(doc, "//*[@aria-labelledby]", "@aria-labelledby = //@id");
    page_check_all(doc, "//*[@aria-describedby]", "@aria-describedby = //@id");
    page_check_all(doc, "//h:table", "string-length(h:caption) > 0 and h:thead and h:tbody");
    page_check_all(doc, "//h:thead//h:th", "@scope = 'col' and string-length(.) > 0");
    page_check_all(doc, "//h:tbody/h:tr", "count(h:th[@scope = 'row']) = 1");
    page_check_all(doc, "//h:tbody/h:tr", "count(*) = count(ancestor::h:table/h:thead/h:tr/h:th)");
    page_check_all(doc, "//s:svg",
                   "@role = 'img' and string-length(s:title) > 0 and string-length(s:desc) > 0");
    page_check_all(doc, "//h:audio", "@aria-label and @controls");
    page_check_all(doc, "//*[@role = 'region']", "@aria-label and @tabindex = '0'");
    page_check_count(doc, "//h:footer[contains(., 'Practise parked or at home')]", 1);
    page_check_alone(doc);
}

#endif
