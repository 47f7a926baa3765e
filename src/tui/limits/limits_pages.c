/* SPDX-License-Identifier: MIT */
/* The Limits room: pages to read. */
#include "limits_room.h"

#include "kit/overlay.h"

#include "permille/base/mem.h"

#include <string.h>

bool limits_any(void *state)
{
    const struct limits_room *room = state;
    if (!room->judged)
        pm_app_say(room->app, "%s",
                   room->refused != NULL ? room->refused : "No formula is open in the Bench.");
    return room->judged;
}

/* ---- everything about a row ---- */

static void add_figure(const struct limits_room *room, struct pm_page *page,
                       const struct pm_finding_rule *finding)
{
    struct pm_text text = PM_TEXT_EMPTY;
    const struct pm_figure *figure = finding->figure;
    char number[PM_AMOUNT_TEXT];
    pm_text_addf(&text, "%s, \"%s\": %s", finding->rule->set, finding->rule->name,
                 pm_verdict_word(finding->judgement.verdict));
    if (finding->limit >= 0)
        pm_text_addf(&text, ", limit %s %%",
                     pm_decimal_exact(finding->limit, 7, room->house->sign, number));
    else if (finding->limit == PM_NO_LIMIT)
        pm_text_add(&text, ", no limit");
    else if (finding->rule->kind != PM_RULE_SHARES)
        pm_text_add(&text, ", no figure");
    if (finding->replaced)
        pm_text_add(&text, "; your own figure counts instead");
    pm_page_add(page, finding->leads ? PM_ROLE_HEADING : PM_ROLE_NORMAL, 2, pm_text_get(&text));
    pm_text_release(&text);
    pm_page_addf(page, PM_ROLE_FAINT, 4, "  from: %s%s%s%s%s",
                 figure != NULL && figure->source[0] ? figure->source : finding->rule->source,
                 figure != NULL && figure->dated[0] ? ", " : "",
                 figure != NULL ? figure->dated : "",
                 figure != NULL && figure->memory ? "; from memory" : "",
                 finding->rule->own ? "; your own" : "");
    const char *note = figure != NULL && figure->note[0] ? figure->note : finding->rule->note;
    if (note[0])
        pm_page_addf(page, PM_ROLE_NORMAL, 4, "  %s", note);
}

static void add_lines(struct limits_room *room, struct pm_page *page,
                      const struct pm_limits_row *row)
{
    const struct pm_sheet *sheet = pm_bench_shown(room->app);
    limits_prepare_lines(room);
    if (sheet == NULL || room->lines_of != room->list.row)
        return;
    pm_page_add(page, PM_ROLE_HEADING, 0, "What brings it");
    for (size_t i = 0; i < sheet->trial.count; i++) {
        char number[PM_AMOUNT_TEXT];
        int64_t amount = room->lines[i];
        if (amount == 0)
            continue;
        if (amount < 0)
            pm_page_addf(page, PM_ROLE_WARNING, 4, "  %s: an amount that nobody said",
                         sheet->lines[i].title);
        else
            pm_page_addf(page, PM_ROLE_NORMAL, 4, "  %s: %s %%%s", sheet->lines[i].title,
                         pm_decimal_format(amount, 10, pm_decimal_places(amount, 10, 2),
                                           room->house->sign, number),
                         row->shares ? " of the allowance" : " of the product");
    }
    pm_page_add(page, PM_ROLE_NORMAL, 0, "");
}

void limits_about(void *state)
{
    struct limits_room *room = state;
    const struct pm_limits_row *row = limits_selected(room);
    if (row == NULL)
        return;
    struct pm_page *page = pm_page_new(row->title);
    if (row->why[0])
        pm_page_addf(page, limits_role(row->verdict), 0, "%s: %s.", pm_verdict_word(row->verdict),
                     row->why);
    add_lines(room, page, row);
    if (row->finding != NULL)
        pm_page_add(page, PM_ROLE_HEADING, 0, "Figures");
    if (row->finding != NULL)
        add_figure(room, page, row->finding);
    for (size_t i = 0; i < row->other_count; i++)
        add_figure(room, page, &row->others[i]);
    for (size_t i = 0; i < room->limits.check_count; i++) {
        const struct pm_book_rule *rule = room->limits.checks[i].rule;
        if (i == 0)
            pm_page_add(page, PM_ROLE_HEADING, 0, "To check in this formula: no sum can tell");
        pm_page_addf(page, PM_ROLE_NORMAL, 4, "  %s: %s (%s)", rule->title, rule->note,
                     rule->source);
    }
    pm_page_add(page, PM_ROLE_NORMAL, 0, "");
    pm_page_add(page, PM_ROLE_WARNING, 0, pm_limits_caution());
    pm_page_open(room->app, page, false);
}

/* ---- label and cautions ---- */

static void add_text(struct pm_page *page, struct pm_text *text)
{
    char *whole = pm_text_take(text), *rest = whole;
    while (rest != NULL && *rest)
        pm_page_add(page, PM_ROLE_NORMAL, 2, strsep(&rest, "\n"));
    if (whole == NULL)
        pm_page_add(page, PM_ROLE_ERROR, 0, "Out of memory.");
    pm_free(whole);
}

void limits_label(void *state)
{
    struct limits_room *room = state;
    const struct pm_sheet *sheet = pm_bench_shown(room->app);
    struct pm_text text = PM_TEXT_EMPTY;
    struct pm_error err = {0};
    struct pm_label label;
    if (sheet == NULL)
        return;
    enum pm_status status =
        pm_label_of(room->house->studio, sheet, &room->limits.wish, false, &label, &err);
    if (status == PM_OK) {
        status = pm_label_text(room->house->studio, sheet, &label, room->house->sign, false, &text,
                               &err);
        pm_label_release(&label);
    }
    if (status != PM_OK) {
        pm_app_error(room->app, &err);
    } else {
        struct pm_page *page = pm_page_new("Label, a draft");
        add_text(page, &text);
        pm_page_open(room->app, page, false);
    }
    pm_text_release(&text);
}

void limits_cautions(void *state)
{
    struct limits_room *room = state;
    struct pm_text text = PM_TEXT_EMPTY;
    struct pm_page *page = pm_page_new("What to be careful about");
    pm_limits_cautions(&room->limits, &text, NULL);
    add_text(page, &text);
    pm_page_open(room->app, page, false);
    pm_text_release(&text);
}
