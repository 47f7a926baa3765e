/* SPDX-License-Identifier: MIT */
/* A change that is given up (store.h). */
#include "store.h"

void pm_library_roll_back(struct pm_library *library)
{
    /* After a grave error SQLite has rolled back by itself. A ROLLBACK that fails leaves the
     * journal, which the next access plays back. */
    if (sqlite3_get_autocommit(library->db))
        return;
    library->ending = true;
    if (library->rollback == NULL) {
        sqlite3_exec(library->db, "ROLLBACK", NULL, NULL, NULL);
    } else {
        sqlite3_step(library->rollback);
        sqlite3_reset(library->rollback);
    }
    library->ending = false;
}

enum pm_status pm_library_free_of_change(struct pm_library *library, struct pm_error *err)
{
    if (library->rollback == NULL) {
        const int rc = sqlite3_prepare_v3(library->db, "ROLLBACK", -1, SQLITE_PREPARE_PERSISTENT,
                                          &library->rollback, NULL);
        if (rc != SQLITE_OK)
            return pm_store_fail(library->db, rc, "making ready to undo a change", err);
    }
    pm_library_roll_back(library);
    if (sqlite3_get_autocommit(library->db))
        return PM_OK;
    return pm_fail(err, PM_IO, "A change that failed could not be undone yet; try again.");
}
