/* SPDX-License-Identifier: MIT */
/* The application: the strip that leads somebody new. */
#include "app_inside.h"

void pm_app_ask_guide(struct pm_app *app)
{
    const struct pm_guide *guide = app->spec.guide;
    if (guide == NULL || app->job.run != NULL ||
        (app->guide_version == app->version && app->guide_room == app->room))
        return;
    pm_text_clear(&app->guide_title);
    pm_text_clear(&app->guide_text);
    app->guided = guide->say(app, &app->guide_title, &app->guide_text) &&
                  pm_text_ok(&app->guide_title) && pm_text_ok(&app->guide_text);
    app->guide_version = app->version;
    app->guide_room = app->room;
    app->stale = true;
}

void pm_app_toggle_guide(struct pm_app *app)
{
    struct pm_error err = {0};
    if (app->spec.guide == NULL)
        pm_app_say(app, "There are no first steps here.");
    else if (app->spec.guide->toggle(app, &err) != PM_OK)
        pm_app_error(app, &err);
    app->guide_version = -1;
}
