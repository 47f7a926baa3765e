/* SPDX-License-Identifier: MIT */
/* The Blotter room: the running session, the log, curves, words, details of one. */
#include "blotter.h"

#include "permille/base/amount.h"
#include "permille/base/mem.h"
#include "permille/base/utf8.h"

#include <stdio.h>
#include <string.h>

#define LABEL        11             /* cells of the labels of details */
#define BAR          "\xE2\x96\xAA" /* a small square */
#define CURVES_LEAST 10             /* rows of a drawing that gives way to sentences */

/* ---- what is running ---- */

enum { RUN_TITLE, RUN_MEDIUM, RUN_SINCE, RUN_LAST, RUN_STATE, RUN_COLUMNS };

static enum pm_role running_cell(void *context, size_t row, size_t column, struct pm_text *out)
{
    const struct blotter *blotter = context;
    const struct pm_session_entry *entry = &blotter->running.items[row];
    char span[PM_TIME_TEXT];
    switch (column) {
    case RUN_TITLE:
        pm_text_add(out, entry->title);
        return PM_ROLE_NORMAL;
    case RUN_MEDIUM:
        pm_text_add(out, pm_medium_word(entry->row.medium));
        return PM_ROLE_NORMAL;
    case RUN_SINCE:
        pm_text_add(out, pm_span_about(entry->since, span));
        return PM_ROLE_NORMAL;
    case RUN_LAST:
        if (entry->last_intensity >= 0)
            pm_text_addf(out, "%d", entry->last_intensity);
        return PM_ROLE_NORMAL;
    default:
        pm_text_add(out, entry->state);
        return entry->remark != NULL ? PM_ROLE_WARNING
               : entry->due.now      ? PM_ROLE_HEADING
                                     : PM_ROLE_FAINT;
    }
}

static void draw_running(struct blotter *blotter, const struct pm_pane *pane)
{
    const struct pm_column columns[RUN_COLUMNS] = {
        [RUN_TITLE] = {.heading = "running", .measured = true, .most = pane->columns / 3},
        [RUN_MEDIUM] = {.heading = "on", .wish = 7},
        [RUN_SINCE] = {.heading = "since", .wish = 10},
        [RUN_LAST] = {.heading = "last", .wish = 4},
        [RUN_STATE] = {.heading = "when to smell it", .wish = 1, .grows = true},
    };
    const struct pm_table table = {.columns = columns,
                                   .column_count = RUN_COLUMNS,
                                   .rows = blotter->running.count,
                                   .context = blotter,
                                   .cell = running_cell,
                                   .unselected = blotter->at >= blotter->running.count};
    blotter->running_list.row = blotter->at;
    pm_table_draw(&table, &blotter->running_list, pane);
}

/* Returns the first row below. */
static int session_rows(const struct blotter *blotter, int rows)
{
    const int most = rows > 12 ? rows / 3 : 3, count = (int)blotter->running.count;
    return 1 + (count < most ? count : most);
}

static int draw_session(struct blotter *blotter, const struct pm_pane *pane, int row)
{
    const int rows = session_rows(blotter, pane->rows);
    if (blotter->running.count == 0) {
        char key[PM_KEY_TEXT];
        pm_pane_putf(pane, row, 2, PM_ROLE_FAINT,
                     "Nothing is running: %s puts a kept trial on a blotter or on skin.",
                     pm_app_key(blotter->app, "put-on", key));
        return row + rows;
    }
    const struct pm_pane part = pm_pane_part(pane, row, 0, rows, pane->columns);
    draw_running(blotter, &part);
    return row + rows;
}

/* ---- the log ---- */

enum { TRIAL, MEDIUM, SINCE, LEVEL, LEVEL_BAR, LIKING, WORDS, COLUMNS };

static const struct pm_column note_columns[COLUMNS] = {
    [TRIAL] = {.heading = "trial", .wish = 4, .align = PM_ALIGN_RIGHT},
    [MEDIUM] = {.heading = "on", .wish = 7},
    [SINCE] = {.heading = "after", .wish = 9, .measured = true},
    [LEVEL] = {.heading = "intensity", .wish = 2, .align = PM_ALIGN_RIGHT},
    [LEVEL_BAR] = {.wish = PM_INTENSITY_MAX, .gap = 1},
    [LIKING] = {.heading = "like", .wish = 4},
    [WORDS] = {.heading = "words", .wish = 1, .gap = 1, .grows = true},
};

static void note_words(const struct pm_smell *note, struct pm_text *out)
{
    if (note->corrected_by != 0)
        pm_text_addf(out, "(now %lld) ", (long long)note->corrected_by);
    if (note->withdrawn)
        pm_text_addf(out, "(takes %lld back) ", (long long)note->corrects);
    if (note->assessor != NULL)
        pm_text_addf(out, "%s: ", note->assessor);
    pm_text_add(out, note->note != NULL ? note->note : "");
    /* One line of it; the rest is for the details. */
    for (size_t i = 0; i < out->length; i++)
        if (out->data[i] == '\n')
            out->data[i] = ' ';
}

static enum pm_role note_bar(const struct pm_smell *note, enum pm_role role, struct pm_text *out)
{
    for (int i = 0; i < note->intensity; i++)
        pm_text_add(out, BAR);
    return role == PM_ROLE_NORMAL ? PM_ROLE_BAR : role;
}

static enum pm_role note_cell(void *context, size_t row, size_t column, struct pm_text *out)
{
    const struct blotter *blotter = context;
    const struct pm_smell *note = &blotter->notes.items[row];
    const bool stands = note->corrected_by == 0 && !note->withdrawn;
    const enum pm_role role = stands ? PM_ROLE_NORMAL : PM_ROLE_FAINT;
    char span[PM_TIME_TEXT];
    switch (column) {
    case TRIAL:
        pm_text_addf(out, "%lld", (long long)note->number);
        break;
    case MEDIUM:
        pm_text_add(out, pm_medium_word(note->medium));
        break;
    case SINCE:
        pm_text_add(out, note->since == 0 ? "at once" : pm_span_about(note->since, span));
        break;
    case LEVEL:
        if (note->intensity >= 0)
            pm_text_addf(out, "%d", note->intensity);
        break;
    case LEVEL_BAR:
        return note_bar(note, role, out);
    case LIKING:
        if (note->liking >= 0)
            pm_text_addf(out, "%2d", note->liking);
        break;
    default:
        note_words(note, out);
    }
    return role;
}

static void draw_log(struct blotter *blotter, const struct pm_pane *pane)
{
    const size_t running = blotter->running.count;
    const struct pm_table table = {.columns = note_columns,
                                   .column_count = COLUMNS,
                                   .rows = blotter->notes.count,
                                   .context = blotter,
                                   .cell = note_cell,
                                   .unselected = blotter->at < running};
    blotter->note_list.row = table.unselected ? 0 : blotter->at - running;
    pm_table_draw(&table, &blotter->note_list, pane);
}

/* ---- curves ---- */

void blotter_forget_picture(struct blotter *blotter)
{
    pm_smell_picture_release(&blotter->picture);
    pm_words_release(blotter->words);
    blotter->counted = false;
    blotter->drawn_rows = blotter->drawn_columns = 0;
}

/* The newest trials that were smelled, as many as have a mark of their own each; *told: rows that
 * their sentences take. */
static size_t choose_trials(struct blotter *blotter, int64_t trials[PM_PLOT_SERIES_MAX], int *told)
{
    size_t count = 0, curves = 0;
    int64_t last = 0;
    bool media[PM_MEDIA] = {false};
    blotter->left_out = false;
    /* Notes stand by trial; backwards, the newest trial comes first. */
    for (size_t i = blotter->notes.count; i-- > 0;) {
        const struct pm_smell *note = &blotter->notes.items[i];
        if (note->trial != last)
            memset(media, 0, sizeof media);
        if (media[note->medium])
            continue;
        if (curves == PM_PLOT_SERIES_MAX) {
            blotter->left_out = true;
            /* A trial is drawn on all media or not at all. */
            count -= count > 0 && trials[count - 1] == note->trial;
            break;
        }
        media[note->medium] = true;
        curves++;
        if (note->trial != last)
            trials[count++] = note->trial;
        last = note->trial;
    }
    *told = (int)curves + blotter->left_out;
    for (size_t i = 0; i < count / 2; i++) {
        const int64_t other = trials[i];
        trials[i] = trials[count - 1 - i];
        trials[count - 1 - i] = other;
    }
    return count;
}

static int rows_of(const char *text, int cells)
{
    int rows = 0;
    for (size_t next; *text != '\0'; text += next, rows++)
        (void)pm_wrap_next(text, cells, &next);
    return rows;
}

static bool read_picture(struct blotter *blotter, const struct pm_pane *pane, const int64_t *trials,
                         size_t count, int rows)
{
    pm_smell_picture_release(&blotter->picture);
    return pm_smells_plot(blotter->house->studio, trials, count, (size_t)pane->columns - 1,
                          (size_t)rows, &blotter->picture, &blotter->unread) == PM_OK;
}

/* The drawing gives way to the sentences below it, down to what can still be read. `told`: rows
 * that the sentences take at one row each. */
static void make_picture(struct blotter *blotter, const struct pm_pane *pane, const int64_t *trials,
                         size_t count, int told)
{
    const int most = pane->rows - told;
    if (!read_picture(blotter, pane, trials, count, most))
        return;
    int rows = pane->rows - blotter->left_out;
    for (size_t i = 0; i < blotter->picture.count; i++)
        rows -= rows_of(blotter->picture.sentences[i], pane->columns);
    if (rows < CURVES_LEAST)
        rows = CURVES_LEAST;
    if (rows < most && !read_picture(blotter, pane, trials, count, rows))
        return;
    blotter->drawn_rows = pane->rows;
    blotter->drawn_columns = pane->columns;
}

/* The picture for a pane, once for each size. */
static void prepare_curves(struct blotter *blotter, const struct pm_pane *pane)
{
    int64_t trials[PM_PLOT_SERIES_MAX];
    int told;
    if (blotter->drawn_rows == pane->rows && blotter->drawn_columns == pane->columns)
        return;
    const size_t count = choose_trials(blotter, trials, &told);
    if (told > pane->rows - PM_PLOT_HEIGHT_MIN)
        told = pane->rows - PM_PLOT_HEIGHT_MIN;
    if (pane->rows - told >= PM_PLOT_HEIGHT_MIN && pane->columns - 1 >= PM_PLOT_WIDTH_MIN)
        make_picture(blotter, pane, trials, count, told);
    else
        pm_smell_picture_release(&blotter->picture);
}

static void prepare_words(struct blotter *blotter)
{
    if (!blotter->counted)
        blotter->counted = pm_smells_words(blotter->house->studio, blotter->formula, blotter->only,
                                           blotter->words, &blotter->unread) == PM_OK;
}

/* Each sentence in full where that leaves a row for each of those after it. */
static void draw_sentences(const struct blotter *blotter, const struct pm_pane *pane, int row)
{
    const struct pm_smell_picture *picture = &blotter->picture;
    for (size_t i = 0; i < picture->count && row < pane->rows; i++) {
        const int left =
            pane->rows - row - (int)(picture->count - i - 1) - (blotter->left_out ? 1 : 0);
        const int takes = rows_of(picture->sentences[i], pane->columns);
        if (takes > 1 && takes <= left)
            row += pm_pane_wrap(pane, row, PM_ROLE_FAINT, picture->sentences[i]);
        else
            pm_pane_put_left(pane, row++, 0, pane->columns, PM_ROLE_FAINT, picture->sentences[i]);
    }
}

/* Sentences below the drawing get the rows they need, as long as there is one. */
static void draw_curves(const struct blotter *blotter, const struct pm_pane *pane)
{
    const int rows = (int)blotter->picture.plot.count;
    for (int i = 0; i < rows; i++)
        pm_pane_put(pane, i, 0, PM_ROLE_NORMAL, blotter->picture.plot.rows[i]);
    if (rows == 0)
        return;
    draw_sentences(blotter, pane, rows);
    if (blotter->left_out)
        pm_pane_put_left(pane, pane->rows - 1, 0, pane->columns, PM_ROLE_WARNING,
                         "Older trials are left out: more curves than marks.");
}

/* ---- words ---- */

/* Those of one stage; where not all have room, the last row says how many there are besides. */
static void draw_stage(const struct pm_words *words, const struct pm_pane *pane)
{
    const size_t rows = pane->rows > 1 ? (size_t)pane->rows - 1 : 0;
    const size_t shown = words->count <= rows ? words->count : rows > 0 ? rows - 1 : 0;
    for (size_t i = 0; i < shown; i++) {
        pm_pane_putf(pane, (int)i + 1, 0, PM_ROLE_FAINT, "%4zu", words->items[i].count);
        pm_pane_put_left(pane, (int)i + 1, 6, pane->columns - 7, PM_ROLE_NORMAL,
                         words->items[i].text);
    }
    if (shown < words->count)
        pm_pane_putf(pane, (int)shown + 1, 2, PM_ROLE_FAINT, "and %zu more", words->count - shown);
}

static void draw_words(const struct blotter *blotter, const struct pm_pane *pane)
{
    const int cells = pane->columns / PM_STAGES;
    for (int s = 0; s < PM_STAGES; s++) {
        const struct pm_pane part = pm_pane_part(pane, 0, s * cells, pane->rows, cells);
        pm_pane_put(&part, 0, 2, PM_ROLE_HEADING, pm_stage_word((enum pm_stage)s));
        draw_stage(&blotter->words[s], &part);
    }
}

/* ---- details ---- */

static int fact(const struct pm_pane *pane, int row, const char *label, const char *text)
{
    return pm_pane_fact(pane, row, LABEL, label, PM_ROLE_NORMAL, text);
}

static int draw_strength(const struct blotter *blotter, const struct pm_pane *pane, int row,
                         pm_strength strength)
{
    char text[PM_AMOUNT_TEXT];
    return strength == 0 ? row
                         : fact(pane, row, "strength",
                                pm_strength_format(strength, blotter->house->sign, text));
}

static int draw_caution(const struct pm_pane *pane, int row, enum pm_medium medium)
{
    struct pm_pane rest = pm_pane_part(pane, row, 0, pane->rows - row, pane->columns);
    return row + pm_pane_wrap(&rest, 0, medium == PM_ON_SKIN ? PM_ROLE_WARNING : PM_ROLE_FAINT,
                              pm_medium_caution(medium));
}

static void running_details(const struct blotter *blotter, const struct pm_pane *pane,
                            const struct pm_session_entry *entry)
{
    char time[PM_TIME_TEXT], count[32];
    pm_pane_put_left(pane, 0, 0, pane->columns, PM_ROLE_HEADING, entry->title);
    snprintf(count, sizeof count, "%zu time%s", entry->smelled, entry->smelled == 1 ? "" : "s");
    int row = fact(pane, 1, "on", pm_medium_word(entry->row.medium));
    row = draw_strength(blotter, pane, row, entry->row.strength);
    row = fact(pane, row, "put on", pm_time_format(entry->row.applied_at, time));
    row = fact(pane, row, "smelled", count);
    row = fact(pane, row, "now", entry->state);
    row = fact(pane, row, "schedule", entry->row.schedule);
    row = fact(pane, row, "note", entry->row.note);
    row = fact(pane, row, "look", entry->remark);
    draw_caution(pane, row + 1, entry->row.medium);
}

static void note_details(const struct blotter *blotter, const struct pm_pane *pane,
                         const struct pm_smell *note)
{
    char time[PM_TIME_TEXT], about[96];
    struct pm_text title = PM_TEXT_EMPTY;
    blotter_title(blotter, note->number, &title);
    pm_pane_put_left(pane, 0, 0, pane->columns, PM_ROLE_HEADING, pm_text_get(&title));
    pm_text_release(&title);
    snprintf(about, sizeof about, "%lld", (long long)note->id);
    int row = fact(pane, 1, "note", about);
    row = fact(pane, row, "on", pm_medium_word(note->medium));
    row = draw_strength(blotter, pane, row, note->strength);
    row =
        fact(pane, row, "after", note->since == 0 ? "at once" : pm_span_format(note->since, time));
    row = fact(pane, row, "stage", pm_stage_word(pm_stage_at(note->since, NULL)));
    row = fact(pane, row, "smelled", pm_time_format(note->at, time));
    row = fact(pane, row, "by", note->assessor);
    if (note->corrects != 0) {
        snprintf(about, sizeof about, "note %lld", (long long)note->corrects);
        row = fact(pane, row, note->withdrawn ? "takes back" : "corrects", about);
    }
    if (note->corrected_by != 0) {
        snprintf(about, sizeof about, "note %lld", (long long)note->corrected_by);
        row = fact(pane, row, "now", about);
    }
    row = fact(pane, row + 1, "words", note->note);
    if (note->medium == PM_ON_SKIN)
        draw_caution(pane, row + 1, note->medium);
}

/* ---- together ---- */

static void write_state(const struct blotter *blotter, struct pm_text *out)
{
    char time[PM_TIME_TEXT];
    pm_text_addf(out, "%zu running", blotter->running.count);
    if (blotter->running.due > 0)
        pm_text_addf(out, DOT "%zu to be smelled now", blotter->running.due);
    pm_text_addf(out, DOT "%zu note%s%s", blotter->notes.count,
                 blotter->notes.count == 1 ? "" : "s",
                 blotter->corrected_too ? ", corrected ones too" : "");
    pm_text_addf(out, DOT "%s", pm_time_format(pm_app_now(blotter->app), time));
}

static const char *view_word(const struct blotter *blotter)
{
    static const char *const words[VIEW_COUNT] = {"log", "intensity over time", "words by stage"};
    return words[blotter->view];
}

static void draw_lower(struct blotter *blotter, const struct pm_pane *pane)
{
    char key[PM_KEY_TEXT];
    struct pm_text title = PM_TEXT_EMPTY;
    struct pm_pane below = pm_pane_part(pane, 1, 0, pane->rows - 1, pane->columns);
    pm_text_add(&title, view_word(blotter));
    if (blotter->name != NULL) {
        pm_text_add(&title, " of ");
        if (blotter->only != 0)
            blotter_title(blotter, blotter->only, &title);
        else
            pm_text_add(&title, blotter->name);
    }
    pm_pane_rule(pane, 0, pm_text_get(&title));
    pm_text_release(&title);
    if (blotter->name == NULL)
        pm_formulas_invite(blotter->app, &below, 0);
    else if (blotter->notes.count == 0)
        pm_pane_putf(&below, 0, 2, PM_ROLE_FAINT,
                     "Nothing of it has been smelled yet: %s or a digit notes it.",
                     pm_app_key(blotter->app, "smell-note", key));
    else if (blotter->unread.status != PM_OK)
        pm_pane_put(&below, 0, 2, PM_ROLE_ERROR, blotter->unread.text);
    else if (blotter->view == VIEW_LOG)
        draw_log(blotter, &below);
    else if (blotter->view == VIEW_CURVES)
        draw_curves(blotter, &below);
    else
        draw_words(blotter, &below);
}

void blotter_prepare(void *state, const struct pm_canvas *canvas)
{
    struct blotter *blotter = state;
    const struct pm_pane *sheet = &canvas->sheet;
    const int above = 2 + session_rows(blotter, sheet->rows);
    const struct pm_pane below = pm_pane_part(sheet, above, 0, sheet->rows - above, sheet->columns);
    blotter->unread = (struct pm_error){0};
    if (blotter->testing || blotter->name == NULL || blotter->notes.count == 0)
        return;
    if (blotter->view == VIEW_CURVES)
        prepare_curves(blotter, &below);
    else if (blotter->view == VIEW_WORDS)
        prepare_words(blotter);
}

void blotter_paint(struct blotter *blotter, const struct pm_canvas *canvas)
{
    struct pm_text state = PM_TEXT_EMPTY;
    const struct pm_pane *sheet = &canvas->sheet;
    const struct pm_session_entry *running = blotter_running(blotter);
    const struct pm_smell *note = blotter_note(blotter);
    if (blotter->name != NULL)
        pm_pane_put_left(&canvas->heading, 0, 0, canvas->heading.columns, PM_ROLE_HEADING,
                         blotter->name);
    pm_pane_cursor(sheet, 0, 0);
    write_state(blotter, &state);
    pm_pane_put_left(sheet, 0, 0, sheet->columns, PM_ROLE_NORMAL, pm_text_get(&state));
    pm_text_release(&state);
    const int row = draw_session(blotter, sheet, 1);
    const struct pm_pane lower = pm_pane_part(sheet, row, 0, sheet->rows - row, sheet->columns);
    draw_lower(blotter, &lower);
    if (canvas->details.columns < 20)
        return;
    if (running != NULL)
        running_details(blotter, &canvas->details, running);
    else if (note != NULL)
        note_details(blotter, &canvas->details, note);
}
