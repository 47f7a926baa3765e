/* SPDX-License-Identifier: MIT */
/* libc's allocator behind one door, with faults to order. */
#include "permille/base/mem.h"

#include <stdatomic.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* The only process-wide state in the library: a fault hook must reach every caller of the
 * allocator, whatever context it works in. */
static atomic_long requests;          /* since the last pm_mem_fail_at */
static atomic_long fail_from;         /* the number of the first request to fail; 0: none */
static atomic_bool fail_from_then_on; /* and every later one */

long pm_mem_fail_at(long countdown, bool from_then_on)
{
    long made;

    atomic_store(&fail_from, 0);
    made = atomic_exchange(&requests, 0);
    atomic_store(&fail_from_then_on, from_then_on);
    atomic_store(&fail_from, countdown > 0 ? countdown : 0);
    return made;
}

/* Counts a request and says whether it may go through. */
static bool granted(void)
{
    long number = atomic_fetch_add(&requests, 1) + 1;
    long from = atomic_load(&fail_from);

    if (from == 0 || number < from)
        return true;
    return number > from && !atomic_load(&fail_from_then_on);
}

static bool bytes_of(size_t count, size_t size, size_t *bytes)
{
    if (size != 0 && count > PTRDIFF_MAX / size)
        return false;
    *bytes = count * size;
    if (*bytes == 0)
        *bytes = 1;
    return true;
}

void *pm_alloc(size_t size)
{
    if (!granted() || size > PTRDIFF_MAX)
        return NULL;
    return malloc(size ? size : 1);
}

void *pm_alloc_array(size_t count, size_t size)
{
    size_t bytes;

    if (!granted() || !bytes_of(count, size, &bytes))
        return NULL;
    return calloc(1, bytes);
}

void *pm_resize_array(void *old, size_t count, size_t size)
{
    size_t bytes;

    if (!granted() || !bytes_of(count, size, &bytes))
        return NULL;
    return realloc(old, bytes);
}

char *pm_strdup(const char *text)
{
    return text != NULL ? pm_strndup(text, strlen(text)) : NULL;
}

char *pm_strndup(const char *text, size_t length)
{
    char *copy;

    if (text == NULL)
        return NULL;
    length = strnlen(text, length);
    copy = pm_alloc(length + 1);
    if (copy == NULL)
        return NULL;
    memcpy(copy, text, length);
    copy[length] = '\0';
    return copy;
}

void pm_free(void *memory)
{
    free(memory);
}

bool pm_grow(void *array, size_t *capacity, size_t need, size_t size)
{
    size_t wanted = *capacity + *capacity / 2 + 8;
    void *memory;

    if (need <= *capacity)
        return true;
    if (wanted < need || wanted > PTRDIFF_MAX / (size ? size : 1))
        wanted = need;
    /* The address of a typed pointer: copying its bytes keeps clear of the aliasing rules. */
    memcpy(&memory, array, sizeof memory);
    memory = pm_resize_array(memory, wanted, size);
    if (memory == NULL)
        return false;
    memcpy(array, &memory, sizeof memory);
    *capacity = wanted;
    return true;
}
