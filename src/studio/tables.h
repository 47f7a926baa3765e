/* SPDX-License-Identifier: MIT */
/*
 * Tables of the shelf between files: shelf_document.c takes a text apart into tables, tables.c
 * brings them in.
 */
#ifndef PERMILLE_STUDIO_TABLES_H
#define PERMILLE_STUDIO_TABLES_H

#include "inside.h"

#include "permille/base/csv.h"
#include "permille/studio/shelf.h"

/* A table as CSV. */
struct pm_table_source {
    const char *text; /* borrowed */
    size_t length;
    const char *within;   /* "materials": the table of a document; NULL: it stands alone */
    const size_t *places; /* of each row in what the person wrote: the line, or the row of a
                             document, from 1; NULL: as it stands in the text. Borrowed */
};

/* The tables of a text: itself, or of a JSON document of the shelf all it holds, as CSV. */
enum { PM_SHELF_TABLES = 3 };
struct pm_shelf_document {
    struct pm_table_source sources[PM_SHELF_TABLES];
    struct pm_text texts[PM_SHELF_TABLES]; /* made for them */
    size_t count;
};
/* PM_INVALID for a document that is none of the shelf, PM_NEWER for one of a later version. Release
 * it in any case. */
enum pm_status pm_shelf_document_read(const char *text, size_t length,
                                      struct pm_shelf_document *out, struct pm_error *err);
void pm_shelf_document_release(struct pm_shelf_document *document);

enum { PM_TABLE_COLUMNS = 64 };
/* Which kind of table it is ("materials"; static) and which of its columns would be read, by its
 * header: known[PM_TABLE_COLUMNS]. PM_INVALID when it is no table of the shelf, or has too many. */
enum pm_status pm_tables_columns(const struct pm_table_source *source, const char **what,
                                 bool *known, struct pm_error *err);
/* A reader that stands behind the header. Release it in any case. */
enum pm_status pm_tables_open(struct pm_csv *csv, const char *text, size_t length,
                              struct pm_error *err);

/* Brings all tables in as one step, or with `rows` only tries to: see pm_shelf_import_try. */
enum pm_status pm_tables_import(struct pm_studio *studio, const struct pm_table_source *sources,
                                size_t count, struct pm_import_rows *rows,
                                struct pm_import_result *out, struct pm_error *err);

#endif
