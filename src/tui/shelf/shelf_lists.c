/* SPDX-License-Identifier: MIT */
/* The Shelf: families to filter by, two materials that are one, values of one's own. */
#include "shelf.h"

#include "kit/overlay.h"

#include "permille/base/mem.h"
#include "permille/core/fact.h"

#include <string.h>

#define FOUND_MOST 200 /* materials shown while searching */

/* ---- families ---- */

struct families {
    struct shelf *shelf;
    struct pm_families all;
};

static void families_closed(void *context)
{
    struct families *families = context;
    pm_list_release(&families->all);
}

/* The first row is for all of them, NULL. */
static const struct pm_family *family_at(const struct families *families, size_t index)
{
    return index > 0 ? &families->all.items[index - 1] : NULL;
}

static void families_words(void *context, size_t index, struct pm_text *out)
{
    const struct pm_family *family = family_at(context, index);
    pm_text_add(out, family != NULL ? family->name : "");
}

static void families_row(void *context, size_t index, struct pm_pick_row *row)
{
    const struct pm_family *family = family_at(context, index);
    pm_text_add(&row->cells[0], family != NULL ? family->name : "any family");
    if (family != NULL)
        pm_text_addf(&row->cells[1], "%lld", (long long)family->materials);
    row->role = family != NULL ? PM_ROLE_NORMAL : PM_ROLE_FAINT;
}

static enum pm_status families_accept(void *context, size_t index, const char *text,
                                      struct pm_error *err)
{
    struct families *families = context;
    struct shelf *shelf = families->shelf;
    const struct pm_family *family = family_at(families, index);
    char *name = family != NULL ? pm_strdup(family->name) : NULL;
    (void)text;
    if (family != NULL && name == NULL)
        return pm_fail_memory(err);
    pm_free(shelf->family);
    shelf->family = name;
    shelf->inside = false;
    shelf->list.row = 0;
    shelf->limit = SHELF_FIRST;
    shelf_read_list(shelf);
    return PM_OK;
}

void shelf_pick_family(struct shelf *shelf)
{
    struct pm_error err = {0};
    struct families families = {.shelf = shelf};
    if (pm_shelf_families(shelf->house->studio, &families.all, &err) != PM_OK) {
        pm_app_error(shelf->app, &err);
        return;
    }
    const struct pm_picker_spec spec = {
        .title = "Show one family",
        .label = "Family",
        .columns = {{.heading = "family", .wish = 4, .grows = true},
                    {.heading = "materials", .wish = 9, .align = PM_ALIGN_RIGHT}},
        .column_count = 2,
        .count = families.all.count + 1,
        .words = families_words,
        .row = families_row,
        .accept = families_accept,
        .none_hint = "No family is called so.",
        .none_yet = "No material has a family yet.",
        .closed = families_closed,
        .context = &families,
        .context_size = sizeof families,
    };
    pm_picker_open(shelf->app, &spec);
}

/* ---- two that are one ---- */

struct joining {
    struct shelf *shelf;
    int64_t from, into;
    char *from_name, *into_name; /* owned */
    struct pm_material_entries found;
};

static void joining_free(void *context)
{
    struct joining *joining = context;
    pm_list_release(&joining->found);
    pm_free(joining->from_name);
    pm_free(joining->into_name);
}

static enum pm_status join_sure(void *context, struct pm_error *err)
{
    struct joining *joining = context;
    struct shelf *shelf = joining->shelf;
    enum pm_status status = pm_shelf_merge(shelf->house->studio, joining->from, joining->into, err);
    if (status != PM_OK)
        return status;
    shelf_written(shelf, 0);
    shelf_show_material(shelf, joining->into);
    pm_app_say(shelf->app, "%s and %s are one now. Saved.", joining->from_name, joining->into_name);
    return PM_OK;
}

static size_t join_filter(void *context, const char *text, bool *more)
{
    struct joining *joining = context;
    struct pm_error err = {0};
    size_t kept = 0;
    pm_list_release(&joining->found);
    if (pm_shelf_search(joining->shelf->house->studio, text, FOUND_MOST, true, &joining->found,
                        &err) != PM_OK) {
        pm_app_error(joining->shelf->app, &err);
        joining->found = (struct pm_material_entries){0};
    }
    *more = joining->found.count == FOUND_MOST;
    /* It cannot be joined with itself: moved behind those shown, where it is still released. */
    while (kept < joining->found.count && joining->found.items[kept].id != joining->from)
        kept++;
    if (kept == joining->found.count)
        return kept;
    struct pm_material_entry self = joining->found.items[kept];
    memmove(&joining->found.items[kept], &joining->found.items[kept + 1],
            (joining->found.count - kept - 1) * sizeof self);
    joining->found.items[joining->found.count - 1] = self;
    return joining->found.count - 1;
}

static void join_row(void *context, size_t index, struct pm_pick_row *row)
{
    const struct joining *joining = context;
    const struct pm_material_entry *entry = &joining->found.items[index];
    pm_text_add(&row->cells[0], entry->name);
    pm_text_add(&row->cells[1], entry->matched != NULL ? entry->matched
                                : entry->cas != NULL   ? entry->cas
                                                       : "");
    pm_text_add(&row->cells[2], entry->family != NULL ? entry->family : "");
}

static enum pm_status join_accept(void *context, size_t index, const char *text,
                                  struct pm_error *err)
{
    const struct joining *joining = context;
    struct pm_text question = PM_TEXT_EMPTY;
    struct joining sure = {.shelf = joining->shelf,
                           .from = joining->from,
                           .into = joining->found.items[index].id,
                           .from_name = pm_strdup(joining->from_name),
                           .into_name = pm_strdup(joining->found.items[index].name)};
    (void)text;
    if (sure.from_name == NULL || sure.into_name == NULL) {
        joining_free(&sure);
        return pm_fail_memory(err);
    }
    pm_text_addf(&question,
                 "%s becomes %s: its bottles, names and own values follow, and every formula shows "
                 "%s from now on. Kept trials are not touched.",
                 sure.from_name, sure.into_name, sure.into_name);
    const struct pm_choice_spec spec = {
        .title = "Two materials that are one",
        .question = pm_text_get(&question),
        .options = {{'l', "leave them as two"}, {'j', "join them"}},
        .option_count = 2,
        .agreed = join_sure,
        .writes = true,
        .closed = joining_free,
        .context = &sure,
        .context_size = sizeof sure,
    };
    pm_choice_open(joining->shelf->app, &spec);
    pm_text_release(&question);
    return PM_OK;
}

void shelf_join(void *state)
{
    struct shelf *shelf = state;
    struct pm_text title = PM_TEXT_EMPTY;
    struct joining joining = {
        .shelf = shelf, .from = shelf->material, .from_name = pm_strdup(shelf_row(shelf)->name)};
    if (joining.from_name == NULL) {
        pm_app_warn(shelf->app, "Out of memory.");
        return;
    }
    pm_text_addf(&title, "%s is the same as...", joining.from_name);
    const struct pm_picker_spec spec = {
        .title = pm_text_get(&title),
        .label = "Material",
        .columns = {{.heading = "name", .wish = 4, .grows = true},
                    {.heading = "also / CAS", .wish = 20},
                    {.heading = "family", .wish = 12}},
        .column_count = 3,
        .filter = join_filter,
        .row = join_row,
        .accept = join_accept,
        .none_hint = "Nothing on the shelf is called so.",
        .none_yet = "There is nothing else on the shelf.",
        .closed = joining_free,
        .context = &joining,
        .context_size = sizeof joining,
    };
    pm_picker_open(shelf->app, &spec);
    pm_text_release(&title);
}

/* ---- values of one's own ---- */

struct owning {
    struct shelf *shelf;
    int64_t material;
    const struct pm_fact_property *property; /* being typed */
    struct pm_fact_entries facts;
};

static void owning_free(void *context)
{
    struct owning *owning = context;
    pm_list_release(&owning->facts);
}

/* The value that counts, or NULL. */
static const struct pm_fact_entry *fact_of(const struct owning *owning, const char *property)
{
    for (size_t i = 0; i < owning->facts.count; i++) {
        const struct pm_fact_entry *entry = &owning->facts.items[i];
        if (entry->stands && strcmp(entry->property, property) == 0)
            return entry;
    }
    return NULL;
}

static void own_words(void *context, size_t index, struct pm_text *out)
{
    (void)context;
    pm_text_add(out, pm_fact_properties[index].label);
}

static void own_row(void *context, size_t index, struct pm_pick_row *row)
{
    const struct owning *owning = context;
    const struct pm_fact_property *property = &pm_fact_properties[index];
    const struct pm_fact_entry *entry = fact_of(owning, property->word);
    pm_text_add(&row->cells[0], property->label);
    pm_text_add(&row->cells[1], entry != NULL ? entry->text : "unknown");
    pm_text_add(&row->cells[2], entry == NULL ? "" : entry->own ? "own" : entry->confidence);
    row->role = entry != NULL ? PM_ROLE_NORMAL : PM_ROLE_FAINT;
}

static enum pm_status own_write(void *context, const char *const values[], struct pm_error *err)
{
    struct owning *owning = context;
    struct shelf *shelf = owning->shelf;
    const char *source = values[1][strspn(values[1], " ")] ? values[1] : NULL;
    enum pm_status status = pm_shelf_set_fact(shelf->house->studio, owning->material,
                                              owning->property->word, values[0], source, err);
    if (status != PM_OK)
        return pm_error_at(err, "value", status);
    shelf_written(shelf, 0);
    pm_app_say(shelf->app, "%s: %s. Saved.", owning->property->label,
               values[0][strspn(values[0], " ")] ? "your own value counts now"
                                                 : "your own value is taken away");
    return PM_OK;
}

static enum pm_status own_accept(void *context, size_t index, const char *text,
                                 struct pm_error *err)
{
    const struct owning *owning = context;
    const struct pm_fact_property *property = &pm_fact_properties[index];
    const struct pm_fact_entry *entry = fact_of(owning, property->word);
    struct pm_text title = PM_TEXT_EMPTY, hint = PM_TEXT_EMPTY;
    struct owning one = {
        .shelf = owning->shelf, .material = owning->material, .property = property};
    (void)text;
    (void)err;
    pm_text_addf(&title, "Your own value: %s", property->label);
    if (property->choices != NULL)
        pm_text_addf(&hint, "One of %s. ", property->choices);
    else if (*property->unit)
        pm_text_addf(&hint, "In %s. ", property->unit);
    pm_text_add(&hint, "Empty: what was shipped counts again.");
    const struct pm_form_spec spec = {
        .title = pm_text_get(&title),
        .fields = {{.key = "value",
                    .label = "Value",
                    .text = entry != NULL ? entry->text : NULL,
                    .replace = true,
                    .hint = pm_text_get(&hint)},
                   {.label = "Source", .hint = "Where it is from; may stay empty."}},
        .field_count = 2,
        .accept = own_write,
        .writes = true,
        .context = &one,
        .context_size = sizeof one,
    };
    pm_form_open(owning->shelf->app, &spec);
    pm_text_release(&title);
    pm_text_release(&hint);
    return PM_OK;
}

void shelf_own_value(void *state)
{
    struct shelf *shelf = state;
    struct pm_error err = {0};
    struct pm_text title = PM_TEXT_EMPTY;
    struct owning owning = {.shelf = shelf, .material = shelf->material};
    if (pm_shelf_facts(shelf->house->studio, shelf->material, &owning.facts, &err) != PM_OK) {
        pm_app_error(shelf->app, &err);
        return;
    }
    pm_text_addf(&title, "Values of your own for %s", shelf_row(shelf)->name);
    const struct pm_picker_spec spec = {
        .title = pm_text_get(&title),
        .label = "Property",
        .columns = {{.heading = "property", .wish = 32},
                    {.heading = "value", .wish = 4, .grows = true},
                    {.heading = "", .wish = 8}},
        .column_count = 3,
        .count = pm_fact_property_count,
        .words = own_words,
        .row = own_row,
        .accept = own_accept,
        .none_hint = "No property is called so.",
        .closed = owning_free,
        .context = &owning,
        .context_size = sizeof owning,
    };
    pm_picker_open(shelf->app, &spec);
    pm_text_release(&title);
}
