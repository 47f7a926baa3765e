/* SPDX-License-Identifier: MIT */
/* Bringing in: what there is (bringing_room.h). */
#include "bringing_room.h"

#include "permille/base/mem.h"
#include "permille/studio/settings.h"
#include "permille/studio/whole.h"

#include <errno.h>
#include <stdio.h>
#include <string.h>

void bringing_forget(struct bringing_room *room)
{
    guest_forget(&room->guest);
    shelf_rows_forget(&room->rows);
    pm_table_stop(&room->view);
    if (room->some)
        pm_bringing_release(&room->bringing);
    room->some = false;
    room->view.row = room->view.first = 0;
    pm_table_changed(&room->view);
}

static enum pm_status take_rows(struct bringing_room *room, const char *text, size_t length,
                                struct pm_error *err)
{
    struct pm_shelf_tables tables;
    const enum pm_status status =
        pm_shelf_tables_read(room->house->studio, text, length, &tables, err);
    if (status != PM_OK)
        return status;
    bringing_forget(room);
    shelf_rows_take(&room->rows, &tables);
    return PM_OK;
}

enum pm_status bringing_take(struct bringing_room *room, const char *text, size_t length,
                             struct pm_error *err)
{
    if (pm_source_of(text, length) == PM_SOURCE_TABLE)
        return take_rows(room, text, length, err);
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

#define FILE_MOST ((size_t)256 << 20)

static enum pm_status read_file(const char *path, struct pm_text *out, struct pm_error *err)
{
    char block[65536];
    size_t got;
    FILE *file = fopen(path, "rb");
    if (file == NULL)
        return pm_fail(err, PM_IO, "%s cannot be read: %s.", path, strerror(errno));
    while ((got = fread(block, 1, sizeof block, file)) > 0 && out->length < FILE_MOST) {
        const bool first = out->length == 0;
        pm_text_add_bytes(out, block, got);
        /* A library's file, which its beginning tells, is not read like this. */
        if (first && pm_source_of(pm_text_get(out), out->length) == PM_SOURCE_LIBRARY)
            break;
    }
    const bool broken = ferror(file) != 0, large = out->length >= FILE_MOST;
    const int why = errno;
    fclose(file);
    if (broken || large)
        return pm_fail(err, PM_IO, "%s cannot be read: %s.", path,
                       broken ? strerror(why) : "it is too large");
    return pm_text_ok(out) ? PM_OK : pm_fail_memory(err);
}

static enum pm_status take_guest(struct bringing_room *room, const char *path,
                                 const struct pm_text *document, struct pm_error *err)
{
    struct pm_another *another;
    struct pm_studio *studio = room->house->studio;
    guest_forget(&room->guest); /* there is room for one */
    const enum pm_status status =
        document != NULL
            ? pm_another_open_text(studio, pm_text_get(document), document->length, &another, err)
            : pm_another_open(studio, path, &another, err);
    if (status != PM_OK)
        return status;
    bringing_forget(room);
    return guest_take(&room->guest, another, path, err);
}

enum pm_status bringing_open(struct bringing_room *room, const char *typed, struct pm_error *err)
{
    struct pm_text text = PM_TEXT_EMPTY;
    char *path = pm_machine_at_home(typed);
    enum pm_status status = path != NULL ? read_file(path, &text, err) : pm_fail_memory(err);
    if (status == PM_OK)
        switch (pm_source_of(pm_text_get(&text), text.length)) {
        case PM_SOURCE_LIBRARY:
            status = take_guest(room, path, NULL, err);
            break;
        case PM_SOURCE_WHOLE:
            status = take_guest(room, path, &text, err);
            break;
        default:
            status = bringing_take(room, pm_text_get(&text), text.length, err);
        }
    pm_text_release(&text);
    pm_free(path);
    return status;
}

bool bringing_holds(const struct bringing_room *room)
{
    return room->some || room->rows.some || room->guest.another != NULL;
}

/* ---- pasting ---- */

/* A text that waits for what is there to be given up. */
struct offer {
    struct bringing_room *room;
    char *text; /* owned */
};

static enum pm_status offer_agreed(void *context, struct pm_error *err)
{
    const struct offer *offer = context;
    return bringing_take(offer->room, offer->text, strlen(offer->text), err);
}

static void offer_closed(void *context)
{
    const struct offer *offer = context;
    pm_free(offer->text);
}

/* Whether it can be read, before anything is asked. */
static enum pm_status check(struct bringing_room *room, const char *text, struct pm_error *err)
{
    struct bringing_room other = {.house = room->house};
    const enum pm_status status = bringing_take(&other, text, strlen(text), err);
    bringing_forget(&other);
    return status;
}

static enum pm_status ask(struct bringing_room *room, const char *text, struct pm_error *err)
{
    struct offer offer = {room, pm_strdup(text)};
    const struct pm_choice_spec spec = {
        .title = "Bring in something else",
        .question = "Forget what was read, and what was put right in it, for this text?",
        .options = {{'n', "no, it stays"}, {'y', "take what was pasted"}},
        .option_count = 2,
        .agreed = offer_agreed,
        .closed = offer_closed,
        .context = &offer,
        .context_size = sizeof offer};
    if (offer.text == NULL)
        return pm_fail_memory(err);
    pm_choice_open(room->app, &spec);
    return PM_OK;
}

void bringing_paste(struct bringing_room *room, const char *text)
{
    struct pm_error err = {0};
    const bool there = bringing_holds(room);
    enum pm_status status =
        there ? check(room, text, &err) : bringing_take(room, text, strlen(text), &err);
    if (status == PM_OK) {
        pm_app_go(room->app, PM_ROOM_BRINGING);
        if (there)
            status = ask(room, text, &err);
    }
    if (status != PM_OK)
        pm_app_error(room->app, &err);
}

void pm_bringing_paste(struct pm_app *app, const char *text)
{
    struct bringing_room *room = pm_app_room_state(app, PM_ROOM_BRINGING);
    if (room != NULL)
        bringing_paste(room, text);
}
