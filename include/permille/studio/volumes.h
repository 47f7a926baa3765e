/* SPDX-License-Identifier: MIT */
/*
 * Masses typed as volumes, and volumes beside masses, where a density is known: of what is neat,
 * its material's. The density of a dilution is that of neither, and stays unknown.
 */
#ifndef PERMILLE_STUDIO_VOLUMES_H
#define PERMILLE_STUDIO_VOLUMES_H

#include "permille/base/amount.h"
#include "permille/base/status.h"
#include "permille/studio/studio.h"

/* A mass, or a volume of the material (of what is in the bottle): "10g", "10ml". PM_REFUSED where
 * the volume's density is not known. */
enum pm_status pm_material_amount(struct pm_studio *studio, int64_t material, pm_strength strength,
                                  const char *text, pm_mass *out, struct pm_error *err);
enum pm_status pm_bottle_amount(struct pm_studio *studio, int64_t bottle, const char *text,
                                pm_mass *out, struct pm_error *err);
/* The volume of a mass in microlitres; -1: unknown, also when it cannot be read just now. */
int64_t pm_volume_in(struct pm_studio *studio, int64_t material, pm_strength strength,
                     pm_mass mass);

#endif
