#include "report/run_page.h"

#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <stdio.h>

#include "report/page_scene.h"
#include "report/timeline.h"
#include "support/near.h"
#include "support/page_check.h"

/* Markup, references, quotes, right to left, an emoji, control characters, no UTF-8, and a code
 * point that is none of XML's. */
#define HOSTILE                                                                                    \
    "<script>alert(1)</script> &amp; ]]> \"'\xD7\xA9\xD7\x9C\xE2\x80\xAE \xF0\x9F\x9A\x97"         \
    "\x01\x1b[2J\x7f\xff\xEF\xBF\xBF"

static char *page_of(const struct scene *scene, const char *sound)
{
    double peaks[1563];
    struct sl_envelope wave = {.rate_hz = 8000, .stretch = 160, .peaks = peaks, .n_peaks = 1563};
    for (size_t i = 0; i < wave.n_peaks; i++) {
        peaks[i] = 0.5 + 0.5 * sin((double)i);
    }
    char *html = NULL;
    assert_int_equal(sl_run_page(&scene->view, &wave, sound, &html, NULL), SL_OK);
    return html;
}

static void the_page_of_a_run_is_whole_and_alone(void **state)
{
    (void)state;
    for (int timed = 0; timed < 2; timed++) {
        struct scene scene;
        scene_begin(&scene, "interior and left mirror", timed == 1);
        char *html = page_of(&scene, "run.flac");
        xmlDocPtr doc = page_parse(html);
        page_check_sound(doc);
        page_check_count(doc, "//s:svg", 1);
        page_check_count(doc, "//h:audio[@src = './run.flac']", 1);
        page_check_count(doc, "//h:tbody/h:tr", 5);
        page_check_count(doc, "//h:td[. = 'missed']", 1);
        page_check_count(doc, "//h:ol/h:li", (int)scene.mark.n_faults);
        page_check_count(doc, "//s:circle", (int)scene.mark.n_faults);
        page_check_count(doc, "//s:rect[@class = 'window']", timed == 1 ? 5 : 0);
        xmlFreeDoc(doc);
        free(html);
        scene_end(&scene);
    }
}

static void without_a_sound_there_is_nothing_to_play_or_draw(void **state)
{
    (void)state;
    struct scene scene;
    char *html = NULL;
    scene_begin(&scene, "interior and left mirror", true);
    assert_int_equal(sl_run_page(&scene.view, NULL, NULL, &html, NULL), SL_OK);
    xmlDocPtr doc = page_parse(html);
    page_check_sound(doc);
    page_check_count(doc, "//h:audio", 0);
    page_check_count(doc, "//s:path", 0);
    xmlFreeDoc(doc);
    free(html);
    scene_end(&scene);
}

static void hostile_text_is_text(void **state)
{
    (void)state;
    struct scene scene;
    scene_begin(&scene, HOSTILE, true);
    scene.view.file = HOSTILE;
    free(scene.junction.title);
    scene.junction.title = sl_strdup(HOSTILE);
    char *html = page_of(&scene, "javascript:alert('x')/../a b\".flac");
    xmlDocPtr doc = page_parse(html);
    page_check_sound(doc);
    page_check_count(doc, "//h:td[contains(., '<script>alert(1)</script> &amp; ]]>')]", 1);
    page_check_count(doc, "//h:h1[contains(., '<script>') and contains(., '?[2J')]", 1);
    page_check_count(doc, "//h:audio[@src = './javascript%3Aalert%28%27x%27%29/../a%20b%22.flac']",
                     1);
    xmlFreeDoc(doc);
    free(html);
    scene_end(&scene);
}

/* x of a label of the axes. */
static double label_x(xmlDocPtr doc, const char *label)
{
    char path[128];
    (void)snprintf(path, sizeof path, "number(//s:text[. = '%s']/@x)", label);
    double x = page_number(doc, path);
    assert_true(x == x); /* found, and a number */
    return x;
}

/* What a reader with a ruler would say: seconds by the labels of the axis alone. */
static double seconds_at(xmlDocPtr doc, double x)
{
    double zero = label_x(doc, "0 s");
    return 20.0 * (x - zero) / (label_x(doc, "20 s") - zero);
}

static double attribute(xmlDocPtr doc, const char *class, size_t number, const char *name)
{
    char path[160];
    (void)snprintf(path, sizeof path, "number((//s:*[@class = '%s'])[%zu]/@%s)", class, number,
                   name);
    return page_number(doc, path);
}

static void the_picture_says_what_the_plan_says(void **state)
{
    (void)state;
    struct scene scene;
    char *svg = NULL;
    scene_begin(&scene, "interior and left mirror", true);
    assert_int_equal(sl_timeline_svg(&scene.view, NULL, &svg, NULL), SL_OK);
    xmlDocPtr doc = page_parse(svg);
    page_check_alone(doc);
    page_check_count(doc, "/s:svg[@role = 'img']/s:title", 1);
    for (size_t i = 0; i < 5; i++) {
        const struct sl_window *window = &scene.plan.windows[i];
        double x = attribute(doc, "window", i + 1, "x");
        double end = x + attribute(doc, "window", i + 1, "width");
        assert_near(seconds_at(doc, x), window->opens_s, 0.02);
        assert_near(seconds_at(doc, end), window->closes_s, 0.02);
        assert_near(seconds_at(doc, attribute(doc, "due", i + 1, "x1")), window->due_s, 0.02);
    }
    assert_near(seconds_at(doc, attribute(doc, "bad", 1, "x")), 21.0, 0.02); /* the gear, said */
    assert_near(seconds_at(doc, attribute(doc, "line", 1, "x1")), scene.plan.line_s, 0.02);
    /* At 30 mph, 13.4112 m/s, from 240 m: 200 m are left after 40 m, 150 m after 90 m. */
    assert_near(scene.plan.distance_m, 240.0, 1e-9);
    assert_near(seconds_at(doc, label_x(doc, "200 m")), 40.0 / 13.4112, 0.02);
    assert_near(seconds_at(doc, label_x(doc, "150 m")), 90.0 / 13.4112, 0.02);
    /* At 10 mph, 4.4704 m/s, up to the line. */
    assert_near(seconds_at(doc, label_x(doc, "25 m")), scene.plan.line_s - 25.0 / 4.4704, 0.02);
    xmlFreeDoc(doc);
    free(svg);
    scene_end(&scene);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(the_page_of_a_run_is_whole_and_alone),
        cmocka_unit_test(without_a_sound_there_is_nothing_to_play_or_draw),
        cmocka_unit_test(hostile_text_is_text),
        cmocka_unit_test(the_picture_says_what_the_plan_says),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
