/* SPDX-License-Identifier: MIT */
/*
 * Blind tests from plan to result. Minimum numbers of correct answers are those of the standards:
 * ISO 4120:2004 Table A.1 (triangle), ISO 10399:2017 Table A.1 (duo-trio), ISO 5495:2005 Tables A.1
 * and A.2 (paired comparison); tests/data/check-vectors.csv holds the full columns, checked in
 * tests/unit/test_core_panel.c.
 */
#include "tests/studio/hand.h"

#include "permille/base/mem.h"
#include "permille/studio/blind.h"

#include <math.h>
#include <setjmp.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#include <cmocka.h>

static int setup(void **state)
{
    setenv("TZ", "UTC", 1);
    tzset();
    if (hand_setup(state) != 0)
        return -1;
    struct hand *hand = *state;
    const int64_t id = hand_formula(hand, "Harbour", 100);
    hand_add(hand, id, "Tar note", 60);
    hand_add(hand, id, "Sea moss", 40);
    hand_keep(hand, id, NULL);
    for (int parts = 50; parts > 20; parts -= 10) {
        hand_set(hand, id, "Tar note", parts);
        hand_keep(hand, id, NULL);
    }
    return 0;
}

/* A paired comparison expects the first of its trials: it is the one-sided one. */
static int64_t make(struct hand *hand, enum pm_panel_kind kind, size_t samples, const char *rounds)
{
    int64_t trials[4];
    for (size_t i = 0; i < samples; i++) {
        char title[32];
        snprintf(title, sizeof title, "Harbour/%zu", i + 1);
        trials[i] = hand_trial(hand, title);
    }
    const struct pm_blind_form form = {.values[PM_PANEL_NAME] = "Is it",
                                       .values[PM_PANEL_KIND] = pm_panel_word(kind),
                                       .trials = trials,
                                       .trial_count = samples,
                                       .values[PM_PANEL_ROUNDS] = rounds,
                                       .expected = kind == PM_PAIRED ? trials[0] : 0,
                                       .values[PM_PANEL_SEED] = "417"};
    struct pm_blind_made made;
    hand_ok(hand, pm_blind_new(hand->studio, &form, &made, &hand->err));
    assert_non_null(strstr(made.sentence, "Is it"));
    const int64_t id = made.id;
    pm_blind_made_release(&made);
    return id;
}

static struct pm_blind_sheet look(struct hand *hand, int64_t id)
{
    struct pm_blind_sheet sheet;
    hand_ok(hand, pm_blind_open(hand->studio, id, &sheet, &hand->err));
    return sheet;
}

static enum pm_status try_answer(struct hand *hand, int64_t id, const char *text, const char *who,
                                 bool replace)
{
    struct pm_blind_said said;
    const enum pm_status status =
        pm_blind_answer(hand->studio, id, text, who, replace, &said, &hand->err);
    if (status == PM_OK)
        pm_blind_said_release(&said);
    return status;
}

static void answer(struct hand *hand, int64_t id, int code, const char *who)
{
    char text[16];
    snprintf(text, sizeof text, "%d", code);
    hand_ok(hand, try_answer(hand, id, text, who, false));
}

/* Which sample a code is, from the page for whoever fills the vials. */
static int sample_of(const struct pm_blind_page *page, int code)
{
    for (size_t s = 0; s < page->sample_count; s++)
        for (size_t i = 0; i < page->samples[s].count; i++)
            if (page->samples[s].codes[i] == code)
                return (int)s;
    return -1;
}

/* The code of a round that is right (or, asked so, one that is wrong), without the result's help.
 */
static int pick(const struct pm_blind_sheet *sheet, const struct pm_blind_page *page, int64_t round,
                bool right)
{
    const struct pm_blind_vial *vials = sheet->rounds[round - 1].vials;
    int count[2] = {0, 0};
    for (size_t v = 0; v < 3; v++)
        count[sample_of(page, vials[v].code)]++;
    const int odd = count[0] == 1 ? 0 : 1;
    for (size_t v = 0; v < 3; v++)
        if ((sample_of(page, vials[v].code) == odd) == right)
            return vials[v].code;
    return 0;
}

static void triangle(struct hand *hand, int64_t id, int64_t answers, int64_t right)
{
    struct pm_blind_sheet sheet = look(hand, id);
    struct pm_blind_page page;
    hand_ok(hand, pm_blind_fill(hand->studio, id, &page, &hand->err));
    for (int64_t i = 1; i <= answers; i++)
        answer(hand, id, pick(&sheet, &page, i, i <= right), NULL);
    pm_blind_page_release(&page);
    pm_blind_sheet_release(&sheet);
}

static void the_key_is_hidden_until_it_is_closed(void **state)
{
    struct hand *hand = *state;
    const int64_t id = make(hand, PM_TRIANGLE, 2, "12");
    triangle(hand, id, 12, 9);
    struct pm_blind_sheet sheet = look(hand, id);
    assert_int_equal(12, sheet.row.answered);
    assert_false(sheet.has_result);
    for (size_t i = 0; i < 36; i++)
        assert_int_equal(-1, sheet.vials[i].sample);
    for (size_t i = 0; i < 12; i++)
        assert_false(sheet.rounds[i].correct);
    pm_blind_sheet_release(&sheet);
    hand_reopen(hand);
    hand_ok(hand, pm_blind_close(hand->studio, id, &hand->err));
    sheet = look(hand, id);
    assert_true(sheet.has_result);
    assert_true(sheet.vials[0].sample >= 0);
    assert_int_equal(9, sheet.result.correct);
    assert_int_equal(8, sheet.result.least); /* ISO 4120: 12 answers, 5 % */
    assert_true(sheet.result.shown);
    /* P(X >= 9 | 12, 1/3) = 2049 / 531441, by hand from the binomial terms. */
    assert_true(fabs(sheet.result.p - 2049.0 / 531441.0) < 1e-12);
    assert_non_null(strstr(sheet.words, "A difference was shown"));
    assert_non_null(strstr(sheet.words, "one nose"));
    pm_blind_sheet_release(&sheet);
    hand_refused(hand, try_answer(hand, id, "123", NULL, false), PM_REFUSED, "was closed on");
    hand_refused(hand, pm_blind_close(hand->studio, id, &hand->err), PM_REFUSED, "was closed on");
}

static void codes_differ_and_orders_come_from_the_seed(void **state)
{
    struct hand *hand = *state;
    const int64_t id = make(hand, PM_TRIANGLE, 2, "12");
    struct pm_blind_sheet sheet = look(hand, id);
    for (size_t i = 0; i < 36; i++)
        for (size_t j = 0; j < i; j++)
            assert_int_not_equal(sheet.vials[i].code, sheet.vials[j].code);
    const int64_t trials[] = {hand_trial(hand, "Harbour/1"), hand_trial(hand, "Harbour/2")};
    const struct pm_blind_form form = {.values[PM_PANEL_NAME] = "Again",
                                       .values[PM_PANEL_KIND] = pm_panel_word(PM_TRIANGLE),
                                       .trials = trials,
                                       .trial_count = 2,
                                       .values[PM_PANEL_ROUNDS] = "12",
                                       .values[PM_PANEL_SEED] = "417"};
    struct pm_blind_made made;
    hand_ok(hand, pm_blind_new(hand->studio, &form, &made, &hand->err));
    struct pm_blind_sheet again = look(hand, made.id);
    for (size_t i = 0; i < 36; i++)
        assert_int_equal(sheet.vials[i].code, again.vials[i].code);
    pm_blind_sheet_release(&again);
    pm_blind_sheet_release(&sheet);
    pm_blind_made_release(&made);
    hand_refused(hand, pm_blind_new(hand->studio, &form, &made, &hand->err), PM_EXISTS, "Again");
    /* On the page each sample stands equally often: two whole blocks. */
    struct pm_blind_page page;
    hand_ok(hand, pm_blind_fill(hand->studio, id, &page, &hand->err));
    assert_int_equal(18, page.samples[0].count);
    assert_int_equal(18, page.samples[1].count);
    assert_non_null(strstr(page.advice, "not blind any more"));
    pm_blind_page_release(&page);
}

static void answers_that_cannot_be(void **state)
{
    struct hand *hand = *state;
    const int64_t id = make(hand, PM_TRIANGLE, 2, "6");
    struct pm_blind_sheet sheet = look(hand, id);
    char text[64];
    hand_refused(hand, try_answer(hand, id, "", NULL, false), PM_INVALID, "is a code");
    hand_refused(hand, try_answer(hand, id, "12", NULL, false), PM_INVALID, "12");
    hand_refused(hand, try_answer(hand, id, "abc", NULL, false), PM_INVALID, "abc");
    hand_refused(hand, try_answer(hand, id, "100", NULL, false), PM_MISSING, "bears 100");
    snprintf(text, sizeof text, "%d %d", sheet.vials[0].code, sheet.vials[1].code);
    hand_refused(hand, try_answer(hand, id, text, NULL, false), PM_INVALID, "one too many");
    snprintf(text, sizeof text, "%d", sheet.vials[0].code);
    hand_refused(hand, try_answer(hand, id, text, NULL, true), PM_REFUSED, "no answer yet");
    hand_ok(hand, try_answer(hand, id, text, NULL, false));
    hand_refused(hand, try_answer(hand, id, text, NULL, false), PM_REFUSED, "answered already");
    snprintf(text, sizeof text, "%d", sheet.vials[1].code);
    hand_ok(hand, try_answer(hand, id, text, NULL, true));
    pm_blind_sheet_release(&sheet);
    sheet = look(hand, id);
    assert_string_equal(text, sheet.rounds[0].answer);
    assert_int_equal(1, sheet.rounds[0].replaced);
    assert_int_equal(1, sheet.row.answered);
    pm_blind_sheet_release(&sheet);
}

static void few_and_unequal_answers_are_called_so(void **state)
{
    struct hand *hand = *state;
    const int64_t id = make(hand, PM_TRIANGLE, 2, "7");
    struct pm_blind_sheet sheet = look(hand, id);
    assert_non_null(strstr(sheet.words, "7 answers can only show a difference when 5 or more"));
    assert_non_null(strstr(sheet.words, "exploratory"));
    answer(hand, id, sheet.rounds[0].vials[0].code, "Ana");
    answer(hand, id, sheet.rounds[2].vials[0].code, "Ana");
    answer(hand, id, sheet.rounds[3].vials[0].code, NULL);
    /* Corrected without saying by whom: it stays Ana's. */
    char text[16];
    snprintf(text, sizeof text, "%d", sheet.rounds[2].vials[1].code);
    hand_ok(hand, try_answer(hand, id, text, NULL, true));
    pm_blind_sheet_release(&sheet);
    hand_ok(hand, pm_blind_close(hand->studio, id, &hand->err));
    sheet = look(hand, id);
    assert_string_equal("Ana", sheet.rounds[2].assessor);
    assert_int_equal(3, sheet.result.answers);
    assert_int_equal(3, sheet.result.least); /* ISO 4120: three of three at 5 % */
    assert_non_null(strstr(sheet.remarks, "3 of 7 rounds were answered"));
    assert_non_null(strstr(sheet.remarks, "not quite balanced"));
    assert_non_null(strstr(sheet.remarks, "unequal (Ana 2, yourself 1)"));
    assert_non_null(strstr(sheet.words, "The 3 answers are of 2 noses"));
    assert_false(sheet.result.has_share);
    assert_true(sheet.result.exploratory);
    assert_non_null(strstr(sheet.words, "exploratory"));
    assert_null(strstr(sheet.words, "one nose"));
    pm_blind_sheet_release(&sheet);
}

/* Six answers of six noses; whether a share of noses is told of them. */
static bool share_of_six_noses(struct hand *hand, enum pm_panel_kind kind)
{
    const int64_t id = make(hand, kind, 2, "6");
    struct pm_blind_sheet sheet = look(hand, id);
    assert_null(strstr(sheet.words, "of all noses"));
    for (int64_t i = 0; i < 6; i++) {
        const char who[2] = {(char)('A' + i), '\0'};
        answer(hand, id, sheet.rounds[i].vials[0].code, who);
    }
    pm_blind_sheet_release(&sheet);
    hand_ok(hand, pm_blind_close(hand->studio, id, &hand->err));
    sheet = look(hand, id);
    assert_true(sheet.has_result);
    assert_null(strstr(sheet.words, "nose"));
    const bool told = sheet.result.has_share;
    pm_blind_sheet_release(&sheet);
    return told;
}

/* What one nose does again and again says nothing about how many noses could; nor does a choice. */
static void a_share_of_noses_needs_a_nose_for_each_answer(void **state)
{
    assert_true(share_of_six_noses(*state, PM_TRIANGLE));
}

static void a_choice_tells_no_share_of_noses(void **state)
{
    assert_false(share_of_six_noses(*state, PM_PAIRED_TWO_SIDED));
}

static void a_test_closed_without_answers_has_no_result(void **state)
{
    struct hand *hand = *state;
    const int64_t id = make(hand, PM_TRIANGLE, 2, "5");
    hand_ok(hand, pm_blind_close(hand->studio, id, &hand->err));
    struct pm_blind_sheet sheet = look(hand, id);
    assert_false(sheet.has_result);
    assert_string_equal("Closed with no answer: it shows nothing.", sheet.words);
    assert_null(sheet.remarks);
    pm_blind_sheet_release(&sheet);
}

static void too_few_answers_say_how_many_it_takes(void **state)
{
    struct hand *hand = *state;
    int64_t id = make(hand, PM_DUO_TRIO, 2, "4");
    struct pm_blind_sheet sheet = look(hand, id);
    /* ISO 10399 begins at 5 answers: 1/32 is the first below 5 %. */
    assert_non_null(strstr(sheet.words, "4 answers can show nothing at 5 %"));
    assert_non_null(strstr(sheet.words, "at least 5"));
    pm_blind_sheet_release(&sheet);
    hand_ok(hand, pm_blind_close(hand->studio, id, &hand->err));
    sheet = look(hand, id);
    assert_false(sheet.has_result);
    assert_non_null(strstr(sheet.words, "it shows nothing"));
    pm_blind_sheet_release(&sheet);
}

static void a_duo_trio_has_an_open_reference(void **state)
{
    struct hand *hand = *state;
    const int64_t id = make(hand, PM_DUO_TRIO, 2, "8");
    struct pm_blind_sheet sheet = look(hand, id);
    struct pm_blind_page page;
    hand_ok(hand, pm_blind_fill(hand->studio, id, &page, &hand->err));
    assert_int_equal(4, page.samples[0].reference_count);
    assert_int_equal(4, page.samples[1].reference_count);
    assert_int_equal(8, page.samples[0].count);
    pm_blind_page_release(&page);
    for (size_t i = 0; i < 8; i++) {
        assert_int_equal(0, sheet.rounds[i].vials[0].code);
        answer(hand, id, sheet.rounds[i].vials[1].code, NULL);
    }
    pm_blind_sheet_release(&sheet);
    hand_ok(hand, pm_blind_close(hand->studio, id, &hand->err));
    sheet = look(hand, id);
    /* Always the first of the two: in balanced orders that is right half the time. */
    assert_int_equal(4, sheet.result.correct);
    assert_int_equal(7, sheet.result.least); /* ISO 10399: 8 answers, 5 % */
    assert_false(sheet.result.shown);
    assert_non_null(strstr(sheet.words, "does not show that they are alike"));
    pm_blind_sheet_release(&sheet);
}

static void a_paired_comparison_counts_what_was_expected(void **state)
{
    struct hand *hand = *state;
    const int64_t id = make(hand, PM_PAIRED, 2, "10");
    struct pm_blind_sheet sheet = look(hand, id);
    struct pm_blind_page page;
    hand_ok(hand, pm_blind_fill(hand->studio, id, &page, &hand->err));
    assert_int_equal(0, sheet.row.expected);
    for (size_t i = 0; i < 10; i++) {
        const int first = sheet.rounds[i].vials[0].code, second = sheet.rounds[i].vials[1].code;
        answer(hand, id, (sample_of(&page, first) == 0) == (i < 9) ? first : second, NULL);
    }
    pm_blind_page_release(&page);
    pm_blind_sheet_release(&sheet);
    hand_ok(hand, pm_blind_close(hand->studio, id, &hand->err));
    sheet = look(hand, id);
    assert_int_equal(9, sheet.result.correct);
    assert_int_equal(9, sheet.result.least); /* ISO 5495 one-sided: 10 answers, 5 % */
    assert_true(fabs(sheet.result.p - 11.0 / 1024) < 1e-12);
    assert_non_null(strstr(sheet.words, "Harbour/1 was chosen, as expected, in 9 of 10"));
    pm_blind_sheet_release(&sheet);
}

/* Twelve of twelve for the second trial, and no direction stated before: ISO 5495, two-sided. */
static void a_comparison_is_two_sided_unless_foretold(void **state)
{
    struct hand *hand = *state;
    const int64_t trials[] = {hand_trial(hand, "Harbour/1"), hand_trial(hand, "Harbour/2")};
    const struct pm_blind_form form = {.values[PM_PANEL_NAME] = "Either",
                                       .values[PM_PANEL_KIND] = pm_panel_word(PM_PAIRED),
                                       .trials = trials,
                                       .trial_count = 2,
                                       .values[PM_PANEL_ROUNDS] = "12",
                                       .values[PM_PANEL_SEED] = "417"};
    struct pm_blind_made made;
    struct pm_blind_page page;
    hand_ok(hand, pm_blind_new(hand->studio, &form, &made, &hand->err));
    struct pm_blind_sheet sheet = look(hand, made.id);
    hand_ok(hand, pm_blind_fill(hand->studio, made.id, &page, &hand->err));
    for (size_t i = 0; i < 12; i++) {
        const int first = sheet.rounds[i].vials[0].code, second = sheet.rounds[i].vials[1].code;
        answer(hand, made.id, sample_of(&page, first) == 1 ? first : second, NULL);
    }
    pm_blind_page_release(&page);
    pm_blind_sheet_release(&sheet);
    hand_ok(hand, pm_blind_close(hand->studio, made.id, &hand->err));
    sheet = look(hand, made.id);
    assert_int_equal(PM_PAIRED_TWO_SIDED, sheet.row.kind);
    assert_int_equal(-1, sheet.row.expected);
    assert_true(fabs(sheet.result.p - 2.0 / 4096) < 1e-12);
    assert_true(sheet.result.shown);
    pm_blind_sheet_release(&sheet);
    pm_blind_made_release(&made);
}

static void a_two_sided_comparison_takes_either(void **state)
{
    struct hand *hand = *state;
    const int64_t id = make(hand, PM_PAIRED_TWO_SIDED, 2, "10");
    struct pm_blind_sheet sheet = look(hand, id);
    struct pm_blind_page page;
    hand_ok(hand, pm_blind_fill(hand->studio, id, &page, &hand->err));
    for (size_t i = 0; i < 10; i++) {
        const int first = sheet.rounds[i].vials[0].code, second = sheet.rounds[i].vials[1].code;
        answer(hand, id, (sample_of(&page, first) == 1) == (i < 9) ? first : second, NULL);
    }
    pm_blind_page_release(&page);
    pm_blind_sheet_release(&sheet);
    hand_ok(hand, pm_blind_close(hand->studio, id, &hand->err));
    sheet = look(hand, id);
    assert_int_equal(1, sheet.result.more_chosen);
    assert_int_equal(9, sheet.result.correct);
    assert_int_equal(9, sheet.result.least); /* ISO 5495 two-sided: 10 answers, 5 % */
    assert_true(fabs(sheet.result.p - 22.0 / 1024) < 1e-12);
    assert_non_null(strstr(sheet.words, "Harbour/2 was chosen in 9 of 10"));
    pm_blind_sheet_release(&sheet);
}

static void rank(struct hand *hand, int64_t id, const struct pm_blind_sheet *sheet,
                 const struct pm_blind_page *page, size_t round, const char *order)
{
    char text[64] = "";
    for (const char *at = order; *at != '\0'; at++) {
        if (*at == '=') {
            strcat(text, "=");
            continue;
        }
        for (size_t v = 0; v < sheet->servings; v++) {
            const int code = sheet->rounds[round].vials[v].code;
            if (sample_of(page, code) == *at - 'A')
                snprintf(text + strlen(text), 8, " %d", code);
        }
    }
    hand_ok(hand, try_answer(hand, id, text, NULL, false));
}

static void a_ranking_is_friedmans_test(void **state)
{
    struct hand *hand = *state;
    const int64_t id = make(hand, PM_RANKING, 3, "6");
    struct pm_blind_sheet sheet = look(hand, id);
    struct pm_blind_page page;
    char text[64];
    hand_ok(hand, pm_blind_fill(hand->studio, id, &page, &hand->err));
    snprintf(text, sizeof text, "%d %d", sheet.vials[0].code, sheet.vials[1].code);
    hand_refused(hand, try_answer(hand, id, text, NULL, false), PM_INVALID, "lacks 1");
    snprintf(text, sizeof text, "%d %d", sheet.vials[0].code, sheet.vials[0].code);
    hand_refused(hand, try_answer(hand, id, text, NULL, false), PM_INVALID, "stands twice");
    snprintf(text, sizeof text, "%d %d", sheet.vials[0].code, sheet.vials[3].code);
    hand_refused(hand, try_answer(hand, id, text, NULL, false), PM_INVALID, "belongs to round 2");
    for (size_t i = 0; i < 4; i++)
        rank(hand, id, &sheet, &page, i, "ABC");
    pm_blind_page_release(&page);
    pm_blind_sheet_release(&sheet);
    hand_ok(hand, pm_blind_close(hand->studio, id, &hand->err));
    sheet = look(hand, id);
    /* Four alike rankings of three: F = 8, and 6^-3 of all outcomes agree so well. */
    assert_true(fabs(sheet.result.statistic - 8) < 1e-9);
    assert_true(fabs(sheet.result.p - 1.0 / 216) < 1e-9);
    assert_true(sheet.result.by == PM_BY_COUNTING && sheet.result.shown);
    assert_true(fabs(sheet.result.rank_sums[0] - 4) < 1e-9);
    assert_true(fabs(sheet.result.rank_sums[2] - 12) < 1e-9);
    assert_non_null(strstr(sheet.words, "Harbour/1 before Harbour/3"));
    assert_non_null(strstr(sheet.words, "at 5 %, pair by pair"));
    assert_non_null(strstr(sheet.words, "exploratory"));
    pm_blind_sheet_release(&sheet);
}

static void ties_share_the_mean_of_their_places(void **state)
{
    struct hand *hand = *state;
    const int64_t id = make(hand, PM_RANKING, 3, "6");
    struct pm_blind_sheet sheet = look(hand, id);
    struct pm_blind_page page;
    hand_ok(hand, pm_blind_fill(hand->studio, id, &page, &hand->err));
    rank(hand, id, &sheet, &page, 0, "A=B=C");
    rank(hand, id, &sheet, &page, 1, "C B=A");
    rank(hand, id, &sheet, &page, 2, "C=A B");
    pm_blind_page_release(&page);
    pm_blind_sheet_release(&sheet);
    hand_ok(hand, pm_blind_close(hand->studio, id, &hand->err));
    sheet = look(hand, id);
    assert_true(fabs(sheet.result.rank_sums[0] - (2 + 2.5 + 1.5)) < 1e-9);
    assert_true(fabs(sheet.result.rank_sums[1] - (2 + 2.5 + 3)) < 1e-9);
    assert_true(fabs(sheet.result.rank_sums[2] - (2 + 1 + 1.5)) < 1e-9);
    pm_blind_sheet_release(&sheet);
}

static void plans_that_cannot_be(void **state)
{
    struct hand *hand = *state;
    const int64_t one = hand_trial(hand, "Harbour/1"), two = hand_trial(hand, "Harbour/2");
    const int64_t pair[] = {one, two}, same[] = {one, one},
                  draft[] = {one, hand_trial(hand, "Harbour")};
    const struct {
        struct pm_blind_form form;
        enum pm_status status;
        const char *says;
    } cases[] = {
        {{.values[PM_PANEL_NAME] = "T",
          .values[PM_PANEL_KIND] = pm_panel_word(PM_TRIANGLE),
          .trials = pair,
          .trial_count = 1},
         PM_REFUSED,
         "two"},
        {{.values[PM_PANEL_NAME] = "T",
          .values[PM_PANEL_KIND] = pm_panel_word(PM_RANKING),
          .trials = pair,
          .trial_count = 1},
         PM_REFUSED,
         "2 to"},
        {{.values[PM_PANEL_NAME] = "T",
          .values[PM_PANEL_KIND] = pm_panel_word(PM_TRIANGLE),
          .trials = same,
          .trial_count = 2},
         PM_REFUSED,
         "from itself"},
        {{.values[PM_PANEL_NAME] = "T",
          .values[PM_PANEL_KIND] = pm_panel_word(PM_TRIANGLE),
          .trials = draft,
          .trial_count = 2},
         PM_REFUSED,
         "keep the draft"},
        {{.values[PM_PANEL_NAME] = "7",
          .values[PM_PANEL_KIND] = pm_panel_word(PM_TRIANGLE),
          .trials = pair,
          .trial_count = 2},
         PM_INVALID,
         "more than a number"},
        {{.values[PM_PANEL_NAME] = " ",
          .values[PM_PANEL_KIND] = pm_panel_word(PM_TRIANGLE),
          .trials = pair,
          .trial_count = 2},
         PM_INVALID,
         "name"},
        {{.values[PM_PANEL_NAME] = "T",
          .values[PM_PANEL_KIND] = pm_panel_word(PM_TRIANGLE),
          .trials = pair,
          .trial_count = 2,
          .values[PM_PANEL_ROUNDS] = "301"},
         PM_REFUSED,
         "300 rounds"},
        {{.values[PM_PANEL_NAME] = "T",
          .values[PM_PANEL_KIND] = pm_panel_word(PM_TRIANGLE),
          .trials = pair,
          .trial_count = 2,
          .values[PM_PANEL_ROUNDS] = "0"},
         PM_INVALID,
         "at least one"},
        {{.values[PM_PANEL_NAME] = "T",
          .values[PM_PANEL_KIND] = pm_panel_word(PM_TRIANGLE),
          .trials = pair,
          .trial_count = 2,
          .values[PM_PANEL_ALPHA] = "60%"},
         PM_INVALID,
         "at most 50 %"},
        {{.values[PM_PANEL_NAME] = "T",
          .values[PM_PANEL_KIND] = pm_panel_word(PM_TRIANGLE),
          .trials = pair,
          .trial_count = 2,
          .values[PM_PANEL_ALPHA] = "0"},
         PM_INVALID,
         "above 0"},
        {{.values[PM_PANEL_NAME] = "T",
          .values[PM_PANEL_KIND] = pm_panel_word(PM_TRIANGLE),
          .trials = pair,
          .trial_count = 2,
          .expected = one},
         PM_INVALID,
         "direction"},
        {{.values[PM_PANEL_NAME] = "T",
          .values[PM_PANEL_KIND] = pm_panel_word(PM_PAIRED),
          .trials = pair,
          .trial_count = 2,
          .expected = hand_trial(hand, "Harbour/3")},
         PM_INVALID,
         "none of the two"},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct pm_blind_made made;
        hand_refused(hand, pm_blind_new(hand->studio, &cases[i].form, &made, &hand->err),
                     cases[i].status, cases[i].says);
    }
    struct pm_panel_rows list;
    hand_ok(hand, pm_blind_list(hand->studio, &list, &hand->err));
    assert_int_equal(0, list.count);
    pm_list_release(&list);
    int64_t id = 0;
    make(hand, PM_TRIANGLE, 2, NULL);
    hand_refused(hand, pm_blind_find(hand->studio, "Is at", &id, &hand->err), PM_MISSING,
                 "did you mean \"Is it\"");
    hand_ok(hand, pm_blind_find(hand->studio, "IS IT", &id, &hand->err));
}

static void both_ways_of_writing_a_level_are_read(void **state)
{
    struct hand *hand = *state;
    static const char *const written[] = {"1%", "0.01", "10‰", "1 %", "1"};
    const int64_t trials[] = {hand_trial(hand, "Harbour/1"), hand_trial(hand, "Harbour/2")};
    for (size_t i = 0; i < sizeof written / sizeof written[0]; i++) {
        char name[16];
        snprintf(name, sizeof name, "Level %zu", i);
        const struct pm_blind_form form = {.values[PM_PANEL_NAME] = name,
                                           .values[PM_PANEL_KIND] = pm_panel_word(PM_TRIANGLE),
                                           .trials = trials,
                                           .trial_count = 2,
                                           .values[PM_PANEL_ROUNDS] = "12",
                                           .values[PM_PANEL_ALPHA] = written[i]};
        struct pm_blind_made made;
        hand_ok(hand, pm_blind_new(hand->studio, &form, &made, &hand->err));
        struct pm_blind_sheet sheet = look(hand, made.id);
        assert_int_equal(PM_NEAT / 100, sheet.row.alpha);
        assert_non_null(strstr(sheet.words, "when 9 or more")); /* ISO 4120: 12 answers, 1 % */
        pm_blind_sheet_release(&sheet);
        pm_blind_made_release(&made);
    }
}

static void lost_memory_loses_no_answer(void **state)
{
    struct hand *hand = *state;
    const int64_t id = make(hand, PM_TRIANGLE, 2, "6");
    triangle(hand, id, 3, 2);
    struct pm_blind_sheet sheet = look(hand, id);
    char code[16];
    snprintf(code, sizeof code, "%d", sheet.rounds[5].vials[0].code);
    pm_blind_sheet_release(&sheet);
    for (long n = 1;; n++) {
        pm_mem_fail_at(n, false);
        const enum pm_status status = try_answer(hand, id, code, "Ana", false);
        pm_mem_fail_at(0, false);
        sheet = look(hand, id);
        assert_int_equal(status == PM_OK ? 4 : 3, sheet.row.answered);
        pm_blind_sheet_release(&sheet);
        if (status == PM_OK)
            break;
        assert_int_equal(PM_NOMEM, status);
    }
    hand_ok(hand, pm_blind_close(hand->studio, id, &hand->err));
    enum pm_status status;
    long n = 1;
    do {
        pm_mem_fail_at(n++, false);
        status = pm_blind_open(hand->studio, id, &sheet, &hand->err);
        pm_mem_fail_at(0, false);
        assert_true(status == PM_OK || status == PM_NOMEM);
    } while (status != PM_OK);
    pm_blind_sheet_release(&sheet);
    assert_true(n > 10);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(the_key_is_hidden_until_it_is_closed, setup, hand_teardown),
        cmocka_unit_test_setup_teardown(codes_differ_and_orders_come_from_the_seed, setup,
                                        hand_teardown),
        cmocka_unit_test_setup_teardown(answers_that_cannot_be, setup, hand_teardown),
        cmocka_unit_test_setup_teardown(few_and_unequal_answers_are_called_so, setup,
                                        hand_teardown),
        cmocka_unit_test_setup_teardown(a_share_of_noses_needs_a_nose_for_each_answer, setup,
                                        hand_teardown),
        cmocka_unit_test_setup_teardown(a_choice_tells_no_share_of_noses, setup, hand_teardown),
        cmocka_unit_test_setup_teardown(a_test_closed_without_answers_has_no_result, setup,
                                        hand_teardown),
        cmocka_unit_test_setup_teardown(too_few_answers_say_how_many_it_takes, setup,
                                        hand_teardown),
        cmocka_unit_test_setup_teardown(a_duo_trio_has_an_open_reference, setup, hand_teardown),
        cmocka_unit_test_setup_teardown(a_comparison_is_two_sided_unless_foretold, setup,
                                        hand_teardown),
        cmocka_unit_test_setup_teardown(a_paired_comparison_counts_what_was_expected, setup,
                                        hand_teardown),
        cmocka_unit_test_setup_teardown(a_two_sided_comparison_takes_either, setup, hand_teardown),
        cmocka_unit_test_setup_teardown(a_ranking_is_friedmans_test, setup, hand_teardown),
        cmocka_unit_test_setup_teardown(ties_share_the_mean_of_their_places, setup, hand_teardown),
        cmocka_unit_test_setup_teardown(plans_that_cannot_be, setup, hand_teardown),
        cmocka_unit_test_setup_teardown(both_ways_of_writing_a_level_are_read, setup,
                                        hand_teardown),
        cmocka_unit_test_setup_teardown(lost_memory_loses_no_answer, setup, hand_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
