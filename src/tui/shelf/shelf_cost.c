/* SPDX-License-Identifier: MIT */
/* What the formula that is open costs, from the bottles' prices; rates of exchange. */
#include "shelf.h"

#include "kit/overlay.h"

#include "permille/base/utf8.h"

#include "permille/base/clock.h"
#include "permille/base/mem.h"

#include <stdio.h>
#include <string.h>

#define NAME_CELLS 30
#define MASS_CELLS 12
#define COST_CELLS 16

static void sum_text(const struct shelf *shelf, const struct pm_sum *sum, struct pm_text *out)
{
    pm_sum_format(sum, 2, shelf->house->sign, out);
}

/* ---- the page ---- */

static void add_line(const struct shelf *shelf, struct pm_page *page,
                     const struct pm_cost_line *cost, int cells)
{
    struct pm_text line = PM_TEXT_EMPTY, sum = PM_TEXT_EMPTY;
    char mass[PM_AMOUNT_TEXT], label[PM_BOTTLE_LABEL];
    bool nothing = cost->sum.count == 0;
    sum_text(shelf, &cost->printed, &sum);
    shelf_pad(&line, cost->title, NAME_CELLS, false);
    shelf_pad(&line, shelf_mass(shelf, cost->mass, mass), MASS_CELLS, true);
    shelf_pad(&line,
              cost->resting                  ? pm_stance_word(PM_RESTING)
              : nothing && cost->unknown > 0 ? "unknown"
                                             : pm_text_get(&sum),
              cells, true);
    if (cost->bottle)
        pm_text_addf(&line, "  %s", pm_bottle_label(cost->bottle, label));
    if (cost->bottles > 1)
        pm_text_addf(&line, " and %zu more", cost->bottles - 1);
    if (cost->unknown > 0 && !nothing)
        pm_text_addf(&line, "  and %zu unknown", cost->unknown);
    pm_page_add(page, cost->unknown > 0 ? PM_ROLE_WARNING : PM_ROLE_NORMAL, 4, pm_text_get(&line));
    pm_text_release(&line);
    pm_text_release(&sum);
}

static void add_sum(const struct shelf *shelf, struct pm_page *page, const char *label,
                    const struct pm_sum *sum, size_t unknown)
{
    struct pm_text line = PM_TEXT_EMPTY, text = PM_TEXT_EMPTY;
    if (sum->count == 0 && unknown == 0)
        return;
    sum_text(shelf, sum, &text);
    shelf_pad(&line, label, NAME_CELLS + MASS_CELLS, false);
    pm_text_addf(&line, " %s%s", unknown > 0 ? "at least " : "", pm_text_get(&text));
    pm_page_add(page, PM_ROLE_HEADING, 4, pm_text_get(&line));
    pm_text_release(&line);
    pm_text_release(&text);
}

/* Of the widest cost: an amount in two currencies takes its room. */
static int cost_cells(const struct shelf *shelf, const struct pm_cost *cost)
{
    struct pm_text sum = PM_TEXT_EMPTY;
    int widest = COST_CELLS;
    for (size_t i = 0; i < cost->count; i++) {
        pm_text_clear(&sum);
        sum_text(shelf, &cost->lines[i].printed, &sum);
        const int cells = (int)pm_utf8_cells(pm_text_get(&sum)) + 1;
        widest = cells > widest ? cells : widest;
    }
    pm_text_release(&sum);
    return widest;
}

static void add_heads(struct pm_page *page, int cells)
{
    struct pm_text line = PM_TEXT_EMPTY;
    shelf_pad(&line, "line", NAME_CELLS, false);
    shelf_pad(&line, "poured", MASS_CELLS, true);
    shelf_pad(&line, "cost", cells, true);
    pm_text_add(&line, "  bottle");
    pm_page_add(page, PM_ROLE_FAINT, 0, pm_text_get(&line));
    pm_text_release(&line);
}

static void add_cost(const struct shelf *shelf, struct pm_page *page, const struct pm_cost *cost)
{
    char date[PM_TIME_TEXT];
    const int cells = cost_cells(shelf, cost);
    add_heads(page, cells);
    for (size_t i = 0; i < cost->count; i++)
        add_line(shelf, page, &cost->lines[i], cells);
    pm_page_add(page, PM_ROLE_NORMAL, 0, "");
    add_sum(shelf, page, "the batch", &cost->printed, cost->unknown);
    add_sum(shelf, page, "a kilogram of concentrate", &cost->per_kilogram, cost->unknown);
    if (cost->per_bottle.count > 0)
        add_sum(shelf, page, "a bottle of finished product", &cost->per_bottle, cost->unknown);
    if (cost->unknown_names != NULL)
        pm_page_addf(page, PM_ROLE_WARNING, 4, "Without a price, so not counted: %s.",
                     cost->unknown_names);
    if (cost->remark != NULL)
        pm_page_add(page, PM_ROLE_WARNING, 4, cost->remark);
    if (cost->rate_day != PM_NO_DAY)
        pm_page_addf(page, PM_ROLE_FAINT, 4, "The oldest rate of exchange used is of %s.",
                     pm_day_format(cost->rate_day, date));
    if (shelf->chosen_count > 0)
        pm_page_addf(page, PM_ROLE_FAINT, 4,
                     "%zu chosen bottle%s count%s before the oldest ones (marked * on the Shelf).",
                     shelf->chosen_count, shelf->chosen_count == 1 ? "" : "s",
                     shelf->chosen_count == 1 ? "s" : "");
}

/* ---- the question ---- */

enum { COST_BATCH, COST_DOSAGE, COST_PRODUCT, COST_CURRENCY, COST_FIELDS };

static enum pm_status read_cost_wish(struct pm_cost_wish *wish, const char *const values[],
                                     struct pm_error *err)
{
    enum pm_status status =
        pm_error_at(err, "batch", pm_mass_read(values[COST_BATCH], &wish->batch, err));
    if (status == PM_OK && !pm_is_blank(values[COST_DOSAGE]))
        status =
            pm_error_at(err, "dosage", pm_strength_read(values[COST_DOSAGE], &wish->dosage, err));
    if (status == PM_OK && !pm_is_blank(values[COST_PRODUCT]))
        status =
            pm_error_at(err, "product", pm_mass_read(values[COST_PRODUCT], &wish->product, err));
    if (status == PM_OK && (wish->dosage > 0) != (wish->product > 0))
        status = pm_fail_at(err, wish->dosage > 0 ? "product" : "dosage", PM_INVALID,
                            "For a bottle of product both are needed, its dosage and how much is "
                            "in it.");
    if (!pm_is_blank(values[COST_CURRENCY]))
        wish->currency = values[COST_CURRENCY];
    return status;
}

static enum pm_status show_cost(struct shelf *shelf, const struct pm_cost_wish *wish,
                                struct pm_error *err)
{
    struct pm_text title = PM_TEXT_EMPTY;
    struct pm_cost cost;
    char mass[PM_AMOUNT_TEXT];
    const struct pm_sheet *sheet = pm_bench_shown(shelf->app);
    if (sheet == NULL)
        return pm_fail(err, PM_MISSING, "No formula is open in the Bench.");
    enum pm_status status = pm_stock_cost(shelf->house->studio, sheet, wish, &cost, err);
    if (status != PM_OK)
        return status;
    pm_text_addf(&title, "%s of %s: what it costs", shelf_mass(shelf, wish->batch, mass),
                 sheet->name);
    struct pm_page *page = pm_page_new(pm_text_get(&title));
    add_cost(shelf, page, &cost);
    pm_cost_release(&cost);
    pm_page_open(shelf->app, page, false);
    pm_text_release(&title);
    return PM_OK;
}

static enum pm_status cost_accept(void *context, const char *const values[], struct pm_error *err)
{
    struct shelf *shelf = context;
    struct pm_cost_wish wish = {.bottles = shelf->chosen, .bottle_count = shelf->chosen_count};
    enum pm_status status = read_cost_wish(&wish, values, err);
    if (status == PM_OK)
        status = pm_error_at(err, "currency", show_cost(shelf, &wish, err));
    if (status != PM_OK)
        return status;
    shelf_keep_batch(shelf, values[COST_BATCH], wish.batch);
    snprintf(shelf->dosage, sizeof shelf->dosage, "%s", values[COST_DOSAGE]);
    snprintf(shelf->product, sizeof shelf->product, "%s", values[COST_PRODUCT]);
    snprintf(shelf->currency, sizeof shelf->currency, "%s", values[COST_CURRENCY]);
    return PM_OK;
}

void pm_shelf_cost_here(void *state)
{
    struct pm_app *app = pm_app_of(state);
    struct shelf *shelf = pm_app_room_state(app, PM_ROOM_SHELF);
    struct pm_text title = PM_TEXT_EMPTY;
    const struct pm_sheet *sheet = pm_bench_shown(app);
    if (shelf == NULL)
        return;
    if (sheet == NULL) {
        pm_app_say(app, "No formula is open in the Bench, so there is nothing to add up.");
        return;
    }
    pm_text_addf(&title, "What %s costs", sheet->name);
    const struct pm_form_spec spec = {
        .title = pm_text_get(&title),
        .fields = {[COST_BATCH] = {.key = "batch",
                                   .label = "A batch of",
                                   .text = shelf->batch,
                                   .replace = true,
                                   .limit = sizeof shelf->batch - 1},
                   [COST_DOSAGE] = {.key = "dosage",
                                    .label = "Dosage",
                                    .text = shelf->dosage,
                                    .replace = true,
                                    .limit = sizeof shelf->dosage - 1,
                                    .hint = "Of the concentrate in the product: 15 %. Empty: no "
                                            "product."},
                   [COST_PRODUCT] = {.key = "product",
                                     .label = "A bottle holds",
                                     .text = shelf->product,
                                     .replace = true,
                                     .limit = sizeof shelf->product - 1,
                                     .hint = "Product in one bottle: 50 g. Empty: no product."},
                   [COST_CURRENCY] = {.key = "currency",
                                      .label = "All in",
                                      .text = shelf->currency,
                                      .replace = true,
                                      .limit = sizeof shelf->currency - 1,
                                      .hint = "EUR: by the rates you have given. Empty: each "
                                              "currency by itself."}},
        .field_count = COST_FIELDS,
        .accept = cost_accept,
        .context = shelf,
    };
    pm_form_open(app, &spec);
    pm_text_release(&title);
}

/* ---- rates ---- */

static enum pm_status rate_accept(void *context, const char *const values[], struct pm_error *err)
{
    struct shelf *shelf = context;
    pm_day day = PM_NO_DAY;
    enum pm_status status = PM_OK;
    if (!pm_is_blank(values[3]))
        status = pm_error_at(err, "day", pm_day_read(values[3], &day, err));
    if (status == PM_OK)
        status = pm_error_at(
            err, "currency",
            pm_stock_set_rate(shelf->house->studio, values[0], values[2], values[1], day, err));
    if (status == PM_OK)
        pm_app_say(shelf->app, "1 %s is %s %s. Saved.", values[0], values[1], values[2]);
    return status;
}

void shelf_rate(void *state)
{
    struct shelf *shelf = state;
    struct pm_rates rates;
    struct pm_text title = PM_TEXT_EMPTY;
    char today[PM_TIME_TEXT], rate[PM_AMOUNT_TEXT], date[PM_TIME_TEXT];
    pm_text_add(&title, "A rate of exchange");
    if (pm_stock_rates(shelf->house->studio, &rates, NULL) == PM_OK) {
        for (size_t i = 0; i < rates.count && i < 2; i++)
            pm_text_addf(&title, "%s1 %s = %s %s on %s", i == 0 ? "; known: " : ", ",
                         rates.items[i].currency,
                         pm_decimal_exact(rates.items[i].rate, 9, shelf->house->sign, rate),
                         rates.items[i].other, pm_day_format(rates.items[i].day, date));
        pm_list_release(&rates);
    }
    const struct pm_form_spec spec = {
        .title = pm_text_get(&title),
        .fields = {{.key = "currency", .label = "One", .limit = 3, .hint = "Three letters: CHF."},
                   {.key = "rate", .label = "is", .limit = 30, .hint = "0.94"},
                   {.key = "other", .label = "of", .text = "EUR", .replace = true, .limit = 3},
                   {.key = "day",
                    .label = "On",
                    .text = pm_day_format(pm_day_of(pm_app_now(shelf->app)), today),
                    .replace = true,
                    .limit = 20}},
        .field_count = 4,
        .accept = rate_accept,
        .writes = true,
        .context = shelf,
    };
    pm_form_open(shelf->app, &spec);
    pm_text_release(&title);
}
