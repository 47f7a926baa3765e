/* SPDX-License-Identifier: MIT */
/* The batch record on paper (studio/scale.h says what it holds, and that this makes nobody
 * conform). */
#include "scale_page.h"

#include <string.h>

static const char *exact(const struct scale_page *print, pm_mass mass, char *buf)
{
    return pm_mass_exact(mass, print->sign, buf);
}

/* When something happened first, or 0. */
static int64_t first_of(const struct pm_batch_record *record, enum pm_batch_state kind)
{
    for (size_t i = 0; i < record->events.count; i++)
        if (record->events.items[i].kind == kind)
            return record->events.items[i].at;
    return 0;
}

static void add_when(struct scale_page *print, const char *word, int64_t at)
{
    char text[80], time[PM_TIME_TEXT];
    if (at != 0)
        pm_scale_page_say(print,
                          pm_print(text, sizeof text, "%s %s.", word, pm_time_format(at, time)));
}

/* The product, its batch number, the formula, who, when, how much. */
static void identity(struct scale_page *print, const struct pm_batch_record *record)
{
    char text[600], target[PM_AMOUNT_TEXT], poured[PM_AMOUNT_TEXT];
    pm_scale_page_say(print, pm_print(text, sizeof text, "Batch number %lld of %.300s: %s.",
                                      (long long)record->batch.id, record->batch.title,
                                      pm_batch_word(record->batch.state)));
    pm_scale_page_say(
        print, pm_print(text, sizeof text, "%s of %s poured; made by %.200s.",
                        exact(print, record->poured, poured), exact(print, record->target, target),
                        record->batch.made_by != NULL ? record->batch.made_by : "its owner"));
    add_when(print, "Begun", first_of(record, PM_BATCH_STARTED));
    add_when(print, "Finished", first_of(record, PM_BATCH_FINISHED));
    add_when(print, "Given up", first_of(record, PM_BATCH_GIVEN_UP));
    pm_scale_page_balance(print, record->plan.balance_name, &record->plan.balance,
                          record->plan.tolerance);
}

/* ---- what was to be weighed, and was ---- */

enum { LINE_CELLS = 9, POUR_CELLS = 8 };

static void lines(struct scale_page *print, const struct pm_batch_record *record)
{
    static const char *const headings[LINE_CELLS] = {
        " #", "material", " strength", "bottle", " planned", " target", " poured", " off", "when"};
    int widths[LINE_CELLS] = {3, 8, 8, 6, 12, 12, 12, 8, 16};
    char text[500];
    for (size_t i = 0; i < record->count; i++) {
        const struct pm_batch_record_line *line = &record->items[i];
        widths[1] = pm_scale_page_width(line->tall, widths[1]);
        pm_scale_page_bottle(line->label, line->lot, NULL, text, sizeof text);
        widths[3] = pm_scale_page_width(text, widths[3]);
    }
    pm_scale_page_head(print, "Weighed");
    pm_scale_page_table(print, true);
    pm_scale_page_row(print, headings, widths, headings, LINE_CELLS);
    for (size_t i = 0; i < record->count; i++) {
        const struct pm_batch_record_line *line = &record->items[i];
        char place[24], strength[PM_AMOUNT_TEXT], off[PM_AMOUNT_TEXT], at[PM_TIME_TEXT];
        char planned[PM_AMOUNT_TEXT], target[PM_AMOUNT_TEXT], poured[PM_AMOUNT_TEXT];
        const bool any = line->pour != 0;
        pm_scale_page_bottle(line->label, line->lot, NULL, text, sizeof text);
        const char *cells[LINE_CELLS] = {
            pm_print(place, sizeof place, "%lld", (long long)line->place),
            line->tall,
            pm_strength_about(line->strength, print->sign, strength),
            text,
            exact(print, line->first, planned),
            exact(print, line->target, target),
            any ? exact(print, line->poured, poured) : "",
            any ? pm_scale_page_percent(print, line->deviation, off) : "",
            any ? pm_time_format(line->poured_at, at) : ""};
        pm_scale_page_row(print, headings, widths, cells, LINE_CELLS);
    }
    pm_scale_page_table(print, false);
}

static const char *name_at(const struct pm_batch_record *record, int64_t place)
{
    return place >= 1 && place <= (int64_t)record->count ? record->items[place - 1].tall : "?";
}

/* Every entry, also those that were corrected: from which bottle, lot and supplier. */
static void pours(struct scale_page *print, const struct pm_batch_record *record)
{
    static const char *const headings[POUR_CELLS] = {" pour", " #",       "material", "bottle",
                                                     "lot",   "supplier", " mass",    "when"};
    int widths[POUR_CELLS] = {5, 3, 8, 6, 5, 8, 12, 16};
    for (size_t i = 0; i < record->pours.count; i++) {
        const struct pm_batch_pour *pour = &record->pours.items[i];
        widths[2] = pm_scale_page_width(name_at(record, pour->place), widths[2]);
        widths[4] = pm_scale_page_width(pour->lot != NULL ? pour->lot : "", widths[4]);
        widths[5] = pm_scale_page_width(pour->supplier != NULL ? pour->supplier : "", widths[5]);
    }
    pm_scale_page_head(print, "Entries");
    pm_scale_page_table(print, true);
    pm_scale_page_row(print, headings, widths, headings, POUR_CELLS);
    for (size_t i = 0; i < record->pours.count; i++) {
        const struct pm_batch_pour *pour = &record->pours.items[i];
        char number[24], place[24], label[PM_BOTTLE_LABEL], mass[PM_AMOUNT_TEXT], at[PM_TIME_TEXT];
        const char *cells[POUR_CELLS] = {
            pm_print(number, sizeof number, "%lld%s", (long long)pour->id,
                     pour->in_force ? "" : "*"),
            pm_print(place, sizeof place, "%lld", (long long)pour->place),
            name_at(record, pour->place),
            pour->bottle != 0 ? pm_bottle_label(pour->bottle, label) : "none",
            pour->lot != NULL ? pour->lot : "",
            pour->supplier != NULL ? pour->supplier : "",
            exact(print, pour->mass, mass),
            pm_time_format(pour->at, at)};
        pm_scale_page_row(print, headings, widths, cells, POUR_CELLS);
    }
    pm_scale_page_table(print, false);
}

/* ---- what went otherwise ---- */

static const struct pm_batch_pour *pour_of(const struct pm_batch_record *record, int64_t id)
{
    for (size_t i = 0; i < record->pours.count; i++)
        if (record->pours.items[i].id == id)
            return &record->pours.items[i];
    return NULL;
}

/* A correction names the entry it takes the place of and what that said. */
static void correction(struct scale_page *print, const struct pm_batch_record *record,
                       const struct pm_batch_pour *pour)
{
    const struct pm_batch_pour *old = pour_of(record, pour->corrects);
    char text[800], mass[PM_AMOUNT_TEXT], was[PM_AMOUNT_TEXT], at[PM_TIME_TEXT];
    pm_scale_page_say(
        print,
        pm_print(text, sizeof text,
                 "%s  pour %lld corrects pour %lld of %.200s (%s): %s in truth%s%.300s",
                 pm_time_format(pour->at, at), (long long)pour->id, (long long)pour->corrects,
                 name_at(record, pour->place), old != NULL ? exact(print, old->mass, was) : "?",
                 exact(print, pour->mass, mass), pour->note != NULL ? ": " : "",
                 pour->note != NULL ? pour->note : ""));
}

static void line_deviation(struct scale_page *print, const struct pm_batch_record *record,
                           const struct pm_batch_record_line *line)
{
    const pm_mass off = line->poured - line->target;
    const pm_mass away = off < 0 ? -off : off;
    char text[600], mass[PM_AMOUNT_TEXT], percent[PM_AMOUNT_TEXT];
    const bool within =
        (pm_int128)away * PM_NEAT <= (pm_int128)line->target * record->plan.tolerance;
    if (line->pour == 0 && pm_batch_over(record->batch.state))
        pm_scale_page_say(print, pm_print(text, sizeof text, "Line %lld, %.300s: not poured.",
                                          (long long)line->place, line->tall));
    else if (line->pour != 0 && !within && (line->done || line->over))
        pm_scale_page_say(print,
                          pm_print(text, sizeof text, "Line %lld, %.300s: %s %s than meant (%s).",
                                   (long long)line->place, line->tall, exact(print, away, mass),
                                   off < 0 ? "less" : "more",
                                   pm_scale_page_percent(print, line->deviation, percent)));
    if (line->pour != 0 && !line->weighable)
        pm_scale_page_say(print,
                          pm_print(text, sizeof text,
                                   "Line %lld, %.300s: less than the balance weighs within the "
                                   "tolerance.",
                                   (long long)line->place, line->tall));
}

static void other_bottles(struct scale_page *print, const struct pm_batch_record *record)
{
    for (size_t i = 0; i < record->pours.count; i++) {
        const struct pm_batch_pour *pour = &record->pours.items[i];
        char text[600], label[PM_BOTTLE_LABEL], meant[PM_BOTTLE_LABEL];
        if (!pour->in_force || pour->place < 1 || pour->place > (int64_t)record->count ||
            pour->bottle == record->items[pour->place - 1].planned)
            continue;
        const int64_t planned = record->items[pour->place - 1].planned;
        pm_scale_page_say(
            print,
            pm_print(text, sizeof text, "Line %lld, %.300s: pour %lld from %s, not from %s.",
                     (long long)pour->place, name_at(record, pour->place), (long long)pour->id,
                     pour->bottle != 0 ? pm_bottle_label(pour->bottle, label) : "none",
                     planned != 0 ? pm_bottle_label(planned, meant) : "none"));
    }
}

static void deviations(struct scale_page *print, const struct pm_batch_record *record)
{
    const size_t before = print->out->length;
    pm_scale_page_head(print, "Deviations and what was done");
    const size_t none = print->out->length;
    for (size_t i = 0; i < record->count; i++)
        line_deviation(print, record, &record->items[i]);
    other_bottles(print, record);
    for (size_t i = 1; i < record->plans.count; i++) {
        const struct pm_batch_plan *plan = &record->plans.items[i];
        char text[200], at[PM_TIME_TEXT], mass[PM_AMOUNT_TEXT];
        pm_scale_page_say(print,
                          pm_print(text, sizeof text, "%s  over-pour: %s; from then on %s in all.",
                                   pm_time_format(plan->at, at), plan->way,
                                   exact(print, plan->target, mass)));
    }
    for (size_t i = 0; i < record->pours.count; i++)
        if (record->pours.items[i].corrects != 0)
            correction(print, record, &record->pours.items[i]);
    if (print->out->length == none && none > before)
        pm_scale_page_say(print, "None.");
}

static void events(struct scale_page *print, const struct pm_batch_record *record)
{
    pm_scale_page_head(print, "What happened");
    for (size_t i = 0; i < record->events.count; i++) {
        const struct pm_batch_event *event = &record->events.items[i];
        char at[PM_TIME_TEXT], text[600];
        pm_scale_page_say(print, pm_print(text, sizeof text, "%s  %s%s%.400s",
                                          pm_time_format(event->at, at), pm_batch_word(event->kind),
                                          event->text != NULL ? ": " : "",
                                          event->text != NULL ? event->text : ""));
    }
}

enum pm_status pm_batch_print(const struct pm_batch_record *record, bool html, char sign,
                              struct pm_text *out, struct pm_error *err)
{
    struct scale_page print = {out, html, sign};
    char title[300];
    pm_print(title, sizeof title, "%lld, %.250s", (long long)record->batch.id, record->batch.title);
    pm_scale_page_begin(&print, "Batch", title);
    identity(&print, record);
    lines(&print, record);
    pours(&print, record);
    deviations(&print, record);
    events(&print, record);
    pm_scale_page_head(&print, "Checked");
    pm_scale_page_say(&print, "by ____________________   on ______________   signed "
                              "____________________");
    return pm_scale_page_end(&print, pm_weigh_caution, err);
}
