/* SPDX-License-Identifier: MIT */
/*
 * Saving what can be read of a damaged library: the one call that needs no open studio.
 */
#include "permille/store/library.h"
#include "permille/studio/studio.h"

enum pm_status pm_studio_salvage(const char *damaged, const char *into, pm_studio_finding *finding,
                                 void *context, struct pm_error *err)
{
    return pm_library_salvage(damaged, into, finding, context, err);
}
