/* SPDX-License-Identifier: MIT */
/* The program's version, for --version, the manual, and files that say what made them. */
#ifndef PERMILLE_BASE_VERSION_H
#define PERMILLE_BASE_VERSION_H

#define PM_VERSION     "0.1"
#define PM_VERSION_DAY "2026-11-28" /* of the release, for the manual */

#endif
