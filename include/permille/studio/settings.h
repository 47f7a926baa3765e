/* SPDX-License-Identifier: MIT */
/*
 * Settings as they are in force (core/settings.h): those of the work from the library, those of
 * the machine from "permille/settings" in the person's configuration folder ($XDG_CONFIG_HOME, or
 * ~/.config), a file of lines "key value" that may also be written by hand: a line that begins
 * with '#' is a comment, lines that are not understood are left alone and told.
 */
#ifndef PERMILLE_STUDIO_SETTINGS_H
#define PERMILLE_STUDIO_SETTINGS_H

#include "permille/base/arena.h"
#include "permille/core/settings.h"
#include "permille/studio/studio.h"

struct pm_setting_row {
    const struct pm_setting *is;
    const char *value; /* in force; "": none */
    bool set;          /* chosen by the person; otherwise the usual one */
    const char *fault; /* why what is kept does not count, or NULL */
};

struct pm_setting_rows {
    struct pm_setting_row *items; /* by enum pm_setting_number */
    size_t count;
    struct pm_arena arena;
};

/* All settings. Without a studio (NULL: there is no library yet) those of the work are as usual. */
enum pm_status pm_settings_list(struct pm_studio *studio, struct pm_setting_rows *out,
                                struct pm_error *err);
/* What rooms and commands reckon with. */
enum pm_status pm_settings_now(struct pm_studio *studio, struct pm_settings *out,
                               struct pm_error *err);

/* One of them, a new string (pm_free). */
enum pm_status pm_settings_text(struct pm_studio *studio, enum pm_setting_number number, char **out,
                                struct pm_error *err);

/* The currency of a price that is typed without one; "": none. */
enum pm_status pm_settings_currency(struct pm_studio *studio, char out[4], struct pm_error *err);

/* Sets one as typed; NULL or blank goes back to the usual value. PM_INVALID; PM_MISSING for a
 * balance that is not kept; PM_IO, PM_FULL for the machine's file. studio may be NULL for one of
 * the machine. */
enum pm_status pm_settings_set(struct pm_studio *studio, const struct pm_setting *setting,
                               const char *text, struct pm_error *err);

/* ---- the machine ---- */

/* The path of a file in the configuration folder, a new string; an absolute name stays as it is.
 * NULL in *out when there is no such folder (neither variable is set). */
enum pm_status pm_machine_path(const char *name, char **out, struct pm_error *err);
/* "~/x" as the shell would hand it over; any other path as it is. A new string; NULL: out of
 * memory. */
char *pm_machine_at_home(const char *path);
/* The machine's values into `values`; what cannot be read is told to `complain` (may be NULL) and
 * is as usual. Never fails: a program must start without them. *keys (may be NULL) receives the
 * path of the key file, a new string, or NULL. */
void pm_machine_settings(struct pm_settings *values, char **keys,
                         void (*complain)(void *context, const char *sentence), void *context);

/* The content of the key file, a new string; "" when there is none. PM_IO, PM_INVALID when it is
 * too large. */
enum pm_status pm_machine_keys(char **out, struct pm_error *err);
/* What its line about an action or a verb says, a new string; NULL when there is no such line. */
enum pm_status pm_machine_keys_get(const char *id, char **out, struct pm_error *err);
/* Writes that line, behind all others; NULL takes it out. What else stands there stays. PM_IO,
 * PM_FULL; PM_MISSING when there is no folder for it. */
enum pm_status pm_machine_keys_put(const char *id, const char *keys, struct pm_error *err);

#endif
