/* SPDX-License-Identifier: MIT */
/* Inside the store: a whole library's document as a library (permille/store/document.h). */
#ifndef PERMILLE_STORE_DOCUMENT_INSIDE_H
#define PERMILLE_STORE_DOCUMENT_INSIDE_H

#include "store.h"

#include "permille/base/json_read.h"

/* A library in memory, at the newest step; it takes what opening takes from `beside`, also who
 * looks on. Not verified. */
enum pm_status pm_document_open_copy(const struct pm_json_value *document,
                                     const struct pm_library *beside, struct pm_library **out,
                                     struct pm_error *err);

#endif
