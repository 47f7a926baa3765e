/* SPDX-License-Identifier: MIT */
/*
 * Tables by the shape of their rows (see shapes.h).
 */
#include "shapes.h"
#include "checksum.h"
#include "store.h"

#include "permille/base/mem.h"

#include <string.h>

/* Made from others, or about the file alone. */
static bool is_derived(const char *table)
{
    static const char *const derived[] = {"library", "material_search", "material_use",
                                          "bottle_left"};
    for (size_t i = 0; i < sizeof derived / sizeof derived[0]; i++)
        if (strcmp(table, derived[i]) == 0)
            return true;
    return false;
}

/* ---- loading ---- */

static int read_columns(sqlite3 *db, struct pm_shapes *shapes, struct pm_shape *shape)
{
    sqlite3_stmt *row = NULL;
    int rc = sqlite3_prepare_v2(
        db, "SELECT name, type, \"notnull\", pk FROM pragma_table_info(?1) ORDER BY cid", -1, &row,
        NULL);
    if (rc == SQLITE_OK)
        rc = sqlite3_bind_text(row, 1, shape->table, -1, SQLITE_STATIC);
    while (rc == SQLITE_OK && (rc = sqlite3_step(row)) == SQLITE_ROW) {
        rc = shape->count < PM_PAGES_COLUMNS ? SQLITE_OK : SQLITE_TOOBIG;
        if (rc != SQLITE_OK)
            break;
        struct pm_shape_column *column = &shape->columns[shape->count++];
        column->name = pm_arena_text(&shapes->arena, (const char *)sqlite3_column_text(row, 0));
        column->type = pm_arena_text(&shapes->arena, (const char *)sqlite3_column_text(row, 1));
        column->not_null = sqlite3_column_int(row, 2) != 0;
        column->key = sqlite3_column_int(row, 3);
        if (column->name == NULL || column->type == NULL)
            rc = SQLITE_NOMEM;
    }
    sqlite3_finalize(row);
    return rc == SQLITE_DONE ? SQLITE_OK : rc;
}

/* A table without rowids is stored with its key first. */
static void find_places(struct pm_shape *shape)
{
    size_t at = 0;
    int keys = 0, key = -1;
    shape->rowid = shape->checksum = -1;
    for (size_t c = 0; c < shape->count; c++) {
        if (strcmp(shape->columns[c].name, "checksum") == 0)
            shape->checksum = (int)c;
        keys += shape->columns[c].key > 0;
        key = shape->columns[c].key > 0 ? (int)c : key;
    }
    if (shape->has_rowid && keys == 1 && strcmp(shape->columns[key].type, "INTEGER") == 0)
        shape->rowid = key;
    for (int k = 1; !shape->has_rowid && k <= keys; k++)
        for (size_t c = 0; c < shape->count; c++)
            if (shape->columns[c].key == k)
                shape->stored[at++] = c;
    for (size_t c = 0; c < shape->count; c++)
        if (shape->has_rowid || shape->columns[c].key == 0)
            shape->stored[at++] = c;
}

static int read_shape(sqlite3 *db, struct pm_shapes *shapes, struct pm_shape *shape)
{
    sqlite3_stmt *triggers = NULL;
    int rc = read_columns(db, shapes, shape);
    if (rc != SQLITE_OK)
        return rc;
    find_places(shape);
    shape->derived = is_derived(shape->table);
    rc = sqlite3_prepare_v2(db,
                            "SELECT 1 FROM sqlite_schema WHERE type = 'trigger' AND tbl_name = ?1 "
                            "AND name = ?1 || '_never_deleted'",
                            -1, &triggers, NULL);
    if (rc == SQLITE_OK)
        rc = sqlite3_bind_text(triggers, 1, shape->table, -1, SQLITE_STATIC);
    if (rc == SQLITE_OK)
        rc = sqlite3_step(triggers);
    shape->for_good = rc == SQLITE_ROW && shape->rowid >= 0;
    sqlite3_finalize(triggers);
    return rc == SQLITE_ROW || rc == SQLITE_DONE ? SQLITE_OK : rc;
}

enum pm_status pm_shapes_load(sqlite3 *db, struct pm_shapes *out, struct pm_error *err)
{
    struct pm_shapes shapes = {.count = 0};
    size_t capacity = 0;
    sqlite3_stmt *tables = NULL;
    int rc = sqlite3_prepare_v2(db,
                                "SELECT name, wr FROM pragma_table_list WHERE schema = 'main' AND "
                                "type = 'table' AND name NOT LIKE 'sqlite\\_%' ESCAPE '\\'",
                                -1, &tables, NULL);
    while (rc == SQLITE_OK && (rc = sqlite3_step(tables)) == SQLITE_ROW) {
        void *items = shapes.items;
        rc = SQLITE_NOMEM;
        if (!pm_grow(&items, &capacity, shapes.count + 1, sizeof *shapes.items))
            break;
        shapes.items = items;
        struct pm_shape *shape = &shapes.items[shapes.count];
        *shape = (struct pm_shape){.has_rowid = sqlite3_column_int(tables, 1) == 0};
        shape->table = pm_arena_text(&shapes.arena, (const char *)sqlite3_column_text(tables, 0));
        if (shape->table == NULL)
            break;
        rc = read_shape(db, &shapes, shape);
        shapes.count++;
    }
    enum pm_status status = PM_OK;
    if (rc != SQLITE_DONE)
        status = pm_store_fail(db, rc, "looking at the tables", err);
    sqlite3_finalize(tables);
    if (status == PM_OK)
        *out = shapes;
    else
        pm_shapes_release(&shapes);
    return status;
}

void pm_shapes_release(struct pm_shapes *shapes)
{
    pm_free(shapes->items);
    pm_arena_release(&shapes->arena);
    *shapes = (struct pm_shapes){.count = 0};
}

/* ---- fitting ---- */

static bool is_of(const struct pm_shape_column *column, struct pm_found_value *value)
{
    switch (value->kind) {
    case PM_FOUND_NULL:
        return !column->not_null && column->key == 0;
    case PM_FOUND_INTEGER:
        if (strcmp(column->type, "REAL") == 0) { /* whole numbers are stored so */
            value->kind = PM_FOUND_REAL;
            value->real = (double)value->number;
            return true;
        }
        return strcmp(column->type, "INTEGER") == 0 || strcmp(column->type, "INT") == 0;
    case PM_FOUND_REAL:
        return strcmp(column->type, "REAL") == 0;
    case PM_FOUND_TEXT:
        return strcmp(column->type, "TEXT") == 0;
    case PM_FOUND_BLOB:
        return strcmp(column->type, "BLOB") == 0;
    }
    return false;
}

bool pm_shape_fits(const struct pm_shape *shape, const struct pm_found_row *row,
                   struct pm_found_value out[PM_PAGES_COLUMNS])
{
    if (row->has_rowid != shape->has_rowid || row->count > shape->count)
        return false;
    for (size_t c = 0; c < shape->count; c++)
        out[c] = (struct pm_found_value){.kind = PM_FOUND_NULL}; /* of a later step */
    for (size_t i = 0; i < row->count; i++)
        out[shape->stored[i]] = row->values[i];
    if (shape->rowid >= 0) {
        if (out[shape->rowid].kind != PM_FOUND_NULL)
            return false;
        out[shape->rowid] = (struct pm_found_value){.kind = PM_FOUND_INTEGER, .number = row->rowid};
    }
    for (size_t c = 0; c < shape->count; c++)
        if (!is_of(&shape->columns[c], &out[c]))
            return false;
    return true;
}

bool pm_shape_sealed(const struct pm_shape *shape,
                     const struct pm_found_value values[PM_PAGES_COLUMNS])
{
    if (shape->checksum < 0 || values[shape->checksum].kind != PM_FOUND_INTEGER)
        return false;
    uint64_t crc = pm_crc_text(0, 0, shape->table);
    int place = 1;
    for (size_t c = 0; c < shape->count; c++)
        if ((int)c != shape->checksum)
            crc = pm_crc_found(crc, place++, &values[c]);
    return crc == (uint64_t)values[shape->checksum].number;
}
