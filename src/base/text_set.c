/* SPDX-License-Identifier: MIT */
/*
 * Texts by their hash: FNV-1a, 64 bits (the constants are those of its authors' page, from memory).
 * Texts that share a hash stand under the keys that follow it.
 */
#include "permille/base/text_set.h"

#include "permille/base/mem.h"

#include <string.h>

static int64_t key_of(const char *text)
{
    uint64_t hash = UINT64_C(14695981039346656037);
    for (; *text != '\0'; text++)
        hash = (hash ^ (unsigned char)*text) * UINT64_C(1099511628211);
    return (int64_t)(hash >> 2) + 1;
}

/* The key under which the text stands, or would. */
static int64_t seek(const struct pm_text_set *set, const char *text, size_t *place)
{
    int64_t key = key_of(text);
    while ((*place = pm_map_place(&set->places, key)) != PM_MAP_NONE &&
           strcmp(set->texts[*place], text) != 0)
        key++;
    return key;
}

size_t pm_text_set_place(const struct pm_text_set *set, const char *text)
{
    size_t place;
    (void)seek(set, text, &place);
    return place;
}

bool pm_text_set_add(struct pm_text_set *set, const char *text, size_t *place)
{
    const int64_t key = seek(set, text, place);
    if (*place != PM_MAP_NONE)
        return true;
    const char *copy = pm_arena_text(&set->arena, text);
    if (copy == NULL || !pm_grow(&set->texts, &set->capacity, set->count + 1, sizeof *set->texts) ||
        !pm_map_put_place(&set->places, key, set->count))
        return false;
    *place = set->count;
    set->texts[set->count++] = copy;
    return true;
}

void pm_text_set_release(struct pm_text_set *set)
{
    pm_free(set->texts);
    pm_map_release(&set->places);
    pm_arena_release(&set->arena);
    *set = (struct pm_text_set){.texts = NULL};
}
