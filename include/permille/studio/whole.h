/* SPDX-License-Identifier: MIT */
/*
 * The whole library as one JSON document, out and into an empty one (store/document.h says what it
 * holds).
 */
#ifndef PERMILLE_STUDIO_WHOLE_H
#define PERMILLE_STUDIO_WHOLE_H

#include "permille/base/text.h"
#include "permille/studio/studio.h"

/* What a file is that a person wants to bring in. */
enum pm_source {
    PM_SOURCE_FORMULAS, /* studio/bringing.h */
    PM_SOURCE_TABLE,    /* materials, bottles, movements: pm_shelf_import */
    PM_SOURCE_WHOLE,    /* a document of a whole library */
    PM_SOURCE_LIBRARY   /* a library's file itself */
};
enum pm_source pm_source_of(const char *text, size_t length);

/* Appends the document. */
enum pm_status pm_studio_write_whole(struct pm_studio *studio, struct pm_text *out,
                                     struct pm_error *err);
/* The same of the library at path, which is only read and need not be at this program's step. */
enum pm_status pm_studio_write_other(struct pm_studio *studio, const char *path,
                                     struct pm_text *out, struct pm_error *err);
/* Whether it holds nothing but settings. */
enum pm_status pm_studio_is_empty(struct pm_studio *studio, bool *empty, struct pm_error *err);
/* Fills an empty library, in one transaction; PM_REFUSED when it holds something. Statuses as
 * pm_library_read_document. */
enum pm_status pm_studio_read_whole(struct pm_studio *studio, const char *text, size_t length,
                                    struct pm_error *err);

#endif
