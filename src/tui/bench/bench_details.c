/* SPDX-License-Identifier: MIT */
/* The Bench: everything about the selected line, beside the sheet where there is room. */
#include "bench.h"

#include "permille/base/utf8.h"

#include <stdio.h>
#include <string.h>

#define DOT         " \xC2\xB7 "
#define LABEL       9 /* cells of the labels */
#define DASH        "-"
#define BOTTOM_FROM 18 /* rows of a pane that says something of the whole formula as well */

/* ---- what is read for it ---- */

void bench_card_release(struct bench_card *card)
{
    if (card->read)
        pm_material_release(&card->material);
    if (card->bottles_read)
        pm_list_release(&card->bottles);
    pm_sheet_free(card->accord);
    pm_text_release(&card->name);
    pm_text_release(&card->alike);
    *card = (struct bench_card){0};
}

void bench_card_read(struct bench *bench)
{
    struct bench_card *card = &bench->card;
    const struct pm_sheet_line *line = bench_line(bench);
    if (line != NULL && card->line == line->line->id && card->ref == line->line->ref &&
        card->kind == line->line->kind)
        return;
    bench_card_release(card);
    if (line == NULL)
        return;
    card->line = line->line->id;
    card->ref = line->line->ref;
    card->kind = line->line->kind;
    /* What cannot be read is simply not shown; editing goes on without it. */
    const struct pm_bottle_filter filter = {.material = card->ref, .have = true};
    if (pm_studio_look_begin(bench->house->studio, NULL) != PM_OK)
        return;
    if (card->kind == PM_LINE_MATERIAL) {
        pm_shelf_tall_name(bench->house->studio, card->ref, &card->name, &card->alike, NULL);
        card->read = pm_shelf_card(bench->house->studio, card->ref, &card->material, NULL) == PM_OK;
        card->bottles_read =
            pm_bottles_list(bench->house->studio, &filter, &card->bottles, NULL) == PM_OK;
    } else if (pm_sheet_open(bench->house->studio, card->ref, &card->accord, NULL) != PM_OK) {
        card->accord = NULL;
    }
    pm_studio_look_end(bench->house->studio);
}

/* ---- painting ---- */

struct writer {
    const struct bench *bench;
    const struct pm_pane *pane;
    int row, last; /* rows from `last` on are taken */
};

static void gap(struct writer *to)
{
    to->row++;
}

/* A label and wrapped text beside it; nothing for an empty text. */
static void fact(struct writer *to, const char *label, enum pm_role role, const char *text)
{
    const struct pm_pane above = pm_pane_part(to->pane, 0, 0, to->last, to->pane->columns);
    to->row = pm_pane_fact(&above, to->row, LABEL, label, role, text);
}

static const char *parts(const struct writer *to, pm_parts amount, char *buf)
{
    return bench_parts_text(to->bench, amount, buf);
}

static void draw_material(struct writer *to, const struct pm_sheet_line *line)
{
    const struct bench_card *card = &to->bench->card;
    if (!card->read) {
        fact(to, "CAS", PM_ROLE_NORMAL, line->cas);
        fact(to, "family", PM_ROLE_NORMAL, line->family);
        return;
    }
    const struct pm_pane above = pm_pane_part(to->pane, 0, 0, to->last, to->pane->columns);
    for (int i = PM_MATERIAL_NAME + 1; i < PM_MATERIAL_ATTRIBUTES; i++) {
        if (i == PM_MATERIAL_SYNONYMS)
            fact(to, "not", PM_ROLE_WARNING, pm_text_get(&card->alike));
        to->row = pm_pane_attribute(&above, to->row, LABEL, &pm_material_entity.attributes[i],
                                    &card->material, to->bench->house->sign);
    }
}

/* What the balance in use does to the line; where none is kept, how one is. */
static void draw_balance(struct writer *to)
{
    const struct bench *bench = to->bench;
    struct pm_text text = PM_TEXT_EMPTY;
    const struct pm_budget_line *line = bench_weigh_line(bench, bench->at);
    bench_weigh_say(bench, bench->at, &text);
    if (text.length == 0)
        bench_weigh_invite(bench, &text);
    fact(to, "balance",
         line == NULL  ? PM_ROLE_FAINT
         : line->small ? PM_ROLE_WARNING
                       : PM_ROLE_NORMAL,
         pm_text_get(&text));
    pm_text_release(&text);
}

/* What it was in the trial that the sheet came from. */
static void draw_before(struct writer *to)
{
    struct pm_text text = PM_TEXT_EMPTY;
    char heading[PM_AMOUNT_TEXT];
    bench_before_say(to->bench, to->bench->at, &text);
    if (text.length > 0)
        pm_text_addf(&text, " in %s", bench_before_heading(to->bench, heading));
    fact(to, "was", PM_ROLE_NORMAL, pm_text_get(&text));
    pm_text_release(&text);
}

/* What the line's row does not say already: digits that were rounded, the share in its smallest
 * unit, and what is shown there only where there is more room. */
static void draw_amounts(struct writer *to, const struct pm_sheet_line *line)
{
    const struct bench *bench = to->bench;
    const char sign = bench->house->sign;
    char number[PM_AMOUNT_TEXT + 8], printed[PM_AMOUNT_TEXT + 8], text[PM_AMOUNT_TEXT * 3];
    const struct bench_column *column = &bench->figures.parts;
    const pm_parts poured = line->line->parts;
    int64_t mass = 0;
    parts(to, poured, number);
    pm_column_row_text(&column->total, column->values[bench->at], sign, printed);
    if (strncmp(number, printed, strlen(number)) != 0)
        fact(to, "exactly", PM_ROLE_NORMAL, number);
    if (bench->list.spans[BENCH_BEFORE].cells == 0)
        draw_before(to);
    if (line->solvent != NULL) {
        struct pm_text brought = PM_TEXT_EMPTY;
        pm_text_addf(&brought, "%s of %s", parts(to, poured - line->neat, number), line->solvent);
        fact(to, "solvent", PM_ROLE_NORMAL, pm_text_get(&brought));
        pm_text_release(&brought);
    }
    if (line->share == 0)
        return;
    pm_decimal_format(line->share, 6, pm_decimal_places(line->share, 6, 0), sign, number);
    snprintf(text, sizeof text, "%s ppm", number);
    if (strcmp(text, bench_share_text(bench->house, line->share, printed)) != 0)
        fact(to, "share", PM_ROLE_NORMAL, text);
    const pm_mass batch = pm_house_batch(bench->house);
    if (bench->list.spans[BENCH_MASS].cells == 0 &&
        pm_muldiv(line->share, batch, BENCH_WHOLE, &mass)) {
        char whole[PM_AMOUNT_TEXT];
        snprintf(text, sizeof text, "%s in %s g%s", pm_mass_format(mass, 3, sign, number),
                 pm_decimal_exact(batch, 6, sign, whole),
                 mass == 0 ? " (less than a microgram)" : "");
        fact(to, "weighs", PM_ROLE_NORMAL, text);
    }
    draw_balance(to);
}

static void draw_volatility(struct writer *to)
{
    struct pm_text text = PM_TEXT_EMPTY;
    bench_drydown_say(to->bench, &text);
    fact(to, "leaves", PM_ROLE_NORMAL, pm_text_get(&text));
    pm_text_release(&text);
}

/* Where its column does not say all of it. */
static void draw_cost(struct writer *to)
{
    const struct bench *bench = to->bench;
    struct pm_text cell = PM_TEXT_EMPTY, text = PM_TEXT_EMPTY;
    bench_cost_cell(bench, bench->at, &cell);
    bench_cost_say(bench, bench->at, &text);
    if (bench->list.spans[BENCH_COST].cells == 0 || bench->cost.currency[0] == '\0')
        if (strcmp(pm_text_get(&cell), pm_text_get(&text)) != 0)
            fact(to, "costs", PM_ROLE_NORMAL, pm_text_get(&text));
    pm_text_release(&cell);
    pm_text_release(&text);
}

/* What it would be poured from. */
static void draw_stock(struct writer *to, const struct pm_line *line)
{
    const struct bench_card *card = &to->bench->card;
    struct pm_text text = PM_TEXT_EMPTY;
    enum pm_role role = bench_stock_say(to->bench, line, &text);
    fact(to, "shelf", role, pm_text_get(&text));
    for (size_t i = 0; card->bottles_read && i < card->bottles.count; i++) {
        pm_text_clear(&text);
        role = bench_stock_bottle(to->bench, &card->bottles.items[i], &text);
        fact(to, "", role, pm_text_get(&text));
    }
    pm_text_release(&text);
}

/* "core A, 4 of 4:3:2". */
static void draw_core(struct writer *to, const struct pm_line *line)
{
    const struct pm_trial *trial = &bench_sheet(to->bench)->trial;
    char letter[4];
    struct pm_text text = PM_TEXT_EMPTY;
    if (line->core == 0)
        return;
    pm_text_addf(&text, "%s, %lld of ", pm_core_letter(line->core, letter),
                 (long long)line->weight);
    const char *between = "";
    for (size_t i = 0; i < trial->count; i++) {
        if (trial->lines[i].core != line->core)
            continue;
        pm_text_addf(&text, "%s%lld", between, (long long)trial->lines[i].weight);
        between = " : ";
    }
    fact(to, "core", PM_ROLE_CORE, pm_text_get(&text));
    pm_text_release(&text);
}

static void draw_accord(struct writer *to, const struct pm_sheet_line *line)
{
    const struct pm_sheet *accord = to->bench->card.accord;
    char text[PM_AMOUNT_TEXT + 8], newer[64];
    if (line->accord_newest > line->accord_number) {
        snprintf(newer, sizeof newer, "kept trial %lld is newer", (long long)line->accord_newest);
        fact(to, "", PM_ROLE_WARNING, newer);
    }
    if (accord == NULL)
        return;
    fact(to, "note", PM_ROLE_NORMAL, accord->note);
    gap(to);
    const size_t count = accord->trial.count,
                 room = to->last > to->row ? (size_t)(to->last - to->row) : 0;
    for (size_t i = 0; i < count && i < room; i++) {
        if (i + 1 == room && count > room) {
            pm_pane_putf(to->pane, to->row++, 0, PM_ROLE_FAINT, "and %zu more", count - i);
            break;
        }
        pm_pane_put_left(to->pane, to->row, 0, to->pane->columns - 10, PM_ROLE_NORMAL,
                         accord->lines[i].title);
        pm_pane_put_right(to->pane, to->row, to->pane->columns - 9, 9, PM_ROLE_FAINT,
                          bench_share_text(to->bench->house, accord->lines[i].share, text));
        to->row++;
    }
}

/* ---- of the whole formula, at the bottom ---- */

static int rows_of(const char *text, int cells)
{
    int rows = 0;
    while (*text != '\0' && cells > 0) {
        size_t next;
        pm_wrap_next(text, cells, &next);
        text += next;
        rows++;
    }
    return rows;
}

/* How many of the last changes find room in `rows` rows, and how many rows they take. */
static size_t past_that_fits(const struct bench *bench, int cells, int rows, int *taken)
{
    size_t count = 0;
    *taken = 0;
    while (count < BENCH_PAST && bench->past[count] != NULL) {
        const int more = rows_of(bench->past[count], cells - 2);
        if (*taken + more > rows)
            break;
        *taken += more;
        count++;
    }
    return count;
}

/* A heading and a text under it, in the rows that end before `end`; returns the first of them. */
static int draw_block(const struct pm_pane *pane, int end, const char *heading, const char *text,
                      int most)
{
    int rows = rows_of(text, pane->columns - 2);
    if (rows == 0 || most < 2)
        return end;
    rows = rows < most - 1 ? rows : most - 1;
    const struct pm_pane of = pm_pane_part(pane, 0, 0, end - 1, pane->columns);
    const int first = end - 1 - rows - 1;
    pm_pane_put(pane, first, 0, PM_ROLE_FAINT, heading);
    pm_pane_fact(&of, first + 1, 2, "", PM_ROLE_NORMAL, text);
    return first;
}

static int draw_past(const struct bench *bench, const struct pm_pane *pane, int most)
{
    int taken, row;
    const size_t count = past_that_fits(bench, pane->columns, most, &taken);
    const int first = row = pane->rows - taken - 1;
    if (count == 0)
        return pane->rows + 1;
    pm_pane_put(pane, row++, 0, PM_ROLE_FAINT, "last changes, newest first");
    for (size_t i = 0; i < count; i++)
        row = pm_pane_fact(pane, row, 2, DASH, PM_ROLE_NORMAL, bench->past[i]);
    return first;
}

/* What the batch costs, what was smelled last, the draft's last revisions; returns the first row
 * they take. The upper half is the line's. */
static int draw_bottom(const struct bench *bench, const struct pm_pane *pane)
{
    struct pm_text cost = PM_TEXT_EMPTY, heading = PM_TEXT_EMPTY;
    char batch[PM_AMOUNT_TEXT];
    const int room = pane->rows / 2;
    if (pane->rows < BOTTOM_FROM)
        return pane->rows;
    int first = draw_past(bench, pane, room / 2);
    first = draw_block(pane, first, "smelled last", pm_text_get(&bench->smelled), room / 3);
    bench_cost_total(bench, &cost);
    pm_text_addf(&heading, "%s cost",
                 pm_mass_exact(pm_house_batch(bench->house), bench->house->sign, batch));
    first = draw_block(pane, first, pm_text_get(&heading), pm_text_get(&cost), 3);
    pm_text_release(&cost);
    pm_text_release(&heading);
    return first > pane->rows ? pane->rows : first - 1;
}

static const char *name_of(const struct bench *bench, const struct pm_sheet_line *line)
{
    return bench->card.name.length > 0 ? pm_text_get(&bench->card.name) : line->title;
}

/* Of the whole sheet. */
static void draw_made_of(struct writer *to)
{
    static const char *const labels[PM_PROFILE_KINDS] = {"made of", "leaving"};
    gap(to);
    for (int kind = 0; kind < PM_PROFILE_KINDS; kind++) {
        struct pm_text text = PM_TEXT_EMPTY;
        bench_profile_words(to->bench, (enum pm_profile_kind)kind, &text);
        fact(to, labels[kind], PM_ROLE_NORMAL, pm_text_get(&text));
        pm_text_release(&text);
    }
}

void bench_draw_details(struct bench *bench, const struct pm_pane *pane)
{
    const struct pm_sheet_line *line = bench_line(bench);
    struct writer to = {bench, pane, 0, 0};
    if (pane->columns < 20 || line == NULL)
        return;
    to.last = draw_bottom(bench, pane);
    struct pm_pane name = pm_pane_part(pane, 0, 0, 3, pane->columns);
    to.row += pm_pane_wrap(&name, 0, PM_ROLE_HEADING, name_of(bench, line));
    if (line->line->stance != PM_FREE)
        fact(&to, "stance", line->line->stance == PM_HELD ? PM_ROLE_HELD : PM_ROLE_CARRIER,
             pm_stance_word(line->line->stance));
    draw_core(&to, line->line);
    draw_amounts(&to, line);
    draw_volatility(&to);
    draw_cost(&to);
    draw_stock(&to, line->line);
    gap(&to);
    if (line->accord_formula)
        draw_accord(&to, line);
    else
        draw_material(&to, line);
    if (line->line->comment != NULL) {
        gap(&to);
        fact(&to, "comment", PM_ROLE_NORMAL, line->line->comment);
    }
    draw_made_of(&to);
}

void bench_describe(const struct bench *bench, struct pm_text *out)
{
    const struct pm_sheet_line *line = bench_line(bench);
    char number[PM_AMOUNT_TEXT + 8], sign = bench->house->sign;
    struct pm_text weigh = PM_TEXT_EMPTY;
    if (line == NULL)
        return;
    pm_text_add(out, line->title);
    if (line->solvent != NULL)
        pm_text_addf(out, " %s in %s", pm_strength_format(line->line->strength, sign, number),
                     line->solvent);
    if (line->share > 0)
        pm_text_addf(out, DOT "%s", bench_share_text(bench->house, line->share, number));
    bench_drydown_mark(bench, out);
    if (*bench_stock_word(bench, line->line))
        pm_text_addf(out, DOT "%s", bench_stock_word(bench, line->line));
    bench_weigh_brief(bench, bench->at, &weigh);
    if (weigh.length > 0)
        pm_text_addf(out, DOT "%s", pm_text_get(&weigh));
    pm_text_release(&weigh);
    if (line->accord_newest > line->accord_number)
        pm_text_addf(out, DOT "trial %lld is newer", (long long)line->accord_newest);
    if (line->line->comment != NULL)
        pm_text_addf(out, DOT "%s", line->line->comment);
}
