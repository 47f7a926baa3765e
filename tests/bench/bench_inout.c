/* SPDX-License-Identifier: MIT */
/*
 * Bringing in 100,000 lines: a table of materials and tables of formulas, beside the sqlite3
 * shell's own import of the same file in paired runs; and a whole library's document, parsed by
 * jansson beside SQLite's own JSON functions.
 */
#include "permille/base/json_read.h"
#include "permille/base/mem.h"
#include "permille/base/text.h"
#include "permille/studio/bringing.h"
#include "permille/studio/whole.h"
#include "tests/studio/hand.h"

#include <sqlite3.h>
#include <stdio.h>
#include <stdlib.h>
#include <time.h>

#define LINES 100000

static double now_ms(void)
{
    struct timespec time;
    (void)clock_gettime(CLOCK_MONOTONIC, &time);
    return (double)time.tv_sec * 1e3 + (double)time.tv_nsec / 1e6;
}

/* What is brought in: materials; formulas of materials that are all there, each named once;
 * formulas of three hundred materials, all of them new. */
enum kind { MATERIALS, FORMULAS, NEW_FORMULAS, KINDS };
static const char *const titles[KINDS] = {"100,000 materials", "1,000 formulas, 100,000 materials",
                                          "1,000 formulas, empty library"};

static struct pm_text make_table(enum kind kind)
{
    struct pm_text text = PM_TEXT_EMPTY;
    pm_text_add(&text, kind == MATERIALS ? "name,kind,family\r\n" : "formula,material,parts\r\n");
    for (int i = 0; i < LINES; i++)
        if (kind == MATERIALS)
            pm_text_addf(&text, "Note %d of the row,chemical,green\r\n", i);
        else
            pm_text_addf(&text, "Formula %d,Note %d of the row,10\r\n", i / 100,
                         kind == FORMULAS ? i : i * 7 % 300);
    return text;
}

/* The shell's import into a table of as many columns, the first two unique; below 0 when there is
 * no shell, or it had something to say. */
static double shell_ms(const struct hand *hand, const struct pm_text *table)
{
    char path[128], command[800];
    snprintf(path, sizeof path, "%s/table.csv", hand->folder);
    FILE *file = fopen(path, "wb");
    if (file == NULL || fwrite(table->data, 1, table->length, file) != table->length ||
        fclose(file))
        return -1;
    snprintf(command, sizeof command,
             "rm -f %s/shell.db; sqlite3 %s/shell.db 'CREATE TABLE t (a TEXT, b TEXT, c TEXT, "
             "UNIQUE (a, b))' '.mode csv' '.import --skip 1 %s t' > %s/shell.log 2>&1 && "
             "test ! -s %s/shell.log",
             hand->folder, hand->folder, path, hand->folder, hand->folder);
    const double from = now_ms();
    return system(command) == 0 ? now_ms() - from : -1;
}

static int compare_doubles(const void *a, const void *b)
{
    const double left = *(const double *)a, right = *(const double *)b;
    return (left > right) - (left < right);
}

static void tell(const char *what, double ours, double theirs, double ratio)
{
    printf("%-48s %8.0f ms   beside %8.0f ms   x%.1f\n", what, ours, theirs, ratio);
}

static double materials_ms(struct hand *hand, const struct pm_text *table)
{
    struct pm_import_result result;
    const double from = now_ms();
    hand_ok(hand,
            pm_shelf_import(hand->studio, pm_text_get(table), table->length, &result, &hand->err));
    return now_ms() - from;
}

static double formulas_ms(struct hand *hand, const struct pm_text *table)
{
    struct pm_bringing bringing;
    const double from = now_ms();
    hand_ok(hand, pm_bringing_read(hand->studio, pm_text_get(table), table->length, NULL, &bringing,
                                   &hand->err));
    hand_ok(hand, pm_bringing_commit(hand->studio, &bringing, NULL, &hand->err));
    const double took = now_ms() - from;
    pm_bringing_release(&bringing);
    return took;
}

/* Pairs of ours and theirs, one right after the other and each into a new file: what else the
 * machine does meets both. The middle of the ratios counts. */
static void bring_in(enum kind kind)
{
    enum { PAIRS = 5 };
    struct pm_text table = make_table(kind), shelf = make_table(MATERIALS);
    double ours = 0, theirs = 0, ratios[PAIRS];
    for (int pair = 0; pair < PAIRS; pair++) {
        void *state = NULL;
        if (hand_setup(&state) != 0)
            exit(1);
        if (kind == FORMULAS)
            (void)materials_ms(state, &shelf);
        theirs = shell_ms(state, &table);
        ours = kind == MATERIALS ? materials_ms(state, &table) : formulas_ms(state, &table);
        ratios[pair] = theirs > 0 ? ours / theirs : 0;
        hand_teardown(&state);
    }
    qsort(ratios, PAIRS, sizeof ratios[0], compare_doubles);
    char what[64];
    tell(pm_print(what, sizeof what, "%s (sqlite3 .import)", titles[kind]), ours, theirs,
         ratios[PAIRS / 2]);
    pm_text_release(&table);
    pm_text_release(&shelf);
}

static void parse(struct hand *hand)
{
    struct pm_text materials = make_table(MATERIALS), whole = PM_TEXT_EMPTY;
    struct pm_json_value *document = NULL;
    sqlite3 *db = NULL;
    sqlite3_stmt *count = NULL;
    (void)materials_ms(hand, &materials);
    pm_text_release(&materials);
    hand_ok(hand, pm_studio_write_whole(hand->studio, &whole, &hand->err));
    double from = now_ms();
    hand_ok(hand, pm_json_read(pm_text_get(&whole), whole.length, &document, &hand->err));
    const double ours = now_ms() - from;
    pm_json_free(document);
    if (sqlite3_open(":memory:", &db) == SQLITE_OK &&
        sqlite3_prepare_v2(db, "SELECT count(*) FROM json_tree(?1)", -1, &count, NULL) ==
            SQLITE_OK) {
        from = now_ms();
        sqlite3_bind_text(count, 1, pm_text_get(&whole), -1, SQLITE_STATIC);
        sqlite3_step(count);
        const double theirs = now_ms() - from;
        tell("the whole library as JSON (SQLite's json_tree)", ours, theirs, ours / theirs);
    }
    sqlite3_finalize(count);
    sqlite3_close(db);
    pm_text_release(&whole);
}

int main(void)
{
    void *state = NULL;
    for (int kind = 0; kind < KINDS; kind++)
        bring_in((enum kind)kind);
    if (hand_setup(&state) != 0)
        return 1;
    parse(state);
    return hand_teardown(&state);
}
