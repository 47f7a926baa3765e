/* SPDX-License-Identifier: MIT */
/*
 * Comma-separated values after RFC 4180: reading (also LF line ends, a UTF-8 byte order mark, and
 * ';' or a tab as separator when the first record holds more of them than ',') and writing (CRLF,
 * quotes where needed).
 *
 * Spreadsheets take a field that begins with = + - @ for a formula, also a quoted one, and would
 * run what somebody else wrote into a name. Such a field is written with an apostrophe before it,
 * plain numbers excepted, and read without it (common practice, no source); what is written reads
 * back the same.
 */
#ifndef PERMILLE_BASE_CSV_H
#define PERMILLE_BASE_CSV_H

#include "permille/base/status.h"
#include "permille/base/text.h"

#include <stdbool.h>
#include <stddef.h>

struct pm_csv {
    const char *data; /* borrowed; must outlive the reader */
    size_t length;
    size_t offset;
    size_t line;      /* 1-based line where the last record began */
    size_t next_line; /* 1-based line of offset */
    char separator;
    char **fields; /* of the last record; owned by the reader, valid until the next call */
    size_t count, capacity;
    struct pm_text buffer;
};

/* Stands before the first record of `data` (`length` bytes, no NUL needed at the end), behind a
 * first line that begins with '#' and so is only a remark; chooses the separator. Cannot fail.
 * pm_csv_release frees what the reader owns, not the data. */
void pm_csv_init(struct pm_csv *csv, const char *data, size_t length);
void pm_csv_release(struct pm_csv *csv);
/* Reads the next record into fields/count. *more is false at the end. A stray quote, bytes that are
 * not UTF-8, a NUL byte, a lone carriage return, or an unclosed quote is PM_INVALID naming line and
 * column. Empty lines are passed over. After a failure count is 0 and the reader still stands
 * before that record. */
enum pm_status pm_csv_next(struct pm_csv *csv, bool *more, struct pm_error *err);
/* Index of the named column in the last record read (a header), or -1. Case and accents ignored. */
int pm_csv_column(const struct pm_csv *csv, const char *name);
/* Appends one field; `first` when it starts a record. pm_csv_end ends the record; one without
 * fields or with a single empty one is written as "" so that a reader does not pass over it. */
void pm_csv_field(struct pm_text *out, const char *value, bool first);
void pm_csv_end(struct pm_text *out);
/* Appends a field of text for a clipboard: a tab before it unless `first`, no quotes; what would
 * end the field becomes a blank, and formulas get their apostrophe. */
void pm_tsv_field(struct pm_text *out, const char *value, bool first);

#endif
