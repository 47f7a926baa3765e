/* SPDX-License-Identifier: MIT */
/*
 * The rows of what was chosen from another library (other_inside.h). Every table is copied by one
 * statement, which follows from the table itself: columns that refer to rows get the numbers those
 * have here. What is said here are the exceptions. Triggers are off meanwhile, because kept trials
 * and their lines come in as they are; what triggers keep is made afterwards, and everything is
 * verified before the caller may commit.
 */
#include "other_inside.h"

#include "checksum.h"
#include "connection.h"
#include "trials.h"

#include "permille/base/text.h"

#include <string.h>

/* Numbers of kinds as SQL has them: as in other_items.c. */
#define CHOSEN(kind, id)                                                                           \
    "EXISTS (SELECT 1 FROM temp.other_chosen WHERE kind = " kind " AND id = " id ")"
#define NAME(kind, id, own)                                                                        \
    "ifnull((SELECT name FROM temp.other_chosen WHERE kind = " kind " AND id = " id "), " own ")"
#define FRESH(table, id)                                                                           \
    "EXISTS (SELECT 1 FROM temp.other_map WHERE tbl = '" table "' AND theirs = " id                \
    " AND fresh = 1)"

/* Which rows of a table come; those that have a number come unless they correspond to one here. */
static const struct table {
    const char *table, *which;
    bool numbered;
} tables[] = {
    {"material", CHOSEN("1", "o.id"), true},
    {"substance",
     "EXISTS (SELECT 1 FROM other.constituent AS c WHERE c.substance = o.id AND " FRESH(
         "material", "c.material") ")",
     true},
    {"substance_cas", FRESH("substance", "o.substance"), false},
    {"material_name",
     FRESH("material", "o.material") " AND (o.place = 0 OR NOT EXISTS (SELECT 1 FROM "
                                     "main.material_name AS n WHERE n.folded = o.folded))",
     false},
    {"material_fact", FRESH("material", "o.material"), false},
    {"constituent", FRESH("material", "o.material"), false},
    {"material_starter",
     FRESH("material", "o.material") " AND NOT EXISTS (SELECT 1 FROM main.material_starter AS s "
                                     "WHERE s.name = o.name)",
     false},
    {"formula", CHOSEN("0", "o.id"), true},
    {"trial",
     "EXISTS (SELECT 1 FROM temp.other_chosen AS c WHERE c.kind = 0 AND c.id = o.formula AND "
     "(o.kept_at IS NOT NULL OR NOT c.forked))",
     true},
    {"line", FRESH("trial", "o.trial"), false},
    {"revision",
     "EXISTS (SELECT 1 FROM temp.other_chosen AS c WHERE c.kind = 0 AND c.id = o.formula AND "
     "(NOT c.forked OR o.number <= (SELECT max(k.number) FROM other.revision AS k WHERE k.formula "
     "= "
     "o.formula AND k.gesture = 'keep')))",
     true},
    {"trial_mark", FRESH("trial", "o.trial"), true},
    {"made_up", FRESH("trial", "o.trial"), false},
    {"bottle", CHOSEN("2", "o.id"), true},
    {"movement", CHOSEN("2", "o.bottle"), true},
    {"batch", CHOSEN("3", "o.id"), true},
    {"batch_event", CHOSEN("3", "o.batch"), true},
    {"batch_plan", CHOSEN("3", "o.batch"), true},
    {"batch_line", FRESH("batch_plan", "o.plan"), false},
    {"batch_pour", CHOSEN("3", "o.batch"), true},
    {"filling", CHOSEN("4", "o.id"), true},
    {"filling_event", CHOSEN("4", "o.filling"), true},
    {"application", CHOSEN("5", "o.id"), true},
    {"smell",
     "EXISTS (SELECT 1 FROM temp.other_smell AS s JOIN temp.other_chosen AS c ON c.kind = 6 AND "
     "c.id = s.root WHERE s.id = o.id)",
     true},
    {"calibration",
     "EXISTS (SELECT 1 FROM temp.other_smell AS s JOIN temp.other_chosen AS c ON c.kind = 6 AND "
     "c.id = s.root WHERE s.id = o.smell)",
     true},
    {"panel", CHOSEN("7", "o.id"), true},
    {"panel_sample", FRESH("panel", "o.panel"), false},
    {"panel_serving", FRESH("panel", "o.panel"), false},
    {"panel_answer", CHOSEN("7", "o.panel"), true},
    {"series", CHOSEN("8", "o.id"), true},
    {"series_trial", FRESH("series", "o.series"), false},
    {"rating", CHOSEN("8", "o.series"), true},
    {"limit_rule",
     "EXISTS (SELECT 1 FROM temp.other_chosen AS c JOIN other.limit_rule AS r ON r.id = c.id WHERE "
     "c.kind = 9 AND r.rule_set = o.rule_set AND r.own = o.own)",
     true},
    {"balance", CHOSEN("10", "o.id"), true},
    {"ceiling",
     "(o.formula IS NULL AND " CHOSEN("11", "o.id") ") OR " FRESH("formula", "o.formula"), true},
    {"currency_rate", CHOSEN("12", "o.id"), true},
};

bool pm_other_brings(const char *table)
{
    for (size_t i = 0; i < sizeof tables / sizeof tables[0]; i++)
        if (strcmp(tables[i].table, table) == 0)
            return true;
    return false;
}

/* Columns that are not simply copied. */
static const struct special {
    const char *table, *column, *value;
} specials[] = {
    {"material", "set_aside", "1"}, /* seen when the log has noted it: reveal() */
    {"material_name", "name", "iif(o.place = 0, " NAME("1", "o.material", "o.name") ", o.name)"},
    {"material_name", "folded",
     "iif(o.place = 0, pm_fold(" NAME("1", "o.material", "o.name") "), o.folded)"},
    {"material_name", "place", "row_number() OVER (PARTITION BY o.material ORDER BY o.place) - 1"},
    {"formula", "set_aside", "1"},
    {"formula", "name", NAME("0", "o.id", "o.name")},
    {"formula", "folded", "pm_fold(" NAME("0", "o.id", "o.name") ")"},
    {"formula", "kept", "0"}, /* counted when everything is there */
    {"formula", "revisions", "0"},
    {"formula", "chain", "0"},
    {"trial", "number",
     "iif(o.number IS NULL, NULL, (SELECT f.kept FROM main.formula AS f WHERE f.id = " MINE(
         "formula", "o.formula") ") + row_number() OVER (PARTITION BY o.formula ORDER BY o.number "
                                 "IS NULL, o.number))"},
    {"revision", "number",
     "(SELECT f.revisions FROM main.formula AS f WHERE f.id = " MINE(
         "formula", "o.formula") ") + row_number() OVER (PARTITION BY o.formula ORDER BY "
                                 "o.number)"},
    {"revision", "previous", "0"},
    {"bottle", "note", "iif(mm.mine = o.id, o.note, " OTHER_BOTTLE_NOTE ")"},
    {"panel", "name", NAME("7", "o.id", "o.name")},
    {"panel", "folded", "pm_fold(" NAME("7", "o.id", "o.name") ")"},
    {"series", "name", NAME("8", "o.id", "o.name")},
    {"series", "folded", "pm_fold(" NAME("8", "o.id", "o.name") ")"},
    {"balance", "name", NAME("10", "o.id", "o.name")},
    {"balance", "folded", "pm_fold(" NAME("10", "o.id", "o.name") ")"},
    {"limit_rule", "rule_set",
     "ifnull((SELECT c.name FROM temp.other_chosen AS c JOIN other.limit_rule AS r ON r.id = c.id "
     "WHERE c.kind = 9 AND r.rule_set = o.rule_set AND r.own = o.own), o.rule_set)"},
};

/* ---- what is to come ---- */

static enum pm_status put_choices(struct pm_other *other, const struct pm_other_choice *choices,
                                  size_t count, struct pm_error *err)
{
    sqlite3_stmt *insert = NULL;
    enum pm_status status =
        pm_other_run(other,
                     "DROP TABLE IF EXISTS temp.other_chosen; CREATE TEMP TABLE other_chosen (kind "
                     "INTEGER NOT NULL, id INTEGER NOT NULL, second INTEGER NOT NULL, name TEXT, "
                     "number INTEGER, forked INTEGER NOT NULL, PRIMARY KEY (kind, id)) WITHOUT "
                     "ROWID",
                     err);
    if (status == PM_OK)
        status =
            pm_other_prepare(other,
                             "INSERT INTO temp.other_chosen SELECT kind, id, ?3, ?4, "
                             "nullif(?5, 0), kind = 0 AND (state = 5 OR apart) AND NOT ?3 FROM "
                             "temp.other_item WHERE kind = ?1 AND id = ?2",
                             &insert, err);
    for (size_t i = 0; status == PM_OK && i < count; i++) {
        sqlite3_reset(insert);
        int rc = sqlite3_bind_int(insert, 1, (int)choices[i].kind);
        if (rc == SQLITE_OK)
            rc = sqlite3_bind_int64(insert, 2, choices[i].id);
        if (rc == SQLITE_OK)
            rc = sqlite3_bind_int(insert, 3, choices[i].second);
        if (rc == SQLITE_OK)
            rc = sqlite3_bind_text(insert, 4, choices[i].name, -1, SQLITE_STATIC);
        if (rc == SQLITE_OK)
            rc = sqlite3_bind_int64(insert, 5, choices[i].number);
        if (rc == SQLITE_OK)
            rc = sqlite3_step(insert);
        if (rc != SQLITE_DONE)
            status = pm_store_fail(other->library->db, rc, OTHER_DOING, err);
    }
    sqlite3_finalize(insert);
    return status;
}

/* One that comes as a second one corresponds to nothing here any more. */
static const char *const seconds[] = {
#define FORGET(table, theirs)                                                                      \
    "DELETE FROM temp.other_map WHERE tbl = '" table "' AND theirs IN (" theirs ")"
#define SECOND(kind) "(SELECT id FROM temp.other_chosen WHERE second AND kind = " kind ")"
    FORGET("formula", SECOND("0")),
    FORGET("trial", "SELECT id FROM other.trial WHERE formula IN " SECOND("0")),
    FORGET("revision", "SELECT id FROM other.revision WHERE formula IN " SECOND("0")),
    FORGET("material", SECOND("1")),
    FORGET("bottle", SECOND("2")),
    FORGET("movement", "SELECT id FROM other.movement WHERE bottle IN " SECOND("2")),
    FORGET("batch", SECOND("3")),
    FORGET("batch_event", "SELECT id FROM other.batch_event WHERE batch IN " SECOND("3")),
    FORGET("batch_plan", "SELECT id FROM other.batch_plan WHERE batch IN " SECOND("3")),
    FORGET("batch_pour", "SELECT id FROM other.batch_pour WHERE batch IN " SECOND("3")),
    FORGET("filling", SECOND("4")),
    FORGET("filling_event", "SELECT id FROM other.filling_event WHERE filling IN " SECOND("4")),
    FORGET("application", SECOND("5")),
    FORGET("panel", SECOND("7")),
    FORGET("panel_answer", "SELECT id FROM other.panel_answer WHERE panel IN " SECOND("7")),
    FORGET("series", SECOND("8")),
    FORGET("rating", "SELECT id FROM other.rating WHERE series IN " SECOND("8")),
    FORGET("balance", SECOND("10")),
    /* Number on the glass, or the one that was given, where it is free. */
    "INSERT INTO temp.other_map SELECT 'bottle', min(id), wanted, 1 FROM (SELECT c.id, "
    "ifnull(c.number, c.id) AS wanted FROM temp.other_chosen AS c WHERE c.kind = 2 AND NOT " MAPPED(
        "bottle", "c.id") ") WHERE wanted <= " OTHER_GLASS_MOST
                          " AND wanted NOT IN (SELECT id FROM main.bottle) GROUP BY wanted",
    /* A draft that goes on becomes the trial that theirs became. */
    "INSERT INTO temp.other_map SELECT 'trial', t.id, d.id, 1 FROM temp.other_chosen AS c JOIN "
    "temp.other_item AS i ON i.kind = 0 AND i.id = c.id AND i.state = 3 AND NOT i.apart JOIN "
    "main.formula AS f ON "
    "f.id = i.mine JOIN main.trial AS d ON d.formula = f.id AND d.kept_at IS NULL JOIN other.trial "
    "AS t ON t.id = ifnull((SELECT n.id FROM other.trial AS n WHERE n.formula = c.id AND n.number "
    "= "
    "f.kept + 1), (SELECT n.id FROM other.trial AS n WHERE n.formula = c.id AND n.kept_at IS "
    "NULL)) "
    "WHERE c.kind = 0 AND NOT c.second",
    "DELETE FROM main.line WHERE trial IN (SELECT mine FROM temp.other_map WHERE tbl = 'trial' AND "
    "fresh = 1)",
    "DELETE FROM main.trial WHERE id IN (SELECT mine FROM temp.other_map WHERE tbl = 'trial' AND "
    "fresh = 1)",
};

static enum pm_status run_all(struct pm_other *other, const char *const *sql, size_t count,
                              struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t i = 0; status == PM_OK && i < count; i++)
        status = pm_other_run(other, sql[i], err);
    return status;
}

/* The rows that come get the numbers behind those that are here. */
static enum pm_status number_rows(struct pm_other *other, const struct table *table,
                                  struct pm_error *err)
{
    struct pm_text sql = PM_TEXT_EMPTY;
    pm_text_addf(&sql,
                 "INSERT INTO temp.other_map SELECT '%s', o.id, max(ifnull((SELECT max(id) FROM "
                 "main.%s), 0), ifnull((SELECT max(mine) FROM temp.other_map WHERE tbl = '%s' AND "
                 "fresh = 1), 0)) + row_number() OVER (ORDER BY o.id), 1 FROM other.%s AS o WHERE "
                 "NOT EXISTS (SELECT 1 FROM temp.other_map WHERE tbl = '%s' AND theirs = o.id) AND "
                 "(%s)",
                 table->table, table->table, table->table, table->table, table->table,
                 table->which);
    return pm_other_run_text(other, &sql, err);
}

/* ---- copying ---- */

static const char *special_value(const char *table, const char *column)
{
    for (size_t i = 0; i < sizeof specials / sizeof specials[0]; i++)
        if (strcmp(specials[i].table, table) == 0 && strcmp(specials[i].column, column) == 0)
            return specials[i].value;
    return NULL;
}

/* `value AS "column"` for every column but the checksum. */
static enum pm_status add_values(struct pm_other *other, const struct table *table,
                                 const struct pm_shape *shape, struct pm_text *sql,
                                 struct pm_error *err)
{
    struct pm_arena arena = {0};
    enum pm_status status = PM_OK;
    bool first = true;
    for (size_t c = 0; status == PM_OK && c < shape->count; c++) {
        const char *name = shape->columns[c].name, *target = NULL;
        const char *special = special_value(table->table, name);
        if ((int)c == shape->checksum)
            continue;
        status = pm_other_target(other, table->table, name, &arena, &target, err);
        pm_text_add(sql, first ? "" : ", ");
        if (special != NULL)
            pm_text_add(sql, special);
        else if (table->numbered && strcmp(name, "id") == 0)
            pm_text_add(sql, "mm.mine");
        else if (target != NULL)
            pm_text_addf(sql,
                         "(SELECT mine FROM temp.other_map WHERE tbl = '%s' AND theirs = o.\"%s\")",
                         target, name);
        else
            pm_text_addf(sql, "o.\"%s\"", name);
        pm_text_addf(sql, " AS \"%s\"", name);
        first = false;
    }
    pm_arena_release(&arena);
    return status;
}

static void add_columns(const struct pm_shape *shape, bool checksum_made, struct pm_text *sql)
{
    for (size_t c = 0; c < shape->count; c++) {
        pm_text_add(sql, c > 0 ? ", " : "");
        if (checksum_made && (int)c == shape->checksum) {
            pm_text_addf(sql, "pm_checksum('%s'", shape->table);
            for (size_t k = 0; k < shape->count; k++)
                if ((int)k != shape->checksum)
                    pm_text_addf(sql, ", \"%s\"", shape->columns[k].name);
            pm_text_add_char(sql, ')');
        } else {
            pm_text_addf(sql, "\"%s\"", shape->columns[c].name);
        }
    }
}

static enum pm_status copy_rows(struct pm_other *other, const struct table *table,
                                struct pm_error *err)
{
    const struct pm_shape *shape = pm_other_shape(other, table->table);
    struct pm_text sql = PM_TEXT_EMPTY;
    pm_text_addf(&sql, "INSERT INTO main.%s (", table->table);
    add_columns(shape, false, &sql);
    pm_text_add(&sql, ") SELECT ");
    add_columns(shape, true, &sql);
    pm_text_add(&sql, " FROM (SELECT ");
    const enum pm_status status = add_values(other, table, shape, &sql, err);
    if (status != PM_OK) {
        pm_text_release(&sql);
        return status;
    }
    pm_text_addf(&sql, " FROM other.%s AS o", table->table);
    if (table->numbered)
        pm_text_addf(
            &sql,
            " JOIN temp.other_map AS mm ON mm.tbl = '%s' AND mm.theirs = o.id AND mm.fresh "
            "= 1 ORDER BY mm.mine)",
            table->table);
    else
        pm_text_addf(&sql, " WHERE %s)", table->which);
    return pm_other_run_text(other, &sql, err);
}

/* ---- what follows from the rows ---- */

static const char *const derived[] = {
    "INSERT OR IGNORE INTO main.material_use (material, formula) SELECT m.mine, f.mine FROM "
    "other.material_use AS u JOIN temp.other_chosen AS c ON c.kind = 0 AND c.id = u.formula JOIN "
    "temp.other_map AS m ON m.tbl = 'material' AND m.theirs = u.material JOIN temp.other_map AS f "
    "ON "
    "f.tbl = 'formula' AND f.theirs = u.formula",
    "INSERT OR REPLACE INTO main.bottle_left (bottle, mass, movements) SELECT b.mine, "
    "ifnull(sum(v.mass), 0), count(v.id) FROM temp.other_chosen AS c JOIN temp.other_map AS b ON "
    "b.tbl = 'bottle' AND b.theirs = c.id LEFT JOIN main.movement AS v ON v.bottle = b.mine WHERE "
    "c.kind = 2 GROUP BY b.mine",
};

static const char *const counts[] = {
    "UPDATE main.formula AS f SET kept = (SELECT count(*) FROM main.trial AS t WHERE t.formula = "
    "f.id AND t.kept_at IS NOT NULL), revisions = (SELECT count(*) FROM main.revision AS r WHERE "
    "r.formula = f.id), chain = ifnull((SELECT r.checksum FROM main.revision AS r WHERE r.formula "
    "= "
    "f.id ORDER BY r.number DESC LIMIT 1), 0), changed_at = max(f.changed_at, (SELECT o.changed_at "
    "FROM temp.other_map AS x JOIN other.formula AS o ON o.id = x.theirs WHERE x.tbl = 'formula' "
    "AND "
    "x.mine = f.id)) WHERE f.id IN (SELECT x.mine FROM temp.other_chosen AS c JOIN temp.other_map "
    "AS "
    "x ON x.tbl = 'formula' AND x.theirs = c.id WHERE c.kind = 0)",
};

typedef enum pm_status for_one(struct pm_other *other, int64_t id, struct pm_error *err);

static enum pm_status for_each(struct pm_other *other, const char *sql, for_one *one,
                               struct pm_error *err)
{
    struct pm_arena arena = {0};
    struct {
        int64_t *items;
        size_t count;
        struct pm_arena arena;
    } ids = {NULL, 0, arena};
    sqlite3_stmt *row = NULL;
    int rc = SQLITE_OK;
    enum pm_status status = pm_other_prepare(other, sql, &row, err);
    while (status == PM_OK && (rc = sqlite3_step(row)) == SQLITE_ROW) {
        int64_t *id = pm_list_add(&ids);
        if (id == NULL)
            break;
        *id = sqlite3_column_int64(row, 0);
    }
    sqlite3_finalize(row);
    if (status == PM_OK && rc != SQLITE_DONE && rc != SQLITE_ROW)
        status = pm_store_fail(other->library->db, rc, OTHER_DOING, err);
    if (status == PM_OK)
        status = pm_arena_status(&ids.arena, err);
    for (size_t i = 0; status == PM_OK && i < ids.count; i++) {
        status =
            pm_library_go_on(other->library, "bringing it in", (int64_t)i, (int64_t)ids.count, err);
        if (status == PM_OK)
            status = one(other, ids.items[i], err);
    }
    pm_list_release(&ids);
    return status;
}

/* A trial's lines speak of other numbers now: what stands for all of them is made anew. */
static enum pm_status seal_content(struct pm_other *other, int64_t id, struct pm_error *err)
{
    struct pm_trial trial;
    struct pm_trial_head head;
    bool sound = false;
    sqlite3_stmt *update = NULL;
    enum pm_status status = pm_trial_read_as_is(other->library, id, &trial, &head, &sound, err);
    if (status != PM_OK)
        return status;
    const int64_t content = (int64_t)pm_crc_lines(&trial);
    pm_trial_release(&trial);
    status =
        pm_other_prepare(other, "UPDATE main.trial SET content = ?2 WHERE id = ?1", &update, err);
    if (status != PM_OK)
        return status;
    int rc = sqlite3_bind_int64(update, 1, id);
    if (rc == SQLITE_OK)
        rc = sqlite3_bind_int64(update, 2, content);
    if (rc == SQLITE_OK)
        rc = sqlite3_step(update);
    sqlite3_finalize(update);
    return rc == SQLITE_DONE ? PM_OK : pm_store_fail(other->library->db, rc, "bringing it in", err);
}

static enum pm_status chain(struct pm_other *other, int64_t id, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, other->library, PM_SQL_REVISION_CHAIN);
    pm_query_int(&query, id);
    return pm_query_run(&query, err);
}

static enum pm_status refresh_search(struct pm_other *other, int64_t material, struct pm_error *err)
{
    return pm_search_refresh(other->library, material, err);
}

/* Of a table's rows that `which` names. */
static enum pm_status renew_checksums(struct pm_other *other, const char *table, const char *which,
                                      struct pm_error *err)
{
    const struct pm_shape *shape = pm_other_shape(other, table);
    struct pm_text sql = PM_TEXT_EMPTY;
    pm_text_addf(&sql, "UPDATE main.%s SET checksum = pm_checksum('%s'", table, table);
    for (size_t c = 0; c < shape->count; c++)
        if ((int)c != shape->checksum)
            pm_text_addf(&sql, ", \"%s\"", shape->columns[c].name);
    pm_text_addf(&sql, ") WHERE id IN (%s)", which);
    return pm_other_run_text(other, &sql, err);
}

#define FRESH_TRIALS "SELECT mine FROM temp.other_map WHERE tbl = 'trial' AND fresh = 1"
#define CHOSEN_FORMULAS                                                                            \
    "SELECT x.mine FROM temp.other_chosen AS c JOIN temp.other_map AS x ON x.tbl = 'formula' AND " \
    "x.theirs = c.id WHERE c.kind = 0"

static enum pm_status make_derived(struct pm_other *other, struct pm_error *err)
{
    enum pm_status status = run_all(other, derived, sizeof derived / sizeof derived[0], err);
    if (status == PM_OK)
        status = for_each(other, FRESH_TRIALS, seal_content, err);
    if (status == PM_OK)
        status = renew_checksums(other, "trial", FRESH_TRIALS, err);
    if (status == PM_OK)
        status = for_each(other, "SELECT id FROM temp.other_chosen WHERE kind = 0",
                          pm_other_tell_changes, err);
    if (status == PM_OK)
        status = for_each(other,
                          "SELECT r.id FROM temp.other_map AS x JOIN main.revision AS r ON r.id = "
                          "x.mine WHERE x.tbl = 'revision' AND x.fresh = 1 ORDER BY r.formula, "
                          "r.number",
                          chain, err);
    if (status == PM_OK)
        status = run_all(other, counts, sizeof counts / sizeof counts[0], err);
    if (status == PM_OK)
        status = renew_checksums(other, "formula", CHOSEN_FORMULAS, err);
    return status;
}

/* ---- what can be undone ---- */

struct seen {
    struct pm_other *other;
    struct pm_shelf_log *log;
    enum pm_shelf_rows rows;
    bool born;
};

static enum pm_status note_each(struct seen *seen, const char *sql, struct pm_error *err)
{
    sqlite3_stmt *row = NULL;
    int rc = SQLITE_OK;
    enum pm_status status = pm_other_prepare(seen->other, sql, &row, err);
    while (status == PM_OK && (rc = sqlite3_step(row)) == SQLITE_ROW) {
        const int64_t id = sqlite3_column_int64(row, 0);
        status = seen->born ? pm_shelf_log_born(seen->log, seen->rows, id, err)
                            : pm_shelf_log_touch(seen->log, seen->rows, id, err);
    }
    sqlite3_finalize(row);
    return status == PM_OK && rc != SQLITE_DONE
               ? pm_store_fail(seen->other->library->db, rc, "bringing it in", err)
               : status;
}

/* Rows that stand out of sight, but shall not: the log notes them, then they are seen. */
static enum pm_status reveal(struct pm_other *other, struct pm_shelf_log *log, const char *table,
                             int kind, enum pm_shelf_rows rows, struct pm_error *err)
{
    struct seen seen = {other, log, rows, false};
    char which[400], sql[480];
    sqlite3_snprintf(
        (int)sizeof which, which,
        "SELECT x.mine FROM temp.other_chosen AS c JOIN temp.other_map AS x ON x.tbl = "
        "'%s' AND x.theirs = c.id JOIN main.%s AS m ON m.id = x.mine JOIN other.%s AS o "
        "ON o.id = c.id WHERE c.kind = %d AND m.set_aside = 1 AND o.set_aside = 0",
        table, table, table, kind);
    enum pm_status status = pm_other_run(other, "DROP TABLE IF EXISTS temp.other_seen", err);
    sqlite3_snprintf((int)sizeof sql, sql, "CREATE TEMP TABLE other_seen AS %s", which);
    if (status == PM_OK)
        status = pm_other_run(other, sql, err);
    if (status == PM_OK)
        status = note_each(&seen, "SELECT mine FROM temp.other_seen", err);
    sqlite3_snprintf((int)sizeof sql, sql,
                     "UPDATE main.%s SET set_aside = 0 WHERE id IN (SELECT mine FROM "
                     "temp.other_seen)",
                     table);
    if (status == PM_OK)
        status = pm_other_run(other, sql, err);
    if (status == PM_OK)
        status = renew_checksums(other, table, "SELECT mine FROM temp.other_seen", err);
    return status == PM_OK ? pm_other_run(other, "DROP TABLE temp.other_seen", err) : status;
}

static enum pm_status note_all(struct pm_other *other, struct pm_shelf_log *log,
                               struct pm_error *err)
{
    struct seen bottles = {other, log, PM_ROWS_BOTTLE, true};
    enum pm_status status = note_each(
        &bottles, "SELECT mine FROM temp.other_map WHERE tbl = 'bottle' AND fresh = 1", err);
    if (status == PM_OK)
        status = reveal(other, log, "material", 1, PM_ROWS_MATERIAL, err);
    if (status == PM_OK)
        status = reveal(other, log, "formula", 0, PM_ROWS_FORMULA, err);
    if (status == PM_OK)
        status = reveal(other, log, "bottle", 2, PM_ROWS_BOTTLE, err);
    return status;
}

/* ---- all of it ---- */

/* Something was written since the items were made: they are made again, and have to be the same as
 * far as they were chosen. */
static enum pm_status check_current(struct pm_other *other, struct pm_error *err)
{
    int64_t version = 0, changed = 0;
    struct pm_other_items again;
    enum pm_status status = pm_other_ask(other, "PRAGMA main.data_version", &version, err);
    if (status != PM_OK || (version == other->version &&
                            other->changes == sqlite3_total_changes64(other->library->db)))
        return status;
    status = pm_other_run(other,
                          "DROP TABLE IF EXISTS temp.other_before; CREATE TEMP TABLE other_before "
                          "AS SELECT * FROM temp.other_item",
                          err);
    if (status == PM_OK)
        status = pm_other_items(other, &again, err);
    if (status != PM_OK)
        return status;
    pm_list_release(&again);
    status =
        pm_other_ask(other,
                     "SELECT count(*) FROM temp.other_before AS b LEFT JOIN temp.other_item AS "
                     "i ON i.kind = b.kind AND i.id = b.id WHERE i.state IS NOT b.state OR "
                     "i.mine IS NOT b.mine OR i.clash IS NOT b.clash OR i.theirs_more IS NOT "
                     "b.theirs_more",
                     &changed, err);
    if (status == PM_OK)
        status = pm_other_run(other, "DROP TABLE temp.other_before", err);
    if (status == PM_OK && changed > 0)
        status = pm_fail(err, PM_STALE,
                         "The library was changed meanwhile, so that what comes in means something "
                         "else; look at it again.");
    return status;
}

static enum pm_status copy_all(struct pm_other *other, struct pm_error *err)
{
    const size_t count = sizeof tables / sizeof tables[0];
    enum pm_status status = run_all(other, seconds, sizeof seconds / sizeof seconds[0], err);
    for (size_t i = 0; status == PM_OK && i < count; i++)
        if (tables[i].numbered)
            status = number_rows(other, &tables[i], err);
    for (size_t i = 0; status == PM_OK && i < count; i++) {
        status =
            pm_library_go_on(other->library, "bringing it in", (int64_t)i, (int64_t)count, err);
        if (status == PM_OK)
            status = copy_rows(other, &tables[i], err);
    }
    return status == PM_OK ? make_derived(other, err) : status;
}

static enum pm_status bring(struct pm_other *other, const struct pm_other_choice *choices,
                            size_t count, struct pm_shelf_log *log, struct pm_error *err)
{
    sqlite3 *db = other->library->db;
    enum pm_status status = check_current(other, err);
    if (status == PM_OK)
        status = put_choices(other, choices, count, err);
    if (status == PM_OK)
        status = pm_execute(db, "PRAGMA defer_foreign_keys = ON", "bringing it in", err);
    if (status != PM_OK)
        return status;
    sqlite3_db_config(db, SQLITE_DBCONFIG_ENABLE_TRIGGER, 0, (int *)NULL);
    status = copy_all(other, err);
    if (status == PM_OK)
        status = note_all(other, log, err);
    if (status == PM_OK) /* it knows what is in sight */
        status = for_each(other,
                          "SELECT min(x.mine) FROM temp.other_chosen AS c JOIN temp.other_map AS x "
                          "ON x.tbl = 'material' AND x.theirs = c.id WHERE c.kind = 1 GROUP BY "
                          "x.mine / 32",
                          refresh_search, err);
    sqlite3_db_config(db, SQLITE_DBCONFIG_ENABLE_TRIGGER, 1, (int *)NULL);
    return status == PM_OK
               ? pm_library_sound(other->library, "It does not fit into this library", err)
               : status;
}

enum pm_status pm_other_bring(struct pm_other *other, const struct pm_other_choice *choices,
                              size_t count, struct pm_shelf_log *log, struct pm_error *err)
{
    if (!other->some)
        return pm_fail(err, PM_STALE, "Look at what there is first.");
    const enum pm_status status = bring(other, choices, count, log, err);
    /* Where it failed the caller undoes all of it, and the items are those that were looked at. */
    other->some = status != PM_OK;
    return status;
}

enum pm_status pm_other_brought(struct pm_other *other, enum pm_other_kind kind, int64_t id,
                                int64_t *here, struct pm_error *err)
{
    struct pm_text sql = PM_TEXT_EMPTY;
    const char *table = pm_other_table(kind);
    *here = 0;
    pm_text_addf(&sql, "SELECT mine FROM temp.other_map WHERE tbl = '%s' AND theirs = %lld",
                 table != NULL ? table : "limit_rule", (long long)id);
    const enum pm_status status =
        pm_text_ok(&sql) ? pm_other_ask(other, pm_text_get(&sql), here, err) : pm_fail_memory(err);
    pm_text_release(&sql);
    return status;
}
