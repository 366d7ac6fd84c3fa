/*
 * One error idiom for the whole program.
 *
 * A function that can fail on input returns enum sl_status and takes a caller-owned
 * struct sl_error * as its last parameter (NULL is allowed: the caller wants the status only).
 * Out-parameters are set only on SL_OK. An error says what is wrong, where, and how to mend it.
 */
#ifndef SL_CORE_STATUS_H
#define SL_CORE_STATUS_H

/* X(code, name, what it means) */
#define SL_STATUS_MAP(X)                                                                           \
    X(SL_OK, "ok", "nothing is wrong")                                                             \
    X(SL_INVALID, "invalid", "a value breaks a rule")                                              \
    X(SL_NOT_FOUND, "not-found", "a file or a name does not exist")                                \
    X(SL_IO, "io", "reading or writing failed")                                                    \
    X(SL_FORMAT, "format", "a file is not what it claims to be")                                   \
    X(SL_TOO_LARGE, "too-large", "more than the program takes on")                                 \
    X(SL_UNSUPPORTED, "unsupported", "a library or this build cannot do it")                       \
    X(SL_DEVICE, "device", "a microphone or speaker is missing, busy or gone")                     \
    X(SL_NO_MEMORY, "no-memory", "memory ran out")

enum sl_status {
#define SL_STATUS_ENUM(code, name, text) code,
    SL_STATUS_MAP(SL_STATUS_ENUM)
#undef SL_STATUS_ENUM
};

/* The short name of a status ("invalid"); never NULL. */
const char *sl_status_name(enum sl_status status);

/* Initialise with {0}; release with sl_error_clear. The strings belong to the struct; each is NULL
 * where there is nothing to say. */
struct sl_error {
    enum sl_status status;
    char *what;  /* what is wrong, one sentence without a full stop */
    char *where; /* "file:line:column", a file, or a name */
    char *mend;  /* what to do about it, one sentence without a full stop */
};

/*
 * Fills *error, releasing what it held, and returns `status`, so that a caller can write
 * `return sl_fail(error, SL_INVALID, where, mend, "...", ...)`.
 * `where` and `mend` are copied and may be NULL; `format` is printf's. `error` may be NULL.
 */
#if defined(__GNUC__)
__attribute__((format(printf, 5, 6)))
#endif
enum sl_status
sl_fail(struct sl_error *error, enum sl_status status, const char *where, const char *mend,
        const char *format, ...);

/* Makes *error that of memory that ran out; sets no text, as that would need memory. NULL is fine.
 */
void sl_error_memory(struct sl_error *error);

/* The same, and returns SL_NO_MEMORY: `return sl_fail_memory(error)`. Inline, so that readers and
 * analysers see that it never returns SL_OK. */
static inline enum sl_status sl_fail_memory(struct sl_error *error)
{
    sl_error_memory(error);
    return SL_NO_MEMORY;
}

/* Releases the texts and sets the struct to {0}. NULL is fine. */
void sl_error_clear(struct sl_error *error);

#endif
