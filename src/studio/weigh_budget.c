/* SPDX-License-Identifier: MIT */
/* The balance in use against a sheet as it is written. */
#include "scale.h"

#include "inside.h"

#include "permille/studio/weigh_budget.h"

/* What stands made up of an accord's kept trial. */
static enum pm_status read_made_up(struct pm_studio *studio, struct pm_budget_accord *accord,
                                   struct pm_error *err)
{
    struct pm_bottles rows;
    int64_t material = 0;
    enum pm_status status = pm_made_up_get(studio->library, accord->trial, &material, err);
    if (status != PM_OK || material == 0)
        return status;
    status = pm_bottles_of(studio, material, false, &rows, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < rows.count; i++)
        accord->made_up += rows.items[i].strength == PM_NEAT ? rows.items[i].left : 0;
    pm_list_release(&rows);
    return PM_OK;
}

static bool is_read(const struct pm_budget_accord *accords, size_t count, int64_t trial)
{
    for (size_t i = 0; i < count; i++)
        if (accords[i].trial == trial)
            return true;
    return false;
}

static enum pm_status read_accord(struct pm_studio *studio, int64_t trial,
                                  struct pm_budget_accord *out, struct pm_error *err)
{
    struct pm_accords accords = {studio, NULL};
    const struct pm_trial_source source = pm_accords_source(&accords);
    enum pm_status status = pm_budget_accord_read(trial, &source, out, err);
    return status == PM_OK ? read_made_up(studio, out, err) : status;
}

static enum pm_status read_accords(struct pm_studio *studio, const struct pm_trial *trial,
                                   struct pm_sheet_budget *out, struct pm_error *err)
{
    struct pm_budget_accord *items = pm_arena_array(&out->arena, trial->count + 1, sizeof *items);
    size_t *count = &out->terms.accord_count;
    if (items == NULL)
        return pm_fail_memory(err);
    out->terms.accords = items;
    for (size_t i = 0; i < trial->count; i++) {
        const struct pm_line *line = &trial->lines[i];
        if (line->kind != PM_LINE_ACCORD || is_read(items, *count, line->ref))
            continue;
        struct pm_error why = {0};
        const enum pm_status status = read_accord(studio, line->ref, &items[*count], &why);
        if (status == PM_NOMEM)
            return pm_fail_memory(err);
        *count += status == PM_OK;
    }
    return PM_OK;
}

static enum pm_status read_budget(struct pm_studio *studio, const struct pm_sheet *sheet,
                                  const struct pm_weigh_how *how, struct pm_sheet_budget *out,
                                  struct pm_error *err)
{
    struct pm_weigh_means means;
    enum pm_status status = pm_weigh_means(studio, how, &out->arena, &means, err);
    if (status != PM_OK)
        return status;
    out->balance_name = means.balance_name;
    out->terms.balance = means.balance;
    out->terms.tolerance = means.tolerance;
    return read_accords(studio, &sheet->trial, out, err);
}

enum pm_status pm_sheet_budget(struct pm_studio *studio, const struct pm_sheet *sheet,
                               pm_mass batch, const struct pm_weigh_how *how,
                               struct pm_sheet_budget *out, struct pm_error *err)
{
    struct pm_sheet_budget read = {.terms = {.batch = batch}};
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_look_over(studio, read_budget(studio, sheet, how, &read, err));
    if (status != PM_OK)
        pm_sheet_budget_release(&read);
    else
        *out = read;
    return status;
}

enum pm_status pm_sheet_budget_accord(struct pm_studio *studio, struct pm_sheet_budget *budget,
                                      int64_t trial, struct pm_error *err)
{
    const size_t count = budget->terms.accord_count;
    struct pm_budget_accord read;
    if (is_read(budget->terms.accords, count, trial))
        return PM_OK;
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_look_over(studio, read_accord(studio, trial, &read, err));
    if (status != PM_OK)
        return status;
    struct pm_budget_accord *items = pm_arena_array(&budget->arena, count + 1, sizeof *items);
    if (items == NULL)
        return pm_fail_memory(err);
    for (size_t i = 0; i < count; i++)
        items[i] = budget->terms.accords[i];
    items[count] = read;
    budget->terms.accords = items;
    budget->terms.accord_count = count + 1;
    return PM_OK;
}

enum pm_status pm_sheet_budget_lines(struct pm_sheet_budget *budget, const struct pm_sheet *sheet,
                                     const struct pm_budget_line **lines, struct pm_budget *out,
                                     struct pm_error *err)
{
    const struct pm_trial *trial = &sheet->trial;
    struct pm_budget_item *items = pm_arena_array(&budget->arena, trial->count + 1, sizeof *items);
    struct pm_budget_line *said = pm_arena_array(&budget->arena, trial->count + 1, sizeof *said);
    if (items == NULL || said == NULL)
        return pm_fail_memory(err);
    for (size_t i = 0; i < trial->count; i++)
        items[i] = (struct pm_budget_item){&trial->lines[i], trial->lines[i].parts};
    pm_budget_read(&budget->terms, items, trial->count, said, out);
    *lines = said;
    return PM_OK;
}

void pm_sheet_budget_release(struct pm_sheet_budget *budget)
{
    pm_arena_release(&budget->arena);
    *budget = (struct pm_sheet_budget){0};
}
