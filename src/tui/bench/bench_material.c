/* SPDX-License-Identifier: MIT */
/* The Bench: tuck in, swap, restrength: everything for which a material or an accord is chosen. */
#include "bench.h"

#include "kit/overlay.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/studio/strengths.h"

#include <string.h>

#define DOT " \xC2\xB7 "

#define FOUND_MOST  200 /* materials shown while searching */
#define OFFERS_MOST 12  /* of the same family on the shelf */
#define NEAR_MOST   8   /* that may be meant by what nothing is called */

static const char *const same_choices[] = {"poured parts", "neat parts", NULL};

enum purpose { TUCK_IN, SWAP, RESTRENGTH };

/* ---- what was used last ---- */

static void remember_use(struct bench *bench, int64_t material, pm_strength strength,
                         int64_t solvent)
{
    size_t place = 0;
    while (place < bench->use_count && bench->used[place].material != material)
        place++;
    if (place == bench->use_count && place < BENCH_USES)
        bench->use_count++;
    if (place == BENCH_USES)
        place--;
    memmove(&bench->used[1], &bench->used[0], place * sizeof *bench->used);
    bench->used[0] =
        (struct bench_use){.material = material, .solvent = solvent, .strength = strength};
}

/* How the material was used last: in this session, or in this formula. The solvent is also told for
 * a material used neat, as the one at hand. */
static struct bench_use last_use(const struct bench *bench, int64_t material, bool *known)
{
    struct bench_use use = {material, 0, PM_NEAT};
    const struct pm_trial *trial = &bench_sheet(bench)->trial;
    *known = false;
    for (size_t i = 0; i < bench->use_count; i++) {
        if (bench->used[i].material == material) {
            *known = true;
            return bench->used[i];
        }
        if (use.solvent == 0)
            use.solvent = bench->used[i].solvent;
    }
    for (size_t i = 0; i < trial->count; i++) {
        const struct pm_line *line = &trial->lines[i];
        const bool same = line->kind == PM_LINE_MATERIAL && line->ref == material;
        *known = *known || same;
        if (same && line->solvent != 0)
            return (struct bench_use){material, line->solvent, line->strength};
        if (use.solvent == 0)
            use.solvent = line->solvent;
    }
    return use;
}

/* The line that is to be swapped or restrengthed; NULL when it is gone. */
static const struct pm_line *asked_line(const struct bench *bench)
{
    const struct pm_sheet *sheet = bench_sheet(bench);
    const long place = sheet != NULL ? pm_trial_find(&sheet->trial, bench->asked) : -1;
    return place >= 0 ? &sheet->trial.lines[place] : NULL;
}

/* ---- the form: parts, strength, solvent ---- */

struct filling {
    struct bench *bench;
    enum purpose purpose;
    int64_t line; /* swap, restrength */
    enum pm_line_kind kind;
    int64_t ref;
};

/* What the fields say, in the order in which the form shows them. */
struct filled {
    const char *parts, *strength, *solvent, *keep; /* NULL: the form has no such field */
};

static struct filled filled_in(const struct filling *filling, const char *const values[])
{
    struct filled filled = {0};
    if (filling->purpose == TUCK_IN)
        filled.parts = *values++;
    if (filling->kind == PM_LINE_MATERIAL) {
        filled.strength = *values++;
        filled.solvent = *values++;
    }
    if (filling->purpose == SWAP)
        filled.keep = *values;
    return filled;
}

static void filling_closed(void *context)
{
    const struct filling *filling = context;
    bench_preview(filling->bench, NULL, NULL);
}

/* "10 %", or with its solvent as the shelf offers it: "10 % in Ethanol". Without one *solvent stays
 * as it is. */
static enum pm_status read_strength(const struct filling *filling, const char *text,
                                    pm_strength *strength, int64_t *solvent, struct pm_error *err)
{
    const char *in = strstr(text, " in ");
    if (in == NULL)
        return pm_strength_read(text, strength, err);
    char *number = pm_strndup(text, (size_t)(in - text));
    if (number == NULL)
        return pm_fail_memory(err);
    enum pm_status status = pm_strength_read(number, strength, err);
    pm_free(number);
    return status == PM_OK
               ? pm_shelf_find(filling->bench->house->studio, in + strlen(" in "), solvent, err)
               : status;
}

/* Without a solvent the studio takes the one used so far, or says that it needs one. */
static enum pm_status read_dilution(const struct filling *filling, const struct filled *filled,
                                    struct pm_gesture *gesture, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    gesture->strength = PM_NEAT;
    if (filled->strength != NULL && !pm_is_blank(filled->strength))
        status = pm_error_at(
            err, "strength",
            read_strength(filling, filled->strength, &gesture->strength, &gesture->solvent, err));
    if (gesture->strength == PM_NEAT)
        gesture->solvent = 0;
    else if (status == PM_OK && gesture->solvent == 0 && !pm_is_blank(filled->solvent))
        status = pm_error_at(
            err, "solvent",
            pm_shelf_find(filling->bench->house->studio, filled->solvent, &gesture->solvent, err));
    return status;
}

static enum pm_status read_filled(const struct filling *filling, const char *const values[],
                                  struct pm_gesture *out, struct pm_error *err)
{
    const struct filled filled = filled_in(filling, values);
    const struct bench *bench = filling->bench;
    enum pm_status status = PM_OK;
    *out = (struct pm_gesture){
        .kind = filling->purpose == TUCK_IN ? PM_ADD
                : filling->purpose == SWAP  ? PM_SWAP
                                            : PM_RESTRENGTH,
        .line = filling->line,
        .same_neat = filled.keep != NULL && strcmp(filled.keep, same_choices[1]) == 0,
        .place = bench->line ? bench->at + 1 : 0,
    };
    if (filled.parts != NULL)
        status = pm_error_at(
            err, "parts",
            pm_parts_read(filled.parts, 0, bench_sheet(bench)->trial.base, &out->parts, err));
    if (status == PM_OK)
        status = read_dilution(filling, &filled, out, err);
    out->fresh.kind = filling->kind;
    out->fresh.ref = filling->ref;
    out->fresh.strength = out->strength;
    out->fresh.solvent = out->solvent;
    return status;
}

/* Of a diluted line that comes in: how much of it is neat. Of one too little to weigh: which bottle
 * would do, and how much of it is the same. */
static void say_dose(const struct bench *bench, const struct pm_gesture *gesture,
                     struct pm_text *out)
{
    char number[PM_AMOUNT_TEXT];
    struct pm_text helps = PM_TEXT_EMPTY;
    const struct pm_budget_line *line = bench_weigh_line(bench, bench_place(bench, BENCH_FRESH));
    int64_t neat = 0;
    if (!bench->has_fresh ||
        !pm_muldiv(bench->fresh.line.parts, gesture->strength, PM_NEAT, &neat) || neat == 0)
        return;
    if (gesture->strength < PM_NEAT)
        pm_text_addf(out, DOT "neat %s",
                     pm_decimal_format(neat, 6,
                                       pm_decimal_places(neat, 6, bench->house->settings.decimals),
                                       bench->house->sign, number));
    pm_mass mass = 0;
    if (line == NULL || !line->small || !pm_muldiv(line->mass, gesture->strength, PM_NEAT, &mass) ||
        !bench_stock_helps(bench, gesture->fresh.ref, mass, gesture->strength, &helps)) {
        pm_text_release(&helps);
        return;
    }
    pm_text_addf(out, DOT "weighable at %s", pm_text_get(&helps));
    pm_text_release(&helps);
}

/* What becomes of the neat amount: a swap that changes it must not pass unseen. */
static void say_neat(const struct bench *bench, const struct pm_gesture *gesture,
                     struct pm_text *out)
{
    const struct pm_sheet *sheet = bench_sheet(bench);
    const long place = pm_trial_find(&sheet->trial, gesture->line);
    char was[PM_AMOUNT_TEXT], now[PM_AMOUNT_TEXT], times[PM_AMOUNT_TEXT];
    int64_t neat = 0, factor = 0;
    if (place < 0 || !bench->previewing ||
        !pm_muldiv(bench->preview[place], gesture->strength, PM_NEAT, &neat))
        return;
    const pm_parts before = sheet->lines[place].neat;
    const char sign = bench->house->sign;
    pm_decimal_format(before, 6, pm_decimal_places(before, 6, bench->house->settings.decimals),
                      sign, was);
    pm_decimal_format(neat, 6, pm_decimal_places(neat, 6, bench->house->settings.decimals), sign,
                      now);
    if (strcmp(was, now) == 0)
        pm_text_addf(out, " \xC2\xB7 neat stays %s", now);
    else if (before > 0 && pm_muldiv(neat, 1000000, before, &factor))
        pm_text_addf(out, " \xC2\xB7 neat %s \xE2\x86\x92 %s, x%s", was, now,
                     pm_factor_format(factor, sign, times));
}

static void name_of(struct bench *bench, int64_t material, struct pm_text *out)
{
    struct pm_material card;
    if (material && pm_shelf_card(bench->house->studio, material, &card, NULL) == PM_OK) {
        pm_text_add(out, card.name);
        pm_material_release(&card);
    }
}

/* For the row of a line that comes in. */
static void name_solvent(struct bench *bench, int64_t solvent)
{
    struct bench_fresh *fresh = &bench->fresh;
    if (fresh->solvent_of == solvent)
        return;
    pm_text_clear(&fresh->solvent);
    name_of(bench, solvent, &fresh->solvent);
    fresh->solvent_of = solvent;
}

static enum pm_role filling_check(void *context, const char *const values[], struct pm_text *out)
{
    const struct filling *filling = context;
    const struct filled filled = filled_in(filling, values);
    struct pm_error err = {0};
    struct pm_gesture gesture;
    bench_preview(filling->bench, NULL, out);
    if (filled.parts != NULL && pm_is_blank(filled.parts)) {
        pm_text_add(out, "A number, 5%, 2\xE2\x80\xB0, 20ppm, or plain arithmetic.");
        return PM_ROLE_FAINT;
    }
    if (read_filled(filling, values, &gesture, &err) != PM_OK) {
        pm_text_add(out, err.text);
        return PM_ROLE_ERROR;
    }
    if (gesture.strength < PM_NEAT && gesture.solvent == 0) {
        pm_text_add(out, "Diluted: name the solvent; part of a name, then Tab.");
        return PM_ROLE_FAINT;
    }
    name_solvent(filling->bench, gesture.solvent);
    const enum pm_role role = bench_preview(filling->bench, &gesture, out);
    if (filling->purpose == SWAP && role == PM_ROLE_PREVIEW)
        say_neat(filling->bench, &gesture, out);
    if (filling->purpose == TUCK_IN && filling->kind == PM_LINE_MATERIAL)
        say_dose(filling->bench, &gesture, out);
    return role;
}

static enum pm_role solvent_check(void *context, const char *const values[], struct pm_text *out)
{
    const struct filling *filling = context;
    struct pm_gesture gesture;
    if (read_filled(filling, values, &gesture, NULL) == PM_OK && gesture.strength == PM_NEAT) {
        pm_text_add(out, "Counts only when the strength is below neat.");
        return PM_ROLE_FAINT;
    }
    return filling_check(context, values, out);
}

/* What is left of it comes first: that is what one goes through the strengths for. */
static enum pm_role strength_check(void *context, const char *const values[], struct pm_text *out)
{
    const struct filling *filling = context;
    struct pm_gesture gesture;
    const size_t before = out->length;
    if (read_filled(filling, values, &gesture, NULL) == PM_OK)
        bench_stock_say_left(filling->bench, filling->ref, gesture.strength,
                             gesture.strength == PM_NEAT ? 0
                             : gesture.solvent != 0      ? gesture.solvent
                                                         : PM_ANY_SOLVENT,
                             out);
    if (out->length > before)
        pm_text_add(out, DOT);
    return filling_check(context, values, out);
}

static bool strength_complete(void *context, const char *before, size_t round, struct pm_text *out)
{
    const struct filling *filling = context;
    return bench_stock_complete(filling->bench, filling->ref, before, round, out);
}

/* Through the bottles of it, from the strength that the field names. */
static bool strength_step(void *context, const char *text, int step, struct pm_text *out)
{
    const struct filling *filling = context;
    pm_strength strength = PM_NEAT;
    int64_t solvent = PM_ANY_SOLVENT;
    if (!pm_is_blank(text) && read_strength(filling, text, &strength, &solvent, NULL) != PM_OK)
        strength = 0; /* none of them */
    return bench_stock_step(filling->bench, filling->ref, strength, solvent, step, out);
}

static bool solvent_complete(void *context, const char *before, size_t round, struct pm_text *out)
{
    const struct filling *filling = context;
    return pm_complete_solvent(filling->bench->house, before, round, out);
}

/* ---- held lines that are in the way ---- */

struct second_try {
    struct bench *bench;
    struct pm_gesture gesture;
};

static enum pm_status second_accept(void *context, struct pm_error *err)
{
    struct second_try *second = context;
    return bench_do(second->bench, &second->gesture, err);
}

/* Offers to move held lines as well, where that is what is in the way. True when it did. */
static bool offer_moving_held(struct bench *bench, const struct pm_gesture *gesture,
                              const char *reason)
{
    struct pm_plan *plan;
    struct pm_gesture moving = *gesture;
    moving.move_held = true;
    if (pm_plan_gesture(bench->house->studio, bench->sheet, &moving, &plan, NULL) != PM_OK)
        return false;
    pm_plan_free(plan);
    struct second_try second = {bench, moving};
    const struct pm_choice_spec spec = {
        .title = "Held lines are in the way",
        .question = reason,
        .options = {{'l', "leave everything as it was"}, {'m', "move the held lines as well"}},
        .option_count = 2,
        .agreed = second_accept,
        .context = &second,
        .context_size = sizeof second,
    };
    pm_choice_open(bench->app, &spec);
    return true;
}

static enum pm_status filling_accept(void *context, const char *const values[],
                                     struct pm_error *err)
{
    const struct filling *filling = context;
    struct bench *bench = filling->bench;
    struct pm_gesture gesture;
    struct pm_error why = {0};
    if (bench->sheet == NULL || bench->sheet->read_only)
        return pm_fail(err, PM_REFUSED, "The draft is not open any more.");
    enum pm_status status = read_filled(filling, values, &gesture, &why);
    if (status == PM_OK) {
        status = bench_do(bench, &gesture, &why);
        if (status == PM_REFUSED && filling->purpose != TUCK_IN &&
            offer_moving_held(bench, &gesture, why.text))
            return PM_OK;
    }
    if (status == PM_OK && filling->kind == PM_LINE_MATERIAL)
        remember_use(bench, filling->ref, gesture.strength, gesture.solvent);
    if (status != PM_OK)
        *err = why;
    return status;
}

static struct filling filling_of(struct bench *bench, enum purpose purpose, enum pm_line_kind kind,
                                 int64_t ref)
{
    return (struct filling){.bench = bench,
                            .purpose = purpose,
                            .line = purpose == TUCK_IN ? 0 : bench->asked,
                            .kind = kind,
                            .ref = ref};
}

/* Opens the form for a material or an accord called `name`. */
static void fill(struct filling filling, const char *name, struct bench_use use)
{
    struct bench *bench = filling.bench;
    struct pm_text title = PM_TEXT_EMPTY, solvent = PM_TEXT_EMPTY;
    char strength[PM_AMOUNT_TEXT];
    static const char *const verbs[] = {"Tuck in", "Swap for", "Restrength"};
    pm_text_addf(&title, "%s %s", verbs[filling.purpose], name);
    pm_text_clear(&bench->fresh.title);
    pm_text_add(&bench->fresh.title, name);
    if (filling.kind == PM_LINE_MATERIAL) {
        struct pm_text offer = PM_TEXT_EMPTY;
        bench_stock_offer(bench, filling.ref, &offer);
        if (offer.length > 0)
            pm_text_addf(&title, "; %s", pm_text_get(&offer));
        pm_text_release(&offer);
    }
    name_of(bench, use.solvent, &solvent);
    struct pm_form_field dilution[] = {
        {.key = "strength",
         .label = "Strength",
         .text = pm_strength_format(use.strength, bench->house->sign, strength),
         .limit = 240,
         .replace = true,
         .check = strength_check,
         .complete = strength_complete,
         .step = strength_step},
        {.key = "solvent",
         .label = "Solvent",
         .text = pm_text_get(&solvent),
         .replace = true,
         .check = solvent_check,
         .complete = solvent_complete},
    };
    struct pm_form_spec spec = {.title = pm_text_get(&title),
                                .check = filling_check,
                                .accept = filling_accept,
                                .verdict_rows = 2,
                                .closed = filling_closed,
                                .context = &filling,
                                .context_size = sizeof filling};
    if (filling.purpose == TUCK_IN)
        spec.fields[spec.field_count++] =
            (struct pm_form_field){.key = "parts", .label = "Parts", .limit = 100};
    if (filling.kind == PM_LINE_MATERIAL) {
        spec.fields[spec.field_count++] = dilution[0];
        spec.fields[spec.field_count++] = dilution[1];
    }
    if (filling.purpose == SWAP)
        spec.fields[spec.field_count++] = (struct pm_form_field){
            .label = "Keep the",
            .choices = same_choices,
            .text = same_choices[asked_line(bench) != NULL &&
                                 asked_line(bench)->strength != use.strength]};
    pm_form_open(bench->app, &spec);
    pm_text_release(&title);
    pm_text_release(&solvent);
}

void bench_ask_parts(struct bench *bench, int64_t accord, const char *name)
{
    /* What cannot be read is not judged. */
    if (bench_weighs(bench))
        (void)pm_sheet_budget_accord(bench->house->studio, &bench->weigh.read, accord, NULL);
    fill(filling_of(bench, TUCK_IN, PM_LINE_ACCORD, accord), name,
         (struct bench_use){0, 0, PM_NEAT});
}

/* ---- a new material ---- */

struct making {
    struct bench *bench;
    enum purpose purpose; /* what it is made for */
};

static void material_chosen(struct bench *bench, enum purpose purpose, int64_t id, const char *name)
{
    bool known;
    struct bench_use use = last_use(bench, id, &known);
    const struct pm_line *line = asked_line(bench);
    if (purpose == SWAP && line != NULL && !known)
        bench_stock_for_line(bench, id, line, &use.strength, &use.solvent);
    else if (!known)
        bench_stock_usual(bench, id, &use.strength, &use.solvent);
    fill(filling_of(bench, purpose, PM_LINE_MATERIAL, id), name, use);
}

static enum pm_status make_accept(void *context, const char *const values[], struct pm_error *err)
{
    const struct making *making = context;
    int64_t id;
    enum pm_status status = pm_shelf_add(making->bench->house->studio, values, &id, err);
    if (status == PM_OK)
        material_chosen(making->bench, making->purpose, id, values[PM_MATERIAL_NAME]);
    return status;
}

static enum pm_status make_material(struct bench *bench, enum purpose purpose, const char *name,
                                    struct pm_error *err)
{
    struct making making = {bench, purpose};
    const struct pm_material likely = {.name = name};
    (void)err;
    struct pm_form_spec spec = {
        .title = "A new material for the shelf",
        .accept = make_accept,
        .writes = true,
        .context = &making,
        .context_size = sizeof making,
    };
    pm_form_describe(&spec, &pm_material_entity, &likely, bench->house->sign,
                     "name|kind|cas|synonyms", "note");
    pm_form_open(bench->app, &spec);
    return PM_OK;
}

/* ---- picking a material ---- */

struct search {
    struct bench *bench;
    enum purpose purpose;
    struct pm_material_entries found;
    /* Swapping, while nothing is typed: what the shelf has of the same family stands first. */
    struct pm_offers offers;
    bool offering;
    bool near; /* nothing is called so: `found` may be meant, and the last row makes a new one */
    struct pm_text typed;
};

static void search_closed(void *context)
{
    struct search *search = context;
    pm_list_release(&search->found);
    if (search->offering)
        pm_list_release(&search->offers);
    pm_text_release(&search->typed);
}

/* Reads the offers for the line that is to be swapped. */
static void read_offers(struct search *search, const char *text)
{
    const struct bench *bench = search->bench;
    const struct pm_sheet *sheet = bench_sheet(bench);
    long place = sheet != NULL ? pm_trial_find(&sheet->trial, bench->asked) : -1;
    if (search->offering)
        pm_list_release(&search->offers);
    search->offering = false;
    search->offers = (struct pm_offers){0};
    if (search->purpose != SWAP || !pm_is_blank(text) || place < 0 ||
        sheet->trial.lines[place].kind != PM_LINE_MATERIAL)
        return;
    search->offering = pm_stock_offers(bench->house->studio, sheet->trial.lines[place].ref,
                                       OFFERS_MOST, &search->offers, NULL) == PM_OK;
}

/* Nothing is called so: what is near is offered before it is made. */
static void search_near(struct search *search, const char *text)
{
    search->near = false;
    if (search->found.count > 0 || pm_is_blank(text))
        return;
    pm_list_release(&search->found);
    if (pm_shelf_near(search->bench->house->studio, text, NEAR_MOST, &search->found, NULL) != PM_OK)
        search->found = (struct pm_material_entries){0};
    search->near = search->found.count > 0;
    pm_text_clear(&search->typed);
    pm_text_add(&search->typed, text);
}

static size_t search_filter(void *context, const char *text, bool *more)
{
    struct search *search = context;
    struct pm_error err = {0};
    read_offers(search, text);
    pm_list_release(&search->found);
    if (pm_shelf_search(search->bench->house->studio, text, FOUND_MOST, false, &search->found,
                        &err) != PM_OK) {
        pm_app_error(search->bench->app, &err);
        search->found = (struct pm_material_entries){0};
    }
    *more = search->found.count == FOUND_MOST;
    search_near(search, text);
    return search->offers.count + search->found.count + (search->near ? 1 : 0);
}

static void search_row(void *context, size_t index, struct pm_pick_row *row)
{
    const struct search *search = context;
    char neat[PM_AMOUNT_TEXT];
    if (index < search->offers.count) {
        const struct pm_offer *offer = &search->offers.items[index];
        pm_text_add(&row->cells[0], offer->name);
        pm_text_add(&row->cells[2], offer->family != NULL ? offer->family : "");
        pm_text_add(&row->cells[3],
                    pm_mass_format(offer->neat, 2, search->bench->house->sign, neat));
        row->role = PM_ROLE_GOOD;
        return;
    }
    if (index - search->offers.count == search->found.count) {
        pm_text_addf(&row->cells[0], "none of these: make \"%s\"", pm_text_get(&search->typed));
        row->role = PM_ROLE_FAINT;
        return;
    }
    const struct pm_material_entry *entry = &search->found.items[index - search->offers.count];
    struct pm_text alike = PM_TEXT_EMPTY;
    if (pm_shelf_tall_name(search->bench->house->studio, entry->id, &row->cells[0], &alike, NULL) !=
        PM_OK)
        pm_text_add(&row->cells[0], entry->name);
    /* Of names that are easily taken for each other the number tells most. */
    const char *beside = alike.length > 0 && entry->cas != NULL ? entry->cas
                         : entry->matched != NULL               ? entry->matched
                                                                : entry->cas;
    pm_text_add(&row->cells[1], beside != NULL ? beside : "");
    pm_text_release(&alike);
    pm_text_add(&row->cells[2], entry->family != NULL ? entry->family : "");
    bench_stock_strengths(search->bench, entry->id, &row->cells[3]);
}

static enum pm_status search_accept(void *context, size_t index, const char *text,
                                    struct pm_error *err)
{
    struct search *search = context;
    if (index < search->offers.count) {
        const struct pm_offer *offer = &search->offers.items[index];
        material_chosen(search->bench, search->purpose, offer->material, offer->name);
        return PM_OK;
    }
    if (index - search->offers.count == search->found.count)
        return make_material(search->bench, search->purpose, text, err);
    const struct pm_material_entry *entry = &search->found.items[index - search->offers.count];
    material_chosen(search->bench, search->purpose, entry->id, entry->name);
    return PM_OK;
}

static enum pm_status search_none(void *context, const char *text, struct pm_error *err)
{
    struct search *search = context;
    return make_material(search->bench, search->purpose, text, err);
}

static void pick_material(struct bench *bench, enum purpose purpose, const char *title)
{
    struct search search = {.bench = bench, .purpose = purpose};
    const struct pm_picker_spec spec = {
        .title = title,
        .label = "Material",
        .columns = {{.heading = "name", .wish = 4, .grows = true},
                    {.heading = "also / CAS", .wish = 20},
                    {.heading = "family", .wish = 12},
                    {.heading = "on the shelf", .wish = 13}},
        .column_count = 4,
        .filter = search_filter,
        .row = search_row,
        .accept = search_accept,
        .none = search_none,
        .none_hint = "Not on the shelf. Enter puts it there: its name, kind and CAS number.",
        .closed = search_closed,
        .context = &search,
        .context_size = sizeof search,
    };
    pm_picker_open(bench->app, &spec);
}

/* ---- the actions ---- */

void bench_add(void *state)
{
    pick_material(state, TUCK_IN, "Tuck in a material");
}

void bench_swap(void *state)
{
    struct bench *bench = state;
    struct pm_text title = PM_TEXT_EMPTY;
    bench->asked = bench->line;
    pm_text_addf(&title, "Swap %s for another material", bench_line(bench)->title);
    pick_material(bench, SWAP, pm_text_get(&title));
    pm_text_release(&title);
}

void bench_restrength(void *state)
{
    struct bench *bench = state;
    const struct pm_sheet_line *line = bench_line(bench);
    bench->asked = bench->line;
    if (line->accord_formula) {
        pm_app_say(bench->app, "An accord is always used neat; dilute what is in it instead.");
        return;
    }
    bool known;
    struct bench_use use = last_use(bench, line->line->ref, &known);
    use.strength = line->line->strength;
    if (line->line->solvent)
        use.solvent = line->line->solvent;
    fill(filling_of(bench, RESTRENGTH, PM_LINE_MATERIAL, line->line->ref), line->name, use);
}
