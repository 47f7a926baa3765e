/* SPDX-License-Identifier: MIT */
/* The Limits room: the verdict, the table of substances, the details of one. */
#include "limits_room.h"

#include "kit/find.h"

#include "permille/base/utf8.h"
#include "permille/core/column.h"

#include <stdio.h>
#include <string.h>

#define ROW_LIST 2

enum { SIGN, TITLE, VERDICT, AMOUNT, LIMIT, USED, SET, COLUMNS };

enum pm_role limits_role(enum pm_verdict verdict)
{
    return verdict == PM_PROHIBITED || verdict == PM_OVER ? PM_ROLE_ERROR
           : verdict == PM_VERDICT_UNKNOWN                ? PM_ROLE_WARNING
                                                          : PM_ROLE_NORMAL;
}

/* A sign beside every colour. */
static const char *sign_of(const struct pm_limits_row *row)
{
    return row->verdict == PM_PROHIBITED        ? "X"
           : row->verdict == PM_OVER            ? "!"
           : row->verdict == PM_VERDICT_UNKNOWN ? "?"
                                                : "";
}

static void add_decimal(const struct limits_room *room, int64_t value, int scale, int least,
                        struct pm_text *out)
{
    char number[PM_AMOUNT_TEXT];
    pm_text_add(out, pm_decimal_format(value, scale, pm_decimal_places(value, scale, least),
                                       room->house->sign, number));
}

/* "0.0300 %", at most what is known: "at least 0.03 %" */
static void say_amount(const struct limits_room *room, const struct pm_limits_row *row,
                       struct pm_text *out)
{
    char number[PM_AMOUNT_TEXT];
    const int64_t limit = row->limit * 1000;
    if (row->shares)
        return;
    if (row->least && row->percent == 0) {
        pm_text_add(out, "unknown");
        return;
    }
    pm_text_add(out, row->least ? ">" : "");
    /* What is over by little must not look as if it were the limit. */
    if (row->verdict == PM_OVER && row->limit > 0 && row->percent / 100 * 99 < limit)
        pm_text_add(out, pm_decimal_exact(row->percent, 10, room->house->sign, number));
    else
        add_decimal(room, row->percent, 10, 2, out);
}

static void add_used(const struct limits_room *room, const struct pm_limits_row *row,
                     struct pm_text *out)
{
    char number[PM_AMOUNT_TEXT];
    int64_t used = pm_limits_used(row);
    if (row->least && row->percent == 0)
        return;
    if (used != INT64_MAX && row->limit != PM_NO_LIMIT)
        pm_text_addf(out, "%s%s %%", row->least ? ">" : "",
                     pm_limits_used_format(used, room->house->sign, number));
}

static enum pm_role cell(void *context, size_t place, size_t column, struct pm_text *out)
{
    const struct limits_room *room = context;
    const struct pm_limits_row *row = &room->limits.items[place];
    char number[PM_AMOUNT_TEXT];
    enum pm_role role = row->finding != NULL ? limits_role(row->verdict) : PM_ROLE_FAINT;
    switch (column) {
    case SIGN:
        pm_text_add(out, sign_of(row));
        return role;
    case TITLE:
        pm_text_add(out, row->title);
        return PM_ROLE_NORMAL;
    case VERDICT:
        pm_text_add(out, pm_verdict_word(row->verdict));
        return role;
    case AMOUNT:
        say_amount(room, row, out);
        return PM_ROLE_NORMAL;
    case LIMIT:
        if (row->limit >= 0)
            pm_text_add(out, pm_decimal_exact(row->limit, 7, room->house->sign, number));
        else if (row->limit == PM_NO_LIMIT)
            pm_text_add(out, "none");
        return PM_ROLE_NORMAL;
    case USED:
        add_used(room, row, out);
        return role;
    default:
        pm_text_add(out, row->finding != NULL ? row->finding->rule->set : "no rule");
        if (row->finding != NULL && row->finding->figure != NULL && row->finding->figure->memory)
            pm_text_add(out, " (memory)");
        return PM_ROLE_FAINT;
    }
}

struct pm_table limits_table(struct limits_room *room)
{
    static const struct pm_column columns[COLUMNS] = {
        [SIGN] = {.heading = "", .wish = 1},
        [TITLE] = {.heading = "substance", .wish = 18, .grows = true, .gap = 1},
        [VERDICT] = {.heading = "verdict", .wish = 10},
        [AMOUNT] = {.heading = "% product", .align = PM_ALIGN_POINT, .measured = true, .wish = 7},
        [LIMIT] = {.heading = "limit %", .align = PM_ALIGN_POINT, .measured = true, .wish = 6},
        [USED] = {.heading = "of it", .align = PM_ALIGN_RIGHT, .measured = true, .wish = 6},
        [SET] = {.heading = "by", .measured = true, .most = 28, .rank = 1},
    };
    return (struct pm_table){.columns = columns,
                             .column_count = COLUMNS,
                             .rows = room->judged ? room->limits.count : 0,
                             .context = room,
                             .cell = cell,
                             .at = TITLE};
}

static struct pm_table table_now(void *state)
{
    return limits_table(state);
}

static void go(void *state, size_t row)
{
    struct limits_room *room = state;
    room->list.row = row;
}

void limits_find(void *state)
{
    const struct limits_room *room = state;
    const struct pm_find_spec spec = {.title = "Find a substance",
                                      .label = "Substance",
                                      .none = "There is nothing to look for.",
                                      .state = state,
                                      .table = table_now,
                                      .go = go};
    pm_find_open(room->app, &spec);
}

/* ---- above the table ---- */

static void wish_line(const struct limits_room *room, struct pm_text *out)
{
    const struct pm_limits *limits = &room->limits;
    char dosage[PM_AMOUNT_TEXT];
    pm_text_addf(out, "%s in category %s",
                 pm_strength_format(limits->wish.dosage, room->house->sign, dosage),
                 limits->wish.category);
    if (strcmp(limits->wish.category, "4") == 0)
        pm_text_addf(out, ", %s", pm_use_word(limits->wish.use));
    if (limits->wish.basis == PM_BY_TYPICAL)
        pm_text_add(out, DOT "typical figures");
    if (limits->highest == PM_UNKNOWN)
        pm_text_add(out, DOT "no known limit");
    else if (limits->highest == 0)
        pm_text_addf(out, DOT "no dosage: %s", limits->decides);
    else if (limits->highest < PM_NEAT)
        pm_text_addf(out, DOT "highest %s %%: %s",
                     pm_decimal_format(limits->highest - limits->highest % 10000, 7, 3,
                                       room->house->sign, dosage),
                     limits->decides);
}

static void verdict_line(const struct limits_room *room, struct pm_text *out)
{
    const struct pm_limits *limits = &room->limits;
    if (limits->prohibited > 0)
        pm_text_addf(out, "%zu prohibited" DOT, limits->prohibited);
    pm_text_addf(out, "%zu over" DOT "%zu unknown", limits->over,
                 limits->unknown + limits->without_rule);
    if (limits->without_rule > 0 && limits->unknown == 0)
        pm_text_addf(out, " (no rule speaks of %s)", limits->without_rule == 1 ? "it" : "them");
    else if (limits->without_rule > 0)
        pm_text_addf(out, ", %zu of them without a rule", limits->without_rule);
    pm_text_addf(out, DOT "%zu within", limits->within);
    if (limits->check_count > 0)
        pm_text_addf(out, DOT "%zu to check", limits->check_count);
}

static void put_line(const struct limits_room *room, const struct pm_pane *pane, int y,
                     enum pm_role role, void (*write)(const struct limits_room *, struct pm_text *))
{
    struct pm_text text = PM_TEXT_EMPTY;
    write(room, &text);
    pm_pane_put_left(pane, y, 0, pane->columns, role, pm_text_get(&text));
    pm_text_release(&text);
}

static void draw_nothing(const struct limits_room *room, const struct pm_pane *pane)
{
    if (room->refused == NULL) {
        pm_formulas_invite(room->app, pane, 1);
        return;
    }
    pm_pane_put(pane, 1, 2, PM_ROLE_NORMAL, room->refused);
    pm_app_invite(room->app, pane, 3, "formulas", "opens another formula");
    pm_pane_cursor(pane, 3, 2);
}

/* ---- details ---- */

/* Words broken into lines of the pane; returns the next row. */
static int put_words(const struct pm_pane *pane, int y, int indent, enum pm_role role,
                     const char *text)
{
    while (*text && y < pane->rows) {
        size_t length = strlen(text), fits = 0, at = 0;
        while (at < length) {
            size_t word = strcspn(text + at, " ");
            struct pm_text line = PM_TEXT_EMPTY;
            pm_text_add_bytes(&line, text, at + word);
            int cells = (int)pm_utf8_cells(pm_text_get(&line));
            pm_text_release(&line);
            if (fits > 0 && cells > pane->columns - indent)
                break;
            fits = at + word;
            at += word + (text[at + word] == ' ');
        }
        struct pm_text line = PM_TEXT_EMPTY;
        pm_text_add_bytes(&line, text, fits);
        pm_pane_put_left(pane, y++, indent, pane->columns - indent, role, pm_text_get(&line));
        pm_text_release(&line);
        text += fits;
        text += strspn(text, " ");
    }
    return y;
}

static int put_figure(const struct limits_room *room, const struct pm_pane *pane, int y,
                      const struct pm_finding_rule *finding)
{
    struct pm_text text = PM_TEXT_EMPTY;
    char number[PM_AMOUNT_TEXT];
    pm_text_addf(&text, "%s: %s", finding->rule->set, pm_verdict_word(finding->judgement.verdict));
    if (finding->limit >= 0)
        pm_text_addf(&text, ", %s %%",
                     pm_decimal_exact(finding->limit, 7, room->house->sign, number));
    if (finding->replaced)
        pm_text_add(&text, " (your own counts)");
    y = put_words(pane, y, 0, finding->leads ? PM_ROLE_HEADING : PM_ROLE_NORMAL,
                  pm_text_get(&text));
    pm_text_release(&text);
    return put_words(pane, y, 2, PM_ROLE_FAINT,
                     finding->figure != NULL && finding->figure->source[0] ? finding->figure->source
                                                                           : finding->rule->source);
}

static void draw_details(const struct limits_room *room, const struct pm_pane *pane)
{
    const struct pm_limits_row *row = limits_selected(room);
    const struct pm_sheet *sheet = pm_bench_shown(room->app);
    if (row == NULL || pane->columns == 0)
        return;
    int y = put_words(pane, 0, 0, PM_ROLE_HEADING, row->title);
    y = put_words(pane, y, 0, limits_role(row->verdict), row->why);
    for (size_t i = 0; sheet != NULL && room->lines_of == room->list.row &&
                       i < sheet->trial.count && y < pane->rows - 4;
         i++) {
        struct pm_text text = PM_TEXT_EMPTY;
        if (room->lines[i] == 0)
            continue;
        if (room->lines[i] < 0)
            pm_text_add(&text, "unknown");
        else {
            add_decimal(room, room->lines[i], 10, 2, &text);
            pm_text_add(&text, row->shares ? " % of it" : " %");
        }
        pm_text_addf(&text, "  %s", sheet->lines[i].title);
        pm_pane_put_left(pane, y++, 2, pane->columns - 2, PM_ROLE_NORMAL, pm_text_get(&text));
        pm_text_release(&text);
    }
    y++;
    if (row->finding != NULL)
        y = put_figure(room, pane, y, row->finding);
    for (size_t i = 0; i < row->other_count && y < pane->rows; i++)
        y = put_figure(room, pane, y, &row->others[i]);
}

void limits_paint(struct limits_room *room, const struct pm_canvas *canvas)
{
    if (room->title != NULL)
        pm_pane_put_left(&canvas->heading, 0, 0, canvas->heading.columns, PM_ROLE_HEADING,
                         room->title);
    if (!room->judged) {
        draw_nothing(room, &canvas->sheet);
        return;
    }
    put_line(room, &canvas->sheet, 0, PM_ROLE_NORMAL, wish_line);
    put_line(room, &canvas->sheet, 1,
             room->limits.prohibited + room->limits.over > 0 ? PM_ROLE_ERROR : PM_ROLE_WARNING,
             verdict_line);
    const struct pm_pane part = pm_pane_part(&canvas->sheet, ROW_LIST, 0,
                                             canvas->sheet.rows - ROW_LIST, canvas->sheet.columns);
    struct pm_table table = limits_table(room);
    table.covered = canvas->covered;
    pm_table_draw(&table, &room->list, &part);
    draw_details(room, &canvas->details);
}
