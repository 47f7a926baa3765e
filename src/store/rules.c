/* SPDX-License-Identifier: MIT */
/* Rows of limits and label thresholds of one's own, and of loaded sets. */
#include "permille/store/rules.h"
#include "store.h"

enum pm_status pm_rule_line_insert(struct pm_library *library, struct pm_rule_line *line,
                                   struct pm_error *err)
{
    int64_t next = 0;
    const int64_t now = pm_library_now(library);
    enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    status = pm_store_next_id(library, PM_SQL_RULE_NEXT, &next, err);
    if (status == PM_OK) {
        struct pm_query query;
        pm_query_open(&query, library, PM_SQL_RULE_INSERT);
        pm_query_int(&query, next);
        pm_query_text(&query, line->set);
        pm_query_int(&query, line->own);
        pm_query_text(&query, line->replaces);
        pm_query_text(&query, line->name);
        pm_query_text(&query, line->kind);
        pm_query_text(&query, line->members);
        pm_query_text(&query, line->cas);
        pm_query_text(&query, line->scope);
        if (line->percent >= 0)
            pm_query_int(&query, line->percent);
        else
            pm_query_text(&query, NULL);
        pm_query_int(&query, line->percent == -2);
        pm_query_text(&query, line->note);
        pm_query_text(&query, line->source);
        pm_query_text(&query, line->dated);
        pm_query_int(&query, now);
        status = pm_query_run(&query, err);
    }
    status = pm_library_finish(library, status, err);
    if (status == PM_OK) {
        line->id = next;
        line->made_at = now;
    }
    return status;
}

static void read_line(struct pm_query *query, struct pm_arena *arena, struct pm_rule_line *out)
{
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
    struct pm_rule_lines list = {0};
    pm_query_open(&query, library, PM_SQL_RULE_LIST);
    while (pm_query_row(&query)) {
        struct pm_rule_line *line = pm_query_added(&query, pm_list_add(&list));
        if (line != NULL)
            read_line(&query, &list.arena, line);
    }
    enum pm_status status = pm_query_close(&query, err);
    pm_list_give(&list, status, out);
    return status;
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
    if (status == PM_OK) {
        pm_query_open(&query, library, PM_SQL_RULE_REMOVE);
        pm_query_int(&query, id);
        status = pm_query_run(&query, err);
    }
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
    bool sound = true;
    if (found) {
        matter.name = pm_query_get_kept(&query, 0, arena);
        matter.cas = pm_query_get_kept(&query, 1, arena);
        matter.synonyms = pm_query_get_kept(&query, 3, arena);
        matter.named = pm_query_get_int(&query, 4);
        matter.numbered = pm_query_get_int(&query, 5);
        matter.has_constituents = pm_query_get_int(&query, 6) != 0;
        const char *kind = pm_query_get_text(&query, 2);
        sound =
            matter.name != NULL && kind != NULL && pm_material_kind_from_word(kind, &matter.kind);
    }
    enum pm_status status = pm_query_close(&query, err);
    if (status == PM_OK && (!found || !sound))
        status = pm_fail(err, found ? PM_DAMAGED : PM_MISSING,
                         found ? "Material number %lld is damaged in the file."
                               : "There is no material number %lld.",
                         (long long)material);
    if (status == PM_OK)
        *out = matter;
    return status;
}
