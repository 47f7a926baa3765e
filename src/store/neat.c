/* SPDX-License-Identifier: MIT */
/* Cores of libraries from before weights were kept: their numbers become neat, once. */
#include "neat.h"
#include "checksum.h"

#include "permille/base/mem.h"

static int prepare(sqlite3 *db, const char *sql, int64_t trial, sqlite3_stmt **out)
{
    int rc = sqlite3_prepare_v2(db, sql, -1, out, NULL);
    return rc == SQLITE_OK ? sqlite3_bind_int64(*out, 1, trial) : rc;
}

/* One row of the statement in read_lines. */
static int read_line(sqlite3_stmt *row, struct pm_trial *out)
{
    struct pm_line line = {.id = sqlite3_column_int64(row, 0),
                           .ref = sqlite3_column_int64(row, 1),
                           .strength = sqlite3_column_int64(row, 3),
                           .solvent = sqlite3_column_int64(row, 4),
                           .parts = sqlite3_column_int64(row, 5),
                           .core = sqlite3_column_int(row, 7),
                           .weight = sqlite3_column_int64(row, 8),
                           .kind = PM_LINE_MATERIAL};
    const char *stance = (const char *)sqlite3_column_text(row, 6);
    if (line.ref == 0) {
        line.kind = PM_LINE_ACCORD;
        line.ref = sqlite3_column_int64(row, 2);
    }
    if (stance == NULL || !pm_stance_from_word(stance, &line.stance))
        return SQLITE_CORRUPT;
    if (pm_trial_insert(out, out->count, &line, NULL) != PM_OK)
        return SQLITE_NOMEM;
    struct pm_line *made = &out->lines[out->count - 1];
    const char *comment = (const char *)sqlite3_column_text(row, 9);
    made->share = pm_line_plain_share(made);
    made->comment = pm_strdup(comment);
    return comment != NULL && made->comment == NULL ? SQLITE_NOMEM : SQLITE_OK;
}

static int read_lines(sqlite3 *db, int64_t trial, struct pm_trial *out)
{
    sqlite3_stmt *rows = NULL;
    int rc =
        prepare(db,
                "SELECT line, material, accord, strength, solvent, parts, stance, core, weight, "
                "comment FROM line WHERE trial = ?1 ORDER BY place, line",
                trial, &rows);
    while (rc == SQLITE_OK && (rc = sqlite3_step(rows)) == SQLITE_ROW)
        rc = read_line(rows, out);
    sqlite3_finalize(rows);
    return rc == SQLITE_DONE ? SQLITE_OK : rc;
}

/* Whether the lines are what the trial's checksum was made of. */
static int is_whole(sqlite3 *db, int64_t trial, const struct pm_trial *lines, bool *whole)
{
    sqlite3_stmt *row = NULL;
    int rc = prepare(db, "SELECT content FROM trial WHERE id = ?1", trial, &row);
    if (rc == SQLITE_OK && (rc = sqlite3_step(row)) == SQLITE_ROW) {
        *whole = sqlite3_column_int64(row, 0) == (int64_t)pm_crc_lines(lines);
        rc = SQLITE_OK;
    }
    sqlite3_finalize(row);
    return rc;
}

static int write_numbers(sqlite3 *db, int64_t trial, const struct pm_trial *lines)
{
    int rc = SQLITE_OK;
    for (size_t i = 0; rc == SQLITE_OK && i < lines->count; i++) {
        sqlite3_stmt *update = NULL;
        rc = prepare(db, "UPDATE line SET weight = ?2 WHERE trial = ?1 AND line = ?3", trial,
                     &update);
        if (rc == SQLITE_OK)
            rc = sqlite3_bind_int64(update, 2, lines->lines[i].weight);
        if (rc == SQLITE_OK)
            rc = sqlite3_bind_int64(update, 3, lines->lines[i].id);
        if (rc == SQLITE_OK)
            rc = sqlite3_step(update) == SQLITE_DONE ? SQLITE_OK : sqlite3_errcode(db);
        sqlite3_finalize(update);
    }
    return rc;
}

static int write_content(sqlite3 *db, int64_t trial, const struct pm_trial *lines)
{
    sqlite3_stmt *update = NULL;
    int rc = prepare(db,
                     "UPDATE trial SET content = ?2, checksum = pm_checksum('trial', id, formula, "
                     "number, parent, head, mode, base, settled, next_line, line_count, total, ?2, "
                     "made_at, kept_at, note) WHERE id = ?1",
                     trial, &update);
    if (rc == SQLITE_OK)
        rc = sqlite3_bind_int64(update, 2, (int64_t)pm_crc_lines(lines));
    if (rc == SQLITE_OK)
        rc = sqlite3_step(update) == SQLITE_DONE ? SQLITE_OK : sqlite3_errcode(db);
    sqlite3_finalize(update);
    return rc;
}

static int make_neat(sqlite3 *db, int64_t trial)
{
    struct pm_trial lines;
    bool whole = false;
    pm_trial_init(&lines, PM_PART, PM_OPEN);
    int rc = read_lines(db, trial, &lines);
    if (rc == SQLITE_OK)
        rc = is_whole(db, trial, &lines, &whole);
    if (rc == SQLITE_OK && whole) {
        pm_trial_neat_ratios(&lines);
        rc = write_numbers(db, trial, &lines);
        if (rc == SQLITE_OK)
            rc = write_content(db, trial, &lines);
    }
    pm_trial_release(&lines);
    return rc == SQLITE_CORRUPT ? SQLITE_OK : rc; /* verify will tell */
}

static void neat_cores(sqlite3_context *context, int count, sqlite3_value **values)
{
    sqlite3 *db = sqlite3_context_db_handle(context);
    sqlite3_stmt *trials = NULL;
    (void)count;
    (void)values;
    int rc = sqlite3_prepare_v2(db,
                                "SELECT DISTINCT trial FROM line WHERE core > 0 AND strength < "
                                "1000000000 ORDER BY trial",
                                -1, &trials, NULL);
    while (rc == SQLITE_OK && (rc = sqlite3_step(trials)) == SQLITE_ROW)
        rc = make_neat(db, sqlite3_column_int64(trials, 0));
    sqlite3_finalize(trials);
    if (rc == SQLITE_DONE || rc == SQLITE_OK)
        sqlite3_result_null(context);
    else
        sqlite3_result_error_code(context, rc);
}

int pm_neat_register(sqlite3 *db)
{
    return sqlite3_create_function_v2(db, "pm_neat_cores", 0, SQLITE_UTF8 | SQLITE_DIRECTONLY, NULL,
                                      neat_cores, NULL, NULL, NULL);
}
