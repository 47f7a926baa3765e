/* SPDX-License-Identifier: MIT */
/* Pictures in characters: scales, ticks, marks, lines, ranges, uprights, words; the triangle. */
#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/core/plot.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

#define COUNT(array) (sizeof(array) / sizeof *(array))

/* ---- helpers --------------------------------------------------------------------------------- */

static struct pm_plot drawn(const struct pm_plot_spec *spec)
{
    struct pm_plot plot;
    struct pm_error err = {0};
    if (pm_plot_draw(spec, &plot, &err) != PM_OK)
        fail_msg("%s", err.text);
    return plot;
}

/* The character in a cell; ' ' behind the row's end. */
static uint32_t cell(const struct pm_plot *plot, size_t row, size_t column)
{
    const char *text = plot->rows[row];
    uint32_t code = ' ';
    for (size_t i = 0; i <= column; i++) {
        if (*text == '\0')
            return ' ';
        text += pm_utf8_decode(text, strlen(text), &code);
    }
    return code;
}

static size_t count_of(const struct pm_plot *plot, uint32_t code)
{
    size_t count = 0;
    for (size_t row = 0; row < plot->count; row++)
        for (size_t column = 0; column < pm_utf8_cells(plot->rows[row]); column++)
            count += cell(plot, row, column) == code;
    return count;
}

static void assert_rows(struct pm_plot *plot, const char *const *expected, size_t count)
{
    assert_int_equal(plot->count, count);
    for (size_t i = 0; i < count; i++)
        assert_string_equal(plot->rows[i], expected[i]);
    pm_plot_release(plot);
}

/* ---- axes ------------------------------------------------------------------------------------ */

static const struct pm_plot_point doses[] = {
    {.x = 1, .y = 0}, {.x = 10, .y = 5}, {.x = 100, .y = 10}};

static struct pm_plot_series series_of(const struct pm_plot_point *points, size_t count)
{
    return (struct pm_plot_series){.name = "Cedar", .points = points, .count = count};
}

/* clang-format off */
static void a_picture_has_titles_ticks_and_a_legend(void **state)
{
    static const char *const rows[] = {
        "strength, of 10",
        "10┤                               ·x",
        "  │                           ····",
        "  │                       ····",
        "  │                   ····",
        " 5┤               ·x··",
        "  │           ····",
        "  │       ····",
        "  │   ····",
        " 0┤x··",
        "  └┬───────────────┬───────────────┬",
        "   1               10            100",
        "dose, ppm",
        "o Nothing   x Cedar",
    };
    const struct pm_plot_series series[] = {{.name = "Nothing"}, series_of(doses, 3)};
    const struct pm_plot_spec spec = {
        .width = 36, .height = 14,
        .x = {.title = "dose", .unit = "ppm", .scale = PM_PLOT_LOG},
        .y = {.title = "strength", .unit = "of 10"},
        .series = series, .series_count = 2, .legend = true,
    };
    (void)state;
    struct pm_plot plot = drawn(&spec);
    assert_rows(&plot, rows, COUNT(rows));
    assert_null(plot.rows);
}
/* clang-format on */

/* On a logarithmic axis equal factors are equal ways, on one of log(1 + x) 0 has its place: the
 * column is worked out here from the definition of either. */
static void scales_are_what_they_say(void **state)
{
    static const enum pm_plot_scale scales[] = {PM_PLOT_LINEAR, PM_PLOT_LOG, PM_PLOT_LOG1P};
    static const double values[] = {1, 2, 3, 10, 55, 99, 100};
    (void)state;
    for (size_t s = 0; s < COUNT(scales); s++)
        for (size_t i = 0; i < COUNT(values); i++) {
            const struct pm_plot_point point = {.x = values[i], .y = 0.5};
            const struct pm_plot_series series = series_of(&point, 1);
            const struct pm_plot_spec spec = {
                .width = 103,
                .height = 9,
                .x = {.scale = scales[s], .ground = 7, .fixed = true, .from = 1, .to = 100},
                .y = {.fixed = true, .to = 1},
                .series = &series,
                .series_count = 1};
            struct pm_plot plot = drawn(&spec);
            const double share = s == 0   ? (values[i] - 1) / 99
                                 : s == 1 ? log(values[i]) / log(100)
                                          : (log(1 + values[i] / 7) - log(1 + 1.0 / 7)) /
                                                (log(1 + 100.0 / 7) - log(1 + 1.0 / 7));
            /* "0.5" and the axis on the left; the y axis is 7 rows high. */
            assert_int_equal(cell(&plot, 3, 4 + (size_t)lround(share * 98)), 'o');
            pm_plot_release(&plot);
        }
}

static void axes_go_to_round_numbers(void **state)
{
    static const struct {
        double least, most;
        const char *first, *last; /* labels */
    } cases[] = {{0.3, 9.2, "0", "10"},
                 {-3, 4, "-4", "4"},
                 {1234, 1234, "500", "2000"},
                 {0, 0, "-1", "1"},
                 {0.0021, 0.0038, "0.002", "0.004"},
                 {-1e9, 2e9, "-1e+09", "2e+09"}};
    (void)state;
    for (size_t i = 0; i < COUNT(cases); i++) {
        const struct pm_plot_point points[] = {{.x = 0, .y = cases[i].least},
                                               {.x = 1, .y = cases[i].most}};
        const struct pm_plot_series series = series_of(points, 2);
        const struct pm_plot_spec spec = {
            .width = 60, .height = 12, .series = &series, .series_count = 1};
        struct pm_plot plot = drawn(&spec);
        char label[40];
        assert_int_equal(sscanf(plot.rows[9], " %39[0-9.e+-]", label), 1);
        assert_string_equal(label, cases[i].first);
        assert_int_equal(sscanf(plot.rows[0], " %39[0-9.e+-]", label), 1);
        assert_string_equal(label, cases[i].last);
        pm_plot_release(&plot);
    }
}

static void decimals_have_the_sign_that_is_asked_for(void **state)
{
    static const struct pm_plot_point points[] = {{.x = 0, .y = 0}, {.x = 1.5, .y = 0.75}};
    const struct pm_plot_series series = series_of(points, 2);
    const struct pm_plot_spec spec = {
        .width = 40, .height = 12, .series = &series, .series_count = 1, .sign = ','};
    char *words;
    (void)state;
    struct pm_plot plot = drawn(&spec);
    assert_non_null(strstr(plot.rows[0], "0,8"));
    for (size_t i = 0; i < plot.count; i++)
        assert_null(strchr(plot.rows[i], '.'));
    pm_plot_release(&plot);
    assert_int_equal(pm_plot_say(&spec, 0, &words, NULL), PM_OK);
    assert_string_equal(words, "o Cedar: 0 at 0, 0,75 at 1,5.");
    pm_free(words);
}

/* ---- points and lines ------------------------------------------------------------------------ */

/* What has no place on the axis is left out, and the line breaks there. */
static void what_has_no_place_breaks_the_line(void **state)
{
    const struct pm_plot_point points[] = {{.x = 1, .y = 5},
                                           {.x = 10, .y = NAN},
                                           {.x = 100, .y = 5},
                                           {.x = 0, .y = 5},
                                           {.x = NAN, .y = 5}};
    const struct pm_plot_series series = series_of(points, 5);
    const struct pm_plot_spec spec = {.width = 60,
                                      .height = 10,
                                      .x = {.scale = PM_PLOT_LOG},
                                      .y = {.fixed = true, .to = 10},
                                      .series = &series,
                                      .series_count = 1};
    (void)state;
    struct pm_plot plot = drawn(&spec);
    assert_int_equal(count_of(&plot, 'o'), 2);
    assert_int_equal(count_of(&plot, 0xb7), 0);
    pm_plot_release(&plot);
}

static void what_lies_outside_a_fixed_axis_is_left_out(void **state)
{
    static const struct pm_plot_point points[] = {
        {.x = 0, .y = 5}, {.x = 5, .y = 50}, {.x = 10, .y = 5}, {.x = 11, .y = 5}};
    const struct pm_plot_series series = series_of(points, 4);
    const struct pm_plot_spec spec = {.width = 60,
                                      .height = 10,
                                      .x = {.fixed = true, .to = 10},
                                      .y = {.fixed = true, .to = 10},
                                      .series = &series,
                                      .series_count = 1};
    (void)state;
    struct pm_plot plot = drawn(&spec);
    assert_int_equal(count_of(&plot, 'o'), 2);
    pm_plot_release(&plot);
}

/* Ranges of joined points are a band that the line lies in, those of single points a stroke. */
static void ranges_are_bands_and_strokes(void **state)
{
    static const struct pm_plot_point points[] = {
        {.x = 0, .y = 5, .range = true, .low = 3, .high = 7},
        {.x = 10, .y = 5, .range = true, .low = 3, .high = 7}};
    struct pm_plot_series series = series_of(points, 2);
    const struct pm_plot_spec spec = {.width = 43,
                                      .height = 13,
                                      .x = {.fixed = true, .to = 10},
                                      .y = {.fixed = true, .to = 10},
                                      .series = &series,
                                      .series_count = 1};
    (void)state;
    struct pm_plot plot = drawn(&spec); /* 11 rows, one per unit; 40 columns */
    assert_int_equal(count_of(&plot, 0x2591), 4 * 40);
    for (size_t row = 3; row <= 7; row++)
        assert_int_equal(cell(&plot, row, 20), row == 5 ? 0xb7 : 0x2591);
    pm_plot_release(&plot);
    /* A range wholly above the axis has nothing to show. */
    static const struct pm_plot_point above[] = {
        {.x = 0, .y = 5, .range = true, .low = 30, .high = 40},
        {.x = 10, .y = 5, .range = true, .low = 30, .high = 40}};
    series.points = above;
    plot = drawn(&spec);
    assert_int_equal(count_of(&plot, 0x2591), 0);
    pm_plot_release(&plot);
    series = series_of(points, 2);
    series.apart = true;
    plot = drawn(&spec);
    assert_int_equal(count_of(&plot, 0x2591) + count_of(&plot, 0xb7), 0);
    for (size_t row = 3; row <= 7; row++)
        assert_int_equal(cell(&plot, row, 3), row == 5 ? 'o' : 0x2502);
    pm_plot_release(&plot);
}

/* Braille patterns as The Unicode Standard numbers them: U+2800 and one bit for each dot, dots 1 to
 * 3 and 7 on the left from the top, 4 to 6 and 8 on the right. A level line through the middle of a
 * row of cells has the dots of one row: 1 and 4, 2 and 5, 3 and 6, or 7 and 8. */
static void fine_lines_are_braille(void **state)
{
    static const struct pm_plot_point level[] = {{.x = 0, .y = 5}, {.x = 10, .y = 5}};
    static const struct pm_plot_point steep[] = {{.x = 5, .y = 0}, {.x = 5, .y = 10}};
    struct pm_plot_series series = series_of(level, 2);
    struct pm_plot_spec spec = {.width = 43,
                                .height = 13,
                                .x = {.fixed = true, .to = 10},
                                .y = {.fixed = true, .to = 10},
                                .series = &series,
                                .series_count = 1,
                                .fine = true};
    (void)state;
    struct pm_plot plot = drawn(&spec);
    assert_int_equal(count_of(&plot, 0x2824) + count_of(&plot, 0x2812), 38); /* 3, 6 or 2, 5 */
    pm_plot_release(&plot);
    series = series_of(steep, 2);
    plot = drawn(&spec); /* every row between the marks is gone through */
    for (size_t row = 1; row < 10; row++)
        assert_int_equal(cell(&plot, row, 3 + 20) & ~0xffu, 0x2800);
    pm_plot_release(&plot);
    spec.ascii = true;
    plot = drawn(&spec);
    for (size_t row = 0; row < plot.count; row++)
        for (const char *at = plot.rows[row]; *at; at++)
            assert_true((unsigned char)*at < 0x80);
    assert_int_equal(cell(&plot, 11, 2), '+');
    pm_plot_release(&plot);
}

static void a_bare_line_has_one_mark(void **state)
{
    struct pm_plot_point points[40];
    for (size_t i = 0; i < COUNT(points); i++)
        points[i] = (struct pm_plot_point){.x = (double)i, .y = (double)(i % 20)};
    struct pm_plot_series series = series_of(points, COUNT(points));
    series.bare = true;
    const struct pm_plot_spec spec = {
        .width = 60, .height = 20, .series = &series, .series_count = 1};
    (void)state;
    struct pm_plot plot = drawn(&spec);
    assert_int_equal(count_of(&plot, 'o'), 1);
    assert_true(count_of(&plot, 0xb7) >= 40);
    pm_plot_release(&plot);
}

/* Two decays that end in the same cell: each mark has to stand on its own line, or the legend says
 * nothing. */
static void bare_lines_that_end_together_have_marks_apart(void **state)
{
    struct pm_plot_point slow[41], fast[41];
    for (size_t i = 0; i < COUNT(slow); i++) {
        slow[i] = (struct pm_plot_point){.x = (double)i, .y = 100};
        fast[i] = (struct pm_plot_point){.x = (double)i, .y = i < 4 ? 100 - 25.0 * (double)i : 0};
    }
    for (size_t i = 36; i < COUNT(slow); i++)
        slow[i].y = 100 - 25.0 * (double)(i - 36);
    struct pm_plot_series series[] = {series_of(slow, COUNT(slow)), series_of(fast, COUNT(fast))};
    series[0].bare = series[1].bare = true;
    const struct pm_plot_spec spec = {
        .width = 60, .height = 20, .series = series, .series_count = 2};
    (void)state;
    struct pm_plot plot = drawn(&spec);
    assert_int_equal(count_of(&plot, 'o'), 1);
    assert_int_equal(count_of(&plot, 'x'), 1);
    pm_plot_release(&plot);
}

static void uprights_have_words_where_there_is_room(void **state)
{
    static const struct pm_plot_upright uprights[] = {{.at = 0, .label = "top", .unseen = true},
                                                      {.at = 5, .label = "heart"},
                                                      {.at = 5.5, .label = "a long word"},
                                                      {.at = 99, .label = "outside"}};
    const struct pm_plot_spec spec = {.width = 43,
                                      .height = 10,
                                      .x = {.fixed = true, .to = 10},
                                      .y = {.fixed = true, .to = 1},
                                      .uprights = uprights,
                                      .upright_count = COUNT(uprights)};
    (void)state;
    struct pm_plot plot = drawn(&spec);
    assert_non_null(strstr(plot.rows[0], "top"));
    assert_null(strstr(plot.rows[0], "heart")); /* would run into the next */
    assert_non_null(strstr(plot.rows[0], "a long word"));
    assert_int_equal(count_of(&plot, 0x250a), 2 * 7);
    pm_plot_release(&plot);
}

/* ---- sizes and refusals ---------------------------------------------------------------------- */

static void pictures_fit_at_any_size(void **state)
{
    static const struct pm_plot_point wild[] = {
        {.x = -1e300, .y = 1e300},
        {.x = 1e-300, .y = 1e-300},
        {.x = 5, .y = 5, .range = true, .low = -1e9, .high = 1e9},
        {.x = NAN, .y = NAN},
        {.x = INFINITY, .y = -INFINITY},
        {.x = 1, .y = 0}};
    const struct pm_plot_series series[] = {
        {.name = "one with a name much longer than fits", .points = wild, .count = COUNT(wild)},
        {.name = "香水の素", .points = wild, .count = 3, .apart = true},
        {.name = "", .points = wild, .count = COUNT(wild), .bare = true}};
    (void)state;
    for (size_t width = PM_PLOT_WIDTH_MIN; width < 140; width += 9)
        for (size_t height = 13; height < 50; height += 4)
            for (int scale = PM_PLOT_LINEAR; scale <= PM_PLOT_LOG1P; scale++) {
                const struct pm_plot_spec spec = {
                    .width = width,
                    .height = height,
                    .x = {.title = "x", .scale = (enum pm_plot_scale)scale},
                    .y = {.title = "y", .scale = (enum pm_plot_scale)((scale + 1) % 3)},
                    .series = series,
                    .series_count = COUNT(series),
                    .fine = width % 2 == 0,
                    .legend = true};
                struct pm_plot plot = drawn(&spec);
                assert_int_equal(plot.count, height);
                for (size_t row = 0; row < height; row++)
                    assert_true(pm_utf8_cells(plot.rows[row]) <= width);
                pm_plot_release(&plot);
            }
}

static void what_cannot_be_drawn_is_refused(void **state)
{
    struct pm_plot_series series[PM_PLOT_SERIES_MAX + 1];
    struct pm_plot plot = {NULL, 77};
    struct pm_error err;
    (void)state;
    for (size_t i = 0; i < COUNT(series); i++)
        series[i] = series_of(doses, 3);
    struct pm_plot_spec spec = {
        .width = 40, .height = 10, .series = series, .series_count = COUNT(series)};
    assert_int_equal(pm_plot_draw(&spec, &plot, &err), PM_REFUSED);
    spec.series_count = PM_PLOT_SERIES_MAX;
    spec.width = PM_PLOT_WIDTH_MIN - 1;
    assert_int_equal(pm_plot_draw(&spec, &plot, &err), PM_REFUSED);
    spec.width = 24;
    spec.legend = true; /* eight names, two in a row: four rows */
    spec.height = 8;
    assert_int_equal(pm_plot_draw(&spec, &plot, &err), PM_REFUSED);
    assert_non_null(strstr(err.text, "rows"));
    spec.height = 9;
    assert_int_equal(pm_plot_draw(&spec, &plot, &err), PM_OK);
    pm_plot_release(&plot);
    plot.count = 77;
    spec.legend = false;
    spec.x = (struct pm_plot_axis){.title = "dose", .fixed = true, .from = 3, .to = 3};
    assert_int_equal(pm_plot_draw(&spec, &plot, &err), PM_INVALID);
    assert_non_null(strstr(err.text, "dose"));
    spec.x = (struct pm_plot_axis){.scale = PM_PLOT_LOG, .fixed = true, .from = 0, .to = 3};
    assert_int_equal(pm_plot_draw(&spec, &plot, &err), PM_INVALID);
    assert_int_equal(plot.count, 77);
}

/* ---- words ----------------------------------------------------------------------------------- */

static void series_are_told_in_words(void **state)
{
    static const struct pm_plot_point points[] = {
        {.x = 60, .y = 2},
        {.x = 0, .y = 8},
        {.x = 15, .y = 6.5, .range = true, .low = 5, .high = 8},
        {.x = 20, .y = NAN}};
    struct pm_plot_point many[14];
    for (size_t i = 0; i < COUNT(many); i++)
        many[i] = (struct pm_plot_point){.x = (double)i, .y = (double)((i * 7) % 13)};
    const struct pm_plot_series series[] = {series_of(points, 4), series_of(many, COUNT(many)),
                                            series_of(NULL, 0)};
    const struct pm_plot_spec spec = {.x = {.unit = "min"}, .series = series, .series_count = 3};
    static const char *const told[] = {
        "o Cedar: 8 at 0 min, 6.5 (5 to 8) at 15 min, 2 at 60 min.",
        "x Cedar: from 0 at 0 min to 0 at 13 min; most 12 at 11 min, least 0 at 0 min.",
        "+ Cedar: nothing."};
    (void)state;
    for (size_t i = 0; i < COUNT(told); i++) {
        char *words;
        assert_int_equal(pm_plot_say(&spec, i, &words, NULL), PM_OK);
        assert_string_equal(words, told[i]);
        pm_free(words);
    }
}

/* ---- the triangle ---------------------------------------------------------------------------- */

static double first_share(void *context, const double share[3])
{
    (void)context;
    assert_true(fabs(share[0] + share[1] + share[2] - 1) < 1e-12);
    assert_true(share[0] >= 0 && share[1] >= 0 && share[2] >= 0);
    return 10 * share[0];
}

static struct pm_triangle_spec triangle(void)
{
    return (struct pm_triangle_spec){.width = 60,
                                     .height = 22,
                                     .names = {"Amber", "Breeze", "Cedar"},
                                     .value = first_share,
                                     .title = "liking",
                                     .unit = "of 10"};
}

static struct pm_plot triangle_drawn(const struct pm_triangle_spec *spec)
{
    struct pm_plot plot;
    struct pm_error err = {0};
    if (pm_triangle_draw(spec, &plot, &err) != PM_OK)
        fail_msg("%s", err.text);
    return plot;
}

/* A value that is the share of the upper corner is the same along every row, and grows upwards. */
static void marks_grow_denser_with_the_value(void **state)
{
    static const char levels[] = ".:-+*#";
    const struct pm_triangle_spec spec = triangle();
    (void)state;
    struct pm_plot plot = triangle_drawn(&spec);
    size_t before = 0;
    for (size_t row = 17; row >= 1; row--) {
        const char *text = plot.rows[row] + strspn(plot.rows[row], " ");
        const char *level = strchr(levels, *text);
        assert_non_null(level);
        assert_int_equal(strspn(text, (char[]){*text, '\0'}), strlen(text));
        assert_true((size_t)(level - levels) >= before);
        before = (size_t)(level - levels);
    }
    assert_int_equal(before, PM_TRIANGLE_LEVELS - 1);
    assert_non_null(strstr(plot.rows[0], "Amber"));
    assert_int_equal(strncmp(plot.rows[18], "Breeze", 6), 0);
    assert_non_null(strstr(plot.rows[18], "Cedar"));
    assert_string_equal(plot.rows[19], "liking, of 10, from:");
    assert_string_equal(plot.rows[20], ". 0         : 1.667     - 3.333     + 5         * 6.667");
    pm_plot_release(&plot);
}

/* Corners, the middle of a side, the middle of it all: where the centre of gravity of the shares
 * lies in an even triangle. */
static void points_stand_where_their_shares_say(void **state)
{
    static const struct pm_triangle_point points[] = {{.share = {1, 0, 0}, .mark = 'A'},
                                                      {.share = {0, 7, 0}, .mark = 'B'},
                                                      {.share = {0, 0, 0.1}, .mark = 'C'},
                                                      {.share = {0, 2, 2}, .mark = 'D'},
                                                      {.share = {1, 1, 1}}};
    struct pm_triangle_spec spec = triangle();
    spec.value = NULL;
    spec.points = points;
    spec.point_count = COUNT(points);
    spec.ascii = true;
    (void)state;
    struct pm_plot plot = triangle_drawn(&spec);
    const size_t bottom = plot.count - 2;
    size_t at[4];
    assert_int_equal(cell(&plot, 1, 29), 'A');
    at[0] = strcspn(plot.rows[bottom], "B");
    at[1] = strcspn(plot.rows[bottom], "D");
    at[2] = strcspn(plot.rows[bottom], "C");
    assert_int_equal(at[1], 29);
    assert_int_equal(at[1] - at[0], at[2] - at[1]);
    /* A cell is twice as high as wide: height / side = sqrt(3) / 2, within a row. */
    const double side = (double)(at[2] - at[0]), high = 2 * (double)(bottom - 1);
    assert_true(fabs(high - side * sqrt(3) / 2) <= 2);
    at[3] = 1 + (size_t)lround(2.0 / 3 * (double)(bottom - 1));
    assert_int_equal(cell(&plot, at[3], 29), 'o');
    pm_plot_release(&plot);
}

static double second_share(void *context, const double share[3])
{
    (void)context;
    return share[1];
}

static double unknown(void *context, const double share[3])
{
    (void)context;
    return share[1] > 0.5 ? NAN : 3;
}

static void the_triangle_is_told_in_words(void **state)
{
    struct pm_triangle_spec spec = triangle();
    char *words;
    (void)state;
    assert_int_equal(pm_triangle_say(&spec, &words, NULL), PM_OK);
    assert_non_null(strstr(words, "most 10 of 10 at Amber 100 %, Breeze 0 %, Cedar 0 %; least 0"));
    pm_free(words);
    spec.value = second_share; /* the lower corners are whole as well */
    assert_int_equal(pm_triangle_say(&spec, &words, NULL), PM_OK);
    assert_non_null(strstr(words, "most 1 of 10 at Amber 0 %, Breeze 100 %, Cedar 0 %; least 0"));
    pm_free(words);
    spec.value = unknown; /* what is unknown is left blank */
    assert_int_equal(pm_triangle_say(&spec, &words, NULL), PM_OK);
    assert_non_null(strstr(words, "most 3"));
    pm_free(words);
    struct pm_plot plot = triangle_drawn(&spec);
    assert_int_equal(cell(&plot, 17, 14), ' ');
    assert_int_equal(cell(&plot, 17, 40), '.');
    pm_plot_release(&plot);
    spec.value = NULL;
    assert_int_equal(pm_triangle_say(&spec, &words, NULL), PM_OK);
    assert_string_equal(words, "unknown.");
    pm_free(words);
}

static void triangles_that_cannot_be_are_refused(void **state)
{
    static const struct pm_triangle_point wrong[] = {{.share = {0, 0, 0}},
                                                     {.share = {1, -1, 1}},
                                                     {.share = {NAN, 1, 1}},
                                                     {.share = {INFINITY, 1, 1}}};
    struct pm_plot plot = {NULL, 77};
    struct pm_error err;
    struct pm_triangle_spec spec = triangle();
    (void)state;
    spec.height = PM_TRIANGLE_HEIGHT_MIN - 1;
    assert_int_equal(pm_triangle_draw(&spec, &plot, &err), PM_REFUSED);
    spec = triangle();
    spec.point_count = 1;
    for (size_t i = 0; i < COUNT(wrong); i++) {
        spec.points = &wrong[i];
        assert_int_equal(pm_triangle_draw(&spec, &plot, &err), PM_INVALID);
    }
    assert_int_equal(plot.count, 77);
    spec = triangle();
    for (spec.width = 24; spec.width < 150; spec.width += 7)
        for (spec.height = PM_TRIANGLE_HEIGHT_MIN; spec.height < 60; spec.height += 5) {
            plot = triangle_drawn(&spec);
            assert_true(plot.count <= spec.height);
            for (size_t row = 0; row < plot.count; row++)
                assert_true(pm_utf8_cells(plot.rows[row]) <= spec.width);
            pm_plot_release(&plot);
        }
}

/* ---- memory ---------------------------------------------------------------------------------- */

static enum pm_status everything(void)
{
    const struct pm_plot_series series = series_of(doses, 3);
    const struct pm_plot_spec spec = {.width = 40,
                                      .height = 12,
                                      .x = {.title = "dose"},
                                      .series = &series,
                                      .series_count = 1,
                                      .legend = true};
    const struct pm_triangle_spec three = triangle();
    struct pm_plot plot = {NULL, 77};
    char *words = NULL;
    enum pm_status status = pm_plot_draw(&spec, &plot, NULL);
    if (status == PM_OK)
        pm_plot_release(&plot);
    if (status == PM_OK)
        status = pm_plot_say(&spec, 0, &words, NULL);
    pm_free(words);
    if (status == PM_OK)
        status = pm_triangle_draw(&three, &plot, NULL);
    if (status == PM_OK)
        pm_plot_release(&plot);
    words = NULL;
    if (status == PM_OK)
        status = pm_triangle_say(&three, &words, NULL);
    pm_free(words);
    return status;
}

static void lost_memory_is_an_ordinary_error(void **state)
{
    long made = 1;
    (void)state;
    for (long at = 1; made >= at; at++) {
        pm_mem_fail_at(at, false);
        enum pm_status status = everything();
        made = pm_mem_fail_at(0, false);
        assert_int_equal(status, made >= at ? PM_NOMEM : PM_OK);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_picture_has_titles_ticks_and_a_legend),
        cmocka_unit_test(scales_are_what_they_say),
        cmocka_unit_test(axes_go_to_round_numbers),
        cmocka_unit_test(decimals_have_the_sign_that_is_asked_for),
        cmocka_unit_test(what_has_no_place_breaks_the_line),
        cmocka_unit_test(what_lies_outside_a_fixed_axis_is_left_out),
        cmocka_unit_test(ranges_are_bands_and_strokes),
        cmocka_unit_test(fine_lines_are_braille),
        cmocka_unit_test(a_bare_line_has_one_mark),
        cmocka_unit_test(bare_lines_that_end_together_have_marks_apart),
        cmocka_unit_test(uprights_have_words_where_there_is_room),
        cmocka_unit_test(pictures_fit_at_any_size),
        cmocka_unit_test(what_cannot_be_drawn_is_refused),
        cmocka_unit_test(series_are_told_in_words),
        cmocka_unit_test(marks_grow_denser_with_the_value),
        cmocka_unit_test(points_stand_where_their_shares_say),
        cmocka_unit_test(the_triangle_is_told_in_words),
        cmocka_unit_test(triangles_that_cannot_be_are_refused),
        cmocka_unit_test(lost_memory_is_an_ordinary_error),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
