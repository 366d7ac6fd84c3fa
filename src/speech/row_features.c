#include "speech/row_features.h"

/* Row `row` moved by `by`, no further than the island of rows around it goes. */
static const float *near_row(const struct sl_decoder_rows *rows, size_t row, int by)
{
    int step = by < 0 ? -1 : 1;
    for (; by != 0; by -= step) {
        size_t next = row + (size_t)step; /* wraps to beyond the end below 0 */
        if (next >= rows->n || rows->origin[next] != rows->origin[row] + (size_t)step) {
            break;
        }
        row = next;
    }
    return rows->cepstra[row];
}

void sl_row_features(const struct sl_decoder_rows *rows, size_t row,
                     float features[SL_GAUSSIAN_STREAMS][SL_VOICE_CEPSTRA])
{
    for (size_t i = 0; i < SL_VOICE_CEPSTRA; i++) {
        features[0][i] = rows->cepstra[row][i];
        features[1][i] = near_row(rows, row, 2)[i] - near_row(rows, row, -2)[i];
        features[2][i] = near_row(rows, row, 3)[i] - near_row(rows, row, -1)[i] -
                         (near_row(rows, row, 1)[i] - near_row(rows, row, -3)[i]);
    }
}
