/* SPDX-License-Identifier: MIT */
/* Pouring, correcting, the ways out of an over-pour, finishing. */
#include "scale_room.h"

#include "kit/overlay.h"

#include "permille/base/mem.h"
#include "permille/studio/stock.h"

#include <stdio.h>
#include <string.h>

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
