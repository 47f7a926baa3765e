/* SPDX-License-Identifier: MIT */
/*
 * A set of texts, numbered in the order they came: names seen already, what was found for each.
 * Texts are compared byte by byte, so names that are to be equal whatever their case are folded
 * before (utf8.h). A zeroed struct is empty.
 */
#ifndef PERMILLE_BASE_TEXT_SET_H
#define PERMILLE_BASE_TEXT_SET_H

#include "permille/base/arena.h"
#include "permille/base/map.h"

struct pm_text_set {
    const char **texts; /* copies, by place */
    size_t count;
    size_t capacity;
    struct pm_map places;
    struct pm_arena arena;
};

void pm_text_set_release(struct pm_text_set *set);

/* PM_MAP_NONE when it is not there. */
size_t pm_text_set_place(const struct pm_text_set *set, const char *text);

/* The place of the text, which is added where it is missing: then it is the last, count - 1. False
 * when memory ran out. */
bool pm_text_set_add(struct pm_text_set *set, const char *text, size_t *place);

#endif
