/* SPDX-License-Identifier: MIT */
/*
 * Rows of facts and constituents, and the tables that came with the program.
 */
#include "permille/store/facts.h"
#include "embedded.h"
#include "store.h"

#include "permille/base/word.h"

#include <string.h>

static const char *const origins[] = {[PM_OWN] = "own", [PM_STARTER] = "starter"};
static const char *const confidences[] = {
    [PM_CHECKED] = "checked", [PM_FROM_MEMORY] = "memory", [PM_OWN_WORD] = "own"};

static bool origin_from_word(const char *word, enum pm_origin *out)
{
    const int place = pm_word_place(origins, sizeof origins / sizeof origins[0], word);
    if (place >= 0)
        *out = (enum pm_origin)place;
    return place >= 0;
}

static bool confidence_from_word(const char *word, enum pm_confidence *out)
{
    const int place = pm_word_place(confidences, sizeof confidences / sizeof confidences[0], word);
    if (place >= 0)
        *out = (enum pm_confidence)place;
    return place >= 0;
}

static void mark_damaged(struct pm_query *query, int64_t material)
{
    pm_query_damaged(query, "What is known of material number %lld", (long long)material);
}

/* ---- facts ---- */

enum pm_status pm_fact_put(struct pm_library *library, int64_t material, const struct pm_fact *fact,
                           struct pm_error *err)
{
    enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_FACT_PUT);
    pm_query_int(&query, material);
    pm_query_text(&query, fact->property);
    pm_query_text(&query, origins[fact->origin]);
    if (fact->is_number)
        pm_query_int(&query, fact->value);
    else
        pm_query_text(&query, NULL);
    pm_query_text(&query, fact->is_number ? NULL : fact->words);
    pm_query_text(&query, fact->source);
    pm_query_text(&query, confidences[fact->confidence]);
    return pm_library_finish(library, pm_query_run(&query, err), err);
}

enum pm_status pm_fact_remove(struct pm_library *library, int64_t material, const char *property,
                              enum pm_origin origin, struct pm_error *err)
{
    enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_FACT_REMOVE);
    pm_query_int(&query, material);
    pm_query_text(&query, property);
    pm_query_text(&query, origins[origin]);
    return pm_library_finish(library, pm_query_run(&query, err), err);
}

enum pm_status pm_fact_list(struct pm_library *library, int64_t material, struct pm_facts *out,
                            struct pm_error *err)
{
    struct pm_query query;
    struct pm_facts list = {0};
    struct pm_fact *fact;
    pm_query_open(&query, library, PM_SQL_FACT_LIST);
    pm_query_int(&query, material);
    while (pm_query_row(&query) && (fact = pm_query_add(&query, &list)) != NULL) {
        fact->property = pm_query_get_kept(&query, 0, &list.arena);
        fact->is_number = pm_query_get_int(&query, 6) != 0;
        fact->value = pm_query_get_int(&query, 2);
        fact->words = pm_query_get_kept(&query, 3, &list.arena);
        fact->source = pm_query_get_kept(&query, 4, &list.arena);
        if (fact->property == NULL ||
            !origin_from_word(pm_query_get_text(&query, 1), &fact->origin) ||
            !confidence_from_word(pm_query_get_text(&query, 5), &fact->confidence) ||
            (!fact->is_number && fact->words == NULL))
            mark_damaged(&query, material);
    }
    const enum pm_status status = pm_query_close(&query, err);
    pm_list_give(&list, status, out);
    return status;
}

enum pm_status pm_fact_value(struct pm_library *library, int64_t material, const char *property,
                             int64_t *value, bool *found, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_FACT_VALUE);
    pm_query_int(&query, material);
    pm_query_text(&query, property);
    return pm_query_one(&query, value, found, err);
}

/* ---- substances ---- */

static void bind_substance(struct pm_query *query, const void *name)
{
    pm_query_text(query, name);
    pm_query_folded(query, name);
}

static enum pm_status find_cas(struct pm_library *library, const char *cas, int64_t *id,
                               struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_SUBSTANCE_BY_CAS);
    pm_query_text(&query, cas);
    return pm_query_one(&query, id, NULL, err);
}

static enum pm_status add_cas(struct pm_library *library, int64_t id, const char *cas,
                              struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_SUBSTANCE_CAS);
    pm_query_int(&query, id);
    pm_query_text(&query, cas);
    return pm_query_run(&query, err);
}

/* A substance is known by its name; by a CAS number only where one substance alone has it, since
 * several may share one. *id is 0 when there is none. cas may be NULL. */
static enum pm_status find_substance(struct pm_library *library, const char *name, const char *cas,
                                     int64_t *id, struct pm_error *err)
{
    int64_t found = 0;
    enum pm_status status = pm_store_named(library, PM_SQL_SUBSTANCE_BY_NAME, name, &found, err);
    if (status == PM_OK && found == 0 && cas != NULL)
        status = find_cas(library, cas, &found, err);
    if (status == PM_OK)
        *id = found;
    return status;
}

/* The same, made where there is none; the number is noted as one of its. */
static enum pm_status substance_of(struct pm_library *library, const char *name, const char *cas,
                                   int64_t *id, struct pm_error *err)
{
    static const struct pm_addition addition = {PM_SQL_SUBSTANCE_NEXT, PM_SQL_SUBSTANCE_INSERT,
                                                bind_substance};
    int64_t found = 0;
    enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    status = find_substance(library, name, cas, &found, err);
    if (status == PM_OK && found == 0)
        status = pm_store_insert(library, &addition, name, &found, err);
    if (status == PM_OK && cas != NULL)
        status = add_cas(library, found, cas, err);
    status = pm_library_finish(library, status, err);
    if (status == PM_OK)
        *id = found;
    return status;
}

/* ---- constituents ---- */

static enum pm_status clear_constituents(struct pm_library *library, int64_t material,
                                         enum pm_origin origin, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_CONSTITUENTS_CLEAR);
    pm_query_int(&query, material);
    pm_query_text(&query, origins[origin]);
    return pm_query_run(&query, err);
}

enum pm_status pm_constituents_put(struct pm_library *library, int64_t material,
                                   enum pm_origin origin, const struct pm_constituent *items,
                                   size_t count, struct pm_error *err)
{
    enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    status = clear_constituents(library, material, origin, err);
    for (size_t i = 0; status == PM_OK && i < count; i++) {
        struct pm_query query;
        int64_t substance = 0;
        status = substance_of(library, items[i].name, items[i].cas, &substance, err);
        if (status != PM_OK)
            break;
        pm_query_open(&query, library, PM_SQL_CONSTITUENT_INSERT);
        pm_query_int(&query, material);
        pm_query_text(&query, origins[origin]);
        pm_query_int(&query, (int64_t)i);
        pm_query_int(&query, substance);
        pm_query_known(&query, items[i].least);
        pm_query_known(&query, items[i].typical);
        pm_query_known(&query, items[i].most);
        pm_query_text(&query, items[i].source);
        pm_query_text(&query, confidences[items[i].confidence]);
        status = pm_query_run(&query, err);
    }
    return pm_library_finish(library, status, err);
}

enum pm_status pm_constituents_list(struct pm_library *library, int64_t material,
                                    struct pm_constituents *out, struct pm_error *err)
{
    struct pm_query query;
    struct pm_constituents list = {0};
    struct pm_constituent *item;
    pm_query_open(&query, library, PM_SQL_CONSTITUENTS_LIST);
    pm_query_int(&query, material);
    while (pm_query_row(&query) && (item = pm_query_add(&query, &list)) != NULL) {
        item->name = pm_query_get_kept(&query, 1, &list.arena);
        item->cas = pm_query_get_kept(&query, 2, &list.arena);
        item->least = pm_query_get_int(&query, 3);
        item->typical = pm_query_get_int(&query, 4);
        item->most = pm_query_get_int(&query, 5);
        item->source = pm_query_get_kept(&query, 6, &list.arena);
        item->substance = pm_query_get_int(&query, 8);
        if (item->name == NULL || !origin_from_word(pm_query_get_text(&query, 0), &item->origin) ||
            !confidence_from_word(pm_query_get_text(&query, 7), &item->confidence))
            mark_damaged(&query, material);
    }
    const enum pm_status status = pm_query_close(&query, err);
    pm_list_give(&list, status, out);
    return status;
}

/* ---- the starter set ---- */

const char *pm_reference_table(const char *name, size_t *length)
{
    static const char folder[] = "reference/";
    for (const struct pm_embedded *file = pm_embedded_files; file->name != NULL; file++) {
        if (strncmp(file->name, folder, sizeof folder - 1) == 0 &&
            strcmp(file->name + sizeof folder - 1, name) == 0) {
            *length = file->length;
            return (const char *)file->data;
        }
    }
    *length = 0;
    return NULL;
}

enum pm_status pm_starter_clear(struct pm_library *library, int64_t material, struct pm_error *err)
{
    enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    status = pm_store_change(library, PM_SQL_STARTER_CLEAR_FACTS, material, err);
    if (status == PM_OK)
        status = pm_store_change(library, PM_SQL_STARTER_CLEAR_CONSTITUENTS, material, err);
    return pm_library_finish(library, status, err);
}

enum pm_status pm_starter_find(struct pm_library *library, const char *name, int64_t *material,
                               struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_STARTER_FIND);
    pm_query_text(&query, name);
    return pm_query_one(&query, material, NULL, err);
}

enum pm_status pm_starter_any(struct pm_library *library, bool *any, struct pm_error *err)
{
    struct pm_query query;
    int64_t material = 0;
    pm_query_open(&query, library, PM_SQL_STARTER_ANY);
    enum pm_status status = pm_query_one(&query, &material, NULL, err);
    if (status == PM_OK)
        *any = material != 0;
    return status;
}

enum pm_status pm_starter_link(struct pm_library *library, const char *name, int64_t material,
                               struct pm_error *err)
{
    enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_STARTER_LINK);
    pm_query_text(&query, name);
    pm_query_int(&query, material);
    return pm_library_finish(library, pm_query_run(&query, err), err);
}
