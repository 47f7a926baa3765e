/* SPDX-License-Identifier: MIT */
/*
 * JSON documents of parts of a library: each begins with what it is,
 *
 *     {"permille": {"document": "shelf", "version": 1}, "materials": [...], ...}
 *
 * which may be left out by whoever writes one by hand. (A whole library's: store/document.h.)
 */
#ifndef PERMILLE_STUDIO_DOCUMENTS_H
#define PERMILLE_STUDIO_DOCUMENTS_H

#include "permille/base/json.h"
#include "permille/base/json_read.h"

enum { PM_DOCUMENT_VERSION = 1 };

/* An object, or an array of them; "[1 % in ethanol]" begins no document. */
bool pm_is_document(const char *text, size_t length);
/* Whether its head says that it is of that kind. */
bool pm_document_says(const char *text, size_t length, const char *kind);
/* By its head, or by a first member that only a shelf has. */
bool pm_is_shelf_document(const char *text, size_t length);

/* The first member of an object that was opened. */
void pm_document_head(struct pm_json *json, const char *kind);
/* PM_OK also without a head. PM_NEWER for a later version; PM_INVALID for another kind, or a head
 * that cannot be understood. */
enum pm_status pm_document_check(const struct pm_json_value *document, const char *kind,
                                 struct pm_error *err);

#endif
