/* SPDX-License-Identifier: MIT */
/*
 * Bringing in 100,000 lines: a table of materials and a table of formulas, beside the sqlite3
 * shell's own import of the same file in the same run; and a whole library's document, parsed by
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

static struct pm_text make_table(bool formulas)
{
    struct pm_text text = PM_TEXT_EMPTY;
    pm_text_add(&text, formulas ? "formula,material,parts\r\n" : "name,kind,cas,family\r\n");
    for (int i = 0; i < LINES; i++)
        if (formulas)
            pm_text_addf(&text, "Formula %d,Note %d of the row,10\r\n", i / 100, i);
        else
            pm_text_addf(&text, "Note %d of the row,chemical,,green\r\n", i);
    return text;
}

/* The shell's import into a table with a unique name; below 0 when there is no shell. */
static double shell_ms(const struct hand *hand, const struct pm_text *table)
{
    char path[128], command[800];
    snprintf(path, sizeof path, "%s/table.csv", hand->folder);
    FILE *file = fopen(path, "wb");
    if (file == NULL || fwrite(table->data, 1, table->length, file) != table->length ||
        fclose(file))
        return -1;
    snprintf(command, sizeof command,
             "rm -f %s/shell.db; sqlite3 %s/shell.db 'CREATE TABLE t (a TEXT, b TEXT, c TEXT, d "
             "TEXT, UNIQUE (a, b))' '.mode csv' '.import --skip 1 %s t' > %s/shell.log 2>&1",
             hand->folder, hand->folder, path, hand->folder);
    const double from = now_ms();
    return system(command) == 0 ? now_ms() - from : -1;
}

static void tell(const char *what, double ours, double theirs)
{
    printf("%-44s %8.0f ms   beside %8.0f ms   x%.1f\n", what, ours, theirs,
           theirs > 0 ? ours / theirs : 0.0);
}

static void bring_in(struct hand *hand)
{
    struct pm_text materials = make_table(false), formulas = make_table(true);
    struct pm_import_result result;
    struct pm_bringing bringing;
    double from = now_ms();
    hand_ok(hand, pm_shelf_import(hand->studio, pm_text_get(&materials), materials.length, &result,
                                  &hand->err));
    double took = now_ms() - from;
    tell("100,000 materials (sqlite3 .import)", took, shell_ms(hand, &materials));
    from = now_ms();
    hand_ok(hand, pm_bringing_read(hand->studio, pm_text_get(&formulas), formulas.length, NULL,
                                   &bringing, &hand->err));
    hand_ok(hand, pm_bringing_commit(hand->studio, &bringing, NULL, &hand->err));
    took = now_ms() - from;
    pm_bringing_release(&bringing);
    tell("1,000 formulas of 100 lines (sqlite3 .import)", took, shell_ms(hand, &formulas));
    pm_text_release(&materials);
    pm_text_release(&formulas);
}

static void parse(struct hand *hand)
{
    struct pm_text whole = PM_TEXT_EMPTY;
    struct pm_json_value *document = NULL;
    sqlite3 *db = NULL;
    sqlite3_stmt *count = NULL;
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
        tell("the whole library as JSON (SQLite's json_tree)", ours, now_ms() - from);
    }
    sqlite3_finalize(count);
    sqlite3_close(db);
    pm_text_release(&whole);
}

int main(void)
{
    void *state = NULL;
    if (hand_setup(&state) != 0)
        return 1;
    bring_in(state);
    parse(state);
    return hand_teardown(&state);
}
