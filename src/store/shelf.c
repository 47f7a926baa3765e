/* SPDX-License-Identifier: MIT */
/*
 * What the shelf holds of its materials, rates of exchange.
 */
#include "permille/store/shelf.h"
#include "permille/store/facts.h"
#include "store.h"

#include "permille/base/text.h"

#include <string.h>

/* ---- holdings ---- */

enum pm_status pm_holdings_list(struct pm_library *library, const int64_t *materials, size_t count,
                                pm_day today, struct pm_holdings *out, struct pm_error *err)
{
    struct pm_query query;
    struct pm_holdings list = {0};
    struct pm_text ids = PM_TEXT_EMPTY;
    pm_store_ids(materials, count, &ids);
    if (!pm_text_ok(&ids)) {
        pm_text_release(&ids);
        return pm_fail_memory(err);
    }
    pm_query_open(&query, library, PM_SQL_HOLDINGS);
    pm_query_text(&query, pm_text_get(&ids));
    pm_query_day(&query, today);
    while (pm_query_row(&query)) {
        struct pm_holding *holding = pm_query_add(&query, &list);
        if (holding != NULL)
            *holding = (struct pm_holding){.material = pm_query_get_int(&query, 0),
                                           .bottles = pm_query_get_int(&query, 1),
                                           .poured = pm_query_get_int(&query, 2),
                                           .neat = pm_query_get_int(&query, 3),
                                           .old = pm_query_get_int(&query, 4),
                                           .level = pm_query_get_int(&query, 5),
                                           .rating = pm_query_get_int(&query, 6)};
    }
    const enum pm_status status = pm_query_close(&query, err);
    pm_text_release(&ids);
    pm_list_give(&list, status, out);
    return status;
}

static enum pm_status add_ids(struct pm_query *query, struct pm_ids *list, struct pm_error *err)
{
    while (pm_query_row(query)) {
        int64_t *id = pm_query_add(query, list);
        if (id != NULL)
            *id = pm_query_get_int(query, 0);
    }
    return pm_query_close(query, err);
}

enum pm_status pm_holding_list(struct pm_library *library, enum pm_holding_filter filter,
                               pm_day today, struct pm_ids *list, struct pm_error *err)
{
    static const enum pm_sql which[] = {
        [PM_HOLDING_HAVE] = PM_SQL_HOLDING_HAVE,
        [PM_HOLDING_LOW] = PM_SQL_HOLDING_LOW,
        [PM_HOLDING_OLD] = PM_SQL_HOLDING_OLD,
    };
    struct pm_query query;
    pm_query_open(&query, library, which[filter]);
    if (filter == PM_HOLDING_OLD)
        pm_query_day(&query, today);
    return add_ids(&query, list, err);
}

enum pm_status pm_family_list(struct pm_library *library, const char *family, struct pm_ids *list,
                              struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_FAMILY_LIST);
    pm_query_text(&query, family);
    return add_ids(&query, list, err);
}

enum pm_status pm_family_names(struct pm_library *library, struct pm_families *out,
                               struct pm_error *err)
{
    struct pm_query query;
    struct pm_families list = {0};
    pm_query_open(&query, library, PM_SQL_FAMILY_NAMES);
    while (pm_query_row(&query)) {
        struct pm_family *family = pm_query_add(&query, &list);
        if (family == NULL)
            break;
        family->name = pm_query_get_kept(&query, 0, &list.arena);
        family->materials = pm_query_get_int(&query, 1);
    }
    const enum pm_status status = pm_query_close(&query, err);
    pm_list_give(&list, status, out);
    return status;
}

/* ---- rates ---- */

enum pm_status pm_rate_insert(struct pm_library *library, const struct pm_rate *rate,
                              struct pm_error *err)
{
    int64_t next = 0;
    enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    status = pm_store_next_id(library, PM_SQL_RATE_NEXT, &next, err);
    if (status == PM_OK) {
        struct pm_query query;
        pm_query_open(&query, library, PM_SQL_RATE_INSERT);
        pm_query_int(&query, next);
        pm_query_text(&query, rate->currency);
        pm_query_text(&query, rate->other);
        pm_query_int(&query, rate->rate);
        pm_query_int(&query, rate->day);
        pm_query_int(&query, pm_library_now(library));
        status = pm_query_run(&query, err);
    }
    return pm_library_finish(library, status, err);
}

enum pm_status pm_rate_get(struct pm_library *library, const char *currency, const char *other,
                           pm_day day, struct pm_rate *out, struct pm_error *err)
{
    struct pm_query query;
    struct pm_rate rate = {.rate = 0};
    pm_query_open(&query, library, PM_SQL_RATE_GET);
    pm_query_text(&query, currency);
    pm_query_text(&query, other);
    pm_query_int(&query, day);
    if (pm_query_row(&query)) {
        rate.rate = pm_query_get_int(&query, 0);
        rate.day = pm_query_get_int(&query, 1);
    }
    enum pm_status status = pm_query_close(&query, err);
    if (status == PM_OK) {
        strncpy(rate.currency, currency, sizeof rate.currency - 1);
        strncpy(rate.other, other, sizeof rate.other - 1);
        *out = rate;
    }
    return status;
}

enum pm_status pm_rate_list(struct pm_library *library, struct pm_rates *out, struct pm_error *err)
{
    struct pm_query query;
    struct pm_rates list = {0};
    pm_query_open(&query, library, PM_SQL_RATE_LIST);
    while (pm_query_row(&query)) {
        struct pm_rate *rate = pm_query_add(&query, &list);
        if (rate == NULL)
            break;
        rate->rate = pm_query_get_int(&query, 2);
        rate->day = pm_query_get_int(&query, 3);
        pm_query_get_currency(&query, 0, rate->currency);
        pm_query_get_currency(&query, 1, rate->other);
    }
    const enum pm_status status = pm_query_close(&query, err);
    pm_list_give(&list, status, out);
    return status;
}
