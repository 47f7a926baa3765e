/* SPDX-License-Identifier: MIT */
/*
 * Accords that stand made up on the shelf: which lines of a trial, and of the accords in it at any
 * depth, are poured from a bottle of that very trial, and which by their content.
 *
 * An accord is taken from its bottles when they hold all of it that is asked for, else all of it is
 * taken apart: a part from the bottle and a part by content would be two things to weigh for one.
 * Taking one apart asks for more of the accords in it and for less of none, so that it is enough to
 * take apart whatever is short, again and again.
 */
#include "scale.h"

#include "permille/base/map.h"
#include "permille/base/mem.h"

/* An accord's trial that was made up once. */
struct made {
    int64_t trial, material;
    pm_mass there; /* in its bottles */
    bool apart;    /* that is not enough: by its content */
};

struct pm_made_up {
    struct pm_studio *studio;
    struct pm_trial trial; /* made-up accords are materials in it */
    struct pm_map trials;  /* id to struct pm_trial *: the accords in it in the same way; owned */
    struct made *items;    /* owned */
    size_t count, capacity;
    struct pm_map known; /* trial to place in items, or to NEVER */
};

#define NEVER (SIZE_MAX - 2) /* it never stood made up */

static enum pm_status left_of(struct pm_studio *studio, int64_t material, pm_mass *out,
                              struct pm_error *err)
{
    struct pm_bottles rows;
    *out = 0;
    enum pm_status status = pm_bottles_of(studio, material, false, &rows, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < rows.count; i++)
        *out += rows.items[i].strength == PM_NEAT ? rows.items[i].left : 0;
    pm_list_release(&rows);
    return PM_OK;
}

/* *out: NULL when it never stood made up. */
static enum pm_status find(struct pm_made_up *up, int64_t trial, struct made **out,
                           struct pm_error *err)
{
    size_t place = pm_map_place(&up->known, trial);
    enum pm_status status = PM_OK;
    struct made made = {.trial = trial};
    *out = NULL;
    if (place == PM_MAP_NONE) {
        status = pm_made_up_get(up->studio->library, trial, &made.material, err);
        if (status == PM_OK && made.material != 0)
            status = pm_studio_follow(up->studio, &made.material, err);
        if (status == PM_OK && made.material != 0)
            status = left_of(up->studio, made.material, &made.there, err);
        place = made.material != 0 ? up->count : NEVER;
        if (status == PM_OK && (!pm_grow(&up->items, &up->capacity, up->count + 1, sizeof made) ||
                                !pm_map_put_place(&up->known, trial, place)))
            status = pm_fail_memory(err);
        if (status == PM_OK && made.material != 0)
            up->items[up->count++] = made;
    }
    if (status == PM_OK && place != NEVER)
        *out = &up->items[place];
    return status;
}

/* Accord lines that are poured from a bottle become lines of its material. */
static enum pm_status put_bottles(struct pm_made_up *up, struct pm_trial *trial,
                                  struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t i = 0; i < trial->count && status == PM_OK; i++) {
        struct pm_line *line = &trial->lines[i];
        struct made *made = NULL;
        if (line->kind == PM_LINE_ACCORD)
            status = find(up, line->ref, &made, err);
        if (made == NULL || made->apart)
            continue;
        line->kind = PM_LINE_MATERIAL;
        line->ref = made->material;
    }
    return status;
}

static void forget_trials(struct pm_made_up *up)
{
    for (size_t i = 0; i < up->trials.capacity; i++)
        if (up->trials.slots[i].key != 0) {
            pm_trial_release(up->trials.slots[i].value.pointer);
            pm_free(up->trials.slots[i].value.pointer);
        }
    pm_map_clear(&up->trials);
}

/* An accord's content, with bottles in it. */
static const struct pm_trial *content(void *context, int64_t id, struct pm_error *err)
{
    struct pm_made_up *up = context;
    struct pm_trial *copy = pm_map_get(&up->trials, id);
    struct pm_kept *kept;
    if (copy != NULL)
        return copy;
    copy = pm_alloc_array(1, sizeof *copy);
    enum pm_status status =
        copy != NULL ? pm_studio_kept(up->studio, id, true, &kept, err) : pm_fail_memory(err);
    if (status == PM_OK)
        status = pm_trial_copy(&kept->trial, copy, err);
    if (status == PM_OK)
        status = put_bottles(up, copy, err);
    if (status == PM_OK && !pm_map_put(&up->trials, id, copy))
        status = pm_fail_memory(err);
    if (status == PM_OK)
        return copy;
    if (copy != NULL)
        pm_trial_release(copy);
    pm_free(copy);
    return NULL;
}

struct pm_trial_source pm_made_up_source(struct pm_made_up *up)
{
    return (struct pm_trial_source){content, up};
}

const struct pm_trial *pm_made_up_trial(const struct pm_made_up *up)
{
    return &up->trial;
}

/* Whether a bottle's worth is short of what a row asks for, to the microgram. */
static bool is_short(const struct made *made, const struct pm_flat_row *row, pm_mass mass,
                     pm_fine total)
{
    return (pm_int128)made->there * total < (pm_int128)(row->neat + row->as_solvent) * mass;
}

static struct made *made_of(struct pm_made_up *up, int64_t material)
{
    for (size_t i = 0; i < up->count; i++)
        if (up->items[i].material == material)
            return &up->items[i];
    return NULL;
}

/* Takes apart what is short. */
static enum pm_status take_apart(struct pm_made_up *up, pm_mass mass, bool *any,
                                 struct pm_error *err)
{
    const struct pm_trial_source source = pm_made_up_source(up);
    struct pm_flat flat;
    enum pm_status status = pm_flatten(&up->trial, &source, &flat, err);
    *any = false;
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < flat.count; i++) {
        struct made *made = made_of(up, flat.rows[i].material);
        if (made == NULL || made->apart || !is_short(made, &flat.rows[i], mass, flat.total))
            continue;
        made->apart = true;
        *any = true;
    }
    pm_flat_release(&flat);
    return PM_OK;
}

static enum pm_status resolve(struct pm_made_up *up, const struct pm_trial *trial, pm_mass mass,
                              struct pm_error *err)
{
    bool again = true;
    enum pm_status status = PM_OK;
    while (again && status == PM_OK) {
        forget_trials(up);
        pm_trial_release(&up->trial);
        status = pm_trial_copy(trial, &up->trial, err);
        if (status == PM_OK)
            status = put_bottles(up, &up->trial, err);
        if (status == PM_OK)
            status = take_apart(up, mass, &again, err);
    }
    return status;
}

enum pm_status pm_made_up_resolve(struct pm_studio *studio, const struct pm_trial *trial,
                                  pm_mass mass, struct pm_made_up **out, struct pm_error *err)
{
    struct pm_made_up *up = pm_alloc_array(1, sizeof *up);
    if (up == NULL)
        return pm_fail_memory(err);
    up->studio = studio;
    pm_trial_init(&up->trial, PM_PART, PM_SHARE);
    enum pm_status status = resolve(up, trial, mass, err);
    if (status == PM_OK)
        *out = up;
    else
        pm_made_up_free(up);
    return status;
}

void pm_made_up_free(struct pm_made_up *up)
{
    if (up == NULL)
        return;
    forget_trials(up);
    pm_map_release(&up->trials);
    pm_map_release(&up->known);
    pm_trial_release(&up->trial);
    pm_free(up->items);
    pm_free(up);
}
