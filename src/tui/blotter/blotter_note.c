/* SPDX-License-Identifier: MIT */
/* The Blotter room: noting, correcting, taking back, putting on, the schedule. */
#include "blotter.h"

#include "kit/files.h"
#include "kit/overlay.h"

#include "permille/base/amount.h"
#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/studio/bench.h"
#include "permille/studio/trials.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>

#define WORDS_LIMIT 4000 /* bytes typed in place; longer ones are for the editor */

void blotter_note_release(struct blotter *blotter)
{
    pm_free(blotter->asked.words);
    blotter->asked.words = NULL;
    pm_word_list_release(&blotter->known);
}

/* ---- completing ---- */

/* Where the last word of a text begins. */
static size_t last_word(const char *text)
{
    size_t at = strlen(text);
    /* Letters beyond ASCII are bytes from 0x80 up. */
    while (at > 0 && (isalpha((unsigned char)text[at - 1]) || (unsigned char)text[at - 1] >= 0x80))
        at--;
    return at;
}

/* Whether a word goes on from `stem`, which is folded: who types "ros" may mean the one with an
 * accent. */
static bool begins_folded(const char *word, const char *stem)
{
    char *folded = pm_fold(word);
    const size_t length = strlen(stem);
    const bool begins =
        folded != NULL && strncmp(folded, stem, length) == 0 && folded[length] != '\0';
    pm_free(folded);
    return begins;
}

/* The word in the place of what was typed of it; that stays as it was, capitals and all, where the
 * word has the same letters. */
static void put_word(const char *before, size_t start, const char *word, struct pm_text *out)
{
    char *small = pm_small(before + start);
    const size_t length = small != NULL ? strlen(small) : 0;
    const bool same = length == strlen(before + start) && strncmp(word, small, length) == 0;
    pm_text_add_bytes(out, before, same ? start + length : start);
    pm_text_add(out, same ? word + length : word);
    pm_free(small);
}

/* The round-th word used before that begins as the last one typed does; behind a blank the sentence
 * about a change that was copied from the trials side by side. */
static bool complete_word(void *context, const char *before, size_t round, struct pm_text *out)
{
    const struct blotter *blotter = context;
    const size_t start = last_word(before);
    const char *copied = blotter->house->copied;
    if (before[start] == '\0' && copied != NULL && round == 0) {
        pm_text_addf(out, "%s%s", before, copied);
        return true;
    }
    char *stem = pm_fold(before + start);
    bool found = false;
    for (size_t i = 0; stem != NULL && *stem != '\0' && !found && i < blotter->known.count; i++)
        if (begins_folded(blotter->known.items[i].text, stem) && round-- == 0) {
            put_word(before, start, blotter->known.items[i].text, out);
            found = true;
        }
    pm_free(stem);
    return found;
}

bool blotter_complete_trial(void *context, const char *before, size_t round, struct pm_text *out)
{
    const struct blotter *blotter = context;
    return pm_complete_trial(blotter->house, before, round, out);
}

/* The newest kept trial; 0 when there is none. */
static int64_t newest_trial(const struct blotter *blotter)
{
    struct pm_sheet *sheet;
    int64_t kept = 0;
    if (blotter->formula != 0 &&
        pm_sheet_open_draft(blotter->house->studio, blotter->formula, &sheet, NULL) == PM_OK) {
        kept = sheet->kept;
        pm_sheet_free(sheet);
    }
    return kept;
}

static enum pm_role judge_medium(const char *medium, struct pm_text *out)
{
    if (strcmp(medium, pm_medium_word(PM_ON_SKIN)) == 0)
        pm_text_add(out, "A patch test proves little; people can become sensitised for life.");
    else
        pm_text_add(out, "Left and Right choose. Air the room.");
    return strcmp(medium, pm_medium_word(PM_ON_SKIN)) == 0 ? PM_ROLE_WARNING : PM_ROLE_FAINT;
}

static enum pm_role judge_note_medium(void *context, const char *const values[],
                                      struct pm_text *out)
{
    (void)context;
    return judge_medium(values[PM_SMELL_MEDIUM], out);
}

/* ---- the form of a note ---- */

static enum pm_status note_accept(void *context, const char *const values[], struct pm_error *err)
{
    struct blotter *blotter = context;
    const struct blotter_asked *asked = &blotter->asked;
    struct pm_smell_done done;
    struct pm_smell_form form = {.application = asked->application, .corrects = asked->corrects};
    for (size_t i = 0; i < PM_SMELL_ATTRIBUTES; i++)
        form.values[i] = values[i];
    if (!asked->with_words)
        form.values[PM_SMELL_NOTE] = asked->words;
    enum pm_status status = pm_smells_log(blotter->house->studio, &form, &done, err);
    if (status == PM_OK)
        blotter_done(blotter, &done);
    return status;
}

static void form_closed(void *context)
{
    struct blotter *blotter = context;
    blotter_note_release(blotter);
}

/* The clock knows how long it has been on: what is far from that is asked about. */
static enum pm_role judge_since(void *context, const char *const values[], struct pm_text *out)
{
    const struct blotter *blotter = context;
    struct pm_error err = {0};
    int64_t said;
    if (pm_is_blank(values[PM_SMELL_SINCE])) {
        pm_text_add(out, "Measured when it stays empty: 15min, 2h, 1d.");
        return PM_ROLE_FAINT;
    }
    if (pm_span_read(values[PM_SMELL_SINCE], &said, &err) != PM_OK) {
        pm_text_add(out, err.text);
        return PM_ROLE_ERROR;
    }
    pm_smell_doubt(pm_app_now(blotter->app) - blotter->asked.applied_at, said, out);
    return PM_ROLE_WARNING;
}

/* The form of a note that begins with what `row` says, of a trial called so; `typed` is its
 * intensity, or NULL. */
static void open_form(struct blotter *blotter, const char *title, const struct pm_smell *row,
                      const char *trial, const char *typed)
{
    const bool with_words = blotter->asked.with_words;
    struct pm_form_spec spec = {.title = title,
                                .accept = note_accept,
                                .writes = true,
                                .closed = form_closed,
                                .context = blotter};
    pm_form_describe(&spec, &pm_smell_entity, row, blotter->house->sign, NULL,
                     with_words ? "when|session|corrects" : "note|when|session|corrects");
    pm_form_field_of(&spec, PM_SMELL_INTENSITY)->text = typed;
    pm_form_field_of(&spec, PM_SMELL_MEDIUM)->check = judge_note_medium;
    struct pm_form_field *of = pm_form_field_of(&spec, PM_SMELL_TRIAL);
    of->text = trial;
    of->replace = true;
    of->complete = blotter_complete_trial;
    if (blotter->asked.application != 0) {
        pm_form_field_of(&spec, PM_SMELL_SINCE)->check = judge_since;
        pm_form_field_of(&spec, PM_SMELL_SINCE)->asks = true;
    }
    if (with_words) {
        struct pm_form_field *words = pm_form_field_of(&spec, PM_SMELL_NOTE);
        words->limit = WORDS_LIMIT;
        words->complete = complete_word;
    }
    /* Without the words used before completion only has nothing to offer. */
    pm_word_list_release(&blotter->known);
    if (with_words && pm_smells_known_words(blotter->house->studio, &blotter->known, NULL) != PM_OK)
        blotter->known = (struct pm_word_list){.items = NULL};
    pm_form_open(blotter->app, &spec);
}

/* A new note of what is selected; words written in the editor stand in asked.words. */
static void begin_note(struct blotter *blotter, const char *typed, bool with_words)
{
    const struct pm_session_entry *running = blotter_running(blotter);
    const struct pm_smell *note = blotter_note(blotter);
    struct pm_smell row = {.id = 0};
    struct pm_text title = PM_TEXT_EMPTY, trial = PM_TEXT_EMPTY;
    pm_entity_clear(&pm_smell_entity, &row);
    blotter->asked.application = running != NULL ? running->row.id : 0;
    blotter->asked.applied_at = running != NULL ? running->row.applied_at : 0;
    blotter->asked.corrects = 0;
    blotter->asked.with_words = with_words;
    const int64_t number = note != NULL ? note->number : newest_trial(blotter);
    if (running == NULL && number == 0) {
        pm_app_say(blotter->app,
                   blotter->name != NULL
                       ? "Only kept trials are smelled, and this formula has none yet."
                       : "No formula is open.");
        return;
    }
    if (running != NULL) {
        row.medium = running->row.medium;
        row.strength = running->row.strength;
        pm_text_add(&trial, running->title);
    } else {
        blotter_title(blotter, number, &trial);
    }
    pm_text_addf(&title, "Smell note: %s", pm_text_get(&trial));
    if (running != NULL)
        pm_text_addf(&title, " on %s", pm_medium_word(running->row.medium));
    if (!with_words)
        pm_text_add(&title, ", its words are written");
    else if (running != NULL)
        pm_text_addf(&title, ", %s", running->state);
    open_form(blotter, pm_text_get(&title), &row, pm_text_get(&trial), typed);
    pm_text_release(&title);
    pm_text_release(&trial);
}

void blotter_smell(struct blotter *blotter, const char *typed)
{
    blotter_note_release(blotter);
    begin_note(blotter, typed, true);
}

void blotter_smell_selected(void *state)
{
    blotter_smell(state, NULL);
}

/* ---- correcting ---- */

static const struct pm_smell *standing_note(struct blotter *blotter)
{
    const struct pm_smell *note = blotter_note(blotter);
    if (note == NULL || blotter->view != VIEW_LOG)
        pm_app_say(blotter->app, "Select a note of the log.");
    else if (note->withdrawn || note->corrected_by != 0)
        pm_app_say(blotter->app, "That note was corrected; select the one that stands.");
    else
        return note;
    return NULL;
}

void blotter_correct(void *state)
{
    struct blotter *blotter = state;
    const struct pm_smell *note = standing_note(blotter);
    struct pm_text trial = PM_TEXT_EMPTY;
    char title[64];
    if (note == NULL)
        return;
    blotter_note_release(blotter);
    blotter->asked.application = 0;
    blotter->asked.corrects = note->id;
    blotter->asked.with_words = note->note == NULL || (strchr(note->note, '\n') == NULL &&
                                                       strlen(note->note) <= WORDS_LIMIT);
    blotter_title(blotter, note->number, &trial);
    snprintf(title, sizeof title, "Correct note %lld; the old one is kept", (long long)note->id);
    open_form(blotter, title, note, pm_text_get(&trial), NULL);
    pm_text_release(&trial);
}

static enum pm_status take_back(void *context, struct pm_error *err)
{
    struct blotter *blotter = context;
    const struct pm_smell_form form = {.corrects = blotter->asked.corrects, .withdraw = true};
    struct pm_smell_done done;
    enum pm_status status = pm_smells_log(blotter->house->studio, &form, &done, err);
    if (status == PM_OK)
        blotter_done(blotter, &done);
    return status;
}

static void ask_take_back(struct blotter *blotter)
{
    const struct pm_smell *note = standing_note(blotter);
    char question[96];
    if (note == NULL)
        return;
    blotter->asked.corrects = note->id;
    snprintf(question, sizeof question,
             "Take note %lld back? It stays in the file, but counts no more.", (long long)note->id);
    const struct pm_choice_spec spec = {.title = "Take back",
                                        .question = question,
                                        .options = {{'n', "no, it stays"}, {'y', "take it back"}},
                                        .option_count = 2,
                                        .agreed = take_back,
                                        .writes = true,
                                        .context = blotter};
    pm_choice_open(blotter->app, &spec);
}

/* ---- longer words, in the person's own editor ---- */

/* Called in a job, so what is due is asked for anyway. */
static enum pm_status correct_words(struct blotter *blotter, const char *words,
                                    struct pm_error *err)
{
    const struct pm_smell_form form = {.corrects = blotter->asked.old,
                                       .values = {[PM_SMELL_NOTE] = words}};
    struct pm_smell_done done;
    enum pm_status status = pm_smells_log(blotter->house->studio, &form, &done, err);
    if (status == PM_OK)
        blotter_done(blotter, &done);
    return status;
}

static enum pm_status write_words(void *context, struct pm_error *err)
{
    struct blotter *blotter = context;
    struct pm_arena arena = {0};
    struct pm_smell old = {.id = 0};
    char *words = NULL;
    enum pm_status status = PM_OK;
    if (blotter->asked.old != 0)
        status = pm_smells_get(blotter->house->studio, blotter->asked.old, &arena, &old, err);
    if (status == PM_OK)
        status = pm_edit_text(old.note != NULL ? old.note : "", PM_SMELL_NOTE_MAX, &words, err);
    if (status == PM_OK && blotter->asked.old != 0) {
        if (strcmp(words, old.note != NULL ? old.note : "") != 0)
            status = correct_words(blotter, words, err);
        else
            pm_app_say(blotter->app, "Nothing was changed.");
    } else if (status == PM_OK) {
        blotter_note_release(blotter);
        blotter->asked.words = words;
        words = NULL;
        begin_note(blotter, NULL, false);
    }
    pm_free(words);
    pm_arena_release(&arena);
    return status;
}

void blotter_write_long(void *state)
{
    struct blotter *blotter = state;
    const struct pm_job job = {.run = write_words, .context = blotter, .away = true};
    const struct pm_smell *note = blotter_running(blotter) != NULL ? NULL : standing_note(blotter);
    if (note == NULL && blotter_running(blotter) == NULL)
        return;
    blotter->asked.old = note != NULL ? note->id : 0;
    pm_app_later(blotter->app, &job);
}

/* ---- reading one note ---- */

void blotter_read_note(void *state)
{
    struct blotter *blotter = state;
    const struct pm_smell *note = blotter_note(blotter);
    char time[PM_TIME_TEXT];
    struct pm_text title = PM_TEXT_EMPTY;
    if (blotter_running(blotter) != NULL) {
        blotter_smell(blotter, NULL);
        return;
    }
    if (note == NULL || blotter->view != VIEW_LOG)
        return;
    blotter_title(blotter, note->number, &title);
    struct pm_page *page = pm_page_new(pm_text_get(&title));
    pm_text_release(&title);
    pm_page_addf(page, PM_ROLE_FAINT, 0, "note %lld, on %s, %s%s", (long long)note->id,
                 pm_medium_word(note->medium), note->since == 0 ? "at once" : "after ",
                 note->since == 0 ? "" : pm_span_format(note->since, time));
    pm_page_addf(page, PM_ROLE_FAINT, 0, "smelled %s", pm_time_format(note->at, time));
    if (note->assessor != NULL)
        pm_page_addf(page, PM_ROLE_FAINT, 0, "by %s", note->assessor);
    if (note->intensity >= 0)
        pm_page_addf(page, PM_ROLE_NORMAL, 0, "intensity %d", note->intensity);
    if (note->liking >= 0)
        pm_page_addf(page, PM_ROLE_NORMAL, 0, "liking %d", note->liking);
    pm_page_add(page, PM_ROLE_NORMAL, 0, "");
    pm_page_add(page, PM_ROLE_NORMAL, 0, note->note != NULL ? note->note : "(no words)");
    if (note->medium == PM_ON_SKIN)
        pm_page_add(page, PM_ROLE_WARNING, 0, pm_medium_caution(PM_ON_SKIN));
    pm_page_open(blotter->app, page, false);
}

/* ---- putting on, taking off ---- */

static enum pm_role judge_put_on(void *context, const char *const values[], struct pm_text *out)
{
    (void)context;
    return judge_medium(values[PM_SESSION_MEDIUM], out);
}

static enum pm_status put_on_accept(void *context, const char *const values[], struct pm_error *err)
{
    struct blotter *blotter = context;
    struct pm_smell_done done;
    enum pm_status status = pm_session_start(blotter->house->studio, values, &done, err);
    if (status == PM_OK) {
        const int64_t id = done.id;
        blotter_done(blotter, &done);
        /* The next digit begins a note on what was just put on. */
        for (size_t i = 0; i < blotter->running.count; i++)
            if (blotter->running.items[i].row.id == id)
                blotter->at = i;
    }
    return status;
}

void blotter_put_on(void *state)
{
    struct blotter *blotter = state;
    const struct pm_smell *note = blotter_note(blotter);
    struct pm_text trial = PM_TEXT_EMPTY;
    struct pm_error err = {0};
    char *schedule = NULL;
    const int64_t number = note != NULL ? note->number : newest_trial(blotter);
    if (number > 0)
        blotter_title(blotter, number, &trial);
    if (pm_session_schedule(blotter->house->studio, &schedule, &err) != PM_OK) {
        pm_text_release(&trial);
        pm_app_error(blotter->app, &err);
        return;
    }
    const struct pm_application likely = {.schedule = schedule, .ago = -1};
    struct pm_form_spec spec = {.title = "Put on, to be smelled over time",
                                .accept = put_on_accept,
                                .writes = true,
                                .context = blotter};
    pm_form_describe(&spec, &pm_session_entity, &likely, blotter->house->sign, NULL, "when");
    struct pm_form_field *of = pm_form_field_of(&spec, PM_SESSION_TRIAL);
    of->text = pm_text_get(&trial);
    of->replace = true;
    of->complete = blotter_complete_trial;
    pm_form_field_of(&spec, PM_SESSION_MEDIUM)->check = judge_put_on;
    pm_form_field_of(&spec, PM_SESSION_SCHEDULE)->replace = true;
    pm_form_open(blotter->app, &spec);
    pm_free(schedule);
    pm_text_release(&trial);
}

static enum pm_status stop(void *context, struct pm_error *err)
{
    struct blotter *blotter = context;
    struct pm_smell_done done;
    const int64_t id = blotter_running(blotter)->row.id;
    enum pm_status status = pm_session_stop(blotter->house->studio, id, &done, err);
    if (status != PM_OK)
        return status;
    blotter->ended = id;
    blotter_done(blotter, &done);
    return PM_OK;
}

void blotter_take_away(void *state)
{
    struct blotter *blotter = state;
    const struct pm_job job = {.run = stop, .context = blotter};
    if (blotter_running(blotter) != NULL)
        pm_app_later(blotter->app, &job);
    else
        ask_take_back(blotter);
}

bool blotter_has_stopped(void *state)
{
    const struct blotter *blotter = state;
    char correct[PM_KEY_TEXT], back[PM_KEY_TEXT];
    if (blotter->ended != 0)
        return true;
    pm_app_say(
        blotter->app,
        "Nothing was stopped here. Notes are never lost: %s corrects one, %s takes one back.",
        pm_app_key(blotter->app, "correct-note", correct),
        pm_app_key(blotter->app, "take-note-back", back));
    return false;
}

enum pm_status blotter_take_up(void *state, struct pm_error *err)
{
    struct blotter *blotter = state;
    struct pm_smell_done done;
    enum pm_status status = pm_session_resume(blotter->house->studio, blotter->ended, &done, err);
    if (status != PM_OK)
        return status;
    blotter->ended = 0;
    blotter_done(blotter, &done);
    return PM_OK;
}

/* ---- the schedule ---- */

static enum pm_status schedule_accept(void *context, const char *text, struct pm_error *err)
{
    struct blotter *blotter = context;
    enum pm_status status = pm_session_set_schedule(blotter->house->studio, text, err);
    if (status == PM_OK)
        pm_app_say(blotter->app, "%s. Saved. What runs keeps the schedule it was started with.",
                   *text ? "This is the schedule now" : "The usual schedule again");
    return status;
}

void blotter_schedule(void *state)
{
    struct blotter *blotter = state;
    struct pm_error err = {0};
    char *schedule;
    if (pm_session_schedule(blotter->house->studio, &schedule, &err) != PM_OK) {
        pm_app_error(blotter->app, &err);
        return;
    }
    const struct pm_prompt_spec spec = {.title = "When to smell what is put on; empty: the usual",
                                        .label = "Schedule",
                                        .text = schedule,
                                        .accept = schedule_accept,
                                        .writes = true,
                                        .context = blotter};
    pm_prompt_open(blotter->app, &spec);
    pm_free(schedule);
}
