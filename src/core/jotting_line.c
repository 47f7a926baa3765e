/* SPDX-License-Identifier: MIT */
/* Jotted formulas: taking one line apart. */
#include "jotting_line.h"

#include "permille/base/utf8.h"

#include <string.h>
#include <strings.h>

#define MICRO       1000000
#define AMOUNT_MOST INT64_C(1000000000000000) /* a thousand million of anything */

/* ---- characters ------------------------------------------------------------------------------ */

static bool is_digit(char c)
{
    return c >= '0' && c <= '9';
}

static size_t space_at(const char *text, const char *end)
{
    return text < end ? pm_utf8_space(text) : 0;
}

static bool starts(const char *text, const char *end, const char *with)
{
    size_t length = strlen(with);
    return (size_t)(end - text) >= length && strncasecmp(text, with, length) == 0;
}

/* One mark of what people draw between name and number. */
static size_t mark_at(const char *text, const char *end)
{
    static const char *const marks[] = {
        "\xE2\x80\xA6", "\xC2\xB7", "\xE2\x80\xA2", "\xE2\x86\x92", "\xE2\x87\x92", ".", "|", "_"};
    for (size_t i = 0; i < sizeof marks / sizeof *marks; i++)
        if (starts(text, end, marks[i]))
            return strlen(marks[i]);
    return 0;
}

/* "->", "=>", "--->". */
static size_t arrow_at(const char *text, const char *end)
{
    const char *at = text;
    while (at < end && *at == *text && (*at == '-' || *at == '='))
        at++;
    return at > text && at < end && *at == '>' ? (size_t)(at + 1 - text) : 0;
}

/* Where such a drawing begins: "....", "____", "…", "·····", "|", "->"; a single point is none. */
static size_t leader_at(const char *text, const char *end)
{
    const size_t mark = mark_at(text, end), arrow = arrow_at(text, end);
    if (arrow > 0)
        return arrow;
    bool alone = mark == 3 || (mark == 1 && *text != '.');
    return alone || (mark > 0 && mark_at(text + mark, end) > 0) ? mark : 0;
}

/* ---- numbers --------------------------------------------------------------------------------- */

struct number {
    int64_t value; /* 1e-6 */
    bool thousands;
};

static bool push_digit(int64_t *value, char digit)
{
    if (*value > AMOUNT_MOST)
        return false;
    *value = *value * 10 + (digit - '0');
    return true;
}

/* "12", "12.5", ",5", "1/2"; at most six decimals count. Returns its bytes, 0 when there is none.
 */
static size_t number_at(const char *text, const char *end, struct number *out)
{
    const char *at = text;
    int64_t whole = 0, part = 0, unit = MICRO;
    size_t digits = 0, decimals = 0, marks = 0;
    char mark = '\0';
    for (; at < end; at++) {
        bool inside = (*at == '.' || *at == ',') && at + 1 < end && is_digit(at[1]);
        if (inside && marks == 0) {
            mark = *at;
            marks++;
        } else if (is_digit(*at) && marks == 0) {
            digits++;
            if (!push_digit(&whole, *at))
                return 0;
        } else if (is_digit(*at)) {
            decimals++;
            if (unit > 1)
                part += (*at - '0') * (unit /= 10);
        } else {
            break;
        }
    }
    if (digits + decimals == 0 ||
        (at < end && (*at == '.' || *at == ',') && at + 1 < end && is_digit(at[1])))
        return 0;
    if (whole > AMOUNT_MOST / MICRO)
        return 0;
    *out = (struct number){whole * MICRO + part, mark == ',' && digits > 0 && decimals == 3};
    if (at + 1 < end && *at == '/' && is_digit(at[1]) && marks == 0) {
        int64_t below = 0;
        for (at++; at < end && is_digit(*at); at++)
            if (!push_digit(&below, *at))
                return 0;
        if (below == 0)
            return 0;
        out->value = (whole * MICRO + below / 2) / below;
    }
    return (size_t)(at - text);
}

static const struct unit {
    const char *word;
    enum pm_jotted_unit unit;
    int64_t times; /* of the number, in thousandths */
} units[] = {
    {"%", PM_JOTTED_PERCENT, 1000},   {"\xE2\x80\xB0", PM_JOTTED_PERMILLE, 1000},
    {"ppm", PM_JOTTED_PPM, 1000},     {"percent", PM_JOTTED_PERCENT, 1000},
    {"parts", PM_JOTTED_PARTS, 1000}, {"part", PM_JOTTED_PARTS, 1000},
    {"pts", PM_JOTTED_PARTS, 1000},   {"kg", PM_JOTTED_MASS, 1000000},
    {"grams", PM_JOTTED_MASS, 1000},  {"gram", PM_JOTTED_MASS, 1000},
    {"mg", PM_JOTTED_MASS, 1},        {"g", PM_JOTTED_MASS, 1000},
    {"drops", PM_JOTTED_DROPS, 1000}, {"drop", PM_JOTTED_DROPS, 1000},
    {"ml", PM_JOTTED_DROPS, 1000},
};

/* The unit right at `text`, ending where a word ends. Returns its bytes. */
static size_t unit_at(const char *text, const char *end, const struct unit **out)
{
    for (size_t i = 0; i < sizeof units / sizeof *units; i++) {
        size_t length = strlen(units[i].word);
        const char *behind = text + length;
        bool ends = behind >= end || space_at(behind, end) || strchr(".,;:)]|", *behind) != NULL;
        if (starts(text, end, units[i].word) && (ends || i < 2)) {
            *out = &units[i];
            return length;
        }
    }
    return 0;
}

/* A number standing by itself, with its unit, which may follow after blanks. Returns its bytes. */
static size_t amount_at(const char *text, const char *end, struct pm_piece *out)
{
    struct number number;
    const struct unit *unit = NULL;
    size_t length = number_at(text, end, &number);
    if (length == 0)
        return 0;
    const char *at = text + length;
    size_t blank = space_at(at, end), unit_length = unit_at(at, end, &unit);
    if (unit_length == 0 && blank > 0)
        unit_length = unit_at(at + blank, end, &unit);
    else
        blank = 0;
    if (unit_length > 0)
        at += blank + unit_length;
    const bool so_often = at < end && (*at == 'x' || *at == 'X') && space_at(at + 1, end);
    bool alone = so_often || at >= end || space_at(at, end) || leader_at(at, end) ||
                 strchr(",;:)]=?", *at) != NULL;
    if (!alone && unit_length == 0)
        return 0;
    *out = (struct pm_piece){.text = text,
                             .length = (size_t)(at - text),
                             .number = true,
                             .amount = number.value,
                             .unit = unit != NULL ? unit->unit : PM_JOTTED_PARTS,
                             .thousands = number.thousands};
    if (unit != NULL && unit->unit == PM_JOTTED_MASS) {
        int64_t times = unit->times;
        if (out->amount > AMOUNT_MOST / times * 1000)
            return 0;
        out->amount = times < 1000 ? out->amount / 1000 * times : out->amount * (times / 1000);
    }
    return out->length;
}

bool pm_jotted_amount(const char *text, int64_t *amount, enum pm_jotted_unit *unit)
{
    const char *end = text + strlen(text);
    struct pm_piece piece;
    while (space_at(text, end) > 0)
        text += space_at(text, end);
    const size_t length = amount_at(text, end, &piece);
    if (length == 0 || !pm_is_blank(text + length))
        return false;
    *amount = piece.amount;
    *unit = piece.unit;
    return true;
}

static bool is_fraction(const struct pm_piece *piece)
{
    return piece->number && (piece->unit == PM_JOTTED_PERCENT ||
                             piece->unit == PM_JOTTED_PERMILLE || piece->unit == PM_JOTTED_PPM);
}

/* 0: it is none. */
static pm_strength strength_of(const struct pm_piece *piece)
{
    int64_t times = piece->unit == PM_JOTTED_PERCENT ? 10 : 1;
    if (piece->unit == PM_JOTTED_PPM)
        return piece->amount / 1000 > PM_NEAT ? 0 : piece->amount / 1000;
    if (piece->amount > PM_NEAT)
        return 0;
    pm_strength strength = piece->amount * times;
    return strength > 0 && strength <= PM_NEAT ? strength : 0;
}

/* ---- pieces ---------------------------------------------------------------------------------- */

bool pm_piece_is(const struct pm_piece *piece, const char *word)
{
    return piece->length == strlen(word) && strncasecmp(piece->text, word, piece->length) == 0;
}

/* Passes blanks and leaders; tells whether more than a blank was passed. */
static const char *pass(const char *text, const char *end, bool *apart)
{
    size_t blanks = 0;
    *apart = false;
    for (;;) {
        size_t length = space_at(text, end);
        if (length > 0) {
            *apart = *apart || *text == '\t' || ++blanks > 1;
        } else if (leader_at(text, end) > 0) {
            while ((length = mark_at(text, end) + arrow_at(text, end)) > 0)
                text += length; /* a mark is no arrow */
            *apart = true;
            continue;
        }
        if (length == 0)
            return text;
        text += length;
    }
}

static size_t word_at(const char *text, const char *end)
{
    const char *at = text;
    while (at < end && !space_at(at, end) && !leader_at(at, end) &&
           (at == text || (*at != '(' && *at != '[')))
        at++;
    return (size_t)(at - text);
}

/* "~5", "≈5": the sign before a number that says it is only about so much. */
static size_t about_at(const char *text, const char *end)
{
    const size_t sign = starts(text, end, "~") ? 1 : starts(text, end, "\xE2\x89\x88") ? 3 : 0;
    struct pm_piece piece;
    return sign > 0 && amount_at(text + sign, end, &piece) > 0 ? sign : 0;
}

/* "x4", "×4": the sign of so many times. */
static size_t times_at(const char *text, const char *end)
{
    const size_t sign = starts(text, end, "x") ? 1 : starts(text, end, "\xC3\x97") ? 2 : 0;
    struct pm_piece piece;
    return sign > 0 && amount_at(text + sign, end, &piece) > 0 ? sign : 0;
}

static size_t cut_up(const char *text, const char *end, struct pm_piece *pieces)
{
    size_t count = 0;
    bool apart;
    while ((text = pass(text, end, &apart)) < end) {
        struct pm_piece piece;
        const size_t about = about_at(text, end);
        text += about + times_at(text, end);
        size_t length = amount_at(text, end, &piece);
        if (length == 0) {
            length = word_at(text, end);
            piece = (struct pm_piece){.text = text, .length = length};
        }
        piece.apart = apart;
        piece.about = about > 0;
        if (count == PM_JOTTED_PIECES)
            pieces[count - 1].length = (size_t)(text + length - pieces[count - 1].text);
        else
            pieces[count++] = piece;
        text += length;
    }
    return count;
}

const char *pm_jot_words(const struct pm_jot *jot, size_t from, size_t to, const char *without,
                         struct pm_arena *arena)
{
    size_t length = 0;
    for (size_t i = from; i < to; i++)
        length += jot->pieces[i].length + 1;
    char *words = length > 0 ? pm_arena_array(arena, length, 1) : NULL;
    if (words == NULL)
        return NULL;
    length = 0;
    for (size_t i = from; i < to; i++) {
        if (i > from)
            words[length++] = ' ';
        memcpy(words + length, jot->pieces[i].text, jot->pieces[i].length);
        length += jot->pieces[i].length;
    }
    while (length > 0 && strchr(without, words[length - 1]) != NULL)
        length--;
    words[length] = '\0';
    return length > 0 ? words : NULL;
}

static void take_out(struct pm_jot *jot, size_t from, size_t count)
{
    jot->count -= count;
    memmove(&jot->pieces[from], &jot->pieces[from + count],
            (jot->count - from) * sizeof *jot->pieces);
}

/* ---- what is not sure ---- */

static bool says_about(const struct pm_piece *piece)
{
    static const char *const words[] = {"~",      "\xE2\x89\x88", "ca",     "ca.",
                                        "circa",  "about",        "abt",    "abt.",
                                        "approx", "approx.",      "roughly"};
    for (size_t i = 0; i < sizeof words / sizeof *words; i++)
        if (pm_piece_is(piece, words[i]))
            return true;
    return false;
}

static size_t last_number(const struct pm_jot *jot)
{
    size_t last = jot->count;
    for (size_t i = 0; i < jot->count; i++)
        last = jot->pieces[i].number ? i : last;
    return last;
}

/* Takes question marks off a piece; whether there were any. */
static bool unask(struct pm_piece *piece)
{
    const size_t length = piece->length;
    while (!piece->number && piece->length > 0 && piece->text[piece->length - 1] == '?')
        piece->length--;
    return piece->length < length;
}

/* "ca. 5", "~5", "5?", "Linalool? 5": the words and signs go, the doubt stays. Question marks
 * behind the amount's own are about something else. */
static void find_unsure(struct pm_jot *jot)
{
    for (size_t i = 0; i < jot->count; i++) {
        jot->about = jot->about || jot->pieces[i].about;
        if (i + 1 < jot->count && jot->pieces[i + 1].number && says_about(&jot->pieces[i])) {
            jot->about = true;
            take_out(jot, i, 1);
        }
    }
    const size_t last = last_number(jot);
    if (last == jot->count)
        return;
    for (size_t i = last + 2; i-- > 0;) {
        if (i >= jot->count || !unask(&jot->pieces[i]))
            continue;
        jot->asked = true;
        if (jot->pieces[i].length == 0)
            take_out(jot, i, 1);
    }
}

/* ---- strengths ------------------------------------------------------------------------------- */

/* The words from a piece on, as far as they go on without a number or a gap. */
static size_t words_from(const struct pm_jot *jot, size_t from)
{
    size_t count = 0;
    while (from + count < jot->count && !jot->pieces[from + count].number &&
           (count == 0 || !jot->pieces[from + count].apart))
        count++;
    return count;
}

/* Words with a blank between, without what only closes them. */
static const char *joined(const struct pm_jot *jot, size_t from, size_t count,
                          struct pm_arena *arena)
{
    return pm_jot_words(jot, from, from + count, ")],;:=", arena);
}

static void set_strength(struct pm_jot *jot, const struct pm_piece *piece)
{
    jot->strength = strength_of(piece);
    jot->unread = jot->strength == 0;
}

/* "10 % in DPG", "10% solution", "@ 10%", "at 10 %": a strength by the words around it. */
static bool strength_by_words(struct pm_jot *jot, size_t at, struct pm_arena *arena)
{
    size_t from = at, count = 1;
    bool told = false;
    if (at > 0 &&
        (pm_piece_is(&jot->pieces[at - 1], "@") || pm_piece_is(&jot->pieces[at - 1], "at"))) {
        told = true;
        from--;
        count++;
    }
    while (at + 1 < jot->count && from + count < jot->count) {
        const struct pm_piece *next = &jot->pieces[from + count];
        if (!pm_piece_is(next, "sol") && !pm_piece_is(next, "sol.") &&
            !pm_piece_is(next, "solution") && !pm_piece_is(next, "dil.") &&
            !pm_piece_is(next, "dilution"))
            break;
        told = true;
        count++;
    }
    if (from + count < jot->count && pm_piece_is(&jot->pieces[from + count], "in")) {
        size_t words = words_from(jot, from + count + 1);
        jot->solvent = joined(jot, from + count + 1, words, arena);
        count += 1 + words;
        told = true;
    }
    if (!told)
        return false;
    set_strength(jot, &jot->pieces[at]);
    take_out(jot, from, count);
    return true;
}

/* "(10 %)", "(10% in DPG)", "[1 % ethanol]": pulled out before the line is cut up; other brackets
 * stay part of the name. Returns the line's new end. */
static char *strength_in_brackets(char *text, char *end, struct pm_jot *jot, struct pm_arena *arena)
{
    for (char *open = text; open < end; open++) {
        char closing = *open == '(' ? ')' : *open == '[' ? ']' : '\0';
        char *close = closing ? memchr(open, closing, (size_t)(end - open)) : NULL;
        struct pm_piece piece;
        bool apart;
        if (close == NULL)
            continue;
        const char *inside = pass(open + 1, close, &apart);
        size_t length = inside < close ? amount_at(inside, close, &piece) : 0;
        if (length == 0 || !is_fraction(&piece))
            continue;
        const char *rest = pass(inside + length, close, &apart);
        if (starts(rest, close, "in "))
            rest += 3;
        set_strength(jot, &piece);
        if (rest < close)
            jot->solvent = pm_arena_text_bytes(arena, rest, (size_t)(close - rest));
        memmove(open, close + 1, (size_t)(end - close - 1));
        return end - (close + 1 - open);
    }
    return end;
}

/* Beside another number a fraction of the material's own is its strength. */
static void strength_beside(struct pm_jot *jot)
{
    size_t others = 0, at = 0, fractions = 0;
    for (size_t i = 0; i < jot->count; i++) {
        if (is_fraction(&jot->pieces[i])) {
            at = i;
            fractions++;
        } else if (jot->pieces[i].number) {
            others++;
        }
    }
    if (fractions != 1 || others != 1 || strength_of(&jot->pieces[at]) == 0)
        return;
    set_strength(jot, &jot->pieces[at]);
    take_out(jot, at, 1);
}

static void find_strength(struct pm_jot *jot, struct pm_arena *arena)
{
    for (size_t i = 0; i < jot->count && jot->strength == 0 && !jot->unread; i++) {
        if (is_fraction(&jot->pieces[i]) && strength_by_words(jot, i, arena))
            break;
        if (i > 0 &&
            (pm_piece_is(&jot->pieces[i], "neat") || pm_piece_is(&jot->pieces[i], "(neat)"))) {
            jot->strength = PM_NEAT;
            take_out(jot, i, 1);
        }
    }
    if (jot->strength == 0 && !jot->unread)
        strength_beside(jot);
}

/* ---- the line -------------------------------------------------------------------------------- */

static bool is_rule(const char *text, const char *end)
{
    size_t marks = 0;
    for (; text < end; text++) {
        if (strchr("-=_*~+|: ", *text) == NULL && (unsigned char)*text < 0x80)
            return false;
        if ((unsigned char)*text >= 0x80 && !starts(text, end, "\xE2\x94") &&
            !starts(text, end, "\xE2\x80\x94") && !starts(text, end, "\xE2\x80\x93") &&
            ((unsigned char)*text & 0xC0) != 0x80)
            return false;
        marks += *text != ' ';
    }
    return marks >= 3;
}

/* Bullets and "12. " or "3) " before a line. */
static char *after_bullet(char *text, char *end)
{
    static const char *const bullets[] = {"-",       "*", "+", "\xE2\x80\xA2", "\xE2\x80\x93",
                                          "\xC2\xB7"};
    for (size_t i = 0; i < sizeof bullets / sizeof *bullets; i++) {
        char *behind = text + strlen(bullets[i]);
        if (starts(text, end, bullets[i]) && space_at(behind, end))
            return behind;
    }
    char *at = text;
    while (at < end && is_digit(*at) && at - text < 3)
        at++;
    bool numbered =
        at > text && at + 1 < end && (*at == '.' || *at == ')') && space_at(at + 1, end);
    return numbered ? at + 1 : text;
}

/* Where a comment begins: after # // or ; at the start or behind a blank. */
static char *before_comment(char *text, char *end, struct pm_jot *jot, struct pm_arena *arena)
{
    for (char *at = text; at < end; at++) {
        size_t mark = *at == '#' || *at == ';' ? 1 : starts(at, end, "//") ? 2 : 0;
        bool apart = at == text || at[-1] == ' ' || at[-1] == '\t' || *at == ';';
        if (mark == 0 || !apart)
            continue;
        char *words = at + mark;
        while (words < end && space_at(words, end))
            words += space_at(words, end);
        if (words < end)
            jot->comment = pm_arena_text_bytes(arena, words, (size_t)(end - words));
        return at;
    }
    return end;
}

/* What a number looks like that number_at() refuses: with a minus, of too many digits, of digits as
 * wide as Chinese characters. */
static bool is_garbled(const struct pm_piece *piece)
{
    static const char wide[] = "\xEF\xBC"; /* U+FF10 to U+FF19 end in 0x90 to 0x99 */
    const char *at = piece->text, *end = piece->text + piece->length;
    const bool sign = at < end && (*at == '-' || *at == '+');
    size_t digits = 0, wides = 0;
    for (at += sign; at < end; at++) {
        if (is_digit(*at)) {
            digits++;
        } else if (end - at >= 3 && memcmp(at, wide, 2) == 0 && (unsigned char)at[2] >= 0x90 &&
                   (unsigned char)at[2] <= 0x99) {
            wides++;
            at += 2;
        } else if (*at != '.' && *at != ',') {
            return false;
        }
    }
    return !piece->number && digits + wides > 0 && (sign || wides > 0 || digits > 9);
}

/* Blanks before a line, and the signs that mail puts before what is quoted. */
static size_t before_line(const char *text, size_t length)
{
    size_t at = 0, step;
    while (at < length && (step = *text == '>' ? 1 : pm_utf8_space(text)) > 0 &&
           at + step <= length) {
        at += step;
        text += step;
    }
    return at;
}

void pm_jot_read(const char *text, size_t length, size_t at, struct pm_arena *arena,
                 struct pm_jot *out)
{
    *out = (struct pm_jot){.at = at};
    const size_t before = before_line(text, length);
    text += before;
    length -= before;
    while (length > 0 && strchr(" \t\r\n", text[length - 1]) != NULL)
        length--;
    out->text = pm_arena_text_bytes(arena, text, length);
    char *copy = pm_arena_text_bytes(arena, text, length);
    out->pieces = pm_arena_array(arena, PM_JOTTED_PIECES, sizeof *out->pieces);
    if (out->pieces == NULL || copy == NULL || out->text == NULL || length == 0)
        return;
    if (is_rule(copy, copy + length)) {
        out->kind = PM_JOT_RULE;
        return;
    }
    char *end = before_comment(copy, copy + length, out, arena);
    char *start = after_bullet(copy, end);
    end = strength_in_brackets(start, end, out, arena);
    /* What follows is read as a string here and there: it ends where the line does. */
    *end = '\0';
    out->count = cut_up(start, end, out->pieces);
    bool any = false;
    for (size_t i = 0; i < out->count; i++)
        any = any || out->pieces[i].number;
    find_unsure(out);
    find_strength(out, arena);
    bool left = false;
    for (size_t i = 0; i < out->count; i++)
        left = left || out->pieces[i].number;
    out->garbled = !left && out->count > 1 && is_garbled(&out->pieces[out->count - 1]);
    out->strength_alone = (any || out->strength > 0) && !left;
    out->kind = out->count == 0                               ? PM_JOT_BLANK
                : left || out->strength_alone || out->garbled ? PM_JOT_NUMBER
                                                              : PM_JOT_WORDS;
}
