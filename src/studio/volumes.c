/* SPDX-License-Identifier: MIT */
/* Volumes where a density is known (studio/volumes.h). */
#include "permille/studio/volumes.h"

#include "inside.h"

#include "permille/core/ethanol.h"
#include "permille/core/volume.h"
#include "permille/store/bottles.h"
#include "permille/store/facts.h"

/* The density of a material at that strength, 1e-9 g/ml; 0: unknown. */
static enum pm_status density_of(struct pm_studio *studio, int64_t material, pm_strength strength,
                                 int64_t *density, struct pm_error *err)
{
    bool known = false;
    *density = 0;
    if (strength != PM_NEAT)
        return PM_OK;
    const enum pm_status status =
        pm_fact_value(studio->library, material, "density", density, &known, err);
    if (status != PM_OK || !known)
        *density = 0;
    return status;
}

enum pm_status pm_material_amount(struct pm_studio *studio, int64_t material, pm_strength strength,
                                  const char *text, pm_mass *out, struct pm_error *err)
{
    int64_t density = 0;
    if (!pm_is_volume(text))
        return pm_mass_read(text, out, err);
    const enum pm_status status = density_of(studio, material, strength, &density, err);
    return status == PM_OK ? pm_mass_or_volume_read(text, density, out, err) : status;
}

enum pm_status pm_bottle_amount(struct pm_studio *studio, int64_t bottle, const char *text,
                                pm_mass *out, struct pm_error *err)
{
    struct pm_bottle row;
    if (!pm_is_volume(text))
        return pm_mass_read(text, out, err);
    const enum pm_status status = pm_bottle_get(studio->library, bottle, NULL, &row, err);
    return status == PM_OK ? pm_material_amount(studio, row.material, row.strength, text, out, err)
                           : status;
}

int64_t pm_volume_in(struct pm_studio *studio, int64_t material, pm_strength strength, pm_mass mass)
{
    int64_t density = 0;
    if (mass < 0 || density_of(studio, material, strength, &density, NULL) != PM_OK)
        return -1;
    return pm_volume_of(mass, density);
}
