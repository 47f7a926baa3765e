/* SPDX-License-Identifier: MIT */
/*
 * Properties of materials; and the shipped table against the IUPAC atomic weights: the molar mass
 * of every material must be what its molecular formula makes.
 */
#include "permille/base/csv.h"
#include "permille/core/cas.h"
#include "permille/core/fact.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static int64_t read_ok(const char *property, const char *text)
{
    int64_t value = -1;
    struct pm_error err;
    if (pm_fact_read(pm_fact_find(property), text, &value, &err) != PM_OK)
        fail_msg("%s %s: %s", property, text, err.text);
    return value;
}

static void refused(const char *property, const char *text, const char *words)
{
    int64_t value = 42;
    struct pm_error err;
    assert_int_equal(pm_fact_read(pm_fact_find(property), text, &value, &err), PM_INVALID);
    assert_int_equal(value, 42);
    if (strstr(err.text, words) == NULL)
        fail_msg("\"%s\" is not in \"%s\"", words, err.text);
}

static void values_are_read_in_their_unit(void **state)
{
    (void)state;
    assert_int_equal(read_ok("density", "0.8411"), 841100000);
    assert_int_equal(read_ok("density", "0,8411 g/ml"), 841100000);
    assert_int_equal(read_ok("boiling_point", "-12.5"), -12500000000);
    assert_int_equal(read_ok("log_kow", "-1.76"), -1760000000);
    assert_int_equal(read_ok("maximum", "20"), 200000000);
    assert_int_equal(read_ok("maximum", "0.5 %"), 5000000);
    assert_int_equal(read_ok("rating", "4"), 4000000000);
    assert_int_equal(read_ok("volatility", "heart"), 0);
    refused("density", "84.11", "between 0.1 and 5");
    refused("density", "-1", "density");
    refused("rating", "6", "between 1 and 5.");
    refused("volatility", "middle", "top|heart|base");
    refused("maximum", "120%", "100 %");
    refused("density", "heavy", "heavy");
    assert_null(pm_fact_find("weight"));
}

static void values_are_shown_with_their_unit(void **state)
{
    (void)state;
    struct pm_text text = PM_TEXT_EMPTY;
    pm_fact_format(pm_fact_find("density"), 841100000, ',', &text);
    pm_text_add(&text, "; ");
    pm_fact_format(pm_fact_find("maximum"), 5000000, '.', &text);
    assert_string_equal(pm_text_get(&text), "0,8411 g/ml; 0.5 %");
    pm_text_release(&text);
}

/* ---- the shipped table ---- */

struct shipped {
    char *data;
    struct pm_csv csv, header;
};

static int open_table(void **state)
{
    static struct shipped shipped;
    bool more;
    FILE *file = fopen("schema/reference/materials.csv", "rb");
    assert_non_null(file);
    assert_int_equal(fseek(file, 0, SEEK_END), 0);
    size_t length = (size_t)ftell(file);
    rewind(file);
    shipped.data = malloc(length);
    assert_non_null(shipped.data);
    assert_int_equal(fread(shipped.data, 1, length, file), length);
    fclose(file);
    pm_csv_init(&shipped.csv, shipped.data, length);
    pm_csv_init(&shipped.header, shipped.data, length);
    assert_int_equal(pm_csv_next(&shipped.csv, &more, NULL), PM_OK);
    assert_int_equal(pm_csv_next(&shipped.header, &more, NULL), PM_OK);
    *state = &shipped;
    return 0;
}

static int close_table(void **state)
{
    struct shipped *shipped = *state;
    pm_csv_release(&shipped->csv);
    pm_csv_release(&shipped->header);
    free(shipped->data);
    return 0;
}

static const char *cell(const struct shipped *shipped, const char *column)
{
    int at = pm_csv_column(&shipped->header, column);
    assert_true(at >= 0 && (size_t)at < shipped->csv.count);
    return shipped->csv.fields[at];
}

static bool next(struct shipped *shipped)
{
    bool more = false;
    assert_int_equal(pm_csv_next(&shipped->csv, &more, NULL), PM_OK);
    return more;
}

/* IUPAC Commission on Isotopic Abundances and Atomic Weights, abridged standard atomic weights
 * 2021, from memory. */
static double atomic_weight(const char *symbol, size_t length)
{
    static const struct {
        const char *symbol;
        double weight;
    } elements[] = {
        {"H", 1.008}, {"C", 12.011}, {"N", 14.007},  {"O", 15.999},
        {"S", 32.06}, {"Cl", 35.45}, {"Br", 79.904}, {"Si", 28.085},
    };
    for (size_t i = 0; i < sizeof elements / sizeof elements[0]; i++)
        if (strlen(elements[i].symbol) == length &&
            strncmp(elements[i].symbol, symbol, length) == 0)
            return elements[i].weight;
    return NAN;
}

static double molar_mass(const char *formula)
{
    double sum = 0;
    while (*formula != '\0') {
        size_t length = 1 + (formula[1] >= 'a' && formula[1] <= 'z');
        double weight = atomic_weight(formula, length);
        char *end;
        formula += length;
        long count = strtol(formula, &end, 10);
        sum += weight * (double)(end == formula ? 1 : count);
        formula = end;
    }
    return sum;
}

static void molar_masses_follow_from_the_formulas(void **state)
{
    struct shipped *shipped = *state;
    size_t checked = 0;
    while (next(shipped)) {
        const char *given = cell(shipped, "molar_mass_g_mol");
        const char *formula = cell(shipped, "molecular_formula");
        if (given[0] == '\0' || formula[0] == '\0')
            continue;
        double wanted = molar_mass(formula);
        /* Given to 0.001; abridged weights carry an uncertainty in their last digit. */
        if (!(fabs(strtod(given, NULL) - wanted) < 0.006))
            fail_msg("%s: %s is not %.3f of %s", cell(shipped, "name"), given, wanted, formula);
        checked++;
    }
    assert_true(checked >= 130);
}

static void every_shipped_cell_can_be_read(void **state)
{
    struct shipped *shipped = *state;
    char number[PM_CAS_TEXT];
    struct pm_error err;
    size_t rows = 0;
    while (next(shipped)) {
        const char *cas = cell(shipped, "cas");
        if (cas[0] != '\0' && pm_cas_read(cas, number, &err) != PM_OK)
            fail_msg("%s: %s", cell(shipped, "name"), err.text);
        for (size_t i = 0; i < pm_fact_property_count; i++) {
            const struct pm_fact_property *property = &pm_fact_properties[i];
            const char *text = property->column != NULL ? cell(shipped, property->column) : "";
            int64_t value;
            if (text[0] != '\0' && pm_fact_read(property, text, &value, &err) != PM_OK)
                fail_msg("%s: %s", cell(shipped, "name"), err.text);
        }
        assert_true(cell(shipped, "source")[0] != '\0');
        assert_true(cell(shipped, "confidence")[0] != '\0');
        rows++;
    }
    assert_int_equal(rows, 179);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(values_are_read_in_their_unit),
        cmocka_unit_test(values_are_shown_with_their_unit),
        cmocka_unit_test_setup_teardown(molar_masses_follow_from_the_formulas, open_table,
                                        close_table),
        cmocka_unit_test_setup_teardown(every_shipped_cell_can_be_read, open_table, close_table),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
