/*
 * Scores of frames against those of PocketSphinx itself, which writes its own to a folder (its
 * options -senlogdir and -compallsen): a demo recording, every frame, every senone that is near the
 * best. The library takes the six best Gaussians of each codebook, sayline those near its best, so
 * that they differ where a senone gives those next to no weight.
 */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "core/str.h"
#include "speech/features.h"
#include "speech/mixtures.h"
#include "speech/scores.h"

#include "support/find_sound.h"
#include "support/temp_folder.h"

#include <sphinxbase/cmn.h>
#include <sphinxbase/err.h>

#include <dirent.h>
#include <stdio.h>
#include <string.h>

#define DEMO SL_SOURCE_DIR "/audio/demo/clean-t-left-open.flac"
#define FIRST 100 /* frames */
#define MOST 300
#define CLOSE 10 /* units, 1 nat */
#define NEAR 60  /* units from the best, 6 nats */

struct hall {
    struct temp_folder folder;
    ps_decoder_t *ps;
    struct sl_features features;
    struct sl_decoder_rows rows;
    struct sl_fitted_model *model;
    struct sl_scores *scores;
};

static void open_library(struct hall *hall)
{
    err_set_logfp(NULL);
    cmd_ln_t *config = cmd_ln_init(NULL, ps_args(), TRUE, "-hmm", SL_ACOUSTIC_MODEL, "-dict",
                                   SL_ACOUSTIC_MODEL "/../cmudict-en-us.dict", "-keyphrase", "go",
                                   "-remove_silence", "no", "-pl_window", "0", "-topn", "6",
                                   "-compallsen", "yes", "-senlogdir", hall->folder.path, NULL);
    hall->ps = ps_init(config);
    cmd_ln_free_r(config);
    assert_non_null(hall->ps);
    ps_get_feat(hall->ps)->cmn = CMN_NONE;
}

static void load(struct hall *hall)
{
    struct sl_clip sound = {0};
    double mean[SL_VOICE_CEPSTRA];
    assert_int_equal(load_sound(DEMO, &sound), SL_OK);
    assert_true(sound.n > (size_t)(FIRST + MOST) * SL_FRAME_SAMPLES);
    assert_int_equal(sl_features_compute(&hall->features, ps_get_fe(hall->ps),
                                         sound.samples + (size_t)FIRST * SL_FRAME_SAMPLES,
                                         (size_t)MOST * SL_FRAME_SAMPLES, NULL),
                     SL_OK);
    sl_features_keep(&hall->features, NULL, mean);
    free(sound.samples);
    hall->rows =
        (struct sl_decoder_rows){hall->features.rows, hall->features.origin, hall->features.count};
}

static void open_hall(struct hall *hall)
{
    *hall = (struct hall){0};
    assert_int_equal(temp_folder_make(&hall->folder), 0);
    open_library(hall);
    load(hall);
    assert_int_equal(sl_fitted_model_new(hall->ps, SL_ACOUSTIC_MODEL, &hall->model, NULL), SL_OK);
    assert_int_equal(sl_scores_new(hall->model, &hall->scores, NULL), SL_OK);
}

static void close_hall(struct hall *hall)
{
    sl_scores_free(hall->scores);
    sl_fitted_model_free(hall->model);
    sl_features_clear(&hall->features);
    ps_free(hall->ps);
    temp_folder_remove(&hall->folder);
}

/* Lets the library score the rows; the file that it wrote. */
static FILE *library_scores(const struct hall *hall)
{
    assert_int_equal(ps_start_utt(hall->ps), 0);
    assert_true(ps_process_cep(hall->ps, hall->features.rows, (int)hall->rows.n, FALSE, TRUE) >= 0);
    assert_int_equal(ps_end_utt(hall->ps), 0);
    DIR *folder = opendir(hall->folder.path);
    char *path = NULL;
    assert_non_null(folder);
    for (struct dirent *entry = readdir(folder); entry != NULL; entry = readdir(folder)) {
        if (strstr(entry->d_name, ".sen") != NULL && path == NULL) {
            path = sl_strf("%s/%s", hall->folder.path, entry->d_name);
        }
    }
    (void)closedir(folder);
    assert_non_null(path);
    FILE *file = fopen(path, "rb");
    free(path);
    assert_non_null(file);
    return file;
}

static void skip_head(FILE *file)
{
    static const char end[] = "endhdr\n";
    size_t matched = 0;
    while (end[matched] != '\0') {
        int c = fgetc(file);
        assert_true(c != EOF);
        matched = c == end[matched] ? matched + 1 : (size_t)(c == end[0]);
    }
    int32_t mark = 0;
    assert_int_equal(fread(&mark, sizeof mark, 1, file), 1);
    assert_int_equal(mark, 0x11223344);
}

/* The next frame; false at the end. */
static bool read_frame(FILE *file, int16_t *scores, size_t n)
{
    int16_t count = 0;
    if (fread(&count, sizeof count, 1, file) != 1) {
        return false;
    }
    assert_int_equal(count, n);
    assert_int_equal(fread(scores, sizeof *scores, n, file), n);
    return true;
}

static void scores_are_those_of_the_library(void **state)
{
    (void)state;
    struct hall hall;
    open_hall(&hall);
    size_t n = sl_fitted_model_senones(hall.model);
    int16_t *theirs = malloc(2 * n * sizeof *theirs);
    assert_non_null(theirs);
    int16_t *ours = theirs + n;
    FILE *library = library_scores(&hall);
    FILE *own = sl_scores_open(hall.scores, &hall.rows, 0, hall.rows.n);
    assert_non_null(own);
    skip_head(library);
    skip_head(own);
    size_t frames = 0;
    size_t near = 0;
    double off = 0;
    size_t close = 0;
    while (read_frame(library, theirs, n)) {
        assert_true(read_frame(own, ours, n));
        for (size_t s = 0; s < n; s++) {
            int apart = abs(theirs[s] - ours[s]);
            if (theirs[s] < NEAR) {
                near++;
                off += apart;
                close += apart <= CLOSE;
            }
        }
        frames++;
    }
    print_message("%zu frames, %zu scores: mean difference %.2f, %.1f %% close\n", frames, near,
                  off / (double)near, 100 * (double)close / (double)near);
    assert_true(off < 3.5 * (double)near); /* 0.36 nats */
    assert_true((double)close > 0.9 * (double)near);
    assert_int_equal(frames, hall.rows.n);
    assert_false(read_frame(own, ours, n));
    assert_int_equal(fclose(own), 0);
    (void)fclose(library);
    free(theirs);
    close_hall(&hall);
}

/* A file of the model, of which so many bytes are kept. */
struct cut {
    const char *name;
    size_t length;
    enum sl_status status;
};

static void copy_cut(const struct temp_folder *folder, const char *name, size_t length)
{
    char *from = sl_strf("%s/%s", SL_ACOUSTIC_MODEL, name);
    char *to = sl_strf("%s/%s", folder->path, name);
    FILE *in = fopen(from, "rb");
    FILE *out = fopen(to, "wb");
    assert_true(in != NULL && out != NULL);
    int c = fgetc(in);
    for (size_t i = 0; i < length && c != EOF; i++) {
        assert_int_equal(fputc(c, out), c);
        c = fgetc(in);
    }
    (void)fclose(in);
    assert_int_equal(fclose(out), 0);
    free(from);
    free(to);
}

/* What comes of reading the file of this name there; the other files are of the whole model. */
static enum sl_status read_model(const char *folder, const char *name,
                                 const struct sl_acoustic_model *model)
{
    struct sl_model_definition definition = {0};
    struct sl_senones *senones = NULL;
    enum sl_status status =
        strcmp(name, "mdef") == 0
            ? sl_model_definition_load(folder, model->definition.n_phones, &definition, NULL)
            : sl_mixtures_load(folder, model, 0.1024, &senones, NULL);
    sl_model_definition_clear(&definition);
    sl_senones_free(senones);
    return status;
}

static void a_broken_model_has_no_senones(void **state)
{
    (void)state;
    static const struct cut cuts[] = {
        {"mdef", SIZE_MAX, SL_OK},       {"mdef", 4, SL_FORMAT},
        {"mdef", 200, SL_FORMAT},        {"mdef", 1000000, SL_FORMAT},
        {"mdef", 2900000, SL_FORMAT},    {"sendump", 0, SL_FORMAT},
        {"sendump", 100, SL_FORMAT},     {"sendump", 634, SL_UNSUPPORTED},
        {"sendump", 1900000, SL_FORMAT}, {"sendump", SIZE_MAX, SL_OK}};
    struct sl_acoustic_model model = {0};
    assert_int_equal(sl_acoustic_model_load(SL_ACOUSTIC_MODEL, &model, NULL), SL_OK);
    for (size_t i = 0; i < sizeof cuts / sizeof *cuts; i++) {
        struct temp_folder folder;
        assert_int_equal(temp_folder_make(&folder), 0);
        copy_cut(&folder, cuts[i].name, cuts[i].length);
        assert_int_equal(read_model(folder.path, cuts[i].name, &model), cuts[i].status);
        temp_folder_remove(&folder);
    }
    model.definition.n_phones--;
    assert_int_equal(read_model(SL_ACOUSTIC_MODEL, "mdef", &model), SL_UNSUPPORTED);
    model.definition.n_phones++;
    sl_acoustic_model_clear(&model);
}

/* The scores of as many rows as are loaded, from row `first` on. */
static void read_all(const struct hall *hall, const struct sl_decoder_rows *rows, size_t first,
                     int16_t *scores)
{
    size_t n = sl_fitted_model_senones(hall->model);
    FILE *stream = sl_scores_open(hall->scores, rows, first, first + hall->rows.n);
    assert_non_null(stream);
    skip_head(stream);
    for (size_t i = 0; i < hall->rows.n; i++) {
        assert_true(read_frame(stream, scores + i * n, n));
    }
    assert_int_equal(fclose(stream), 0);
}

/* Scores of rows that are not kept are the same as of those that are. */
static void rows_beyond_those_kept_are_scored_alike(void **state)
{
    (void)state;
    struct hall hall;
    open_hall(&hall);
    size_t n = sl_fitted_model_senones(hall.model);
    size_t repeats = SL_SCORES_ROWS / hall.rows.n + 2;
    mfcc_t **cepstra = malloc(repeats * hall.rows.n * sizeof *cepstra);
    size_t *origin = malloc(repeats * hall.rows.n * sizeof *origin);
    int16_t *scores = malloc(2 * hall.rows.n * n * sizeof *scores);
    assert_true(cepstra != NULL && origin != NULL && scores != NULL);
    const struct sl_decoder_rows many = {cepstra, origin, repeats * hall.rows.n};
    /* a gap before each repeat, so that it has the same edges */
    for (size_t i = 0; i < many.n; i++) {
        cepstra[i] = hall.rows.cepstra[i % hall.rows.n];
        origin[i] = i + 10 * (i / hall.rows.n);
    }
    assert_true(many.n - hall.rows.n > SL_SCORES_ROWS);
    read_all(&hall, &many, 0, scores);
    read_all(&hall, &many, many.n - hall.rows.n, scores + hall.rows.n * n);
    assert_memory_equal(scores, scores + hall.rows.n * n, hall.rows.n * n * sizeof *scores);
    free(cepstra);
    free(origin);
    free(scores);
    close_hall(&hall);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(scores_are_those_of_the_library),
        cmocka_unit_test(a_broken_model_has_no_senones),
        cmocka_unit_test(rows_beyond_those_kept_are_scored_alike),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
