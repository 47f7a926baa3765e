/* SPDX-License-Identifier: MIT */
/*
 * The whole library as a document.
 */
#include "permille/studio/whole.h"

#include "documents.h"
#include "inside.h"

#include "permille/base/json_read.h"
#include "permille/store/document.h"
#include "permille/studio/bringing.h"

#include <string.h>

#define LIBRARY_MAGIC "SQLite format 3"

enum pm_source pm_source_of(const char *text, size_t length)
{
    if (length >= sizeof LIBRARY_MAGIC && memcmp(text, LIBRARY_MAGIC, sizeof LIBRARY_MAGIC) == 0)
        return PM_SOURCE_LIBRARY;
    if (pm_document_says(text, length, "library"))
        return PM_SOURCE_WHOLE;
    return pm_bringing_is_formulas(text, length) ? PM_SOURCE_FORMULAS : PM_SOURCE_TABLE;
}

enum pm_status pm_studio_write_whole(struct pm_studio *studio, struct pm_text *out,
                                     struct pm_error *err)
{
    return pm_library_write_document(studio->library, out, err);
}

enum pm_status pm_studio_write_other(struct pm_studio *studio, const char *path,
                                     struct pm_text *out, struct pm_error *err)
{
    return pm_library_write_other(studio->library, path, out, err);
}

enum pm_status pm_studio_is_empty(struct pm_studio *studio, bool *empty, struct pm_error *err)
{
    return pm_library_is_empty(studio->library, empty, err);
}

enum pm_status pm_studio_read_whole(struct pm_studio *studio, const char *text, size_t length,
                                    struct pm_error *err)
{
    struct pm_json_value *document;
    enum pm_status status = pm_json_read(text, length, &document, err);
    if (status != PM_OK)
        return status;
    status = pm_library_read_document(studio->library, document, err);
    pm_json_free(document);
    pm_studio_drop_caches(studio);
    return status;
}
