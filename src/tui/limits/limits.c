/* SPDX-License-Identifier: MIT */
/* The formula that is open against limits: what is read, and looked up. */
#include "limits_room.h"

#include "permille/base/mem.h"

#include <string.h>

void limits_forget(struct limits_room *room)
{
    if (room->judged)
        pm_limits_release(&room->limits);
    pm_free(room->lines);
    pm_free(room->title);
    pm_free(room->refused);
    room->judged = false;
    room->lines = NULL;
    room->title = room->refused = NULL;
    room->lines_of = SIZE_MAX;
}

const struct pm_limits_row *limits_selected(const struct limits_room *room)
{
    return room->judged && room->list.row < room->limits.count ? &room->limits.items[room->list.row]
                                                               : NULL;
}

/* What cannot be judged (an empty draft) is said in the place of the table. */
static enum pm_status judge(struct limits_room *read, const struct pm_sheet *sheet,
                            struct pm_error *err)
{
    struct pm_limits_wish wish;
    struct pm_text title = PM_TEXT_EMPTY;
    pm_text_add(&title, sheet->name);
    if (sheet->number > 0)
        pm_text_addf(&title, "/%lld", (long long)sheet->number);
    read->title = pm_text_take(&title);
    read->line_count = sheet->trial.count;
    read->lines = pm_alloc_array(sheet->trial.count + 1, sizeof *read->lines);
    if (read->title == NULL || read->lines == NULL)
        return pm_fail_memory(err);
    enum pm_status status = pm_limits_wish(read->house->studio, sheet->formula, &wish, err);
    if (status == PM_OK)
        status = pm_limits_of(read->house->studio, sheet, &wish, &read->limits, err);
    read->judged = status == PM_OK;
    if (status == PM_REFUSED) {
        read->refused = pm_strdup(err != NULL ? err->text : "");
        status = read->refused != NULL ? PM_OK : pm_fail_memory(err);
    }
    return status;
}

enum pm_status limits_read_again(void *state, const char **what, struct pm_error *err)
{
    struct limits_room *room = state;
    struct limits_room read = {.house = room->house, .lines_of = SIZE_MAX};
    const struct pm_limits_row *row = limits_selected(room);
    char *selected = row != NULL ? pm_strdup(row->title) : NULL;
    const struct pm_sheet *sheet = pm_bench_shown(room->app);
    enum pm_status status = sheet != NULL ? judge(&read, sheet, err) : PM_OK;
    (void)what; /* the list follows what the person just did; nothing is done to a row by a key */
    if (status != PM_OK) {
        limits_forget(&read);
        pm_free(selected);
        return status;
    }
    limits_forget(room);
    room->judged = read.judged;
    room->title = read.title;
    room->refused = read.refused;
    room->limits = read.limits;
    room->lines = read.lines;
    room->line_count = read.line_count;
    if (room->list.row >= room->limits.count)
        room->list.row = 0;
    for (size_t i = 0; room->judged && selected != NULL && i < room->limits.count; i++)
        if (strcmp(room->limits.items[i].title, selected) == 0)
            room->list.row = i;
    pm_table_changed(&room->list);
    pm_free(selected);
    return PM_OK;
}

void limits_read(struct limits_room *room)
{
    pm_app_read(room->app, PM_ROOM_LIMITS);
}

void limits_prepare_lines(struct limits_room *room)
{
    const struct pm_limits_row *row = limits_selected(room);
    const struct pm_sheet *sheet = row != NULL ? pm_bench_shown(room->app) : NULL;
    if (sheet == NULL || room->lines_of == room->list.row || sheet->trial.count != room->line_count)
        return;
    if (pm_limits_lines(room->house->studio, sheet, &room->limits, row, room->lines, NULL) == PM_OK)
        room->lines_of = room->list.row;
}
