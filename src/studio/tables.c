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
#include "import.h"

#include "permille/base/utf8.h"

#include <string.h>

const char *pm_import_word(enum pm_import_outcome outcome)
{
    return outcome == PM_IMPORT_NEW       ? "new"
           : outcome == PM_IMPORT_CHANGED ? "up to date"
                                          : "as it is";
}

/* ---- columns ---- */

/* By its key, or of a mass in grams by the key that says so, or by what screens call it. */
static bool is_column_of(const struct pm_attribute *attribute, const char *heading)
{
    char key[PM_OPTION_TEXT], label[80];
    return strcmp(attribute->key, heading) == 0 ||
           (attribute->kind == PM_ATTRIBUTE_MASS &&
            strcmp(pm_attribute_key(attribute, key), heading) == 0) ||
           pm_fold_equal(pm_attribute_label(attribute, label, sizeof label), heading);
}

/* Notes what the column holds. */
static bool knows(struct pm_import *import, const struct pm_import_kind *kind, size_t at)
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

static enum pm_status check_columns(struct pm_import *import, const struct pm_import_kind *kind,
                                    struct pm_error *err)
{
    for (size_t i = 0; i < import->header.count; i++) {
        const char *name = import->header.fields[i];
        if ((size_t)pm_import_column(import, import->headings[i]) < i)
            return pm_fail(err, PM_INVALID, "Line %zu, column %zu: there are two columns \"%s\".",
                           import->header.line, i + 1, name);
        if (!knows(import, kind, i))
            return pm_fail(err, PM_INVALID,
                           "Line %zu, column %zu: there is no column \"%s\" in this kind of table.",
                           import->header.line, i + 1, name);
    }
    return PM_OK;
}

static const struct pm_import_kind *find_kind(const struct pm_import *import)
{
    if (pm_import_column(import, "material") >= 0)
        return &pm_import_bottles;
    if (pm_import_column(import, "bottle") >= 0)
        return &pm_import_movements;
    return pm_import_column(import, "name") >= 0 ? &pm_import_materials : NULL;
}

static enum pm_status import_rows(struct pm_import *import, const struct pm_import_kind *kind,
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
        if (import->csv.count != import->header.count)
            return pm_fail(err, PM_INVALID, "Line %zu has %zu field%s, the header has %zu.",
                           import->csv.line, import->csv.count, import->csv.count == 1 ? "" : "s",
                           import->header.count);
        import->at_row = true;
        pm_text_clear(&import->changes);
        why.field = NULL;
        status = kind->row(import, step, &why);
        if (status != PM_OK)
            return pm_import_blame(import, status, &why, err);
        if (import->rows != NULL)
            import->rows->items[import->row].what = kind->what;
        import->row++;
    }
    if (status == PM_OK && kind->end != NULL && (status = kind->end(import, &why)) != PM_OK) {
        import->at_row = true;
        status = pm_import_blame(import, status, &why, err);
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

static enum pm_status import_table(struct pm_import *import, struct pm_shelf_step *step,
                                   struct pm_error *err)
{
    const struct pm_import_result before = import->result;
    enum pm_status status = pm_import_header(import, err);
    if (status != PM_OK)
        return status;
    const struct pm_import_kind *kind = find_kind(import);
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
static enum pm_status import_source(struct pm_import *import, struct pm_shelf_step *step,
                                    const struct pm_table_source *source, struct pm_error *err)
{
    struct pm_import table = {.studio = import->studio,
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
    struct pm_import import = {.studio = studio, .rows = rows};
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
    struct pm_import import = {.studio = NULL};
    enum pm_status status = pm_tables_open(&import.header, source->text, source->length, err);
    if (status == PM_OK)
        status = pm_import_header(&import, err);
    const struct pm_import_kind *kind = status == PM_OK ? find_kind(&import) : NULL;
    if (status == PM_OK && kind == NULL)
        status = fail_no_kind(err);
    if (status == PM_OK)
        *what = kind->what;
    for (size_t i = 0; status == PM_OK && i < import.header.count; i++)
        known[i] =
            (size_t)pm_import_column(&import, import.headings[i]) == i && knows(&import, kind, i);
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
