/* SPDX-License-Identifier: MIT */
/* A concentrate brought into ethanol, water and bottles. */
#include "scale_room.h"

#include "kit/overlay.h"

#include "permille/base/mem.h"
#include "permille/studio/stock.h"

#include <stdio.h>
#include <string.h>

enum { CONCENTRATE, DOSAGE, HAND, WANTED, DENSITY, BOTTLE, LOSS, FILTER, READY, FILL_FIELDS };

static enum pm_status read_filling(const char *const values[], struct pm_filling_wish *wish,
                                   struct pm_error *err)
{
    *wish = (struct pm_filling_wish){0};
    enum pm_status status =
        pm_error_at(err, "concentrate", pm_mass_read(values[CONCENTRATE], &wish->concentrate, err));
    if (status == PM_OK)
        status = pm_error_at(err, "dosage", pm_strength_read(values[DOSAGE], &wish->dosage, err));
    if (status == PM_OK)
        status = pm_error_at(err, "ethanol", pm_strength_read(values[HAND], &wish->at_hand, err));
    if (status == PM_OK && values[WANTED][0])
        status = pm_error_at(err, "wanted", pm_strength_read(values[WANTED], &wish->wanted, err));
    if (status == PM_OK && values[DENSITY][0])
        status =
            pm_error_at(err, "density",
                        pm_decimal_read(values[DENSITY], 9, "The density", &wish->density, err));
    if (status == PM_OK && values[BOTTLE][0])
        status = pm_error_at(
            err, "bottle", pm_decimal_read(values[BOTTLE], 3, "The bottle", &wish->bottle_ul, err));
    if (status == PM_OK && values[LOSS][0])
        status = pm_error_at(err, "loss", pm_strength_read(values[LOSS], &wish->loss, err));
    return status;
}

static enum pm_role fill_check(void *context, const char *const values[], struct pm_text *out)
{
    const struct scale_room *room = context;
    struct pm_filling_wish wish;
    struct pm_filling made;
    struct pm_error err = {0};
    char ethanol[PM_AMOUNT_TEXT], water[PM_AMOUNT_TEXT], total[PM_AMOUNT_TEXT];
    enum pm_status status = read_filling(values, &wish, &err);
    if (status == PM_OK)
        status = pm_filling_work_out(&wish, &made, &err);
    if (status != PM_OK) {
        pm_text_add(out, err.text);
        return PM_ROLE_WARNING;
    }
    pm_text_addf(out, "ethanol %s, water %s, all %s",
                 pm_mass_format(made.ethanol, 2, room->house->sign, ethanol),
                 pm_mass_format(made.water, 2, room->house->sign, water),
                 pm_mass_format(made.total, 2, room->house->sign, total));
    if (made.bottles >= 0)
        pm_text_addf(out, ", %lld bottles", (long long)made.bottles);
    if (made.by_volume >= 0)
        pm_text_addf(out, ", %s %% vol",
                     pm_decimal_format(made.by_volume, 7, 1, room->house->sign, total));
    return PM_ROLE_GOOD;
}

static enum pm_status fill_accept(void *context, const char *const values[], struct pm_error *err)
{
    struct scale_room *room = context;
    const struct pm_batch *batch = scale_batch(room);
    struct pm_filling_wish wish;
    struct pm_filling made;
    struct pm_filling_row row = {.filter_on = PM_NO_DAY, .ready_on = PM_NO_DAY};
    enum pm_status status = read_filling(values, &wish, err);
    if (status == PM_OK)
        status = pm_filling_work_out(&wish, &made, err);
    if (status == PM_OK && values[FILTER][0])
        status = pm_error_at(err, "filter", pm_day_read(values[FILTER], &row.filter_on, err));
    if (status == PM_OK && values[READY][0])
        status = pm_error_at(err, "ready", pm_day_read(values[READY], &row.ready_on, err));
    if (status != PM_OK)
        return status;
    row.batch = batch != NULL && batch->state != PM_BATCH_PLANNED ? batch->id : 0;
    row.concentrate = made.concentrate;
    row.ethanol = made.ethanol;
    row.water = made.water;
    row.other = made.other;
    row.at_hand = wish.at_hand;
    row.bottles = made.bottles;
    status = pm_filling_note(room->house->studio, &row, err);
    if (status == PM_OK)
        pm_app_say(room->app, "On record as filling %lld. %s", (long long)row.id, pm_fill_caution);
    return status;
}

void scale_fill(void *state)
{
    struct scale_room *room = state;
    const struct pm_batch *batch = scale_batch(room);
    char mass[PM_AMOUNT_TEXT];
    const struct pm_form_spec spec = {
        .title = "Fill a concentrate",
        .fields = {[CONCENTRATE] = {.key = "concentrate",
                                    .label = "Concentrate",
                                    .text = pm_mass_exact(
                                        batch != NULL ? batch->mass : pm_house_batch(room->house),
                                        room->house->sign, mass)},
                   [DOSAGE] = {.key = "dosage", .label = "Dosage", .text = "20%"},
                   [HAND] = {.key = "ethanol", .label = "Ethanol at hand", .text = "96%"},
                   [WANTED] = {.key = "wanted", .label = "Wanted, % vol"},
                   [DENSITY] = {.key = "density", .label = "Its density, g/ml"},
                   [BOTTLE] = {.key = "bottle", .label = "Bottles of, ml"},
                   [LOSS] = {.key = "loss", .label = "Loss", .text = "2%"},
                   [FILTER] = {.key = "filter", .label = "Filter on"},
                   [READY] = {.key = "ready", .label = "Matures until"}},
        .field_count = FILL_FIELDS,
        .check = fill_check,
        .accept = fill_accept,
        .writes = true,
        .context = room,
    };
    pm_form_open(room->app, &spec);
}
