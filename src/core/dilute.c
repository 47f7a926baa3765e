/* SPDX-License-Identifier: MIT */
/* Dilution by mass: c1 m1 = c2 m2, and alligation (mean and alternate). */
#include "permille/core/dilute.h"

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
