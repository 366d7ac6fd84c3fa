/* CSV by RFC 4180: the numbers are those of its section 2. */
#include <stdarg.h>
#include <stddef.h>
#include <setjmp.h>
#include <stdint.h>
#include <cmocka.h>

#include <math.h>
#include <string.h>

#include "report/csv.h"

/* A reader of RFC 4180's grammar, written from the RFC for this test: fields are parted by '\x1f',
 * records end with '\x1e'. False for what the grammar does not allow. */
static bool read_csv(const char *text, struct sl_str *fields)
{
    while (*text != '\0') {
        if (*text == '"') {
            for (text++; *text != '"' || text[1] == '"'; text++) {
                if (*text == '\0') {
                    return false;
                }
                sl_str_add_bytes(fields, text, 1);
                text += *text == '"' ? 1 : 0;
            }
            text++;
        } else {
            size_t plain = strcspn(text, ",\"\r\n");
            sl_str_add_bytes(fields, text, plain);
            text += plain;
        }
        if (*text == ',') {
            sl_str_add(fields, "\x1f");
            text++;
        } else if (strncmp(text, "\r\n", 2) == 0) {
            sl_str_add(fields, "\x1e");
            text += 2;
        } else {
            return false;
        }
    }
    return true;
}

static void check(const struct sl_value *values, size_t n, const char *csv, const char *fields)
{
    struct sl_str out = {0};
    struct sl_str read = {0};
    const struct sl_row row = {.values = values, .n_values = n};
    sl_csv_row(&out, &row);
    assert_string_equal(sl_str_text(&out), csv);
    assert_true(read_csv(sl_str_text(&out), &read));
    assert_string_equal(sl_str_text(&read), fields);
    sl_str_clear(&read);
    sl_str_clear(&out);
}

#define TEXT(words)                                                                                \
    {                                                                                              \
        .kind = SL_VALUE_TEXT, .text = (words)                                                     \
    }

static void texts_are_quoted_where_the_rfc_wants_it(void **state)
{
    (void)state;
    /* The RFC's own examples of rules 5, 6 and 7. */
    const struct sl_value plain[] = {TEXT("aaa"), TEXT("bbb"), TEXT("ccc")};
    check(plain, 3, "aaa,bbb,ccc\r\n",
          "aaa\x1f"
          "bbb\x1f"
          "ccc\x1e");
    const struct sl_value broken[] = {TEXT("aaa"), TEXT("b\r\nbb"), TEXT("ccc")};
    check(broken, 3, "aaa,\"b\r\nbb\",ccc\r\n",
          "aaa\x1f"
          "b\r\nbb\x1f"
          "ccc\x1e");
    const struct sl_value quoted[] = {TEXT("aaa"), TEXT("b\"bb"), TEXT("c,c")};
    check(quoted, 3, "aaa,\"b\"\"bb\",\"c,c\"\r\n",
          "aaa\x1f"
          "b\"bb\x1f"
          "c,c\x1e");
    const struct sl_value spaces[] = {TEXT(" a "), TEXT(""), TEXT("\"")};
    check(spaces, 3, " a ,,\"\"\"\"\r\n", " a \x1f\x1f\"\x1e"); /* rule 4: spaces are kept */
}

static void figures_are_plain(void **state)
{
    (void)state;
    const struct sl_value values[] = {
        {.kind = SL_VALUE_WHOLE, .whole = -7},   {.kind = SL_VALUE_REAL, .real = 1.25},
        {.kind = SL_VALUE_REAL, .real = 10},     {.kind = SL_VALUE_REAL, .real = -0.0001},
        {.kind = SL_VALUE_REAL, .real = NAN},    {.kind = SL_VALUE_NONE},
        {.kind = SL_VALUE_REAL, .real = 100.02},
    };
    check(values, 7, "-7,1.25,10,0,,,100.02\r\n",
          "-7\x1f"
          "1.25\x1f"
          "10\x1f"
          "0\x1f\x1f\x1f"
          "100.02\x1e");
}

static void the_header_names_the_columns(void **state)
{
    (void)state;
    struct sl_str out = {0};
    const struct sl_value values[] = {{.column = "run"}, {.column = "words"}};
    const struct sl_row row = {.values = values, .n_values = 2};
    sl_csv_columns(&out, &row);
    assert_string_equal(sl_str_text(&out), "run,words\r\n");
    sl_str_clear(&out);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(texts_are_quoted_where_the_rfc_wants_it),
        cmocka_unit_test(figures_are_plain),
        cmocka_unit_test(the_header_names_the_columns),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
