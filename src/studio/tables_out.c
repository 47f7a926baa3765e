/* SPDX-License-Identifier: MIT */
/* Tables out: materials, bottles, movements, with the columns that tables.c reads. */
#include "bottle.h"

#include "permille/base/csv.h"
#include "permille/base/mem.h"
#include "permille/core/fact.h"
#include "permille/store/facts.h"
#include "permille/studio/shelf.h"

#include <string.h>

#define COLUMNS_MAX 64

struct export
{
    struct pm_studio *studio;
    struct pm_text *out;
    enum pm_status status;
    bool first; /* the next field begins a record */
};

static void put(struct export *export, const char *text)
{
    pm_csv_field(export->out, text != NULL ? text : "", export->first);
    export->first = false;
}

static void end(struct export *export)
{
    pm_csv_end(export->out);
    export->first = true;
}

static void put_mass(struct export *export, pm_mass mass)
{
    char number[PM_AMOUNT_TEXT];
    put(export, pm_decimal_exact(mass, 6, '.', number));
}

static void put_keys(struct export *export, const struct pm_entity *entity)
{
    for (size_t i = 0; i < entity->count; i++)
        put(export, entity->attributes[i].key);
}

typedef void as_text(const struct pm_attribute *attribute, const void *row, struct pm_text *out);

static void put_attribute(struct export *export, const struct pm_attribute *attribute,
                          const void *row, as_text *write)
{
    struct pm_text text = PM_TEXT_EMPTY;
    write(attribute, row, &text);
    put(export, pm_text_get(&text));
    export->out->failed = export->out->failed || !pm_text_ok(&text);
    pm_text_release(&text);
}

static void as_typed(const struct pm_attribute *attribute, const void *row, struct pm_text *out)
{
    pm_attribute_exact(attribute, row, '.', out);
}

static void put_attributes(struct export *export, const struct pm_entity *entity, const void *row)
{
    for (size_t i = 0; i < entity->count; i++)
        put_attribute(export, &entity->attributes[i], row, as_typed);
}

/* One's own facts into the cells of their properties. */
struct own_cells {
    char *cells[COLUMNS_MAX]; /* owned */
    bool failed;
};

static void take_cell(struct own_cells *own, const struct pm_fact *fact)
{
    const struct pm_fact_property *property = pm_fact_find(fact->property);
    char number[PM_AMOUNT_TEXT];
    if (fact->origin != PM_OWN || property == NULL)
        return;
    const char *text = fact->words;
    if (fact->is_number)
        text = pm_decimal_exact(
            fact->value, property->kind == PM_FACT_PERCENT ? PM_FACT_SCALE - 2 : PM_FACT_SCALE, '.',
            number);
    char **cell = &own->cells[property - pm_fact_properties];
    *cell = pm_strdup(text);
    own->failed = own->failed || *cell == NULL;
}

static enum pm_status export_material(struct export *export, int64_t id, struct pm_error *err)
{
    struct pm_material row;
    struct own_cells own = {.failed = false};
    struct pm_facts facts = {0};
    enum pm_status status = pm_material_get(export->studio->library, id, &row, err);
    if (status != PM_OK)
        return status;
    if (row.merged_into == 0) {
        status = pm_fact_list(export->studio->library, id, &facts, err);
        for (size_t i = 0; i < facts.count; i++)
            take_cell(&own, &facts.items[i]);
        pm_list_release(&facts);
        put_attributes(export, &pm_material_entity, &row);
        for (size_t i = 0; i < pm_fact_property_count; i++) {
            put(export, own.cells[i]);
            pm_free(own.cells[i]);
        }
        end(export);
    }
    if (status == PM_OK && own.failed)
        status = pm_fail_memory(err);
    pm_material_release(&row);
    return status;
}

static enum pm_status export_materials(struct export *export, struct pm_error *err)
{
    put_keys(export, &pm_material_entity);
    for (size_t i = 0; i < pm_fact_property_count; i++)
        put(export, pm_fact_properties[i].word);
    end(export);
    struct pm_material_entries found;
    enum pm_status status =
        pm_material_search(export->studio->library, "", SIZE_MAX, true, NULL, &found, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; status == PM_OK && i < found.count; i++)
        status = export_material(export, found.items[i].id, err);
    pm_list_release(&found);
    return status;
}

static void export_bottle(struct export *export, const struct pm_bottle *bottle)
{
    put(export, bottle->label);
    put(export, bottle->name);
    put_attributes(export, &pm_bottle_entity, bottle);
    if (bottle->left > 0)
        put_mass(export, bottle->left);
    else
        put(export, "");
    put(export, bottle->set_aside ? "yes" : "");
    end(export);
}

static enum pm_status export_bottles(struct export *export, struct pm_error *err)
{
    const struct pm_bottle_filter all = {.set_aside_too = true};
    struct pm_bottles bottles;
    enum pm_status status = pm_bottles_list(export->studio, &all, &bottles, err);
    put(export, "bottle");
    put(export, "material");
    put_keys(export, &pm_bottle_entity);
    put(export, "received_g");
    put(export, "set_aside");
    end(export);
    for (size_t i = 0; status == PM_OK && i < bottles.count; i++)
        export_bottle(export, &bottles.items[i]);
    if (status == PM_OK)
        pm_list_release(&bottles);
    return status;
}

/* Under the keys of JSON, with the values it has. */
static void export_movement(struct export *export, const struct pm_movement *line)
{
    char label[PM_BOTTLE_LABEL], number[PM_AMOUNT_TEXT];
    put(export, pm_decimal_exact(line->id, 0, '.', number));
    put(export, pm_bottle_label(line->bottle, label));
    for (size_t i = 0; i < pm_movement_entity.count; i++)
        put_attribute(export, &pm_movement_entity.attributes[i], line, pm_attribute_plain);
    end(export);
}

static enum pm_status export_movements(struct export *export, struct pm_error *err)
{
    char key[PM_OPTION_TEXT];
    const struct pm_bottle_filter all = {.set_aside_too = true};
    struct pm_bottles bottles;
    enum pm_status status = pm_bottles_list(export->studio, &all, &bottles, err);
    put(export, "movement");
    put(export, "bottle");
    for (size_t i = 0; i < pm_movement_entity.count; i++)
        put(export, pm_attribute_key(&pm_movement_entity.attributes[i], key));
    end(export);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; status == PM_OK && i < bottles.count; i++) {
        struct pm_movements ledger;
        status = pm_bottle_ledger(export->studio, bottles.items[i].id, &ledger, err);
        for (size_t k = 0; status == PM_OK && k < ledger.count; k++)
            export_movement(export, &ledger.items[k]);
        if (status == PM_OK)
            pm_list_release(&ledger);
    }
    pm_list_release(&bottles);
    return status;
}

static enum pm_status export_table(struct export *export, const char *what, struct pm_error *err)
{
    if (strcmp(what, "materials") == 0)
        return export_materials(export, err);
    if (strcmp(what, "bottles") == 0)
        return export_bottles(export, err);
    if (strcmp(what, "movements") == 0)
        return export_movements(export, err);
    return pm_fail(err, PM_INVALID, "\"%s\" is not materials, bottles or movements.", what);
}

enum pm_status pm_shelf_export(struct pm_studio *studio, const char *what, struct pm_text *out,
                               struct pm_error *err)
{
    struct export export = {.studio = studio, .out = out, .first = true};
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status == PM_OK)
        status = pm_look_over(studio, export_table(&export, what, err));
    if (status == PM_OK)
        status = export.status;
    return status == PM_OK && !pm_text_ok(out) ? pm_fail_memory(err) : status;
}
