/* SPDX-License-Identifier: MIT */
/* The Trials room: the tree of trials and the details of one. */
#include "trials.h"

#include "permille/base/utf8.h"

#include <stdio.h>
#include <string.h>

#define LABEL    10 /* cells of the labels of details */
#define ROW_LIST 1
#define WORDS_FROM                                                                                 \
    37 /* cells for what changed, and as many for the note, in columns of their own */

enum { MARK, TREE, KEPT, WEIGHED, SMELLED, TAG, CHANGED, NOTE, COLUMNS };

/* "├─┬ 2", "└ draft" */
static void write_tree(const struct trials *trials, const struct pm_trial_entry *entry,
                       struct pm_text *out)
{
    pm_trial_tree(entry, trials->house->utf8, out);
    if (entry->row.number > 0)
        pm_text_addf(out, " %lld", (long long)entry->row.number);
    else
        pm_text_add(out, " draft");
}

/* What changed. Where the note has no column of its own, the person's words come first: what
 * changed can be worked out again, and is told below the list. */
static void write_changed(struct trials *trials, size_t place, struct pm_text *out)
{
    const struct pm_trial_entry *entry = &trials->entries.items[place];
    const char *changed = entry->changed;
    if (!trials->wide && entry->row.note != NULL)
        changed = entry->row.note;
    pm_text_addf(out, "%s%s", entry->row.set_aside ? "(set aside) " : "",
                 changed != NULL ? changed : "");
}

static enum pm_role list_cell(void *context, size_t row, size_t column, struct pm_text *out)
{
    struct trials *trials = context;
    const struct pm_trial_entry *entry = &trials->entries.items[row];
    char date[PM_TIME_TEXT];
    size_t marked = trials_marked(trials, entry->row.id);
    switch (column) {
    case MARK:
        if (marked)
            pm_text_addf(out, "%zu", marked);
        return PM_ROLE_HEADING;
    case TREE:
        write_tree(trials, entry, out);
        break;
    case KEPT:
        pm_text_add(out, entry->row.number > 0 ? pm_time_date(entry->row.kept_at, date) : "");
        break;
    case WEIGHED:
        pm_text_add(out, entry->batches == 0 ? "" : trials->wide ? "weighed" : "w");
        break;
    case SMELLED:
        pm_text_add(out, entry->smells == 0 ? "" : trials->wide ? "smelled" : "s");
        break;
    case TAG:
        pm_text_add(out, entry->row.label != NULL ? entry->row.label : "");
        return PM_ROLE_HEADING;
    case CHANGED:
        write_changed(trials, row, out);
        break;
    default:
        pm_text_add(out, entry->row.note != NULL ? entry->row.note : "");
        return PM_ROLE_FAINT;
    }
    return entry->row.set_aside ? PM_ROLE_FAINT : PM_ROLE_NORMAL;
}

struct pm_table trials_table(struct trials *trials)
{
    return (struct pm_table){
        .rows = trials->entries.count, .context = trials, .cell = list_cell, .at = TREE};
}

static void describe_columns(struct pm_column columns[COLUMNS], int cells, bool wide)
{
    const struct pm_column all[COLUMNS] = {
        [MARK] = {.heading = "", .wish = 1},
        [TREE] = {.heading = "trial", .measured = true, .gap = 1},
        [KEPT] = {.heading = "kept", .wish = 10},
        [WEIGHED] = {.heading = wide ? "weighed" : "w", .wish = wide ? 7 : 1},
        [SMELLED] = {.heading = wide ? "smelled" : "s", .wish = wide ? 7 : 1, .gap = wide ? 2 : 1},
        [TAG] = {.heading = "label", .measured = true, .optional = true, .most = cells / 5},
        [CHANGED] = {.heading = wide ? "what changed" : "note, or what changed",
                     .wish = wide ? WORDS_FROM : 1,
                     .grows = true},
        [NOTE] = {.heading = "note", .wish = WORDS_FROM, .grows = true, .rank = 1, .hidden = !wide},
    };
    memcpy(columns, all, sizeof all);
}

static void draw_list(struct trials *trials, const struct pm_pane *pane, int covered)
{
    const struct pm_pane part =
        pm_pane_part(pane, ROW_LIST, 0, pane->rows - ROW_LIST, pane->columns);
    struct pm_column columns[COLUMNS];
    struct pm_table table = trials_table(trials);
    table.columns = columns;
    table.column_count = COLUMNS;
    table.covered = covered;
    describe_columns(columns, pane->columns, true);
    pm_table_lay_out(&table, &trials->list, pane->columns);
    trials->wide = trials->list.spans[NOTE].cells > 0;
    if (!trials->wide)
        describe_columns(columns, pane->columns, false);
    pm_table_draw(&table, &trials->list, &part);
}

static void draw_nothing(const struct trials *trials, const struct pm_pane *pane)
{
    if (trials->name == NULL) {
        pm_formulas_invite(trials->app, pane, 1);
        return;
    }
    pm_pane_put(pane, 1, 2, PM_ROLE_NORMAL, "No trial of this formula is kept yet.");
    pm_app_invite(trials->app, pane, 3, "keep", "keeps the draft as a trial, sealed, with a note");
    pm_pane_cursor(pane, 3, 2);
}

/* ---- above the tree ---- */

static void write_state(const struct trials *trials, struct pm_text *out)
{
    char key[PM_KEY_TEXT];
    const struct pm_keymap *keys = pm_app_keymap(trials->app);
    if (trials->pick_count > 0) {
        if (trials->pick_count > 1)
            pm_text_addf(out, "%s shows side by side: ",
                         pm_keymap_key(keys, "side-by-side", PM_MODE_SHEET, key));
        else
            pm_text_add(out, "Marked: ");
        for (size_t i = 0; i < trials->pick_count; i++)
            pm_text_addf(out, "%s%s%s", i ? ", " : "", trials->picks[i].title,
                         trials->picks[i].kept ? "" : " draft");
        return;
    }
    pm_text_addf(out, "%zu kept trial%s", trials->kept, trials->kept == 1 ? "" : "s");
    if (trials->entries.draft_parent > 0)
        pm_text_addf(out, DOT "the draft goes on from trial %lld",
                     (long long)trials->entries.draft_parent);
    if (trials->entries.out_of_sight > 0)
        pm_text_addf(out, DOT "%zu set aside, %s shows", trials->entries.out_of_sight,
                     pm_keymap_key(keys, "show-aside", PM_MODE_SHEET, key));
}

/* ---- details ---- */

void trials_used(const struct pm_trial_entry *entry, struct pm_text *out)
{
    const int64_t counts[] = {entry->batches, entry->smells};
    static const char *const words[] = {"weighed", "smelled"};
    for (size_t i = 0; i < 2; i++) {
        const char *between = i ? ", " : "";
        if (counts[i] == 0)
            pm_text_addf(out, "%snot %s yet", between, words[i]);
        else if (counts[i] == 1)
            pm_text_addf(out, "%s%s once", between, words[i]);
        else
            pm_text_addf(out, "%s%s %lld times", between, words[i], (long long)counts[i]);
    }
}

static int fact(const struct pm_pane *pane, int row, const char *label, const char *text)
{
    return pm_pane_fact(pane, row, LABEL, label, PM_ROLE_NORMAL, text);
}

static int draw_dates(const struct trials *trials, const struct pm_pane *pane, int row,
                      const struct pm_trial_entry *entry)
{
    char text[PM_AMOUNT_TEXT * 2];
    if (entry->row.number > 0)
        row = fact(pane, row, "kept", pm_time_format(entry->row.kept_at, text));
    if (entry->parent_number > 0) {
        snprintf(text, sizeof text, "trial %lld", (long long)entry->parent_number);
        row = fact(pane, row, "from", text);
    }
    row = fact(pane, row, "label", entry->row.label);
    if (entry->row.set_aside)
        row = fact(pane, row, "aside", "out of sight, never deleted");
    snprintf(text, sizeof text, "%zu", entry->row.lines);
    row = fact(pane, row, "lines", text);
    return fact(pane, row, "total",
                pm_decimal_exact(entry->row.total, 6, trials->house->sign, text));
}

static void draw_details(struct trials *trials, const struct pm_pane *pane)
{
    const struct pm_trial_entry *entry = trials_selected(trials);
    struct pm_text text = PM_TEXT_EMPTY;
    if (entry == NULL || pane->columns < 20)
        return;
    trials_title(trials, entry, &text);
    pm_pane_put_left(pane, 0, 0, pane->columns, PM_ROLE_HEADING, pm_text_get(&text));
    int row = draw_dates(trials, pane, 1, entry);
    if (entry->row.number > 0) {
        pm_text_clear(&text);
        trials_used(entry, &text);
        row = fact(pane, row, "used", pm_text_get(&text));
    }
    pm_text_release(&text);
    row = fact(pane, row + 1, "note", entry->row.note);
    fact(pane, row + 1, "changed", entry->changed);
}

void trials_paint(struct trials *trials, const struct pm_canvas *canvas)
{
    struct pm_text state = PM_TEXT_EMPTY;
    if (trials->name != NULL)
        pm_pane_put_left(&canvas->heading, 0, 0, canvas->heading.columns, PM_ROLE_HEADING,
                         trials->name);
    if (trials->kept == 0 && trials->entries.out_of_sight == 0 && trials->pick_count == 0) {
        draw_nothing(trials, &canvas->sheet);
        return;
    }
    write_state(trials, &state);
    pm_pane_put_left(&canvas->sheet, 0, 0, canvas->sheet.columns, PM_ROLE_NORMAL,
                     pm_text_get(&state));
    pm_text_release(&state);
    draw_list(trials, &canvas->sheet, canvas->covered);
    draw_details(trials, &canvas->details);
}
