#include "report/drive_page.h"
#include "report/drive_text.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <string.h>

#include "report/page_scene.h"
#include "support/page_check.h"

/* The scene's run, driven: the gear is late, the decision is missed. Do not move it. */
struct driven {
    struct scene scene;
    struct sl_task task;
    struct sl_driving driving;
    struct sl_drive drive;
    struct sl_drive_change change;
    struct sl_situation others;
    struct sl_drive_view view;
};

static void drive_scene(struct driven *driven, const char *words)
{
    *driven = (struct driven){.others = {.n_events = 1}};
    scene_begin(&driven->scene, words, true);
    driven->others.events[0] = (struct sl_road_event){20.0, "Van from the right."};
    driven->task = (struct sl_task){&driven->scene.routine,
                                    &driven->scene.junction,
                                    &driven->scene.plan,
                                    {.timed = true, .from_s = FROM_S}};
    driven->driving = (struct sl_driving){&driven->task, &driven->scene.car, &driven->scene.heard};
    assert_int_equal(sl_drive_make(&driven->driving, &driven->drive, NULL), SL_OK);
    assert_int_equal(sl_drive_one_change(&driven->driving, &driven->drive, &driven->change, NULL),
                     SL_OK);
    driven->view = (struct sl_drive_view){"run.flac", &driven->driving, &driven->drive,
                                          &driven->change, &driven->others};
}

static void end_driven(struct driven *driven)
{
    sl_drive_clear(&driven->drive);
    scene_end(&driven->scene);
}

static void assert_has(const char *text, const char *part)
{
    if (strstr(text, part) == NULL) {
        fail_msg("no '%s' in\n%s", part, text);
    }
}

static void a_drive_says_how_it_ended_and_what_one_change_would_do(void **state)
{
    (void)state;
    struct driven driven;
    struct sl_str out = {0};
    const struct sl_style style = {.width = 100};
    drive_scene(&driven, "interior and left mirror");
    sl_report_drive(&out, &driven.view, &style);
    const char *text = sl_str_text(&out);
    static const char *const parts[] = {
        "File:      run.flac",
        "Others:    20 m before the line, at ",
        " s: Van from the right.",
        "Planned:   At the line at 10 mph in second gear",
        "The end:   At the line at 10 mph in second gear, clutch up",
        "interior and left mirror",
        "Gear, gear late: The gear was in",
        "rpm in fourth gear.",
        "Why: With the gear done in time",
        "Decide, undecided:",
        "Change:    Gear (second gear, clutch up) at 17.0 s",
        "The end then:",
        "Practise parked or at home",
    };
    for (size_t i = 0; i < sizeof parts / sizeof *parts; i++) {
        assert_has(text, parts[i]);
    }
    sl_str_clear(&out);
    sl_drive_one(&out, &driven.view); /* in one line */
    assert_has(sl_str_text(&out), " s of rolling; 1 of the 3 above is left.");
    sl_str_clear(&out);
    const struct sl_style brief = {.width = 40, .brief = true};
    sl_report_drive(&out, &driven.view, &brief);
    assert_has(sl_str_text(&out), "gear late");
    assert_null(strstr(sl_str_text(&out), "Planned"));
    sl_str_clear(&out);
    end_driven(&driven);
}

/* Who would have come where the car never was is told so. */
static void others_are_told_where_the_car_met_them(void **state)
{
    (void)state;
    struct driven driven;
    struct sl_str out = {0};
    drive_scene(&driven, "interior and left mirror");
    double at_s = sl_drive_time_s(&driven.drive, 20.0);
    char *met = sl_strf("20 m before the line, at %.1f s: Van from the right.", at_s);
    sl_drive_others(&out, &driven.view);
    assert_string_equal(sl_str_text(&out), met);
    sl_str_clear(&out);
    driven.drive.n_samples = 100; /* as if it had ended 5 s after the announcement */
    sl_drive_others(&out, &driven.view);
    assert_has(sl_str_text(&out), "20 m before the line, where the car never came: Van");
    sl_str_clear(&out);
    free(met);
    end_driven(&driven);
}

/* On a narrow terminal the phrases are lines; words that were unclear say that nothing was done. */
static void a_narrow_terminal_has_a_list(void **state)
{
    (void)state;
    struct driven driven;
    struct sl_str out = {0};
    const struct sl_style style = {.width = 50};
    drive_scene(&driven, "interior and left mirror");
    driven.scene.heard.items[1].unclear = true;
    sl_drive_clear(&driven.drive);
    assert_int_equal(sl_drive_make(&driven.driving, &driven.drive, NULL), SL_OK);
    sl_report_drive(&out, &driven.view, &style);
    assert_has(sl_str_text(&out), "8.0 s, ");
    assert_has(sl_str_text(&out), "(unclear: the car");
    assert_has(sl_str_text(&out), "could not be made out");
    sl_str_clear(&out);
    end_driven(&driven);
}

static void the_page_has_the_picture_and_the_same_as_a_table(void **state)
{
    (void)state;
    struct driven driven;
    char *html = NULL;
    drive_scene(&driven, "interior <b>& left</b>");
    assert_int_equal(sl_drive_page(&driven.view, &html, NULL), SL_OK);
    xmlDocPtr doc = page_parse(html);
    page_check_sound(doc);
    page_check_count(doc, "//s:path[@class = 'driven']", 3);
    page_check_count(doc, "//s:path[@class = 'planned']", 3);
    page_check_count(doc, "//s:line[@class = 'due']", 4);
    page_check_count(doc, "//h:tbody/h:tr", 4);
    page_check_count(doc, "//h:tbody/h:tr[h:th = 'interior <b>& left</b>']", 1);
    page_check_count(doc, "//h:ol/h:li", 3);
    page_check_count(doc, "//h:ol/h:li/h:p[@class = 'why']", 3);
    page_check_count(doc, "//h:dd[contains(., 'Van from the right.')]", 1);
    xmlFreeDoc(doc);
    free(html);
    end_driven(&driven);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_drive_says_how_it_ended_and_what_one_change_would_do),
        cmocka_unit_test(others_are_told_where_the_car_met_them),
        cmocka_unit_test(a_narrow_terminal_has_a_list),
        cmocka_unit_test(the_page_has_the_picture_and_the_same_as_a_table),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
