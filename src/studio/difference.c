/* SPDX-License-Identifier: MIT */
/*
 * What changed from one trial to another, in one sentence of amounts.
 */
#include "inside.h"

#include "permille/base/mem.h"
#include "permille/core/column.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define PICO 12 /* scale of pm_fine */

void pm_say_amount(struct pm_text *out, int64_t value, int scale, int least)
{
    char digits[PM_AMOUNT_TEXT];
    pm_decimal_format(value, scale, pm_decimal_places(value, scale, least), '.', digits);
    if (strchr(digits, '.') != NULL) {
        size_t end = strlen(digits);
        while (digits[end - 1] == '0')
            end--;
        if (digits[end - 1] == '.')
            end--;
        digits[end] = '\0';
    }
    pm_text_add(out, digits);
}

/* ---- names of rows ---- */

static int64_t accord_of(void *context, int64_t trial)
{
    struct pm_accords *accords = context;
    struct pm_kept *kept;
    if (pm_studio_kept(accords->studio, trial, false, &kept, NULL) != PM_OK)
        return 0;
    return kept->formula;
}

enum pm_status pm_side_name(struct pm_studio *studio, const struct pm_compare_row *row,
                            const char **out, struct pm_error *err)
{
    struct pm_card *card;
    enum pm_status status = row->kind == PM_LINE_MATERIAL
                                ? pm_studio_material(studio, row->ref, &card, err)
                                : pm_studio_formula(studio, row->ref, &card, err);
    if (status == PM_OK)
        *out = card->name;
    return status;
}

enum pm_status pm_side_rows(struct pm_studio *studio, const struct pm_trial *const *trials,
                            size_t count, enum pm_compare_by by, struct pm_compare *out,
                            struct pm_error *err)
{
    struct pm_accords accords = {studio, NULL};
    struct pm_trial_source source = pm_accords_source(&accords);
    struct pm_compare_names names = {accord_of, &accords};
    return pm_compare_trials(trials, count, by, &source, &names, out, err);
}

/* ---- the sentence ---- */

/* How far a row moved, as a factor above 1 x 1e6, whichever way. */
static int64_t reach(const struct pm_compare_row *row)
{
    int64_t factor = row->factor_ppm[1];
    if (factor <= 0)
        return INT64_MAX;
    return factor >= 1000000 ? factor : INT64_C(1000000000000) / factor;
}

struct pick {
    const struct pm_compare_row *row;
    int64_t reach;
    size_t place; /* among the rows, so that equal reach keeps their order */
};

static int by_reach(const void *a, const void *b)
{
    const struct pick *x = a, *y = b;
    if (x->reach != y->reach)
        return x->reach > y->reach ? -1 : 1;
    return x->place < y->place ? -1 : x->place > y->place;
}

/* The two amounts, with as many decimals as it takes to see a difference. */
static bool write_amounts(pm_fine was, pm_fine now, struct pm_text *a, struct pm_text *b)
{
    for (int least = 2; least <= PICO; least++) {
        pm_text_clear(a);
        pm_text_clear(b);
        pm_say_amount(a, was, PICO, least);
        pm_say_amount(b, now, PICO, least);
        if (was == now || strcmp(pm_text_get(a), pm_text_get(b)) != 0)
            break;
    }
    return pm_text_ok(a) && pm_text_ok(b);
}

/* "12 -> 14.5"; with forms "12 at 1 % -> 1.2 at 10 %". */
static void say_move(struct pm_text *out, pm_fine was, pm_fine now, const char *form_was,
                     const char *form_now)
{
    struct pm_text a = PM_TEXT_EMPTY, b = PM_TEXT_EMPTY;
    if (!write_amounts(was, now, &a, &b))
        out->failed = true;
    pm_text_addf(out, "%s%s -> %s%s", pm_text_get(&a), form_was, pm_text_get(&b), form_now);
    pm_text_release(&a);
    pm_text_release(&b);
}

/* What is no amount of a line: base and mode. Order, stances and cores are not told. */
static void say_frame(const struct pm_trial *first, const struct pm_trial *last,
                      struct pm_text *out)
{
    if (first->base != last->base) {
        pm_text_addf(out, "%sbase ", out->length > 0 ? ", " : "");
        say_move(out, first->base * PM_FINE_PER_MICRO, last->base * PM_FINE_PER_MICRO, "", "");
    }
    if (first->mode != last->mode)
        pm_text_addf(out, "%s%s mode -> %s mode", out->length > 0 ? ", " : "",
                     pm_mode_word(first->mode), pm_mode_word(last->mode));
}

/* What a sentence about rows has said so far. */
struct telling {
    struct pm_studio *studio;
    size_t most;  /* rows named of each kind */
    size_t named; /* so far */
    size_t others;
    struct pm_text *out;
    const struct pm_compare *rows;
    int64_t *was, *now; /* owned: the rows' amounts as the columns print them */
};

/* A sum beyond int64 leaves them as they are. */
static enum pm_status round_one(int64_t *values, size_t count, struct pm_error *err)
{
    struct pm_column_total total;
    const enum pm_status status =
        pm_round_column(values, count, PICO, PM_LEAST_PLACES, values, &total, err);
    return status == PM_INVALID ? PM_OK : status;
}

static enum pm_status round_amounts(struct telling *telling, struct pm_error *err)
{
    const size_t count = telling->rows->count;
    telling->was = pm_alloc_array(count * 2 + 1, sizeof *telling->was);
    if (telling->was == NULL)
        return pm_fail_memory(err);
    telling->now = telling->was + count;
    for (size_t i = 0; i < count; i++) {
        telling->was[i] = telling->rows->rows[i].poured[0];
        telling->now[i] = telling->rows->rows[i].poured[1];
    }
    const enum pm_status status = round_one(telling->was, count, err);
    return status == PM_OK ? round_one(telling->now, count, err) : status;
}

/* As the columns print them, unless they would look the same. */
static void say_amounts(const struct telling *telling, const struct pm_compare_row *row,
                        const char *form_was, const char *form_now)
{
    const size_t i = (size_t)(row - telling->rows->rows);
    const bool alike = telling->was[i] == telling->now[i];
    say_move(telling->out, alike ? row->poured[0] : telling->was[i],
             alike ? row->poured[1] : telling->now[i], form_was, form_now);
}

/* What a sentence calls a strength that changed. */
static const char *strength_words(int64_t strength, char *buf, size_t size)
{
    char text[PM_AMOUNT_TEXT];
    if (strength == PM_SEVERAL)
        return " at several strengths";
    snprintf(buf, size, strength == PM_NEAT ? " %s" : " at %s",
             pm_strength_format(strength, '.', text));
    return buf;
}

static enum pm_status tell_move(struct telling *telling, const struct pm_compare_row *row,
                                struct pm_error *err)
{
    char was[PM_AMOUNT_TEXT + 8], now[PM_AMOUNT_TEXT + 8];
    bool strengths = row->strength[0] != row->strength[1];
    const char *name;
    enum pm_status status = pm_side_name(telling->studio, row, &name, err);
    if (status != PM_OK)
        return status;
    pm_text_addf(telling->out, "%s%s ", telling->named++ ? ", " : "", name);
    if (row->resting[1] && row->there[0]) {
        pm_text_add(telling->out, "rests");
        return PM_OK;
    }
    if (row->resting[0] && row->there[1])
        pm_text_add(telling->out, "back, ");
    say_amounts(telling, row, strengths ? strength_words(row->strength[0], was, sizeof was) : "",
                strengths ? strength_words(row->strength[1], now, sizeof now) : "");
    if (!strengths && row->solvent[0] != row->solvent[1] && row->solvent[1] > 0) {
        struct pm_card *card;
        status = pm_studio_material(telling->studio, row->solvent[1], &card, err);
        if (status == PM_OK)
            pm_text_addf(telling->out, " now in %s", card->name);
    }
    return status;
}

/* Another trial of an accord is told apart: say_versions. */
static bool worth_telling(const struct pm_compare_row *row)
{
    bool moved = row->change[1] == PM_MORE || row->change[1] == PM_LESS;
    bool form = row->strength[0] != row->strength[1] || row->solvent[0] != row->solvent[1] ||
                row->strength[0] == PM_SEVERAL;
    if (row->resting[1])
        return !row->resting[0] && row->there[0];
    return (moved && !row->in_step[1]) || (row->other[1] && form);
}

static enum pm_status tell_moves(struct telling *telling, const struct pm_compare *rows,
                                 struct pm_error *err)
{
    size_t worth = 0;
    enum pm_status status = PM_OK;
    struct pick *picks = pm_alloc_array(rows->count, sizeof *picks);
    if (picks == NULL)
        return pm_fail_memory(err);
    for (size_t i = 0; i < rows->count; i++) {
        const struct pm_compare_row *row = &rows->rows[i];
        if (worth_telling(row))
            picks[worth++] = (struct pick){row, reach(row), i};
        else
            telling->others += row->change[1] == PM_MORE || row->change[1] == PM_LESS;
    }
    qsort(picks, worth, sizeof *picks, by_reach);
    for (size_t i = 0; i < worth && i < telling->most && status == PM_OK; i++)
        status = tell_move(telling, picks[i].row, err);
    telling->others += worth - telling->named;
    pm_free(picks);
    return status;
}

/* Rows that came ("+Cedrol") or went ("-Linalool"). */
static enum pm_status tell_rows(struct telling *telling, const struct pm_compare *rows,
                                enum pm_change_word change, char sign, struct pm_error *err)
{
    size_t shown = 0;
    for (size_t i = 0; i < rows->count; i++) {
        const char *name;
        if (rows->rows[i].change[1] != change)
            continue;
        if (++shown > telling->most) {
            telling->others++;
            continue;
        }
        enum pm_status status = pm_side_name(telling->studio, &rows->rows[i], &name, err);
        if (status != PM_OK)
            return status;
        pm_text_addf(telling->out, "%s%c%s", telling->named++ ? ", " : "", sign, name);
    }
    return PM_OK;
}

static enum pm_status say_rows(struct pm_studio *studio, const struct pm_compare *rows, size_t most,
                               struct pm_text *out, struct pm_error *err)
{
    struct telling telling = {.studio = studio, .most = most, .out = out, .rows = rows};
    enum pm_status status = round_amounts(&telling, err);
    if (status == PM_OK)
        status = tell_moves(&telling, rows, err);
    if (status == PM_OK)
        status = tell_rows(&telling, rows, PM_ADDED, '+', err);
    if (status == PM_OK)
        status = tell_rows(&telling, rows, PM_GONE, '-', err);
    if (status == PM_OK && telling.others > 0)
        pm_text_addf(out, "%s%zu other%s", telling.named ? "; " : "", telling.others,
                     telling.others == 1 ? "" : "s");
    pm_free(telling.was);
    return status;
}

/* The trial of the accord that the other side uses of this formula; NULL when it uses none, or uses
 * this very one too. */
static enum pm_status other_version(struct pm_studio *studio, const struct pm_trial *trial,
                                    const struct pm_kept *kept, struct pm_kept **out,
                                    struct pm_error *err)
{
    *out = NULL;
    for (size_t i = 0; i < trial->count; i++) {
        struct pm_kept *other;
        if (trial->lines[i].kind != PM_LINE_ACCORD)
            continue;
        enum pm_status status = pm_studio_kept(studio, trial->lines[i].ref, false, &other, err);
        if (status != PM_OK)
            return status;
        if (other->id == kept->id) {
            *out = NULL;
            return PM_OK;
        }
        if (other->formula == kept->formula)
            *out = other;
    }
    return PM_OK;
}

/* "Low tide/1 -> Low tide/2": rows match accords by formula, so the trial used is told here. */
static enum pm_status say_versions(struct pm_studio *studio, const struct pm_trial *first,
                                   const struct pm_trial *last, struct pm_text *out,
                                   struct pm_error *err)
{
    for (size_t i = 0; i < last->count; i++) {
        struct pm_kept *now, *was = NULL;
        struct pm_card *card;
        if (last->lines[i].kind != PM_LINE_ACCORD)
            continue;
        enum pm_status status = pm_studio_kept(studio, last->lines[i].ref, false, &now, err);
        if (status == PM_OK)
            status = other_version(studio, first, now, &was, err);
        if (status == PM_OK)
            status = pm_studio_formula(studio, now->formula, &card, err);
        if (status != PM_OK)
            return status;
        if (was != NULL)
            pm_text_addf(out, "%s%s/%lld -> %s/%lld", out->length > 0 ? ", " : "", card->name,
                         (long long)was->number, card->name, (long long)now->number);
    }
    return PM_OK;
}

enum pm_status pm_say_difference(struct pm_studio *studio, const struct pm_trial *first,
                                 const struct pm_trial *last, size_t most, struct pm_text *out,
                                 struct pm_error *err)
{
    const struct pm_trial *pair[2] = {first, last};
    struct pm_text amounts = PM_TEXT_EMPTY, frame = PM_TEXT_EMPTY;
    struct pm_compare rows;
    enum pm_status status = pm_side_rows(studio, pair, 2, PM_BY_POURED, &rows, err);
    if (status != PM_OK)
        return status;
    status = say_rows(studio, &rows, most, &amounts, err);
    pm_compare_release(&rows);
    if (status == PM_OK)
        status = say_versions(studio, first, last, &frame, err);
    if (status == PM_OK) {
        say_frame(first, last, &frame);
        pm_text_add(out, pm_text_get(&amounts));
        if (amounts.length == 0 && frame.length == 0)
            pm_text_add(out, "same amounts");
        else if (amounts.length > 0 && frame.length > 0)
            pm_text_add(out, "; ");
        pm_text_add(out, pm_text_get(&frame));
        if (amounts.failed || frame.failed || !pm_text_ok(out))
            status = pm_fail_memory(err);
    }
    pm_text_release(&amounts);
    pm_text_release(&frame);
    return status;
}
