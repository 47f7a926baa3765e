/* SPDX-License-Identifier: MIT */
/* The Bench: picking a kept trial of an accord. */
#include "bench.h"

#include "kit/overlay.h"

#define HOW_ACCORDS_COME                                                                           \
    "The action \"this formula\" makes the formula on the bench an accord; folding marked lines "  \
    "makes one as well."

struct accords {
    struct bench *bench;
    struct pm_any_trials all;
};

static void accords_closed(void *context)
{
    struct accords *accords = context;
    pm_list_release(&accords->all);
}

static void accords_words(void *context, size_t index, struct pm_text *out)
{
    const struct accords *accords = context;
    pm_text_add(out, accords->all.items[index].title);
}

static void accords_row(void *context, size_t index, struct pm_pick_row *row)
{
    const struct accords *accords = context;
    const struct pm_any_trial *item = &accords->all.items[index];
    char date[PM_TIME_TEXT];
    pm_text_add(&row->cells[0], item->title);
    pm_text_add(&row->cells[1], pm_time_date(item->kept_at, date));
    pm_text_add(&row->cells[2], item->said);
    row->role = PM_ROLE_ACCORD;
}

static enum pm_status accords_accept(void *context, size_t index, const char *text,
                                     struct pm_error *err)
{
    struct accords *accords = context;
    const struct pm_any_trial *item = &accords->all.items[index];
    (void)text;
    (void)err;
    bench_ask_parts(accords->bench, item->id, item->title);
    return PM_OK;
}

void bench_add_accord(void *state)
{
    struct bench *bench = state;
    struct pm_error err = {0};
    struct accords accords = {.bench = bench};
    if (pm_trials_of_all(bench->house->studio, true, bench->sheet->formula, &accords.all, &err) !=
        PM_OK) {
        pm_app_error(bench->app, &err);
        return;
    }
    const struct pm_picker_spec spec = {
        .title = "Tuck in a kept trial of an accord",
        .label = "Accord",
        .columns = {{.heading = "accord", .wish = 30},
                    {.heading = "kept", .wish = 10},
                    {.heading = "label and note", .wish = 4, .grows = true}},
        .column_count = 3,
        .count = accords.all.count,
        .words = accords_words,
        .row = accords_row,
        .accept = accords_accept,
        .none_hint = "No kept trial of an accord is called so. " HOW_ACCORDS_COME,
        .none_yet = "No trial of an accord is kept yet. " HOW_ACCORDS_COME,
        .closed = accords_closed,
        .context = &accords,
        .context_size = sizeof accords,
    };
    pm_picker_open(bench->app, &spec);
}
