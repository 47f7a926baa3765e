/* SPDX-License-Identifier: MIT */
/* Keys of one's own: which action, then which keys. */
#include "own_keys.h"

#include "app_inside.h"
#include "overlay.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"

#include <string.h>

/* ---- the keys of one ---- */

struct edit {
    struct pm_app *app;
    pm_keep_keys *keep;
    void *context;
    const char *id, *name; /* the tables' own */
    const char *defaults;
};

/* As they are written in the key file: "u Ctrl-Z", or "none". */
static void write_keys(const struct pm_binding *binding, struct pm_text *out)
{
    char name[PM_KEY_TEXT];
    for (size_t i = 0; i < binding->key_count; i++)
        pm_text_addf(out, "%s%s", i > 0 ? " " : "", pm_key_name(binding->keys[i], name));
    if (binding->key_count == 0)
        pm_text_add(out, "none");
}

static enum pm_role edit_check(void *context, const char *const values[], struct pm_text *out)
{
    const struct edit *edit = context;
    struct pm_error why;
    if (pm_keymap_may_give(pm_app_keymap(edit->app), edit->id, values[0], &why) != PM_OK) {
        pm_text_add(out, why.text);
        return PM_ROLE_WARNING;
    }
    if (pm_is_blank(values[0]))
        pm_text_addf(out, "The default again: %s.", edit->defaults[0] ? edit->defaults : "none");
    else
        pm_text_add(out, "Names as u, C, Space, Ctrl-F, Alt-s, F12, with blanks between; none; or "
                         "nothing for the default. Arrows, Enter and Esc stay where they are.");
    return PM_ROLE_FAINT;
}

static enum pm_status edit_accept(void *context, const char *const values[], struct pm_error *err)
{
    const struct edit *edit = context;
    const char *keys = pm_is_blank(values[0]) ? NULL : values[0];
    enum pm_status status =
        pm_keymap_may_give(pm_app_keymap(edit->app), edit->id, keys != NULL ? keys : "", err);
    if (status == PM_OK)
        status = edit->keep(edit->context, edit->id, keys, err);
    return status;
}

static enum pm_status ask(const struct edit *edit, const struct pm_binding *binding)
{
    struct pm_text text = PM_TEXT_EMPTY;
    write_keys(binding, &text);
    const struct pm_form_spec spec = {
        .title = edit->name,
        .fields = {{.key = "keys",
                    .label = "Keys",
                    .text = pm_text_get(&text),
                    .replace = true,
                    .check = edit_check}},
        .field_count = 1,
        .verdict_rows = 2,
        .accept = edit_accept,
        .context = (void *)(uintptr_t)edit,
        .context_size = sizeof *edit,
    };
    pm_form_open(edit->app, &spec);
    pm_text_release(&text);
    return PM_OK;
}

/* ---- which action ---- */

/* An action, or a verb whose actions have ids of their own: its keys are those of the first. */
struct row {
    const struct pm_offered *offer;
    bool of_verb;
};

struct list {
    struct pm_app *app;
    pm_keep_keys *keep;
    void *context;
    struct row *rows; /* owned */
    size_t count;
};

static const char *id_of(const struct row *row)
{
    const struct pm_action *action = row->offer->action;
    return row->of_verb ? pm_verbs[action->verb].id : pm_action_id(action);
}

static const char *name_of(const struct row *row)
{
    const struct pm_action *action = row->offer->action;
    return row->of_verb ? pm_verbs[action->verb].name : pm_action_name(action);
}

static const char *help_of(const struct row *row)
{
    const struct pm_action *action = row->offer->action;
    return row->of_verb ? pm_verbs[action->verb].help : pm_action_help(action);
}

static bool is_listed(const struct list *list, const char *id)
{
    for (size_t i = 0; i < list->count; i++)
        if (strcmp(id_of(&list->rows[i]), id) == 0)
            return true;
    return false;
}

static void add(struct list *list, const struct pm_offered *offer, bool of_verb)
{
    const struct row row = {offer, of_verb};
    if (!is_listed(list, id_of(&row)))
        list->rows[list->count++] = row;
}

/* Verbs first: who wants another key mostly wants it in all rooms. */
static void fill(struct list *list, const struct pm_keymap *map)
{
    for (size_t i = 0; i < map->count; i++)
        if (map->offers[i].action->verb != PM_VERB_NONE)
            add(list, &map->offers[i], true);
    for (size_t i = 0; i < map->count; i++)
        add(list, &map->offers[i], false);
}

static void add_where(const struct list *list, const struct row *row, struct pm_text *out)
{
    const int room = row->offer->room;
    if (row->of_verb || room == PM_ANYWHERE)
        pm_text_add(out, "every room");
    else
        pm_text_add(out, list->app->spec.rooms[room]->name);
}

static void list_words(void *context, size_t index, struct pm_text *out)
{
    const struct list *list = context;
    const struct row *row = &list->rows[index];
    pm_text_addf(out, "%s %s ", name_of(row), id_of(row));
    pm_binding_keys(pm_offered_binding(&list->app->keymap, row->offer), out);
    pm_text_add_char(out, ' ');
    add_where(list, row, out);
}

static void list_row(void *context, size_t index, struct pm_pick_row *out)
{
    const struct list *list = context;
    const struct row *row = &list->rows[index];
    pm_text_add(&out->cells[0], name_of(row));
    pm_binding_keys(pm_offered_binding(&list->app->keymap, row->offer), &out->cells[1]);
    add_where(list, row, &out->cells[2]);
    pm_text_add(&out->cells[3], help_of(row));
}

static enum pm_status list_accept(void *context, size_t index, const char *text,
                                  struct pm_error *err)
{
    const struct list *list = context;
    const struct row *row = &list->rows[index];
    const struct pm_binding *binding = pm_offered_binding(&list->app->keymap, row->offer);
    const struct edit edit = {.app = list->app,
                              .keep = list->keep,
                              .context = list->context,
                              .id = id_of(row),
                              .name = name_of(row),
                              .defaults = binding->defaults};
    (void)text;
    (void)err;
    return ask(&edit, binding);
}

static void list_closed(void *context)
{
    struct list *list = context;
    pm_free(list->rows);
}

void pm_own_keys_open(struct pm_app *app, pm_keep_keys *keep, void *context)
{
    struct list list = {.app = app, .keep = keep, .context = context};
    list.rows = pm_alloc_array(2 * app->keymap.count + 1, sizeof *list.rows);
    if (list.rows == NULL) {
        pm_overlay_failed(app, NULL);
        return;
    }
    fill(&list, &app->keymap);
    const struct pm_picker_spec spec = {
        .title = "Own keys",
        .label = "Action",
        .columns = {{.heading = "action", .wish = 24},
                    {.heading = "keys", .wish = 14},
                    {.heading = "where", .wish = 10},
                    {.heading = "what it does", .wish = 4, .grows = true}},
        .column_count = 4,
        .count = list.count,
        .words = list_words,
        .row = list_row,
        .accept = list_accept,
        .whole = 2,
        .closed = list_closed,
        .context = &list,
        .context_size = sizeof list,
    };
    pm_picker_open(app, &spec);
}
