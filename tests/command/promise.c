/* SPDX-License-Identifier: MIT */
/* The library, the commands and the faults (promise.h). */
#include "promise.h"

#include "src/store/checksum.h"
#include "tests/store/fault_vfs.h"

#include "permille/base/mem.h"

#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stdlib.h>
#include <string.h>

#include <cmocka.h>

/* Times of a kind at which a fault is made to happen: the last ones, where the commit is, each; and
 * this many spread over those before. PERMILLE_FAULTS=all: each of all. */
enum { LAST = 5, SPREAD = 4 };

/* ---- SQLite's memory ---- */

static struct {
    sqlite3_mem_methods real;
    long asked, fail_at; /* 0: none */
} memory;

static bool memory_granted(void)
{
    return ++memory.asked != memory.fail_at;
}

static void *memory_get(int bytes)
{
    return memory_granted() ? memory.real.xMalloc(bytes) : NULL;
}

static void *memory_resize(void *old, int bytes)
{
    return memory_granted() ? memory.real.xRealloc(old, bytes) : NULL;
}

static void watch_memory(void)
{
    assert_int_equal(sqlite3_config(SQLITE_CONFIG_GETMALLOC, &memory.real), SQLITE_OK);
    sqlite3_mem_methods watched = memory.real;
    watched.xMalloc = memory_get;
    watched.xRealloc = memory_resize;
    assert_int_equal(sqlite3_config(SQLITE_CONFIG_MALLOC, &watched), SQLITE_OK);
}

/* ---- the library ---- */

struct promise promise;

const char *const promise_commands[][PROMISE_WORDS] = {
    {"new", "Fresh"},
    {"copy", "Heart/1", "Second"},
    {"rename", "Heart", "Core"},
    {"accord", "Heart", "on"},
    {"aside", "Heart/1"},
    {"back", "Old"},
    {"add", "Heart", "Gamma", "20", "--at", "10%", "--in", "Carrier"},
    {"set", "Heart", "Alpha", "500"},
    {"nudge", "Heart", "Alpha", "1"},
    {"scale", "Heart", "Alpha", "1.5"},
    {"drop", "Heart", "Beta"},
    {"swap", "Heart", "Beta", "Gamma"},
    {"restrength", "Heart", "Beta", "50%", "--in", "Carrier"},
    {"move", "Heart", "Beta", "1"},
    {"comment", "Heart", "Beta", "less of it"},
    {"stance", "Heart", "Beta", "held"},
    {"rest", "Heart", "Beta"},
    {"mode", "Heart", "open"},
    {"base", "Heart", "100"},
    {"settle", "Low"},
    {"core", "Heart", "Alpha", "Beta", "--ratio", "2:1"},
    {"fold", "Heart", "Inner", "Alpha", "Beta"},
    {"unfold", "Holder", "Heart"},
    {"undo", "Heart"},
    {"redo", "Old"},
    {"keep", "Heart", "--note", "the second"},
    {"branch", "Heart/1"},
    {"restore", "Heart", "2"},
    {"mark", "Heart/1", "good"},
    {"smell", "Heart/1", "--at", "5min", "--intensity", "6", "--note", "salt"},
    {"session", "start", "Heart/1"},
    {"session", "stop", "1"},
    {"session", "resume", "2"},
    {"schedule", "1min, 1h"},
    {"settings", "set", "base", "100"},
    {"settings", "unset", "currency"},
    {"panel", "new", "Tri", "Heart/1", "Short/1", "--kind", "triangle", "--rounds", "6"},
    {"panel", "answer", "Pair", "-"},
    {"panel", "close", "Pair"},
    {"ladder", "Heart", "Alpha", "--doses", "100,200"},
    {"leaveout", "Heart", "Alpha", "--blind", "--rounds", "6"},
    {"ratios", "Heart", "Alpha", "Beta", "--lattice", "1"},
    {"ratios", "rate", "Pair of ratios", "Heart/2", "6"},
    {"drydown", "clock", "1", "Alpha"},
    {"ceiling", "set", "heart", "20%"},
    {"ceiling", "remove", "base"},
    {"material", "add", "Delta", "--cas", "106-22-9"},
    {"material", "edit", "Alpha", "--note", "sharp"},
    {"material", "remove", "Gamma"},
    {"material", "remove", "Alpha"},
    {"material", "aside", "Gamma"},
    {"material", "back", "Epsilon"},
    {"material", "set", "Alpha", "density", "0.9"},
    {"material", "holds", "Root", "Gamma", "--typically", "10%"},
    {"material", "merge", "Gamma", "Alpha"},
    {"bottle", "add", "Beta", "10g", "--lot", "7"},
    {"bottle", "edit", "B001", "--lot", "8"},
    {"bottle", "count", "B001", "40g"},
    {"bottle", "pour", "B001", "1g", "--for", "Heart/1"},
    {"bottle", "fill", "B001", "1g"},
    {"bottle", "spill", "B001", "1g"},
    {"bottle", "discard", "B001", "1g"},
    {"bottle", "move", "B001", "--to", "left"},
    {"bottle", "empty", "B002"},
    {"bottle", "aside", "B002"},
    {"bottle", "back", "B003"},
    {"dilute", "Alpha", "10%", "5g", "--in", "Carrier"},
    {"rate", "EUR", "1.1", "USD"},
    {"plan", "add", "Heart/1", "10g"},
    {"plan", "done", "1"},
    {"balance", "add", "Bench", "0.01g"},
    {"balance", "edit", "Fine", "--capacity", "200g"},
    {"balance", "use", "Other"},
    {"balance", "remove", "Fine"},
    {"batch", "start", "Heart/1", "10g", "--as-it-is"},
    {"batch", "start", "1", "--as-it-is"},
    {"batch", "pour", "2", "next", "7g"},
    {"batch", "correct", "2", "2", "19g"},
    {"batch", "rescue", "2", "restore"},
    {"batch", "finish", "2", "--short", "--make-bottle", "--make-trial"},
    {"batch", "pause", "2"},
    {"batch", "give-up", "2"},
    {"batch", "note", "2", "warm"},
    {"filling", "add", "10g", "20%", "--of-batch", "2"},
    {"filling", "done", "1", "filtered", "--note", "clear"},
    {"filling", "remind", "1", "--ready-on", "2030-01-02"},
    {"import", "TABLE"},
    {"import", "--only", "formulas", "--as", "formula:Heart=Heart of the quay", "OTHER"},
    {"shelf", "undo"},
    {"shelf", "redo"},
    {"limit", "label", "Made by", "the bench"},
    {"limit", "for", "Heart", "--dosage", "18%"},
    {"limit", "add", "Alpha", "0.5", "--source", "a paper"},
    {"limit", "remove", "1"},
    {"limit", "load", "LIMITS"},
    {"limit", "use", "EU law"},
    {"limit", "leave", "EU law"},
    {"fit", "Heart", "--take"},
};
const size_t promise_command_count = sizeof promise_commands / sizeof promise_commands[0];

/* What the library holds before. */
static const char *const story[][PROMISE_WORDS] = {
    {"material", "add", "Alpha"},
    {"material", "set", "Alpha", "vapour_pressure", "2"},
    {"material", "set", "Alpha", "molar_mass", "150"},
    {"material", "add", "Beta"},
    {"material", "add", "Gamma"},
    {"material", "add", "Epsilon"},
    {"material", "aside", "Epsilon"},
    {"material", "add", "Root", "--kind", "natural"},
    {"material", "add", "Carrier", "--kind", "solvent"},
    {"material", "set", "Alpha", "vapour_pressure", "100"},
    {"material", "set", "Alpha", "molar_mass", "150"},
    {"new", "Heart"},
    {"add", "Heart", "Alpha", "600"},
    {"add", "Heart", "Beta", "400"},
    {"keep", "Heart"},
    {"set", "Heart", "Alpha", "610"},
    {"new", "Low"},
    {"add", "Low", "Alpha", "600"},
    {"new", "Short", "--base", "600"},
    {"add", "Short", "Alpha", "600"},
    {"keep", "Short"},
    {"new", "Holder"},
    {"add", "Holder", "Heart/1", "500", "--accord"},
    {"new", "Old"},
    {"add", "Old", "Alpha", "600"},
    {"undo", "Old"},
    {"aside", "Old"},
    {"settings", "set", "currency", "EUR"},
    {"session", "start", "Heart/1"},
    {"session", "start", "Short/1"},
    {"session", "stop", "2"},
    {"smell", "Heart/1", "--at", "1h", "--intensity", "2"},
    {"panel", "new", "Pair", "Heart/1", "Short/1", "--kind", "triangle", "--rounds", "6", "--seed",
     "7"},
    {"bottle", "add", "Alpha", "50g", "--price", "20 EUR", "--priced-mass", "50g"},
    {"bottle", "add", "Carrier", "500g"},
    {"bottle", "add", "Beta", "5g"},
    {"bottle", "aside", "B003"},
    {"rate", "EUR", "1.2", "USD"},
    {"plan", "add", "Heart/1", "10g"},
    {"balance", "add", "Fine", "0.001g"},
    {"balance", "add", "Other", "0.01g"},
    {"batch", "start", "Heart/1", "20g", "--as-it-is"},
    {"batch", "pour", "2", "1", "1g"},
    {"batch", "pour", "2", "2", "20g"},
    {"bottle", "pour", "B001", "2g"},
    {"bottle", "pour", "B001", "1g"},
    {"shelf", "undo"},
    {"smell", "Heart/1", "--at", "40min", "--intensity", "2"},
    {"ratios", "Heart", "Alpha", "Beta", "--lattice", "1", "--name", "Pair of ratios"},
    {"limit", "add", "Alpha", "5", "--source", "a paper"},
    {"ceiling", "set", "base", "20%"},
    {"filling", "add", "10g", "20%", "--filter-on", "2030-01-01"},
};

/* What another library holds, which comes in. */
static const char *const other_story[][PROMISE_WORDS] = {
    {"material", "add", "Beta"},
    {"material", "add", "Rope"},
    {"new", "Inner", "--accord"},
    {"add", "Inner", "Rope", "1000"},
    {"keep", "Inner"},
    {"new", "Heart"},
    {"add", "Heart", "Inner/1", "300", "--accord"},
    {"add", "Heart", "Beta", "700"},
    {"swap", "Heart", "Beta", "Rope"},
};

const struct pm_cli_command *promise_command(const char *const *words)
{
    char pair[64];
    snprintf(pair, sizeof pair, "%s %s", words[0], words[1]);
    const struct pm_cli_command *command = pm_cli_find(&pm_cli_all_topics, pair);
    if (command == NULL)
        command = pm_cli_find(&pm_cli_all_topics, words[0]);
    if (command == NULL)
        fail_msg("there is no command %s", words[0]);
    return command;
}

/* ---- the person, who may give up whenever asked ---- */

static struct {
    long asked, stop_at; /* 0: never */
} person;

static bool person_stops(void *context)
{
    (void)context;
    return ++person.asked == person.stop_at;
}

struct promise_terminal promise_terminal;

static int64_t a_second_later(void *context)
{
    (void)context;
    if (++promise_terminal.asked == promise_terminal.interrupt_at)
        raise(SIGINT);
    return promise_terminal.now += 1000;
}

/* ---- running ---- */

struct ran promise_run(const char *const *words, FILE *out)
{
    const char *argv[PROMISE_WORDS + 5] = {"permille", "--db", promise.world.path};
    struct ran ran = {0};
    char code[8], table[128];
    size_t size;
    int argc = 3;

    for (size_t i = 0; i < PROMISE_WORDS && words[i] != NULL; i++)
        argv[argc++] = words[i];
    if (strcmp(argv[argc - 1], "TABLE") == 0)
        argv[argc - 1] = world_path(&promise.world, "table.csv", table);
    if (strcmp(argv[argc - 1], "OUT") == 0)
        argv[argc - 1] = world_path(&promise.world, "out.db", table);
    if (strcmp(argv[argc - 1], "OTHER") == 0)
        argv[argc - 1] = world_path(&promise.world, "other.db", table);
    if (strcmp(argv[argc - 1], "LIMITS") == 0)
        argv[argc - 1] = world_path(&promise.world, "limits.csv", table);
    if (strcmp(argv[argc - 1], "-") == 0) {
        snprintf(code, sizeof code, "%s", getenv("PERMILLE_CODE"));
        argv[argc - 1] = code;
    }
    if (!promise.as_text && (promise_command(words)->forms & PM_CLI_JSON) != 0)
        argv[argc++] = "--json";
    const struct pm_cli_front front = {.topics = &pm_cli_all_topics,
                                       .out = out,
                                       .err = open_memstream(&ran.err, &size),
                                       .clock = &promise.world.clock,
                                       .err_columns = promise_terminal.there ? 60 : 0,
                                       .milliseconds = a_second_later,
                                       .stopped = promise_terminal.there ? NULL : person_stops};
    ran.status = pm_cli_run(&front, argc, argv);
    fclose(front.err);
    fclose(out);
    return ran;
}

struct ran promise_answer(const char *const *words, char **out)
{
    size_t size;
    return promise_run(words, open_memstream(out, &size));
}

FILE *promise_nowhere(void)
{
    return fopen("/dev/null", "w");
}

uint64_t promise_content(void)
{
    sqlite3 *db = NULL;
    sqlite3_stmt *tables = NULL, *rows = NULL;
    uint64_t crc = 0;

    assert_int_equal(SQLITE_OK,
                     sqlite3_open_v2(promise.world.path, &db, SQLITE_OPEN_READWRITE, NULL));
    assert_int_equal(SQLITE_OK, sqlite3_prepare_v2(db,
                                                   "SELECT name FROM sqlite_schema WHERE type = "
                                                   "'table' AND name <> 'library' ORDER BY name",
                                                   -1, &tables, NULL));
    while (sqlite3_step(tables) == SQLITE_ROW) {
        char *sql = sqlite3_mprintf("SELECT * FROM \"%w\"", sqlite3_column_text(tables, 0));
        assert_int_equal(SQLITE_OK, sqlite3_prepare_v2(db, sql, -1, &rows, NULL));
        int rc;
        while ((rc = sqlite3_step(rows)) == SQLITE_ROW)
            for (int i = 0; i < sqlite3_column_count(rows); i++)
                crc = pm_crc_add(pm_crc_value(crc, i, sqlite3_column_value(rows, i)), "|", 1);
        assert_int_equal(rc, SQLITE_DONE);
        sqlite3_finalize(rows);
        sqlite3_free(sql);
    }
    sqlite3_finalize(tables);
    sqlite3_close(db);
    return crc;
}

void promise_put_back(void)
{
    world_save(promise.world.path, promise.data, promise.length);
}

void promise_does(const char *const *words)
{
    struct ran ran = promise_run(words, promise_nowhere());
    if (ran.status != 0)
        fail_msg("%s %s: ended with %d: %s", words[0], words[1], ran.status, ran.err);
    free(ran.err);
}

/* The code a person could answer with in the first round of the blind test. */
static void find_code(void)
{
    const char *const words[] = {"panel", "codes", "Pair", NULL};
    char *page = NULL, *code;

    struct ran ran = promise_answer(words, &page);
    assert_int_equal(ran.status, 0);
    code = strstr(page, "\"codes\":[\"");
    assert_non_null(code);
    code += strlen("\"codes\":[\"");
    code[strcspn(code, "\"")] = '\0';
    setenv("PERMILLE_CODE", code, 1);
    free(page);
    free(ran.err);
}

int promise_set_up(void **state)
{
    char path[128];

    (void)state;
    watch_memory();
    fault_register();
    assert_int_equal(SQLITE_OK, sqlite3_vfs_register(sqlite3_vfs_find(fault_vfs()), 1));
    world_make(&promise.world);
    FILE *table = fopen(world_path(&promise.world, "table.csv", path), "w");
    fputs("name,kind\r\nZeta,chemical\r\nEta,natural\r\n", table);
    fclose(table);
    table = fopen(world_path(&promise.world, "limits.csv", path), "w");
    fputs("name,scope,percent,source\r\nBeta,4,2,a paper\r\n", table);
    fclose(table);
    for (size_t i = 0; i < sizeof other_story / sizeof other_story[0]; i++)
        promise_does(other_story[i]);
    assert_int_equal(0, rename(promise.world.path, world_path(&promise.world, "other.db", path)));
    for (size_t i = 0; i < sizeof story / sizeof story[0]; i++)
        promise_does(story[i]);
    find_code();
    promise.length = world_load(promise.world.path, &promise.data);
    return 0;
}

int promise_tear_down(void **state)
{
    (void)state;
    world_remove(&promise.world);
    free(promise.data);
    return 0;
}

/* ---- the promise ---- */

void promise_judge(const char *const *words, const char *fault, long k, const struct ran *ran,
                   uint64_t before)
{
    const bool changed = promise_content() != before;
    const bool unsure = strstr(ran->err, "not certain") != NULL;
    const char *wrong = NULL;

    if (ran->status == 0 && !changed)
        wrong = "nothing was changed";
    else if ((ran->status == 1 || ran->status == 2) && changed)
        wrong = "the change was written";
    else if (ran->status == 3 && !changed && !unsure)
        wrong = "nothing was changed, and it does not say that it is not certain";
    else if (ran->status != 0 && strstr(ran->err, "permille: ") == NULL)
        wrong = "there is no sentence";
    if (wrong != NULL)
        fail_msg("%s %s, %s %ld: ended with %d, but %s: %s", words[0], words[1], fault, k,
                 ran->status, wrong, ran->err);
}

/* ---- the faults ---- */

const char *const promise_fault_names[FAULTS] = {"request for memory", "SQLite's request",
                                                 "write failing",      "write failing late",
                                                 "read failing",       "giving up"};

void promise_arm(enum fault fault, long k)
{
    static const enum fault_kind kinds[] = {
        [WRITE_FAILS] = FAULT_ONCE, [WRITE_IS_LATE] = FAULT_LATE, [READ_FAILS] = FAULT_READ};
    if (fault == STOPPED) {
        person.asked = 0;
        person.stop_at = k;
    } else if (fault == OWN_MEMORY) {
        pm_mem_fail_at(k, false);
    } else if (fault == SQLITE_MEMORY) {
        memory.asked = 0;
        memory.fail_at = k;
    } else {
        fault_arm(kinds[fault], k);
    }
}

long promise_disarm(enum fault fault)
{
    if (fault == STOPPED) {
        person.stop_at = 0;
        return person.asked;
    }
    if (fault == OWN_MEMORY)
        return pm_mem_fail_at(0, false);
    if (fault == SQLITE_MEMORY) {
        memory.fail_at = 0;
        return memory.asked;
    }
    return fault_disarm();
}

long promise_next(long k, long times)
{
    const long last = times - LAST + 1, far = k + (times - LAST) / SPREAD;

    if (fault_all() || k >= last || far <= k)
        return k + 1;
    return far < last ? far : last;
}

static void try_fault(const char *const *words, enum fault fault, uint64_t before)
{
    promise_put_back();
    promise_arm(fault, 1000000000);
    promise_does(words);
    const long times = promise_disarm(fault);
    for (long k = 1; k <= times; k = promise_next(k, times)) {
        promise_put_back();
        promise_arm(fault, k);
        struct ran ran = promise_run(words, promise_nowhere());
        promise_disarm(fault);
        promise_judge(words, promise_fault_names[fault], k, &ran, before);
        free(ran.err);
    }
}

void promise_try_all(enum fault fault)
{
    promise_put_back();
    const uint64_t before = promise_content();
    for (size_t i = 0; i < promise_command_count; i++)
        try_fault(promise_commands[i], fault, before);
}
