/* SPDX-License-Identifier: MIT */
/*
 * Materials: names, references, search.
 */
#include "tests/store/world.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>
#include <time.h>

#include <cmocka.h>

static void a_material_comes_back_as_it_was_given(void **state)
{
    struct world *world = *state;
    const char *synonyms[] = {(char[]){"Second"}, (char[]){"Troisième"}};
    char name[] = "Première", cas[] = "106-22-9", family[] = "mossy", note[] = "two\nlines";
    struct pm_material in = {.name = name,
                             .kind = PM_NATURAL,
                             .cas = cas,
                             .family = family,
                             .note = note,
                             .synonyms = synonyms,
                             .synonym_count = 2};
    struct pm_material out;
    assert_status(PM_OK, pm_material_insert(world->library, &in, &world->err));
    assert_int_equal(world->time, in.made_at);
    world_close(world);
    world_open(world);
    assert_status(PM_OK, pm_material_get(world->library, in.id, &out, &world->err));
    assert_string_equal("Première", out.name);
    assert_string_equal("106-22-9", out.cas);
    assert_string_equal("mossy", out.family);
    assert_string_equal("two\nlines", out.note);
    assert_int_equal(2, out.synonym_count);
    assert_string_equal("Troisième", out.synonyms[1]);
    assert_int_equal(PM_NATURAL, out.kind);
    assert_false(out.set_aside);

    /* Fewer synonyms, a name that was one before: names are replaced as a whole. */
    out.synonym_count = 1;
    out.name = out.synonyms[1];
    out.kind = PM_BLEND;
    assert_status(PM_OK, pm_material_update(world->library, &out, &world->err));
    pm_material_release(&out);
    assert_status(PM_OK, pm_material_get(world->library, in.id, &out, &world->err));
    assert_string_equal("Troisième", out.name);
    assert_int_equal(1, out.synonym_count);
    assert_int_equal(PM_BLEND, out.kind);
    out.id = 77;
    assert_status(PM_MISSING, pm_material_update(world->library, &out, &world->err));
    pm_material_release(&out);
    assert_status(PM_MISSING, pm_material_get(world->library, 77, &out, &world->err));
    world_verify(world);
}

static void names_are_unique_among_names_and_synonyms(void **state)
{
    struct world *world = *state;
    int64_t first = world_material(world, "Slate absolute", PM_NATURAL, NULL, "Black slate", NULL);
    char name[] = "BLACK  Slåte", free_name[] = "Free", twice[] = "free";
    const char *synonyms[] = {twice};
    struct pm_material other = {.name = name, .kind = PM_CHEMICAL};
    int64_t found = 0;
    assert_status(PM_EXISTS, pm_material_insert(world->library, &other, &world->err));
    assert_non_null(strstr(world->err.text, "Slate absolute"));
    other.name = free_name;
    other.synonyms = synonyms;
    other.synonym_count = 1;
    assert_status(PM_EXISTS, pm_material_insert(world->library, &other, &world->err));
    assert_int_equal(0, other.id);
    assert_status(PM_OK, pm_material_by_name(world->library, "black slate", &found, &world->err));
    assert_int_equal(first, found);
    assert_status(PM_MISSING, pm_material_by_name(world->library, "free", &found, &world->err));
    world_verify(world);
}

static void a_material_is_found_by_cas_and_through_merges(void **state)
{
    struct world *world = *state;
    int64_t a = world_material(world, "Fern acetate", PM_CHEMICAL, "106-22-9", NULL);
    int64_t b = world_material(world, "Moss aldehyde", PM_CHEMICAL, "64-17-5", NULL);
    int64_t c = world_material(world, "Bog aldehyde", PM_CHEMICAL, "64-17-5", NULL);
    int64_t found = 0;
    struct pm_material material;
    assert_status(PM_OK, pm_material_by_name(world->library, "106-22-9", &found, &world->err));
    assert_int_equal(a, found);
    assert_status(PM_REFUSED, pm_material_by_name(world->library, "64-17-5", &found, &world->err));
    assert_non_null(strstr(world->err.text, "\"Bog aldehyde\", \"Moss aldehyde\""));
    assert_status(PM_OK, pm_material_get(world->library, c, &material, &world->err));
    material.merged_into = b;
    assert_status(PM_OK, pm_material_update(world->library, &material, &world->err));
    pm_material_release(&material);
    assert_status(PM_OK, pm_material_by_name(world->library, "bog ALDEHYDE", &found, &world->err));
    assert_int_equal(b, found);
    assert_status(PM_OK, pm_material_by_name(world->library, "64-17-5", &found, &world->err));
    assert_int_equal(b, found);
    assert_status(PM_REFUSED, pm_material_delete(world->library, b, &world->err));
    assert_non_null(strstr(world->err.text, "Bog aldehyde"));
    world_verify(world);
}

static void what_was_ever_used_is_not_removed(void **state)
{
    struct world *world = *state;
    struct pm_trial trial;
    int64_t used = world_material(world, "Slate", PM_NATURAL, NULL, NULL);
    int64_t unused = world_material(world, "Chalk", PM_NATURAL, NULL, "Writing chalk", NULL);
    int64_t draft = world_draft(world, world_formula(world, "Quarry after rain"));
    pm_trial_init(&trial, 1000 * PM_PART, PM_OPEN);
    world_line(&trial, used, 5);
    world_write(world, draft, &trial, "Added Slate");
    pm_trial_remove(&trial, 0);
    world_write(world, draft, &trial, "Dropped Slate");
    pm_trial_release(&trial);
    /* It is in no line any more, but undo would bring it back. */
    assert_status(PM_REFUSED, pm_material_delete(world->library, used, &world->err));
    assert_non_null(strstr(world->err.text, "Quarry after rain"));
    assert_status(PM_OK, pm_material_delete(world->library, unused, &world->err));
    assert_status(PM_MISSING, pm_material_delete(world->library, unused, &world->err));
    world_material(world, "Writing chalk", PM_NATURAL, NULL, NULL); /* the name is free again */
    world_verify(world);
}

/* ---- many in one change ---- */

static int64_t add_note(struct world *world, int number)
{
    char name[64];
    struct pm_material row = {.name = name, .kind = PM_CHEMICAL};
    snprintf(name, sizeof name, "Note %d", number);
    assert_status(PM_OK, pm_material_insert(world->library, &row, &world->err));
    return row.id;
}

/* Two rows for each, and the search's blocks once: not once for each of their materials. */
static void many_materials_write_the_search_once(void **state)
{
    enum { MANY = 3200, BLOCKS = 101 };
    struct world *world = *state;
    const int before = sqlite3_total_changes(world->library->db);
    assert_status(PM_OK, pm_library_begin(world->library, &world->err));
    for (int i = 0; i < MANY; i++)
        add_note(world, i);
    assert_status(PM_OK, pm_library_commit(world->library, &world->err));
    assert_in_range(sqlite3_total_changes(world->library->db) - before, 2 * MANY + BLOCKS,
                    2 * MANY + BLOCKS + 2);
    world_verify(world);
}

/* ---- search ---- */

struct hits {
    char text[2048];
    int count;
};

static void note_hit(struct hits *hits, const struct pm_material_entry *hit)
{
    char line[512];
    snprintf(line, sizeof line, "%s%s%s;", hit->name, hit->matched == NULL ? "" : "=",
             hit->matched == NULL ? "" : hit->matched);
    strncat(hits->text, line, sizeof hits->text - strlen(hits->text) - 1);
    hits->count++;
}

static void search(struct world *world, const char *text, size_t limit, bool aside,
                   struct hits *hits)
{
    struct pm_material_entries found;
    *hits = (struct hits){"", 0};
    assert_status(
        PM_OK, pm_material_search(world->library, text, limit, aside, NULL, &found, &world->err));
    for (size_t i = 0; i < found.count; i++)
        note_hit(hits, &found.items[i]);
    pm_list_release(&found);
}

static void assert_found(struct world *world, const char *text, size_t limit, bool aside,
                         const char *wanted)
{
    struct hits hits;
    search(world, text, limit, aside, &hits);
    assert_string_equal(wanted, hits.text);
}

/* What a change has written so far is found within it, and no longer once it is given up, be it as
 * a step of a change that goes on. */
static void search_follows_a_change(void **state)
{
    struct world *world = *state;
    add_note(world, 1);
    assert_status(PM_OK, pm_library_begin(world->library, &world->err));
    add_note(world, 2);
    assert_status(PM_OK, pm_library_begin(world->library, &world->err));
    add_note(world, 3);
    assert_found(world, "ote", 10, false, "Note 1;Note 2;Note 3;");
    pm_library_abort(world->library);
    assert_found(world, "ote", 10, false, "Note 1;Note 2;");
    assert_status(PM_OK, pm_library_begin(world->library, &world->err));
    assert_found(world, "ote", 10, false, "Note 1;Note 2;");
    pm_library_abort(world->library);
    assert_status(PM_OK, pm_library_commit(world->library, &world->err));
    world_verify(world);
    assert_status(PM_OK, pm_library_begin(world->library, &world->err));
    add_note(world, 4);
    assert_found(world, "ote", 10, false, "Note 1;Note 2;Note 4;");
    pm_library_abort(world->library);
    assert_found(world, "ote", 10, false, "Note 1;Note 2;");
    world_verify(world);
}

static void give_up_a_step(struct world *world)
{
    assert_status(PM_OK, pm_library_begin(world->library, &world->err));
    add_note(world, 6);
    pm_library_abort(world->library);
}

/* A change of which no part is given up alone is saved as a whole or not at all. */
static void a_whole_change_is_saved_or_given_up_as_one(void **state)
{
    struct world *world = *state;
    assert_status(PM_OK, pm_library_begin_whole(world->library, &world->err));
    add_note(world, 5);
    give_up_a_step(world);
    assert_status(PM_REFUSED, pm_library_commit(world->library, &world->err));
    assert_found(world, "", 10, false, "");

    /* As a step of a change it takes only itself back. */
    assert_status(PM_OK, pm_library_begin(world->library, &world->err));
    add_note(world, 1);
    assert_status(PM_OK, pm_library_begin_whole(world->library, &world->err));
    add_note(world, 5);
    give_up_a_step(world);
    assert_status(PM_REFUSED, pm_library_commit(world->library, &world->err));
    give_up_a_step(world);
    assert_status(PM_OK, pm_library_begin_whole(world->library, &world->err));
    add_note(world, 7);
    assert_status(PM_OK, pm_library_commit(world->library, &world->err));
    assert_status(PM_OK, pm_library_commit(world->library, &world->err));
    assert_found(world, "", 10, false, "Note 1;Note 7;");
    world_verify(world);
}

/* A name that is taken is answered, not a reason to give the change up. */
static void a_taken_name_leaves_the_change_as_it_was(void **state)
{
    struct world *world = *state;
    char name[] = "Fresh";
    const char *const synonyms[] = {"Fresher", "NOTE 5"};
    struct pm_material row = {
        .name = name, .kind = PM_CHEMICAL, .synonyms = synonyms, .synonym_count = 2};
    assert_status(PM_OK, pm_library_begin_whole(world->library, &world->err));
    add_note(world, 5);
    assert_status(PM_EXISTS, pm_material_insert(world->library, &row, &world->err));
    assert_string_equal("There is a material \"Note 5\" already.", world->err.text);
    const int64_t last = add_note(world, 6);
    /* A row that came another way has the number that would be next. */
    char sql[600];
    snprintf(sql, sizeof sql,
             "INSERT INTO material (id, kind, cas, family, note, set_aside, merged_into, made_at, "
             "checksum) SELECT %lld, kind, cas, family, note, set_aside, merged_into, made_at, "
             "pm_checksum('material', %lld, kind, cas, family, note, set_aside, merged_into, "
             "made_at) FROM material WHERE id = %lld;"
             "INSERT INTO material_name VALUES (%lld, 0, 'Note 7', 'note 7', "
             "pm_checksum('material_name', %lld, 0, 'Note 7', 'note 7'))",
             (long long)last + 1, (long long)last + 1, (long long)last, (long long)last + 1,
             (long long)last + 1);
    assert_int_equal(SQLITE_OK, sqlite3_exec(world->library->db, sql, NULL, NULL, NULL));
    assert_int_equal(last + 2, add_note(world, 8));
    assert_status(PM_OK, pm_library_commit(world->library, &world->err));
    assert_found(world, "", 10, false, "Note 5;Note 6;Note 7;Note 8;");
    assert_found(world, "fresh", 10, false, "");
    world_verify(world);
}

static void search_ranks_names_then_words_then_the_rest(void **state)
{
    struct world *world = *state;
    struct pm_material material;
    world_material(world, "Wild rose ketone", PM_CHEMICAL, NULL, NULL);
    world_material(world, "Primrose base", PM_BLEND, NULL, NULL);
    world_material(world, "Rosé stone", PM_NATURAL, NULL, NULL);
    world_material(world, "Alba oxide", PM_CHEMICAL, "106-22-9", "Rose oxide", "Oxide of rose",
                   NULL);
    int64_t aside = world_material(world, "Rosewater", PM_SOLVENT, NULL, NULL);
    assert_status(PM_OK, pm_material_get(world->library, aside, &material, &world->err));
    material.set_aside = true;
    assert_status(PM_OK, pm_material_update(world->library, &material, &world->err));
    pm_material_release(&material);

    assert_found(world, "rose", 10, false,
                 "Rosé stone;Alba oxide=Rose oxide;Wild rose ketone;Primrose base;");
    assert_found(world, "ROSE ", 10, true,
                 "Rosé stone;Rosewater;Alba oxide=Rose oxide;Wild rose ketone;Primrose base;");
    assert_found(world, "rose", 2, false, "Rosé stone;Alba oxide=Rose oxide;");
    assert_found(world, "rose ox", 10, false, "Alba oxide=Rose oxide;");
    assert_found(world, "ox rose", 10, false, "Alba oxide=Rose oxide;");
    assert_found(world, "6-22", 10, false, "Alba oxide=106-22-9;");
    assert_found(world, "alba 106", 10, false, "Alba oxide=106-22-9;");
    assert_found(world, "r", 10, false,
                 "Rosé stone;Alba oxide=Rose oxide;Wild rose ketone;Primrose base;");
    assert_found(world, "zq", 10, false, "");
    assert_found(world, "rose%", 10, false, "");
    assert_found(world, "", 10, false, "Alba oxide;Primrose base;Rosé stone;Wild rose ketone;");
    assert_found(world, "  ", 2, false, "Alba oxide;Primrose base;");
    assert_found(world, "rose", 0, false, "");
    world_verify(world);
}

/* ---- a large shelf ---- */

enum { LARGE = 100000 };

static const char *const heads[] = {"Ald",  "Benz", "Cin", "Dec",  "Eth",  "Fur", "Ger",
                                    "Hex",  "Iso",  "Jas", "Lin",  "Meth", "Non", "Oct",
                                    "Pent", "Quin", "Ros", "Sant", "Terp", "Van"};
static const char *const middles[] = {"yl", "an", "en", "in", "ol", "ax", "om", "ur"};
static const char *const ends[] = {"acetate",  "aldehyde", "ketone",  "lactone", "oxide",
                                   "absolute", "oil",      "alcohol", "base",    "benzoate"};

/* One transaction for all, as an import would. */
static void fill_large(struct world *world)
{
    assert_status(PM_OK, pm_library_begin(world->library, &world->err));
    for (int i = 0; i < LARGE; i++) {
        char name[64], first[64], second[64], cas[32];
        unsigned mixed = (unsigned)i * 2654435761u;
        snprintf(name, sizeof name, "%s%s %s %d", heads[mixed % 20], middles[mixed / 20 % 8],
                 ends[mixed / 160 % 10], i);
        snprintf(first, sizeof first, "%d-%s%s-%s", i, middles[mixed / 7 % 8],
                 heads[mixed / 9 % 20], ends[mixed / 11 % 10]);
        snprintf(second, sizeof second, "No. %d of the %s row", i, ends[mixed / 13 % 10]);
        snprintf(cas, sizeof cas, "%d-%02d-%d", 50 + i, i % 100, i % 10);
        world_material(world, name, PM_CHEMICAL, cas, first, second, NULL);
    }
    assert_status(PM_OK, pm_library_commit(world->library, &world->err));
}

static double now_ms(void)
{
    struct timespec time;
    clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec * 1e3 + (double)time.tv_nsec / 1e6;
}

/* What a keystroke costs on a large shelf; printed, because clocks of test machines prove nothing.
 * What is asserted: the hits are right. */
static void a_large_shelf_is_searched_while_typing(void **state)
{
    struct world *world = *state;
    static const char *const texts[] = {"",        "a",       "e",        "zq",  "al",
                                        "acetate", "ros ald", "9999",     "row", "lactone",
                                        "zzzzz",   "o o o o", "99999-yl", "-",   "vanax oil 7"};
    double start = now_ms();
    fill_large(world);
    print_message("100,000 materials added in %.0f ms\n", now_ms() - start);
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++) {
        double best = 1e9, first = 0;
        struct hits hits = {"", 0};
        for (int round = 0; round < 5; round++) {
            start = now_ms();
            search(world, texts[i], 200, false, &hits);
            double took = now_ms() - start;
            first = round == 0 ? took : first;
            best = took < best ? took : best;
        }
        print_message("  %-12s %3d hits  first %6.2f ms  best %6.2f ms\n", texts[i], hits.count,
                      first, best);
    }
    struct hits hits = {"", 0};
    /* Its synonym, and another's CAS number. */
    search(world, "no. 54321 of", 5, false, &hits);
    assert_int_equal(2, hits.count);
    search(world, "zq", 5, false, &hits);
    assert_int_equal(0, hits.count);
    start = now_ms();
    world_material(world, "One more", PM_CHEMICAL, NULL, NULL);
    print_message("one more material added in %.2f ms\n", now_ms() - start);
}

/* Out of sight and back; nothing else of it changes, and its checksum follows. */
static void a_material_is_set_aside_and_comes_back(void **state)
{
    struct world *world = *state;
    struct pm_material before, after;
    const int64_t id = world_material(world, "Heather", PM_NATURAL, "8002-09-3", "Ling", NULL);
    assert_status(PM_OK, pm_material_get(world->library, id, &before, &world->err));
    for (int aside = 1; aside >= 0; aside--) {
        assert_status(PM_OK, pm_material_set_aside(world->library, id, aside == 1, &world->err));
        assert_status(PM_OK, pm_material_get(world->library, id, &after, &world->err));
        assert_int_equal(after.set_aside, aside == 1);
        assert_string_equal(after.name, before.name);
        assert_string_equal(after.cas, before.cas);
        assert_string_equal(after.synonyms[0], before.synonyms[0]);
        pm_material_release(&after);
        world_verify(world);
    }
    pm_material_release(&before);
    assert_status(PM_MISSING, pm_material_set_aside(world->library, 9999, true, &world->err));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test_setup_teardown(a_material_comes_back_as_it_was_given, world_setup_open,
                                        world_teardown),
        cmocka_unit_test_setup_teardown(names_are_unique_among_names_and_synonyms, world_setup_open,
                                        world_teardown),
        cmocka_unit_test_setup_teardown(a_material_is_found_by_cas_and_through_merges,
                                        world_setup_open, world_teardown),
        cmocka_unit_test_setup_teardown(what_was_ever_used_is_not_removed, world_setup_open,
                                        world_teardown),
        cmocka_unit_test_setup_teardown(a_material_is_set_aside_and_comes_back, world_setup_open,
                                        world_teardown),
        cmocka_unit_test_setup_teardown(many_materials_write_the_search_once, world_setup_open,
                                        world_teardown),
        cmocka_unit_test_setup_teardown(search_follows_a_change, world_setup_open, world_teardown),
        cmocka_unit_test_setup_teardown(a_whole_change_is_saved_or_given_up_as_one,
                                        world_setup_open, world_teardown),
        cmocka_unit_test_setup_teardown(a_taken_name_leaves_the_change_as_it_was, world_setup_open,
                                        world_teardown),
        cmocka_unit_test_setup_teardown(search_ranks_names_then_words_then_the_rest,
                                        world_setup_open, world_teardown),
        cmocka_unit_test_setup_teardown(a_large_shelf_is_searched_while_typing, world_setup_open,
                                        world_teardown),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
