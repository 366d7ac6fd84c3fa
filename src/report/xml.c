#include "report/xml.h"

#include "core/str.h"
#include "report/text.h"

#include <libxml/xmlwriter.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

struct sl_xml {
    xmlBufferPtr buffer;
    xmlTextWriterPtr writer;
    bool failed;
};

struct sl_xml *sl_xml_new(void)
{
    struct sl_xml *xml = calloc(1, sizeof *xml);
    if (xml == NULL) {
        return NULL;
    }
    xml->buffer = xmlBufferCreate();
    xml->writer = xml->buffer == NULL ? NULL : xmlNewTextWriterMemory(xml->buffer, 0);
    xml->failed = xml->writer == NULL;
    return xml;
}

/* Notes what the library says of a step. */
static void note(struct sl_xml *xml, int written)
{
    xml->failed = xml->failed || written < 0;
}

static bool able(const struct sl_xml *xml)
{
    return xml != NULL && !xml->failed;
}

/* The two code points of the basic plane that are valid UTF-8 and no character of XML. */
static void hide_noncharacters(char *text)
{
    for (char *at = strstr(text, "\xEF\xBF"); at != NULL; at = strstr(at + 1, "\xEF\xBF")) {
        if (at[2] == '\xBE' || at[2] == '\xBF') {
            at[0] = at[1] = at[2] = '?';
        }
    }
}

/* A copy that XML can hold. */
static char *cleaned(const char *text)
{
    struct sl_str out = {0};
    char *blanks = sl_strdup(text == NULL ? "" : text);
    if (blanks == NULL) {
        return NULL;
    }
    for (char *at = strpbrk(blanks, "\n\t\r"); at != NULL; at = strpbrk(at, "\n\t\r")) {
        *at = ' ';
    }
    sl_text_clean(&out, blanks);
    free(blanks);
    char *clean = sl_str_take(&out);
    if (clean != NULL) {
        hide_noncharacters(clean);
    }
    return clean;
}

void sl_xml_html(struct sl_xml *xml)
{
    if (able(xml)) {
        note(xml, xmlTextWriterWriteDTD(xml->writer, BAD_CAST "html", NULL, NULL, NULL));
        note(xml, xmlTextWriterWriteString(xml->writer, BAD_CAST "\n"));
    }
}

void sl_xml_begin(struct sl_xml *xml, const char *name)
{
    if (able(xml)) {
        note(xml, xmlTextWriterStartElement(xml->writer, BAD_CAST name));
    }
}

void sl_xml_attr(struct sl_xml *xml, const char *name, const char *value)
{
    if (!able(xml)) {
        return;
    }
    char *clean = cleaned(value);
    note(xml, clean == NULL
                  ? -1
                  : xmlTextWriterWriteAttribute(xml->writer, BAD_CAST name, BAD_CAST clean));
    free(clean);
}

void sl_xml_text(struct sl_xml *xml, const char *text)
{
    if (!able(xml)) {
        return;
    }
    char *clean = cleaned(text);
    note(xml, clean == NULL ? -1 : xmlTextWriterWriteString(xml->writer, BAD_CAST clean));
    free(clean);
}

void sl_xml_attrf(struct sl_xml *xml, const char *name, const char *format, ...)
{
    struct sl_str value = {0};
    va_list args;
    va_start(args, format);
    sl_str_vaddf(&value, format, args);
    va_end(args);
    sl_xml_attr(xml, name, sl_str_text(&value));
    if (xml != NULL && value.failed) {
        xml->failed = true;
    }
    sl_str_clear(&value);
}

void sl_xml_textf(struct sl_xml *xml, const char *format, ...)
{
    struct sl_str text = {0};
    va_list args;
    va_start(args, format);
    sl_str_vaddf(&text, format, args);
    va_end(args);
    sl_xml_text(xml, sl_str_text(&text));
    if (xml != NULL && text.failed) {
        xml->failed = true;
    }
    sl_str_clear(&text);
}

void sl_xml_end(struct sl_xml *xml)
{
    if (able(xml)) {
        note(xml, xmlTextWriterFullEndElement(xml->writer));
    }
}

void sl_xml_end_void(struct sl_xml *xml)
{
    if (able(xml)) {
        note(xml, xmlTextWriterEndElement(xml->writer));
    }
}

void sl_xml_element(struct sl_xml *xml, const char *name, const char *text)
{
    sl_xml_begin(xml, name);
    sl_xml_text(xml, text);
    sl_xml_end(xml);
}

enum sl_status sl_xml_finish(struct sl_xml *xml, char **text, struct sl_error *error)
{
    char *taken = NULL;
    if (able(xml)) {
        note(xml, xmlTextWriterEndDocument(xml->writer));
    }
    if (able(xml)) {
        note(xml, xmlTextWriterFlush(xml->writer));
    }
    if (able(xml)) {
        taken = sl_strdup((const char *)xmlBufferContent(xml->buffer));
    }
    if (xml != NULL) {
        if (xml->writer != NULL) {
            xmlFreeTextWriter(xml->writer);
        }
        if (xml->buffer != NULL) {
            xmlBufferFree(xml->buffer);
        }
        free(xml);
    }
    if (taken == NULL) {
        return sl_fail_memory(error);
    }
    *text = taken;
    return SL_OK;
}
