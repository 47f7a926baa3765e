/* SPDX-License-Identifier: MIT */
/* RFC 4180, read strictly and written plainly. */
#include "permille/base/csv.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"

#include <string.h>

static const char byte_order_mark[] = "\xef\xbb\xbf";

/* What the first record that is not empty holds most of outside quotes; ',' before ';' before a
 * tab where it is as many. */
static char find_separator(const char *data, size_t length)
{
    static const char separators[] = {',', ';', '\t'};
    size_t counts[3] = {0, 0, 0}, best = 0;
    bool quoted = false, any = false;

    for (size_t i = 0; i < length; i++) {
        char byte = data[i];

        if (byte == '"')
            quoted = !quoted;
        else if (!quoted && byte == '\n' && any)
            break;
        for (size_t k = 0; !quoted && k < 3; k++)
            counts[k] += byte == separators[k];
        any = any || (byte != '\n' && byte != '\r');
    }
    for (size_t k = 1; k < 3; k++)
        best = counts[k] > counts[best] ? k : best;
    return separators[best];
}

/* Bytes of a first line that is only a remark; "#" may also head a column of numbers. */
static size_t remark(const char *data, size_t length)
{
    if (length == 0 || data[0] != '#' || (length > 1 && strchr(",;\t", data[1]) != NULL && data[1]))
        return 0;
    const char *end = memchr(data, '\n', length);
    return end != NULL ? (size_t)(end - data) + 1 : length;
}

void pm_csv_init(struct pm_csv *csv, const char *data, size_t length)
{
    memset(csv, 0, sizeof *csv);
    pm_text_init(&csv->buffer);
    if (length >= 3 && memcmp(data, byte_order_mark, 3) == 0) {
        data += 3;
        length -= 3;
    }
    const size_t skipped = remark(data, length);
    csv->data = data + skipped;
    csv->length = length - skipped;
    csv->line = csv->next_line = skipped > 0 ? 2 : 1;
    csv->separator = find_separator(csv->data, csv->length);
}

void pm_csv_release(struct pm_csv *csv)
{
    pm_free(csv->fields);
    pm_text_release(&csv->buffer);
    memset(csv, 0, sizeof *csv);
}

/* Where one record's reading stands; the reader itself moves on only when the record is whole. */
struct scan {
    const struct pm_csv *csv;
    size_t offset;
    size_t line;       /* 1-based, of the offset */
    size_t line_start; /* offset of that line's first byte */
    struct pm_text *buffer;
    size_t count; /* fields ended so far, each with a NUL behind it in the buffer */
    struct pm_error *err;
};

static enum pm_status refuse(const struct scan *scan, size_t offset, const char *why)
{
    size_t column = 1;

    for (size_t at = scan->line_start; at < offset; column++) {
        uint32_t code;
        at += pm_utf8_decode(scan->csv->data + at, offset - at, &code);
    }
    return pm_fail(scan->err, PM_INVALID, "Line %zu, column %zu: %s.", scan->line, column, why);
}

/* Bytes of the line end at the offset, 0 when there is none. */
static size_t line_end(const struct pm_csv *csv, size_t offset)
{
    if (offset < csv->length && csv->data[offset] == '\n')
        return 1;
    if (offset + 1 < csv->length && csv->data[offset] == '\r' && csv->data[offset + 1] == '\n')
        return 2;
    return 0;
}

/* Copies characters of ASCII that mean nothing here, as many as stand together: nearly all of most
 * tables. */
static void take_ordinary(struct scan *scan)
{
    const struct pm_csv *csv = scan->csv;
    const size_t start = scan->offset;
    size_t at = start;

    for (; at < csv->length; at++) {
        const unsigned char byte = (unsigned char)csv->data[at];
        if (byte < ' ' || byte >= 0x80 || byte == '"' || csv->data[at] == csv->separator)
            break;
    }
    if (at > start)
        pm_text_add_bytes(scan->buffer, csv->data + start, at - start);
    scan->offset = at;
}

/* Copies the character at the offset to the buffer. */
static enum pm_status take_character(struct scan *scan)
{
    const char *at = scan->csv->data + scan->offset;
    uint32_t code;
    size_t used = pm_utf8_decode(at, scan->csv->length - scan->offset, &code);

    if (used == 1 && code == 0xFFFD)
        return refuse(scan, scan->offset, "the bytes are not UTF-8 text");
    if (code == 0)
        return refuse(scan, scan->offset, "a NUL byte stands in the text");
    pm_text_add_bytes(scan->buffer, at, used);
    scan->offset += used;
    if (code == '\n') {
        scan->line++;
        scan->line_start = scan->offset;
    }
    return PM_OK;
}

static enum pm_status take_quoted(struct scan *scan)
{
    const struct pm_csv *csv = scan->csv;
    struct scan opening = *scan; /* an unclosed quote is told where it began */

    scan->offset++;
    for (take_ordinary(scan); scan->offset < csv->length; take_ordinary(scan)) {
        if (csv->data[scan->offset] != '"') {
            enum pm_status status = take_character(scan);
            if (status != PM_OK)
                return status;
        } else if (scan->offset + 1 < csv->length && csv->data[scan->offset + 1] == '"') {
            pm_text_add_char(scan->buffer, '"');
            scan->offset += 2;
        } else {
            scan->offset++;
            if (scan->offset < csv->length && csv->data[scan->offset] != csv->separator &&
                line_end(csv, scan->offset) == 0)
                return refuse(scan, scan->offset, "text follows a closing quote");
            return PM_OK;
        }
    }
    return refuse(&opening, opening.offset, "a quote opens here and is never closed");
}

static enum pm_status take_plain(struct scan *scan)
{
    const struct pm_csv *csv = scan->csv;

    for (take_ordinary(scan);
         scan->offset < csv->length && csv->data[scan->offset] != csv->separator &&
         line_end(csv, scan->offset) == 0;
         take_ordinary(scan)) {
        enum pm_status status;

        if (csv->data[scan->offset] == '"')
            return refuse(scan, scan->offset, "a quote stands inside a field that has none around");
        if (csv->data[scan->offset] == '\r')
            return refuse(scan, scan->offset, "a carriage return stands alone");
        status = take_character(scan);
        if (status != PM_OK)
            return status;
    }
    return PM_OK;
}

/* Reads the fields of one record up to and with its line end. */
static enum pm_status take_record(struct scan *scan)
{
    const struct pm_csv *csv = scan->csv;

    for (;;) {
        bool quoted = scan->offset < csv->length && csv->data[scan->offset] == '"';
        enum pm_status status = quoted ? take_quoted(scan) : take_plain(scan);

        if (status != PM_OK)
            return status;
        pm_text_add_char(scan->buffer, '\0');
        scan->count++;
        if (scan->offset == csv->length || csv->data[scan->offset] != csv->separator)
            break;
        scan->offset++;
    }
    scan->offset += line_end(csv, scan->offset);
    return PM_OK;
}

/* ---- what a spreadsheet would work out ---- */

/* Signs that begin a formula in a spreadsheet, whatever quotes stand around the field. */
static const char formula_signs[] = "=+-@\t\r";

/* An apostrophe that pm_csv_field put before such a sign: apostrophes, then the sign. */
static bool is_guarded(const char *value)
{
    size_t apostrophes = strspn(value, "'");
    char sign = value[apostrophes];
    return apostrophes > 0 && sign != '\0' && strchr(formula_signs, sign) != NULL;
}

static bool needs_guard(const char *value)
{
    if (value[0] == '\0' || strchr(formula_signs, value[0]) == NULL)
        return is_guarded(value);
    if (value[0] != '-' && value[0] != '+')
        return true;
    return value[1] == '\0' || value[1 + strspn(value + 1, "0123456789.")] != '\0';
}

/* Points fields[] at the strings in the buffer, now that it has stopped moving. */
static bool point_fields(struct pm_csv *csv, size_t count)
{
    char *at = csv->buffer.data;

    if (!pm_text_ok(&csv->buffer) || !pm_grow(&csv->fields, &csv->capacity, count, sizeof(char *)))
        return false;
    for (size_t i = 0; i < count; i++) {
        csv->fields[i] = at + is_guarded(at);
        at += strlen(at) + 1;
    }
    csv->count = count;
    return true;
}

static size_t count_lines(const char *data, size_t from, size_t to)
{
    size_t lines = 0;

    for (size_t i = from; i < to; i++)
        lines += data[i] == '\n';
    return lines;
}

enum pm_status pm_csv_next(struct pm_csv *csv, bool *more, struct pm_error *err)
{
    struct scan scan = {.csv = csv, .offset = csv->offset, .buffer = &csv->buffer, .err = err};
    size_t end, start;
    enum pm_status status;

    csv->count = 0;
    pm_text_clear(&csv->buffer);
    while ((end = line_end(csv, scan.offset)) > 0)
        scan.offset += end;
    if (scan.offset == csv->length) {
        csv->offset = scan.offset;
        *more = false;
        return PM_OK;
    }
    scan.line = csv->next_line + count_lines(csv->data, csv->offset, scan.offset);
    scan.line_start = start = scan.offset;
    status = take_record(&scan);
    if (status != PM_OK)
        return status;
    if (!point_fields(csv, scan.count))
        return pm_fail_memory(err);
    csv->line = csv->next_line + count_lines(csv->data, csv->offset, start);
    csv->next_line = csv->line + count_lines(csv->data, start, scan.offset);
    csv->offset = scan.offset;
    *more = true;
    return PM_OK;
}

int pm_csv_column(const struct pm_csv *csv, const char *name)
{
    for (size_t i = 0; i < csv->count; i++)
        if (pm_fold_equal(csv->fields[i], name))
            return (int)i;
    return -1;
}

void pm_csv_field(struct pm_text *out, const char *value, bool first)
{
    if (!first)
        pm_text_add_char(out, ',');
    /* ';' and tabs are quoted too: a file of one column would otherwise be taken for one separated
     * by them; and what would be read as a mark or a remark. */
    if (value[strcspn(value, ",;\t\"\r\n")] == '\0' && strncmp(value, byte_order_mark, 3) != 0 &&
        !(first && value[0] == '#')) {
        pm_text_add(out, needs_guard(value) ? "'" : "");
        pm_text_add(out, value);
        return;
    }
    pm_text_add(out, needs_guard(value) ? "\"'" : "\"");
    for (; *value != '\0'; value++) {
        if (*value == '"')
            pm_text_add_char(out, '"');
        pm_text_add_char(out, *value);
    }
    pm_text_add_char(out, '"');
}

void pm_csv_end(struct pm_text *out)
{
    /* A record of one empty field would be an empty line, which readers pass over. */
    if (out->length == 0 || out->data[out->length - 1] == '\n')
        pm_text_add(out, "\"\"");
    pm_text_add(out, "\r\n");
}

/* Also with a decimal comma, and a percent sign: people copy what they see. */
static bool is_signed_number(const char *value)
{
    return (value[0] == '-' || value[0] == '+') && value[1] != '\0' &&
           value[1 + strspn(value + 1, "0123456789., %")] == '\0';
}

void pm_tsv_field(struct pm_text *out, const char *value, bool first)
{
    const char *begin = value + strspn(value, " ");
    if (!first)
        pm_text_add_char(out, '\t');
    if (begin[0] != '\0' && strchr(formula_signs, begin[0]) != NULL && !is_signed_number(begin))
        pm_text_add_char(out, '\'');
    for (; *value != '\0'; value++)
        pm_text_add_char(out, *value == '\t' || *value == '\n' || *value == '\r' ? ' ' : *value);
}
