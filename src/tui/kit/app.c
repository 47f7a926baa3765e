/* SPDX-License-Identifier: MIT */
/* The application: made, freed, and where events are handled. */
#include "app_inside.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"

#include <stdio.h>
#include <string.h>

/* ---- making and freeing ---------------------------------------------------------------------- */

/* The actions that lead to the rooms: "room-bench", "go to Bench". */
static enum pm_status go_actions(struct pm_app *app, struct pm_error *err)
{
    size_t count = app->spec.room_count;
    struct pm_text words = PM_TEXT_EMPTY;
    for (size_t i = 0; i < count; i++) {
        const struct pm_room *room = app->spec.rooms[i];
        pm_text_addf(&words, "room-%s%cgo to %s%c", room->id, '\0', room->name, '\0');
    }
    if (!pm_text_ok(&words)) {
        pm_text_release(&words);
        return pm_fail_memory(err);
    }
    const struct pm_action_table table = {app->go, count};
    const char *at = app->go_words = pm_text_take(&words);
    for (size_t i = 0; i < count; i++) {
        struct pm_action *action = &app->go[i];
        *action = (struct pm_action){
            .code = (enum pm_act)(PM_ACT_GO + (int)i),
            .id = at,
            .name = at + strlen(at) + 1,
            .help = app->spec.rooms[i]->help,
            .group = "Rooms",
            .keys = app->spec.rooms[i]->keys,
            .modes = ~(uint32_t)0xFF | PM_MODE_SHEET,
        };
        at = action->name + strlen(action->name) + 1;
    }
    return pm_keymap_add(&app->keymap, PM_ANYWHERE, &table, err);
}

static void key_complaint(void *context, const char *sentence)
{
    pm_app_warn(context, "%s", sentence);
}

void pm_app_read_keys(struct pm_app *app, const char *text,
                      void (*complain)(void *to, const char *sentence), void *to)
{
    pm_keymap_user(&app->keymap, text != NULL ? text : "", complain, to);
    app->guide_version = -1;
    app->stale = true;
}

void pm_app_user_keys(struct pm_app *app, const char *text)
{
    pm_app_read_keys(app, text, key_complaint, app);
}

static void let_time_pass(struct pm_app *app);

static enum pm_status add_actions(struct pm_app *app, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t i = 0; i < app->spec.room_count && status == PM_OK; i++) {
        const struct pm_action_table *table = app->spec.rooms[i]->actions;
        if (table != NULL)
            status = pm_keymap_add(&app->keymap, (int)i, table, err);
    }
    if (status == PM_OK)
        status = go_actions(app, err);
    if (status == PM_OK)
        status = pm_keymap_add(&app->keymap, PM_ANYWHERE, &pm_toolkit_actions, err);
    return status;
}

static enum pm_status app_start(struct pm_app *app, struct pm_error *err)
{
    const struct pm_app_spec *spec = &app->spec;
    enum pm_status status = add_actions(app, err);
    if (status == PM_OK)
        status = pm_room_open(app, 0, err);
    if (status != PM_OK)
        return status;
    if (spec->user_keys != NULL)
        pm_app_user_keys(app, spec->user_keys);
    pm_room_enter(app);
    app->guide_version = -1;
    pm_app_ask_guide(app);
    let_time_pass(app);
    return PM_OK;
}

/* Nothing is opened yet. */
static struct pm_app *app_make(const struct pm_app_spec *spec, struct pm_error *err)
{
    if (spec->room_count < 1 || spec->room_count > PM_ROOMS_MOST) {
        pm_fail(err, PM_INVALID, "An application has 1 to %d rooms.", PM_ROOMS_MOST);
        return NULL;
    }
    struct pm_app *app = pm_alloc_array(1, sizeof *app);
    if (app == NULL) {
        pm_fail_memory(err);
        return NULL;
    }
    app->spec = *spec;
    app->stale = true;
    app->ticked_at = INT64_MIN;
    pm_keymap_init(&app->keymap);
    return app;
}

enum pm_status pm_app_new(struct pm_app **out, const struct pm_app_spec *spec, struct pm_error *err)
{
    struct pm_error why = {0};
    struct pm_app *app = app_make(spec, &why);
    enum pm_status status = app != NULL ? app_start(app, &why) : why.status;
    if (status != PM_OK) {
        pm_app_free(app);
        return pm_fail(err, status, "%s", why.text);
    }
    *out = app;
    return PM_OK;
}

enum pm_status pm_app_closed(struct pm_app **out, const struct pm_app_spec *spec,
                             struct pm_error *err)
{
    struct pm_error why = {0};
    struct pm_app *app = app_make(spec, &why);
    enum pm_status status = app != NULL ? add_actions(app, &why) : why.status;
    if (status != PM_OK) {
        pm_app_free(app);
        return pm_fail(err, status, "%s", why.text);
    }
    *out = app;
    return PM_OK;
}

void pm_app_free(struct pm_app *app)
{
    if (app == NULL)
        return;
    pm_app_work(app);
    pm_overlays_sweep(app, true);
    for (size_t i = 0; i < app->spec.room_count; i++)
        if (app->opened[i])
            app->spec.rooms[i]->close(app->states[i]);
    pm_free(app->wishes.copy);
    pm_text_release(&app->guide_title);
    pm_text_release(&app->guide_text);
    pm_keymap_release(&app->keymap);
    pm_free(app->go_words);
    pm_free(app);
}

/* ---- wishes, time ---------------------------------------------------------------------- */

void pm_app_theme(struct pm_app *app, enum pm_theme theme)
{
    app->wishes.themed = true;
    app->wishes.theme = theme;
    app->stale = true;
}

struct pm_wishes pm_app_wishes(struct pm_app *app)
{
    struct pm_wishes wishes = app->wishes;
    app->wishes = (struct pm_wishes){.quit = wishes.quit, .signal = wishes.signal};
    return wishes;
}

bool pm_app_drops(const struct pm_app *app)
{
    return app->wishes.drop;
}

bool pm_app_stale(const struct pm_app *app)
{
    return app->stale;
}

/* When the next room wants to be woken. */
static int64_t next_wake(const struct pm_app *app)
{
    int64_t next = INT64_MAX;
    for (size_t i = 0; i < app->spec.room_count; i++) {
        const struct pm_room *room = app->spec.rooms[i];
        if (app->opened[i] && room->wake != NULL) {
            int64_t wake = room->wake(app->states[i]);
            next = wake < next ? wake : next;
        }
    }
    return next;
}

int pm_app_timeout(const struct pm_app *app)
{
    int64_t now = pm_app_now(app);
    int64_t next = next_wake(app);
    if (app->due_at < next)
        next = app->due_at;
    if (app->spec.changed != NULL && app->look_at < next)
        next = app->look_at;
    if (next == INT64_MAX)
        return -1;
    /* A room that asks for the past again and again gets one tick a second. */
    if (next <= now)
        return app->ticked_at == now ? 1000 : 0;
    return next - now > 86400 ? 86400 * 1000 : (int)(next - now) * 1000;
}

static void take_answer(struct pm_app *app, unsigned answer);

static void let_time_pass(struct pm_app *app)
{
    int64_t now = pm_app_now(app);
    for (size_t i = 0; i < app->spec.room_count && now != app->ticked_at; i++) {
        const struct pm_room *room = app->spec.rooms[i];
        if (app->opened[i] && room->wake != NULL && room->wake(app->states[i]) <= now)
            take_answer(app, room->tick(app->states[i], now));
    }
    app->ticked_at = now;
    if (app->look_at <= now)
        pm_app_catch_up(app, false);
    if (app->due_at <= now)
        pm_app_remind(app);
}

/* ---- events ---------------------------------------------------------------------------------- */

/* Without memory for the question a warning stands for it, and the next wish for the answer. */
static void ask_to_leave(struct pm_app *app, const char *unsaved)
{
    if (pm_panel_leave(app, unsaved))
        return;
    pm_app_warn(app,
                "%s is not saved, and memory is too short to ask. Once more leaves, dropping it.",
                unsaved);
    app->warning = true;
}

static void quit(struct pm_app *app)
{
    /* A job handed over together with the wish to leave must not fail unseen. */
    if (app->job.run != NULL && pm_app_work_off(app) != PM_OK)
        return;
    const char *unsaved = pm_app_unsaved(app);
    if (unsaved != NULL && !app->warned)
        ask_to_leave(app, unsaved);
    else
        app->wishes.quit = true;
}

static void take_answer(struct pm_app *app, unsigned answer)
{
    if (answer & PM_REDRAW)
        app->stale = true;
    if (answer & PM_QUIT)
        quit(app);
}

static void app_act(struct pm_app *app, int code)
{
    const char *unsaved;
    switch (code) {
    case PM_ACT_HELP:
        pm_panel_help(app);
        break;
    case PM_ACT_FIND:
        pm_panel_find(app);
        break;
    case PM_ACT_COPY:
        pm_app_copy_front(app);
        break;
    case PM_ACT_GUIDE:
        pm_app_toggle_guide(app);
        break;
    case PM_ACT_MESSAGES:
        pm_panel_messages(app);
        break;
    case PM_ACT_REPAINT:
        app->wishes.repaint = true;
        break;
    case PM_ACT_SAVE:
        if ((unsaved = pm_app_unsaved(app)))
            pm_app_warn(app, "%s is not saved.", unsaved);
        else
            pm_app_say(app, "All is saved: every change is, as it is made.");
        break;
    case PM_ACT_SUSPEND:
        app->wishes.suspend = true;
        break;
    case PM_ACT_QUIT:
        quit(app);
        break;
    default:
        if (code >= PM_ACT_GO && code < PM_ACT_GO_END)
            pm_app_go(app, code - PM_ACT_GO);
    }
    app->stale = true;
}

static enum pm_status write_row(void *context, struct pm_error *err)
{
    struct pm_app *app = context;
    return app->row->write(pm_app_front_state(app), err);
}

/* A row of the table of the room in front. */
static void run_here(struct pm_app *app, const struct pm_action *action)
{
    void *state = pm_app_front_state(app);
    const struct pm_job job = {.run = write_row, .context = app};
    if (action->ready != NULL && !action->ready(state))
        return;
    app->row = action;
    if (action->write != NULL)
        pm_app_later(app, &job);
    else
        action->run(state);
}

static void perform(struct pm_app *app, const struct pm_action *action)
{
    struct pm_overlay *overlay = pm_app_overlay(app);
    unsigned answer = PM_REDRAW;
    if (action->code >= PM_ACT_HELP)
        app_act(app, (int)action->code);
    else if (overlay != NULL)
        answer = overlay->kind->act(overlay, action);
    else if (action->run != NULL || action->write != NULL)
        run_here(app, action);
    else
        answer = pm_app_in_front(app)->act(pm_app_front_state(app), (int)action->code);
    if (answer == PM_UNHANDLED && action->code == PM_ACT_CANCEL) {
        char key[PM_KEY_TEXT];
        pm_app_say(app, "Nothing to drop here; %s leaves the program.",
                   pm_keymap_key(&app->keymap, "quit", pm_app_mode(app), key));
    }
    take_answer(app, answer);
}

/* More than one. */
static bool has_lines(const char *text)
{
    const char *end = strchr(text, '\n');
    return end != NULL && !pm_is_blank(end);
}

static unsigned give_text(struct pm_app *app, const char *text, bool pasted)
{
    struct pm_overlay *overlay = pm_app_overlay(app);
    if (overlay != NULL)
        return overlay->kind->text != NULL ? overlay->kind->text(overlay, text) : PM_UNHANDLED;
    const struct pm_room *room = pm_app_in_front(app);
    if (pasted && app->spec.paste != NULL && !(pm_app_mode(app) & PM_MODE_TEXT) &&
        has_lines(text)) {
        app->spec.paste(app, text);
        return PM_REDRAW;
    }
    return room->text != NULL ? room->text(pm_app_front_state(app), text, pasted) : PM_UNHANDLED;
}

/* What the key would do if the page or choice in front were not there; or NULL. */
static const struct pm_action *action_below(const struct pm_app *app, struct pm_key key)
{
    const struct pm_room *room = pm_app_in_front(app);
    const unsigned mode = room->mode != NULL ? room->mode(pm_app_front_state(app)) : PM_MODE_SHEET;
    return pm_app_overlay(app) != NULL && !(pm_app_mode(app) & PM_MODE_TEXT)
               ? pm_keymap_find(&app->keymap, key, app->room, mode)
               : NULL;
}

static void say_unhandled(struct pm_app *app, struct pm_key key)
{
    char name[PM_KEY_TEXT], other[PM_KEY_TEXT];
    const struct pm_action *below = action_below(app, key);
    pm_key_name(key, name);
    if (below != NULL)
        pm_app_say(app, "%s (%s) can be done when this is closed; %s closes it.", name,
                   pm_action_name(below),
                   pm_keymap_key(&app->keymap, "back", pm_app_mode(app), other));
    else
        pm_app_say(app, "%s does nothing here; %s shows all keys.", name,
                   pm_keymap_key(&app->keymap, "help", pm_app_mode(app), other));
}

static void key_event(struct pm_app *app, struct pm_key key)
{
    const struct pm_action *action = pm_keymap_find(&app->keymap, key, app->room, pm_app_mode(app));
    /* Characters that are typed wait for the key that takes them. */
    if (action != NULL) {
        if (!pm_app_catch_up(app, true))
            perform(app, action);
        return;
    }
    if (key.mods & PM_MOD_ALT) {
        /* Esc and a key typed quickly after it look like Alt to a terminal program. */
        key_event(app, pm_key_make(PM_KEY_ESC, 0));
        key_event(app, pm_key_make(key.code, key.mods & ~(unsigned)PM_MOD_ALT));
        return;
    }
    unsigned answer = PM_UNHANDLED;
    if (pm_key_prints(key)) {
        char text[5] = "";
        text[pm_utf8_encode(key.code, text)] = '\0';
        answer = give_text(app, text, false);
    }
    if (answer == PM_UNHANDLED)
        say_unhandled(app, key);
    take_answer(app, answer);
}

/* With nothing but a plea for more room on the screen, keys would act unseen. */
static void key_unseen(struct pm_app *app, struct pm_key key)
{
    if (pm_key_equal(key, pm_key_make('q', 0)) || pm_key_equal(key, pm_key_make('q', PM_MOD_CTRL)))
        app->wishes.quit = true;
}

static void forget_seen_message(struct pm_app *app)
{
    if (app->message && app->message_seen) {
        app->message = false;
        app->stale = true;
    }
}

/* ---- the mouse ---- */

#define WHEEL_ROWS 3

/* One row up or down, where that only moves: what is being typed is never taken by it. */
static void step(struct pm_app *app, int way)
{
    static const struct pm_action up = {.code = PM_ACT_UP}, down = {.code = PM_ACT_DOWN};
    if ((pm_app_mode(app) & (PM_MODE_EDIT | PM_MODE_PROMPT)) || pm_app_catch_up(app, true))
        return;
    perform(app, way < 0 ? &up : &down);
    pm_overlays_sweep(app, false);
}

/* The row of the screen where the cursor would stand now. */
static int cursor_row(struct pm_app *app)
{
    struct pm_grid grid;
    const bool seen = app->message_seen;
    int row = -1;
    if (pm_grid_init(&grid, app->rows, app->columns)) {
        pm_app_draw(app, &grid);
        row = grid.cursor_row;
        pm_grid_release(&grid);
    }
    app->message_seen = seen;
    app->stale = true;
    return row;
}

/* On the name of a room: goes there. Elsewhere the row under the mouse is gone to, step by step, as
 * the arrows would; what cannot be stood on is passed. */
static void click(struct pm_app *app, int row, int column)
{
    const int room = pm_app_room_at(app, row, column);
    if (room >= 0 && pm_app_overlay(app) == NULL) {
        pm_app_go(app, room);
        return;
    }
    for (int at = cursor_row(app), left = app->rows; at >= 0 && at != row && left > 0; left--) {
        const int way = row < at ? -1 : 1;
        step(app, way);
        const int now = cursor_row(app);
        if (now == at || (row - now) * way < 0)
            return;
        at = now;
    }
}

static void do_chosen(struct pm_app *app)
{
    while (app->chosen != NULL) {
        const struct pm_action *action = app->chosen;
        app->chosen = NULL;
        if (action->modes & pm_app_mode(app))
            perform(app, action);
        pm_overlays_sweep(app, false);
    }
}

void pm_app_event(struct pm_app *app, const struct pm_event *event)
{
    pm_app_work(app);
    /* Keys typed ahead of the farewell must not change anything. */
    if (app->wishes.quit && event->kind != PM_EVENT_END)
        return;
    pm_app_wait_begin(app);
    app->warned = app->warning;
    app->warning = app->warning && event->kind == PM_EVENT_NONE;
    switch (event->kind) {
    case PM_EVENT_KEY:
        forget_seen_message(app);
        if (app->too_small)
            key_unseen(app, event->key);
        else
            key_event(app, event->key);
        break;
    case PM_EVENT_CLICK:
        forget_seen_message(app);
        if (!app->too_small)
            click(app, event->rows, event->columns);
        break;
    case PM_EVENT_WHEEL:
        forget_seen_message(app);
        for (int i = 0; i < WHEEL_ROWS && !app->too_small; i++)
            step(app, event->rows);
        break;
    case PM_EVENT_PASTE:
        forget_seen_message(app);
        if (app->too_small)
            break;
        unsigned answer = give_text(app, event->text, true);
        if (answer == PM_UNHANDLED)
            pm_app_say(app, "Nothing here takes pasted text.");
        take_answer(app, answer);
        break;
    case PM_EVENT_RESIZE:
        app->stale = true;
        break;
    case PM_EVENT_STOP:
        app->wishes.suspend = true;
        break;
    case PM_EVENT_END:
        app->wishes.quit = true;
        app->wishes.signal = event->signal;
        break;
    case PM_EVENT_NONE:
        break;
    }
    pm_overlays_sweep(app, false);
    do_chosen(app);
    pm_app_wait_end(app);
    pm_room_read(app, app->room, false); /* what was done may have changed it */
    pm_app_ask_guide(app);
    let_time_pass(app);
}
