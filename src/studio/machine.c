/* SPDX-License-Identifier: MIT */
/* The file of the machine's settings: reading its lines, changing one in its place. */
#include "machine.h"

#include "permille/base/mem.h"
#include "permille/base/text.h"
#include "permille/base/utf8.h"
#include "permille/studio/settings.h"

#include <errno.h>
#include <fcntl.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define FILE_MOST (64 * 1024)
#define BLANKS    " \t\r"

enum pm_status pm_machine_path(const char *name, char **out, struct pm_error *err)
{
    const char *config = getenv("XDG_CONFIG_HOME"), *home = getenv("HOME");
    struct pm_text path = PM_TEXT_EMPTY;
    *out = NULL;
    if (name[0] == '/')
        pm_text_add(&path, name);
    else if (config != NULL && config[0] == '/')
        pm_text_addf(&path, "%s/permille/%s", config, name);
    else if (home != NULL && home[0] == '/')
        pm_text_addf(&path, "%s/.config/permille/%s", home, name);
    else
        return PM_OK;
    *out = pm_text_take(&path);
    pm_text_release(&path);
    return *out != NULL ? PM_OK : pm_fail_memory(err);
}

char *pm_machine_at_home(const char *path)
{
    struct pm_text whole = PM_TEXT_EMPTY;
    const char *home = getenv("HOME");
    if (strncmp(path, "~/", 2) != 0 || home == NULL)
        return pm_strdup(path);
    pm_text_addf(&whole, "%s%s", home, path + 1);
    return pm_text_take(&whole);
}

static enum pm_status fail(int number, const char *what, const char *path, struct pm_error *err)
{
    if (number == ENOMEM)
        return pm_fail_memory(err);
    return pm_fail(err, number == ENOSPC || number == EDQUOT ? PM_FULL : PM_IO,
                   "The settings of this machine cannot be %s: %s: %s.", what, path,
                   strerror(number));
}

/* ---- reading ---- */

static enum pm_status read_whole(int file, const char *path, struct pm_text *out,
                                 struct pm_error *err)
{
    char chunk[4096];
    for (;;) {
        const ssize_t got = read(file, chunk, sizeof chunk);
        if (got < 0 && errno == EINTR)
            continue;
        if (got < 0)
            return fail(errno, "read", path, err);
        if (got == 0)
            return pm_text_ok(out) ? PM_OK : pm_fail_memory(err);
        if (out->length + (size_t)got > FILE_MOST)
            return pm_fail(err, PM_INVALID, "The file is larger than %d bytes: %s.", FILE_MOST,
                           path);
        pm_text_add_bytes(out, chunk, (size_t)got);
    }
}

enum pm_status pm_machine_file(const char *path, struct pm_text *out, struct pm_error *err)
{
    const int file = open(path, O_RDONLY | O_CLOEXEC);
    if (file < 0)
        return errno == ENOENT || errno == ENOTDIR ? PM_OK : fail(errno, "read", path, err);
    const enum pm_status status = read_whole(file, path, out, err);
    close(file);
    return status;
}

/* Cuts a line (writable) into its first word and the rest; false when it says nothing. */
static bool split(char *line, char **key, char **value)
{
    line += strspn(line, BLANKS);
    if (*line == '\0' || *line == '#')
        return false;
    size_t end = strlen(line);
    while (end > 0 && strchr(BLANKS, line[end - 1]) != NULL)
        line[--end] = '\0';
    const size_t word = strcspn(line, BLANKS);
    *key = line;
    *value = line + word + strspn(line + word, BLANKS);
    line[word] = '\0';
    return true;
}

static void tell_lines(char *text, pm_machine_line *tell, void *context)
{
    char *key, *value;
    int number = 1;
    for (char *next; text != NULL; text = next, number++) {
        next = strchr(text, '\n');
        if (next != NULL)
            *next++ = '\0';
        if (!split(text, &key, &value))
            continue;
        const struct pm_setting *setting = pm_setting_find(key);
        const bool known = setting != NULL && setting->place == PM_SETTING_MACHINE;
        tell(context, known ? setting->key : NULL, known ? value : key, number);
    }
}

enum pm_status pm_machine_read(pm_machine_line *tell, void *context, struct pm_error *err)
{
    struct pm_text text = PM_TEXT_EMPTY;
    char *path = NULL;
    enum pm_status status = pm_machine_path("settings", &path, err);
    if (status == PM_OK && path != NULL)
        status = pm_machine_file(path, &text, err);
    if (status == PM_OK && !pm_utf8_valid(pm_text_get(&text), text.length))
        status = pm_fail(err, PM_INVALID, "The file of settings is not UTF-8: %s.", path);
    if (status == PM_OK && text.data != NULL)
        tell_lines(text.data, tell, context);
    pm_text_release(&text);
    pm_free(path);
    return status;
}

/* ---- writing ---- */

static bool same_setting(const char *word, const char *key)
{
    const struct pm_setting *setting = pm_setting_find(word);
    return setting != NULL && strcmp(setting->key, key) == 0;
}

bool pm_machine_line_of(const char *line, size_t length, pm_machine_same *same, const char *wanted)
{
    char word[64];
    const size_t from = strspn(line, BLANKS);
    const size_t end = from + strcspn(line + from, BLANKS "\n");
    if (from >= length || end - from >= sizeof word)
        return false;
    memcpy(word, line + from, end - from);
    word[end - from] = '\0';
    return same(word, wanted);
}

/* The text without the lines of that word, the first of which becomes `key value` (value NULL:
 * none does), or the end of the text where it is `last`; everything else as it was. */
static void change(const char *text, pm_machine_same *same, const char *key, const char *value,
                   bool last, struct pm_text *out)
{
    bool done = value == NULL;
    while (*text != '\0') {
        const size_t length = strcspn(text, "\n");
        if (!pm_machine_line_of(text, length, same, key)) {
            pm_text_add_bytes(out, text, length);
            pm_text_add_char(out, '\n');
        } else if (!done && !last) {
            pm_text_addf(out, "%s %s\n", key, value);
            done = true;
        }
        text += length + (text[length] == '\n');
    }
    if (!done)
        pm_text_addf(out, "%s %s\n", key, value);
}

static enum pm_status make_folders(const char *path, struct pm_error *err)
{
    char *folder = pm_strdup(path);
    enum pm_status status = folder != NULL ? PM_OK : pm_fail_memory(err);
    for (char *slash = folder != NULL ? strchr(folder + 1, '/') : NULL;
         status == PM_OK && slash != NULL; slash = strchr(slash + 1, '/')) {
        struct stat seen;
        *slash = '\0';
        if (stat(folder, &seen) != 0 && mkdir(folder, 0700) != 0 && errno != EEXIST)
            status = fail(errno, "kept", folder, err);
        *slash = '/';
    }
    pm_free(folder);
    return status;
}

static bool write_whole(int file, const struct pm_text *text)
{
    for (size_t sent = 0; sent < text->length;) {
        const ssize_t now = write(file, pm_text_get(text) + sent, text->length - sent);
        if (now < 0 && errno == EINTR)
            continue;
        if (now <= 0)
            return false;
        sent += (size_t)now;
    }
    return fsync(file) == 0;
}

/* Who may read the file stays as the person has it. */
static int keep_mode(int file, const char *path)
{
    struct stat seen;
    return stat(path, &seen) == 0 ? fchmod(file, seen.st_mode & 07777) : 0;
}

/* Another file in the place of the old one: either all of it is there, or the old one is. */
static enum pm_status replace(const char *path, const struct pm_text *text, struct pm_error *err)
{
    struct pm_text made = PM_TEXT_EMPTY;
    enum pm_status status = make_folders(path, err);
    pm_text_addf(&made, "%s.XXXXXX", path);
    if (status == PM_OK && !(pm_text_ok(&made) && pm_text_ok(text)))
        status = pm_fail_memory(err);
    const int file = status == PM_OK ? mkostemp(made.data, O_CLOEXEC) : -1;
    if (status == PM_OK && file < 0)
        status = fail(errno, "kept", path, err);
    if (file >= 0) {
        if (keep_mode(file, path) != 0 || !write_whole(file, text))
            status = fail(errno, "kept", path, err);
        if (close(file) != 0 && status == PM_OK)
            status = fail(errno, "kept", path, err);
        if (status == PM_OK && rename(made.data, path) != 0)
            status = fail(errno, "kept", path, err);
        if (status != PM_OK)
            unlink(made.data);
    }
    pm_text_release(&made);
    return status;
}

/* Where the file is a link, what it leads to is written: people keep such files elsewhere. */
static enum pm_status true_path(char **path, struct pm_error *err)
{
    char *real = realpath(*path, NULL);
    if (real == NULL)
        return errno == ENOENT || errno == ENOTDIR ? PM_OK : fail(errno, "read", *path, err);
    char *copy = pm_strdup(real);
    free(real);
    if (copy == NULL)
        return pm_fail_memory(err);
    pm_free(*path);
    *path = copy;
    return PM_OK;
}

static enum pm_status fail_nowhere(struct pm_error *err)
{
    return pm_fail(err, PM_MISSING,
                   "There is no folder for settings: neither XDG_CONFIG_HOME nor HOME is set.");
}

enum pm_status pm_machine_put_line(char **path, pm_machine_same *same, const char *key,
                                   const char *value, bool last, struct pm_error *err)
{
    struct pm_text old = PM_TEXT_EMPTY, text = PM_TEXT_EMPTY;
    enum pm_status status = *path != NULL ? true_path(path, err) : fail_nowhere(err);
    if (status == PM_OK)
        status = pm_machine_file(*path, &old, err);
    if (status == PM_OK) {
        change(pm_text_get(&old), same, key, value, last, &text);
        status = replace(*path, &text, err);
    }
    pm_text_release(&old);
    pm_text_release(&text);
    return status;
}

enum pm_status pm_machine_write(const char *key, const char *value, struct pm_error *err)
{
    char *path = NULL;
    enum pm_status status = pm_machine_path("settings", &path, err);
    if (status == PM_OK)
        status = pm_machine_put_line(&path, same_setting, key, value, false, err);
    pm_free(path);
    return status;
}
