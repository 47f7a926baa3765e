/* SPDX-License-Identifier: MIT */
/* Jotted formulas: taking one line apart. */
#include "jotting_line.h"

#include "permille/base/utf8.h"

#include <string.h>
#include <strings.h>

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
        size_t length = pm_jot_space_at(text, end);
        if (length > 0) {
            *apart = *apart || *text == '\t' || ++blanks > 1;
        } else if (pm_jot_leader_at(text, end) > 0) {
            while ((length = pm_jot_mark_at(text, end) + pm_jot_arrow_at(text, end)) > 0)
                text += length; /* a mark is no arrow */
            *apart = true;
            continue;
        }
        if (length == 0)
            return text;
        text += length;
    }
}

/* A sign right before a number, "Linalool:120", "Indole @10%", that is part of neither. */
static bool joins_number(const char *at, const char *text, const char *end)
{
    struct pm_piece piece;
    if (strchr(",:=@", *at) == NULL || !pm_jot_digit_at(at + 1, end) ||
        (at > text && pm_jot_is_digit(at[-1])))
        return false;
    /* "N,2-Dimethyl" is a name. */
    return *at != ',' || (at > text && pm_jot_amount_at(at + 1, end, &piece) > 0);
}

static size_t word_at(const char *text, const char *end)
{
    const char *at = text;
    if (strchr(",:=@", *text) != NULL && pm_jot_digit_at(text + 1, end))
        return 1;
    while (at < end && !pm_jot_space_at(at, end) && !pm_jot_leader_at(at, end) &&
           !joins_number(at, text, end) && (at == text || (*at != '(' && *at != '[')))
        at++;
    return (size_t)(at - text);
}

/* "~5", "≈5": the sign before a number that says it is only about so much. */
static size_t about_at(const char *text, const char *end)
{
    const size_t sign = pm_jot_starts(text, end, "~")              ? 1
                        : pm_jot_starts(text, end, "\xE2\x89\x88") ? 3
                                                                   : 0;
    struct pm_piece piece;
    return sign > 0 && pm_jot_amount_at(text + sign, end, &piece) > 0 ? sign : 0;
}

/* "x4", "×4": the sign of so many times. */
static size_t times_at(const char *text, const char *end)
{
    const size_t sign = pm_jot_starts(text, end, "x")          ? 1
                        : pm_jot_starts(text, end, "\xC3\x97") ? 2
                                                               : 0;
    struct pm_piece piece;
    return sign > 0 && pm_jot_amount_at(text + sign, end, &piece) > 0 ? sign : 0;
}

static size_t cut_up(const char *text, const char *end, struct pm_piece *pieces)
{
    const char *const begin = text;
    size_t count = 0;
    bool apart;
    while ((text = pass(text, end, &apart)) < end) {
        struct pm_piece piece;
        const size_t about = about_at(text, end);
        text += about + times_at(text, end);
        /* "Linalool,500": no decimal sign. */
        const bool joint =
            *text == ',' && text > begin && !apart && !pm_jot_space_at(text - 1, end);
        size_t length = joint ? 0 : pm_jot_amount_at(text, end, &piece);
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

/* What only joins words to a number. */
static bool is_joint(const struct pm_piece *piece)
{
    return pm_piece_is(piece, "-") || pm_piece_is(piece, "=") || pm_piece_is(piece, ":") ||
           pm_piece_is(piece, "\xE2\x80\x93") || pm_piece_is(piece, "\xE2\x80\x94");
}

/* The words from there on are the solvent. Returns how many pieces they are. */
static size_t take_solvent(struct pm_jot *jot, size_t from, struct pm_arena *arena)
{
    const size_t words = words_from(jot, from);
    size_t named = words;
    while (named > 0 && is_joint(&jot->pieces[from + named - 1]))
        named--;
    jot->solvent = joined(jot, from, named, arena);
    while (jot->solvent != NULL && strchr("([", *jot->solvent) != NULL)
        jot->solvent = jot->solvent[1] != '\0' ? jot->solvent + 1 : NULL;
    return words;
}

static void set_strength(struct pm_jot *jot, const struct pm_piece *piece)
{
    jot->strength = strength_of(piece);
    jot->unread = jot->strength == 0;
}

static bool is_one_of(const struct pm_piece *piece, const char *const *words, size_t count)
{
    for (size_t i = 0; i < count; i++)
        if (pm_piece_is(piece, words[i]))
            return true;
    return false;
}

/* Between a strength and its solvent. */
static const char *const ins[] = {"in", "dans"};

/* "10 % in DPG", "10% solution", "@ 10%", "at 10 %": a strength by the words around it. */
static bool strength_by_words(struct pm_jot *jot, size_t at, struct pm_arena *arena)
{
    static const char *const ats[] = {"@", "at", "\xC3\xA0"};
    static const char *const solutions[] = {"sol",      "sol.", "soln",     "soln.",
                                            "solution", "dil.", "dilution", "l\xC3\xB6sung"};
    size_t from = at, count = 1;
    bool told = false;
    if (at > 0 && is_one_of(&jot->pieces[at - 1], ats, sizeof ats / sizeof *ats)) {
        told = true;
        from--;
        count++;
    }
    while (from + count < jot->count &&
           is_one_of(&jot->pieces[from + count], solutions, sizeof solutions / sizeof *solutions)) {
        told = true;
        count++;
    }
    if (from + count < jot->count &&
        is_one_of(&jot->pieces[from + count], ins, sizeof ins / sizeof *ins)) {
        count += 1 + take_solvent(jot, from + count + 1, arena);
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
        size_t length = inside < close ? pm_jot_amount_at(inside, close, &piece) : 0;
        if (length == 0 || !is_fraction(&piece))
            continue;
        const char *rest = pass(inside + length, close, &apart);
        for (size_t i = 0; i < sizeof ins / sizeof *ins; i++)
            if (pm_jot_starts(rest, close, ins[i]) &&
                pm_jot_space_at(rest + strlen(ins[i]), close)) {
                rest = pass(rest + strlen(ins[i]), close, &apart);
                break;
            }
        set_strength(jot, &piece);
        if (rest < close)
            jot->solvent = pm_arena_text_bytes(arena, rest, (size_t)(close - rest));
        memmove(open, close + 1, (size_t)(end - close - 1));
        return end - (close + 1 - open);
    }
    return end;
}

/* Beside another number a fraction of the material's own is its strength. */
static void strength_beside(struct pm_jot *jot, struct pm_arena *arena)
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
    /* "Ambrette 5% IPM 12": words between the strength and the amount are what it is diluted in. */
    size_t words = 0;
    if (at > 0 && !jot->pieces[at - 1].number && at + 1 < jot->count &&
        !jot->pieces[at + 1].apart && !is_joint(&jot->pieces[at + 1]))
        words = take_solvent(jot, at + 1, arena);
    take_out(jot, at, 1 + words);
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
        strength_beside(jot, arena);
}

/* ---- the line -------------------------------------------------------------------------------- */

static bool is_rule(const char *text, const char *end)
{
    size_t marks = 0;
    for (; text < end; text++) {
        if (strchr("-=_*~+|: ", *text) == NULL && (unsigned char)*text < 0x80)
            return false;
        if ((unsigned char)*text >= 0x80 && !pm_jot_starts(text, end, "\xE2\x94") &&
            !pm_jot_starts(text, end, "\xE2\x80\x94") &&
            !pm_jot_starts(text, end, "\xE2\x80\x93") && ((unsigned char)*text & 0xC0) != 0x80)
            return false;
        marks += *text != ' ';
    }
    return marks >= 3;
}

/* Signs that people draw before a line: arrows, boxes, ticks, pictures. */
static bool is_drawing(uint32_t code)
{
    return code == 0xB7 || code == 0x2022 || code == 0x2023 || code == 0x2043 || code == 0x2013 ||
           code == 0x2014 || code == 0x200D || code == 0xFE0F || code == 0x20E3 ||
           (code >= 0x2190 && code <= 0x2BFF) || (code >= 0x1F000 && code <= 0x1FAFF);
}

/* Behind such signs, which end with a blank unless they are pictures. */
static char *after_drawing(char *text, char *end)
{
    char *at = text;
    uint32_t code = 0, last = 0;
    while (at < end) {
        const size_t used = pm_utf8_decode(at, (size_t)(end - at), &code);
        if (!is_drawing(code))
            break;
        last = code;
        at += used;
    }
    return at > text && at < end && (last >= 0x2600 || last == 0x20E3 || pm_jot_space_at(at, end))
               ? at
               : text;
}

static char *after_blanks(char *text, char *end)
{
    while (pm_jot_space_at(text, end))
        text += pm_jot_space_at(text, end);
    return text;
}

/* "[ ]", "[x]": what is to be done. */
static char *after_box(char *text, char *end)
{
    const bool box = end - text > 3 && text[0] == '[' && strchr(" xX", text[1]) != NULL &&
                     text[2] == ']' && pm_jot_space_at(text + 3, end);
    return box ? after_blanks(text + 3, end) : text;
}

/* Bullets, boxes, and "12. " or "3) " before a line. */
static char *after_bullet(char *text, char *end)
{
    char *at = after_drawing(text, end);
    if (at < end && strchr("-*+", *at) != NULL && pm_jot_space_at(at + 1, end))
        at++;
    at = after_box(at > text ? after_blanks(at, end) : at, end);
    char *number = at;
    while (number < end && pm_jot_is_digit(*number) && number - at < 3)
        number++;
    char *behind = after_drawing(number, end); /* "1" in a box of its own */
    if (number > at && behind > number)
        return behind;
    const bool numbered = number > at && number + 1 < end && (*number == '.' || *number == ')') &&
                          pm_jot_space_at(number + 1, end);
    return numbered ? number + 1 : at;
}

/* Where a comment begins: after # // or ; at the start or behind a blank. */
static char *before_comment(char *text, char *end, struct pm_jot *jot, struct pm_arena *arena)
{
    for (char *at = text; at < end; at++) {
        size_t mark = *at == '#' || *at == ';' ? 1 : pm_jot_starts(at, end, "//") ? 2 : 0;
        const bool closes = *at == ';' && (at + 1 == end || pm_jot_space_at(at + 1, end));
        bool apart = at == text || at[-1] == ' ' || at[-1] == '\t' || closes;
        if (mark == 0 || !apart)
            continue;
        char *words = at + mark;
        while (words < end && pm_jot_space_at(words, end))
            words += pm_jot_space_at(words, end);
        if (words < end)
            jot->comment = pm_arena_text_bytes(arena, words, (size_t)(end - words));
        return at;
    }
    return end;
}

/* A digit of any width; its bytes. */
static size_t any_digit_at(const char *text, const char *end)
{
    int64_t part;
    const bool wide = end - text >= 3 && memcmp(text, "\xEF\xBC", 2) == 0 &&
                      (unsigned char)text[2] >= 0x90 && (unsigned char)text[2] <= 0x99;
    return pm_jot_digit_at(text, end) ? 1 : wide ? 3 : pm_jot_vulgar_at(text, end, &part);
}

static size_t sign_at(const char *text, const char *end)
{
    static const char *const signs[] = {"-",
                                        "+",
                                        "(",
                                        "[",
                                        "<",
                                        ">",
                                        "~",
                                        "$",
                                        "\xC2\xB1",
                                        "\xE2\x89\xA4",
                                        "\xE2\x89\xA5",
                                        "\xE2\x82\xAC",
                                        "\xC2\xA3"};
    for (size_t i = 0; i < sizeof signs / sizeof *signs; i++)
        if (pm_jot_starts(text, end, signs[i]))
            return strlen(signs[i]);
    return 0;
}

/* What was meant for a number, and cannot be read as one: "-3", "5-10", "4:2:1", "(120)", "12O",
 * "1.2.3,4", too many digits. No such thing are "2-Methyl" and what holds three numbers with one
 * mark between them, a date or a CAS number. `letters`: some may be among the digits. */
static bool is_garbled(const struct pm_piece *piece, bool letters)
{
    const char *at = piece->text, *end = piece->text + piece->length;
    size_t digits = 0, marks = 0, others = 0;
    char mark = '\0';
    if (piece->number)
        return false;
    while (at < end && sign_at(at, end) > 0)
        at += sign_at(at, end);
    if (any_digit_at(at, end) == 0)
        return false;
    while (at < end) {
        const size_t digit = any_digit_at(at, end);
        if (digit > 0) {
            digits++;
            at += digit;
            continue;
        }
        if (pm_jot_is_letter(*at)) {
            if (!letters || at[-1] == '-' || ++others > 3)
                return false;
        } else if (strchr(".-/", *at) != NULL && at + 1 < end && (marks == 0 || mark == *at)) {
            mark = *at;
            marks++;
        }
        at++;
    }
    return digits > 0 && marks != 2;
}

/* The last piece that looks so, in a line without a number that can be read. */
static void find_garbled(struct pm_jot *jot, bool readable)
{
    for (size_t i = jot->count; i-- > 0 && jot->count > 1;) {
        jot->odd = jot->odd || is_garbled(&jot->pieces[i], false);
        if (!readable && !jot->garbled && is_garbled(&jot->pieces[i], true)) {
            jot->garbled = true;
            jot->garbled_at = i;
        }
    }
}

/* Signs that mean nothing here become blanks: stress in notes, quotes of cells; a mark between
 * columns, since no comment begins at it. */
static void clear_signs(char *text, char *end)
{
    for (; text < end; text++)
        if (*text == '*' || *text == '`' || *text == '"')
            *text = ' ';
        else if (*text == ';')
            *text = '\t';
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
    clear_signs(start, end);
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
    find_garbled(out, left);
    out->strength_alone = (any || out->strength > 0) && !left;
    out->kind = out->count == 0                               ? PM_JOT_BLANK
                : left || out->strength_alone || out->garbled ? PM_JOT_NUMBER
                                                              : PM_JOT_WORDS;
}
