/* SPDX-License-Identifier: MIT */
/*
 * Formulas of the other library: their trees of revisions laid over ours, and their changes told in
 * our numbers (other_inside.h).
 */
#include "other_inside.h"

#include "permille/base/map.h"
#include "permille/base/mem.h"
#include "permille/core/change.h"

#include <string.h>

#define NOWHERE INT64_C(4000000000000000000) /* numbers beyond it stand for what is not there */

struct ids {
    int64_t *items; /* owned */
    size_t count, capacity;
};

static enum pm_status list_ids(struct pm_other *other, const char *sql, int64_t of, struct ids *out,
                               struct pm_error *err)
{
    sqlite3_stmt *row = NULL;
    enum pm_status status = pm_other_prepare(other, sql, &row, err);
    if (status != PM_OK)
        return status;
    int rc = of != 0 ? sqlite3_bind_int64(row, 1, of) : SQLITE_OK;
    while (rc == SQLITE_OK && (rc = sqlite3_step(row)) == SQLITE_ROW) {
        rc = pm_grow(&out->items, &out->capacity, out->count + 1, sizeof *out->items)
                 ? SQLITE_OK
                 : SQLITE_NOMEM;
        if (rc == SQLITE_OK)
            out->items[out->count++] = sqlite3_column_int64(row, 0);
    }
    sqlite3_finalize(row);
    return rc == SQLITE_DONE ? PM_OK : pm_store_fail(other->library->db, rc, OTHER_DOING, err);
}

/* ---- the same change, whatever the numbers ---- */

static int64_t to_one(void *context, bool trial, int64_t id)
{
    (void)context, (void)trial, (void)id;
    return 1;
}

static void not_kept(void *context, int64_t line, bool accord, int64_t id)
{
    (void)context, (void)line, (void)accord, (void)id;
}

static int64_t any(void *context, int64_t line, bool *accord)
{
    (void)context, (void)line;
    *accord = false;
    return 1;
}

static enum pm_status same_change(const char *a, const char *b, bool *same, struct pm_error *err)
{
    static const struct pm_change_teller teller = {to_one, not_kept, any, NULL};
    struct pm_text one = PM_TEXT_EMPTY, two = PM_TEXT_EMPTY;
    *same = a == NULL || b == NULL ? a == b : strcmp(a, b) == 0;
    if (*same || a == NULL || b == NULL)
        return PM_OK;
    enum pm_status status = pm_change_tell(a, &teller, &one, err);
    if (status == PM_OK)
        status = pm_change_tell(b, &teller, &two, err);
    *same = status == PM_OK && strcmp(pm_text_get(&one), pm_text_get(&two)) == 0;
    pm_text_release(&one);
    pm_text_release(&two);
    return status;
}

/* ---- two trees laid over each other ---- */

struct laying {
    struct pm_other *other;
    sqlite3_stmt *theirs; /* revisions of a formula there */
    sqlite3_stmt *mine;   /* those here that may be one of them */
    sqlite3_stmt *pair;   /* writes that they correspond */
};

static enum pm_status failed(const struct laying *laying, int rc, struct pm_error *err)
{
    return pm_store_fail(laying->other->library->db, rc, OTHER_DOING, err);
}

static enum pm_status pair(const struct laying *laying, const char *table, int64_t theirs,
                           int64_t mine, struct pm_error *err)
{
    sqlite3_reset(laying->pair);
    int rc = sqlite3_bind_text(laying->pair, 1, table, -1, SQLITE_STATIC);
    if (rc == SQLITE_OK)
        rc = sqlite3_bind_int64(laying->pair, 2, theirs);
    if (rc == SQLITE_OK)
        rc = sqlite3_bind_int64(laying->pair, 3, mine);
    if (rc == SQLITE_OK)
        rc = sqlite3_step(laying->pair);
    return rc == SQLITE_DONE ? PM_OK : failed(laying, rc, err);
}

/* The one here that the revision in laying->theirs is; 0: none. */
static enum pm_status find_mine(const struct laying *laying, int64_t formula, int64_t *mine,
                                struct pm_error *err)
{
    sqlite3_stmt *row = laying->mine;
    enum pm_status status = PM_OK;
    bool same = false;
    sqlite3_reset(row);
    int rc = sqlite3_bind_int64(row, 1, formula);
    for (int i = 1; rc == SQLITE_OK && i <= 4; i++) /* parent here, at, gesture, sentence */
        rc = sqlite3_bind_value(row, i + 1, sqlite3_column_value(laying->theirs, i));
    while (rc == SQLITE_OK && !same && (rc = sqlite3_step(row)) == SQLITE_ROW) {
        rc = SQLITE_OK;
        status = same_change((const char *)sqlite3_column_text(laying->theirs, 5),
                             (const char *)sqlite3_column_text(row, 1), &same, err);
        if (status != PM_OK)
            return status;
        *mine = same ? sqlite3_column_int64(row, 0) : 0;
    }
    return rc == SQLITE_OK || rc == SQLITE_DONE ? PM_OK : failed(laying, rc, err);
}

/* *shared receives how many revisions correspond; 1 for two formulas without any. */
static enum pm_status lay_formula(const struct laying *laying, int64_t theirs, int64_t mine,
                                  int64_t *shared, struct pm_error *err)
{
    int64_t seen = 0;
    sqlite3_stmt *row = laying->theirs;
    enum pm_status status = pair(laying, "formula", theirs, mine, err);
    sqlite3_reset(row);
    int rc = sqlite3_bind_int64(row, 1, theirs);
    while (status == PM_OK && rc == SQLITE_OK && (rc = sqlite3_step(row)) == SQLITE_ROW) {
        int64_t here = 0;
        rc = SQLITE_OK;
        seen++;
        /* One made on a revision that is not here is not here either. */
        if (sqlite3_column_int(row, 6) == 0)
            continue;
        status = find_mine(laying, mine, &here, err);
        if (status == PM_OK && here != 0)
            status = pair(laying, "revision", sqlite3_column_int64(row, 0), here, err);
        *shared += here != 0;
    }
    if (status == PM_OK && rc != SQLITE_DONE)
        status = failed(laying, rc, err);
    sqlite3_reset(row);
    sqlite3_reset(laying->mine);
    sqlite3_reset(laying->pair);
    *shared += seen == 0;
    return status;
}

static enum pm_status try_formula(const struct laying *laying, int64_t theirs, int64_t mine,
                                  int64_t *shared, struct pm_error *err)
{
    enum pm_status status = pm_other_run(laying->other, "SAVEPOINT trying", err);
    if (status == PM_OK)
        status = lay_formula(laying, theirs, mine, shared, err);
    return status == PM_OK ? pm_other_run(laying->other, "ROLLBACK TO trying; RELEASE trying", err)
                           : status;
}

/* Of several here that begin like it, a copy that came in as a second one say, the one with which
 * it shares most. */
static enum pm_status choose_formula(const struct laying *laying, int64_t theirs,
                                     const struct ids *candidates, struct pm_error *err)
{
    int64_t best = 0, most = 0, again = 0;
    enum pm_status status = PM_OK;
    for (size_t i = 0; status == PM_OK && i < candidates->count; i++) {
        int64_t shared = 0;
        status = try_formula(laying, theirs, candidates->items[i], &shared, err);
        if (shared > most) {
            most = shared;
            best = candidates->items[i];
        }
    }
    return status == PM_OK && best != 0 ? lay_formula(laying, theirs, best, &again, err) : status;
}

static const char candidates_sql[] =
    "SELECT m.id FROM other.formula AS o JOIN main.formula AS m ON m.made_at = o.made_at "
    "LEFT JOIN other.revision AS a ON a.formula = o.id AND a.number = 1 "
    "LEFT JOIN main.revision AS b ON b.formula = m.id AND b.number = 1 "
    "WHERE o.id = ?1 AND a.at IS b.at AND a.gesture IS b.gesture AND a.sentence IS b.sentence "
    "AND (a.id IS NOT NULL OR m.folded = o.folded) AND NOT EXISTS "
    "(SELECT 1 FROM temp.other_map WHERE tbl = 'formula' AND mine = m.id) ORDER BY m.id";

static enum pm_status lay_one(const struct laying *laying, int64_t theirs, struct pm_error *err)
{
    struct ids candidates = {0};
    enum pm_status status = list_ids(laying->other, candidates_sql, theirs, &candidates, err);
    if (status == PM_OK && candidates.count > 0)
        status = choose_formula(laying, theirs, &candidates, err);
    pm_free(candidates.items);
    return status;
}

/* Formulas of one history to the last revision, numbers and all, are paired at once. */
static const char *const whole[] = {
    "INSERT INTO other_map SELECT 'formula', o.id, m.id, 0 FROM other.formula AS o "
    "JOIN main.formula AS m ON m.id = o.id AND m.made_at = o.made_at AND m.revisions = o.revisions "
    "AND m.chain = o.chain AND m.revisions > 0",
    "INSERT INTO other_map SELECT 'revision', o.id, m.id, 0 FROM temp.other_map AS x "
    "JOIN other.revision AS o ON o.formula = x.theirs "
    "JOIN main.revision AS m ON m.formula = x.mine AND m.number = o.number "
    "WHERE x.tbl = 'formula'",
};

static const char *const trials[] = {
    /* Kept trials by the gestures that kept them; in histories without, by their numbers. */
    "INSERT OR IGNORE INTO other_map SELECT 'trial', o.trial, m.trial, 0 FROM temp.other_map AS x "
    "JOIN other.revision AS o ON o.id = x.theirs AND o.gesture = 'keep' "
    "JOIN main.revision AS m ON m.id = x.mine WHERE x.tbl = 'revision'",
    "INSERT OR IGNORE INTO other_map SELECT 'trial', o.id, m.id, 0 FROM temp.other_map AS x "
    "JOIN other.trial AS o ON o.formula = x.theirs AND o.kept_at IS NOT NULL "
    "JOIN main.trial AS m ON m.formula = x.mine AND m.number = o.number AND m.kept_at = o.kept_at "
    "AND m.content = o.content WHERE x.tbl = 'formula'",
};

static enum pm_status lay_all(const struct laying *laying, struct pm_error *err)
{
    struct pm_other *other = laying->other;
    struct ids formulas = {0};
    enum pm_status status = PM_OK;
    for (size_t i = 0; status == PM_OK && i < sizeof whole / sizeof whole[0]; i++)
        status = pm_other_run(other, whole[i], err);
    if (status == PM_OK)
        status = list_ids(
            other,
            "SELECT id FROM other.formula AS o WHERE NOT " MAPPED("formula", "o.id") " ORDER BY id",
            0, &formulas, err);
    for (size_t i = 0; status == PM_OK && i < formulas.count; i++) {
        status =
            pm_library_go_on(other->library, OTHER_DOING, (int64_t)i, (int64_t)formulas.count, err);
        if (status == PM_OK)
            status = lay_one(laying, formulas.items[i], err);
    }
    for (size_t i = 0; status == PM_OK && i < sizeof trials / sizeof trials[0]; i++)
        status = pm_other_run(other, trials[i], err);
    pm_free(formulas.items);
    return status;
}

enum pm_status pm_other_match_formulas(struct pm_other *other, struct pm_error *err)
{
    struct laying laying = {.other = other};
    enum pm_status status = pm_other_prepare(
        other,
        "SELECT r.id, " MINE("revision",
                             "r.parent") ", r.at, r.gesture, r.sentence, r.change, "
                                         "r.parent IS NULL OR " MAPPED(
                                             "revision",
                                             "r.parent") " FROM other.revision AS r "
                                                         "WHERE r.formula = ?1 ORDER BY r.number",
        &laying.theirs, err);
    if (status == PM_OK)
        status = pm_other_prepare(
            other,
            "SELECT m.id, m.change FROM main.revision AS m WHERE m.formula = ?1 AND m.parent IS ?2 "
            "AND m.at = ?3 AND m.gesture = ?4 AND m.sentence = ?5 AND NOT EXISTS (SELECT 1 FROM "
            "temp.other_map WHERE tbl = 'revision' AND mine = m.id) ORDER BY m.id",
            &laying.mine, err);
    if (status == PM_OK)
        status = pm_other_prepare(other, "INSERT INTO temp.other_map VALUES (?1, ?2, ?3, 0)",
                                  &laying.pair, err);
    if (status == PM_OK)
        status = lay_all(&laying, err);
    sqlite3_finalize(laying.theirs);
    sqlite3_finalize(laying.mine);
    sqlite3_finalize(laying.pair);
    return status;
}

/* ---- what changes speak of ---- */

/* What one revision says of what lines are. */
struct said {
    size_t parent; /* place of the revision it was made on; SIZE_MAX: none */
    size_t first, count;
};
struct content {
    int64_t line, id;
    bool accord;
};

struct walk {
    struct pm_other *other;
    int64_t formula;      /* there */
    struct pm_map places; /* id to place in said */
    struct said *said;    /* owned */
    size_t count, capacity;
    struct content *contents; /* owned */
    size_t content_count, content_capacity;
    sqlite3_stmt *line;    /* what a line of the formula is */
    sqlite3_stmt *look_up; /* the number here */
    sqlite3_stmt *collect; /* writes what is spoken of; NULL: not wanted */
    bool no_memory;
};

static void known(void *context, int64_t line, bool accord, int64_t id)
{
    struct walk *walk = context;
    if (!pm_grow(&walk->contents, &walk->content_capacity, walk->content_count + 1,
                 sizeof *walk->contents)) {
        walk->no_memory = true;
        return;
    }
    walk->contents[walk->content_count++] = (struct content){line, id, accord};
    walk->said[walk->count - 1].count++;
}

/* As the nearest revision on the way back says; where none does, as it stands in a trial. */
static int64_t standing(void *context, int64_t line, bool *accord)
{
    struct walk *walk = context;
    for (size_t at = walk->said[walk->count - 1].parent; at != SIZE_MAX; at = walk->said[at].parent)
        for (size_t k = walk->said[at].first + walk->said[at].count; k-- > walk->said[at].first;)
            if (walk->contents[k].line == line) {
                *accord = walk->contents[k].accord;
                return walk->contents[k].id;
            }
    sqlite3_reset(walk->line);
    sqlite3_bind_int64(walk->line, 1, walk->formula);
    sqlite3_bind_int64(walk->line, 2, line);
    const bool found = sqlite3_step(walk->line) == SQLITE_ROW;
    *accord = found && sqlite3_column_int(walk->line, 0) != 0;
    return found ? sqlite3_column_int64(walk->line, 1) : 0;
}

/* One that is not there any more must not become something else here. */
static int64_t refer(void *context, bool trial, int64_t id)
{
    struct walk *walk = context;
    if (walk->collect != NULL) {
        sqlite3_reset(walk->collect);
        sqlite3_bind_int64(walk->collect, 1, walk->formula);
        sqlite3_bind_int(walk->collect, 2, trial);
        sqlite3_bind_int64(walk->collect, 3, id);
        walk->no_memory = walk->no_memory || sqlite3_step(walk->collect) != SQLITE_DONE;
        return id;
    }
    sqlite3_reset(walk->look_up);
    sqlite3_bind_text(walk->look_up, 1, trial ? "trial" : "material", -1, SQLITE_STATIC);
    sqlite3_bind_int64(walk->look_up, 2, id);
    const int rc = sqlite3_step(walk->look_up);
    walk->no_memory = walk->no_memory || (rc != SQLITE_ROW && rc != SQLITE_DONE);
    return rc == SQLITE_ROW ? sqlite3_column_int64(walk->look_up, 0) : NOWHERE + id % NOWHERE;
}

static enum pm_status put_change(struct pm_other *other, int64_t revision, const char *change,
                                 struct pm_error *err)
{
    sqlite3_stmt *update = NULL;
    enum pm_status status =
        pm_other_prepare(other, "UPDATE main.revision SET change = ?2 WHERE id = ?1", &update, err);
    if (status != PM_OK)
        return status;
    int rc = sqlite3_bind_int64(update, 1, revision);
    if (rc == SQLITE_OK)
        rc = sqlite3_bind_text(update, 2, change, -1, SQLITE_STATIC);
    if (rc == SQLITE_OK)
        rc = sqlite3_step(update);
    sqlite3_finalize(update);
    return rc == SQLITE_DONE ? PM_OK : pm_store_fail(other->library->db, rc, OTHER_DOING, err);
}

static enum pm_status begin_revision(struct walk *walk, int64_t id, int64_t parent,
                                     struct pm_error *err)
{
    const size_t place = parent != 0 ? pm_map_place(&walk->places, parent) : PM_MAP_NONE;
    if (!pm_grow(&walk->said, &walk->capacity, walk->count + 1, sizeof *walk->said) ||
        !pm_map_put_place(&walk->places, id, walk->count))
        return pm_fail_memory(err);
    walk->said[walk->count++] =
        (struct said){place == PM_MAP_NONE ? SIZE_MAX : place, walk->content_count, 0};
    return PM_OK;
}

/* `here` 0: the change is only looked at. */
static enum pm_status walk_change(struct walk *walk, const char *change, int64_t here,
                                  struct pm_error *err)
{
    const struct pm_change_teller teller = {refer, known, standing, walk};
    struct pm_text told = PM_TEXT_EMPTY;
    enum pm_status status = pm_change_tell(change, &teller, &told, err);
    if (status == PM_OK && walk->no_memory)
        status = pm_fail_memory(err);
    if (status == PM_OK && here != 0)
        status = put_change(walk->other, here, pm_text_get(&told), err);
    pm_text_release(&told);
    return status;
}

static enum pm_status walk_revisions(struct walk *walk, sqlite3_stmt *row, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    int rc = sqlite3_bind_int64(row, 1, walk->formula);
    while (status == PM_OK && rc == SQLITE_OK && (rc = sqlite3_step(row)) == SQLITE_ROW) {
        const char *change = (const char *)sqlite3_column_text(row, 2);
        rc = SQLITE_OK;
        status =
            begin_revision(walk, sqlite3_column_int64(row, 0), sqlite3_column_int64(row, 1), err);
        if (status == PM_OK && change != NULL)
            status = walk_change(walk, change,
                                 walk->collect != NULL ? 0 : sqlite3_column_int64(row, 3), err);
    }
    return status == PM_OK && rc != SQLITE_DONE
               ? pm_store_fail(walk->other->library->db, rc, OTHER_DOING, err)
               : status;
}

static enum pm_status walk_formula(struct pm_other *other, int64_t formula, bool collect,
                                   struct pm_error *err)
{
    struct walk walk = {.other = other, .formula = formula};
    sqlite3_stmt *rows = NULL;
    enum pm_status status = pm_other_prepare(
        other,
        "SELECT r.id, r.parent, r.change, x.mine FROM other.revision AS r LEFT JOIN temp.other_map "
        "AS x ON x.tbl = 'revision' AND x.theirs = r.id AND x.fresh = 1 WHERE r.formula = ?1 "
        "ORDER BY r.number",
        &rows, err);
    if (status == PM_OK)
        status = pm_other_prepare(
            other,
            "SELECT l.accord IS NOT NULL, ifnull(l.accord, l.material) FROM other.trial AS t JOIN "
            "other.line AS l ON l.trial = t.id WHERE t.formula = ?1 AND "
            "l.line = ?2 LIMIT 1",
            &walk.line, err);
    if (status == PM_OK)
        status = pm_other_prepare(other,
                                  "SELECT mine FROM temp.other_map WHERE tbl = ?1 AND theirs = ?2",
                                  &walk.look_up, err);
    if (status == PM_OK && collect)
        status = pm_other_prepare(other, "INSERT OR IGNORE INTO temp.other_ref VALUES (?1, ?2, ?3)",
                                  &walk.collect, err);
    if (status == PM_OK)
        status = walk_revisions(&walk, rows, err);
    sqlite3_finalize(rows);
    sqlite3_finalize(walk.line);
    sqlite3_finalize(walk.look_up);
    sqlite3_finalize(walk.collect);
    pm_map_release(&walk.places);
    pm_free(walk.said);
    pm_free(walk.contents);
    return status;
}

enum pm_status pm_other_collect_refs(struct pm_other *other, struct pm_error *err)
{
    struct ids formulas = {0};
    enum pm_status status =
        pm_other_run(other,
                     "DROP TABLE IF EXISTS temp.other_ref; CREATE TEMP TABLE other_ref (formula "
                     "INTEGER, trial INTEGER, id INTEGER, PRIMARY KEY (formula, trial, id)) "
                     "WITHOUT ROWID",
                     err);
    if (status == PM_OK)
        status = list_ids(other,
                          "SELECT id FROM other.formula AS f WHERE EXISTS (SELECT 1 FROM "
                          "other.revision AS r WHERE r.formula = f.id AND NOT " MAPPED(
                              "revision", "r.id") ") ORDER BY id",
                          0, &formulas, err);
    for (size_t i = 0; status == PM_OK && i < formulas.count; i++) {
        status =
            pm_library_go_on(other->library, OTHER_DOING, (int64_t)i, (int64_t)formulas.count, err);
        if (status == PM_OK)
            status = walk_formula(other, formulas.items[i], true, err);
    }
    pm_free(formulas.items);
    return status;
}

enum pm_status pm_other_tell_changes(struct pm_other *other, int64_t theirs, struct pm_error *err)
{
    return walk_formula(other, theirs, false, err);
}
