/* SPDX-License-Identifier: MIT */
/*
 * Folding: what a person types to find a name, and the name, brought to one form. The tables hold
 * the compatibility decomposition of the lower-case letter without its marks (Unicode Character
 * Database 15.1: UnicodeData.txt, CaseFolding.txt); letters that have no decomposition, such as o
 * with a stroke, are given as the plain letter a person would type for them.
 */
#include "permille/base/text.h"
#include "permille/base/utf8.h"

#include <string.h>

/* What the characters from U+.... on become; "" leaves a character as it is. */

/* U+00A0 to U+024F */
static const char latin[][5] = {
    "",  "",   "",   "",   "",   "",   "",   "",   "",   "",   "a",  "\"", "",   "",   "",   "",
    "",  "",   "2",  "3",  "'",  "μ",  "",   "",   "",   "1",  "o",  "\"", "",   "",   "",   "",
    "a", "a",  "a",  "a",  "a",  "a",  "ae", "c",  "e",  "e",  "e",  "e",  "i",  "i",  "i",  "i",
    "d", "n",  "o",  "o",  "o",  "o",  "o",  "",   "o",  "u",  "u",  "u",  "u",  "y",  "th", "ss",
    "a", "a",  "a",  "a",  "a",  "a",  "ae", "c",  "e",  "e",  "e",  "e",  "i",  "i",  "i",  "i",
    "d", "n",  "o",  "o",  "o",  "o",  "o",  "",   "o",  "u",  "u",  "u",  "u",  "y",  "th", "y",
    "a", "a",  "a",  "a",  "a",  "a",  "c",  "c",  "c",  "c",  "c",  "c",  "c",  "c",  "d",  "d",
    "d", "d",  "e",  "e",  "e",  "e",  "e",  "e",  "e",  "e",  "e",  "e",  "g",  "g",  "g",  "g",
    "g", "g",  "g",  "g",  "h",  "h",  "h",  "h",  "i",  "i",  "i",  "i",  "i",  "i",  "i",  "i",
    "i", "i",  "ij", "ij", "j",  "j",  "k",  "k",  "k",  "l",  "l",  "l",  "l",  "l",  "l",  "l",
    "l", "l",  "l",  "n",  "n",  "n",  "n",  "n",  "n",  "'n", "n",  "n",  "o",  "o",  "o",  "o",
    "o", "o",  "oe", "oe", "r",  "r",  "r",  "r",  "r",  "r",  "s",  "s",  "s",  "s",  "s",  "s",
    "s", "s",  "t",  "t",  "t",  "t",  "t",  "t",  "u",  "u",  "u",  "u",  "u",  "u",  "u",  "u",
    "u", "u",  "u",  "u",  "w",  "w",  "y",  "y",  "y",  "z",  "z",  "z",  "z",  "z",  "z",  "s",
    "b", "b",  "ƃ",  "",   "ƅ",  "",   "o",  "ƈ",  "",   "d",  "d",  "ƌ",  "",   "",   "ǝ",  "e",
    "e", "f",  "f",  "ɠ",  "ɣ",  "",   "ɩ",  "i",  "ƙ",  "",   "",   "",   "ɯ",  "n",  "",   "ɵ",
    "o", "o",  "ƣ",  "",   "ƥ",  "",   "ʀ",  "ƨ",  "",   "ʃ",  "",   "",   "ƭ",  "",   "ʈ",  "u",
    "u", "ʊ",  "ʋ",  "ƴ",  "",   "z",  "z",  "ʒ",  "ƹ",  "",   "",   "",   "ƽ",  "",   "",   "",
    "",  "",   "",   "",   "dz", "dz", "dz", "lj", "lj", "lj", "nj", "nj", "nj", "a",  "a",  "i",
    "i", "o",  "o",  "u",  "u",  "u",  "u",  "u",  "u",  "u",  "u",  "u",  "u",  "",   "a",  "a",
    "a", "a",  "ae", "ae", "g",  "g",  "g",  "g",  "k",  "k",  "o",  "o",  "o",  "o",  "ʒ",  "ʒ",
    "j", "dz", "dz", "dz", "g",  "g",  "ƕ",  "ƿ",  "n",  "n",  "a",  "a",  "ae", "ae", "o",  "o",
    "a", "a",  "a",  "a",  "e",  "e",  "e",  "e",  "i",  "i",  "i",  "i",  "o",  "o",  "o",  "o",
    "r", "r",  "r",  "r",  "u",  "u",  "u",  "u",  "s",  "s",  "t",  "t",  "ȝ",  "",   "h",  "h",
    "ƞ", "",   "ȣ",  "",   "ȥ",  "",   "a",  "a",  "e",  "e",  "o",  "o",  "o",  "o",  "o",  "o",
    "o", "o",  "y",  "y",  "",   "",   "",   "",   "",   "",   "a",  "ȼ",  "",   "ƚ",  "ⱦ",  "",
    "",  "ɂ",  "",   "b",  "ʉ",  "ʌ",  "ɇ",  "",   "ɉ",  "",   "ɋ",  "",   "ɍ",  "",   "ɏ",  ""};

/* U+0370 to U+052F */
static const char greek_cyrillic[][5] = {
    "ͱ", "",  "ͳ", "",  "ʹ", "",  "ͷ", "",  "",   "",  "",   "",  "",   "",  ";",  "ϳ", "",  "",
    "",  "",  "'", "",  "α", "·", "ε", "η", "ι",  "",  "ο",  "",  "υ",  "ω", "ι",  "α", "β", "γ",
    "δ", "ε", "ζ", "η", "θ", "ι", "κ", "λ", "μ",  "ν", "ξ",  "ο", "π",  "ρ", "",   "σ", "τ", "υ",
    "φ", "χ", "ψ", "ω", "ι", "υ", "α", "ε", "η",  "ι", "υ",  "",  "",   "",  "",   "",  "",  "",
    "",  "",  "",  "",  "",  "",  "",  "",  "",   "",  "σ",  "",  "",   "",  "",   "",  "",  "",
    "ι", "υ", "ο", "υ", "ω", "ϗ", "β", "θ", "υ",  "υ", "υ",  "φ", "π",  "",  "ϙ",  "",  "ϛ", "",
    "ϝ", "",  "ϟ", "",  "ϡ", "",  "ϣ", "",  "ϥ",  "",  "ϧ",  "",  "ϩ",  "",  "ϫ",  "",  "ϭ", "",
    "ϯ", "",  "κ", "ρ", "σ", "",  "θ", "ε", "",   "ϸ", "",   "σ", "ϻ",  "",  "",   "ͻ", "ͼ", "ͽ",
    "е", "е", "ђ", "г", "є", "ѕ", "і", "і", "ј",  "љ", "њ",  "ћ", "к",  "и", "у",  "џ", "а", "б",
    "в", "г", "д", "е", "ж", "з", "и", "и", "к",  "л", "м",  "н", "о",  "п", "р",  "с", "т", "у",
    "ф", "х", "ц", "ч", "ш", "щ", "ъ", "ы", "ь",  "э", "ю",  "я", "",   "",  "",   "",  "",  "",
    "",  "",  "",  "и", "",  "",  "",  "",  "",   "",  "",   "",  "",   "",  "",   "",  "",  "",
    "",  "",  "",  "",  "",  "",  "",  "",  "е",  "е", "",   "г", "",   "",  "",   "і", "",  "",
    "",  "",  "к", "и", "у", "",  "ѡ", "",  "ѣ",  "",  "ѥ",  "",  "ѧ",  "",  "ѩ",  "",  "ѫ", "",
    "ѭ", "",  "ѯ", "",  "ѱ", "",  "ѳ", "",  "ѵ",  "",  "ѵ",  "ѵ", "ѹ",  "",  "ѻ",  "",  "ѽ", "",
    "ѿ", "",  "ҁ", "",  "",  "",  "",  "",  "",   "",  "",   "",  "ҋ",  "",  "ҍ",  "",  "ҏ", "",
    "ґ", "",  "ғ", "",  "ҕ", "",  "җ", "",  "ҙ",  "",  "қ",  "",  "ҝ",  "",  "ҟ",  "",  "ҡ", "",
    "ң", "",  "ҥ", "",  "ҧ", "",  "ҩ", "",  "ҫ",  "",  "ҭ",  "",  "ү",  "",  "ұ",  "",  "ҳ", "",
    "ҵ", "",  "ҷ", "",  "ҹ", "",  "һ", "",  "ҽ",  "",  "ҿ",  "",  "ӏ",  "ж", "ж",  "ӄ", "",  "ӆ",
    "",  "ӈ", "",  "ӊ", "",  "ӌ", "",  "ӎ", "",   "",  "а",  "а", "а",  "а", "ӕ",  "",  "е", "е",
    "ә", "",  "ә", "ә", "ж", "ж", "з", "з", "ӡ",  "",  "и",  "и", "и",  "и", "о",  "о", "ө", "",
    "ө", "ө", "э", "э", "у", "у", "у", "у", "у",  "у", "ч",  "ч", "ӷ",  "",  "ы",  "ы", "ӻ", "",
    "ӽ", "",  "ӿ", "",  "ԁ", "",  "ԃ", "",  "ԅ",  "",  "ԇ",  "",  "ԉ",  "",  "ԋ",  "",  "ԍ", "",
    "ԏ", "",  "ԑ", "",  "ԓ", "",  "ԕ", "",  "ԗ",  "",  "ԙ",  "",  "ԛ",  "",  "ԝ",  "",  "ԟ", "",
    "ԡ", "",  "ԣ", "",  "ԥ", "",  "ԧ", "",  "ԩ", "",  "ԫ", "",  "ԭ", "",  "ԯ", ""};

/* U+1E00 to U+1FFF */
static const char latin_more[][5] = {
    "a", "a", "b",  "b", "b", "b", "b",  "b", "c", "c", "d", "d", "d", "d", "d", "d", "d", "d", "d",
    "d", "e", "e",  "e", "e", "e", "e",  "e", "e", "e", "e", "f", "f", "g", "g", "h", "h", "h", "h",
    "h", "h", "h",  "h", "h", "h", "i",  "i", "i", "i", "k", "k", "k", "k", "k", "k", "l", "l", "l",
    "l", "l", "l",  "l", "l", "m", "m",  "m", "m", "m", "m", "n", "n", "n", "n", "n", "n", "n", "n",
    "o", "o", "o",  "o", "o", "o", "o",  "o", "p", "p", "p", "p", "r", "r", "r", "r", "r", "r", "r",
    "r", "s", "s",  "s", "s", "s", "s",  "s", "s", "s", "s", "t", "t", "t", "t", "t", "t", "t", "t",
    "u", "u", "u",  "u", "u", "u", "u",  "u", "u", "u", "v", "v", "v", "v", "w", "w", "w", "w", "w",
    "w", "w", "w",  "w", "w", "x", "x",  "x", "x", "y", "y", "z", "z", "z", "z", "z", "z", "h", "t",
    "w", "y", "aʾ", "s", "",  "",  "ss", "",  "a", "a", "a", "a", "a", "a", "a", "a", "a", "a", "a",
    "a", "a", "a",  "a", "a", "a", "a",  "a", "a", "a", "a", "a", "a", "e", "e", "e", "e", "e", "e",
    "e", "e", "e",  "e", "e", "e", "e",  "e", "e", "e", "i", "i", "i", "i", "o", "o", "o", "o", "o",
    "o", "o", "o",  "o", "o", "o", "o",  "o", "o", "o", "o", "o", "o", "o", "o", "o", "o", "o", "o",
    "u", "u", "u",  "u", "u", "u", "u",  "u", "u", "u", "u", "u", "u", "u", "y", "y", "y", "y", "y",
    "y", "y", "y",  "ỻ", "",  "ỽ", "",   "ỿ", "",  "α", "α", "α", "α", "α", "α", "α", "α", "α", "α",
    "α", "α", "α",  "α", "α", "α", "ε",  "ε", "ε", "ε", "ε", "ε", "",  "",  "ε", "ε", "ε", "ε", "ε",
    "ε", "",  "",   "η", "η", "η", "η",  "η", "η", "η", "η", "η", "η", "η", "η", "η", "η", "η", "η",
    "ι", "ι", "ι",  "ι", "ι", "ι", "ι",  "ι", "ι", "ι", "ι", "ι", "ι", "ι", "ι", "ι", "ο", "ο", "ο",
    "ο", "ο", "ο",  "",  "",  "ο", "ο",  "ο", "ο", "ο", "ο", "",  "",  "υ", "υ", "υ", "υ", "υ", "υ",
    "υ", "υ", "",   "υ", "",  "υ", "",   "υ", "",  "υ", "ω", "ω", "ω", "ω", "ω", "ω", "ω", "ω", "ω",
    "ω", "ω", "ω",  "ω", "ω", "ω", "ω",  "α", "α", "ε", "ε", "η", "η", "ι", "ι", "ο", "ο", "υ", "υ",
    "ω", "ω", "",   "",  "α", "α", "α",  "α", "α", "α", "α", "α", "α", "α", "α", "α", "α", "α", "α",
    "α", "η", "η",  "η", "η", "η", "η",  "η", "η", "η", "η", "η", "η", "η", "η", "η", "η", "ω", "ω",
    "ω", "ω", "ω",  "ω", "ω", "ω", "ω",  "ω", "ω", "ω", "ω", "ω", "ω", "ω", "α", "α", "α", "α", "α",
    "",  "α", "α",  "α", "α", "α", "α",  "α", "'", "ι", "'", "",  "",  "η", "η", "η", "",  "η", "η",
    "ε", "ε", "η",  "η", "η", "",  "",   "",  "ι", "ι", "ι", "ι", "",  "",  "ι", "ι", "ι", "ι", "ι",
    "ι", "",  "",   "",  "",  "υ", "υ",  "υ", "υ", "ρ", "ρ", "υ", "υ", "υ", "υ", "υ", "υ", "ρ", "",
    "",  "`", "",   "",  "ω", "ω", "ω",  "",  "ω", "ω", "ο", "ο", "ω", "ω", "ω", "'", "'", ""};

struct block {
    uint32_t first;
    size_t count;
    const char (*forms)[5];
};

static const struct block blocks[] = {
    {0xA0, sizeof latin / sizeof latin[0], latin},
    {0x370, sizeof greek_cyrillic / sizeof greek_cyrillic[0], greek_cyrillic},
    {0x1E00, sizeof latin_more / sizeof latin_more[0], latin_more},
};

/* Typographic signs and Latin ligatures outside the blocks. */
static const struct {
    uint32_t code;
    const char *form;
} signs[] = {
    {0x2010, "-"},   {0x2011, "-"},  {0x2012, "-"},  {0x2013, "-"},  {0x2014, "-"},
    {0x2015, "-"},   {0x2018, "'"},  {0x2019, "'"},  {0x201A, "'"},  {0x201B, "'"},
    {0x201C, "\""},  {0x201D, "\""}, {0x201E, "\""}, {0x201F, "\""}, {0x2026, "..."},
    {0x2032, "'"},   {0x2033, "\""}, {0x2039, "'"},  {0x203A, "'"},  {0x2044, "/"},
    {0x2212, "-"},   {0xFB00, "ff"}, {0xFB01, "fi"}, {0xFB02, "fl"}, {0xFB03, "ffi"},
    {0xFB04, "ffl"}, {0xFB05, "st"}, {0xFB06, "st"},
};

/* Marks that stand on Latin, Greek and Cyrillic letters, and signs that are never seen. */
static bool is_dropped(uint32_t code)
{
    return (code >= 0x300 && code <= 0x36F) || (code >= 0x483 && code <= 0x489) ||
           (code >= 0x1AB0 && code <= 0x1AFF) || (code >= 0x1DC0 && code <= 0x1DFF) ||
           (code >= 0x20D0 && code <= 0x20FF) || (code >= 0xFE00 && code <= 0xFE0F) ||
           (code >= 0xFE20 && code <= 0xFE2F) || code == 0xAD || code == 0x200B || code == 0x2060 ||
           code == 0xFEFF;
}

/* A text being folded, piece by piece, without memory of its own. */
struct folding {
    const char *at;
    bool begun; /* something that is no white space has come out */
    char piece[5];
};

static const char *form_of(uint32_t code)
{
    for (size_t i = 0; i < sizeof blocks / sizeof blocks[0]; i++)
        if (code >= blocks[i].first && code - blocks[i].first < blocks[i].count)
            return blocks[i].forms[code - blocks[i].first];
    if (code < 0x2010)
        return "";
    for (size_t i = 0; i < sizeof signs / sizeof signs[0]; i++)
        if (signs[i].code == code)
            return signs[i].form;
    return "";
}

/* The next folded piece (1 to 4 bytes), NULL at the end. Borrowed until the next call. */
static const char *fold_next(struct folding *folding)
{
    bool space = false;

    while (*folding->at != '\0') {
        size_t used = pm_utf8_space(folding->at);
        const char *form;
        uint32_t code;

        if (used > 0) {
            space = folding->begun;
            folding->at += used;
            continue;
        }
        used = pm_utf8_decode(folding->at, strnlen(folding->at, 4), &code);
        if (is_dropped(code)) {
            folding->at += used;
            continue;
        }
        if (space) /* only now is it certain that it stands between two characters */
            return " ";
        folding->at += used;
        folding->begun = true;
        form = code < 0x80 ? "" : form_of(code);
        if (*form != '\0')
            return form;
        if (code >= 'A' && code <= 'Z')
            code += 'a' - 'A';
        folding->piece[pm_utf8_encode(code, folding->piece)] = '\0';
        return folding->piece;
    }
    return NULL;
}

char *pm_fold(const char *text)
{
    struct folding folding = {.at = text};
    struct pm_text out = PM_TEXT_EMPTY;
    const char *piece;

    while ((piece = fold_next(&folding)) != NULL)
        pm_text_add(&out, piece);
    return pm_text_take(&out);
}

bool pm_fold_equal(const char *a, const char *b)
{
    struct folding left = {.at = a}, right = {.at = b};
    const char *x = "", *y = "";

    /* Pieces need not meet: a ligature on one side can be two letters on the other. */
    for (;;) {
        if (*x == '\0' && (x = fold_next(&left)) == NULL)
            return *y == '\0' && fold_next(&right) == NULL;
        if (*y == '\0' && (y = fold_next(&right)) == NULL)
            return false;
        if (*x++ != *y++)
            return false;
    }
}
