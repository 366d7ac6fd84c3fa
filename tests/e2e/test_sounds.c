/* Sound files good and bad: each gets a clear answer. */
#include "support/program.h"

#include "core/str.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <samplerate.h>
#include <sndfile.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define CLEAN SL_SOURCE_DIR "/audio/demo/clean-t-left-open.flac"

/* A mono sound. */
struct sound {
    float *samples;
    size_t n;
    int rate_hz;
};

static struct sound read_clean(void)
{
    SF_INFO info = {0};
    SNDFILE *file = sf_open(CLEAN, SFM_READ, &info);
    assert_non_null(file);
    assert_int_equal(info.channels, 1);
    struct sound sound = {malloc((size_t)info.frames * sizeof(float)), (size_t)info.frames,
                          info.samplerate};
    assert_int_equal(sf_readf_float(file, sound.samples, info.frames), info.frames);
    sf_close(file);
    return sound;
}

static struct sound at_rate(const struct sound *sound, int rate_hz)
{
    double ratio = (double)rate_hz / sound->rate_hz;
    size_t room = (size_t)((double)sound->n * ratio) + 16;
    struct sound out = {malloc(room * sizeof(float)), 0, rate_hz};
    SRC_DATA data = {.data_in = sound->samples,
                     .data_out = out.samples,
                     .input_frames = (long)sound->n,
                     .output_frames = (long)room,
                     .src_ratio = ratio};
    assert_int_equal(src_simple(&data, SRC_SINC_MEDIUM_QUALITY, 1), 0);
    out.n = (size_t)data.output_frames_gen;
    return out;
}

static void write_sound(const char *path, const struct sound *sound, int channels, int format)
{
    SF_INFO info = {.samplerate = sound->rate_hz, .channels = channels, .format = format};
    SNDFILE *file = sf_open(path, SFM_WRITE, &info);
    assert_non_null(file);
    for (size_t i = 0; i < sound->n; i++) {
        float frame[2] = {sound->samples[i], sound->samples[i]};
        assert_int_equal(sf_writef_float(file, frame, 1), 1);
    }
    assert_int_equal(sf_close(file), 0);
}

static void scale(struct sound *sound, float factor)
{
    for (size_t i = 0; i < sound->n; i++) {
        sound->samples[i] = fmaxf(-1.0F, fminf(1.0F, sound->samples[i] * factor));
    }
}

struct row {
    const char *name;
    const char *file;
    int code;
    const char *says; /* on standard output with code 0, else on standard error */
};

static void check_row(const char *folder, const struct row *row)
{
    char *command = sl_strf("sayline mark -j t-left-open '%s/%s'", folder, row->file);
    struct sl_ran ran = sl_run(command);
    const char *text = row->code == 0 ? ran.out : ran.err;
    if (ran.code != row->code || strstr(text, row->says) == NULL) {
        fail_msg("%s: exit code %d\n%s%s", row->name, ran.code, ran.out, ran.err);
    }
    if (row->code != 0) {
        assert_non_null(strstr(ran.err, row->file));
        assert_string_equal(ran.out, "");
    }
    sl_ran_clear(&ran);
    free(command);
}

static void make_sounds(const char *folder)
{
#define PATH(name) (free(path), path = sl_strf("%s/%s", folder, name))
    char *path = NULL;
    struct sound clean = read_clean();
    struct sound telephone = at_rate(&clean, 8000);
    struct sound studio = at_rate(&clean, 96000);
    struct sound empty = {clean.samples, 0, 16000};
    write_sound(PATH("telephone.wav"), &telephone, 1, SF_FORMAT_WAV | SF_FORMAT_PCM_16);
    write_sound(PATH("telephone-ulaw.wav"), &telephone, 1, SF_FORMAT_WAV | SF_FORMAT_ULAW);
    write_sound(PATH("studio.wav"), &studio, 2, SF_FORMAT_WAV | SF_FORMAT_PCM_24);
    write_sound(PATH("studio.aiff"), &studio, 2, SF_FORMAT_AIFF | SF_FORMAT_FLOAT);
    write_sound(PATH("vorbis.ogg"), &clean, 1, SF_FORMAT_OGG | SF_FORMAT_VORBIS);
    write_sound(PATH("no-frames.wav"), &empty, 1, SF_FORMAT_WAV | SF_FORMAT_PCM_16);
    write_sound(PATH("no-frames.flac"), &empty, 1, SF_FORMAT_FLAC | SF_FORMAT_PCM_16);
    for (size_t i = 0; i < clean.n; i += 1000) {
        clean.samples[i] = i % 2000 == 0 ? NAN : INFINITY;
    }
    write_sound(PATH("not-a-number.wav"), &clean, 1, SF_FORMAT_WAV | SF_FORMAT_FLOAT);
    for (size_t i = 0; i < clean.n; i++) {
        clean.samples[i] = NAN;
    }
    write_sound(PATH("all-not-a-number.wav"), &clean, 1, SF_FORMAT_WAV | SF_FORMAT_FLOAT);
    scale(&clean, 0.0F);
    for (size_t i = 0; i < clean.n; i++) {
        clean.samples[i] = 0.0F;
    }
    write_sound(PATH("silence.wav"), &clean, 1, SF_FORMAT_WAV | SF_FORMAT_PCM_16);
    free(clean.samples);
    clean = read_clean();
    scale(&clean, 40.0F);
    write_sound(PATH("clipped.wav"), &clean, 1, SF_FORMAT_WAV | SF_FORMAT_PCM_16);
    free(clean.samples);
    clean = read_clean();
    scale(&clean, 0.01F);
    write_sound(PATH("faint.wav"), &clean, 1, SF_FORMAT_WAV | SF_FORMAT_PCM_16);
    free(clean.samples);
    free(telephone.samples);
    free(studio.samples);
    free(path);
#undef PATH
}

static void make_broken_files(const char *folder)
{
    char *command =
        sl_strf("cd '%s' && : >empty.wav && cp '%s/README.md' text.wav && "
                "head -c 20000 '%s' >cut-short.flac && "
                "head -c 30 '%s' >only-a-header.flac && "
                "{ head -c 3000 '%s'; head -c 20000 '%s/sayline-noise'; } >damaged.flac",
                folder, SL_SOURCE_DIR, CLEAN, CLEAN, CLEAN, folder);
    char *noise = sl_strf("%s/sayline-noise", folder);
    FILE *file = fopen(noise, "wb");
    assert_non_null(file);
    unsigned value = 12345;
    for (int i = 0; i < 20000; i++) {
        value = value * 1103515245U + 12345U;
        fputc((int)(value >> 16 & 0xff), file);
    }
    assert_int_equal(fclose(file), 0);
    assert_int_equal(system(command), 0);
    free(noise);
    free(command);
}

static void every_sound_file_gets_a_clear_answer(void **state)
{
    (void)state;
    static const struct row rows[] = {
        {"8 kHz", "telephone.wav", 0, "Score:"},
        {"8 kHz, mu-law", "telephone-ulaw.wav", 0, "Score:"},
        {"96 kHz stereo", "studio.wav", 0, "No faults."},
        {"96 kHz stereo, float", "studio.aiff", 0, "No faults."},
        {"Ogg Vorbis", "vorbis.ogg", 0, "Score:"},
        {"some samples are no numbers", "not-a-number.wav", 0, "values that are no numbers"},
        {"no sample is a number", "all-not-a-number.wav", 0, "no speech in it"},
        {"silence", "silence.wav", 0, "no speech in it"},
        {"clipped", "clipped.wav", 0, "the peaks are cut off"},
        {"faint", "faint.wav", 0, "too quiet"},
        {"cut short", "cut-short.flac", 0, "Score:"},
        {"no frame, WAV", "no-frames.wav", 1, "sayline: "},
        {"no frame, FLAC", "no-frames.flac", 1, "sayline: "},
        {"empty", "empty.wav", 1, "sayline: "},
        {"text", "text.wav", 1, "sayline: "},
        {"noise under a sound's name", "sayline-noise", 1, "sayline: "},
        {"a header and no more", "only-a-header.flac", 1, "sayline: "},
    };
    char *folder = sl_scratch_make();
    make_sounds(folder);
    make_broken_files(folder);
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        check_row(folder, &rows[i]);
    }
    /* How much of a damaged stream libsndfile gives back is its own affair: no crash, one answer.
     */
    char *command = sl_strf("sayline mark -j t-left-open '%s/damaged.flac'", folder);
    struct sl_ran ran = sl_run(command);
    assert_in_range(ran.code, 0, 1);
    assert_true((ran.code == 0) == (strstr(ran.out, "Score:") != NULL));
    sl_ran_clear(&ran);
    free(command);
    sl_scratch_remove(folder);
}

int main(void)
{
    const struct CMUnitTest tests[] = {cmocka_unit_test(every_sound_file_gets_a_clear_answer)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
