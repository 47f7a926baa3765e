/* SPDX-License-Identifier: MIT */
/* A row of a table that is brought in: its fields, its place, what became of it. */
#include "import.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"

#include <string.h>

int pm_import_column(const struct pm_import *import, const char *name)
{
    for (size_t i = 0; i < import->header.count; i++)
        if (strcmp(import->headings[i], name) == 0)
            return (int)i;
    return -1;
}

const char *pm_import_field(struct pm_import *import, const char *name)
{
    int at = pm_import_column(import, name);
    if (at < 0 || (size_t)at >= import->csv.count || import->csv.fields[at][0] == '\0')
        return NULL;
    import->column = (size_t)at + 1;
    return import->csv.fields[at];
}

enum pm_status pm_import_header(struct pm_import *import, struct pm_error *err)
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
            import->facts[import->fact_count++] = (struct pm_import_fact){i, property};
    }
    return PM_OK;
}

enum pm_status pm_import_blame(const struct pm_import *import, enum pm_status status,
                               const struct pm_error *why, struct pm_error *err)
{
    const char *name = import->column > 0 && import->column <= import->header.count
                           ? import->header.fields[import->column - 1]
                           : NULL;
    char place[80];
    if (import->rows != NULL) {
        import->rows->reason = pm_arena_text(&import->rows->arena, why->text);
        if (import->rows->reason == NULL)
            return pm_fail_memory(err);
    }
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

enum pm_status pm_import_count(struct pm_import *import, enum pm_import_outcome outcome,
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

void pm_import_change(struct pm_import *import, const char *heading)
{
    pm_text_addf(&import->changes, "%s%s", import->changes.length > 0 ? ", " : "", heading);
}

void pm_import_values(struct pm_import *import, const struct pm_entity *entity, const char **values)
{
    for (size_t i = 0; i < entity->count; i++)
        values[i] = NULL;
    for (size_t c = 0; c < import->header.count; c++)
        if (import->attributes[c] != NULL && import->csv.fields[c][0] != '\0')
            values[import->attributes[c] - entity->attributes] = import->csv.fields[c];
}

void pm_import_point(struct pm_import *import, const struct pm_entity *entity,
                     const struct pm_error *err)
{
    const struct pm_attribute *attribute =
        err->field != NULL ? pm_entity_find(entity, err->field) : NULL;
    import->column = 0;
    for (size_t c = 0; attribute != NULL && c < import->header.count; c++)
        if (import->attributes[c] == attribute)
            import->column = c + 1;
}
