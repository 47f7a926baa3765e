/* SPDX-License-Identifier: MIT */
/* The file of the machine's settings. */
#ifndef PERMILLE_STUDIO_MACHINE_H
#define PERMILLE_STUDIO_MACHINE_H

#include "permille/core/settings.h"

/* Called for every line that says something; `key` NULL: it is not understood. False ends. */
typedef void pm_machine_line(void *context, const char *key, const char *value, int number);

/* Reads the whole file; a missing one says nothing. */
enum pm_status pm_machine_read(pm_machine_line *line, void *context, struct pm_error *err);
/* Puts a line in the place of the one with that key, or behind all others; NULL takes it away. */
enum pm_status pm_machine_write(const char *key, const char *value, struct pm_error *err);

#endif
