/* SPDX-License-Identifier: MIT */
/*
 * No row of check-vectors.csv is forgotten: each topic is opened by a test beside this one, or
 * stands here with the reason why nothing reads it.
 */
#include "vectors.h"

#include <glob.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static const struct {
    const char *topic, *reason;
} unread[] = {
    {"antoine", "vapour pressures are kept as read, not computed from a temperature"},
    {"water_saturation_pressure", "the same"},
    {"rayleigh_balance", "a real mixture's tabulated equilibrium; a balance of masses alone"},
    {"rectangular_uncertainty", "no half-widths are entered, only a step and a deviation"},
    {"triangular_uncertainty", "the same"},
    {"temperature_volume_uncertainty", "volumes carry no uncertainty of their own"},
    {"correlated_inputs", "every weighing counts as independent"},
    {"combine_uncertainties", "what is told is each weight's share, not the sum"},
    {"dilution_uncertainty", "the same"},
    {"uncertainty_budget", "the same"},
    {"uncertainty_contributions", "the same"},
    {"correlated_sum_uncertainty", "the same"},
    {"effective_degrees_of_freedom", "no uncertainty is told with a level of confidence"},
    {"euramet_minimum_weight", "from memory; an uncertainty that grows with the load is not known"},
    {"minimum_weight_rule", "the rule in words; its figures are in minimum_weight_floor"},
    {"minimum_weight_k", "the superseded factor 3"},
    {"divisor_dhondt", "rounding is by largest remainder"},
    {"divisor_sainte_lague", "the same"},
    {"divisor_huntington_hill", "the same"},
    {"label_percent", "a label names what is in it, without quantities"},
    {"label_text_rule", "the same"},
    {"stevens_exponent", "exponents come from a person's own notes"},
    {"weber_fraction", "facts about noses, nothing computed"},
    {"jnd_steps", "the same"},
    {"threshold_repeatability", "the same"},
};
#define UNREAD (sizeof unread / sizeof *unread)

/* The other unit tests, one after the other. */
static char *sources(void)
{
    glob_t found;
    char *all = NULL;
    size_t size = 0;
    FILE *out = open_memstream(&all, &size);
    assert_non_null(out);
    assert_int_equal(glob("tests/unit/test_core_*.c", 0, NULL, &found), 0);
    for (size_t i = 0; i < found.gl_pathc; i++) {
        FILE *file = fopen(found.gl_pathv[i], "r");
        assert_non_null(file);
        for (int c = getc(file); c != EOF; c = getc(file))
            putc(c, out);
        fclose(file);
    }
    globfree(&found);
    assert_int_equal(fclose(out), 0);
    return all;
}

static char *text;
static size_t listed[UNREAD]; /* rows of each */

static void check_topic(char **row)
{
    char quoted[100];
    size_t i = 0;
    assert_true((size_t)snprintf(quoted, sizeof quoted, "\"%s\"", row[TOPIC]) < sizeof quoted);
    while (i < UNREAD && strcmp(unread[i].topic, row[TOPIC]) != 0)
        i++;
    const bool read = strstr(text, quoted) != NULL;
    if (i == UNREAD && !read)
        fail_msg("%s: no test reads the rows of %s", row[ID], quoted);
    if (i < UNREAD && read)
        fail_msg("%s: rows of %s are read", row[ID], quoted);
    if (i < UNREAD)
        listed[i]++;
}

static void every_topic(void **state)
{
    (void)state;
    text = sources();
    vectors_each(NULL, 870, check_topic);
    for (size_t i = 0; i < UNREAD; i++)
        if (listed[i] == 0)
            fail_msg("there are no rows of %s", unread[i].topic);
    free(text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_topic),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
