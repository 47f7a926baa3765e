/* SPDX-License-Identifier: MIT */
/* The formulas of the library: opening, making, and what can be done with the one that is open. */
#include "rooms.h"

#include "kit/overlay.h"

#include "permille/base/mem.h"
#include "permille/studio/bench.h"

#include <stdio.h>
#include <string.h>

static const char *const kind_choices[] = {"perfume", "accord", NULL};
static const char *const mode_choices[] = {"core", "share", "carrier", "open", NULL};

static struct pm_house *house_of(struct pm_app *app)
{
    return pm_app_host(app);
}

/* ---- a new one ---- */

static enum pm_status new_accept(void *context, const char *const values[], struct pm_error *err)
{
    struct pm_app *app = context;
    pm_parts base;
    enum pm_mode mode = PM_CORE_MODE;
    int64_t id;
    enum pm_status status = pm_parts_read(values[1], 0, 1000 * PM_PART, &base, err);
    if (status != PM_OK)
        return pm_error_at(err, "base", status);
    pm_mode_from_word(values[3], &mode);
    bool accord = strcmp(values[2], kind_choices[1]) == 0;
    status = pm_formula_new(house_of(app)->studio, values[0], accord, base, mode, &id, err);
    if (status == PM_OK)
        status = pm_bench_show_draft(app, id, err);
    if (status == PM_OK)
        pm_app_say(app, "The new formula is saved; it is empty.");
    return pm_error_at(err, "name", status);
}

/* The formulas as a picker; making a new one (`name` to begin with, or NULL); what can be done
 * with the one that is open. */
static void new_formula(struct pm_app *app, const char *name)
{
    const struct pm_settings *usual = &house_of(app)->settings;
    char base[PM_AMOUNT_TEXT];
    const struct pm_form_spec spec = {
        .title = "A new formula",
        .fields = {{.key = "name", .label = "Name", .text = name},
                   {.key = "base",
                    .label = "Base",
                    .text = pm_decimal_exact(usual->base, 6, house_of(app)->sign, base),
                    .replace = true,
                    .hint = "The total it is written to: 100, 1000 or any other.",
                    .limit = 40},
                   {.label = "Meant as",
                    .choices = kind_choices,
                    .text = kind_choices[0],
                    .hint = "An accord is meant to be used inside others."},
                   {.label = "Mode",
                    .choices = mode_choices,
                    .text = pm_mode_word(usual->mode),
                    .hint = "Who gives way when a line changes: cores, all, the carrier, none."}},
        .field_count = 4,
        .accept = new_accept,
        .writes = true,
        .context = app,
    };
    pm_form_open(app, &spec);
}

/* ---- the list ---- */

struct list {
    struct pm_app *app;
    bool aside; /* lists those set aside, to bring one back */
    struct pm_formulas found;
};

static void list_closed(void *context)
{
    struct list *list = context;
    pm_list_release(&list->found);
}

/* Only those set aside stay, in their order. */
static void keep_aside(struct pm_formulas *entries)
{
    size_t kept = 0;
    for (size_t i = 0; i < entries->count; i++) {
        struct pm_formula entry = entries->items[i];
        if (!entry.set_aside)
            continue;
        entries->items[i] = entries->items[kept];
        entries->items[kept++] = entry;
    }
    entries->count = kept;
}

static size_t list_filter(void *context, const char *text, bool *more)
{
    struct list *list = context;
    struct pm_error err = {0};
    (void)more;
    pm_list_release(&list->found);
    list->found = (struct pm_formulas){0};
    if (pm_formulas_list(house_of(list->app)->studio, text, list->aside, &list->found, &err) !=
        PM_OK) {
        pm_app_error(list->app, &err);
        list->found = (struct pm_formulas){0};
    }
    if (list->aside)
        keep_aside(&list->found);
    return list->found.count;
}

static void add_lines(struct pm_text *out, const struct pm_formula *entry, char sign)
{
    char total[PM_AMOUNT_TEXT], base[PM_AMOUNT_TEXT];
    pm_decimal_exact(entry->base, 6, sign, base);
    if (entry->lines == 0)
        pm_text_addf(out, "empty, base %s", base);
    else if (entry->total == entry->base)
        pm_text_addf(out, "%zu line%s, %s", entry->lines, entry->lines == 1 ? "" : "s", base);
    else
        pm_text_addf(out, "%zu line%s, %s of %s", entry->lines, entry->lines == 1 ? "" : "s",
                     pm_decimal_format(entry->total, 6, 2, sign, total), base);
}

static void list_row(void *context, size_t index, struct pm_pick_row *row)
{
    const struct list *list = context;
    const struct pm_formula *entry = &list->found.items[index];
    char time[PM_TIME_TEXT];
    pm_text_add(&row->cells[0], entry->name);
    pm_text_add(&row->cells[1], entry->accord ? "accord" : "");
    add_lines(&row->cells[2], entry, house_of(list->app)->sign);
    if (entry->kept > 0)
        pm_text_addf(&row->cells[3], "%lld", (long long)entry->kept);
    pm_text_add(&row->cells[4], pm_time_ago(entry->changed_at, pm_app_now(list->app), time));
    row->role = entry->accord ? PM_ROLE_ACCORD : PM_ROLE_NORMAL;
}

/* Whoever looks at trials or smell notes and takes another formula looks at those of that one. */
static enum pm_status show_in_room(struct pm_app *app, int64_t formula, struct pm_error *err)
{
    const int room = pm_app_room(app);
    enum pm_status status = pm_bench_show_draft(app, formula, err);
    if (status == PM_OK && room != pm_app_room(app))
        pm_app_go(app, room);
    return status;
}

static enum pm_status list_accept(void *context, size_t index, const char *text,
                                  struct pm_error *err)
{
    struct list *list = context;
    const struct pm_formula *entry = &list->found.items[index];
    enum pm_status status = PM_OK;
    (void)text;
    if (list->aside)
        status = pm_formula_set_aside(house_of(list->app)->studio, entry->id, false, err);
    if (status == PM_OK)
        status = show_in_room(list->app, entry->id, err);
    if (status == PM_OK && list->aside)
        pm_app_say(list->app, "%s is back among the formulas. Saved.", entry->name);
    return status;
}

static enum pm_status list_none(void *context, const char *text, struct pm_error *err)
{
    const struct list *list = context;
    (void)err;
    new_formula(list->app, text);
    return PM_OK;
}

static void list_open(struct pm_app *app, bool aside)
{
    struct list list = {.app = app, .aside = aside};
    const struct pm_picker_spec spec = {
        .title = aside ? "Bring back a formula that was set aside" : "Formulas",
        .label = "Name",
        .columns = {{.heading = "formula", .wish = 4, .grows = true},
                    {.heading = "", .wish = 6},
                    {.heading = "draft", .wish = 22},
                    {.heading = "kept", .wish = 4, .align = PM_ALIGN_RIGHT},
                    {.heading = "changed", .wish = 10}},
        .column_count = 5,
        .filter = list_filter,
        .row = list_row,
        .accept = list_accept,
        .writes = aside,
        .none = aside ? NULL : list_none,
        .none_hint = aside ? "None of those set aside is called so."
                           : "No formula is called so. Enter makes a new one.",
        .none_yet = aside ? "None is set aside."
                          : "There is no formula yet. Type a name; Enter makes a new one.",
        .closed = list_closed,
        .context = &list,
        .context_size = sizeof list,
    };
    pm_picker_open(app, &spec);
}

void pm_formulas_invite(const struct pm_app *app, const struct pm_pane *pane, int row)
{
    pm_pane_put(pane, row, 2, PM_ROLE_NORMAL, "No formula is open.");
    pm_app_invite(app, pane, row + 2, "formulas", "opens one that is in the library");
    pm_app_invite(app, pane, row + 3, "new-formula", "begins a new one: give it a name");
    pm_pane_cursor(pane, row + 2, 2);
}

void pm_formulas_list_here(void *state)
{
    list_open(pm_app_of(state), false);
}

void pm_formulas_new_here(void *state)
{
    new_formula(pm_app_of(state), NULL);
}

/* ---- the one that is open ---- */

/* What stands in the Bench: the formula, and the trial that is shown of it. */
struct this_one {
    struct pm_app *app;
    int64_t formula, trial;
    bool accord;
    char *name;
};

static void this_closed(void *context)
{
    struct this_one *one = context;
    pm_free(one->name);
}

static enum pm_status this_read(struct this_one *one, struct pm_error *err)
{
    struct pm_sheet *sheet;
    struct pm_house *house = house_of(one->app);
    if (house->formula == 0)
        return pm_fail(err, PM_MISSING, "No formula is open.");
    enum pm_status status = pm_sheet_open_draft(house->studio, house->formula, &sheet, err);
    if (status != PM_OK)
        return status;
    one->formula = house->formula;
    one->trial = sheet->trial_id;
    one->accord = sheet->accord;
    one->name = pm_strdup(sheet->name);
    pm_sheet_free(sheet);
    return one->name != NULL ? PM_OK : pm_fail_memory(err);
}

/* False, and says why, where nothing is open or it cannot be read. */
static bool this_begin(struct this_one *one, struct pm_app *app)
{
    struct pm_error err = {0};
    *one = (struct this_one){.app = app};
    if (this_read(one, &err) == PM_OK)
        return true;
    pm_app_error(app, &err);
    return false;
}

/* The sheet's heading tells the name and the kind, so the Bench has to read it again. */
static enum pm_status show_again(const struct this_one *one, struct pm_error *err)
{
    pm_app_changed(one->app, PM_ROOM_BENCH);
    return pm_bench_show_draft(one->app, one->formula, err);
}

static enum pm_status rename_accept(void *context, const char *text, struct pm_error *err)
{
    const struct this_one *one = context;
    enum pm_status status = pm_formula_rename(house_of(one->app)->studio, one->formula, text, err);
    if (status == PM_OK)
        status = show_again(one, err);
    if (status == PM_OK)
        pm_app_say(one->app, "%s has a new name. Saved.", one->name);
    return status;
}

static enum pm_status copy_accept(void *context, const char *text, struct pm_error *err)
{
    const struct this_one *one = context;
    int64_t id;
    enum pm_status status = pm_formula_copy(house_of(one->app)->studio, one->trial, text, &id, err);
    if (status == PM_OK)
        status = pm_bench_show_draft(one->app, id, err);
    if (status == PM_OK)
        pm_app_say(one->app, "A copy of %s; the two go their own ways from here. Saved.",
                   one->name);
    return status;
}

static void ask_name(struct pm_app *app, bool copy)
{
    struct this_one one;
    struct pm_text title = PM_TEXT_EMPTY;
    if (!this_begin(&one, app))
        return;
    pm_text_addf(&title, "%s %s", copy ? "Copy" : "Rename", one.name);
    const struct pm_prompt_spec spec = {.title = pm_text_get(&title),
                                        .label = copy ? "Name of the copy" : "New name",
                                        .text = copy ? NULL : one.name,
                                        .accept = copy ? copy_accept : rename_accept,
                                        .writes = true,
                                        .closed = this_closed,
                                        .context = &one,
                                        .context_size = sizeof one};
    pm_prompt_open(app, &spec);
    pm_text_release(&title);
}

static enum pm_status set_aside(const struct this_one *one, struct pm_error *err)
{
    struct pm_studio *studio = house_of(one->app)->studio;
    struct pm_formulas left;
    enum pm_status status = pm_formula_set_aside(studio, one->formula, true, err);
    if (status == PM_OK)
        status = pm_formulas_list(studio, NULL, false, &left, err);
    if (status != PM_OK)
        return status;
    status = pm_bench_show_draft(one->app, left.count > 0 ? left.items[0].id : 0, err);
    pm_list_release(&left);
    char key[PM_KEY_TEXT];
    pm_app_key(one->app, "this-formula", key);
    pm_app_say(one->app, "%s is set aside, with everything in it; %s brings it back. Saved.",
               one->name, key);
    return status;
}

enum { KEEP, COPY, RENAME, MARK, ASIDE, BRING_BACK };

static enum pm_status this_accept(void *context, size_t option, struct pm_error *err)
{
    const struct this_one *one = context;
    enum pm_status status;
    switch (option) {
    case COPY:
    case RENAME:
        ask_name(one->app, option == COPY);
        return PM_OK;
    case MARK:
        status =
            pm_formula_mark_accord(house_of(one->app)->studio, one->formula, !one->accord, err);
        if (status == PM_OK)
            status = show_again(one, err);
        if (status == PM_OK)
            pm_app_say(one->app, "%s is %s. Saved.", one->name,
                       one->accord ? "no accord any more" : "an accord now");
        return status;
    case ASIDE:
        return set_aside(one, err);
    case BRING_BACK:
        list_open(one->app, true);
        return PM_OK;
    default:
        return PM_OK;
    }
}

void pm_formulas_this_here(void *state)
{
    struct pm_app *app = pm_app_of(state);
    if (house_of(app)->formula == 0) {
        list_open(app, true);
        return;
    }
    struct this_one one;
    if (!this_begin(&one, app))
        return;
    const struct pm_choice_spec spec = {
        .title = one.name,
        .question = "What is to be done with this formula?",
        .options = {{'n', "nothing"},
                    {'c', "copy it under another name"},
                    {'r', "rename it"},
                    {'a', one.accord ? "it is no accord any more" : "it is an accord"},
                    {'s', "set it aside: out of the lists, never deleted"},
                    {'b', "bring back another one that was set aside"}},
        .option_count = 6,
        .accept = this_accept,
        .writes = true,
        .closed = this_closed,
        .context = &one,
        .context_size = sizeof one,
    };
    pm_choice_open(app, &spec);
}
