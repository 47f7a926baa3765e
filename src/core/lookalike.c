/* SPDX-License-Identifier: MIT */
/* Names that are taken for each other, and names that were mistyped. */
#include "permille/core/lookalike.h"

#include "permille/base/utf8.h"
#include "permille/base/word.h"

#include <stdlib.h>
#include <string.h>

/* ---- pieces ---- */

/* In order. Kinds of extract as ISO 9235 (aromatic natural raw materials, vocabulary) has them,
 * parts of a plant, and how chemical names tell isomers apart; colours and tastes that tell kinds
 * of one plant apart: common practice, no source. */
static const char *const kinds[] = {
    "1",        "10",       "11",        "12",      "13",          "14",        "15",
    "16",       "2",        "3",         "4",       "5",           "6",         "7",
    "8",        "9",        "absolute",  "alpha",   "balsam",      "bark",      "berries",
    "berry",    "beta",     "bitter",    "black",   "blue",        "bud",       "buds",
    "cis",      "concrete", "d",         "dark",    "delta",       "distilled", "dl",
    "e",        "epsilon",  "expressed", "extract", "flower",      "flowers",   "fruit",
    "gamma",    "grass",    "green",     "gum",     "herb",        "hydrosol",  "infusion",
    "iso",      "l",        "leaf",      "leaves",  "light",       "m",         "meta",
    "moss",     "n",        "needle",    "needles", "neo",         "o",         "oil",
    "ortho",    "p",        "para",      "peel",    "pink",        "r",         "rac",
    "red",      "resin",    "resinoid",  "rhizome", "root",        "s",         "sec",
    "seed",     "seeds",    "stem",      "sweet",   "terpeneless", "terpenes",  "tert",
    "tincture", "trans",    "twig",      "white",   "wood",        "yellow",    "z"};

static bool is_letter(char byte)
{
    return (byte >= 'a' && byte <= 'z') || (byte >= 'A' && byte <= 'Z') ||
           (byte >= '0' && byte <= '9') || (byte & 0x80) != 0;
}

static int by_word(const void *word, const void *kind)
{
    return strcmp(word, *(const char *const *)kind);
}

#define KIND_LONGEST 11 /* "terpeneless" */

static bool is_kind(const char *piece, size_t length)
{
    char word[KIND_LONGEST + 1];
    if (length > KIND_LONGEST)
        return false;
    memcpy(word, piece, length);
    word[length] = '\0';
    return bsearch(word, kinds, sizeof kinds / sizeof *kinds, sizeof *kinds, by_word) != NULL;
}

static unsigned letter_bit(char byte)
{
    return 1U << (unsigned char)(byte & 0x1F);
}

static unsigned letters_of(const char *piece, size_t length)
{
    unsigned letters = 0;
    for (size_t i = 0; i < length; i++)
        letters |= letter_bit(piece[i]);
    return letters;
}

void pm_look_read(const char *folded, size_t length, struct pm_look *out)
{
    *out = (struct pm_look){.text = folded, .length = length};
    if (length > PM_LOOK_LONGEST)
        return;
    for (size_t i = 0; i < length;) {
        size_t end = i;
        while (end < length && is_letter(folded[end]))
            end++;
        if (end == i) {
            i++;
            continue;
        }
        if (out->count == PM_LOOK_PIECES) {
            out->count = 0;
            return;
        }
        const bool kind = is_kind(folded + i, end - i);
        const unsigned letters = letters_of(folded + i, end - i);
        out->pieces[out->count].at = folded + i;
        out->pieces[out->count].length = end - i;
        out->pieces[out->count++].kind = kind;
        out->all |= letters;
        if (!kind) {
            out->stem += end - i;
            out->letters |= letters;
        }
        i = end;
    }
}

/* ---- alike ---- */

static bool same_piece(const struct pm_look *a, size_t i, const struct pm_look *b, size_t k)
{
    return a->pieces[i].length == b->pieces[k].length &&
           memcmp(a->pieces[i].at, b->pieces[k].at, a->pieces[i].length) == 0;
}

/* The stems letter by letter, without what stands between their pieces. */
static size_t stem_text(const struct pm_look *look, char out[PM_LOOK_LONGEST])
{
    size_t length = 0;
    for (size_t i = 0; i < look->count; i++)
        if (!look->pieces[i].kind) {
            memcpy(out + length, look->pieces[i].at, look->pieces[i].length);
            length += look->pieces[i].length;
        }
    return length;
}

/* One has one piece more than the other, and all others are the same: "vanillin", "ethyl vanillin".
 */
static bool one_more(const struct pm_look *longer, const struct pm_look *shorter)
{
    if (longer->count != shorter->count + 1)
        return false;
    size_t skipped = 0;
    for (size_t i = 0; i < longer->count; i++) {
        const size_t k = i - skipped;
        if (k < shorter->count && same_piece(longer, i, shorter, k))
            continue;
        if (skipped++ > 0)
            return false;
    }
    return true;
}

static int bits(unsigned word)
{
    return __builtin_popcount(word);
}

static int slips_of_stem(size_t length)
{
    return length >= 6 ? 2 : length >= 4 ? 1 : 0;
}

static bool near_stems(const struct pm_look *a, const struct pm_look *b)
{
    const int bound = slips_of_stem(a->stem < b->stem ? a->stem : b->stem);
    char left[PM_LOOK_LONGEST], right[PM_LOOK_LONGEST];
    /* A slip changes two letters of the set at most. */
    if (a->stem == 0 || b->stem == 0 || bits(a->letters ^ b->letters) > 2 * bound ||
        (a->stem > b->stem ? a->stem - b->stem : b->stem - a->stem) > (size_t)bound)
        return false;
    stem_text(a, left);
    stem_text(b, right);
    return pm_word_distance(left, a->stem, right, b->stem, bound) <= bound;
}

/* Bits that no separator sets: of the digits and of p to y. */
#define ONLY_LETTERS 0x03FF0000U

/* A slip takes one letter of the stem away at most, and of two names of which one has a piece more,
 * one has all letters of the other. What separates is taken for letters, which only lets more
 * through. */
bool pm_look_may_be(const struct pm_look *look, const char *folded, size_t length)
{
    const int bound = slips_of_stem(look->stem);
    unsigned all = 0;
    for (const char *at = folded, *end = folded + length; at < end; at++)
        all |= letter_bit(*at);
    return (length + (size_t)bound >= look->stem && bits(look->letters & ~all) <= bound) ||
           (look->all & ~all) == 0 || (all & ONLY_LETTERS & ~look->all) == 0;
}

bool pm_look_alike(const struct pm_look *a, const struct pm_look *b)
{
    if (a->count == 0 || b->count == 0 ||
        (a->length == b->length && memcmp(a->text, b->text, a->length) == 0))
        return false;
    return near_stems(a, b) || one_more(a, b) || one_more(b, a);
}

/* ---- tall letters ---- */

struct letters {
    uint32_t low[PM_LOOK_LONGEST]; /* without case */
    size_t at[PM_LOOK_LONGEST];    /* bytes before it */
    size_t count;
};

static bool read_letters(const char *name, struct letters *out)
{
    const size_t length = strlen(name);
    out->count = 0;
    for (size_t at = 0; at < length;) {
        uint32_t code;
        if (out->count == PM_LOOK_LONGEST)
            return false;
        out->at[out->count] = at;
        at += pm_utf8_decode(name + at, length - at, &code);
        out->low[out->count++] = pm_utf8_lower(code);
    }
    return true;
}

static bool separates(uint32_t code)
{
    return code < 0x80 && !is_letter((char)code);
}

struct range {
    size_t from, to; /* letters [from, to) */
};

/* Where the other name has nothing between, what is more can be taken a little earlier: then it
 * begins with a word rather than in one. */
static void turn_to_word(const struct letters *a, struct range *at)
{
    struct range turned = *at;
    while (turned.from > 0 && a->low[turned.from - 1] == a->low[turned.to - 1]) {
        turned.from--;
        turned.to--;
        if (turned.from == 0 || separates(a->low[turned.from - 1])) {
            *at = turned;
            return;
        }
    }
}

/* What differs, widened as the header says; empty where the other only has more. *joint is where
 * that would be. */
static struct range differing(const struct letters *a, const struct letters *b, size_t *joint)
{
    const size_t shorter = a->count < b->count ? a->count : b->count;
    size_t head = 0, tail = 0;
    while (head < shorter && a->low[head] == b->low[head])
        head++;
    while (tail < shorter - head && a->low[a->count - 1 - tail] == b->low[b->count - 1 - tail])
        tail++;
    struct range at = {head, a->count - tail};
    *joint = head;
    if (at.from == at.to)
        return at;
    if (head + tail == b->count)
        turn_to_word(a, &at);
    const bool begins = at.from == 1 || (at.from > 1 && separates(a->low[at.from - 2]));
    if (begins && !separates(a->low[at.from - 1]))
        at.from--;
    const bool ends =
        at.to + 1 == a->count || (at.to + 1 < a->count && separates(a->low[at.to + 1]));
    if (ends && !separates(a->low[at.to]))
        at.to++;
    return at;
}

/* The word that ends at the joint or before it. */
static struct range word_before(const struct letters *a, size_t joint)
{
    struct range at = {joint, joint};
    while (at.from > 0 && separates(a->low[at.from - 1]))
        at.from--;
    at.to = at.from;
    while (at.from > 0 && !separates(a->low[at.from - 1]))
        at.from--;
    while (at.to < a->count && !separates(a->low[at.to]))
        at.to++;
    return at;
}

static void mark(bool *tall, struct range at)
{
    for (size_t i = at.from; i < at.to; i++)
        tall[i] = true;
}

static void write_letters(const char *name, const struct letters *a, const bool *tall,
                          struct pm_text *out)
{
    for (size_t i = 0; i < a->count; i++) {
        const size_t end = i + 1 < a->count ? a->at[i + 1] : strlen(name);
        char bytes[4];
        if (tall[i])
            pm_text_add_bytes(out, bytes, pm_utf8_encode(pm_utf8_upper(a->low[i]), bytes));
        else
            pm_text_add_bytes(out, name + a->at[i], end - a->at[i]);
    }
}

void pm_tall_letters(const char *name, const char *const *others, size_t count, struct pm_text *out)
{
    struct letters a, b;
    bool tall[PM_LOOK_LONGEST] = {false}, any = false;
    struct range word = {0, 0};
    if (!read_letters(name, &a)) {
        pm_text_add(out, name);
        return;
    }
    for (size_t i = 0; i < count; i++) {
        size_t joint;
        if (!read_letters(others[i], &b))
            continue;
        const struct range at = differing(&a, &b, &joint);
        if (at.from < at.to)
            mark(tall, at);
        else if (a.count != b.count)
            word = word_before(&a, joint);
        any = any || at.from < at.to;
    }
    if (!any)
        mark(tall, word);
    write_letters(name, &a, tall, out);
}

/* ---- slips ---- */

static int allowed(size_t length)
{
    return length < 4 ? 0 : length < 6 ? 1 : length < 9 ? 2 : 3;
}

static int word_slips(const char *typed, size_t length, const char *word, size_t word_length)
{
    const int bound = allowed(length);
    int least = pm_word_distance(typed, length, word, word_length, bound);
    /* What is typed may be only the beginning. */
    for (size_t begun = length > 1 ? length - 1 : 1; begun <= length + 1 && begun < word_length;
         begun++) {
        const int slips = pm_word_distance(typed, length, word, begun, bound);
        least = slips < least ? slips : least;
    }
    return least > bound ? -1 : least;
}

static int nearest_word(const char *typed, size_t length, const char *name, size_t name_length)
{
    int least = -1;
    for (size_t i = 0; i < name_length;) {
        size_t end = i;
        while (end < name_length && is_letter(name[end]))
            end++;
        const int slips = end > i ? word_slips(typed, length, name + i, end - i) : -1;
        if (slips >= 0 && (least < 0 || slips < least))
            least = slips;
        i = end > i ? end : i + 1;
    }
    return least;
}

int pm_name_slips(const char *typed, size_t typed_length, const char *name, size_t name_length)
{
    int sum = 0;
    bool any = false;
    if (typed_length > PM_LOOK_LONGEST || name_length > PM_LOOK_LONGEST)
        return -1;
    for (size_t i = 0; sum >= 0 && i < typed_length;) {
        size_t end = i;
        while (end < typed_length && is_letter(typed[end]))
            end++;
        if (end > i) {
            const int slips = nearest_word(typed + i, end - i, name, name_length);
            sum = slips < 0 ? -1 : sum + slips;
            any = true;
        }
        i = end > i ? end : i + 1;
    }
    const int bound = allowed(typed_length);
    const int whole = pm_word_distance(typed, typed_length, name, name_length, bound);
    if (whole <= bound && typed_length > 0 && (sum < 0 || whole < sum))
        return whole;
    return any ? sum : -1;
}
