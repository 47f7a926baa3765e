/* SPDX-License-Identifier: MIT */
/*
 * What was written becomes parts of a base.
 *
 * Which unit a formula is written in, most of its lines decide; a line in another is doubtful. A
 * sum that misses a round total (100, 1000, or the one that was written) by no more than half a
 * unit of the last decimal for each line is taken to be rounded, and brought to it by largest
 * remainder (common practice, no source).
 */
#include "bringing.h"

#include "permille/base/mem.h"
#include "permille/core/apportion.h"

#include <string.h>

#define THOUSAND (1000 * PM_PART)

enum writing { WRITTEN_PARTS, WRITTEN_SHARES, WRITTEN_MASSES, WRITTEN_COUNT };

struct reckoning {
    struct pm_bringing *bringing;
    struct pm_brought_formula *formula;
    struct pm_brought_line *lines;
    enum writing writing;
    int64_t *weights; /* of each line, in one unit for all */
    pm_int128 sum;
    int64_t step; /* of the finest decimal written, in the unit of the weights */
    size_t counted;
};

static bool counts(const struct pm_brought_line *line)
{
    return !line->left_out && line->has_amount && pm_jotted_counts(line->unit) &&
           line->stance != PM_RESTING;
}

static enum writing writing_of(enum pm_jotted_unit unit)
{
    switch (unit) {
    case PM_JOTTED_MASS:
        return WRITTEN_MASSES;
    case PM_JOTTED_PERCENT:
    case PM_JOTTED_PERMILLE:
    case PM_JOTTED_PPM:
        return WRITTEN_SHARES;
    default:
        return WRITTEN_PARTS;
    }
}

static enum writing most_written(const struct reckoning *reckoning)
{
    size_t votes[WRITTEN_COUNT] = {0, 0, 0};
    enum writing best = WRITTEN_PARTS;
    for (size_t i = 0; i < reckoning->formula->count; i++)
        if (counts(&reckoning->lines[i]))
            votes[writing_of(reckoning->lines[i].unit)]++;
    for (int w = 1; w < WRITTEN_COUNT; w++)
        if (votes[w] > votes[best])
            best = (enum writing)w;
    return best;
}

/* A share in micro-parts of a thousand. */
static int64_t thousandths(const struct pm_brought_line *line)
{
    return line->unit == PM_JOTTED_PERCENT
               ? (line->amount <= INT64_MAX / 10 ? line->amount * 10 : INT64_MAX)
           : line->unit == PM_JOTTED_PPM ? line->amount / 1000
                                         : line->amount;
}

static const char *weigh_line(const struct reckoning *reckoning, const struct pm_brought_line *line,
                              int64_t *weight)
{
    const enum writing own = writing_of(line->unit);
    *weight = own == WRITTEN_SHARES ? thousandths(line) : line->amount;
    if (own == reckoning->writing)
        return NULL;
    if (own == WRITTEN_PARTS && reckoning->writing == WRITTEN_SHARES) {
        *weight = line->amount <= INT64_MAX / 10 ? line->amount * 10 : INT64_MAX;
        return "no unit among percentages: taken as per cent";
    }
    if (own == WRITTEN_PARTS)
        return "no unit among masses: taken as grams";
    if (own == WRITTEN_SHARES && reckoning->writing == WRITTEN_PARTS)
        return "a percentage among parts: taken as a share of a thousand";
    *weight = 0;
    return own == WRITTEN_MASSES ? "a mass among parts: give its parts"
                                 : "a percentage among masses: give its parts";
}

static void add_step(struct reckoning *reckoning, int64_t weight, int64_t largest)
{
    int64_t step = largest;
    while (step > 1 && weight % step != 0)
        step /= 10;
    if (reckoning->step == 0 || step < reckoning->step)
        reckoning->step = step;
}

static void weigh_lines(struct reckoning *reckoning)
{
    for (size_t i = 0; i < reckoning->formula->count; i++) {
        struct pm_brought_line *line = &reckoning->lines[i];
        line->doubt = line->written_doubt;
        reckoning->weights[i] = 0;
        if (!counts(line))
            continue;
        const char *doubt = weigh_line(reckoning, line, &reckoning->weights[i]);
        line->doubt = line->doubt != NULL ? line->doubt : doubt;
        reckoning->sum += reckoning->weights[i];
        reckoning->counted += reckoning->weights[i] > 0;
        if (reckoning->weights[i] > 0)
            add_step(reckoning, reckoning->weights[i],
                     reckoning->writing == WRITTEN_SHARES ? 10 * PM_PART : PM_PART);
    }
}

static bool is_rounded(const struct reckoning *reckoning, int64_t whole)
{
    const pm_int128 off = reckoning->sum > whole ? reckoning->sum - whole : whole - reckoning->sum;
    return off * 2 <= (pm_int128)reckoning->counted * reckoning->step && off * 100 <= whole;
}

/* What the lines are shares of; 0: of what they add up to. */
static int64_t find_whole(const struct reckoning *reckoning)
{
    const struct pm_brought_formula *formula = reckoning->formula;
    if (reckoning->writing == WRITTEN_MASSES)
        return 0;
    if (reckoning->writing == WRITTEN_SHARES)
        return THOUSAND;
    if (formula->written_base > 0)
        return formula->written_base;
    if (formula->has_total && formula->written_total > 0 && formula->written_total <= PM_PARTS_MAX)
        return formula->written_total;
    return is_rounded(reckoning, THOUSAND)        ? THOUSAND
           : is_rounded(reckoning, 100 * PM_PART) ? 100 * PM_PART
                                                  : 0;
}

static pm_parts find_base(const struct reckoning *reckoning, int64_t whole)
{
    const struct pm_brought_formula *formula = reckoning->formula;
    if (reckoning->bringing->options.base > 0)
        return reckoning->bringing->options.base;
    if (formula->written_base > 0)
        return formula->written_base;
    if (reckoning->writing != WRITTEN_PARTS || reckoning->sum == 0 || reckoning->sum > PM_PARTS_MAX)
        return THOUSAND;
    return whole > 0 ? whole : (pm_parts)reckoning->sum;
}

static void remark(struct reckoning *reckoning, const char *format, const char *sum,
                   const char *whole)
{
    struct pm_text text = PM_TEXT_EMPTY;
    struct pm_arena *arena = &reckoning->bringing->arena;
    pm_text_addf(&text, "%s%s", format, sum);
    pm_text_addf(&text, "%s", whole);
    reckoning->formula->remark = pm_arena_text(arena, pm_text_get(&text));
    arena->failed = arena->failed || !pm_text_ok(&text);
    pm_text_release(&text);
}

/* "add up to 97.3 %, not 100 %" and the like. */
static void say_off(struct reckoning *reckoning, int64_t whole, bool brought)
{
    char sum[PM_AMOUNT_TEXT], round[PM_AMOUNT_TEXT], rest[2 * PM_AMOUNT_TEXT];
    const bool shares = reckoning->writing == WRITTEN_SHARES;
    const int scale = shares ? 7 : 6;
    const char *unit = shares ? " %" : "";
    pm_decimal_exact((int64_t)reckoning->sum, scale, '.', sum);
    pm_decimal_exact(whole, scale, '.', round);
    pm_print(rest, sizeof rest, "%s, %s %s%s", unit, brought ? "brought to" : "not", round, unit);
    remark(reckoning, "the lines add up to ", sum, rest);
}

/* Parts of a sum below the whole: each its share, the rest is still missing. */
static void scale_each(struct reckoning *reckoning, int64_t whole, pm_parts base)
{
    for (size_t i = 0; i < reckoning->formula->count; i++)
        if (!pm_muldiv(reckoning->weights[i], base, whole, &reckoning->lines[i].parts))
            reckoning->lines[i].parts = 0;
}

static enum pm_status share_out(struct reckoning *reckoning, pm_parts base, struct pm_error *err)
{
    const size_t count = reckoning->formula->count;
    int64_t *out = pm_alloc_array(count > 0 ? count : 1, sizeof *out);
    if (out == NULL)
        return pm_fail_memory(err);
    enum pm_status status = pm_apportion(reckoning->weights, count, base, out, err);
    for (size_t i = 0; status == PM_OK && i < count; i++)
        reckoning->lines[i].parts = out[i];
    pm_free(out);
    return status;
}

/* "Hay 2" above lines that add up to a thousand without it. */
static void doubt_title(struct reckoning *reckoning)
{
    struct pm_brought_line *line = &reckoning->lines[0];
    const pm_int128 rest = reckoning->sum - reckoning->weights[0];
    const bool round = rest == THOUSAND || rest == 100 * PM_PART;
    if (reckoning->formula->count > 2 && reckoning->writing == WRITTEN_PARTS && round &&
        reckoning->weights[0] > 0 && reckoning->formula->written_base == 0 &&
        line->match == PM_MATCH_NEW && line->doubt == NULL)
        line->doubt = "a title? Without it the lines add up to a round total";
}

static enum pm_status to_parts(struct reckoning *reckoning, struct pm_error *err)
{
    struct pm_brought_formula *formula = reckoning->formula;
    const int64_t whole = find_whole(reckoning);
    formula->base = find_base(reckoning, whole);
    formula->remark = NULL;
    for (size_t i = 0; i < formula->count; i++)
        reckoning->lines[i].parts = 0;
    if (reckoning->sum == 0)
        return PM_OK;
    if (formula->mode == PM_OPEN && reckoning->writing == WRITTEN_PARTS &&
        reckoning->sum <= PM_PARTS_MAX) {
        scale_each(reckoning, 1, 1);
        return PM_OK;
    }
    if (whole == 0 || reckoning->sum == whole)
        return share_out(reckoning, formula->base, err);
    if (formula->written_base == 0 || reckoning->sum > whole)
        say_off(reckoning, whole, reckoning->sum > whole || is_rounded(reckoning, whole));
    if (reckoning->sum > whole || is_rounded(reckoning, whole))
        return share_out(reckoning, formula->base, err);
    scale_each(reckoning, whole, formula->base);
    return PM_OK;
}

/* What a line that rests will come back with is no part of the total. */
static pm_parts rested(const struct pm_brought_formula *formula, const struct pm_brought_line *line)
{
    pm_parts parts = 0;
    const pm_parts written = formula->written_base > 0 ? formula->written_base : formula->base;
    return pm_muldiv(line->amount, formula->base, written, &parts) ? parts : 0;
}

static void add_up(struct reckoning *reckoning)
{
    reckoning->formula->total = 0;
    for (size_t i = 0; i < reckoning->formula->count; i++) {
        struct pm_brought_line *line = &reckoning->lines[i];
        if (line->stance == PM_RESTING) {
            line->parts = rested(reckoning->formula, line);
            continue;
        }
        reckoning->formula->total += line->parts;
        if (line->parts == 0 && reckoning->weights[i] > 0 && line->doubt == NULL)
            line->doubt = "it comes to less than a millionth of a part";
    }
}

enum pm_status pm_bringing_reckon(struct pm_bringing *bringing, struct pm_brought_formula *formula,
                                  struct pm_error *err)
{
    struct reckoning reckoning = {.bringing = bringing,
                                  .formula = formula,
                                  .lines = bringing->lines + formula->first,
                                  .weights = pm_alloc_array(formula->count + 1, sizeof(int64_t))};
    if (reckoning.weights == NULL)
        return pm_fail_memory(err);
    reckoning.writing = most_written(&reckoning);
    weigh_lines(&reckoning);
    if (formula->count > 0)
        doubt_title(&reckoning);
    const enum pm_status status =
        reckoning.sum > (pm_int128)INT64_MAX / 4
            ? pm_fail(err, PM_INVALID, "The amounts of that formula are too large.")
            : to_parts(&reckoning, err);
    if (status == PM_OK)
        add_up(&reckoning);
    pm_free(reckoning.weights);
    return status;
}
