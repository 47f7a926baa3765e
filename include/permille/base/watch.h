/* SPDX-License-Identifier: MIT */
/*
 * Looking on while something long is done, and giving it up: the one mechanism for both. Whoever
 * does the work asks now and then whether to go on (pm_watch_go_on), saying what it does and how
 * far it is; whoever waits shows that to the person, and may say no. Then the work fails with
 * PM_STOPPED like any other failed call: everything is as it was.
 *
 * A watch is handed down: a library has one (pm_library_watch), which also interrupts long
 * statements; calls without a library take it as an argument. It is asked often, so it has to be
 * quick: it keeps its own time and shows something only when that is due.
 */
#ifndef PERMILLE_BASE_WATCH_H
#define PERMILLE_BASE_WATCH_H

#include "permille/base/status.h"

#include <stdbool.h>
#include <stdint.h>

struct pm_watch {
    /* What is done completes "...": "checking the library"; NULL: the same as before. How much of
     * how much, in whatever it is counted in; `all` 0: nobody knows. False: stop. */
    bool (*go_on)(void *context, const char *doing, int64_t done, int64_t all);
    /* Something was written for good: what follows, reading it again say, must not be given up with
     * the words that nothing was changed. May be NULL. */
    void (*written)(void *context);
    void *context;
};

/* PM_OK, or PM_STOPPED with its sentence. watch may be NULL: nobody looks on. */
enum pm_status pm_watch_go_on(const struct pm_watch *watch, const char *doing, int64_t done,
                              int64_t all, struct pm_error *err);
/* The sentence for what was given up, the same everywhere. Returns PM_STOPPED. */
enum pm_status pm_fail_stopped(struct pm_error *err);

#endif
