/* SPDX-License-Identifier: MIT */
/*
 * Checking a library: what SQLite can see, and what only the program can.
 */
#include "checksum.h"
#include "connection.h"
#include "embedded.h"
#include "migrate.h"
#include "permille/store/formulas.h"
#include "store.h"

#include "permille/base/mem.h"
#include "permille/base/text.h"

#include <string.h>

struct verifier {
    struct pm_library *library;
    pm_finding *finding;
    void *context;
    const char *table;    /* the one whose rows are being looked at */
    bool some;            /* there was a finding */
    struct pm_error last; /* told */
    size_t complaints;    /* of SQLite, in its first check */
    int failed;           /* what SQLite said when a row could not be looked at; SQLITE_OK */
};

static void found(struct verifier *verifier, const char *sentence)
{
    if (verifier->failed != SQLITE_OK)
        return; /* it could not be looked at */
    if (verifier->some && strcmp(verifier->last.text, sentence) == 0)
        return; /* one missing table makes every trial say the same */
    verifier->some = true;
    pm_fail(&verifier->last, PM_DAMAGED, "%s", sentence);
    if (verifier->finding != NULL)
        verifier->finding(verifier->context, sentence);
}

static void foundf(struct verifier *verifier, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

static void foundf(struct verifier *verifier, const char *format, ...)
{
    struct pm_text text = PM_TEXT_EMPTY;
    va_list args;
    va_start(args, format);
    pm_text_addv(&text, format, args);
    va_end(args);
    /* Out of memory while wording it: a finding all the same. */
    found(verifier, pm_text_ok(&text) ? pm_text_get(&text) : "Something is damaged.");
    pm_text_release(&text);
}

/* Damage is a finding, and the next check goes on; what prevents checking ends it. */
static enum pm_status judge(struct verifier *verifier, enum pm_status status, struct pm_error *why,
                            struct pm_error *err)
{
    if (status == PM_DAMAGED) {
        found(verifier, why->text);
        return PM_OK;
    }
    return status == PM_OK ? PM_OK : pm_fail(err, status, "%s", why->text);
}

/* ---- any statement, row by row ---- */

typedef void row_visit(struct verifier *verifier, sqlite3_stmt *row);

static enum pm_status each_row(struct verifier *verifier, sqlite3 *db, const char *sql,
                               row_visit *visit, struct pm_error *err)
{
    sqlite3_stmt *statement = NULL;
    int rc = sqlite3_prepare_v2(db, sql, -1, &statement, NULL);
    while (rc == SQLITE_OK || rc == SQLITE_ROW) {
        rc = sqlite3_step(statement);
        if (rc == SQLITE_ROW)
            visit(verifier, statement);
        if (verifier->failed != SQLITE_OK)
            rc = verifier->failed;
    }
    verifier->failed = SQLITE_OK;
    struct pm_error why;
    enum pm_status status = PM_OK;
    if (rc != SQLITE_DONE)
        status = pm_store_fail(db, rc, "checking the library", &why);
    sqlite3_finalize(statement);
    return judge(verifier, status, &why, err);
}

static const char *text_of(struct verifier *verifier, sqlite3_stmt *row, int column)
{
    const char *text = (const char *)sqlite3_column_text(row, column);
    if (text == NULL && sqlite3_errcode(sqlite3_db_handle(row)) == SQLITE_NOMEM)
        verifier->failed = SQLITE_NOMEM;
    return text == NULL ? "?" : text;
}

/* ---- what SQLite sees ---- */

static void integrity_row(struct verifier *verifier, sqlite3_stmt *row)
{
    const char *said = text_of(verifier, row, 0);
    if (verifier->failed == SQLITE_OK)
        verifier->failed = pm_integrity_code(said);
    if (verifier->failed == SQLITE_OK && strcmp(said, "ok") != 0)
        foundf(verifier, "SQLite: %s.", said);
}

static void integrity_count(struct verifier *verifier, sqlite3_stmt *row)
{
    verifier->complaints += strcmp(text_of(verifier, row, 0), "ok") != 0;
}

/* SQLite words lost memory and a failing disk as damage, with or without their code. So complaints
 * count only when they are there again. */
static enum pm_status check_integrity(struct verifier *verifier, struct pm_error *err)
{
    static const char sql[] = "PRAGMA main.integrity_check";
    sqlite3 *db = verifier->library->db;
    enum pm_status status = each_row(verifier, db, sql, integrity_count, err);
    if (status == PM_OK && verifier->complaints > 0)
        status = each_row(verifier, db, sql, integrity_row, err);
    return status;
}

static bool has_table(sqlite3 *db, const char *table)
{
    return table == NULL || sqlite3_table_column_metadata(db, NULL, table, NULL, NULL, NULL, NULL,
                                                          NULL, NULL) == SQLITE_OK;
}

/* Its row id is NULL where a table has none. Of a table that is missing the schema's check tells.
 */
static void orphan_row(struct verifier *verifier, sqlite3_stmt *row)
{
    const char *of = text_of(verifier, row, 2);
    if (!has_table(verifier->library->db, of))
        return;
    if (sqlite3_column_type(row, 1) == SQLITE_NULL)
        foundf(verifier, "A row of table %s refers to a row of table %s that does not exist.",
               text_of(verifier, row, 0), of);
    else
        foundf(verifier, "Row %s of table %s refers to a row of table %s that does not exist.",
               text_of(verifier, row, 1), text_of(verifier, row, 0), of);
}

/* ---- the tables themselves: a dropped trigger passes every other check ---- */

/* Tells of every definition in `from` that is missing or different in `to`. `missing` words the
 * first; different ones are told when `deep`. */
static enum pm_status compare_schema(struct verifier *verifier, sqlite3 *from, sqlite3 *to,
                                     const char *missing, bool deep, struct pm_error *err)
{
    sqlite3_stmt *all = NULL, *one = NULL;
    int rc = sqlite3_prepare_v2(from,
                                "SELECT type, name, sql FROM sqlite_schema "
                                "WHERE name NOT LIKE 'sqlite\\_%' ESCAPE '\\'",
                                -1, &all, NULL);
    sqlite3 *failed = from;
    if (rc == SQLITE_OK) {
        failed = to;
        rc = sqlite3_prepare_v2(to,
                                "SELECT sql IS ?3 FROM sqlite_schema WHERE type = ?1 AND name = ?2",
                                -1, &one, NULL);
    }
    while (rc == SQLITE_OK && (failed = from, rc = sqlite3_step(all)) == SQLITE_ROW) {
        failed = to;
        rc = SQLITE_OK;
        for (int i = 0; rc == SQLITE_OK && i < 3; i++)
            rc = sqlite3_bind_value(one, i + 1, sqlite3_column_value(all, i));
        rc = rc == SQLITE_OK ? sqlite3_step(one) : rc;
        if (rc == SQLITE_DONE) {
            foundf(verifier, "The %s %s %s.", text_of(verifier, all, 0), text_of(verifier, all, 1),
                   missing);
        } else if (rc == SQLITE_ROW && deep && sqlite3_column_int(one, 0) == 0) {
            foundf(verifier, "The %s %s is not defined as it should be.", text_of(verifier, all, 0),
                   text_of(verifier, all, 1));
        }
        rc = rc == SQLITE_DONE || rc == SQLITE_ROW ? sqlite3_reset(one) : rc;
    }
    struct pm_error why;
    enum pm_status status = PM_OK;
    if (rc != SQLITE_DONE)
        status = pm_store_fail(failed, rc, "checking the tables", &why);
    sqlite3_finalize(all);
    sqlite3_finalize(one);
    return judge(verifier, status, &why, err);
}

/* Compares the definitions with those the migrations make in an empty file. */
static enum pm_status check_schema(struct verifier *verifier, struct pm_error *err)
{
    sqlite3 *model = NULL;
    enum pm_status status = pm_migrate_model(&verifier->library->options, &model, err);
    if (status == PM_OK)
        status = compare_schema(verifier, model, verifier->library->db, "is missing", true, err);
    if (status == PM_OK) {
        status = compare_schema(verifier, verifier->library->db, model, "does not belong there",
                                false, err);
    }
    sqlite3_close(model);
    return status;
}

/* ---- checksums of rows ---- */

static void checksum_row(struct verifier *verifier, sqlite3_stmt *row)
{
    int64_t kept = 0;
    int place = 1;
    uint64_t crc = pm_crc_text(0, 0, verifier->table);
    for (int i = 0; i < sqlite3_column_count(row); i++)
        if (strcmp(sqlite3_column_name(row, i), "checksum") == 0)
            kept = sqlite3_column_int64(row, i);
        else
            crc = pm_crc_value(crc, place++, sqlite3_column_value(row, i));
    if (crc != (uint64_t)kept) {
        foundf(verifier, "The row %s of table %s does not match its checksum.",
               text_of(verifier, row, 0), verifier->table);
    }
}

/* Every table that has a column of that name, also those of later migrations. */
static enum pm_status check_checksums(struct verifier *verifier, struct pm_error *err)
{
    sqlite3 *db = verifier->library->db;
    sqlite3_stmt *tables = NULL;
    int rc = sqlite3_prepare_v2(db,
                                "SELECT s.name FROM sqlite_schema AS s WHERE s.type = 'table' AND "
                                "EXISTS (SELECT 1 FROM pragma_table_info(s.name) "
                                "WHERE name = 'checksum')",
                                -1, &tables, NULL);
    enum pm_status status = PM_OK;
    while (status == PM_OK && rc == SQLITE_OK && (rc = sqlite3_step(tables)) == SQLITE_ROW) {
        rc = SQLITE_OK;
        verifier->table = text_of(verifier, tables, 0);
        char *sql = sqlite3_mprintf("SELECT * FROM \"%w\"", verifier->table);
        status = sql == NULL ? pm_fail_memory(err) : each_row(verifier, db, sql, checksum_row, err);
        sqlite3_free(sql);
    }
    struct pm_error why;
    enum pm_status listed = PM_OK;
    if (rc != SQLITE_OK && rc != SQLITE_DONE)
        listed = pm_store_fail(db, rc, "checking the library", &why);
    sqlite3_finalize(tables);
    return status != PM_OK ? status : judge(verifier, listed, &why, err);
}

/* ---- what must fit together ---- */

static void chain_row(struct verifier *verifier, sqlite3_stmt *row)
{
    foundf(verifier, "Revision %s of formula number %s does not follow the one before it.",
           text_of(verifier, row, 1), text_of(verifier, row, 0));
}

static void formula_row(struct verifier *verifier, sqlite3_stmt *row)
{
    foundf(verifier, "Trials or revisions of formula number %s are missing or too many.",
           text_of(verifier, row, 0));
}

static void use_row(struct verifier *verifier, sqlite3_stmt *row)
{
    foundf(verifier, "Formula number %s is missing among those that use material number %s.",
           text_of(verifier, row, 0), text_of(verifier, row, 1));
}

static void answer_row(struct verifier *verifier, sqlite3_stmt *row)
{
    foundf(verifier, "Answer %s of blind test number %s is about a round that was not served.",
           text_of(verifier, row, 0), text_of(verifier, row, 1));
}

static void nameless_row(struct verifier *verifier, sqlite3_stmt *row)
{
    foundf(verifier, "Material number %s has no name.", text_of(verifier, row, 0));
}

static void ledger_row(struct verifier *verifier, sqlite3_stmt *row)
{
    foundf(verifier, "What is left in bottle B%s is not the sum of its ledger.",
           text_of(verifier, row, 0));
}

static void shelf_row(struct verifier *verifier, sqlite3_stmt *row)
{
    foundf(verifier, "Entry %s of the shelf's history does not follow from what is before it.",
           text_of(verifier, row, 0));
}

static const struct {
    const char *sql;
    row_visit *visit;
    const char *table; /* of a later step: asked only when it is there; NULL: of the first */
} fits[] = {
    {"SELECT r.formula, r.number FROM revision AS r LEFT JOIN revision AS p "
     "ON p.formula = r.formula AND p.number = r.number - 1 "
     "WHERE r.previous <> ifnull(p.checksum, 0) OR (r.number > 1 AND p.id IS NULL)",
     chain_row, NULL},
    {"SELECT f.id FROM formula AS f LEFT JOIN revision AS r "
     "ON r.formula = f.id AND r.number = f.revisions "
     "WHERE f.chain <> ifnull(r.checksum, 0) "
     "OR f.revisions <> (SELECT count(*) FROM revision WHERE formula = f.id) "
     "OR f.kept <> (SELECT count(*) FROM trial WHERE formula = f.id AND kept_at IS NOT NULL) "
     "OR f.kept <> (SELECT ifnull(max(number), 0) FROM trial WHERE formula = f.id) "
     "OR 1 <> (SELECT count(*) FROM trial WHERE formula = f.id AND kept_at IS NULL)",
     formula_row, NULL},
    {"SELECT DISTINCT t.formula, m.id FROM line AS l JOIN trial AS t ON t.id = l.trial "
     "JOIN material AS m ON m.id IN (l.material, l.solvent) WHERE NOT EXISTS "
     "(SELECT 1 FROM material_use AS u WHERE u.material = m.id AND u.formula = t.formula)",
     use_row, NULL},
    {"SELECT id FROM material AS m WHERE NOT EXISTS "
     "(SELECT 1 FROM material_name WHERE material = m.id AND place = 0)",
     nameless_row, NULL},
    {"SELECT id, panel FROM panel_answer AS a WHERE NOT EXISTS "
     "(SELECT 1 FROM panel_serving WHERE panel = a.panel AND round = a.round)",
     answer_row, "panel_answer"},
    {"SELECT b.id FROM bottle AS b LEFT JOIN bottle_left AS l ON l.bottle = b.id "
     "LEFT JOIN (SELECT bottle, sum(mass) AS mass, count(*) AS movements FROM movement "
     "GROUP BY bottle) AS m ON m.bottle = b.id "
     "WHERE l.mass IS NOT ifnull(m.mass, 0) OR l.movements IS NOT ifnull(m.movements, 0)",
     ledger_row, "bottle_left"},
    {"SELECT id FROM shelf_entry AS e WHERE id > 1 "
     "AND NOT EXISTS (SELECT 1 FROM shelf_entry WHERE id = e.id - 1)",
     shelf_row, "shelf_entry"},
    {"SELECT entry FROM shelf_head WHERE entry IS NOT NULL AND entry NOT IN "
     "(SELECT id FROM shelf_entry WHERE change IS NOT NULL)",
     shelf_row, "shelf_entry"},
};

/* ---- trials, as the program reads them ---- */

struct ids {
    int64_t *items;
    size_t count, capacity;
};

static enum pm_status list_trials(struct verifier *verifier, struct ids *ids, struct pm_error *err)
{
    struct pm_query query;
    struct pm_error why;
    pm_query_open(&query, verifier->library, PM_SQL_TRIAL_ALL);
    while (pm_query_row(&query)) {
        if (!pm_grow(&ids->items, &ids->capacity, ids->count + 1, sizeof *ids->items)) {
            query.rc = SQLITE_NOMEM;
            break;
        }
        ids->items[ids->count++] = pm_query_get_int(&query, 0);
    }
    return judge(verifier, pm_query_close(&query, &why), &why, err);
}

static enum pm_status check_trials(struct verifier *verifier, struct pm_error *err)
{
    struct ids ids = {0};
    enum pm_status status = list_trials(verifier, &ids, err);
    for (size_t i = 0; status == PM_OK && i < ids.count; i++) {
        struct pm_trial trial;
        struct pm_error why;
        status = pm_library_go_on(verifier->library, "checking trials", (int64_t)i,
                                  (int64_t)ids.count, err);
        if (status != PM_OK)
            break;
        enum pm_status loaded = pm_trial_load(verifier->library, ids.items[i], &trial, &why);
        if (loaded == PM_OK) {
            pm_trial_release(&trial);
        } else if (loaded == PM_MISSING) {
            loaded = pm_fail(&why, PM_DAMAGED, "Trial id %lld is in an index only.",
                             (long long)ids.items[i]);
        }
        status = judge(verifier, loaded, &why, err);
    }
    pm_free(ids.items);
    return status;
}

static enum pm_status check_search(struct verifier *verifier, struct pm_error *err)
{
    struct pm_error why;
    bool sound = true;
    enum pm_status status = pm_search_check(verifier->library, &sound, &why);
    if (status == PM_OK && !sound)
        found(verifier, "The search of materials does not match their names.");
    return judge(verifier, status, &why, err);
}

/* ---- all of it ---- */

static enum pm_status run_checks(struct verifier *verifier, struct pm_error *err)
{
    sqlite3 *db = verifier->library->db;
    enum pm_status status = pm_library_go_on(verifier->library, "checking the file", 0, 0, err);
    if (status == PM_OK)
        status = check_integrity(verifier, err);
    if (status == PM_OK)
        status = check_schema(verifier, err);
    if (status == PM_OK)
        status = each_row(verifier, db, "PRAGMA main.foreign_key_check", orphan_row, err);
    if (status == PM_OK)
        status = pm_library_go_on(verifier->library, "checking every row", 0, 0, err);
    if (status == PM_OK)
        status = check_checksums(verifier, err);
    for (size_t i = 0; status == PM_OK && i < sizeof fits / sizeof fits[0]; i++) {
        if (!has_table(db, fits[i].table))
            continue; /* check_schema has told of one that is missing */
        status = each_row(verifier, db, fits[i].sql, fits[i].visit, err);
    }
    if (status == PM_OK)
        status = check_trials(verifier, err);
    return status == PM_OK ? check_search(verifier, err) : status;
}

enum pm_status pm_library_verify(struct pm_library *library, pm_finding *finding, void *context,
                                 struct pm_error *err)
{
    struct verifier verifier = {.library = library, .finding = finding, .context = context};
    struct pm_error why;
    enum pm_status status = pm_library_begin_read(library, &why);
    bool reading = status == PM_OK;
    status = judge(&verifier, status, &why, err);
    if (status == PM_OK)
        status = run_checks(&verifier, err);
    if (reading)
        pm_library_end_read(library);
    if (status == PM_OK && verifier.some)
        return pm_fail(err, PM_DAMAGED, "The library is damaged.");
    return status;
}

/* ---- what was brought in ---- */

struct first {
    const char *what;
    struct pm_error said;
};

static void keep_first(void *context, const char *sentence)
{
    struct first *first = context;
    if (first->said.text[0] == '\0')
        pm_fail(&first->said, PM_DAMAGED, "%s: %s", first->what, sentence);
}

enum pm_status pm_library_sound(struct pm_library *library, const char *what, struct pm_error *err)
{
    struct first first = {.what = what};
    const enum pm_status status = pm_library_verify(library, keep_first, &first, err);
    return status == PM_DAMAGED && first.said.text[0] != '\0'
               ? pm_fail(err, PM_DAMAGED, "%s", first.said.text)
               : status;
}
