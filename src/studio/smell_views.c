/* SPDX-License-Identifier: MIT */
/*
 * The smell log looked at as a whole: intensity over time, words by stage, words used before.
 */
#include "smelling.h"

#include "permille/base/mem.h"

#include <string.h>

/* ---- intensity over time ---- */

/* One curve: a trial on one medium. */
struct curve {
    char *name;
    struct pm_smell_point *points;
    size_t count, capacity;
};

struct curves {
    struct curve *items;
    size_t count, capacity;
    struct curve of[PM_MEDIA]; /* of the trial being read */
    bool failed;
};

static void curve_release(struct curve *curve)
{
    pm_free(curve->name);
    pm_free(curve->points);
    *curve = (struct curve){.name = NULL};
}

static void curves_release(struct curves *curves)
{
    for (size_t i = 0; i < curves->count; i++)
        curve_release(&curves->items[i]);
    for (size_t i = 0; i < PM_MEDIA; i++)
        curve_release(&curves->of[i]);
    pm_free(curves->items);
}

static bool add_point(void *context, const struct pm_smell *smell)
{
    struct curves *curves = context;
    struct curve *curve = &curves->of[smell->medium];
    void *points = curve->points;
    if (smell->intensity < 0)
        return true;
    curves->failed = !pm_grow(&points, &curve->capacity, curve->count + 1, sizeof *curve->points);
    curve->points = points;
    if (curves->failed)
        return false;
    curve->points[curve->count++] = (struct pm_smell_point){smell->since, smell->intensity};
    return true;
}

/* Takes over the curves of the trial just read. One without points still has its name told. */
static bool take_curves(struct curves *curves, const char *title)
{
    const bool bare = curves->of[PM_ON_SKIN].count == 0 && curves->of[PM_ON_OTHER].count == 0;
    for (size_t m = 0; m < PM_MEDIA; m++) {
        void *items = curves->items;
        struct pm_text name = PM_TEXT_EMPTY;
        if (curves->of[m].count == 0 && !(bare && m == PM_ON_BLOTTER))
            continue;
        pm_text_add(&name, title);
        if (m != PM_ON_BLOTTER)
            pm_text_addf(&name, " on %s", pm_medium_word((enum pm_medium)m));
        curves->of[m].name = pm_text_take(&name);
        const bool room =
            pm_grow(&items, &curves->capacity, curves->count + 1, sizeof *curves->items);
        curves->items = items;
        if (!room || !curves->of[m].name)
            return false;
        curves->items[curves->count++] = curves->of[m];
        curves->of[m] = (struct curve){.name = NULL};
    }
    return true;
}

static enum pm_status read_curves(struct pm_studio *studio, int64_t trial, struct curves *curves,
                                  struct pm_error *err)
{
    struct pm_kept *kept;
    char *title = NULL;
    enum pm_status status = pm_smell_title(studio, trial, &title, err);
    if (status == PM_OK)
        status = pm_studio_kept(studio, trial, false, &kept, err);
    if (status == PM_OK)
        status = pm_smell_list(studio->library, kept->formula, kept->number, false, add_point,
                               curves, err);
    if (status == PM_OK && (curves->failed || !take_curves(curves, title)))
        status = pm_fail_memory(err);
    pm_free(title);
    return status;
}

void pm_smell_picture_release(struct pm_smell_picture *picture)
{
    pm_plot_release(&picture->plot);
    for (size_t i = 0; i < picture->count; i++)
        pm_free(picture->sentences[i]);
    pm_free(picture->sentences);
    *picture = (struct pm_smell_picture){.count = 0};
}

static enum pm_status draw(const struct curves *curves, size_t width, size_t height,
                           struct pm_smell_picture *out, struct pm_error *err)
{
    struct pm_smell_series series[PM_PLOT_SERIES_MAX];
    struct pm_smell_picture picture = {.count = 0};
    if (curves->count > PM_PLOT_SERIES_MAX)
        return pm_fail(err, PM_REFUSED,
                       "That would be %zu curves in one drawing; %d is the most. Choose fewer "
                       "trials.",
                       curves->count, PM_PLOT_SERIES_MAX);
    for (size_t i = 0; i < curves->count; i++)
        series[i] = (struct pm_smell_series){curves->items[i].name, curves->items[i].points,
                                             curves->items[i].count};
    enum pm_status status =
        pm_smell_plot(series, curves->count, width, height, NULL, &picture.plot, err);
    if (status == PM_OK) {
        picture.sentences = pm_alloc_array(curves->count, sizeof *picture.sentences);
        if (!picture.sentences)
            status = pm_fail_memory(err);
    }
    for (size_t i = 0; status == PM_OK && i < curves->count; i++) {
        status = pm_smell_sentence(&series[i], i, NULL, &picture.sentences[i], err);
        picture.count += status == PM_OK;
    }
    if (status == PM_OK)
        *out = picture;
    else
        pm_smell_picture_release(&picture);
    return status;
}

enum pm_status pm_smells_plot(struct pm_studio *studio, const int64_t *trials, size_t count,
                              size_t width, size_t height, struct pm_smell_picture *out,
                              struct pm_error *err)
{
    pm_studio_refresh(studio);
    struct curves curves = {.items = NULL};
    enum pm_status status = pm_library_begin_read(studio->library, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; status == PM_OK && i < count; i++)
        status = read_curves(studio, trials[i], &curves, err);
    pm_library_end_read(studio->library);
    if (status == PM_OK)
        status = draw(&curves, width, height, out, err);
    curves_release(&curves);
    return status;
}

/* ---- words ---- */

enum pm_status pm_smells_words(struct pm_studio *studio, int64_t formula, int64_t number,
                               struct pm_words out[PM_STAGES], struct pm_error *err)
{
    struct pm_smell_entries entries;
    enum pm_status status = pm_smells_list(studio, formula, number, false, &entries, err);
    if (status != PM_OK)
        return status;
    struct pm_smell_note *notes = pm_alloc_array(entries.count, sizeof *notes);
    for (size_t i = 0; notes && i < entries.count; i++)
        notes[i] = (struct pm_smell_note){entries.items[i].since, entries.items[i].note};
    status = notes ? pm_words_tally(notes, entries.count, NULL, out, err) : pm_fail_memory(err);
    pm_free(notes);
    pm_smell_entries_release(&entries);
    return status;
}

struct all_notes {
    struct pm_smell_note *items; /* all at once: the stage does not matter here */
    size_t count, capacity;
    bool failed;
};

static bool keep_note(void *context, const char *note)
{
    struct all_notes *notes = context;
    void *items = notes->items;
    char *copy = pm_strdup(note);
    notes->failed =
        !copy || !pm_grow(&items, &notes->capacity, notes->count + 1, sizeof *notes->items);
    notes->items = items;
    if (notes->failed) {
        pm_free(copy);
        return false;
    }
    notes->items[notes->count++] = (struct pm_smell_note){0, copy};
    return true;
}

enum pm_status pm_smells_known_words(struct pm_studio *studio, struct pm_word_list *out,
                                     struct pm_error *err)
{
    pm_studio_refresh(studio);
    struct all_notes notes = {.items = NULL};
    struct pm_words words[PM_STAGES];
    enum pm_status status = pm_smell_notes(studio->library, keep_note, &notes, err);
    if (status == PM_OK && notes.failed)
        status = pm_fail_memory(err);
    if (status == PM_OK)
        status = pm_words_tally(notes.items, notes.count, NULL, words, err);
    for (size_t i = 0; i < notes.count; i++) {
        char *copy;
        memcpy(&copy, &notes.items[i].text, sizeof copy); /* ours, though the note only borrows */
        pm_free(copy);
    }
    pm_free(notes.items);
    if (status != PM_OK)
        return status;
    *out = (struct pm_word_list){words[PM_STAGE_TOP].items, words[PM_STAGE_TOP].count};
    words[PM_STAGE_TOP] = (struct pm_words){.items = NULL};
    pm_words_release(words);
    return PM_OK;
}

void pm_word_list_release(struct pm_word_list *list)
{
    for (size_t i = 0; i < list->count; i++)
        pm_free(list->items[i].text);
    pm_free(list->items);
    *list = (struct pm_word_list){.items = NULL};
}
