/* SPDX-License-Identifier: MIT */
/* Jotted formulas: lines become formulas. */
#include "permille/core/jotting.h"

#include "jotting_line.h"
#include "permille/base/mem.h"
#include "permille/base/text.h"
#include "permille/base/utf8.h"

#include <string.h>

struct reader {
    struct pm_jotting out;
    struct pm_jot *jots; /* owned; every line of the text */
    size_t count, capacity;
};

/* ---- what a line is -------------------------------------------------------------------------- */

static bool is_total(const struct pm_jot *jot)
{
    static const char *const words[] = {
        "total", "total:", "totals", "sum", "sum:", "=", "makes", "all", "whole", "together"};
    bool number = false, word = jot->under_rule;
    for (size_t i = 0; i < jot->count; i++) {
        bool known = false;
        if (jot->pieces[i].number) {
            number = true;
            continue;
        }
        for (size_t k = 0; k < sizeof words / sizeof *words; k++)
            known = known || pm_piece_is(&jot->pieces[i], words[k]);
        if (!known)
            return false;
        word = true;
    }
    return number && word;
}

static size_t numbers_in(const struct pm_jot *jot)
{
    size_t numbers = 0;
    for (size_t i = 0; i < jot->count; i++)
        numbers += jot->pieces[i].number;
    return numbers;
}

static bool has_amount(const struct pm_jot *jot)
{
    return jot->kind == PM_JOT_NUMBER && !jot->strength_alone;
}

static bool ends_in_colon(const struct pm_jot *jot)
{
    size_t length = jot->text != NULL ? strlen(jot->text) : 0;
    return length > 0 && jot->text[length - 1] == ':';
}

static const struct pm_jot *next_told(const struct reader *reader, size_t at)
{
    for (size_t i = at + 1; i < reader->count; i++)
        if (reader->jots[i].kind != PM_JOT_BLANK)
            return &reader->jots[i];
    return NULL;
}

/* A heading: words, or something that ends in a colon, or a first line that is set off below. */
static bool is_title(const struct reader *reader, size_t at, bool begins)
{
    const struct pm_jot *jot = &reader->jots[at];
    if (jot->kind == PM_JOT_WORDS)
        return true;
    if (jot->kind != PM_JOT_NUMBER || is_total(jot) || strchr(jot->text, '|') != NULL)
        return false;
    bool set_off = at + 1 < reader->count && (reader->jots[at + 1].kind == PM_JOT_RULE ||
                                              reader->jots[at + 1].kind == PM_JOT_BLANK);
    const struct pm_jot *next = next_told(reader, at);
    return ends_in_colon(jot) ||
           (begins && set_off && next != NULL && (next->kind == PM_JOT_RULE || has_amount(next)) &&
            !is_total(next));
}

/* ---- a line of a formula --------------------------------------------------------------------- */

/* Whether amounts stand before the names in this formula: what most lines leave no choice about. */
static bool amounts_lead(const struct pm_jot *jots, size_t count)
{
    size_t lead = 0, trail = 0;
    for (size_t i = 0; i < count; i++) {
        const struct pm_jot *jot = &jots[i];
        if (!has_amount(jot) || jot->count < 2 || is_total(jot))
            continue;
        bool first = jot->pieces[0].number, last = jot->pieces[jot->count - 1].number;
        lead += first && !last;
        trail += last && !first;
    }
    return lead > trail;
}

/* Takes out the numbers of the lines themselves, "1 Linalool 600", where all of them have one. */
static void without_places(struct pm_jot *jots, size_t count)
{
    size_t lines = 0;
    for (size_t i = 0; i < count; i++) {
        const struct pm_jot *jot = &jots[i];
        if (!has_amount(jot) || is_total(jot))
            continue;
        if (numbers_in(jot) < 2 || !jot->pieces[0].number ||
            jot->pieces[0].unit != PM_JOTTED_PARTS ||
            jot->pieces[0].amount != (int64_t)++lines * 1000000)
            return;
    }
    for (size_t i = 0; i < count && lines > 1; i++)
        if (has_amount(&jots[i]) && !is_total(&jots[i])) {
            jots[i].pieces++;
            jots[i].count--;
        }
}

/* Which piece is the amount; jot->count when there is none. */
static size_t amount_place(const struct pm_jot *jot, bool lead)
{
    if (lead && jot->count > 0 && jot->pieces[0].number)
        return 0;
    if (!lead && jot->count > 1 && jot->pieces[jot->count - 1].number)
        return jot->count - 1;
    for (size_t i = jot->count; i-- > 0;)
        if (jot->pieces[i].number && (i > 0 || jot->count > 1 || jot->under_rule))
            return i;
    return jot->count;
}

static bool is_filler(const struct pm_piece *piece)
{
    return pm_piece_is(piece, "of") || pm_piece_is(piece, "x") || pm_piece_is(piece, "=") ||
           pm_piece_is(piece, ":") || pm_piece_is(piece, "-") || pm_piece_is(piece, "@") ||
           pm_piece_is(piece, "\xE2\x80\x93") || pm_piece_is(piece, "\xE2\x80\x94");
}

/* The pieces from..to as one text, without what only joins them to the number. */
static const char *text_of(const struct pm_jot *jot, size_t from, size_t to, struct pm_arena *arena)
{
    while (from < to && is_filler(&jot->pieces[from]))
        from++;
    while (to > from && is_filler(&jot->pieces[to - 1]))
        to--;
    const char *words = pm_jot_words(jot, from, to, ":=,;\"", arena);
    return words != NULL && *words == '"' && words[1] != '\0' ? words + 1 : words;
}

/* Where it says that there is a little of it, behind the name; jot->count when it does not. */
static size_t trace_place(const struct pm_jot *jot)
{
    static const char *const words[] = {"trace", "traces", "tr.", "tr", "q.s.", "qs"};
    for (size_t i = 1; i < jot->count; i++)
        for (size_t k = 0; k < sizeof words / sizeof *words; k++)
            if (pm_piece_is(&jot->pieces[i], words[k]))
                return i;
    return jot->count;
}

static bool says_trace(const struct pm_jot *jot)
{
    return trace_place(jot) < jot->count;
}

/* Where the name ends in a line without an amount. */
static size_t words_end(const struct pm_jot *jot)
{
    return jot->garbled ? jot->count - 1 : trace_place(jot);
}

static const char *doubt_of(const struct pm_jot *jot, const struct pm_jotted_line *line,
                            size_t amount)
{
    if (jot->unread)
        return "the strength is above 100 %, or nothing";
    if (line->name == NULL)
        return "there is no name";
    if (jot->garbled)
        return "the number cannot be read";
    if (!line->has_amount)
        return says_trace(jot) ? "a trace has no number: give one" : "there is no amount";
    if (line->unit == PM_JOTTED_DROPS)
        return "drops and millilitres say nothing about mass: weigh it";
    if (jot->pieces[amount].thousands)
        return "one, or a thousand?";
    if (line->amount == 0)
        return "the amount is nothing";
    if (numbers_in(jot) > 1)
        return "another number stands in the line";
    return jot->asked ? "a question mark stands there" : jot->about ? "only about so much" : NULL;
}

static void add_line(struct reader *reader, const struct pm_jot *jot, bool lead)
{
    struct pm_arena *arena = &reader->out.arena;
    struct pm_jotted_line *line =
        pm_arena_push(arena, &reader->out.lines, &reader->out.line_count, sizeof *line);
    if (line == NULL)
        return;
    size_t amount = amount_place(jot, lead);
    *line = (struct pm_jotted_line){.at = jot->at,
                                    .text = jot->text,
                                    .strength = jot->strength,
                                    .solvent = jot->solvent,
                                    .comment = jot->comment,
                                    .has_amount = amount < jot->count};
    if (line->has_amount) {
        line->amount = jot->pieces[amount].amount;
        line->unit = jot->pieces[amount].unit;
    }
    if (amount == 0)
        line->name = text_of(jot, 1, jot->count, arena);
    else
        line->name = text_of(jot, 0, line->has_amount ? amount : words_end(jot), arena);
    /* Words behind an amount that stands behind the name are about it. */
    if (amount > 0 && amount + 1 < jot->count && line->comment == NULL)
        line->comment = text_of(jot, amount + 1, jot->count, arena);
    line->doubt = doubt_of(jot, line, amount);
}

/* Both, as far as comments go. */
static const char *joined_to(const char *first, const char *between, const char *second,
                             struct pm_arena *arena)
{
    struct pm_text both = PM_TEXT_EMPTY;
    if (first != NULL && strlen(first) + strlen(second) > PM_JOTTED_COMMENT)
        return first;
    if (first != NULL)
        pm_text_addf(&both, "%s%s", first, between);
    pm_text_add(&both, second);
    const char *kept = pm_arena_text(arena, pm_text_get(&both));
    arena->failed = arena->failed || !pm_text_ok(&both);
    pm_text_release(&both);
    return kept;
}

/* Words alone below a line are about it, or its neighbour without an amount. */
static void add_words(struct pm_jotted_line *line, const struct pm_jot *jot, struct pm_arena *arena)
{
    const char *name = pm_jot_words(jot, 0, jot->count, "?-.:=,; ", arena);
    line->comment = joined_to(line->comment, "; ", jot->text, arena);
    if (name != NULL)
        line->below = joined_to(line->below, "\n", name, arena);
}

/* ---- formulas -------------------------------------------------------------------------------- */

static const char *title_text(const struct pm_jot *jot, struct pm_arena *arena)
{
    size_t length = strlen(jot->text);
    const char *text = jot->text;
    while (length > 0 && strchr("# *=:", *text) != NULL) {
        text++;
        length--;
    }
    while (length > 0 && strchr(": *=", text[length - 1]) != NULL)
        length--;
    /* Bars stand between the headings of columns. */
    return length > 0 && memchr(text, '|', length) == NULL
               ? pm_arena_text_bytes(arena, text, length)
               : NULL;
}

/* Lines from..to are one formula; its title, if it has one, stands at `title`. */
static void add_formula(struct reader *reader, size_t title, size_t from, size_t to)
{
    struct pm_jotting *out = &reader->out;
    without_places(reader->jots + from, to - from);
    bool lead = amounts_lead(reader->jots + from, to - from);
    struct pm_jotted_formula formula = {.first = out->line_count,
                                        .at = reader->jots[title < to ? title : from].at};
    if (title < to)
        formula.title = title_text(&reader->jots[title], &out->arena);
    for (size_t i = from; i < to; i++) {
        const struct pm_jot *jot = &reader->jots[i];
        if (jot->kind == PM_JOT_NUMBER && is_total(jot)) {
            size_t amount = amount_place(jot, lead);
            formula.has_total = amount < jot->count;
            if (formula.has_total) {
                formula.total = jot->pieces[amount].amount;
                formula.total_unit = jot->pieces[amount].unit;
            }
        } else if (jot->kind == PM_JOT_NUMBER || (jot->kind == PM_JOT_WORDS && says_trace(jot))) {
            add_line(reader, jot, lead);
        } else if (jot->kind == PM_JOT_WORDS && out->line_count > formula.first) {
            add_words(&out->lines[out->line_count - 1], jot, &out->arena);
        }
    }
    formula.count = out->line_count - formula.first;
    if (formula.count == 0)
        return;
    struct pm_jotted_formula *added =
        pm_arena_push(&out->arena, &out->formulas, &out->formula_count, sizeof *added);
    if (added != NULL)
        *added = formula;
}

static void tell_apart(struct reader *reader)
{
    size_t title = reader->count, from = 0;
    bool begins = true, lines = false, totalled = false;
    for (size_t i = 0; i < reader->count; i++) {
        const struct pm_jot *jot = &reader->jots[i];
        bool heading = (begins || ends_in_colon(jot)) && is_title(reader, i, begins);
        bool goes_on = jot->kind == PM_JOT_NUMBER && !is_total(jot);
        if (lines && (heading || (totalled && goes_on))) {
            add_formula(reader, title, from, i);
            title = reader->count;
            from = i;
            lines = totalled = false;
        }
        if (heading && !lines) {
            title = title < reader->count && !begins ? title : i;
            from = i + 1;
        } else if (jot->kind == PM_JOT_NUMBER) {
            lines = lines || !is_total(jot);
            totalled = totalled || is_total(jot);
        }
        begins = jot->kind == PM_JOT_BLANK || jot->kind == PM_JOT_RULE || (begins && heading);
    }
    if (lines)
        add_formula(reader, title, from, reader->count);
}

/* ---- the text -------------------------------------------------------------------------------- */

/* Some programs write text in units of two bytes, which begins so. */
static bool is_utf16(const char *text, size_t length)
{
    return length >= 2 && (memcmp(text, "\xFF\xFE", 2) == 0 || memcmp(text, "\xFE\xFF", 2) == 0);
}

static enum pm_status check(const char *text, size_t length, struct pm_error *err)
{
    size_t line = 1, column = 1;
    if (length > PM_JOTTING_BYTES)
        return pm_fail(err, PM_INVALID, "The text is longer than %d MiB.",
                       PM_JOTTING_BYTES / 1024 / 1024);
    for (size_t at = 0; at < length; column++) {
        uint32_t code;
        size_t bytes = pm_utf8_decode(text + at, length - at, &code);
        if (code == 0)
            return pm_fail(err, PM_INVALID, "Line %zu, column %zu: a NUL byte stands in the text.",
                           line, column);
        if (!pm_utf8_valid(text + at, bytes))
            return pm_fail(
                err, PM_INVALID, "Line %zu, column %zu: the bytes are not UTF-8 text%s.", line,
                column, at == 0 && is_utf16(text, length) ? ", but UTF-16: save it as UTF-8" : "");
        at += bytes;
        if (code == '\n' || (code == '\r' && (at == length || text[at] != '\n'))) {
            line++;
            column = 0;
        }
    }
    return PM_OK;
}

/* Bytes of the line at the text, and of the end behind it: LF, CR LF, or CR alone. */
static size_t line_of(const char *text, size_t length, size_t *end)
{
    size_t bytes = 0;
    while (bytes < length && text[bytes] != '\n' && text[bytes] != '\r')
        bytes++;
    *end = bytes == length                                                        ? 0
           : text[bytes] == '\r' && bytes + 1 < length && text[bytes + 1] == '\n' ? 2
                                                                                  : 1;
    return bytes;
}

static bool read_line(struct reader *reader, const char *text, size_t length, size_t at)
{
    if (!pm_grow((void **)&reader->jots, &reader->capacity, reader->count + 1,
                 sizeof *reader->jots))
        return false;
    const char *copy = pm_arena_text_bytes(&reader->out.arena, text, length);
    struct pm_jot *jot = &reader->jots[reader->count];
    pm_jot_read(copy != NULL ? copy : "", copy != NULL ? length : 0, at, &reader->out.arena, jot);
    jot->under_rule = jot->count == 1 && jot->pieces[0].number && reader->count > 0 &&
                      jot[-1].kind == PM_JOT_RULE;
    reader->count++;
    return true;
}

/* Up to a comma with a blank behind it, or all. */
static size_t up_to_comma(const char *text, size_t length)
{
    for (size_t i = 0; i + 1 < length; i++)
        if (text[i] == ',' && text[i + 1] == ' ')
            return i;
    return length;
}

/* "Linalool 600, Coumarin 300": several lines in one, when each has a name and a number; else it
 * is read as the one it is. */
static bool cut_line(struct reader *reader, const char *text, size_t length, size_t at)
{
    const size_t before = reader->count;
    bool each = up_to_comma(text, length) < length;
    for (size_t from = 0; each && from < length;) {
        const size_t piece = up_to_comma(text + from, length - from);
        if (!read_line(reader, text + from, piece, at))
            return false;
        const struct pm_jot *jot = &reader->jots[reader->count - 1];
        each = has_amount(jot) && !jot->garbled && jot->count > 1;
        from += piece + 2;
    }
    if (each)
        return true;
    reader->count = before;
    return read_line(reader, text, length, at);
}

static bool cut_lines(struct reader *reader, const char *text, size_t length)
{
    static const char byte_order_mark[] = "\xEF\xBB\xBF";
    size_t line = 1;
    if (length >= 3 && memcmp(text, byte_order_mark, 3) == 0) {
        text += 3;
        length -= 3;
    }
    while (length > 0) {
        size_t end;
        size_t bytes = line_of(text, length, &end);
        if (!cut_line(reader, text, bytes, line++))
            return false;
        bytes += end;
        text += bytes;
        length -= bytes;
    }
    return true;
}

enum pm_status pm_jotting_read(const char *text, size_t length, struct pm_jotting *out,
                               struct pm_error *err)
{
    struct reader reader = {0};
    enum pm_status status = check(text, length, err);
    if (status != PM_OK)
        return status;
    if (!cut_lines(&reader, text, length))
        status = pm_fail_memory(err);
    if (status == PM_OK)
        tell_apart(&reader);
    pm_free(reader.jots);
    if (status == PM_OK)
        status = pm_arena_status(&reader.out.arena, err);
    if (status == PM_OK && reader.out.line_count == 0)
        status = pm_fail(err, PM_REFUSED, "No line of that text holds a name and a number.");
    if (status != PM_OK)
        pm_arena_release(&reader.out.arena);
    else
        *out = reader.out;
    return status;
}

void pm_jotting_release(struct pm_jotting *jotting)
{
    pm_arena_release(&jotting->arena);
    memset(jotting, 0, sizeof *jotting);
}
