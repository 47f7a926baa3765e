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

/* Whether a piece is one of the words, with a colon behind it or not. */
static bool is_word_of(const struct pm_piece *piece, const char *const *words, size_t count)
{
    struct pm_piece plain = *piece;
    if (plain.length > 1 && plain.text[plain.length - 1] == ':')
        plain.length--;
    for (size_t i = 0; i < count; i++)
        if (pm_piece_is(&plain, words[i]))
            return true;
    return false;
}
#define IS_WORD_OF(PIECE, WORDS) is_word_of(PIECE, WORDS, sizeof(WORDS) / sizeof *(WORDS))

static bool is_total(const struct pm_jot *jot)
{
    static const char *const totals[] = {"total", "totals", "sum",      "=",     "makes", "all",
                                         "whole", "summe",  "together", "somme", "gesamt"};
    static const char *const joints[] = {":", "-", "of", "the", "weight"};
    bool number = false, word = jot->under_rule;
    for (size_t i = 0; i < jot->count; i++)
        if (jot->pieces[i].number)
            number = true;
        else if (IS_WORD_OF(&jot->pieces[i], totals))
            word = true;
        else if (!IS_WORD_OF(&jot->pieces[i], joints))
            return false;
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

/* The place of the next line that is not blank; reader->count when there is none. */
static size_t next_told(const struct reader *reader, size_t at)
{
    do
        at++;
    while (at < reader->count && reader->jots[at].kind == PM_JOT_BLANK);
    return at;
}

static bool holds_amount(const struct reader *reader, size_t at)
{
    return at < reader->count && has_amount(&reader->jots[at]) && !is_total(&reader->jots[at]);
}

static bool begins_with_digit(const struct pm_piece *piece)
{
    return piece->length > 0 && piece->text[0] >= '0' && piece->text[0] <= '9';
}

/* "Batch: 12", "Lot 14": about a formula, and no name of it. */
static bool is_about(const struct pm_jot *jot)
{
    static const char *const words[] = {"batch", "lot", "page", "date", "formula"};
    return jot->count == 2 && IS_WORD_OF(&jot->pieces[0], words) &&
           begins_with_digit(&jot->pieces[1]) && jot->pieces[1].unit == PM_JOTTED_PARTS;
}

/* "Trial 5", "13/04 trial 4 - softer", "(version 2)": a number that only counts formulas. Within a
 * block it stands first. */
static bool numbers_a_trial(const struct pm_jot *jot, bool begins)
{
    static const char *const words[] = {"trial", "version", "attempt", "mod", "mod.",    "no.",
                                        "nr.",   "v",       "v.",      "try", "versuch", "essai"};
    if (begins && is_about(jot))
        return true;
    for (size_t i = 0; i + 1 < jot->count && (begins || i == 0); i++) {
        struct pm_piece word = jot->pieces[i];
        size_t later = 0;
        if (word.length > 1 && (*word.text == '(' || *word.text == '[')) {
            word.text++;
            word.length--;
        }
        for (size_t k = i + 2; k < jot->count; k++)
            later += jot->pieces[k].number;
        if (IS_WORD_OF(&word, words) && begins_with_digit(&jot->pieces[i + 1]))
            return later == 0 && jot->pieces[i + 1].unit == PM_JOTTED_PARTS;
    }
    return false;
}

/* Whether a line is set off from the lines of a formula below it, by a rule or a blank line. Where
 * those have blank lines between them as well, it is one of them. */
static bool is_set_off(const struct reader *reader, size_t at)
{
    const size_t next = next_told(reader, at);
    if (next < reader->count && reader->jots[next].kind == PM_JOT_RULE)
        return true;
    if (next >= reader->count || numbers_a_trial(&reader->jots[next], true))
        return false;
    return next > at + 1 && holds_amount(reader, next) && holds_amount(reader, next + 1);
}

/* A heading: words, or something that ends in a colon, or a first line that is set off below. */
static bool is_title(const struct reader *reader, size_t at, bool begins)
{
    const struct pm_jot *jot = &reader->jots[at];
    if (jot->kind == PM_JOT_WORDS)
        return true;
    if (jot->kind != PM_JOT_NUMBER || is_total(jot) || strchr(jot->text, '|') != NULL)
        return false;
    return ends_in_colon(jot) || numbers_a_trial(jot, begins) || (begins && is_set_off(reader, at));
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

/* Where it says that a line fills the formula up, "q.s. to 100", "ad 100"; jot->count when it does
 * not. */
static size_t fill_place(const struct pm_jot *jot)
{
    static const char *const words[] = {"q.s.", "q.s", "qs", "q.s.p.", "qsp", "ad", "to", "up"};
    const struct pm_piece *pieces = jot->pieces;
    for (size_t i = 0; i + 1 < jot->count; i++) {
        const bool joined = pm_piece_is(&pieces[i + 1], "to") || pm_piece_is(&pieces[i + 1], "ad");
        const size_t at = i + 1 + joined;
        if (IS_WORD_OF(&pieces[i], words) && at < jot->count && pieces[at].number)
            return numbers_in(jot) == 1 ? i : jot->count;
    }
    return jot->count;
}

/* Which piece is the amount; jot->count when there is none. */
static size_t amount_place(const struct pm_jot *jot, bool lead)
{
    if (fill_place(jot) < jot->count)
        return jot->count;
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
    static const char *const words[] = {"of",           "x",           ":", ",", "@", "\xC3\x97",
                                        "\xE2\x80\x93", "\xE2\x80\x94"};
    size_t dashes = 0;
    while (dashes < piece->length && strchr("-=", piece->text[dashes]) != NULL)
        dashes++;
    return dashes == piece->length || IS_WORD_OF(piece, words);
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

static size_t number_place(const struct pm_jot *jot)
{
    for (size_t i = 0; i < jot->count; i++)
        if (jot->pieces[i].number)
            return i;
    return jot->count;
}

/* The name in a line without an amount. */
static const char *name_without(const struct pm_jot *jot, struct pm_arena *arena)
{
    const size_t fill = fill_place(jot);
    const size_t end = fill < jot->count ? fill : jot->garbled ? jot->garbled_at : trace_place(jot);
    if (end > 0)
        return text_of(jot, 0, end, arena);
    return text_of(jot, fill == 0 ? number_place(jot) + 1 : 1, jot->count, arena);
}

/* "1,000" may be one or a thousand; "1.000" as well where commas are decimal signs. */
static bool may_be_thousand(const struct pm_piece *piece, bool commas)
{
    return piece->three && (piece->decimal == ',' || commas);
}

static const char *doubt_of(const struct pm_jot *jot, const struct pm_jotted_line *line,
                            size_t amount, bool commas)
{
    if (jot->unread)
        return "the strength is above 100 %, or nothing";
    if (line->name == NULL)
        return "there is no name";
    if (jot->garbled)
        return "the number cannot be read";
    if (fill_place(jot) < jot->count)
        return "it fills up to a total: give its parts";
    if (!line->has_amount)
        return says_trace(jot) ? "a trace has no number: give one" : "there is no amount";
    if (line->unit == PM_JOTTED_DROPS)
        return "drops, volumes and ounces are not read: weigh it";
    if (line->unit == PM_JOTTED_PRICE)
        return "a price is no amount";
    if (may_be_thousand(&jot->pieces[amount], commas))
        return "one, or a thousand?";
    if (line->amount == 0)
        return "the amount is nothing";
    if (numbers_in(jot) > 1 || jot->odd)
        return "another number stands in the line";
    return jot->asked ? "a question mark stands there" : jot->about ? "only about so much" : NULL;
}

/* How the lines of a formula are written. */
struct manner {
    bool lead;   /* amounts stand before the names */
    bool commas; /* they are decimal signs */
};

static bool has_commas(const struct pm_jot *jots, size_t count)
{
    for (size_t i = 0; i < count; i++)
        for (size_t k = 0; k < jots[i].count; k++)
            if (jots[i].pieces[k].decimal == ',' && !jots[i].pieces[k].three)
                return true;
    return false;
}

/* "and then 2 of Vanillin": the name stands behind, since what stands before is none. */
static bool names_behind(const struct pm_jot *jot, size_t amount)
{
    static const char *const words[] = {"and", "then", "plus", "add", "also", "take", "another"};
    for (size_t i = 0; i < amount; i++)
        if (!IS_WORD_OF(&jot->pieces[i], words) && !is_filler(&jot->pieces[i]))
            return false;
    return amount + 1 < jot->count;
}

static void add_line(struct reader *reader, const struct pm_jot *jot, struct manner manner)
{
    struct pm_arena *arena = &reader->out.arena;
    struct pm_jotted_line *line =
        pm_arena_push(arena, &reader->out.lines, &reader->out.line_count, sizeof *line);
    if (line == NULL)
        return;
    const size_t amount = amount_place(jot, manner.lead);
    const bool behind = names_behind(jot, amount);
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
    if (!line->has_amount)
        line->name = name_without(jot, arena);
    else if (behind)
        line->name = text_of(jot, amount + 1, jot->count, arena);
    else
        line->name = text_of(jot, 0, amount, arena);
    /* Words behind an amount that stands behind the name are about it. */
    if (!behind && amount + 1 < jot->count && line->comment == NULL)
        line->comment = text_of(jot, amount + 1, jot->count, arena);
    line->doubt = doubt_of(jot, line, amount, manner.commas);
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
    const struct manner manner = {.lead = amounts_lead(reader->jots + from, to - from),
                                  .commas = has_commas(reader->jots + from, to - from)};
    struct pm_jotted_formula formula = {.first = out->line_count,
                                        .at = reader->jots[title < to ? title : from].at};
    if (title < to)
        formula.title = title_text(&reader->jots[title], &out->arena);
    for (size_t i = from; i < to; i++) {
        const struct pm_jot *jot = &reader->jots[i];
        if (jot->kind == PM_JOT_NUMBER && is_total(jot)) {
            size_t amount = amount_place(jot, manner.lead);
            formula.has_total = amount < jot->count;
            if (formula.has_total) {
                formula.total = jot->pieces[amount].amount;
                formula.total_unit = jot->pieces[amount].unit;
            }
        } else if (jot->kind == PM_JOT_NUMBER || (jot->kind == PM_JOT_WORDS && says_trace(jot))) {
            add_line(reader, jot, manner);
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
        bool heading = (begins || ends_in_colon(jot) || numbers_a_trial(jot, begins)) &&
                       is_title(reader, i, begins);
        bool goes_on = jot->kind == PM_JOT_NUMBER && !is_total(jot);
        if (lines && (heading || (totalled && goes_on))) {
            add_formula(reader, title, from, i);
            title = reader->count;
            from = i;
            lines = totalled = false;
        }
        if (heading && !lines) {
            title = title < reader->count && (!begins || is_about(jot)) ? title : i;
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

/* Up to a comma or semicolon with a blank behind it, or all. A semicolon behind a blank begins a
 * comment. */
static size_t up_to_break(const char *text, size_t length)
{
    for (size_t i = 0; i + 1 < length; i++)
        if (text[i + 1] == ' ' &&
            (text[i] == ',' || (text[i] == ';' && i > 0 && text[i - 1] != ' ')))
            return i;
    return length;
}

/* "Linalool 600, Coumarin 300": several lines in one, when each begins or ends with its number;
 * else it is read as the one it is. */
static bool cut_line(struct reader *reader, const char *text, size_t length, size_t at)
{
    const size_t before = reader->count;
    bool each = up_to_break(text, length) < length;
    for (size_t from = 0; each && from < length;) {
        const size_t piece = up_to_break(text + from, length - from);
        if (!read_line(reader, text + from, piece, at))
            return false;
        const struct pm_jot *jot = &reader->jots[reader->count - 1];
        const bool last = from + piece + 2 >= length;
        each = has_amount(jot) && !jot->garbled && jot->count > 1 &&
               (last || jot->comment == NULL) &&
               (jot->pieces[0].number || jot->pieces[jot->count - 1].number);
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
