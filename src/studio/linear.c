/* SPDX-License-Identifier: MIT */
/* lp_solve (LGPL). It would print what troubles it; it is told not to. */
#include "linear.h"

#include "inside.h"

#include "permille/base/mem.h"

#include <lpsolve/lp_lib.h>

#include <math.h>

#define SECONDS_MOST 20

static bool add_columns(lprec *model, const struct pm_program *program)
{
    bool done = true;
    for (size_t i = 0; i < program->columns && done; i++) {
        int column = (int)i + 1;
        double most = program->most[i];
        done =
            set_obj(model, column, program->cost[i]) &&
            set_bounds(model, column, program->least[i], isinf(most) ? get_infinite(model) : most);
    }
    return done;
}

static bool add_rows(lprec *model, const struct pm_program *program, double *values, int *places)
{
    bool done = set_add_rowmode(model, TRUE);
    for (size_t r = 0; r < program->rows && done; r++) {
        const double *row = &program->matrix[r * program->columns];
        int count = 0;
        for (size_t i = 0; i < program->columns; i++) {
            if (row[i] == 0)
                continue;
            values[count] = row[i];
            places[count++] = (int)i + 1;
        }
        done = add_constraintex(model, count, values, places, program->equal[r] ? EQ : LE,
                                program->right[r]);
    }
    return set_add_rowmode(model, FALSE) && done;
}

/* lp_solve asks this now and then; not zero: give up. */
static int __WINAPI ask(lprec *model, void *studio)
{
    (void)model;
    return pm_studio_go_on(studio, "working out the nearest formula", 0, 0, NULL) != PM_OK;
}

static enum pm_status solve_model(lprec *model, double *solution, double *cost, bool *feasible,
                                  struct pm_error *err)
{
    set_verbose(model, CRITICAL);
    set_minim(model);
    set_scaling(model, SCALE_GEOMETRIC + SCALE_EQUILIBRATE + SCALE_DYNUPDATE);
    set_timeout(model, SECONDS_MOST);
    switch (solve(model)) {
    case OPTIMAL:
    case PRESOLVED:
        *feasible = get_variables(model, solution);
        *cost = get_objective(model);
        return PM_OK;
    case INFEASIBLE:
        *feasible = false;
        return PM_OK;
    case USERABORT:
        return pm_fail_stopped(err);
    case NOMEMORY:
        return pm_fail_memory(err);
    default:
        return pm_fail(err, PM_REFUSED,
                       "The nearest formula could not be worked out: the solver gave up.");
    }
}

enum pm_status pm_linear_solve(struct pm_studio *studio, const struct pm_program *program,
                               double *solution, double *cost, bool *feasible, struct pm_error *err)
{
    double *values = pm_alloc_array(program->columns + 1, sizeof *values);
    int *places = pm_alloc_array(program->columns + 1, sizeof *places);
    lprec *model = make_lp(0, (int)program->columns);
    enum pm_status status;
    if (model != NULL && studio != NULL)
        put_abortfunc(model, ask, studio);
    if (values != NULL && places != NULL && model != NULL && add_columns(model, program) &&
        add_rows(model, program, values, places))
        status = solve_model(model, solution, cost, feasible, err);
    else
        status = pm_fail_memory(err);
    if (model != NULL)
        delete_lp(model);
    pm_free(values);
    pm_free(places);
    return status;
}
