/* SPDX-License-Identifier: MIT */
/* The rooms in the order of their numbers: the application that the program is. */
#include "rooms.h"

#include "kit/room.h"

#include "permille/base/text.h"
#include "permille/studio/blotter.h"
#include "permille/studio/scale.h"

static const struct pm_room *const rooms[PM_ROOM_NUMBERS] = {
    [PM_ROOM_BENCH] = &pm_room_bench,       [PM_ROOM_TRIALS] = &pm_room_trials,
    [PM_ROOM_SHELF] = &pm_room_shelf,       [PM_ROOM_BLOTTER] = &pm_room_blotter,
    [PM_ROOM_BRINGING] = &pm_room_bringing, [PM_ROOM_LIMITS] = &pm_room_limits,
    [PM_ROOM_DRYDOWN] = &pm_room_drydown,   [PM_ROOM_SCALE] = &pm_room_scale,
    [PM_ROOM_SETTINGS] = &pm_room_settings,
};

static bool changed_outside(void *host)
{
    struct pm_house *house = host;
    const bool changed = pm_studio_changed_outside(house->studio);
    if (changed)
        pm_house_read_settings(house);
    return changed;
}

static bool put_due(struct pm_due_here *note, const struct pm_due_note *due, int room,
                    const char *action)
{
    pm_print(note->note, sizeof note->note, "%s", due->text);
    pm_print(note->brief, sizeof note->brief, "%s", due->brief);
    note->room = room;
    note->action = action;
    return due->text[0] != '\0';
}

/* What is to be smelled now, and what of the fillings. A library that cannot be read just now says
 * so elsewhere. */
static int64_t what_is_due(void *host, int64_t now, struct pm_due_here *notes)
{
    const struct pm_house *house = host;
    struct pm_due_note smell, filling;
    if (pm_session_due(house->studio, &smell, NULL) != PM_OK ||
        pm_reminder_due(house->studio, &filling, NULL) != PM_OK)
        return now + 60;
    const bool smells = put_due(&notes[0], &smell, PM_ROOM_BLOTTER, "smell-note");
    put_due(&notes[smells ? 1 : 0], &filling, PM_ROOM_SCALE, "fillings");
    int64_t next = filling.next_at;
    if (next == 0 || (smell.next_at != 0 && smell.next_at < next))
        next = smell.next_at;
    return next != 0 ? next : INT64_MAX;
}

static enum pm_status look_begin(void *host, struct pm_error *err)
{
    const struct pm_house *house = host;
    return pm_studio_look_begin(house->studio, err);
}

static void look_end(void *host)
{
    const struct pm_house *house = host;
    pm_studio_look_end(house->studio);
}

struct pm_app_spec pm_rooms_spec(void)
{
    return (struct pm_app_spec){
        .name = "permille",
        .rooms = rooms,
        .room_count = PM_ROOM_NUMBERS,
        .changed = changed_outside,
        .due = what_is_due,
        .look_begin = look_begin,
        .look_end = look_end,
        .copy = pm_copies_file,
        .guide = &pm_first_steps_guide,
        .paste = pm_bringing_paste,
    };
}
