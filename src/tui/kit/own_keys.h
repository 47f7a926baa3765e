/* SPDX-License-Identifier: MIT */
/* Giving actions keys of one's own: a list of all that have some, and a form for one's. */
#ifndef PERMILLE_TUI_OWN_KEYS_H
#define PERMILLE_TUI_OWN_KEYS_H

#include "app.h"

/* Keeps them: names separated by blanks, "none", or NULL for the default ones. They may be had
 * (pm_keymap_may_give). Borrowed strings; `id` is an action's or a verb's. */
typedef enum pm_status pm_keep_keys(void *context, const char *id, const char *keys,
                                    struct pm_error *err);

/* Opens the list; the context is borrowed until it and the form have gone. */
void pm_own_keys_open(struct pm_app *app, pm_keep_keys *keep, void *context);

#endif
