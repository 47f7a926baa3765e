/* SPDX-License-Identifier: MIT */
/* The Scale by keyboard: a batch is planned, poured, over-poured, saved, corrected, finished; a
 * balance behind a pipe is listened to. */
#include "bench_world.h"

#include "permille/studio/blotter.h"
#include "permille/studio/scale.h"
#include "permille/studio/shelf.h"

#include <fcntl.h>
#include <signal.h>
#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/resource.h>
#include <unistd.h>

#define PLAY (&world->play)

static void stock(struct bench_world *world, const char *name)
{
    int64_t material = 0, bottle = 0;
    struct pm_error err = {0};
    assert_int_equal(pm_shelf_find(world->house.studio, name, &material, &err), PM_OK);
    assert_int_equal(
        pm_bottle_add(world->house.studio, material, 50 * PM_GRAM, NULL, 0, &bottle, &err), PM_OK);
}

/* Harbour is kept, its materials stand on the shelf, the Scale is open. */
static void scale(struct bench_world *world, int rows, int columns)
{
    bench_harbour(world, rows, columns);
    struct pm_sheet *sheet;
    struct pm_error err = {0};
    assert_int_equal(pm_sheet_open_draft(world->house.studio, world->house.formula, &sheet, &err),
                     PM_OK);
    for (size_t i = 0; i < sheet->trial.count; i++)
        stock(world, sheet->lines[i].name);
    pm_sheet_free(sheet);
    play_keys(PLAY, "w Enter W");
    play_sees(PLAY, "No batch is planned");
    play_keys(PLAY, "n");
    play_sees(PLAY, "Harbour/1");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "planned");
}

static void started(struct bench_world *world, int rows, int columns)
{
    scale(world, rows, columns);
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Start pouring");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "pour, tared");
}

static void nothing_goes_by_one_key(void **state)
{
    struct bench_world *world = *state;
    scale(world, 24, 80);
    play_keys(PLAY, "p");
    play_sees(PLAY, "it weighs within 2 %");
    play_sees(PLAY, "(then its share of the"); /* said once, not on every line */
    play_misses(PLAY, "% of the uncertainty");
    play_keys(PLAY, "Esc d Enter");
    play_sees(PLAY, "planned");
    play_keys(PLAY, "d y");
    play_sees(PLAY, "No batch is planned");
    play_keys(PLAY, "H");
    play_sees(PLAY, "given up");
}

static void poured_and_saved(void **state)
{
    struct bench_world *world = *state;
    struct pm_batch_record record;
    struct pm_error err = {0};
    started(world, 24, 80);
    play_golden(PLAY, "scale-80x24");
    play_keys(PLAY, "Enter Enter"); /* what the plan says */
    play_sees(PLAY, "done");
    play_type(PLAY, "9");
    play_keys(PLAY, "Enter"); /* far too much */
    play_sees(PLAY, "Too much was poured");
    play_sees(PLAY, "restore");
    play_golden(PLAY, "scale-ways-80x24");
    play_keys(PLAY, "Enter"); /* all that it asks for, before it is gone */
    play_sees(PLAY, "Enter goes this way");
    play_golden(PLAY, "scale-steps-80x24");
    play_keys(PLAY, "Enter");
    play_misses(PLAY, "! too much");
    assert_int_equal(pm_batch_show(world->house.studio, 1, &record, &err), PM_OK);
    assert_string_equal(record.plan.way, "restore");
    assert_true(record.target > 10 * PM_GRAM);
    const size_t lines = record.count;
    pm_batch_record_release(&record);
    for (size_t i = 1; i < lines; i++)
        play_keys(PLAY, "Enter Enter");
    play_sees(PLAY, "Everything is poured");
    bench_world_restart(world); /* nothing of it is only on the screen */
    play_keys(PLAY, "W Enter");
    play_sees(PLAY, "Everything is poured");
    play_resize(PLAY, 50, 200);
    play_golden(PLAY, "scale-200x50");
    play_keys(PLAY, "w Down Down Right Enter"); /* kept as weighed */
    play_sees(PLAY, "Finished");
    play_keys(PLAY, "Esc");
    play_sees(PLAY, "No batch is planned");
}

static void corrected(void **state)
{
    struct bench_world *world = *state;
    struct pm_batch_record record;
    struct pm_error err = {0};
    started(world, 24, 80);
    play_keys(PLAY, "Enter Enter Up e Ctrl-U");
    play_type(PLAY, "0.9");
    play_keys(PLAY, "Enter");
    assert_int_equal(pm_batch_show(world->house.studio, 1, &record, &err), PM_OK);
    assert_int_equal(record.pours.count, 2);
    assert_int_equal(record.pours.items[1].corrects, record.pours.items[0].id);
    assert_int_equal(record.poured, 900000);
    pm_batch_record_release(&record);
    play_keys(PLAY, "h");
    play_sees(PLAY, "paused");
}

/* Left as it is: what the trial becomes is seen before, material by material. */
static void accepted(void **state)
{
    struct bench_world *world = *state;
    struct pm_batch_record record;
    struct pm_error err = {0};
    started(world, 24, 80);
    play_type(PLAY, "3"); /* 2 g were meant: 3 of 11 g are 272.73 parts */
    play_keys(PLAY, "Enter Down Enter");
    play_sees(PLAY, "accept: it becomes this");
    play_sees(PLAY, "272.73");
    play_sees(PLAY, "200.00");
    play_golden(PLAY, "scale-accept-80x24");
    play_keys(PLAY, "Enter");
    play_misses(PLAY, "! too much");
    assert_int_equal(pm_batch_show(world->house.studio, 1, &record, &err), PM_OK);
    assert_string_equal(record.plan.way, "accept");
    pm_batch_record_release(&record);
    play_keys(PLAY, "i");
    play_sees(PLAY, "Calm musk: 272.73 parts, was 200.00.");
    play_sees(PLAY, "Limits at 15 %");
    play_keys(PLAY, "Esc");
}

/* The planned bottle runs out in the middle of it: another one goes on, or the ledger falls below
 * zero and says so. */
static void bottles_end(void **state)
{
    struct bench_world *world = *state;
    struct pm_batch_record record;
    struct pm_error err = {0};
    started(world, 24, 80);
    assert_int_equal(pm_batch_show(world->house.studio, 1, &record, &err), PM_OK);
    const int64_t first = record.items[0].bottle, material = record.items[0].material;
    pm_batch_record_release(&record);
    /* 50 g are 1 g in truth. */
    assert_int_equal(pm_bottle_count(world->house.studio, first, PM_GRAM, NULL, 0, &err), PM_OK);
    play_keys(PLAY, "Enter Enter");
    play_sees(PLAY, "More than the bottle holds");
    play_keys(PLAY, "n");
    play_sees(PLAY, "pour, tared");
    play_type(PLAY, "1");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "1.00 g still to pour");
    play_keys(PLAY, "x"); /* there is no other */
    play_sees(PLAY, "No bottle of it");
    int64_t second = 0;
    assert_int_equal(
        pm_bottle_add(world->house.studio, material, 5 * PM_GRAM, NULL, 0, &second, &err), PM_OK);
    play_keys(PLAY, "x");
    play_sees(PLAY, "from another bottle");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "The display shows");
    play_keys(PLAY, "Ctrl-U");
    play_type(PLAY, "0.4");
    play_keys(PLAY, "Enter");
    assert_int_equal(pm_batch_show(world->house.studio, 1, &record, &err), PM_OK);
    assert_int_equal(record.pours.count, 2);
    assert_int_equal(record.pours.items[0].bottle, first);
    assert_int_equal(record.pours.items[1].bottle, second);
    pm_batch_record_release(&record);
    /* Which of the two was it? The second was 0.5 g; then the rest below zero. */
    play_keys(PLAY, "e");
    play_sees(PLAY, "Which pour was it?");
    play_keys(PLAY, "Down Enter Ctrl-U");
    play_type(PLAY, "0.5");
    play_keys(PLAY, "Tab");
    play_type(PLAY, "misread");
    play_keys(PLAY, "Enter");
    assert_int_equal(pm_bottle_count(world->house.studio, second, PM_GRAM / 10, NULL, 0, &err),
                     PM_OK);
    play_type(PLAY, "0.5");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "More than the bottle holds");
    play_keys(PLAY, "y");
    play_sees(PLAY, "Saved");
    assert_int_equal(pm_batch_show(world->house.studio, 1, &record, &err), PM_OK);
    assert_int_equal(record.pours.count, 4);
    assert_int_equal(record.pours.items[2].corrects, record.pours.items[1].id);
    assert_string_equal(record.pours.items[2].note, "misread");
    assert_int_equal(record.items[0].poured, 2 * PM_GRAM);
    assert_int_equal(record.items[0].left, -4 * PM_GRAM / 10);
    assert_true(record.items[0].done);
    pm_batch_record_release(&record);
}

/* The weigh sheet and the record, each into a file that was not there; never over another. */
static void into_files(void **state)
{
    struct bench_world *world = *state;
    char folder[] = "/tmp/permille-paper-XXXXXX", path[64], block[8192];
    assert_non_null(mkdtemp(folder));
    scale(world, 24, 80);
    snprintf(path, sizeof path, "%s/sheet.txt", folder);
    play_keys(PLAY, "X");
    play_sees(PLAY, "The weigh sheet into a file");
    play_keys(PLAY, "Tab Right Tab Tab Tab Ctrl-U"); /* the largest first */
    play_type(PLAY, path);
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Written");
    FILE *file = fopen(path, "r");
    assert_non_null(file);
    block[fread(block, 1, sizeof block - 1, file)] = '\0';
    fclose(file);
    const char *large = strstr(block, "Alderwood"), *small = strstr(block, "Calm musk");
    assert_true(large != NULL && small != NULL && large < small);
    play_keys(PLAY, "X Shift-Tab Ctrl-U");
    play_type(PLAY, path);
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "is there already");
    play_keys(PLAY, "Esc Enter"); /* starting begins with the order chosen last */
    play_sees(PLAY, "largest");
    play_keys(PLAY, "Enter X Ctrl-U");
    remove(path);
    snprintf(path, sizeof path, "%s/record.html", folder);
    play_type(PLAY, path);
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Written");
    file = fopen(path, "r");
    assert_non_null(file);
    block[fread(block, 1, sizeof block - 1, file)] = '\0';
    fclose(file);
    assert_non_null(strstr(block, "<!DOCTYPE html>"));
    remove(path);
    rmdir(folder);
}

static void balances(void **state)
{
    struct bench_world *world = *state;
    struct pm_balance_rows rows;
    struct pm_error err = {0};
    scale(world, 24, 80);
    play_keys(PLAY, "m");
    play_type(PLAY, "Kitchen");
    play_keys(PLAY, "Tab");
    play_type(PLAY, "0.01");
    play_keys(PLAY, "Enter m Down Enter");
    play_type(PLAY, "Fine");
    play_keys(PLAY, "Tab");
    play_type(PLAY, "0.001");
    play_keys(PLAY, "Enter m Down Enter"); /* Kitchen again: by name */
    play_sees(PLAY, "weigh with it from now on");
    play_keys(PLAY, "u m Down Enter e Tab Tab Tab Tab");
    play_type(PLAY, "200");
    play_keys(PLAY, "Enter");
    assert_int_equal(pm_balances(world->house.studio, &rows, &err), PM_OK);
    assert_int_equal(rows.count, 2);
    assert_string_equal(rows.items[1].name, "Kitchen");
    assert_true(rows.items[1].in_use);
    assert_int_equal(rows.items[1].is.capacity, 200 * PM_GRAM);
    pm_list_release(&rows);
    play_keys(PLAY, "m Down Enter d n m Down Enter d y");
    assert_int_equal(pm_balances(world->house.studio, &rows, &err), PM_OK);
    assert_int_equal(rows.count, 1);
    assert_false(rows.items[0].in_use);
    pm_list_release(&rows);
}

/* A filling's day has come: every room says so with the key that leads there, until it is done. */
static void reminds(void **state)
{
    struct bench_world *world = *state;
    struct pm_error err = {0};
    struct pm_filling_row row = {.concentrate = 20 * PM_GRAM,
                                 .ethanol = 80 * PM_GRAM,
                                 .at_hand = 960000000,
                                 .bottles = -1,
                                 .filter_on = 18000,
                                 .ready_on = PM_NO_DAY};
    bench_harbour(world, 24, 80);
    assert_int_equal(pm_filling_note(world->house.studio, &row, &err), PM_OK);
    play_keys(PLAY, "T B"); /* entering a room asks */
    play_sees(PLAY, "W filter now   ?");
    play_resize(PLAY, 24, 200);
    play_sees(PLAY, "W filter now: filling 1   ?");
    play_resize(PLAY, 24, 80);
    play_keys(PLAY, "w Enter W");
    play_sees(PLAY, "b filter now   ?");
    /* Something is to be smelled as well: what is done here stands last, beside the help. */
    const char *values[PM_SESSION_ATTRIBUTES] = {[PM_SESSION_TRIAL] = "Harbour/1"};
    struct pm_smell_done done = {0};
    assert_int_equal(pm_session_start(world->house.studio, values, &done, &err), PM_OK);
    pm_smell_done_release(&done);
    play_keys(PLAY, "P");
    play_sees(PLAY, "W filter now   a smell now   ?");
    play_keys(PLAY, "W");
    play_sees(PLAY, "P smell now   b filter now   ?");
    play_keys(PLAY, "b");
    play_sees(PLAY, "! 2019-04-14");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "it was filtered");
    play_keys(PLAY, "d Ctrl-U");
    play_type(PLAY, "2099-01-02");
    play_keys(PLAY, "Enter");
    play_wait(PLAY, 1);
    play_misses(PLAY, "filter now");
    play_keys(PLAY, "b Enter f");
    play_keys(PLAY, "b");
    play_sees(PLAY, "filtered 20");
    play_misses(PLAY, "2099");
}

static void listens_to_a_balance(void **state)
{
    struct bench_world *world = *state;
    char path[] = "/tmp/permille-balance-XXXXXX";
    const int fd = mkstemp(path);
    assert_true(fd >= 0);
    FILE *file = fdopen(fd, "w");
    fputs("0.20 g\n1.00 g\n1.00 g\n1.00 g\n", file);
    fclose(file);
    started(world, 24, 80);
    play_keys(PLAY, "m");
    play_type(PLAY, path);
    play_keys(PLAY, "Enter");
    play_wait(PLAY, 2);
    play_sees(PLAY, "stable");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "The display shows");
    remove(path);
}

static void says(int balance, const char *text)
{
    assert_int_equal(write(balance, text, strlen(text)), (ssize_t)strlen(text));
}

/* A balance behind a pseudo-terminal: it settles, jumps, shows carats and less than nothing, and is
 * unplugged in the middle of a line. What was poured before is there. */
static void a_balance_misbehaves(void **state)
{
    struct bench_world *world = *state;
    struct pm_batch_record record;
    struct pm_error err = {0};
    started(world, 24, 80);
    const int master = posix_openpt(O_RDWR | O_NOCTTY);
    assert_true(master >= 0 && grantpt(master) == 0 && unlockpt(master) == 0);
    char device[128];
    snprintf(device, sizeof device, "%s", ptsname(master));
    play_keys(PLAY, "m");
    play_type(PLAY, device);
    play_keys(PLAY, "Enter");
    says(master, "1.00 g\r\n1.00 g\r\n1.00 g\r\n");
    play_wait(PLAY, 2);
    play_sees(PLAY, "1.00 g");
    play_sees(PLAY, "stable");
    says(master, "1.31 g\r\n1.74 g\r\n");
    play_wait(PLAY, 2);
    play_sees(PLAY, "waiting");
    says(master, "2.00 g\r\n2.00 g\r\n2.00 g\r\n");
    play_wait(PLAY, 2);
    play_sees(PLAY, "stable");
    play_keys(PLAY, "Enter Enter"); /* takes over what it says */
    play_sees(PLAY, "Saved");
    says(master, "10.00 ct\r\n");
    play_wait(PLAY, 2);
    play_sees(PLAY, "set it to grams");
    says(master, "-2.00 g\r\n-2.00 g\r\n-2.00 g\r\n");
    play_wait(PLAY, 2);
    play_sees(PLAY, "tare it");
    play_type(PLAY, "2.5"); /* half typed while it goes */
    says(master, "3.0");
    close(master);
    play_wait(PLAY, 2);
    play_sees(PLAY, "unplugged");
    play_sees(PLAY, "2.5");
    play_keys(PLAY, "Esc");
    play_misses(PLAY, "balance:");
    assert_int_equal(pm_batch_show(world->house.studio, 1, &record, &err), PM_OK);
    assert_int_equal(record.poured, 2 * PM_GRAM);
    pm_batch_record_release(&record);
}

/* What the ledgers of all bottles say was poured for a batch, or received of it, in truth. */
static pm_mass ledger(struct bench_world *world, int64_t batch, const char *kind)
{
    sqlite3 *db = NULL;
    sqlite3_stmt *sum = NULL;
    assert_int_equal(sqlite3_open_v2(world->hand->path, &db, SQLITE_OPEN_READONLY, NULL),
                     SQLITE_OK);
    assert_int_equal(sqlite3_prepare_v2(db,
                                        "SELECT abs(sum(m.mass + (SELECT ifnull(sum(c.mass), 0) "
                                        "FROM movement AS c WHERE c.corrects = m.id))) "
                                        "FROM movement AS m WHERE m.batch = ?1 AND m.kind = ?2",
                                        -1, &sum, NULL),
                     SQLITE_OK);
    sqlite3_bind_int64(sum, 1, batch);
    sqlite3_bind_text(sum, 2, kind, -1, SQLITE_STATIC);
    assert_int_equal(sqlite3_step(sum), SQLITE_ROW);
    const pm_mass mass = sqlite3_column_int64(sum, 0);
    sqlite3_finalize(sum);
    sqlite3_close(db);
    return mass;
}

/* Shows the same three times and takes it over. */
static void shows(struct bench_world *world, int balance, pm_mass mass)
{
    char line[60];
    snprintf(line, sizeof line, "%.2f g\r\n%.2f g\r\n%.2f g\r\n", (double)mass / 1e6,
             (double)mass / 1e6, (double)mass / 1e6);
    says(balance, line);
    play_wait(PLAY, 2);
    play_keys(PLAY, "Enter Enter");
}

struct made_of {
    const char *material;
    double parts;
};

/* 10 g of Quay/1 are planned, and 50 g of each of its materials stand neat on the shelf. */
static int64_t plan_quay(struct hand *hand, const struct made_of *made_of, size_t count)
{
    int64_t planned = 0;
    const int64_t formula = hand_formula(hand, "Quay", 1000);
    hand_solvent(hand, "Carrier");
    for (size_t i = 0; i < count; i++)
        hand_add(hand, formula, made_of[i].material, made_of[i].parts);
    hand_keep(hand, formula, NULL);
    for (size_t i = 0; i < count; i++)
        hand_ok(hand, pm_bottle_add(hand->studio, hand_material(hand, made_of[i].material),
                                    50 * PM_GRAM, NULL, 0, NULL, &hand->err));
    hand_plan(hand, "Quay/1", "10g", NULL, &planned);
    return planned;
}

/* What stands on the label is the strength that came of what was weighed, not the wanted one. */
static void a_dilution_is_labelled_as_weighed(void **state)
{
    struct bench_world *world = *state;
    struct hand *hand = world->hand;
    static const struct made_of made_of[] = {{"Beta", 5}, {"Carrier", 995}};
    plan_quay(hand, made_of, 2);
    bench_world_open(world, 24, 80);
    play_keys(PLAY, "W % Enter");
    play_type(PLAY, "1g");
    play_keys(PLAY, "Tab");
    play_type(PLAY, "10g");
    play_sees(PLAY, "True strength 9.091 %");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Beta, 9.091 % in Carrier; write that on its label. Saved.");
}

/* The whole of it by keyboard: lines from 0.2 to 400 parts, 10 g on a balance of 0.01 g; diluted
 * first, poured with a balance that sends, over-poured, saved, corrected, finished, filled. */
static void from_plan_to_filling(void **state)
{
    struct bench_world *world = *state;
    struct hand *hand = world->hand;
    struct pm_batch_record record;
    struct pm_filling_rows fillings;
    struct pm_error err = {0};
    static const struct made_of made_of[] = {
        {"Alpha", 400}, {"Beta", 100}, {"Gamma", 0.2}, {"Carrier", 499.8}};
    const int64_t planned = plan_quay(hand, made_of, 4);
    bench_world_open(world, 24, 80);

    play_keys(PLAY, "W Enter Enter");
    play_sees(PLAY, "First make"); /* not before the dilutions are there */
    play_keys(PLAY, "Esc %");
    play_sees(PLAY, "To be diluted first");
    play_sees(PLAY, "1 of 3");
    play_keys(PLAY, "Down Enter");
    play_sees(PLAY, "Make the stronger one before it first");
    play_keys(PLAY, "Up Enter Enter");
    play_sees(PLAY, "1 of 2");
    play_keys(PLAY, "Enter Enter");
    play_sees(PLAY, "1 of 1");
    play_keys(PLAY, "Enter Enter");
    play_sees(PLAY, "write that on its label. Saved.");
    play_keys(PLAY, "%");
    play_sees(PLAY, "Nothing is to be diluted first.");

    play_keys(PLAY, "Enter Enter");
    play_sees(PLAY, "pour, tared");
    const int master = posix_openpt(O_RDWR | O_NOCTTY);
    assert_true(master >= 0 && grantpt(master) == 0 && unlockpt(master) == 0);
    char device[128];
    snprintf(device, sizeof device, "%s", ptsname(master));
    play_keys(PLAY, "m");
    play_type(PLAY, device);
    play_keys(PLAY, "Enter");
    shows(world, master, 1200000); /* 1 g was meant */
    play_sees(PLAY, "Too much was poured");
    play_keys(PLAY, "Enter Enter");
    assert_int_equal(pm_batch_show(world->house.studio, planned, &record, &err), PM_OK);
    assert_string_equal(record.plan.way, "restore");
    assert_int_equal(record.target, 12 * PM_GRAM);
    const size_t lines = record.count;
    pm_mass targets[8];
    for (size_t i = 0; i < lines; i++)
        targets[i] = record.items[i].reads;
    pm_batch_record_release(&record);
    for (size_t i = 1; i < lines; i++)
        shows(world, master, targets[i]);
    play_sees(PLAY, "Everything is poured");
    close(master);
    play_keys(PLAY, "e");
    play_keys(PLAY, "Ctrl-U");
    play_type(PLAY, "3.61");
    play_keys(PLAY, "Enter");
    assert_int_equal(pm_batch_show(world->house.studio, planned, &record, &err), PM_OK);
    assert_int_equal(record.poured, ledger(world, planned, "poured"));
    const pm_mass poured = record.poured;
    pm_batch_record_release(&record);

    play_keys(PLAY, "w Right Down Down Right Enter");
    play_sees(PLAY, "is kept as trial 2");
    assert_int_equal(ledger(world, planned, "poured"), poured);
    assert_int_equal(ledger(world, planned, "received"), poured);
    play_keys(PLAY, "F Enter");
    play_sees(PLAY, "On record as filling 1");
    assert_int_equal(pm_fillings(world->house.studio, &fillings, &err), PM_OK);
    assert_int_equal(fillings.items[0].concentrate, poured);
    assert_string_equal(fillings.items[0].title, "Quay/1");
    pm_list_release(&fillings);
}

/* Every write fails, as on a full disk. */
static void disk(bool full)
{
    struct rlimit limit;
    assert_int_equal(getrlimit(RLIMIT_FSIZE, &limit), 0);
    limit.rlim_cur = full ? 0 : limit.rlim_max;
    assert_int_equal(setrlimit(RLIMIT_FSIZE, &limit), 0);
}

/* The disk is full as a pour is noted: neither record nor ledger has it, what was typed is there
 * again, and once there is room it is noted once. */
static void the_disk_is_full(void **state)
{
    struct bench_world *world = *state;
    struct pm_batch_record record;
    struct pm_error err = {0};
    signal(SIGXFSZ, SIG_IGN);
    started(world, 24, 80);
    play_type(PLAY, "1.25");
    disk(true);
    play_keys(PLAY, "Enter");
    disk(false);
    play_sees(PLAY, "1.25");
    play_sees(PLAY, "a limit on their size");
    assert_int_equal(pm_batch_show(world->house.studio, 1, &record, &err), PM_OK);
    assert_int_equal(record.pours.count, 0);
    assert_int_equal(record.items[0].left, 50 * PM_GRAM);
    pm_batch_record_release(&record);
    play_keys(PLAY, "Enter");
    assert_int_equal(pm_batch_show(world->house.studio, 1, &record, &err), PM_OK);
    assert_int_equal(record.pours.count, 1);
    assert_int_equal(record.poured, 1250000);
    assert_int_equal(record.items[0].left, 50 * PM_GRAM - 1250000);
    pm_batch_record_release(&record);
}

/* Many lines: how many are below is told. Nothing that is asked for is cut, however much it is. */
static void many_lines_far_too_much(void **state)
{
    struct bench_world *world = *state;
    struct hand *hand = world->hand;
    const int64_t id = hand_formula(hand, "Harbour", 1000);
    char name[16];
    int64_t material = 0;
    for (int i = 0; i < 30; i++) {
        snprintf(name, sizeof name, "Fog %02d", i);
        hand_add(hand, id, name, i == 0 ? 0.5 : 1);
        hand_ok(hand, pm_shelf_find(hand->studio, name, &material, &hand->err));
        hand_ok(hand,
                pm_bottle_add(hand->studio, material, 900000 * PM_GRAM, NULL, 0, NULL, &hand->err));
    }
    hand_set(hand, id, "Fog 29", 971.5);
    hand_keep(hand, id, NULL);
    bench_world_open(world, 24, 80);
    play_keys(PLAY, "W b");
    play_sees(PLAY, "Nothing was filled yet.");
    play_type(PLAY, "dew");
    play_sees(PLAY, "No filling is called so.");
    play_keys(PLAY, "Esc n Ctrl-U");
    play_type(PLAY, "Harbour/1");
    play_keys(PLAY, "Tab Ctrl-U");
    play_type(PLAY, "9000");
    play_keys(PLAY, "Enter Enter Enter");
    play_sees(PLAY, " below");
    play_type(PLAY, "900000");
    play_keys(PLAY, "Enter");
    play_sees(PLAY, "Too much was poured");
    play_misses(PLAY, "g\xE2\x80\xA6");
    play_misses(PLAY, "0\xE2\x80\xA6");
}

/* However long the name of what is given up, the question is asked to its end. */
static void a_long_question_is_asked_whole(void **state)
{
    struct bench_world *world = *state;
    struct hand *hand = world->hand;
    char name[700] = "";
    for (int i = 0; i < 195; i++)
        strcat(name, "\xE9\xA6\x99"); /* two cells each */
    const int64_t id = hand_formula(hand, name, 100);
    int64_t material = 0;
    hand_add(hand, id, "Fog", 100);
    hand_keep(hand, id, NULL);
    hand_ok(hand, pm_shelf_find(hand->studio, "Fog", &material, &hand->err));
    hand_ok(hand, pm_bottle_add(hand->studio, material, 50 * PM_GRAM, NULL, 0, NULL, &hand->err));
    bench_world_open(world, 24, 80);
    play_keys(PLAY, "W n Enter d");
    play_sees(PLAY, "What was poured stays poured.");
    play_sees(PLAY, "yes, give it up");
    play_keys(PLAY, "Esc Enter Enter"); /* started: the heading shows where it is cut */
    const char *heading = play_row(PLAY, 0);
    assert_non_null(strstr(heading, "being poured"));
    assert_non_null(strstr(heading, "\xE2\x80\xA6"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {BENCH(nothing_goes_by_one_key),
                                       BENCH(poured_and_saved),
                                       BENCH(corrected),
                                       BENCH(accepted),
                                       BENCH(many_lines_far_too_much),
                                       BENCH(a_long_question_is_asked_whole),
                                       BENCH(bottles_end),
                                       BENCH(into_files),
                                       BENCH(balances),
                                       BENCH(reminds),
                                       BENCH(listens_to_a_balance),
                                       BENCH(a_balance_misbehaves),
                                       BENCH(from_plan_to_filling),
                                       BENCH(a_dilution_is_labelled_as_weighed),
                                       BENCH(the_disk_is_full)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
