/* SPDX-License-Identifier: MIT */
/*
 * What is known of a material: facts and constituents, shipped ones and one's own.
 */
#include "inside.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/core/cas.h"
#include "permille/core/fact.h"
#include "permille/store/facts.h"
#include "permille/studio/shelf.h"

#include <stdlib.h>
#include <string.h>

/* ---- reading facts ---- */

/* Tables write lists without blanks, "woody;dry"; read they are easier with one. */
static void add_words(const char *words, struct pm_text *out)
{
    for (const char *at = words; at != NULL && *at; at++) {
        pm_text_add_char(out, *at);
        if (*at == ';' && at[1] != ' ' && at[1] != '\0')
            pm_text_add_char(out, ' ');
    }
}

static void add_fact(struct pm_fact_entries *list, const struct pm_fact *fact)
{
    const struct pm_fact_property *property = pm_fact_find(fact->property);
    struct pm_text text = PM_TEXT_EMPTY;
    /* One written by a newer program is kept, not shown. */
    struct pm_fact_entry *entry = property != NULL ? pm_list_add(list) : NULL;
    if (entry == NULL)
        return;
    if (fact->is_number)
        pm_fact_format(property, fact->value, pm_decimal_sign(), &text);
    else
        add_words(fact->words, &text);
    list->arena.failed = list->arena.failed || !pm_text_ok(&text);
    *entry = (struct pm_fact_entry){.property = property->word,
                                    .label = property->label,
                                    .unit = property->unit,
                                    .is_number = fact->is_number,
                                    .value = fact->value,
                                    .text = pm_arena_text(&list->arena, pm_text_get(&text)),
                                    .source = pm_arena_text(&list->arena, fact->source),
                                    .confidence = pm_confidence_word(fact->confidence),
                                    .own = fact->origin == PM_OWN};
    pm_text_release(&text);
}

/* By the order of the table of properties, own before shipped. */
static int compare_facts(const void *left, const void *right)
{
    const struct pm_fact_entry *a = left, *b = right;
    const struct pm_fact_property *pa = pm_fact_find(a->property), *pb = pm_fact_find(b->property);
    if (pa != pb)
        return pa < pb ? -1 : 1;
    return b->own - a->own;
}

/* A vapour pressure that a model gave is called so, and so is its band. */
static void mark_predicted(struct pm_fact_entries *list)
{
    bool predicted = false;
    for (size_t i = 0; i < list->count; i++)
        predicted =
            predicted || (strcmp(list->items[i].property, "vapour_pressure_basis") == 0 &&
                          !list->items[i].own && strncmp(list->items[i].text, "predicted", 9) == 0);
    for (size_t i = 0; predicted && i < list->count; i++)
        if (strncmp(list->items[i].property, "vapour_pressure", 15) == 0 && !list->items[i].own)
            list->items[i].confidence = "predicted";
}

enum pm_status pm_shelf_facts(struct pm_studio *studio, int64_t material,
                              struct pm_fact_entries *out, struct pm_error *err)
{
    struct pm_facts facts = {0};
    struct pm_fact_entries list = {0};
    enum pm_status status = pm_fact_list(studio->library, material, &facts, err);
    for (size_t i = 0; i < facts.count; i++)
        add_fact(&list, &facts.items[i]);
    pm_list_release(&facts);
    if (status == PM_OK)
        status = pm_arena_status(&list.arena, err);
    if (status == PM_OK && list.count > 1)
        qsort(list.items, list.count, sizeof *list.items, compare_facts);
    for (size_t i = 0; status == PM_OK && i < list.count; i++)
        list.items[i].stands =
            i == 0 || strcmp(list.items[i - 1].property, list.items[i].property) != 0;
    if (status == PM_OK)
        mark_predicted(&list);
    pm_list_give(&list, status, out);
    return status;
}

/* ---- one's own facts ---- */

static enum pm_status put_own(struct pm_shelf_step *step, int64_t material,
                              const struct pm_fact_property *property, const char *text,
                              const char *source, struct pm_error *err)
{
    char *words = NULL, *said = NULL;
    struct pm_fact fact = {.property = property->word, .origin = PM_OWN, .confidence = PM_OWN_WORD};
    enum pm_status status = pm_clean_text(text, property->label, 0, &words, err);
    if (status == PM_OK)
        status = pm_clean_text(source, "The source", 0, &said, err);
    if (status == PM_OK)
        status = pm_fact_read(property, words, &fact.value, err);
    fact.is_number = property->kind == PM_FACT_NUMBER || property->kind == PM_FACT_PERCENT;
    fact.words = words;
    fact.source = said;
    if (status == PM_OK)
        status = pm_fact_put(step->studio->library, material, &fact, err);
    if (status == PM_OK)
        pm_step_say(step, " to %s", words);
    pm_free(words);
    pm_free(said);
    return status;
}

enum pm_status pm_shelf_set_fact(struct pm_studio *studio, int64_t material, const char *name,
                                 const char *text, const char *source, struct pm_error *err)
{
    const struct pm_fact_property *property = pm_fact_find(name);
    struct pm_shelf_step step;
    struct pm_card *card;
    if (property == NULL)
        return pm_fail(err, PM_INVALID, "\"%s\" is nothing that is noted of a material.", name);
    enum pm_status status = pm_step_begin(&step, studio, err);
    if (status != PM_OK)
        return status;
    status = pm_shelf_log_touch(&step.log, PM_ROWS_FACTS, material, err);
    if (status == PM_OK)
        status = pm_studio_material(studio, material, &card, err);
    if (status == PM_OK && text != NULL && text[0] != '\0') {
        pm_step_say(&step, "Set the %s of %s", property->label, card->name);
        status = put_own(&step, material, property, text, source, err);
    } else if (status == PM_OK) {
        pm_step_say(&step, "Took away the %s of %s", property->label, card->name);
        status = pm_fact_remove(studio->library, material, property->word, PM_OWN, err);
    }
    return pm_step_end(&step, status, "fact", err);
}

/* ---- constituents ---- */

enum pm_status pm_shelf_constituents(struct pm_studio *studio, int64_t material,
                                     struct pm_constituents *out, struct pm_error *err)
{
    return pm_constituents_list(studio->library, material, out, err);
}

static bool has_figure(const struct pm_constituent *item)
{
    return item->least >= 0 || item->typical >= 0 || item->most >= 0;
}

/* One's own list: the own rows, or where there are none a copy of the shipped ones, with `changed`
 * in it or, when it has no figure, without it. */
static enum pm_status write_own_list(struct pm_studio *studio, int64_t material,
                                     const struct pm_constituents *now,
                                     const struct pm_constituent *changed, struct pm_error *err)
{
    struct pm_constituent *items = pm_alloc_array(now->count + 1, sizeof *items);
    const bool gone = !has_figure(changed);
    size_t count = 0;
    bool placed = false;
    if (items == NULL)
        return pm_fail_memory(err);
    for (size_t i = 0; i < now->count && now->items[i].origin == now->items[0].origin; i++) {
        const bool same = pm_fold_equal(now->items[i].name, changed->name);
        placed = placed || same;
        if (same && gone)
            continue;
        items[count] = same ? *changed : now->items[i];
        items[count++].origin = PM_OWN;
    }
    if (!placed && !gone)
        items[count++] = *changed;
    enum pm_status status =
        pm_constituents_put(studio->library, material, PM_OWN, items, count, err);
    pm_free(items);
    return status;
}

/* Without a figure a constituent is taken away: then it must be there. */
static enum pm_status check_there(const struct pm_constituents *now,
                                  const struct pm_constituent *item, const char *material,
                                  struct pm_error *err)
{
    if (has_figure(item))
        return PM_OK;
    for (size_t i = 0; i < now->count; i++)
        if (pm_fold_equal(now->items[i].name, item->name))
            return PM_OK;
    return pm_fail(err, PM_REFUSED, "%s holds no %s to take away; give a figure to put it there.",
                   material, item->name);
}

static enum pm_status check_order(const struct pm_constituent *item, struct pm_error *err)
{
    const int64_t all[] = {item->least, item->typical, item->most};
    int64_t last = -1;
    for (size_t i = 0; i < 3; i++) {
        if (all[i] >= 0 && all[i] < last)
            return pm_fail_at(err, i == 1 ? "typical" : "most", PM_INVALID,
                              "Least, typical and most must not fall: check the figures of %s.",
                              item->name);
        last = all[i] >= 0 ? all[i] : last;
    }
    return PM_OK;
}

static enum pm_status put_constituent(struct pm_shelf_step *step, int64_t material,
                                      const struct pm_constituent *item, struct pm_error *err)
{
    struct pm_studio *studio = step->studio;
    struct pm_constituents now = {0};
    struct pm_card *card;
    enum pm_status status = pm_shelf_log_touch(&step->log, PM_ROWS_CONSTITUENTS, material, err);
    if (status == PM_OK)
        status = pm_studio_material(studio, material, &card, err);
    if (status != PM_OK)
        return status;
    pm_step_say(step, "Set %s in %s", item->name, card->name);
    status = pm_constituents_list(studio->library, material, &now, err);
    if (status == PM_OK)
        status = check_there(&now, item, card->name, err);
    if (status == PM_OK)
        status = write_own_list(studio, material, &now, item, err);
    pm_list_release(&now);
    return status;
}

enum pm_status pm_shelf_set_constituent(struct pm_studio *studio, int64_t material,
                                        const char *const *values, struct pm_error *err)
{
    struct pm_shelf_step step;
    struct pm_arena arena = {0};
    struct pm_constituent item = {.origin = PM_OWN, .confidence = PM_OWN_WORD};
    pm_entity_clear(&pm_constituent_entity, &item);
    enum pm_status status =
        pm_entity_read(&pm_constituent_entity, values, &item, &arena, NULL, err);
    if (status == PM_OK && item.name == NULL)
        status = pm_fail_at(err, "name", PM_INVALID, "A constituent has a name.");
    if (status == PM_OK)
        status = check_order(&item, err);
    if (status == PM_OK)
        status = pm_step_begin(&step, studio, err);
    if (status == PM_OK) {
        status = put_constituent(&step, material, &item, err);
        status = pm_step_end(&step, status, "constituent", err);
    }
    pm_arena_release(&arena);
    return status;
}
