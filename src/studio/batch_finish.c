/* SPDX-License-Identifier: MIT */
/* A batch is finished: into a bottle, into a kept trial (studio/scale.h). */
#include "scale.h"

#include "permille/base/mem.h"
#include "permille/studio/shelf.h"
#include "permille/studio/trials.h"

/* The material that bottles of this trial are of; made at the first time. */
static enum pm_status made_up_material(struct pm_studio *studio,
                                       const struct pm_batch_record *record, const char *as_name,
                                       int64_t *material, struct pm_error *err)
{
    char name[256];
    enum pm_status status = pm_made_up_get(studio->library, record->batch.trial, material, err);
    if (status != PM_OK || *material != 0)
        return status;
    pm_print(name, sizeof name, "%s", as_name != NULL ? as_name : record->batch.title);
    for (char *at = name; as_name == NULL && *at; at++)
        *at = *at == '/' ? ' ' : *at;
    const char *const values[PM_MATERIAL_ATTRIBUTES] = {
        [PM_MATERIAL_NAME] = name, [PM_MATERIAL_KIND] = "blend"};
    status = pm_shelf_add(studio, values, material, err);
    return status == PM_OK ? pm_made_up_put(studio->library, record->batch.trial, *material, err)
                           : status;
}

static enum pm_status into_bottle(struct pm_studio *studio, const struct pm_batch_record *record,
                                  const char *as_name, int64_t *bottle, struct pm_error *err)
{
    const char *values[PM_BOTTLE_ATTRIBUTES] = {NULL};
    char lot[40];
    int64_t material = 0;
    enum pm_status status = made_up_material(studio, record, as_name, &material, err);
    pm_print(lot, sizeof lot, "batch %lld", (long long)record->batch.id);
    values[PM_BOTTLE_LOT] = lot;
    const struct pm_movement received = {
        .mass = record->poured, .trial = record->batch.trial, .batch = record->batch.id};
    return status == PM_OK ? pm_bottle_of_batch(studio, material, &received, values, bottle, err)
                           : status;
}

static enum pm_status as_weighed(struct pm_studio *studio, const struct pm_batch_record *record,
                                 struct pm_trial *out, struct pm_error *err)
{
    pm_mass *masses = pm_alloc_array(record->count + 1, sizeof *masses);
    if (masses == NULL)
        return pm_fail_memory(err);
    for (size_t i = 0; i < record->count; i++)
        masses[i] = record->items[i].poured;
    enum pm_status status = pm_batch_content(studio, record, masses, out, err);
    pm_free(masses);
    return status;
}

/* Makes `content` the draft for the while that it takes to keep it. */
static enum pm_status set_draft(struct pm_studio *studio, int64_t formula,
                                const struct pm_trial *content, int64_t parent,
                                const char *sentence, struct pm_sheet **sheet, struct pm_error *err)
{
    struct pm_sheet *draft;
    struct pm_plan *plan;
    enum pm_status status = pm_sheet_open_draft(studio, formula, &draft, err);
    if (status != PM_OK)
        return status;
    status = pm_plan_content(studio, draft, content, parent, "restore", sentence, &plan, err);
    pm_sheet_free(draft);
    if (status != PM_OK)
        return status;
    status = pm_plan_commit(studio, plan, sheet, err);
    pm_plan_free(plan);
    return status;
}

static enum pm_status keep_as_weighed(struct pm_studio *studio,
                                      const struct pm_batch_record *record, int64_t *number,
                                      struct pm_error *err)
{
    struct pm_trial content = {0};
    struct pm_sheet *before = NULL, *sheet = NULL;
    char note[80];
    pm_print(note, sizeof note, "As weighed in batch %lld", (long long)record->batch.id);
    enum pm_status status = pm_sheet_open_draft(studio, record->batch.formula, &before, err);
    if (status == PM_OK)
        status = as_weighed(studio, record, &content, err);
    if (status == PM_OK)
        status = set_draft(studio, record->batch.formula, &content, record->batch.trial, note,
                           &sheet, err);
    if (status == PM_OK)
        status = pm_trial_keep(studio, sheet, note, number, err);
    pm_sheet_free(sheet);
    sheet = NULL;
    if (status == PM_OK)
        status = set_draft(studio, record->batch.formula, &before->trial, before->trial.parent,
                           "Went back to the draft as it was", &sheet, err);
    pm_sheet_free(sheet);
    pm_sheet_free(before);
    pm_trial_release(&content);
    return status;
}

/* What it has become is part of the record. */
static enum pm_status note_finished(struct pm_studio *studio, const struct pm_batch_record *record,
                                    int64_t bottle, int64_t number, struct pm_error *err)
{
    struct pm_text text = PM_TEXT_EMPTY;
    char label[PM_BOTTLE_LABEL];
    if (record->next < record->count)
        pm_text_add(&text, "short");
    if (bottle != 0)
        pm_text_addf(&text, "%sinto bottle %s", text.length > 0 ? ", " : "",
                     pm_bottle_label(bottle, label));
    if (number != 0)
        pm_text_addf(&text, "%skept as trial %lld", text.length > 0 ? ", " : "", (long long)number);
    enum pm_status status = pm_text_ok(&text) ? PM_OK : pm_fail_memory(err);
    if (status == PM_OK)
        status = pm_batch_happen(studio, record->batch.id, PM_BATCH_FINISHED,
                                 text.length > 0 ? pm_text_get(&text) : NULL, err);
    pm_text_release(&text);
    return status;
}

static enum pm_status finish(struct pm_studio *studio, int64_t id, const struct pm_batch_end *end,
                             int64_t *bottle, int64_t *number, struct pm_error *err)
{
    struct pm_batch_record record;
    enum pm_status status = pm_batch_record_open(studio, id, &record, err);
    if (status == PM_OK && record.poured == 0)
        status = pm_fail(err, PM_REFUSED, "Nothing was poured; give it up instead.");
    if (status == PM_OK && record.next < record.count && !end->even_short)
        status = pm_fail(err, PM_REFUSED,
                         "%s and what follows is still to be poured; or finish it short.",
                         record.items[record.next].name);
    if (status == PM_OK && end->bottle)
        status = into_bottle(studio, &record, end->as_name, bottle, err);
    if (status == PM_OK && end->trial)
        status = keep_as_weighed(studio, &record, number, err);
    if (status == PM_OK)
        status = note_finished(studio, &record, *bottle, *number, err);
    pm_batch_record_release(&record);
    return status;
}

enum pm_status pm_batch_finish(struct pm_studio *studio, int64_t id, const struct pm_batch_end *end,
                               int64_t *bottle, int64_t *number, struct pm_error *err)
{
    int64_t made = 0, kept = 0;
    enum pm_status status = pm_change_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_change_end(studio, finish(studio, id, end, &made, &kept, err), err);
    if (bottle != NULL)
        *bottle = status == PM_OK ? made : 0;
    if (number != NULL)
        *number = status == PM_OK ? kept : 0;
    return status;
}
