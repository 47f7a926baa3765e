/* SPDX-License-Identifier: MIT */
/* The batch record on paper (studio/scale.h says what it holds, and that this makes nobody
 * conform). */
#include "scale_page.h"

#include <string.h>

/* In sentences as in the tables: grams. */
static const char *exact(const struct pm_page *page, const struct pm_batch_record *record,
                         pm_mass mass, char *buf)
{
    return pm_balance_exact(&record->plan.balance, mass, page->sign, buf);
}

/* When something happened first, or 0. */
static int64_t first_of(const struct pm_batch_record *record, enum pm_batch_state kind)
{
    for (size_t i = 0; i < record->events.count; i++)
        if (record->events.items[i].kind == kind)
            return record->events.items[i].at;
    return 0;
}

static void add_when(struct pm_page *page, const char *word, int64_t at)
{
    char text[80], time[PM_TIME_TEXT];
    if (at != 0)
        pm_page_say(page, pm_print(text, sizeof text, "%s %s.", word, pm_time_format(at, time)));
}

/* The product, its batch number, the formula, who, when, how much. */
static void identity(struct pm_page *page, const struct pm_batch_record *record)
{
    char text[600], target[PM_AMOUNT_TEXT], poured[PM_AMOUNT_TEXT];
    pm_page_say(page, pm_print(text, sizeof text, "Batch number %lld of %.300s: %s.",
                               (long long)record->batch.id, record->batch.title,
                               pm_batch_word(record->batch.state)));
    pm_page_say(page,
                pm_print(text, sizeof text, "%s of %s poured; made by %.200s.",
                         exact(page, record, record->poured, poured),
                         exact(page, record, record->target, target),
                         record->batch.made_by != NULL ? record->batch.made_by : "its owner"));
    add_when(page, "Begun", first_of(record, PM_BATCH_STARTED));
    add_when(page, "Finished", first_of(record, PM_BATCH_FINISHED));
    add_when(page, "Given up", first_of(record, PM_BATCH_GIVEN_UP));
    pm_scale_page_balance(page, record->plan.balance_name, &record->plan.balance,
                          record->plan.tolerance);
}

/* ---- what was to be weighed, and was ---- */

static const struct pm_weigh_whence *whence_of(const void *lines, size_t i)
{
    return &((const struct pm_batch_record_line *)lines)[i].whence;
}

static void line_row(struct pm_page *page, const struct pm_batch_record *record, pm_mass most,
                     const struct pm_batch_record_line *line)
{
    char place[24], strength[PM_AMOUNT_TEXT], off[PM_AMOUNT_TEXT], at[PM_TIME_TEXT], text[500];
    char planned[PM_AMOUNT_TEXT], target[PM_AMOUNT_TEXT], poured[PM_AMOUNT_TEXT];
    char bar[PM_AMOUNT_TEXT];
    const bool any = line->pour != 0;
    pm_scale_page_bottle(line->label, line->lot, NULL, text, sizeof text);
    pm_page_row(
        page,
        (const char *const[]){
            pm_print(place, sizeof place, "%lld", (long long)line->place), line->tall,
            pm_strength_about(line->strength, page->sign, strength), text,
            pm_scale_page_exactly(page, line->first, planned),
            pm_scale_page_exactly(page, line->target, target),
            any ? pm_scale_page_poured(page, &record->plan.balance, line->poured, poured) : "",
            pm_page_bar(any ? (double)line->poured : 0, (double)most, bar),
            any ? pm_scale_page_percent(page, line->deviation, off) : "",
            any ? pm_time_format(line->poured_at, at) : ""});
}

static void lines(struct pm_page *page, const struct pm_batch_record *record)
{
    static const struct pm_page_column columns[] = {
        {.title = "#", .number = true, .least = 3},
        {.title = "material"},
        {.title = "strength", .number = true},
        {.title = "bottle"},
        {.title = "planned g", .number = true, .least = 12, .second = true},
        {.title = "target g", .number = true, .least = 12, .second = true},
        {.title = "poured g", .number = true, .least = 12, .second = true},
        {.title = "", .bar = true},
        {.title = "off", .number = true, .least = 8, .second = true},
        {.title = "when", .number = true, .second = true},
    };
    pm_mass most = 0;
    for (size_t i = 0; i < record->count; i++) {
        const pm_mass mass = record->items[i].poured > record->items[i].target
                                 ? record->items[i].poured
                                 : record->items[i].target;
        most = mass > most ? mass : most;
    }
    pm_page_heading(page, 2, "Weighed");
    pm_page_table(page, columns, sizeof columns / sizeof columns[0]);
    for (size_t i = 0; i < record->count; i++)
        line_row(page, record, most, &record->items[i]);
    pm_page_table_end(page);
    pm_scale_page_accords(page, whence_of, record->items, record->count);
}

static const char *name_at(const struct pm_batch_record *record, int64_t place)
{
    return place >= 1 && place <= (int64_t)record->count ? record->items[place - 1].tall : "?";
}

static void pour_row(struct pm_page *page, const struct pm_batch_record *record,
                     const struct pm_batch_pour *pour)
{
    char number[24], place[24], label[PM_BOTTLE_LABEL], mass[PM_AMOUNT_TEXT], at[PM_TIME_TEXT];
    pm_page_row(page, (const char *const[]){
                          pm_print(number, sizeof number, "%lld%s", (long long)pour->id,
                                   pour->in_force ? "" : "*"),
                          pm_print(place, sizeof place, "%lld", (long long)pour->place),
                          name_at(record, pour->place),
                          pour->bottle != 0 ? pm_bottle_label(pour->bottle, label) : "none",
                          pour->lot, pour->supplier,
                          pm_scale_page_poured(page, &record->plan.balance, pour->mass, mass),
                          pm_time_format(pour->at, at)});
}

/* Every entry, also those that were corrected: from which bottle, lot and supplier. */
static void pours(struct pm_page *page, const struct pm_batch_record *record)
{
    static const struct pm_page_column columns[] = {
        {.title = "pour", .number = true},
        {.title = "#", .number = true},
        {.title = "material"},
        {.title = "bottle"},
        {.title = "lot", .least = 5},
        {.title = "supplier"},
        {.title = "mass g", .number = true, .second = true},
        {.title = "when", .number = true, .second = true},
    };
    pm_page_heading(page, 2, "Entries");
    if (record->pours.count == 0) {
        pm_page_say(page, "None.");
        return;
    }
    pm_page_table(page, columns, sizeof columns / sizeof columns[0]);
    for (size_t i = 0; i < record->pours.count; i++)
        pour_row(page, record, &record->pours.items[i]);
    pm_page_table_end(page);
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
static void correction(struct pm_page *page, const struct pm_batch_record *record,
                       const struct pm_batch_pour *pour)
{
    const struct pm_batch_pour *old = pour_of(record, pour->corrects);
    char text[800], mass[PM_AMOUNT_TEXT], was[PM_AMOUNT_TEXT], at[PM_TIME_TEXT];
    pm_page_say(page,
                pm_print(text, sizeof text,
                         "%s  pour %lld corrects pour %lld of %.200s (%s): %s in truth%s%.300s",
                         pm_time_format(pour->at, at), (long long)pour->id,
                         (long long)pour->corrects, name_at(record, pour->place),
                         old != NULL ? exact(page, record, old->mass, was) : "?",
                         exact(page, record, pour->mass, mass), pour->note != NULL ? ": " : "",
                         pour->note != NULL ? pour->note : ""));
}

static void line_deviation(struct pm_page *page, const struct pm_batch_record *record,
                           const struct pm_batch_record_line *line)
{
    const pm_mass off = line->poured - line->target;
    const pm_mass away = off < 0 ? -off : off;
    char text[600], mass[PM_AMOUNT_TEXT], percent[PM_AMOUNT_TEXT];
    const bool within =
        (pm_int128)away * PM_NEAT <= (pm_int128)line->target * record->plan.tolerance;
    if (line->pour == 0 && pm_batch_over(record->batch.state))
        pm_page_say(page, pm_print(text, sizeof text, "Line %lld, %.300s: not poured.",
                                   (long long)line->place, line->tall));
    else if (line->pour != 0 && !within &&
             (line->done || line->over || pm_batch_over(record->batch.state)))
        pm_page_say(page, pm_print(text, sizeof text, "Line %lld, %.300s: %s %s than meant (%s).",
                                   (long long)line->place, line->tall,
                                   exact(page, record, away, mass), off < 0 ? "less" : "more",
                                   pm_scale_page_percent(page, line->deviation, percent)));
    if (line->pour != 0 && !line->weighable)
        pm_page_say(page, pm_print(text, sizeof text,
                                   "Line %lld, %.300s: less than the balance weighs within the "
                                   "tolerance.",
                                   (long long)line->place, line->tall));
}

static void other_bottles(struct pm_page *page, const struct pm_batch_record *record)
{
    for (size_t i = 0; i < record->pours.count; i++) {
        const struct pm_batch_pour *pour = &record->pours.items[i];
        char text[600], label[PM_BOTTLE_LABEL], meant[PM_BOTTLE_LABEL];
        if (!pour->in_force || pour->place < 1 || pour->place > (int64_t)record->count ||
            pour->bottle == record->items[pour->place - 1].planned)
            continue;
        const int64_t planned = record->items[pour->place - 1].planned;
        pm_page_say(
            page,
            pm_print(text, sizeof text, "Line %lld, %.300s: pour %lld from %s, not from %s.",
                     (long long)pour->place, name_at(record, pour->place), (long long)pour->id,
                     pour->bottle != 0 ? pm_bottle_label(pour->bottle, label) : "none",
                     planned != 0 ? pm_bottle_label(planned, meant) : "none"));
    }
}

static void deviations(struct pm_page *page, const struct pm_batch_record *record)
{
    const size_t before = page->out->length;
    pm_page_heading(page, 2, "Deviations and what was done");
    const size_t none = page->out->length;
    for (size_t i = 0; i < record->count; i++)
        line_deviation(page, record, &record->items[i]);
    other_bottles(page, record);
    for (size_t i = 1; i < record->plans.count; i++) {
        const struct pm_batch_plan *plan = &record->plans.items[i];
        char text[200], at[PM_TIME_TEXT], mass[PM_AMOUNT_TEXT];
        pm_page_say(page, pm_print(text, sizeof text, "%s  over-pour: %s; from then on %s in all.",
                                   pm_time_format(plan->at, at), plan->way,
                                   exact(page, record, plan->target, mass)));
    }
    for (size_t i = 0; i < record->pours.count; i++)
        if (record->pours.items[i].corrects != 0)
            correction(page, record, &record->pours.items[i]);
    if (page->out->length == none && none > before)
        pm_page_say(page, "None.");
}

static void events(struct pm_page *page, const struct pm_batch_record *record)
{
    pm_page_heading(page, 2, "What happened");
    for (size_t i = 0; i < record->events.count; i++) {
        const struct pm_batch_event *event = &record->events.items[i];
        char at[PM_TIME_TEXT], text[600];
        pm_page_say(page,
                    pm_print(text, sizeof text, "%s  %s%s%.400s", pm_time_format(event->at, at),
                             pm_batch_word(event->kind), event->text != NULL ? ": " : "",
                             event->text != NULL ? event->text : ""));
    }
}

enum pm_status pm_batch_print(const struct pm_batch_record *record, enum pm_paper paper, char sign,
                              struct pm_text *out, struct pm_error *err)
{
    struct pm_page page;
    char title[300];
    const enum pm_status status = pm_page_can(paper, err);
    if (status != PM_OK)
        return status;
    pm_print(title, sizeof title, "Batch: %lld, %.250s", (long long)record->batch.id,
             record->batch.title);
    pm_page_begin(&page, out, paper, sign, title);
    pm_page_heading(&page, 1, title);
    identity(&page, record);
    lines(&page, record);
    pours(&page, record);
    deviations(&page, record);
    events(&page, record);
    pm_page_heading(&page, 2, "Checked");
    pm_page_say(&page, "by ____________________   on ______________   signed "
                       "____________________");
    pm_page_caution(&page, pm_weigh_caution);
    return pm_page_end(&page, err);
}
