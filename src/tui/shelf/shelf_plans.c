/* SPDX-License-Identifier: MIT */
/* The Shelf: what can be made now. */
#include "shelf.h"

#include "kit/overlay.h"

#include <stdio.h>

/* ---- what can be made now ---- */

struct possible {
    struct shelf *shelf;
    struct pm_possibles all;
};

static void possible_free(void *context)
{
    struct possible *possible = context;
    pm_possibles_release(&possible->all);
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
    pm_text_add(&row->cells[2], item->what != NULL   ? item->what
                                : item->lacking == 0 ? "all of it is on the shelf"
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
    struct possible possible = {.shelf = shelf};
    const enum pm_status status = pm_stock_possible(shelf->house->studio, mass, &possible.all, err);
    if (status != PM_OK)
        return status;
    snprintf(title, sizeof title, "What can be made now, %s of each",
             shelf_mass(shelf, mass, text));
    const struct pm_picker_spec spec = {
        .title = title,
        .label = "Formula",
        .columns = {{.heading = "formula", .wish = 20},
                    {.heading = "lacks", .wish = 5, .align = PM_ALIGN_RIGHT},
                    {.heading = "what", .wish = 4, .grows = true}},
        .column_count = 3,
        .count = possible.all.count,
        .words = possible_words,
        .row = possible_row,
        .accept = possible_accept,
        .none_hint = "No formula is called so.",
        .none_yet = "There is no formula yet.",
        .closed = possible_free,
        .context = &possible,
        .context_size = sizeof possible,
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
