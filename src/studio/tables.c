/* SPDX-License-Identifier: MIT */
/*
 * Tables in: materials, bottles, movements as CSV (RFC 4180).
 *
 * Columns, found by their names in the header, in any order; those not listed are refused, so that
 * a misspelt one is not passed over:
 *
 *   materials   name; kind, cas, family, synonyms ("a;b"), note, and any property of core/fact.h
 *               ("density", "rating", "low": one's own values)
 *   bottles     material; the attributes of a bottle (core/bottle.h), bottle (the number on its
 *               label, which it keeps; PM_EXISTS when another has it), received, set_aside, and
 *               currency beside a price without one
 *
 *   movements   bottle, kind ("poured" "moved" "spilled" "discarded" "received", or "counted" with
 *               what was found), mass; at, into (moved), batch, note. As exported, with their
 *               numbers in a column movement, they make the bottles' ledgers anew, in the place of
 *               what the bottles were said to hold
 *
 * Masses may also stand, as grams, in columns tare_g, received_g, mass_g and low_g.
 *
 * A whole table goes in or none of it, in one transaction that is one step of the shelf's history.
 */
#include "tables.h"

#include "bottle.h"

#include "permille/base/csv.h"
#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/base/word.h"
#include "permille/core/cas.h"
#include "permille/core/fact.h"
#include "permille/store/facts.h"
#include "permille/studio/shelf.h"

#include <string.h>

const char *pm_import_word(enum pm_import_outcome outcome)
{
    return outcome == PM_IMPORT_NEW       ? "new"
           : outcome == PM_IMPORT_CHANGED ? "up to date"
                                          : "as it is";
}

/* ---- a table being read ---- */

/* The bottle that one of the table was made from; it may stand further down. */
struct stock {
    int64_t bottle;
    const char *label;
    size_t line, column, row;
};

/* A movement's number in the table and here. */
struct moved {
    int64_t was, is;
};

/* A column whose cells are what is known of a material. */
struct fact_column {
    size_t at;
    const struct pm_fact_property *property;
};

struct import {
    struct pm_studio *studio;
    const char *headings[PM_TABLE_COLUMNS]; /* folded; kept by the arena of stocks */
    const struct pm_attribute *attributes[PM_TABLE_COLUMNS]; /* that the columns hold, or NULL */
    struct fact_column facts[PM_TABLE_COLUMNS];
    size_t fact_count;
    struct {
        struct stock *items;
        size_t count;
        struct pm_arena arena;
    } stocks;
    struct {
        struct moved *items;
        size_t count;
        struct pm_arena arena;
    } moved;
    size_t lines;  /* of the text, for whoever looks on */
    int64_t begun; /* the bottle whose ledger is being read */
    struct pm_csv csv;
    struct pm_csv header;
    size_t column; /* the field being read, for the sentence */
    const struct pm_table_source *source;
    size_t row;   /* of all tables, from 0 */
    size_t first; /* of this table */
    bool at_row;  /* what goes wrong now, goes wrong with that one */
    struct pm_import_result result;
    struct pm_import_rows *rows; /* NULL: nobody wants to know */
    struct pm_text changes;      /* of the row */
};

/* The number of that column, or -1. The name is folded, as they all are in this file. */
static int column(const struct import *import, const char *name)
{
    for (size_t i = 0; i < import->header.count; i++)
        if (strcmp(import->headings[i], name) == 0)
            return (int)i;
    return -1;
}

/* The field of that name; NULL when there is no such column or it is empty. Remembers the place. */
static const char *field(struct import *import, const char *name)
{
    int at = column(import, name);
    if (at < 0 || (size_t)at >= import->csv.count || import->csv.fields[at][0] == '\0')
        return NULL;
    import->column = (size_t)at + 1;
    return import->csv.fields[at];
}

/* What every row will ask of the header is worked out once. */
static enum pm_status read_header(struct import *import, struct pm_error *err)
{
    if (import->header.count > PM_TABLE_COLUMNS)
        return pm_fail(err, PM_INVALID, "That table has too many columns.");
    for (size_t i = 0; i < import->header.count; i++) {
        char *folded = pm_fold(import->header.fields[i]);
        if (folded == NULL)
            return pm_fail_memory(err);
        import->headings[i] = pm_arena_text(&import->stocks.arena, folded);
        pm_free(folded);
        if (import->headings[i] == NULL)
            return pm_fail_memory(err);
        const char *word = strcmp(import->headings[i], "low_g") == 0 ? "low" : import->headings[i];
        const struct pm_fact_property *property = pm_fact_find(word);
        if (property != NULL)
            import->facts[import->fact_count++] = (struct fact_column){i, property};
    }
    return PM_OK;
}

/* Puts line and column before the reason. */
static enum pm_status blame(const struct import *import, enum pm_status status,
                            const struct pm_error *why, struct pm_error *err)
{
    const char *name = import->column > 0 && import->column <= import->header.count
                           ? import->header.fields[import->column - 1]
                           : NULL;
    char place[80];
    if (status == PM_NOMEM || status == PM_BUSY || status == PM_FULL || status == PM_IO)
        return pm_fail(err, status, "%s", why->text);
    const size_t row = import->row - import->first;
    const size_t *places = import->source->places;
    if (import->source->within != NULL)
        pm_print(place, sizeof place, "Row %zu of the %s", places != NULL ? places[row] : row + 1,
                 import->source->within);
    else
        pm_print(place, sizeof place, "Line %zu", places != NULL ? places[row] : import->csv.line);
    if (name == NULL)
        return pm_fail(err, status, "%s: %s", place, why->text);
    return pm_fail(err, status, "%s, column %zu (%s): %s", place, import->column, name, why->text);
}

/* What became of the row. */
static enum pm_status count_row(struct import *import, enum pm_import_outcome outcome,
                                int64_t material, const char *name, struct pm_error *err)
{
    import->result.added += outcome == PM_IMPORT_NEW;
    import->result.updated += outcome == PM_IMPORT_CHANGED;
    import->result.same += outcome == PM_IMPORT_SAME;
    if (import->rows == NULL)
        return PM_OK;
    struct pm_import_row *row = pm_list_add(import->rows);
    if (row != NULL) {
        row->name = pm_arena_text(&import->rows->arena, name);
        row->outcome = outcome;
        row->material = material;
        if (import->changes.length > 0)
            row->changes = pm_arena_text(&import->rows->arena, pm_text_get(&import->changes));
    }
    if (!pm_text_ok(&import->changes))
        return pm_fail_memory(err);
    return pm_arena_status(&import->rows->arena, err);
}

static void add_change(struct import *import, const char *heading)
{
    pm_text_addf(&import->changes, "%s%s", import->changes.length > 0 ? ", " : "", heading);
}

/* By its key, or of a mass in grams by the key that says so, or by what screens call it. */
static bool is_column_of(const struct pm_attribute *attribute, const char *heading)
{
    char key[PM_OPTION_TEXT], label[80];
    return strcmp(attribute->key, heading) == 0 ||
           (attribute->kind == PM_ATTRIBUTE_MASS &&
            strcmp(pm_attribute_key(attribute, key), heading) == 0) ||
           pm_fold_equal(pm_attribute_label(attribute, label, sizeof label), heading);
}

/* A kind of table: what a column of that name holds. */
struct kind;
static bool knows(struct import *import, const struct kind *kind, size_t at);

static enum pm_status check_columns(struct import *import, const struct kind *kind,
                                    struct pm_error *err)
{
    for (size_t i = 0; i < import->header.count; i++) {
        const char *name = import->header.fields[i];
        if ((size_t)column(import, import->headings[i]) < i)
            return pm_fail(err, PM_INVALID, "Line %zu, column %zu: there are two columns \"%s\".",
                           import->header.line, i + 1, name);
        if (!knows(import, kind, i))
            return pm_fail(err, PM_INVALID,
                           "Line %zu, column %zu: there is no column \"%s\" in this kind of table.",
                           import->header.line, i + 1, name);
    }
    return PM_OK;
}

/* ---- materials ---- */

/* Beside the attributes of a material and its properties. */
static const char *const material_columns[] = {"low_g", NULL};

/* The fields of the row as what was typed; NULL where a cell is empty. */
static void read_values(struct import *import, const struct pm_entity *entity, const char **values)
{
    for (size_t i = 0; i < entity->count; i++)
        values[i] = NULL;
    for (size_t c = 0; c < import->header.count; c++)
        if (import->attributes[c] != NULL && import->csv.fields[c][0] != '\0')
            values[import->attributes[c] - entity->attributes] = import->csv.fields[c];
}

/* Points at the column of the attribute that an error names; else the sentence has to say it. */
static void point_at(struct import *import, const struct pm_entity *entity,
                     const struct pm_error *err)
{
    const struct pm_attribute *attribute =
        err->field != NULL ? pm_entity_find(entity, err->field) : NULL;
    import->column = 0;
    for (size_t c = 0; attribute != NULL && c < import->header.count; c++)
        if (import->attributes[c] == attribute)
            import->column = c + 1;
}

/* A cell of the row as a fact of one's own; its words, owned, are *clean. */
static enum pm_status read_fact(struct import *import, const struct fact_column *column,
                                char **clean, struct pm_fact *out, struct pm_error *err)
{
    const struct pm_fact_property *property = column->property;
    *out =
        (struct pm_fact){.property = property->word, .origin = PM_OWN, .confidence = PM_OWN_WORD};
    out->is_number = property->kind == PM_FACT_NUMBER || property->kind == PM_FACT_PERCENT;
    import->column = column->at + 1;
    enum pm_status status =
        pm_clean_text(import->csv.fields[column->at], property->label, 0, clean, err);
    out->words = *clean;
    return status == PM_OK ? pm_fact_read(property, *clean, &out->value, err) : status;
}

static bool is_known(const struct pm_facts *facts, const struct pm_fact *fact)
{
    for (size_t i = 0; i < facts->count; i++) {
        const struct pm_fact *known = &facts->items[i];
        if (known->origin == PM_OWN && strcmp(known->property, fact->property) == 0)
            return fact->is_number ? known->is_number && known->value == fact->value
                                   : pm_same_text(known->words, fact->words);
    }
    return false;
}

/* before: what is known of a material that was there; NULL: it is new. */
static enum pm_status put_fact(struct import *import, struct pm_shelf_step *step, int64_t material,
                               const struct fact_column *column, const struct pm_facts *before,
                               struct pm_error *err)
{
    struct pm_fact fact;
    char *clean = NULL;
    if (import->csv.fields[column->at][0] == '\0')
        return PM_OK;
    enum pm_status status = read_fact(import, column, &clean, &fact, err);
    const bool known = status == PM_OK && before != NULL && is_known(before, &fact);
    if (status == PM_OK && before != NULL && !known) {
        add_change(import, import->headings[column->at]);
        status = pm_shelf_log_touch(&step->log, PM_ROWS_FACTS, material, err);
    }
    if (status == PM_OK && !known)
        status = pm_fact_put(import->studio->library, material, &fact, err);
    pm_free(clean);
    return status;
}

static enum pm_status put_facts(struct import *import, struct pm_shelf_step *step, int64_t material,
                                bool is_new, struct pm_error *err)
{
    struct pm_facts before = {.items = NULL};
    enum pm_status status = PM_OK;
    if (!is_new && import->fact_count > 0)
        status = pm_fact_list(import->studio->library, material, &before, err);
    for (size_t i = 0; status == PM_OK && i < import->fact_count; i++)
        status = put_fact(import, step, material, &import->facts[i], is_new ? NULL : &before, err);
    pm_list_release(&before);
    return status;
}

/* Notes the columns in which both differ. */
static void compare(struct import *import, const char *const *values,
                    const struct pm_material *before, const struct pm_material *after)
{
    struct pm_text was = PM_TEXT_EMPTY, is = PM_TEXT_EMPTY;
    for (size_t i = 0; i < pm_material_entity.count; i++) {
        const struct pm_attribute *attribute = &pm_material_entity.attributes[i];
        if (values[i] == NULL)
            continue;
        pm_text_clear(&was);
        pm_text_clear(&is);
        pm_attribute_show(attribute, before, '.', &was);
        pm_attribute_show(attribute, after, '.', &is);
        if (strcmp(pm_text_get(&was), pm_text_get(&is)) != 0)
            add_change(import, attribute->key);
    }
    import->changes.failed = import->changes.failed || !pm_text_ok(&was) || !pm_text_ok(&is);
    pm_text_release(&was);
    pm_text_release(&is);
}

static enum pm_status write_material(struct import *import, struct pm_shelf_step *step,
                                     struct pm_material *row, struct pm_error *err)
{
    enum pm_status status = pm_shelf_log_touch(&step->log, PM_ROWS_MATERIAL, row->id, err);
    if (status == PM_OK)
        status = pm_shelf_log_touch(&step->log, PM_ROWS_NAMES, row->id, err);
    return status == PM_OK ? pm_material_update(import->studio->library, row, err) : status;
}

/* Empty cells leave what is there. One that was out of sight comes back. */
static enum pm_status update_material(struct import *import, struct pm_shelf_step *step, int64_t id,
                                      const char **values, struct pm_material *row,
                                      struct pm_error *err)
{
    struct pm_material before;
    enum pm_status status = pm_material_get(import->studio->library, id, &before, err);
    if (status != PM_OK)
        return status;
    *row = before; /* borrows what is not filled anew */
    row->arena = (struct pm_arena){0};
    if (!pm_fold_equal(row->name, values[PM_MATERIAL_NAME]))
        values[PM_MATERIAL_NAME] = NULL; /* found by another name: it keeps its own */
    status = pm_material_fill(row, values, err);
    if (status == PM_OK) {
        compare(import, values, &before, row);
        if (before.set_aside)
            add_change(import, "in sight again");
        row->set_aside = false;
    }
    if (status == PM_OK && import->changes.length > 0)
        status = write_material(import, step, row, err);
    if (status == PM_OK)
        status = put_facts(import, step, id, false, err);
    if (status == PM_OK)
        status = count_row(import, import->changes.length > 0 ? PM_IMPORT_CHANGED : PM_IMPORT_SAME,
                           id, before.name, err);
    pm_material_release(row);
    pm_material_release(&before);
    return status;
}

static enum pm_status add_material(struct import *import, struct pm_shelf_step *step,
                                   const struct pm_material *row, struct pm_error *err)
{
    enum pm_status status = pm_shelf_log_shown(&step->log, row->id, err);
    if (status == PM_OK)
        status = put_facts(import, step, row->id, true, err);
    return status == PM_OK ? count_row(import, PM_IMPORT_NEW, row->id, row->name, err) : status;
}

/* Most are new, so that is tried first. One that is there, by any of its names or by its CAS
 * number, is brought up to date. */
static enum pm_status put_material(struct import *import, struct pm_shelf_step *step,
                                   const char **values, struct pm_error *err)
{
    struct pm_library *library = import->studio->library;
    struct pm_material row = {.id = 0};
    const char *name = values[PM_MATERIAL_NAME];
    int64_t id = 0;
    if (name != NULL && pm_cas_shaped(name) &&
        pm_material_by_name(library, name, &id, NULL) == PM_OK)
        return update_material(import, step, id, values, &row, err);
    enum pm_status status = pm_material_fill(&row, values, err);
    if (status == PM_OK)
        status = pm_material_insert(library, &row, err);
    const bool there = status == PM_EXISTS && name != NULL &&
                       pm_material_by_name(library, name, &id, NULL) == PM_OK;
    if (status == PM_OK)
        status = add_material(import, step, &row, err);
    pm_material_release(&row);
    return there ? update_material(import, step, id, values, &row, err) : status;
}

static enum pm_status import_material(struct import *import, struct pm_shelf_step *step,
                                      struct pm_error *err)
{
    const char *values[PM_MATERIAL_ATTRIBUTES];
    read_values(import, &pm_material_entity, values);
    const enum pm_status status = put_material(import, step, values, err);
    if (status != PM_OK && err->field != NULL)
        point_at(import, &pm_material_entity, err);
    return status;
}

/* ---- bottles ---- */

/* Beside the attributes of a bottle. */
static const char *const bottle_columns[] = {"material",   "bottle",    "currency", "received",
                                             "received_g", "set_aside", NULL};

/* A mass in its own unit, or in grams in the column that says so. */
static const char *mass_field(struct import *import, const char *name, const char *in_grams)
{
    const char *text = field(import, name);
    return text != NULL ? text : field(import, in_grams);
}

/* The price with its currency, be it in a column of its own; NULL when there is none. */
static enum pm_status read_price(struct import *import, struct pm_text *text, const char **out,
                                 struct pm_error *err)
{
    const char *currency = field(import, "currency"), *price = field(import, "price");
    *out = price;
    if (price == NULL || currency == NULL)
        return PM_OK;
    pm_text_addf(text, "%s %s", price, currency);
    *out = pm_text_get(text);
    return pm_text_ok(text) ? PM_OK : pm_fail_memory(err);
}

/* "B007" of the column bottle into the row's number: what stands on glass stays on it. */
static enum pm_status read_number(struct import *import, struct pm_bottle *row,
                                  struct pm_error *err)
{
    const char *text = field(import, "bottle");
    if (text == NULL)
        return PM_OK;
    text += *text == 'B' || *text == 'b';
    if (*text == '\0' || text[strspn(text, "0123456789")] != '\0' || strlen(text) > 15)
        return pm_fail(err, PM_INVALID,
                       "\"%s\" names no bottle: they are called B and a number, as on the label.",
                       field(import, "bottle"));
    for (; *text; text++)
        row->id = row->id * 10 + (*text - '0');
    return PM_OK;
}

static enum pm_status read_owner(struct import *import, struct pm_bottle *row, struct pm_error *err)
{
    const char *name = field(import, "material");
    if (name == NULL)
        return pm_fail(err, PM_INVALID, "A bottle needs a material.");
    return pm_material_by_name(import->studio->library, name, &row->material, err);
}

/* Anything but the two words might mean either: a bottle must not vanish for it. */
static enum pm_status read_aside(struct import *import, bool *out, struct pm_error *err)
{
    const char *text = field(import, "set_aside");
    *out = text != NULL && pm_fold_equal(text, "yes");
    if (text == NULL || *out || pm_fold_equal(text, "no"))
        return PM_OK;
    return pm_fail(err, PM_INVALID, "\"%s\" is neither yes nor no.", text);
}

static enum pm_status remember_stock(struct import *import, int64_t bottle, struct pm_error *err)
{
    const char *label = field(import, "made_from");
    struct stock *stock = label != NULL ? pm_list_add(&import->stocks) : NULL;
    if (stock != NULL) {
        stock->bottle = bottle;
        stock->line = import->csv.line;
        stock->column = import->column;
        stock->row = import->row;
        stock->label = pm_arena_text(&import->stocks.arena, label);
    }
    return pm_arena_status(&import->stocks.arena, err);
}

static enum pm_status enter_bottle(struct import *import, struct pm_shelf_step *step,
                                   struct pm_bottle *row, pm_mass received, struct pm_arena *arena,
                                   struct pm_error *err)
{
    const char *values[PM_BOTTLE_ATTRIBUTES];
    struct pm_text price = PM_TEXT_EMPTY;
    read_values(import, &pm_bottle_entity, values);
    enum pm_status status = read_price(import, &price, &values[PM_BOTTLE_PRICE], err);
    import->column = 0;
    if (status == PM_OK) {
        /* A stock bottle may come further down: both ends are there only when all are. */
        values[PM_BOTTLE_MADE_FROM] = NULL;
        status = pm_bottle_enter(step, row, values, received, arena, err);
        if (status != PM_OK)
            point_at(import, &pm_bottle_entity, err);
    }
    pm_text_release(&price);
    return status;
}

static enum pm_status import_bottle(struct import *import, struct pm_shelf_step *step,
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
        status = count_row(import, PM_IMPORT_NEW, 0, row.label, err);
    pm_arena_release(&arena);
    return status;
}

/* All bottles are there: now each can name the one it was made from. On failure the place is that
 * bottle's. */
static enum pm_status link_stock(struct import *import, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    const size_t behind = import->row;
    for (size_t i = 0; status == PM_OK && i < import->stocks.count; i++) {
        const struct stock *stock = &import->stocks.items[i];
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

/* ---- movements ---- */

/* Beside the attributes of a movement. */
static const char *const movement_columns[] = {"bottle", "into", "movement", NULL};

/* What the ledger itself exports says what it changed, with its sign, and knows both ends. */
static bool from_ledger(struct import *import)
{
    return column(import, "movement") >= 0;
}

/* The bottle, or the number a movement of the table got here; corrections name it. */
static enum pm_status find_moved(void *context, const struct pm_attribute *attribute,
                                 const char *text, int64_t *out, struct pm_error *err)
{
    const struct import *import = context;
    int64_t number = 0;
    if (strcmp(attribute->choices, "bottle") == 0)
        return pm_bottle_find(import->studio, text, out, err);
    enum pm_status status = pm_decimal_read(text, 0, "The number of a movement", &number, err);
    for (size_t i = 0; status == PM_OK && i < import->moved.count; i++)
        if (import->moved.items[i].was == number)
            *out = import->moved.items[i].is;
    if (status == PM_OK && *out == 0)
        status = pm_fail(err, PM_INVALID, "Movement %s stands nowhere above.", text);
    return status;
}

static enum pm_status remember_moved(struct import *import, int64_t is, struct pm_error *err)
{
    const char *text = field(import, "movement");
    int64_t was = 0;
    enum pm_status status = pm_decimal_read(text, 0, "The number of a movement", &was, err);
    struct moved *moved = status == PM_OK ? pm_list_add(&import->moved) : NULL;
    if (moved != NULL)
        *moved = (struct moved){was, is};
    return status == PM_OK ? pm_arena_status(&import->moved.arena, err) : status;
}

/* What every row of the ledger must be, said before the file's rules refuse it. */
static enum pm_status check_ledger_row(const struct pm_movement *row, struct pm_error *err)
{
    const bool less = row->kind == PM_POURED || row->kind == PM_MOVED || row->kind == PM_SPILLED ||
                      row->kind == PM_DISCARDED;
    if ((row->kind == PM_RECEIVED && row->mass <= 0) || (less && row->mass >= 0))
        return pm_fail_at(err, "mass", PM_INVALID,
                          "What is %s cannot change the bottle so: check the sign.",
                          pm_move_word(row->kind));
    if ((row->kind == PM_COUNTED) != (row->found >= 0))
        return pm_fail_at(err, "found", PM_INVALID, "What was found belongs to what was counted.");
    if ((row->kind == PM_CORRECTED) != (row->corrects != 0))
        return pm_fail_at(err, "corrects", PM_INVALID,
                          "A correction names the movement it is about.");
    return PM_OK;
}

/* A bottle read from a table begins with what was left: its ledger says better how that came. One
 * with more of a ledger than that has its own. */
static enum pm_status begin_ledger(struct import *import, struct pm_shelf_step *step,
                                   int64_t bottle, struct pm_error *err)
{
    struct pm_movements there;
    char label[PM_BOTTLE_LABEL];
    if (import->begun == bottle)
        return PM_OK;
    enum pm_status status = pm_movement_list(import->studio->library, bottle, &there, err);
    if (status != PM_OK)
        return status;
    import->begun = bottle;
    if (there.count > 1) {
        status = pm_fail(err, PM_REFUSED, "Bottle %s has a ledger already.",
                         pm_bottle_label(bottle, label));
    } else if (there.count == 1) {
        const struct pm_movement back = {.bottle = bottle,
                                         .kind = PM_CORRECTED,
                                         .mass = -there.items[0].mass,
                                         .corrects = there.items[0].id,
                                         .at = there.items[0].at,
                                         .note = "the ledger follows"};
        status = pm_bottle_move(step, &back, true, NULL, err);
    }
    pm_list_release(&there);
    return status;
}

/* A row as this program exported it goes into the ledger as it is. */
static enum pm_status put_ledger_row(struct import *import, struct pm_shelf_step *step,
                                     struct pm_movement *row, struct pm_error *err)
{
    enum pm_status status = check_ledger_row(row, err);
    if (status == PM_OK && row->purpose != NULL && row->kind == PM_POURED)
        status = pm_poured_for(import->studio, row->purpose, &row->trial, err);
    if (status == PM_OK)
        status = begin_ledger(import, step, row->bottle, err);
    if (status == PM_OK)
        status = pm_bottle_move(step, row, true, NULL, err);
    return status == PM_OK
               ? remember_moved(import, step->log.movements[step->log.movement_count - 1], err)
               : status;
}

static enum pm_status put_movement(struct import *import, struct pm_shelf_step *step,
                                   struct pm_movement *row, struct pm_error *err)
{
    if (from_ledger(import))
        return put_ledger_row(import, step, row, err);
    if (row->kind == PM_COUNTED)
        return pm_bottle_count_one(step, row->bottle, row->mass, row->note, row->at, err);
    return pm_bottle_take_one(step, row->bottle, row, false, NULL, err);
}

static enum pm_status read_movement(struct import *import, const char *const *values,
                                    struct pm_arena *arena, struct pm_movement *row,
                                    struct pm_error *err)
{
    const struct pm_naming naming = {.find = find_moved, .context = import};
    const char *bottle = field(import, "bottle"), *into = field(import, "into");
    pm_entity_clear(&pm_movement_entity, row);
    if (bottle == NULL || values[PM_MOVEMENT_KIND] == NULL || values[PM_MOVEMENT_MASS] == NULL)
        return pm_fail(err, PM_INVALID, "A movement needs a bottle, a kind and a mass.");
    enum pm_status status = pm_bottle_find(import->studio, bottle, &row->bottle, err);
    if (status == PM_OK)
        status = pm_entity_read(&pm_movement_entity, values, row, arena, &naming, err);
    return status == PM_OK && into != NULL ? pm_bottle_find(import->studio, into, &row->other, err)
                                           : status;
}

static enum pm_status import_movement(struct import *import, struct pm_shelf_step *step,
                                      struct pm_error *err)
{
    const char *values[PM_MOVEMENT_ATTRIBUTES];
    struct pm_movement row = {.id = 0};
    struct pm_arena arena = {0};
    read_values(import, &pm_movement_entity, values);
    enum pm_status status = read_movement(import, values, &arena, &row, err);
    if (status == PM_OK)
        status = put_movement(import, step, &row, err);
    if (status != PM_OK)
        point_at(import, &pm_movement_entity, err);
    else
        status = count_row(import, PM_IMPORT_NEW, 0, field(import, "bottle"), err);
    pm_arena_release(&arena);
    return status;
}

/* ---- the whole table ---- */

typedef enum pm_status import_row(struct import *import, struct pm_shelf_step *step,
                                  struct pm_error *err);

/* Which kind of table it is. */
static const struct kind {
    const char *what, *one;
    const char *const *columns;
    const struct pm_entity *entity; /* its attributes are columns as well */
    bool facts;
    import_row *row;
} table_kinds[] = {
    {"bottles", "bottle", bottle_columns, &pm_bottle_entity, false, import_bottle},
    {"movements", "movement", movement_columns, &pm_movement_entity, false, import_movement},
    {"materials", "material", material_columns, &pm_material_entity, true, import_material},
};

/* Notes what the column holds. */
static bool knows(struct import *import, const struct kind *kind, size_t at)
{
    const char *heading = import->headings[at];
    bool known = kind->facts && pm_fact_find(heading) != NULL;
    for (size_t k = 0; import->attributes[at] == NULL && k < kind->entity->count; k++)
        if (is_column_of(&kind->entity->attributes[k], heading))
            import->attributes[at] = &kind->entity->attributes[k];
    for (size_t k = 0; kind->columns[k] != NULL && !known; k++)
        known = strcmp(kind->columns[k], heading) == 0;
    return known || import->attributes[at] != NULL;
}

static const struct kind *find_kind(const struct import *import)
{
    if (column(import, "material") >= 0)
        return &table_kinds[0];
    if (column(import, "bottle") >= 0)
        return &table_kinds[1];
    return column(import, "name") >= 0 ? &table_kinds[2] : NULL;
}

static enum pm_status import_rows(struct import *import, const struct kind *kind,
                                  struct pm_shelf_step *step, struct pm_error *err)
{
    bool more = true;
    struct pm_error why;
    enum pm_status status = check_columns(import, kind, err);
    while (status == PM_OK) {
        import->column = 0;
        import->at_row = false;
        status = pm_studio_go_on(import->studio, "reading the table", import->csv.line,
                                 import->lines, err);
        if (status != PM_OK)
            break;
        status = pm_csv_next(&import->csv, &more, err);
        if (status != PM_OK || !more)
            break;
        import->at_row = true;
        if (import->csv.count != import->header.count)
            return pm_fail(err, PM_INVALID, "Line %zu has %zu field%s, the header has %zu.",
                           import->csv.line, import->csv.count, import->csv.count == 1 ? "" : "s",
                           import->header.count);
        pm_text_clear(&import->changes);
        why.field = NULL;
        status = kind->row(import, step, &why);
        if (status != PM_OK)
            return blame(import, status, &why, err);
        if (import->rows != NULL)
            import->rows->items[import->row].what = kind->what;
        import->row++;
    }
    if (status == PM_OK && (status = link_stock(import, &why)) != PM_OK) {
        import->at_row = true;
        status = blame(import, status, &why, err);
    }
    return status;
}

enum pm_status pm_tables_open(struct pm_csv *csv, const char *text, size_t length,
                              struct pm_error *err)
{
    bool more = false;
    pm_csv_init(csv, text, length);
    enum pm_status status = pm_csv_next(csv, &more, err);
    if (status == PM_OK && !more)
        status = pm_fail(err, PM_INVALID, "The table is empty.");
    return status;
}

static enum pm_status fail_no_kind(struct pm_error *err)
{
    return pm_fail(err, PM_INVALID,
                   "This is no table of materials (column \"name\"), bottles (column "
                   "\"material\") or movements (column \"bottle\").");
}

static enum pm_status import_table(struct import *import, struct pm_shelf_step *step,
                                   struct pm_error *err)
{
    const struct pm_import_result before = import->result;
    enum pm_status status = read_header(import, err);
    if (status != PM_OK)
        return status;
    const struct kind *kind = find_kind(import);
    if (kind == NULL)
        return fail_no_kind(err);
    status = import_rows(import, kind, step, err);
    const int64_t rows =
        import->result.added + import->result.updated - before.added - before.updated;
    pm_step_say(step, "%s%lld %s", step->sentence.length > 0 ? ", " : "Read a table of ",
                (long long)rows, rows == 1 ? kind->one : kind->what);
    return status;
}

/* What is known of one table alone is forgotten; what was counted stays. */
static enum pm_status import_source(struct import *import, struct pm_shelf_step *step,
                                    const struct pm_table_source *source, struct pm_error *err)
{
    struct import table = {.studio = import->studio,
                           .result = import->result,
                           .rows = import->rows,
                           .row = import->row,
                           .first = import->row,
                           .source = source};
    enum pm_status status = pm_tables_open(&table.header, source->text, source->length, err);
    for (size_t i = 0; i < source->length; i++)
        table.lines += source->text[i] == '\n';
    if (status == PM_OK)
        status = pm_tables_open(&table.csv, source->text, source->length, err);
    if (status == PM_OK)
        status = import_table(&table, step, err);
    import->result = table.result;
    import->row = table.row;
    import->at_row = table.at_row;
    import->column = table.column;
    pm_csv_release(&table.header);
    pm_csv_release(&table.csv);
    pm_text_release(&table.changes);
    pm_list_release(&table.stocks);
    pm_list_release(&table.moved);
    return status;
}

/* Whether it is the row that cannot come in, and not the machine that could not bring it. */
static bool is_fault(enum pm_status status)
{
    return status == PM_INVALID || status == PM_REFUSED || status == PM_EXISTS ||
           status == PM_MISSING;
}

enum pm_status pm_tables_import(struct pm_studio *studio, const struct pm_table_source *sources,
                                size_t count, struct pm_import_rows *rows,
                                struct pm_import_result *out, struct pm_error *err)
{
    struct import import = {.studio = studio, .rows = rows};
    struct pm_shelf_step step;
    struct pm_error nothing;
    enum pm_status status = pm_step_begin(&step, studio, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; status == PM_OK && i < count; i++)
        status = import_source(&import, &step, &sources[i], err);
    if (rows != NULL) {
        rows->fault = is_fault(status) && import.at_row ? import.row : SIZE_MAX;
        rows->fault_column = import.column;
        (void)pm_step_end(&step, PM_STOPPED, "import", &nothing); /* it was only tried */
    } else {
        status = pm_step_end(&step, status, "import", err);
    }
    if (status == PM_OK && out != NULL)
        *out = import.result;
    return status;
}

enum pm_status pm_tables_columns(const struct pm_table_source *source, const char **what,
                                 bool *known, struct pm_error *err)
{
    struct import import = {.studio = NULL};
    enum pm_status status = pm_tables_open(&import.header, source->text, source->length, err);
    if (status == PM_OK)
        status = read_header(&import, err);
    const struct kind *kind = status == PM_OK ? find_kind(&import) : NULL;
    if (status == PM_OK && kind == NULL)
        status = fail_no_kind(err);
    if (status == PM_OK)
        *what = kind->what;
    for (size_t i = 0; status == PM_OK && i < import.header.count; i++)
        known[i] = (size_t)column(&import, import.headings[i]) == i && knows(&import, kind, i);
    pm_csv_release(&import.header);
    pm_list_release(&import.stocks);
    return status;
}

enum pm_status pm_shelf_import(struct pm_studio *studio, const char *text, size_t length,
                               struct pm_import_result *out, struct pm_error *err)
{
    struct pm_shelf_document document;
    enum pm_status status = pm_shelf_document_read(text, length, &document, err);
    if (status == PM_OK)
        status = pm_tables_import(studio, document.sources, document.count, NULL, out, err);
    pm_shelf_document_release(&document);
    return status;
}

enum pm_status pm_shelf_import_try(struct pm_studio *studio, const char *text, size_t length,
                                   struct pm_import_rows *out, struct pm_error *err)
{
    struct pm_shelf_document document;
    *out = (struct pm_import_rows){.fault = SIZE_MAX};
    enum pm_status status = pm_shelf_document_read(text, length, &document, err);
    if (status == PM_OK)
        status = pm_tables_import(studio, document.sources, document.count, out, NULL, err);
    pm_shelf_document_release(&document);
    return status;
}
