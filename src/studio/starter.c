/* SPDX-License-Identifier: MIT */
/*
 * The starter set: materials.csv and constituents.csv of schema/reference, which travel inside the
 * program. Shipped facts are written anew at each import; rows the person entered are not looked
 * at. A material that is on the shelf already under the same name becomes the one meant; a CAS
 * number alone does not make it so, because several products share one.
 *
 * A library remembers the edition its shipped facts are of. When a program that carries another one
 * opens it, the facts of the materials that were brought once follow, and nothing else does.
 */
#include "inside.h"

#include "permille/base/csv.h"
#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/core/cas.h"
#include "permille/core/fact.h"
#include "permille/store/facts.h"
#include "permille/studio/shelf.h"

#include <stdio.h>
#include <string.h>

#define SYNONYMS_MAX 32
#define EDITION      "starter.edition"
#define EDITION_TEXT 17

static const char *const tables[] = {"materials.csv", "constituents.csv"};

/* ---- tables ---- */

struct table {
    struct pm_csv csv, header;
};

static enum pm_status table_open(struct table *table, const char *name, struct pm_error *err)
{
    size_t length;
    bool more;
    const char *text = pm_reference_table(name, &length);
    if (text == NULL)
        return pm_fail(err, PM_MISSING, "This program was built without %s.", name);
    pm_csv_init(&table->csv, text, length);
    pm_csv_init(&table->header, text, length);
    enum pm_status status = pm_csv_next(&table->header, &more, err);
    return status == PM_OK ? pm_csv_next(&table->csv, &more, err) : status;
}

static void table_close(struct table *table)
{
    pm_csv_release(&table->csv);
    pm_csv_release(&table->header);
}

/* The field of the row just read; "" when there is no such column. */
static const char *field(const struct table *table, const char *column)
{
    int at = pm_csv_column(&table->header, column);
    return at >= 0 && (size_t)at < table->csv.count ? table->csv.fields[at] : "";
}

/* Tells editions apart (FNV-1a, 64 bits: a published hash, here of all bytes of the tables). */
static void edition(char text[EDITION_TEXT])
{
    uint64_t hash = UINT64_C(0xcbf29ce484222325);
    for (size_t t = 0; t < sizeof tables / sizeof *tables; t++) {
        size_t length;
        const char *bytes = pm_reference_table(tables[t], &length);
        for (size_t i = 0; bytes != NULL && i < length; i++)
            hash = (hash ^ (unsigned char)bytes[i]) * UINT64_C(0x100000001b3);
    }
    snprintf(text, EDITION_TEXT, "%016llx", (unsigned long long)hash);
}

static enum pm_status remember_edition(struct pm_studio *studio, struct pm_error *err)
{
    char text[EDITION_TEXT];
    edition(text);
    return pm_setting_put(studio->library, EDITION, text, err);
}

/* ---- sources ---- */

/* How the cell `source` names what it is about: "molar mass: ...; density: ...". */
static const struct {
    const char *property, *label;
} labels[] = {
    {"descriptors", "odour family and descriptors: "},
    {"volatility", "volatility and usual maximum: "},
    {"volatility", "volatility: "},
    {"maximum", "volatility and usual maximum: "},
    {"formula", "molar mass: "},
    {"molar_mass", "molar mass: "},
    {"density", "density: "},
    {"density_measured_at", "density: "},
    {"melting_point", "melting point: "},
    {"boiling_point", "boiling point: "},
    {"flash_point", "flash point: "},
    {"vapour_pressure", "vapour pressure: "},
    {"vapour_pressure_least", "vapour pressure: "},
    {"vapour_pressure_most", "vapour pressure: "},
    {"vapour_pressure_basis", "vapour pressure: "},
    {"log_kow", "log Kow: "},
    {"threshold", "odour threshold: "},
    {"threshold_least", "odour threshold: "},
    {"threshold_most", "odour threshold: "},
};

static bool at_label(const char *text)
{
    for (size_t i = 0; i < sizeof labels / sizeof labels[0]; i++)
        if (strncmp(text, labels[i].label, strlen(labels[i].label)) == 0)
            return true;
    return strncmp(text, "identity: ", 10) == 0 || strncmp(text, "odour family: ", 14) == 0;
}

/* The part of `source` that is about the property; all of it when no part is marked so. */
static char *source_of(const char *property, const char *source)
{
    for (size_t i = 0; i < sizeof labels / sizeof labels[0]; i++) {
        const char *label = labels[i].label, *part = source;
        if (strcmp(labels[i].property, property) != 0)
            continue;
        while (part != NULL && strncmp(part, label, strlen(label)) != 0) {
            part = strstr(part, "; ");
            part = part != NULL ? part + 2 : NULL;
        }
        if (part == NULL)
            continue;
        part += strlen(label);
        const char *end = strstr(part, "; ");
        while (end != NULL && !at_label(end + 2))
            end = strstr(end + 2, "; ");
        return end != NULL ? pm_strndup(part, (size_t)(end - part)) : pm_strdup(part);
    }
    return pm_strdup(source);
}

/* Whether a list "a;b;c" holds the word. */
static bool in_list(const char *list, const char *word)
{
    size_t length = strlen(word);
    while (*list) {
        size_t here = strcspn(list, ";");
        if (here == length && strncmp(list, word, length) == 0)
            return true;
        list += here + (list[here] == ';');
    }
    return false;
}

/* Cells listed in memory_cells are recalled; a row that is marked so and lists none is wholly. What
 * rests on common practice was read nowhere either. */
static enum pm_confidence confidence_of(const struct table *table,
                                        const struct pm_fact_property *property, const char *source)
{
    const char *recalled = field(table, "memory_cells");
    bool row_recalled = strcmp(field(table, "confidence"), "memory") == 0;
    if (in_list(recalled, property->column) || (row_recalled && recalled[0] == '\0'))
        return PM_FROM_MEMORY;
    return strstr(source, "common practice") != NULL || strstr(source, "from memory") != NULL
               ? PM_FROM_MEMORY
               : PM_CHECKED;
}

/* ---- one material ---- */

static enum pm_status put_fact(struct pm_studio *studio, int64_t material,
                               const struct table *table, const struct pm_fact_property *property,
                               struct pm_error *err)
{
    const char *text = property->column != NULL ? field(table, property->column) : "";
    struct pm_fact fact = {.property = property->word, .origin = PM_STARTER, .words = text};
    if (text[0] == '\0')
        return PM_OK;
    char *source = source_of(property->word, field(table, "source"));
    if (source == NULL)
        return pm_fail_memory(err);
    fact.source = source;
    fact.confidence = confidence_of(table, property, source);
    fact.is_number = property->kind == PM_FACT_NUMBER || property->kind == PM_FACT_PERCENT;
    enum pm_status status = pm_fact_read(property, text, &fact.value, err);
    if (status == PM_OK)
        status = pm_fact_put(studio->library, material, &fact, err);
    pm_free(source);
    return status;
}

static enum pm_status put_facts(struct pm_studio *studio, int64_t material,
                                const struct table *table, struct pm_error *err)
{
    enum pm_status status = pm_starter_clear(studio->library, material, err);
    for (size_t i = 0; status == PM_OK && i < pm_fact_property_count; i++)
        status = put_fact(studio, material, table, &pm_fact_properties[i], err);
    return status;
}

/* Synonyms that are nobody's name yet. */
static enum pm_status free_synonyms(struct pm_studio *studio, char *list, const char **synonyms,
                                    size_t *count, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (char *rest = list; status == PM_OK && rest != NULL && *count < SYNONYMS_MAX;) {
        char *one = strsep(&rest, ";");
        int64_t taken;
        struct pm_error ignored;
        if (one[0] == '\0')
            continue;
        status = pm_material_by_name(studio->library, one, &taken, &ignored);
        if (status == PM_MISSING)
            synonyms[(*count)++] = one;
        if (status == PM_MISSING || status == PM_REFUSED)
            status = PM_OK;
        else if (status != PM_OK)
            pm_fail(err, status, "%s", ignored.text);
    }
    return status;
}

static enum pm_status insert_material(struct pm_studio *studio, const struct table *table,
                                      int64_t *id, struct pm_error *err)
{
    const char *synonyms[SYNONYMS_MAX];
    char number[PM_CAS_TEXT];
    char *list = pm_strdup(field(table, "synonyms")), *name = pm_strdup(field(table, "name"));
    char *family = pm_strdup(field(table, "odour_family"));
    struct pm_material row = {.name = name, .synonyms = synonyms, .family = family};
    enum pm_status status =
        list != NULL && name != NULL && family != NULL ? PM_OK : pm_fail_memory(err);
    if (status == PM_OK && !pm_material_kind_from_word(field(table, "kind"), &row.kind))
        status = pm_fail(err, PM_INVALID, "The starter set gives %s an unknown kind.", name);
    if (status == PM_OK && field(table, "cas")[0] != '\0') {
        status = pm_cas_read(field(table, "cas"), number, err);
        row.cas = number;
    }
    if (family != NULL && family[0] == '\0')
        row.family = NULL;
    if (status == PM_OK)
        status = free_synonyms(studio, list, synonyms, &row.synonym_count, err);
    if (status == PM_OK)
        status = pm_material_insert(studio->library, &row, err);
    if (status == PM_OK)
        *id = row.id;
    pm_free(list);
    pm_free(name);
    pm_free(family);
    return status;
}

/* The shipped facts as text, to be compared. */
static enum pm_status write_facts(struct pm_studio *studio, int64_t id, struct pm_text *out,
                                  struct pm_error *err)
{
    struct pm_facts facts;
    const enum pm_status status = pm_fact_list(studio->library, id, &facts, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < facts.count; i++) {
        const struct pm_fact *fact = &facts.items[i];
        if (fact->origin == PM_STARTER)
            pm_text_addf(out, "%s\t%lld\t%s\t%s\t%d\n", fact->property, (long long)fact->value,
                         fact->words != NULL ? fact->words : "",
                         fact->source != NULL ? fact->source : "", (int)fact->confidence);
    }
    pm_list_release(&facts);
    return PM_OK;
}

/* Writes the shipped facts; *same tells whether they are what they were. */
static enum pm_status renew_facts(struct pm_studio *studio, int64_t id, const struct table *table,
                                  bool *same, struct pm_error *err)
{
    struct pm_text before = PM_TEXT_EMPTY, after = PM_TEXT_EMPTY;
    enum pm_status status = write_facts(studio, id, &before, err);
    if (status == PM_OK)
        status = put_facts(studio, id, table, err);
    if (status == PM_OK)
        status = write_facts(studio, id, &after, err);
    if (status == PM_OK && (!pm_text_ok(&before) || !pm_text_ok(&after)))
        status = pm_fail_memory(err);
    *same = strcmp(pm_text_get(&before), pm_text_get(&after)) == 0;
    pm_text_release(&before);
    pm_text_release(&after);
    return status;
}

/* What the row stands for here: linked, or of that name; 0 when there is none. */
static enum pm_status find_material(struct pm_studio *studio, const char *name, bool by_name,
                                    int64_t *id, struct pm_error *err)
{
    struct pm_error ignored;
    enum pm_status status = pm_starter_find(studio->library, name, id, err);
    if (status == PM_OK && *id != 0)
        return pm_studio_follow(studio, id, err);
    if (status == PM_OK && by_name &&
        pm_material_by_name(studio->library, name, id, &ignored) != PM_OK)
        *id = 0;
    return status;
}

static enum pm_status bring_material(struct pm_studio *studio, const struct table *table,
                                     struct pm_import_result *result, struct pm_error *err)
{
    const char *name = field(table, "name");
    int64_t id = 0;
    bool same = false, fresh = false;
    enum pm_status status = find_material(studio, name, true, &id, err);
    if (status == PM_OK && id == 0) {
        status = insert_material(studio, table, &id, err);
        fresh = true;
    }
    if (status == PM_OK)
        status = pm_starter_link(studio->library, name, id, err);
    if (status == PM_OK)
        status = renew_facts(studio, id, table, &same, err);
    *(fresh ? &result->added : same ? &result->same : &result->updated) += 1;
    return status;
}

/* ---- constituents ---- */

/* The next word of a name, letters and digits alone; its length, 0 at the end. */
static size_t next_word(const char **text)
{
    size_t length = 0;
    while (**text && strchr(" ,()-/'.", **text) != NULL)
        (*text)++;
    while ((*text)[length] && strchr(" ,()-/'.", (*text)[length]) == NULL)
        length++;
    return length;
}

/* Whether the words of `name` begin the name `natural`; *all: nothing follows there. Folded. */
static bool begins_with(const char *natural, const char *name, bool *all)
{
    for (;;) {
        size_t wanted = next_word(&name), there = next_word(&natural);
        if (wanted == 0) {
            *all = there == 0;
            return true;
        }
        if (wanted != there || memcmp(natural, name, wanted) != 0)
            return false;
        name += wanted;
        natural += there;
    }
}

struct natural {
    char *name; /* as in the table, owned */
    bool exact;
    size_t fits; /* how many naturals of the table could be meant */
};

/* Which natural of the table is meant by the material of that name and CAS number: the one whose
 * name begins with all its words and whose number agrees. Two kinds of one oil leave it open. */
static enum pm_status find_natural(const char *name, const char *cas, struct natural *out,
                                   struct pm_error *err)
{
    struct table table;
    bool more = true, all = false;
    char *folded = pm_fold(name);
    enum pm_status status = folded != NULL ? table_open(&table, "constituents.csv", err) : PM_NOMEM;
    if (folded == NULL)
        return pm_fail_memory(err);
    while (status == PM_OK && (status = pm_csv_next(&table.csv, &more, err)) == PM_OK && more) {
        const char *natural = field(&table, "natural");
        if (out->name != NULL && strcmp(out->name, natural) == 0)
            continue;
        char *other = pm_fold(natural);
        bool fits = other != NULL && begins_with(other, folded, &all) &&
                    (cas[0] == '\0' || strstr(field(&table, "natural_cas"), cas) != NULL);
        pm_free(other);
        if (!fits || (out->exact && !all))
            continue;
        out->fits = all ? 1 : out->fits + 1;
        out->exact = all;
        pm_free(out->name);
        out->name = pm_strdup(natural);
        if (out->name == NULL)
            status = pm_fail_memory(err);
    }
    table_close(&table);
    pm_free(folded);
    return status;
}

struct constituents {
    struct pm_constituent *items; /* owned, with their strings */
    size_t count, capacity;
};

static void constituents_release(struct constituents *list)
{
    for (size_t i = 0; i < list->count; i++) {
        pm_free((char *)(uintptr_t)list->items[i].name);
        pm_free((char *)(uintptr_t)list->items[i].cas);
        pm_free((char *)(uintptr_t)list->items[i].source);
    }
    pm_free(list->items);
}

static enum pm_status read_fraction(const char *text, int64_t *out, struct pm_error *err)
{
    *out = -1;
    return text[0] == '\0' ? PM_OK : pm_decimal_read(text, 7, "A constituent", out, err);
}

static enum pm_status add_constituent(struct constituents *list, const struct table *table,
                                      struct pm_error *err)
{
    if (!pm_grow(&list->items, &list->capacity, list->count + 1, sizeof *list->items))
        return pm_fail_memory(err);
    struct pm_constituent *item = &list->items[list->count++];
    const char *cas = field(table, "constituent_cas");
    bool memory = strcmp(field(table, "confidence"), "memory") == 0;
    *item = (struct pm_constituent){.origin = PM_STARTER,
                                    .name = pm_strdup(field(table, "constituent")),
                                    .cas = cas[0] ? pm_strdup(cas) : NULL,
                                    .source = pm_strdup(field(table, "source")),
                                    .confidence = memory ? PM_FROM_MEMORY : PM_CHECKED};
    if (item->name == NULL || item->source == NULL || (cas[0] && item->cas == NULL))
        return pm_fail_memory(err);
    enum pm_status status = read_fraction(field(table, "min_percent"), &item->least, err);
    if (status == PM_OK)
        status = read_fraction(field(table, "typical_percent"), &item->typical, err);
    if (status == PM_OK)
        status = read_fraction(field(table, "max_percent"), &item->most, err);
    return status;
}

static enum pm_status bring_constituents(struct pm_studio *studio, const char *name,
                                         const char *cas, struct pm_error *err)
{
    struct natural natural = {NULL, false, 0};
    struct constituents list = {NULL, 0, 0};
    struct table table;
    int64_t id = 0;
    bool more = true;
    enum pm_status status = find_natural(name, cas, &natural, err);
    if (status != PM_OK || natural.fits != 1) {
        pm_free(natural.name);
        return status;
    }
    status = table_open(&table, "constituents.csv", err);
    while (status == PM_OK && (status = pm_csv_next(&table.csv, &more, err)) == PM_OK && more)
        if (strcmp(field(&table, "natural"), natural.name) == 0)
            status = add_constituent(&list, &table, err);
    table_close(&table);
    if (status == PM_OK)
        status = pm_starter_find(studio->library, name, &id, err);
    if (status == PM_OK)
        status = pm_studio_follow(studio, &id, err);
    if (status == PM_OK)
        status = pm_constituents_put(studio->library, id, PM_STARTER, list.items, list.count, err);
    constituents_release(&list);
    pm_free(natural.name);
    return status;
}

static enum pm_status bring_row(struct pm_studio *studio, const struct table *table,
                                struct pm_import_result *result, struct pm_error *err)
{
    enum pm_status status = bring_material(studio, table, result, err);
    if (status == PM_OK && strcmp(field(table, "kind"), "natural") == 0)
        status = bring_constituents(studio, field(table, "name"), field(table, "cas"), err);
    return status;
}

/* ---- all of it, or some ---- */

struct wanted {
    const char *const *names;
    size_t count;
    size_t met;
};

static bool is_wanted(struct wanted *wanted, const char *name)
{
    for (size_t i = 0; i < wanted->count; i++) {
        if (pm_fold_equal(wanted->names[i], name)) {
            wanted->met++;
            return true;
        }
    }
    return wanted->count == 0;
}

static enum pm_status name_unmet(const struct wanted *wanted, struct pm_error *err)
{
    for (size_t i = 0; i < wanted->count; i++) {
        struct table table;
        bool more = true, met = false;
        enum pm_status status = table_open(&table, "materials.csv", err);
        while (status == PM_OK && (status = pm_csv_next(&table.csv, &more, err)) == PM_OK && more)
            met = met || pm_fold_equal(wanted->names[i], field(&table, "name"));
        table_close(&table);
        if (status == PM_OK && !met)
            return pm_fail(err, PM_MISSING, "The starter set has no material \"%s\".",
                           wanted->names[i]);
    }
    return PM_OK;
}

static enum pm_status bring_all(struct pm_studio *studio, struct wanted *wanted,
                                struct pm_import_result *result, struct pm_error *err)
{
    struct table table;
    bool more = true;
    enum pm_status status = table_open(&table, "materials.csv", err);
    while (status == PM_OK && (status = pm_csv_next(&table.csv, &more, err)) == PM_OK && more)
        if (is_wanted(wanted, field(&table, "name")))
            status = bring_row(studio, &table, result, err);
    table_close(&table);
    return status;
}

/* ---- following a newer edition ---- */

/* Renews what was brought once, whatever it is called now. */
static enum pm_status follow_linked(struct pm_studio *studio, struct pm_import_result *result,
                                    struct pm_error *err)
{
    struct table table;
    bool more = true;
    enum pm_status status = table_open(&table, "materials.csv", err);
    while (status == PM_OK && (status = pm_csv_next(&table.csv, &more, err)) == PM_OK && more) {
        int64_t id = 0;
        status = find_material(studio, field(&table, "name"), false, &id, err);
        if (status == PM_OK && id != 0)
            status = bring_row(studio, &table, result, err);
    }
    table_close(&table);
    return status;
}

/* Whether shipped facts of another edition are here. */
static enum pm_status is_outdated(struct pm_studio *studio, bool *outdated, struct pm_error *err)
{
    char now[EDITION_TEXT], *was = NULL;
    edition(now);
    enum pm_status status = pm_setting_get(studio->library, EDITION, &was, err);
    *outdated = false;
    if (status == PM_OK && (was == NULL || strcmp(was, now) != 0))
        status = pm_starter_any(studio->library, outdated, err);
    pm_free(was);
    return status;
}

enum pm_status pm_starter_follow(struct pm_studio *studio, struct pm_error *err)
{
    struct pm_import_result result = {0, 0, 0};
    struct pm_shelf_step step;
    bool outdated;
    enum pm_status status = is_outdated(studio, &outdated, err);
    if (status != PM_OK || !outdated)
        return status;
    status = pm_step_begin(&step, studio, err);
    if (status != PM_OK)
        return status;
    status = follow_linked(studio, &result, err);
    if (status == PM_OK)
        status = remember_edition(studio, err);
    pm_step_say(&step, "Shipped facts of %lld material%s follow a newer starter set",
                (long long)result.updated, result.updated == 1 ? "" : "s");
    return pm_step_end_for_good(&step, status, "import", err);
}

enum pm_status pm_shelf_import_starter(struct pm_studio *studio, struct pm_import_result *out,
                                       struct pm_error *err)
{
    return pm_shelf_import_named(studio, NULL, 0, out, err);
}

enum pm_status pm_shelf_import_named(struct pm_studio *studio, const char *const *names,
                                     size_t count, struct pm_import_result *out,
                                     struct pm_error *err)
{
    struct pm_shelf_step step;
    struct pm_import_result result = {0, 0, 0}, followed = {0, 0, 0};
    struct wanted wanted = {names, count, 0};
    enum pm_status status = pm_step_begin(&step, studio, err);
    if (status != PM_OK)
        return status;
    status = bring_all(studio, &wanted, &result, err);
    if (status == PM_OK && wanted.met < count)
        status = name_unmet(&wanted, err);
    /* What came earlier and is not named now must not stay behind. */
    if (status == PM_OK && count > 0)
        status = follow_linked(studio, &followed, err);
    if (status == PM_OK)
        status = remember_edition(studio, err);
    pm_step_say(&step, "Brought the starter set: %lld materials new, %lld up to date",
                (long long)result.added, (long long)(result.updated + result.same));
    status = pm_step_end_for_good(&step, status, "import", err);
    if (status == PM_OK)
        *out = result;
    return status;
}

/* ---- what others call it ---- */

/* The first that has a name keeps it. */
static bool add_name(struct pm_starter_names *names, const char *word, size_t length,
                     const char *name)
{
    const size_t before = names->words.count;
    size_t place = 0;
    char *one = pm_strndup(word, length), *folded = one != NULL ? pm_fold(one) : NULL;
    const bool added =
        folded != NULL && pm_text_set_add(&names->words, folded, &place) &&
        pm_grow(&names->names, &names->capacity, names->words.count, sizeof *names->names);
    pm_free(folded);
    pm_free(one);
    if (!added)
        return false;
    if (place == before)
        names->names[place] = name;
    return true;
}

static bool add_row(struct pm_starter_names *names, const struct table *table)
{
    const char *name = pm_arena_text(&names->words.arena, field(table, "name"));
    bool added = name != NULL && add_name(names, name, strlen(name), name);
    for (const char *at = field(table, "synonyms"); added && *at != '\0'; at += *at == ';') {
        const size_t length = strcspn(at, ";");
        added = add_name(names, at, length, name);
        at += length;
    }
    return added;
}

enum pm_status pm_starter_names_read(struct pm_starter_names *out, struct pm_error *err)
{
    struct table table;
    bool more = true;
    enum pm_status status = table_open(&table, "materials.csv", err);
    while (status == PM_OK && (status = pm_csv_next(&table.csv, &more, err)) == PM_OK && more)
        status = add_row(out, &table) ? PM_OK : pm_fail_memory(err);
    table_close(&table);
    return status;
}

void pm_starter_names_release(struct pm_starter_names *names)
{
    pm_free(names->names);
    pm_text_set_release(&names->words);
    *names = (struct pm_starter_names){.names = NULL};
}

bool pm_starter_name(const struct pm_starter_names *names, const char *word, const char **name)
{
    char *folded = pm_fold(word);
    if (folded == NULL)
        return false;
    const size_t place = pm_text_set_place(&names->words, folded);
    *name = place != PM_MAP_NONE ? names->names[place] : NULL;
    pm_free(folded);
    return true;
}
