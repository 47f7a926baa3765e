/* SPDX-License-Identifier: MIT */
#include "permille/studio/profile.h"
#include "volatility.h"

#include "permille/base/utf8.h"
#include "permille/store/ceilings.h"
#include "permille/studio/shelf.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* How finely a material is divided into stages: amounts of pico-parts times this stay below 2^96.
 */
#define FINE 1000000000

void pm_profile_forget(struct pm_profile_known *known)
{
    pm_list_release(&known->ceilings);
    pm_map_release(&known->stages);
    pm_arena_release(&known->arena);
    *known = (struct pm_profile_known){.read = false};
}

void pm_profile_release(struct pm_profile *profile)
{
    pm_arena_release(&profile->arena);
    *profile = (struct pm_profile){.count = 0};
}

/* ---- what is known ---- */

struct stages {
    int64_t of[PM_SPLIT]; /* together FINE */
};

/* What has no figure takes what rounding leaves. */
static struct stages whole_numbers(const struct pm_stage_split *split)
{
    struct stages out;
    int64_t left = FINE;
    for (int s = 0; s < PM_STAGES; s++) {
        const int64_t wanted = llround(split->of[s] * FINE);
        out.of[s] = wanted < left ? wanted : left;
        left -= out.of[s];
    }
    if (split->of[PM_STAGES] <= 0)
        for (int s = 0; s < PM_STAGES && left > 0; s++)
            if (out.of[s] > 0) {
                out.of[s] += left;
                left = 0;
            }
    out.of[PM_STAGES] = left;
    return out;
}

static enum pm_status stages_of(struct pm_studio *studio, struct pm_profile_known *known,
                                int64_t material, const struct stages **out, struct pm_error *err)
{
    struct pm_stage_split split;
    struct stages *stages = pm_map_get(&known->stages, material);
    *out = stages;
    if (stages != NULL)
        return PM_OK;
    const enum pm_status status = pm_stage_split_of(studio, material, &split, err);
    if (status != PM_OK)
        return status;
    stages = pm_arena_alloc(&known->arena, sizeof *stages);
    if (stages == NULL || !pm_map_put(&known->stages, material, stages))
        return pm_fail_memory(err);
    *stages = whole_numbers(&split);
    *out = stages;
    return PM_OK;
}

static enum pm_status read_ceilings(struct pm_studio *studio, struct pm_profile_known *known,
                                    struct pm_error *err)
{
    if (known->read)
        return PM_OK;
    const enum pm_status status = pm_ceiling_list(studio->library, &known->ceilings, err);
    known->read = status == PM_OK;
    return status;
}

/* ---- gathering ---- */

/* Groups being gathered: stages stand at the front, families follow. */
struct gathering {
    struct pm_profile_group *items;
    size_t count;
    struct pm_arena arena;
};

static bool begin(struct gathering *gathering)
{
    for (int s = 0; s < PM_SPLIT; s++) {
        struct pm_profile_group *group = pm_list_add(gathering);
        if (group == NULL)
            return false;
        group->kind = PM_BY_VOLATILITY;
        group->name = s < PM_STAGES ? pm_stage_word((enum pm_stage)s) : NULL;
    }
    return true;
}

static struct pm_profile_group *family_group(struct gathering *gathering, const char *family)
{
    for (size_t i = PM_SPLIT; i < gathering->count; i++) {
        struct pm_profile_group *group = &gathering->items[i];
        if (family == NULL || group->name == NULL ? family == group->name
                                                  : pm_fold_equal(group->name, family))
            return group;
    }
    const char *name = pm_arena_text(&gathering->arena, family);
    struct pm_profile_group *group = family != NULL && name == NULL ? NULL : pm_list_add(gathering);
    if (group != NULL)
        group->name = name;
    return group;
}

static enum pm_status gather_one(struct pm_studio *studio, const struct pm_flat_row *row,
                                 struct pm_profile_known *known, struct gathering *gathering,
                                 struct pm_error *err)
{
    struct pm_card *card;
    const struct stages *stages;
    enum pm_status status = pm_studio_material(studio, row->material, &card, err);
    if (status != PM_OK || card->is_solvent || row->neat == 0)
        return status;
    struct pm_profile_group *family = family_group(gathering, card->family);
    if (family == NULL)
        return pm_fail_memory(err);
    family->amount += row->neat;
    status = stages_of(studio, known, row->material, &stages, err);
    for (int s = 0; status == PM_OK && s < PM_SPLIT; s++)
        gathering->items[s].amount += (pm_int128)row->neat * stages->of[s];
    return status;
}

static enum pm_status gather(struct pm_studio *studio, const struct pm_trial *trial,
                             struct pm_profile_known *known, struct gathering *gathering,
                             struct pm_error *err)
{
    struct pm_accords accords = {studio, NULL};
    const struct pm_trial_source source = pm_accords_source(&accords);
    struct pm_flat flat;
    enum pm_status status = pm_flatten(trial, &source, &flat, err);
    if (status != PM_OK)
        return status;
    if (!begin(gathering))
        status = pm_fail_memory(err);
    for (size_t i = 0; status == PM_OK && i < flat.count; i++)
        status = gather_one(studio, &flat.rows[i], known, gathering, err);
    pm_flat_release(&flat);
    return status;
}

/* ---- in order ---- */

static int by_amount(const void *left, const void *right)
{
    const struct pm_profile_group *a = left, *b = right;
    if ((a->name == NULL) != (b->name == NULL))
        return a->name == NULL ? 1 : -1;
    if (a->amount != b->amount)
        return a->amount < b->amount ? 1 : -1;
    return a->name != NULL ? strcmp(a->name, b->name) : 0;
}

/* Families first; a stage that holds nothing stays, what has no figure only where there is some. */
static enum pm_status arrange(const struct gathering *gathering, int64_t formula,
                              const struct pm_ceilings *ceilings, struct pm_profile *out,
                              struct pm_error *err)
{
    const size_t families = gathering->count - PM_SPLIT;
    if (families == 0)
        return PM_OK;
    out->groups = pm_arena_array(&out->arena, gathering->count, sizeof *out->groups);
    if (out->groups == NULL)
        return pm_fail_memory(err);
    memcpy(out->groups, gathering->items + PM_SPLIT, families * sizeof *out->groups);
    qsort(out->groups, families, sizeof *out->groups, by_amount);
    memcpy(out->groups + families, gathering->items, PM_SPLIT * sizeof *out->groups);
    out->over = pm_profile_judge(out->groups, families, formula, ceilings) +
                pm_profile_judge(out->groups + families, PM_SPLIT, formula, ceilings);
    out->count = gathering->count - (gathering->items[PM_STAGES].amount == 0);
    for (size_t i = 0; i < out->count; i++) {
        out->unknown += out->groups[i].verdict == PM_CEILING_UNKNOWN;
        if (i < families)
            out->groups[i].name = pm_arena_text(&out->arena, out->groups[i].name);
    }
    return pm_arena_status(&out->arena, err);
}

enum pm_status pm_profile_preview(struct pm_studio *studio, const struct pm_sheet *sheet,
                                  struct pm_profile_known *known, struct pm_profile *out,
                                  struct pm_error *err)
{
    struct pm_profile made = {.count = 0};
    struct gathering gathering = {0};
    enum pm_status status = read_ceilings(studio, known, err);
    if (status == PM_OK)
        status = gather(studio, &sheet->trial, known, &gathering, err);
    if (status == PM_OK)
        status = arrange(&gathering, sheet->formula, &known->ceilings, &made, err);
    pm_list_release(&gathering);
    if (status == PM_OK)
        *out = made;
    else
        pm_profile_release(&made);
    return status;
}

enum pm_status pm_profile_of(struct pm_studio *studio, const struct pm_sheet *sheet,
                             struct pm_profile_known *known, struct pm_profile *out,
                             struct pm_error *err)
{
    enum pm_status status = pm_studio_look_begin(studio, err);
    return status == PM_OK
               ? pm_look_over(studio, pm_profile_preview(studio, sheet, known, out, err))
               : status;
}

void pm_profile_say(const struct pm_profile *profile, char sign, struct pm_text *out)
{
    const enum pm_ceiling_verdict worst = profile->over > 0 ? PM_CEILING_OVER : PM_CEILING_UNKNOWN;
    for (size_t i = 0; i < profile->count && profile->over + profile->unknown > 0; i++) {
        const struct pm_profile_group *group = &profile->groups[i];
        char share[PM_AMOUNT_TEXT], most[PM_AMOUNT_TEXT];
        if (group->verdict != worst)
            continue;
        pm_share_format(group->share, sign, share);
        pm_share_format(group->ceiling->most, sign, most);
        if (worst == PM_CEILING_OVER && strcmp(share, most) == 0)
            snprintf(share, sizeof share, "more");
        pm_text_addf(out, "%s %s %s (at most %s)", worst == PM_CEILING_OVER ? "!" : "?",
                     group->name, share, most);
        return;
    }
}

/* ---- the person's ceilings ---- */

static enum pm_status read_entries(struct pm_studio *studio, struct pm_ceiling_entries *out,
                                   struct pm_error *err)
{
    struct pm_ceilings rows = {0};
    enum pm_status status = pm_ceiling_list(studio->library, &rows, err);
    for (size_t i = 0; status == PM_OK && i < rows.count; i++) {
        struct pm_ceiling_entry *entry = pm_list_add(out);
        struct pm_formula formula = {.name = NULL};
        if (entry == NULL)
            break;
        entry->row = rows.items[i];
        entry->row.name = pm_arena_text(&out->arena, rows.items[i].name);
        if (entry->row.formula != 0)
            status =
                pm_formula_get(studio->library, entry->row.formula, &out->arena, &formula, err);
        entry->formula = formula.name;
    }
    pm_list_release(&rows);
    return status == PM_OK ? pm_arena_status(&out->arena, err) : status;
}

enum pm_status pm_ceilings_read(struct pm_studio *studio, struct pm_ceiling_entries *out,
                                struct pm_error *err)
{
    struct pm_ceiling_entries list = {0};
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_look_over(studio, read_entries(studio, &list, err));
    pm_list_give(&list, status, out);
    return status;
}

static bool is_stage(const char *name, const char **word)
{
    for (int s = 0; s < PM_STAGES; s++)
        if (pm_fold_equal(name, pm_stage_word((enum pm_stage)s))) {
            *word = pm_stage_word((enum pm_stage)s);
            return true;
        }
    return false;
}

/* Fills kind and name as they are written in the library. */
static enum pm_status name_ceiling(struct pm_studio *studio, const char *text,
                                   struct pm_ceiling *out, struct pm_arena *arena,
                                   struct pm_error *err)
{
    struct pm_families families;
    out->kind = PM_BY_VOLATILITY;
    if (is_stage(text, &out->name))
        return PM_OK;
    enum pm_status status = pm_shelf_families(studio, &families, err);
    if (status != PM_OK)
        return status;
    out->kind = PM_BY_FAMILY;
    for (size_t i = 0; i < families.count && out->name == NULL; i++)
        if (pm_fold_equal(families.items[i].name, text))
            out->name = pm_arena_text(arena, families.items[i].name);
    pm_list_release(&families);
    if (out->name == NULL && !arena->failed)
        return pm_fail_at(err, "name", PM_MISSING,
                          "No material has the family \"%.60s\"; besides families there are top, "
                          "heart and base.",
                          text);
    return pm_arena_status(arena, err);
}

static enum pm_status whose(struct pm_studio *studio, int64_t formula, struct pm_arena *arena,
                            const char **out, struct pm_error *err)
{
    struct pm_formula row;
    *out = "every formula";
    if (formula == 0)
        return PM_OK;
    const enum pm_status status = pm_formula_get(studio->library, formula, arena, &row, err);
    *out = row.name;
    return status;
}

static enum pm_status set(struct pm_studio *studio, struct pm_ceiling *row, const char *name,
                          const char *most, struct pm_arena *arena, struct pm_text *sentence,
                          struct pm_error *err)
{
    pm_strength share = 0;
    const char *of = NULL;
    char text[PM_AMOUNT_TEXT];
    enum pm_status status = pm_error_at(err, "most", pm_strength_read(most, &share, err));
    row->most = share * (PM_WHOLE / PM_NEAT);
    if (status == PM_OK)
        status = name_ceiling(studio, name, row, arena, err);
    if (status == PM_OK)
        status = whose(studio, row->formula, arena, &of, err);
    if (status == PM_OK)
        status = pm_ceiling_put(studio->library, row, err);
    if (status == PM_OK)
        pm_text_addf(sentence, "%s: at most %s of %s", row->name,
                     pm_strength_format(share, pm_decimal_sign(), text), of);
    return status;
}

static enum pm_status give_sentence(struct pm_text *sentence, enum pm_status status, char **out,
                                    struct pm_error *err)
{
    if (status == PM_OK && !pm_text_ok(sentence))
        status = pm_fail_memory(err);
    if (status == PM_OK && out != NULL)
        *out = pm_text_take(sentence);
    pm_text_release(sentence);
    return status;
}

enum pm_status pm_ceiling_set(struct pm_studio *studio, int64_t formula, const char *name,
                              const char *most, char **sentence, struct pm_error *err)
{
    struct pm_arena arena = {0};
    struct pm_text text = PM_TEXT_EMPTY;
    struct pm_ceiling row = {.formula = formula};
    enum pm_status status = pm_change_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_change_end(studio, set(studio, &row, name, most, &arena, &text, err), err);
    pm_arena_release(&arena);
    return give_sentence(&text, status, sentence, err);
}

static enum pm_status take_away(struct pm_studio *studio, int64_t formula, const char *name,
                                struct pm_arena *arena, struct pm_text *sentence,
                                struct pm_error *err)
{
    struct pm_ceilings ceilings;
    const struct pm_ceiling *found = NULL;
    const char *of = NULL;
    enum pm_status status = whose(studio, formula, arena, &of, err);
    if (status == PM_OK)
        status = pm_ceiling_list(studio->library, &ceilings, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < ceilings.count && found == NULL; i++)
        if (ceilings.items[i].formula == formula && pm_fold_equal(ceilings.items[i].name, name))
            found = &ceilings.items[i];
    status = found == NULL
                 ? pm_fail(err, PM_MISSING, "There is no ceiling on \"%.60s\" for %s.", name, of)
                 : pm_ceiling_delete(studio->library, found->id, err);
    if (status == PM_OK)
        pm_text_addf(sentence, "%s: no ceiling for %s any more", found->name, of);
    pm_list_release(&ceilings);
    return status;
}

enum pm_status pm_ceiling_remove(struct pm_studio *studio, int64_t formula, const char *name,
                                 char **sentence, struct pm_error *err)
{
    struct pm_arena arena = {0};
    struct pm_text text = PM_TEXT_EMPTY;
    enum pm_status status = pm_change_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_change_end(studio, take_away(studio, formula, name, &arena, &text, err), err);
    pm_arena_release(&arena);
    return give_sentence(&text, status, sentence, err);
}
