/* SPDX-License-Identifier: MIT */
/*
 * Kept trials: sealing the draft, the list and its tree, labels.
 */
#include "inside.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/studio/trials.h"

#include <string.h>

#define NOTE_BYTES 65536

/* ---- keeping ---- */

/* Whether two trials say the same to a perfumer: ids and where they come from do not count. */
static bool same_content(const struct pm_trial *a, const struct pm_trial *b)
{
    if (a->base != b->base || a->mode != b->mode || a->count != b->count)
        return false;
    for (size_t i = 0; i < a->count; i++) {
        const struct pm_line *x = &a->lines[i], *y = &b->lines[i];
        if (x->kind != y->kind || x->ref != y->ref || x->strength != y->strength ||
            x->solvent != y->solvent || x->parts != y->parts || x->stance != y->stance ||
            x->core != y->core || x->weight != y->weight ||
            strcmp(x->comment ? x->comment : "", y->comment ? y->comment : "") != 0)
            return false;
    }
    return true;
}

static enum pm_status fail_unsettled(const struct pm_sheet *sheet, struct pm_error *err)
{
    struct pm_text text = PM_TEXT_EMPTY;
    pm_text_addf(&text, "%s is ", sheet->name);
    pm_say_amount(&text, sheet->off < 0 ? -sheet->off : sheet->off, 6, 0);
    pm_text_addf(&text, " parts %s its base of ", sheet->off < 0 ? "short of" : "over");
    pm_say_amount(&text, sheet->trial.base, 6, 0);
    pm_text_add(&text, ": fill it or settle it before it is kept.");
    enum pm_status status = pm_fail(err, PM_REFUSED, "%s", pm_text_get(&text));
    pm_text_release(&text);
    return status;
}

static enum pm_status check_keep(struct pm_studio *studio, const struct pm_sheet *sheet,
                                 struct pm_error *err)
{
    enum pm_status status = pm_sheet_editable(sheet, err);
    if (status != PM_OK)
        return status;
    if (sheet->trial.count == 0 || sheet->total == 0)
        return pm_fail(err, PM_REFUSED, "%s is empty: there is nothing to keep.", sheet->name);
    if (sheet->trial.mode != PM_OPEN && (!sheet->trial.settled || sheet->off != 0))
        return fail_unsettled(sheet, err);
    if (sheet->parent_number == 0)
        return PM_OK;
    struct pm_kept *parent;
    status = pm_studio_kept(studio, sheet->trial.parent, true, &parent, err);
    if (status == PM_OK && same_content(&parent->trial, &sheet->trial))
        status = pm_fail(err, PM_REFUSED, "Nothing has changed since %s/%lld was kept.",
                         sheet->name, (long long)sheet->parent_number);
    return status;
}

/* Inside the caller's transaction, so that the number in the sentence is the number given. */
static enum pm_status keep_numbered(struct pm_studio *studio, const struct pm_sheet *sheet,
                                    const char *note, int64_t *number, struct pm_error *err)
{
    struct pm_formula row;
    struct pm_text text = PM_TEXT_EMPTY;
    enum pm_status status = pm_formula_get(studio->library, sheet->formula, &row, err);
    if (status != PM_OK)
        return status;
    pm_text_addf(&text, "Kept as %s/%lld", row.name, (long long)row.kept + 1);
    pm_formula_release(&row);
    status = pm_text_ok(&text) ? pm_draft_keep(studio->library, sheet->trial_id, sheet->revision,
                                               note, pm_text_get(&text), number, err)
                               : pm_fail_memory(err);
    pm_text_release(&text);
    return status;
}

enum pm_status pm_trial_keep(struct pm_studio *studio, const struct pm_sheet *sheet,
                             const char *note, int64_t *number, struct pm_error *err)
{
    pm_studio_refresh(studio);
    char *clean = NULL;
    int64_t given = 0;
    enum pm_status status = check_keep(studio, sheet, err);
    if (status == PM_OK && note && note[0] != '\0')
        status = pm_note_clean(note, "The note", NOTE_BYTES, &clean, err);
    if (status == PM_OK)
        status = pm_library_begin(studio->library, err);
    if (status != PM_OK) {
        pm_free(clean);
        return status;
    }
    status = keep_numbered(studio, sheet, clean, &given, err);
    pm_free(clean);
    if (status != PM_OK) {
        pm_library_abort(studio->library);
        return status;
    }
    status = pm_library_commit(studio->library, err);
    if (status != PM_OK)
        return status;
    pm_studio_forget_formula(studio, sheet->formula);
    if (number)
        *number = given;
    return PM_OK;
}

/* ---- the list ---- */

struct gather {
    struct pm_trial_entries *entries;
    int64_t *parents; /* trial id each was started from, beside the entries */
    size_t capacity, parent_capacity;
    bool failed;
};

static bool gather_one(void *context, const struct pm_trial_row *row)
{
    struct gather *gather = context;
    struct pm_trial_entries *entries = gather->entries;
    void *items = entries->items, *parents = gather->parents;
    bool room = pm_grow(&items, &gather->capacity, entries->count + 1, sizeof *entries->items);
    entries->items = items;
    room = room &&
           pm_grow(&parents, &gather->parent_capacity, entries->count + 1, sizeof *gather->parents);
    gather->parents = parents;
    char *note = pm_strdup(row->note), *label = pm_strdup(row->label);
    if (!room || (row->note && !note) || (row->label && !label)) {
        pm_free(note);
        pm_free(label);
        gather->failed = true;
        return false;
    }
    gather->parents[entries->count] = row->parent;
    entries->items[entries->count++] = (struct pm_trial_entry){.id = row->id,
                                                               .number = row->number,
                                                               .kept_at = row->kept_at,
                                                               .note = note,
                                                               .label = label,
                                                               .set_aside = row->set_aside,
                                                               .lines = row->lines,
                                                               .base = row->base,
                                                               .total = row->total};
    return true;
}

/* Index of a trial among the entries, which stand by number; count when it is of another formula.
 */
static size_t index_of(const struct pm_trial_entries *entries, int64_t trial)
{
    size_t i = 0;
    while (i < entries->count && entries->items[i].id != trial)
        i++;
    return i;
}

static enum pm_status say_changes(struct pm_studio *studio, struct pm_trial_entries *entries,
                                  const int64_t *parents, struct pm_error *err)
{
    for (size_t i = 0; i < entries->count; i++) {
        struct pm_kept *kept, *parent;
        struct pm_text text = PM_TEXT_EMPTY;
        if (entries->items[i].parent_number == 0)
            continue;
        enum pm_status status = pm_studio_kept(studio, entries->items[i].id, true, &kept, err);
        if (status == PM_OK)
            status = pm_studio_kept(studio, parents[i], true, &parent, err);
        if (status == PM_OK)
            status = pm_say_difference(studio, &parent->trial, &kept->trial, 3, &text, err);
        if (status == PM_OK) {
            entries->items[i].changed = pm_text_take(&text);
            if (!entries->items[i].changed)
                status = pm_fail_memory(err);
        }
        pm_text_release(&text);
        if (status != PM_OK)
            return status;
    }
    return PM_OK;
}

/* ---- the tree ---- */

/* Children of each entry as linked places: a trial's parent always has a smaller number. */
struct tree {
    size_t *parent, *first, *next; /* places; count stands for none (and for the root's parent) */
    size_t count;
};

static void tree_release(struct tree *tree)
{
    pm_free(tree->parent);
    pm_free(tree->first);
    pm_free(tree->next);
}

static bool tree_build(struct tree *tree, const struct pm_trial_entries *entries,
                       const int64_t *parents)
{
    size_t n = entries->count;
    *tree =
        (struct tree){pm_alloc_array(n + 1, sizeof(size_t)), pm_alloc_array(n + 1, sizeof(size_t)),
                      pm_alloc_array(n + 1, sizeof(size_t)), n};
    if (!tree->parent || !tree->first || !tree->next)
        return false;
    for (size_t i = 0; i <= n; i++)
        tree->first[i] = n;
    /* From the youngest, so that each list of children ends up in the order of their numbers. */
    for (size_t i = n; i-- > 0;) {
        size_t parent = parents[i] ? index_of(entries, parents[i]) : n;
        if (parent >= i)
            parent = n;
        tree->parent[i] = parent;
        tree->next[i] = tree->first[parent];
        tree->first[parent] = i;
    }
    return true;
}

static void mark_depths(const struct tree *tree, struct pm_trial_entries *entries)
{
    for (size_t i = 0; i < tree->count; i++) {
        size_t parent = tree->parent[i];
        bool root = parent == tree->count;
        entries->items[i].depth = root ? 0 : entries->items[parent].depth + 1;
        entries->items[i].parent_number = root ? 0 : entries->items[parent].number;
        entries->items[i].open_below = tree->next[i] != tree->count;
    }
}

/* Children below their parents, without recursion: the tree may be one long line. */
static bool order_as_tree(const struct tree *tree, struct pm_trial_entries *entries)
{
    size_t n = tree->count, done = 0;
    struct pm_trial_entry *ordered = pm_alloc_array(n, sizeof *ordered);
    if (!ordered)
        return false;
    for (size_t i = tree->first[n]; i != n;) {
        ordered[done++] = entries->items[i];
        if (tree->first[i] != n) {
            i = tree->first[i];
            continue;
        }
        while (i != n && tree->next[i] == n)
            i = tree->parent[i];
        if (i != n)
            i = tree->next[i];
    }
    pm_free(entries->items);
    entries->items = ordered;
    return true;
}

static enum pm_status arrange(struct pm_studio *studio, struct gather *gather, bool as_tree,
                              struct pm_error *err)
{
    struct tree tree;
    struct pm_trial_entries *entries = gather->entries;
    enum pm_status status = PM_OK;
    if (!tree_build(&tree, entries, gather->parents))
        status = pm_fail_memory(err);
    if (status == PM_OK) {
        mark_depths(&tree, entries);
        status = say_changes(studio, entries, gather->parents, err);
    }
    if (status == PM_OK && as_tree && !order_as_tree(&tree, entries))
        status = pm_fail_memory(err);
    tree_release(&tree);
    return status;
}

static enum pm_status draft_parent(struct pm_studio *studio, int64_t formula, int64_t *number,
                                   struct pm_error *err)
{
    struct pm_trial_row row;
    struct pm_kept *kept;
    int64_t draft;
    *number = 0;
    enum pm_status status = pm_trial_by_number(studio->library, formula, 0, &draft, err);
    if (status == PM_OK)
        status = pm_trial_row_get(studio->library, draft, &row, err);
    if (status != PM_OK)
        return status;
    if (row.parent != 0) {
        status = pm_studio_kept(studio, row.parent, false, &kept, err);
        if (status == PM_OK && kept->formula == formula)
            *number = kept->number;
    }
    pm_trial_row_release(&row);
    return status;
}

enum pm_status pm_trials_list(struct pm_studio *studio, int64_t formula, bool as_tree,
                              struct pm_trial_entries *out, struct pm_error *err)
{
    pm_studio_refresh(studio);
    struct pm_trial_entries entries = {NULL, 0, 0};
    struct gather gather = {&entries, NULL, 0, 0, false};
    enum pm_status status = pm_library_begin_read(studio->library, err);
    if (status != PM_OK)
        return status;
    status = pm_trial_list(studio->library, formula, gather_one, &gather, err);
    if (status == PM_OK && gather.failed)
        status = pm_fail_memory(err);
    if (status == PM_OK)
        status = arrange(studio, &gather, as_tree, err);
    if (status == PM_OK)
        status = draft_parent(studio, formula, &entries.draft_parent, err);
    pm_library_end_read(studio->library);
    pm_free(gather.parents);
    if (status != PM_OK) {
        pm_trial_entries_release(&entries);
        return status;
    }
    *out = entries;
    return PM_OK;
}

void pm_trial_entries_release(struct pm_trial_entries *entries)
{
    for (size_t i = 0; i < entries->count; i++) {
        pm_free(entries->items[i].note);
        pm_free(entries->items[i].label);
        pm_free(entries->items[i].changed);
    }
    pm_free(entries->items);
    *entries = (struct pm_trial_entries){NULL, 0, 0};
}

/* ---- labels ---- */

/* Reads the newest marks, lets one differ, writes a new row. NULL leaves a mark. */
static enum pm_status mark(struct pm_studio *studio, int64_t trial, const char *label,
                           const bool *aside, struct pm_error *err)
{
    struct pm_trial_row row;
    enum pm_status status = pm_library_begin(studio->library, err);
    if (status != PM_OK)
        return status;
    status = pm_trial_row_get(studio->library, trial, &row, err);
    if (status == PM_OK) {
        const char *text = label ? (label[0] ? label : NULL) : row.label;
        if (row.number == 0)
            status = pm_fail(err, PM_REFUSED, "Only kept trials can be labelled or set aside.");
        else
            status =
                pm_trial_mark(studio->library, trial, text, aside ? *aside : row.set_aside, err);
        pm_trial_row_release(&row);
    }
    if (status != PM_OK) {
        pm_library_abort(studio->library);
        return status;
    }
    return pm_library_commit(studio->library, err);
}

enum pm_status pm_trial_set_label(struct pm_studio *studio, int64_t trial, const char *label,
                                  struct pm_error *err)
{
    pm_studio_refresh(studio);
    char *clean = NULL;
    enum pm_status status = PM_OK;
    if (label && label[0] != '\0')
        status = pm_name_clean(label, "The label", &clean, err);
    if (status == PM_OK)
        status = mark(studio, trial, clean ? clean : label, NULL, err);
    pm_free(clean);
    return status;
}

enum pm_status pm_trial_set_aside(struct pm_studio *studio, int64_t trial, bool aside,
                                  struct pm_error *err)
{
    pm_studio_refresh(studio);
    return mark(studio, trial, NULL, &aside, err);
}
