/* SPDX-License-Identifier: MIT */
/*
 * Salvage, second half: making rows that were read from a damaged file fit together again.
 */
#ifndef PERMILLE_STORE_MEND_H
#define PERMILLE_STORE_MEND_H

#include "store.h"

struct mender {
    struct pm_library *library; /* the new one; a transaction is open, triggers are off */
    pm_finding *finding;
    void *context;
};

/* Tells the person what was lost or changed. */
void pm_mend_tell(const struct mender *mender, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

/*
 * Gives lost materials, formulas and trials a place under a name that says so, so that what refers
 * to them can stay; makes numbers and checksums anew. Kept trials that are not what was kept are
 * labelled.
 */
enum pm_status pm_mend(const struct mender *mender, struct pm_error *err);

#endif
