/* SPDX-License-Identifier: MIT */
/* What an exit status promises, for every command that changes the library: whatever fails, 0 and 3
 * mean that the change was written, 1 and 2 that nothing was. Requests for memory, SQLite's own,
 * reads and writes of the file, and the writing of the answer are made to fail one by one. */
#include "src/cli/parse.h"
#include "src/store/checksum.h"
#include "tests/store/fault_vfs.h"
#include "tests/store/world.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"

#include <setjmp.h>
#include <signal.h>
#include <stdarg.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <cmocka.h>

#define WORDS_MOST 12

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

static struct {
    struct world world;
    unsigned char *data; /* the library before each command */
    size_t length;
    bool as_text; /* answers are asked for as text, not as JSON */
} bench;

/* The command's words; one row for every command that changes, more where it has ways. */
static const char *const commands[][WORDS_MOST] = {
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

/* What the library holds before. */
static const char *const story[][WORDS_MOST] = {
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
static const char *const other_story[][WORDS_MOST] = {
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

static const struct pm_cli_command *command_of(const char *const *words)
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

/* A terminal before which every question finds a second gone by; at one of them Ctrl-C is typed. */
static struct {
    bool there;
    int64_t now;
    long asked, interrupt_at; /* 0: never */
} terminal;

static int64_t a_second_later(void *context)
{
    (void)context;
    if (++terminal.asked == terminal.interrupt_at)
        raise(SIGINT);
    return terminal.now += 1000;
}

/* ---- running ---- */

struct ran {
    int status;
    char *err;
};

/* Runs the words as the program would; `out` is closed. */
static struct ran run(const char *const *words, FILE *out)
{
    const char *argv[WORDS_MOST + 5] = {"permille", "--db", bench.world.path};
    struct ran ran = {0};
    char code[8], table[128];
    size_t size;
    int argc = 3;

    for (size_t i = 0; i < WORDS_MOST && words[i] != NULL; i++)
        argv[argc++] = words[i];
    if (strcmp(argv[argc - 1], "TABLE") == 0)
        argv[argc - 1] = world_path(&bench.world, "table.csv", table);
    if (strcmp(argv[argc - 1], "OUT") == 0)
        argv[argc - 1] = world_path(&bench.world, "out.db", table);
    if (strcmp(argv[argc - 1], "OTHER") == 0)
        argv[argc - 1] = world_path(&bench.world, "other.db", table);
    if (strcmp(argv[argc - 1], "LIMITS") == 0)
        argv[argc - 1] = world_path(&bench.world, "limits.csv", table);
    if (strcmp(argv[argc - 1], "-") == 0) {
        snprintf(code, sizeof code, "%s", getenv("PERMILLE_CODE"));
        argv[argc - 1] = code;
    }
    if (!bench.as_text && (command_of(words)->forms & PM_CLI_JSON) != 0)
        argv[argc++] = "--json";
    const struct pm_cli_front front = {.topics = &pm_cli_all_topics,
                                       .out = out,
                                       .err = open_memstream(&ran.err, &size),
                                       .clock = &bench.world.clock,
                                       .err_columns = terminal.there ? 60 : 0,
                                       .milliseconds = a_second_later,
                                       .stopped = terminal.there ? NULL : person_stops};
    ran.status = pm_cli_run(&front, argc, argv);
    fclose(front.err);
    fclose(out);
    return ran;
}

static FILE *nowhere(void)
{
    return fopen("/dev/null", "w");
}

/* A number that stands for everything in the library but the mark of its last commit. */
static uint64_t content(void)
{
    sqlite3 *db = NULL;
    sqlite3_stmt *tables = NULL, *rows = NULL;
    uint64_t crc = 0;

    assert_int_equal(SQLITE_OK,
                     sqlite3_open_v2(bench.world.path, &db, SQLITE_OPEN_READWRITE, NULL));
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

static void put_back(void)
{
    world_save(bench.world.path, bench.data, bench.length);
}

static void does(const char *const *words)
{
    struct ran ran = run(words, nowhere());
    if (ran.status != 0)
        fail_msg("%s %s: ended with %d: %s", words[0], words[1], ran.status, ran.err);
    free(ran.err);
}

/* The code a person could answer with in the first round of the blind test. */
static void find_code(void)
{
    const char *const words[] = {"panel", "codes", "Pair", NULL};
    char *page = NULL, *code;
    size_t size;

    struct ran ran = run(words, open_memstream(&page, &size));
    assert_int_equal(ran.status, 0);
    code = strstr(page, "\"codes\":[\"");
    assert_non_null(code);
    code += strlen("\"codes\":[\"");
    code[strcspn(code, "\"")] = '\0';
    setenv("PERMILLE_CODE", code, 1);
    free(page);
    free(ran.err);
}

static int set_up(void **state)
{
    char path[128];

    (void)state;
    fault_register();
    assert_int_equal(SQLITE_OK, sqlite3_vfs_register(sqlite3_vfs_find(fault_vfs()), 1));
    world_make(&bench.world);
    FILE *table = fopen(world_path(&bench.world, "table.csv", path), "w");
    fputs("name,kind\r\nZeta,chemical\r\nEta,natural\r\n", table);
    fclose(table);
    table = fopen(world_path(&bench.world, "limits.csv", path), "w");
    fputs("name,scope,percent,source\r\nBeta,4,2,a paper\r\n", table);
    fclose(table);
    for (size_t i = 0; i < sizeof other_story / sizeof other_story[0]; i++)
        does(other_story[i]);
    assert_int_equal(0, rename(bench.world.path, world_path(&bench.world, "other.db", path)));
    for (size_t i = 0; i < sizeof story / sizeof story[0]; i++)
        does(story[i]);
    find_code();
    bench.length = world_load(bench.world.path, &bench.data);
    return 0;
}

static int tear_down(void **state)
{
    (void)state;
    world_remove(&bench.world);
    free(bench.data);
    return 0;
}

/* ---- the promise ---- */

static void judge(const char *const *words, const char *fault, long k, const struct ran *ran,
                  uint64_t before)
{
    const bool changed = content() != before;
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

enum fault { OWN_MEMORY, SQLITE_MEMORY, WRITE_FAILS, WRITE_IS_LATE, READ_FAILS, STOPPED, FAULTS };

static const char *const fault_names[FAULTS] = {"request for memory", "SQLite's request",
                                                "write failing",      "write failing late",
                                                "read failing",       "giving up"};

static void arm(enum fault fault, long k)
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

/* Ends the fault; how many times it could have happened. */
static long disarm(enum fault fault)
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

/* After time k of `times`: the next one of those spread, then each of the last. */
static long next_time(long k, long times)
{
    const long last = times - LAST + 1, far = k + (times - LAST) / SPREAD;

    if (fault_all() || k >= last || far <= k)
        return k + 1;
    return far < last ? far : last;
}

static void try_fault(const char *const *words, enum fault fault, uint64_t before)
{
    put_back();
    arm(fault, 1000000000);
    does(words);
    const long times = disarm(fault);
    for (long k = 1; k <= times; k = next_time(k, times)) {
        put_back();
        arm(fault, k);
        struct ran ran = run(words, nowhere());
        disarm(fault);
        judge(words, fault_names[fault], k, &ran, before);
        free(ran.err);
    }
}

static void try_all(enum fault fault)
{
    put_back();
    const uint64_t before = content();
    for (size_t i = 0; i < sizeof commands / sizeof commands[0]; i++)
        try_fault(commands[i], fault, before);
}

static void memory_fails(void **state)
{
    (void)state;
    try_all(OWN_MEMORY);
}

static void sqlites_memory_fails(void **state)
{
    (void)state;
    try_all(SQLITE_MEMORY);
}

static void writes_fail(void **state)
{
    (void)state;
    try_all(WRITE_FAILS);
    try_all(WRITE_IS_LATE);
}

static void reads_fail(void **state)
{
    (void)state;
    try_all(READ_FAILS);
}

/* Whenever it is asked: refused, with its sentence, and nothing changed. */
static void the_person_gives_up(void **state)
{
    (void)state;
    put_back();
    const uint64_t before = content();
    for (size_t i = 0; i < sizeof commands / sizeof commands[0]; i++) {
        put_back();
        arm(STOPPED, 1000000000);
        does(commands[i]);
        const long times = disarm(STOPPED);
        assert_true(times > 0);
        for (long k = 1; k <= times; k = next_time(k, times)) {
            put_back();
            arm(STOPPED, k);
            struct ran ran = run(commands[i], nowhere());
            disarm(STOPPED);
            judge(commands[i], "giving up", k, &ran, before);
            if (ran.status != 1 || strstr(ran.err, "Given up; nothing was changed") == NULL)
                fail_msg("%s %s, giving up %ld: ended with %d: %s", commands[i][0], commands[i][1],
                         k, ran.status, ran.err);
            free(ran.err);
        }
    }
}

/* A copy that is given up is not there, nor anything of it. */
static void no_half_a_copy(void **state)
{
    static const char *const ways[][WORDS_MOST] = {{"backup", "OUT"}, {"salvage", "OUT"}};
    char path[128], list[256];
    (void)state;
    world_path(&bench.world, "out.db", path);
    snprintf(list, sizeof list, "ls -A '%s' | grep -q out", bench.world.folder);
    put_back();
    for (size_t i = 0; i < sizeof ways / sizeof ways[0]; i++) {
        arm(STOPPED, 1000000000);
        struct ran ran = run(ways[i], nowhere());
        const long times = disarm(STOPPED);
        assert_int_equal(ran.status, 0);
        assert_int_equal(unlink(path), 0);
        free(ran.err);
        assert_true(times > 1);
        /* The last question comes when all is done but the name. */
        for (long k = 1; k <= times; k = next_time(k, times)) {
            arm(STOPPED, k);
            ran = run(ways[i], nowhere());
            disarm(STOPPED);
            if (ran.status != 1 || strstr(ran.err, "Given up; nothing was changed") == NULL ||
                system(list) == 0)
                fail_msg("%s, giving up %ld of %ld: ended with %d: %s", ways[i][0], k, times,
                         ran.status, ran.err);
            free(ran.err);
        }
    }
}

/* How far it is stands on the terminal, and is gone when the command has ended. */
static void how_far_it_is(void **state)
{
    static const char *const words[] = {"verify", NULL};
    (void)state;
    put_back();
    terminal.there = true;
    struct ran ran = run(words, nowhere());
    assert_int_equal(ran.status, 0);
    assert_non_null(strstr(ran.err, "\rchecking the file (Ctrl-C gives it up)"));
    assert_non_null(strstr(ran.err, "\rchecking trials: 1 of "));
    const char *last = strrchr(ran.err, '\r');
    assert_string_equal(last, "\rThe library is sound.\n");
    free(ran.err);
    terminal.there = false;
    ran = run(words, nowhere()); /* a file that collects errors gets none of it */
    assert_string_equal(ran.err, "The library is sound.\n");
    free(ran.err);
}

/* The signal itself: refused, nothing changed, and afterwards it is nobody's. */
static void ctrl_c(void **state)
{
    static const char *const words[] = {"import", "OTHER", NULL};
    struct sigaction after;
    (void)state;
    put_back();
    const uint64_t before = content();
    signal(SIGINT, SIG_DFL);
    terminal.there = true;
    for (long k = 2; k < 40; k += 9) {
        terminal.asked = 0;
        terminal.interrupt_at = k;
        struct ran ran = run(words, nowhere());
        judge(words, "Ctrl-C", k, &ran, before);
        assert_int_equal(ran.status, 1);
        assert_non_null(strstr(ran.err, "Given up; nothing was changed."));
        free(ran.err);
        assert_int_equal(sigaction(SIGINT, NULL, &after), 0);
        assert_true(after.sa_handler == SIG_DFL);
    }
    terminal.there = false;
    terminal.interrupt_at = 0;
}

/* Whoever was to read the answer has gone. */
static FILE *broken_pipe(void)
{
    int ends[2];
    assert_int_equal(pipe(ends), 0);
    close(ends[0]);
    return fdopen(ends[1], "w");
}

static void answer_fails(const char *const *words, FILE *out, uint64_t before)
{
    put_back();
    struct ran ran = run(words, out);
    judge(words, "answer", 0, &ran, before);
    const bool answers = (command_of(words)->forms & PM_CLI_JSON) != 0;
    if (ran.status != (answers ? PM_CLI_UNANSWERED : PM_CLI_DONE))
        fail_msg("%s %s: ended with %d: %s", words[0], words[1], ran.status, ran.err);
    free(ran.err);
}

static void answers_fail(void **state)
{
    (void)state;
    put_back();
    const uint64_t before = content();
    for (size_t i = 0; i < sizeof commands / sizeof commands[0]; i++) {
        answer_fails(commands[i], fopen("/dev/full", "w"), before);
        answer_fails(commands[i], broken_pipe(), before);
    }
}

/* ---- answers ---- */

static const char *const readings[][WORDS_MOST] = {
    {"formulas"},
    {"show", "Heart"},
    {"show", "Holder", "--flat"},
    {"set", "Heart", "Alpha", "500", "--try"},
    {"trials", "Heart"},
    {"history", "Heart"},
    {"compare", "Heart/1", "Short/1"},
    {"smells", "Heart"},
    {"session", "list"},
    {"panel", "list"},
    {"panel", "show", "Pair"},
    {"series", "list"},
    {"series", "show", "1"},
    {"series", "weigh", "1", "10g"},
    {"material", "list"},
    {"material", "show", "Alpha"},
    {"bottle", "list"},
    {"bottle", "show", "B001"},
    {"dilute", "Alpha", "10%", "5g", "--in", "Carrier", "--try"},
    {"stock"},
    {"strengths", "Alpha"},
    {"standins", "Alpha"},
    {"needs", "Heart", "10g"},
    {"possible", "10g"},
    {"cost", "Heart", "--batch", "10g"},
    {"cost", "Heart", "--batch", "10g", "--currency", "USD"},
    {"rates"},
    {"plan", "list"},
    {"shopping"},
    {"shelf", "history"},
    {"weigh", "Heart/1", "10g"},
    {"batch", "list"},
    {"batch", "show", "2"},
    {"batch", "become", "2"},
    {"balance", "list"},
    {"filling", "list"},
    {"verify"},
    {"export", "--all"},
    {"export", "materials"},
    {"export", "--formulas"},
    {"import", "--plan", "OTHER"},
};

static struct ran read_with(const char *const *words, char **out)
{
    size_t size;
    return run(words, open_memstream(out, &size));
}

static int wrong_answers;

static void try_reading(const char *const *words, enum fault fault)
{
    char *wanted, *got;

    arm(fault, 1000000000);
    struct ran whole = read_with(words, &wanted);
    const long times = disarm(fault);
    if (whole.status != 0)
        fail_msg("%s %s: ended with %d: %s", words[0], words[1], whole.status, whole.err);
    const long step = times > 12 && !fault_all() ? times / 12 : 1;
    for (long k = 1; k <= times; k += step) {
        arm(fault, k);
        struct ran ran = read_with(words, &got);
        disarm(fault);
        const bool told = strstr(ran.err, "Out of memory") != NULL ||
                          strstr(ran.err, "The disk failed") != NULL ||
                          strstr(ran.err, "cannot be opened") != NULL ||
                          strstr(ran.err, "Given up") != NULL;
        if (ran.status == 0 ? strcmp(got, wanted) != 0 : !told || *got != '\0') {
            print_error("%s %s, %s %ld of %ld: ended with %d: %s\n%s", words[0], words[1],
                        fault_names[fault], k, times, ran.status, ran.err, got);
            wrong_answers++;
        }
        free(ran.err);
        free(got);
    }
    free(whole.err);
    free(wanted);
}

/* What is answered is the whole of it; and what is not says that memory or the disk failed, not
 * that a name is unknown or a file damaged. */
static void answers_are_whole(void **state)
{
    (void)state;
    put_back();
    for (size_t i = 0; i < sizeof readings / sizeof readings[0]; i++) {
        bench.as_text = true;
        try_reading(readings[i], OWN_MEMORY);
        bench.as_text = false;
        try_reading(readings[i], OWN_MEMORY);
        try_reading(readings[i], SQLITE_MEMORY);
        try_reading(readings[i], READ_FAILS);
    }
    assert_int_equal(0, wrong_answers);
}

/* ---- a hostile file ---- */

/* Everything a file can hold of text: colours, a title, a bell, half a character, a C1 control. */
#define HOSTILE "x'411B5B324A1B5D303B7A07C3C29B41'"

static void make_hostile(void)
{
    static const char *const changes[] = {
        "UPDATE formula SET name = CAST(" HOSTILE " AS TEXT) || id",
        "UPDATE bottle SET lot = CAST(" HOSTILE " AS TEXT), supplier = CAST(" HOSTILE " AS TEXT)",
        "UPDATE material_name SET name = CAST(" HOSTILE " AS TEXT) || material || place",
        "UPDATE panel SET name = CAST(" HOSTILE " AS TEXT)",
        "UPDATE movement SET note = CAST(" HOSTILE " AS TEXT)",
        "UPDATE revision SET sentence = CAST(" HOSTILE " AS TEXT)",
        "UPDATE shelf_entry SET sentence = CAST(" HOSTILE " AS TEXT)",
        "UPDATE planned_batch SET note = CAST(" HOSTILE " AS TEXT)",
    };
    sqlite3 *db = NULL;
    assert_int_equal(SQLITE_OK, sqlite3_open(bench.world.path, &db));
    sqlite3_db_config(db, SQLITE_DBCONFIG_ENABLE_TRIGGER, 0, NULL);
    for (size_t i = 0; i < sizeof changes / sizeof changes[0]; i++)
        sqlite3_exec(db, changes[i], NULL, NULL, NULL); /* of a step without the table: nothing */
    assert_true(sqlite3_total_changes(db) > 20);
    sqlite3_close(db);
}

static void is_clean(const char *const *words, const char *what, const char *text)
{
    for (const unsigned char *at = (const unsigned char *)text; *at != '\0';) {
        uint32_t code;
        const size_t length = pm_utf8_decode((const char *)at, strlen((const char *)at), &code);
        const bool invalid = code == 0xFFFD && length == 1;
        const bool control =
            (code < 0x20 && code != '\n' && code != '\t' && !(code == '\r' && at[1] == '\n')) ||
            (code >= 0x7F && code < 0xA0);
        if (invalid || control)
            fail_msg("%s %s, %s: byte %02x in: %s", words[0], words[1], what, *at, text);
        at += length;
    }
}

/* Formulas and bottles are asked for by what cannot be hostile. */
static void nothing_in_the_file_steers_the_terminal(void **state)
{
    static const char *const asked[][WORDS_MOST] = {
        {"formulas"},
        {"session", "list"},
        {"panel", "list"},
        {"material", "list"},
        {"bottle", "list"},
        {"stock"},
        {"possible", "10g"},
        {"plan", "list"},
        {"shopping"},
        {"shelf", "history"},
        {"verify"},
        {"smells", "--due"},
        {"bottle", "show", "B001"},
        {"bottle", "pour", "B001", "1g"},
        {"shelf", "undo"},
        {"compare", "Heart/1", "Short/1"},
        {"show", "Heart"},
        {"trials", "Heart"},
        {"history", "Heart"},
        {"panel", "show", "Pair"},
        {"set", "Heart", "#1", "500"},
        {"keep", "Heart"},
        {"rename", "Heart", "Beat"},
    };
    (void)state;
    put_back();
    make_hostile();
    for (size_t i = 0; i < sizeof asked / sizeof asked[0]; i++)
        for (int form = 0; form < 2; form++) {
            char *out;
            bench.as_text = form == 0;
            struct ran ran = read_with(asked[i], &out);
            bench.as_text = false;
            is_clean(asked[i], "answer", out);
            is_clean(asked[i], "standard error", ran.err);
            free(out);
            free(ran.err);
        }
}

/* A currency is three capital letters, or the file is damaged. */
static void a_currency_is_three_letters(void **state)
{
    static const char *const show[] = {"bottle", "show", "B001", NULL};
    sqlite3 *db = NULL;
    char *out;

    (void)state;
    put_back();
    assert_int_equal(SQLITE_OK, sqlite3_open(bench.world.path, &db));
    sqlite3_exec(db,
                 "PRAGMA ignore_check_constraints = ON; "
                 "UPDATE bottle SET currency = char(27) || '[m' WHERE currency = 'EUR'",
                 NULL, NULL, NULL);
    assert_true(sqlite3_total_changes(db) > 0);
    sqlite3_close(db);
    struct ran ran = read_with(show, &out);
    assert_int_equal(ran.status, 1);
    assert_non_null(strstr(ran.err, "damaged"));
    free(out);
    free(ran.err);
}

static void every_command_that_changes_is_tried(void **state)
{
    (void)state;
    const struct pm_cli_command *command;
    for (size_t n = 0; (command = pm_cli_command_at(&pm_cli_all_topics, n)) != NULL; n++) {
        bool tried = false;
        for (size_t i = 0; i < sizeof commands / sizeof commands[0]; i++)
            tried = tried || command_of(commands[i]) == command;
        if (tried != command->changes)
            fail_msg("%s: %s", command->name,
                     tried ? "changes, but its row does not say so" : "has no row here");
    }
}

int main(void)
{
    watch_memory();
    cmocka_set_test_filter(getenv("PERMILLE_TEST")); /* NULL: all */
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_command_that_changes_is_tried),
        cmocka_unit_test(answers_fail),
        cmocka_unit_test(the_person_gives_up),
        cmocka_unit_test(no_half_a_copy),
        cmocka_unit_test(how_far_it_is),
        cmocka_unit_test(ctrl_c),
        cmocka_unit_test(answers_are_whole),
        cmocka_unit_test(nothing_in_the_file_steers_the_terminal),
        cmocka_unit_test(a_currency_is_three_letters),
        cmocka_unit_test(memory_fails),
        cmocka_unit_test(sqlites_memory_fails),
        cmocka_unit_test(writes_fail),
        cmocka_unit_test(reads_fail),
    };
    return cmocka_run_group_tests(tests, set_up, tear_down);
}
