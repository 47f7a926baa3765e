/* SPDX-License-Identifier: MIT */
/*
 * Writing what goes on paper (see page.h).
 */
#include "page.h"

#include "permille/base/utf8.h"

#include <math.h>
#include <string.h>

/* What fits within the margins of A4, a little less than there is: fonts differ. Below 6 pt print
 * is hard to read (common practice). */
#define SIZE_FULL    100 /* tenths of a point */
#define SIZE_STEP    5
#define SHEET_HEIGHT 755.0 /* points */
#define SHEET_WIDTH  525.0
#define LINE_HEIGHT  1.25 /* in sizes of the type, as all of these; they follow the style */
#define GLYPH_WIDTH  0.53 /* of the usual sans-serifs, on average */
#define CELL_PAD     1.0
#define ROW_PAD      0.1
#define ROW_RULE     0.75 /* points */
#define POINTS_OF_MM 2.835

#define BAR_LONG    24 /* mm */
#define BAR_SHORT   10 /* where there are more columns than these: */
#define BAR_COLUMNS 8

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

const char *pm_page_bar(double value, double most, char *buf)
{
    const double share = most > 0 ? fmin(fmax(value / most, 0), 1) : 0;
    return pm_decimal_format((int64_t)(share * 1e4 + 0.5), 2, 2, '.', buf);
}

/* ---- the page ---- */

static void put_style(struct pm_page *page)
{
    pm_text_add(page->out,
                "<style>@page{size:A4;margin:12mm}body{font:10pt/1.25 sans-serif;margin:1em "
                "auto;max-width:186mm;color:#000;background:#fff}@media print{body{margin:0}}"
                "h1{font-size:1.5em;margin:0 0 .3em}h2{font-size:1.15em;margin:.7em 0 .2em}"
                "p{margin:.3em 0}table{border-collapse:collapse;width:100%;margin:.5em 0}"
                "td,th{padding:.05em .5em;text-align:left;border-bottom:1px solid #ccc;"
                "vertical-align:top}tr{break-inside:avoid}.n{text-align:right;"
                "font-variant-numeric:tabular-nums;white-space:nowrap}svg{height:.8em}"
                ".turn{break-before:page}.c{font-size:.85em;border-left:3px solid;"
                "padding-left:.7em}</style>\n");
}

static double size_of(int step)
{
    return (SIZE_FULL - SIZE_STEP * step) / 10.0;
}

static double lines_of(double width, double room)
{
    return width <= room ? 1 : ceil(1.1 * width / room); /* words do not fill a line */
}

/* A paragraph, or a heading: `scale` is its type beside that of the sheet, `around` its margin. */
static void measure_text(struct pm_page *page, const char *text, double scale, double around)
{
    for (int i = 0; i < PM_PAGE_SIZES; i++) {
        const double size = size_of(i) * scale;
        const double width = (double)pm_utf8_cells(text) * GLYPH_WIDTH * size;
        page->points[i] += size * (LINE_HEIGHT * lines_of(width, SHEET_WIDTH) + around);
    }
}

/* A sheet of its own; how small its type has to be is known at its end. */
static void open_sheet(struct pm_page *page, const char *class)
{
    memset(page->points, 0, sizeof page->points);
    pm_text_addf(page->out, "<section%s style=\"font-size:", class);
    page->size_at = page->out->length;
    pm_text_addf(page->out, "%2d.%dpt\">\n", SIZE_FULL / 10, SIZE_FULL % 10);
}

static void close_sheet(struct pm_page *page)
{
    int step = 0;
    char size[8];
    while (step + 1 < PM_PAGE_SIZES && page->points[step] > SHEET_HEIGHT)
        step++;
    const int tenths = SIZE_FULL - SIZE_STEP * step;
    pm_print(size, sizeof size, "%2d.%d", tenths / 10, tenths % 10);
    if (pm_text_ok(page->out))
        memcpy(page->out->data + page->size_at, size, strlen(size));
    pm_text_add(page->out, "</section>\n");
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
                   const char *title)
{
    *page = (struct pm_page){.out = out, .form = form, .sign = sign, .cells = PM_PAGE_CELLS};
    if (form != PM_PAPER_HTML)
        return;
    pm_text_add(out, "<!DOCTYPE html>\n<html lang=\"en\">\n<head>\n<meta charset=\"utf-8\">\n"
                     "<title>");
    pm_page_text(page, title);
    pm_text_add(out, "</title>\n");
    put_style(page);
    pm_text_add(out, "</head>\n<body>\n");
    open_sheet(page, "");
}

enum pm_status pm_page_end(struct pm_page *page, struct pm_error *err)
{
    if (page->form == PM_PAPER_HTML) {
        close_sheet(page);
        pm_text_add(page->out, "</body>\n</html>\n");
    }
    pm_list_release(&page->kept);
    return pm_text_ok(page->out) && !page->failed ? PM_OK : pm_fail_memory(err);
}

void pm_page_heading(struct pm_page *page, int level, const char *text)
{
    measure_text(page, text, level == 1 ? 1.5 : 1.15, level == 1 ? 0.3 : 0.9);
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
    if (page->form == PM_PAPER_TEXT) {
        pm_page_lines(page, sentence);
        return;
    }
    measure_text(page, sentence, 1, 0.3);
    pm_text_add(page->out, page->form == PM_PAPER_HTML ? "<p>" : "");
    pm_page_text(page, sentence);
    pm_text_add(page->out, page->form == PM_PAPER_HTML ? "</p>\n" : "\n\n");
}

void pm_page_caution(struct pm_page *page, const char *sentence)
{
    if (page->form != PM_PAPER_HTML) {
        pm_text_add(page->out, page->form == PM_PAPER_TEXT ? "\n" : "");
        pm_page_say(page, sentence);
        return;
    }
    measure_text(page, sentence, 0.85, 0.3);
    pm_text_add(page->out, "<p class=\"c\">");
    pm_page_text(page, sentence);
    pm_text_add(page->out, "</p>\n");
}

void pm_page_turn(struct pm_page *page)
{
    if (page->form != PM_PAPER_HTML) {
        pm_text_add(page->out, "\n");
        return;
    }
    close_sheet(page);
    open_sheet(page, " class=\"turn\"");
}

/* ---- tables ---- */

/* Blanks behind a number keep decimal points under each other; a browser drops ordinary ones, but
 * not those that are as wide as a digit. */
static void put_blanks(struct pm_page *page, const char *text)
{
    for (size_t length = text != NULL ? strlen(text) : 0; length > 0 && text[length - 1] == ' ';
         length--)
        pm_text_add(page->out, "\xE2\x80\x87");
}

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
    put_blanks(page, text);
    pm_text_addf(page->out, "</%s>", tag);
}

static int bar_width(const struct pm_page *page)
{
    return page->column_count > BAR_COLUMNS ? BAR_SHORT : BAR_LONG;
}

/* A share, drawn; its number stands in another cell. */
static void put_bar(struct pm_page *page, const char *percent)
{
    pm_text_addf(page->out,
                 "<td><svg width=\"%dmm\" viewBox=\"0 0 100 8\" preserveAspectRatio=\"none\" "
                 "aria-hidden=\"true\"><rect width=\"",
                 bar_width(page));
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

/* Cells wait for the widths. */
static void keep_row(struct pm_page *page, const char *const *cells)
{
    for (size_t i = 0; i < page->column_count; i++) {
        const char **cell = pm_list_add(&page->kept);
        if (cell != NULL)
            *cell = pm_arena_text(&page->kept.arena, cells[i] != NULL ? cells[i] : "");
    }
}

void pm_page_table(struct pm_page *page, const struct pm_page_column *columns, size_t count)
{
    const char *titles[PM_PAGE_COLUMNS_MAX];
    page->columns = columns;
    page->column_count = count < PM_PAGE_COLUMNS_MAX ? count : PM_PAGE_COLUMNS_MAX;
    for (size_t i = 0; i < page->column_count; i++)
        titles[i] = columns[i].title;
    keep_row(page, titles);
}

void pm_page_row(struct pm_page *page, const char *const *cells)
{
    keep_row(page, cells);
}

static size_t width_of(const struct pm_page *page, size_t column)
{
    size_t width = (size_t)page->columns[column].least;
    for (size_t i = column; i < page->kept.count; i += page->column_count) {
        const char *cell = page->kept.items[i];
        const size_t cells = cell != NULL ? pm_utf8_cells(cell) : 0;
        width = cells > width ? cells : width;
    }
    return width;
}

static void put_marked_table(struct pm_page *page)
{
    const bool html = page->form == PM_PAPER_HTML;
    pm_text_add(page->out, html ? "<table>\n<thead>\n" : "");
    put_row(page, "th", page->kept.items);
    pm_text_add(page->out, html ? "</thead>\n<tbody>\n" : "");
    for (size_t i = 0; !html && i < page->column_count; i++)
        if (!page->columns[i].bar)
            pm_text_add(page->out, page->columns[i].number ? "|---:" : "|---");
    pm_text_add(page->out, html ? "" : "|\n");
    for (size_t i = page->column_count; i < page->kept.count; i += page->column_count)
        put_row(page, "td", page->kept.items + i);
    pm_text_add(page->out, html ? "</tbody>\n</table>\n" : "\n");
}

/* The room that columns of words are left with, in parts of what they would take. Numbers and bars
 * are never broken; what has no room at all is as if it had a fifth. */
static double room_for_words(const struct pm_page *page, const size_t *widths, double size)
{
    double words = 0, fixed = 0;
    for (size_t i = 0; i < page->column_count; i++) {
        const double width = (double)widths[i] * GLYPH_WIDTH * size;
        fixed += CELL_PAD * size;
        if (page->columns[i].bar)
            fixed += bar_width(page) * POINTS_OF_MM;
        else if (page->columns[i].number)
            fixed += width;
        else
            words += width;
    }
    const double room = words > 0 ? (SHEET_WIDTH - fixed) / words : 1;
    return room < 0.2 ? 0.2 : room < 1 ? room : 1;
}

static void measure_table(struct pm_page *page, const size_t *widths)
{
    for (int step = 0; step < PM_PAGE_SIZES; step++) {
        const double size = size_of(step), room = room_for_words(page, widths, size);
        page->points[step] += size; /* the margin */
        double most = 1;
        for (size_t i = 0; i < page->kept.count; i++) {
            const size_t column = i % page->column_count;
            const double width = (double)pm_utf8_cells(page->kept.items[i]);
            if (!page->columns[column].bar && !page->columns[column].number)
                most = fmax(most, lines_of(width, room * (double)widths[column]));
            if (column + 1 == page->column_count) {
                page->points[step] += size * (LINE_HEIGHT * most + ROW_PAD) + ROW_RULE;
                most = 1;
            }
        }
    }
}

void pm_page_table_end(struct pm_page *page)
{
    size_t widths[PM_PAGE_COLUMNS_MAX];
    page->failed = page->failed || page->kept.arena.failed;
    for (size_t i = 0; !page->failed && i < page->column_count; i++)
        widths[i] = width_of(page, i);
    if (!page->failed && page->form == PM_PAPER_TEXT)
        pm_page_text_table(page, widths);
    else if (!page->failed)
        put_marked_table(page);
    if (!page->failed && page->form == PM_PAPER_HTML)
        measure_table(page, widths);
    pm_list_release(&page->kept);
}
