/* SPDX-License-Identifier: MIT */
/*
 * JSON is read by jansson. It is strict, names line and column, bounds nesting, keeps 64-bit whole
 * numbers exact, and takes its memory through our door. SQLite's own JSON functions are faster
 * (tests/bench/bench_inout.c) and say no more than "malformed JSON".
 */
#include "permille/base/json_read.h"

#include "permille/base/mem.h"

#include <errno.h>
#include <jansson.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The struct of the header is jansson's own value under another name. */
static const json_t *inside(const struct pm_json_value *value)
{
    return (const json_t *)(const void *)value;
}

static struct pm_json_value *outside(json_t *value)
{
    return (struct pm_json_value *)(void *)value;
}

/* Not every way in which jansson gives up for want of memory says so. */
static bool lost_memory;

static void *get_memory(size_t size)
{
    void *memory = pm_alloc(size);
    lost_memory = lost_memory || memory == NULL;
    return memory;
}

static enum pm_status fail_at(const json_error_t *why, struct pm_error *err)
{
    if (lost_memory)
        return pm_fail_memory(err);
    if (why->line < 1)
        return pm_fail(err, PM_INVALID, "This is not JSON: %s.", why->text);
    return pm_fail(err, PM_INVALID, "Line %d, column %d: this is not JSON: %s.", why->line,
                   why->column, why->text);
}

enum pm_status pm_json_read(const char *text, size_t length, struct pm_json_value **out,
                            struct pm_error *err)
{
    json_error_t why;
    if (length >= 3 && memcmp(text, "\xEF\xBB\xBF", 3) == 0) {
        text += 3;
        length -= 3;
    }
    lost_memory = false;
    json_set_alloc_funcs(get_memory, pm_free);
    json_t *document = json_loadb(text, length, JSON_REJECT_DUPLICATES | JSON_DECODE_ANY, &why);
    if (document == NULL)
        return fail_at(&why, err);
    *out = outside(document);
    return PM_OK;
}

void pm_json_free(struct pm_json_value *document)
{
    json_decref((json_t *)(void *)document);
}

bool pm_json_is_object(const struct pm_json_value *value)
{
    return json_is_object(inside(value));
}

bool pm_json_is_array(const struct pm_json_value *value)
{
    return json_is_array(inside(value));
}

const struct pm_json_value *pm_json_member(const struct pm_json_value *value, const char *key)
{
    json_t *member = json_object_get(inside(value), key);
    return json_is_null(member) ? NULL : outside(member);
}

bool pm_json_next(const struct pm_json_value *value, void **at, const char **key,
                  const struct pm_json_value **member)
{
    /* Walking changes nothing, but jansson asks for a value that could be changed. */
    json_t *object = (json_t *)(uintptr_t)inside(value);
    void *iterator = *at != NULL ? json_object_iter_next(object, *at) : json_object_iter(object);
    if (iterator == NULL)
        return false;
    *at = iterator;
    *key = json_object_iter_key(iterator);
    *member = outside(json_object_iter_value(iterator));
    return true;
}

size_t pm_json_count(const struct pm_json_value *value)
{
    return json_array_size(inside(value));
}

const struct pm_json_value *pm_json_item(const struct pm_json_value *value, size_t at)
{
    json_t *item = json_array_get(inside(value), at);
    return json_is_null(item) ? NULL : outside(item);
}

const char *pm_json_text_of(const struct pm_json_value *value)
{
    return json_string_value(inside(value));
}

bool pm_json_bool_of(const struct pm_json_value *value, bool *out)
{
    if (!json_is_boolean(inside(value)))
        return false;
    *out = json_is_true(inside(value));
    return true;
}

bool pm_json_int_of(const struct pm_json_value *value, int64_t *out)
{
    if (json_is_integer(inside(value))) {
        *out = json_integer_value(inside(value));
        return true;
    }
    const char *digits = pm_json_text_of(value);
    if (digits == NULL || *digits == '\0' || strlen(digits) > 20 ||
        digits[strspn(digits, "-0123456789")] != '\0')
        return false;
    char *end;
    errno = 0;
    const long long number = strtoll(digits, &end, 10);
    if (errno != 0 || *end != '\0')
        return false;
    *out = number;
    return true;
}

bool pm_json_double_of(const struct pm_json_value *value, double *out)
{
    if (!json_is_number(inside(value)))
        return false;
    *out = json_number_value(inside(value));
    return true;
}

bool pm_json_scaled_of(const struct pm_json_value *value, int scale, int64_t *out)
{
    int64_t times = 1;
    for (int i = 0; i < scale; i++)
        times *= 10;
    if (json_is_integer(inside(value)))
        return !__builtin_mul_overflow(json_integer_value(inside(value)), times, out);
    if (!json_is_real(inside(value)))
        return false;
    const double scaled = json_real_value(inside(value)) * (double)times;
    if (!(fabs(scaled) < 9.2e18))
        return false;
    *out = llround(scaled);
    return true;
}
