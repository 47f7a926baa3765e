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
