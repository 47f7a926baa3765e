/* SPDX-License-Identifier: MIT */
/*
 * Trials as people write them: several, with commas between.
 */
#include "inside.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/studio/trials.h"

#include <string.h>

/* A number, or one behind a slash, is a kept trial of the formula that is open; "draft" its draft.
 */
static enum pm_status find_one(struct pm_studio *studio, int64_t formula, const char *text,
                               int64_t *trial, struct pm_error *err)
{
    const char *number = text + (*text == '/');
    const bool counts = *number != '\0' && number[strspn(number, "0123456789")] == '\0';
    const bool here = formula != 0 && (counts || strcmp(text, "draft") == 0);
    struct pm_text whole = PM_TEXT_EMPTY;
    struct pm_arena arena = {0};
    struct pm_formula row;
    if (!here)
        return pm_formula_find(studio, text, NULL, trial, NULL, err);
    enum pm_status status = pm_formula_get(studio->library, formula, &arena, &row, err);
    if (status == PM_OK)
        pm_text_add(&whole, row.name);
    pm_arena_release(&arena);
    if (status != PM_OK)
        return status;
    if (counts)
        pm_text_addf(&whole, "/%s", number);
    status = pm_text_ok(&whole)
                 ? pm_formula_find(studio, pm_text_get(&whole), NULL, trial, NULL, err)
                 : pm_fail_memory(err);
    pm_text_release(&whole);
    return status;
}

static enum pm_status read_all(struct pm_studio *studio, int64_t formula, const char *text,
                               int64_t *trials, size_t most, size_t *count, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    while (status == PM_OK && *(text += strspn(text, " ,;")) != '\0') {
        size_t length = strcspn(text, ",;");
        const char *next = text + length;
        while (length > 0 && text[length - 1] == ' ')
            length--;
        if (*count == most)
            return pm_fail(err, PM_REFUSED, "At most %zu trials can stand together.", most);
        char *one = pm_strndup(text, length);
        if (one == NULL)
            return pm_fail_memory(err);
        status = find_one(studio, formula, one, &trials[*count], err);
        pm_free(one);
        *count += status == PM_OK;
        text = next;
    }
    return status;
}

enum pm_status pm_trials_named(struct pm_studio *studio, int64_t formula, const char *text,
                               int64_t *trials, size_t most, size_t *count, struct pm_error *err)
{
    *count = 0;
    if (pm_is_blank(text))
        return pm_fail(err, PM_INVALID, "Name the trials, with commas between: 1, 3.");
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = read_all(studio, formula, text, trials, most, count, err);
    return pm_look_over(studio, status);
}

enum pm_status pm_trial_reference(void *context, const struct pm_attribute *attribute,
                                  const char *text, int64_t *id, struct pm_error *err)
{
    struct pm_studio *studio = context;
    (void)attribute;
    return pm_formula_find(studio, text, NULL, id, NULL, err);
}

/* ---- of every formula ---- */

static enum pm_status add_trial(struct pm_any_trials *list, const char *name,
                                const struct pm_trial_row *row, struct pm_error *err)
{
    struct pm_text title = PM_TEXT_EMPTY, said = PM_TEXT_EMPTY;
    struct pm_any_trial *item = pm_list_add(list);
    pm_text_add(&title, name);
    if (row->number > 0)
        pm_text_addf(&title, "/%lld", (long long)row->number);
    else
        pm_text_add(&said, "the draft");
    pm_text_addf(&said, "%s%s%s", row->label != NULL ? row->label : "",
                 row->label != NULL && row->note != NULL ? ": " : "",
                 row->note != NULL ? row->note : "");
    if (item != NULL)
        *item = (struct pm_any_trial){.id = row->id,
                                      .kept_at = row->kept_at,
                                      .title = pm_arena_text(&list->arena, pm_text_get(&title)),
                                      .said = pm_arena_text(&list->arena, pm_text_get(&said))};
    list->arena.failed = list->arena.failed || !pm_text_ok(&title) || !pm_text_ok(&said);
    pm_text_release(&title);
    pm_text_release(&said);
    return pm_arena_status(&list->arena, err);
}

static enum pm_status add_formula(struct pm_studio *studio, const struct pm_formula *formula,
                                  bool accords, struct pm_any_trials *list, struct pm_error *err)
{
    struct pm_trial_entries found;
    enum pm_status status = pm_trials_list(
        studio, formula->id, accords ? PM_TRIALS_BY_NUMBER : PM_TRIALS_DRAFT | PM_TRIALS_IN_SIGHT,
        &found, err);
    if (status != PM_OK)
        return status;
    for (size_t i = found.count; i-- > 0 && status == PM_OK;)
        if (!accords || !found.items[i].row.set_aside)
            status = add_trial(list, formula->name, &found.items[i].row, err);
    pm_list_release(&found);
    return status;
}

static enum pm_status of_all(struct pm_studio *studio, bool accords, int64_t but,
                             struct pm_any_trials *list, struct pm_error *err)
{
    struct pm_formulas formulas;
    enum pm_status status = pm_formulas_list(studio, NULL, false, &formulas, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < formulas.count && status == PM_OK; i++) {
        const struct pm_formula *formula = &formulas.items[i];
        if (!accords || (formula->accord && formula->kept > 0 && formula->id != but))
            status = add_formula(studio, formula, accords, list, err);
    }
    pm_list_release(&formulas);
    return status;
}

enum pm_status pm_trials_of_all(struct pm_studio *studio, bool accords, int64_t but,
                                struct pm_any_trials *out, struct pm_error *err)
{
    struct pm_any_trials list = {0};
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_look_over(studio, of_all(studio, accords, but, &list, err));
    pm_list_give(&list, status, out);
    return status;
}
