/* SPDX-License-Identifier: MIT */
/* Dilution by mass: c1 m1 = c2 m2, and alligation (mean and alternate). */
#include "permille/core/dilute.h"

#include "permille/core/stock.h"

static enum pm_status check_mass(pm_mass mass, struct pm_error *err)
{
    if (mass < 0 || mass > PM_MASS_MAX)
        return pm_fail(err, PM_INVALID, "A mass to be mixed cannot be negative or that large.");
    return PM_OK;
}

static enum pm_status check_strength(pm_strength strength, pm_strength least, struct pm_error *err)
{
    if (strength < least || strength > PM_NEAT) {
        return pm_fail(err, PM_INVALID, "A strength is %s and at most 100 %%.",
                       least > 0 ? "more than 0" : "not negative");
    }
    return PM_OK;
}

enum pm_status pm_dilute_plan(pm_mass target, pm_strength wanted, pm_strength stock,
                              pm_mass *of_stock, pm_mass *of_solvent, struct pm_error *err)
{
    enum pm_status status = check_strength(wanted, 1, err);
    if (status == PM_OK)
        status = check_strength(stock, 1, err);
    if (status != PM_OK)
        return status;
    if (wanted > stock) {
        char most[PM_AMOUNT_TEXT];
        return pm_fail(err, PM_REFUSED,
                       "Diluting cannot make it stronger; the most that can be had is %s.",
                       pm_strength_format(stock, '.', most));
    }
    return pm_alligate_split(target, wanted, stock, 0, of_stock, of_solvent, err);
}

enum pm_status pm_dilute_result(pm_mass stock_mass, pm_strength stock, pm_mass solvent_mass,
                                pm_strength *out, struct pm_error *err)
{
    const pm_mass masses[] = {stock_mass, solvent_mass};
    const pm_strength strengths[] = {stock, 0};
    return pm_alligate_mean(masses, strengths, 2, out, err);
}

/* ---- as a balance can weigh it ---- */

#define LEAST_STEPS 2000 /* of stock; far beyond, rounding to a step is within every tolerance */

static pm_int128 round_to(pm_int128 mass, pm_mass step)
{
    return (mass + step / 2) / step * step;
}

static bool is_off(pm_strength comes_out, pm_strength wanted)
{
    pm_strength apart = comes_out > wanted ? comes_out - wanted : wanted - comes_out;
    return apart > wanted / PM_DILUTE_TOLERANCE;
}

/* Weighs `target`, which is whole steps. */
static enum pm_status weigh_steps(pm_mass target, pm_strength wanted, pm_strength stock,
                                  pm_mass step, struct pm_dilute_weights *out, struct pm_error *err)
{
    pm_mass exact = 0, rest = 0;
    enum pm_status status = pm_dilute_plan(target, wanted, stock, &exact, &rest, err);
    if (status != PM_OK)
        return status;
    out->of_stock = (pm_mass)round_to(exact, step);
    out->of_stock = out->of_stock < target ? out->of_stock : target;
    out->of_solvent = target - out->of_stock;
    status = pm_dilute_result(out->of_stock, stock, out->of_solvent, &out->comes_out, err);
    out->off = status == PM_OK && is_off(out->comes_out, wanted);
    return status;
}

/* With a given number of steps of stock the strength falls as the target grows: of the targets from
 * `from` (whole steps) on the least is the first at which it is not too strong, unless the strength
 * falls too low before. More steps of stock take larger targets. */
static pm_mass least_target(pm_mass from, pm_strength wanted, pm_strength stock, pm_mass step)
{
    pm_int128 first = (pm_int128)from * wanted / stock / step; /* rounded up it may be one more */
    for (pm_int128 steps = first > 0 ? first : 1; steps <= first + LEAST_STEPS; steps++) {
        struct pm_dilute_weights weights;
        /* In steps: the first that is rounded to at most `most`, below most + 1/2. */
        pm_int128 most = (pm_int128)wanted + wanted / PM_DILUTE_TOLERANCE;
        pm_int128 target = ((pm_int128)2 * steps * stock / (2 * most + 1) + 1) * step;
        target = target > from ? target : from;
        if (target > PM_MASS_MAX)
            return 0;
        if (weigh_steps((pm_mass)target, wanted, stock, step, &weights, NULL) == PM_OK &&
            !weights.off && weights.of_stock == steps * step)
            return (pm_mass)target;
    }
    return 0;
}

enum pm_status pm_dilute_weigh(pm_mass target, pm_strength wanted, pm_strength stock, pm_mass step,
                               struct pm_dilute_weights *out, struct pm_error *err)
{
    struct pm_dilute_weights weights = {.of_stock = 0};
    pm_int128 whole = round_to(target, step);
    if (target <= 0 || step <= 0 || whole > PM_MASS_MAX)
        return pm_fail(err, PM_INVALID, "A dilution has a mass that can be weighed.");
    whole = whole > 0 ? whole : step;
    enum pm_status status = weigh_steps((pm_mass)whole, wanted, stock, step, &weights, err);
    if (status != PM_OK)
        return status;
    weights.least = least_target((pm_mass)whole, wanted, stock, step);
    *out = weights;
    return PM_OK;
}

int pm_dilute_grade(const struct pm_dilute_weights *weights, pm_mass step)
{
    pm_mass smaller =
        weights->of_stock < weights->of_solvent ? weights->of_stock : weights->of_solvent;
    int grade = 0;
    for (pm_mass steps = weights->off ? 0 : smaller / step; steps > 0; steps /= 2)
        grade++;
    return grade;
}

static pm_strength of_digits(pm_strength strength, int digits)
{
    pm_strength step = 1;
    for (pm_strength least = digits > 1 ? 100 : 10; strength / step >= least; step *= 10)
        ;
    return (strength + step / 2) / step * step;
}

pm_strength pm_strength_written(pm_strength strength)
{
    for (int digits = 1; digits <= 2; digits++) {
        const pm_strength written = of_digits(strength, digits);
        if (written > 0 && written < PM_NEAT && pm_stock_serves(strength, written))
            return written;
    }
    return strength;
}

/* ---- alligation ---- */

enum pm_status pm_alligate_mean(const pm_mass *masses, const pm_strength *strengths, size_t count,
                                pm_strength *out, struct pm_error *err)
{
    pm_int128 mass = 0;
    pm_int128 neat = 0;
    for (size_t i = 0; i < count; i++) {
        enum pm_status status = check_mass(masses[i], err);
        if (status == PM_OK)
            status = check_strength(strengths[i], 0, err);
        if (status != PM_OK)
            return status;
        mass += masses[i];
        neat += (pm_int128)masses[i] * strengths[i];
    }
    if (mass == 0)
        return pm_fail(err, PM_INVALID, "Nothing is mixed, so there is no strength.");
    *out = (pm_strength)((2 * neat + mass) / (2 * mass));
    return PM_OK;
}

enum pm_status pm_alligate_split(pm_mass target, pm_strength wanted, pm_strength high,
                                 pm_strength low, pm_mass *of_high, pm_mass *of_low,
                                 struct pm_error *err)
{
    enum pm_status status = check_mass(target, err);
    if (status == PM_OK)
        status = check_strength(wanted, 0, err);
    if (status == PM_OK)
        status = check_strength(high, 0, err);
    if (status == PM_OK)
        status = check_strength(low, 0, err);
    if (status == PM_OK && high < low)
        status = pm_fail(err, PM_INVALID, "The high strength is below the low one.");
    if (status != PM_OK)
        return status;
    if (wanted < low || wanted > high) {
        char least[PM_AMOUNT_TEXT], most[PM_AMOUNT_TEXT];
        return pm_fail(err, PM_REFUSED,
                       "These two mix to anything from %s %% to %s %%, and to nothing else.",
                       pm_decimal_exact(low, 7, '.', least), pm_decimal_exact(high, 7, '.', most));
    }
    pm_mass mass = target; /* where both are equal, any split will do */
    if (high > low)
        (void)pm_muldiv(target, wanted - low, high - low, &mass); /* at most the target */
    *of_high = mass;
    *of_low = target - mass;
    return PM_OK;
}
