/* SPDX-License-Identifier: MIT */
/* The Scale room: what is asked for. */
#include "scale_room.h"

#include "kit/overlay.h"

#include "permille/base/mem.h"
#include "permille/studio/stock.h"

#include <stdio.h>
#include <string.h>

/* ---- whether something can be done ---- */

bool scale_any(void *state)
{
    struct scale_room *room = state;
    if (room->open == 0 && scale_batch(room) == NULL)
        pm_app_warn(room->app, "There is no batch; plan one.");
    return room->open != 0 || scale_batch(room) != NULL;
}

bool scale_started(void *state)
{
    const struct scale_room *room = state;
    return room->open != 0;
}

bool scale_pouring(void *state)
{
    struct scale_room *room = state;
    const bool can = room->open != 0 && !pm_batch_over(room->record.batch.state);
    if (room->open != 0 && !can)
        pm_app_warn(room->app, "The batch is %s.", pm_batch_word(room->record.batch.state));
    return can;
}

/* ---- planning ---- */

static enum pm_status plan_accept(void *context, const char *const values[], struct pm_error *err)
{
    struct scale_room *room = context;
    int64_t id = 0;
    enum pm_status status = pm_batch_plan(room->house->studio, values, &id, err);
    if (status != PM_OK)
        return status;
    scale_written(room, false);
    scale_select(room, id);
    return PM_OK;
}

void scale_plan(void *state)
{
    struct scale_room *room = state;
    struct pm_text title = PM_TEXT_EMPTY;
    struct pm_sheet *sheet;
    char mass[PM_AMOUNT_TEXT];
    if (room->house->formula != 0 &&
        pm_sheet_open_draft(room->house->studio, room->house->formula, &sheet, NULL) == PM_OK) {
        pm_text_add(&title, sheet->name);
        if (sheet->kept > 0)
            pm_text_addf(&title, "/%lld", (long long)sheet->kept);
        pm_sheet_free(sheet);
    }
    struct pm_form_spec spec = {
        .title = "Plan a batch", .accept = plan_accept, .writes = true, .context = room};
    pm_form_describe(&spec, &pm_batch_entity, NULL, room->house->sign, NULL, NULL);
    struct pm_form_field *trial = pm_form_field_of(&spec, PM_BATCH_OF_TRIAL);
    trial->text = pm_text_get(&title);
    trial->replace = true;
    struct pm_form_field *how_much = pm_form_field_of(&spec, PM_BATCH_OF_MASS);
    how_much->text = pm_mass_exact(pm_house_batch(room->house), room->house->sign, mass);
    how_much->replace = true;
    pm_form_open(room->app, &spec);
    pm_text_release(&title);
}

/* ---- starting and opening ---- */

struct starting {
    struct scale_room *room;
    int64_t batch;
};

static enum pm_status start_accept(void *context, const char *const values[], struct pm_error *err)
{
    struct starting *starting = context;
    struct scale_room *room = starting->room;
    enum pm_status status = scale_how_read(values, &room->how, err);
    const struct pm_weigh_how how = scale_how(room);
    if (status == PM_OK)
        status = pm_batch_start(room->house->studio, starting->batch, 0, 0, &how,
                                values[SCALE_HOW_FIELDS], NULL, err);
    if (status == PM_OK)
        status = scale_open(room, starting->batch, err);
    if (status == PM_OK)
        scale_written(room, true);
    return status;
}

static void start(struct scale_room *room, const struct pm_batch *batch)
{
    struct starting starting = {room, batch->id};
    struct pm_form_spec spec = {.title = "Start pouring",
                                .field_count = SCALE_HOW_FIELDS + 1,
                                .accept = start_accept,
                                .writes = true,
                                .context = &starting,
                                .context_size = sizeof starting};
    scale_how_fields(room, spec.fields);
    spec.fields[SCALE_HOW_FIELDS] =
        (struct pm_form_field){.key = "by", .label = "By", .hint = "Who weighs; empty: you."};
    pm_form_open(room->app, &spec);
}

void scale_enter(void *state)
{
    struct scale_room *room = state;
    struct pm_error err = {0};
    const struct pm_batch *batch = scale_batch(room);
    if (batch->state == PM_BATCH_PLANNED)
        start(room, batch);
    else if (scale_open(room, batch->id, &err) != PM_OK)
        pm_app_error(room->app, &err);
}

void scale_show_all(void *state)
{
    struct scale_room *room = state;
    room->all = !room->all;
    scale_written(room, false);
}

/* ---- giving up, pausing ---- */

static enum pm_status give_up_accept(void *context, struct pm_error *err)
{
    struct scale_room *room = context;
    const struct pm_batch *batch = scale_batch(room);
    if (batch == NULL)
        return PM_OK;
    enum pm_status status =
        pm_batch_mark(room->house->studio, batch->id, PM_BATCH_GIVEN_UP, NULL, err);
    if (status == PM_OK)
        scale_written(room, false);
    return status;
}

void scale_give_up(void *state)
{
    struct scale_room *room = state;
    struct pm_text question = PM_TEXT_EMPTY;
    const struct pm_batch *batch = scale_batch(room);
    pm_text_addf(&question, "Give up batch %lld, %s? What was poured stays poured.",
                 (long long)batch->id, batch->title);
    const struct pm_choice_spec spec = {.title = "Give up a batch",
                                        .question = pm_text_get(&question),
                                        .options = {{'n', "no"}, {'y', "yes, give it up"}},
                                        .option_count = 2,
                                        .agreed = give_up_accept,
                                        .writes = true,
                                        .context = room};
    pm_choice_open(room->app, &spec);
    pm_text_release(&question);
}

enum pm_status scale_pause(void *state, struct pm_error *err)
{
    struct scale_room *room = state;
    enum pm_status status =
        pm_batch_mark(room->house->studio, room->open, PM_BATCH_PAUSED, NULL, err);
    if (status == PM_OK) {
        room->open = 0;
        scale_written(room, false);
    }
    return status;
}
