/* A program that is killed while it saves: whatever it reported saved is there, and the file is
 * whole. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <signal.h>
#include <sys/wait.h>
#include <time.h>

#include "store/history_scene.h"
#include "support/random.h"

#ifdef __SANITIZE_ADDRESS__
#define KILLS 60 /* everything takes several times as long */
#define MOST_MS 150
#else
#define KILLS 200
#define MOST_MS 40
#endif

/* Saves runs without end, a byte down the pipe for each that is saved. */
static void save_for_ever(const char *path, int saved)
{
    struct sl_history *history = NULL;
    if (sl_history_open(path, &history, NULL) != SL_OK) {
        _exit(1);
    }
    for (;;) {
        const struct told told = {.learner = "Ana", .script = CLEAN};
        if (scene_add(history, &told) != SL_OK || write(saved, "", 1) != 1) {
            _exit(1);
        }
    }
}

/* Starts a writer, kills it after so many milliseconds; how many runs it reported. */
static int kill_a_writer(const char *path, double after_ms)
{
    int ends[2];
    char bytes[4096];
    int n = 0;
    ssize_t got = 0;
    assert_int_equal(pipe(ends), 0);
    pid_t writer = fork();
    assert_true(writer >= 0);
    if (writer == 0) {
        save_for_ever(path, ends[1]);
    }
    close(ends[1]);
    struct timespec wait = {.tv_nsec = (long)(after_ms * 1e6)};
    nanosleep(&wait, NULL);
    kill(writer, SIGKILL);
    int how = 0;
    assert_int_equal(waitpid(writer, &how, 0), writer);
    assert_true(WIFSIGNALED(how)); /* it had not failed before */
    while ((got = read(ends[0], bytes, sizeof bytes)) > 0) {
        n += (int)got;
    }
    close(ends[0]);
    return n;
}

static void no_run_that_was_reported_saved_is_lost(void **state)
{
    (void)state;
    struct scene scene;
    uint64_t random = 11;
    int reported = 0;
    int in_flight = 0;
    assert_int_equal(temp_folder_make(&scene.folder), 0);
    temp_folder_name(&scene.folder, "history.sqlite", scene.path);
    for (int i = 0; i < KILLS; i++) {
        double after_ms = MOST_MS * (double)random_below(&random, 1000) / 1000;
        reported += kill_a_writer(scene.path, after_ms);
        scene_open(&scene);
        sl_history_close(scene.history);
        int held = query_number(scene.path, "SELECT count(*) FROM run");
        /* At most one was saved in the moment before it could be reported. */
        assert_true(held >= reported && held <= reported + 1);
        assert_true(is_intact(scene.path));
        in_flight += held - reported;
        reported = held;
    }
    assert_int_equal(query_number(scene.path, "SELECT count(*) FROM phase"), 5 * reported);
    assert_true(reported > KILLS / 2); /* the writers did get to write */
    print_message("%d kills, %d runs saved, %d of them just before the kill\n", KILLS, reported,
                  in_flight);
    temp_folder_remove(&scene.folder);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(no_run_that_was_reported_saved_is_lost),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
