/* SPDX-License-Identifier: MIT */
/* Drydown of a trial: flattened materials joined to what is known of their volatility. */
#include "permille/studio/drydown.h"
#include "smelling.h"
#include "volatility.h"

#include "permille/base/mem.h"
#include "permille/base/rounded.h"
#include "permille/base/utf8.h"
#include "permille/core/column.h"
#include "permille/store/series.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define ETHANOL "64-17-5"

/* ---- joining ---- */

struct material_list {
    struct pm_dry_material *items;
    size_t count;
    struct pm_arena arena;
};
struct missing_list {
    struct pm_dry_missing *items;
    size_t count;
    struct pm_arena arena;
};
struct joining {
    struct pm_studio *studio;
    const struct pm_dry_options *options;
    struct pm_arena *strings;
    struct material_list materials;
    struct missing_list missing;
    struct pm_map places; /* of materials in the list */
};

static enum pm_status leave_out(struct joining *joining, const char *name, double grams,
                                const char *why, struct pm_error *err)
{
    struct pm_dry_missing *item = pm_list_add(&joining->missing);
    if (item == NULL)
        return pm_fail_memory(err);
    *item = (struct pm_dry_missing){pm_arena_text(joining->strings, name), 100 * grams, why};
    return pm_arena_status(joining->strings, err);
}

static enum pm_status add_through(struct joining *joining, struct pm_dry_material *item,
                                  const char *through, struct pm_error *err)
{
    struct pm_text text = PM_TEXT_EMPTY;
    if (through == NULL || (item->through != NULL && strstr(item->through, through) != NULL))
        return PM_OK;
    pm_text_addf(&text, "%s%s%s", item->through != NULL ? item->through : "",
                 item->through != NULL ? ", " : "", through);
    if (pm_text_ok(&text))
        item->through = pm_arena_text(joining->strings, pm_text_get(&text));
    const bool ok = pm_text_ok(&text) && item->through != NULL;
    pm_text_release(&text);
    return ok ? PM_OK : pm_fail_memory(err);
}

static enum pm_status new_material(struct joining *joining, int64_t material,
                                   const struct pm_volatility *facts, size_t *place,
                                   struct pm_error *err)
{
    struct pm_card *card;
    enum pm_status status = pm_studio_material(joining->studio, material, &card, err);
    if (status != PM_OK)
        return status;
    struct pm_dry_material *item = pm_list_add(&joining->materials);
    if (item == NULL)
        return pm_fail_memory(err);
    *item = (struct pm_dry_material){
        .material = material,
        .name = pm_arena_text(joining->strings, card->name),
        .molar_mass = facts->molar_mass > 0 ? facts->molar_mass : joining->options->assume,
        .assumed = !(facts->molar_mass > 0),
        .pressure = facts->pressure,
        .low = facts->low,
        .high = facts->high,
        .basis = pm_arena_text(joining->strings, facts->basis),
        .predicted = facts->predicted,
        .activity = facts->activity,
        .transfer = facts->transfer,
        .threshold = facts->threshold,
        .label = facts->label >= 0 ? pm_stage_word((enum pm_stage)facts->label) : NULL,
        .stage = pm_stage_by_pressure(facts->pressure),
        .odd = facts->label >= 0 &&
               pm_stage_is_odd((enum pm_stage)facts->label, facts->low, facts->high)};
    *place = joining->materials.count - 1;
    if (!pm_map_put_place(&joining->places, material, *place))
        return pm_fail_memory(err);
    return pm_arena_status(joining->strings, err);
}

/* What has a vapour pressure goes in; *taken is false where its molar mass is lacking. */
static enum pm_status take_material(struct joining *joining, int64_t material,
                                    const struct pm_volatility *facts, double grams,
                                    const char *through, bool *taken, struct pm_error *err)
{
    size_t place = pm_map_place(&joining->places, material);
    enum pm_status status = PM_OK;
    *taken = facts->molar_mass > 0 || joining->options->assume > 0;
    if (!*taken)
        return PM_OK;
    if (place == PM_MAP_NONE)
        status = new_material(joining, material, facts, &place, err);
    if (status == PM_OK)
        status = add_through(joining, &joining->materials.items[place], through, err);
    if (status == PM_OK)
        joining->materials.items[place].percent += 100 * grams;
    return status;
}

static enum pm_status take_natural(struct joining *joining, const struct pm_flat_line *line,
                                   double grams, struct pm_error *err)
{
    struct pm_volatile_parts parts = {.count = 0};
    double rest = 1;
    enum pm_status status = pm_volatile_parts_of(joining->studio, line->material, &parts, err);
    const bool any = status == PM_OK && parts.count > 0;
    for (size_t i = 0; status == PM_OK && i < parts.count; i++) {
        bool taken;
        status = take_material(joining, parts.items[i].material, &parts.items[i].facts,
                               grams * parts.items[i].fraction, line->name, &taken, err);
        rest -= taken ? parts.items[i].fraction : 0;
    }
    if (status == PM_OK)
        pm_list_release(&parts);
    if (status == PM_OK && rest > 1e-9)
        status = leave_out(
            joining, line->name, grams * rest,
            any ? "the rest: no constituent with a vapour pressure" : "no vapour pressure", err);
    return status;
}

static enum pm_status take_line(struct joining *joining, const struct pm_flat_line *line,
                                double grams, struct pm_error *err)
{
    struct pm_volatility facts;
    bool taken;
    if (joining->options->without_alcohol && line->cas != NULL && strcmp(line->cas, ETHANOL) == 0)
        return leave_out(joining, line->name, grams, "alcohol, left out as asked", err);
    enum pm_status status = pm_volatility_of(joining->studio, line->material, &facts, err);
    if (status != PM_OK)
        return status;
    if (!facts.known)
        return take_natural(joining, line, grams, err);
    status = take_material(joining, line->material, &facts, grams, NULL, &taken, err);
    return status == PM_OK && !taken ? leave_out(joining, line->name, grams, "no molar mass", err)
                                     : status;
}

static double effective(const struct pm_dry_material *item)
{
    return item->pressure * item->activity * item->transfer;
}

static int by_pressure(const void *left, const void *right)
{
    const double a = effective(left), b = effective(right);
    return a < b   ? 1
           : a > b ? -1
                   : strcmp(((const struct pm_dry_material *)left)->name,
                            ((const struct pm_dry_material *)right)->name);
}

static int by_percent(const void *left, const void *right)
{
    const struct pm_dry_missing *a = left, *b = right;
    return a->percent < b->percent ? 1 : a->percent > b->percent ? -1 : strcmp(a->name, b->name);
}

/* The arrays of the arithmetic, in moles per gram. */
static enum pm_status fill_mix(struct pm_drydown *out, struct pm_error *err)
{
    struct pm_arena *arena = &out->arena;
    const size_t count = out->count;
    struct pm_volatile *items = pm_arena_array(arena, count, sizeof *items);
    double *low = pm_arena_array(arena, count, sizeof *low);
    double *high = pm_arena_array(arena, count, sizeof *high);
    double *vapour = pm_arena_array(arena, count, sizeof *vapour);
    double *mass = pm_arena_array(arena, count, sizeof *mass);
    double all = 0, predicted = 0, assumed = 0;
    if (count > 0 &&
        (items == NULL || low == NULL || high == NULL || vapour == NULL || mass == NULL))
        return pm_fail_memory(err);
    out->ideal = true;
    for (size_t i = 0; i < count; i++) {
        const struct pm_dry_material *from = &out->materials[i];
        const double moles = from->percent / 100 / from->molar_mass;
        const double factor = from->activity * from->transfer;
        items[i] = (struct pm_volatile){moles, from->pressure * factor};
        low[i] = from->low * factor;
        high[i] = from->high * factor;
        vapour[i] = from->pressure * from->activity;
        mass[i] = from->molar_mass;
        all += moles;
        predicted += from->predicted ? moles : 0;
        assumed += from->assumed ? moles : 0;
        out->ideal = out->ideal && from->activity == 1 && from->transfer == 1;
    }
    out->predicted_percent = all > 0 ? 100 * predicted / all : 0;
    out->assumed_percent = all > 0 ? 100 * assumed / all : 0;
    out->mix = (struct pm_dry_mix){items, low, high, vapour, mass, count};
    return PM_OK;
}

/* Sorted copies of the two lists in the drydown's own arena. */
static enum pm_status take_lists(struct joining *joining, struct pm_drydown *out,
                                 struct pm_error *err)
{
    const size_t materials = joining->materials.count, missing = joining->missing.count;
    out->materials = pm_arena_array(&out->arena, materials, sizeof *out->materials);
    out->missing = pm_arena_array(&out->arena, missing, sizeof *out->missing);
    if ((materials > 0 && out->materials == NULL) || (missing > 0 && out->missing == NULL))
        return pm_fail_memory(err);
    for (size_t i = 0; i < materials; i++)
        if (joining->materials.items[i].percent > 0)
            out->materials[out->count++] = joining->materials.items[i];
    for (size_t i = 0; i < missing; i++)
        if (joining->missing.items[i].percent > 0) {
            out->missing[out->missing_count++] = joining->missing.items[i];
            out->missing_percent += joining->missing.items[i].percent;
        }
    if (out->count > 1)
        qsort(out->materials, out->count, sizeof *out->materials, by_pressure);
    if (out->missing_count > 1)
        qsort(out->missing, out->missing_count, sizeof *out->missing, by_percent);
    return fill_mix(out, err);
}

static enum pm_status join(struct joining *joining, const struct pm_flat_sheet *flat,
                           struct pm_drydown *out, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t i = 0; status == PM_OK && i < flat->count; i++) {
        const struct pm_flat_line *line = &flat->lines[i];
        const double grams = ((double)line->neat + (double)line->as_solvent) / (double)flat->total;
        if (grams > 0)
            status = take_line(joining, line, grams, err);
    }
    return status == PM_OK ? take_lists(joining, out, err) : status;
}

static enum pm_status join_sheet(struct pm_studio *studio, const struct pm_sheet *sheet,
                                 const struct pm_dry_options *options, struct pm_drydown *out,
                                 struct pm_error *err)
{
    struct joining joining = {.studio = studio, .options = options, .strings = &out->arena};
    struct pm_flat_sheet flat;
    char *title = NULL;
    if (sheet->total == 0)
        return pm_fail(err, PM_REFUSED, "%s is empty: nothing in it evaporates.", sheet->name);
    enum pm_status status = pm_sheet_title(sheet, &title, err);
    if (status != PM_OK)
        return status;
    out->title = pm_arena_text(&out->arena, title);
    pm_free(title);
    out->formula = sheet->formula;
    out->trial = sheet->trial_id;
    out->number = sheet->number;
    status = pm_sheet_flatten(studio, sheet, &flat, err);
    if (status != PM_OK)
        return status;
    status = join(&joining, &flat, out, err);
    pm_flat_sheet_release(&flat);
    pm_list_release(&joining.materials);
    pm_list_release(&joining.missing);
    pm_map_release(&joining.places);
    return status == PM_OK ? pm_arena_status(&out->arena, err) : status;
}

/* ---- the clock ---- */

static size_t place_of(const struct pm_drydown *drydown, int64_t material)
{
    for (size_t i = 0; i < drydown->count; i++)
        if (drydown->materials[i].material == material)
            return i;
    return drydown->count;
}

/* K from the trial of the note, joined by the same options; 0 where its material is not in it. */
static enum pm_status rate_by(struct pm_studio *studio, const struct pm_calibration *set,
                              const struct pm_smell *note, const struct pm_dry_options *options,
                              double *out, struct pm_error *err)
{
    struct pm_drydown smelled = {.formula = 0};
    struct pm_sheet *sheet;
    enum pm_status status = pm_sheet_open(studio, note->trial, &sheet, err);
    *out = 0;
    if (status != PM_OK)
        return status;
    status = join_sheet(studio, sheet, options, &smelled, err);
    pm_sheet_free(sheet);
    const size_t place = status == PM_OK ? place_of(&smelled, set->material) : 0;
    if (status == PM_OK && place < smelled.count)
        *out = pm_drydown_rate(&smelled.mix, place, (double)set->remaining / (double)PM_NEAT,
                               (double)note->since);
    pm_drydown_release(&smelled);
    return status;
}

static enum pm_status name_clock(struct pm_studio *studio, const struct pm_calibration *set,
                                 const struct pm_smell *note, struct pm_drydown *out,
                                 struct pm_error *err)
{
    char left[PM_AMOUNT_TEXT], span[PM_TIME_TEXT];
    struct pm_text words = PM_TEXT_EMPTY;
    struct pm_card *card;
    const enum pm_status status = pm_studio_material(studio, set->material, &card, err);
    if (status != PM_OK)
        return status;
    pm_text_addf(&words, "by note %lld: %s down to %s after %s on %s", (long long)note->id,
                 card->name, pm_strength_format(set->remaining, '.', left),
                 pm_span_format(note->since, span), pm_medium_word(note->medium));
    out->clock.words = pm_text_ok(&words) ? pm_arena_text(&out->arena, pm_text_get(&words)) : NULL;
    pm_text_release(&words);
    return out->clock.words != NULL ? PM_OK : pm_fail_memory(err);
}

static enum pm_status set_clock(struct pm_studio *studio, const struct pm_dry_options *options,
                                struct pm_drydown *out, struct pm_error *err)
{
    struct pm_calibration set;
    struct pm_smell note;
    enum pm_status status = pm_calibration_newest(studio->library, out->formula, &set, err);
    if (status != PM_OK || set.id == 0)
        return status;
    status = pm_smell_get(studio->library, set.smell, NULL, &note, err);
    if (status == PM_OK)
        status = rate_by(studio, &set, &note, options, &out->clock.rate, err);
    return status == PM_OK && out->clock.rate > 0 ? name_clock(studio, &set, &note, out, err)
                                                  : status;
}

static enum pm_status open_sheet(struct pm_studio *studio, const struct pm_sheet *sheet,
                                 const struct pm_dry_options *options, struct pm_drydown *out,
                                 struct pm_error *err)
{
    const enum pm_status status = join_sheet(studio, sheet, options, out, err);
    return status == PM_OK ? set_clock(studio, options, out, err) : status;
}

enum pm_status pm_drydown_of(struct pm_studio *studio, const struct pm_sheet *sheet,
                             const struct pm_dry_options *options, struct pm_drydown *out,
                             struct pm_error *err)
{
    struct pm_drydown made = {.formula = 0};
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_look_over(studio, open_sheet(studio, sheet, options, &made, err));
    if (status != PM_OK)
        pm_drydown_release(&made);
    else
        *out = made;
    return status;
}

enum pm_status pm_drydown_open(struct pm_studio *studio, int64_t trial,
                               const struct pm_dry_options *options, struct pm_drydown *out,
                               struct pm_error *err)
{
    struct pm_sheet *sheet;
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_sheet_open(studio, trial, &sheet, err);
    if (status == PM_OK) {
        status = pm_drydown_of(studio, sheet, options, out, err);
        pm_sheet_free(sheet);
    }
    return pm_look_over(studio, status);
}

void pm_drydown_release(struct pm_drydown *drydown)
{
    pm_arena_release(&drydown->arena);
    *drydown = (struct pm_drydown){.formula = 0};
}

/* ---- naming ---- */

static enum pm_status not_there(const struct pm_drydown *drydown, const char *text,
                                struct pm_error *err)
{
    for (size_t i = 0; i < drydown->missing_count; i++)
        if (pm_fold_equal(drydown->missing[i].name, text))
            return pm_fail(err, PM_MISSING, "%s is not modelled: %s.", drydown->missing[i].name,
                           drydown->missing[i].why);
    return pm_fail(err, PM_MISSING, "Nothing in %s that is modelled is called \"%s\".",
                   drydown->title, text);
}

enum pm_status pm_drydown_find(const struct pm_drydown *drydown, const char *text, size_t *out,
                               struct pm_error *err)
{
    size_t begins = 0, found = 0;
    char *wanted = pm_fold(text);
    enum pm_status status = wanted != NULL ? PM_MISSING : pm_fail_memory(err);
    for (size_t i = 0; status == PM_MISSING && i < drydown->count; i++) {
        char *name = pm_fold(drydown->materials[i].name);
        if (name == NULL) {
            status = pm_fail_memory(err);
        } else if (strcmp(name, wanted) == 0) {
            *out = i;
            status = PM_OK;
        } else if (wanted[0] != '\0' && strncmp(name, wanted, strlen(wanted)) == 0) {
            begins++;
            found = i;
        }
        pm_free(name);
    }
    if (status == PM_MISSING && begins == 1) {
        *out = found;
        status = PM_OK;
    } else if (status == PM_MISSING && begins > 1) {
        status = pm_fail(err, PM_REFUSED, "%zu materials begin with \"%s\": say more of the name.",
                         begins, text);
    } else if (status == PM_MISSING) {
        status = not_there(drydown, text, err);
    }
    pm_free(wanted);
    return status;
}

/* ---- a note that something was gone ---- */

static enum pm_status calibrate(struct pm_studio *studio, int64_t smell, const char *material,
                                const char *left, struct pm_text *sentence, struct pm_error *err)
{
    const struct pm_dry_options plain = {.assume = 0};
    struct pm_calibration set = {
        .smell = smell, .remaining = PM_NEAT / 10, .at = pm_studio_now(studio)};
    struct pm_drydown drydown;
    struct pm_smell note;
    size_t place = 0;
    char text[PM_AMOUNT_TEXT], span[PM_TIME_TEXT];
    int64_t id;
    enum pm_status status = pm_smell_get(studio->library, smell, NULL, &note, err);
    if (status == PM_OK && pm_given(left))
        status = pm_error_at(err, "left", pm_strength_read(left, &set.remaining, err));
    if (status == PM_OK && set.remaining >= PM_NEAT)
        status = pm_fail_at(err, "left", PM_INVALID, "What is gone has less than all left.");
    if (status == PM_OK && note.since < 1)
        status = pm_fail(err, PM_REFUSED, "Nothing is gone at once: this note sets no clock.");
    if (status == PM_OK && (note.corrected_by != 0 || note.withdrawn))
        status = pm_fail(err, PM_REFUSED, "This note was corrected or taken back.");
    if (status == PM_OK)
        status = pm_drydown_open(studio, note.trial, &plain, &drydown, err);
    if (status != PM_OK)
        return status;
    status = pm_error_at(err, "material", pm_drydown_find(&drydown, material, &place, err));
    if (status == PM_OK &&
        !(pm_drydown_rate(&drydown.mix, place, (double)set.remaining / (double)PM_NEAT,
                          (double)note.since) > 0))
        status = pm_fail(err, PM_REFUSED, "%s never leaves by the model: it sets no clock.",
                         drydown.materials[place].name);
    set.material = status == PM_OK ? drydown.materials[place].material : 0;
    if (status == PM_OK)
        status = pm_calibration_insert(studio->library, &set, &id, err);
    if (status == PM_OK) {
        pm_text_addf(sentence, "Clock set: %s down to %s after %s", drydown.materials[place].name,
                     pm_strength_format(set.remaining, '.', text),
                     pm_span_format(note.since, span));
        status = pm_text_ok(sentence) ? PM_OK : pm_fail_memory(err);
    }
    pm_drydown_release(&drydown);
    return status;
}

enum pm_status pm_drydown_calibrate(struct pm_studio *studio, int64_t smell, const char *material,
                                    const char *left, char **sentence, struct pm_error *err)
{
    struct pm_text text = PM_TEXT_EMPTY;
    enum pm_status status = pm_change_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_change_end(studio, calibrate(studio, smell, material, left, &text, err), err);
    if (status == PM_OK && sentence != NULL)
        *sentence = pm_text_take(&text);
    pm_text_release(&text);
    return status;
}

/* ---- what has to be said ---- */

static void add_percent(struct pm_text *out, double percent, char sign)
{
    char text[PM_AMOUNT_TEXT];
    const double share = percent / 100 * 1e12;
    pm_text_add(out,
                pm_share_format(share > 1e12 ? PM_WHOLE : (int64_t)llround(share), sign, text));
}

static void say_missing(const struct pm_drydown *drydown, char sign, struct pm_text *out)
{
    if (drydown->missing_count == 0) {
        pm_text_add(out, "All of it is modelled.\n");
        return;
    }
    pm_text_add(out, "Not modelled: ");
    add_percent(out, drydown->missing_percent, sign);
    pm_text_add(out, " of the formula (");
    for (size_t i = 0; i < drydown->missing_count; i++) {
        if (i > 0)
            pm_text_add(out, "; ");
        pm_text_addf(out, "%s ", drydown->missing[i].name);
        add_percent(out, drydown->missing[i].percent, sign);
        pm_text_addf(out, ", %s", drydown->missing[i].why);
    }
    pm_text_add(out, ").\n");
}

void pm_drydown_say(const struct pm_drydown *drydown, char sign, struct pm_text *out)
{
    say_missing(drydown, sign, out);
    if (drydown->predicted_percent > 0) {
        pm_text_add(out, "Predicted vapour pressures (marked ?) carry ");
        add_percent(out, drydown->predicted_percent, sign);
        pm_text_add(out, " of the modelled amount; theirs are the wide bands.\n");
    }
    if (drydown->assumed_percent > 0) {
        pm_text_add(out, "An assumed molar mass stands behind ");
        add_percent(out, drydown->assumed_percent, sign);
        pm_text_add(out, " of the modelled amount.\n");
    }
    pm_text_add(out,
                drydown->ideal
                    ? "An ideal mixture at 25 °C in moving air; no coefficients are given.\n"
                    : "With your own activity and transfer coefficients, 25 °C, moving air.\n");
    if (drydown->clock.rate > 0)
        pm_text_addf(out,
                     "Times are set %s; they hold for the same amount, surface and air only.\n",
                     drydown->clock.words);
    else
        pm_text_add(out, "No times: how fast depends on film, air and surface. A smell note that "
                         "something was gone sets the clock.\n");
}

void pm_drydown_say_odd(const struct pm_drydown *drydown, char sign, struct pm_text *out)
{
    for (size_t i = 0; i < drydown->count; i++) {
        const struct pm_dry_material *item = &drydown->materials[i];
        if (item->odd)
            pm_text_addf(out,
                         "%s is called %s, but its vapour pressure of %s Pa is a decade or more "
                         "away from that.\n",
                         item->name, item->label, pm_rounded(item->pressure, 3, sign).text);
    }
}

/* ---- choosing ---- */

size_t pm_drydown_choose(const struct pm_drydown *drydown, size_t most, int64_t *ids)
{
    size_t chosen = 0;
    bool more = true;
    size_t taken[PM_STAGES] = {0};
    /* In turn the next largest of each stage, so that all three are in sight. */
    while (chosen < most && more) {
        more = false;
        for (int s = 0; s < PM_STAGES && chosen < most; s++) {
            size_t best = drydown->count, rank = 0;
            for (size_t i = 0; i < drydown->count; i++) {
                if ((int)drydown->materials[i].stage != s)
                    continue;
                rank = 0;
                for (size_t j = 0; j < drydown->count; j++)
                    rank +=
                        (int)drydown->materials[j].stage == s && j != i &&
                        (drydown->materials[j].percent > drydown->materials[i].percent ||
                         (drydown->materials[j].percent == drydown->materials[i].percent && j < i));
                if (rank == taken[s])
                    best = i;
            }
            if (best == drydown->count)
                continue;
            ids[chosen++] = drydown->materials[best].material;
            taken[s]++;
            more = true;
        }
    }
    return chosen;
}
