/* SPDX-License-Identifier: MIT */
/*
 * The nearest formula within every known limit. The linear program (core/within.h) proposes; what
 * it proposes becomes whole micro-parts, and the rules judge that exactly, as they would a formula
 * that was typed. Where rounding went over, the limits are drawn in a little and it is asked again.
 */
#include "limits.h"
#include "linear.h"

#include "permille/base/mem.h"
#include "permille/core/apportion.h"
#include "permille/core/within.h"
#include "permille/studio/stock.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define TRIES 4

struct unit {
    int core;     /* all lines of it; 0: one line */
    size_t place; /* of the first line */
    pm_parts parts;
};

struct fitting {
    struct pm_studio *studio;
    const struct pm_sheet *sheet;
    const struct pm_fit_wish *wish;
    struct pm_limits limits; /* of the formula as it is */
    struct pm_product product;
    struct pm_within within;
    struct unit *units;
    size_t *unit_of;     /* by line; SIZE_MAX: does not give way */
    const char **titles; /* by bound */
    double *solution, *parts;
    struct pm_arena arena;
};

static void fitting_release(struct fitting *fitting)
{
    pm_limits_release(&fitting->limits);
    pm_arena_release(&fitting->arena);
}

/* ---- what moves ---- */

static bool gives_way(const struct pm_line *line)
{
    return (line->stance == PM_FREE || line->stance == PM_CARRIER) && line->parts > 0;
}

static size_t unit_for(struct fitting *fitting, size_t place)
{
    const struct pm_line *line = &fitting->sheet->trial.lines[place];
    struct pm_within *within = &fitting->within;
    for (size_t i = 0; i < within->count && line->core != 0; i++)
        if (fitting->units[i].core == line->core)
            return i;
    fitting->units[within->count] = (struct unit){line->core, place, 0};
    within->units[within->count] = (struct pm_unit){0, 0, INFINITY};
    return within->count++;
}

/* What a bound on one line is for the unit it stands in. */
static void bound_unit(struct fitting *fitting, size_t place)
{
    const struct pm_line *line = &fitting->sheet->trial.lines[place];
    struct pm_unit *unit = &fitting->within.units[fitting->unit_of[place]];
    double share = (double)line->parts / unit->parts;
    const pm_parts *least = fitting->wish->least, *most = fitting->wish->most;
    /* What is something stays something. */
    unit->least = fmax(unit->least, 1 / share);
    if (least != NULL && least[place] >= 0)
        unit->least = fmax(unit->least, (double)least[place] / share);
    if (most != NULL && most[place] >= 0)
        unit->most = fmin(unit->most, (double)most[place] / share);
}

static enum pm_status gather_units(struct fitting *fitting, struct pm_error *err)
{
    const struct pm_trial *trial = &fitting->sheet->trial;
    struct pm_arena *arena = &fitting->arena;
    fitting->units = pm_arena_array(arena, trial->count + 1, sizeof *fitting->units);
    fitting->unit_of = pm_arena_array(arena, trial->count + 1, sizeof *fitting->unit_of);
    fitting->within.units = pm_arena_array(arena, trial->count + 1, sizeof(struct pm_unit));
    if (arena->failed)
        return pm_fail_memory(err);
    for (size_t i = 0; i < trial->count; i++) {
        fitting->unit_of[i] = gives_way(&trial->lines[i]) ? unit_for(fitting, i) : SIZE_MAX;
        if (fitting->unit_of[i] == SIZE_MAX)
            continue;
        fitting->units[fitting->unit_of[i]].parts += trial->lines[i].parts;
        fitting->within.units[fitting->unit_of[i]].parts += (double)trial->lines[i].parts;
    }
    for (size_t i = 0; i < trial->count; i++)
        if (fitting->unit_of[i] != SIZE_MAX)
            bound_unit(fitting, i);
    return PM_OK;
}

/* ---- limits ---- */

static bool is_bound(const struct pm_finding_rule *finding)
{
    if (finding->replaced || finding->rule->kind == PM_RULE_CHECK)
        return false;
    return finding->rule->kind == PM_RULE_SHARES || finding->limit >= 0;
}

static enum pm_status add_bound(struct fitting *fitting, const struct pm_finding_rule *finding,
                                struct pm_error *err)
{
    const struct pm_trial *trial = &fitting->sheet->trial;
    struct pm_within *within = &fitting->within;
    struct pm_within_bound *bound = &within->bounds[within->bound_count];
    double limit = finding->rule->kind == PM_RULE_SHARES ? 1 : (double)finding->limit / PM_NEAT;
    *bound = (struct pm_within_bound){
        .per_part = pm_arena_array(&fitting->arena, within->count + 1, sizeof(double)),
        .most =
            limit * (double)pm_trial_total(trial) / ((double)fitting->limits.wish.dosage / PM_NEAT),
        .dosed = true,
    };
    if (bound->per_part == NULL)
        return pm_fail_memory(err);
    for (size_t i = 0; i < trial->count; i++) {
        struct pm_line_bring bring;
        enum pm_status status =
            pm_limits_line(fitting->studio, fitting->limits.world, &trial->lines[i], finding->rule,
                           &fitting->product, 0, fitting->limits.wish.basis, &bring, err);
        if (status != PM_OK)
            return status;
        double amount = bring.amount * (double)trial->lines[i].parts;
        size_t unit = fitting->unit_of[i];
        if (unit == SIZE_MAX)
            bound->rest += amount;
        else
            bound->per_part[unit] += amount / within->units[unit].parts;
    }
    fitting->titles[within->bound_count++] = finding->rule->title;
    return PM_OK;
}

/* What a kilogram may cost, where every line has a price in one currency. */
static enum pm_status add_cost(struct fitting *fitting, struct pm_error *err)
{
    const struct pm_trial *trial = &fitting->sheet->trial;
    const struct pm_cost_wish wish = {.batch = 1000 * PM_GRAM};
    struct pm_within *within = &fitting->within;
    struct pm_cost cost;
    if (fitting->wish->cost_most <= 0)
        return PM_OK;
    enum pm_status status = pm_stock_cost(fitting->studio, fitting->sheet, &wish, &cost, err);
    if (status != PM_OK)
        return status;
    struct pm_within_bound *bound = &within->bounds[within->bound_count];
    *bound = (struct pm_within_bound){
        .per_part = pm_arena_array(&fitting->arena, within->count + 1, sizeof(double)),
        .most = (double)fitting->wish->cost_most};
    if (cost.unknown > 0 || cost.sum.count > 1)
        status = pm_fail(err, PM_REFUSED,
                         "What it costs is not known for every line in one currency, so the cost "
                         "cannot be a bound.");
    else if (bound->per_part == NULL)
        status = pm_fail_memory(err);
    for (size_t i = 0; status == PM_OK && i < cost.count && i < trial->count; i++) {
        double amount = cost.lines[i].sum.count > 0 ? (double)cost.lines[i].sum.in[0].money : 0;
        size_t unit = fitting->unit_of[i];
        if (unit == SIZE_MAX)
            bound->rest += amount;
        else
            bound->per_part[unit] += amount / within->units[unit].parts;
    }
    if (status == PM_OK)
        fitting->titles[within->bound_count++] = "the cost of a kilogram";
    pm_cost_release(&cost);
    return status;
}

/* ---- stock ---- */

static bool is_first_of(const struct pm_needs *needs, size_t place)
{
    for (size_t i = 0; i < place; i++)
        if (needs->items[i].material == needs->items[place].material)
            return false;
    return true;
}

/* All that is poured of one material, neat, against all that is there, neat. */
static enum pm_status add_stock_of(struct fitting *fitting, const struct pm_needs *needs,
                                   const struct pm_need *first, struct pm_error *err)
{
    struct pm_within *within = &fitting->within;
    struct pm_within_bound *bound = &within->bounds[within->bound_count];
    struct pm_text title = PM_TEXT_EMPTY;
    double strength = (double)first->strength / PM_NEAT;
    *bound = (struct pm_within_bound){
        .per_part = pm_arena_array(&fitting->arena, within->count + 1, sizeof(double)),
        .most = (double)first->left * strength + (double)first->neat_elsewhere};
    pm_text_addf(&title, "the stock of %s", first->name);
    fitting->titles[within->bound_count++] = pm_arena_text(&fitting->arena, pm_text_get(&title));
    pm_text_release(&title);
    if (fitting->arena.failed)
        return pm_fail_memory(err);
    for (size_t i = 0; i < needs->count; i++) {
        const struct pm_need *need = &needs->items[i];
        long place = pm_trial_find(&fitting->sheet->trial, need->line);
        double neat = (double)need->mass * (double)need->strength / PM_NEAT;
        if (need->material != first->material || place < 0)
            continue;
        size_t unit = fitting->unit_of[place];
        if (unit == SIZE_MAX)
            bound->rest += neat;
        else
            bound->per_part[unit] += neat / within->units[unit].parts;
    }
    return PM_OK;
}

static enum pm_status add_stock(struct fitting *fitting, const struct pm_needs *needs,
                                struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t i = 0; i < needs->count && status == PM_OK; i++)
        if (needs->items[i].mass > 0 && is_first_of(needs, i))
            status = add_stock_of(fitting, needs, &needs->items[i], err);
    return status;
}

static enum pm_status gather_bounds(struct fitting *fitting, struct pm_error *err)
{
    const struct pm_limits_found *found = &fitting->limits.found;
    struct pm_within *within = &fitting->within;
    struct pm_needs needs = {0};
    enum pm_status status = PM_OK;
    if (fitting->wish->batch > 0)
        status = pm_stock_needs(fitting->studio, fitting->sheet, fitting->wish->batch, &needs, err);
    if (status != PM_OK)
        return status;
    size_t room = found->count + needs.count + 1;
    within->bounds = pm_arena_array(&fitting->arena, room, sizeof(struct pm_within_bound));
    fitting->titles = pm_arena_array(&fitting->arena, room, sizeof(char *));
    fitting->solution = pm_arena_array(&fitting->arena, 2 * within->count + 3, sizeof(double));
    fitting->parts = pm_arena_array(&fitting->arena, within->count + 1, sizeof(double));
    if (fitting->arena.failed)
        status = pm_fail_memory(err);
    for (size_t i = 0; i < found->count && status == PM_OK; i++)
        if (is_bound(&found->items[i]))
            status = add_bound(fitting, &found->items[i], err);
    if (status == PM_OK)
        status = add_stock(fitting, &needs, err);
    if (fitting->wish->batch > 0)
        pm_needs_release(&needs);
    return status == PM_OK ? add_cost(fitting, err) : status;
}

/* ---- solving ---- */

static enum pm_status nearest(struct fitting *fitting, bool *feasible, struct pm_error *err)
{
    struct pm_program program;
    double moved = 0, ignored = 0;
    bool even = false;
    enum pm_status status = pm_within_nearest(&fitting->within, &program, err);
    if (status != PM_OK)
        return status;
    status = pm_linear_solve(fitting->studio, &program, fitting->solution, &moved, feasible, err);
    pm_program_release(&program);
    if (status != PM_OK || !*feasible)
        return status;
    pm_within_parts(&fitting->within, fitting->solution, fitting->parts);
    status = pm_within_even(&fitting->within, moved, &program, err);
    if (status == PM_OK) {
        status =
            pm_linear_solve(fitting->studio, &program, fitting->solution, &ignored, &even, err);
        pm_program_release(&program);
    }
    /* As near without being as even is an answer, too. */
    if (status == PM_REFUSED)
        status = PM_OK;
    else if (status == PM_OK && even)
        pm_within_parts(&fitting->within, fitting->solution, fitting->parts);
    return status;
}

static enum pm_status highest(struct fitting *fitting, struct pm_limits_fit *out,
                              struct pm_error *err)
{
    struct pm_program program;
    double ease = 1;
    bool feasible;
    enum pm_status status = pm_within_highest(&fitting->within, &program, err);
    if (status != PM_OK)
        return status;
    status = pm_linear_solve(fitting->studio, &program, fitting->solution, &ease, &feasible, err);
    pm_program_release(&program);
    if (status != PM_OK)
        return status;
    out->highest = 0;
    if (!feasible)
        return PM_OK;
    pm_within_parts(&fitting->within, fitting->solution, fitting->parts);
    /* Rounded down by a thousandth of a thousandth: the solver's last digits are not sure. */
    out->highest = (pm_strength)floor((double)fitting->limits.wish.dosage / ease * (1 - 1e-6));
    for (size_t b = 0; b < fitting->within.bound_count; b++)
        if (pm_within_binds(&fitting->within, &fitting->within.bounds[b], fitting->parts, ease)) {
            const char **name = pm_list_add(&out->binding);
            if (name != NULL)
                *name = pm_arena_text(&out->binding.arena, fitting->titles[b]);
        }
    return pm_arena_status(&out->binding.arena, err);
}

/* ---- whole micro-parts ---- */

/* Whether a unit may take what rounding left over, in the order of who takes it first: one that
 * gained and that no limit speaks of, one that moved, any. */
static bool takes_rest(const struct fitting *fitting, size_t unit, int pass)
{
    const struct pm_within *within = &fitting->within;
    double change = fitting->parts[unit] - within->units[unit].parts;
    bool limited = false;
    for (size_t b = 0; b < within->bound_count; b++)
        limited = limited || within->bounds[b].per_part[unit] > 0;
    return pass == 0 ? change > 1 && !limited : pass == 1 ? fabs(change) > 1 : true;
}

static enum pm_status round_units(struct fitting *fitting, pm_parts *units, struct pm_error *err)
{
    const struct pm_within *within = &fitting->within;
    pm_parts left = 0;
    for (size_t i = 0; i < within->count; i++) {
        left += fitting->units[i].parts;
        units[i] = (pm_parts)floor(fitting->parts[i] + 1e-3);
        if (units[i] < 1)
            units[i] = 1;
        left -= units[i];
    }
    for (int pass = 0; pass < 3; pass++)
        for (size_t i = 0; i < within->count && left != 0; i++) {
            bool room =
                left < 0 ? units[i] > -left : (double)(units[i] + left) <= within->units[i].most;
            if (!room || !takes_rest(fitting, i, pass))
                continue;
            units[i] += left;
            left = 0;
        }
    return left == 0 ? PM_OK
                     : pm_fail(err, PM_REFUSED, "The nearest formula could not be rounded.");
}

/* Weights as whole numbers of up to 50 bits and more, which is finer than any micro-part. */
static int shift_for(const struct pm_trial *trial, const size_t *unit_of, size_t unit)
{
    struct pm_weight most = {0};
    int shift = 0;
    for (size_t i = 0; i < trial->count; i++)
        if (unit_of[i] == unit && pm_weight_compare(pm_line_poured(&trial->lines[i]), most) > 0)
            most = pm_line_poured(&trial->lines[i]);
    while (shift < 1000 && pm_weight_round(most, shift) < INT64_C(1) << 50)
        shift += 4;
    while (shift > -1000 && pm_weight_round(most, shift) > INT64_C(1) << 55)
        shift -= 4;
    return shift;
}

static enum pm_status spread_core(struct fitting *fitting, struct pm_trial *trial, size_t unit,
                                  pm_parts parts, struct pm_error *err)
{
    size_t count = 0;
    int shift = shift_for(trial, fitting->unit_of, unit);
    int64_t *shares = pm_alloc_array(trial->count, sizeof *shares);
    if (shares == NULL)
        return pm_fail_memory(err);
    for (size_t i = 0; i < trial->count; i++)
        if (fitting->unit_of[i] == unit)
            shares[count++] = pm_weight_round(pm_line_poured(&trial->lines[i]), shift);
    enum pm_status status = pm_apportion(shares, count, parts, shares, err);
    for (size_t i = 0, k = 0; i < trial->count && status == PM_OK; i++)
        if (fitting->unit_of[i] == unit)
            trial->lines[i].parts = shares[k++];
    pm_free(shares);
    return status;
}

static enum pm_status fill_trial(struct fitting *fitting, const pm_parts *units,
                                 struct pm_trial *trial, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t u = 0; u < fitting->within.count && status == PM_OK; u++)
        if (fitting->units[u].core != 0)
            status = spread_core(fitting, trial, u, units[u], err);
        else
            trial->lines[fitting->units[u].place].parts = units[u];
    pm_trial_weigh(trial);
    return status;
}

/* Whether every known limit is kept, exactly. */
static enum pm_status is_within(struct fitting *fitting, const struct pm_trial *trial, bool *out,
                                struct pm_error *err)
{
    struct pm_sheet sheet = *fitting->sheet;
    struct pm_limits limits;
    sheet.trial = *trial;
    enum pm_status status =
        pm_limits_of(fitting->studio, &sheet, &fitting->limits.wish, &limits, err);
    if (status != PM_OK)
        return status;
    *out = limits.over == 0 && limits.prohibited == 0 &&
           (limits.highest == PM_UNKNOWN || limits.highest >= limits.wish.dosage);
    pm_limits_release(&limits);
    return PM_OK;
}

/* ---- the answer ---- */

static enum pm_status add_lines(struct fitting *fitting, const struct pm_trial *trial,
                                struct pm_limits_fit *out, struct pm_error *err)
{
    const struct pm_trial *before = &fitting->sheet->trial;
    for (size_t i = 0; i < before->count; i++) {
        struct pm_fit_line *line =
            pm_arena_push(&out->arena, &out->items, &out->count, sizeof *line);
        if (line == NULL)
            return pm_fail_memory(err);
        *line = (struct pm_fit_line){before->lines[i].id, i,
                                     pm_arena_text(&out->arena, fitting->sheet->lines[i].title),
                                     before->lines[i].parts, trial->lines[i].parts};
        pm_parts moved = line->parts - line->was;
        out->moved += moved < 0 ? -moved : moved;
    }
    return pm_arena_status(&out->arena, err);
}

static enum pm_status add_binding(struct fitting *fitting, struct pm_limits_fit *out,
                                  struct pm_error *err)
{
    for (size_t b = 0; b < fitting->within.bound_count; b++) {
        if (!pm_within_binds(&fitting->within, &fitting->within.bounds[b], fitting->parts, 1))
            continue;
        const char **name = pm_list_add(&out->binding);
        if (name != NULL)
            *name = pm_arena_text(&out->binding.arena, fitting->titles[b]);
    }
    return pm_arena_status(&out->binding.arena, err);
}

static enum pm_status make_plan(struct fitting *fitting, const struct pm_trial *trial,
                                struct pm_limits_fit *out, struct pm_error *err)
{
    char dosage[PM_AMOUNT_TEXT], sentence[160];
    if (out->moved == 0 || fitting->sheet->read_only)
        return PM_OK;
    snprintf(sentence, sizeof sentence, "Fitted to the known limits at %s, category %s",
             pm_strength_format(fitting->limits.wish.dosage, '.', dosage),
             fitting->limits.wish.category);
    return pm_plan_content(fitting->studio, fitting->sheet, trial, 0, "fit", sentence, &out->plan,
                           err);
}

static void draw_in(struct fitting *fitting, int attempt)
{
    static const double by[TRIES] = {0, 1e-9, 1e-7, 1e-5};
    for (size_t b = 0; b < fitting->within.bound_count; b++)
        fitting->within.bounds[b].most *= 1 - by[attempt];
}

static enum pm_status solve_exactly(struct fitting *fitting, struct pm_trial *trial, bool *fits,
                                    struct pm_error *err)
{
    pm_parts *units = pm_arena_array(&fitting->arena, fitting->within.count + 1, sizeof *units);
    enum pm_status status = units != NULL ? PM_OK : pm_fail_memory(err);
    *fits = false;
    for (int attempt = 0; attempt < TRIES && status == PM_OK && !*fits; attempt++) {
        bool feasible = false;
        draw_in(fitting, attempt);
        status = nearest(fitting, &feasible, err);
        if (status != PM_OK || !feasible)
            return status;
        status = round_units(fitting, units, err);
        if (status == PM_OK)
            status = fill_trial(fitting, units, trial, err);
        if (status == PM_OK)
            status = is_within(fitting, trial, fits, err);
    }
    return status;
}

/* What cannot be fitted is named: prohibited substances, or limits with the lines that are held. */
static enum pm_status say_held(struct fitting *fitting, struct pm_limits_fit *out,
                               struct pm_error *err)
{
    const struct pm_trial *trial = &fitting->sheet->trial;
    for (size_t i = 0; i < trial->count; i++) {
        if (trial->lines[i].stance != PM_HELD || trial->lines[i].parts == 0)
            continue;
        bool brings = false;
        for (size_t r = 0; r < fitting->limits.count && !brings; r++) {
            const struct pm_limits_row *row = &fitting->limits.items[r];
            struct pm_line_bring bring;
            if (row->finding == NULL || row->verdict != PM_OVER)
                continue;
            enum pm_status status = pm_limits_line(
                fitting->studio, fitting->limits.world, &trial->lines[i], row->finding->rule,
                &fitting->product, 0, fitting->limits.wish.basis, &bring, err);
            if (status != PM_OK)
                return status;
            brings = bring.there;
        }
        const char **name = brings ? pm_list_add(&out->binding) : NULL;
        if (name != NULL) {
            char text[200];
            snprintf(text, sizeof text, "%s, which is held", fitting->sheet->lines[i].title);
            *name = pm_arena_text(&out->binding.arena, text);
        }
    }
    return pm_arena_status(&out->binding.arena, err);
}

static enum pm_status answer(struct fitting *fitting, struct pm_limits_fit *out,
                             struct pm_error *err)
{
    struct pm_trial trial;
    enum pm_status status = pm_trial_copy(&fitting->sheet->trial, &trial, err);
    if (status != PM_OK)
        return status;
    out->highest = fitting->limits.wish.dosage;
    bool asked = fitting->wish->least != NULL || fitting->wish->most != NULL ||
                 fitting->wish->cost_most > 0 || fitting->wish->batch > 0;
    if (fitting->limits.prohibited > 0) {
        out->highest = 0;
        for (size_t i = 0; i < fitting->limits.prohibited; i++) {
            const char **name = pm_list_add(&out->binding);
            if (name != NULL)
                *name = pm_arena_text(&out->binding.arena, fitting->limits.items[i].title);
        }
        status = pm_arena_status(&out->binding.arena, err);
    } else if (fitting->limits.over == 0 && !asked) {
        out->fits = true;
        out->highest = fitting->limits.highest;
    } else if (fitting->within.count == 0) {
        out->highest = fitting->limits.highest;
        status = say_held(fitting, out, err);
    } else {
        status = solve_exactly(fitting, &trial, &out->fits, err);
        if (status == PM_OK && out->fits)
            status = add_binding(fitting, out, err);
        else if (status == PM_OK) {
            status = highest(fitting, out, err);
            if (status == PM_OK)
                status = say_held(fitting, out, err);
        }
    }
    if (status == PM_OK)
        status = add_lines(fitting, out->fits ? &trial : &fitting->sheet->trial, out, err);
    if (status == PM_OK && out->fits)
        status = make_plan(fitting, &trial, out, err);
    pm_trial_release(&trial);
    return status;
}

static enum pm_status fit(struct pm_studio *studio, const struct pm_sheet *sheet,
                          const struct pm_fit_wish *wish, struct pm_limits_fit *out,
                          struct pm_error *err)
{
    struct fitting fitting = {.studio = studio, .sheet = sheet, .wish = wish};
    enum pm_status status = pm_limits_of(studio, sheet, &wish->limits, &fitting.limits, err);
    if (status == PM_OK)
        status = pm_limits_product(studio, &wish->limits, &fitting.product, err);
    if (status == PM_OK)
        status = gather_units(&fitting, err);
    if (status == PM_OK)
        status = gather_bounds(&fitting, err);
    if (status == PM_OK)
        status = answer(&fitting, out, err);
    fitting_release(&fitting);
    return status;
}

enum pm_status pm_limits_fit(struct pm_studio *studio, const struct pm_sheet *sheet,
                             const struct pm_fit_wish *wish, struct pm_limits_fit *out,
                             struct pm_error *err)
{
    struct pm_limits_fit made = {.highest = PM_UNKNOWN};
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_look_over(studio, fit(studio, sheet, wish, &made, err));
    if (status != PM_OK) {
        pm_limits_fit_release(&made);
        return status;
    }
    *out = made;
    return PM_OK;
}

void pm_limits_fit_release(struct pm_limits_fit *fit)
{
    pm_plan_free(fit->plan);
    pm_list_release(&fit->binding);
    pm_list_release(fit);
    *fit = (struct pm_limits_fit){0};
}
