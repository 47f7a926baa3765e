/* SPDX-License-Identifier: MIT */
/* What a batch has become beside the kept trial, and what the limits say of it (studio/scale.h). */
#include "inside.h"
#include "scale.h"

#include "permille/base/mem.h"

#include <stdlib.h>
#include <string.h>

/* ---- masses ---- */

/* As poured so far and the rest as planned, or as a way out leads to. */
static void masses_of(const struct pm_batch_record *record, const struct pm_rescue_offer *offer,
                      pm_mass *out, pm_mass *total)
{
    *total = 0;
    for (size_t i = 0; i < record->count; i++) {
        const struct pm_batch_record_line *line = &record->items[i];
        const pm_mass target = offer != NULL ? offer->targets[i] : line->target;
        const bool over = pm_batch_over(record->batch.state);
        out[i] = over ? line->poured : pm_batch_line_ends(line, target);
        *total += out[i];
    }
}

static const struct pm_rescue_offer *offer_of(const struct pm_rescue_offers *offers,
                                              enum pm_rescue_way way)
{
    for (size_t i = 0; i < offers->count; i++)
        if (offers->items[i].way == way)
            return &offers->items[i];
    return NULL;
}

/* ---- lines ---- */

static int64_t away(const struct pm_become_line *line)
{
    return line->is > line->was ? line->is - line->was : line->was - line->is;
}

/* What changed most of itself first; then by name. */
static int compare_lines(const void *left, const void *right)
{
    const struct pm_become_line *a = left, *b = right;
    const pm_int128 mine = (pm_int128)away(a) * (b->was + 1),
                    its = (pm_int128)away(b) * (a->was + 1);
    if (mine != its)
        return mine > its ? -1 : 1;
    return strcmp(a->name, b->name);
}

static struct pm_become_line *line_named(struct pm_become *out, const char *name)
{
    for (size_t i = 0; i < out->count; i++)
        if (strcmp(out->items[i].name, name) == 0)
            return &out->items[i];
    out->items[out->count] = (struct pm_become_line){.name = pm_arena_text(&out->arena, name)};
    return &out->items[out->count++];
}

static enum pm_status compare_flat(struct pm_studio *studio, const struct pm_sheet *was,
                                   const struct pm_sheet *is, struct pm_become *out,
                                   struct pm_error *err)
{
    struct pm_flat_sheet before, after;
    enum pm_status status = pm_sheet_flatten(studio, was, &before, err);
    if (status != PM_OK)
        return status;
    status = pm_sheet_flatten(studio, is, &after, err);
    if (status != PM_OK) {
        pm_flat_sheet_release(&before);
        return status;
    }
    out->items = pm_arena_array(&out->arena, before.count + after.count + 1, sizeof *out->items);
    if (out->items == NULL)
        status = pm_fail_memory(err);
    for (size_t i = 0; status == PM_OK && i < before.count; i++) {
        struct pm_become_line *line = line_named(out, before.lines[i].name);
        line->was += before.lines[i].share;
        status = pm_arena_status(&out->arena, err);
    }
    for (size_t i = 0; status == PM_OK && i < after.count; i++) {
        struct pm_become_line *line = line_named(out, after.lines[i].name);
        line->is += after.lines[i].share;
        status = pm_arena_status(&out->arena, err);
    }
    if (status == PM_OK)
        qsort(out->items, out->count, sizeof *out->items, compare_lines);
    pm_flat_sheet_release(&before);
    pm_flat_sheet_release(&after);
    return status;
}

/* ---- limits ---- */

static const struct pm_limits_row *row_titled(const struct pm_limits *limits, const char *title)
{
    for (size_t i = 0; i < limits->count; i++)
        if (strcmp(limits->items[i].title, title) == 0)
            return &limits->items[i];
    return NULL;
}

static enum pm_status compare_limits(const struct pm_limits *was, const struct pm_limits *is,
                                     struct pm_become *out, struct pm_error *err)
{
    out->limits = pm_arena_array(&out->arena, is->count + 1, sizeof *out->limits);
    if (out->limits == NULL)
        return pm_fail_memory(err);
    for (size_t i = 0; i < is->count; i++) {
        const struct pm_limits_row *row = &is->items[i];
        if (row->finding == NULL)
            continue;
        const struct pm_limits_row *before = row_titled(was, row->title);
        out->limits[out->limit_count++] =
            (struct pm_become_limit){.title = pm_arena_text(&out->arena, row->title),
                                     .was = before != NULL ? before->verdict : PM_WITHIN,
                                     .is = row->verdict,
                                     .was_percent = before != NULL ? before->percent : -1,
                                     .percent = row->percent,
                                     .limit = row->limit,
                                     .least = row->least,
                                     .why = pm_arena_text(&out->arena, row->why)};
    }
    out->prohibited = is->prohibited;
    out->over = is->over;
    out->unknown = is->unknown;
    out->within = is->within;
    out->without_rule = is->without_rule;
    out->wish = is->wish;
    return pm_arena_status(&out->arena, err);
}

static enum pm_status judge(struct pm_studio *studio, const struct pm_sheet *was,
                            const struct pm_sheet *is, struct pm_become *out, struct pm_error *err)
{
    struct pm_limits_wish wish;
    struct pm_limits before, after;
    enum pm_status status = pm_limits_wish(studio, was->formula, &wish, err);
    if (status == PM_OK)
        status = pm_limits_of(studio, was, &wish, &before, err);
    if (status != PM_OK)
        return status;
    status = pm_limits_of(studio, is, &wish, &after, err);
    if (status == PM_OK) {
        status = compare_limits(&before, &after, out, err);
        pm_limits_release(&after);
    }
    pm_limits_release(&before);
    return status;
}

/* ---- the whole ---- */

static enum pm_status compare(struct pm_studio *studio, const struct pm_batch_record *record,
                              const struct pm_trial *content, struct pm_become *out,
                              struct pm_error *err)
{
    struct pm_sheet *kept = NULL, *draft = NULL;
    struct pm_plan *plan = NULL;
    enum pm_status status = pm_sheet_open(studio, record->batch.trial, &kept, err);
    if (status == PM_OK)
        status = pm_sheet_open_draft(studio, record->batch.formula, &draft, err);
    if (status == PM_OK)
        status = pm_plan_content(studio, draft, content, record->batch.trial, "restore",
                                 "As weighed", &plan, err);
    if (status == PM_OK)
        status = compare_flat(studio, kept, pm_plan_sheet(plan), out, err);
    if (status == PM_OK)
        status = judge(studio, kept, pm_plan_sheet(plan), out, err);
    pm_plan_free(plan);
    pm_sheet_free(draft);
    pm_sheet_free(kept);
    return status;
}

static enum pm_status become(struct pm_studio *studio, const struct pm_batch_record *record,
                             const struct pm_rescue_offer *offer, struct pm_become *out,
                             struct pm_error *err)
{
    struct pm_trial content;
    pm_mass *masses = pm_alloc_array(record->count + 1, sizeof *masses);
    if (masses == NULL)
        return pm_fail_memory(err);
    out->base = record->base;
    masses_of(record, offer, masses, &out->total);
    enum pm_status status = pm_batch_content(studio, record, masses, &content, err);
    pm_free(masses);
    if (status != PM_OK)
        return status;
    status = compare(studio, record, &content, out, err);
    pm_trial_release(&content);
    return status;
}

static enum pm_status work_out(struct pm_studio *studio, int64_t id, const enum pm_rescue_way *way,
                               struct pm_become *out, struct pm_error *err)
{
    struct pm_batch_record record = {0};
    struct pm_rescue_offers offers = {.count = 0};
    enum pm_status status = pm_batch_record_read(studio, id, &record, err);
    if (status == PM_OK && record.poured == 0)
        status = pm_fail(err, PM_REFUSED, "Nothing was poured into batch %lld yet.", (long long)id);
    if (status == PM_OK && way != NULL)
        status = pm_batch_ways(studio, id, &offers, err);
    const struct pm_rescue_offer *offer = way != NULL ? offer_of(&offers, *way) : NULL;
    if (status == PM_OK && way != NULL && offer == NULL)
        status = pm_fail(err, PM_REFUSED, "That way does not lead out here.");
    if (status == PM_OK)
        status = become(studio, &record, offer, out, err);
    pm_rescue_offers_release(&offers);
    pm_batch_record_release(&record);
    return status;
}

enum pm_status pm_batch_become(struct pm_studio *studio, int64_t id, const enum pm_rescue_way *way,
                               struct pm_become *out, struct pm_error *err)
{
    struct pm_become made = {.total = 0};
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_look_over(studio, work_out(studio, id, way, &made, err));
    if (status != PM_OK)
        pm_become_release(&made);
    else
        *out = made;
    return status;
}

void pm_become_release(struct pm_become *become)
{
    pm_arena_release(&become->arena);
    *become = (struct pm_become){.total = 0};
}

/* ---- in words ---- */

pm_parts pm_become_parts(const struct pm_become *become, int64_t share)
{
    return (pm_parts)(((pm_int128)share * become->base + 500000000000) / 1000000000000);
}

static const char *parts(const struct pm_become *become, int64_t share, char sign, char *buf)
{
    const pm_parts amount = pm_become_parts(become, share);
    return pm_decimal_format(amount, 6, pm_decimal_places(amount, 6, 2), sign, buf);
}

static bool changed(const struct pm_become_line *line)
{
    return away(line) >= (line->was > line->is ? line->was : line->is) / 100;
}

static void say_lines(const struct pm_become *become, bool brief, char sign, struct pm_text *out)
{
    char was[PM_AMOUNT_TEXT], is[PM_AMOUNT_TEXT];
    size_t left_out = 0;
    for (size_t i = 0; i < become->count; i++) {
        const struct pm_become_line *line = &become->items[i];
        if (brief && !changed(line)) {
            left_out++;
            continue;
        }
        pm_text_addf(out, "%s: %s parts, was %s.\n", line->name, parts(become, line->is, sign, is),
                     parts(become, line->was, sign, was));
    }
    if (left_out > 0)
        pm_text_addf(out, "%zu changed by less than 1 %% of itself.\n", left_out);
}

static void say_limit(const struct pm_become_limit *limit, char sign, struct pm_text *out)
{
    char percent[PM_AMOUNT_TEXT], most[PM_AMOUNT_TEXT];
    pm_text_addf(out, "%s: %s%s", limit->title, pm_verdict_word(limit->is),
                 limit->was_percent < 0 || limit->was == limit->is ? "" : ", was ");
    if (limit->was_percent >= 0 && limit->was != limit->is)
        pm_text_add(out, pm_verdict_word(limit->was));
    pm_text_addf(out, "; %s%s %% of the product", limit->least ? "at least " : "",
                 pm_decimal_format(limit->percent, 10, pm_decimal_places(limit->percent, 10, 2),
                                   sign, percent));
    if (limit->limit >= 0)
        pm_text_addf(out, ", limit %s", pm_strength_format(limit->limit, sign, most));
    pm_text_addf(out, "%s%s.\n", limit->why[0] ? ": " : "", limit->why);
}

static void say_limits(const struct pm_become *become, bool brief, char sign, struct pm_text *out)
{
    char dosage[PM_AMOUNT_TEXT];
    pm_text_addf(out,
                 "Limits at %s, category %s: %zu prohibited, %zu over, %zu unknown, %zu within, "
                 "%zu without a rule.\n",
                 pm_strength_format(become->wish.dosage, sign, dosage), become->wish.category,
                 become->prohibited, become->over, become->unknown, become->within,
                 become->without_rule);
    for (size_t i = 0; i < become->limit_count; i++) {
        const struct pm_become_limit *limit = &become->limits[i];
        if (!brief || (limit->is != PM_WITHIN && limit->is != PM_VERDICT_UNKNOWN) ||
            limit->is != limit->was)
            say_limit(limit, sign, out);
    }
}

enum pm_status pm_become_text(const struct pm_become *become, bool brief, char sign,
                              struct pm_text *out, struct pm_error *err)
{
    say_lines(become, brief, sign, out);
    say_limits(become, brief, sign, out);
    pm_text_addf(out, "%s\n", pm_limits_caution());
    return pm_text_ok(out) ? PM_OK : pm_fail_memory(err);
}
