/* SPDX-License-Identifier: MIT */
/* The Shelf: the columns of both tables, what their cells show, and writing what was typed. */
#include "shelf.h"

#include "permille/base/clock.h"
#include "permille/studio/bottles.h"

#include <stdio.h>
#include <string.h>

const struct shelf_column shelf_list_columns[LIST_COLUMNS] = {
    [LIST_NAME] = {"material", 22, false, true, true, true, 34},
    [LIST_FAMILY] = {"family", 9, false, false, false, true, 12},
    [LIST_LEFT] = {"left", 10, true, false, false, false, 0},
    [LIST_STRENGTHS] = {"strengths", 13, false, false, false, false, 20},
    [LIST_STATE] = {"look at", 9, false, false, false, false, 0},
    [LIST_BOTTLES] = {"bottles", 7, true, false, false, false, 0},
    [LIST_LEVEL] = {"low below", 9, true, false, false, true, 0},
    [LIST_RATING] = {"rating", 6, true, false, false, true, 0},
    [LIST_KIND] = {"kind", 8, false, false, false, true, 0},
    [LIST_CAS] = {"CAS", 12, false, false, false, true, 0},
};

const struct shelf_column shelf_bottle_columns[BOTTLE_COLUMNS] = {
    [BOTTLE_LABEL] = {"label", 6, false, true, false, false, 0},
    [BOTTLE_STRENGTH] = {"strength", 8, true, true, false, true, 0},
    [BOTTLE_LEFT] = {"left", 10, true, true, false, true, 0},
    [BOTTLE_SOLVENT] = {"in", 11, false, false, true, true, 18},
    [BOTTLE_STATE] = {"look at", 12, false, false, false, false, 0},
    [BOTTLE_OPENED] = {"opened", 10, false, false, false, true, 0},
    [BOTTLE_BEST_BEFORE] = {"best before", 11, false, false, false, true, 0},
    [BOTTLE_PLACE] = {"place", 14, false, false, false, true, 18},
    [BOTTLE_PER_GRAM] = {"price per g", 12, true, false, false, false, 0},
    [BOTTLE_SUPPLIER] = {"supplier", 14, false, false, false, true, 0},
    [BOTTLE_LOT] = {"lot", 10, false, false, false, true, 20},
    [BOTTLE_PRICE] = {"paid", 12, true, false, false, true, 0},
    [BOTTLE_PRICED] = {"for", 9, true, false, false, true, 0},
    [BOTTLE_BOUGHT] = {"bought", 10, false, false, false, true, 0},
    [BOTTLE_TARE] = {"tare", 9, true, false, false, true, 0},
    [BOTTLE_FROM] = {"made from", 9, false, false, false, false, 0},
    [BOTTLE_NOTE] = {"note", 20, false, false, false, true, 40},
};

char *shelf_mass(const struct shelf *shelf, pm_mass mass, char *buf)
{
    return pm_mass_format(mass, mass == 0 ? 0 : 2, shelf->house->sign, buf);
}

char *shelf_strength(const struct shelf *shelf, pm_strength strength, char *buf)
{
    return pm_strength_about(strength, shelf->house->sign, buf);
}

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
    if (row->matched)
        pm_text_addf(out, " (%s)", row->matched);
    return row->bottles > 0 ? PM_ROLE_NORMAL : PM_ROLE_FAINT;
}

enum pm_role shelf_list_text(struct shelf *shelf, size_t row, size_t column, struct pm_text *out)
{
    const struct pm_shelf_row *item = &shelf->rows.items[row];
    char text[PM_AMOUNT_TEXT];
    switch (column) {
    case LIST_NAME:
        return list_name(item, out);
    case LIST_FAMILY:
        pm_text_add(out, item->family ? item->family : "");
        break;
    case LIST_LEFT:
        pm_text_add(out, item->bottles > 0 ? shelf_mass(shelf, item->poured, text) : "");
        break;
    case LIST_BOTTLES:
        if (item->bottles > 0)
            pm_text_addf(out, "%lld", (long long)item->bottles);
        return PM_ROLE_FAINT;
    case LIST_STRENGTHS:
        pm_text_add(out, shelf_strengths(shelf, row));
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
    default:
        pm_text_add(out, item->cas ? item->cas : "");
        return PM_ROLE_FAINT;
    }
    return PM_ROLE_NORMAL;
}

static void list_edited(const struct shelf *shelf, struct pm_text *out)
{
    const struct pm_shelf_row *row = shelf_row(shelf);
    char number[PM_AMOUNT_TEXT];
    switch (shelf->list.column) {
    case LIST_NAME:
        pm_text_add(out, row->name);
        break;
    case LIST_FAMILY:
        pm_text_add(out, row->family ? row->family : "");
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
    default:
        pm_text_add(out, row->cas ? row->cas : "");
    }
}

static enum pm_status list_write(struct shelf *shelf, const char *text, struct pm_error *err)
{
    struct pm_studio *studio = shelf->house->studio;
    struct pm_material_form form = {0};
    switch (shelf->list.column) {
    case LIST_NAME:
        form.name = text;
        break;
    case LIST_FAMILY:
        form.family = text;
        break;
    case LIST_LEVEL:
        return pm_shelf_set_fact(studio, shelf->material, "low", text, NULL, err);
    case LIST_RATING:
        return pm_shelf_set_fact(studio, shelf->material, "rating", text, NULL, err);
    case LIST_KIND:
        form.kind = text;
        break;
    default:
        form.cas = text;
    }
    return pm_shelf_edit(studio, shelf->material, &form, err);
}

/* ---- bottles ---- */

const char *shelf_bottle_state(const struct pm_bottle_card *card)
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

void shelf_per_gram(const struct shelf *shelf, const struct pm_bottle_card *card,
                    struct pm_text *out)
{
    pm_money gram;
    if (!card->currency[0] || card->priced_mass <= 0 ||
        !pm_muldiv(card->price, PM_GRAM, card->priced_mass, &gram))
        return;
    money(shelf, gram, card->currency, out);
}

void shelf_bottle_title(const struct shelf *shelf, const struct pm_bottle_card *card,
                        struct pm_text *out)
{
    char strength[PM_AMOUNT_TEXT];
    pm_text_addf(out, "%s %s", card->label, shelf_strength(shelf, card->strength, strength));
    if (card->solvent)
        pm_text_addf(out, " in %s", card->solvent);
}

static void add_day(int64_t day, struct pm_text *out)
{
    char date[PM_TIME_TEXT];
    if (day)
        pm_text_add(out, pm_time_date(day, date));
}

static void add_mass(const struct shelf *shelf, pm_mass mass, struct pm_text *out)
{
    char text[PM_AMOUNT_TEXT];
    if (mass)
        pm_text_add(out, shelf_mass(shelf, mass, text));
}

static void add_words(const char *words, struct pm_text *out)
{
    pm_text_add(out, words ? words : "");
}

static enum pm_role state_role(const struct pm_bottle_card *card)
{
    return card->left == 0 || card->set_aside ? PM_ROLE_FAINT
           : card->left < 0                   ? PM_ROLE_ERROR
                                              : PM_ROLE_WARNING;
}

enum pm_role shelf_bottle_text(const struct shelf *shelf, const struct pm_bottle_card *card,
                               size_t column, struct pm_text *out)
{
    char text[PM_AMOUNT_TEXT], label[PM_BOTTLE_LABEL];
    bool gone = card->left == 0 || card->set_aside;
    enum pm_role role = gone ? PM_ROLE_FAINT : PM_ROLE_NORMAL;
    switch (column) {
    case BOTTLE_LABEL:
        pm_text_add(out, card->label);
        return gone ? role : PM_ROLE_HEADING;
    case BOTTLE_STRENGTH:
        pm_text_add(out, shelf_strength(shelf, card->strength, text));
        break;
    case BOTTLE_LEFT:
        pm_text_add(out, shelf_mass(shelf, card->left, text));
        break;
    case BOTTLE_SOLVENT:
        add_words(card->solvent, out);
        break;
    case BOTTLE_STATE:
        add_words(shelf_bottle_state(card), out);
        return state_role(card);
    case BOTTLE_OPENED:
        add_day(card->opened, out);
        break;
    case BOTTLE_BEST_BEFORE:
        add_day(card->best_before, out);
        return card->past && !gone ? PM_ROLE_WARNING : role;
    case BOTTLE_PLACE:
        add_words(card->place, out);
        break;
    case BOTTLE_PER_GRAM:
        shelf_per_gram(shelf, card, out);
        break;
    case BOTTLE_SUPPLIER:
        add_words(card->supplier, out);
        break;
    case BOTTLE_LOT:
        add_words(card->lot, out);
        break;
    case BOTTLE_PRICE:
        if (card->currency[0])
            money(shelf, card->price, card->currency, out);
        break;
    case BOTTLE_PRICED:
        if (card->currency[0])
            add_mass(shelf, card->priced_mass, out);
        break;
    case BOTTLE_BOUGHT:
        add_day(card->bought, out);
        break;
    case BOTTLE_TARE:
        add_mass(shelf, card->tare, out);
        break;
    case BOTTLE_FROM:
        if (card->made_from)
            pm_text_add(out, pm_bottle_label(card->made_from, label));
        break;
    default:
        add_words(card->note, out);
    }
    return role;
}

static void exact_mass(const struct shelf *shelf, pm_mass mass, struct pm_text *out)
{
    char number[PM_AMOUNT_TEXT];
    if (mass)
        pm_text_addf(out, "%s g", pm_decimal_exact(mass, 6, shelf->house->sign, number));
}

/* As it is edited: what is rounded on the screen stands exactly. */
static void bottle_edited(const struct shelf *shelf, const struct pm_bottle_card *card,
                          struct pm_text *out)
{
    char strength[PM_AMOUNT_TEXT];
    switch (shelf->bottles.column) {
    case BOTTLE_STRENGTH:
        pm_text_add(out, shelf_strength(shelf, card->strength, strength));
        break;
    case BOTTLE_LEFT:
        if (card->left >= 0)
            exact_mass(shelf, card->left, out);
        break;
    case BOTTLE_PRICED:
        exact_mass(shelf, card->currency[0] ? card->priced_mass : 0, out);
        break;
    case BOTTLE_TARE:
        exact_mass(shelf, card->tare, out);
        break;
    default:
        shelf_bottle_text(shelf, card, shelf->bottles.column, out);
    }
}

static enum pm_status bottle_write(struct shelf *shelf, const char *text, struct pm_error *err)
{
    struct pm_studio *studio = shelf->house->studio;
    struct pm_bottle_form form = {0};
    const char **const fields[BOTTLE_COLUMNS] = {
        [BOTTLE_STRENGTH] = &form.strength,
        [BOTTLE_SOLVENT] = &form.solvent,
        [BOTTLE_OPENED] = &form.opened,
        [BOTTLE_BEST_BEFORE] = &form.best_before,
        [BOTTLE_PLACE] = &form.place,
        [BOTTLE_SUPPLIER] = &form.supplier,
        [BOTTLE_LOT] = &form.lot,
        [BOTTLE_PRICE] = &form.price,
        [BOTTLE_PRICED] = &form.priced_mass,
        [BOTTLE_BOUGHT] = &form.bought,
        [BOTTLE_TARE] = &form.tare,
        [BOTTLE_NOTE] = &form.note,
    };
    if (shelf->bottles.column == BOTTLE_LEFT) {
        pm_mass found;
        enum pm_status status = pm_mass_read(text, &found, err);
        if (status != PM_OK)
            return status;
        return pm_bottle_count(studio, shelf->bottle, found, NULL, 0, err);
    }
    *fields[shelf->bottles.column] = text;
    return pm_bottle_edit(studio, shelf->bottle, &form, err);
}

/* ---- the cell under the cursor ---- */

bool shelf_cell_edited(const struct shelf *shelf, struct pm_text *out, struct pm_error *err)
{
    const struct pm_bottle_card *card = shelf_bottle(shelf);
    const struct shelf_table *table = shelf->inside ? &shelf->bottles : &shelf->list;
    if (shelf->inside ? !card : !shelf_row(shelf)) {
        pm_fail(err, PM_MISSING, "There is nothing to edit yet.");
        return false;
    }
    if (!table->columns[table->column].edited) {
        pm_fail(err, PM_REFUSED, "The column \"%s\" is worked out and cannot be typed.",
                table->columns[table->column].heading);
        return false;
    }
    if (shelf->inside)
        bottle_edited(shelf, card, out);
    else
        list_edited(shelf, out);
    return true;
}

enum pm_status shelf_cell_write(struct shelf *shelf, const char *text, struct pm_error *err)
{
    return shelf->inside ? bottle_write(shelf, text, err) : list_write(shelf, text, err);
}
