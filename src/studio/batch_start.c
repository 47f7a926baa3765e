/* SPDX-License-Identifier: MIT */
/* A batch is started: what is weighed, and whether all is there (studio/scale.h). */
#include "scale.h"

#include "permille/base/mem.h"
#include "permille/store/batches.h"
#include "permille/studio/trials.h"

static enum pm_status refuse_unready(const struct pm_weighing *weighing, struct pm_error *err)
{
    char strength[PM_AMOUNT_TEXT], mass[PM_AMOUNT_TEXT];
    if (weighing->making_count > 0) {
        const struct pm_weigh_making_line *first = &weighing->makings[0];
        return pm_fail_at(err, "anyway", PM_REFUSED,
                          "First make %s of %s at %s in %s%s; or start the batch as it is.",
                          pm_mass_format(first->target, 2, '.', mass), first->name,
                          pm_strength_format(first->strength, '.', strength), first->solvent_name,
                          weighing->making_count > 1 ? ", and other dilutions" : "");
    }
    for (size_t i = 0; i < weighing->count && weighing->missing > 0; i++)
        if (weighing->items[i].bottle == 0)
            return pm_fail_at(
                err, "anyway", PM_REFUSED,
                "%s of %s is not on the shelf: put it there, or start the batch as it is.",
                pm_mass_format(weighing->items[i].target, 2, '.', mass), weighing->items[i].name);
    if (weighing->over_capacity)
        return pm_fail(err, PM_REFUSED, "The balance does not carry that much.");
    return PM_OK;
}

static enum pm_status write_plan(struct pm_studio *studio, int64_t batch,
                                 const struct pm_weighing *weighing, struct pm_error *err)
{
    struct pm_batch_plan plan = {.batch = batch,
                                 .balance_name = weighing->balance_name,
                                 .balance = weighing->balance,
                                 .tolerance = weighing->tolerance,
                                 .cumulative = weighing->cumulative,
                                 .way = "planned"};
    struct pm_batch_line *lines = pm_alloc_array(weighing->count + 1, sizeof *lines);
    if (lines == NULL)
        return pm_fail_memory(err);
    for (size_t i = 0; i < weighing->count; i++) {
        const struct pm_weigh_line *line = &weighing->items[i];
        lines[i] = (struct pm_batch_line){.place = line->place,
                                          .line = line->line,
                                          .material = line->material,
                                          .bottle = line->bottle,
                                          .strength = line->strength,
                                          .solvent = line->solvent,
                                          .target = line->target};
    }
    enum pm_status status =
        pm_batch_plan_insert(studio->library, &plan, lines, weighing->count, err);
    pm_free(lines);
    return status;
}

static enum pm_status make_batch(struct pm_studio *studio, int64_t trial, pm_mass mass,
                                 const char *made_by, int64_t *id, struct pm_error *err)
{
    struct pm_batch row = {.trial = trial, .mass = mass, .day = PM_NO_DAY, .made_by = made_by};
    struct pm_kept *kept;
    enum pm_status status =
        mass > 0 && mass <= PM_MASS_MAX
            ? pm_studio_kept(studio, trial, false, &kept, err)
            : pm_fail_at(err, "mass", PM_INVALID, "A batch has more than no mass.");
    if (status == PM_OK)
        status = pm_batch_insert(studio->library, &row, err);
    if (status == PM_OK)
        status = pm_batch_happen(studio, row.id, PM_BATCH_PLANNED, NULL, err);
    *id = row.id;
    return status;
}

static enum pm_status start(struct pm_studio *studio, int64_t *id, int64_t trial, pm_mass mass,
                            const struct pm_weigh_how *how, const char *made_by,
                            struct pm_error *err)
{
    struct pm_batch batch = {.trial = trial, .mass = mass};
    struct pm_sheet *sheet;
    struct pm_weighing weighing;
    char *by = NULL;
    enum pm_status status = PM_OK;
    if (*id != 0)
        status = pm_batch_get(studio->library, *id, NULL, &batch, err);
    if (status == PM_OK && *id != 0 && batch.state != PM_BATCH_PLANNED)
        status = pm_fail(err, PM_REFUSED, "Batch %lld is %s already.", (long long)*id,
                         pm_batch_word(batch.state));
    if (status == PM_OK)
        status = pm_clean_text(made_by, "The name", 0, &by, err);
    if (status == PM_OK)
        status = pm_sheet_open(studio, batch.trial, &sheet, err);
    if (status != PM_OK) {
        pm_free(by);
        return status;
    }
    status = pm_weigh(studio, sheet, batch.mass, how, &weighing, err);
    pm_sheet_free(sheet);
    if (status == PM_OK) {
        status = how->as_it_is ? PM_OK : refuse_unready(&weighing, err);
        if (status == PM_OK && *id == 0)
            status = make_batch(studio, batch.trial, batch.mass, by, id, err);
        if (status == PM_OK)
            status = write_plan(studio, *id, &weighing, err);
        if (status == PM_OK)
            status = pm_batch_happen(studio, *id, PM_BATCH_STARTED, by, err);
        pm_weighing_release(&weighing);
    }
    pm_free(by);
    return status;
}

enum pm_status pm_batch_start(struct pm_studio *studio, int64_t planned, int64_t trial,
                              pm_mass mass, const struct pm_weigh_how *how, const char *made_by,
                              int64_t *id, struct pm_error *err)
{
    int64_t batch = planned;
    enum pm_status status = pm_change_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_change_end(studio, start(studio, &batch, trial, mass, how, made_by, err), err);
    if (status == PM_OK && id != NULL)
        *id = batch;
    return status;
}
