/* SPDX-License-Identifier: MIT */
/*
 * In what an item of another library differs from what is here, field by field (other_inside.h).
 */
#include "other_inside.h"

#include "permille/base/text.h"
#include "permille/base/word.h"

#include <string.h>

/* How the numbers of a column are to be read, whatever the table; of no other, just so. The queries
 * below name their form by such a column. */
static const struct form {
    const char *column;
    enum pm_other_form form;
} forms[] = {
    {"strength", PM_OTHER_FRACTION}, {"percent", PM_OTHER_FRACTION},
    {"alpha", PM_OTHER_FRACTION},    {"at_hand", PM_OTHER_FRACTION},
    {"tare", PM_OTHER_MASS},         {"mass", PM_OTHER_MASS},
    {"priced_mass", PM_OTHER_MASS},  {"readability", PM_OTHER_MASS},
    {"least", PM_OTHER_MASS},        {"repeatability", PM_OTHER_MASS},
    {"capacity", PM_OTHER_MASS},     {"price", PM_OTHER_MONEY},
    {"bought", PM_OTHER_DAY},        {"opened", PM_OTHER_DAY},
    {"best_before", PM_OTHER_DAY},   {"day", PM_OTHER_DAY},
    {"filter_on", PM_OTHER_DAY},     {"ready_on", PM_OTHER_DAY},
    {"applied_at", PM_OTHER_TIME},   {"ended_at", PM_OTHER_TIME},
    {"closed_at", PM_OTHER_TIME},    {"most", PM_OTHER_SHARE},
    {"at", PM_OTHER_TIME},           {"accord", PM_OTHER_YES_NO},
    {"made_at", PM_OTHER_TIME},      {"text", PM_OTHER_TEXT},
};

static enum pm_other_form form_of(const char *column)
{
    for (size_t i = 0; i < sizeof forms / sizeof forms[0]; i++)
        if (strcmp(forms[i].column, column) == 0)
            return forms[i].form;
    return PM_OTHER_NUMBER;
}

static const char *in_words(struct pm_arena *arena, const char *column)
{
    char *words = pm_arena_text(arena, column);
    for (char *at = words; at != NULL && *at != '\0'; at++)
        if (*at == '_')
            *at = ' ';
    return words;
}

/* Name of a row that a column refers to, in one of the two libraries. */
static void add_name_of(struct pm_text *sql, const char *schema, const char *target,
                        const char *value)
{
    if (strcmp(target, "material") == 0)
        pm_text_addf(sql, "(SELECT name FROM %s.material_name WHERE material = %s AND place = 0)",
                     schema, value);
    else if (strcmp(target, "trial") == 0)
        pm_text_addf(sql,
                     "(SELECT f.name || ifnull('/' || t.number, '') FROM %s.trial AS t JOIN "
                     "%s.formula AS f ON f.id = t.formula WHERE t.id = %s)",
                     schema, schema, value);
    else if (strcmp(target, "bottle") == 0)
        pm_text_addf(sql, "printf('B%%03d', %s)", value);
    else if (strcmp(target, "formula") == 0 || strcmp(target, "panel") == 0)
        pm_text_addf(sql, "(SELECT name FROM %s.%s WHERE id = %s)", schema, target, value);
    else
        pm_text_addf(sql, "%s", value);
}

static enum pm_status read_pair(struct pm_other *other, sqlite3_stmt *row, bool *found,
                                struct pm_error *err)
{
    const int rc = sqlite3_step(row);
    *found = rc == SQLITE_ROW;
    return rc == SQLITE_ROW || rc == SQLITE_DONE
               ? PM_OK
               : pm_store_fail(other->library->db, rc, OTHER_DOING, err);
}

/* Rows of (field, form, mine, theirs, fact) whose two values differ become fields. */
static enum pm_status add_fields(struct pm_other *other, const char *sql, int64_t theirs,
                                 int64_t mine, struct pm_other_fields *out, struct pm_error *err)
{
    sqlite3_stmt *row = NULL;
    bool found = false;
    enum pm_status status = pm_other_prepare(other, sql, &row, err);
    if (status == PM_OK && (sqlite3_bind_int64(row, 1, theirs) != SQLITE_OK ||
                            sqlite3_bind_int64(row, 2, mine) != SQLITE_OK))
        status = pm_fail_memory(err);
    while (status == PM_OK && (status = read_pair(other, row, &found, err)) == PM_OK && found) {
        const char *const mine_says = (const char *)sqlite3_column_text(row, 2);
        const char *const theirs_say = (const char *)sqlite3_column_text(row, 3);
        if (pm_same_text(mine_says, theirs_say))
            continue;
        struct pm_other_field *field = pm_list_add(out);
        if (field == NULL)
            break;
        field->field = in_words(&out->arena, (const char *)sqlite3_column_text(row, 0));
        field->form = form_of((const char *)sqlite3_column_text(row, 1));
        field->mine = pm_arena_text(&out->arena, mine_says);
        field->theirs = pm_arena_text(&out->arena, theirs_say);
        field->fact = pm_arena_text(&out->arena, (const char *)sqlite3_column_text(row, 4));
    }
    sqlite3_finalize(row);
    return status == PM_OK ? pm_arena_status(&out->arena, err) : status;
}

/* One SELECT per column, joined. */
static enum pm_status columns_sql(struct pm_other *other, const struct pm_shape *shape,
                                  struct pm_text *sql, struct pm_error *err)
{
    struct pm_arena arena = {0};
    enum pm_status status = PM_OK;
    bool any = false;
    for (size_t c = 0; status == PM_OK && c < shape->count; c++) {
        const char *name = shape->columns[c].name, *target = NULL;
        char m[80], o[80];
        if (!pm_other_is_content(shape->table, name))
            continue;
        status = pm_other_target(other, shape->table, name, &arena, &target, err);
        sqlite3_snprintf((int)sizeof m, m, "m.\"%w\"", name);
        sqlite3_snprintf((int)sizeof o, o, "o.\"%w\"", name);
        pm_text_addf(sql, "%sSELECT '%s', '%s', ", any ? " UNION ALL " : "", name,
                     strcmp(shape->columns[c].type, "INTEGER") != 0 || target != NULL ? "text"
                                                                                      : name);
        if (target != NULL) {
            add_name_of(sql, "main", target, m);
            pm_text_add(sql, ", ");
            add_name_of(sql, "other", target, o);
        } else {
            pm_text_addf(sql, "%s, %s", m, o);
        }
        pm_text_addf(sql, ", NULL FROM other.%s AS o, main.%s AS m WHERE o.id = ?1 AND m.id = ?2",
                     shape->table, shape->table);
        any = true;
    }
    pm_arena_release(&arena);
    return status == PM_OK && !pm_text_ok(sql) ? pm_fail_memory(err) : status;
}

#define NAMES(schema, id)                                                                          \
    "(SELECT group_concat(name, '; ') FROM (SELECT name FROM " schema ".material_name WHERE "      \
    "material = " id " AND place > 0 ORDER BY folded))"
#define HOLDS(schema, id)                                                                          \
    "(SELECT group_concat(s.name || ifnull(' ' || round(c.typical / 1e7, 4) || ' %', '') || "      \
    "ifnull(' at least ' || round(c.least / 1e7, 4) || ' %', '') || ifnull(' at most ' || "        \
    "round(c.most / 1e7, 4) || ' %', ''), '; ') FROM (SELECT * FROM " schema ".constituent WHERE " \
    "material = " id " AND origin = 'own' ORDER BY place) AS c JOIN " schema ".substance AS s ON " \
    "s.id = c.substance)"
#define FACTS(schema, id)                                                                          \
    "(SELECT * FROM " schema ".material_fact WHERE material = " id " AND origin = 'own')"

#define FACTS_HERE  FACTS("main", "?2")
#define FACTS_THERE FACTS("other", "?1")
#define HOLDS_HERE  HOLDS("main", "?2")
#define HOLDS_THERE HOLDS("other", "?1")
#define NAMES_HERE  NAMES("main", "?2")
#define NAMES_THERE NAMES("other", "?1")
static const char material_sql[] =
    "SELECT 'name', 'text', (SELECT name FROM main.material_name WHERE material = ?2 AND place = "
    "0), "
    "(SELECT name FROM other.material_name WHERE material = ?1 AND place = 0), NULL "
    "UNION ALL SELECT 'other names', 'text', " NAMES_HERE ", " NAMES_THERE ", NULL "
    "UNION ALL SELECT 'constituents', 'text', " HOLDS_HERE ", " HOLDS_THERE ", NULL "
    "UNION ALL SELECT p.property, iif(ifnull(o.value, m.value) IS NULL, 'text', 'value'), "
    "ifnull(m.value, "
    "m.words), ifnull(o.value, o.words), p.property FROM (SELECT property FROM " FACTS_HERE " "
    "UNION SELECT property FROM " FACTS_THERE ") AS p LEFT JOIN " FACTS_HERE " AS m ON "
    "m.property = p.property LEFT JOIN " FACTS_THERE " AS o ON o.property = p.property "
    "UNION ALL SELECT p.property || ', source', 'text', m.source, o.source, NULL FROM (SELECT "
    "property FROM " FACTS_HERE " UNION SELECT property FROM " FACTS_THERE
    ") AS p LEFT JOIN " FACTS_HERE " AS m ON m.property = p.property LEFT JOIN " FACTS_THERE
    " AS o ON o.property = "
    "p.property";

static const char formula_sql[] =
    "SELECT 'kept trials', 'kept', m.kept, o.kept, NULL FROM other.formula AS o, main.formula AS m "
    "WHERE "
    "o.id = ?1 AND m.id = ?2 UNION ALL SELECT 'gestures', 'revisions', m.revisions, o.revisions, "
    "NULL FROM "
    "other.formula AS o, main.formula AS m WHERE o.id = ?1 AND m.id = ?2 UNION ALL SELECT 'made', "
    "'made_at', "
    "m.made_at, o.made_at, NULL FROM other.formula AS o, main.formula AS m WHERE o.id = ?1 AND "
    "m.id "
    "= ?2";

static const char bottle_sql[] =
    "SELECT 'number', 'text', printf('B%03d', ?2), printf('B%03d', ?1), NULL UNION ALL SELECT "
    "'movements', 'movements', m.movements, o.movements, NULL FROM other.bottle_left AS o, "
    "main.bottle_left "
    "AS "
    "m WHERE o.bottle = ?1 AND m.bottle = ?2 UNION ALL SELECT 'left', 'mass', m.mass, o.mass, NULL "
    "FROM "
    "other.bottle_left AS o, main.bottle_left AS m WHERE o.bottle = ?1 AND m.bottle = ?2";

static const char panel_sql[] = "SELECT 'answers', 'answers', (SELECT count(*) FROM "
                                "main.panel_answer WHERE panel = ?2), (SELECT "
                                "count(*) FROM other.panel_answer WHERE panel = ?1), NULL";

/* Rules of the two sets that are not in the other one. */
#define RULE_ROWS(schema, id)                                                                      \
    "(SELECT name || ', ' || scope AS rule, ifnull(kind || ifnull(' ' || round(percent / 1e7, 6) " \
    "|| ' %', '') || iif(unlimited, ' unlimited', '') || ifnull('; ' || note, '') || '; ' || "     \
    "source, '') AS says FROM " schema ".limit_rule AS r WHERE EXISTS (SELECT 1 FROM " schema      \
    ".limit_rule AS f WHERE f.id = " id " AND f.rule_set = r.rule_set AND f.own = r.own))"
#define RULE_ROWS_HERE  RULE_ROWS("main", "?2")
#define RULE_ROWS_THERE RULE_ROWS("other", "?1")
static const char rules_sql[] =
    "SELECT p.rule, 'text', (SELECT group_concat(m.says, ' | ') FROM " RULE_ROWS_HERE " AS m WHERE "
    "m.rule = p.rule), (SELECT group_concat(o.says, ' | ') FROM " RULE_ROWS_THERE " AS o WHERE "
    "o.rule = p.rule), NULL FROM (SELECT rule FROM " RULE_ROWS_HERE
    " UNION SELECT rule FROM " RULE_ROWS_THERE ") AS p";

static const char *extra_sql(enum pm_other_kind kind)
{
    switch (kind) {
    case PM_OTHER_MATERIAL:
        return material_sql;
    case PM_OTHER_FORMULA:
        return formula_sql;
    case PM_OTHER_BOTTLE:
        return bottle_sql;
    case PM_OTHER_PANEL:
        return panel_sql;
    case PM_OTHER_RULES:
        return rules_sql;
    default:
        return NULL;
    }
}

static enum pm_status compare(struct pm_other *other, enum pm_other_kind kind, int64_t id,
                              int64_t mine, struct pm_other_fields *list, struct pm_error *err)
{
    const char *table = pm_other_table(kind), *extra = extra_sql(kind);
    enum pm_status status = PM_OK;
    if (extra != NULL)
        status = add_fields(other, extra, id, mine, list, err);
    if (status == PM_OK && table != NULL) {
        struct pm_text sql = PM_TEXT_EMPTY;
        status = columns_sql(other, pm_other_shape(other, table), &sql, err);
        if (status == PM_OK)
            status = add_fields(other, pm_text_get(&sql), id, mine, list, err);
        pm_text_release(&sql);
    }
    return status;
}

enum pm_status pm_other_fields(struct pm_other *other, enum pm_other_kind kind, int64_t id,
                               struct pm_other_fields *out, struct pm_error *err)
{
    struct pm_other_fields list = {0};
    char sql[160];
    int64_t mine = 0;
    sqlite3_snprintf(
        (int)sizeof sql, sql,
        "SELECT ifnull(mine, clash) FROM temp.other_item WHERE kind = %d AND id = %lld", (int)kind,
        id);
    enum pm_status status = pm_other_ask(other, sql, &mine, err);
    if (status == PM_OK && mine != 0)
        status = compare(other, kind, id, mine, &list, err);
    pm_list_give(&list, status, out);
    return status;
}

/* ---- names ---- */

static const char *name_sql(enum pm_other_kind kind)
{
    switch (kind) {
    case PM_OTHER_FORMULA:
        return "SELECT 1 FROM main.formula WHERE folded = pm_fold(?1)";
    case PM_OTHER_MATERIAL:
        return "SELECT 1 FROM main.material_name WHERE folded = pm_fold(?1)";
    case PM_OTHER_PANEL:
        return "SELECT 1 FROM main.panel WHERE folded = pm_fold(?1)";
    case PM_OTHER_SERIES:
        return "SELECT 1 FROM main.series WHERE folded = pm_fold(?1)";
    case PM_OTHER_BALANCE:
        return "SELECT 1 FROM main.balance WHERE folded = pm_fold(?1)";
    case PM_OTHER_RULES:
        return "SELECT 1 FROM main.limit_rule WHERE rule_set = ?1";
    case PM_OTHER_BOTTLE:
        return "SELECT 1 FROM main.bottle WHERE id = ?2";
    default:
        return NULL;
    }
}

enum pm_status pm_other_name_taken(struct pm_other *other, enum pm_other_kind kind,
                                   const char *name, int64_t number, bool *taken,
                                   struct pm_error *err)
{
    const char *sql = name_sql(kind);
    sqlite3_stmt *row = NULL;
    *taken = false;
    if (sql == NULL)
        return PM_OK;
    enum pm_status status = pm_other_prepare(other, sql, &row, err);
    if (status == PM_OK &&
        ((name != NULL && sqlite3_bind_text(row, 1, name, -1, SQLITE_STATIC) != SQLITE_OK) ||
         (kind == PM_OTHER_BOTTLE && sqlite3_bind_int64(row, 2, number) != SQLITE_OK)))
        status = pm_fail_memory(err);
    if (status == PM_OK)
        status = read_pair(other, row, taken, err);
    sqlite3_finalize(row);
    return status;
}

enum pm_status pm_other_free_name(struct pm_other *other, const struct pm_other_item *item,
                                  struct pm_arena *arena, const char **out, struct pm_error *err)
{
    struct pm_text name = PM_TEXT_EMPTY;
    bool taken = true;
    enum pm_status status = PM_OK;
    *out = NULL;
    if (name_sql(item->kind) == NULL || item->kind == PM_OTHER_BOTTLE)
        return PM_OK;
    for (int n = 1; status == PM_OK && taken; n++) {
        pm_text_clear(&name);
        pm_text_add(&name, item->name);
        if (n > 1)
            pm_text_addf(&name, " (%d)", n);
        status = pm_text_ok(&name)
                     ? pm_other_name_taken(other, item->kind, pm_text_get(&name), 0, &taken, err)
                     : pm_fail_memory(err);
    }
    if (status == PM_OK) {
        *out = pm_arena_text(arena, pm_text_get(&name));
        status = pm_arena_status(arena, err);
    }
    pm_text_release(&name);
    return status;
}
