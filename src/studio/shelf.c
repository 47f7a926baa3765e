/* SPDX-License-Identifier: MIT */
/*
 * The shelf: materials added, edited, found.
 */
#include "inside.h"

#include "permille/base/utf8.h"
#include "permille/studio/shelf.h"

#include <string.h>

/* ---- from what was typed to the row ---- */

/* Names that are given twice count once. */
static enum pm_status drop_known(struct pm_material *row, struct pm_error *err)
{
    const char **kept = pm_arena_array(&row->arena, row->synonym_count, sizeof *kept);
    const char *const *given = row->synonyms;
    const size_t count = row->synonym_count;
    if (kept == NULL)
        return pm_fail_memory(err);
    row->synonyms = kept;
    row->synonym_count = 0;
    for (size_t i = 0; i < count; i++)
        if (!pm_material_has_name(row, given[i]))
            kept[row->synonym_count++] = given[i];
    return PM_OK;
}

enum pm_status pm_material_fill(struct pm_material *row, const char *const *values,
                                struct pm_error *err)
{
    enum pm_status status =
        pm_entity_read(&pm_material_entity, values, row, &row->arena, NULL, err);
    if (status != PM_OK)
        return status;
    if (row->name == NULL)
        return pm_fail_at(err, "name", PM_INVALID, "A material needs a name.");
    if (row->name[0] == '#')
        return pm_fail_at(err, "name", PM_INVALID,
                          "A material's name may not begin with \"#\": that is how a line is named "
                          "by its place.");
    return values[PM_MATERIAL_SYNONYMS] != NULL ? drop_known(row, err) : PM_OK;
}

/* ---- add, edit, remove ---- */

enum pm_status pm_shelf_check(const char *const *values, struct pm_error *err)
{
    struct pm_material row = {.id = 0};
    const enum pm_status status = pm_material_fill(&row, values, err);
    pm_material_release(&row);
    return status;
}

enum pm_status pm_shelf_add(struct pm_studio *studio, const char *const *values, int64_t *id,
                            struct pm_error *err)
{
    struct pm_shelf_step step;
    struct pm_material row = {.id = 0};
    enum pm_status status = pm_step_begin(&step, studio, err);
    if (status != PM_OK)
        return status;
    status = pm_material_fill(&row, values, err);
    if (status == PM_OK)
        status = pm_material_insert(studio->library, &row, err);
    /* As if touched before it was there. */
    if (status == PM_OK)
        status = pm_shelf_log_born(&step.log, PM_ROWS_MATERIAL, row.id, err);
    if (status == PM_OK)
        status = pm_shelf_log_born(&step.log, PM_ROWS_NAMES, row.id, err);
    pm_step_say(&step, "Added %s", row.name != NULL ? row.name : "");
    status = pm_step_end(&step, status, "material", err);
    if (status == PM_OK && id != NULL)
        *id = row.id;
    pm_material_release(&row);
    return status;
}

/* What changed, for the sentence. */
static void say_edit(struct pm_shelf_step *step, const char *old_name,
                     const struct pm_material *row, const char *const *values)
{
    char label[PM_OPTION_TEXT];
    if (values == NULL) {
        pm_step_say(step, row->set_aside ? "Set %s aside" : "Brought %s back", old_name);
        return;
    }
    if (strcmp(old_name, row->name) != 0)
        pm_step_say(step, "Renamed %s to %s", old_name, row->name);
    else
        pm_step_say(step, "Changed %s", row->name);
    for (size_t i = PM_MATERIAL_NAME + 1; i < PM_MATERIAL_ATTRIBUTES; i++)
        if (values[i] != NULL)
            pm_step_say(step, ", %s",
                        pm_attribute_label(&pm_material_entity.attributes[i], label, sizeof label));
}

/* Reads the row, lets it differ, writes it. */
static enum pm_status change_row(struct pm_shelf_step *step, int64_t id, const char *const *values,
                                 bool aside, struct pm_error *err)
{
    struct pm_library *library = step->studio->library;
    struct pm_material row;
    enum pm_status status = pm_shelf_log_touch(&step->log, PM_ROWS_MATERIAL, id, err);
    if (status == PM_OK)
        status = pm_shelf_log_touch(&step->log, PM_ROWS_NAMES, id, err);
    if (status == PM_OK)
        status = pm_material_get(library, id, &row, err);
    if (status != PM_OK)
        return status;
    const char *old_name = row.name; /* stays in the arena */
    if (values != NULL)
        status = pm_material_fill(&row, values, err);
    else
        row.set_aside = aside;
    if (status == PM_OK)
        status = pm_material_update(library, &row, err);
    if (status == PM_OK)
        say_edit(step, old_name, &row, values);
    pm_material_release(&row);
    return status;
}

static enum pm_status edit(struct pm_studio *studio, int64_t id, const char *const *values,
                           bool aside, struct pm_error *err)
{
    struct pm_shelf_step step;
    enum pm_status status = pm_step_begin(&step, studio, err);
    if (status != PM_OK)
        return status;
    status = change_row(&step, id, values, aside, err);
    return pm_step_end(&step, status, "material", err);
}

enum pm_status pm_shelf_edit(struct pm_studio *studio, int64_t id, const char *const *values,
                             struct pm_error *err)
{
    return edit(studio, id, values, false, err);
}

enum pm_status pm_shelf_set_aside(struct pm_studio *studio, int64_t id, bool aside,
                                  struct pm_error *err)
{
    return edit(studio, id, NULL, aside, err);
}

static enum pm_status take_away(struct pm_studio *studio, int64_t id, struct pm_error *err)
{
    static const enum pm_shelf_rows rows[] = {PM_ROWS_MATERIAL,
                                              PM_ROWS_NAMES,
                                              PM_ROWS_FACTS,
                                              PM_ROWS_SHIPPED_FACTS,
                                              PM_ROWS_SHIPPED_CONSTITUENTS,
                                              PM_ROWS_CONSTITUENTS,
                                              PM_ROWS_STARTER};
    struct pm_shelf_step step;
    struct pm_card *card;
    enum pm_status status = pm_step_begin(&step, studio, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; status == PM_OK && i < sizeof rows / sizeof rows[0]; i++)
        status = pm_shelf_log_touch(&step.log, rows[i], id, err);
    if (status == PM_OK)
        status = pm_studio_material(studio, id, &card, err);
    if (status == PM_OK) {
        pm_step_say(&step, "Removed %s", card->name);
        status = pm_material_delete(studio->library, id, err);
    }
    return pm_step_end(&step, status, "material", err);
}

enum pm_status pm_shelf_remove(struct pm_studio *studio, int64_t id, bool *set_aside,
                               struct pm_error *err)
{
    enum pm_status status = take_away(studio, id, err);
    bool aside = status == PM_REFUSED;
    if (aside) {
        if (err != NULL)
            pm_error_clear(err);
        status = edit(studio, id, NULL, true, err);
    }
    if (status == PM_OK && set_aside != NULL)
        *set_aside = aside;
    return status;
}

/* ---- finding ---- */

enum pm_status pm_shelf_find(struct pm_studio *studio, const char *text, int64_t *id,
                             struct pm_error *err)
{
    struct pm_text hint = PM_TEXT_EMPTY;
    enum pm_status status = pm_material_by_name(studio->library, text, id, err);
    if (status != PM_MISSING)
        return status;
    pm_say_near(studio, text, &hint);
    pm_fail(err, PM_MISSING, "No material is called \"%s\"%s", text, pm_text_get(&hint));
    pm_text_release(&hint);
    return PM_MISSING;
}

/* ---- one material ---- */

enum pm_status pm_shelf_card(struct pm_studio *studio, int64_t id, struct pm_material *out,
                             struct pm_error *err)
{
    return pm_material_get(studio->library, id, out, err);
}
