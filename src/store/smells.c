/* SPDX-License-Identifier: MIT */
/*
 * Rows of the smell log and of what is running to be smelled.
 */
#include "permille/store/smells.h"
#include "store.h"

#include "permille/base/mem.h"
#include "permille/base/word.h"

#include <string.h>

static const char *const medium_words[PM_MEDIA] = {"blotter", "skin", "other"};

const char *pm_medium_word(enum pm_medium medium)
{
    return medium_words[medium];
}

bool pm_medium_from_word(const char *word, enum pm_medium *out)
{
    const int place = pm_word_place(medium_words, PM_MEDIA, word);
    if (place >= 0)
        *out = (enum pm_medium)place;
    return place >= 0;
}

/* A medium the file's own rules would not have let in is damage, told when the row is checked. */
static enum pm_medium read_medium(struct pm_query *query, int column)
{
    enum pm_medium medium = PM_ON_OTHER;
    pm_medium_from_word(pm_query_get_text(query, column), &medium);
    return medium;
}

/* ---- applications ---- */

void pm_application_release(struct pm_application *application)
{
    pm_free(application->schedule);
    pm_free(application->note);
    memset(application, 0, sizeof *application);
}

static enum pm_status insert_application(struct pm_library *library,
                                         const struct pm_application *application, int64_t id,
                                         int64_t now, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_APPLICATION_INSERT);
    pm_query_int(&query, id);
    pm_query_int(&query, application->trial);
    pm_query_text(&query, pm_medium_word(application->medium));
    pm_query_key(&query, application->strength);
    pm_query_int(&query, application->applied_at);
    pm_query_text(&query, application->schedule);
    pm_query_text(&query, application->note);
    pm_query_key(&query, application->ended_at);
    pm_query_int(&query, now);
    return pm_query_run(&query, err);
}

enum pm_status pm_application_insert(struct pm_library *library, struct pm_application *application,
                                     struct pm_error *err)
{
    int64_t id = 0, now = pm_library_now(library);
    enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    status = pm_store_next_id(library, PM_SQL_APPLICATION_NEXT, &id, err);
    if (status == PM_OK)
        status = insert_application(library, application, id, now, err);
    status = pm_library_finish(library, status, err);
    if (status == PM_OK) {
        application->id = id;
        application->made_at = now;
    }
    return status;
}

static enum pm_status no_application(int64_t id, struct pm_error *err)
{
    return pm_fail(err, PM_MISSING, "Nothing numbered %lld has been put on to be smelled.",
                   (long long)id);
}

enum pm_status pm_application_end(struct pm_library *library, int64_t id, int64_t ended_at,
                                  struct pm_error *err)
{
    enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_APPLICATION_END);
    pm_query_int(&query, id);
    pm_query_key(&query, ended_at);
    status = pm_query_run(&query, err);
    if (status == PM_OK && sqlite3_changes(library->db) == 0)
        status = no_application(id, err);
    return pm_library_finish(library, status, err);
}

static void read_application(struct pm_query *query, struct pm_application *out)
{
    memset(out, 0, sizeof *out);
    out->id = pm_query_get_int(query, 0);
    out->trial = pm_query_get_int(query, 1);
    out->medium = read_medium(query, 2);
    out->strength = pm_query_get_int(query, 3);
    out->applied_at = pm_query_get_int(query, 4);
    out->schedule = pm_query_get_copy(query, 5);
    out->note = pm_query_get_copy(query, 6);
    out->ended_at = pm_query_get_int(query, 7);
    out->made_at = pm_query_get_int(query, 8);
    out->formula = pm_query_get_int(query, 9);
    out->number = pm_query_get_int(query, 10);
}

enum pm_status pm_application_get(struct pm_library *library, int64_t id,
                                  struct pm_application *out, struct pm_error *err)
{
    struct pm_query query;
    struct pm_application application = {0};
    pm_query_open(&query, library, PM_SQL_APPLICATION_GET);
    pm_query_int(&query, id);
    bool found = pm_query_row(&query);
    if (found)
        read_application(&query, &application);
    enum pm_status status = pm_query_close(&query, err);
    if (status == PM_OK && !found)
        status = no_application(id, err);
    if (status != PM_OK) {
        pm_application_release(&application);
        return status;
    }
    *out = application;
    return PM_OK;
}

enum pm_status pm_application_list(struct pm_library *library, bool ended_too,
                                   pm_application_visit *visit, void *context, struct pm_error *err)
{
    struct pm_query query;
    bool more = true;
    pm_query_open(&query, library,
                  ended_too ? PM_SQL_APPLICATION_LIST : PM_SQL_APPLICATION_RUNNING);
    while (more && pm_query_row(&query)) {
        struct pm_application application;
        read_application(&query, &application);
        more = query.rc == SQLITE_ROW && visit(context, &application);
        pm_application_release(&application);
    }
    return pm_query_close(&query, err);
}

/* ---- smell notes ---- */

static void bind_level(struct pm_query *query, int level)
{
    if (level < 0)
        pm_query_text(query, NULL);
    else
        pm_query_int(query, level);
}

static enum pm_status check_correction(struct pm_library *library, int64_t corrects,
                                       struct pm_error *err)
{
    struct pm_query query;
    int64_t by = 0;
    bool found = false;
    pm_query_open(&query, library, PM_SQL_SMELL_CORRECTION);
    pm_query_int(&query, corrects);
    enum pm_status status = pm_query_one(&query, &by, &found, err);
    if (status == PM_OK && !found)
        return pm_fail(err, PM_MISSING, "There is no smell note %lld.", (long long)corrects);
    if (status == PM_OK && by != 0) {
        return pm_fail(err, PM_REFUSED,
                       "Smell note %lld was corrected already: %lld stands in its place.",
                       (long long)corrects, (long long)by);
    }
    return status;
}

static enum pm_status insert_smell(struct pm_library *library, const struct pm_smell *smell,
                                   int64_t id, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_SMELL_INSERT);
    pm_query_int(&query, id);
    pm_query_int(&query, smell->trial);
    pm_query_key(&query, smell->application);
    pm_query_text(&query, pm_medium_word(smell->medium));
    pm_query_key(&query, smell->strength);
    pm_query_int(&query, smell->since);
    bind_level(&query, smell->intensity);
    bind_level(&query, smell->liking);
    pm_query_text(&query, smell->note);
    pm_query_text(&query, smell->assessor);
    pm_query_int(&query, smell->at);
    pm_query_int(&query, pm_library_now(library));
    pm_query_key(&query, smell->corrects);
    pm_query_int(&query, smell->withdrawn);
    return pm_query_run(&query, err);
}

enum pm_status pm_smell_insert(struct pm_library *library, const struct pm_smell *smell,
                               int64_t *id, struct pm_error *err)
{
    int64_t made = 0;
    enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    if (smell->corrects != 0)
        status = check_correction(library, smell->corrects, err);
    if (status == PM_OK)
        status = pm_store_next_id(library, PM_SQL_SMELL_NEXT, &made, err);
    if (status == PM_OK)
        status = insert_smell(library, smell, made, err);
    status = pm_library_finish(library, status, err);
    if (status == PM_OK)
        *id = made;
    return status;
}

static int get_level(struct pm_query *query, int column)
{
    return sqlite3_column_type(query->statement, column) == SQLITE_NULL
               ? -1
               : (int)pm_query_get_int(query, column);
}

/* False to stop: the visitor had enough, or the row could not be read. */
static bool visit_smell(struct pm_query *query, pm_smell_visit *visit, void *context)
{
    const struct pm_smell smell = {
        .id = pm_query_get_int(query, 0),
        .trial = pm_query_get_int(query, 1),
        .application = pm_query_get_int(query, 2),
        .medium = read_medium(query, 3),
        .strength = pm_query_get_int(query, 4),
        .since = pm_query_get_int(query, 5),
        .intensity = get_level(query, 6),
        .liking = get_level(query, 7),
        .note = pm_query_get_text(query, 8),
        .assessor = pm_query_get_text(query, 9),
        .at = pm_query_get_int(query, 10),
        .entered_at = pm_query_get_int(query, 11),
        .corrects = pm_query_get_int(query, 12),
        .withdrawn = pm_query_get_int(query, 13) != 0,
        .corrected_by = pm_query_get_int(query, 14),
        .number = pm_query_get_int(query, 15),
    };
    return query->rc == SQLITE_ROW && visit(context, &smell);
}

enum pm_status pm_smell_get(struct pm_library *library, int64_t id, pm_smell_visit *visit,
                            void *context, bool *found, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_SMELL_GET);
    pm_query_int(&query, id);
    *found = pm_query_row(&query);
    if (*found)
        visit_smell(&query, visit, context);
    return pm_query_close(&query, err);
}

static enum pm_status visit_all(struct pm_query *query, pm_smell_visit *visit, void *context,
                                struct pm_error *err)
{
    while (pm_query_row(query) && visit_smell(query, visit, context)) {
    }
    return pm_query_close(query, err);
}

enum pm_status pm_smell_list(struct pm_library *library, int64_t formula, int64_t number,
                             bool corrected_too, pm_smell_visit *visit, void *context,
                             struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_SMELL_LIST);
    pm_query_int(&query, formula);
    pm_query_int(&query, number);
    pm_query_int(&query, corrected_too);
    return visit_all(&query, visit, context, err);
}

enum pm_status pm_smell_of_application(struct pm_library *library, int64_t application,
                                       pm_smell_visit *visit, void *context, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_SMELL_APPLICATION);
    pm_query_int(&query, application);
    return visit_all(&query, visit, context, err);
}

enum pm_status pm_smell_counts(struct pm_library *library, int64_t formula,
                               pm_smell_count_visit *visit, void *context, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_SMELL_COUNTS);
    pm_query_int(&query, formula);
    while (pm_query_row(&query) &&
           visit(context, pm_query_get_int(&query, 0), pm_query_get_int(&query, 1))) {
    }
    return pm_query_close(&query, err);
}

enum pm_status pm_smell_notes(struct pm_library *library, pm_smell_note_visit *visit, void *context,
                              struct pm_error *err)
{
    struct pm_query query;
    bool more = true;
    pm_query_open(&query, library, PM_SQL_SMELL_NOTES);
    while (more && pm_query_row(&query)) {
        const char *note = pm_query_get_text(&query, 0);
        more = note != NULL && visit(context, note);
    }
    return pm_query_close(&query, err);
}
