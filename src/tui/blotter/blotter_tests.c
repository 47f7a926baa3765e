/* SPDX-License-Identifier: MIT */
/* The Blotter room: blind tests. The key is shown only where the studio gives it. */
#include "blotter.h"

#include "kit/list.h"
#include "kit/overlay.h"

#include "permille/base/mem.h"
#include "permille/base/rounded.h"
#include "permille/base/utf8.h"
#include "permille/studio/bench.h"

#include <stdio.h>
#include <string.h>

#define NAME_WIDEST 60 /* cells of a test's name in the list */

/* ---- reading ---- */

void tests_release(struct blotter *blotter)
{
    tests_forget_one(blotter);
    pm_list_release(&blotter->tests);
}

static void open_one(struct blotter *blotter, int64_t id)
{
    struct pm_error err = {0};
    if (tests_read_one(blotter, id, &err) == PM_OK)
        return;
    tests_forget_one(blotter);
    pm_app_error(blotter->app, &err);
}

static void read_again(struct blotter *blotter)
{
    struct pm_error err = {0};
    if (tests_read(blotter, &err) != PM_OK)
        pm_app_error(blotter->app, &err);
}

void tests_open(void *state)
{
    struct blotter *blotter = state;
    blotter->testing = true;
    read_again(blotter);
}

/* ---- the list ---- */

enum { LIST_NAME, LIST_KIND, LIST_ANSWERED, LIST_CLOSED, LIST_COLUMNS };

static const struct pm_column list_columns[LIST_COLUMNS] = {
    /* On a wide screen the eye must not lose the row between the name and the rest. */
    [LIST_NAME] = {.heading = "test", .wish = 10, .most = NAME_WIDEST},
    [LIST_KIND] = {.heading = "kind", .wish = 16},
    [LIST_ANSWERED] = {.heading = "answered", .wish = 8},
    [LIST_CLOSED] = {.heading = "closed", .wish = 14},
};

static enum pm_role list_cell(void *context, size_t row, size_t column, struct pm_text *out)
{
    const struct blotter *blotter = context;
    const struct pm_panel_row *entry = &blotter->tests.items[row];
    char date[PM_TIME_TEXT];
    if (column == LIST_NAME)
        pm_text_add(out, entry->name);
    else if (column == LIST_KIND)
        pm_text_add(out, pm_panel_word(entry->kind));
    else if (column == LIST_ANSWERED)
        pm_text_addf(out, "%4lld/%lld", (long long)entry->answered, (long long)entry->rounds);
    else
        pm_text_add(out, entry->closed_at != 0 ? pm_time_date(entry->closed_at, date) : "open");
    return PM_ROLE_NORMAL;
}

static struct pm_table list_table(struct blotter *blotter)
{
    return (struct pm_table){.columns = list_columns,
                             .column_count = LIST_COLUMNS,
                             .rows = blotter->tests.count,
                             .context = blotter,
                             .cell = list_cell};
}

static void draw_list(struct blotter *blotter, const struct pm_pane *pane)
{
    char key[PM_KEY_TEXT];
    pm_pane_putf(pane, 0, 0, PM_ROLE_NORMAL, "%zu blind test%s", blotter->tests.count,
                 blotter->tests.count == 1 ? "" : "s");
    if (blotter->tests.count == 0) {
        pm_pane_putf(pane, 2, 2, PM_ROLE_FAINT,
                     "Can two trials be told apart? %s plans a test with codes on the vials.",
                     pm_app_key(blotter->app, "new-test", key));
        pm_pane_cursor(pane, 2, 2);
        return;
    }
    const struct pm_table table = list_table(blotter);
    const struct pm_pane part = pm_pane_part(pane, 1, 0, pane->rows - 1, pane->columns);
    pm_table_draw(&table, &blotter->test_list, &part);
}

/* ---- one test ---- */

static void vial_text(const struct pm_blind_vial *vial, char text[16])
{
    if (vial->code == 0)
        snprintf(text, 16, "  R");
    else
        snprintf(text, 16, "%03d", vial->code);
    if (vial->sample >= 0)
        snprintf(text + 3, 13, " %c", 'A' + vial->sample);
}

enum { ROUND_ANSWER, ROUND_RIGHT, ROUND_BY, ROUND_COLUMNS }; /* behind the vials */

/* Whether answers are right or wrong: known, and they can be. */
static bool is_judged(const struct pm_blind_sheet *test)
{
    return test->has_result && test->row.kind != PM_RANKING &&
           test->row.kind != PM_PAIRED_TWO_SIDED;
}

static enum pm_role round_cell(void *context, size_t row, size_t column, struct pm_text *out)
{
    const struct blotter *blotter = context;
    const struct pm_blind_sheet *test = &blotter->test;
    const struct pm_blind_round *round = &test->rounds[row];
    char text[16];
    if (column == 0) {
        pm_text_addf(out, "%lld", (long long)round->round);
        return PM_ROLE_FAINT;
    }
    if (column <= test->servings) {
        vial_text(&round->vials[column - 1], text);
        pm_text_add(out, text);
        return PM_ROLE_NORMAL;
    }
    switch (column - test->servings - 1) {
    case ROUND_ANSWER:
        pm_text_add(out, round->answer != NULL ? round->answer : "-");
        return round->answer != NULL ? PM_ROLE_NORMAL : PM_ROLE_FAINT;
    case ROUND_RIGHT:
        if (round->answer != NULL && is_judged(test))
            pm_text_add(out, round->correct ? "right" : "wrong");
        return round->correct ? PM_ROLE_GOOD : PM_ROLE_NORMAL;
    default:
        pm_text_add(out, round->assessor != NULL ? round->assessor : "");
        return PM_ROLE_FAINT;
    }
}

static void draw_rounds(struct blotter *blotter, const struct pm_pane *pane)
{
    const struct pm_blind_sheet *test = &blotter->test;
    struct pm_column columns[1 + PM_PANEL_SAMPLES_MAX + ROUND_COLUMNS] = {
        {.wish = 5, .align = PM_ALIGN_RIGHT}};
    struct pm_column *behind = columns + 1 + test->servings;
    for (size_t v = 0; v < test->servings; v++)
        columns[1 + v] = (struct pm_column){.wish = test->row.closed_at != 0 ? 5 : 3};
    behind[ROUND_ANSWER] = (struct pm_column){.measured = true, .gap = 4};
    behind[ROUND_RIGHT] = behind[ROUND_BY] = (struct pm_column){.measured = true, .optional = true};
    const struct pm_table table = {.columns = columns,
                                   .column_count = 1 + test->servings + ROUND_COLUMNS,
                                   .rows = (size_t)test->row.rounds,
                                   .context = blotter,
                                   .cell = round_cell,
                                   .plain = true};
    pm_table_draw(&table, &blotter->round_list, pane);
}

static int draw_samples(const struct pm_blind_sheet *test, char sign, const struct pm_pane *pane,
                        int row)
{
    for (size_t s = 0; s < test->sample_count; s++, row++) {
        pm_pane_putf(pane, row, 2, PM_ROLE_NORMAL, "%c  %s%s", (char)('A' + (int)s),
                     test->samples[s], (int)s == test->row.expected ? "  (expected)" : "");
        if (test->has_result && test->row.kind == PM_RANKING)
            pm_pane_putf(pane, row, pane->columns - 22, PM_ROLE_FAINT, "sum of ranks %s",
                         pm_rounded_places(test->result.rank_sums[s], 1, sign).text);
    }
    return row;
}

static void draw_one(struct blotter *blotter, const struct pm_pane *pane)
{
    const struct pm_blind_sheet *test = &blotter->test;
    char alpha[PM_AMOUNT_TEXT], time[PM_TIME_TEXT];
    pm_pane_putf(pane, 0, 0, PM_ROLE_HEADING, "%s", test->row.name);
    pm_pane_putf(pane, 1, 0, PM_ROLE_FAINT, "%s, at %s, %lld of %lld answered, %s%s",
                 pm_panel_word(test->row.kind),
                 pm_strength_format(test->row.alpha, blotter->house->sign, alpha),
                 (long long)test->row.answered, (long long)test->row.rounds,
                 test->row.closed_at != 0 ? "closed " : "key hidden until it is closed",
                 test->row.closed_at != 0 ? pm_time_format(test->row.closed_at, time) : "");
    int row = draw_samples(test, blotter->house->sign, pane, 2);
    struct pm_pane rest = pm_pane_part(pane, row, 0, pane->rows - row, pane->columns);
    row += pm_pane_wrap(&rest, 0, test->has_result ? PM_ROLE_NORMAL : PM_ROLE_FAINT,
                        test->row.closed_at != 0 ? test->words : test->task);
    rest = pm_pane_part(pane, row, 0, pane->rows - row, pane->columns);
    row += test->remarks != NULL ? pm_pane_wrap(&rest, 0, PM_ROLE_FAINT, test->remarks) : 0;
    if (test->row.closed_at == 0) {
        rest = pm_pane_part(pane, row, 0, pane->rows - row, pane->columns);
        row += pm_pane_wrap(&rest, 0, PM_ROLE_FAINT, test->words);
    }
    /* At least a few rounds stay in sight, whatever the words take. */
    if (row > pane->rows - 4)
        row = pane->rows - 4;
    const struct pm_pane heading = pm_pane_part(pane, row, 0, 1, pane->columns);
    pm_pane_rule(&heading, 0,
                 test->row.closed_at != 0 ? "rounds: codes with their sample, answer"
                                          : "rounds: codes in the order of smelling, "
                                            "answer");
    const struct pm_pane rounds =
        pm_pane_part(pane, row + 1, 0, pane->rows - row - 1, pane->columns);
    draw_rounds(blotter, &rounds);
}

void tests_paint(struct blotter *blotter, const struct pm_canvas *canvas)
{
    struct pm_pane all = canvas->sheet;
    if (canvas->details.columns > 0)
        all.columns = canvas->details.column + canvas->details.columns - all.column;
    pm_pane_put(&canvas->heading, 0, 0, PM_ROLE_HEADING, "blind tests");
    pm_pane_cursor(&all, 0, 0);
    if (blotter->one)
        draw_one(blotter, &all);
    else
        draw_list(blotter, &all);
}

/* ---- a new one ---- */

static enum pm_status new_accept(void *context, const char *const values[], struct pm_error *err)
{
    struct blotter *blotter = context;
    struct pm_blind_form form = {.formula = blotter->house->formula};
    struct pm_blind_made made;
    for (size_t i = 0; i < PM_PANEL_ATTRIBUTES; i++)
        form.values[i] = values[i];
    enum pm_status status = pm_blind_new(blotter->house->studio, &form, &made, err);
    if (status != PM_OK)
        return status;
    blotter->round_list.row = 0;
    open_one(blotter, made.id);
    pm_app_say(blotter->app, "%s. Saved.", made.sentence);
    pm_blind_made_release(&made);
    read_again(blotter);
    return PM_OK;
}

static enum pm_role explain_kind(void *context, const char *const values[], struct pm_text *out)
{
    enum pm_panel_kind kind;
    (void)context;
    if (pm_panel_read(values[PM_PANEL_KIND], &kind, NULL) != PM_OK)
        return PM_ROLE_FAINT;
    switch (kind) {
    case PM_TRIANGLE:
        pm_text_add(out, "Which of three is the odd one? Two are the same.");
        break;
    case PM_DUO_TRIO:
        pm_text_add(out, "Which of two is the same as the open reference?");
        break;
    case PM_PAIRED:
    case PM_PAIRED_TWO_SIDED:
        pm_text_add(out, "Is either of the two chosen more often?");
        break;
    case PM_RANKING:
        pm_text_add(out, "In what order do two or more trials come?");
        break;
    }
    return PM_ROLE_FAINT;
}

void tests_new(void *state)
{
    struct blotter *blotter = state;
    struct pm_text marked = PM_TEXT_EMPTY;
    struct pm_form_spec spec = {
        .title = "A new blind test", .accept = new_accept, .writes = true, .context = blotter};
    pm_form_describe(&spec, &pm_panel_entity, NULL, blotter->house->sign, NULL, "seed");
    pm_form_field_of(&spec, PM_PANEL_KIND)->check = explain_kind;
    pm_form_field_of(&spec, PM_PANEL_TRIALS)->complete = blotter_complete_trial;
    pm_form_field_of(&spec, PM_PANEL_ALPHA)->text = "5%";
    pm_form_field_of(&spec, PM_PANEL_EXPECTED)->complete = blotter_complete_trial;
    pm_trials_marked(blotter->app, &marked);
    pm_form_field_of(&spec, PM_PANEL_TRIALS)->text = pm_text_get(&marked);
    pm_form_open(blotter->app, &spec);
    pm_text_release(&marked);
}

/* ---- answers ---- */

static enum pm_status answer_accept(void *context, const char *const values[], struct pm_error *err)
{
    struct blotter *blotter = context;
    struct pm_blind_said said;
    enum pm_status status = pm_blind_answer(blotter->house->studio, blotter->test.row.id, values[0],
                                            values[1], blotter->replace, &said, err);
    if (status != PM_OK)
        return status;
    const size_t round = (size_t)said.round;
    pm_app_say(blotter->app, "%s. Saved.", said.sentence);
    pm_blind_said_release(&said);
    open_one(blotter, blotter->test.row.id);
    read_again(blotter);
    /* On to the next round that waits for its answer. */
    blotter->round_list.row = round - 1;
    for (size_t i = round; blotter->one && i < (size_t)blotter->test.row.rounds; i++)
        if (blotter->test.rounds[i].answer == NULL) {
            blotter->round_list.row = i;
            break;
        }
    return PM_OK;
}

static void ask_answer(struct blotter *blotter, const char *typed)
{
    const struct pm_blind_sheet *test = &blotter->test;
    char title[96];
    if (test->row.closed_at != 0) {
        pm_app_say(blotter->app, "This test is closed.");
        return;
    }
    const struct pm_blind_round *round = &test->rounds[blotter->round_list.row];
    blotter->replace = round->answer != NULL;
    snprintf(title, sizeof title, "%s round %lld%s",
             blotter->replace ? "Another answer for" : "Answer of", (long long)round->round,
             blotter->replace ? "; the earlier one is kept" : "");
    const bool ranking = test->row.kind == PM_RANKING;
    const struct pm_form_spec spec = {
        .title = title,
        .fields = {{.key = "answer",
                    .label = ranking ? "Codes" : "Code",
                    .text = typed,
                    .hint = ranking ? "First place first; join those alike: 417 236=902." : NULL,
                    .limit = 100},
                   {.key = "assessor",
                    .label = "Assessor",
                    .text = round->assessor,
                    .hint = blotter->replace ? "Whose nose it was."
                                             : "Whose nose it was; empty: yours.",
                    .limit = 100}},
        .field_count = 2,
        .accept = answer_accept,
        .writes = true,
        .context = blotter,
    };
    pm_form_open(blotter->app, &spec);
}

unsigned tests_text(struct blotter *blotter, const char *text)
{
    if (!blotter->one)
        return PM_UNHANDLED;
    ask_answer(blotter, text);
    return PM_REDRAW;
}

/* ---- pages ---- */

/* What the assessor needs: codes and the task. */
void tests_codes(void *state)
{
    struct blotter *blotter = state;
    const struct pm_blind_sheet *test = &blotter->test;
    struct pm_page *page = pm_page_new(test->row.name);
    char code[16];
    pm_page_add(page, PM_ROLE_NORMAL, 0, test->task);
    pm_page_addf(page, PM_ROLE_FAINT, 0, "To print it: permille panel codes \"%s\"",
                 test->row.name);
    pm_page_add(page, PM_ROLE_NORMAL, 0, "");
    for (int64_t i = 0; i < test->row.rounds; i++) {
        struct pm_text line = PM_TEXT_EMPTY;
        pm_text_addf(&line, "%5lld", (long long)test->rounds[i].round);
        for (size_t v = 0; v < test->servings; v++) {
            const struct pm_blind_vial vial = {.code = test->rounds[i].vials[v].code, .sample = -1};
            vial_text(&vial, code);
            pm_text_addf(&line, "   %s", code);
        }
        pm_text_add(&line, "    ______");
        pm_page_add(page, PM_ROLE_NORMAL, 0, pm_text_get(&line));
        pm_text_release(&line);
    }
    pm_page_open(blotter->app, page, false);
}

static void add_references(struct pm_page *page, const int64_t *rounds, size_t count)
{
    struct pm_text text = PM_TEXT_EMPTY;
    for (size_t i = 0; i < count; i++)
        pm_text_addf(&text, "%s%lld", i > 0 ? ", " : "  the reference R of rounds ",
                     (long long)rounds[i]);
    if (count > 0)
        pm_page_add(page, PM_ROLE_NORMAL, 2, pm_text_get(&text));
    pm_text_release(&text);
}

static enum pm_status fill_accept(void *context, struct pm_error *err)
{
    struct blotter *blotter = context;
    struct pm_blind_page fill;
    enum pm_status status = pm_blind_fill(blotter->house->studio, blotter->test.row.id, &fill, err);
    if (status != PM_OK)
        return status;
    struct pm_page *page = pm_page_new("For whoever fills the vials: this is the key");
    pm_page_add(page, PM_ROLE_WARNING, 0, fill.advice);
    for (size_t s = 0; s < fill.sample_count; s++) {
        struct pm_text codes = PM_TEXT_EMPTY;
        for (size_t i = 0; i < fill.samples[s].count; i++)
            pm_text_addf(&codes, "%s%d", i > 0 ? "  " : "", fill.samples[s].codes[i]);
        pm_page_add(page, PM_ROLE_NORMAL, 0, "");
        pm_page_addf(page, PM_ROLE_HEADING, 0, "%s: %zu vials", fill.samples[s].title,
                     fill.samples[s].count);
        add_references(page, fill.samples[s].references, fill.samples[s].reference_count);
        pm_page_add(page, PM_ROLE_NORMAL, 2, pm_text_get(&codes));
        pm_text_release(&codes);
    }
    pm_blind_page_release(&fill);
    pm_page_open(blotter->app, page, false);
    return PM_OK;
}

void tests_fill(void *state)
{
    struct blotter *blotter = state;
    const struct pm_choice_spec spec = {
        .title = "The page for whoever fills the vials",
        .question = "It tells which code is which trial: whoever reads it is not blind any more.",
        .options = {{'n', "no, stay blind"}, {'y', "show it"}},
        .option_count = 2,
        .agreed = fill_accept,
        .context = blotter};
    pm_choice_open(blotter->app, &spec);
}

/* ---- closing ---- */

static enum pm_status close_accept(void *context, struct pm_error *err)
{
    struct blotter *blotter = context;
    enum pm_status status = pm_blind_close(blotter->house->studio, blotter->test.row.id, err);
    if (status != PM_OK)
        return status;
    open_one(blotter, blotter->test.row.id);
    read_again(blotter);
    pm_app_say(blotter->app, "Closed. Saved. The key is shown beside the codes.");
    return PM_OK;
}

void tests_close(void *state)
{
    struct blotter *blotter = state;
    char question[160];
    if (blotter->test.row.closed_at != 0) {
        pm_app_say(blotter->app, "This test is closed.");
        return;
    }
    snprintf(question, sizeof question,
             "Close it for good, show the key, take no more answers? Rounds answered: %lld of "
             "%lld.",
             (long long)blotter->test.row.answered, (long long)blotter->test.row.rounds);
    const struct pm_choice_spec spec = {.title = "Close the test",
                                        .question = question,
                                        .options = {{'n', "no, it goes on"}, {'y', "close it"}},
                                        .option_count = 2,
                                        .agreed = close_accept,
                                        .writes = true,
                                        .context = blotter};
    pm_choice_open(blotter->app, &spec);
}

void tests_say_no_undo(const struct blotter *blotter)
{
    char key[PM_KEY_TEXT];
    pm_app_say(blotter->app,
               "Answers are never taken out of a blind test; %s gives another in an answer's place "
               "while the test is open, and the earlier one is kept.",
               pm_app_key(blotter->app, "answer-test", key));
}

/* ---- as lists to look through ---- */

enum { FOUND_ROUND, FOUND_CODES, FOUND_ANSWER, FOUND_BY, FOUND_COLUMNS };

static const struct pm_column found_columns[FOUND_COLUMNS] = {
    [FOUND_ROUND] = {.heading = "round", .wish = 5, .align = PM_ALIGN_RIGHT},
    [FOUND_CODES] = {.heading = "codes", .wish = 24},
    [FOUND_ANSWER] = {.heading = "answer", .wish = 16},
    [FOUND_BY] = {.heading = "by", .wish = 8, .grows = true},
};

static enum pm_role found_cell(void *context, size_t row, size_t column, struct pm_text *out)
{
    const struct blotter *blotter = context;
    const struct pm_blind_round *round = &blotter->test.rounds[row];
    char text[16];
    if (column == FOUND_ROUND)
        pm_text_addf(out, "%lld", (long long)round->round);
    else if (column == FOUND_ANSWER)
        pm_text_add(out, round->answer != NULL ? round->answer : "-");
    else if (column == FOUND_BY)
        pm_text_add(out, round->assessor != NULL ? round->assessor : "");
    for (size_t v = 0; column == FOUND_CODES && v < blotter->test.servings; v++) {
        vial_text(&round->vials[v], text);
        pm_text_addf(out, "%s%s", v > 0 ? "  " : "", text);
    }
    return PM_ROLE_NORMAL;
}

struct pm_table tests_table(struct blotter *blotter)
{
    if (!blotter->one)
        return list_table(blotter);
    return (struct pm_table){.columns = found_columns,
                             .column_count = FOUND_COLUMNS,
                             .rows = (size_t)blotter->test.row.rounds,
                             .context = blotter,
                             .cell = found_cell};
}

void tests_go(struct blotter *blotter, size_t row)
{
    (blotter->one ? &blotter->round_list : &blotter->test_list)->row = row;
}

/* ---- keys ---- */

static void move(struct blotter *blotter, int code)
{
    struct pm_table_view *view = blotter->one ? &blotter->round_list : &blotter->test_list;
    const struct pm_table table = {.rows = blotter->one ? (size_t)blotter->test.row.rounds
                                                        : blotter->tests.count};
    pm_table_act(&table, view, code, NULL);
}

bool tests_any(void *state)
{
    struct blotter *blotter = state;
    if (!blotter->one && blotter->tests.count == 0)
        pm_app_say(blotter->app, "There is no blind test yet.");
    return blotter->one || blotter->tests.count > 0;
}

bool tests_one(void *state)
{
    struct blotter *blotter = state;
    if (blotter->one || !tests_any(blotter))
        return blotter->one;
    blotter->round_list.row = blotter->round_list.first = 0;
    open_one(blotter, blotter->tests.items[blotter->test_list.row].id);
    return blotter->one;
}

void tests_open_selected(void *state)
{
    struct blotter *blotter = state;
    if (blotter->one)
        ask_answer(blotter, NULL);
    else
        tests_one(blotter);
}

void tests_answer(void *state)
{
    ask_answer(state, NULL);
}

/* Esc: out of the test, then out of the list. */
static void leave(struct blotter *blotter)
{
    if (blotter->one) {
        tests_forget_one(blotter);
        return;
    }
    blotter->testing = false;
    blotter_read(blotter);
}

unsigned tests_act(struct blotter *blotter, int code)
{
    if (code == PM_ACT_CANCEL)
        leave(blotter);
    else if (pm_list_moves(code))
        move(blotter, code);
    else
        return PM_UNHANDLED;
    return PM_REDRAW;
}
