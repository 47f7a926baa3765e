/* SPDX-License-Identifier: MIT */
/*
 * Rates of exchange, planned batches, and what they need beyond stock.
 */
#include "bottle.h"

#include "permille/base/mem.h"
#include "permille/core/currency.h"
#include "permille/store/batches.h"
#include "permille/studio/shelf.h"
#include "permille/studio/stock.h"

#include <stdlib.h>
#include <string.h>

/* ---- rates ---- */

enum pm_status pm_stock_set_rate(struct pm_studio *studio, const char *currency, const char *other,
                                 const char *rate, pm_day day, struct pm_error *err)
{
    struct pm_rate row = {.rate = 0};
    struct pm_shelf_step step;
    enum pm_status status = pm_currency_read(currency, row.currency, err);
    if (status == PM_OK)
        status = pm_currency_read(other, row.other, err);
    if (status == PM_OK && strcmp(row.currency, row.other) == 0)
        status = pm_fail(err, PM_INVALID, "A rate is between two currencies.");
    if (status == PM_OK)
        status = pm_decimal_read(rate, 9, "The rate", &row.rate, err);
    if (status == PM_OK && row.rate <= 0)
        status = pm_fail(err, PM_INVALID, "A rate is above zero.");
    /* A day's play: it may be tomorrow where the rate is from. */
    if (status == PM_OK && day != PM_NO_DAY && day > pm_studio_today(studio) + 1)
        status = pm_fail(err, PM_INVALID, "A rate is of a day that has come.");
    if (status == PM_OK)
        status = pm_step_begin(&step, studio, err);
    if (status != PM_OK)
        return status;
    row.day = day != PM_NO_DAY ? day : pm_studio_today(studio);
    status = pm_rate_insert(studio->library, &row, err);
    pm_step_say(&step, "1 %s is %s %s", row.currency, rate, row.other);
    return pm_step_end_for_good(&step, status, "rate", err);
}

enum pm_status pm_stock_rates(struct pm_studio *studio, struct pm_rates *out, struct pm_error *err)
{
    return pm_rate_list(studio->library, out, err);
}

/* ---- batches ---- */

/* Something happened to a batch, as part of the step. */
static enum pm_status happen(struct pm_shelf_step *step, int64_t batch, enum pm_batch_state kind,
                             const char *text, struct pm_error *err)
{
    struct pm_library *library = step->studio->library;
    const struct pm_batch_event event = {
        .batch = batch, .kind = kind, .at = pm_library_now(library), .text = text};
    int64_t id = 0;
    enum pm_status status = pm_batch_event_insert(library, &event, &id, err);
    return status == PM_OK ? pm_shelf_log_happened(&step->log, id, err) : status;
}

static enum pm_status read_plan(struct pm_studio *studio, const char *const *values,
                                struct pm_arena *arena, struct pm_batch *row, struct pm_error *err)
{
    const struct pm_naming naming = {.find = pm_trial_reference, .context = studio};
    struct pm_kept *kept;
    pm_entity_clear(&pm_batch_entity, row);
    enum pm_status status = pm_entity_read(&pm_batch_entity, values, row, arena, &naming, err);
    if (status == PM_OK && row->mass <= 0)
        status = pm_fail_at(err, "mass", PM_INVALID, "A batch has more than no mass.");
    if (status == PM_OK)
        status = pm_error_at(err, "trial", pm_studio_kept(studio, row->trial, false, &kept, err));
    return status;
}

static enum pm_status plan(struct pm_shelf_step *step, struct pm_batch *row, struct pm_error *err)
{
    struct pm_studio *studio = step->studio;
    struct pm_kept *kept;
    char *title = NULL;
    char amount[PM_AMOUNT_TEXT];
    enum pm_status status = pm_studio_kept(studio, row->trial, false, &kept, err);
    if (status == PM_OK)
        status = pm_kept_title(studio, kept, &title, err);
    if (status == PM_OK)
        status = pm_batch_insert(studio->library, row, err);
    if (status == PM_OK)
        status = pm_shelf_log_born(&step->log, PM_ROWS_BATCH, row->id, err);
    if (status == PM_OK)
        status = happen(step, row->id, PM_BATCH_PLANNED, NULL, err);
    pm_step_say(step, "Planned %s of %s", pm_mass_format(row->mass, 2, '.', amount),
                title != NULL ? title : "");
    pm_free(title);
    return status;
}

enum pm_status pm_batch_plan(struct pm_studio *studio, const char *const *values, int64_t *id,
                             struct pm_error *err)
{
    struct pm_shelf_step step;
    struct pm_arena arena = {0};
    struct pm_batch row = {.id = 0};
    enum pm_status status = pm_step_begin(&step, studio, err);
    if (status != PM_OK)
        return status;
    status = read_plan(studio, values, &arena, &row, err);
    if (status == PM_OK)
        status = plan(&step, &row, err);
    status = pm_step_end(&step, status, "plan", err);
    pm_arena_release(&arena);
    if (status == PM_OK && id != NULL)
        *id = row.id;
    return status;
}

enum pm_status pm_batch_done(struct pm_studio *studio, int64_t id, struct pm_error *err)
{
    struct pm_shelf_step step;
    struct pm_batch row;
    enum pm_status status = pm_step_begin(&step, studio, err);
    if (status != PM_OK)
        return status;
    status = pm_batch_get(studio->library, id, NULL, &row, err);
    if (status == PM_OK && !pm_batch_over(row.state))
        status = happen(&step, id, PM_BATCH_FINISHED, "weighed, or given up", err);
    pm_step_say(&step, "Planned batch %lld is done with", (long long)id);
    return pm_step_end(&step, status, "plan", err);
}

enum pm_status pm_batches_list(struct pm_studio *studio, bool over_too, struct pm_batches *out,
                               struct pm_error *err)
{
    struct pm_batches list = {0};
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_batch_list(studio->library, over_too, &list, err);
    for (size_t i = 0; status == PM_OK && i < list.count; i++) {
        struct pm_batch *batch = &list.items[i];
        struct pm_kept *kept;
        char *title = NULL;
        status = pm_studio_kept(studio, batch->trial, false, &kept, err);
        if (status == PM_OK)
            status = pm_kept_title(studio, kept, &title, err);
        if (status == PM_OK) {
            batch->formula = kept->formula;
            batch->number = kept->number;
            batch->title = pm_arena_text(&list.arena, title);
            status = pm_arena_status(&list.arena, err);
        }
        pm_free(title);
    }
    status = pm_look_over(studio, status);
    if (status != PM_OK)
        pm_list_release(&list);
    else
        *out = list;
    return status;
}

/* ---- shopping ---- */

/* What is left of a material's bottles while the plans draw on them. */
struct store_room {
    int64_t material;
    struct pm_bottles bottles;
};
struct shopping {
    struct pm_studio *studio;
    struct pm_shopping list; /* need and, meanwhile, what is lacking in buy; neat */
    size_t capacity;
    struct pm_pour *pours; /* owned; of all plans, those alike added up */
    size_t pour_count, pour_capacity;
    struct store_room *rooms; /* owned */
    size_t room_count, room_capacity;
};

/* The line of the material, a new one where there is none yet; NULL: no memory. */
static struct pm_shopping_line *line_of(struct shopping *shopping, int64_t material)
{
    struct pm_shopping *list = &shopping->list;
    void *lines = list->lines;
    for (size_t i = 0; i < list->count; i++)
        if (list->lines[i].material == material)
            return &list->lines[i];
    if (!pm_grow(&lines, &shopping->capacity, list->count + 1, sizeof *list->lines))
        return NULL;
    list->lines = lines;
    list->lines[list->count] = (struct pm_shopping_line){.material = material};
    return &list->lines[list->count++];
}

static enum pm_status need(struct shopping *shopping, int64_t material, pm_mass mass,
                           pm_mass lacking, struct pm_error *err)
{
    if (mass == 0)
        return PM_OK;
    struct pm_shopping_line *line = line_of(shopping, material);
    if (line == NULL)
        return pm_fail_memory(err);
    line->need += mass;
    line->buy += lacking;
    return PM_OK;
}

static enum pm_status add_pour(struct shopping *shopping, const struct pm_pour *pour,
                               struct pm_error *err)
{
    void *pours = shopping->pours;
    for (size_t i = 0; i < shopping->pour_count; i++) {
        struct pm_pour *other = &shopping->pours[i];
        if (other->material == pour->material && other->strength == pour->strength &&
            other->solvent == pour->solvent) {
            other->mass += pour->mass;
            return PM_OK;
        }
    }
    if (!pm_grow(&pours, &shopping->pour_capacity, shopping->pour_count + 1, sizeof *pour))
        return pm_fail_memory(err);
    shopping->pours = pours;
    shopping->pours[shopping->pour_count++] = *pour;
    return PM_OK;
}

static enum pm_status need_batch(struct shopping *shopping, const struct pm_batch *batch,
                                 struct pm_error *err)
{
    struct pm_sheet *sheet;
    struct pm_pours pours;
    enum pm_status status = pm_sheet_open(shopping->studio, batch->trial, &sheet, err);
    if (status != PM_OK)
        return status;
    status = pm_sheet_pours(shopping->studio, sheet, batch->mass, &pours, err);
    pm_sheet_free(sheet);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; status == PM_OK && i < pours.count; i++)
        status = add_pour(shopping, &pours.items[i], err);
    pm_pours_release(&pours);
    return status;
}

static enum pm_status open_room(struct shopping *shopping, int64_t material,
                                struct pm_bottles **out, struct pm_error *err)
{
    void *rooms = shopping->rooms;
    for (size_t i = 0; i < shopping->room_count; i++) {
        if (shopping->rooms[i].material == material) {
            *out = &shopping->rooms[i].bottles;
            return PM_OK;
        }
    }
    if (!pm_grow(&rooms, &shopping->room_capacity, shopping->room_count + 1,
                 sizeof *shopping->rooms))
        return pm_fail_memory(err);
    shopping->rooms = rooms;
    struct store_room *room = &shopping->rooms[shopping->room_count];
    enum pm_status status = pm_bottles_of(shopping->studio, material, false, &room->bottles, err);
    if (status != PM_OK)
        return status;
    room->material = material;
    shopping->room_count++;
    *out = &room->bottles;
    return PM_OK;
}

/* Pours what bottles of that strength and solvent hold; what remains must be diluted or bought. */
static void draw_as_written(struct pm_bottles *bottles, struct pm_pour *pour)
{
    for (size_t i = 0; i < bottles->count && pour->mass > 0; i++) {
        struct pm_bottle *row = &bottles->items[i];
        if (row->solvent != pour->solvent || !pm_stock_serves(row->strength, pour->strength))
            continue;
        pm_mass taken = row->left < pour->mass ? row->left : pour->mass;
        row->left -= taken;
        pour->mass -= taken;
    }
}

/* The weakest bottle with something left that a dilution to `wanted` can be made from. */
static struct pm_bottle *weakest_above(struct pm_bottles *bottles, pm_strength wanted)
{
    struct pm_bottle *found = NULL;
    for (size_t i = 0; i < bottles->count; i++) {
        struct pm_bottle *row = &bottles->items[i];
        if (row->left > 0 && row->strength > wanted &&
            (found == NULL || row->strength < found->strength))
            found = row;
    }
    return found;
}

/* Takes `neat` of the material for a dilution. What cannot be had stays in *neat, and the solvent
 * that comes along is taken off *solvent. */
static void draw_to_dilute(struct pm_bottles *bottles, const struct pm_pour *pour, pm_mass *neat,
                           pm_mass *solvent)
{
    struct pm_bottle *row;
    while (*neat > 0 && (row = weakest_above(bottles, pour->strength))) {
        pm_mass taken = 0, holds = 0;
        pm_muldiv(*neat, PM_NEAT, row->strength, &taken);
        taken = taken < row->left ? taken : row->left;
        pm_muldiv(taken, row->strength, PM_NEAT, &holds);
        row->left -= taken > 0 ? taken : row->left;
        *neat -= holds < *neat ? holds : *neat;
        if (row->solvent == pour->solvent)
            *solvent -= taken - holds < *solvent ? taken - holds : *solvent;
    }
}

/* The dilution a pour still wants is made from stronger bottles or from what is bought; its solvent
 * is a pour of its own. */
static enum pm_status need_pour(struct shopping *shopping, const struct pm_pour *asked,
                                struct pm_pour rest, struct pm_error *err)
{
    struct pm_bottles *bottles;
    pm_mass whole = 0, neat = 0;
    enum pm_status status = open_room(shopping, rest.material, &bottles, err);
    if (status != PM_OK)
        return status;
    pm_muldiv(asked->mass, asked->strength, PM_NEAT, &whole);
    pm_muldiv(rest.mass, rest.strength, PM_NEAT, &neat);
    pm_mass solvent = rest.mass - neat;
    draw_to_dilute(bottles, &rest, &neat, &solvent);
    status = need(shopping, rest.material, whole, neat, err);
    if (status != PM_OK || rest.solvent == 0 || solvent == 0)
        return status;
    struct pm_pour pure = {.material = rest.solvent, .strength = PM_NEAT, .mass = solvent};
    status = open_room(shopping, pure.material, &bottles, err);
    if (status != PM_OK)
        return status;
    draw_as_written(bottles, &pure);
    return need(shopping, rest.solvent, solvent, pure.mass, err);
}

/* Strongest first: what a weak dilution could be made from as well is kept for what needs it. */
static int compare_pours(const void *left, const void *right)
{
    const struct pm_pour *a = left, *b = right;
    if (a->strength != b->strength)
        return a->strength > b->strength ? -1 : 1;
    return a->material < b->material ? -1 : a->material > b->material;
}

/* All pours are first served as they are written, in the order of compare_pours; only then is
 * anything diluted. */
static enum pm_status need_pours(struct shopping *shopping, struct pm_error *err)
{
    const size_t count = shopping->pour_count;
    struct pm_pour *rest = pm_alloc_array(count + 1, sizeof *rest);
    enum pm_status status = rest != NULL ? PM_OK : pm_fail_memory(err);
    if (count > 1)
        qsort(shopping->pours, count, sizeof *shopping->pours, compare_pours);
    for (size_t i = 0; status == PM_OK && i < count; i++) {
        struct pm_bottles *bottles;
        rest[i] = shopping->pours[i];
        status = open_room(shopping, rest[i].material, &bottles, err);
        if (status == PM_OK)
            draw_as_written(bottles, &rest[i]);
    }
    for (size_t i = 0; status == PM_OK && i < count; i++)
        status = need_pour(shopping, &shopping->pours[i], rest[i], err);
    pm_free(rest);
    return status;
}

/* What is below its level gets a line, needed or not. */
static enum pm_status need_low(struct shopping *shopping, struct pm_error *err)
{
    struct pm_ids low = {0};
    enum pm_status status =
        pm_holding_list(shopping->studio->library, PM_HOLDING_LOW, PM_NO_DAY, &low, err);
    for (size_t i = 0; status == PM_OK && i < low.count; i++)
        if (line_of(shopping, low.items[i]) == NULL)
            status = pm_fail_memory(err);
    pm_list_release(&low);
    return status;
}

/* Supplier and price of the newest bottle that was bought. */
static enum pm_status last_bought(struct pm_studio *studio, struct pm_shopping_line *line,
                                  struct pm_error *err)
{
    struct pm_bottles rows;
    const struct pm_bottle *newest = NULL;
    struct pm_text price = PM_TEXT_EMPTY;
    enum pm_status status = pm_bottles_of(studio, line->material, true, &rows, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < rows.count; i++) {
        const struct pm_bottle *row = &rows.items[i];
        if (row->made_from == 0 && row->supplier != NULL &&
            (newest == NULL || row->bought >= newest->bought))
            newest = row;
    }
    if (newest != NULL) {
        line->supplier = pm_strdup(newest->supplier);
        if (line->supplier == NULL)
            status = pm_fail_memory(err);
    }
    if (newest != NULL && newest->currency[0] != '\0') {
        char money[PM_AMOUNT_TEXT], mass[PM_AMOUNT_TEXT];
        pm_text_addf(
            &price, "%s %s for %s g",
            pm_decimal_format(newest->price, 6, pm_decimal_places(newest->price, 6, 2), '.', money),
            newest->currency, pm_decimal_exact(newest->priced_mass, 6, '.', mass));
        line->last_price = pm_text_take(&price);
        if (line->last_price == NULL)
            status = pm_fail_memory(err);
    }
    pm_text_release(&price);
    pm_list_release(&rows);
    return status;
}

static enum pm_status fill_line(struct shopping *shopping, struct pm_shopping_line *line,
                                bool with_low, struct pm_error *err)
{
    struct pm_studio *studio = shopping->studio;
    struct pm_holdings holdings = {0};
    struct pm_holding holding = {0};
    struct pm_card *card;
    enum pm_status status = pm_holdings_list(studio->library, &line->material, 1,
                                             pm_studio_today(studio), &holdings, err);
    if (status == PM_OK)
        holding = holdings.items[0];
    pm_list_release(&holdings);
    if (status == PM_OK)
        status = pm_studio_material(studio, line->material, &card, err);
    if (status == PM_OK && !(line->name = pm_strdup(card->name)))
        status = pm_fail_memory(err);
    if (status != PM_OK)
        return status;
    pm_mass after = holding.neat - (line->need - line->buy);
    line->have = line->buy > 0 ? line->need - line->buy : holding.neat;
    if (with_low && holding.level > 0 && pm_stock_low(holding.level, after)) {
        line->level = true;
        line->low_level = holding.level;
        line->buy += holding.level - after;
    }
    return line->buy > 0 ? last_bought(studio, line, err) : PM_OK;
}

static void free_line(struct pm_shopping_line *line)
{
    pm_free(line->supplier);
    pm_free(line->name);
    pm_free(line->last_price);
}

static int compare_lines(const void *left, const void *right)
{
    const struct pm_shopping_line *a = left, *b = right;
    if ((a->supplier == NULL) != (b->supplier == NULL))
        return a->supplier != NULL ? -1 : 1;
    int order = a->supplier != NULL ? strcmp(a->supplier, b->supplier) : 0;
    return order != 0 ? order : strcasecmp(a->name, b->name);
}

static enum pm_status fill_list(struct shopping *shopping, bool with_low, struct pm_error *err)
{
    struct pm_shopping *list = &shopping->list;
    enum pm_status status = PM_OK;
    size_t kept = 0;
    for (size_t i = 0; i < list->count && status == PM_OK; i++)
        status = fill_line(shopping, &list->lines[i], with_low, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < list->count; i++)
        if (list->lines[i].buy > 0)
            list->lines[kept++] = list->lines[i];
        else
            free_line(&list->lines[i]);
    list->count = kept;
    if (kept > 1)
        qsort(list->lines, kept, sizeof *list->lines, compare_lines);
    return PM_OK;
}

/* What was needed on the way; the list stays. */
static void shopping_clear(struct shopping *shopping)
{
    for (size_t i = 0; i < shopping->room_count; i++)
        pm_list_release(&shopping->rooms[i].bottles);
    pm_free(shopping->rooms);
    pm_free(shopping->pours);
}

enum pm_status pm_stock_shopping(struct pm_studio *studio, bool with_low, struct pm_shopping *out,
                                 struct pm_error *err)
{
    struct shopping shopping = {.studio = studio};
    struct pm_batches plans;
    enum pm_status status = pm_batches_list(studio, false, &plans, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < plans.count && status == PM_OK; i++)
        status = need_batch(&shopping, &plans.items[i], err);
    pm_list_release(&plans);
    if (status == PM_OK)
        status = need_pours(&shopping, err);
    shopping_clear(&shopping);
    if (status == PM_OK && with_low)
        status = need_low(&shopping, err);
    if (status == PM_OK)
        status = fill_list(&shopping, with_low, err);
    if (status != PM_OK) {
        pm_shopping_release(&shopping.list);
        return status;
    }
    *out = shopping.list;
    return PM_OK;
}

void pm_shopping_release(struct pm_shopping *shopping)
{
    for (size_t i = 0; i < shopping->count; i++)
        free_line(&shopping->lines[i]);
    pm_free(shopping->lines);
    *shopping = (struct pm_shopping){NULL, 0};
}
