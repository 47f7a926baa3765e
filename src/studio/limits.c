/* SPDX-License-Identifier: MIT */
/*
 * A formula against the rules in use: limits, and what a label names.
 *
 * Verdicts are exact, on the trial resolved as a whole. What lines bring is worked out from what a
 * portion of each holds; that is kept for accords, whose trials never change.
 */
#include "limits.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/core/column.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

const char *pm_limits_caution(void)
{
    return "Arithmetic on dated tables with gaps, not approval: unknown is not safe. Current law "
           "where it is sold, the Standards in force, the supplier's papers for the lot and a "
           "qualified safety assessor decide.";
}

const char *pm_label_caution(void)
{
    return "A draft, not a label that may be used: the rules in force where it is sold decide. "
           "Make no claim of safety, nor that it suits pregnancy or children. Do not swallow; "
           "keep away from eyes.";
}

/* ---- what the formula brings ---- */

struct bringing {
    struct pm_brought *items;
    struct pm_known **known; /* by place */
    size_t count;
};

static void bringing_release(struct bringing *bringing)
{
    pm_free(bringing->items);
    pm_free(bringing->known);
    *bringing = (struct bringing){NULL, NULL, 0};
}

static enum pm_status bring(struct pm_studio *studio, struct pm_limits_world *world,
                            const struct pm_flat *flat, struct bringing *out, struct pm_error *err)
{
    struct bringing made = {pm_alloc_array(flat->count + 1, sizeof *made.items),
                            pm_alloc_array(flat->count + 1, sizeof *made.known), flat->count};
    enum pm_status status = made.items != NULL && made.known != NULL ? PM_OK : pm_fail_memory(err);
    for (size_t i = 0; i < flat->count && status == PM_OK; i++) {
        status = pm_limits_known(studio, world, flat->rows[i].material, &made.known[i], err);
        if (status == PM_OK)
            made.items[i] = (struct pm_brought){flat->rows[i].neat + flat->rows[i].as_solvent,
                                                made.known[i]->items, made.known[i]->count};
    }
    if (status != PM_OK)
        bringing_release(&made);
    *out = made;
    return status;
}

static bool is_added(void *context, size_t source, int64_t substance)
{
    const struct bringing *bringing = context;
    return bringing->known[source]->key == substance;
}

/* What a formula brings. */
struct brought {
    struct pm_exposure exposure;
    struct pm_known **known; /* owned array, by source; what it points at is the world's */
    size_t count;
};

static enum pm_status bring_all(struct pm_studio *studio, struct pm_limits_world *world,
                                const struct pm_trial *trial, enum pm_content_basis basis,
                                struct brought *out, struct pm_error *err)
{
    struct pm_accords accords = {studio, NULL};
    struct pm_trial_source source = pm_accords_source(&accords);
    struct pm_flat flat;
    struct bringing bringing;
    if (pm_trial_total(trial) == 0)
        return pm_fail(err, PM_REFUSED, "There is nothing in it yet, so nothing to judge.");
    enum pm_status status = pm_flatten(trial, &source, &flat, err);
    if (status != PM_OK)
        return status;
    status = bring(studio, world, &flat, &bringing, err);
    if (status == PM_OK)
        status =
            pm_exposure_of(bringing.items, bringing.count, flat.total, basis, &out->exposure, err);
    pm_flat_release(&flat);
    if (status == PM_OK) {
        out->known = bringing.known;
        out->count = bringing.count;
        bringing.known = NULL;
    }
    bringing_release(&bringing);
    return status;
}

static void release_brought(struct brought *brought)
{
    pm_exposure_release(&brought->exposure);
    pm_free(brought->known);
    brought->known = NULL;
}

static bool brought_added(void *context, size_t source, int64_t substance)
{
    const struct brought *brought = context;
    const struct bringing bringing = {NULL, brought->known, brought->count};
    return is_added((void *)(uintptr_t)&bringing, source, substance);
}

/* ---- rows ---- */

static const char *say_why(struct pm_limits *out, const struct pm_finding_rule *finding)
{
    struct pm_text text = PM_TEXT_EMPTY;
    const struct pm_judgement *judgement = &finding->judgement;
    if (judgement->verdict == PM_PROHIBITED)
        pm_text_add(&text, "it may not be added");
    else if (finding->doubt && judgement->verdict == PM_VERDICT_UNKNOWN)
        pm_text_add(&text, "only a CAS number says that it is meant, and several products share "
                           "one: give the material the name of what it is, as a synonym");
    else if (judgement->verdict == PM_VERDICT_UNKNOWN && finding->limit == PM_UNKNOWN &&
             finding->rule->kind != PM_RULE_SHARES)
        pm_text_addf(&text, "%s names no figure for category %s", finding->rule->set,
                     out->wish.category);
    else if (judgement->verdict == PM_VERDICT_UNKNOWN)
        pm_text_add(&text, "something brings it in an amount that nobody said");
    else if (judgement->verdict == PM_OVER && finding->rule->kind == PM_RULE_SHARES)
        pm_text_add(&text, "together more than the whole of their limits");
    const char *kept = pm_arena_text(&out->arena, pm_text_get(&text));
    if (!pm_text_ok(&text))
        out->arena.failed = true;
    pm_text_release(&text);
    return kept != NULL ? kept : "";
}

/* A sum over one substance is called after it, unless the rule has its name anyway. */
static const char *title_of(const struct pm_limits *out, const struct pm_finding_rule *finding)
{
    if (finding->key == 0 || finding->rule->kind == PM_RULE_SHARES)
        return finding->rule->title;
    const char *title = pm_limits_title(out->world, finding->key);
    return title[0] == '\0' || pm_fold_equal(title, finding->rule->title) ? finding->rule->title
                                                                          : title;
}

/* Names of constituents come from tables of analyses, in small letters. A row begins with a capital
 * one, but not what stands before a hyphen: "alpha-", "p-", "trans-". */
static const char *capital(struct pm_limits *out, const char *title)
{
    const size_t word = strspn(title, "abcdefghijklmnopqrstuvwxyz");
    if (word == 0 || title[word] == '-')
        return title;
    char *kept = pm_arena_text(&out->arena, title);
    if (kept == NULL)
        return title;
    kept[0] = (char)(kept[0] - 'a' + 'A');
    return kept;
}

static void add_row(struct pm_limits *out, size_t place)
{
    const struct pm_finding_rule *finding = &out->found.items[place];
    struct pm_limits_row *row = pm_arena_push(&out->arena, &out->items, &out->count, sizeof *row);
    if (row == NULL)
        return;
    *row = (struct pm_limits_row){
        .title = capital(out, title_of(out, finding)),
        .verdict = finding->judgement.verdict,
        .percent = finding->judgement.percent,
        .least = finding->judgement.unknown_amount,
        .shares = finding->rule->kind == PM_RULE_SHARES,
        .limit = finding->limit,
        .finding = finding,
        .others = finding + 1,
        .why = say_why(out, finding),
        .source = finding->figure != NULL ? finding->figure->source : finding->rule->source,
        .key = finding->key,
    };
    while (place + row->other_count + 1 < out->found.count &&
           out->found.items[place + row->other_count + 1].group == finding->group)
        row->other_count++;
}

static bool is_spoken_of(const struct pm_limits *out, int64_t key)
{
    for (size_t i = 0; i < out->found.count; i++) {
        const struct pm_book_rule *rule = out->found.items[i].rule;
        for (size_t k = 0; k < rule->member_count && rule->kind != PM_RULE_CHECK; k++)
            if (rule->members[k] == key)
                return true;
        for (size_t k = 0; k < rule->doubtful_count; k++)
            if (rule->doubtful[k] == key)
                return true;
    }
    return false;
}

/* Everything in it that no rule in use speaks of. */
static void add_unspoken(struct pm_limits *out, const struct brought *brought)
{
    const struct pm_exposure *exposure = &out->exposure;
    for (size_t i = 0; i < exposure->count;) {
        int64_t key = exposure->parts[i].substance;
        pm_int128 amount = 0;
        bool unknown = false, bare = false;
        for (; i < exposure->count && exposure->parts[i].substance == key; i++) {
            amount += exposure->parts[i].amount;
            unknown = unknown || exposure->parts[i].unknown;
            const struct pm_known *known = brought->known[exposure->parts[i].source];
            bare = bare || (known->bare && known->key == key);
        }
        if (is_spoken_of(out, key))
            continue;
        struct pm_limits_row *row =
            pm_arena_push(&out->arena, &out->items, &out->count, sizeof *row);
        if (row == NULL)
            return;
        pm_int128 unit = (pm_int128)exposure->total * 1000000;
        *row = (struct pm_limits_row){
            .title = capital(out, pm_limits_title(out->world, key)),
            .verdict = PM_VERDICT_UNKNOWN,
            .percent = (int64_t)((amount * out->wish.dosage + unit / 2) / unit),
            .least = unknown,
            .limit = PM_UNKNOWN,
            .why = bare ? "no rule in use speaks of it, and what is in it nobody said"
                        : "no rule in use speaks of it",
            .source = "",
            .key = key,
        };
        out->without_rule++;
    }
}

int64_t pm_limits_used(const struct pm_limits_row *row)
{
    return row->finding != NULL ? pm_finding_used(row->finding) : INT64_MAX;
}

char *pm_limits_used_format(int64_t used, char sign, char *buf)
{
    const int64_t percent = PM_WHOLE / 100;
    if (used < PM_WHOLE / 10)
        return pm_decimal_format(used, 10, pm_decimal_places(used, 10, 1), sign, buf);
    int64_t whole = used / percent + (used % percent >= percent / 2);
    if (whole == 100 && used != PM_WHOLE)
        whole += used > PM_WHOLE ? 1 : -1;
    return pm_decimal_format(whole * percent, 10, 0, sign, buf);
}

/* The highest dosage within all known limits. */
static void find_highest(struct pm_limits *out)
{
    out->highest = PM_UNKNOWN;
    for (size_t i = 0; i < out->found.count; i++) {
        const struct pm_finding_rule *finding = &out->found.items[i];
        pm_strength dosage = finding->judgement.known_dosage;
        bool counts = finding->rule->kind != PM_RULE_CHECK && !finding->replaced &&
                      dosage != PM_UNKNOWN &&
                      (finding->limit >= 0 || finding->rule->kind == PM_RULE_SHARES ||
                       finding->judgement.verdict == PM_PROHIBITED);
        if (!counts || (out->highest != PM_UNKNOWN && dosage >= out->highest))
            continue;
        out->highest = dosage;
        out->decides = title_of(out, finding);
    }
}

static void count_rows(struct pm_limits *out)
{
    for (size_t i = 0; i < out->count; i++) {
        const struct pm_limits_row *row = &out->items[i];
        if (row->finding == NULL)
            continue;
        out->prohibited += row->verdict == PM_PROHIBITED;
        out->over += row->verdict == PM_OVER;
        out->unknown += row->verdict == PM_VERDICT_UNKNOWN;
        out->within += row->verdict == PM_WITHIN;
        int64_t used = row->limit > 0 || row->shares ? pm_limits_used(row) : INT64_MAX;
        if (used != INT64_MAX && row->verdict != PM_PROHIBITED &&
            (out->tightest == NULL || used > pm_limits_used(out->tightest)))
            out->tightest = row;
    }
}

static enum pm_status judge(struct pm_studio *studio, const struct pm_sheet *sheet,
                            struct pm_limits *out, struct pm_error *err)
{
    struct brought brought = {0};
    struct pm_limits_world *world;
    struct pm_product product;
    enum pm_status status = pm_limits_product(studio, &out->wish, &product, err);
    if (status == PM_OK)
        status = pm_limits_world(studio, &world, err);
    if (status != PM_OK)
        return status;
    out->world = pm_limits_world_keep(world);
    product.category = out->wish.category;
    status = bring_all(studio, world, &sheet->trial, out->wish.basis, &brought, err);
    if (status == PM_OK)
        status = pm_book_judge(&world->book, &brought.exposure, &product, out->wish.dosage,
                               brought_added, &brought, &out->found, err);
    if (status == PM_OK) {
        out->exposure = brought.exposure;
        brought.exposure = (struct pm_exposure){0};
        for (size_t i = 0; i < out->found.count; i++)
            if (out->found.items[i].leads)
                add_row(out, i);
        out->check_count = 0;
        for (size_t i = out->found.count;
             i > 0 && out->found.items[i - 1].rule->kind == PM_RULE_CHECK; i--)
            out->check_count++;
        out->checks = out->found.items + (out->found.count - out->check_count);
        add_unspoken(out, &brought);
        find_highest(out);
        count_rows(out);
        status = pm_arena_status(&out->arena, err);
    }
    release_brought(&brought);
    return status;
}

enum pm_status pm_limits_preview(struct pm_studio *studio, const struct pm_sheet *sheet,
                                 const struct pm_limits_wish *wish, struct pm_limits *out,
                                 struct pm_error *err)
{
    struct pm_limits made = {.wish = *wish};
    if (wish->dosage < 1 || wish->dosage > PM_NEAT)
        return pm_fail_at(err, "dosage", PM_INVALID, "A dosage lies between 0 and 100 %%.");
    enum pm_status status = judge(studio, sheet, &made, err);
    if (status != PM_OK) {
        pm_limits_release(&made);
        return status;
    }
    *out = made;
    return PM_OK;
}

enum pm_status pm_limits_of(struct pm_studio *studio, const struct pm_sheet *sheet,
                            const struct pm_limits_wish *wish, struct pm_limits *out,
                            struct pm_error *err)
{
    enum pm_status status = pm_studio_look_begin(studio, err);
    return status == PM_OK ? pm_look_over(studio, pm_limits_preview(studio, sheet, wish, out, err))
                           : status;
}

void pm_limits_release(struct pm_limits *limits)
{
    pm_list_release(limits); /* the rows */
    pm_list_release(&limits->found);
    pm_exposure_release(&limits->exposure);
    pm_limits_world_drop(limits->world);
    *limits = (struct pm_limits){0};
}

/* ---- by line ---- */

static bool holds(const int64_t *list, size_t count, int64_t key)
{
    for (size_t i = 0; i < count; i++)
        if (list[i] == key)
            return true;
    return false;
}

/* How much a substance counts in a rule: 0 when it is no member. */
static double member_weight(const struct pm_book *book, const struct pm_book_rule *rule,
                            const struct pm_product *product, int64_t only, int64_t key)
{
    if (rule == NULL)
        return key == only ? 1 : 0;
    if (rule->kind != PM_RULE_SHARES)
        return holds(rule->members, rule->member_count, key) ||
                       holds(rule->doubtful, rule->doubtful_count, key)
                   ? 1
                   : 0;
    for (size_t i = 0; i < rule->of_count; i++) {
        const struct pm_book_rule *of = &book->items[rule->of[i]];
        pm_strength limit;
        bool speaks;
        if (!holds(of->members, of->member_count, key))
            continue;
        pm_rule_figure(of, product, &limit, &speaks);
        return limit > 0 ? (double)PM_NEAT / (double)limit : 0;
    }
    return 0;
}

/* Of one material in one line: how much of the rule's substances it brings. */
static void add_material(const struct pm_known *known, const struct pm_book *book,
                         const struct pm_book_rule *rule, const struct pm_product *product,
                         int64_t only, enum pm_content_basis basis, double amount,
                         struct pm_line_bring *out)
{
    for (size_t i = 0; i < known->count && amount > 0; i++) {
        const struct pm_content *content = &known->items[i];
        double weight = member_weight(book, rule, product, only, content->substance);
        pm_strength counts = pm_content_counts(content, basis);
        if (weight == 0 || counts == 0)
            continue;
        out->there = true;
        if (counts == PM_UNKNOWN)
            out->unknown = true;
        else
            out->amount += amount * (double)counts / PM_NEAT * weight;
    }
}

enum pm_status pm_limits_line(struct pm_studio *studio, struct pm_limits_world *world,
                              const struct pm_line *line, const struct pm_book_rule *rule,
                              const struct pm_product *product, int64_t only,
                              enum pm_content_basis basis, struct pm_line_bring *out,
                              struct pm_error *err)
{
    struct pm_known *known;
    *out = (struct pm_line_bring){0};
    enum pm_status status = PM_OK;
    if (line->kind == PM_LINE_ACCORD) {
        const struct pm_flat *flat;
        if (line->ref == PM_PENDING_REF)
            return PM_OK;
        status = pm_limits_unit(studio, world, line->ref, &flat, err);
        for (size_t i = 0; status == PM_OK && i < flat->count; i++) {
            const struct pm_flat_row *row = &flat->rows[i];
            status = pm_limits_known(studio, world, row->material, &known, err);
            if (status == PM_OK)
                add_material(known, &world->book, rule, product, only, basis,
                             (double)(row->neat + row->as_solvent) / (double)flat->total, out);
        }
        return status;
    }
    double strength = (double)line->strength / PM_NEAT;
    status = pm_limits_known(studio, world, line->ref, &known, err);
    if (status == PM_OK)
        add_material(known, &world->book, rule, product, only, basis, strength, out);
    if (status == PM_OK && line->solvent != 0)
        status = pm_limits_known(studio, world, line->solvent, &known, err);
    if (status == PM_OK && line->solvent != 0)
        add_material(known, &world->book, rule, product, only, basis, 1 - strength, out);
    return status;
}

static enum pm_status each_line(struct pm_studio *studio, const struct pm_sheet *sheet,
                                const struct pm_limits *limits, const struct pm_limits_row *row,
                                int64_t *percents, bool *signs, struct pm_error *err)
{
    struct pm_product product;
    double total = (double)pm_trial_total(&sheet->trial);
    enum pm_status status = pm_limits_product(studio, &limits->wish, &product, err);
    product.category = limits->wish.category;
    for (size_t i = 0; i < sheet->trial.count && status == PM_OK; i++) {
        const struct pm_line *line = &sheet->trial.lines[i];
        struct pm_line_bring bring;
        status = pm_limits_line(studio, limits->world, line,
                                row->finding != NULL ? row->finding->rule : NULL, &product,
                                row->key, limits->wish.basis, &bring, err);
        if (status != PM_OK)
            break;
        bool there = bring.there && line->parts > 0;
        if (signs != NULL && there)
            signs[i] = true;
        if (percents != NULL)
            percents[i] = there && bring.unknown && bring.amount == 0
                              ? -1
                              : (int64_t)llround(bring.amount * (double)line->parts / total *
                                                 (double)limits->wish.dosage * 1000);
    }
    return status;
}

enum pm_status pm_limits_lines(struct pm_studio *studio, const struct pm_sheet *sheet,
                               const struct pm_limits *limits, const struct pm_limits_row *row,
                               int64_t *out, struct pm_error *err)
{
    return each_line(studio, sheet, limits, row, out, NULL, err);
}

enum pm_status pm_limits_signs(struct pm_studio *studio, const struct pm_sheet *sheet,
                               const struct pm_limits *limits, bool *out, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    memset(out, 0, sheet->trial.count * sizeof *out);
    for (size_t i = 0; i < limits->count && status == PM_OK; i++)
        if (limits->items[i].finding != NULL &&
            (limits->items[i].verdict == PM_OVER || limits->items[i].verdict == PM_PROHIBITED))
            status = each_line(studio, sheet, limits, &limits->items[i], NULL, out, err);
    return status;
}

/* ---- label ---- */

static int by_verdict(const void *left, const void *right)
{
    const struct pm_label_row *a = left, *b = right;
    return a->verdict != b->verdict ? (int)a->verdict - (int)b->verdict
                                    : strcmp(a->rule->name, b->rule->name);
}

static int by_amount_of(const void *left, const void *right)
{
    const struct pm_label_row *a = left, *b = right;
    if (a->verdict != b->verdict || a->percent == b->percent)
        return by_verdict(left, right);
    return a->percent > b->percent ? -1 : 1;
}

static enum pm_status add_bare(struct pm_label *out, const struct brought *brought,
                               struct pm_error *err)
{
    for (size_t i = 0; i < brought->count; i++) {
        if (!brought->known[i]->bare)
            continue;
        const char **name = pm_list_add(&out->bare);
        if (name != NULL)
            *name = pm_arena_text(&out->bare.arena, brought->known[i]->name);
    }
    return pm_arena_status(&out->bare.arena, err);
}

static enum pm_status label(struct pm_studio *studio, const struct pm_sheet *sheet, bool by_amount,
                            struct pm_label *out, struct pm_error *err)
{
    struct brought brought = {0};
    struct pm_limits_world *world;
    struct pm_product product;
    enum pm_status status = pm_limits_product(studio, &out->wish, &product, err);
    if (status == PM_OK)
        status = pm_limits_world(studio, &world, err);
    if (status != PM_OK)
        return status;
    out->world = pm_limits_world_keep(world);
    product.category = out->wish.category;
    out->applies = product.contact != PM_NO_COSMETIC;
    status = bring_all(studio, world, &sheet->trial, out->wish.basis, &brought, err);
    if (status == PM_OK)
        status = pm_book_label(&world->book, &brought.exposure, &product, out->wish.dosage,
                               &out->rows, err);
    if (status == PM_OK)
        status = add_bare(out, &brought, err);
    release_brought(&brought);
    out->items = out->rows.items;
    out->count = out->rows.count;
    if (out->count > 1)
        qsort(out->items, out->count, sizeof *out->items, by_amount ? by_amount_of : by_verdict);
    for (size_t i = 0; i < out->count; i++) {
        out->declare += out->items[i].verdict == PM_LABEL_DECLARE;
        out->unknown += out->items[i].verdict == PM_LABEL_UNKNOWN;
        out->below += out->items[i].verdict == PM_LABEL_BELOW;
    }
    return status;
}

enum pm_status pm_label_of(struct pm_studio *studio, const struct pm_sheet *sheet,
                           const struct pm_limits_wish *wish, bool by_amount, struct pm_label *out,
                           struct pm_error *err)
{
    struct pm_label made = {.wish = *wish};
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_look_over(studio, label(studio, sheet, by_amount, &made, err));
    if (status != PM_OK) {
        pm_label_release(&made);
        return status;
    }
    *out = made;
    return PM_OK;
}

void pm_label_release(struct pm_label *label)
{
    pm_list_release(&label->rows);
    pm_list_release(&label->bare);
    pm_limits_world_drop(label->world);
    *label = (struct pm_label){0};
}
