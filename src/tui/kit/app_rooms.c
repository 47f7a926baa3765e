/* SPDX-License-Identifier: MIT */
/* The rooms of the application: opening, reading again, going, what is in front. */
#include "app_inside.h"

#define LOOK_SECONDS 3 /* between looks whether another instance wrote */

const struct pm_room *pm_app_in_front(const struct pm_app *app)
{
    return app->spec.rooms[app->room];
}

void *pm_app_front_state(const struct pm_app *app)
{
    return app->states[app->room];
}

enum pm_status pm_room_open(struct pm_app *app, int room, struct pm_error *err)
{
    if (app->opened[room])
        return PM_OK;
    enum pm_status status = app->spec.rooms[room]->open(app, &app->states[room], err);
    app->opened[room] = status == PM_OK;
    app->seen[room] = -1; /* nothing is read yet */
    return status;
}

/* All that a room shows is of one state of the library. */
static enum pm_status read_once(struct pm_app *app, int room, const char **what,
                                struct pm_error *err)
{
    const struct pm_app_spec *spec = &app->spec;
    if (spec->rooms[room]->read == NULL)
        return PM_OK;
    enum pm_status status = spec->look_begin != NULL ? spec->look_begin(spec->host, err) : PM_OK;
    if (status != PM_OK)
        return status;
    status = spec->rooms[room]->read(app->states[room], what, err);
    if (spec->look_end != NULL)
        spec->look_end(spec->host);
    return status;
}

bool pm_room_read(struct pm_app *app, int room, bool typed)
{
    struct pm_error err = {0};
    const char *what = NULL;
    const bool outside = app->seen[room] >= 0 && app->seen[room] < app->outside;
    const size_t said = app->log_next;
    if (app->job.run != NULL || app->seen[room] == app->version)
        return false;
    app->stale = true;
    if (read_once(app, room, &what, &err) != PM_OK) {
        pm_app_error(app, &err);
        return false;
    }
    app->seen[room] = app->version;
    /* A room that has more to say about it has said it. */
    if (outside && what != NULL && typed)
        app->wishes.drop = true;
    if (outside && what != NULL && said == app->log_next)
        pm_app_say(app, "Another window changed %s; this is how it is now.%s", what,
                   typed ? " Keys pressed meanwhile are dropped." : "");
    return outside && what != NULL;
}

void pm_room_enter(struct pm_app *app)
{
    const struct pm_room *room = pm_app_in_front(app);
    pm_room_read(app, app->room, false);
    if (room->enter != NULL)
        room->enter(pm_app_front_state(app));
    app->due_at = 0;
    app->stale = true;
}

void *pm_app_room_state(struct pm_app *app, int room)
{
    struct pm_error err = {0};
    if (pm_room_open(app, room, &err) != PM_OK) {
        pm_app_error(app, &err);
        return NULL;
    }
    pm_room_read(app, room, false);
    return app->states[room];
}

void pm_app_changed(struct pm_app *app, int room)
{
    app->version++;
    app->seen[room] = app->version;
}

void pm_app_read(struct pm_app *app, int room)
{
    app->seen[room] = -1;
    pm_room_read(app, room, false);
}

bool pm_app_catch_up(struct pm_app *app, bool typed)
{
    if (app->spec.changed == NULL)
        return false;
    app->look_at = pm_app_now(app) + LOOK_SECONDS;
    if (app->spec.changed(app->spec.host))
        app->outside = ++app->version;
    return pm_room_read(app, app->room, typed);
}

void pm_app_go(struct pm_app *app, int room)
{
    struct pm_error err = {0};
    if (pm_room_open(app, room, &err) != PM_OK) {
        pm_app_error(app, &err);
        return;
    }
    for (struct pm_overlay *overlay = app->top; overlay != NULL; overlay = overlay->below)
        pm_overlay_close(overlay);
    app->room = room;
    pm_room_enter(app);
}

unsigned pm_app_mode(const struct pm_app *app)
{
    const struct pm_overlay *overlay = pm_app_overlay(app);
    const struct pm_room *room = pm_app_in_front(app);
    if (overlay != NULL)
        return overlay->kind->mode;
    return room->mode != NULL ? room->mode(pm_app_front_state(app)) : PM_MODE_SHEET;
}

const char *pm_app_unsaved(const struct pm_app *app)
{
    for (const struct pm_overlay *overlay = app->top; overlay != NULL; overlay = overlay->below)
        if (!overlay->closed && overlay->kind->half_typed != NULL &&
            overlay->kind->half_typed(overlay))
            return "A half-typed text";
    for (size_t i = 0; i < app->spec.room_count; i++) {
        const struct pm_room *room = app->spec.rooms[i];
        const char *unsaved =
            app->opened[i] && room->unsaved != NULL ? room->unsaved(app->states[i]) : NULL;
        if (unsaved != NULL)
            return unsaved;
    }
    return NULL;
}

void pm_app_do(struct pm_app *app, const struct pm_action *action)
{
    app->chosen = action;
}
