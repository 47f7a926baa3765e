/* SPDX-License-Identifier: MIT */
/*
 * Long random walks through trials: after every gesture the trial holds, the gesture kept its
 * promises, exact shares agree with GMP's rationals, and the change goes forth and back. Ratios
 * inside cores are compared with GMP after ten thousand edits.
 */
#include "permille/core/change.h"
#include "trials.h"

#include <gmp.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define WALKS 400
#define STEPS 150

/* The walker remembers where it was, to go back and forth again. */
struct walk {
    struct pm_trial states[STEPS + 1];
    char *changes[STEPS];
    size_t count; /* of changes */
};

static void assert_same(const struct pm_trial *got, const struct pm_trial *wanted, int64_t next_id)
{
    struct pm_trial other = *got;
    assert_true(other.next_id >= wanted->next_id);
    assert_int_equal(other.next_id, next_id); /* the one thing that never goes back */
    other.next_id = wanted->next_id;
    assert_true(pm_trial_equal(&other, wanted));
}

static void remember(struct walk *walk, const struct pm_trial *after)
{
    struct pm_text text = PM_TEXT_EMPTY;
    struct pm_error err;
    const struct pm_trial *before = &walk->states[walk->count];
    assert_int_equal(pm_change_between(before, after, &text, &err), PM_OK);
    walk->changes[walk->count] = pm_text_take(&text);
    assert_non_null(walk->changes[walk->count]);
    walk->count++;
    assert_int_equal(pm_trial_copy(after, &walk->states[walk->count], NULL), PM_OK);
}

static void there_and_back(struct walk *walk, struct tr_random *random)
{
    struct pm_trial trial;
    struct pm_error err;
    assert_int_equal(pm_trial_copy(&walk->states[walk->count], &trial, NULL), PM_OK);
    int64_t next_id = trial.next_id;
    size_t at = walk->count;
    size_t turns = 0;
    while (at > 0 || turns < 1) {
        bool back = at > 0 && (at == walk->count || turns >= 1 || !tr_random_chance(random, 10));
        const char *change = walk->changes[back ? at - 1 : at];
        if (pm_change_apply(change, back ? PM_BACK : PM_FORTH, &trial, &err) != PM_OK)
            fail_msg("%s\n%s", err.text, change);
        at = back ? at - 1 : at + 1;
        assert_same(&trial, &walk->states[at], next_id);
        turns += at == 0;
    }
    while (at < walk->count) {
        if (pm_change_apply(walk->changes[at++], PM_FORTH, &trial, &err) != PM_OK)
            fail_msg("%s", err.text);
        assert_same(&trial, &walk->states[at], next_id);
    }
    pm_trial_release(&trial);
}

static void release_walk(struct walk *walk)
{
    for (size_t i = 0; i < walk->count; i++)
        free(walk->changes[i]);
    for (size_t i = 0; i <= walk->count; i++)
        pm_trial_release(&walk->states[i]);
}

/* Parts of a unit: the line, or all lines of its core. */
static pm_parts unit_parts(const struct pm_trial *trial, const struct pm_line *line)
{
    pm_parts sum = 0;
    for (size_t i = 0; i < trial->count && line->core != 0; i++)
        sum += trial->lines[i].core == line->core ? trial->lines[i].parts : 0;
    return line->core != 0 ? sum : line->parts;
}

static bool in_unit(const struct pm_line *line, const struct pm_line *of)
{
    return line == of || (line->core != 0 && line->core == of->core);
}

/* |now - was x rest / all| <= 1 micro-part, in rationals. */
static void assert_share(pm_parts now, pm_parts was, pm_parts rest, pm_parts all)
{
    mpq_t exact, share;
    mpq_inits(exact, share, NULL);
    mpq_set_si(exact, rest, (unsigned long)all);
    mpq_canonicalize(exact);
    mpq_set_si(share, was, 1);
    mpq_mul(exact, exact, share);
    mpq_set_si(share, now, 1);
    mpq_sub(exact, exact, share);
    mpq_abs(exact, exact);
    assert_true(mpq_cmp_si(exact, 1, 1) < 0);
    mpq_clears(exact, share, NULL);
}

/* A weight as it is kept, exactly. */
static void get_weight(mpq_t out, struct pm_weight weight)
{
    mpq_set_si(out, weight.digits, 1);
    if (weight.power >= PM_POWER_ZERO)
        mpq_mul_2exp(out, out, (mp_bitcnt_t)(weight.power - PM_POWER_ZERO));
    else
        mpq_div_2exp(out, out, (mp_bitcnt_t)(PM_POWER_ZERO - weight.power));
}

static bool is_free(const struct pm_line *line)
{
    return line->stance == PM_FREE || line->stance == PM_CARRIER;
}

/* Whether the line has to give way to the one meant in core and share mode. */
static bool has_to_give(const struct pm_trial *before, const struct pm_line *line,
                        const struct pm_line *meant)
{
    bool cores = false;
    for (size_t i = 0; i < before->count; i++) {
        const struct pm_line *other = &before->lines[i];
        cores = cores || (before->mode == PM_CORE_MODE && other->core != 0 && is_free(other) &&
                          other->parts > 0 && !in_unit(other, meant));
    }
    return !in_unit(line, meant) && is_free(line) && (!cores || line->core != 0);
}

/* Weight of the line's unit, as it was before, in rationals. */
static void unit_weight(mpq_t out, const struct pm_trial *trial, const struct pm_line *line)
{
    mpq_t one;
    mpq_init(one);
    mpq_set_si(out, 0, 1);
    for (size_t i = 0; i < trial->count; i++) {
        if (in_unit(&trial->lines[i], line)) {
            get_weight(one, trial->lines[i].share);
            mpq_add(out, out, one);
        }
    }
    mpq_clear(one);
}

/* |now - rest x weight / all| < 1 micro-part and 2^-20 of one. */
static void assert_weight(pm_parts now, const mpq_t weight, pm_parts rest, const mpq_t all)
{
    mpq_t exact, room;
    mpq_inits(exact, room, NULL);
    mpq_set_si(exact, rest, 1);
    mpq_mul(exact, exact, weight);
    mpq_div(exact, exact, all);
    mpq_set_si(room, now, 1);
    mpq_sub(exact, exact, room);
    mpq_abs(exact, exact);
    mpq_set_si(room, (1 << 20) + 1, 1 << 20);
    assert_true(mpq_cmp(exact, room) < 0);
    mpq_clears(exact, room, NULL);
}

/* A set line in a settled trial: every other unit that has to give way against its exact share. */
static void compare_set(const struct pm_gesture *g, const struct pm_trial *before,
                        const struct pm_trial *after)
{
    if (g->kind != PM_SET || !before->settled || !after->settled || before->mode > PM_SHARE)
        return;
    const struct pm_line *meant = tr_line(before, g->line);
    if (meant->stance == PM_RESTING || g->parts == meant->parts)
        return;
    mpq_t all, weight;
    mpq_inits(all, weight, NULL);
    pm_parts rest = after->base;
    for (size_t i = 0; i < before->count; i++) {
        const struct pm_line *line = &before->lines[i];
        if (has_to_give(before, line, meant)) {
            get_weight(weight, line->share);
            mpq_add(all, all, weight);
        } else {
            rest -= after->lines[i].parts;
            assert_true(in_unit(line, meant) || after->lines[i].parts == line->parts);
        }
    }
    for (size_t i = 0; i < before->count && mpq_sgn(all) > 0; i++) {
        const struct pm_line *line = &before->lines[i];
        if (has_to_give(before, line, meant)) {
            unit_weight(weight, before, line);
            assert_weight(unit_parts(after, &after->lines[i]), weight, rest, all);
        }
    }
    mpq_clears(all, weight, NULL);
}

/* The preview and the gesture tell the same. */
static void compare_preview(const struct pm_gesture *g, const struct pm_trial *before,
                            enum pm_status status, const struct pm_trial *after)
{
    pm_parts preview[256];
    assert_true(before->count <= 256);
    if (g->kind != PM_SET)
        return;
    assert_int_equal(pm_gesture_preview(g, before, preview, NULL), status);
    if (status == PM_OK)
        tr_assert_parts(after, preview, before->count);
}

static bool step(struct walk *walk, struct tr_random *random, size_t *by_kind)
{
    struct tr_random_gesture made;
    struct pm_trial after;
    struct pm_error err;
    const struct pm_trial *before = &walk->states[walk->count];
    tr_random_gesture(random, before, &made);
    pm_error_clear(&err);
    enum pm_status status = pm_gesture_apply(&made.gesture, before, &after, NULL, &err);
    compare_preview(&made.gesture, before, status, &after);
    if (status == PM_OK) {
        if (pm_gesture_check(&made.gesture, before, &after, &err) != PM_OK)
            fail_msg("%s", err.text);
        compare_set(&made.gesture, before, &after);
        by_kind[made.gesture.kind]++;
        remember(walk, &after);
        pm_trial_release(&after);
    } else {
        assert_true(status == PM_REFUSED || status == PM_MISSING || status == PM_INVALID);
        assert_int_equal(err.status, status);
        assert_true(strlen(err.text) > 10);
    }
    tr_random_gesture_release(&made);
    return status == PM_OK;
}

static void one_walk(uint64_t seed, size_t *by_kind)
{
    struct tr_random random = {seed};
    struct walk *walk = calloc(1, sizeof *walk);
    struct pm_error err;
    assert_non_null(walk);
    tr_random_trial(&random, 60, &walk->states[0]);
    if (pm_trial_check(&walk->states[0], &err) != PM_OK)
        fail_msg("%s", err.text);
    for (size_t tries = 0; tries < 4 * STEPS && walk->count < STEPS; tries++)
        (void)step(walk, &random, by_kind);
    there_and_back(walk, &random);
    release_walk(walk);
    free(walk);
}

static void random_walks(void **state)
{
    (void)state;
    /* Found once: resting cores on another base came back in another ratio. */
    static const uint64_t found[] = {100303, 101428};
    size_t by_kind[PM_BRANCH + 1] = {0};
    for (uint64_t seed = 1; seed <= WALKS; seed++)
        one_walk(seed, by_kind);
    for (size_t i = 0; i < sizeof found / sizeof *found; i++)
        one_walk(found[i], by_kind);
    for (int kind = 0; kind < PM_BRANCH; kind++) {
        if (by_kind[kind] < 20) {
            fail_msg("only %zu gestures of the kind %s worked", by_kind[kind],
                     pm_gesture_word((enum pm_gesture_kind)kind));
        }
    }
}

/* Each line of a core against weight / sum of weights of what the core has, in rationals. */
static void assert_ratio(const struct pm_trial *trial, const int64_t *ids, const long *weights,
                         size_t count)
{
    pm_parts sum = 0;
    unsigned long all = 0;
    for (size_t i = 0; i < count; i++) {
        sum += tr_parts(trial, ids[i]);
        all += (unsigned long)weights[i];
    }
    for (size_t i = 0; i < count; i++) {
        assert_share(tr_parts(trial, ids[i]), weights[i], sum, (pm_parts)all);
        assert_int_equal(tr_line(trial, ids[i])->weight, weights[i]);
    }
}

static void ten_thousand_edits(void **state)
{
    (void)state;
    struct tr_random random = {2024};
    static const pm_parts parts[] = {P(400), P(300), P(200), P(60), P(30), P(9.5), P(0.5)};
    struct pm_trial trial;
    tr_settled(&trial, PM_SHARE, parts, 7);
    const int64_t ids[] = {1, 2, 3};
    const long weights[] = {4, 3, 2};
    const int64_t wide[] = {4, 3, 2};
    tr_done(&trial, (struct pm_gesture){
                        .kind = PM_FORM_CORE, .lines = ids, .weights = wide, .line_count = 3});
    for (size_t i = 0; i < 10000; i++) {
        int64_t line = tr_random_below(&random, 7) + 1;
        struct pm_gesture gesture = {
            .kind = PM_SET, .line = line, .parts = tr_random_below(&random, P(110)) + 1};
        if (i % 7 == 0) {
            gesture.kind = PM_NUDGE;
            gesture.steps = (int)tr_random_below(&random, 5) - 2;
        } else if (i % 101 == 0) {
            gesture = (struct pm_gesture){.kind = PM_SET_BASE,
                                          .parts = trial.base == P(1000) ? P(100) : P(1000)};
        } else if (trial.base == P(100)) {
            gesture.parts /= 10;
        }
        tr_done(&trial, gesture);
        assert_int_equal(pm_trial_total(&trial), trial.base);
        assert_ratio(&trial, ids, weights, 3);
    }
    pm_trial_release(&trial);
}

/* A core of awkward weights keeps them while its neat ratio follows strengths to and fro. */
static void strengths_to_and_fro(void **state)
{
    (void)state;
    static const pm_parts parts[] = {P(400), P(300), P(200), P(60), P(40)};
    struct pm_trial trial, start;
    tr_settled(&trial, PM_SHARE, parts, 5);
    const int64_t ids[] = {1, 2, 3};
    const int64_t weights[] = {7, 5, 3};
    tr_done(&trial, (struct pm_gesture){
                        .kind = PM_FORM_CORE, .lines = ids, .weights = weights, .line_count = 3});
    assert_int_equal(pm_trial_copy(&trial, &start, NULL), PM_OK);
    for (int i = 0; i < 500; i++) {
        for (int64_t line = 1; line <= 3; line++) {
            tr_done(&trial, (struct pm_gesture){.kind = PM_RESTRENGTH,
                                                .line = line,
                                                .strength = PM_NEAT / 10 * (1 + (i + line) % 9),
                                                .solvent = 99});
        }
        for (int64_t line = 1; line <= 3; line++) {
            tr_done(&trial,
                    (struct pm_gesture){.kind = PM_RESTRENGTH, .line = line, .strength = PM_NEAT});
        }
        for (size_t line = 0; line < 3; line++)
            assert_int_equal(trial.lines[line].weight, weights[line]);
        assert_int_equal(pm_trial_total(&trial), P(1000));
    }
    for (size_t i = 0; i < 5; i++) /* 3000 roundings of at most a micro-part or so each */
        assert_true(llabs(trial.lines[i].parts - start.lines[i].parts) < 6000);
    pm_trial_release(&start);
    pm_trial_release(&trial);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(random_walks),
        cmocka_unit_test(ten_thousand_edits),
        cmocka_unit_test(strengths_to_and_fro),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
