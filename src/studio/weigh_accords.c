/* SPDX-License-Identifier: MIT */
/*
 * The accords that what is weighed comes from (scale.h): those that a trial holds, at any depth,
 * and which of them ask for a material.
 */
#include "scale.h"

#include "permille/base/mem.h"

static bool is_poured(const int64_t *poured, size_t count, int64_t material)
{
    for (size_t i = 0; i < count; i++)
        if (material != 0 && poured[i] == material)
            return true;
    return false;
}

static enum pm_status hold(struct pm_studio *studio, const int64_t *poured, size_t count,
                           int64_t trial, struct pm_held_accords *out, struct pm_error *err)
{
    struct pm_held_accord one = {.trial = trial};
    enum pm_status status = pm_made_up_get(studio->library, trial, &one.material, err);
    if (status == PM_OK && one.material != 0)
        status = pm_studio_follow(studio, &one.material, err);
    if (status != PM_OK)
        return status;
    one.poured = is_poured(poured, count, one.material);
    if (!pm_grow(&out->items, &out->capacity, out->count + 1, sizeof one) ||
        !pm_map_put_place(&out->known, trial, out->count))
        return pm_fail_memory(err);
    out->items[out->count++] = one;
    return PM_OK;
}

static enum pm_status hold_lines(struct pm_studio *studio, const int64_t *poured, size_t count,
                                 const struct pm_trial *trial, struct pm_held_accords *out,
                                 struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t i = 0; i < trial->count && status == PM_OK; i++) {
        const struct pm_line *line = &trial->lines[i];
        if (line->kind == PM_LINE_ACCORD && pm_map_find(&out->known, line->ref) == NULL)
            status = hold(studio, poured, count, line->ref, out, err);
    }
    return status;
}

enum pm_status pm_held_read(struct pm_studio *studio, const struct pm_trial *trial,
                            const int64_t *poured, size_t count, struct pm_held_accords *out,
                            struct pm_error *err)
{
    *out = (struct pm_held_accords){.count = 0};
    enum pm_status status = hold_lines(studio, poured, count, trial, out, err);
    for (size_t i = 0; i < out->count && status == PM_OK; i++) {
        struct pm_kept *kept;
        if (out->items[i].poured)
            continue;
        status = pm_studio_kept(studio, out->items[i].trial, true, &kept, err);
        if (status == PM_OK)
            status = hold_lines(studio, poured, count, &kept->trial, out, err);
    }
    if (status != PM_OK)
        pm_held_release(out);
    return status;
}

void pm_held_release(struct pm_held_accords *held)
{
    pm_free(held->items);
    pm_map_release(&held->known);
    *held = (struct pm_held_accords){.count = 0};
}

int64_t pm_held_made_up(const struct pm_held_accords *held, int64_t material, pm_strength strength)
{
    for (size_t i = 0; i < held->count && strength == PM_NEAT; i++)
        if (held->items[i].poured && held->items[i].material == material)
            return held->items[i].trial;
    return 0;
}

static bool asks_for(const struct pm_held_accords *held, const struct pm_trial *accord,
                     int64_t material)
{
    for (size_t i = 0; i < accord->count; i++) {
        const struct pm_line *line = &accord->lines[i];
        if (line->parts == 0)
            continue;
        if (line->kind == PM_LINE_MATERIAL) {
            if (line->ref == material || line->solvent == material)
                return true;
            continue;
        }
        const struct pm_held_accord *inner = &held->items[pm_map_place(&held->known, line->ref)];
        if (inner->poured && inner->material == material)
            return true;
    }
    return false;
}

static enum pm_status title_of(struct pm_studio *studio, int64_t trial, struct pm_arena *arena,
                               const char **out, struct pm_error *err)
{
    struct pm_kept *kept;
    char *title = NULL;
    enum pm_status status = pm_studio_kept(studio, trial, false, &kept, err);
    if (status == PM_OK)
        status = pm_kept_title(studio, kept, &title, err);
    if (status != PM_OK)
        return status;
    *out = pm_arena_text(arena, title);
    pm_free(title);
    return pm_arena_status(arena, err);
}

enum pm_status pm_held_whence(struct pm_studio *studio, const struct pm_held_accords *held,
                              int64_t material, pm_strength strength, struct pm_arena *arena,
                              struct pm_weigh_whence *out, struct pm_error *err)
{
    const int64_t trial = pm_held_made_up(held, material, strength);
    enum pm_status status = PM_OK;
    *out = (struct pm_weigh_whence){.accord_count = 0};
    if (trial != 0)
        status = title_of(studio, trial, arena, &out->made_up, err);
    out->accords = pm_arena_array(arena, held->count + 1, sizeof *out->accords);
    if (out->accords == NULL)
        return pm_fail_memory(err);
    for (size_t i = 0; i < held->count && status == PM_OK; i++) {
        struct pm_kept *kept;
        if (held->items[i].poured)
            continue;
        status = pm_studio_kept(studio, held->items[i].trial, true, &kept, err);
        if (status == PM_OK && asks_for(held, &kept->trial, material))
            status = title_of(studio, held->items[i].trial, arena,
                              &out->accords[out->accord_count++], err);
    }
    return status;
}

void pm_weigh_whence_say(const struct pm_weigh_whence *whence, struct pm_text *out)
{
    if (whence->made_up != NULL)
        pm_text_addf(out, "%s made up", whence->made_up);
    for (size_t i = 0; i < whence->accord_count; i++)
        pm_text_addf(out, "%s%s",
                     i > 0                     ? ", "
                     : whence->made_up != NULL ? ", for "
                                               : "for ",
                     whence->accords[i]);
}
