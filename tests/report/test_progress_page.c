#include "report/progress_page.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "support/near.h"
#include "support/page_check.h"
#include "support/routine_fixture.h"

#define RUNS 40

/* The gear was right in the first half of the runs and late ever since. */
static char *page_of(const char *learner, size_t n_runs, size_t n_answers)
{
    struct sl_progress_run runs[RUNS];
    struct sl_progress progress;
    struct sl_course recall = {0};
    char *html = NULL;
    assert_true(n_runs <= RUNS);
    for (size_t i = 0; i < n_runs; i++) {
        runs[i] = (struct sl_progress_run){.prompting = SL_PROMPTING_PARTIAL, .rolling_s = 6.25};
        runs[i].steps[GEAR].kinds = i < RUNS / 2 ? 0 : 1U << SL_FAULT_LATE;
        runs[i].steps[DECIDE].after_due_s = NAN;
    }
    assert_int_equal(sl_progress_make(runs, n_runs, FIXTURE_PHASES, &progress, NULL), SL_OK);
    for (size_t i = 0; i < n_answers; i++) {
        sl_course_add(&recall, i < 9);
    }
    sl_course_end(&recall, true);
    struct sl_routine routine = fixture_routine();
    const struct sl_progress_view view = {learner, &routine, &progress, &recall};
    assert_int_equal(sl_progress_page(&view, &html, NULL), SL_OK);
    sl_routine_clear(&routine);
    return html;
}

static void a_course_is_drawn_and_said(void **state)
{
    (void)state;
    char *html = page_of("Ana", RUNS, 0);
    xmlDocPtr doc = page_parse(html);
    page_check_sound(doc);
    page_check_count(doc, "//h:h1[. = 'Progress: Ana']", 1);
    page_check_count(doc, "//h:table", 4);
    page_check_count(doc, "//h:tr[h:th = 'Gear']/h:td[. = 'worse' and @class = 'bad']", 1);
    page_check_count(doc, "//h:div[@class = 'lead'][contains(., 'Gear: late in 20 of the last')]",
                     1);
    /* None of 20: the gear's dot lies on the mark of 0 %, the mirrors' on that of 100 %. */
    double none = page_number(doc, "number(//s:text[. = '0 %']/@x)");
    double all = page_number(doc, "number(//s:text[. = '100 %']/@x)");
    assert_true(all > none);
    assert_near(page_number(doc, "number((//s:circle)[4]/@cx)"), none, 0.1);
    assert_near(page_number(doc, "number((//s:circle)[1]/@cx)"), all, 0.1);
    /* Newcombe 1998, table I: none of 20 is 0.0000 to 0.1611 (Wilson's interval). */
    assert_near(page_number(doc, "number((//s:rect[@class = 'window'])[4]/@width)"),
                0.1611 * (all - none), 0.2);
    xmlFreeDoc(doc);
    free(html);
}

static void a_name_is_text_and_nothing_yet_is_a_page(void **state)
{
    (void)state;
    char *html = page_of("<b onclick='x'>&\x07", 0, 10);
    xmlDocPtr doc = page_parse(html);
    page_check_sound(doc);
    page_check_count(doc, "//h:h1[. = \"Progress: <b onclick='x'>&?\"]", 1);
    page_check_count(doc, "//h:b", 0);
    page_check_count(doc, "//h:p[contains(., '9 of 10 (60 to 98 %) answers right lately')]", 1);
    xmlFreeDoc(doc);
    free(html);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_course_is_drawn_and_said),
        cmocka_unit_test(a_name_is_text_and_nothing_yet_is_a_page),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
