/* SPDX-License-Identifier: MIT */
/*
 * The open studio: a library with its caches, and what concerns the file as a whole.
 */
#include "inside.h"

#include "permille/base/mem.h"

enum pm_status pm_studio_open(const char *path, const struct pm_studio_options *options,
                              struct pm_studio **out, struct pm_error *err)
{
    struct pm_studio *studio = pm_alloc_array(1, sizeof *studio);
    if (studio == NULL)
        return pm_fail_memory(err);
    int flags = 0;
    if (options != NULL && options->create)
        flags |= PM_LIBRARY_CREATE;
    if (options != NULL && options->read_only)
        flags |= PM_LIBRARY_READ_ONLY;
    if (options != NULL && options->scratch)
        flags |= PM_LIBRARY_SCRATCH;
    enum pm_status status =
        pm_library_open(path, flags, options != NULL ? options->clock : NULL,
                        options != NULL ? options->watch : NULL, &studio->library, err);
    if (status != PM_OK) {
        pm_free(studio);
        return status;
    }
    studio->version = pm_library_version(studio->library);
    /* Not worth refusing a library for: whoever opens it next tries again. */
    struct pm_error ignored;
    if (!pm_library_read_only(studio->library))
        pm_starter_follow(studio, &ignored);
    *out = studio;
    return PM_OK;
}

void pm_studio_close(struct pm_studio *studio)
{
    if (studio == NULL)
        return;
    pm_studio_drop_caches(studio);
    pm_list_release(&studio->reference);
    pm_library_close(studio->library);
    pm_free(studio);
}

void pm_studio_unmake(struct pm_studio *studio)
{
    pm_library_unmake(studio->library);
}

bool pm_studio_read_only(const struct pm_studio *studio)
{
    return pm_library_read_only(studio->library);
}

const char *pm_studio_remark(const struct pm_studio *studio)
{
    return pm_library_remark(studio->library);
}

enum pm_status pm_studio_confirm(struct pm_studio *studio, struct pm_error *err)
{
    return pm_library_confirm(studio->library, err);
}

void pm_studio_watch(struct pm_studio *studio, const struct pm_watch *watch)
{
    pm_library_watch(studio->library, watch);
}

enum pm_status pm_studio_go_on(struct pm_studio *studio, const char *doing, size_t done, size_t all,
                               struct pm_error *err)
{
    return pm_library_go_on(studio->library, doing, (int64_t)done, (int64_t)all, err);
}

int64_t pm_studio_now(const struct pm_studio *studio)
{
    return pm_library_now(studio->library);
}

enum pm_status pm_studio_backup(struct pm_studio *studio, const char *path, bool replace,
                                struct pm_error *err)
{
    return pm_library_backup(studio->library, path, replace, err);
}

enum pm_status pm_studio_verify(struct pm_studio *studio, pm_studio_finding *finding, void *context,
                                struct pm_error *err)
{
    return pm_library_verify(studio->library, finding, context, err);
}

enum pm_status pm_studio_salvage(const char *damaged, const char *into,
                                 const struct pm_watch *watch, pm_studio_finding *finding,
                                 void *context, struct pm_error *err)
{
    return pm_library_salvage(damaged, into, watch, finding, context, err);
}

pm_day pm_studio_today(const struct pm_studio *studio)
{
    return pm_day_of(pm_library_now(studio->library));
}
