/* SPDX-License-Identifier: MIT */
/*
 * Side by side: two to four trials with names, and what changed in words.
 */
#include "inside.h"

#include "permille/base/mem.h"
#include "permille/studio/trials.h"

#include <stdlib.h>
#include <string.h>

#define PICO 12 /* scale of pm_fine */

void pm_say_amount(struct pm_text *out, int64_t value, int scale, int least)
{
    char digits[PM_AMOUNT_TEXT];
    pm_decimal_format(value, scale, pm_decimal_places(value, scale, least), '.', digits);
    if (strchr(digits, '.')) {
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

static enum pm_status row_name(struct pm_studio *studio, const struct pm_compare_row *row,
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

static enum pm_status compare(struct pm_studio *studio, const struct pm_trial *const *trials,
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
    int64_t factor = row->factor_ppm;
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

static pm_fine amount(const struct pm_compare_row *row, size_t trial, enum pm_compare_by by)
{
    return by == PM_BY_NEAT ? row->neat[trial] : row->poured[trial];
}

/* "12 -> 14.5", with as many decimals as it takes to see a difference. */
static void say_move(struct pm_text *out, pm_fine was, pm_fine now)
{
    struct pm_text a = PM_TEXT_EMPTY, b = PM_TEXT_EMPTY;
    for (int least = 2; least <= PICO; least++) {
        pm_text_clear(&a);
        pm_text_clear(&b);
        pm_say_amount(&a, was, PICO, least);
        pm_say_amount(&b, now, PICO, least);
        if (was == now || strcmp(pm_text_get(&a), pm_text_get(&b)) != 0)
            break;
    }
    pm_text_addf(out, "%s -> %s", pm_text_get(&a), pm_text_get(&b));
    if (!pm_text_ok(&a) || !pm_text_ok(&b))
        out->failed = true;
    pm_text_release(&a);
    pm_text_release(&b);
}

/* What is no amount of a line: base and mode. Order, stances and cores are not told. */
static void say_frame(const struct pm_trial *first, const struct pm_trial *last,
                      struct pm_text *out)
{
    if (first->base != last->base) {
        pm_text_addf(out, "%sbase ", out->length > 0 ? ", " : "");
        say_move(out, first->base * PM_FINE_PER_MICRO, last->base * PM_FINE_PER_MICRO);
    }
    if (first->mode != last->mode)
        pm_text_addf(out, "%s%s mode -> %s mode", out->length > 0 ? ", " : "",
                     pm_mode_word(first->mode), pm_mode_word(last->mode));
}

static int by_factor(const void *a, const void *b)
{
    const struct pick *x = a, *y = b;
    return (x->row->factor_ppm > y->row->factor_ppm) - (x->row->factor_ppm < y->row->factor_ppm);
}

/* Whether a row moved by `factor`, within the rounding of a micro-part and of the factor. */
static bool moved_by(const struct pick *pick, int64_t factor, size_t last, enum pm_compare_by by)
{
    pm_fine was = amount(pick->row, 0, by), now = amount(pick->row, last, by), expected;
    if (!pm_muldiv(was, factor, 1000000, &expected))
        return false;
    pm_fine off = now > expected ? now - expected : expected - now;
    return off <= 2 * PM_FINE_PER_MICRO + was / 10000;
}

/*
 * In a settled trial one deliberate change makes the other lines give way, all by one factor: where
 * that holds for half of what moved or more, those rows are only counted. It is then the median.
 * Keeps in picks the rows worth naming, furthest first, and returns how many they are.
 */
static size_t drop_give_way(struct pick *picks, size_t moved, size_t last, enum pm_compare_by by)
{
    size_t alike = 0, kept = 0;
    if (moved == 0)
        return 0;
    qsort(picks, moved, sizeof *picks, by_factor);
    int64_t factor = picks[moved / 2].row->factor_ppm;
    for (size_t i = 0; i < moved; i++)
        alike += moved_by(&picks[i], factor, last, by);
    if (alike < 2 || alike == moved || alike * 2 < moved)
        alike = 0;
    for (size_t i = 0; i < moved; i++)
        if (alike == 0 || !moved_by(&picks[i], factor, last, by))
            picks[kept++] = picks[i];
    qsort(picks, kept, sizeof *picks, by_reach);
    return kept;
}

/* What a sentence about rows has said so far. */
struct telling {
    struct pm_studio *studio;
    enum pm_compare_by by;
    size_t most;  /* rows named of each kind */
    size_t named; /* so far */
    size_t others;
    struct pm_text *out;
};

static enum pm_status tell_moves(struct telling *telling, const struct pm_compare *rows,
                                 struct pm_error *err)
{
    size_t last = rows->trials - 1, moved = 0;
    enum pm_status status = PM_OK;
    struct pick *picks = pm_alloc_array(rows->count, sizeof *picks);
    if (!picks)
        return pm_fail_memory(err);
    for (size_t i = 0; i < rows->count; i++)
        if (rows->rows[i].change == PM_MORE || rows->rows[i].change == PM_LESS)
            picks[moved++] = (struct pick){&rows->rows[i], reach(&rows->rows[i]), i};
    size_t worth = drop_give_way(picks, moved, last, telling->by);
    for (size_t i = 0; i < worth && i < telling->most && status == PM_OK; i++) {
        const struct pm_compare_row *row = picks[i].row;
        const char *name;
        status = row_name(telling->studio, row, &name, err);
        if (status != PM_OK)
            break;
        pm_text_addf(telling->out, "%s%s ", telling->named++ ? ", " : "", name);
        say_move(telling->out, amount(row, 0, telling->by), amount(row, last, telling->by));
        if (telling->by == PM_BY_NEAT)
            pm_text_add(telling->out, " neat");
    }
    telling->others += moved - telling->named;
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
        if (rows->rows[i].change != change)
            continue;
        if (++shown > telling->most) {
            telling->others++;
            continue;
        }
        enum pm_status status = row_name(telling->studio, &rows->rows[i], &name, err);
        if (status != PM_OK)
            return status;
        pm_text_addf(telling->out, "%s%c%s", telling->named++ ? ", " : "", sign, name);
    }
    return PM_OK;
}

static enum pm_status say_rows(struct pm_studio *studio, const struct pm_compare *rows,
                               enum pm_compare_by by, size_t most, struct pm_text *out,
                               struct pm_error *err)
{
    struct telling telling = {studio, by, most, 0, 0, out};
    enum pm_status status = tell_moves(&telling, rows, err);
    if (status == PM_OK)
        status = tell_rows(&telling, rows, PM_ADDED, '+', err);
    if (status == PM_OK)
        status = tell_rows(&telling, rows, PM_GONE, '-', err);
    if (status == PM_OK && telling.others > 0)
        pm_text_addf(out, "%s%zu other%s", telling.named ? "; " : "", telling.others,
                     telling.others == 1 ? "" : "s");
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
        if (was)
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
    enum pm_status status = PM_OK;
    /* Same amounts poured may still be another strength: then the neat amounts tell. */
    for (int by = PM_BY_POURED; by <= (int)PM_BY_NEAT && status == PM_OK; by++) {
        struct pm_compare rows;
        status = compare(studio, pair, 2, (enum pm_compare_by)by, &rows, err);
        if (status != PM_OK)
            break;
        status = say_rows(studio, &rows, (enum pm_compare_by)by, most, &amounts, err);
        pm_compare_release(&rows);
        if (amounts.length > 0)
            break;
    }
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

/* ---- side by side ---- */

static enum pm_status open_sheets(struct pm_studio *studio, const int64_t *trials, size_t count,
                                  struct pm_sheet **sheets, struct pm_side_by_side *side,
                                  struct pm_error *err)
{
    for (size_t i = 0; i < count; i++) {
        enum pm_status status = pm_sheet_open(studio, trials[i], &sheets[i], err);
        if (status == PM_OK)
            status = pm_sheet_title(sheets[i], &side->titles[i], err);
        if (status != PM_OK)
            return status;
        side->trials = i + 1;
        side->base[i] = sheets[i]->trial.base;
        side->total[i] = sheets[i]->total;
        side->solvent_share[i] = sheets[i]->solvent_share;
    }
    return PM_OK;
}

static enum pm_status name_rows(struct pm_studio *studio, const struct pm_compare *rows,
                                struct pm_side_by_side *side, struct pm_error *err)
{
    side->lines = pm_alloc_array(rows->count, sizeof *side->lines);
    if (!side->lines)
        return pm_fail_memory(err);
    for (size_t i = 0; i < rows->count; i++) {
        const struct pm_compare_row *row = &rows->rows[i];
        struct pm_side_line *line = &side->lines[i];
        const char *name;
        enum pm_status status = row_name(studio, row, &name, err);
        if (status != PM_OK)
            return status;
        line->name = pm_strdup(name);
        if (!line->name)
            return pm_fail_memory(err);
        side->count = i + 1;
        line->kind = row->kind;
        line->change = row->change;
        line->factor_ppm = row->factor_ppm;
        memcpy(line->there, row->there, sizeof line->there);
        memcpy(line->poured, row->poured, sizeof line->poured);
        memcpy(line->neat, row->neat, sizeof line->neat);
    }
    return PM_OK;
}

static enum pm_status say_side(struct pm_studio *studio, struct pm_sheet *const *sheets,
                               size_t count, struct pm_side_by_side *side, struct pm_error *err)
{
    struct pm_text text = PM_TEXT_EMPTY;
    pm_text_addf(&text, "%s to %s: ", side->titles[0], side->titles[count - 1]);
    enum pm_status status =
        pm_say_difference(studio, &sheets[0]->trial, &sheets[count - 1]->trial, 6, &text, err);
    if (status == PM_OK) {
        side->sentence = pm_text_take(&text);
        if (!side->sentence)
            status = pm_fail_memory(err);
    }
    pm_text_release(&text);
    return status;
}

enum pm_status pm_compare_open(struct pm_studio *studio, const int64_t *trials, size_t count,
                               enum pm_compare_by by, struct pm_side_by_side *out,
                               struct pm_error *err)
{
    struct pm_sheet *sheets[PM_COMPARE_MAX] = {NULL};
    const struct pm_trial *contents[PM_COMPARE_MAX] = {NULL};
    struct pm_side_by_side side;
    struct pm_compare rows;
    memset(&side, 0, sizeof side);
    if (count < 2 || count > PM_COMPARE_MAX)
        return pm_fail(err, PM_INVALID, "Two to %d trials can stand side by side.", PM_COMPARE_MAX);
    enum pm_status status = open_sheets(studio, trials, count, sheets, &side, err);
    for (size_t i = 0; i < count && status == PM_OK; i++)
        contents[i] = &sheets[i]->trial;
    if (status == PM_OK)
        status = compare(studio, contents, count, by, &rows, err);
    if (status == PM_OK) {
        status = name_rows(studio, &rows, &side, err);
        pm_compare_release(&rows);
    }
    if (status == PM_OK)
        status = say_side(studio, sheets, count, &side, err);
    for (size_t i = 0; i < count; i++)
        pm_sheet_free(sheets[i]);
    if (status != PM_OK) {
        pm_side_by_side_release(&side);
        return status;
    }
    *out = side;
    return PM_OK;
}

void pm_side_by_side_release(struct pm_side_by_side *side)
{
    for (size_t i = 0; i < PM_COMPARE_MAX; i++)
        pm_free(side->titles[i]);
    for (size_t i = 0; i < side->count; i++)
        pm_free(side->lines[i].name);
    pm_free(side->lines);
    pm_free(side->sentence);
    memset(side, 0, sizeof *side);
}
