/* SPDX-License-Identifier: MIT */
/* A line editor. */
#include "field.h"

#include "action.h"
#include "permille/base/mem.h"
#include "permille/base/utf8.h"

#include <string.h>

bool pm_field_init(struct pm_field *field, size_t limit)
{
    *field = (struct pm_field){0};
    field->text = pm_alloc_array(limit + 1, 1);
    if (field->text == NULL)
        return false;
    field->limit = limit;
    return true;
}

void pm_field_release(struct pm_field *field)
{
    pm_free(field->text);
    *field = (struct pm_field){0};
}

/* The next code point of text as a field holds it, 0 for one that is left out. */
static uint32_t next_code(const char **text)
{
    uint32_t code;
    size_t left = strnlen(*text, 4);
    size_t step = pm_utf8_decode(*text, left, &code);
    if (code == '\r' && left > 1 && (*text)[1] == '\n')
        code = 0; /* one blank for both */
    else if (code == '\n' || code == '\r' || code == '\t')
        code = ' ';
    *text += step;
    return pm_utf8_width(code) >= 0 ? code : 0;
}

/* One code point at the cursor; false when it does not fit. */
static bool insert_code(struct pm_field *field, uint32_t code)
{
    char bytes[4];
    size_t length = pm_utf8_encode(code, bytes);
    if (length > field->limit - field->length)
        return false;
    char *at = field->text + field->cursor;
    memmove(at + length, at, field->length - field->cursor + 1);
    memcpy(at, bytes, length);
    field->length += length;
    field->cursor += length;
    return true;
}

/* Bytes that text takes in a field. */
static size_t needed(const char *text)
{
    char bytes[4];
    size_t sum = 0;
    while (*text) {
        uint32_t code = next_code(&text);
        sum += code ? pm_utf8_encode(code, bytes) : 0;
    }
    return sum;
}

/* As much as fits. */
static enum pm_field_result insert(struct pm_field *field, const char *text)
{
    bool changed = false;
    while (*text) {
        uint32_t code = next_code(&text);
        if (code && !insert_code(field, code))
            break;
        changed = changed || code;
    }
    return changed ? PM_FIELD_CHANGED : PM_FIELD_SAME;
}

void pm_field_set(struct pm_field *field, const char *text)
{
    if (field->text == NULL)
        return;
    field->length = field->cursor = field->first = 0;
    field->whole = false;
    field->text[0] = '\0';
    insert(field, text);
}

void pm_field_offer(struct pm_field *field, const char *text)
{
    pm_field_set(field, text);
    field->whole = field->length > 0;
}

enum pm_field_result pm_field_insert(struct pm_field *field, const char *text)
{
    if (field->text == NULL)
        return PM_FIELD_SAME;
    if (needed(text) > field->limit - (field->whole ? 0 : field->length))
        return PM_FIELD_FULL;
    if (!field->whole)
        return insert(field, text);
    pm_field_set(field, text);
    return PM_FIELD_CHANGED;
}

static enum pm_field_result remove_bytes(struct pm_field *field, size_t from, size_t to)
{
    if (from >= to)
        return PM_FIELD_SAME;
    memmove(field->text + from, field->text + to, field->length - to + 1);
    field->length -= to - from;
    field->cursor = from;
    return PM_FIELD_CHANGED;
}

static size_t after(const struct pm_field *field, size_t offset)
{
    return offset + pm_utf8_next(field->text + offset).length;
}

static size_t word_before(const struct pm_field *field)
{
    size_t at = field->cursor;
    while (at > 0 && field->text[at - 1] == ' ')
        at--;
    while (at > 0 && field->text[at - 1] != ' ')
        at--;
    return at;
}

static size_t word_after(const struct pm_field *field)
{
    size_t at = field->cursor + strspn(field->text + field->cursor, " ");
    return at + strcspn(field->text + at, " ");
}

static enum pm_field_result move(struct pm_field *field, size_t cursor)
{
    field->cursor = cursor;
    return PM_FIELD_SAME;
}

static enum pm_field_result act(struct pm_field *field, int code)
{
    switch (code) {
    case PM_ACT_LEFT:
        return move(field, pm_utf8_before(field->text, field->cursor));
    case PM_ACT_RIGHT:
        return move(field, after(field, field->cursor));
    case PM_ACT_FIRST:
        return move(field, 0);
    case PM_ACT_LAST:
        return move(field, field->length);
    case PM_ACT_WORD_LEFT:
        return move(field, word_before(field));
    case PM_ACT_WORD_RIGHT:
        return move(field, word_after(field));
    case PM_ACT_ERASE:
        return remove_bytes(field, pm_utf8_before(field->text, field->cursor), field->cursor);
    case PM_ACT_DELETE:
        return remove_bytes(field, field->cursor, after(field, field->cursor));
    case PM_ACT_ERASE_WORD:
        return remove_bytes(field, word_before(field), field->cursor);
    case PM_ACT_ERASE_START:
        return remove_bytes(field, 0, field->cursor);
    case PM_ACT_ERASE_END:
        return remove_bytes(field, field->cursor, field->length);
    default:
        return PM_FIELD_IGNORED;
    }
}

enum pm_field_result pm_field_act(struct pm_field *field, int code)
{
    if (field->text == NULL)
        return PM_FIELD_IGNORED;
    if (field->whole && (code == PM_ACT_ERASE || code == PM_ACT_DELETE)) {
        pm_field_set(field, "");
        return PM_FIELD_CHANGED;
    }
    enum pm_field_result result = act(field, code);
    if (result != PM_FIELD_IGNORED)
        field->whole = false;
    return result;
}

/* Cells of text[from, to). */
static size_t span_cells(const struct pm_field *field, size_t from, size_t to)
{
    size_t cells = 0;
    while (from < to) {
        struct pm_glyph glyph = pm_utf8_next(field->text + from);
        cells += (size_t)glyph.cells;
        from += glyph.length;
    }
    return cells;
}

void pm_field_draw(struct pm_field *field, const struct pm_pane *pane, int row, int column,
                   int cells, bool focused)
{
    const enum pm_role role = focused ? PM_ROLE_EDITING : PM_ROLE_NORMAL;
    if (field->text == NULL || cells < 1)
        return;
    if (!focused) { /* from its start, and what finds no room shows */
        pm_pane_put_left(pane, row, column, cells, role, field->text);
        return;
    }
    size_t room = (size_t)cells - 1; /* the cursor behind the last glyph needs a cell as well */
    if (field->first > field->cursor)
        field->first = field->cursor;
    while (span_cells(field, field->first, field->cursor) > room)
        field->first = after(field, field->first);
    /* After erasing, text hidden at the left comes back into sight. */
    while (field->first > 0) {
        size_t before = pm_utf8_before(field->text, field->first);
        if (span_cells(field, before, field->length) > room)
            break;
        field->first = before;
    }
    struct pm_pane line = pm_pane_part(pane, row, column, 1, cells);
    pm_pane_put_left(&line, 0, 0, cells, role, "");
    pm_pane_put(&line, 0, 0, role, field->text + field->first);
    pm_pane_cursor(&line, 0, (int)span_cells(field, field->first, field->cursor));
    if (field->whole)
        pm_pane_overlay(&line, 0, 0, 1, (int)span_cells(field, field->first, field->length),
                        PM_ROLE_SELECTED);
}
