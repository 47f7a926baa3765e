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
        if (strcmp(vectors->csv.fields[TOPIC], vectors->topic) == 0) {
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

double vector_number(const char *pairs, const char *key)
{
    const char *text = vector_text(pairs, key);
    char *end;
    double number = strtod(text, &end);

    return *end == '/' ? number / strtod(end + 1, NULL) : number;
}
