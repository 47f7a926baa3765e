/* SPDX-License-Identifier: MIT */
/*
 * Folding: what a person types to find a name, and the name, brought to one form. Case folding and
 * compatibility decomposition are utf8proc's (Unicode Character Database); what stands here is what
 * Unicode does not say: letters that have no decomposition, such as o with a stroke, become the
 * plain letter a person would type for them, and typographic signs the one on the keyboard.
 */
#include "permille/base/mem.h"
#include "permille/base/text.h"
#include "permille/base/utf8.h"

#include <string.h>
#include <utf8proc.h>

#define DECOMPOSED 20 /* code points that one becomes at most: U+FDFA gives 18 */

/* Sorted. Common practice, no source. */
static const struct {
    uint32_t code;
    char form[4];
} plain_forms[] = {
    {0xAB, "\""},   {0xB4, "'"},    {0xBB, "\""},   {0xE6, "ae"},  {0xF0, "d"},    {0xF8, "o"},
    {0xFE, "th"},   {0x111, "d"},   {0x127, "h"},   {0x131, "i"},  {0x138, "k"},   {0x142, "l"},
    {0x14B, "n"},   {0x153, "oe"},  {0x167, "t"},   {0x180, "b"},  {0x192, "f"},   {0x259, "e"},
    {0x2BC, "'"},   {0x2010, "-"},  {0x2011, "-"},  {0x2012, "-"}, {0x2013, "-"},  {0x2014, "-"},
    {0x2015, "-"},  {0x2018, "'"},  {0x2019, "'"},  {0x201A, "'"}, {0x201B, "'"},  {0x201C, "\""},
    {0x201D, "\""}, {0x201E, "\""}, {0x201F, "\""}, {0x2032, "'"}, {0x2033, "\""}, {0x2039, "'"},
    {0x203A, "'"},  {0x2044, "/"},  {0x2212, "-"},
};

/* Marks that stand on letters of any script and on Cyrillic ones. Those of other scripts are vowels
 * and tones, without which the word is another one. */
static bool is_accent(uint32_t code)
{
    return (code >= 0x300 && code <= 0x36F) || (code >= 0x483 && code <= 0x489) ||
           (code >= 0x1AB0 && code <= 0x1AFF) || (code >= 0x1DC0 && code <= 0x1DFF) ||
           (code >= 0x20D0 && code <= 0x20FF) || (code >= 0xFE20 && code <= 0xFE2F);
}

static bool is_dropped(uint32_t code)
{
    return code >= 0x80 && (is_accent(code) || utf8proc_get_property((int32_t)code)->ignorable);
}

static const char *plain_form(uint32_t code)
{
    size_t low = 0, high = sizeof plain_forms / sizeof *plain_forms;

    while (low < high) {
        size_t middle = (low + high) / 2;
        if (plain_forms[middle].code == code)
            return plain_forms[middle].form;
        if (plain_forms[middle].code < code)
            low = middle + 1;
        else
            high = middle;
    }
    return NULL;
}

/* Of ASCII. */
static int lower(char byte)
{
    return byte >= 'A' && byte <= 'Z' ? byte + ('a' - 'A') : byte;
}

/* A text being folded, piece by piece, without memory of its own. */
struct folding {
    const char *at;
    int32_t codes[DECOMPOSED]; /* what the last character was decomposed into */
    int count, next;
    bool space; /* white space was passed since the last piece */
    bool begun; /* something that is no white space has come out */
    char piece[5];
};

static void decompose(struct folding *folding, uint32_t code)
{
    int boundary = 0;
    utf8proc_ssize_t count = 1;

    if (code >= 0x80 && plain_form(code) == NULL)
        count = utf8proc_decompose_char((int32_t)code, folding->codes, DECOMPOSED,
                                        UTF8PROC_DECOMPOSE | UTF8PROC_COMPAT | UTF8PROC_CASEFOLD,
                                        &boundary);
    else
        folding->codes[0] = (int32_t)code;
    folding->next = 0;
    folding->count = count > 0 && count <= DECOMPOSED ? (int)count : 0;
}

/* The next code point that stays, 0 at the end. Notes white space instead of giving it. */
static uint32_t next_code(struct folding *folding)
{
    for (;;) {
        while (folding->next < folding->count) {
            uint32_t code = (uint32_t)folding->codes[folding->next++];
            if (code == ' ')
                folding->space = folding->begun;
            else if (!is_dropped(code))
                return code;
        }
        const unsigned char byte = (unsigned char)*folding->at;
        if (byte == '\0')
            return 0;
        if (byte > ' ' && byte < 0x80) { /* most of all text needs no tables */
            folding->at++;
            folding->codes[0] = lower((char)byte);
            folding->next = folding->count = 1;
            return (uint32_t)folding->codes[0];
        }
        size_t used = pm_utf8_space(folding->at);
        if (used > 0) {
            folding->space = folding->begun;
        } else {
            uint32_t code;
            used = pm_utf8_decode(folding->at, strnlen(folding->at, 4), &code);
            decompose(folding, code);
        }
        folding->at += used;
    }
}

/* The next folded piece (1 to 4 bytes), NULL at the end. Borrowed until the next call. */
static const char *fold_next(struct folding *folding)
{
    uint32_t code = next_code(folding);

    if (code == 0)
        return NULL;
    if (folding->space) { /* only now is it certain that it stands between two characters */
        folding->space = false;
        folding->next--;
        return " ";
    }
    folding->begun = true;
    const char *form = code < 0x80 ? NULL : plain_form(code);
    if (form != NULL)
        return form;
    folding->piece[pm_utf8_encode(code, folding->piece)] = '\0';
    return folding->piece;
}

static bool is_plain(char byte)
{
    return byte > ' ' && byte < 0x7F;
}

/* Letters, digits and signs of ASCII that stand together: most of all text, and nothing to look up.
 * Only where nothing waits to come before them. */
static size_t fold_plain(struct folding *folding, char *out, size_t room)
{
    size_t length = 0;
    if (folding->space || folding->next < folding->count)
        return 0;
    for (; length < room && is_plain(*folding->at); folding->at++)
        out[length++] = (char)lower(*folding->at);
    folding->begun = folding->begun || length > 0;
    return length;
}

char *pm_fold(const char *text)
{
    struct folding folding = {.at = text};
    struct pm_text out = PM_TEXT_EMPTY;
    char chunk[256];
    size_t length = 0;
    const char *piece;

    do {
        length += fold_plain(&folding, chunk + length, sizeof chunk / 2);
        piece = fold_next(&folding);
        for (; piece != NULL && *piece != '\0'; piece++)
            chunk[length++] = *piece;
        if (length > sizeof chunk / 2 - sizeof folding.piece || piece == NULL) {
            pm_text_add_bytes(&out, chunk, length);
            length = 0;
        }
    } while (piece != NULL);
    return pm_text_take(&out);
}

bool pm_fold_equal(const char *a, const char *b)
{
    size_t same = 0; /* bytes of ASCII, each a piece of its own */
    while (is_plain(a[same]) && is_plain(b[same])) {
        if (lower(a[same]) != lower(b[same]))
            return false;
        same++;
    }
    struct folding left = {.at = a + same, .begun = same > 0};
    struct folding right = {.at = b + same, .begun = same > 0};
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

uint32_t pm_utf8_lower(uint32_t code)
{
    return (uint32_t)utf8proc_tolower((int32_t)code);
}

uint32_t pm_utf8_upper(uint32_t code)
{
    return (uint32_t)utf8proc_toupper((int32_t)code);
}

/* ---- small letters ---- */

static char *encode(const int32_t *codes, utf8proc_ssize_t count)
{
    struct pm_text out = PM_TEXT_EMPTY;
    for (utf8proc_ssize_t i = 0; i < count; i++) {
        char bytes[5];
        pm_text_add_bytes(&out, bytes, pm_utf8_encode((uint32_t)codes[i], bytes));
    }
    return pm_text_take(&out);
}

char *pm_small(const char *text)
{
    const utf8proc_uint8_t *bytes = (const utf8proc_uint8_t *)text;
    const utf8proc_option_t options = UTF8PROC_NULLTERM | UTF8PROC_DECOMPOSE;
    const utf8proc_ssize_t needed = utf8proc_decompose(bytes, 0, NULL, 0, options);
    if (needed < 0)
        return pm_strdup(text);
    /* What composes uses one place more. */
    int32_t *codes = pm_alloc_array((size_t)needed + 1, sizeof *codes);
    if (codes == NULL)
        return NULL;
    utf8proc_decompose(bytes, 0, codes, needed, options);
    for (utf8proc_ssize_t i = 0; i < needed; i++)
        codes[i] = utf8proc_tolower(codes[i]);
    char *small =
        encode(codes, utf8proc_normalize_utf32(codes, needed, UTF8PROC_STABLE | UTF8PROC_COMPOSE));
    pm_free(codes);
    return small;
}
