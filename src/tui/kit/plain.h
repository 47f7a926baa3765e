/* SPDX-License-Identifier: MIT */
/* What is shown in place of a character where only ASCII can be. */
#ifndef PERMILLE_TUI_PLAIN_H
#define PERMILLE_TUI_PLAIN_H

#include "grid.h"

#include <stdint.h>

/* The sign for the cell, whose first character is `code`; '?' where there is none. */
char pm_plain_sign(uint32_t code, const struct pm_cell *cell);

#endif
