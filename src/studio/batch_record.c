/* SPDX-License-Identifier: MIT */
/* A batch's record: what was meant, what was poured (studio/scale.h). */
#include "scale.h"

#include "permille/base/mem.h"
#include "permille/core/apportion.h"
#include "permille/store/batches.h"
#include "permille/studio/trials.h"
#include "permille/studio/volumes.h"

enum pm_status pm_batch_happen(struct pm_studio *studio, int64_t batch, enum pm_batch_state kind,
                               const char *text, struct pm_error *err)
{
    const struct pm_batch_event event = {
        .batch = batch, .kind = kind, .at = pm_library_now(studio->library), .text = text};
    return pm_batch_event_insert(studio->library, &event, NULL, err);
}

enum pm_status pm_batch_title(struct pm_studio *studio, struct pm_batch *batch,
                              struct pm_arena *arena, struct pm_error *err)
{
    struct pm_kept *kept;
    char *title = NULL;
    enum pm_status status = pm_studio_kept(studio, batch->trial, false, &kept, err);
    if (status == PM_OK)
        status = pm_kept_title(studio, kept, &title, err);
    if (status != PM_OK)
        return status;
    batch->formula = kept->formula;
    batch->number = kept->number;
    batch->title = pm_arena_text(arena, title);
    pm_free(title);
    return pm_arena_status(arena, err);
}

static enum pm_status name_line(struct pm_studio *studio, struct pm_batch_record *record,
                                struct pm_batch_record_line *line, struct pm_error *err)
{
    enum pm_status status = pm_scale_name(studio, &record->arena, line->material, &line->name, err);
    if (status == PM_OK)
        status = pm_scale_name(studio, &record->arena, line->solvent, &line->solvent_name, err);
    return status == PM_OK ? pm_scale_bottle(studio, &record->arena, line->bottle, &line->label,
                                             &line->lot, &line->store, &line->left, err)
                           : status;
}

/* What was poured of each line, and from which bottle last. */
static void add_pours(struct pm_batch_record *record)
{
    for (size_t i = 0; i < record->pours.count; i++) {
        const struct pm_batch_pour *pour = &record->pours.items[i];
        if (!pour->in_force || pour->place > (int64_t)record->count)
            continue;
        struct pm_batch_record_line *line = &record->items[pour->place - 1];
        line->poured += pour->mass;
        line->pour = pour->id;
        line->poured_at = pour->at;
        line->bottle = pour->bottle;
        record->poured += pour->mass;
    }
}

/* A line is done once what is lacking is less than the display or the tolerance tells. */
static bool is_done(const struct pm_batch_plan *plan, const struct pm_batch_record_line *line)
{
    const pm_mass lack = line->target - line->poured;
    return line->pour != 0 &&
           ((pm_int128)lack * 2 <= plan->balance.readability ||
            (pm_int128)lack * PM_NEAT <= (pm_int128)line->target * plan->tolerance);
}

pm_mass pm_batch_line_ends(const struct pm_batch_record_line *line, pm_mass target)
{
    const bool done = line->done && target == line->target;
    return done || line->poured > target ? line->poured : target;
}

static void judge(struct pm_batch_record *record)
{
    const struct pm_balance *balance = &record->plan.balance;
    const pm_mass minimum = pm_balance_minimum(balance, record->plan.tolerance);
    record->next = record->count;
    for (size_t i = record->count; i-- > 0;) {
        struct pm_batch_record_line *line = &record->items[i];
        const struct pm_rescue_line over = {.target = line->target, .poured = line->poured};
        line->done = is_done(&record->plan, line);
        line->over = pm_rescue_over(&over, balance, record->plan.tolerance);
        line->weighable = line->target >= minimum;
        line->error = pm_balance_error(balance, line->target);
        line->deviation = line->pour != 0 && line->target > 0
                              ? (double)(line->poured - line->target) / (double)line->target
                              : 0;
        const pm_mass lack = line->target > line->poured ? line->target - line->poured : 0;
        line->reads =
            pm_balance_reads(balance, record->plan.cumulative ? record->poured + lack : lack);
        record->over += line->over;
        record->target += line->target;
        record->next = line->done ? record->next : i;
    }
}

/* What the display shows with each line poured. */
static void read_display(struct pm_batch_record *record)
{
    pm_mass before = 0;
    for (size_t i = 0; i < record->count; i++) {
        struct pm_batch_record_line *line = &record->items[i];
        const pm_mass with = record->plan.cumulative ? before + line->target : line->target;
        line->shows = pm_balance_reads(&record->plan.balance, with);
        before += line->done || line->over ? line->poured : line->target;
    }
}

/* What each line is of all poured, in the trial's base, beside what it was to be. */
static enum pm_status compose(struct pm_batch_record *record, struct pm_error *err)
{
    int64_t *weights = pm_alloc_array(record->count * 2 + 1, sizeof *weights);
    if (weights == NULL)
        return pm_fail_memory(err);
    int64_t *is = weights, *was = weights + record->count;
    pm_mass whole = 0;
    for (size_t i = 0; i < record->count; i++) {
        const struct pm_batch_record_line *line = &record->items[i];
        is[i] = pm_batch_line_ends(line, line->target);
        was[i] = line->target;
        whole += is[i];
    }
    enum pm_status status =
        whole > 0 ? pm_apportion(is, record->count, record->base, is, err) : PM_OK;
    if (status == PM_OK && record->target > 0)
        status = pm_apportion(was, record->count, record->base, was, err);
    for (size_t i = 0; i < record->count && status == PM_OK; i++) {
        record->items[i].parts = is[i];
        record->items[i].was_parts = was[i];
    }
    pm_free(weights);
    return status;
}

static enum pm_status name_lines(struct pm_studio *studio, struct pm_batch_record *record,
                                 struct pm_error *err)
{
    enum pm_status status = PM_OK;
    const char **names = pm_arena_array(&record->arena, record->count * 2 + 1, sizeof *names);
    if (names == NULL)
        return pm_fail_memory(err);
    for (size_t i = 0; i < record->count && status == PM_OK; i++) {
        struct pm_batch_record_line *line = &record->items[i];
        status = name_line(studio, record, line, err);
        line->lack_ul =
            pm_volume_in(studio, line->material, line->strength, line->target - line->poured);
        names[i] = record->items[i].name;
    }
    if (status == PM_OK)
        status = pm_scale_tall(names, record->count, names + record->count, &record->arena, err);
    for (size_t i = 0; i < record->count && status == PM_OK; i++)
        record->items[i].tall = names[record->count + i];
    return status;
}

enum pm_status pm_batch_held(struct pm_studio *studio, const struct pm_batch_record *record,
                             struct pm_held_accords *out, struct pm_error *err)
{
    struct pm_kept *kept;
    int64_t *poured = pm_alloc_array(record->count + 1, sizeof *poured);
    size_t count = 0;
    for (size_t i = 0; poured != NULL && i < record->count; i++)
        if (record->items[i].strength == PM_NEAT)
            poured[count++] = record->items[i].material;
    enum pm_status status = poured != NULL
                                ? pm_studio_kept(studio, record->batch.trial, true, &kept, err)
                                : pm_fail_memory(err);
    if (status == PM_OK)
        status = pm_held_read(studio, &kept->trial, poured, count, out, err);
    pm_free(poured);
    return status;
}

static enum pm_status add_whence(struct pm_studio *studio, struct pm_batch_record *record,
                                 struct pm_error *err)
{
    struct pm_held_accords held;
    enum pm_status status = pm_batch_held(studio, record, &held, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < record->count && status == PM_OK; i++) {
        struct pm_batch_record_line *line = &record->items[i];
        status = pm_held_whence(studio, &held, line->material, line->strength, &record->arena,
                                &line->whence, err);
    }
    pm_held_release(&held);
    return status;
}

static enum pm_status add_lots(struct pm_studio *studio, struct pm_batch_record *record,
                               struct pm_error *err)
{
    for (size_t i = 0; i < record->pours.count; i++) {
        struct pm_batch_pour *pour = &record->pours.items[i];
        struct pm_bottle row;
        if (pour->bottle == 0)
            continue;
        const enum pm_status status =
            pm_bottle_get(studio->library, pour->bottle, &record->arena, &row, err);
        if (status != PM_OK)
            return status;
        pour->lot = row.lot;
        pour->supplier = row.supplier;
    }
    return PM_OK;
}

static enum pm_status add_first(struct pm_studio *studio, struct pm_batch_record *record,
                                struct pm_error *err)
{
    struct pm_batch_lines lines = {0};
    enum pm_status status =
        pm_batch_plan_lines(studio->library, record->plans.items[0].id, &lines, err);
    for (size_t i = 0; status == PM_OK && i < lines.count && i < record->count; i++)
        record->items[i].first = lines.items[i].target;
    pm_list_release(&lines);
    return status;
}

enum pm_status pm_batch_record_read(struct pm_studio *studio, int64_t id,
                                    struct pm_batch_record *out, struct pm_error *err)
{
    struct pm_batch_lines lines = {0};
    struct pm_kept *kept;
    enum pm_status status = pm_batch_get(studio->library, id, &out->arena, &out->batch, err);
    if (status == PM_OK)
        status = pm_batch_title(studio, &out->batch, &out->arena, err);
    if (status == PM_OK)
        status = pm_batch_plan_get(studio->library, id, &out->arena, &out->plan, &lines, err);
    if (status == PM_OK)
        status = pm_batch_plan_list(studio->library, id, &out->plans, err);
    if (status == PM_OK)
        status = pm_batch_pour_list(studio->library, id, &out->pours, err);
    if (status == PM_OK)
        status = pm_batch_event_list(studio->library, id, &out->events, err);
    if (status == PM_OK)
        status = pm_studio_kept(studio, out->batch.trial, true, &kept, err);
    if (status == PM_OK) {
        out->base = kept->trial.base;
        out->items = pm_arena_array(&out->arena, lines.count + 1, sizeof *out->items);
        out->count = out->items != NULL ? lines.count : 0;
        status = pm_arena_status(&out->arena, err);
    }
    for (size_t i = 0; status == PM_OK && i < out->count; i++)
        out->items[i] = (struct pm_batch_record_line){
            .place = lines.items[i].place,
            .line = lines.items[i].line,
            .number = pm_trial_find(&kept->trial, lines.items[i].line) + 1,
            .material = lines.items[i].material,
            .bottle = lines.items[i].bottle,
            .planned = lines.items[i].bottle,
            .solvent = lines.items[i].solvent,
            .strength = lines.items[i].strength,
            .target = lines.items[i].target};
    pm_list_release(&lines);
    if (status == PM_OK)
        add_pours(out);
    if (status == PM_OK)
        status = name_lines(studio, out, err);
    if (status == PM_OK)
        status = add_whence(studio, out, err);
    if (status == PM_OK)
        status = add_lots(studio, out, err);
    if (status == PM_OK)
        status = add_first(studio, out, err);
    if (status == PM_OK)
        judge(out);
    if (status == PM_OK)
        read_display(out);
    return status == PM_OK ? compose(out, err) : status;
}

enum pm_status pm_batch_show(struct pm_studio *studio, int64_t id, struct pm_batch_record *out,
                             struct pm_error *err)
{
    struct pm_batch_record made = {0};
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_look_over(studio, pm_batch_record_read(studio, id, &made, err));
    if (status != PM_OK)
        pm_batch_record_release(&made);
    else
        *out = made;
    return status;
}

void pm_batch_record_release(struct pm_batch_record *record)
{
    pm_list_release(&record->plans);
    pm_list_release(&record->pours);
    pm_list_release(&record->events);
    pm_arena_release(&record->arena);
    *record = (struct pm_batch_record){0};
}

enum pm_status pm_batch_record_open(struct pm_studio *studio, int64_t id,
                                    struct pm_batch_record *out, struct pm_error *err)
{
    *out = (struct pm_batch_record){0};
    enum pm_status status = pm_batch_record_read(studio, id, out, err);
    if (status == PM_OK && pm_batch_over(out->batch.state))
        status = pm_fail(err, PM_REFUSED, "Batch %lld is %s: nothing more is poured.",
                         (long long)id, pm_batch_word(out->batch.state));
    return status;
}
