/* SPDX-License-Identifier: MIT */
/* Pouring, also from another bottle or below zero; correcting; finishing. */
#include "scale_room.h"

#include "kit/overlay.h"

#include "permille/base/mem.h"
#include "permille/studio/stock.h"

#include <stdio.h>
#include <string.h>

/* ---- pouring ---- */

/* What is poured, while it is asked whether it may be. */
struct asked {
    struct scale_room *room;
    int64_t bottle, place;
    char mass[PM_AMOUNT_TEXT]; /* as typed */
};

static enum pm_status pour(const struct asked *asked, bool even_below, pm_mass *missing,
                           struct pm_error *err)
{
    struct scale_room *room = asked->room;
    struct pm_pouring pouring = {.batch = room->open,
                                 .place = asked->place,
                                 .bottle = asked->bottle,
                                 .even_below = even_below};
    bool over = false;
    enum pm_status status = PM_OK;
    if (room->record.plan.cumulative)
        pouring.sum = asked->mass;
    else
        status = pm_batch_amount(room->house->studio, &pouring, asked->mass, &pouring.mass, err);
    if (status == PM_OK)
        status = pm_batch_pour(room->house->studio, &pouring, &over, missing, err);
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

enum { NOT_POURED, ALL_THE_SAME, OTHER_BOTTLE };

static enum pm_status below_accept(void *context, size_t option, struct pm_error *err)
{
    const struct asked *asked = context;
    if (option == ALL_THE_SAME)
        return pour(asked, true, NULL, err);
    if (option == OTHER_BOTTLE)
        scale_pour_from(asked->room);
    return PM_OK;
}

/* The bottle holds less than that by its ledger. */
static void ask_below(const struct asked *asked, const char *why)
{
    struct asked copy = *asked;
    const struct pm_choice_spec spec = {
        .title = "More than the bottle holds",
        .question = why,
        .options = {{'n', "it was not poured"},
                    {'y', "it was poured all the same: the ledger falls below zero"},
                    {'o', "from another bottle"}},
        .option_count = 3,
        .accept = below_accept,
        .writes = true,
        .context = &copy,
        .context_size = sizeof copy};
    pm_choice_open(asked->room->app, &spec);
}

static enum pm_status pour_accept(void *context, const char *text, struct pm_error *err)
{
    struct asked asked = *(const struct asked *)context;
    pm_mass missing = 0;
    struct pm_error why = {0};
    pm_print(asked.mass, sizeof asked.mass, "%s", text);
    const enum pm_status status = pour(&asked, false, &missing, &why);
    if (status == PM_REFUSED && missing > 0) {
        ask_below(&asked, why.text);
        return PM_OK;
    }
    if (status != PM_OK && err != NULL)
        *err = why;
    return status;
}

static void ask_pour(struct scale_room *room, int64_t bottle, const char *text, bool replace)
{
    const struct pm_batch_record_line *line = scale_line(room);
    struct pm_text title = PM_TEXT_EMPTY;
    char label[PM_BOTTLE_LABEL];
    if (line == NULL)
        return;
    struct asked asked = {.room = room, .bottle = bottle, .place = line->place};
    pm_text_addf(&title, "%lld  %s%s%s", (long long)line->place, line->tall,
                 bottle != 0 ? "  from " : "", bottle != 0 ? pm_bottle_label(bottle, label) : "");
    const struct pm_prompt_spec spec = {.title = pm_text_get(&title),
                                        .label = "The display shows, g",
                                        .text = text,
                                        .limit = 40,
                                        .replace = replace,
                                        .accept = pour_accept,
                                        .writes = true,
                                        .context = &asked,
                                        .context_size = sizeof asked};
    pm_prompt_open(room->app, &spec);
    pm_text_release(&title);
}

/* What the balance says, or what the display should show. */
static void ask_reading(struct scale_room *room, const struct pm_batch_record_line *line,
                        int64_t bottle)
{
    char text[PM_AMOUNT_TEXT];
    pm_decimal_exact(room->stable ? room->reading : line->reads, 6, room->house->sign, text);
    ask_pour(room, bottle, text, true);
}

void scale_pour_here(void *state)
{
    struct scale_room *room = state;
    const struct pm_batch_record_line *line = scale_line(room);
    if (line == NULL)
        return;
    if (line->done && !room->stable)
        pm_app_say(room->app, "It is done; type what the display shows to note more of it.");
    else
        ask_reading(room, line, 0);
}

void scale_pour_typed(struct scale_room *room, const char *text)
{
    ask_pour(room, 0, text, false);
}

/* ---- from another bottle ---- */

static void bottle_row(void *context, size_t index, struct pm_pick_row *row)
{
    const struct scale_room *room = context;
    const struct pm_bottle *bottle = &room->bottles.items[index];
    char mass[PM_AMOUNT_TEXT], strength[PM_AMOUNT_TEXT], label[PM_BOTTLE_LABEL], day[PM_TIME_TEXT];
    pm_text_add(&row->cells[0], pm_bottle_label(bottle->id, label));
    pm_text_add(&row->cells[1], pm_mass_exact(bottle->left, room->house->sign, mass));
    pm_text_add(&row->cells[2], pm_strength_about(bottle->strength, room->house->sign, strength));
    pm_text_add(&row->cells[3], bottle->lot != NULL ? bottle->lot : "");
    pm_text_add(&row->cells[4], bottle->place != NULL ? bottle->place : "");
    if (bottle->best_before != PM_NO_DAY)
        pm_text_addf(&row->cells[5], "%s%s", bottle->past ? "! " : "",
                     pm_day_format(bottle->best_before, day));
    row->role = bottle->past ? PM_ROLE_WARNING : PM_ROLE_NORMAL;
}

static void bottle_words(void *context, size_t index, struct pm_text *out)
{
    const struct scale_room *room = context;
    const struct pm_bottle *bottle = &room->bottles.items[index];
    char label[PM_BOTTLE_LABEL];
    pm_text_addf(out, "%s %s %s", pm_bottle_label(bottle->id, label),
                 bottle->lot != NULL ? bottle->lot : "",
                 bottle->place != NULL ? bottle->place : "");
}

static enum pm_status bottle_accept(void *context, size_t index, const char *text,
                                    struct pm_error *err)
{
    struct scale_room *room = context;
    const struct pm_batch_record_line *line = scale_line(room);
    (void)text;
    (void)err;
    if (line != NULL)
        ask_reading(room, line, room->bottles.items[index].id);
    return PM_OK;
}

void scale_pour_from(void *state)
{
    struct scale_room *room = state;
    const struct pm_batch_record_line *line = scale_line(room);
    struct pm_error err = {0};
    struct pm_text title = PM_TEXT_EMPTY;
    if (line == NULL)
        return;
    pm_list_release(&room->bottles);
    if (pm_batch_bottles(room->house->studio, room->open, line->place, &room->bottles, &err) !=
        PM_OK) {
        pm_app_error(room->app, &err);
        return;
    }
    if (room->bottles.count == 0) {
        pm_app_warn(room->app, "No bottle of it, at that strength, has anything in it.");
        return;
    }
    pm_text_addf(&title, "%lld  %s from another bottle", (long long)line->place, line->tall);
    const struct pm_picker_spec spec = {
        .title = pm_text_get(&title),
        .label = "Bottle",
        .columns = {{.heading = "bottle", .wish = 6},
                    {.heading = "holds", .wish = 11, .align = PM_ALIGN_RIGHT, .measured = true},
                    {.heading = "strength", .wish = 8, .align = PM_ALIGN_RIGHT},
                    {.heading = "lot", .wish = 15, .most = 30},
                    {.heading = "where", .wish = 13, .least = 8, .yields = 1, .grows = true},
                    {.heading = "best before", .wish = 12}},
        .column_count = 6,
        .count = room->bottles.count,
        .words = bottle_words,
        .row = bottle_row,
        .accept = bottle_accept,
        .context = room,
    };
    pm_picker_open(room->app, &spec);
    pm_text_release(&title);
}

/* ---- correcting ---- */

struct correcting {
    struct scale_room *room;
    int64_t pour;
};

static enum pm_status correct_accept(void *context, const char *const values[],
                                     struct pm_error *err)
{
    const struct correcting *correcting = context;
    struct scale_room *room = correcting->room;
    pm_mass mass = 0;
    enum pm_status status =
        pm_error_at(err, "mass",
                    pm_batch_pour_amount(room->house->studio, room->open, correcting->pour,
                                         values[0], &mass, err));
    if (status == PM_OK)
        status = pm_batch_correct(room->house->studio, room->open, correcting->pour, mass,
                                  values[1][0] != '\0' ? values[1] : NULL, err);
    if (status == PM_OK)
        scale_written(room, false);
    return status;
}

static void ask_correct(struct scale_room *room, const struct pm_batch_pour *pour)
{
    struct correcting correcting = {room, pour->id};
    char title[120], text[PM_AMOUNT_TEXT];
    snprintf(title, sizeof title, "Pour %lld; the old entry stays in the record",
             (long long)pour->id);
    const struct pm_form_spec spec = {
        .title = title,
        .fields = {{.key = "mass",
                    .label = "In truth, g",
                    .text = pm_decimal_exact(pour->mass, 6, room->house->sign, text),
                    .hint = "0: nothing was poured.",
                    .replace = true},
                   {.key = "note", .label = "Why", .hint = "Goes into the record."}},
        .field_count = 2,
        .accept = correct_accept,
        .writes = true,
        .context = &correcting,
        .context_size = sizeof correcting};
    pm_form_open(room->app, &spec);
}

/* The pours of a line that no other took the place of: how many, and the index-th of them. */
static size_t pours_of(const struct scale_room *room, int64_t place, size_t index,
                       const struct pm_batch_pour **out)
{
    size_t count = 0;
    for (size_t i = 0; i < room->record.pours.count; i++) {
        const struct pm_batch_pour *pour = &room->record.pours.items[i];
        if (!pour->in_force || pour->place != place)
            continue;
        if (count == index)
            *out = pour;
        count++;
    }
    return count;
}

static void pour_row(void *context, size_t index, struct pm_pick_row *row)
{
    const struct scale_room *room = context;
    const struct pm_batch_record_line *line = scale_line(room);
    const struct pm_batch_pour *pour = NULL;
    char mass[PM_AMOUNT_TEXT], at[PM_TIME_TEXT], label[PM_BOTTLE_LABEL];
    if (line == NULL || pours_of(room, line->place, index, &pour) <= index)
        return;
    pm_text_addf(&row->cells[0], "%lld", (long long)pour->id);
    pm_text_add(&row->cells[1], pm_mass_exact(pour->mass, room->house->sign, mass));
    pm_text_add(&row->cells[2], pour->bottle != 0 ? pm_bottle_label(pour->bottle, label) : "none");
    pm_text_add(&row->cells[3], pm_time_format(pour->at, at));
    pm_text_add(&row->cells[4], pour->note != NULL ? pour->note : "");
}

static size_t pour_filter(void *context, const char *text, bool *more)
{
    const struct scale_room *room = context;
    const struct pm_batch_record_line *line = scale_line(room);
    const struct pm_batch_pour *unused;
    (void)text;
    (void)more;
    return line != NULL ? pours_of(room, line->place, SIZE_MAX, &unused) : 0;
}

static enum pm_status pour_chosen(void *context, size_t index, const char *text,
                                  struct pm_error *err)
{
    struct scale_room *room = context;
    const struct pm_batch_record_line *line = scale_line(room);
    const struct pm_batch_pour *pour = NULL;
    (void)text;
    (void)err;
    if (line != NULL && pours_of(room, line->place, index, &pour) > index)
        ask_correct(room, pour);
    return PM_OK;
}

void scale_correct(void *state)
{
    struct scale_room *room = state;
    const struct pm_batch_record_line *line = scale_line(room);
    const struct pm_batch_pour *pour = NULL;
    const size_t count = line != NULL ? pours_of(room, line->place, 0, &pour) : 0;
    if (count == 0) {
        pm_app_warn(room->app, "Nothing of it was poured yet.");
        return;
    }
    if (count == 1) {
        ask_correct(room, pour);
        return;
    }
    const struct pm_picker_spec spec = {
        .title = "Which pour was it?",
        .label = "Pour",
        .columns = {{.heading = "pour", .wish = 5, .align = PM_ALIGN_RIGHT},
                    {.heading = "mass", .wish = 14, .align = PM_ALIGN_RIGHT},
                    {.heading = "bottle", .wish = 6},
                    {.heading = "when", .wish = 16},
                    {.heading = "note", .wish = 10, .grows = true}},
        .column_count = 5,
        .filter = pour_filter,
        .row = pour_row,
        .accept = pour_chosen,
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
    struct pm_text said = PM_TEXT_EMPTY;
    pm_text_add(&said, "Finished");
    if (bottle != 0)
        pm_text_addf(&said, "; it stands in bottle %s", pm_bottle_label(bottle, label));
    if (number != 0)
        pm_text_addf(&said, "; it is kept as trial %lld", (long long)number);
    pm_app_say(room->app, "%s. Saved.", pm_text_get(&said));
    pm_text_release(&said);
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
