/* SPDX-License-Identifier: MIT */
/* The file of the machine's settings. */
#ifndef PERMILLE_STUDIO_MACHINE_H
#define PERMILLE_STUDIO_MACHINE_H

#include "permille/base/text.h"
#include "permille/core/settings.h"

/* Called for every line that says something; `key` NULL: it is not understood. False ends. */
typedef void pm_machine_line(void *context, const char *key, const char *value, int number);

/* Reads the whole file of settings; a missing one says nothing. */
enum pm_status pm_machine_read(pm_machine_line *line, void *context, struct pm_error *err);
/* Puts a line in the place of the one with that key, or behind all others; NULL takes it away. */
enum pm_status pm_machine_write(const char *key, const char *value, struct pm_error *err);

/* ---- files of lines, each of which begins with a word ---- */

/* The content of a file, into an empty text; nothing where there is none. */
enum pm_status pm_machine_file(const char *path, struct pm_text *out, struct pm_error *err);

/* Whether a word that begins a line is the one that is meant. */
typedef bool pm_machine_same(const char *word, const char *wanted);
bool pm_machine_line_of(const char *line, size_t length, pm_machine_same *same, const char *wanted);
/* Makes the first line of that word `key value` and takes the others out, or all (value NULL), or
 * puts it behind all lines (`last`). The rest stays. *path may become what a link leads to; NULL
 * fails. */
enum pm_status pm_machine_put_line(char **path, pm_machine_same *same, const char *key,
                                   const char *value, bool last, struct pm_error *err);

#endif
