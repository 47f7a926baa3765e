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
    struct pm_form_spec spec = {.title = "Plan a batch",
                                .field_count = PM_BATCH_ATTRIBUTES,
                                .accept = plan_accept,
                                .writes = true,
                                .context = room};
    for (size_t i = 0; i < PM_BATCH_ATTRIBUTES; i++)
        spec.fields[i] = pm_form_attribute(&pm_batch_entity.attributes[i], NULL);
    spec.fields[PM_BATCH_OF_TRIAL].text = pm_text_get(&title);
    spec.fields[PM_BATCH_OF_TRIAL].replace = true;
    spec.fields[PM_BATCH_OF_MASS].text =
        pm_mass_exact(pm_house_batch(room->house), room->house->sign, mass);
    spec.fields[PM_BATCH_OF_MASS].replace = true;
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

/* ---- pouring ---- */

static enum pm_status pour_accept(void *context, const char *text, struct pm_error *err)
{
    struct scale_room *room = context;
    const struct pm_batch_record_line *line = scale_line(room);
    struct pm_pouring pouring = {.batch = room->open, .place = line != NULL ? line->place : 0};
    bool over = false;
    enum pm_status status = PM_OK;
    if (room->record.plan.cumulative)
        pouring.sum = text;
    else
        status = pm_mass_read(text, &pouring.mass, err);
    if (status == PM_OK)
        status = pm_batch_pour(room->house->studio, &pouring, &over, NULL, err);
    if (status != PM_OK)
        return status;
    scale_written(room, true);
    if (over)
        scale_ways(room);
    else
        pm_app_say(room->app, "%sSaved.",
                   room->record.next == room->record.count ? "Everything is poured. " : "");
    return PM_OK;
}

static void ask_pour(struct scale_room *room, const char *text, bool replace)
{
    const struct pm_batch_record_line *line = scale_line(room);
    char title[300];
    if (line == NULL)
        return;
    snprintf(title, sizeof title, "%lld  %.240s", (long long)line->place, line->tall);
    const struct pm_prompt_spec spec = {.title = title,
                                        .label = "The display shows, g",
                                        .text = text,
                                        .limit = 40,
                                        .replace = replace,
                                        .accept = pour_accept,
                                        .writes = true,
                                        .context = room};
    pm_prompt_open(room->app, &spec);
}

void scale_pour_here(void *state)
{
    struct scale_room *room = state;
    const struct pm_batch_record_line *line = scale_line(room);
    char text[PM_AMOUNT_TEXT];
    if (line == NULL)
        return;
    if (line->done && !room->stable) {
        pm_app_say(room->app, "It is done; type what the display shows to note more of it.");
        return;
    }
    pm_decimal_exact(room->stable ? room->reading : line->reads, 6, room->house->sign, text);
    ask_pour(room, text, true);
}

void scale_pour_typed(struct scale_room *room, const char *text)
{
    ask_pour(room, text, false);
}

static enum pm_status correct_accept(void *context, const char *text, struct pm_error *err)
{
    struct scale_room *room = context;
    const struct pm_batch_record_line *line = scale_line(room);
    pm_mass mass = 0;
    enum pm_status status = pm_mass_read(text, &mass, err);
    if (status == PM_OK && line != NULL)
        status = pm_batch_correct(room->house->studio, room->open, line->pour, mass, NULL, err);
    if (status == PM_OK)
        scale_written(room, false);
    return status;
}

void scale_correct(void *state)
{
    struct scale_room *room = state;
    const struct pm_batch_record_line *line = scale_line(room);
    char title[300], text[PM_AMOUNT_TEXT];
    if (line == NULL || line->pour == 0) {
        pm_app_warn(room->app, "Nothing of it was poured yet.");
        return;
    }
    pm_mass was = 0;
    for (size_t i = 0; i < room->record.pours.count; i++)
        if (room->record.pours.items[i].id == line->pour)
            was = room->record.pours.items[i].mass;
    snprintf(title, sizeof title, "The last pour of %.200s; the old entry stays in the record",
             line->name);
    const struct pm_prompt_spec spec = {.title = title,
                                        .label = "It was in truth, g",
                                        .text = pm_decimal_exact(was, 6, room->house->sign, text),
                                        .limit = 40,
                                        .replace = true,
                                        .accept = correct_accept,
                                        .writes = true,
                                        .context = room};
    pm_prompt_open(room->app, &spec);
}

/* ---- ways out ---- */

static void way_row(void *context, size_t index, struct pm_pick_row *row)
{
    static const char *const does[] = {"top up everything: the ratio is as it was",
                                       "top up what stands in its core", "pour less of it later",
                                       "leave it: the trial becomes another"};
    const struct scale_room *room = context;
    const struct pm_rescue_offer *offer = &room->ways.items[index];
    char mass[PM_AMOUNT_TEXT];
    pm_text_add(&row->cells[0], pm_rescue_word(offer->way));
    pm_text_add(&row->cells[1], pm_mass_exact(offer->total, room->house->sign, mass));
    pm_text_add(&row->cells[2], !offer->in_stock ? "not in stock"
                                : !offer->fits   ? "too heavy"
                                                 : "");
    if (offer->cost.count > 0)
        pm_sum_format(&offer->cost, 2, room->house->sign, &row->cells[3]);
    pm_text_addf(&row->cells[4], "%s%s", does[offer->way],
                 offer->left_over > 0 ? ", as far as it goes" : "");
    for (size_t i = 0; i < offer->count; i++)
        pm_text_addf(&row->cells[4], "; %s %s", offer->items[i].name,
                     pm_mass_exact(offer->items[i].add, room->house->sign, mass));
    row->role = offer->in_stock && offer->fits ? PM_ROLE_NORMAL : PM_ROLE_WARNING;
}

static enum pm_status way_accept(void *context, size_t index, const char *text,
                                 struct pm_error *err)
{
    struct scale_room *room = context;
    (void)text;
    enum pm_status status =
        pm_batch_rescue(room->house->studio, room->open, room->ways.items[index].way, err);
    if (status == PM_OK)
        scale_written(room, true);
    return status;
}

static void way_words(void *context, size_t index, struct pm_text *out)
{
    const struct scale_room *room = context;
    pm_text_add(out, pm_rescue_word(room->ways.items[index].way));
}

void scale_ways(void *state)
{
    struct scale_room *room = state;
    struct pm_error err = {0};
    pm_rescue_offers_release(&room->ways);
    if (pm_batch_ways(room->house->studio, room->open, &room->ways, &err) != PM_OK) {
        pm_app_error(room->app, &err);
        return;
    }
    const struct pm_picker_spec spec = {
        .title = "Too much was poured; Enter goes that way, Esc leaves it open",
        .label = "Way",
        .columns = {{.heading = "way", .wish = 8},
                    {.heading = "in all", .wish = 12, .align = PM_ALIGN_RIGHT},
                    {.heading = "", .wish = 12},
                    {.heading = "costs more", .wish = 12},
                    {.heading = "what", .wish = 10, .grows = true}},
        .column_count = 5,
        .count = room->ways.count,
        .words = way_words,
        .row = way_row,
        .accept = way_accept,
        .writes = true,
        .whole = 4,
        .context = room,
    };
    pm_picker_open(room->app, &spec);
}

/* ---- finishing ---- */

static enum pm_status finish_accept(void *context, const char *const values[], struct pm_error *err)
{
    struct scale_room *room = context;
    const struct pm_batch_end end = {.bottle = strcmp(values[0], "yes") == 0,
                                     .as_name = values[1][0] ? values[1] : NULL,
                                     .trial = strcmp(values[2], "yes") == 0,
                                     .even_short = strcmp(values[3], "yes") == 0};
    int64_t bottle = 0, number = 0;
    char label[PM_BOTTLE_LABEL];
    enum pm_status status =
        pm_batch_finish(room->house->studio, room->open, &end, &bottle, &number, err);
    if (status != PM_OK)
        return status;
    scale_written(room, false);
    if (bottle != 0)
        pm_app_say(room->app, "Finished; it stands in bottle %s. Saved.",
                   pm_bottle_label(bottle, label));
    else
        pm_app_say(room->app, "Finished. Saved.");
    return PM_OK;
}

void scale_finish(void *state)
{
    struct scale_room *room = state;
    const struct pm_form_spec spec = {
        .title = "Finish the batch",
        .fields = {{.key = "bottle",
                    .label = "A bottle of it",
                    .text = "no",
                    .words = "no|yes",
                    .hint = "A made-up accord: formulas that use this very trial take it."},
                   {.key = "called", .label = "Called", .hint = "Empty: as the trial."},
                   {.key = "trial",
                    .label = "Keep as weighed",
                    .text = "no",
                    .words = "no|yes",
                    .hint = "What was weighed becomes the next kept trial."},
                   {.key = "short",
                    .label = "Though not all",
                    .text = "no",
                    .words = "no|yes",
                    .hint = "Finish although not everything was poured."}},
        .field_count = 4,
        .accept = finish_accept,
        .writes = true,
        .context = room,
    };
    pm_form_open(room->app, &spec);
}

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
    struct pm_form_spec spec = {.title = "Keep a balance",
                                .field_count = PM_BALANCE_ATTRIBUTES,
                                .accept = add_accept,
                                .writes = true,
                                .context = room};
    for (size_t i = 0; i < PM_BALANCE_ATTRIBUTES; i++)
        spec.fields[i] = pm_form_attribute(&pm_balance_entity.attributes[i], NULL);
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

/* ---- filling ---- */

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
