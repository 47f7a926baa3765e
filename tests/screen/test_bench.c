/* SPDX-License-Identifier: MIT */
/*
 * The Bench: what its sheet shows, and the main job by keyboard alone, compared with what the file
 * then holds. Trade facts are marked "common practice, no source". Materials and formulas are
 * invented.
 */
#include "bench_world.h"

#include "src/tui/bench/bench.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define PLAY (&world->play)

/* Dilutions, traces, a core, a held line, a carrier, an accord with a newer trial, comments, and
 * names that put clipping to the test. */
static void rich(struct bench_world *world, int rows, int columns)
{
    struct hand *hand = world->hand;
    bench_stock(world);
    int64_t accord = hand_formula(hand, "Tidal accord", 100);
    hand_ok(hand, pm_formula_mark_accord(hand->studio, accord, true, &hand->err));
    hand_add(hand, accord, "Breeze salicylate", 60);
    hand_add(hand, accord, "Etesian aldehyde", 40);
    hand_keep(hand, accord, "first");
    hand_set(hand, accord, "Etesian aldehyde", 45);
    hand_keep(hand, accord, "brighter");
    int64_t id = hand_formula(hand, "Harbour at four in the morning", 1000);
    hand_material(hand, "\xE9\xA6\x99\xE6\xB0\xB4\xE3\x81\xAE\xE7\xB4\xA0 wide");
    hand_material(hand, "Ve\xCC\x81tiver de\xCC\x81"
                        "compose\xCC\x81, a name that is far too long for any column of a sheet");
    hand_add(hand, id, "Alderwood ketone", 400);
    hand_add(hand, id, "Breeze salicylate", 200);
    hand_add(hand, id, "Calm musk", 100);
    hand_add(hand, id, "Dipropylene glycol", 150);
    hand_add_at(hand, id, "Etesian aldehyde", 20, "10%", "Dipropylene glycol");
    hand_add_at(hand, id, "Fern base", 0.05, "0.1%", "Triethyl citrate");
    hand_add_held(hand, id, "Dry cedar oil", 29.95);
    hand_add(hand, id, "\xE9\xA6\x99\xE6\xB0\xB4\xE3\x81\xAE\xE7\xB4\xA0 wide", 10);
    hand_add(hand, id, "V\xC3\xA9tiver", 5);
    hand_ok(hand, hand_add_accord(hand, id, "Tidal accord/1", 85));
    struct pm_sheet *sheet = hand_draft(hand, id);
    int64_t core[] = {sheet->trial.lines[0].id, sheet->trial.lines[1].id};
    int64_t weights[] = {2, 1};
    int64_t carrier = hand_line(hand, sheet, "Dipropylene glycol");
    int64_t comment = hand_line(hand, sheet, "Calm musk");
    pm_sheet_free(sheet);
    hand_do(hand, id,
            &(struct pm_gesture){
                .kind = PM_FORM_CORE, .lines = core, .weights = weights, .line_count = 2});
    hand_do(hand, id,
            &(struct pm_gesture){.kind = PM_SET_STANCE, .line = carrier, .stance = PM_CARRIER});
    hand_do(hand, id,
            &(struct pm_gesture){.kind = PM_COMMENT, .line = comment, .text = "too loud at 120"});
    bench_world_open(world, rows, columns);
}

/* ---- what is shown --------------------------------------------------------------------------- */

static void an_empty_library_invites(void **state)
{
    struct bench_world *world = *state;
    bench_world_open(world, 24, 80);
    play_golden(PLAY, "bench-empty-80x24");
    play_keys(PLAY, "a");
    play_sees(PLAY, "No formula is open: N begins a new one.");
    play_keys(PLAY, "d");
    play_keys(PLAY, "5");
    play_keys(PLAY, "k");
    play_keys(PLAY, "i");
    play_keys(PLAY, "w");
    play_sees(PLAY, "No formula is open: N begins a new one.");
}

static void golden_sheets(void **state)
{
    struct bench_world *world = *state;
    rich(world, 24, 80);
    play_golden(PLAY, "bench-80x24");
    play_keys(PLAY, "Down Down");
    play_type(PLAY, "120");
    play_golden(PLAY, "bench-typing-80x24");
    play_resize(PLAY, 50, 200);
    play_golden(PLAY, "bench-typing-200x50");
    play_keys(PLAY, "Esc End");
    play_golden(PLAY, "bench-200x50");
}

/* The column in which the parts' decimal point stands on a row, counted from under the heading. */
static int point_under(struct bench_world *world, int row, int heading_end)
{
    for (int column = heading_end; column > heading_end - 12; column--)
        if (pm_grid_cell(&world->play.grid, row, column)->bytes[0] == '.')
            return column;
    return -1;
}

static int heading_end(struct bench_world *world, int row)
{
    static const char word[] = "parts";
    for (int column = 20; column < world->play.grid.columns - 5; column++) {
        size_t i = 0;
        while (i < 5 && pm_grid_cell(&world->play.grid, row, column + (int)i)->bytes[0] == word[i])
            i++;
        if (i == 5)
            return column + 4;
    }
    return -1;
}

/* The decimal points of a column stand one below the other, whatever the names do. */
static void columns_align_with_hard_names(void **state)
{
    struct bench_world *world = *state;
    rich(world, 30, 80);
    for (int columns = 80; columns <= 210; columns += 13) {
        play_resize(PLAY, 30, columns);
        int heading = play_find(PLAY, "parts");
        int end = heading_end(world, heading);
        int point = point_under(world, heading + 1, end);
        assert_true(point > 0);
        for (int row = heading + 2; row < heading + 11; row++)
            assert_int_equal(point_under(world, row, end), point);
    }
}

/* The selected line is in sight wherever it is, also while something is asked about it. */
static void long_sheets_scroll(void **state)
{
    static const char *const keys[] = {"PageDown", "Down", "End",  "Up",  "PageUp", "z",  "Esc",
                                       "a",        "Esc",  "Home", "End", "%",      "Esc"};
    struct bench_world *world = *state;
    struct hand *hand = world->hand;
    char name[32], wanted[48];
    int64_t id = hand_formula(hand, "Long", 10000);
    for (int i = 1; i <= 120; i++) {
        snprintf(name, sizeof name, "Line %d of many", i);
        hand_add(hand, id, name, i);
    }
    bench_world_open(world, 24, 80);
    play_sees(PLAY, "103 below");
    const struct bench *bench = pm_app_room_state(world->play.app, PM_ROOM_BENCH);
    for (size_t i = 0; i < 200; i++) {
        play_keys(PLAY, keys[i % (sizeof keys / sizeof *keys)]);
        snprintf(wanted, sizeof wanted, "\xE2\x80\xBA%*zu         Line %zu of many", 4,
                 bench->at + 1, bench->at + 1);
        play_sees(PLAY, wanted);
        if (i % 11 == 0)
            play_resize(PLAY, 24 + (int)(i % 40), 80 + (int)(i % 19));
    }
    play_resize(PLAY, 24, 80);
    play_keys(PLAY, "Home End");
    play_sees(PLAY, "120         Line 120 of many");
    play_misses(PLAY, "below");
    play_sees(PLAY, "total of 120 lines");
    assert_int_equal(bench->at, 119);
}

static void layouts_fit_every_width(void **state)
{
    (void)state;
    srandom(3);
    for (int i = 0; i < 20000; i++) {
        struct bench_figures figures = {
            .count = (size_t)(random() % 2000),
            .parts.cells = 4 + (int)(random() % 12),
            .neat.cells = 4 + (int)(random() % 12),
            .becomes.cells = 4 + (int)(random() % 12),
            .diluted_cells = (int)(random() % 200),
            .masses.cells = (int)(random() % 14),
            .masses_text = "in 10 g",
            .scale_text = "20 %",
            .core_cells = (int)(random() % 8),
            .name_cells = (int)(random() % 200),
            .dilution_cells = (int)(random() % 60),
            .strength_cells = (int)(random() % 14),
            .share_cells = (int)(random() % 16),
            .solvent_cells = (int)(random() % 200),
        };
        struct pm_column columns[BENCH_COLUMNS];
        struct pm_table_view view = {.row = 0};
        int cells = 80 + (int)(random() % 200);
        const struct pm_table table = {
            .columns = columns, .column_count = BENCH_COLUMNS, .gap = cells >= 100 ? 2 : 1};
        if (figures.solvent_cells == 0 || figures.strength_cells == 0)
            figures.solvent_cells = figures.strength_cells = figures.dilution_cells = 0;
        if (figures.dilution_cells > figures.diluted_cells + figures.solvent_cells + 2)
            figures.dilution_cells = figures.diluted_cells + figures.solvent_cells + 2;
        bench_columns(&figures, cells, random() % 2, columns);
        pm_table_lay_out(&table, &view, cells);
        int end = 2;
        for (size_t k = 0; k < BENCH_COLUMNS; k++) {
            if (view.spans[k].cells == 0)
                continue;
            assert_true(view.spans[k].at >= end);
            end = view.spans[k].at + view.spans[k].cells + 1;
        }
        assert_true(end - 1 <= cells);
        assert_true(view.spans[BENCH_NAME].cells >= 8);
        assert_true(view.spans[BENCH_PARTS].cells >= figures.parts.cells);
        /* Names are read, the bar only repeats the shares: it stands beside them, or not at all. */
        const int names = pm_table_span(&view, BENCH_NAME, BENCH_SOLVENT).cells;
        const int bar = view.spans[BENCH_BAR].cells;
        assert_true(bar == 0 ||
                    (bar >= 4 && names >= figures.name_cells && names >= figures.dilution_cells));
        assert_true(view.spans[BENCH_SHARE].cells >= BENCH_SHARE_CELLS);
        assert_true(view.spans[BENCH_SHARE].cells >= figures.share_cells);
        assert_true(view.spans[BENCH_STANCE].cells >= 7);
        assert_false(view.before || view.behind);
    }
}

/* 4:3:2 looks like 4:3:2; what is less than half a cell has no line, but its unit tells its order.
 */
static void bars_are_linear(void **state)
{
    (void)state;
    char text[PM_AMOUNT_TEXT + 8];
    const int64_t ppm = 1000000;
    const struct pm_house house = {.sign = '.', .utf8 = true}, comma = {.sign = ',', .utf8 = true};
    const struct pm_house ascii = {.sign = '.'};
    const int64_t scale = bench_bar_scale(390000 * ppm);
    assert_int_equal(scale, 400000 * ppm);
    assert_int_equal(bench_bar_halves(400000 * ppm, scale, 8), 16);
    assert_int_equal(bench_bar_halves(300000 * ppm, scale, 8), 12);
    assert_int_equal(bench_bar_halves(200000 * ppm, scale, 8), 8);
    assert_int_equal(bench_bar_halves(1, scale, 8), 0);
    assert_int_equal(bench_bar_halves(0, scale, 8), 0);
    assert_int_equal(bench_bar_scale(1000000 * ppm), 1000000 * ppm);
    assert_int_equal(bench_bar_scale(110000 * ppm), 150000 * ppm);
    assert_int_equal(bench_bar_scale(0), 1000000 * ppm);
    for (int64_t share = 1; share <= 1000000 * ppm; share += share / 7 + 1) {
        assert_true(bench_bar_scale(share) >= share);
        assert_true(bench_bar_scale(share) <= 2 * share + 10);
    }
    assert_string_equal(bench_share_text(&house, 1000000 * ppm, text), "100 %");
    assert_string_equal(bench_share_text(&comma, 123456 * ppm, text), "12,3 %");
    assert_string_equal(bench_share_text(&house, 4700 * ppm, text), "4.7 \xE2\x80\xB0");
    assert_string_equal(bench_share_text(&ascii, 4700 * ppm, text), "4700 ppm");
    assert_string_equal(bench_share_text(&house, 9999 * ppm, text), "1.00 %");
    assert_string_equal(bench_share_text(&house, 480 * ppm, text), "480 ppm");
    assert_string_equal(bench_share_text(&house, 600000, text), "0.60 ppm");
    assert_string_equal(bench_share_text(&house, 0, text), "");
    assert_string_equal(bench_share_cell(&house, 47000 * ppm, text), " 4.7 %");
    assert_string_equal(bench_share_cell(&house, 480 * ppm, text), " 480 ppm");
}

/* What is not zero is never printed as nothing, and the printed column adds up (design: largest
 * remainder). */
static void printed_columns_add_up(void **state)
{
    struct bench_world *world = *state;
    bench_stock(world);
    int64_t id = hand_formula(world->hand, "Thirds", 100);
    hand_add(world->hand, id, "Alderwood ketone", 1);
    hand_add(world->hand, id, "Breeze salicylate", 1);
    hand_add(world->hand, id, "Calm musk", 1);
    hand_do(world->hand, id, &(struct pm_gesture){.kind = PM_SETTLE});
    bench_world_open(world, 24, 80);
    play_sees(PLAY, "33.34");
    play_sees(PLAY, "33.33");
    play_sees(PLAY, "total of 3 lines");
    play_sees(PLAY, "100.00");
    hand_add(world->hand, id, "Dry cedar oil", 0.0004);
    bench_world_open(world, 24, 80);
    play_sees(PLAY, "0.00040");
    play_sees(PLAY, "4.0 ppm \xC2\xB7");
}

/* A ten-thousandth of a trace: no column shows it as nothing, no unit is cut off, and the flat
 * view's columns add up to its total. */
static void the_finest_trace_is_shown(void **state)
{
    struct bench_world *world = *state;
    int64_t id = hand_formula(world->hand, "Harbour", 1000);
    hand_solvent(world->hand, "Sea spirit");
    hand_add_at(world->hand, id, "Alderwood ketone", 0.00001, "0.1%", "Sea spirit");
    hand_add_at(world->hand, id, "Breeze salicylate", 0.5, "0.01%", "Sea spirit");
    hand_add(world->hand, id, "Calm musk", 999.49999);
    bench_world_open(world, 24, 80);
    play_sees(PLAY, "0.000000010");
    play_sees(PLAY, "0.000050");
    play_keys(PLAY, "i");
    play_sees(PLAY, "0.000000010 ");
    play_sees(PLAY, "0.000010 ppm");
    play_sees(PLAY, "999.50 ");
}

/* A comment of any length the library takes is edited whole. */
/* ---- the main job ---------------------------------------------------------------------------- */

/* Common practice, no source: a core of 4:3:2 in 1000 reads 444/333/222 in whole parts and still
 * totals 1000; fifty parts of small additions leave 950 to it in the same ratio. */
static void a_formula_by_keyboard_alone(void **state)
{
    struct bench_world *world = *state;
    bench_stock(world);
    bench_world_open(world, 24, 80);
    play_keys(PLAY, "N");
    play_type(PLAY, "Harbour");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "1000.00 still missing");
    bench_tuck_in(world, "alderw", "400");
    play_sees(PLAY, "600.00 still missing");
    bench_tuck_in(world, "breeze", "300");
    bench_tuck_in(world, "calm", "200");
    play_keys(PLAY, "Home Space Space Space k");
    play_sees(PLAY, "Alderwood ketone : Breeze salicylate : Calm musk");
    play_type(PLAY, "4:3:2");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "A:4");
    play_keys(PLAY, "l");
    play_sees(PLAY, "settled");
    play_sees(PLAY, "444.4");
    play_sees(PLAY, "333.3");
    play_sees(PLAY, "222.2");
    assert_true(bench_total(world, "Harbour") == 1000.0);
    bench_tuck_in(world, "dry ced", "30");
    bench_tuck_in(world, "ferN", "15");
    bench_tuck_in(world, "etesian", "5");
    double a = bench_parts(world, "Harbour", "Alderwood ketone");
    double b = bench_parts(world, "Harbour", "Breeze salicylate");
    double c = bench_parts(world, "Harbour", "Calm musk");
    bench_near(a + b + c, 950, 1.1);
    bench_near(a * 3, b * 4, 1e-5);
    bench_near(b * 2, c * 3, 1e-5);
    assert_true(bench_total(world, "Harbour") == 1000.0);
}

static void typing_previews_and_commits_once(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    for (int sign = 0; sign < 2; sign++) { /* an amount may begin with its decimal sign */
        play_type(PLAY, sign == 0 ? ".5" : ",5");
        play_sees(PLAY, "500 \xE2\x86\x92 0.5");
        play_keys(PLAY, "Esc");
        play_misses(PLAY, "becomes");
    }
    play_type(PLAY, "600");
    play_sees(PLAY, "becomes");
    play_sees(PLAY, "240.00");
    play_sees(PLAY, "500 \xE2\x86\x92 600 \xC2\xB7 2 other lines give way");
    play_keys(PLAY, "Esc");
    play_misses(PLAY, "240.00");
    play_misses(PLAY, "becomes");
    assert_true(bench_parts(world, "Harbour", "Alderwood ketone") == 500.0);
    play_type(PLAY, "600");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Set Alderwood ketone from 500 to 600; 2 lines gave way. Saved.");
    assert_true(bench_parts(world, "Harbour", "Breeze salicylate") == 240.0);
    play_keys(PLAY, "u");
    play_sees(PLAY, "Undid:");
    assert_true(bench_parts(world, "Harbour", "Breeze salicylate") == 300.0);
    play_keys(PLAY, "Ctrl-Y");
    assert_true(bench_parts(world, "Harbour", "Breeze salicylate") == 240.0);
    play_keys(PLAY, "Ctrl-Z");
    assert_true(bench_parts(world, "Harbour", "Breeze salicylate") == 300.0);
    /* 416.875 parts are told as they stand in the sheet, whose column adds up. */
    play_keys(PLAY, "Down Down");
    play_type(PLAY, "333");
    play_keys(PLAY, "Enter Up Up");
    play_sees(PLAY, " 416.87 ");
    play_type(PLAY, "100");
    play_sees(PLAY, "416.87 \xE2\x86\x92 100");
}

static void arrows_commit_and_move(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    play_type(PLAY, "510");
    play_keys(PLAY, "Down");
    assert_true(bench_parts(world, "Harbour", "Alderwood ketone") == 510.0);
    play_type(PLAY, "310");
    play_keys(PLAY, "Up");
    assert_true(bench_parts(world, "Harbour", "Breeze salicylate") == 310.0);
    play_keys(PLAY, "Enter Enter");
    play_misses(PLAY, "!");
}

/* Expressions, both decimal signs, shares; unfinished text is no error, wrong text is one at
 * once. */
static void what_can_be_typed(void **state)
{
    static const struct {
        const char *keys;
        double parts;
    } cases[] = {
        {"=21+4", 25}, {"*1.5", 750}, {"*0.25", 125}, {"12,5", 12.5},
        {".5", 0.5},   {"20%", 200},  {"50ppm", .05}, {"=+10", 510},
    };
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        play_type(PLAY, cases[i].keys);
        play_sees(PLAY, "becomes");
        play_keys(PLAY, "Enter");
        bench_near(bench_parts(world, "Harbour", "Alderwood ketone"), cases[i].parts, 1e-9);
        play_keys(PLAY, "u");
    }
    play_type(PLAY, "=21+");
    play_misses(PLAY, "!");
    play_misses(PLAY, "becomes");
    play_type(PLAY, "x");
    play_sees(PLAY, "! ");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "21+x");
    play_keys(PLAY, "Backspace");
    play_misses(PLAY, "! ");
    play_type(PLAY, "4");
    play_sees(PLAY, "becomes");
    play_keys(PLAY, "Enter");
    assert_true(bench_parts(world, "Harbour", "Alderwood ketone") == 25.0);
}

static void refusals_say_what_would_work(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    play_keys(PLAY, "Down h Up");
    play_type(PLAY, "700"); /* which would leave nothing for the third line */
    play_sees(PLAY, "eld lines leave only 700");
    play_sees(PLAY, "699.999999");
    play_misses(PLAY, "becomes");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "eld lines leave only 700");
    play_sees(PLAY, "700");
    play_keys(PLAY, "Home Delete");
    play_type(PLAY, "6");
    play_sees(PLAY, "becomes");
    play_keys(PLAY, "Enter");
    assert_true(bench_parts(world, "Harbour", "Calm musk") == 100.0);
}

static void enter_opens_the_exact_value(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "500 ");
    play_keys(PLAY, "Enter");
    play_keys(PLAY, "u");
    play_misses(PLAY, "Set Alderwood ketone"); /* nothing was changed, nothing to undo of it */
    play_keys(PLAY, "r Home Enter");
    play_type(PLAY, "7");
    play_keys(PLAY, "Enter");
    assert_true(bench_parts(world, "Harbour", "Alderwood ketone") == 7.0);
    play_keys(PLAY, "u Home Enter End");
    play_type(PLAY, ".25");
    play_keys(PLAY, "Enter");
    assert_true(bench_parts(world, "Harbour", "Alderwood ketone") == 500.25);
}

static void pasting_types(void **state)
{
    struct bench_world *world = *state;
    bench_harbour(world, 24, 80);
    play_paste(PLAY, "25\n");
    play_sees(PLAY, "becomes");
    assert_true(bench_parts(world, "Harbour", "Alderwood ketone") == 500.0);
    play_keys(PLAY, "Enter");
    assert_true(bench_parts(world, "Harbour", "Alderwood ketone") == 25.0);
}

/* ---- the table of actions -------------------------------------------------------------------- */

static void keys_do_not_clash_and_help_names_all(void **state)
{
    struct bench_world *world = *state;
    struct pm_error err = {0};
    struct pm_app_spec spec = pm_rooms_spec();
    bench_world_open(world, 250, 240);
    const struct pm_keymap *map = pm_app_keymap(world->play.app);
    if (pm_keymap_check(map, &err) != PM_OK)
        fail_msg("%s", err.text);
    for (int room = 0; room < PM_ROOM_NUMBERS; room++) {
        pm_app_go(world->play.app, room);
        play_keys(PLAY, "?");
        const struct pm_action_table *table = spec.rooms[room]->actions;
        const unsigned mode = spec.rooms[room]->mode != NULL
                                  ? spec.rooms[room]->mode(pm_app_room_state(world->play.app, room))
                                  : PM_MODE_SHEET;
        for (size_t i = 0; i < table->count; i++) {
            assert_true(pm_action_keys(&table->rows[i])[0] != '\0');
            assert_true(table->rows[i].run || table->rows[i].write);
            if (!(table->rows[i].modes & mode))
                continue; /* the help of another mode of the room names it */
            play_sees(PLAY, pm_action_name(&table->rows[i]));
            play_sees(PLAY, pm_action_help(&table->rows[i]));
        }
        play_keys(PLAY, "Esc");
    }
    struct pm_text text = PM_TEXT_EMPTY;
    struct pm_app *closed;
    assert_int_equal(pm_app_closed(&closed, &spec, &err), PM_OK);
    pm_keymap_dump(pm_app_keymap(closed), &text);
    pm_app_free(closed);
    assert_non_null(strstr(pm_text_get(&text), "Lines\ttuck-in\ta, Insert\ttuck in\t"));
    assert_non_null(strstr(pm_text_get(&text), "\troom-trials\tT, F3\t"));
    pm_text_release(&text);
}

/* Every id that a key line names is an action of that room, with a key that reaches it there. */
static void hints_lead_somewhere(void **state)
{
    struct bench_world *world = *state;
    struct pm_app_spec spec = pm_rooms_spec();
    bench_world_open(world, 24, 80);
    const struct pm_keymap *map = pm_app_keymap(world->play.app);
    for (int room = 0; room < PM_ROOM_NUMBERS; room++) {
        for (const char *const *hints = spec.rooms[room]->hints; hints != NULL && *hints != NULL;
             hints++) {
            char ids[200], key[PM_KEY_TEXT], *rest = ids;
            snprintf(ids, sizeof ids, "%s", *hints);
            for (char *id = strsep(&rest, " "); id != NULL; id = strsep(&rest, " ")) {
                const struct pm_action *action = pm_keymap_action(map, id, room);
                if (action == NULL || !*pm_keymap_key(map, id, PM_MODE_SHEET, key))
                    fail_msg("the %s hints at \"%s\"", spec.rooms[room]->name, id);
            }
        }
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        BENCH(an_empty_library_invites),
        BENCH(golden_sheets),
        BENCH(columns_align_with_hard_names),
        BENCH(long_sheets_scroll),
        cmocka_unit_test(layouts_fit_every_width),
        cmocka_unit_test(bars_are_linear),
        BENCH(printed_columns_add_up),
        BENCH(the_finest_trace_is_shown),
        BENCH(a_formula_by_keyboard_alone),
        BENCH(typing_previews_and_commits_once),
        BENCH(arrows_commit_and_move),
        BENCH(what_can_be_typed),
        BENCH(refusals_say_what_would_work),
        BENCH(enter_opens_the_exact_value),
        BENCH(pasting_types),
        BENCH(keys_do_not_clash_and_help_names_all),
        BENCH(hints_lead_somewhere),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
