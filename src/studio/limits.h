/* SPDX-License-Identifier: MIT */
/* What the files about limits share: what a formula brings, and what its lines do. */
#ifndef PERMILLE_STUDIO_LIMITS_INSIDE_H
#define PERMILLE_STUDIO_LIMITS_INSIDE_H

#include "rulebook.h"

/* The product that a wish is about; its category is the wish's text. */
enum pm_status pm_limits_product(struct pm_studio *studio, const struct pm_limits_wish *wish,
                                 struct pm_product *out, struct pm_error *err);

/* What one part of a line brings to a rule, or, without one, of the substance `only`; for a shared
 * allowance the fraction of it that a product of nothing else would use. */
struct pm_line_bring {
    double amount;
    bool there, unknown; /* it brings some; of some nobody said how much */
};
enum pm_status pm_limits_line(struct pm_studio *studio, struct pm_limits_world *world,
                              const struct pm_line *line, const struct pm_book_rule *rule,
                              const struct pm_product *product, int64_t only,
                              enum pm_content_basis basis, struct pm_line_bring *out,
                              struct pm_error *err);

#endif
