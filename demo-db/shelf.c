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

#define SYNONYM_MAX 16

/* ---- tables ---- */

struct sheet {
    const char *name; /* of the file, for sentences; borrowed */
    char *content;    /* owned */
    struct pm_csv csv;
};

/* A first line that begins with '#' is a label and passed over. */
static enum pm_status sheet_open(const char *sources, const char *name, struct sheet *sheet,
                                 struct pm_error *err)
{
    struct pm_text path = PM_TEXT_EMPTY;

    pm_text_addf(&path, "%s/%s", sources, name);
    const enum pm_status status = pm_text_ok(&path)
                                      ? story_slurp(pm_text_get(&path), &sheet->content, err)
                                      : pm_fail_memory(err);
    pm_text_release(&path);
    if (status != PM_OK)
        return status;
    const char *start = sheet->content;
    if (start[0] == '#')
        start += strcspn(start, "\n");
    sheet->name = name;
    pm_csv_init(&sheet->csv, start, strlen(start));
    return PM_OK;
}

static void sheet_close(struct sheet *sheet)
{
    pm_csv_release(&sheet->csv);
    pm_free(sheet->content);
}

/* Reads the header and finds the columns named. */
static enum pm_status sheet_header(struct sheet *sheet, const char *const *columns, size_t count,
                                   size_t *places, struct pm_error *err)
{
    bool more;
    const enum pm_status status = pm_csv_next(&sheet->csv, &more, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < count; i++) {
        const int place = more ? pm_csv_column(&sheet->csv, columns[i]) : -1;
        if (place < 0)
            return pm_fail(err, PM_INVALID, "%s has no column %s.", sheet->name, columns[i]);
        places[i] = (size_t)place;
    }
    return PM_OK;
}

/* The field at `place` of the row just read; NULL when it is empty or missing. */
static const char *sheet_field(const struct sheet *sheet, size_t place)
{
    if (place >= sheet->csv.count || sheet->csv.fields[place][0] == '\0')
        return NULL;
    return sheet->csv.fields[place];
}

/* ---- what is wanted ---- */

struct wanted {
    char *name, *note; /* owned; note may be NULL */
    bool found;
};

struct wanted_list {
    struct wanted *items; /* owned */
    size_t count, capacity;
};

static void wanted_release(struct wanted_list *list)
{
    for (size_t i = 0; i < list->count; i++) {
        pm_free(list->items[i].name);
        pm_free(list->items[i].note);
    }
    pm_free(list->items);
}

static enum pm_status wanted_add(struct wanted_list *list, const char *name, const char *note,
                                 struct pm_error *err)
{
    void *items = list->items;
    if (!pm_grow(&items, &list->capacity, list->count + 1, sizeof *list->items))
        return pm_fail_memory(err);
    list->items = items;
    struct wanted *item = &list->items[list->count++];
    *item = (struct wanted){.name = pm_strdup(name), .note = pm_strdup(note)};
    if (item->name == NULL || (note != NULL && item->note == NULL))
        return pm_fail_memory(err);
    return PM_OK;
}

static enum pm_status wanted_read(const char *sources, struct wanted_list *list,
                                  struct pm_error *err)
{
    static const char *const columns[] = {"name", "note"};
    struct sheet sheet;
    size_t at[2] = {0};
    bool more = true;

    enum pm_status status = sheet_open(sources, "shelf.csv", &sheet, err);
    if (status != PM_OK)
        return status;
    status = sheet_header(&sheet, columns, 2, at, err);
    while (status == PM_OK && more) {
        status = pm_csv_next(&sheet.csv, &more, err);
        const char *name = status == PM_OK && more ? sheet_field(&sheet, at[0]) : NULL;
        if (name != NULL)
            status = wanted_add(list, name, sheet_field(&sheet, at[1]), err);
    }
    sheet_close(&sheet);
    return status;
}

/* ---- adding ---- */

enum { NAME, SYNONYMS, CAS, KIND, FAMILY, COLUMNS };

static enum pm_status add_material(struct pm_studio *studio, const struct sheet *starter,
                                   const size_t *at, const char *note, struct pm_error *err)
{
    const char *synonyms[SYNONYM_MAX];
    const char *listed = sheet_field(starter, at[SYNONYMS]);
    struct pm_material_form form = {
        .name = sheet_field(starter, at[NAME]),
        .kind = sheet_field(starter, at[KIND]),
        .cas = sheet_field(starter, at[CAS]),
        .family = sheet_field(starter, at[FAMILY]),
        .note = note,
        .synonyms = synonyms,
    };
    int64_t id;

    char *cut = pm_strdup(listed != NULL ? listed : "");
    if (cut == NULL)
        return pm_fail_memory(err);
    for (char *rest = cut; rest != NULL && form.synonym_count < SYNONYM_MAX;) {
        const char *synonym = strsep(&rest, ";");
        if (synonym[0] != '\0')
            synonyms[form.synonym_count++] = synonym;
    }
    const enum pm_status status = pm_shelf_add(studio, &form, &id, err);
    pm_free(cut);
    return status;
}

static enum pm_status add_wanted(struct pm_studio *studio, const char *sources,
                                 struct wanted_list *list, struct pm_error *err)
{
    static const char *const columns[] = {"name", "synonyms", "cas", "kind", "odour_family"};
    struct sheet starter;
    size_t at[COLUMNS] = {0};
    bool more = true;

    enum pm_status status = sheet_open(sources, "../schema/reference/materials.csv", &starter, err);
    if (status != PM_OK)
        return status;
    status = sheet_header(&starter, columns, COLUMNS, at, err);
    while (status == PM_OK && more) {
        status = pm_csv_next(&starter.csv, &more, err);
        const char *name = status == PM_OK && more ? sheet_field(&starter, at[NAME]) : NULL;
        for (size_t i = 0; name != NULL && status == PM_OK && i < list->count; i++)
            if (strcmp(list->items[i].name, name) == 0) {
                list->items[i].found = true;
                status = add_material(studio, &starter, at, list->items[i].note, err);
            }
    }
    sheet_close(&starter);
    return status;
}

enum pm_status shelf_fill(struct pm_studio *studio, const char *sources, struct pm_error *err)
{
    struct wanted_list list = {.items = NULL};

    enum pm_status status = wanted_read(sources, &list, err);
    if (status == PM_OK)
        status = add_wanted(studio, sources, &list, err);
    for (size_t i = 0; status == PM_OK && i < list.count; i++)
        if (!list.items[i].found)
            status = pm_fail(err, PM_MISSING, "shelf.csv: the starter set has no material %s.",
                             list.items[i].name);
    wanted_release(&list);
    return status;
}
