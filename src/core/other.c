/* SPDX-License-Identifier: MIT */
/* What is wished of another library's items, and what follows (see other.h). */
#include "permille/core/other.h"

#include "permille/base/map.h"
#include "permille/base/mem.h"

#include <string.h>

static const struct {
    const char *one, *many;
    const char *code; /* the fixed word of the answers' schema */
} kinds[PM_OTHER_KINDS] = {
    [PM_OTHER_FORMULA] = {"formula", "formulas", "formula"},
    [PM_OTHER_MATERIAL] = {"material", "materials", "material"},
    [PM_OTHER_BOTTLE] = {"bottle", "bottles", "bottle"},
    [PM_OTHER_BATCH] = {"batch", "batches", "batch"},
    [PM_OTHER_FILLING] = {"filling", "fillings", "filling"},
    [PM_OTHER_SESSION] = {"session", "sessions", "session"},
    [PM_OTHER_SMELL] = {"smell note", "smell notes", "smell note"},
    [PM_OTHER_PANEL] = {"blind test", "blind tests", "blind test"},
    [PM_OTHER_SERIES] = {"series", "series", "series"},
    [PM_OTHER_RULES] = {"limit set", "limit sets", "limit rules"},
    [PM_OTHER_BALANCE] = {"balance", "balances", "balance"},
    [PM_OTHER_CEILING] = {"ceiling", "ceilings", "ceiling"},
    [PM_OTHER_RATE] = {"rate", "rates", "rate"},
};

const char *pm_other_kind_word(enum pm_other_kind kind, bool plural)
{
    return plural ? kinds[kind].many : kinds[kind].one;
}

const char *pm_other_kind_code(enum pm_other_kind kind)
{
    return kinds[kind].code;
}

bool pm_other_kind_from_word(const char *word, size_t length, enum pm_other_kind *out)
{
    for (int kind = 0; kind < PM_OTHER_KINDS; kind++) {
        const char *const words[] = {kinds[kind].one, kinds[kind].many, kinds[kind].code};
        for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
            if (strlen(words[i]) == length && strncmp(words[i], word, length) == 0) {
                *out = (enum pm_other_kind)kind;
                return true;
            }
    }
    return false;
}

const char *pm_other_state_word(enum pm_other_state state)
{
    static const char *const words[] = {
        [PM_OTHER_NEW] = "new",
        [PM_OTHER_SAME] = "same",
        [PM_OTHER_ASIDE] = "put away here",
        [PM_OTHER_MORE] = "goes on",
        [PM_OTHER_LESS] = "goes on here",
        [PM_OTHER_FORKED] = "both went on",
        [PM_OTHER_DIFFERS] = "differs",
        [PM_OTHER_TAKEN] = "name taken",
    };
    return words[state];
}

const char *pm_other_how_word(enum pm_other_how how)
{
    static const char *const words[] = {"leave", "take", "second"};
    return words[how];
}

enum pm_other_how pm_other_usual(const struct pm_other_item *item)
{
    return item->state == PM_OTHER_NEW || item->state == PM_OTHER_MORE ? PM_OTHER_TAKE
                                                                       : PM_OTHER_LEAVE;
}

/* Rows that have no name or number of their own would only stand there twice. */
static bool can_be_second(const struct pm_other_item *item, const char **why)
{
    if (item->state == PM_OTHER_SAME || item->state == PM_OTHER_NEW) {
        *why = item->state == PM_OTHER_NEW ? "Nothing here is it, so it is simply taken."
                                           : "It is here already, and says the same.";
        return false;
    }
    if (item->kind == PM_OTHER_SMELL || item->kind == PM_OTHER_RATE ||
        item->kind == PM_OTHER_CEILING) {
        *why = "Yours stays as it is; there can be only one.";
        return false;
    }
    return true;
}

static bool can_be_taken(const struct pm_other_item *item, const char **why)
{
    switch (item->state) {
    case PM_OTHER_NEW:
    case PM_OTHER_MORE:
        return true;
    case PM_OTHER_ASIDE:
        return true;
    case PM_OTHER_FORKED:
        *why = item->kind == PM_OTHER_FORMULA
                   ? "Theirs went on without keeping a trial, so it can only come as a second one."
                   : "Both went on, so it can only come as a second one.";
        return item->kind == PM_OTHER_FORMULA && item->trials_more > 0;
    case PM_OTHER_SAME:
        *why = "It is here already, and says the same.";
        return false;
    case PM_OTHER_LESS:
        *why = "Yours went on from where theirs ends: there is nothing to take.";
        return false;
    case PM_OTHER_DIFFERS:
        *why = "Yours stays as it is: theirs can only come as a second one.";
        return false;
    case PM_OTHER_TAKEN:
        *why = "Another one here has its name: it can only come as a second one, under another.";
        return false;
    }
    return false;
}

bool pm_other_can(const struct pm_other_item *item, enum pm_other_how how, const char **why)
{
    const char *ignored;
    const char **reason = why != NULL ? why : &ignored;
    *reason = NULL;
    return how == PM_OTHER_LEAVE ||
           (how == PM_OTHER_TAKE ? can_be_taken(item, reason) : can_be_second(item, reason));
}

/* ---- what others need ---- */

/* Ids come from a stranger's file: beyond 2^59 two may share a key, which only loses a need, and
 * what lacks that is refused. */
static int64_t key_of(enum pm_other_kind kind, int64_t id)
{
    return (int64_t)((uint64_t)id * PM_OTHER_KINDS + (uint64_t)kind + 1);
}

struct following {
    const struct pm_other_items *items;
    const struct pm_other_needs *needs;
    struct pm_other_wish *wishes;
    struct pm_map places; /* of items */
    struct pm_map first;  /* of an item's needs */
    size_t *waiting;      /* places whose needs are still to be looked at; owned */
    size_t count;
};

static bool index_all(struct following *following)
{
    bool fits = true;
    for (size_t i = 0; fits && i < following->items->count; i++)
        fits = pm_map_put_place(
            &following->places,
            key_of(following->items->items[i].kind, following->items->items[i].id), i);
    for (size_t i = following->needs->count; fits && i-- > 0;)
        fits = pm_map_put_place(
            &following->first,
            key_of(following->needs->items[i].kind, following->needs->items[i].id), i);
    return fits;
}

/* It comes the way it was wished, or the one way in which it can. */
static void bring_along(struct following *following, size_t at, size_t by)
{
    struct pm_other_wish *wish = &following->wishes[at];
    if (wish->comes != PM_OTHER_LEAVE)
        return;
    wish->comes = pm_other_can(&following->items->items[at], PM_OTHER_TAKE, NULL) ? PM_OTHER_TAKE
                                                                                  : PM_OTHER_SECOND;
    wish->needed_by = by;
    following->waiting[following->count++] = at;
}

static void follow_one(struct following *following, size_t at)
{
    const struct pm_other_item *item = &following->items->items[at];
    const struct pm_other_needs *needs = following->needs;
    for (size_t i = pm_map_place(&following->first, key_of(item->kind, item->id));
         i < needs->count && needs->items[i].kind == item->kind && needs->items[i].id == item->id;
         i++) {
        const size_t on =
            pm_map_place(&following->places, key_of(needs->items[i].on_kind, needs->items[i].on));
        if (on != PM_MAP_NONE)
            bring_along(following, on, at);
    }
}

enum pm_status pm_other_follow(const struct pm_other_items *items,
                               const struct pm_other_needs *needs, struct pm_other_wish *wishes,
                               struct pm_error *err)
{
    struct following following = {.items = items, .needs = needs, .wishes = wishes};
    following.waiting = pm_alloc_array(items->count + 1, sizeof *following.waiting);
    const bool fits = following.waiting != NULL && index_all(&following);
    for (size_t i = 0; fits && i < items->count; i++) {
        wishes[i].comes = wishes[i].how;
        wishes[i].needed_by = SIZE_MAX;
        if (wishes[i].how != PM_OTHER_LEAVE)
            following.waiting[following.count++] = i;
    }
    while (fits && following.count > 0)
        follow_one(&following, following.waiting[--following.count]);
    pm_map_release(&following.places);
    pm_map_release(&following.first);
    pm_free(following.waiting);
    return fits ? PM_OK : pm_fail_memory(err);
}
