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

/* ---- one of them ---- */

struct one_balance {
    struct scale_room *room;
    int64_t id;
};

static const struct pm_balance_row *balance_of(const struct one_balance *one)
{
    const struct pm_balance_rows *rows = &one->room->balances;
    for (size_t i = 0; i < rows->count; i++)
        if (rows->items[i].id == one->id)
            return &rows->items[i];
    return NULL;
}

static enum pm_status edit_accept(void *context, const char *const values[], struct pm_error *err)
{
    const struct one_balance *one = context;
    enum pm_status status = pm_balance_edit(one->room->house->studio, one->id, values, err);
    if (status == PM_OK)
        scale_written(one->room, false);
    return status;
}

static void edit_balance(struct one_balance one, const struct pm_balance_row *row)
{
    struct pm_form_spec spec = {.title = "Edit a balance; batches keep what it was",
                                .accept = edit_accept,
                                .writes = true,
                                .context = &one,
                                .context_size = sizeof one};
    pm_form_describe(&spec, &pm_balance_entity, row, one.room->house->sign, NULL, NULL);
    pm_form_open(one.room->app, &spec);
}

static enum pm_status remove_accept(void *context, struct pm_error *err)
{
    const struct one_balance *one = context;
    enum pm_status status = pm_balance_remove(one->room->house->studio, one->id, err);
    if (status == PM_OK)
        scale_written(one->room, false);
    return status;
}

static void remove_balance(struct one_balance one, const struct pm_balance_row *row)
{
    struct pm_text question = PM_TEXT_EMPTY;
    pm_text_addf(&question, "Take %s away? Batches weighed with it keep what it was.", row->name);
    const struct pm_choice_spec spec = {.title = "Take a balance away",
                                        .question = pm_text_get(&question),
                                        .options = {{'n', "no"}, {'y', "yes, take it away"}},
                                        .option_count = 2,
                                        .agreed = remove_accept,
                                        .writes = true,
                                        .context = &one,
                                        .context_size = sizeof one};
    pm_choice_open(one.room->app, &spec);
    pm_text_release(&question);
}

enum { USE, EDIT, REMOVE };

static enum pm_status one_accept(void *context, size_t option, struct pm_error *err)
{
    const struct one_balance *one = context;
    const struct pm_balance_row *row = balance_of(one);
    if (row == NULL)
        return pm_fail(err, PM_MISSING, "That balance is gone.");
    if (option == EDIT)
        edit_balance(*one, row);
    else if (option == REMOVE)
        remove_balance(*one, row);
    if (option != USE)
        return PM_OK;
    enum pm_status status = pm_balance_use(one->room->house->studio, one->id, err);
    if (status == PM_OK)
        scale_written(one->room, false);
    return status;
}

static enum pm_status balance_accept(void *context, size_t index, const char *text,
                                     struct pm_error *err)
{
    struct scale_room *room = context;
    struct pm_text question = PM_TEXT_EMPTY;
    char step[PM_AMOUNT_TEXT];
    (void)text;
    (void)err;
    if (index == room->balances.count) {
        add_balance(room);
        return PM_OK;
    }
    const struct pm_balance_row *row = &room->balances.items[index];
    struct one_balance one = {room, row->id};
    pm_text_addf(&question, "%s, reads %s%s.", row->name,
                 pm_mass_exact(row->is.readability, room->house->sign, step),
                 row->in_use ? "; in use" : "");
    const struct pm_choice_spec spec = {
        .title = "A balance",
        .question = pm_text_get(&question),
        .options = {{'u', "weigh with it from now on"}, {'e', "edit it"}, {'d', "take it away"}},
        .option_count = 3,
        .accept = one_accept,
        .writes = true,
        .context = &one,
        .context_size = sizeof one};
    pm_choice_open(room->app, &spec);
    pm_text_release(&question);
    return PM_OK;
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
        .title = "Balances; Enter uses, edits or takes one away",
        .label = "Balance",
        .columns = {{.heading = "balance", .wish = 20, .grows = true},
                    {.heading = "reads", .wish = 10, .align = PM_ALIGN_RIGHT},
                    {.heading = "least, 2 %", .wish = 11, .align = PM_ALIGN_RIGHT},
                    {.heading = "", .wish = 8}},
        .column_count = 4,
        .filter = balance_filter,
        .row = balance_row,
        .accept = balance_accept,
        .context = room,
    };
    pm_picker_open(room->app, &spec);
}
