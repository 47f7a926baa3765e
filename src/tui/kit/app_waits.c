/* SPDX-License-Identifier: MIT */
/* Something takes long: how far it is, and Esc, which gives it up (base/watch.h). */
#include "app_inside.h"

#include <stdio.h>

#define SHOWN_AFTER 500 /* milliseconds; what is quicker says nothing */
#define SHOWN_EVERY 100

static void show(struct pm_app *app)
{
    struct pm_app_waits *waits = &app->waits;
    char line[200];
    const char *doing = waits->doing != NULL ? waits->doing : "working";
    if (waits->all > 0)
        snprintf(line, sizeof line, "%s: %lld of %lld. Esc gives it up.", doing,
                 (long long)waits->done, (long long)waits->all);
    else
        snprintf(line, sizeof line, "%s. Esc gives it up.", doing);
    waits->by.show(waits->by.context, line);
    app->stale = true;
}

static bool go_on(void *context, const char *doing, int64_t done, int64_t all)
{
    struct pm_app *app = context;
    struct pm_app_waits *waits = &app->waits;
    if (!waits->busy || waits->written || waits->by.milliseconds == NULL)
        return true;
    if (waits->gave_up)
        return false;
    if (doing != NULL) {
        waits->doing = doing;
        waits->done = done;
        waits->all = all;
    }
    const int64_t now = waits->by.milliseconds(waits->by.context);
    if (now - waits->began < SHOWN_AFTER || now - waits->shown < SHOWN_EVERY)
        return true;
    waits->shown = now;
    show(app);
    waits->gave_up = waits->by.gave_up(waits->by.context);
    return !waits->gave_up;
}

static void written(void *context)
{
    struct pm_app *app = context;
    app->waits.written = true;
}

void pm_app_waits(struct pm_app *app, const struct pm_app_waiting *waiting)
{
    app->waits.by = waiting != NULL ? *waiting : (struct pm_app_waiting){NULL, NULL, NULL, NULL};
}

const struct pm_watch *pm_app_watch(struct pm_app *app)
{
    app->waits.watch = (struct pm_watch){go_on, written, app};
    return &app->waits.watch;
}

void pm_app_wait_begin(struct pm_app *app)
{
    struct pm_app_waits *waits = &app->waits;
    waits->busy = true;
    waits->gave_up = waits->written = false;
    waits->doing = NULL;
    waits->all = 0;
    if (waits->by.milliseconds != NULL)
        waits->began = waits->by.milliseconds(waits->by.context);
    waits->shown = 0;
}

void pm_app_wait_end(struct pm_app *app)
{
    app->waits.busy = false;
}
