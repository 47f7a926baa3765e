/* SPDX-License-Identifier: MIT */
/*
 * What a formula is made of, by odour family and by volatility, against the person's ceilings.
 * What the words and numbers mean stands in core/profile.h.
 *
 * The class of volatility is that of the vapour pressure (core/drydown.h); a natural without one
 * counts through its constituents, and what is left of it is unknown.
 */
#ifndef PERMILLE_STUDIO_PROFILE_H
#define PERMILLE_STUDIO_PROFILE_H

#include "permille/base/arena.h"
#include "permille/base/map.h"
#include "permille/base/text.h"
#include "permille/core/profile.h"
#include "permille/studio/bench.h"
#include "permille/studio/studio.h"

/* What was read for a profile: kept by whoever asks again and again while something is typed, and
 * released when the library has changed. A zeroed one is empty. */
struct pm_profile_known {
    bool read;
    struct pm_ceilings ceilings;
    struct pm_map stages; /* of materials; private */
    struct pm_arena arena;
};
void pm_profile_forget(struct pm_profile_known *known);

struct pm_profile {
    struct pm_profile_group *groups; /* families, the largest first, what has none last; then top,
                                        heart, base and what has no figure */
    size_t count;
    size_t over, unknown; /* groups above their ceiling; that may be above it */
    struct pm_arena arena;
};
/* Of a sheet, written or not. Names and ceilings are those of `known` and live as long as it does.
 * An empty formula, and one of solvents alone, has no groups. */
enum pm_status pm_profile_of(struct pm_studio *studio, const struct pm_sheet *sheet,
                             struct pm_profile_known *known, struct pm_profile *out,
                             struct pm_error *err);
/* The same while something is typed: the file is not looked at, but for what is not known yet. */
enum pm_status pm_profile_preview(struct pm_studio *studio, const struct pm_sheet *sheet,
                                  struct pm_profile_known *known, struct pm_profile *out,
                                  struct pm_error *err);
void pm_profile_release(struct pm_profile *profile);

/* "! musk 12 % (at most 10 %)" for the first that is over, "? musk ..." for one that may be;
 * nothing when all is well. */
void pm_profile_say(const struct pm_profile *profile, char sign, struct pm_text *out);

struct pm_ceiling_entry {
    struct pm_ceiling row;
    const char *formula; /* its name; NULL: every formula */
};
struct pm_ceiling_entries {
    struct pm_ceiling_entry *items; /* those for every formula first */
    size_t count;
    struct pm_arena arena;
};
enum pm_status pm_ceilings_read(struct pm_studio *studio, struct pm_ceiling_entries *out,
                                struct pm_error *err);
/* formula 0: for every formula. name: "top", "heart" or "base", else a family that some material
 * has (PM_MISSING where none has it); most: a percentage, "10%" or "10". *sentence (may be NULL) is
 * a new string. */
enum pm_status pm_ceiling_set(struct pm_studio *studio, int64_t formula, const char *name,
                              const char *most, char **sentence, struct pm_error *err);
/* PM_MISSING when there is none for exactly that. */
enum pm_status pm_ceiling_remove(struct pm_studio *studio, int64_t formula, const char *name,
                                 char **sentence, struct pm_error *err);

#endif
