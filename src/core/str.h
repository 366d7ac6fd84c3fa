/*
 * A growing string, and the few string helpers that libc lacks.
 */
#ifndef SL_CORE_STR_H
#define SL_CORE_STR_H

#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>

/* Initialise with {0}; release with sl_str_clear or sl_str_take. */
struct sl_str {
    char *text; /* zero-terminated, or NULL while nothing was added */
    size_t length;
    size_t room;
    bool failed; /* memory ran out at some point: the text is not whole */
};

/* Adds printf-formatted text. When memory runs out the string keeps what it had and is `failed`. */
#if defined(__GNUC__)
__attribute__((format(printf, 2, 3)))
#endif
void sl_str_addf(struct sl_str *str, const char *format, ...);

/* As sl_str_addf, with a va_list. */
#if defined(__GNUC__)
__attribute__((format(printf, 2, 0)))
#endif
void sl_str_vaddf(struct sl_str *str, const char *format, va_list args);

/* Adds `text` as it is. */
void sl_str_add(struct sl_str *str, const char *text);

/* Makes the letter at byte `at` a capital, where there is one of a to z. */
void sl_str_capital(struct sl_str *str, size_t at);

/* Adds `length` bytes of `bytes`. */
void sl_str_add_bytes(struct sl_str *str, const char *bytes, size_t length);

/* The text so far, never NULL; valid until the next change of the string. */
const char *sl_str_text(const struct sl_str *str);

/* Hands the text to the caller, who frees it, and resets the string to {0}. NULL when failed or
 * memory runs out; an empty string is handed over as "". */
char *sl_str_take(struct sl_str *str);

/* Releases the text and resets the string to {0}. */
void sl_str_clear(struct sl_str *str);

/* A copy that the caller frees; NULL for NULL and when memory runs out. */
char *sl_strdup(const char *text);

/* The name in a path: what follows its last slash. Of the path. */
const char *sl_base_name(const char *path);

/* printf into a new string that the caller frees; NULL when memory runs out. */
#if defined(__GNUC__)
__attribute__((format(printf, 1, 2)))
#endif
char *
sl_strf(const char *format, ...);

/*
 * Makes room for one more element in a growing array: returns `items` or a larger copy of it, with
 * *room updated, or NULL when memory runs out (then `items` is untouched and still the caller's).
 * `count` elements of `size` bytes are in use.
 */
void *sl_grow(void *items, size_t count, size_t *room, size_t size);

#endif
