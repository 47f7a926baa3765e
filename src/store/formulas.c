/* SPDX-License-Identifier: MIT */
/*
 * Rows of formulas.
 */
#include "permille/store/formulas.h"
#include "store.h"
#include "trials.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"

#include <string.h>

static enum pm_status check_name(struct pm_library *library, const char *name, int64_t own,
                                 struct pm_error *err)
{
    if (strchr(name, '/') != NULL)
        return pm_fail(err, PM_INVALID, "A formula's name holds no \"/\": \"%s\".", name);
    int64_t id = 0;
    enum pm_status status = pm_store_named(library, PM_SQL_FORMULA_FIND, name, &id, err);
    if (status == PM_OK && id != 0 && id != own) {
        struct pm_arena arena = {0};
        struct pm_formula other;
        status = pm_formula_get(library, id, &arena, &other, err);
        if (status == PM_OK) {
            status = pm_fail(err, PM_EXISTS, "There is a formula \"%s\" already%s.", other.name,
                             other.set_aside ? " (set aside)" : "");
        }
        pm_arena_release(&arena);
    }
    return status;
}

struct new_formula {
    const char *name;
    bool accord;
};

static void bind_formula(struct pm_query *query, const void *row)
{
    const struct new_formula *formula = row;
    pm_query_text(query, formula->name);
    pm_query_folded(query, formula->name);
    pm_query_int(query, formula->accord);
    pm_query_int(query, pm_library_now(query->library));
}

enum pm_status pm_formula_insert(struct pm_library *library, const char *name, bool accord,
                                 pm_parts base, enum pm_mode mode, int64_t *id,
                                 struct pm_error *err)
{
    static const struct pm_addition addition = {PM_SQL_FORMULA_NEXT, PM_SQL_FORMULA_INSERT,
                                                bind_formula};
    struct pm_trial empty;
    int64_t made = 0, draft = 0;
    enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    pm_trial_init(&empty, base, mode);
    status = check_name(library, name, 0, err);
    if (status == PM_OK)
        status =
            pm_store_insert(library, &addition, &(struct new_formula){name, accord}, &made, err);
    if (status == PM_OK)
        status = pm_trial_row_insert(library, made, &empty, 0, &draft, err);
    status = pm_library_finish(library, status, err);
    pm_trial_release(&empty);
    if (status == PM_OK)
        *id = made;
    return status;
}

static enum pm_status no_formula(int64_t id, struct pm_error *err)
{
    return pm_fail(err, PM_MISSING, "There is no formula number %lld.", (long long)id);
}

enum pm_status pm_formula_update(struct pm_library *library, int64_t id, const char *name,
                                 bool accord, bool set_aside, struct pm_error *err)
{
    enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    status = check_name(library, name, id, err);
    if (status == PM_OK) {
        struct pm_query query;
        pm_query_open(&query, library, PM_SQL_FORMULA_UPDATE);
        pm_query_int(&query, id);
        pm_query_text(&query, name);
        pm_query_folded(&query, name);
        pm_query_int(&query, accord);
        pm_query_int(&query, set_aside);
        status = pm_query_run(&query, err);
        if (status == PM_OK && sqlite3_changes(library->db) == 0)
            status = no_formula(id, err);
    }
    return pm_library_finish(library, status, err);
}

static void read_formula(struct pm_query *query, struct pm_arena *arena, struct pm_formula *out)
{
    *out = (struct pm_formula){
        .id = pm_query_get_int(query, 0),
        .name = pm_query_get_kept(query, 1, arena),
        .accord = pm_query_get_int(query, 2) != 0,
        .set_aside = pm_query_get_int(query, 3) != 0,
        .made_at = pm_query_get_int(query, 4),
        .changed_at = pm_query_get_int(query, 5),
        .kept = pm_query_get_int(query, 6),
        .draft = pm_query_get_int(query, 7),
        .base = pm_query_get_int(query, 8),
        .total = pm_query_get_int(query, 9),
        .lines = (size_t)pm_query_get_int(query, 10),
    };
}

enum pm_status pm_formula_get(struct pm_library *library, int64_t id, struct pm_arena *arena,
                              struct pm_formula *out, struct pm_error *err)
{
    struct pm_query query;
    struct pm_formula formula;
    pm_query_open(&query, library, PM_SQL_FORMULA_GET);
    pm_query_int(&query, id);
    bool found = pm_query_row(&query);
    if (found)
        read_formula(&query, arena, &formula);
    enum pm_status status = pm_query_close(&query, err);
    if (status == PM_OK && !found)
        status = no_formula(id, err);
    if (status == PM_OK)
        *out = formula;
    return status;
}

enum pm_status pm_formula_by_name(struct pm_library *library, const char *name, int64_t *id,
                                  struct pm_error *err)
{
    int64_t found = 0;
    const enum pm_status status = pm_store_named(library, PM_SQL_FORMULA_FIND, name, &found, err);
    if (status == PM_OK && found == 0)
        return pm_fail(err, PM_MISSING, "There is no formula \"%s\".", name);
    if (status == PM_OK)
        *id = found;
    return status;
}

/* Whether the formula's folded name holds every word. */
static bool matches(struct pm_query *query, const char *words)
{
    const char *name = pm_query_get_text(query, 1);
    char *folded = name == NULL ? NULL : pm_store_fold(name);
    bool match = folded != NULL && pm_store_words_in(words, folded);
    if (folded == NULL)
        query->rc = SQLITE_NOMEM;
    pm_free(folded);
    return match;
}

enum pm_status pm_formula_list(struct pm_library *library, const char *text, bool set_aside_too,
                               struct pm_formulas *out, struct pm_error *err)
{
    struct pm_query query;
    struct pm_formulas list = {0};
    char *words = pm_fold(text == NULL ? "" : text);
    if (words == NULL)
        return pm_fail_memory(err);
    pm_query_open(&query, library, PM_SQL_FORMULA_LIST);
    pm_query_int(&query, set_aside_too);
    while (pm_query_row(&query)) {
        struct pm_formula *item =
            words[0] == '\0' || matches(&query, words) ? pm_query_add(&query, &list) : NULL;
        if (item != NULL)
            read_formula(&query, &list.arena, item);
    }
    pm_free(words);
    enum pm_status status = pm_query_close(&query, err);
    pm_list_give(&list, status, out);
    return status;
}
