/* SPDX-License-Identifier: MIT */
/*
 * A trial against the shelf and a balance: what to weigh from which bottle. The choice is the
 * core's (weigh_plan.h); here the trial is resolved, accords that stand made up on the shelf are
 * taken from their bottles, and everything gets its name.
 */
#include "scale.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/core/lookalike.h"
#include "permille/core/volume.h"
#include "permille/store/facts.h"
#include "permille/studio/volumes.h"

#include <math.h>
#include <string.h>

enum pm_status pm_scale_name(struct pm_studio *studio, struct pm_arena *arena, int64_t material,
                             const char **out, struct pm_error *err)
{
    struct pm_card *card;
    *out = NULL;
    if (material == 0)
        return PM_OK;
    enum pm_status status = pm_studio_material(studio, material, &card, err);
    if (status != PM_OK)
        return status;
    *out = pm_arena_text(arena, card->name);
    return pm_arena_status(arena, err);
}

/* The names that are easily taken for names[at], into others[]. */
static size_t look_alikes(const struct pm_look *looks, const char *const *names, size_t count,
                          size_t at, const char **others)
{
    size_t found = 0;
    for (size_t i = 0; i < count; i++)
        if (pm_look_alike(&looks[at], &looks[i]))
            others[found++] = names[i];
    return found;
}

enum pm_status pm_scale_tall(const char *const *names, size_t count, const char **tall,
                             struct pm_arena *arena, struct pm_error *err)
{
    struct pm_text text = PM_TEXT_EMPTY;
    struct pm_look *looks = pm_alloc_array(count + 1, sizeof *looks);
    const char **others = pm_alloc_array(count + 1, sizeof *others);
    enum pm_status status = looks != NULL && others != NULL ? PM_OK : pm_fail_memory(err);
    for (size_t i = 0; i < count && status == PM_OK; i++) {
        char *folded = pm_fold(names[i]);
        const char *kept = folded != NULL ? pm_arena_text(arena, folded) : NULL;
        pm_free(folded);
        if (kept != NULL)
            pm_look_read(kept, strlen(kept), &looks[i]);
        else
            status = pm_fail_memory(err);
    }
    for (size_t i = 0; i < count && status == PM_OK; i++) {
        const size_t found = look_alikes(looks, names, count, i, others);
        pm_text_clear(&text);
        if (found > 0)
            pm_tall_letters(names[i], others, found, &text);
        else
            pm_text_add(&text, names[i]);
        status = pm_text_ok(&text) ? PM_OK : pm_fail_memory(err);
        tall[i] = pm_arena_text(arena, pm_text_get(&text));
    }
    pm_text_release(&text);
    pm_free(looks);
    pm_free(others);
    return status == PM_OK ? pm_arena_status(arena, err) : status;
}

enum pm_status pm_scale_bottle(struct pm_studio *studio, struct pm_arena *arena, int64_t bottle,
                               const char **label, const char **lot, const char **store,
                               pm_mass *left, struct pm_error *err)
{
    struct pm_bottle row;
    *label = *lot = *store = NULL;
    *left = 0;
    if (bottle == 0)
        return PM_OK;
    enum pm_status status = pm_bottle_get(studio->library, bottle, arena, &row, err);
    if (status != PM_OK)
        return status;
    char text[PM_BOTTLE_LABEL];
    *label = pm_arena_text(arena, pm_bottle_label(bottle, text));
    *lot = row.lot;
    *store = row.place;
    *left = row.left;
    return pm_arena_status(arena, err);
}

/* ---- what the trial asks for ---- */

struct weighing {
    struct pm_studio *studio;
    struct pm_made_up *up;
    const struct pm_trial *trial; /* accords that stand made up are materials in it */
    struct pm_weigh_need *needs;
    size_t need_count;
    struct pm_weigh_bottle *bottles;
    size_t bottle_count, bottle_capacity;
};

/* The line of the trial that asks for a material first: its own, else one diluted with it, else the
 * accord that brings it. */
static const struct pm_line *line_of(const struct pm_trial *trial, int64_t material,
                                     const struct pm_pours *pours)
{
    for (size_t i = 0; i < trial->count; i++)
        if (trial->lines[i].kind == PM_LINE_MATERIAL && trial->lines[i].ref == material)
            return &trial->lines[i];
    for (size_t i = 0; i < pours->count; i++)
        if (pours->items[i].material == material || pours->items[i].solvent == material)
            return &trial->lines[pm_trial_find(trial, pours->items[i].line)];
    return &trial->lines[0];
}

static enum pm_status volatility_of(struct pm_studio *studio, int64_t material, double *out,
                                    struct pm_error *err)
{
    int64_t value = 0;
    bool found = false;
    *out = NAN;
    enum pm_status status =
        pm_fact_value(studio->library, material, "vapour_pressure", &value, &found, err);
    if (status == PM_OK && found)
        *out = (double)value;
    return status;
}

static enum pm_status add_bottles(struct weighing *weighing, int64_t material, struct pm_error *err)
{
    struct pm_bottles rows;
    enum pm_status status = pm_bottles_of(weighing->studio, material, false, &rows, err);
    if (status != PM_OK)
        return status;
    if (!pm_grow(&weighing->bottles, &weighing->bottle_capacity,
                 weighing->bottle_count + rows.count, sizeof *weighing->bottles))
        status = pm_fail_memory(err);
    for (size_t i = 0; status == PM_OK && i < rows.count; i++)
        weighing->bottles[weighing->bottle_count++] =
            (struct pm_weigh_bottle){.stock = pm_stock_bottle_of(&rows.items[i]),
                                     .material = material,
                                     .strength = rows.items[i].strength,
                                     .solvent = rows.items[i].solvent};
    pm_list_release(&rows);
    return status;
}

static enum pm_status add_need(struct weighing *weighing, const struct pm_flat_row *row,
                               const struct pm_pours *pours, bool by_volatility,
                               struct pm_error *err)
{
    struct pm_card *card;
    struct pm_weigh_need *need = &weighing->needs[weighing->need_count++];
    const struct pm_line *line = line_of(weighing->trial, row->material, pours);
    const bool own = line->kind == PM_LINE_MATERIAL && line->ref == row->material;
    *need = (struct pm_weigh_need){.line = line->id,
                                   .material = row->material,
                                   .neat = row->neat,
                                   .as_solvent = row->as_solvent,
                                   .written = own ? line->strength : PM_NEAT,
                                   .written_in = own ? line->solvent : 0,
                                   .volatility = NAN};
    enum pm_status status = pm_studio_material(weighing->studio, row->material, &card, err);
    if (status == PM_OK)
        need->is_solvent = card->is_solvent;
    if (status == PM_OK && by_volatility)
        status = volatility_of(weighing->studio, row->material, &need->volatility, err);
    return status == PM_OK ? add_bottles(weighing, row->material, err) : status;
}

static enum pm_status resolve(struct weighing *weighing, pm_mass mass, bool by_volatility,
                              struct pm_error *err)
{
    const struct pm_trial_source source = pm_made_up_source(weighing->up);
    struct pm_flat flat;
    struct pm_pours pours;
    enum pm_status status = pm_flatten(weighing->trial, &source, &flat, err);
    if (status != PM_OK)
        return status;
    status = pm_pours_of(weighing->trial, &source, mass, &pours, err);
    if (status != PM_OK) {
        pm_flat_release(&flat);
        return status;
    }
    weighing->needs = pm_alloc_array(flat.count + 1, sizeof *weighing->needs);
    if (weighing->needs == NULL)
        status = pm_fail_memory(err);
    for (size_t i = 0; i < flat.count && status == PM_OK; i++)
        if (flat.rows[i].neat > 0 || flat.rows[i].as_solvent > 0)
            status = add_need(weighing, &flat.rows[i], &pours, by_volatility, err);
    pm_flat_release(&flat);
    pm_pours_release(&pours);
    return status;
}

/* ---- names ---- */

/* What rounds to no microlitre is for no pipette. */
static int64_t pipetted(struct pm_studio *studio, int64_t material, pm_strength strength,
                        pm_mass mass)
{
    const int64_t volume = pm_volume_in(studio, material, strength, mass);
    return volume > 0 ? volume : -1;
}

static enum pm_status name_lines(struct weighing *weighing, const struct pm_weigh_plan *plan,
                                 struct pm_weighing *out, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    pm_mass *masses = pm_alloc_array(plan->count * 2 + 1, sizeof *masses);
    double *shares = pm_alloc_array(plan->count + 1, sizeof *shares);
    const char **names = pm_alloc_array(plan->count * 2 + 1, sizeof *names);
    out->items = pm_arena_array(&out->arena, plan->count + 1, sizeof *out->items);
    if (masses == NULL || shares == NULL || names == NULL || out->items == NULL)
        status = pm_fail_memory(err);
    for (size_t i = 0; i < plan->count && status == PM_OK; i++)
        masses[i] = plan->pours[i].target;
    if (status == PM_OK) {
        pm_balance_cumulative(&out->balance, masses, plan->count, masses + plan->count);
        pm_uncertainty_shares(&out->balance, masses, plan->count, shares);
    }
    for (size_t i = 0; i < plan->count && status == PM_OK; i++) {
        const struct pm_weigh_pour *pour = &plan->pours[i];
        const struct pm_weigh_need *need = &weighing->needs[pour->need];
        struct pm_weigh_line *line = &out->items[out->count++];
        pm_mass left;
        *line = (struct pm_weigh_line){
            .place = (int64_t)i + 1,
            .line = need->line,
            .number = pm_trial_find(weighing->trial, need->line) + 1,
            .material = need->material,
            .bottle = pour->bottle,
            .solvent = pour->solvent,
            .strength = pour->strength,
            .target = pour->target,
            .target_ul = pipetted(weighing->studio, need->material, pour->strength, pour->target),
            .reads = out->cumulative ? masses[plan->count + i]
                                     : pm_balance_reads(&out->balance, pour->target),
            .error = pour->error,
            .share = shares[i],
            .weighable = pour->weighable,
            .to_make = pour->making != PM_WEIGH_NONE};
        status = pm_scale_name(weighing->studio, &out->arena, need->material, &line->name, err);
        if (status == PM_OK)
            status = pm_scale_name(weighing->studio, &out->arena, pour->solvent,
                                   &line->solvent_name, err);
        if (status == PM_OK)
            status = pm_scale_bottle(weighing->studio, &out->arena, pour->bottle, &line->label,
                                     &line->lot, &line->store, &left, err);
        if (status == PM_OK)
            names[i] = line->name;
    }
    if (status == PM_OK)
        status = pm_scale_tall(names, plan->count, names + plan->count, &out->arena, err);
    for (size_t i = 0; i < plan->count && status == PM_OK; i++)
        out->items[i].tall = names[plan->count + i];
    pm_free(masses);
    pm_free(shares);
    pm_free(names);
    return status;
}

static enum pm_status name_accords(struct pm_studio *studio, const struct pm_trial *trial,
                                   struct pm_weighing *out, struct pm_error *err)
{
    struct pm_held_accords held;
    size_t count = 0;
    int64_t *poured = pm_alloc_array(out->count + 1, sizeof *poured);
    if (poured == NULL)
        return pm_fail_memory(err);
    for (size_t i = 0; i < out->count; i++)
        if (out->items[i].strength == PM_NEAT)
            poured[count++] = out->items[i].material;
    enum pm_status status = pm_held_read(studio, trial, poured, count, &held, err);
    pm_free(poured);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < out->count && status == PM_OK; i++) {
        struct pm_weigh_line *line = &out->items[i];
        status = pm_held_whence(studio, &held, line->material, line->strength, &out->arena,
                                &line->whence, err);
    }
    pm_held_release(&held);
    return status;
}

static enum pm_status name_makings(struct weighing *weighing, const struct pm_weigh_plan *plan,
                                   struct pm_weighing *out, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    out->makings = pm_arena_array(&out->arena, plan->making_count + 1, sizeof *out->makings);
    if (out->makings == NULL)
        return pm_fail_memory(err);
    for (size_t i = 0; i < plan->making_count && status == PM_OK; i++) {
        const struct pm_weigh_making *making = &plan->makings[i];
        struct pm_weigh_making_line *line = &out->makings[out->making_count++];
        char text[PM_AMOUNT_TEXT + 20], strength[PM_AMOUNT_TEXT];
        *line = (struct pm_weigh_making_line){.material = weighing->needs[making->need].material,
                                              .solvent = making->solvent,
                                              .from_bottle = making->from,
                                              .from_strength = making->from_strength,
                                              .strength = making->strength,
                                              .target = making->target,
                                              .of_stock = making->of_stock};
        const pm_mass stock = pm_balance_reads(&out->balance, making->of_stock);
        line->stock_ul = pipetted(weighing->studio, line->material, making->from_strength, stock);
        line->solvent_ul =
            pipetted(weighing->studio, making->solvent, PM_NEAT, making->target - stock);
        if (making->from != 0)
            pm_bottle_label(making->from, text);
        else
            pm_print(text, sizeof text, "the %s just made",
                     pm_strength_format(making->from_strength, '.', strength));
        line->from = pm_arena_text(&out->arena, text);
        status = pm_scale_name(weighing->studio, &out->arena, line->material, &line->name, err);
        if (status == PM_OK)
            status = pm_scale_name(weighing->studio, &out->arena, line->solvent,
                                   &line->solvent_name, err);
    }
    return status == PM_OK ? pm_arena_status(&out->arena, err) : status;
}

static enum pm_status work_out(struct weighing *weighing, const struct pm_sheet *sheet,
                               const struct pm_weigh_how *how, struct pm_weighing *out,
                               struct pm_error *err)
{
    struct pm_weigh_means means;
    struct pm_weigh_plan plan = {0};
    char *title = NULL;
    enum pm_status status = pm_weigh_means(weighing->studio, how, &out->arena, &means, err);
    if (status == PM_OK)
        status = pm_sheet_title(sheet, &title, err);
    out->title = pm_arena_text(&out->arena, title);
    pm_free(title);
    if (status != PM_OK)
        return status;
    if (sheet->total == 0)
        return pm_fail(err, PM_REFUSED, "There is nothing to weigh: no line has parts.");
    status = pm_made_up_resolve(weighing->studio, &sheet->trial, out->mass, &weighing->up, err);
    if (status == PM_OK) {
        weighing->trial = pm_made_up_trial(weighing->up);
        status = resolve(weighing, out->mass, means.order == PM_WEIGH_VOLATILE, err);
    }
    const struct pm_weigh_wish wish = {.mass = out->mass,
                                       .balance = means.balance,
                                       .tolerance = means.tolerance,
                                       .order = means.order,
                                       .dilute = !how->as_it_is,
                                       .today = pm_studio_today(weighing->studio)};
    if (status == PM_OK)
        status = pm_weigh_plan(weighing->needs, weighing->need_count, weighing->bottles,
                               weighing->bottle_count, &wish, &plan, err);
    if (status != PM_OK)
        return status;
    out->balance = means.balance;
    out->balance_name = means.balance_name;
    out->tolerance = means.tolerance;
    out->cumulative = how->cumulative;
    out->unweighable = plan.unweighable;
    out->missing = plan.missing;
    out->minimum = plan.minimum;
    out->least = plan.least;
    out->least_made = plan.least_made;
    out->combined = plan.combined;
    out->over_capacity = means.balance.capacity > 0 && out->mass > means.balance.capacity;
    status = name_lines(weighing, &plan, out, err);
    if (status == PM_OK)
        status = name_accords(weighing->studio, &sheet->trial, out, err);
    if (status == PM_OK)
        status = name_makings(weighing, &plan, out, err);
    pm_weigh_plan_release(&plan);
    return status;
}

enum pm_status pm_weigh(struct pm_studio *studio, const struct pm_sheet *sheet, pm_mass mass,
                        const struct pm_weigh_how *how, struct pm_weighing *out,
                        struct pm_error *err)
{
    struct weighing weighing = {.studio = studio};
    struct pm_weighing made = {.mass = mass};
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_look_over(studio, work_out(&weighing, sheet, how, &made, err));
    pm_made_up_free(weighing.up);
    pm_free(weighing.needs);
    pm_free(weighing.bottles);
    if (status != PM_OK)
        pm_arena_release(&made.arena);
    else
        *out = made;
    return status;
}

void pm_weigh_making_say(const struct pm_weighing *weighing, size_t making, char sign,
                         struct pm_text *out)
{
    const struct pm_weigh_making_line *line = &weighing->makings[making];
    const struct pm_balance *balance = &weighing->balance;
    const pm_mass stock = pm_balance_reads(balance, line->of_stock);
    char strength[PM_AMOUNT_TEXT], of_stock[PM_AMOUNT_TEXT], of_solvent[PM_AMOUNT_TEXT];
    char all[PM_AMOUNT_TEXT];
    pm_text_addf(out, "%s at %s: %s", line->name,
                 pm_strength_format(line->strength, sign, strength),
                 pm_balance_text(balance, stock, sign, of_stock));
    pm_volume_beside(line->stock_ul, sign, out);
    pm_text_addf(out, " from %s and %s", line->from,
                 pm_balance_text(balance, line->target - stock, sign, of_solvent));
    pm_volume_beside(line->solvent_ul, sign, out);
    pm_text_addf(out, " of %s make %s", line->solvent_name,
                 pm_balance_text(balance, line->target, sign, all));
}

void pm_weighing_release(struct pm_weighing *weighing)
{
    pm_arena_release(&weighing->arena);
    *weighing = (struct pm_weighing){0};
}
