/* SPDX-License-Identifier: MIT */
/*
 * Small things that formulas, materials and their search share: folding, matching words, kinds, the
 * next id.
 */
#include "permille/store/materials.h"
#include "store.h"

#include "permille/base/text.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/base/word.h"

#include <string.h>

static const char *const kinds[] = {
    [PM_CHEMICAL] = "chemical",
    [PM_NATURAL] = "natural",
    [PM_SOLVENT] = "solvent",
    [PM_BLEND] = "blend",
};

const char *pm_material_kind_word(enum pm_material_kind kind)
{
    return kinds[kind];
}

bool pm_material_kind_from_word(const char *word, enum pm_material_kind *out)
{
    const int place = pm_word_place(kinds, sizeof kinds / sizeof kinds[0], word);
    if (place >= 0)
        *out = (enum pm_material_kind)place;
    return place >= 0;
}

char *pm_store_fold(const char *text)
{
    char *folded = pm_fold(text);
    if (folded != NULL && folded[0] == '\0') {
        pm_free(folded);
        folded = pm_strdup(text);
    }
    return folded;
}

/* pm_fold(text), for steps of the schema and for rows that are brought back. */
static void fold_function(sqlite3_context *context, int count, sqlite3_value **values)
{
    const char *text = count == 1 ? (const char *)sqlite3_value_text(values[0]) : NULL;
    char *folded = text == NULL ? NULL : pm_store_fold(text);
    if (folded != NULL)
        sqlite3_result_text(context, folded, -1, pm_free);
    else if (text != NULL)
        sqlite3_result_error_nomem(context);
}

int pm_fold_register(sqlite3 *db)
{
    return sqlite3_create_function_v2(db, "pm_fold", 1,
                                      SQLITE_UTF8 | SQLITE_DETERMINISTIC | SQLITE_DIRECTONLY, NULL,
                                      fold_function, NULL, NULL, NULL);
}

bool pm_store_words_in(const char *words, const char *name)
{
    while (*words != '\0') {
        size_t length = strcspn(words, " ");
        if (length > 0 && memmem(name, strlen(name), words, length) == NULL)
            return false;
        words += length;
        words += strspn(words, " ");
    }
    return true;
}

void pm_store_ids(const int64_t *ids, size_t count, struct pm_text *out)
{
    pm_text_add(out, "[");
    for (size_t i = 0; i < count; i++)
        pm_text_addf(out, "%s%lld", i > 0 ? "," : "", (long long)ids[i]);
    pm_text_add(out, "]");
}

enum pm_status pm_store_next_id(struct pm_library *library, enum pm_sql which, int64_t *out,
                                struct pm_error *err)
{
    struct pm_query query;
    int64_t largest = 0;
    pm_query_open(&query, library, which);
    enum pm_status status = pm_query_one(&query, &largest, NULL, err);
    if (status == PM_OK)
        *out = largest + 1;
    return status;
}
