#include "report/plan_page.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdio.h>

#include "report/page_scene.h"
#include "support/page_check.h"

static void the_sheet_has_every_marker_and_the_cautions(void **state)
{
    (void)state;
    struct scene scene;
    char *html = NULL;
    char path[256];
    scene_begin(&scene, "interior and left mirror", true);
    const struct sl_plan_view view = {&scene.plan, &scene.junction, &scene.routine, &scene.car};
    assert_int_equal(sl_plan_page(&view, &html, NULL), SL_OK);
    xmlDocPtr doc = page_parse(html);
    page_check_sound(doc);
    page_check_count(doc, "//h:tbody/h:tr", 5);
    page_check_count(doc, "//s:rect[@class = 'window']", 5);
    page_check_count(doc, "//h:tr[h:th = 'Gear']/h:td[. = 'second gear, clutch up']", 1);
    for (size_t i = 0; i < 5; i++) {
        const struct sl_window *window = &scene.plan.windows[i];
        (void)snprintf(path, sizeof path,
                       "//h:tr[h:th = '%s']/h:td[3][contains(., '%.1f\u00a0s') and contains(., "
                       "'%.0f\u00a0m')]",
                       scene.routine.phases[i].title, window->due_s, window->due_m);
        page_check_count(doc, path, 1);
    }
    page_check_count(doc, "//h:dt[. = 'Last stop']", 1);
    page_check_count(doc, "//h:h2[. = 'Cautions']/following-sibling::h:ul/h:li", 2);
    xmlFreeDoc(doc);
    free(html);
    scene_end(&scene);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_sheet_has_every_marker_and_the_cautions),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
