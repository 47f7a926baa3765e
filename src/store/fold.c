/* SPDX-License-Identifier: MIT */
/* Names folded for comparing, here and in SQL (store.h). */
#include "store.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"

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
