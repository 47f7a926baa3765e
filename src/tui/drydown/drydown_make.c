/* SPDX-License-Identifier: MIT */
/* The Drydown room: forms that make a series. */
#include "drydown.h"

#include "kit/overlay.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/studio/bench.h"

#include <string.h>

#define LINES_MOST PM_SERIES_TRIALS_MOST

static const char *const yes_no[] = {"no", "yes", NULL};
static const char *const steps[] = {"equal ratios", "equal steps", NULL};

/* ---- lines ---- */

static bool begins(const char *name, const char *typed)
{
    char *a = pm_fold(name), *b = pm_fold(typed);
    const bool so = a != NULL && b != NULL && strncmp(a, b, strlen(b)) == 0;
    pm_free(a);
    pm_free(b);
    return so;
}

/* The round-th line of the draft that begins with what stands behind the last comma. */
static bool complete_line(void *context, const char *before, size_t round, struct pm_text *out)
{
    const struct drydown *drydown = context;
    const char *comma = strrchr(before, ',');
    size_t stem = comma != NULL ? (size_t)(comma - before) + 1 : 0;
    struct pm_sheet *sheet;
    bool found = false;
    stem += strspn(before + stem, " ");
    if (pm_sheet_open_draft(drydown->house->studio, drydown->formula, &sheet, NULL) != PM_OK)
        return false;
    for (size_t i = 0; i < sheet->trial.count && !found; i++)
        if (begins(sheet->lines[i].title, before + stem) && round-- == 0) {
            pm_text_add_bytes(out, before, stem);
            pm_text_add(out, sheet->lines[i].title);
            found = true;
        }
    pm_sheet_free(sheet);
    return found;
}

/* "A, B, C" cut at its commas, in place. */
static size_t split(char *text, const char **out, size_t most)
{
    size_t count = 0;
    while (text != NULL && count < most) {
        char *comma = strchr(text, ',');
        if (comma != NULL)
            *comma = '\0';
        text += strspn(text, " ");
        size_t length = strlen(text);
        while (length > 0 && text[length - 1] == ' ')
            text[--length] = '\0';
        if (length > 0)
            out[count++] = text;
        text = comma != NULL ? comma + 1 : NULL;
    }
    return count;
}

static enum pm_status made(struct drydown *drydown, enum pm_status status,
                           struct pm_series_made *series, const char *field, struct pm_error *err)
{
    if (status == PM_OK)
        series_show(drydown, series);
    return pm_error_at(err, field, status);
}

/* ---- a ladder ---- */

static enum pm_status take_ladder(void *context, const char *const values[], struct pm_error *err)
{
    struct drydown *drydown = context;
    const struct pm_series_form form = {
        .formula = drydown->formula, .name = values[5], .blind = strcmp(values[6], "yes") == 0};
    const struct pm_ladder_form ladder = {.line = values[0],
                                          .from = values[1],
                                          .to = values[2],
                                          .count = values[3],
                                          .equal_steps = strcmp(values[4], steps[1]) == 0};
    struct pm_series_made series;
    return made(drydown, pm_series_ladder(drydown->house->studio, &form, &ladder, &series, err),
                &series, "line", err);
}

#define NAME_FIELD                                                                                 \
    {                                                                                              \
        .key = "name", .label = "Name", .hint = "Empty: made of what it is about."                 \
    }
#define BLIND_FIELD                                                                                \
    {                                                                                              \
        .key = "blind", .label = "Blind", .text = "no", .choices = yes_no,                         \
        .hint = "A blind test as well: codes on the vials, see the Blotter."                       \
    }

static void ask_ladder(struct drydown *drydown)
{
    const struct pm_form_spec spec = {
        .title = "A dose ladder: one line at rising doses",
        .fields =
            {{.key = "line",
              .label = "Line",
              .hint = "Tab completes the draft's lines.",
              .complete = complete_line},
             {.key = "from", .label = "From", .hint = "The least dose, in parts.", .limit = 40},
             {.key = "to", .label = "To", .hint = "The most.", .limit = 40},
             {.key = "count",
              .label = "Doses",
              .text = "5",
              .hint = "Doses in ratios of 1.5 to 2 are told apart.",
              .limit = 10},
             {.key = "steps", .label = "Spaced", .text = steps[0], .choices = steps},
             NAME_FIELD,
             BLIND_FIELD},
        .field_count = 7,
        .accept = take_ladder,
        .writes = true,
        .context = drydown,
    };
    pm_form_open(drydown->app, &spec);
}

/* ---- one left out ---- */

static enum pm_status take_leave_out(void *context, const char *const values[],
                                     struct pm_error *err)
{
    struct drydown *drydown = context;
    const struct pm_series_form form = {.formula = drydown->formula,
                                        .name = values[1],
                                        .blind = strcmp(values[2], "yes") == 0,
                                        .rounds = values[3]};
    const char *lines[LINES_MOST];
    struct pm_series_made series;
    char *text = pm_strdup(values[0]);
    if (text == NULL)
        return pm_fail_memory(err);
    const size_t count = split(text, lines, LINES_MOST);
    const enum pm_status status =
        pm_series_leave_out(drydown->house->studio, &form, lines, count, &series, err);
    pm_free(text);
    return made(drydown, status, &series, "lines", err);
}

static void ask_leave_out(struct drydown *drydown)
{
    const struct pm_form_spec spec = {
        .title = "Leave out: the draft, and a trial without each of the lines",
        .fields = {{.key = "lines",
                    .label = "Lines",
                    .hint = "With commas between; Tab completes.",
                    .complete = complete_line},
                   NAME_FIELD,
                   BLIND_FIELD,
                   {.key = "rounds",
                    .label = "Rounds",
                    .hint = "Of each test; empty: enough for a clear difference.",
                    .limit = 10}},
        .field_count = 4,
        .accept = take_leave_out,
        .writes = true,
        .context = drydown,
    };
    pm_form_open(drydown->app, &spec);
}

/* ---- ratios ---- */

/* "10%, , 0%": one bound per line, empty ones left open. */
static void split_bounds(char *text, const char **out, size_t count)
{
    for (size_t i = 0; i < count; i++) {
        char *comma = text != NULL ? strchr(text, ',') : NULL;
        out[i] = text;
        if (comma != NULL)
            *comma = '\0';
        text = comma != NULL ? comma + 1 : NULL;
    }
}

static enum pm_status take_ratios(void *context, const char *const values[], struct pm_error *err)
{
    struct drydown *drydown = context;
    const struct pm_series_form form = {
        .formula = drydown->formula, .name = values[4], .blind = strcmp(values[5], "yes") == 0};
    const char *lines[PM_MIX_MOST + 1], *least[PM_MIX_MOST + 1], *most[PM_MIX_MOST + 1];
    char *texts[3] = {pm_strdup(values[0]), pm_strdup(values[2]), pm_strdup(values[3])};
    struct pm_ratios_form ratios = {.lines = lines, .least = least, .most = most};
    struct pm_series_made series;
    int64_t degree = 0;
    enum pm_status status =
        texts[0] != NULL && texts[1] != NULL && texts[2] != NULL ? PM_OK : pm_fail_memory(err);
    if (status == PM_OK && !pm_is_blank(values[1]))
        status =
            pm_error_at(err, "lattice",
                        pm_decimal_read(values[1], 0, "The degree of the lattice", &degree, err));
    if (status == PM_OK && degree > 10)
        status = pm_fail_at(err, "lattice", PM_INVALID, "The degree of a lattice is 1 to 10.");
    if (status == PM_OK) {
        ratios.count = split(texts[0], lines, PM_MIX_MOST + 1);
        split_bounds(texts[1], least, ratios.count);
        split_bounds(texts[2], most, ratios.count);
        ratios.degree = (int)degree;
        status = pm_series_ratios(drydown->house->studio, &form, &ratios, &series, err);
    }
    for (int i = 0; i < 3; i++)
        pm_free(texts[i]);
    return made(drydown, status, &series, "lines", err);
}

static void ask_ratios(struct drydown *drydown)
{
    const struct pm_form_spec spec = {
        .title = "A design of ratios: two to five lines, their sum stays",
        .fields = {{.key = "lines",
                    .label = "Lines",
                    .hint = "With commas between; Tab completes.",
                    .complete = complete_line},
                   {.key = "lattice",
                    .label = "Lattice",
                    .hint = "Shares in multiples of 1/M; empty: equal blends of every subset.",
                    .limit = 10},
                   {.key = "least",
                    .label = "Least",
                    .hint = "Least shares in the order of the lines: 10%, 0%, 20%."},
                   {.key = "most", .label = "Most", .hint = "Most shares, as above."},
                   NAME_FIELD,
                   BLIND_FIELD},
        .field_count = 6,
        .accept = take_ratios,
        .writes = true,
        .context = drydown,
    };
    pm_form_open(drydown->app, &spec);
}

/* ---- which ---- */

static enum pm_status choose(void *context, size_t option, struct pm_error *err)
{
    (void)err;
    if (option == 0)
        ask_ladder(context);
    else if (option == 1)
        ask_leave_out(context);
    else
        ask_ratios(context);
    return PM_OK;
}

void series_new(void *state)
{
    struct drydown *drydown = state;
    const struct pm_choice_spec spec = {
        .title = "A new series",
        .question = "The trials are kept one after the other; the draft stays as it is.",
        .options = {{'l', "a dose ladder"}, {'o', "one line left out"}, {'r', "ratios"}},
        .option_count = 3,
        .accept = choose,
        .context = drydown};
    if (drydown->house->formula == 0)
        pm_app_say(drydown->app, "No formula is open.");
    else
        pm_choice_open(drydown->app, &spec);
}
