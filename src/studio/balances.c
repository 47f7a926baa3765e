/* SPDX-License-Identifier: MIT */
/* Balances, and which one is in use. */
#include "scale.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/core/settings.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define IN_USE "balance"

static enum pm_status read_in_use(struct pm_studio *studio, int64_t *id, struct pm_error *err)
{
    char *text = NULL;
    enum pm_status status = pm_setting_get(studio->library, IN_USE, &text, err);
    *id = text != NULL ? strtoll(text, NULL, 10) : 0;
    pm_free(text);
    return status;
}

static enum pm_status write_in_use(struct pm_studio *studio, int64_t id, struct pm_error *err)
{
    char text[24];
    snprintf(text, sizeof text, "%lld", (long long)id);
    return pm_setting_put(studio->library, IN_USE, text, err);
}

static enum pm_status list(struct pm_studio *studio, struct pm_balance_rows *out,
                           struct pm_error *err)
{
    int64_t in_use = 0;
    enum pm_status status = read_in_use(studio, &in_use, err);
    if (status == PM_OK)
        status = pm_balance_list(studio->library, out, err);
    for (size_t i = 0; status == PM_OK && i < out->count; i++)
        out->items[i].in_use = out->items[i].id == in_use;
    return status;
}

enum pm_status pm_balances(struct pm_studio *studio, struct pm_balance_rows *out,
                           struct pm_error *err)
{
    enum pm_status status = pm_studio_look_begin(studio, err);
    return status == PM_OK ? pm_look_over(studio, list(studio, out, err)) : status;
}

static enum pm_status find(struct pm_studio *studio, const char *name, int64_t id,
                           struct pm_arena *arena, struct pm_balance_row *out, struct pm_error *err)
{
    struct pm_balance_rows rows;
    enum pm_status status = list(studio, &rows, err);
    if (status != PM_OK)
        return status;
    bool found = false;
    for (size_t i = 0; i < rows.count && !found; i++) {
        found = name != NULL ? pm_fold_equal(rows.items[i].name, name) : rows.items[i].id == id;
        if (found)
            *out = rows.items[i];
    }
    if (found)
        out->name = arena != NULL ? pm_arena_text(arena, out->name) : NULL;
    pm_list_release(&rows);
    if (!found)
        return name != NULL
                   ? pm_fail(err, PM_MISSING, "There is no balance called \"%.60s\".", name)
                   : pm_fail(err, PM_MISSING, "There is no balance number %lld.", (long long)id);
    return arena != NULL ? pm_arena_status(arena, err) : PM_OK;
}

enum pm_status pm_balance_find(struct pm_studio *studio, const char *name, int64_t *id,
                               struct pm_error *err)
{
    struct pm_balance_row row;
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status == PM_OK)
        status = pm_look_over(studio, find(studio, name, 0, NULL, &row, err));
    if (status == PM_OK)
        *id = row.id;
    return status;
}

static enum pm_status check(const struct pm_balance_row *row, struct pm_error *err)
{
    const struct pm_balance *is = &row->is;
    if (row->name == NULL)
        return pm_fail_at(err, "name", PM_INVALID, "A balance has a name.");
    if (is->readability <= 0)
        return pm_fail_at(err, "readability", PM_INVALID,
                          "Say what one step of its display is: 0.01 g.");
    if (is->capacity > 0 && is->capacity < is->readability)
        return pm_fail_at(err, "capacity", PM_INVALID, "It carries more than one step.");
    if (is->capacity > 0 && is->least > is->capacity)
        return pm_fail_at(err, "least", PM_INVALID, "That is more than it carries.");
    return PM_OK;
}

static enum pm_status put(struct pm_studio *studio, struct pm_balance_row *row,
                          const char *const *values, struct pm_arena *arena, struct pm_error *err)
{
    char *clean = NULL;
    enum pm_status status = pm_entity_read(&pm_balance_entity, values, row, arena, NULL, err);
    if (status == PM_OK)
        status = check(row, err);
    if (status == PM_OK)
        status =
            pm_error_at(err, "name", pm_name_clean(row->name, "The balance's name", &clean, err));
    row->name = clean;
    if (status == PM_OK)
        status = pm_balance_put(studio->library, row, err);
    pm_free(clean);
    return status;
}

enum pm_status pm_balance_add(struct pm_studio *studio, const char *const *values, int64_t *id,
                              struct pm_error *err)
{
    struct pm_arena arena = {0};
    struct pm_balance_row row = {.id = 0};
    int64_t in_use = 0;
    enum pm_status status = pm_change_begin(studio, err);
    if (status != PM_OK)
        return status;
    pm_entity_clear(&pm_balance_entity, &row);
    status = put(studio, &row, values, &arena, err);
    if (status == PM_OK)
        status = read_in_use(studio, &in_use, err);
    if (status == PM_OK && in_use == 0)
        status = write_in_use(studio, row.id, err);
    status = pm_change_end(studio, status, err);
    pm_arena_release(&arena);
    if (status == PM_OK && id != NULL)
        *id = row.id;
    return status;
}

enum pm_status pm_balance_edit(struct pm_studio *studio, int64_t id, const char *const *values,
                               struct pm_error *err)
{
    struct pm_arena arena = {0};
    struct pm_balance_row row;
    enum pm_status status = pm_change_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = find(studio, NULL, id, &arena, &row, err);
    if (status == PM_OK)
        status = put(studio, &row, values, &arena, err);
    status = pm_change_end(studio, status, err);
    pm_arena_release(&arena);
    return status;
}

enum pm_status pm_balance_remove(struct pm_studio *studio, int64_t id, struct pm_error *err)
{
    struct pm_balance_row row;
    enum pm_status status = pm_change_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = find(studio, NULL, id, NULL, &row, err);
    if (status == PM_OK)
        status = pm_balance_delete(studio->library, id, err);
    if (status == PM_OK && row.in_use)
        status = write_in_use(studio, 0, err);
    return pm_change_end(studio, status, err);
}

enum pm_status pm_balance_use(struct pm_studio *studio, int64_t id, struct pm_error *err)
{
    struct pm_balance_row row;
    enum pm_status status = pm_change_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = find(studio, NULL, id, NULL, &row, err);
    if (status == PM_OK)
        status = write_in_use(studio, id, err);
    return pm_change_end(studio, status, err);
}

/* What was chosen once, where it can be read. */
static enum pm_status read_chosen(struct pm_studio *studio, enum pm_setting_number number,
                                  struct pm_text *out, struct pm_error *err)
{
    const struct pm_setting *setting = &pm_setting_table[number];
    char *text = NULL;
    enum pm_status status = pm_setting_get(studio->library, setting->key, &text, err);
    struct pm_error why = {0};
    if (status == PM_OK &&
        (text == NULL || pm_setting_clean(setting, text, out, &why) == PM_INVALID)) {
        pm_text_clear(out);
        pm_text_add(out, setting->usual);
    }
    pm_free(text);
    return status == PM_OK && !pm_text_ok(out) ? pm_fail_memory(err) : status;
}

static enum pm_status read_usual(struct pm_studio *studio, struct pm_weigh_means *out,
                                 struct pm_error *err)
{
    struct pm_text text = PM_TEXT_EMPTY;
    enum pm_status status = read_chosen(studio, PM_SETTING_WEIGH_WITHIN, &text, err);
    if (status == PM_OK)
        status = pm_strength_read(pm_text_get(&text), &out->tolerance, err);
    pm_text_clear(&text);
    if (status == PM_OK)
        status = read_chosen(studio, PM_SETTING_WEIGH_ORDER, &text, err);
    if (status == PM_OK)
        (void)pm_weigh_order_from_word(pm_text_get(&text), &out->order);
    pm_text_release(&text);
    return status;
}

enum pm_status pm_weigh_means(struct pm_studio *studio, const struct pm_weigh_how *how,
                              struct pm_arena *arena, struct pm_weigh_means *out,
                              struct pm_error *err)
{
    struct pm_balance_row row = {.is = {.readability = PM_GRAM / 100}};
    int64_t in_use = 0;
    *out = (struct pm_weigh_means){.tolerance = PM_WEIGH_TOLERANCE, .order = PM_WEIGH_TRACES};
    enum pm_status status = read_usual(studio, out, err);
    if (status != PM_OK)
        return status;
    if (how->balance != NULL)
        status = find(studio, how->balance, 0, arena, &row, err);
    else if ((status = read_in_use(studio, &in_use, err)) == PM_OK && in_use != 0 &&
             how->readability == NULL)
        status = find(studio, NULL, in_use, arena, &row, err);
    if (status == PM_OK && how->readability != NULL)
        status = pm_mass_read(how->readability, &row.is.readability, err);
    if (status == PM_OK && row.is.readability <= 0)
        status = pm_fail(err, PM_INVALID, "A balance reads some step.");
    if (status == PM_OK && how->least != NULL)
        status = pm_mass_read(how->least, &row.is.least, err);
    if (status == PM_OK && how->tolerance != NULL)
        status = pm_strength_read(how->tolerance, &out->tolerance, err);
    if (status == PM_OK && how->order != NULL && !pm_weigh_order_from_word(how->order, &out->order))
        status = pm_fail(err, PM_INVALID, "\"%.40s\" is no order: %s.", how->order,
                         PM_WEIGH_ORDER_WORDS);
    out->balance = row.is;
    out->balance_name = row.name;
    return status;
}
