/* SPDX-License-Identifier: MIT */
/* The Bench: going to a line by part of its name. */
#include "bench.h"

#include "kit/overlay.h"

static const struct pm_sheet_line *line_of(const struct bench *bench, size_t place)
{
    const struct pm_sheet *sheet = bench_sheet(bench);
    return sheet != NULL && place < sheet->trial.count ? &sheet->lines[place] : NULL;
}

static void words(void *context, size_t place, struct pm_text *out)
{
    const struct pm_sheet_line *line = line_of(context, place);
    if (line != NULL)
        pm_text_addf(out, "%s %s %s %s %s", line->title, line->solvent != NULL ? line->solvent : "",
                     line->cas != NULL ? line->cas : "", line->family != NULL ? line->family : "",
                     line->line->comment != NULL ? line->line->comment : "");
}

static void row_of(void *context, size_t place, struct pm_pick_row *row)
{
    const struct bench *bench = context;
    const struct bench_column *figures = &bench->figures.parts;
    const struct pm_sheet_line *line = line_of(bench, place);
    char parts[PM_AMOUNT_TEXT];
    if (line == NULL)
        return;
    pm_text_addf(&row->cells[0], "%zu", place + 1);
    pm_text_add(&row->cells[1], line->title);
    pm_text_add(&row->cells[2], pm_column_row_text(&figures->total, figures->values[place],
                                                   bench->house->sign, parts));
    pm_text_add(&row->cells[3], line->line->comment != NULL ? line->line->comment
                                : line->family != NULL      ? line->family
                                                            : "");
}

static enum pm_status accept(void *context, size_t place, const char *text, struct pm_error *err)
{
    (void)text;
    (void)err;
    bench_select(context, place);
    return PM_OK;
}

void bench_find(void *state)
{
    struct bench *bench = state;
    const struct pm_sheet *sheet = bench_sheet(bench);
    if (sheet == NULL || sheet->trial.count == 0) {
        pm_app_say(bench->app, "There is no line yet.");
        return;
    }
    const struct pm_picker_spec spec = {
        .title = "Find a line",
        .label = "Line",
        .columns = {{.heading = "#", .wish = 4, .align = PM_ALIGN_RIGHT},
                    {.heading = "material", .wish = 24, .grows = true},
                    {.heading = "parts", .wish = 12, .align = PM_ALIGN_RIGHT, .measured = true},
                    {.heading = "comment / family", .wish = 20}},
        .column_count = 4,
        .count = sheet->trial.count,
        .words = words,
        .row = row_of,
        .accept = accept,
        .context = bench,
    };
    pm_picker_open(bench->app, &spec);
}
