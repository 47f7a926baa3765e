/* SPDX-License-Identifier: MIT */
/*
 * Mixture designs and fits against published ones: the rows of tests/data/check-vectors.csv name
 * their sources (NIST/SEMATECH e-Handbook 5.5.4, the yarn example of Cornell, Myers and
 * Montgomery's etch rates, McLean and Anderson's flare, and others).
 */
#include "permille/core/mixture.h"
#include "vectors.h"

#include <gsl/gsl_rng.h>
#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static void near(double got, double wanted, double room, const char *id)
{
    if (!(fabs(got - wanted) <= room))
        fail_msg("%s: %.12g is not %.12g", id, got, wanted);
}

/* One share, "0.5" or "1/3". */
static double share(const char *text, const char **end)
{
    char *stop;
    double value = strtod(text, &stop);
    if (*stop == '/')
        value /= strtod(stop + 1, &stop);
    *end = stop;
    return value;
}

static size_t shares(const char *text, double *out, const char **end)
{
    size_t count = 0;
    do
        out[count++] = share(text, &text);
    while (*text++ == ',');
    *end = text - 1;
    return count;
}

/* Whether the design holds every point of "a,b,c|d,e,f|..." and no other. */
static void same_points(const struct pm_mix_design *design, size_t components, const char *text,
                        const char *id)
{
    size_t listed = 0;
    for (; text != NULL; text = strchr(text, '|') != NULL ? strchr(text, '|') + 1 : NULL) {
        double wanted[PM_MIX_MOST], got[PM_MIX_MOST];
        const char *end;
        bool found = false;
        assert_int_equal(shares(text, wanted, &end), components);
        for (size_t i = 0; i < design->count && !found; i++) {
            pm_mix_shares(&design->points[i], components, got);
            found = true;
            for (size_t k = 0; k < components; k++)
                found = found && fabs(got[k] - wanted[k]) < 1e-9;
        }
        if (!found)
            fail_msg("%s: point %zu is missing", id, listed + 1);
        listed++;
    }
    assert_int_equal(design->count, listed);
}

static void lattices(void **state)
{
    (void)state;
    struct vectors vectors;
    struct pm_mix_bounds bounds;
    struct pm_mix_design design;
    char **row;
    pm_mix_unbounded(&bounds);
    vectors_open(&vectors, "simplex_lattice_count");
    while ((row = vectors_next(&vectors)) != NULL) {
        size_t q = (size_t)vector_number(row[INPUT], "q");
        if (q > PM_MIX_MOST)
            continue;
        assert_int_equal(
            pm_mix_design(q, (int)vector_number(row[INPUT], "m"), &bounds, &design, NULL), PM_OK);
        assert_int_equal(design.count, strtol(row[EXPECTED], NULL, 10));
    }
    vectors_close(&vectors, 6);
    vectors_open(&vectors, "simplex_lattice_points");
    while ((row = vectors_next(&vectors)) != NULL) {
        int m = (int)vector_number(row[INPUT], "m");
        assert_int_equal(pm_mix_design(3, m, &bounds, &design, NULL), PM_OK);
        same_points(&design, 3, row[EXPECTED], row[ID]);
    }
    vectors_close(&vectors, 2);
}

static void centroids(void **state)
{
    (void)state;
    struct vectors vectors;
    struct pm_mix_bounds bounds;
    struct pm_mix_design design;
    char **row;
    pm_mix_unbounded(&bounds);
    vectors_open(&vectors, "simplex_centroid_points");
    while ((row = vectors_next(&vectors)) != NULL) {
        size_t q = (size_t)vector_number(row[INPUT], "q");
        assert_int_equal(pm_mix_design(q, 0, &bounds, &design, NULL), PM_OK);
        same_points(&design, q, strchr(row[EXPECTED], ';') + 1, row[ID]);
    }
    vectors_close(&vectors, 3);
}

static size_t percents(const char *text, int64_t *out)
{
    double values[PM_MIX_MOST];
    const char *end;
    size_t count = shares(text, values, &end);
    for (size_t i = 0; i < count; i++)
        out[i] = (int64_t)llround(values[i] * 1e9);
    return count;
}

static void extreme_vertices(void **state)
{
    (void)state;
    struct vectors vectors;
    char **row;
    vectors_open(&vectors, "extreme_vertices");
    while ((row = vectors_next(&vectors)) != NULL) {
        struct pm_mix_bounds bounds;
        struct pm_mix_design design;
        size_t q = percents(vector_text(row[INPUT], "lower"), bounds.least);
        assert_int_equal(percents(vector_text(row[INPUT], "upper"), bounds.most), q);
        assert_int_equal(pm_mix_vertices(q, &bounds, &design, NULL), PM_OK);
        same_points(&design, q, strchr(row[EXPECTED], ';') + 1, row[ID]);
    }
    vectors_close(&vectors, 2);
}

/* Every point of every design keeps the bounds, and no point stands twice. */
static void bounded(void **state)
{
    (void)state;
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    for (int run = 0; run < 2000; run++) {
        size_t q = 2 + gsl_rng_uniform_int(random, 4);
        int degree = (int)gsl_rng_uniform_int(random, 4);
        struct pm_mix_bounds bounds;
        struct pm_mix_design design;
        for (size_t i = 0; i < q; i++) {
            bounds.least[i] = (int64_t)gsl_rng_uniform_int(random, 300) * 1000000;
            bounds.most[i] = bounds.least[i] + (int64_t)gsl_rng_uniform_int(random, 700) * 1000000;
        }
        if (pm_mix_design(q, degree, &bounds, &design, NULL) != PM_OK)
            continue;
        assert_true(design.count > 0);
        for (size_t i = 0; i < design.count; i++) {
            double got[PM_MIX_MOST];
            pm_mix_shares(&design.points[i], q, got);
            for (size_t k = 0; k < q; k++)
                assert_true(got[k] > (double)bounds.least[k] / 1e9 - 1e-12 &&
                            got[k] < (double)bounds.most[k] / 1e9 + 1e-12);
            for (size_t k = 0; k < i; k++)
                assert_memory_not_equal(&design.points[i], &design.points[k],
                                        sizeof *design.points);
        }
    }
    gsl_rng_free(random);
}

/* ---- fits ------------------------------------------------------------------------------------ */

#define RUNS 80

struct study {
    struct pm_mix_point points[RUNS];
    double ratings[RUNS];
    size_t count, components;
    enum pm_mix_model model;
};

/* The runs of "scheffe_quadratic;data=0,0,1:16.8,16.0|0,0.5,0.5:...". */
static void read_study(const char *input, struct study *study)
{
    const char *at = vector_text(input, "data");
    *study = (struct study){.model = strstr(input, "special_cubic") != NULL ? PM_MIX_SPECIAL_CUBIC
                                                                            : PM_MIX_QUADRATIC};
    while (at != NULL) {
        struct pm_mix_point point = {{0}};
        double values[PM_MIX_MOST];
        study->components = shares(at, values, &at);
        for (size_t i = 0; i < study->components; i++)
            point.part[i] = (int64_t)llround(values[i] * 6000000);
        assert_true(*at++ == ':');
        do {
            study->points[study->count] = point;
            study->ratings[study->count++] = share(at, &at);
        } while (*at++ == ',');
        at = at[-1] == '|' ? at : NULL;
    }
}

/* The study that a row is about: its own, or that of the row it names. */
static void study_of(const char *input, struct study *study)
{
    struct vectors vectors;
    char **row, id[16] = "";
    bool found = false;
    if (strstr(input, "data=") != NULL) {
        read_study(input, study);
        return;
    }
    sscanf(input, "data of %15[^;]", id);
    vectors_open(&vectors, "scheffe_fit_coefficient");
    while ((row = vectors_next(&vectors)) != NULL)
        if (strcmp(row[ID], id) == 0) {
            read_study(row[INPUT], study);
            found = true;
        }
    if (!found)
        fail_msg("no study \"%s\"", input);
    vectors_close(&vectors, vectors.rows);
    if (strstr(input, "model=scheffe_quadratic") != NULL)
        study->model = PM_MIX_QUADRATIC;
}

static void fit_study(const struct study *study, struct pm_fit *fit)
{
    struct pm_error err = {0};
    if (pm_mix_fit(study->model, study->components, study->points, study->ratings, study->count,
                   fit, &err) != PM_OK)
        fail_msg("%s", err.text);
}

/* The place of the term a row's id ends in: "YARN-SE-b12". */
static size_t term_of(const struct study *study, const char *id)
{
    char name[8];
    for (size_t i = 0; i < pm_mix_terms(study->model, study->components); i++)
        if (strcmp(pm_mix_term_name(study->model, study->components, i, name),
                   strrchr(id, '-') + 1) == 0)
            return i;
    fail_msg("no term in \"%s\"", id);
    return 0;
}

static double room_of(const char *tolerance)
{
    double room = strtod(tolerance, NULL);
    return room > 0 ? room : 1e-9;
}

static void published_fits(void **state)
{
    (void)state;
    static const char *const topics[] = {"scheffe_fit_coefficient", "scheffe_fit_standard_error",
                                         "scheffe_fit_t_ratio"};
    static const size_t rows[] = {9, 9, 5};
    for (size_t i = 0; i < 3; i++) {
        struct vectors vectors;
        char **row;
        vectors_open(&vectors, topics[i]);
        while ((row = vectors_next(&vectors)) != NULL) {
            struct study study;
            struct pm_fit fit;
            study_of(row[INPUT], &study);
            fit_study(&study, &fit);
            size_t term = term_of(&study, row[ID]);
            double wanted = strtod(row[EXPECTED], NULL), got = fit.coefficient[term];
            if (i == 1)
                got = fit.error[term];
            if (i == 2)
                got /= fit.error[term];
            near(got, wanted, room_of(row[TOLERANCE]) * (1 + fabs(wanted) / 100), row[ID]);
        }
        vectors_close(&vectors, rows[i]);
    }
}

/* The figures of the yarn's fit, each in a row of its own. The uncorrected sum of the model is the
 * one about 0: with the mean's part. */
static const struct pm_fit *yarn_fit;

static double figure_of(const struct pm_fit *fit, const char *name, double mean)
{
    const double model = fit->total_ss - fit->error_ss;
    const struct {
        const char *name;
        double value;
    } figures[] = {
        {"error_ss", fit->error_ss},
        {"error_df", (double)fit->freedom},
        {"error_ms", fit->variance},
        {"root_mse", sqrt(fit->variance)},
        {"r_square_about_mean", fit->r_squared},
        {"r_square_adjusted", fit->adjusted},
        {"mean_response", mean},
        {"model_ss_corrected", model},
        {"model_ss_uncorrected", model + (double)fit->rows * mean * mean},
        {"n", (double)fit->rows},
    };
    for (size_t i = 0; i < sizeof figures / sizeof *figures; i++)
        if (strcmp(figures[i].name, name) == 0)
            return figures[i].value;
    fail_msg("no figure \"%s\"", name);
    return 0;
}

static void check_summary(char **row)
{
    struct study study;
    double mean = 0;
    if (strncmp(row[ID], "YARN-", 5) != 0)
        return;
    study_of(row[INPUT], &study);
    for (size_t i = 0; i < study.count; i++)
        mean += study.ratings[i] / (double)study.count;
    near(figure_of(yarn_fit, row[ID] + 5, mean), strtod(row[EXPECTED], NULL), 1e-9, row[ID]);
}

static void yarn(void **state)
{
    (void)state;
    struct study study;
    struct pm_fit fit;
    study_of("data of YARN-b1", &study);
    fit_study(&study, &fit);
    yarn_fit = &fit;
    vectors_each("scheffe_fit_summary", 14, check_summary);
    /* Six distinct mixtures and six terms: all that is unexplained lies between replicates. */
    assert_int_equal(fit.pure_freedom, 9);
    assert_int_equal(fit.lack_freedom, 0);
    near(fit.pure_ss, 6.56, 1e-9, "pure error");
    assert_true(fit.lack_p == 1);
}

/* Other worked fits: coefficients in a list behind the first "=", sums behind their names. */
static void further_fits(void **state)
{
    (void)state;
    struct vectors vectors;
    char **row;
    size_t met = 0;
    vectors_open(&vectors, "scheffe_fit_summary");
    while ((row = vectors_next(&vectors)) != NULL) {
        struct study study;
        struct pm_fit fit;
        if (strncmp(row[ID], "YARN", 4) == 0)
            continue;
        study_of(row[INPUT], &study);
        fit_study(&study, &fit);
        if (row[EXPECTED][0] == 'b' || strncmp(row[EXPECTED], "coef", 4) == 0) {
            const char *at = strchr(row[EXPECTED], '=') + 1;
            for (size_t i = 0; i < fit.terms; i++) {
                double wanted = share(at, &at);
                near(fit.coefficient[i], wanted, 1e-6 * (1 + fabs(wanted)), row[ID]);
                at += *at == ',';
            }
        }
        near(fit.error_ss, vector_number(row[EXPECTED], "error_ss"), 1e-3, row[ID]);
        if (strstr(row[EXPECTED], "r_square_about_mean") != NULL)
            near(fit.r_squared, vector_number(row[EXPECTED], "r_square_about_mean"), 1e-6, row[ID]);
        met++;
    }
    assert_int_equal(met, 4);
    vectors_close(&vectors, vectors.rows);
}

/* Fish patties (Cornell): seven means of a centroid design, which the special cubic meets exactly.
 */
static void centroid_means(void **state)
{
    (void)state;
    struct study study = {.components = 3, .model = PM_MIX_SPECIAL_CUBIC};
    struct vectors vectors;
    struct pm_fit fit = {0};
    char **row;
    vectors_open(&vectors, "simplex_centroid_coefficient");
    while ((row = vectors_next(&vectors)) != NULL) {
        const char *at = strchr(row[INPUT], ':');
        for (at = at != NULL ? at + 2 : NULL; at != NULL;
             at = strchr(at, '|') != NULL ? strchr(at, '|') + 1 : NULL) {
            for (size_t i = 0; i < 3; i++)
                study.points[study.count].part[i] = at[i] - '0';
            study.ratings[study.count++] = strtod(at + 4, NULL);
        }
        fit_study(&study, &fit);
        near(fit.coefficient[term_of(&study, row[ID])], strtod(row[EXPECTED], NULL), 4e-4, row[ID]);
    }
    assert_int_equal(study.count, 7);
    vectors_close(&vectors, 5);
}

static void predictions(void **state)
{
    (void)state;
    struct vectors vectors;
    char **row;
    vectors_open(&vectors, "scheffe_prediction");
    while ((row = vectors_next(&vectors)) != NULL) {
        struct study study;
        struct pm_fit fit;
        double x[PM_MIX_MOST], terms[PM_FIT_TERMS_MAX];
        const char *end;
        study_of(strstr(row[INPUT], "fit=YARN") != NULL ? "data of YARN-b1" : "data of ETCH-b1",
                 &study);
        fit_study(&study, &fit);
        shares(vector_text(row[INPUT], "x"), x, &end);
        pm_mix_expand(study.model, study.components, x, terms);
        near(pm_fit_at(&fit, terms, NULL), strtod(row[EXPECTED], NULL), room_of(row[TOLERANCE]),
             row[ID]);
    }
    vectors_close(&vectors, 5);
}

/* The yarn's highest elongation lies on the edge of components 1 and 3. */
static void highest_of_yarn(void **state)
{
    (void)state;
    struct study study;
    struct pm_fit fit;
    struct pm_mix_best best;
    struct pm_mix_bounds bounds;
    char expected[100];
    pm_mix_unbounded(&bounds);
    study_of("data of YARN-b1", &study);
    fit_study(&study, &fit);
    pm_mix_highest(study.model, 3, &bounds, &fit, &best);
    vectors_find("scheffe_edge_maximum", "YARN-MAX13", EXPECTED, expected, sizeof expected);
    near(best.shares[0], vector_number(expected, "x1"), 1e-6, "x1");
    near(best.shares[1], 0, 1e-9, "x2");
    near(best.shares[2], vector_number(expected, "x3"), 1e-6, "x3");
    near(best.value, vector_number(expected, "y"), 1e-9, "highest");
    assert_true(best.edge);
    bounds.most[2] = 500000000;
    pm_mix_highest(study.model, 3, &bounds, &fit, &best);
    near(best.shares[2], 0.5, 1e-9, "bounded");
}

/* No mixture of a fine lattice does better than what was found, for random surfaces. */
static void highest_of_any(void **state)
{
    (void)state;
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    struct pm_mix_bounds bounds;
    pm_mix_unbounded(&bounds);
    for (int run = 0; run < 50; run++) {
        struct pm_fit fit = {.terms = 7};
        struct pm_mix_best best;
        double terms[PM_FIT_TERMS_MAX];
        for (size_t i = 0; i < 7; i++)
            fit.coefficient[i] = gsl_rng_uniform(random) * 40 - 20;
        pm_mix_highest(PM_MIX_SPECIAL_CUBIC, 3, &bounds, &fit, &best);
        for (int a = 0; a <= 150; a++)
            for (int b = 0; a + b <= 150; b++) {
                const double x[] = {a / 150.0, b / 150.0, (150 - a - b) / 150.0};
                pm_mix_expand(PM_MIX_SPECIAL_CUBIC, 3, x, terms);
                assert_true(pm_fit_at(&fit, terms, NULL) <= best.value + 1e-9);
            }
    }
    gsl_rng_free(random);
}

static void refusals(void **state)
{
    (void)state;
    struct pm_error err = {0};
    struct pm_mix_bounds bounds;
    struct pm_mix_design design;
    struct pm_fit fit;
    const struct pm_mix_point corners[] = {{{1, 0}}, {{0, 1}}, {{1, 0}}, {{0, 1}}};
    const double ratings[] = {4, 5, 6, 5};
    pm_mix_unbounded(&bounds);
    assert_int_equal(pm_mix_design(1, 2, &bounds, &design, &err), PM_REFUSED);
    assert_int_equal(pm_mix_design(6, 2, &bounds, &design, &err), PM_REFUSED);
    bounds.least[0] = bounds.least[1] = 600000000;
    assert_int_equal(pm_mix_design(2, 2, &bounds, &design, &err), PM_REFUSED);
    assert_non_null(strstr(err.text, "120 %"));
    assert_int_equal(pm_mix_fit(PM_MIX_QUADRATIC, 2, corners, ratings, 4, &fit, &err), PM_REFUSED);
    assert_non_null(strstr(err.text, "b12"));
    assert_int_equal(pm_mix_fit(PM_MIX_SPECIAL_CUBIC, 2, corners, ratings, 4, &fit, &err),
                     PM_REFUSED);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(lattices),         cmocka_unit_test(centroids),
        cmocka_unit_test(extreme_vertices), cmocka_unit_test(bounded),
        cmocka_unit_test(published_fits),   cmocka_unit_test(yarn),
        cmocka_unit_test(predictions),      cmocka_unit_test(highest_of_yarn),
        cmocka_unit_test(further_fits),     cmocka_unit_test(centroid_means),
        cmocka_unit_test(highest_of_any),   cmocka_unit_test(refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
