/* SPDX-License-Identifier: MIT */
/*
 * Sheets: a trial with names, shares and strength resolved for showing.
 */
#include "inside.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/core/apportion.h"

#include <ctype.h>
#include <stdlib.h>
#include <string.h>

#define WHOLE INT64_C(1000000000000) /* shares are 1e-12 of the total */

/* ---- names a sheet owns ---- */

void pm_sheet_names_free(struct pm_sheet_names *names)
{
    if (names == NULL)
        return;
    for (size_t i = 0; i < names->count; i++)
        pm_card_drop(names->items[i]);
    pm_list_release(names);
    pm_free(names);
}

static bool keep_card(struct pm_sheet_names *names, struct pm_card *card)
{
    struct pm_card **place = pm_list_add(names);
    if (place != NULL)
        *place = pm_card_keep(card);
    return place;
}

/* "Name/3". */
static const char *keep_title(struct pm_sheet_names *names, const char *name, int64_t number)
{
    struct pm_text text = PM_TEXT_EMPTY;
    pm_text_addf(&text, "%s/%lld", name, (long long)number);
    const char *kept = pm_text_ok(&text) ? pm_arena_text(&names->arena, pm_text_get(&text)) : NULL;
    pm_text_release(&text);
    return kept;
}

enum pm_status pm_sheet_names_material(struct pm_studio *studio, struct pm_sheet_names *names,
                                       int64_t id, struct pm_card **out, struct pm_error *err)
{
    struct pm_card *card;
    enum pm_status status = pm_studio_material(studio, id, &card, err);
    if (status == PM_OK && !keep_card(names, card))
        status = pm_fail_memory(err);
    if (status == PM_OK)
        *out = card;
    return status;
}

/* ---- resolving ---- */

static enum pm_status resolve_material(struct pm_studio *studio, struct pm_sheet_names *names,
                                       struct pm_sheet_line *line, struct pm_error *err)
{
    struct pm_card *card;
    enum pm_status status = pm_sheet_names_material(studio, names, line->line->ref, &card, err);
    if (status != PM_OK)
        return status;
    line->name = line->title = card->name;
    line->cas = card->cas;
    line->family = card->family;
    line->is_solvent = card->is_solvent;
    if (line->line->solvent == 0)
        return PM_OK;
    status = pm_sheet_names_material(studio, names, line->line->solvent, &card, err);
    if (status == PM_OK)
        line->solvent = card->name;
    return status;
}

static enum pm_status resolve_accord(struct pm_studio *studio, struct pm_sheet_names *names,
                                     struct pm_sheet_line *line, const struct pm_pending *pending,
                                     struct pm_error *err)
{
    if (line->line->ref == PM_PENDING_REF && pending != NULL) {
        line->name = pm_arena_text(&names->arena, pending->name);
        line->accord_number = line->accord_newest = 1;
    } else {
        struct pm_kept *kept;
        struct pm_card *card;
        enum pm_status status = pm_studio_kept(studio, line->line->ref, false, &kept, err);
        if (status == PM_OK)
            status = pm_studio_formula(studio, kept->formula, &card, err);
        if (status != PM_OK)
            return status;
        if (!keep_card(names, card))
            return pm_fail_memory(err);
        line->name = card->name;
        line->accord_formula = kept->formula;
        line->accord_number = kept->number;
        line->accord_newest = card->kept;
    }
    if (line->name != NULL)
        line->title = keep_title(names, line->name, line->accord_number);
    return line->title != NULL ? PM_OK : pm_fail_memory(err);
}

/* Each line's share of the total, so that the column adds up. */
static enum pm_status resolve_shares(struct pm_sheet *sheet, struct pm_error *err)
{
    size_t count = sheet->trial.count;
    if (sheet->total == 0)
        return PM_OK;
    int64_t *shares = pm_alloc_array(count, sizeof *shares);
    if (shares == NULL)
        return pm_fail_memory(err);
    for (size_t i = 0; i < count; i++)
        shares[i] = sheet->trial.lines[i].parts;
    enum pm_status status = pm_apportion(shares, count, WHOLE, shares, err);
    for (size_t i = 0; i < count; i++)
        sheet->lines[i].share = shares[i];
    pm_free(shares);
    return status;
}

/* Asked after all rows have been looked up, so it cannot fail. */
static bool is_solvent(void *context, int64_t material)
{
    struct pm_card *card;
    return pm_studio_material(context, material, &card, NULL) == PM_OK && card->is_solvent;
}

static enum pm_status share_solvent(struct pm_studio *studio, struct pm_sheet *sheet,
                                    const struct pm_flat *flat, struct pm_error *err)
{
    for (size_t i = 0; i < flat->count; i++) {
        struct pm_card *card;
        enum pm_status status = pm_studio_material(studio, flat->rows[i].material, &card, err);
        if (status != PM_OK)
            return status;
    }
    pm_fine solvent = pm_flat_solvent(flat, is_solvent, studio);
    if (!pm_muldiv(solvent, WHOLE, flat->total, &sheet->solvent_share))
        return pm_fail(err, PM_DAMAGED, "The solvent of %s is out of range.", sheet->name);
    sheet->strength = WHOLE - sheet->solvent_share;
    return PM_OK;
}

static enum pm_status resolve_strength(struct pm_studio *studio, struct pm_sheet *sheet,
                                       const struct pm_pending *pending, struct pm_error *err)
{
    if (sheet->total == 0)
        return PM_OK;
    struct pm_accords accords = {studio, pending};
    struct pm_trial_source source = pm_accords_source(&accords);
    struct pm_flat flat;
    enum pm_status status = pm_flatten(&sheet->trial, &source, &flat, err);
    if (status != PM_OK)
        return status;
    status = share_solvent(studio, sheet, &flat, err);
    pm_flat_release(&flat);
    return status;
}

static enum pm_status resolve_parent(struct pm_studio *studio, struct pm_sheet *sheet,
                                     struct pm_error *err)
{
    sheet->parent_number = 0;
    if (sheet->trial.parent == 0)
        return PM_OK;
    struct pm_kept *kept;
    enum pm_status status = pm_studio_kept(studio, sheet->trial.parent, false, &kept, err);
    if (status == PM_OK && kept->formula == sheet->formula)
        sheet->parent_number = kept->number;
    return status;
}

static struct pm_sheet *sheet_new(void)
{
    struct pm_sheet *sheet = pm_alloc_array(1, sizeof *sheet);
    if (sheet == NULL)
        return NULL;
    pm_trial_init(&sheet->trial, PM_PART, PM_CORE_MODE);
    sheet->names = pm_alloc_array(1, sizeof *sheet->names);
    if (sheet->names != NULL)
        return sheet;
    pm_sheet_free(sheet);
    return NULL;
}

enum pm_status pm_sheet_resolve(struct pm_studio *studio, struct pm_sheet *shell,
                                const struct pm_pending *pending, struct pm_error *err)
{
    size_t count = shell->trial.count;
    shell->lines = pm_alloc_array(count, sizeof *shell->lines);
    if (shell->lines == NULL)
        return pm_fail_memory(err);
    enum pm_status status = PM_OK;
    for (size_t i = 0; i < count && status == PM_OK; i++) {
        struct pm_sheet_line *line = &shell->lines[i];
        line->line = &shell->trial.lines[i];
        line->neat = pm_line_neat(line->line);
        if (line->line->kind == PM_LINE_MATERIAL)
            status = resolve_material(studio, shell->names, line, err);
        else
            status = resolve_accord(studio, shell->names, line, pending, err);
    }
    shell->total = pm_trial_total(&shell->trial);
    shell->held = pm_trial_held(&shell->trial);
    shell->off = shell->total - shell->trial.base;
    if (status == PM_OK)
        status = resolve_parent(studio, shell, err);
    if (status == PM_OK)
        status = resolve_shares(shell, err);
    if (status == PM_OK)
        status = resolve_strength(studio, shell, pending, err);
    return status;
}

void pm_sheet_free(struct pm_sheet *sheet)
{
    if (sheet == NULL)
        return;
    pm_trial_release(&sheet->trial);
    pm_sheet_names_free(sheet->names);
    pm_free(sheet->lines);
    pm_free(sheet);
}

enum pm_status pm_sheet_with(struct pm_studio *studio, const struct pm_sheet *sheet,
                             struct pm_trial *content, const struct pm_pending *pending,
                             struct pm_sheet **out, struct pm_error *err)
{
    struct pm_sheet *made = sheet_new();
    if (made == NULL)
        return pm_fail_memory(err);
    struct pm_trial empty = made->trial;
    made->formula = sheet->formula;
    made->accord = sheet->accord;
    made->trial_id = sheet->trial_id;
    made->number = sheet->number;
    made->revision = sheet->revision;
    made->kept = sheet->kept;
    made->can_undo = sheet->can_undo;
    made->can_redo = sheet->can_redo;
    made->name = pm_arena_text(&made->names->arena, sheet->name);
    made->trial = *content;
    enum pm_status status =
        made->name != NULL ? pm_sheet_resolve(studio, made, pending, err) : pm_fail_memory(err);
    if (status != PM_OK) {
        made->trial = empty;
        pm_sheet_free(made);
        return status;
    }
    *content = empty;
    *out = made;
    return PM_OK;
}

/* ---- opening ---- */

static enum pm_status fill_facts(struct pm_studio *studio, struct pm_sheet *sheet,
                                 const struct pm_trial_row *row, struct pm_error *err)
{
    struct pm_card *card;
    enum pm_status status = pm_studio_formula(studio, row->formula, &card, err);
    if (status != PM_OK)
        return status;
    sheet->formula = row->formula;
    sheet->accord = card->accord;
    sheet->kept = card->kept;
    sheet->trial_id = row->id;
    sheet->number = row->number;
    sheet->read_only = row->number > 0;
    sheet->revision = row->head;
    sheet->kept_at = row->kept_at;
    sheet->name = pm_arena_text(&sheet->names->arena, card->name);
    sheet->note = row->note;
    sheet->label = row->label;
    if (sheet->name == NULL)
        return pm_fail_memory(err);
    if (sheet->number > 0)
        return PM_OK;
    int64_t child;
    status = pm_revision_newest_child(studio->library, row->formula, row->head, &child, err);
    if (status == PM_OK) {
        sheet->can_undo = row->head != 0;
        sheet->can_redo = child != 0;
    }
    return status;
}

/* The content of a draft, or a copy of a kept trial from the cache. */
static enum pm_status load_content(struct pm_studio *studio, int64_t trial, bool kept_one,
                                   struct pm_trial *out, struct pm_error *err)
{
    struct pm_trial content;
    struct pm_kept *kept;
    enum pm_status status;
    if (kept_one) {
        status = pm_studio_kept(studio, trial, true, &kept, err);
        if (status == PM_OK)
            status = pm_trial_copy(&kept->trial, &content, err);
    } else {
        status = pm_trial_load(studio->library, trial, &content, err);
        if (status == PM_OK) {
            status = pm_studio_names_of(studio, trial, &content, err);
            if (status != PM_OK)
                pm_trial_release(&content);
        }
    }
    if (status == PM_OK) {
        pm_trial_release(out);
        *out = content;
    }
    return status;
}

static enum pm_status fill_trial(struct pm_studio *studio, int64_t trial, struct pm_sheet *sheet,
                                 struct pm_error *err)
{
    struct pm_trial_row row;
    enum pm_status status =
        pm_trial_row_get(studio->library, trial, &sheet->names->arena, &row, err);
    if (status != PM_OK)
        return status;
    status = fill_facts(studio, sheet, &row, err);
    if (status == PM_OK)
        status = load_content(studio, trial, row.number > 0, &sheet->trial, err);
    if (status == PM_OK)
        status = pm_sheet_resolve(studio, sheet, NULL, err);
    return status;
}

enum pm_status pm_sheet_filled(struct pm_studio *studio, pm_sheet_fill_fn *fill, int64_t id,
                               struct pm_sheet **out, struct pm_error *err)
{
    struct pm_sheet *sheet = sheet_new();
    if (sheet == NULL)
        return pm_fail_memory(err);
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status == PM_OK)
        status = pm_look_over(studio, fill(studio, id, sheet, err));
    if (status != PM_OK) {
        pm_sheet_free(sheet);
        return status;
    }
    *out = sheet;
    return PM_OK;
}

enum pm_status pm_sheet_open(struct pm_studio *studio, int64_t trial, struct pm_sheet **out,
                             struct pm_error *err)
{
    return pm_sheet_filled(studio, fill_trial, trial, out, err);
}

enum pm_status pm_sheet_open_draft(struct pm_studio *studio, int64_t formula, struct pm_sheet **out,
                                   struct pm_error *err)
{
    int64_t draft;
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_trial_by_number(studio->library, formula, 0, &draft, err);
    if (status == PM_OK)
        status = pm_sheet_open(studio, draft, out, err);
    return pm_look_over(studio, status);
}

enum pm_status pm_sheet_editable(const struct pm_sheet *sheet, struct pm_error *err)
{
    if (!sheet->read_only)
        return PM_OK;
    if (sheet->number > 0)
        return pm_fail(err, PM_REFUSED,
                       "%s/%lld is kept and never changes: branch from it to go on.", sheet->name,
                       (long long)sheet->number);
    return pm_fail(err, PM_REFUSED, "This is a look back at %s: bring it back to edit it.",
                   sheet->name);
}

enum pm_status pm_sheet_title(const struct pm_sheet *sheet, char **out, struct pm_error *err)
{
    struct pm_text text = PM_TEXT_EMPTY;
    pm_text_add(&text, sheet->name);
    if (sheet->number > 0)
        pm_text_addf(&text, "/%lld", (long long)sheet->number);
    *out = pm_text_take(&text);
    return *out != NULL ? PM_OK : pm_fail_memory(err);
}

/* ---- finding a line ---- */

static enum pm_status find_place(const struct pm_sheet *sheet, const char *text, int64_t *line,
                                 struct pm_error *err)
{
    size_t place = 0;
    const char *digit = text + 1;
    while (isdigit((unsigned char)*digit) && place <= sheet->trial.count)
        place = place * 10 + (size_t)(*digit++ - '0');
    if (*digit != '\0' && !isdigit((unsigned char)*digit))
        return pm_fail(err, PM_INVALID, "\"%s\" is no line: write # and its place, such as #3.",
                       text);
    if (place == 0 || place > sheet->trial.count)
        return pm_fail(err, PM_MISSING, "%s has no line %s: it has %zu.", sheet->name, text,
                       sheet->trial.count);
    *line = sheet->trial.lines[place - 1].id;
    return PM_OK;
}

enum match { NO_MATCH, BEGINS, EXACT };

static enum pm_status match_line(const struct pm_sheet_line *line, const char *wanted,
                                 enum match *out, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    char *name = pm_fold(line->name);
    char *title = pm_fold(line->title);
    *out = NO_MATCH;
    if (name == NULL || title == NULL)
        status = pm_fail_memory(err);
    else if (strcmp(name, wanted) == 0 || strcmp(title, wanted) == 0)
        *out = EXACT;
    else if (strncmp(title, wanted, strlen(wanted)) == 0)
        *out = BEGINS;
    pm_free(name);
    pm_free(title);
    return status;
}

static enum pm_status fail_no_line(const struct pm_sheet *sheet, const char *text,
                                   struct pm_error *err)
{
    struct pm_nearest nearest;
    char hint[PM_ERROR_TEXT];
    pm_nearest_init(&nearest, text);
    for (size_t i = 0; i < sheet->trial.count; i++)
        pm_nearest_offer(&nearest, sheet->lines[i].name, sheet->lines[i].title);
    if (text[0] != '\0' && text[strspn(text, "0123456789")] == '\0')
        pm_fail(err, PM_MISSING, "%s has no line called \"%s\"; by its number it is #%s.",
                sheet->name, text, text);
    else
        pm_fail(err, PM_MISSING, "%s has no line \"%s\"%s", sheet->name, text,
                pm_nearest_hint(&nearest, hint, sizeof hint));
    pm_nearest_release(&nearest);
    return PM_MISSING;
}

/* Names the places among which a person must choose: "#2 Vetiver at 10 %, #5 Vetiver". */
static enum pm_status fail_many(const struct pm_sheet *sheet, const char *text, enum match best,
                                const char *wanted, struct pm_error *err)
{
    struct pm_text places = PM_TEXT_EMPTY;
    char strength[PM_AMOUNT_TEXT];
    size_t count = 0;
    for (size_t i = 0; i < sheet->trial.count; i++) {
        const struct pm_sheet_line *line = &sheet->lines[i];
        enum match match;
        if (match_line(line, wanted, &match, err) != PM_OK)
            places.failed = true;
        else if (match != best)
            continue;
        if (++count > 6)
            continue;
        pm_text_addf(&places, "%s#%zu %s", count > 1 ? ", " : "", i + 1, line->title);
        if (line->solvent != NULL)
            pm_text_addf(&places, " at %s",
                         pm_strength_format(line->line->strength, '.', strength));
    }
    if (count > 6)
        pm_text_addf(&places, " and %zu more", count - 6);
    enum pm_status status =
        pm_text_ok(&places)
            ? pm_fail(err, PM_REFUSED, "\"%s\" %s %zu lines: %s; name one by its place.", text,
                      best == EXACT ? "stands in" : "begins", count, pm_text_get(&places))
            : pm_fail_memory(err);
    pm_text_release(&places);
    return status;
}

enum pm_status pm_sheet_find_line(const struct pm_sheet *sheet, const char *text, int64_t *line,
                                  struct pm_error *err)
{
    if (text[0] == '#')
        return find_place(sheet, text, line, err);
    char *wanted = pm_fold(text);
    if (wanted == NULL)
        return pm_fail_memory(err);
    size_t counts[3] = {0, 0, 0};
    int64_t ids[3] = {0, 0, 0};
    enum pm_status status = PM_OK;
    for (size_t i = 0; status == PM_OK && i < sheet->trial.count; i++) {
        enum match match;
        status = match_line(&sheet->lines[i], wanted, &match, err);
        ids[match] = sheet->trial.lines[i].id;
        counts[match]++;
    }
    enum match best = counts[EXACT] > 0 ? EXACT : counts[BEGINS] > 0 ? BEGINS : NO_MATCH;
    if (status == PM_OK && (best == NO_MATCH || wanted[0] == '\0'))
        status = fail_no_line(sheet, text, err);
    else if (status == PM_OK && counts[best] > 1)
        status = fail_many(sheet, text, best, wanted, err);
    else if (status == PM_OK)
        *line = ids[best];
    pm_free(wanted);
    return status;
}

/* ---- the flat view ---- */

static enum pm_status fill_flat(struct pm_studio *studio, const struct pm_flat *flat,
                                struct pm_flat_sheet *out, struct pm_error *err)
{
    out->total = flat->total;
    out->lines = pm_alloc_array(flat->count, sizeof *out->lines);
    out->names = pm_alloc_array(1, sizeof *out->names);
    if (out->lines == NULL || out->names == NULL)
        return pm_fail_memory(err);
    for (size_t i = 0; i < flat->count; i++) {
        const struct pm_flat_row *row = &flat->rows[i];
        struct pm_card *card;
        enum pm_status status =
            pm_sheet_names_material(studio, out->names, row->material, &card, err);
        if (status != PM_OK)
            return status;
        out->lines[i] = (struct pm_flat_line){.material = row->material,
                                              .name = card->name,
                                              .cas = card->cas,
                                              .is_solvent = card->is_solvent,
                                              .neat = row->neat,
                                              .as_solvent = row->as_solvent,
                                              .share = row->share};
        out->count++;
    }
    return PM_OK;
}

/* Nothing of it counts, and that not because a line was given nothing. */
static bool rests(const struct pm_trial *trial, const struct pm_flat_line *flat)
{
    if (flat->neat != 0 || flat->as_solvent != 0)
        return false;
    for (size_t i = 0; i < trial->count; i++) {
        const struct pm_line *line = &trial->lines[i];
        if (line->stance != PM_RESTING && line->kind == PM_LINE_MATERIAL &&
            (line->ref == flat->material || line->solvent == flat->material))
            return false;
    }
    return true;
}

static int by_share(const void *a, const void *b)
{
    const struct pm_flat_line *left = a, *right = b;
    if (left->is_solvent != right->is_solvent)
        return left->is_solvent ? 1 : -1;
    if (left->share != right->share)
        return left->share > right->share ? -1 : 1;
    return strcmp(left->name, right->name);
}

static enum pm_status flatten(struct pm_studio *studio, const struct pm_sheet *sheet,
                              struct pm_flat_sheet *out, struct pm_error *err)
{
    struct pm_accords accords = {studio, NULL};
    struct pm_trial_source source = pm_accords_source(&accords);
    struct pm_flat flat;
    enum pm_status status = pm_flatten(&sheet->trial, &source, &flat, err);
    if (status != PM_OK)
        return status;
    status = fill_flat(studio, &flat, out, err);
    pm_flat_release(&flat);
    for (size_t i = 0; i < out->count && status == PM_OK; i++)
        out->lines[i].resting = rests(&sheet->trial, &out->lines[i]);
    if (out->count > 1 && status == PM_OK)
        qsort(out->lines, out->count, sizeof *out->lines, by_share);
    return status;
}

enum pm_status pm_sheet_flatten(struct pm_studio *studio, const struct pm_sheet *sheet,
                                struct pm_flat_sheet *out, struct pm_error *err)
{
    struct pm_flat_sheet made = {NULL, 0, 0, NULL};
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_look_over(studio, flatten(studio, sheet, &made, err));
    if (status != PM_OK) {
        pm_flat_sheet_release(&made);
        return status;
    }
    *out = made;
    return PM_OK;
}

void pm_flat_sheet_release(struct pm_flat_sheet *flat)
{
    pm_sheet_names_free(flat->names);
    pm_free(flat->lines);
    *flat = (struct pm_flat_sheet){NULL, 0, 0, NULL};
}
