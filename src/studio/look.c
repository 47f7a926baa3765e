/* SPDX-License-Identifier: MIT */
/* Views of the file, changes of it, and the caches that hold for as long as nobody else changes it.
 */
#include "inside.h"

void pm_studio_drop_caches(struct pm_studio *studio)
{
    pm_cards_forget(studio);
    pm_bottles_forget(studio);
    pm_limits_forget(studio);
}

/* Drops the caches when another instance has committed since they were filled. */
static void refresh(struct pm_studio *studio)
{
    if (studio->looks > 0)
        return; /* the view has not changed since it began */
    int64_t version = pm_library_version(studio->library);
    if (version == studio->version)
        return;
    studio->version = version;
    studio->changed_outside = true;
    pm_studio_drop_caches(studio);
}

bool pm_studio_changed_outside(struct pm_studio *studio)
{
    refresh(studio);
    bool changed = studio->changed_outside;
    studio->changed_outside = false;
    return changed;
}

enum pm_status pm_studio_look_begin(struct pm_studio *studio, struct pm_error *err)
{
    enum pm_status status = pm_library_begin_read(studio->library, err);
    /* After the view has begun, asking whether the file has changed costs no look of its own. */
    if (status == PM_OK && studio->looks == 0)
        refresh(studio);
    if (status == PM_OK)
        studio->looks++;
    return status;
}

void pm_studio_look_end(struct pm_studio *studio)
{
    studio->looks--;
    pm_library_end_read(studio->library);
}

enum pm_status pm_look_over(struct pm_studio *studio, enum pm_status status)
{
    pm_studio_look_end(studio);
    return status;
}

enum pm_status pm_change_begin(struct pm_studio *studio, struct pm_error *err)
{
    enum pm_status status = pm_library_begin(studio->library, err);
    if (status == PM_OK)
        refresh(studio);
    return status;
}

enum pm_status pm_change_begin_whole(struct pm_studio *studio, struct pm_error *err)
{
    enum pm_status status = pm_library_begin_whole(studio->library, err);
    if (status == PM_OK)
        refresh(studio);
    return status;
}

enum pm_status pm_change_end(struct pm_studio *studio, enum pm_status status, struct pm_error *err)
{
    pm_bottles_forget(studio);
    if (status == PM_OK)
        return pm_library_commit(studio->library, err);
    pm_library_abort(studio->library);
    return status;
}

enum pm_status pm_studio_change_begin(struct pm_studio *studio, struct pm_error *err)
{
    return pm_change_begin(studio, err);
}

enum pm_status pm_studio_change_end(struct pm_studio *studio, enum pm_status status,
                                    struct pm_error *err)
{
    status = pm_change_end(studio, status, err);
    if (status != PM_OK)
        pm_studio_drop_caches(studio); /* they may hold what was not written */
    return status;
}
