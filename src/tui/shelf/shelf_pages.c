/* SPDX-License-Identifier: MIT */
/* The Shelf: pages to read: facts with their sources, a bottle's ledger, history, shopping. */
#include "shelf.h"

#include "kit/overlay.h"

#include "permille/base/clock.h"
#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/core/fact.h"

#include <stdio.h>
#include <string.h>

#define HISTORY_MOST 400
#define DOT          " \xC2\xB7 "

void shelf_pad(struct pm_text *out, const char *text, int cells, bool right)
{
    int width = (int)pm_utf8_cells(text);
    if (width > cells) {
        pm_text_add_bytes(out, text, pm_utf8_fit(text, (size_t)cells - 1));
        pm_text_add(out, "\xE2\x80\xA6");
        return;
    }
    for (int i = width; right && i < cells; i++)
        pm_text_add_char(out, ' ');
    pm_text_add(out, text);
    for (int i = width; !right && i < cells; i++)
        pm_text_add_char(out, ' ');
}

static void blank_line(struct pm_page *page)
{
    pm_page_add(page, PM_ROLE_NORMAL, 0, "");
}

/* ---- facts ---- */

#define FACT_LABEL 32
#define FACT_VALUE 4 /* cells a source is indented by */

static const char *confidence_words(const char *confidence)
{
    return strcmp(confidence, "checked") == 0     ? "checked against the source"
           : strcmp(confidence, "memory") == 0    ? "from memory, not checked"
           : strcmp(confidence, "predicted") == 0 ? "predicted by a model, not measured"
                                                  : "your own";
}

static void add_fact(struct pm_page *page, const struct pm_fact_entry *entry)
{
    struct pm_text line = PM_TEXT_EMPTY;
    enum pm_role role = entry->stands ? PM_ROLE_NORMAL : PM_ROLE_FAINT;
    shelf_pad(&line, entry->label, FACT_LABEL, false);
    pm_text_addf(&line, "%s%s", entry->text, entry->stands ? "" : " (your own value counts)");
    pm_page_add(page, role, FACT_LABEL, pm_text_get(&line));
    pm_page_addf(page, PM_ROLE_FAINT, FACT_VALUE, "    %s" DOT "%s",
                 confidence_words(entry->confidence),
                 entry->source != NULL ? entry->source : "no source given");
    pm_text_release(&line);
}

/* What nobody has said anything about: shown as unknown, not left out. */
static void add_unknown(struct pm_page *page, const struct pm_fact_entries *facts)
{
    struct pm_text line = PM_TEXT_EMPTY;
    for (size_t i = 0; i < pm_fact_property_count; i++) {
        bool known = false;
        for (size_t k = 0; k < facts->count && !known; k++)
            known = strcmp(facts->items[k].property, pm_fact_properties[i].word) == 0;
        if (!known)
            pm_text_addf(&line, "%s%s", line.length > 0 ? ", " : "", pm_fact_properties[i].label);
    }
    if (line.length > 0)
        pm_page_addf(page, PM_ROLE_FAINT, 9, "unknown: %s", pm_text_get(&line));
    pm_text_release(&line);
}

static void fraction(const struct shelf *shelf, int64_t value, struct pm_text *out)
{
    char text[PM_AMOUNT_TEXT], percent[PM_AMOUNT_TEXT + 4];
    if (value < 0) {
        shelf_pad(out, "?", 9, true);
        return;
    }
    snprintf(percent, sizeof percent, "%s %%",
             pm_decimal_exact(value, 7, shelf->house->sign, text));
    shelf_pad(out, percent, 9, true);
}

static void add_constituents(const struct shelf *shelf, struct pm_page *page)
{
    struct pm_constituents entries;
    struct pm_text line = PM_TEXT_EMPTY;
    if (pm_shelf_constituents(shelf->house->studio, shelf->material, &entries, NULL) != PM_OK)
        return;
    if (entries.count > 0) {
        blank_line(page);
        shelf_pad(&line, "Constituents", 34, false);
        shelf_pad(&line, "least", 9, true);
        shelf_pad(&line, "typical", 9, true);
        shelf_pad(&line, "most", 9, true);
        pm_page_add(page, PM_ROLE_HEADING, 0, pm_text_get(&line));
    }
    for (size_t i = 0; i < entries.count; i++) {
        const struct pm_constituent *entry = &entries.items[i];
        pm_text_clear(&line);
        shelf_pad(&line, entry->name, 34, false);
        fraction(shelf, entry->least, &line);
        fraction(shelf, entry->typical, &line);
        fraction(shelf, entry->most, &line);
        pm_page_add(page, PM_ROLE_NORMAL, 0, pm_text_get(&line));
        pm_page_addf(page, PM_ROLE_FAINT, FACT_VALUE, "    %s" DOT "%s",
                     confidence_words(pm_confidence_word(entry->confidence)),
                     entry->source != NULL ? entry->source : "no source given");
    }
    pm_text_release(&line);
    pm_list_release(&entries);
}

static void add_cautions(struct pm_page *page, const struct pm_cautions *cautions)
{
    blank_line(page);
    pm_page_add(page, PM_ROLE_HEADING, 0, "Take care");
    for (size_t i = 0; i < cautions->count; i++) {
        const struct pm_caution *caution = &cautions->items[i];
        bool last = i + 1 == cautions->count;
        if (last)
            blank_line(page);
        pm_page_add(page,
                    last             ? PM_ROLE_NORMAL
                    : caution->known ? PM_ROLE_WARNING
                                     : PM_ROLE_FAINT,
                    2, caution->sentence);
        if (caution->source != NULL)
            pm_page_addf(page, PM_ROLE_FAINT, FACT_VALUE, "    %s", caution->source);
    }
}

static void add_card(struct pm_page *page, const struct pm_material *card)
{
    struct pm_text line = PM_TEXT_EMPTY;
    pm_text_add(&line, pm_material_kind_word(card->kind));
    if (card->cas != NULL)
        pm_text_addf(&line, DOT "CAS %s", card->cas);
    if (card->family != NULL)
        pm_text_addf(&line, DOT "%s", card->family);
    for (size_t i = 0; i < card->synonym_count; i++)
        pm_text_addf(&line, "%s%s", i == 0 ? DOT "also " : ", ", card->synonyms[i]);
    pm_page_add(page, PM_ROLE_NORMAL, 0, pm_text_get(&line));
    if (card->note != NULL)
        pm_page_add(page, PM_ROLE_NORMAL, 0, card->note);
    pm_text_release(&line);
}

void shelf_facts(void *state)
{
    struct shelf *shelf = state;
    const struct shelf_about *about = &shelf->about;
    struct pm_text title = PM_TEXT_EMPTY;
    pm_text_addf(&title, "What is known of %s", shelf_row(shelf)->name);
    struct pm_page *page = pm_page_new(pm_text_get(&title));
    if (about->card_read)
        add_card(page, &about->card);
    blank_line(page);
    if (about->facts_read) {
        for (size_t i = 0; i < about->facts.count; i++)
            add_fact(page, &about->facts.items[i]);
        add_unknown(page, &about->facts);
    }
    add_constituents(shelf, page);
    if (about->cautions_read)
        add_cautions(page, &about->cautions);
    pm_page_open(shelf->app, page, false);
    pm_text_release(&title);
}

/* ---- a bottle's ledger ---- */

static void add_movement(const struct shelf *shelf, struct pm_page *page,
                         const struct pm_movement *entry)
{
    struct pm_text line = PM_TEXT_EMPTY;
    char time[PM_TIME_TEXT], mass[PM_AMOUNT_TEXT], sign[PM_AMOUNT_TEXT + 2];
    char other[PM_BOTTLE_LABEL];
    shelf_pad(&line, pm_time_format(entry->at, time), 18, false);
    snprintf(sign, sizeof sign, "%s%s", entry->mass < 0 ? "-" : "+",
             shelf_mass(shelf, entry->mass < 0 ? -entry->mass : entry->mass, mass));
    shelf_pad(&line, sign, 11, true);
    shelf_pad(&line, shelf_mass(shelf, entry->left, mass), 12, true);
    pm_text_addf(&line, "   %s", pm_move_word(entry->kind));
    if (entry->other != 0)
        pm_text_addf(&line, "%s%s", entry->mass < 0 ? " into " : " from ",
                     pm_bottle_label(entry->other, other));
    if (entry->purpose != NULL)
        pm_text_addf(&line, " for %s", entry->purpose);
    if (entry->corrects)
        pm_text_add(&line, " (an earlier entry taken back)");
    if (entry->note != NULL)
        pm_text_addf(&line, DOT "%s", entry->note);
    pm_page_add(page, entry->left < 0 ? PM_ROLE_ERROR : PM_ROLE_NORMAL, 44, pm_text_get(&line));
    pm_text_release(&line);
}

void shelf_ledger(void *state)
{
    struct shelf *shelf = state;
    struct pm_text title = PM_TEXT_EMPTY, line = PM_TEXT_EMPTY;
    pm_text_add(&title, "Ledger of ");
    shelf_bottle_title(shelf, shelf_bottle(shelf), &title);
    struct pm_page *page = pm_page_new(pm_text_get(&title));
    shelf_pad(&line, "when", 18, false);
    shelf_pad(&line, "in or out", 11, true);
    shelf_pad(&line, "left", 12, true);
    pm_text_add(&line, "   what");
    pm_page_add(page, PM_ROLE_FAINT, 0, pm_text_get(&line));
    for (size_t i = 0; shelf->about.bottle == shelf->bottle && i < shelf->about.ledger.count; i++)
        add_movement(shelf, page, &shelf->about.ledger.items[i]);
    pm_page_open(shelf->app, page, true);
    pm_text_release(&title);
    pm_text_release(&line);
}

/* ---- history ---- */

void shelf_history(void *state)
{
    struct shelf *shelf = state;
    struct pm_error err = {0};
    struct pm_shelf_entries events;
    char time[PM_TIME_TEXT];
    if (pm_shelf_history(shelf->house->studio, HISTORY_MOST, &events, &err) != PM_OK) {
        pm_app_error(shelf->app, &err);
        return;
    }
    struct pm_page *page = pm_page_new("What was done to the shelf, newest first");
    if (events.count == 0)
        pm_page_add(page, PM_ROLE_NORMAL, 0, "Nothing yet.");
    for (size_t i = 0; i < events.count; i++) {
        const struct pm_shelf_entry *event = &events.items[i];
        pm_page_addf(page, event->undone ? PM_ROLE_FAINT : PM_ROLE_NORMAL, 18, "%s  %s%s",
                     pm_time_format(event->at, time), event->sentence,
                     event->undone ? " (undone)" : "");
    }
    pm_list_release(&events);
    pm_page_open(shelf->app, page, false);
}

/* ---- shopping ---- */

#define SHOPPING_NAME 25

static void add_shopping_heads(struct pm_page *page)
{
    struct pm_text line = PM_TEXT_EMPTY;
    shelf_pad(&line, "", SHOPPING_NAME + 2, false);
    shelf_pad(&line, "needed", 10, true);
    shelf_pad(&line, "have", 10, true);
    shelf_pad(&line, "buy", 10, true);
    pm_text_add(&line, "   last price");
    pm_page_add(page, PM_ROLE_FAINT, 0, pm_text_get(&line));
    pm_text_release(&line);
}

static void add_shopping(const struct shelf *shelf, struct pm_page *page,
                         const struct pm_shopping_line *item)
{
    struct pm_text line = PM_TEXT_EMPTY, name = PM_TEXT_EMPTY;
    char mass[PM_AMOUNT_TEXT];
    int cells = (int)pm_utf8_cells(item->name), most = SHOPPING_NAME - (item->level ? 6 : 0);
    shelf_pad(&name, item->name, cells < most ? cells : most, false);
    pm_text_add(&line, "  ");
    pm_text_add(&name, item->level ? " (low)" : "");
    shelf_pad(&line, pm_text_get(&name), SHOPPING_NAME, false);
    shelf_pad(&line, shelf_mass(shelf, item->need, mass), 10, true);
    shelf_pad(&line, shelf_mass(shelf, item->have, mass), 10, true);
    shelf_pad(&line, shelf_mass(shelf, item->buy, mass), 10, true);
    pm_text_addf(&line, "   %s", item->last_price != NULL ? item->last_price : "unknown");
    if (item->level)
        pm_text_addf(&line, "; low is below %s", shelf_mass(shelf, item->low_level, mass));
    pm_page_add(page, PM_ROLE_NORMAL, SHOPPING_NAME + 35, pm_text_get(&line));
    pm_text_release(&line);
    pm_text_release(&name);
}

void shelf_shopping(void *state)
{
    struct shelf *shelf = state;
    struct pm_error err = {0};
    struct pm_shopping list;
    if (pm_stock_shopping(shelf->house->studio, true, &list, &err) != PM_OK) {
        pm_app_error(shelf->app, &err);
        return;
    }
    struct pm_page *page = pm_page_new("What must be bought, all neat");
    pm_page_add(page, PM_ROLE_NORMAL, 0,
                list.count > 0
                    ? "For the planned batches; (low): also to reach its low-stock level."
                    : "Nothing: the planned batches are covered, and nothing is below "
                      "its low-stock level.");
    if (list.count > 0)
        add_shopping_heads(page);
    const char *supplier = NULL;
    for (size_t i = 0; i < list.count; i++) {
        const struct pm_shopping_line *item = &list.lines[i];
        const char *from = item->supplier != NULL ? item->supplier : "never bought yet";
        if (supplier == NULL || strcmp(supplier, from) != 0)
            pm_page_add(page, PM_ROLE_HEADING, 0, from);
        supplier = from;
        add_shopping(shelf, page, item);
    }
    pm_page_open(shelf->app, page, false);
    pm_shopping_release(&list);
}
