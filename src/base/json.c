/* SPDX-License-Identifier: MIT */
/* JSON, one token after the other, straight into the text. */
#include "permille/base/json.h"

#include "permille/base/amount.h"
#include "permille/base/utf8.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

void pm_json_init(struct pm_json *json, struct pm_text *out)
{
    memset(json, 0, sizeof *json);
    json->out = out;
}

/* What goes before a value: nothing behind a key, else a comma where one is due. */
static void begin_value(struct pm_json *json)
{
    if (json->depth > 0) {
        if (json->bracket[json->depth - 1] == '{' && !json->keyed)
            json->out->failed = true;
        if (json->some[json->depth - 1] && !json->keyed)
            pm_text_add_char(json->out, ',');
        json->some[json->depth - 1] = true;
    }
    json->keyed = false;
}

void pm_json_open(struct pm_json *json, char bracket)
{
    begin_value(json);
    if (json->depth == PM_JSON_DEPTH) {
        json->out->failed = true;
        return;
    }
    json->bracket[json->depth] = bracket;
    json->some[json->depth++] = false;
    pm_text_add_char(json->out, bracket);
}

void pm_json_close(struct pm_json *json, char bracket)
{
    if (json->depth == 0 || json->keyed ||
        json->bracket[json->depth - 1] != (bracket == '}' ? '{' : '[')) {
        json->out->failed = true;
        return;
    }
    json->depth--;
    pm_text_add_char(json->out, bracket);
}

/* Escapes one code point as UTF-16 code units. */
static void add_escape(struct pm_text *out, uint32_t code)
{
    if (code >= 0x10000) {
        pm_text_addf(out, "\\u%04x", (unsigned)(0xD800 + ((code - 0x10000) >> 10)));
        code = 0xDC00 + ((code - 0x10000) & 0x3FF);
    }
    pm_text_addf(out, "\\u%04x", (unsigned)code);
}

static void add_string(struct pm_text *out, const char *value)
{
    pm_text_add_char(out, '"');
    while (*value != '\0') {
        uint32_t code;
        size_t used = pm_utf8_decode(value, strnlen(value, 4), &code);

        if (code == '"' || code == '\\')
            pm_text_addf(out, "\\%c", (char)code);
        else if (code == '\n')
            pm_text_add(out, "\\n");
        else if (code == '\t')
            pm_text_add(out, "\\t");
        else if (pm_utf8_width(code) < 0)
            add_escape(out, code);
        else if (used == 1 && code >= 0x80)
            pm_text_add(out, "\xef\xbf\xbd");
        else
            pm_text_add_bytes(out, value, used);
        value += used;
    }
    pm_text_add_char(out, '"');
}

void pm_json_key(struct pm_json *json, const char *key)
{
    if (json->depth == 0 || json->keyed || json->bracket[json->depth - 1] != '{') {
        json->out->failed = true;
        return;
    }
    if (json->some[json->depth - 1])
        pm_text_add_char(json->out, ',');
    json->some[json->depth - 1] = true;
    add_string(json->out, key);
    pm_text_add_char(json->out, ':');
    json->keyed = true;
}

static void add_word(struct pm_json *json, const char *word)
{
    begin_value(json);
    pm_text_add(json->out, word);
}

void pm_json_string(struct pm_json *json, const char *value)
{
    if (value == NULL) {
        pm_json_null(json);
        return;
    }
    begin_value(json);
    add_string(json->out, value);
}

void pm_json_int(struct pm_json *json, int64_t value)
{
    begin_value(json);
    pm_text_add_int(json->out, value);
}

void pm_json_decimal(struct pm_json *json, int64_t value, int scale)
{
    char buf[PM_AMOUNT_TEXT];

    add_word(json, pm_decimal_exact(value, scale, '.', buf));
}

void pm_json_double(struct pm_json *json, double value)
{
    char buf[40];
    size_t to = 0;

    if (!isfinite(value)) {
        pm_json_null(json);
        return;
    }
    for (int digits = 15; digits <= 17; digits++) { /* 17 give every double back */
        snprintf(buf, sizeof buf, "%.*g", digits, value);
        if (!(strtod(buf, NULL) < value) && !(strtod(buf, NULL) > value))
            break;
    }
    /* The process locale may have put any other sign where JSON wants a point. */
    for (size_t from = 0; buf[from] != '\0'; from++)
        if (strchr("0123456789+-e", buf[from]) != NULL)
            buf[to++] = buf[from];
        else if (to == 0 || buf[to - 1] != '.')
            buf[to++] = '.';
    buf[to] = '\0';
    add_word(json, buf);
}

void pm_json_bool(struct pm_json *json, bool value)
{
    add_word(json, value ? "true" : "false");
}

void pm_json_null(struct pm_json *json)
{
    add_word(json, "null");
}

void pm_json_put_open(struct pm_json *json, const char *key, char bracket)
{
    pm_json_key(json, key);
    pm_json_open(json, bracket);
}

void pm_json_put_string(struct pm_json *json, const char *key, const char *value)
{
    pm_json_key(json, key);
    pm_json_string(json, value);
}

void pm_json_put_int(struct pm_json *json, const char *key, int64_t value)
{
    pm_json_key(json, key);
    pm_json_int(json, value);
}

void pm_json_put_decimal(struct pm_json *json, const char *key, int64_t value, int scale)
{
    pm_json_key(json, key);
    pm_json_decimal(json, value, scale);
}

void pm_json_put_known(struct pm_json *json, const char *key, int64_t value, int scale)
{
    if (value < 0)
        pm_json_put_null(json, key);
    else
        pm_json_put_decimal(json, key, value, scale);
}

void pm_json_put_double(struct pm_json *json, const char *key, double value)
{
    pm_json_key(json, key);
    pm_json_double(json, value);
}

void pm_json_put_bool(struct pm_json *json, const char *key, bool value)
{
    pm_json_key(json, key);
    pm_json_bool(json, value);
}

void pm_json_put_null(struct pm_json *json, const char *key)
{
    pm_json_key(json, key);
    pm_json_null(json);
}
