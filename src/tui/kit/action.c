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
    pm_free(map->bindings);
    pm_keymap_init(map);
}

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
    for (size_t i = 0; i < map->count; i++) {
        const char *name = map->bindings[i].action->id;
        if (strlen(name) == length && memcmp(name, id, length) == 0)
            return &map->bindings[i];
    }
    return NULL;
}

enum pm_status pm_keymap_add(struct pm_keymap *map, const struct pm_action *actions, size_t count,
                             struct pm_error *err)
{
    void *bindings = map->bindings;
    bool grown = pm_grow(&bindings, &map->capacity, map->count + count, sizeof *map->bindings);
    map->bindings = bindings;
    if (!grown)
        return pm_fail_memory(err);
    size_t before = map->count;
    for (size_t i = 0; i < count; i++) {
        struct pm_binding binding = {.action = &actions[i]};
        const char *bad = "";
        size_t length = 0;
        enum pm_status status = PM_OK;
        if (binding_named(map, actions[i].id, strlen(actions[i].id)))
            status = pm_fail(err, PM_INVALID, "The action \"%s\" stands twice.", actions[i].id);
        else if (!keys_read(actions[i].keys, binding.keys, &binding.key_count, &bad, &length))
            status =
                pm_fail(err, PM_INVALID, "The action \"%s\" has the key \"%.*s\", which is none.",
                        actions[i].id, (int)length, bad);
        if (status) {
            map->count = before;
            return status;
        }
        map->bindings[map->count++] = binding;
    }
    return PM_OK;
}

/* ---- looking up ------------------------------------------------------------------------------ */

bool pm_action_valid(const struct pm_action *action, int room, unsigned mode)
{
    return (action->rooms >> room & 1) && (action->modes & mode);
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
        const struct pm_action *action = map->bindings[i].action;
        if (!pm_action_valid(action, room, mode) || !binding_has(&map->bindings[i], key))
            continue;
        if (!action->general)
            return action;
        if (!general)
            general = action;
    }
    return general;
}

static const struct pm_binding *binding_of(const struct pm_keymap *map, int code)
{
    for (size_t i = 0; i < map->count; i++)
        if (map->bindings[i].action->code == code)
            return &map->bindings[i];
    return NULL;
}

const struct pm_action *pm_keymap_action(const struct pm_keymap *map, int code)
{
    const struct pm_binding *binding = binding_of(map, code);
    return binding ? binding->action : NULL;
}

const char *pm_keymap_key(const struct pm_keymap *map, int code, unsigned mode, char *buf)
{
    const struct pm_binding *binding = binding_of(map, code);
    for (size_t i = 0; binding && i < binding->key_count; i++)
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

void pm_keymap_dump(const struct pm_keymap *map, struct pm_text *out)
{
    for (size_t i = 0; i < map->count; i++) {
        const struct pm_action *action = map->bindings[i].action;
        pm_text_addf(out, "%s\t%s\t", action->group, action->id);
        pm_binding_keys(&map->bindings[i], out);
        pm_text_addf(out, "\t%s\t%s\n", action->name, action->help);
    }
}

/* ---- conflicts ------------------------------------------------------------------------------- */

/* A key that two actions share in one room and mode, or NULL. A general action gives way to one
 * that is not. */
static const struct pm_key *shared_key(const struct pm_binding *a, const struct pm_binding *b)
{
    uint32_t modes = a->action->modes & b->action->modes;
    if (!(a->action->rooms & b->action->rooms) || a->action->general != b->action->general)
        return NULL;
    for (size_t i = 0; i < a->key_count; i++) {
        uint32_t there = modes;
        if (pm_key_prints(a->keys[i]))
            there &= ~(uint32_t)PM_MODE_TEXT;
        if (there && binding_has(b, a->keys[i]))
            return &a->keys[i];
    }
    return NULL;
}

/* The first binding that shares a key with number n (itself aside), or NULL. */
static const struct pm_binding *rival_of(const struct pm_keymap *map, size_t n,
                                         const struct pm_key **key)
{
    for (size_t i = 0; i < map->count; i++)
        if (i != n && (*key = shared_key(&map->bindings[n], &map->bindings[i])))
            return &map->bindings[i];
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
    for (size_t i = 0; i < map->count; i++) {
        const struct pm_action *action = map->bindings[i].action;
        const struct pm_key *key;
        const struct pm_binding *rival = rival_of(map, i, &key);
        if (rival)
            return pm_fail(err, PM_REFUSED, "The key %s means both \"%s\" and \"%s\".",
                           pm_key_name(*key, name), action->id, rival->action->id);
        if (only_function_keys(&map->bindings[i]))
            return pm_fail(err, PM_REFUSED, "The action \"%s\" has function keys only.",
                           action->id);
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
    keys_read(binding->action->keys, binding->keys, &binding->key_count, &bad, &length);
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

/* One line without comment and line end. Returns the binding it changed, or NULL. */
static struct pm_binding *user_line(struct pm_keymap *map, const char *line, size_t number,
                                    const struct complaint *to)
{
    size_t id = strcspn(line, " \t");
    struct pm_binding *binding = binding_named(map, line, id);
    if (!binding) {
        complain(to, "Key file, line %zu: there is no action \"%.*s\".", number, (int)id, line);
        return NULL;
    }
    struct pm_binding changed = *binding;
    struct pm_key keys[PM_ACTION_KEYS];
    size_t count = 0, length = 0;
    const char *rest = line + id + strspn(line + id, " \t");
    const char *bad = rest;
    keep_named_keys(&changed);
    bool none = strcmp(rest, "none") == 0;
    if (!none && !keys_read(rest, keys, &count, &bad, &length)) {
        complain(to, "Key file, line %zu: \"%.*s\" is no key, or one too many.", number,
                 (int)length, bad);
        return NULL;
    }
    if (!none && count == 0) {
        complain(to, "Key file, line %zu: say which key \"%.*s\" gets, or none.", number, (int)id,
                 line);
        return NULL;
    }
    if (changed.key_count + count > PM_ACTION_KEYS) {
        complain(to, "Key file, line %zu: \"%.*s\" gets too many keys.", number, (int)id, line);
        return NULL;
    }
    /* The user's first key comes first in hints. */
    memmove(&changed.keys[count], changed.keys, changed.key_count * sizeof *keys);
    memcpy(changed.keys, keys, count * sizeof *keys);
    changed.key_count += count;
    *binding = changed;
    return binding;
}

/* Takes back what makes a key mean two things, until no user line does. Keys may be swapped between
 * actions, so this can only be judged once all lines are read. */
static void user_conflicts(struct pm_keymap *map, size_t *lines, const struct complaint *to)
{
    char name[PM_KEY_TEXT];
    bool again = true;
    while (again) {
        again = false;
        for (size_t i = map->count; i-- > 0;) {
            const struct pm_key *key;
            const struct pm_binding *rival = lines[i] ? rival_of(map, i, &key) : NULL;
            if (!rival)
                continue;
            complain(to, "Key file, line %zu: %s already means \"%s\".", lines[i],
                     pm_key_name(*key, name), rival->action->name);
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
    size_t *lines = pm_alloc_array(map->count + 1, sizeof *lines);
    struct pm_text line = PM_TEXT_EMPTY;
    if (!lines) {
        complain(&to, "The key file could not be read: out of memory.");
        return;
    }
    while (*text) {
        size_t length = strcspn(text, "\n");
        const char *start = text + strspn(text, " \t");
        const char *end = text + length;
        number++;
        while (end > start && strchr(" \t\r", end[-1]))
            end--;
        pm_text_clear(&line);
        if (end > start && *start != '#')
            pm_text_add_bytes(&line, start, (size_t)(end - start));
        if (pm_text_ok(&line) && line.length > 0) {
            struct pm_binding *binding = user_line(map, pm_text_get(&line), number, &to);
            if (binding)
                lines[binding - map->bindings] = number;
        }
        text += length + (text[length] == '\n');
    }
    user_conflicts(map, lines, &to);
    pm_text_release(&line);
    pm_free(lines);
}
