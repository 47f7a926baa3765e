/* SPDX-License-Identifier: MIT */
/* The application's own panels: all keys, the action finder, past messages, leaving. */
#include "app_inside.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"

#include <stdio.h>
#include <string.h>

#define KEY_CELLS  17
#define NAME_CELLS 22

/* ---- all keys -------------------------------------------------------------------------------- */

/* The keys of an action that do this in that room and mode: others may have taken some. */
static void keys_there(const struct pm_keymap *map, const struct pm_offered *offer, int room,
                       unsigned mode, struct pm_text *out)
{
    char name[PM_KEY_TEXT];
    const struct pm_binding *binding = pm_offered_binding(map, offer);
    for (size_t i = 0; i < binding->key_count; i++)
        if (pm_keymap_find(map, binding->keys[i], room, mode) == offer->action)
            pm_text_addf(out, "%s%s", out->length ? ", " : "", pm_key_name(binding->keys[i], name));
}

/* Text in a column of `cells` cells; one blank at least follows. */
static void add_padded(struct pm_text *out, const char *text, size_t cells)
{
    size_t used = pm_utf8_cells(text);
    pm_text_add(out, text);
    do
        pm_text_add_char(out, ' ');
    while (++used < cells);
}

static void help_line(struct pm_page *page, const struct pm_action *action, const char *keys)
{
    struct pm_text line = PM_TEXT_EMPTY;
    /* Keys wider than their column stand on a line of their own, so that the names stay in theirs.
     */
    const bool wide = pm_utf8_cells(keys) >= KEY_CELLS;
    if (wide)
        pm_page_add(page, PM_ROLE_NORMAL, 0, keys);
    add_padded(&line, wide ? "" : keys, KEY_CELLS);
    add_padded(&line, pm_action_name(action), NAME_CELLS);
    pm_text_add(&line, pm_action_help(action));
    if (pm_text_ok(&line))
        pm_page_add(page, PM_ROLE_NORMAL, KEY_CELLS + NAME_CELLS, pm_text_get(&line));
    pm_text_release(&line);
}

/* Where the keys are when they are not on the sheet. Typing is the same wherever it is done. */
static const struct {
    unsigned modes;
    const char *title;
} elsewhere[] = {
    {PM_MODE_SHEET, "In the room"},
    {PM_MODE_TEXT, "While typing"},
    {PM_MODE_PAGE, "On a page like this"},
    {PM_MODE_CHOICE, "While a question is asked"},
};

/* All that works in one room and mode, in the order of the tables, under their groups. */
static void help_mode(struct pm_app *app, struct pm_page *page, unsigned mode, bool also_general)
{
    const char *group = "";
    struct pm_text keys = PM_TEXT_EMPTY;
    for (size_t i = 0; i < app->keymap.count; i++) {
        const struct pm_offered *offer = &app->keymap.offers[i];
        const struct pm_action *action = offer->action;
        const bool general = pm_action_general(action);
        if (!pm_offered_valid(offer, app->room, mode) || (general && !also_general))
            continue;
        pm_text_clear(&keys);
        keys_there(&app->keymap, offer, app->room, mode, &keys);
        if (keys.length == 0 && (general || pm_offered_binding(&app->keymap, offer)->key_count > 0))
            continue;
        if (strcmp(group, pm_action_group(action)) != 0)
            pm_page_addf(page, PM_ROLE_HEADING, 0, "\n%s", pm_action_group(action));
        group = pm_action_group(action);
        help_line(page, action, keys.length ? pm_text_get(&keys) : "(no key)");
    }
    pm_text_release(&keys);
}

/* Actions that work in these modes and not where the keys are. */
static void help_elsewhere(struct pm_app *app, struct pm_page *page, unsigned here, unsigned modes,
                           const char *title)
{
    bool some = false;
    struct pm_text keys = PM_TEXT_EMPTY;
    for (size_t i = 0; i < app->keymap.count; i++) {
        const struct pm_offered *offer = &app->keymap.offers[i];
        if (!pm_offered_valid(offer, app->room, modes) || pm_offered_valid(offer, app->room, here))
            continue;
        pm_text_clear(&keys);
        keys_there(&app->keymap, offer, app->room, modes, &keys);
        if (keys.length == 0)
            continue;
        if (!some)
            pm_page_addf(page, PM_ROLE_HEADING, 0, "\n%s", title);
        some = true;
        help_line(page, offer->action, pm_text_get(&keys));
    }
    pm_text_release(&keys);
}

void pm_panel_help(struct pm_app *app)
{
    const struct pm_room *room = app->spec.rooms[app->room];
    unsigned here = pm_app_mode(app);
    char key[PM_KEY_TEXT];
    struct pm_page *page = pm_page_new("All keys");
    pm_page_addf(page, PM_ROLE_NORMAL, 0, "%s: %s", room->name, room->help);
    if (*pm_keymap_key(&app->keymap, "find-action", PM_MODE_SHEET, key))
        pm_page_addf(page, PM_ROLE_FAINT, 0, "%s finds an action by part of its name.", key);
    if (page != NULL)
        help_mode(app, page, here, true);
    if (page != NULL && room->mode_heading != NULL && here != PM_MODE_ROOM)
        help_elsewhere(app, page, here, PM_MODE_ROOM, room->mode_heading);
    for (size_t n = 0; page != NULL && n < sizeof elsewhere / sizeof *elsewhere; n++)
        if ((elsewhere[n].modes & here) == 0)
            help_elsewhere(app, page, here, elsewhere[n].modes, elsewhere[n].title);
    pm_page_open(app, page, false);
}

/* ---- the action finder ----------------------------------------------------------------------- */

struct finder {
    struct pm_app *app;
    unsigned mode;   /* in which the action is to be done */
    size_t *numbers; /* of the offers that match; owned */
    size_t count;
};

/* How well what was typed stands in an action: in what it is called; in its sentence, or what else
 * people call it; every word of it somewhere; not at all. */
enum { FOUND_NAME, FOUND_SENTENCE, FOUND_WORDS, FOUND_NOT };

/* Where a word begins as the one at `wanted` does, which is `length` bytes long. */
static bool begins_in(const char *folded, const char *wanted, size_t length)
{
    for (const char *at = folded; *at != '\0'; at++)
        if ((at == folded || at[-1] == ' ' || at[-1] == '-') && strncmp(at, wanted, length) == 0)
            return true;
    return false;
}

static bool every_word(const char *folded, const char *wanted)
{
    size_t length;
    for (; *wanted != '\0'; wanted += length) {
        wanted += strspn(wanted, " ");
        length = strcspn(wanted, " ");
        if (!begins_in(folded, wanted, length))
            return false;
    }
    return true;
}

static int finder_match(const struct pm_action *action, const char *wanted)
{
    struct pm_text text = PM_TEXT_EMPTY;
    pm_text_addf(&text, "%s %s %s", pm_action_name(action), pm_action_id(action),
                 pm_action_group(action));
    char *name = pm_fold(pm_text_get(&text));
    pm_text_addf(&text, " %s %s %s", pm_action_help(action), pm_verbs[action->verb].also,
                 action->also != NULL ? action->also : "");
    char *all = pm_fold(pm_text_get(&text));
    const int found = name == NULL || all == NULL    ? FOUND_NOT
                      : strstr(name, wanted) != NULL ? FOUND_NAME
                      : strstr(all, wanted) != NULL  ? FOUND_SENTENCE
                      : every_word(all, wanted)      ? FOUND_WORDS
                                                     : FOUND_NOT;
    pm_free(name);
    pm_free(all);
    pm_text_release(&text);
    return found;
}

static bool is_here(const struct finder *finder, const struct pm_offered *offer)
{
    return pm_offered_valid(offer, finder->app->room, finder->mode);
}

/* Something that only another room, or another list of this one, offers. */
static bool is_elsewhere(const struct finder *finder, const struct pm_offered *offer)
{
    const struct pm_keymap *map = &finder->app->keymap;
    if (offer->room == PM_ANYWHERE || is_here(finder, offer))
        return false;
    for (size_t i = 0; i < map->count; i++)
        if (map->offers[i].binding == offer->binding &&
            (&map->offers[i] < offer || is_here(finder, &map->offers[i])))
            return false;
    return true;
}

/* What works here, and once something is typed what other rooms offer, comes before what only holds
 * every word. */
static const struct finder_turn {
    bool here;
    int found;
} turns[] = {{true, FOUND_NAME},      {true, FOUND_SENTENCE}, {false, FOUND_NAME},
             {false, FOUND_SENTENCE}, {true, FOUND_WORDS},    {false, FOUND_WORDS}};

static size_t finder_filter(void *context, const char *text, bool *more)
{
    struct finder *finder = context;
    const struct pm_keymap *map = &finder->app->keymap;
    char *wanted = pm_fold(text);
    (void)more;
    finder->count = 0;
    for (size_t n = 0; wanted != NULL && n < (*wanted ? sizeof turns / sizeof *turns : 1); n++)
        for (size_t i = 0; i < map->count; i++) {
            const struct pm_offered *offer = &map->offers[i];
            const bool fits = turns[n].here ? is_here(finder, offer) : is_elsewhere(finder, offer);
            if (!pm_action_general(offer->action) && offer->action->code != PM_ACT_FIND && fits &&
                finder_match(offer->action, wanted) == turns[n].found)
                finder->numbers[finder->count++] = i;
        }
    pm_free(wanted);
    return finder->count;
}

static void finder_row(void *context, size_t index, struct pm_pick_row *row)
{
    struct finder *finder = context;
    const struct pm_keymap *map = &finder->app->keymap;
    const struct pm_offered *offer = &map->offers[finder->numbers[index]];
    pm_text_add(&row->cells[0], pm_action_name(offer->action));
    pm_binding_keys(pm_offered_binding(map, offer), &row->cells[1]);
    if (!is_here(finder, offer)) {
        pm_text_addf(&row->cells[2], "In the %s: ", finder->app->spec.rooms[offer->room]->name);
        row->role = PM_ROLE_FAINT;
    }
    pm_text_add(&row->cells[2], pm_action_help(offer->action));
}

/* To the room; where what is chosen needs another list of it than is in front, that is said. */
static void go_there(struct pm_app *app, const struct pm_offered *offer)
{
    const struct pm_room *room = app->spec.rooms[offer->room];
    pm_app_go(app, offer->room);
    if (!pm_offered_valid(offer, app->room, pm_app_mode(app)))
        pm_app_say(app, "%s works here so: %s.", pm_action_name(offer->action),
                   (offer->action->modes & PM_MODE_SHEET) != 0 ? "from the first list"
                                                               : room->mode_heading);
}

static enum pm_status finder_accept(void *context, size_t index, const char *text,
                                    struct pm_error *err)
{
    struct finder *finder = context;
    const struct pm_offered *offer = &finder->app->keymap.offers[finder->numbers[index]];
    (void)text;
    (void)err;
    if (!is_here(finder, offer))
        go_there(finder->app, offer);
    pm_app_do(finder->app, offer->action);
    return PM_OK;
}

static void finder_closed(void *context)
{
    struct finder *finder = context;
    pm_free(finder->numbers);
}

void pm_panel_find(struct pm_app *app)
{
    size_t *numbers = pm_alloc_array(app->keymap.count + 1, sizeof *numbers);
    struct finder finder = {.app = app, .mode = pm_app_mode(app), .numbers = numbers};
    if (numbers == NULL) {
        pm_overlay_failed(app, NULL);
        return;
    }
    struct pm_picker_spec spec = {
        .title = "Find an action",
        .label = "Name",
        .columns = {{.heading = "action", .wish = 24},
                    {.heading = "keys", .wish = 14},
                    {.heading = "what it does", .wish = 4, .grows = true}},
        .column_count = 3,
        .filter = finder_filter,
        .row = finder_row,
        .accept = finder_accept,
        .none_hint = "No action says so. Another word, or a part of one, may find it; with nothing "
                     "typed all that works here is listed. What commands do besides, \"permille "
                     "help\" lists.",
        .whole = 2,
        .closed = finder_closed,
        .context = &finder,
        .context_size = sizeof finder,
    };
    pm_picker_open(app, &spec);
}

/* ---- past messages --------------------------------------------------------------------------- */

void pm_panel_messages(struct pm_app *app)
{
    struct pm_page *page = pm_page_new("Past messages");
    size_t first = app->log_next + PM_MESSAGES_KEPT - app->log_count;
    if (app->log_count == 0)
        pm_page_add(page, PM_ROLE_FAINT, 0, "Nothing was said yet.");
    for (size_t i = 0; i < app->log_count; i++) {
        const struct pm_message *message = &app->log[(first + i) % PM_MESSAGES_KEPT];
        const char *mark = message->role == PM_ROLE_ERROR     ? "! "
                           : message->role == PM_ROLE_WARNING ? "* "
                                                              : "  ";
        char when[PM_TIME_TEXT];
        pm_page_addf(page, message->role, 20, "%s  %s%s", pm_time_format(message->time, when), mark,
                     message->text);
    }
    pm_page_open(app, page, true);
}

/* ---- leaving --------------------------------------------------------------------------------- */

static enum pm_status leave_accept(void *context, struct pm_error *err)
{
    struct pm_app *app = context;
    (void)err;
    app->wishes.quit = true;
    return PM_OK;
}

bool pm_panel_leave(struct pm_app *app, const char *unsaved)
{
    char question[256];
    snprintf(question, sizeof question, "%s is not saved. Leave all the same?", unsaved);
    struct pm_choice_spec spec = {
        .title = "Leave",
        .question = question,
        .options = {{'s', "stay here"}, {'l', "leave, dropping it"}},
        .option_count = 2,
        .agreed = leave_accept,
        .context = app,
    };
    return pm_choice_open(app, &spec);
}
