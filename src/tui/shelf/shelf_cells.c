/* SPDX-License-Identifier: MIT */
/* The Shelf: the columns of both tables, what their cells show, and writing what was typed. */
#include "shelf.h"

#include "permille/base/clock.h"
#include "permille/core/volume.h"
#include "permille/studio/bottles.h"
#include "permille/studio/volumes.h"

#include <stdio.h>
#include <string.h>

static const struct pm_column list_columns[LIST_COLUMNS] = {
    [LIST_NAME] = {.heading = "material",
                   .wish = 22,
                   .most = 34,
                   .fixed = true,
                   .grows = true,
                   .edited = true},
    [LIST_FAMILY] = {.heading = "family", .wish = 9, .most = 12, .edited = true},
    [LIST_LEFT] = {.heading = "neat left", .wish = 10, .align = PM_ALIGN_RIGHT, .measured = true},
    [LIST_STRENGTHS] = {.heading = "strengths", .wish = 13, .most = 20},
    [LIST_STATE] = {.heading = "look at", .wish = 9},
    [LIST_BOTTLES] = {.heading = "bottles", .wish = 7, .align = PM_ALIGN_RIGHT},
    [LIST_LEVEL] = {.heading = "low below",
                    .wish = 9,
                    .align = PM_ALIGN_RIGHT,
                    .measured = true,
                    .edited = true},
    [LIST_RATING] = {.heading = "rating", .wish = 6, .align = PM_ALIGN_RIGHT, .edited = true},
    [LIST_KIND] = {.heading = "kind", .wish = 8, .edited = true},
    [LIST_CAS] = {.heading = "CAS", .wish = 12, .edited = true},
};

static const struct pm_column bottle_columns[BOTTLE_COLUMNS] = {
    [BOTTLE_LABEL] = {.heading = "label", .wish = 6, .fixed = true},
    [BOTTLE_STRENGTH] =
        {.heading = "strength", .wish = 8, .align = PM_ALIGN_RIGHT, .fixed = true, .edited = true},
    [BOTTLE_LEFT] = {.heading = "left",
                     .wish = 10,
                     .align = PM_ALIGN_RIGHT,
                     .measured = true,
                     .fixed = true,
                     .edited = true},
    [BOTTLE_VOLUME] = {.heading = "volume",
                       .align = PM_ALIGN_RIGHT,
                       .measured = true,
                       .optional = true,
                       .fixed = true,
                       .from = 100},
    [BOTTLE_SOLVENT] = {.heading = "in", .wish = 11, .most = 18, .grows = true, .edited = true},
    [BOTTLE_STATE] = {.heading = "look at", .wish = 12},
    [BOTTLE_OPENED] = {.heading = "opened", .wish = 10, .edited = true},
    [BOTTLE_BEST_BEFORE] = {.heading = "best before", .wish = 11, .edited = true},
    [BOTTLE_PLACE] = {.heading = "place", .wish = 14, .most = 18, .edited = true},
    [BOTTLE_PER_GRAM] = {.heading = "price per g",
                         .wish = 12,
                         .align = PM_ALIGN_RIGHT,
                         .measured = true},
    [BOTTLE_SUPPLIER] = {.heading = "supplier", .wish = 14, .edited = true},
    [BOTTLE_LOT] = {.heading = "lot", .wish = 10, .most = 20, .edited = true},
    [BOTTLE_PRICE] =
        {.heading = "paid", .wish = 12, .align = PM_ALIGN_RIGHT, .measured = true, .edited = true},
    [BOTTLE_PRICED] =
        {.heading = "for", .wish = 9, .align = PM_ALIGN_RIGHT, .measured = true, .edited = true},
    [BOTTLE_BOUGHT] = {.heading = "bought", .wish = 10, .edited = true},
    [BOTTLE_TARE] =
        {.heading = "tare", .wish = 9, .align = PM_ALIGN_RIGHT, .measured = true, .edited = true},
    [BOTTLE_FROM] = {.heading = "made from", .wish = 9},
    [BOTTLE_NOTE] = {.heading = "note", .wish = 20, .most = 40, .edited = true},
};

/* ---- materials ---- */

static enum pm_role list_state(const struct pm_shelf_row *row, struct pm_text *out)
{
    pm_text_addf(out, "%s%s%s", row->old ? "past date" : "", row->old && row->low ? ", " : "",
                 row->low ? "low" : "");
    return PM_ROLE_WARNING;
}

static enum pm_role list_name(const struct pm_shelf_row *row, struct pm_text *out)
{
    pm_text_add(out, row->name);
    if (row->matched != NULL)
        pm_text_addf(out, " (%s)", row->matched);
    return row->bottles > 0 ? PM_ROLE_NORMAL : PM_ROLE_FAINT;
}

static enum pm_role list_cell(void *context, size_t row, size_t column, struct pm_text *out)
{
    struct shelf *shelf = context;
    const struct pm_shelf_row *item = &shelf->rows.items[row];
    char text[PM_AMOUNT_TEXT];
    switch ((enum shelf_list_column)column) {
    case LIST_NAME:
        return list_name(item, out);
    case LIST_FAMILY:
        pm_text_add(out, item->family != NULL ? item->family : "");
        break;
    case LIST_LEFT:
        pm_text_add(out, item->bottles > 0 ? shelf_mass(shelf, item->neat, text) : "");
        break;
    case LIST_BOTTLES:
        if (item->bottles > 0)
            pm_text_addf(out, "%lld", (long long)item->bottles);
        return PM_ROLE_FAINT;
    case LIST_STRENGTHS:
        if (shelf->strengths != NULL && shelf->strengths[row] != NULL)
            pm_text_add(out, shelf->strengths[row]);
        break;
    case LIST_STATE:
        return list_state(item, out);
    case LIST_LEVEL:
        pm_text_add(out, item->level >= 0 ? shelf_mass(shelf, item->level, text) : "");
        return PM_ROLE_FAINT;
    case LIST_RATING:
        if (item->rating > 0)
            pm_text_addf(out, "%lld", (long long)item->rating);
        break;
    case LIST_KIND:
        pm_text_add(out, item->kind);
        return PM_ROLE_FAINT;
    case LIST_CAS:
        pm_text_add(out, item->cas != NULL ? item->cas : "");
        return PM_ROLE_FAINT;
    case LIST_COLUMNS:
        break;
    }
    return PM_ROLE_NORMAL;
}

static enum pm_status list_open(void *context, size_t place, size_t column, struct pm_text *out,
                                struct pm_error *err)
{
    const struct shelf *shelf = context;
    const struct pm_shelf_row *row = &shelf->rows.items[place];
    char number[PM_AMOUNT_TEXT];
    (void)err;
    switch (column) {
    case LIST_NAME:
        pm_text_add(out, row->name);
        break;
    case LIST_FAMILY:
        pm_text_add(out, row->family != NULL ? row->family : "");
        break;
    case LIST_LEVEL:
        if (row->level >= 0)
            pm_text_addf(out, "%s g", pm_decimal_exact(row->level, 6, shelf->house->sign, number));
        break;
    case LIST_RATING:
        if (row->rating > 0)
            pm_text_addf(out, "%lld", (long long)row->rating);
        break;
    case LIST_KIND:
        pm_text_add(out, row->kind);
        break;
    case LIST_CAS:
        pm_text_add(out, row->cas != NULL ? row->cas : "");
        break;
    default:
        break;
    }
    return PM_OK;
}

/* What was typed is in the file: the cell is closed before anything is read again. */
static enum pm_status taken(struct shelf *shelf, enum pm_status status)
{
    if (status != PM_OK)
        return status;
    shelf_edit_stop(shelf);
    shelf_written(shelf, 0);
    pm_app_say(shelf->app, "Saved.");
    return PM_OK;
}

static enum pm_status list_edit(struct shelf *shelf, size_t column, const char *text,
                                struct pm_error *err)
{
    struct pm_studio *studio = shelf->house->studio;
    static const unsigned char attributes[LIST_COLUMNS] = {[LIST_NAME] = PM_MATERIAL_NAME,
                                                           [LIST_FAMILY] = PM_MATERIAL_FAMILY,
                                                           [LIST_KIND] = PM_MATERIAL_KIND,
                                                           [LIST_CAS] = PM_MATERIAL_CAS};
    const char *values[PM_MATERIAL_ATTRIBUTES] = {NULL};
    if (column == LIST_LEVEL || column == LIST_RATING)
        return pm_shelf_set_fact(studio, shelf->material, column == LIST_LEVEL ? "low" : "rating",
                                 text, NULL, err);
    values[attributes[column]] = text;
    return pm_shelf_edit(studio, shelf->material, values, err);
}

static enum pm_status list_write(void *context, size_t row, size_t column, const char *text,
                                 struct pm_error *err)
{
    (void)row;
    return taken(context, list_edit(context, column, text, err));
}

struct pm_table shelf_list_table(struct shelf *shelf)
{
    return (struct pm_table){.columns = list_columns,
                             .column_count = LIST_COLUMNS,
                             .rows = shelf->rows.count,
                             .unread = shelf->rows.more,
                             .context = shelf,
                             .cell = list_cell,
                             .open = list_open,
                             .write = list_write,
                             .by_cell = true,
                             .idle = shelf->inside || shelf->searching};
}

/* ---- bottles ---- */

const char *shelf_bottle_state(const struct pm_bottle *card)
{
    if (card->set_aside)
        return "set aside";
    if (card->left < 0)
        return "below zero";
    if (card->left == 0)
        return "empty";
    if (card->past)
        return "past date";
    return card->nearly_empty ? "nearly empty" : "";
}

static void money(const struct shelf *shelf, pm_money amount, const char *currency,
                  struct pm_text *out)
{
    char text[PM_AMOUNT_TEXT];
    int places = pm_decimal_places(amount, 6, 2);
    pm_text_addf(out, "%s %s", pm_decimal_format(amount, 6, places, shelf->house->sign, text),
                 currency);
}

void shelf_per_gram(const struct shelf *shelf, const struct pm_bottle *card, struct pm_text *out)
{
    pm_money gram;
    if (!card->currency[0] || card->priced_mass <= 0 ||
        !pm_muldiv(card->price, PM_GRAM, card->priced_mass, &gram))
        return;
    money(shelf, gram, card->currency, out);
}

void shelf_bottle_title(const struct shelf *shelf, const struct pm_bottle *card,
                        struct pm_text *out)
{
    char strength[PM_AMOUNT_TEXT];
    pm_text_addf(out, "%s %s", card->label, shelf_strength(shelf, card->strength, strength));
    if (card->solvent_name != NULL)
        pm_text_addf(out, " in %s", card->solvent_name);
}

/* The attribute that a column shows and edits; NULL: it is worked out. */
static const struct pm_attribute *attribute_of(size_t column)
{
    static const unsigned char attributes[BOTTLE_COLUMNS] = {
        [BOTTLE_STRENGTH] = 1 + PM_BOTTLE_STRENGTH,
        [BOTTLE_SOLVENT] = 1 + PM_BOTTLE_SOLVENT,
        [BOTTLE_OPENED] = 1 + PM_BOTTLE_OPENED,
        [BOTTLE_BEST_BEFORE] = 1 + PM_BOTTLE_BEST_BEFORE,
        [BOTTLE_PLACE] = 1 + PM_BOTTLE_PLACE,
        [BOTTLE_SUPPLIER] = 1 + PM_BOTTLE_SUPPLIER,
        [BOTTLE_LOT] = 1 + PM_BOTTLE_LOT,
        [BOTTLE_PRICE] = 1 + PM_BOTTLE_PRICE,
        [BOTTLE_PRICED] = 1 + PM_BOTTLE_PRICED_MASS,
        [BOTTLE_BOUGHT] = 1 + PM_BOTTLE_BOUGHT,
        [BOTTLE_TARE] = 1 + PM_BOTTLE_TARE,
        [BOTTLE_FROM] = 1 + PM_BOTTLE_MADE_FROM,
        [BOTTLE_NOTE] = 1 + PM_BOTTLE_NOTE,
    };
    return attributes[column] > 0 ? &pm_bottle_entity.attributes[attributes[column] - 1] : NULL;
}

static enum pm_role state_role(const struct pm_bottle *card)
{
    return card->left == 0 || card->set_aside ? PM_ROLE_FAINT
           : card->left < 0                   ? PM_ROLE_ERROR
                                              : PM_ROLE_WARNING;
}

static enum pm_role bottle_cell(void *context, size_t place, size_t column, struct pm_text *out)
{
    const struct shelf *shelf = context;
    const struct pm_bottle *card = &shelf->about.bottles.items[place];
    char text[PM_AMOUNT_TEXT];
    bool gone = card->left == 0 || card->set_aside;
    enum pm_role role = gone ? PM_ROLE_FAINT : PM_ROLE_NORMAL;
    switch (column) {
    case BOTTLE_LABEL:
        pm_text_add(out, card->label);
        return gone ? role : PM_ROLE_HEADING;
    case BOTTLE_LEFT:
        pm_text_add(out, shelf_mass(shelf, card->left, text));
        break;
    case BOTTLE_VOLUME:
        pm_text_add(out, pm_volume_format(card->left_ul, shelf->house->sign, text));
        return PM_ROLE_FAINT;
    case BOTTLE_STATE:
        pm_text_add(out, shelf_bottle_state(card));
        return state_role(card);
    case BOTTLE_PER_GRAM:
        shelf_per_gram(shelf, card, out);
        break;
    default:
        pm_attribute_show(attribute_of(column), card, shelf->house->sign, out);
    }
    return column == BOTTLE_BEST_BEFORE && card->past && !gone ? PM_ROLE_WARNING : role;
}

/* As it is edited: what is rounded on the screen stands exactly. */
static enum pm_status bottle_open(void *context, size_t place, size_t column, struct pm_text *out,
                                  struct pm_error *err)
{
    const struct shelf *shelf = context;
    const struct pm_bottle *card = &shelf->about.bottles.items[place];
    char number[PM_AMOUNT_TEXT];
    (void)err;
    if (column != BOTTLE_LEFT)
        pm_attribute_exact(attribute_of(column), card, shelf->house->sign, out);
    else if (card->left > 0)
        pm_text_addf(out, "%s g", pm_decimal_exact(card->left, 6, shelf->house->sign, number));
    return PM_OK;
}

static enum pm_status bottle_edit(struct shelf *shelf, size_t column, const char *text,
                                  struct pm_error *err)
{
    struct pm_studio *studio = shelf->house->studio;
    const char *values[PM_BOTTLE_ATTRIBUTES] = {NULL};
    if (column == BOTTLE_LEFT) {
        pm_mass found;
        enum pm_status status = pm_bottle_amount(studio, shelf->bottle, text, &found, err);
        if (status != PM_OK)
            return status;
        return pm_bottle_count(studio, shelf->bottle, found, NULL, 0, err);
    }
    values[attribute_of(column) - pm_bottle_entity.attributes] = text;
    return pm_bottle_edit(studio, shelf->bottle, values, err);
}

static enum pm_status bottle_write(void *context, size_t row, size_t column, const char *text,
                                   struct pm_error *err)
{
    (void)row;
    return taken(context, bottle_edit(context, column, text, err));
}

/* Those that cost goes by. */
static enum pm_role bottle_mark(void *context, size_t row, struct pm_text *out)
{
    const struct shelf *shelf = context;
    pm_text_add(out, shelf_is_chosen(shelf, shelf->about.bottles.items[row].id) ? "*" : "");
    return PM_ROLE_KEY;
}

struct pm_table shelf_bottle_table(struct shelf *shelf)
{
    return (struct pm_table){.columns = bottle_columns,
                             .column_count = BOTTLE_COLUMNS,
                             .rows = shelf->about.bottles_read ? shelf->about.bottles.count : 0,
                             .context = shelf,
                             .cell = bottle_cell,
                             .mark = bottle_mark,
                             .open = bottle_open,
                             .write = bottle_write,
                             .by_cell = true,
                             .idle = !shelf->inside || shelf->searching};
}

struct pm_table shelf_front_table(struct shelf *shelf, struct pm_table_view **view)
{
    *view = shelf->inside ? &shelf->bottles : &shelf->list;
    return shelf->inside ? shelf_bottle_table(shelf) : shelf_list_table(shelf);
}
