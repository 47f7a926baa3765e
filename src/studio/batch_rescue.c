/* SPDX-License-Identifier: MIT */
/* The ways out of an over-pour (studio/scale.h). */
#include "scale.h"

#include "permille/base/mem.h"

static void rescue_lines(const struct pm_batch_record *record, const struct pm_trial *trial,
                         struct pm_rescue_line *lines)
{
    for (size_t i = 0; i < record->count; i++) {
        const struct pm_batch_record_line *line = &record->items[i];
        const long at = pm_trial_find(trial, line->line);
        lines[i] = (struct pm_rescue_line){.target = line->target,
                                           .poured = line->poured,
                                           .done = line->done,
                                           .core = at >= 0 ? trial->lines[at].core : 0,
                                           .material = line->material,
                                           .strength = line->strength,
                                           .solvent = line->solvent};
    }
}

static pm_mass larger(pm_mass a, pm_mass b)
{
    return a > b ? a : b;
}

static enum pm_status cost_added(struct pm_studio *studio, struct pm_rescue_offer *offer,
                                 const struct pm_batch_record_line *line, pm_mass added,
                                 struct pm_error *err)
{
    struct pm_bottle row = {0};
    pm_money money = 0;
    enum pm_status status =
        line->bottle != 0 ? pm_bottle_get(studio->library, line->bottle, NULL, &row, err) : PM_OK;
    if (status != PM_OK || added <= 0)
        return status;
    if (line->bottle == 0 || row.currency[0] == '\0' || row.priced_mass <= 0) {
        offer->unknown++;
        return PM_OK;
    }
    status = pm_cost_of(added, row.price, row.priced_mass, &money, err);
    return status == PM_OK ? pm_sum_add(&offer->cost, row.currency, money, err) : status;
}

/* Whether the shelf holds what is still to be poured of a line and of those like it. */
static enum pm_status in_stock(struct pm_studio *studio, const struct pm_batch_record *record,
                               const struct pm_rescue_offer *offer,
                               const struct pm_batch_record_line *line, bool *out,
                               struct pm_error *err)
{
    pm_mass there = 0, wanted = 0;
    enum pm_status status = pm_batch_there(studio, line, &there, err);
    for (size_t i = 0; i < record->count; i++) {
        const struct pm_batch_record_line *other = &record->items[i];
        if (other->material == line->material && other->solvent == line->solvent &&
            pm_stock_serves(other->strength, line->strength) && offer->targets[i] > other->poured)
            wanted += offer->targets[i] - other->poured;
    }
    *out = there >= wanted;
    return status;
}

static pm_mass planned_first(const struct pm_batch_record *record)
{
    return record->plans.count > 0 ? record->plans.items[0].target : 0;
}

static enum pm_status fill_offer(struct pm_studio *studio, const struct pm_batch_record *record,
                                 struct pm_rescue_offer *offer, struct pm_arena *arena,
                                 struct pm_error *err)
{
    enum pm_status status = PM_OK;
    offer->items = pm_arena_array(arena, record->count + 1, sizeof *offer->items);
    if (offer->items == NULL)
        return pm_fail_memory(err);
    offer->in_stock = true;
    for (size_t i = 0; i < record->count && status == PM_OK; i++) {
        const struct pm_batch_record_line *line = &record->items[i];
        const pm_mass target = offer->targets[i], ends = pm_batch_line_ends(line, target);
        offer->total += ends;
        if (ends == line->poured)
            continue;
        struct pm_rescue_step *step = &offer->items[offer->count++];
        *step = (struct pm_rescue_step){
            .place = line->place,
            .number = line->number,
            .name = pm_arena_text(arena, line->name),
            .add = target - line->poured,
            .reads = pm_balance_reads(&record->plan.balance, target - line->poured)};
        status = in_stock(studio, record, offer, line, &step->in_stock, err);
        offer->in_stock = offer->in_stock && step->in_stock;
        if (status == PM_OK)
            status =
                cost_added(studio, offer, line, target - larger(line->target, line->poured), err);
    }
    offer->sense = pm_rescue_sense(offer->total, planned_first(record),
                                   record->plan.balance.capacity, offer->in_stock);
    return status == PM_OK ? pm_arena_status(arena, err) : status;
}

/* The sensible ones first; those alike stay as they are. */
static void put_in_order(struct pm_rescue_offers *offers)
{
    for (size_t i = 1; i < offers->count; i++)
        for (size_t k = i; k > 0 && offers->items[k].sense < offers->items[k - 1].sense; k--) {
            const struct pm_rescue_offer later = offers->items[k - 1];
            offers->items[k - 1] = offers->items[k];
            offers->items[k] = later;
        }
}

static enum pm_status find_ways(struct pm_studio *studio, const struct pm_batch_record *record,
                                struct pm_rescue_offers *out, struct pm_error *err)
{
    struct pm_kept *kept;
    enum pm_status status = pm_studio_kept(studio, record->batch.trial, true, &kept, err);
    struct pm_rescue_line *lines = pm_alloc_array(record->count + 1, sizeof *lines);
    if (lines == NULL)
        return pm_fail_memory(err);
    if (status == PM_OK)
        rescue_lines(record, &kept->trial, lines);
    if (status == PM_OK && record->over == 0)
        status =
            pm_fail(err, PM_REFUSED, "Nothing is over in batch %lld.", (long long)record->batch.id);
    out->balance = record->plan.balance;
    out->planned = planned_first(record);
    for (int way = 0; way < PM_RESCUE_WAYS && status == PM_OK; way++) {
        struct pm_rescue_offer *offer = &out->items[out->count];
        struct pm_error why = {0};
        *offer = (struct pm_rescue_offer){.way = (enum pm_rescue_way)way};
        offer->targets = pm_arena_array(&out->arena, record->count + 1, sizeof *offer->targets);
        if (offer->targets == NULL) {
            status = pm_fail_memory(err);
            break;
        }
        status = pm_rescue_targets(offer->way, lines, record->count, &record->plan.balance,
                                   record->plan.tolerance, offer->targets, &offer->left_over, &why);
        if (status == PM_REFUSED) {
            status = PM_OK;
            continue;
        }
        if (status != PM_OK)
            status = pm_fail(err, status, "%s", why.text);
        if (status == PM_OK)
            status = fill_offer(studio, record, offer, &out->arena, err);
        out->count++;
    }
    put_in_order(out);
    pm_free(lines);
    return status;
}

static enum pm_status ways_of(struct pm_studio *studio, int64_t id, struct pm_rescue_offers *out,
                              struct pm_error *err)
{
    struct pm_batch_record record;
    enum pm_status status = pm_batch_record_open(studio, id, &record, err);
    if (status == PM_OK)
        status = find_ways(studio, &record, out, err);
    pm_batch_record_release(&record);
    return status;
}

void pm_rescue_sense_say(const struct pm_rescue_offers *offers, const struct pm_rescue_offer *offer,
                         char sign, const char *before, struct pm_text *out)
{
    char times[PM_AMOUNT_TEXT];
    switch (offer->sense) {
    case PM_RESCUE_LACKING:
        pm_text_addf(out, "%smore than the shelf holds", before);
        break;
    case PM_RESCUE_HEAVY:
        pm_text_addf(out, "%smore than the balance carries", before);
        break;
    case PM_RESCUE_ABSURD: { /* never rounded to what would not be absurd */
        const int64_t tenths =
            (int64_t)(((pm_int128)offer->total * 10 + offers->planned - 1) / offers->planned);
        pm_text_addf(out, "%s%s times the batch: absurd", before,
                     pm_decimal_format(tenths, 1, tenths < 100 ? 1 : 0, sign, times));
        break;
    }
    default:
        break;
    }
}

void pm_rescue_offers_release(struct pm_rescue_offers *offers)
{
    pm_arena_release(&offers->arena);
    *offers = (struct pm_rescue_offers){.count = 0};
}

enum pm_status pm_batch_ways(struct pm_studio *studio, int64_t id, struct pm_rescue_offers *out,
                             struct pm_error *err)
{
    struct pm_rescue_offers made = {.count = 0};
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_look_over(studio, ways_of(studio, id, &made, err));
    if (status != PM_OK)
        pm_rescue_offers_release(&made);
    else
        *out = made;
    return status;
}

static enum pm_status rescue(struct pm_studio *studio, int64_t id, enum pm_rescue_way way,
                             struct pm_error *err)
{
    struct pm_batch_record record;
    struct pm_rescue_offers offers = {.count = 0};
    const struct pm_rescue_offer *offer = NULL;
    enum pm_status status = pm_batch_record_open(studio, id, &record, err);
    if (status == PM_OK)
        status = find_ways(studio, &record, &offers, err);
    for (size_t i = 0; i < offers.count; i++)
        if (offers.items[i].way == way)
            offer = &offers.items[i];
    if (status == PM_OK && offer == NULL)
        status = pm_fail(err, PM_REFUSED, "That way does not lead out here.");
    struct pm_batch_line *lines =
        status == PM_OK ? pm_alloc_array(record.count + 1, sizeof *lines) : NULL;
    if (status == PM_OK && lines == NULL)
        status = pm_fail_memory(err);
    for (size_t i = 0; status == PM_OK && i < record.count; i++)
        lines[i] = (struct pm_batch_line){.line = record.items[i].line,
                                          .material = record.items[i].material,
                                          .bottle = record.items[i].planned,
                                          .strength = record.items[i].strength,
                                          .solvent = record.items[i].solvent,
                                          .target = offer->targets[i]};
    struct pm_batch_plan plan = record.plan;
    plan.way = pm_rescue_word(way);
    if (status == PM_OK)
        status = pm_batch_plan_insert(studio->library, &plan, lines, record.count, err);
    pm_free(lines);
    pm_rescue_offers_release(&offers);
    pm_batch_record_release(&record);
    return status;
}

enum pm_status pm_batch_rescue(struct pm_studio *studio, int64_t id, enum pm_rescue_way way,
                               struct pm_error *err)
{
    enum pm_status status = pm_change_begin(studio, err);
    return status == PM_OK ? pm_change_end(studio, rescue(studio, id, way, err), err) : status;
}
