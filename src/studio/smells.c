/* SPDX-License-Identifier: MIT */
/*
 * The smell log: noting, correcting, reading.
 */
#include "smelling.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"

#include <string.h>

const char *pm_medium_caution(enum pm_medium medium)
{
    if (medium == PM_ON_SKIN)
        return "Skin: a patch test proves little; a few people on a few days cannot show safety.\n"
               "Testing on people can sensitise them, for life. Dilute; keep an eye on Limits.\n"
               "Air the room; asthma and migraine can follow what is breathed in.";
    return "Air the room: asthma and migraine can follow what is breathed in.";
}

void pm_smell_done_release(struct pm_smell_done *done)
{
    pm_free(done->sentence);
    pm_free(done->remark);
    *done = (struct pm_smell_done){.id = 0};
}

/* ---- helpers of both files ---- */

bool pm_given(const char *text)
{
    return text != NULL && text[strspn(text, " \t")] != '\0';
}

enum pm_status pm_smell_title(struct pm_studio *studio, int64_t trial, char **out,
                              struct pm_error *err)
{
    struct pm_kept *kept;
    struct pm_trial_row row;
    enum pm_status status = pm_trial_row_get(studio->library, trial, NULL, &row, err);
    if (status != PM_OK)
        return status;
    if (row.number == 0)
        return pm_fail(err, PM_REFUSED,
                       "Only kept trials are smelled, so that a note tells of something that stays "
                       "as it was: keep the draft first.");
    status = pm_studio_kept(studio, trial, false, &kept, err);
    return status == PM_OK ? pm_kept_title(studio, kept, out, err) : status;
}

enum pm_status pm_smell_medium(const char *text, enum pm_medium *out, struct pm_error *err)
{
    if (!pm_given(text) || pm_medium_from_word(text, out))
        return PM_OK;
    return pm_fail(err, PM_INVALID, "It is smelled on blotter, skin or other, not \"%s\".", text);
}

enum pm_status pm_smell_when(struct pm_studio *studio, const char *text, int64_t *out,
                             struct pm_error *err)
{
    char then[PM_TIME_TEXT], clock[PM_TIME_TEXT];
    const int64_t now = pm_studio_now(studio);
    int64_t when = now;
    if (pm_given(text)) {
        enum pm_status status = pm_time_read(text, &when, err);
        if (status != PM_OK)
            return status;
    }
    if (when > now)
        return pm_fail(err, PM_REFUSED, "%s is still to come: it is %s now.",
                       pm_time_format(when, then), pm_time_format(now, clock));
    *out = when;
    return PM_OK;
}

enum pm_status pm_smell_finish(struct pm_text *sentence, struct pm_text *remark, int64_t id,
                               struct pm_smell_done *out, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    struct pm_smell_done done = {.id = id};
    if (pm_text_ok(sentence) && pm_text_ok(remark)) {
        done.sentence = pm_text_take(sentence);
        done.remark = remark->length > 0 ? pm_text_take(remark) : NULL;
    } else {
        status = pm_fail_memory(err);
    }
    pm_text_release(sentence);
    pm_text_release(remark);
    if (status == PM_OK)
        *out = done;
    return status;
}

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
    char *title;   /* owned */
    bool measured; /* the time since application comes from the clock */
};

/* A correction begins as a copy of what it corrects. */
static enum pm_status begin_correction(struct pm_studio *studio, const struct pm_smell_form *form,
                                       struct noting *noting, struct pm_error *err)
{
    struct pm_smell old;
    enum pm_status status =
        pm_smell_get(studio->library, form->corrects, &noting->arena, &old, err);
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
    if (form->trial != 0 && form->trial != old.trial) {
        noting->smell.trial = form->trial;
        noting->smell.application = 0;
    }
    return PM_OK;
}

static enum pm_status read_level(const char *text, const char *what, int most, int *out,
                                 struct pm_error *err)
{
    int64_t level;
    if (text == NULL)
        return PM_OK;
    if (!pm_given(text)) {
        *out = -1;
        return PM_OK;
    }
    enum pm_status status = pm_decimal_read(text, 0, what, &level, err);
    if (status == PM_OK && level > most)
        status = pm_fail(err, PM_INVALID, "%s goes from 0 to %d, not to %s.", what, most, text);
    if (status == PM_OK)
        *out = (int)level;
    return status;
}

/* Keeps a cleaned string in the arena and frees it; an empty one is none. */
static enum pm_status keep_clean(struct noting *noting, char *clean, const char **field,
                                 struct pm_error *err)
{
    *field = clean != NULL && clean[0] != '\0' ? pm_arena_text(&noting->arena, clean) : NULL;
    pm_free(clean);
    return pm_arena_status(&noting->arena, err);
}

static enum pm_status read_words(const struct pm_smell_form *form, struct noting *noting,
                                 struct pm_error *err)
{
    char *clean = NULL;
    enum pm_status status = PM_OK;
    if (form->note != NULL) {
        if (pm_given(form->note))
            status = pm_note_clean(form->note, "The note", PM_SMELL_NOTE_MAX, &clean, err);
        if (status == PM_OK)
            status = keep_clean(noting, clean, &noting->smell.note, err);
        if (pm_error_at(err, "note", status) != PM_OK)
            return status;
    }
    if (form->assessor != NULL) {
        clean = NULL;
        if (pm_given(form->assessor))
            status = pm_name_clean(form->assessor, "The assessor's name", &clean, err);
        if (status == PM_OK)
            status = keep_clean(noting, clean, &noting->smell.assessor, err);
        pm_error_at(err, "assessor", status);
    }
    return status;
}

static enum pm_status read_since(const char *text, int64_t *out, struct pm_error *err)
{
    enum pm_status status = pm_span_read(text, out, err);
    if (status == PM_OK && *out > PM_SCHEDULE_LONGEST)
        status = pm_fail(err, PM_INVALID, "\"%s\" is too long after: a year is the most.", text);
    return status;
}

static enum pm_status read_strength(const char *text, pm_strength *out, struct pm_error *err)
{
    if (text != NULL)
        *out = 0;
    return pm_given(text) ? pm_strength_read(text, out, err) : PM_OK;
}

static enum pm_status read_form(struct pm_studio *studio, const struct pm_smell_form *form,
                                struct noting *noting, struct pm_error *err)
{
    struct pm_smell *smell = &noting->smell;
    enum pm_status status =
        pm_error_at(err, "medium", pm_smell_medium(form->medium, &smell->medium, err));
    if (status == PM_OK)
        status = pm_error_at(
            err, "intensity",
            read_level(form->intensity, "Intensity", PM_INTENSITY_MAX, &smell->intensity, err));
    if (status == PM_OK)
        status = pm_error_at(
            err, "liking", read_level(form->liking, "Liking", PM_LIKING_MAX, &smell->liking, err));
    if (status == PM_OK)
        status = pm_error_at(err, "strength", read_strength(form->strength, &smell->strength, err));
    if (status == PM_OK)
        status = read_words(form, noting, err);
    if (status == PM_OK && (form->when != NULL || smell->corrects == 0))
        status = pm_error_at(err, "when", pm_smell_when(studio, form->when, &smell->at, err));
    if (status == PM_OK && pm_given(form->since))
        status = pm_error_at(err, "since", read_since(form->since, &smell->since, err));
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
    /* A tenth, and two minutes for typing: the same patience as the schedule's. */
    const int64_t measured = smell->at - application->applied_at;
    const int64_t off = measured > smell->since ? measured - smell->since : smell->since - measured;
    return off <= smell->since / 10 + 120;
}

/* Takes over what the application tells. */
static enum pm_status use_application(const struct pm_smell_form *form, struct noting *noting,
                                      const struct pm_application *application,
                                      struct pm_error *err)
{
    char clock[PM_TIME_TEXT], applied[PM_TIME_TEXT];
    struct pm_smell *smell = &noting->smell;
    const int64_t applied_at = application->applied_at;
    smell->application = application->id;
    smell->medium = pm_given(form->medium) ? smell->medium : application->medium;
    if (form->strength == NULL)
        smell->strength = application->strength;
    if (pm_given(form->since))
        return PM_OK;
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

static enum pm_status search_running(struct pm_studio *studio, const struct pm_smell_form *form,
                                     struct noting *noting, struct pm_error *err)
{
    const struct search search = {.smell = &noting->smell,
                                  .by_medium = pm_given(form->medium) || pm_given(form->since),
                                  .by_since = pm_given(form->since)};
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
        status = use_application(form, noting, found, err);
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

static enum pm_status named_application(struct pm_studio *studio, const struct pm_smell_form *form,
                                        struct noting *noting, struct pm_error *err)
{
    struct pm_application application;
    enum pm_status status =
        pm_application_get(studio->library, form->application, NULL, &application, err);
    if (status != PM_OK)
        return status;
    if (noting->smell.trial == 0)
        noting->smell.trial = application.trial;
    if (noting->smell.trial != application.trial)
        return pm_fail_at(err, "trial", PM_REFUSED, "Number %lld of the session is another trial.",
                          (long long)application.id);
    return use_application(form, noting, &application, err);
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
    else if (noting->smell.medium == PM_ON_SKIN && !noting->smell.withdrawn)
        pm_text_add(out, "A patch test proves little, and skin can become sensitised for life.");
    return PM_OK;
}

static enum pm_status put_together(struct pm_studio *studio, const struct pm_smell_form *form,
                                   struct noting *noting, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    noting->smell = (struct pm_smell){.trial = form->trial, .intensity = -1, .liking = -1};
    if (form->corrects != 0)
        status = begin_correction(studio, form, noting, err);
    else if (form->withdraw)
        status = pm_fail(err, PM_INVALID, "Which note is taken back?");
    noting->smell.withdrawn = form->withdraw;
    if (status == PM_OK)
        status = read_form(studio, form, noting, err);
    if (status == PM_OK && form->application != 0)
        status = named_application(studio, form, noting, err);
    if (status == PM_OK)
        status = pm_error_at(err, "trial",
                             pm_smell_title(studio, noting->smell.trial, &noting->title, err));
    if (status == PM_OK && form->application == 0 && form->corrects == 0)
        status = search_running(studio, form, noting, err);
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
