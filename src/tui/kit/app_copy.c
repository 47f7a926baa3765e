/* SPDX-License-Identifier: MIT */
/* The application: copying what is in front. */
#include "app_inside.h"
#include "copy.h"

#include "permille/base/mem.h"

enum pm_status pm_app_copy(struct pm_app *app, const char *text, struct pm_text *where,
                           struct pm_error *err)
{
    enum pm_status status =
        app->spec.copy != NULL ? app->spec.copy(app->spec.host, text, where, err) : PM_MISSING;
    if (status != PM_MISSING)
        return status;
    char *copy = pm_strdup(text);
    if (copy == NULL)
        return pm_fail_memory(err);
    pm_free(app->wishes.copy);
    app->wishes.copy = copy;
    pm_text_add(where, "to the terminal's clipboard");
    return PM_OK;
}

/* Painting asks for no more than the grid that is there: what is copied is not painted. */
static bool gather(struct pm_app *app, struct pm_copy *copy)
{
    struct pm_grid grid;
    if (!pm_grid_init(&grid, app->rows, app->columns))
        return false;
    grid.copy = copy;
    const bool drawn = pm_app_draw_front(app, &grid);
    pm_grid_release(&grid);
    return drawn && pm_text_ok(&copy->text);
}

static void say_copied(struct pm_app *app, const struct pm_copy *copy, const char *where)
{
    pm_app_say(app, "Copied %zu row%s %s.%s", copy->rows, copy->rows == 1 ? "" : "s", where,
               copy->unread ? " There are more than were read: go to the end of the list first."
                            : "");
}

void pm_app_copy_front(struct pm_app *app)
{
    struct pm_copy copy = {.text = PM_TEXT_EMPTY};
    struct pm_text where = PM_TEXT_EMPTY;
    struct pm_error err = {0};
    if (app->rows == 0 || !gather(app, &copy))
        pm_app_warn(app, "Nothing was copied: it cannot be read just now.");
    else if (!copy.some || copy.rows == 0)
        pm_app_say(app, "There is no table here to copy.");
    else if (pm_app_copy(app, pm_text_get(&copy.text), &where, &err) != PM_OK)
        pm_app_error(app, &err);
    else
        say_copied(app, &copy, pm_text_get(&where));
    pm_text_release(&copy.text);
    pm_text_release(&where);
}
