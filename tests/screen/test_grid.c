/* SPDX-License-Identifier: MIT */
/* The cell grid: clipping, wide and combined glyphs, what must never reach a terminal. */
#include "harness.h"

#include "permille/base/utf8.h"

#include <stdlib.h>
#include <string.h>

#define WIDE  "\xE9\xA6\x99"     /* U+9999, two cells */
#define ACUTE "\xCC\x81"         /* U+0301, combining */
#define MARK  "\xEF\xBF\xBD"     /* U+FFFD */
#define DOTS  "\xE2\x80\xA6"     /* U+2026 */
#define ROSE  "\xF0\x9F\x8C\xB9" /* U+1F339, two cells */

static struct pm_grid grid;
static struct pm_pane all;

static int start(void **state)
{
    (void)state;
    if (!pm_grid_init(&grid, 4, 12))
        return -1;
    all = pm_pane_all(&grid);
    return 0;
}

static int end(void **state)
{
    (void)state;
    pm_grid_release(&grid);
    return 0;
}

static void expect(bool roles, const char *expected)
{
    struct pm_text text = PM_TEXT_EMPTY;
    if (roles)
        pm_grid_dump_roles(&grid, &text);
    else
        pm_grid_dump_text(&grid, &text);
    assert_string_equal(pm_text_get(&text), expected);
    pm_text_release(&text);
}

static void text_is_clipped_at_all_edges(void **state)
{
    (void)state;
    assert_int_equal(pm_pane_put(&all, 0, 8, PM_ROLE_NORMAL, "clipped"), 4);
    assert_int_equal(pm_pane_put(&all, 1, -2, PM_ROLE_ERROR, "clipped"), 7);
    assert_int_equal(pm_pane_put(&all, 9, 0, PM_ROLE_NORMAL, "nowhere"), 0);
    assert_int_equal(pm_pane_put(&all, -1, 0, PM_ROLE_NORMAL, "nowhere"), 0);
    expect(false, "        clip\nipped\n\n\n");
    expect(true, "\nxxxxx\n\n\n");
}

static void wide_glyphs_are_never_split(void **state)
{
    (void)state;
    pm_pane_put(&all, 0, 9, PM_ROLE_NORMAL, WIDE WIDE); /* 9-10 fits, 11-12 does not */
    pm_pane_put(&all, 1, -1, PM_ROLE_NORMAL, WIDE "x");
    pm_pane_put(&all, 2, 0, PM_ROLE_NORMAL, WIDE WIDE);
    pm_pane_put(&all, 2, 1, PM_ROLE_NORMAL, "ab"); /* over the second and the third half */
    pm_pane_put(&all, 3, 0, PM_ROLE_NORMAL, "a" WIDE "b");
    pm_pane_put(&all, 3, 1, PM_ROLE_NORMAL, "c"); /* over a first half */
    expect(false, "         " WIDE "\n x\n ab\nac b\n");
}

static void marks_stay_with_their_base(void **state)
{
    (void)state;
    assert_int_equal(pm_pane_put(&all, 0, 0, PM_ROLE_NORMAL, "e" ACUTE "e" ACUTE "x"), 3);
    const struct pm_cell *cell = pm_grid_cell(&grid, 0, 1);
    assert_int_equal(cell->length, 3);
    assert_memory_equal(cell->bytes, "e" ACUTE, 3);
    /* A cell holds a base and four marks, as curses does; more are dropped. */
    pm_pane_put(&all, 1, 0, PM_ROLE_NORMAL, "o" ACUTE ACUTE ACUTE ACUTE ACUTE ACUTE "!");
    assert_int_equal(pm_grid_cell(&grid, 1, 0)->length, 1 + 4 * 2);
    assert_memory_equal(pm_grid_cell(&grid, 1, 1)->bytes, "!", 1);
    /* Of joined pictures the first is shown, and variation selectors are dropped: terminals
     * disagree about both. */
    pm_pane_put(&all, 2, 0, PM_ROLE_NORMAL, ROSE "\xE2\x80\x8D" ROSE "\xEF\xB8\x8F.");
    assert_int_equal(pm_grid_cell(&grid, 2, 0)->length, 4);
    assert_int_equal(pm_grid_cell(&grid, 2, 1)->width, 0);
    assert_memory_equal(pm_grid_cell(&grid, 2, 2)->bytes, ".", 1);
}

static void what_is_no_text_becomes_a_mark(void **state)
{
    (void)state;
    pm_pane_put(&all, 0, 0, PM_ROLE_NORMAL, "a\x1B[31m\tb\n");
    pm_pane_put(&all, 1, 0, PM_ROLE_NORMAL, "\xC3\x28\xFF|\xE2\x80\xAE|\xC2\x9B");
    expect(false, "a" MARK "[31m" MARK "b" MARK "\n" MARK "(" MARK "|" MARK "|" MARK "\n\n\n");
}

static void fields_cut_with_an_ellipsis(void **state)
{
    (void)state;
    pm_pane_put(&all, 0, 0, PM_ROLE_NORMAL, "############");
    assert_int_equal(pm_pane_put_left(&all, 0, 1, 6, PM_ROLE_NORMAL, "abcdefg"), 6);
    pm_pane_put(&all, 1, 0, PM_ROLE_NORMAL, "############");
    assert_int_equal(pm_pane_put_right(&all, 1, 1, 6, PM_ROLE_NORMAL, "12.5"), 4);
    pm_pane_put(&all, 2, 0, PM_ROLE_NORMAL, "############");
    pm_pane_put_left(&all, 2, 1, 6, PM_ROLE_NORMAL, WIDE WIDE WIDE WIDE);
    assert_int_equal(pm_pane_put_left(&all, 3, 0, 1, PM_ROLE_NORMAL, "long"), 1);
    assert_int_equal(pm_pane_put_left(&all, 3, 3, 0, PM_ROLE_NORMAL, "long"), 0);
    expect(false, "#abcde" DOTS "#####\n#  12.5#####\n#" WIDE WIDE DOTS " #####\n" DOTS "\n");
}

static void overlays_and_rules(void **state)
{
    (void)state;
    pm_pane_put(&all, 0, 0, PM_ROLE_TRACE, "abc");
    pm_pane_overlay(&all, 0, 1, 1, 20, PM_ROLE_SELECTED);
    pm_pane_rule(&all, 1, "Title");
    struct pm_pane part = pm_pane_part(&all, 2, 10, 5, 5);
    assert_int_equal(part.rows, 2);
    assert_int_equal(part.columns, 2);
    pm_pane_repeat(&part, 0, 0, 99, PM_ROLE_BAR, "=");
    pm_pane_cursor(&part, 7, 7);
    assert_int_equal(grid.cursor_row, 3);
    assert_int_equal(grid.cursor_column, 11);
    expect(true, "tsssssssssss\nrr.hhhhh.rrr\n..........bb\n\n");
}

static void wrapping(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        int rows;
    } cases[] = {{"", 0},
                 {"short", 1},
                 {"two words here", 2},
                 {"a\n\nb", 3},
                 {"unbreakableword", 2},
                 {"ends in blank ", 2},
                 {WIDE WIDE WIDE WIDE WIDE WIDE WIDE, 2}};
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++)
        assert_int_equal(pm_pane_wrap(&all, 0, PM_ROLE_NORMAL, cases[i].text), cases[i].rows);
    pm_grid_clear(&grid);
    pm_pane_wrap(&all, 0, PM_ROLE_NORMAL, "a number of words, wrapped");
    expect(false, "a number of\nwords,\nwrapped\n\n");
    /* A glyph wider than the pane must not hang it. */
    struct pm_pane narrow = pm_pane_part(&all, 0, 0, 4, 1);
    assert_true(pm_pane_wrap(&narrow, 0, PM_ROLE_NORMAL, WIDE WIDE) <= 4);
}

/* Whatever is painted wherever: no cell holds a control character or half a glyph. */
static void random_paint_keeps_the_grid_whole(void **state)
{
    (void)state;
    static const char *const pieces[] = {WIDE,   ACUTE,  ROSE, "a",
                                         "\x1B", "\xFF", " ",  "\xE2\x80\xAE"};
    srandom(7);
    for (int round = 0; round < 20000; round++) {
        char text[64] = "";
        for (long n = random() % 9; n > 0; n--)
            strcat(text, pieces[random() % 8]);
        int row = (int)(random() % 6) - 1, column = (int)(random() % 20) - 4;
        int cells = (int)(random() % 8);
        if (random() % 3 == 0)
            pm_pane_put(&all, row, column, PM_ROLE_NORMAL, text);
        else if (random() % 2)
            pm_pane_put_left(&all, row, column, cells, PM_ROLE_FAINT, text);
        else
            pm_pane_put_right(&all, row, column, cells, PM_ROLE_FAINT, text);
        for (int y = 0; y < grid.rows; y++) {
            for (int x = 0; x < grid.columns; x++) {
                const struct pm_cell *cell = pm_grid_cell(&grid, y, x);
                const struct pm_cell *next = pm_grid_cell(&grid, y, x + 1);
                uint32_t code = ' ';
                assert_int_equal(cell->width == 2, next && next->width == 0);
                assert_int_equal(cell->width == 0, cell->length == 0);
                if (cell->length != 0)
                    pm_utf8_decode(cell->bytes, cell->length, &code);
                assert_true(pm_utf8_width(code) >= 1);
            }
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(text_is_clipped_at_all_edges, start, end),
        cmocka_unit_test_setup_teardown(wide_glyphs_are_never_split, start, end),
        cmocka_unit_test_setup_teardown(marks_stay_with_their_base, start, end),
        cmocka_unit_test_setup_teardown(what_is_no_text_becomes_a_mark, start, end),
        cmocka_unit_test_setup_teardown(fields_cut_with_an_ellipsis, start, end),
        cmocka_unit_test_setup_teardown(overlays_and_rules, start, end),
        cmocka_unit_test_setup_teardown(wrapping, start, end),
        cmocka_unit_test_setup_teardown(random_paint_keeps_the_grid_whole, start, end),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
