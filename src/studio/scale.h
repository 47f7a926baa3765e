/* SPDX-License-Identifier: MIT */
/* What the files of the scale share; inside the studio. */
#ifndef PERMILLE_STUDIO_SCALE_INSIDE_H
#define PERMILLE_STUDIO_SCALE_INSIDE_H

#include "bottle.h"

#include "permille/store/weighed.h"
#include "permille/studio/scale.h"

/* The balance and tolerance that are meant; *name lies in the arena, or is NULL. */
struct pm_weigh_means {
    struct pm_balance balance;
    const char *balance_name;
    pm_strength tolerance;
    enum pm_weigh_order order;
};
enum pm_status pm_weigh_means(struct pm_studio *studio, const struct pm_weigh_how *how,
                              struct pm_arena *arena, struct pm_weigh_means *out,
                              struct pm_error *err);

/* A name kept by the arena; material 0: NULL. */
enum pm_status pm_scale_name(struct pm_studio *studio, struct pm_arena *arena, int64_t material,
                             const char **out, struct pm_error *err);
/* names[] large where they are like another, into tall[], kept by the arena. */
enum pm_status pm_scale_tall(const char *const *names, size_t count, const char **tall,
                             struct pm_arena *arena, struct pm_error *err);
/* Label, lot, place and what is left of a bottle; 0: NULLs. */
enum pm_status pm_scale_bottle(struct pm_studio *studio, struct pm_arena *arena, int64_t bottle,
                               const char **label, const char **lot, const char **store,
                               pm_mass *left, struct pm_error *err);

#endif
