/* SPDX-License-Identifier: MIT */
/*
 * The terminal's rescue: a crash or an exit() from anywhere restores it before taking its course.
 * Nothing but async-signal-safe calls happen in the handlers. One terminal at a time.
 */
#ifndef PERMILLE_TUI_RESCUE_H
#define PERMILLE_TUI_RESCUE_H

#include <stddef.h>
#include <termios.h>

#define PM_RESCUE_BYTES 512

/* From now on a crash writes `bytes` (cut at PM_RESCUE_BYTES) to standard output and sets the modes
 * of standard input. */
void pm_rescue_arm(const struct termios *modes, const char *bytes, size_t length);
/* The terminal is given back (again taken) in the meantime: a crash leaves it alone (restores it).
 */
void pm_rescue_pause(void);
void pm_rescue_resume(void);
/* Crashes are what they were before pm_rescue_arm. */
void pm_rescue_disarm(void);

#endif
