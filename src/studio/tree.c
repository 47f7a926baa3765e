/* SPDX-License-Identifier: MIT */
/*
 * The trials of a formula as a list and as a tree, and what changed in each.
 */
#include "inside.h"

#include "permille/base/mem.h"
#include "permille/store/bottles.h"
#include "permille/store/smells.h"
#include "permille/studio/trials.h"

#include <string.h>

/* ---- reading ---- */

static struct pm_trial_entry *add_entry(struct pm_trial_entries *entries,
                                        const struct pm_trial_row *row)
{
    struct pm_trial_entry *entry = pm_list_add(entries);
    if (entry != NULL)
        entry->row = *row;
    return entry;
}

/* The kept trials; number of the one the draft goes on from; the draft itself when it is wanted. */
static enum pm_status read_rows(struct pm_studio *studio, int64_t formula, bool draft_too,
                                struct pm_trial_entries *out, struct pm_error *err)
{
    struct pm_trial_rows kept;
    struct pm_trial_row draft;
    int64_t id;
    enum pm_status status = pm_trial_list(studio->library, formula, &kept, err);
    if (status != PM_OK)
        return status;
    out->arena = kept.arena; /* the strings are in it */
    for (size_t i = 0; i < kept.count; i++)
        add_entry(out, &kept.items[i]);
    status = pm_trial_by_number(studio->library, formula, 0, &id, err);
    if (status == PM_OK)
        status = pm_trial_row_get(studio->library, id, &out->arena, &draft, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < kept.count; i++)
        if (kept.items[i].id == draft.parent)
            out->draft_parent = kept.items[i].number;
    if (draft_too)
        add_entry(out, &draft);
    return pm_arena_status(&out->arena, err);
}

/* ---- the tree ---- */

/* Children of each entry as linked places. Entries stand by number, the draft last, so a parent
 * always stands before its children. */
struct tree {
    const struct pm_trial_entries *entries;
    size_t *parent, *first, *next; /* places; count stands for none (and for the root's parent) */
    size_t count;
};

static void tree_release(struct tree *tree)
{
    pm_free(tree->parent);
    pm_free(tree->first);
    pm_free(tree->next);
}

/* Finds entries by trial id. */
static bool map_entries(const struct pm_trial_entries *entries, struct pm_map *map)
{
    *map = (struct pm_map){0};
    for (size_t i = 0; i < entries->count; i++)
        if (!pm_map_put(map, entries->items[i].row.id, &entries->items[i]))
            return false;
    return true;
}

/* Place of the parent of the entry at `place`; count when it is of another formula, or when a
 * damaged file says that it is younger. */
static size_t parent_of(const struct pm_trial_entries *entries, const struct pm_map *map,
                        size_t place)
{
    const struct pm_trial_entry *found = pm_map_get(map, entries->items[place].row.parent);
    size_t parent = found != NULL ? (size_t)(found - entries->items) : entries->count;
    return parent < place ? parent : entries->count;
}

static void tree_link(struct tree *tree, size_t child)
{
    size_t parent = tree->parent[child];
    tree->next[child] = tree->first[parent];
    tree->first[parent] = child;
}

/* What leads to the draft is linked first and so comes last among its siblings. */
static void tree_link_all(struct tree *tree, bool *linked)
{
    size_t n = tree->count, on_way = n;
    for (size_t i = 0; i < n; i++)
        if (tree->entries->items[i].row.number == 0 ||
            tree->entries->items[i].row.number == tree->entries->draft_parent)
            on_way = i;
    for (; on_way < n; on_way = tree->parent[on_way]) {
        tree_link(tree, on_way);
        linked[on_way] = true;
    }
    /* From the youngest, so that each list of children ends up in the order of their numbers. */
    for (size_t i = n; i-- > 0;)
        if (!linked[i])
            tree_link(tree, i);
}

static bool tree_build(struct tree *tree, const struct pm_trial_entries *entries)
{
    size_t n = entries->count;
    struct pm_map map;
    bool *linked = pm_alloc_array(n + 1, sizeof *linked);
    *tree = (struct tree){entries, pm_alloc_array(n + 1, sizeof(size_t)),
                          pm_alloc_array(n + 1, sizeof(size_t)),
                          pm_alloc_array(n + 1, sizeof(size_t)), n};
    bool mapped = map_entries(entries, &map);
    bool done = mapped && linked != NULL && tree->parent != NULL && tree->first != NULL &&
                tree->next != NULL;
    for (size_t i = 0; done && i <= n; i++) {
        tree->first[i] = n;
        tree->parent[i] = i < n ? parent_of(entries, &map, i) : n;
    }
    if (done)
        tree_link_all(tree, linked);
    pm_map_release(&map);
    pm_free(linked);
    return done;
}

static void mark_lanes(const struct tree *tree, struct pm_trial_entries *entries)
{
    for (size_t i = 0; i < tree->count; i++) {
        struct pm_trial_entry *entry = &entries->items[i];
        size_t parent = tree->parent[i];
        bool root = parent == tree->count, main = tree->next[i] == tree->count;
        entry->parent_number = root ? 0 : entries->items[parent].row.number;
        entry->lane = root ? 0 : entries->items[parent].lane + !main;
        entry->starts = root || !main;
        entry->ends = tree->first[i] == tree->count;
    }
}

/* Children below their parents, without recursion: the tree may be one long line. */
static bool order_as_tree(const struct tree *tree, struct pm_trial_entries *entries)
{
    size_t n = tree->count, done = 0;
    struct pm_trial_entry *ordered = pm_alloc_array(n + 1, sizeof *ordered);
    if (ordered == NULL)
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
    memcpy(entries->items, ordered, done * sizeof *ordered);
    pm_free(ordered);
    return true;
}

/* A set-aside trial stays where something in sight was started from it: the tree keeps its shape.
 */
static bool drop_out_of_sight(struct pm_trial_entries *entries)
{
    size_t n = entries->count, left = 0;
    struct pm_map map;
    bool *needed = pm_alloc_array(n + 1, sizeof *needed);
    if (!map_entries(entries, &map) || needed == NULL) {
        pm_map_release(&map);
        pm_free(needed);
        return false;
    }
    for (size_t i = n; i-- > 0;) {
        needed[i] = needed[i] || !entries->items[i].row.set_aside;
        if (needed[i])
            needed[parent_of(entries, &map, i)] = true;
    }
    for (size_t i = 0; i < n; i++)
        if (needed[i])
            entries->items[left++] = entries->items[i];
    entries->count = left;
    entries->out_of_sight = n - left;
    pm_map_release(&map);
    pm_free(needed);
    return true;
}

static bool arrange(struct pm_trial_entries *entries, bool as_tree)
{
    struct tree tree;
    bool done = tree_build(&tree, entries);
    if (done)
        mark_lanes(&tree, entries);
    done = done && (!as_tree || order_as_tree(&tree, entries));
    tree_release(&tree);
    return done;
}

#define LANES_DRAWN 10

void pm_trial_tree(const struct pm_trial_entry *entry, bool utf8, struct pm_text *out)
{
    static const char *const lines[2][7] = {
        {"| ", "+-", "-", ".", "+", "'", "~ "},
        {"\u2502 ", "\u251c\u2500", "\u2500", "\u250c", "\u251c", "\u2514", "\u2026 "}};
    enum { PASSING, BRANCH, ALONE, START, GOING_ON, END, CUT };
    const char *const *draw = lines[utf8];
    int lane = entry->lane;
    if (lane > LANES_DRAWN) {
        pm_text_add(out, draw[CUT]);
        lane = LANES_DRAWN;
    }
    for (int i = 1; i <= lane; i++)
        pm_text_add(out, draw[i == lane && entry->starts ? BRANCH : PASSING]);
    if (!entry->starts)
        pm_text_add(out, draw[entry->ends ? END : GOING_ON]);
    else if (entry->ends)
        pm_text_add(out, draw[ALONE]);
    else
        pm_text_add(out, utf8 && lane > 0 ? "\u252c" : draw[START]);
}

/* ---- what changed ---- */

/* Against the trial it was started from; leaves out empty when there is none. */
static enum pm_status say_changed(struct pm_studio *studio, const struct pm_trial *trial,
                                  struct pm_text *out, struct pm_error *err)
{
    struct pm_kept *parent;
    if (trial->parent == 0)
        return PM_OK;
    enum pm_status status = pm_studio_kept(studio, trial->parent, true, &parent, err);
    if (status == PM_OK)
        status = pm_say_difference(studio, &parent->trial, trial, 3, out, err);
    return status;
}

/* The sentence a kept trial remembers; names in it may have changed since it was made. */
static enum pm_status remember(struct pm_studio *studio, struct pm_kept *kept, struct pm_error *err)
{
    struct pm_text text = PM_TEXT_EMPTY;
    if (kept->changed != NULL && kept->changed_names == studio->names)
        return PM_OK;
    enum pm_status status = say_changed(studio, &kept->trial, &text, err);
    char *made = status == PM_OK ? pm_text_take(&text) : NULL;
    pm_text_release(&text);
    if (status != PM_OK)
        return status;
    if (made == NULL)
        return pm_fail_memory(err);
    pm_free(kept->changed);
    kept->changed = made;
    kept->changed_names = studio->names;
    return PM_OK;
}

static enum pm_status kept_changed(struct pm_studio *studio, int64_t trial, struct pm_text *out,
                                   struct pm_error *err)
{
    struct pm_kept *kept;
    enum pm_status status = pm_studio_kept(studio, trial, true, &kept, err);
    if (status == PM_OK)
        status = remember(studio, kept, err);
    if (status == PM_OK)
        pm_text_add(out, kept->changed);
    return status;
}

static enum pm_status draft_changed(struct pm_studio *studio, int64_t draft, struct pm_text *out,
                                    struct pm_error *err)
{
    struct pm_trial content;
    enum pm_status status = pm_trial_load(studio->library, draft, &content, err);
    if (status != PM_OK)
        return status;
    status = say_changed(studio, &content, out, err);
    pm_trial_release(&content);
    return status;
}

/* Appends; nothing when there is none. */
static enum pm_status changed_of(struct pm_studio *studio, int64_t trial, int64_t number,
                                 struct pm_text *out, struct pm_error *err)
{
    enum pm_status status = number == 0 ? draft_changed(studio, trial, out, err)
                                        : kept_changed(studio, trial, out, err);
    return status == PM_OK && !pm_text_ok(out) ? pm_fail_memory(err) : status;
}

static enum pm_status read_changed(struct pm_studio *studio, int64_t trial, struct pm_text *out,
                                   struct pm_error *err)
{
    struct pm_trial_row row;
    enum pm_status status = pm_trial_row_get(studio->library, trial, NULL, &row, err);
    return status == PM_OK ? changed_of(studio, trial, row.number, out, err) : status;
}

/* Keeps what was appended; NULL where nothing was. */
static enum pm_status keep_changed(const struct pm_text *text, struct pm_arena *arena,
                                   const char **out, struct pm_error *err)
{
    *out = text->length > 0 ? pm_arena_text(arena, pm_text_get(text)) : NULL;
    return pm_arena_status(arena, err);
}

enum pm_status pm_trial_changed(struct pm_studio *studio, int64_t trial, struct pm_arena *arena,
                                const char **out, struct pm_error *err)
{
    struct pm_text text = PM_TEXT_EMPTY;
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status == PM_OK)
        status = pm_look_over(studio, read_changed(studio, trial, &text, err));
    if (status == PM_OK)
        status = keep_changed(&text, arena, out, err);
    pm_text_release(&text);
    return status;
}

/* ---- the list ---- */

static struct pm_trial_entry *entry_of(struct pm_trial_entries *entries, int64_t trial)
{
    for (size_t i = 0; i < entries->count; i++)
        if (entries->items[i].row.id == trial)
            return &entries->items[i];
    return NULL; /* out of sight */
}

static enum pm_status count_smells(struct pm_studio *studio, int64_t formula,
                                   struct pm_trial_entries *entries, struct pm_error *err)
{
    struct pm_trial_counts counts;
    enum pm_status status = pm_smell_counts(studio->library, formula, &counts, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < counts.count; i++) {
        struct pm_trial_entry *entry = entry_of(entries, counts.items[i].trial);
        if (entry != NULL)
            entry->smells = counts.items[i].count;
    }
    pm_list_release(&counts);
    return PM_OK;
}

static enum pm_status count_weighed(struct pm_studio *studio, int64_t formula,
                                    struct pm_trial_entries *entries, struct pm_error *err)
{
    struct pm_trial_counts counts;
    enum pm_status status = pm_weighed_counts(studio->library, formula, &counts, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < counts.count; i++) {
        struct pm_trial_entry *entry = entry_of(entries, counts.items[i].trial);
        if (entry != NULL)
            entry->batches = counts.items[i].count;
    }
    pm_list_release(&counts);
    return PM_OK;
}

static enum pm_status say_changes(struct pm_studio *studio, struct pm_trial_entries *entries,
                                  struct pm_error *err)
{
    struct pm_text text = PM_TEXT_EMPTY;
    enum pm_status status = PM_OK;
    for (size_t i = 0; status == PM_OK && i < entries->count; i++) {
        struct pm_trial_entry *entry = &entries->items[i];
        pm_text_clear(&text);
        status = changed_of(studio, entry->row.id, entry->row.number, &text, err);
        if (status == PM_OK)
            status = keep_changed(&text, &entries->arena, &entry->changed, err);
    }
    pm_text_release(&text);
    return status;
}

static enum pm_status list(struct pm_studio *studio, int64_t formula, unsigned want,
                           struct pm_trial_entries *entries, struct pm_error *err)
{
    enum pm_status status = read_rows(studio, formula, want & PM_TRIALS_DRAFT, entries, err);
    if (status == PM_OK && (want & PM_TRIALS_IN_SIGHT) && !drop_out_of_sight(entries))
        status = pm_fail_memory(err);
    if (status == PM_OK && !arrange(entries, want & PM_TRIALS_TREE))
        status = pm_fail_memory(err);
    if (status == PM_OK)
        status = count_smells(studio, formula, entries, err);
    if (status == PM_OK)
        status = count_weighed(studio, formula, entries, err);
    if (status == PM_OK && (want & PM_TRIALS_CHANGED))
        status = say_changes(studio, entries, err);
    return status;
}

enum pm_status pm_trials_list(struct pm_studio *studio, int64_t formula, unsigned want,
                              struct pm_trial_entries *out, struct pm_error *err)
{
    struct pm_trial_entries entries = {0};
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status == PM_OK)
        status = pm_look_over(studio, list(studio, formula, want, &entries, err));
    pm_list_give(&entries, status, out);
    return status;
}
