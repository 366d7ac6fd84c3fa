#include "speech/voice_apply.h"

#include "core/str.h"

#include <stdio.h>
#include <stdlib.h>

/* The library's text form: one class; how many streams; of each its size, the rows of A, then b,
 * then factors of the variances. */
static void write_out(const struct sl_mllr *voice, struct sl_str *text)
{
    sl_str_addf(text, "1\n%d\n", SL_GAUSSIAN_STREAMS);
    for (size_t s = 0; s < SL_GAUSSIAN_STREAMS; s++) {
        const struct sl_mllr_matrix *matrix = &voice->streams[s];
        sl_str_addf(text, "%d\n", SL_VOICE_CEPSTRA);
        for (size_t i = 0; i < SL_VOICE_CEPSTRA; i++) {
            for (size_t k = 0; k < SL_VOICE_CEPSTRA; k++) {
                sl_str_addf(text, "%.9g ", matrix->rows[i][k]);
            }
            sl_str_add(text, "\n");
        }
        for (size_t i = 0; i < SL_VOICE_CEPSTRA; i++) {
            sl_str_addf(text, "%.9g ", matrix->rows[i][SL_VOICE_CEPSTRA]);
        }
        sl_str_add(text, "\n");
        for (size_t i = 0; i < SL_VOICE_CEPSTRA; i++) {
            sl_str_add(text, "1 ");
        }
        sl_str_add(text, "\n");
    }
}

/* The library reads transforms from a path only: the text goes into a temporary file without a
 * name.
 */
static ps_mllr_t *read_back(const struct sl_str *text)
{
    ps_mllr_t *mllr = NULL;
    FILE *file = tmpfile();
    if (file == NULL) {
        return NULL;
    }
    char *path = sl_strf("/proc/self/fd/%d", fileno(file));
    if (path != NULL && fputs(sl_str_text(text), file) >= 0 && fflush(file) == 0) {
        mllr = ps_mllr_read(path);
    }
    free(path);
    (void)fclose(file);
    return mllr;
}

/* NULL when there is no memory, or no room for a temporary file. */
static ps_mllr_t *transform_of(const struct sl_mllr *voice)
{
    struct sl_str text = {0};
    write_out(voice, &text);
    ps_mllr_t *mllr = text.failed ? NULL : read_back(&text);
    sl_str_clear(&text);
    return mllr;
}

enum sl_status sl_voice_apply(ps_decoder_t *ps, const struct sl_mllr *voice, struct sl_error *error)
{
    ps_mllr_t *mllr = transform_of(voice);
    if (mllr == NULL) {
        return sl_fail(error, SL_IO, NULL, "make room in the folder for temporary files",
                       "the transform of the voice cannot be handed to PocketSphinx");
    }
    /* the decoder takes the transform over, whether or not it can use it */
    return ps_update_mllr(ps, mllr) != NULL
               ? SL_OK
               : sl_fail(error, SL_UNSUPPORTED, NULL, NULL,
                         "PocketSphinx cannot fit this acoustic model to a voice");
}
