/* SPDX-License-Identifier: MIT */
/* Copying: a table as text with tabs. */
#include "copy.h"

#include "permille/base/csv.h"
#include "permille/base/utf8.h"

#include <string.h>

/* The cell without the blanks that place it on the screen. */
static void take_trimmed(struct pm_text *text)
{
    size_t from = 0;
    while (text->length > 0 && text->data[text->length - 1] == ' ')
        text->data[--text->length] = '\0';
    while (from < text->length && text->data[from] == ' ')
        from++;
    if (from > 0) {
        memmove(text->data, text->data + from, text->length - from + 1);
        text->length -= from;
    }
}

static void read_cell(const struct pm_table *table, size_t row, size_t column, struct pm_text *out)
{
    pm_text_clear(out);
    table->cell(table->context, row, column, out);
    take_trimmed(out);
}

static void read_foot(const struct pm_table *table, size_t row, size_t column, struct pm_text *out)
{
    pm_text_clear(out);
    table->foot(table->context, row, column, out);
    take_trimmed(out);
}

static bool is_title(const struct pm_table *table, size_t row, struct pm_text *out)
{
    pm_text_clear(out);
    return table->title != NULL && table->title(table->context, row, out);
}

/* A column that says nothing in any row (bars, an optional column) is left out. */
static bool says_something(const struct pm_table *table, size_t column, struct pm_text *cell)
{
    for (size_t row = 0; row < table->rows; row++) {
        if (is_title(table, row, cell))
            continue;
        read_cell(table, row, column, cell);
        if (cell->length > 0)
            return true;
    }
    return false;
}

static void add_cell(struct pm_copy *copy, const struct pm_text *cell, bool first)
{
    pm_tsv_field(&copy->text, pm_text_get(cell), first);
    copy->text.failed = copy->text.failed || !pm_text_ok(cell);
}

static void add_headings(struct pm_copy *copy, const struct pm_table *table, const bool *taken)
{
    bool first = true;
    for (size_t column = 0; column < table->column_count; column++) {
        const char *heading = table->columns[column].heading;
        if (!taken[column])
            continue;
        pm_tsv_field(&copy->text, heading != NULL ? heading : "", first);
        first = false;
    }
    pm_text_add_char(&copy->text, '\n');
}

static void add_row(struct pm_copy *copy, const struct pm_table *table, const bool *taken,
                    size_t row, struct pm_text *cell)
{
    bool first = true;
    if (is_title(table, row, cell)) {
        add_cell(copy, cell, true);
    } else {
        for (size_t column = 0; column < table->column_count; column++) {
            if (!taken[column])
                continue;
            read_cell(table, row, column, cell);
            add_cell(copy, cell, first);
            first = false;
        }
        copy->rows++;
    }
    pm_text_add_char(&copy->text, '\n');
}

static void add_foot(struct pm_copy *copy, const struct pm_table *table, const bool *taken,
                     size_t row, struct pm_text *cell)
{
    bool first = true;
    for (size_t column = 0; column < table->column_count; column++) {
        if (!taken[column])
            continue;
        read_foot(table, row, column, cell);
        add_cell(copy, cell, first);
        first = false;
    }
    pm_text_add_char(&copy->text, '\n');
}

void pm_copy_table(struct pm_copy *copy, const struct pm_table *table)
{
    bool taken[PM_TABLE_COLUMNS];
    struct pm_text cell = PM_TEXT_EMPTY;
    if (copy->some || table->idle || table->unselected)
        return;
    copy->some = true;
    copy->unread = table->unread;
    for (size_t column = 0; column < table->column_count; column++)
        taken[column] = !table->columns[column].hidden && says_something(table, column, &cell);
    if (!table->plain)
        add_headings(copy, table, taken);
    for (size_t row = 0; row < table->rows; row++)
        add_row(copy, table, taken, row, &cell);
    for (size_t row = 0; row < table->foot_rows; row++)
        add_foot(copy, table, taken, row, &cell);
    pm_text_release(&cell);
}

/* ---- pages ---- */

#define CELLS_MOST 400 /* of a line of a table; what stands behind belongs to the last cell */
#define GUTTER     2   /* blank cells between columns */

/* Lines that stand together. */
struct block {
    pm_copy_line *line;
    const void *context;
    size_t from, to;
    bool used[CELLS_MOST + 1];   /* by some line */
    bool begins[CELLS_MOST + 1]; /* a column does */
};

static void mark_used(struct block *block, const char *text)
{
    size_t cell = 0;
    for (struct pm_glyph glyph = pm_utf8_next(text); glyph.length > 0 && cell < CELLS_MOST;
         text += glyph.length, glyph = pm_utf8_next(text)) {
        for (size_t i = 0; i < (size_t)glyph.cells && cell + i < CELLS_MOST; i++)
            block->used[cell + i] = block->used[cell + i] || *text != ' ';
        cell += (size_t)glyph.cells;
    }
}

static void find_columns(struct block *block)
{
    size_t blank = 0;
    bool some = false;
    for (size_t line = block->from; line < block->to; line++)
        mark_used(block, block->line(block->context, line));
    for (size_t cell = 0; cell < CELLS_MOST; cell++) {
        block->begins[cell] = block->used[cell] && some && blank >= GUTTER;
        some = some || block->used[cell];
        blank = block->used[cell] ? 0 : blank + 1;
    }
}

static void add_line(struct pm_copy *copy, const struct block *block, const char *text,
                     struct pm_text *cell)
{
    size_t at = 0;
    bool first = true;
    pm_text_clear(cell);
    for (struct pm_glyph glyph = pm_utf8_next(text); glyph.length > 0;
         text += glyph.length, glyph = pm_utf8_next(text)) {
        if (at < CELLS_MOST && block->begins[at]) {
            take_trimmed(cell);
            add_cell(copy, cell, first);
            pm_text_clear(cell);
            first = false;
        }
        if (glyph.shown)
            pm_text_add_bytes(cell, glyph.bytes, glyph.length);
        at += (size_t)glyph.cells;
    }
    take_trimmed(cell);
    add_cell(copy, cell, first);
    pm_text_add_char(&copy->text, '\n');
    copy->rows++;
}

/* An empty line, or one that keeps its distance, ends what stands together. */
static bool stands_apart(const char *text)
{
    return text[0] == '\0' || text[0] == '\n';
}

void pm_copy_page(struct pm_copy *copy, size_t count, pm_copy_line *line, const void *context)
{
    struct pm_text cell = PM_TEXT_EMPTY;
    copy->some = true;
    for (size_t from = 0; from < count;) {
        struct block block = {.line = line, .context = context, .from = from, .to = from + 1};
        while (block.to < count && !stands_apart(line(context, block.to)))
            block.to++;
        /* A heading has its own line. */
        const bool apart = stands_apart(line(context, from));
        if (apart)
            block.to = from + 1;
        else if (block.to > from + 1)
            find_columns(&block);
        for (size_t at = from; at < block.to; at++)
            add_line(copy, &block, line(context, at) + (apart && line(context, at)[0] == '\n'),
                     &cell);
        from = block.to;
    }
    pm_text_release(&cell);
}
