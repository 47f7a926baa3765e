/* SPDX-License-Identifier: MIT */
/*
 * Files that travel inside the program: the migrations (schema/NAME.sql) and the reference data
 * (schema/reference/NAME.csv). The build writes the table (schema/embed).
 */
#ifndef PERMILLE_STORE_EMBEDDED_H
#define PERMILLE_STORE_EMBEDDED_H

#include <stddef.h>

struct pm_embedded {
    const char *name;          /* path below schema/: "001-library.sql", "reference/limits.csv" */
    const unsigned char *data; /* a NUL follows the last byte, so that text can be read as text */
    size_t length;             /* bytes without that NUL */
};

/* Sorted by name (byte order); ends with an entry whose name is NULL. */
extern const struct pm_embedded pm_embedded_files[];
extern const size_t pm_embedded_count; /* entries before that one */

#endif
