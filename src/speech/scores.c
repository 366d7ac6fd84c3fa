#include "speech/scores.h"

#include "core/str.h"
#include "speech/row_features.h"

#include <stdlib.h>
#include <string.h>
#include <sys/types.h>

#define BYTE_ORDER_MARK 0x11223344
#define LIBRARY_BASE "1.0001" /* of its logarithms; it takes the scores of no other */

struct sl_scores {
    const struct sl_fitted_model *model;
    size_t n; /* scores of a row */
    bool known[SL_SCORES_ROWS];
    int16_t *kept;  /* of SL_SCORES_ROWS rows; memory is taken when they are first written */
    int16_t *later; /* of one that is not kept */
    char *head;
    size_t head_length;
};

/* What a search reads. */
struct reading {
    struct sl_scores *scores;
    struct sl_decoder_rows rows;
    size_t row, end;
    size_t head_at, at; /* bytes that were read of the head, of the row at hand */
};

/* Text and a mark by which the library finds the order of bytes. */
static bool make_head(struct sl_scores *scores)
{
    const int32_t mark = BYTE_ORDER_MARK;
    char *text =
        sl_strf("s3\nversion 0.1\nn_sen %zu\nlogbase " LIBRARY_BASE "\nendhdr\n", scores->n);
    size_t length = text != NULL ? strlen(text) : 0;
    scores->head = text != NULL ? realloc(text, length + sizeof mark) : NULL;
    if (scores->head == NULL) {
        free(text);
        return false;
    }
    memcpy(scores->head + length, &mark, sizeof mark);
    scores->head_length = length + sizeof mark;
    return true;
}

enum sl_status sl_scores_new(const struct sl_fitted_model *model, struct sl_scores **scores,
                             struct sl_error *error)
{
    struct sl_scores *made = calloc(1, sizeof *made);
    if (made == NULL) {
        return sl_fail_memory(error);
    }
    made->model = model;
    made->n = sl_fitted_model_senones(model);
    made->kept = malloc(SL_SCORES_ROWS * made->n * sizeof *made->kept);
    made->later = malloc(made->n * sizeof *made->later);
    if (made->kept == NULL || made->later == NULL || !make_head(made)) {
        sl_scores_free(made);
        return sl_fail_memory(error);
    }
    *scores = made;
    return SL_OK;
}

void sl_scores_free(struct sl_scores *scores)
{
    if (scores == NULL) {
        return;
    }
    free(scores->kept);
    free(scores->later);
    free(scores->head);
    free(scores);
}

void sl_scores_forget(struct sl_scores *scores)
{
    memset(scores->known, 0, sizeof scores->known);
}

static void score(const struct reading *reading, int16_t *to)
{
    float features[SL_GAUSSIAN_STREAMS][SL_VOICE_CEPSTRA];
    sl_row_features(&reading->rows, reading->row, features);
    sl_fitted_model_score(reading->scores->model, (const float(*)[SL_VOICE_CEPSTRA])features, to);
}

/* The scores of the row at hand, computed where they are not known. */
static const int16_t *scores_of(const struct reading *reading)
{
    struct sl_scores *scores = reading->scores;
    size_t row = reading->row;
    if (row >= SL_SCORES_ROWS) {
        if (reading->at == sizeof(int16_t)) { /* none of it was read */
            score(reading, scores->later);
        }
        return scores->later;
    }
    if (!scores->known[row]) {
        score(reading, scores->kept + row * scores->n);
        scores->known[row] = true;
    }
    return scores->kept + row * scores->n;
}

/* Copies bytes *at to size - 1 of something, as many as there is room for. */
static size_t copy(char *to, size_t room, const void *from, size_t size, size_t *at)
{
    size_t n = size - *at < room ? size - *at : room;
    memcpy(to, (const char *)from + *at, n);
    *at += n;
    return n;
}

/* Copies some of the row at hand: its number of scores, then the scores. */
static size_t copy_row(struct reading *reading, char *to, size_t room)
{
    const struct sl_scores *scores = reading->scores;
    const int16_t n = (int16_t)scores->n;
    if (reading->at < sizeof n) {
        return copy(to, room, &n, sizeof n, &reading->at);
    }
    size_t at = reading->at - sizeof n;
    size_t size = scores->n * sizeof *scores->kept;
    size_t done = copy(to, room, scores_of(reading), size, &at);
    reading->at = at + sizeof n;
    if (at == size) {
        reading->row++;
        reading->at = 0;
    }
    return done;
}

static ssize_t read_scores(void *user, char *to, size_t size)
{
    struct reading *reading = user;
    const struct sl_scores *scores = reading->scores;
    size_t done = copy(to, size, scores->head, scores->head_length, &reading->head_at);
    while (done < size && reading->row < reading->end) {
        done += copy_row(reading, to + done, size - done);
    }
    return (ssize_t)done;
}

static int close_scores(void *user)
{
    free(user);
    return 0;
}

FILE *sl_scores_open(struct sl_scores *scores, const struct sl_decoder_rows *rows, size_t first,
                     size_t end)
{
    const cookie_io_functions_t functions = {.read = read_scores, .close = close_scores};
    struct reading *reading = malloc(sizeof *reading);
    if (reading == NULL) {
        return NULL;
    }
    *reading = (struct reading){.scores = scores, .rows = *rows, .row = first, .end = end};
    FILE *stream = fopencookie(reading, "rb", functions);
    if (stream == NULL) {
        free(reading);
    }
    return stream;
}
