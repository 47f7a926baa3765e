/* SPDX-License-Identifier: MIT */
/* The Trials room: the kept trials of the formula that is open. */
#include "room.h"
#include "rooms.h"

#include "overlay.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/studio/trials.h"

#include <stdio.h>
#include <string.h>

#define ROW_HEADINGS 1
#define ROW_LIST     2
#define DOT          " \xC2\xB7 "

struct trials {
    struct pm_app *app;
    struct pm_house *house;
    int64_t formula, version; /* what was read, and when */
    char *name;               /* of the formula; NULL: none is open */
    struct pm_trial_entries entries;
    size_t at, first;
    int page;
    bool details;  /* the details pane was shown at the last paint */
    int64_t asked; /* trial id an open prompt is about */
};

static void forget(struct trials *trials)
{
    pm_trial_entries_release(&trials->entries);
    trials->entries = (struct pm_trial_entries){0};
    pm_free(trials->name);
    trials->name = NULL;
}

static enum pm_status read_name(struct trials *trials, int64_t formula, struct pm_error *err)
{
    struct pm_sheet *sheet;
    enum pm_status status = pm_sheet_open_draft(trials->house->studio, formula, &sheet, err);
    if (status != PM_OK)
        return status;
    trials->name = pm_strdup(sheet->name);
    pm_sheet_free(sheet);
    return trials->name ? PM_OK : pm_fail_memory(err);
}

static void read_again(struct trials *trials)
{
    struct pm_error err = {0};
    int64_t formula = trials->house->formula;
    bool same = formula == trials->formula;
    size_t count = trials->entries.count;
    forget(trials);
    trials->formula = formula;
    trials->version = trials->house->version;
    if (formula == 0)
        return;
    enum pm_status status = read_name(trials, formula, &err);
    if (status == PM_OK)
        status = pm_trials_list(trials->house->studio, formula, PM_TRIALS_CHANGED, &trials->entries,
                                &err);
    if (status != PM_OK) {
        trials->entries = (struct pm_trial_entries){0};
        pm_app_error(trials->app, &err);
    }
    /* The newest trial is what one mostly comes for. */
    if (!same || trials->entries.count != count)
        trials->at = trials->entries.count > 0 ? trials->entries.count - 1 : 0;
}

static bool catch_up(struct trials *trials)
{
    pm_house_look(trials->house);
    if (trials->version == trials->house->version && trials->formula == trials->house->formula)
        return false;
    read_again(trials);
    return true;
}

static enum pm_status trials_open(struct pm_app *app, void **state, struct pm_error *err)
{
    struct trials *trials = pm_alloc_array(1, sizeof *trials);
    if (!trials)
        return pm_fail_memory(err);
    trials->app = app;
    trials->house = pm_app_host(app);
    trials->version = -1;
    *state = trials;
    return PM_OK;
}

static void trials_close(void *state)
{
    struct trials *trials = state;
    if (!trials)
        return;
    forget(trials);
    pm_free(trials);
}

static void trials_enter(void *state)
{
    catch_up(state);
}

static const struct pm_trial_entry *selected(const struct trials *trials)
{
    return trials->at < trials->entries.count ? &trials->entries.items[trials->at] : NULL;
}

/* ---- painting ---- */

struct columns {
    int number, date, label, label_cells, lines, note;
};

static struct columns lay_out(const struct trials *trials, int cells)
{
    struct columns at = {.number = 2, .date = 8};
    for (size_t i = 0; i < trials->entries.count; i++) {
        const char *label = trials->entries.items[i].label;
        int needed = label ? (int)pm_utf8_cells(label) : 0;
        at.label_cells = needed > at.label_cells ? needed : at.label_cells;
    }
    int most = cells / 4;
    at.label_cells = at.label_cells > most ? most : at.label_cells;
    at.lines = at.date + 12;
    at.label = at.lines + 7;
    at.note = at.label + (at.label_cells > 0 ? at.label_cells + 2 : 0);
    return at;
}

static void draw_entry(const struct trials *trials, const struct pm_pane *pane,
                       const struct columns *at, int row, size_t index)
{
    const struct pm_trial_entry *entry = &trials->entries.items[index];
    char date[PM_TIME_TEXT], text[32];
    enum pm_role role = entry->set_aside ? PM_ROLE_FAINT : PM_ROLE_NORMAL;
    bool current = index == trials->at;
    if (current)
        pm_pane_put(pane, row, 0, PM_ROLE_HEADING, "\xE2\x80\xBA");
    snprintf(text, sizeof text, "%lld", (long long)entry->number);
    pm_pane_put_right(pane, row, at->number, 4, role, text);
    pm_pane_put(pane, row, at->date, role, pm_time_date(entry->kept_at, date));
    snprintf(text, sizeof text, "%zu", entry->lines);
    pm_pane_put_right(pane, row, at->lines, 5, PM_ROLE_FAINT, text);
    pm_pane_put_left(pane, row, at->label, at->label_cells, PM_ROLE_HEADING,
                     entry->label ? entry->label : "");
    int column = at->note;
    if (entry->set_aside)
        column += pm_pane_put(pane, row, column, PM_ROLE_FAINT, "(set aside) ");
    if (entry->note)
        column += pm_pane_put_left(pane, row, column, pane->columns - column, role, entry->note);
    if (entry->changed && pane->columns - column > 12) {
        column += entry->note ? pm_pane_put(pane, row, column, PM_ROLE_FAINT, DOT) : 0;
        pm_pane_put_left(pane, row, column, pane->columns - column, PM_ROLE_FAINT, entry->changed);
    }
    if (current) {
        pm_pane_overlay(pane, row, 0, 1, pane->columns, PM_ROLE_SELECTED);
        pm_pane_cursor(pane, row, at->number + 3);
    }
}

static void draw_nothing(const struct trials *trials, const struct pm_pane *pane)
{
    char key[PM_KEY_TEXT];
    const struct pm_keymap *keys = pm_app_keymap(trials->app);
    int act = trials->name ? PM_ACT_KEEP : PM_ACT_FORMULAS;
    pm_pane_put(pane, 1, 2, PM_ROLE_NORMAL,
                trials->name ? "No trial of this formula is kept yet." : "No formula is open.");
    pm_pane_put(pane, 3, 2, PM_ROLE_KEY, pm_keymap_key(keys, act, PM_MODE_SHEET, key));
    pm_pane_put(pane, 3, 7, PM_ROLE_NORMAL,
                trials->name ? "keeps the draft as a trial, sealed, with a note"
                             : "opens a formula");
    pm_pane_cursor(pane, 3, 2);
}

static void draw_list(struct trials *trials, const struct pm_pane *pane)
{
    struct columns at = lay_out(trials, pane->columns);
    int rows = pane->rows - ROW_LIST;
    trials->page = rows > 1 ? rows : 1;
    size_t page = (size_t)trials->page;
    if (trials->at < trials->first)
        trials->first = trials->at;
    if (trials->at >= trials->first + page)
        trials->first = trials->at - page + 1;
    pm_pane_put_right(pane, ROW_HEADINGS, at.number, 4, PM_ROLE_FAINT, "no.");
    pm_pane_put(pane, ROW_HEADINGS, at.date, PM_ROLE_FAINT, "kept");
    pm_pane_put_right(pane, ROW_HEADINGS, at.lines, 5, PM_ROLE_FAINT, "lines");
    if (at.label_cells > 0)
        pm_pane_put(pane, ROW_HEADINGS, at.label, PM_ROLE_FAINT, "label");
    pm_pane_put(pane, ROW_HEADINGS, at.note, PM_ROLE_FAINT, "note, and what changed");
    for (int y = 0; y < rows && trials->first + (size_t)y < trials->entries.count; y++)
        draw_entry(trials, pane, &at, ROW_LIST + y, trials->first + (size_t)y);
}

static int draw_fact(const struct pm_pane *pane, int row, const char *label, const char *text)
{
    if (!text || !*text)
        return row;
    struct pm_pane rest = pm_pane_part(pane, row, 10, pane->rows - row, pane->columns - 10);
    pm_pane_put(pane, row, 0, PM_ROLE_FAINT, label);
    return row + pm_pane_wrap(&rest, 0, PM_ROLE_NORMAL, text);
}

static void draw_details(const struct trials *trials, const struct pm_pane *pane)
{
    const struct pm_trial_entry *entry = selected(trials);
    char text[PM_AMOUNT_TEXT * 2];
    int row = 0;
    if (!entry || pane->columns < 20)
        return;
    pm_pane_putf(pane, row++, 0, PM_ROLE_HEADING, "%s/%lld", trials->name,
                 (long long)entry->number);
    row = draw_fact(pane, row, "kept", pm_time_format(entry->kept_at, text));
    if (entry->parent_number > 0) {
        snprintf(text, sizeof text, "trial %lld", (long long)entry->parent_number);
        row = draw_fact(pane, row, "from", text);
    }
    row = draw_fact(pane, row, "label", entry->label);
    row =
        draw_fact(pane, row, "total", pm_decimal_exact(entry->total, 6, trials->house->sign, text));
    snprintf(text, sizeof text, "smelled %lld, weighed %lld times", (long long)entry->smells,
             (long long)entry->batches);
    row = draw_fact(pane, row, "used", text);
    row = draw_fact(pane, row + 1, "note", entry->note);
    draw_fact(pane, row + 1, "changed", entry->changed);
}

static void trials_draw(void *state, const struct pm_canvas *canvas)
{
    struct trials *trials = state;
    trials->details = canvas->details.columns > 0;
    if (trials->name)
        pm_pane_put_left(&canvas->heading, 0, 0, canvas->heading.columns, PM_ROLE_HEADING,
                         trials->name);
    if (trials->entries.count == 0) {
        draw_nothing(trials, &canvas->sheet);
        return;
    }
    pm_pane_putf(&canvas->sheet, 0, 0, PM_ROLE_NORMAL,
                 "%zu kept trial%s" DOT "the draft goes on "
                 "from trial %lld",
                 trials->entries.count, trials->entries.count == 1 ? "" : "s",
                 (long long)trials->entries.draft_parent);
    draw_list(trials, &canvas->sheet);
    draw_details(trials, &canvas->details);
}

/* ---- keys ---- */

static enum pm_status label_accept(void *context, const char *text, struct pm_error *err)
{
    struct trials *trials = context;
    enum pm_status status = pm_trial_set_label(trials->house->studio, trials->asked, text, err);
    if (status != PM_OK)
        return status;
    read_again(trials);
    pm_app_say(trials->app, "Labelled. Saved.");
    return PM_OK;
}

static void ask_label(struct trials *trials)
{
    const struct pm_trial_entry *entry = selected(trials);
    char title[64];
    if (!entry)
        return;
    trials->asked = entry->id;
    snprintf(title, sizeof title, "Label of trial %lld", (long long)entry->number);
    const struct pm_prompt_spec spec = {.title = title,
                                        .label = "Label",
                                        .text = entry->label,
                                        .limit = 200,
                                        .accept = label_accept,
                                        .context = trials};
    pm_prompt_open(trials->app, &spec);
}

static void move(struct trials *trials, int code)
{
    size_t last = trials->entries.count > 0 ? trials->entries.count - 1 : 0;
    size_t page = trials->page > 1 ? (size_t)trials->page - 1 : 1;
    size_t step = code == PM_ACT_UP || code == PM_ACT_DOWN             ? 1
                  : code == PM_ACT_PAGE_UP || code == PM_ACT_PAGE_DOWN ? page
                                                                       : last;
    if (code == PM_ACT_DOWN || code == PM_ACT_PAGE_DOWN || code == PM_ACT_LAST)
        trials->at = step > last - trials->at ? last : trials->at + step;
    else
        trials->at = step > trials->at ? 0 : trials->at - step;
}

static void go_on(struct trials *trials, int code)
{
    struct pm_error err = {0};
    const struct pm_trial_entry *entry = selected(trials);
    enum pm_status status = PM_OK;
    if (!entry)
        pm_app_say(trials->app, "No trial is kept yet.");
    else if (code == PM_ACT_BRANCH)
        status = pm_bench_branch(trials->app, entry->id, &err);
    else
        status = pm_bench_show_trial(trials->app, entry->id, &err);
    if (status != PM_OK)
        pm_app_error(trials->app, &err);
}

static unsigned trials_act(void *state, const struct pm_action *action)
{
    struct trials *trials = state;
    catch_up(trials);
    switch (action->code) {
    case PM_ACT_UP:
    case PM_ACT_DOWN:
    case PM_ACT_PAGE_UP:
    case PM_ACT_PAGE_DOWN:
    case PM_ACT_FIRST:
    case PM_ACT_LAST:
        move(trials, action->code);
        break;
    case PM_ACT_ACCEPT:
    case PM_ACT_BRANCH:
        go_on(trials, action->code);
        break;
    case PM_ACT_LABEL:
        ask_label(trials);
        break;
    case PM_ACT_REVISIONS:
        pm_bench_revisions(trials->app, selected(trials) ? selected(trials)->number : -1);
        break;
    case PM_ACT_KEEP:
        pm_bench_keep(trials->app);
        break;
    case PM_ACT_FORMULAS:
        pm_formulas_open(trials->app);
        break;
    case PM_ACT_NEW_FORMULA:
        pm_formulas_new(trials->app, NULL);
        break;
    case PM_ACT_THIS_FORMULA:
        pm_formulas_this(trials->app);
        break;
    case PM_ACT_CANCEL:
        pm_app_go(trials->app, PM_ROOM_BENCH);
        break;
    default:
        return PM_UNHANDLED;
    }
    catch_up(trials);
    return PM_REDRAW;
}

static size_t trials_hints(const void *state, int codes[PM_HINTS])
{
    static const int usual[] = {PM_ACT_ACCEPT, PM_ACT_BRANCH, PM_ACT_REVISIONS, PM_ACT_LABEL,
                                PM_ACT_KEEP};
    (void)state;
    memcpy(codes, usual, sizeof usual);
    return sizeof usual / sizeof *usual;
}

/* The whole of what the row has room to begin with; the details pane shows it as well. */
static enum pm_role trials_remark(const void *state, struct pm_text *out)
{
    const struct trials *trials = state;
    const struct pm_trial_entry *entry = trials->details ? NULL : selected(trials);
    if (entry && entry->note)
        pm_text_add(out, entry->note);
    if (entry && entry->changed)
        pm_text_addf(out, "%s%s", out->length > 0 ? DOT : "", entry->changed);
    return PM_ROLE_FAINT;
}

const struct pm_room pm_room_trials = {
    .id = "trials",
    .name = "Trials",
    .keys = "T F3",
    .help = "The kept trials of the formula: look, branch, label, revisions.",
    .details = true,
    .open = trials_open,
    .enter = trials_enter,
    .draw = trials_draw,
    .act = trials_act,
    .hints = trials_hints,
    .remark = trials_remark,
    .close = trials_close,
};
