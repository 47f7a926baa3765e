/* SPDX-License-Identifier: MIT */
/*
 * Pouring line by line, and correcting. Every call is one transaction over the batch's record and
 * the ledgers of the bottles.
 */
#include "scale.h"

#include "permille/base/mem.h"
#include "permille/core/volume.h"
#include "permille/store/batches.h"
#include "permille/studio/shelf.h"
#include "permille/studio/volumes.h"

/* The ledger's side of a pour; 0 where nothing moves. */
static enum pm_status move(struct pm_shelf_step *step, const struct pm_batch_record *record,
                           struct pm_batch_pour *pour, bool even_below, pm_mass *missing,
                           struct pm_error *err)
{
    struct pm_movement movement = {.bottle = pour->bottle,
                                   .kind = PM_POURED,
                                   .mass = -pour->mass,
                                   .trial = record->batch.trial,
                                   .batch = record->batch.id,
                                   .purpose = record->batch.title,
                                   .note = pour->note};
    const size_t before = step->log.movement_count;
    if (pour->bottle == 0 || pour->mass == 0)
        return PM_OK;
    enum pm_status status = pm_bottle_move(step, &movement, even_below, missing, err);
    if (status == PM_OK && step->log.movement_count > before)
        pour->movement = step->log.movements[before];
    return status;
}

static bool serves(const struct pm_bottle *bottle, const struct pm_batch_record_line *line)
{
    return bottle->material == line->material && bottle->solvent == line->solvent &&
           pm_stock_serves(bottle->strength, line->strength);
}

enum pm_status pm_batch_there(struct pm_studio *studio, const struct pm_batch_record_line *line,
                              pm_mass *out, struct pm_error *err)
{
    struct pm_bottles rows;
    *out = 0;
    enum pm_status status = pm_bottles_of(studio, line->material, false, &rows, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < rows.count; i++)
        if (serves(&rows.items[i], line) && rows.items[i].left > 0)
            *out += rows.items[i].left;
    pm_list_release(&rows);
    return PM_OK;
}

static enum pm_status find_bottles(struct pm_studio *studio, int64_t batch, int64_t place,
                                   struct pm_bottles *out, struct pm_error *err)
{
    struct pm_batch_record record = {0};
    enum pm_status status = pm_batch_record_read(studio, batch, &record, err);
    if (status == PM_OK && (place < 1 || place > (int64_t)record.count))
        status = pm_fail(err, PM_MISSING, "The batch has no line %lld.", (long long)place);
    if (status == PM_OK)
        status = pm_bottles_of(studio, record.items[place - 1].material, false, out, err);
    size_t kept = 0;
    for (size_t i = 0; status == PM_OK && i < out->count; i++)
        if (serves(&out->items[i], &record.items[place - 1]))
            out->items[kept++] = out->items[i];
    out->count = status == PM_OK ? kept : 0;
    pm_batch_record_release(&record);
    return status;
}

enum pm_status pm_batch_bottles(struct pm_studio *studio, int64_t batch, int64_t place,
                                struct pm_bottles *out, struct pm_error *err)
{
    struct pm_bottles rows = {0};
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_look_over(studio, find_bottles(studio, batch, place, &rows, err));
    pm_list_give(&rows, status, out);
    return status;
}

enum pm_status pm_batch_amount(struct pm_studio *studio, const struct pm_pouring *pouring,
                               const char *text, pm_mass *out, struct pm_error *err)
{
    struct pm_batch_record record;
    if (!pm_is_volume(text))
        return pm_mass_read(text, out, err);
    enum pm_status status = pm_batch_show(studio, pouring->batch, &record, err);
    if (status != PM_OK)
        return status;
    if (pouring->place < 1 || pouring->place > (int64_t)record.count)
        status = pm_fail(err, PM_MISSING, "The batch has no line %lld.", (long long)pouring->place);
    else
        status = pm_material_amount(studio, record.items[pouring->place - 1].material,
                                    record.items[pouring->place - 1].strength, text, out, err);
    pm_batch_record_release(&record);
    return status;
}

enum pm_status pm_batch_pour_amount(struct pm_studio *studio, int64_t batch, int64_t pour,
                                    const char *text, pm_mass *out, struct pm_error *err)
{
    struct pm_batch_record record;
    struct pm_pouring pouring = {.batch = batch};
    if (!pm_is_volume(text))
        return pm_mass_read(text, out, err);
    enum pm_status status = pm_batch_show(studio, batch, &record, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < record.pours.count; i++)
        if (record.pours.items[i].id == pour)
            pouring.place = record.pours.items[i].place;
    pm_batch_record_release(&record);
    return pouring.place != 0
               ? pm_batch_amount(studio, &pouring, text, out, err)
               : pm_fail(err, PM_MISSING, "The batch has no pour %lld.", (long long)pour);
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
    if (!serves(&row, line))
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
        status = pm_clean_text(pouring->note, "The note", PM_BATCH_NOTE_BYTES, &note, err);
    pour.note = note;
    if (status == PM_OK)
        status = move(step, record, &pour, pouring->even_below, missing, err);
    if (status == PM_OK)
        status = pm_batch_pour_insert(studio->library, &pour, err);
    if (status == PM_OK && record->batch.state == PM_BATCH_PAUSED)
        status = pm_batch_happen(studio, record->batch.id, PM_BATCH_STARTED, NULL, err);
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
    status = pm_batch_record_open(studio, pouring->batch, &record, err);
    if (status == PM_OK)
        status = pour_one(&step, &record, pouring, over, missing, err);
    pm_batch_record_release(&record);
    return pm_step_end_for_good(&step, status, "pour", err);
}

/* The bottle that the batch was finished into holds what was poured in truth: its ledger takes back
 * what came into it, and says what did. What was poured from it since stays. */
static enum pm_status correct_made(struct pm_shelf_step *step, const struct pm_batch_record *record,
                                   pm_mass more, const char *note, struct pm_error *err)
{
    struct pm_movement made;
    enum pm_status status = pm_batch_received(step->studio->library, record->batch.id, &made, err);
    if (status != PM_OK || made.id == 0 || more == 0)
        return status;
    const struct pm_movement back = {.bottle = made.bottle,
                                     .kind = PM_CORRECTED,
                                     .mass = -made.mass,
                                     .corrects = made.id,
                                     .note = note};
    made.mass += more;
    made.note = note;
    status = pm_bottle_move(step, &back, true, NULL, err);
    return status == PM_OK && made.mass > 0 ? pm_bottle_move(step, &made, true, NULL, err) : status;
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
    enum pm_status status = pm_clean_text(text, "The note", PM_BATCH_NOTE_BYTES, &note, err);
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
        status = move(step, record, &pour, true, NULL, err);
    if (status == PM_OK)
        status = pm_batch_pour_insert(studio->library, &pour, err);
    if (status == PM_OK)
        status = correct_made(step, record, mass - old->mass, note, err);
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
    status = pm_batch_record_read(studio, batch, &record, err);
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
        status = pm_clean_text(text, "The note", PM_BATCH_NOTE_BYTES, &note, err);
    if (status == PM_OK && kind == PM_BATCH_NOTE && note == NULL)
        status = pm_fail(err, PM_INVALID, "The note is empty.");
    if (status == PM_OK && (kind == PM_BATCH_NOTE || kind != batch.state))
        status = pm_batch_happen(studio, id, kind, note, err);
    pm_free(note);
    return pm_change_end(studio, status, err);
}
