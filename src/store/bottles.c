/* SPDX-License-Identifier: MIT */
/*
 * Rows of bottles and of their ledger.
 */
#include "permille/store/bottles.h"
#include "store.h"
#include "trials.h"

#include <string.h>

/* ---- writing ---- */

static void bind_bottle(struct pm_query *query, const struct pm_bottle *bottle, int64_t id)
{
    const bool priced = bottle->currency[0] != '\0';
    pm_query_int(query, id);
    pm_query_int(query, bottle->material);
    pm_query_int(query, bottle->strength);
    pm_query_key(query, bottle->solvent);
    pm_query_text(query, bottle->lot);
    pm_query_text(query, bottle->supplier);
    pm_query_day(query, bottle->bought);
    pm_query_day(query, bottle->opened);
    pm_query_day(query, bottle->best_before);
    pm_query_text(query, bottle->place);
    pm_query_key(query, bottle->tare);
    pm_query_known(query, priced ? bottle->price : -1);
    pm_query_text(query, priced ? bottle->currency : NULL);
    pm_query_key(query, priced ? bottle->priced_mass : 0);
    pm_query_text(query, bottle->note);
    pm_query_key(query, bottle->made_from);
    pm_query_int(query, bottle->set_aside);
}

/* The number asked for, where it is free; else the next. */
static enum pm_status choose_number(struct pm_library *library, int64_t wanted, int64_t *id,
                                    struct pm_error *err)
{
    struct pm_bottle there;
    if (wanted == 0)
        return pm_store_next_id(library, PM_SQL_BOTTLE_NEXT, id, err);
    *id = wanted;
    enum pm_status status = pm_bottle_get(library, wanted, NULL, &there, err);
    if (status == PM_OK)
        return pm_fail(err, PM_EXISTS, "There is a bottle B%03lld already.", (long long)wanted);
    return status == PM_MISSING ? PM_OK : status;
}

enum pm_status pm_bottle_insert(struct pm_library *library, struct pm_bottle *bottle,
                                struct pm_error *err)
{
    int64_t id = 0;
    int64_t now = pm_library_now(library);
    enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    status = choose_number(library, bottle->id, &id, err);
    if (status == PM_OK) {
        struct pm_query query;
        pm_query_open(&query, library, PM_SQL_BOTTLE_INSERT);
        bind_bottle(&query, bottle, id);
        pm_query_int(&query, now);
        status = pm_query_run(&query, err);
    }
    status = pm_library_finish(library, status, err);
    if (status == PM_OK) {
        bottle->id = id;
        bottle->made_at = now;
        pm_bottle_label(id, bottle->label);
    }
    return status;
}

static enum pm_status no_bottle(int64_t id, struct pm_error *err)
{
    return pm_fail(err, PM_MISSING, "There is no bottle B%03lld.", (long long)id);
}

enum pm_status pm_bottle_update(struct pm_library *library, const struct pm_bottle *bottle,
                                struct pm_error *err)
{
    enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_BOTTLE_UPDATE);
    bind_bottle(&query, bottle, bottle->id);
    status = pm_query_run(&query, err);
    if (status == PM_OK && sqlite3_changes(library->db) == 0)
        status = no_bottle(bottle->id, err);
    return pm_library_finish(library, status, err);
}

/* ---- reading ---- */

static void read_bottle(struct pm_query *query, struct pm_arena *arena, void *item)
{
    struct pm_bottle *out = item;
    char label[PM_BOTTLE_LABEL];
    *out = (struct pm_bottle){
        .id = pm_query_get_int(query, 0),
        .material = pm_query_get_int(query, 1),
        .strength = pm_query_get_int(query, 2),
        .solvent = pm_query_get_int(query, 3),
        .lot = pm_query_get_kept(query, 4, arena),
        .supplier = pm_query_get_kept(query, 5, arena),
        .bought = pm_query_get_day(query, 6),
        .opened = pm_query_get_day(query, 7),
        .best_before = pm_query_get_day(query, 8),
        .place = pm_query_get_kept(query, 9, arena),
        .tare = pm_query_get_int(query, 10),
        .price = pm_query_get_int(query, 11),
        .priced_mass = pm_query_get_int(query, 13),
        .note = pm_query_get_kept(query, 14, arena),
        .made_from = pm_query_get_int(query, 15),
        .set_aside = pm_query_get_int(query, 16) != 0,
        .made_at = pm_query_get_int(query, 17),
        .left = pm_query_get_int(query, 18),
        .movements = pm_query_get_int(query, 19),
        .first = pm_query_get_int(query, 20),
    };
    pm_query_get_currency(query, 12, out->currency);
    pm_bottle_label(out->id, out->label);
    if (out->made_from != 0 && arena != NULL)
        out->stock =
            pm_query_added(query, pm_arena_text(arena, pm_bottle_label(out->made_from, label)));
}

enum pm_status pm_bottle_get(struct pm_library *library, int64_t id, struct pm_arena *arena,
                             struct pm_bottle *out, struct pm_error *err)
{
    struct pm_query query;
    struct pm_bottle bottle = {0};
    pm_query_open(&query, library, PM_SQL_BOTTLE_GET);
    pm_query_int(&query, id);
    const bool found = pm_query_row(&query);
    if (found)
        read_bottle(&query, arena, &bottle);
    enum pm_status status = pm_query_close(&query, err);
    if (status == PM_OK && !found)
        status = no_bottle(id, err);
    if (status == PM_OK)
        *out = bottle;
    return status;
}

enum pm_status pm_bottle_list(struct pm_library *library, int64_t material, bool set_aside_too,
                              struct pm_bottles *out, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, material == 0 ? PM_SQL_BOTTLE_ALL : PM_SQL_BOTTLE_OF_MATERIAL);
    pm_query_int(&query, set_aside_too);
    if (material != 0)
        pm_query_int(&query, material);
    return pm_query_list(&query, read_bottle, out, err);
}

/* ---- the ledger ---- */

static void bind_movement(struct pm_query *query, const void *row)
{
    const struct pm_movement *movement = row;
    pm_query_int(query, movement->bottle);
    pm_query_text(query, pm_move_word(movement->kind));
    pm_query_int(query, movement->mass);
    pm_query_known(query, movement->kind == PM_COUNTED ? movement->found : -1);
    pm_query_key(query, movement->other);
    pm_query_text(query, movement->purpose);
    pm_query_text(query, movement->note);
    pm_query_key(query, movement->corrects);
    pm_query_int(query, movement->at);
    pm_query_key(query, movement->trial);
    pm_query_key(query, movement->batch);
}

enum pm_status pm_movement_insert(struct pm_library *library, const struct pm_movement *movement,
                                  int64_t *id, struct pm_error *err)
{
    static const struct pm_addition addition = {PM_SQL_MOVEMENT_NEXT, PM_SQL_MOVEMENT_INSERT,
                                                bind_movement};
    return pm_store_add(library, &addition, movement, id, err);
}

/* False when its kind is no word of ours. */
static bool read_movement(struct pm_query *query, int64_t bottle, struct pm_arena *arena,
                          struct pm_movement *out)
{
    *out = (struct pm_movement){
        .id = pm_query_get_int(query, 0),
        .bottle = bottle,
        .mass = pm_query_get_int(query, 2),
        .found = pm_query_get_int(query, 3),
        .other = pm_query_get_int(query, 4),
        .purpose = pm_query_get_kept(query, 5, arena),
        .note = pm_query_get_kept(query, 6, arena),
        .corrects = pm_query_get_int(query, 7),
        .at = pm_query_get_int(query, 8),
        .trial = pm_query_get_int(query, 9),
        .batch = pm_query_get_int(query, 10),
    };
    const char *kind = pm_query_get_text(query, 1);
    if (kind == NULL || !pm_move_from_word(kind, &out->kind))
        return false;
    out->found = out->kind == PM_COUNTED ? out->found : -1;
    return true;
}

enum pm_status pm_movement_list(struct pm_library *library, int64_t bottle,
                                struct pm_movements *out, struct pm_error *err)
{
    struct pm_query query;
    struct pm_movements list = {0};
    bool sound = true;
    pm_mass left = 0;
    pm_query_open(&query, library, PM_SQL_MOVEMENT_LIST);
    pm_query_int(&query, bottle);
    while (sound && pm_query_row(&query)) {
        struct pm_movement *movement = pm_query_added(&query, pm_list_add(&list));
        if (movement == NULL)
            break;
        sound = read_movement(&query, bottle, &list.arena, movement);
        if (sound)
            sound = !__builtin_add_overflow(left, movement->mass, &left);
        movement->left = left;
    }
    enum pm_status status = pm_query_close(&query, err);
    if (status == PM_OK && !sound) {
        status = pm_fail(err, PM_DAMAGED, "The ledger of bottle B%03lld is damaged in the file.",
                         (long long)bottle);
    }
    if (status == PM_OK)
        *out = list;
    else
        pm_list_release(&list);
    return status;
}

enum pm_status pm_movement_get(struct pm_library *library, int64_t id, int64_t *bottle,
                               pm_mass *mass, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_MOVEMENT_GET);
    pm_query_int(&query, id);
    bool found = pm_query_row(&query);
    int64_t owner = found ? pm_query_get_int(&query, 0) : 0;
    pm_mass amount = found ? pm_query_get_int(&query, 1) : 0;
    enum pm_status status = pm_query_close(&query, err);
    if (status == PM_OK && !found)
        return pm_fail(err, PM_MISSING, "There is no movement number %lld.", (long long)id);
    if (status == PM_OK) {
        *bottle = owner;
        *mass = amount;
    }
    return status;
}

enum pm_status pm_movement_level(struct pm_library *library, int64_t bottle, int64_t movement,
                                 bool before, pm_mass *out, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_MOVEMENT_LEVEL);
    pm_query_int(&query, bottle);
    pm_query_int(&query, before ? movement - 1 : movement);
    return pm_query_one(&query, out, NULL, err);
}

enum pm_status pm_weighed_counts(struct pm_library *library, int64_t formula,
                                 struct pm_trial_counts *out, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_WEIGHED_COUNTS);
    pm_query_int(&query, formula);
    return pm_trial_counts_read(&query, out, err);
}
