/* SPDX-License-Identifier: MIT */
/* The book of rules in use, and which of them a material is about. */
#include "rulebook.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/store/facts.h"

#include <string.h>

/* Keys of materials that are no substance of any list: far below those of substances. */
#define MATERIAL_KEY(id) (-(id)-1000)

/* ---- keeping ---- */

static void known_free(struct pm_known *known)
{
    pm_list_release(known);
    pm_free(known);
}

static void unit_free(struct pm_flat *flat)
{
    pm_flat_release(flat);
    pm_free(flat);
}

struct pm_limits_world *pm_limits_world_keep(struct pm_limits_world *world)
{
    world->uses++;
    return world;
}

void pm_limits_world_drop(struct pm_limits_world *world)
{
    if (world == NULL || --world->uses > 0)
        return;
    for (size_t i = 0; i < world->book.count; i++) {
        pm_free(world->book.items[i].members);
        pm_free(world->book.items[i].doubtful);
    }
    for (size_t i = 0; i < world->known.capacity; i++)
        if (world->known.slots[i].value.pointer != NULL)
            known_free(world->known.slots[i].value.pointer);
    for (size_t i = 0; i < world->units.capacity; i++)
        if (world->units.slots[i].value.pointer != NULL)
            unit_free(world->units.slots[i].value.pointer);
    pm_map_release(&world->known);
    pm_map_release(&world->units);
    pm_map_release(&world->titles);
    pm_list_release(&world->book);
    pm_list_release(&world->names);
    pm_list_release(&world->numbers);
    pm_list_release(&world->wholes);
    pm_arena_release(&world->arena);
    pm_free(world);
}

void pm_limits_forget(struct pm_studio *studio)
{
    pm_limits_world_drop(studio->limits);
    studio->limits = NULL;
}

enum pm_status pm_limits_world(struct pm_studio *studio, struct pm_limits_world **out,
                               struct pm_error *err)
{
    if (studio->limits == NULL) {
        struct pm_limits_world *world = pm_alloc_array(1, sizeof *world);
        if (world == NULL)
            return pm_fail_memory(err);
        world->uses = 1;
        enum pm_status status = pm_rulebook_read(studio, world, err);
        if (status != PM_OK) {
            pm_limits_world_drop(world);
            return status;
        }
        studio->limits = world;
    }
    *out = studio->limits;
    return PM_OK;
}

const char *pm_limits_title(const struct pm_limits_world *world, int64_t key)
{
    const char *title = pm_map_get(&world->titles, key);
    return title != NULL ? title : "";
}

/* ---- members of rules ---- */

static bool add_to(int64_t **list, size_t *count, size_t *room, int64_t key)
{
    for (size_t i = 0; i < *count; i++)
        if ((*list)[i] == key)
            return true;
    if (!pm_grow(list, room, *count + 1, sizeof **list))
        return false;
    (*list)[(*count)++] = key;
    return true;
}

static bool add_member(struct pm_book_rule *rule, int64_t key, bool doubt)
{
    return doubt ? add_to(&rule->doubtful, &rule->doubtful_count, &rule->doubtful_room, key)
                 : add_to(&rule->members, &rule->member_count, &rule->member_room, key);
}

static bool is_member(const struct pm_book_rule *rule, int64_t key)
{
    for (size_t i = 0; i < rule->member_count; i++)
        if (rule->members[i] == key)
            return true;
    return false;
}

/* To the rule, and to those that sum or share it. */
static bool add_everywhere(struct pm_limits_world *world, size_t place, int64_t key, bool doubt)
{
    bool done = add_member(&world->book.items[place], key, doubt);
    for (size_t i = 0; i < world->book.count && done; i++) {
        struct pm_book_rule *joint = &world->book.items[i];
        for (size_t k = 0; k < joint->of_count && done; k++)
            if (joint->of[k] == place)
                done = add_member(joint, key, doubt);
    }
    return done;
}

/* The first place of a text among sorted keys, or their number. */
static size_t first_key(const struct pm_rule_keys *keys, const char *text)
{
    size_t low = 0, high = keys->count;
    while (low < high) {
        size_t middle = low + (high - low) / 2;
        if (strcmp(keys->items[middle].text, text) < 0)
            low = middle + 1;
        else
            high = middle;
    }
    return low;
}

static enum pm_status match_name(struct pm_limits_world *world, int64_t key, const char *name,
                                 struct pm_error *err)
{
    char *folded = name != NULL ? pm_fold(name) : NULL;
    if (name != NULL && folded == NULL)
        return pm_fail_memory(err);
    enum pm_status status = PM_OK;
    for (size_t i = folded != NULL ? first_key(&world->names, folded) : world->names.count;
         i < world->names.count && strcmp(world->names.items[i].text, folded) == 0; i++)
        if (!add_everywhere(world, world->names.items[i].rule, key, false))
            status = pm_fail_memory(err);
    pm_free(folded);
    return status;
}

/* Whether the key is, by name, already a member of a rule of that set. */
static bool settled_in(const struct pm_limits_world *world, const char *set, int64_t key)
{
    for (size_t i = 0; i < world->book.count; i++) {
        const struct pm_book_rule *rule = &world->book.items[i];
        if (strcmp(rule->set, set) == 0 && is_member(rule, key))
            return true;
    }
    return false;
}

static enum pm_status match_number(struct pm_limits_world *world, int64_t key, const char *cas,
                                   bool natural, struct pm_error *err)
{
    for (size_t i = cas != NULL ? first_key(&world->numbers, cas) : world->numbers.count;
         i < world->numbers.count && strcmp(world->numbers.items[i].text, cas) == 0; i++) {
        size_t place = world->numbers.items[i].rule;
        const struct pm_book_rule *rule = &world->book.items[place];
        if (is_member(rule, key) || (natural && settled_in(world, rule->set, key)))
            continue;
        if (!add_everywhere(world, place, key, natural))
            return pm_fail_memory(err);
    }
    return PM_OK;
}

static enum pm_status give_title(struct pm_limits_world *world, int64_t key, const char *name,
                                 struct pm_error *err)
{
    if (pm_map_get(&world->titles, key) != NULL)
        return PM_OK;
    char *copy = pm_arena_text(&world->arena, name);
    return copy != NULL && pm_map_put(&world->titles, key, copy) ? PM_OK : pm_fail_memory(err);
}

/* ---- a material ---- */

struct gathering {
    struct pm_studio *studio;
    struct pm_limits_world *world;
    struct pm_known *known;
    bool own; /* constituents of the person's own were seen */
    enum pm_status status;
    struct pm_error *err;
};

/* The person's own list stands alone; it comes first. */
static bool add_content(struct gathering *gathering, const struct pm_constituent *item)
{
    struct pm_known *known = gathering->known;
    gathering->own = gathering->own || item->origin == PM_OWN;
    if (gathering->own && item->origin != PM_OWN)
        return true;
    for (size_t i = 0; i < known->count; i++)
        if (known->items[i].substance == item->substance)
            return true; /* the material itself, or the same under two names */
    struct pm_content *content = pm_list_add(known);
    if (content == NULL) {
        gathering->status = pm_fail_memory(gathering->err);
        return false;
    }
    *content = (struct pm_content){item->substance, item->least, item->typical, item->most};
    gathering->status = give_title(gathering->world, item->substance, item->name, gathering->err);
    if (gathering->status == PM_OK)
        gathering->status =
            match_name(gathering->world, item->substance, item->name, gathering->err);
    if (gathering->status == PM_OK)
        gathering->status =
            match_number(gathering->world, item->substance, item->cas, false, gathering->err);
    return gathering->status == PM_OK;
}

/* ---- wholes and their parts ---- */

static struct pm_content *content_named(const struct pm_limits_world *world,
                                        const struct pm_known *known, const char *folded)
{
    for (size_t i = 1; i < known->count; i++)
        if (pm_fold_equal(pm_limits_title(world, known->items[i].substance), folded))
            return &known->items[i];
    return NULL;
}

static void count_as_nothing(struct pm_content *content)
{
    content->least = content->typical = content->most = 0;
}

static bool is_known(const struct pm_content *content)
{
    return content->typical != PM_UNKNOWN || content->most != PM_UNKNOWN;
}

/* Whether `other` is a member of every rule that `one` is a member of. */
static bool counts_with(const struct pm_limits_world *world, const struct pm_content *one,
                        const struct pm_content *other)
{
    for (size_t i = 0; i < world->book.count; i++)
        if (is_member(&world->book.items[i], one->substance) &&
            !is_member(&world->book.items[i], other->substance))
            return false;
    return true;
}

/* What of the whole's figure its parts do not account for. */
static pm_strength beyond(const struct pm_content *sum, enum pm_content_basis basis,
                          pm_strength parts)
{
    const pm_strength figure = pm_content_counts(sum, basis);
    return figure > parts ? figure - parts : 0;
}

/* Where a material's list has both a sum and what it is the sum of, none of it counts twice: the
 * whole counts for what is more in it than in its parts, so that together they are the higher of
 * the two figures. Only where each rule about the one is about the other, too: what a rule says
 * nothing of must not lessen what it counts. */
static void settle_whole(const struct pm_limits_world *world, const struct pm_whole *whole,
                         struct pm_known *known)
{
    struct pm_content *sum = content_named(world, known, whole->name);
    size_t figures = 0;
    pm_strength typical = 0, most = 0;
    for (size_t i = 0; i < whole->count && sum != NULL; i++) {
        struct pm_content *part = content_named(world, known, whole->parts[i]);
        if (part == NULL)
            continue;
        if (is_known(part) && counts_with(world, sum, part)) {
            figures++;
            typical += pm_content_counts(part, PM_BY_TYPICAL);
            most += pm_content_counts(part, PM_BY_MOST);
        } else if (!is_known(part) && is_known(sum) && counts_with(world, part, sum))
            count_as_nothing(part);
    }
    if (figures == 0)
        return;
    if (is_known(sum))
        *sum = (struct pm_content){.substance = sum->substance,
                                   .typical = beyond(sum, PM_BY_TYPICAL, typical),
                                   .most = beyond(sum, PM_BY_MOST, most)};
    else if (figures == whole->count)
        count_as_nothing(sum);
}

/* ---- reading ---- */

static enum pm_status match_synonyms(struct pm_limits_world *world, int64_t key, char *list,
                                     struct pm_error *err)
{
    enum pm_status status = PM_OK;
    while (list != NULL && *list && status == PM_OK)
        status = match_name(world, key, strsep(&list, "\n"), err);
    return status;
}

static enum pm_status add_constituents(struct gathering *gathering, int64_t material,
                                       struct pm_error *err)
{
    struct pm_constituents list;
    const enum pm_status status =
        pm_constituents_list(gathering->studio->library, material, &list, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < list.count && add_content(gathering, &list.items[i]); i++) {
    }
    pm_list_release(&list);
    return gathering->status;
}

static enum pm_status read_known(struct gathering *gathering, int64_t material,
                                 struct pm_error *err)
{
    struct pm_known *known = gathering->known;
    struct pm_limits_world *world = gathering->world;
    struct pm_library *library = gathering->studio->library;
    struct pm_matter row;
    enum pm_status status = pm_matter_get(library, material, &known->arena, &row, err);
    if (status != PM_OK)
        return status;
    known->natural = row.kind == PM_NATURAL || row.kind == PM_BLEND;
    known->name = row.name;
    known->key = row.named != 0                         ? row.named
                 : !known->natural && row.numbered != 0 ? row.numbered
                                                        : MATERIAL_KEY(material);
    status = give_title(world, known->key, row.name, err);
    const struct pm_constituent itself = {.origin = PM_STARTER,
                                          .substance = known->key,
                                          .name = row.name,
                                          .least = PM_NEAT,
                                          .typical = PM_NEAT,
                                          .most = PM_NEAT};
    if (status == PM_OK) {
        add_content(gathering, &itself);
        status = gathering->status;
    }
    if (status == PM_OK)
        status = match_synonyms(world, known->key, pm_arena_text(&known->arena, row.synonyms), err);
    if (status == PM_OK)
        status = match_number(world, known->key, row.cas, known->natural, err);
    if (status == PM_OK && row.has_constituents)
        status = add_constituents(gathering, material, err);
    known->bare = known->natural && known->count == 1;
    for (size_t i = 0; i < world->wholes.count && status == PM_OK && known->count > 1; i++)
        settle_whole(world, &world->wholes.items[i], known);
    return status == PM_OK ? pm_arena_status(&known->arena, err) : status;
}

enum pm_status pm_limits_known(struct pm_studio *studio, struct pm_limits_world *world,
                               int64_t material, struct pm_known **out, struct pm_error *err)
{
    *out = pm_map_get(&world->known, material);
    if (*out != NULL)
        return PM_OK;
    struct pm_known *known = pm_alloc_array(1, sizeof *known);
    if (known == NULL)
        return pm_fail_memory(err);
    struct gathering gathering = {studio, world, known, false, PM_OK, err};
    enum pm_status status = read_known(&gathering, material, err);
    if (status == PM_OK && !pm_map_put(&world->known, material, known))
        status = pm_fail_memory(err);
    if (status != PM_OK) {
        known_free(known);
        return status;
    }
    *out = known;
    return PM_OK;
}

enum pm_status pm_limits_unit(struct pm_studio *studio, struct pm_limits_world *world,
                              int64_t trial, const struct pm_flat **out, struct pm_error *err)
{
    struct pm_flat *flat = pm_map_get(&world->units, trial);
    if (flat == NULL) {
        struct pm_line line = {
            .id = 1, .kind = PM_LINE_ACCORD, .ref = trial, .strength = PM_NEAT, .parts = PM_UNIT};
        const struct pm_trial one = {.base = PM_UNIT, .next_id = 2, .lines = &line, .count = 1};
        struct pm_accords accords = {studio, NULL};
        struct pm_trial_source source = pm_accords_source(&accords);
        flat = pm_alloc_array(1, sizeof *flat);
        if (flat == NULL)
            return pm_fail_memory(err);
        enum pm_status status = pm_flatten(&one, &source, flat, err);
        if (status == PM_OK && !pm_map_put(&world->units, trial, flat)) {
            pm_flat_release(flat);
            status = pm_fail_memory(err);
        }
        if (status != PM_OK) {
            pm_free(flat);
            return status;
        }
    }
    *out = flat;
    return PM_OK;
}
