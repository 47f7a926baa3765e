/* SPDX-License-Identifier: MIT */
/* The demo library is made from its sources, every line of its story accepted; what comes out is
 * what demo-db/README.md promises. */
#include "permille/base/mem.h"
#include "permille/base/text.h"
#include "permille/base/utf8.h"
#include "permille/studio/bench.h"
#include "permille/studio/shelf.h"
#include "permille/studio/stock.h"
#include "permille/studio/studio.h"
#include "permille/studio/trials.h"

#include <setjmp.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <cmocka.h>

#define MATERIALS 122
#define FORMULAS  8
#define ACCORDS   5
#define BOTTLES   167 /* 160 as received, 4 bought and 3 made in autumn */

struct demo {
    char *path; /* of the library */
    struct pm_studio *studio;
};

/* ---- making ---- */

/* A path in this program's own folder, freed by the caller. */
static char *place(const char *name)
{
    struct pm_text path = PM_TEXT_EMPTY;
    const char *folder = getenv("TMPDIR");
    pm_text_addf(&path, "%s/%s", folder != NULL ? folder : "/tmp", name);
    return pm_text_take(&path);
}

/* Runs make-demo, which lies beside the program under test. What it says goes into `said`. */
static int make_demo(const char *sources, const char *library, struct pm_text *said)
{
    struct pm_text command = PM_TEXT_EMPTY;
    const char *program = getenv("PERMILLE_PROGRAM");
    char block[512];

    assert_non_null(program);
    const char *slash = strrchr(program, '/');
    assert_non_null(slash);
    pm_text_addf(&command, "'%.*s/make-demo' '%s' '%s' 2>&1", (int)(slash - program), program,
                 sources, library);
    FILE *pipe = popen(pm_text_get(&command), "r");
    assert_non_null(pipe);
    while (fgets(block, sizeof block, pipe) != NULL)
        pm_text_add(said, block);
    const int status = pclose(pipe);
    pm_text_release(&command);
    assert_true(WIFEXITED(status));
    return WEXITSTATUS(status);
}

static int set_up(void **state)
{
    static struct demo demo;
    const struct pm_studio_options options = {.read_only = true};
    struct pm_text said = PM_TEXT_EMPTY;

    *state = &demo;
    demo.path = place("demo.db");
    const int outcome = make_demo("demo-db", demo.path, &said);
    if (outcome != 0)
        print_error("%s", pm_text_get(&said));
    assert_int_equal(outcome, 0);
    assert_string_equal(pm_text_get(&said), "");
    pm_text_release(&said);
    assert_int_equal(pm_studio_open(demo.path, &options, &demo.studio, NULL), PM_OK);
    return 0;
}

static int tear_down(void **state)
{
    struct demo *demo = *state;
    pm_studio_close(demo->studio);
    unlink(demo->path);
    pm_free(demo->path);
    return 0;
}

/* ---- what came out ---- */

static int64_t formula(struct pm_studio *studio, const char *name)
{
    int64_t id;
    assert_int_equal(pm_formula_find(studio, name, &id, NULL, NULL, NULL), PM_OK);
    return id;
}

static void print_finding(void *context, const char *sentence)
{
    (void)context;
    print_error("%s\n", sentence);
}

/* ---- on paper ---- */

static void assert_fits(const struct demo *demo, const char *words)
{
    struct pm_text command = PM_TEXT_EMPTY;
    char *line = NULL;
    size_t room = 0, lines = 0;
    pm_text_addf(&command, "'%s' --db '%s' %s", getenv("PERMILLE_PROGRAM"), demo->path, words);
    FILE *pipe = popen(pm_text_get(&command), "r");
    assert_non_null(pipe);
    for (ssize_t length; (length = getline(&line, &room, pipe)) > 0; lines++) {
        line[strcspn(line, "\n")] = '\0';
        if (pm_utf8_cells(line) > 80)
            fail_msg("%s: \"%s\"", words, line);
    }
    assert_int_equal(pclose(pipe), 0);
    assert_true(lines > 10);
    free(line);
    pm_text_release(&command);
}

/* Every kind of sheet that leaves as plain text, on a terminal of 80 columns; the widest ones there
 * are in the library. */
static void text_sheets_fit_a_terminal(void **state)
{
    static const char *const sheets[] = {
        "export 'Slack Water/4' --as text",
        "export --formulas --as text",
        "export 'Slack Water/4' --weigh 10 --as text",
        "weigh 'Threshing Floor/2' 40 --print text",
        "export 3 --record --as text",
        "batch show 3 --print text",
        "export 'Slack Water/3' 'Slack Water/4' --compare --as text",
        "export 'Slack Water/1' 'Slack Water/2' 'Slack Water/3' 'Slack Water/4' --compare --as "
        "text",
        "export 'Slack Water/4' --label --as text",
        "limits 'Slack Water/4'",
        "limits 'Slack Water/4' --print text",
        "label 'Slack Water/4'",
        "export materials --as text",
        "export bottles --as text",
        "export movements --as text",
        "export shelf --as text",
    };
    for (size_t i = 0; i < sizeof sheets / sizeof *sheets; i++)
        assert_fits(*state, sheets[i]);
}

/* ---- sound ---- */

static void verify_is_clean(void **state)
{
    const struct demo *demo = *state;
    assert_int_equal(pm_studio_verify(demo->studio, print_finding, NULL, NULL), PM_OK);
}

static void materials_are_on_the_shelf(void **state)
{
    const struct demo *demo = *state;
    struct pm_material_entries found;

    assert_int_equal(pm_shelf_search(demo->studio, "", 1000, false, &found, NULL), PM_OK);
    assert_int_equal(found.count, MATERIALS);
    size_t solvents = 0;
    for (size_t i = 0; i < found.count; i++) {
        assert_non_null(found.items[i].cas);
        solvents += found.items[i].is_solvent ? 1 : 0;
    }
    assert_int_equal(solvents, 8);
    pm_list_release(&found);
}

static void formulas_are_as_promised(void **state)
{
    const struct demo *demo = *state;
    struct pm_formulas list;
    int64_t kept = 0;
    size_t accords = 0;

    assert_int_equal(pm_formulas_list(demo->studio, "", true, &list, NULL), PM_OK);
    assert_int_equal(list.count, FORMULAS);
    for (size_t i = 0; i < list.count; i++) {
        accords += list.items[i].accord ? 1 : 0;
        kept += list.items[i].kept;
    }
    assert_int_equal(accords, ACCORDS);
    assert_int_equal(kept, 13);
    pm_list_release(&list);
}

static void sheet_totals(struct pm_studio *studio, int64_t trial, bool accord)
{
    struct pm_sheet *sheet;
    struct pm_flat_sheet flat;
    pm_fine sum = 0;

    assert_int_equal(pm_sheet_open(studio, trial, &sheet, NULL), PM_OK);
    assert_true(sheet->trial.settled);
    assert_int_equal(sheet->total, sheet->trial.base);
    assert_int_equal(sheet->off, 0);
    if (!accord) /* two perfumes, and a sketch */
        assert_in_range(sheet->trial.count, 8, 30);
    assert_int_equal(pm_trial_check(&sheet->trial, NULL), PM_OK);
    assert_int_equal(pm_sheet_flatten(studio, sheet, &flat, NULL), PM_OK);
    for (size_t i = 0; i < flat.count; i++)
        sum += flat.lines[i].neat + flat.lines[i].as_solvent;
    assert_int_equal(sum, flat.total);
    pm_flat_sheet_release(&flat);
    pm_sheet_free(sheet);
}

/* Drafts and kept trials alike sum to their base, flat views too. */
static void every_total_holds(void **state)
{
    const struct demo *demo = *state;
    struct pm_formulas list;

    assert_int_equal(pm_formulas_list(demo->studio, "", true, &list, NULL), PM_OK);
    for (size_t i = 0; i < list.count; i++) {
        struct pm_trial_entries trials;
        struct pm_sheet *draft;
        const int64_t id = list.items[i].id;
        assert_int_equal(pm_sheet_open_draft(demo->studio, id, &draft, NULL), PM_OK);
        sheet_totals(demo->studio, draft->trial_id, list.items[i].accord);
        pm_sheet_free(draft);
        assert_int_equal(pm_trials_list(demo->studio, id, PM_TRIALS_BY_NUMBER, &trials, NULL),
                         PM_OK);
        for (size_t t = 0; t < trials.count; t++) {
            sheet_totals(demo->studio, trials.items[t].row.id, list.items[i].accord);
            if (strcmp(list.items[i].name, "Driftwood") != 0)
                assert_non_null(trials.items[t].row.note);
        }
        pm_list_release(&trials);
    }
    pm_list_release(&list);
}

static void perfumes_branch(void **state)
{
    const struct demo *demo = *state;
    const int64_t parents[] = {0, 1, 1, 2};
    struct pm_trial_entries trials;

    const int64_t id = formula(demo->studio, "Slack Water");
    assert_int_equal(pm_trials_list(demo->studio, id, PM_TRIALS_BY_NUMBER, &trials, NULL), PM_OK);
    assert_int_equal(trials.count, 4);
    for (size_t i = 0; i < trials.count; i++)
        assert_int_equal(trials.items[i].parent_number, parents[i]);
    assert_int_equal(trials.draft_parent, 4);
    assert_null(trials.items[0].row.label);
    assert_string_equal(trials.items[3].row.label, "the one to beat");
    pm_list_release(&trials);
}

/* The core of the carrier accord reads 25, 15, 10 in a base of 100; the trace that was restrengthed
 * stands at a tenth of what it was, held. */
static void cores_and_dilutions_stand(void **state)
{
    const struct demo *demo = *state;
    const pm_parts core[] = {25 * PM_PART, 15 * PM_PART, 10 * PM_PART};
    struct pm_sheet *sheet;
    int64_t trial, line;

    assert_int_equal(pm_formula_find(demo->studio, "Brine/1", NULL, &trial, NULL, NULL), PM_OK);
    assert_int_equal(pm_sheet_open(demo->studio, trial, &sheet, NULL), PM_OK);
    assert_int_equal(sheet->trial.base, 100 * PM_PART);
    assert_int_equal(sheet->trial.mode, PM_CARRIER_MODE);
    for (size_t i = 0; i < 3; i++) {
        assert_int_equal(sheet->trial.lines[i + 1].parts, core[i]);
        assert_int_equal(sheet->trial.lines[i + 1].core, sheet->trial.lines[1].core);
    }
    assert_int_equal(pm_sheet_find_line(sheet, "7-Methyl", &line, NULL), PM_OK);
    const struct pm_line *trace = &sheet->trial.lines[pm_trial_find(&sheet->trial, line)];
    assert_int_equal(trace->parts, 24 * PM_PART / 10);
    assert_int_equal(trace->strength, PM_NEAT / 10);
    assert_int_equal(trace->stance, PM_HELD);
    pm_sheet_free(sheet);
}

/* Accords stand inside perfumes and inside accords; the flat view reaches the bottom. */
static void accords_are_nested(void **state)
{
    const struct demo *demo = *state;
    struct pm_sheet *sheet;
    struct pm_flat_sheet flat;
    int64_t trial;
    bool quinoline = false;

    assert_int_equal(pm_formula_find(demo->studio, "Slack Water/4", NULL, &trial, NULL, NULL),
                     PM_OK);
    assert_int_equal(pm_sheet_open(demo->studio, trial, &sheet, NULL), PM_OK);
    assert_int_equal(pm_sheet_flatten(demo->studio, sheet, &flat, NULL), PM_OK);
    for (size_t i = 0; i < flat.count; i++)
        if (strcmp(flat.lines[i].name, "6-Isobutylquinoline") == 0) {
            quinoline = true;
            assert_true(flat.lines[i].neat > 0);
        }
    assert_true(quinoline); /* only Driftwood has it, which only Wet Slate has */
    pm_flat_sheet_release(&flat);
    pm_sheet_free(sheet);
}

/* History is at the story's times, and knows what was undone. */
static void history_is_the_storys(void **state)
{
    const struct demo *demo = *state;
    struct pm_revision_entries all;
    char day[PM_TIME_TEXT];
    size_t undone = 0;

    const int64_t id = formula(demo->studio, "Cut Hay");
    assert_int_equal(pm_history_list(demo->studio, id, -1, NULL, &all, NULL), PM_OK);
    assert_true(all.count >= 20);
    assert_string_equal(pm_time_date(all.items[0].row.at, day), "2026-03-02");
    assert_string_equal(pm_time_date(all.items[all.count - 1].row.at, day), "2026-07-20");
    for (size_t i = 0; i < all.count; i++)
        undone += all.items[i].row.undone ? 1 : 0;
    assert_true(undone >= 2);
    pm_list_release(&all);
}

/* The shelf is a working perfumer's: bottles with a past, dilutions with their true strength, some
 * things low and old, and prices that reach from the bottles to a bottle of product. */
static void the_shelf_is_in_use(void **state)
{
    const struct demo *demo = *state;
    const struct pm_bottle_filter all = {.set_aside_too = true}, old = {.old = true};
    const struct pm_shelf_filter low = {.low = true, .limit = 1000};
    struct pm_bottles cards;
    struct pm_shelf_rows_found rows;
    size_t made = 0, empty = 0;

    assert_int_equal(pm_bottles_list(demo->studio, &all, &cards, NULL), PM_OK);
    assert_int_equal(cards.count, BOTTLES);
    for (size_t i = 0; i < cards.count; i++) {
        assert_true(cards.items[i].left >= 0);
        made += cards.items[i].made_from != 0;
        empty += cards.items[i].left == 0;
    }
    assert_true(made >= 30);
    assert_true(empty >= 1);
    pm_list_release(&cards);
    assert_int_equal(pm_bottles_list(demo->studio, &old, &cards, NULL), PM_OK);
    assert_true(cards.count >= 3);
    pm_list_release(&cards);
    assert_int_equal(pm_shelf_list(demo->studio, &low, &rows, NULL), PM_OK);
    assert_true(rows.count >= 3);
    pm_list_release(&rows);
}

static void what_a_trial_costs_is_known(void **state)
{
    const struct demo *demo = *state;
    const struct pm_cost_wish wish = {
        .batch = 50 * PM_GRAM, .dosage = PM_NEAT / 100 * 15, .product = 50 * PM_GRAM};
    struct pm_sheet *sheet;
    struct pm_cost cost;
    int64_t trial;

    assert_int_equal(pm_formula_find(demo->studio, "Slack Water/4", NULL, &trial, NULL, NULL),
                     PM_OK);
    assert_int_equal(pm_sheet_open(demo->studio, trial, &sheet, NULL), PM_OK);
    assert_int_equal(pm_stock_cost(demo->studio, sheet, &wish, &cost, NULL), PM_OK);
    assert_int_equal(cost.unknown, 0);
    assert_true(pm_sum_in(&cost.sum, "EUR") > 0);
    assert_true(pm_sum_in(&cost.per_bottle, "EUR") > 0);
    pm_cost_release(&cost);
    pm_sheet_free(sheet);
}

/* ---- what is refused ---- */

static void write_file(const char *folder, const char *name, const char *content)
{
    struct pm_text path = PM_TEXT_EMPTY;
    pm_text_addf(&path, "%s/%s", folder, name);
    FILE *file = fopen(pm_text_get(&path), "w");
    assert_non_null(file);
    assert_true(fputs(content, file) >= 0);
    assert_int_equal(fclose(file), 0);
    pm_text_release(&path);
}

/* A story of the test's own over the real starter set: what the maker says, freed by the caller;
 * no library is left. */
static char *refusal(const char *shelf, const char *story)
{
    struct pm_text said = PM_TEXT_EMPTY;
    char *root = place("refused"), *sources = place("refused/demo-db"),
         *library = place("refused.db");

    assert_true(mkdir(root, 0700) == 0 || access(root, F_OK) == 0);
    assert_true(mkdir(sources, 0700) == 0 || access(sources, F_OK) == 0);
    write_file(sources, "shelf.csv", shelf);
    write_file(sources, "story.txt", story);
    write_file(sources, "bottles.csv", "material\r\n");
    write_file(sources, "movements.csv", "bottle,kind\r\n");
    write_file(sources, "story-shelf.txt", "");
    write_file(sources, "story-smell.txt", "");
    assert_int_equal(make_demo(sources, library, &said), 1);
    assert_int_not_equal(access(library, F_OK), 0);
    pm_free(root);
    pm_free(sources);
    pm_free(library);
    return pm_text_take(&said);
}

static void refused_lines_are_named(void **state)
{
    static const char shelf[] = "# label\r\nname,note\r\nCoumarin,\"hay, itself\"\r\n";
    static const struct {
        const char *shelf, *story, *expected;
    } cases[] = {
        {shelf, "at 2026-03-02 10:00\nnew A\n# remark\nadd A Coumarin 10\nadd A Nonsense 5\n",
         "story.txt:5: "},
        {shelf, "at 2026-03-02 10:00\nnew \"A\n", "story.txt:2: A quote is not closed."},
        {shelf, "new A\n", "story.txt:1: no \"at\" has set the clock yet."},
        {shelf, "at 2026-03-02 10:00\nnew A\nat 2026-03-01 10:00\n",
         "story.txt:3: the clock goes back."},
        {shelf, "at 2026-02-30 10:00\n", "story.txt:1: "},
        {"name,note\nHay,\n", "", "shelf.csv: The starter set has no material \"Hay\"."},
        {"nom,note\nHay,\n", "", "shelf.csv: there is no column name."},
    };

    (void)state;
    for (size_t i = 0; i < sizeof cases / sizeof *cases; i++) {
        char *said = refusal(cases[i].shelf, cases[i].story);
        if (strstr(said, cases[i].expected) == NULL)
            fail_msg("case %zu: \"%s\" is not in \"%s\"", i, cases[i].expected, said);
        pm_free(said);
    }
}

static void a_library_is_never_overwritten(void **state)
{
    const struct demo *demo = *state;
    struct pm_text said = PM_TEXT_EMPTY;

    assert_int_equal(make_demo("demo-db", demo->path, &said), 1);
    assert_non_null(strstr(pm_text_get(&said), "is there already"));
    pm_text_release(&said);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(verify_is_clean),
        cmocka_unit_test(text_sheets_fit_a_terminal),
        cmocka_unit_test(materials_are_on_the_shelf),
        cmocka_unit_test(formulas_are_as_promised),
        cmocka_unit_test(every_total_holds),
        cmocka_unit_test(perfumes_branch),
        cmocka_unit_test(cores_and_dilutions_stand),
        cmocka_unit_test(accords_are_nested),
        cmocka_unit_test(history_is_the_storys),
        cmocka_unit_test(the_shelf_is_in_use),
        cmocka_unit_test(what_a_trial_costs_is_known),
        cmocka_unit_test(refused_lines_are_named),
        cmocka_unit_test(a_library_is_never_overwritten),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
