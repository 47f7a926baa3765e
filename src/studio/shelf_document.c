/* SPDX-License-Identifier: MIT */
/*
 * A text that holds tables of the shelf, taken apart: CSV is one table, a JSON document of the
 * shelf up to three, each an array of rows whose members are its columns. The document's become
 * CSV, which is what tables.c reads.
 */
#include "tables.h"

#include "documents.h"
#include "permille/base/amount.h"
#include "permille/base/csv.h"
#include "permille/base/json_read.h"
#include "permille/base/text_set.h"

#include <string.h>

/* In the order in which they need each other. */
static const char *const names[PM_SHELF_TABLES] = {"materials", "bottles", "movements"};

/* The members that stand in any of the rows, in their order. */
static enum pm_status find_columns(const struct pm_json_value *rows, const char *name,
                                   struct pm_text_set *columns, struct pm_error *err)
{
    for (size_t i = 0; i < pm_json_count(rows); i++) {
        const struct pm_json_value *row = pm_json_item(rows, i), *member;
        const char *key;
        size_t place;
        void *at = NULL;
        if (!pm_json_is_object(row))
            return pm_fail(err, PM_INVALID, "Row %zu of the %s is no object.", i + 1, name);
        while (pm_json_next(row, &at, &key, &member))
            if (!pm_text_set_add(columns, key, &place))
                return pm_fail_memory(err);
        if (columns->count > PM_TABLE_COLUMNS)
            return pm_fail(err, PM_INVALID, "Row %zu of the %s: these are too many columns.", i + 1,
                           name);
    }
    return PM_OK;
}

/* A text, a number or yes and no as it stands in a cell; false for anything else. */
static bool add_cell(const struct pm_json_value *value, bool first, struct pm_text *out)
{
    char number[PM_AMOUNT_TEXT];
    int64_t scaled;
    bool yes;
    const char *text = pm_json_text_of(value);
    if (value == NULL)
        text = "";
    else if (text == NULL && pm_json_scaled_of(value, 9, &scaled))
        text = pm_decimal_exact(scaled, 9, '.', number);
    else if (text == NULL && pm_json_bool_of(value, &yes))
        text = yes ? "yes" : "no";
    if (text != NULL)
        pm_csv_field(out, text, first);
    return text != NULL;
}

static enum pm_status write_rows(const struct pm_json_value *rows, const char *name,
                                 const struct pm_text_set *columns, struct pm_text *out,
                                 struct pm_error *err)
{
    for (size_t c = 0; c < columns->count; c++)
        pm_csv_field(out, columns->texts[c], c == 0);
    pm_csv_end(out);
    for (size_t i = 0; i < pm_json_count(rows); i++) {
        const struct pm_json_value *row = pm_json_item(rows, i);
        for (size_t c = 0; c < columns->count; c++)
            if (!add_cell(pm_json_member(row, columns->texts[c]), c == 0, out))
                return pm_fail(err, PM_INVALID,
                               "Row %zu of the %s: \"%s\" is neither text nor number.", i + 1, name,
                               columns->texts[c]);
        pm_csv_end(out);
    }
    return pm_text_ok(out) ? PM_OK : pm_fail_memory(err);
}

static enum pm_status take_table(const struct pm_json_value *rows, const char *name,
                                 struct pm_shelf_document *out, struct pm_error *err)
{
    struct pm_text_set columns = {.texts = NULL};
    struct pm_text *text = &out->texts[out->count];
    if (!pm_json_is_array(rows))
        return pm_fail(err, PM_INVALID, "\"%s\" is no list of rows.", name);
    enum pm_status status = find_columns(rows, name, &columns, err);
    if (status == PM_OK && columns.count > 0) {
        status = write_rows(rows, name, &columns, text, err);
        out->sources[out->count++] = (struct pm_table_source){
            .text = pm_text_get(text), .length = text->length, .within = name};
    }
    pm_text_set_release(&columns);
    return status;
}

/* A member that is none of the tables would be passed over in silence. */
static enum pm_status check_members(const struct pm_json_value *document, struct pm_error *err)
{
    const struct pm_json_value *member;
    const char *key;
    for (void *at = NULL; pm_json_next(document, &at, &key, &member);) {
        bool known = strcmp(key, "permille") == 0;
        for (size_t i = 0; i < PM_SHELF_TABLES; i++)
            known = known || strcmp(key, names[i]) == 0;
        if (!known)
            return pm_fail(err, PM_INVALID, "A shelf has no \"%s\".", key);
    }
    return PM_OK;
}

static enum pm_status take_document(const struct pm_json_value *document,
                                    struct pm_shelf_document *out, struct pm_error *err)
{
    enum pm_status status = pm_document_check(document, "shelf", err);
    if (status == PM_OK)
        status = check_members(document, err);
    for (size_t i = 0; status == PM_OK && i < PM_SHELF_TABLES; i++) {
        const struct pm_json_value *rows = pm_json_member(document, names[i]);
        if (rows != NULL)
            status = take_table(rows, names[i], out, err);
    }
    if (status == PM_OK && out->count == 0)
        status = pm_fail(err, PM_INVALID, "There is no row of a shelf in it.");
    return status;
}

enum pm_status pm_shelf_document_read(const char *text, size_t length,
                                      struct pm_shelf_document *out, struct pm_error *err)
{
    struct pm_json_value *document;
    memset(out, 0, sizeof *out);
    if (!pm_is_document(text, length)) {
        out->sources[out->count++] = (struct pm_table_source){.text = text, .length = length};
        return PM_OK;
    }
    enum pm_status status = pm_json_read(text, length, &document, err);
    if (status != PM_OK)
        return status;
    status = take_document(document, out, err);
    pm_json_free(document);
    return status;
}

void pm_shelf_document_release(struct pm_shelf_document *document)
{
    for (size_t i = 0; i < PM_SHELF_TABLES; i++)
        pm_text_release(&document->texts[i]);
}
