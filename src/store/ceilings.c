/* SPDX-License-Identifier: MIT */
#include "permille/store/ceilings.h"
#include "store.h"

#include "permille/base/mem.h"

static bool read_row(struct pm_query *query, struct pm_arena *arena, struct pm_ceiling *out)
{
    const char *kind = pm_query_get_text(query, 2);
    *out = (struct pm_ceiling){
        .id = pm_query_get_int(query, 0),
        .formula = pm_query_get_int(query, 1),
        .name = pm_query_get_kept(query, 3, arena),
        .most = pm_query_get_int(query, 4),
    };
    return kind != NULL && pm_profile_kind_from_word(kind, &out->kind);
}

enum pm_status pm_ceiling_list(struct pm_library *library, struct pm_ceilings *out,
                               struct pm_error *err)
{
    struct pm_query query;
    struct pm_ceilings list = {0};
    bool sound = true;
    pm_query_open(&query, library, PM_SQL_CEILING_LIST);
    while (pm_query_row(&query)) {
        struct pm_ceiling *row = pm_query_add(&query, &list);
        if (row != NULL)
            sound = read_row(&query, &list.arena, row) && sound;
    }
    enum pm_status status = pm_query_close(&query, err);
    if (status == PM_OK && !sound)
        status = pm_fail(err, PM_DAMAGED, "A ceiling is damaged in the file.");
    pm_list_give(&list, status, out);
    return status;
}

static void bind_formula(struct pm_query *query, int64_t formula)
{
    if (formula != 0)
        pm_query_int(query, formula);
    else
        pm_query_text(query, NULL);
}

/* The row that stands there, or the next free number. */
static enum pm_status find_id(struct pm_library *library, struct pm_ceiling *row,
                              const char *folded, struct pm_error *err)
{
    struct pm_query query;
    bool found = false;
    pm_query_open(&query, library, PM_SQL_CEILING_NAMED);
    pm_query_int(&query, row->formula);
    pm_query_text(&query, pm_profile_kind_word(row->kind));
    pm_query_text(&query, folded);
    const enum pm_status status = pm_query_one(&query, &row->id, &found, err);
    return status != PM_OK || found ? status
                                    : pm_store_next_id(library, PM_SQL_CEILING_NEXT, &row->id, err);
}

static enum pm_status put(struct pm_library *library, struct pm_ceiling *row, const char *folded,
                          struct pm_error *err)
{
    struct pm_query query;
    enum pm_status status = find_id(library, row, folded, err);
    if (status != PM_OK)
        return status;
    pm_query_open(&query, library, PM_SQL_CEILING_PUT);
    pm_query_int(&query, row->id);
    bind_formula(&query, row->formula);
    pm_query_text(&query, pm_profile_kind_word(row->kind));
    pm_query_text(&query, row->name);
    pm_query_text(&query, folded);
    pm_query_int(&query, row->most);
    pm_query_int(&query, pm_library_now(library));
    return pm_query_run(&query, err);
}

enum pm_status pm_ceiling_put(struct pm_library *library, struct pm_ceiling *row,
                              struct pm_error *err)
{
    enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    char *folded = pm_store_fold(row->name);
    status = folded == NULL ? pm_fail_memory(err) : put(library, row, folded, err);
    pm_free(folded);
    return pm_library_finish(library, status, err);
}

enum pm_status pm_ceiling_delete(struct pm_library *library, int64_t id, struct pm_error *err)
{
    struct pm_query query;
    enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    pm_query_open(&query, library, PM_SQL_CEILING_DELETE);
    pm_query_int(&query, id);
    return pm_library_finish(library, pm_query_run(&query, err), err);
}
