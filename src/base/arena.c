/* SPDX-License-Identifier: MIT */
/*
 * Memory that is freed at once. Small pieces are cut from blocks that double in size; a list's
 * items are a block of their own, so that they can grow without leaving their old place behind.
 */
#include "permille/base/arena.h"

#include "permille/base/mem.h"

#include <stdalign.h>
#include <stdint.h>
#include <string.h>

struct pm_arena_block {
    struct pm_arena_block *next, *before;
    size_t capacity; /* items a list's block has room for; else bytes */
    alignas(max_align_t) char data[];
};

#define FIRST_BLOCK 512
#define LAST_BLOCK  ((size_t)64 * 1024)
#define FIRST_ITEMS 8

/* A new block, or `old` with more room, at the head of the list. NULL leaves `old` where it was. */
static struct pm_arena_block *block_of(struct pm_arena *arena, struct pm_arena_block *old,
                                       size_t count, size_t size)
{
    struct pm_arena_block *block = NULL;
    if (size == 0 || count <= (PTRDIFF_MAX - sizeof *block) / size)
        block = pm_resize_array(old, sizeof *block + count * size, 1);
    if (block == NULL) {
        arena->failed = true;
        return NULL;
    }
    block->capacity = count;
    if (old == NULL) {
        block->before = NULL;
        block->next = arena->blocks;
    }
    if (block->before != NULL)
        block->before->next = block;
    else
        arena->blocks = block;
    if (block->next != NULL)
        block->next->before = block;
    return block;
}

/* ---- pieces ---- */

static size_t next_block_size(const struct pm_arena *arena)
{
    size_t size = FIRST_BLOCK;
    /* As many doublings as there are blocks; the first few tell. */
    for (const struct pm_arena_block *block = arena->blocks; block != NULL && size < LAST_BLOCK;
         block = block->next)
        size *= 2;
    return size;
}

static char *piece(struct pm_arena *arena, size_t size, size_t alignment)
{
    size_t pad = arena->free == NULL ? 0 : (size_t)(-(uintptr_t)arena->free % alignment);
    if (arena->failed)
        return NULL;
    if (arena->free == NULL || arena->left < pad || arena->left - pad < size) {
        size_t usual = next_block_size(arena);
        struct pm_arena_block *block = block_of(arena, NULL, size > usual / 4 ? size : usual, 1);
        if (block == NULL)
            return NULL;
        if (size > usual / 4) /* a large piece is a block of its own; the open one stays open */
            return block->data;
        arena->free = block->data;
        arena->left = usual;
        pad = 0;
    }
    char *start = arena->free + pad;
    arena->free = start + size;
    arena->left -= pad + size;
    return start;
}

void *pm_arena_alloc(struct pm_arena *arena, size_t size)
{
    void *memory = piece(arena, size, alignof(max_align_t));
    return memory == NULL ? NULL : memset(memory, 0, size);
}

void *pm_arena_array(struct pm_arena *arena, size_t count, size_t size)
{
    if (size != 0 && count > PTRDIFF_MAX / size) {
        arena->failed = true;
        return NULL;
    }
    return pm_arena_alloc(arena, count * size);
}

char *pm_arena_text_bytes(struct pm_arena *arena, const char *bytes, size_t length)
{
    char *copy = length < PTRDIFF_MAX ? piece(arena, length + 1, 1) : NULL;
    if (copy == NULL) {
        arena->failed = true;
        return NULL;
    }
    memcpy(copy, bytes, length);
    copy[length] = '\0';
    return copy;
}

char *pm_arena_text(struct pm_arena *arena, const char *text)
{
    return text == NULL ? NULL : pm_arena_text_bytes(arena, text, strlen(text));
}

enum pm_status pm_arena_status(const struct pm_arena *arena, struct pm_error *err)
{
    return arena->failed ? pm_fail_memory(err) : PM_OK;
}

void pm_arena_release(struct pm_arena *arena)
{
    struct pm_arena_block *next;
    for (struct pm_arena_block *block = arena->blocks; block != NULL; block = next) {
        next = block->next;
        pm_free(block);
    }
    *arena = (struct pm_arena){0};
}

/* ---- lists ---- */

static struct pm_arena_block *block_holding(char *items)
{
    /* Through void *: items begin a block's data, which is aligned for any object. */
    return (void *)(items - offsetof(struct pm_arena_block, data));
}

void *pm_arena_push(struct pm_arena *arena, void *items, size_t *count, size_t size)
{
    char *first; /* the typed pointer's bytes: see pm_grow */
    memcpy(&first, items, sizeof first);
    if (arena->failed)
        return NULL;
    struct pm_arena_block *block = first == NULL ? NULL : block_holding(first);
    if (block == NULL || *count == block->capacity) {
        size_t wanted = block == NULL ? FIRST_ITEMS : block->capacity + block->capacity / 2;
        block = block_of(arena, block, wanted, size);
        if (block == NULL)
            return NULL;
        first = block->data;
        memcpy(items, &first, sizeof first);
    }
    return memset(first + (*count)++ * size, 0, size);
}

void pm_arena_drop(struct pm_arena *arena, void *items, size_t *count)
{
    const void *none = NULL;
    pm_arena_release(arena);
    memcpy(items, &none, sizeof none);
    *count = 0;
}
