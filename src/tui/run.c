/* SPDX-License-Identifier: MIT */
/* The editor's entry: terminal, rooms, and back out in the reverse order. */
#include "run.h"

#include "kit/loop.h"
#include "kit/term.h"
#include "rooms.h"

#include "permille/base/amount.h"
#include "permille/base/mem.h"
#include "permille/studio/first_steps.h"
#include "permille/studio/settings.h"
#include "permille/studio/studio.h"

#include <signal.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

enum { LEFT = 0, NO_LIBRARY = 1, NO_TERMINAL = 2 };

static int fail_start(int outcome, const struct pm_error *err)
{
    fprintf(stderr, "permille: %s\n", err->text);
    return outcome;
}

/* What the program starts with on this machine. */
struct start {
    struct pm_settings machine;
    struct pm_text complaints; /* each with its NUL; owned */
};

static void add_complaint(void *context, const char *sentence)
{
    struct start *start = context;
    pm_text_add(&start->complaints, sentence);
    pm_text_add_char(&start->complaints, '\0');
}

static void tell_complaints(struct pm_app *app, const struct pm_text *complaints)
{
    for (size_t at = 0; at < complaints->length; at += strlen(complaints->data + at) + 1)
        pm_app_warn(app, "%s", complaints->data + at);
}

/* Runs the rooms in an open terminal. */
static enum pm_status run_rooms(struct pm_house *house, struct start *start, struct pm_term *term,
                                int *signal, struct pm_error *err)
{
    struct pm_app_spec spec = pm_rooms_spec();
    struct pm_error no_keys = {0};
    struct pm_app *app;
    char *keys = NULL;
    (void)pm_machine_keys(&keys, &no_keys);
    house->utf8 = pm_term_utf8(term);
    pm_house_read_settings(house);
    /* A library that cannot be read just now says so elsewhere. */
    (void)pm_first_steps_wanted(house->studio, &house->guided, NULL);
    spec.host = house;
    spec.user_keys = keys;
    enum pm_status status = pm_app_new(&app, &spec, err);
    pm_free(keys);
    if (status != PM_OK)
        return status;
    tell_complaints(app, &start->complaints);
    if (no_keys.status != PM_OK)
        pm_app_error(app, &no_keys);
    const char *remark = pm_studio_remark(house->studio);
    if (remark != NULL)
        pm_app_warn(app, "%s", remark);
    pm_studio_watch(house->studio, pm_app_watch(app));
    status = pm_loop_run(app, term, signal, err);
    pm_studio_watch(house->studio, NULL);
    pm_app_free(app);
    return status;
}

static int run_terminal(struct pm_studio *studio, bool linear, int *signal)
{
    struct pm_error err = {0};
    struct pm_term *term;
    struct pm_house house = {.studio = studio, .sign = pm_decimal_sign()};
    struct start start = {.complaints = PM_TEXT_EMPTY};
    enum pm_status status;
    pm_settings_usual(&start.machine);
    pm_machine_settings(&start.machine, NULL, add_complaint, &start);
    const struct pm_term_manner manner = {
        .theme = start.machine.theme, .lines = linear, .mouse = start.machine.mouse && !linear};
    int outcome;
    if (pm_term_open(&term, &manner, &err) != PM_OK) {
        outcome = fail_start(NO_TERMINAL, &err);
    } else {
        status = run_rooms(&house, &start, term, signal, &err);
        pm_term_close(term);
        outcome = status == PM_OK ? LEFT : fail_start(NO_LIBRARY, &err);
    }
    pm_text_release(&start.complaints);
    return outcome;
}

/* Nobody who only mistyped a pipe should find a new library on the disk. */
enum pm_status pm_tui_can_run(void *context, struct pm_error *err)
{
    (void)context;
    if (isatty(STDIN_FILENO) && isatty(STDOUT_FILENO))
        return PM_OK;
    return pm_fail(err, PM_REFUSED,
                   "The editor needs a terminal for input and output; 'permille help' lists the "
                   "commands that do not.");
}

int pm_tui_run(void *context, struct pm_studio *studio, bool linear)
{
    int signal = 0;
    (void)context;
    int outcome = run_terminal(studio, linear, &signal);
    pm_studio_close(studio);
    if (signal)
        raise(signal);
    return outcome;
}

static void say_nothing(void *to, const char *sentence)
{
    (void)to;
    (void)sentence;
}

/* The editor without a room being opened, with the keys of a file. */
static enum pm_status make_closed(const char *keys,
                                  void (*complain)(void *to, const char *sentence), void *to,
                                  struct pm_app **out, struct pm_error *err)
{
    const struct pm_app_spec spec = pm_rooms_spec();
    const enum pm_status status = pm_app_closed(out, &spec, err);
    if (status == PM_OK && keys != NULL)
        pm_app_read_keys(*out, keys, complain != NULL ? complain : say_nothing, to);
    return status;
}

enum pm_status pm_tui_actions(void *context, const char *keys,
                              void (*complain)(void *to, const char *sentence), void *to,
                              struct pm_text *out, struct pm_error *err)
{
    struct pm_app *app;
    (void)context;
    const enum pm_status status = make_closed(keys, complain, to, &app, err);
    if (status != PM_OK)
        return status;
    pm_keymap_dump(pm_app_keymap(app), out);
    pm_app_free(app);
    return PM_OK;
}

enum pm_status pm_tui_may_give(void *context, const char *keys, const char *id, const char *wanted,
                               struct pm_error *err)
{
    struct pm_app *app;
    (void)context;
    enum pm_status status = make_closed(keys, NULL, NULL, &app, err);
    if (status != PM_OK)
        return status;
    status = pm_keymap_may_give(pm_app_keymap(app), id, wanted, err);
    pm_app_free(app);
    return status;
}
