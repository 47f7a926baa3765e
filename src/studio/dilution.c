/* SPDX-License-Identifier: MIT */
/*
 * Dilutions: what to weigh, and what was weighed.
 */
#include "bottle.h"

#include "permille/base/mem.h"
#include "permille/core/dilute.h"
#include "permille/studio/volumes.h"

#include <string.h>

#define READABILITY 10000 /* 0.01 g */

/* ---- choosing ---- */

/* Whether diluting this bottle with `solvent` (0: whatever it has itself) mixes two solvents. */
static bool mixes(const struct pm_bottle *row, int64_t solvent)
{
    return solvent != 0 && row->solvent != 0 && row->solvent != solvent;
}

static pm_mass step_of(const struct pm_dilution_wish *wish)
{
    return wish->readability > 0 ? wish->readability : READABILITY;
}

/* A bottle that may serve as stock, `chosen` when it holds enough; false when it is too weak, or is
 * that dilution already. Of what is wanted neat only neat will do. */
static bool stock_row(const struct pm_bottle *row, const struct pm_dilution_wish *wish,
                      struct pm_stock_bottle *out)
{
    struct pm_dilute_weights weights = {.of_stock = wish->target};
    if (wish->strength == PM_NEAT ? row->strength != PM_NEAT
                                  : pm_stock_serves(row->strength, wish->strength) ||
                                        pm_dilute_weigh(wish->target, wish->strength, row->strength,
                                                        step_of(wish), &weights, NULL) != PM_OK)
        return false;
    *out = pm_stock_bottle_of(row);
    out->chosen = row->left >= weights.of_stock;
    out->grade = wish->strength == PM_NEAT ? 0 : pm_dilute_grade(&weights, step_of(wish));
    return true;
}

/* The bottle of wish->material that makes the best dilution; 0: none. Those that hold enough come
 * before those that do not, then what can be weighed best; those in another solvent only where
 * there is nothing else. */
static enum pm_status choose(struct pm_studio *studio, const struct pm_dilution_wish *wish,
                             int64_t *out, struct pm_error *err)
{
    struct pm_bottles rows;
    enum pm_status status = pm_bottles_of(studio, wish->material, false, &rows, err);
    if (status != PM_OK)
        return status;
    struct pm_stock_bottle *order = pm_alloc_array(rows.count + 1, sizeof *order);
    size_t count = 0;
    for (int mixed = 0; order != NULL && mixed < 2 && count == 0; mixed++)
        for (size_t i = 0; i < rows.count; i++)
            if (mixes(&rows.items[i], wish->solvent) == (mixed == 1))
                count += stock_row(&rows.items[i], wish, &order[count]);
    if (order != NULL) {
        pm_stock_order(order, count, pm_studio_today(studio));
        *out = count > 0 ? order[0].id : 0;
    }
    pm_free(order);
    pm_list_release(&rows);
    return order != NULL ? PM_OK : pm_fail_memory(err);
}

/* ---- the plan ---- */

static void remark(struct pm_text *out, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

static void remark(struct pm_text *out, const char *format, ...)
{
    va_list args;
    pm_text_add(out, out->length > 0 ? " " : "");
    va_start(args, format);
    pm_text_addv(out, format, args);
    va_end(args);
}

static enum pm_status weigh(struct pm_dilution *plan, pm_mass target, pm_mass step,
                            struct pm_text *text, struct pm_error *err)
{
    struct pm_dilute_weights weights;
    char least[PM_AMOUNT_TEXT], out[PM_AMOUNT_TEXT], wanted[PM_AMOUNT_TEXT];
    enum pm_status status =
        pm_dilute_weigh(target, plan->wanted, plan->from_strength, step, &weights, err);
    if (status != PM_OK)
        return status;
    pm_mass_exact(weights.least, '.', least);
    if (weights.of_stock <= 0)
        return pm_fail(err, PM_REFUSED,
                       "The balance cannot read so little of the stock: make %s, or start "
                       "from a weaker bottle.",
                       least);
    plan->of_stock = weights.of_stock;
    plan->of_solvent = weights.of_solvent;
    plan->expected = weights.comes_out;
    plan->off = weights.off;
    plan->least = weights.least;
    if (plan->off)
        remark(text,
               "It comes out at %s, not %s: the next amount that comes out right from this "
               "stock is %s.",
               pm_strength_about(plan->expected, '.', out),
               pm_strength_format(plan->wanted, '.', wanted), least);
    return PM_OK;
}

static enum pm_status read_stock(struct pm_studio *studio, const struct pm_dilution_wish *wish,
                                 struct pm_dilution *plan, struct pm_text *text,
                                 struct pm_error *err)
{
    struct pm_bottle row;
    struct pm_card *card;
    char label[PM_BOTTLE_LABEL], strength[PM_AMOUNT_TEXT];
    enum pm_status status = pm_studio_material(studio, wish->material, &card, err);
    plan->from = wish->from;
    if (status == PM_OK && plan->from == 0)
        status = choose(studio, wish, &plan->from, err);
    if (status == PM_OK && plan->from == 0)
        status = pm_fail(err, PM_REFUSED, "No bottle of %s stronger than %s has anything left.",
                         card->name, pm_strength_format(wish->strength, '.', strength));
    if (status == PM_OK)
        status = pm_bottle_get(studio->library, plan->from, NULL, &row, err);
    if (status != PM_OK)
        return status;
    if (row.material != wish->material)
        status = pm_fail(err, PM_REFUSED, "Bottle %s does not hold %s.",
                         pm_bottle_label(row.id, label), card->name);
    plan->from_strength = row.strength;
    plan->stock_left = row.left;
    plan->solvent = wish->solvent != 0 ? wish->solvent : row.solvent;
    if (status == PM_OK && plan->solvent == 0)
        status = pm_fail(err, PM_INVALID, "Name the solvent to dilute %s with.", card->name);
    if (status == PM_OK && pm_stock_past(row.best_before, pm_studio_today(studio)))
        remark(text, "The stock bottle %s is past its date.", pm_bottle_label(row.id, label));
    if (status == PM_OK && row.solvent != 0 && row.solvent != plan->solvent) {
        struct pm_card *other;
        status = pm_studio_material(studio, row.solvent, &other, err);
        if (status == PM_OK)
            remark(text, "The stock brings some %s along: the solvent will be a mixture.",
                   other->name);
    }
    return status;
}

static enum pm_status read_solvent(struct pm_studio *studio, const struct pm_dilution_wish *wish,
                                   struct pm_dilution *plan, struct pm_error *err)
{
    struct pm_bottle row;
    struct pm_card *card;
    char label[PM_BOTTLE_LABEL];
    enum pm_status status = pm_studio_material(studio, plan->solvent, &card, err);
    if (status == PM_OK && (!card->is_solvent || plan->solvent == plan->material))
        status = pm_fail(err, PM_REFUSED, "%s is not a solvent for this.", card->name);
    plan->solvent_from = wish->solvent_from;
    if (status == PM_OK && plan->solvent_from == 0)
        status =
            choose(studio,
                   &(struct pm_dilution_wish){
                       .material = plan->solvent, .strength = PM_NEAT, .target = plan->of_solvent},
                   &plan->solvent_from, err);
    if (status != PM_OK || plan->solvent_from == 0)
        return status;
    status = pm_bottle_get(studio->library, plan->solvent_from, NULL, &row, err);
    if (status != PM_OK)
        return status;
    if (row.material != plan->solvent)
        status = pm_fail(err, PM_REFUSED, "Bottle %s does not hold %s.",
                         pm_bottle_label(row.id, label), card->name);
    plan->solvent_left = row.left;
    return status;
}

static enum pm_status name_both(struct pm_studio *studio, struct pm_dilution *plan,
                                struct pm_error *err)
{
    struct pm_card *card;
    enum pm_status status = pm_studio_material(studio, plan->material, &card, err);
    if (status == PM_OK && !(plan->name = pm_strdup(card->name)))
        status = pm_fail_memory(err);
    if (status == PM_OK)
        status = pm_studio_material(studio, plan->solvent, &card, err);
    if (status == PM_OK && !(plan->solvent_name = pm_strdup(card->name)))
        status = pm_fail_memory(err);
    return status;
}

static enum pm_status plan_all(struct pm_studio *studio, const struct pm_dilution_wish *wish,
                               struct pm_dilution *plan, struct pm_text *text, struct pm_error *err)
{
    if (wish->target <= 0 || wish->target > PM_MASS_MAX / 2 || wish->strength <= 0 ||
        wish->strength >= PM_NEAT)
        return pm_fail(err, PM_INVALID, "A dilution has a mass and a strength below neat.");
    plan->material = wish->material;
    plan->wanted = wish->strength;
    enum pm_status status = read_stock(studio, wish, plan, text, err);
    if (status == PM_OK)
        status = weigh(plan, wish->target, step_of(wish), text, err);
    if (status == PM_OK)
        status = read_solvent(studio, wish, plan, err);
    if (status == PM_OK)
        status = name_both(studio, plan, err);
    plan->stock_ul = pm_volume_in(studio, plan->material, plan->from_strength, plan->of_stock);
    plan->solvent_ul = pm_volume_in(studio, plan->solvent, PM_NEAT, plan->of_solvent);
    if (status == PM_OK && plan->stock_left < plan->of_stock)
        remark(text, "The stock bottle does not hold that much.");
    if (status == PM_OK && plan->solvent_from == 0)
        remark(text, "There is no bottle of %s on the shelf.", plan->solvent_name);
    else if (status == PM_OK && plan->solvent_left < plan->of_solvent)
        remark(text, "The bottle of solvent does not hold that much.");
    return status;
}

enum pm_status pm_dilution_plan(struct pm_studio *studio, const struct pm_dilution_wish *wish,
                                struct pm_dilution *out, struct pm_error *err)
{
    struct pm_dilution plan;
    struct pm_text text = PM_TEXT_EMPTY;
    memset(&plan, 0, sizeof plan);
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status == PM_OK)
        status = pm_look_over(studio, plan_all(studio, wish, &plan, &text, err));
    if (status == PM_OK &&
        (!pm_text_ok(&text) || (text.length > 0 && !(plan.remark = pm_text_take(&text)))))
        status = pm_fail_memory(err);
    pm_text_release(&text);
    if (status != PM_OK) {
        pm_dilution_release(&plan);
        return status;
    }
    *out = plan;
    return PM_OK;
}

void pm_dilution_release(struct pm_dilution *dilution)
{
    pm_free(dilution->name);
    pm_free(dilution->solvent_name);
    pm_free(dilution->remark);
    memset(dilution, 0, sizeof *dilution);
}

/* ---- what was weighed ---- */

enum pm_status pm_dilution_weighed(struct pm_studio *studio, const struct pm_dilution *dilution,
                                   const char *stock_text, const char *solvent_text, pm_mass *stock,
                                   pm_mass *solvent, struct pm_error *err)
{
    pm_mass of_stock = 0;
    enum pm_status status =
        pm_error_at(err, "stock",
                    pm_material_amount(studio, dilution->material, dilution->from_strength,
                                       stock_text, &of_stock, err));
    if (status == PM_OK)
        status = pm_error_at(
            err, "solvent",
            pm_material_amount(studio, dilution->solvent, PM_NEAT, solvent_text, solvent, err));
    if (status == PM_OK)
        *stock = of_stock;
    return status;
}

/* "K21-6604 in C85-12": both lots as far as they are known, on one line that fits. */
static enum pm_status join_lots(struct pm_studio *studio, const struct pm_dilution *plan,
                                char **out, struct pm_error *err)
{
    const int64_t bottles[] = {plan->from, plan->solvent_from};
    struct pm_text text = PM_TEXT_EMPTY;
    struct pm_arena arena = {0};
    enum pm_status status = PM_OK;
    for (int i = 0; i < 2 && status == PM_OK && bottles[i] != 0; i++) {
        struct pm_bottle row;
        status = pm_bottle_get(studio->library, bottles[i], &arena, &row, err);
        if (status == PM_OK)
            pm_text_addf(&text, "%s%.80s", i == 0 ? "" : " in ",
                         row.lot != NULL ? row.lot : row.label);
    }
    pm_arena_release(&arena);
    *out = pm_text_take(&text);
    return status == PM_OK && *out == NULL ? pm_fail_memory(err) : status;
}

/* Out of a bottle and into the new one: two rows that name each other's bottle. */
static enum pm_status move_over(struct pm_shelf_step *step, int64_t from, int64_t to, pm_mass mass,
                                bool even_below, int64_t at, pm_mass *missing, struct pm_error *err)
{
    struct pm_movement out = {
        .bottle = from, .kind = PM_MOVED, .mass = -mass, .other = to, .at = at};
    struct pm_movement in = {
        .bottle = to, .kind = PM_RECEIVED, .mass = mass, .other = from, .at = at};
    enum pm_status status = PM_OK;
    if (mass == 0)
        return PM_OK;
    if (from != 0)
        status = pm_bottle_move(step, &out, even_below, missing, err);
    return status == PM_OK ? pm_bottle_move(step, &in, false, NULL, err) : status;
}

/* A bottle names one solvent: of a mixture the one there is more of, and the note tells both. */
static enum pm_status tell_mixture(struct pm_shelf_step *step, const struct pm_dilution *plan,
                                   int64_t other, pm_mass stock, pm_mass solvent,
                                   struct pm_bottle *row, struct pm_text *note,
                                   struct pm_error *err)
{
    struct pm_card *card;
    pm_mass neat = 0;
    char first[PM_AMOUNT_TEXT], second[PM_AMOUNT_TEXT];
    if (other == 0 || other == plan->solvent)
        return PM_OK;
    enum pm_status status = pm_studio_material(step->studio, other, &card, err);
    if (status != PM_OK)
        return status;
    pm_muldiv(stock, plan->from_strength, PM_NEAT, &neat);
    if (stock - neat > solvent)
        row->solvent = other;
    pm_text_addf(note, "%ssolvents: %s %s, %s %s", note->length > 0 ? " · " : "",
                 pm_mass_format(stock - neat, 2, '.', first), card->name,
                 pm_mass_format(solvent, 2, '.', second), plan->solvent_name);
    return PM_OK;
}

/* What is known of the new bottle before anything is said about it. */
static enum pm_status begin_row(struct pm_studio *studio, const struct pm_dilution *plan,
                                pm_mass stock, pm_mass solvent, int64_t at,
                                const struct pm_bottle *source, struct pm_bottle *row,
                                struct pm_error *err)
{
    row->solvent = plan->solvent;
    row->made_from = plan->from;
    row->opened = at != 0 ? pm_day_of(at) : pm_studio_today(studio);
    /* A dilution does not outlive the stock it was made from. */
    row->best_before = source->best_before;
    return pm_dilute_result(stock, plan->from_strength, solvent, &row->strength, err);
}

/* What was said, with both lots where none was, and what is to be told of a mixture in the note. */
static enum pm_status say_more(struct pm_shelf_step *step, const struct pm_dilution *plan,
                               int64_t other, pm_mass stock, pm_mass solvent, struct pm_bottle *row,
                               const char **values, char **lots, struct pm_text *note,
                               struct pm_error *err)
{
    values[PM_BOTTLE_STRENGTH] = values[PM_BOTTLE_SOLVENT] = NULL;
    pm_text_add(note, values[PM_BOTTLE_NOTE] != NULL ? values[PM_BOTTLE_NOTE] : "");
    enum pm_status status = tell_mixture(step, plan, other, stock, solvent, row, note, err);
    if (status == PM_OK && !pm_text_ok(note))
        status = pm_fail_memory(err);
    values[PM_BOTTLE_NOTE] = pm_text_get(note);
    if (status == PM_OK && values[PM_BOTTLE_LOT] == NULL)
        status = join_lots(step->studio, plan, lots, err);
    values[PM_BOTTLE_LOT] = values[PM_BOTTLE_LOT] != NULL ? values[PM_BOTTLE_LOT] : *lots;
    return status;
}

static enum pm_status make(struct pm_shelf_step *step, const struct pm_dilution *plan,
                           pm_mass stock, pm_mass solvent, const char *const *said, bool even_below,
                           int64_t at, struct pm_bottle *row, pm_mass *missing,
                           struct pm_error *err)
{
    struct pm_bottle source;
    struct pm_arena arena = {0};
    struct pm_text note = PM_TEXT_EMPTY;
    const char *values[PM_BOTTLE_ATTRIBUTES] = {NULL};
    char *lots = NULL;
    char label[PM_BOTTLE_LABEL], strength[PM_AMOUNT_TEXT], mass[PM_AMOUNT_TEXT];
    if (said != NULL)
        memcpy(values, said, sizeof values);
    enum pm_status status = pm_bottle_get(step->studio->library, plan->from, NULL, &source, err);
    if (status == PM_OK)
        status = begin_row(step->studio, plan, stock, solvent, at, &source, row, err);
    if (status == PM_OK)
        status =
            say_more(step, plan, source.solvent, stock, solvent, row, values, &lots, &note, err);
    if (status == PM_OK)
        status = pm_bottle_enter(step, row, values, stock + solvent, &arena, err);
    pm_free(lots);
    pm_text_release(&note);
    pm_arena_release(&arena);
    if (status == PM_OK)
        status = move_over(step, plan->from, row->id, stock, even_below, at, missing, err);
    if (status == PM_OK)
        status =
            move_over(step, plan->solvent_from, row->id, solvent, even_below, at, missing, err);
    if (status != PM_OK)
        return status;
    const bool mixed = source.solvent != 0 && source.solvent != plan->solvent;
    pm_step_say(
        step, "Made %s of %s at %s in %s: bottle %s", pm_mass_format(stock + solvent, 2, '.', mass),
        plan->name, pm_strength_about(row->strength, '.', strength),
        mixed ? "a mixture of solvents" : plan->solvent_name, pm_bottle_label(row->id, label));
    return PM_OK;
}

enum pm_status pm_dilution_make(struct pm_studio *studio, const struct pm_dilution *dilution,
                                pm_mass stock_weighed, pm_mass solvent_weighed,
                                const char *const *values, bool even_below, int64_t at,
                                int64_t *bottle, pm_mass *missing, struct pm_error *err)
{
    struct pm_shelf_step step;
    struct pm_bottle row = pm_bottle_blank(dilution->material);
    char out[PM_AMOUNT_TEXT], wanted[PM_AMOUNT_TEXT], least[PM_AMOUNT_TEXT];
    if (missing != NULL)
        *missing = 0;
    if (dilution->off && !dilution->even_off && stock_weighed == dilution->of_stock &&
        solvent_weighed == dilution->of_solvent)
        return pm_fail(err, PM_REFUSED,
                       "It would come out at %s, not %s. Make %s, start from a weaker "
                       "bottle, or say that it may.",
                       pm_strength_about(dilution->expected, '.', out),
                       pm_strength_format(dilution->wanted, '.', wanted),
                       pm_mass_exact(dilution->least, '.', least));
    if (stock_weighed <= 0 || solvent_weighed <= 0 || stock_weighed > PM_MASS_MAX / 2 ||
        solvent_weighed > PM_MASS_MAX / 2)
        return pm_fail(err, PM_INVALID, "A dilution has some stock and some solvent in it.");
    enum pm_status status = pm_step_begin(&step, studio, err);
    if (status != PM_OK)
        return status;
    status = make(&step, dilution, stock_weighed, solvent_weighed, values, even_below, at, &row,
                  missing, err);
    status = pm_step_end(&step, status, "dilute", err);
    if (status == PM_OK && bottle != NULL)
        *bottle = row.id;
    return status;
}
