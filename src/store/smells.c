/* SPDX-License-Identifier: MIT */
/*
 * Rows of the smell log and of what is running to be smelled.
 */
#include "permille/store/smells.h"
#include "store.h"
#include "trials.h"

/* A medium the file's own rules would not have let in is damage, told when the row is checked. */
static enum pm_medium read_medium(struct pm_query *query, int column)
{
    enum pm_medium medium = PM_ON_OTHER;
    pm_medium_from_word(pm_query_get_text(query, column), &medium);
    return medium;
}

/* ---- applications ---- */

static void bind_application(struct pm_query *query, const void *row)
{
    const struct pm_application *application = row;
    pm_query_int(query, application->trial);
    pm_query_text(query, pm_medium_word(application->medium));
    pm_query_key(query, application->strength);
    pm_query_int(query, application->applied_at);
    pm_query_text(query, application->schedule);
    pm_query_text(query, application->note);
    pm_query_key(query, application->ended_at);
    pm_query_int(query, pm_library_now(query->library));
}

enum pm_status pm_application_insert(struct pm_library *library,
                                     const struct pm_application *application, int64_t *id,
                                     struct pm_error *err)
{
    static const struct pm_addition addition = {PM_SQL_APPLICATION_NEXT, PM_SQL_APPLICATION_INSERT,
                                                bind_application};
    return pm_store_add(library, &addition, application, id, err);
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

static void read_application(struct pm_query *query, struct pm_arena *arena, void *item)
{
    struct pm_application *out = item;
    *out = (struct pm_application){
        .id = pm_query_get_int(query, 0),
        .trial = pm_query_get_int(query, 1),
        .medium = read_medium(query, 2),
        .strength = pm_query_get_int(query, 3),
        .applied_at = pm_query_get_int(query, 4),
        .schedule = pm_query_get_kept(query, 5, arena),
        .note = pm_query_get_kept(query, 6, arena),
        .ended_at = pm_query_get_int(query, 7),
        .made_at = pm_query_get_int(query, 8),
        .formula = pm_query_get_int(query, 9),
        .number = pm_query_get_int(query, 10),
    };
}

enum pm_status pm_application_get(struct pm_library *library, int64_t id, struct pm_arena *arena,
                                  struct pm_application *out, struct pm_error *err)
{
    struct pm_query query;
    struct pm_application application;
    pm_query_open(&query, library, PM_SQL_APPLICATION_GET);
    pm_query_int(&query, id);
    bool found = pm_query_row(&query);
    if (found)
        read_application(&query, arena, &application);
    enum pm_status status = pm_query_close(&query, err);
    if (status == PM_OK && !found)
        status = no_application(id, err);
    if (status == PM_OK)
        *out = application;
    return status;
}

enum pm_status pm_application_list(struct pm_library *library, bool ended_too,
                                   struct pm_applications *out, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library,
                  ended_too ? PM_SQL_APPLICATION_LIST : PM_SQL_APPLICATION_RUNNING);
    return pm_query_list(&query, read_application, out, err);
}

/* ---- smell notes ---- */

static enum pm_status no_smell(int64_t id, struct pm_error *err)
{
    return pm_fail(err, PM_MISSING, "There is no smell note %lld.", (long long)id);
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
        return no_smell(corrects, err);
    if (status == PM_OK && by != 0) {
        return pm_fail(err, PM_REFUSED,
                       "Smell note %lld was corrected already: %lld stands in its place.",
                       (long long)corrects, (long long)by);
    }
    return status;
}

static void bind_smell(struct pm_query *query, const void *row)
{
    const struct pm_smell *smell = row;
    pm_query_int(query, smell->trial);
    pm_query_key(query, smell->application);
    pm_query_text(query, pm_medium_word(smell->medium));
    pm_query_key(query, smell->strength);
    pm_query_int(query, smell->since);
    pm_query_known(query, smell->intensity);
    pm_query_known(query, smell->liking);
    pm_query_text(query, smell->note);
    pm_query_text(query, smell->assessor);
    pm_query_int(query, smell->at);
    pm_query_int(query, pm_library_now(query->library));
    pm_query_key(query, smell->corrects);
    pm_query_int(query, smell->withdrawn);
}

enum pm_status pm_smell_insert(struct pm_library *library, const struct pm_smell *smell,
                               int64_t *id, struct pm_error *err)
{
    static const struct pm_addition addition = {PM_SQL_SMELL_NEXT, PM_SQL_SMELL_INSERT, bind_smell};
    int64_t made = 0;
    enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    if (smell->corrects != 0)
        status = check_correction(library, smell->corrects, err);
    if (status == PM_OK)
        status = pm_store_insert(library, &addition, smell, &made, err);
    status = pm_library_finish(library, status, err);
    if (status == PM_OK)
        *id = made;
    return status;
}

static void read_smell(struct pm_query *query, struct pm_arena *arena, void *item)
{
    struct pm_smell *out = item;
    *out = (struct pm_smell){
        .id = pm_query_get_int(query, 0),
        .trial = pm_query_get_int(query, 1),
        .application = pm_query_get_int(query, 2),
        .medium = read_medium(query, 3),
        .strength = pm_query_get_int(query, 4),
        .since = pm_query_get_int(query, 5),
        .intensity = (int)pm_query_get_known(query, 6),
        .liking = (int)pm_query_get_known(query, 7),
        .note = pm_query_get_kept(query, 8, arena),
        .assessor = pm_query_get_kept(query, 9, arena),
        .at = pm_query_get_int(query, 10),
        .entered_at = pm_query_get_int(query, 11),
        .corrects = pm_query_get_int(query, 12),
        .withdrawn = pm_query_get_int(query, 13) != 0,
        .corrected_by = pm_query_get_int(query, 14),
        .number = pm_query_get_int(query, 15),
    };
}

enum pm_status pm_smell_get(struct pm_library *library, int64_t id, struct pm_arena *arena,
                            struct pm_smell *out, struct pm_error *err)
{
    struct pm_query query;
    struct pm_smell smell;
    pm_query_open(&query, library, PM_SQL_SMELL_GET);
    pm_query_int(&query, id);
    bool found = pm_query_row(&query);
    if (found)
        read_smell(&query, arena, &smell);
    enum pm_status status = pm_query_close(&query, err);
    if (status == PM_OK && !found)
        status = no_smell(id, err);
    if (status == PM_OK)
        *out = smell;
    return status;
}

enum pm_status pm_smell_list(struct pm_library *library, int64_t formula, int64_t number,
                             bool corrected_too, struct pm_smells *out, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_SMELL_LIST);
    pm_query_int(&query, formula);
    pm_query_int(&query, number);
    pm_query_int(&query, corrected_too);
    return pm_query_list(&query, read_smell, out, err);
}

enum pm_status pm_smell_of_application(struct pm_library *library, int64_t application,
                                       struct pm_smells *out, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_SMELL_APPLICATION);
    pm_query_int(&query, application);
    return pm_query_list(&query, read_smell, out, err);
}

enum pm_status pm_smell_counts(struct pm_library *library, int64_t formula,
                               struct pm_trial_counts *out, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_SMELL_COUNTS);
    pm_query_int(&query, formula);
    return pm_trial_counts_read(&query, out, err);
}

static void read_note(struct pm_query *query, struct pm_arena *arena, void *item)
{
    *(const char **)item = pm_query_get_kept(query, 0, arena);
}

enum pm_status pm_smell_notes(struct pm_library *library, struct pm_texts *out,
                              struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_SMELL_NOTES);
    return pm_query_list(&query, read_note, out, err);
}
