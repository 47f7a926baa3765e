/* SPDX-License-Identifier: MIT */
/* The Drydown room: series of trials. */
#include "drydown.h"

#include "kit/list.h"
#include "kit/overlay.h"

#include "permille/base/mem.h"
#include "permille/base/rounded.h"
#include "permille/base/utf8.h"

#include <stdio.h>
#include <string.h>

/* ---- reading ---- */

void series_release(struct drydown *drydown)
{
    series_forget_one(drydown);
    pm_list_release(&drydown->series);
}

static void read_again(struct drydown *drydown)
{
    struct pm_error err = {0};
    if (series_read(drydown, &err) != PM_OK)
        pm_app_error(drydown->app, &err);
}

void series_enter(void *state)
{
    struct drydown *drydown = state;
    drydown->in_series = true;
    read_again(drydown);
}

void series_show(struct drydown *drydown, struct pm_series_made *made)
{
    struct pm_error err = {0};
    pm_app_changed(drydown->app, PM_ROOM_DRYDOWN);
    pm_app_say(drydown->app, "%s. Saved.", made->sentence);
    drydown->step_list.row = 0;
    if (series_read_one(drydown, made->id, &err) != PM_OK)
        pm_app_error(drydown->app, &err);
    pm_series_made_release(made);
    drydown_read(drydown);
}

/* ---- the list ---- */

enum { LIST_NAME, LIST_KIND, LIST_TRIALS, LIST_RATED, LIST_MADE, LIST_COLUMNS };

static const struct pm_column list_columns[LIST_COLUMNS] = {
    [LIST_NAME] = {.heading = "series", .wish = 30, .grows = true, .most = 60},
    [LIST_KIND] = {.heading = "kind", .wish = 10},
    [LIST_TRIALS] = {.heading = "trials", .wish = 6, .align = PM_ALIGN_RIGHT},
    [LIST_RATED] = {.heading = "rated", .wish = 6, .align = PM_ALIGN_RIGHT},
    [LIST_MADE] = {.heading = "made", .wish = 12},
};

static enum pm_role list_cell(void *context, size_t row, size_t column, struct pm_text *out)
{
    const struct drydown *drydown = context;
    const struct pm_series_row *entry = &drydown->series.items[row];
    char date[PM_TIME_TEXT];
    if (column == LIST_NAME)
        pm_text_add(out, entry->name);
    else if (column == LIST_KIND)
        pm_text_add(out, pm_series_word(entry->kind));
    else if (column == LIST_MADE)
        pm_text_add(out, pm_time_date(entry->made_at, date));
    else
        pm_text_addf(out, "%lld",
                     (long long)(column == LIST_TRIALS ? entry->trials : entry->ratings));
    return PM_ROLE_NORMAL;
}

static struct pm_table list_table(struct drydown *drydown)
{
    return (struct pm_table){.columns = list_columns,
                             .column_count = LIST_COLUMNS,
                             .rows = drydown->series.count,
                             .context = drydown,
                             .cell = list_cell};
}

/* ---- one ---- */

enum { STEP_TRIAL, STEP_WHAT, STEP_RATED, STEP_RATING, STEP_LIKING, STEP_TEST, STEP_COLUMNS };

static const struct pm_column step_columns[STEP_COLUMNS] = {
    [STEP_TRIAL] =
        {.heading = "trial", .wish = 18, .least = 10, .yields = 1, .most = 40, .fixed = true},
    [STEP_WHAT] =
        {.heading = "what", .wish = 16, .least = 10, .yields = 2, .grows = true, .most = 40},
    [STEP_RATED] = {.heading = "rated", .wish = 5, .align = PM_ALIGN_RIGHT},
    [STEP_RATING] = {.heading = "rating", .wish = 6, .align = PM_ALIGN_RIGHT},
    [STEP_LIKING] = {.heading = "liking", .wish = 6, .align = PM_ALIGN_RIGHT},
    [STEP_TEST] = {.heading = "blind test", .wish = 19, .most = 40},
};

static void add_test(const struct pm_series_step *step, char sign, struct pm_text *out)
{
    if (step->row.panel == 0)
        return;
    if (!step->closed)
        pm_text_addf(out, "open, %lld/%lld", (long long)step->answered, (long long)step->planned);
    else
        pm_text_addf(out, "%lld/%lld p %s%s", (long long)step->correct, (long long)step->answered,
                     pm_rounded_places(step->p, 3, sign).text, step->shown ? " !" : "");
}

static enum pm_role step_cell(void *context, size_t row, size_t column, struct pm_text *out)
{
    const struct drydown *drydown = context;
    const struct pm_series_step *step = &drydown->sheet.steps[row];
    if (column == STEP_TRIAL)
        pm_text_add(out, step->title);
    else if (column == STEP_WHAT)
        pm_series_say_what(&step->row, drydown->house->sign, out);
    else if (column == STEP_RATED)
        pm_text_addf(out, "%zu", step->ratings);
    else if (column == STEP_RATING && step->ratings > 0)
        pm_text_add(out, pm_rounded(step->rating, 3, drydown->house->sign).text);
    else if (column == STEP_LIKING && step->likings > 0)
        pm_text_add(out, pm_rounded(step->liking, 3, drydown->house->sign).text);
    else if (column == STEP_TEST)
        add_test(step, drydown->house->sign, out);
    return column == STEP_TEST && step->shown ? PM_ROLE_GOOD : PM_ROLE_NORMAL;
}

static struct pm_table step_table(struct drydown *drydown)
{
    return (struct pm_table){.columns = step_columns,
                             .column_count = STEP_COLUMNS,
                             .rows = drydown->sheet.count,
                             .context = drydown,
                             .cell = step_cell};
}

void series_paint(struct drydown *drydown, const struct pm_canvas *canvas)
{
    struct pm_pane all = canvas->sheet;
    char key[PM_KEY_TEXT];
    pm_pane_cursor(&all, 0, 0);
    pm_pane_put(&canvas->heading, 0, 0, PM_ROLE_HEADING, "series of trials");
    const struct pm_pane below = pm_pane_part(&all, 1, 0, all.rows - 1, all.columns);
    if (drydown->one) {
        const struct pm_series_sheet *sheet = &drydown->sheet;
        pm_pane_putf(&all, 0, 0, PM_ROLE_HEADING, "%s (%s): ", sheet->row.name,
                     pm_series_word(sheet->row.kind));
        const struct pm_table table = step_table(drydown);
        pm_table_draw(&table, &drydown->step_list, &below);
        return;
    }
    pm_pane_putf(&all, 0, 0, PM_ROLE_NORMAL, "%zu series", drydown->series.count);
    if (drydown->series.count == 0) {
        pm_pane_putf(&all, 2, 2, PM_ROLE_FAINT,
                     "Trials made to be compared: %s makes a dose ladder, a series without one",
                     pm_app_key(drydown->app, "new-series", key));
        pm_pane_put(&all, 3, 2, PM_ROLE_FAINT, "line each, or a design of ratios.");
        return;
    }
    const struct pm_table table = list_table(drydown);
    pm_table_draw(&table, &drydown->series_list, &below);
}

/* ---- rating ---- */

static const char *step_title(const struct drydown *drydown)
{
    return drydown->sheet.steps[drydown->step_list.row].title;
}

static enum pm_status take_rating(void *context, const char *text, struct pm_error *err)
{
    struct drydown *drydown = context;
    char *sentence = NULL;
    const enum pm_status status = pm_series_rate(drydown->house->studio, drydown->sheet.row.id,
                                                 step_title(drydown), text, &sentence, err);
    if (status != PM_OK)
        return status;
    pm_app_changed(drydown->app, PM_ROOM_DRYDOWN);
    pm_app_say(drydown->app, "%s. Saved.", sentence);
    pm_free(sentence);
    read_again(drydown);
    if (drydown->step_list.row + 1 < drydown->sheet.count)
        drydown->step_list.row++;
    return PM_OK;
}

static void ask_rating(struct drydown *drydown, const char *typed)
{
    struct pm_text title = PM_TEXT_EMPTY;
    if (drydown->sheet.count == 0)
        return;
    pm_text_addf(&title, "How good is %s (", step_title(drydown));
    pm_series_say_what(&drydown->sheet.steps[drydown->step_list.row].row, drydown->house->sign,
                       &title);
    pm_text_add(&title, ")?");
    const struct pm_prompt_spec spec = {.title = pm_text_get(&title),
                                        .label = "Rating",
                                        .text = typed,
                                        .limit = 20,
                                        .accept = take_rating,
                                        .writes = true,
                                        .context = drydown};
    pm_prompt_open(drydown->app, &spec);
    pm_text_release(&title);
}

void series_rate(void *state)
{
    ask_rating(state, NULL);
}

unsigned series_text(struct drydown *drydown, const char *text)
{
    if (!drydown->one)
        return PM_UNHANDLED;
    ask_rating(drydown, text);
    return PM_REDRAW;
}

static enum pm_status unrate_accept(void *context, struct pm_error *err)
{
    struct drydown *drydown = context;
    char *sentence = NULL;
    enum pm_status status = pm_series_unrate(drydown->house->studio, drydown->sheet.row.id,
                                             step_title(drydown), &sentence, err);
    if (status != PM_OK)
        return status;
    pm_app_changed(drydown->app, PM_ROOM_DRYDOWN);
    pm_app_say(drydown->app, "%s. Saved.", sentence);
    pm_free(sentence);
    read_again(drydown);
    return PM_OK;
}

/* No key brings it back, so it asks first. */
void series_unrate(void *state)
{
    struct drydown *drydown = state;
    const struct pm_choice_spec spec = {.title = "Take back",
                                        .question = "Take the last rating of this trial back?",
                                        .options = {{'n', "no, it stays"}, {'y', "take it back"}},
                                        .option_count = 2,
                                        .agreed = unrate_accept,
                                        .writes = true,
                                        .context = drydown};
    pm_choice_open(drydown->app, &spec);
}

/* ---- pages ---- */

static enum pm_status take_mass(void *context, const char *const values[], struct pm_error *err)
{
    struct drydown *drydown = context;
    struct pm_series_weigh weigh;
    struct pm_text said = PM_TEXT_EMPTY;
    const enum pm_status status = pm_series_plan(drydown->house->studio, drydown->sheet.row.id,
                                                 values[0], values[1], &weigh, err);
    if (status != PM_OK)
        return status;
    struct pm_page *page = pm_page_new("One weigh plan for all its trials");
    pm_series_weigh_say(&weigh, drydown->house->sign, &said);
    pm_page_add_lines(page, PM_ROLE_NORMAL, 2, pm_text_get(&said));
    pm_page_addf(page, PM_ROLE_FAINT, 0, "To print it: permille series weigh \"%s\" %s",
                 drydown->sheet.row.name, values[0]);
    pm_text_release(&said);
    pm_series_weigh_release(&weigh);
    pm_page_open(drydown->app, page, false);
    return PM_OK;
}

void series_weigh(void *state)
{
    struct drydown *drydown = state;
    const struct pm_form_spec spec = {
        .title = "Weigh its trials",
        .fields = {{.key = "batch",
                    .label = "Each",
                    .text = "5 g",
                    .hint = "Mass of each trial.",
                    .limit = 40},
                   {.key = "least",
                    .label = "Least",
                    .text = "0.1 g",
                    .hint = "The smallest amount your balance weighs well enough.",
                    .limit = 40}},
        .field_count = 2,
        .accept = take_mass,
        .context = drydown,
    };
    pm_form_open(drydown->app, &spec);
}

/* The picture, and what it says in words. */
static void add_plot(struct pm_page *page, struct pm_plot *plot, const struct pm_text *words)
{
    for (size_t i = 0; i < plot->count; i++)
        pm_page_add(page, PM_ROLE_NORMAL, 0, plot->rows[i]);
    pm_page_add_lines(page, PM_ROLE_NORMAL, 2, pm_text_get(words));
    pm_plot_release(plot);
}

static void show_fit(struct drydown *drydown)
{
    struct pm_error err = {0};
    struct pm_series_fit fit;
    struct pm_plot plot;
    struct pm_text said = PM_TEXT_EMPTY;
    if (pm_series_fitted(drydown->house->studio, drydown->sheet.row.id, NULL, &fit, &err) !=
        PM_OK) {
        pm_app_error(drydown->app, &err);
        return;
    }
    struct pm_page *page = pm_page_new(drydown->sheet.row.name);
    const char sign = drydown->house->sign;
    pm_series_fit_say(&fit, sign, &said);
    pm_page_add_lines(page, PM_ROLE_NORMAL, 2, pm_text_get(&said));
    pm_text_release(&said);
    pm_series_fit_say_terms(&fit, false, sign, &said);
    pm_page_add_lines(page, PM_ROLE_FAINT, 2, pm_text_get(&said));
    pm_text_release(&said);
    if (fit.components == 3 &&
        pm_series_triangle(&fit, 72, 24, !drydown->house->utf8, sign, &plot, &said, &err) == PM_OK)
        add_plot(page, &plot, &said);
    pm_text_release(&said);
    pm_series_fit_release(&fit);
    pm_page_open(drydown->app, page, false);
}

static void show_response(struct drydown *drydown)
{
    struct pm_error err = {0};
    struct pm_series_response response;
    struct pm_plot plot;
    struct pm_text said = PM_TEXT_EMPTY;
    if (pm_series_responded(drydown->house->studio, drydown->sheet.row.id, NULL, NULL, NULL,
                            &response, &err) != PM_OK) {
        pm_app_error(drydown->app, &err);
        return;
    }
    struct pm_page *page = pm_page_new(drydown->sheet.row.name);
    pm_series_response_say(&response, drydown->house->sign, &said);
    pm_page_add_lines(page, PM_ROLE_NORMAL, 2, pm_text_get(&said));
    pm_text_release(&said);
    if (pm_series_response_plot(&response, 72, 16, !drydown->house->utf8, drydown->house->sign,
                                &plot, &said, &err) == PM_OK)
        add_plot(page, &plot, &said);
    pm_text_release(&said);
    pm_series_response_release(&response);
    pm_page_open(drydown->app, page, false);
}

static void show_noticed(struct drydown *drydown)
{
    const struct pm_series_sheet *sheet = &drydown->sheet;
    struct pm_page *page = pm_page_new(sheet->row.name);
    for (size_t i = 0; i < sheet->count; i++) {
        const struct pm_series_step *step = &sheet->steps[i];
        if (step->row.omitted == NULL)
            continue;
        if (step->row.panel == 0)
            pm_page_addf(page, PM_ROLE_FAINT, 2, "%s: no blind test.", step->row.omitted);
        else if (!step->closed)
            pm_page_addf(page, PM_ROLE_FAINT, 2,
                         "%s: its test is open, %lld of %lld answered; the Blotter closes it.",
                         step->row.omitted, (long long)step->answered, (long long)step->planned);
        else
            pm_page_addf(page, step->shown ? PM_ROLE_GOOD : PM_ROLE_NORMAL, 2,
                         "%s: %s, %lld of %lld right; by chance alone so many with p = %s.",
                         step->row.omitted, step->shown ? "noticed" : "not shown to be noticed",
                         (long long)step->correct, (long long)step->answered,
                         pm_rounded_places(step->p, 3, drydown->house->sign).text);
    }
    pm_page_add(page, PM_ROLE_FAINT, 0,
                "What is not shown is not shown to be alike either: few answers find only large "
                "differences.");
    pm_page_open(drydown->app, page, false);
}

void series_result(void *state)
{
    struct drydown *drydown = state;
    if (drydown->sheet.row.kind == PM_SERIES_RATIOS)
        show_fit(drydown);
    else if (drydown->sheet.row.kind == PM_SERIES_LADDER)
        show_response(drydown);
    else
        show_noticed(drydown);
}

/* ---- keys ---- */

struct pm_table series_table(struct drydown *drydown)
{
    return drydown->one ? step_table(drydown) : list_table(drydown);
}

void series_go(struct drydown *drydown, size_t row)
{
    (drydown->one ? &drydown->step_list : &drydown->series_list)->row = row;
}

bool series_any(void *state)
{
    struct drydown *drydown = state;
    if (!drydown->one && drydown->series.count == 0)
        pm_app_say(drydown->app, "There is no series of this formula yet.");
    return drydown->one || drydown->series.count > 0;
}

bool series_one(void *state)
{
    struct drydown *drydown = state;
    struct pm_error err = {0};
    if (drydown->one || !series_any(drydown))
        return drydown->one;
    drydown->step_list.row = drydown->step_list.first = 0;
    if (series_read_one(drydown, drydown->series.items[drydown->series_list.row].id, &err) != PM_OK)
        pm_app_error(drydown->app, &err);
    return drydown->one;
}

void series_open_selected(void *state)
{
    struct drydown *drydown = state;
    if (drydown->one)
        ask_rating(drydown, NULL);
    else
        series_one(drydown);
}

unsigned series_act(struct drydown *drydown, int code)
{
    if (code == PM_ACT_CANCEL && drydown->one) {
        series_forget_one(drydown);
        return PM_REDRAW;
    }
    if (code == PM_ACT_CANCEL) {
        drydown->in_series = false;
        drydown_redraw(drydown);
        return PM_REDRAW;
    }
    const struct pm_table table = series_table(drydown);
    struct pm_table_view *view = drydown->one ? &drydown->step_list : &drydown->series_list;
    return pm_table_act(&table, view, code, NULL) != 0 ? PM_REDRAW : PM_UNHANDLED;
}
