#include "festival.h"

#include "core/str.h"
#include "sound/sound_reader.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/socket.h>
#include <sys/wait.h>
#include <unistd.h>

#define RATE_HZ 16000
#define PACKAGES "apt-get install festival festvox-kallpc16k festvox-kdlpc16k festvox-us-slt-hts"
#define DONE "done\n"

struct corpus_festival {
    pid_t pid;
    int socket;    /* what is said to the program */
    FILE *answers; /* what it says */
    char *folder;  /* of its waves */
};

struct voice {
    const char *name, *function;
    double mean_hz, spread_hz; /* of the pitch; 0: a voice of a statistical model */
};

/* Mean, spread and stretch (1.1) are those of the voices' own files. */
static const struct voice voices[] = {{"festival-kal", "voice_kal_diphone", 105, 14},
                                      {"festival-ked", "voice_ked_diphone", 105, 15},
                                      {"festival-slt", "voice_cmu_us_slt_arctic_hts", 0, 0}};

#define N_VOICES (sizeof voices / sizeof voices[0])

static const struct voice *find_voice(const char *name)
{
    for (size_t i = 0; i < N_VOICES; i++) {
        if (strcmp(voices[i].name, name) == 0) {
            return &voices[i];
        }
    }
    return NULL;
}

bool corpus_festival_has(const char *voice)
{
    return find_voice(voice) != NULL;
}

bool corpus_festival_shifts(const char *voice)
{
    const struct voice *found = find_voice(voice);
    return found != NULL && found->mean_hz > 0;
}

static void run_festival(int end)
{
    dup2(end, STDIN_FILENO);
    dup2(end, STDOUT_FILENO);
    execlp("festival", "festival", "--pipe", (char *)NULL);
    _exit(127);
}

static bool start_process(struct corpus_festival *festival)
{
    int ends[2];
    if (socketpair(AF_UNIX, SOCK_STREAM, 0, ends) != 0) {
        return false;
    }
    festival->pid = fork();
    if (festival->pid == 0) {
        close(ends[0]);
        run_festival(ends[1]);
    }
    close(ends[1]);
    festival->socket = ends[0];
    int copy = dup(ends[0]);
    festival->answers = copy < 0 ? NULL : fdopen(copy, "r");
    return festival->pid > 0 && festival->answers != NULL;
}

/* Says a script; false when nobody is there to hear it. */
static bool tell(const struct corpus_festival *festival, const char *script)
{
    size_t length = strlen(script);
    while (length > 0) {
        ssize_t n = send(festival->socket, script, length, MSG_NOSIGNAL);
        if (n <= 0) {
            return false;
        }
        script += n;
        length -= (size_t)n;
    }
    return true;
}

/* The lines of the answer up to DONE, which is not kept; NULL when the program is gone. */
static char *hear_answer(const struct corpus_festival *festival)
{
    struct sl_str answer = {0};
    char *line = NULL;
    size_t room = 0;
    bool done = false;
    while (!done && getline(&line, &room, festival->answers) > 0) {
        done = strcmp(line, DONE) == 0;
        sl_str_add(&answer, done ? "" : line);
    }
    free(line);
    if (!done) {
        sl_str_clear(&answer);
        return NULL;
    }
    return sl_str_take(&answer);
}

static char *ask(const struct corpus_festival *festival, const char *script)
{
    bool told = script != NULL && tell(festival, script) &&
                tell(festival, "\n(format t \"done\\n\")\n(fflush nil)\n");
    return told ? hear_answer(festival) : NULL;
}

/* All voices must be there: the same numbers are to give the same corpus everywhere. */
static bool has_voices(const struct corpus_festival *festival)
{
    char *list = ask(festival, "(format t \"%l\\n\" (voice.list))");
    bool all = list != NULL;
    for (size_t i = 0; i < N_VOICES && all; i++) {
        all = strstr(list, voices[i].function + strlen("voice_")) != NULL;
    }
    free(list);
    return all;
}

enum sl_status corpus_festival_start(struct corpus_festival **festival, struct sl_error *error)
{
    struct corpus_festival *started = calloc(1, sizeof *started);
    if (started == NULL) {
        return sl_fail_memory(error);
    }
    started->socket = -1;
    const char *temporary = getenv("TMPDIR");
    started->folder =
        sl_strf("%s/corpus-XXXXXX", temporary == NULL || *temporary == '\0' ? "/tmp" : temporary);
    enum sl_status status = SL_OK;
    if (started->folder == NULL) {
        status = sl_fail_memory(error);
    } else if (mkdtemp(started->folder) == NULL || !start_process(started)) {
        status = sl_fail(error, SL_IO, "festival", NULL, "the program cannot be started");
    } else if (!has_voices(started)) {
        status = sl_fail(error, SL_NOT_FOUND, "festival", PACKAGES,
                         "the program or one of its voices is not installed");
    }
    if (status != SL_OK) {
        corpus_festival_stop(started);
        return status;
    }
    *festival = started;
    return SL_OK;
}

static char *quoted(const char *text)
{
    struct sl_str quoted = {0};
    for (; *text != '\0'; text++) {
        sl_str_add(&quoted, *text == '"' || *text == '\\' ? "\\" : "");
        sl_str_add_bytes(&quoted, text, 1);
    }
    return sl_str_take(&quoted);
}

/* Chooses the voice and its manner. */
static void add_manner(struct sl_str *script, const struct voice *voice,
                       const struct sl_manner *manner)
{
    sl_str_addf(script, "(%s)\n", voice->function);
    if (voice->mean_hz > 0) {
        sl_str_addf(script,
                    "(Parameter.set 'Duration_Stretch %.4f)\n"
                    "(set! int_lr_params '((target_f0_mean %.2f) (target_f0_std %.2f) "
                    "(model_f0_mean 170) (model_f0_std 34)))\n",
                    1.1 * manner->stretch, voice->mean_hz * manner->pitch,
                    voice->spread_hz * manner->pitch);
    } else {
        sl_str_addf(script,
                    "(set! hts_engine_params (append hts_engine_params "
                    "(list (list \"-r\" %.4f))))\n",
                    1 / manner->stretch);
    }
}

/* "pau 0.16", "s 0.31", ...: from the end of the first pauses to the end of the last phone. */
static void find_speech(const char *segments, struct sl_spoken *spoken)
{
    bool begun = false;
    spoken->speech_from = 0;
    spoken->speech_to = spoken->n_samples;
    for (const char *at = segments; at != NULL && *at != '\0';) {
        const char *space = strchr(at, ' ');
        double end_s = space == NULL ? 0 : strtod(space, NULL);
        size_t end = (size_t)fmax(0, end_s * RATE_HZ);
        end = end < spoken->n_samples ? end : spoken->n_samples;
        bool pause = strncmp(at, "pau ", 4) == 0 || at[0] == '#';
        if (pause && !begun) {
            spoken->speech_from = end;
        } else if (!pause) {
            begun = true;
            spoken->speech_to = end;
        }
        at = strchr(at, '\n');
        at = at == NULL ? NULL : at + 1;
    }
}

static enum sl_status read_wave(const char *path, struct sl_spoken *spoken, struct sl_error *error)
{
    struct sl_sound_reader *reader = NULL;
    enum sl_status status = sl_sound_open(path, RATE_HZ, &reader, error);
    struct sl_spoken read = {.rate_hz = RATE_HZ};
    size_t n = 1;
    while (status == SL_OK && n > 0) {
        int16_t *grown = realloc(read.samples, (read.n_samples + RATE_HZ) * sizeof *grown);
        if (grown == NULL) {
            status = sl_fail_memory(error);
            break;
        }
        read.samples = grown;
        status = sl_sound_read(reader, read.samples + read.n_samples, RATE_HZ, &n, error);
        read.n_samples += n;
    }
    sl_sound_close(reader);
    if (status != SL_OK) {
        free(read.samples);
        return status;
    }
    *spoken = read;
    return SL_OK;
}

static char *write_script(const struct corpus_festival *festival, const struct voice *voice,
                          const char *text, const struct sl_manner *manner)
{
    struct sl_str script = {0};
    char *words = quoted(text);
    add_manner(&script, voice, manner);
    sl_str_addf(&script,
                "(set! said (utt.synth (Utterance Text \"%s\")))\n"
                "(utt.save.wave said \"%s/said.wav\" 'riff)\n"
                "(mapcar (lambda (s) (format t \"%%s %%f\\n\" (item.name s) "
                "(item.feat s 'segment_end))) (utt.relation.items said 'Segment))\n",
                words == NULL ? "" : words, festival->folder);
    free(words);
    return sl_str_take(&script);
}

static enum sl_status speak(struct corpus_festival *festival, const char *script,
                            struct sl_spoken *spoken, struct sl_error *error)
{
    char *segments = ask(festival, script);
    char *path = sl_strf("%s/said.wav", festival->folder);
    enum sl_status status = SL_OK;
    if (segments == NULL || path == NULL) {
        status = sl_fail(error, SL_IO, "festival", NULL, "the program is no longer there");
    } else {
        status = read_wave(path, spoken, error);
        unlink(path);
    }
    if (status == SL_OK) {
        find_speech(segments, spoken);
    }
    free(path);
    free(segments);
    return status;
}

enum sl_status corpus_festival_speak(struct corpus_festival *festival, const char *voice,
                                     const char *text, const struct sl_manner *manner,
                                     struct sl_spoken *spoken, struct sl_error *error)
{
    const struct voice *found = find_voice(voice);
    if (found == NULL) {
        return sl_fail(error, SL_NOT_FOUND, voice, NULL, "festival has no voice '%s'", voice);
    }
    if (manner->pitch != 1 && !corpus_festival_shifts(voice)) {
        return sl_fail(error, SL_INVALID, voice, NULL, "the pitch of '%s' is as it is", voice);
    }
    char *script = write_script(festival, found, text, manner);
    enum sl_status status = speak(festival, script, spoken, error);
    free(script);
    return status;
}

void corpus_festival_stop(struct corpus_festival *festival)
{
    if (festival == NULL) {
        return;
    }
    if (festival->answers != NULL) {
        fclose(festival->answers);
    }
    if (festival->socket >= 0) {
        close(festival->socket); /* the end of its input: it goes */
    }
    if (festival->pid > 0) {
        waitpid(festival->pid, NULL, 0);
    }
    if (festival->folder != NULL) {
        rmdir(festival->folder);
    }
    free(festival->folder);
    free(festival);
}
