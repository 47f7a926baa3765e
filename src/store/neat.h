/* SPDX-License-Identifier: MIT */
/* What the step "weights" of the schema needs beside its SQL. */
#ifndef PERMILLE_STORE_NEAT_H
#define PERMILLE_STORE_NEAT_H

#include <sqlite3.h>

/* Gives a connection pm_neat_cores(), which turns the numbers of all cores with dilutions in the
 * table line from poured into neat and makes the checksums of their trials anew. A trial that does
 * not match its checksum is left as it is, for verify to find. Returns SQLite's code. */
int pm_neat_register(sqlite3 *db);

#endif
