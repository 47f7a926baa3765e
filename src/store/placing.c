/* SPDX-License-Identifier: MIT */
/*
 * A new file under a temporary name, put in its place when it is whole (see placing.h).
 */
#include "placing.h"
#include "files.h"

#include "permille/base/mem.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define MARK ".copying-" /* and the number of the process */

static enum pm_status sync_file(const char *path, struct pm_error *err)
{
    int file = open(path, O_RDWR | O_CLOEXEC);
    enum pm_status status = PM_OK;
    if (file < 0 || fsync(file) != 0)
        status = pm_file_fail(errno, "Cannot save", path, err);
    if (file >= 0)
        close(file);
    return status;
}

/* A journal beside the place belongs to a library there that was left in the middle of a write;
 * SQLite would roll it back into the copy. */
static enum pm_status refuse_journal(const char *path, struct pm_error *err)
{
    static const char *const tails[] = {"-journal", "-wal"};
    struct pm_text name = PM_TEXT_EMPTY;
    enum pm_status status = PM_OK;
    for (size_t i = 0; status == PM_OK && i < sizeof tails / sizeof tails[0]; i++) {
        pm_text_clear(&name);
        pm_text_addf(&name, "%s%s", path, tails[i]);
        if (!pm_text_ok(&name)) {
            status = pm_fail_memory(err);
        } else if (access(pm_text_get(&name), F_OK) == 0) {
            status = pm_fail(err, PM_BUSY,
                             "%s is in use or was left in the middle of a change (%s is there); "
                             "choose another name.",
                             path, pm_text_get(&name));
        }
    }
    pm_text_release(&name);
    return status;
}

/* Gives the file its name unless there is one of that name. A file never has both names, so that
 * one cut short in between is not refused for them; file systems that cannot do it at once get the
 * second-best: a look before the rename. */
static int rename_new(const char *temporary, const char *path)
{
    if (renameat2(AT_FDCWD, temporary, AT_FDCWD, path, RENAME_NOREPLACE) == 0)
        return 0;
    if (errno != EINVAL && errno != ENOSYS)
        return -1;
    if (access(path, F_OK) == 0) {
        errno = EEXIST;
        return -1;
    }
    return rename(temporary, path);
}

static enum pm_status put_in_place(struct pm_placing *placing, struct pm_error *err)
{
    const char *temporary = pm_text_get(&placing->temporary);
    const int failed =
        placing->replace ? rename(temporary, placing->path) : rename_new(temporary, placing->path);
    if (failed != 0 && errno == EEXIST)
        return pm_fail(err, PM_EXISTS, "%s exists already.", placing->path);
    if (failed != 0)
        return pm_file_fail(errno, "Cannot put the copy at", placing->path, err);
    placing->made = false; /* it has its name, and stays */
    struct pm_error why;
    if (pm_folder_sync(placing->path, &why) == PM_OK)
        return PM_OK;
    return pm_fail(err, PM_UNSURE,
                   "The copy is at %s, but it is not certain that it outlasts a power cut: %s",
                   placing->path, why.text);
}

/* ---- what processes that died have left ---- */

/* The number of the process that made a file of this name; 0: none of ours. */
static long maker_of(const char *name)
{
    const char *mark = strstr(name, MARK);
    if (mark == NULL)
        return 0;
    const char *digits = mark + strlen(MARK);
    const size_t length = strspn(digits, "0123456789");
    const bool ends = digits[length] == '\0' || strcmp(digits + length, "-journal") == 0;
    return length > 0 && length < 10 && ends ? strtol(digits, NULL, 10) : 0;
}

/* On a network drive the process may live on another machine. */
static void sweep(const char *path)
{
    char *folder = pm_path_folder(path);
    DIR *listing = folder != NULL && pm_network_drive(folder) == NULL ? opendir(folder) : NULL;
    for (struct dirent *entry; listing != NULL && (entry = readdir(listing)) != NULL;) {
        const long maker = maker_of(entry->d_name);
        struct stat seen;
        if (maker > 0 && kill((pid_t)maker, 0) != 0 && errno == ESRCH &&
            fstatat(dirfd(listing), entry->d_name, &seen, AT_SYMLINK_NOFOLLOW) == 0 &&
            S_ISREG(seen.st_mode) && seen.st_uid == geteuid())
            unlinkat(dirfd(listing), entry->d_name, 0);
    }
    if (listing != NULL)
        closedir(listing);
    pm_free(folder);
}

/* ---- beginning and ending ---- */

static void remove_temporary(struct pm_placing *placing)
{
    const char *name = pm_text_get(&placing->temporary);
    unlink(name);
    pm_text_add(&placing->temporary, "-journal");
    if (pm_text_ok(&placing->temporary))
        unlink(pm_text_get(&placing->temporary));
}

enum pm_status pm_placing_begin(struct pm_placing *placing, const char *path, bool replace,
                                struct pm_error *err)
{
    *placing = (struct pm_placing){.path = path, .replace = replace};
    if (!replace && access(path, F_OK) == 0)
        return pm_fail(err, PM_EXISTS, "%s exists already.", path);
    enum pm_status status = refuse_journal(path, err);
    if (status != PM_OK)
        return status;
    pm_text_addf(&placing->temporary, "%s" MARK "%ld", path, (long)getpid());
    if (!pm_text_ok(&placing->temporary))
        return pm_fail_memory(err);
    sweep(path);
    unlink(pm_text_get(&placing->temporary)); /* of a process of the same number that died */
    return pm_file_make(pm_text_get(&placing->temporary), &placing->made, err);
}

enum pm_status pm_placing_end(struct pm_placing *placing, enum pm_status status,
                              struct pm_error *err)
{
    if (status == PM_OK)
        status = sync_file(pm_text_get(&placing->temporary), err);
    if (status == PM_OK)
        status = put_in_place(placing, err);
    if (placing->made)
        remove_temporary(placing);
    pm_text_release(&placing->temporary);
    return status;
}
