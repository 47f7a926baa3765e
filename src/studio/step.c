/* SPDX-License-Identifier: MIT */
/*
 * Steps on the shelf, and its history as the front ends see it.
 */
#include "inside.h"

#include "permille/base/utf8.h"
#include "permille/studio/shelf.h"

#include <string.h>

enum pm_status pm_step_begin(struct pm_shelf_step *step, struct pm_studio *studio,
                             struct pm_error *err)
{
    step->studio = studio;
    pm_shelf_log_init(&step->log, studio->library);
    pm_text_init(&step->sentence);
    return pm_change_begin_whole(studio, err);
}

void pm_step_say(struct pm_shelf_step *step, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    pm_text_addv(&step->sentence, format, args);
    va_end(args);
}

static enum pm_status end(struct pm_shelf_step *step, enum pm_status status, const char *gesture,
                          bool undoable, struct pm_error *err)
{
    if (status == PM_OK && !pm_text_ok(&step->sentence))
        status = pm_fail_memory(err);
    if (status == PM_OK)
        status = pm_shelf_log_write(&step->log, gesture, pm_text_get(&step->sentence), undoable,
                                    NULL, err);
    status = pm_change_end(step->studio, status, err);
    pm_shelf_log_release(&step->log);
    pm_text_release(&step->sentence);
    /* Names, kinds and merges may have changed; what is looked at is read again in no time. */
    pm_studio_drop_caches(step->studio);
    return status;
}

enum pm_status pm_step_end(struct pm_shelf_step *step, enum pm_status status, const char *gesture,
                           struct pm_error *err)
{
    return end(step, status, gesture, true, err);
}

enum pm_status pm_step_end_for_good(struct pm_shelf_step *step, enum pm_status status,
                                    const char *gesture, struct pm_error *err)
{
    return end(step, status, gesture, false, err);
}

enum pm_status pm_clean_text(const char *text, const char *what, size_t most, char **field,
                             struct pm_error *err)
{
    if (text == NULL || text[0] == '\0') {
        *field = NULL;
        return PM_OK;
    }
    return most == 0 ? pm_name_clean(text, what, field, err)
                     : pm_note_clean(text, what, most, field, err);
}

/* ---- history ---- */

enum pm_status pm_shelf_history(struct pm_studio *studio, size_t limit,
                                struct pm_shelf_entries *out, struct pm_error *err)
{
    return pm_shelf_log_list(studio->library, limit, out, err);
}
