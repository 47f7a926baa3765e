/* SPDX-License-Identifier: MIT */
/* Batches, and the one that is open: what is read, and looked up. */
#include "scale_room.h"

#include "permille/studio/stock.h"

const struct pm_batch *scale_batch(const struct scale_room *room)
{
    return room->list.row < room->batches.count ? &room->batches.items[room->list.row] : NULL;
}

const struct pm_batch_record_line *scale_line(const struct scale_room *room)
{
    return room->open != 0 && room->lines.row < room->record.count
               ? &room->record.items[room->lines.row]
               : NULL;
}

void scale_select(struct scale_room *room, int64_t batch)
{
    for (size_t i = 0; i < room->batches.count; i++)
        if (room->batches.items[i].id == batch)
            room->list.row = i;
}

enum pm_status scale_open(struct scale_room *room, int64_t batch, struct pm_error *err)
{
    struct pm_batch_record record;
    enum pm_status status = pm_batch_show(room->house->studio, batch, &record, err);
    if (status != PM_OK)
        return status;
    const bool other = room->open != batch;
    pm_batch_record_release(&room->record);
    room->record = record;
    room->open = batch;
    if (other)
        room->lines.row = record.next < record.count ? record.next : 0;
    if (room->lines.row >= record.count)
        room->lines.row = 0;
    pm_table_changed(&room->lines);
    return PM_OK;
}

enum pm_status scale_read_again(void *state, const char **what, struct pm_error *err)
{
    struct scale_room *room = state;
    struct pm_batches batches;
    const struct pm_batch *batch = scale_batch(room);
    const int64_t selected = batch != NULL ? batch->id : 0;
    (void)what;
    enum pm_status status = pm_batches_list(room->house->studio, room->all, &batches, err);
    if (status == PM_OK && room->open != 0)
        status = scale_open(room, room->open, err);
    if (status != PM_OK)
        return status;
    pm_list_release(&room->batches);
    room->batches = batches;
    if (room->list.row >= batches.count)
        room->list.row = 0;
    scale_select(room, selected);
    pm_table_changed(&room->list);
    return PM_OK;
}

void scale_written(struct scale_room *room, bool onward)
{
    pm_app_changed(room->app, PM_ROOM_SCALE);
    pm_app_read(room->app, PM_ROOM_SCALE);
    if (onward && room->open != 0 && room->record.over == 0 &&
        room->record.next < room->record.count)
        room->lines.row = room->record.next;
    room->stable = false;
    if (room->port != NULL)
        pm_balance_port_again(room->port);
}
