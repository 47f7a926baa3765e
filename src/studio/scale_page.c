/* SPDX-License-Identifier: MIT */
/* What weigh sheets and batch records say alike. */
#include "scale_page.h"

const char *pm_scale_page_percent(const struct pm_page *page, double share, char *buf)
{
    const int64_t scaled = (int64_t)(share * 1e8 + (share < 0 ? -0.5 : 0.5));
    char number[PM_AMOUNT_TEXT];
    return pm_print(buf, PM_AMOUNT_TEXT, "%s %%",
                    pm_decimal_format(scaled, 6, 1, page->sign, number));
}

const char *pm_scale_page_bar(pm_mass mass, pm_mass most, char *buf)
{
    const double share = most > 0 && mass > 0 ? (double)mass / (double)most : 0;
    return pm_decimal_format((int64_t)((share < 1 ? share : 1) * 1e4 + 0.5), 2, 2, '.', buf);
}

void pm_scale_page_balance(struct pm_page *page, const char *name, const struct pm_balance *balance,
                           pm_strength tolerance)
{
    char step[PM_AMOUNT_TEXT], least[PM_AMOUNT_TEXT], within[PM_AMOUNT_TEXT], text[300];
    pm_page_say(
        page,
        pm_print(text, sizeof text,
                 "Balance: %s, reads %s; the least within %s is %s (USP <41>, k = 2).",
                 name != NULL ? name : "not named",
                 pm_mass_exact(balance->readability, page->sign, step),
                 pm_strength_format(tolerance, page->sign, within),
                 pm_mass_format(pm_balance_minimum(balance, tolerance), 2, page->sign, least)));
}

void pm_scale_page_bottle(const char *label, const char *lot, const char *store, char *buf,
                          size_t size)
{
    pm_print(buf, size, "%s%s%s%s%s", label != NULL ? label : "not on the shelf",
             lot != NULL ? ", lot " : "", lot != NULL ? lot : "", store != NULL ? ", " : "",
             store != NULL ? store : "");
}
