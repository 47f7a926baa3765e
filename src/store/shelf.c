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

static void read_family(struct pm_query *query, struct pm_arena *arena, void *item)
{
    struct pm_family *family = item;
    family->name = pm_query_get_kept(query, 0, arena);
    family->materials = pm_query_get_int(query, 1);
}

enum pm_status pm_family_names(struct pm_library *library, struct pm_families *out,
                               struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_FAMILY_NAMES);
    return pm_query_list(&query, read_family, out, err);
}

/* ---- rates ---- */

static void bind_rate(struct pm_query *query, const void *row)
{
    const struct pm_rate *rate = row;
    pm_query_text(query, rate->currency);
    pm_query_text(query, rate->other);
    pm_query_int(query, rate->rate);
    pm_query_int(query, rate->day);
    pm_query_int(query, pm_library_now(query->library));
}

enum pm_status pm_rate_insert(struct pm_library *library, const struct pm_rate *rate,
                              struct pm_error *err)
{
    static const struct pm_addition addition = {PM_SQL_RATE_NEXT, PM_SQL_RATE_INSERT, bind_rate};
    return pm_store_add(library, &addition, rate, NULL, err);
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

static void read_rate(struct pm_query *query, struct pm_arena *arena, void *item)
{
    struct pm_rate *rate = item;
    (void)arena;
    rate->rate = pm_query_get_int(query, 2);
    rate->day = pm_query_get_int(query, 3);
    pm_query_get_currency(query, 0, rate->currency);
    pm_query_get_currency(query, 1, rate->other);
}

enum pm_status pm_rate_list(struct pm_library *library, struct pm_rates *out, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_RATE_LIST);
    return pm_query_list(&query, read_rate, out, err);
}
