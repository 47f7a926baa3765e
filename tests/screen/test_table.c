/* SPDX-License-Identifier: MIT */
/* The table: widths, alignment, scrolling both ways, the cursor, footings, typing into cells. */
#include "harness.h"

#include "src/tui/kit/table.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define COUNT(array) (sizeof(array) / sizeof *(array))
#define DOTS         "\xE2\x80\xA6" /* U+2026 */
#define SIGN         "\xE2\x80\xBA" /* U+203A */

/* ---- a list of invented materials ---- */

enum { NAME, LEFT, NOTE, CAS, COLUMNS };

static char cells[3][COLUMNS][40];

static void fill(void)
{
    static const char *const rows[3][COLUMNS] = {{"Breeze salicylate", "33.5 g", "", "1"},
                                                 {"Dry cedar oil", "7.25 g", "shelf 1", "22"},
                                                 {"Ethanol", "900 g", "", "333"}};
    for (size_t i = 0; i < 3; i++)
        for (size_t k = 0; k < COLUMNS; k++)
            snprintf(cells[i][k], sizeof cells[i][k], "%s", rows[i][k]);
}

static enum pm_role say(void *context, size_t row, size_t column, struct pm_text *out)
{
    (void)context;
    pm_text_add(out, cells[row % 3][column]);
    return column == NOTE ? PM_ROLE_FAINT : PM_ROLE_NORMAL;
}

static enum pm_status open_cell(void *context, size_t row, size_t column, struct pm_text *out,
                                struct pm_error *err)
{
    (void)err;
    say(context, row, column, out);
    return PM_OK;
}

static enum pm_status write_cell(void *context, size_t row, size_t column, const char *text,
                                 struct pm_error *err)
{
    (void)context;
    if (strchr(text, '!') != NULL)
        return pm_fail(err, PM_INVALID, "\"%s\" cannot be.", text);
    snprintf(cells[row % 3][column], sizeof cells[row % 3][column], "%s", text);
    return PM_OK;
}

static const struct pm_column plain[COLUMNS] = {
    [NAME] = {.key = "name",
              .heading = "material",
              .wish = 10,
              .most = 20,
              .grows = true,
              .fixed = true,
              .edited = true},
    [LEFT] = {.key = "left", .heading = "left", .align = PM_ALIGN_POINT},
    [NOTE] = {.key = "note", .heading = "note", .wish = 8, .edited = true},
    [CAS] = {.key = "cas", .heading = "CAS", .align = PM_ALIGN_RIGHT, .wish = 4, .edited = true},
};

static struct pm_table table_of(const struct pm_column *columns, size_t count, size_t rows)
{
    return (struct pm_table){.columns = columns,
                             .column_count = count,
                             .rows = rows,
                             .cell = say,
                             .open = open_cell,
                             .write = write_cell};
}

/* ---- a screen ---- */

static struct pm_grid grid;
static struct pm_table_view view;

static int start(void **state)
{
    (void)state;
    fill();
    return pm_grid_init(&grid, 6, 40) && pm_table_view_init(&view, 40) ? 0 : -1;
}

static int end(void **state)
{
    (void)state;
    pm_table_view_release(&view);
    pm_grid_release(&grid);
    return 0;
}

static void draw(const struct pm_table *table, int rows, int columns)
{
    assert_true(pm_grid_resize(&grid, rows, columns));
    const struct pm_pane all = pm_pane_all(&grid);
    pm_table_draw(table, &view, &all);
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

static void expect_cursor(int row, int column)
{
    assert_int_equal(grid.cursor_row, row);
    assert_int_equal(grid.cursor_column, column);
}

static unsigned act(const struct pm_table *table, int code)
{
    struct pm_error err = {0};
    return pm_table_act(table, &view, code, &err);
}

/* ---- widths and alignment ---- */

static void decimal_points_stand_below_each_other(void **state)
{
    const struct pm_table table = table_of(plain, COLUMNS, 3);
    (void)state;
    draw(&table, 5, 46);
    expect(false, "  material                left  note       CAS\n" SIGN
                  " Breeze salicylate    33.5 g                1\n"
                  "  Dry cedar oil         7.25 g  shelf 1     22\n"
                  "  Ethanol             900 g                333\n\n");
}

static void names_shrink_before_columns_go_and_go_before_they_scroll(void **state)
{
    static const struct pm_column columns[COLUMNS] = {
        [NAME] = {.heading = "material", .measured = true, .least = 8, .yields = 1, .fixed = true},
        [LEFT] = {.heading = "left", .align = PM_ALIGN_RIGHT, .wish = 6},
        [NOTE] = {.heading = "note", .wish = 8, .rank = 1},
        [CAS] = {.heading = "CAS", .wish = 4},
    };
    const struct pm_table table = table_of(columns, COLUMNS, 3);
    (void)state;
    draw(&table, 2, 44);
    expect(false, "  material             left  note      CAS\n" SIGN
                  " Breeze salicylate  33.5 g            1\n");
    draw(&table, 2, 36);
    expect(false, "  material      left  note      CAS\n" SIGN " Breeze sa" DOTS
                  "  33.5 g            1\n");
    draw(&table, 2, 28);
    assert_int_equal(view.spans[NOTE].cells, 0);
    assert_int_equal(view.spans[CAS].cells, 4);
    draw(&table, 2, 18); /* the rank lets none in here */
    assert_int_equal(view.spans[LEFT].cells, 6);
    assert_int_equal(view.spans[CAS].cells, 0);
    assert_true(view.behind);
}

static void a_column_appears_on_wide_screens_and_when_it_says_something(void **state)
{
    static const struct pm_column columns[COLUMNS] = {
        [NAME] = {.heading = "material", .wish = 10},
        [LEFT] = {.heading = "left", .wish = 6, .from = 30},
        [NOTE] = {.heading = "note", .measured = true, .optional = true},
        [CAS] = {.heading = "CAS", .wish = 4, .hidden = true},
    };
    const struct pm_table table = table_of(columns, COLUMNS, 3);
    (void)state;
    draw(&table, 2, 29);
    expect(false, "  material    note\n" SIGN " Breeze sa" DOTS "\n");
    draw(&table, 2, 30);
    expect(false, "  material    left    note\n" SIGN " Breeze sa" DOTS "  33.5 g\n");
    cells[1][NOTE][0] = '\0';
    pm_table_changed(&view);
    draw(&table, 2, 30);
    expect(false, "  material    left\n" SIGN " Breeze sa" DOTS "  33.5 g\n");
}

static void what_is_left_over_widens_in_steps_and_the_rest_grows(void **state)
{
    static const struct pm_column columns[] = {
        {.heading = "a", .wish = 4, .most = 6},
        {.heading = "bar", .wish = 6, .most = 18, .step = 6},
        {.heading = "rest", .wish = 2, .grows = true},
    };
    const struct pm_table table = table_of(columns, COUNT(columns), 0);
    (void)state;
    draw(&table, 2, 40); /* 18 at least: 2 to the first, 12 in two steps, 8 to the last */
    assert_int_equal(view.spans[0].cells, 6);
    assert_int_equal(view.spans[1].cells, 18);
    assert_int_equal(view.spans[2].cells, 10);
    assert_int_equal(view.spans[2].at + view.spans[2].cells, 40);
    draw(&table, 2, 25);
    assert_int_equal(view.spans[1].cells, 6);
}

static void those_that_grow_share_what_is_left(void **state)
{
    static const struct pm_column columns[] = {
        {.heading = "a", .wish = 4, .grows = true},
        {.heading = "b", .wish = 6},
        {.heading = "c", .wish = 8, .grows = true},
    };
    const struct pm_table table = table_of(columns, COUNT(columns), 0);
    (void)state;
    draw(&table, 2, 40); /* 24 at least, 16 left */
    assert_int_equal(view.spans[0].cells, 12);
    assert_int_equal(view.spans[1].cells, 6);
    assert_int_equal(view.spans[2].cells, 16);
    assert_int_equal(view.spans[2].at + view.spans[2].cells, 40);
}

static void a_heading_may_stand_over_two_columns(void **state)
{
    static const struct pm_column columns[COLUMNS] = {
        [NAME] = {.heading = "material", .wish = 4},
        [LEFT] = {.heading = "strength in", .align = PM_ALIGN_RIGHT, .wish = 6},
        [NOTE] = {.wish = 8},
        [CAS] = {.heading = "CAS", .wish = 3},
    };
    const struct pm_table table = table_of(columns, COLUMNS, 0);
    (void)state;
    draw(&table, 1, 40); /* the first may reach as far as the blank before the next one */
    expect(false, "  mate" DOTS " strength in       CAS\n");
    expect(true, "..fffff.fffffffffff.......fff\n");
}

/* At every width: in order, without overlap, within the pane, the cell under the cursor in sight.
 */
static void columns_fit_at_any_width(void **state)
{
    static const struct pm_column columns[] = {
        {.heading = "one", .measured = true, .least = 6, .yields = 1, .fixed = true},
        {.heading = "two", .align = PM_ALIGN_POINT},
        {.heading = "three", .wish = 9, .group = 1},
        {.heading = "four", .wish = 3, .group = 1, .rank = 1},
        {.heading = "five", .wish = 12, .most = 18, .group = 2},
        {.heading = "six", .wish = 5, .grows = true, .group = 2},
        {.heading = "seven", .wish = 7, .from = 60},
    };
    struct pm_table table = table_of(columns, COUNT(columns), 3);
    table.by_cell = true;
    (void)state;
    for (int width = 30; width < 130; width++)
        for (size_t cursor = 0; cursor < COUNT(columns); cursor++) {
            view.column = cursor;
            pm_table_lay_out(&table, &view, width);
            int last = 0;
            for (size_t i = 0; i < COUNT(columns); i++) {
                if (view.spans[i].cells == 0)
                    continue;
                assert_true(view.spans[i].at >= (last > 0 ? last + 2 : 2));
                last = view.spans[i].at + view.spans[i].cells;
                assert_true(last <= width);
            }
            assert_true(view.spans[cursor].cells > 0 || columns[cursor].from > width);
            assert_int_equal(view.spans[4].cells > 0, view.spans[5].cells > 0);
            if (width >= 80)
                assert_false(view.before || view.behind);
        }
}

static void columns_scroll_sideways_by_groups(void **state)
{
    static const struct pm_column columns[] = {
        {.heading = "name", .wish = 6, .fixed = true}, {.heading = "a1", .wish = 5, .group = 1},
        {.heading = "a2", .wish = 5, .group = 1},      {.heading = "b1", .wish = 5, .group = 2},
        {.heading = "b2", .wish = 5, .group = 2},
    };
    const struct pm_table table = table_of(columns, COUNT(columns), 0);
    (void)state;
    draw(&table, 1, 28);
    expect(false, "  name    a1     a2\n");
    assert_false(view.before);
    assert_true(view.behind);
    assert_int_equal(act(&table, PM_ACT_RIGHT), PM_TABLE_DONE);
    draw(&table, 1, 28);
    expect(false, "  name    b1     b2\n");
    assert_true(view.before);
    assert_false(view.behind);
    act(&table, PM_ACT_RIGHT); /* nothing more there */
    draw(&table, 1, 28);
    expect(false, "  name    b1     b2\n");
    act(&table, PM_ACT_LEFT); /* and nothing to come back from */
    draw(&table, 1, 28);
    expect(false, "  name    a1     a2\n");
    act(&table, PM_ACT_RIGHT);
    draw(&table, 1, 28);
    draw(&table, 1, 40); /* what has room again comes back */
    expect(false, "  name    a1     a2     b1     b2\n");
    act(&table, PM_ACT_LEFT);
    draw(&table, 1, 28);
    expect(false, "  name    a1     a2\n");
}

/* A screen that grows, but not enough for all: no room stays free that a column could fill. */
static void columns_come_back_from_the_left(void **state)
{
    static const struct pm_column columns[] = {
        {.heading = "name", .wish = 6, .fixed = true},
        {.heading = "a", .wish = 8},
        {.heading = "b", .wish = 8},
        {.heading = "c", .wish = 8},
    };
    struct pm_table table = table_of(columns, COUNT(columns), 0);
    table.by_cell = true;
    (void)state;
    view.column = 3;
    draw(&table, 1, 18);
    expect(false, "  name    c\n");
    draw(&table, 1, 30);
    expect(false, "  name    b         c\n");
}

static void the_cell_cursor_passes_columns_that_are_not_there(void **state)
{
    static const struct pm_column columns[COLUMNS] = {
        [NAME] = {.heading = "material", .wish = 10},
        [LEFT] = {.heading = "left", .wish = 6, .hidden = true},
        [NOTE] = {.heading = "note", .wish = 6, .from = 60},
        [CAS] = {.heading = "CAS", .wish = 4},
    };
    struct pm_table table = table_of(columns, COLUMNS, 3);
    table.by_cell = true;
    (void)state;
    draw(&table, 3, 40);
    act(&table, PM_ACT_RIGHT);
    assert_int_equal(view.column, CAS);
    act(&table, PM_ACT_RIGHT); /* the last one: stays */
    assert_int_equal(view.column, CAS);
    draw(&table, 3, 60);
    act(&table, PM_ACT_LEFT);
    assert_int_equal(view.column, NOTE);
}

/* ---- rows ---- */

static void the_selected_row_is_found_at_once(void **state)
{
    struct pm_table table = table_of(plain, COLUMNS, 3);
    table.at = LEFT;
    (void)state;
    view.row = 1;
    draw(&table, 4, 44);
    expect(true, "..ffffffff..............ffff..ffff.......fff\n\n"
                 "ssssssssssssssssssssssssssssssssssssssssssss\n\n");
    expect_cursor(2, 27);
}

static void by_cells_row_and_cell_are_told_apart(void **state)
{
    struct pm_table table = table_of(plain, COLUMNS, 3);
    table.by_cell = true;
    (void)state;
    view.row = 1;
    view.column = LEFT;
    draw(&table, 3, 44);
    struct pm_text roles = PM_TEXT_EMPTY;
    pm_grid_dump_roles(&grid, &roles);
    assert_non_null(
        strstr(pm_text_get(&roles), "\nuuuuuuuuuuuuuuuuuuuussssssssuuuuuuuuuuuuuuuu\n"));
    pm_text_release(&roles);
    expect_cursor(2, 27);
    table.idle = true; /* the keys go to another table: the row is still found */
    grid.cursor_row = -1;
    draw(&table, 3, 44);
    pm_grid_dump_roles(&grid, &roles);
    assert_non_null(
        strstr(pm_text_get(&roles), "\nuuuuuuuuuuuuuuuuuuuuuuuuuuuuuuuuuuuuuuuuuuuu\n"));
    pm_text_release(&roles);
    assert_int_equal(grid.cursor_row, -1);
}

static void a_list_may_have_no_selected_row(void **state)
{
    struct pm_table table = table_of(plain, COLUMNS, 3);
    table.unselected = true;
    (void)state;
    view.row = 1;
    draw(&table, 4, 46);
    struct pm_text roles = PM_TEXT_EMPTY;
    pm_grid_dump_roles(&grid, &roles);
    assert_null(strchr(pm_text_get(&roles), 's'));
    pm_text_release(&roles);
    assert_int_equal(grid.cursor_row, -1);
}

static void rows_scroll_and_pages_leave_one_row_in_sight(void **state)
{
    const struct pm_table table = table_of(plain, COLUMNS, 100);
    (void)state;
    draw(&table, 6, 44);
    assert_int_equal(view.page, 5);
    assert_int_equal(view.below, 95);
    assert_int_equal(act(&table, PM_ACT_PAGE_DOWN), PM_TABLE_DONE | PM_TABLE_MOVED);
    assert_int_equal(view.row, 4);
    act(&table, PM_ACT_DOWN);
    draw(&table, 6, 44);
    assert_int_equal(view.first, 1);
    act(&table, PM_ACT_LAST);
    draw(&table, 6, 44);
    assert_int_equal(view.row, 99);
    assert_int_equal(view.first, 95);
    assert_int_equal(view.below, 0);
    assert_int_equal(act(&table, PM_ACT_DOWN), PM_TABLE_DONE);
    struct pm_table unread = table; /* there are more than were read: the room is to read them */
    unread.unread = true;
    act(&unread, PM_ACT_DOWN);
    assert_int_equal(view.row, 100);
}

static void an_overlay_lifts_the_selected_row_while_it_is_there(void **state)
{
    struct pm_table table = table_of(plain, COLUMNS, 100);
    (void)state;
    view.row = 4;
    draw(&table, 6, 44);
    table.covered = 3;
    draw(&table, 6, 44);
    assert_int_equal(view.first, 0);
    assert_int_equal(view.shown, 3);
    table.covered = 0;
    draw(&table, 6, 44);
    assert_int_equal(view.shown, 0);
}

static void an_empty_list_says_so(void **state)
{
    struct pm_table table = table_of(plain, COLUMNS, 0);
    struct pm_error err = {0};
    table.empty = "Nothing is on the shelf.";
    (void)state;
    draw(&table, 4, 44);
    expect(false, "  material              left  note       CAS\n\n  Nothing is on the shelf.\n\n");
    expect_cursor(2, 2);
    assert_int_equal(pm_table_open(&table, &view, &err), PM_TABLE_DONE | PM_TABLE_REFUSED);
    assert_string_equal(err.text, "There is nothing to edit yet.");
    assert_false(view.typing);
}

/* Rows 0 and 2 of three are titles of groups. */
static bool titled(void *context, size_t row, struct pm_text *out)
{
    (void)context;
    pm_text_addf(out, "%s", row == 0 ? "woods" : "solvents");
    return row == 0 || row == 2;
}

static void titles_between_rows_are_passed_over(void **state)
{
    struct pm_table table = table_of(plain, COLUMNS, 4);
    table.title = titled;
    (void)state;
    act(&table, PM_ACT_FIRST);
    assert_int_equal(view.row, 1);
    draw(&table, 5, 40);
    assert_int_equal(grid.cursor_row, 2);
    struct pm_text text = PM_TEXT_EMPTY;
    pm_grid_dump_text(&grid, &text);
    assert_non_null(strstr(pm_text_get(&text), "\nwoods\n" SIGN " Dry cedar oil"));
    assert_non_null(strstr(pm_text_get(&text), "\nsolvents\n  Breeze"));
    pm_text_release(&text);
    act(&table, PM_ACT_DOWN);
    assert_int_equal(view.row, 3);
    act(&table, PM_ACT_UP);
    assert_int_equal(view.row, 1);
    assert_int_equal(act(&table, PM_ACT_UP), PM_TABLE_DONE); /* only a title above: stays */
    assert_int_equal(view.row, 1);
}

static enum pm_role marked(void *context, size_t row, struct pm_text *out)
{
    (void)context;
    pm_text_add(out, row == 2 ? "*" : "");
    return PM_ROLE_KEY;
}

static enum pm_role sums(void *context, size_t row, size_t column, struct pm_text *out)
{
    (void)context;
    (void)row;
    pm_text_add(out, column == NAME ? "total" : column == LEFT ? "940.75 g" : "");
    return PM_ROLE_HEADING;
}

static void sums_stand_below_and_marks_beside(void **state)
{
    struct pm_column columns[COLUMNS];
    memcpy(columns, plain, sizeof columns);
    columns[LEFT].summed = true;
    struct pm_table table = table_of(columns, COLUMNS, 3);
    table.mark = marked;
    table.foot = sums;
    table.foot_rows = 1;
    table.rule = PM_RULE_COLUMNS;
    (void)state;
    draw(&table, 7, 44);
    assert_int_equal(view.foot, 5);
    struct pm_text text = PM_TEXT_EMPTY;
    pm_grid_dump_text(&grid, &text);
    assert_non_null(strstr(pm_text_get(&text), "\n *Ethanol"));
    assert_non_null(strstr(pm_text_get(&text), "900 g"));
    assert_non_null(strstr(pm_text_get(&text), "940.75 g"));
    assert_non_null(strstr(pm_text_get(&text), "\xE2\x94\x80\xE2\x94\x80"));
    pm_text_release(&text);
    draw(&table, 5, 44); /* no row for the rule */
    assert_int_equal(view.foot, 4);
    table.rows = 50;
    table.rule = PM_RULE_WHOLE; /* this rule keeps its row, and says what is below */
    draw(&table, 7, 44);
    assert_int_equal(view.foot, 6);
    assert_int_equal(view.page, 4);
    pm_grid_dump_text(&grid, &text);
    assert_non_null(strstr(pm_text_get(&text), " 46 below "));
    pm_text_release(&text);
}

/* ---- typing ---- */

static void a_cell_is_typed_into_and_refused_and_taken(void **state)
{
    struct pm_table table = table_of(plain, COLUMNS, 3);
    struct pm_error err = {0};
    table.by_cell = true;
    (void)state;
    draw(&table, 5, 44);
    assert_int_equal(pm_table_type(&table, &view, "x", false, &err), 0); /* a letter is a key */
    assert_int_equal(pm_table_open(&table, &view, &err), PM_TABLE_DONE);
    assert_true(view.typing && view.field.whole);
    draw(&table, 5, 44);
    expect_cursor(1, 2 + 17);
    pm_table_type(&table, &view, "Moss!", false, &err);
    assert_int_equal(act(&table, PM_ACT_ACCEPT), PM_TABLE_DONE | PM_TABLE_REFUSED);
    assert_true(view.typing); /* with its text, to be mended */
    assert_string_equal(view.field.text, "Moss!");
    act(&table, PM_ACT_ERASE);
    assert_int_equal(act(&table, PM_ACT_NEXT), PM_TABLE_DONE | PM_TABLE_WROTE);
    assert_string_equal(cells[0][NAME], "Moss");
    assert_int_equal(view.column, NOTE); /* the next one that can be typed into */
    assert_false(view.typing);
}

static void enter_without_a_change_writes_nothing(void **state)
{
    struct pm_table table = table_of(plain, COLUMNS, 3);
    struct pm_error err = {0};
    table.by_cell = true;
    (void)state;
    draw(&table, 5, 44);
    pm_table_open(&table, &view, &err);
    assert_int_equal(act(&table, PM_ACT_ACCEPT), PM_TABLE_DONE);
    pm_table_open(&table, &view, &err);
    pm_table_type(&table, &view, "9", false, &err);
    assert_int_equal(act(&table, PM_ACT_CANCEL), PM_TABLE_DONE);
    assert_false(view.typing);
    assert_string_equal(cells[0][NAME], "Breeze salicylate");
    for (const char *sign = ".,"; *sign != '\0'; sign++) { /* an amount may begin with its sign */
        const char first[] = {*sign, '\0'};
        view.column = CAS;
        assert_int_equal(pm_table_type(&table, &view, first, false, &err), PM_TABLE_DONE);
        assert_true(view.typing);
        act(&table, PM_ACT_CANCEL);
    }
    /* An arrow takes what was typed and goes on. */
    view.column = CAS;
    pm_table_type(&table, &view, "7", false, &err);
    assert_true(view.typing && !view.field.whole);
    assert_int_equal(act(&table, PM_ACT_DOWN), PM_TABLE_DONE | PM_TABLE_WROTE | PM_TABLE_MOVED);
    assert_string_equal(cells[0][CAS], "7");
    assert_int_equal(view.row, 1);
    view.column = LEFT;
    assert_int_equal(pm_table_open(&table, &view, &err), PM_TABLE_DONE | PM_TABLE_REFUSED);
    assert_string_equal(err.text, "The column \"left\" is worked out and cannot be typed.");
    view.column = CAS;
    char longer[60];
    memset(longer, '8', sizeof longer - 1);
    longer[sizeof longer - 1] = '\0';
    assert_int_equal(pm_table_type(&table, &view, longer, true, &err),
                     PM_TABLE_DONE | PM_TABLE_FULL);
    assert_string_equal(view.field.text, "");
}

/* What is typed may be longer than its cell: a number grows to the left, words to the right. */
static void typing_outgrows_its_cell(void **state)
{
    struct pm_table table = table_of(plain, COLUMNS, 3);
    struct pm_error err = {0};
    table.by_cell = true;
    (void)state;
    view.column = CAS;
    pm_table_type(&table, &view, "123456789", false, &err);
    draw(&table, 3, 44);
    expect_cursor(1, 43);
    const char *row = NULL;
    struct pm_text text = PM_TEXT_EMPTY;
    pm_grid_dump_text(&grid, &text);
    row = strstr(pm_text_get(&text), "123456789");
    assert_non_null(row);
    pm_text_release(&text);
    pm_table_stop(&view);
    view.column = NOTE;
    pm_table_type(&table, &view, "behind the glass", true, &err);
    draw(&table, 3, 44);
    pm_grid_dump_text(&grid, &text);
    assert_non_null(strstr(pm_text_get(&text), "behind the glass"));
    pm_text_release(&text);
}

#define TEST(name) cmocka_unit_test_setup_teardown(name, start, end)

int main(void)
{
    const struct CMUnitTest tests[] = {
        TEST(decimal_points_stand_below_each_other),
        TEST(names_shrink_before_columns_go_and_go_before_they_scroll),
        TEST(a_column_appears_on_wide_screens_and_when_it_says_something),
        TEST(what_is_left_over_widens_in_steps_and_the_rest_grows),
        TEST(those_that_grow_share_what_is_left),
        TEST(a_list_may_have_no_selected_row),
        TEST(a_heading_may_stand_over_two_columns),
        TEST(columns_fit_at_any_width),
        TEST(columns_scroll_sideways_by_groups),
        TEST(columns_come_back_from_the_left),
        TEST(the_cell_cursor_passes_columns_that_are_not_there),
        TEST(the_selected_row_is_found_at_once),
        TEST(by_cells_row_and_cell_are_told_apart),
        TEST(rows_scroll_and_pages_leave_one_row_in_sight),
        TEST(an_overlay_lifts_the_selected_row_while_it_is_there),
        TEST(an_empty_list_says_so),
        TEST(titles_between_rows_are_passed_over),
        TEST(sums_stand_below_and_marks_beside),
        TEST(a_cell_is_typed_into_and_refused_and_taken),
        TEST(enter_without_a_change_writes_nothing),
        TEST(typing_outgrows_its_cell),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
