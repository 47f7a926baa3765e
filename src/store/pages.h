/* SPDX-License-Identifier: MIT */
/*
 * Rows as they lie in the pages of an SQLite file, read without SQLite: whatever the header, the
 * schema or the pages above say or have lost, a leaf page that is there gives its rows. Which table
 * a row belongs to is not known here.
 *
 * After "Database File Format", https://www.sqlite.org/fileformat2.html, sections 1.6 and 2.1.
 */
#ifndef PERMILLE_STORE_PAGES_H
#define PERMILLE_STORE_PAGES_H

#include "permille/base/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum { PM_PAGES_COLUMNS = 64 }; /* of a row; one with more is passed over */

enum pm_found_kind { PM_FOUND_NULL, PM_FOUND_INTEGER, PM_FOUND_REAL, PM_FOUND_TEXT, PM_FOUND_BLOB };

struct pm_found_value {
    enum pm_found_kind kind;
    int64_t number;
    double real;
    const unsigned char *data; /* text and blob; borrowed until the next row */
    size_t length;
};

struct pm_found_row {
    uint32_t page;  /* the first is 1; all rows of a page are of one table or index */
    bool has_rowid; /* of a table with rowids; otherwise of one without, or of an index */
    int64_t rowid;
    size_t count; /* 0: there is a row, but it cannot be read */
    struct pm_found_value values[PM_PAGES_COLUMNS];
};

/* Any status but PM_OK ends the reading. */
typedef enum pm_status pm_found_visit(void *context, const struct pm_found_row *row,
                                      struct pm_error *err);

struct pm_pages {
    int file;
    size_t size;         /* of a page, found by looking at them */
    uint32_t count;      /* of pages; what is left over at the end counts as one */
    int64_t version;     /* user_version as the header says; it may lie */
    unsigned char *page; /* owned */
    unsigned char *used; /* owned; a flag for each page: it holds the rest of a long row */
    struct pm_row_space *space;
};

/* PM_MISSING, PM_IO, PM_NOMEM; PM_FOREIGN when no page of it holds rows. */
enum pm_status pm_pages_open(const char *path, struct pm_pages *out, struct pm_error *err);
void pm_pages_close(struct pm_pages *pages);

/* Every row of every page in turn. *lost receives how many pages are neither rows nor anything else
 * that is known; one that the disk does not give is among them. */
enum pm_status pm_pages_each(struct pm_pages *pages, pm_found_visit *visit, void *context,
                             int64_t *lost, struct pm_error *err);

#endif
