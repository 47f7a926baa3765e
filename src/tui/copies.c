/* SPDX-License-Identifier: MIT */
/* Copies that do not go to the clipboard: a new file for each. */
#include "rooms.h"

#include "kit/files.h"

#include <errno.h>
#include <fcntl.h>
#include <string.h>
#include <unistd.h>

#define FILES_MOST 999
#define NAME_TEXT  40
/* Terminals drop what is longer; some from 100,000 bytes in base 64 on (from memory, no source). */
#define CLIPBOARD_MOST 72000

static enum pm_status fail(const char *name, struct pm_error *err)
{
    return pm_fail(err, errno == ENOSPC || errno == EDQUOT ? PM_FULL : PM_IO,
                   "The copy cannot be written into %s: %s.", name, strerror(errno));
}

/* A file that was not there; none of the person's own is ever written over. */
static int make_file(char *name)
{
    int file = -1;
    errno = EEXIST;
    for (int n = 1; file < 0 && errno == EEXIST && n <= FILES_MOST; n++) {
        if (n == 1)
            pm_print(name, NAME_TEXT, "permille-copy.tsv");
        else
            pm_print(name, NAME_TEXT, "permille-copy-%d.tsv", n);
        file = open(name, O_WRONLY | O_CREAT | O_EXCL | O_CLOEXEC, 0600);
    }
    return file;
}

enum pm_status pm_copies_file(void *host, const char *text, struct pm_text *where,
                              struct pm_error *err)
{
    const struct pm_house *house = host;
    char name[NAME_TEXT];
    const bool long_one = strlen(text) > CLIPBOARD_MOST;
    if (house->settings.clipboard && !long_one)
        return PM_MISSING;
    const int file = make_file(name);
    if (file < 0)
        return fail(name, err);
    const bool written = pm_write_all(file, text);
    enum pm_status status = written ? PM_OK : fail(name, err);
    if (close(file) != 0 && status == PM_OK)
        status = fail(name, err);
    if (status != PM_OK) {
        unlink(name);
        return status;
    }
    pm_text_addf(where, "into the file %s of the current folder", name);
    if (long_one && house->settings.clipboard)
        pm_text_add(where, ", since terminals drop so long a text");
    return PM_OK;
}
