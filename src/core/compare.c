/* SPDX-License-Identifier: MIT */
/* Trials side by side: rows are gathered trial by trial, matched by what they are. */
#include "permille/core/compare.h"
#include "permille/base/map.h"

#include "permille/base/mem.h"

#include <stdlib.h>
#include <string.h>

/* What a comparison is gathered in. */
struct gathering {
    const struct pm_trial *const *trials;
    enum pm_compare_by by;
    const struct pm_compare_names *names;
    struct pm_compare out;
    size_t capacity;
    struct pm_map materials, accords; /* ref to row */
    struct pm_error *err;
};

static struct pm_compare_row *row_of(struct gathering *g, enum pm_line_kind kind, int64_t ref)
{
    struct pm_map *places = kind == PM_LINE_ACCORD ? &g->accords : &g->materials;
    size_t place = pm_map_place(places, ref);
    if (place == PM_MAP_NONE) {
        if (!pm_grow(&g->out.rows, &g->capacity, g->out.count + 1, sizeof *g->out.rows))
            return NULL;
        place = g->out.count;
        if (!pm_map_put_place(places, ref, place))
            return NULL;
        struct pm_compare_row *row = &g->out.rows[g->out.count++];
        memset(row, 0, sizeof *row);
        row->kind = kind;
        row->ref = ref;
    }
    return &g->out.rows[place];
}

static enum pm_status too_large(struct pm_error *err)
{
    return pm_fail(err, PM_INVALID, "The amounts are too large to be compared.");
}

static void note(int64_t *known, int64_t value, bool first)
{
    if (first)
        *known = value;
    else if (*known != value)
        *known = PM_SEVERAL;
}

/* How the row is poured in that trial; called before it is marked as standing there. */
static void note_form(struct pm_compare_row *row, size_t trial, const struct pm_line *line)
{
    bool first = !row->there[trial];
    note(&row->strength[trial], line->strength, first);
    note(&row->solvent[trial], line->solvent, first);
    note(&row->version[trial], line->kind == PM_LINE_ACCORD ? line->ref : 0, first);
}

/* Adds up a line in pico-parts of its own base. Neat amounts are exact: strengths come in 1e-9 and
 * parts in 1e-6, which pico-parts hold but for three digits, rounded half up. */
static enum pm_status gather_line(struct gathering *g, size_t trial, const struct pm_line *line)
{
    int64_t ref = line->ref;
    if (line->kind == PM_LINE_ACCORD && g->names != NULL && g->names->accord_of != NULL)
        ref = g->names->accord_of(g->names->context, ref);
    struct pm_compare_row *row = row_of(g, line->kind, ref);
    if (row == NULL)
        return pm_fail_memory(g->err);
    pm_fine poured = 0;
    pm_fine neat = 0;
    if (!pm_muldiv(line->parts, PM_FINE_PER_MICRO, 1, &poured) ||
        !pm_muldiv(poured, line->strength, PM_NEAT, &neat) ||
        row->poured[trial] > INT64_MAX - poured)
        return too_large(g->err);
    note_form(row, trial, line);
    row->resting[trial] = line->stance == PM_RESTING && (!row->there[trial] || row->resting[trial]);
    row->there[trial] = true;
    row->poured[trial] += poured;
    row->neat[trial] += neat;
    return PM_OK;
}

/* A material that rests, and that nothing else brings. */
static enum pm_status gather_rest(struct gathering *g, size_t trial, const struct pm_line *line)
{
    if (line->stance != PM_RESTING || line->kind != PM_LINE_MATERIAL)
        return PM_OK;
    struct pm_compare_row *row = row_of(g, PM_LINE_MATERIAL, line->ref);
    if (row == NULL)
        return pm_fail_memory(g->err);
    row->there[trial] = true;
    row->resting[trial] = row->poured[trial] == 0;
    return PM_OK;
}

static enum pm_status gather_flat(struct gathering *g, size_t trial,
                                  const struct pm_trial_source *source)
{
    struct pm_flat flat;
    enum pm_status status = pm_flatten(g->trials[trial], source, &flat, g->err);
    for (size_t i = 0; i < flat.count && status == PM_OK; i++) {
        struct pm_compare_row *row = row_of(g, PM_LINE_MATERIAL, flat.rows[i].material);
        if (row == NULL) {
            status = pm_fail_memory(g->err);
            break;
        }
        row->there[trial] = true;
        row->poured[trial] = flat.rows[i].neat + flat.rows[i].as_solvent;
        row->neat[trial] = flat.rows[i].neat;
    }
    pm_flat_release(&flat);
    for (size_t i = 0; i < g->trials[trial]->count && status == PM_OK; i++)
        status = gather_rest(g, trial, &g->trials[trial]->lines[i]);
    return status;
}

static enum pm_status gather(struct gathering *g, size_t trial,
                             const struct pm_trial_source *source)
{
    if (g->by == PM_BY_FLAT)
        return gather_flat(g, trial, source);
    enum pm_status status = PM_OK;
    for (size_t i = 0; i < g->trials[trial]->count && status == PM_OK; i++)
        status = gather_line(g, trial, &g->trials[trial]->lines[i]);
    return status;
}

/* Brings a trial's column to the first trial's base. */
static enum pm_status rescale(struct gathering *g, size_t trial)
{
    pm_parts from = g->trials[trial]->base;
    pm_parts to = g->trials[0]->base;
    for (size_t i = 0; i < g->out.count && from != to; i++) {
        struct pm_compare_row *row = &g->out.rows[i];
        if (!pm_muldiv(row->poured[trial], to, from, &row->poured[trial]) ||
            !pm_muldiv(row->neat[trial], to, from, &row->neat[trial]))
            return too_large(g->err);
    }
    return PM_OK;
}

/* On different bases the same proportions are rounded to different micro-parts: one of them on
 * either side tells nothing apart. */
static pm_fine tolerance(const struct gathering *g, size_t trial)
{
    pm_parts first = g->trials[0]->base;
    pm_parts other = g->trials[trial]->base;
    pm_fine unit = 0;
    if (first == other || !pm_muldiv(PM_FINE_PER_MICRO, first, other, &unit))
        return 0;
    return PM_FINE_PER_MICRO + unit;
}

static enum pm_change_word change_of(const pm_fine *amounts, size_t trial, pm_fine slack)
{
    if (amounts[trial] - amounts[0] > slack)
        return PM_MORE;
    return amounts[0] - amounts[trial] > slack ? PM_LESS : PM_SAME;
}

static const pm_fine *measure(const struct gathering *g, const struct pm_compare_row *row)
{
    return g->by == PM_BY_NEAT ? row->neat : row->poured;
}

static void judge(const struct gathering *g, struct pm_compare_row *row, size_t trial)
{
    const pm_fine *amounts = measure(g, row);
    pm_fine slack = tolerance(g, trial);
    if (row->there[0] != row->there[trial]) {
        row->change[trial] = row->there[trial] ? PM_ADDED : PM_GONE;
    } else {
        row->change[trial] = change_of(amounts, trial, slack);
        row->other[trial] =
            row->change[trial] == PM_SAME && g->by != PM_BY_FLAT &&
            (row->strength[trial] != row->strength[0] || row->solvent[trial] != row->solvent[0] ||
             row->version[trial] != row->version[0] ||
             change_of(row->neat, trial, slack) != PM_SAME ||
             change_of(row->poured, trial, slack) != PM_SAME);
    }
    if (amounts[0] > 0 && amounts[trial] > 0 &&
        !pm_muldiv(amounts[trial], 1000000, amounts[0], &row->factor_ppm[trial]))
        row->factor_ppm[trial] = INT64_MAX;
    row->differs = row->differs || row->change[trial] != PM_SAME || row->other[trial];
}

/* ---- giving way ---- */

static int by_size(const void *a, const void *b)
{
    const int64_t *x = a;
    const int64_t *y = b;
    return (*x > *y) - (*x < *y);
}

static bool moved(const struct pm_compare_row *row, size_t trial)
{
    return row->change[trial] == PM_MORE || row->change[trial] == PM_LESS;
}

/* Whether a row moved by `factor`, within the rounding of micro-parts and of the factor. */
static bool moved_by(const pm_fine *amounts, size_t trial, int64_t factor)
{
    pm_fine expected;
    if (!pm_muldiv(amounts[0], factor, 1000000, &expected))
        return false;
    pm_fine off = amounts[trial] > expected ? amounts[trial] - expected : expected - amounts[trial];
    return off <= 2 * PM_FINE_PER_MICRO + amounts[0] / 10000;
}

/* The middle of the largest group of factors that are one within rounding; *most is its size. */
static int64_t commonest(const int64_t *factors, size_t count, size_t *most)
{
    int64_t found = 0;
    size_t end = 0;
    *most = 0;
    for (size_t i = 0; i < count; i++) {
        while (end < count && factors[end] - factors[i] <= factors[i] / 5000)
            end++;
        if (end - i > *most) {
            *most = end - i;
            found = factors[i + *most / 2];
        }
    }
    return found;
}

/* What became of the rows in one trial. */
struct tally {
    size_t moved, same, came_or_went;
};

/* Whether so many rows moving alike is giving way. Everything that moved doing so is, only when
 * something came or went and little stayed; else it is what was done. */
static bool gave_way(const struct tally *tally, size_t alike)
{
    if (alike < 2 || (alike == tally->moved && (tally->came_or_went == 0 || tally->same > alike)))
        return false;
    return alike * 2 >= tally->moved || (alike >= 4 && alike * 4 >= tally->moved);
}

static void find_step(struct gathering *g, size_t trial, int64_t *factors)
{
    struct tally tally = {0, 0, 0};
    size_t alike;
    for (size_t i = 0; i < g->out.count; i++) {
        const struct pm_compare_row *row = &g->out.rows[i];
        if (moved(row, trial))
            factors[tally.moved++] = row->factor_ppm[trial];
        else if (row->change[trial] != PM_SAME)
            tally.came_or_went++;
        else
            tally.same += row->there[trial];
    }
    qsort(factors, tally.moved, sizeof *factors, by_size);
    int64_t factor = commonest(factors, tally.moved, &alike);
    if (!gave_way(&tally, alike))
        return;
    g->out.step_ppm[trial] = factor;
    for (size_t i = 0; i < g->out.count; i++) {
        struct pm_compare_row *row = &g->out.rows[i];
        row->in_step[trial] = moved(row, trial) && moved_by(measure(g, row), trial, factor);
    }
}

static enum pm_status judge_all(struct gathering *g)
{
    int64_t *factors = pm_alloc_array(g->out.count, sizeof *factors);
    if (factors == NULL)
        return pm_fail_memory(g->err);
    for (size_t trial = 0; trial < g->out.trials; trial++) {
        for (size_t i = 0; i < g->out.count; i++)
            judge(g, &g->out.rows[i], trial);
        find_step(g, trial, factors);
    }
    pm_free(factors);
    return PM_OK;
}

enum pm_status pm_compare_trials(const struct pm_trial *const *trials, size_t count,
                                 enum pm_compare_by by, const struct pm_trial_source *source,
                                 const struct pm_compare_names *names, struct pm_compare *out,
                                 struct pm_error *err)
{
    *out = (struct pm_compare){0};
    if (count < 2 || count > PM_COMPARE_MAX) {
        return pm_fail(err, PM_INVALID, "From two to %d trials can stand side by side.",
                       PM_COMPARE_MAX);
    }
    struct gathering g = {.trials = trials, .by = by, .names = names, .err = err};
    g.materials = (struct pm_map){0};
    g.accords = (struct pm_map){0};
    g.out.trials = count;
    enum pm_status status = PM_OK;
    for (size_t i = 0; i < count && status == PM_OK; i++) {
        status = gather(&g, i, source);
        if (status == PM_OK)
            status = rescale(&g, i);
    }
    if (status == PM_OK)
        status = judge_all(&g);
    pm_map_release(&g.materials);
    pm_map_release(&g.accords);
    if (status == PM_OK)
        *out = g.out;
    else
        pm_compare_release(&g.out);
    return status;
}

void pm_compare_release(struct pm_compare *compare)
{
    pm_free(compare->rows);
    *compare = (struct pm_compare){0};
}

const char *pm_change_word_text(enum pm_change_word change)
{
    static const char *const words[] = {
        [PM_SAME] = "same",   [PM_MORE] = "more", [PM_LESS] = "less",
        [PM_ADDED] = "added", [PM_GONE] = "gone",
    };
    return words[change];
}
