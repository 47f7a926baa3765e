/* SPDX-License-Identifier: MIT */
/* Trials side by side: rows are gathered trial by trial, matched by what they are. */
#include "permille/core/compare.h"

#include "idmap.h"
#include "permille/base/mem.h"

#include <string.h>

/* What a comparison is gathered in. */
struct gathering {
    const struct pm_trial *const *trials;
    enum pm_compare_by by;
    const struct pm_compare_names *names;
    struct pm_compare out;
    size_t capacity;
    struct pm_idmap materials, accords; /* ref to row */
    struct pm_error *err;
};

static struct pm_compare_row *row_of(struct gathering *g, enum pm_line_kind kind, int64_t ref)
{
    struct pm_idmap *places = kind == PM_LINE_ACCORD ? &g->accords : &g->materials;
    size_t place = pm_idmap_get(places, ref);
    if (place == PM_IDMAP_NONE) {
        void *rows = g->out.rows;
        if (!pm_grow(&rows, &g->capacity, g->out.count + 1, sizeof *g->out.rows)) {
            return NULL;
        }
        g->out.rows = rows;
        place = g->out.count;
        if (!pm_idmap_put(places, ref, place)) {
            return NULL;
        }
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

/* Adds up a line in pico-parts of its own base. Neat amounts are exact: strengths come in 1e-9 and
 * parts in 1e-6, which pico-parts hold but for three digits, rounded half up. */
static enum pm_status gather_line(struct gathering *g, size_t trial, const struct pm_line *line)
{
    int64_t ref = line->ref;
    if (line->kind == PM_LINE_ACCORD && g->names != NULL && g->names->accord_of != NULL) {
        ref = g->names->accord_of(g->names->context, ref);
    }
    struct pm_compare_row *row = row_of(g, line->kind, ref);
    if (row == NULL) {
        return pm_fail_memory(g->err);
    }
    pm_fine poured = 0;
    pm_fine neat = 0;
    if (!pm_muldiv(line->parts, PM_FINE_PER_MICRO, 1, &poured) ||
        !pm_muldiv(poured, line->strength, PM_NEAT, &neat) ||
        row->poured[trial] > INT64_MAX - poured) {
        return too_large(g->err);
    }
    row->there[trial] = true;
    row->poured[trial] += poured;
    row->neat[trial] += neat;
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
    return status;
}

static enum pm_status gather(struct gathering *g, size_t trial,
                             const struct pm_trial_source *source)
{
    if (g->by == PM_BY_FLAT) {
        return gather_flat(g, trial, source);
    }
    enum pm_status status = PM_OK;
    for (size_t i = 0; i < g->trials[trial]->count && status == PM_OK; i++) {
        status = gather_line(g, trial, &g->trials[trial]->lines[i]);
    }
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
            !pm_muldiv(row->neat[trial], to, from, &row->neat[trial])) {
            return too_large(g->err);
        }
    }
    return PM_OK;
}

/* On different bases the same proportions are rounded to different micro-parts: one of them on
 * either side tells nothing apart. */
static pm_fine tolerance(const struct gathering *g)
{
    pm_parts first = g->trials[0]->base;
    pm_parts last = g->trials[g->out.trials - 1]->base;
    pm_fine unit = 0;
    if (first == last || !pm_muldiv(PM_FINE_PER_MICRO, first, last, &unit)) {
        return 0;
    }
    return PM_FINE_PER_MICRO + unit;
}

static void judge(const struct gathering *g, struct pm_compare_row *row)
{
    size_t last = g->out.trials - 1;
    const pm_fine *measure = g->by == PM_BY_NEAT ? row->neat : row->poured;
    pm_fine was = measure[0];
    pm_fine now = measure[last];
    if (row->there[0] != row->there[last]) {
        row->change = row->there[last] ? PM_ADDED : PM_GONE;
    } else if (now - was > tolerance(g)) {
        row->change = PM_MORE;
    } else if (was - now > tolerance(g)) {
        row->change = PM_LESS;
    } else {
        row->change = PM_SAME;
    }
    if (was > 0 && now > 0 && !pm_muldiv(now, 1000000, was, &row->factor_ppm)) {
        row->factor_ppm = INT64_MAX;
    }
}

enum pm_status pm_compare_trials(const struct pm_trial *const *trials, size_t count,
                                 enum pm_compare_by by, const struct pm_trial_source *source,
                                 const struct pm_compare_names *names, struct pm_compare *out,
                                 struct pm_error *err)
{
    *out = (struct pm_compare){NULL, 0, 0};
    if (count < 2 || count > PM_COMPARE_MAX) {
        return pm_fail(err, PM_INVALID, "From two to %d trials can stand side by side.",
                       PM_COMPARE_MAX);
    }
    struct gathering g = {.trials = trials, .by = by, .names = names, .err = err};
    pm_idmap_init(&g.materials);
    pm_idmap_init(&g.accords);
    g.out.trials = count;
    enum pm_status status = PM_OK;
    for (size_t i = 0; i < count && status == PM_OK; i++) {
        status = gather(&g, i, source);
        if (status == PM_OK) {
            status = rescale(&g, i);
        }
    }
    for (size_t i = 0; i < g.out.count; i++) {
        judge(&g, &g.out.rows[i]);
    }
    pm_idmap_release(&g.materials);
    pm_idmap_release(&g.accords);
    if (status == PM_OK) {
        *out = g.out;
    } else {
        pm_compare_release(&g.out);
    }
    return status;
}

void pm_compare_release(struct pm_compare *compare)
{
    pm_free(compare->rows);
    *compare = (struct pm_compare){NULL, 0, 0};
}

const char *pm_change_word_text(enum pm_change_word change)
{
    static const char *const words[] = {
        [PM_SAME] = "same",   [PM_MORE] = "more", [PM_LESS] = "less",
        [PM_ADDED] = "added", [PM_GONE] = "gone",
    };
    return words[change];
}
