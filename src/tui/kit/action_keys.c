/* SPDX-License-Identifier: MIT */
/* Which key means what: conflicts, and the keys a person gives. */
#include "action_inside.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/base/word.h"

#include <stdio.h>
#include <string.h>

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
        if (there && pm_binding_has(other, one->keys[i]))
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

static void default_keys(struct pm_binding *binding)
{
    const char *bad;
    size_t length;
    pm_keys_read(binding->defaults, binding->keys, &binding->key_count, &bad, &length);
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

/* Whether the word, an action's id or a verb's, is about that binding. */
static bool is_about(const struct pm_keymap *map, size_t binding, const char *word, size_t length)
{
    return pm_binding_named(map, word, length) != NULL
               ? is_word(map->bindings[binding].id, word, length)
               : has_verb(map, binding, word, length);
}

/* Names of keys, or "none". */
static enum pm_status read_keys(const char *text, struct pm_key *keys, size_t *count,
                                struct pm_error *err)
{
    const char *bad = text;
    size_t length = 0;
    *count = 0;
    char name[PM_KEY_TEXT];
    if (strcmp(text, "none") != 0 && !pm_keys_read(text, keys, count, &bad, &length))
        return pm_fail(err, PM_INVALID, "\"%.*s\" is no key, or one too many.", (int)length, bad);
    for (size_t i = 0; i < *count; i++)
        if (pm_key_begins_number(keys[i]))
            return pm_fail(err, PM_INVALID, "%s begins a number: it cannot be a key.",
                           pm_key_name(keys[i], name));
    return PM_OK;
}

/* Gives all that the word is about those keys; notes the line's number at what changed. */
static enum pm_status give_word(struct pm_keymap *map, const char *word, size_t length,
                                const char *text, size_t number, size_t *lines,
                                struct pm_error *err)
{
    struct pm_key keys[PM_ACTION_KEYS];
    size_t count = 0, changed = 0;
    const bool usual = pm_is_blank(text);
    bool fits = true;
    const enum pm_status status = usual ? PM_OK : read_keys(text, keys, &count, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < map->binding_count; i++) {
        if (!is_about(map, i, word, length))
            continue;
        changed++;
        if (usual)
            default_keys(&map->bindings[i]);
        else if (!give_keys(&map->bindings[i], keys, count))
            fits = false;
        lines[i] = fits ? number : lines[i];
    }
    if (changed == 0)
        return pm_fail(err, PM_MISSING, "There is no action \"%.*s\".", (int)length, word);
    return fits ? PM_OK
                : pm_fail(err, PM_INVALID, "\"%.*s\" gets too many keys.", (int)length, word);
}

/* ---- one that is asked for ---- */

static enum pm_status fail_taken(const struct pm_key *key, const struct pm_offered *rival,
                                 struct pm_error *err)
{
    char name[PM_KEY_TEXT];
    return pm_fail(err, PM_REFUSED, "%s already means \"%s\" (%s).", pm_key_name(*key, name),
                   pm_action_name(rival->action), pm_action_group(rival->action));
}

static enum pm_status try_word(struct pm_keymap *map, const char *id, const char *keys,
                               size_t *lines, struct pm_error *err)
{
    enum pm_status status = give_word(map, id, strlen(id), keys, 1, lines, err);
    for (size_t i = 0; status == PM_OK && i < map->binding_count; i++) {
        const struct pm_key *key;
        const struct pm_offered *rival = lines[i] != 0 ? rival_of(map, i, &key) : NULL;
        if (rival != NULL)
            status = fail_taken(key, rival, err);
    }
    return status;
}

enum pm_status pm_keymap_may_give(const struct pm_keymap *map, const char *id, const char *keys,
                                  struct pm_error *err)
{
    struct pm_keymap trial = *map;
    size_t *lines = pm_alloc_array(map->binding_count + 1, sizeof *lines);
    enum pm_status status = PM_NOMEM;
    trial.bindings = pm_alloc_array(map->binding_count + 1, sizeof *trial.bindings);
    if (lines == NULL || trial.bindings == NULL) {
        (void)pm_fail_memory(err);
    } else {
        memcpy(trial.bindings, map->bindings, map->binding_count * sizeof *trial.bindings);
        status = try_word(&trial, id, keys, lines, err);
    }
    pm_free(trial.bindings);
    pm_free(lines);
    return status;
}

/* ---- the key file ---- */

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

/* One line without comment and line end. */
static void user_line(struct pm_keymap *map, const char *line, size_t number, size_t *lines,
                      const struct complaint *to)
{
    const size_t id = strcspn(line, " \t");
    const char *rest = line + id + strspn(line + id, " \t");
    struct pm_error why;
    if (*rest == '\0')
        complain(to, "Key file, line %zu: say which key \"%.*s\" gets, or none.", number, (int)id,
                 line);
    else if (give_word(map, line, id, rest, number, lines, &why) != PM_OK)
        complain(to, "Key file, line %zu: %s", number, why.text);
}

/* Takes back what makes a key mean two things, until no user line does. Keys may be swapped between
 * actions, so this can only be judged once all lines are read. */
static void user_conflicts(struct pm_keymap *map, size_t *lines, const struct complaint *to)
{
    struct pm_error why;
    bool again = true;
    while (again) {
        again = false;
        for (size_t i = map->binding_count; i-- > 0;) {
            const struct pm_key *key;
            const struct pm_offered *rival = lines[i] ? rival_of(map, i, &key) : NULL;
            if (rival == NULL)
                continue;
            (void)fail_taken(key, rival, &why);
            complain(to, "Key file, line %zu: %s", lines[i], why.text);
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
    for (size_t i = 0; i < map->binding_count; i++)
        default_keys(&map->bindings[i]);
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
