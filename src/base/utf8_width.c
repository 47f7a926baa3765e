/* SPDX-License-Identifier: MIT */
/*
 * How many cells a code point takes, and which belong together: general categories, East Asian
 * width (UAX #11) and grapheme boundaries (UAX #29) are utf8proc's. Ambiguous width counts as one
 * cell, as terminals outside East Asia show it.
 */
#include "permille/base/utf8.h"

#include <string.h>
#include <utf8proc.h>

#define BAD UINT32_MAX /* beyond Unicode: never shown, belongs to nothing */

static bool is_joiner(uint32_t code)
{
    return code == 0x200C || code == 0x200D;
}

static bool is_noncharacter(uint32_t code)
{
    return (code & 0xFFFE) == 0xFFFE || (code >= 0xFDD0 && code <= 0xFDEF);
}

/* Circled numbers on black squares and hexagrams: C libraries, and terminals after them, have long
 * shown them in two cells, whatever older tables say of them. */
static bool is_wide_all_the_same(uint32_t code)
{
    return (code >= 0x3248 && code <= 0x324F) || (code >= 0x4DC0 && code <= 0x4DFF);
}

int pm_utf8_width(uint32_t code)
{
    if (code >= 0x20 && code < 0x7F)
        return 1;
    if (code > 0x10FFFF || is_noncharacter(code))
        return -1;
    if (is_joiner(code))
        return 0;
    const utf8proc_property_t *property = utf8proc_get_property((int32_t)code);
    switch (property->category) {
    case UTF8PROC_CATEGORY_CC:
    case UTF8PROC_CATEGORY_CF:
    case UTF8PROC_CATEGORY_CS:
    case UTF8PROC_CATEGORY_CO:
    case UTF8PROC_CATEGORY_ZL:
    case UTF8PROC_CATEGORY_ZP:
        return -1;
    case UTF8PROC_CATEGORY_MN:
    case UTF8PROC_CATEGORY_ME:
        return 0;
    default:
        break;
    }
    /* Vowels and finals of decomposed Hangul are drawn into the syllable's cells. */
    if (property->boundclass == UTF8PROC_BOUNDCLASS_V ||
        property->boundclass == UTF8PROC_BOUNDCLASS_T)
        return 0;
    return property->charwidth == 2 || is_wide_all_the_same(code) ? 2 : 1;
}

/* The code point at a NUL-terminated text; BAD when its bytes are none. */
static size_t decode_at(const char *text, uint32_t *code)
{
    size_t used = pm_utf8_decode(text, strnlen(text, 4), code);
    if (used == 1 && (unsigned char)text[0] >= 0x80)
        *code = BAD;
    return used;
}

/* What is no text begins a glyph of its own, and so does ASCII, from where a walk can begin. */
static bool joins(uint32_t before, uint32_t code, int32_t *state)
{
    if (code < 0x80)
        return false;
    int width = pm_utf8_width(code);
    bool boundary = utf8proc_grapheme_break_stateful((int32_t)before, (int32_t)code, state);
    return width == 0 || (width > 0 && pm_utf8_width(before) >= 0 && !boundary);
}

struct pm_glyph pm_utf8_next(const char *text)
{
    struct pm_glyph glyph = {text, 0, 0, false};
    uint32_t code, before;
    int32_t state = 0;

    if (*text == '\0')
        return glyph;
    if (text[0] >= 0x20 && text[0] < 0x7F && (unsigned char)text[1] < 0x80)
        return (struct pm_glyph){text, 1, 1, true};
    glyph.length = decode_at(text, &before);
    int width = pm_utf8_width(before);
    glyph.shown = width >= 0;
    glyph.cells = width < 0 ? 1 : width;
    while (text[glyph.length] != '\0') {
        size_t used = decode_at(text + glyph.length, &code);
        if (!joins(before, code, &state))
            break;
        glyph.length += used;
        glyph.cells += pm_utf8_width(code);
        before = code;
    }
    if (glyph.cells > 2)
        glyph.cells = 2;
    return glyph;
}

size_t pm_utf8_before(const char *text, size_t offset)
{
    size_t start = offset > 0 ? offset - 1 : 0;

    while (start > 0 && (unsigned char)text[start] >= 0x80)
        start--;
    for (;;) {
        size_t length = pm_utf8_next(text + start).length;
        if (length == 0 || start + length >= offset)
            return start;
        start += length;
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

size_t pm_wrap_next(const char *text, int cells, size_t *next)
{
    size_t line = strcspn(text, "\n");
    size_t fit = pm_utf8_fit(text, (size_t)cells);
    if (fit >= line) {
        *next = text[line] ? line + 1 : line;
        return line;
    }
    size_t end = fit;
    while (end > 0 && text[end] != ' ')
        end--;
    if (end == 0) {
        /* A word longer than a row; a glyph wider than the row must not stop the show. */
        *next = fit > 0 ? fit : pm_utf8_next(text).length;
        return fit;
    }
    *next = end + strspn(text + end, " ");
    while (end > 0 && text[end - 1] == ' ')
        end--;
    return end;
}
