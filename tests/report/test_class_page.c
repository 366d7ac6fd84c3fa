#include "report/class_page.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <stdio.h>
#include <stdlib.h>

#include "support/near.h"
#include "support/page_check.h"
#include "support/routine_fixture.h"

#define HOSTILE "<i>B</i> & \"\x02 \xE2\x80\xAE"

static void fill(struct sl_class_grid *grid, const char *learner, size_t n_runs, size_t n_late)
{
    for (size_t i = 0; i < n_runs; i++) {
        struct sl_tally_step steps[FIXTURE_PHASES] = {0};
        const struct sl_tally_run run = {.overall = 90, .steps = steps, .n_steps = FIXTURE_PHASES};
        steps[GEAR].faults[SL_FAULT_LATE] = i < n_late ? 1 : 0;
        assert_int_equal(sl_class_grid_add(grid, learner, &run, NULL), SL_OK);
    }
}

/* For tests/e2e/axe.sh, which looks at the page in a browser. */
static void keep(const char *html)
{
    const char *path = getenv("SAYLINE_KEEP_PAGE");
    FILE *file = path == NULL ? NULL : fopen(path, "w");
    if (file != NULL) {
        assert_true(fputs(html, file) >= 0);
        assert_int_equal(fclose(file), 0);
    }
}

static void a_class_is_seen_by_learner_and_phase(void **state)
{
    (void)state;
    struct sl_class_grid grid = {0};
    struct sl_routine routine = fixture_routine();
    const char *const remarks[] = {"bag.zip: <refused>"};
    char *html = NULL;
    fill(&grid, "Ana", 4, 1);
    fill(&grid, HOSTILE, 2, 2);
    fill(&grid, "Cem", 3, 0);
    const struct sl_class_page class = {"Week 3 " HOSTILE, &routine, &grid, remarks, 1};
    assert_int_equal(sl_class_page(&class, &html, NULL), SL_OK);
    keep(html);
    xmlDocPtr doc = page_parse(html);
    page_check_sound(doc);
    page_check_count(doc, "(//h:table)[1]/h:tbody/h:tr", 4);
    page_check_count(doc, "(//h:table)[1]//h:tr[h:th = 'Ana']/h:td[6][. = '3 of 4']", 1);
    page_check_count(doc, "(//h:table)[1]//h:tr[h:th = 'The class']/h:td[6][. = '6 of 9']", 1);
    page_check_count(doc, "(//h:table)[2]//h:tr[h:th = 'Gear']/h:td[5][. = '3']", 1);
    page_check_count(doc, "(//h:table)[2]//h:tr/h:th[3][. = 'out of order']", 1);
    page_check_count(doc,
                     "//h:div[@class = 'lead'][contains(., 'Gear, which was wrong in 3 of 9 runs, "
                     "most often late') and contains(., 'Ana (3 of 4 right)') and "
                     "contains(., '<i>B</i>') and not(contains(., 'Cem'))]",
                     1);
    page_check_count(doc, "//h:i", 0);
    page_check_count(doc, "//h:li[. = 'bag.zip: <refused>']", 1);
    /* Ana's gear: three quarters of the pale bar. */
    double whole = page_number(doc, "number((//s:rect[@class = 'window'])[4]/@width)");
    assert_near(page_number(doc, "number(//s:rect[@class = 'unsure']/@width)"), 0.75 * whole, 0.1);
    xmlFreeDoc(doc);
    free(html);
    sl_class_grid_clear(&grid);
    sl_routine_clear(&routine);
}

static void nobody_is_a_page_too(void **state)
{
    (void)state;
    struct sl_class_grid grid = {0};
    struct sl_routine routine = fixture_routine();
    const struct sl_class_page class = {"Week 3", &routine, &grid, NULL, 0};
    char *html = NULL;
    assert_int_equal(sl_class_page(&class, &html, NULL), SL_OK);
    xmlDocPtr doc = page_parse(html);
    page_check_sound(doc);
    xmlFreeDoc(doc);
    free(html);
    sl_routine_clear(&routine);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_class_is_seen_by_learner_and_phase),
        cmocka_unit_test(nobody_is_a_page_too),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
