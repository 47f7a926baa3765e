/* SPDX-License-Identifier: MIT */
/*
 * A new file under a temporary name in the same folder, NAME.copying-PID, put in its place when it
 * is whole and on the disk. Killed or failed, it leaves no file of that name; what processes that
 * died have left is removed by the next.
 */
#ifndef PERMILLE_STORE_PLACING_H
#define PERMILLE_STORE_PLACING_H

#include "permille/base/status.h"
#include "permille/base/text.h"

#include <stdbool.h>

struct pm_placing {
    const char *path; /* borrowed */
    bool replace;
    bool made; /* the temporary file is there */
    struct pm_text temporary;
};

/* Makes the empty temporary file. PM_EXISTS when path is there and is not to be replaced. Must be
 * ended, also when it failed. */
enum pm_status pm_placing_begin(struct pm_placing *placing, const char *path, bool replace,
                                struct pm_error *err);
/* When status is PM_OK puts the file in its place, otherwise removes it and passes status on.
 * PM_UNSURE: it is there, but the disk did not confirm its name. */
enum pm_status pm_placing_end(struct pm_placing *placing, enum pm_status status,
                              struct pm_error *err);

#endif
