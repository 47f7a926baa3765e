/* SPDX-License-Identifier: MIT */
/*
 * The running session: what was put on, and what to smell when.
 */
#include "smelling.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"

#include <stdio.h>
#include <string.h>

#define SCHEDULE_KEY "smell.schedule"
#define LONG_SESSION (INT64_C(30) * 86400)
#define SESSION_NOTE 2000
#define RUNNING_MANY 400 /* blotters at once: more than any table holds */

/* ---- the schedule ---- */

enum pm_status pm_session_schedule(struct pm_studio *studio, char **out, struct pm_error *err)
{
    struct pm_schedule schedule;
    char *text = NULL;
    enum pm_status status = pm_setting_get(studio->library, SCHEDULE_KEY, &text, err);
    if (status != PM_OK)
        return status;
    if (!text) {
        pm_schedule_usual(&schedule);
        text = pm_schedule_text(&schedule);
        if (!text)
            return pm_fail_memory(err);
    }
    *out = text;
    return PM_OK;
}

/* A schedule as typed, in the form it is kept in. */
static enum pm_status clean_schedule(const char *text, char **out, struct pm_error *err)
{
    struct pm_schedule schedule;
    enum pm_status status = pm_schedule_read(text, &schedule, err);
    if (status != PM_OK)
        return status;
    *out = pm_schedule_text(&schedule);
    return *out ? PM_OK : pm_fail_memory(err);
}

enum pm_status pm_session_set_schedule(struct pm_studio *studio, const char *text,
                                       struct pm_error *err)
{
    struct pm_schedule usual;
    char *clean = NULL;
    enum pm_status status = PM_OK;
    if (pm_given(text)) {
        status = clean_schedule(text, &clean, err);
    } else {
        pm_schedule_usual(&usual);
        clean = pm_schedule_text(&usual);
        status = clean ? PM_OK : pm_fail_memory(err);
    }
    if (status == PM_OK)
        status = pm_setting_put(studio->library, SCHEDULE_KEY, clean, err);
    pm_free(clean);
    return status;
}

/* ---- starting, stopping ---- */

static enum pm_status read_applied(struct pm_studio *studio, const struct pm_session_form *form,
                                   int64_t *out, struct pm_error *err)
{
    int64_t ago = 0;
    if (pm_given(form->ago) && pm_given(form->when))
        return pm_fail(err, PM_INVALID, "Either how long ago it was put on, or when: not both.");
    enum pm_status status = pm_smell_when(studio, form->when, out, err);
    if (status == PM_OK && pm_given(form->ago))
        status = pm_span_read(form->ago, &ago, err);
    if (status == PM_OK && ago > PM_SCHEDULE_LONGEST)
        status = pm_fail(err, PM_INVALID, "\"%s\" ago is too long: a year is the most.", form->ago);
    if (status == PM_OK)
        *out -= ago;
    return status;
}

static enum pm_status read_session(struct pm_studio *studio, const struct pm_session_form *form,
                                   struct pm_application *out, struct pm_error *err)
{
    enum pm_status status = pm_smell_medium(form->medium, &out->medium, err);
    if (status == PM_OK && pm_given(form->strength))
        status = pm_strength_read(form->strength, &out->strength, err);
    if (status == PM_OK)
        status = read_applied(studio, form, &out->applied_at, err);
    if (status == PM_OK && pm_given(form->note))
        status = pm_note_clean(form->note, "The note", SESSION_NOTE, &out->note, err);
    if (status == PM_OK)
        status = pm_given(form->schedule) ? clean_schedule(form->schedule, &out->schedule, err)
                                          : pm_session_schedule(studio, &out->schedule, err);
    return status;
}

struct tally {
    size_t count;
};

static bool count_running(void *context, const struct pm_application *application)
{
    struct tally *tally = context;
    (void)application;
    tally->count++;
    return true;
}

static enum pm_status insert_session(struct pm_studio *studio, struct pm_application *application,
                                     struct pm_error *err)
{
    struct tally tally = {0};
    enum pm_status status = pm_application_list(studio->library, false, count_running, &tally, err);
    if (status == PM_OK && tally.count >= RUNNING_MANY)
        status = pm_fail(err, PM_REFUSED, "%d are running: stop some of them first.", RUNNING_MANY);
    return status == PM_OK ? pm_application_insert(studio->library, application, err) : status;
}

enum pm_status pm_session_start(struct pm_studio *studio, const struct pm_session_form *form,
                                struct pm_smell_done *out, struct pm_error *err)
{
    pm_studio_refresh(studio);
    char at[PM_TIME_TEXT];
    char *title = NULL;
    struct pm_application application = {.trial = form->trial};
    struct pm_text sentence = PM_TEXT_EMPTY, remark = PM_TEXT_EMPTY;
    enum pm_status status = pm_library_begin(studio->library, err);
    if (status != PM_OK)
        return status;
    status = pm_smell_title(studio, form->trial, &title, err);
    if (status == PM_OK)
        status = read_session(studio, form, &application, err);
    if (status == PM_OK)
        status = insert_session(studio, &application, err);
    struct pm_smell_done done = {.id = 0};
    if (status == PM_OK) {
        pm_text_addf(&sentence, "%lld: %s put on %s at %s", (long long)application.id, title,
                     pm_medium_word(application.medium),
                     pm_time_format(application.applied_at, at));
        if (application.medium == PM_ON_SKIN)
            pm_text_add(&remark, pm_medium_caution(PM_ON_SKIN));
        status = pm_smell_finish(&sentence, &remark, application.id, &done, err);
    }
    if (status == PM_OK)
        status = pm_library_commit(studio->library, err);
    else
        pm_library_abort(studio->library);
    pm_free(title);
    pm_application_release(&application);
    if (status == PM_OK)
        *out = done;
    else
        pm_smell_done_release(&done);
    return status;
}

static enum pm_status end_or_resume(struct pm_studio *studio, int64_t id, bool end,
                                    struct pm_smell_done *out, struct pm_error *err)
{
    pm_studio_refresh(studio);
    struct pm_application application;
    struct pm_smell_done done = {.id = 0};
    struct pm_text sentence = PM_TEXT_EMPTY, remark = PM_TEXT_EMPTY;
    char *title = NULL;
    enum pm_status status = pm_library_begin(studio->library, err);
    if (status != PM_OK)
        return status;
    status = pm_application_get(studio->library, id, &application, err);
    if (status == PM_OK) {
        if ((application.ended_at != 0) == end)
            status = pm_fail(err, PM_REFUSED, "Number %lld %s already.", (long long)id,
                             end ? "was stopped" : "is running");
        if (status == PM_OK)
            status = pm_smell_title(studio, application.trial, &title, err);
        if (status == PM_OK)
            status = pm_application_end(studio->library, id, end ? pm_studio_now(studio) : 0, err);
        pm_application_release(&application);
    }
    if (status == PM_OK) {
        pm_text_addf(&sentence, "%lld: %s %s", (long long)id, title,
                     end ? "stopped" : "is running again");
        status = pm_smell_finish(&sentence, &remark, id, &done, err);
    }
    if (status == PM_OK)
        status = pm_library_commit(studio->library, err);
    else
        pm_library_abort(studio->library);
    pm_free(title);
    if (status == PM_OK)
        *out = done;
    else
        pm_smell_done_release(&done);
    return status;
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

struct find_one {
    int64_t trial, id;
    size_t matches;
    struct pm_text names;
};

static bool match_trial(void *context, const struct pm_application *application)
{
    struct find_one *find = context;
    char at[PM_TIME_TEXT];
    if (application->trial != find->trial)
        return true;
    pm_text_addf(&find->names, "%s%lld on %s since %s", find->matches > 0 ? ", " : "",
                 (long long)application->id, pm_medium_word(application->medium),
                 pm_time_format(application->applied_at, at));
    find->id = application->id;
    find->matches++;
    return true;
}

enum pm_status pm_session_find(struct pm_studio *studio, const char *text, int64_t *id,
                               struct pm_error *err)
{
    struct find_one find = {.matches = 0};
    if (text[0] != '\0' && strspn(text, "0123456789") == strlen(text)) {
        struct pm_application application;
        enum pm_status status = pm_decimal_read(text, 0, "The number", &find.id, err);
        if (status == PM_OK)
            status = pm_application_get(studio->library, find.id, &application, err);
        if (status == PM_OK) {
            pm_application_release(&application);
            *id = find.id;
        }
        return status;
    }
    enum pm_status status = pm_formula_find(studio, text, NULL, &find.trial, NULL, err);
    if (status == PM_OK)
        status = pm_application_list(studio->library, false, match_trial, &find, err);
    if (status == PM_OK && find.matches == 0)
        status = pm_fail(err, PM_MISSING, "%s is not in the running session.", text);
    else if (status == PM_OK && find.matches > 1)
        status = pm_fail(err, PM_REFUSED, "%s is running more than once, say which: %s.", text,
                         pm_text_get(&find.names));
    pm_text_release(&find.names);
    if (status == PM_OK)
        *id = find.id;
    return status;
}

/* ---- the list ---- */

void pm_session_entries_release(struct pm_session_entries *entries)
{
    for (size_t i = 0; i < entries->count; i++) {
        struct pm_session_entry *entry = &entries->items[i];
        pm_free(entry->title);
        pm_free(entry->schedule);
        pm_free(entry->note);
        pm_free(entry->state);
        pm_free(entry->remark);
    }
    pm_free(entries->items);
    *entries = (struct pm_session_entries){.count = 0};
}

struct gather {
    struct pm_session_entries entries;
    size_t capacity;
    bool failed;
};

static bool gather_one(void *context, const struct pm_application *application)
{
    struct gather *gather = context;
    void *items = gather->entries.items;
    gather->failed = !pm_grow(&items, &gather->capacity, gather->entries.count + 1,
                              sizeof *gather->entries.items);
    gather->entries.items = items;
    if (gather->failed)
        return false;
    struct pm_session_entry *entry = &gather->entries.items[gather->entries.count++];
    *entry = (struct pm_session_entry){.id = application->id,
                                       .formula = application->formula,
                                       .trial = application->trial,
                                       .number = application->number,
                                       .medium = application->medium,
                                       .strength = application->strength,
                                       .applied_at = application->applied_at,
                                       .ended_at = application->ended_at,
                                       .schedule = pm_strdup(application->schedule),
                                       .note = pm_strdup(application->note),
                                       .due_since = -1,
                                       .last_intensity = -1};
    gather->failed = !entry->schedule || (application->note && !entry->note);
    return !gather->failed;
}

/* What was smelled of one application. */
struct smelled {
    int64_t *times;
    size_t count, capacity;
    int last_intensity;
    bool failed;
};

static bool gather_time(void *context, const struct pm_smell *smell)
{
    struct smelled *smelled = context;
    void *times = smelled->times;
    smelled->failed =
        !pm_grow(&times, &smelled->capacity, smelled->count + 1, sizeof *smelled->times);
    smelled->times = times;
    if (smelled->failed)
        return false;
    smelled->times[smelled->count++] = smell->since;
    if (smell->intensity >= 0)
        smelled->last_intensity = smell->intensity;
    return true;
}

static void say_state(struct pm_session_entry *entry, int64_t now, struct pm_text *out)
{
    char span[PM_TIME_TEXT], wait[PM_TIME_TEXT];
    const struct pm_due *due = &entry->due;
    if (entry->ended_at != 0) {
        pm_text_addf(out, "stopped %s", pm_time_format(entry->ended_at, span));
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
    if (entry->ended_at != 0)
        return;
    if (entry->due.clock_back)
        pm_text_addf(out,
                     "The clock says %s, before it was put on at %s: was it set back? It waits "
                     "until the clock is past that again.",
                     pm_time_format(now, clock), pm_time_format(entry->applied_at, at));
    else if (entry->due.ahead)
        pm_text_addf(out,
                     "It was smelled later than the clock now says (%s): was it set back? Those "
                     "notes count.",
                     pm_time_format(now, clock));
    else if (now - entry->applied_at > LONG_SESSION)
        pm_text_addf(out, "Running for %lld days: stop it when it is no longer smelled.",
                     (long long)((now - entry->applied_at) / 86400));
}

static enum pm_status complete(struct pm_studio *studio, struct pm_session_entry *entry,
                               int64_t now, struct pm_error *err)
{
    struct smelled smelled = {.last_intensity = -1};
    struct pm_schedule schedule;
    enum pm_status status =
        pm_smell_of_application(studio->library, entry->id, gather_time, &smelled, err);
    if (status == PM_OK && smelled.failed)
        status = pm_fail_memory(err);
    if (status == PM_OK)
        status = pm_schedule_read(entry->schedule, &schedule, err);
    if (status == PM_OK) {
        entry->since = now > entry->applied_at ? now - entry->applied_at : 0;
        entry->smelled = smelled.count;
        entry->last_intensity = smelled.last_intensity;
        if (entry->ended_at == 0)
            pm_schedule_due(&schedule, entry->applied_at, now, smelled.times, smelled.count,
                            &entry->due);
        /* Of several times missed the last one stands for all: smelling now settles them. */
        if (entry->ended_at == 0 && !entry->due.over)
            entry->due_since =
                schedule.times[entry->due.place + (entry->due.now ? entry->due.waiting - 1 : 0)];
        if (entry->due.now)
            entry->due.late = entry->since - entry->due_since;
    }
    pm_free(smelled.times);
    return status;
}

static enum pm_status describe(struct pm_studio *studio, struct pm_session_entry *entry,
                               int64_t now, struct pm_error *err)
{
    struct pm_text state = PM_TEXT_EMPTY, remark = PM_TEXT_EMPTY;
    enum pm_status status = complete(studio, entry, now, err);
    if (status == PM_OK)
        status = pm_smell_title(studio, entry->trial, &entry->title, err);
    if (status != PM_OK)
        return status;
    say_state(entry, now, &state);
    say_oddity(entry, now, &remark);
    if (!pm_text_ok(&state) || !pm_text_ok(&remark))
        status = pm_fail_memory(err);
    if (status == PM_OK) {
        entry->state = pm_text_take(&state);
        entry->remark = remark.length > 0 ? pm_text_take(&remark) : NULL;
    }
    pm_text_release(&state);
    pm_text_release(&remark);
    return status;
}

enum pm_status pm_session_list(struct pm_studio *studio, bool ended_too,
                               struct pm_session_entries *out, struct pm_error *err)
{
    pm_studio_refresh(studio);
    const int64_t now = pm_studio_now(studio);
    struct gather gather = {.capacity = 0};
    enum pm_status status = pm_library_begin_read(studio->library, err);
    if (status != PM_OK)
        return status;
    status = pm_application_list(studio->library, ended_too, gather_one, &gather, err);
    if (status == PM_OK && gather.failed)
        status = pm_fail_memory(err);
    for (size_t i = 0; status == PM_OK && i < gather.entries.count; i++) {
        status = describe(studio, &gather.entries.items[i], now, err);
        gather.entries.due += gather.entries.items[i].due.now;
    }
    pm_library_end_read(studio->library);
    if (status != PM_OK) {
        pm_session_entries_release(&gather.entries);
        return status;
    }
    *out = gather.entries;
    return PM_OK;
}

/* ---- what is due ---- */

/* "smell now: Name/3 15 min (+2)"; a long name gives way, its trial's number stays. */
static void say_due(const struct pm_session_entry *entry, size_t count, char out[PM_DUE_TEXT])
{
    char span[PM_TIME_TEXT], more[32] = "";
    const char *number = strrchr(entry->title, '/');
    const size_t whole = (size_t)(number - entry->title);
    const size_t fit = pm_utf8_fit(entry->title, 24);
    if (count > 1)
        snprintf(more, sizeof more, " (+%zu)", count - 1);
    snprintf(out, PM_DUE_TEXT, "smell now: %.*s%s%s %s%s", (int)(fit < whole ? fit : whole),
             entry->title, fit < whole ? "…" : "", number,
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
        if (entry->due.now && (!first || entry->due.at < first->due.at))
            first = entry;
        if (!entry->due.over && !entry->due.now &&
            (note.next_at == 0 || entry->due.at < note.next_at))
            note.next_at = entry->due.at;
    }
    if (first)
        say_due(first, note.now, note.text);
    pm_session_entries_release(&running);
    *out = note;
    return PM_OK;
}
