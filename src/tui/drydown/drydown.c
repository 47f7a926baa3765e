/* SPDX-License-Identifier: MIT */
/* The Drydown room: what leaves a formula first and what stays; series of trials. */
#include "drydown.h"

#include "kit/list.h"
#include "kit/overlay.h"

#include "permille/base/mem.h"
#include "permille/base/rounded.h"
#include "permille/base/utf8.h"
#include "permille/studio/bench.h"
#include "permille/studio/trials.h"

#include <string.h>

const double drydown_points[DRY_POINTS] = {0.10, 0.25, 0.50, 0.75, 0.90};

/* ---- reading ---- */

void drydown_redraw(struct drydown *drydown)
{
    pm_plot_release(&drydown->plot);
    drydown->drawn_rows = drydown->drawn_columns = 0;
}

void drydown_forget(struct drydown *drydown)
{
    for (size_t i = 0; i < drydown->count; i++)
        pm_drydown_release(&drydown->dry[i]);
    drydown->count = 0;
    drydown_redraw(drydown);
}

static enum pm_status fill_states(struct drydown *read, struct pm_error *err)
{
    struct pm_drydown *dry = &read->dry[0];
    double tau = 0;
    for (int p = 0; p < DRY_POINTS; p++) {
        read->states[p] = pm_arena_array(&dry->arena, dry->count + 1, sizeof *read->states[p]);
        if (read->states[p] == NULL)
            return pm_fail_memory(err);
        if (dry->count > 0)
            pm_drydown_at(&dry->mix, drydown_points[p], true, &tau, read->states[p]);
    }
    return PM_OK;
}

static enum pm_status read_into(struct drydown *read, struct pm_error *err)
{
    const struct pm_dry_options options = {.without_alcohol = read->without_alcohol};
    struct pm_studio *studio = read->house->studio;
    struct pm_sheet *sheet;
    enum pm_status status = read->trial != 0
                                ? pm_sheet_open(studio, read->trial, &sheet, err)
                                : pm_sheet_open_draft(studio, read->formula, &sheet, err);
    if (status != PM_OK)
        return status;
    status = pm_drydown_of(studio, sheet, &options, &read->dry[0], err);
    pm_sheet_free(sheet);
    read->count = status == PM_OK;
    if (status == PM_OK)
        status = fill_states(read, err);
    if (status == PM_OK && read->beside != 0) {
        status = pm_drydown_open(studio, read->beside, &options, &read->dry[1], err);
        read->count += status == PM_OK;
    }
    return status;
}

void series_forget_one(struct drydown *drydown)
{
    if (drydown->one)
        pm_series_sheet_release(&drydown->sheet);
    drydown->one = false;
}

enum pm_status series_read_one(struct drydown *drydown, int64_t id, struct pm_error *err)
{
    struct pm_series_sheet sheet;
    const enum pm_status status = pm_series_open(drydown->house->studio, id, &sheet, err);
    if (status != PM_OK)
        return status;
    series_forget_one(drydown);
    drydown->sheet = sheet;
    drydown->one = true;
    pm_table_changed(&drydown->step_list);
    if (drydown->step_list.row >= sheet.count)
        drydown->step_list.row = 0;
    return PM_OK;
}

enum pm_status series_read(struct drydown *drydown, struct pm_error *err)
{
    struct pm_series_rows rows;
    const enum pm_status status =
        pm_series_all(drydown->house->studio, drydown->house->formula, &rows, err);
    if (status != PM_OK)
        return status;
    pm_list_release(&drydown->series);
    drydown->series = rows;
    pm_table_changed(&drydown->series_list);
    if (drydown->series_list.row >= rows.count)
        drydown->series_list.row = 0;
    return drydown->one ? series_read_one(drydown, drydown->sheet.row.id, err) : PM_OK;
}

/* An empty formula is no failure of reading: it is said in the room. */
static enum pm_status read_all(struct drydown *drydown, struct pm_error *err)
{
    struct drydown read = {.house = drydown->house,
                           .formula = drydown->house->formula,
                           .without_alcohol = drydown->without_alcohol};
    const struct pm_dry_material *selected = drydown_selected(drydown);
    const int64_t material = selected != NULL ? selected->material : 0;
    enum pm_status status = PM_OK;
    struct pm_error why = {0};
    if (drydown->formula == read.formula) {
        read.trial = drydown->trial;
        read.beside = drydown->beside;
    }
    if (read.formula != 0)
        status = read_into(&read, &why);
    if (status != PM_OK && status != PM_REFUSED) {
        drydown_forget(&read);
        if (err != NULL)
            *err = why;
        return status;
    }
    if (status != PM_OK)
        drydown_forget(&read);
    drydown_forget(drydown);
    drydown->formula = read.formula;
    drydown->trial = read.trial;
    drydown->beside = read.beside;
    memcpy(drydown->dry, read.dry, sizeof read.dry);
    memcpy(drydown->states, read.states, sizeof read.states);
    drydown->count = read.count;
    drydown->unread = why;
    pm_table_changed(&drydown->list);
    for (size_t i = 0; drydown->count > 0 && i < drydown->dry[0].count; i++)
        if (drydown->dry[0].materials[i].material == material)
            drydown->list.row = i;
    if (drydown->count == 0 || drydown->list.row >= drydown->dry[0].count)
        drydown->list.row = 0;
    return drydown->in_series ? series_read(drydown, err) : PM_OK;
}

void drydown_read(struct drydown *drydown)
{
    pm_app_read(drydown->app, PM_ROOM_DRYDOWN);
}

enum pm_status drydown_read_again(void *state, const char **what, struct pm_error *err)
{
    struct drydown *drydown = state;
    const struct pm_dry_material *before = drydown_selected(drydown);
    const int64_t formula = drydown->formula, material = before != NULL ? before->material : 0;
    const bool in_series = drydown->in_series;
    const enum pm_status status = read_all(drydown, err);
    const struct pm_dry_material *after = drydown_selected(drydown);
    if (status == PM_OK && !in_series && formula == drydown->formula && material != 0 &&
        (after == NULL || after->material != material))
        *what = "this formula";
    return status;
}

const struct pm_dry_material *drydown_selected(const struct drydown *drydown)
{
    return drydown->count > 0 && drydown->list.row < drydown->dry[0].count
               ? &drydown->dry[0].materials[drydown->list.row]
               : NULL;
}

/* ---- what can be done ---- */

bool drydown_any(void *state)
{
    struct drydown *drydown = state;
    const bool any = drydown->count > 0 && drydown->dry[0].count > 0;
    if (!any)
        pm_app_say(drydown->app, "Nothing here has a vapour pressure.");
    return any;
}

void drydown_next_view(void *state)
{
    struct drydown *drydown = state;
    drydown->view = (enum drydown_view)((drydown->view + 1) % DRY_VIEWS);
    drydown_redraw(drydown);
}

bool drydown_marked(const struct drydown *drydown, int64_t material)
{
    for (size_t i = 0; i < drydown->marked_count; i++)
        if (drydown->marked[i] == material)
            return true;
    return false;
}

void drydown_mark(void *state)
{
    struct drydown *drydown = state;
    const struct pm_dry_material *selected = drydown_selected(drydown);
    const size_t most = drydown->count == 2 ? PM_PLOT_SERIES_MAX / 2 : PM_PLOT_SERIES_MAX;
    size_t at = 0;
    if (selected == NULL)
        return;
    while (at < drydown->marked_count && drydown->marked[at] != selected->material)
        at++;
    if (at < drydown->marked_count)
        drydown->marked[at] = drydown->marked[--drydown->marked_count];
    else if (drydown->marked_count < most)
        drydown->marked[drydown->marked_count++] = selected->material;
    else {
        pm_app_say(drydown->app, "More than %zu curves cannot be told apart.", most);
        return;
    }
    drydown->list.row += drydown->list.row + 1 < drydown->dry[0].count;
    drydown_redraw(drydown);
}

void drydown_alcohol(void *state)
{
    struct drydown *drydown = state;
    drydown->without_alcohol = !drydown->without_alcohol;
    drydown_read(drydown);
    pm_app_say(drydown->app,
               drydown->without_alcohol ? "Without the alcohol." : "With the alcohol.");
}

void drydown_minutes(void *state)
{
    struct drydown *drydown = state;
    if (!drydown->by_time && !(drydown->dry[0].clock.rate > 0)) {
        pm_app_say(drydown->app, "No clock: set it by a smell note that something was gone.");
        return;
    }
    drydown->by_time = !drydown->by_time;
    if (drydown->view == DRY_TABLE)
        drydown->view = DRY_CURVES;
    drydown_redraw(drydown);
}

/* Nothing typed: 0. */
static enum pm_status find_trial(const struct drydown *drydown, const char *text, int64_t *out,
                                 struct pm_error *err)
{
    size_t count;
    *out = 0;
    return pm_is_blank(text) ? PM_OK
                             : pm_trials_named(drydown->house->studio, drydown->formula, text, out,
                                               1, &count, err);
}

static enum pm_status take_trial(void *context, const char *text, struct pm_error *err)
{
    struct drydown *drydown = context;
    const enum pm_status status = find_trial(drydown, text, &drydown->trial, err);
    if (status == PM_OK)
        drydown_read(drydown);
    return status;
}

static enum pm_status take_beside(void *context, const char *text, struct pm_error *err)
{
    struct drydown *drydown = context;
    const enum pm_status status = find_trial(drydown, text, &drydown->beside, err);
    if (status != PM_OK)
        return status;
    drydown->marked_count = 0;
    drydown_read(drydown);
    if (drydown->beside != 0 && drydown->view == DRY_TABLE)
        drydown->view = DRY_CURVES;
    return PM_OK;
}

static bool complete_trial(void *context, const char *before, size_t round, struct pm_text *out)
{
    const struct drydown *drydown = context;
    return pm_complete_trial(drydown->house, before, round, out);
}

static void ask(struct drydown *drydown, const char *title, const char *label,
                enum pm_status (*accept)(void *, const char *, struct pm_error *))
{
    const struct pm_prompt_spec spec = {.title = title,
                                        .label = label,
                                        .complete = complete_trial,
                                        .accept = accept,
                                        .context = drydown};
    if (drydown->formula == 0)
        pm_app_say(drydown->app, "No formula is open.");
    else
        pm_prompt_open(drydown->app, &spec);
}

void drydown_ask_trial(void *state)
{
    ask(state, "Which trial? Tab goes through them; empty: the draft", "Trial", take_trial);
}

void drydown_ask_beside(void *state)
{
    ask(state, "Drawn over it: Tab goes through the trials; empty: none", "Trial", take_beside);
}

void drydown_about(void *state)
{
    struct drydown *drydown = state;
    struct pm_page *page = pm_page_new("What these curves say, and what not");
    const char sign = drydown->house->sign;
    for (size_t d = 0; d < drydown->count; d++) {
        struct pm_text said = PM_TEXT_EMPTY;
        struct pm_drydown *dry = &drydown->dry[d];
        pm_page_add(page, PM_ROLE_HEADING, 0, dry->title);
        pm_drydown_say_odd(dry, sign, &said);
        pm_drydown_say(dry, sign, &said);
        pm_page_add_lines(page, PM_ROLE_NORMAL, 2, pm_text_get(&said));
        pm_text_release(&said);
        for (size_t i = 0; i < dry->count; i++) {
            double low, high;
            const double gone = pm_drydown_reaches(&dry->mix, i, 0.1, &low, &high);
            pm_page_addf(page, PM_ROLE_NORMAL, 2,
                         "%s: down to a tenth when %s %% has evaporated (%s to %s).",
                         dry->materials[i].name, pm_rounded(100 * gone, 3, sign).text,
                         pm_rounded(100 * low, 3, sign).text, pm_rounded(100 * high, 3, sign).text);
        }
    }
    pm_page_add(page, PM_ROLE_FAINT, 0,
                "Said: the order in which materials leave, where their vapour pressures differ by "
                "more than two (or five, where predicted). Not said: hours without your own note, "
                "how strong something smells, which one dominates.");
    pm_page_open(drydown->app, page, false);
}

static enum pm_status take_clock(void *context, const char *const values[], struct pm_error *err)
{
    struct drydown *drydown = context;
    char *sentence = NULL;
    int64_t note;
    enum pm_status status =
        pm_error_at(err, "note", pm_decimal_read(values[0], 0, "The note", &note, err));
    if (status == PM_OK)
        status = pm_drydown_calibrate(drydown->house->studio, note, values[1], values[2], &sentence,
                                      err);
    if (status != PM_OK)
        return status;
    pm_app_changed(drydown->app, PM_ROOM_DRYDOWN);
    pm_app_say(drydown->app, "%s. Saved.", sentence);
    pm_free(sentence);
    drydown_read(drydown);
    return PM_OK;
}

void drydown_clock(void *state)
{
    struct drydown *drydown = state;
    const struct pm_dry_material *selected = drydown_selected(drydown);
    const struct pm_form_spec spec = {
        .title = "A smell note by which it was gone",
        .fields = {{.key = "note",
                    .label = "Note",
                    .hint = "Its number in the Blotter's log; its time since application counts.",
                    .limit = 20},
                   {.key = "material",
                    .label = "Material",
                    .text = selected != NULL ? selected->name : NULL,
                    .hint = "What could no longer be smelled."},
                   {.key = "left",
                    .label = "Left",
                    .text = "10%",
                    .hint = "What of its start counts as gone.",
                    .limit = 20}},
        .field_count = 3,
        .accept = take_clock,
        .writes = true,
        .context = drydown,
    };
    pm_form_open(drydown->app, &spec);
}

void drydown_no_undo(void *state)
{
    const struct drydown *drydown = state;
    char away[PM_KEY_TEXT];
    if (drydown->in_series)
        pm_app_say(
            drydown->app,
            "%s takes the last rating of a trial back; its trials stay, as all kept ones do.",
            pm_app_key(drydown->app, "unrate-trial", away));
    else
        pm_app_say(drydown->app, "Nothing of the formula is changed here; a newer clock takes the "
                                 "place of an older one.");
}
