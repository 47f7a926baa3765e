/* SPDX-License-Identifier: MIT */
/* Rows of the ledger, typed or as it was exported. */
#include "import.h"

#include "bottle.h"

#include <string.h>

/* Beside the attributes of a movement. */
static const char *const movement_columns[] = {"bottle", "into", "movement", NULL};

/* What the ledger itself exports says what it changed, with its sign, and knows both ends. */
static bool from_ledger(struct pm_import *import)
{
    return pm_import_column(import, "movement") >= 0;
}

/* The bottle, or the number a movement of the table got here; corrections name it. */
static enum pm_status find_moved(void *context, const struct pm_attribute *attribute,
                                 const char *text, int64_t *out, struct pm_error *err)
{
    const struct pm_import *import = context;
    int64_t number = 0;
    if (strcmp(attribute->choices, "bottle") == 0)
        return pm_bottle_find(import->studio, text, out, err);
    enum pm_status status = pm_decimal_read(text, 0, "The number of a movement", &number, err);
    for (size_t i = 0; status == PM_OK && i < import->moved.count; i++)
        if (import->moved.items[i].was == number)
            *out = import->moved.items[i].is;
    if (status == PM_OK && *out == 0)
        status = pm_fail(err, PM_INVALID, "Movement %s stands nowhere above.", text);
    return status;
}

static enum pm_status remember_moved(struct pm_import *import, int64_t is, struct pm_error *err)
{
    const char *text = pm_import_field(import, "movement");
    int64_t was = 0;
    enum pm_status status = pm_decimal_read(text, 0, "The number of a movement", &was, err);
    struct pm_import_moved *moved = status == PM_OK ? pm_list_add(&import->moved) : NULL;
    if (moved != NULL)
        *moved = (struct pm_import_moved){was, is};
    return status == PM_OK ? pm_arena_status(&import->moved.arena, err) : status;
}

/* What every row of the ledger must be, said before the file's rules refuse it. */
static enum pm_status check_ledger_row(const struct pm_movement *row, struct pm_error *err)
{
    const bool less = row->kind == PM_POURED || row->kind == PM_MOVED || row->kind == PM_SPILLED ||
                      row->kind == PM_DISCARDED;
    if ((row->kind == PM_RECEIVED && row->mass <= 0) || (less && row->mass >= 0))
        return pm_fail_at(err, "mass", PM_INVALID,
                          "What is %s cannot change the bottle so: check the sign.",
                          pm_move_word(row->kind));
    if ((row->kind == PM_COUNTED) != (row->found >= 0))
        return pm_fail_at(err, "found", PM_INVALID, "What was found belongs to what was counted.");
    if ((row->kind == PM_CORRECTED) != (row->corrects != 0))
        return pm_fail_at(err, "corrects", PM_INVALID,
                          "A correction names the movement it is about.");
    return PM_OK;
}

/* A bottle read from a table begins with what was left: its ledger says better how that came. One
 * with more of a ledger than that has its own. */
static enum pm_status begin_ledger(struct pm_import *import, struct pm_shelf_step *step,
                                   int64_t bottle, struct pm_error *err)
{
    struct pm_movements there;
    char label[PM_BOTTLE_LABEL];
    if (import->begun == bottle)
        return PM_OK;
    enum pm_status status = pm_movement_list(import->studio->library, bottle, &there, err);
    if (status != PM_OK)
        return status;
    import->begun = bottle;
    if (there.count > 1) {
        status = pm_fail(err, PM_REFUSED, "Bottle %s has a ledger already.",
                         pm_bottle_label(bottle, label));
    } else if (there.count == 1) {
        const struct pm_movement back = {.bottle = bottle,
                                         .kind = PM_CORRECTED,
                                         .mass = -there.items[0].mass,
                                         .corrects = there.items[0].id,
                                         .at = there.items[0].at,
                                         .note = "the ledger follows"};
        status = pm_bottle_move(step, &back, true, NULL, err);
    }
    pm_list_release(&there);
    return status;
}

/* A row as this program exported it goes into the ledger as it is. */
static enum pm_status put_ledger_row(struct pm_import *import, struct pm_shelf_step *step,
                                     struct pm_movement *row, struct pm_error *err)
{
    enum pm_status status = check_ledger_row(row, err);
    if (status == PM_OK && row->purpose != NULL && row->kind == PM_POURED)
        status = pm_poured_for(import->studio, row->purpose, &row->trial, err);
    if (status == PM_OK)
        status = begin_ledger(import, step, row->bottle, err);
    if (status == PM_OK)
        status = pm_bottle_move(step, row, true, NULL, err);
    return status == PM_OK
               ? remember_moved(import, step->log.movements[step->log.movement_count - 1], err)
               : status;
}

static enum pm_status put_movement(struct pm_import *import, struct pm_shelf_step *step,
                                   struct pm_movement *row, struct pm_error *err)
{
    if (from_ledger(import))
        return put_ledger_row(import, step, row, err);
    if (row->kind == PM_COUNTED)
        return pm_bottle_count_one(step, row->bottle, row->mass, row->note, row->at, err);
    return pm_bottle_take_one(step, row->bottle, row, false, NULL, err);
}

static enum pm_status read_movement(struct pm_import *import, const char *const *values,
                                    struct pm_arena *arena, struct pm_movement *row,
                                    struct pm_error *err)
{
    const struct pm_naming naming = {.find = find_moved, .context = import};
    const char *bottle = pm_import_field(import, "bottle"), *into = pm_import_field(import, "into");
    pm_entity_clear(&pm_movement_entity, row);
    if (bottle == NULL || values[PM_MOVEMENT_KIND] == NULL || values[PM_MOVEMENT_MASS] == NULL)
        return pm_fail(err, PM_INVALID, "A movement needs a bottle, a kind and a mass.");
    enum pm_status status = pm_bottle_find(import->studio, bottle, &row->bottle, err);
    if (status == PM_OK)
        status = pm_entity_read(&pm_movement_entity, values, row, arena, &naming, err);
    return status == PM_OK && into != NULL ? pm_bottle_find(import->studio, into, &row->other, err)
                                           : status;
}

static enum pm_status import_movement(struct pm_import *import, struct pm_shelf_step *step,
                                      struct pm_error *err)
{
    const char *values[PM_MOVEMENT_ATTRIBUTES];
    struct pm_movement row = {.id = 0};
    struct pm_arena arena = {0};
    pm_import_values(import, &pm_movement_entity, values);
    enum pm_status status = read_movement(import, values, &arena, &row, err);
    if (status == PM_OK)
        status = put_movement(import, step, &row, err);
    if (status != PM_OK)
        pm_import_point(import, &pm_movement_entity, err);
    else
        status = pm_import_count(import, PM_IMPORT_NEW, 0, pm_import_field(import, "bottle"), err);
    pm_arena_release(&arena);
    return status;
}

const struct pm_import_kind pm_import_movements = {.what = "movements",
                                                   .one = "movement",
                                                   .columns = movement_columns,
                                                   .entity = &pm_movement_entity,
                                                   .row = import_movement};
