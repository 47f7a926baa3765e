/* SPDX-License-Identifier: MIT */
/*
 * A trial against the shelf: strengths at hand, what a batch pours and what is lacking, what can be
 * made, what could take a material's place.
 */
#include "bottle.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/store/facts.h"
#include "permille/studio/shelf.h"
#include "permille/studio/stock.h"

#include <stdlib.h>
#include <string.h>

/* ---- strengths at hand ---- */

static int compare_strengths(const void *left, const void *right)
{
    const struct pm_shelf_strength *a = left, *b = right;
    int order = (a->strength < b->strength) - (a->strength > b->strength);
    return order != 0 ? order : (a->solvent > b->solvent) - (a->solvent < b->solvent);
}

static enum pm_status add_strength(struct pm_studio *studio, struct pm_shelf_strengths *out,
                                   const struct pm_bottle *row, struct pm_error *err)
{
    struct pm_card *card;
    size_t at = 0;
    bool past = pm_stock_past(row->best_before, pm_studio_today(studio));
    while (at < out->count &&
           (out->items[at].strength != row->strength || out->items[at].solvent != row->solvent))
        at++;
    struct pm_shelf_strength *item = &out->items[at];
    if (at == out->count) {
        *item = (struct pm_shelf_strength){
            .strength = row->strength, .solvent = row->solvent, .past = true};
        out->count++;
        if (row->solvent != 0) {
            enum pm_status status = pm_studio_material(studio, row->solvent, &card, err);
            if (status != PM_OK)
                return status;
            if (!(item->solvent_name = pm_strdup(card->name)))
                return pm_fail_memory(err);
        }
    }
    item->bottles++;
    item->left += row->left;
    item->past = item->past && past;
    return PM_OK;
}

static enum pm_status add_strengths(struct pm_studio *studio, int64_t material,
                                    struct pm_shelf_strengths *out, struct pm_error *err)
{
    struct pm_bottles rows;
    enum pm_status status = pm_bottles_of(studio, material, false, &rows, err);
    if (status != PM_OK)
        return status;
    out->items = pm_alloc_array(rows.count + 1, sizeof *out->items);
    if (out->items == NULL)
        status = pm_fail_memory(err);
    for (size_t i = 0; i < rows.count && status == PM_OK; i++)
        status = add_strength(studio, out, &rows.items[i], err);
    pm_list_release(&rows);
    return status;
}

enum pm_status pm_stock_strengths(struct pm_studio *studio, int64_t material,
                                  struct pm_shelf_strengths *out, struct pm_error *err)
{
    struct pm_shelf_strengths made = {NULL, 0};
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_look_over(studio, add_strengths(studio, material, &made, err));
    if (status != PM_OK) {
        pm_shelf_strengths_release(&made);
        return status;
    }
    if (made.count > 1)
        qsort(made.items, made.count, sizeof *made.items, compare_strengths);
    *out = made;
    return PM_OK;
}

void pm_shelf_strengths_release(struct pm_shelf_strengths *strengths)
{
    for (size_t i = 0; i < strengths->count; i++)
        pm_free(strengths->items[i].solvent_name);
    pm_free(strengths->items);
    *strengths = (struct pm_shelf_strengths){NULL, 0};
}

/* ---- what a batch pours ---- */

const char *pm_stock_state_word(enum pm_stock_state state)
{
    static const char *const words[] = {
        [PM_STOCK_OK] = "ok",           [PM_STOCK_PAST] = "past date",
        [PM_STOCK_SHORT] = "short",     [PM_STOCK_DILUTE] = "dilute first",
        [PM_STOCK_MISSING] = "missing", [PM_STOCK_PARTS] = "parts lacking",
    };
    return words[state];
}

/* Bottles that fit the need into `order`; what the others hold, neat, into the need, and what it
 * could be diluted from into *stronger. */
static size_t sort_out(const struct pm_bottles *rows, struct pm_need *need,
                       struct pm_stock_bottle *order, pm_mass *stronger)
{
    size_t count = 0;
    for (size_t i = 0; i < rows->count; i++) {
        const struct pm_bottle *row = &rows->items[i];
        if (pm_stock_serves(row->strength, need->strength) && row->solvent == need->solvent) {
            order[count++] = pm_stock_bottle_of(row);
            need->left += row->left;
        } else {
            int64_t neat = 0;
            pm_muldiv(row->left, row->strength, PM_NEAT, &neat);
            need->neat_elsewhere += neat;
            *stronger += row->strength > need->strength ? neat : 0;
        }
    }
    return count;
}

static struct pm_bottle *bottle_of(const struct pm_bottles *rows, int64_t id)
{
    size_t at = 0;
    while (rows->items[at].id != id)
        at++;
    return &rows->items[at];
}

static pm_mass left_in(const struct pm_bottles *rows, int64_t id)
{
    return bottle_of(rows, id)->left;
}

/* What earlier needs of the material pour is taken out of the bottles: a material may be poured
 * twice, at 10 % and at 10.03 %, from one bottle that serves for both. */
static void take_earlier(const struct pm_needs *needs, size_t upto, struct pm_bottles *rows,
                         pm_day today, struct pm_stock_bottle *order)
{
    for (size_t k = 0; k < upto; k++) {
        struct pm_need other = needs->items[k];
        pm_mass stronger = 0;
        if (other.material != needs->items[upto].material)
            continue;
        const size_t count = sort_out(rows, &other, order, &stronger);
        pm_stock_order(order, count, today);
        pm_stock_draw(order, count, other.mass);
        for (size_t i = 0; i < count; i++)
            bottle_of(rows, order[i].id)->left -= order[i].take;
    }
}

/* The weakest of the bottles that can be diluted to what is needed and are not used up. */
static struct pm_bottle *weakest_above(struct pm_bottles *rows, const struct pm_need *need)
{
    struct pm_bottle *found = NULL;
    for (size_t i = 0; i < rows->count; i++) {
        struct pm_bottle *row = &rows->items[i];
        bool serves =
            pm_stock_serves(row->strength, need->strength) && row->solvent == need->solvent;
        if (row->left > 0 && row->strength > need->strength && !serves &&
            (found == NULL || row->strength < found->strength))
            found = row;
    }
    return found;
}

/* Solvent that it takes to dilute `missing` from the stronger bottles, which are used up by it. */
static pm_mass solvent_to_dilute(struct pm_bottles *rows, const struct pm_need *need,
                                 pm_mass missing)
{
    struct pm_bottle *row;
    pm_mass solvent = 0;
    while (missing > 0 && (row = weakest_above(rows, need))) {
        pm_mass stock = 0, made = missing;
        pm_muldiv(missing, need->strength, row->strength, &stock);
        if (stock > row->left) {
            stock = row->left;
            pm_muldiv(stock, row->strength, need->strength, &made);
        }
        solvent += made - stock;
        missing -= made;
        row->left -= stock > 0 ? stock : row->left;
    }
    return solvent;
}

static enum pm_status need_solvent(struct pm_needs *needs, int64_t solvent, const char *name,
                                   pm_mass mass, struct pm_error *err)
{
    void *solvents = needs->solvents;
    for (size_t i = 0; i < needs->solvent_count; i++)
        if (needs->solvents[i].solvent == solvent) {
            needs->solvents[i].mass += mass;
            return PM_OK;
        }
    if (!pm_grow(&solvents, &needs->solvent_capacity, needs->solvent_count + 1,
                 sizeof *needs->solvents))
        return pm_fail_memory(err);
    needs->solvents = solvents;
    needs->solvents[needs->solvent_count++] =
        (struct pm_solvent_need){.solvent = solvent, .name = name, .mass = mass};
    return PM_OK;
}

/* What there is of each solvent, less what the batch itself pours of it. */
static enum pm_status judge_solvents(struct pm_studio *studio, struct pm_needs *needs,
                                     struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t k = 0; k < needs->solvent_count && status == PM_OK; k++) {
        struct pm_solvent_need *solvent = &needs->solvents[k];
        struct pm_bottles rows;
        status = pm_bottles_of(studio, solvent->solvent, false, &rows, err);
        if (status != PM_OK)
            break;
        for (size_t i = 0; i < rows.count; i++)
            solvent->left += rows.items[i].strength == PM_NEAT ? rows.items[i].left : 0;
        pm_list_release(&rows);
        for (size_t i = 0; i < needs->count; i++)
            if (needs->items[i].material == solvent->solvent && needs->items[i].strength == PM_NEAT)
                solvent->left -= needs->items[i].mass;
        solvent->left = solvent->left > 0 ? solvent->left : 0;
        needs->solvents_lacking += solvent->left < solvent->mass;
    }
    return status;
}

static enum pm_status judge(struct pm_studio *studio, struct pm_needs *needs, size_t at,
                            struct pm_error *err)
{
    struct pm_need *need = &needs->items[at];
    struct pm_bottles rows;
    pm_mass stronger = 0;
    const pm_day today = pm_studio_today(studio);
    int64_t neat = 0;
    enum pm_status status = pm_bottles_of(studio, need->material, false, &rows, err);
    if (status != PM_OK)
        return status;
    /* Of the bottles of this need, and of an earlier one. */
    struct pm_stock_bottle *order = pm_alloc_array(2 * rows.count + 1, sizeof *order);
    if (order == NULL) {
        pm_list_release(&rows);
        return pm_fail_memory(err);
    }
    struct pm_stock_bottle *spare = order + rows.count;
    size_t count = sort_out(&rows, need, order, &stronger);
    pm_stock_order(order, count, today);
    take_earlier(needs, at, &rows, today, spare);
    for (size_t i = 0; i < count; i++)
        order[i].left = left_in(&rows, order[i].id);
    pm_mass missing = pm_stock_draw(order, count, need->mass);
    bool past = false;
    for (size_t i = 0; i < count; i++) {
        if (order[i].take > 0 && need->bottle == 0)
            need->bottle = order[i].id;
        past = past || (order[i].take > 0 && pm_stock_past(order[i].best_before, today));
    }
    pm_muldiv(missing, need->strength, PM_NEAT, &neat);
    if (missing == 0)
        need->state = past ? PM_STOCK_PAST : PM_STOCK_OK;
    else if (stronger > 0 && stronger >= neat)
        need->state = PM_STOCK_DILUTE;
    else
        need->state = need->left > 0 || stronger > 0 ? PM_STOCK_SHORT : PM_STOCK_MISSING;
    if (need->state == PM_STOCK_DILUTE)
        status = need_solvent(needs, need->solvent, need->solvent_name,
                              solvent_to_dilute(&rows, need, missing), err);
    pm_free(order);
    pm_list_release(&rows);
    return status;
}

/* An accord line is as good as the worst of its parts. */
static void judge_lines(const struct pm_sheet *sheet, struct pm_needs *needs)
{
    for (size_t i = 0; i < sheet->trial.count; i++) {
        bool accord = sheet->trial.lines[i].kind == PM_LINE_ACCORD;
        enum pm_stock_state worst = PM_STOCK_OK;
        for (size_t k = 0; k < needs->count; k++)
            if (needs->items[k].line == sheet->trial.lines[i].id && needs->items[k].state > worst)
                worst = needs->items[k].state;
        needs->lines[i] = accord && worst > PM_STOCK_PAST ? PM_STOCK_PARTS : worst;
    }
}

/* The name of a material, kept by `names`; material 0: none. */
static enum pm_status read_name(struct pm_studio *studio, struct pm_sheet_names *names,
                                int64_t material, const char **out, struct pm_error *err)
{
    struct pm_card *card;
    if (material == 0)
        return PM_OK;
    enum pm_status status = pm_sheet_names_material(studio, names, material, &card, err);
    if (status == PM_OK)
        *out = card->name;
    return status;
}

static enum pm_status fill_needs(struct pm_studio *studio, const struct pm_sheet *sheet,
                                 const struct pm_pours *pours, struct pm_needs *out,
                                 struct pm_error *err)
{
    enum pm_status status = PM_OK;
    out->items = pm_alloc_array(pours->count + 1, sizeof *out->items);
    out->lines = pm_alloc_array(sheet->trial.count + 1, sizeof *out->lines);
    out->names = pm_alloc_array(1, sizeof *out->names);
    if (out->items == NULL || out->lines == NULL || out->names == NULL)
        return pm_fail_memory(err);
    out->line_count = sheet->trial.count;
    for (size_t i = 0; i < pours->count && status == PM_OK; i++) {
        const struct pm_pour *pour = &pours->items[i];
        struct pm_need *need = &out->items[out->count++];
        *need = (struct pm_need){.line = pour->line,
                                 .material = pour->material,
                                 .solvent = pour->solvent,
                                 .strength = pour->strength,
                                 .mass = pour->mass};
        status = read_name(studio, out->names, need->material, &need->name, err);
        if (status == PM_OK)
            status = read_name(studio, out->names, need->solvent, &need->solvent_name, err);
        if (status == PM_OK)
            status = judge(studio, out, i, err);
        out->lacking += status == PM_OK && need->state > PM_STOCK_PAST;
    }
    if (status == PM_OK)
        status = judge_solvents(studio, out, err);
    judge_lines(sheet, out);
    return status;
}

enum pm_status pm_sheet_pours(struct pm_studio *studio, const struct pm_sheet *sheet, pm_mass mass,
                              struct pm_pours *out, struct pm_error *err)
{
    struct pm_accords accords = {studio, NULL};
    struct pm_trial_source source = pm_accords_source(&accords);
    return pm_pours_of(&sheet->trial, &source, mass, out, err);
}

static enum pm_status work_out(struct pm_studio *studio, const struct pm_sheet *sheet, pm_mass mass,
                               struct pm_needs *out, struct pm_error *err)
{
    struct pm_pours pours;
    enum pm_status status = pm_sheet_pours(studio, sheet, mass, &pours, err);
    if (status != PM_OK)
        return status;
    status = fill_needs(studio, sheet, &pours, out, err);
    pm_pours_release(&pours);
    return status;
}

enum pm_status pm_stock_needs(struct pm_studio *studio, const struct pm_sheet *sheet, pm_mass mass,
                              struct pm_needs *out, struct pm_error *err)
{
    struct pm_needs made;
    memset(&made, 0, sizeof made);
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_look_over(studio, work_out(studio, sheet, mass, &made, err));
    if (status != PM_OK) {
        pm_needs_release(&made);
        return status;
    }
    *out = made;
    return PM_OK;
}

static struct pm_need *like(const struct pm_needs *needs, size_t upto, const struct pm_need *need)
{
    for (size_t i = 0; i < upto; i++) {
        struct pm_need *other = &needs->items[i];
        if (other->material == need->material && other->solvent == need->solvent &&
            pm_stock_serves(need->strength, other->strength))
            return other;
    }
    return NULL;
}

void pm_needs_gather(struct pm_needs *needs)
{
    const size_t count = needs->count;
    needs->count = needs->lacking = 0;
    for (size_t i = 0; i < count; i++) {
        const struct pm_need *need = &needs->items[i];
        struct pm_need *first = like(needs, needs->count, need);
        int64_t mass = 0;
        if (first == NULL || !pm_muldiv(need->mass, need->strength, first->strength, &mass) ||
            mass > INT64_MAX - first->mass) {
            needs->items[needs->count++] = *need;
            continue;
        }
        first->mass += mass;
        first->state = need->state > first->state ? need->state : first->state;
    }
    for (size_t i = 0; i < needs->count; i++)
        needs->lacking += needs->items[i].state > PM_STOCK_PAST;
}

void pm_needs_release(struct pm_needs *needs)
{
    pm_free(needs->items);
    pm_free(needs->lines);
    pm_free(needs->solvents);
    pm_sheet_names_free(needs->names);
    memset(needs, 0, sizeof *needs);
}

/* ---- what can be made now ---- */

static void say_lacking(const struct pm_needs *needs, struct pm_text *out)
{
    for (size_t i = 0; i < needs->count; i++) {
        const struct pm_need *need = &needs->items[i];
        char mass[PM_AMOUNT_TEXT], strength[PM_AMOUNT_TEXT];
        if (need->state <= PM_STOCK_PAST)
            continue;
        pm_text_add(out, out->length > 0 ? ", " : "");
        if (need->state == PM_STOCK_DILUTE)
            pm_text_addf(out, "dilute %s to %s", need->name,
                         pm_strength_format(need->strength, '.', strength));
        else if (need->state == PM_STOCK_SHORT)
            pm_text_addf(out, "short of %s (%s)", need->name,
                         pm_mass_format(need->mass - need->left, 2, '.', mass));
        else
            pm_text_addf(out, "no %s", need->name);
    }
    for (size_t i = 0; i < needs->solvent_count; i++) {
        const struct pm_solvent_need *solvent = &needs->solvents[i];
        char mass[PM_AMOUNT_TEXT];
        if (solvent->left >= solvent->mass)
            continue;
        pm_text_add(out, out->length > 0 ? ", " : "");
        if (solvent->left > 0)
            pm_text_addf(out, "short of %s (%s)", solvent->name,
                         pm_mass_format(solvent->mass - solvent->left, 2, '.', mass));
        else
            pm_text_addf(out, "no %s", solvent->name);
    }
}

static enum pm_status look_at(struct pm_studio *studio, const struct pm_formula *formula,
                              pm_mass mass, struct pm_possibles *out, struct pm_error *err)
{
    struct pm_sheet *sheet;
    struct pm_needs needs;
    struct pm_text what = PM_TEXT_EMPTY;
    int64_t trial = 0;
    enum pm_status status = PM_OK;
    if (formula->kept > 0)
        status = pm_trial_by_number(studio->library, formula->id, formula->kept, &trial, err);
    if (status == PM_OK)
        status = trial != 0 ? pm_sheet_open(studio, trial, &sheet, err)
                            : pm_sheet_open_draft(studio, formula->id, &sheet, err);
    if (status != PM_OK)
        return status;
    if (sheet->total == 0) {
        pm_sheet_free(sheet);
        return PM_OK;
    }
    struct pm_possible *item = &out->items[out->count++];
    *item = (struct pm_possible){
        .formula = formula->id, .trial = sheet->trial_id, .number = sheet->number};
    status = pm_sheet_title(sheet, &item->title, err);
    if (status == PM_OK)
        status = pm_stock_needs(studio, sheet, mass, &needs, err);
    if (status == PM_OK) {
        pm_needs_gather(&needs);
        item->lacking = needs.lacking + needs.solvents_lacking;
        say_lacking(&needs, &what);
        if (!pm_text_ok(&what) || (what.length > 0 && !(item->what = pm_text_take(&what))))
            status = pm_fail_memory(err);
        pm_needs_release(&needs);
    }
    pm_text_release(&what);
    pm_sheet_free(sheet);
    return status;
}

static int compare_possibles(const void *left, const void *right)
{
    const struct pm_possible *a = left, *b = right;
    return a->lacking != b->lacking ? (a->lacking > b->lacking ? 1 : -1)
                                    : strcasecmp(a->title, b->title);
}

static enum pm_status look_at_all(struct pm_studio *studio, pm_mass mass, struct pm_possibles *out,
                                  struct pm_error *err)
{
    struct pm_formulas formulas;
    enum pm_status status = pm_formulas_list(studio, NULL, false, &formulas, err);
    if (status != PM_OK)
        return status;
    out->items = pm_alloc_array(formulas.count + 1, sizeof *out->items);
    if (out->items == NULL)
        status = pm_fail_memory(err);
    for (size_t i = 0; i < formulas.count && status == PM_OK; i++)
        status = look_at(studio, &formulas.items[i], mass, out, err);
    pm_list_release(&formulas);
    return status;
}

enum pm_status pm_stock_possible(struct pm_studio *studio, pm_mass mass, struct pm_possibles *out,
                                 struct pm_error *err)
{
    struct pm_possibles made = {NULL, 0};
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_look_over(studio, look_at_all(studio, mass, &made, err));
    if (status != PM_OK) {
        pm_possibles_release(&made);
        return status;
    }
    if (made.count > 1)
        qsort(made.items, made.count, sizeof *made.items, compare_possibles);
    *out = made;
    return PM_OK;
}

void pm_possibles_release(struct pm_possibles *possibles)
{
    for (size_t i = 0; i < possibles->count; i++) {
        pm_free(possibles->items[i].title);
        pm_free(possibles->items[i].what);
    }
    pm_free(possibles->items);
    *possibles = (struct pm_possibles){NULL, 0};
}

/* ---- what could take its place ---- */

/* "woody;dry", folded; NULL when there are none. The caller's. */
static enum pm_status words_of(struct pm_studio *studio, int64_t material, char **out,
                               struct pm_error *err)
{
    struct pm_facts facts;
    enum pm_status status = pm_fact_list(studio->library, material, &facts, err);
    *out = NULL;
    if (status != PM_OK)
        return status;
    /* Own ones come first. */
    for (size_t i = 0; i < facts.count && *out == NULL && status == PM_OK; i++)
        if (strcmp(facts.items[i].property, "descriptors") == 0 && facts.items[i].words != NULL &&
            !(*out = pm_fold(facts.items[i].words)))
            status = pm_fail_memory(err);
    pm_list_release(&facts);
    return status;
}

static size_t count_shared(const char *a, const char *b)
{
    size_t shared = 0;
    while (a != NULL && b != NULL && *a) {
        size_t length = strcspn(a, ";,");
        for (const char *at = b; length > 0 && *at;) {
            size_t other = strcspn(at, ";,");
            if (other == length && strncmp(a, at, length) == 0) {
                shared++;
                break;
            }
            at += other;
            at += strspn(at, ";, ");
        }
        a += length;
        a += strspn(a, ";, ");
    }
    return shared;
}

static int compare_offers(const void *left, const void *right)
{
    const struct pm_offer *a = left, *b = right;
    if (a->shared != b->shared)
        return a->shared < b->shared ? 1 : -1;
    if (a->rating != b->rating)
        return a->rating < b->rating ? 1 : -1;
    return strcasecmp(a->name, b->name);
}

static enum pm_status add_offers(struct pm_studio *studio, int64_t material, const char *words,
                                 const struct pm_shelf_rows_found *rows, struct pm_offers *out,
                                 struct pm_error *err)
{
    for (size_t i = 0; i < rows->count; i++) {
        const struct pm_shelf_row *row = &rows->items[i];
        char *theirs = NULL;
        if (row->id == material)
            continue;
        enum pm_status status = words_of(studio, row->id, &theirs, err);
        if (status != PM_OK)
            return status;
        struct pm_offer *offer = pm_list_add(out);
        if (offer != NULL)
            *offer = (struct pm_offer){.material = row->id,
                                       .name = pm_arena_text(&out->arena, row->name),
                                       .family = pm_arena_text(&out->arena, row->family),
                                       .neat = row->neat,
                                       .rating = row->rating,
                                       .shared = count_shared(words, theirs)};
        pm_free(theirs);
    }
    return pm_arena_status(&out->arena, err);
}

static enum pm_status gather_offers(struct pm_studio *studio, int64_t material,
                                    struct pm_offers *out, struct pm_error *err)
{
    struct pm_card *card;
    struct pm_shelf_rows_found rows = {0};
    char *own = NULL;
    enum pm_status status = pm_studio_material(studio, material, &card, err);
    if (status == PM_OK && card->family != NULL) {
        const struct pm_shelf_filter filter = {
            .family = card->family, .have = true, .limit = SIZE_MAX - 1};
        status = pm_shelf_list(studio, &filter, &rows, err);
    }
    if (status == PM_OK)
        status = words_of(studio, material, &own, err);
    if (status == PM_OK)
        status = add_offers(studio, material, own, &rows, out, err);
    pm_free(own);
    pm_list_release(&rows);
    return status;
}

enum pm_status pm_stock_offers(struct pm_studio *studio, int64_t material, size_t limit,
                               struct pm_offers *out, struct pm_error *err)
{
    struct pm_offers made = {0};
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_look_over(studio, gather_offers(studio, material, &made, err));
    if (status != PM_OK) {
        pm_list_release(&made);
        return status;
    }
    if (made.count > 1)
        qsort(made.items, made.count, sizeof *made.items, compare_offers);
    if (made.count > limit)
        made.count = limit;
    *out = made;
    return PM_OK;
}
