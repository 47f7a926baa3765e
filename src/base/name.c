/* SPDX-License-Identifier: MIT */
/* What may become a name or a note (utf8.h). */
#include "permille/base/mem.h"
#include "permille/base/utf8.h"

#include <string.h>

#define REPLACEMENT         0xFFFDU
#define NAME_MAX_CHARACTERS 200

/* The code point at a NUL-terminated text; *bad when its bytes are not one. */
static size_t decode_at(const char *text, uint32_t *code, bool *bad)
{
    const bool plain = (unsigned char)text[0] < 0x80;
    size_t used = pm_utf8_decode(text, plain ? 1 : strnlen(text, 4), code);

    *bad = used == 1 && *code == REPLACEMENT;
    return used;
}

static bool is_control(uint32_t code)
{
    return code < 0x20 || (code >= 0x7F && code < 0xA0) || code == 0x2028 || code == 0x2029;
}

/* Characters that turn the order of what follows: with them a text can show what it is not. */
static bool is_bidi_control(uint32_t code)
{
    return code == 0x61C || code == 0x200E || code == 0x200F ||
           (code >= 0x202A && code <= 0x202E) || (code >= 0x2066 && code <= 0x2069);
}

/* text without the white space around it. */
static const char *trimmed(const char *text, size_t *length)
{
    const char *end;
    size_t space;

    while ((space = pm_utf8_space(text)) > 0)
        text += space;
    end = text;
    for (const char *at = text; *at != '\0';) {
        uint32_t code;
        bool bad;

        if (*at > ' ' && *at < 0x7F) {
            end = ++at;
            continue;
        }
        space = pm_utf8_space(at);
        at += space > 0 ? space : decode_at(at, &code, &bad);
        if (space == 0)
            end = at;
    }
    *length = (size_t)(end - text);
    return text;
}

static enum pm_status refuse_bytes(const char *what, struct pm_error *err)
{
    return pm_fail(err, PM_INVALID, "%s holds bytes that are not UTF-8 text.", what);
}

static enum pm_status refuse_code(const char *what, uint32_t code, struct pm_error *err)
{
    if (is_bidi_control(code))
        return pm_fail(err, PM_INVALID,
                       "%s holds a character that turns the direction of writing (U+%04X).", what,
                       (unsigned)code);
    return pm_fail(err, PM_INVALID, "%s holds a %s (U+%04X).", what,
                   is_control(code) ? "control character" : "character that cannot be shown",
                   (unsigned)code);
}

/* Copies text[0..length) to name with each run of white space as one space; checks all else. name
 * has room for length + 1 bytes. */
static enum pm_status squeeze_name(const char *text, size_t length, const char *what, char *name,
                                   struct pm_error *err)
{
    size_t characters = 0, cells = 0, to = 0;
    bool in_space = false;

    for (size_t at = 0; at < length;) {
        uint32_t code;
        bool bad;

        if (text[at] > ' ' && text[at] < 0x7F) { /* most of all names */
            name[to++] = text[at++];
            cells++;
            characters++;
            in_space = false;
            continue;
        }
        size_t used = decode_at(text + at, &code, &bad);
        bool space = pm_utf8_space(text + at) > 0;
        int width = pm_utf8_width(code);

        if (bad)
            return refuse_bytes(what, err);
        if (width < 0)
            return refuse_code(what, code, err);
        if (!space) {
            memcpy(name + to, text + at, used);
            to += used;
            cells += (size_t)width;
        } else if (!in_space) {
            name[to++] = ' ';
        }
        characters += !space || !in_space;
        in_space = space;
        at += used;
    }
    name[to] = '\0';
    if (cells == 0)
        return pm_fail(err, PM_INVALID, "%s is empty.", what);
    if (characters > NAME_MAX_CHARACTERS)
        return pm_fail(err, PM_INVALID, "%s is too long: %zu characters, the most is %d.", what,
                       characters, NAME_MAX_CHARACTERS);
    return PM_OK;
}

enum pm_status pm_name_clean(const char *text, const char *what, char **out, struct pm_error *err)
{
    enum pm_status status;
    size_t length;
    char *name;

    text = trimmed(text, &length);
    name = pm_alloc(length + 1);
    if (name == NULL)
        return pm_fail_memory(err);
    status = squeeze_name(text, length, what, name, err);
    if (status != PM_OK) {
        pm_free(name);
        return status;
    }
    *out = name;
    return PM_OK;
}

enum pm_status pm_note_clean(const char *text, const char *what, size_t max_bytes, char **out,
                             struct pm_error *err)
{
    size_t length, to = 0;
    char *note;

    text = trimmed(text, &length);
    for (size_t at = 0; at < length;) {
        uint32_t code;
        bool bad;
        size_t used = decode_at(text + at, &code, &bad);
        bool line_end = code == '\n' || (code == '\r' && text[at + 1] == '\n');

        if (bad)
            return refuse_bytes(what, err);
        if (is_bidi_control(code) || (is_control(code) && code != '\t' && !line_end))
            return refuse_code(what, code, err);
        at += used;
    }
    if (length > max_bytes)
        return pm_fail(err, PM_INVALID, "%s is too long: %zu bytes, the most is %zu.", what, length,
                       max_bytes);
    note = pm_alloc(length + 1);
    if (note == NULL)
        return pm_fail_memory(err);
    for (size_t at = 0; at < length; at++)
        if (text[at] != '\r') /* only before a newline, as checked */
            note[to++] = text[at];
    note[to] = '\0';
    *out = note;
    return PM_OK;
}
