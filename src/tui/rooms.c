/* SPDX-License-Identifier: MIT */
/* The rooms in the order of their numbers. */
#include "rooms.h"

#include "room.h"

static const struct pm_room *const rooms[PM_ROOM_NUMBERS] = {
    [PM_ROOM_BENCH] = &pm_room_bench,
    [PM_ROOM_TRIALS] = &pm_room_trials,
    [PM_ROOM_SHELF] = &pm_room_shelf,
};

struct pm_app_spec pm_rooms_spec(void)
{
    return (struct pm_app_spec){
        .name = "permille",
        .rooms = rooms,
        .room_count = PM_ROOM_NUMBERS,
        .actions = pm_room_actions,
        .action_count = pm_room_action_count,
    };
}
