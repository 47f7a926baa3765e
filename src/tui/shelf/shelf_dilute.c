/* SPDX-License-Identifier: MIT */
/* The Shelf: a dilution in two steps: what to weigh, then what was really weighed. */
#include "shelf.h"

#include "kit/overlay.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/core/dilute.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>

#define ARROW " \xE2\x86\x92 "

/* ---- the wish ---- */

enum { WISH_AMOUNT, WISH_STRENGTH, WISH_FROM, WISH_SOLVENT, WISH_BALANCE, WISH_FIELDS };

/* The form's fields as they stand, so that any of them can show the whole verdict. */
struct wishing {
    struct shelf *shelf;
    int64_t material;
    char *texts[WISH_FIELDS]; /* owned */
};

static void wishing_free(void *context)
{
    struct wishing *wishing = context;
    for (size_t i = 0; i < WISH_FIELDS; i++)
        pm_free(wishing->texts[i]);
    pm_free(wishing);
}

static const char *text_of(const struct wishing *wishing, size_t field)
{
    return wishing->texts[field] ? wishing->texts[field] : "";
}

/* "B012" or "12": a bottle is meant, not a name. */
static bool names_bottle(const char *text)
{
    text += strspn(text, " ");
    text += *text == 'B' || *text == 'b';
    return isdigit((unsigned char)*text) && text[strspn(text, "0123456789 ")] == '\0';
}

static enum pm_status read_solvent(const struct wishing *wishing, struct pm_dilution_wish *wish,
                                   struct pm_error *err)
{
    struct pm_studio *studio = wishing->shelf->house->studio;
    const char *text = text_of(wishing, WISH_SOLVENT);
    struct pm_bottle_card card;
    if (shelf_is_blank(text))
        return PM_OK;
    if (!names_bottle(text))
        return pm_shelf_find(studio, text, &wish->solvent, err);
    enum pm_status status = pm_bottle_find(studio, text, &wish->solvent_from, err);
    if (status == PM_OK)
        status = pm_bottle_show(studio, wish->solvent_from, &card, err);
    if (status != PM_OK)
        return status;
    wish->solvent = card.material;
    pm_bottle_card_release(&card);
    return PM_OK;
}

/* *focus names the field that is wrong. */
static enum pm_status read_wish(const struct wishing *wishing, struct pm_dilution_wish *wish,
                                size_t *focus, struct pm_error *err)
{
    struct pm_studio *studio = wishing->shelf->house->studio;
    *wish = (struct pm_dilution_wish){.material = wishing->material};
    *focus = WISH_AMOUNT;
    enum pm_status status = pm_mass_read(text_of(wishing, WISH_AMOUNT), &wish->target, err);
    if (status == PM_OK) {
        *focus = WISH_STRENGTH;
        status = pm_strength_read(text_of(wishing, WISH_STRENGTH), &wish->strength, err);
    }
    if (status == PM_OK && !shelf_is_blank(text_of(wishing, WISH_FROM))) {
        *focus = WISH_FROM;
        status = pm_bottle_find(studio, text_of(wishing, WISH_FROM), &wish->from, err);
    }
    if (status == PM_OK) {
        *focus = WISH_SOLVENT;
        status = read_solvent(wishing, wish, err);
    }
    if (status == PM_OK && !shelf_is_blank(text_of(wishing, WISH_BALANCE))) {
        *focus = WISH_BALANCE;
        status = pm_mass_read(text_of(wishing, WISH_BALANCE), &wish->readability, err);
    }
    return status;
}

static void tell_source(const struct pm_dilution *dilution, struct pm_text *out)
{
    char label[PM_BOTTLE_LABEL];
    pm_text_addf(out, " of %s", dilution->solvent_name);
    if (dilution->solvent_from)
        pm_text_addf(out, " %s", pm_bottle_label(dilution->solvent_from, label));
}

/* "5.00 g of B007 + 15.00 g of Ethanol B001 -> 10 %". */
static void tell_plan(const struct shelf *shelf, const struct pm_dilution *dilution,
                      struct pm_text *out)
{
    char stock[PM_AMOUNT_TEXT], solvent[PM_AMOUNT_TEXT], strength[PM_AMOUNT_TEXT];
    char label[PM_BOTTLE_LABEL];
    pm_text_addf(out, "%s of %s + %s", shelf_mass(shelf, dilution->of_stock, stock),
                 pm_bottle_label(dilution->from, label),
                 shelf_mass(shelf, dilution->of_solvent, solvent));
    tell_source(dilution, out);
    pm_text_addf(out, ARROW "%s", shelf_strength(shelf, dilution->expected, strength));
}

static enum pm_role verdict(const struct wishing *wishing, struct pm_text *out)
{
    struct pm_error err = {0};
    struct pm_dilution_wish wish;
    struct pm_dilution dilution;
    size_t focus;
    if (shelf_is_blank(text_of(wishing, WISH_AMOUNT)) ||
        shelf_is_blank(text_of(wishing, WISH_STRENGTH))) {
        pm_text_add(out, "How much, and how strong: then stands here what to weigh.");
        return PM_ROLE_FAINT;
    }
    enum pm_status status = read_wish(wishing, &wish, &focus, &err);
    if (status == PM_OK)
        status = pm_dilution_plan(wishing->shelf->house->studio, &wish, &dilution, &err);
    if (status != PM_OK) {
        pm_text_add(out, err.text);
        return PM_ROLE_ERROR;
    }
    tell_plan(wishing->shelf, &dilution, out);
    if (dilution.remark)
        pm_text_addf(out, ". %s", dilution.remark);
    pm_dilution_release(&dilution);
    return PM_ROLE_PREVIEW;
}

static enum pm_role changed(struct wishing *wishing, size_t field, const char *text,
                            struct pm_text *out)
{
    pm_free(wishing->texts[field]);
    wishing->texts[field] = pm_strdup(text);
    return verdict(wishing, out);
}

static enum pm_role amount_check(void *context, const char *text, struct pm_text *out)
{
    return changed(context, WISH_AMOUNT, text, out);
}

static enum pm_role strength_check(void *context, const char *text, struct pm_text *out)
{
    return changed(context, WISH_STRENGTH, text, out);
}

static enum pm_role from_check(void *context, const char *text, struct pm_text *out)
{
    return changed(context, WISH_FROM, text, out);
}

static enum pm_role solvent_check(void *context, const char *text, struct pm_text *out)
{
    return changed(context, WISH_SOLVENT, text, out);
}

static enum pm_role balance_check(void *context, const char *text, struct pm_text *out)
{
    return changed(context, WISH_BALANCE, text, out);
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
    struct pm_bottle_cards cards;
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
    pm_bottle_cards_release(&cards);
    return any;
}

/* ---- what was really weighed ---- */

struct weighing {
    struct shelf *shelf;
    struct pm_dilution dilution;      /* owned */
    pm_mass stock, solvent;           /* as typed so far; -1: unreadable */
    char *place, *best_before, *note; /* kept for a second try; owned */
};

static void weighing_free(void *context)
{
    struct weighing *weighing = context;
    pm_dilution_release(&weighing->dilution);
    pm_free(weighing->place);
    pm_free(weighing->best_before);
    pm_free(weighing->note);
    pm_free(weighing);
}

static enum pm_status weighing_do(const struct weighing *weighing, bool even_below,
                                  pm_mass *missing, struct pm_error *err)
{
    struct shelf *shelf = weighing->shelf;
    struct pm_bottle_card card;
    char strength[PM_AMOUNT_TEXT];
    int64_t bottle;
    const struct pm_bottle_form form = {
        .place = weighing->place, .best_before = weighing->best_before, .note = weighing->note};
    enum pm_status status =
        pm_dilution_make(shelf->house->studio, &weighing->dilution, weighing->stock,
                         weighing->solvent, &form, even_below, 0, &bottle, missing, err);
    if (status != PM_OK)
        return status;
    shelf->inside = true;
    shelf->material = weighing->dilution.material;
    shelf_written(shelf, bottle);
    if (pm_bottle_show(shelf->house->studio, bottle, &card, NULL) == PM_OK) {
        pm_app_say(shelf->app, "%s: %s in %s; write that on its label. Saved.", card.label,
                   shelf_strength(shelf, card.strength, strength), weighing->dilution.solvent_name);
        pm_bottle_card_release(&card);
    }
    return PM_OK;
}

static enum pm_status even_below(void *context, size_t option, struct pm_error *err)
{
    return option == 0 ? PM_OK : weighing_do(context, true, NULL, err);
}

/* A copy for the question: the form that asks frees its own. */
static bool ask_below(const struct weighing *weighing, const char *reason)
{
    struct weighing *copy = pm_alloc_array(1, sizeof *copy);
    if (!copy)
        return false;
    *copy = *weighing;
    copy->dilution.name = pm_strdup(weighing->dilution.name);
    copy->dilution.solvent_name = pm_strdup(weighing->dilution.solvent_name);
    copy->dilution.remark = pm_strdup(weighing->dilution.remark);
    copy->place = pm_strdup(weighing->place);
    copy->best_before = pm_strdup(weighing->best_before);
    copy->note = pm_strdup(weighing->note);
    return shelf_ask_below(weighing->shelf, reason, even_below, weighing_free, copy);
}

static void keep_text(char **field, const char *text)
{
    pm_free(*field);
    *field = shelf_is_blank(text) ? NULL : pm_strdup(text);
}

static enum pm_status weighed_accept(void *context, const char *const values[], size_t *focus,
                                     struct pm_error *err)
{
    struct weighing *weighing = context;
    struct pm_error why = {0};
    pm_mass missing = 0;
    *focus = 0;
    if (pm_mass_read(values[0], &weighing->stock, err) != PM_OK)
        return PM_INVALID;
    *focus = 1;
    if (pm_mass_read(values[1], &weighing->solvent, err) != PM_OK)
        return PM_INVALID;
    *focus = 2;
    keep_text(&weighing->best_before, values[2]);
    keep_text(&weighing->place, values[3]);
    keep_text(&weighing->note, values[4]);
    enum pm_status status = weighing_do(weighing, false, &missing, &why);
    if (status == PM_REFUSED && missing > 0 && ask_below(weighing, why.text))
        return PM_OK;
    return status == PM_OK ? PM_OK : pm_fail(err, status, "%s", why.text);
}

static enum pm_role weighed_verdict(const struct weighing *weighing, struct pm_text *out)
{
    const struct pm_dilution *dilution = &weighing->dilution;
    struct pm_error err = {0};
    pm_strength strength;
    char text[PM_AMOUNT_TEXT], wanted[PM_AMOUNT_TEXT];
    const struct shelf *shelf = weighing->shelf;
    if (weighing->stock < 0 || weighing->solvent < 0)
        return PM_ROLE_FAINT;
    if (pm_dilute_result(weighing->stock, dilution->from_strength, weighing->solvent, &strength,
                         &err) != PM_OK) {
        pm_text_add(out, err.text);
        return PM_ROLE_ERROR;
    }
    pm_text_addf(out, "True strength %s; wanted was %s.", shelf_strength(shelf, strength, text),
                 shelf_strength(shelf, dilution->wanted, wanted));
    return PM_ROLE_PREVIEW;
}

static enum pm_role mass_changed(struct weighing *weighing, pm_mass *mass, const char *text,
                                 struct pm_text *out)
{
    struct pm_error err = {0};
    *mass = -1;
    if (!shelf_is_blank(text) && pm_mass_read(text, mass, &err) != PM_OK) {
        *mass = -1;
        pm_text_add(out, err.text);
        return PM_ROLE_ERROR;
    }
    return weighed_verdict(weighing, out);
}

static enum pm_role stock_check(void *context, const char *text, struct pm_text *out)
{
    struct weighing *weighing = context;
    return mass_changed(weighing, &weighing->stock, text, out);
}

static enum pm_role made_up_check(void *context, const char *text, struct pm_text *out)
{
    struct weighing *weighing = context;
    return mass_changed(weighing, &weighing->solvent, text, out);
}

/* What is worth knowing before one weighs. */
static void say_remarks(const struct shelf *shelf, const struct pm_dilution *dilution)
{
    char stock[PM_AMOUNT_TEXT], solvent[PM_AMOUNT_TEXT];
    char sign = shelf->house->sign;
    if (dilution->remark)
        pm_app_warn(shelf->app, "%s", dilution->remark);
    else if (dilution->by_volume)
        pm_app_say(shelf->app,
                   "By volume at 20 \xC2\xB0"
                   "C about %s ml and %s ml, for orientation; the "
                   "balance counts.",
                   pm_decimal_format(dilution->stock_ul, 3,
                                     pm_decimal_places(dilution->stock_ul, 3, 2), sign, stock),
                   pm_decimal_format(dilution->solvent_ul, 3,
                                     pm_decimal_places(dilution->solvent_ul, 3, 2), sign, solvent));
}

/* Takes the dilution over. */
static enum pm_status open_weighing(struct shelf *shelf, struct pm_dilution *dilution,
                                    struct pm_error *err)
{
    struct weighing *weighing = pm_alloc_array(1, sizeof *weighing);
    struct pm_text title = PM_TEXT_EMPTY, solvent = PM_TEXT_EMPTY;
    char stock_mass[PM_AMOUNT_TEXT], solvent_mass[PM_AMOUNT_TEXT], stock[48];
    char label[PM_BOTTLE_LABEL];
    if (!weighing) {
        pm_dilution_release(dilution);
        return pm_fail_memory(err);
    }
    weighing->shelf = shelf;
    weighing->dilution = *dilution;
    weighing->stock = dilution->of_stock;
    weighing->solvent = dilution->of_solvent;
    pm_text_add(&title, "Weigh ");
    tell_plan(shelf, dilution, &title);
    snprintf(stock, sizeof stock, "Weighed of %s", pm_bottle_label(dilution->from, label));
    pm_text_addf(&solvent, "Of %s", dilution->solvent_name);
    const struct pm_form_spec spec = {
        .title = pm_text_get(&title),
        .fields = {{.label = stock,
                    .text = shelf_mass(shelf, dilution->of_stock, stock_mass),
                    .replace = true,
                    .limit = 40,
                    .check = stock_check},
                   {.label = pm_text_get(&solvent),
                    .text = shelf_mass(shelf, dilution->of_solvent, solvent_mass),
                    .replace = true,
                    .limit = 40,
                    .check = made_up_check},
                   {.label = "Best before", .limit = 20, .hint = "A day: 2027-03-02."},
                   {.label = "Place", .hint = "Where it stands."},
                   {.label = "Note"}},
        .field_count = 5,
        .accept = weighed_accept,
        .closed = weighing_free,
        .context = weighing,
    };
    pm_form_open(shelf->app, &spec);
    say_remarks(shelf, dilution);
    pm_text_release(&title);
    pm_text_release(&solvent);
    return PM_OK;
}

/* ---- the first step ---- */

static enum pm_status wish_accept(void *context, const char *const values[], size_t *focus,
                                  struct pm_error *err)
{
    struct wishing *wishing = context;
    struct shelf *shelf = wishing->shelf;
    struct pm_dilution_wish wish;
    struct pm_dilution dilution;
    for (size_t i = 0; i < WISH_FIELDS; i++) {
        pm_free(wishing->texts[i]);
        wishing->texts[i] = pm_strdup(values[i]);
    }
    enum pm_status status = read_wish(wishing, &wish, focus, err);
    if (status == PM_OK)
        status = pm_dilution_plan(shelf->house->studio, &wish, &dilution, err);
    if (status != PM_OK)
        return status;
    snprintf(shelf->balance, sizeof shelf->balance, "%s", values[WISH_BALANCE]);
    snprintf(shelf->solvent, sizeof shelf->solvent, "%s", dilution.solvent_name);
    return open_weighing(shelf, &dilution, err);
}

/* The solvent this material was diluted in last, else the one used last. */
static const char *usual_solvent(const struct shelf *shelf)
{
    const struct pm_bottle_card *newest = NULL;
    for (size_t i = 0; shelf->about.bottles_read && i < shelf->about.bottles.count; i++) {
        const struct pm_bottle_card *card = &shelf->about.bottles.items[i];
        if (card->solvent && (!newest || card->id > newest->id))
            newest = card;
    }
    return newest ? newest->solvent : shelf->solvent;
}

static void dilute(struct shelf *shelf)
{
    struct pm_text title = PM_TEXT_EMPTY;
    struct wishing *wishing = pm_alloc_array(1, sizeof *wishing);
    const struct pm_bottle_card *card = shelf->inside ? shelf_bottle(shelf) : NULL;
    if (!wishing) {
        pm_app_warn(shelf->app, "Out of memory.");
        return;
    }
    wishing->shelf = shelf;
    wishing->material = shelf->material;
    pm_text_addf(&title, "A dilution of %s", shelf_row(shelf)->name);
    const struct pm_form_spec spec = {
        .title = pm_text_get(&title),
        .fields = {[WISH_AMOUNT] = {.label = "How much", .limit = 40, .check = amount_check},
                   [WISH_STRENGTH] = {.label = "How strong",
                                      .text = "10 %",
                                      .replace = true,
                                      .limit = 40,
                                      .check = strength_check},
                   [WISH_FROM] = {.label = "From bottle",
                                  .text = card && card->left > 0 ? card->label : NULL,
                                  .replace = true,
                                  .limit = 40,
                                  .check = from_check,
                                  .complete = complete_from},
                   [WISH_SOLVENT] = {.label = "In solvent",
                                     .text = usual_solvent(shelf),
                                     .replace = true,
                                     .check = solvent_check,
                                     .complete = complete_solvent},
                   [WISH_BALANCE] = {.label = "Balance reads",
                                     .text = shelf->balance,
                                     .replace = true,
                                     .limit = 30,
                                     .check = balance_check}},
        .field_count = WISH_FIELDS,
        .accept = wish_accept,
        .closed = wishing_free,
        .context = wishing,
    };
    pm_form_open(shelf->app, &spec);
    pm_text_release(&title);
}

unsigned shelf_act_dilute(struct shelf *shelf, int code)
{
    if (code != PM_ACT_DILUTE)
        return PM_UNHANDLED;
    if (shelf_needs_bottle(shelf))
        dilute(shelf);
    return PM_REDRAW;
}
