/* SPDX-License-Identifier: MIT */
/*
 * Files and folders around the library (see files.h). Only files that no connection has open are
 * opened here: closing a second descriptor would drop the locks SQLite holds on the first.
 */
#include "files.h"

#include "permille/base/mem.h"
#include "permille/base/text.h"

#include <errno.h>
#include <fcntl.h>
#include <linux/magic.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/vfs.h>
#include <unistd.h>

#ifndef SMB2_SUPER_MAGIC
#define SMB2_SUPER_MAGIC 0xFE534D42
#endif
#ifndef CIFS_SUPER_MAGIC
#define CIFS_SUPER_MAGIC 0xFF534D42
#endif

enum pm_status pm_file_fail(int number, const char *what, const char *path, struct pm_error *err)
{
    enum pm_status status = PM_IO;
    if (number == ENOSPC || number == EDQUOT)
        status = PM_FULL;
    else if (number == ENOMEM)
        return pm_fail_memory(err);
    else if (number == EEXIST)
        status = PM_EXISTS;
    else if (number == ENOENT)
        status = PM_MISSING;
    return pm_fail(err, status, "%s %s: %s.", what, path, strerror(number));
}

bool pm_same_file(const char *one, const char *other)
{
    struct stat first, second;
    return one != NULL && other != NULL && stat(one, &first) == 0 && stat(other, &second) == 0 &&
           first.st_dev == second.st_dev && first.st_ino == second.st_ino;
}

enum pm_status pm_path_absolute(const char *path, char **out, struct pm_error *err)
{
    if (path[0] == '\0')
        return pm_fail(err, PM_INVALID, "The name of the library's file is empty.");
    struct pm_text text = PM_TEXT_EMPTY;
    if (path[0] != '/') {
        char here[4096];
        if (getcwd(here, sizeof here) == NULL)
            return pm_file_fail(errno, "The current folder cannot be found for", path, err);
        pm_text_add(&text, here);
        pm_text_add_char(&text, '/');
    }
    pm_text_add(&text, path);
    *out = pm_text_take(&text);
    pm_text_release(&text);
    return *out == NULL ? pm_fail_memory(err) : PM_OK;
}

char *pm_path_folder(const char *path)
{
    const char *slash = strrchr(path, '/');
    return slash == NULL || slash == path ? pm_strdup(slash == NULL ? "." : "/")
                                          : pm_strndup(path, (size_t)(slash - path));
}

enum pm_status pm_folders_make(const char *path, struct pm_error *err)
{
    char *folder = pm_strdup(path);
    if (folder == NULL)
        return pm_fail_memory(err);
    enum pm_status status = PM_OK;
    for (char *slash = strchr(folder + 1, '/'); status == PM_OK && slash != NULL;
         slash = strchr(slash + 1, '/')) {
        *slash = '\0';
        struct stat seen;
        /* Looked at first: on a read-only file system mkdir fails even where the folder exists. */
        if (stat(folder, &seen) != 0 && mkdir(folder, 0700) != 0 && errno != EEXIST)
            status = pm_file_fail(errno, "Cannot make the folder", folder, err);
        *slash = '/';
    }
    pm_free(folder);
    return status;
}

enum pm_status pm_file_make(const char *path, bool *made, struct pm_error *err)
{
    int file = open(path, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC | O_NOCTTY, 0600);
    *made = file >= 0;
    if (file >= 0) {
        close(file);
        return PM_OK;
    }
    return errno == EEXIST ? PM_OK : pm_file_fail(errno, "Cannot make the file", path, err);
}

enum pm_status pm_folder_sync(const char *path, struct pm_error *err)
{
    char *folder = pm_path_folder(path);
    if (folder == NULL)
        return pm_fail_memory(err);
    enum pm_status status = PM_OK;
    int handle = open(folder, O_RDONLY | O_DIRECTORY | O_CLOEXEC);
    /* Some file systems cannot sync a folder and say EINVAL: then there is nothing to wait for. */
    if (handle < 0 || (fsync(handle) != 0 && errno != EINVAL))
        status = pm_file_fail(errno, "Cannot save the folder", folder, err);
    if (handle >= 0)
        close(handle);
    pm_free(folder);
    return status;
}

const char *pm_network_drive(const char *path)
{
    static const struct {
        unsigned long type;
        const char *name;
    } drives[] = {
        {NFS_SUPER_MAGIC, "NFS"},   {SMB_SUPER_MAGIC, "SMB"}, {SMB2_SUPER_MAGIC, "SMB"},
        {CIFS_SUPER_MAGIC, "SMB"},  {V9FS_MAGIC, "9P"},       {CODA_SUPER_MAGIC, "Coda"},
        {AFS_SUPER_MAGIC, "AFS"},   {AFS_FS_MAGIC, "AFS"},    {CEPH_SUPER_MAGIC, "Ceph"},
        {FUSE_SUPER_MAGIC, "FUSE"},
    };
    struct statfs seen;
    if (statfs(path, &seen) != 0)
        return NULL;
    for (size_t i = 0; i < sizeof drives / sizeof drives[0]; i++) {
        /* The type is signed on some machines: 32 bits are what counts. */
        if (((unsigned long)seen.f_type & 0xFFFFFFFFU) == drives[i].type)
            return drives[i].name;
    }
    return NULL;
}
