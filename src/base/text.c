/* SPDX-License-Identifier: MIT */
/* Growing text with a sticky failure mark. */
#include "permille/base/text.h"

#include "permille/base/mem.h"

#include <stdint.h>
#include <stdio.h>
#include <string.h>

void pm_text_init(struct pm_text *text)
{
    *text = (struct pm_text)PM_TEXT_EMPTY;
}

void pm_text_release(struct pm_text *text)
{
    pm_free(text->data);
    pm_text_init(text);
}

void pm_text_clear(struct pm_text *text)
{
    text->length = 0;
    text->failed = false;
    if (text->data != NULL)
        text->data[0] = '\0';
}

bool pm_text_ok(const struct pm_text *text)
{
    return !text->failed;
}

const char *pm_text_get(const struct pm_text *text)
{
    return text->data != NULL ? text->data : "";
}

char *pm_text_take(struct pm_text *text)
{
    char *data = NULL;

    if (!text->failed)
        data = text->data != NULL ? text->data : pm_strdup("");
    if (data == NULL)
        pm_free(text->data);
    pm_text_init(text);
    return data;
}

/* Room for `more` bytes and the NUL behind the content; marks the text when there is none. */
static bool reserve(struct pm_text *text, size_t more)
{
    if (text->failed)
        return false;
    if (more < text->capacity - text->length)
        return true;
    if (more > PTRDIFF_MAX - text->length - 1 ||
        !pm_grow(&text->data, &text->capacity, text->length + more + 1, 1)) {
        text->failed = true;
        return false;
    }
    return true;
}

void pm_text_add(struct pm_text *text, const char *string)
{
    pm_text_add_bytes(text, string, strlen(string));
}

void pm_text_add_bytes(struct pm_text *text, const char *bytes, size_t length)
{
    if (!reserve(text, length))
        return;
    if (length > 0)
        memcpy(text->data + text->length, bytes, length);
    text->length += length;
    text->data[text->length] = '\0';
}

void pm_text_add_char(struct pm_text *text, char byte)
{
    pm_text_add_bytes(text, &byte, 1);
}

void pm_text_add_int(struct pm_text *text, int64_t value)
{
    char digits[20]; /* of 2^63, and a sign */
    size_t at = sizeof digits;
    uint64_t left = value < 0 ? -(uint64_t)value : (uint64_t)value;

    do
        digits[--at] = (char)('0' + left % 10);
    while ((left /= 10) > 0);
    if (value < 0)
        digits[--at] = '-';
    pm_text_add_bytes(text, digits + at, sizeof digits - at);
}

void pm_text_addf(struct pm_text *text, const char *format, ...)
{
    va_list args;

    va_start(args, format);
    pm_text_addv(text, format, args);
    va_end(args);
}

void pm_text_addv(struct pm_text *text, const char *format, va_list args)
{
    va_list again;
    int need;

    if (!reserve(text, 64)) /* enough for most additions: one pass */
        return;
    va_copy(again, args);
    need = vsnprintf(text->data + text->length, text->capacity - text->length, format, again);
    va_end(again);
    if (need >= 0 && (size_t)need >= text->capacity - text->length) {
        text->data[text->length] = '\0';
        if (!reserve(text, (size_t)need))
            return;
        need = vsnprintf(text->data + text->length, text->capacity - text->length, format, args);
    }
    if (need < 0) {
        text->data[text->length] = '\0';
        text->failed = true;
        return;
    }
    text->length += (size_t)need;
}

char *pm_print(char *buf, size_t size, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    if (vsnprintf(buf, size, format, args) < 0 && size > 0)
        *buf = '\0';
    va_end(args);
    return buf;
}
