/* SPDX-License-Identifier: MIT */
/* JSON, checked by a reader of our own that follows the grammar of RFC 8259, sections 2 to 8. */
#include "permille/base/json.h"
#include "permille/base/json_read.h"
#include "permille/base/mem.h"
#include "permille/base/utf8.h"

#include <ctype.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* ---- the checker: each call takes one thing of the grammar and returns what follows, or NULL ----
 */

static const char *skip_digits(const char *at)
{
    if (!isdigit((unsigned char)*at))
        return NULL;
    while (isdigit((unsigned char)*at))
        at++;
    return at;
}

static const char *skip_number(const char *at)
{
    at += *at == '-';
    at = *at == '0' ? at + 1 : skip_digits(at);
    if (at != NULL && *at == '.')
        at = skip_digits(at + 1);
    if (at != NULL && (*at == 'e' || *at == 'E')) {
        at++;
        at = skip_digits(at + (*at == '+' || *at == '-'));
    }
    return at;
}

static const char *skip_string(const char *at)
{
    if (*at++ != '"')
        return NULL;
    while (*at != '"') {
        if ((unsigned char)*at < 0x20)
            return NULL;
        if (*at == '\\') {
            at++;
            if (*at == 'u') {
                for (int i = 1; i <= 4; i++)
                    if (!isxdigit((unsigned char)at[i]))
                        return NULL;
                at += 4;
            } else if (*at == '\0' || strchr("\"\\/bfnrt", *at) == NULL) {
                return NULL;
            }
        }
        at++;
    }
    return at + 1;
}

static const char *skip_value(const char *at)
{
    char open = *at, close = open == '{' ? '}' : ']';

    if (open == '"')
        return skip_string(at);
    for (size_t i = 0; i < 3; i++) {
        static const char *const words[] = {"true", "false", "null"};
        if (strncmp(at, words[i], strlen(words[i])) == 0)
            return at + strlen(words[i]);
    }
    if (open != '{' && open != '[')
        return skip_number(at);
    if (*++at == close)
        return at + 1;
    for (;; at++) {
        if (open == '{') {
            at = skip_string(at);
            if (at == NULL || *at++ != ':')
                return NULL;
        }
        at = skip_value(at);
        if (at == NULL)
            return NULL;
        if (*at == close)
            return at + 1;
        if (*at != ',')
            return NULL;
    }
}

static bool is_json(const char *text)
{
    const char *end = skip_value(text);

    return end != NULL && *end == '\0' && pm_utf8_valid(text, strlen(text));
}

/* ---- the tests ---- */

static void checker_can_fail(void **state)
{
    static const char *const wrong[] = {"",         "{",       "[1,]",   "[1 2]", "{\"a\"}",
                                        "{a:1}",    "01",      "1.",     ".5",    "nan",
                                        "\"\x01\"", "\"\\x\"", "[1,2]3", "\"a",   "\"\xff\""};

    (void)state;
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++)
        assert_false(is_json(wrong[i]));
}

static void a_document(void **state)
{
    struct pm_text out = PM_TEXT_EMPTY;
    struct pm_json json;

    (void)state;
    pm_json_init(&json, &out);
    pm_json_open(&json, '{');
    pm_json_put_string(&json, "formula", "Hay \"1\"");
    pm_json_put_null(&json, "trial");
    pm_json_put_string(&json, "note", NULL);
    pm_json_put_decimal(&json, "base_parts", 1000000000, 6);
    pm_json_put_int(&json, "least", INT64_MIN);
    pm_json_put_bool(&json, "accord", false);
    pm_json_put_double(&json, "percent", 0.1);
    pm_json_key(&json, "lines");
    pm_json_open(&json, '[');
    pm_json_open(&json, '{');
    pm_json_close(&json, '}');
    pm_json_open(&json, '[');
    pm_json_close(&json, ']');
    pm_json_bool(&json, true);
    pm_json_decimal(&json, -1, 6);
    pm_json_close(&json, ']');
    pm_json_close(&json, '}');
    assert_true(pm_text_ok(&out));
    assert_string_equal(pm_text_get(&out),
                        "{\"formula\":\"Hay \\\"1\\\"\",\"trial\":null,\"note\":null,"
                        "\"base_parts\":1000,\"least\":-9223372036854775808,\"accord\":false,"
                        "\"percent\":0.1,\"lines\":[{},[],true,-0.000001]}");
    assert_true(is_json(pm_text_get(&out)));
    pm_text_release(&out);
}

static void string_is(const char *value, const char *wanted)
{
    struct pm_text out = PM_TEXT_EMPTY;
    struct pm_json json;

    pm_json_init(&json, &out);
    pm_json_string(&json, value);
    assert_string_equal(pm_text_get(&out), wanted);
    assert_true(is_json(pm_text_get(&out)));
    pm_text_release(&out);
}

static void strings(void **state)
{
    (void)state;
    string_is("", "\"\"");
    string_is("a\\b/c", "\"a\\\\b/c\"");
    string_is("a\nb\tc\r", "\"a\\nb\\tc\\u000d\"");
    string_is("\x1b[31m\x7f", "\"\\u001b[31m\\u007f\"");
    string_is("\xc2\x9b", "\"\\u009b\"");
    string_is("\xe2\x80\xae", "\"\\u202e\"");
    string_is("\xf3\xa0\x81\x81", "\"\\udb40\\udc41\""); /* U+E0041, by RFC 8259 section 7 */
    string_is("\xc3\xa9\xf0\x9f\x8c\xb9", "\"\xc3\xa9\xf0\x9f\x8c\xb9\"");
    string_is("a\xff"
              "b\xe9\xa6",
              "\"a\xef\xbf\xbd"
              "b\xef\xbf\xbd\xef\xbf\xbd\"");
}

/* Any bytes at all give a valid document. */
static void odd_bytes(void **state)
{
    uint64_t random = 88172645463325252U;

    (void)state;
    for (int round = 0; round < 5000; round++) {
        struct pm_text out = PM_TEXT_EMPTY;
        struct pm_json json;
        char value[25] = "";
        for (size_t i = 0; i < sizeof value - 1; i++) {
            random = random * 6364136223846793005U + 1442695040888963407U;
            value[i] = (char)(random >> 45);
        }
        pm_json_init(&json, &out);
        pm_json_open(&json, '{');
        pm_json_put_string(&json, value, value);
        pm_json_close(&json, '}');
        if (!is_json(pm_text_get(&out)))
            fail_msg("%s", pm_text_get(&out));
        pm_text_release(&out);
    }
}

static void doubles(void **state)
{
    static const double values[] = {0.0,    1.0,  -0.5,       0.1,   1.0 / 3.0,          1e300,
                                    5e-324, 1e21, 123456.789, -1e-7, 9007199254740993.0, 0.1 + 0.2};
    static const double odd[] = {NAN, INFINITY, -INFINITY};

    (void)state;
    for (size_t i = 0; i < sizeof values / sizeof values[0]; i++) {
        struct pm_text out = PM_TEXT_EMPTY;
        struct pm_json json;
        double back;
        pm_json_init(&json, &out);
        pm_json_double(&json, values[i]);
        assert_true(is_json(pm_text_get(&out)));
        back = strtod(pm_text_get(&out), NULL);
        assert_memory_equal(&back, &values[i], sizeof back);
        pm_text_release(&out);
    }
    for (size_t i = 0; i < sizeof odd / sizeof odd[0]; i++) {
        struct pm_text out = PM_TEXT_EMPTY;
        struct pm_json json;
        pm_json_init(&json, &out);
        pm_json_double(&json, odd[i]);
        assert_string_equal(pm_text_get(&out), "null");
        pm_text_release(&out);
    }
}

static void misuse_shows(void **state)
{
    for (int which = 0; which < 6; which++) {
        struct pm_text out = PM_TEXT_EMPTY;
        struct pm_json json;

        (void)state;
        pm_json_init(&json, &out);
        pm_json_open(&json, '{');
        assert_true(pm_text_ok(&out));
        if (which == 0)
            pm_json_close(&json, ']');
        else if (which == 1)
            pm_json_int(&json, 1);
        else if (which == 2)
            pm_json_key(&json, "a"), pm_json_close(&json, '}');
        else if (which == 3)
            pm_json_close(&json, '}'), pm_json_close(&json, '}');
        else if (which == 4)
            pm_json_key(&json, "a"), pm_json_open(&json, '['), pm_json_key(&json, "b");
        else
            for (int i = 0; i < PM_JSON_DEPTH; i++)
                pm_json_key(&json, "a"), pm_json_open(&json, '{');
        assert_false(pm_text_ok(&out));
        pm_text_release(&out);
    }
}

/* ---- reading ---- */

/* The texts of RFC 8259, section 13. */
static const char image[] = "{\n  \"Image\": {\n      \"Width\":  800,\n      \"Height\": 600,\n"
                            "      \"Title\":  \"View from 15th Floor\",\n      \"Thumbnail\": {\n"
                            "          \"Url\":    \"http://www.example.com/image/481989943\",\n"
                            "          \"Height\": 125,\n          \"Width\":  100\n      },\n"
                            "      \"Animated\" : false,\n      \"IDs\": [116, 943, 234, 38793]\n"
                            "    }\n}\n";
static const char places[] =
    "[\n  {\n     \"precision\": \"zip\",\n     \"Latitude\":  37.7668,\n     \"Longitude\": "
    "-122.3959,\n     \"Address\":   \"\",\n     \"City\":      \"SAN FRANCISCO\",\n     "
    "\"State\":     \"CA\",\n     \"Zip\":       \"94107\",\n     \"Country\":   \"US\"\n  },\n  "
    "{\n"
    "     \"precision\": \"zip\",\n     \"Latitude\":  37.371991,\n     \"Longitude\": "
    "-122.026020,\n"
    "     \"Address\":   \"\",\n     \"City\":      \"SUNNYVALE\",\n     \"State\":     \"CA\",\n"
    "     \"Zip\":       \"94085\",\n     \"Country\":   \"US\"\n  }\n]\n";

static void examples_of_the_standard(void **state)
{
    static const char *const texts[] = {image, places, "\"Hello world!\"", "42", "true"};
    struct pm_error err;
    (void)state;
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        struct pm_json_value *value = NULL;
        if (pm_json_read(texts[i], strlen(texts[i]), &value, &err) != PM_OK)
            fail_msg("%s\n%s", texts[i], err.text);
        pm_json_free(value);
    }
    struct pm_json_value *value = NULL;
    assert_int_equal(pm_json_read(image, sizeof image - 1, &value, &err), PM_OK);
    const struct pm_json_value *inner = pm_json_member(value, "Image");
    assert_string_equal(pm_json_text_of(pm_json_member(inner, "Title")), "View from 15th Floor");
    int64_t height = 0;
    assert_true(pm_json_int_of(pm_json_member(inner, "Height"), &height));
    assert_int_equal(height, 600);
    pm_json_free(value);
}

/* What is none says where. */
static void what_is_no_json(void **state)
{
    static const struct {
        const char *text, *place;
    } bad[] = {
        {"", "Line 1, column"},
        {"[1,]", "Line 1, column 4"},
        {"{\"a\":1,\n\"a\":2}", "Line 2"},
        {"[01]", "Line 1, column"},
        {"[1] 2", "Line 1, column 5"},
        {"{\n'a':1}", "Line 2, column 1"},
        {"[\"\t\"]", "Line 1, column"},
        {"[\"\\u12\"]", "Line 1, column"},
        {"nul", "Line 1, column"},
        {"[\"\\ud800\"]", "Line 1, column"},
    };
    struct pm_error err;
    struct pm_json_value *value = NULL;
    char deep[20001];
    (void)state;
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        assert_int_equal(pm_json_read(bad[i].text, strlen(bad[i].text), &value, &err), PM_INVALID);
        if (strstr(err.text, bad[i].place) == NULL)
            fail_msg("%s: %s", bad[i].text, err.text);
    }
    memset(deep, '[', 10000);
    memset(deep + 10000, ']', 10000);
    assert_int_equal(pm_json_read(deep, 20000, &value, &err), PM_INVALID);
    assert_non_null(strstr(err.text, "Line 1, column"));
}

static void memory_faults(void **state)
{
    (void)state;
    for (long n = 1; n < 100; n++) {
        struct pm_text out = PM_TEXT_EMPTY;
        struct pm_json json;
        bool fault;
        pm_mem_fail_at(n, false);
        pm_json_init(&json, &out);
        pm_json_open(&json, '[');
        for (int i = 0; i < 50; i++)
            pm_json_string(&json, "some text to fill the memory with");
        pm_json_close(&json, ']');
        fault = pm_mem_fail_at(0, false) >= n;
        assert_int_equal(pm_text_ok(&out), !fault);
        if (!fault)
            assert_true(is_json(pm_text_get(&out)));
        pm_text_release(&out);
        if (!fault) {
            assert_true(n > 3);
            return;
        }
    }
    fail();
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(checker_can_fail),
        cmocka_unit_test(a_document),
        cmocka_unit_test(strings),
        cmocka_unit_test(odd_bytes),
        cmocka_unit_test(doubles),
        cmocka_unit_test(misuse_shows),
        cmocka_unit_test(examples_of_the_standard),
        cmocka_unit_test(what_is_no_json),
        cmocka_unit_test(memory_faults),
    };

    return cmocka_run_group_tests_name("base: JSON", tests, NULL, NULL);
}
