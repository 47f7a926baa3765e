/* SPDX-License-Identifier: MIT */
/* Rows of materials. */
#include "import.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/base/word.h"
#include "permille/core/cas.h"
#include "permille/store/facts.h"

#include <string.h>

/* Beside the attributes of a material and its properties. */
static const char *const material_columns[] = {"low_g", NULL};

/* A cell of the row as a fact of one's own; its words, owned, are *clean. */
static enum pm_status read_fact(struct pm_import *import, const struct pm_import_fact *column,
                                char **clean, struct pm_fact *out, struct pm_error *err)
{
    const struct pm_fact_property *property = column->property;
    *out =
        (struct pm_fact){.property = property->word, .origin = PM_OWN, .confidence = PM_OWN_WORD};
    out->is_number = property->kind == PM_FACT_NUMBER || property->kind == PM_FACT_PERCENT;
    import->column = column->at + 1;
    enum pm_status status =
        pm_clean_text(import->csv.fields[column->at], property->label, 0, clean, err);
    out->words = *clean;
    return status == PM_OK ? pm_fact_read(property, *clean, &out->value, err) : status;
}

static bool is_known(const struct pm_facts *facts, const struct pm_fact *fact)
{
    for (size_t i = 0; i < facts->count; i++) {
        const struct pm_fact *known = &facts->items[i];
        if (known->origin == PM_OWN && strcmp(known->property, fact->property) == 0)
            return fact->is_number ? known->is_number && known->value == fact->value
                                   : pm_same_text(known->words, fact->words);
    }
    return false;
}

/* before: what is known of a material that was there; NULL: it is new. */
static enum pm_status put_fact(struct pm_import *import, struct pm_shelf_step *step,
                               int64_t material, const struct pm_import_fact *column,
                               const struct pm_facts *before, struct pm_error *err)
{
    struct pm_fact fact;
    char *clean = NULL;
    if (import->csv.fields[column->at][0] == '\0')
        return PM_OK;
    enum pm_status status = read_fact(import, column, &clean, &fact, err);
    const bool known = status == PM_OK && before != NULL && is_known(before, &fact);
    if (status == PM_OK && before != NULL && !known) {
        pm_import_change(import, import->headings[column->at]);
        status = pm_shelf_log_touch(&step->log, PM_ROWS_FACTS, material, err);
    }
    if (status == PM_OK && !known)
        status = pm_fact_put(import->studio->library, material, &fact, err);
    pm_free(clean);
    return status;
}

static enum pm_status put_facts(struct pm_import *import, struct pm_shelf_step *step,
                                int64_t material, bool is_new, struct pm_error *err)
{
    struct pm_facts before = {.items = NULL};
    enum pm_status status = PM_OK;
    if (!is_new && import->fact_count > 0)
        status = pm_fact_list(import->studio->library, material, &before, err);
    for (size_t i = 0; status == PM_OK && i < import->fact_count; i++)
        status = put_fact(import, step, material, &import->facts[i], is_new ? NULL : &before, err);
    pm_list_release(&before);
    return status;
}

/* Notes the columns in which both differ. */
static void compare(struct pm_import *import, const char *const *values,
                    const struct pm_material *before, const struct pm_material *after)
{
    struct pm_text was = PM_TEXT_EMPTY, is = PM_TEXT_EMPTY;
    for (size_t i = 0; i < pm_material_entity.count; i++) {
        const struct pm_attribute *attribute = &pm_material_entity.attributes[i];
        if (values[i] == NULL)
            continue;
        pm_text_clear(&was);
        pm_text_clear(&is);
        pm_attribute_show(attribute, before, '.', &was);
        pm_attribute_show(attribute, after, '.', &is);
        if (strcmp(pm_text_get(&was), pm_text_get(&is)) != 0)
            pm_import_change(import, attribute->key);
    }
    import->changes.failed = import->changes.failed || !pm_text_ok(&was) || !pm_text_ok(&is);
    pm_text_release(&was);
    pm_text_release(&is);
}

static enum pm_status write_material(struct pm_import *import, struct pm_shelf_step *step,
                                     struct pm_material *row, struct pm_error *err)
{
    enum pm_status status = pm_shelf_log_touch(&step->log, PM_ROWS_MATERIAL, row->id, err);
    if (status == PM_OK)
        status = pm_shelf_log_touch(&step->log, PM_ROWS_NAMES, row->id, err);
    return status == PM_OK ? pm_material_update(import->studio->library, row, err) : status;
}

/* Empty cells leave what is there. One that was out of sight comes back. */
static enum pm_status update_material(struct pm_import *import, struct pm_shelf_step *step,
                                      int64_t id, const char **values, struct pm_material *row,
                                      struct pm_error *err)
{
    struct pm_material before;
    enum pm_status status = pm_material_get(import->studio->library, id, &before, err);
    if (status != PM_OK)
        return status;
    *row = before; /* borrows what is not filled anew */
    row->arena = (struct pm_arena){0};
    if (!pm_fold_equal(row->name, values[PM_MATERIAL_NAME]))
        values[PM_MATERIAL_NAME] = NULL; /* found by another name: it keeps its own */
    status = pm_material_fill(row, values, err);
    if (status == PM_OK) {
        compare(import, values, &before, row);
        if (before.set_aside)
            pm_import_change(import, "in sight again");
        row->set_aside = false;
    }
    if (status == PM_OK && import->changes.length > 0)
        status = write_material(import, step, row, err);
    if (status == PM_OK)
        status = put_facts(import, step, id, false, err);
    if (status == PM_OK)
        status =
            pm_import_count(import, import->changes.length > 0 ? PM_IMPORT_CHANGED : PM_IMPORT_SAME,
                            id, before.name, err);
    pm_material_release(row);
    pm_material_release(&before);
    return status;
}

static enum pm_status add_material(struct pm_import *import, struct pm_shelf_step *step,
                                   const struct pm_material *row, struct pm_error *err)
{
    enum pm_status status = pm_shelf_log_shown(&step->log, row->id, err);
    if (status == PM_OK)
        status = put_facts(import, step, row->id, true, err);
    return status == PM_OK ? pm_import_count(import, PM_IMPORT_NEW, row->id, row->name, err)
                           : status;
}

/* Most are new, so that is tried first. One that is there, by any of its names or by its CAS
 * number, is brought up to date. */
static enum pm_status put_material(struct pm_import *import, struct pm_shelf_step *step,
                                   const char **values, struct pm_error *err)
{
    struct pm_library *library = import->studio->library;
    struct pm_material row = {.id = 0};
    const char *name = values[PM_MATERIAL_NAME];
    int64_t id = 0;
    if (name != NULL && pm_cas_shaped(name) &&
        pm_material_by_name(library, name, &id, NULL) == PM_OK)
        return update_material(import, step, id, values, &row, err);
    enum pm_status status = pm_material_fill(&row, values, err);
    if (status == PM_OK)
        status = pm_material_insert(library, &row, err);
    const bool there = status == PM_EXISTS && name != NULL &&
                       pm_material_by_name(library, name, &id, NULL) == PM_OK;
    if (status == PM_OK)
        status = add_material(import, step, &row, err);
    pm_material_release(&row);
    return there ? update_material(import, step, id, values, &row, err) : status;
}

static enum pm_status import_material(struct pm_import *import, struct pm_shelf_step *step,
                                      struct pm_error *err)
{
    const char *values[PM_MATERIAL_ATTRIBUTES];
    pm_import_values(import, &pm_material_entity, values);
    const enum pm_status status = put_material(import, step, values, err);
    if (status != PM_OK && err->field != NULL)
        pm_import_point(import, &pm_material_entity, err);
    return status;
}

const struct pm_import_kind pm_import_materials = {.what = "materials",
                                                   .one = "material",
                                                   .columns = material_columns,
                                                   .entity = &pm_material_entity,
                                                   .facts = true,
                                                   .row = import_material};
