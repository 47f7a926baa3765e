/* SPDX-License-Identifier: MIT */
/* The Shelf: everything about the selected material or bottle, beside the sheet where there is
 * room. */
#include "shelf.h"

#include "permille/base/clock.h"
#include "permille/base/utf8.h"

#include <stdio.h>
#include <string.h>

#define DOT   " \xC2\xB7 "
#define LABEL 12 /* cells of the labels */

struct writer {
    const struct shelf *shelf;
    const struct pm_pane *pane;
    int row;
};

static void gap(struct writer *to)
{
    to->row++;
}

/* A label and wrapped text beside it; nothing for an empty text. */
static void fact(struct writer *to, const char *label, enum pm_role role, const char *text)
{
    to->row = pm_pane_fact(to->pane, to->row, LABEL, label, role, text);
}

static void heading(struct writer *to, const char *text)
{
    struct pm_pane name = pm_pane_part(to->pane, to->row, 0, 3, to->pane->columns);
    to->row += pm_pane_wrap(&name, 0, PM_ROLE_HEADING, text);
}

/* ---- a material ---- */

static void draw_stock(struct writer *to, const struct pm_shelf_row *row)
{
    char left[PM_AMOUNT_TEXT], text[PM_AMOUNT_TEXT * 3];
    if (row->bottles == 0) {
        fact(to, "stock", PM_ROLE_FAINT, "nothing");
    } else {
        /* What is poured of several strengths makes no sum; their list says it. */
        snprintf(text, sizeof text, "%s neat, in %lld bottle%s",
                 shelf_mass(to->shelf, row->neat, left), (long long)row->bottles,
                 row->bottles == 1 ? "" : "s");
        fact(to, "stock", PM_ROLE_NORMAL, text);
    }
    if (row->level >= 0) {
        snprintf(text, sizeof text, "below %s%s", shelf_mass(to->shelf, row->level, left),
                 row->low ? ": it is" : "");
        fact(to, "low", row->low ? PM_ROLE_WARNING : PM_ROLE_NORMAL, text);
    }
}

static void draw_card(struct writer *to, const struct pm_material *card)
{
    for (int i = PM_MATERIAL_NAME + 1; i < PM_MATERIAL_ATTRIBUTES; i++)
        to->row = pm_pane_attribute(to->pane, to->row, LABEL, &pm_material_entity.attributes[i],
                                    card, to->shelf->house->sign);
}

/* What fits where the labels stand: the word of a property, or what is shorter. buf holds 32 bytes.
 */
static const char *short_label(const struct pm_fact_entry *entry, char *buf)
{
    static const struct {
        const char *property, *label;
    } shorter[] = {{"descriptors", "odour"},
                   {"melting_point", "melts at"},
                   {"boiling_point", "boils at"},
                   {"vapour_pressure", "pressure"},
                   {"vapour_pressure_least", "  from"},
                   {"vapour_pressure_most", "  to"},
                   {"vapour_pressure_basis", "  basis"}};
    for (size_t i = 0; i < sizeof shorter / sizeof *shorter; i++)
        if (strcmp(entry->property, shorter[i].property) == 0)
            return shorter[i].label;
    snprintf(buf, 32, "%s", entry->property);
    for (char *at = buf; *at; at++)
        *at = *at == '_' ? ' ' : *at;
    return buf;
}

/* What is known of it; own values are marked, those from memory as well. */
static void draw_facts(struct writer *to, const struct pm_fact_entries *facts)
{
    struct pm_text text = PM_TEXT_EMPTY;
    for (size_t i = 0; i < facts->count; i++) {
        const struct pm_fact_entry *entry = &facts->items[i];
        char label[32];
        /* Level and rating stand among the stock. */
        if (!entry->stands || strcmp(entry->property, "low") == 0 ||
            strcmp(entry->property, "rating") == 0)
            continue;
        pm_text_clear(&text);
        pm_text_addf(&text, "%s%s", entry->text,
                     entry->own                                 ? " (own)"
                     : strcmp(entry->confidence, "memory") == 0 ? " (from memory)"
                                                                : "");
        fact(to, short_label(entry, label), PM_ROLE_NORMAL, pm_text_get(&text));
        if (strcmp(entry->property, "density") == 0)
            break; /* the rest stands on the page of facts */
    }
    pm_text_release(&text);
}

static void draw_cautions(struct writer *to, const struct pm_cautions *cautions)
{
    for (size_t i = 0; i + 1 < cautions->count; i++) {
        const struct pm_caution *caution = &cautions->items[i];
        fact(to, caution->topic, caution->known ? PM_ROLE_WARNING : PM_ROLE_FAINT,
             caution->known ? caution->sentence : "unknown, which does not mean safe");
    }
}

/* Words from `column` on, cut where need be, and an amount at the right, which never is. */
static void put_amount(const struct writer *to, int column, enum pm_role role, const char *words,
                       const char *amount)
{
    const int cells = (int)pm_utf8_cells(amount), from = to->pane->columns - cells;
    pm_pane_put_left(to->pane, to->row, column, from - 1 - column, role, words);
    pm_pane_put_right(to->pane, to->row, from, cells, PM_ROLE_NORMAL, amount);
}

static void draw_bottle_list(struct writer *to, const struct pm_bottles *cards)
{
    char left[PM_AMOUNT_TEXT];
    struct pm_text title = PM_TEXT_EMPTY;
    for (size_t i = 0; i < cards->count && to->row < to->pane->rows; i++, to->row++) {
        const struct pm_bottle *card = &cards->items[i];
        const char *state = shelf_bottle_state(card);
        pm_text_clear(&title);
        shelf_bottle_title(to->shelf, card, &title);
        if (*state)
            pm_text_addf(&title, DOT "%s", state);
        put_amount(to, 0, *state ? PM_ROLE_WARNING : PM_ROLE_NORMAL, pm_text_get(&title),
                   shelf_mass(to->shelf, card->left, left));
    }
    pm_text_release(&title);
}

static void draw_material(struct writer *to)
{
    const struct shelf *shelf = to->shelf;
    const struct pm_shelf_row *row = shelf_row(shelf);
    const struct shelf_about *about = &shelf->about;
    heading(to, row->name);
    draw_stock(to, row);
    if (row->rating > 0) {
        char text[32];
        snprintf(text, sizeof text, "%lld of 5", (long long)row->rating);
        fact(to, "rating", PM_ROLE_NORMAL, text);
    }
    if (about->card_read)
        draw_card(to, &about->card);
    if (about->facts_read) {
        gap(to);
        draw_facts(to, &about->facts);
    }
    if (about->cautions_read) {
        gap(to);
        draw_cautions(to, &about->cautions);
    }
    if (about->bottles_read && about->bottles.count > 0 && !shelf->bottles_shown) {
        gap(to);
        draw_bottle_list(to, &about->bottles);
    }
}

/* ---- a bottle ---- */

static void draw_ledger(struct writer *to, const struct pm_movements *ledger)
{
    char date[PM_TIME_TEXT], mass[PM_AMOUNT_TEXT], other[PM_BOTTLE_LABEL];
    if (ledger->count == 0)
        return;
    gap(to);
    pm_pane_put(to->pane, to->row++, 0, PM_ROLE_FAINT, "in and out, newest first");
    for (size_t i = ledger->count; i-- > 0 && to->row < to->pane->rows; to->row++) {
        const struct pm_movement *line = &ledger->items[i];
        char what[160], amount[PM_AMOUNT_TEXT + 1];
        snprintf(what, sizeof what, "%s%s%s", pm_move_word(line->kind),
                 line->other == 0 ? ""
                 : line->mass < 0 ? " into "
                                  : " from ",
                 line->other != 0 ? pm_bottle_label(line->other, other) : "");
        pm_pane_put(to->pane, to->row, 0, PM_ROLE_FAINT, pm_time_date(line->at, date));
        snprintf(amount, sizeof amount, "%s%s", line->mass < 0 ? "-" : "+",
                 shelf_mass(to->shelf, line->mass < 0 ? -line->mass : line->mass, mass));
        put_amount(to, 12, PM_ROLE_NORMAL, what, amount);
    }
}

static void tell_price(const struct shelf *shelf, const struct pm_bottle *card, struct pm_text *out)
{
    shelf_per_gram(shelf, card, out);
    pm_text_add(out, out->length > 0 ? " per g" : "unknown");
}

static void draw_bottle(struct writer *to, const struct pm_bottle *card)
{
    static const int told[] = {PM_BOTTLE_OPENED,   PM_BOTTLE_BEST_BEFORE, PM_BOTTLE_PLACE,
                               PM_BOTTLE_SUPPLIER, PM_BOTTLE_LOT,         PM_BOTTLE_BOUGHT,
                               PM_BOTTLE_PRICE,    PM_BOTTLE_TARE,        PM_BOTTLE_MADE_FROM,
                               PM_BOTTLE_NOTE};
    const struct shelf *shelf = to->shelf;
    struct pm_text text = PM_TEXT_EMPTY;
    char mass[PM_AMOUNT_TEXT], label[PM_OPTION_TEXT];
    shelf_bottle_title(shelf, card, &text);
    heading(to, pm_text_get(&text));
    fact(to, "of", PM_ROLE_NORMAL, card->name);
    fact(to, "left", PM_ROLE_NORMAL, shelf_mass(shelf, card->left, mass));
    fact(to, "look at", PM_ROLE_WARNING, shelf_bottle_state(card));
    for (size_t i = 0; i < sizeof told / sizeof *told; i++) {
        const struct pm_attribute *attribute = &pm_bottle_entity.attributes[told[i]];
        pm_text_clear(&text);
        if (told[i] == PM_BOTTLE_PRICE)
            tell_price(shelf, card, &text);
        else
            pm_attribute_show(attribute, card, shelf->house->sign, &text);
        fact(to, pm_attribute_brief(attribute, label, sizeof label),
             told[i] == PM_BOTTLE_BEST_BEFORE && card->past ? PM_ROLE_WARNING : PM_ROLE_NORMAL,
             pm_text_get(&text));
    }
    pm_text_release(&text);
    if (shelf->about.bottle == card->id)
        draw_ledger(to, &shelf->about.ledger);
}

void shelf_draw_details(const struct shelf *shelf, const struct pm_pane *pane)
{
    struct writer to = {shelf, pane, 0};
    const struct pm_bottle *card = shelf_bottle(shelf);
    if (pane->columns < 24 || shelf_row(shelf) == NULL)
        return;
    if (shelf->inside && card != NULL)
        draw_bottle(&to, card);
    else
        draw_material(&to);
}

/* ---- one line of it, for narrow screens ---- */

static void describe_bottle(const struct shelf *shelf, const struct pm_bottle *card,
                            struct pm_text *out)
{
    const char *state = shelf_bottle_state(card);
    shelf_bottle_title(shelf, card, out);
    if (*state)
        pm_text_addf(out, DOT "%s", state);
    if (card->lot != NULL)
        pm_text_addf(out, DOT "lot %s", card->lot);
    if (card->supplier != NULL)
        pm_text_addf(out, DOT "%s", card->supplier);
    if (card->place != NULL)
        pm_text_addf(out, DOT "%s", card->place);
}

void shelf_describe(const struct shelf *shelf, struct pm_text *out)
{
    const struct pm_bottle *card = shelf_bottle(shelf);
    const struct pm_shelf_row *row = shelf_row(shelf);
    if (shelf->inside && card != NULL) {
        describe_bottle(shelf, card, out);
        return;
    }
    if (row == NULL || !shelf->about.card_read)
        return;
    pm_text_add(out, row->name);
    for (size_t i = 0; i < shelf->about.facts.count && shelf->about.facts_read; i++) {
        const struct pm_fact_entry *entry = &shelf->about.facts.items[i];
        if (entry->stands && strcmp(entry->property, "descriptors") == 0)
            pm_text_addf(out, DOT "%s", entry->text);
    }
    if (row->cas != NULL)
        pm_text_addf(out, DOT "CAS %s", row->cas);
    if (shelf->about.card.note != NULL)
        pm_text_addf(out, DOT "%s", shelf->about.card.note);
}
