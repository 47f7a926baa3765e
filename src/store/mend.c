/* SPDX-License-Identifier: MIT */
/*
 * Mending what was salvaged (see mend.h). Most of it is SQL that is run once, in order; trials are
 * mended one by one, because their rules live in core.
 */
#include "mend.h"
#include "connection.h"
#include "trials.h"

#include "permille/base/mem.h"
#include "permille/base/text.h"

#include <string.h>

void pm_mend_tell(const struct mender *mender, const char *format, ...)
{
    struct pm_text text = PM_TEXT_EMPTY;
    va_list args;
    va_start(args, format);
    pm_text_addv(&text, format, args);
    va_end(args);
    if (mender->finding != NULL) {
        mender->finding(mender->context,
                        pm_text_ok(&text) ? pm_text_get(&text) : "Something was mended.");
    }
    pm_text_release(&text);
}

/* ---- steps in SQL ---- */

struct step {
    const char *sql;
    const char *sentence; /* told with the number of rows when there were any; NULL: not told */
};

/* Before trials are looked at: everything that is referred to exists. */
static const struct step references[] = {
    {"INSERT INTO material (id, kind, note, set_aside, made_at, checksum) "
     "SELECT id, iif(id IN (SELECT solvent FROM line UNION SELECT solvent FROM bottle), 'solvent', "
     "'chemical'), 'Lost when the library was damaged.', 0, 0, 0 FROM "
     "(SELECT material AS id FROM line UNION SELECT solvent FROM line "
     "UNION SELECT material FROM bottle UNION SELECT solvent FROM bottle "
     "UNION SELECT material FROM batch_line UNION SELECT solvent FROM batch_line "
     "UNION SELECT material FROM material_name UNION SELECT material FROM calibration) "
     "WHERE id > 0 AND id NOT IN (SELECT id FROM material)",
     "%d materials were lost; what is known of them stands under their number."},
    {"DELETE FROM material_name WHERE material NOT IN (SELECT id FROM material)", NULL},
    {"INSERT INTO material_name (material, place, name, folded, checksum) "
     "SELECT id, 0, 'Lost material ' || id, 'lost material ' || id, 0 FROM material "
     "WHERE id NOT IN (SELECT material FROM material_name WHERE place = 0)",
     "%d names of materials were lost; they are called \"Lost material\" and their number."},
    {"UPDATE material SET merged_into = NULL "
     "WHERE merged_into NOT IN (SELECT id FROM material)",
     NULL},
    {"INSERT INTO formula (id, name, folded, accord, set_aside, made_at, changed_at, kept, "
     "revisions, chain, checksum) SELECT id, 'Lost formula ' || id, 'lost formula ' || id, 0, 0, "
     "0, 0, 0, 0, 0, 0 FROM (SELECT formula AS id FROM trial UNION SELECT formula FROM revision) "
     "WHERE id > 0 AND id NOT IN (SELECT id FROM formula)",
     "%d formulas were lost; their trials stand under \"Lost formula\" and a number."},
    /* Trials that are referred to but gone: kept trials of one new formula, in order of id. */
    {"CREATE TEMP TABLE lost AS SELECT id, row_number() OVER (ORDER BY id) AS number FROM "
     "(SELECT trial AS id FROM line UNION SELECT accord FROM line UNION SELECT trial FROM "
     "revision UNION SELECT trial FROM smell UNION SELECT trial FROM application UNION "
     "SELECT trial FROM panel_sample UNION SELECT trial FROM series_trial UNION "
     "SELECT trial FROM rating) WHERE id > 0 AND id NOT IN (SELECT id FROM trial)",
     NULL},
    {"INSERT INTO formula (id, name, folded, accord, set_aside, made_at, changed_at, kept, "
     "revisions, chain, checksum) SELECT (SELECT ifnull(max(id), 0) + 1 FROM formula), "
     "'Lost trials', 'lost trials', 1, 0, 0, 0, 0, 0, 0, 0 WHERE EXISTS (SELECT 1 FROM lost)",
     NULL},
    {"INSERT INTO trial (id, formula, number, mode, base, settled, next_line, line_count, total, "
     "content, made_at, kept_at, note, checksum) SELECT id, (SELECT max(id) FROM formula), number, "
     "'open', 1000000000, 0, 1, 0, 0, 0, 0, 0, 'Lost when the library was damaged.', 0 FROM lost",
     "%d trials were lost; what is left of them stands under \"Lost trials\"."},
    {"DROP TABLE lost", NULL},
    /* Kept trials keep their numbers: gaps are filled with empty ones. */
    {"INSERT INTO trial (id, formula, number, mode, base, settled, next_line, line_count, total, "
     "content, made_at, kept_at, note, checksum) "
     "WITH RECURSIVE n (i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n "
     "WHERE i < (SELECT min(max(number), 10000) FROM trial)) "
     "SELECT (SELECT max(id) FROM trial) + row_number() OVER (), f.id, n.i, 'open', 1000000000, "
     "0, 1, 0, 0, 0, 0, 0, 'Lost when the library was damaged.', 0 FROM formula AS f JOIN n "
     "ON n.i < (SELECT max(number) FROM trial WHERE formula = f.id) "
     "WHERE NOT EXISTS (SELECT 1 FROM trial WHERE formula = f.id AND number = n.i)",
     "%d kept trials were lost; empty ones stand in their place."},
    {"INSERT INTO trial (id, formula, mode, base, settled, next_line, line_count, total, content, "
     "made_at, checksum) SELECT (SELECT ifnull(max(id), 0) FROM trial) + row_number() OVER (), id, "
     "'share', 1000000000, 0, 1, 0, 0, 0, 0, 0 FROM formula "
     "WHERE id NOT IN (SELECT formula FROM trial WHERE kept_at IS NULL)",
     "%d drafts are new and empty."},
    {"UPDATE trial SET parent = NULL WHERE parent NOT IN (SELECT id FROM trial)", NULL},
    {"UPDATE trial SET head = NULL WHERE head IS NOT NULL AND head NOT IN (SELECT id FROM "
     "revision)",
     "%d trials cannot be undone: their last revision was lost."},
    {"UPDATE revision SET parent = NULL WHERE parent IS NOT NULL AND parent NOT IN (SELECT id FROM "
     "revision)",
     "%d revisions have lost the one before them; undo ends there."},
    {"UPDATE revision SET target = id WHERE target NOT IN (SELECT id FROM revision)", NULL},
    {"DELETE FROM trial_mark WHERE trial NOT IN (SELECT id FROM trial WHERE kept_at IS NOT NULL)",
     "%d labels belonged to lost trials."},
    {"DELETE FROM material_use WHERE material NOT IN (SELECT id FROM material) "
     "OR formula NOT IN (SELECT id FROM formula)",
     NULL},
    {"INSERT INTO material_use (material, formula) SELECT DISTINCT m.id, t.formula "
     "FROM line AS l JOIN trial AS t ON t.id = l.trial "
     "JOIN material AS m ON m.id IN (l.material, l.solvent) WHERE NOT EXISTS "
     "(SELECT 1 FROM material_use AS u WHERE u.material = m.id AND u.formula = t.formula)",
     NULL},
    /* Revisions are numbered without gaps; by way of large numbers, because each is unique. */
    {"CREATE TEMP TABLE rank AS SELECT id, row_number() OVER (PARTITION BY formula "
     "ORDER BY number, id) AS number FROM revision",
     NULL},
    {"UPDATE revision SET number = number + 1000000000000 WHERE formula IN (SELECT r.formula "
     "FROM revision AS r JOIN rank AS k ON k.id = r.id WHERE k.number <> r.number)",
     NULL},
    {"UPDATE revision SET number = (SELECT number FROM rank AS k WHERE k.id = revision.id) "
     "WHERE number > 1000000000000",
     "%d revisions have a new number, because others were lost."},
    {"DROP TABLE rank", NULL},
};

/* A note outlives what it corrects or what it was smelled on; one that only takes back does not. */
static const struct step smells[] = {
    {"UPDATE smell SET corrects = NULL WHERE corrects IS NOT NULL AND withdrawn = 0 AND corrects "
     "NOT IN "
     "(SELECT id FROM smell)",
     "%d smell notes have lost the one they corrected."},
    {"UPDATE smell SET application = NULL WHERE application IS NOT NULL AND application NOT IN "
     "(SELECT id FROM application)",
     "%d smell notes have lost what they were smelled on."},
    {"UPDATE panel_answer SET corrects = NULL WHERE corrects NOT IN (SELECT id FROM panel_answer)",
     NULL},
    {"DELETE FROM panel_answer WHERE NOT EXISTS (SELECT 1 FROM panel_serving AS s "
     "WHERE s.panel = panel_answer.panel AND s.round = panel_answer.round)",
     "%d answers of blind tests are left out: their codes were lost."},
    {"DELETE FROM series_trial WHERE series NOT IN (SELECT id FROM series)",
     "%d trials have lost the series they belonged to; the trials themselves are there."},
    {"UPDATE series SET panel = NULL WHERE panel NOT IN (SELECT id FROM panel)", NULL},
    {"UPDATE series_trial SET panel = NULL WHERE panel NOT IN (SELECT id FROM panel)", NULL},
    {"DELETE FROM rating WHERE series NOT IN (SELECT id FROM series)",
     "%d ratings are left out: their series was lost."},
    {"DELETE FROM rating WHERE value IS NULL AND corrects NOT IN (SELECT id FROM rating)", NULL},
    {"UPDATE rating SET corrects = NULL WHERE corrects NOT IN (SELECT id FROM rating)", NULL},
    {"DELETE FROM calibration WHERE smell NOT IN (SELECT id FROM smell) OR material NOT IN "
     "(SELECT id FROM material)",
     "%d clocks of drydowns were lost with their note or material."},
};

/* The shelf; materials and trials are whole by now. */
static const struct step shelf[] = {
    {"DELETE FROM material_fact WHERE material NOT IN (SELECT id FROM material)", NULL},
    {"DELETE FROM constituent WHERE material NOT IN (SELECT id FROM material)", NULL},
    {"DELETE FROM constituent WHERE substance NOT IN (SELECT id FROM substance)",
     "%d constituents of naturals have lost the substance they are."},
    {"DELETE FROM substance_cas WHERE substance NOT IN (SELECT id FROM substance)", NULL},
    {"DELETE FROM material_starter WHERE material NOT IN (SELECT id FROM material)", NULL},
    {"UPDATE bottle SET made_from = NULL WHERE made_from NOT IN (SELECT id FROM bottle)", NULL},
    {"DELETE FROM movement WHERE bottle NOT IN (SELECT id FROM bottle)",
     "%d movements belonged to lost bottles."},
    {"UPDATE movement SET other = NULL WHERE other NOT IN (SELECT id FROM bottle)", NULL},
    {"DELETE FROM movement WHERE mass = 0 AND corrects NOT IN (SELECT id FROM movement)", NULL},
    {"UPDATE movement SET kind = iif(mass < 0, 'poured', 'received'), corrects = NULL "
     "WHERE corrects NOT IN (SELECT id FROM movement)",
     "%d corrections have lost the movement they are about."},
    {"INSERT INTO bottle_left (bottle, mass, movements) SELECT b.id, ifnull(sum(m.mass), 0), "
     "count(m.id) FROM bottle AS b LEFT JOIN movement AS m ON m.bottle = b.id GROUP BY b.id",
     NULL},
    {"DELETE FROM batch WHERE trial NOT IN (SELECT id FROM trial)",
     "%d batches belonged to lost trials."},
    {"DELETE FROM batch_event WHERE batch NOT IN (SELECT id FROM batch)", NULL},
    {"DELETE FROM batch_plan WHERE batch NOT IN (SELECT id FROM batch)", NULL},
    {"DELETE FROM batch_line WHERE plan NOT IN (SELECT id FROM batch_plan)",
     "%d lines of batches have lost their plan."},
    {"UPDATE batch_line SET bottle = NULL WHERE bottle NOT IN (SELECT id FROM bottle)", NULL},
    {"DELETE FROM batch_pour WHERE batch NOT IN (SELECT id FROM batch)",
     "%d pours belonged to lost batches."},
    {"UPDATE batch_pour SET bottle = NULL, movement = NULL "
     "WHERE bottle NOT IN (SELECT id FROM bottle) OR movement NOT IN (SELECT id FROM movement)",
     "%d pours have lost the bottle they came from."},
    {"UPDATE batch_pour SET corrects = NULL WHERE corrects NOT IN (SELECT id FROM batch_pour)",
     "%d corrections have lost the pour they are about."},
    {"DELETE FROM made_up WHERE trial NOT IN (SELECT id FROM trial) "
     "OR material NOT IN (SELECT id FROM material)",
     NULL},
    {"UPDATE filling SET batch = NULL WHERE batch NOT IN (SELECT id FROM batch)",
     "%d fillings have lost their batch."},
    {"DELETE FROM filling_event WHERE filling NOT IN (SELECT id FROM filling)", NULL},
    {"UPDATE movement SET trial = NULL WHERE trial NOT IN (SELECT id FROM trial)", NULL},
    {"UPDATE movement SET batch = NULL WHERE batch NOT IN (SELECT id FROM batch)", NULL},
    {"INSERT INTO shelf_entry (id, at, gesture, sentence, checksum) WITH RECURSIVE n (i) AS "
     "(SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < (SELECT min(max(id), 1000000) FROM "
     "shelf_entry)) "
     "SELECT i, 0, 'lost', 'Lost when the library was damaged.', 0 FROM n "
     "WHERE i < (SELECT max(id) FROM shelf_entry) AND i NOT IN (SELECT id FROM shelf_entry)",
     "%d entries of the shelf's history were lost."},
    {"UPDATE shelf_entry SET parent = NULL WHERE parent NOT IN (SELECT id FROM shelf_entry)", NULL},
    {"UPDATE shelf_entry SET target = id WHERE target NOT IN (SELECT id FROM shelf_entry)", NULL},
    {"INSERT INTO shelf_head (one, entry) SELECT 1, NULL WHERE NOT EXISTS "
     "(SELECT 1 FROM shelf_head)",
     NULL},
    {"UPDATE shelf_head SET entry = NULL WHERE entry IS NOT NULL "
     "AND entry NOT IN (SELECT id FROM shelf_entry WHERE change IS NOT NULL)",
     "%d last change of the shelf was lost; undo begins anew there."},
};

/* After the chain of revisions has been made anew. */
static const struct step counts[] = {
    {"UPDATE formula SET "
     "kept = (SELECT count(*) FROM trial WHERE formula = formula.id AND kept_at IS NOT NULL), "
     "revisions = (SELECT count(*) FROM revision WHERE formula = formula.id), "
     "chain = ifnull((SELECT checksum FROM revision WHERE formula = formula.id "
     "ORDER BY number DESC LIMIT 1), 0)",
     NULL},
};

static enum pm_status run_steps(const struct mender *mender, const struct step *steps, size_t count,
                                struct pm_error *err)
{
    sqlite3 *db = mender->library->db;
    enum pm_status status = PM_OK;
    for (size_t i = 0; status == PM_OK && i < count; i++) {
        status = pm_execute(db, steps[i].sql, "mending what was read", err);
        int rows = sqlite3_changes(db);
        if (status == PM_OK && steps[i].sentence != NULL && rows > 0) {
            struct pm_text number = PM_TEXT_EMPTY;
            pm_text_addf(&number, "%d", rows);
            pm_mend_tell(mender, "%s%s", pm_text_get(&number), steps[i].sentence + 2);
            pm_text_release(&number);
        }
    }
    return status;
}

/* ---- ids of a table, read first and then worked on ---- */

struct ids {
    int64_t *items; /* owned */
    size_t count, capacity;
};

static enum pm_status list_ids(const struct mender *mender, const char *sql, struct ids *out,
                               struct pm_error *err)
{
    sqlite3_stmt *statement = NULL;
    int rc = sqlite3_prepare_v2(mender->library->db, sql, -1, &statement, NULL);
    while (rc == SQLITE_OK && (rc = sqlite3_step(statement)) == SQLITE_ROW) {
        void *items = out->items;
        rc = pm_grow(&items, &out->capacity, out->count + 1, sizeof *out->items) ? SQLITE_OK
                                                                                 : SQLITE_NOMEM;
        out->items = items;
        if (rc == SQLITE_OK)
            out->items[out->count++] = sqlite3_column_int64(statement, 0);
    }
    enum pm_status status = PM_OK;
    if (rc != SQLITE_DONE)
        status = pm_store_fail(mender->library->db, rc, "mending what was read", err);
    sqlite3_finalize(statement);
    return status;
}

typedef enum pm_status mend_one(const struct mender *mender, int64_t id, struct pm_error *err);

static enum pm_status for_each(const struct mender *mender, const char *sql, mend_one *one,
                               struct pm_error *err)
{
    struct ids ids = {0};
    enum pm_status status = list_ids(mender, sql, &ids, err);
    for (size_t i = 0; status == PM_OK && i < ids.count; i++)
        status = one(mender, ids.items[i], err);
    pm_free(ids.items);
    return status;
}

/* ---- trials ---- */

/* Lets go of one rule after the other until the trial obeys the rest. */
static void make_obey(struct pm_trial *trial)
{
    for (size_t i = 0; i < trial->count; i++)
        if (trial->lines[i].id >= trial->next_id)
            trial->next_id = trial->lines[i].id + 1;
    if (pm_trial_check(trial, NULL) != PM_OK) {
        trial->mode = PM_OPEN;
        pm_trial_weigh(trial);
    }
    if (pm_trial_check(trial, NULL) != PM_OK) {
        for (size_t i = 0; i < trial->count; i++) {
            trial->lines[i].core = 0;
            trial->lines[i].weight = 0;
            trial->lines[i].stance = PM_FREE;
            trial->lines[i].rested = 0;
            trial->lines[i].rested_as = PM_FREE;
        }
        pm_trial_weigh(trial);
    }
}

static enum pm_status mend_trial(const struct mender *mender, int64_t id, struct pm_error *err)
{
    struct pm_trial trial;
    struct pm_trial_head head;
    bool sound = false;
    enum pm_status status = pm_trial_read_as_is(mender->library, id, &trial, &head, &sound, err);
    if (status != PM_OK || sound) {
        if (status == PM_OK)
            pm_trial_release(&trial);
        return status;
    }
    make_obey(&trial);
    status = pm_trial_write_as_is(mender->library, id, &trial, head.head, err);
    bool whole = trial.count == 0;
    pm_trial_release(&trial);
    if (status == PM_OK && head.number != 0)
        status = pm_trial_mark(mender->library, id, "damaged: not as it was kept", false, err);
    if (status == PM_OK && !whole) {
        pm_mend_tell(mender, "Trial id %lld of formula number %lld is not as it was.",
                     (long long)id, (long long)head.formula);
    }
    return status;
}

/* ---- checksums ---- */

/* "pm_checksum('table', "a", "b")" over all columns but the checksum. */
static enum pm_status checksum_call(sqlite3 *db, const char *table, struct pm_text *out,
                                    struct pm_error *err)
{
    sqlite3_stmt *columns = NULL;
    int rc = sqlite3_prepare_v2(db,
                                "SELECT name FROM pragma_table_info(?1) WHERE name <> 'checksum' "
                                "ORDER BY cid",
                                -1, &columns, NULL);
    if (rc == SQLITE_OK)
        rc = sqlite3_bind_text(columns, 1, table, -1, SQLITE_STATIC);
    pm_text_addf(out, "pm_checksum('%s'", table);
    while (rc == SQLITE_OK && (rc = sqlite3_step(columns)) == SQLITE_ROW) {
        rc = SQLITE_OK;
        pm_text_addf(out, ", \"%s\"", (const char *)sqlite3_column_text(columns, 0));
    }
    pm_text_add(out, ")");
    sqlite3_finalize(columns);
    if (rc != SQLITE_DONE)
        return pm_store_fail(db, rc, "making checksums", err);
    return pm_text_ok(out) ? PM_OK : pm_fail_memory(err);
}

/* Tells how many rows do not match, or makes all of them match. */
static enum pm_status table_checksums(const struct mender *mender, const char *table, bool renew,
                                      struct pm_error *err)
{
    sqlite3 *db = mender->library->db;
    struct pm_text call = PM_TEXT_EMPTY, sql = PM_TEXT_EMPTY;
    int64_t wrong = 0;
    enum pm_status status = checksum_call(db, table, &call, err);
    if (renew) {
        pm_text_addf(&sql, "UPDATE \"%s\" SET checksum = %s", table, pm_text_get(&call));
    } else {
        pm_text_addf(&sql, "SELECT count(*) FROM \"%s\" WHERE checksum <> %s", table,
                     pm_text_get(&call));
    }
    if (status == PM_OK && !pm_text_ok(&sql))
        status = pm_fail_memory(err);
    else if (status == PM_OK && renew)
        status = pm_execute(db, pm_text_get(&sql), "making checksums", err);
    else if (status == PM_OK)
        status = pm_ask(db, pm_text_get(&sql), "looking at checksums", &wrong, err);
    if (status == PM_OK && wrong > 0) {
        pm_mend_tell(mender,
                     "%lld rows of table %s do not match their checksum; they were taken as they "
                     "are.",
                     (long long)wrong, table);
    }
    pm_text_release(&call);
    pm_text_release(&sql);
    return status;
}

static enum pm_status all_checksums(const struct mender *mender, bool renew, struct pm_error *err)
{
    sqlite3_stmt *tables = NULL;
    enum pm_status status = PM_OK;
    int rc = sqlite3_prepare_v2(mender->library->db,
                                "SELECT s.name FROM sqlite_schema AS s WHERE s.type = 'table' AND "
                                "EXISTS (SELECT 1 FROM pragma_table_info(s.name) "
                                "WHERE name = 'checksum')",
                                -1, &tables, NULL);
    while (status == PM_OK && rc == SQLITE_OK && (rc = sqlite3_step(tables)) == SQLITE_ROW) {
        rc = SQLITE_OK;
        const char *table = (const char *)sqlite3_column_text(tables, 0);
        /* Revisions are chained: theirs were made one after the other. */
        if (!renew || strcmp(table, "revision") != 0)
            status = table_checksums(mender, table, renew, err);
    }
    if (status == PM_OK && rc != SQLITE_DONE)
        status = pm_store_fail(mender->library->db, rc, "making checksums", err);
    sqlite3_finalize(tables);
    return status;
}

static enum pm_status chain_one(const struct mender *mender, int64_t id, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, mender->library, PM_SQL_REVISION_CHAIN);
    pm_query_int(&query, id);
    return pm_query_run(&query, err);
}

/* ---- what is left ---- */

static enum pm_status refresh_search(const struct mender *mender, int64_t id, struct pm_error *err)
{
    return pm_search_refresh(mender->library, id, err);
}

/* Rows of other tables, also of later migrations, that refer to nothing, as SQLite itself finds
 * them. *dropped counts the rows that were removed. */
static enum pm_status drop_orphans_once(const struct mender *mender, int *dropped,
                                        struct pm_error *err)
{
    sqlite3 *db = mender->library->db;
    sqlite3_stmt *orphans = NULL;
    enum pm_status status = PM_OK;
    int rc = sqlite3_prepare_v2(db,
                                "SELECT DISTINCT c.\"table\", l.\"from\", l.\"to\", l.\"table\" "
                                "FROM pragma_foreign_key_check AS c "
                                "JOIN pragma_foreign_key_list(c.\"table\") AS l ON l.id = c.fkid",
                                -1, &orphans, NULL);
    while (status == PM_OK && rc == SQLITE_OK && (rc = sqlite3_step(orphans)) == SQLITE_ROW) {
        rc = SQLITE_OK;
        char *sql =
            sqlite3_mprintf("DELETE FROM \"%w\" WHERE \"%w\" NOT IN "
                            "(SELECT \"%w\" FROM \"%w\")",
                            sqlite3_column_text(orphans, 0), sqlite3_column_text(orphans, 1),
                            sqlite3_column_text(orphans, 2), sqlite3_column_text(orphans, 3));
        status =
            sql == NULL ? pm_fail_memory(err) : pm_execute(db, sql, "mending what was read", err);
        sqlite3_free(sql);
        *dropped += sqlite3_changes(db);
    }
    if (status == PM_OK && rc != SQLITE_DONE)
        status = pm_store_fail(db, rc, "mending what was read", err);
    sqlite3_finalize(orphans);
    return status;
}

/* Removing rows may leave others behind: once more, until there are none. */
static enum pm_status drop_orphans(const struct mender *mender, struct pm_error *err)
{
    int all = 0, round = -1;
    enum pm_status status = PM_OK;
    while (status == PM_OK && round != 0) {
        round = 0;
        status = drop_orphans_once(mender, &round, err);
        all += round;
    }
    if (status == PM_OK && all > 0)
        pm_mend_tell(mender, "%d rows referred to something lost and were left out.", all);
    return status;
}

enum pm_status pm_mend(const struct mender *mender, struct pm_error *err)
{
    enum pm_status status = all_checksums(mender, false, err);
    if (status == PM_OK)
        status = run_steps(mender, references, sizeof references / sizeof references[0], err);
    if (status == PM_OK)
        status = run_steps(mender, shelf, sizeof shelf / sizeof shelf[0], err);
    if (status == PM_OK)
        status = run_steps(mender, smells, sizeof smells / sizeof smells[0], err);
    if (status == PM_OK)
        status = for_each(mender, "SELECT id FROM trial ORDER BY id", mend_trial, err);
    if (status == PM_OK)
        status = drop_orphans(mender, err);
    if (status == PM_OK) {
        status =
            for_each(mender, "SELECT id FROM revision ORDER BY formula, number", chain_one, err);
    }
    if (status == PM_OK)
        status = run_steps(mender, counts, sizeof counts / sizeof counts[0], err);
    if (status == PM_OK)
        status = all_checksums(mender, true, err);
    if (status == PM_OK) {
        status =
            for_each(mender, "SELECT min(id) FROM material GROUP BY id / 32", refresh_search, err);
    }
    return status;
}
