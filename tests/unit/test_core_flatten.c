/* SPDX-License-Identifier: MIT */
/*
 * The flat view against the same done in GMP's rationals: random accords in accords, two hundred
 * levels deep, diamonds, traces of traces, damage.
 */
#include "permille/base/mem.h"
#include "permille/core/flatten.h"
#include "trials.h"
#include "vectors.h"

#include <gmp.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define ACCORDS   220
#define MATERIALS 40

/* Accords by id 1.. and how often each was asked for. */
struct cupboard {
    struct pm_trial accords[ACCORDS + 1];
    size_t asked[ACCORDS + 1];
    size_t count;
    int64_t missing; /* an id that cannot be had; 0 for none */
};

static const struct pm_trial *from_cupboard(void *context, int64_t id, struct pm_error *err)
{
    struct cupboard *cupboard = context;
    if (id < 1 || (size_t)id > cupboard->count || id == cupboard->missing) {
        (void)pm_fail(err, PM_MISSING, "There is no accord %lld.", (long long)id);
        return NULL;
    }
    cupboard->asked[id]++;
    return &cupboard->accords[id];
}

static struct pm_trial *another(struct cupboard *cupboard)
{
    struct pm_trial *trial = &cupboard->accords[++cupboard->count];
    assert_true(cupboard->count <= ACCORDS);
    pm_trial_init(trial, P(1000), PM_OPEN);
    return trial;
}

static void put_accord(struct pm_trial *trial, int64_t accord, pm_parts parts)
{
    struct pm_line line = {
        .kind = PM_LINE_ACCORD, .ref = accord, .strength = PM_NEAT, .parts = parts};
    assert_int_equal(pm_trial_insert(trial, trial->count, &line, NULL), PM_OK);
}

static void empty(struct cupboard *cupboard)
{
    for (size_t i = 1; i <= cupboard->count; i++)
        pm_trial_release(&cupboard->accords[i]);
}

static enum pm_status flatten(struct cupboard *cupboard, const struct pm_trial *trial,
                              struct pm_flat *flat, struct pm_error *err)
{
    struct pm_trial_source source = {from_cupboard, cupboard};
    memset(cupboard->asked, 0, sizeof cupboard->asked);
    return pm_flatten(trial, &source, flat, err);
}

/* Neat and solvent add up to the total, the shares to 1e12; every material once. */
static void assert_adds_up(const struct pm_flat *flat, const struct pm_trial *trial)
{
    pm_fine sum = 0;
    int64_t shares = 0;
    bool seen[MATERIALS + 1] = {false};
    for (size_t i = 0; i < flat->count; i++) {
        const struct pm_flat_row *row = &flat->rows[i];
        assert_true(row->neat >= 0 && row->as_solvent >= 0);
        assert_true(row->material >= 1 && row->material <= MATERIALS && !seen[row->material]);
        seen[row->material] = true;
        sum += row->neat + row->as_solvent;
        shares += row->share;
    }
    assert_int_equal(flat->total, pm_trial_total(trial) * PM_FINE_PER_MICRO);
    assert_int_equal(sum, flat->total);
    assert_int_equal(shares, flat->total > 0 ? INT64_C(1000000000000) : 0);
}

static const struct pm_flat_row *row_of(const struct pm_flat *flat, int64_t material)
{
    for (size_t i = 0; i < flat->count; i++)
        if (flat->rows[i].material == material)
            return &flat->rows[i];
    fail_msg("material %lld is not there", (long long)material);
    return NULL;
}

/* ---- the reference: rationals, every line by itself ---- */

struct exact {
    mpq_t neat[MATERIALS + 1], as_solvent[MATERIALS + 1];
};

static void exactly(const struct cupboard *cupboard, const struct pm_trial *trial,
                    const mpq_t factor, struct exact *exact)
{
    mpq_t part, strength;
    mpq_inits(part, strength, NULL);
    for (size_t i = 0; i < trial->count; i++) {
        const struct pm_line *line = &trial->lines[i];
        mpq_set_si(part, line->parts, 1);
        mpq_mul(part, part, factor);
        if (line->kind == PM_LINE_ACCORD) {
            const struct pm_trial *accord = &cupboard->accords[line->ref];
            mpq_set_si(strength, 1, (unsigned long)pm_trial_total(accord));
            mpq_mul(part, part, strength);
            exactly(cupboard, accord, part, exact);
            continue;
        }
        mpq_set_si(strength, line->strength, (unsigned long)PM_NEAT);
        mpq_canonicalize(strength);
        mpq_mul(strength, strength, part);
        mpq_add(exact->neat[line->ref], exact->neat[line->ref], strength);
        if (line->solvent != 0) {
            mpq_sub(part, part, strength);
            mpq_add(exact->as_solvent[line->solvent], exact->as_solvent[line->solvent], part);
        }
    }
    mpq_clears(part, strength, NULL);
}

static void assert_near(pm_fine got, mpq_t exact, long room)
{
    mpq_t off;
    mpq_init(off);
    mpq_set_si(off, got, 1);
    mpq_sub(off, off, exact);
    mpq_abs(off, off);
    assert_true(mpq_cmp_si(off, room, 1) <= 0);
    assert_int_equal(got > 0, mpq_sgn(exact) > 0); /* what is there never reads as nothing */
    mpq_clear(off);
}

static void compare(const struct cupboard *cupboard, const struct pm_trial *trial,
                    const struct pm_flat *flat, long room)
{
    static struct exact exact;
    mpq_t fine;
    mpq_init(fine);
    mpq_set_si(fine, PM_FINE_PER_MICRO, 1);
    for (size_t i = 0; i <= MATERIALS; i++)
        mpq_inits(exact.neat[i], exact.as_solvent[i], NULL);
    exactly(cupboard, trial, fine, &exact);
    for (size_t i = 0; i < flat->count; i++) {
        const struct pm_flat_row *row = &flat->rows[i];
        assert_near(row->neat, exact.neat[row->material], room);
        assert_near(row->as_solvent, exact.as_solvent[row->material], room);
    }
    for (size_t i = 0; i <= MATERIALS; i++)
        mpq_clears(exact.neat[i], exact.as_solvent[i], NULL);
    mpq_clear(fine);
}

/* ---- tests ---- */

static void random_content(struct tr_random *random, struct pm_trial *trial, int64_t accords)
{
    static const pm_strength strengths[] = {PM_NEAT, 100000000, 1000000, 333333333, 1};
    size_t lines = (size_t)tr_random_below(random, 12) + 1;
    for (size_t i = 0; i < lines; i++) {
        pm_parts parts = tr_random_parts(random, P(300)) + (i == 0);
        if (accords > 0 && tr_random_chance(random, 3)) {
            put_accord(trial, tr_random_below(random, accords) + 1, parts);
            continue;
        }
        pm_strength strength = strengths[tr_random_below(random, 5)];
        tr_put_at(trial, tr_random_below(random, MATERIALS) + 1, parts, strength,
                  strength == PM_NEAT ? 0 : tr_random_below(random, MATERIALS) + 1);
    }
}

static void against_rationals(void **state)
{
    (void)state;
    struct tr_random random = {21};
    for (int turn = 0; turn < 400; turn++) {
        struct cupboard cupboard = {.count = 0};
        int64_t accords = tr_random_below(&random, 9);
        for (int64_t i = 0; i < accords; i++)
            random_content(&random, another(&cupboard), i);
        struct pm_trial trial;
        struct pm_flat flat;
        pm_trial_init(&trial, P(1000), PM_OPEN);
        random_content(&random, &trial, accords);
        assert_int_equal(flatten(&cupboard, &trial, &flat, NULL), PM_OK);
        assert_adds_up(&flat, &trial);
        compare(&cupboard, &trial, &flat, 2 * MATERIALS);
        for (size_t i = 1; i <= cupboard.count; i++)
            assert_true(cupboard.asked[i] <= 1);
        pm_flat_release(&flat);
        pm_trial_release(&trial);
        empty(&cupboard);
    }
}

/* One line of the top is an accord, and so on 200 times; each level brings a material of its own.
 */
static void deep(void **state)
{
    (void)state;
    static struct cupboard cupboard;
    for (int64_t level = 1; level <= 200; level++) {
        struct pm_trial *accord = another(&cupboard);
        tr_put_at(accord, level % MATERIALS + 1, P(10), PM_NEAT / 10, 5);
        if (level > 1)
            put_accord(accord, level - 1, P(990));
    }
    struct pm_trial trial;
    struct pm_flat flat;
    pm_trial_init(&trial, P(1000), PM_OPEN);
    put_accord(&trial, 200, P(1000));
    assert_int_equal(flatten(&cupboard, &trial, &flat, NULL), PM_OK);
    assert_adds_up(&flat, &trial);
    compare(&cupboard, &trial, &flat, 400);
    pm_flat_release(&flat);
    pm_trial_release(&trial);
    empty(&cupboard);
}

/* Every level uses the one below twice: 2^60 paths, 60 accords, each asked for once. */
static void diamond(void **state)
{
    (void)state;
    static struct cupboard cupboard;
    struct pm_trial *ground = another(&cupboard);
    tr_put(ground, 1, P(999), PM_FREE);
    tr_put(ground, 2, P(1), PM_FREE);
    for (int64_t level = 2; level <= 61; level++) {
        struct pm_trial *accord = another(&cupboard);
        put_accord(accord, level - 1, P(300));
        put_accord(accord, level - 1, P(700));
    }
    struct pm_trial trial;
    struct pm_flat flat;
    pm_trial_init(&trial, P(1000), PM_OPEN);
    put_accord(&trial, 61, P(1000));
    assert_int_equal(flatten(&cupboard, &trial, &flat, NULL), PM_OK);
    assert_adds_up(&flat, &trial);
    assert_int_equal(flat.count, 2);
    assert_int_equal(row_of(&flat, 2)->neat, P(1) * PM_FINE_PER_MICRO);
    for (size_t i = 1; i <= cupboard.count; i++)
        assert_int_equal(cupboard.asked[i], 1);
    pm_flat_release(&flat);
    pm_trial_release(&trial);
    empty(&cupboard);
}

/* A micro-part in a thousand, again and again, far below a pico-part: never nothing. */
static void traces_of_traces(void **state)
{
    (void)state;
    static struct cupboard cupboard;
    struct pm_trial *accord = another(&cupboard);
    tr_put_at(accord, 1, 1, 1, 3);
    tr_put(accord, 2, P(1000) - 1, PM_FREE);
    for (int64_t level = 2; level <= 6; level++) {
        accord = another(&cupboard);
        put_accord(accord, level - 1, 1);
        tr_put(accord, 2, P(1000) - 1, PM_FREE);
    }
    struct pm_trial trial;
    struct pm_flat flat;
    pm_trial_init(&trial, P(1000), PM_OPEN);
    put_accord(&trial, 6, P(1000));
    assert_int_equal(flatten(&cupboard, &trial, &flat, NULL), PM_OK);
    assert_adds_up(&flat, &trial);
    assert_true(row_of(&flat, 1)->neat > 0);
    assert_true(row_of(&flat, 1)->share > 0);
    assert_true(row_of(&flat, 3)->as_solvent > 0);
    pm_flat_release(&flat);
    pm_trial_release(&trial);
    empty(&cupboard);
}

static bool is_third(void *context, int64_t material)
{
    (void)context;
    return material == 3;
}

/* DIL-15, computed: 50 parts of a 10 % dilution are 5 neat and 45 of its solvent. */
static void solvents(void **state)
{
    (void)state;
    struct cupboard cupboard = {.count = 0};
    struct pm_trial trial;
    struct pm_flat flat;
    pm_trial_init(&trial, P(1000), PM_OPEN);
    tr_put_at(&trial, 1, P(50), PM_NEAT / 10, 3);
    tr_put_at(&trial, 2, P(80), PM_NEAT / 100, 4);
    tr_put(&trial, 3, P(100), PM_FREE);
    tr_put(&trial, 1, P(20), PM_FREE);
    assert_int_equal(flatten(&cupboard, &trial, &flat, NULL), PM_OK);
    assert_adds_up(&flat, &trial);
    assert_int_equal(flat.count, 4);
    assert_int_equal(flat.rows[0].material, 1); /* in order of first appearance */
    assert_int_equal(flat.rows[1].material, 3);
    assert_int_equal(flat.rows[0].neat, P(25) * PM_FINE_PER_MICRO);
    assert_int_equal(row_of(&flat, 3)->as_solvent, P(45) * PM_FINE_PER_MICRO);
    assert_int_equal(row_of(&flat, 3)->neat, P(100) * PM_FINE_PER_MICRO);
    assert_int_equal(row_of(&flat, 4)->as_solvent, P(79.2) * PM_FINE_PER_MICRO);
    assert_int_equal(row_of(&flat, 2)->share, 3200000000); /* 0.8 of 250 */
    assert_int_equal(pm_flat_solvent(&flat, is_third, NULL), P(224.2) * PM_FINE_PER_MICRO);
    pm_flat_release(&flat);
    pm_trial_release(&trial);
}

static void damage(void **state)
{
    (void)state;
    struct cupboard cupboard = {.count = 0};
    struct pm_trial trial;
    struct pm_flat flat;
    struct pm_error err;
    pm_trial_init(&trial, P(1000), PM_OPEN);
    assert_int_equal(flatten(&cupboard, &trial, &flat, &err), PM_OK); /* empty, but no damage */
    assert_int_equal(flat.count, 0);
    pm_flat_release(&flat);
    put_accord(&trial, 1, P(10));
    assert_int_equal(flatten(&cupboard, &trial, &flat, &err), PM_MISSING);
    assert_string_equal(err.text, "There is no accord 1.");
    assert_null(flat.rows);
    struct pm_trial *first = another(&cupboard);
    assert_int_equal(flatten(&cupboard, &trial, &flat, &err), PM_DAMAGED);
    assert_non_null(strstr(err.text, "empty"));
    put_accord(first, 2, P(10));
    put_accord(another(&cupboard), 1, P(10));
    assert_int_equal(flatten(&cupboard, &trial, &flat, &err), PM_DAMAGED);
    assert_non_null(strstr(err.text, "contains itself"));
    assert_null(flat.rows);
    pm_trial_release(&trial);
    empty(&cupboard);
}

static void memory_runs_out(void **state)
{
    (void)state;
    struct cupboard cupboard = {.count = 0};
    struct tr_random random = {3};
    for (int64_t i = 0; i < 4; i++)
        random_content(&random, another(&cupboard), i);
    struct pm_trial trial;
    struct pm_flat flat;
    pm_trial_init(&trial, P(1000), PM_OPEN);
    random_content(&random, &trial, 0);
    put_accord(&trial, 4, P(20));
    put_accord(&trial, 3, P(20));
    enum pm_status status = PM_NOMEM;
    for (long n = 1; status != PM_OK; n++) {
        (void)pm_mem_fail_at(n, n % 2 == 0);
        status = flatten(&cupboard, &trial, &flat, NULL);
        (void)pm_mem_fail_at(0, false);
        assert_true(n < 1000);
        assert_true(status == PM_OK || (status == PM_NOMEM && flat.rows == NULL));
    }
    assert_adds_up(&flat, &trial);
    pm_flat_release(&flat);
    pm_trial_release(&trial);
    empty(&cupboard);
}

/* A line of a dilution is so much of the material and so much of what it is diluted in. */
static void check_dilution(char **row)
{
    struct cupboard cupboard = {.count = 0};
    struct pm_trial trial;
    struct pm_flat flat;
    pm_trial_init(&trial, P(1000), PM_OPEN);
    tr_put_at(&trial, 1, P(vector_number(row[INPUT], "line_parts")),
              (pm_strength)(vector_number(row[INPUT], "strength") * 1e9 + 0.5), 2);
    assert_int_equal(flatten(&cupboard, &trial, &flat, NULL), PM_OK);
    assert_int_equal(flat.count, 2);
    assert_int_equal(row_of(&flat, 1)->neat,
                     P(vector_number(row[EXPECTED], "active_parts")) * PM_FINE_PER_MICRO);
    assert_int_equal(row_of(&flat, 2)->as_solvent,
                     P(vector_number(row[EXPECTED], "carrier_parts")) * PM_FINE_PER_MICRO);
    assert_adds_up(&flat, &trial);
    pm_flat_release(&flat);
    pm_trial_release(&trial);
}

static void a_dilution(void **state)
{
    (void)state;
    vectors_each("dilution_in_formula", 2, check_dilution);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_dilution),
        cmocka_unit_test(against_rationals),
        cmocka_unit_test(deep),
        cmocka_unit_test(diamond),
        cmocka_unit_test(traces_of_traces),
        cmocka_unit_test(solvents),
        cmocka_unit_test(damage),
        cmocka_unit_test(memory_runs_out),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
