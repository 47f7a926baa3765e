/* SPDX-License-Identifier: MIT */
/*
 * What it costs to pour something: across bottles, through dilutions made here, through those still
 * to be made.
 */
#include "price.h"

#include "permille/base/mem.h"

#define DEPTH_MAX   32                    /* dilutions of dilutions */
#define FINER_UP_TO INT64_C(100000000000) /* micrograms: 100 kg */

void pm_pricing_release(struct pm_pricing *pricing)
{
    pm_free(pricing->drawn);
    pricing->drawn = NULL;
}

void pm_priced_release(struct pm_priced *priced)
{
    pm_free(priced->unknown);
    priced->unknown = NULL;
}

static enum pm_status note_unknown(struct pm_priced *out, int64_t material, struct pm_error *err)
{
    void *unknown = out->unknown;
    for (size_t i = 0; i < out->unknown_count; i++)
        if (out->unknown[i] == material)
            return PM_OK;
    if (!pm_grow(&unknown, &out->unknown_capacity, out->unknown_count + 1, sizeof *out->unknown))
        return pm_fail_memory(err);
    out->unknown = unknown;
    out->unknown[out->unknown_count++] = material;
    return PM_OK;
}

static enum pm_status add_all(struct pm_priced *out, const struct pm_priced *other,
                              struct pm_error *err)
{
    enum pm_status status = pm_sum_add_all(&out->sum, &other->sum, err);
    for (size_t i = 0; i < other->unknown_count && status == PM_OK; i++)
        status = note_unknown(out, other->unknown[i], err);
    return status;
}

/* ---- the price of a bottle's content ---- */

static enum pm_status price_content(struct pm_studio *studio, const struct pm_bottle *row,
                                    pm_mass mass, int depth, struct pm_priced *out,
                                    struct pm_error *err);

static enum pm_status price_stock(struct pm_studio *studio, int64_t id, pm_mass mass, int depth,
                                  struct pm_priced *out, struct pm_error *err)
{
    struct pm_bottle row;
    const enum pm_status status = pm_bottle_get(studio->library, id, NULL, &row, err);
    return status == PM_OK ? price_content(studio, &row, mass, depth, out, err) : status;
}

/* What went into a dilution. What came from no bottle is the solvent, of which none was on the
 * shelf. */
static enum pm_status price_parts(struct pm_studio *studio, const struct pm_bottle *row,
                                  const struct pm_movements *ledger, pm_mass mass, int depth,
                                  struct pm_priced *out, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    pm_mass total = 0;
    for (size_t i = 0; i < ledger->count; i++)
        total += ledger->items[i].kind == PM_RECEIVED ? ledger->items[i].mass : 0;
    if (total <= 0)
        return note_unknown(out, row->material, err);
    for (size_t i = 0; i < ledger->count && status == PM_OK; i++) {
        const struct pm_movement *part = &ledger->items[i];
        pm_mass share = 0;
        if (part->kind != PM_RECEIVED)
            continue;
        if (!pm_muldiv(mass, part->mass, total, &share))
            return pm_fail(err, PM_INVALID, "The cost is too large to be counted.");
        status = part->other != 0
                     ? price_stock(studio, part->other, share, depth + 1, out, err)
                     : note_unknown(out, row->solvent != 0 ? row->solvent : row->material, err);
    }
    return status;
}

static enum pm_status price_content(struct pm_studio *studio, const struct pm_bottle *row,
                                    pm_mass mass, int depth, struct pm_priced *out,
                                    struct pm_error *err)
{
    enum pm_status status = PM_OK;
    if (row->currency[0] != '\0') {
        pm_money money = 0;
        status = pm_cost_of(mass, row->price, row->priced_mass, &money, err);
        return status == PM_OK ? pm_sum_add(&out->sum, row->currency, money, err) : status;
    }
    if (row->made_from == 0 || depth > DEPTH_MAX)
        return note_unknown(out, row->material, err);
    struct pm_movements ledger = {0};
    status = pm_movement_list(studio->library, row->id, &ledger, err);
    if (status == PM_OK)
        status = price_parts(studio, row, &ledger, mass, depth, out, err);
    pm_list_release(&ledger);
    return status;
}

/* How many times as much is priced, so that the micrograms to which each dilution on the way back
 * rounds lie below the price of a trace. */
static int64_t finer(pm_mass mass)
{
    int64_t times = 1;
    while (mass > 0 && mass * times <= FINER_UP_TO / 10)
        times *= 10;
    return times;
}

/* Adds what `mass` of the bottle's content cost; *known is false, and nothing added, when none of
 * it has a price. */
static enum pm_status price_bottle(struct pm_pricing *pricing, const struct pm_bottle *row,
                                   pm_mass mass, struct pm_priced *out, bool *known,
                                   struct pm_error *err)
{
    struct pm_priced content = {.bottle = 0};
    const int64_t times = finer(mass);
    enum pm_status status = price_content(pricing->studio, row, mass * times, 0, &content, err);
    if (status == PM_OK) {
        const struct pm_sum all = content.sum;
        status = pm_sum_scale(&all, 1, times, &content.sum, err);
    }
    *known = status == PM_OK && content.sum.count > 0;
    if (*known)
        status = add_all(out, &content, err);
    pm_priced_release(&content);
    return status;
}

/* ---- bottles in the order of pouring ---- */

struct order {
    const struct pm_bottles *rows;
    struct pm_stock_bottle *items; /* owned; of the rows */
    size_t count, full;            /* those with something left come first */
};

static const struct pm_bottle *row_of(const struct order *order, size_t at)
{
    const struct pm_bottle *row = order->rows->items;
    while (row->id != order->items[at].id)
        row++;
    return row;
}

static bool is_chosen(const struct pm_cost_wish *wish, int64_t id)
{
    for (size_t i = 0; i < wish->bottle_count; i++)
        if (wish->bottles[i] == id)
            return true;
    return false;
}

static pm_mass drawn_from(const struct pm_pricing *pricing, int64_t bottle)
{
    for (size_t i = 0; i < pricing->drawn_count; i++)
        if (pricing->drawn[i].bottle == bottle)
            return pricing->drawn[i].mass;
    return 0;
}

static enum pm_status draw(struct pm_pricing *pricing, int64_t bottle, pm_mass mass,
                           struct pm_error *err)
{
    void *drawn = pricing->drawn;
    for (size_t i = 0; i < pricing->drawn_count; i++)
        if (pricing->drawn[i].bottle == bottle) {
            pricing->drawn[i].mass += mass;
            return PM_OK;
        }
    if (!pm_grow(&drawn, &pricing->drawn_capacity, pricing->drawn_count + 1,
                 sizeof *pricing->drawn))
        return pm_fail_memory(err);
    pricing->drawn = drawn;
    pricing->drawn[pricing->drawn_count++] = (struct pm_drawn){bottle, mass};
    return PM_OK;
}

static bool serves(const struct pm_bottle *row, const struct pm_pour *pour)
{
    return pm_stock_serves(row->strength, pour->strength) && row->solvent == pour->solvent;
}

static enum pm_status order_bottles(struct pm_pricing *pricing, const struct pm_pour *pour,
                                    struct order *out, struct pm_error *err)
{
    const struct pm_bottles *rows = out->rows;
    const pm_day today = pm_studio_today(pricing->studio);
    out->items = pm_alloc_array(rows->count + 1, sizeof *out->items);
    if (out->items == NULL)
        return pm_fail_memory(err);
    for (int empty = 0; empty < 2; empty++) {
        for (size_t i = 0; i < rows->count; i++) {
            const struct pm_bottle *row = &rows->items[i];
            if (!serves(row, pour) || (row->left <= 0 || row->set_aside) != (empty == 1))
                continue;
            struct pm_stock_bottle item = pm_stock_bottle_of(row);
            item.chosen = is_chosen(pricing->wish, row->id);
            item.left = empty ? 0 : item.left - drawn_from(pricing, row->id);
            out->items[out->count++] = item;
        }
        out->full = empty == 0 ? out->count : out->full;
    }
    pm_stock_order(out->items, out->full, today);
    pm_stock_order(out->items + out->full, out->count - out->full, today);
    return PM_OK;
}

/* The price of the first bottle that has one, empty ones last: what was paid for the last bottle
 * tells more than nothing. */
static enum pm_status price_as_last(struct pm_pricing *pricing, const struct order *order,
                                    pm_mass mass, struct pm_priced *out, bool *known,
                                    struct pm_error *err)
{
    enum pm_status status = PM_OK;
    *known = mass == 0;
    for (size_t i = 0; i < order->count && !*known && status == PM_OK; i++)
        status = price_bottle(pricing, row_of(order, i), mass, out, known, err);
    return status;
}

static void count_bottle(struct pm_priced *out, int64_t bottle)
{
    if (out->bottles == 0)
        out->bottle = bottle;
    out->bottles++;
}

/* Pours from the bottles as they stand. *rest: what they do not hold; *unpriced: what they hold
 * without a price. */
static enum pm_status price_there(struct pm_pricing *pricing, const struct order *order,
                                  pm_mass mass, struct pm_priced *out, pm_mass *rest,
                                  pm_mass *unpriced, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    *rest = pm_stock_draw(order->items, order->full, mass);
    *unpriced = 0;
    for (size_t i = 0; i < order->full && status == PM_OK; i++) {
        const struct pm_stock_bottle *item = &order->items[i];
        bool known = false;
        if (item->take <= 0)
            continue;
        count_bottle(out, item->id);
        status = draw(pricing, item->id, item->take, err);
        if (status == PM_OK)
            status = price_bottle(pricing, row_of(order, i), item->take, out, &known, err);
        *unpriced += known ? 0 : item->take;
    }
    return status;
}

/* ---- what is still to be diluted ---- */

/* The weakest bottle that is stronger and has something left: the strong ones are kept for what
 * needs them. */
static const struct pm_bottle *weakest_above(const struct pm_pricing *pricing,
                                             const struct pm_bottles *rows,
                                             const struct pm_pour *pour)
{
    const struct pm_bottle *found = NULL;
    for (size_t i = 0; i < rows->count; i++) {
        const struct pm_bottle *row = &rows->items[i];
        if (!row->set_aside && row->left > drawn_from(pricing, row->id) &&
            row->strength > pour->strength && !serves(row, pour) &&
            (row->solvent == 0 || row->solvent == pour->solvent) &&
            (found == NULL || row->strength < found->strength))
            found = row;
    }
    return found;
}

/* Dilutes as much of *mass as there are stronger bottles for; the rest stays. */
static enum pm_status price_diluting(struct pm_pricing *pricing, const struct pm_bottles *rows,
                                     const struct pm_pour *pour, struct pm_priced *out,
                                     pm_mass *mass, pm_mass *solvent, struct pm_error *err)
{
    const struct pm_bottle *row;
    enum pm_status status = PM_OK;
    while (status == PM_OK && *mass > 0 && (row = weakest_above(pricing, rows, pour))) {
        pm_mass stock = 0, there = row->left - drawn_from(pricing, row->id), made = *mass;
        bool known = false;
        pm_muldiv(*mass, pour->strength, row->strength, &stock);
        stock = stock > 0 ? stock : 1;
        if (stock > there) {
            stock = there;
            pm_muldiv(stock, row->strength, pour->strength, &made);
            made = made < *mass ? made : *mass;
        }
        count_bottle(out, row->id);
        status = draw(pricing, row->id, stock, err);
        if (status == PM_OK)
            status = price_bottle(pricing, row, stock, out, &known, err);
        if (status == PM_OK && !known)
            status = note_unknown(out, row->material, err);
        *solvent += made > stock ? made - stock : 0;
        *mass -= made;
    }
    return status;
}

static enum pm_status price_neat(struct pm_pricing *pricing, int64_t material, pm_mass mass,
                                 struct pm_priced *out, struct pm_error *err)
{
    const struct pm_pour pour = {.material = material, .strength = PM_NEAT, .mass = mass};
    struct pm_priced priced = {.bottle = 0};
    enum pm_status status = mass > 0 ? pm_price_pour(pricing, &pour, &priced, err) : PM_OK;
    if (status == PM_OK)
        status = add_all(out, &priced, err);
    pm_priced_release(&priced);
    return status;
}

/* What nothing on the shelf gives: as the last bottle of it, or as if it were made of what was last
 * paid for neat material and solvent. */
static enum pm_status price_bought(struct pm_pricing *pricing, const struct order *order,
                                   const struct pm_pour *pour, pm_mass mass, struct pm_priced *out,
                                   struct pm_error *err)
{
    bool known;
    pm_mass neat = 0;
    enum pm_status status = price_as_last(pricing, order, mass, out, &known, err);
    if (status != PM_OK || known)
        return status;
    if (pour->solvent == 0)
        return note_unknown(out, pour->material, err);
    pm_muldiv(mass, pour->strength, PM_NEAT, &neat);
    status = price_neat(pricing, pour->material, neat > 0 ? neat : 1, out, err);
    return status == PM_OK ? price_neat(pricing, pour->solvent, mass - neat, out, err) : status;
}

static enum pm_status price_from(struct pm_pricing *pricing, const struct order *order,
                                 const struct pm_pour *pour, struct pm_priced *out,
                                 struct pm_error *err)
{
    pm_mass rest = 0, unpriced = 0, solvent = 0;
    enum pm_status status = price_there(pricing, order, pour->mass, out, &rest, &unpriced, err);
    if (status == PM_OK && pour->solvent != 0)
        status = price_diluting(pricing, order->rows, pour, out, &rest, &solvent, err);
    if (status == PM_OK)
        status = price_neat(pricing, pour->solvent, solvent, out, err);
    return status == PM_OK ? price_bought(pricing, order, pour, rest + unpriced, out, err) : status;
}

enum pm_status pm_price_pour(struct pm_pricing *pricing, const struct pm_pour *pour,
                             struct pm_priced *out, struct pm_error *err)
{
    struct pm_bottles rows;
    struct order order = {.rows = &rows};
    enum pm_status status = pm_bottles_of(pricing->studio, pour->material, true, &rows, err);
    if (status != PM_OK)
        return status;
    status = order_bottles(pricing, pour, &order, err);
    if (status == PM_OK)
        status = price_from(pricing, &order, pour, out, err);
    pm_free(order.items);
    pm_list_release(&rows);
    return status;
}
