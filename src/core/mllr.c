#include "core/mllr.h"

#include <math.h>
#include <string.h>

#define LARGEST 1000.0
/* A pivot this small against the diagonal it came from means that the equations do not determine
 * the row. */
#define LEAST_PIVOT 1e-9

struct sl_mllr sl_mllr_identity(void)
{
    struct sl_mllr mllr = {0};
    for (size_t s = 0; s < SL_GAUSSIAN_STREAMS; s++) {
        for (size_t i = 0; i < SL_VOICE_CEPSTRA; i++) {
            mllr.streams[s].rows[i][i] = 1;
        }
    }
    return mllr;
}

bool sl_mllr_is_sound(const struct sl_mllr *mllr)
{
    bool sound = true;
    for (size_t s = 0; s < SL_GAUSSIAN_STREAMS; s++) {
        for (size_t i = 0; i < SL_VOICE_CEPSTRA; i++) {
            for (size_t k = 0; k < SL_MLLR_COLUMNS; k++) {
                /* written so that what is no number is not sound */
                sound = sound && fabs(mllr->streams[s].rows[i][k]) <= LARGEST;
            }
        }
    }
    return sound;
}

void sl_mllr_move(const struct sl_mllr_matrix *matrix, const float mean[SL_VOICE_CEPSTRA],
                  float moved[SL_VOICE_CEPSTRA])
{
    float made[SL_VOICE_CEPSTRA];
    for (size_t i = 0; i < SL_VOICE_CEPSTRA; i++) {
        double sum = matrix->rows[i][SL_VOICE_CEPSTRA];
        for (size_t k = 0; k < SL_VOICE_CEPSTRA; k++) {
            sum += matrix->rows[i][k] * (double)mean[k];
        }
        made[i] = (float)sum;
    }
    memcpy(moved, made, sizeof(made));
}

void sl_mllr_add(struct sl_mllr_sums *sums, const struct sl_mllr_gaussian *gaussian)
{
    if (gaussian->frames <= 0) {
        return;
    }
    double extended[SL_MLLR_COLUMNS];
    for (size_t k = 0; k < SL_VOICE_CEPSTRA; k++) {
        extended[k] = (double)gaussian->mean[k];
    }
    extended[SL_VOICE_CEPSTRA] = 1;
    for (size_t i = 0; i < SL_VOICE_CEPSTRA; i++) {
        double precision = 1 / (double)gaussian->variance[i];
        for (size_t k = 0; k < SL_MLLR_COLUMNS; k++) {
            double weighted = precision * extended[k];
            sums->z[i][k] += weighted * gaussian->sum[i];
            for (size_t l = 0; l <= k; l++) { /* G is symmetric: below the diagonal only */
                sums->g[i][k][l] += gaussian->frames * weighted * extended[l];
            }
        }
    }
}

/* Cholesky's decomposition in place, of what is on and below the diagonal. */
static bool decompose(double g[SL_MLLR_COLUMNS][SL_MLLR_COLUMNS])
{
    for (size_t k = 0; k < SL_MLLR_COLUMNS; k++) {
        double whole = g[k][k];
        for (size_t l = 0; l < k; l++) {
            g[k][k] -= g[k][l] * g[k][l];
        }
        if (!(g[k][k] > LEAST_PIVOT * whole)) {
            return false;
        }
        g[k][k] = sqrt(g[k][k]);
        for (size_t i = k + 1; i < SL_MLLR_COLUMNS; i++) {
            for (size_t l = 0; l < k; l++) {
                g[i][k] -= g[i][l] * g[k][l];
            }
            g[i][k] /= g[k][k];
        }
    }
    return true;
}

/* Solves L L' w = w for the decomposed L, in place. */
static void substitute(double g[SL_MLLR_COLUMNS][SL_MLLR_COLUMNS], double w[SL_MLLR_COLUMNS])
{
    for (size_t k = 0; k < SL_MLLR_COLUMNS; k++) {
        for (size_t l = 0; l < k; l++) {
            w[k] -= g[k][l] * w[l];
        }
        w[k] /= g[k][k];
    }
    for (size_t k = SL_MLLR_COLUMNS; k-- > 0;) {
        for (size_t l = k + 1; l < SL_MLLR_COLUMNS; l++) {
            w[k] -= g[l][k] * w[l];
        }
        w[k] /= g[k][k];
    }
}

bool sl_mllr_solve(const struct sl_mllr_sums *sums, struct sl_mllr_matrix *matrix)
{
    struct sl_mllr_matrix solved = {0};
    for (size_t i = 0; i < SL_VOICE_CEPSTRA; i++) {
        double g[SL_MLLR_COLUMNS][SL_MLLR_COLUMNS];
        memcpy(g, sums->g[i], sizeof(g));
        memcpy(solved.rows[i], sums->z[i], sizeof(solved.rows[i]));
        if (!decompose(g)) {
            return false;
        }
        substitute(g, solved.rows[i]);
    }
    *matrix = solved;
    return true;
}
