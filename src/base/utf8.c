/* SPDX-License-Identifier: MIT */
/* Decoding, glyphs, and what may become a name. */
#include "permille/base/utf8.h"

#include "permille/base/mem.h"

#include <string.h>

#define REPLACEMENT         0xFFFDU
#define NAME_MAX_CHARACTERS 200

size_t pm_utf8_decode(const char *text, size_t length, uint32_t *out)
{
    static const uint32_t least[] = {0, 0, 0x80, 0x800, 0x10000}; /* shorter forms are overlong */
    unsigned char lead = (unsigned char)text[0];
    size_t need = lead < 0x80 ? 1 : lead < 0xC0 ? 0 : lead < 0xE0 ? 2 : lead < 0xF0 ? 3 : 4;
    uint32_t code = need < 2 ? lead : lead & (0xFFU >> (need + 1));

    *out = REPLACEMENT;
    if (need == 0 || lead > 0xF4 || need > length)
        return 1;
    for (size_t i = 1; i < need; i++) {
        unsigned char byte = (unsigned char)text[i];
        if ((byte & 0xC0) != 0x80)
            return 1;
        code = code << 6 | (byte & 0x3F);
    }
    if (code < least[need] || code > 0x10FFFF || (code >= 0xD800 && code <= 0xDFFF))
        return 1;
    *out = code;
    return need;
}

size_t pm_utf8_encode(uint32_t code, char out[4])
{
    if (code > 0x10FFFF || (code >= 0xD800 && code <= 0xDFFF))
        code = REPLACEMENT;
    if (code < 0x80) {
        out[0] = (char)code;
        return 1;
    }
    if (code < 0x800) {
        out[0] = (char)(0xC0 | code >> 6);
        out[1] = (char)(0x80 | (code & 0x3F));
        return 2;
    }
    if (code < 0x10000) {
        out[0] = (char)(0xE0 | code >> 12);
        out[1] = (char)(0x80 | (code >> 6 & 0x3F));
        out[2] = (char)(0x80 | (code & 0x3F));
        return 3;
    }
    out[0] = (char)(0xF0 | code >> 18);
    out[1] = (char)(0x80 | (code >> 12 & 0x3F));
    out[2] = (char)(0x80 | (code >> 6 & 0x3F));
    out[3] = (char)(0x80 | (code & 0x3F));
    return 4;
}

/* The code point at a NUL-terminated text; *bad when its bytes are not one. */
static size_t decode_at(const char *text, uint32_t *code, bool *bad)
{
    size_t used = pm_utf8_decode(text, strnlen(text, 4), code);

    *bad = used == 1 && *code == REPLACEMENT;
    return used;
}

bool pm_utf8_valid(const char *text, size_t length)
{
    for (size_t at = 0; at < length;) {
        uint32_t code;
        size_t used = pm_utf8_decode(text + at, length - at, &code);
        if (used == 1 && code == REPLACEMENT)
            return false;
        at += used;
    }
    return true;
}

size_t pm_utf8_space(const char *text)
{
    uint32_t code;
    size_t used;

    if (text[0] == ' ' || (text[0] >= '\t' && text[0] <= '\r'))
        return 1;
    if ((unsigned char)text[0] < 0x80)
        return 0;
    used = pm_utf8_decode(text, strnlen(text, 4), &code);
    switch (code) {
    case 0x85:
    case 0xA0:
    case 0x1680:
    case 0x2028:
    case 0x2029:
    case 0x202F:
    case 0x205F:
    case 0x3000:
        return used;
    default:
        return code >= 0x2000 && code <= 0x200A ? used : 0;
    }
}

size_t pm_utf8_cells(const char *text)
{
    size_t cells = 0;
    struct pm_glyph glyph;

    for (; (glyph = pm_utf8_next(text)).length > 0; text += glyph.length)
        cells += (size_t)glyph.cells;
    return cells;
}

size_t pm_utf8_fit(const char *text, size_t cells)
{
    size_t length = 0, used = 0;
    struct pm_glyph glyph;

    while ((glyph = pm_utf8_next(text + length)).length > 0) {
        used += (size_t)glyph.cells;
        if (used > cells)
            break;
        length += glyph.length;
    }
    return length;
}

bool pm_is_blank(const char *text)
{
    size_t used;
    while ((used = pm_utf8_space(text)) > 0)
        text += used;
    return *text == '\0';
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
