/* SPDX-License-Identifier: MIT */
/*
 * Rows of materials and their names.
 */
#include "permille/store/materials.h"
#include "store.h"

#include "permille/base/mem.h"
#include "permille/base/text.h"
#include "permille/core/cas.h"

#include <string.h>

#define NAMELESS "Material number %lld has no name in the file."

static enum pm_status no_material(int64_t id, struct pm_error *err)
{
    return pm_fail(err, PM_MISSING, "There is no material number %lld.", (long long)id);
}

/* ---- names ---- */

/* Says whose the name is that could not be given to this material. */
static enum pm_status refuse_taken(struct pm_library *library, int64_t id, const char *name,
                                   struct pm_error *err)
{
    struct pm_query query;
    enum pm_status taken = pm_fail(err, PM_EXISTS, "\"%s\" is taken.", name);
    pm_query_open(&query, library, PM_SQL_NAME_FIND);
    pm_query_folded(&query, name);
    if (pm_query_row(&query)) {
        const char *owner = pm_query_get_text(&query, 2);
        bool synonym = pm_query_get_int(&query, 1) != 0;
        if (pm_query_get_int(&query, 0) == id) {
            taken = pm_fail(err, PM_EXISTS, "\"%s\" is given twice for the same material.", name);
        } else if (synonym) {
            taken = pm_fail(err, PM_EXISTS, "\"%s\" is another name of the material \"%s\".", name,
                            owner == NULL ? "?" : owner);
        } else {
            taken = pm_fail(err, PM_EXISTS, "There is a material \"%s\" already.",
                            owner == NULL ? "?" : owner);
        }
    }
    enum pm_status status = pm_query_close(&query, err);
    return status == PM_OK ? taken : status;
}

/* The file itself sees that a name is there once; asking before would be asking twice. */
static enum pm_status insert_name(struct pm_library *library, int64_t id, size_t place,
                                  const char *name, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_NAME_INSERT);
    pm_query_int(&query, id);
    pm_query_int(&query, (int64_t)place);
    pm_query_text(&query, name);
    pm_query_folded(&query, name);
    pm_query_row(&query);
    const bool taken = query.rc == SQLITE_CONSTRAINT_UNIQUE;
    enum pm_status status = pm_query_close(&query, taken ? NULL : err);
    if (taken)
        status = refuse_taken(library, id, name, err);
    return pm_error_at(err, place == 0 ? "name" : "synonyms", status);
}

static enum pm_status insert_names(struct pm_library *library, const struct pm_material *material,
                                   int64_t id, struct pm_error *err)
{
    enum pm_status status = insert_name(library, id, 0, material->name, err);
    for (size_t i = 0; status == PM_OK && i < material->synonym_count; i++)
        status = insert_name(library, id, i + 1, material->synonyms[i], err);
    return status;
}

static enum pm_status remove_names(struct pm_library *library, int64_t id, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_NAMES_DELETE);
    pm_query_int(&query, id);
    return pm_query_run(&query, err);
}

/* ---- writing ---- */

static void bind_material(struct pm_query *query, const struct pm_material *material, int64_t id)
{
    pm_query_int(query, id);
    pm_query_text(query, pm_material_kind_word(material->kind));
    pm_query_text(query, material->cas);
    pm_query_text(query, material->family);
    pm_query_text(query, material->note);
    pm_query_int(query, material->set_aside);
    pm_query_key(query, material->merged_into);
}

static int insert_row(struct pm_library *library, const struct pm_material *material, int64_t id,
                      int64_t now, struct pm_error *err, enum pm_status *status)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_MATERIAL_INSERT);
    bind_material(&query, material, id);
    pm_query_int(&query, now);
    pm_query_row(&query);
    const int rc = query.rc;
    *status = pm_query_close(&query, err);
    return rc;
}

/* The number that follows the largest. Within one whole change it is counted on from the last,
 * without asking for every row; should somebody else's row have it, the file refuses and is asked.
 */
static enum pm_status number_row(struct pm_library *library, const struct pm_material *material,
                                 int64_t now, int64_t *id, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    *id = library->next_material;
    if (*id != 0) {
        const int rc = insert_row(library, material, *id, now, err, &status);
        if (rc != SQLITE_CONSTRAINT_PRIMARYKEY && rc != SQLITE_CONSTRAINT_ROWID)
            return status;
    }
    status = pm_store_next_id(library, PM_SQL_MATERIAL_NEXT, id, err);
    if (status == PM_OK)
        (void)insert_row(library, material, *id, now, err, &status);
    return status;
}

static enum pm_status insert_rows(struct pm_library *library, const struct pm_material *material,
                                  int64_t now, int64_t *id, struct pm_error *err)
{
    enum pm_status status = number_row(library, material, now, id, err);
    library->next_material = status == PM_OK && library->whole != 0 ? *id + 1 : 0;
    if (status == PM_OK)
        status = insert_names(library, material, *id, err);
    if (status == PM_OK)
        status = pm_search_refresh(library, *id, err);
    return status;
}

/* What was written of a material whose name is taken, within a larger change that goes on: by hand,
 * since that one may be given up only as a whole. */
static enum pm_status take_back(struct pm_library *library, int64_t id, struct pm_error *err)
{
    struct pm_query query;
    enum pm_status status = remove_names(library, id, err);
    if (status != PM_OK)
        return status;
    pm_query_open(&query, library, PM_SQL_MATERIAL_DELETE);
    pm_query_int(&query, id);
    return pm_query_run(&query, err);
}

enum pm_status pm_material_insert(struct pm_library *library, struct pm_material *material,
                                  struct pm_error *err)
{
    struct pm_error why;
    int64_t id = 0;
    int64_t now = pm_library_now(library);
    enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    status = insert_rows(library, material, now, &id, err);
    if (status == PM_EXISTS && library->depth > 1 && take_back(library, id, &why) == PM_OK)
        return pm_library_commit(library, &why) == PM_OK ? PM_EXISTS
                                                         : pm_fail(err, why.status, "%s", why.text);
    status = pm_library_finish(library, status, err);
    if (status == PM_OK) {
        material->id = id;
        material->made_at = now;
    }
    return status;
}

static enum pm_status update_rows(struct pm_library *library, const struct pm_material *material,
                                  struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_MATERIAL_UPDATE);
    bind_material(&query, material, material->id);
    enum pm_status status = pm_query_run(&query, err);
    if (status == PM_OK && sqlite3_changes(library->db) == 0)
        status = no_material(material->id, err);
    if (status == PM_OK)
        status = remove_names(library, material->id, err);
    if (status == PM_OK)
        status = insert_names(library, material, material->id, err);
    if (status == PM_OK)
        status = pm_search_refresh(library, material->id, err);
    return status;
}

/* What something is diluted with stays a solvent, or that could never be edited again. */
static enum pm_status check_kind(struct pm_library *library, const struct pm_material *material,
                                 struct pm_error *err)
{
    struct pm_query query;
    int64_t dilutes = 0;
    if (material->kind == PM_SOLVENT)
        return PM_OK;
    pm_query_open(&query, library, PM_SQL_MATERIAL_DILUTES);
    pm_query_int(&query, material->id);
    enum pm_status status = pm_query_one(&query, &dilutes, NULL, err);
    if (status == PM_OK && dilutes != 0) {
        status =
            pm_fail(err, PM_REFUSED, "Bottles or lines are diluted with %s, so it stays a solvent.",
                    material->name);
    }
    return status;
}

enum pm_status pm_material_update(struct pm_library *library, const struct pm_material *material,
                                  struct pm_error *err)
{
    enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    status = check_kind(library, material, err);
    if (status == PM_OK)
        status = update_rows(library, material, err);
    return pm_library_finish(library, status, err);
}

static enum pm_status set_aside(struct pm_library *library, int64_t id, bool aside,
                                struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_MATERIAL_SET_ASIDE);
    pm_query_int(&query, id);
    pm_query_int(&query, aside);
    enum pm_status status = pm_query_run(&query, err);
    if (status == PM_OK && sqlite3_changes(library->db) == 0)
        status = no_material(id, err);
    return status == PM_OK ? pm_search_refresh(library, id, err) : status;
}

enum pm_status pm_material_set_aside(struct pm_library *library, int64_t id, bool aside,
                                     struct pm_error *err)
{
    const enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    return pm_library_finish(library, set_aside(library, id, aside, err), err);
}

/* ---- removing ---- */

/* Names what `which` finds for the material: "A, B and others". */
static enum pm_status list_users(struct pm_library *library, enum pm_sql which, int64_t id,
                                 struct pm_text *names, struct pm_error *err)
{
    enum { SHOWN = 3 };
    struct pm_query query;
    int count = 0;
    pm_query_open(&query, library, which);
    pm_query_int(&query, id);
    while (count <= SHOWN && pm_query_row(&query)) {
        const char *name = pm_query_get_text(&query, 0);
        if (count == SHOWN)
            pm_text_add(names, " and others");
        else if (name != NULL)
            pm_text_addf(names, "%s\"%s\"", names->length == 0 ? "" : ", ", name);
        count++;
    }
    return pm_query_close(&query, err);
}

static enum pm_status refuse_used(struct pm_library *library, int64_t id, struct pm_error *err)
{
    struct pm_text formulas = PM_TEXT_EMPTY;
    struct pm_text merged = PM_TEXT_EMPTY;
    int64_t bottle = 0;
    enum pm_status status = list_users(library, PM_SQL_MATERIAL_USERS, id, &formulas, err);
    if (status == PM_OK)
        status = list_users(library, PM_SQL_MATERIAL_MERGED_HERE, id, &merged, err);
    if (status == PM_OK) {
        struct pm_query query;
        pm_query_open(&query, library, PM_SQL_BOTTLE_USERS);
        pm_query_int(&query, id);
        status = pm_query_one(&query, &bottle, NULL, err);
    }
    if (status == PM_OK && formulas.length > 0) {
        status = pm_fail(err, PM_REFUSED,
                         "The material is used in %s, or was in its history; set it aside instead.",
                         pm_text_get(&formulas));
    } else if (status == PM_OK && merged.length > 0) {
        status = pm_fail(err, PM_REFUSED, "%s was merged into this material; set it aside instead.",
                         pm_text_get(&merged));
    } else if (status == PM_OK && bottle != 0) {
        status = pm_fail(err, PM_REFUSED,
                         "Bottles hold the material, B%03lld the first; set it aside instead.",
                         (long long)bottle);
    }
    pm_text_release(&formulas);
    pm_text_release(&merged);
    return status;
}

static enum pm_status delete_rows(struct pm_library *library, int64_t id, struct pm_error *err)
{
    enum pm_status status = refuse_used(library, id, err);
    if (status == PM_OK)
        status = remove_names(library, id, err);
    if (status == PM_OK) {
        struct pm_query query;
        pm_query_open(&query, library, PM_SQL_MATERIAL_DELETE);
        pm_query_int(&query, id);
        status = pm_query_run(&query, err);
    }
    if (status == PM_OK && sqlite3_changes(library->db) == 0)
        status = no_material(id, err);
    if (status == PM_OK)
        status = pm_search_refresh(library, id, err);
    return status;
}

enum pm_status pm_material_delete(struct pm_library *library, int64_t id, struct pm_error *err)
{
    enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    return pm_library_finish(library, delete_rows(library, id, err), err);
}

/* ---- reading ---- */

static enum pm_status read_names(struct pm_library *library, int64_t id, struct pm_material *out,
                                 struct pm_error *err)
{
    struct pm_query query;
    struct pm_texts names = {.arena = out->arena}; /* the strings are to be in it */
    pm_query_open(&query, library, PM_SQL_NAMES_GET);
    pm_query_int(&query, id);
    while (pm_query_row(&query)) {
        const char **name = pm_query_add(&query, &names);
        if (name != NULL)
            *name = pm_query_get_kept(&query, 0, &names.arena);
    }
    enum pm_status status = pm_query_close(&query, err);
    out->arena = names.arena;
    if (status != PM_OK)
        return status;
    if (names.count == 0)
        return pm_fail(err, PM_DAMAGED, NAMELESS, (long long)id);
    out->name = names.items[0];
    out->synonyms = names.items + 1;
    out->synonym_count = names.count - 1;
    return PM_OK;
}

static enum pm_status read_row(struct pm_library *library, int64_t id, struct pm_material *out,
                               struct pm_error *err)
{
    struct pm_query query;
    bool sound = true;
    pm_query_open(&query, library, PM_SQL_MATERIAL_GET);
    pm_query_int(&query, id);
    bool found = pm_query_row(&query);
    if (found) {
        const char *kind = pm_query_get_text(&query, 0);
        sound = kind != NULL && pm_material_kind_from_word(kind, &out->kind);
        out->id = id;
        out->cas = pm_query_get_kept(&query, 1, &out->arena);
        out->family = pm_query_get_kept(&query, 2, &out->arena);
        out->note = pm_query_get_kept(&query, 3, &out->arena);
        out->set_aside = pm_query_get_int(&query, 4) != 0;
        out->merged_into = pm_query_get_int(&query, 5);
        out->made_at = pm_query_get_int(&query, 6);
    }
    enum pm_status status = pm_query_close(&query, err);
    if (status == PM_OK && !found)
        return no_material(id, err);
    if (status == PM_OK && !sound) {
        return pm_fail(err, PM_DAMAGED, "Material number %lld is damaged in the file.",
                       (long long)id);
    }
    return status;
}

enum pm_status pm_material_get(struct pm_library *library, int64_t id, struct pm_material *out,
                               struct pm_error *err)
{
    struct pm_material material = {0};
    enum pm_status status = pm_library_begin_read(library, err);
    if (status != PM_OK)
        return status;
    status = read_row(library, id, &material, err);
    if (status == PM_OK)
        status = read_names(library, id, &material, err);
    pm_library_end_read(library);
    if (status != PM_OK) {
        pm_material_release(&material);
        return status;
    }
    *out = material;
    return PM_OK;
}

static void read_name(struct pm_query *query, struct pm_arena *arena, struct pm_material_name *out)
{
    out->id = pm_query_get_int(query, 0);
    out->name = pm_query_get_kept(query, 1, arena);
    out->cas = pm_query_get_kept(query, 2, arena);
    out->family = pm_query_get_kept(query, 3, arena);
    out->is_solvent = pm_query_get_int(query, 4) != 0;
    out->set_aside = pm_query_get_int(query, 5) != 0;
}

enum pm_status pm_material_name_get(struct pm_library *library, int64_t id, struct pm_arena *arena,
                                    struct pm_material_name *out, int64_t *merged_into,
                                    struct pm_error *err)
{
    struct pm_query query;
    struct pm_material_name name = {.id = 0};
    int64_t merged = 0;
    pm_query_open(&query, library, PM_SQL_MATERIAL_NAME);
    pm_query_int(&query, id);
    if (pm_query_row(&query)) {
        read_name(&query, arena, &name);
        merged = pm_query_get_int(&query, 6);
    }
    const enum pm_status status = pm_query_close(&query, err);
    if (status != PM_OK)
        return status;
    if (name.id == 0)
        return no_material(id, err);
    if (name.name == NULL)
        return pm_fail(err, PM_DAMAGED, NAMELESS, (long long)id);
    *out = name;
    *merged_into = merged;
    return PM_OK;
}

enum pm_status pm_material_names_of_trial(struct pm_library *library, int64_t trial,
                                          struct pm_material_names *out, struct pm_error *err)
{
    struct pm_query query;
    struct pm_material_names list = {0};
    pm_query_open(&query, library, PM_SQL_MATERIAL_OF_TRIAL);
    pm_query_int(&query, trial);
    while (pm_query_row(&query)) {
        struct pm_material_name *item = pm_query_add(&query, &list);
        if (item == NULL)
            break;
        read_name(&query, &list.arena, item);
    }
    enum pm_status status = pm_query_close(&query, err);
    pm_list_give(&list, status, out);
    return status;
}

static enum pm_status find_cas(struct pm_library *library, const char *cas, int64_t *id,
                               struct pm_error *err)
{
    struct pm_query query;
    struct pm_text names = PM_TEXT_EMPTY;
    int count = 0;
    pm_query_open(&query, library, PM_SQL_CAS_FIND);
    pm_query_text(&query, cas);
    while (pm_query_row(&query)) {
        const char *name = pm_query_get_text(&query, 1);
        *id = pm_query_get_int(&query, 0);
        pm_text_addf(&names, "%s\"%s\"", count == 0 ? "" : ", ", name == NULL ? "?" : name);
        count++;
    }
    enum pm_status status = pm_query_close(&query, err);
    if (status == PM_OK && count > 1) {
        status = pm_fail(err, PM_REFUSED, "Several materials have the CAS number %s: %s.", cas,
                         pm_text_get(&names));
    }
    pm_text_release(&names);
    return status;
}

/* Follows merged_into to its end. A damaged file may hold a circle: the way is bounded. */
static enum pm_status follow_merges(struct pm_library *library, int64_t *id, struct pm_error *err)
{
    enum { LONGEST_WAY = 1000 };
    for (int steps = 0; steps < LONGEST_WAY; steps++) {
        struct pm_query query;
        int64_t next = 0;
        bool found = false;
        pm_query_open(&query, library, PM_SQL_MATERIAL_MERGED);
        pm_query_int(&query, *id);
        const enum pm_status status = pm_query_one(&query, &next, &found, err);
        if (status == PM_OK && !found)
            return no_material(*id, err);
        if (status != PM_OK || next == 0)
            return status;
        *id = next;
    }
    return pm_fail(err, PM_DAMAGED, "Materials are merged into each other in a circle.");
}

/* *moved tells that it was merged into another, or is not there. */
static enum pm_status find_owner(struct pm_library *library, const char *name, int64_t *id,
                                 bool *moved, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_NAME_OWNER);
    pm_query_folded(&query, name);
    if (pm_query_row(&query)) {
        *id = pm_query_get_int(&query, 0);
        *moved = pm_query_get_int(&query, 1) != 0;
    }
    return pm_query_close(&query, err);
}

enum pm_status pm_material_by_name(struct pm_library *library, const char *text, int64_t *id,
                                   struct pm_error *err)
{
    int64_t found = 0;
    bool moved = false;
    enum pm_status status = pm_library_begin_read(library, err);
    if (status != PM_OK)
        return status;
    status = find_owner(library, text, &found, &moved, err);
    if (status == PM_OK && found == 0 && pm_cas_shaped(text))
        status = find_cas(library, text, &found, err);
    if (status == PM_OK && found == 0)
        status = pm_fail(err, PM_MISSING, "There is no material \"%s\".", text);
    if (status == PM_OK && moved)
        status = follow_merges(library, &found, err);
    pm_library_end_read(library);
    if (status == PM_OK)
        *id = found;
    return status;
}
