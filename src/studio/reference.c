/* SPDX-License-Identifier: MIT */
/* The reference lists, read once. */
#include "reference.h"

#include "permille/base/csv.h"
#include "permille/base/utf8.h"
#include "permille/store/facts.h"

#include <string.h>

/* A list, and which of its columns say what; "" for none. */
static const struct {
    const char *table, *name, *kind;
} lists[PM_LIST_COUNT] = {
    [PM_LIST_LIMITS] = {"limits.csv", "substance", "standard_type"},
    [PM_LIST_LAW] = {"limits_eu_law.csv", "substance", "annex"},
    [PM_LIST_ALLERGENS] = {"allergens_eu.csv", "label_name", "group"},
};

enum { NAME, CAS, NOTE, KIND, SOURCE, CELLS };

static enum pm_status add_row(struct pm_reference *out, enum pm_reference_list list,
                              const struct pm_csv *csv, const int at[CELLS], struct pm_error *err)
{
    const char *cells[CELLS];
    struct pm_reference_row *row = pm_list_add(out);
    for (int i = 0; i < CELLS; i++)
        cells[i] = pm_arena_text(
            &out->arena, at[i] >= 0 && (size_t)at[i] < csv->count ? csv->fields[at[i]] : "");
    if (row != NULL)
        *row = (struct pm_reference_row){list,        cells[NAME], cells[CAS],
                                         cells[NOTE], cells[KIND], cells[SOURCE]};
    return pm_arena_status(&out->arena, err);
}

static enum pm_status read_list(struct pm_reference *out, enum pm_reference_list list,
                                struct pm_error *err)
{
    const char *const columns[CELLS] = {lists[list].name, "cas", "note", lists[list].kind,
                                        "source"};
    struct pm_csv csv;
    size_t length;
    int at[CELLS];
    bool more = false;
    const char *text = pm_reference_table(lists[list].table, &length);
    if (text == NULL)
        return PM_OK;
    pm_csv_init(&csv, text, length);
    enum pm_status status = pm_csv_next(&csv, &more, err);
    for (int i = 0; i < CELLS; i++)
        at[i] = pm_csv_column(&csv, columns[i]);
    while (status == PM_OK && (status = pm_csv_next(&csv, &more, err)) == PM_OK && more)
        status = add_row(out, list, &csv, at, err);
    pm_csv_release(&csv);
    return status;
}

enum pm_status pm_studio_reference(struct pm_studio *studio, const struct pm_reference **out,
                                   struct pm_error *err)
{
    struct pm_reference made = {0};
    enum pm_status status = PM_OK;
    for (int i = 0; studio->reference.count == 0 && i < PM_LIST_COUNT && status == PM_OK; i++)
        status = read_list(&made, (enum pm_reference_list)i, err);
    if (status != PM_OK) {
        pm_list_release(&made);
        return status;
    }
    if (studio->reference.count == 0)
        studio->reference = made;
    *out = &studio->reference;
    return PM_OK;
}

/* Whether the list of numbers "1-2-3 4-5-6" holds this one. */
static bool holds_number(const char *list, const char *cas)
{
    size_t length = strlen(cas);
    for (const char *at = strstr(list, cas); at != NULL; at = strstr(at + 1, cas))
        if ((at == list || at[-1] == ' ') && (at[length] == ' ' || at[length] == '\0'))
            return true;
    return false;
}

bool pm_reference_about(const struct pm_reference_row *row, const char *name, const char *cas)
{
    return (cas != NULL && holds_number(row->cas, cas)) ||
           (name != NULL && pm_fold_equal(row->name, name));
}
