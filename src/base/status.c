/* SPDX-License-Identifier: MIT */
/* The one place where a failure's sentence is written. */
#include "permille/base/status.h"

#include "permille/base/utf8.h"

#include <stdbool.h>
#include <stdio.h>
#include <string.h>

#define ELLIPSIS   "\xE2\x80\xA6"
#define WORD_BYTES 40 /* a longer word is cut within */

/* Makes raw showable in place: names and file content quoted in a sentence must not be able to
 * steer the terminal. Each character that cannot be shown shrinks to one '?', so the text never
 * grows. `cut` says that raw was shortened and may end inside a character. */
static void make_showable(char *raw, bool cut)
{
    size_t length = strlen(raw);
    size_t to = 0;

    for (size_t from = 0; from < length;) {
        uint32_t code;
        size_t used = pm_utf8_decode(raw + from, length - from, &code);
        bool bad = used == 1 && code == 0xFFFD;

        if (bad && cut && length - from < 4)
            break; /* the rest of the character was cut off */
        if (code == '\n' || code == '\t' || code == '\r') {
            raw[to++] = ' ';
        } else if (bad || pm_utf8_width(code) < 0) {
            raw[to++] = '?';
        } else {
            memmove(raw + to, raw + from, used);
            to += used;
        }
        from += used;
    }
    raw[to] = '\0';
}

/* Ends a text that was cut with an ellipsis, after a whole word where one ends nearby: "at most 12"
 * must not pass for a number that goes on as 125. */
static void end_cut(char *text)
{
    size_t end = strlen(text);
    const size_t most = PM_ERROR_TEXT - sizeof ELLIPSIS;

    while (end > most)
        end = pm_utf8_before(text, end);
    size_t word = end;
    while (word > 0 && end - word < WORD_BYTES && text[word] != ' ')
        word--;
    if (text[word] == ' ')
        end = word;
    while (end > 0 && text[end - 1] == ' ')
        end--;
    memcpy(text + end, ELLIPSIS, sizeof ELLIPSIS);
}

enum pm_status pm_failv(struct pm_error *err, enum pm_status status, const char *format,
                        va_list args)
{
    char text[PM_ERROR_TEXT]; /* the arguments may point into err->text */

    if (err == NULL)
        return status;
    const int need = vsnprintf(text, sizeof text, format, args);
    const bool cut = need >= (int)sizeof text;
    if (need < 0)
        text[0] = '\0';
    make_showable(text, cut);
    if (cut)
        end_cut(text);
    err->status = status;
    err->field = NULL;
    memcpy(err->text, text, strlen(text) + 1);
    return status;
}

enum pm_status pm_fail(struct pm_error *err, enum pm_status status, const char *format, ...)
{
    va_list args;

    va_start(args, format);
    pm_failv(err, status, format, args);
    va_end(args);
    return status;
}

enum pm_status pm_fail_at(struct pm_error *err, const char *field, enum pm_status status,
                          const char *format, ...)
{
    va_list args;

    va_start(args, format);
    pm_failv(err, status, format, args);
    va_end(args);
    return pm_error_at(err, field, status);
}

enum pm_status pm_error_at(struct pm_error *err, const char *field, enum pm_status status)
{
    if (err != NULL && status != PM_OK && err->field == NULL)
        err->field = field;
    return status;
}

enum pm_status pm_fail_memory(struct pm_error *err)
{
    return pm_fail(err, PM_NOMEM, "Out of memory; nothing was changed.");
}

void pm_error_clear(struct pm_error *err)
{
    if (err == NULL)
        return;
    err->status = PM_OK;
    err->text[0] = '\0';
    err->field = NULL;
}

const char *pm_status_word(enum pm_status status)
{
    switch (status) {
    case PM_OK:
        return "ok";
    case PM_REFUSED:
        return "refused";
    case PM_INVALID:
        return "invalid";
    case PM_MISSING:
        return "missing";
    case PM_EXISTS:
        return "exists";
    case PM_STALE:
        return "stale";
    case PM_BUSY:
        return "busy";
    case PM_FULL:
        return "full";
    case PM_IO:
        return "io";
    case PM_DAMAGED:
        return "damaged";
    case PM_NEWER:
        return "newer";
    case PM_FOREIGN:
        return "foreign";
    case PM_NOMEM:
        return "nomem";
    case PM_STOPPED:
        return "stopped";
    case PM_UNSURE:
        return "unsure";
    }
    return "unknown";
}
