/* SPDX-License-Identifier: MIT */
/* One description of an entity: reading, showing, JSON and options follow from it. */
#include "permille/base/amount.h"
#include "permille/base/clock.h"
#include "permille/base/mem.h"
#include "permille/core/entity.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

struct jar {
    const char *place, *note, *solvent_name;
    pm_mass tare;
    pm_strength strength;
    pm_day opened;
    int64_t applied, since, solvent, rounds;
    pm_money price;
    char currency[4];
    int level, medium;
    bool aside;
};

enum {
    JAR_PLACE,
    JAR_NOTE,
    JAR_TARE,
    JAR_STRENGTH,
    JAR_OPENED,
    JAR_APPLIED,
    JAR_SINCE,
    JAR_PRICE,
    JAR_ROUNDS,
    JAR_LEVEL,
    JAR_MEDIUM,
    JAR_ASIDE,
    JAR_SOLVENT,
    JAR_COUNT
};

#define AT(member) .offset = offsetof(struct jar, member)

static const struct pm_attribute attributes[JAR_COUNT] = {
    [JAR_PLACE] = {.key = "place", .title = "Place", .kind = PM_ATTRIBUTE_TEXT, AT(place)},
    [JAR_NOTE] = {.key = "note", .title = "Note", .kind = PM_ATTRIBUTE_NOTE, .limit = 20, AT(note)},
    [JAR_TARE] = {.key = "tare", .title = "Tare", .kind = PM_ATTRIBUTE_MASS, AT(tare)},
    [JAR_STRENGTH] = {.key = "strength",
                      .option = "at",
                      .title = "Strength",
                      .kind = PM_ATTRIBUTE_STRENGTH,
                      .required = true,
                      AT(strength)},
    [JAR_OPENED] = {.key = "first_opened",
                    .title = "Opened",
                    .kind = PM_ATTRIBUTE_DAY,
                    .unknown = PM_NO_DAY,
                    AT(opened)},
    [JAR_APPLIED] = {.key = "applied", .title = "On", .kind = PM_ATTRIBUTE_TIME, AT(applied)},
    [JAR_SINCE] =
        {.key = "since", .title = "After", .kind = PM_ATTRIBUTE_SPAN, .unknown = -1, AT(since)},
    [JAR_PRICE] = {.key = "price",
                   .title = "Price",
                   .kind = PM_ATTRIBUTE_MONEY,
                   AT(price),
                   .beside = offsetof(struct jar, currency)},
    [JAR_ROUNDS] = {.key = "rounds",
                    .title = "Rounds",
                    .kind = PM_ATTRIBUTE_COUNT,
                    .least = 1,
                    .most = 10000,
                    AT(rounds)},
    [JAR_LEVEL] = {.key = "intensity",
                   .title = "Intensity",
                   .kind = PM_ATTRIBUTE_LEVEL,
                   .most = 10,
                   .unknown = -1,
                   AT(level)},
    [JAR_MEDIUM] = {.key = "medium",
                    .title = "On",
                    .kind = PM_ATTRIBUTE_CHOICE,
                    .choices = "blotter|skin|other",
                    AT(medium)},
    [JAR_ASIDE] = {.key = "aside", .title = "Set aside", .kind = PM_ATTRIBUTE_FLAG, AT(aside)},
    [JAR_SOLVENT] = {.key = "solvent",
                     .title = "In",
                     .kind = PM_ATTRIBUTE_REFERENCE,
                     .choices = "material",
                     AT(solvent),
                     .beside = offsetof(struct jar, solvent_name)},
};
static const struct pm_entity jars = {"jar", attributes, JAR_COUNT};

static enum pm_status find(void *context, const struct pm_attribute *attribute, const char *text,
                           int64_t *id, struct pm_error *err)
{
    (void)context;
    assert_string_equal(attribute->choices, "material");
    if (strcmp(text, "Ethanol") != 0)
        return pm_fail(err, PM_MISSING, "No %s.", text);
    *id = 7;
    return PM_OK;
}

static const struct pm_naming naming = {.find = find};

static const char *const typed[JAR_COUNT] = {
    "door shelf", "two\nlines", "31,4 g", "10 %", "1970-01-01", "2026-03-02T14:05:00Z",
    "1h30min",    "19.20 EUR",  "12",     "0",    "skin",       "yes",
    "Ethanol"};

static void fill(struct jar *jar, struct pm_arena *arena)
{
    struct pm_error err = {0};
    pm_entity_clear(&jars, jar);
    if (pm_entity_read(&jars, typed, jar, arena, &naming, &err) != PM_OK)
        fail_msg("%s", err.text);
    jar->solvent_name = "Ethanol";
}

static void test_read(void **state)
{
    struct pm_arena arena = {0};
    struct jar jar;
    (void)state;
    memset(&jar, 0x55, sizeof jar);
    fill(&jar, &arena);
    assert_string_equal(jar.place, "door shelf");
    assert_string_equal(jar.note, "two\nlines");
    assert_int_equal(jar.tare, 31400000);
    assert_int_equal(jar.strength, PM_NEAT / 10);
    assert_int_equal(jar.opened, 0); /* a real day */
    assert_true(pm_attribute_known(&attributes[JAR_OPENED], &jar));
    assert_int_equal(jar.since, 5400);
    assert_int_equal(jar.price, 19200000);
    assert_string_equal(jar.currency, "EUR");
    assert_int_equal(jar.rounds, 12);
    assert_int_equal(jar.level, 0);
    assert_int_equal(jar.medium, 1);
    assert_true(jar.aside);
    assert_int_equal(jar.solvent, 7);
    pm_arena_release(&arena);
}

static void test_leaves_and_takes_away(void **state)
{
    struct pm_arena arena = {0};
    struct pm_error err = {0};
    struct jar jar;
    const char *values[JAR_COUNT] = {NULL};
    (void)state;
    fill(&jar, &arena);
    values[JAR_PLACE] = values[JAR_OPENED] = values[JAR_PRICE] = values[JAR_SOLVENT] = " ";
    values[JAR_SINCE] = "";
    assert_int_equal(pm_entity_read(&jars, values, &jar, &arena, &naming, &err), PM_OK);
    assert_null(jar.place);
    assert_int_equal(jar.opened, PM_NO_DAY);
    assert_false(pm_attribute_known(&attributes[JAR_OPENED], &jar));
    assert_string_equal(jar.currency, "");
    assert_int_equal(jar.since, -1);
    assert_int_equal(jar.solvent, 0);
    assert_int_equal(jar.tare, 31400000); /* not mentioned */
    values[JAR_STRENGTH] = "";
    assert_int_equal(pm_entity_read(&jars, values, &jar, &arena, &naming, &err), PM_INVALID);
    assert_string_equal(err.field, "strength");
    pm_arena_release(&arena);
}

/* Every attribute that cannot be read says which one it was. */
static void test_error_names_its_field(void **state)
{
    static const struct {
        int attribute;
        const char *text;
    } bad[] = {{JAR_PLACE, "bell\a"},     {JAR_NOTE, "more than twenty bytes of it"},
               {JAR_TARE, "heavy"},       {JAR_STRENGTH, "200 %"},
               {JAR_OPENED, "yesterday"}, {JAR_OPENED, "2026-02-30"},
               {JAR_SINCE, "a while"},    {JAR_PRICE, "19.20"},
               {JAR_ROUNDS, "0"},         {JAR_LEVEL, "11"},
               {JAR_MEDIUM, "paper"},     {JAR_ASIDE, "maybe"},
               {JAR_SOLVENT, "Water"}};
    (void)state;
    for (size_t i = 0; i < sizeof bad / sizeof *bad; i++) {
        struct pm_arena arena = {0};
        struct pm_error err = {0};
        struct jar jar;
        const char *values[JAR_COUNT] = {NULL};
        fill(&jar, &arena);
        values[bad[i].attribute] = bad[i].text;
        assert_int_not_equal(pm_entity_read(&jars, values, &jar, &arena, &naming, &err), PM_OK);
        assert_string_equal(err.field, attributes[bad[i].attribute].key);
        assert_true(err.text[0] != '\0');
        /* Whether a price without a currency has a usual one is seen when it is taken. */
        if (bad[i].attribute != JAR_SOLVENT && bad[i].attribute != JAR_PRICE) {
            pm_error_clear(&err);
            assert_null(err.field);
            assert_int_not_equal(
                pm_attribute_check(&attributes[bad[i].attribute], bad[i].text, &err), PM_OK);
            assert_string_equal(err.field, attributes[bad[i].attribute].key);
        }
        pm_arena_release(&arena);
    }
}

/* What is shown exactly reads back as what it was. */
static void test_exact_reads_back(void **state)
{
    struct pm_arena arena = {0};
    struct pm_text texts[JAR_COUNT] = {{0}};
    const char *values[JAR_COUNT];
    struct pm_error err = {0};
    struct jar jar, again;
    (void)state;
    fill(&jar, &arena);
    for (size_t i = 0; i < JAR_COUNT; i++) {
        pm_attribute_exact(&attributes[i], &jar, ',', &texts[i]);
        values[i] = pm_text_get(&texts[i]);
    }
    assert_string_equal(values[JAR_TARE], "31,4 g");
    assert_string_equal(values[JAR_PRICE], "19,2 EUR");
    pm_entity_clear(&jars, &again);
    assert_int_equal(pm_entity_read(&jars, values, &again, &arena, &naming, &err), PM_OK);
    for (size_t i = 0; i < JAR_COUNT; i++) {
        struct pm_text text = PM_TEXT_EMPTY;
        again.solvent_name = "Ethanol";
        pm_attribute_exact(&attributes[i], &again, ',', &text);
        assert_string_equal(pm_text_get(&text), values[i]);
        pm_text_release(&text);
        pm_text_release(&texts[i]);
    }
    pm_arena_release(&arena);
}

static void test_json(void **state)
{
    struct pm_arena arena = {0};
    struct pm_text text = PM_TEXT_EMPTY;
    struct pm_json json;
    struct jar jar;
    (void)state;
    fill(&jar, &arena);
    pm_json_init(&json, &text);
    pm_json_open(&json, '{');
    pm_entity_json(&jars, &jar, &json);
    pm_json_close(&json, '}');
    assert_string_equal(
        pm_text_get(&text),
        "{\"place\":\"door shelf\",\"note\":\"two\\nlines\",\"tare_g\":31.4,"
        "\"strength_percent\":10,\"first_opened\":\"1970-01-01\",\"applied\":"
        "\"2026-03-02T14:05:00Z\",\"since_seconds\":5400,\"price\":19.2,\"currency\":\"EUR\","
        "\"rounds\":12,\"intensity\":0,\"medium\":\"skin\",\"aside\":true,\"solvent\":"
        "\"Ethanol\"}");
    pm_text_clear(&text);
    pm_entity_clear(&jars, &jar);
    jar.solvent_name = NULL;
    pm_json_init(&json, &text);
    pm_json_open(&json, '{');
    pm_entity_json(&jars, &jar, &json);
    pm_json_close(&json, '}');
    assert_non_null(strstr(pm_text_get(&text), "\"tare_g\":null"));
    assert_non_null(strstr(pm_text_get(&text), "\"first_opened\":null"));
    assert_non_null(strstr(pm_text_get(&text), "\"price\":null,\"currency\":null"));
    pm_text_release(&text);
    pm_arena_release(&arena);
}

static void test_option(void **state)
{
    char option[PM_OPTION_TEXT];
    (void)state;
    assert_string_equal(pm_attribute_option(&attributes[JAR_OPENED], option), "first-opened");
    assert_string_equal(pm_attribute_option(&attributes[JAR_STRENGTH], option), "at");
    assert_ptr_equal(pm_entity_find(&jars, "tare"), &attributes[JAR_TARE]);
    assert_null(pm_entity_find(&jars, "weight"));
}

static void test_memory(void **state)
{
    (void)state;
    for (long at = 1; at < 40; at++) {
        struct pm_arena arena = {0};
        struct pm_error err = {0};
        struct jar jar;
        pm_entity_clear(&jars, &jar);
        pm_mem_fail_at(at, false);
        enum pm_status status = pm_entity_read(&jars, typed, &jar, &arena, &naming, &err);
        const long made = pm_mem_fail_at(0, false);
        pm_arena_release(&arena);
        if (made < at) {
            assert_int_equal(status, PM_OK);
            return;
        }
        assert_int_equal(status, PM_NOMEM);
    }
    fail_msg("it never went through");
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_read),
        cmocka_unit_test(test_leaves_and_takes_away),
        cmocka_unit_test(test_error_names_its_field),
        cmocka_unit_test(test_exact_reads_back),
        cmocka_unit_test(test_json),
        cmocka_unit_test(test_option),
        cmocka_unit_test(test_memory),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
