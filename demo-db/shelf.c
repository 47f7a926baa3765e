/* SPDX-License-Identifier: MIT */
/* Filling the shelf (shelf.h). */
#include "shelf.h"
#include "story.h"

#include "permille/base/csv.h"
#include "permille/base/mem.h"
#include "permille/base/text.h"
#include "permille/studio/shelf.h"

#include <stdbool.h>
#include <string.h>

/* A table of the demo's folder, into a new string. */
static enum pm_status slurp(const char *sources, const char *name, char **out, struct pm_error *err)
{
    struct pm_text path = PM_TEXT_EMPTY;

    pm_text_addf(&path, "%s/%s", sources, name);
    const enum pm_status status =
        pm_text_ok(&path) ? story_slurp(pm_text_get(&path), out, err) : pm_fail_memory(err);
    pm_text_release(&path);
    return status;
}

/* ---- the names of shelf.csv ---- */

struct names {
    char **items; /* owned */
    size_t count, capacity;
};

static void names_release(struct names *names)
{
    for (size_t i = 0; i < names->count; i++)
        pm_free(names->items[i]);
    pm_free(names->items);
}

static enum pm_status names_add(struct names *names, const char *name, struct pm_error *err)
{
    if (!pm_grow(&names->items, &names->capacity, names->count + 1, sizeof *names->items))
        return pm_fail_memory(err);
    names->items[names->count] = pm_strdup(name);
    return names->items[names->count++] != NULL ? PM_OK : pm_fail_memory(err);
}

/* A first line that begins with '#' is a label and passed over. */
static enum pm_status names_read(const char *table, struct names *names, struct pm_error *err)
{
    struct pm_csv csv;
    const char *start = table[0] == '#' ? table + strcspn(table, "\n") : table;
    bool more = true;

    pm_csv_init(&csv, start, strlen(start));
    enum pm_status status = pm_csv_next(&csv, &more, err);
    const int place = status == PM_OK && more ? pm_csv_column(&csv, "name") : -1;
    if (status == PM_OK && place < 0)
        status = pm_fail(err, PM_INVALID, "there is no column name.");
    while (status == PM_OK && (status = pm_csv_next(&csv, &more, err)) == PM_OK && more)
        if ((size_t)place < csv.count)
            status = names_add(names, csv.fields[place], err);
    pm_csv_release(&csv);
    return status;
}

/* ---- the shelf ---- */

static enum pm_status bring_starter(struct pm_studio *studio, const char *sources,
                                    struct pm_error *err)
{
    struct names names = {.items = NULL};
    struct pm_import_result result;
    struct pm_error why;
    char *table = NULL;

    enum pm_status status = slurp(sources, "shelf.csv", &table, &why);
    if (status == PM_OK)
        status = names_read(table, &names, &why);
    if (status == PM_OK)
        status = pm_shelf_import_named(studio, (const char *const *)names.items, names.count,
                                       &result, &why);
    if (status != PM_OK)
        pm_fail(err, status, "shelf.csv: %s", why.text);
    names_release(&names);
    pm_free(table);
    return status;
}

static enum pm_status bring_table(struct pm_studio *studio, const char *sources, const char *name,
                                  struct pm_error *err)
{
    struct pm_import_result result;
    struct pm_error why;
    char *table = NULL;

    enum pm_status status = slurp(sources, name, &table, err);
    if (status != PM_OK)
        return status;
    status = pm_shelf_import(studio, table, strlen(table), &result, &why);
    pm_free(table);
    return status == PM_OK ? PM_OK : pm_fail(err, status, "%s: %s", name, why.text);
}

enum pm_status shelf_fill(struct pm_studio *studio, const char *sources, struct pm_error *err)
{
    static const char *const tables[] = {"shelf.csv", "bottles.csv", "movements.csv"};

    enum pm_status status = bring_starter(studio, sources, err);
    for (size_t i = 0; status == PM_OK && i < sizeof tables / sizeof tables[0]; i++)
        status = bring_table(studio, sources, tables[i], err);
    return status;
}
