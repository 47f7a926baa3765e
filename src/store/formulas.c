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

void pm_formula_release(struct pm_formula *formula)
{
    pm_free(formula->name);
    memset(formula, 0, sizeof *formula);
}

static enum pm_status check_name(struct pm_library *library, const char *name, const char *folded,
                                 int64_t own, struct pm_error *err)
{
    if (strchr(name, '/') != NULL)
        return pm_fail(err, PM_INVALID, "A formula's name holds no \"/\": \"%s\".", name);
    struct pm_query query;
    int64_t id = 0;
    pm_query_open(&query, library, PM_SQL_FORMULA_FIND);
    pm_query_text(&query, folded);
    enum pm_status status = pm_query_one(&query, &id, NULL, err);
    if (status == PM_OK && id != 0 && id != own) {
        struct pm_formula other;
        status = pm_formula_get(library, id, &other, err);
        if (status == PM_OK) {
            status = pm_fail(err, PM_EXISTS, "There is a formula \"%s\" already%s.", other.name,
                             other.set_aside ? " (set aside)" : "");
            pm_formula_release(&other);
        }
    }
    return status;
}

static enum pm_status insert_rows(struct pm_library *library, const char *name, const char *folded,
                                  bool accord, const struct pm_trial *empty, int64_t *id,
                                  struct pm_error *err)
{
    int64_t draft = 0;
    int64_t now = pm_library_now(library);
    enum pm_status status = check_name(library, name, folded, 0, err);
    if (status == PM_OK)
        status = pm_store_next_id(library, PM_SQL_FORMULA_NEXT, id, err);
    if (status == PM_OK) {
        struct pm_query query;
        pm_query_open(&query, library, PM_SQL_FORMULA_INSERT);
        pm_query_int(&query, *id);
        pm_query_text(&query, name);
        pm_query_text(&query, folded);
        pm_query_int(&query, accord);
        pm_query_int(&query, now);
        status = pm_query_run(&query, err);
    }
    if (status == PM_OK)
        status = pm_trial_row_insert(library, *id, empty, 0, &draft, err);
    return status;
}

enum pm_status pm_formula_insert(struct pm_library *library, const char *name, bool accord,
                                 pm_parts base, enum pm_mode mode, int64_t *id,
                                 struct pm_error *err)
{
    char *folded = pm_store_fold(name);
    if (folded == NULL)
        return pm_fail_memory(err);
    struct pm_trial empty;
    int64_t made = 0;
    pm_trial_init(&empty, base, mode);
    enum pm_status status = pm_library_begin(library, err);
    if (status == PM_OK) {
        status = insert_rows(library, name, folded, accord, &empty, &made, err);
        status = pm_library_finish(library, status, err);
    }
    pm_trial_release(&empty);
    pm_free(folded);
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
    char *folded = pm_store_fold(name);
    if (folded == NULL)
        return pm_fail_memory(err);
    enum pm_status status = pm_library_begin(library, err);
    if (status == PM_OK) {
        status = check_name(library, name, folded, id, err);
        if (status == PM_OK) {
            struct pm_query query;
            pm_query_open(&query, library, PM_SQL_FORMULA_UPDATE);
            pm_query_int(&query, id);
            pm_query_text(&query, name);
            pm_query_text(&query, folded);
            pm_query_int(&query, accord);
            pm_query_int(&query, set_aside);
            status = pm_query_run(&query, err);
            if (status == PM_OK && sqlite3_changes(library->db) == 0)
                status = no_formula(id, err);
        }
        status = pm_library_finish(library, status, err);
    }
    pm_free(folded);
    return status;
}

static void read_formula(struct pm_query *query, struct pm_formula *out)
{
    memset(out, 0, sizeof *out);
    out->id = pm_query_get_int(query, 0);
    out->name = pm_query_get_copy(query, 1);
    out->accord = pm_query_get_int(query, 2) != 0;
    out->set_aside = pm_query_get_int(query, 3) != 0;
    out->made_at = pm_query_get_int(query, 4);
    out->changed_at = pm_query_get_int(query, 5);
    out->kept = pm_query_get_int(query, 6);
    out->draft = pm_query_get_int(query, 7);
    out->base = pm_query_get_int(query, 8);
    out->total = pm_query_get_int(query, 9);
    out->lines = (size_t)pm_query_get_int(query, 10);
}

enum pm_status pm_formula_get(struct pm_library *library, int64_t id, struct pm_formula *out,
                              struct pm_error *err)
{
    struct pm_query query;
    struct pm_formula formula = {0};
    pm_query_open(&query, library, PM_SQL_FORMULA_GET);
    pm_query_int(&query, id);
    bool found = pm_query_row(&query);
    if (found)
        read_formula(&query, &formula);
    enum pm_status status = pm_query_close(&query, err);
    if (status == PM_OK && !found)
        status = no_formula(id, err);
    if (status != PM_OK) {
        pm_formula_release(&formula);
        return status;
    }
    *out = formula;
    return PM_OK;
}

enum pm_status pm_formula_by_name(struct pm_library *library, const char *name, int64_t *id,
                                  struct pm_error *err)
{
    char *folded = pm_store_fold(name);
    if (folded == NULL)
        return pm_fail_memory(err);
    struct pm_query query;
    int64_t found = 0;
    pm_query_open(&query, library, PM_SQL_FORMULA_FIND);
    pm_query_text(&query, folded);
    enum pm_status status = pm_query_one(&query, &found, NULL, err);
    pm_free(folded);
    if (status == PM_OK && found == 0)
        return pm_fail(err, PM_MISSING, "There is no formula \"%s\".", name);
    if (status == PM_OK)
        *id = found;
    return status;
}

/* Calls visit when the formula's folded name holds every word. False to stop. */
static bool visit_match(struct pm_query *query, const char *words, pm_formula_visit *visit,
                        void *context)
{
    struct pm_formula formula;
    bool more = true;
    read_formula(query, &formula);
    char *folded = formula.name == NULL ? NULL : pm_store_fold(formula.name);
    if (folded == NULL)
        query->rc = SQLITE_NOMEM;
    else if (pm_store_words_in(words, folded))
        more = visit(context, &formula);
    pm_free(folded);
    pm_formula_release(&formula);
    return more;
}

enum pm_status pm_formula_list(struct pm_library *library, const char *text, bool set_aside_too,
                               pm_formula_visit *visit, void *context, struct pm_error *err)
{
    char *words = pm_fold(text == NULL ? "" : text);
    if (words == NULL)
        return pm_fail_memory(err);
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_FORMULA_LIST);
    pm_query_int(&query, set_aside_too);
    while (pm_query_row(&query) && visit_match(&query, words, visit, context)) {
    }
    pm_free(words);
    return pm_query_close(&query, err);
}
