/*
 * UTF-8 (RFC 3629): checking, and showing bytes that are not.
 */
#ifndef SL_FILES_UTF8_H
#define SL_FILES_UTF8_H

#include <stddef.h>

/* How many of the first `length` bytes are whole, valid UTF-8 characters; `length` when all are.
 * Overlong forms, surrogates and what is above U+10FFFF are not valid. */
size_t sl_utf8_valid_length(const char *text, size_t length);

/* A copy in valid UTF-8: each byte that is not becomes \xHH (file names may hold anything). The
 * caller frees; NULL when memory runs out. */
char *sl_utf8_escaped(const char *text);

#endif
