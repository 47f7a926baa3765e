/* SPDX-License-Identifier: MIT */
/* Balances: the one that sends, and those that are kept. */
#include "scale_room.h"

#include "kit/overlay.h"

#include "permille/base/mem.h"
#include "permille/studio/stock.h"

#include <stdio.h>
#include <string.h>

/* ---- a balance that sends ---- */

static enum pm_status listen_accept(void *context, const char *text, struct pm_error *err)
{
    struct scale_room *room = context;
    enum pm_status status = pm_balance_port_open(text, &room->port, err);
    room->listen_at = pm_app_now(room->app);
    if (status == PM_OK)
        snprintf(room->device, sizeof room->device, "%s", text);
    return status;
}

void scale_listen(void *state)
{
    struct scale_room *room = state;
    if (room->port != NULL) {
        pm_balance_port_close(room->port);
        room->port = NULL;
        room->stable = false;
        return;
    }
    const struct pm_prompt_spec spec = {
        .title = "A balance that sends what it shows, lines of a number and a unit",
        .label = "Device, pipe or file",
        .text = room->device,
        .limit = sizeof room->device - 1,
        .accept = listen_accept,
        .context = room};
    pm_prompt_open(room->app, &spec);
}

/* ---- balances ---- */

static void balance_row(void *context, size_t index, struct pm_pick_row *row)
{
    const struct scale_room *room = context;
    char step[PM_AMOUNT_TEXT], least[PM_AMOUNT_TEXT];
    if (index == room->balances.count) {
        pm_text_add(&row->cells[0], "keep another balance");
        row->role = PM_ROLE_FAINT;
        return;
    }
    const struct pm_balance_row *balance = &room->balances.items[index];
    pm_text_add(&row->cells[0], balance->name);
    pm_text_add(&row->cells[1], pm_mass_exact(balance->is.readability, room->house->sign, step));
    pm_text_add(&row->cells[2], pm_mass_format(pm_balance_minimum(&balance->is, PM_WEIGH_TOLERANCE),
                                               2, room->house->sign, least));
    pm_text_add(&row->cells[3], balance->in_use ? "in use" : "");
}

static size_t balance_filter(void *context, const char *text, bool *more)
{
    const struct scale_room *room = context;
    (void)text;
    (void)more;
    return room->balances.count + 1;
}

static enum pm_status add_accept(void *context, const char *const values[], struct pm_error *err)
{
    struct scale_room *room = context;
    int64_t id = 0;
    enum pm_status status = pm_balance_add(room->house->studio, values, &id, err);
    if (status == PM_OK)
        status = pm_balance_use(room->house->studio, id, err);
    if (status == PM_OK)
        scale_written(room, false);
    return status;
}

static void add_balance(struct scale_room *room)
{
    struct pm_form_spec spec = {
        .title = "Keep a balance", .accept = add_accept, .writes = true, .context = room};
    pm_form_describe(&spec, &pm_balance_entity, NULL, room->house->sign, NULL, NULL);
    pm_form_open(room->app, &spec);
}

static enum pm_status balance_accept(void *context, size_t index, const char *text,
                                     struct pm_error *err)
{
    struct scale_room *room = context;
    (void)text;
    if (index == room->balances.count) {
        add_balance(room);
        return PM_OK;
    }
    enum pm_status status =
        pm_balance_use(room->house->studio, room->balances.items[index].id, err);
    if (status == PM_OK)
        scale_written(room, false);
    return status;
}

void scale_balances(void *state)
{
    struct scale_room *room = state;
    struct pm_error err = {0};
    pm_list_release(&room->balances);
    if (pm_balances(room->house->studio, &room->balances, &err) != PM_OK) {
        pm_app_error(room->app, &err);
        return;
    }
    if (room->balances.count == 0) {
        add_balance(room);
        return;
    }
    const struct pm_picker_spec spec = {
        .title = "Balances; Enter weighs with it from now on",
        .label = "Balance",
        .columns = {{.heading = "balance", .wish = 20, .grows = true},
                    {.heading = "reads", .wish = 10, .align = PM_ALIGN_RIGHT},
                    {.heading = "least, 2 %", .wish = 11, .align = PM_ALIGN_RIGHT},
                    {.heading = "", .wish = 8}},
        .column_count = 4,
        .filter = balance_filter,
        .row = balance_row,
        .accept = balance_accept,
        .writes = true,
        .context = room,
    };
    pm_picker_open(room->app, &spec);
}
