/* SPDX-License-Identifier: MIT */
/*
 * Tables in and out: materials, bottles, movements as CSV (RFC 4180).
 *
 * Columns, found by their names in the header, in any order; those not listed are refused, so that
 * a misspelt one is not passed over:
 *
 *   materials   name; kind, cas, family, synonyms ("a;b"), note, and any property of core/fact.h
 *               ("density", "rating", "low": one's own values)
 *   bottles     material; strength, solvent, lot, supplier, bought, opened, best_before, place,
 *               tare, price ("19.20 EUR", or beside a column currency), priced_mass, note,
 *               received, made_from; a column bottle is passed over: bottles are numbered as they
 *               come
 *
 *   movements   bottle, kind ("poured" "moved" "spilled" "discarded" "received", or "counted" with
 *               what was found), mass; at, into (moved), batch, note
 *
 * Masses may also stand, as grams, in columns tare_g, received_g, mass_g and low_g.
 *
 * A whole table goes in or none of it, in one transaction. An import is not part of undo: the
 * history tells that it happened.
 */
#include "bottle.h"

#include "permille/base/csv.h"
#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/core/cas.h"
#include "permille/core/fact.h"
#include "permille/store/facts.h"
#include "permille/studio/shelf.h"

#include <string.h>

#define COLUMNS_MAX  64
#define SYNONYMS_MAX 32

/* ---- a table being read ---- */

struct import {
    struct pm_studio *studio;
    struct pm_csv csv;
    struct pm_csv header;
    size_t column; /* the field being read, for the sentence */
    struct pm_import_result result;
};

/* The field of that name; NULL when there is no such column or it is empty. Remembers the place. */
static const char *field(struct import *import, const char *name)
{
    int at = pm_csv_column(&import->header, name);
    if (at < 0 || (size_t)at >= import->csv.count || import->csv.fields[at][0] == '\0')
        return NULL;
    import->column = (size_t)at + 1;
    return import->csv.fields[at];
}

/* Puts line and column before the reason. */
static enum pm_status blame(const struct import *import, enum pm_status status,
                            const struct pm_error *why, struct pm_error *err)
{
    const char *name = import->column > 0 && import->column <= import->header.count
                           ? import->header.fields[import->column - 1]
                           : NULL;
    if (status == PM_NOMEM || status == PM_BUSY || status == PM_FULL || status == PM_IO)
        return pm_fail(err, status, "%s", why->text);
    if (!name)
        return pm_fail(err, status, "Line %zu: %s", import->csv.line, why->text);
    return pm_fail(err, status, "Line %zu, column %zu (%s): %s", import->csv.line, import->column,
                   name, why->text);
}

static enum pm_status check_columns(const struct import *import, const char *const *known,
                                    bool facts, struct pm_error *err)
{
    for (size_t i = 0; i < import->header.count; i++) {
        const char *name = import->header.fields[i];
        if ((size_t)pm_csv_column(&import->header, name) < i)
            return pm_fail(err, PM_INVALID, "Line %zu, column %zu: there are two columns \"%s\".",
                           import->header.line, i + 1, name);
        bool found = facts && pm_fact_find(name);
        for (size_t k = 0; known[k] && !found; k++)
            found = pm_fold_equal(known[k], name);
        if (!found)
            return pm_fail(err, PM_INVALID,
                           "Line %zu, column %zu: there is no column \"%s\" in this kind of table.",
                           import->header.line, i + 1, name);
    }
    return PM_OK;
}

/* ---- materials ---- */

static const char *const material_columns[] = {"name", "kind",     "cas",   "family",
                                               "note", "synonyms", "low_g", NULL};

static enum pm_status read_synonyms(struct import *import, struct pm_material *row,
                                    struct pm_error *err)
{
    const char *list = field(import, "synonyms");
    size_t count = 0;
    enum pm_status status = PM_OK;
    if (!list)
        return PM_OK;
    char *copy = pm_strdup(list);
    row->synonyms = pm_alloc_array(SYNONYMS_MAX, sizeof *row->synonyms);
    if (!copy || !row->synonyms)
        status = pm_fail_memory(err);
    for (char *rest = copy; status == PM_OK && rest && count < SYNONYMS_MAX;) {
        const char *one = strsep(&rest, ";");
        if (one[strspn(one, " ")] == '\0')
            continue;
        status = pm_name_clean(one, "A synonym", &row->synonyms[count], err);
        count += status == PM_OK;
        row->synonym_count = count;
    }
    pm_free(copy);
    return status;
}

static enum pm_status read_material(struct import *import, struct pm_material *row,
                                    struct pm_error *err)
{
    char number[PM_CAS_TEXT];
    const char *text = field(import, "kind");
    enum pm_status status = PM_OK;
    if (text && !pm_material_kind_from_word(text, &row->kind))
        return pm_fail(err, PM_INVALID,
                       "\"%s\" is no kind of material: chemical, natural, solvent or blend.", text);
    if ((text = field(import, "cas"))) {
        status = pm_cas_read(text, number, err);
        if (status == PM_OK && !(row->cas = pm_strdup(number)))
            status = pm_fail_memory(err);
    }
    if (status == PM_OK)
        status = pm_clean_text(field(import, "family"), "The odour family", 0, &row->family, err);
    if (status == PM_OK)
        status = pm_clean_text(field(import, "note"), "The note", 65536, &row->note, err);
    if (status == PM_OK)
        status = read_synonyms(import, row, err);
    if (status != PM_OK)
        return status;
    import->column = 0;
    if (!(text = field(import, "name")))
        return pm_fail(err, PM_INVALID, "A material needs a name.");
    return pm_name_clean(text, "The material's name", &row->name, err);
}

static enum pm_status put_facts(struct import *import, int64_t material, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t i = 0; status == PM_OK && i < import->header.count; i++) {
        const char *name = import->header.fields[i];
        const struct pm_fact_property *property =
            pm_fact_find(strcmp(name, "low_g") == 0 ? "low" : name);
        const char *text = property ? field(import, name) : NULL;
        char *clean = NULL;
        if (!text)
            continue;
        struct pm_fact fact = {
            .property = property->word, .origin = PM_OWN, .confidence = PM_OWN_WORD};
        fact.is_number = property->kind == PM_FACT_NUMBER || property->kind == PM_FACT_PERCENT;
        status = pm_clean_text(text, property->label, 0, &clean, err);
        fact.words = clean;
        if (status == PM_OK)
            status = pm_fact_read(property, clean, &fact.value, err);
        if (status == PM_OK)
            status = pm_fact_put(import->studio->library, material, &fact, err);
        pm_free(clean);
    }
    return status;
}

/* Empty cells of the row leave what is there. */
static void keep_present(struct pm_material *row, struct pm_material *present)
{
    char **const now[] = {&row->cas, &row->family, &row->note};
    char **const before[] = {&present->cas, &present->family, &present->note};
    for (size_t i = 0; i < 3; i++) {
        if (!*now[i]) {
            *now[i] = *before[i];
            *before[i] = NULL;
        }
    }
    if (row->synonym_count == 0) {
        pm_free(row->synonyms);
        row->synonyms = present->synonyms;
        row->synonym_count = present->synonym_count;
        present->synonyms = NULL;
        present->synonym_count = 0;
    }
    row->id = present->id;
    row->set_aside = present->set_aside;
}

static enum pm_status update_material(struct import *import, int64_t id, struct pm_material *row,
                                      struct pm_error *err)
{
    struct pm_material present;
    bool kind = field(import, "kind") != NULL;
    enum pm_status status = pm_material_get(import->studio->library, id, &present, err);
    if (status != PM_OK)
        return status;
    row->kind = kind ? row->kind : present.kind;
    keep_present(row, &present);
    pm_material_release(&present);
    import->result.updated++;
    return pm_material_update(import->studio->library, row, err);
}

static enum pm_status import_material(struct import *import, struct pm_error *err)
{
    struct pm_material row;
    struct pm_error missing;
    int64_t id = 0;
    memset(&row, 0, sizeof row);
    enum pm_status status = read_material(import, &row, err);
    if (status == PM_OK) {
        enum pm_status found =
            pm_material_by_name(import->studio->library, row.name, &id, &missing);
        if (found == PM_OK) {
            status = update_material(import, id, &row, err);
        } else {
            status = pm_material_insert(import->studio->library, &row, err);
            import->result.added++;
        }
    }
    if (status == PM_OK)
        status = put_facts(import, row.id, err);
    pm_material_release(&row);
    return status;
}

/* ---- bottles ---- */

static const char *const bottle_columns[] = {
    "material", "bottle",      "strength", "solvent",   "lot",        "supplier", "bought",
    "opened",   "place",       "tare",     "tare_g",    "price",      "currency", "priced_mass",
    "note",     "best_before", "received", "made_from", "received_g", NULL};

/* A mass in its own unit, or in grams in the column that says so. */
static const char *mass_field(struct import *import, const char *name, const char *in_grams)
{
    const char *text = field(import, name);
    return text ? text : field(import, in_grams);
}

/* The price with its currency, be it in a column of its own; NULL when there is none. */
static enum pm_status read_price(struct import *import, struct pm_text *text, const char **out,
                                 struct pm_error *err)
{
    const char *currency = field(import, "currency"), *price = field(import, "price");
    *out = price;
    if (!price || !currency)
        return PM_OK;
    pm_text_addf(text, "%s %s", price, currency);
    *out = pm_text_get(text);
    return pm_text_ok(text) ? PM_OK : pm_fail_memory(err);
}

static enum pm_status enter_bottle(struct import *import, struct pm_shelf_step *step,
                                   const char *price, struct pm_bottle *row, pm_mass received,
                                   struct pm_error *err)
{
    const struct pm_bottle_form form = {
        .strength = field(import, "strength"),
        .solvent = field(import, "solvent"),
        .lot = field(import, "lot"),
        .supplier = field(import, "supplier"),
        .place = field(import, "place"),
        .note = field(import, "note"),
        .bought = field(import, "bought"),
        .opened = field(import, "opened"),
        .best_before = field(import, "best_before"),
        .made_from = field(import, "made_from"),
        .tare = mass_field(import, "tare", "tare_g"),
        .price = price,
        .priced_mass = field(import, "priced_mass"),
    };
    import->column = 0; /* which of them it is stands in the sentence */
    return pm_bottle_enter(step, row, &form, received, err);
}

static enum pm_status import_bottle(struct import *import, struct pm_shelf_step *step,
                                    struct pm_error *err)
{
    struct pm_bottle row = {.strength = PM_NEAT};
    struct pm_text text = PM_TEXT_EMPTY;
    pm_mass received = 0;
    const char *price, *name;
    const char *mass = mass_field(import, "received", "received_g");
    enum pm_status status = mass ? pm_mass_read(mass, &received, err) : PM_OK;
    if (status == PM_OK)
        status = read_price(import, &text, &price, err);
    if (status == PM_OK && !(name = field(import, "material")))
        status = pm_fail(err, PM_INVALID, "A bottle needs a material.");
    if (status == PM_OK)
        status = pm_material_by_name(import->studio->library, name, &row.material, err);
    if (status == PM_OK)
        status = enter_bottle(import, step, price, &row, received, err);
    if (status == PM_OK && received > 0) {
        const struct pm_movement movement = {
            .bottle = row.id, .kind = PM_RECEIVED, .mass = received, .at = row.bought};
        status = pm_bottle_move(step, &movement, false, NULL, err);
    }
    import->result.added++;
    pm_text_release(&text);
    pm_bottle_release(&row);
    return status;
}

/* ---- movements ---- */

static const char *const movement_columns[] = {"at",   "bottle", "kind", "mass", "mass_g",
                                               "into", "batch",  "note", NULL};

static enum pm_status import_movement(struct import *import, struct pm_shelf_step *step,
                                      struct pm_error *err)
{
    const char *bottle = field(import, "bottle"), *kind = field(import, "kind");
    const char *into = field(import, "into"), *at = field(import, "at");
    const char *mass = mass_field(import, "mass", "mass_g");
    struct pm_taking taking = {
        .kind = kind, .batch = field(import, "batch"), .note = field(import, "note")};
    int64_t id = 0;
    enum pm_status status = PM_OK;
    import->column = 0;
    if (!bottle || !kind || !mass)
        return pm_fail(err, PM_INVALID, "A movement needs a bottle, a kind and a mass.");
    status = pm_bottle_find(import->studio, bottle, &id, err);
    if (status == PM_OK)
        status = pm_mass_read(mass, &taking.mass, err);
    if (status == PM_OK && at)
        status = pm_time_read(at, &taking.at, err);
    if (status == PM_OK && into)
        status = pm_bottle_find(import->studio, into, &taking.into, err);
    if (status != PM_OK)
        return status;
    import->result.added++;
    if (strcmp(kind, "counted") == 0)
        return pm_bottle_count_one(step, id, taking.mass, taking.note, taking.at, err);
    return pm_bottle_take_one(step, id, &taking, NULL, err);
}

/* ---- the whole table ---- */

typedef enum pm_status import_row(struct import *import, struct pm_shelf_step *step,
                                  struct pm_error *err);

static enum pm_status import_material_row(struct import *import, struct pm_shelf_step *step,
                                          struct pm_error *err)
{
    (void)step;
    return import_material(import, err);
}

/* Which kind of table it is. */
static const struct kind {
    const char *what;
    const char *const *columns;
    bool facts;
    import_row *row;
} table_kinds[] = {
    {"bottles", bottle_columns, false, import_bottle},
    {"movements", movement_columns, false, import_movement},
    {"materials", material_columns, true, import_material_row},
};

static const struct kind *find_kind(const struct import *import)
{
    if (pm_csv_column(&import->header, "material") >= 0)
        return &table_kinds[0];
    if (pm_csv_column(&import->header, "bottle") >= 0)
        return &table_kinds[1];
    return pm_csv_column(&import->header, "name") >= 0 ? &table_kinds[2] : NULL;
}

static enum pm_status import_rows(struct import *import, const struct kind *kind,
                                  struct pm_shelf_step *step, struct pm_error *err)
{
    bool more = true;
    struct pm_error why;
    enum pm_status status = check_columns(import, kind->columns, kind->facts, err);
    while (status == PM_OK) {
        import->column = 0;
        status = pm_csv_next(&import->csv, &more, err);
        if (status != PM_OK || !more)
            break;
        if (import->csv.count != import->header.count)
            return pm_fail(err, PM_INVALID, "Line %zu has %zu field%s, the header has %zu.",
                           import->csv.line, import->csv.count, import->csv.count == 1 ? "" : "s",
                           import->header.count);
        status = kind->row(import, step, &why);
        if (status != PM_OK)
            return blame(import, status, &why, err);
    }
    return status;
}

/* Opens both readers behind a first line that is only a remark; lines keep counting from it. */
static enum pm_status open_csv(struct pm_csv *csv, const char *text, size_t length,
                               struct pm_error *err)
{
    bool more = false;
    size_t skipped = 0;
    if (length > 0 && text[0] == '#') {
        const char *end = memchr(text, '\n', length);
        skipped = end ? (size_t)(end - text) + 1 : length;
    }
    pm_csv_init(csv, text + skipped, length - skipped);
    csv->next_line += skipped > 0;
    enum pm_status status = pm_csv_next(csv, &more, err);
    if (status == PM_OK && !more)
        status = pm_fail(err, PM_INVALID, "The table is empty.");
    return status;
}

static enum pm_status import_table(struct import *import, struct pm_shelf_step *step,
                                   struct pm_error *err)
{
    const struct kind *kind = find_kind(import);
    if (!kind)
        return pm_fail(err, PM_INVALID,
                       "This is no table of materials (column \"name\"), bottles (column "
                       "\"material\") or movements (column \"bottle\").");
    if (import->header.count > COLUMNS_MAX)
        return pm_fail(err, PM_INVALID, "That table has too many columns.");
    enum pm_status status = import_rows(import, kind, step, err);
    pm_step_say(step, "Read a table of %lld %s",
                (long long)(import->result.added + import->result.updated), kind->what);
    return status;
}

enum pm_status pm_shelf_import(struct pm_studio *studio, const char *text, size_t length,
                               struct pm_import_result *out, struct pm_error *err)
{
    struct import import = {.studio = studio};
    struct pm_shelf_step step;
    enum pm_status status = open_csv(&import.header, text, length, err);
    if (status == PM_OK)
        status = open_csv(&import.csv, text, length, err);
    if (status == PM_OK)
        status = pm_step_begin(&step, studio, err);
    if (status == PM_OK) {
        status = import_table(&import, &step, err);
        status = pm_step_end_for_good(&step, status, "import", err);
    }
    pm_csv_release(&import.header);
    pm_csv_release(&import.csv);
    if (status == PM_OK)
        *out = import.result;
    return status;
}

/* ---- out ---- */

struct export
{
    struct pm_studio *studio;
    struct pm_text *out;
    enum pm_status status;
    struct pm_error *err;
    bool first; /* the next field begins a record */
};

static void put(struct export *export, const char *text)
{
    pm_csv_field(export->out, text ? text : "", export->first);
    export->first = false;
}

static void end(struct export *export)
{
    pm_csv_end(export->out);
    export->first = true;
}

static void put_all(struct export *export, const char *const *names)
{
    for (size_t i = 0; names[i]; i++)
        put(export, names[i]);
}

static void put_mass(struct export *export, pm_mass mass)
{
    char number[PM_AMOUNT_TEXT + 2];
    pm_decimal_exact(mass, 6, '.', number);
    put(export, mass == 0 ? "" : strcat(number, "g"));
}

static void put_day(struct export *export, int64_t day)
{
    char text[PM_TIME_TEXT];
    put(export, day == 0 ? "" : pm_time_date(day, text));
}

/* One's own facts into the cells of their properties. */
struct own_cells {
    char *cells[COLUMNS_MAX]; /* owned */
    bool failed;
};

static bool take_cell(void *context, const struct pm_fact *fact)
{
    struct own_cells *own = context;
    const struct pm_fact_property *property = pm_fact_find(fact->property);
    char number[PM_AMOUNT_TEXT];
    if (fact->origin != PM_OWN || !property)
        return true;
    const char *text = fact->words;
    if (fact->is_number)
        text = pm_decimal_exact(
            fact->value, property->kind == PM_FACT_PERCENT ? PM_FACT_SCALE - 2 : PM_FACT_SCALE, '.',
            number);
    char **cell = &own->cells[property - pm_fact_properties];
    *cell = pm_strdup(text);
    own->failed = !*cell;
    return !own->failed;
}

static enum pm_status export_material(struct export *export, int64_t id, struct pm_error *err)
{
    struct pm_material row;
    struct own_cells own = {.failed = false};
    struct pm_text synonyms = PM_TEXT_EMPTY;
    enum pm_status status = pm_material_get(export->studio->library, id, &row, err);
    if (status != PM_OK)
        return status;
    if (row.merged_into == 0) {
        status = pm_fact_list(export->studio->library, id, take_cell, &own, err);
        for (size_t i = 0; i < row.synonym_count; i++)
            pm_text_addf(&synonyms, "%s%s", i == 0 ? "" : ";", row.synonyms[i]);
        const char *const cells[] = {row.name,
                                     pm_material_kind_word(row.kind),
                                     row.cas ? row.cas : "",
                                     row.family ? row.family : "",
                                     row.note ? row.note : "",
                                     pm_text_get(&synonyms),
                                     NULL};
        put_all(export, cells);
        for (size_t i = 0; i < pm_fact_property_count; i++) {
            put(export, own.cells[i]);
            pm_free(own.cells[i]);
        }
        end(export);
    }
    if (status == PM_OK && (own.failed || !pm_text_ok(&synonyms)))
        status = pm_fail_memory(err);
    pm_text_release(&synonyms);
    pm_material_release(&row);
    return status;
}

static bool on_hit(void *context, const struct pm_material_hit *hit)
{
    struct export *export = context;
    export->status = export_material(export, hit->id, export->err);
    return export->status == PM_OK;
}

static enum pm_status export_materials(struct export *export, struct pm_error *err)
{
    static const char *const names[] = {"name", "kind", "cas", "family", "note", "synonyms", NULL};
    put_all(export, names);
    for (size_t i = 0; i < pm_fact_property_count; i++)
        put(export, pm_fact_properties[i].word);
    end(export);
    return pm_material_search(export->studio->library, "", SIZE_MAX, true, on_hit, export, err);
}

static enum pm_status export_bottle(struct export *export, const struct pm_bottle_card *card)
{
    char strength[PM_AMOUNT_TEXT], price[PM_AMOUNT_TEXT + 8];
    pm_decimal_exact(card->price, 6, '.', price);
    strcat(strcat(price, " "), card->currency);
    put(export, card->label);
    put(export, card->name);
    put(export, pm_strength_format(card->strength, '.', strength));
    put(export, card->solvent);
    put(export, card->lot);
    put(export, card->supplier);
    put_day(export, card->bought);
    put_day(export, card->opened);
    put_day(export, card->best_before);
    put(export, card->place);
    put_mass(export, card->tare);
    put(export, card->currency[0] ? price : "");
    put_mass(export, card->priced_mass);
    put(export, card->note);
    put_mass(export, card->left > 0 ? card->left : 0);
    end(export);
    return PM_OK;
}

static enum pm_status export_bottles(struct export *export, struct pm_error *err)
{
    static const char *const names[] = {"bottle",      "material", "strength", "solvent",
                                        "lot",         "supplier", "bought",   "opened",
                                        "best_before", "place",    "tare",     "price",
                                        "priced_mass", "note",     "received", NULL};
    const struct pm_bottle_filter all = {.material = 0};
    struct pm_bottle_cards cards;
    enum pm_status status = pm_bottles_list(export->studio, &all, &cards, err);
    put_all(export, names);
    end(export);
    for (size_t i = 0; status == PM_OK && i < cards.count; i++)
        status = export_bottle(export, &cards.items[i]);
    if (status == PM_OK)
        pm_bottle_cards_release(&cards);
    return status;
}

static enum pm_status export_ledger(struct export *export, const struct pm_bottle_card *card,
                                    struct pm_error *err)
{
    struct pm_ledger ledger;
    char number[PM_AMOUNT_TEXT], at[PM_TIME_TEXT];
    enum pm_status status = pm_bottle_ledger(export->studio, card->id, &ledger, err);
    for (size_t i = 0; status == PM_OK && i < ledger.count; i++) {
        const struct pm_ledger_line *line = &ledger.lines[i];
        put(export, pm_time_iso(line->at, at));
        put(export, card->label);
        put(export, line->kind);
        put(export, pm_decimal_exact(line->mass, 6, '.', number));
        put(export, line->other_label);
        put(export, line->batch);
        put(export, line->note);
        end(export);
    }
    if (status == PM_OK)
        pm_ledger_release(&ledger);
    return status;
}

static enum pm_status export_movements(struct export *export, struct pm_error *err)
{
    static const char *const names[] = {"at",    "bottle", "kind", "mass_g",
                                        "other", "batch",  "note", NULL};
    const struct pm_bottle_filter all = {.set_aside_too = true};
    struct pm_bottle_cards cards;
    enum pm_status status = pm_bottles_list(export->studio, &all, &cards, err);
    put_all(export, names);
    end(export);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; status == PM_OK && i < cards.count; i++)
        status = export_ledger(export, &cards.items[i], err);
    pm_bottle_cards_release(&cards);
    return status;
}

enum pm_status pm_shelf_export(struct pm_studio *studio, const char *what, struct pm_text *out,
                               struct pm_error *err)
{
    struct export export = {.studio = studio, .out = out, .err = err, .first = true};
    enum pm_status status;
    pm_studio_refresh(studio);
    if (strcmp(what, "materials") == 0)
        status = export_materials(&export, err);
    else if (strcmp(what, "bottles") == 0)
        status = export_bottles(&export, err);
    else if (strcmp(what, "movements") == 0)
        status = export_movements(&export, err);
    else
        return pm_fail(err, PM_INVALID, "\"%s\" is not materials, bottles or movements.", what);
    if (status == PM_OK)
        status = export.status;
    return status == PM_OK && !pm_text_ok(out) ? pm_fail_memory(err) : status;
}
