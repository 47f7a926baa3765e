/* SPDX-License-Identifier: MIT */
/*
 * Memory: libc's allocator behind one door, so that tests can make the n-th request fail.
 * A NULL return is an ordinary error (PM_NOMEM); nothing here prints or exits.
 */
#ifndef PERMILLE_BASE_MEM_H
#define PERMILLE_BASE_MEM_H

#include <stdbool.h>
#include <stddef.h>

void *pm_alloc(size_t size);                     /* not cleared; size 0 gives a valid pointer */
void *pm_alloc_array(size_t count, size_t size); /* zeroed; NULL when count * size overflows */
void *pm_resize_array(void *old, size_t count, size_t size); /* old stays valid on failure */
char *pm_strdup(const char *text);                           /* NULL in gives NULL out */
char *pm_strndup(const char *text, size_t length);
void pm_free(void *memory); /* NULL is allowed */

/* Grows the array whose pointer lies at `array` (the address of a pointer of any type) so that it
 * holds at least `need` items of `size` bytes; *capacity is in items and
 * grows geometrically. False on failure, everything as before. */
bool pm_grow(void *array, size_t *capacity, size_t need, size_t size);

/* Tests only: the countdown-th request from now fails (1 = the next), and, when `from_then_on`,
 * every one after it. 0 switches faults off. Returns how many requests were made since the last
 * call, so that a loop knows when a run met no fault. */
long pm_mem_fail_at(long countdown, bool from_then_on);

#endif
