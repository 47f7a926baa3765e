/* SPDX-License-Identifier: MIT */
/*
 * Formulas, trials, the draft, and the tree of revisions.
 */
#include "tests/store/world.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

static void a_new_formula_has_an_empty_draft(void **state)
{
    struct world *world = *state;
    int64_t id = world_formula(world, "Quarry after rain");
    struct pm_arena arena = {0};
    struct pm_formula formula;
    struct pm_trial trial;
    assert_status(PM_OK, pm_formula_get(world->library, id, &arena, &formula, &world->err));
    assert_string_equal("Quarry after rain", formula.name);
    assert_int_equal(0, formula.kept);
    assert_int_equal(0, formula.lines);
    assert_int_equal(1000 * PM_PART, formula.base);
    assert_int_equal(world->time, formula.made_at);
    assert_int_equal(world->time, formula.changed_at);
    assert_status(PM_OK, pm_trial_load(world->library, formula.draft, &trial, &world->err));
    assert_int_equal(0, trial.count);
    assert_int_equal(PM_OPEN, trial.mode);
    assert_int_equal(1, trial.next_id);
    pm_trial_release(&trial);
    pm_arena_release(&arena);
    world_verify(world);
}

static void names_of_formulas_are_unique_when_folded(void **state)
{
    struct world *world = *state;
    int64_t id = world_formula(world, "Café noir");
    int64_t other = 0;
    assert_status(PM_EXISTS, pm_formula_insert(world->library, "CAFE Noir", false, PM_PART,
                                               PM_SHARE, &other, &world->err));
    assert_non_null(strstr(world->err.text, "Café noir"));
    assert_status(PM_INVALID, pm_formula_insert(world->library, "a/b", false, PM_PART, PM_SHARE,
                                                &other, &world->err));
    assert_status(PM_OK, pm_formula_by_name(world->library, "cafe noir", &other, &world->err));
    assert_int_equal(id, other);
    assert_status(PM_MISSING, pm_formula_by_name(world->library, "cafe", &other, &world->err));
    /* A formula may take its own name in another spelling. */
    assert_status(PM_OK,
                  pm_formula_update(world->library, id, "Cafe Noir", true, false, &world->err));
    other = world_formula(world, "Other");
    assert_status(PM_EXISTS,
                  pm_formula_update(world->library, other, "café noir", true, false, &world->err));
    assert_status(PM_MISSING, pm_formula_update(world->library, 99, "x", true, false, &world->err));
    world_verify(world);
}

/* Names that break programs: kept byte for byte, found again, listed. */
static void hostile_names_are_kept_as_they_are(void **state)
{
    struct world *world = *state;
    char long_name[201], wide[601] = "";
    memset(long_name, 'x', 200);
    long_name[200] = '\0';
    for (int i = 0; i < 200; i++)
        strcat(wide, "\xE6\xA3\xAE"); /* a wide character of three bytes */
    const char *const names[] = {
        "O'Brien's \"best\"; DROP TABLE formula; --",
        "%s%n%d",
        "\\back\\slash",
        "e\xCC\x81\xCC\x82\xCC\x83 three marks on one letter",
        "\xCC\x81", /* a mark alone: folds to nothing */
        "\xE6\xA3\xAE\xE3\x81\xAE\xE9\xA6\x99\xE3\x82\x8A",
        long_name,
        wide,
        "NULL",
        "?1",
        "\xF0\x9F\x8C\xB9\xE2\x80\x8D\xF0\x9F\x94\xA5",
    };
    for (size_t i = 0; i < sizeof names / sizeof names[0]; i++) {
        struct pm_arena arena = {0};
        struct pm_formula formula;
        int64_t found = 0;
        int64_t id = world_formula(world, names[i]);
        assert_status(PM_OK, pm_formula_by_name(world->library, names[i], &found, &world->err));
        assert_int_equal(id, found);
        assert_status(PM_OK, pm_formula_get(world->library, id, &arena, &formula, &world->err));
        assert_string_equal(names[i], formula.name);
        pm_arena_release(&arena);
        int64_t material = world_material(world, names[i], PM_CHEMICAL, NULL, NULL);
        assert_status(PM_OK, pm_material_by_name(world->library, names[i], &found, &world->err));
        assert_int_equal(material, found);
    }
    world_verify(world);
}

static void assert_listed(struct world *world, const char *text, bool aside, const char *wanted)
{
    struct pm_formulas list;
    char names[1024] = "";
    assert_status(PM_OK, pm_formula_list(world->library, text, aside, &list, &world->err));
    for (size_t i = 0; i < list.count; i++) {
        strcat(names, list.items[i].name);
        strcat(names, ";");
    }
    pm_list_release(&list);
    assert_string_equal(wanted, names);
}

static void formulas_are_listed_newest_change_first(void **state)
{
    struct world *world = *state;
    struct pm_trial trial;
    int64_t material = world_material(world, "Slate", PM_NATURAL, NULL, NULL);
    int64_t old = world_formula(world, "Old one");
    world->time += 10;
    world_formula(world, "Middle one");
    world->time += 10;
    int64_t aside = world_formula(world, "Out of sight");
    assert_status(
        PM_OK, pm_formula_update(world->library, aside, "Out of sight", false, true, &world->err));
    pm_trial_init(&trial, 1000 * PM_PART, PM_OPEN);
    world_line(&trial, material, 5);
    world_write(world, world_draft(world, old), &trial, "Added Slate at 0.000005");
    pm_trial_release(&trial);
    assert_listed(world, "", false, "Old one;Middle one;");
    assert_listed(world, "", true, "Old one;Out of sight;Middle one;");
    assert_listed(world, "ONE mid", true, "Middle one;");
}

/* One random edit of a trial in memory. */
static void edit(struct pm_trial *trial, const int64_t *materials)
{
    switch (rand() % 5) {
    case 0:
    case 1: {
        bool diluted = rand() % 2 != 0;
        char comment[] = "it's \xC3\xA9";
        struct pm_line line = {.kind = PM_LINE_MATERIAL,
                               .ref = materials[rand() % 4],
                               .strength = diluted ? 1 + rand() % 999999999 : PM_NEAT,
                               .solvent = diluted ? materials[4] : 0,
                               .parts = rand(),
                               .stance = rand() % 2 ? PM_HELD : PM_FREE,
                               .comment = rand() % 2 ? comment : NULL};
        assert_int_equal(PM_OK, pm_trial_insert(trial, (size_t)(rand() % 8), &line, NULL));
        break;
    }
    case 2:
        if (trial->count > 0)
            pm_trial_remove(trial, (size_t)rand() % trial->count);
        break;
    case 3:
        if (trial->count > 1) {
            struct pm_line moved = trial->lines[0];
            memmove(trial->lines, trial->lines + 1, (trial->count - 1) * sizeof moved);
            trial->lines[trial->count - 1] = moved;
        }
        break;
    default:
        trial->base = (1 + rand() % 2) * 100 * PM_PART;
        if (trial->count > 0)
            trial->lines[trial->count / 2].parts = rand();
        break;
    }
}

/* Every field of every line comes back, after every kind of change. */
static void a_draft_comes_back_as_it_was_written(void **state)
{
    struct world *world = *state;
    struct pm_trial trial, back;
    int64_t materials[5];
    for (int i = 0; i < 5; i++) {
        char name[32];
        snprintf(name, sizeof name, "Material %d", i);
        materials[i] = world_material(world, name, i == 4 ? PM_SOLVENT : PM_CHEMICAL, NULL, NULL);
    }
    int64_t draft = world_draft(world, world_formula(world, "Changing"));
    pm_trial_init(&trial, 1000 * PM_PART, PM_OPEN);
    srand(7);
    for (int round = 0; round < 60; round++) {
        edit(&trial, materials);
        world_write(world, draft, &trial, "Changed");
        assert_status(PM_OK, pm_trial_load(world->library, draft, &back, &world->err));
        assert_true(pm_trial_equal(&trial, &back));
        pm_trial_release(&back);
    }
    pm_trial_release(&trial);
    world_verify(world);
}

/* Counts the rows of table line that one gesture touches, by a trigger put in for the while. */
static void only_lines_that_differ_are_written(void **state)
{
    struct world *world = *state;
    struct pm_trial trial;
    int64_t material = world_material(world, "Slate", PM_NATURAL, NULL, NULL);
    int64_t draft = world_draft(world, world_formula(world, "Long"));
    sqlite3 *db = world_raw(world);
    pm_trial_init(&trial, 1000 * PM_PART, PM_OPEN);
    for (int i = 0; i < 200; i++)
        world_line(&trial, material, i);
    world_write(world, draft, &trial, "Added 200 lines");
    assert_int_equal(SQLITE_OK, world_sql(db, "CREATE TABLE seen (line INTEGER);"
                                              "CREATE TRIGGER watch AFTER UPDATE ON line BEGIN "
                                              "INSERT INTO seen VALUES (NEW.line); END"));
    trial.lines[100].parts = 12345;
    world_write(world, draft, &trial, "Set Slate");
    assert_int_equal(1, world_ask(db, "SELECT count(*) FROM seen"));
    assert_int_equal(101, world_ask(db, "SELECT line FROM seen"));
    assert_int_equal(SQLITE_OK, world_sql(db, "DROP TRIGGER watch; DROP TABLE seen"));
    sqlite3_close(db);
    pm_trial_release(&trial);
    world_verify(world);
}

/* A line that comes to hold another material, or another solvent: verify asks who has held what. */
static void what_a_changed_line_holds_is_noted(void **state)
{
    struct world *world = *state;
    struct pm_trial trial;
    const int64_t slate = world_material(world, "Slate", PM_NATURAL, NULL, NULL);
    const int64_t chalk = world_material(world, "Chalk", PM_NATURAL, NULL, NULL);
    const int64_t water = world_material(world, "Water", PM_SOLVENT, NULL, NULL);
    const int64_t draft = world_draft(world, world_formula(world, "Wall"));
    pm_trial_init(&trial, 1000 * PM_PART, PM_OPEN);
    world_line(&trial, slate, 1);
    world_write(world, draft, &trial, "Added Slate");
    trial.lines[0].ref = chalk;
    world_write(world, draft, &trial, "Chalk in its place");
    world_verify(world);
    trial.lines[0].strength = PM_NEAT / 10;
    trial.lines[0].solvent = water;
    world_write(world, draft, &trial, "Diluted it");
    pm_trial_release(&trial);
    world_verify(world);
}

static void a_stale_head_is_refused(void **state)
{
    struct world *world = *state;
    struct pm_trial trial, back;
    int64_t material = world_material(world, "Slate", PM_NATURAL, NULL, NULL);
    int64_t draft = world_draft(world, world_formula(world, "Contested"));
    int64_t revision = 0, number = 0;
    pm_trial_init(&trial, 1000 * PM_PART, PM_OPEN);
    world_line(&trial, material, 5);
    int64_t first = world_write(world, draft, &trial, "Added Slate");
    trial.lines[0].parts = 6;
    assert_status(PM_STALE, pm_draft_write(world->library, draft, 0, &trial, "set", "s", "c",
                                           &revision, &world->err));
    assert_status(PM_STALE, pm_draft_move_head(world->library, draft, 0, &trial, 0, "undo", first,
                                               "s", &world->err));
    assert_status(PM_STALE,
                  pm_draft_keep(world->library, draft, 0, NULL, "s", &number, &world->err));
    assert_status(PM_OK, pm_trial_load(world->library, draft, &back, &world->err));
    assert_int_equal(5, back.lines[0].parts);
    pm_trial_release(&back);
    assert_status(PM_OK,
                  pm_draft_keep(world->library, draft, first, NULL, "s", &number, &world->err));
    /* The row that was the draft is a kept trial now; whoever still works on it is stale too. */
    assert_status(PM_STALE, pm_draft_write(world->library, draft, first, &trial, "set", "s", "c",
                                           &revision, &world->err));
    pm_trial_release(&trial);
    world_verify(world);
}

/* "1:A;2-:B;", undone ones with a dash. */
static void assert_history(struct world *world, int64_t formula, const char *wanted)
{
    struct pm_revisions list;
    char text[1024] = "";
    assert_status(PM_OK, pm_revision_list(world->library, formula, 0, &list, &world->err));
    for (size_t i = 0; i < list.count; i++) {
        const struct pm_revision *revision = &list.items[i];
        char line[128];
        snprintf(line, sizeof line, "%lld%s:%s;", (long long)revision->number,
                 revision->undone ? "-" : "", revision->sentence);
        strcat(text, line);
        assert_null(revision->change);
    }
    pm_list_release(&list);
    assert_string_equal(wanted, text);
}

static int64_t newest_child(struct world *world, int64_t formula, int64_t parent)
{
    int64_t child = -1;
    assert_status(PM_OK,
                  pm_revision_newest_child(world->library, formula, parent, &child, &world->err));
    return child;
}

/* A, B, undo B, C: B's branch is undone, redo goes to the newest gesture. */
static void undo_and_redo_walk_the_tree(void **state)
{
    struct world *world = *state;
    struct pm_trial empty, one, two;
    int64_t material = world_material(world, "Slate", PM_NATURAL, NULL, NULL);
    int64_t formula = world_formula(world, "Tree");
    int64_t draft = world_draft(world, formula);
    pm_trial_init(&empty, 1000 * PM_PART, PM_OPEN);
    pm_trial_init(&one, 1000 * PM_PART, PM_OPEN);
    world_line(&one, material, 1);
    assert_int_equal(PM_OK, pm_trial_copy(&one, &two, NULL));
    two.lines[0].parts = 2;

    int64_t a = world_write(world, draft, &one, "A");
    int64_t b = world_write(world, draft, &two, "B");
    assert_status(PM_OK, pm_draft_move_head(world->library, draft, b, &one, a, "undo", b, "Undid B",
                                            &world->err));
    assert_int_equal(b, newest_child(world, formula, a));
    int64_t c = world_write(world, draft, &two, "C");
    assert_status(PM_OK, pm_draft_move_head(world->library, draft, c, &one, a, "undo", c, "Undid C",
                                            &world->err));
    assert_int_equal(c, newest_child(world, formula, a));
    assert_status(PM_OK, pm_draft_move_head(world->library, draft, a, &empty, 0, "undo", a,
                                            "Undid A", &world->err));
    assert_int_equal(0, world_head(world, draft));
    assert_int_equal(a, newest_child(world, formula, 0));

    /* All of it is there after a restart. */
    world_close(world);
    world_open(world);
    assert_int_equal(0, world_head(world, draft));
    assert_status(PM_OK, pm_draft_move_head(world->library, draft, 0, &one, a, "redo", a, "Redid A",
                                            &world->err));
    assert_status(PM_OK, pm_draft_move_head(world->library, draft, a, &two, c, "redo", c, "Redid C",
                                            &world->err));
    assert_int_equal(0, newest_child(world, formula, c));
    assert_history(world, formula,
                   "1:A;2-:B;3:Undid B;4:C;5:Undid C;6:Undid A;7:Redid A;8:Redid C;");

    struct pm_arena arena = {0};
    struct pm_revision revision;
    assert_status(PM_OK, pm_revision_get(world->library, b, &arena, &revision, &world->err));
    assert_true(revision.undone);
    assert_int_equal(a, revision.parent);
    assert_string_equal("change 1\n", revision.change);
    assert_string_equal("set", revision.gesture);
    assert_int_equal(draft, revision.trial);
    assert_status(PM_OK, pm_revision_get(world->library, a, NULL, &revision, &world->err));
    assert_false(revision.undone);
    assert_null(revision.sentence);
    assert_status(PM_MISSING, pm_revision_get(world->library, 99, &arena, &revision, &world->err));
    pm_arena_release(&arena);
    pm_trial_release(&empty);
    pm_trial_release(&one);
    pm_trial_release(&two);
    world_verify(world);
}

static void keeping_seals_the_draft_and_starts_the_next(void **state)
{
    struct world *world = *state;
    int64_t formula = world_fill(world);
    struct pm_trial kept, draft;
    struct pm_trial_row row;
    int64_t id = 0, second = 0;
    assert_status(PM_OK, pm_trial_by_number(world->library, formula, 2, &second, &world->err));
    assert_status(PM_OK, pm_trial_load(world->library, second, &kept, &world->err));
    assert_status(PM_OK,
                  pm_trial_load(world->library, world_draft(world, formula), &draft, &world->err));
    /* The same but for where it comes from. */
    assert_int_equal(second, draft.parent);
    draft.parent = kept.parent;
    assert_true(pm_trial_equal(&kept, &draft));
    assert_int_equal(3, kept.count);
    assert_int_equal(PM_LINE_ACCORD, kept.lines[0].kind);
    assert_string_equal("a trace, \"quoted\"", kept.lines[2].comment);
    pm_trial_release(&kept);
    pm_trial_release(&draft);

    struct pm_arena arena = {0};
    assert_status(PM_OK, pm_trial_row_get(world->library, second, &arena, &row, &world->err));
    assert_int_equal(2, row.number);
    assert_string_equal("Second", row.note);
    assert_null(row.label);
    assert_int_equal(3, row.lines);
    assert_int_equal(314 * PM_PART + 1, row.total);
    assert_int_equal(world_head(world, world_draft(world, formula)), row.head);
    pm_arena_release(&arena);
    assert_status(PM_MISSING, pm_trial_by_number(world->library, formula, 3, &id, &world->err));
    world_verify(world);
}

static void the_newest_label_counts(void **state)
{
    struct world *world = *state;
    int64_t formula = world_fill(world);
    int64_t second = 0;
    struct pm_arena arena = {0};
    struct pm_trial_row row;
    assert_status(PM_OK, pm_trial_by_number(world->library, formula, 2, &second, &world->err));
    assert_status(PM_OK, pm_trial_mark(world->library, second, "keeper", true, &world->err));
    assert_status(PM_OK, pm_trial_mark(world->library, second, "the keeper", false, &world->err));
    struct pm_trial_rows rows;
    assert_status(PM_OK, pm_trial_list(world->library, formula, &rows, &world->err));
    assert_int_equal(2, rows.count);
    assert_string_equal("the keeper", rows.items[1].label);
    assert_string_equal("Second", rows.items[1].note);
    assert_false(rows.items[1].set_aside);
    pm_list_release(&rows);
    assert_status(PM_OK, pm_trial_mark(world->library, second, NULL, true, &world->err));
    assert_status(PM_OK, pm_trial_row_get(world->library, second, &arena, &row, &world->err));
    assert_null(row.label);
    assert_true(row.set_aside);
    pm_arena_release(&arena);
    assert_status(PM_REFUSED, pm_trial_mark(world->library, world_draft(world, formula), "x", false,
                                            &world->err));
    world_verify(world);
}

/* A draft cannot name a draft, a material that is not there, or break the rules of a trial. */
static void impossible_content_is_refused(void **state)
{
    struct world *world = *state;
    struct pm_trial trial;
    int64_t material = world_material(world, "Slate", PM_NATURAL, NULL, NULL);
    int64_t draft = world_draft(world, world_formula(world, "Strict"));
    int64_t revision = 0;
    pm_trial_init(&trial, 1000 * PM_PART, PM_OPEN);
    world_line(&trial, material + 1, 5);
    assert_status(PM_MISSING, pm_draft_write(world->library, draft, 0, &trial, "set", "s", "c",
                                             &revision, &world->err));
    trial.lines[0].kind = PM_LINE_ACCORD;
    trial.lines[0].ref = world_draft(world, world_formula(world, "Unkept"));
    assert_status(PM_REFUSED, pm_draft_write(world->library, draft, 0, &trial, "set", "s", "c",
                                             &revision, &world->err));
    trial.lines[0].kind = PM_LINE_MATERIAL;
    trial.lines[0].ref = material;
    trial.lines[0].parts = -1;
    assert_status(PM_DAMAGED, pm_draft_write(world->library, draft, 0, &trial, "set", "s", "c",
                                             &revision, &world->err));
    pm_trial_release(&trial);
    assert_int_equal(0, world_head(world, draft));
    world_verify(world);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_new_formula_has_an_empty_draft, world_setup_open,
                                        world_teardown),
        cmocka_unit_test_setup_teardown(names_of_formulas_are_unique_when_folded, world_setup_open,
                                        world_teardown),
        cmocka_unit_test_setup_teardown(hostile_names_are_kept_as_they_are, world_setup_open,
                                        world_teardown),
        cmocka_unit_test_setup_teardown(formulas_are_listed_newest_change_first, world_setup_open,
                                        world_teardown),
        cmocka_unit_test_setup_teardown(a_draft_comes_back_as_it_was_written, world_setup_open,
                                        world_teardown),
        cmocka_unit_test_setup_teardown(what_a_changed_line_holds_is_noted, world_setup_open,
                                        world_teardown),
        cmocka_unit_test_setup_teardown(only_lines_that_differ_are_written, world_setup_open,
                                        world_teardown),
        cmocka_unit_test_setup_teardown(a_stale_head_is_refused, world_setup_open, world_teardown),
        cmocka_unit_test_setup_teardown(undo_and_redo_walk_the_tree, world_setup_open,
                                        world_teardown),
        cmocka_unit_test_setup_teardown(keeping_seals_the_draft_and_starts_the_next,
                                        world_setup_open, world_teardown),
        cmocka_unit_test_setup_teardown(the_newest_label_counts, world_setup_open, world_teardown),
        cmocka_unit_test_setup_teardown(impossible_content_is_refused, world_setup_open,
                                        world_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
