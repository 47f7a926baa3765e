/* SPDX-License-Identifier: MIT */
/* The weigh sheet on paper. */
#include "scale_page.h"

#include "permille/core/volume.h"

/* schema/reference/cautions.md, 10, 13, 14 and 1 */
const char pm_weigh_caution[] =
    "Neat materials burn, irritate and sensitise: gloves, eye protection, ventilation; do not stir "
    "up dust, never neat on skin. The supplier's safety data sheets decide.";
/* the same, 20 and 21 */
const char pm_fill_caution[] =
    "Ethanol gives off vapour that a spark can light: no flames, no smoking, no heating on an open "
    "plate, ventilation. Duty, denaturing and storage follow local law and its licensed assessors.";

static void makings(struct pm_page *page, const struct pm_weighing *weighing)
{
    if (weighing->making_count > 0)
        pm_page_say(page, "Make first:");
    for (size_t i = 0; i < weighing->making_count; i++) {
        struct pm_text text = PM_TEXT_EMPTY;
        pm_text_add(&text, "  ");
        pm_weigh_making_say(weighing, i, page->sign, &text);
        pm_page_say(page, pm_text_get(&text));
        page->out->failed = page->out->failed || !pm_text_ok(&text);
        pm_text_release(&text);
    }
}

static const struct pm_weigh_whence *whence_of(const void *lines, size_t i)
{
    return &((const struct pm_weigh_line *)lines)[i].whence;
}

static void weigh_row(struct pm_page *page, const struct pm_weighing *weighing, pm_mass most,
                      const struct pm_weigh_line *line)
{
    char place[24], strength[PM_AMOUNT_TEXT], target[PM_AMOUNT_TEXT], reads[PM_AMOUNT_TEXT];
    char error[PM_AMOUNT_TEXT], bar[PM_AMOUNT_TEXT], volume[PM_AMOUNT_TEXT];
    char bottle[400], text[440];
    pm_scale_page_bottle(line->label, line->lot, line->store, bottle, sizeof bottle);
    pm_print(text, sizeof text, "%s%s", line->to_make ? "to be made" : bottle,
             line->weighable ? "" : " " PM_TOO_LITTLE " " PM_TOO_LITTLE_WORDS);
    pm_page_row(page, (const char *const[]){
                          pm_print(place, sizeof place, "%lld", (long long)line->place), line->tall,
                          pm_strength_about(line->strength, page->sign, strength), text,
                          pm_scale_page_exactly(page, line->target, target),
                          pm_page_bar((double)line->target, (double)most, bar),
                          pm_volume_format(line->target_ul, page->sign, volume),
                          pm_scale_page_display(page, &weighing->balance, line->reads, reads),
                          pm_scale_page_percent(page, line->error, error), ""});
}

enum pm_status pm_weighing_print(const struct pm_weighing *weighing, enum pm_paper paper, char sign,
                                 struct pm_text *out, struct pm_error *err)
{
    static const struct pm_page_column columns[] = {
        {.title = "#", .number = true, .least = 3},
        {.title = "material"},
        {.title = "strength", .number = true},
        {.title = "bottle"},
        {.title = "target g", .number = true, .least = 10, .second = true},
        {.title = "", .bar = true},
        {.title = "volume", .number = true, .least = 8, .second = true},
        {.title = "display g", .number = true, .least = 10, .second = true},
        {.title = "error", .number = true, .least = 7, .second = true},
        {.title = "poured g", .number = true, .least = 12, .second = true},
    };
    struct pm_page page;
    char text[400], mass[PM_AMOUNT_TEXT];
    pm_mass most = 0;
    const enum pm_status status = pm_page_can(paper, err);
    if (status != PM_OK)
        return status;
    pm_print(text, sizeof text, "Weigh sheet: %s", weighing->title);
    pm_page_begin(&page, out, paper, sign, text);
    pm_page_heading(&page, 1, text);
    pm_page_say(&page, pm_print(text, sizeof text, "%s in all.",
                                pm_mass_format(weighing->mass, 2, sign, mass)));
    pm_scale_page_balance(&page, weighing->balance_name, &weighing->balance, weighing->tolerance);
    makings(&page, weighing);
    for (size_t i = 0; i < weighing->count; i++)
        most = weighing->items[i].target > most ? weighing->items[i].target : most;
    pm_page_table(&page, columns, sizeof columns / sizeof columns[0]);
    for (size_t i = 0; i < weighing->count; i++)
        weigh_row(&page, weighing, most, &weighing->items[i]);
    pm_page_table_end(&page);
    pm_page_say(&page, weighing->cumulative ? "The display is not tared between the pours."
                                            : "Tare before every pour.");
    pm_page_say(&page, "The target is exact; the display is what the balance shows of it. Volumes "
                       "are at 20 \xC2\xB0"
                       "C, where the density is known.");
    pm_page_say(&page, "Batch number ________   weighed by ____________________   on "
                       "______________");
    pm_scale_page_accords(&page, whence_of, weighing->items, weighing->count);
    pm_page_caution(&page, pm_weigh_caution);
    return pm_page_end(&page, err);
}
