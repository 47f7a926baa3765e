/* SPDX-License-Identifier: MIT */
/* At which strengths a material can be had from the shelf. */
#include "permille/studio/strengths.h"

#include "permille/core/dilute.h"
#include "permille/core/stock.h"
#include "permille/studio/stock.h"

static enum pm_status offer(struct pm_at_hand_list *out, const struct pm_shelf_strength *item,
                            struct pm_error *err)
{
    const pm_strength written = pm_strength_written(item->strength);
    size_t at = 0;
    while (at < out->count &&
           (out->items[at].strength != written || out->items[at].solvent != item->solvent))
        at++;
    struct pm_at_hand *offered = &out->items[at];
    if (at == out->count) {
        *offered =
            (struct pm_at_hand){.strength = written,
                                .solvent = item->solvent,
                                .solvent_name = pm_arena_text(&out->arena, item->solvent_name),
                                .past = true};
        out->count++;
    }
    offered->left += item->left;
    offered->past = offered->past && item->past;
    return pm_arena_status(&out->arena, err);
}

enum pm_status pm_at_hand_read(struct pm_studio *studio, int64_t material,
                               struct pm_at_hand_list *out, struct pm_error *err)
{
    struct pm_shelf_strengths found;
    struct pm_at_hand_list made = {0};
    enum pm_status status = pm_stock_strengths(studio, material, &found, err);
    if (status != PM_OK)
        return status;
    made.items = pm_arena_array(&made.arena, found.count + 1, sizeof *made.items);
    if (made.items == NULL)
        status = pm_fail_memory(err);
    for (size_t i = 0; i < found.count && status == PM_OK; i++)
        status = offer(&made, &found.items[i], err);
    pm_shelf_strengths_release(&found);
    if (status != PM_OK)
        pm_arena_release(&made.arena);
    else
        *out = made;
    return status;
}

/* Not below the minimum when `neat` is poured at this strength. */
static bool can_be_weighed(pm_mass neat, pm_strength strength, pm_mass minimum)
{
    return (pm_int128)neat * PM_NEAT >= (pm_int128)minimum * strength;
}

/* How many times one is more than the other, in millionths. */
static int64_t times_apart(pm_strength a, pm_strength b)
{
    int64_t times = INT64_MAX;
    pm_muldiv(a > b ? a : b, 1000000, a > b ? b : a, &times);
    return times;
}

size_t pm_at_hand_for(const struct pm_at_hand_list *offered, pm_mass neat, pm_strength wanted,
                      pm_mass minimum)
{
    size_t strongest = offered->count, nearest = offered->count;
    for (size_t i = 0; i < offered->count; i++) {
        const pm_strength has = offered->items[i].strength;
        const bool can = can_be_weighed(neat, has, minimum);
        if (can && pm_stock_serves(has, wanted))
            return i;
        if (can && strongest == offered->count)
            strongest = i;
        if (nearest == offered->count ||
            times_apart(has, wanted) < times_apart(offered->items[nearest].strength, wanted))
            nearest = i;
    }
    return strongest < offered->count && minimum > 0 ? strongest : nearest;
}

size_t pm_at_hand_place(const struct pm_at_hand_list *offered, pm_strength strength,
                        int64_t solvent)
{
    size_t at = 0;
    for (; at < offered->count; at++) {
        const struct pm_at_hand *item = &offered->items[at];
        if ((solvent == PM_ANY_SOLVENT || item->solvent == solvent) &&
            pm_stock_serves(item->strength, strength))
            break;
    }
    return at;
}
