/* SPDX-License-Identifier: MIT */
/* What weigh sheets and batch records say alike. */
#include "scale_page.h"

#include "permille/base/word.h"

const char *pm_scale_page_percent(const struct pm_page *page, double share, char *buf)
{
    const int64_t scaled = (int64_t)(share * 1e8 + (share < 0 ? -0.5 : 0.5));
    char number[PM_AMOUNT_TEXT];
    return pm_print(buf, PM_AMOUNT_TEXT, "%s %%",
                    pm_decimal_format(scaled, 6, 1, page->sign, number));
}

const char *pm_scale_page_exactly(const struct pm_page *page, pm_mass mass, char *buf)
{
    return pm_decimal_format(mass, 6, 6, page->sign, buf);
}

const char *pm_scale_page_display(const struct pm_page *page, const struct pm_balance *balance,
                                  pm_mass mass, char *buf)
{
    return pm_decimal_format(mass, 6, pm_balance_places(balance), page->sign, buf);
}

const char *pm_scale_page_poured(const struct pm_page *page, const struct pm_balance *balance,
                                 pm_mass mass, char *buf)
{
    return pm_decimal_format(mass, 6, pm_balance_places_of(balance, mass), page->sign, buf);
}

/* ---- accords ---- */

struct accords {
    struct pm_page *page;
    pm_scale_whence_of *whence;
    const void *lines;
    size_t count;
};

static bool asks(const struct pm_weigh_whence *whence, const char *accord)
{
    for (size_t i = 0; i < whence->accord_count; i++)
        if (pm_same_text(whence->accords[i], accord))
            return true;
    return false;
}

/* "Root/1, made up: line 3.", "Heart/1: lines 1, 4." */
static void say_accord(const struct accords *at, const char *accord, bool made_up)
{
    struct pm_text text = PM_TEXT_EMPTY;
    size_t said = 0, all = 0;
    for (size_t i = 0; i < at->count; i++) {
        const struct pm_weigh_whence *whence = at->whence(at->lines, i);
        all += made_up ? pm_same_text(whence->made_up, accord) : asks(whence, accord);
    }
    pm_text_addf(&text, "%s%s: line%s ", accord, made_up ? ", made up" : "", all > 1 ? "s" : "");
    for (size_t i = 0; i < at->count; i++) {
        const struct pm_weigh_whence *whence = at->whence(at->lines, i);
        if (made_up ? pm_same_text(whence->made_up, accord) : asks(whence, accord))
            pm_text_addf(&text, "%s%zu", said++ > 0 ? ", " : "", i + 1);
    }
    pm_text_add_char(&text, '.');
    pm_page_say(at->page, pm_text_get(&text));
    at->page->out->failed = at->page->out->failed || !pm_text_ok(&text);
    pm_text_release(&text);
}

/* Whether it was said of a line before. */
static bool is_known(const struct accords *at, size_t line, const char *accord, bool made_up)
{
    for (size_t i = 0; i < line; i++) {
        const struct pm_weigh_whence *whence = at->whence(at->lines, i);
        if (made_up ? pm_same_text(whence->made_up, accord) : asks(whence, accord))
            return true;
    }
    return false;
}

void pm_scale_page_accords(struct pm_page *page, pm_scale_whence_of *whence, const void *lines,
                           size_t count)
{
    const struct accords at = {page, whence, lines, count};
    bool any = false;
    for (size_t i = 0; i < count && !any; i++)
        any = whence(lines, i)->made_up != NULL || whence(lines, i)->accord_count > 0;
    if (!any)
        return;
    pm_page_heading(page, 2, "Accords");
    for (size_t i = 0; i < count; i++) {
        const struct pm_weigh_whence *from = whence(lines, i);
        if (from->made_up != NULL && !is_known(&at, i, from->made_up, true))
            say_accord(&at, from->made_up, true);
        for (size_t k = 0; k < from->accord_count; k++)
            if (!is_known(&at, i, from->accords[k], false))
                say_accord(&at, from->accords[k], false);
    }
}

void pm_scale_page_balance(struct pm_page *page, const char *name, const struct pm_balance *balance,
                           pm_strength tolerance)
{
    char step[PM_AMOUNT_TEXT], least[PM_AMOUNT_TEXT], within[PM_AMOUNT_TEXT], text[300];
    pm_page_say(page,
                pm_print(text, sizeof text,
                         "Balance: %s, reads %s; the least within %s is %s (USP <41>, k = 2).",
                         name != NULL ? name : "not named",
                         pm_balance_exact(balance, balance->readability, page->sign, step),
                         pm_strength_format(tolerance, page->sign, within),
                         pm_balance_exact(balance, pm_balance_minimum(balance, tolerance),
                                          page->sign, least)));
}

void pm_scale_page_bottle(const char *label, const char *lot, const char *store, char *buf,
                          size_t size)
{
    pm_print(buf, size, "%s%s%s%s%s", label != NULL ? label : "not on the shelf",
             lot != NULL ? ", lot " : "", lot != NULL ? lot : "", store != NULL ? ", " : "",
             store != NULL ? store : "");
}
