/* SPDX-License-Identifier: MIT */
/*
 * What another library holds, item by item, and what each needs (other_inside.h).
 */
#include "other_inside.h"

#include "connection.h"

#include "permille/base/text.h"

#include <string.h>

/* ---- tables ---- */

static const struct kind {
    const char *table;
    const char *more;  /* table of rows that are added to it in time; NULL: none */
    const char *owner; /* its column */
} kinds[PM_OTHER_KINDS] = {
    [PM_OTHER_FORMULA] = {"formula", "revision", "formula"},
    [PM_OTHER_MATERIAL] = {"material", NULL, NULL},
    [PM_OTHER_BOTTLE] = {"bottle", "movement", "bottle"},
    [PM_OTHER_BATCH] = {"batch", NULL, NULL},
    [PM_OTHER_FILLING] = {"filling", "filling_event", "filling"},
    [PM_OTHER_SESSION] = {"application", NULL, NULL},
    [PM_OTHER_SMELL] = {"smell", NULL, NULL},
    [PM_OTHER_PANEL] = {"panel", "panel_answer", "panel"},
    [PM_OTHER_SERIES] = {"series", "rating", "series"},
    [PM_OTHER_RULES] = {NULL, NULL, NULL},
    [PM_OTHER_BALANCE] = {"balance", NULL, NULL},
    [PM_OTHER_CEILING] = {"ceiling", NULL, NULL},
    [PM_OTHER_RATE] = {"currency_rate", NULL, NULL},
};

const char *pm_other_table(enum pm_other_kind kind)
{
    return kinds[kind].table;
}

/* Columns that number a row, say when it was entered, are made from others, or are told in another
 * way. */
bool pm_other_is_content(const char *table, const char *column)
{
    static const char *const never[] = {"id", "checksum", "folded", "set_aside", "made_at"};
    static const char *const of_formula[] = {"changed_at", "kept", "revisions", "chain"};
    for (size_t i = 0; i < sizeof never / sizeof never[0]; i++)
        if (strcmp(column, never[i]) == 0)
            return false;
    for (size_t i = 0; i < sizeof of_formula / sizeof of_formula[0]; i++)
        if (strcmp(table, "formula") == 0 && strcmp(column, of_formula[i]) == 0)
            return false;
    return true;
}

enum pm_status pm_other_target(struct pm_other *other, const char *table, const char *column,
                               struct pm_arena *arena, const char **out, struct pm_error *err)
{
    sqlite3_stmt *row = NULL;
    enum pm_status status = pm_other_prepare(
        other, "SELECT \"table\" FROM pragma_foreign_key_list(?1) WHERE \"from\" = ?2", &row, err);
    *out = NULL;
    if (status != PM_OK)
        return status;
    int rc = sqlite3_bind_text(row, 1, table, -1, SQLITE_STATIC);
    if (rc == SQLITE_OK)
        rc = sqlite3_bind_text(row, 2, column, -1, SQLITE_STATIC);
    if (rc == SQLITE_OK)
        rc = sqlite3_step(row);
    if (rc == SQLITE_ROW)
        *out = pm_arena_text(arena, (const char *)sqlite3_column_text(row, 0));
    sqlite3_finalize(row);
    if (rc != SQLITE_ROW && rc != SQLITE_DONE)
        return pm_store_fail(other->library->db, rc, OTHER_DOING, err);
    return pm_arena_status(arena, err);
}

/* ---- items ---- */

static const char *const tables[] = {
    "DROP TABLE IF EXISTS temp.other_item",
    "CREATE TEMP TABLE other_item (kind INTEGER NOT NULL, id INTEGER NOT NULL, mine INTEGER, clash "
    "INTEGER, differs INTEGER NOT NULL DEFAULT 0, aside INTEGER NOT NULL DEFAULT 0, theirs_more "
    "INTEGER NOT NULL DEFAULT 0, mine_more INTEGER NOT NULL DEFAULT 0, trials_more INTEGER NOT "
    "NULL "
    "DEFAULT 0, gestures_left INTEGER NOT NULL DEFAULT 0, apart INTEGER NOT NULL DEFAULT 0, state "
    "INTEGER, PRIMARY KEY (kind, id)) WITHOUT ROWID",
};

static enum pm_status add_items(struct pm_other *other, enum pm_other_kind kind,
                                struct pm_error *err)
{
    struct pm_text sql = PM_TEXT_EMPTY;
    pm_text_addf(&sql,
                 "INSERT INTO other_item (kind, id, mine) SELECT %d, o.id, (SELECT mine FROM "
                 "temp.other_map WHERE tbl = '%s' AND theirs = o.id) FROM other.%s AS o%s",
                 (int)kind, kinds[kind].table, kinds[kind].table,
                 kind == PM_OTHER_SMELL     ? " WHERE o.corrects IS NULL"
                 : kind == PM_OTHER_CEILING ? " WHERE o.formula IS NULL"
                                            : "");
    return pm_other_run_text(other, &sql, err);
}

/* How many rows only one side has. */
static enum pm_status count_more(struct pm_other *other, enum pm_other_kind kind,
                                 struct pm_error *err)
{
    struct pm_text sql = PM_TEXT_EMPTY;
    const char *more = kinds[kind].more, *owner = kinds[kind].owner;
    if (more == NULL)
        return PM_OK;
    pm_text_addf(&sql,
                 "UPDATE other_item SET theirs_more = (SELECT count(*) FROM other.%s AS r WHERE "
                 "r.%s = other_item.id AND NOT EXISTS (SELECT 1 FROM temp.other_map WHERE tbl = "
                 "'%s' AND theirs = r.id)), ",
                 more, owner, more);
    pm_text_addf(&sql,
                 "mine_more = (SELECT count(*) FROM main.%s AS r WHERE r.%s = other_item.mine AND "
                 "NOT EXISTS (SELECT 1 FROM temp.other_map WHERE tbl = '%s' AND mine = r.id)) "
                 "WHERE kind = %d AND mine IS NOT NULL",
                 more, owner, more, (int)kind);
    return pm_other_run_text(other, &sql, err);
}

/* Whether any column that is content says something else. */
static enum pm_status compare_columns(struct pm_other *other, enum pm_other_kind kind,
                                      struct pm_error *err)
{
    const struct pm_shape *shape = pm_other_shape(other, kinds[kind].table);
    struct pm_text sql = PM_TEXT_EMPTY;
    struct pm_arena arena = {0};
    enum pm_status status = PM_OK;
    pm_text_addf(&sql,
                 "UPDATE other_item SET differs = 1 WHERE kind = %d AND id IN (SELECT o.id FROM "
                 "other.%s AS o JOIN temp.other_map AS x ON x.tbl = '%s' AND x.theirs = o.id JOIN "
                 "main.%s AS m ON m.id = x.mine WHERE false",
                 (int)kind, shape->table, shape->table, shape->table);
    for (size_t c = 0; status == PM_OK && c < shape->count; c++) {
        const char *name = shape->columns[c].name, *target;
        if (!pm_other_is_content(shape->table, name))
            continue;
        status = pm_other_target(other, shape->table, name, &arena, &target, err);
        if (status == PM_OK && kind == PM_OTHER_BOTTLE && strcmp(name, "note") == 0)
            pm_text_add(&sql, " OR (o.note IS NOT m.note AND m.note IS NOT " OTHER_BOTTLE_NOTE ")");
        else if (status == PM_OK && target != NULL)
            pm_text_addf(&sql,
                         " OR (o.\"%s\" IS NOT NULL AND (SELECT mine FROM temp.other_map WHERE tbl "
                         "= '%s' AND theirs = o.\"%s\") IS NOT m.\"%s\")",
                         name, target, name, name);
        else
            pm_text_addf(&sql, " OR o.\"%s\" IS NOT m.\"%s\"", name, name);
    }
    pm_text_add(&sql, ")");
    pm_arena_release(&arena);
    if (status != PM_OK) {
        pm_text_release(&sql);
        return status;
    }
    return pm_other_run_text(other, &sql, err);
}

/* Numbers of kinds as SQL has them; test_other.c holds them against the enum. */
#define FORMULA  "0"
#define MATERIAL "1"
#define BOTTLE   "2"
#define BATCH    "3"
#define FILLING  "4"
#define SESSION  "5"
#define SMELL    "6"
#define PANEL    "7"
#define SERIES   "8"
#define RULES    "9"

/* Two sets of rows that belong to a material, as one text each. */
#define LISTED(what, from, order)                                                                  \
    "(SELECT json_group_array(json_array(" what ")) FROM (SELECT * FROM " from " ORDER BY " order  \
    "))"
#define DIFFERENT(what, theirs, mine, order)                                                       \
    LISTED(what, theirs, order) " IS NOT " LISTED(what, mine, order)

#define FACT "property, value, words, source, confidence"
static const char *const refine[] = {
    /* Names, facts and constituents of one's own; a row that is alike in both by its checksum,
     * number and all, needs no look. */
    "UPDATE other_item SET differs = 1 WHERE kind = " MATERIAL
    " AND mine IS NOT NULL AND differs = "
    "0 AND (" DIFFERENT(
        "folded", "other.material_name WHERE material = other_item.id",
        "main.material_name WHERE material = other_item.mine",
        "folded") " OR " DIFFERENT(FACT,
                                   "other.material_fact WHERE material = other_item.id AND origin "
                                   "= 'own'",
                                   "main.material_fact WHERE material = other_item.mine AND origin "
                                   "= 'own'",
                                   "property") " OR (SELECT json_group_array(json_array(folded, "
                                               "least, typical, most, source, confidence)) FROM "
                                               "(SELECT s.folded, c.* FROM other.constituent AS c "
                                               "JOIN other.substance AS s ON s.id = "
                                               "c.substance WHERE c.material = other_item.id AND "
                                               "c.origin = 'own' ORDER BY c.place)) IS NOT "
                                               "(SELECT json_group_array(json_array(folded, least, "
                                               "typical, most, source, confidence)) FROM "
                                               "(SELECT s.folded, c.* FROM main.constituent AS c "
                                               "JOIN main.substance AS s ON s.id = c.substance "
                                               "WHERE c.material = other_item.mine AND c.origin = "
                                               "'own' ORDER BY c.place)))",
    "UPDATE other_item SET aside = 1 WHERE kind = " MATERIAL " AND mine IS NOT NULL AND (SELECT "
    "m.set_aside > o.set_aside FROM main.material AS m, other.material AS o WHERE m.id = mine AND "
    "o.id = other_item.id)",
    "UPDATE other_item SET aside = 1 WHERE kind = " FORMULA " AND mine IS NOT NULL AND (SELECT "
    "m.set_aside > o.set_aside FROM main.formula AS m, other.formula AS o WHERE m.id = mine AND "
    "o.id = other_item.id)",
    "UPDATE other_item SET aside = 1 WHERE kind = " BOTTLE " AND mine IS NOT NULL AND (SELECT "
    "m.set_aside > o.set_aside FROM main.bottle AS m, other.bottle AS o WHERE m.id = mine AND "
    "o.id = other_item.id)",
    /* Formulas: kept trials, what stays on the draft when it forked, whether ours is the beginning
     * of theirs number for number. */
    "UPDATE other_item SET trials_more = (SELECT count(*) FROM other.trial AS t WHERE t.formula = "
    "other_item.id AND t.kept_at IS NOT NULL AND NOT " MAPPED(
        "trial",
        "t.id") "), "
                "gestures_left = (SELECT count(*) FROM other.revision AS r WHERE r.formula = "
                "other_item.id AND "
                "NOT " MAPPED(
                    "revision",
                    "r.id") " AND r.number > (SELECT ifnull(max(k.number), 0) FROM "
                            "other.revision AS k WHERE k.formula = r.formula AND k.gesture = "
                            "'keep')), "
                            "apart = EXISTS (SELECT 1 FROM other.revision AS r JOIN temp.other_map "
                            "AS x ON x.tbl = "
                            "'revision' AND x.theirs = r.id JOIN main.revision AS m ON m.id = "
                            "x.mine WHERE r.formula = "
                            "other_item.id AND m.number <> r.number) WHERE kind = " FORMULA,
    "UPDATE other_item SET clash = (SELECT m.id FROM main.formula AS m JOIN other.formula AS o ON "
    "o.folded = m.folded WHERE o.id = other_item.id) WHERE kind = " FORMULA " AND mine IS NULL",
    "UPDATE other_item SET clash = (SELECT m.id FROM main.panel AS m JOIN other.panel AS o ON "
    "o.folded = m.folded WHERE o.id = other_item.id) WHERE kind = " PANEL " AND mine IS NULL",
    "UPDATE other_item SET clash = (SELECT m.id FROM main.series AS m JOIN other.series AS o ON "
    "o.folded = m.folded WHERE o.id = other_item.id) WHERE kind = " SERIES " AND mine IS NULL",
    /* A batch goes on by what happened to it, by plans and pours. */
    "UPDATE other_item SET theirs_more = "
    "(SELECT count(*) FROM other.batch_event AS r WHERE r.batch = other_item.id AND NOT " MAPPED(
        "batch_event",
        "r.id") ") + "
                "(SELECT count(*) FROM other.batch_plan AS r WHERE r.batch = other_item.id AND "
                "NOT " MAPPED("batch_plan",
                              "r.id") ") + "
                                      "(SELECT count(*) FROM other.batch_pour AS r WHERE r.batch = "
                                      "other_item.id AND NOT " MAPPED(
                                          "batch_pour",
                                          "r.id") "), mine_more = "
                                                  "(SELECT count(*) FROM main.batch_event AS r "
                                                  "WHERE r.batch = other_item.mine AND NOT EXISTS "
                                                  "(SELECT 1 FROM temp.other_map WHERE tbl = "
                                                  "'batch_event' AND mine = r.id)) + "
                                                  "(SELECT count(*) FROM main.batch_plan AS r "
                                                  "WHERE r.batch = other_item.mine AND NOT EXISTS "
                                                  "(SELECT 1 FROM temp.other_map WHERE tbl = "
                                                  "'batch_plan' AND mine = r.id)) + "
                                                  "(SELECT count(*) FROM main.batch_pour AS r "
                                                  "WHERE r.batch = other_item.mine AND NOT EXISTS "
                                                  "(SELECT 1 FROM temp.other_map WHERE tbl = "
                                                  "'batch_pour' AND mine = r.id)) "
                                                  "WHERE kind = " BATCH " AND mine IS NOT NULL",
    /* A smell note by its corrections, and by the clocks that it set. */
    "UPDATE other_item SET differs = 0, theirs_more = (SELECT count(*) FROM temp.other_smell AS s "
    "WHERE s.root = other_item.id AND NOT " MAPPED(
        "smell", "s.id") ") + (SELECT count(*) FROM "
                         "temp.other_smell AS s JOIN other.calibration AS c ON c.smell = s.id "
                         "WHERE s.root = "
                         "other_item.id AND NOT " MAPPED(
                             "calibration", "c.id") ") WHERE kind = " SMELL " AND mine IS NOT NULL",
    /* Sets of rules, row for row. */
    "INSERT INTO other_item (kind, id, mine, differs) SELECT " RULES
    ", o.id, m.id, m.id IS NOT NULL "
    "AND o.k IS NOT m.k FROM (SELECT min(id) AS id, rule_set, own, json_group_array(json_array("
    "replaces, name, kind, members, cas, scope, percent, unlimited, note, source, dated)) AS k "
    "FROM "
    "(SELECT * FROM other.limit_rule ORDER BY name, scope, id) GROUP BY rule_set, own) AS o LEFT "
    "JOIN (SELECT min(id) AS id, rule_set, own, json_group_array(json_array(replaces, name, kind, "
    "members, cas, scope, percent, unlimited, note, source, dated)) AS k FROM (SELECT * FROM "
    "main.limit_rule ORDER BY name, scope, id) GROUP BY rule_set, own) AS m ON m.rule_set = "
    "o.rule_set AND m.own = o.own",
    "UPDATE other_item SET state = CASE WHEN mine IS NULL AND clash IS NOT NULL THEN 7 WHEN mine "
    "IS NULL THEN 0 WHEN theirs_more > 0 AND mine_more = 0 AND (NOT apart OR trials_more > 0) THEN "
    "3 WHEN theirs_more > 0 THEN 5 WHEN mine_more > 0 THEN 4 WHEN differs THEN 6 WHEN aside THEN 2 "
    "ELSE 1 END",
};

/* ---- what they need ---- */

#define NEED(kind, id, on_kind, on, from, where)                                                   \
    "INSERT OR IGNORE INTO other_need SELECT " kind ", " id ", " on_kind ", " on " FROM " from     \
    " WHERE " where
/* ... that is a trial. */
#define NEED_TRIAL(kind, id, trial, from)                                                          \
    NEED(kind, id, FORMULA, "t.formula", from " JOIN other.trial AS t ON t.id = " trial,           \
         "NOT " MAPPED("trial", "t.id"))

static const char *const needs[] = {
    "DROP TABLE IF EXISTS temp.other_need",
    "CREATE TEMP TABLE other_need (kind INTEGER NOT NULL, id INTEGER NOT NULL, on_kind INTEGER NOT "
    "NULL, on_id INTEGER NOT NULL, PRIMARY KEY (kind, id, on_kind, on_id)) WITHOUT ROWID",
    NEED(FORMULA, "u.formula", MATERIAL, "u.material", "other.material_use AS u",
         "NOT " MAPPED("material", "u.material")),
    NEED(FORMULA, "f.formula", MATERIAL, "f.id",
         "temp.other_ref AS f JOIN other.material AS m ON m.id = f.id",
         "f.trial = 0 AND NOT " MAPPED("material", "f.id")),
    NEED(FORMULA, "f.formula", FORMULA, "t.formula",
         "temp.other_ref AS f JOIN other.trial AS t ON t.id = f.id",
         "f.trial = 1 AND t.formula <> f.formula AND NOT " MAPPED("trial", "t.id")),
    NEED(FORMULA, "p.formula", FORMULA, "t.formula",
         "other.line AS l JOIN other.trial AS t ON t.id = l.accord JOIN other.trial AS p ON p.id = "
         "l.trial",
         "NOT " MAPPED("trial", "t.id")),
    NEED(FORMULA, "t.formula", MATERIAL, "u.material",
         "other.made_up AS u JOIN other.trial AS t ON t.id = u.trial",
         "NOT " MAPPED("material", "u.material")),
    NEED(MATERIAL, "m.id", MATERIAL, "m.merged_into", "other.material AS m",
         "m.merged_into IS NOT NULL AND NOT " MAPPED("material", "m.merged_into")),
    NEED(BOTTLE, "b.id", MATERIAL, "b.material", "other.bottle AS b",
         "NOT " MAPPED("material", "b.material")),
    NEED(BOTTLE, "b.id", MATERIAL, "b.solvent", "other.bottle AS b",
         "b.solvent IS NOT NULL AND NOT " MAPPED("material", "b.solvent")),
    NEED_TRIAL(BATCH, "b.id", "b.trial", "other.batch AS b"),
    NEED(BATCH, "p.batch", MATERIAL, "l.material",
         "other.batch_line AS l JOIN other.batch_plan AS p ON p.id = l.plan",
         "NOT " MAPPED("material", "l.material")),
    NEED(BATCH, "p.batch", MATERIAL, "l.solvent",
         "other.batch_line AS l JOIN other.batch_plan AS p ON p.id = l.plan",
         "l.solvent IS NOT NULL AND NOT " MAPPED("material", "l.solvent")),
    NEED(BATCH, "p.batch", BOTTLE, "l.bottle",
         "other.batch_line AS l JOIN other.batch_plan AS p ON p.id = l.plan",
         "l.bottle IS NOT NULL AND NOT " MAPPED("bottle", "l.bottle")),
    NEED(BATCH, "p.batch", BOTTLE, "p.bottle", "other.batch_pour AS p",
         "p.bottle IS NOT NULL AND NOT " MAPPED("bottle", "p.bottle")),
    /* A pour is in the ledger, too: where that forked, the bottle has to come with its own. */
    NEED(BATCH, "p.batch", BOTTLE, "v.bottle",
         "other.batch_pour AS p JOIN other.movement AS v ON v.id = p.movement",
         "NOT " MAPPED("movement", "v.id")),
    NEED(FILLING, "f.id", BATCH, "f.batch", "other.filling AS f",
         "f.batch IS NOT NULL AND NOT " MAPPED("batch", "f.batch")),
    NEED_TRIAL(SESSION, "a.id", "a.trial", "other.application AS a"),
    NEED_TRIAL(SMELL, "s.id", "s.trial", "other.smell AS s"),
    NEED(SMELL, "r.root", SESSION, "s.application",
         "temp.other_smell AS r JOIN other.smell AS s ON s.id = r.id",
         "s.application IS NOT NULL AND NOT " MAPPED("application", "s.application")),
    NEED(SMELL, "r.root", MATERIAL, "c.material",
         "temp.other_smell AS r JOIN other.calibration AS c ON c.smell = r.id",
         "NOT " MAPPED("material", "c.material")),
    NEED_TRIAL(PANEL, "s.panel", "s.trial", "other.panel_sample AS s"),
    NEED(SERIES, "s.id", FORMULA, "s.formula", "other.series AS s",
         "NOT " MAPPED("formula", "s.formula")),
    NEED_TRIAL(SERIES, "s.series", "s.trial", "other.series_trial AS s"),
    NEED(SERIES, "s.id", PANEL, "s.panel", "other.series AS s",
         "s.panel IS NOT NULL AND NOT " MAPPED("panel", "s.panel")),
    NEED(SERIES, "s.series", PANEL, "s.panel", "other.series_trial AS s",
         "s.panel IS NOT NULL AND NOT " MAPPED("panel", "s.panel")),
};

/* Fills temp.other_item and temp.other_need. */
static enum pm_status make_items(struct pm_other *other, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t i = 0; status == PM_OK && i < sizeof tables / sizeof tables[0]; i++)
        status = pm_other_run(other, tables[i], err);
    for (int kind = 0; status == PM_OK && kind < PM_OTHER_KINDS; kind++) {
        if (kinds[kind].table == NULL)
            continue;
        status = add_items(other, (enum pm_other_kind)kind, err);
        if (status == PM_OK)
            status = count_more(other, (enum pm_other_kind)kind, err);
        if (status == PM_OK)
            status = compare_columns(other, (enum pm_other_kind)kind, err);
    }
    for (size_t i = 0; status == PM_OK && i < sizeof refine / sizeof refine[0]; i++)
        status = pm_other_run(other, refine[i], err);
    if (status == PM_OK)
        status = pm_other_collect_refs(other, err);
    for (size_t i = 0; status == PM_OK && i < sizeof needs / sizeof needs[0]; i++)
        status = pm_other_run(other, needs[i], err);
    return status;
}

/* ---- telling ---- */

/* kind, id, mine, state, name, detail, number, mass, at, accord, the four counts. */
#define ITEM "SELECT i.kind, i.id, ifnull(i.mine, i.clash), i.state, "
#define COUNTS                                                                                     \
    ", i.theirs_more, i.mine_more, i.trials_more, i.gestures_left, i.apart FROM temp.other_item "  \
    "AS i "
#define TRIAL_OF                                                                                   \
    "JOIN other.trial AS t ON t.id = o.trial JOIN other.formula AS f ON f.id = t.formula "
static const char items_sql[] = ITEM
    "o.name, NULL, 0, 0, o.changed_at, o.accord" COUNTS
    "JOIN other.formula AS o ON o.id = i.id WHERE i.kind = " FORMULA " UNION ALL " ITEM
    "n.name, o.cas, 0, 0, 0, 0" COUNTS "JOIN other.material AS o ON o.id = i.id JOIN "
    "other.material_name AS n ON n.material = o.id AND n.place = 0 WHERE i.kind = " MATERIAL
    " UNION ALL " ITEM
    "n.name, o.lot, o.id, 0, o.made_at, i.mine IS NULL AND (o.id > " OTHER_GLASS_MOST " OR o.id IN "
    "(SELECT id FROM main.bottle))" COUNTS "JOIN other.bottle AS o ON o.id = i.id JOIN "
    "other.material_name AS n ON n.material = o.material AND n.place = 0 WHERE i.kind = " BOTTLE
    " UNION ALL " ITEM "f.name, o.note, t.number, o.mass, o.made_at, 0" COUNTS
    "JOIN other.batch AS o ON o.id = i.id " TRIAL_OF "WHERE i.kind = " BATCH " UNION ALL " ITEM
    "ifnull(f.name, 'something else'), o.note, ifnull(t.number, 0), o.concentrate, o.at, 0" COUNTS
    "JOIN other.filling AS o ON o.id = i.id LEFT JOIN other.batch AS b ON b.id = o.batch LEFT "
    "JOIN other.trial AS t ON t.id = b.trial LEFT JOIN other.formula AS f ON f.id = t.formula "
    "WHERE i.kind = " FILLING " UNION ALL " ITEM
    "f.name, o.medium, t.number, 0, o.applied_at, 0" COUNTS
    "JOIN other.application AS o ON o.id = i.id " TRIAL_OF "WHERE i.kind = " SESSION
    " UNION ALL " ITEM "f.name, o.note, t.number, 0, o.at, 0" COUNTS
    "JOIN other.smell AS o ON o.id = i.id " TRIAL_OF "WHERE i.kind = " SMELL " UNION ALL " ITEM
    "o.name, o.kind, 0, 0, o.made_at, 0" COUNTS
    "JOIN other.panel AS o ON o.id = i.id WHERE i.kind = " PANEL " UNION ALL " ITEM
    "o.name, o.kind, 0, 0, o.made_at, 0" COUNTS
    "JOIN other.series AS o ON o.id = i.id WHERE i.kind = " SERIES " UNION ALL " ITEM
    "o.rule_set, iif(o.own, 'own figures', NULL), 0, 0, o.made_at, 0" COUNTS
    "JOIN other.limit_rule AS o ON o.id = i.id WHERE i.kind = " RULES " UNION ALL " ITEM
    "o.name, NULL, 0, 0, 0, 0" COUNTS "JOIN other.balance AS o ON o.id = i.id WHERE i.kind = 10 "
    "UNION ALL " ITEM "o.kind || ' ' || o.name, NULL, 0, 0, 0, 0" COUNTS
    "JOIN other.ceiling AS o ON o.id = i.id WHERE i.kind = 11 UNION ALL " ITEM
    "o.currency || ' in ' || o.other, date(o.day * 86400, 'unixepoch'), 0, 0, "
    "0, 0" COUNTS
    "JOIN other.currency_rate AS o ON o.id = i.id WHERE i.kind = 12 ORDER BY 1, 5, 7, 9, 2";

static enum pm_status read_items(struct pm_other *other, struct pm_other_items *list,
                                 struct pm_error *err)
{
    sqlite3_stmt *row = NULL;
    enum pm_status status = pm_other_prepare(other, items_sql, &row, err);
    int rc = SQLITE_OK;
    while (status == PM_OK && (rc = sqlite3_step(row)) == SQLITE_ROW) {
        struct pm_other_item *item = pm_list_add(list);
        if (item == NULL)
            break;
        *item = (struct pm_other_item){
            .kind = (enum pm_other_kind)sqlite3_column_int(row, 0),
            .id = sqlite3_column_int64(row, 1),
            .mine = sqlite3_column_int64(row, 2),
            .state = (enum pm_other_state)sqlite3_column_int(row, 3),
            .name = pm_arena_text(&list->arena, (const char *)sqlite3_column_text(row, 4)),
            .detail = pm_arena_text(&list->arena, (const char *)sqlite3_column_text(row, 5)),
            .number = sqlite3_column_int64(row, 6),
            .mass = sqlite3_column_int64(row, 7),
            .at = sqlite3_column_int64(row, 8),
            .accord = sqlite3_column_int(row, 0) == PM_OTHER_FORMULA && sqlite3_column_int(row, 9),
            .number_taken =
                sqlite3_column_int(row, 0) == PM_OTHER_BOTTLE && sqlite3_column_int(row, 9),
            .theirs_more = sqlite3_column_int64(row, 10),
            .mine_more = sqlite3_column_int64(row, 11),
            .trials_more = sqlite3_column_int64(row, 12),
            .gestures_left = sqlite3_column_int64(row, 13),
            .apart = sqlite3_column_int(row, 14) != 0,
        };
    }
    sqlite3_finalize(row);
    if (status == PM_OK && rc != SQLITE_DONE && rc != SQLITE_ROW)
        status = pm_store_fail(other->library->db, rc, OTHER_DOING, err);
    return status == PM_OK ? pm_arena_status(&list->arena, err) : status;
}

static enum pm_status compare(struct pm_other *other, struct pm_error *err)
{
    enum pm_status status = pm_other_match(other, err);
    if (status == PM_OK)
        status = make_items(other, err);
    if (status == PM_OK)
        status = pm_other_ask(other, "PRAGMA main.data_version", &other->version, err);
    if (status == PM_OK)
        other->changes = sqlite3_total_changes64(other->library->db);
    return status;
}

/* One view of the library, which ends with what is written into the tables of the moment. */
static enum pm_status compare_in_view(struct pm_other *other, struct pm_error *err)
{
    struct pm_library *library = other->library;
    if (library->depth > 0)
        return compare(other, err);
    if (library->readers > 0)
        return pm_fail(err, PM_REFUSED, "Libraries are not compared in the middle of reading.");
    enum pm_status status = pm_library_free_of_change(library, err);
    if (status == PM_OK)
        status = pm_execute(library->db, "BEGIN", OTHER_DOING, err);
    if (status == PM_OK) {
        status = compare(other, err);
        if (status == PM_OK)
            status = pm_execute(library->db, "COMMIT", OTHER_DOING, err);
        if (!sqlite3_get_autocommit(library->db))
            sqlite3_exec(library->db, "ROLLBACK", NULL, NULL, NULL);
    }
    return status;
}

enum pm_status pm_other_items(struct pm_other *other, struct pm_other_items *out,
                              struct pm_error *err)
{
    struct pm_other_items list = {0};
    other->some = false;
    enum pm_status status = compare_in_view(other, err);
    if (status == PM_OK)
        status = read_items(other, &list, err);
    other->some = status == PM_OK;
    pm_list_give(&list, status, out);
    return status;
}

enum pm_status pm_other_needs(struct pm_other *other, struct pm_other_needs *out,
                              struct pm_error *err)
{
    struct pm_other_needs list = {0};
    sqlite3_stmt *row = NULL;
    int rc = SQLITE_OK;
    enum pm_status status =
        pm_other_prepare(other, "SELECT kind, id, on_kind, on_id FROM temp.other_need", &row, err);
    while (status == PM_OK && (rc = sqlite3_step(row)) == SQLITE_ROW) {
        struct pm_other_need *need = pm_list_add(&list);
        if (need == NULL)
            break;
        *need = (struct pm_other_need){.kind = (enum pm_other_kind)sqlite3_column_int(row, 0),
                                       .id = sqlite3_column_int64(row, 1),
                                       .on_kind = (enum pm_other_kind)sqlite3_column_int(row, 2),
                                       .on = sqlite3_column_int64(row, 3)};
    }
    sqlite3_finalize(row);
    if (status == PM_OK && rc != SQLITE_DONE && rc != SQLITE_ROW)
        status = pm_store_fail(other->library->db, rc, OTHER_DOING, err);
    if (status == PM_OK)
        status = pm_arena_status(&list.arena, err);
    pm_list_give(&list, status, out);
    return status;
}
