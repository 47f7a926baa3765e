/* SPDX-License-Identifier: MIT */
/* Rows of bottles. */
#include "import.h"

#include "bottle.h"

#include "permille/base/utf8.h"
#include "permille/base/word.h"

#include <string.h>

/* Beside the attributes of a bottle. */
static const char *const bottle_columns[] = {"material",   "bottle",    "currency", "received",
                                             "received_g", "set_aside", NULL};

/* A mass in its own unit, or in grams in the column that says so. */
static const char *mass_field(struct pm_import *import, const char *name, const char *in_grams)
{
    const char *text = pm_import_field(import, name);
    return text != NULL ? text : pm_import_field(import, in_grams);
}

/* The price with its currency, be it in a column of its own; NULL when there is none. */
static enum pm_status read_price(struct pm_import *import, struct pm_text *text, const char **out,
                                 struct pm_error *err)
{
    const char *currency = pm_import_field(import, "currency"),
               *price = pm_import_field(import, "price");
    *out = price;
    if (price == NULL || currency == NULL)
        return PM_OK;
    pm_text_addf(text, "%s %s", price, currency);
    *out = pm_text_get(text);
    return pm_text_ok(text) ? PM_OK : pm_fail_memory(err);
}

/* "B007" of the column bottle into the row's number: what stands on glass stays on it. */
static enum pm_status read_number(struct pm_import *import, struct pm_bottle *row,
                                  struct pm_error *err)
{
    const char *text = pm_import_field(import, "bottle");
    if (text == NULL)
        return PM_OK;
    text += *text == 'B' || *text == 'b';
    if (*text == '\0' || text[strspn(text, "0123456789")] != '\0' || strlen(text) > 15)
        return pm_fail(err, PM_INVALID,
                       "\"%s\" names no bottle: they are called B and a number, as on the label.",
                       pm_import_field(import, "bottle"));
    for (; *text; text++)
        row->id = row->id * 10 + (*text - '0');
    return PM_OK;
}

static enum pm_status read_owner(struct pm_import *import, struct pm_bottle *row,
                                 struct pm_error *err)
{
    const char *name = pm_import_field(import, "material");
    if (name == NULL)
        return pm_fail(err, PM_INVALID, "A bottle needs a material.");
    return pm_material_by_name(import->studio->library, name, &row->material, err);
}

/* Anything but the two words might mean either: a bottle must not vanish for it. */
static enum pm_status read_aside(struct pm_import *import, bool *out, struct pm_error *err)
{
    const char *text = pm_import_field(import, "set_aside");
    *out = text != NULL && pm_fold_equal(text, "yes");
    if (text == NULL || *out || pm_fold_equal(text, "no"))
        return PM_OK;
    return pm_fail(err, PM_INVALID, "\"%s\" is neither yes nor no.", text);
}

static enum pm_status remember_stock(struct pm_import *import, int64_t bottle, struct pm_error *err)
{
    const char *label = pm_import_field(import, "made_from");
    struct pm_import_stock *stock = label != NULL ? pm_list_add(&import->stocks) : NULL;
    if (stock != NULL) {
        stock->bottle = bottle;
        stock->line = import->csv.line;
        stock->column = import->column;
        stock->row = import->row;
        stock->label = pm_arena_text(&import->stocks.arena, label);
    }
    return pm_arena_status(&import->stocks.arena, err);
}

static enum pm_status enter_bottle(struct pm_import *import, struct pm_shelf_step *step,
                                   struct pm_bottle *row, pm_mass received, struct pm_arena *arena,
                                   struct pm_error *err)
{
    const char *values[PM_BOTTLE_ATTRIBUTES];
    struct pm_text price = PM_TEXT_EMPTY;
    pm_import_values(import, &pm_bottle_entity, values);
    enum pm_status status = read_price(import, &price, &values[PM_BOTTLE_PRICE], err);
    import->column = 0;
    if (status == PM_OK) {
        /* A stock bottle may come further down: both ends are there only when all are. */
        values[PM_BOTTLE_MADE_FROM] = NULL;
        status = pm_bottle_enter(step, row, values, received, arena, err);
        if (status != PM_OK)
            pm_import_point(import, &pm_bottle_entity, err);
    }
    pm_text_release(&price);
    return status;
}

static enum pm_status import_bottle(struct pm_import *import, struct pm_shelf_step *step,
                                    struct pm_error *err)
{
    struct pm_bottle row = pm_bottle_blank(0);
    struct pm_arena arena = {0};
    pm_mass received = 0;
    const char *mass = mass_field(import, "received", "received_g");
    enum pm_status status = mass != NULL ? pm_mass_read(mass, &received, err) : PM_OK;
    if (status == PM_OK)
        status = read_number(import, &row, err);
    if (status == PM_OK)
        status = read_owner(import, &row, err);
    if (status == PM_OK)
        status = read_aside(import, &row.set_aside, err);
    if (status == PM_OK)
        status = enter_bottle(import, step, &row, received, &arena, err);
    if (status == PM_OK && received > 0) {
        const struct pm_movement movement = {
            .bottle = row.id,
            .kind = PM_RECEIVED,
            .mass = received,
            .at = row.bought != PM_NO_DAY ? pm_day_begin(row.bought) : 0};
        status = pm_bottle_move(step, &movement, false, NULL, err);
    }
    if (status == PM_OK)
        status = remember_stock(import, row.id, err);
    if (status == PM_OK)
        status = pm_import_count(import, PM_IMPORT_NEW, 0, row.label, err);
    pm_arena_release(&arena);
    return status;
}

/* All bottles are there: now each can name the one it was made from. On failure the place is that
 * bottle's. */
static enum pm_status link_stock(struct pm_import *import, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    const size_t behind = import->row;
    for (size_t i = 0; status == PM_OK && i < import->stocks.count; i++) {
        const struct pm_import_stock *stock = &import->stocks.items[i];
        struct pm_arena arena = {0};
        struct pm_bottle row;
        import->csv.line = stock->line;
        import->column = stock->column;
        import->row = stock->row;
        status = pm_bottle_get(import->studio->library, stock->bottle, &arena, &row, err);
        if (status == PM_OK)
            status = pm_bottle_find(import->studio, stock->label, &row.made_from, err);
        if (status == PM_OK && row.made_from == row.id)
            status = pm_fail(err, PM_INVALID, "Bottle %s cannot be made from itself.", row.label);
        if (status == PM_OK)
            status = pm_bottle_update(import->studio->library, &row, err);
        pm_arena_release(&arena);
    }
    if (status == PM_OK)
        import->row = behind;
    return status;
}

const struct pm_import_kind pm_import_bottles = {.what = "bottles",
                                                 .one = "bottle",
                                                 .columns = bottle_columns,
                                                 .entity = &pm_bottle_entity,
                                                 .row = import_bottle,
                                                 .end = link_stock};
