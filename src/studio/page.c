/* SPDX-License-Identifier: MIT */
/*
 * Writing what goes on paper (see page.h).
 */
#include "page.h"

#include "permille/base/utf8.h"

#include <string.h>

#define ROWS_FULL  44 /* of 10 pt that fill a sheet of A4 with head and caution */
#define SIZE_FULL  100
#define SIZE_LEAST 60 /* tenths of a point; below, print is hard to read (common practice) */

bool pm_paper_from_word(const char *word, enum pm_paper *out)
{
    static const char *const words[] = {"json", "csv", "markdown", "html", "text"};
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        if (strcmp(word, words[i]) == 0) {
            *out = (enum pm_paper)i;
            return true;
        }
    return false;
}

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

void pm_page_text(struct pm_page *page, const char *text)
{
    for (const char *at = text; at != NULL && *at != '\0';) {
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

/* ---- the page ---- */

static void put_style(struct pm_page *page, size_t rows)
{
    size_t size = rows <= ROWS_FULL ? SIZE_FULL : SIZE_FULL * ROWS_FULL / rows;
    if (size < SIZE_LEAST)
        size = SIZE_LEAST;
    pm_text_addf(page->out,
                 "<style>@page{size:A4;margin:12mm}body{font:%zu.%zupt/1.25 sans-serif;margin:1em "
                 "auto;max-width:186mm;color:#000;background:#fff}@media print{body{margin:0}}"
                 "h1{font-size:1.5em;margin:0 0 .3em}h2{font-size:1.15em;margin:.7em 0 .2em}"
                 "p{margin:.3em 0}table{border-collapse:collapse;width:100%%;margin:.5em 0}"
                 "td,th{padding:.05em .5em;text-align:left;border-bottom:1px solid #ccc;"
                 "vertical-align:top}tr{break-inside:avoid}.n{text-align:right;"
                 "font-variant-numeric:tabular-nums}svg{width:24mm;height:.8em}"
                 ".turn{break-before:page}.c{font-size:.85em;border-left:3px solid;"
                 "padding-left:.7em}</style>\n",
                 size / 10, size % 10);
}

enum pm_status pm_page_can(enum pm_paper form, struct pm_error *err)
{
    return form != PM_PAPER_JSON && form != PM_PAPER_CSV
               ? PM_OK
               : pm_fail(err, PM_INVALID,
                         "A sheet is a page (.html), Markdown (.md) or text (.txt); the commands "
                         "weigh, batch, limits, label and compare answer in JSON.");
}

void pm_page_begin(struct pm_page *page, struct pm_text *out, enum pm_paper form, char sign,
                   const char *title, size_t rows)
{
    *page = (struct pm_page){.out = out, .form = form, .sign = sign};
    if (form != PM_PAPER_HTML)
        return;
    pm_text_add(out, "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
                     "<title>");
    pm_page_text(page, title);
    pm_text_add(out, "</title>\n");
    put_style(page, rows);
    pm_text_add(out, "</head>\n<body>\n");
}

enum pm_status pm_page_end(struct pm_page *page, struct pm_error *err)
{
    if (page->form == PM_PAPER_HTML)
        pm_text_add(page->out, "</body>\n</html>\n");
    pm_list_release(&page->cells);
    return pm_text_ok(page->out) && !page->failed ? PM_OK : pm_fail_memory(err);
}

void pm_page_heading(struct pm_page *page, int level, const char *text)
{
    if (page->form == PM_PAPER_HTML)
        pm_text_addf(page->out, "<h%d>", level);
    else if (page->form == PM_PAPER_MARKDOWN)
        pm_text_add(page->out, level == 1 ? "# " : "## ");
    else if (level > 1)
        pm_text_add_char(page->out, '\n');
    pm_page_text(page, text);
    if (page->form == PM_PAPER_HTML)
        pm_text_addf(page->out, "</h%d>\n", level);
    else
        pm_text_add(page->out, "\n\n");
}

void pm_page_say(struct pm_page *page, const char *sentence)
{
    if (sentence == NULL || sentence[0] == '\0')
        return;
    pm_text_add(page->out, page->form == PM_PAPER_HTML ? "<p>" : "");
    pm_page_text(page, sentence);
    pm_text_add(page->out, page->form == PM_PAPER_HTML   ? "</p>\n"
                           : page->form == PM_PAPER_TEXT ? "\n"
                                                         : "\n\n");
}

void pm_page_caution(struct pm_page *page, const char *sentence)
{
    if (page->form != PM_PAPER_HTML) {
        pm_text_add(page->out, page->form == PM_PAPER_TEXT ? "\n" : "");
        pm_page_say(page, sentence);
        return;
    }
    pm_text_add(page->out, "<p class=\"c\">");
    pm_page_text(page, sentence);
    pm_text_add(page->out, "</p>\n");
}

void pm_page_turn(struct pm_page *page)
{
    pm_text_add(page->out, page->form == PM_PAPER_HTML ? "<div class=\"turn\"></div>\n" : "\n");
}

/* ---- tables ---- */

static void put_cell(struct pm_page *page, const struct pm_page_column *column, const char *tag,
                     const char *text)
{
    if (page->form == PM_PAPER_MARKDOWN) {
        pm_text_add(page->out, "| ");
        pm_page_text(page, text);
        pm_text_add_char(page->out, ' ');
        return;
    }
    pm_text_addf(page->out, column->number ? "<%s class=\"n\">" : "<%s>", tag);
    pm_page_text(page, text);
    pm_text_addf(page->out, "</%s>", tag);
}

/* A share, drawn; its number stands in another cell. */
static void put_bar(struct pm_page *page, const char *percent)
{
    pm_text_add(page->out, "<td><svg viewBox=\"0 0 100 8\" preserveAspectRatio=\"none\" "
                           "aria-hidden=\"true\"><rect width=\"");
    pm_page_text(page, percent != NULL && percent[0] != '\0' ? percent : "0");
    pm_text_add(page->out, "\" height=\"8\"/></svg></td>");
}

static void put_row(struct pm_page *page, const char *tag, const char *const *cells)
{
    const bool html = page->form == PM_PAPER_HTML;
    pm_text_add(page->out, html ? "<tr>" : "");
    for (size_t i = 0; i < page->column_count; i++) {
        const struct pm_page_column *column = &page->columns[i];
        if (!column->bar)
            put_cell(page, column, tag, cells[i]);
        else if (html && strcmp(tag, "td") == 0)
            put_bar(page, cells[i]);
        else if (html)
            pm_text_add(page->out, "<th></th>");
    }
    pm_text_add(page->out, html ? "</tr>\n" : "|\n");
}

/* Cells of plain text wait for the widths. */
static void keep_row(struct pm_page *page, const char *const *cells)
{
    for (size_t i = 0; i < page->column_count; i++) {
        const char **cell = pm_list_add(&page->cells);
        if (cell != NULL)
            *cell = pm_arena_text(&page->cells.arena, cells[i] != NULL ? cells[i] : "");
    }
}

void pm_page_table(struct pm_page *page, const struct pm_page_column *columns, size_t count)
{
    const char *titles[PM_PAGE_COLUMNS_MAX];
    page->columns = columns;
    page->column_count = count < PM_PAGE_COLUMNS_MAX ? count : PM_PAGE_COLUMNS_MAX;
    for (size_t i = 0; i < page->column_count; i++)
        titles[i] = columns[i].title;
    if (page->form == PM_PAPER_TEXT) {
        keep_row(page, titles);
        return;
    }
    pm_text_add(page->out, page->form == PM_PAPER_HTML ? "<table>\n<thead>\n" : "");
    put_row(page, "th", titles);
    if (page->form == PM_PAPER_HTML) {
        pm_text_add(page->out, "</thead>\n<tbody>\n");
        return;
    }
    for (size_t i = 0; i < page->column_count; i++)
        if (!columns[i].bar)
            pm_text_add(page->out, columns[i].number ? "|---:" : "|---");
    pm_text_add(page->out, "|\n");
}

void pm_page_row(struct pm_page *page, const char *const *cells)
{
    if (page->form == PM_PAPER_TEXT)
        keep_row(page, cells);
    else
        put_row(page, "td", cells);
}

static size_t width_of(const struct pm_page *page, size_t column)
{
    size_t width = (size_t)page->columns[column].least;
    for (size_t i = column; i < page->cells.count; i += page->column_count) {
        const char *cell = page->cells.items[i];
        const size_t cells = cell != NULL ? pm_utf8_cells(cell) : 0;
        width = cells > width ? cells : width;
    }
    return width;
}

static void pad(struct pm_page *page, size_t count)
{
    for (size_t i = 0; i < count; i++)
        pm_text_add_char(page->out, ' ');
}

static void put_aligned(struct pm_page *page, size_t column, size_t width, const char *cell)
{
    const size_t used = pm_utf8_cells(cell);
    const size_t blanks = used < width ? width - used : 0;
    pad(page, page->columns[column].number ? blanks : 0);
    pm_page_text(page, cell);
    if (column + 1 < page->column_count)
        pad(page, (page->columns[column].number ? 0 : blanks) + 2);
}

void pm_page_table_end(struct pm_page *page)
{
    size_t widths[PM_PAGE_COLUMNS_MAX];
    if (page->form != PM_PAPER_TEXT) {
        pm_text_add(page->out, page->form == PM_PAPER_HTML ? "</tbody>\n</table>\n" : "\n");
        return;
    }
    for (size_t i = 0; i < page->column_count; i++)
        widths[i] = width_of(page, i);
    for (size_t i = 0; i < page->cells.count && !page->cells.arena.failed; i++) {
        const size_t column = i % page->column_count;
        if (!page->columns[column].bar)
            put_aligned(page, column, widths[column], page->cells.items[i]);
        if (column + 1 == page->column_count) {
            while (page->out->length > 0 && page->out->data[page->out->length - 1] == ' ')
                page->out->data[--page->out->length] = '\0';
            pm_text_add_char(page->out, '\n');
        }
    }
    page->failed = page->failed || page->cells.arena.failed;
    pm_list_release(&page->cells);
}
