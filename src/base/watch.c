/* SPDX-License-Identifier: MIT */
/* Looking on, and giving up (see watch.h). */
#include "permille/base/watch.h"

#include <stddef.h>

enum pm_status pm_watch_go_on(const struct pm_watch *watch, const char *doing, int64_t done,
                              int64_t all, struct pm_error *err)
{
    if (watch == NULL || watch->go_on(watch->context, doing, done, all))
        return PM_OK;
    return pm_fail_stopped(err);
}

enum pm_status pm_fail_stopped(struct pm_error *err)
{
    return pm_fail(err, PM_STOPPED, "Given up; nothing was changed.");
}
