/* SPDX-License-Identifier: MIT */
/*
 * Text as it is put into a page, and plain text: sentences and tables broken so that a terminal of
 * 80 columns, and a sheet of paper, have room for them.
 */
#include "page.h"

#include "permille/base/utf8.h"

#include <limits.h>
#include <string.h>

#define COLUMN_GAP   2
#define LATER_INDENT 5  /* of a row's later lines: under its first words */
#define INDENT_MOST  20 /* of a sentence */
#define WORDS_FAIR                                                                                 \
    16                /* cells that a column of words is left with before a row takes more lines   \
                       */
#define WORDS_LEAST 8 /* and then */

/* ---- text ---- */

static void put_html(struct pm_text *out, const struct pm_glyph *glyph)
{
    switch (*glyph->bytes) {
    case '<':
        pm_text_add(out, "&lt;");
        break;
    case '>':
        pm_text_add(out, "&gt;");
        break;
    case '&':
        pm_text_add(out, "&amp;");
        break;
    case '"':
        pm_text_add(out, "&quot;");
        break;
    default:
        pm_text_add_bytes(out, glyph->bytes, glyph->length);
    }
}

static void put_part(struct pm_page *page, const char *text, size_t length)
{
    for (const char *at = text; at < text + length;) {
        const struct pm_glyph glyph = pm_utf8_next(at);
        if (*at == '\n' || *at == '\r' || *at == '\t')
            pm_text_add_char(page->out, ' ');
        else if (!glyph.shown)
            pm_text_add(page->out, page->form == PM_PAPER_TEXT ? "?" : "\xEF\xBF\xBD");
        else if (page->form == PM_PAPER_HTML)
            put_html(page->out, &glyph);
        else {
            if (page->form == PM_PAPER_MARKDOWN && strchr("\\|*_`<>[]#", *at) != NULL)
                pm_text_add_char(page->out, '\\');
            pm_text_add_bytes(page->out, glyph.bytes, glyph.length);
        }
        at += glyph.length;
    }
}

void pm_page_text(struct pm_page *page, const char *text)
{
    put_part(page, text, text != NULL ? strlen(text) : 0);
}

static size_t part_cells(const char *text, size_t length)
{
    size_t cells = 0;
    for (const char *at = text; at < text + length;) {
        const struct pm_glyph glyph = pm_utf8_next(at);
        cells += (size_t)glyph.cells;
        at += glyph.length;
    }
    return cells;
}

static void pad(struct pm_page *page, size_t count)
{
    for (size_t i = 0; i < count; i++)
        pm_text_add_char(page->out, ' ');
}

/* Numbers end in blanks that keep decimal points below each other; at the end of a line they are
 * for nothing. */
static void trim(struct pm_text *out)
{
    while (out->length > 0 && out->data[out->length - 1] == ' ')
        out->data[--out->length] = '\0';
}

void pm_page_lines(struct pm_page *page, const char *text)
{
    const size_t blanks = strspn(text, " ");
    const size_t indent = blanks < INDENT_MOST ? blanks : INDENT_MOST;
    const int room = page->cells == 0 ? INT_MAX : (int)(page->cells - indent);
    text += blanks;
    do {
        size_t next;
        const size_t length = pm_wrap_next(text, room, &next);
        pad(page, length > 0 ? indent : 0);
        put_part(page, text, length);
        pm_text_add_char(page->out, '\n');
        text += next;
    } while (*text != '\0');
}

/* ---- tables ---- */

/* How a row of the table is set: on one line, or its columns on several, one below the other. */
struct setting {
    size_t widths[PM_PAGE_COLUMNS_MAX];
    size_t line[PM_PAGE_COLUMNS_MAX]; /* that a column stands on */
    size_t lines;
};

static bool is_on(const struct pm_page *page, const struct setting *setting, size_t column,
                  size_t line)
{
    return !page->columns[column].bar && setting->line[column] == line;
}

static size_t indent_of(size_t line)
{
    return line > 0 ? LATER_INDENT : 0;
}

/* The cells that a line takes; *widest: its widest column of words, SIZE_MAX without one. */
static size_t line_width(const struct pm_page *page, const struct setting *setting, size_t line,
                         size_t *widest)
{
    size_t width = indent_of(line), gap = 0;
    *widest = SIZE_MAX;
    for (size_t i = 0; i < page->column_count; i++) {
        if (!is_on(page, setting, i, line))
            continue;
        width += gap + setting->widths[i];
        gap = COLUMN_GAP;
        if (!page->columns[i].number &&
            (*widest == SIZE_MAX || setting->widths[i] > setting->widths[*widest]))
            *widest = i;
    }
    return width;
}

/* Takes room from columns of words, the widest first, down to `least`. Numbers are never broken.
 * Whether every line fits. */
static bool narrow(const struct pm_page *page, struct setting *setting, size_t least)
{
    for (size_t line = 0; line < setting->lines; line++) {
        size_t widest;
        while (line_width(page, setting, line, &widest) > page->cells) {
            if (widest == SIZE_MAX || setting->widths[widest] <= least)
                return false;
            setting->widths[widest]--;
        }
    }
    return true;
}

/* Columns that were said to stand on a second line do. */
static void split_as_said(const struct pm_page *page, struct setting *setting)
{
    setting->lines = 2;
    for (size_t i = 0; i < page->column_count; i++)
        setting->line[i] = page->columns[i].second;
}

/* One column after the other as far as a line has room, words with a fair part of what they want.
 */
static void split_anywhere(const struct pm_page *page, struct setting *setting)
{
    size_t used = 0;
    setting->lines = 1;
    for (size_t i = 0; i < page->column_count; i++) {
        const size_t wish = setting->widths[i];
        const size_t width = page->columns[i].number || wish < WORDS_FAIR ? wish : WORDS_FAIR;
        if (page->columns[i].bar)
            continue;
        if (used > 0 && used + width > page->cells) {
            setting->lines++;
            used = LATER_INDENT;
        }
        setting->line[i] = setting->lines - 1;
        used += width + COLUMN_GAP;
    }
}

static bool is_split(const struct pm_page *page)
{
    for (size_t i = 0; i < page->column_count; i++)
        if (page->columns[i].second)
            return true;
    return false;
}

static void set_table(const struct pm_page *page, const size_t *widths, struct setting *setting)
{
    memset(setting, 0, sizeof *setting);
    setting->lines = 1;
    memcpy(setting->widths, widths, page->column_count * sizeof *widths);
    if (page->cells == 0 || narrow(page, setting, WORDS_FAIR))
        return;
    for (size_t way = is_split(page) ? 0 : 1; way < 2; way++) {
        memcpy(setting->widths, widths, page->column_count * sizeof *widths);
        (way == 0 ? split_as_said : split_anywhere)(page, setting);
        if (narrow(page, setting, WORDS_LEAST))
            return;
    }
}

/* Where the first line of a cell ends, as pm_wrap_next; in a word longer than that behind a hyphen,
 * where the long names of chemicals have one. */
static size_t cell_next(const char *text, size_t width, size_t *next)
{
    size_t length = pm_wrap_next(text, (int)width, next);
    if (text[length] == '\0' || *next != length)
        return length;
    for (size_t end = length; end > 1; end--)
        if (text[end - 1] == '-')
            return *next = end;
    return length;
}

/* The first line of a cell, after the blanks that are due before it; returns those that are due
 * behind it, so that none stand at the end of a line. */
static size_t put_cell(struct pm_page *page, size_t due, size_t width, bool right,
                       const char **rest)
{
    size_t next = 0;
    const size_t length = **rest != '\0' ? cell_next(*rest, width, &next) : 0;
    const size_t used = part_cells(*rest, length);
    const size_t blanks = used < width ? width - used : 0;
    if (used > 0) {
        pad(page, due + (right ? blanks : 0));
        put_part(page, *rest, length);
        due = right ? 0 : blanks;
    } else {
        due += width;
    }
    *rest += next;
    return due + COLUMN_GAP;
}

/* One of a row's lines, as many times as its longest cell has to go on; a later one that says
 * nothing is left out. */
static void put_line(struct pm_page *page, const struct setting *setting, size_t line,
                     const char *const *cells)
{
    const char *rest[PM_PAGE_COLUMNS_MAX];
    bool more = line == 0;
    for (size_t i = 0; i < page->column_count; i++) {
        rest[i] = cells[i];
        more = more || (is_on(page, setting, i, line) && *rest[i] != '\0');
    }
    while (more) {
        size_t due = indent_of(line);
        more = false;
        for (size_t i = 0; i < page->column_count; i++) {
            if (!is_on(page, setting, i, line))
                continue;
            due = put_cell(page, due, setting->widths[i], page->columns[i].number, &rest[i]);
            more = more || *rest[i] != '\0';
        }
        trim(page->out);
        pm_text_add_char(page->out, '\n');
    }
}

void pm_page_text_table(struct pm_page *page, const size_t *widths)
{
    struct setting setting;
    set_table(page, widths, &setting);
    for (size_t i = 0; i < page->kept.count; i += page->column_count)
        for (size_t line = 0; line < setting.lines; line++)
            put_line(page, &setting, line, page->kept.items + i);
}
