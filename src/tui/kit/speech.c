/* SPDX-License-Identifier: MIT */
/* The screen in plain lines (speech.h). */
#include "speech.h"

#include "table_inside.h"

#include "permille/base/utf8.h"

#include <stdarg.h>
#include <string.h>

void pm_speech_release(struct pm_speech *speech)
{
    pm_text_release(&speech->lines);
    pm_text_release(&speech->last);
}

void pm_speech_begin(struct pm_speech *speech)
{
    const struct pm_text lines = speech->lines;
    speech->lines = speech->last;
    speech->last = lines;
    pm_text_clear(&speech->lines);
    speech->table = false;
}

/* ---- lines ---- */

/* Box drawing, blocks, braille, and the sign at the selected row say nothing to the ear. */
static bool is_drawing(uint32_t code)
{
    return (code >= 0x2500 && code <= 0x259F) || (code >= 0x2800 && code <= 0x28FF) ||
           code == 0x203A;
}

/* Appends the text with blanks run together and drawings left out. */
static void add_squeezed(struct pm_text *out, const char *text)
{
    bool blank = false, some = false;
    uint32_t code = 0;
    for (struct pm_glyph glyph = pm_utf8_next(text); glyph.length > 0;
         text += glyph.length, glyph = pm_utf8_next(text)) {
        pm_utf8_decode(glyph.bytes, glyph.length, &code);
        if (code == ' ' || code == '\n' || is_drawing(code)) {
            blank = true;
            continue;
        }
        if (blank && some)
            pm_text_add_char(out, ' ');
        blank = false;
        some = true;
        if (glyph.shown)
            pm_text_add_bytes(out, glyph.bytes, glyph.length);
    }
}

static void add_line(struct pm_speech *speech, const char *text)
{
    const size_t before = speech->lines.length;
    add_squeezed(&speech->lines, text);
    if (speech->lines.length > before)
        pm_text_add_char(&speech->lines, '\n');
}

void pm_speech_line(struct pm_speech *speech, const char *format, ...)
{
    struct pm_text text = PM_TEXT_EMPTY;
    va_list args;
    va_start(args, format);
    pm_text_addv(&text, format, args);
    va_end(args);
    if (pm_text_get(&text)[0] == PM_SPEECH_NEWS)
        pm_text_add_char(&speech->lines, PM_SPEECH_NEWS);
    add_line(speech, pm_text_get(&text) + (pm_text_get(&text)[0] == PM_SPEECH_NEWS));
    pm_text_release(&text);
}

static void read_row(const struct pm_pane *pane, int row, struct pm_text *out)
{
    pm_text_clear(out);
    for (int column = 0; column < pane->columns; column++) {
        const struct pm_cell *cell =
            pm_grid_cell(pane->grid, pane->row + row, pane->column + column);
        if (cell != NULL)
            pm_text_add_bytes(out, cell->bytes, cell->length);
    }
}

static void add_rows(struct pm_speech *speech, const struct pm_pane *pane, int rows)
{
    struct pm_text text = PM_TEXT_EMPTY;
    for (int row = 0; row < rows && row < pane->rows; row++) {
        read_row(pane, row, &text);
        add_line(speech, pm_text_get(&text));
    }
    pm_text_release(&text);
}

void pm_speech_pane(struct pm_speech *speech, const struct pm_pane *pane)
{
    add_rows(speech, pane, pane->rows);
}

/* ---- tables ---- */

/* What stands over the column: its heading, or the one before it that stands over both. */
static const char *heading_of(const struct pm_table *table, size_t column)
{
    while (column > 0 && table->columns[column].heading == NULL)
        column--;
    const char *heading = table->columns[column].heading;
    return table->plain || heading == NULL ? "" : heading;
}

/* "heading value", nothing for an empty cell. */
static void add_cell(struct pm_text *out, const char *heading, const char *value)
{
    const size_t before = out->length;
    pm_text_add(out, before > 0 ? "; " : "");
    const size_t begin = out->length;
    add_squeezed(out, value);
    if (out->length == begin) {
        out->length = before;
        if (out->data != NULL)
            out->data[before] = '\0';
        return;
    }
    if (heading[0] == '\0')
        return;
    /* The value's place is known only now; the heading goes before it. */
    struct pm_text moved = PM_TEXT_EMPTY;
    pm_text_add(&moved, pm_text_get(out) + begin);
    out->length = begin;
    out->data[begin] = '\0';
    pm_text_addf(out, "%s %s", heading, pm_text_get(&moved));
    pm_text_release(&moved);
}

static void add_cells(const struct pm_table *table, size_t row, struct pm_text *out)
{
    struct pm_text value = PM_TEXT_EMPTY;
    for (size_t column = 0; column < table->column_count; column++) {
        if (table->columns[column].hidden)
            continue;
        pm_text_clear(&value);
        table->cell(table->context, row, column, &value);
        add_cell(out, heading_of(table, column), pm_text_get(&value));
    }
    pm_text_release(&value);
}

static void say_row(struct pm_speech *speech, const struct pm_table *table,
                    const struct pm_table_view *view)
{
    struct pm_text line = PM_TEXT_EMPTY, mark = PM_TEXT_EMPTY;
    add_cells(table, view->row, &line);
    if (table->mark != NULL)
        table->mark(table->context, view->row, &mark);
    pm_speech_line(speech, "Row %zu of %zu: %s%s%s", view->row + 1, table->rows, pm_text_get(&line),
                   mark.length > 0 ? "; sign " : "", pm_text_get(&mark));
    pm_text_release(&line);
    pm_text_release(&mark);
}

static void say_cell(struct pm_speech *speech, const struct pm_table *table,
                     const struct pm_table_view *view)
{
    const size_t column = pm_table_typed_column(table, view);
    const struct pm_field *field = table->field != NULL ? table->field
                                   : view->typing       ? &view->field
                                                        : NULL;
    struct pm_text value = PM_TEXT_EMPTY;
    const char *heading = heading_of(table, column);
    if (field != NULL) {
        pm_speech_line(speech, "Typing %s: %s", heading, field->length > 0 ? field->text : "empty");
    } else if (table->by_cell) {
        table->cell(table->context, view->row, column, &value);
        pm_speech_line(speech, "Cell %s: %s", heading,
                       pm_is_blank(pm_text_get(&value)) ? "empty" : pm_text_get(&value));
    }
    pm_text_release(&value);
}

static void say_sums(struct pm_speech *speech, const struct pm_table *table)
{
    struct pm_text value = PM_TEXT_EMPTY, line = PM_TEXT_EMPTY;
    for (size_t row = 0; row < table->foot_rows; row++) {
        pm_text_clear(&line);
        for (size_t column = 0; column < table->column_count; column++) {
            pm_text_clear(&value);
            table->foot(table->context, row, column, &value);
            add_cell(&line, table->columns[column].summed ? heading_of(table, column) : "",
                     pm_text_get(&value));
        }
        pm_speech_line(speech, "%s", pm_text_get(&line));
    }
    pm_text_release(&value);
    pm_text_release(&line);
}

void pm_speech_table(struct pm_speech *speech, const struct pm_table *table,
                     const struct pm_table_view *view, const struct pm_pane *pane)
{
    if (table->idle || table->unselected)
        return;
    add_rows(speech, pane, table->above);
    speech->table = true;
    if (table->rows == 0) {
        pm_speech_line(speech, "%s", table->empty != NULL ? table->empty : "The list is empty.");
        return;
    }
    if (view->row >= table->rows)
        return;
    say_row(speech, table, view);
    say_cell(speech, table, view);
    say_sums(speech, table);
}

/* ---- what is new ---- */

static bool was_said(const char *last, const char *line, size_t length)
{
    for (const char *at = last; *at != '\0'; at += strcspn(at, "\n") + 1) {
        if (strcspn(at, "\n") == length && memcmp(at, line, length) == 0)
            return true;
        if (at[strcspn(at, "\n")] == '\0')
            break;
    }
    return false;
}

void pm_speech_new(const struct pm_speech *speech, bool all, struct pm_text *out)
{
    for (const char *line = pm_text_get(&speech->lines); *line != '\0';) {
        const size_t length = strcspn(line, "\n");
        const bool news = *line == PM_SPEECH_NEWS;
        if (all || news || !was_said(pm_text_get(&speech->last), line, length)) {
            pm_text_add_bytes(out, line + news, length - news);
            pm_text_add_char(out, '\n');
        }
        line += length + (line[length] == '\n');
    }
}
