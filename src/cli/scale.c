/* SPDX-License-Identifier: MIT */
/* What the commands of the scale share (scale.h). */
#include "scale.h"
#include "listing.h"

#include "permille/base/amount.h"

#include <math.h>

struct pm_weigh_how pm_cli_weigh_how(const struct pm_cli *cli)
{
    return (struct pm_weigh_how){
        .balance = pm_cli_value(cli, "balance"),
        .readability = pm_cli_value(cli, "readability"),
        .least = pm_cli_value(cli, "least"),
        .tolerance = pm_cli_value(cli, "tolerance"),
        .order = pm_cli_value(cli, "order"),
        .as_it_is = pm_cli_has(cli, "as-it-is"),
        .cumulative = pm_cli_has(cli, "cumulative"),
    };
}

int64_t pm_cli_percent(double share)
{
    return llround(fmin(fabs(share), 9e6) * 1e9) * (share < 0 ? -1 : 1);
}

int64_t pm_cli_share(double share)
{
    return llround(share * 1e14);
}

void pm_cli_known_mass(struct pm_listing *table, pm_mass mass)
{
    if (mass > 0)
        pm_listing_number(table, mass);
    else
        pm_listing_null(table);
}

enum pm_status pm_cli_read_number(const char *text, const char *what, int64_t *out,
                                  struct pm_error *err)
{
    return pm_decimal_read(text, 0, what, out, err);
}
