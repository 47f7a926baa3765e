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
    for (size_t i = 0; i < compare->count; i++)
        if (compare->rows[i].kind == kind && compare->rows[i].ref == ref)
            return &compare->rows[i];
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

/* One line is set and one comes in: the others give way by one factor, and only that is told of
 * them. What is held stays the same. */
static void giving_way_is_told_apart(void **state)
{
    (void)state;
    struct pm_trial first, second;
    struct pm_compare compare;
    tr_settled(&first, PM_SHARE, (pm_parts[]){P(400), P(300), P(150), P(100), P(50)}, 5);
    tr_done(&first, (struct pm_gesture){.kind = PM_SET_STANCE, .line = 5, .stance = PM_HELD});
    assert_int_equal(pm_trial_copy(&first, &second, NULL), PM_OK);
    tr_set(&second, 1, P(450));
    struct pm_line fresh = {.kind = PM_LINE_MATERIAL, .ref = 9, .strength = PM_NEAT};
    tr_done(&second,
            (struct pm_gesture){.kind = PM_ADD, .fresh = fresh, .parts = P(20), .place = 99});
    const struct pm_trial *trials[] = {&first, &second};
    assert_int_equal(pm_compare_trials(trials, 2, PM_BY_POURED, NULL, NULL, &compare, NULL), PM_OK);
    assert_false(row(&compare, PM_LINE_MATERIAL, 1)->in_step[1]);
    assert_int_equal(row(&compare, PM_LINE_MATERIAL, 1)->change[1], PM_MORE);
    for (int64_t id = 2; id <= 4; id++) {
        assert_true(row(&compare, PM_LINE_MATERIAL, id)->in_step[1]);
        assert_true(row(&compare, PM_LINE_MATERIAL, id)->differs);
    }
    assert_false(row(&compare, PM_LINE_MATERIAL, 5)->in_step[1]);
    assert_false(row(&compare, PM_LINE_MATERIAL, 5)->differs);
    assert_int_equal(row(&compare, PM_LINE_MATERIAL, 9)->change[1], PM_ADDED);
    /* 550 parts became 500, then 950 became 930. */
    int64_t expected = (int64_t)(1e6 * 500 / 550 * 930 / 950);
    assert_true(compare.step_ppm[1] >= expected - 1 && compare.step_ppm[1] <= expected + 1);
    pm_compare_release(&compare);
    pm_trial_release(&first);
    pm_trial_release(&second);
}

/* Whether `alike` rows that were halved are giving way, among `moved` that moved. */
static bool gives_way(int alike, int moved)
{
    struct pm_trial first, second;
    struct pm_compare compare;
    pm_trial_init(&first, P(1000), PM_OPEN);
    for (int64_t id = 1; id <= moved; id++)
        tr_put(&first, id, P(10), PM_FREE);
    assert_int_equal(pm_trial_copy(&first, &second, NULL), PM_OK);
    for (int i = 0; i < moved; i++)
        second.lines[i].parts = i < alike ? P(5) : P(10) + P(i); /* no two of the others alike */
    const struct pm_trial *trials[] = {&first, &second};
    assert_int_equal(pm_compare_trials(trials, 2, PM_BY_POURED, NULL, NULL, &compare, NULL), PM_OK);
    bool found = compare.step_ppm[1] != 0;
    if (found)
        assert_int_equal(compare.step_ppm[1], 500000);
    for (int64_t id = 1; id <= moved; id++)
        assert_true(row(&compare, PM_LINE_MATERIAL, id)->in_step[1] == (found && id <= alike));
    pm_compare_release(&compare);
    pm_trial_release(&first);
    pm_trial_release(&second);
    return found;
}

/* Half of what moved, or a quarter if these are four rows or more: at the edges. */
static void how_many_must_give_way(void **state)
{
    (void)state;
    assert_true(gives_way(2, 4));
    assert_false(gives_way(2, 5));
    assert_true(gives_way(3, 6));
    assert_false(gives_way(3, 7));
    assert_false(gives_way(3, 12)); /* a quarter, but of three rows */
    assert_true(gives_way(4, 9));
    assert_true(gives_way(4, 16));
    assert_false(gives_way(4, 17));
}

/* Two lines multiplied on purpose, nothing else touched: that is what was done. */
static void all_alike_is_no_giving_way(void **state)
{
    (void)state;
    struct pm_trial first, second;
    struct pm_compare compare;
    pm_trial_init(&first, P(100), PM_OPEN);
    for (int64_t id = 1; id <= 5; id++)
        tr_put(&first, id, P(10), PM_FREE);
    assert_int_equal(pm_trial_copy(&first, &second, NULL), PM_OK);
    second.lines[0].parts = second.lines[1].parts = P(20);
    const struct pm_trial *trials[] = {&first, &second};
    assert_int_equal(pm_compare_trials(trials, 2, PM_BY_POURED, NULL, NULL, &compare, NULL), PM_OK);
    assert_int_equal(compare.step_ppm[1], 0);
    assert_false(compare.rows[0].in_step[1]);
    assert_int_equal(compare.rows[1].factor_ppm[1], 2000000);
    pm_compare_release(&compare);
    pm_trial_release(&first);
    pm_trial_release(&second);
}

/* The same parts at another strength, in another solvent, of another trial of an accord. */
static void poured_otherwise(void **state)
{
    (void)state;
    struct pm_trial first, second;
    struct pm_compare compare;
    pm_trial_init(&first, P(100), PM_OPEN);
    tr_put_at(&first, 1, P(10), PM_NEAT / 10, 8);
    tr_put_at(&first, 2, P(10), PM_NEAT / 10, 8);
    tr_put(&first, 3, P(10), PM_FREE);
    tr_put_at(&first, 4, P(5), PM_NEAT / 10, 8);
    tr_put(&first, 4, P(5), PM_FREE);
    put_accord(&first, 10, P(10));
    pm_trial_init(&second, P(100), PM_OPEN);
    tr_put_at(&second, 1, P(10), PM_NEAT / 100, 8);
    tr_put_at(&second, 2, P(10), PM_NEAT / 10, 9);
    tr_put(&second, 3, P(10), PM_FREE);
    tr_put_at(&second, 4, P(5), PM_NEAT / 10, 8);
    tr_put(&second, 4, P(5), PM_FREE);
    put_accord(&second, 11, P(10));
    const struct pm_trial *trials[] = {&first, &second};
    assert_int_equal(pm_compare_trials(trials, 2, PM_BY_POURED, NULL, &names, &compare, NULL),
                     PM_OK);
    static const bool other[] = {true, true, false, false};
    for (int64_t id = 1; id <= 4; id++) {
        const struct pm_compare_row *line = row(&compare, PM_LINE_MATERIAL, id);
        assert_int_equal(line->change[1], PM_SAME);
        assert_true(line->other[1] == other[id - 1]);
        assert_true(line->differs == other[id - 1]);
    }
    assert_int_equal(row(&compare, PM_LINE_MATERIAL, 1)->strength[1], PM_NEAT / 100);
    assert_int_equal(row(&compare, PM_LINE_MATERIAL, 2)->solvent[1], 9);
    assert_int_equal(row(&compare, PM_LINE_MATERIAL, 4)->strength[0], PM_SEVERAL);
    assert_true(row(&compare, PM_LINE_ACCORD, 5)->other[1]);
    assert_int_equal(row(&compare, PM_LINE_ACCORD, 5)->version[1], 11);
    pm_compare_release(&compare);
    pm_trial_release(&first);
    pm_trial_release(&second);
}

/* Every trial is judged against the first, also what stands only in between. */
static void four_against_the_first(void **state)
{
    (void)state;
    struct pm_trial four[4];
    const struct pm_trial *trials[4];
    struct pm_compare compare;
    static const double parts[] = {10, 20, 5, 10};
    for (int i = 0; i < 4; i++) {
        pm_trial_init(&four[i], P(100), PM_OPEN);
        tr_put(&four[i], 1, P(parts[i]), PM_FREE);
        if (i == 2)
            tr_put(&four[i], 2, P(1), PM_FREE);
        trials[i] = &four[i];
    }
    assert_int_equal(pm_compare_trials(trials, 4, PM_BY_POURED, NULL, NULL, &compare, NULL), PM_OK);
    static const enum pm_change_word first_line[] = {PM_SAME, PM_MORE, PM_LESS, PM_SAME};
    static const enum pm_change_word passing[] = {PM_SAME, PM_SAME, PM_ADDED, PM_SAME};
    for (int i = 0; i < 4; i++) {
        assert_int_equal(compare.rows[0].change[i], first_line[i]);
        assert_int_equal(compare.rows[0].factor_ppm[i], (int64_t)(parts[i] / 10 * 1e6));
        assert_int_equal(compare.rows[1].change[i], passing[i]);
    }
    assert_true(compare.rows[0].differs);
    assert_true(compare.rows[1].differs);
    pm_compare_release(&compare);
    for (int i = 0; i < 4; i++)
        pm_trial_release(&four[i]);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(poured_and_neat),        cmocka_unit_test(flat),
        cmocka_unit_test(rounding_is_no_change),  cmocka_unit_test(giving_way_is_told_apart),
        cmocka_unit_test(how_many_must_give_way), cmocka_unit_test(all_alike_is_no_giving_way),
        cmocka_unit_test(poured_otherwise),       cmocka_unit_test(four_against_the_first),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
