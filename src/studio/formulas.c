/* SPDX-License-Identifier: MIT */
/*
 * Formulas as a whole: the list, making, copying, renaming, finding by name.
 */
#include "inside.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/core/change.h"

#include <string.h>

/* ---- list ---- */

enum pm_status pm_formulas_list(struct pm_studio *studio, const char *text, bool set_aside_too,
                                struct pm_formulas *out, struct pm_error *err)
{
    return pm_formula_list(studio->library, text, set_aside_too, out, err);
}

/* ---- making and naming ---- */

enum pm_status pm_rules_formula_name(const char *text, char **out, struct pm_error *err)
{
    char *name;
    enum pm_status status = pm_name_clean(text, "The formula's name", &name, err);
    if (status != PM_OK)
        return status;
    if (strchr(name, '/') != NULL)
        status = pm_fail(err, PM_INVALID,
                         "A formula's name may not hold \"/\": it stands between the name and the "
                         "number of a trial.");
    else if (name[0] == '#')
        status =
            pm_fail(err, PM_INVALID,
                    "A formula's name may not begin with \"#\": that is how a line is named by "
                    "its place.");
    if (status != PM_OK) {
        pm_free(name);
        return status;
    }
    *out = name;
    return PM_OK;
}

/* *clean is the name to be kept. */
static enum pm_status check_new(const char *name, pm_parts base, char **clean, struct pm_error *err)
{
    if (base < 1 || base > PM_PARTS_MAX)
        return pm_fail(err, PM_INVALID, "The base must lie between 0.000001 and 1000000 parts.");
    return pm_rules_formula_name(name, clean, err);
}

enum pm_status pm_formula_check(const char *name, pm_parts base, struct pm_error *err)
{
    char *clean = NULL;
    const enum pm_status status = check_new(name, base, &clean, err);
    pm_free(clean);
    return status;
}

enum pm_status pm_formula_new(struct pm_studio *studio, const char *name, bool accord,
                              pm_parts base, enum pm_mode mode, int64_t *id, struct pm_error *err)
{
    char *clean;
    enum pm_status status = check_new(name, base, &clean, err);
    if (status != PM_OK)
        return status;
    int64_t made;
    status = pm_formula_insert(studio->library, clean, accord, base, mode, &made, err);
    pm_free(clean);
    if (status == PM_OK && id != NULL)
        *id = made;
    return status;
}

/* Inside the caller's transaction. */
static enum pm_status copy_into(struct pm_studio *studio, const struct pm_trial *content,
                                int64_t formula, const char *sentence, struct pm_error *err)
{
    struct pm_trial before, after;
    struct pm_text change = PM_TEXT_EMPTY;
    struct pm_gesture gesture = {.kind = PM_BRANCH, .content = content, .parent = 0};
    int64_t draft, revision;
    enum pm_status status = pm_trial_by_number(studio->library, formula, 0, &draft, err);
    if (status != PM_OK)
        return status;
    pm_trial_init(&before, content->base, content->mode);
    status = pm_gesture_apply(&gesture, &before, &after, NULL, err);
    if (status == PM_OK)
        status = pm_change_between(&before, &after, &change, err);
    if (status == PM_OK)
        status = pm_draft_write(studio->library, draft, 0, &after, pm_gesture_word(PM_BRANCH),
                                sentence, pm_text_get(&change), &revision, err);
    pm_text_release(&change);
    pm_trial_release(&after);
    pm_trial_release(&before);
    return status;
}

static enum pm_status copy_in_one(struct pm_studio *studio, const struct pm_trial *content,
                                  const char *name, bool accord, const char *sentence, int64_t *id,
                                  struct pm_error *err)
{
    enum pm_status status = pm_change_begin(studio, err);
    if (status != PM_OK)
        return status;
    status =
        pm_formula_insert(studio->library, name, accord, content->base, content->mode, id, err);
    if (status == PM_OK && content->count > 0)
        status = copy_into(studio, content, *id, sentence, err);
    return pm_change_end(studio, status, err);
}

/* What a copy begins with: content, whether it is an accord, where it came from. */
static enum pm_status read_original(struct pm_studio *studio, int64_t trial,
                                    struct pm_trial *content, bool *accord,
                                    struct pm_text *sentence, struct pm_error *err)
{
    struct pm_trial_row row;
    struct pm_trial loaded;
    struct pm_card *card;
    enum pm_status status = pm_trial_row_get(studio->library, trial, NULL, &row, err);
    if (status == PM_OK)
        status = pm_studio_formula(studio, row.formula, &card, err);
    if (status == PM_OK)
        status = pm_trial_load(studio->library, trial, &loaded, err);
    if (status != PM_OK)
        return status;
    pm_trial_release(content);
    *content = loaded;
    *accord = card->accord;
    pm_text_addf(sentence, "Copied from %s", card->name);
    if (row.number > 0)
        pm_text_addf(sentence, "/%lld", (long long)row.number);
    status = pm_studio_follow_lines(studio, content, err);
    return status == PM_OK && !pm_text_ok(sentence) ? pm_fail_memory(err) : status;
}

enum pm_status pm_formula_copy(struct pm_studio *studio, int64_t trial, const char *name,
                               int64_t *id, struct pm_error *err)
{
    struct pm_trial content;
    struct pm_text sentence = PM_TEXT_EMPTY;
    bool accord = false;
    char *clean;
    enum pm_status status = pm_rules_formula_name(name, &clean, err);
    if (status != PM_OK)
        return status;
    pm_trial_init(&content, PM_PART, PM_CORE_MODE);
    int64_t made = 0;
    status = pm_studio_look_begin(studio, err);
    if (status == PM_OK)
        status =
            pm_look_over(studio, read_original(studio, trial, &content, &accord, &sentence, err));
    if (status == PM_OK)
        status = copy_in_one(studio, &content, clean, accord, pm_text_get(&sentence), &made, err);
    if (status == PM_OK && id != NULL)
        *id = made;
    pm_text_release(&sentence);
    pm_trial_release(&content);
    pm_free(clean);
    return status;
}

/* Reads, lets one field differ, writes: in one transaction, so that another instance's change to
 * another field is not undone. NULL leaves a field. */
static enum pm_status update(struct pm_studio *studio, int64_t id, const char *name,
                             const bool *accord, const bool *aside, struct pm_error *err)
{
    struct pm_arena arena = {0};
    struct pm_formula row;
    enum pm_status status = pm_change_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_formula_get(studio->library, id, &arena, &row, err);
    if (status == PM_OK) {
        status = pm_formula_update(studio->library, id, name != NULL ? name : row.name,
                                   accord != NULL ? *accord : row.accord,
                                   aside != NULL ? *aside : row.set_aside, err);
    }
    pm_arena_release(&arena);
    status = pm_change_end(studio, status, err);
    if (status == PM_OK)
        pm_studio_forget_formula(studio, id);
    return status;
}

enum pm_status pm_formula_rename(struct pm_studio *studio, int64_t id, const char *name,
                                 struct pm_error *err)
{
    char *clean;
    enum pm_status status = pm_rules_formula_name(name, &clean, err);
    if (status != PM_OK)
        return status;
    status = update(studio, id, clean, NULL, NULL, err);
    pm_free(clean);
    return status;
}

enum pm_status pm_formula_mark_accord(struct pm_studio *studio, int64_t id, bool accord,
                                      struct pm_error *err)
{
    return update(studio, id, NULL, &accord, NULL, err);
}

enum pm_status pm_formula_set_aside(struct pm_studio *studio, int64_t id, bool aside,
                                    struct pm_error *err)
{
    return update(studio, id, NULL, NULL, &aside, err);
}

/* ---- finding ---- */

static enum pm_status fail_missing(struct pm_studio *studio, const char *name, struct pm_error *err)
{
    struct pm_nearest nearest;
    struct pm_formulas formulas = {0};
    char hint[PM_ERROR_TEXT];
    pm_nearest_init(&nearest, name);
    pm_formula_list(studio->library, NULL, true, &formulas, NULL);
    for (size_t i = 0; i < formulas.count; i++)
        pm_nearest_offer(&nearest, formulas.items[i].name, formulas.items[i].name);
    pm_fail(err, PM_MISSING, "No formula is called \"%s\"%s", name,
            pm_nearest_hint(&nearest, hint, sizeof hint));
    pm_list_release(&formulas);
    pm_nearest_release(&nearest);
    return PM_MISSING;
}

/* Splits "Name/3": the name into *name (a new string), 3 into *number, 0 without a number. */
static enum pm_status split_title(const char *text, char **name, int64_t *number,
                                  struct pm_error *err)
{
    const char *slash = strrchr(text, '/');
    *number = 0;
    if (slash != NULL) {
        const char *digit = slash + 1;
        while (*digit >= '0' && *digit <= '9' && *number < INT64_MAX / 100)
            *number = *number * 10 + (*digit++ - '0');
        if (*digit != '\0' || *number == 0)
            return pm_fail(err, PM_INVALID,
                           "\"%s\" names no trial: write NAME for the draft, NAME/3 for kept trial "
                           "3.",
                           text);
    }
    *name = pm_strndup(text, slash != NULL ? (size_t)(slash - text) : strlen(text));
    return *name != NULL ? PM_OK : pm_fail_memory(err);
}

static enum pm_status find_trial(struct pm_studio *studio, int64_t formula, const char *name,
                                 int64_t number, int64_t *trial, struct pm_error *err)
{
    enum pm_status status = pm_trial_by_number(studio->library, formula, number, trial, err);
    if (status != PM_MISSING || number == 0)
        return status;
    struct pm_formula row;
    if (pm_formula_get(studio->library, formula, NULL, &row, NULL) != PM_OK)
        return status;
    if (row.kept == 0)
        pm_fail(err, PM_MISSING, "%s has no trial %lld: none has been kept yet.", name,
                (long long)number);
    else
        pm_fail(err, PM_MISSING, "%s has no trial %lld: the newest is %lld.", name,
                (long long)number, (long long)row.kept);
    return PM_MISSING;
}

static enum pm_status find(struct pm_studio *studio, const char *name, int64_t number,
                           int64_t *formula, int64_t *trial, struct pm_error *err)
{
    enum pm_status status = pm_formula_by_name(studio->library, name, formula, err);
    if (status == PM_MISSING)
        status = fail_missing(studio, name, err);
    return status == PM_OK ? find_trial(studio, *formula, name, number, trial, err) : status;
}

enum pm_status pm_formula_find(struct pm_studio *studio, const char *text, int64_t *formula,
                               int64_t *trial, int64_t *number, struct pm_error *err)
{
    char *name;
    int64_t wanted, id, found = 0;
    enum pm_status status = split_title(text, &name, &wanted, err);
    if (status != PM_OK)
        return status;
    status = pm_studio_look_begin(studio, err);
    if (status == PM_OK)
        status = pm_look_over(studio, find(studio, name, wanted, &id, &found, err));
    pm_free(name);
    if (status != PM_OK)
        return status;
    if (formula != NULL)
        *formula = id;
    if (trial != NULL)
        *trial = found;
    if (number != NULL)
        *number = wanted;
    return PM_OK;
}
