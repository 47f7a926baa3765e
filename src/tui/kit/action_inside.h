/* SPDX-License-Identifier: MIT */
/* What the files of the keymap share: action.c has the tables, action_keys.c who may have which
 * key. */
#ifndef PERMILLE_TUI_ACTION_INSIDE_H
#define PERMILLE_TUI_ACTION_INSIDE_H

#include "action.h"

/* Reads key names separated by blanks, at most PM_ACTION_KEYS. On failure *bad is the name that is
 * none, or one too many. */
bool pm_keys_read(const char *text, struct pm_key *keys, size_t *count, const char **bad,
                  size_t *bad_length);
/* NULL when no action is called so. */
struct pm_binding *pm_binding_named(const struct pm_keymap *map, const char *id, size_t length);
bool pm_binding_has(const struct pm_binding *binding, struct pm_key key);

#endif
