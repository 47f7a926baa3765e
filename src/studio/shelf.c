/* SPDX-License-Identifier: MIT */
/*
 * The shelf: materials added, edited, found.
 */
#include "inside.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/core/cas.h"
#include "permille/studio/shelf.h"

#include <string.h>

#define NOTE_BYTES 65536

/* ---- from the form to the row ---- */

static void put(char **field, char *value)
{
    pm_free(*field);
    *field = value;
}

static enum pm_status set_name(struct pm_material *row, const char *text, struct pm_error *err)
{
    char *name;
    enum pm_status status = pm_name_clean(text, "The material's name", &name, err);
    if (status != PM_OK)
        return status;
    if (name[0] == '#') {
        pm_free(name);
        return pm_fail(err, PM_INVALID,
                       "A material's name may not begin with \"#\": that is how a line is named by "
                       "its place.");
    }
    put(&row->name, name);
    return PM_OK;
}

static enum pm_status set_cas(struct pm_material *row, const char *text, struct pm_error *err)
{
    char number[PM_CAS_TEXT], *cas = NULL;
    if (text[0] != '\0') {
        enum pm_status status = pm_cas_read(text, number, err);
        if (status != PM_OK)
            return status;
        cas = pm_strdup(number);
        if (cas == NULL)
            return pm_fail_memory(err);
    }
    put(&row->cas, cas);
    return PM_OK;
}

/* Free text of the form; "" takes it away. */
static enum pm_status set_text(char **field, const char *text, const char *what, size_t most,
                               struct pm_error *err)
{
    char *clean = NULL;
    enum pm_status status = PM_OK;
    if (text[0] != '\0')
        status = most == 0 ? pm_name_clean(text, what, &clean, err)
                           : pm_note_clean(text, what, most, &clean, err);
    if (status == PM_OK)
        put(field, clean);
    return status;
}

/* Whether a cleaned name stands among the first `count` synonyms or is the name itself. */
static bool known_already(const struct pm_material *row, char *const *synonyms, size_t count,
                          const char *name)
{
    char *wanted = pm_fold(name);
    char *own = row->name != NULL ? pm_fold(row->name) : NULL;
    bool known = wanted != NULL && own != NULL && strcmp(wanted, own) == 0;
    for (size_t i = 0; i < count && wanted != NULL && !known; i++) {
        char *other = pm_fold(synonyms[i]);
        known = other != NULL && strcmp(wanted, other) == 0;
        pm_free(other);
    }
    pm_free(wanted);
    pm_free(own);
    return known;
}

static void free_strings(char **strings, size_t count)
{
    for (size_t i = 0; i < count; i++)
        pm_free(strings[i]);
    pm_free(strings);
}

static enum pm_status set_synonyms(struct pm_material *row, const char *const *texts, size_t count,
                                   struct pm_error *err)
{
    char **synonyms = pm_alloc_array(count + 1, sizeof *synonyms);
    size_t taken = 0;
    if (synonyms == NULL)
        return pm_fail_memory(err);
    for (size_t i = 0; i < count; i++) {
        char *clean;
        enum pm_status status = pm_name_clean(texts[i], "A synonym", &clean, err);
        if (status != PM_OK) {
            free_strings(synonyms, taken);
            return status;
        }
        if (known_already(row, synonyms, taken, clean))
            pm_free(clean);
        else
            synonyms[taken++] = clean;
    }
    free_strings(row->synonyms, row->synonym_count);
    row->synonyms = synonyms;
    row->synonym_count = taken;
    return PM_OK;
}

static enum pm_status set_kind(struct pm_material *row, const char *word, struct pm_error *err)
{
    if (pm_material_kind_from_word(word, &row->kind))
        return PM_OK;
    return pm_fail(err, PM_INVALID,
                   "\"%s\" is no kind of material: chemical, natural, solvent or blend.", word);
}

enum pm_status pm_synonyms_read(const char *text, struct pm_texts *out, struct pm_error *err)
{
    struct pm_texts list = {0};
    for (const char *at = text; *at; at += *at == ';') {
        const size_t length = strcspn(at, ";");
        const char *piece = pm_arena_text_bytes(&list.arena, at, length);
        const char **item = piece != NULL && !pm_is_blank(piece) ? pm_list_add(&list) : NULL;
        if (item != NULL)
            *item = piece;
        at += length;
    }
    const enum pm_status status = pm_arena_status(&list.arena, err);
    pm_list_give(&list, status, out);
    return status;
}

/* Leaves what the form does not mention. The row may be half changed on failure. */
static enum pm_status fill_row(struct pm_material *row, const struct pm_material_form *form,
                               struct pm_error *err)
{
    enum pm_status status = PM_OK;
    if (form->name != NULL)
        status = set_name(row, form->name, err);
    if (status == PM_OK && form->kind != NULL)
        status = set_kind(row, form->kind, err);
    if (status == PM_OK && form->cas != NULL)
        status = set_cas(row, form->cas, err);
    if (status == PM_OK && form->family != NULL)
        status = set_text(&row->family, form->family, "The odour family", 0, err);
    if (status == PM_OK && form->note != NULL)
        status = set_text(&row->note, form->note, "The note", NOTE_BYTES, err);
    if (status == PM_OK && form->synonyms != NULL)
        status = set_synonyms(row, form->synonyms->items, form->synonyms->count, err);
    return status;
}

/* ---- add, edit, remove ---- */

static enum pm_status make_row(struct pm_material *row, const struct pm_material_form *form,
                               struct pm_error *err)
{
    *row = (struct pm_material){.kind = PM_CHEMICAL};
    return form->name != NULL ? fill_row(row, form, err)
                              : pm_fail(err, PM_INVALID, "A material needs a name.");
}

enum pm_status pm_shelf_check(const struct pm_material_form *form, struct pm_error *err)
{
    struct pm_material row;
    const enum pm_status status = make_row(&row, form, err);
    pm_material_release(&row);
    return status;
}

enum pm_status pm_shelf_add(struct pm_studio *studio, const struct pm_material_form *form,
                            int64_t *id, struct pm_error *err)
{
    struct pm_shelf_step step;
    struct pm_material row;
    enum pm_status status = pm_step_begin(&step, studio, err);
    if (status != PM_OK)
        return status;
    status = make_row(&row, form, err);
    if (status == PM_OK)
        status = pm_material_insert(studio->library, &row, err);
    /* As if touched before it was there. */
    if (status == PM_OK)
        status = pm_shelf_log_born(&step.log, PM_ROWS_MATERIAL, row.id, err);
    if (status == PM_OK)
        status = pm_shelf_log_born(&step.log, PM_ROWS_NAMES, row.id, err);
    pm_step_say(&step, "Added %s", row.name != NULL ? row.name : "");
    status = pm_step_end(&step, status, "material", err);
    if (status == PM_OK && id != NULL)
        *id = row.id;
    pm_material_release(&row);
    return status;
}

/* What changed, for the sentence. */
static void say_edit(struct pm_shelf_step *step, const char *old_name,
                     const struct pm_material *row, const struct pm_material_form *form)
{
    if (form == NULL) {
        pm_step_say(step, row->set_aside ? "Set %s aside" : "Brought %s back", old_name);
        return;
    }
    if (strcmp(old_name, row->name) != 0)
        pm_step_say(step, "Renamed %s to %s", old_name, row->name);
    else
        pm_step_say(step, "Changed %s", row->name);
    pm_step_say(step, "%s%s%s%s%s", form->kind != NULL ? ", kind" : "",
                form->cas != NULL ? ", CAS number" : "", form->family != NULL ? ", family" : "",
                form->note != NULL ? ", note" : "", form->synonyms != NULL ? ", synonyms" : "");
}

/* Reads the row, lets it differ, writes it. */
static enum pm_status change_row(struct pm_shelf_step *step, int64_t id,
                                 const struct pm_material_form *form, bool aside,
                                 struct pm_error *err)
{
    struct pm_library *library = step->studio->library;
    struct pm_material row;
    enum pm_status status = pm_shelf_log_touch(&step->log, PM_ROWS_MATERIAL, id, err);
    if (status == PM_OK)
        status = pm_shelf_log_touch(&step->log, PM_ROWS_NAMES, id, err);
    if (status == PM_OK)
        status = pm_material_get(library, id, &row, err);
    if (status != PM_OK)
        return status;
    char *old_name = pm_strdup(row.name);
    if (old_name == NULL)
        status = pm_fail_memory(err);
    else if (form != NULL)
        status = fill_row(&row, form, err);
    else
        row.set_aside = aside;
    if (status == PM_OK)
        status = pm_material_update(library, &row, err);
    if (status == PM_OK)
        say_edit(step, old_name, &row, form);
    pm_free(old_name);
    pm_material_release(&row);
    return status;
}

static enum pm_status edit(struct pm_studio *studio, int64_t id,
                           const struct pm_material_form *form, bool aside, struct pm_error *err)
{
    struct pm_shelf_step step;
    enum pm_status status = pm_step_begin(&step, studio, err);
    if (status != PM_OK)
        return status;
    status = change_row(&step, id, form, aside, err);
    return pm_step_end(&step, status, "material", err);
}

enum pm_status pm_shelf_edit(struct pm_studio *studio, int64_t id,
                             const struct pm_material_form *form, struct pm_error *err)
{
    return edit(studio, id, form, false, err);
}

enum pm_status pm_shelf_set_aside(struct pm_studio *studio, int64_t id, bool aside,
                                  struct pm_error *err)
{
    return edit(studio, id, NULL, aside, err);
}

static enum pm_status take_away(struct pm_studio *studio, int64_t id, struct pm_error *err)
{
    static const enum pm_shelf_rows rows[] = {PM_ROWS_MATERIAL,
                                              PM_ROWS_NAMES,
                                              PM_ROWS_FACTS,
                                              PM_ROWS_SHIPPED_FACTS,
                                              PM_ROWS_SHIPPED_CONSTITUENTS,
                                              PM_ROWS_CONSTITUENTS,
                                              PM_ROWS_STARTER};
    struct pm_shelf_step step;
    struct pm_card *card;
    enum pm_status status = pm_step_begin(&step, studio, err);
    if (status != PM_OK)
        return status;
    for (size_t i = 0; status == PM_OK && i < sizeof rows / sizeof rows[0]; i++)
        status = pm_shelf_log_touch(&step.log, rows[i], id, err);
    if (status == PM_OK)
        status = pm_studio_material(studio, id, &card, err);
    if (status == PM_OK) {
        pm_step_say(&step, "Removed %s", card->name);
        status = pm_material_delete(studio->library, id, err);
    }
    return pm_step_end(&step, status, "material", err);
}

enum pm_status pm_shelf_remove(struct pm_studio *studio, int64_t id, bool *set_aside,
                               struct pm_error *err)
{
    enum pm_status status = take_away(studio, id, err);
    bool aside = status == PM_REFUSED;
    if (aside) {
        if (err != NULL)
            pm_error_clear(err);
        status = edit(studio, id, NULL, true, err);
    }
    if (status == PM_OK && set_aside != NULL)
        *set_aside = aside;
    return status;
}

/* ---- finding ---- */

enum pm_status pm_shelf_find(struct pm_studio *studio, const char *text, int64_t *id,
                             struct pm_error *err)
{
    pm_studio_refresh(studio);
    struct pm_text hint = PM_TEXT_EMPTY;
    enum pm_status status = pm_material_by_name(studio->library, text, id, err);
    if (status != PM_MISSING)
        return status;
    pm_say_near(studio, text, &hint);
    pm_fail(err, PM_MISSING, "No material is called \"%s\"%s", text, pm_text_get(&hint));
    pm_text_release(&hint);
    return PM_MISSING;
}

/* ---- one material ---- */

enum pm_status pm_shelf_card(struct pm_studio *studio, int64_t id, struct pm_material_card *out,
                             struct pm_error *err)
{
    pm_studio_refresh(studio);
    struct pm_material row;
    enum pm_status status = pm_material_get(studio->library, id, &row, err);
    if (status != PM_OK)
        return status;
    char *kind = pm_strdup(pm_material_kind_word(row.kind));
    if (kind == NULL) {
        pm_material_release(&row);
        return pm_fail_memory(err);
    }
    /* The row's strings change hands. */
    *out = (struct pm_material_card){.id = row.id,
                                     .name = row.name,
                                     .kind = kind,
                                     .cas = row.cas,
                                     .family = row.family,
                                     .note = row.note,
                                     .synonyms = row.synonyms,
                                     .synonym_count = row.synonym_count,
                                     .set_aside = row.set_aside};
    row.name = row.cas = row.family = row.note = NULL;
    row.synonyms = NULL;
    row.synonym_count = 0;
    pm_material_release(&row);
    return PM_OK;
}

void pm_material_card_release(struct pm_material_card *card)
{
    pm_free(card->name);
    pm_free(card->kind);
    pm_free(card->cas);
    pm_free(card->family);
    pm_free(card->note);
    free_strings(card->synonyms, card->synonym_count);
    memset(card, 0, sizeof *card);
}
