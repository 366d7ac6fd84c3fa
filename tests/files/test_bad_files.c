/*
 * Files that must be refused: where, and with which mend.
 */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include "core/str.h"
#include "files/models.h"
#include "files/path.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* The parsers under one name. */
static enum sl_status parse(char kind, const char *text, struct sl_error *error)
{
    struct sl_junction junction = {0};
    struct sl_car car = {0};
    struct sl_routine routine = {0};
    enum sl_status status = SL_OK;
    switch (kind) {
    case 'j':
        status = sl_parse_junction(text, "f.yaml", &junction, error);
        sl_junction_clear(&junction);
        break;
    case 'c':
        status = sl_parse_car(text, "f.yaml", &car, error);
        sl_car_clear(&car);
        break;
    default:
        status = sl_parse_routine(text, "f.yaml", &routine, error);
        sl_routine_clear(&routine);
    }
    return status;
}

/* Fails, with the row's name, unless the text is refused at the place with the mend. */
static void refused(const char *name, char kind, const char *text, const char *place,
                    const char *mend)
{
    struct sl_error error = {0};
    enum sl_status status = parse(kind, text, &error);
    char *where = sl_strf("f.yaml%s%s", place[0] == '\0' ? "" : ":", place);
    if (status == SL_OK || error.status != status) {
        fail_msg("%s: not refused", name);
    }
    if (error.where == NULL || strcmp(error.where, where) != 0) {
        fail_msg("%s: at %s instead of %s (%s)", name, error.where, where, error.what);
    }
    if (error.what == NULL || error.what[0] == '\0' || error.mend == NULL ||
        strstr(error.mend, mend) == NULL) {
        fail_msg("%s: %s; mend '%s' has no '%s'", name, error.what, error.mend, mend);
    }
    free(where);
    sl_error_clear(&error);
}

#define HEAD "kind: t\nturn: left\n"
#define FINE HEAD "view: open\napproach: 30 mph\n"

static void bad_junctions_are_refused_with_line_and_mend(void **state)
{
    static const struct {
        const char *name, *text, *place, *mend;
    } rows[] = {
        {"unknown key", FINE "aproach: 3\n", "5:1", "'approach'"},
        {"key like no other", FINE "weather: wet\n", "5:1", "'gradient'"},
        {"key in capitals", FINE "Title: x\n", "5:1", "'title'"},
        {"no unit", HEAD "view: open\napproach: 30\n", "4:11", "'30 mph'"},
        {"wrong unit", HEAD "view: open\napproach: 30 m\n", "4:11", "'30 mph'"},
        {"unknown unit", HEAD "view: open\napproach: 30 knots\n", "4:11", "'30 mph'"},
        {"unit in capitals", HEAD "view: open\napproach: 30 MPH\n", "4:11", "'30 mph'"},
        {"300 mph", HEAD "view: open\napproach: 300 mph\n", "4:11", "70 mph"},
        {"71 mph in km/h", HEAD "view: open\napproach: 114.3 km/h\n", "4:11", "70 mph"},
        {"speed 0", HEAD "view: open\napproach: 0 mph\n", "4:11", "more than 0"},
        {"speed below 0", HEAD "view: open\napproach: -5 mph\n", "4:11", "more than 0"},
        {"not a number", HEAD "view: open\napproach: nan mph\n", "4:11", "'30 mph'"},
        {"infinite", HEAD "view: open\napproach: inf mph\n", "4:11", "'30 mph'"},
        {"hexadecimal", HEAD "view: open\napproach: 0x10 mph\n", "4:11", "'30 mph'"},
        {"exponent", HEAD "view: open\napproach: 1e1 mph\n", "4:11", "'30 mph'"},
        {"too many digits", HEAD "view: open\napproach: 1000000000000000 mph\n", "4:11", "mph"},
        {"decimal comma", HEAD "view: open\napproach: 30,5 mph\n", "4:11", "'30 mph'"},
        {"two points", HEAD "view: open\napproach: 3.0.5 mph\n", "4:11", "'30 mph'"},
        {"point at the end", HEAD "view: open\napproach: 30. mph\n", "4:11", "'30 mph'"},
        {"distance too long", FINE "distance: 3000 m\n", "5:11", "2000 m"},
        {"distance without unit", FINE "distance: 120\n", "5:11", "'120 m'"},
        {"gradient too steep", FINE "gradient: 40 %\n", "5:11", "25 %"},
        {"gradient without unit", FINE "gradient: 4\n", "5:11", "'4 %'"},
        {"key twice", FINE "view: closed\n", "5:1", "one of the two"},
        {"key missing", "kind: t\nview: open\napproach: 30 mph\n", "1:1", "turn: left"},
        {"kind missing", "turn: left\nview: open\napproach: 30 mph\n", "1:1", "kind: t"},
        {"word with a slip", "kind: rondabout\nturn: left\n", "1:7", "'roundabout'"},
        {"word like no other", "kind: motorway\nturn: left\n", "1:7", "'crossroads'"},
        {"ahead at a T", "kind: t\nturn: ahead\nview: open\napproach: 30 mph\n", "2:7", "left"},
        {"lights with a stop line",
         "kind: lights\ncontrol: stop\nturn: left\nview: open\napproach: 30 mph\n", "2:10",
         "lights"},
        {"yes or no", FINE "signal-misleads: perhaps\n", "5:18", "'yes'"},
        {"value left out", HEAD "view:\napproach: 30 mph\n", "3:1", "after the colon"},
        {"list instead of a word", "kind: [t]\nturn: left\n", "1:7", "one value"},
        {"mapping instead of a word", "kind: {t: u}\n", "1:7", "one value"},
        {"list instead of a mapping", "- kind\n- turn\n", "1:1", "key: value"},
        {"text instead of a mapping", "hello\n", "1:1", "key: value"},
        {"view as a list", HEAD "view: [open]\napproach: 30 mph\n", "3:7", "'closed'"},
        {"view without the major road", HEAD "view: {left: {set-back: 3 m, offset: 2 m}}\n", "3:7",
         "major-road: 30 mph"},
        {"corner without offset", HEAD "view: {major-road: 30 mph, left: {set-back: 3 m}}\n",
         "3:34", "offset: 2 m"},
        {"corner in the way",
         HEAD "view: {major-road: 30 mph, left: {set-back: 3 m, offset: 0 m}}\n", "3:58", "side"},
        {"corner too far",
         HEAD "view: {major-road: 30 mph, left: {set-back: 300 m, offset: 1 m}}\n", "3:45",
         "100 m"},
        {"unknown key inside", HEAD "view:\n  left: {setback: 3 m, offset: 2 m}\n", "4:10",
         "'set-back'"},
        {"empty", "", "", "key: value"},
        {"comments only", "# nothing\n", "", "key: value"},
        {"no YAML", "kind: [t\n", "2:1", "quotes"},
        {"second colon", "title: a: b\n", "1:9", "quotes"},
        {"open quote", "title: \"a\n", "1:9", "quotes"},
        {"tab for indentation", "view:\n\tleft: {}\n", "2:1", "indentation"},
        {"not UTF-8", "title: caf\xe9\n", "1:11", "UTF-8"},
        {"UTF-16", "\xff\xfek\n", "1:1", "UTF-8"},
        {"escape code", "title: \"\\e[2J\"\n", "1:9", "control"},
        {"bell", "title: \a\n", "1:8", "control"},
        {"delete", "title: a\x7f\n", "1:8", "control"},
        {"C1 control", "title: a\xc2\x9b\n", "1:8", "control"},
        {"alias", "kind: &k t\nturn: *k\n", "1:8", "write the value out"},
        {"alias without anchor", "kind: *k\n", "1:8", "write the value out"},
        {"tag", "kind: !!str t\n", "1:7", "tag"},
        {"merge key", "<<: {kind: t}\n", "1:1", "keys here"},
        {"second document", "kind: t\n---\nturn: left\n", "2:1", "file of its own"},
        {"list as a key", "[a]: b\n", "1:1", "before the colon"},
        {"too deep", "a: [[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[[1]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]]\n",
         "1:19", "nesting"},
    };
    (void)state;
    for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
        refused(rows[i].name, 'j', rows[i].text, rows[i].place, rows[i].mend);
    }
}

#define CAR "final-drive: 4\ntyre: 185/60R15\nidle: 850 rpm\njudder: 1000 rpm\n"

static void bad_cars_are_refused_with_line_and_mend(void **state)
{
    static const struct {
        const char *name, *text, *place, *mend;
    } rows[] = {
        {"gears as a text", "gears: 3.58\n" CAR, "1:8", "brackets"},
        {"no gears", "gears: []\n" CAR, "1:8", "1 to 6"},
        {"seven gears", "gears: [7, 6, 5, 4, 3, 2, 1]\n" CAR, "1:8", "1 to 6"},
        {"gears out of order", "gears: [3, 2, 2.5]\n" CAR, "1:15", "smaller"},
        {"gear as a word", "gears: [3, two]\n" CAR, "1:12", "ratio"},
        {"gear beyond", "gears: [30]\n" CAR, "1:9", "0.2 to 8"},
        {"tyre in words",
         "gears: [3]\nfinal-drive: 4\ntyre: wide\nidle: 850 rpm\njudder: 1000 rpm\n", "3:7",
         "185/60R15"},
        {"tyre without rim",
         "gears: [3]\nfinal-drive: 4\ntyre: 185/60\nidle: 850 rpm\njudder: 1000 rpm\n", "3:7",
         "185/60R15"},
        {"tyre too wide",
         "gears: [3]\nfinal-drive: 4\ntyre: 985/60R15\nidle: 850 rpm\njudder: 1000 rpm\n", "3:7",
         "400"},
        {"idle without unit", "gears: [3]\nfinal-drive: 4\ntyre: 185/60R15\nidle: 850\n", "4:7",
         "'850 rpm'"},
        {"judder below idle",
         "gears: [3]\nfinal-drive: 4\ntyre: 185/60R15\nidle: 1200 rpm\njudder: 1000 rpm\n", "5:9",
         "1200"},
        {"mass in pounds", "gears: [3]\nmass: 2500 lb\n" CAR, "2:7", "'1150 kg'"},
        {"mass beyond", "gears: [3]\nmass: 90 kg\n" CAR, "2:7", "500 to 3500"},
        {"area without unit", "gears: [3]\ndrag-area: 0.6\n" CAR, "2:12", "'0.6 m2'"},
        {"rolling beyond", "gears: [3]\nrolling: 1.2\n" CAR, "2:10", "0.05"},
        {"torque in words", "gears: [3]\ntorque: much\n" CAR, "2:9", "'110 Nm'"},
        {"inertia beyond", "gears: [3]\nengine-inertia: 4 kgm2\n" CAR, "2:17", "0.02 to 1"},
        {"stall above idle", "gears: [3]\nstall: 900 rpm\n" CAR, "2:8", "850"},
        {"key missing", "gears: [3]\n", "1:1", "final-drive"},
    };
    (void)state;
    for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
        refused(rows[i].name, 'c', rows[i].text, rows[i].place, rows[i].mend);
    }
}

/* The shipped routine with one line replaced; the caller frees. */
static char *routine_with(const char *from, const char *to)
{
    struct sl_str text = {0};
    struct sl_str changed = {0};
    assert_int_equal(sl_read_text_file(SL_SOURCE_DIR "/models/routines/decide-last.yaml",
                                       (size_t)1 << 20, &text, NULL),
                     SL_OK);
    const char *at = strstr(sl_str_text(&text), from);
    assert_non_null(at);
    sl_str_add_bytes(&changed, sl_str_text(&text), (size_t)(at - sl_str_text(&text)));
    sl_str_add(&changed, to);
    sl_str_add(&changed, at + strlen(from));
    sl_str_clear(&text);
    return sl_str_take(&changed);
}

/* Where the replacement begins, plus so many characters, as "line:column"; the caller frees. */
static char *place_in(const char *text, const char *to, size_t more)
{
    const char *at = strstr(text, to) + more;
    unsigned line = 1;
    const char *line_start = text;
    for (const char *c = text; c < at; c++) {
        if (*c == '\n') {
            line++;
            line_start = c + 1;
        }
    }
    return sl_strf("%u:%u", line, (unsigned)(at - line_start) + 1);
}

static void bad_routines_are_refused_with_line_and_mend(void **state)
{
    /* What is replaced by what, so many characters into which the error is, and its mend. */
    static const struct {
        const char *name, *from, *to;
        size_t more;
        const char *mend;
    } rows[] = {
        {"unknown key", "scoring:\n", "scorring: x\nscoring:\n", 0, "'scoring'"},
        {"phase without title", "title: Signal", "titel: Signal", 0, "'title'"},
        {"moment", "moment: brake", "moment: brakes", 8, "'brake'"},
        {"carried setting", "carries: [speed_mph]", "carries: [speed]", 10, "'speed_mph'"},
        {"required, not carried", "required: [decision]", "required: [gear, decision]", 10,
         "carries"},
        {"two phases of one id", "- id: signal\n", "- id: mirrors # again\n", 6, "its own"},
        {"rule about no phase", "after: mirrors\n", "after: miror\n", 7, "'mirrors'"},
        {"rule after itself", "after: mirrors\n", "after: signal\n", 7, "two different"},
        {"rule kind", "kind: rolling", "kind: roling", 6, "'rolling'"},
        {"rule without reason", "reason: Look first", "reasons: Look first", 0, "'reason'"},
        {"seconds without unit", "seconds: 5 s\n", "seconds: 5\n", 9, "'5 s'"},
        {"seconds where none belong", "kind: mirror-order\n",
         "kind: mirror-order\n    seconds: 1 s\n", 23, "leave the line out"},
        {"reason missing", "  extra: Saying", "  extras: Saying", 2, "'extra'"},
        {"fault kind", "      late: Slowing", "      lat: Slowing", 6, "'late'"},
        {"speed beyond", "speed: 10 mph,", "speed: 100 mph,", 7, "70 mph"},
        {"accepted speeds apart", "[8 mph, 12 mph]", "[11 mph, 12 mph]", 0, "either side"},
        {"one accepted speed", "[8 mph, 12 mph]", "[10 mph]", 0, "highest"},
        {"gear", "gear: 2, clutch: up}\n  closed", "gear: 7, clutch: up}\n  closed", 6, "1 to 6"},
        {"gear in part", "gear: 2, clutch: up}\n  closed", "gear: 1.5, clutch: up}\n  closed", 6,
         "1 to 6"},
        {"clutch", "clutch: up}\n  closed", "clutch: high}\n  closed", 8, "'down'"},
        {"mirror twice", "mirrors: [interior, left], signal", "mirrors: [left, left], signal", 16,
         "once"},
        {"mirror", "mirrors: [interior, left], signal", "mirrors: [interor, left], signal", 10,
         "'interior'"},
        {"rate", "comfort: 1.5 m/s2", "comfort: 1.5 m/s", 9, "m/s2"},
        {"firm below comfort", "firm: 2.45 m/s2", "firm: 1 m/s2", 6, "at least as much"},
        {"weight", "completeness: 30", "completeness: lots", 14, "weight"},
        {"share", "unclear-share: 0.5", "unclear-share: 5", 15, "0 to 1"},
        {"key twice", "  timing: 20\n", "  timing: 20\n  timing: 20 #2\n", 15, "one of the two"},
        {"slot unknown", "- \"(change | changing) (down | gear)\"", "- \"<gaer>\"", 3, "slot"},
        {"bracket open", "- \"(change | changing) (down | gear)\"", "- \"a (b | c\"", 5, ""},
        {"capital letter", "- \"(change | changing) (down | gear)\"", "- \"First gear\"", 3, ""},
        {"nothing to say", "- \"(change | changing) (down | gear)\"", "- \"[<gear>]\"", 3, ""},
        {"pattern without quotes", "- \"(change | changing) (down | gear)\"", "- [the] <gear>", 8,
         "quotes"},
        {"pattern of a bracket without quotes", "- \"(change | changing) (down | gear)\"",
         "- [gear]", 2, "quotes"},
        {"phase of no phrases", "    signal:\n      - ", "    signals:\n      - ", 4, "'signal'"},
        {"means nothing known", "means: {clutch: up}", "means: {cluch: up}", 8, "'clutch'"},
        {"means another phase's", "{say: \"hold back\", means: {decision: wait}}",
         "{say: \"hold back\", means: {gear: 2}}", 7, "carries"},
    };
    (void)state;
    for (size_t i = 0; i < sizeof(rows) / sizeof(rows[0]); i++) {
        char *text = routine_with(rows[i].from, rows[i].to);
        char *place = place_in(text, rows[i].to, rows[i].more);
        refused(rows[i].name, 'r', text, place, rows[i].mend);
        free(place);
        free(text);
    }
}

static void a_bomb_of_aliases_is_refused_at_its_first_anchor(void **state)
{
    struct sl_str bomb = {0};
    (void)state;
    sl_str_add(&bomb, "a: &a [x, x, x, x, x, x, x, x, x]\n");
    for (char c = 'b'; c <= 'i'; c++) {
        sl_str_addf(&bomb, "%c: &%c [*%c, *%c, *%c, *%c, *%c, *%c, *%c, *%c, *%c]\n", c, c, c - 1,
                    c - 1, c - 1, c - 1, c - 1, c - 1, c - 1, c - 1, c - 1);
    }
    refused("bomb", 'j', sl_str_text(&bomb), "1:5", "write the value out");
    sl_str_clear(&bomb);
}

static void a_file_above_a_mebibyte_is_refused(void **state)
{
    struct sl_error error = {0};
    struct sl_str text = {0};
    (void)state;
    sl_str_add(&text, FINE);
    while (text.length <= (size_t)1 << 20) {
        sl_str_add(&text, "# padding padding padding padding padding padding padding padding\n");
    }
    assert_int_equal(parse('j', sl_str_text(&text), &error), SL_TOO_LARGE);
    assert_non_null(error.mend);
    sl_error_clear(&error);
    sl_str_clear(&text);
}

/* Whatever prefix of a file there is, it is taken or refused with a place, never worse. */
static void every_prefix_of_a_routine_is_taken_or_refused(void **state)
{
    char *text = routine_with("title:", "title:");
    size_t taken = 0;
    (void)state;
    for (size_t length = strlen(text); length > 0; length = length > 61 ? length - 61 : 0) {
        struct sl_error error = {0};
        text[length] = '\0';
        if (parse('r', text, &error) == SL_OK) {
            taken++;
        } else {
            assert_non_null(error.what);
            assert_non_null(error.mend);
            assert_non_null(strstr(error.where, "f.yaml"));
        }
        sl_error_clear(&error);
    }
    assert_in_range(taken, 1, 60); /* whole, and cut somewhere in its last lists */
    free(text);
}

static void a_file_with_zero_bytes_is_no_text(void **state)
{
    char path[] = "/tmp/sayline-test-XXXXXX";
    struct sl_error error = {0};
    struct sl_junction junction = {0};
    (void)state;
    int descriptor = mkstemp(path);
    assert_true(descriptor >= 0);
    assert_int_equal(write(descriptor, FINE "\0\n", sizeof(FINE "\0\n") - 1),
                     (ssize_t)sizeof(FINE "\0\n") - 1);
    close(descriptor);
    assert_int_equal(sl_load_junction(path, &junction, &error), SL_FORMAT);
    assert_string_equal(error.where, path);
    sl_error_clear(&error);
    unlink(path);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(bad_junctions_are_refused_with_line_and_mend),
        cmocka_unit_test(bad_cars_are_refused_with_line_and_mend),
        cmocka_unit_test(bad_routines_are_refused_with_line_and_mend),
        cmocka_unit_test(a_bomb_of_aliases_is_refused_at_its_first_anchor),
        cmocka_unit_test(a_file_above_a_mebibyte_is_refused),
        cmocka_unit_test(every_prefix_of_a_routine_is_taken_or_refused),
        cmocka_unit_test(a_file_with_zero_bytes_is_no_text),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
