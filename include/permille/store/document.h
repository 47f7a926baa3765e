/* SPDX-License-Identifier: MIT */
/*
 * The whole library as one JSON document, and back: a copy that can be read without this program
 * and comes in again row for row (schema/json/library.schema.json).
 *
 *     {"permille": {"document": "library", "version": 1, "step": 7},
 *      "tables": {"bottle": [{"id": 1, "material": 12, ...}, ...], ...}}
 *
 * Tables and columns are those of schema/, as the file itself describes them: whatever a later step
 * adds is in the document without a word here. Left out is what is made from the rest (the search
 * table) or about the file alone (the row of `library`). NULLs are left out. Whole numbers beyond
 * 2^53 stand as strings, since others would round them (RFC 8259, section 6).
 */
#ifndef PERMILLE_STORE_DOCUMENT_H
#define PERMILLE_STORE_DOCUMENT_H

#include "permille/base/json_read.h"
#include "permille/base/text.h"
#include "permille/store/library.h"

/* Appends the document to `out`. */
enum pm_status pm_library_write_document(struct pm_library *library, struct pm_text *out,
                                         struct pm_error *err);

/* The same of the library at path, brought up to this program's step on the way; its file is only
 * read. Statuses as pm_library_open. */
enum pm_status pm_library_write_other(struct pm_library *beside, const char *path,
                                      struct pm_text *out, struct pm_error *err);

/*
 * Fills an empty library with it, in one transaction, and verifies it (pm_library_verify) before it
 * is committed. A document of an earlier step is brought up to date on the way. PM_REFUSED when the
 * library holds anything but settings; PM_NEWER; PM_INVALID for a document that is not whole,
 * naming table and row; PM_DAMAGED when its rows contradict each other or their checksums.
 */
enum pm_status pm_library_read_document(struct pm_library *library,
                                        const struct pm_json_value *document, struct pm_error *err);
/* Whether it holds nothing but settings. */
enum pm_status pm_library_is_empty(struct pm_library *library, bool *empty, struct pm_error *err);

#endif
