/* SPDX-License-Identifier: MIT */
/*
 * Check vectors: the rows of check-vectors.csv, published or exactly computed values with their
 * sources. The file is looked for in the folder PERMILLE_TEST_DATA names, by default tests/data.
 * What cannot be read fails the test.
 */
#ifndef PERMILLE_TESTS_VECTORS_H
#define PERMILLE_TESTS_VECTORS_H

#include "permille/base/csv.h"

struct vectors {
    char *data;
    struct pm_csv csv;
    const char *topic; /* borrowed; NULL: all of them */
    size_t rows;       /* of the topic so far */
};

enum { ID, TOPIC, INPUT, EXPECTED, TOLERANCE, SOURCE, CONFIDENCE, COLUMNS };

/* topic: NULL for every row there is. */
void vectors_open(struct vectors *vectors, const char *topic);
/* The fields of the topic's next row, or NULL. */
char **vectors_next(struct vectors *vectors);
/* rows: how many the topic has; a test that met fewer has not tested them. */
void vectors_close(struct vectors *vectors, size_t rows);
/* check() for each of the rows of a topic, of which there must be so many. */
void vectors_each(const char *topic, size_t rows, void (*check)(char **row));
/* A column of one row, named by topic and id, into buf[size]. */
void vectors_find(const char *topic, const char *id, int column, char *buf, size_t size);

/* What stands behind "key=" in "key=value;key=value", to the end of the string. */
const char *vector_text(const char *pairs, const char *key);
/* The same as a number, also one written as a fraction "1/3". */
double vector_number(const char *pairs, const char *key);
/* Numbers separated by commas, at most `most`, also fractions; how many. */
size_t vector_list(const char *text, double *out, size_t most);

#endif
