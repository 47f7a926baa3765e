/* SPDX-License-Identifier: MIT */
/* What a planned batch asks to be diluted first: listed, and made one after the other. */
#include "scale_room.h"

#include "kit/overlay.h"

#include "permille/core/dilute.h"
#include "permille/core/volume.h"
#include "permille/studio/bottles.h"

#include <stdio.h>

/* ---- one of them ---- */

struct making {
    struct scale_room *room;
    struct pm_dilution dilution; /* owned */
};

static void making_free(void *context)
{
    struct making *making = context;
    pm_dilution_release(&making->dilution);
}

static enum pm_status read_weighed(const struct making *making, const char *const values[],
                                   pm_mass *stock, pm_mass *solvent, struct pm_error *err)
{
    return pm_dilution_weighed(making->room->house->studio, &making->dilution, values[0], values[1],
                               stock, solvent, err);
}

static enum pm_role weighed_check(void *context, const char *const values[], struct pm_text *out)
{
    const struct making *making = context;
    const char sign = making->room->house->sign;
    pm_mass stock = 0, solvent = 0;
    pm_strength strength = 0;
    struct pm_error err = {0};
    char is[PM_AMOUNT_TEXT], wanted[PM_AMOUNT_TEXT];
    enum pm_status status = read_weighed(making, values, &stock, &solvent, &err);
    if (status == PM_OK)
        status = pm_dilute_result(stock, making->dilution.from_strength, solvent, &strength, &err);
    if (status != PM_OK) {
        pm_text_add(out, err.text);
        return PM_ROLE_ERROR;
    }
    pm_text_addf(out, "True strength %s; wanted was %s.", pm_strength_about(strength, sign, is),
                 pm_strength_format(making->dilution.wanted, sign, wanted));
    return PM_ROLE_PREVIEW;
}

static enum pm_status weighed_accept(void *context, const char *const values[],
                                     struct pm_error *err)
{
    const struct making *making = context;
    struct scale_room *room = making->room;
    pm_mass stock = 0, solvent = 0;
    int64_t bottle = 0;
    pm_strength strength = 0;
    char label[PM_BOTTLE_LABEL], is[PM_AMOUNT_TEXT];
    enum pm_status status = read_weighed(making, values, &stock, &solvent, err);
    if (status == PM_OK)
        status = pm_dilute_result(stock, making->dilution.from_strength, solvent, &strength, err);
    if (status == PM_OK)
        status = pm_dilution_make(room->house->studio, &making->dilution, stock, solvent, NULL,
                                  false, 0, &bottle, NULL, err);
    if (status != PM_OK)
        return status;
    scale_written(room, false);
    scale_dilute(room); /* what is still to be made */
    pm_app_say(room->app, "%s: %s, %s in %s; write that on its label. Saved.",
               pm_bottle_label(bottle, label), making->dilution.name,
               pm_strength_about(strength, room->house->sign, is), making->dilution.solvent_name);
    return PM_OK;
}

/* Takes the dilution over. */
static void ask_weighed(struct scale_room *room, const struct pm_dilution *dilution)
{
    struct making making = {room, *dilution};
    const struct pm_balance *balance = &room->weighing.balance;
    const char sign = room->house->sign;
    struct pm_text title = PM_TEXT_EMPTY, solvent = PM_TEXT_EMPTY;
    char stock_mass[PM_AMOUNT_TEXT], solvent_mass[PM_AMOUNT_TEXT], strength[PM_AMOUNT_TEXT];
    char stock[60], label[PM_BOTTLE_LABEL];
    pm_text_addf(&title, "%s at %s", dilution->name,
                 pm_strength_format(dilution->wanted, sign, strength));
    pm_text_addf(&title, ": %s", pm_balance_exact(balance, dilution->of_stock, sign, stock_mass));
    pm_volume_beside(dilution->stock_ul, sign, &title);
    pm_text_addf(&title, " + %s",
                 pm_balance_exact(balance, dilution->of_solvent, sign, solvent_mass));
    pm_volume_beside(dilution->solvent_ul, sign, &title);
    pm_text_addf(&solvent, "Of %s", dilution->solvent_name);
    snprintf(stock, sizeof stock, "Weighed of %s", pm_bottle_label(dilution->from, label));
    const struct pm_form_spec spec = {
        .title = pm_text_get(&title),
        .fields = {{.key = "stock",
                    .label = stock,
                    .text = pm_balance_exact(balance, dilution->of_stock, sign, stock_mass),
                    .replace = true},
                   {.key = "solvent",
                    .label = pm_text_get(&solvent),
                    .text = pm_balance_exact(balance, dilution->of_solvent, sign, solvent_mass),
                    .replace = true}},
        .field_count = 2,
        .check = weighed_check,
        .accept = weighed_accept,
        .writes = true,
        .closed = making_free,
        .context = &making,
        .context_size = sizeof making};
    if (dilution->remark != NULL)
        pm_app_warn(room->app, "%s", dilution->remark);
    pm_form_open(room->app, &spec);
    pm_text_release(&title);
    pm_text_release(&solvent);
}

/* ---- the list ---- */

static void making_row(void *context, size_t index, struct pm_pick_row *row)
{
    const struct scale_room *room = context;
    const struct pm_weigh_making_line *line = &room->weighing.makings[index];
    const char sign = room->house->sign;
    char mass[PM_AMOUNT_TEXT], strength[PM_AMOUNT_TEXT];
    pm_text_add(&row->cells[0], line->name);
    pm_text_add(&row->cells[1], pm_strength_format(line->strength, sign, strength));
    pm_text_add(&row->cells[2], pm_balance_text(&room->weighing.balance, line->target, sign, mass));
    pm_text_add(&row->cells[3], line->from);
    pm_text_add(&row->cells[4], line->solvent_name);
    row->role = line->from_bottle != 0 ? PM_ROLE_NORMAL : PM_ROLE_FAINT;
}

static void making_words(void *context, size_t index, struct pm_text *out)
{
    const struct scale_room *room = context;
    pm_text_add(out, room->weighing.makings[index].name);
}

static enum pm_status making_accept(void *context, size_t index, const char *text,
                                    struct pm_error *err)
{
    struct scale_room *room = context;
    const struct pm_weigh_making_line *line = &room->weighing.makings[index];
    struct pm_dilution dilution;
    (void)text;
    if (line->from_bottle == 0)
        return pm_fail(err, PM_REFUSED, "Make the stronger one before it first.");
    const struct pm_dilution_wish wish = {.material = line->material,
                                          .strength = line->strength,
                                          .target = line->target,
                                          .solvent = line->solvent,
                                          .from = line->from_bottle,
                                          .readability = room->weighing.balance.readability};
    enum pm_status status = pm_dilution_plan(room->house->studio, &wish, &dilution, err);
    if (status == PM_OK)
        ask_weighed(room, &dilution);
    return status;
}

void scale_dilute(void *state)
{
    struct scale_room *room = state;
    const struct pm_batch *batch = scale_batch(room);
    struct pm_error err = {0};
    if (batch == NULL || batch->state != PM_BATCH_PLANNED) {
        pm_app_warn(room->app, "Dilutions are made before a batch is started.");
        return;
    }
    pm_weighing_release(&room->weighing);
    if (scale_weigh(room, batch, &room->weighing, &err) != PM_OK) {
        pm_app_error(room->app, &err);
        return;
    }
    if (room->weighing.making_count == 0) {
        pm_app_say(room->app, "Nothing is to be diluted first.");
        return;
    }
    const struct pm_picker_spec spec = {
        .title = "To be diluted first; Enter makes one",
        .label = "Dilution",
        .columns = {{.heading = "material", .wish = 24, .least = 14, .yields = 1, .grows = true},
                    {.heading = "at", .wish = 7, .align = PM_ALIGN_RIGHT},
                    {.heading = "make", .wish = 10, .align = PM_ALIGN_RIGHT, .measured = true},
                    {.heading = "from", .wish = 18, .least = 8, .yields = 2},
                    {.heading = "in", .wish = 18, .least = 8, .yields = 3}},
        .column_count = 5,
        .count = room->weighing.making_count,
        .words = making_words,
        .row = making_row,
        .accept = making_accept,
        .context = room,
    };
    pm_picker_open(room->app, &spec);
}
