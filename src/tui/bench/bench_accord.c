/* SPDX-License-Identifier: MIT */
/* The Bench: picking a kept trial of an accord. */
#include "bench.h"

#include "kit/overlay.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"

#include <string.h>

struct accord {
    int64_t trial, number, kept_at;
    char *title, *said; /* "Name/3"; label and note */
};
struct accords {
    struct bench *bench;
    struct accord *items; /* all, newest kept first */
    size_t count, capacity;
};

static void accords_closed(void *context)
{
    struct accords *accords = context;
    for (size_t i = 0; i < accords->count; i++) {
        pm_free(accords->items[i].title);
        pm_free(accords->items[i].said);
    }
    pm_free(accords->items);
    pm_free(accords);
}

static enum pm_status accords_add(struct accords *accords, const char *name,
                                  const struct pm_trial_entry *entry, struct pm_error *err)
{
    struct pm_text title = PM_TEXT_EMPTY, said = PM_TEXT_EMPTY;
    void *items = accords->items;
    bool ok = pm_grow(&items, &accords->capacity, accords->count + 1, sizeof *accords->items);
    accords->items = items;
    if (!ok)
        return pm_fail_memory(err);
    pm_text_addf(&title, "%s/%lld", name, (long long)entry->row.number);
    pm_text_addf(&said, "%s%s%s", entry->row.label != NULL ? entry->row.label : "",
                 entry->row.label != NULL && entry->row.note != NULL ? ": " : "",
                 entry->row.note != NULL ? entry->row.note : "");
    struct accord item = {entry->row.id, entry->row.number, entry->row.kept_at,
                          pm_text_take(&title), pm_text_take(&said)};
    accords->items[accords->count++] = item;
    return item.title != NULL && item.said != NULL ? PM_OK : pm_fail_memory(err);
}

static enum pm_status accords_of(struct accords *accords, const struct pm_formula *formula,
                                 struct pm_error *err)
{
    struct pm_trial_entries trials;
    enum pm_status status = pm_trials_list(accords->bench->house->studio, formula->id,
                                           PM_TRIALS_BY_NUMBER, &trials, err);
    if (status != PM_OK)
        return status;
    for (size_t i = trials.count; status == PM_OK && i-- > 0;)
        if (!trials.items[i].row.set_aside)
            status = accords_add(accords, formula->name, &trials.items[i], err);
    pm_list_release(&trials);
    return status;
}

static enum pm_status accords_read(struct accords *accords, struct pm_error *err)
{
    struct pm_formulas formulas;
    const struct bench *bench = accords->bench;
    enum pm_status status = pm_formulas_list(bench->house->studio, NULL, false, &formulas, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; status == PM_OK && i < formulas.count; i++) {
        const struct pm_formula *formula = &formulas.items[i];
        if (formula->accord && formula->kept > 0 && formula->id != bench->sheet->formula)
            status = accords_of(accords, formula, err);
    }
    pm_list_release(&formulas);
    return status;
}

static void accords_words(void *context, size_t index, struct pm_text *out)
{
    const struct accords *accords = context;
    pm_text_add(out, accords->items[index].title);
}

static void accords_row(void *context, size_t index, struct pm_pick_row *row)
{
    const struct accords *accords = context;
    const struct accord *item = &accords->items[index];
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
    const struct accord *item = &accords->items[index];
    (void)text;
    (void)err;
    bench_ask_parts(accords->bench, item->trial, item->title);
    return PM_OK;
}

void bench_add_accord(void *state)
{
    struct bench *bench = state;
    struct pm_error err = {0};
    struct accords *accords = pm_alloc_array(1, sizeof *accords);
    if (accords == NULL) {
        pm_app_warn(bench->app, "Out of memory.");
        return;
    }
    accords->bench = bench;
    if (accords_read(accords, &err) != PM_OK) {
        pm_app_error(bench->app, &err);
        accords_closed(accords);
        return;
    }
    const struct pm_picker_spec spec = {
        .title = "Tuck in a kept trial of an accord",
        .label = "Accord",
        .columns = {{.heading = "accord", .wish = 30},
                    {.heading = "kept", .wish = 10},
                    {.heading = "label and note", .wish = 4, .grows = true}},
        .column_count = 3,
        .count = accords->count,
        .words = accords_words,
        .row = accords_row,
        .accept = accords_accept,
        .none_hint = "No kept trial of an accord matches. The action \"this formula\" makes the "
                     "formula on the bench an accord; folding marked lines makes one as well.",
        .closed = accords_closed,
        .context = accords,
    };
    pm_picker_open(bench->app, &spec);
}
