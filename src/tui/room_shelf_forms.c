/* SPDX-License-Identifier: MIT */
/* The Shelf: entering materials and bottles, taking out, counting, moving, setting aside. */
#include "room_shelf.h"

#include "overlay.h"

#include "permille/base/clock.h"
#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/core/cas.h"

#include <stdio.h>
#include <string.h>

#define SOLVENTS 2000 /* materials looked through for solvents */

static const char *const kind_choices[] = {"chemical", "natural", "solvent", "blend", NULL};

static bool is_blank(const char *text)
{
    return text[strspn(text, " ")] == '\0';
}

/* Forms of the studio take an empty field of a new thing as NULL. */
static const char *given(const char *text)
{
    return is_blank(text) ? NULL : text;
}

/* ---- completions ---- */

bool shelf_complete_solvent(void *context, const char *before, size_t round, struct pm_text *out)
{
    const struct shelf *shelf = context;
    struct pm_material_entries found;
    if (pm_shelf_search(shelf->house->studio, before, SOLVENTS, false, &found, NULL) != PM_OK)
        return false;
    bool any = false;
    for (size_t i = 0; i < found.count && !any; i++) {
        if (!found.items[i].is_solvent)
            continue;
        any = round == 0;
        if (any)
            pm_text_add(out, found.items[i].name);
        round--;
    }
    pm_material_entries_release(&found);
    return any;
}

/* What other bottles say in the same place: suppliers, places. */
static bool complete_from_bottles(const struct shelf *shelf, size_t offset, const char *before,
                                  size_t round, struct pm_text *out)
{
    struct pm_bottle_cards cards;
    const struct pm_bottle_filter filter = {.text = before, .have = true};
    const char *seen[64];
    size_t count = 0;
    bool any = false;
    if (pm_bottles_list(shelf->house->studio, &filter, &cards, NULL) != PM_OK)
        return false;
    char *wanted = pm_fold(before);
    for (size_t i = 0; wanted && i < cards.count && !any; i++) {
        const char *text = *(char *const *)((const char *)&cards.items[i] + offset);
        char *folded = text ? pm_fold(text) : NULL;
        bool known = !folded || strncmp(folded, wanted, strlen(wanted)) != 0;
        for (size_t k = 0; k < count && !known; k++)
            known = strcmp(seen[k], text) == 0;
        pm_free(folded);
        if (known || count == sizeof seen / sizeof *seen)
            continue;
        any = count == round;
        seen[count++] = text;
        if (any)
            pm_text_add(out, text);
    }
    pm_free(wanted);
    pm_bottle_cards_release(&cards);
    return any;
}

static bool complete_supplier(void *context, const char *before, size_t round, struct pm_text *out)
{
    return complete_from_bottles(context, offsetof(struct pm_bottle_card, supplier), before, round,
                                 out);
}

static bool complete_place(void *context, const char *before, size_t round, struct pm_text *out)
{
    return complete_from_bottles(context, offsetof(struct pm_bottle_card, place), before, round,
                                 out);
}

/* ---- a new material ---- */

/* "Iso; other name" into pieces; the text is cut up. */
static size_t split_synonyms(char *text, const char **out, size_t most)
{
    size_t count = 0;
    char *rest = text;
    for (char *piece = strsep(&rest, ";"); piece && count < most; piece = strsep(&rest, ";")) {
        if (!is_blank(piece))
            out[count++] = piece;
    }
    return count;
}

static enum pm_status material_accept(void *context, const char *const values[], size_t *focus,
                                      struct pm_error *err)
{
    struct shelf *shelf = context;
    const char *synonyms[16];
    char *text = pm_strdup(values[3]), cas[PM_CAS_TEXT];
    int64_t id;
    if (!text)
        return pm_fail_memory(err);
    const struct pm_material_form form = {
        .name = values[0],
        .kind = values[1],
        .cas = given(values[2]),
        .family = given(values[4]),
        .note = given(values[5]),
        .synonyms = synonyms,
        .synonym_count = split_synonyms(text, synonyms, sizeof synonyms / sizeof *synonyms),
    };
    enum pm_status status = pm_shelf_add(shelf->house->studio, &form, &id, err);
    pm_free(text);
    *focus = form.cas && pm_cas_read(form.cas, cas, NULL) != PM_OK ? 2 : 0;
    if (status != PM_OK)
        return status;
    shelf_written(shelf, 0);
    shelf_show_material(shelf, id);
    pm_app_say(shelf->app, "%s is on the shelf. Saved.", values[0]);
    return PM_OK;
}

void shelf_new_material(struct shelf *shelf, const char *name)
{
    const struct pm_form_spec spec = {
        .title = "A new material",
        .fields = {{.label = "Name", .text = name},
                   {.label = "Kind", .choices = kind_choices, .text = kind_choices[0]},
                   {.label = "CAS number",
                    .hint = "May stay empty. The check digit is verified.",
                    .limit = 60},
                   {.label = "Other names", .hint = "Several are separated by semicolons."},
                   {.label = "Family",
                    .text = shelf->family,
                    .hint = "Your own word for how it smells: green, woody."},
                   {.label = "Note"}},
        .field_count = 6,
        .accept = material_accept,
        .context = shelf,
    };
    pm_form_open(shelf->app, &spec);
}

/* ---- a new bottle ---- */

enum {
    NEW_AMOUNT,
    NEW_STRENGTH,
    NEW_SOLVENT,
    NEW_PRICE,
    NEW_SUPPLIER,
    NEW_LOT,
    NEW_BOUGHT,
    NEW_OPENED,
    NEW_BEST_BEFORE,
    NEW_PLACE,
    NEW_TARE,
    NEW_NOTE,
    NEW_FIELDS
};

static enum pm_status bottle_accept(void *context, const char *const values[], size_t *focus,
                                    struct pm_error *err)
{
    struct shelf *shelf = context;
    pm_mass received = 0;
    int64_t id;
    char label[PM_BOTTLE_LABEL];
    *focus = NEW_AMOUNT;
    if (!is_blank(values[NEW_AMOUNT]) && pm_mass_read(values[NEW_AMOUNT], &received, err) != PM_OK)
        return PM_INVALID;
    const struct pm_bottle_form form = {
        .strength = given(values[NEW_STRENGTH]),
        .solvent = given(values[NEW_SOLVENT]),
        .price = given(values[NEW_PRICE]),
        .supplier = given(values[NEW_SUPPLIER]),
        .lot = given(values[NEW_LOT]),
        .bought = given(values[NEW_BOUGHT]),
        .opened = given(values[NEW_OPENED]),
        .best_before = given(values[NEW_BEST_BEFORE]),
        .place = given(values[NEW_PLACE]),
        .tare = given(values[NEW_TARE]),
        .note = given(values[NEW_NOTE]),
    };
    enum pm_status status =
        pm_bottle_add(shelf->house->studio, shelf->asked_material, received, &form, 0, &id, err);
    if (status != PM_OK)
        return status;
    shelf->inside = true;
    shelf_written(shelf, id);
    pm_app_say(shelf->app, "%s stands on the shelf: write that on its label. Saved.",
               pm_bottle_label(id, label));
    return PM_OK;
}

/* The newest bottle bought of the material: the next one most likely comes from there. */
static const struct pm_bottle_card *newest_bought(const struct shelf *shelf)
{
    const struct pm_bottle_card *newest = NULL;
    for (size_t i = 0; shelf->about.bottles_read && i < shelf->about.bottles.count; i++) {
        const struct pm_bottle_card *card = &shelf->about.bottles.items[i];
        if (card->made_from == 0 && (!newest || card->bought >= newest->bought))
            newest = card;
    }
    return newest;
}

static enum pm_role amount_check(void *context, const char *text, struct pm_text *out)
{
    struct pm_error err = {0};
    pm_mass mass;
    (void)context;
    if (is_blank(text)) {
        pm_text_add(out, "How much is in it: 25 g, 500 mg. Empty: an empty bottle.");
        return PM_ROLE_FAINT;
    }
    if (pm_mass_read(text, &mass, &err) == PM_OK)
        return PM_ROLE_FAINT;
    pm_text_add(out, err.text);
    return PM_ROLE_ERROR;
}

static void add_bottle(struct shelf *shelf)
{
    struct pm_text title = PM_TEXT_EMPTY;
    char today[PM_TIME_TEXT], strength[PM_AMOUNT_TEXT];
    const struct pm_bottle_card *last = newest_bought(shelf);
    shelf->asked_material = shelf->material;
    pm_text_addf(&title, "A bottle of %s", shelf_row(shelf)->name);
    const struct pm_form_spec spec = {
        .title = pm_text_get(&title),
        .fields =
            {[NEW_AMOUNT] = {.label = "Amount", .limit = 40, .check = amount_check},
             [NEW_STRENGTH] = {.label = "Strength",
                               .text = pm_strength_format(last ? last->strength : PM_NEAT,
                                                          shelf->house->sign, strength),
                               .replace = true,
                               .limit = 40,
                               .hint = "neat, 10 %, 0.1 %."},
             [NEW_SOLVENT] = {.label = "In",
                              .text = last ? last->solvent : NULL,
                              .replace = true,
                              .complete = shelf_complete_solvent,
                              .hint = "The solvent, unless neat. Tab goes through them."},
             [NEW_PRICE] = {.label = "Price", .limit = 40, .hint = "19.20 EUR; empty: unknown."},
             [NEW_SUPPLIER] = {.label = "Supplier",
                               .text = last ? last->supplier : NULL,
                               .replace = true,
                               .complete = complete_supplier,
                               .hint = "Where to buy it again. Tab goes through those known."},
             [NEW_LOT] = {.label = "Lot"},
             [NEW_BOUGHT] = {.label = "Bought",
                             .text = pm_time_date(pm_app_now(shelf->app), today),
                             .replace = true,
                             .limit = 20,
                             .hint = "A day: 2026-03-02."},
             [NEW_OPENED] = {.label = "Opened", .limit = 20, .hint = "Empty: not opened yet."},
             [NEW_BEST_BEFORE] = {.label = "Best before",
                                  .limit = 20,
                                  .hint = "A day: 2028-03-02. Empty: unknown."},
             [NEW_PLACE] = {.label = "Place",
                            .text = last ? last->place : NULL,
                            .replace = true,
                            .complete = complete_place,
                            .hint = "Where it stands. Tab goes through the places."},
             [NEW_TARE] = {.label = "Tare",
                           .limit = 40,
                           .hint = "The empty bottle with its cap: then it can be counted full."},
             [NEW_NOTE] = {.label = "Note"}},
        .field_count = NEW_FIELDS,
        .accept = bottle_accept,
        .context = shelf,
    };
    pm_form_open(shelf->app, &spec);
    pm_text_release(&title);
}

/* ---- below zero: asked first ---- */

struct taking {
    struct shelf *shelf;
    int64_t bottle;
    struct pm_taking taking;
    char *batch, *note; /* owned */
};

static void taking_free(void *context)
{
    struct taking *taking = context;
    pm_free(taking->batch);
    pm_free(taking->note);
    pm_free(taking);
}

static enum pm_status taking_do(const struct taking *taking, pm_mass *missing, struct pm_error *err)
{
    struct shelf *shelf = taking->shelf;
    char mass[PM_AMOUNT_TEXT], label[PM_BOTTLE_LABEL];
    enum pm_status status =
        pm_bottle_take(shelf->house->studio, taking->bottle, &taking->taking, missing, err);
    if (status != PM_OK)
        return status;
    shelf_written(shelf, 0);
    pm_app_say(shelf->app, "%s: %s %s. Saved.", pm_bottle_label(taking->bottle, label),
               shelf_mass(shelf, taking->taking.mass, mass), taking->taking.kind);
    return PM_OK;
}

static enum pm_status even_below(void *context, size_t option, struct pm_error *err)
{
    struct taking *taking = context;
    if (option == 0)
        return PM_OK;
    taking->taking.even_below = true;
    return taking_do(taking, NULL, err);
}

/* Takes the taking over. */
static void ask_below(struct taking *taking, const char *reason)
{
    const struct pm_choice_spec spec = {
        .title = "More than the ledger has",
        .question = reason,
        .options = {{'l', "leave everything as it was"},
                    {'w', "write it all the same; the next count puts it right"}},
        .option_count = 2,
        .accept = even_below,
        .closed = taking_free,
        .context = taking,
    };
    pm_choice_open(taking->shelf->app, &spec);
}

/* ---- taking out, putting in ---- */

static const char *const taking_choices[] = {"poured", "spilled", "discarded", "received", NULL};

static enum pm_status take_accept(void *context, const char *const values[], size_t *focus,
                                  struct pm_error *err)
{
    struct shelf *shelf = context;
    pm_mass mass, missing = 0;
    struct pm_error why = {0};
    *focus = 0;
    if (pm_mass_read(values[0], &mass, err) != PM_OK)
        return PM_INVALID;
    struct taking *taking = pm_alloc_array(1, sizeof *taking);
    if (!taking)
        return pm_fail_memory(err);
    taking->shelf = shelf;
    taking->bottle = shelf->asked_bottle;
    taking->batch = pm_strdup(given(values[2]));
    taking->note = pm_strdup(given(values[3]));
    taking->taking = (struct pm_taking){.kind = values[1], .mass = mass};
    for (size_t i = 0; taking_choices[i]; i++) {
        if (strcmp(taking_choices[i], values[1]) == 0)
            taking->taking.kind = taking_choices[i]; /* outlives the form */
    }
    taking->taking.batch = taking->batch;
    taking->taking.note = taking->note;
    enum pm_status status = taking_do(taking, &missing, &why);
    if (status == PM_REFUSED && missing > 0) {
        ask_below(taking, why.text);
        return PM_OK;
    }
    taking_free(taking);
    return status == PM_OK ? PM_OK : pm_fail(err, status, "%s", why.text);
}

static enum pm_role take_check(void *context, const char *text, struct pm_text *out)
{
    const struct shelf *shelf = context;
    const struct pm_bottle_card *card = shelf_bottle(shelf);
    struct pm_error err = {0};
    char left[PM_AMOUNT_TEXT];
    pm_mass mass;
    if (!is_blank(text) && pm_mass_read(text, &mass, &err) != PM_OK) {
        pm_text_add(out, err.text);
        return PM_ROLE_ERROR;
    }
    if (card)
        pm_text_addf(out, "%s are left.", shelf_mass(shelf, card->left, left));
    return PM_ROLE_FAINT;
}

static void take(struct shelf *shelf)
{
    struct pm_text title = PM_TEXT_EMPTY;
    shelf->asked_bottle = shelf->bottle;
    pm_text_add(&title, "Out of or into ");
    shelf_bottle_title(shelf, shelf_bottle(shelf), &title);
    const struct pm_form_spec spec = {
        .title = pm_text_get(&title),
        .fields = {{.label = "Amount", .limit = 40, .check = take_check},
                   {.label = "It was",
                    .choices = taking_choices,
                    .text = taking_choices[0],
                    .hint = "Left and Right: poured, spilled, discarded; received puts in."},
                   {.label = "For", .hint = "What it was poured for; may stay empty."},
                   {.label = "Note"}},
        .field_count = 4,
        .accept = take_accept,
        .context = shelf,
    };
    pm_form_open(shelf->app, &spec);
    pm_text_release(&title);
}

/* ---- counting ---- */

static const char *const with_choices[] = {"with the bottle", "without the bottle", NULL};

/* What the scale shows, less the tare when the bottle stands on it as well. */
static enum pm_status read_found(const struct shelf *shelf, const char *text, bool with_bottle,
                                 pm_mass *found, struct pm_error *err)
{
    const struct pm_bottle_card *card = shelf_bottle(shelf);
    char shown[PM_AMOUNT_TEXT], tare[PM_AMOUNT_TEXT];
    enum pm_status status = pm_mass_read(text, found, err);
    if (status != PM_OK || !with_bottle || !card)
        return status;
    if (*found < card->tare)
        return pm_fail(err, PM_INVALID, "%s is less than the empty bottle, which weighs %s.",
                       shelf_mass(shelf, *found, shown), shelf_mass(shelf, card->tare, tare));
    *found -= card->tare;
    return PM_OK;
}

/* What the form holds at the moment, for the verdict. */
struct counting {
    struct shelf *shelf;
    char *text; /* of the scale; owned */
    bool with_bottle, has_tare;
};

static void counting_free(void *context)
{
    struct counting *counting = context;
    pm_free(counting->text);
    pm_free(counting);
}

static enum pm_role count_verdict(const struct counting *counting, struct pm_text *out)
{
    const struct shelf *shelf = counting->shelf;
    const struct pm_bottle_card *card = shelf_bottle(shelf);
    struct pm_error err = {0};
    char left[PM_AMOUNT_TEXT], now[PM_AMOUNT_TEXT], by[PM_AMOUNT_TEXT];
    pm_mass found;
    if (!card)
        return PM_ROLE_FAINT;
    if (!counting->text || is_blank(counting->text)) {
        pm_text_addf(out, "The ledger says %s.", shelf_mass(shelf, card->left, left));
        return PM_ROLE_FAINT;
    }
    if (read_found(shelf, counting->text, counting->with_bottle, &found, &err) != PM_OK) {
        pm_text_add(out, err.text);
        return PM_ROLE_ERROR;
    }
    pm_mass change = found - card->left;
    pm_text_addf(out, "%s in it; the ledger says %s", shelf_mass(shelf, found, now),
                 shelf_mass(shelf, card->left, left));
    if (change == 0)
        pm_text_add(out, ": it agrees.");
    else
        pm_text_addf(out, ": %s %s.", shelf_mass(shelf, change < 0 ? -change : change, by),
                     change < 0 ? "less" : "more");
    return PM_ROLE_PREVIEW;
}

static enum pm_role count_check(void *context, const char *text, struct pm_text *out)
{
    struct counting *counting = context;
    pm_free(counting->text);
    counting->text = pm_strdup(text);
    return count_verdict(counting, out);
}

static enum pm_role with_check(void *context, const char *text, struct pm_text *out)
{
    struct counting *counting = context;
    counting->with_bottle = strcmp(text, with_choices[0]) == 0;
    return count_verdict(counting, out);
}

static enum pm_status count_accept(void *context, const char *const values[], size_t *focus,
                                   struct pm_error *err)
{
    const struct counting *counting = context;
    struct shelf *shelf = counting->shelf;
    size_t field = counting->has_tare ? 2 : 1;
    bool with_bottle = counting->has_tare && strcmp(values[1], with_choices[0]) == 0;
    char mass[PM_AMOUNT_TEXT], label[PM_BOTTLE_LABEL];
    pm_mass found;
    *focus = 0;
    enum pm_status status = read_found(shelf, values[0], with_bottle, &found, err);
    if (status == PM_OK)
        status = pm_bottle_count(shelf->house->studio, shelf->asked_bottle, found,
                                 given(values[field]), 0, err);
    if (status != PM_OK)
        return status;
    shelf_written(shelf, 0);
    pm_app_say(shelf->app, "%s: counted, %s left. Saved.",
               pm_bottle_label(shelf->asked_bottle, label), shelf_mass(shelf, found, mass));
    return PM_OK;
}

static void count(struct shelf *shelf)
{
    struct pm_text title = PM_TEXT_EMPTY;
    const struct pm_bottle_card *card = shelf_bottle(shelf);
    struct counting *counting = pm_alloc_array(1, sizeof *counting);
    if (!counting) {
        pm_app_warn(shelf->app, "Out of memory.");
        return;
    }
    counting->shelf = shelf;
    counting->has_tare = counting->with_bottle = card->tare > 0;
    shelf->asked_bottle = shelf->bottle;
    pm_text_add(&title, "Count ");
    shelf_bottle_title(shelf, card, &title);
    struct pm_form_spec spec = {
        .title = pm_text_get(&title),
        .fields = {{.label = "The scale shows", .limit = 40, .check = count_check}},
        .field_count = 1,
        .accept = count_accept,
        .closed = counting_free,
        .context = counting,
    };
    if (counting->has_tare)
        spec.fields[spec.field_count++] = (struct pm_form_field){.label = "Weighed",
                                                                 .choices = with_choices,
                                                                 .text = with_choices[0],
                                                                 .check = with_check};
    spec.fields[spec.field_count++] = (struct pm_form_field){.label = "Note"};
    pm_form_open(shelf->app, &spec);
    pm_text_release(&title);
}

/* ---- the place ---- */

static enum pm_status move_accept(void *context, const char *text, struct pm_error *err)
{
    struct shelf *shelf = context;
    const struct pm_bottle_form form = {.place = text};
    enum pm_status status = pm_bottle_edit(shelf->house->studio, shelf->asked_bottle, &form, err);
    if (status != PM_OK)
        return status;
    shelf_written(shelf, 0);
    pm_app_say(shelf->app, "Moved. Saved.");
    return PM_OK;
}

static void move_bottle(struct shelf *shelf)
{
    struct pm_text title = PM_TEXT_EMPTY;
    shelf->asked_bottle = shelf->bottle;
    pm_text_add(&title, "Where to put ");
    shelf_bottle_title(shelf, shelf_bottle(shelf), &title);
    const struct pm_prompt_spec spec = {.title = pm_text_get(&title),
                                        .label = "Place",
                                        .text = shelf_bottle(shelf)->place,
                                        .replace = true,
                                        .complete = complete_place,
                                        .accept = move_accept,
                                        .context = shelf};
    pm_prompt_open(shelf->app, &spec);
    pm_text_release(&title);
}

/* ---- emptied, set aside, the starter materials ---- */

static void empty_bottle(struct shelf *shelf)
{
    struct pm_error err = {0};
    char label[PM_BOTTLE_LABEL], key[PM_KEY_TEXT];
    int64_t bottle = shelf->bottle;
    if (pm_bottle_empty(shelf->house->studio, bottle, NULL, &err) != PM_OK) {
        pm_app_error(shelf->app, &err);
        return;
    }
    shelf_written(shelf, 0);
    pm_app_say(shelf->app, "%s is empty and set aside; %s brings it back. Saved.",
               pm_bottle_label(bottle, label),
               pm_keymap_key(pm_app_keymap(shelf->app), PM_ACT_UNDO, PM_MODE_SHEET, key));
}

static void aside_bottle(struct shelf *shelf)
{
    struct pm_error err = {0};
    char label[PM_BOTTLE_LABEL];
    int64_t bottle = shelf->bottle;
    bool aside = !shelf_bottle(shelf)->set_aside;
    if (pm_bottle_set_aside(shelf->house->studio, bottle, aside, &err) != PM_OK) {
        pm_app_error(shelf->app, &err);
        return;
    }
    shelf_written(shelf, 0);
    pm_app_say(shelf->app, "%s is %s. Saved.", pm_bottle_label(bottle, label),
               aside ? "set aside, with its ledger" : "back on the shelf");
}

/* A material that nothing refers to is removed; one in use is set aside; both can be undone. */
static void aside_material(struct shelf *shelf)
{
    struct pm_error err = {0};
    bool set_aside = false;
    struct pm_studio *studio = shelf->house->studio;
    bool back = shelf->about.card_read && shelf->about.card.set_aside;
    char *name = pm_strdup(shelf_row(shelf)->name);
    enum pm_status status = back ? pm_shelf_set_aside(studio, shelf->material, false, &err)
                                 : pm_shelf_remove(studio, shelf->material, &set_aside, &err);
    if (status != PM_OK) {
        pm_app_error(shelf->app, &err);
    } else {
        shelf_written(shelf, 0);
        pm_app_say(shelf->app, "%s is %s. Saved.", name ? name : "It",
                   back        ? "back"
                   : set_aside ? "set aside: in use, so it stays where it stands"
                               : "removed; undo brings it back");
    }
    pm_free(name);
}

static void bring_starter(struct shelf *shelf)
{
    struct pm_error err = {0};
    struct pm_import_result result;
    if (pm_shelf_import_starter(shelf->house->studio, &result, &err) != PM_OK) {
        pm_app_error(shelf->app, &err);
        return;
    }
    shelf_written(shelf, 0);
    pm_app_say(shelf->app,
               "Starter materials: %lld new, %lld brought up to date, %lld as they were. Your own "
               "values stay.",
               (long long)result.added, (long long)result.updated, (long long)result.same);
}

static unsigned act_bottle(struct shelf *shelf, int code)
{
    if (!shelf_needs_bottle(shelf))
        return PM_REDRAW;
    shelf->inside = true;
    switch (code) {
    case PM_ACT_TAKE:
        take(shelf);
        break;
    case PM_ACT_COUNT:
        count(shelf);
        break;
    case PM_ACT_MOVE_BOTTLE:
        move_bottle(shelf);
        break;
    default:
        empty_bottle(shelf);
    }
    return PM_REDRAW;
}

unsigned shelf_act_form(struct shelf *shelf, int code)
{
    switch (code) {
    case PM_ACT_NEW_MATERIAL:
        shelf_new_material(shelf, NULL);
        return PM_REDRAW;
    case PM_ACT_ADD_BOTTLE:
        if (shelf_needs_material(shelf))
            add_bottle(shelf);
        return PM_REDRAW;
    case PM_ACT_TAKE:
    case PM_ACT_COUNT:
    case PM_ACT_MOVE_BOTTLE:
    case PM_ACT_EMPTY_BOTTLE:
        return act_bottle(shelf, code);
    case PM_ACT_SET_ASIDE:
        if (shelf->inside ? shelf_needs_bottle(shelf) : shelf_needs_material(shelf))
            (shelf->inside ? aside_bottle : aside_material)(shelf);
        return PM_REDRAW;
    case PM_ACT_STARTER:
        bring_starter(shelf);
        return PM_REDRAW;
    default:
        return PM_UNHANDLED;
    }
}
