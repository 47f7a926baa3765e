/* SPDX-License-Identifier: MIT */
/* The Trials room: the tree of trials and the details of one. */
#include "trials.h"

#include "kit/list.h"

#include "permille/base/utf8.h"

#include <stdio.h>
#include <string.h>

#define LABEL        10 /* cells of the labels of details */
#define ROW_HEADINGS 1
#define ROW_LIST     2
#define TREE_AT      4
#define DATE_CELLS   10
#define USED_SHORT   3  /* "w s" */
#define USED_LONG    16 /* "weighed  smelled" */
#define NOTE_FROM    76 /* cells left for words from which on the note has a column of its own */

struct columns {
    int tree, date, used, smelled, label, label_cells, changed, changed_cells, note;
};

/* "├─┬ 2", "└ draft" */
static void write_tree(const struct trials *trials, const struct pm_trial_entry *entry,
                       struct pm_text *out)
{
    pm_trial_tree(entry, trials->house->utf8, out);
    if (entry->number > 0)
        pm_text_addf(out, " %lld", (long long)entry->number);
    else
        pm_text_add(out, " draft");
}

static int tree_cells(const struct trials *trials)
{
    int most = 0;
    struct pm_text text = PM_TEXT_EMPTY;
    for (size_t i = 0; i < trials->entries.count; i++) {
        pm_text_clear(&text);
        write_tree(trials, &trials->entries.items[i], &text);
        int cells = (int)pm_utf8_cells(pm_text_get(&text));
        most = cells > most ? cells : most;
    }
    pm_text_release(&text);
    return most;
}

static struct columns lay_out(const struct trials *trials, int cells)
{
    struct columns at = {.tree = TREE_AT};
    for (size_t i = 0; i < trials->entries.count; i++) {
        const char *label = trials->entries.items[i].label;
        int needed = label ? (int)pm_utf8_cells(label) : 0;
        at.label_cells = needed > at.label_cells ? needed : at.label_cells;
    }
    int most = cells / 5;
    at.label_cells = at.label_cells > most ? most : at.label_cells;
    at.date = at.tree + tree_cells(trials) + 2;
    at.used = at.date + DATE_CELLS + 2;
    int labels = at.label_cells > 0 ? at.label_cells + 2 : 0;
    bool wide = cells - at.used - USED_LONG - 2 - labels >= NOTE_FROM;
    at.smelled = at.used + (wide ? 9 : 2);
    at.label = at.used + (wide ? USED_LONG : USED_SHORT) + 2;
    at.changed = at.label + labels;
    int rest = cells - at.changed;
    at.changed_cells = wide ? rest / 2 - 1 : rest;
    at.note = wide ? at.changed + at.changed_cells + 2 : 0;
    return at;
}

static void draw_words(struct trials *trials, const struct pm_pane *pane, const struct columns *at,
                       int row, size_t place)
{
    const struct pm_trial_entry *entry = &trials->entries.items[place];
    const char *changed = trials_changed(trials, place);
    int column = at->changed, rest = at->changed_cells;
    if (entry->set_aside) {
        int used = pm_pane_put(pane, row, column, PM_ROLE_FAINT, "(set aside) ");
        column += used;
        rest -= used;
    }
    if (!changed && at->note == 0)
        changed = entry->note;
    if (rest > 0)
        pm_pane_put_left(pane, row, column, rest, entry->set_aside ? PM_ROLE_FAINT : PM_ROLE_NORMAL,
                         changed ? changed : "");
    if (at->note > 0)
        pm_pane_put_left(pane, row, at->note, pane->columns - at->note, PM_ROLE_FAINT,
                         entry->note ? entry->note : "");
}

static void draw_entry(struct trials *trials, const struct pm_pane *pane, const struct columns *at,
                       int row, size_t place)
{
    const struct pm_trial_entry *entry = &trials->entries.items[place];
    char text[PM_TIME_TEXT];
    struct pm_text tree = PM_TEXT_EMPTY;
    enum pm_role role = entry->set_aside ? PM_ROLE_FAINT : PM_ROLE_NORMAL;
    size_t marked = trials_marked(trials, entry->id);
    if (marked)
        pm_pane_putf(pane, row, 2, PM_ROLE_HEADING, "%zu", marked);
    write_tree(trials, entry, &tree);
    pm_pane_put(pane, row, at->tree, role, pm_text_get(&tree));
    pm_text_release(&tree);
    if (entry->number > 0)
        pm_pane_put(pane, row, at->date, role, pm_time_date(entry->kept_at, text));
    if (entry->batches > 0)
        pm_pane_put(pane, row, at->used, role, at->note > 0 ? "weighed" : "w");
    if (entry->smells > 0)
        pm_pane_put(pane, row, at->smelled, role, at->note > 0 ? "smelled" : "s");
    pm_pane_put_left(pane, row, at->label, at->label_cells, PM_ROLE_HEADING,
                     entry->label ? entry->label : "");
    draw_words(trials, pane, at, row, place);
    if (place == trials->at)
        pm_list_select(pane, row, at->tree);
}

static void draw_headings(const struct pm_pane *pane, const struct columns *at)
{
    pm_pane_put(pane, ROW_HEADINGS, at->tree, PM_ROLE_FAINT, "trial");
    pm_pane_put(pane, ROW_HEADINGS, at->date, PM_ROLE_FAINT, "kept");
    pm_pane_put(pane, ROW_HEADINGS, at->used, PM_ROLE_FAINT,
                at->note > 0 ? "weighed  smelled" : "w s");
    if (at->label_cells > 0)
        pm_pane_put_left(pane, ROW_HEADINGS, at->label, at->label_cells, PM_ROLE_FAINT, "label");
    pm_pane_put(pane, ROW_HEADINGS, at->changed, PM_ROLE_FAINT, "what changed");
    if (at->note > 0)
        pm_pane_put(pane, ROW_HEADINGS, at->note, PM_ROLE_FAINT, "note");
}

static void draw_list(struct trials *trials, const struct pm_pane *pane, int covered)
{
    struct columns at = lay_out(trials, pane->columns);
    int rows = pane->rows - ROW_LIST;
    trials->page = rows;
    trials->first = pm_list_first(trials->first, trials->at, trials->entries.count, rows);
    draw_headings(pane, &at);
    /* While an overlay lies over the selected trial, the rows stand higher; afterwards as before.
     */
    size_t first = pm_list_reach(trials->first, trials->at, rows - covered);
    for (int y = 0; y < rows && first + (size_t)y < trials->entries.count; y++)
        draw_entry(trials, pane, &at, ROW_LIST + y, first + (size_t)y);
}

static void draw_nothing(const struct trials *trials, const struct pm_pane *pane)
{
    pm_pane_put(pane, 1, 2, PM_ROLE_NORMAL,
                trials->name ? "No trial of this formula is kept yet." : "No formula is open.");
    if (trials->name)
        pm_app_invite(trials->app, pane, 3, "keep",
                      "keeps the draft as a trial, sealed, with a note");
    else
        pm_app_invite(trials->app, pane, 3, "formulas", "opens a formula");
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
            pm_text_addf(out, "%s%s", i ? ", " : "", trials->picks[i].title);
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
    if (entry->number > 0)
        row = fact(pane, row, "kept", pm_time_format(entry->kept_at, text));
    if (entry->parent_number > 0) {
        snprintf(text, sizeof text, "trial %lld", (long long)entry->parent_number);
        row = fact(pane, row, "from", text);
    }
    row = fact(pane, row, "label", entry->label);
    if (entry->set_aside)
        row = fact(pane, row, "aside", "out of sight, never deleted");
    snprintf(text, sizeof text, "%zu", entry->lines);
    row = fact(pane, row, "lines", text);
    return fact(pane, row, "total", pm_decimal_exact(entry->total, 6, trials->house->sign, text));
}

static void draw_details(struct trials *trials, const struct pm_pane *pane)
{
    const struct pm_trial_entry *entry = trials_selected(trials);
    struct pm_text text = PM_TEXT_EMPTY;
    if (!entry || pane->columns < 20)
        return;
    trials_title(trials, entry, &text);
    pm_pane_put_left(pane, 0, 0, pane->columns, PM_ROLE_HEADING, pm_text_get(&text));
    int row = draw_dates(trials, pane, 1, entry);
    if (entry->number > 0) {
        pm_text_clear(&text);
        trials_used(entry, &text);
        row = fact(pane, row, "used", pm_text_get(&text));
    }
    pm_text_release(&text);
    row = fact(pane, row + 1, "note", entry->note);
    fact(pane, row + 1, "changed", trials_changed(trials, trials->at));
}

void trials_paint(struct trials *trials, const struct pm_canvas *canvas)
{
    struct pm_text state = PM_TEXT_EMPTY;
    if (trials->name)
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
