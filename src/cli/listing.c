/* SPDX-License-Identifier: MIT */
/* One table, three forms (listing.h). */
#include "listing.h"

#include "permille/base/amount.h"
#include "permille/base/csv.h"
#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/base/word.h"
#include "permille/core/column.h"

#include <string.h>

#define GAP     2  /* cells between columns */
#define LONG    12 /* a wider column of text may go beneath the row */
#define NAMES   48 /* what is wider than this is no name, and not cut short */
#define LEGIBLE 24 /* cells of a name that are better than texts beneath the row */
#define LEAST   16 /* cells of a name that are better than a divided table */
#define BENEATH "    "

static enum pm_listing_kind kind_of(const struct pm_attribute *attribute)
{
    if (pm_attribute_is_whole(attribute))
        return PM_LISTING_NUMBER;
    switch (attribute->kind) {
    case PM_ATTRIBUTE_MASS:
    case PM_ATTRIBUTE_STRENGTH:
    case PM_ATTRIBUTE_SHARE:
        return PM_LISTING_NUMBER;
    case PM_ATTRIBUTE_FLAG:
        return PM_LISTING_BOOL;
    case PM_ATTRIBUTE_TIME:
        return PM_LISTING_TIME;
    default:
        return PM_LISTING_TEXT;
    }
}

static int scale_of(const struct pm_attribute *attribute)
{
    return attribute->kind == PM_ATTRIBUTE_MASS       ? 6
           : attribute->kind == PM_ATTRIBUTE_STRENGTH ? 7
           : attribute->kind == PM_ATTRIBUTE_SHARE    ? 9
                                                      : 0;
}

/* What the attribute says goes into the column. */
static void describe(struct pm_listing_column *column, struct pm_arena *arena)
{
    char key[PM_OPTION_TEXT];
    if (column->of == NULL)
        return;
    const struct pm_attribute *attribute = &column->of->attributes[column->which];
    column->key = pm_arena_text(arena, pm_attribute_key(attribute, key));
    column->kind = kind_of(attribute);
    column->scale = scale_of(attribute);
}

void pm_listing_init(struct pm_listing *table, const struct pm_listing_column *columns,
                     size_t count)
{
    *table = (struct pm_listing){.column_count = count};
    struct pm_listing_column *described = pm_arena_array(&table->made, count, sizeof *described);
    table->columns = described;
    for (size_t i = 0; described != NULL && i < count; i++) {
        described[i] = columns[i];
        describe(&described[i], &table->made);
    }
    table->failed = table->made.failed;
}

void pm_listing_parts(struct pm_listing *table, int least)
{
    for (size_t i = 0; table->columns != NULL && i < table->column_count; i++)
        if (table->columns[i].parts)
            table->columns[i].least = least;
}

void pm_listing_digits(struct pm_listing *table, const char *key, int places)
{
    for (size_t i = 0; table->columns != NULL && i < table->column_count; i++)
        if (pm_same_text(table->columns[i].key, key)) {
            table->columns[i].scale = places;
            table->columns[i].least = places;
        }
}

void pm_listing_release(struct pm_listing *table)
{
    for (size_t i = 0; i < table->cell_count; i++)
        pm_free(table->cells[i].text);
    pm_free(table->cells);
    pm_arena_release(&table->made);
    *table = (struct pm_listing){.columns = NULL};
}

static size_t row_count(const struct pm_listing *table)
{
    return table->cell_count / table->column_count;
}

/* ---- filling ---- */

static struct pm_listing_cell *next_cell(struct pm_listing *table)
{
    if (table->failed)
        return NULL;
    if (!pm_grow(&table->cells, &table->capacity, table->cell_count + 1, sizeof *table->cells)) {
        table->failed = true;
        return NULL;
    }
    struct pm_listing_cell *cell = &table->cells[table->cell_count++];
    *cell = (struct pm_listing_cell){.null = false};
    return cell;
}

void pm_listing_text(struct pm_listing *table, const char *text)
{
    struct pm_listing_cell *cell = next_cell(table);
    if (cell == NULL)
        return;
    cell->null = text == NULL;
    cell->text = pm_strdup(text);
    if (text != NULL && cell->text == NULL)
        table->failed = true;
}

void pm_listing_made(struct pm_listing *table, const struct pm_text *text)
{
    pm_listing_text(table, pm_text_get(text));
    table->failed = table->failed || !pm_text_ok(text);
}

void pm_listing_number(struct pm_listing *table, int64_t value)
{
    struct pm_listing_cell *cell = next_cell(table);
    if (cell != NULL)
        cell->number = value;
}

void pm_listing_number_if(struct pm_listing *table, bool known, int64_t value)
{
    if (known)
        pm_listing_number(table, value);
    else
        pm_listing_null(table);
}

void pm_listing_bool(struct pm_listing *table, bool value)
{
    pm_listing_number(table, value ? 1 : 0);
}

void pm_listing_time(struct pm_listing *table, int64_t time)
{
    pm_listing_number(table, time);
}

void pm_listing_null(struct pm_listing *table)
{
    struct pm_listing_cell *cell = next_cell(table);
    if (cell != NULL)
        cell->null = true;
}

static void add_attribute(struct pm_listing *table, const struct pm_attribute *attribute,
                          const void *row)
{
    struct pm_text text = PM_TEXT_EMPTY;
    if (!pm_attribute_known(attribute, row)) {
        pm_listing_null(table);
    } else if (kind_of(attribute) != PM_LISTING_TEXT) {
        pm_listing_number(table, pm_attribute_number(attribute, row));
    } else {
        pm_attribute_exact(attribute, row, '.', &text);
        pm_listing_made(table, &text);
    }
    pm_text_release(&text);
}

void pm_listing_attributes(struct pm_listing *table, const void *row)
{
    while (!table->failed) { /* that has no columns, perhaps */
        const struct pm_listing_column *is =
            &table->columns[table->cell_count % table->column_count];
        if (is->of == NULL)
            return;
        add_attribute(table, &is->of->attributes[is->which], row);
        if (table->cell_count % table->column_count == 0)
            return;
    }
}

/* ---- text ---- */

/* One column made ready: what each row prints there, and how wide that is. */
struct strip {
    struct pm_text *texts; /* owned; one per row, and one for the sum */
    size_t cells;
    bool beneath; /* too long for the row */
    bool hangs;   /* goes on in the lines below, in its place */
};

/* Rows of text: the table's, and the sums. */
static size_t text_rows(const struct pm_listing *table)
{
    return row_count(table) + (table->sums != NULL ? 1 : 0);
}

/* Columns that are rounded together: one, or one and those after it that add up with it. */
struct group {
    size_t first, count;
};

static struct group group_of(const struct pm_listing *table, size_t column)
{
    struct group group = {.first = column, .count = 1};
    while (group.first > 0 && table->columns[group.first].with_last)
        group.first--;
    while (group.first + group.count < table->column_count &&
           table->columns[group.first + group.count].with_last)
        group.count++;
    return group;
}

static void read_column(const struct pm_listing *table, size_t column, int64_t *values)
{
    for (size_t r = 0; r < row_count(table); r++)
        values[r] = table->cells[r * table->column_count + column].number;
}

/* What the columns of a group print as their totals, in scratch of one column: they add up too. */
static enum pm_status group_totals(const struct pm_listing *table, struct group group,
                                   int64_t *scratch, int64_t *totals, struct pm_error *err)
{
    const struct pm_listing_column *is = &table->columns[group.first];
    struct pm_column_total all;

    for (size_t c = 0; c < group.count; c++) {
        read_column(table, group.first + c, scratch);
        totals[c] = 0;
        for (size_t r = 0; r < row_count(table); r++)
            if (__builtin_add_overflow(totals[c], scratch[r], &totals[c]))
                return pm_fail(err, PM_INVALID, "The sum of \"%s\" is too large.", is->title);
    }
    return pm_round_column(totals, group.count, is->scale, is->least, totals, &all, err);
}

/* Rounds a column that adds up; values holds one number per row. */
static enum pm_status round_adding(const struct pm_listing *table, size_t column, int64_t *values,
                                   struct pm_column_total *total, struct pm_error *err)
{
    const struct pm_listing_column *is = &table->columns[column];
    const struct group group = group_of(table, column);

    if (group.count == 1)
        return pm_round_column(values, row_count(table), is->scale, is->least, values, total, err);
    int64_t *totals = pm_alloc_array(group.count, sizeof *totals);
    if (totals == NULL)
        return pm_fail_memory(err);
    enum pm_status status = group_totals(table, group, values, totals, err);
    read_column(table, column, values);
    if (status == PM_OK) {
        *total = pm_column_measure(&totals[column - group.first], 1, is->scale, is->least);
        status = pm_round_column_to(values, row_count(table), values, total, err);
    }
    pm_free(totals);
    return status;
}

/* Columns of counts and of what was chosen (a base, a level) show each number exactly. */
static struct pm_column_total measure_exact(const int64_t *values, size_t rows, int scale)
{
    struct pm_column_total total = {.scale = scale};

    for (size_t r = 0; r < rows; r++) {
        char buf[PM_AMOUNT_TEXT];
        const char *sign = strchr(pm_decimal_exact(values[r], scale, '.', buf), '.');
        const int places = sign != NULL ? (int)strlen(sign + 1) : 0;
        total.aligned = places > total.aligned ? places : total.aligned;
    }
    return total;
}

/* The column's numbers as text shows them. New array (pm_free). */
static enum pm_status round_column(const struct pm_listing *table, size_t column, int64_t **out,
                                   struct pm_column_total *total, struct pm_error *err)
{
    const struct pm_listing_column *is = &table->columns[column];
    const size_t rows = row_count(table);
    int64_t *values = pm_alloc_array(rows, sizeof *values);
    enum pm_status status = PM_OK;

    if (values == NULL)
        return pm_fail_memory(err);
    read_column(table, column, values);
    if (is->kind == PM_LISTING_NUMBER && is->adds_up)
        status = round_adding(table, column, values, total, err);
    else if (is->least > 0)
        *total = pm_column_measure(values, rows, is->scale, is->least);
    else
        *total = measure_exact(values, rows, is->scale);
    if (status != PM_OK) {
        pm_free(values);
        return status;
    }
    *out = values;
    return PM_OK;
}

static void add_number(struct pm_text *out, const struct pm_listing_column *is,
                       const struct pm_column_total *total, int64_t number, char sign)
{
    char buf[PM_AMOUNT_TEXT];

    if (is->least > 0) {
        pm_text_add(out, pm_column_row_text(total, number, sign, buf));
        return;
    }
    const char *point = strchr(pm_decimal_exact(number, is->scale, sign, buf), sign);
    const int places = point != NULL ? (int)strlen(point + 1) : 0;
    pm_text_add(out, buf);
    for (int i = places - (places == 0 && total->aligned > 0); i < total->aligned; i++)
        pm_text_add_char(out, ' ');
}

static void add_cell(struct pm_text *out, const struct pm_listing_column *is,
                     const struct pm_listing_cell *cell, int64_t number,
                     const struct pm_column_total *total, char sign)
{
    char buf[PM_TIME_TEXT];

    if (cell->null) {
        pm_text_add_char(out, '-');
        return;
    }
    switch (is->kind) {
    case PM_LISTING_TEXT:
        pm_cli_add_shown(out, cell->text);
        break;
    case PM_LISTING_NUMBER:
        add_number(out, is, total, number, sign);
        break;
    case PM_LISTING_BOOL:
        pm_text_add(out, number != 0 ? "yes" : "");
        break;
    case PM_LISTING_TIME:
        pm_text_add(out, pm_time_format(number, buf));
        break;
    }
}

/* What the row of sums says in a column: its total, or, in the first column of text, its name. */
static void add_sum(struct pm_text *out, const struct pm_listing *table, size_t column,
                    const struct pm_column_total *total, char sign)
{
    char buf[PM_AMOUNT_TEXT];
    size_t first = 0;

    while (first < table->column_count &&
           (table->columns[first].kind != PM_LISTING_TEXT || table->columns[first].title == NULL))
        first++;
    if (table->columns[column].adds_up)
        pm_text_add(out, pm_column_total_text(total, sign, buf));
    else if (column == first)
        pm_cli_add_shown(out, table->sums);
}

static enum pm_status make_strip(const struct pm_listing *table, size_t column, char sign,
                                 struct strip *strip, struct pm_error *err)
{
    const struct pm_listing_column *is = &table->columns[column];
    const size_t rows = row_count(table);
    struct pm_column_total total;
    int64_t *numbers = NULL;

    if (is->title == NULL)
        return PM_OK;
    enum pm_status status = round_column(table, column, &numbers, &total, err);
    if (status != PM_OK)
        return status;
    strip->texts = pm_alloc_array(rows + 1, sizeof *strip->texts);
    if (strip->texts == NULL) {
        pm_free(numbers);
        return pm_fail_memory(err);
    }
    strip->cells = pm_utf8_cells(is->title);
    for (size_t r = 0; r < rows; r++)
        add_cell(&strip->texts[r], is, &table->cells[r * table->column_count + column], numbers[r],
                 &total, sign);
    if (table->sums != NULL)
        add_sum(&strip->texts[rows], table, column, &total, sign);
    for (size_t r = 0; r < text_rows(table); r++) {
        if (!pm_text_ok(&strip->texts[r]))
            status = pm_fail_memory(err);
        const size_t cells = pm_utf8_cells(pm_text_get(&strip->texts[r]));
        strip->cells = cells > strip->cells ? cells : strip->cells;
    }
    pm_free(numbers);
    return PM_OK;
}

/* Blanks still owed, those behind a number too, are written only when something follows: no line
 * ends in blanks. */
static void add_padded(struct pm_text *out, const char *text, size_t width, bool right,
                       size_t *owed)
{
    const size_t cells = pm_utf8_cells(text), pad = width > cells ? width - cells : 0;
    size_t length = strlen(text), blanks = 0;

    while (length > 0 && text[length - 1] == ' ') {
        length--;
        blanks++;
    }
    if (length > 0) {
        for (size_t i = right ? pad + *owed : *owed; i > 0; i--)
            pm_text_add_char(out, ' ');
        pm_text_add_bytes(out, text, length);
        *owed = blanks + (right ? 0 : pad);
    } else {
        *owed += width;
    }
    *owed += GAP;
}

/* Columns that stand side by side: those from `from` to before `to`, and the one that names rows.
 */
struct block {
    size_t name, from, to;
};

static bool in_block(const struct pm_listing *table, const struct strip *strips, struct block block,
                     size_t column)
{
    return table->columns[column].title != NULL && !strips[column].beneath &&
           (column == block.name || (column >= block.from && column < block.to));
}

/* A text broken into lines of `cells`: the first stands in the row, the others, each behind
 * `indent` blanks, are added to `below`. */
static void add_hanging(struct pm_text *out, struct pm_text *below, const char *text, size_t cells,
                        size_t indent, size_t *owed)
{
    struct pm_text lines = PM_TEXT_EMPTY;
    pm_cli_add_broken(&lines, text, cells);
    out->failed = out->failed || !pm_text_ok(&lines);
    if (lines.data == NULL)
        add_padded(out, "", cells, false, owed);
    char *line = lines.data;
    for (char *next; line != NULL; line = next) {
        next = strchr(line, '\n');
        if (next != NULL)
            *next++ = '\0';
        if (line == lines.data) {
            add_padded(out, line, cells, false, owed);
            continue;
        }
        for (size_t i = 0; i < indent; i++)
            pm_text_add_char(below, ' ');
        pm_text_addf(below, "%s\n", line);
    }
    pm_text_release(&lines);
}

static void add_row(struct pm_text *out, const struct pm_listing *table, const struct strip *strips,
                    struct block block, const size_t *row)
{
    struct pm_text below = PM_TEXT_EMPTY;
    size_t owed = 0, indent = 0;
    for (size_t c = 0; c < table->column_count; c++) {
        const struct pm_listing_column *is = &table->columns[c];
        if (!in_block(table, strips, block, c))
            continue;
        const char *text = row == NULL ? is->title : pm_text_get(&strips[c].texts[*row]);
        if (strips[c].hangs)
            add_hanging(out, &below, text, strips[c].cells, indent, &owed);
        else
            add_padded(out, text, strips[c].cells, is->kind == PM_LISTING_NUMBER, &owed);
        indent += strips[c].cells + GAP;
    }
    pm_text_add_char(out, '\n');
    pm_text_add(out, pm_text_get(&below));
    out->failed = out->failed || !pm_text_ok(&below);
    pm_text_release(&below);
}

static void add_beneath(struct pm_text *out, const struct pm_listing *table,
                        const struct strip *strips, size_t row)
{
    for (size_t c = 0; c < table->column_count; c++) {
        const char *text = strips[c].beneath ? pm_text_get(&strips[c].texts[row]) : "";
        const char *title = table->columns[c].title;
        if (text[0] != '\0' && strcmp(text, "-") != 0)
            pm_text_addf(out, BENEATH "%s%s%s\n", title, title[0] != '\0' ? ": " : "", text);
    }
}

/* ---- a terminal's width ---- */

static size_t row_cells(const struct pm_listing *table, const struct strip *strips,
                        struct block block)
{
    size_t cells = 0;
    for (size_t c = 0; c < table->column_count; c++)
        if (in_block(table, strips, block, c))
            cells += strips[c].cells + GAP;
    return cells > GAP ? cells - GAP : 0;
}

static bool is_text(const struct pm_listing *table, size_t column)
{
    return table->columns[column].title != NULL && table->columns[column].kind == PM_LISTING_TEXT;
}

/* The column that names the rows: the first text, or a longer one right after it. */
static size_t name_column(const struct pm_listing *table, const struct strip *strips)
{
    size_t first = 0;
    while (first + 1 < table->column_count && !is_text(table, first))
        first++;
    for (size_t c = first; c < first + 3 && c < table->column_count; c++)
        if (is_text(table, c) && strips[c].cells > LONG)
            return c;
    return first;
}

static void cut_column(const struct pm_listing *table, struct strip *strip, size_t cells)
{
    strip->cells = cells;
    for (size_t r = 0; r < text_rows(table); r++) {
        struct pm_text *text = &strip->texts[r];
        if (pm_utf8_cells(pm_text_get(text)) <= cells)
            continue;
        text->length = pm_utf8_fit(pm_text_get(text), cells - 1);
        text->data[text->length] = '\0';
        pm_text_add(text, "\u2026");
    }
}

/* Cuts the names so that rows fit, if that leaves `least` cells of them. */
static bool cut_names(const struct pm_listing *table, struct strip *strips, size_t name,
                      size_t room, size_t least)
{
    const struct block all = {name, 0, table->column_count};
    const size_t cells = row_cells(table, strips, all), over = cells > room ? cells - room : 0;
    if (over > 0 && is_text(table, name) && strips[name].cells <= NAMES &&
        strips[name].cells >= least + over)
        cut_column(table, &strips[name], strips[name].cells - over);
    return row_cells(table, strips, all) <= room;
}

/* Lets the longest text go on in the lines below its row, if that makes rows fit. */
static bool hang_longest(const struct pm_listing *table, struct strip *strips, size_t name,
                         size_t room)
{
    const struct block all = {name, 0, table->column_count};
    const size_t cells = row_cells(table, strips, all);
    size_t longest = table->column_count;
    for (size_t c = 0; c < table->column_count; c++)
        if (is_text(table, c) && (c != name || strips[c].cells > NAMES) &&
            (longest == table->column_count || strips[c].cells > strips[longest].cells))
            longest = c;
    if (cells <= room || longest == table->column_count ||
        cells - strips[longest].cells + LEGIBLE > room)
        return cells <= room;
    strips[longest].cells = room - (cells - strips[longest].cells);
    strips[longest].hangs = true;
    return true;
}

/* Names cut a little; else the longest text broken; else long texts beneath the rows; else names
 * cut more; else both and still too wide, which blocks make up for. */
static void fit(const struct pm_listing *table, struct strip *strips, size_t name, size_t room)
{
    const struct block all = {name, 0, table->column_count};
    const size_t part = 2 * room / 5 > LEAST ? 2 * room / 5 : LEAST;

    if (cut_names(table, strips, name, room, LEGIBLE) || hang_longest(table, strips, name, room))
        return;
    for (size_t c = table->column_count; c-- > 0;)
        if (c != name && row_cells(table, strips, all) > room && is_text(table, c) &&
            strips[c].cells > LONG)
            strips[c].beneath = true;
    if (!cut_names(table, strips, name, room, LEAST) && is_text(table, name) &&
        strips[name].cells > part)
        cut_column(table, &strips[name], part);
}

/* Where the block that begins at `from` has to end: before a number, what follows belongs to it. */
static size_t block_end(const struct pm_listing *table, const struct strip *strips, size_t name,
                        size_t from, size_t room)
{
    size_t end = 0;
    for (size_t c = from + 1; c < table->column_count; c++) {
        const struct block upto = {name, from, c + 1};
        if (table->columns[c].kind == PM_LISTING_NUMBER && in_block(table, strips, upto, c))
            end = c;
        if (end > from && row_cells(table, strips, upto) > room)
            return end;
    }
    return table->column_count;
}

static void add_rows(struct pm_text *out, const struct pm_listing *table, struct strip *strips,
                     size_t room)
{
    struct block block = {.name = name_column(table, strips), .to = table->column_count};

    if (room > 0)
        fit(table, strips, block.name, room);
    for (; block.from < table->column_count; block.from = block.to) {
        if (room > 0)
            block.to = block_end(table, strips, block.name, block.from, room);
        if (block.from > 0)
            pm_text_add_char(out, '\n');
        add_row(out, table, strips, block, NULL);
        for (size_t r = 0; r < text_rows(table); r++) {
            add_row(out, table, strips, block, &r);
            if (block.from == 0)
                add_beneath(out, table, strips, r);
        }
    }
}

static void release_strips(const struct pm_listing *table, struct strip *strips)
{
    for (size_t c = 0; strips != NULL && c < table->column_count; c++) {
        for (size_t r = 0; strips[c].texts != NULL && r <= row_count(table); r++)
            pm_text_release(&strips[c].texts[r]);
        pm_free(strips[c].texts);
    }
    pm_free(strips);
}

static enum pm_status make_strips(const struct pm_listing *table, char sign, struct strip **out,
                                  struct pm_error *err)
{
    enum pm_status status = PM_OK;
    struct strip *strips = pm_alloc_array(table->column_count, sizeof *strips);
    if (table->failed || strips == NULL) {
        pm_free(strips);
        return pm_fail_memory(err);
    }
    for (size_t c = 0; c < table->column_count && status == PM_OK; c++)
        status = make_strip(table, c, sign, &strips[c], err);
    if (status == PM_OK)
        *out = strips;
    else
        release_strips(table, strips);
    return status;
}

enum pm_status pm_listing_as_text(const struct pm_listing *table, char sign, size_t room,
                                  struct pm_text *out, struct pm_error *err)
{
    struct strip *strips;
    enum pm_status status = make_strips(table, sign, &strips, err);
    if (status != PM_OK)
        return status;
    add_rows(out, table, strips, room);
    for (size_t c = 0; c < table->column_count; c++)
        for (size_t r = 0; strips[c].texts != NULL && r <= row_count(table); r++)
            if (!pm_text_ok(&strips[c].texts[r]))
                status = pm_fail_memory(err);
    release_strips(table, strips);
    return status == PM_OK && !pm_text_ok(out) ? pm_fail_memory(err) : status;
}

/* ---- plain lines ---- */

/* A cell on a line of its own, without the blanks that placed it; nothing for an empty one. */
static void add_line(struct pm_text *out, const char *title, const char *text, bool null)
{
    text += strspn(text, " ");
    size_t length = strlen(text);
    while (length > 0 && text[length - 1] == ' ')
        length--;
    if (length == 0)
        return;
    pm_text_addf(out, "%s%s", title, title[0] != '\0' ? ": " : "");
    if (null)
        pm_text_add(out, "no entry");
    else
        pm_text_add_bytes(out, text, length);
    pm_text_add_char(out, '\n');
}

static void add_lines(struct pm_text *out, const struct pm_listing *table,
                      const struct strip *strips, size_t row)
{
    const bool sums = row == row_count(table);
    pm_text_add(out, row > 0 ? "\n" : "");
    if (!sums)
        pm_text_addf(out, "%zu of %zu\n", row + 1, row_count(table));
    for (size_t c = 0; c < table->column_count; c++) {
        const char *title = table->columns[c].title;
        if (title == NULL)
            continue;
        const bool null = !sums && table->cells[row * table->column_count + c].null;
        /* The sums' name stands in the place of a name. */
        const bool name = sums && !table->columns[c].adds_up;
        add_line(out, name ? "" : title, pm_text_get(&strips[c].texts[row]), null);
    }
}

/* The same as plain lines, one row after another, "label: value", for a screen reader: nothing is
 * aligned, cut or left to a column's place. What is not known is said ("no entry"). */
static enum pm_status as_lines(const struct pm_listing *table, char sign, struct pm_text *out,
                               struct pm_error *err)
{
    struct strip *strips;
    const enum pm_status status = make_strips(table, sign, &strips, err);
    if (status != PM_OK)
        return status;
    for (size_t row = 0; row < text_rows(table); row++)
        add_lines(out, table, strips, row);
    release_strips(table, strips);
    return pm_text_ok(out) ? PM_OK : pm_fail_memory(err);
}

enum pm_status pm_listing_show(const struct pm_listing *table, struct pm_cli *cli,
                               struct pm_error *err)
{
    return cli->linear
               ? as_lines(table, pm_decimal_sign(), &cli->out, err)
               : pm_listing_as_text(table, pm_decimal_sign(), cli->front->columns, &cli->out, err);
}

/* ---- CSV and JSON ---- */

enum pm_status pm_listing_as_csv(const struct pm_listing *table, struct pm_text *out,
                                 struct pm_error *err)
{
    char buf[PM_AMOUNT_TEXT > PM_TIME_TEXT ? PM_AMOUNT_TEXT : PM_TIME_TEXT];
    bool first = true;

    if (table->failed)
        return pm_fail_memory(err);
    for (size_t c = 0; c < table->column_count; c++)
        if (table->columns[c].key != NULL) {
            pm_csv_field(out, table->columns[c].key, first);
            first = false;
        }
    pm_csv_end(out);
    for (size_t i = 0; i < table->cell_count; i++) {
        const struct pm_listing_column *is = &table->columns[i % table->column_count];
        const struct pm_listing_cell *cell = &table->cells[i];
        const char *value = cell->text;
        if (i % table->column_count == 0)
            first = true;
        if (is->kind == PM_LISTING_NUMBER)
            value = pm_decimal_exact(cell->number, is->scale, '.', buf);
        else if (is->kind == PM_LISTING_BOOL)
            value = cell->number != 0 ? "true" : "false";
        else if (is->kind == PM_LISTING_TIME)
            value = pm_time_iso(cell->number, buf);
        if (is->key != NULL) {
            pm_csv_field(out, cell->null ? "" : value, first);
            first = false;
        }
        if ((i + 1) % table->column_count == 0)
            pm_csv_end(out);
    }
    return pm_text_ok(out) ? PM_OK : pm_fail_memory(err);
}

static void put_json(struct pm_json *json, const struct pm_listing_column *is,
                     const struct pm_listing_cell *cell)
{
    char buf[PM_TIME_TEXT];

    pm_json_key(json, is->key);
    if (cell->null) {
        pm_json_null(json);
        return;
    }
    switch (is->kind) {
    case PM_LISTING_TEXT:
        pm_json_string(json, cell->text);
        break;
    case PM_LISTING_NUMBER:
        pm_json_decimal(json, cell->number, is->scale);
        break;
    case PM_LISTING_BOOL:
        pm_json_bool(json, cell->number != 0);
        break;
    case PM_LISTING_TIME:
        pm_json_string(json, pm_time_iso(cell->number, buf));
        break;
    }
}

enum pm_status pm_listing_as_json(const struct pm_listing *table, struct pm_json *json,
                                  struct pm_error *err)
{
    if (table->failed)
        return pm_fail_memory(err);
    pm_json_open(json, '[');
    for (size_t i = 0; i < table->cell_count; i++) {
        const struct pm_listing_column *is = &table->columns[i % table->column_count];
        if (i % table->column_count == 0)
            pm_json_open(json, '{');
        if (is->key != NULL)
            put_json(json, is, &table->cells[i]);
        if ((i + 1) % table->column_count == 0)
            pm_json_close(json, '}');
    }
    pm_json_close(json, ']');
    return pm_text_ok(json->out) ? PM_OK : pm_fail_memory(err);
}

static enum pm_status answer(const struct pm_listing *table, struct pm_cli *cli, const char *key,
                             const char *none, struct pm_error *err)
{
    struct pm_json json;
    enum pm_status status;

    if (cli->form == PM_CLI_CSV)
        return pm_listing_as_csv(table, &cli->out, err);
    if (cli->form == PM_CLI_TEXT && row_count(table) > 0)
        return pm_listing_show(table, cli, err);
    if (cli->form == PM_CLI_TEXT) {
        if (table->failed)
            return pm_fail_memory(err);
        pm_cli_say(cli, "%s", none);
        return PM_OK;
    }
    pm_json_init(&json, &cli->out);
    pm_json_open(&json, '{');
    pm_json_key(&json, key);
    status = pm_listing_as_json(table, &json, err);
    pm_json_close(&json, '}');
    return status;
}

enum pm_status pm_listing_answer(struct pm_listing *table, struct pm_cli *cli, const char *key,
                                 const char *none, struct pm_error *err)
{
    const enum pm_status status = answer(table, cli, key, none, err);
    pm_listing_release(table);
    return status;
}
