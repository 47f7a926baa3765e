/* SPDX-License-Identifier: MIT */
/* What is done once the screen has been painted, and what is due. */
#include "app_inside.h"

#include <string.h>

void pm_app_later(struct pm_app *app, const struct pm_job *job)
{
    pm_app_work(app);
    app->job = *job;
}

bool pm_app_job_is_away(const struct pm_app *app)
{
    return app->job.run != NULL && app->job.away;
}

void pm_app_remind(struct pm_app *app)
{
    const int64_t now = pm_app_now(app);
    struct pm_due_here notes[PM_DUES];
    app->due_at = INT64_MAX;
    if (app->spec.due == NULL)
        return;
    memset(notes, 0, sizeof notes);
    app->due_at = app->spec.due(app->spec.host, now, notes);
    if (app->due_at <= now)
        app->due_at = now + 1;
    app->stale = app->stale || memcmp(notes, app->due, sizeof notes) != 0;
    memcpy(app->due, notes, sizeof notes);
}

static bool reminds(const struct pm_app *app)
{
    for (size_t i = 0; i < PM_DUES; i++)
        if (app->due[i].note[0] != '\0')
            return true;
    return false;
}

enum pm_status pm_app_work_off(struct pm_app *app)
{
    struct pm_job job = app->job;
    struct pm_error err = {0};
    app->job = (struct pm_job){0};
    pm_app_wait_begin(app);
    enum pm_status status = job.run(job.context, &err);
    pm_app_wait_end(app);
    if (status != PM_OK)
        pm_app_error(app, &err);
    else if (job.saved != NULL)
        pm_app_say(app, "%s", job.saved);
    pm_overlays_sweep(app, false);
    pm_room_read(app, app->room, false);
    pm_app_ask_guide(app);
    if (reminds(app))
        pm_app_remind(app); /* what was just done is due no more */
    else
        app->due_at = 0; /* soon, not while the hand waits */
    app->stale = true;
    return status;
}

bool pm_app_job_pending(const struct pm_app *app)
{
    return app->job.run;
}

void pm_app_work(struct pm_app *app)
{
    if (app->job.run != NULL)
        pm_app_work_off(app);
}

static enum pm_status accept_now(void *context, struct pm_error *err)
{
    struct pm_overlay *overlay = context;
    enum pm_status status = overlay->kind->accept(overlay, err);
    overlay->writing = false;
    if (status == PM_OK)
        pm_overlay_close(overlay);
    return status;
}

unsigned pm_overlay_accept(struct pm_overlay *overlay, bool writes)
{
    struct pm_error err = {0};
    const struct pm_job job = {.run = accept_now, .context = overlay};
    overlay->writing = writes;
    if (writes)
        pm_app_later(overlay->app, &job);
    else if (accept_now(overlay, &err) != PM_OK)
        pm_app_error(overlay->app, &err);
    return PM_REDRAW;
}
