/* SPDX-License-Identifier: MIT */
/*
 * Writing the blocks of folded names that the search of materials reads (search_blocks.h).
 */
#include "search_blocks.h"
#include "store.h"

#include "permille/base/mem.h"
#include "permille/base/text.h"

#include <stdlib.h>
#include <string.h>

static int compare_blocks(const void *left, const void *right)
{
    const int64_t a = *(const int64_t *)left, b = *(const int64_t *)right;
    return (a > b) - (a < b);
}

/* Folded text comes without control characters; should one stand in it all the same, it must not
 * end a field. */
static void add_field(struct pm_text *out, const char *folded)
{
    const size_t start = out->length + 1;
    pm_text_add_char(out, '\t');
    pm_text_add(out, folded);
    for (size_t i = start; i < out->length; i++)
        if ((unsigned char)out->data[i] < 0x20)
            out->data[i] = ' ';
}

static void end_entry(struct pm_text *out, const char *cas)
{
    add_field(out, cas);
    pm_text_add_char(out, '\n');
}

/* The block as it follows from the materials' rows. */
static enum pm_status build_block(struct pm_library *library, int64_t block, struct pm_text *out,
                                  struct pm_error *err)
{
    struct pm_query query;
    int64_t current = 0;
    char cas[32] = "";
    pm_query_open(&query, library, PM_SQL_SEARCH_FACTS);
    pm_query_int(&query, block * PM_BLOCK);
    pm_query_int(&query, (block + 1) * PM_BLOCK);
    while (pm_query_row(&query)) {
        int64_t id = pm_query_get_int(&query, 0);
        if (id != current) {
            if (current != 0)
                end_entry(out, cas);
            int64_t slot = id % PM_BLOCK;
            const char *number = pm_query_get_text(&query, 2);
            pm_text_add_char(out, (char)(PM_HEAD_BYTE + slot / 8));
            pm_text_add_char(out, (char)(PM_HEAD_BYTE + slot % 8));
            pm_text_add_char(out, (char)(PM_HEAD_BYTE + (pm_query_get_int(&query, 1) != 0)));
            cas[0] = '\0';
            strncat(cas, number == NULL ? "" : number, sizeof cas - 1);
            current = id;
        }
        const char *folded = pm_query_get_text(&query, 3);
        add_field(out, folded == NULL ? "" : folded);
    }
    if (current != 0)
        end_entry(out, cas);
    enum pm_status status = pm_query_close(&query, err);
    return status == PM_OK && !pm_text_ok(out) ? pm_fail_memory(err) : status;
}

static enum pm_status write_block(struct pm_library *library, int64_t block, struct pm_error *err)
{
    struct pm_text entries = PM_TEXT_EMPTY;
    enum pm_status status = build_block(library, block, &entries, err);
    if (status == PM_OK) {
        struct pm_query query;
        bool empty = entries.length == 0;
        pm_query_open(&query, library, empty ? PM_SQL_SEARCH_DROP : PM_SQL_SEARCH_PUT);
        pm_query_int(&query, block);
        if (!empty)
            pm_query_blob(&query, pm_text_get(&entries), entries.length);
        status = pm_query_run(&query, err);
    }
    pm_text_release(&entries);
    return status;
}

enum pm_status pm_search_refresh(struct pm_library *library, int64_t material, struct pm_error *err)
{
    struct pm_stale *stale = &library->stale;
    const int64_t block = material / PM_BLOCK;
    if (library->depth == 0)
        return write_block(library, block, err);
    stale->written = false;
    if (stale->count > 0 && stale->blocks[stale->count - 1] == block)
        return PM_OK;
    if (!pm_grow(&stale->blocks, &stale->capacity, stale->count + 1, sizeof *stale->blocks))
        return pm_fail_memory(err);
    stale->blocks[stale->count++] = block;
    return PM_OK;
}

enum pm_status pm_search_settle(struct pm_library *library, struct pm_error *err)
{
    struct pm_stale *stale = &library->stale;
    enum pm_status status = PM_OK;
    if (stale->written)
        return PM_OK;
    if (stale->count > 1)
        qsort(stale->blocks, stale->count, sizeof *stale->blocks, compare_blocks);
    for (size_t i = 0; status == PM_OK && i < stale->count; i++)
        if (i == 0 || stale->blocks[i] != stale->blocks[i - 1])
            status = write_block(library, stale->blocks[i], err);
    stale->written = status == PM_OK;
    return status;
}

void pm_search_forget(struct pm_library *library)
{
    library->stale.count = 0;
    library->stale.written = false;
}

static enum pm_status check_block(struct pm_library *library, int64_t block, bool *sound,
                                  struct pm_error *err)
{
    struct pm_text entries = PM_TEXT_EMPTY;
    enum pm_status status = build_block(library, block, &entries, err);
    if (status == PM_OK) {
        struct pm_query query;
        pm_query_open(&query, library, PM_SQL_SEARCH_GET);
        pm_query_int(&query, block);
        size_t length = 0;
        const void *kept = NULL;
        if (pm_query_row(&query)) {
            kept = sqlite3_column_blob(query.statement, 0);
            length = (size_t)sqlite3_column_bytes(query.statement, 0);
        }
        if (length != entries.length ||
            (length > 0 && memcmp(kept, pm_text_get(&entries), length) != 0))
            *sound = false;
        status = pm_query_close(&query, err);
    }
    pm_text_release(&entries);
    return status;
}

enum pm_status pm_search_check(struct pm_library *library, bool *sound, struct pm_error *err)
{
    struct pm_query query;
    enum pm_status status = pm_search_settle(library, err);
    if (status != PM_OK)
        return status;
    pm_query_open(&query, library, PM_SQL_SEARCH_NUMBERS);
    while (status == PM_OK && pm_query_row(&query))
        status = check_block(library, pm_query_get_int(&query, 0), sound, err);
    enum pm_status listed = pm_query_close(&query, status == PM_OK ? err : NULL);
    return status == PM_OK ? listed : status;
}
