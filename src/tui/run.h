/* SPDX-License-Identifier: MIT */
/*
 * The editor's entry.
 */
#ifndef PERMILLE_TUI_RUN_H
#define PERMILLE_TUI_RUN_H

#include "permille/base/status.h"
#include "permille/base/text.h"

/*
 * Opens the editor on the library at path, which is made when there is none, and returns the exit
 * status when the person leaves: 0 left as usual; 1 the library could not be opened; 2 there is no
 * terminal, or one too simple for a full screen. Failures are told in one sentence on standard
 * error, before the screen starts or after it has ended. A signal that ended the editor is raised
 * again when everything is closed. `context` is not used: the call fits pm_cli_front.
 */
int pm_tui_run(void *context, const char *path, bool linear);

/* Everything the editor can do, for the manual (pm_cli_front.actions). */
enum pm_status pm_tui_actions(void *context, struct pm_text *out, struct pm_error *err);

#endif
