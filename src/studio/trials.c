/* SPDX-License-Identifier: MIT */
/*
 * Kept trials: sealing the draft, labels, setting aside.
 */
#include "inside.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/studio/trials.h"

#include <stdio.h>

#define NOTE_BYTES 65536

/* ---- keeping ---- */

/* Whether two trials say the same to a perfumer: ids and where they come from do not count. */
static bool same_content(const struct pm_trial *a, const struct pm_trial *b)
{
    if (a->base != b->base || a->mode != b->mode || a->count != b->count)
        return false;
    for (size_t i = 0; i < a->count; i++)
        if (!pm_line_same(&a->lines[i], &b->lines[i]))
            return false;
    return true;
}

static enum pm_status fail_unsettled(const struct pm_sheet *sheet, struct pm_error *err)
{
    char off[PM_AMOUNT_TEXT], base[PM_AMOUNT_TEXT];
    return pm_fail(
        err, PM_REFUSED,
        "%s is %s parts %s its base of %s: fill it or settle it before it is kept.", sheet->name,
        pm_decimal_exact(sheet->off < 0 ? -sheet->off : sheet->off, 6, '.', off),
        sheet->off < 0 ? "short of" : "over", pm_decimal_exact(sheet->trial.base, 6, '.', base));
}

enum pm_status pm_sheet_unchanged(struct pm_studio *studio, const struct pm_sheet *sheet,
                                  bool *unchanged, struct pm_error *err)
{
    struct pm_kept *parent;
    *unchanged = false;
    if (sheet->parent_number == 0)
        return PM_OK;
    const enum pm_status status = pm_studio_kept(studio, sheet->trial.parent, true, &parent, err);
    if (status == PM_OK)
        *unchanged = same_content(&parent->trial, &sheet->trial);
    return status;
}

enum pm_status pm_trial_beside(struct pm_studio *studio, int64_t trial, struct pm_beside *out,
                               struct pm_error *err)
{
    struct pm_sheet *sheet;
    struct pm_kept *kept = NULL;
    bool unchanged = false;
    enum pm_status status = pm_sheet_open(studio, trial, &sheet, err);
    if (status != PM_OK)
        return status;
    if (sheet->number == 0)
        status = pm_sheet_unchanged(studio, sheet, &unchanged, err);
    if (status == PM_OK && unchanged)
        status = pm_studio_kept(studio, sheet->trial.parent, true, &kept, err);
    if (status == PM_OK)
        *out = kept != NULL ? (struct pm_beside){kept->trial.parent, sheet->trial.parent}
                            : (struct pm_beside){sheet->trial.parent, trial};
    pm_sheet_free(sheet);
    return status;
}

enum pm_status pm_trial_may_keep(struct pm_studio *studio, const struct pm_sheet *sheet,
                                 struct pm_error *err)
{
    enum pm_status status = pm_sheet_editable(sheet, err);
    if (status != PM_OK)
        return status;
    if (sheet->trial.count == 0 || sheet->total == 0)
        return pm_fail(err, PM_REFUSED, "%s is empty: there is nothing to keep.", sheet->name);
    if (sheet->trial.mode != PM_OPEN && (!sheet->trial.settled || sheet->off != 0))
        return fail_unsettled(sheet, err);
    bool unchanged;
    status = pm_sheet_unchanged(studio, sheet, &unchanged, err);
    if (status == PM_OK && unchanged)
        status = pm_fail(err, PM_REFUSED, "Nothing has changed since %s/%lld was kept.",
                         sheet->name, (long long)sheet->parent_number);
    return status;
}

char *pm_trial_off_text(const struct pm_sheet *sheet, char *buf)
{
    char off[PM_AMOUNT_TEXT], base[PM_AMOUNT_TEXT];
    buf[0] = '\0';
    if (sheet->off != 0) {
        snprintf(buf, PM_OFF_TEXT, ", %s parts %s its base of %s",
                 pm_decimal_exact(sheet->off < 0 ? -sheet->off : sheet->off, 6, '.', off),
                 sheet->off < 0 ? "short of" : "over",
                 pm_decimal_exact(sheet->trial.base, 6, '.', base));
    }
    return buf;
}

/* Inside the caller's transaction, so that the number in the sentence is the number given. */
static enum pm_status keep_numbered(struct pm_studio *studio, const struct pm_sheet *sheet,
                                    const char *note, int64_t *number, struct pm_error *err)
{
    struct pm_arena arena = {0};
    struct pm_formula row;
    struct pm_text text = PM_TEXT_EMPTY;
    char off[PM_OFF_TEXT];
    enum pm_status status = pm_formula_get(studio->library, sheet->formula, &arena, &row, err);
    if (status == PM_OK) {
        pm_text_addf(&text, "Kept as %s/%lld%s", row.name, (long long)row.kept + 1,
                     pm_trial_off_text(sheet, off));
        status = pm_text_ok(&text)
                     ? pm_draft_keep(studio->library, sheet->trial_id, sheet->revision, note,
                                     pm_text_get(&text), number, err)
                     : pm_fail_memory(err);
    }
    pm_text_release(&text);
    pm_arena_release(&arena);
    return status;
}

enum pm_status pm_trial_keep(struct pm_studio *studio, const struct pm_sheet *sheet,
                             const char *note, int64_t *number, struct pm_error *err)
{
    char *clean = NULL;
    int64_t given = 0;
    enum pm_status status = PM_OK;
    if (note != NULL && note[0] != '\0')
        status = pm_note_clean(note, "The note", NOTE_BYTES, &clean, err);
    if (status == PM_OK)
        status = pm_change_begin(studio, err);
    if (status == PM_OK) {
        status = pm_trial_may_keep(studio, sheet, err);
        if (status == PM_OK)
            status = keep_numbered(studio, sheet, clean, &given, err);
        status = pm_change_end(studio, status, err);
    }
    pm_free(clean);
    if (status != PM_OK)
        return status;
    pm_studio_forget_formula(studio, sheet->formula);
    if (number != NULL)
        *number = given;
    return PM_OK;
}

/* ---- labels ---- */

/* Reads the newest marks, lets one differ, writes a new row. NULL leaves a mark. */
static enum pm_status mark(struct pm_studio *studio, int64_t trial, const char *label,
                           const bool *aside, struct pm_error *err)
{
    struct pm_arena arena = {0};
    struct pm_trial_row row;
    enum pm_status status = pm_change_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_trial_row_get(studio->library, trial, &arena, &row, err);
    if (status == PM_OK) {
        const char *text = label != NULL ? (label[0] ? label : NULL) : row.label;
        if (row.number == 0)
            status = pm_fail(err, PM_REFUSED, "Only kept trials can be labelled or set aside.");
        else
            status = pm_trial_mark(studio->library, trial, text,
                                   aside != NULL ? *aside : row.set_aside, err);
    }
    pm_arena_release(&arena);
    return pm_change_end(studio, status, err);
}

enum pm_status pm_trial_set_label(struct pm_studio *studio, int64_t trial, const char *label,
                                  struct pm_error *err)
{
    char *clean = NULL;
    enum pm_status status = PM_OK;
    if (label != NULL && label[0] != '\0')
        status = pm_name_clean(label, "The label", &clean, err);
    if (status == PM_OK)
        status = mark(studio, trial, clean != NULL ? clean : label, NULL, err);
    pm_free(clean);
    return status;
}

enum pm_status pm_trial_set_aside(struct pm_studio *studio, int64_t trial, bool aside,
                                  struct pm_error *err)
{
    return mark(studio, trial, NULL, &aside, err);
}
