/* SPDX-License-Identifier: MIT */
/* Where the library is (path.h). */
#include "path.h"

#include "permille/base/mem.h"
#include "permille/base/text.h"

#include <pwd.h>
#include <stdlib.h>
#include <unistd.h>

/* A program started without HOME (by a timer, say) still has the one in the user database. */
static const char *home_directory(void)
{
    const char *home = getenv("HOME");
    if (home != NULL && home[0] == '/')
        return home;
    const struct passwd *entry = getpwuid(getuid());
    return entry != NULL && entry->pw_dir != NULL && entry->pw_dir[0] == '/' ? entry->pw_dir : NULL;
}

enum pm_status pm_cli_library_path(const char *given, char **out, struct pm_error *err)
{
    struct pm_text path = PM_TEXT_EMPTY;
    const char *named = getenv("PERMILLE_DB");
    const char *data = getenv("XDG_DATA_HOME");

    if (given != NULL && given[0] == '\0')
        return pm_fail(err, PM_INVALID, "The library's file name is empty.");
    if (given != NULL) {
        pm_text_add(&path, given);
    } else if (named != NULL && named[0] != '\0') {
        pm_text_add(&path, named);
    } else if (data != NULL && data[0] == '/') {
        pm_text_addf(&path, "%s/permille/library.db", data);
    } else {
        const char *home = home_directory();
        if (home == NULL)
            return pm_fail(err, PM_MISSING,
                           "There is no home directory to keep the library in; name a file with "
                           "--db or PERMILLE_DB.");
        pm_text_addf(&path, "%s/.local/share/permille/library.db", home);
    }
    char *taken = pm_text_take(&path);
    if (taken == NULL)
        return pm_fail_memory(err);
    *out = taken;
    return PM_OK;
}
