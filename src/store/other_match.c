/* SPDX-License-Identifier: MIT */
/*
 * Which row of the other library is which of this one (other_inside.h; the rules stand in
 * permille/store/other.h).
 */
#include "other_inside.h"

#include "permille/base/text.h"

#include <string.h>

/* ---- by name ---- */

static const char *const by_name[] = {
    "DROP TABLE IF EXISTS temp.other_map",
    "CREATE TEMP TABLE other_map (tbl TEXT NOT NULL, theirs INTEGER NOT NULL, mine INTEGER NOT "
    "NULL, "
    "fresh INTEGER NOT NULL, PRIMARY KEY (tbl, theirs)) WITHOUT ROWID",
    "CREATE INDEX temp.other_map_mine ON other_map (tbl, mine)",
    /* A material by its name, then by any other of its names. */
    "INSERT INTO other_map SELECT 'material', n.material, min(m.material), 0 "
    "FROM other.material_name AS n JOIN main.material_name AS m ON m.folded = n.folded "
    "WHERE n.place = 0 GROUP BY n.material",
    "INSERT INTO other_map SELECT 'material', n.material, min(m.material), 0 "
    "FROM other.material_name AS n JOIN main.material_name AS m ON m.folded = n.folded "
    "WHERE n.place > 0 AND NOT " MAPPED("material", "n.material") " GROUP BY n.material",
    "INSERT INTO other_map SELECT 'substance', o.id, m.id, 0 FROM other.substance AS o "
    "JOIN main.substance AS m ON m.folded = o.folded",
    "INSERT INTO other_map SELECT 'balance', o.id, m.id, 0 FROM other.balance AS o "
    "JOIN main.balance AS m ON m.folded = o.folded",
    "INSERT INTO other_map SELECT 'ceiling', o.id, m.id, 0 FROM other.ceiling AS o JOIN "
    "main.ceiling "
    "AS m ON m.kind = o.kind AND m.folded = o.folded AND m.formula IS NULL WHERE o.formula IS NULL",
    /* A bottle that kept its number. */
    "INSERT INTO other_map SELECT 'bottle', o.id, m.id, 0 FROM other.bottle AS o "
    "JOIN main.bottle AS m ON m.id = o.id AND m.made_at = o.made_at AND m.strength = o.strength "
    "AND m.material = " MINE("material", "o.material"),
};

/* ---- by what never changes in a row ---- */

/* Rows that say the same of these columns are paired in their order. */
static const struct key {
    const char *table;
    const char *to; /* the column of the table that `of` is, and must correspond; NULL: none */
    const char *of;
    const char *columns; /* "at, mass", the same on both sides */
} keys[] = {
    {"bottle", "material", "material", "made_at, strength"},
    {"batch", "trial", "trial", "made_at, mass"},
    {"application", "trial", "trial", "applied_at, made_at, medium"},
    {"smell", "trial", "trial",
     "at, entered_at, since, medium, note, assessor, intensity, liking, withdrawn"},
    {"calibration", "smell", "smell", "at, remaining"},
    {"panel", NULL, NULL, "folded, made_at, kind, seed"},
    {"series", NULL, NULL, "folded, made_at, kind"},
    {"filling", NULL, NULL, "at, concentrate, ethanol, water, other"},
    {"currency_rate", NULL, NULL, "currency, other, rate, day, at"},
};

static enum pm_status match_key(struct pm_other *other, const struct key *key, struct pm_error *err)
{
    struct pm_text sql = PM_TEXT_EMPTY;
    pm_text_add(&sql, "INSERT INTO other_map ");
    pm_text_addf(&sql, "SELECT '%s', t.id, m.id, 0 FROM ", key->table);
    for (int mine = 0; mine <= 1; mine++) {
        pm_text_addf(&sql,
                     "%s(SELECT id, k, row_number() OVER (PARTITION BY k ORDER BY id) AS n "
                     "FROM (SELECT r.id, json_array(",
                     mine ? " JOIN " : "");
        if (key->to != NULL && mine)
            pm_text_addf(&sql, "r.%s, ", key->to);
        else if (key->to != NULL)
            pm_text_addf(&sql,
                         "(SELECT mine FROM temp.other_map WHERE tbl = '%s' AND theirs = r.%s), ",
                         key->of, key->to);
        pm_text_addf(&sql,
                     "%s) AS k FROM %s.%s AS r WHERE NOT EXISTS (SELECT 1 FROM "
                     "temp.other_map WHERE tbl = '%s' AND %s = r.id)",
                     key->columns, mine ? "main" : "other", key->table, key->table,
                     mine ? "mine" : "theirs");
        if (key->to != NULL && !mine)
            pm_text_addf(&sql,
                         " AND EXISTS (SELECT 1 FROM temp.other_map WHERE tbl = '%s' AND theirs = "
                         "r.%s)",
                         key->of, key->to);
        pm_text_addf(&sql, ")) AS %s", mine ? "m" : "t");
    }
    pm_text_add(&sql, " ON m.k = t.k AND m.n = t.n");
    return pm_other_run_text(other, &sql, err);
}

/* ---- row by row from the beginning ---- */

static const struct sequence {
    const char *table, *owner, *columns;
} sequences[] = {
    {"movement", "bottle", "kind, mass, found, note, at"},
    {"batch_event", "batch", "kind, at, text"},
    {"batch_plan", "batch", "at, way, tolerance"},
    {"batch_pour", "batch", "place, mass, at"},
    {"filling_event", "filling", "kind, day, note, at"},
    {"panel_answer", "panel", "round, answer, at"},
    {"rating", "series", "value, at"},
};

static enum pm_status match_sequence(struct pm_other *other, const struct sequence *sequence,
                                     struct pm_error *err)
{
    const char *table = sequence->table, *owner = sequence->owner;
    struct pm_text sql = PM_TEXT_EMPTY;
    pm_text_addf(
        &sql,
        "INSERT INTO other_map WITH t AS MATERIALIZED (SELECT r.id, x.mine AS w, "
        "row_number() OVER (PARTITION BY r.%s ORDER BY r.id) AS n, json_array(%s) AS k "
        "FROM other.%s AS r JOIN temp.other_map AS x ON x.tbl = '%s' AND x.theirs = r.%s), ",
        owner, sequence->columns, table, owner, owner);
    pm_text_addf(&sql,
                 "m AS MATERIALIZED (SELECT r.id, r.%s AS w, row_number() OVER (PARTITION BY r.%s "
                 "ORDER BY r.id) AS n, json_array(%s) AS k FROM main.%s AS r), ",
                 owner, owner, sequence->columns, table);
    pm_text_addf(&sql,
                 "j AS MATERIALIZED (SELECT t.id AS theirs, m.id AS mine, t.w, t.n, m.k IS t.k AS "
                 "same FROM t LEFT JOIN m ON m.w = t.w AND m.n = t.n), "
                 "cut AS (SELECT w, min(n) AS n FROM j WHERE NOT same GROUP BY w) "
                 "SELECT '%s', j.theirs, j.mine, 0 FROM j LEFT JOIN cut ON cut.w = j.w "
                 "WHERE cut.n IS NULL OR j.n < cut.n",
                 table);
    return pm_other_run_text(other, &sql, err);
}

/* ---- all of it ---- */

static const char *const smells[] = {
    "DROP TABLE IF EXISTS temp.other_smell",
    "CREATE TEMP TABLE other_smell (id INTEGER PRIMARY KEY, root INTEGER NOT NULL)",
    "CREATE INDEX temp.other_smell_root ON other_smell (root)",
    "INSERT INTO other_smell WITH RECURSIVE c (id, root) AS (SELECT id, id FROM other.smell "
    "WHERE corrects IS NULL UNION ALL SELECT s.id, c.root FROM c JOIN other.smell AS s "
    "ON s.corrects = c.id) SELECT id, root FROM c",
};

enum pm_status pm_other_match(struct pm_other *other, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t i = 0; status == PM_OK && i < sizeof by_name / sizeof by_name[0]; i++)
        status = pm_other_run(other, by_name[i], err);
    if (status == PM_OK)
        status = pm_other_match_formulas(other, err);
    for (size_t i = 0; status == PM_OK && i < sizeof keys / sizeof keys[0]; i++)
        status = match_key(other, &keys[i], err);
    for (size_t i = 0; status == PM_OK && i < sizeof sequences / sizeof sequences[0]; i++)
        status = match_sequence(other, &sequences[i], err);
    for (size_t i = 0; status == PM_OK && i < sizeof smells / sizeof smells[0]; i++)
        status = pm_other_run(other, smells[i], err);
    return status;
}
