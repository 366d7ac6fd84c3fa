#include "core/str.h"

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Makes room for `more` bytes and the final zero. */
static bool reserve(struct sl_str *str, size_t more)
{
    if (str->failed || more >= SIZE_MAX / 2 - str->length) {
        str->failed = true;
        return false;
    }
    size_t need = str->length + more + 1;
    if (need <= str->room) {
        return true;
    }
    size_t room = str->room < 64 ? 64 : str->room * 2;
    if (room < need) {
        room = need;
    }
    char *text = realloc(str->text, room);
    if (text == NULL) {
        str->failed = true;
        return false;
    }
    if (str->text == NULL) {
        text[0] = '\0';
    }
    str->text = text;
    str->room = room;
    return true;
}

void sl_str_vaddf(struct sl_str *str, const char *format, va_list args)
{
    va_list again;
    va_copy(again, args);
    int length = vsnprintf(NULL, 0, format, args);
    if (length >= 0 && reserve(str, (size_t)length)) {
        vsnprintf(str->text + str->length, (size_t)length + 1, format, again);
        str->length += (size_t)length;
    }
    va_end(again);
}

void sl_str_addf(struct sl_str *str, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    sl_str_vaddf(str, format, args);
    va_end(args);
}

void sl_str_add_bytes(struct sl_str *str, const char *bytes, size_t length)
{
    if (reserve(str, length)) {
        memcpy(str->text + str->length, bytes, length);
        str->length += length;
        str->text[str->length] = '\0';
    }
}

void sl_str_add(struct sl_str *str, const char *text)
{
    sl_str_add_bytes(str, text, strlen(text));
}

void sl_str_capital(struct sl_str *str, size_t at)
{
    static const char capitals[] = "ABCDEFGHIJKLMNOPQRSTUVWXYZ";
    if (at < str->length && str->text[at] >= 'a' && str->text[at] <= 'z') {
        str->text[at] = capitals[str->text[at] - 'a'];
    }
}

const char *sl_str_text(const struct sl_str *str)
{
    return str->text == NULL ? "" : str->text;
}

char *sl_str_take(struct sl_str *str)
{
    char *text = NULL;
    if (!str->failed && reserve(str, 0)) {
        text = str->text;
    } else {
        free(str->text);
    }
    *str = (struct sl_str){0};
    return text;
}

void sl_str_clear(struct sl_str *str)
{
    free(str->text);
    *str = (struct sl_str){0};
}

const char *sl_base_name(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash == NULL ? path : slash + 1;
}

char *sl_strdup(const char *text)
{
    if (text == NULL) {
        return NULL;
    }
    size_t size = strlen(text) + 1;
    char *copy = malloc(size);
    if (copy != NULL) {
        memcpy(copy, text, size);
    }
    return copy;
}

char *sl_strf(const char *format, ...)
{
    struct sl_str str = {0};
    va_list args;
    va_start(args, format);
    sl_str_vaddf(&str, format, args);
    va_end(args);
    return sl_str_take(&str);
}

void *sl_grow(void *items, size_t count, size_t *room, size_t size)
{
    if (count < *room) {
        return items;
    }
    size_t more = *room == 0 ? 8 : *room * 2;
    if (more > SIZE_MAX / size) {
        return NULL;
    }
    void *larger = realloc(items, more * size);
    if (larger != NULL) {
        *room = more;
    }
    return larger;
}
