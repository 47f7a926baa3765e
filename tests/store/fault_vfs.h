/* SPDX-License-Identifier: MIT */
/*
 * A file system for SQLite that fails when told to, over the real one; and a model of what a disk
 * still holds when the power goes.
 *
 * Counted are the operations that change something: write, sync, truncate, delete, create. The
 * model of power loss: what was synced survives; of what was written since, each piece of 512 bytes
 * is there or not, grown files may hold rubbish, names made or removed since may be there or not.
 */
#ifndef PERMILLE_TESTS_STORE_FAULT_VFS_H
#define PERMILLE_TESTS_STORE_FAULT_VFS_H

#include <stdbool.h>

enum fault_kind {
    FAULT_NONE,
    FAULT_ONCE,    /* the k-th operation fails */
    FAULT_LATE,    /* the k-th operation is done, but says that it failed */
    FAULT_LASTING, /* it and all after it fail */
    FAULT_FULL,    /* from the k-th on, writes find the disk full */
    FAULT_POWER,   /* from the k-th on nothing reaches the disk any more */
    FAULT_READ     /* not counted are changes, but reads: the k-th fails */
};

/* PERMILLE_FAULTS=all: each fault at each moment, wherever tests try only some of them. */
bool fault_all(void);
/* From one moment to the next that is tried: 1, under the sanitizers, where each costs several
 * times as much, 2, unless all are asked for. */
long fault_step(void);

void fault_register(void);         /* as "fault"; once */
void fault_register_for_all(void); /* also as what is used where none is named */
const char *fault_vfs(void);
/* How often a view of the file began since the last call: each is a transaction of its own, or a
 * single read outside of one. */
long fault_views(void);
/* From now on: the k-th operation (from 1) fails. Forgets what was known of files. */
void fault_arm(enum fault_kind kind, long k);
long fault_disarm(void); /* how many operations were counted since it was armed */
bool fault_hit(void);    /* whether the fault has happened since it was armed */
/* Writes what the disk holds after the power loss over the files; `seed` decides what survived. */
void fault_power_loss(unsigned seed);

#endif
