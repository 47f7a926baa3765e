/* SPDX-License-Identifier: MIT */
/*
 * Checksums over content (CRC-64). SQLite's file has none: most flipped bits in it change numbers
 * and names without its integrity check saying a word.
 *
 * Every table with a column `checksum` keeps there the CRC of the table's name and the row's other
 * columns in their order, NULLs left out. pm_library_verify finds those tables by that column. A
 * trial's lines are covered together by trial.content.
 */
#ifndef PERMILLE_STORE_CHECKSUM_H
#define PERMILLE_STORE_CHECKSUM_H

#include "pages.h"
#include "permille/core/trial.h"

#include <sqlite3.h>
#include <stddef.h>
#include <stdint.h>

/* Goes on from crc (0 to begin with). */
uint64_t pm_crc_add(uint64_t crc, const void *data, size_t length);
/* One value at a place of a row: the table's name is at 0, columns follow from 1. */
uint64_t pm_crc_text(uint64_t crc, int place, const char *text); /* NULL adds nothing */
uint64_t pm_crc_value(uint64_t crc, int place, sqlite3_value *value);
uint64_t pm_crc_found(uint64_t crc, int place, const struct pm_found_value *value);
/* All lines of a trial in their order, every field; what is NULL in the file adds nothing. */
uint64_t pm_crc_lines(const struct pm_trial *trial);

/* Gives a connection the SQL function pm_checksum('table', column, ...). Returns SQLite's code. */
int pm_checksum_register(sqlite3 *db);

#endif
