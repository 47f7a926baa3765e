/* SPDX-License-Identifier: MIT */
/*
 * Batches: started, poured line by line, corrected, finished. Every call is one transaction over
 * the batch's record and the ledgers of the bottles.
 */
#include "scale.h"

#include "permille/base/mem.h"
#include "permille/core/apportion.h"
#include "permille/store/batches.h"
#include "permille/studio/shelf.h"
#include "permille/studio/trials.h"

#include <string.h>

#define NOTE_BYTES 65536

static enum pm_status happen(struct pm_studio *studio, int64_t batch, enum pm_batch_state kind,
                             const char *text, struct pm_error *err)
{
    const struct pm_batch_event event = {
        .batch = batch, .kind = kind, .at = pm_library_now(studio->library), .text = text};
    return pm_batch_event_insert(studio->library, &event, NULL, err);
}

static enum pm_status title_of(struct pm_studio *studio, struct pm_batch *batch,
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

/* ---- starting ---- */

static enum pm_status refuse_unready(const struct pm_weighing *weighing, struct pm_error *err)
{
    char strength[PM_AMOUNT_TEXT], mass[PM_AMOUNT_TEXT];
    if (weighing->making_count > 0) {
        const struct pm_weigh_making_line *first = &weighing->makings[0];
        return pm_fail(err, PM_REFUSED, "First make %s of %s at %s in %s%s; or start it as it is.",
                       pm_mass_format(first->target, 2, '.', mass), first->name,
                       pm_strength_format(first->strength, '.', strength), first->solvent_name,
                       weighing->making_count > 1 ? ", and other dilutions" : "");
    }
    for (size_t i = 0; i < weighing->count && weighing->missing > 0; i++)
        if (weighing->items[i].bottle == 0)
            return pm_fail(err, PM_REFUSED, "%s of %s is not on the shelf; or start it as it is.",
                           pm_mass_format(weighing->items[i].target, 2, '.', mass),
                           weighing->items[i].name);
    if (weighing->over_capacity)
        return pm_fail(err, PM_REFUSED, "The balance does not carry that much.");
    return PM_OK;
}

static enum pm_status write_plan(struct pm_studio *studio, int64_t batch,
                                 const struct pm_weighing *weighing, struct pm_error *err)
{
    struct pm_batch_plan plan = {.batch = batch,
                                 .balance_name = weighing->balance_name,
                                 .balance = weighing->balance,
                                 .tolerance = weighing->tolerance,
                                 .cumulative = weighing->cumulative,
                                 .way = "planned"};
    struct pm_batch_line *lines = pm_alloc_array(weighing->count + 1, sizeof *lines);
    if (lines == NULL)
        return pm_fail_memory(err);
    for (size_t i = 0; i < weighing->count; i++) {
        const struct pm_weigh_line *line = &weighing->items[i];
        lines[i] = (struct pm_batch_line){.place = line->place,
                                          .line = line->line,
                                          .material = line->material,
                                          .bottle = line->bottle,
                                          .strength = line->strength,
                                          .solvent = line->solvent,
                                          .target = line->target};
    }
    enum pm_status status =
        pm_batch_plan_insert(studio->library, &plan, lines, weighing->count, err);
    pm_free(lines);
    return status;
}

static enum pm_status make_batch(struct pm_studio *studio, int64_t trial, pm_mass mass,
                                 const char *made_by, int64_t *id, struct pm_error *err)
{
    struct pm_batch row = {.trial = trial, .mass = mass, .day = PM_NO_DAY, .made_by = made_by};
    struct pm_kept *kept;
    enum pm_status status =
        mass > 0 && mass <= PM_MASS_MAX
            ? pm_studio_kept(studio, trial, false, &kept, err)
            : pm_fail_at(err, "mass", PM_INVALID, "A batch has more than no mass.");
    if (status == PM_OK)
        status = pm_batch_insert(studio->library, &row, err);
    if (status == PM_OK)
        status = happen(studio, row.id, PM_BATCH_PLANNED, NULL, err);
    *id = row.id;
    return status;
}

static enum pm_status start(struct pm_studio *studio, int64_t *id, int64_t trial, pm_mass mass,
                            const struct pm_weigh_how *how, const char *made_by,
                            struct pm_error *err)
{
    struct pm_batch batch = {.trial = trial, .mass = mass};
    struct pm_sheet *sheet;
    struct pm_weighing weighing;
    char *by = NULL;
    enum pm_status status = PM_OK;
    if (*id != 0)
        status = pm_batch_get(studio->library, *id, NULL, &batch, err);
    if (status == PM_OK && *id != 0 && batch.state != PM_BATCH_PLANNED)
        status = pm_fail(err, PM_REFUSED, "Batch %lld is %s already.", (long long)*id,
                         pm_batch_word(batch.state));
    if (status == PM_OK)
        status = pm_clean_text(made_by, "The name", 0, &by, err);
    if (status == PM_OK)
        status = pm_sheet_open(studio, batch.trial, &sheet, err);
    if (status != PM_OK) {
        pm_free(by);
        return status;
    }
    status = pm_weigh(studio, sheet, batch.mass, how, &weighing, err);
    pm_sheet_free(sheet);
    if (status == PM_OK) {
        status = how->as_it_is ? PM_OK : refuse_unready(&weighing, err);
        if (status == PM_OK && *id == 0)
            status = make_batch(studio, batch.trial, batch.mass, by, id, err);
        if (status == PM_OK)
            status = write_plan(studio, *id, &weighing, err);
        if (status == PM_OK)
            status = happen(studio, *id, PM_BATCH_STARTED, by, err);
        pm_weighing_release(&weighing);
    }
    pm_free(by);
    return status;
}

enum pm_status pm_batch_start(struct pm_studio *studio, int64_t planned, int64_t trial,
                              pm_mass mass, const struct pm_weigh_how *how, const char *made_by,
                              int64_t *id, struct pm_error *err)
{
    int64_t batch = planned;
    enum pm_status status = pm_change_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_change_end(studio, start(studio, &batch, trial, mass, how, made_by, err), err);
    if (status == PM_OK && id != NULL)
        *id = batch;
    return status;
}

/* ---- the record ---- */

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
        is[i] = line->poured > line->target || line->done ? line->poured : line->target;
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
        status = name_line(studio, record, &record->items[i], err);
        names[i] = record->items[i].name;
    }
    if (status == PM_OK)
        status = pm_scale_tall(names, record->count, names + record->count, &record->arena, err);
    for (size_t i = 0; i < record->count && status == PM_OK; i++)
        record->items[i].tall = names[record->count + i];
    return status;
}

static enum pm_status read_record(struct pm_studio *studio, int64_t id, struct pm_batch_record *out,
                                  struct pm_error *err)
{
    struct pm_batch_lines lines = {0};
    struct pm_kept *kept;
    enum pm_status status = pm_batch_get(studio->library, id, &out->arena, &out->batch, err);
    if (status == PM_OK)
        status = title_of(studio, &out->batch, &out->arena, err);
    if (status == PM_OK)
        status = pm_batch_plan_get(studio->library, id, &out->arena, &out->plan, &lines, err);
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
            .solvent = lines.items[i].solvent,
            .strength = lines.items[i].strength,
            .target = lines.items[i].target};
    pm_list_release(&lines);
    if (status == PM_OK)
        add_pours(out);
    if (status == PM_OK)
        status = name_lines(studio, out, err);
    if (status == PM_OK)
        judge(out);
    return status == PM_OK ? compose(out, err) : status;
}

enum pm_status pm_batch_show(struct pm_studio *studio, int64_t id, struct pm_batch_record *out,
                             struct pm_error *err)
{
    struct pm_batch_record made = {0};
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_look_over(studio, read_record(studio, id, &made, err));
    if (status != PM_OK)
        pm_batch_record_release(&made);
    else
        *out = made;
    return status;
}

void pm_batch_record_release(struct pm_batch_record *record)
{
    pm_list_release(&record->pours);
    pm_list_release(&record->events);
    pm_arena_release(&record->arena);
    *record = (struct pm_batch_record){0};
}

/* A record of a batch that something can still be poured into, within a change. */
static enum pm_status open_record(struct pm_studio *studio, int64_t id, struct pm_batch_record *out,
                                  struct pm_error *err)
{
    *out = (struct pm_batch_record){0};
    enum pm_status status = read_record(studio, id, out, err);
    if (status == PM_OK && pm_batch_over(out->batch.state))
        status = pm_fail(err, PM_REFUSED, "Batch %lld is %s: nothing more is poured.",
                         (long long)id, pm_batch_word(out->batch.state));
    return status;
}

/* ---- pouring ---- */

/* The ledger's side of a pour; 0 where nothing moves. */
static enum pm_status move(struct pm_shelf_step *step, const struct pm_batch_record *record,
                           struct pm_batch_pour *pour, int64_t corrects, bool even_below,
                           pm_mass *missing, struct pm_error *err)
{
    struct pm_movement movement = {.bottle = pour->bottle,
                                   .kind = PM_POURED,
                                   .mass = -pour->mass,
                                   .trial = record->batch.trial,
                                   .batch = record->batch.id,
                                   .purpose = record->batch.title,
                                   .note = pour->note};
    const size_t before = step->log.movement_count;
    (void)corrects;
    if (pour->bottle == 0 || pour->mass == 0)
        return PM_OK;
    enum pm_status status = pm_bottle_move(step, &movement, even_below, missing, err);
    if (status == PM_OK && step->log.movement_count > before)
        pour->movement = step->log.movements[before];
    return status;
}

static enum pm_status check_bottle(struct pm_studio *studio,
                                   const struct pm_batch_record_line *line, int64_t bottle,
                                   struct pm_error *err)
{
    struct pm_bottle row;
    char label[PM_BOTTLE_LABEL];
    enum pm_status status = pm_bottle_get(studio->library, bottle, NULL, &row, err);
    if (status != PM_OK)
        return status;
    if (row.material != line->material || row.solvent != line->solvent ||
        !pm_stock_serves(row.strength, line->strength))
        return pm_fail(err, PM_REFUSED, "Bottle %s holds something else than %s at that strength.",
                       pm_bottle_label(bottle, label), line->name);
    return PM_OK;
}

static enum pm_status mass_poured(const struct pm_batch_record *record,
                                  const struct pm_pouring *pouring, pm_mass *out,
                                  struct pm_error *err)
{
    pm_mass sum = 0;
    char poured[PM_AMOUNT_TEXT];
    *out = pouring->mass;
    if (pouring->sum == NULL)
        return pouring->mass > 0 && pouring->mass <= PM_MASS_MAX
                   ? PM_OK
                   : pm_fail_at(err, "mass", PM_INVALID, "Say what was poured, above zero.");
    enum pm_status status = pm_mass_read(pouring->sum, &sum, err);
    if (status != PM_OK)
        return status;
    *out = sum - record->poured;
    return *out > 0 ? PM_OK
                    : pm_fail_at(err, "mass", PM_INVALID,
                                 "The display showed %s before: it cannot show less or the same.",
                                 pm_mass_exact(record->poured, '.', poured));
}

static enum pm_status pour_one(struct pm_shelf_step *step, struct pm_batch_record *record,
                               const struct pm_pouring *pouring, bool *over, pm_mass *missing,
                               struct pm_error *err)
{
    struct pm_studio *studio = step->studio;
    char amount[PM_AMOUNT_TEXT], *note = NULL;
    if (pouring->place < 1 || pouring->place > (int64_t)record->count)
        return pm_fail(err, PM_MISSING, "The batch has no line %lld.", (long long)pouring->place);
    const struct pm_batch_record_line *line = &record->items[pouring->place - 1];
    struct pm_batch_pour pour = {.batch = record->batch.id,
                                 .place = pouring->place,
                                 .bottle = pouring->bottle != 0 ? pouring->bottle : line->bottle};
    enum pm_status status = mass_poured(record, pouring, &pour.mass, err);
    if (status == PM_OK && pouring->bottle != 0)
        status = check_bottle(studio, line, pouring->bottle, err);
    if (status == PM_OK)
        status = pm_clean_text(pouring->note, "The note", NOTE_BYTES, &note, err);
    pour.note = note;
    if (status == PM_OK)
        status = move(step, record, &pour, 0, pouring->even_below, missing, err);
    if (status == PM_OK)
        status = pm_batch_pour_insert(studio->library, &pour, err);
    if (status == PM_OK && record->batch.state == PM_BATCH_PAUSED)
        status = happen(studio, record->batch.id, PM_BATCH_STARTED, NULL, err);
    pm_free(note);
    if (status != PM_OK)
        return status;
    const struct pm_rescue_line now = {.target = line->target, .poured = line->poured + pour.mass};
    if (over != NULL)
        *over = pm_rescue_over(&now, &record->plan.balance, record->plan.tolerance);
    pm_step_say(step, "Poured %s of %s for batch %lld", pm_mass_exact(pour.mass, '.', amount),
                line->name, (long long)record->batch.id);
    return PM_OK;
}

enum pm_status pm_batch_pour(struct pm_studio *studio, const struct pm_pouring *pouring, bool *over,
                             pm_mass *missing, struct pm_error *err)
{
    struct pm_shelf_step step;
    struct pm_batch_record record;
    if (missing != NULL)
        *missing = 0;
    enum pm_status status = pm_step_begin(&step, studio, err);
    if (status != PM_OK)
        return status;
    status = open_record(studio, pouring->batch, &record, err);
    if (status == PM_OK)
        status = pour_one(&step, &record, pouring, over, missing, err);
    pm_batch_record_release(&record);
    return pm_step_end_for_good(&step, status, "pour", err);
}

static enum pm_status correct_one(struct pm_shelf_step *step, struct pm_batch_record *record,
                                  int64_t id, pm_mass mass, const char *text, struct pm_error *err)
{
    struct pm_studio *studio = step->studio;
    const struct pm_batch_pour *old = NULL;
    char amount[PM_AMOUNT_TEXT], *note = NULL;
    for (size_t i = 0; i < record->pours.count; i++)
        if (record->pours.items[i].id == id)
            old = &record->pours.items[i];
    if (old == NULL)
        return pm_fail(err, PM_MISSING, "Batch %lld has no pour number %lld.",
                       (long long)record->batch.id, (long long)id);
    if (!old->in_force)
        return pm_fail(err, PM_REFUSED, "That pour was corrected already.");
    if (mass < 0 || mass > PM_MASS_MAX)
        return pm_fail(err, PM_INVALID, "That is no mass.");
    enum pm_status status = pm_clean_text(text, "The note", NOTE_BYTES, &note, err);
    if (status == PM_OK && old->movement != 0) { /* the ledger takes the old one back */
        const struct pm_movement back = {.bottle = old->bottle,
                                         .kind = PM_CORRECTED,
                                         .mass = old->mass,
                                         .corrects = old->movement,
                                         .note = note};
        status = pm_bottle_move(step, &back, true, NULL, err);
    }
    struct pm_batch_pour pour = {.batch = old->batch,
                                 .place = old->place,
                                 .bottle = old->bottle,
                                 .mass = mass,
                                 .corrects = id,
                                 .note = note};
    if (status == PM_OK)
        status = move(step, record, &pour, old->movement, true, NULL, err);
    if (status == PM_OK)
        status = pm_batch_pour_insert(studio->library, &pour, err);
    pm_step_say(step, "Pour %lld of batch %lld was %s in truth", (long long)id,
                (long long)record->batch.id, pm_mass_exact(mass, '.', amount));
    pm_free(note);
    return status;
}

enum pm_status pm_batch_correct(struct pm_studio *studio, int64_t batch, int64_t pour, pm_mass mass,
                                const char *note, struct pm_error *err)
{
    struct pm_shelf_step step;
    struct pm_batch_record record = {0};
    enum pm_status status = pm_step_begin(&step, studio, err);
    if (status != PM_OK)
        return status;
    status = read_record(studio, batch, &record, err);
    if (status == PM_OK)
        status = correct_one(&step, &record, pour, mass, note, err);
    pm_batch_record_release(&record);
    return pm_step_end_for_good(&step, status, "correct", err);
}

enum pm_status pm_batch_mark(struct pm_studio *studio, int64_t id, enum pm_batch_state kind,
                             const char *text, struct pm_error *err)
{
    struct pm_batch batch;
    char *note = NULL;
    enum pm_status status = pm_change_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_batch_get(studio->library, id, NULL, &batch, err);
    if (status == PM_OK && kind != PM_BATCH_NOTE &&
        (pm_batch_over(batch.state) || kind == PM_BATCH_PLANNED || kind == PM_BATCH_FINISHED ||
         (kind != PM_BATCH_GIVEN_UP && batch.state == PM_BATCH_PLANNED)))
        status = pm_fail(err, PM_REFUSED, "Batch %lld is %s.", (long long)id,
                         pm_batch_word(batch.state));
    if (status == PM_OK)
        status = pm_clean_text(text, "The note", NOTE_BYTES, &note, err);
    if (status == PM_OK && kind == PM_BATCH_NOTE && note == NULL)
        status = pm_fail(err, PM_INVALID, "The note is empty.");
    if (status == PM_OK && (kind == PM_BATCH_NOTE || kind != batch.state))
        status = happen(studio, id, kind, note, err);
    pm_free(note);
    return pm_change_end(studio, status, err);
}

/* ---- over-pours ---- */

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
        const pm_mass target = offer->targets[i];
        offer->total += target > line->poured ? target : line->poured;
        if (target <= line->poured || (line->done && target == line->target))
            continue;
        struct pm_rescue_step *step = &offer->items[offer->count++];
        *step = (struct pm_rescue_step){.place = line->place,
                                        .number = line->number,
                                        .name = pm_arena_text(arena, line->name),
                                        .add = target - line->poured};
        step->in_stock = line->bottle != 0 && line->left >= step->add;
        offer->in_stock = offer->in_stock && step->in_stock;
        status = cost_added(studio, offer, line, target - line->target, err);
    }
    const pm_mass capacity = record->plan.balance.capacity;
    offer->fits = capacity == 0 || offer->total <= capacity;
    return status == PM_OK ? pm_arena_status(arena, err) : status;
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
    pm_free(lines);
    return status;
}

static enum pm_status ways_of(struct pm_studio *studio, int64_t id, struct pm_rescue_offers *out,
                              struct pm_error *err)
{
    struct pm_batch_record record;
    enum pm_status status = open_record(studio, id, &record, err);
    if (status == PM_OK)
        status = find_ways(studio, &record, out, err);
    pm_batch_record_release(&record);
    return status;
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
    enum pm_status status = open_record(studio, id, &record, err);
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
                                          .bottle = record.items[i].bottle,
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

/* ---- finishing ---- */

/* The material that bottles of this trial are of; made at the first time. */
static enum pm_status made_up_material(struct pm_studio *studio,
                                       const struct pm_batch_record *record, const char *as_name,
                                       int64_t *material, struct pm_error *err)
{
    char name[256];
    enum pm_status status = pm_made_up_get(studio->library, record->batch.trial, material, err);
    if (status != PM_OK || *material != 0)
        return status;
    pm_print(name, sizeof name, "%s", as_name != NULL ? as_name : record->batch.title);
    for (char *at = name; as_name == NULL && *at; at++)
        *at = *at == '/' ? ' ' : *at;
    const struct pm_material_form form = {.name = name, .kind = "blend"};
    status = pm_shelf_add(studio, &form, material, err);
    return status == PM_OK ? pm_made_up_put(studio->library, record->batch.trial, *material, err)
                           : status;
}

static enum pm_status into_bottle(struct pm_studio *studio, const struct pm_batch_record *record,
                                  const char *as_name, int64_t *bottle, struct pm_error *err)
{
    const char *values[PM_BOTTLE_ATTRIBUTES] = {NULL};
    char lot[40];
    int64_t material = 0;
    enum pm_status status = made_up_material(studio, record, as_name, &material, err);
    pm_print(lot, sizeof lot, "batch %lld", (long long)record->batch.id);
    values[PM_BOTTLE_LOT] = lot;
    return status == PM_OK ? pm_bottle_add(studio, material, record->poured, values, 0, bottle, err)
                           : status;
}

/* What was weighed as a trial's lines: one for each thing poured, in the trial's base. */
static enum pm_status as_weighed(const struct pm_batch_record *record, struct pm_trial *out,
                                 struct pm_error *err)
{
    int64_t *parts = pm_alloc_array(record->count + 1, sizeof *parts);
    pm_trial_init(out, record->base, PM_SHARE);
    if (parts == NULL)
        return pm_fail_memory(err);
    for (size_t i = 0; i < record->count; i++)
        parts[i] = record->items[i].poured;
    enum pm_status status = pm_apportion(parts, record->count, record->base, parts, err);
    for (size_t i = 0; i < record->count && status == PM_OK; i++) {
        const struct pm_batch_record_line *from = &record->items[i];
        const struct pm_line line = {.kind = PM_LINE_MATERIAL,
                                     .ref = from->material,
                                     .strength = from->strength,
                                     .solvent = from->solvent,
                                     .parts = parts[i]};
        if (parts[i] > 0)
            status = pm_trial_insert(out, out->count, &line, err);
    }
    pm_free(parts);
    out->settled = true;
    return status;
}

/* Makes `content` the draft for the while that it takes to keep it. */
static enum pm_status set_draft(struct pm_studio *studio, int64_t formula,
                                const struct pm_trial *content, int64_t parent,
                                const char *sentence, struct pm_sheet **sheet, struct pm_error *err)
{
    struct pm_sheet *draft;
    struct pm_plan *plan;
    enum pm_status status = pm_sheet_open_draft(studio, formula, &draft, err);
    if (status != PM_OK)
        return status;
    status = pm_plan_content(studio, draft, content, parent, "restore", sentence, &plan, err);
    pm_sheet_free(draft);
    if (status != PM_OK)
        return status;
    status = pm_plan_commit(studio, plan, sheet, err);
    pm_plan_free(plan);
    return status;
}

static enum pm_status keep_as_weighed(struct pm_studio *studio,
                                      const struct pm_batch_record *record, int64_t *number,
                                      struct pm_error *err)
{
    struct pm_trial content = {0};
    struct pm_sheet *before = NULL, *sheet = NULL;
    char note[80];
    pm_print(note, sizeof note, "As weighed in batch %lld", (long long)record->batch.id);
    enum pm_status status = pm_sheet_open_draft(studio, record->batch.formula, &before, err);
    if (status == PM_OK)
        status = as_weighed(record, &content, err);
    if (status == PM_OK)
        status = set_draft(studio, record->batch.formula, &content, record->batch.trial, note,
                           &sheet, err);
    if (status == PM_OK)
        status = pm_trial_keep(studio, sheet, note, number, err);
    pm_sheet_free(sheet);
    sheet = NULL;
    if (status == PM_OK)
        status = set_draft(studio, record->batch.formula, &before->trial, before->trial.parent,
                           "Went back to the draft as it was", &sheet, err);
    pm_sheet_free(sheet);
    pm_sheet_free(before);
    pm_trial_release(&content);
    return status;
}

static enum pm_status finish(struct pm_studio *studio, int64_t id, const struct pm_batch_end *end,
                             int64_t *bottle, int64_t *number, struct pm_error *err)
{
    struct pm_batch_record record;
    enum pm_status status = open_record(studio, id, &record, err);
    if (status == PM_OK && record.poured == 0)
        status = pm_fail(err, PM_REFUSED, "Nothing was poured; give it up instead.");
    if (status == PM_OK && record.next < record.count && !end->even_short)
        status = pm_fail(err, PM_REFUSED,
                         "%s and what follows is still to be poured; or finish it short.",
                         record.items[record.next].name);
    if (status == PM_OK)
        status = happen(studio, id, PM_BATCH_FINISHED, NULL, err);
    if (status == PM_OK && end->bottle)
        status = into_bottle(studio, &record, end->as_name, bottle, err);
    if (status == PM_OK && end->trial)
        status = keep_as_weighed(studio, &record, number, err);
    pm_batch_record_release(&record);
    return status;
}

enum pm_status pm_batch_finish(struct pm_studio *studio, int64_t id, const struct pm_batch_end *end,
                               int64_t *bottle, int64_t *number, struct pm_error *err)
{
    int64_t made = 0, kept = 0;
    enum pm_status status = pm_change_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_change_end(studio, finish(studio, id, end, &made, &kept, err), err);
    if (bottle != NULL)
        *bottle = status == PM_OK ? made : 0;
    if (number != NULL)
        *number = status == PM_OK ? kept : 0;
    return status;
}

/* ---- filling ---- */

enum pm_status pm_filling_note(struct pm_studio *studio, struct pm_filling_row *row,
                               struct pm_error *err)
{
    struct pm_filling_row made = *row;
    struct pm_batch batch;
    char *note = NULL;
    enum pm_status status = pm_change_begin(studio, err);
    if (status != PM_OK)
        return status;
    if (row->batch != 0)
        status = pm_batch_get(studio->library, row->batch, NULL, &batch, err);
    if (status == PM_OK)
        status = pm_clean_text(row->note, "The note", NOTE_BYTES, &note, err);
    made.note = note;
    if (status == PM_OK)
        status = pm_filling_insert(studio->library, &made, err);
    status = pm_change_end(studio, status, err);
    pm_free(note);
    if (status == PM_OK)
        row->id = made.id;
    return status;
}

static enum pm_status list_fillings(struct pm_studio *studio, struct pm_filling_rows *out,
                                    struct pm_error *err)
{
    enum pm_status status = pm_filling_list(studio->library, out, err);
    for (size_t i = 0; status == PM_OK && i < out->count; i++) {
        struct pm_batch batch;
        if (out->items[i].batch == 0)
            continue;
        status = pm_batch_get(studio->library, out->items[i].batch, NULL, &batch, err);
        if (status == PM_OK)
            status = title_of(studio, &batch, &out->arena, err);
        out->items[i].title = status == PM_OK ? batch.title : NULL;
    }
    return status;
}

enum pm_status pm_fillings(struct pm_studio *studio, struct pm_filling_rows *out,
                           struct pm_error *err)
{
    struct pm_filling_rows rows = {0};
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_look_over(studio, list_fillings(studio, &rows, err));
    pm_list_give(&rows, status, out);
    return status;
}
