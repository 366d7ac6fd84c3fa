/*
 * Allocations that fail when a test wants it. The test is linked so that malloc, calloc and realloc
 * become the wrappers below (tests/CMakeLists.txt). Include in one file of a program.
 */
#ifndef SL_TESTS_FAILING_MEMORY_H
#define SL_TESTS_FAILING_MEMORY_H

#include <stdbool.h>
#include <stddef.h>

/* NOLINTBEGIN(bugprone-reserved-identifier,cert-dcl37-c,cert-dcl51-cpp): the linker sets the names
 */
void *__real_malloc(size_t size);
void *__real_calloc(size_t n, size_t size);
void *__real_realloc(void *block, size_t size);
void *__wrap_malloc(size_t size);
void *__wrap_calloc(size_t n, size_t size);
void *__wrap_realloc(void *block, size_t size);

/* Allocations left until one fails; below 0: none fails. */
static long allowed = -1;

static bool fails(void)
{
    if (allowed < 0) {
        return false;
    }
    return allowed-- == 0;
}

void *__wrap_malloc(size_t size)
{
    return fails() ? NULL : __real_malloc(size);
}

void *__wrap_calloc(size_t n, size_t size)
{
    return fails() ? NULL : __real_calloc(n, size);
}

void *__wrap_realloc(void *block, size_t size)
{
    return fails() ? NULL : __real_realloc(block, size);
}

/* NOLINTEND(bugprone-reserved-identifier,cert-dcl37-c,cert-dcl51-cpp) */

#endif
