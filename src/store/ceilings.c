/* SPDX-License-Identifier: MIT */
#include "permille/store/ceilings.h"
#include "store.h"

static void read_row(struct pm_query *query, struct pm_arena *arena, void *item)
{
    struct pm_ceiling *row = item;
    const char *kind = pm_query_get_text(query, 2);
    *row = (struct pm_ceiling){
        .id = pm_query_get_int(query, 0),
        .formula = pm_query_get_int(query, 1),
        .name = pm_query_get_kept(query, 3, arena),
        .most = pm_query_get_int(query, 4),
    };
    if (kind == NULL || !pm_profile_kind_from_word(kind, &row->kind))
        pm_query_damaged(query, "A ceiling");
}

enum pm_status pm_ceiling_list(struct pm_library *library, struct pm_ceilings *out,
                               struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_CEILING_LIST);
    return pm_query_list(&query, read_row, out, err);
}

/* The row that stands there, or the next free number. */
static enum pm_status find_id(struct pm_library *library, struct pm_ceiling *row,
                              struct pm_error *err)
{
    struct pm_query query;
    bool found = false;
    pm_query_open(&query, library, PM_SQL_CEILING_NAMED);
    pm_query_int(&query, row->formula);
    pm_query_text(&query, pm_profile_kind_word(row->kind));
    pm_query_folded(&query, row->name);
    const enum pm_status status = pm_query_one(&query, &row->id, &found, err);
    return status != PM_OK || found ? status
                                    : pm_store_next_id(library, PM_SQL_CEILING_NEXT, &row->id, err);
}

static enum pm_status put(struct pm_library *library, struct pm_ceiling *row, struct pm_error *err)
{
    struct pm_query query;
    enum pm_status status = find_id(library, row, err);
    if (status != PM_OK)
        return status;
    pm_query_open(&query, library, PM_SQL_CEILING_PUT);
    pm_query_int(&query, row->id);
    pm_query_key(&query, row->formula);
    pm_query_text(&query, pm_profile_kind_word(row->kind));
    pm_query_text(&query, row->name);
    pm_query_folded(&query, row->name);
    pm_query_int(&query, row->most);
    pm_query_int(&query, pm_library_now(library));
    return pm_query_run(&query, err);
}

enum pm_status pm_ceiling_put(struct pm_library *library, struct pm_ceiling *row,
                              struct pm_error *err)
{
    const enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    return pm_library_finish(library, put(library, row, err), err);
}

enum pm_status pm_ceiling_delete(struct pm_library *library, int64_t id, struct pm_error *err)
{
    return pm_store_change(library, PM_SQL_CEILING_DELETE, id, err);
}
