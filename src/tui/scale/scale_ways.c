/* SPDX-License-Identifier: MIT */
/*
 * Ways out of an over-pour: first which there are, then all that one of them asks for, line by
 * line, before it is gone; and what the trial has become so far.
 */
#include "scale_room.h"

#include "kit/overlay.h"

#include "permille/studio/stock.h"

#include <stdio.h>
#include <string.h>

/* A mass as this balance shows it. */
static const char *shown(const struct scale_room *room, pm_mass mass, char *buf)
{
    return pm_balance_text(&room->ways.balance, mass, room->house->sign, buf);
}

static const struct pm_rescue_offer *chosen(const struct scale_room *room)
{
    return &room->ways.items[room->way];
}

/* ---- all that a way asks for ---- */

static void step_row(void *context, size_t index, struct pm_pick_row *row)
{
    const struct scale_room *room = context;
    const struct pm_rescue_step *step = &chosen(room)->items[index];
    char mass[PM_AMOUNT_TEXT];
    pm_text_addf(&row->cells[0], "%lld", (long long)step->place);
    pm_text_add(&row->cells[1], step->name);
    pm_text_add(&row->cells[2], shown(room, step->add, mass));
    pm_text_add(&row->cells[3], !step->in_stock    ? "not in stock"
                                : step->reads == 0 ? "less than it shows"
                                                   : "");
    pm_text_addf(&row->cells[4], "%s: %s", step->name, shown(room, step->add, mass));
    row->role = step->in_stock && step->reads > 0 ? PM_ROLE_NORMAL : PM_ROLE_WARNING;
}

static void step_words(void *context, size_t index, struct pm_text *out)
{
    const struct scale_room *room = context;
    pm_text_add(out, chosen(room)->items[index].name);
}

static enum pm_status go(struct scale_room *room, struct pm_error *err)
{
    const enum pm_rescue_way way = chosen(room)->way;
    enum pm_status status = pm_batch_rescue(room->house->studio, room->open, way, err);
    if (status == PM_OK)
        scale_written(room, true);
    return status;
}

static enum pm_status step_accept(void *context, size_t index, const char *text,
                                  struct pm_error *err)
{
    (void)index;
    (void)text;
    return go(context, err);
}

static void open_steps(struct scale_room *room)
{
    char title[200], mass[PM_AMOUNT_TEXT];
    snprintf(title, sizeof title, "%s: add so much, %s in all; Enter goes this way",
             pm_rescue_word(chosen(room)->way), shown(room, chosen(room)->total, mass));
    const struct pm_picker_spec spec = {
        .title = title,
        .label = "Line",
        .columns = {{.heading = "#", .wish = 3, .align = PM_ALIGN_RIGHT},
                    {.heading = "material", .wish = 24, .grows = true},
                    {.heading = "add", .wish = 12, .align = PM_ALIGN_RIGHT, .measured = true},
                    {.heading = "", .wish = 18}},
        .column_count = 4,
        .count = chosen(room)->count,
        .words = step_words,
        .row = step_row,
        .accept = step_accept,
        .writes = true,
        .context = room,
    };
    pm_picker_open(room->app, &spec);
}

/* ---- what the trial becomes ---- */

static const char *parts_text(const struct scale_room *room, int64_t share, char *buf)
{
    const pm_parts parts = pm_become_parts(&room->become, share);
    return pm_decimal_format(parts, 6, pm_decimal_places(parts, 6, 2), room->house->sign, buf);
}

static enum pm_role role_of(enum pm_verdict verdict)
{
    return verdict == PM_WITHIN            ? PM_ROLE_NORMAL
           : verdict == PM_VERDICT_UNKNOWN ? PM_ROLE_WARNING
                                           : PM_ROLE_ERROR;
}

/* Limits that are not kept come first, then the materials, then the other limits. */
static size_t broken(const struct scale_room *room)
{
    size_t count = 0;
    while (count < room->become.limit_count && (room->become.limits[count].is == PM_OVER ||
                                                room->become.limits[count].is == PM_PROHIBITED))
        count++;
    return count;
}

/* The limit that a row is about; NULL: it is a material's, at *material. */
static const struct pm_become_limit *limit_at(const struct scale_room *room, size_t index,
                                              size_t *material)
{
    const size_t first = broken(room);
    if (index < first)
        return &room->become.limits[index];
    *material = index - first;
    if (*material < room->become.count)
        return NULL;
    return &room->become.limits[index - room->become.count];
}

static void limit_row(const struct scale_room *room, const struct pm_become_limit *limit,
                      struct pm_pick_row *row)
{
    char percent[PM_AMOUNT_TEXT], most[PM_AMOUNT_TEXT];
    pm_text_addf(&row->cells[0], "limit: %s", limit->title);
    pm_text_addf(&row->cells[1], "%s%s %%", limit->least ? "at least " : "",
                 pm_decimal_format(limit->percent, 10, pm_decimal_places(limit->percent, 10, 2),
                                   room->house->sign, percent));
    if (limit->limit >= 0)
        pm_text_addf(&row->cells[2], "of %s",
                     pm_strength_format(limit->limit, room->house->sign, most));
    pm_text_add(&row->cells[3], pm_verdict_word(limit->is));
    if (limit->was_percent >= 0 && limit->was != limit->is)
        pm_text_addf(&row->cells[3], ", was %s", pm_verdict_word(limit->was));
    row->role = role_of(limit->is);
}

static void become_row(void *context, size_t index, struct pm_pick_row *row)
{
    const struct scale_room *room = context;
    char is[PM_AMOUNT_TEXT], was[PM_AMOUNT_TEXT];
    size_t material = 0;
    const struct pm_become_limit *limit = limit_at(room, index, &material);
    if (limit != NULL) {
        limit_row(room, limit, row);
        return;
    }
    const struct pm_become_line *line = &room->become.items[material];
    pm_text_add(&row->cells[0], line->name);
    pm_text_add(&row->cells[1], parts_text(room, line->is, is));
    pm_text_add(&row->cells[2], parts_text(room, line->was, was));
    row->role = PM_ROLE_NORMAL;
}

static void become_words(void *context, size_t index, struct pm_text *out)
{
    const struct scale_room *room = context;
    size_t material = 0;
    const struct pm_become_limit *limit = limit_at(room, index, &material);
    pm_text_add(out, limit != NULL ? limit->title : room->become.items[material].name);
}

static void open_become(struct scale_room *room)
{
    char title[200], dosage[PM_AMOUNT_TEXT];
    const struct pm_become *become = &room->become;
    snprintf(title, sizeof title,
             "accept: it becomes this, %zu over or prohibited at %s; Enter leaves it so",
             become->over + become->prohibited,
             pm_strength_format(become->wish.dosage, room->house->sign, dosage));
    const struct pm_picker_spec spec = {
        .title = title,
        .label = "Material",
        .columns =
            {{.heading = "material", .wish = 25, .least = 16, .yields = 1, .grows = true},
             {.heading = "becomes", .wish = 15, .align = PM_ALIGN_RIGHT, .measured = true},
             {.heading = "was, parts", .wish = 10, .align = PM_ALIGN_RIGHT, .measured = true},
             {.heading = "limits", .wish = 18}},
        .column_count = 4,
        .count = become->count + become->limit_count,
        .words = become_words,
        .row = become_row,
        .accept = step_accept,
        .writes = true,
        .context = room,
    };
    pm_picker_open(room->app, &spec);
}

/* ---- which ways there are ---- */

static void way_row(void *context, size_t index, struct pm_pick_row *row)
{
    static const char *const does[] = {"the ratio is as it was", "core's ratio as it was",
                                       "less of it later", "it is another trial"};
    const struct scale_room *room = context;
    const struct pm_rescue_offer *offer = &room->ways.items[index];
    char mass[PM_AMOUNT_TEXT];
    pm_text_add(&row->cells[0], pm_rescue_word(offer->way));
    pm_text_add(&row->cells[1], shown(room, offer->total, mass));
    if (offer->unknown > 0)
        pm_text_add(&row->cells[2], offer->cost.count > 0 ? ">" : "?");
    if (offer->cost.count > 0)
        pm_sum_format(&offer->cost, 2, room->house->sign, &row->cells[2]);
    if (offer->sense == PM_RESCUE_ABSURD)
        pm_rescue_sense_say(&room->ways, offer, room->house->sign, "", &row->cells[3]);
    else
        pm_text_addf(&row->cells[3], "%s%s%s", does[offer->way],
                     offer->sense != PM_RESCUE_SENSIBLE || offer->left_over > 0 ? "; " : "",
                     offer->sense != PM_RESCUE_SENSIBLE ? pm_rescue_sense_word(offer->sense)
                     : offer->left_over > 0             ? "not all of it"
                                                        : "");
    row->role = offer->sense == PM_RESCUE_SENSIBLE ? PM_ROLE_NORMAL : PM_ROLE_WARNING;
}

#define TOLD_MOST 4 /* lines told at once; more of them are a list of their own */

/* What it asks for in short, below the list. */
static void way_whole(void *context, size_t index, struct pm_pick_row *row)
{
    const struct scale_room *room = context;
    const struct pm_rescue_offer *offer = &room->ways.items[index];
    char mass[PM_AMOUNT_TEXT];
    pm_mass added = 0;
    way_row(context, index, row);
    for (size_t i = 0; i < offer->count; i++)
        added += offer->items[i].add;
    if (offer->count == 0)
        pm_text_add(&row->cells[4], "Nothing is added");
    else
        pm_text_addf(&row->cells[4], "Still to pour %s", shown(room, added, mass));
    for (size_t i = 0; i < offer->count && offer->count <= TOLD_MOST; i++)
        pm_text_addf(&row->cells[4], "%s%s %s", i > 0 ? ", " : ": ", offer->items[i].name,
                     shown(room, offer->items[i].add, mass));
    if (offer->count > TOLD_MOST)
        pm_text_addf(&row->cells[4], " of %zu lines", offer->count);
    if (offer->left_over > 0)
        pm_text_addf(&row->cells[4], "; %s stays too much", shown(room, offer->left_over, mass));
}

/* The second look, and then it is gone. */
static enum pm_status way_accept(void *context, size_t index, const char *text,
                                 struct pm_error *err)
{
    struct scale_room *room = context;
    (void)text;
    room->way = index;
    if (chosen(room)->way == PM_RESCUE_ACCEPT) {
        const enum pm_rescue_way way = PM_RESCUE_ACCEPT;
        pm_become_release(&room->become);
        enum pm_status status =
            pm_batch_become(room->house->studio, room->open, &way, &room->become, err);
        if (status != PM_OK)
            return status;
        open_become(room);
    } else {
        open_steps(room);
    }
    return PM_OK;
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
        .title = "Too much was poured; Enter looks at a way, Esc leaves it open",
        .label = "Way",
        .columns =
            {{.heading = "way", .wish = 8},
             {.heading = "in all", .wish = 11, .align = PM_ALIGN_RIGHT, .measured = true},
             {.heading = "costs more", .wish = 13, .align = PM_ALIGN_RIGHT, .measured = true},
             {.heading = "then", .wish = 36},
             {.heading = "", .wish = 1, .grows = true}},
        .column_count = 5,
        .count = room->ways.count,
        .words = way_words,
        .row = way_whole,
        .accept = way_accept,
        .whole = 3,
        .context = room,
    };
    pm_picker_open(room->app, &spec);
}

/* ---- so far ---- */

void scale_become(void *state)
{
    struct scale_room *room = state;
    struct pm_text text = PM_TEXT_EMPTY;
    struct pm_error err = {0};
    pm_become_release(&room->become);
    enum pm_status status =
        pm_batch_become(room->house->studio, room->open, NULL, &room->become, &err);
    if (status == PM_OK)
        status = pm_become_text(&room->become, false, room->house->sign, &text, &err);
    if (status == PM_OK)
        scale_show_text(room, "What it has become", &text);
    else
        pm_app_error(room->app, &err);
    pm_text_release(&text);
}
