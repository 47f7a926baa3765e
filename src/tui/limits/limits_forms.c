/* SPDX-License-Identifier: MIT */
/* The Limits room: what is asked and what is written. */
#include "limits_room.h"

#include "kit/overlay.h"
#include "kit/printing.h"

#include "permille/base/mem.h"

#include <stdio.h>
#include <string.h>

/* ---- what it is judged for ---- */

enum { FOR_DOSAGE, FOR_CATEGORY, FOR_USE, FOR_BASIS, FOR_FIELDS };

static enum pm_status for_accept(void *context, const char *const values[], struct pm_error *err)
{
    struct limits_room *room = context;
    struct pm_limits_wish wish;
    const int64_t formula = room->house->formula;
    enum pm_status status = pm_limits_wish(room->house->studio, formula, &wish, err);
    if (status == PM_OK)
        status = pm_limits_read_wish(room->house->studio, values[FOR_DOSAGE], values[FOR_CATEGORY],
                                     values[FOR_USE], values[FOR_BASIS], &wish, err);
    if (status == PM_OK)
        status = pm_limits_set_wish(room->house->studio, formula, &wish, err);
    if (status != PM_OK)
        return status;
    pm_app_changed(room->app, PM_ROOM_LIMITS);
    limits_read(room);
    return PM_OK;
}

/* The category that is typed, in words. */
static enum pm_role for_check(void *context, const char *const values[], struct pm_text *out)
{
    struct limits_room *room = context;
    struct pm_categories list = {0};
    enum pm_role role = PM_ROLE_WARNING;
    struct pm_error err = {0};
    struct pm_limits_wish wish = {.dosage = PM_NEAT, .category = "4"};
    enum pm_status status = pm_limits_read_wish(room->house->studio, NULL, values[FOR_CATEGORY],
                                                NULL, NULL, &wish, &err);
    if (status == PM_OK)
        status = pm_limits_categories(room->house->studio, &list, &err);
    for (size_t i = 0; status == PM_OK && i < list.count; i++)
        if (strcmp(list.items[i].id, wish.category) == 0) {
            pm_text_addf(out, "%s", list.items[i].description);
            role = PM_ROLE_FAINT;
        }
    if (status != PM_OK)
        pm_text_add(out, err.text);
    pm_list_release(&list);
    return role;
}

void limits_for(void *state)
{
    struct limits_room *room = state;
    struct pm_limits_wish wish;
    struct pm_error err = {0};
    char dosage[PM_AMOUNT_TEXT];
    if (room->house->formula == 0) {
        pm_app_say(room->app, "No formula is open.");
        return;
    }
    if (pm_limits_wish(room->house->studio, room->house->formula, &wish, &err) != PM_OK) {
        pm_app_error(room->app, &err);
        return;
    }
    const struct pm_form_spec spec = {
        .title = "What it is judged for",
        .fields = {[FOR_DOSAGE] = {.key = "dosage",
                                   .label = "Dosage",
                                   .text =
                                       pm_strength_format(wish.dosage, room->house->sign, dosage),
                                   .hint = "Of the concentrate in the finished product.",
                                   .replace = true},
                   [FOR_CATEGORY] = {.key = "category",
                                     .label = "Category",
                                     .text = wish.category,
                                     .check = for_check,
                                     .replace = true},
                   [FOR_USE] = {.key = "use",
                                .label = "Sold as",
                                .text = pm_use_word(wish.use),
                                .words = "fine fragrance|eau de toilette|fragrance cream",
                                .hint = "Laws tell these apart in category 4."},
                   [FOR_BASIS] = {.key = "basis",
                                  .label = "Of a range counts",
                                  .text = pm_content_basis_word(wish.basis),
                                  .words = "most|typical",
                                  .hint = "The highest figure of a natural's range, or the typical "
                                          "one."}},
        .field_count = FOR_FIELDS,
        .accept = for_accept,
        .writes = true,
        .context = room,
    };
    pm_form_open(room->app, &spec);
}

/* ---- figures of one's own ---- */

enum { OWN_NAME, OWN_SCOPE, OWN_PERCENT, OWN_SOURCE, OWN_DATED, OWN_NOTE, OWN_FIELDS };

static enum pm_status own_accept(void *context, const char *const values[], struct pm_error *err)
{
    struct limits_room *room = context;
    const struct pm_own_limit own = {.name = values[OWN_NAME],
                                     .scope = values[OWN_SCOPE],
                                     .percent = values[OWN_PERCENT],
                                     .source = values[OWN_SOURCE],
                                     .dated = values[OWN_DATED],
                                     .note = values[OWN_NOTE]};
    int64_t id;
    enum pm_status status = pm_limits_add_own(room->house->studio, &own, &id, err);
    if (status != PM_OK)
        return status;
    pm_app_changed(room->app, PM_ROOM_LIMITS);
    limits_read(room);
    return PM_OK;
}

void limits_own(void *state)
{
    struct limits_room *room = state;
    const struct pm_limits_row *row = limits_selected(room);
    const struct pm_form_spec spec = {
        .title = "A figure of your own",
        .fields = {[OWN_NAME] = {.key = "name",
                                 .label = "Substance",
                                 .text = row == NULL            ? ""
                                         : row->finding != NULL ? row->finding->rule->title
                                                                : row->title},
                   [OWN_SCOPE] = {.key = "scope",
                                  .label = "Category",
                                  .text = room->judged ? room->limits.wish.category : "4",
                                  .hint = "1 to 12, such as 4 or 5A; or all, leave-on, rinse-off.",
                                  .replace = true},
                   [OWN_PERCENT] = {.key = "percent",
                                    .label = "Limit in %",
                                    .hint = "Of the finished product; NR: no limit."},
                   [OWN_SOURCE] = {.key = "source",
                                   .label = "Source",
                                   .hint = "Whose paper it is from: a supplier's certificate, a "
                                           "newer edition."},
                   [OWN_DATED] = {.key = "dated", .label = "Date or edition"},
                   [OWN_NOTE] = {.key = "note", .label = "Note"}},
        .field_count = OWN_FIELDS,
        .accept = own_accept,
        .writes = true,
        .context = room,
    };
    pm_form_open(room->app, &spec);
}

/* The newest figure of one's own about the selected row; 0: none. */
static int64_t own_of(struct limits_room *room)
{
    const struct pm_limits_row *row = limits_selected(room);
    struct pm_own_rows rows = {0};
    int64_t id = 0;
    if (row == NULL || row->finding == NULL ||
        pm_limits_own(room->house->studio, &rows, NULL) != PM_OK)
        return 0;
    for (size_t k = 0; k <= row->other_count; k++) {
        const struct pm_book_rule *rule = k == 0 ? row->finding->rule : row->others[k - 1].rule;
        for (size_t i = 0; rule->own && i < rows.count; i++)
            if (strcmp(rows.items[i].name, rule->name) == 0 ||
                strcmp(rows.items[i].name, rule->title) == 0)
                id = rows.items[i].id;
    }
    pm_list_release(&rows);
    return id;
}

bool limits_on_own(void *state)
{
    struct limits_room *room = state;
    bool own = own_of(room) != 0;
    if (!own)
        pm_app_say(room->app, "There is no figure of your own about it.");
    return own;
}

static enum pm_status drop_accept(void *context, struct pm_error *err)
{
    struct limits_room *room = context;
    enum pm_status status = pm_limits_remove_own(room->house->studio, own_of(room), err);
    if (status != PM_OK)
        return status;
    pm_app_changed(room->app, PM_ROOM_LIMITS);
    limits_read(room);
    return PM_OK;
}

/* No key brings it back, so it asks first. */
void limits_drop_own(void *state)
{
    struct limits_room *room = state;
    const struct pm_choice_spec spec = {
        .title = "Take away",
        .question = "Take your own figure away? It would have to be typed again, with its source.",
        .options = {{'n', "no, it stays"}, {'y', "take it away"}},
        .option_count = 2,
        .agreed = drop_accept,
        .writes = true,
        .context = room};
    pm_choice_open(room->app, &spec);
}

/* ---- sets ---- */

static void set_row(void *context, size_t index, struct pm_pick_row *row)
{
    const struct limits_room *room = context;
    const struct pm_rule_set *set = &room->sets.items[index];
    pm_text_add(&row->cells[0], set->in_use ? "in use" : "left out");
    pm_text_add(&row->cells[1], set->name);
    pm_text_addf(&row->cells[2], "%zu", set->rules);
    pm_text_add(&row->cells[3], set->what);
    row->role = set->in_use ? PM_ROLE_NORMAL : PM_ROLE_FAINT;
}

static void set_words(void *context, size_t index, struct pm_text *out)
{
    const struct limits_room *room = context;
    pm_text_add(out, room->sets.items[index].name);
}

static enum pm_status set_accept(void *context, size_t index, const char *text,
                                 struct pm_error *err)
{
    struct limits_room *room = context;
    const struct pm_rule_set *set = &room->sets.items[index];
    (void)text;
    enum pm_status status = pm_limits_use_set(room->house->studio, set->name, !set->in_use, err);
    if (status != PM_OK)
        return status;
    pm_app_changed(room->app, PM_ROOM_LIMITS);
    limits_read(room);
    return PM_OK;
}

void limits_sets(void *state)
{
    struct limits_room *room = state;
    struct pm_error err = {0};
    struct pm_rule_sets sets;
    if (pm_limits_sets(room->house->studio, &sets, &err) != PM_OK) {
        pm_app_error(room->app, &err);
        return;
    }
    pm_list_release(&room->sets);
    room->sets = sets;
    const struct pm_picker_spec spec = {
        .title = "Sets of rules: Enter takes one into use, or out of it",
        .label = "Set",
        .columns = {{.heading = "", .wish = 8},
                    {.heading = "set", .wish = 20},
                    {.heading = "rows", .wish = 5, .align = PM_ALIGN_RIGHT},
                    {.heading = "what it is", .wish = 20, .grows = true}},
        .column_count = 4,
        .count = sets.count,
        .words = set_words,
        .row = set_row,
        .accept = set_accept,
        .writes = true,
        .whole = 2,
        .context = room,
    };
    pm_picker_open(room->app, &spec);
}

/* ---- words on the label ---- */

static enum pm_status field_accept(void *context, const char *const values[], struct pm_error *err)
{
    struct limits_room *room = context;
    return pm_label_set_field(room->house->studio, values[0], values[1], err);
}

void limits_label_field(void *state)
{
    struct limits_room *room = state;
    const struct pm_form_spec spec = {
        .title = "Words of your own on every label",
        .fields = {{.key = "name", .label = "Field", .hint = "Made by, Batch, Use before."},
                   {.key = "text", .label = "Text", .hint = "Empty takes the field away."}},
        .field_count = 2,
        .accept = field_accept,
        .writes = true,
        .context = room,
    };
    pm_form_open(room->app, &spec);
}

/* ---- printing ---- */

static enum pm_status print_limits(void *context, enum pm_paper paper, struct pm_text *out,
                                   struct pm_error *err)
{
    const struct limits_room *room = context;
    const struct pm_sheet *sheet = pm_bench_shown(room->app);
    if (sheet == NULL)
        return pm_fail(err, PM_MISSING, "No formula is open in the Bench.");
    return pm_limits_print(room->house->studio, sheet, &room->limits.wish, paper, room->house->sign,
                           out, err);
}

void limits_print(void *state)
{
    struct limits_room *room = state;
    const struct pm_print_spec spec = {.title = "Limits and label into a file",
                                       .name = "limits",
                                       .forms = PM_PRINT_PAGES,
                                       .make = print_limits,
                                       .context = room};
    pm_print_open(room->app, &spec);
}

/* ---- the nearest formula within ---- */

static void fit_row(void *context, size_t index, struct pm_pick_row *row)
{
    const struct limits_room *room = context;
    const struct pm_fit_line *line = &room->fit.items[room->changed[index]];
    const char sign = room->house->sign;
    char number[PM_AMOUNT_TEXT];
    pm_text_add(&row->cells[0], line->title);
    pm_text_add(&row->cells[1],
                pm_decimal_format(line->was, 6, pm_decimal_places(line->was, 6, 2), sign, number));
    pm_text_add(
        &row->cells[2],
        pm_decimal_format(line->parts, 6, pm_decimal_places(line->parts, 6, 2), sign, number));
    row->role = PM_ROLE_NORMAL;
}

static void fit_words(void *context, size_t index, struct pm_text *out)
{
    const struct limits_room *room = context;
    pm_text_add(out, room->fit.items[room->changed[index]].title);
}

static enum pm_status fit_accept(void *context, size_t index, const char *text,
                                 struct pm_error *err)
{
    struct limits_room *room = context;
    struct pm_sheet *sheet = NULL;
    (void)index;
    (void)text;
    enum pm_status status = pm_plan_commit(room->house->studio, room->fit.plan, &sheet, err);
    if (status != PM_OK)
        return status;
    pm_sheet_free(sheet);
    pm_app_changed(room->app, PM_ROOM_LIMITS);
    limits_read(room);
    return PM_OK;
}

static void add_binding(const struct pm_limits_fit *fit, struct pm_text *out)
{
    for (size_t i = 0; i < fit->binding.count; i++)
        pm_text_addf(out, "%s%s", i > 0 ? "; " : "", fit->binding.items[i]);
}

static void open_fit(struct limits_room *room)
{
    struct pm_text title = PM_TEXT_EMPTY, binding = PM_TEXT_EMPTY;
    char number[PM_AMOUNT_TEXT];
    pm_text_addf(&title, "Fit, %s parts moved: Enter takes it, Esc leaves it as it is",
                 pm_decimal_format(room->fit.moved, 6, pm_decimal_places(room->fit.moved, 6, 2),
                                   room->house->sign, number));
    add_binding(&room->fit, &binding);
    pm_app_say(room->app, "Held by: %s.", pm_text_get(&binding));
    pm_text_release(&binding);
    const struct pm_picker_spec spec = {
        .title = pm_text_get(&title),
        .label = "Line",
        .columns = {{.heading = "line", .wish = 24, .grows = true},
                    {.heading = "was", .wish = 12, .align = PM_ALIGN_POINT},
                    {.heading = "becomes", .wish = 12, .align = PM_ALIGN_POINT}},
        .column_count = 3,
        .count = room->changed_count,
        .words = fit_words,
        .row = fit_row,
        .accept = fit_accept,
        .writes = true,
        .context = room,
    };
    pm_picker_open(room->app, &spec);
    pm_text_release(&title);
}

/* Says why there is nothing to take; false when there is. */
static bool say_no_fit(struct limits_room *room)
{
    const struct pm_limits_fit *fit = &room->fit;
    struct pm_text text = PM_TEXT_EMPTY;
    char number[PM_AMOUNT_TEXT];
    if (fit->plan != NULL)
        return false;
    add_binding(fit, &text);
    if (fit->fits && fit->moved == 0)
        pm_app_say(room->app, "Every known limit is kept as it is.");
    else if (fit->fits)
        pm_app_say(room->app, "A kept trial never changes: fit the draft.");
    else if (fit->highest > 0)
        pm_app_warn(room->app, "Nothing fits. Against each other: %s. Up to %s %% would do.",
                    pm_text_get(&text),
                    pm_decimal_format(fit->highest - fit->highest % 10000, 7, 3, room->house->sign,
                                      number));
    else
        pm_app_warn(room->app, "Nothing fits: %s.", pm_text_get(&text));
    pm_text_release(&text);
    return true;
}

void limits_fit(void *state)
{
    struct limits_room *room = state;
    const struct pm_sheet *sheet = pm_bench_shown(room->app);
    const struct pm_fit_wish wish = {.limits = room->limits.wish};
    struct pm_error err = {0};
    struct pm_limits_fit fit;
    if (sheet == NULL)
        return;
    if (pm_limits_fit(room->house->studio, sheet, &wish, &fit, &err) != PM_OK) {
        pm_app_error(room->app, &err);
        return;
    }
    pm_limits_fit_release(&room->fit);
    pm_free(room->changed);
    room->fit = fit;
    room->changed_count = 0;
    room->changed = pm_alloc_array(fit.count + 1, sizeof *room->changed);
    if (room->changed == NULL) {
        pm_app_warn(room->app, "Out of memory.");
        return;
    }
    for (size_t i = 0; i < fit.count; i++)
        if (fit.items[i].was != fit.items[i].parts)
            room->changed[room->changed_count++] = i;
    if (!say_no_fit(room))
        open_fit(room);
}

/* ---- what is not undone here ---- */

void limits_no_undo(void *state)
{
    const struct limits_room *room = state;
    char away[PM_KEY_TEXT], undo[PM_KEY_TEXT];
    pm_app_say(room->app,
               "%s takes a figure of your own away again; a formula that was fitted, %s brings "
               "back on the Bench.",
               pm_app_key(room->app, "drop-own-limit", away), pm_app_key(room->app, "undo", undo));
}
