/* SPDX-License-Identifier: MIT */
/*
 * Smelling over time: stages, schedules, what is due, drawings of intensity and their words, words
 * of notes. The boundaries of the stages and the usual schedule are common practice, no source.
 */
#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/core/smell.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#include <cmocka.h>

#define MINUTE INT64_C(60)
#define HOUR   INT64_C(3600)
#define DAY    INT64_C(86400)
#define START  INT64_C(1760000000)

/* ---- stages ---------------------------------------------------------------------------------- */

static void test_stages(void **state)
{
    static const struct pm_stage_bounds slow = {HOUR, DAY};
    static const struct pm_stage_bounds heartless = {HOUR, HOUR};

    (void)state;
    assert_int_equal(pm_stage_at(0, NULL), PM_STAGE_TOP);
    assert_int_equal(pm_stage_at(-DAY, NULL), PM_STAGE_TOP);
    assert_int_equal(pm_stage_at(15 * MINUTE - 1, NULL), PM_STAGE_TOP);
    assert_int_equal(pm_stage_at(15 * MINUTE, NULL), PM_STAGE_HEART);
    assert_int_equal(pm_stage_at(3 * HOUR - 1, NULL), PM_STAGE_HEART);
    assert_int_equal(pm_stage_at(3 * HOUR, NULL), PM_STAGE_BASE);
    assert_int_equal(pm_stage_at(INT64_MAX, NULL), PM_STAGE_BASE);
    assert_int_equal(pm_stage_at(20 * MINUTE, &slow), PM_STAGE_TOP);
    assert_int_equal(pm_stage_at(4 * HOUR, &slow), PM_STAGE_HEART);
    assert_int_equal(pm_stage_at(HOUR - 1, &heartless), PM_STAGE_TOP);
    assert_int_equal(pm_stage_at(HOUR, &heartless), PM_STAGE_BASE);
    assert_string_equal(pm_stage_word(PM_STAGE_TOP), "top");
    assert_string_equal(pm_stage_word(PM_STAGE_HEART), "heart");
    assert_string_equal(pm_stage_word(PM_STAGE_BASE), "base");
}

/* ---- schedules ------------------------------------------------------------------------------- */

static void assert_reads(const char *text, const char *expected)
{
    struct pm_schedule schedule;
    struct pm_schedule again;
    struct pm_error error;

    if (pm_schedule_read(text, &schedule, &error) != PM_OK)
        fail_msg("%s: %s", text, error.text);
    char *written = pm_schedule_text(&schedule);
    assert_non_null(written);
    assert_string_equal(written, expected);
    assert_int_equal(pm_schedule_read(written, &again, &error), PM_OK);
    assert_int_equal(again.count, schedule.count);
    assert_memory_equal(again.times, schedule.times, schedule.count * sizeof *schedule.times);
    pm_free(written);
}

/* At once, 5, 15, 30 min, 1, 2, 4, 8, 24, 48 h: common practice, no source. */
#define TIMES "0, 5min, 15min, 30min, 1h, 2h, 4h, 8h, 1d, 2d"

static void test_schedule_text(void **state)
{
    struct pm_schedule schedule;

    (void)state;
    assert_int_equal(pm_schedule_read(TIMES, &schedule, NULL), PM_OK);
    char *text = pm_schedule_text(&schedule);
    assert_non_null(text);
    assert_string_equal(text, "0, 5 min, 15 min, 30 min, 1 h, 2 h, 4 h, 8 h, 1 d, 2 d");
    pm_free(text);
    assert_reads("0, 5min, 15min, 1h", "0, 5 min, 15 min, 1 h");
    assert_reads("0; 5;15\n60", "0, 5 min, 15 min, 1 h");
    assert_reads("2 d, 1h, 5min, 60min, 300s", "5 min, 1 h, 2 d");
    assert_reads("1h30min5s", "1 h 30 min 5 s");
    assert_reads("366d", "366 d");
}

static void assert_unreadable(const char *text, const char *reason)
{
    struct pm_schedule schedule = {.count = 77};
    struct pm_error error;

    assert_int_equal(pm_schedule_read(text, &schedule, &error), PM_INVALID);
    if (strstr(error.text, reason) == NULL)
        fail_msg("%s: %s", text, error.text);
    assert_int_equal(schedule.count, 77);
}

static void test_schedule_refusals(void **state)
{
    char many[400] = "0";

    (void)state;
    assert_unreadable("", "empty place");
    assert_unreadable("5min,, 1h", "empty place");
    assert_unreadable("5min, 1h,", "empty place");
    assert_unreadable("1,5h", "two ways");
    assert_unreadable("5min, soon", "soon");
    assert_unreadable("-5min", "-5min");
    assert_unreadable("0, 367d", "year");
    for (int i = 1; i < PM_SCHEDULE_MAX; i++)
        snprintf(many + strlen(many), sizeof many - strlen(many), ", %d", i);
    struct pm_schedule schedule;
    assert_int_equal(pm_schedule_read(many, &schedule, NULL), PM_OK);
    assert_int_equal(schedule.count, PM_SCHEDULE_MAX);
    strcat(many, ", 5");
    assert_int_equal(pm_schedule_read(many, &schedule, NULL), PM_OK);
    strcat(many, ", 999");
    assert_unreadable(many, "32 times");
}

static struct pm_due due_at(int64_t since, const int64_t *smelled, size_t count)
{
    struct pm_schedule schedule;
    struct pm_due due;

    assert_int_equal(pm_schedule_read(TIMES, &schedule, NULL), PM_OK);
    pm_schedule_due(&schedule, START, START + since, smelled, count, &due);
    return due;
}

static void test_due_in_a_plain_session(void **state)
{
    static const int64_t smelled[] = {20, 6 * MINUTE, 14 * MINUTE};

    (void)state;
    struct pm_due due = due_at(0, NULL, 0);
    assert_true(due.now);
    assert_int_equal(due.place, 0);
    assert_int_equal(due.waiting, 1);
    assert_int_equal(due.late, 0);

    due = due_at(30, smelled, 1);
    assert_false(due.now);
    assert_int_equal(due.at, START + 5 * MINUTE);
    assert_int_equal(due.waiting, 0);

    due = due_at(6 * MINUTE, smelled, 2);
    assert_false(due.now);
    assert_int_equal(due.at, START + 15 * MINUTE);

    /* A minute early for 15 is near enough, and half an hour is next. */
    due = due_at(16 * MINUTE, smelled, 3);
    assert_false(due.now);
    assert_int_equal(due.at, START + 30 * MINUTE);
    assert_false(due.over || due.clock_back || due.ahead);
}

static void test_due_early_by_a_tenth(void **state)
{
    static const int64_t just[] = {1296 * MINUTE}; /* nine tenths of a day */
    static const int64_t not_yet[] = {1296 * MINUTE - 1};

    (void)state;
    assert_int_equal(due_at(DAY, just, 1).at, START + 2 * DAY);
    assert_int_equal(due_at(DAY, not_yet, 1).at, START + DAY);
}

static void test_due_after_missing_some(void **state)
{
    static const int64_t smelled[] = {0, 40 * MINUTE};

    (void)state;
    struct pm_due due = due_at(40 * MINUTE, smelled, 1);
    assert_true(due.now);
    assert_int_equal(due.waiting, 3); /* 5, 15 and 30 min */
    assert_int_equal(due.at, START + 5 * MINUTE);
    assert_int_equal(due.late, 35 * MINUTE);

    due = due_at(40 * MINUTE, smelled, 2);
    assert_false(due.now);
    assert_int_equal(due.at, START + HOUR);

    /* Left alone for a month: still due, all at once. */
    due = due_at(30 * DAY, smelled, 2);
    assert_true(due.now);
    assert_int_equal(due.waiting, 6);
    assert_int_equal(due.late, 30 * DAY - HOUR);
    static const int64_t much_later[] = {0, 30 * DAY};
    due = due_at(30 * DAY, much_later, 2);
    assert_true(due.over);
    assert_false(due.now);
    assert_int_equal(due.at, 0);
}

static void test_due_when_clocks_go_wrong(void **state)
{
    static const int64_t smelled[] = {2 * HOUR, -5 * MINUTE, 0};
    static const int64_t before[] = {-5 * MINUTE};
    struct pm_schedule schedule;
    struct pm_due due;

    (void)state;
    /* Set back behind the start: nothing is due before the start comes again. */
    due = due_at(-HOUR, NULL, 0);
    assert_true(due.clock_back);
    assert_false(due.now);
    assert_int_equal(due.at, START);
    /* A smelling before the application settles nothing. */
    due = due_at(MINUTE, before, 1);
    assert_true(due.now);
    assert_int_equal(due.place, 0);
    /* Set back behind a smelling: it counts. */
    due = due_at(65 * MINUTE, smelled, 3);
    assert_true(due.ahead);
    assert_false(due.now || due.clock_back);
    assert_int_equal(due.at, START + 4 * HOUR);

    assert_int_equal(pm_schedule_read(TIMES, &schedule, NULL), PM_OK);
    pm_schedule_due(&schedule, INT64_MAX - 10, INT64_MIN, NULL, 0, &due);
    assert_true(due.clock_back);
    pm_schedule_due(&schedule, INT64_MIN, INT64_MAX, smelled, 3, &due);
    assert_true(due.now);
    pm_schedule_due(&schedule, INT64_MAX - 10, INT64_MAX, smelled, 3, &due);
    assert_int_equal(due.at, INT64_MAX);
    schedule.count = 0;
    pm_schedule_due(&schedule, START, START, NULL, 0, &due);
    assert_true(due.over);
}

/* ---- drawings -------------------------------------------------------------------------------- */

static const struct pm_smell_point fading[] = {
    {8 * HOUR, 1}, {0, 10}, {5 * MINUTE, 9}, {15 * MINUTE, 7}, {2 * HOUR, 4}, {30 * MINUTE, 6},
};
static const struct pm_smell_point lasting[] = {
    {0, 6}, {5 * MINUTE, 7}, {15 * MINUTE, 7}, {30 * MINUTE, 7}, {4 * HOUR, 5}, {8 * HOUR, 3},
};
static const struct pm_smell_series both[] = {
    {"Morning/3", fading, 6},
    {"Morning/4", lasting, 6},
};

static void assert_rows(const struct pm_plot *plot, const char *const *expected, size_t count)
{
    assert_int_equal(plot->count, count);
    for (size_t i = 0; i < count; i++)
        assert_string_equal(plot->rows[i], expected[i]);
}

/* clang-format off */
static void test_plot(void **state)
{
    static const char *const wide[] = {
        "   top                        heart                   base",
        "10┤o········                  ┊                       ┊",
        "  │         ········o··       ┊                       ┊",
        " 8┤                    ·····  ┊                       ┊",
        "  │         ········x·········2·····x····             ┊",
        " 6┤x········                  ┊  ···o··· ··········   ┊",
        "  │                           ┊         ·······    ·····x·",
        " 4┤                           ┊                ···o·· ┊   ····",
        "  │                           ┊                      ····     ·x",
        " 2┤                           ┊                       ┊  ····",
        "  │                           ┊                       ┊      ··o",
        " 0┤                           ┊                       ┊",
        "  └┬──────┬─────────┬─────────┬────────────┬──────┬─────┬──────┬",
        "   0      1 min     5 min     15 min       1 h    2 h   4 h  8 h",
    };
    static const char *const narrow[] = {
        "   top      heart   base",
        "10┤o·····o· ┊       ┊",
        "  │x·····x··2·2···  ┊",
        " 5┤         ┊    ··o·x·x",
        " 0┤         ┊       ┊··o",
        "  └┬─┬──────┬──────┬────",
        "   0 1 min  15 min 2 h",
    };
    struct pm_plot plot;

    (void)state;
    assert_int_equal(pm_smell_plot(both, 2, 64, 14, NULL, &plot, NULL), PM_OK);
    assert_rows(&plot, wide, sizeof wide / sizeof *wide);
    pm_plot_release(&plot);
    assert_null(plot.rows);
    assert_int_equal(pm_smell_plot(both, 2, 24, 7, NULL, &plot, NULL), PM_OK);
    assert_rows(&plot, narrow, sizeof narrow / sizeof *narrow);
    pm_plot_release(&plot);
}
/* clang-format on */

static const struct pm_smell_point corners[] = {
    {0, 0}, {0, 10}, {40 * DAY, 10}, {40 * DAY, 0}, {-HOUR, 5}, {INT64_C(1) << 40, 5},
};
static const struct pm_smell_series extreme[] = {
    {"", corners, 6},      {"all", fading, 6}, {"nothing", NULL, 0}, {"some", lasting, 6},
    {"again", lasting, 6}, {"", corners, 4},   {"one", corners, 1},  {"last", fading, 5},
};

/* The names of stages that are too short for them are left out, not cut or run together. */
static void assert_stage_words(char *row)
{
    for (char *word = strtok(row, " "); word != NULL; word = strtok(NULL, " ")) {
        assert_true(strcmp(word, "top") == 0 || strcmp(word, "heart") == 0 ||
                    strcmp(word, "base") == 0);
    }
}

/* At every size all rows fit. */
static void test_plot_at_any_size(void **state)
{
    static const struct pm_stage_bounds odd[] = {
        {HOUR, HOUR}, {DAY, 60 * DAY}, {-5, -9}, {9, 0}, {MINUTE, 2 * MINUTE}, {HOUR, 5 * HOUR},
    };

    (void)state;
    for (size_t width = PM_PLOT_WIDTH_MIN; width < 130; width += 7) {
        for (size_t height = PM_PLOT_HEIGHT_MIN; height < 40; height += 3) {
            for (size_t count = 0; count <= PM_PLOT_SERIES_MAX; count++) {
                const struct pm_stage_bounds *bounds = &odd[(count + width) % 6];
                struct pm_plot plot;
                assert_int_equal(pm_smell_plot(extreme, count, width, height, bounds, &plot, NULL),
                                 PM_OK);
                assert_int_equal(plot.count, height);
                for (size_t row = 0; row < height; row++) {
                    size_t cells = pm_utf8_cells(plot.rows[row]);
                    size_t length = strlen(plot.rows[row]);
                    assert_true(cells <= width);
                    assert_true(length == 0 || plot.rows[row][length - 1] != ' ');
                }
                assert_stage_words(plot.rows[0]);
                pm_plot_release(&plot);
            }
        }
    }
}

static void test_plot_marks(void **state)
{
    static const struct pm_smell_point apart[PM_PLOT_SERIES_MAX] = {
        {0, 10}, {0, 9}, {0, 8}, {0, 7}, {0, 6}, {0, 5}, {0, 4}, {0, 3},
    };
    struct pm_smell_series series[PM_PLOT_SERIES_MAX + 1] = {{"", NULL, 0}};
    struct pm_plot plot;

    (void)state;
    for (size_t i = 0; i < PM_PLOT_SERIES_MAX; i++) {
        series[i] = (struct pm_smell_series){"", &apart[i], 1};
        for (size_t j = 0; j < i; j++)
            assert_int_not_equal(pm_plot_mark(i), pm_plot_mark(j));
    }
    assert_int_equal(pm_smell_plot(series, PM_PLOT_SERIES_MAX, 40, 14, NULL, &plot, NULL), PM_OK);
    for (size_t i = 0; i < PM_PLOT_SERIES_MAX; i++) {
        /* Two digits and the axis, which is three bytes. */
        assert_int_equal(plot.rows[i + 1][5], pm_plot_mark(i));
    }
    pm_plot_release(&plot);
    /* Eight in one place. */
    for (size_t i = 0; i < PM_PLOT_SERIES_MAX; i++)
        series[i].points = &apart[0];
    assert_int_equal(pm_smell_plot(series, PM_PLOT_SERIES_MAX, 40, 14, NULL, &plot, NULL), PM_OK);
    assert_int_equal(plot.rows[1][5], '8');
    pm_plot_release(&plot);
    assert_int_equal(pm_plot_mark(PM_PLOT_SERIES_MAX), ' ');
}

static void test_plot_refusals(void **state)
{
    static const struct pm_smell_point wrong[] = {{0, 5}, {60, 11}};
    static const struct pm_smell_series series = {"wrong", wrong, 2};
    struct pm_plot plot = {NULL, 77};
    struct pm_error error;
    char *sentence = NULL;

    (void)state;
    assert_int_equal(pm_smell_plot(both, 2, 23, 14, NULL, &plot, &error), PM_REFUSED);
    assert_int_equal(pm_smell_plot(both, 2, 64, 6, NULL, &plot, &error), PM_REFUSED);
    assert_int_equal(pm_smell_plot(both, 2, 1001, 14, NULL, &plot, &error), PM_REFUSED);
    assert_int_equal(pm_smell_plot(both, 9, 64, 14, NULL, &plot, &error), PM_REFUSED);
    assert_int_equal(pm_smell_plot(&series, 1, 64, 14, NULL, &plot, &error), PM_INVALID);
    assert_non_null(strstr(error.text, "11"));
    assert_int_equal(pm_smell_sentence(&series, 0, NULL, &sentence, &error), PM_INVALID);
    assert_int_equal(plot.count, 77);
    assert_null(sentence);
}

static void test_sentences(void **state)
{
    static const struct pm_smell_series silent = {"Morning/5", NULL, 0};
    static const struct pm_stage_bounds slow = {HOUR, DAY};
    static const struct pm_smell_series negative = {"Early", corners + 4, 1};
    /* On three days after the same times, and a second late once. */
    static const struct pm_smell_point repeated[] = {
        {0, 8}, {15 * MINUTE, 5}, {15 * MINUTE, 7}, {15 * MINUTE + 1, 6}, {0, 8}, {HOUR, 4}};
    static const struct pm_smell_series weekly = {"Weekly", repeated, 6};
    char *text;

    (void)state;
    assert_int_equal(pm_smell_sentence(&both[0], 0, NULL, &text, NULL), PM_OK);
    assert_string_equal(text, "o Morning/3: top 10 at once, 9 after 5 min; heart 7 after 15 min, "
                              "6 after 30 min, 4 after 2 h; base 1 after 8 h.");
    pm_free(text);
    assert_int_equal(pm_smell_sentence(&both[1], 1, &slow, &text, NULL), PM_OK);
    assert_string_equal(text, "x Morning/4: top 6 at once, 7 after 5 min, 7 after 15 min, "
                              "7 after 30 min; heart 5 after 4 h, 3 after 8 h.");
    pm_free(text);
    assert_int_equal(pm_smell_sentence(&silent, 2, NULL, &text, NULL), PM_OK);
    assert_string_equal(text, "+ Morning/5: no intensity noted.");
    pm_free(text);
    assert_int_equal(pm_smell_sentence(&negative, 3, NULL, &text, NULL), PM_OK);
    assert_string_equal(text, "# Early: top 5 at once.");
    pm_free(text);
    assert_int_equal(pm_smell_sentence(&weekly, 4, NULL, &text, NULL), PM_OK);
    assert_string_equal(text, "* Weekly: top 8 at once (2 times); "
                              "heart 5 to 7 after 15 min (3 times), 4 after 1 h.");
    pm_free(text);
}

/* ---- words ----------------------------------------------------------------------------------- */

static const struct pm_smell_note notes[] = {
    {0, "Bright, green - a little GREEN pear"},
    {4 * MINUTE, "grün und frisch; l’écorce d'orange"},
    {8 * MINUTE, "Frisch"},
    {30 * MINUTE, "green stem (snapped), violet2leaf, go on"},
    {HOUR, NULL},
    {5 * HOUR, ""},
    {-HOUR, "green"},
    {DAY, "Дуб и мох, дуб… 1,000 × oak★moss"},
};

static void assert_words(const struct pm_words *words, const char *expected)
{
    char text[400] = "";

    for (size_t i = 0; i < words->count; i++) {
        snprintf(text + strlen(text), sizeof text - strlen(text), "%s%zu %s", i > 0 ? ", " : "",
                 words->items[i].count, words->items[i].text);
    }
    assert_string_equal(text, expected);
}

/* As they were typed: a rosé is no rose, however its accent was composed. */
static void words_keep_their_accents(void **state)
{
    static const struct pm_smell_note wines[] = {
        {0, "Rosé, dry"}, {0, "ROSE\xCC\x81 and rose"}, {0, "Straße"}, {0, "rosé"}};
    struct pm_words words[PM_STAGES];

    (void)state;
    assert_int_equal(pm_words_tally(wines, sizeof wines / sizeof *wines, NULL, words, NULL), PM_OK);
    assert_words(&words[PM_STAGE_TOP], "3 rosé, 1 dry, 1 rose, 1 straße");
    pm_words_release(words);
}

/* What only holds a sentence together is left out, whatever its case; what weighs stays. */
static void little_words_are_left_out(void **state)
{
    static const struct pm_smell_note moss[] = {
        {0, "The moss AND the ink, with a little of that salt; not thematic, then THE and"}};
    struct pm_words words[PM_STAGES];

    (void)state;
    assert_int_equal(pm_words_tally(moss, 1, NULL, words, NULL), PM_OK);
    assert_words(&words[PM_STAGE_TOP], "1 ink, 1 little, 1 moss, 1 not, 1 salt, 1 thematic");
    pm_words_release(words);
}

static void test_words(void **state)
{
    struct pm_words words[PM_STAGES];

    (void)state;
    assert_int_equal(pm_words_tally(notes, sizeof notes / sizeof *notes, NULL, words, NULL), PM_OK);
    assert_words(&words[PM_STAGE_TOP], "3 green, 2 frisch, 1 bright, 1 grün, 1 little, "
                                       "1 orange, 1 pear, 1 und, 1 écorce");
    assert_words(&words[PM_STAGE_HEART], "1 green, 1 leaf, 1 snapped, 1 stem, 1 violet");
    assert_words(&words[PM_STAGE_BASE], "2 дуб, 1 moss, 1 oak, 1 мох");
    pm_words_release(words);
    assert_null(words[0].items);
    assert_int_equal(pm_words_tally(NULL, 0, NULL, words, NULL), PM_OK);
    assert_int_equal(words[0].count + words[1].count + words[2].count, 0);
    pm_words_release(words);
}

/* ---- memory ---------------------------------------------------------------------------------- */

static enum pm_status run_plot(void)
{
    struct pm_plot plot = {NULL, 77};

    enum pm_status status = pm_smell_plot(both, 2, 30, 8, NULL, &plot, NULL);
    if (status == PM_OK)
        pm_plot_release(&plot);
    else
        assert_int_equal(plot.count, 77);
    return status;
}

static enum pm_status run_sentence(void)
{
    char *text = NULL;

    enum pm_status status = pm_smell_sentence(&both[0], 0, NULL, &text, NULL);
    assert_true((status == PM_OK) == (text != NULL));
    pm_free(text);
    return status;
}

static enum pm_status run_words(void)
{
    struct pm_words words[PM_STAGES] = {{NULL, 77}, {NULL, 0}, {NULL, 0}};

    enum pm_status status = pm_words_tally(notes, sizeof notes / sizeof *notes, NULL, words, NULL);
    if (status == PM_OK)
        pm_words_release(words);
    else
        assert_int_equal(words[0].count, 77);
    return status;
}

static enum pm_status run_schedule(void)
{
    struct pm_schedule schedule = {.count = 77};

    enum pm_status status = pm_schedule_read("0, 5min, 1h", &schedule, NULL);
    if (status != PM_OK) {
        assert_int_equal(schedule.count, 77);
        return status;
    }
    char *text = pm_schedule_text(&schedule);
    status = text != NULL ? PM_OK : PM_NOMEM;
    pm_free(text);
    return status;
}

static void test_without_memory(void **state)
{
    static enum pm_status (*const runs[])(void) = {run_plot, run_sentence, run_words, run_schedule};

    (void)state;
    for (size_t run = 0; run < sizeof runs / sizeof *runs; run++) {
        for (long n = 1;; n++) {
            pm_mem_fail_at(n, false);
            enum pm_status status = runs[run]();
            long asked = pm_mem_fail_at(0, false);
            if (asked < n) {
                assert_int_equal(status, PM_OK);
                assert_true(n > 2);
                break;
            }
            assert_int_equal(status, PM_NOMEM);
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_stages),
        cmocka_unit_test(test_schedule_text),
        cmocka_unit_test(test_schedule_refusals),
        cmocka_unit_test(test_due_in_a_plain_session),
        cmocka_unit_test(test_due_early_by_a_tenth),
        cmocka_unit_test(test_due_after_missing_some),
        cmocka_unit_test(test_due_when_clocks_go_wrong),
        cmocka_unit_test(test_plot),
        cmocka_unit_test(test_plot_at_any_size),
        cmocka_unit_test(test_plot_marks),
        cmocka_unit_test(test_plot_refusals),
        cmocka_unit_test(test_sentences),
        cmocka_unit_test(test_words),
        cmocka_unit_test(words_keep_their_accents),
        cmocka_unit_test(little_words_are_left_out),
        cmocka_unit_test(test_without_memory),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
