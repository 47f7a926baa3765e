/* SPDX-License-Identifier: MIT */
/*
 * The terminal for real: a small application on a pseudo-terminal, read back through libvterm, an
 * independent implementation of the terminal's side. Colours are held against the contrast formula
 * of WCAG 2.1.
 */
#include "harness.h"
#include "sample.h"

#include "src/tui/kit/term.h"

#include "permille/base/mem.h"

#include <math.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <time.h>
#include <unistd.h>

static struct stage *open_stage(int rows, int columns, const char *term,
                                const char *const *settings)
{
    struct stage_spec spec = {
        .rows = rows, .columns = columns, .term = term, .settings = settings, .run = sample_main};
    return stage_start(&spec);
}

static struct stage *open_sheet(void)
{
    struct stage *stage = open_stage(24, 80, NULL, NULL);
    stage_sees(stage, "? all keys");
    return stage;
}

static void expect_end(struct stage *stage, int code)
{
    int status = stage_status(stage);
    if (!WIFEXITED(status) || WEXITSTATUS(status) != code) {
        print_error("status %x, expected exit %d\n", (unsigned)status, code);
        stage_fail(stage, "the screen is:");
    }
}

/* ---- what is shown --------------------------------------------------------------------------- */

static void columns_stay_aligned_with_hard_names(void **state)
{
    (void)state;
    static const char *const terms[] = {"xterm-256color", "tmux-256color", "screen-256color",
                                        "linux", "vt220"};
    for (size_t i = 0; i < sizeof terms / sizeof *terms; i++) {
        struct stage *stage = open_stage(24, 80, terms[i], NULL);
        stage_sees(stage, "? all keys");
        for (int row = 3; row < 21; row++)
            if (stage_cell(stage, row, 24).code != '|' || stage_cell(stage, row, 39).code != '|')
                stage_fail(stage, terms[i]);
        stage_sees(stage, "\xE9\xA6\x99\xE6\xB0\xB4 wide");
        stage_sees(stage, "bad \xEF\xBF\xBD( \xEF\xBF\xBD bytes");
        stage_sees(stage, "esc \xEF\xBF\xBD[31m red");
        stage_keys(stage, "q");
        expect_end(stage, 0);
        stage_end(stage);
    }
}

static void the_cursor_stands_on_the_focus(void **state)
{
    (void)state;
    struct stage *stage = open_sheet();
    stage_keys(stage, "Down Down 4");
    stage_type(stage, "2");
    stage_sees(stage, "| 42 ");
    stage_cursor_at(stage, 5, 28);
    assert_int_equal(stage_mouse(stage), 0);
    stage_keys(stage, "Enter");
    stage_sees(stage, "Saved.");
    stage_cursor_at(stage, 5, 26);
    stage_end(stage);
}

static double linear(unsigned char value)
{
    double c = value / 255.0;
    return c <= 0.03928 ? c / 12.92 : pow((c + 0.055) / 1.055, 2.4);
}

/* Red, green, blue of the colours 16 to 255 of the 256-colour palette as xterm defines them. */
static void palette(int number, unsigned char rgb[3])
{
    static const unsigned char levels[] = {0, 95, 135, 175, 215, 255};
    assert_in_range(number, 16, 231);
    rgb[0] = levels[(number - 16) / 36];
    rgb[1] = levels[(number - 16) / 6 % 6];
    rgb[2] = levels[(number - 16) % 6];
}

/* Contrast with black and with white, the smaller of the two (WCAG 2.1, "contrast ratio"). */
static double contrast(int number)
{
    unsigned char rgb[3];
    palette(number, rgb);
    double luminance = 0.2126 * linear(rgb[0]) + 0.7152 * linear(rgb[1]) + 0.0722 * linear(rgb[2]);
    double dark = (luminance + 0.05) / 0.05, light = 1.05 / (luminance + 0.05);
    return dark < light ? dark : light;
}

/* Cells with a colour of their own, all readable on black and on white; never a background. */
static int coloured_cells(struct stage *stage, int most)
{
    int found = 0;
    for (int row = 0; row < 24; row++) {
        for (int column = 0; column < 80; column++) {
            struct stage_cell cell = stage_cell(stage, row, column);
            assert_int_equal(cell.background, -1);
            if (cell.foreground == -1)
                continue;
            found++;
            assert_in_range(cell.foreground, 0, most);
            if (most == 255 && contrast(cell.foreground) < 4.0)
                stage_fail(stage, "a colour with too little contrast");
            /* never white, black, yellow, or a bright one */
            if (most == 7)
                assert_true(cell.foreground != 0 && cell.foreground != 3 && cell.foreground != 7);
        }
    }
    return found;
}

static void colours_are_readable_on_light_and_dark(void **state)
{
    (void)state;
    struct stage *stage = open_sheet();
    stage_keys(stage, "e");
    stage_sees(stage, "! The disk is full");
    assert_true(coloured_cells(stage, 255) > 0);
    stage_end(stage);
    stage = open_stage(24, 80, "xterm", NULL);
    stage_sees(stage, "? all keys");
    stage_keys(stage, "e");
    stage_sees(stage, "! The disk is full");
    assert_true(coloured_cells(stage, 7) > 0);
    stage_end(stage);
}

/* Against one background alone (WCAG 2.1): 7:1 is its level AAA; brown on white reaches 5.7. */
static double contrast_with(int number, bool white)
{
    unsigned char rgb[3];
    palette(number, rgb);
    const double luminance =
        0.2126 * linear(rgb[0]) + 0.7152 * linear(rgb[1]) + 0.0722 * linear(rgb[2]);
    return white ? 1.05 / (luminance + 0.05) : (luminance + 0.05) / 0.05;
}

static int least_contrast(struct stage *stage, bool white, double least)
{
    int found = 0;
    for (int row = 0; row < 24; row++)
        for (int column = 0; column < 80; column++) {
            const struct stage_cell cell = stage_cell(stage, row, column);
            if (cell.foreground == -1)
                continue;
            found++;
            if (contrast_with(cell.foreground, white) < least)
                stage_fail(stage, "a colour with too little contrast for its theme");
        }
    return found;
}

static void themes_fit_their_background(void **state)
{
    static struct pm_term_manner dark = {.theme = PM_THEME_DARK}, light = {.theme = PM_THEME_LIGHT},
                                 none = {.theme = PM_THEME_MONOCHROME};
    struct pm_term_manner *const manners[] = {&dark, &light, &none};
    (void)state;
    for (size_t i = 0; i < 3; i++) {
        const struct stage_spec spec = {
            .rows = 24, .columns = 80, .run = sample_main, .context = manners[i]};
        struct stage *stage = stage_start(&spec);
        stage_sees(stage, "? all keys");
        stage_keys(stage, "e");
        stage_sees(stage, "! The disk is full");
        if (i < 2)
            assert_true(least_contrast(stage, i == 1, i == 1 ? 5.5 : 7.0) > 0);
        else
            assert_int_equal(coloured_cells(stage, 255), 0);
        assert_true(stage_cell(stage, 3, 0).reverse); /* the selection is still seen */
        stage_end(stage);
    }
}

static void no_color_means_none(void **state)
{
    (void)state;
    static const char *const on[] = {"NO_COLOR=1", NULL}, *const empty[] = {"NO_COLOR=", NULL};
    struct stage *stage = open_stage(24, 80, NULL, on);
    stage_sees(stage, "? all keys");
    assert_int_equal(coloured_cells(stage, 255), 0);
    assert_true(stage_cell(stage, 3, 0).reverse); /* the selection is still seen */
    assert_true(stage_cell(stage, 0, 0).bold);
    stage_end(stage);
    stage = open_stage(24, 80, NULL, empty); /* set but empty does not count (no-color.org) */
    stage_sees(stage, "? all keys");
    assert_true(coloured_cells(stage, 255) > 0);
    stage_end(stage);
    stage = open_stage(24, 80, "vt100", NULL);
    stage_sees(stage, "? all keys");
    assert_int_equal(coloured_cells(stage, 255), 0);
    stage_end(stage);
}

static void other_locales_get_ascii(void **state)
{
    (void)state;
    static const char *const ascii[] = {"LC_ALL=C", NULL};
    static const char *const none[] = {"LC_ALL=", NULL};
    static const char *const missing[] = {"LC_ALL=xx_XX.UTF-8", NULL};
    struct stage *stage = open_stage(24, 80, NULL, ascii);
    stage_sees(stage, "* This locale is not UTF-8");
    stage_sees(stage, "decompose");
    stage_sees(stage, "? ?  wide"); /* each takes the two cells of its glyph */
    stage_sees(stage, "----------");
    for (int row = 0; row < 24; row++)
        for (const char *at = stage_row(stage, row); *at; at++)
            assert_in_range(*at, 0x20, 0x7E);
    stage_end(stage);
    stage = open_stage(24, 80, NULL, none);
    stage_sees(stage, "\xE9\xA6\x99\xE6\xB0\xB4 wide");
    stage_end(stage);
    stage = open_stage(24, 80, NULL, missing);
    stage_sees(stage, "\xE9\xA6\x99\xE6\xB0\xB4 wide");
    stage_end(stage);
}

/* ---- how much is sent ------------------------------------------------------------------------ */

static bool more_sent(struct stage *stage, void *before)
{
    return stage_sent(stage) > *(size_t *)before;
}

/* Bytes the program sends for keys, until the text is seen. */
static size_t cost(struct stage *stage, const char *keys, const char *text)
{
    size_t before = stage_sent(stage);
    stage_keys(stage, keys);
    stage_sees(stage, text);
    return stage_sent(stage) - before;
}

static void little_is_sent(void **state)
{
    (void)state;
    struct stage *stage = open_sheet();
    stage_keys(stage, "1");
    stage_sees(stage, "| 1 ");
    stage_sees(stage, "Enter accept"); /* the key line that belongs to typing */
    assert_in_range(cost(stage, "2", "| 12 "), 1, 64);
    assert_in_range(cost(stage, "3", "| 123 "), 1, 64);
    stage_keys(stage, "Esc");
    stage_sees(stage, "n new name");
    stage_cursor_at(stage, 3, 26);
    /* Keys that change nothing send nothing: the bytes are those of the last one. */
    size_t before = stage_sent(stage);
    stage_keys(stage, "Down");
    stage_cursor_at(stage, 4, 26);
    size_t alone = stage_sent(stage) - before;
    stage_keys(stage, "Up");
    stage_cursor_at(stage, 3, 26);
    before = stage_sent(stage);
    stage_keys(stage, "Up Home Up Left Up Home Down");
    stage_cursor_at(stage, 4, 26);
    assert_in_range(stage_sent(stage) - before, 1, alone * 3 / 2);
    stage_end(stage);
}

/* Whatever a frame shows, it reaches the terminal in one piece. */
static void one_write_for_a_frame(void **state)
{
    (void)state;
    static const struct {
        const char *keys, *text;
    } frames[] = {{"End", "row number 39"},
                  {"n", "A new name"},
                  {"Esc", "row number 39"},
                  {"t", "The first line is a heading"},
                  {"Ctrl-L", "The first line is a heading"},
                  {"q", "row number 39"}};
    struct stage *stage = open_sheet();
    if (stage_writes(stage) < 0) {
        stage_end(stage);
        skip();
    }
    for (size_t i = 0; i < sizeof frames / sizeof *frames; i++) {
        long before = stage_writes(stage);
        size_t sent = stage_sent(stage);
        stage_keys(stage, frames[i].keys);
        stage_until(stage, more_sent, &sent, "something is sent");
        stage_sees(stage, frames[i].text);
        stage_taken(stage);
        assert_int_equal(stage_writes(stage) - before, 1);
    }
    stage_end(stage);
}

static void ctrl_l_repaints_all(void **state)
{
    (void)state;
    struct stage *stage = open_sheet();
    size_t before = stage_sent(stage);
    stage_keys(stage, "Ctrl-L n");
    stage_sees(stage, "A new name");
    assert_true(stage_sent(stage) - before > 1000);
    stage_end(stage);
}

/* ---- resizing -------------------------------------------------------------------------------- */

static void two_hundred_sizes(void **state)
{
    (void)state;
    struct stage *stage = open_sheet();
    srandom(5);
    for (int i = 0; i < 200; i++)
        stage_resize(stage, 2 + (int)(random() % 60), 2 + (int)(random() % 200));
    stage_resize(stage, 10, 40);
    stage_sees(stage, "sample needs 80 x 24 cells; this is 40 x");
    stage_resize(stage, 30, 100);
    stage_sees(stage, "row number 24");
    /* Every row exactly: what an untouched screen of that size shows. */
    struct stage *fresh = open_stage(30, 100, NULL, NULL);
    stage_sees(fresh, "? all keys");
    stage_sees(stage, "? all keys");
    for (int row = 0; row < 30; row++) {
        char expected[1024];
        snprintf(expected, sizeof expected, "%s", stage_row(fresh, row));
        if (strcmp(stage_row(stage, row), expected) != 0) {
            print_error("row %d should be |%s\n", row, expected);
            stage_fail(stage, "after many sizes the screen is:");
        }
    }
    stage_end(fresh);
    stage_keys(stage, "q");
    expect_end(stage, 0);
    stage_end(stage);
}

/* A terminal may claim any size. */
static int claims_to_be_huge(void *context)
{
    const struct winsize huge = {.ws_row = 32000, .ws_col = 32000};
    ioctl(STDIN_FILENO, TIOCSWINSZ, &huge);
    return sample_main(context);
}

static void absurd_sizes_are_bounded(void **state)
{
    (void)state;
    struct stage_spec spec = {.rows = 24, .columns = 80, .run = claims_to_be_huge};
    struct stage *stage = stage_start(&spec);
    stage_sees(stage, "row number 11");
    stage_keys(stage, "n");
    stage_sees(stage, "A new name");
    stage_keys(stage, "Esc q");
    expect_end(stage, 0);
    stage_end(stage);
}

/* ---- keys ------------------------------------------------------------------------------------ */

static int64_t now_ms(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (int64_t)now.tv_sec * 1000 + now.tv_nsec / 1000000;
}

static int64_t escape_takes(const char *const *settings)
{
    struct stage *stage = open_stage(24, 80, NULL, settings);
    stage_sees(stage, "? all keys");
    stage_keys(stage, "n");
    stage_sees(stage, "A new name");
    int64_t before = now_ms();
    stage_keys(stage, "Esc");
    stage_misses(stage, "A new name");
    int64_t taken = now_ms() - before;
    stage_end(stage);
    return taken;
}

/* Wall clocks flake under load, so the two are held against each other. */
static void escape_is_quick_unless_told_otherwise(void **state)
{
    (void)state;
    static const char *const slow[] = {"ESCDELAY=1000", NULL};
    int64_t quick = escape_takes(NULL), told = escape_takes(slow);
    assert_true(told >= 990);
    assert_true(quick < told / 2);
}

static void keys_of_all_kinds_arrive(void **state)
{
    (void)state;
    struct stage *stage = open_sheet();
    stage_keys(stage, "End");
    stage_sees(stage, "row number 39");
    stage_keys(stage, "Home F3");
    stage_sees(stage, "The other room");
    stage_keys(stage, "F2 n");
    stage_sees(stage, "A new name");
    stage_type(stage, "aaa bbb \xE9\xA6\x99\xC3\xA9");
    stage_sees(stage, "aaa bbb \xE9\xA6\x99\xC3\xA9");
    stage_keys(stage, "Backspace Backspace Ctrl-Left Delete");
    stage_type(stage, "c");
    stage_sees(stage, "aaa cbb");
    stage_keys(stage, "Alt-b");
    stage_type(stage, "d");
    stage_sees(stage, "aaa dcbb");
    /* Sequences nobody knows are swallowed whole, instead of being typed into a number. */
    static const char unknown[] = "\033[12;34;56z\033[?99u\033[<0;5;5M\033O?";
    stage_bytes(stage, unknown, sizeof unknown - 1);
    stage_type(stage, "e");
    stage_sees(stage, "aaa decbb");
    /* Half a character, its rest later; and bytes that are none. */
    stage_bytes(stage, "\xE9\xA6", 2);
    stage_bytes(stage, "\x99", 1);
    stage_sees(stage, "aaa de\xE9\xA6\x99"
                      "cbb");
    stage_bytes(stage, "\xFF\x80\xC3(", 4);
    stage_sees(stage, "aaa de\xE9\xA6\x99(cbb");
    /* Keys also work in the forms of other terminals. */
    static const char other[] = "\033[1~x\033[8~y\033OHz";
    stage_bytes(stage, other, sizeof other - 1);
    stage_sees(stage, "Name  zxaaa de\xE9\xA6\x99(cbb y");
    stage_keys(stage, "Esc q");
    expect_end(stage, 0);
    stage_end(stage);
}

static void pasted_text_is_text(void **state)
{
    (void)state;
    struct stage *stage = open_sheet();
    assert_true(stage_brackets(stage));
    stage_paste(stage, "q\r\x11n\r"); /* with Enter and Ctrl-Q in it */
    stage_sees(stage, "Nothing here takes pasted text.");
    stage_keys(stage, "n");
    stage_sees(stage, "A new name");
    stage_paste(stage, "first\r\nsecond\x11\x1b[31m\x03 q\r");
    stage_sees(stage, "Name  first second[31m q");
    assert_true(stage_running(stage));
    stage_sees(stage, "A new name"); /* the line end in it did not submit */
    stage_keys(stage, "Enter");
    stage_misses(stage, "A new name");
    /* Together with what was typed before: Esc, Esc twice, half a character, half a sequence. */
    static const char *const before[] = {"\033", "\033\033", "\xE9\xA6", "\033[1;"};
    for (size_t i = 0; i < sizeof before / sizeof *before; i++) {
        char bytes[40];
        int length = snprintf(bytes, sizeof bytes, "%s\033[200~q\n\x11q%zu\033[201~", before[i], i);
        stage_keys(stage, "n");
        stage_sees(stage, "A new name");
        stage_bytes(stage, bytes, (size_t)length);
        stage_taken(stage);
        assert_true(stage_running(stage));
        stage_keys(stage, "Esc");
        stage_misses(stage, "A new name");
    }
    /* In as many pieces as it pleases to arrive. */
    stage_keys(stage, "n");
    stage_sees(stage, "A new name");
    stage_bytes(stage, "\033[200~", 6);
    for (int i = 0; i < 50; i++) {
        stage_bytes(stage, "q", 1);
        if (i % 10 == 0)
            stage_taken(stage);
    }
    stage_bytes(stage, "\033[201~!", 7);
    stage_sees(stage, "qqqqqqqqqqqqqqqqqqqqqqqqqqqqqqqqqqqqqqqqqqqqqqqqqq!");
    stage_keys(stage, "Enter");
    stage_misses(stage, "A new name");
    /* A closing bracket that never comes must not swallow the keyboard for ever. */
    stage_keys(stage, "n");
    stage_sees(stage, "A new name");
    stage_bytes(stage, "\033[200~torn", 10);
    stage_sees(stage, "Name  torn");
    stage_keys(stage, "Esc q");
    expect_end(stage, 0);
    assert_false(stage_brackets(stage));
    stage_end(stage);
}

static void ctrl_s_and_ctrl_c_do_not_hurt(void **state)
{
    (void)state;
    struct stage *stage = open_sheet();
    struct termios modes;
    stage_modes(stage, &modes);
    assert_false(modes.c_iflag & IXON);
    assert_false(modes.c_lflag & (ISIG | ICANON | ECHO));
    stage_keys(stage, "Ctrl-S");
    stage_sees(stage, "All is saved");
    stage_keys(stage, "Ctrl-C");
    stage_sees(stage, "Nothing to drop here");
    stage_keys(stage, "Ctrl-Z");
    stage_sees(stage, "Saved."); /* Ctrl-Z takes back, it does not stop the program */
    assert_true(stage_running(stage));
    stage_end(stage);
}

static void the_clipboard_is_asked_once(void **state)
{
    (void)state;
    struct stage *stage = open_sheet();
    assert_false(stage_wrote(stage, "\033]52;"));
    stage_keys(stage, "c n");
    stage_sees(stage, "A new name");
    assert_true(stage_wrote(stage, "\033]52;c;dHdvIGxpbmVzCm9mIHRleHQ=\a"));
    stage_end(stage);
}

/* ---- coming and going ------------------------------------------------------------------------ */

static bool same_modes(const struct termios *a, const struct termios *b)
{
    return a->c_iflag == b->c_iflag && a->c_oflag == b->c_oflag && a->c_cflag == b->c_cflag &&
           a->c_lflag == b->c_lflag && memcmp(a->c_cc, b->c_cc, sizeof a->c_cc) == 0;
}

/* Waits for a line first, so that the terminal can be looked at before the program has it. Without
 * the sanitizers' own handlers a crash ends as it would for a person. */
static int after_a_line(void *context)
{
    char byte;
    signal(SIGSEGV, SIG_DFL);
    signal(SIGABRT, SIG_DFL);
    printf("ready\r\n");
    fflush(stdout);
    if (read(STDIN_FILENO, &byte, 1) != 1)
        return 9;
    return sample_main(context);
}

static struct stage *open_watched(struct termios *before)
{
    struct stage_spec spec = {.rows = 24, .columns = 80, .run = after_a_line};
    struct stage *stage = stage_start(&spec);
    stage_sees(stage, "ready");
    stage_modes(stage, before);
    stage_bytes(stage, "\n", 1);
    stage_sees(stage, "? all keys");
    assert_true(stage_alternate(stage));
    return stage;
}

/* Modes can only be asked for while the other side is open, so this compares what was written and
 * what the emulator believes; and the modes just before the end, when they can still be had. */
static void expect_restored(struct stage *stage, const struct termios *before)
{
    int row, column;
    bool visible;
    struct termios after;
    assert_false(stage_alternate(stage));
    assert_false(stage_brackets(stage));
    stage_cursor(stage, &row, &column, &visible);
    assert_true(visible);
    stage_modes(stage, &after);
    assert_true(same_modes(before, &after));
}

static void the_terminal_is_given_back_at_every_end(void **state)
{
    (void)state;
    static const struct {
        const char *keys;
        int signal; /* sent, unless 0 */
        int dies;   /* of this signal; 0: ends with 0 */
    } ends[] = {{"q", 0, 0},
                {NULL, SIGTERM, SIGTERM},
                {NULL, SIGINT, SIGINT},
                {NULL, SIGHUP, SIGHUP},
                {NULL, SIGUSR1, SIGUSR1},
                {NULL, SIGUSR2, SIGUSR2},
                {NULL, SIGALRM, SIGALRM},
                {NULL, SIGXCPU, SIGXCPU},
                {NULL, SIGVTALRM, SIGVTALRM},
                {NULL, SIGPROF, SIGPROF},
                {NULL, SIGPIPE, SIGPIPE},
                {NULL, SIGPWR, SIGPWR},
                {NULL, SIGSEGV, SIGSEGV},
                {NULL, SIGABRT, SIGABRT},
                {"X", 0, SIGSEGV},
                {"A", 0, SIGABRT}};
    for (size_t i = 0; i < sizeof ends / sizeof *ends; i++) {
        struct termios before;
        struct stage *stage = open_watched(&before);
        if (ends[i].keys != NULL)
            stage_keys(stage, ends[i].keys);
        else
            stage_signal(stage, ends[i].signal);
        int status = stage_status(stage);
        if (ends[i].dies ? !WIFSIGNALED(status) || WTERMSIG(status) != ends[i].dies : status != 0) {
            print_error("case %zu: status %x\n", i, (unsigned)status);
            stage_fail(stage, "the screen is:");
        }
        expect_restored(stage, &before);
        stage_end(stage);
    }
}

/* No more for anyone, the libraries included. */
static void take_all_memory(void)
{
    const struct rlimit none = {0, 0};
    pm_mem_fail_at(1, true);
#ifndef __SANITIZE_ADDRESS__
    setrlimit(RLIMIT_AS, &none);
    for (size_t size = 1 << 20; size > 0; size /= 2) {
        void **block, **last = NULL;
        while ((block = malloc(size < sizeof *block ? sizeof *block : size))) {
            *block = last;
            last = block;
        }
    }
#else
    (void)none;
#endif
}

/* Memory runs out for good while a name is half typed: there are words, and a way out. */
static void out_of_memory_there_is_a_way_out(void **state)
{
    (void)state;
    struct termios before;
    sample_on_copy = take_all_memory;
    struct stage *stage = open_watched(&before);
    sample_on_copy = NULL;
    stage_keys(stage, "c");
    stage_keys(stage, "4");
    stage_sees(stage, "| 4 ");
    stage_keys(stage, "Ctrl-Q");
    stage_sees(stage, "memory is too short to ask");
    stage_keys(stage, "Ctrl-Q");
    expect_end(stage, 0);
    expect_restored(stage, &before);
    stage_end(stage);
}

/* The terminal goes away without a word: the program ends by itself. */
static int watch_the_end(void *context)
{
    int *ends = context;
    pid_t job = fork();
    if (job == 0) {
        close(ends[0]);
        signal(SIGHUP, SIG_IGN);
        int result = sample_main(NULL);
        char answer = result == 0 ? 'e' : 'x';
        return write(ends[1], &answer, 1) == 1 ? 0 : 1;
    }
    waitpid(job, NULL, 0);
    return 0;
}

static void a_vanished_terminal_ends_it(void **state)
{
    (void)state;
    int ends[2];
    char answer = 0;
    assert_int_equal(pipe(ends), 0);
    struct stage_spec spec = {.rows = 24, .columns = 80, .run = watch_the_end, .context = ends};
    struct stage *stage = stage_start(&spec);
    stage_sees(stage, "? all keys");
    close(ends[1]);
    stage_end(stage); /* kills the leader and closes the terminal */
    /* The pipe closes when the program is gone; killed by SIGHUP it writes nothing. */
    ssize_t got = read(ends[0], &answer, 1);
    assert_true(got == 0 || answer == 'e');
    close(ends[0]);
}

static void suspending(void **state)
{
    (void)state;
    struct stage_spec spec = {.rows = 24, .columns = 80, .run = sample_main, .shell = true};
    struct stage *stage = stage_start(&spec);
    stage_sees(stage, "? all keys");
    for (int round = 0; round < 3; round++) {
        char stopped[32];
        if (round == 0) {
            stage_signal(stage, SIGTSTP);
        } else if (round == 1) {
            stage_keys(stage, "Alt-z");
        } else {
            stage_keys(stage, ";");
            stage_sees(stage, "Find an action");
            stage_type(stage, "suspend");
            stage_keys(stage, "Enter");
        }
        snprintf(stopped, sizeof stopped, "[stopped %d]", round + 1);
        stage_sees(stage, stopped);
        struct termios modes;
        stage_modes(stage, &modes);
        assert_true(modes.c_lflag & ICANON);
        assert_false(stage_alternate(stage));
        assert_false(stage_brackets(stage));
        stage_resize(stage, 26, 90 + round); /* while it sleeps */
        stage_bytes(stage, "\n", 1);
        stage_sees(stage, "row number 20");
        stage_sees(stage, "? all keys");
        assert_true(stage_alternate(stage));
        assert_true(stage_brackets(stage));
        stage_keys(stage, "n");
        stage_sees(stage, "A new name");
        stage_keys(stage, "Esc");
        stage_misses(stage, "A new name");
    }
    stage_keys(stage, "q");
    expect_end(stage, 0);
    stage_end(stage);
}

/* Stopped with SIGSTOP and continued: the screen and the modes come back. */
static void continued_from_outside(void **state)
{
    (void)state;
    struct stage *stage = open_sheet();
    size_t before = stage_sent(stage);
    stage_signal(stage, SIGCONT);
    stage_keys(stage, "n");
    stage_sees(stage, "A new name");
    assert_true(stage_sent(stage) - before > 1000);
    stage_end(stage);
}

static void the_terminal_can_be_lent(void **state)
{
    (void)state;
    struct stage *stage = open_sheet();
    struct termios modes;
    stage_keys(stage, "w");
    stage_sees(stage, "[away]");
    assert_false(stage_alternate(stage));
    stage_modes(stage, &modes);
    assert_true(modes.c_lflag & ICANON);
    stage_bytes(stage, "answer\n", 7);
    stage_sees(stage, "Back.");
    assert_true(stage_alternate(stage));
    stage_keys(stage, "q");
    expect_end(stage, 0);
    stage_end(stage);
}

/* ---- terminals that will not do -------------------------------------------------------------- */

static void refused(const char *term, const char *sentence)
{
    struct stage *stage = open_stage(24, 80, term, NULL);
    expect_end(stage, 2);
    /* What was written, since the screen breaks the sentence. */
    assert_true(stage_wrote(stage, sentence));
    assert_true(stage_wrote(stage, "Try: TERM=xterm-256color"));
    assert_false(stage_wrote(stage, "\033"));
    stage_end(stage);
}

static void unknown_terminals_are_refused_in_words(void **state)
{
    (void)state;
    refused("no-such-terminal", "TERM=no-such-terminal is not known");
    refused("dumb", "TERM=dumb cannot place a cursor");
    refused("", "TERM is not set");
    refused("a\033[31mb", "TERM=a?[31mb is not known");
}

static int without_a_terminal(void *context)
{
    int *which = context;
    if (freopen("/dev/null", *which ? "w" : "r", *which ? stdout : stdin) == NULL)
        return 9;
    return sample_main(NULL);
}

static void no_terminal_at_all(void **state)
{
    (void)state;
    for (int which = 0; which < 2; which++) {
        struct stage_spec spec = {
            .rows = 24, .columns = 80, .run = without_a_terminal, .context = &which};
        struct stage *stage = stage_start(&spec);
        expect_end(stage, 2);
        stage_sees(stage, "needs a terminal");
        assert_false(stage_wrote(stage, "\033"));
        stage_end(stage);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(columns_stay_aligned_with_hard_names),
        cmocka_unit_test(the_cursor_stands_on_the_focus),
        cmocka_unit_test(colours_are_readable_on_light_and_dark),
        cmocka_unit_test(themes_fit_their_background),
        cmocka_unit_test(no_color_means_none),
        cmocka_unit_test(other_locales_get_ascii),
        cmocka_unit_test(little_is_sent),
        cmocka_unit_test(one_write_for_a_frame),
        cmocka_unit_test(ctrl_l_repaints_all),
        cmocka_unit_test(absurd_sizes_are_bounded),
        cmocka_unit_test(two_hundred_sizes),
        cmocka_unit_test(escape_is_quick_unless_told_otherwise),
        cmocka_unit_test(keys_of_all_kinds_arrive),
        cmocka_unit_test(pasted_text_is_text),
        cmocka_unit_test(ctrl_s_and_ctrl_c_do_not_hurt),
        cmocka_unit_test(the_clipboard_is_asked_once),
        cmocka_unit_test(the_terminal_is_given_back_at_every_end),
        cmocka_unit_test(out_of_memory_there_is_a_way_out),
        cmocka_unit_test(a_vanished_terminal_ends_it),
        cmocka_unit_test(suspending),
        cmocka_unit_test(continued_from_outside),
        cmocka_unit_test(the_terminal_can_be_lent),
        cmocka_unit_test(unknown_terminals_are_refused_in_words),
        cmocka_unit_test(no_terminal_at_all),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
