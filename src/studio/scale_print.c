/* SPDX-License-Identifier: MIT */
/* The weigh sheet on paper. */
#include "scale_page.h"

/* schema/reference/cautions.md, 10, 13, 14 and 1 */
const char pm_weigh_caution[] =
    "Neat materials burn, irritate and sensitise: gloves, eye protection, ventilation; do not stir "
    "up dust, never neat on skin. The supplier's safety data sheets decide.";
/* the same, 20 and 21 */
const char pm_fill_caution[] =
    "Ethanol gives off vapour that a spark can light: no flames, no smoking, no heating on an open "
    "plate, ventilation. Duty, denaturing and storage follow local law and its licensed assessors.";

static void makings(struct scale_page *print, const struct pm_weighing *weighing)
{
    if (weighing->making_count > 0)
        pm_scale_page_say(print, "Make first:");
    for (size_t i = 0; i < weighing->making_count; i++) {
        const struct pm_weigh_making_line *line = &weighing->makings[i];
        char text[600], strength[PM_AMOUNT_TEXT], target[PM_AMOUNT_TEXT], stock[PM_AMOUNT_TEXT];
        char solvent[PM_AMOUNT_TEXT];
        pm_scale_page_say(
            print,
            pm_print(text, sizeof text, "  %s at %s: %s from %s and %s of %s make %s", line->name,
                     pm_strength_format(line->strength, print->sign, strength),
                     pm_mass_format(line->of_stock, 2, print->sign, stock), line->from,
                     pm_mass_format(line->target - line->of_stock, 2, print->sign, solvent),
                     line->solvent_name, pm_mass_format(line->target, 2, print->sign, target)));
    }
}

enum pm_status pm_weighing_print(const struct pm_weighing *weighing, bool html, char sign,
                                 struct pm_text *out, struct pm_error *err)
{
    struct scale_page print = {out, html, sign};
    char text[400], mass[PM_AMOUNT_TEXT];
    static const char *const headings[] = {" #",     "material", " strength", "bottle",
                                           " weigh", " display", " error",    "poured"};
    int widths[] = {3, 8, 8, 6, 10, 10, 7, 12};
    for (size_t i = 0; i < weighing->count; i++) {
        const struct pm_weigh_line *line = &weighing->items[i];
        widths[1] = pm_scale_page_width(line->tall, widths[1]);
        pm_scale_page_bottle(line->label, line->lot, line->store, text, sizeof text);
        widths[3] = pm_scale_page_width(text, widths[3]);
    }
    pm_scale_page_begin(&print, "Weigh sheet", weighing->title);
    pm_scale_page_say(&print, pm_print(text, sizeof text, "%s in all.",
                                       pm_mass_format(weighing->mass, 2, sign, mass)));
    pm_scale_page_balance(&print, weighing->balance_name, &weighing->balance, weighing->tolerance);
    makings(&print, weighing);
    pm_text_add(out, html ? "<table>\n" : "\n");
    pm_scale_page_row(&print, headings, widths, headings, 8);
    for (size_t i = 0; i < weighing->count; i++) {
        const struct pm_weigh_line *line = &weighing->items[i];
        char place[24], strength[PM_AMOUNT_TEXT], target[PM_AMOUNT_TEXT], reads[PM_AMOUNT_TEXT];
        char error[PM_AMOUNT_TEXT];
        pm_scale_page_bottle(line->label, line->lot, line->store, text, sizeof text);
        if (line->to_make)
            pm_print(text, sizeof text, "to be made");
        const char *cells[] = {pm_print(place, sizeof place, "%lld", (long long)line->place),
                               line->tall,
                               pm_strength_about(line->strength, sign, strength),
                               text,
                               pm_mass_format(line->target, 3, sign, target),
                               pm_mass_format(line->reads, 2, sign, reads),
                               pm_scale_page_percent(&print, line->error, error),
                               line->weighable ? "" : "too little"};
        pm_scale_page_row(&print, headings, widths, cells, 8);
    }
    pm_text_add(out, html ? "</table>\n" : "\n");
    pm_scale_page_say(&print, weighing->cumulative ? "The display is not tared between the pours."
                                                   : "Tare before every pour.");
    pm_scale_page_say(&print, "Batch number ________   weighed by ____________________   on "
                              "______________");
    return pm_scale_page_end(&print, pm_weigh_caution, err);
}
