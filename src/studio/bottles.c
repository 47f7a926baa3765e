/* SPDX-License-Identifier: MIT */
/*
 * Bottles and their ledger: entered, edited, listed, poured from, counted.
 */
#include "inside.h"

#include "bottle.h"
#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/core/stock.h"
#include "permille/studio/bottles.h"
#include "permille/studio/settings.h"
#include "permille/studio/volumes.h"

#include <stdlib.h>
#include <string.h>

#define NOTE_BYTES 65536

/* ---- labels ---- */

enum pm_status pm_bottle_find(struct pm_studio *studio, const char *text, int64_t *id,
                              struct pm_error *err)
{
    struct pm_bottle bottle;
    const char *digits = text + (text[0] == 'B' || text[0] == 'b');
    int64_t number = 0;
    if (digits[0] == '\0' || digits[strspn(digits, "0123456789")] != '\0' || strlen(digits) > 15)
        return pm_fail(err, PM_INVALID,
                       "\"%s\" names no bottle: they are called B and a number, as on the label.",
                       text);
    for (const char *at = digits; *at; at++)
        number = number * 10 + (*at - '0');
    enum pm_status status = pm_bottle_get(studio->library, number, NULL, &bottle, err);
    if (status == PM_OK)
        *id = number;
    return status;
}

/* ---- from what was typed to the row ---- */

/* A day that is over or today; a day's play, since a bottle may come from where it is tomorrow. */
static enum pm_status check_past(struct pm_studio *studio, pm_day day, const char *what,
                                 struct pm_error *err)
{
    char date[PM_TIME_TEXT];
    if (day == PM_NO_DAY || day <= pm_studio_today(studio) + 1)
        return PM_OK;
    return pm_fail(err, PM_INVALID, "It cannot have been %s on %s: that day is still to come.",
                   what, pm_day_format(day, date));
}

static enum pm_status find_reference(void *context, const struct pm_attribute *attribute,
                                     const char *text, int64_t *id, struct pm_error *err)
{
    struct pm_studio *studio = context;
    return strcmp(attribute->choices, "bottle") == 0
               ? pm_bottle_find(studio, text, id, err)
               : pm_material_by_name(studio->library, text, id, err);
}

/* What was paid for stands beside what was paid: without a price there is neither. */
static enum pm_status check_price(struct pm_bottle *row, const char *const *values,
                                  pm_mass received, struct pm_error *err)
{
    if (row->currency[0] == '\0')
        row->price = row->priced_mass = 0;
    else if (values[PM_BOTTLE_PRICE] != NULL && row->priced_mass == 0)
        row->priced_mass = received;
    if (row->currency[0] != '\0' && row->priced_mass <= 0)
        return pm_fail_at(err, "price", PM_INVALID, "Say for what mass that price was paid.");
    return PM_OK;
}

static enum pm_status check_strength(struct pm_studio *studio, struct pm_bottle *row,
                                     const char *const *values, struct pm_error *err)
{
    struct pm_card *card;
    const char *solvent = values[PM_BOTTLE_SOLVENT];
    const bool named = solvent != NULL && solvent[0] != '\0';
    if (row->strength == PM_NEAT && values[PM_BOTTLE_STRENGTH] != NULL && !named)
        row->solvent = 0;
    if (row->strength < PM_NEAT && row->solvent == 0)
        return pm_fail_at(err, "solvent", PM_INVALID, "Name the solvent of this dilution.");
    if (row->strength == PM_NEAT && row->solvent != 0)
        return pm_fail_at(err, "strength", PM_INVALID,
                          "What is neat has no solvent; give the strength.");
    if (row->solvent == 0)
        return PM_OK;
    enum pm_status status = pm_studio_material(studio, row->solvent, &card, err);
    if (status == PM_OK && (!card->is_solvent || row->solvent == row->material))
        status = pm_fail(err, PM_REFUSED, "%s is not a solvent for this.", card->name);
    return pm_error_at(err, "solvent", status);
}

static enum pm_status check_days(struct pm_studio *studio, const struct pm_bottle *row,
                                 const char *const *values, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    if (values[PM_BOTTLE_BOUGHT] != NULL)
        status = pm_error_at(err, "bought", check_past(studio, row->bought, "bought", err));
    if (status == PM_OK && values[PM_BOTTLE_OPENED] != NULL)
        status = pm_error_at(err, "opened", check_past(studio, row->opened, "opened", err));
    if (status != PM_OK || row->bought == PM_NO_DAY)
        return status;
    if (row->opened != PM_NO_DAY && row->opened < row->bought)
        return pm_fail_at(err, "opened", PM_INVALID,
                          "It cannot have been opened before it was bought.");
    if (row->best_before != PM_NO_DAY && row->best_before < row->bought)
        return pm_fail_at(err, "best_before", PM_INVALID,
                          "Its best-before date lies before the day it was bought.");
    return PM_OK;
}

struct pm_bottle pm_bottle_blank(int64_t material)
{
    struct pm_bottle row = {.id = 0};
    pm_entity_clear(&pm_bottle_entity, &row);
    row.material = material;
    row.strength = PM_NEAT;
    return row;
}

/* Leaves what is not mentioned. */
static enum pm_status fill_row(struct pm_studio *studio, struct pm_bottle *row,
                               const char *const *values, pm_mass received, struct pm_arena *arena,
                               struct pm_error *err)
{
    struct pm_naming naming = {.find = find_reference, .context = studio};
    enum pm_status status = pm_settings_currency(studio, naming.currency, err);
    if (status == PM_OK)
        status = pm_entity_read(&pm_bottle_entity, values, row, arena, &naming, err);
    if (status == PM_OK)
        status = check_strength(studio, row, values, err);
    if (status == PM_OK)
        status = check_days(studio, row, values, err);
    return status == PM_OK ? check_price(row, values, received, err) : status;
}

/* ---- pieces that dilutions share ---- */

enum pm_status pm_bottle_enter(struct pm_shelf_step *step, struct pm_bottle *row,
                               const char *const *values, pm_mass received, struct pm_arena *arena,
                               struct pm_error *err)
{
    static const char *const nothing[PM_BOTTLE_ATTRIBUTES];
    enum pm_status status =
        fill_row(step->studio, row, values != NULL ? values : nothing, received, arena, err);
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
    enum pm_status status = pm_bottle_get(library, row.bottle, NULL, &bottle, err);
    if (status != PM_OK)
        return status;
    pm_mass before = bottle.left;
    if (__builtin_add_overflow(before, row.mass, &left) || left > PM_MASS_MAX ||
        left < -PM_MASS_MAX || row.mass > PM_MASS_MAX || row.mass < -PM_MASS_MAX)
        return pm_fail(err, PM_INVALID, "That is more than a bottle can hold.");
    if (row.mass < 0 && left < 0 && !even_below) {
        if (missing != NULL)
            *missing = -left;
        return pm_fail(err, PM_REFUSED,
                       "Bottle %s holds %s, which is %s less than that. Count it again, or say "
                       "that the ledger may fall below zero.",
                       pm_bottle_label(row.bottle, label), pm_mass_exact(before, '.', there),
                       pm_mass_exact(-left, '.', amount));
    }
    if (row.at == 0)
        row.at = pm_library_now(library);
    status = check_past(step->studio, pm_day_of(row.at), pm_move_word(row.kind), err);
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

static enum pm_status enter(struct pm_shelf_step *step, struct pm_bottle *row,
                            const struct pm_movement *received, const char *const *values,
                            struct pm_error *err)
{
    struct pm_arena arena = {0};
    char mass[PM_AMOUNT_TEXT];
    enum pm_status status = check_material(step->studio, row->material, err);
    if (status == PM_OK)
        status = pm_bottle_enter(step, row, values, received->mass, &arena, err);
    if (status == PM_OK && received->mass > 0) {
        struct pm_movement movement = *received;
        movement.bottle = row->id;
        movement.kind = PM_RECEIVED;
        status = pm_bottle_move(step, &movement, false, NULL, err);
    }
    pm_arena_release(&arena);
    pm_step_say(step, "New bottle ");
    if (status == PM_OK)
        status = name_bottle(step->studio, row, &step->sentence, err);
    pm_step_say(step, " with %s", pm_mass_format(received->mass, 2, '.', mass));
    return status;
}

enum pm_status pm_bottle_add(struct pm_studio *studio, int64_t material, pm_mass received,
                             const char *const *values, int64_t at, int64_t *id,
                             struct pm_error *err)
{
    struct pm_shelf_step step;
    struct pm_bottle row = pm_bottle_blank(material);
    const struct pm_movement movement = {.mass = received, .at = at};
    if (received < 0 || received > PM_MASS_MAX)
        return pm_fail(err, PM_INVALID, "A bottle cannot hold such a mass.");
    enum pm_status status = pm_step_begin(&step, studio, err);
    if (status != PM_OK)
        return status;
    status = pm_step_end(&step, enter(&step, &row, &movement, values, err), "bottle", err);
    if (status == PM_OK && id != NULL)
        *id = row.id;
    return status;
}

enum pm_status pm_bottle_of_batch(struct pm_studio *studio, int64_t material,
                                  const struct pm_movement *received, const char *const *values,
                                  int64_t *id, struct pm_error *err)
{
    struct pm_shelf_step step;
    struct pm_bottle row = pm_bottle_blank(material);
    enum pm_status status = pm_step_begin(&step, studio, err);
    if (status != PM_OK)
        return status;
    status = pm_step_end_for_good(&step, enter(&step, &row, received, values, err), "bottle", err);
    if (status == PM_OK)
        *id = row.id;
    return status;
}

/* Reads the row, lets it differ by what was typed or, where that is NULL, by its mark, writes it.
 */
static enum pm_status change(struct pm_shelf_step *step, int64_t id, const char *const *values,
                             bool aside, struct pm_arena *arena, struct pm_error *err)
{
    struct pm_studio *studio = step->studio;
    struct pm_bottle row;
    enum pm_status status = pm_shelf_log_touch(&step->log, PM_ROWS_BOTTLE, id, err);
    if (status == PM_OK)
        status = pm_bottle_get(studio->library, id, arena, &row, err);
    if (status != PM_OK)
        return status;
    if (values != NULL)
        status = fill_row(studio, &row, values, row.first, arena, err);
    else
        row.set_aside = aside;
    if (status == PM_OK)
        status = pm_bottle_update(studio->library, &row, err);
    pm_step_say(step, "%s",
                values != NULL ? "Changed bottle "
                : aside        ? "Set aside bottle "
                               : "Back: ");
    return status == PM_OK ? name_bottle(studio, &row, &step->sentence, err) : status;
}

static enum pm_status edit(struct pm_studio *studio, int64_t id, const char *const *values,
                           bool aside, struct pm_error *err)
{
    struct pm_shelf_step step;
    struct pm_arena arena = {0};
    enum pm_status status = pm_step_begin(&step, studio, err);
    if (status != PM_OK)
        return status;
    status = pm_step_end(&step, change(&step, id, values, aside, &arena, err), "bottle", err);
    pm_arena_release(&arena);
    return status;
}

enum pm_status pm_bottle_edit(struct pm_studio *studio, int64_t id, const char *const *values,
                              struct pm_error *err)
{
    return edit(studio, id, values, false, err);
}

enum pm_status pm_bottle_set_aside(struct pm_studio *studio, int64_t id, bool aside,
                                   struct pm_error *err)
{
    return edit(studio, id, NULL, aside, err);
}

/* ---- reading ---- */

/* Adds what is worked out; the names are the arena's. */
static enum pm_status derive(struct pm_studio *studio, struct pm_arena *arena,
                             struct pm_bottle *row, struct pm_error *err)
{
    struct pm_card *card;
    enum pm_status status = pm_studio_material(studio, row->material, &card, err);
    if (status == PM_OK)
        row->name = pm_arena_text(arena, card->name);
    if (status == PM_OK && row->solvent != 0)
        status = pm_studio_material(studio, row->solvent, &card, err);
    if (status == PM_OK && row->solvent != 0)
        row->solvent_name = pm_arena_text(arena, card->name);
    row->left_ul = pm_volume_in(studio, row->material, row->strength, row->left);
    row->past = pm_stock_past(row->best_before, pm_studio_today(studio));
    row->nearly_empty = pm_bottle_nearly_empty(row->left, row->first);
    return status == PM_OK ? pm_arena_status(arena, err) : status;
}

enum pm_status pm_bottle_show(struct pm_studio *studio, int64_t id, struct pm_arena *arena,
                              struct pm_bottle *out, struct pm_error *err)
{
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_bottle_get(studio->library, id, arena, out, err);
    if (status == PM_OK)
        status = derive(studio, arena, out, err);
    return pm_look_over(studio, status);
}

/* Whether every word stands somewhere on the bottle. */
static bool matches(const struct pm_bottle *bottle, const char *words)
{
    const char *const fields[] = {bottle->name,  bottle->solvent_name, bottle->lot,
                                  bottle->place, bottle->supplier,     bottle->label};
    struct pm_text all = PM_TEXT_EMPTY;
    for (size_t i = 0; i < sizeof fields / sizeof *fields; i++)
        if (fields[i] != NULL)
            pm_text_addf(&all, "%s ", fields[i]);
    char *folded = pm_fold(pm_text_get(&all));
    bool found = folded != NULL && pm_text_ok(&all);
    for (const char *word = words; found && *word;) {
        size_t length = strcspn(word, " ");
        found = length == 0 || memmem(folded, strlen(folded), word, length) != NULL;
        word += length + strspn(word + length, " ");
    }
    pm_free(folded);
    pm_text_release(&all);
    return found;
}

/* By material, strongest first, by number. Names are compared as they stand: folding 20,000 of them
 * for every comparison would be felt. */
static int compare_bottles(const void *left, const void *right)
{
    const struct pm_bottle *a = left, *b = right;
    int order = a->material == b->material ? 0 : strcasecmp(a->name, b->name);
    if (order == 0)
        order = (a->strength < b->strength) - (a->strength > b->strength);
    return order != 0 ? order : (a->id > b->id) - (a->id < b->id);
}

/* Leaves those that pass, with all their names. */
static enum pm_status sift(struct pm_studio *studio, const struct pm_bottle_filter *filter,
                           const char *words, struct pm_bottles *list, struct pm_error *err)
{
    const pm_day today = pm_studio_today(studio);
    enum pm_status status = PM_OK;
    size_t kept = 0;
    for (size_t i = 0; status == PM_OK && i < list->count; i++) {
        struct pm_bottle *bottle = &list->items[i];
        if ((filter->have || filter->old) && bottle->left <= 0)
            continue;
        if (filter->old && !pm_stock_past(bottle->best_before, today))
            continue;
        status = derive(studio, &list->arena, bottle, err);
        if (status == PM_OK && (words == NULL || matches(bottle, words)))
            list->items[kept++] = *bottle;
    }
    list->count = kept;
    return status;
}

enum pm_status pm_bottles_list(struct pm_studio *studio, const struct pm_bottle_filter *filter,
                               struct pm_bottles *out, struct pm_error *err)
{
    struct pm_bottles list = {0};
    char *words = filter->text != NULL && filter->text[0] != '\0' ? pm_fold(filter->text) : NULL;
    if (filter->text != NULL && filter->text[0] != '\0' && words == NULL)
        return pm_fail_memory(err);
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status == PM_OK) {
        status =
            pm_bottle_list(studio->library, filter->material, filter->set_aside_too, &list, err);
        if (status == PM_OK)
            status = sift(studio, filter, words, &list, err);
        status = pm_look_over(studio, status);
    }
    pm_free(words);
    if (status != PM_OK) {
        pm_list_release(&list);
        return status;
    }
    if (list.count > 1)
        qsort(list.items, list.count, sizeof *list.items, compare_bottles);
    *out = list;
    return PM_OK;
}

enum pm_status pm_bottle_ledger(struct pm_studio *studio, int64_t id, struct pm_movements *out,
                                struct pm_error *err)
{
    struct pm_movements list = {0};
    char label[PM_BOTTLE_LABEL];
    enum pm_status status = pm_movement_list(studio->library, id, &list, err);
    for (size_t i = 0; status == PM_OK && i < list.count; i++)
        if (list.items[i].other != 0)
            list.items[i].other_label =
                pm_arena_text(&list.arena, pm_bottle_label(list.items[i].other, label));
    if (status == PM_OK)
        status = pm_arena_status(&list.arena, err);
    pm_list_give(&list, status, out);
    return status;
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
    enum pm_status status = pm_bottle_get(studio->library, from, NULL, &source, err);
    if (status == PM_OK)
        status = pm_bottle_get(studio->library, into, NULL, &target, err);
    if (status == PM_OK && source.material != target.material && source.material != target.solvent)
        status = pm_fail(err, PM_REFUSED, "What is in bottle %s does not belong into %s.",
                         pm_bottle_label(from, a), pm_bottle_label(into, b));
    return status;
}

static enum pm_status move_both(struct pm_shelf_step *step, struct pm_movement *movement,
                                bool even_below, pm_mass *missing, struct pm_error *err)
{
    const int64_t into = movement->other;
    enum pm_status status = PM_OK;
    if (movement->kind == PM_MOVED)
        status = check_into(step->studio, movement->bottle, into, err);
    else
        movement->other = 0;
    if (status == PM_OK)
        status = pm_bottle_move(step, movement, even_below, missing, err);
    if (status != PM_OK || movement->kind != PM_MOVED)
        return status;
    movement->kind = PM_RECEIVED;
    movement->other = movement->bottle;
    movement->bottle = into;
    movement->mass = -movement->mass;
    return pm_bottle_move(step, movement, false, NULL, err);
}

enum pm_status pm_poured_for(struct pm_studio *studio, const char *purpose, int64_t *trial,
                             struct pm_error *err)
{
    const char *slash = strrchr(purpose, '/');
    int64_t formula = 0, found = 0, number = 0;
    struct pm_error why;
    *trial = 0;
    if (slash == NULL || slash == purpose || slash[1] == '\0' ||
        slash[1 + strspn(slash + 1, "0123456789")] != '\0' || strlen(slash) > 12)
        return PM_OK;
    for (const char *at = slash + 1; *at; at++)
        number = number * 10 + (*at - '0');
    char *name = pm_strndup(purpose, (size_t)(slash - purpose));
    if (name == NULL)
        return pm_fail_memory(err);
    enum pm_status status = pm_formula_by_name(studio->library, name, &formula, &why);
    pm_free(name);
    if (status == PM_OK && number > 0)
        status = pm_trial_by_number(studio->library, formula, number, &found, &why);
    if (status == PM_OK)
        *trial = found;
    return status == PM_OK || status == PM_MISSING ? PM_OK : pm_fail(err, status, "%s", why.text);
}

/* Something comes into the bottle: one that was emptied and set aside stands on the shelf again. */
static enum pm_status bring_back(struct pm_shelf_step *step, int64_t id, struct pm_error *err)
{
    struct pm_arena arena = {0};
    struct pm_bottle row;
    enum pm_status status = pm_bottle_get(step->studio->library, id, &arena, &row, err);
    const bool back = status == PM_OK && row.set_aside && row.left <= 0;
    if (back)
        status = pm_shelf_log_touch(&step->log, PM_ROWS_BOTTLE, id, err);
    if (back && status == PM_OK) {
        row.set_aside = false;
        status = pm_bottle_update(step->studio->library, &row, err);
    }
    pm_arena_release(&arena);
    return status;
}

enum pm_status pm_movement_typed(struct pm_studio *studio, int64_t bottle,
                                 const char *const *values, struct pm_arena *arena,
                                 struct pm_movement *out, struct pm_error *err)
{
    const struct pm_naming naming = {.find = find_reference, .context = studio};
    const char *given[PM_MOVEMENT_ATTRIBUTES];
    *out = (struct pm_movement){.id = 0};
    pm_entity_clear(&pm_movement_entity, out);
    for (size_t i = 0; i < PM_MOVEMENT_ATTRIBUTES; i++)
        given[i] = i != PM_MOVEMENT_MASS ? values[i] : NULL;
    /* May be a volume, which only this bottle makes a mass of. */
    enum pm_status status = pm_error_at(
        err, "mass", pm_bottle_amount(studio, bottle, values[PM_MOVEMENT_MASS], &out->mass, err));
    return status == PM_OK ? pm_entity_read(&pm_movement_entity, given, out, arena, &naming, err)
                           : status;
}

enum pm_status pm_bottle_take_one(struct pm_shelf_step *step, int64_t id,
                                  const struct pm_movement *taken, bool even_below,
                                  pm_mass *missing, struct pm_error *err)
{
    struct pm_movement movement = {
        .bottle = id, .kind = taken->kind, .other = taken->other, .at = taken->at};
    char *purpose = NULL, *note = NULL;
    if (taken->kind == PM_COUNTED || taken->kind == PM_CORRECTED)
        return pm_fail_at(err, "kind", PM_INVALID,
                          "\"%s\" is not poured, moved, spilled, discarded or received.",
                          pm_move_word(taken->kind));
    if (taken->mass <= 0 || taken->mass > PM_MASS_MAX)
        return pm_fail_at(err, "mass", PM_INVALID,
                          "Say a mass above zero; the kind says where it went.");
    enum pm_status status = pm_clean_text(taken->purpose, "The batch", 0, &purpose, err);
    if (status == PM_OK)
        status = pm_clean_text(taken->note, "The note", NOTE_BYTES, &note, err);
    movement.mass = taken->kind == PM_RECEIVED ? taken->mass : -taken->mass;
    movement.purpose = purpose;
    movement.note = note;
    if (status == PM_OK && purpose != NULL && movement.kind == PM_POURED)
        status = pm_poured_for(step->studio, purpose, &movement.trial, err);
    if (status == PM_OK && movement.kind == PM_RECEIVED)
        status = bring_back(step, id, err);
    if (status == PM_OK && taken->other != 0)
        status = bring_back(step, taken->other, err);
    if (status == PM_OK)
        status = move_both(step, &movement, even_below, missing, err);
    pm_free(purpose);
    pm_free(note);
    return status;
}

enum pm_status pm_bottles_take(struct pm_studio *studio, const int64_t *ids,
                               const struct pm_movement *taken, size_t count, bool even_below,
                               const char *sentence, pm_mass *missing, struct pm_error *err)
{
    struct pm_shelf_step step;
    if (missing != NULL)
        *missing = 0;
    enum pm_status status = pm_step_begin(&step, studio, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; status == PM_OK && i < count; i++)
        status = pm_bottle_take_one(&step, ids[i], &taken[i], even_below, missing, err);
    pm_step_say(&step, "%s", sentence);
    return pm_step_end(&step, status, "ledger", err);
}

enum pm_status pm_bottle_take(struct pm_studio *studio, int64_t id, const struct pm_movement *taken,
                              bool even_below, pm_mass *missing, struct pm_error *err)
{
    struct pm_text sentence = PM_TEXT_EMPTY;
    char mass[PM_AMOUNT_TEXT], label[PM_BOTTLE_LABEL];
    pm_text_addf(&sentence, "%s %s %s bottle %s", pm_mass_format(taken->mass, 2, '.', mass),
                 pm_move_word(taken->kind), taken->kind == PM_RECEIVED ? "into" : "from",
                 pm_bottle_label(id, label));
    if (taken->other != 0)
        pm_text_addf(&sentence, " into %s", pm_bottle_label(taken->other, label));
    if (taken->purpose != NULL)
        pm_text_addf(&sentence, " for %s", taken->purpose);
    enum pm_status status = pm_text_ok(&sentence)
                                ? pm_bottles_take(studio, &id, taken, 1, even_below,
                                                  pm_text_get(&sentence), missing, err)
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
        status = pm_bottle_get(step->studio->library, id, NULL, &row, err);
    if (status == PM_OK && found > 0)
        status = bring_back(step, id, err);
    if (status == PM_OK) {
        struct pm_movement movement = {.bottle = id,
                                       .kind = PM_COUNTED,
                                       .mass = found - row.left,
                                       .found = found,
                                       .note = clean,
                                       .at = at};
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
    struct pm_arena arena = {0};
    struct pm_bottle row;
    char label[PM_BOTTLE_LABEL];
    enum pm_status status = pm_step_begin(&step, studio, err);
    if (status != PM_OK)
        return status;
    status = pm_shelf_log_touch(&step.log, PM_ROWS_BOTTLE, id, err);
    if (status == PM_OK)
        status = pm_bottle_count_one(&step, id, 0, note, 0, err);
    if (status == PM_OK)
        status = pm_bottle_get(studio->library, id, &arena, &row, err);
    if (status == PM_OK) {
        row.set_aside = true;
        status = pm_bottle_update(studio->library, &row, err);
    }
    pm_arena_release(&arena);
    pm_step_say(&step, "Bottle %s is empty", pm_bottle_label(id, label));
    return pm_step_end(&step, status, "ledger", err);
}
