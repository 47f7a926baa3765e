/* SPDX-License-Identifier: MIT */
/* The Bench: the sheet against the shelf, and what the shelf offers to a line. */
#include "bench.h"

#include "permille/base/utf8.h"
#include "permille/studio/strengths.h"

#include <stdio.h>
#include <string.h>

#define DOT " \xC2\xB7 "

void bench_stock_release(struct bench_stock *stock)
{
    if (stock->read)
        pm_needs_release(&stock->needs);
    *stock = (struct bench_stock){0};
}

/* Whether anything of it is there at all. */
static bool is_kept(const struct pm_needs *needs)
{
    for (size_t i = 0; i < needs->count; i++)
        if (needs->items[i].left > 0 || needs->items[i].neat_elsewhere > 0)
            return true;
    return false;
}

void bench_stock_read(struct bench *bench)
{
    struct bench_stock *stock = &bench->stock;
    bench_stock_release(stock);
    if (bench->sheet == NULL)
        return;
    stock->read = pm_stock_needs(bench->house->studio, bench->sheet, pm_house_batch(bench->house),
                                 &stock->needs, NULL) == PM_OK;
    if (stock->read && !is_kept(&stock->needs))
        bench_stock_release(stock);
}

const char *bench_stock_word(const struct bench *bench, const struct pm_line *line)
{
    const struct pm_needs *needs = &bench->stock.needs;
    long place = bench->stock.read && bench->sheet != NULL
                     ? pm_trial_find(&bench->sheet->trial, line->id)
                     : -1;
    if (place < 0 || (size_t)place >= needs->line_count)
        return "";
    enum pm_stock_state state = needs->lines[place];
    return state == PM_STOCK_OK ? "" : pm_stock_state_word(state);
}

void bench_stock_widen(struct bench *bench)
{
    const struct pm_sheet *sheet = bench_sheet(bench);
    for (size_t i = 0; bench->stock.read && i < sheet->trial.count; i++) {
        const char *word = bench_stock_word(bench, sheet->lines[i].line);
        int cells = (int)(pm_utf8_cells(sheet->lines[i].title) + strlen(DOT) - 1 + strlen(word));
        if (*word && cells > bench->figures.name_cells)
            bench->figures.name_cells = cells;
    }
}

static char *mass_text(const struct bench *bench, pm_mass mass, char *buf)
{
    return pm_mass_format(mass, mass == 0 ? 0 : 2, bench->house->sign, buf);
}

static const struct pm_need *need_of(const struct bench *bench, int64_t line)
{
    const struct pm_needs *needs = &bench->stock.needs;
    for (size_t i = 0; bench->stock.read && i < needs->count; i++)
        if (needs->items[i].line == line)
            return &needs->items[i];
    return NULL;
}

/* Everything an accord pours that is not all right, by name. */
static void say_parts(const struct bench *bench, int64_t line, struct pm_text *out)
{
    const struct pm_needs *needs = &bench->stock.needs;
    const char *between = "";
    for (size_t i = 0; i < needs->count; i++) {
        const struct pm_need *need = &needs->items[i];
        if (need->line != line || need->state == PM_STOCK_OK)
            continue;
        pm_text_addf(out, "%s%s: %s", between, need->name, pm_stock_state_word(need->state));
        between = "; ";
    }
}

enum pm_role bench_stock_say(const struct bench *bench, const struct pm_line *line,
                             struct pm_text *out)
{
    const struct pm_need *need = need_of(bench, line->id);
    char mass[PM_AMOUNT_TEXT], left[PM_AMOUNT_TEXT];
    if (need == NULL)
        return PM_ROLE_NORMAL;
    if (line->kind == PM_LINE_ACCORD) {
        say_parts(bench, line->id, out);
        return PM_ROLE_WARNING;
    }
    mass_text(bench, need->mass, mass);
    mass_text(bench, need->left, left);
    switch (need->state) {
    case PM_STOCK_OK:
        pm_text_addf(out, "%s left of it, enough", left);
        return PM_ROLE_NORMAL;
    case PM_STOCK_PAST:
        pm_text_addf(out, "past date: %s left of it", left);
        break;
    case PM_STOCK_SHORT:
        pm_text_addf(out, "short: %s left, %s needed", left, mass);
        break;
    case PM_STOCK_DILUTE:
        pm_text_addf(out, "not at this strength: dilute first (%s neat are there)",
                     mass_text(bench, need->neat_elsewhere, left));
        break;
    default:
        pm_text_addf(out, "missing: %s needed", mass);
    }
    return PM_ROLE_WARNING;
}

enum pm_role bench_stock_bottle(const struct bench *bench, const struct pm_bottle *bottle,
                                struct pm_text *out)
{
    char strength[PM_AMOUNT_TEXT], left[PM_AMOUNT_TEXT];
    pm_text_addf(out, "%s %s", bottle->label,
                 pm_strength_about(bottle->strength, bench->house->sign, strength));
    if (bottle->solvent_name != NULL)
        pm_text_addf(out, " in %s", bottle->solvent_name);
    pm_text_addf(out, ", %s", mass_text(bench, bottle->left, left));
    if (bottle->past)
        pm_text_add(out, DOT "past date");
    if (bottle->nearly_empty)
        pm_text_add(out, DOT "nearly empty");
    return bottle->past ? PM_ROLE_WARNING : PM_ROLE_NORMAL;
}

/* ---- what the shelf offers ---- */

static void add_strength(const struct bench *bench, const struct pm_shelf_strength *item,
                         struct pm_text *out)
{
    char strength[PM_AMOUNT_TEXT];
    pm_text_add(out, pm_strength_about(item->strength, bench->house->sign, strength));
    if (item->solvent_name != NULL)
        pm_text_addf(out, " in %s", item->solvent_name);
}

void bench_stock_offer(const struct bench *bench, int64_t material, struct pm_text *out)
{
    struct pm_shelf_strengths found;
    char left[PM_AMOUNT_TEXT];
    if (pm_stock_strengths(bench->house->studio, material, &found, NULL) != PM_OK)
        return;
    for (size_t i = 0; i < found.count; i++) {
        pm_text_add(out, i == 0 ? "on the shelf " : ", ");
        add_strength(bench, &found.items[i], out);
        pm_text_addf(out, " %s%s", mass_text(bench, found.items[i].left, left),
                     found.items[i].past ? " past date" : "");
    }
    pm_shelf_strengths_release(&found);
}

void bench_stock_strengths(const struct bench *bench, int64_t material, struct pm_text *out)
{
    struct pm_shelf_strengths found;
    char strength[PM_AMOUNT_TEXT];
    if (pm_stock_strengths(bench->house->studio, material, &found, NULL) != PM_OK)
        return;
    for (size_t i = 0; i < found.count; i++) {
        if (i > 0 && found.items[i].strength == found.items[i - 1].strength)
            continue; /* in another solvent */
        pm_text_addf(out, "%s%s", i > 0 ? ", " : "",
                     pm_strength_about(found.items[i].strength, bench->house->sign, strength));
    }
    pm_shelf_strengths_release(&found);
}

bool bench_stock_complete(const struct bench *bench, int64_t material, const char *before,
                          size_t round, struct pm_text *out)
{
    struct pm_shelf_strengths found;
    bool any = false;
    if (pm_stock_strengths(bench->house->studio, material, &found, NULL) != PM_OK)
        return false;
    for (size_t i = 0; i < found.count && !any; i++) {
        struct pm_text one = PM_TEXT_EMPTY;
        add_strength(bench, &found.items[i], &one);
        if (strncmp(pm_text_get(&one), before, strlen(before)) == 0) {
            any = round == 0;
            if (any)
                pm_text_add(out, pm_text_get(&one));
            round--;
        }
        pm_text_release(&one);
    }
    pm_shelf_strengths_release(&found);
    return any;
}

bool bench_stock_usual(const struct bench *bench, int64_t material, pm_strength *strength,
                       int64_t *solvent)
{
    struct pm_shelf_strengths found;
    if (pm_stock_strengths(bench->house->studio, material, &found, NULL) != PM_OK)
        return false;
    /* Strongest first: where one is neat, it is the first. */
    bool diluted = found.count > 0 && found.items[0].strength < PM_NEAT;
    if (diluted) {
        *strength = found.items[0].strength;
        *solvent = found.items[0].solvent;
    }
    pm_shelf_strengths_release(&found);
    return diluted;
}

/* ---- strengths as a line would be written ---- */

static void add_offered(const struct bench *bench, const struct pm_at_hand *offered,
                        struct pm_text *out)
{
    char strength[PM_AMOUNT_TEXT];
    pm_text_add(out, pm_strength_format(offered->strength, bench->house->sign, strength));
    if (offered->solvent_name != NULL)
        pm_text_addf(out, " in %s", offered->solvent_name);
}

bool bench_stock_step(const struct bench *bench, int64_t material, pm_strength strength,
                      int64_t solvent, int step, struct pm_text *out)
{
    struct pm_at_hand_list offered;
    if (pm_at_hand_read(bench->house->studio, material, &offered, NULL) != PM_OK)
        return false;
    const size_t count = offered.count, at = pm_at_hand_place(&offered, strength, solvent);
    /* From one that is not there: to the first, or the last. */
    const size_t next = step > 0 ? (at < count ? (at + 1) % count : 0)
                                 : (at < count ? (at + count - 1) % count : count - 1);
    if (count > 0)
        add_offered(bench, &offered.items[next], out);
    pm_list_release(&offered);
    return count > 0;
}

void bench_stock_say_left(const struct bench *bench, int64_t material, pm_strength strength,
                          int64_t solvent, struct pm_text *out)
{
    struct pm_at_hand_list offered;
    char left[PM_AMOUNT_TEXT];
    if (pm_at_hand_read(bench->house->studio, material, &offered, NULL) != PM_OK)
        return;
    const size_t at = pm_at_hand_place(&offered, strength, solvent);
    if (at < offered.count)
        pm_text_addf(out, "%s left%s", mass_text(bench, offered.items[at].left, left),
                     offered.items[at].past ? ", past date" : "");
    else if (offered.count > 0)
        pm_text_add(out, "none left so");
    pm_list_release(&offered);
}

bool bench_stock_for_line(const struct bench *bench, int64_t material, const struct pm_line *line,
                          pm_strength *strength, int64_t *solvent)
{
    struct pm_at_hand_list offered;
    const struct pm_sheet *sheet = bench_sheet(bench);
    pm_mass neat = 0;
    if (pm_at_hand_read(bench->house->studio, material, &offered, NULL) != PM_OK)
        return false;
    /* Without a batch or a balance every strength will do. */
    const bool weighs =
        bench_weighs(bench) && sheet->total > 0 &&
        pm_muldiv(pm_line_neat(line), pm_house_batch(bench->house), sheet->total, &neat);
    const size_t at =
        pm_at_hand_for(&offered, neat, line->strength, weighs ? bench->weigh.now.minimum : 0);
    const bool found = at < offered.count;
    if (found) {
        *strength = offered.items[at].strength;
        *solvent = offered.items[at].solvent != 0 ? offered.items[at].solvent : *solvent;
    }
    pm_list_release(&offered);
    return found;
}

bool bench_stock_helps(const struct bench *bench, int64_t material, pm_mass neat, pm_strength below,
                       struct pm_text *out)
{
    struct pm_at_hand_list offered;
    bool found = false;
    if (!bench_weighs(bench) ||
        pm_at_hand_read(bench->house->studio, material, &offered, NULL) != PM_OK)
        return false;
    const size_t at = pm_at_hand_for(&offered, neat, below, bench->weigh.now.minimum);
    if (at < offered.count && offered.items[at].strength < below &&
        (pm_int128)neat * PM_NEAT >=
            (pm_int128)bench->weigh.now.minimum * offered.items[at].strength) {
        add_offered(bench, &offered.items[at], out);
        found = true;
    }
    pm_list_release(&offered);
    return found;
}
