/* SPDX-License-Identifier: MIT */
/*
 * Salvage, first half: the rows of a damaged file, taken from its pages one by one (pages.h), into
 * a new library. The second half (mend.c) makes what was read fit together again.
 *
 * The file's own header and schema are not relied upon. Which step of the schema it had is told by
 * its rows: each is tried against the tables of every step, and the step counts that fits most. The
 * new library is made at that step, filled, and then brought up to date as any old one is.
 */
#include "connection.h"
#include "files.h"
#include "mend.h"
#include "migrate.h"
#include "pages.h"
#include "placing.h"
#include "shapes.h"
#include "store.h"

#include "permille/base/mem.h"
#include "permille/base/text.h"

#include <stdlib.h>
#include <string.h>
#include <unistd.h>

enum { STEPS_MOST = 256 };

struct kind {
    sqlite3_stmt *insert;
    int64_t saved, left_out;
    int64_t torn;   /* rows that look like it and do not match their checksum */
    int64_t unread; /* rows on its pages that cannot be read */
};

struct salvage {
    struct pm_store_options options;
    struct pm_pages pages;
    struct pm_shapes shapes[STEPS_MOST]; /* of step i at i; loaded for all that there are */
    int64_t fitting[STEPS_MOST];
    int newest, step;
    sqlite3 *to;
    struct kind *kinds; /* as shapes[step].items */
    int *tables;        /* of each page: the table whose rows it holds, from 1; 0: not known */
    int64_t unknown;    /* rows of tables that cannot be told */
    struct mender mender;
    const struct pm_watch *watch;
};

/* ---- which step ---- */

static enum pm_status load_shapes(struct salvage *salvage, struct pm_error *err)
{
    sqlite3 *model = NULL;
    salvage->newest = pm_migrate_newest(&salvage->options);
    if (salvage->newest >= STEPS_MOST)
        return pm_fail(err, PM_REFUSED, "There are too many steps of the schema.");
    enum pm_status status =
        pm_connect(":memory:", SQLITE_OPEN_READWRITE | SQLITE_OPEN_CREATE, NULL, 0, &model, err);
    for (int step = 1; status == PM_OK && step <= salvage->newest; step++) {
        status = pm_migrate_steps(model, &salvage->options, step, step, err);
        if (status == PM_OK)
            status = pm_shapes_load(model, &salvage->shapes[step], err);
    }
    sqlite3_close(model);
    return status;
}

/* Whether the table had rows of that length at the step or before: to rows that are there a later
 * step adds columns without writing them anew. */
static bool had_length(const struct salvage *salvage, int step, const char *table, size_t count)
{
    for (; step >= 1; step--)
        for (size_t i = 0; i < salvage->shapes[step].count; i++)
            if (salvage->shapes[step].items[i].count == count &&
                strcmp(salvage->shapes[step].items[i].table, table) == 0)
                return true;
    return false;
}

/* The table of the step that the row is known to belong to: by its checksum, or where there is none
 * by its shape alone. -1: none. */
static int find_table(const struct salvage *salvage, int step, const struct pm_found_row *row,
                      struct pm_found_value *values)
{
    const struct pm_shapes *shapes = &salvage->shapes[step];
    for (size_t i = 0; i < shapes->count; i++) {
        const struct pm_shape *shape = &shapes->items[i];
        if (!shape->derived && pm_shape_fits(shape, row, values) &&
            (shape->checksum < 0 ? had_length(salvage, step, shape->table, row->count)
                                 : pm_shape_sealed(shape, values)))
            return (int)i;
    }
    return -1;
}

/* A row of two columns without a checksum could stand in anything. */
static bool tells_the_step(const struct pm_shape *shape)
{
    return shape->checksum >= 0 || shape->count > 2;
}

static enum pm_status go_on(const struct salvage *salvage, const char *doing,
                            const struct pm_found_row *row, struct pm_error *err)
{
    return pm_watch_go_on(salvage->watch, doing, row->page, salvage->pages.count, err);
}

static enum pm_status count_fitting(void *context, const struct pm_found_row *row,
                                    struct pm_error *err)
{
    struct salvage *salvage = context;
    struct pm_found_value values[PM_PAGES_COLUMNS];
    const enum pm_status status = go_on(salvage, "looking at the damaged file's pages", row, err);
    if (status != PM_OK)
        return status;
    for (int step = 1; step <= salvage->newest; step++) {
        const int table = find_table(salvage, step, row, values);
        salvage->fitting[step] += table >= 0 && tells_the_step(&salvage->shapes[step].items[table]);
    }
    return PM_OK;
}

/* Where several fit alike the header decides, if it names one of them; otherwise it is the newest:
 * this program brings what it opens up to date. */
static enum pm_status choose_step(struct salvage *salvage, const char *path, struct pm_error *err)
{
    int64_t lost, most = 0;
    const enum pm_status status =
        pm_pages_each(&salvage->pages, count_fitting, salvage, &lost, err);
    if (status != PM_OK)
        return status;
    for (int step = 1; step <= salvage->newest; step++)
        if (salvage->fitting[step] >= most) {
            most = salvage->fitting[step];
            salvage->step = step;
        }
    const int64_t said = salvage->pages.version;
    if (said >= 1 && said <= salvage->newest && salvage->fitting[said] == most)
        salvage->step = (int)said;
    return most > 0
               ? PM_OK
               : pm_fail(err, PM_FOREIGN, "%s holds no rows of a library of this program.", path);
}

/* ---- rows into the new file ---- */

static enum pm_status prepare_insert(struct salvage *salvage, const struct pm_shape *shape,
                                     struct kind *kind, struct pm_error *err)
{
    struct pm_text sql = PM_TEXT_EMPTY;
    int64_t rows = 0;
    pm_text_addf(&sql, "SELECT count(*) FROM \"%s\"", shape->table);
    enum pm_status status = pm_text_ok(&sql) ? pm_ask(salvage->to, pm_text_get(&sql),
                                                      "looking at the tables", &rows, err)
                                             : pm_fail_memory(err);
    pm_text_clear(&sql);
    /* Rows that a step of the schema has put there give way to those that were read. */
    pm_text_addf(&sql, "INSERT OR %s INTO \"%s\" VALUES (", rows > 0 ? "REPLACE" : "IGNORE",
                 shape->table);
    for (size_t c = 0; c < shape->count; c++)
        pm_text_addf(&sql, c == 0 ? "?%zu" : ", ?%zu", c + 1);
    pm_text_add(&sql, ")");
    if (status == PM_OK && !pm_text_ok(&sql))
        status = pm_fail_memory(err);
    if (status == PM_OK) {
        const int rc = sqlite3_prepare_v2(salvage->to, pm_text_get(&sql), -1, &kind->insert, NULL);
        if (rc != SQLITE_OK)
            status = pm_store_fail(salvage->to, rc, "writing what was read", err);
    }
    pm_text_release(&sql);
    return status;
}

static int bind_value(sqlite3_stmt *insert, int at, const struct pm_found_value *value)
{
    switch (value->kind) {
    case PM_FOUND_INTEGER:
        return sqlite3_bind_int64(insert, at, value->number);
    case PM_FOUND_REAL:
        return sqlite3_bind_double(insert, at, value->real);
    case PM_FOUND_TEXT:
        return sqlite3_bind_text64(insert, at, (const char *)value->data, value->length,
                                   SQLITE_STATIC, SQLITE_UTF8);
    case PM_FOUND_BLOB:
        return sqlite3_bind_blob64(insert, at, value->data, value->length, SQLITE_STATIC);
    case PM_FOUND_NULL:
        break;
    }
    return sqlite3_bind_null(insert, at);
}

static enum pm_status put_row(struct salvage *salvage, size_t which,
                              const struct pm_found_value *values, struct pm_error *err)
{
    const struct pm_shape *shape = &salvage->shapes[salvage->step].items[which];
    struct kind *kind = &salvage->kinds[which];
    int rc = SQLITE_OK;
    for (size_t c = 0; rc == SQLITE_OK && c < shape->count; c++)
        rc = bind_value(kind->insert, (int)c + 1, &values[c]);
    if (rc == SQLITE_OK)
        rc = sqlite3_step(kind->insert);
    sqlite3_reset(kind->insert);
    if (rc == SQLITE_DONE && sqlite3_changes(salvage->to) > 0)
        kind->saved++;
    else if (rc == SQLITE_DONE || (rc & 0xFF) == SQLITE_CONSTRAINT)
        kind->left_out++;
    else
        return pm_store_fail(salvage->to, rc, "writing what was read", err);
    return PM_OK;
}

static enum pm_status take_known(void *context, const struct pm_found_row *row,
                                 struct pm_error *err)
{
    struct salvage *salvage = context;
    struct pm_found_value values[PM_PAGES_COLUMNS];
    const int table = row->count == 0 ? -1 : find_table(salvage, salvage->step, row, values);
    const enum pm_status status = go_on(salvage, "taking whole rows from the pages", row, err);
    if (status != PM_OK || table < 0)
        return status;
    salvage->tables[row->page] = table + 1;
    return put_row(salvage, (size_t)table, values, err);
}

/* The one table with rowids that the row looks like; -1: none, or several (*unclear). An index
 * looks like too much: its pages are told by the rows beside. */
static int look_alike(const struct pm_shapes *shapes, const struct pm_found_row *row, bool *unclear)
{
    struct pm_found_value values[PM_PAGES_COLUMNS];
    int found = -1;
    *unclear = false;
    for (size_t i = 0; row->has_rowid && i < shapes->count; i++) {
        if (!pm_shape_fits(&shapes->items[i], row, values))
            continue;
        *unclear = found >= 0;
        found = (int)i;
    }
    return *unclear || (found >= 0 && shapes->items[found].derived) ? -1 : found;
}

static enum pm_status take_torn(void *context, const struct pm_found_row *row, struct pm_error *err)
{
    struct salvage *salvage = context;
    const struct pm_shapes *shapes = &salvage->shapes[salvage->step];
    struct pm_found_value values[PM_PAGES_COLUMNS];
    bool unclear = false;
    int table = salvage->tables[row->page] - 1;
    const enum pm_status status = go_on(salvage, "taking torn rows from the pages", row, err);

    if (status != PM_OK)
        return status;
    if (row->count > 0 && find_table(salvage, salvage->step, row, values) >= 0)
        return PM_OK;
    if (table < 0 && row->count > 0)
        table = look_alike(shapes, row, &unclear);
    if (table < 0) {
        salvage->unknown += unclear || (row->count == 0 && row->has_rowid);
        return PM_OK;
    }
    if (row->count == 0 || !pm_shape_fits(&shapes->items[table], row, values)) {
        salvage->kinds[table].unread++;
        return PM_OK;
    }
    salvage->kinds[table].torn++;
    return put_row(salvage, (size_t)table, values, err);
}

/* First the rows that are known to be whole, then those that are not, where there is room. */
static enum pm_status take_rows(struct salvage *salvage, int64_t *lost, struct pm_error *err)
{
    const struct pm_shapes *shapes = &salvage->shapes[salvage->step];
    enum pm_status status = PM_OK;
    for (size_t i = 0; status == PM_OK && i < shapes->count; i++)
        if (!shapes->items[i].derived)
            status = prepare_insert(salvage, &shapes->items[i], &salvage->kinds[i], err);
    if (status == PM_OK)
        status = pm_pages_each(&salvage->pages, take_known, salvage, lost, err);
    if (status == PM_OK)
        status = pm_pages_each(&salvage->pages, take_torn, salvage, lost, err);
    for (size_t i = 0; i < shapes->count; i++)
        sqlite3_finalize(salvage->kinds[i].insert);
    return status;
}

/* ---- what was lost ---- */

static const char *words_of(const char *table)
{
    static const struct {
        const char *table, *words;
    } known[] = {
        {"material", "materials"},
        {"material_name", "names of materials"},
        {"material_fact", "properties of materials"},
        {"material_constituent", "constituents of materials"},
        {"material_starter", "marks of the starter shelf"},
        {"formula", "formulas"},
        {"trial", "trials"},
        {"line", "lines of trials"},
        {"revision", "revisions"},
        {"trial_mark", "labels of trials"},
        {"bottle", "bottles"},
        {"movement", "movements"},
        {"currency_rate", "rates of exchange"},
        {"planned_batch", "planned batches"},
        {"batch", "batches"},
        {"balance", "balances"},
        {"batch_event", "events of batches"},
        {"substance", "substances"},
        {"substance_cas", "numbers of substances"},
        {"limit_rule", "limits of your own"},
        {"ceiling", "ceilings"},
        {"batch_plan", "plans of batches"},
        {"batch_line", "lines of batches"},
        {"batch_pour", "pours"},
        {"made_up", "made-up accords"},
        {"filling", "fillings"},
        {"filling_event", "events of fillings"},
        {"shelf_entry", "entries of the shelf's history"},
        {"application", "sessions"},
        {"smell", "smell notes"},
        {"panel", "blind tests"},
        {"panel_sample", "samples of blind tests"},
        {"panel_serving", "servings of blind tests"},
        {"panel_answer", "answers of blind tests"},
        {"series", "series of trials"},
        {"series_trial", "trials of series"},
        {"rating", "ratings"},
        {"calibration", "notes that set a clock"},
        {"setting", "settings"},
    };
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++)
        if (strcmp(known[i].table, table) == 0)
            return known[i].words;
    return table;
}

/* Rows that must have been there: numbers are given from 1 on and never again. */
static enum pm_status count_missing(struct salvage *salvage, const struct pm_shape *shape,
                                    int64_t *out, struct pm_error *err)
{
    struct pm_text sql = PM_TEXT_EMPTY;
    const char *id = shape->columns[shape->rowid].name;
    pm_text_addf(&sql, "SELECT ifnull(max(\"%s\"), 0) - count(*) FROM \"%s\"", id, shape->table);
    const enum pm_status status = pm_text_ok(&sql) ? pm_ask(salvage->to, pm_text_get(&sql),
                                                            "counting what was read", out, err)
                                                   : pm_fail_memory(err);
    pm_text_release(&sql);
    return status;
}

static enum pm_status tell_kind(struct salvage *salvage, size_t which, struct pm_error *err)
{
    const struct pm_shape *shape = &salvage->shapes[salvage->step].items[which];
    const struct kind *kind = &salvage->kinds[which];
    const struct mender *mender = &salvage->mender;
    const char *words = words_of(shape->table);
    int64_t missing = 0;
    enum pm_status status = shape->for_good ? count_missing(salvage, shape, &missing, err) : PM_OK;
    if (status != PM_OK)
        return status;
    if (kind->torn > 0)
        pm_mend_tell(mender, "Of the %s %lld do not match their checksum; they may be wrong.",
                     words, (long long)kind->torn);
    if (kind->unread > 0)
        pm_mend_tell(mender, "Of the %s %lld could not be read.", words, (long long)kind->unread);
    if (kind->left_out > 0)
        pm_mend_tell(mender, "Of the %s %lld contradict others and were left out.", words,
                     (long long)kind->left_out);
    if (missing > 0)
        pm_mend_tell(mender, "Of the %s %lld are lost; %lld are there.", words, (long long)missing,
                     (long long)kind->saved);
    return PM_OK;
}

static enum pm_status tell_losses(struct salvage *salvage, int64_t lost, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    if (lost > 0)
        pm_mend_tell(&salvage->mender, "%lld of %lld pages could not be read.", (long long)lost,
                     (long long)salvage->pages.count);
    if (salvage->unknown > 0)
        pm_mend_tell(&salvage->mender, "%lld rows of unknown kind could not be read.",
                     (long long)salvage->unknown);
    for (size_t i = 0; status == PM_OK && i < salvage->shapes[salvage->step].count; i++)
        if (!salvage->shapes[salvage->step].items[i].derived)
            status = tell_kind(salvage, i, err);
    return status;
}

/* The journal is not read: what it would undo may be there in part. */
static enum pm_status tell_journal(const struct salvage *salvage, const char *source,
                                   struct pm_error *err)
{
    struct pm_text journal = PM_TEXT_EMPTY;
    pm_text_addf(&journal, "%s-journal", source);
    const bool ok = pm_text_ok(&journal);
    if (ok && access(pm_text_get(&journal), F_OK) == 0)
        pm_mend_tell(&salvage->mender,
                     "The file was left in the middle of a change (%s is there): some rows may be "
                     "of after it, others of before.",
                     pm_text_get(&journal));
    pm_text_release(&journal);
    return ok ? PM_OK : pm_fail_memory(err);
}

/* ---- the new file ---- */

/* Makes it at the step the damaged one had, fills it, and brings it up to date. What was read does
 * not fit together yet, so nothing is checked. */
static enum pm_status fill(struct salvage *salvage, struct pm_error *err)
{
    int64_t lost = 0;
    sqlite3_db_config(salvage->to, SQLITE_DBCONFIG_ENABLE_TRIGGER, 0, (int *)NULL);
    sqlite3_db_config(salvage->to, SQLITE_DBCONFIG_ENABLE_FKEY, 0, (int *)NULL);
    enum pm_status status = pm_execute(salvage->to, "PRAGMA journal_mode = MEMORY; BEGIN IMMEDIATE",
                                       "making the new library", err);
    if (status == PM_OK)
        status = pm_migrate_steps(salvage->to, &salvage->options, 1, salvage->step, err);
    if (status == PM_OK)
        status = take_rows(salvage, &lost, err);
    if (status == PM_OK)
        status = tell_losses(salvage, lost, err);
    if (status == PM_OK)
        status = pm_migrate_steps(salvage->to, &salvage->options, salvage->step + 1,
                                  salvage->newest, err);
    return status == PM_OK ? pm_execute(salvage->to, "COMMIT", "making the new library", err)
                           : status;
}

static enum pm_status mend(struct salvage *salvage, struct pm_error *err)
{
    struct mender *mender = &salvage->mender;
    sqlite3 *to = mender->library->db;
    sqlite3_db_config(to, SQLITE_DBCONFIG_ENABLE_TRIGGER, 0, (int *)NULL);
    sqlite3_db_config(to, SQLITE_DBCONFIG_ENABLE_FKEY, 0, (int *)NULL);
    enum pm_status status = pm_library_begin(mender->library, err);
    if (status != PM_OK)
        return status;
    status = pm_library_finish(mender->library, pm_mend(mender, err), err);
    return status == PM_OK
               ? pm_library_verify(mender->library, mender->finding, mender->context, err)
               : status;
}

static enum pm_status make_library(struct salvage *salvage, const char *path, struct pm_error *err)
{
    enum pm_status status =
        pm_connect(path, SQLITE_OPEN_READWRITE, NULL, PM_BUSY_WAIT_MS, &salvage->to, err);
    if (status == PM_OK)
        pm_connection_watch(salvage->to, salvage->watch);
    salvage->kinds = pm_alloc_array(salvage->shapes[salvage->step].count, sizeof *salvage->kinds);
    salvage->tables = pm_alloc_array((size_t)salvage->pages.count + 1, sizeof *salvage->tables);
    if (status == PM_OK && (salvage->kinds == NULL || salvage->tables == NULL))
        status = pm_fail_memory(err);
    if (status == PM_OK)
        status = fill(salvage, err);
    sqlite3_close(salvage->to);
    salvage->to = NULL;
    pm_free(salvage->kinds);
    pm_free(salvage->tables);
    if (status == PM_OK)
        status = pm_library_open(path, 0, NULL, salvage->watch, &salvage->mender.library, err);
    if (status == PM_OK) {
        pm_library_watch(salvage->mender.library, salvage->watch);
        status = mend(salvage, err);
    }
    pm_library_close(salvage->mender.library);
    return status;
}

static enum pm_status place_library(struct salvage *salvage, const char *into, struct pm_error *err)
{
    struct pm_placing placing;
    enum pm_status status = pm_placing_begin(&placing, into, false, err);
    if (status == PM_OK)
        status = make_library(salvage, pm_text_get(&placing.temporary), err);
    return pm_placing_end(&placing, status, err);
}

static enum pm_status read_and_place(struct salvage *salvage, const char *source, const char *into,
                                     struct pm_error *err)
{
    enum pm_status status = pm_pages_open(source, &salvage->pages, err);
    if (status != PM_OK)
        return status;
    status = load_shapes(salvage, err);
    if (status == PM_OK)
        status = choose_step(salvage, source, err);
    if (status == PM_OK)
        status = tell_journal(salvage, source, err);
    if (status == PM_OK)
        status = place_library(salvage, into, err);
    for (int step = 0; step <= salvage->newest && step < STEPS_MOST; step++)
        pm_shapes_release(&salvage->shapes[step]);
    pm_pages_close(&salvage->pages);
    return status;
}

enum pm_status pm_library_salvage(const char *damaged, const char *into,
                                  const struct pm_watch *watch, pm_finding *finding, void *context,
                                  struct pm_error *err)
{
    char *source = NULL, *place = NULL;
    struct salvage *salvage = pm_alloc_array(1, sizeof *salvage);
    if (salvage == NULL)
        return pm_fail_memory(err);
    pm_store_defaults(&salvage->options);
    salvage->watch = watch;
    salvage->mender.finding = finding;
    salvage->mender.context = context;
    enum pm_status status = pm_path_absolute(damaged, &source, err);
    if (status == PM_OK)
        status = pm_path_absolute(into, &place, err);
    if (status == PM_OK)
        status = read_and_place(salvage, source, place, err);
    pm_free(place);
    pm_free(source);
    pm_free(salvage);
    return status;
}
