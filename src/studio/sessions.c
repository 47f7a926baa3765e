/* SPDX-License-Identifier: MIT */
/*
 * The running session: what was put on, and what to smell when.
 */
#include "smelling.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/studio/settings.h"

#include <stdio.h>
#include <string.h>

#define LONG_SESSION (INT64_C(30) * 86400)
#define RUNNING_MANY 400 /* blotters at once: more than any table holds */

/* ---- the schedule ---- */

enum pm_status pm_session_schedule(struct pm_studio *studio, char **out, struct pm_error *err)
{
    return pm_settings_text(studio, PM_SETTING_SMELL_TIMES, out, err);
}

/* A schedule as typed, in the form it is kept in. */
static enum pm_status clean_schedule(const char *text, char **out, struct pm_error *err)
{
    struct pm_schedule schedule;
    enum pm_status status = pm_schedule_read(text, &schedule, err);
    if (status != PM_OK)
        return status;
    *out = pm_schedule_text(&schedule);
    return *out != NULL ? PM_OK : pm_fail_memory(err);
}

enum pm_status pm_session_set_schedule(struct pm_studio *studio, const char *text,
                                       struct pm_error *err)
{
    return pm_settings_set(studio, &pm_setting_table[PM_SETTING_SMELL_TIMES], text, err);
}

/* ---- starting, stopping ---- */

/* How long ago, or when; neither: now. */
static enum pm_status read_applied(struct pm_studio *studio, struct pm_application *out,
                                   struct pm_error *err)
{
    if (out->ago >= 0 && out->applied_at != 0)
        return pm_fail_at(err, "ago", PM_INVALID,
                          "Either how long ago it was put on, or when: not both.");
    enum pm_status status = pm_smell_span("ago", out->ago, err);
    if (status == PM_OK)
        status = pm_smell_past(studio, out->applied_at, err);
    if (out->applied_at == 0)
        out->applied_at = pm_studio_now(studio) - (out->ago > 0 ? out->ago : 0);
    return status;
}

/* The strings go into the arena. */
static enum pm_status read_session(struct pm_studio *studio, const char *const *values,
                                   struct pm_arena *arena, struct pm_application *out,
                                   struct pm_error *err)
{
    const struct pm_naming naming = {.find = pm_trial_reference, .context = studio};
    char *schedule = NULL;
    pm_entity_clear(&pm_session_entity, out);
    enum pm_status status = pm_entity_read(&pm_session_entity, values, out, arena, &naming, err);
    if (status == PM_OK)
        status = read_applied(studio, out, err);
    if (status == PM_OK)
        status = pm_error_at(err, "schedule",
                             out->schedule != NULL ? clean_schedule(out->schedule, &schedule, err)
                                                   : pm_session_schedule(studio, &schedule, err));
    out->schedule = pm_arena_text(arena, schedule);
    pm_free(schedule);
    return status == PM_OK ? pm_arena_status(arena, err) : status;
}

static enum pm_status insert_session(struct pm_studio *studio,
                                     const struct pm_application *application, int64_t *id,
                                     struct pm_error *err)
{
    struct pm_applications running;
    enum pm_status status = pm_application_list(studio->library, false, &running, err);
    if (status != PM_OK)
        return status;
    if (running.count >= RUNNING_MANY)
        status = pm_fail(err, PM_REFUSED, "%d are running: stop some of them first.", RUNNING_MANY);
    else
        status = pm_application_insert(studio->library, application, id, err);
    pm_list_release(&running);
    return status;
}

static enum pm_status start(struct pm_studio *studio, const char *const *values,
                            struct pm_arena *arena, struct pm_smell_done *out, struct pm_error *err)
{
    char at[PM_TIME_TEXT];
    char *title = NULL;
    int64_t id = 0;
    struct pm_application application = {.id = 0};
    struct pm_text sentence = PM_TEXT_EMPTY, remark = PM_TEXT_EMPTY;
    enum pm_status status = read_session(studio, values, arena, &application, err);
    if (status == PM_OK)
        status = pm_error_at(err, "trial", pm_smell_title(studio, application.trial, &title, err));
    if (status == PM_OK)
        status = insert_session(studio, &application, &id, err);
    if (status == PM_OK) {
        pm_text_addf(&sentence, "%lld: %s put on %s at %s", (long long)id, title,
                     pm_medium_word(application.medium),
                     pm_time_format(application.applied_at, at));
        if (application.medium == PM_ON_SKIN)
            pm_text_add(&remark, pm_medium_caution(PM_ON_SKIN));
        status = pm_smell_finish(&sentence, &remark, id, out, err);
    }
    pm_free(title);
    return status;
}

/* Hands out what was done, or forgets it. */
static enum pm_status give(enum pm_status status, struct pm_smell_done *done,
                           struct pm_smell_done *out)
{
    if (status == PM_OK)
        *out = *done;
    else
        pm_smell_done_release(done);
    return status;
}

enum pm_status pm_session_start(struct pm_studio *studio, const char *const *values,
                                struct pm_smell_done *out, struct pm_error *err)
{
    struct pm_arena arena = {0};
    struct pm_smell_done done = {.id = 0};
    enum pm_status status = pm_change_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_change_end(studio, start(studio, values, &arena, &done, err), err);
    pm_arena_release(&arena);
    return give(status, &done, out);
}

static enum pm_status mark_end(struct pm_studio *studio, int64_t id, bool end,
                               struct pm_smell_done *out, struct pm_error *err)
{
    struct pm_application application;
    struct pm_text sentence = PM_TEXT_EMPTY, remark = PM_TEXT_EMPTY;
    char *title = NULL;
    enum pm_status status = pm_application_get(studio->library, id, NULL, &application, err);
    if (status != PM_OK)
        return status;
    if ((application.ended_at != 0) == end)
        return pm_fail(err, PM_REFUSED, "Number %lld %s already.", (long long)id,
                       end ? "was stopped" : "is running");
    status = pm_smell_title(studio, application.trial, &title, err);
    if (status == PM_OK)
        status = pm_application_end(studio->library, id, end ? pm_studio_now(studio) : 0, err);
    if (status == PM_OK) {
        pm_text_addf(&sentence, "%lld: %s %s", (long long)id, title,
                     end ? "stopped" : "is running again");
        status = pm_smell_finish(&sentence, &remark, id, out, err);
    }
    pm_free(title);
    return status;
}

static enum pm_status end_or_resume(struct pm_studio *studio, int64_t id, bool end,
                                    struct pm_smell_done *out, struct pm_error *err)
{
    struct pm_smell_done done = {.id = 0};
    enum pm_status status = pm_change_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_change_end(studio, mark_end(studio, id, end, &done, err), err);
    return give(status, &done, out);
}

enum pm_status pm_session_stop(struct pm_studio *studio, int64_t id, struct pm_smell_done *out,
                               struct pm_error *err)
{
    return end_or_resume(studio, id, true, out, err);
}

enum pm_status pm_session_resume(struct pm_studio *studio, int64_t id, struct pm_smell_done *out,
                                 struct pm_error *err)
{
    return end_or_resume(studio, id, false, out, err);
}

/* ---- finding one ---- */

/* The only running one of the trial; `text` is how the person named it. */
static enum pm_status find_running(struct pm_studio *studio, int64_t trial, const char *text,
                                   int64_t *id, struct pm_error *err)
{
    char at[PM_TIME_TEXT];
    struct pm_applications running;
    struct pm_text names = PM_TEXT_EMPTY;
    size_t matches = 0;
    enum pm_status status = pm_application_list(studio->library, false, &running, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < running.count; i++) {
        const struct pm_application *application = &running.items[i];
        if (application->trial != trial)
            continue;
        pm_text_addf(&names, "%s%lld on %s since %s", matches > 0 ? ", " : "",
                     (long long)application->id, pm_medium_word(application->medium),
                     pm_time_format(application->applied_at, at));
        *id = application->id;
        matches++;
    }
    if (matches == 0)
        status = pm_fail(err, PM_MISSING, "%s is not in the running session.", text);
    else if (matches > 1)
        status = pm_fail(err, PM_REFUSED, "%s is running more than once, say which: %s.", text,
                         pm_text_get(&names));
    pm_text_release(&names);
    pm_list_release(&running);
    return status;
}

static enum pm_status find(struct pm_studio *studio, const char *text, int64_t *id,
                           struct pm_error *err)
{
    struct pm_application application;
    int64_t trial;
    enum pm_status status;
    if (text[0] != '\0' && strspn(text, "0123456789") == strlen(text)) {
        status = pm_decimal_read(text, 0, "The number", id, err);
        return status == PM_OK ? pm_application_get(studio->library, *id, NULL, &application, err)
                               : status;
    }
    status = pm_formula_find(studio, text, NULL, &trial, NULL, err);
    return status == PM_OK ? find_running(studio, trial, text, id, err) : status;
}

enum pm_status pm_session_find(struct pm_studio *studio, const char *text, int64_t *id,
                               struct pm_error *err)
{
    int64_t found = 0;
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status == PM_OK)
        status = pm_look_over(studio, find(studio, text, &found, err));
    if (status == PM_OK)
        *id = found;
    return status;
}

/* ---- the list ---- */

static void say_state(struct pm_session_entry *entry, int64_t now, struct pm_text *out)
{
    char span[PM_TIME_TEXT], wait[PM_TIME_TEXT];
    const struct pm_due *due = &entry->due;
    if (entry->row.ended_at != 0) {
        pm_text_addf(out, "stopped %s", pm_time_format(entry->row.ended_at, span));
        return;
    }
    if (due->over || due->clock_back) {
        pm_text_add(out, due->over ? "all smelled" : "waits for the clock");
        return;
    }
    pm_text_add(out, due->now ? "" : "next ");
    pm_text_add(out, entry->due_since == 0 ? "at once" : pm_span_format(entry->due_since, span));
    if (!due->now) {
        pm_text_addf(out, ", in %s", pm_span_about(due->at - now, wait));
        return;
    }
    pm_text_add(out, " due");
    if (due->late >= 60)
        pm_text_addf(out, ", %s late", pm_span_about(due->late, wait));
    if (due->waiting > 1)
        pm_text_addf(out, ", %zu missed", due->waiting - 1);
}

static void say_oddity(const struct pm_session_entry *entry, int64_t now, struct pm_text *out)
{
    char clock[PM_TIME_TEXT], at[PM_TIME_TEXT];
    if (entry->row.ended_at != 0)
        return;
    if (entry->due.clock_back)
        pm_text_addf(out,
                     "The clock says %s, before it was put on at %s: was it set back? It waits "
                     "until the clock is past that again.",
                     pm_time_format(now, clock), pm_time_format(entry->row.applied_at, at));
    else if (entry->due.ahead)
        pm_text_addf(out,
                     "It was smelled later than the clock now says (%s): was it set back? Those "
                     "notes count.",
                     pm_time_format(now, clock));
    else if (now - entry->row.applied_at > LONG_SESSION)
        pm_text_addf(out, "Running for %lld days: stop it when it is no longer smelled.",
                     (long long)((now - entry->row.applied_at) / 86400));
}

/* Times at which it was smelled, for the schedule; pm_free(). */
static enum pm_status read_smelled(struct pm_studio *studio, struct pm_session_entry *entry,
                                   int64_t **times, struct pm_error *err)
{
    struct pm_smells smells;
    enum pm_status status = pm_smell_of_application(studio->library, entry->row.id, &smells, err);
    if (status != PM_OK)
        return status;
    entry->smelled = smells.count;
    entry->last_intensity = -1;
    *times = pm_alloc_array(smells.count, sizeof **times);
    for (size_t i = 0; *times != NULL && i < smells.count; i++) {
        (*times)[i] = smells.items[i].since;
        if (smells.items[i].intensity >= 0)
            entry->last_intensity = smells.items[i].intensity;
    }
    pm_list_release(&smells);
    return *times != NULL ? PM_OK : pm_fail_memory(err);
}

static enum pm_status complete(struct pm_studio *studio, struct pm_session_entry *entry,
                               int64_t now, struct pm_error *err)
{
    struct pm_schedule schedule;
    int64_t *times = NULL;
    const bool running = entry->row.ended_at == 0;
    enum pm_status status = pm_schedule_read(entry->row.schedule, &schedule, err);
    if (status == PM_OK)
        status = read_smelled(studio, entry, &times, err);
    if (status != PM_OK)
        return status;
    entry->since = now > entry->row.applied_at ? now - entry->row.applied_at : 0;
    if (running)
        pm_schedule_due(&schedule, entry->row.applied_at, now, times, entry->smelled, &entry->due);
    pm_free(times);
    /* Of several times missed the last one stands for all: smelling now settles them. */
    entry->due_since = -1;
    if (running && !entry->due.over)
        entry->due_since =
            schedule.times[entry->due.place + (entry->due.now ? entry->due.waiting - 1 : 0)];
    if (entry->due.now)
        entry->due.late = entry->since - entry->due_since;
    return PM_OK;
}

static enum pm_status describe(struct pm_studio *studio, struct pm_session_entry *entry,
                               int64_t now, struct pm_arena *arena, struct pm_error *err)
{
    struct pm_text state = PM_TEXT_EMPTY, remark = PM_TEXT_EMPTY;
    char *title = NULL;
    enum pm_status status = complete(studio, entry, now, err);
    if (status == PM_OK)
        status = pm_smell_title(studio, entry->row.trial, &title, err);
    if (status != PM_OK)
        return status;
    say_state(entry, now, &state);
    say_oddity(entry, now, &remark);
    if (!pm_text_ok(&state) || !pm_text_ok(&remark))
        status = pm_fail_memory(err);
    entry->title = pm_arena_text(arena, title);
    entry->state = pm_arena_text(arena, pm_text_get(&state));
    entry->remark = remark.length > 0 ? pm_arena_text(arena, pm_text_get(&remark)) : NULL;
    pm_free(title);
    pm_text_release(&state);
    pm_text_release(&remark);
    return status == PM_OK ? pm_arena_status(arena, err) : status;
}

static enum pm_status list(struct pm_studio *studio, bool ended_too, struct pm_session_entries *out,
                           struct pm_error *err)
{
    const int64_t now = pm_studio_now(studio);
    struct pm_applications rows;
    enum pm_status status = pm_application_list(studio->library, ended_too, &rows, err);
    if (status != PM_OK)
        return status;
    out->arena = rows.arena; /* the strings are in it */
    for (size_t i = 0; status == PM_OK && i < rows.count; i++) {
        struct pm_session_entry *entry = pm_list_add(out);
        if (entry == NULL)
            return pm_fail_memory(err);
        entry->row = rows.items[i];
        status = describe(studio, entry, now, &out->arena, err);
        out->due += entry->due.now;
    }
    return status;
}

enum pm_status pm_session_list(struct pm_studio *studio, bool ended_too,
                               struct pm_session_entries *out, struct pm_error *err)
{
    struct pm_session_entries made = {0};
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status == PM_OK)
        status = pm_look_over(studio, list(studio, ended_too, &made, err));
    pm_list_give(&made, status, out);
    return status;
}

/* ---- what is due ---- */

/* "smell now: Name/3 15 min (+2)"; a long name gives way, its trial's number stays. */
static void say_due(const struct pm_session_entry *entry, struct pm_due_note *out)
{
    char span[PM_TIME_TEXT], more[32] = "";
    const char *number = strrchr(entry->title, '/');
    const size_t whole = (size_t)(number - entry->title);
    const size_t fit = pm_utf8_fit(entry->title, 24);
    if (out->now > 1)
        snprintf(more, sizeof more, " (+%zu)", out->now - 1);
    snprintf(out->brief, sizeof out->brief, "smell now%s", more);
    snprintf(out->text, sizeof out->text, "smell now: %.*s%s%s %s%s",
             (int)(fit < whole ? fit : whole), entry->title, fit < whole ? "…" : "", number,
             entry->due_since == 0 ? "at once" : pm_span_format(entry->due_since, span), more);
}

enum pm_status pm_session_due(struct pm_studio *studio, struct pm_due_note *out,
                              struct pm_error *err)
{
    struct pm_session_entries running;
    struct pm_due_note note = {.now = 0};
    const struct pm_session_entry *first = NULL;
    enum pm_status status = pm_session_list(studio, false, &running, err);
    if (status != PM_OK)
        return status;
    note.now = running.due;
    for (size_t i = 0; i < running.count; i++) {
        const struct pm_session_entry *entry = &running.items[i];
        if (entry->due.now && (first == NULL || entry->due.at < first->due.at))
            first = entry;
        if (!entry->due.over && !entry->due.now &&
            (note.next_at == 0 || entry->due.at < note.next_at))
            note.next_at = entry->due.at;
    }
    if (first != NULL)
        say_due(first, &note);
    pm_list_release(&running);
    *out = note;
    return PM_OK;
}
