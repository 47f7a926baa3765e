/* SPDX-License-Identifier: MIT */
/* A concentrate brought into ethanol, water and bottles. */
#include "scale_room.h"

#include "kit/overlay.h"

#include "permille/base/mem.h"
#include "permille/studio/stock.h"

#include <stdio.h>
#include <string.h>

static enum pm_role fill_check(void *context, const char *const values[], struct pm_text *out)
{
    const struct scale_room *room = context;
    struct pm_arena arena = {0};
    struct pm_filling_wish wish;
    struct pm_filling made;
    struct pm_error err = {0};
    char ethanol[PM_AMOUNT_TEXT], water[PM_AMOUNT_TEXT], total[PM_AMOUNT_TEXT];
    const enum pm_status status = pm_filling_read(values, &arena, &wish, &made, &err);
    pm_arena_release(&arena);
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

/* The batch it is about: the open one, else the one under the cursor; NULL. */
static const struct pm_batch *batch_here(const struct scale_room *room)
{
    return room->open != 0 ? &room->record.batch : scale_batch(room);
}

/* What there is of it: what was poured, where it was begun. */
static pm_mass concentrate_here(struct scale_room *room)
{
    const struct pm_batch *batch = batch_here(room);
    struct pm_batch_record record;
    if (batch == NULL)
        return pm_house_batch(room->house);
    if (batch->state == PM_BATCH_PLANNED ||
        pm_batch_show(room->house->studio, batch->id, &record, NULL) != PM_OK)
        return batch->mass;
    const pm_mass poured = record.poured;
    pm_batch_record_release(&record);
    return poured > 0 ? poured : batch->mass;
}

static enum pm_status fill_accept(void *context, const char *const values[], struct pm_error *err)
{
    struct scale_room *room = context;
    const struct pm_batch *batch = batch_here(room);
    const bool begun = batch != NULL && batch->state != PM_BATCH_PLANNED;
    struct pm_arena arena = {0};
    struct pm_filling_wish wish;
    struct pm_filling made;
    int64_t id = 0;
    enum pm_status status = pm_filling_read(values, &arena, &wish, &made, err);
    if (status == PM_OK)
        status =
            pm_filling_keep(room->house->studio, &wish, &made, begun ? batch->id : 0, &id, err);
    pm_arena_release(&arena);
    if (status == PM_OK)
        pm_app_say(room->app, "On record as filling %lld. %s", (long long)id, pm_fill_caution);
    return status;
}

void scale_fill(void *state)
{
    struct scale_room *room = state;
    char mass[PM_AMOUNT_TEXT];
    struct pm_form_spec spec = {.title = "Fill a concentrate",
                                .check = fill_check,
                                .accept = fill_accept,
                                .writes = true,
                                .context = room};
    pm_form_describe(&spec, &pm_filling_entity, NULL, room->house->sign, NULL, NULL);
    pm_form_field_of(&spec, PM_FILLING_CONCENTRATE)->text =
        pm_mass_exact(concentrate_here(room), room->house->sign, mass);
    pm_form_field_of(&spec, PM_FILLING_DOSAGE)->text = "20%";
    pm_form_field_of(&spec, PM_FILLING_ETHANOL)->text = "96%";
    pm_form_field_of(&spec, PM_FILLING_LOSS)->text = "2%";
    pm_form_open(room->app, &spec);
}

/* ---- what was filled ---- */

static void day_cell(pm_day day, int64_t done_at, const char *word, pm_day today,
                     struct pm_text *out)
{
    char buf[PM_TIME_TEXT];
    if (done_at != 0)
        pm_text_addf(out, "%s %s", word, pm_time_date(done_at, buf));
    else if (day != PM_NO_DAY)
        pm_text_addf(out, "%s%s", day <= today ? "! " : "", pm_day_format(day, buf));
}

static bool is_due(const struct pm_filling_row *row, pm_day today)
{
    return (row->filter_on != PM_NO_DAY && row->filter_on <= today && row->filtered_at == 0) ||
           (row->ready_on != PM_NO_DAY && row->ready_on <= today && row->matured_at == 0);
}

static void filling_row(void *context, size_t index, struct pm_pick_row *row)
{
    const struct scale_room *room = context;
    const struct pm_filling_row *filling = &room->fillings.items[index];
    const pm_day today = pm_day_of(pm_studio_now(room->house->studio));
    char mass[PM_AMOUNT_TEXT], day[PM_TIME_TEXT];
    pm_text_addf(&row->cells[0], "%lld", (long long)filling->id);
    pm_text_add(&row->cells[1], filling->title != NULL ? filling->title : "");
    pm_text_add(&row->cells[2], pm_mass_format(filling->concentrate + filling->ethanol +
                                                   filling->water + filling->other,
                                               2, room->house->sign, mass));
    pm_text_add(&row->cells[3], pm_time_date(filling->at, day));
    day_cell(filling->filter_on, filling->filtered_at, "filtered", today, &row->cells[4]);
    day_cell(filling->ready_on, filling->matured_at, "matured", today, &row->cells[5]);
    row->role = is_due(filling, today) ? PM_ROLE_WARNING : PM_ROLE_NORMAL;
}

static void filling_words(void *context, size_t index, struct pm_text *out)
{
    const struct scale_room *room = context;
    const struct pm_filling_row *filling = &room->fillings.items[index];
    pm_text_addf(out, "%lld %s", (long long)filling->id,
                 filling->title != NULL ? filling->title : "");
}

struct one_filling {
    struct scale_room *room;
    struct pm_filling_row row; /* its strings are not used */
};

static enum pm_status happen(const struct one_filling *one, enum pm_filling_event_kind kind,
                             pm_day day, struct pm_error *err)
{
    const struct pm_filling_event event = {.filling = one->row.id, .kind = kind, .day = day};
    enum pm_status status = pm_filling_happen(one->room->house->studio, &event, err);
    if (status == PM_OK)
        scale_written(one->room, false);
    return status;
}

static enum pm_status remind(const struct one_filling *one, const char *key, const char *text,
                             enum pm_filling_event_kind kind, pm_day was, struct pm_error *err)
{
    pm_day day = PM_NO_DAY;
    enum pm_status status =
        text[0] != '\0' ? pm_error_at(err, key, pm_day_read(text, &day, err)) : PM_OK;
    return status == PM_OK && day != was ? happen(one, kind, day, err) : status;
}

static enum pm_status days_accept(void *context, const char *const values[], struct pm_error *err)
{
    const struct one_filling *one = context;
    enum pm_status status =
        remind(one, "filter", values[0], PM_FILLING_FILTER_ON, one->row.filter_on, err);
    return status == PM_OK
               ? remind(one, "ready", values[1], PM_FILLING_READY_ON, one->row.ready_on, err)
               : status;
}

static void ask_days(struct one_filling one)
{
    char filter[PM_TIME_TEXT], ready[PM_TIME_TEXT];
    const struct pm_form_spec spec = {.title = "Days of the filling; empty: no reminder",
                                      .fields = {{.key = "filter",
                                                  .label = "Filter on",
                                                  .text = pm_day_format(one.row.filter_on, filter),
                                                  .replace = true},
                                                 {.key = "ready",
                                                  .label = "Matures until",
                                                  .text = pm_day_format(one.row.ready_on, ready),
                                                  .replace = true}},
                                      .field_count = 2,
                                      .accept = days_accept,
                                      .writes = true,
                                      .context = &one,
                                      .context_size = sizeof one};
    pm_form_open(one.room->app, &spec);
}

enum { LEAVE, FILTERED, MATURED, OTHER_DAYS };

static enum pm_status done_accept(void *context, size_t option, struct pm_error *err)
{
    const struct one_filling *one = context;
    if (option == OTHER_DAYS)
        ask_days(*one);
    if (option == FILTERED || option == MATURED)
        return happen(one, option == FILTERED ? PM_FILLING_FILTERED : PM_FILLING_MATURED, PM_NO_DAY,
                      err);
    return PM_OK;
}

static enum pm_status filling_accept(void *context, size_t index, const char *text,
                                     struct pm_error *err)
{
    struct scale_room *room = context;
    const struct pm_filling_row *row = &room->fillings.items[index];
    struct one_filling one = {room, *row};
    struct pm_text question = PM_TEXT_EMPTY;
    (void)text;
    (void)err;
    pm_text_addf(&question, "Filling %lld%s%s", (long long)row->id,
                 row->title != NULL ? ", of " : "", row->title != NULL ? row->title : "");
    const struct pm_choice_spec spec = {.title = "What was done?",
                                        .question = pm_text_get(&question),
                                        .options = {{'n', "nothing yet"},
                                                    {'f', "it was filtered"},
                                                    {'m', "it has matured"},
                                                    {'d', "other days for it"}},
                                        .option_count = 4,
                                        .accept = done_accept,
                                        .writes = true,
                                        .context = &one,
                                        .context_size = sizeof one};
    pm_choice_open(room->app, &spec);
    pm_text_release(&question);
    return PM_OK;
}

void scale_fillings(void *state)
{
    struct scale_room *room = state;
    struct pm_error err = {0};
    pm_list_release(&room->fillings);
    if (pm_fillings(room->house->studio, &room->fillings, &err) != PM_OK) {
        pm_app_error(room->app, &err);
        return;
    }
    const struct pm_picker_spec spec = {
        .title = "Fillings; Enter says what was done",
        .label = "Filling",
        .columns = {{.heading = "#", .wish = 3, .align = PM_ALIGN_RIGHT},
                    {.heading = "of", .wish = 14, .least = 8, .yields = 1, .grows = true},
                    {.heading = "in all", .wish = 9, .align = PM_ALIGN_RIGHT, .measured = true},
                    {.heading = "filled", .wish = 10},
                    {.heading = "filter on", .wish = 19, .least = 12, .yields = 2},
                    {.heading = "matures until", .wish = 18, .least = 12, .yields = 2}},
        .column_count = 6,
        .count = room->fillings.count,
        .words = filling_words,
        .row = filling_row,
        .accept = filling_accept,
        .none_hint = "No filling is called so.",
        .none_yet = "Nothing was filled yet.",
        .context = room,
    };
    pm_picker_open(room->app, &spec);
}
