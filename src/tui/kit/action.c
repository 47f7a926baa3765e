/* SPDX-License-Identifier: MIT */
/* Tables of actions, and the keys they have. */
#include "action.h"

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

/* Reads key names separated by blanks. On failure *bad is the name that is none. */
static bool keys_read(const char *text, struct pm_key *keys, size_t *count, const char **bad,
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

static struct pm_binding *binding_named(const struct pm_keymap *map, const char *id, size_t length)
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
    if (!keys_read(binding.defaults, binding.keys, &binding.key_count, &bad, &length))
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
    const struct pm_binding *known = binding_named(map, id, strlen(id));
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

static bool binding_has(const struct pm_binding *binding, struct pm_key key)
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
            !binding_has(pm_offered_binding(map, offer), key))
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
    const struct pm_binding *binding = binding_named(map, id, strlen(id));
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

/* Whether one of the actions is this verb. */
static bool is_offered(const struct pm_keymap *map, enum pm_verb verb)
{
    for (size_t i = 0; i < map->count; i++)
        if (map->offers[i].action->verb == verb)
            return true;
    return false;
}

/* The verbs whose actions have ids of their own. */
static void dump_verbs(const struct pm_keymap *map, struct pm_text *out)
{
    for (int verb = PM_VERB_NONE + 1; verb < PM_VERBS; verb++) {
        const struct pm_verb_row *row = &pm_verbs[verb];
        if (row->group != NULL || !is_offered(map, (enum pm_verb)verb))
            continue;
        pm_text_addf(out, "In every room\t%s\t", row->id);
        for (const char *at = row->keys; *at != '\0'; at++)
            pm_text_add_bytes(out, *at == ' ' ? ", " : at, *at == ' ' ? 2 : 1);
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

/* ---- conflicts ------------------------------------------------------------------------------- */

/* A key that two offers share in one room and mode, or NULL. A general action gives way to one that
 * is not. */
static const struct pm_key *shared_key(const struct pm_keymap *map, const struct pm_offered *a,
                                       const struct pm_offered *b)
{
    const struct pm_binding *one = pm_offered_binding(map, a), *other = pm_offered_binding(map, b);
    const uint32_t modes = a->action->modes & b->action->modes;
    const bool meet = a->room == b->room || a->room == PM_ANYWHERE || b->room == PM_ANYWHERE;
    if (!meet || one == other || pm_action_general(a->action) != pm_action_general(b->action))
        return NULL;
    for (size_t i = 0; i < one->key_count; i++) {
        uint32_t there = modes;
        if (pm_key_prints(one->keys[i]))
            there &= ~(uint32_t)PM_MODE_TEXT;
        if (there && binding_has(other, one->keys[i]))
            return &one->keys[i];
    }
    return NULL;
}

/* The first offer that shares a key with one of binding n, or NULL. */
static const struct pm_offered *rival_of(const struct pm_keymap *map, size_t n,
                                         const struct pm_key **key)
{
    for (size_t i = 0; i < map->count; i++)
        for (size_t k = 0; map->offers[i].binding == n && k < map->count; k++)
            if ((*key = shared_key(map, &map->offers[i], &map->offers[k])))
                return &map->offers[k];
    return NULL;
}

static bool only_function_keys(const struct pm_binding *binding)
{
    for (size_t i = 0; i < binding->key_count; i++)
        if (binding->keys[i].code < PM_KEY_F1)
            return false;
    return binding->key_count > 0;
}

enum pm_status pm_keymap_check(const struct pm_keymap *map, struct pm_error *err)
{
    char name[PM_KEY_TEXT];
    for (size_t i = 0; i < map->binding_count; i++) {
        const char *id = map->bindings[i].id;
        const struct pm_key *key;
        const struct pm_offered *rival = rival_of(map, i, &key);
        if (rival != NULL)
            return pm_fail(err, PM_REFUSED, "The key %s means both \"%s\" and \"%s\".",
                           pm_key_name(*key, name), id, pm_action_id(rival->action));
        if (only_function_keys(&map->bindings[i]))
            return pm_fail(err, PM_REFUSED, "The action \"%s\" has function keys only.", id);
    }
    return PM_OK;
}

/* ---- the user's keys ------------------------------------------------------------------------- */

struct complaint {
    void (*complain)(void *context, const char *sentence);
    void *context;
};

static void complain(const struct complaint *to, const char *format, ...)
    __attribute__((format(printf, 2, 3)));

static void complain(const struct complaint *to, const char *format, ...)
{
    struct pm_text text = PM_TEXT_EMPTY;
    va_list args;
    va_start(args, format);
    pm_text_addv(&text, format, args);
    va_end(args);
    if (pm_text_ok(&text))
        to->complain(to->context, pm_text_get(&text));
    pm_text_release(&text);
}

static void default_keys(struct pm_binding *binding)
{
    const char *bad;
    size_t length;
    keys_read(binding->defaults, binding->keys, &binding->key_count, &bad, &length);
}

/* The default keys that cannot be taken away. */
static void keep_named_keys(struct pm_binding *binding)
{
    size_t kept = 0;
    default_keys(binding);
    for (size_t i = 0; i < binding->key_count; i++)
        if (binding->keys[i].code > PM_KEY_NONE)
            binding->keys[kept++] = binding->keys[i];
    binding->key_count = kept;
}

static bool is_word(const char *id, const char *word, size_t length)
{
    return strlen(id) == length && memcmp(id, word, length) == 0;
}

/* Whether the binding belongs to an action that is this verb in some room. */
static bool has_verb(const struct pm_keymap *map, size_t binding, const char *word, size_t length)
{
    for (size_t i = 0; i < map->count; i++) {
        const enum pm_verb verb = map->offers[i].action->verb;
        if (map->offers[i].binding == binding && verb != PM_VERB_NONE &&
            is_word(pm_verbs[verb].id, word, length))
            return true;
    }
    return false;
}

/* The user's first key comes first in hints. False when the binding has no room for so many. */
static bool give_keys(struct pm_binding *binding, const struct pm_key *keys, size_t count)
{
    struct pm_binding changed = *binding;
    keep_named_keys(&changed);
    if (changed.key_count + count > PM_ACTION_KEYS)
        return false;
    memmove(&changed.keys[count], changed.keys, changed.key_count * sizeof *keys);
    memcpy(changed.keys, keys, count * sizeof *keys);
    changed.key_count += count;
    *binding = changed;
    return true;
}

/* The keys behind the first word of a line; says why not otherwise. */
static bool user_keys(const char *line, size_t number, const struct complaint *to,
                      struct pm_key *keys, size_t *count)
{
    const size_t id = strcspn(line, " \t");
    const char *rest = line + id + strspn(line + id, " \t");
    const char *bad = rest;
    size_t length = 0;
    *count = 0;
    if (strcmp(rest, "none") == 0)
        return true;
    if (!keys_read(rest, keys, count, &bad, &length))
        complain(to, "Key file, line %zu: \"%.*s\" is no key, or one too many.", number,
                 (int)length, bad);
    else if (*count == 0)
        complain(to, "Key file, line %zu: say which key \"%.*s\" gets, or none.", number, (int)id,
                 line);
    else
        return true;
    return false;
}

/* One line without comment and line end; notes its number at the bindings that it changed: the
 * action's, or of a verb those of all its actions. */
static void user_line(struct pm_keymap *map, const char *line, size_t number, size_t *lines,
                      const struct complaint *to)
{
    const size_t id = strcspn(line, " \t");
    const bool named = binding_named(map, line, id) != NULL;
    struct pm_key keys[PM_ACTION_KEYS];
    size_t count, changed = 0;
    bool fits = true;
    if (!user_keys(line, number, to, keys, &count))
        return;
    for (size_t i = 0; i < map->binding_count; i++) {
        if (named ? !is_word(map->bindings[i].id, line, id) : !has_verb(map, i, line, id))
            continue;
        changed++;
        if (give_keys(&map->bindings[i], keys, count))
            lines[i] = number;
        else
            fits = false;
    }
    if (changed == 0)
        complain(to, "Key file, line %zu: there is no action \"%.*s\".", number, (int)id, line);
    if (!fits)
        complain(to, "Key file, line %zu: \"%.*s\" gets too many keys.", number, (int)id, line);
}

/* Takes back what makes a key mean two things, until no user line does. Keys may be swapped between
 * actions, so this can only be judged once all lines are read. */
static void user_conflicts(struct pm_keymap *map, size_t *lines, const struct complaint *to)
{
    char name[PM_KEY_TEXT];
    bool again = true;
    while (again) {
        again = false;
        for (size_t i = map->binding_count; i-- > 0;) {
            const struct pm_key *key;
            const struct pm_offered *rival = lines[i] ? rival_of(map, i, &key) : NULL;
            if (rival == NULL)
                continue;
            complain(to, "Key file, line %zu: %s already means \"%s\".", lines[i],
                     pm_key_name(*key, name), pm_action_name(rival->action));
            default_keys(&map->bindings[i]);
            lines[i] = 0;
            again = true;
        }
    }
}

void pm_keymap_user(struct pm_keymap *map, const char *text,
                    void (*report)(void *context, const char *sentence), void *context)
{
    struct complaint to = {report, context};
    size_t number = 0;
    /* The line that gave each binding its keys, 0 for none. */
    size_t *lines = pm_alloc_array(map->binding_count + 1, sizeof *lines);
    struct pm_text line = PM_TEXT_EMPTY;
    if (lines == NULL) {
        complain(&to, "The key file could not be read: out of memory.");
        return;
    }
    while (*text) {
        size_t length = strcspn(text, "\n");
        const char *start = text + strspn(text, " \t");
        const char *end = text + length;
        number++;
        while (end > start && strchr(" \t\r", end[-1]) != NULL)
            end--;
        pm_text_clear(&line);
        if (end > start && *start != '#')
            pm_text_add_bytes(&line, start, (size_t)(end - start));
        if (pm_text_ok(&line) && line.length > 0)
            user_line(map, pm_text_get(&line), number, lines, &to);
        text += length + (text[length] == '\n');
    }
    user_conflicts(map, lines, &to);
    pm_text_release(&line);
    pm_free(lines);
}
