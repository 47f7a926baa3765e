/* SPDX-License-Identifier: MIT */
/*
 * The editor's entry.
 */
#ifndef PERMILLE_TUI_RUN_H
#define PERMILLE_TUI_RUN_H

#include "permille/base/status.h"
#include "permille/base/text.h"

#include <stdbool.h>

struct pm_studio;

/*
 * Runs the editor on an open library, which it closes, and returns the exit status when the person
 * leaves: 0 left as usual; 1 the library could not be read; 2 the terminal is too simple for a full
 * screen. Failures are told in one sentence on standard error, before the screen starts or after it
 * has ended. A signal that ended the editor is raised again when everything is closed. `context` is
 * not used: the calls fit pm_cli_front.
 */
int pm_tui_run(void *context, struct pm_studio *studio, bool linear);
/* PM_REFUSED, with its sentence, where there is no terminal for it. */
enum pm_status pm_tui_can_run(void *context, struct pm_error *err);

/* Everything the editor can do, with the keys of a key file (pm_cli_front.actions). */
enum pm_status pm_tui_actions(void *context, const char *keys,
                              void (*complain)(void *to, const char *sentence), void *to,
                              struct pm_text *out, struct pm_error *err);
/* Whether that file may give an action these keys (pm_cli_front.may_give). */
enum pm_status pm_tui_may_give(void *context, const char *keys, const char *id, const char *wanted,
                               struct pm_error *err);

#endif
