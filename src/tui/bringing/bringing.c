/* SPDX-License-Identifier: MIT */
/* Bringing in: what there is (bringing_room.h). */
#include "bringing_room.h"

#include <string.h>

void bringing_forget(struct bringing_room *room)
{
    pm_table_stop(&room->view);
    if (room->some)
        pm_bringing_release(&room->bringing);
    room->some = false;
    room->view.row = room->view.first = 0;
    pm_table_changed(&room->view);
}

enum pm_status bringing_take(struct bringing_room *room, const char *text, size_t length,
                             struct pm_error *err)
{
    struct pm_bringing fresh;
    const enum pm_status status =
        pm_bringing_read(room->house->studio, text, length, NULL, &fresh, err);
    if (status != PM_OK)
        return status;
    bringing_forget(room);
    room->bringing = fresh;
    room->some = true;
    room->view.column = BRINGING_NAME;
    room->view.row = 1;
    return PM_OK;
}

bool pm_bringing_paste(struct pm_app *app, const char *text)
{
    struct bringing_room *room = pm_app_room_state(app, PM_ROOM_BRINGING);
    struct pm_error err = {0};
    if (room == NULL)
        return false;
    if (bringing_take(room, text, strlen(text), &err) != PM_OK) {
        pm_app_error(app, &err);
        return false;
    }
    pm_app_go(app, PM_ROOM_BRINGING);
    return true;
}
