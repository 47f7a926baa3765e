/* SPDX-License-Identifier: MIT */
/*
 * Writing JSON (RFC 8259): a tiny emitter that places commas itself. Numbers are given as scaled
 * integers and printed exactly; invalid UTF-8 is replaced, so the output is always valid. What a
 * terminal must not receive (controls, bidirectional controls) is written as \uXXXX escapes.
 *
 * Memory is the text's: check pm_text_ok() at the end. Misuse marks the text as failed: closing
 * with the wrong bracket, a key outside an object, a value without one inside, more than
 * PM_JSON_DEPTH levels.
 */
#ifndef PERMILLE_BASE_JSON_H
#define PERMILLE_BASE_JSON_H

#include "permille/base/text.h"

#include <stdbool.h>
#include <stdint.h>

#define PM_JSON_DEPTH 32

struct pm_json {
    struct pm_text *out; /* borrowed */
    int depth;
    char bracket[PM_JSON_DEPTH]; /* what each level was opened with */
    bool some[PM_JSON_DEPTH];    /* the level already holds a value */
    bool keyed;                  /* a key was written and waits for its value */
};

void pm_json_init(struct pm_json *json, struct pm_text *out);
void pm_json_open(struct pm_json *json, char bracket);  /* '{' or '[' */
void pm_json_close(struct pm_json *json, char bracket); /* '}' or ']' */
void pm_json_key(struct pm_json *json, const char *key);
void pm_json_string(struct pm_json *json, const char *value); /* NULL writes null */
void pm_json_int(struct pm_json *json, int64_t value);
void pm_json_decimal(struct pm_json *json, int64_t value, int scale); /* value / 10^scale, exact */
void pm_json_double(struct pm_json *json, double value);              /* not finite writes null */
void pm_json_bool(struct pm_json *json, bool value);
void pm_json_null(struct pm_json *json);
/* Key and value in one call; pm_json_put_open begins an object or an array under the key. */
void pm_json_put_open(struct pm_json *json, const char *key, char bracket);
void pm_json_put_string(struct pm_json *json, const char *key, const char *value);
void pm_json_put_int(struct pm_json *json, const char *key, int64_t value);
void pm_json_put_decimal(struct pm_json *json, const char *key, int64_t value, int scale);
/* null for less than nothing, which is unknown */
void pm_json_put_known(struct pm_json *json, const char *key, int64_t value, int scale);
void pm_json_put_double(struct pm_json *json, const char *key, double value);
void pm_json_put_bool(struct pm_json *json, const char *key, bool value);
void pm_json_put_null(struct pm_json *json, const char *key);

#endif
