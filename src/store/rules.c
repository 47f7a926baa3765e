/* SPDX-License-Identifier: MIT */
/* Rows of limits and label thresholds of one's own, and of loaded sets. */
#include "permille/store/rules.h"
#include "store.h"

static void bind_line(struct pm_query *query, const void *row)
{
    const struct pm_rule_line *line = row;
    pm_query_text(query, line->set);
    pm_query_int(query, line->own);
    pm_query_text(query, line->replaces);
    pm_query_text(query, line->name);
    pm_query_text(query, line->kind);
    pm_query_text(query, line->members);
    pm_query_text(query, line->cas);
    pm_query_text(query, line->scope);
    pm_query_known(query, line->percent);
    pm_query_int(query, line->percent == -2);
    pm_query_text(query, line->note);
    pm_query_text(query, line->source);
    pm_query_text(query, line->dated);
    pm_query_int(query, line->made_at);
}

enum pm_status pm_rule_line_insert(struct pm_library *library, struct pm_rule_line *line,
                                   struct pm_error *err)
{
    static const struct pm_addition addition = {PM_SQL_RULE_NEXT, PM_SQL_RULE_INSERT, bind_line};
    struct pm_rule_line made = *line;
    made.made_at = pm_library_now(library);
    const enum pm_status status = pm_store_add(library, &addition, &made, &made.id, err);
    if (status == PM_OK)
        *line = made;
    return status;
}

static void read_line(struct pm_query *query, struct pm_arena *arena, void *item)
{
    struct pm_rule_line *out = item;
    *out = (struct pm_rule_line){
        .id = pm_query_get_int(query, 0),
        .set = pm_query_get_kept(query, 1, arena),
        .own = pm_query_get_int(query, 2) != 0,
        .replaces = pm_query_get_kept(query, 3, arena),
        .name = pm_query_get_kept(query, 4, arena),
        .kind = pm_query_get_kept(query, 5, arena),
        .members = pm_query_get_kept(query, 6, arena),
        .cas = pm_query_get_kept(query, 7, arena),
        .scope = pm_query_get_kept(query, 8, arena),
        .percent = pm_query_get_int(query, 10) != 0 ? -2 : pm_query_get_int(query, 9),
        .note = pm_query_get_kept(query, 11, arena),
        .source = pm_query_get_kept(query, 12, arena),
        .dated = pm_query_get_kept(query, 13, arena),
        .made_at = pm_query_get_int(query, 14),
    };
}

enum pm_status pm_rule_line_list(struct pm_library *library, struct pm_rule_lines *out,
                                 struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_RULE_LIST);
    return pm_query_list(&query, read_line, out, err);
}

enum pm_status pm_rule_line_remove(struct pm_library *library, int64_t id, struct pm_error *err)
{
    struct pm_query query;
    bool found = false;
    int64_t there;
    enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    pm_query_open(&query, library, PM_SQL_RULE_THERE);
    pm_query_int(&query, id);
    status = pm_query_one(&query, &there, &found, err);
    if (status == PM_OK && !found)
        status = pm_fail(err, PM_MISSING, "There is no limit of your own with number %lld.",
                         (long long)id);
    if (status == PM_OK)
        status = pm_store_change(library, PM_SQL_RULE_REMOVE, id, err);
    return pm_library_finish(library, status, err);
}

enum pm_status pm_rule_set_remove(struct pm_library *library, const char *set, struct pm_error *err)
{
    struct pm_query query;
    enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    pm_query_open(&query, library, PM_SQL_RULE_SET_REMOVE);
    pm_query_text(&query, set);
    return pm_library_finish(library, pm_query_run(&query, err), err);
}

enum pm_status pm_matter_get(struct pm_library *library, int64_t material, struct pm_arena *arena,
                             struct pm_matter *out, struct pm_error *err)
{
    struct pm_query query;
    struct pm_matter matter = {0};
    pm_query_open(&query, library, PM_SQL_MATTER);
    pm_query_int(&query, material);
    const bool found = pm_query_row(&query);
    if (found) {
        matter.name = pm_query_get_kept(&query, 0, arena);
        matter.cas = pm_query_get_kept(&query, 1, arena);
        matter.synonyms = pm_query_get_kept(&query, 3, arena);
        matter.named = pm_query_get_int(&query, 4);
        matter.numbered = pm_query_get_int(&query, 5);
        matter.has_constituents = pm_query_get_int(&query, 6) != 0;
        const char *kind = pm_query_get_text(&query, 2);
        if (matter.name == NULL || kind == NULL || !pm_material_kind_from_word(kind, &matter.kind))
            pm_query_damaged(&query, "Material number %lld", (long long)material);
    }
    enum pm_status status = pm_query_close(&query, err);
    if (status == PM_OK && !found)
        status = pm_fail(err, PM_MISSING, "There is no material number %lld.", (long long)material);
    if (status == PM_OK)
        *out = matter;
    return status;
}
