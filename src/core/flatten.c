/* SPDX-License-Identifier: MIT */
/*
 * Accords resolved. Every distinct accord is worked out once into shares of one (in 1e-18), deepest
 * first, along a stack of our own; a trial's rows are then sums of parts x share, exact in wide
 * integers and rounded once per level by largest remainder. What is there at all keeps at least one
 * unit on every level, so that a trace of a trace never reads as nothing.
 */
#include "permille/core/flatten.h"
#include "permille/base/map.h"

#include "apportion_wide.h"
#include "permille/base/mem.h"
#include "permille/core/apportion.h"

#include <string.h>

#define WHOLE          INT64_C(1000000000000000000) /* the shares of an accord sum to this */
#define PER_STRENGTH   (WHOLE / PM_NEAT)
#define SHARE_TOTAL    INT64_C(1000000000000) /* pm_flat_row.share */
#define SHARE_PER_FINE (WHOLE / PM_FINE_PER_MICRO)

/* One material while it is being summed up: micro-parts x 1e-18. */
struct sum_row {
    int64_t material;
    pm_wide neat, as_solvent;
};

struct sum {
    struct sum_row *rows; /* owned */
    size_t count, capacity;
    struct pm_map places; /* material to row */
};

/* One accord, in progress (rows NULL) or worked out. */
struct accord {
    struct pm_flat_row *rows; /* owned; neat and as_solvent in shares of WHOLE */
    size_t count;
};

/* An accord whose lines are being looked through. */
struct frame {
    const struct pm_trial *trial; /* borrowed */
    size_t next;                  /* line to look at */
    size_t accord;                /* its place among the accords; PM_MAP_NONE for the top */
};

struct flattening {
    const struct pm_trial_source *source;
    struct accord *accords; /* owned */
    size_t accord_count, accord_capacity;
    struct pm_map known; /* trial id to accord */
    struct frame *stack; /* owned */
    size_t depth, stack_capacity;
    struct pm_error *err;
};

/* ---- sums ---- */

static void sum_release(struct sum *sum)
{
    pm_free(sum->rows);
    pm_map_release(&sum->places);
}

static bool sum_add(struct sum *sum, int64_t material, pm_wide neat, pm_wide as_solvent)
{
    size_t place = pm_map_place(&sum->places, material);
    if (place == PM_MAP_NONE) {
        if (!pm_grow(&sum->rows, &sum->capacity, sum->count + 1, sizeof *sum->rows))
            return false;
        place = sum->count;
        if (!pm_map_put_place(&sum->places, material, place))
            return false;
        sum->rows[sum->count++] = (struct sum_row){material, 0, 0};
    }
    sum->rows[place].neat += neat;
    sum->rows[place].as_solvent += as_solvent;
    return true;
}

static bool sum_line(const struct flattening *f, struct sum *sum, const struct pm_line *line)
{
    pm_wide parts = (pm_wide)(uint64_t)line->parts;
    if (line->kind == PM_LINE_MATERIAL) {
        pm_wide neat = parts * (pm_wide)(uint64_t)(line->strength * PER_STRENGTH);
        bool fits = sum_add(sum, line->ref, neat, 0);
        if (fits && line->solvent != 0)
            fits = sum_add(sum, line->solvent, 0, parts * (pm_wide)WHOLE - neat);
        return fits;
    }
    const struct accord *accord = &f->accords[pm_map_place(&f->known, line->ref)];
    for (size_t i = 0; i < accord->count; i++) {
        const struct pm_flat_row *row = &accord->rows[i];
        if (!sum_add(sum, row->material, parts * (pm_wide)(uint64_t)row->neat,
                     parts * (pm_wide)(uint64_t)row->as_solvent))
            return false;
    }
    return true;
}

/* ---- rounding ---- */

/* Gives one to what is there but was rounded to nothing, taking it from the largest. */
static void keep_traces(const pm_wide *exact, size_t count, int64_t *out)
{
    for (size_t i = 0; i < count; i++) {
        if (exact[i] == 0 || out[i] > 0)
            continue;
        size_t largest = 0;
        for (size_t j = 1; j < count; j++)
            largest = out[j] > out[largest] ? j : largest;
        if (out[largest] <= 1)
            return; /* more rows than units: some have to read as nothing */
        out[largest]--;
        out[i]++;
    }
}

/* The sums divided by `divisor`, so that neat and solvent of all rows make `total` exactly. */
static struct pm_flat_row *round_rows(const struct sum *sum, pm_wide divisor, int64_t total)
{
    size_t count = 2 * sum->count;
    pm_wide *exact = pm_alloc_array(count, 2 * sizeof *exact);
    int64_t *out = pm_alloc_array(count, sizeof *out);
    struct pm_flat_row *rows = pm_alloc_array(sum->count, sizeof *rows);
    if (exact == NULL || out == NULL || rows == NULL) {
        pm_free(exact);
        pm_free(out);
        pm_free(rows);
        return NULL;
    }
    pm_wide *rest = exact + count;
    int64_t given = 0;
    for (size_t i = 0; i < count; i++) {
        const struct sum_row *row = &sum->rows[i / 2];
        exact[i] = i % 2 == 0 ? row->neat : row->as_solvent;
        out[i] = (int64_t)(exact[i] / divisor);
        rest[i] = exact[i] % divisor;
        given += out[i];
    }
    pm_raise_largest(rest, count, divisor, (size_t)(total - given), out);
    keep_traces(exact, count, out);
    for (size_t i = 0; i < sum->count; i++)
        rows[i] = (struct pm_flat_row){sum->rows[i].material, out[2 * i], out[2 * i + 1], 0};
    pm_free(exact);
    pm_free(out);
    return rows;
}

static struct pm_flat_row *round_trial(const struct flattening *f, const struct pm_trial *trial,
                                       pm_wide divisor, int64_t total, size_t *count)
{
    struct sum sum = {.rows = NULL};
    sum.places = (struct pm_map){0};
    struct pm_flat_row *rows = NULL;
    bool fits = true;
    for (size_t i = 0; i < trial->count && fits; i++)
        fits = sum_line(f, &sum, &trial->lines[i]);
    if (fits) {
        rows = round_rows(&sum, divisor, total);
        *count = sum.count;
    }
    sum_release(&sum);
    return rows;
}

/* ---- walking through the accords ---- */

static enum pm_status push(struct flattening *f, const struct pm_trial *trial, size_t accord)
{
    void *stack = f->stack;
    if (!pm_grow(&stack, &f->stack_capacity, f->depth + 1, sizeof *f->stack))
        return pm_fail_memory(f->err);
    f->stack = stack;
    f->stack[f->depth++] = (struct frame){trial, 0, accord};
    return PM_OK;
}

static enum pm_status enter(struct flattening *f, int64_t id)
{
    if (id < 1)
        return pm_fail(f->err, PM_DAMAGED, "A line names an accord that cannot be.");
    struct pm_error why;
    pm_error_clear(&why);
    const struct pm_trial *trial = f->source->trial(f->source->context, id, &why);
    if (trial == NULL) {
        if (f->err != NULL && why.status != PM_OK)
            *f->err = why;
        return why.status != PM_OK ? why.status
                                   : pm_fail(f->err, PM_MISSING, "An accord used here is missing.");
    }
    if (pm_trial_total(trial) == 0)
        return pm_fail(f->err, PM_DAMAGED, "An accord used here is empty.");
    void *accords = f->accords;
    if (!pm_grow(&accords, &f->accord_capacity, f->accord_count + 1, sizeof *f->accords))
        return pm_fail_memory(f->err);
    f->accords = accords;
    if (!pm_map_put_place(&f->known, id, f->accord_count))
        return pm_fail_memory(f->err);
    f->accords[f->accord_count] = (struct accord){NULL, 0};
    return push(f, trial, f->accord_count++);
}

static enum pm_status leave(struct flattening *f)
{
    const struct frame *frame = &f->stack[--f->depth];
    if (frame->accord == PM_MAP_NONE)
        return PM_OK;
    struct accord *accord = &f->accords[frame->accord];
    pm_wide total = (pm_wide)(uint64_t)pm_trial_total(frame->trial);
    accord->rows = round_trial(f, frame->trial, total, WHOLE, &accord->count);
    return accord->rows != NULL ? PM_OK : pm_fail_memory(f->err);
}

/* Works out every accord below the trial. */
static enum pm_status resolve(struct flattening *f, const struct pm_trial *top)
{
    enum pm_status status = push(f, top, PM_MAP_NONE);
    while (status == PM_OK && f->depth > 0) {
        struct frame *frame = &f->stack[f->depth - 1];
        if (frame->next == frame->trial->count) {
            status = leave(f);
            continue;
        }
        const struct pm_line *line = &frame->trial->lines[frame->next++];
        if (line->kind != PM_LINE_ACCORD)
            continue;
        size_t known = pm_map_place(&f->known, line->ref);
        if (known == PM_MAP_NONE)
            status = enter(f, line->ref);
        else if (f->accords[known].rows == NULL)
            status = pm_fail(f->err, PM_DAMAGED, "An accord used here contains itself.");
    }
    return status;
}

static enum pm_status add_shares(struct pm_flat *flat, struct pm_error *err)
{
    int64_t *sums = pm_alloc_array(flat->count, 2 * sizeof *sums);
    pm_wide *exact = pm_alloc_array(flat->count, sizeof *exact);
    enum pm_status status = PM_OK;
    if (sums == NULL || exact == NULL) {
        status = pm_fail_memory(err);
    } else {
        int64_t *shares = sums + flat->count;
        for (size_t i = 0; i < flat->count; i++) {
            sums[i] = flat->rows[i].neat + flat->rows[i].as_solvent;
            exact[i] = (pm_wide)(uint64_t)sums[i];
        }
        status = pm_apportion(sums, flat->count, SHARE_TOTAL, shares, err);
        if (status == PM_OK) {
            keep_traces(exact, flat->count, shares);
            for (size_t i = 0; i < flat->count; i++)
                flat->rows[i].share = shares[i];
        }
    }
    pm_free(sums);
    pm_free(exact);
    return status;
}

static enum pm_status flatten_top(struct flattening *f, const struct pm_trial *trial,
                                  struct pm_flat *flat)
{
    if (!pm_muldiv(pm_trial_total(trial), PM_FINE_PER_MICRO, 1, &flat->total)) {
        return pm_fail(f->err, PM_INVALID,
                       "The total is too large to be resolved into pico-parts.");
    }
    enum pm_status status = resolve(f, trial);
    if (status != PM_OK)
        return status;
    flat->rows = round_trial(f, trial, SHARE_PER_FINE, flat->total, &flat->count);
    if (flat->rows == NULL)
        return pm_fail_memory(f->err);
    return flat->total > 0 ? add_shares(flat, f->err) : PM_OK;
}

enum pm_status pm_flatten(const struct pm_trial *trial, const struct pm_trial_source *source,
                          struct pm_flat *out, struct pm_error *err)
{
    struct flattening f;
    memset(&f, 0, sizeof f);
    f.source = source;
    f.err = err;
    f.known = (struct pm_map){0};
    *out = (struct pm_flat){NULL, 0, 0};
    struct pm_flat flat = {NULL, 0, 0};
    enum pm_status status = flatten_top(&f, trial, &flat);
    if (status == PM_OK)
        *out = flat;
    else
        pm_flat_release(&flat);
    for (size_t i = 0; i < f.accord_count; i++)
        pm_free(f.accords[i].rows);
    pm_free(f.accords);
    pm_free(f.stack);
    pm_map_release(&f.known);
    return status;
}

void pm_flat_release(struct pm_flat *flat)
{
    pm_free(flat->rows);
    *flat = (struct pm_flat){NULL, 0, 0};
}

pm_fine pm_flat_solvent(const struct pm_flat *flat,
                        bool (*is_solvent)(void *context, int64_t material), void *context)
{
    pm_fine solvent = 0;
    for (size_t i = 0; i < flat->count; i++) {
        solvent += flat->rows[i].as_solvent;
        if (is_solvent(context, flat->rows[i].material))
            solvent += flat->rows[i].neat;
    }
    return solvent;
}
