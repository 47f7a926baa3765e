/* SPDX-License-Identifier: MIT */
/* Pours of a batch, and the order of bottles. */
#include "permille/core/stock.h"
#include "permille/base/mem.h"
#include "permille/core/apportion.h"

#include <string.h>

#define STEPS_MAX 1000000

/* ---- pours ---- */

/* An accord that still has to be divided. */
struct portion {
    int64_t line;  /* at the top */
    int64_t trial; /* the accord's kept trial */
    pm_mass mass;
};

struct pouring {
    const struct pm_trial_source *source;
    struct pm_pours out;
    size_t line_start;       /* first pour of the line being worked on */
    struct portion *waiting; /* owned; the next one is the last */
    size_t count, capacity;
    size_t steps;
};

static enum pm_status add_pour(struct pouring *pouring, const struct pm_line *line, int64_t top,
                               pm_mass mass, struct pm_error *err)
{
    struct pm_pours *out = &pouring->out;
    for (size_t i = pouring->line_start; i < out->count; i++) {
        struct pm_pour *there = &out->items[i];
        if (there->material == line->ref && there->strength == line->strength &&
            there->solvent == line->solvent) {
            there->mass += mass;
            return PM_OK;
        }
    }
    void *items = out->items;
    if (!pm_grow(&items, &out->capacity, out->count + 1, sizeof *out->items))
        return pm_fail_memory(err);
    out->items = items;
    out->items[out->count++] =
        (struct pm_pour){top, line->ref, line->strength, line->solvent, mass};
    return PM_OK;
}

static enum pm_status add_portion(struct pouring *pouring, const struct portion *portion,
                                  struct pm_error *err)
{
    void *waiting = pouring->waiting;
    if (!pm_grow(&waiting, &pouring->capacity, pouring->count + 1, sizeof *pouring->waiting))
        return pm_fail_memory(err);
    pouring->waiting = waiting;
    pouring->waiting[pouring->count++] = *portion;
    return PM_OK;
}

/* The masses of a trial's lines, a new array. */
static enum pm_status divide(const struct pm_trial *trial, pm_mass mass, pm_mass **out,
                             struct pm_error *err)
{
    int64_t *masses = pm_alloc_array(trial->count, sizeof *masses);
    if (masses == NULL)
        return pm_fail_memory(err);
    for (size_t i = 0; i < trial->count; i++)
        masses[i] = trial->lines[i].parts;
    if (pm_trial_total(trial) == 0) {
        pm_free(masses);
        return pm_fail(err, PM_REFUSED, "There is nothing in the formula yet.");
    }
    enum pm_status status = pm_apportion(masses, trial->count, mass, masses, err);
    if (status != PM_OK) {
        pm_free(masses);
        return status;
    }
    *out = masses;
    return PM_OK;
}

/* Pours an accord's materials, lets its accords wait: the last waits first, so their order stays.
 */
static enum pm_status pour_portion(struct pouring *pouring, const struct portion *portion,
                                   struct pm_error *err)
{
    const struct pm_trial *trial =
        pouring->source->trial(pouring->source->context, portion->trial, err);
    pm_mass *masses;
    if (trial == NULL)
        return err != NULL && err->status != PM_OK ? err->status : PM_MISSING;
    enum pm_status status = divide(trial, portion->mass, &masses, err);
    if (status != PM_OK)
        return status;
    for (size_t i = trial->count; status == PM_OK && i-- > 0;) {
        const struct pm_line *line = &trial->lines[i];
        if (line->kind == PM_LINE_ACCORD) {
            struct portion inner = {portion->line, line->ref, masses[i]};
            status = add_portion(pouring, &inner, err);
        }
    }
    for (size_t i = 0; status == PM_OK && i < trial->count; i++) {
        const struct pm_line *line = &trial->lines[i];
        if (line->kind == PM_LINE_MATERIAL)
            status = add_pour(pouring, line, portion->line, masses[i], err);
    }
    pm_free(masses);
    return status;
}

static enum pm_status pour_line(struct pouring *pouring, const struct pm_line *line, pm_mass mass,
                                struct pm_error *err)
{
    pouring->line_start = pouring->out.count;
    if (line->kind == PM_LINE_MATERIAL)
        return add_pour(pouring, line, line->id, mass, err);
    struct portion whole = {line->id, line->ref, mass};
    enum pm_status status = add_portion(pouring, &whole, err);
    while (status == PM_OK && pouring->count > 0) {
        struct portion next = pouring->waiting[--pouring->count];
        if (++pouring->steps > STEPS_MAX) {
            return pm_fail(err, PM_REFUSED,
                           "The accords in it hold each other too many times to be worked out.");
        }
        status = pour_portion(pouring, &next, err);
    }
    return status;
}

enum pm_status pm_pours_of(const struct pm_trial *trial, const struct pm_trial_source *source,
                           pm_mass mass, struct pm_pours *out, struct pm_error *err)
{
    struct pouring pouring = {.source = source};
    pm_mass *masses;
    if (mass <= 0 || mass > PM_MASS_MAX)
        return pm_fail(err, PM_INVALID, "A batch has more than no mass.");
    enum pm_status status = divide(trial, mass, &masses, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; status == PM_OK && i < trial->count; i++)
        if (trial->lines[i].stance != PM_RESTING)
            status = pour_line(&pouring, &trial->lines[i], masses[i], err);
    pm_free(masses);
    pm_free(pouring.waiting);
    if (status != PM_OK) {
        pm_pours_release(&pouring.out);
        return status;
    }
    *out = pouring.out;
    return PM_OK;
}

void pm_pours_release(struct pm_pours *pours)
{
    pm_free(pours->items);
    memset(pours, 0, sizeof *pours);
}

/* ---- bottles ---- */

bool pm_stock_serves(pm_strength bottle, pm_strength wanted)
{
    pm_strength apart = bottle > wanted ? bottle - wanted : wanted - bottle;
    if (bottle == PM_NEAT || wanted == PM_NEAT)
        return apart == 0;
    return apart <= wanted / 50;
}

bool pm_stock_low(pm_mass level, pm_mass neat)
{
    return level - neat > level / 1000000 + 2;
}

bool pm_stock_past(pm_day best_before, pm_day today)
{
    return best_before != PM_NO_DAY && today > best_before;
}

struct pm_stock_bottle pm_stock_bottle_of(const struct pm_bottle *bottle)
{
    return (struct pm_stock_bottle){
        .id = bottle->id,
        .opened = bottle->opened,
        .since = bottle->bought != PM_NO_DAY ? bottle->bought : pm_day_of(bottle->made_at),
        .best_before = bottle->best_before,
        .left = bottle->left};
}

static int compare_numbers(int64_t a, int64_t b)
{
    return (a > b) - (a < b);
}

static int compare_bottles(const struct pm_stock_bottle *a, const struct pm_stock_bottle *b,
                           pm_day today)
{
    int order = b->chosen - a->chosen;
    if (order == 0)
        order = pm_stock_past(a->best_before, today) - pm_stock_past(b->best_before, today);
    if (order == 0)
        order = compare_numbers(b->grade, a->grade);
    if (order == 0)
        order = (a->opened == PM_NO_DAY) - (b->opened == PM_NO_DAY);
    if (order == 0)
        order = compare_numbers(a->opened, b->opened);
    if (order == 0)
        order = compare_numbers(a->since, b->since);
    return order != 0 ? order : compare_numbers(a->id, b->id);
}

void pm_stock_order(struct pm_stock_bottle *bottles, size_t count, pm_day today)
{
    /* By insertion: few bottles of one material at one strength. */
    for (size_t i = 1; i < count; i++) {
        struct pm_stock_bottle moving = bottles[i];
        size_t at = i;
        while (at > 0 && compare_bottles(&moving, &bottles[at - 1], today) < 0) {
            bottles[at] = bottles[at - 1];
            at--;
        }
        bottles[at] = moving;
    }
}

pm_mass pm_stock_draw(struct pm_stock_bottle *bottles, size_t count, pm_mass need)
{
    for (size_t i = 0; i < count; i++) {
        pm_mass there = bottles[i].left > 0 ? bottles[i].left : 0;
        bottles[i].take = there < need ? there : need;
        need -= bottles[i].take;
    }
    return need;
}
