/* SPDX-License-Identifier: MIT */
/* The Shelf: what can be made now, and the batches that are planned. */
#include "shelf.h"

#include "kit/overlay.h"

#include "permille/base/clock.h"
#include "permille/base/mem.h"
#include "permille/base/utf8.h"

#include <stdio.h>
#include <string.h>

/* ---- what can be made now ---- */

struct possible {
    struct shelf *shelf;
    struct pm_possibles all;
};

static void possible_free(void *context)
{
    struct possible *possible = context;
    pm_possibles_release(&possible->all);
    pm_free(possible);
}

static void possible_words(void *context, size_t index, struct pm_text *out)
{
    const struct possible *possible = context;
    pm_text_add(out, possible->all.items[index].title);
}

static void possible_row(void *context, size_t index, struct pm_pick_row *row)
{
    const struct possible *possible = context;
    const struct pm_possible *item = &possible->all.items[index];
    pm_text_add(&row->cells[0], item->title);
    if (item->lacking > 0)
        pm_text_addf(&row->cells[1], "%zu", item->lacking);
    pm_text_add(&row->cells[2], item->lacking == 0 && item->what == NULL
                                    ? "all of it is on the shelf"
                                : item->what != NULL ? item->what
                                                     : "");
    row->role = item->lacking == 0 ? PM_ROLE_GOOD : PM_ROLE_NORMAL;
}

static enum pm_status possible_accept(void *context, size_t index, const char *text,
                                      struct pm_error *err)
{
    const struct possible *possible = context;
    const struct pm_possible *item = &possible->all.items[index];
    (void)text;
    if (item->number == 0)
        return pm_bench_show_draft(possible->shelf->app, item->formula, err);
    return pm_bench_show_trial(possible->shelf->app, item->trial, err);
}

static enum pm_status possible_open(struct shelf *shelf, pm_mass mass, struct pm_error *err)
{
    char title[96], text[PM_AMOUNT_TEXT];
    struct possible *possible = pm_alloc_array(1, sizeof *possible);
    if (possible == NULL)
        return pm_fail_memory(err);
    possible->shelf = shelf;
    enum pm_status status = pm_stock_possible(shelf->house->studio, mass, &possible->all, err);
    if (status != PM_OK) {
        pm_free(possible);
        return status;
    }
    snprintf(title, sizeof title, "What can be made now, %s of each",
             shelf_mass(shelf, mass, text));
    const struct pm_picker_spec spec = {
        .title = title,
        .label = "Formula",
        .columns = {{.heading = "formula", .wish = 20},
                    {.heading = "lacks", .wish = 5, .align = PM_ALIGN_RIGHT},
                    {.heading = "what", .wish = 4, .grows = true}},
        .column_count = 3,
        .count = possible->all.count,
        .words = possible_words,
        .row = possible_row,
        .accept = possible_accept,
        .none_hint = "No formula is called so.",
        .closed = possible_free,
        .context = possible,
    };
    pm_picker_open(shelf->app, &spec);
    return PM_OK;
}

static enum pm_status possible_mass(void *context, const char *text, struct pm_error *err)
{
    struct shelf *shelf = context;
    pm_mass mass;
    enum pm_status status = pm_mass_read(text, &mass, err);
    if (status != PM_OK)
        return status;
    shelf_keep_batch(shelf, text, mass);
    return possible_open(shelf, mass, err);
}

void shelf_possible(void *state)
{
    struct shelf *shelf = state;
    const struct pm_prompt_spec spec = {.title = "What can be made now",
                                        .label = "A batch of",
                                        .text = shelf->batch,
                                        .limit = sizeof shelf->batch - 1,
                                        .replace = true,
                                        .accept = possible_mass,
                                        .context = shelf};
    pm_prompt_open(shelf->app, &spec);
}

/* ---- planning a batch ---- */

/* The round-th formula whose name begins with what was typed, at its newest kept trial. */
static bool complete_trial(void *context, const char *before, size_t round, struct pm_text *out)
{
    const struct shelf *shelf = context;
    struct pm_formulas found;
    bool any = false;
    if (pm_formulas_list(shelf->house->studio, before, false, &found, NULL) != PM_OK)
        return false;
    for (size_t i = 0; i < found.count && !any; i++) {
        if (found.items[i].kept == 0)
            continue;
        any = round == 0;
        if (any)
            pm_text_addf(out, "%s/%lld", found.items[i].name, (long long)found.items[i].kept);
        round--;
    }
    pm_list_release(&found);
    return any;
}

static enum pm_status plan_accept(void *context, const char *const values[], struct pm_error *err)
{
    struct shelf *shelf = context;
    enum pm_status status = pm_batch_plan(shelf->house->studio, values, NULL, err);
    if (status != PM_OK)
        return status;
    shelf_written(shelf, 0);
    pm_app_say(shelf->app, "Planned; the shopping list counts it in. Saved.");
    return PM_OK;
}

static void plan_batch(struct shelf *shelf)
{
    struct pm_text title = PM_TEXT_EMPTY;
    struct pm_sheet *sheet;
    int64_t formula = shelf->house->formula;
    /* The newest kept trial of what is open in the Bench is the most likely one. */
    if (formula && pm_sheet_open_draft(shelf->house->studio, formula, &sheet, NULL) == PM_OK) {
        pm_text_add(&title, sheet->name);
        if (sheet->kept > 0)
            pm_text_addf(&title, "/%lld", (long long)sheet->kept);
        pm_sheet_free(sheet);
    }
    struct pm_form_spec spec = {
        .title = "Plan a batch", .accept = plan_accept, .writes = true, .context = shelf};
    pm_form_describe(&spec, &pm_batch_entity, NULL, shelf->house->sign, NULL, NULL);
    struct pm_form_field *trial = pm_form_field_of(&spec, PM_BATCH_OF_TRIAL);
    trial->text = pm_text_get(&title);
    trial->replace = true;
    trial->complete = complete_trial;
    struct pm_form_field *mass = pm_form_field_of(&spec, PM_BATCH_OF_MASS);
    mass->text = shelf->batch;
    mass->replace = true;
    pm_form_open(shelf->app, &spec);
    pm_text_release(&title);
}

/* ---- planned batches ---- */

struct planned {
    struct shelf *shelf;
    struct pm_batches all;
    size_t *shown;
    size_t count;
};

static void planned_free(void *context)
{
    struct planned *planned = context;
    pm_list_release(&planned->all);
    pm_free(planned->shown);
    pm_free(planned);
}

/* The last row plans another one, whatever is typed. */
static size_t planned_filter(void *context, const char *text, bool *more)
{
    struct planned *planned = context;
    (void)more;
    planned->count = 0;
    for (size_t i = 0; i < planned->all.count; i++)
        if (shelf_matches(planned->all.items[i].title, text))
            planned->shown[planned->count++] = i;
    return planned->count + 1;
}

static void planned_row(void *context, size_t index, struct pm_pick_row *row)
{
    const struct planned *planned = context;
    char mass[PM_AMOUNT_TEXT], date[PM_TIME_TEXT];
    if (index == planned->count) {
        pm_text_add(&row->cells[0], "plan another batch");
        row->role = PM_ROLE_FAINT;
        return;
    }
    const struct pm_batch *entry = &planned->all.items[planned->shown[index]];
    pm_text_add(&row->cells[0], entry->title);
    pm_text_add(&row->cells[1], shelf_mass(planned->shelf, entry->mass, mass));
    pm_text_add(&row->cells[2],
                entry->day != PM_NO_DAY ? pm_day_format(entry->day, date) : "some time");
    pm_text_add(&row->cells[3], entry->note != NULL ? entry->note : "");
}

static enum pm_status planned_accept(void *context, size_t index, const char *text,
                                     struct pm_error *err)
{
    struct planned *planned = context;
    struct shelf *shelf = planned->shelf;
    (void)text;
    if (index == planned->count) {
        plan_batch(shelf);
        return PM_OK;
    }
    return pm_scale_show(shelf->app, planned->all.items[planned->shown[index]].id, err);
}

void shelf_planned(void *state)
{
    struct shelf *shelf = state;
    struct pm_error err = {0};
    struct planned *planned = pm_alloc_array(1, sizeof *planned);
    if (planned == NULL) {
        pm_app_warn(shelf->app, "Out of memory.");
        return;
    }
    planned->shelf = shelf;
    if (pm_batches_list(shelf->house->studio, false, &planned->all, &err) != PM_OK) {
        pm_app_error(shelf->app, &err);
        pm_free(planned);
        return;
    }
    planned->shown = pm_alloc_array(planned->all.count + 1, sizeof *planned->shown);
    if (planned->all.count == 0 || planned->shown == NULL) {
        planned_free(planned);
        plan_batch(shelf);
        return;
    }
    const struct pm_picker_spec spec = {
        .title = "Planned batches; Enter leads to it on the Scale",
        .label = "Planned",
        .columns = {{.heading = "of", .wish = 28},
                    {.heading = "how much", .wish = 10, .align = PM_ALIGN_RIGHT},
                    {.heading = "when", .wish = 10},
                    {.heading = "note", .wish = 4, .grows = true}},
        .column_count = 4,
        .filter = planned_filter,
        .row = planned_row,
        .accept = planned_accept,
        .closed = planned_free,
        .context = planned,
    };
    pm_picker_open(shelf->app, &spec);
}
