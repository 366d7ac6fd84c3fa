#include "core/status.h"

#include "core/str.h"

#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

const char *sl_status_name(enum sl_status status)
{
    switch (status) {
#define SL_STATUS_NAME(code, name, text)                                                           \
    case code:                                                                                     \
        return name;
        SL_STATUS_MAP(SL_STATUS_NAME)
#undef SL_STATUS_NAME
    }
    return "unknown";
}

enum sl_status sl_fail(struct sl_error *error, enum sl_status status, const char *where,
                       const char *mend, const char *format, ...)
{
    if (error == NULL) {
        return status;
    }
    /* The old texts may be among the arguments, so they are released last. */
    struct sl_error old = *error;
    struct sl_str what = {0};
    va_list args;
    va_start(args, format);
    sl_str_vaddf(&what, format, args);
    va_end(args);
    error->status = status;
    error->what = sl_str_take(&what);
    error->where = sl_strdup(where);
    error->mend = sl_strdup(mend);
    sl_error_clear(&old);
    return status;
}

void sl_error_memory(struct sl_error *error)
{
    if (error != NULL) {
        sl_error_clear(error);
        error->status = SL_NO_MEMORY;
    }
}

void sl_error_clear(struct sl_error *error)
{
    if (error == NULL) {
        return;
    }
    free(error->what);
    free(error->where);
    free(error->mend);
    *error = (struct sl_error){0};
}
