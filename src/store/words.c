/* SPDX-License-Identifier: MIT */
/*
 * Small things that formulas, materials and their search share: matching words, lists of numbers.
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
