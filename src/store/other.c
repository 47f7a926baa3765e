/* SPDX-License-Identifier: MIT */
/*
 * Another library beside the open one: opening it (other_inside.h tells the rest).
 */
#include "other_inside.h"

#include "backup.h"
#include "connection.h"
#include "document.h"

#include "permille/base/mem.h"
#include "permille/store/document.h"

#include <string.h>

/* ---- statements ---- */

enum pm_status pm_other_run(struct pm_other *other, const char *sql, struct pm_error *err)
{
    enum pm_status status = pm_library_go_on(other->library, OTHER_DOING, other->done++, 0, err);
    return status == PM_OK ? pm_execute(other->library->db, sql, OTHER_DOING, err) : status;
}

enum pm_status pm_other_run_text(struct pm_other *other, struct pm_text *sql, struct pm_error *err)
{
    const enum pm_status status =
        pm_text_ok(sql) ? pm_other_run(other, pm_text_get(sql), err) : pm_fail_memory(err);
    pm_text_release(sql);
    return status;
}

enum pm_status pm_other_ask(struct pm_other *other, const char *sql, int64_t *out,
                            struct pm_error *err)
{
    return pm_ask(other->library->db, sql, OTHER_DOING, out, err);
}

enum pm_status pm_other_prepare(struct pm_other *other, const char *sql, sqlite3_stmt **out,
                                struct pm_error *err)
{
    const int rc = sqlite3_prepare_v2(other->library->db, sql, -1, out, NULL);
    return rc == SQLITE_OK ? PM_OK : pm_store_fail(other->library->db, rc, OTHER_DOING, err);
}

const struct pm_shape *pm_other_shape(const struct pm_other *other, const char *table)
{
    for (size_t i = 0; i < other->shapes.count; i++)
        if (strcmp(other->shapes.items[i].table, table) == 0)
            return &other->shapes.items[i];
    return NULL;
}

/* ---- opening ---- */

/* One that could not be taken away while a change was going on is still there. */
static enum pm_status attach(struct pm_library *library, struct pm_error *err)
{
    int64_t there = 0;
    enum pm_status status =
        pm_ask(library->db, "SELECT count(*) FROM pragma_database_list WHERE name = 'other'",
               OTHER_DOING, &there, err);
    if (status == PM_OK && there != 0)
        status = pm_execute(library->db, "DETACH other", OTHER_DOING, err);
    return status == PM_OK ? pm_execute(library->db, "ATTACH ':memory:' AS other", OTHER_DOING, err)
                           : status;
}

static enum pm_status lay_beside(struct pm_other *other, struct pm_library *copy,
                                 struct pm_error *err)
{
    struct pm_library *library = other->library;
    if (library->read_only) /* what lies beside it could not be written either */
        return pm_fail(err, PM_IO, "The library %s is open for reading only.", library->path);
    enum pm_status status =
        pm_library_sound(copy, "The other library is damaged, so nothing comes in", err);
    if (status == PM_OK)
        status = pm_shapes_load(library->db, &other->shapes, err);
    if (status == PM_OK)
        status = attach(library, err);
    if (status == PM_OK)
        status = pm_copy_pages(copy->db, "main", library->db, "other", library->watch, err);
    return status;
}

/* Takes the copy over, also when it fails. */
static enum pm_status open_beside(struct pm_library *library, struct pm_library *copy,
                                  struct pm_other **out, struct pm_error *err)
{
    struct pm_other *other = pm_alloc_array(1, sizeof *other);
    enum pm_status status = PM_OK;
    if (other == NULL) {
        status = pm_fail_memory(err);
    } else {
        other->library = library;
        status = lay_beside(other, copy, err);
    }
    pm_library_close(copy);
    if (status == PM_OK)
        *out = other;
    else
        pm_other_close(other);
    return status;
}

enum pm_status pm_other_open(struct pm_library *library, const char *path, struct pm_other **out,
                             struct pm_error *err)
{
    struct pm_library *copy;
    *out = NULL;
    const enum pm_status status = pm_library_open_copy(path, library, &copy, err);
    return status == PM_OK ? open_beside(library, copy, out, err) : status;
}

enum pm_status pm_other_open_document(struct pm_library *library,
                                      const struct pm_json_value *document, struct pm_other **out,
                                      struct pm_error *err)
{
    struct pm_library *copy;
    *out = NULL;
    const enum pm_status status = pm_document_open_copy(document, library, &copy, err);
    return status == PM_OK ? open_beside(library, copy, out, err) : status;
}

void pm_other_close(struct pm_other *other)
{
    static const char *const tables[] = {"other_map", "other_item",  "other_need",
                                         "other_ref", "other_smell", "other_chosen"};
    if (other == NULL)
        return;
    struct pm_library *library = other->library;
    const struct pm_watch *watch = library->watch;
    pm_library_watch(library, NULL); /* tidying up is not stopped */
    for (size_t i = 0; i < sizeof tables / sizeof tables[0]; i++) {
        char sql[64];
        sqlite3_snprintf((int)sizeof sql, sql, "DROP TABLE IF EXISTS temp.%s", tables[i]);
        sqlite3_exec(library->db, sql, NULL, NULL, NULL);
    }
    /* In the middle of a change it stays; the next one takes it away, or closing the library. */
    if (sqlite3_exec(library->db, "DETACH other", NULL, NULL, NULL) == SQLITE_OK) {
        /* Undoing must need no memory: made ready anew by the next change. */
        sqlite3_finalize(library->rollback);
        library->rollback = NULL;
    }
    pm_library_watch(library, watch);
    pm_shapes_release(&other->shapes);
    pm_free(other);
}
