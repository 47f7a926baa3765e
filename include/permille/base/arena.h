/* SPDX-License-Identifier: MIT */
/*
 * Memory that is freed at once, and lists that live in it.
 *
 * A list of rows is a struct of its own type with these three members, filled by one call:
 *
 *     struct pm_formulas {
 *         struct pm_formula *items;
 *         size_t count;
 *         struct pm_arena arena;
 *     };
 *
 * The items and every string they point at belong to the list's arena; pm_list_release() frees them
 * together. Whoever fills it checks once at the end, with pm_arena_status(): a failed request marks
 * the arena, and what is asked of it afterwards fails too.
 */
#ifndef PERMILLE_BASE_ARENA_H
#define PERMILLE_BASE_ARENA_H

#include "permille/base/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct pm_arena_block;

/* All zero is an empty arena. It may be moved by assignment; then only one of the two is used. */
struct pm_arena {
    struct pm_arena_block *blocks; /* owned */
    char *free;                    /* where the next piece of the open block begins */
    size_t left;                   /* bytes behind it */
    bool failed;                   /* memory ran out; what was filled is incomplete */
};

/* Zeroed and aligned for any object; NULL marks the arena. */
void *pm_arena_alloc(struct pm_arena *arena, size_t size);
void *pm_arena_array(struct pm_arena *arena, size_t count, size_t size);
/* A copy; NULL in gives NULL out. */
char *pm_arena_text(struct pm_arena *arena, const char *text);
char *pm_arena_text_bytes(struct pm_arena *arena, const char *bytes, size_t length);
/* PM_NOMEM with its sentence when a request failed. */
enum pm_status pm_arena_status(const struct pm_arena *arena, struct pm_error *err);
/* Frees everything; the arena is empty afterwards and can be used again. */
void pm_arena_release(struct pm_arena *arena);

/* ---- lists ---- */

/* Appends a zeroed item and returns it; NULL marks the list's arena and leaves the list as it was.
 * Items may move: hold no pointer to one while the list grows. Neither copy a list that still
 * grows. */
#define pm_list_add(list)                                                                          \
    pm_arena_push(&(list)->arena, &(list)->items, &(list)->count, sizeof *(list)->items)
/* Frees items and strings; the list is empty afterwards. */
#define pm_list_release(list) pm_arena_drop(&(list)->arena, &(list)->items, &(list)->count)

/* Hands a list that was filled to the caller when status is PM_OK, else frees it. `out` is the
 * address of a list of the same type. */
#define pm_list_give(list, status, out)                                                            \
    ((status) == PM_OK ? (void)(*(out) = *(list)) : pm_list_release(list))

/* Strings alone. */
struct pm_texts {
    const char **items;
    size_t count;
    struct pm_arena arena;
};

/* Numbers of rows alone. */
struct pm_ids {
    int64_t *items;
    size_t count;
    struct pm_arena arena;
};

/* What pm_list_add and pm_list_release call. `items` is the address of the pointer to the items,
 * which only pm_arena_push has set (NULL while the list is empty). */
void *pm_arena_push(struct pm_arena *arena, void *items, size_t *count, size_t size);
void pm_arena_drop(struct pm_arena *arena, void *items, size_t *count);

#endif
