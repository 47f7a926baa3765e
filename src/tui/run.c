/* SPDX-License-Identifier: MIT */
/* The editor's entry: library, terminal, rooms, and back out in the reverse order. */
#include "run.h"

#include "loop.h"
#include "rooms.h"
#include "term.h"

#include "permille/base/amount.h"
#include "permille/studio/studio.h"

#include <signal.h>
#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#define KEYS_MOST 65536 /* bytes of the key file that are read */

enum { LEFT = 0, NO_LIBRARY = 1, NO_TERMINAL = 2 };

static int complain(int outcome, const struct pm_error *err)
{
    fprintf(stderr, "permille: %s\n", err->text);
    return outcome;
}

/* $XDG_CONFIG_HOME/permille/keys, where unset, empty and relative mean ~/.config (XDG Base
 * Directory Specification 0.8). False when there is no such place. */
static bool key_file(struct pm_text *out)
{
    const char *config = getenv("XDG_CONFIG_HOME");
    const char *home = getenv("HOME");
    if (config && config[0] == '/')
        pm_text_addf(out, "%s/permille/keys", config);
    else if (home && home[0] == '/')
        pm_text_addf(out, "%s/.config/permille/keys", home);
    return out->length > 0 && pm_text_ok(out);
}

/* The content of the user's key file; empty when there is none. */
static void read_keys(struct pm_text *out)
{
    struct pm_text path = PM_TEXT_EMPTY;
    FILE *file = key_file(&path) ? fopen(pm_text_get(&path), "re") : NULL;
    char chunk[1024];
    size_t length;
    while (file && out->length < KEYS_MOST && (length = fread(chunk, 1, sizeof chunk, file)) > 0)
        pm_text_add_bytes(out, chunk, length);
    if (file)
        fclose(file);
    pm_text_release(&path);
}

/* Runs the rooms in an open terminal. */
static enum pm_status run_rooms(struct pm_house *house, struct pm_term *term, const char *keys,
                                int *signal, struct pm_error *err)
{
    struct pm_app_spec spec = pm_rooms_spec();
    struct pm_app *app;
    house->utf8 = pm_term_utf8(term);
    spec.host = house;
    spec.user_keys = *keys ? keys : NULL;
    enum pm_status status = pm_app_new(&app, &spec, err);
    if (status != PM_OK)
        return status;
    const char *remark = pm_studio_remark(house->studio);
    if (remark)
        pm_app_warn(app, "%s", remark);
    status = pm_loop_run(app, term, signal, err);
    pm_app_free(app);
    return status;
}

static int run_terminal(struct pm_studio *studio, int *signal)
{
    struct pm_error err = {0};
    struct pm_term *term;
    struct pm_text keys = PM_TEXT_EMPTY;
    struct pm_house house = {.studio = studio, .sign = pm_decimal_sign()};
    if (pm_term_open(&term, &err) != PM_OK)
        return complain(NO_TERMINAL, &err);
    read_keys(&keys);
    enum pm_status status = run_rooms(&house, term, pm_text_get(&keys), signal, &err);
    pm_term_close(term);
    pm_text_release(&keys);
    return status == PM_OK ? LEFT : complain(NO_LIBRARY, &err);
}

int pm_tui_run(void *context, const char *path)
{
    struct pm_error err = {0};
    struct pm_studio *studio;
    const struct pm_studio_options options = {.create = true};
    int signal = 0;
    (void)context;
    /* Nobody who only mistyped a pipe should find a new library on the disk. */
    if (!isatty(STDIN_FILENO) || !isatty(STDOUT_FILENO)) {
        pm_fail(&err, PM_REFUSED,
                "The editor needs a terminal for input and output; 'permille help' lists the "
                "commands that do not.");
        return complain(NO_TERMINAL, &err);
    }
    if (pm_studio_open(path, &options, &studio, &err) != PM_OK)
        return complain(NO_LIBRARY, &err);
    int outcome = run_terminal(studio, &signal);
    pm_studio_close(studio);
    if (signal)
        raise(signal);
    return outcome;
}

enum pm_status pm_tui_actions(void *context, struct pm_text *out, struct pm_error *err)
{
    struct pm_app_spec spec = pm_rooms_spec();
    (void)context;
    return pm_app_dump_actions(&spec, out, err);
}
