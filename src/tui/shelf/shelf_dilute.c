/* SPDX-License-Identifier: MIT */
/* The Shelf: a dilution in two steps: what to weigh, then what was really weighed. */
#include "shelf.h"

#include "kit/overlay.h"

#include "permille/base/arena.h"
#include "permille/base/utf8.h"
#include "permille/core/dilute.h"
#include "permille/core/volume.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>

#define ARROW " \xE2\x86\x92 "

/* ---- the wish ---- */

enum { WISH_AMOUNT, WISH_STRENGTH, WISH_FROM, WISH_SOLVENT, WISH_BALANCE, WISH_FIELDS };

struct wishing {
    struct shelf *shelf;
    int64_t material;
};

/* "B012" or "12": a bottle is meant, not a name. */
static bool names_bottle(const char *text)
{
    text += strspn(text, " ");
    text += *text == 'B' || *text == 'b';
    return isdigit((unsigned char)*text) && text[strspn(text, "0123456789 ")] == '\0';
}

static enum pm_status read_solvent(const struct wishing *wishing, struct pm_dilution_wish *wish,
                                   const char *text, struct pm_error *err)
{
    struct pm_studio *studio = wishing->shelf->house->studio;
    struct pm_bottle card;
    struct pm_arena arena = {0};
    if (pm_is_blank(text))
        return PM_OK;
    if (!names_bottle(text))
        return pm_shelf_find(studio, text, &wish->solvent, err);
    enum pm_status status = pm_bottle_find(studio, text, &wish->solvent_from, err);
    if (status == PM_OK)
        status = pm_bottle_show(studio, wish->solvent_from, &arena, &card, err);
    if (status == PM_OK)
        wish->solvent = card.material;
    pm_arena_release(&arena);
    return status;
}

static enum pm_status read_wish(const struct wishing *wishing, const char *const values[],
                                struct pm_dilution_wish *wish, struct pm_error *err)
{
    struct pm_studio *studio = wishing->shelf->house->studio;
    *wish = (struct pm_dilution_wish){.material = wishing->material};
    enum pm_status status =
        pm_error_at(err, "amount", pm_mass_read(values[WISH_AMOUNT], &wish->target, err));
    if (status == PM_OK)
        status = pm_error_at(err, "strength",
                             pm_strength_read(values[WISH_STRENGTH], &wish->strength, err));
    if (status == PM_OK && !pm_is_blank(values[WISH_FROM]))
        status =
            pm_error_at(err, "from", pm_bottle_find(studio, values[WISH_FROM], &wish->from, err));
    if (status == PM_OK)
        status =
            pm_error_at(err, "solvent", read_solvent(wishing, wish, values[WISH_SOLVENT], err));
    if (status == PM_OK && !pm_is_blank(values[WISH_BALANCE]))
        status = pm_error_at(err, "balance",
                             pm_mass_read(values[WISH_BALANCE], &wish->readability, err));
    return status;
}

static void tell_source(const struct pm_dilution *dilution, struct pm_text *out)
{
    char label[PM_BOTTLE_LABEL];
    pm_text_addf(out, " of %s", dilution->solvent_name);
    if (dilution->solvent_from)
        pm_text_addf(out, " %s", pm_bottle_label(dilution->solvent_from, label));
}

/* "5.00 g (5.79 ml) of B007 + 15.00 g (19.0 ml) of Ethanol B001 -> 10 %". */
static void tell_plan(const struct shelf *shelf, const struct pm_dilution *dilution,
                      struct pm_text *out)
{
    char stock[PM_AMOUNT_TEXT], solvent[PM_AMOUNT_TEXT], strength[PM_AMOUNT_TEXT];
    char label[PM_BOTTLE_LABEL];
    const char sign = shelf->house->sign;
    pm_text_add(out, shelf_mass(shelf, dilution->of_stock, stock));
    pm_volume_beside(dilution->stock_ul, sign, out);
    pm_text_addf(out, " of %s + %s", pm_bottle_label(dilution->from, label),
                 shelf_mass(shelf, dilution->of_solvent, solvent));
    pm_volume_beside(dilution->solvent_ul, sign, out);
    tell_source(dilution, out);
    pm_text_addf(out, ARROW "%s", shelf_strength(shelf, dilution->expected, strength));
}

static enum pm_role wish_check(void *context, const char *const values[], struct pm_text *out)
{
    const struct wishing *wishing = context;
    struct pm_error err = {0};
    struct pm_dilution_wish wish;
    struct pm_dilution dilution;
    if (pm_is_blank(values[WISH_AMOUNT]) || pm_is_blank(values[WISH_STRENGTH])) {
        pm_text_add(out, "How much, and how strong: then stands here what to weigh.");
        return PM_ROLE_FAINT;
    }
    enum pm_status status = read_wish(wishing, values, &wish, &err);
    if (status == PM_OK)
        status = pm_dilution_plan(wishing->shelf->house->studio, &wish, &dilution, &err);
    if (status != PM_OK) {
        pm_text_add(out, err.text);
        return PM_ROLE_ERROR;
    }
    tell_plan(wishing->shelf, &dilution, out);
    if (dilution.remark != NULL)
        pm_text_addf(out, ". %s", dilution.remark);
    const bool off = dilution.off;
    pm_dilution_release(&dilution);
    return off ? PM_ROLE_WARNING : PM_ROLE_PREVIEW;
}

static bool complete_solvent(void *context, const char *before, size_t round, struct pm_text *out)
{
    const struct wishing *wishing = context;
    return shelf_complete_solvent(wishing->shelf, before, round, out);
}

/* The bottles of the material with something in them. */
static bool complete_from(void *context, const char *before, size_t round, struct pm_text *out)
{
    const struct wishing *wishing = context;
    const struct pm_bottle_filter filter = {.material = wishing->material, .have = true};
    struct pm_bottles cards;
    size_t length = strlen(before);
    bool any = false;
    if (pm_bottles_list(wishing->shelf->house->studio, &filter, &cards, NULL) != PM_OK)
        return false;
    for (size_t i = 0; i < cards.count && !any; i++) {
        if (strncasecmp(cards.items[i].label, before, length) != 0)
            continue;
        any = round == 0;
        if (any)
            pm_text_add(out, cards.items[i].label);
        round--;
    }
    pm_list_release(&cards);
    return any;
}

/* ---- what was really weighed ---- */

/* Behind what is said of the new bottle. */
enum { WEIGHED_STOCK = PM_BOTTLE_ATTRIBUTES, WEIGHED_SOLVENT, WEIGHED_VALUES };

struct weighing {
    struct shelf *shelf;
    struct pm_dilution dilution; /* owned */
};

static void weighing_free(void *context)
{
    struct weighing *weighing = context;
    pm_dilution_release(&weighing->dilution);
}

/* Before it is written the bottles are asked; `below` says that the ledger may go under zero. */
static enum pm_status weighing_do(const struct weighing *weighing, const char *const values[],
                                  bool below, pm_mass *missing, struct pm_error *err)
{
    struct shelf *shelf = weighing->shelf;
    struct pm_bottle card;
    char strength[PM_AMOUNT_TEXT];
    int64_t bottle;
    pm_mass stock, solvent;
    const char *said[PM_BOTTLE_ATTRIBUTES];
    struct pm_arena arena = {0};
    for (size_t i = 0; i < PM_BOTTLE_ATTRIBUTES; i++)
        said[i] = values[i] != NULL ? shelf_given(values[i]) : NULL;
    enum pm_status status =
        pm_dilution_weighed(shelf->house->studio, &weighing->dilution, values[WEIGHED_STOCK],
                            values[WEIGHED_SOLVENT], &stock, &solvent, err);
    if (status == PM_OK)
        status = pm_dilution_make(shelf->house->studio, &weighing->dilution, stock, solvent, said,
                                  below, 0, &bottle, missing, err);
    if (status != PM_OK)
        return status;
    shelf->inside = true;
    shelf->material = weighing->dilution.material;
    shelf_written(shelf, bottle);
    if (pm_bottle_show(shelf->house->studio, bottle, &arena, &card, NULL) == PM_OK)
        pm_app_say(shelf->app, "%s: %s in %s; write that on its label. Saved.", card.label,
                   shelf_strength(shelf, card.strength, strength), weighing->dilution.solvent_name);
    pm_arena_release(&arena);
    return PM_OK;
}

/* The question whether the ledger may go below zero, with what the form held. */
struct weighing_below {
    struct weighing weighing;
    const char *values[WEIGHED_VALUES];
    struct pm_arena texts;
};

static void below_free(void *context)
{
    struct weighing_below *below = context;
    weighing_free(&below->weighing);
    pm_arena_release(&below->texts);
}

static enum pm_status even_below(void *context, struct pm_error *err)
{
    const struct weighing_below *below = context;
    return weighing_do(&below->weighing, below->values, true, NULL, err);
}

/* The form goes when the question comes, and leaves it the dilution. */
static enum pm_status ask_below(struct weighing *weighing, const char *const values[],
                                const char *reason, struct pm_error *err)
{
    struct weighing_below below = {.weighing = *weighing};
    for (size_t i = 0; i < WEIGHED_VALUES; i++)
        below.values[i] = pm_arena_text(&below.texts, values[i]);
    enum pm_status status = pm_arena_status(&below.texts, err);
    if (status != PM_OK) {
        pm_arena_release(&below.texts);
        return status;
    }
    weighing->dilution = (struct pm_dilution){0};
    shelf_ask_below(weighing->shelf, reason, even_below, below_free, &below, sizeof below);
    return PM_OK;
}

static enum pm_status weighed_accept(void *context, const char *const values[],
                                     struct pm_error *err)
{
    struct weighing *weighing = context;
    struct pm_error why = {0};
    pm_mass missing = 0;
    enum pm_status status = weighing_do(weighing, values, false, &missing, &why);
    if (status == PM_REFUSED && missing > 0)
        return ask_below(weighing, values, why.text, err);
    if (status != PM_OK)
        *err = why;
    return status;
}

static enum pm_role weighed_check(void *context, const char *const values[], struct pm_text *out)
{
    const struct weighing *weighing = context;
    const struct pm_dilution *dilution = &weighing->dilution;
    const struct shelf *shelf = weighing->shelf;
    struct pm_error err = {0};
    pm_mass stock, solvent;
    pm_strength strength;
    char text[PM_AMOUNT_TEXT], wanted[PM_AMOUNT_TEXT];
    if (pm_is_blank(values[WEIGHED_STOCK]) || pm_is_blank(values[WEIGHED_SOLVENT]))
        return PM_ROLE_FAINT;
    if (pm_dilution_weighed(shelf->house->studio, dilution, values[WEIGHED_STOCK],
                            values[WEIGHED_SOLVENT], &stock, &solvent, &err) != PM_OK ||
        pm_dilute_result(stock, dilution->from_strength, solvent, &strength, &err) != PM_OK) {
        pm_text_add(out, err.text);
        return PM_ROLE_ERROR;
    }
    pm_text_addf(out, "True strength %s; wanted was %s.", shelf_strength(shelf, strength, text),
                 shelf_strength(shelf, dilution->wanted, wanted));
    return PM_ROLE_PREVIEW;
}

static bool complete_place(void *context, const char *before, size_t round, struct pm_text *out)
{
    const struct weighing *weighing = context;
    return shelf_complete_place(weighing->shelf, before, round, out);
}

/* What is worth knowing before one weighs. */
static void say_remarks(const struct shelf *shelf, const struct pm_dilution *dilution)
{
    if (dilution->remark != NULL)
        pm_app_warn(shelf->app, "%s", dilution->remark);
    else if (dilution->stock_ul >= 0 || dilution->solvent_ul >= 0)
        pm_app_say(shelf->app, PM_VOLUMES_ORIENT);
}

/* Takes the dilution over. */
static void open_weighing(struct shelf *shelf, const struct pm_dilution *dilution)
{
    struct weighing weighing = {shelf, *dilution};
    struct pm_text title = PM_TEXT_EMPTY, solvent = PM_TEXT_EMPTY;
    char stock_mass[PM_AMOUNT_TEXT], solvent_mass[PM_AMOUNT_TEXT], stock[48];
    char label[PM_BOTTLE_LABEL];
    pm_text_add(&title, "Weigh ");
    tell_plan(shelf, dilution, &title);
    snprintf(stock, sizeof stock, "Weighed of %s", pm_bottle_label(dilution->from, label));
    pm_text_addf(&solvent, "Of %s", dilution->solvent_name);
    struct pm_form_spec spec = {
        .title = pm_text_get(&title),
        .fields = {{.key = "stock",
                    .label = stock,
                    .text = shelf_mass(shelf, dilution->of_stock, stock_mass),
                    .replace = true,
                    .limit = 40,
                    .check = weighed_check},
                   {.key = "solvent",
                    .label = pm_text_get(&solvent),
                    .text = shelf_mass(shelf, dilution->of_solvent, solvent_mass),
                    .replace = true,
                    .limit = 40,
                    .check = weighed_check}},
        .field_count = 2,
        .accept = weighed_accept,
        .writes = true,
        .closed = weighing_free,
        .context = &weighing,
        .context_size = sizeof weighing,
    };
    pm_form_describe(
        &spec, &pm_bottle_entity, NULL, shelf->house->sign, NULL,
        "strength|solvent|lot|supplier|bought|opened|tare|price|priced_mass|made_from");
    pm_form_field_of(&spec, PM_BOTTLE_PLACE)->complete = complete_place;
    say_remarks(shelf, dilution);
    pm_form_open(shelf->app, &spec);
    pm_text_release(&title);
    pm_text_release(&solvent);
}

/* ---- the first step ---- */

static void ask_wish(struct shelf *shelf, int64_t material, const char *const values[]);

/* The question whether it may come out so, with what the form held. */
struct wish_off {
    struct wishing wishing;
    struct pm_dilution dilution; /* owned */
    const char *values[WISH_FIELDS];
    struct pm_arena texts;
};

static void off_free(void *context)
{
    struct wish_off *off = context;
    pm_dilution_release(&off->dilution);
    pm_arena_release(&off->texts);
}

static enum pm_status even_off(void *context, size_t option, struct pm_error *err)
{
    struct wish_off *off = context;
    (void)err;
    if (option == 0) {
        ask_wish(off->wishing.shelf, off->wishing.material, off->values);
        return PM_OK;
    }
    off->dilution.even_off = true;
    open_weighing(off->wishing.shelf, &off->dilution);
    off->dilution = (struct pm_dilution){0};
    return PM_OK;
}

/* Takes the dilution over. */
static enum pm_status ask_off(const struct wishing *wishing, const char *const values[],
                              struct pm_dilution *dilution, struct pm_error *err)
{
    struct wish_off off = {.wishing = *wishing, .dilution = *dilution};
    const struct shelf *shelf = wishing->shelf;
    char expected[PM_AMOUNT_TEXT], wanted[PM_AMOUNT_TEXT], least[PM_AMOUNT_TEXT];
    struct pm_text question = PM_TEXT_EMPTY;
    for (size_t i = 0; i < WISH_FIELDS; i++)
        off.values[i] = pm_arena_text(&off.texts, values[i]);
    enum pm_status status = pm_arena_status(&off.texts, err);
    if (status != PM_OK) {
        off_free(&off);
        return status;
    }
    pm_text_addf(&question, "It would come out at %s, not %s.",
                 shelf_strength(shelf, dilution->expected, expected),
                 shelf_strength(shelf, dilution->wanted, wanted));
    if (dilution->least > 0)
        pm_text_addf(&question, " The next amount that comes out right is %s.",
                     pm_mass_exact(dilution->least, shelf->house->sign, least));
    const struct pm_choice_spec spec = {
        .title = "Another strength than asked for",
        .question = pm_text_get(&question),
        .options = {{'b', "back: another amount or another bottle"},
                    {'w', "weigh it all the same"}},
        .option_count = 2,
        .accept = even_off,
        .closed = off_free,
        .context = &off,
        .context_size = sizeof off,
    };
    pm_choice_open(shelf->app, &spec);
    pm_text_release(&question);
    return PM_OK;
}

static enum pm_status wish_accept(void *context, const char *const values[], struct pm_error *err)
{
    const struct wishing *wishing = context;
    struct shelf *shelf = wishing->shelf;
    struct pm_dilution_wish wish;
    struct pm_dilution dilution;
    enum pm_status status = read_wish(wishing, values, &wish, err);
    if (status == PM_OK)
        status = pm_error_at(err, "solvent",
                             pm_dilution_plan(shelf->house->studio, &wish, &dilution, err));
    if (status != PM_OK)
        return status;
    snprintf(shelf->balance, sizeof shelf->balance, "%s", values[WISH_BALANCE]);
    snprintf(shelf->solvent, sizeof shelf->solvent, "%s", dilution.solvent_name);
    if (dilution.off)
        return ask_off(wishing, values, &dilution, err);
    open_weighing(shelf, &dilution);
    return PM_OK;
}

/* The solvent this material was diluted in last, else the one used last. */
static const char *usual_solvent(const struct shelf *shelf)
{
    const struct pm_bottle *newest = NULL;
    for (size_t i = 0; shelf->about.bottles_read && i < shelf->about.bottles.count; i++) {
        const struct pm_bottle *card = &shelf->about.bottles.items[i];
        if (card->solvent_name != NULL && (newest == NULL || card->id > newest->id))
            newest = card;
    }
    return newest != NULL ? newest->solvent_name : shelf->solvent;
}

/* The form, with what it held. */
static void ask_wish(struct shelf *shelf, int64_t material, const char *const values[])
{
    struct pm_text title = PM_TEXT_EMPTY;
    struct wishing wishing = {shelf, material};
    pm_text_addf(&title, "A dilution of %s", shelf_row(shelf)->name);
    const struct pm_form_spec spec = {
        .title = pm_text_get(&title),
        .fields = {[WISH_AMOUNT] = {.key = "amount",
                                    .label = "How much",
                                    .text = values[WISH_AMOUNT],
                                    .replace = true,
                                    .limit = 40},
                   [WISH_STRENGTH] = {.key = "strength",
                                      .label = "How strong",
                                      .text = values[WISH_STRENGTH],
                                      .replace = true,
                                      .limit = 40},
                   [WISH_FROM] = {.key = "from",
                                  .label = "From bottle",
                                  .text = values[WISH_FROM],
                                  .replace = true,
                                  .limit = 40,
                                  .complete = complete_from},
                   [WISH_SOLVENT] = {.key = "solvent",
                                     .label = "In solvent",
                                     .text = values[WISH_SOLVENT],
                                     .replace = true,
                                     .complete = complete_solvent},
                   [WISH_BALANCE] = {.key = "balance",
                                     .label = "Balance reads",
                                     .text = values[WISH_BALANCE],
                                     .replace = true,
                                     .limit = 30}},
        .field_count = WISH_FIELDS,
        .check = wish_check,
        .accept = wish_accept,
        .context = &wishing,
        .context_size = sizeof wishing,
    };
    pm_form_open(shelf->app, &spec);
    pm_text_release(&title);
}

void shelf_dilute(void *state)
{
    struct shelf *shelf = state;
    const struct pm_bottle *card = shelf->inside ? shelf_bottle(shelf) : NULL;
    const char *const values[WISH_FIELDS] = {
        [WISH_STRENGTH] = "10 %",
        [WISH_FROM] = card != NULL && card->left > 0 ? card->label : NULL,
        [WISH_SOLVENT] = usual_solvent(shelf),
        [WISH_BALANCE] = shelf->balance};
    ask_wish(shelf, shelf->material, values);
}
