/* SPDX-License-Identifier: MIT */
/*
 * The smell log: noting, correcting, reading.
 */
#include "smelling.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"

#include <string.h>

/* ---- reading ---- */

/* How many were smelled later than the clock says, and when the latest was. */
static size_t count_ahead(const struct pm_smells *smells, int64_t now, int64_t *latest)
{
    size_t ahead = 0;
    *latest = 0;
    for (size_t i = 0; i < smells->count; i++) {
        const int64_t at = smells->items[i].at;
        ahead += at > now;
        *latest = at > *latest ? at : *latest;
    }
    return ahead;
}

/* Says so when the clock stands before something that was smelled already. */
static enum pm_status remark_clock(struct pm_smells *smells, int64_t now, const char **remark,
                                   struct pm_error *err)
{
    char clock[PM_TIME_TEXT];
    int64_t latest;
    struct pm_text text = PM_TEXT_EMPTY;
    const size_t ahead = count_ahead(smells, now, &latest);
    *remark = NULL;
    if (ahead == 0)
        return PM_OK;
    pm_text_addf(&text,
                 "The clock says %s, but %zu of these %s smelled later: was it set back? They are "
                 "kept as they are.",
                 pm_time_format(now, clock), ahead, ahead == 1 ? "was" : "were");
    *remark = pm_text_ok(&text) ? pm_arena_text(&smells->arena, pm_text_get(&text)) : NULL;
    pm_text_release(&text);
    return *remark != NULL ? PM_OK : pm_fail_memory(err);
}

enum pm_status pm_smells_list(struct pm_studio *studio, int64_t formula, int64_t number,
                              bool corrected_too, struct pm_smells *out, const char **remark,
                              struct pm_error *err)
{
    struct pm_smells list = {0};
    const char *odd = NULL;
    enum pm_status status =
        pm_smell_list(studio->library, formula, number, corrected_too, &list, err);
    if (status == PM_OK)
        status = remark_clock(&list, pm_studio_now(studio), &odd, err);
    pm_list_give(&list, status, out);
    if (status == PM_OK && remark != NULL)
        *remark = odd;
    return status;
}

enum pm_status pm_smells_get(struct pm_studio *studio, int64_t id, struct pm_arena *arena,
                             struct pm_smell *out, struct pm_error *err)
{
    return pm_smell_get(studio->library, id, arena, out, err);
}

/* ---- noting ---- */

/* What is being put together for one note. */
struct noting {
    struct pm_smell smell; /* its strings stand in the arena */
    struct pm_arena arena;
    const char *given[PM_SMELL_ATTRIBUTES]; /* as typed; NULL: not given */
    char *title;                            /* owned */
    bool measured;                          /* the time since application comes from the clock */
    int64_t on_for; /* what the clock says of it where it was given; 0: nothing */
};

static enum pm_status find_reference(void *context, const struct pm_attribute *attribute,
                                     const char *text, int64_t *id, struct pm_error *err)
{
    return strcmp(attribute->choices, "session") == 0
               ? pm_session_find(context, text, id, err)
               : pm_trial_reference(context, attribute, text, id, err);
}

/* What the note is of, by id where that is known, else as typed. */
static enum pm_status read_whereof(struct pm_studio *studio, const struct pm_smell_form *form,
                                   struct pm_smell *out, struct pm_error *err)
{
    static const int whereof[] = {PM_SMELL_TRIAL, PM_SMELL_SESSION, PM_SMELL_CORRECTS};
    const struct pm_naming naming = {.find = find_reference, .context = studio};
    const char *values[PM_SMELL_ATTRIBUTES] = {NULL};
    for (size_t i = 0; i < sizeof whereof / sizeof whereof[0]; i++)
        values[whereof[i]] = form->values[whereof[i]];
    *out = (struct pm_smell){.id = 0};
    enum pm_status status = pm_entity_read(&pm_smell_entity, values, out, NULL, &naming, err);
    out->trial = form->trial != 0 ? form->trial : out->trial;
    out->application = form->application != 0 ? form->application : out->application;
    out->corrects = form->corrects != 0 ? form->corrects : out->corrects;
    return status;
}

/* A correction begins as a copy of what it corrects. */
static enum pm_status begin_correction(struct pm_studio *studio, const struct pm_smell *whereof,
                                       struct noting *noting, struct pm_error *err)
{
    struct pm_smell old;
    enum pm_status status =
        pm_smell_get(studio->library, whereof->corrects, &noting->arena, &old, err);
    if (status != PM_OK)
        return status;
    if (old.withdrawn)
        return pm_fail(err, PM_REFUSED, "Smell note %lld took another back: note it anew.",
                       (long long)old.id);
    if (old.corrected_by != 0)
        return pm_fail(err, PM_REFUSED,
                       "Smell note %lld was corrected already: %lld stands in its place.",
                       (long long)old.id, (long long)old.corrected_by);
    noting->smell = old;
    noting->smell.corrects = old.id;
    if (whereof->trial != 0 && whereof->trial != old.trial) {
        noting->smell.trial = whereof->trial;
        noting->smell.application = 0;
    }
    return PM_OK;
}

/* What is measured or usual when it stays empty was not given; what the note is of was read. */
static void take_given(const struct pm_smell_form *form, struct noting *noting)
{
    static const int or_usual[] = {PM_SMELL_SINCE, PM_SMELL_MEDIUM, PM_SMELL_WHEN};
    for (size_t i = 0; i < PM_SMELL_ATTRIBUTES; i++)
        noting->given[i] = form->values[i];
    for (size_t i = 0; i < sizeof or_usual / sizeof or_usual[0]; i++)
        if (!pm_given(noting->given[or_usual[i]]))
            noting->given[or_usual[i]] = NULL;
    noting->given[PM_SMELL_TRIAL] = noting->given[PM_SMELL_SESSION] = NULL;
    noting->given[PM_SMELL_CORRECTS] = NULL;
}

static enum pm_status read_form(struct pm_studio *studio, struct noting *noting,
                                struct pm_error *err)
{
    struct pm_smell *smell = &noting->smell;
    enum pm_status status =
        pm_entity_read(&pm_smell_entity, noting->given, smell, &noting->arena, NULL, err);
    if (noting->given[PM_SMELL_WHEN] == NULL && smell->corrects == 0)
        smell->at = pm_studio_now(studio);
    if (status == PM_OK && noting->given[PM_SMELL_WHEN] != NULL)
        status = pm_smell_past(studio, smell->at, err);
    if (status == PM_OK && noting->given[PM_SMELL_SINCE] != NULL)
        status = pm_smell_span("since", smell->since, err);
    return status;
}

/* ---- which of the running ones was smelled ---- */

/* What a search among the running ones goes by. */
struct search {
    const struct pm_smell *smell;
    bool by_medium; /* the person said on what */
    bool by_since;  /* the person said after how long: it must be about that */
};

static bool fits(const struct search *search, const struct pm_application *application)
{
    const struct pm_smell *smell = search->smell;
    if (application->trial != smell->trial ||
        (search->by_medium && application->medium != smell->medium))
        return false;
    if (!search->by_since)
        return true;
    return !pm_smell_is_doubtful(smell->at - application->applied_at, smell->since);
}

/* Takes over what the application tells. */
static enum pm_status use_application(struct noting *noting,
                                      const struct pm_application *application,
                                      struct pm_error *err)
{
    char clock[PM_TIME_TEXT], applied[PM_TIME_TEXT];
    struct pm_smell *smell = &noting->smell;
    const int64_t applied_at = application->applied_at;
    smell->application = application->id;
    if (noting->given[PM_SMELL_MEDIUM] == NULL)
        smell->medium = application->medium;
    if (noting->given[PM_SMELL_STRENGTH] == NULL)
        smell->strength = application->strength;
    if (noting->given[PM_SMELL_SINCE] != NULL) {
        noting->on_for = smell->at - applied_at;
        return PM_OK;
    }
    if (smell->at < applied_at)
        return pm_fail_at(
            err, "since", PM_REFUSED,
            "At %s it was not on yet: it was put on at %s. Set the clock right, or say "
            "how long after it was.",
            pm_time_format(smell->at, clock), pm_time_format(applied_at, applied));
    smell->since = smell->at - applied_at;
    if (smell->since > PM_SCHEDULE_LONGEST)
        return pm_fail_at(err, "since", PM_INVALID, "It was put on at %s: a year is the most.",
                          pm_time_format(applied_at, applied));
    noting->measured = true;
    return PM_OK;
}

/* Says which of the running ones there are to choose from. */
static enum pm_status fail_several(const struct noting *noting, const struct search *search,
                                   const struct pm_applications *running, struct pm_error *err)
{
    char applied[PM_TIME_TEXT];
    struct pm_text names = PM_TEXT_EMPTY;
    for (size_t i = 0; i < running->count; i++) {
        const struct pm_application *application = &running->items[i];
        if (fits(search, application))
            pm_text_addf(&names, "%s%lld on %s since %s", names.length > 0 ? ", " : "",
                         (long long)application->id, pm_medium_word(application->medium),
                         pm_time_format(application->applied_at, applied));
    }
    enum pm_status status = pm_fail(err, PM_REFUSED, "%s is running more than once, say which: %s.",
                                    noting->title, pm_text_get(&names));
    pm_text_release(&names);
    return status;
}

static enum pm_status search_running(struct pm_studio *studio, struct noting *noting,
                                     struct pm_error *err)
{
    const bool by_since = noting->given[PM_SMELL_SINCE] != NULL;
    const struct search search = {.smell = &noting->smell,
                                  .by_medium = by_since || noting->given[PM_SMELL_MEDIUM] != NULL,
                                  .by_since = by_since};
    struct pm_applications running;
    const struct pm_application *found = NULL;
    size_t matches = 0;
    enum pm_status status = pm_application_list(studio->library, false, &running, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; i < running.count; i++)
        if (fits(&search, &running.items[i])) {
            found = &running.items[i];
            matches++;
        }
    if (matches == 1)
        status = use_application(noting, found, err);
    else if (matches == 0 && !search.by_since)
        status = pm_fail_at(err, "since", PM_INVALID,
                            "How long after it was put on? %s is not in the running session, so "
                            "the time must be given.",
                            noting->title);
    else if (!search.by_since)
        status = fail_several(noting, &search, &running, err);
    pm_list_release(&running);
    return status;
}

static enum pm_status named_application(struct pm_studio *studio, int64_t id, struct noting *noting,
                                        struct pm_error *err)
{
    struct pm_application application;
    enum pm_status status = pm_application_get(studio->library, id, NULL, &application, err);
    if (status != PM_OK)
        return status;
    if (noting->smell.trial == 0)
        noting->smell.trial = application.trial;
    if (noting->smell.trial != application.trial)
        return pm_fail_at(err, "trial", PM_REFUSED, "Number %lld of the session is another trial.",
                          (long long)application.id);
    return use_application(noting, &application, err);
}

/* ---- what was done, in words ---- */

static void say_note(const struct noting *noting, struct pm_text *out)
{
    char span[PM_TIME_TEXT];
    const struct pm_smell *smell = &noting->smell;
    if (smell->corrects != 0)
        pm_text_addf(out, "Smell note %lld %s: ", (long long)smell->corrects,
                     smell->withdrawn ? "taken back" : "corrected");
    pm_text_addf(out, "%s on %s ", noting->title, pm_medium_word(smell->medium));
    pm_text_addf(out, smell->since == 0 ? "at once" : "after %s",
                 pm_span_about(smell->since, span));
    if (smell->withdrawn)
        return;
    if (smell->intensity >= 0)
        pm_text_addf(out, ", intensity %d", smell->intensity);
    if (smell->liking >= 0)
        pm_text_addf(out, ", liking %d", smell->liking);
}

/* The cautions of skin, and a clock that stands before an earlier note of the trial. */
static enum pm_status say_remark(struct pm_studio *studio, const struct noting *noting,
                                 struct pm_text *out, struct pm_error *err)
{
    char clock[PM_TIME_TEXT], later[PM_TIME_TEXT];
    const int64_t now = pm_studio_now(studio);
    struct pm_kept *kept;
    struct pm_smells smells;
    int64_t newest = 0;
    enum pm_status status = pm_studio_kept(studio, noting->smell.trial, false, &kept, err);
    if (status == PM_OK)
        status = pm_smell_list(studio->library, kept->formula, kept->number, false, &smells, err);
    if (status != PM_OK)
        return status;
    count_ahead(&smells, now, &newest);
    pm_list_release(&smells);
    if (newest > now)
        pm_text_addf(out,
                     "The clock says %s, but another note was smelled at %s: was it set back? "
                     "Both are kept as they are.",
                     pm_time_format(now, clock), pm_time_format(newest, later));
    else if (noting->on_for != 0 && pm_smell_is_doubtful(noting->on_for, noting->smell.since))
        pm_smell_doubt(noting->on_for, noting->smell.since, out);
    else if (noting->smell.medium == PM_ON_SKIN && !noting->smell.withdrawn)
        pm_text_add(out, "A patch test proves little, and skin can become sensitised for life.");
    return PM_OK;
}

static enum pm_status put_together(struct pm_studio *studio, const struct pm_smell_form *form,
                                   struct noting *noting, struct pm_error *err)
{
    struct pm_smell whereof;
    enum pm_status status = read_whereof(studio, form, &whereof, err);
    pm_entity_clear(&pm_smell_entity, &noting->smell);
    noting->smell.trial = whereof.trial;
    if (status == PM_OK && whereof.corrects != 0)
        status = begin_correction(studio, &whereof, noting, err);
    else if (status == PM_OK && form->withdraw)
        status = pm_fail(err, PM_INVALID, "Which note is taken back?");
    noting->smell.withdrawn = form->withdraw;
    take_given(form, noting);
    if (status == PM_OK)
        status = read_form(studio, noting, err);
    if (status == PM_OK && whereof.application != 0)
        status = named_application(studio, whereof.application, noting, err);
    if (status == PM_OK)
        status = pm_error_at(err, "trial",
                             pm_smell_title(studio, noting->smell.trial, &noting->title, err));
    if (status == PM_OK && whereof.application == 0 && whereof.corrects == 0)
        status = search_running(studio, noting, err);
    if (form->withdraw) {
        /* Nothing stands in the old note's place. */
        noting->smell.intensity = noting->smell.liking = -1;
        noting->smell.note = NULL;
    }
    if (status == PM_OK && noting->smell.intensity < 0 && noting->smell.liking < 0 &&
        noting->smell.note == NULL && !form->withdraw)
        status = pm_fail_at(err, "intensity", PM_INVALID,
                            "A smell note says something: an intensity, a liking, or words.");
    return status;
}

enum pm_status pm_smells_log(struct pm_studio *studio, const struct pm_smell_form *form,
                             struct pm_smell_done *out, struct pm_error *err)
{
    struct noting noting = {.title = NULL};
    struct pm_text sentence = PM_TEXT_EMPTY, remark = PM_TEXT_EMPTY;
    int64_t id = 0;
    enum pm_status status = pm_change_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = put_together(studio, form, &noting, err);
    if (status == PM_OK) {
        say_note(&noting, &sentence);
        status = say_remark(studio, &noting, &remark, err);
    }
    if (status == PM_OK)
        status = pm_smell_insert(studio->library, &noting.smell, &id, err);
    struct pm_smell_done done = {.id = 0};
    if (status == PM_OK)
        status = pm_smell_finish(&sentence, &remark, id, &done, err);
    status = pm_change_end(studio, status, err);
    pm_text_release(&sentence);
    pm_text_release(&remark);
    pm_arena_release(&noting.arena);
    pm_free(noting.title);
    if (status != PM_OK)
        pm_smell_done_release(&done);
    else
        *out = done;
    return status;
}
