/* SPDX-License-Identifier: MIT */
/*
 * Reading JSON (RFC 8259), whole documents at once. Parsing is jansson's: src/base/json_read.c says
 * what that gives. Values are borrowed from their document and live as long as it does.
 */
#ifndef PERMILLE_BASE_JSON_READ_H
#define PERMILLE_BASE_JSON_READ_H

#include "permille/base/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct pm_json_value;

/* PM_INVALID for what is not JSON: names line and column; also for a name that stands twice in one
 * object, a NUL within a text, a number beyond 64 bits, and nesting of more than about 2000 levels.
 * A byte order mark before the document is passed over. PM_NOMEM. */
enum pm_status pm_json_read(const char *text, size_t length, struct pm_json_value **out,
                            struct pm_error *err);
void pm_json_free(struct pm_json_value *document); /* of pm_json_read alone; NULL allowed */

/* Every call takes NULL for a value that is not there. */
bool pm_json_is_object(const struct pm_json_value *value);
bool pm_json_is_array(const struct pm_json_value *value);
/* NULL when there is no such member, or it is null, or `value` is no object. */
const struct pm_json_value *pm_json_member(const struct pm_json_value *value, const char *key);
/* Members of an object in their order: begin with *at = NULL; false behind the last. */
bool pm_json_next(const struct pm_json_value *value, void **at, const char **key,
                  const struct pm_json_value **member);
size_t pm_json_count(const struct pm_json_value *value); /* items of an array; 0 for others */
/* NULL for null. */
const struct pm_json_value *pm_json_item(const struct pm_json_value *value, size_t at);

/* NULL when it is no string. */
const char *pm_json_text_of(const struct pm_json_value *value);
/* False when it is none. A whole number may also stand as a string of digits, as numbers are
 * written that others would round (RFC 8259, section 6). */
bool pm_json_bool_of(const struct pm_json_value *value, bool *out);
bool pm_json_int_of(const struct pm_json_value *value, int64_t *out);
bool pm_json_double_of(const struct pm_json_value *value, double *out);
/* A number as an integer scaled by 10^scale (0..12), to the nearest; false also when it does not
 * fit. */
bool pm_json_scaled_of(const struct pm_json_value *value, int scale, int64_t *out);

#endif
