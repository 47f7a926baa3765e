/* SPDX-License-Identifier: MIT */
/* The person's own editor, printing into files, completing their paths. */
#include "files.h"

#include "permille/base/arena.h"
#include "permille/base/mem.h"
#include "permille/base/text.h"
#include "permille/base/utf8.h"
#include "permille/studio/settings.h"

#include <dirent.h>
#include <errno.h>
#include <fcntl.h>
#include <signal.h>
#include <spawn.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

/* All of an open file, at most `most` bytes. */
static enum pm_status read_all(int fd, size_t most, const char *what, struct pm_text *out,
                               struct pm_error *err)
{
    char chunk[4096];
    for (;;) {
        ssize_t got = read(fd, chunk, sizeof chunk);
        if (got < 0 && errno == EINTR)
            continue;
        if (got < 0)
            return pm_fail(err, PM_IO, "%s cannot be read: %s.", what, strerror(errno));
        if (got == 0)
            return pm_text_ok(out) ? PM_OK : pm_fail_memory(err);
        if (out->length + (size_t)got > most)
            return pm_fail(err, PM_INVALID, "%s is larger than %zu bytes.", what, most);
        pm_text_add_bytes(out, chunk, (size_t)got);
    }
}

/* ---- the editor ------------------------------------------------------------------------------ */

static const char *editor(void)
{
    const char *visual = getenv("VISUAL");
    return visual != NULL && *visual ? visual : getenv("EDITOR");
}

/* What the keyboard sends goes to everyone in front, but is meant for the editor: Ctrl-C there must
 * not end us. Ignoring also drops what waits already, blocked. */
static const int typed[] = {SIGINT, SIGQUIT};
#define TYPED (sizeof typed / sizeof *typed)

static void ignore_typed(struct sigaction old[TYPED])
{
    const struct sigaction ignore = {.sa_handler = SIG_IGN};
    for (size_t i = 0; i < TYPED; i++)
        sigaction(typed[i], &ignore, old != NULL ? &old[i] : NULL);
}

static void heed_typed(const struct sigaction old[TYPED])
{
    ignore_typed(NULL);
    for (size_t i = 0; i < TYPED; i++)
        sigaction(typed[i], &old[i], NULL);
}

static int spawn(pid_t *child, char *const argv[])
{
    posix_spawnattr_t attributes;
    sigset_t none, usual;
    sigemptyset(&none);
    sigemptyset(&usual);
    for (size_t i = 0; i < TYPED; i++)
        sigaddset(&usual, typed[i]);
    sigaddset(&usual, SIGXFSZ);
    posix_spawnattr_init(&attributes);
    posix_spawnattr_setsigmask(&attributes, &none);
    posix_spawnattr_setsigdefault(&attributes, &usual);
    posix_spawnattr_setflags(&attributes, POSIX_SPAWN_SETSIGMASK | POSIX_SPAWN_SETSIGDEF);
    int failed = posix_spawn(child, "/bin/sh", NULL, &attributes, argv, environ);
    posix_spawnattr_destroy(&attributes);
    return failed;
}

/* Until it ends; when it is stopped, so is this process, until both go on. The status as waitpid
 * gives it. */
static int await(pid_t child)
{
    for (;;) {
        int status;
        pid_t got = waitpid(child, &status, WUNTRACED);
        if (got < 0 && errno == EINTR)
            continue;
        if (got < 0)
            return -1;
        if (!WIFSTOPPED(status))
            return status;
        raise(SIGSTOP);
        kill(child, SIGCONT);
    }
}

/* Runs the command with the path as its last argument. The signals that the screen keeps blocked
 * reach the editor as usual. */
static enum pm_status run_editor(const char *command, char *path, struct pm_error *err)
{
    struct sigaction old[TYPED];
    struct pm_text line = PM_TEXT_EMPTY;
    pid_t child;
    int status = -1;
    char shell[] = "sh", option[] = "-c", name[] = "sh";
    /* The shell hears Ctrl-C as well, and would die of it after an editor that lives on. */
    pm_text_addf(&line, "trap : INT QUIT; %s \"$1\"", command);
    if (!pm_text_ok(&line))
        return pm_fail_memory(err);
    char *argv[] = {shell, option, line.data, name, path, NULL};
    ignore_typed(old);
    int failed = spawn(&child, argv);
    if (!failed)
        status = await(child);
    heed_typed(old);
    pm_text_release(&line);
    if (failed)
        return pm_fail(err, PM_IO, "The editor cannot be started: %s.", strerror(failed));
    if (status < 0 || !WIFEXITED(status) || WEXITSTATUS(status) != 0)
        return pm_fail(err, PM_REFUSED, "The editor did not end well; the text is as it was.");
    return PM_OK;
}

bool pm_write_all(int file, const char *text)
{
    size_t left = strlen(text);
    while (left > 0) {
        ssize_t sent = write(file, text, left);
        if (sent < 0 && errno == EINTR)
            continue;
        if (sent <= 0)
            return false;
        text += sent;
        left -= (size_t)sent;
    }
    return true;
}

/* The file is opened anew: many editors put another in its place. */
static enum pm_status read_back(const char *path, size_t most, char **out, struct pm_error *err)
{
    struct pm_text content = PM_TEXT_EMPTY;
    char *text = NULL;
    int fd = open(path, O_RDONLY | O_CLOEXEC);
    if (fd < 0)
        return pm_fail(err, PM_IO, "The edited text cannot be read: %s.", strerror(errno));
    enum pm_status status = read_all(fd, most, "The edited text", &content, err);
    close(fd);
    while (status == PM_OK && content.length > 0 && content.data[content.length - 1] == '\n')
        content.data[--content.length] = '\0';
    if (status == PM_OK && !pm_utf8_valid(pm_text_get(&content), content.length))
        status = pm_fail(err, PM_INVALID, "The edited text is not UTF-8.");
    if (status == PM_OK && !(text = pm_strdup(pm_text_get(&content))))
        status = pm_fail_memory(err);
    pm_text_release(&content);
    if (status == PM_OK)
        *out = text;
    return status;
}

enum pm_status pm_edit_text(const char *text, size_t most, char **out, struct pm_error *err)
{
    const char *command = editor();
    const char *folder = getenv("TMPDIR");
    struct pm_text path = PM_TEXT_EMPTY;
    if (command == NULL || !*command)
        return pm_fail(err, PM_REFUSED, "No editor is chosen: set EDITOR to the one to use.");
    pm_text_addf(&path, "%s/permille-XXXXXX.txt",
                 folder != NULL && folder[0] == '/' ? folder : "/tmp");
    if (!pm_text_ok(&path))
        return pm_fail_memory(err);
    int fd = mkostemps(path.data, 4, O_CLOEXEC);
    if (fd < 0) {
        pm_text_release(&path);
        return pm_fail(err, PM_IO, "No temporary file can be made: %s.", strerror(errno));
    }
    bool written = pm_write_all(fd, text) && pm_write_all(fd, *text ? "\n" : "");
    if (close(fd) != 0)
        written = false;
    enum pm_status status =
        written ? run_editor(command, path.data, err)
                : pm_fail(err, PM_IO, "The text cannot be written: %s.", strerror(errno));
    if (status == PM_OK)
        status = read_back(path.data, most, out, err);
    unlink(path.data);
    pm_text_release(&path);
    return status;
}

/* ---- what is printed ---- */

enum pm_status pm_print_to_file(const char *path, const struct pm_text *text, struct pm_error *err)
{
    FILE *file = fopen(path, "wx"); /* never over something else */
    if (file == NULL)
        return errno == EEXIST
                   ? pm_fail(err, PM_EXISTS, "%s is there already: give another name.", path)
                   : pm_fail(err, PM_IO, "%s cannot be written: %s.", path, strerror(errno));
    bool done = fwrite(pm_text_get(text), 1, text->length, file) == text->length;
    int why = errno;
    if (fclose(file) != 0 && done) {
        done = false;
        why = errno;
    }
    if (done)
        return PM_OK;
    remove(path);
    return pm_fail(err, why == ENOSPC ? PM_FULL : PM_IO, "%s cannot be written: %s.", path,
                   strerror(why));
}

static bool ends_in(const char *path, const char *ending)
{
    const size_t length = strlen(path), tail = strlen(ending);
    return length > tail && strcmp(path + length - tail, ending) == 0;
}

enum pm_paper pm_paper_of_file(const char *path)
{
    return ends_in(path, ".html")   ? PM_PAPER_HTML
           : ends_in(path, ".md")   ? PM_PAPER_MARKDOWN
           : ends_in(path, ".csv")  ? PM_PAPER_CSV
           : ends_in(path, ".json") ? PM_PAPER_JSON
                                    : PM_PAPER_TEXT;
}

/* ---- completing paths ------------------------------------------------------------------------ */

/* The names in a folder that begin as the prefix does; hidden ones only when it begins so. */
static void list_names(const char *folder, const char *prefix, struct pm_texts *out)
{
    const size_t length = strlen(prefix);
    const struct dirent *entry;
    DIR *listing = opendir(folder);
    while (listing != NULL && (entry = readdir(listing)) != NULL) {
        if (strncmp(entry->d_name, prefix, length) != 0 ||
            (entry->d_name[0] == '.' && prefix[0] != '.'))
            continue;
        const char **name = pm_list_add(out);
        if (name != NULL)
            *name = pm_arena_text(&out->arena, entry->d_name);
    }
    if (listing != NULL)
        closedir(listing);
}

static int by_name(const void *a, const void *b)
{
    return strcmp(*(const char *const *)a, *(const char *const *)b);
}

static bool is_folder(const char *folder, const char *name)
{
    struct pm_text path = PM_TEXT_EMPTY;
    struct stat seen;
    pm_text_addf(&path, "%s/%s", folder, name);
    const bool is =
        pm_text_ok(&path) && stat(pm_text_get(&path), &seen) == 0 && S_ISDIR(seen.st_mode);
    pm_text_release(&path);
    return is;
}

bool pm_complete_file(void *context, const char *before, size_t round, struct pm_text *out)
{
    struct pm_texts names = {0};
    const char *slash = strrchr(before, '/');
    const size_t kept = slash != NULL ? (size_t)(slash - before) + 1 : 0;
    char *written = kept > 0 ? pm_strndup(before, kept) : pm_strdup("./");
    char *folder = written != NULL ? pm_machine_at_home(written) : NULL;
    (void)context;
    if (folder != NULL)
        list_names(folder, before + kept, &names);
    if (names.count > 1)
        qsort(names.items, names.count, sizeof *names.items, by_name);
    const bool found = !names.arena.failed && round < names.count && names.items[round] != NULL;
    if (found) {
        pm_text_add_bytes(out, before, kept);
        pm_text_add(out, names.items[round]);
        if (is_folder(folder, names.items[round]))
            pm_text_add_char(out, '/');
    }
    pm_list_release(&names);
    pm_free(folder);
    pm_free(written);
    return found;
}
