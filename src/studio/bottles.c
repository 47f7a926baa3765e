/* SPDX-License-Identifier: MIT */
/*
 * Bottles and their ledger: entered, edited, listed, poured from, counted.
 */
#include "inside.h"

#include "bottle.h"
#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/core/currency.h"
#include "permille/core/stock.h"
#include "permille/studio/bottles.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define NOTE_BYTES   65536
#define DAY          INT64_C(86400)
#define NEARLY_EMPTY 10 /* a bottle is when less than a tenth is left */

/* ---- labels ---- */

char *pm_bottle_label(int64_t id, char *buf)
{
    snprintf(buf, PM_BOTTLE_LABEL, "B%03lld", (long long)id);
    return buf;
}

enum pm_status pm_bottle_find(struct pm_studio *studio, const char *text, int64_t *id,
                              struct pm_error *err)
{
    struct pm_bottle bottle;
    const char *digits = text + (text[0] == 'B' || text[0] == 'b');
    int64_t number = 0;
    pm_studio_refresh(studio);
    if (digits[0] == '\0' || digits[strspn(digits, "0123456789")] != '\0' || strlen(digits) > 15)
        return pm_fail(err, PM_INVALID,
                       "\"%s\" names no bottle: they are called B and a number, as on the label.",
                       text);
    for (const char *at = digits; *at; at++)
        number = number * 10 + (*at - '0');
    enum pm_status status = pm_bottle_get(studio->library, number, &bottle, err);
    if (status != PM_OK)
        return status;
    pm_bottle_release(&bottle);
    *id = number;
    return PM_OK;
}

/* ---- from the form to the row ---- */

static enum pm_status set_text(char **field, const char *text, const char *what, size_t most,
                               struct pm_error *err)
{
    char *clean;
    if (!text)
        return PM_OK;
    enum pm_status status = pm_clean_text(text, what, most, &clean, err);
    if (status == PM_OK) {
        pm_free(*field);
        *field = clean;
    }
    return status;
}

static enum pm_status set_day(int64_t *field, const char *text, struct pm_error *err)
{
    if (!text)
        return PM_OK;
    if (text[0] == '\0') {
        *field = 0;
        return PM_OK;
    }
    return pm_time_read(text, field, err);
}

/* A day that is over or today; a day's play, since a bottle may come from where it is tomorrow. */
static enum pm_status check_past(struct pm_studio *studio, int64_t day, const char *what,
                                 struct pm_error *err)
{
    char date[PM_TIME_TEXT];
    if (day <= pm_library_now(studio->library) + DAY)
        return PM_OK;
    return pm_fail(err, PM_INVALID, "It cannot have been %s on %s: that day is still to come.",
                   what, pm_time_date(day, date));
}

static enum pm_status set_tare(pm_mass *field, const char *text, struct pm_error *err)
{
    if (!text)
        return PM_OK;
    *field = 0;
    return text[0] == '\0' ? PM_OK : pm_mass_read(text, field, err);
}

static enum pm_status set_price(struct pm_bottle *row, const struct pm_bottle_form *form,
                                pm_mass received, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    if (form->price && form->price[0] == '\0') {
        row->currency[0] = '\0';
        row->price = row->priced_mass = 0;
    } else if (form->price) {
        status = pm_price_read(form->price, &row->price, row->currency, err);
        if (status == PM_OK && row->priced_mass == 0)
            row->priced_mass = received;
    }
    if (status == PM_OK && form->priced_mass && form->priced_mass[0] != '\0')
        status = pm_mass_read(form->priced_mass, &row->priced_mass, err);
    if (status == PM_OK && row->currency[0] != '\0' && row->priced_mass <= 0)
        return pm_fail(err, PM_INVALID, "Say for what mass that price was paid.");
    return status;
}

static enum pm_status set_strength(struct pm_studio *studio, struct pm_bottle *row,
                                   const struct pm_bottle_form *form, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    struct pm_card *card;
    if (form->strength)
        status =
            pm_error_at(err, "strength", pm_strength_read(form->strength, &row->strength, err));
    if (status == PM_OK && row->strength == PM_NEAT && form->strength)
        row->solvent = 0;
    if (status == PM_OK && form->solvent && form->solvent[0] != '\0')
        status = pm_material_by_name(studio->library, form->solvent, &row->solvent, err);
    if (status != PM_OK)
        return status;
    if (row->strength < PM_NEAT && row->solvent == 0)
        return pm_fail(err, PM_INVALID, "Name the solvent of this dilution.");
    if (row->strength == PM_NEAT && row->solvent != 0)
        return pm_fail_at(err, "strength", PM_INVALID,
                          "What is neat has no solvent; give the strength.");
    if (row->solvent == 0)
        return PM_OK;
    status = pm_studio_material(studio, row->solvent, &card, err);
    if (status == PM_OK && (!card->is_solvent || row->solvent == row->material))
        status = pm_fail(err, PM_REFUSED, "%s is not a solvent for this.", card->name);
    return status;
}

/* Leaves what the form does not mention. */
static enum pm_status fill_row(struct pm_studio *studio, struct pm_bottle *row,
                               const struct pm_bottle_form *form, pm_mass received,
                               struct pm_error *err)
{
    enum pm_status status = pm_error_at(err, "solvent", set_strength(studio, row, form, err));
    if (status == PM_OK)
        status = pm_error_at(err, "lot", set_text(&row->lot, form->lot, "The lot", 0, err));
    if (status == PM_OK)
        status = pm_error_at(err, "supplier",
                             set_text(&row->supplier, form->supplier, "The supplier", 0, err));
    if (status == PM_OK)
        status = pm_error_at(err, "place", set_text(&row->place, form->place, "The place", 0, err));
    if (status == PM_OK)
        status =
            pm_error_at(err, "note", set_text(&row->note, form->note, "The note", NOTE_BYTES, err));
    if (status == PM_OK && form->made_from && form->made_from[0] != '\0')
        status = pm_bottle_find(studio, form->made_from, &row->made_from, err);
    else if (status == PM_OK && form->made_from)
        row->made_from = 0;
    if (status == PM_OK)
        status = pm_error_at(err, "bought", set_day(&row->bought, form->bought, err));
    if (status == PM_OK)
        status = pm_error_at(err, "opened", set_day(&row->opened, form->opened, err));
    if (status == PM_OK && form->bought)
        status = pm_error_at(err, "bought", check_past(studio, row->bought, "bought", err));
    if (status == PM_OK && form->opened)
        status = pm_error_at(err, "opened", check_past(studio, row->opened, "opened", err));
    if (status == PM_OK)
        status =
            pm_error_at(err, "best_before", set_day(&row->best_before, form->best_before, err));
    if (status == PM_OK)
        status = pm_error_at(err, "tare", set_tare(&row->tare, form->tare, err));
    if (status == PM_OK)
        status = pm_error_at(err, "price", set_price(row, form, received, err));
    if (status != PM_OK)
        return status;
    if (row->bought && row->opened && row->opened < row->bought)
        return pm_fail_at(err, "opened", PM_INVALID,
                          "It cannot have been opened before it was bought.");
    if (row->bought && row->best_before && row->best_before < row->bought)
        return pm_fail_at(err, "best_before", PM_INVALID,
                          "Its best-before date lies before the day it was bought.");
    return PM_OK;
}

/* ---- pieces that dilutions share ---- */

enum pm_status pm_bottle_enter(struct pm_shelf_step *step, struct pm_bottle *row,
                               const struct pm_bottle_form *form, pm_mass received,
                               struct pm_error *err)
{
    static const struct pm_bottle_form nothing;
    enum pm_status status = fill_row(step->studio, row, form ? form : &nothing, received, err);
    if (status == PM_OK)
        status = pm_bottle_insert(step->studio->library, row, err);
    return status == PM_OK ? pm_shelf_log_born(&step->log, PM_ROWS_BOTTLE, row->id, err) : status;
}

enum pm_status pm_bottle_move(struct pm_shelf_step *step, const struct pm_movement *movement,
                              bool even_below, pm_mass *missing, struct pm_error *err)
{
    struct pm_library *library = step->studio->library;
    struct pm_movement row = *movement;
    struct pm_bottle bottle;
    pm_mass left;
    int64_t id;
    char amount[PM_AMOUNT_TEXT], there[PM_AMOUNT_TEXT], label[PM_BOTTLE_LABEL];
    enum pm_status status = pm_bottle_get(library, row.bottle, &bottle, err);
    if (status != PM_OK)
        return status;
    pm_mass before = bottle.left;
    pm_bottle_release(&bottle);
    if (__builtin_add_overflow(before, row.mass, &left) || left > PM_MASS_MAX ||
        left < -PM_MASS_MAX)
        return pm_fail(err, PM_INVALID, "That is more than a bottle can hold.");
    if (row.mass < 0 && left < 0 && !even_below) {
        if (missing)
            *missing = -left;
        return pm_fail(err, PM_REFUSED,
                       "Bottle %s holds %s, which is %s less than that. Count it again, or say "
                       "that the ledger may fall below zero.",
                       pm_bottle_label(row.bottle, label), pm_mass_format(before, 2, '.', there),
                       pm_mass_format(-left, 2, '.', amount));
    }
    if (row.at == 0)
        row.at = pm_library_now(library);
    status = check_past(step->studio, row.at, pm_move_word(row.kind), err);
    if (status == PM_OK)
        status = pm_movement_insert(library, &row, &id, err);
    return status == PM_OK ? pm_shelf_log_moved(&step->log, id, err) : status;
}

/* ---- entering and editing ---- */

static enum pm_status name_bottle(struct pm_studio *studio, const struct pm_bottle *row,
                                  struct pm_text *out, struct pm_error *err)
{
    char label[PM_BOTTLE_LABEL], strength[PM_AMOUNT_TEXT];
    struct pm_card *card;
    enum pm_status status = pm_studio_material(studio, row->material, &card, err);
    if (status == PM_OK)
        pm_text_addf(out, "%s (%s, %s)", pm_bottle_label(row->id, label), card->name,
                     pm_strength_about(row->strength, '.', strength));
    return status;
}

static enum pm_status check_material(struct pm_studio *studio, int64_t material,
                                     struct pm_error *err)
{
    struct pm_card *card;
    enum pm_status status = pm_studio_material(studio, material, &card, err);
    if (status == PM_OK && (card->set_aside || card->stands_for != 0))
        status = pm_fail(err, PM_REFUSED, "%s is set aside: bring it back to the shelf first.",
                         card->name);
    return status;
}

enum pm_status pm_bottle_add(struct pm_studio *studio, int64_t material, pm_mass received,
                             const struct pm_bottle_form *form, int64_t at, int64_t *id,
                             struct pm_error *err)
{
    struct pm_shelf_step step;
    struct pm_bottle row = {.material = material, .strength = PM_NEAT};
    char mass[PM_AMOUNT_TEXT];
    if (received < 0 || received > PM_MASS_MAX)
        return pm_fail(err, PM_INVALID, "A bottle cannot hold such a mass.");
    enum pm_status status = pm_step_begin(&step, studio, err);
    if (status != PM_OK)
        return status;
    status = check_material(studio, material, err);
    if (status == PM_OK)
        status = pm_bottle_enter(&step, &row, form, received, err);
    if (status == PM_OK && received > 0) {
        struct pm_movement movement = {
            .bottle = row.id, .kind = PM_RECEIVED, .mass = received, .at = at};
        status = pm_bottle_move(&step, &movement, false, NULL, err);
    }
    pm_step_say(&step, "New bottle ");
    if (status == PM_OK)
        status = name_bottle(studio, &row, &step.sentence, err);
    pm_step_say(&step, " with %s", pm_mass_format(received, 2, '.', mass));
    status = pm_step_end(&step, status, "bottle", err);
    if (status == PM_OK && id)
        *id = row.id;
    pm_bottle_release(&row);
    return status;
}

/* Reads the row, lets it differ by the form or by its mark, writes it. */
static enum pm_status edit(struct pm_studio *studio, int64_t id, const struct pm_bottle_form *form,
                           bool aside, struct pm_error *err)
{
    struct pm_shelf_step step;
    struct pm_bottle row;
    enum pm_status status = pm_step_begin(&step, studio, err);
    if (status != PM_OK)
        return status;
    status = pm_shelf_log_touch(&step.log, PM_ROWS_BOTTLE, id, err);
    if (status == PM_OK)
        status = pm_bottle_get(studio->library, id, &row, err);
    if (status != PM_OK)
        return pm_step_end(&step, status, "bottle", err);
    if (form)
        status = fill_row(studio, &row, form, row.first, err);
    else
        row.set_aside = aside;
    if (status == PM_OK)
        status = pm_bottle_update(studio->library, &row, err);
    pm_step_say(&step, "%s", form ? "Changed bottle " : aside ? "Set aside bottle " : "Back: ");
    if (status == PM_OK)
        status = name_bottle(studio, &row, &step.sentence, err);
    pm_bottle_release(&row);
    return pm_step_end(&step, status, "bottle", err);
}

enum pm_status pm_bottle_edit(struct pm_studio *studio, int64_t id,
                              const struct pm_bottle_form *form, struct pm_error *err)
{
    return edit(studio, id, form, false, err);
}

enum pm_status pm_bottle_set_aside(struct pm_studio *studio, int64_t id, bool aside,
                                   struct pm_error *err)
{
    return edit(studio, id, NULL, aside, err);
}

/* ---- cards ---- */

void pm_bottle_card_release(struct pm_bottle_card *card)
{
    pm_free(card->name);
    pm_free(card->solvent);
    pm_free(card->lot);
    pm_free(card->supplier);
    pm_free(card->place);
    pm_free(card->note);
    memset(card, 0, sizeof *card);
}

void pm_bottle_cards_release(struct pm_bottle_cards *cards)
{
    for (size_t i = 0; i < cards->count; i++)
        pm_bottle_card_release(&cards->items[i]);
    pm_free(cards->items);
    *cards = (struct pm_bottle_cards){NULL, 0};
}

static bool copy_text(char **out, const char *text)
{
    *out = pm_strdup(text);
    return *out || !text;
}

static enum pm_status make_card(struct pm_studio *studio, const struct pm_bottle *row,
                                struct pm_bottle_card *out, struct pm_error *err)
{
    struct pm_card *material, *solvent = NULL;
    enum pm_status status = pm_studio_material(studio, row->material, &material, err);
    if (status == PM_OK && row->solvent != 0)
        status = pm_studio_material(studio, row->solvent, &solvent, err);
    if (status != PM_OK)
        return status;
    *out = (struct pm_bottle_card){
        .id = row->id,
        .material = row->material,
        .strength = row->strength,
        .solvent_id = row->solvent,
        .bought = row->bought,
        .opened = row->opened,
        .best_before = row->best_before,
        .tare = row->tare,
        .price = row->price,
        .priced_mass = row->priced_mass,
        .made_from = row->made_from,
        .left = row->left,
        .set_aside = row->set_aside,
        .past = pm_stock_past(row->best_before, pm_library_now(studio->library)),
        .nearly_empty = row->left > 0 && row->left < row->first / NEARLY_EMPTY};
    memcpy(out->currency, row->currency, sizeof out->currency);
    pm_bottle_label(row->id, out->label);
    if (copy_text(&out->name, material->name) &&
        copy_text(&out->solvent, solvent ? solvent->name : NULL) &&
        copy_text(&out->lot, row->lot) && copy_text(&out->supplier, row->supplier) &&
        copy_text(&out->place, row->place) && copy_text(&out->note, row->note))
        return PM_OK;
    pm_bottle_card_release(out);
    return pm_fail_memory(err);
}

enum pm_status pm_bottle_show(struct pm_studio *studio, int64_t id, struct pm_bottle_card *out,
                              struct pm_error *err)
{
    struct pm_bottle row;
    pm_studio_refresh(studio);
    enum pm_status status = pm_bottle_get(studio->library, id, &row, err);
    if (status != PM_OK)
        return status;
    status = make_card(studio, &row, out, err);
    pm_bottle_release(&row);
    return status;
}

/* ---- the list ---- */

struct listing {
    struct pm_studio *studio;
    const struct pm_bottle_filter *filter;
    char *words; /* folded, or NULL */
    struct pm_bottle_cards list;
    size_t capacity;
    enum pm_status status;
    struct pm_error *err;
};

/* Every word occurs in one of the texts. */
static bool matches(const struct listing *listing, const struct pm_bottle_card *card)
{
    struct pm_text all = PM_TEXT_EMPTY;
    const char *const texts[] = {card->name,     card->label, card->lot,
                                 card->supplier, card->place, card->solvent};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++)
        pm_text_addf(&all, "%s\n", texts[i] ? texts[i] : "");
    char *folded = pm_fold(pm_text_get(&all));
    bool found = folded != NULL;
    for (const char *word = listing->words; found && *word;) {
        size_t length = strcspn(word, " ");
        found = length == 0 || memmem(folded, strlen(folded), word, length);
        word += length + strspn(word + length, " ");
    }
    pm_free(folded);
    pm_text_release(&all);
    return found;
}

static bool list_bottle(void *context, const struct pm_bottle *bottle)
{
    struct listing *listing = context;
    const struct pm_bottle_filter *filter = listing->filter;
    struct pm_bottle_card card;
    if ((filter->have || filter->old) && bottle->left <= 0)
        return true;
    if (filter->old &&
        !pm_stock_past(bottle->best_before, pm_library_now(listing->studio->library)))
        return true;
    listing->status = make_card(listing->studio, bottle, &card, listing->err);
    if (listing->status != PM_OK)
        return false;
    if (listing->words && !matches(listing, &card)) {
        pm_bottle_card_release(&card);
        return true;
    }
    void *items = listing->list.items;
    if (!pm_grow(&items, &listing->capacity, listing->list.count + 1,
                 sizeof *listing->list.items)) {
        pm_bottle_card_release(&card);
        listing->status = pm_fail_memory(listing->err);
        return false;
    }
    listing->list.items = items;
    listing->list.items[listing->list.count++] = card;
    return true;
}

/* By material, strongest first, by number. Names are compared as they stand: folding 20,000 of them
 * for every comparison would be felt. */
static int compare_cards(const void *left, const void *right)
{
    const struct pm_bottle_card *a = left, *b = right;
    int order = a->material == b->material ? 0 : strcasecmp(a->name, b->name);
    if (order == 0)
        order = (a->strength < b->strength) - (a->strength > b->strength);
    return order != 0 ? order : (a->id > b->id) - (a->id < b->id);
}

enum pm_status pm_bottles_list(struct pm_studio *studio, const struct pm_bottle_filter *filter,
                               struct pm_bottle_cards *out, struct pm_error *err)
{
    struct listing listing = {.studio = studio, .filter = filter, .err = err};
    pm_studio_refresh(studio);
    if (filter->text && filter->text[0] != '\0' && !(listing.words = pm_fold(filter->text)))
        return pm_fail_memory(err);
    enum pm_status status = pm_bottle_list(studio->library, filter->material, filter->set_aside_too,
                                           list_bottle, &listing, err);
    pm_free(listing.words);
    if (status == PM_OK)
        status = listing.status;
    if (status != PM_OK) {
        pm_bottle_cards_release(&listing.list);
        return status;
    }
    if (listing.list.count > 1)
        qsort(listing.list.items, listing.list.count, sizeof *listing.list.items, compare_cards);
    *out = listing.list;
    return PM_OK;
}

/* ---- the ledger ---- */

struct ledger {
    struct pm_ledger list;
    size_t capacity;
    pm_mass left;
    bool failed;
};

static bool add_line(void *context, const struct pm_movement *movement)
{
    struct ledger *ledger = context;
    void *lines = ledger->list.lines;
    if (!pm_grow(&lines, &ledger->capacity, ledger->list.count + 1, sizeof *ledger->list.lines)) {
        ledger->failed = true;
        return false;
    }
    ledger->list.lines = lines;
    struct pm_ledger_line *line = &ledger->list.lines[ledger->list.count++];
    ledger->left += movement->mass;
    *line = (struct pm_ledger_line){.id = movement->id,
                                    .at = movement->at,
                                    .kind = pm_move_word(movement->kind),
                                    .mass = movement->mass,
                                    .left = ledger->left,
                                    .found = movement->found,
                                    .other = movement->other,
                                    .corrects = movement->corrects};
    if (movement->other != 0)
        pm_bottle_label(movement->other, line->other_label);
    ledger->failed =
        !copy_text(&line->batch, movement->batch) || !copy_text(&line->note, movement->note);
    return !ledger->failed;
}

enum pm_status pm_bottle_ledger(struct pm_studio *studio, int64_t id, struct pm_ledger *out,
                                struct pm_error *err)
{
    struct ledger ledger = {{NULL, 0}, 0, 0, false};
    pm_studio_refresh(studio);
    enum pm_status status = pm_movement_list(studio->library, id, add_line, &ledger, err);
    if (status == PM_OK && ledger.failed)
        status = pm_fail_memory(err);
    if (status != PM_OK) {
        pm_ledger_release(&ledger.list);
        return status;
    }
    *out = ledger.list;
    return PM_OK;
}

void pm_ledger_release(struct pm_ledger *ledger)
{
    for (size_t i = 0; i < ledger->count; i++) {
        pm_free(ledger->lines[i].batch);
        pm_free(ledger->lines[i].note);
    }
    pm_free(ledger->lines);
    *ledger = (struct pm_ledger){NULL, 0};
}

/* ---- pouring, spilling, counting ---- */

/* What is moved must have a place in the other bottle: the same material, or the solvent of it. */
static enum pm_status check_into(struct pm_studio *studio, int64_t from, int64_t into,
                                 struct pm_error *err)
{
    struct pm_bottle source, target;
    char a[PM_BOTTLE_LABEL], b[PM_BOTTLE_LABEL];
    if (into == 0 || into == from)
        return pm_fail(err, PM_INVALID, "Say which other bottle it was moved into.");
    enum pm_status status = pm_bottle_get(studio->library, from, &source, err);
    if (status != PM_OK)
        return status;
    status = pm_bottle_get(studio->library, into, &target, err);
    if (status == PM_OK) {
        if (source.material != target.material && source.material != target.solvent)
            status = pm_fail(err, PM_REFUSED, "What is in bottle %s does not belong into %s.",
                             pm_bottle_label(from, a), pm_bottle_label(into, b));
        pm_bottle_release(&target);
    }
    pm_bottle_release(&source);
    return status;
}

static enum pm_status move_both(struct pm_shelf_step *step, struct pm_movement *movement,
                                const struct pm_taking *taking, pm_mass *missing,
                                struct pm_error *err)
{
    enum pm_status status = PM_OK;
    if (movement->kind == PM_MOVED) {
        status = check_into(step->studio, movement->bottle, taking->into, err);
        movement->other = taking->into;
    }
    if (status == PM_OK)
        status = pm_bottle_move(step, movement, taking->even_below, missing, err);
    if (status != PM_OK || movement->kind != PM_MOVED)
        return status;
    movement->kind = PM_RECEIVED;
    movement->other = movement->bottle;
    movement->bottle = taking->into;
    movement->mass = -movement->mass;
    return pm_bottle_move(step, movement, false, NULL, err);
}

enum pm_status pm_bottle_take_one(struct pm_shelf_step *step, int64_t id,
                                  const struct pm_taking *taking, pm_mass *missing,
                                  struct pm_error *err)
{
    struct pm_movement movement = {.bottle = id, .at = taking->at};
    char *batch = NULL, *note = NULL;
    if (!pm_move_from_word(taking->kind, &movement.kind) || movement.kind == PM_COUNTED ||
        movement.kind == PM_CORRECTED)
        return pm_fail(err, PM_INVALID,
                       "\"%s\" is not poured, moved, spilled, discarded or received.",
                       taking->kind);
    if (taking->mass <= 0 || taking->mass > PM_MASS_MAX)
        return pm_fail(err, PM_INVALID, "Say a mass above zero; the kind says where it went.");
    enum pm_status status = pm_clean_text(taking->batch, "The batch", 0, &batch, err);
    if (status == PM_OK)
        status = pm_clean_text(taking->note, "The note", NOTE_BYTES, &note, err);
    movement.mass = movement.kind == PM_RECEIVED ? taking->mass : -taking->mass;
    movement.batch = batch;
    movement.note = note;
    if (status == PM_OK)
        status = move_both(step, &movement, taking, missing, err);
    pm_free(batch);
    pm_free(note);
    return status;
}

enum pm_status pm_bottles_take(struct pm_studio *studio, const int64_t *ids,
                               const struct pm_taking *takings, size_t count, const char *sentence,
                               pm_mass *missing, struct pm_error *err)
{
    struct pm_shelf_step step;
    if (missing)
        *missing = 0;
    enum pm_status status = pm_step_begin(&step, studio, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; status == PM_OK && i < count; i++)
        status = pm_bottle_take_one(&step, ids[i], &takings[i], missing, err);
    pm_step_say(&step, "%s", sentence);
    return pm_step_end(&step, status, "ledger", err);
}

enum pm_status pm_bottle_take(struct pm_studio *studio, int64_t id, const struct pm_taking *taking,
                              pm_mass *missing, struct pm_error *err)
{
    struct pm_text sentence = PM_TEXT_EMPTY;
    char mass[PM_AMOUNT_TEXT], label[PM_BOTTLE_LABEL];
    pm_text_addf(&sentence, "%s %s %s bottle %s", pm_mass_format(taking->mass, 2, '.', mass),
                 taking->kind, strcmp(taking->kind, "received") == 0 ? "into" : "from",
                 pm_bottle_label(id, label));
    if (taking->into != 0)
        pm_text_addf(&sentence, " into %s", pm_bottle_label(taking->into, label));
    if (taking->batch)
        pm_text_addf(&sentence, " for %s", taking->batch);
    enum pm_status status =
        pm_text_ok(&sentence)
            ? pm_bottles_take(studio, &id, taking, 1, pm_text_get(&sentence), missing, err)
            : pm_fail_memory(err);
    pm_text_release(&sentence);
    return status;
}

enum pm_status pm_bottle_count_one(struct pm_shelf_step *step, int64_t id, pm_mass found,
                                   const char *note, int64_t at, struct pm_error *err)
{
    struct pm_bottle row;
    char *clean = NULL;
    enum pm_status status = pm_clean_text(note, "The note", NOTE_BYTES, &clean, err);
    if (status == PM_OK)
        status = pm_bottle_get(step->studio->library, id, &row, err);
    if (status == PM_OK) {
        struct pm_movement movement = {.bottle = id,
                                       .kind = PM_COUNTED,
                                       .mass = found - row.left,
                                       .found = found,
                                       .note = clean,
                                       .at = at};
        pm_bottle_release(&row);
        status = pm_bottle_move(step, &movement, true, NULL, err);
    }
    pm_free(clean);
    return status;
}

enum pm_status pm_bottle_count(struct pm_studio *studio, int64_t id, pm_mass found,
                               const char *note, int64_t at, struct pm_error *err)
{
    struct pm_shelf_step step;
    char mass[PM_AMOUNT_TEXT], label[PM_BOTTLE_LABEL];
    if (found < 0 || found > PM_MASS_MAX)
        return pm_fail(err, PM_INVALID, "A stock-take finds nothing or more, without the tare.");
    enum pm_status status = pm_step_begin(&step, studio, err);
    if (status != PM_OK)
        return status;
    status = pm_bottle_count_one(&step, id, found, note, at, err);
    pm_step_say(&step, "Counted %s in bottle %s", pm_mass_format(found, 2, '.', mass),
                pm_bottle_label(id, label));
    return pm_step_end(&step, status, "ledger", err);
}

enum pm_status pm_bottle_empty(struct pm_studio *studio, int64_t id, const char *note,
                               struct pm_error *err)
{
    struct pm_shelf_step step;
    struct pm_bottle row;
    char label[PM_BOTTLE_LABEL];
    enum pm_status status = pm_step_begin(&step, studio, err);
    if (status != PM_OK)
        return status;
    status = pm_shelf_log_touch(&step.log, PM_ROWS_BOTTLE, id, err);
    if (status == PM_OK)
        status = pm_bottle_count_one(&step, id, 0, note, 0, err);
    if (status == PM_OK)
        status = pm_bottle_get(studio->library, id, &row, err);
    if (status == PM_OK) {
        row.set_aside = true;
        status = pm_bottle_update(studio->library, &row, err);
        pm_bottle_release(&row);
    }
    pm_step_say(&step, "Bottle %s is empty", pm_bottle_label(id, label));
    return pm_step_end(&step, status, "ledger", err);
}
