/* SPDX-License-Identifier: MIT */
/* The sample application. */
#include "sample.h"

#include "src/tui/kit/loop.h"

#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Names that put clipping to the test. Wide: U+9999 U+6C34; combining: e and U+0301; a joined
 * emoji; bytes that are not UTF-8; control and bidirectional characters. */
static const char *const hard_names[] = {
    "plain name",
    "\xE9\xA6\x99\xE6\xB0\xB4 wide",
    "de\xCC\x81"
    "compose\xCC\x81",
    "\xF0\x9F\x8C\xB9 flower",
    "bad \xC3\x28 \xFF bytes",
    "esc \x1B[31m red",
    "turned \xE2\x80\xAE round",
    "a name so long that it cannot be shown in its column and has to be cut somewhere",
    "\xE9\xA6\x99\xE9\xA6\x99\xE9\xA6\x99\xE9\xA6\x99\xE9\xA6\x99\xE9\xA6\x99\xE9\xA6\x99\xE9\xA6"
    "\x99\xE9\xA6\x99\xE9\xA6\x99\xE9\xA6\x99\xE9\xA6\x99\xE9\xA6\x99\xE9\xA6\x99\xE9\xA6\x99",
    "many marks o\xCC\x81\xCC\x82\xCC\x83\xCC\x84\xCC\x85\xCC\x86\xCC\x87\xCC\x88 end",
};
#define HARD (int)(sizeof hard_names / sizeof *hard_names)

void (*sample_on_copy)(void);

void sample_init(struct sample *sample)
{
    *sample = (struct sample){.count = SAMPLE_ROWS, .due_time = INT64_MAX, .wake = INT64_MAX};
    pm_field_init(&sample->field, 12);
    for (int i = 0; i < SAMPLE_ROWS; i++) {
        sample->values[i] = sample->before[i] = 10 * i;
        if (i < HARD)
            snprintf(sample->names[i], sizeof sample->names[i], "%s", hard_names[i]);
        else
            snprintf(sample->names[i], sizeof sample->names[i], "row number %d", i);
    }
}

void sample_release(struct sample *sample)
{
    pm_field_release(&sample->field);
}

/* ---- the sheet ------------------------------------------------------------------------------- */

static enum pm_status sheet_open(struct pm_app *app, void **state, struct pm_error *err)
{
    (void)err;
    struct sample *sample = pm_app_host(app);
    sample->app = app;
    *state = sample;
    return PM_OK;
}

static void sheet_draw(void *state, const struct pm_canvas *canvas)
{
    struct sample *sample = state;
    const struct pm_pane *pane = &canvas->sheet;
    int rows = pane->rows - 1;
    int first = sample->row >= rows ? sample->row - rows + 1 : 0;
    pm_pane_putf(&canvas->heading, 0, 0, PM_ROLE_FAINT, "%d rows", sample->count);
    pm_pane_put_left(pane, 0, 0, 24, PM_ROLE_FAINT, "name");
    pm_pane_put_right(pane, 0, 26, 12, PM_ROLE_FAINT, "value");
    for (int y = 0; y < rows && first + y < sample->count; y++) {
        int i = first + y, row = y + 1;
        pm_pane_put_left(pane, row, 0, 24, PM_ROLE_NORMAL, sample->names[i]);
        pm_pane_put(pane, row, 24, PM_ROLE_RULE, "|");
        char value[32];
        snprintf(value, sizeof value, "%d", sample->values[i]);
        pm_pane_put_right(pane, row, 26, 12, i % 7 == 3 ? PM_ROLE_TRACE : PM_ROLE_NORMAL, value);
        pm_pane_put(pane, row, 39, PM_ROLE_RULE, "|");
        pm_pane_repeat(pane, row, 41, i % 20, PM_ROLE_BAR, "\xE2\x96\x88");
        if (i != sample->row)
            continue;
        if (sample->editing) {
            pm_field_draw(&sample->field, pane, row, 26, 12, true);
        } else {
            pm_pane_overlay(pane, row, 0, 1, 39, PM_ROLE_SELECTED);
            pm_pane_cursor(pane, row, 26);
        }
    }
    if (canvas->details.columns > 0)
        pm_pane_wrap(&canvas->details, 0, PM_ROLE_NORMAL, sample->names[sample->row]);
}

static unsigned sheet_mode(const void *state)
{
    const struct sample *sample = state;
    return sample->editing ? PM_MODE_EDIT : PM_MODE_SHEET;
}

static enum pm_status save(void *context, struct pm_error *err)
{
    struct sample *sample = context;
    sample->saves++;
    sample->saved_at = ++sample->order;
    return sample->save_fails ? pm_fail(err, PM_FULL, "The disk is full; nothing was saved.")
                              : PM_OK;
}

static void save_later(struct sample *sample)
{
    struct pm_job job = {.run = save, .context = sample, .saved = "Saved."};
    pm_app_later(sample->app, &job);
}

static void commit(struct sample *sample)
{
    memcpy(sample->before, sample->values, sizeof sample->before);
    sample->values[sample->row] = atoi(sample->field.text);
    sample->editing = false;
    save_later(sample);
}

static unsigned edit_act(struct sample *sample, int code)
{
    switch (code) {
    case PM_ACT_ACCEPT:
        commit(sample);
        return PM_REDRAW;
    case PM_ACT_CANCEL:
        sample->editing = false;
        return PM_REDRAW;
    default:
        return pm_field_act(&sample->field, code) == PM_FIELD_IGNORED ? PM_UNHANDLED : PM_REDRAW;
    }
}

/* ---- overlays -------------------------------------------------------------------------------- */

static void closed(void *context)
{
    struct sample *sample = context;
    sample->closed++;
}

static enum pm_status accept(struct sample *sample, struct pm_error *err)
{
    return sample->refuse ? pm_fail(err, PM_REFUSED, "Refused: \"%s\".", sample->accepted) : PM_OK;
}

static enum pm_role name_check(void *context, const char *text, struct pm_text *out)
{
    (void)context;
    if (!*text) {
        pm_text_add(out, "A name is needed.");
        return PM_ROLE_ERROR;
    }
    pm_text_addf(out, "%zu bytes", strlen(text));
    return PM_ROLE_FAINT;
}

static bool name_complete(void *context, const char *before, size_t round, struct pm_text *out)
{
    static const char *const words[] = {"green", "greasy", "grey"};
    (void)context;
    for (size_t i = 0; i < 3; i++) {
        if (strncmp(words[i], before, strlen(before)) == 0 && round-- == 0) {
            pm_text_add(out, words[i]);
            return true;
        }
    }
    return false;
}

static enum pm_status name_accept(void *context, const char *text, struct pm_error *err)
{
    struct sample *sample = context;
    snprintf(sample->accepted, sizeof sample->accepted, "%s", text);
    return accept(sample, err);
}

static enum pm_role form_check(void *context, const char *const values[], struct pm_text *out)
{
    return name_check(context, values[0], out);
}

static enum pm_status form_accept(void *context, const char *const values[], struct pm_error *err)
{
    struct sample *sample = context;
    snprintf(sample->accepted, sizeof sample->accepted, "%s/%s/%s", values[0], values[1],
             values[2]);
    return pm_error_at(err, "kind", accept(sample, err));
}

static size_t pick_filter(void *context, const char *text, bool *more)
{
    struct sample *sample = context;
    sample->filters++;
    if (!*text) {
        *more = false;
        return 100000;
    }
    *more = true;
    return strcmp(text, "zzz") == 0 ? 0 : 200;
}

static void pick_row(void *context, size_t index, struct pm_pick_row *row)
{
    struct sample *sample = context;
    sample->rows_asked++;
    pm_text_addf(&row->cells[0], "entry %zu", index);
    pm_text_add(&row->cells[1], hard_names[index % (size_t)HARD]);
    pm_text_addf(&row->cells[2], "%zu", index * 3);
    if (index % 5 == 4)
        row->role = PM_ROLE_FAINT;
}

static enum pm_status pick_accept(void *context, size_t index, const char *text,
                                  struct pm_error *err)
{
    struct sample *sample = context;
    sample->picks++;
    snprintf(sample->accepted, sizeof sample->accepted, "%zu %s", index, text);
    return accept(sample, err);
}

static enum pm_status ask_accept(void *context, size_t option, struct pm_error *err)
{
    struct sample *sample = context;
    snprintf(sample->accepted, sizeof sample->accepted, "option %zu", option);
    return accept(sample, err);
}

static struct sample *handle(void *state)
{
    struct sample *sample = state;
    sample->key_at = ++sample->order;
    return sample;
}

static void ask_name(void *state)
{
    struct sample *sample = handle(state);
    struct pm_prompt_spec spec = {.title = "A new name",
                                  .label = "Name",
                                  .text = "",
                                  .check = name_check,
                                  .complete = name_complete,
                                  .accept = name_accept,
                                  .writes = sample->writes,
                                  .closed = closed,
                                  .context = sample};
    pm_prompt_open(sample->app, &spec);
}

static void ask_form(void *state)
{
    struct sample *sample = handle(state);
    static const char *const kinds[] = {"chemical", "natural", "solvent", NULL};
    struct pm_form_spec spec = {
        .title = "A new thing",
        .fields = {{.label = "Name", .check = form_check, .complete = name_complete},
                   {.key = "kind",
                    .label = "Kind",
                    .text = "natural",
                    .choices = kinds,
                    .hint = "Its kind"},
                   {.label = "Amount left", .text = "10 g", .limit = 20}},
        .field_count = 3,
        .accept = form_accept,
        .writes = sample->writes,
        .closed = closed,
        .context = sample};
    pm_form_open(sample->app, &spec);
}

static void ask_pick(void *state)
{
    struct sample *sample = handle(state);
    struct pm_picker_spec spec = {
        .title = "Pick an entry",
        .label = "Entry",
        .columns = {{.heading = "entry", .wish = 14},
                    {.heading = "name", .wish = 4, .grows = true},
                    {.heading = "value", .wish = 10, .align = PM_ALIGN_RIGHT}},
        .column_count = 3,
        .filter = pick_filter,
        .row = pick_row,
        .accept = pick_accept,
        .none_hint = "Nothing is called that.",
        .closed = closed,
        .context = sample};
    pm_picker_open(sample->app, &spec);
}

static void ask_choice(void *state)
{
    struct sample *sample = handle(state);
    struct pm_choice_spec spec = {
        .title = "A question",
        .question = "Which of the two is it to be?",
        .options = {{'n', "neither of them"}, {'f', "the first"}, {'s', "the second"}},
        .option_count = 3,
        .accept = ask_accept,
        .writes = sample->writes,
        .closed = closed,
        .context = sample};
    pm_choice_open(sample->app, &spec);
}

static void open_page(void *state)
{
    struct sample *sample = handle(state);
    struct pm_page *page = pm_page_new("A long text");
    pm_page_add(page, PM_ROLE_HEADING, 0, "The first line is a heading");
    for (int i = 1; i < 100; i++)
        pm_page_addf(page, PM_ROLE_NORMAL, 4, "%2d  a line that says little", i);
    pm_page_add(page, PM_ROLE_NORMAL, 4,
                "100 and the last one is so long that it does not fit into the eighty columns of "
                "a small terminal, and is continued below its own text");
    pm_page_open(sample->app, page, false);
}

static enum pm_status away(void *context, struct pm_error *err)
{
    (void)context;
    char line[16];
    fputs("[away]\r\n", stdout);
    fflush(stdout);
    return fgets(line, sizeof line, stdin) != NULL ? PM_OK
                                                   : pm_fail(err, PM_IO, "Nobody answered.");
}

/* Not a constant, or the compiler would see through it. */
static volatile uintptr_t nowhere = 8;

static void undo(void *state)
{
    struct sample *sample = handle(state);
    memcpy(sample->values, sample->before, sizeof sample->before);
    save_later(sample);
}

static void fail_to_save(void *state)
{
    struct sample *sample = handle(state);
    sample->save_fails = true;
    save_later(sample);
}

static void copy_text(void *state)
{
    struct pm_text where = PM_TEXT_EMPTY;
    pm_app_copy(handle(state)->app, "two lines\nof text", &where, NULL);
    pm_text_release(&where);
    if (sample_on_copy != NULL)
        sample_on_copy();
}

static void go_away(void *state)
{
    struct sample *sample = handle(state);
    struct pm_job job = {.run = away, .context = sample, .saved = "Back.", .away = true};
    pm_app_later(sample->app, &job);
}

static void crash(void *state)
{
    (void)state;
    *(volatile int *)nowhere = 1;
}

static void give_up(void *state)
{
    (void)state;
    abort();
}

static unsigned sheet_act(void *state, int code)
{
    struct sample *sample = handle(state);
    if (sample->editing)
        return edit_act(sample, code);
    switch (code) {
    case PM_ACT_UP:
        sample->row -= sample->row > 0;
        return PM_REDRAW;
    case PM_ACT_DOWN:
        sample->row += sample->row + 1 < sample->count;
        return PM_REDRAW;
    case PM_ACT_FIRST:
        sample->row = 0;
        return PM_REDRAW;
    case PM_ACT_LAST:
        sample->row = sample->count - 1;
        return PM_REDRAW;
    default:
        return PM_UNHANDLED;
    }
}

static unsigned sheet_text(void *state, const char *text, bool pasted)
{
    struct sample *sample = state;
    if (!sample->editing) {
        if (pasted || *text < '0' || *text > '9')
            return PM_UNHANDLED;
        pm_field_set(&sample->field, "");
        sample->editing = true;
    }
    pm_field_insert(&sample->field, text);
    return PM_REDRAW;
}

static const char *const hints[] = {"name pick undo find-action quit", "accept back", NULL};

static size_t sheet_hint(const void *state)
{
    const struct sample *sample = state;
    return sample->editing;
}

static const char *sheet_unsaved(const void *state)
{
    const struct sample *sample = state;
    return sample->editing ? "A half-typed number" : NULL;
}

static void nothing_to_close(void *state)
{
    (void)state;
}

#define HERE PM_MODE_SHEET

static const struct pm_action rows[] = {
    {"undo", "undo", "Takes the last change back.", "Rows", "u Ctrl-Z", HERE, .run = undo},
    {"name", "new name", "Asks for a name.", "Rows", "n", HERE, .run = ask_name},
    {"pick", "pick an entry", "Shows a long list.", "Rows", "p", HERE, .run = ask_pick},
    {"form", "fill in a form", "Asks for several things.", "Rows", "f", HERE, .run = ask_form},
    {"ask", "ask", "Asks a question.", "Rows", "k", HERE, .run = ask_choice},
    {"page", "read a page", "Shows a long text.", "Rows", "t", HERE, .run = open_page},
    {"fail", "fail to save", "Tries to save and fails.", "Trouble", "e", HERE, .run = fail_to_save},
    {"copy", "copy a text", "Copies a text to the clipboard.", "Rows", "c", HERE, .run = copy_text},
    {"away", "go away", "Gives the terminal back for a line.", "Rows", "w", HERE, .run = go_away},
    {"crash", "crash", "Writes where nothing is.", "Trouble", "X", HERE, .run = crash},
    {"abort", "abort", "Gives up.", "Trouble", "A", HERE, .run = give_up},
};

static const struct pm_action_table actions = {rows, sizeof rows / sizeof *rows};

static const struct pm_room sheet = {
    .id = "sheet",
    .name = "Sheet",
    .keys = "S F2",
    .help = "Rows of names and numbers; digits begin to edit.",
    .details = true,
    .open = sheet_open,
    .draw = sheet_draw,
    .mode = sheet_mode,
    .actions = &actions,
    .act = sheet_act,
    .text = sheet_text,
    .hints = hints,
    .hint = sheet_hint,
    .unsaved = sheet_unsaved,
    .close = nothing_to_close,
};

/* ---- the other rooms ------------------------------------------------------------------------- */

static void other_draw(void *state, const struct pm_canvas *canvas)
{
    struct sample *sample = state;
    pm_pane_putf(&canvas->sheet, 0, 0, PM_ROLE_NORMAL, "The other room, woken %d times",
                 sample->ticks);
    pm_pane_cursor(&canvas->sheet, 0, 0);
}

static unsigned other_act(void *state, int code)
{
    (void)state;
    (void)code;
    return PM_UNHANDLED;
}

static int64_t other_wake(const void *state)
{
    return ((const struct sample *)state)->wake;
}

static unsigned other_tick(void *state, int64_t now)
{
    struct sample *sample = state;
    sample->ticks++;
    if (sample->wake > 0)
        sample->wake = now + 60;
    return PM_REDRAW;
}

static const struct pm_room other = {
    .id = "other",
    .name = "Other",
    .keys = "O F3",
    .help = "Another room, which counts how often it is woken.",
    .open = sheet_open,
    .draw = other_draw,
    .act = other_act,
    .wake = other_wake,
    .tick = other_tick,
    .close = nothing_to_close,
};

static enum pm_status closed_open(struct pm_app *app, void **state, struct pm_error *err)
{
    (void)app;
    (void)state;
    return pm_fail(err, PM_REFUSED, "This room is closed.");
}

static const struct pm_room locked = {
    .id = "locked",
    .name = "Locked",
    .keys = "L",
    .help = "A room that cannot be entered.",
    .open = closed_open,
    .draw = other_draw,
    .act = other_act,
    .close = nothing_to_close,
};

static const struct pm_room *const rooms[] = {&sheet, &other, &locked};

static int64_t sample_due(void *host, int64_t now, struct pm_due_here *notes)
{
    struct sample *sample = host;
    if (now < sample->due_time)
        return sample->due_time;
    snprintf(notes[0].note, sizeof notes[0].note, "1 due: a sample with a name of some length");
    snprintf(notes[0].brief, sizeof notes[0].brief, "1 due");
    return INT64_MAX;
}

struct pm_app_spec sample_spec(struct sample *sample)
{
    return (struct pm_app_spec){
        .name = "sample",
        .rooms = rooms,
        .room_count = sizeof rooms / sizeof *rooms,
        .host = sample,
        .due = sample_due,
    };
}

int sample_main(void *context)
{
    struct pm_error err = {0};
    struct pm_term *term = NULL;
    struct pm_app *app = NULL;
    struct sample sample;
    int number = 0;
    const struct pm_term_manner *manner = context;
    const struct pm_term_manner usual = {.theme = PM_THEME_BOTH};
    if (pm_term_open(&term, manner != NULL ? manner : &usual, &err) != PM_OK) {
        fprintf(stderr, "sample: %s\n", err.text);
        return 2;
    }
    sample_init(&sample);
    struct pm_app_spec spec = sample_spec(&sample);
    enum pm_status status = pm_app_new(&app, &spec, &err);
    if (status == PM_OK && !pm_term_utf8(term))
        pm_app_warn(app, "This locale is not UTF-8: letters outside ASCII are replaced.");
    if (status == PM_OK)
        status = pm_loop_run(app, term, &number, &err);
    pm_app_free(app);
    pm_term_close(term);
    sample_release(&sample);
    if (status != PM_OK)
        fprintf(stderr, "sample: %s\n", err.text);
    if (number)
        raise(number);
    return status != PM_OK ? 1 : 0;
}
