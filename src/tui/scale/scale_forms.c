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
    enum pm_status status = pm_batch_plan(room->house->studio, values, NULL, err);
    if (status == PM_OK)
        scale_written(room, false);
    return status;
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

enum { TOLERANCE, ORDER, READ, ANYWAY, BY, START_FIELDS };

struct starting {
    struct scale_room *room;
    int64_t batch;
};

static enum pm_status start_accept(void *context, const char *const values[], struct pm_error *err)
{
    struct starting *starting = context;
    struct scale_room *room = starting->room;
    const struct pm_weigh_how how = {.tolerance = values[TOLERANCE],
                                     .order = values[ORDER],
                                     .cumulative = strcmp(values[READ], "untared") == 0,
                                     .as_it_is = strcmp(values[ANYWAY], "as it is") == 0};
    enum pm_status status =
        pm_batch_start(room->house->studio, starting->batch, 0, 0, &how, values[BY], NULL, err);
    if (status == PM_OK)
        status = scale_open(room, starting->batch, err);
    if (status == PM_OK)
        scale_written(room, true);
    return status;
}

static void start(struct scale_room *room, const struct pm_batch *batch)
{
    struct starting starting = {room, batch->id};
    const struct pm_form_spec spec = {
        .title = "Start pouring",
        .fields = {[TOLERANCE] = {.key = "tolerance",
                                  .label = "Within",
                                  .text = "2%",
                                  .hint = "Of every weight: two standard uncertainties."},
                   [ORDER] = {.key = "order",
                              .label = "Order",
                              .text = "traces",
                              .words = PM_WEIGH_ORDER_WORDS,
                              .hint = "Solvents come last, but with the largest first."},
                   [READ] = {.key = "read",
                             .label = "Display",
                             .text = "tared",
                             .words = "tared|untared",
                             .hint = "Untared: it shows the sum of all pours."},
                   [ANYWAY] = {.key = "anyway",
                               .label = "Begin",
                               .text = "when all is there",
                               .words = "when all is there|as it is",
                               .hint = "As it is: without dilutions that are still to be made."},
                   [BY] = {.key = "by", .label = "By", .hint = "Who weighs; empty: you."}},
        .field_count = START_FIELDS,
        .accept = start_accept,
        .writes = true,
        .context = &starting,
        .context_size = sizeof starting,
    };
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

static enum pm_status give_up_accept(void *context, size_t option, struct pm_error *err)
{
    struct scale_room *room = context;
    const struct pm_batch *batch = scale_batch(room);
    if (option == 0 || batch == NULL)
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
    char question[300];
    const struct pm_batch *batch = scale_batch(room);
    snprintf(question, sizeof question, "Give up batch %lld, %.200s? What was poured stays poured.",
             (long long)batch->id, batch->title);
    const struct pm_choice_spec spec = {.title = "Give up a batch",
                                        .question = question,
                                        .options = {{'n', "no"}, {'y', "yes, give it up"}},
                                        .option_count = 2,
                                        .accept = give_up_accept,
                                        .writes = true,
                                        .context = room};
    pm_choice_open(room->app, &spec);
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

/* ---- the weigh sheet, the record ---- */

static void show_text(struct scale_room *room, const char *title, const struct pm_text *text)
{
    struct pm_page *page = pm_page_new(title);
    const char *at = pm_text_get(text);
    while (*at) {
        const size_t length = strcspn(at, "\n");
        pm_page_addf(page, PM_ROLE_NORMAL, 2, "%.*s", (int)length, at);
        at += length + (at[length] == '\n');
    }
    pm_page_open(room->app, page, false);
}

/* What is to be weighed, a line each, narrow enough for any terminal. */
static void add_weighing(struct scale_room *room, const struct pm_weighing *weighing,
                         struct pm_page *page)
{
    const char sign = room->house->sign;
    char strength[PM_AMOUNT_TEXT], mass[PM_AMOUNT_TEXT], stock[PM_AMOUNT_TEXT];
    char rest[PM_AMOUNT_TEXT];
    if (weighing->making_count > 0)
        pm_page_addf(page, PM_ROLE_WARNING, 0, "Make first:");
    for (size_t i = 0; i < weighing->making_count; i++) {
        const struct pm_weigh_making_line *line = &weighing->makings[i];
        pm_page_addf(page, PM_ROLE_NORMAL, 8, "%9s  %s at %s: %s from %s, %s of %s",
                     pm_mass_format(line->target, 2, sign, mass), line->name,
                     pm_strength_format(line->strength, sign, strength),
                     pm_mass_format(line->of_stock, 2, sign, stock), line->from,
                     pm_mass_format(line->target - line->of_stock, 2, sign, rest),
                     line->solvent_name);
    }
    pm_page_add(page, PM_ROLE_NORMAL, 0, "");
    for (size_t i = 0; i < weighing->count; i++) {
        const struct pm_weigh_line *line = &weighing->items[i];
        const int64_t share = (int64_t)(line->share * 1000 + 0.5);
        pm_page_addf(page, line->weighable && !line->to_make ? PM_ROLE_NORMAL : PM_ROLE_WARNING, 8,
                     "%9s  %s, %s, %s%s  (%s %% of the uncertainty)",
                     pm_mass_format(line->target, 2, sign, mass), line->tall,
                     pm_strength_about(line->strength, sign, strength),
                     line->to_make         ? "to be made"
                     : line->label != NULL ? line->label
                                           : "not on the shelf",
                     line->weighable ? "" : ", too little to weigh",
                     pm_decimal_format(share, 1, 1, sign, stock));
    }
    pm_page_add(page, PM_ROLE_NORMAL, 0, "");
    pm_page_addf(page, PM_ROLE_NORMAL, 0, "%s reads %s; it weighs within %s from %s on.",
                 weighing->balance_name != NULL ? weighing->balance_name : "A balance",
                 pm_mass_exact(weighing->balance.readability, sign, mass),
                 pm_strength_format(weighing->tolerance, sign, strength),
                 pm_mass_format(weighing->minimum, 2, sign, stock));
    if (weighing->least > 0)
        pm_page_addf(page, PM_ROLE_NORMAL, 0,
                     "The least batch that needs no dilution to be made: %s.",
                     pm_mass_format(weighing->least, 2, sign, mass));
    pm_page_add(page, PM_ROLE_FAINT, 0, pm_weigh_caution);
}

static enum pm_status show_plan(struct scale_room *room, const struct pm_batch *batch,
                                struct pm_error *err)
{
    const struct pm_weigh_how how = {0};
    struct pm_weighing weighing;
    struct pm_sheet *sheet;
    enum pm_status status = pm_sheet_open(room->house->studio, batch->trial, &sheet, err);
    if (status != PM_OK)
        return status;
    status = pm_weigh(room->house->studio, sheet, batch->mass, &how, &weighing, err);
    pm_sheet_free(sheet);
    if (status != PM_OK)
        return status;
    struct pm_page *page = pm_page_new("Weigh sheet");
    pm_page_addf(page, PM_ROLE_HEADING, 0, "%s", batch->title);
    add_weighing(room, &weighing, page);
    pm_weighing_release(&weighing);
    pm_page_open(room->app, page, false);
    return PM_OK;
}

void scale_sheet(void *state)
{
    struct scale_room *room = state;
    struct pm_text text = PM_TEXT_EMPTY;
    struct pm_batch_record record;
    struct pm_error err = {0};
    const struct pm_batch *batch = scale_batch(room);
    const int64_t id = room->open != 0 ? room->open : batch->id;
    if (room->open == 0 && batch->state == PM_BATCH_PLANNED) {
        if (show_plan(room, batch, &err) != PM_OK)
            pm_app_error(room->app, &err);
        return;
    }
    enum pm_status status = pm_batch_show(room->house->studio, id, &record, &err);
    if (status == PM_OK) {
        status = pm_batch_print(&record, false, room->house->sign, &text, &err);
        pm_batch_record_release(&record);
    }
    if (status == PM_OK)
        show_text(room, "Batch record", &text);
    else
        pm_app_error(room->app, &err);
    pm_text_release(&text);
}
