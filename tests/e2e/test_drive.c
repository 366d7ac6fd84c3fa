/* sayline drive as a program: what it tells, what it writes, what is refused. */
#include "support/program.h"

#include "core/str.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <jansson.h>
#include <stdlib.h>
#include <string.h>

#define DEMO "audio/demo/"

/* The demo recordings have the faults that their names say. */
static void recordings_have_the_consequences_of_their_faults(void **state)
{
    static const struct {
        const char *recording, *consequence;
    } rows[] = {{"clean-t-left-open", NULL},
                {"late-gear", "gear-late"},
                {"gear-before-speed", "gear-before-speed"},
                {"decide-before-gear", "decided-before-gear"},
                {"missed-signal", "no-signal"},
                {"wrong-mirror", "blind-side"}};
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        char *line =
            sl_strf("sayline drive --json --from " DEMO "%s.flac t-left-open", rows[i].recording);
        struct sl_ran ran = sl_run(line);
        struct sl_ran again = sl_run(line);
        assert_int_equal(ran.code, 0);
        assert_string_equal(ran.out, again.out);
        json_t *drive = json_loads(ran.out, JSON_REJECT_DUPLICATES, NULL);
        const json_t *told = json_object_get(drive, "consequences");
        bool found = rows[i].consequence == NULL && json_array_size(told) == 0;
        for (size_t j = 0; j < json_array_size(told); j++) {
            const char *name = json_string_value(json_object_get(json_array_get(told, j), "name"));
            found =
                found || (rows[i].consequence != NULL && strcmp(name, rows[i].consequence) == 0);
        }
        if (!found) {
            fail_msg("%s: %s", rows[i].recording, ran.out);
        }
        json_decref(drive);
        sl_ran_clear(&ran);
        sl_ran_clear(&again);
        free(line);
    }
}

static void a_page_is_written_and_others_come_by_number(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    sl_check_in(folder,
                "sayline drive -q --from " DEMO
                "late-gear.flac t-left-open --html $D/drive.html && "
                "grep -q 'class=\"driven\"' $D/drive.html",
                0);
    sl_check_in(folder,
                "for n in 1 1; do sayline drive --seed $n --from " DEMO "clean-t-left-open.flac "
                "t-left-open; done | grep -c Others: | grep -x 2",
                0);
    sl_check_in(folder,
                "sayline drive --from " DEMO "late-gear.flac t-left-open --html $D >/dev/null", 1);
    sl_check_in(folder,
                "sayline drive --from - t-left-open <" DEMO "late-gear.flac | grep -q 'gear late'",
                0);
    sl_scratch_remove(folder);
}

static void a_recording_of_a_rehearsal_knows_its_junction(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    sl_check_in(folder,
                "cp " DEMO "late-gear.flac $D/run.flac && printf '%s' "
                "'{\"format\":1,\"junction\":\"t-left-open\",\"routine\":\"decide-last\",\"car\":"
                "\"family-diesel\",\"prompting\":\"full\",\"from_s\":0}' >$D/run.run.json && "
                "sayline drive --from $D/run.flac | grep -q 'Family diesel'",
                0);
    /* It ended before it was announced: the mend is this command's own option. */
    sl_check_in(folder,
                "sed -i 's/,\"from_s\":0//' $D/run.run.json && "
                "! sayline drive --from $D/run.flac 2>$D/err && "
                "grep -q 'give --announced SECONDS' $D/err",
                0);
    sl_scratch_remove(folder);
}

/* The seed is noted beside the recording: the same others come again. */
static void what_is_said_live_drives_as_its_recording_does(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    sl_check_in(folder,
                "export XDG_DATA_HOME=$D\n"
                "sayline drive --json --seed 3 --html $D/drive.html --mic " DEMO
                "late-gear.flac t-left-open >$D/live || exit 90\n"
                "grep -q '\"name\":\"gear-late\"' $D/live || exit 91\n"
                "grep -q 'class=\"driven\"' $D/drive.html || exit 92\n"
                "sayline drive --json --from $D/sayline/recordings/*.flac >$D/again || exit 93\n"
                "cmp $D/live $D/again || exit 94\n"
                "sayline export | grep -q '\"prompting\":null,\"seed\":3,' || exit 95\n"
                "sayline progress --remark | grep -q 'in the last run' || exit 96\n"
                "sayline drive --json --seed 4 --from $D/sayline/recordings/*.flac >$D/other\n"
                "! cmp -s $D/other $D/again",
                0);
    sl_scratch_remove(folder);
}

/* What the car does is told as it happens, and the end afterwards. */
static void a_live_drive_is_told_in_lines(void **state)
{
    (void)state;
    char *folder = sl_scratch_make();
    sl_check_in(
        folder,
        "export XDG_DATA_HOME=$D\n"
        "sayline drive --plain --seed 1 --mic " DEMO
        "clean-t-left-open.flac t-left-open >$D/out || exit 90\n"
        "for line in 'The car does what you say' 'The car brakes.' 'In second gear' "
        "'Road: Cyclist' 'At the line, at 10 mph' 'never while driving' 'The end:' "
        "'went into traffic'; do grep -q \"$line\" $D/out || exit 91; done\n"
        "! grep -q -e 'prompting' -e ': now, by' -e 'time is over' -e 'ended otherwise' $D/out",
        0);
    /* In loud noise more is made out of the whole recording than while it is spoken: that is said.
     */
    sl_check_in(folder,
                "export XDG_DATA_HOME=$D\n"
                "sayline drive --plain --seed 2 --mic " DEMO
                "fan-noise-10-db.flac t-left-open | grep -q 'otherwise: At the line at 30 mph'",
                0);
    sl_scratch_remove(folder);
}

static void wrong_use_is_exit_code_2(void **state)
{
    static const struct {
        const char *line;
        int code;
        const char *says;
    } rows[] = {
        {"sayline drive", 2, "no junction to drive to"},
        {"sayline drive --mic " DEMO "late-gear.flac --input 1 t-left-open", 2,
         "leave out --input"},
        {"sayline drive --from " DEMO "late-gear.flac --mic x t-left-open", 2, "--mic is for"},
        {"sayline drive --announced 3 t-left-open", 2, "--announced is for a recording"},
        {"sayline drive --approach '40 mph' t-left-open", 2, "give --from FILE"},
        {"sayline drive t-left-opne", 2, "t-left-open"},
        {"ALSA_CONFIG_PATH=tests/sound/no-device.conf sayline drive t-left-open", 3, "device"},
        {"sayline drive --from " DEMO "late-gear.flac", 2, "drive needs a junction"},
        {"sayline drive --from " DEMO "late-gear.flac t-left-opne", 2, "t-left-open"},
        {"sayline drive --from " DEMO "late-gear.flac --seed 1.5 t-left-open", 2, "whole"},
        {"sayline drive --from " DEMO "late-gear.flac --seed many t-left-open", 2, "--seed"},
        {"sayline drive --from " DEMO "late-gear.flac --announced -1 t-left-open", 2,
         "--announced"},
        {"sayline drive --from " DEMO "late-gear.flac --car hovercraft t-left-open", 2, "car"},
        {"sayline drive --from nosuch.flac t-left-open", 1, "nosuch.flac"},
        {"sayline drive --from " DEMO "late-gear.flac --announced 9999 t-left-open", 1,
         "inside the recording"},
    };
    (void)state;
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        struct sl_ran ran = sl_run(rows[i].line);
        if (ran.code != rows[i].code || strstr(ran.err, rows[i].says) == NULL) {
            fail_msg("%s: exit code %d\n%s%s", rows[i].line, ran.code, ran.out, ran.err);
        }
        sl_ran_clear(&ran);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(recordings_have_the_consequences_of_their_faults),
        cmocka_unit_test(a_page_is_written_and_others_come_by_number),
        cmocka_unit_test(a_recording_of_a_rehearsal_knows_its_junction),
        cmocka_unit_test(what_is_said_live_drives_as_its_recording_does),
        cmocka_unit_test(a_live_drive_is_told_in_lines),
        cmocka_unit_test(wrong_use_is_exit_code_2),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
