/* SPDX-License-Identifier: MIT */
/* What the application knows, and says (app.h). */
#include "app_inside.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

/* ---- what it knows ---- */

int pm_app_room(const struct pm_app *app)
{
    return app->room;
}

void *pm_app_host(const struct pm_app *app)
{
    return app->spec.host;
}

int64_t pm_app_now(const struct pm_app *app)
{
    return pm_clock_now(app->spec.clock);
}

const struct pm_keymap *pm_app_keymap(const struct pm_app *app)
{
    return &app->keymap;
}

const char *pm_app_key(const struct pm_app *app, const char *id, char *buf)
{
    return pm_keymap_key(&app->keymap, id, PM_MODE_SHEET, buf);
}

/* ---- messages ---- */

/* Room for the next message, which takes the place of the oldest. */
static char *message_next(struct pm_app *app, enum pm_role role)
{
    const struct pm_message *before = pm_app_message_shown(app);
    if (before == NULL || app->message_seen)
        app->unread = 0;
    else
        app->unread += before->role != PM_ROLE_NORMAL;
    struct pm_message *message = &app->log[app->log_next];
    message->role = role;
    message->time = pm_app_now(app);
    app->log_next = (app->log_next + 1) % PM_MESSAGES_KEPT;
    if (app->log_count < PM_MESSAGES_KEPT)
        app->log_count++;
    app->message = true;
    app->message_seen = false;
    app->stale = true;
    return message->text;
}

static void message_addv(struct pm_app *app, enum pm_role role, const char *format, va_list args)
    __attribute__((format(printf, 3, 0)));

static void message_addv(struct pm_app *app, enum pm_role role, const char *format, va_list args)
{
    char text[PM_MESSAGE_BYTES]; /* the arguments may point into an old message */
    vsnprintf(text, sizeof text, format, args);
    memcpy(message_next(app, role), text, sizeof text);
}

void pm_app_say(struct pm_app *app, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    message_addv(app, PM_ROLE_NORMAL, format, args);
    va_end(args);
}

void pm_app_warn(struct pm_app *app, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    message_addv(app, PM_ROLE_WARNING, format, args);
    va_end(args);
}

void pm_app_error(struct pm_app *app, const struct pm_error *err)
{
    snprintf(message_next(app, PM_ROLE_ERROR), PM_MESSAGE_BYTES, "%s", err->text);
}

const struct pm_message *pm_app_message_shown(const struct pm_app *app)
{
    size_t last = (app->log_next + PM_MESSAGES_KEPT - 1) % PM_MESSAGES_KEPT;
    return app->message ? &app->log[last] : NULL;
}
