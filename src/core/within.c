/* SPDX-License-Identifier: MIT */
/* The nearest formula within bounds as a linear program. */
#include "permille/core/within.h"

#include "permille/base/mem.h"

#include <math.h>
#include <string.h>

#define NEARLY 1e-6

void pm_program_release(struct pm_program *program)
{
    pm_free(program->cost);
    pm_free(program->least);
    pm_free(program->most);
    pm_free(program->matrix);
    pm_free(program->right);
    pm_free(program->equal);
    memset(program, 0, sizeof *program);
}

static enum pm_status program_new(struct pm_program *program, size_t columns, size_t rows,
                                  struct pm_error *err)
{
    *program = (struct pm_program){.columns = columns, .rows = rows};
    program->cost = pm_alloc_array(columns, sizeof *program->cost);
    program->least = pm_alloc_array(columns, sizeof *program->least);
    program->most = pm_alloc_array(columns, sizeof *program->most);
    program->matrix = pm_alloc_array(columns * rows, sizeof *program->matrix);
    program->right = pm_alloc_array(rows, sizeof *program->right);
    program->equal = pm_alloc_array(rows, sizeof *program->equal);
    if (program->cost != NULL && program->least != NULL && program->most != NULL &&
        program->matrix != NULL && program->right != NULL && program->equal != NULL)
        return PM_OK;
    pm_program_release(program);
    return pm_fail_memory(err);
}

static double *row_of(struct pm_program *program, size_t row)
{
    return &program->matrix[row * program->columns];
}

/* Solvers like numbers around one: changes are told as fractions of this. */
static double whole_of(const struct pm_within *within)
{
    double whole = 0;
    for (size_t i = 0; i < within->count; i++)
        whole += within->units[i].parts;
    return whole > 0 ? whole : 1;
}

/* What units gain and lose, and that the total stays. */
static void fill_changes(const struct pm_within *within, struct pm_program *program)
{
    size_t n = within->count;
    double whole = whole_of(within);
    double *balance = row_of(program, 0);
    for (size_t i = 0; i < n; i++) {
        const struct pm_unit *unit = &within->units[i];
        program->most[i] = fmax(unit->most - unit->parts, 0) / whole;
        program->least[i] = fmax(unit->least - unit->parts, 0) / whole;
        program->most[n + i] = fmax(unit->parts - unit->least, 0) / whole;
        program->least[n + i] = fmax(unit->parts - unit->most, 0) / whole;
        balance[i] = 1;
        balance[n + i] = -1;
    }
    program->equal[0] = true;
}

/* Rows from 1 on: the bounds, in what changes. Each is divided by its right side's size, so that
 * traces weigh as much as bulk. */
static void fill_bounds(const struct pm_within *within, struct pm_program *program, bool eased)
{
    size_t n = within->count;
    double whole = whole_of(within);
    for (size_t b = 0; b < within->bound_count; b++) {
        const struct pm_within_bound *bound = &within->bounds[b];
        double *row = row_of(program, 1 + b), now = bound->rest;
        double scale = bound->most > 0 ? 1 / bound->most : 1;
        for (size_t i = 0; i < n; i++) {
            row[i] = bound->per_part[i] * scale * whole;
            row[n + i] = -row[i];
            now += bound->per_part[i] * within->units[i].parts;
        }
        program->right[1 + b] = (bound->most - now) * scale;
        if (eased && bound->dosed) {
            row[2 * n] = -bound->most * scale;
            program->right[1 + b] = -now * scale;
        }
    }
}

enum pm_status pm_within_nearest(const struct pm_within *within, struct pm_program *out,
                                 struct pm_error *err)
{
    size_t n = within->count;
    enum pm_status status = program_new(out, 2 * n, 1 + within->bound_count, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < 2 * n; i++)
        out->cost[i] = 1;
    fill_changes(within, out);
    fill_bounds(within, out, false);
    return PM_OK;
}

enum pm_status pm_within_even(const struct pm_within *within, double moved, struct pm_program *out,
                              struct pm_error *err)
{
    size_t n = within->count, first = 1 + within->bound_count;
    double whole = whole_of(within);
    enum pm_status status = program_new(out, 2 * n + 2, first + 1 + 2 * n, err);
    if (status != PM_OK)
        return status;
    fill_changes(within, out);
    fill_bounds(within, out, false);
    out->cost[2 * n] = out->cost[2 * n + 1] = 1;
    out->most[2 * n] = out->most[2 * n + 1] = INFINITY;
    double *sum = row_of(out, first);
    for (size_t i = 0; i < 2 * n; i++)
        sum[i] = 1;
    out->right[first] = moved * (1 + 1e-9) + 1e-9;
    for (size_t i = 0; i < n; i++) {
        double *gain = row_of(out, first + 1 + i), *loss = row_of(out, first + 1 + n + i);
        gain[i] = loss[n + i] = whole / within->units[i].parts;
        gain[2 * n] = loss[2 * n + 1] = -1;
    }
    return PM_OK;
}

enum pm_status pm_within_highest(const struct pm_within *within, struct pm_program *out,
                                 struct pm_error *err)
{
    size_t n = within->count;
    enum pm_status status = program_new(out, 2 * n + 1, 1 + within->bound_count, err);
    if (status != PM_OK)
        return status;
    fill_changes(within, out);
    fill_bounds(within, out, true);
    out->cost[2 * n] = 1;
    out->least[2 * n] = 1;
    out->most[2 * n] = INFINITY;
    return PM_OK;
}

void pm_within_parts(const struct pm_within *within, const double *solution, double *parts)
{
    double whole = whole_of(within);
    for (size_t i = 0; i < within->count; i++)
        parts[i] = within->units[i].parts + (solution[i] - solution[within->count + i]) * whole;
}

bool pm_within_binds(const struct pm_within *within, const struct pm_within_bound *bound,
                     const double *parts, double ease)
{
    double sum = bound->rest, most = bound->dosed ? bound->most * ease : bound->most;
    for (size_t i = 0; i < within->count; i++)
        sum += bound->per_part[i] * parts[i];
    return sum >= most * (1 - NEARLY);
}
