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
    enum pm_status status = pm_trial_row_get(studio->library, trial, &row, err);
    if (status != PM_OK)
        return status;
    const bool draft = row.number == 0;
    pm_trial_row_release(&row);
    if (draft)
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

/* ---- reading entries ---- */

void pm_smell_entry_release(struct pm_smell_entry *entry)
{
    pm_free(entry->note);
    pm_free(entry->assessor);
    *entry = (struct pm_smell_entry){.id = 0};
}

void pm_smell_entries_release(struct pm_smell_entries *entries)
{
    for (size_t i = 0; i < entries->count; i++)
        pm_smell_entry_release(&entries->items[i]);
    pm_free(entries->items);
    pm_free(entries->remark);
    *entries = (struct pm_smell_entries){.count = 0};
}

struct gather {
    struct pm_smell_entries entries;
    size_t capacity;
    int64_t now;
    bool failed;
};

static bool gather_one(void *context, const struct pm_smell *smell)
{
    struct gather *gather = context;
    void *items = gather->entries.items;
    char *note = pm_strdup(smell->note), *assessor = pm_strdup(smell->assessor);
    gather->failed = !pm_grow(&items, &gather->capacity, gather->entries.count + 1,
                              sizeof *gather->entries.items) ||
                     (smell->note && !note) || (smell->assessor && !assessor);
    gather->entries.items = items;
    if (gather->failed) {
        pm_free(note);
        pm_free(assessor);
        return false;
    }
    gather->entries.items[gather->entries.count++] =
        (struct pm_smell_entry){.id = smell->id,
                                .trial = smell->trial,
                                .number = smell->number,
                                .application = smell->application,
                                .medium = smell->medium,
                                .strength = smell->strength,
                                .since = smell->since,
                                .stage = pm_stage_at(smell->since, NULL),
                                .intensity = smell->intensity,
                                .liking = smell->liking,
                                .note = note,
                                .assessor = assessor,
                                .at = smell->at,
                                .entered_at = smell->entered_at,
                                .corrects = smell->corrects,
                                .corrected_by = smell->corrected_by,
                                .withdrawn = smell->withdrawn,
                                .ahead = smell->at > gather->now};
    return true;
}

static enum pm_status gather_end(struct gather *gather, enum pm_status status, struct pm_error *err)
{
    if (status == PM_OK && gather->failed)
        status = pm_fail_memory(err);
    if (status != PM_OK)
        pm_smell_entries_release(&gather->entries);
    return status;
}

/* Says so when the clock stands before something that was smelled already. */
static bool remark_clock(struct gather *gather)
{
    char clock[PM_TIME_TEXT];
    struct pm_text text = PM_TEXT_EMPTY;
    size_t ahead = 0;
    for (size_t i = 0; i < gather->entries.count; i++)
        ahead += gather->entries.items[i].ahead;
    if (ahead == 0)
        return true;
    pm_text_addf(&text,
                 "The clock says %s, but %zu of these %s smelled later: was it set back? They are "
                 "kept as they are.",
                 pm_time_format(gather->now, clock), ahead, ahead == 1 ? "was" : "were");
    gather->entries.remark = pm_text_take(&text);
    return gather->entries.remark != NULL;
}

enum pm_status pm_smells_list(struct pm_studio *studio, int64_t formula, int64_t number,
                              bool corrected_too, struct pm_smell_entries *out,
                              struct pm_error *err)
{
    pm_studio_refresh(studio);
    struct gather gather = {.now = pm_studio_now(studio)};
    enum pm_status status =
        pm_smell_list(studio->library, formula, number, corrected_too, gather_one, &gather, err);
    if (status == PM_OK && !gather.failed && !remark_clock(&gather))
        gather.failed = true;
    status = gather_end(&gather, status, err);
    if (status == PM_OK)
        *out = gather.entries;
    return status;
}

enum pm_status pm_smells_get(struct pm_studio *studio, int64_t id, struct pm_smell_entry *out,
                             char **title, struct pm_error *err)
{
    pm_studio_refresh(studio);
    struct gather gather = {.now = pm_studio_now(studio)};
    bool found;
    enum pm_status status = pm_smell_get(studio->library, id, gather_one, &gather, &found, err);
    if (status == PM_OK && !found)
        status = pm_fail(err, PM_MISSING, "There is no smell note %lld.", (long long)id);
    status = gather_end(&gather, status, err);
    if (status != PM_OK)
        return status;
    if (title)
        status = pm_smell_title(studio, gather.entries.items[0].trial, title, err);
    if (status == PM_OK)
        *out = gather.entries.items[0];
    else
        pm_smell_entry_release(&gather.entries.items[0]);
    pm_free(gather.entries.items);
    return status;
}

/* ---- noting ---- */

/* What is being put together for one note; strings are owned. */
struct noting {
    struct pm_smell smell;
    char *note, *assessor;
    char *title;
    bool measured; /* the time since application comes from the clock */
};

static void noting_release(struct noting *noting)
{
    pm_free(noting->note);
    pm_free(noting->assessor);
    pm_free(noting->title);
}

/* A correction begins as a copy of what it corrects. */
static enum pm_status begin_correction(struct pm_studio *studio, const struct pm_smell_form *form,
                                       struct noting *noting, struct pm_error *err)
{
    struct pm_smell_entry old;
    enum pm_status status = pm_smells_get(studio, form->corrects, &old, NULL, err);
    if (status != PM_OK)
        return status;
    if (old.withdrawn)
        status = pm_fail(err, PM_REFUSED, "Smell note %lld took another back: note it anew.",
                         (long long)old.id);
    else if (old.corrected_by != 0)
        status = pm_fail(err, PM_REFUSED,
                         "Smell note %lld was corrected already: %lld stands in its place.",
                         (long long)old.id, (long long)old.corrected_by);
    if (status == PM_OK) {
        noting->smell = (struct pm_smell){.trial = form->trial ? form->trial : old.trial,
                                          .application = old.application,
                                          .medium = old.medium,
                                          .strength = old.strength,
                                          .since = old.since,
                                          .intensity = old.intensity,
                                          .liking = old.liking,
                                          .at = old.at,
                                          .corrects = old.id};
        noting->note = old.note;
        noting->assessor = old.assessor;
        old.note = old.assessor = NULL;
        if (noting->smell.trial != old.trial)
            noting->smell.application = 0;
    }
    pm_smell_entry_release(&old);
    return status;
}

static enum pm_status read_level(const char *text, const char *what, int most, int *out,
                                 struct pm_error *err)
{
    int64_t level;
    if (!text)
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

static enum pm_status read_words(const struct pm_smell_form *form, struct noting *noting,
                                 struct pm_error *err)
{
    char *clean = NULL;
    enum pm_status status = PM_OK;
    if (form->note) {
        if (pm_given(form->note))
            status = pm_note_clean(form->note, "The note", PM_SMELL_NOTE_MAX, &clean, err);
        if (status != PM_OK)
            return status;
        if (clean && clean[0] == '\0') {
            pm_free(clean);
            clean = NULL;
        }
        pm_free(noting->note);
        noting->note = clean;
        clean = NULL;
    }
    if (form->assessor) {
        if (pm_given(form->assessor))
            status = pm_name_clean(form->assessor, "The assessor's name", &clean, err);
        if (status != PM_OK)
            return status;
        pm_free(noting->assessor);
        noting->assessor = clean;
    }
    return PM_OK;
}

static enum pm_status read_form(struct pm_studio *studio, const struct pm_smell_form *form,
                                struct noting *noting, struct pm_error *err)
{
    struct pm_smell *smell = &noting->smell;
    enum pm_status status = pm_smell_medium(form->medium, &smell->medium, err);
    if (status == PM_OK)
        status = read_level(form->intensity, "Intensity", PM_INTENSITY_MAX, &smell->intensity, err);
    if (status == PM_OK)
        status = read_level(form->liking, "Liking", PM_LIKING_MAX, &smell->liking, err);
    if (status == PM_OK && pm_given(form->strength))
        status = pm_strength_read(form->strength, &smell->strength, err);
    else if (form->strength)
        smell->strength = 0;
    if (status == PM_OK)
        status = read_words(form, noting, err);
    if (status == PM_OK && (form->when || smell->corrects == 0))
        status = pm_smell_when(studio, form->when, &smell->at, err);
    if (status == PM_OK && pm_given(form->since)) {
        status = pm_span_read(form->since, &smell->since, err);
        if (status == PM_OK && smell->since > PM_SCHEDULE_LONGEST)
            status = pm_fail(err, PM_INVALID, "\"%s\" is too long after: a year is the most.",
                             form->since);
    }
    return status;
}

/* ---- which of the running ones was smelled ---- */

struct search {
    const struct pm_smell *smell;
    bool by_medium; /* the person said on what */
    bool by_since;  /* the person said after how long: it must be about that */
    size_t matches;
    struct pm_text names; /* of the matches, for the sentence */
    int64_t id, applied_at;
    enum pm_medium medium;
    pm_strength strength;
};

static bool search_one(void *context, const struct pm_application *application)
{
    struct search *search = context;
    char applied[PM_TIME_TEXT];
    const struct pm_smell *smell = search->smell;
    if (application->trial != smell->trial ||
        (search->by_medium && application->medium != smell->medium))
        return true;
    if (search->by_since) {
        /* A tenth, and two minutes for typing: the same patience as the schedule's. */
        const int64_t measured = smell->at - application->applied_at;
        const int64_t off =
            measured > smell->since ? measured - smell->since : smell->since - measured;
        if (off > smell->since / 10 + 120)
            return true;
    }
    pm_text_addf(&search->names, "%s%lld on %s since %s", search->matches > 0 ? ", " : "",
                 (long long)application->id, pm_medium_word(application->medium),
                 pm_time_format(application->applied_at, applied));
    search->matches++;
    search->id = application->id;
    search->applied_at = application->applied_at;
    search->medium = application->medium;
    search->strength = application->strength;
    return true;
}

/* Takes over what the application tells. */
static enum pm_status use_application(const struct pm_smell_form *form, struct noting *noting,
                                      int64_t id, int64_t applied_at, enum pm_medium medium,
                                      pm_strength strength, struct pm_error *err)
{
    char clock[PM_TIME_TEXT], applied[PM_TIME_TEXT];
    struct pm_smell *smell = &noting->smell;
    smell->application = id;
    smell->medium = pm_given(form->medium) ? smell->medium : medium;
    if (!form->strength)
        smell->strength = strength;
    if (pm_given(form->since))
        return PM_OK;
    if (smell->at < applied_at)
        return pm_fail(err, PM_REFUSED,
                       "At %s it was not on yet: it was put on at %s. Set the clock right, or say "
                       "how long after it was.",
                       pm_time_format(smell->at, clock), pm_time_format(applied_at, applied));
    smell->since = smell->at - applied_at;
    if (smell->since > PM_SCHEDULE_LONGEST)
        return pm_fail(err, PM_INVALID, "It was put on at %s: a year is the most.",
                       pm_time_format(applied_at, applied));
    noting->measured = true;
    return PM_OK;
}

static enum pm_status search_running(struct pm_studio *studio, const struct pm_smell_form *form,
                                     struct noting *noting, struct pm_error *err)
{
    struct search search = {.smell = &noting->smell,
                            .by_medium = pm_given(form->medium) || pm_given(form->since),
                            .by_since = pm_given(form->since)};
    enum pm_status status = pm_application_list(studio->library, false, search_one, &search, err);
    if (status == PM_OK && search.matches == 1)
        status = use_application(form, noting, search.id, search.applied_at, search.medium,
                                 search.strength, err);
    else if (status == PM_OK && search.matches == 0 && !search.by_since)
        status = pm_fail(err, PM_INVALID,
                         "How long after it was put on? %s is not in the running session, so the "
                         "time must be given.",
                         noting->title);
    else if (status == PM_OK && !search.by_since)
        status = pm_fail(err, PM_REFUSED, "%s is running more than once, say which: %s.",
                         noting->title, pm_text_get(&search.names));
    pm_text_release(&search.names);
    return status;
}

static enum pm_status named_application(struct pm_studio *studio, const struct pm_smell_form *form,
                                        struct noting *noting, struct pm_error *err)
{
    struct pm_application application;
    enum pm_status status =
        pm_application_get(studio->library, form->application, &application, err);
    if (status != PM_OK)
        return status;
    if (noting->smell.trial == 0)
        noting->smell.trial = application.trial;
    if (noting->smell.trial != application.trial)
        status = pm_fail(err, PM_REFUSED, "Number %lld of the session is another trial.",
                         (long long)application.id);
    if (status == PM_OK)
        status = use_application(form, noting, application.id, application.applied_at,
                                 application.medium, application.strength, err);
    pm_application_release(&application);
    return status;
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

static bool see_newer(void *context, const struct pm_smell *smell)
{
    int64_t *newest = context;
    if (smell->at > *newest)
        *newest = smell->at;
    return true;
}

/* The cautions of skin, and a clock that stands before an earlier note of the trial. */
static enum pm_status say_remark(struct pm_studio *studio, const struct noting *noting,
                                 struct pm_text *out, struct pm_error *err)
{
    char clock[PM_TIME_TEXT], later[PM_TIME_TEXT];
    const int64_t now = pm_studio_now(studio);
    struct pm_kept *kept;
    int64_t newest = 0;
    enum pm_status status = pm_studio_kept(studio, noting->smell.trial, false, &kept, err);
    if (status == PM_OK)
        status = pm_smell_list(studio->library, kept->formula, kept->number, false, see_newer,
                               &newest, err);
    if (status != PM_OK)
        return status;
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
        status = pm_smell_title(studio, noting->smell.trial, &noting->title, err);
    if (status == PM_OK && form->application == 0 && form->corrects == 0)
        status = search_running(studio, form, noting, err);
    if (form->withdraw) {
        /* Nothing stands in the old note's place. */
        noting->smell.intensity = noting->smell.liking = -1;
        pm_free(noting->note);
        noting->note = NULL;
    }
    noting->smell.note = noting->note;
    noting->smell.assessor = noting->assessor;
    if (status == PM_OK && noting->smell.intensity < 0 && noting->smell.liking < 0 &&
        !noting->note && !form->withdraw)
        status = pm_fail(err, PM_INVALID,
                         "A smell note says something: an intensity, a liking, or words.");
    return status;
}

enum pm_status pm_smells_log(struct pm_studio *studio, const struct pm_smell_form *form,
                             struct pm_smell_done *out, struct pm_error *err)
{
    pm_studio_refresh(studio);
    struct noting noting = {.title = NULL};
    struct pm_text sentence = PM_TEXT_EMPTY, remark = PM_TEXT_EMPTY;
    int64_t id = 0;
    enum pm_status status = pm_library_begin(studio->library, err);
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
    if (status == PM_OK)
        status = pm_library_commit(studio->library, err);
    else
        pm_library_abort(studio->library);
    pm_text_release(&sentence);
    pm_text_release(&remark);
    noting_release(&noting);
    if (status != PM_OK)
        pm_smell_done_release(&done);
    else
        *out = done;
    return status;
}
