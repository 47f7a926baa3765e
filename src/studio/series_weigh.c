/* SPDX-License-Identifier: MIT */
/* One weigh plan for all trials of a series. */
#include "permille/studio/series.h"
#include "smelling.h"

#include "permille/base/mem.h"
#include "permille/core/weighing.h"
#include "permille/store/series.h"
#include "permille/studio/bench.h"

#include <string.h>

#define SPARE (PM_NEAT / 20)
#define LEAST (PM_GRAM / 10)

struct ingredient {
    enum pm_line_kind kind;
    int64_t ref, solvent;
    pm_strength strength;
};
struct table {
    struct ingredient *items;
    const char **names;
    size_t count, most;
    pm_parts *parts; /* [trial * most + ingredient] */
};

static bool is_same(const struct ingredient *item, const struct pm_line *line)
{
    return item->kind == line->kind && item->ref == line->ref && item->solvent == line->solvent &&
           item->strength == line->strength;
}

static const char *name_of(struct pm_arena *arena, const struct pm_sheet_line *line)
{
    char strength[PM_AMOUNT_TEXT];
    struct pm_text text = PM_TEXT_EMPTY;
    pm_text_add(&text, line->title);
    if (line->solvent != NULL)
        pm_text_addf(&text, " %s in %s", pm_strength_format(line->line->strength, '.', strength),
                     line->solvent);
    const char *kept = pm_text_ok(&text) ? pm_arena_text(arena, pm_text_get(&text)) : NULL;
    arena->failed = arena->failed || kept == NULL;
    pm_text_release(&text);
    return kept;
}

static enum pm_status add_trial(struct pm_arena *arena, const struct pm_sheet *sheet, size_t trial,
                                struct table *table, struct pm_error *err)
{
    for (size_t i = 0; i < sheet->trial.count; i++) {
        const struct pm_line *line = &sheet->trial.lines[i];
        size_t at = 0;
        if (line->parts == 0)
            continue;
        while (at < table->count && !is_same(&table->items[at], line))
            at++;
        if (at == table->most)
            return pm_fail(err, PM_REFUSED, "The trials of this series differ too much.");
        if (at == table->count) {
            table->items[at] =
                (struct ingredient){line->kind, line->ref, line->solvent, line->strength};
            table->names[at] = name_of(arena, &sheet->lines[i]);
            table->count++;
        }
        table->parts[trial * table->most + at] += line->parts;
    }
    return pm_arena_status(arena, err);
}

static enum pm_status gather(struct pm_studio *studio, const struct pm_series_trials *trials,
                             struct pm_series_weigh *out, struct table *table, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    out->trials = pm_arena_array(&out->arena, trials->count, sizeof *out->trials);
    if (out->trials == NULL)
        return pm_fail_memory(err);
    for (size_t k = 0; status == PM_OK && k < trials->count; k++) {
        struct pm_sheet *sheet;
        char *title;
        status = pm_sheet_open(studio, trials->items[k].trial, &sheet, err);
        if (status != PM_OK)
            return status;
        if (k == 0) {
            table->most = sheet->trial.count + 2 * trials->count + 8;
            table->items = pm_arena_array(&out->arena, table->most, sizeof *table->items);
            table->names = pm_arena_array(&out->arena, table->most, sizeof *table->names);
            table->parts =
                pm_arena_array(&out->arena, table->most * trials->count, sizeof *table->parts);
            status = pm_arena_status(&out->arena, err);
        }
        if (status == PM_OK)
            status = add_trial(&out->arena, sheet, k, table, err);
        if (status == PM_OK)
            status = pm_sheet_title(sheet, &title, err);
        if (status == PM_OK) {
            out->trials[k] = pm_arena_text(&out->arena, title);
            pm_free(title);
        }
        pm_sheet_free(sheet);
    }
    return status == PM_OK ? pm_arena_status(&out->arena, err) : status;
}

static enum pm_status plan(struct pm_studio *studio, int64_t series, struct pm_series_weigh *out,
                           struct pm_error *err)
{
    struct pm_series_trials trials;
    struct table table = {.count = 0};
    enum pm_status status = pm_series_trials_list(studio->library, series, &trials, err);
    if (status != PM_OK)
        return status;
    status = trials.count > 0
                 ? gather(studio, &trials, out, &table, err)
                 : pm_fail(err, PM_MISSING, "There is no series number %lld.", (long long)series);
    /* The rows close up to the ingredients there are. */
    for (size_t k = 1; status == PM_OK && k < trials.count; k++)
        memmove(table.parts + k * table.count, table.parts + k * table.most,
                table.count * sizeof *table.parts);
    const struct pm_premix_spec spec = {.trials = trials.count,
                                        .ingredients = table.count,
                                        .parts = table.parts,
                                        .batch = out->batch,
                                        .least = out->least,
                                        .spare = SPARE};
    out->ingredients = table.names;
    if (status == PM_OK)
        status = pm_premix_plan(&spec, &out->premix, err);
    pm_list_release(&trials);
    return status;
}

enum pm_status pm_series_plan(struct pm_studio *studio, int64_t series, const char *batch,
                              const char *least, struct pm_series_weigh *out, struct pm_error *err)
{
    struct pm_series_weigh made = {.least = LEAST};
    enum pm_status status = pm_error_at(err, "batch", pm_mass_read(batch, &made.batch, err));
    if (status == PM_OK && made.batch < 1000)
        status = pm_fail_at(err, "batch", PM_INVALID, "A trial weighs a milligram at least.");
    if (status == PM_OK && pm_given(least))
        status = pm_error_at(err, "least", pm_mass_read(least, &made.least, err));
    if (status == PM_OK)
        status = pm_studio_look_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_look_over(studio, plan(studio, series, &made, err));
    if (status == PM_OK)
        *out = made;
    else
        pm_series_weigh_release(&made);
    return status;
}

void pm_series_weigh_release(struct pm_series_weigh *weigh)
{
    pm_premix_release(&weigh->premix);
    pm_arena_release(&weigh->arena);
    *weigh = (struct pm_series_weigh){.batch = 0};
}

/* ---- in words ---- */

static void add_mass(struct pm_text *out, pm_mass mass, char sign)
{
    char text[PM_AMOUNT_TEXT];
    pm_text_addf(out, "%s g",
                 pm_decimal_format(mass, 6, pm_decimal_places(mass, 6, 3), sign, text));
}

static void say_group(const struct pm_series_weigh *weigh, size_t g, char sign, struct pm_text *out)
{
    const struct pm_premix *premix = &weigh->premix;
    pm_text_addf(out, "Premix %c, ", (char)('A' + (int)g));
    add_mass(out, premix->amount[g], sign);
    pm_text_add(out, ":\n");
    for (size_t i = 0; i < premix->ingredients; i++)
        if (premix->group[i] == (int)g) {
            pm_text_add(out, "  ");
            add_mass(out, premix->make[i], sign);
            pm_text_addf(out, "  %s%s\n", weigh->ingredients[i],
                         premix->make[i] < weigh->least ? "  " PM_TOO_LITTLE " " PM_TOO_LITTLE_WORDS
                                                        : "");
        }
}

static pm_mass tenfold(int power)
{
    pm_mass factor = 1;
    for (int i = 0; i < power; i++)
        factor *= 10;
    return factor;
}

static void say_stocks(const struct pm_series_weigh *weigh, char sign, struct pm_text *out)
{
    const struct pm_premix *premix = &weigh->premix;
    for (size_t i = 0; i < premix->ingredients; i++) {
        const pm_mass factor = tenfold(premix->tenfold[i]);
        if (factor == 1)
            continue;
        pm_text_addf(out, "Stock of %s, 1 in %lld: ", weigh->ingredients[i], (long long)factor);
        add_mass(out, premix->stock[i] / factor, sign);
        pm_text_add(out, " of it and ");
        add_mass(out, premix->stock[i] - premix->stock[i] / factor, sign);
        pm_text_add(out, " of premix A");
        if (premix->stock[i] / factor < weigh->least)
            pm_text_add(out, " (make more of it: so little is not weighed well)");
        pm_text_add(out, "\n");
    }
}

static void say_trial(const struct pm_series_weigh *weigh, size_t k, char sign, struct pm_text *out)
{
    const struct pm_premix *premix = &weigh->premix;
    pm_text_addf(out, "%s:\n", weigh->trials[k]);
    for (size_t g = 0; g < premix->groups; g++)
        if (premix->take[k * premix->groups + g] > 0) {
            pm_text_add(out, "  ");
            add_mass(out, premix->take[k * premix->groups + g], sign);
            pm_text_addf(out, "  premix %c\n", (char)('A' + (int)g));
        }
    for (size_t i = 0; i < premix->ingredients; i++)
        if (premix->single[k * premix->ingredients + i] > 0) {
            pm_text_add(out, "  ");
            add_mass(out, premix->single[k * premix->ingredients + i], sign);
            pm_text_addf(
                out, "  %s%s%s\n",
                premix->from_stock[k * premix->ingredients + i] ? "stock of " : "",
                weigh->ingredients[i],
                premix->too_small[i] && premix->single[k * premix->ingredients + i] < weigh->least
                    ? "  " PM_TOO_LITTLE " " PM_TOO_LITTLE_WORDS ": take a dilution, or make more"
                    : "");
        }
}

void pm_series_weigh_say(const struct pm_series_weigh *weigh, char sign, struct pm_text *out)
{
    const struct pm_premix *premix = &weigh->premix;
    pm_text_addf(out, "%zu trials of ", premix->trials);
    add_mass(out, weigh->batch, sign);
    pm_text_addf(out,
                 ": %zu weighings, %zu one by one. Premixes and stocks are 5 %% more than is "
                 "taken.\n",
                 premix->weighings, premix->without);
    for (size_t g = 0; g < premix->groups; g++)
        say_group(weigh, g, sign, out);
    say_stocks(weigh, sign, out);
    for (size_t k = 0; k < premix->trials; k++)
        say_trial(weigh, k, sign, out);
}
