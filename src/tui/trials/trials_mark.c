/* SPDX-License-Identifier: MIT */
/* The Trials room: labels, setting aside, trials of other formulas, the page about a trial. */
#include "trials.h"

#include "kit/overlay.h"

#include <stdio.h>

/* ---- labels and setting aside ---- */

/* Other rooms show labels too. */
static void changed(struct trials *trials)
{
    pm_app_changed(trials->app, PM_ROOM_TRIALS);
    trials_read(trials);
}

bool trials_on_kept(void *state)
{
    struct trials *trials = state;
    const struct pm_trial_entry *entry = trials_selected(trials);
    if (entry != NULL && entry->row.number > 0)
        return true;
    pm_app_say(trials->app, entry != NULL
                                ? "That is the draft; only kept trials are labelled or set aside."
                                : "No trial is kept yet.");
    return false;
}

static enum pm_status label_accept(void *context, const char *text, struct pm_error *err)
{
    struct trials *trials = context;
    enum pm_status status = pm_trial_set_label(trials->house->studio, trials->asked, text, err);
    if (status != PM_OK)
        return status;
    changed(trials);
    pm_app_say(trials->app, *text ? "Labelled. Saved." : "The label is taken away. Saved.");
    return PM_OK;
}

void trials_label(void *state)
{
    struct trials *trials = state;
    const struct pm_trial_entry *entry = trials_selected(trials);
    char title[64];
    trials->asked = entry->row.id;
    snprintf(title, sizeof title, "Label of trial %lld", (long long)entry->row.number);
    const struct pm_prompt_spec spec = {.title = title,
                                        .label = "Label",
                                        .text = entry->row.label,
                                        .limit = 200,
                                        .accept = label_accept,
                                        .writes = true,
                                        .context = trials};
    pm_prompt_open(trials->app, &spec);
}

enum pm_status trials_set_aside(void *state, struct pm_error *err)
{
    struct trials *trials = state;
    const struct pm_trial_entry *entry = trials_selected(trials);
    bool aside = !entry->row.set_aside;
    int64_t number = entry->row.number;
    enum pm_status status = pm_trial_set_aside(trials->house->studio, entry->row.id, aside, err);
    if (status != PM_OK)
        return status;
    changed(trials);
    if (aside)
        pm_app_say(trials->app, "Trial %lld is set aside, never deleted; %s. Saved.",
                   (long long)number,
                   trials->aside_too ? "the same key brings it back"
                                     : "it stays in sight while others go on from it");
    else
        pm_app_say(trials->app, "Trial %lld is brought back. Saved.", (long long)number);
    return PM_OK;
}

void trials_show_aside(void *state)
{
    struct trials *trials = state;
    trials->aside_too = !trials->aside_too;
    trials_read(trials);
}

/* ---- trials of any formula ---- */

struct every {
    struct trials *trials;
    struct pm_any_trials all;
};

static void every_closed(void *context)
{
    struct every *every = context;
    pm_list_release(&every->all);
}

static void every_words(void *context, size_t index, struct pm_text *out)
{
    const struct every *every = context;
    pm_text_addf(out, "%s %s", every->all.items[index].title, every->all.items[index].said);
}

static void every_row(void *context, size_t index, struct pm_pick_row *row)
{
    const struct every *every = context;
    const struct pm_any_trial *entry = &every->all.items[index];
    size_t marked = trials_marked(every->trials, entry->id);
    char date[PM_TIME_TEXT];
    if (marked)
        pm_text_addf(&row->cells[0], "%zu", marked);
    pm_text_add(&row->cells[1], entry->title);
    if (entry->kept_at > 0)
        pm_text_add(&row->cells[2], pm_time_date(entry->kept_at, date));
    pm_text_add(&row->cells[3], entry->said);
}

static enum pm_status every_accept(void *context, size_t index, const char *text,
                                   struct pm_error *err)
{
    const struct every *every = context;
    const struct pm_any_trial *entry = &every->all.items[index];
    (void)text;
    (void)err;
    (void)trials_mark(every->trials, entry->id, entry->kept_at > 0, entry->title);
    return PM_OK;
}

void trials_mark_any(void *state)
{
    struct trials *trials = state;
    struct pm_error err = {0};
    struct every every = {.trials = trials};
    if (pm_trials_of_all(trials->house->studio, false, 0, &every.all, &err) != PM_OK) {
        pm_app_error(trials->app, &err);
        return;
    }
    const struct pm_picker_spec spec = {
        .title = "Mark a trial of any formula",
        .label = "Trial",
        .columns = {{.heading = "", .wish = 1},
                    {.heading = "trial", .wish = 26},
                    {.heading = "kept", .wish = 10},
                    {.heading = "label and note", .wish = 4, .grows = true}},
        .column_count = 4,
        .count = every.all.count,
        .words = every_words,
        .row = every_row,
        .accept = every_accept,
        .none_hint = "No trial says so.",
        .none_yet = "No trial is kept yet.",
        .whole = 3,
        .closed = every_closed,
        .context = &every,
        .context_size = sizeof every,
    };
    pm_picker_open(trials->app, &spec);
}

/* ---- all about one trial ---- */

static void add_fact(struct pm_page *page, const char *label, const char *text)
{
    if (text != NULL && *text)
        pm_page_addf(page, PM_ROLE_NORMAL, 10, "%-10s%s", label, text);
}

static void add_facts(struct trials *trials, struct pm_page *page,
                      const struct pm_trial_entry *entry)
{
    char text[PM_AMOUNT_TEXT * 2];
    struct pm_text used = PM_TEXT_EMPTY;
    if (entry->row.number > 0)
        add_fact(page, "kept", pm_time_format(entry->row.kept_at, text));
    if (entry->parent_number > 0) {
        snprintf(text, sizeof text, "trial %lld", (long long)entry->parent_number);
        add_fact(page, "from", text);
    }
    add_fact(page, "label", entry->row.label);
    if (entry->row.set_aside)
        add_fact(page, "aside", "out of sight, never deleted");
    snprintf(text, sizeof text, "%zu", entry->row.lines);
    add_fact(page, "lines", text);
    add_fact(page, "total", pm_decimal_exact(entry->row.total, 6, trials->house->sign, text));
    if (entry->row.number > 0) {
        trials_used(entry, &used);
        add_fact(page, "used", pm_text_get(&used));
    }
    pm_text_release(&used);
}

void trials_about(void *state)
{
    struct trials *trials = state;
    const struct pm_trial_entry *entry = trials_selected(trials);
    struct pm_text title = PM_TEXT_EMPTY;
    if (entry == NULL)
        return;
    trials_title(trials, entry, &title);
    if (entry->row.number == 0)
        pm_text_add(&title, ", the draft");
    struct pm_page *page = pm_page_new(pm_text_get(&title));
    pm_text_release(&title);
    add_facts(trials, page, entry);
    add_fact(page, "changed", entry->changed);
    if (entry->row.note != NULL) {
        pm_page_add(page, PM_ROLE_NORMAL, 0, "");
        pm_page_add(page, PM_ROLE_NORMAL, 0, entry->row.note);
    }
    pm_page_open(trials->app, page, false);
}

/* ---- going to one ---- */

static void find_words(void *context, size_t place, struct pm_text *out)
{
    const struct trials *trials = context;
    if (place >= trials->entries.count)
        return;
    const struct pm_trial_entry *entry = &trials->entries.items[place];
    trials_title(trials, entry, out);
    pm_text_addf(out, " %s %s", entry->row.label != NULL ? entry->row.label : "",
                 entry->row.note != NULL ? entry->row.note : "");
}

static void find_row(void *context, size_t place, struct pm_pick_row *row)
{
    const struct trials *trials = context;
    if (place >= trials->entries.count)
        return;
    const struct pm_trial_entry *entry = &trials->entries.items[place];
    trials_title(trials, entry, &row->cells[0]);
    pm_text_add(&row->cells[1], entry->row.label != NULL ? entry->row.label : "");
    pm_text_add(&row->cells[2], entry->row.note != NULL ? entry->row.note : "");
}

static enum pm_status find_accept(void *context, size_t place, const char *text,
                                  struct pm_error *err)
{
    struct trials *trials = context;
    (void)text;
    (void)err;
    if (place < trials->entries.count)
        trials->list.row = place;
    return PM_OK;
}

void trials_find(void *state)
{
    struct trials *trials = state;
    if (trials->entries.count == 0) {
        pm_app_say(trials->app, "No trial is kept yet.");
        return;
    }
    const struct pm_picker_spec spec = {
        .title = "Find a trial",
        .label = "Trial",
        .columns = {{.heading = "trial", .wish = 20},
                    {.heading = "label", .wish = 16},
                    {.heading = "note", .wish = 20, .grows = true}},
        .column_count = 3,
        .count = trials->entries.count,
        .words = find_words,
        .row = find_row,
        .accept = find_accept,
        .context = trials,
    };
    pm_picker_open(trials->app, &spec);
}

void trials_no_undo(void *state)
{
    const struct trials *trials = state;
    char bench[PM_KEY_TEXT], aside[PM_KEY_TEXT];
    pm_app_say(trials->app,
               "Kept trials are sealed. What was set aside comes back with %s; changes of the "
               "draft are taken back in the Bench (%s).",
               pm_app_key(trials->app, "set-trial-aside", aside),
               pm_app_key(trials->app, "room-bench", bench));
}
