/* SPDX-License-Identifier: MIT */
/* Reading check-vectors.csv. */
#include "tests/unit/vectors.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

void vectors_open(struct vectors *vectors, const char *topic)
{
    const char *folder = getenv("PERMILLE_TEST_DATA");
    char path[4096];
    snprintf(path, sizeof path, "%s/check-vectors.csv", folder != NULL ? folder : "tests/data");
    FILE *file = fopen(path, "rb");
    if (file == NULL)
        fail_msg("cannot read %s", path);
    assert_int_equal(fseek(file, 0, SEEK_END), 0);
    size_t length = (size_t)ftell(file);
    rewind(file);
    vectors->data = malloc(length + 1);
    assert_non_null(vectors->data);
    assert_int_equal(fread(vectors->data, 1, length, file), length);
    fclose(file);
    pm_csv_init(&vectors->csv, vectors->data, length);
    vectors->topic = topic;
    vectors->rows = 0;
}

char **vectors_next(struct vectors *vectors)
{
    for (;;) {
        struct pm_error error;
        bool more = false;
        if (pm_csv_next(&vectors->csv, &more, &error) != PM_OK)
            fail_msg("%s", error.text);
        if (!more)
            return NULL;
        assert_int_equal(vectors->csv.count, COLUMNS);
        if (vectors->topic == NULL ? vectors->csv.line > 1
                                   : strcmp(vectors->csv.fields[TOPIC], vectors->topic) == 0) {
            vectors->rows++;
            return vectors->csv.fields;
        }
    }
}

void vectors_close(struct vectors *vectors, size_t rows)
{
    assert_int_equal(vectors->rows, rows);
    pm_csv_release(&vectors->csv);
    free(vectors->data);
}

void vectors_each(const char *topic, size_t rows, void (*check)(char **row))
{
    struct vectors vectors;
    char **row;
    vectors_open(&vectors, topic);
    while ((row = vectors_next(&vectors)) != NULL)
        check(row);
    vectors_close(&vectors, rows);
}

void vectors_find(const char *topic, const char *id, int column, char *buf, size_t size)
{
    struct vectors vectors;
    char **row;
    bool found = false;
    vectors_open(&vectors, topic);
    while ((row = vectors_next(&vectors)) != NULL)
        if (strcmp(row[ID], id) == 0) {
            assert_true((size_t)snprintf(buf, size, "%s", row[column]) < size);
            found = true;
        }
    if (!found)
        fail_msg("no row %s", id);
    vectors_close(&vectors, vectors.rows);
}

const char *vector_text(const char *pairs, const char *key)
{
    size_t length = strlen(key);

    for (const char *at = pairs; at != NULL; at = strchr(at, ';')) {
        at += *at == ';';
        if (strncmp(at, key, length) == 0 && at[length] == '=')
            return at + length + 1;
    }
    fail_msg("no %s in %s", key, pairs);
    return "";
}

/* "0.5" or "1/3"; *end behind it. */
static double number_at(const char *text, char **end)
{
    double number = strtod(text, end);
    return **end == '/' ? number / strtod(*end + 1, end) : number;
}

double vector_number(const char *pairs, const char *key)
{
    char *end;
    return number_at(vector_text(pairs, key), &end);
}

size_t vector_list(const char *text, double *out, size_t most)
{
    size_t count = 0;
    char *end;
    do {
        assert_true(count < most);
        out[count++] = number_at(text, &end);
        text = end + 1;
    } while (*end == ',');
    return count;
}
