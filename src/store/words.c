/* SPDX-License-Identifier: MIT */
/*
 * Small things that formulas, materials and their search share: matching words, kinds, the next id.
 */
#include "permille/store/materials.h"
#include "store.h"

#include "permille/base/text.h"
#include "permille/base/word.h"

#include <string.h>

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
