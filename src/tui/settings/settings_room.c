/* SPDX-License-Identifier: MIT */
/* The Settings room: what is chosen once, its default, what it does. */
#include "kit/find.h"
#include "kit/list.h"
#include "kit/overlay.h"
#include "kit/own_keys.h"
#include "kit/room.h"
#include "kit/table.h"
#include "rooms.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/base/word.h"
#include "permille/studio/scale.h"
#include "permille/studio/settings.h"

#include <string.h>

#define GROUP "Settings"
#define SHEET PM_MODE_SHEET

struct settings_room {
    struct pm_app *app; /* first: rooms.h */
    struct pm_house *house;
    struct pm_setting_rows rows;
    struct pm_table_view view;
    /* The last change, to be taken back: of a setting, or of the keys of an action or a verb, or
     * neither; and what it was before (NULL: the usual). */
    const struct pm_setting *changed;
    char *keys_of, *before; /* owned */
};

static const struct pm_setting_row *selected(const struct settings_room *room)
{
    return room->view.row < room->rows.count ? &room->rows.items[room->view.row] : NULL;
}

/* ---- reading ---- */

static enum pm_status read_again(void *state, const char **what, struct pm_error *err)
{
    struct settings_room *room = state;
    struct pm_setting_rows rows;
    (void)what; /* a setting stays in its row */
    const enum pm_status status = pm_settings_list(room->house->studio, &rows, err);
    if (status != PM_OK)
        return status;
    pm_list_release(&room->rows);
    room->rows = rows;
    pm_table_changed(&room->view);
    return PM_OK;
}

/* ---- changing ---- */

/* Takes over both strings. */
static void remember(struct settings_room *room, const struct pm_setting *setting, char *keys_of,
                     char *before)
{
    pm_free(room->keys_of);
    pm_free(room->before);
    room->changed = setting;
    room->keys_of = keys_of;
    room->before = before;
}

/* The key file says something else now, or is another. */
static void read_keys(struct settings_room *room)
{
    struct pm_error err;
    char *text = NULL;
    if (pm_machine_keys(&text, &err) == PM_OK)
        pm_app_user_keys(room->app, text);
    else
        pm_app_error(room->app, &err);
    pm_free(text);
}

/* Sets the setting and remembers what it was; what is shown everywhere follows. */
static enum pm_status change(struct settings_room *room, const struct pm_setting *setting,
                             const char *text, struct pm_error *err)
{
    const struct pm_setting_row *row = &room->rows.items[setting - pm_setting_table];
    char *before = row->set ? pm_strdup(row->value) : NULL;
    if (row->set && before == NULL)
        return pm_fail_memory(err);
    const enum pm_status status = pm_settings_set(room->house->studio, setting, text, err);
    if (status != PM_OK) {
        pm_free(before);
        return status;
    }
    remember(room, setting, NULL, before);
    if (setting == &pm_setting_table[PM_SETTING_BATCH])
        room->house->batch = 0; /* the one asked for in this session gives way */
    pm_house_read_settings(room->house);
    if (setting == &pm_setting_table[PM_SETTING_THEME])
        pm_app_theme(room->app, room->house->settings.theme);
    else if (setting == &pm_setting_table[PM_SETTING_KEYS])
        read_keys(room);
    pm_app_changed(room->app, PM_ROOM_SETTINGS);
    return read_again(room, &(const char *){NULL}, err);
}

static void say_now(struct settings_room *room, const struct pm_setting *setting)
{
    const char *value = room->rows.items[setting - pm_setting_table].value;
    pm_app_say(room->app, "%s: %s. Saved %s.", setting->title, value[0] != '\0' ? value : "none",
               pm_setting_kept(setting->place));
}

struct edit {
    struct settings_room *room;
    const struct pm_setting *setting;
};

static enum pm_status edit_accept(void *context, const char *const values[], struct pm_error *err)
{
    const struct edit *edit = context;
    const enum pm_status status = change(edit->room, edit->setting, values[0], err);
    if (status == PM_OK)
        say_now(edit->room, edit->setting);
    return status;
}

static enum pm_role edit_check(void *context, const char *const values[], struct pm_text *out)
{
    const struct edit *edit = context;
    struct pm_text clean = PM_TEXT_EMPTY;
    struct pm_error why = {0};
    enum pm_role role = PM_ROLE_FAINT;
    if (pm_is_blank(values[0])) {
        pm_text_addf(out, "Empty goes back to the default: %s.",
                     edit->setting->usual[0] != '\0' ? edit->setting->usual : "none");
    } else if (pm_setting_clean(edit->setting, values[0], &clean, &why) != PM_OK) {
        pm_text_add(out, why.text);
        role = PM_ROLE_WARNING;
    } else {
        pm_text_addf(out, "%s Allowed: %s.", edit->setting->help, edit->setting->allowed);
    }
    pm_text_release(&clean);
    return role;
}

/* The round-th balance whose name holds what was typed. */
static bool complete_balance(void *context, const char *before, size_t round, struct pm_text *out)
{
    const struct edit *edit = context;
    struct pm_balance_rows rows;
    bool found = false;
    char *wanted = pm_fold(before);
    if (wanted == NULL || pm_balances(edit->room->house->studio, &rows, NULL) != PM_OK) {
        pm_free(wanted);
        return false;
    }
    for (size_t i = 0; i < rows.count && !found; i++) {
        char *name = pm_fold(rows.items[i].name);
        found = name != NULL && strstr(name, wanted) != NULL && round-- == 0;
        if (found)
            pm_text_add(out, rows.items[i].name);
        pm_free(name);
    }
    pm_list_release(&rows);
    pm_free(wanted);
    return found;
}

static void edit_selected(void *state)
{
    struct settings_room *room = state;
    const struct pm_setting_row *row = selected(room);
    struct edit edit = {.room = room, .setting = row->is};
    const struct pm_form_spec spec = {
        .title = row->is->title,
        .fields = {{.key = row->is->key,
                    .label = row->is->title,
                    .text = row->value,
                    .words = row->is->words,
                    .replace = true,
                    .check = edit_check,
                    .complete = row->is == &pm_setting_table[PM_SETTING_BALANCE] ? complete_balance
                                                                                 : NULL}},
        .field_count = 1,
        .accept = edit_accept,
        .writes = true,
        .context = &edit,
        .context_size = sizeof edit,
    };
    pm_form_open(room->app, &spec);
}

static enum pm_status go_back(void *state, struct pm_error *err)
{
    struct settings_room *room = state;
    const struct pm_setting *setting = selected(room)->is;
    const enum pm_status status = change(room, setting, NULL, err);
    if (status == PM_OK)
        say_now(room, setting);
    return status;
}

/* ---- keys of one's own ---- */

/* Keeps them and remembers what they were. */
static enum pm_status change_keys(struct settings_room *room, const char *id, const char *keys,
                                  struct pm_error *err)
{
    char *before = NULL, *of = pm_strdup(id);
    enum pm_status status =
        of != NULL ? pm_machine_keys_get(id, &before, err) : pm_fail_memory(err);
    if (status == PM_OK)
        status = pm_machine_keys_put(id, keys, err);
    if (status != PM_OK) {
        pm_free(of);
        pm_free(before);
        return status;
    }
    remember(room, NULL, of, before);
    read_keys(room);
    pm_app_say(room->app, "Keys of %s: %s. Saved on this machine.", id,
               keys != NULL ? keys : "the default ones");
    return PM_OK;
}

static enum pm_status keep_keys(void *context, const char *id, const char *keys,
                                struct pm_error *err)
{
    return change_keys(context, id, keys, err);
}

static void own_keys(void *state)
{
    const struct settings_room *room = state;
    pm_own_keys_open(room->app, keep_keys, state);
}

/* ---- taking back ---- */

static enum pm_status put_back(struct settings_room *room, const char *text, struct pm_error *err)
{
    const struct pm_setting *setting = room->changed;
    if (setting == NULL) {
        char *of = pm_strdup(room->keys_of);
        const enum pm_status status =
            of != NULL ? change_keys(room, of, text, err) : pm_fail_memory(err);
        pm_free(of);
        return status;
    }
    const enum pm_status status = change(room, setting, text, err);
    if (status == PM_OK)
        say_now(room, setting);
    return status;
}

/* Taking back what was taken back brings it again. */
static enum pm_status take_back(void *state, struct pm_error *err)
{
    struct settings_room *room = state;
    const bool usual = room->before == NULL;
    char *text = pm_strdup(room->before); /* what is put back gives way to what it replaces */
    const enum pm_status status =
        usual || text != NULL ? put_back(room, text, err) : pm_fail_memory(err);
    pm_free(text);
    return status;
}

static bool on_one(void *state)
{
    return selected(state) != NULL;
}

static bool is_set(void *state)
{
    struct settings_room *room = state;
    const struct pm_setting_row *row = selected(room);
    if (row != NULL && !row->set)
        pm_app_say(room->app, "%s is at its default.", row->is->title);
    return row != NULL && row->set;
}

static bool was_changed(void *state)
{
    struct settings_room *room = state;
    const bool some = room->changed != NULL || room->keys_of != NULL;
    if (!some)
        pm_app_say(room->app, "Nothing was changed here since the program was started.");
    return some;
}

static void find(void *state);

static const struct pm_action rows[] = {
    {"find-setting", "find", "Goes to a setting: type part of its row.", GROUP, NULL, SHEET,
     .verb = PM_VERB_SEARCH, .run = find},
    {"edit-setting", "change", "Asks for another value.", GROUP, NULL, SHEET, .verb = PM_VERB_OPEN,
     .ready = on_one, .run = edit_selected},
    {"unset", "back to default", "Takes the value away: the default counts again.", GROUP, NULL,
     SHEET, .verb = PM_VERB_DROP, .ready = is_set, .write = go_back},
    {"own-keys", "own keys", "Gives an action other keys, in one room or all; says what clashes.",
     GROUP, NULL, SHEET, .verb = PM_VERB_OWN, .also = "shortcut keyboard remap binding",
     .run = own_keys},
    {.verb = PM_VERB_UNDO,
     .help = "Takes the last change made here back, and again brings it back.",
     .group = GROUP,
     .modes = SHEET,
     .ready = was_changed,
     .write = take_back},
};
static const struct pm_action_table actions = {rows, sizeof rows / sizeof *rows};

/* ---- the table ---- */

enum { TITLE, VALUE, USUAL, KEPT, HELP, COLUMNS };

static enum pm_role cell(void *context, size_t at, size_t column, struct pm_text *out)
{
    const struct settings_room *room = context;
    const struct pm_setting_row *row = &room->rows.items[at];
    switch (column) {
    case TITLE:
        pm_text_add(out, row->is->title);
        return PM_ROLE_NORMAL;
    case VALUE:
        pm_text_add(out, row->value[0] != '\0' ? row->value : "none");
        return row->fault != NULL ? PM_ROLE_WARNING : row->set ? PM_ROLE_HEADING : PM_ROLE_FAINT;
    case USUAL:
        /* Where the value is the default it is not said twice. */
        if (row->set)
            pm_text_add(out, row->is->usual[0] != '\0' ? row->is->usual : "none");
        return PM_ROLE_FAINT;
    case KEPT:
        pm_text_add(out, pm_setting_place_word(row->is->place));
        return PM_ROLE_FAINT;
    default:
        pm_text_add(out, row->is->help);
        return PM_ROLE_FAINT;
    }
}

/* A setting whose kept value does not count. */
static enum pm_role mark(void *context, size_t at, struct pm_text *out)
{
    const struct settings_room *room = context;
    if (room->rows.items[at].fault != NULL)
        pm_text_add(out, "!");
    return PM_ROLE_WARNING;
}

static struct pm_table table_of(struct settings_room *room)
{
    static const struct pm_column columns[COLUMNS] = {
        [TITLE] = {.key = "title", .heading = "setting", .wish = 16, .fixed = true},
        [VALUE] = {.key = "value",
                   .heading = "value",
                   .least = 12,
                   .most = 60,
                   .yields = 1,
                   .measured = true},
        [USUAL] = {.key = "default",
                   .heading = "default",
                   .wish = 8,
                   .least = 8,
                   .most = 60,
                   .yields = 2,
                   .measured = true},
        [KEPT] = {.key = "kept", .heading = "kept in", .wish = 8},
        [HELP] = {.key = "help", .heading = "what it does", .wish = 30, .grows = true, .from = 120},
    };
    return (struct pm_table){.columns = columns,
                             .column_count = COLUMNS,
                             .rows = room->rows.count,
                             .context = room,
                             .cell = cell,
                             .mark = mark};
}

/* ---- the room ---- */

static enum pm_status room_open(struct pm_app *app, void **state, struct pm_error *err)
{
    struct settings_room *room = pm_alloc_array(1, sizeof *room);
    if (room == NULL)
        return pm_fail_memory(err);
    room->app = app;
    room->house = pm_app_host(app);
    *state = room;
    return PM_OK;
}

static void room_close(void *state)
{
    struct settings_room *room = state;
    pm_list_release(&room->rows);
    remember(room, NULL, NULL, NULL);
    pm_free(room);
}

static struct pm_table table_now(void *state)
{
    return table_of(state);
}

static void go(void *state, size_t row)
{
    struct settings_room *room = state;
    room->view.row = row;
}

static void find(void *state)
{
    const struct settings_room *room = state;
    const struct pm_find_spec spec = {.title = "Find a setting",
                                      .label = "Setting",
                                      .none = "There is nothing to look for.",
                                      .state = state,
                                      .table = table_now,
                                      .go = go};
    pm_find_open(room->app, &spec);
}

static void room_draw(void *state, const struct pm_canvas *canvas)
{
    struct settings_room *room = state;
    struct pm_table table = table_of(room);
    table.covered = canvas->covered;
    pm_table_draw(&table, &room->view, &canvas->sheet);
}

static unsigned room_act(void *state, int code)
{
    struct settings_room *room = state;
    const struct pm_table table = table_of(room);
    if (code == PM_ACT_CANCEL) {
        pm_app_go(room->app, PM_ROOM_BENCH);
        return PM_REDRAW;
    }
    return pm_table_act(&table, &room->view, code, NULL) ? PM_REDRAW : PM_UNHANDLED;
}

static enum pm_role room_remark(const void *state, bool details, struct pm_text *out)
{
    (void)details;
    const struct pm_setting_row *row = selected(state);
    if (row == NULL)
        return PM_ROLE_FAINT;
    if (row->fault != NULL) {
        pm_text_addf(out, "What is kept does not count: %s", row->fault);
        return PM_ROLE_WARNING;
    }
    pm_text_addf(out, "%s Allowed: %s.", row->is->help, row->is->allowed);
    return PM_ROLE_FAINT;
}

static const char *const hints[] = {"edit-setting unset own-keys undo back", NULL};

const struct pm_room pm_room_settings = {
    .id = "settings",
    .name = "Settings",
    .keys = "M F9",
    .help = "What is chosen once: base and mode, batch, currency, times to smell, colours.",
    .open = room_open,
    .read = read_again,
    .draw = room_draw,
    .actions = &actions,
    .act = room_act,
    .hints = hints,
    .remark = room_remark,
    .close = room_close,
};
