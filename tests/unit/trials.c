/* SPDX-License-Identifier: MIT */
/* Trials for the tests of the core. */
#include "trials.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* ---- random numbers: splitmix64, by Sebastiano Vigna, in the public domain ---- */

uint64_t tr_random_next(struct tr_random *random)
{
    random->state += UINT64_C(0x9E3779B97F4A7C15);
    uint64_t z = random->state;
    z = (z ^ (z >> 30)) * UINT64_C(0xBF58476D1CE4E5B9);
    z = (z ^ (z >> 27)) * UINT64_C(0x94D049BB133111EB);
    return z ^ (z >> 31);
}

int64_t tr_random_below(struct tr_random *random, int64_t below)
{
    return (int64_t)(tr_random_next(random) % (uint64_t)below);
}

bool tr_random_chance(struct tr_random *random, int64_t in)
{
    return tr_random_below(random, in) == 0;
}

pm_parts tr_random_parts(struct tr_random *random, pm_parts most)
{
    switch (tr_random_below(random, 8)) {
    case 0:
        return 0;
    case 1:
        return tr_random_below(random, 20); /* a few micro-parts */
    case 2:
        return tr_random_below(random, most + 1);
    case 3:
        return tr_random_below(random, most / PM_PART + 1) * PM_PART;
    default:
        return tr_random_below(random, most / 20 + 1);
    }
}

/* ---- building ---- */

int64_t tr_put_at(struct pm_trial *trial, int64_t material, pm_parts parts, pm_strength strength,
                  int64_t solvent)
{
    struct pm_line line = {.kind = PM_LINE_MATERIAL,
                           .ref = material,
                           .parts = parts,
                           .strength = strength,
                           .solvent = solvent};
    assert_int_equal(pm_trial_insert(trial, trial->count, &line, NULL), PM_OK);
    return trial->lines[trial->count - 1].id;
}

int64_t tr_put(struct pm_trial *trial, int64_t material, pm_parts parts, enum pm_stance stance)
{
    struct pm_line line = {.kind = PM_LINE_MATERIAL,
                           .ref = material,
                           .parts = parts,
                           .strength = PM_NEAT,
                           .stance = stance};
    assert_int_equal(pm_trial_insert(trial, trial->count, &line, NULL), PM_OK);
    return trial->lines[trial->count - 1].id;
}

void tr_settled(struct pm_trial *trial, enum pm_mode mode, const pm_parts *parts, size_t count)
{
    pm_trial_init(trial, 1, mode);
    for (size_t i = 0; i < count; i++)
        tr_put(trial, (int64_t)i + 1, parts[i], PM_FREE);
    trial->base = pm_trial_total(trial);
    trial->settled = true;
}

struct pm_line *tr_line(const struct pm_trial *trial, int64_t id)
{
    long place = pm_trial_find(trial, id);
    assert_true(place >= 0);
    return &trial->lines[place];
}

pm_parts tr_parts(const struct pm_trial *trial, int64_t id)
{
    return tr_line(trial, id)->parts;
}

void tr_assert_parts(const struct pm_trial *trial, const pm_parts *parts, size_t count)
{
    assert_int_equal(trial->count, count);
    for (size_t i = 0; i < count; i++) {
        if (trial->lines[i].parts != parts[i]) {
            fail_msg("line %zu has %lld micro-parts, not %lld", i + 1,
                     (long long)trial->lines[i].parts, (long long)parts[i]);
        }
    }
}

/* ---- doing ---- */

struct pm_effect tr_done(struct pm_trial *trial, struct pm_gesture gesture)
{
    struct pm_trial after;
    struct pm_effect effect;
    struct pm_error err;
    pm_error_clear(&err);
    if (pm_gesture_apply(&gesture, trial, &after, &effect, &err) != PM_OK)
        fail_msg("%s: %s", pm_gesture_word(gesture.kind), err.text);
    if (pm_gesture_check(&gesture, trial, &after, &err) != PM_OK)
        fail_msg("%s", err.text);
    pm_trial_release(trial);
    *trial = after;
    return effect;
}

struct pm_effect tr_set(struct pm_trial *trial, int64_t line, pm_parts parts)
{
    return tr_done(trial, (struct pm_gesture){.kind = PM_SET, .line = line, .parts = parts});
}

const char *tr_refused(const struct pm_trial *trial, struct pm_gesture gesture,
                       enum pm_status status, const char *words)
{
    static struct pm_error err;
    struct pm_trial copy, after;
    assert_int_equal(pm_trial_copy(trial, &copy, NULL), PM_OK);
    pm_error_clear(&err);
    enum pm_status got = pm_gesture_apply(&gesture, trial, &after, NULL, &err);
    if (got != status || err.status != status) {
        fail_msg("%s came to \"%s\", not \"%s\"; %s", pm_gesture_word(gesture.kind),
                 pm_status_word(got), pm_status_word(status), err.text);
    }
    if (strstr(err.text, words) == NULL)
        fail_msg("\"%s\" does not contain \"%s\"", err.text, words);
    assert_true(pm_trial_equal(trial, &copy));
    assert_int_equal(after.count, 0);
    assert_null(after.lines);
    pm_trial_release(&copy);
    return err.text;
}

int64_t tr_number(const char *sentence)
{
    const char *end = sentence + strlen(sentence);
    while (end > sentence && (end[-1] < '0' || end[-1] > '9'))
        end--;
    const char *start = end;
    while (start > sentence && strchr("0123456789.", start[-1]) != NULL)
        start--;
    assert_true(end > start);
    char text[PM_AMOUNT_TEXT];
    assert_true((size_t)(end - start) < sizeof text);
    memcpy(text, start, (size_t)(end - start));
    text[end - start] = '\0';
    bool percent = strncmp(end, " %", 2) == 0 || strncmp(end, "\u202f%", 4) == 0;
    int64_t number = 0;
    assert_int_equal(pm_decimal_read(text, percent ? 7 : 6, "number", &number, NULL), PM_OK);
    return number;
}

/* ---- random trials ---- */

static void tr_random_line(struct tr_random *random, pm_parts most, struct pm_line *line)
{
    bool accord = tr_random_chance(random, 8);
    memset(line, 0, sizeof *line);
    line->kind = accord ? PM_LINE_ACCORD : PM_LINE_MATERIAL;
    line->ref = tr_random_below(random, 12) + 1;
    line->strength = PM_NEAT;
    line->parts = tr_random_parts(random, most);
    line->stance = tr_random_chance(random, 6) ? PM_HELD : PM_FREE;
    if (!accord && tr_random_chance(random, 3)) {
        static const pm_strength strengths[] = {100000000, 10000000, 1000000, 100300000, 333333333};
        line->strength = strengths[tr_random_below(random, 5)];
        line->solvent = tr_random_below(random, 4) + 1;
    }
}

/* Gesture or not, what cannot work is passed over. */
static void try_gesture(struct pm_trial *trial, struct pm_gesture gesture)
{
    struct pm_trial after;
    if (pm_gesture_apply(&gesture, trial, &after, NULL, NULL) == PM_OK) {
        pm_trial_release(trial);
        *trial = after;
    }
}

void tr_random_trial(struct tr_random *random, size_t lines, struct pm_trial *trial)
{
    static const pm_parts bases[] = {1, 97, P(100), P(1000), P(333.333333), P(12345), PM_PARTS_MAX};
    pm_parts base = bases[tr_random_below(random, 7)];
    if (tr_random_chance(random, 2))
        base = P(1000);
    pm_trial_init(trial, base, PM_OPEN);
    size_t count = (size_t)tr_random_below(random, (int64_t)lines) + 1;
    for (size_t i = 0; i < count; i++) {
        struct pm_line line;
        tr_random_line(random, base, &line);
        assert_int_equal(pm_trial_insert(trial, i, &line, NULL), PM_OK);
    }
    for (size_t i = 0; i < count / 4; i++) {
        struct tr_random_gesture made;
        tr_random_gesture(random, trial, &made);
        made.gesture.kind = PM_FORM_CORE;
        try_gesture(trial, made.gesture);
        tr_random_gesture_release(&made);
    }
    if (tr_random_chance(random, 2)) {
        int64_t line = tr_random_below(random, (int64_t)count) + 1;
        try_gesture(trial,
                    (struct pm_gesture){.kind = PM_SET_STANCE, .line = line, .stance = PM_CARRIER});
    }
    enum pm_mode mode = (enum pm_mode)tr_random_below(random, 4);
    trial->settled = pm_trial_total(trial) == trial->base;
    if (tr_random_chance(random, 2))
        try_gesture(trial, (struct pm_gesture){.kind = PM_SETTLE});
    try_gesture(trial, (struct pm_gesture){.kind = PM_SET_MODE, .mode = mode});
}

static int64_t tr_random_line_id(struct tr_random *random, const struct pm_trial *trial)
{
    if (trial->count == 0 || tr_random_chance(random, 50))
        return tr_random_below(random, trial->next_id) + 1;
    return trial->lines[tr_random_below(random, (int64_t)trial->count)].id;
}

/* Distinct lines, sometimes together with all of a core. */
static size_t tr_random_lines(struct tr_random *random, const struct pm_trial *trial,
                              int64_t *lines)
{
    size_t count = 0;
    size_t wanted = (size_t)tr_random_below(random, 5) + 1;
    int core = tr_random_chance(random, 3) ? (int)tr_random_below(random, 3) + 1 : -1;
    for (size_t i = 0; i < trial->count && core > 0; i++)
        if (trial->lines[i].core == core && count < 8)
            lines[count++] = trial->lines[i].id;
    for (size_t tries = 0; tries < 20 && count < wanted && trial->count > 0; tries++) {
        int64_t id = tr_random_line_id(random, trial);
        bool there = false;
        for (size_t i = 0; i < count; i++)
            there = there || lines[i] == id;
        if (!there)
            lines[count++] = id;
    }
    return count;
}

void tr_random_gesture(struct tr_random *random, const struct pm_trial *trial,
                       struct tr_random_gesture *made)
{
    static const pm_parts bases[] = {P(100), P(1000), P(250), 1};
    memset(made, 0, sizeof *made);
    struct pm_gesture *g = &made->gesture;
    g->kind = (enum pm_gesture_kind)tr_random_below(random, PM_BRANCH);
    g->line = tr_random_line_id(random, trial);
    g->parts = g->kind == PM_SET_BASE
                   ? bases[tr_random_below(random, tr_random_chance(random, 20) ? 4 : 3)]
                   : tr_random_parts(random, trial->base);
    g->steps = (int)tr_random_below(random, 41) - 20;
    g->numerator = tr_random_below(random, 9) + 1;
    g->denominator = tr_random_below(random, 9) + 1;
    tr_random_line(random, trial->base, &g->fresh);
    g->place = (size_t)tr_random_below(random, 70);
    g->same_neat = tr_random_chance(random, 2);
    g->move_held = tr_random_chance(random, 2);
    g->stance = (enum pm_stance)tr_random_below(random, 4);
    g->mode = (enum pm_mode)tr_random_below(random, 4);
    g->strength = g->fresh.strength;
    g->solvent = g->fresh.solvent;
    g->line_count = tr_random_lines(random, trial, made->lines);
    g->lines = made->lines;
    for (size_t i = 0; i < 8; i++) {
        made->weights[i] = tr_random_chance(random, 30) ? tr_random_below(random, PM_WEIGHT_MAX) + 1
                                                        : tr_random_below(random, 9) + 1;
    }
    g->weights = tr_random_chance(random, 2) ? made->weights : NULL;
    g->text = tr_random_chance(random, 3) ? NULL : "a \"line\"\\\n\tand\x01 more \u00e9";
    pm_trial_init(&made->content, P(1000), PM_SHARE);
    if (g->kind == PM_UNFOLD) {
        tr_random_trial(random, 6, &made->content);
        g->content = &made->content;
    }
}

void tr_random_gesture_release(struct tr_random_gesture *made)
{
    pm_trial_release(&made->content);
}
