/* SPDX-License-Identifier: MIT */
/*
 * The trial as data: lines in and out, copies, totals, words.
 */
#include "permille/core/trial.h"

#include "permille/base/mem.h"
#include "permille/base/word.h"

#include <string.h>

void pm_trial_init(struct pm_trial *trial, pm_parts base, enum pm_mode mode)
{
    *trial = (struct pm_trial){.base = base, .mode = mode, .next_id = 1, .scale = pm_weight_of(1)};
}

void pm_trial_release(struct pm_trial *trial)
{
    for (size_t i = 0; i < trial->count; i++)
        pm_free(trial->lines[i].comment);
    pm_free(trial->lines);
    pm_trial_init(trial, trial->base, trial->mode);
}

enum pm_status pm_trial_copy(const struct pm_trial *trial, struct pm_trial *copy,
                             struct pm_error *err)
{
    pm_trial_init(copy, trial->base, trial->mode);
    struct pm_trial made = *trial;
    made.count = 0;
    made.capacity = trial->count;
    made.lines = NULL;
    if (trial->count > 0) {
        made.lines = pm_alloc_array(trial->count, sizeof *made.lines);
        if (made.lines == NULL)
            return pm_fail_memory(err);
    }
    for (size_t i = 0; i < trial->count; i++) {
        struct pm_line line = trial->lines[i];
        line.comment = pm_strdup(line.comment);
        if (line.comment == NULL && trial->lines[i].comment != NULL) {
            pm_trial_release(&made);
            return pm_fail_memory(err);
        }
        made.lines[made.count++] = line;
    }
    *copy = made;
    return PM_OK;
}

static bool has_share(const struct pm_line *line)
{
    return line->stance == PM_FREE || line->stance == PM_CARRIER;
}

struct pm_weight pm_trial_worth(const struct pm_trial *trial, pm_parts parts)
{
    return pm_weight_times(pm_weight_of(parts), trial->scale);
}

struct pm_weight pm_line_plain_share(const struct pm_line *line)
{
    return pm_weight_of(has_share(line) ? line->parts : 0);
}

void pm_trial_weigh(struct pm_trial *trial)
{
    pm_int128 total = 0; /* what comes from a damaged file may be any number */
    trial->scale = pm_weight_of(1);
    for (size_t i = 0; i < trial->count; i++) {
        struct pm_line *line = &trial->lines[i];
        line->share = pm_line_plain_share(line);
        total += line->parts;
    }
    trial->settled = total == trial->base;
}

struct pm_weight pm_line_poured(const struct pm_line *line)
{
    if (line->strength == PM_NEAT)
        return pm_weight_of(line->weight);
    return pm_weight_over(pm_weight_make((pm_wide)line->weight * PM_NEAT, 0),
                          pm_weight_of(line->strength));
}

enum pm_status pm_trial_insert(struct pm_trial *trial, size_t place, const struct pm_line *line,
                               struct pm_error *err)
{
    if (line->id < 0 || line->id == INT64_MAX || (line->id == 0 && trial->next_id == INT64_MAX))
        return pm_fail(err, PM_INVALID, "The trial has no number left for another line.");
    void *lines = trial->lines;
    if (!pm_grow(&lines, &trial->capacity, trial->count + 1, sizeof *trial->lines))
        return pm_fail_memory(err);
    trial->lines = lines;
    struct pm_line added = *line;
    added.comment = pm_strdup(line->comment);
    if (added.comment == NULL && line->comment != NULL)
        return pm_fail_memory(err);
    if (added.id == 0)
        added.id = trial->next_id;
    if (pm_weight_none(added.share) && has_share(&added))
        added.share = pm_trial_worth(trial, added.parts);
    if (added.id >= trial->next_id)
        trial->next_id = added.id + 1;
    if (place > trial->count)
        place = trial->count;
    memmove(&trial->lines[place + 1], &trial->lines[place],
            (trial->count - place) * sizeof *trial->lines);
    trial->lines[place] = added;
    trial->count++;
    return PM_OK;
}

void pm_trial_remove(struct pm_trial *trial, size_t place)
{
    if (place >= trial->count)
        return;
    pm_free(trial->lines[place].comment);
    memmove(&trial->lines[place], &trial->lines[place + 1],
            (trial->count - place - 1) * sizeof *trial->lines);
    trial->count--;
}

long pm_trial_find(const struct pm_trial *trial, int64_t id)
{
    for (size_t i = 0; i < trial->count; i++)
        if (trial->lines[i].id == id)
            return (long)i;
    return -1;
}

bool pm_line_same(const struct pm_line *a, const struct pm_line *b)
{
    return a->kind == b->kind && a->ref == b->ref && a->strength == b->strength &&
           a->solvent == b->solvent && a->parts == b->parts && a->stance == b->stance &&
           a->core == b->core && a->weight == b->weight && a->rested == b->rested &&
           a->rested_as == b->rested_as && pm_same_text(a->comment, b->comment);
}

static bool same_line(const struct pm_line *a, const struct pm_line *b)
{
    return a->id == b->id && pm_weight_equal(a->share, b->share) && pm_line_same(a, b);
}

bool pm_trial_equal(const struct pm_trial *a, const struct pm_trial *b)
{
    if (a->base != b->base || a->mode != b->mode || a->settled != b->settled ||
        !pm_weight_equal(a->scale, b->scale) || a->parent != b->parent ||
        a->next_id != b->next_id || a->count != b->count)
        return false;
    for (size_t i = 0; i < a->count; i++)
        if (!same_line(&a->lines[i], &b->lines[i]))
            return false;
    return true;
}

pm_parts pm_trial_total(const struct pm_trial *trial)
{
    pm_parts total = 0;
    for (size_t i = 0; i < trial->count; i++)
        total += trial->lines[i].parts;
    return total;
}

pm_parts pm_trial_held(const struct pm_trial *trial)
{
    pm_parts held = 0;
    for (size_t i = 0; i < trial->count; i++)
        if (trial->lines[i].stance == PM_HELD)
            held += trial->lines[i].parts;
    return held;
}

pm_parts pm_line_neat(const struct pm_line *line)
{
    int64_t neat = 0;
    (void)pm_muldiv(line->parts, line->strength, PM_NEAT, &neat); /* never above the parts */
    return neat;
}

pm_fine pm_line_neat_fine(const struct pm_line *line)
{
    int64_t neat = 0;
    (void)pm_muldiv(line->parts, line->strength, PM_NEAT / PM_FINE_PER_MICRO, &neat);
    return neat; /* at most PM_PARTS_MAX in pico-parts, which fits */
}

char *pm_core_letter(int core, char *buf)
{
    char *end = buf;
    if (core >= 1 && core <= PM_CORE_MAX) {
        int number = core - 1;
        if (number >= 26)
            *end++ = (char)('A' + number / 26 - 1);
        *end++ = (char)('A' + number % 26);
    }
    *end = '\0';
    return buf;
}

static const char *const stance_words[] = {
    [PM_FREE] = "free",
    [PM_HELD] = "held",
    [PM_CARRIER] = "carrier",
    [PM_RESTING] = "resting",
};
static const char *const mode_words[] = {
    [PM_CORE_MODE] = "core",
    [PM_SHARE] = "share",
    [PM_CARRIER_MODE] = "carrier",
    [PM_OPEN] = "open",
};

const char *pm_stance_word(enum pm_stance stance)
{
    return stance_words[stance];
}

const char *pm_mode_word(enum pm_mode mode)
{
    return mode_words[mode];
}

bool pm_stance_from_word(const char *word, enum pm_stance *out)
{
    int at = pm_word_place(stance_words, sizeof stance_words / sizeof *stance_words, word);
    if (at >= 0)
        *out = (enum pm_stance)at;
    return at >= 0;
}

bool pm_mode_from_word(const char *word, enum pm_mode *out)
{
    int at = pm_word_place(mode_words, sizeof mode_words / sizeof *mode_words, word);
    if (at >= 0)
        *out = (enum pm_mode)at;
    return at >= 0;
}
