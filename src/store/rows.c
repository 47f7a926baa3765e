/* SPDX-License-Identifier: MIT */
/*
 * What the rows of every table share: their numbers, how one is added, changed, found by its name.
 */
#include "store.h"

enum pm_status pm_store_next_id(struct pm_library *library, enum pm_sql which, int64_t *out,
                                struct pm_error *err)
{
    struct pm_query query;
    int64_t largest = 0;
    pm_query_open(&query, library, which);
    enum pm_status status = pm_query_one(&query, &largest, NULL, err);
    if (status == PM_OK && largest == INT64_MAX)
        status = pm_fail(err, PM_DAMAGED,
                         "A row of the file has the largest number there is, so no other can "
                         "follow it.");
    if (status == PM_OK)
        *out = largest + 1;
    return status;
}

enum pm_status pm_store_insert(struct pm_library *library, const struct pm_addition *addition,
                               const void *row, int64_t *id, struct pm_error *err)
{
    struct pm_query query;
    int64_t next = 0;
    enum pm_status status = pm_store_next_id(library, addition->next, &next, err);
    if (status != PM_OK)
        return status;
    pm_query_open(&query, library, addition->insert);
    pm_query_int(&query, next);
    addition->bind(&query, row);
    status = pm_query_run(&query, err);
    if (status == PM_OK)
        *id = next;
    return status;
}

enum pm_status pm_store_add(struct pm_library *library, const struct pm_addition *addition,
                            const void *row, int64_t *id, struct pm_error *err)
{
    int64_t made = 0;
    enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    status = pm_library_finish(library, pm_store_insert(library, addition, row, &made, err), err);
    if (status == PM_OK && id != NULL)
        *id = made;
    return status;
}

enum pm_status pm_store_change(struct pm_library *library, enum pm_sql which, int64_t id,
                               struct pm_error *err)
{
    struct pm_query query;
    enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    pm_query_open(&query, library, which);
    pm_query_int(&query, id);
    return pm_library_finish(library, pm_query_run(&query, err), err);
}

enum pm_status pm_store_named(struct pm_library *library, enum pm_sql which, const char *name,
                              int64_t *id, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, which);
    pm_query_folded(&query, name);
    return pm_query_one(&query, id, NULL, err);
}
