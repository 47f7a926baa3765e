/* SPDX-License-Identifier: MIT */
/* Trials side by side: matched whatever their order, strength, nesting and base. */
#include "permille/base/mem.h"
#include "permille/core/compare.h"
#include "trials.h"

#include <setjmp.h>
#include <stdarg.h>
#include <string.h>

#include <cmocka.h>

#define FINE(parts) (P(parts) * PM_FINE_PER_MICRO)

/* Accord trials 10 and 11 are versions of one formula, 5. */
static int64_t accord_of(void *context, int64_t trial)
{
    (void)context;
    return trial >= 10 && trial <= 11 ? 5 : trial;
}

static const struct pm_compare_names names = {accord_of, NULL};

static const struct pm_trial *only(void *context, int64_t id, struct pm_error *err)
{
    (void)id;
    (void)err;
    return context;
}

static const struct pm_compare_row *row(const struct pm_compare *compare, enum pm_line_kind kind,
                                        int64_t ref)
{
    for (size_t i = 0; i < compare->count; i++) {
        if (compare->rows[i].kind == kind && compare->rows[i].ref == ref) {
            return &compare->rows[i];
        }
    }
    fail_msg("no row for %lld", (long long)ref);
    return NULL;
}

static void put_accord(struct pm_trial *trial, int64_t id, pm_parts parts)
{
    struct pm_line line = {.kind = PM_LINE_ACCORD, .ref = id, .strength = PM_NEAT, .parts = parts};
    assert_int_equal(pm_trial_insert(trial, trial->count, &line, NULL), PM_OK);
}

static void two(struct pm_trial *first, struct pm_trial *second)
{
    pm_trial_init(first, P(1000), PM_OPEN);
    tr_put_at(first, 1, P(100), PM_NEAT / 10, 9);
    tr_put(first, 2, P(300), PM_FREE);
    tr_put(first, 3, P(50), PM_FREE);
    put_accord(first, 10, P(200));
    pm_trial_init(second, P(100), PM_OPEN);
    put_accord(second, 11, P(20));
    tr_put(second, 4, P(5), PM_FREE);
    tr_put(second, 2, P(10), PM_FREE);
    tr_put(second, 1, P(1), PM_FREE);
    tr_put(second, 2, P(50), PM_FREE);
}

static void poured_and_neat(void **state)
{
    (void)state;
    struct pm_trial first, second;
    struct pm_compare compare;
    two(&first, &second);
    const struct pm_trial *trials[] = {&first, &second};
    assert_int_equal(pm_compare_trials(trials, 2, PM_BY_POURED, NULL, &names, &compare, NULL),
                     PM_OK);
    assert_int_equal(compare.count, 5);
    assert_int_equal(compare.rows[0].ref, 1); /* the first trial's order, then what is new */
    assert_int_equal(compare.rows[4].ref, 4);
    const struct pm_compare_row *line = row(&compare, PM_LINE_MATERIAL, 1);
    assert_int_equal(line->poured[1], FINE(10)); /* on the first trial's base */
    assert_int_equal(line->change[1], PM_LESS);
    assert_int_equal(line->factor_ppm[1], 100000);
    line = row(&compare, PM_LINE_MATERIAL, 2); /* two lines added up */
    assert_int_equal(line->poured[1], FINE(600));
    assert_int_equal(line->change[1], PM_MORE);
    assert_int_equal(line->factor_ppm[1], 2000000);
    assert_int_equal(row(&compare, PM_LINE_MATERIAL, 3)->change[1], PM_GONE);
    assert_int_equal(row(&compare, PM_LINE_MATERIAL, 3)->factor_ppm[1], 0);
    assert_int_equal(row(&compare, PM_LINE_MATERIAL, 4)->change[1], PM_ADDED);
    assert_int_equal(row(&compare, PM_LINE_ACCORD, 5)->change[1], PM_SAME);
    pm_compare_release(&compare);
    assert_int_equal(pm_compare_trials(trials, 2, PM_BY_NEAT, NULL, &names, &compare, NULL), PM_OK);
    assert_int_equal(row(&compare, PM_LINE_MATERIAL, 1)->change[1], PM_SAME); /* 100 at 10 % */
    pm_compare_release(&compare);
    pm_trial_release(&first);
    pm_trial_release(&second);
}

static void flat(void **state)
{
    (void)state;
    struct pm_trial first, second, accord;
    struct pm_compare compare;
    two(&first, &second);
    pm_trial_init(&accord, P(100), PM_OPEN);
    tr_put(&accord, 3, P(25), PM_FREE);
    tr_put(&accord, 9, P(75), PM_FREE);
    struct pm_trial_source source = {only, &accord};
    const struct pm_trial *trials[] = {&first, &second};
    assert_int_equal(pm_compare_trials(trials, 2, PM_BY_FLAT, &source, &names, &compare, NULL),
                     PM_OK);
    assert_int_equal(row(&compare, PM_LINE_MATERIAL, 3)->poured[0], FINE(100)); /* 50 and 50 */
    assert_int_equal(row(&compare, PM_LINE_MATERIAL, 3)->change[1], PM_LESS);
    assert_int_equal(row(&compare, PM_LINE_MATERIAL, 9)->poured[0], FINE(240)); /* and a solvent */
    assert_int_equal(row(&compare, PM_LINE_MATERIAL, 9)->neat[0], FINE(150));
    pm_compare_release(&compare);
    enum pm_status status = PM_NOMEM;
    for (long n = 1; status != PM_OK; n++) {
        (void)pm_mem_fail_at(n, n % 2 == 0);
        status = pm_compare_trials(trials, 2, PM_BY_FLAT, &source, &names, &compare, NULL);
        (void)pm_mem_fail_at(0, false);
        assert_true(status == PM_OK || (status == PM_NOMEM && compare.rows == NULL));
        assert_true(n < 1000);
    }
    pm_compare_release(&compare);
    pm_trial_release(&first);
    pm_trial_release(&second);
    pm_trial_release(&accord);
}

/* A third written in 100 and in 1000 parts is the same third. */
static void rounding_is_no_change(void **state)
{
    (void)state;
    struct pm_trial thirds, copy, other;
    struct pm_compare compare;
    tr_settled(&thirds, PM_SHARE, (pm_parts[]){P(1), P(1), P(1)}, 3);
    tr_done(&thirds, (struct pm_gesture){.kind = PM_SET_BASE, .parts = P(1000)});
    assert_int_equal(pm_trial_copy(&thirds, &copy, NULL), PM_OK);
    assert_int_equal(pm_trial_copy(&thirds, &other, NULL), PM_OK);
    tr_done(&copy, (struct pm_gesture){.kind = PM_SET_BASE, .parts = P(100)});
    other.lines[0].parts++;
    const struct pm_trial *trials[] = {&thirds, &other, &copy, &thirds};
    for (size_t count = 2; count <= 4; count++) {
        assert_int_equal(pm_compare_trials(trials, count, PM_BY_POURED, NULL, NULL, &compare, NULL),
                         PM_OK);
        /* on one base a micro-part is a change */
        assert_int_equal(compare.rows[0].change[count - 1], count == 2 ? PM_MORE : PM_SAME);
        assert_int_equal(compare.rows[1].change[count - 1], PM_SAME);
        pm_compare_release(&compare);
    }
    assert_int_equal(pm_compare_trials(trials, 1, PM_BY_POURED, NULL, NULL, &compare, NULL),
                     PM_INVALID);
    assert_int_equal(pm_compare_trials(trials, 5, PM_BY_POURED, NULL, NULL, &compare, NULL),
                     PM_INVALID);
    pm_trial_release(&thirds);
    pm_trial_release(&copy);
    pm_trial_release(&other);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(poured_and_neat),
        cmocka_unit_test(flat),
        cmocka_unit_test(rounding_is_no_change),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
