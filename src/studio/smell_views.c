/* SPDX-License-Identifier: MIT */
/*
 * The smell log looked at as a whole: intensity over time, words by stage, words used before.
 */
#include "smelling.h"

#include "permille/base/mem.h"

#include <string.h>

/* ---- intensity over time ---- */

/* Curves of trials, each medium its own; names and points stand in the arena. */
struct curves {
    struct pm_smell_series *items;
    size_t count;
    struct pm_arena arena;
};

/* The curve of one trial on one medium; none is added where nothing was noted. */
static void add_curve(struct curves *curves, const char *title, const struct pm_smells *smells,
                      enum pm_medium medium, bool bare_too)
{
    struct pm_smell_point *points = pm_arena_array(&curves->arena, smells->count, sizeof *points);
    struct pm_text name = PM_TEXT_EMPTY;
    size_t count = 0;
    for (size_t i = 0; points != NULL && i < smells->count; i++) {
        const struct pm_smell *smell = &smells->items[i];
        if (smell->medium == medium && smell->intensity >= 0)
            points[count++] = (struct pm_smell_point){smell->since, smell->intensity};
    }
    struct pm_smell_series *curve = count > 0 || bare_too ? pm_list_add(curves) : NULL;
    if (curve == NULL)
        return;
    pm_text_add(&name, title);
    if (medium != PM_ON_BLOTTER)
        pm_text_addf(&name, " on %s", pm_medium_word(medium));
    *curve =
        (struct pm_smell_series){pm_arena_text(&curves->arena, pm_text_get(&name)), points, count};
    curves->arena.failed = curves->arena.failed || !pm_text_ok(&name);
    pm_text_release(&name);
}

/* One without points still has its name told. */
static bool is_bare(const struct pm_smells *smells)
{
    for (size_t i = 0; i < smells->count; i++)
        if (smells->items[i].intensity >= 0 && smells->items[i].medium != PM_ON_BLOTTER)
            return false;
    return true;
}

static enum pm_status read_curves(struct pm_studio *studio, int64_t trial, struct curves *curves,
                                  struct pm_error *err)
{
    struct pm_kept *kept;
    struct pm_smells smells = {0};
    char *title = NULL;
    enum pm_status status = pm_smell_title(studio, trial, &title, err);
    if (status == PM_OK)
        status = pm_studio_kept(studio, trial, false, &kept, err);
    if (status == PM_OK)
        status = pm_smell_list(studio->library, kept->formula, kept->number, false, &smells, err);
    for (size_t m = 0; status == PM_OK && m < PM_MEDIA; m++)
        add_curve(curves, title, &smells, (enum pm_medium)m,
                  m == PM_ON_BLOTTER && is_bare(&smells));
    pm_free(title);
    pm_list_release(&smells);
    return status == PM_OK ? pm_arena_status(&curves->arena, err) : status;
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
    struct pm_smell_picture picture = {.count = 0};
    if (curves->count > PM_PLOT_SERIES_MAX)
        return pm_fail(err, PM_REFUSED,
                       "That would be %zu curves in one drawing; %d is the most. Choose fewer "
                       "trials.",
                       curves->count, PM_PLOT_SERIES_MAX);
    enum pm_status status =
        pm_smell_plot(curves->items, curves->count, width, height, NULL, &picture.plot, err);
    if (status == PM_OK) {
        picture.sentences = pm_alloc_array(curves->count, sizeof *picture.sentences);
        if (picture.sentences == NULL)
            status = pm_fail_memory(err);
    }
    for (size_t i = 0; status == PM_OK && i < curves->count; i++) {
        status = pm_smell_sentence(&curves->items[i], i, NULL, &picture.sentences[i], err);
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
    struct curves curves = {0};
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; status == PM_OK && i < count; i++)
        status = read_curves(studio, trials[i], &curves, err);
    pm_studio_look_end(studio);
    if (status == PM_OK)
        status = draw(&curves, width, height, out, err);
    pm_list_release(&curves);
    return status;
}

/* ---- words ---- */

enum pm_status pm_smells_words(struct pm_studio *studio, int64_t formula, int64_t number,
                               struct pm_words out[PM_STAGES], struct pm_error *err)
{
    struct pm_smells smells;
    enum pm_status status = pm_smell_list(studio->library, formula, number, false, &smells, err);
    if (status != PM_OK)
        return status;
    struct pm_smell_note *notes = pm_arena_array(&smells.arena, smells.count, sizeof *notes);
    for (size_t i = 0; notes != NULL && i < smells.count; i++)
        notes[i] = (struct pm_smell_note){smells.items[i].since, smells.items[i].note};
    status =
        notes != NULL ? pm_words_tally(notes, smells.count, NULL, out, err) : pm_fail_memory(err);
    pm_list_release(&smells);
    return status;
}

enum pm_status pm_smells_known_words(struct pm_studio *studio, struct pm_word_list *out,
                                     struct pm_error *err)
{
    struct pm_texts texts;
    struct pm_words words[PM_STAGES];
    enum pm_status status = pm_smell_notes(studio->library, &texts, err);
    if (status != PM_OK)
        return status;
    /* All at once: the stage does not matter here. */
    struct pm_smell_note *notes = pm_arena_array(&texts.arena, texts.count, sizeof *notes);
    for (size_t i = 0; notes != NULL && i < texts.count; i++)
        notes[i] = (struct pm_smell_note){0, texts.items[i]};
    status =
        notes != NULL ? pm_words_tally(notes, texts.count, NULL, words, err) : pm_fail_memory(err);
    pm_list_release(&texts);
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
