/* SPDX-License-Identifier: MIT */
/*
 * Libraries of every step of the schema: those kept in tests/store/samples and those made anew with
 * the first steps only. Each opens, is sound, and holds what it held.
 *
 * A sample is what this program makes when it is told where, dumped by the sqlite3 shell and
 * followed by the two pragmas that a dump leaves out. It is made once, while its step is the
 * newest, and never again:
 *
 *   build/tests/store/test_steps N /tmp/sample.db
 *   sqlite3 /tmp/sample.db .dump > tests/store/samples/library-N.sql
 *   printf 'PRAGMA application_id = 1885696621;\nPRAGMA user_version = N;\n' >> the same file
 *
 * Before that, what the step brought is put into `fill` and looked for in `check_content`; where
 * it added a column to a table that is filled, FILLED becomes its number.
 */
#include "src/store/checksum.h"
#include "src/store/embedded.h"
#include "src/store/store.h"
#include "tests/store/world.h"

#include "permille/core/gesture.h"
#include "permille/store/batches.h"
#include "permille/store/bottles.h"
#include "permille/store/ceilings.h"
#include "permille/store/facts.h"
#include "permille/store/panels.h"
#include "permille/store/rules.h"
#include "permille/store/series.h"
#include "permille/store/shelf.h"
#include "permille/store/smells.h"
#include "permille/store/weighed.h"
#include "permille/studio/shelf.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>
#include <unistd.h>

#include <cmocka.h>

#define FILES_MAX 64
#define BOUGHT    20512 /* 2026-02-28 */

/* What world_fill makes: a natural material, a solvent, two kept trials of the formula. */
/* The first step whose tables this program can fill: the last one that added a column to a table
 * which `fill` writes. Of those before it there are the samples. */
enum { FILLED = 11 };
enum { FOLDED = 5 };  /* the step that folds names again */
enum { DAYS = 6 };    /* the step at which seconds became days */
enum { WEIGHTS = 7 }; /* the step from which lines remember what they weigh */
enum { RULES = 8 };   /* the step that brings limits of one's own */
enum { SERIES = 9 };  /* the step that brings series, ratings and clocks */
enum { SCALE = 10 };  /* the step that brought balances and pours */
enum { RESTED = 11 }; /* the step from which a line that rests remembers what it was */
enum { CEILINGS = 12 };
enum { REMINDERS = 13 }; /* the step from which it is known what was done about a filling */
enum { MATERIAL = 1, SOLVENT = 4, FIRST = 3, SECOND = 4 };

/* ---- filling: what each step brought ---- */

static void fill_facts(struct world *world)
{
    const struct pm_fact density = {.property = "density",
                                    .origin = PM_OWN,
                                    .is_number = true,
                                    .value = 912000000,
                                    .source = "own weighing",
                                    .confidence = PM_OWN_WORD};
    const struct pm_constituent constituent = {.origin = PM_OWN,
                                               .name = "Fern acetate",
                                               .cas = "106-22-9",
                                               .least = -1,
                                               .typical = 20000000,
                                               .most = 35000000,
                                               .confidence = PM_OWN_WORD};
    assert_status(PM_OK, pm_fact_put(world->library, MATERIAL, &density, &world->err));
    assert_status(
        PM_OK, pm_constituents_put(world->library, MATERIAL, PM_OWN, &constituent, 1, &world->err));
    assert_status(PM_OK, pm_starter_link(world->library, "slate absolute", MATERIAL, &world->err));
}

static void fill_bottle(struct world *world)
{
    struct pm_bottle bottle = {.material = MATERIAL,
                               .strength = PM_NEAT / 10,
                               .solvent = SOLVENT,
                               .bought = BOUGHT,
                               .opened = PM_NO_DAY,
                               .best_before = 0,
                               .lot = "S-17",
                               .place = "top shelf",
                               .currency = "EUR",
                               .price = 19200000,
                               .priced_mass = 20 * PM_GRAM};
    struct pm_shelf_log log;
    pm_shelf_log_init(&log, world->library);
    assert_status(PM_OK, pm_library_begin(world->library, &world->err));
    assert_status(PM_OK, pm_bottle_insert(world->library, &bottle, &world->err));
    assert_status(PM_OK, pm_shelf_log_born(&log, PM_ROWS_BOTTLE, bottle.id, &world->err));
    const struct pm_movement moves[] = {
        {.bottle = bottle.id, .kind = PM_RECEIVED, .mass = 20 * PM_GRAM, .at = world->time},
        {.bottle = bottle.id, .kind = PM_POURED, .mass = -3 * PM_GRAM, .at = world->time}};
    for (size_t i = 0; i < 2; i++) {
        int64_t id = 0;
        assert_status(PM_OK, pm_movement_insert(world->library, &moves[i], &id, &world->err));
        assert_status(PM_OK, pm_shelf_log_moved(&log, id, &world->err));
    }
    assert_status(PM_OK, pm_shelf_log_write(&log, "bottle", "New bottle of Slate absolute", true,
                                            NULL, &world->err));
    assert_status(PM_OK, pm_library_commit(world->library, &world->err));
    pm_shelf_log_release(&log);
}

static void fill_shelf(struct world *world)
{
    struct pm_batch batch = {.trial = SECOND, .mass = 30 * PM_GRAM, .day = PM_NO_DAY};
    const struct pm_rate rate = {
        .currency = "USD", .other = "EUR", .rate = 920000000, .day = pm_day_of(world->time)};
    struct pm_batch_event event = {.kind = PM_BATCH_PLANNED, .at = world->time};
    fill_facts(world);
    fill_bottle(world);
    assert_status(PM_OK, pm_batch_insert(world->library, &batch, &world->err));
    event.batch = batch.id;
    assert_status(PM_OK, pm_batch_event_insert(world->library, &event, NULL, &world->err));
    assert_status(PM_OK, pm_rate_insert(world->library, &rate, &world->err));
}

static void fill_smells(struct world *world)
{
    char schedule[] = "0, 5 min, 1 h";
    struct pm_application application = {
        .trial = FIRST, .medium = PM_ON_BLOTTER, .applied_at = world->time, .schedule = schedule};
    int64_t id = 0;
    assert_status(PM_OK, pm_application_insert(world->library, &application, &id, &world->err));
    struct pm_smell smell = {.trial = FIRST,
                             .application = id,
                             .medium = PM_ON_BLOTTER,
                             .since = 300,
                             .intensity = 6,
                             .liking = -1,
                             .note = "wet slate",
                             .at = world->time};
    assert_status(PM_OK, pm_smell_insert(world->library, &smell, &id, &world->err));
    smell.corrects = id;
    smell.note = "wet slate, then cold smoke";
    assert_status(PM_OK, pm_smell_insert(world->library, &smell, &id, &world->err));
}

static void fill_panel(struct world *world)
{
    char name[] = "First or second";
    struct pm_panel_row row = {
        .name = name, .kind = PM_DUO_TRIO, .expected = -1, .alpha = 50000000, .rounds = 2};
    const int64_t samples[] = {FIRST, SECOND};
    const struct pm_serving servings[] = {{1, 1, 0, 0}, {1, 2, 0, 417}, {1, 3, 1, 236},
                                          {2, 1, 1, 0}, {2, 2, 0, 902}, {2, 3, 1, 158}};
    const struct pm_panel_answer answer = {.round = 1, .answer = "417", .at = world->time};
    int64_t panel = 0, id = 0;
    assert_status(
        PM_OK, pm_panel_insert(world->library, &row, samples, 2, servings, 6, &panel, &world->err));
    assert_status(PM_OK, pm_panel_answer_insert(world->library, panel, &answer, &id, &world->err));
}

/* A figure of one's own, and a set of another country that says both "none" and nothing. */
static void fill_rules(struct world *world)
{
    struct pm_rule_line lines[] = {
        {.set = "Own limits",
         .own = true,
         .replaces = "IFRA Standards",
         .name = "Fern acetate",
         .kind = "limit",
         .cas = "106-22-9",
         .scope = "category 4",
         .percent = 12500000,
         .note = "per mail",
         .source = "supplier",
         .dated = "2026-10-01"},
        {.set = "Island rules",
         .name = "Fern acetate",
         .kind = "limit",
         .members = "Fern;Bracken",
         .scope = "leave-on",
         .percent = -2,
         .source = "gazette"},
        {.set = "Island rules",
         .name = "Moss",
         .kind = "prohibit",
         .scope = "all",
         .percent = -1,
         .source = "gazette"},
    };
    for (size_t i = 0; i < sizeof lines / sizeof *lines; i++)
        assert_status(PM_OK, pm_rule_line_insert(world->library, &lines[i], &world->err));
}

static void check_rules(struct world *world)
{
    struct pm_rule_lines lines;
    assert_status(PM_OK, pm_rule_line_list(world->library, &lines, &world->err));
    assert_int_equal(lines.count, 3);
    assert_string_equal(lines.items[0].set, "Island rules");
    assert_int_equal(lines.items[0].percent, -2);
    assert_string_equal(lines.items[0].members, "Fern;Bracken");
    assert_int_equal(lines.items[1].percent, -1);
    assert_string_equal(lines.items[1].kind, "prohibit");
    assert_int_equal(lines.items[2].percent, 12500000);
    assert_true(lines.items[2].own);
    assert_string_equal(lines.items[2].dated, "2026-10-01");
    assert_null(lines.items[2].members);
    pm_list_release(&lines);
}

/* A formula in the new mode: a core of one neat and one diluted line, something tucked in until its
 * weights are no whole parts, a line that rests. */
static void fill_weights(struct world *world)
{
    static const int64_t core[] = {1, 2}, ratio[] = {3, 1};
    static const struct pm_gesture story[] = {
        {.kind = PM_FORM_CORE, .lines = core, .weights = ratio, .line_count = 2},
        {.kind = PM_SET, .line = 3, .parts = 12500000},
        {.kind = PM_SET_MODE, .mode = PM_SHARE},
        {.kind = PM_SET, .line = 4, .parts = 7000000},
        {.kind = PM_SET_STANCE, .line = 3, .stance = PM_RESTING},
        {.kind = PM_SET_MODE, .mode = PM_CORE_MODE},
        {.kind = PM_SET_STANCE, .line = 4, .stance = PM_HELD},
        {.kind = PM_SET_STANCE, .line = 4, .stance = PM_RESTING},
    };
    struct pm_trial trial;
    int64_t formula = world_formula(world, "Weighed");
    pm_trial_init(&trial, 1000 * PM_PART, PM_CORE_MODE);
    for (int64_t i = 1; i <= 4; i++)
        world_line(&trial, i <= 3 ? i : 1, 250 * PM_PART);
    trial.lines[1].strength = 100347860;
    trial.lines[1].solvent = SOLVENT;
    trial.settled = true;
    for (size_t i = 0; i < sizeof story / sizeof *story; i++) {
        struct pm_trial after;
        assert_status(PM_OK, pm_gesture_apply(&story[i], &trial, &after, NULL, &world->err));
        pm_trial_release(&trial);
        trial = after;
    }
    world_write(world, world_draft(world, formula), &trial, "Weighed a core");
    pm_trial_release(&trial);
}

static void fill_series(struct world *world)
{
    const struct pm_series_row row = {.name = "Slate, rising",
                                      .kind = PM_SERIES_RATIOS,
                                      .formula = 2,
                                      .what = "Slate absolute\nFern acetate",
                                      .bounds = "0-1000000000 0-400000000",
                                      .panel = 1};
    const struct pm_series_trial trials[] = {
        {.trial = FIRST, .amount = -1, .ratio = "1:0"},
        {.trial = SECOND, .amount = -1, .ratio = "3:2", .panel = 1}};
    struct pm_rating rating = {.trial = FIRST, .value = 6500000, .at = world->time};
    const struct pm_calibration clock = {
        .smell = 2, .material = MATERIAL, .remaining = 100000000, .at = world->time};
    int64_t id = 0;
    assert_status(PM_OK,
                  pm_series_insert(world->library, &row, trials, 2, &rating.series, &world->err));
    assert_status(PM_OK, pm_rating_insert(world->library, &rating, &id, &world->err));
    rating.corrects = id;
    rating.value = 7000000;
    assert_status(PM_OK, pm_rating_insert(world->library, &rating, &id, &world->err));
    assert_status(PM_OK, pm_calibration_insert(world->library, &clock, &id, &world->err));
}

static void fill_ceilings(struct world *world)
{
    struct pm_ceiling every = {.kind = PM_BY_FAMILY, .name = "Moss", .most = PM_WHOLE / 10};
    struct pm_ceiling own = {
        .kind = PM_BY_VOLATILITY, .formula = 1, .name = "top", .most = PM_WHOLE / 4};
    assert_status(PM_OK, pm_ceiling_put(world->library, &every, &world->err));
    assert_status(PM_OK, pm_ceiling_put(world->library, &own, &world->err));
}

static void check_ceilings(struct world *world)
{
    struct pm_ceilings rows;
    assert_status(PM_OK, pm_ceiling_list(world->library, &rows, &world->err));
    assert_int_equal(rows.count, 2);
    assert_string_equal(rows.items[0].name, "Moss");
    assert_int_equal(rows.items[0].most, PM_WHOLE / 10);
    assert_int_equal(rows.items[1].formula, 1);
    assert_int_equal(rows.items[1].kind, PM_BY_VOLATILITY);
    pm_list_release(&rows);
}

/* A batch that was planned, poured and corrected, a balance, a made-up accord, a filling. */
static void fill_scale(struct world *world)
{
    struct pm_balance_row balance = {.name = "Kitchen", .is = {.readability = 10000}};
    struct pm_batch batch = {.trial = SECOND, .mass = 20 * PM_GRAM, .day = PM_NO_DAY};
    struct pm_bottle bottle = {.material = MATERIAL,
                               .strength = PM_NEAT,
                               .bought = PM_NO_DAY,
                               .opened = PM_NO_DAY,
                               .best_before = PM_NO_DAY};
    struct pm_filling_row filling = {.concentrate = 20 * PM_GRAM,
                                     .ethanol = 80 * PM_GRAM,
                                     .at_hand = 960000000,
                                     .bottles = 1,
                                     .filter_on = BOUGHT + 30,
                                     .ready_on = PM_NO_DAY};
    assert_status(PM_OK, pm_balance_put(world->library, &balance, &world->err));
    assert_status(PM_OK, pm_batch_insert(world->library, &batch, &world->err));
    const struct pm_batch_event event = {
        .batch = batch.id, .kind = PM_BATCH_STARTED, .at = world->time};
    assert_status(PM_OK, pm_batch_event_insert(world->library, &event, NULL, &world->err));
    assert_status(PM_OK, pm_bottle_insert(world->library, &bottle, &world->err));
    struct pm_batch_plan plan = {.batch = batch.id,
                                 .balance_name = "Kitchen",
                                 .balance = balance.is,
                                 .tolerance = PM_NEAT / 50,
                                 .way = "planned"};
    const struct pm_batch_line line = {.line = 1,
                                       .material = MATERIAL,
                                       .bottle = bottle.id,
                                       .strength = PM_NEAT,
                                       .target = 20 * PM_GRAM};
    assert_status(PM_OK, pm_batch_plan_insert(world->library, &plan, &line, 1, &world->err));
    struct pm_movement movement = {.bottle = bottle.id,
                                   .kind = PM_POURED,
                                   .mass = -19 * PM_GRAM,
                                   .trial = SECOND,
                                   .batch = batch.id,
                                   .at = world->time};
    struct pm_batch_pour pour = {
        .batch = batch.id, .place = 1, .bottle = bottle.id, .mass = 19 * PM_GRAM};
    assert_status(PM_OK,
                  pm_movement_insert(world->library, &movement, &pour.movement, &world->err));
    assert_status(PM_OK, pm_batch_pour_insert(world->library, &pour, &world->err));
    pour.corrects = pour.id;
    pour.bottle = pour.movement = 0;
    pour.mass = 20 * PM_GRAM;
    assert_status(PM_OK, pm_batch_pour_insert(world->library, &pour, &world->err));
    assert_status(PM_OK, pm_made_up_put(world->library, SECOND, MATERIAL, &world->err));
    filling.batch = batch.id;
    assert_status(PM_OK, pm_filling_insert(world->library, &filling, &world->err));
}

static void fill_reminders(struct world *world)
{
    struct pm_filling_event filtered = {.filling = 1, .kind = PM_FILLING_FILTERED, .note = "clear"};
    struct pm_filling_event ready = {.filling = 1, .kind = PM_FILLING_READY_ON, .day = BOUGHT + 60};
    assert_status(PM_OK, pm_filling_event_insert(world->library, &filtered, &world->err));
    assert_status(PM_OK, pm_filling_event_insert(world->library, &ready, &world->err));
}

/* All that a library of a step can hold; the step is FILLED or a later one. */
static void fill(struct world *world, int step)
{
    world_fill(world);
    fill_shelf(world);
    fill_smells(world);
    fill_panel(world);
    fill_weights(world);
    fill_rules(world);
    fill_series(world);
    fill_scale(world);
    if (step >= CEILINGS)
        fill_ceilings(world);
    if (step >= REMINDERS)
        fill_reminders(world);
}

/* ---- what must be there again ---- */

static void check_reminders(struct world *world)
{
    struct pm_filling_events events;
    assert_status(PM_OK, pm_filling_event_list(world->library, &events, &world->err));
    assert_int_equal(events.count, 2);
    assert_int_equal(events.items[0].kind, PM_FILLING_FILTERED);
    assert_string_equal(events.items[0].note, "clear");
    assert_int_equal(events.items[1].day, BOUGHT + 60);
    pm_list_release(&events);
}

static void check_trials(struct world *world)
{
    struct pm_trial trial;
    int64_t formula = 0, kept = 0;
    assert_status(PM_OK,
                  pm_formula_by_name(world->library, "Quarry after rain", &formula, &world->err));
    assert_status(PM_OK, pm_trial_by_number(world->library, formula, 2, &kept, &world->err));
    assert_int_equal(SECOND, kept);
    assert_status(PM_OK, pm_trial_load(world->library, kept, &trial, &world->err));
    assert_int_equal(3, trial.count);
    assert_int_equal(14 * PM_PART, trial.lines[1].parts);
    pm_trial_release(&trial);
}

static void check_shelf(struct world *world)
{
    struct pm_bottle bottle;
    struct pm_arena arena = {0};
    struct pm_rate rate;
    int64_t density = 0, material = 0, entry = 0;
    bool found = false;
    assert_status(PM_OK, pm_bottle_get(world->library, 1, &arena, &bottle, &world->err));
    assert_int_equal(17 * PM_GRAM, bottle.left);
    assert_int_equal(2, bottle.movements);
    assert_string_equal("S-17", bottle.lot);
    assert_string_equal("EUR", bottle.currency);
    pm_arena_release(&arena);
    assert_status(
        PM_OK, pm_fact_value(world->library, MATERIAL, "density", &density, &found, &world->err));
    assert_true(found);
    assert_int_equal(912000000, density);
    assert_status(PM_OK, pm_starter_find(world->library, "slate absolute", &material, &world->err));
    assert_int_equal(MATERIAL, material);
    assert_status(PM_OK, pm_rate_get(world->library, "USD", "EUR", pm_day_of(world->time), &rate,
                                     &world->err));
    assert_int_equal(920000000, rate.rate);
    assert_status(PM_OK, pm_shelf_log_head(world->library, &entry, &world->err));
    assert_int_equal(1, entry);
}

static void check_smells(struct world *world)
{
    struct pm_panel_answers answers;
    struct pm_smells smells;
    assert_status(PM_OK, pm_smell_list(world->library, 2, 0, false, &smells, &world->err));
    assert_int_equal(1, smells.count);
    assert_string_equal("wet slate, then cold smoke", smells.items[0].note);
    pm_list_release(&smells);
    assert_status(PM_OK, pm_panel_answer_list(world->library, 1, &answers, &world->err));
    assert_int_equal(1, answers.count);
    assert_string_equal("417", answers.items[0].answer);
    pm_list_release(&answers);
}

static void check_weights(struct world *world, int step)
{
    struct pm_trial trial, woken;
    int64_t formula = 0;
    assert_status(PM_OK, pm_formula_by_name(world->library, "Weighed", &formula, &world->err));
    assert_status(PM_OK,
                  pm_trial_load(world->library, world_draft(world, formula), &trial, &world->err));
    assert_int_equal(PM_CORE_MODE, trial.mode);
    assert_int_equal(3, trial.lines[0].weight);
    assert_int_equal(1, trial.lines[1].weight);
    assert_int_equal(PM_RESTING, trial.lines[2].stance);
    assert_int_equal(0, trial.lines[2].parts);
    assert_true(trial.lines[2].rested > 12 * PM_PART);
    assert_false(pm_weight_equal(trial.lines[0].share, pm_line_plain_share(&trial.lines[0])));
    const struct pm_gesture wake = {.kind = PM_SET_STANCE, .line = 3, .stance = PM_FREE};
    assert_status(PM_OK, pm_gesture_apply(&wake, &trial, &woken, NULL, &world->err));
    assert_int_equal(trial.lines[2].rested, woken.lines[2].parts);
    assert_int_equal(trial.lines[3].parts, woken.lines[3].parts); /* the core gives way */
    pm_trial_release(&woken);
    if (step >= RESTED) {
        const struct pm_gesture back = {.kind = PM_SET_STANCE, .line = 4, .as_it_was = true};
        assert_status(PM_OK, pm_gesture_apply(&back, &trial, &woken, NULL, &world->err));
        assert_int_equal(PM_HELD, woken.lines[3].stance);
        assert_int_equal(trial.lines[3].rested, woken.lines[3].parts);
        pm_trial_release(&woken);
    }
    pm_trial_release(&trial);
}

static void check_scale(struct world *world)
{
    struct pm_batch_plan plan;
    struct pm_batch_lines lines;
    struct pm_batch_pours pours;
    struct pm_balance_rows balances;
    struct pm_filling_rows fillings;
    const int64_t batch = 2;
    assert_status(PM_OK, pm_balance_list(world->library, &balances, &world->err));
    assert_int_equal(balances.count, 1);
    assert_int_equal(balances.items[0].is.readability, 10000);
    pm_list_release(&balances);
    assert_status(PM_OK,
                  pm_batch_plan_get(world->library, batch, NULL, &plan, &lines, &world->err));
    assert_int_equal(lines.count, 1);
    assert_int_equal(lines.items[0].target, 20 * PM_GRAM);
    pm_list_release(&lines);
    assert_status(PM_OK, pm_batch_pour_list(world->library, batch, &pours, &world->err));
    assert_int_equal(pours.count, 2);
    assert_false(pours.items[0].in_force);
    assert_true(pours.items[1].in_force);
    pm_list_release(&pours);
    assert_status(PM_OK, pm_filling_list(world->library, &fillings, &world->err));
    assert_int_equal(fillings.items[0].filter_on, BOUGHT + 30);
    pm_list_release(&fillings);
}

/* Undo reaches back over the migration. */
static void check_undo(struct world *world)
{
    struct pm_bottle bottle;
    struct pm_arena arena = {0};
    char *sentence = NULL;
    struct pm_studio *studio = NULL;
    const struct pm_studio_options options = {.clock = &world->clock};
    assert_status(PM_OK, pm_studio_open(world->path, &options, &studio, &world->err));
    assert_status(PM_OK, pm_shelf_undo(studio, &sentence, &world->err));
    pm_studio_close(studio);
    assert_string_equal("New bottle of Slate absolute", sentence);
    free(sentence);
    assert_status(PM_OK, pm_bottle_get(world->library, 1, &arena, &bottle, &world->err));
    assert_int_equal(0, bottle.left);
    pm_arena_release(&arena);
}

/* Tables, indexes and triggers as the file describes them (free). */
static char *schema_of(const char *path)
{
    sqlite3 *db = NULL;
    sqlite3_stmt *statement = NULL;
    assert_int_equal(SQLITE_OK, sqlite3_open(path, &db));
    assert_int_equal(SQLITE_OK,
                     sqlite3_prepare_v2(db,
                                        "SELECT group_concat(sql, char(10)) FROM (SELECT sql FROM "
                                        "sqlite_schema WHERE sql IS NOT NULL ORDER BY type, name)",
                                        -1, &statement, NULL));
    assert_int_equal(SQLITE_ROW, sqlite3_step(statement));
    char *schema = strdup((const char *)sqlite3_column_text(statement, 0));
    sqlite3_finalize(statement);
    sqlite3_close(db);
    return schema;
}

/* Whichever step it began with, a library is then the same as a new one: no step that has shipped
 * was edited. */
static void check_schema(const struct world *world)
{
    struct world fresh = *world;
    world_path(world, "fresh.db", fresh.path);
    world_open(&fresh);
    world_close(&fresh);
    char *wanted = schema_of(fresh.path), *got = schema_of(world->path);
    assert_string_equal(got, wanted);
    free(wanted);
    free(got);
}

static void check_series(struct world *world)
{
    struct pm_series_trials trials;
    struct pm_ratings ratings;
    struct pm_calibration clock;
    int64_t id = 0;
    assert_status(PM_OK, pm_series_by_name(world->library, "slate, RISING", &id, &world->err));
    assert_int_equal(1, id);
    assert_status(PM_OK, pm_series_trials_list(world->library, id, &trials, &world->err));
    assert_int_equal(2, trials.count);
    assert_string_equal("3:2", trials.items[1].ratio);
    assert_int_equal(1, trials.items[1].panel);
    assert_int_equal(-1, trials.items[0].amount);
    pm_list_release(&trials);
    assert_status(PM_OK, pm_rating_list(world->library, id, &ratings, &world->err));
    assert_int_equal(1, ratings.count);
    assert_int_equal(7000000, ratings.items[0].value);
    pm_list_release(&ratings);
    assert_status(PM_OK, pm_calibration_newest(world->library, 2, &clock, &world->err));
    assert_int_equal(MATERIAL, clock.material);
    assert_int_equal(FIRST, clock.trial);
}

/* What `step` could hold is in the library at world->path. */
static void check_content(struct world *world, int step, bool shelf)
{
    world_open(world);
    world_verify(world);
    check_trials(world);
    if (shelf) {
        check_shelf(world);
        check_undo(world);
    }
    if (step >= 3)
        check_smells(world);
    if (step >= WEIGHTS)
        check_weights(world, step);
    if (step >= RULES)
        check_rules(world);
    if (step >= SERIES)
        check_series(world);
    if (step >= SCALE)
        check_scale(world);
    if (step >= CEILINGS)
        check_ceilings(world);
    if (step >= REMINDERS)
        check_reminders(world);
    world_verify(world);
    world_close(world);
    check_schema(world);
}

/* The library at world->path, made at `step`, after it was brought to the newest. */
static void check(struct world *world, int step, bool shelf)
{
    sqlite3 *db = world_raw(world);
    assert_int_equal(step, world_ask(db, "PRAGMA user_version"));
    sqlite3_close(db);
    check_content(world, step, shelf);
}

/* ---- the tests ---- */

static bool load_sample(struct world *world, int step)
{
    char name[32];
    snprintf(name, sizeof name, "sample-%d.db", step);
    world_path(world, name, world->path);
    return world_sample(world, step);
}

/* How many steps there are: migrations are numbered without gaps. */
static int newest_step(void)
{
    struct pm_store_options options;
    int count = 0;
    pm_store_defaults(&options);
    for (size_t i = 0; i < options.file_count; i++)
        count += strstr(options.files[i].name, ".sql") != NULL;
    return count;
}

/* What was brought up to date is salvaged whole, too: its rows are as long as they were before
 * columns were added. */
static void check_salvage(struct world *world, int step)
{
    unsigned char *data = NULL;
    bool whole = false;
    char name[32], into[128];
    const uint64_t content = world_content(world->path, &whole);
    const size_t length = world_load(world->path, &data);
    data[3] ^= 1; /* of the magic */
    world_save(world->path, data, length);
    snprintf(name, sizeof name, "salvaged-%d.db", step);
    assert_status(PM_OK, pm_library_salvage(world->path, world_path(world, name, into), NULL, NULL,
                                            NULL, &world->err));
    if (world_content(into, &whole) != content)
        fail_msg("the library of step %d is not salvaged whole", step);
    free(data);
}

static void libraries_kept_from_every_step_open(void **state)
{
    struct world *world = *state;
    int step = 1;
    for (; load_sample(world, step); step++) {
        check(world, step, step >= 2);
        check_salvage(world, step);
    }
    if (step <= newest_step())
        fail_msg("step %d has no sample in tests/store/samples", step);
}

struct person {
    long asked, stop_at;
    bool told; /* what is done */
};

static bool go_on(void *context, const char *doing, int64_t done, int64_t all)
{
    struct person *person = context;
    person->told = person->told || (doing != NULL && strstr(doing, "up to date") != NULL &&
                                    done >= 0 && done < all);
    return ++person->asked != person->stop_at;
}

static void only_the_library_is_there(const struct world *world, int step)
{
    char name[48], path[128];
    snprintf(name, sizeof name, "sample-%d.before-%d.db", step, step + 1);
    assert_int_equal(-1, access(world_path(world, name, path), F_OK));
    snprintf(name, sizeof name, "sample-%d.db-journal", step);
    assert_int_equal(-1, access(world_path(world, name, path), F_OK));
}

/* Whoever does not want to wait has the file as it was, byte for byte. */
static void bringing_it_up_to_date_can_be_given_up(void **state)
{
    struct world *world = *state;
    for (int step = 2; step < newest_step(); step += 3) {
        struct person person = {0};
        const struct pm_watch watch = {go_on, NULL, &person};
        unsigned char *before = NULL, *after = NULL;
        enum pm_status status = PM_STOPPED;
        assert_true(load_sample(world, step));
        const size_t length = world_load(world->path, &before);
        for (long k = 1; status == PM_STOPPED; k += 1 + k / 8) {
            person = (struct person){.stop_at = k};
            status = pm_library_open(world->path, 0, &world->clock, &watch, &world->library,
                                     &world->err);
            if (status != PM_STOPPED)
                break;
            assert_int_equal(length, world_load(world->path, &after));
            assert_memory_equal(before, after, length);
            free(after);
            only_the_library_is_there(world, step);
        }
        assert_status(PM_OK, status);
        assert_true(person.told);
        assert_true(person.asked > 10);
        world_verify(world);
        world_close(world);
        free(before);
    }
}

/* Makes a library at world->path that knows the first steps only. */
static void make(struct world *world, int step)
{
    struct pm_store_options options;
    struct pm_embedded files[FILES_MAX];
    size_t count = 0;
    pm_store_defaults(&options);
    for (size_t i = 0; i < options.file_count; i++) {
        const struct pm_embedded *file = &options.files[i];
        const bool later = strstr(file->name, ".sql") != NULL && atoi(file->name) > step;
        assert_true(count < FILES_MAX);
        if (!later)
            files[count++] = *file;
    }
    options.files = files;
    options.file_count = count;
    assert_status(PM_OK, pm_library_open_with(world->path, PM_LIBRARY_CREATE, &world->clock,
                                              &options, &world->library, &world->err));
    fill(world, step);
    world_verify(world);
    world_close(world);
}

/* Tables of earlier steps cannot be filled by this program any more: for them are the samples. */
static void libraries_made_with_the_first_steps_open(void **state)
{
    struct world *world = *state;
    for (int step = FILLED; step <= newest_step(); step++) {
        char name[32];
        snprintf(name, sizeof name, "made-%d.db", step);
        world_path(world, name, world->path);
        make(world, step);
        check(world, step, true);
    }
}

/* ---- days, batches, what was poured ---- */

static void in_zone(const char *zone)
{
    setenv("TZ", zone, 1);
    tzset();
}

/* The sample of step 5 with days as they were typed in Tokyo, in the row and in the history of it:
 * bought on 2026-03-02, opened on 1970-01-01; best before a day that began somewhere else; poured
 * for a trial; a plan that is done with. */
static void type_in_tokyo(struct world *world)
{
    sqlite3 *db = world_raw(world);
    assert_int_equal(SQLITE_OK, pm_checksum_register(db));
    sqlite3_db_config(db, SQLITE_DBCONFIG_ENABLE_TRIGGER, 0, (int *)NULL);
    assert_int_equal(
        SQLITE_OK,
        world_sql(
            db,
            "UPDATE bottle SET bought = 1772377200, opened = -32400, best_before = 1835568000;"
            "UPDATE bottle SET checksum = pm_checksum('bottle', id, material, strength, solvent, "
            "lot, supplier, bought, opened, best_before, place, tare, price, currency, "
            "priced_mass, note, made_from, set_aside, made_at);"
            "UPDATE shelf_entry SET change = json_set(change, '$[0][3]', json_set(change ->> "
            "'$[0][3]', '$[5]', 1772377200, '$[6]', -32400, '$[7]', 1835568000)) WHERE id = 1;"
            "UPDATE shelf_entry SET checksum = pm_checksum('shelf_entry', id, parent, target, at, "
            "gesture, sentence, change);"
            "UPDATE movement SET batch = 'Quarry after rain/2' WHERE kind = 'poured';"
            "UPDATE movement SET checksum = pm_checksum('movement', id, bottle, kind, mass, found, "
            "other, batch, note, corrects, at);"
            "UPDATE planned_batch SET done = 1, day = 1772377200;"
            "UPDATE planned_batch SET checksum = pm_checksum('planned_batch', id, trial, mass, "
            "day, note, done, made_at);"));
    sqlite3_close(db);
}

static void days_stay_the_days_they_were(void **state)
{
    struct world *world = *state;
    struct pm_bottle bottle;
    struct pm_batches batches;
    char day[PM_TIME_TEXT];
    struct pm_trial_counts weighed;
    assert_true(load_sample(world, DAYS - 1));
    type_in_tokyo(world);
    in_zone("Asia/Tokyo");
    world_open(world);
    in_zone("UTC");
    world_verify(world);
    assert_status(PM_OK, pm_bottle_get(world->library, 1, NULL, &bottle, &world->err));
    assert_string_equal("2026-03-02", pm_day_format(bottle.bought, day));
    assert_string_equal("1970-01-01", pm_day_format(bottle.opened, day));
    assert_string_equal("2028-03-02", pm_day_format(bottle.best_before, day));
    assert_status(PM_OK, pm_weighed_counts(world->library, 2, &weighed, &world->err));
    assert_int_equal(1, weighed.count);
    assert_int_equal(SECOND, weighed.items[0].trial);
    assert_int_equal(1, weighed.items[0].count);
    pm_list_release(&weighed);
    assert_status(PM_OK, pm_batch_list(world->library, false, &batches, &world->err));
    assert_int_equal(0, batches.count);
    pm_list_release(&batches);
    assert_status(PM_OK, pm_batch_list(world->library, true, &batches, &world->err));
    assert_int_equal(1, batches.count);
    assert_int_equal(PM_BATCH_FINISHED, batches.items[0].state);
    assert_string_equal("2026-03-02", pm_day_format(batches.items[0].day, day));
    pm_list_release(&batches);
    check_undo(world); /* the image in its history was converted with the row */
    world_close(world);
}

/* Names as another table of letters folded them, in every place where that is kept. */
static void spoil_folded_names(struct world *world)
{
    sqlite3 *db = world_raw(world);
    assert_int_equal(SQLITE_OK, pm_checksum_register(db));
    assert_int_equal(
        SQLITE_OK,
        world_sql(db,
                  "UPDATE material_name SET folded = 'old ' || folded, checksum = "
                  "pm_checksum('material_name', material, place, name, 'old ' || folded);"
                  "UPDATE formula SET folded = 'old ' || folded, checksum = pm_checksum('formula', "
                  "id, name, 'old ' || folded, accord, set_aside, made_at, changed_at, kept, "
                  "revisions, chain);"
                  "DELETE FROM material_search;"));
    sqlite3_close(db);
}

static void names_are_folded_again(void **state)
{
    struct world *world = *state;
    int64_t id = 0;
    assert_true(load_sample(world, FOLDED - 1));
    spoil_folded_names(world);
    world_open(world);
    world_verify(world);
    assert_status(PM_OK, pm_material_by_name(world->library, "SLATE absolute", &id, &world->err));
    assert_int_equal(MATERIAL, id);
    check_trials(world);
    world_close(world);
}

static void no_finding(void *context, const char *sentence)
{
    fail_msg("step %d: %s", *(int *)context, sentence);
}

/* What an old library held is taken from its pages by the tables of its own step, and then brought
 * up to date: nothing of it is lost or read by later rules. */
static void libraries_kept_from_every_step_are_salvaged_whole(void **state)
{
    struct world *world = *state;
    for (int step = 1; load_sample(world, step); step++) {
        struct world copy = *world;
        char name[32];
        snprintf(name, sizeof name, "salvaged-%d.db", step);
        world_path(world, name, copy.path);
        assert_status(PM_OK, pm_library_salvage(world->path, copy.path, NULL, no_finding, &step,
                                                &world->err));
        check_content(&copy, step, step >= 2);
    }
}

/* A core of 4:3 with a line at 25 %, as it stood before numbers were neat: 4:12 poured. */
static void cores_become_neat(void **state)
{
    struct world *world = *state;
    struct pm_trial trial;
    assert_true(load_sample(world, WEIGHTS - 1));
    pm_trial_init(&trial, 1000 * PM_PART, PM_OPEN);
    world_line(&trial, MATERIAL, 100 * PM_PART);
    world_line(&trial, MATERIAL + 1, 300 * PM_PART);
    trial.lines[1].strength = PM_NEAT / 4;
    trial.lines[1].solvent = SOLVENT;
    trial.lines[0].core = trial.lines[1].core = 1;
    trial.lines[0].weight = 1;
    trial.lines[1].weight = 3;
    char sql[2000];
    snprintf(
        sql, sizeof sql,
        "DELETE FROM line WHERE trial = (SELECT max(id) FROM trial);"
        "INSERT INTO line SELECT max(id), 1, 0, 1, NULL, 1000000000, NULL, 100000000, 'free', 1, "
        "1, NULL FROM trial;"
        "INSERT INTO line SELECT max(id), 2, 1, 2, NULL, 250000000, 4, 300000000, 'free', 1, 3, "
        "NULL FROM trial;"
        "UPDATE trial SET line_count = 2, total = 400000000, next_line = 3, content = %lld "
        "WHERE id = (SELECT max(id) FROM trial);"
        "UPDATE trial SET checksum = pm_checksum('trial', id, formula, number, parent, head, "
        "mode, base, settled, next_line, line_count, total, content, made_at, kept_at, note) "
        "WHERE id = (SELECT max(id) FROM trial);",
        (long long)pm_crc_lines(&trial));
    pm_trial_release(&trial);
    sqlite3 *db = world_raw(world);
    assert_int_equal(SQLITE_OK, pm_checksum_register(db));
    if (world_sql(db, sql) != SQLITE_OK)
        fail_msg("%s", sqlite3_errmsg(db));
    int64_t id = world_ask(db, "SELECT max(id) FROM trial");
    sqlite3_close(db);
    world_open(world);
    world_verify(world);
    assert_status(PM_OK, pm_trial_load(world->library, id, &trial, &world->err));
    assert_int_equal(4, trial.lines[0].weight);
    assert_int_equal(3, trial.lines[1].weight);
    assert_int_equal(100 * PM_PART, trial.lines[0].parts);
    assert_int_equal(300 * PM_PART, trial.lines[1].parts);
    pm_trial_release(&trial);
    world_close(world);
}

int main(int argc, char **argv)
{
    if (argc == 3) {
        struct world world;
        world_make(&world);
        snprintf(world.path, sizeof world.path, "%s", argv[2]);
        make(&world, atoi(argv[1]));
        world_remove(&world);
        return 0;
    }
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(libraries_kept_from_every_step_open, world_setup,
                                        world_teardown),
        cmocka_unit_test_setup_teardown(bringing_it_up_to_date_can_be_given_up, world_setup,
                                        world_teardown),
        cmocka_unit_test_setup_teardown(libraries_made_with_the_first_steps_open, world_setup,
                                        world_teardown),
        cmocka_unit_test_setup_teardown(days_stay_the_days_they_were, world_setup, world_teardown),
        cmocka_unit_test_setup_teardown(names_are_folded_again, world_setup, world_teardown),
        cmocka_unit_test_setup_teardown(libraries_kept_from_every_step_are_salvaged_whole,
                                        world_setup, world_teardown),
        cmocka_unit_test_setup_teardown(cores_become_neat, world_setup, world_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
