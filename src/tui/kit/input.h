/* SPDX-License-Identifier: MIT */
/*
 * Making sense of what a terminal sends that curses does not know: escape sequences by their
 * grammar (ECMA-48), pasted text. Pure functions, so that tests can reach them.
 */
#ifndef PERMILLE_TUI_INPUT_H
#define PERMILLE_TUI_INPUT_H

#include "key.h"
#include "permille/base/text.h"

#include <stdbool.h>
#include <stddef.h>

#define PM_SEQUENCE_BYTES 64 /* more than any sequence a keyboard sends */

/* Whether bytes (those after Esc) need another byte to be a whole control sequence. */
bool pm_sequence_goes_on(const char *bytes, size_t length);
/* The key a whole sequence stands for (arrows, editing and function keys with modifiers, in the
 * forms of xterm, vt220 and the CSI-u encoding). False for anything else: it is to be ignored. */
bool pm_sequence_key(const char *bytes, size_t length, struct pm_key *out);

/* A whole sequence of the mouse (xterm's, "[<0;12;5M"): a click of the first button, or the wheel;
 * false for anything else, also for buttons let go. */
struct pm_event;
bool pm_sequence_mouse(const char *bytes, size_t length, struct pm_event *event);

/* Cleans pasted bytes: line ends become '\n', tabs stay; other control characters, bidirectional
 * controls and bytes that are not UTF-8 are left out. Appends to out. */
void pm_paste_clean(const char *bytes, size_t length, struct pm_text *out);

#endif
