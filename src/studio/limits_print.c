/* SPDX-License-Identifier: MIT */
/*
 * Limits and label in words: as text, and on a page. What is said is put together once.
 */
#include "limits.h"
#include "page.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/core/column.h"

#include <stdio.h>
#include <string.h>

#define FIELDS "label.fields"
#define CELLS  5

struct page {
    struct pm_text *out;
    struct pm_page on; /* Markdown and HTML; plain text, as the screen shows it too, is set here */
    struct pm_page_column columns[CELLS + 1]; /* the last one is drawn */
    char sign;
    bool lines; /* a row is lines, "heading: cell" */
    const char *headings[CELLS];
    char bar[PM_AMOUNT_TEXT]; /* of the row that is put next: 0 to 100, with a point */
};

/* Rows as lines are for a reader that speaks: nothing is broken there. */
static struct page plain_page(struct pm_text *out, char sign, bool lines)
{
    const size_t cells = lines ? 0 : PM_PAGE_CELLS;
    return (struct page){.out = out,
                         .on = {.out = out, .form = PM_PAPER_TEXT, .cells = cells},
                         .sign = sign,
                         .lines = lines};
}

/* ---- how things look ---- */

static bool plain(const struct page *page)
{
    return page->on.form == PM_PAPER_TEXT;
}

static void put(struct page *page, const char *text)
{
    for (const char *at = text; *at; at++)
        pm_text_add_char(page->out, *at == '\n' ? ' ' : *at);
}

static void heading(struct page *page, int level, const char *text)
{
    if (!plain(page)) {
        pm_page_heading(&page->on, level, text);
        return;
    }
    pm_text_add(page->out, level == 1 ? "" : "\n");
    put(page, text);
    pm_text_add(page->out, "\n");
    for (size_t i = pm_utf8_cells(text); i > 0 && level == 1; i--)
        pm_text_add_char(page->out, '=');
    pm_text_add(page->out, level == 1 ? "\n" : "");
}

static void paragraph(struct page *page, const char *text)
{
    if (!plain(page)) {
        pm_page_say(&page->on, text);
        return;
    }
    pm_page_lines(&page->on, text);
}

static void table_end(struct page *page)
{
    if (page->lines)
        return;
    pm_page_table_end(&page->on);
    page->out->failed = page->out->failed || page->on.failed;
}

/* The row of headings is remembered, the others are said with them. */
static void row_lines(struct page *page, const char *tag, const char *const cells[CELLS])
{
    const bool head = strcmp(tag, "th") == 0;
    for (int i = 0; i < CELLS; i++) {
        if (head)
            page->headings[i] = cells[i];
        if (head || cells[i][0] == '\0')
            continue;
        put(page, page->headings[i]);
        pm_text_add(page->out, page->headings[i][0] != '\0' ? ": " : "");
        put(page, cells[i]);
        pm_text_add_char(page->out, '\n');
    }
    pm_text_add(page->out, head ? "" : "\n");
}

static void row_of_page(struct page *page, bool head, const char *const cells[CELLS])
{
    const char *drawn[CELLS + 1];
    memcpy(drawn, cells, CELLS * sizeof *cells);
    drawn[CELLS] = page->bar;
    if (!head) {
        pm_page_row(&page->on, drawn);
        return;
    }
    for (int i = 0; i < CELLS; i++)
        page->columns[i] = (struct pm_page_column){.title = cells[i], .number = i == 2 || i == 3};
    page->columns[CELLS] = (struct pm_page_column){.title = "", .bar = true};
    pm_page_table(&page->on, page->columns, CELLS + 1);
}

/* A row: a name, then cells. */
static void row(struct page *page, const char *tag, const char *const cells[CELLS])
{
    if (page->lines)
        row_lines(page, tag, cells);
    else
        row_of_page(page, strcmp(tag, "th") == 0, cells);
}

/* ---- numbers ---- */

static char *percent(const struct page *page, int64_t value, char *buf)
{
    return pm_decimal_format(value, 10, pm_decimal_places(value, 10, 2), page->sign, buf);
}

/* What is over by little must not look as if it were the limit. */
static char *amount_of(const struct page *page, const struct pm_limits_row *limits_row, char *buf)
{
    const int64_t value = limits_row->percent;
    const int64_t limit = limits_row->limit * 1000;
    if (limits_row->limit > 0 && value != limit && value / 100 * 99 < limit &&
        limit / 100 * 99 < value)
        return pm_decimal_exact(value, 10, page->sign, buf);
    return percent(page, value, buf);
}

static char *used_of(const struct page *page, const struct pm_limits_row *limits_row, char *buf)
{
    int64_t used = pm_limits_used(limits_row);
    buf[0] = '\0';
    if (used != INT64_MAX && limits_row->limit != PM_NO_LIMIT &&
        !(limits_row->least && limits_row->percent == 0)) {
        char number[PM_AMOUNT_TEXT];
        pm_limits_used_format(used, page->sign, number);
        pm_print(buf, PM_AMOUNT_TEXT, "%s%s %%", limits_row->least ? ">" : "", number);
    }
    return buf;
}

/* ---- limits ---- */

static void limit_row(struct page *page, const struct pm_limits_row *limits_row)
{
    char amount[PM_AMOUNT_TEXT * 2], number[PM_AMOUNT_TEXT], limit[PM_AMOUNT_TEXT],
        used[PM_AMOUNT_TEXT];
    bool nothing_known = limits_row->least && limits_row->percent == 0;
    snprintf(amount, sizeof amount, "%s%s", limits_row->least ? "at least " : "",
             limits_row->shares ? "" : amount_of(page, limits_row, number));
    if (nothing_known)
        snprintf(amount, sizeof amount, "unknown");
    snprintf(limit, sizeof limit, "%s", limits_row->limit == PM_NO_LIMIT ? "no limit" : "");
    if (limits_row->limit >= 0)
        pm_decimal_exact(limits_row->limit, 7, page->sign, limit);
    used_of(page, limits_row, used);
    pm_page_bar(used[0] != '\0' ? (double)pm_limits_used(limits_row) : 0, 1e12, page->bar);
    row(page, "td",
        (const char *const[CELLS]){limits_row->title, pm_verdict_word(limits_row->verdict), amount,
                                   limit, used});
}

static void say_wish(struct page *page, const struct pm_limits_wish *wish)
{
    char text[256], dosage[PM_AMOUNT_TEXT];
    bool fragrance = strcmp(wish->category, "4") == 0;
    snprintf(text, sizeof text,
             "Dosage %s, product category %s%s%s; of a range the %s figure "
             "counts. Percent is by weight of the finished product.",
             pm_strength_format(wish->dosage, page->sign, dosage), wish->category,
             fragrance ? ", sold as " : "", fragrance ? pm_use_word(wish->use) : "",
             wish->basis == PM_BY_MOST ? "highest" : "typical");
    paragraph(page, text);
}

static void say_verdict(struct page *page, const struct pm_limits *limits)
{
    struct pm_text text = PM_TEXT_EMPTY;
    char number[PM_AMOUNT_TEXT];
    pm_text_addf(&text,
                 "%zu prohibited, %zu over, %zu unknown (no rule in use speaks of %zu of them), "
                 "%zu within.",
                 limits->prohibited, limits->over, limits->unknown + limits->without_rule,
                 limits->without_rule, limits->within);
    paragraph(page, pm_text_get(&text));
    pm_text_clear(&text);
    if (limits->highest == PM_UNKNOWN)
        pm_text_add(&text, "No known limit says how high it may be dosed.");
    else if (limits->highest == 0)
        pm_text_addf(&text, "No dosage is within: %s.", limits->decides);
    else if (limits->highest == PM_NEAT)
        pm_text_add(&text, "Every known limit is kept at any dosage.");
    else {
        /* Down, so that what is printed is still within. */
        pm_decimal_format(limits->highest - limits->highest % 10000, 7, 3, page->sign, number);
        pm_text_addf(&text, "Highest dosage within all known limits: %s %%, decided by %s.", number,
                     limits->decides);
    }
    paragraph(page, pm_text_get(&text));
    page->out->failed = page->out->failed || !pm_text_ok(&text);
    pm_text_release(&text);
}

/* A figure with everything that was said about it. */
static void say_figure(struct page *page, const struct pm_limits_row *limits_row,
                       const struct pm_finding_rule *finding)
{
    struct pm_text text = PM_TEXT_EMPTY;
    char number[PM_AMOUNT_TEXT];
    const struct pm_figure *figure = finding->figure;
    pm_text_addf(&text, "%s: %s", limits_row->title, finding->rule->set);
    if (finding->limit >= 0)
        pm_text_addf(&text, ", %s %%", pm_decimal_exact(finding->limit, 7, page->sign, number));
    else if (finding->limit == PM_NO_LIMIT)
        pm_text_add(&text, ", no limit");
    else if (finding->rule->kind == PM_RULE_PROHIBIT)
        pm_text_add(&text, ", prohibited");
    else if (finding->rule->kind != PM_RULE_SHARES)
        pm_text_add(&text, ", no figure known");
    if (finding->replaced)
        pm_text_add(&text, " (your own figure counts instead)");
    const char *source =
        figure != NULL && figure->source[0] ? figure->source : finding->rule->source;
    pm_text_addf(&text, ". %s%s%s%s%s.", source, figure != NULL && figure->dated[0] ? ", " : "",
                 figure != NULL ? figure->dated : "",
                 figure != NULL && figure->memory ? "; from memory" : "",
                 finding->rule->own ? "; your own figure" : "");
    const char *note = figure != NULL && figure->note[0] ? figure->note : finding->rule->note;
    if (note[0])
        pm_text_addf(&text, " %s", note);
    paragraph(page, pm_text_get(&text));
    page->out->failed = page->out->failed || !pm_text_ok(&text);
    pm_text_release(&text);
}

static void say_why(struct page *page, const struct pm_limits *limits)
{
    bool any = false;
    for (size_t i = 0; i < limits->count; i++) {
        const struct pm_limits_row *limits_row = &limits->items[i];
        if (limits_row->finding == NULL || limits_row->why[0] == '\0')
            continue;
        struct pm_text text = PM_TEXT_EMPTY;
        if (!any)
            heading(page, 2, "Why");
        any = true;
        pm_text_addf(&text, "%s: %s.", limits_row->title, limits_row->why);
        paragraph(page, pm_text_get(&text));
        page->out->failed = page->out->failed || !pm_text_ok(&text);
        pm_text_release(&text);
    }
}

static void limits_body(struct page *page, const struct pm_limits *limits, bool whole)
{
    say_wish(page, &limits->wish);
    say_verdict(page, limits);
    heading(page, 2, "Limits");
    row(page, "th",
        (const char *const[CELLS]){"substance", "verdict", "% of product", "limit %",
                                   "of the limit"});
    for (size_t i = 0; i < limits->count; i++)
        limit_row(page, &limits->items[i]);
    table_end(page);
    say_why(page, limits);
    if (limits->check_count > 0)
        heading(page, 2, "To check: no sum can tell");
    for (size_t i = 0; i < limits->check_count; i++) {
        struct pm_text text = PM_TEXT_EMPTY;
        pm_text_addf(&text, "%s: %s (%s)", limits->checks[i].rule->title,
                     limits->checks[i].rule->note, limits->checks[i].rule->source);
        paragraph(page, pm_text_get(&text));
        page->out->failed = page->out->failed || !pm_text_ok(&text);
        pm_text_release(&text);
    }
    if (!whole)
        return;
    heading(page, 2, "Where the figures are from");
    for (size_t i = 0; i < limits->count; i++) {
        if (limits->items[i].finding == NULL)
            continue;
        say_figure(page, &limits->items[i], limits->items[i].finding);
        for (size_t k = 0; k < limits->items[i].other_count; k++)
            say_figure(page, &limits->items[i], &limits->items[i].others[k]);
    }
}

/* Cautions beside the general one, where they belong (cautions.md 3, 4, 6, 9, 12, 16, 19, 28). */
static void cautions(struct page *page, const struct pm_limits *limits)
{
    const char *category = limits->wish.category;
    paragraph(page, pm_limits_caution());
    paragraph(page, "Where Standards and law differ, the lower figure decides here; the Standards "
                    "are the trade's, the annexes are law. Every source counts: naturals, "
                    "dilutions, accords.");
    if (limits->prohibited > 0)
        paragraph(page, "Something prohibited is in it: there is no dosage for it.");
    for (size_t i = 0; i < limits->count; i++)
        if (limits->items[i].shares)
            paragraph(page, "Phototoxic materials can burn or stain skin in sunlight; ask the "
                            "assessor whether the label warns of sun.");
    if (strcmp(category, "1") == 0 || strcmp(category, "6") == 0)
        paragraph(page, "What goes on lips or in the mouth must also be fit to be swallowed: these "
                        "limits are not enough.");
    if (strcmp(category, "5D") == 0 || strcmp(category, "8") == 0)
        paragraph(page, "Products for infants need an assessment of their own.");
    if (strncmp(category, "10", 2) == 0 || strncmp(category, "11", 2) == 0 ||
        strcmp(category, "12") == 0)
        paragraph(page, "Not a cosmetic: labelling of chemicals (CLP) applies instead of allergen "
                        "thresholds.");
}

enum pm_status pm_limits_cautions(const struct pm_limits *limits, struct pm_text *out,
                                  struct pm_error *err)
{
    struct page page = {.out = out, .on = {.out = out, .form = PM_PAPER_TEXT}, .sign = '.'};
    cautions(&page, limits);
    return pm_text_ok(out) ? PM_OK : pm_fail_memory(err);
}

enum pm_status pm_limits_text(const struct pm_limits *limits, char sign, bool lines,
                              struct pm_text *out, struct pm_error *err)
{
    struct page page = plain_page(out, sign, lines);
    limits_body(&page, limits, false);
    pm_text_add(out, "\n");
    cautions(&page, limits);
    return pm_text_ok(out) ? PM_OK : pm_fail_memory(err);
}

/* ---- label ---- */

static void label_rows(struct page *page, const struct pm_label *label,
                       enum pm_label_verdict verdict, const char *title)
{
    bool any = false;
    int64_t most = 0;
    for (size_t i = 0; i < label->count; i++)
        most = label->items[i].percent > most ? label->items[i].percent : most;
    for (size_t i = 0; i < label->count; i++) {
        const struct pm_label_row *item = &label->items[i];
        char amount[PM_AMOUNT_TEXT], limit[PM_AMOUNT_TEXT];
        if (item->verdict != verdict)
            continue;
        if (!any) {
            heading(page, 2, title);
            row(page, "th",
                (const char *const[CELLS]){"name on the label", "", "% of product", "above %", ""});
        }
        any = true;
        pm_page_bar((double)item->percent, (double)most, page->bar);
        row(page, "td",
            (const char *const[CELLS]){
                item->rule->name, "", percent(page, item->percent, amount),
                item->threshold >= 0 ? pm_decimal_exact(item->threshold, 7, page->sign, limit) : "",
                item->doubt                   ? "only its CAS number says so"
                : verdict == PM_LABEL_UNKNOWN ? "some in unknown amount"
                                              : ""});
    }
    if (any)
        table_end(page);
}

static void label_line(struct page *page, const struct pm_label *label)
{
    struct pm_text text = PM_TEXT_EMPTY;
    size_t said = 0;
    for (size_t i = 0; i < label->count; i++)
        if (label->items[i].verdict == PM_LABEL_DECLARE)
            pm_text_addf(&text, "%s%s", said++ > 0 ? ", " : "", label->items[i].rule->name);
    if (said > 0) {
        pm_text_add(&text, ".");
        paragraph(page, pm_text_get(&text));
    } else {
        paragraph(page, label->applies ? "Nothing that is known exceeds its threshold."
                                       : "The thresholds hold for cosmetics; this is none.");
    }
    page->out->failed = page->out->failed || !pm_text_ok(&text);
    pm_text_release(&text);
}

/* Lines "name: text"; "" when there is none. */
static enum pm_status label_fields(struct pm_studio *studio, struct pm_text *out,
                                   struct pm_error *err)
{
    char *text = NULL;
    enum pm_status status = pm_setting_get(studio->library, FIELDS, &text, err);
    if (status == PM_OK && text != NULL)
        pm_text_add(out, text);
    pm_free(text);
    return status;
}

/* Each line of a text as a paragraph. */
static enum pm_status own_fields(struct page *page, struct pm_studio *studio, struct pm_error *err)
{
    struct pm_text fields = PM_TEXT_EMPTY;
    enum pm_status status = label_fields(studio, &fields, err);
    char *rest = status == PM_OK ? pm_text_take(&fields) : NULL, *whole = rest;
    while (rest != NULL && *rest)
        paragraph(page, strsep(&rest, "\n"));
    pm_free(whole);
    pm_text_release(&fields);
    return status;
}

static enum pm_status label_body(struct page *page, struct pm_studio *studio,
                                 const struct pm_sheet *sheet, const struct pm_label *label,
                                 struct pm_error *err)
{
    heading(page, 2, "Label text (a draft)");
    paragraph(page, sheet->name);
    enum pm_status status = own_fields(page, studio, err);
    label_line(page, label);
    label_rows(page, label, PM_LABEL_DECLARE, "To be named");
    label_rows(page, label, PM_LABEL_UNKNOWN, "Unknown: may have to be named");
    label_rows(page, label, PM_LABEL_BELOW, "Below the threshold");
    if (label->bare.count > 0)
        heading(page, 2, "What is in them nobody said");
    for (size_t i = 0; i < label->bare.count; i++)
        paragraph(page, label->bare.items[i]);
    paragraph(page, plain(page) ? "\n" : "");
    paragraph(page, "Thresholds: more than 0.001 % in what stays on the skin, 0.01 % in what is "
                    "rinsed off; Annex III of Regulation (EC) 1223/2009 as amended by Regulation "
                    "(EU) 2023/1545; for products new on the EU market since 31 July 2026, for "
                    "stock from 31 July 2028.");
    paragraph(page, pm_label_caution());
    return status;
}

enum pm_status pm_label_text(struct pm_studio *studio, const struct pm_sheet *sheet,
                             const struct pm_label *label, char sign, bool lines,
                             struct pm_text *out, struct pm_error *err)
{
    struct page page = plain_page(out, sign, lines);
    say_wish(&page, &label->wish);
    enum pm_status status = label_body(&page, studio, sheet, label, err);
    return status != PM_OK ? status : pm_text_ok(out) ? PM_OK : pm_fail_memory(err);
}

/* ---- fields of one's own ---- */

static enum pm_status set_field(struct pm_studio *studio, const char *name, const char *text,
                                struct pm_error *err)
{
    struct pm_text made = PM_TEXT_EMPTY;
    char *old = NULL;
    size_t length = strlen(name);
    bool there = false;
    enum pm_status status = pm_setting_get(studio->library, FIELDS, &old, err);
    for (char *rest = old; status == PM_OK && rest != NULL && *rest;) {
        const char *line = strsep(&rest, "\n");
        bool same = strncmp(line, name, length) == 0 && strncmp(line + length, ": ", 2) == 0;
        there = there || same;
        if (!same)
            pm_text_addf(&made, "%s\n", line);
        else if (text[0])
            pm_text_addf(&made, "%s: %s\n", name, text);
    }
    if (!there && text[0])
        pm_text_addf(&made, "%s: %s\n", name, text);
    if (status == PM_OK && !pm_text_ok(&made))
        status = pm_fail_memory(err);
    if (status == PM_OK)
        status = pm_setting_put(studio->library, FIELDS, pm_text_get(&made), err);
    pm_text_release(&made);
    pm_free(old);
    return status;
}

enum pm_status pm_label_set_field(struct pm_studio *studio, const char *name, const char *text,
                                  struct pm_error *err)
{
    char *clean = NULL, *said = NULL;
    enum pm_status status = pm_clean_text(name, "The field", 0, &clean, err);
    if (status == PM_OK && clean == NULL)
        status = pm_fail_at(err, "name", PM_INVALID, "A field of the label needs a name.");
    if (status == PM_OK)
        status = pm_clean_text(text, "The text", 0, &said, err);
    if (status == PM_OK)
        status = pm_change_begin(studio, err);
    if (status == PM_OK)
        status =
            pm_change_end(studio, set_field(studio, clean, said != NULL ? said : "", err), err);
    pm_free(clean);
    pm_free(said);
    return status;
}

/* ---- the whole page ---- */

/* The label on a sheet of its own: what a shelf of labels is made from. */
static enum pm_status label_sheet(struct page *page, struct pm_studio *studio,
                                  const struct pm_sheet *sheet, const struct pm_label *label,
                                  const char *title, enum pm_paper paper, struct pm_error *err)
{
    char day[PM_TIME_TEXT];
    pm_page_begin(&page->on, page->out, paper, page->sign, title);
    heading(page, 1, title);
    paragraph(page, pm_day_format(pm_studio_today(studio), day));
    say_wish(page, &label->wish);
    return label_body(page, studio, sheet, label, err);
}

static void limits_sheet(struct page *page, const struct pm_limits *limits, const char *title)
{
    struct pm_text text = PM_TEXT_EMPTY;
    pm_page_turn(&page->on);
    pm_text_addf(&text, "%s: limits", title);
    heading(page, 1, pm_text_get(&text));
    limits_body(page, limits, true);
    heading(page, 2, "Cautions");
    cautions(page, limits);
    page->out->failed = page->out->failed || !pm_text_ok(&text);
    pm_text_release(&text);
}

enum pm_status pm_limits_print(struct pm_studio *studio, const struct pm_sheet *sheet,
                               const struct pm_limits_wish *wish, enum pm_paper paper, char sign,
                               struct pm_text *out, struct pm_error *err)
{
    struct page page = {.out = out, .sign = sign};
    struct pm_limits limits = {0};
    struct pm_label label = {0};
    char *title = NULL;
    enum pm_status status = pm_page_can(paper, err);
    if (status == PM_OK)
        status = pm_studio_look_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_sheet_title(sheet, &title, err);
    if (status == PM_OK)
        status = pm_limits_of(studio, sheet, wish, &limits, err);
    if (status == PM_OK)
        status = pm_label_of(studio, sheet, wish, false, &label, err);
    if (status == PM_OK) {
        status = label_sheet(&page, studio, sheet, &label, title, paper, err);
        limits_sheet(&page, &limits, title);
        if (status == PM_OK)
            status = pm_page_end(&page.on, err);
        else
            (void)pm_page_end(&page.on, NULL);
    }
    pm_limits_release(&limits);
    pm_label_release(&label);
    pm_free(title);
    status = pm_look_over(studio, status);
    return status != PM_OK ? status : pm_text_ok(out) ? PM_OK : pm_fail_memory(err);
}
