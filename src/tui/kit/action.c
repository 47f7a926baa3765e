/* SPDX-License-Identifier: MIT */
/* Tables of actions, and the keys they have. */
#include "action_inside.h"

#include "permille/base/mem.h"

#include <stdio.h>
#include <string.h>

void pm_keymap_init(struct pm_keymap *map)
{
    *map = (struct pm_keymap){0};
}

void pm_keymap_release(struct pm_keymap *map)
{
    pm_free(map->offers);
    pm_free(map->bindings);
    pm_keymap_init(map);
}

/* ---- what a row says, itself or by its verb ---------------------------------------------------
 */

const char *pm_action_id(const struct pm_action *action)
{
    return action->id != NULL ? action->id : pm_verbs[action->verb].id;
}

const char *pm_action_name(const struct pm_action *action)
{
    return action->name != NULL ? action->name : pm_verbs[action->verb].name;
}

const char *pm_action_help(const struct pm_action *action)
{
    return action->help != NULL ? action->help : pm_verbs[action->verb].help;
}

const char *pm_action_group(const struct pm_action *action)
{
    return action->group != NULL ? action->group : pm_verbs[action->verb].group;
}

const char *pm_action_keys(const struct pm_action *action)
{
    return action->verb != PM_VERB_NONE ? pm_verbs[action->verb].keys : action->keys;
}

bool pm_action_general(const struct pm_action *action)
{
    return action->code != PM_ACT_NONE && action->code < PM_ACT_HELP;
}

/* ---- adding tables ----------------------------------------------------------------------------
 */

bool pm_keys_read(const char *text, struct pm_key *keys, size_t *count, const char **bad,
                  size_t *bad_length)
{
    *count = 0;
    for (;;) {
        text += strspn(text, " \t");
        size_t length = strcspn(text, " \t");
        if (length == 0)
            return true;
        *bad = text;
        *bad_length = length;
        if (*count == PM_ACTION_KEYS || !pm_key_read(text, length, &keys[*count]))
            return false;
        ++*count;
        text += length;
    }
}

struct pm_binding *pm_binding_named(const struct pm_keymap *map, const char *id, size_t length)
{
    for (size_t i = 0; i < map->binding_count; i++) {
        const char *name = map->bindings[i].id;
        if (strlen(name) == length && memcmp(name, id, length) == 0)
            return &map->bindings[i];
    }
    return NULL;
}

/* A binding for an id that has none yet; there is room for it. */
static enum pm_status binding_make(struct pm_keymap *map, const struct pm_action *action,
                                   size_t *place, struct pm_error *err)
{
    struct pm_binding binding = {pm_action_id(action), pm_action_keys(action), {{0}}, 0};
    const char *bad = "";
    size_t length = 0;
    if (!pm_keys_read(binding.defaults, binding.keys, &binding.key_count, &bad, &length))
        return pm_fail(err, PM_INVALID, "The action \"%s\" has the key \"%.*s\", which is none.",
                       binding.id, (int)length, bad);
    *place = map->binding_count;
    map->bindings[map->binding_count++] = binding;
    return PM_OK;
}

/* Whether an id that was offered before may be offered in this room too: as the same verb. */
static bool may_share(const struct pm_keymap *map, int room, const struct pm_action *action)
{
    for (size_t i = 0; i < map->count; i++) {
        const struct pm_offered *offer = &map->offers[i];
        if (strcmp(pm_action_id(offer->action), pm_action_id(action)) == 0 &&
            (offer->room == room || offer->room == PM_ANYWHERE || room == PM_ANYWHERE ||
             action->verb == PM_VERB_NONE || offer->action->verb != action->verb ||
             action->id != NULL || offer->action->id != NULL))
            return false;
    }
    return true;
}

static enum pm_status offer_add(struct pm_keymap *map, int room, const struct pm_action *action,
                                struct pm_error *err)
{
    const char *id = pm_action_id(action);
    const struct pm_binding *known = pm_binding_named(map, id, strlen(id));
    struct pm_offered offer = {action, room, known != NULL ? (size_t)(known - map->bindings) : 0};
    enum pm_status status = PM_OK;
    if (known == NULL)
        status = binding_make(map, action, &offer.binding, err);
    else if (!may_share(map, room, action))
        status = pm_fail(err, PM_INVALID, "The action \"%s\" stands twice.", id);
    if (status == PM_OK)
        map->offers[map->count++] = offer;
    return status;
}

static bool make_room(struct pm_keymap *map, size_t more)
{
    void *offers = map->offers, *bindings = map->bindings;
    bool grown = pm_grow(&offers, &map->capacity, map->count + more, sizeof *map->offers);
    map->offers = offers;
    grown = grown && pm_grow(&bindings, &map->binding_capacity, map->binding_count + more,
                             sizeof *map->bindings);
    map->bindings = bindings;
    return grown;
}

enum pm_status pm_keymap_add(struct pm_keymap *map, int room, const struct pm_action_table *table,
                             struct pm_error *err)
{
    const size_t offers = map->count, bindings = map->binding_count;
    if (!make_room(map, table->count))
        return pm_fail_memory(err);
    for (size_t i = 0; i < table->count; i++) {
        enum pm_status status = offer_add(map, room, &table->rows[i], err);
        if (status != PM_OK) {
            map->count = offers;
            map->binding_count = bindings;
            return status;
        }
    }
    return PM_OK;
}

/* ---- looking up ------------------------------------------------------------------------------ */

bool pm_offered_valid(const struct pm_offered *offer, int room, unsigned mode)
{
    return (offer->room == room || offer->room == PM_ANYWHERE) && (offer->action->modes & mode);
}

const struct pm_binding *pm_offered_binding(const struct pm_keymap *map,
                                            const struct pm_offered *offer)
{
    return &map->bindings[offer->binding];
}

bool pm_binding_has(const struct pm_binding *binding, struct pm_key key)
{
    for (size_t i = 0; i < binding->key_count; i++)
        if (pm_key_equal(binding->keys[i], key))
            return true;
    return false;
}

const struct pm_action *pm_keymap_find(const struct pm_keymap *map, struct pm_key key, int room,
                                       unsigned mode)
{
    const struct pm_action *general = NULL;
    if ((mode & PM_MODE_TEXT) && pm_key_prints(key))
        return NULL;
    for (size_t i = 0; i < map->count; i++) {
        const struct pm_offered *offer = &map->offers[i];
        if (!pm_offered_valid(offer, room, mode) ||
            !pm_binding_has(pm_offered_binding(map, offer), key))
            continue;
        if (!pm_action_general(offer->action))
            return offer->action;
        if (general == NULL)
            general = offer->action;
    }
    return general;
}

const struct pm_action *pm_keymap_action(const struct pm_keymap *map, const char *id, int room)
{
    for (size_t i = 0; i < map->count; i++) {
        const struct pm_offered *offer = &map->offers[i];
        if ((offer->room == room || offer->room == PM_ANYWHERE) &&
            strcmp(pm_action_id(offer->action), id) == 0)
            return offer->action;
    }
    return NULL;
}

const char *pm_keymap_key(const struct pm_keymap *map, const char *id, unsigned mode, char *buf)
{
    const struct pm_binding *binding = pm_binding_named(map, id, strlen(id));
    for (size_t i = 0; binding != NULL && i < binding->key_count; i++)
        if (!((mode & PM_MODE_TEXT) && pm_key_prints(binding->keys[i])))
            return pm_key_name(binding->keys[i], buf);
    *buf = '\0';
    return buf;
}

void pm_binding_keys(const struct pm_binding *binding, struct pm_text *out)
{
    char name[PM_KEY_TEXT];
    for (size_t i = 0; i < binding->key_count; i++)
        pm_text_addf(out, "%s%s", i ? ", " : "", pm_key_name(binding->keys[i], name));
}

/* Whether number n of the offers is the first of its group, or of its id. */
static bool first_of(const struct pm_keymap *map, size_t n,
                     const char *(*what)(const struct pm_action *action))
{
    for (size_t i = 0; i < n; i++)
        if (strcmp(what(map->offers[i].action), what(map->offers[n].action)) == 0)
            return false;
    return true;
}

static void dump_group(const struct pm_keymap *map, const char *group, struct pm_text *out)
{
    for (size_t i = 0; i < map->count; i++) {
        const struct pm_action *action = map->offers[i].action;
        if (strcmp(pm_action_group(action), group) != 0 || !first_of(map, i, pm_action_id))
            continue;
        pm_text_addf(out, "%s\t%s\t", group, pm_action_id(action));
        pm_binding_keys(pm_offered_binding(map, &map->offers[i]), out);
        pm_text_addf(out, "\t%s\t%s\n", pm_action_name(action), pm_action_help(action));
    }
}

/* The first offer of an action that is this verb; NULL: there is none. */
static const struct pm_offered *offer_of(const struct pm_keymap *map, enum pm_verb verb)
{
    for (size_t i = 0; i < map->count; i++)
        if (map->offers[i].action->verb == verb)
            return &map->offers[i];
    return NULL;
}

/* The verbs whose actions have ids of their own. */
static void dump_verbs(const struct pm_keymap *map, struct pm_text *out)
{
    for (int verb = PM_VERB_NONE + 1; verb < PM_VERBS; verb++) {
        const struct pm_verb_row *row = &pm_verbs[verb];
        const struct pm_offered *offer = offer_of(map, (enum pm_verb)verb);
        if (row->group != NULL || offer == NULL)
            continue;
        pm_text_addf(out, "In every room\t%s\t", row->id);
        pm_binding_keys(pm_offered_binding(map, offer), out);
        pm_text_addf(out, "\t%s\t%s\n", row->name, row->help);
    }
}

void pm_keymap_dump(const struct pm_keymap *map, struct pm_text *out)
{
    for (size_t i = 0; i < map->count; i++)
        if (first_of(map, i, pm_action_group))
            dump_group(map, pm_action_group(map->offers[i].action), out);
    dump_verbs(map, out);
}
