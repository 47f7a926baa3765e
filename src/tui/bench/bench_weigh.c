/* SPDX-License-Identifier: MIT */
/*
 * The Bench: what the balance in use does to the sheet as it is written. The library is read when
 * the sheet is; what is said of lines is worked out when their amounts change, and for every
 * preview, never while painting.
 */
#include "bench.h"

#include "kit/overlay.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define DOT " \xC2\xB7 "

/* ---- working out ---- */

void bench_weigh_release(struct bench *bench)
{
    struct bench_weigh *weigh = &bench->weigh;
    pm_sheet_budget_release(&weigh->read);
    pm_free(weigh->items);
    pm_free(weigh->lines);
    pm_free(weigh->previewed);
    *weigh = (struct bench_weigh){0};
}

void bench_weigh_read(struct bench *bench)
{
    struct bench_weigh *weigh = &bench->weigh;
    const struct pm_weigh_how how = {0};
    pm_sheet_budget_release(&weigh->read);
    weigh->known = false;
    if (bench->sheet == NULL)
        return;
    /* What cannot be read is not shown. */
    weigh->known = pm_sheet_budget(bench->house->studio, bench->sheet, pm_house_batch(bench->house),
                                   &how, &weigh->read, NULL) == PM_OK;
}

bool bench_weighs(const struct bench *bench)
{
    return bench->weigh.known && bench->weigh.read.balance_name != NULL;
}

/* Room for the sheet's lines and one that would come in. */
static bool reserve(struct bench_weigh *weigh, size_t count)
{
    if (count <= weigh->capacity)
        return true;
    struct pm_budget_item *items = pm_resize_array(weigh->items, count, sizeof *items);
    weigh->items = items != NULL ? items : weigh->items;
    struct pm_budget_line *lines = pm_resize_array(weigh->lines, count, sizeof *lines);
    weigh->lines = lines != NULL ? lines : weigh->lines;
    struct pm_budget_line *previewed = pm_resize_array(weigh->previewed, count, sizeof *previewed);
    weigh->previewed = previewed != NULL ? previewed : weigh->previewed;
    if (items == NULL || lines == NULL || previewed == NULL)
        return false;
    weigh->capacity = count;
    return true;
}

/* `parts`: of the sheet's lines, NULL: as they are. */
static void work_out(struct bench *bench, const pm_parts *parts, struct pm_budget_line *lines,
                     struct pm_budget *out)
{
    struct bench_weigh *weigh = &bench->weigh;
    const struct pm_trial *trial = &bench_sheet(bench)->trial;
    size_t count = 0;
    for (; count < trial->count; count++)
        weigh->items[count] = (struct pm_budget_item){
            &trial->lines[count], parts != NULL ? parts[count] : trial->lines[count].parts};
    if (parts != NULL && bench->has_fresh)
        weigh->items[count++] =
            (struct pm_budget_item){&bench->fresh.line, bench->fresh.line.parts};
    pm_budget_read(&weigh->read.terms, weigh->items, count, lines, out);
}

void bench_weigh_refresh(struct bench *bench)
{
    struct bench_weigh *weigh = &bench->weigh;
    const struct pm_sheet *sheet = bench_sheet(bench);
    weigh->count = 0;
    if (sheet == NULL || !bench_weighs(bench) || !reserve(weigh, sheet->trial.count + 1))
        return;
    work_out(bench, NULL, weigh->lines, &weigh->now);
    weigh->count = sheet->trial.count;
}

void bench_weigh_masses(struct bench *bench)
{
    struct bench_figures *figures = &bench->figures;
    const struct pm_trial *trial = &bench_sheet(bench)->trial;
    /* In place. */
    for (size_t i = 0; i < figures->count; i++)
        figures->masses.values[i] = trial->lines[i].parts;
    bench_figures_weigh(figures, figures->masses.values, figures->count,
                        pm_house_batch(bench->house), bench->house->sign);
}

void bench_weigh_preview(struct bench *bench)
{
    if (bench->weigh.count > 0)
        work_out(bench, bench->preview, bench->weigh.previewed, &bench->weigh.then);
}

const struct pm_budget_line *bench_weigh_line(const struct bench *bench, size_t place)
{
    const struct bench_weigh *weigh = &bench->weigh;
    if (weigh->count == 0 || place >= bench_rows(bench))
        return NULL;
    return bench->previewing ? &weigh->previewed[place] : &weigh->lines[place];
}

static const struct pm_budget *weigh_all(const struct bench *bench)
{
    const struct bench_weigh *weigh = &bench->weigh;
    return weigh->count == 0 ? NULL : bench->previewing ? &weigh->then : &weigh->now;
}

bool bench_weigh_small(const struct bench *bench, size_t place, bool previewed)
{
    const struct bench_weigh *weigh = &bench->weigh;
    return weigh->count > 0 && place < bench_rows(bench) &&
           (previewed ? weigh->previewed[place].small : weigh->lines[place].small);
}

/* ---- words ---- */

static char *mass_text(const struct bench *bench, pm_mass mass, char *buf)
{
    return pm_mass_format(mass, 2, bench->house->sign, buf);
}

/* "412 g": a batch, rounded up to three digits, so that it is enough. */
static char *batch_text(const struct bench *bench, pm_mass least, char *buf)
{
    pm_mass step = 1;
    while (least / step >= 1000)
        step *= 10;
    return pm_mass_exact((least + step - 1) / step * step, bench->house->sign, buf);
}

/* "4.1 %", "37 %", "210 %". */
static char *error_text(const struct bench *bench, double error, char *buf)
{
    const int64_t percent = (int64_t)llround(fmin(error, 9e4) * 1e10);
    pm_decimal_format(percent, 8, pm_decimal_places(percent, 8, 0), bench->house->sign, buf);
    return buf;
}

/* "too little to weigh, at 1 % it can be"; nothing when it can be weighed as it is written. */
static void weigh_word(const struct bench *bench, size_t place, struct pm_text *out)
{
    const struct pm_budget_line *line = bench_weigh_line(bench, place);
    char text[PM_AMOUNT_TEXT];
    if (line == NULL || !line->small)
        return;
    if (line->weights > 1)
        pm_text_addf(out, "its smallest of %zu weights, %s, is too little", line->weights,
                     mass_text(bench, line->smallest, text));
    else
        pm_text_add(out, PM_TOO_LITTLE_WORDS);
    if (line->make_up)
        pm_text_add(out, "; made up first it can be weighed");
    else if (line->dilute > 0)
        pm_text_addf(out, ", at %s it can be",
                     pm_strength_format(line->dilute, bench->house->sign, text));
}

void bench_weigh_brief(const struct bench *bench, size_t place, struct pm_text *out)
{
    const struct pm_budget_line *line = bench_weigh_line(bench, place);
    char text[PM_AMOUNT_TEXT];
    if (line == NULL || !line->small)
        return;
    pm_text_add(out, PM_TOO_LITTLE " ");
    if (line->make_up)
        pm_text_add(out, "weighable made up");
    else if (line->dilute > 0)
        pm_text_addf(out, "weighable at %s",
                     pm_strength_format(line->dilute, bench->house->sign, text));
    else
        pm_text_add(out, PM_TOO_LITTLE_WORDS);
}

void bench_weigh_say(const struct bench *bench, size_t place, struct pm_text *out)
{
    const struct pm_budget_line *line = bench_weigh_line(bench, place);
    char text[PM_AMOUNT_TEXT + 8];
    if (line == NULL || line->weights == 0)
        return;
    if (line->small)
        pm_text_add(out, PM_TOO_LITTLE " ");
    weigh_word(bench, place, out);
    pm_text_addf(out, "%s\xC2\xB1 %s %%", line->small ? DOT : "",
                 error_text(bench, line->error, text));
    const int64_t share = (int64_t)llround(line->share * (double)BENCH_WHOLE);
    if (share > 0)
        pm_text_addf(out, DOT "%s of the uncertainty", bench_share_text(bench->house, share, text));
}

char *bench_weigh_error(const struct bench *bench, size_t place, char *buf)
{
    const struct pm_budget_line *line = bench_weigh_line(bench, place);
    char text[PM_AMOUNT_TEXT];
    buf[0] = '\0';
    if (line != NULL && line->weights > 0)
        snprintf(buf, PM_AMOUNT_TEXT + 8, "%s %%", error_text(bench, line->error, text));
    return buf;
}

void bench_weigh_sum(const struct bench *bench, struct pm_text *out)
{
    const struct pm_budget *all = weigh_all(bench);
    char batch[PM_AMOUNT_TEXT], text[PM_AMOUNT_TEXT];
    if (all == NULL || all->weights == 0)
        return;
    pm_text_addf(out, "%s \xC2\xB1 %s",
                 pm_mass_exact(bench->weigh.read.terms.batch, bench->house->sign, batch),
                 mass_text(bench, (pm_mass)ceil(2 * all->combined), text));
}

void bench_weigh_count(const struct bench *bench, bool brief, struct pm_text *out)
{
    const struct pm_budget *all = weigh_all(bench);
    char text[PM_AMOUNT_TEXT];
    if (all == NULL || all->small == 0)
        return;
    pm_text_addf(out, brief ? PM_TOO_LITTLE " %zu" : "%zu " PM_TOO_LITTLE_WORDS, all->small);
    if (all->least > 0)
        pm_text_addf(out, brief ? ", all from %s" : ", all can be from %s on",
                     batch_text(bench, all->least, text));
}

void bench_weigh_total(const struct bench *bench, struct pm_text *out)
{
    const size_t count = bench_rows(bench);
    struct pm_text small = PM_TEXT_EMPTY;
    bench_weigh_count(bench, true, &small);
    if (small.length > 0)
        pm_text_addf(out, "%zu line%s, %s", count, count == 1 ? "" : "s", pm_text_get(&small));
    pm_text_release(&small);
}

void bench_weigh_widen(struct bench *bench)
{
    struct pm_text text = PM_TEXT_EMPTY;
    bench_weigh_total(bench, &text);
    const int cells = (int)pm_utf8_cells(pm_text_get(&text));
    if (cells > bench->figures.name_cells)
        bench->figures.name_cells = cells;
    pm_text_release(&text);
}

void bench_weigh_changes(const struct bench *bench, struct pm_text *out)
{
    const struct bench_weigh *weigh = &bench->weigh;
    if (weigh->count > 0 && bench->previewing && weigh->then.small != weigh->now.small)
        pm_text_addf(out, DOT PM_TOO_LITTLE " %zu, was %zu", weigh->then.small, weigh->now.small);
}

void bench_weigh_invite(const struct bench *bench, struct pm_text *out)
{
    char room[PM_KEY_TEXT], key[PM_KEY_TEXT];
    if (!bench->weigh.known || bench->weigh.read.balance_name != NULL)
        return;
    pm_text_addf(out, "none is kept: %s, then %s keeps one",
                 pm_app_key(bench->app, "room-scale", room),
                 pm_app_key(bench->app, "balances", key));
}

/* ---- what this balance does to this formula ---- */

struct budget_row {
    size_t place;
    double share;
};

static int by_share(const void *a, const void *b)
{
    const struct budget_row *left = a, *right = b;
    if (left->share != right->share)
        return left->share > right->share ? -1 : 1;
    return (left->place > right->place) - (left->place < right->place);
}

static void add_field(struct pm_text *out, const char *text, int cells, bool right)
{
    const int used = (int)pm_utf8_cells(text);
    for (int i = used; right && i < cells; i++)
        pm_text_add_char(out, ' ');
    pm_text_add_bytes(out, text, pm_utf8_fit(text, (size_t)cells));
    for (int i = used; !right && i < cells; i++)
        pm_text_add_char(out, ' ');
}

static void add_row(const struct bench *bench, struct pm_page *page, size_t place)
{
    const struct pm_budget_line *line = &bench->weigh.lines[place];
    const struct pm_sheet_line *of = &bench_sheet(bench)->lines[place];
    char text[PM_AMOUNT_TEXT + 8];
    struct pm_text row = PM_TEXT_EMPTY, word = PM_TEXT_EMPTY;
    add_field(&row, of->title, 25, false);
    add_field(&row,
              of->solvent != NULL ? pm_strength_format(of->line->strength, bench->house->sign, text)
                                  : "",
              8, true);
    pm_mass_format(line->smallest, 2, bench->house->sign, text);
    add_field(&row, text, 10, true);
    add_field(&row, line->small ? " " PM_TOO_LITTLE : "", 2, false);
    add_field(&row, bench_weigh_error(bench, place, text), 9, true);
    const int64_t share = (int64_t)llround(line->share * (double)BENCH_WHOLE);
    add_field(&row, bench_share_text(bench->house, share, text), 10, true);
    if (line->make_up)
        pm_text_add(&word, "  made up");
    else if (line->dilute > 0)
        pm_text_addf(&word, "  %s", pm_strength_format(line->dilute, bench->house->sign, text));
    pm_text_add(&row, pm_text_get(&word));
    pm_page_add(page, line->small ? PM_ROLE_WARNING : PM_ROLE_NORMAL, 2, pm_text_get(&row));
    pm_text_release(&row);
    pm_text_release(&word);
}

static void add_rows(const struct bench *bench, struct pm_page *page, struct budget_row *rows)
{
    const struct bench_weigh *weigh = &bench->weigh;
    struct pm_text heading = PM_TEXT_EMPTY;
    for (size_t i = 0; i < weigh->count; i++)
        rows[i] = (struct budget_row){i, weigh->lines[i].share};
    qsort(rows, weigh->count, sizeof *rows, by_share);
    add_field(&heading, "line", 25, false);
    add_field(&heading, "strength", 8, true);
    add_field(&heading, "weighs", 10, true);
    add_field(&heading, "", 2, true);
    add_field(&heading, "\xC2\xB1", 9, true);
    add_field(&heading, "share", 10, true);
    pm_text_add(&heading, "  can be");
    pm_page_add(page, PM_ROLE_FAINT, 2, pm_text_get(&heading));
    pm_text_release(&heading);
    for (size_t i = 0; i < weigh->count; i++)
        if (weigh->lines[rows[i].place].weights > 0)
            add_row(bench, page, rows[i].place);
}

/* What the bottles on the shelf and dilutions made first would allow. */
static void add_least(const struct bench *bench, struct pm_page *page)
{
    const struct pm_weigh_how how = {0};
    struct pm_weighing weighing;
    char text[PM_AMOUNT_TEXT];
    if (pm_weigh(bench->house->studio, bench_sheet(bench), bench->weigh.read.terms.batch, &how,
                 &weighing, NULL) != PM_OK)
        return;
    if (weighing.least > 0)
        pm_page_addf(page, PM_ROLE_NORMAL, 2,
                     "Poured from the bottles on the shelf: all from %s on.",
                     batch_text(bench, weighing.least, text));
    if (weighing.least_made > 0 && weighing.least_made != weighing.least)
        pm_page_addf(page, PM_ROLE_NORMAL, 2, "With dilutions made first: all from %s on.",
                     batch_text(bench, weighing.least_made, text));
    pm_weighing_release(&weighing);
}

static void add_sums(const struct bench *bench, struct pm_page *page)
{
    const struct pm_budget *now = &bench->weigh.now;
    struct pm_text text = PM_TEXT_EMPTY;
    char minimum[PM_AMOUNT_TEXT], tolerance[PM_AMOUNT_TEXT], least[PM_AMOUNT_TEXT];
    const char sign = bench->house->sign;
    bench_weigh_sum(bench, &text);
    pm_page_addf(page, PM_ROLE_HEADING, 2, "%s in %zu weights", pm_text_get(&text), now->weights);
    pm_text_release(&text);
    pm_page_addf(page, now->small > 0 ? PM_ROLE_WARNING : PM_ROLE_NORMAL, 2,
                 PM_TOO_LITTLE " %zu of %zu lines cannot be weighed within %s: from %s on it can.",
                 now->small, bench->weigh.count,
                 pm_strength_format(bench->weigh.read.terms.tolerance, sign, tolerance),
                 mass_text(bench, now->minimum, minimum));
    if (now->least > 0)
        pm_page_addf(page, PM_ROLE_NORMAL, 2, "As it is written: all from %s on.",
                     batch_text(bench, now->least, least));
    add_least(bench, page);
    pm_page_add(
        page, PM_ROLE_FAINT, 2,
        "\xC2\xB1 is twice the standard uncertainty (k = 2) of the balance alone; a share is "
        "that of the sum of all relative variances (GUM 5.1.6).");
}

void bench_weigh_page(void *state)
{
    struct bench *bench = state;
    struct pm_text invite = PM_TEXT_EMPTY;
    char key[PM_KEY_TEXT], batch[PM_AMOUNT_TEXT];
    bench_weigh_invite(bench, &invite);
    if (invite.length > 0)
        pm_app_say(bench->app, "Balance: %s.", pm_text_get(&invite));
    else if (bench->weigh.count == 0 || bench->weigh.now.weights == 0)
        pm_app_say(bench->app, "There is nothing to weigh yet.");
    pm_text_release(&invite);
    if (bench->weigh.count == 0 || bench->weigh.now.weights == 0)
        return;
    struct pm_text title = PM_TEXT_EMPTY;
    struct budget_row *rows = pm_alloc_array(bench->weigh.count, sizeof *rows);
    pm_text_addf(&title, "What %s does to %s of %s", bench->weigh.read.balance_name,
                 pm_mass_exact(bench->weigh.read.terms.batch, bench->house->sign, batch),
                 bench_sheet(bench)->name);
    struct pm_page *page = rows != NULL ? pm_page_new(pm_text_get(&title)) : NULL;
    if (rows != NULL) {
        add_sums(bench, page);
        add_rows(bench, page, rows);
    }
    pm_page_close_by(page, pm_app_key(bench->app, "weighing", key));
    pm_page_open(bench->app, page, false);
    pm_text_release(&title);
    pm_free(rows);
}
