/* SPDX-License-Identifier: MIT */
/* The stack of overlays (app_inside.h, overlay.h). */
#include "app_inside.h"

#include "permille/base/mem.h"

#include <string.h>

struct pm_overlay *pm_app_overlay(const struct pm_app *app)
{
    struct pm_overlay *overlay = app->top;
    while (overlay != NULL && (overlay->closed || overlay->writing))
        overlay = overlay->below;
    return overlay;
}

void pm_overlay_push(struct pm_app *app, struct pm_overlay *overlay, const char *title)
{
    overlay->app = app;
    overlay->title = pm_strdup(title); /* a panel without its title is better than none */
    overlay->below = app->top;
    app->top = overlay;
    app->stale = true;
}

void pm_overlay_close(struct pm_overlay *overlay)
{
    overlay->closed = true;
}

bool pm_overlay_context_keep(void *context, size_t size, void **out)
{
    *out = context;
    if (size == 0)
        return true;
    void *copy = pm_alloc(size);
    if (copy == NULL)
        return false;
    memcpy(copy, context, size);
    *out = copy;
    return true;
}

void pm_overlay_context_free(void *context, bool owned, void (*closed)(void *context))
{
    if (closed != NULL)
        closed(context);
    if (owned)
        pm_free(context);
}

bool pm_overlay_failed(struct pm_app *app, struct pm_overlay *overlay)
{
    struct pm_error err;
    pm_fail_memory(&err);
    pm_app_error(app, &err);
    if (overlay != NULL)
        overlay->kind->free(overlay);
    return false;
}

void pm_overlays_sweep(struct pm_app *app, bool all)
{
    struct pm_overlay **link = &app->top;
    while (*link != NULL) {
        struct pm_overlay *overlay = *link;
        if (!all && !overlay->closed) {
            link = &overlay->below;
            continue;
        }
        *link = overlay->below;
        char *title = overlay->title;
        overlay->kind->free(overlay);
        pm_free(title);
        app->stale = true;
    }
}
