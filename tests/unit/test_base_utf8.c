/* SPDX-License-Identifier: MIT */
/* Decoding, cells, glyphs, names and folding. */
#include "permille/base/mem.h"
#include "permille/base/utf8.h"

#include <locale.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <wchar.h>

#include <cmocka.h>

#define CJK     "\xe9\xa6\x99"     /* U+9999, fragrant */
#define ROSE    "\xf0\x9f\x8c\xb9" /* U+1F339 */
#define E_ACUTE "\xc3\xa9"
#define ACUTE   "\xcc\x81" /* U+0301, combining */

/* Every code point comes back, and everything Table 3-7 of the Unicode Standard (well-formed UTF-8
 * byte sequences) leaves out is bad. */
static void decoding(void **state)
{
    static const char *const bad[] = {"\x80",
                                      "\xbf",
                                      "\xc0\x80",
                                      "\xc1\xbf",
                                      "\xe0\x9f\xbf",
                                      "\xed\xa0\x80",
                                      "\xed\xbf\xbf",
                                      "\xf0\x8f\xbf\xbf",
                                      "\xf4\x90\x80\x80",
                                      "\xf5\x80\x80\x80",
                                      "\xff",
                                      "\xfe",
                                      "\xc3",
                                      "\xe9\xa6",
                                      "\xf0\x9f\x8c",
                                      "\xc3(",
                                      "\xe9(\x99",
                                      "\xf8\x88\x80\x80"};
    char bytes[4];
    uint32_t code;

    (void)state;
    for (uint32_t wanted = 1; wanted <= 0x10FFFF; wanted++) {
        size_t length = pm_utf8_encode(wanted, bytes);
        if (wanted >= 0xD800 && wanted <= 0xDFFF) {
            assert_memory_equal(bytes, "\xef\xbf\xbd", 3);
            continue;
        }
        if (pm_utf8_decode(bytes, length, &code) != length || code != wanted)
            fail_msg("U+%04X", (unsigned)wanted);
        if (length > 1 && (pm_utf8_decode(bytes, length - 1, &code) != 1 || code != 0xFFFD))
            fail_msg("U+%04X cut short", (unsigned)wanted);
    }
    assert_int_equal(pm_utf8_encode(0x110000, bytes), 3);
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        assert_int_equal(pm_utf8_decode(bad[i], strlen(bad[i]), &code), 1);
        assert_int_equal(code, 0xFFFD);
        assert_false(pm_utf8_valid(bad[i], strlen(bad[i])));
    }
    assert_true(pm_utf8_valid("a\0b" CJK ROSE, 10));
    assert_true(pm_utf8_valid("", 0));
}

static void widths(void **state)
{
    static const struct {
        uint32_t code;
        int width;
    } cases[] = {{'a', 1},      {0xE9, 1},    {0x301, 0},   {0x9999, 2},  {0x3042, 2},
                 {0xAC00, 2},   {0x1F339, 2}, {0x1F600, 2}, {0xFF21, 2},  {0xFF71, 1},
                 {0x200D, 0},   {0xFE0F, 0},  {0x20DD, 0},  {0x1160, 0},  {0x1100, 2},
                 {0x0, -1},     {0x1B, -1},   {0x7F, -1},   {0x9B, -1},   {0x202E, -1},
                 {0x2066, -1},  {0x200E, -1}, {0x61C, -1},  {0xE000, -1}, {0xF8FF, -1},
                 {0xFEFF, -1},  {0xFFFE, -1}, {0x2028, -1}, {0xD800, -1}, {0x110000, -1},
                 {0xE0041, -1}, {0xFFFD, 1},  {0x2030, 1},  {0x1F1E6, 1}, {0x10FFFF, -1}};

    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++)
        if (pm_utf8_width(cases[i].code) != cases[i].width)
            fail_msg("U+%04X is %d", (unsigned)cases[i].code, pm_utf8_width(cases[i].code));
}

/* The C library decides for curses how far the cursor moves; where it knows a character, we must
 * agree, or columns tear. Its table may be of another Unicode version: a few may differ. */
static void widths_against_libc(void **state)
{
    locale_t utf8 = newlocale(LC_CTYPE_MASK, "C.UTF-8", (locale_t)0);
    long known = 0, differ = 0;
    locale_t before;

    (void)state;
    if (utf8 == (locale_t)0) {
        print_message("no C.UTF-8 locale here\n");
        skip();
    }
    before = uselocale(utf8);
    for (uint32_t code = 0x20; code <= 0x3FFFF; code++) {
        int libc = wcwidth((wchar_t)code), ours = pm_utf8_width(code);
        if (libc < 0 || ours < 0)
            continue;
        known++;
        if (libc != ours) {
            differ++;
            if (getenv("PERMILLE_TEST_VERBOSE") != NULL)
                print_message("U+%04X: %d, libc %d\n", (unsigned)code, ours, libc);
        }
    }
    uselocale(before);
    freelocale(utf8);
    assert_true(known > 100000);
    assert_in_range(differ, 0, 20);
}

static void glyphs(void **state)
{
    const char *text = "e" ACUTE ACUTE "x" CJK "\xff" ROSE "\x1b" E_ACUTE;
    static const struct {
        size_t length;
        int cells;
        bool shown;
    } wanted[] = {{5, 1, true}, {1, 1, true},  {3, 2, true}, {1, 1, false},
                  {4, 2, true}, {1, 1, false}, {2, 1, true}, {0, 0, false}};
    size_t offset = 0, cells = 0;

    (void)state;
    for (size_t i = 0; i < sizeof wanted / sizeof wanted[0]; i++) {
        struct pm_glyph glyph = pm_utf8_next(text + offset);
        assert_ptr_equal(glyph.bytes, text + offset);
        assert_int_equal(glyph.length, wanted[i].length);
        assert_int_equal(glyph.cells, wanted[i].cells);
        assert_int_equal(glyph.shown, wanted[i].shown);
        if (glyph.length > 0)
            assert_int_equal(pm_utf8_before(text, offset + glyph.length), offset);
        offset += glyph.length;
        cells += (size_t)glyph.cells;
    }
    assert_int_equal(pm_utf8_cells(text), cells);
    assert_int_equal(pm_utf8_before(text, 0), 0);
    assert_int_equal(pm_utf8_next(ACUTE "a").cells, 0);
    assert_int_equal(pm_utf8_cells(ACUTE "a"), 1);
}

/* What a person takes for one character is one: the first four are examples of UAX #29,
 * table 1a; the others are sequences of UTS #51.
 */
static void clusters(void **state)
{
    static const struct {
        const char *text;
        int cells;
    } cases[] = {
        {"g\u0308", 1},                    /* a letter and its mark */
        {"\u1100\u1161\u11A8", 2},         /* conjoining jamo, one syllable */
        {"\u0BA8\u0BBF", 2},               /* Tamil ni: a letter, a spacing vowel */
        {"\u0937\u093F", 2},               /* Devanagari ssi */
        {"\U0001F1EB\U0001F1F7", 2},       /* two regional indicators, a flag */
        {"\U0001F469\u200D\U0001F52C", 2}, /* a woman scientist */
        {"\U0001F44B\U0001F3FD", 2},       /* a hand and its skin colour */
        {"\u2764\uFE0F", 1},               /* a heart and how it is shown */
    };

    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        char twice[64];
        size_t length = strlen(cases[i].text);
        struct pm_glyph glyph = pm_utf8_next(cases[i].text);
        if (glyph.length != length || glyph.cells != cases[i].cells || !glyph.shown)
            fail_msg("case %zu: %zu bytes of %zu, %d cells", i, glyph.length, length, glyph.cells);
        snprintf(twice, sizeof twice, "%s%s", cases[i].text, cases[i].text);
        assert_int_equal(pm_utf8_before(twice, 2 * length), length);
        assert_int_equal(pm_utf8_before(twice, length), 0);
    }
    /* Three flags and a half: they pair from the beginning of the run. */
    const char *flags = "x\U0001F1EB\U0001F1F7\U0001F1E9\U0001F1EA\U0001F1EB";
    assert_int_equal(pm_utf8_before(flags, 21), 17);
    assert_int_equal(pm_utf8_before(flags, 17), 9);
    assert_int_equal(pm_utf8_cells(flags), 6);
}

static void fitting(void **state)
{
    (void)state;
    assert_int_equal(pm_utf8_fit("abc", 2), 2);
    assert_int_equal(pm_utf8_fit("abc", 9), 3);
    assert_int_equal(pm_utf8_fit("e" ACUTE "x", 1), 3);
    assert_int_equal(pm_utf8_fit(CJK CJK, 3), 3); /* half a character is none */
    assert_int_equal(pm_utf8_fit(CJK CJK, 1), 0);
    assert_int_equal(pm_utf8_fit("a" ROSE, 2), 1);
    assert_int_equal(pm_utf8_fit("a" ROSE, 3), 5);
    assert_int_equal(pm_utf8_fit("", 5), 0);
    assert_int_equal(pm_utf8_fit("\xff\xff", 1), 1);
}

/* On arbitrary bytes, walking forth and back meets the same glyphs. */
static void walking_noise(void **state)
{
    static const char pieces[][5] = {"a",    CJK,    ROSE,       ACUTE,          "\xff",
                                     "\xe9", "\x99", "\xf0\x9f", "\xe2\x80\x8d", "\x1b"};
    uint64_t random = 12345;

    (void)state;
    for (int round = 0; round < 3000; round++) {
        char text[100] = "";
        size_t starts[40], count = 0, offset = 0;
        for (int i = 0; i < 12; i++) {
            random = random * 6364136223846793005U + 1442695040888963407U;
            strcat(text, pieces[(random >> 33) % (sizeof pieces / sizeof pieces[0])]);
        }
        while (text[offset] != '\0') {
            starts[count++] = offset;
            offset += pm_utf8_next(text + offset).length;
        }
        assert_int_equal(offset, strlen(text));
        while (count > 0) {
            offset = pm_utf8_before(text, offset);
            assert_int_equal(offset, starts[--count]);
        }
    }
}

static void blanks(void **state)
{
    (void)state;
    assert_true(pm_is_blank(""));
    assert_true(pm_is_blank(" \t\n\u00A0\u3000"));
    assert_false(pm_is_blank("  0 "));
    assert_false(pm_is_blank("\xff"));
}

static void name_is(const char *text, const char *wanted)
{
    struct pm_error err;
    char *name = NULL;

    if (pm_name_clean(text, "The name", &name, &err) != PM_OK)
        fail_msg("refused: %s", err.text);
    assert_string_equal(name, wanted);
    pm_free(name);
}

static void name_refused(const char *text, const char *words)
{
    struct pm_error err;
    char *name = NULL;

    assert_int_equal(pm_name_clean(text, "The name", &name, &err), PM_INVALID);
    assert_null(name);
    if (strstr(err.text, words) == NULL || strncmp(err.text, "The name ", 9) != 0)
        fail_msg("said: %s", err.text);
    assert_true(pm_utf8_valid(err.text, strlen(err.text)));
}

static void names(void **state)
{
    char *much = malloc(10001);

    (void)state;
    assert_non_null(much);
    name_is("Rose oxide", "Rose oxide");
    name_is("  two\xc2\xa0 \xe3\x80\x80words \n", "two words");
    name_is("l'eau \"quoted\"; DROP", "l'eau \"quoted\"; DROP");
    name_is("e" ACUTE CJK ROSE, "e" ACUTE CJK ROSE);
    name_refused("", "empty");
    name_refused(" \t\xc2\xa0 ", "empty");
    name_refused("\xe2\x80\x8d", "empty"); /* only a joiner: nothing to see */
    name_refused("a\nb", "control character (U+000A)");
    name_refused("a\tb", "control character (U+0009)");
    name_refused("a\x1b[31m", "control character (U+001B)");
    name_refused("a\x7f", "control character (U+007F)");
    name_refused("a\xc2\x9b", "control character (U+009B)");
    name_refused("a\xe2\x80\xae"
                 "b",
                 "direction of writing (U+202E)");
    name_refused("a\xe2\x81\xa6"
                 "b",
                 "direction of writing (U+2066)");
    name_refused("a\xe2\x80\xa8"
                 "b",
                 "(U+2028)");
    name_refused("a\xef\xbb\xbf"
                 "b",
                 "cannot be shown (U+FEFF)");
    name_refused("a\xee\x80\x80", "cannot be shown (U+E000)");
    name_refused("a\xff"
                 "b",
                 "UTF-8");
    name_refused("a\xc3", "UTF-8");
    memset(much, 'n', 10000);
    much[10000] = '\0';
    name_refused(much, "10000 characters");
    much[201] = '\0';
    name_refused(much, "201 characters");
    much[200] = '\0';
    name_is(much, much);
    for (int i = 0; i < 200; i++)
        memcpy(much + 3 * i, CJK, 3);
    much[600] = '\0';
    name_is(much, much); /* characters count, not bytes */
    free(much);
}

static void notes(void **state)
{
    struct pm_error err;
    char *note = NULL;

    (void)state;
    assert_int_equal(pm_note_clean(" one\r\n\ttwo  three\n\n", "The note", 100, &note, &err),
                     PM_OK);
    assert_string_equal(note, "one\n\ttwo  three");
    pm_free(note);
    assert_int_equal(pm_note_clean("", "The note", 100, &note, &err), PM_OK);
    assert_string_equal(note, "");
    pm_free(note);
    note = NULL;
    assert_int_equal(pm_note_clean("a\x1b[0m", "The note", 100, &note, &err), PM_INVALID);
    assert_int_equal(pm_note_clean("a\rb", "The note", 100, &note, &err), PM_INVALID);
    assert_int_equal(pm_note_clean("a\xe2\x80\xae", "The note", 100, &note, &err), PM_INVALID);
    assert_int_equal(pm_note_clean("a\xff", "The note", 100, &note, &err), PM_INVALID);
    assert_int_equal(pm_note_clean("12345", "The note", 4, &note, &err), PM_INVALID);
    assert_string_equal(err.text, "The note is too long: 5 bytes, the most is 4.");
    assert_null(note);
}

static void fold_is(const char *text, const char *wanted)
{
    char *folded = pm_fold(text);

    assert_non_null(folded);
    assert_string_equal(folded, wanted);
    assert_true(pm_fold_equal(text, wanted));
    pm_free(folded);
}

static void folding(void **state)
{
    (void)state;
    fold_is("Rose OXIDE", "rose oxide");
    fold_is("Vétiver", "vetiver");
    fold_is("Ve\xcc\x81tiver", "vetiver"); /* decomposed */
    fold_is("Ångström Øl ŁÓDŹ İstanbul ıı", "angstrom ol lodz istanbul ii");
    fold_is("Straße Œuvre Æther ﬁn", "strasse oeuvre aether fin");
    fold_is("ἈΡΏΜΑΤΑ ς", "αρωματα σ");
    fold_is("Ёлка Й", "елка и");
    fold_is("β–pinene", "β-pinene");
    fold_is("l\xe2\x80\x99huile \xe2\x80\x9cx\xe2\x80\x9d", "l'huile \"x\"");
    fold_is("  a \xc2\xa0\t b  ", "a b");
    fold_is("", "");
    fold_is("   ", "");
    fold_is(CJK ROSE, CJK ROSE);
    fold_is("\uFF32\uFF4F\uFF53\uFF45", "rose"); /* full width */
    fold_is("\u1E9B\u0323", "s");                /* UAX #15, figure 6: NFKD, then no marks */
    fold_is("\uFDFA", "\u0635\u0644\u0649 \u0627\u0644\u0644\u0647 \u0639\u0644\u064A\u0647 "
                      "\u0648\u0633\u0644\u0645"); /* the longest decomposition there is */
    fold_is("ro\u00ADse\u200B", "rose");           /* what is never seen */
    assert_false(pm_fold_equal("\u0915\u093F", "\u0915\u093E")); /* vowels make another word */
    fold_is("a\xff", "a\xef\xbf\xbd");
    assert_false(pm_fold_equal("ab", "a"));
    assert_false(pm_fold_equal("a", "ab"));
    assert_false(pm_fold_equal("a b", "ab"));
    assert_true(pm_fold_equal("ﬃ", "FFI"));
}

/* Folding twice changes nothing, for every code point there is. */
static void folding_settles(void **state)
{
    (void)state;
    for (uint32_t code = 1; code <= 0x10FFFF; code++) {
        char text[8] = "x", *once, *twice;
        text[1 + pm_utf8_encode(code, text + 1)] = 'y';
        once = pm_fold(text);
        twice = pm_fold(once);
        if (strcmp(once, twice) != 0 || !pm_utf8_valid(once, strlen(once)))
            fail_msg("U+%04X: %s, then %s", (unsigned)code, once, twice);
        pm_free(once);
        pm_free(twice);
        if (code == 0x30000)
            code = 0xDFFFF; /* nothing is assigned between */
    }
}

static void memory_faults(void **state)
{
    struct pm_error err;
    char *out = NULL;

    (void)state;
    pm_mem_fail_at(1, false);
    assert_int_equal(pm_name_clean("name", "The name", &out, &err), PM_NOMEM);
    assert_null(out);
    pm_mem_fail_at(1, false);
    assert_int_equal(pm_note_clean("note", "The note", 10, &out, &err), PM_NOMEM);
    assert_null(out);
    for (long n = 1;; n++) {
        pm_mem_fail_at(n, false);
        out = pm_fold("a name that is long enough for the text to grow more than one single time");
        if (pm_mem_fail_at(0, false) < n)
            break;
        assert_null(out);
        assert_true(n < 50);
    }
    assert_non_null(out);
    pm_free(out);
    pm_mem_fail_at(1, true);
    assert_true(pm_fold_equal("É", "e"));
    assert_int_equal(pm_mem_fail_at(0, false), 0);
}

/* Compared as they are folded, whatever stands in them: letters, blanks, marks, ligatures. */
static void equal_is_equal_when_folded(void **state)
{
    static const char *const pieces[] = {"a",      "A",      "b", " ",      "\t",     "\u0301",
                                         "\u00E9", "\u00DF", "s", "\uFB01", "f",      "i",
                                         "-",      "\u2019", "'", "\u00A0", "\u0421", "\u0441"};
    char texts[2][64];
    size_t equal = 0;
    (void)state;
    srandom(11);
    for (int turn = 0; turn < 200000; turn++) {
        for (int t = 0; t < 2; t++) {
            texts[t][0] = '\0';
            for (long k = random() % 5; k > 0; k--)
                strcat(texts[t], pieces[random() % (long)(sizeof pieces / sizeof *pieces)]);
        }
        char *a = pm_fold(texts[0]), *b = pm_fold(texts[1]);
        const bool same = strcmp(a, b) == 0;
        if (pm_fold_equal(texts[0], texts[1]) != same)
            fail_msg("\"%s\" and \"%s\": \"%s\", \"%s\"", texts[0], texts[1], a, b);
        equal += same;
        pm_free(a);
        pm_free(b);
    }
    assert_true(equal > 5000);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(decoding),        cmocka_unit_test(equal_is_equal_when_folded),
        cmocka_unit_test(widths),          cmocka_unit_test(widths_against_libc),
        cmocka_unit_test(glyphs),          cmocka_unit_test(clusters),
        cmocka_unit_test(fitting),         cmocka_unit_test(walking_noise),
        cmocka_unit_test(blanks),          cmocka_unit_test(names),
        cmocka_unit_test(notes),           cmocka_unit_test(folding),
        cmocka_unit_test(folding_settles), cmocka_unit_test(memory_faults),
    };

    return cmocka_run_group_tests_name("base: characters", tests, NULL, NULL);
}
