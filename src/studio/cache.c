/* SPDX-License-Identifier: MIT */
/*
 * The studio's caches: names and kept trials by row id, filled on demand.
 */
#include "inside.h"

#include "permille/base/mem.h"

#define MERGES_MAX 1000

/* ---- cards ---- */

struct pm_card *pm_card_keep(struct pm_card *card)
{
    card->uses++;
    return card;
}

void pm_card_drop(struct pm_card *card)
{
    if (card == NULL || --card->uses > 0)
        return;
    pm_arena_release(&card->strings);
    pm_free(card);
}

/* Puts a new card, which has one use, into the map; drops it when that fails. */
static enum pm_status file_card(struct pm_map *map, struct pm_card *card, struct pm_card **out,
                                struct pm_error *err)
{
    if (!pm_map_put(map, card->id, card)) {
        pm_card_drop(card);
        return pm_fail_memory(err);
    }
    *out = card;
    return PM_OK;
}

static struct pm_card *card_new(int64_t id)
{
    struct pm_card *card = pm_alloc_array(1, sizeof *card);
    if (card != NULL) {
        card->uses = 1;
        card->id = id;
    }
    return card;
}

static void show_material(struct pm_card *card, const struct pm_material_name *row)
{
    card->name = row->name;
    card->cas = row->cas;
    card->family = row->family;
    card->is_solvent = row->is_solvent;
    card->set_aside = row->set_aside;
}

static enum pm_status fill_material(struct pm_card *card, const struct pm_material_name *row,
                                    struct pm_error *err)
{
    show_material(card, row);
    card->name = pm_arena_text(&card->strings, row->name);
    card->cas = pm_arena_text(&card->strings, row->cas);
    card->family = pm_arena_text(&card->strings, row->family);
    return pm_arena_status(&card->strings, err);
}

/* A material that turned out to be another shows as that one. */
static enum pm_status read_material(struct pm_studio *studio, struct pm_card *card,
                                    struct pm_error *err)
{
    struct pm_material_name row;
    int64_t now = card->id;
    for (int steps = 0; steps < MERGES_MAX; steps++) {
        int64_t next = 0;
        enum pm_status status =
            pm_material_name_get(studio->library, now, &card->strings, &row, &next, err);
        if (status != PM_OK)
            return status;
        card->stands_for = now == card->id ? 0 : now;
        if (next == 0) {
            show_material(card, &row);
            return PM_OK;
        }
        now = next;
    }
    return pm_fail(err, PM_DAMAGED, "Materials are merged into each other in a circle.");
}

enum pm_status pm_studio_follow(struct pm_studio *studio, int64_t *material, struct pm_error *err)
{
    struct pm_card *card;
    if (*material == 0)
        return PM_OK;
    enum pm_status status = pm_studio_material(studio, *material, &card, err);
    if (status == PM_OK && card->stands_for != 0)
        *material = card->stands_for;
    return status;
}

enum pm_status pm_studio_follow_lines(struct pm_studio *studio, struct pm_trial *trial,
                                      struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t i = 0; i < trial->count && status == PM_OK; i++) {
        struct pm_line *line = &trial->lines[i];
        if (line->kind == PM_LINE_MATERIAL)
            status = pm_studio_follow(studio, &line->ref, err);
        if (status == PM_OK)
            status = pm_studio_follow(studio, &line->solvent, err);
    }
    return status;
}

enum pm_status pm_studio_material(struct pm_studio *studio, int64_t id, struct pm_card **out,
                                  struct pm_error *err)
{
    *out = pm_map_get(&studio->materials, id);
    if (*out != NULL)
        return PM_OK;
    struct pm_card *card = card_new(id);
    if (card == NULL)
        return pm_fail_memory(err);
    enum pm_status status = read_material(studio, card, err);
    if (status != PM_OK) {
        pm_card_drop(card);
        return status;
    }
    return file_card(&studio->materials, card, out, err);
}

/* Files the material unless it is there. */
static enum pm_status file_name(struct pm_studio *studio, const struct pm_material_name *row,
                                struct pm_error *err)
{
    if (pm_map_get(&studio->materials, row->id) != NULL)
        return PM_OK;
    struct pm_card *card = card_new(row->id);
    if (card == NULL)
        return pm_fail_memory(err);
    enum pm_status status = fill_material(card, row, err);
    if (status != PM_OK) {
        pm_card_drop(card);
        return status;
    }
    return file_card(&studio->materials, card, &card, err);
}

static bool knows_all(const struct pm_studio *studio, const struct pm_trial *content)
{
    for (size_t i = 0; i < content->count; i++) {
        const struct pm_line *line = &content->lines[i];
        if (line->kind == PM_LINE_MATERIAL && pm_map_get(&studio->materials, line->ref) == NULL)
            return false;
        if (line->solvent != 0 && pm_map_get(&studio->materials, line->solvent) == NULL)
            return false;
    }
    return true;
}

enum pm_status pm_studio_names_of(struct pm_studio *studio, int64_t trial,
                                  const struct pm_trial *content, struct pm_error *err)
{
    struct pm_material_names names;
    if (knows_all(studio, content))
        return PM_OK;
    enum pm_status status = pm_material_names_of_trial(studio->library, trial, &names, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; status == PM_OK && i < names.count; i++)
        status = file_name(studio, &names.items[i], err);
    pm_list_release(&names);
    return status;
}

enum pm_status pm_studio_formula(struct pm_studio *studio, int64_t id, struct pm_card **out,
                                 struct pm_error *err)
{
    *out = pm_map_get(&studio->formulas, id);
    if (*out != NULL)
        return PM_OK;
    struct pm_formula row;
    struct pm_card *card = card_new(id);
    if (card == NULL)
        return pm_fail_memory(err);
    enum pm_status status = pm_formula_get(studio->library, id, &card->strings, &row, err);
    if (status != PM_OK) {
        pm_card_drop(card);
        return status;
    }
    card->name = row.name;
    card->set_aside = row.set_aside;
    card->accord = row.accord;
    card->kept = row.kept;
    return file_card(&studio->formulas, card, out, err);
}

void pm_studio_forget_formula(struct pm_studio *studio, int64_t id)
{
    pm_card_drop(pm_map_take(&studio->formulas, id));
    studio->names++;
}

/* ---- kept trials ---- */

static void kept_free(struct pm_kept *kept)
{
    if (kept->loaded)
        pm_trial_release(&kept->trial);
    pm_free(kept->changed);
    pm_free(kept);
}

static enum pm_status file_kept(struct pm_studio *studio, int64_t trial, struct pm_kept **out,
                                struct pm_error *err)
{
    struct pm_trial_row row;
    enum pm_status status = pm_trial_row_get(studio->library, trial, NULL, &row, err);
    if (status != PM_OK)
        return status;
    struct pm_kept facts = {.id = trial,
                            .formula = row.formula,
                            .number = row.number,
                            .head = row.head,
                            .loaded = false};
    if (facts.number == 0)
        return pm_fail(err, PM_REFUSED, "That is a draft; only kept trials can be used here.");
    struct pm_kept *kept = pm_alloc_array(1, sizeof *kept);
    if (kept == NULL)
        return pm_fail_memory(err);
    *kept = facts;
    if (!pm_map_put(&studio->kept, trial, kept)) {
        pm_free(kept);
        return pm_fail_memory(err);
    }
    *out = kept;
    return PM_OK;
}

enum pm_status pm_studio_kept(struct pm_studio *studio, int64_t trial, bool content,
                              struct pm_kept **out, struct pm_error *err)
{
    struct pm_kept *kept = pm_map_get(&studio->kept, trial);
    enum pm_status status = PM_OK;
    if (kept == NULL)
        status = file_kept(studio, trial, &kept, err);
    if (status == PM_OK && content && !kept->loaded) {
        status = pm_trial_load(studio->library, trial, &kept->trial, err);
        if (status == PM_OK)
            status = pm_studio_names_of(studio, trial, &kept->trial, err);
        if (status == PM_OK)
            status = pm_studio_follow_lines(studio, &kept->trial, err);
        kept->loaded = status == PM_OK;
        if (status != PM_OK)
            pm_trial_release(&kept->trial);
    }
    if (status == PM_OK)
        *out = kept;
    return status;
}

enum pm_status pm_kept_title(struct pm_studio *studio, const struct pm_kept *kept, char **out,
                             struct pm_error *err)
{
    struct pm_card *card;
    enum pm_status status = pm_studio_formula(studio, kept->formula, &card, err);
    if (status != PM_OK)
        return status;
    struct pm_text text = PM_TEXT_EMPTY;
    pm_text_addf(&text, "%s/%lld", card->name, (long long)kept->number);
    *out = pm_text_take(&text);
    return *out != NULL ? PM_OK : pm_fail_memory(err);
}

void pm_cards_forget(struct pm_studio *studio)
{
    for (size_t i = 0; i < studio->materials.capacity; i++)
        pm_card_drop(studio->materials.slots[i].value.pointer);
    for (size_t i = 0; i < studio->formulas.capacity; i++)
        pm_card_drop(studio->formulas.slots[i].value.pointer);
    for (size_t i = 0; i < studio->kept.capacity; i++)
        if (studio->kept.slots[i].value.pointer != NULL)
            kept_free(studio->kept.slots[i].value.pointer);
    pm_map_release(&studio->materials);
    pm_map_release(&studio->formulas);
    pm_map_release(&studio->kept);
}

/* ---- accord contents for the core ---- */

static const struct pm_trial *accord_content(void *context, int64_t trial, struct pm_error *err)
{
    struct pm_accords *accords = context;
    if (trial == PM_PENDING_REF && accords->pending != NULL)
        return &accords->pending->content;
    struct pm_kept *kept;
    return pm_studio_kept(accords->studio, trial, true, &kept, err) == PM_OK ? &kept->trial : NULL;
}

struct pm_trial_source pm_accords_source(struct pm_accords *accords)
{
    return (struct pm_trial_source){accord_content, accords};
}

/* ---- names in sentences ---- */

static enum pm_status write_name(struct pm_sayer *sayer, enum pm_line_kind kind, int64_t ref)
{
    struct pm_card *card;
    struct pm_kept *kept;
    if (kind == PM_LINE_ACCORD && ref == PM_PENDING_REF && sayer->pending != NULL) {
        pm_text_addf(&sayer->text, "%s/1", sayer->pending->name);
        return PM_OK;
    }
    enum pm_status status = PM_OK;
    if (kind == PM_LINE_MATERIAL) {
        status = pm_studio_material(sayer->studio, ref, &card, NULL);
    } else {
        status = pm_studio_kept(sayer->studio, ref, false, &kept, NULL);
        if (status == PM_OK)
            status = pm_studio_formula(sayer->studio, kept->formula, &card, NULL);
    }
    if (status != PM_OK)
        return status;
    pm_text_add(&sayer->text, card->name);
    if (kind == PM_LINE_ACCORD)
        pm_text_addf(&sayer->text, "/%lld", (long long)kept->number);
    return PM_OK;
}

static const char *say_name(void *context, enum pm_line_kind kind, int64_t ref)
{
    struct pm_sayer *sayer = context;
    pm_text_clear(&sayer->text);
    enum pm_status status = write_name(sayer, kind, ref);
    if (status == PM_OK && !pm_text_ok(&sayer->text))
        status = PM_NOMEM;
    if (sayer->status == PM_OK)
        sayer->status = status;
    return status == PM_OK ? pm_text_get(&sayer->text) : "?";
}

void pm_sayer_init(struct pm_sayer *sayer, struct pm_studio *studio,
                   const struct pm_pending *pending)
{
    sayer->studio = studio;
    sayer->pending = pending;
    sayer->status = PM_OK;
    pm_text_init(&sayer->text);
}

void pm_sayer_release(struct pm_sayer *sayer)
{
    pm_text_release(&sayer->text);
}

struct pm_namer pm_sayer_namer(struct pm_sayer *sayer)
{
    return (struct pm_namer){say_name, sayer};
}
