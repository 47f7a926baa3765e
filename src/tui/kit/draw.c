/* SPDX-License-Identifier: MIT */
/* The application's share of the screen: heading, rule, message row, key line, overlays. */
#include "app_inside.h"
#include "speech.h"

#include "permille/base/utf8.h"

#include <stdio.h>
#include <string.h>

#define MESSAGE_ROWS   4  /* most rows a long message takes */
#define GAP            3  /* cells between hints */
#define ID_TEXT        40 /* bytes of an action's id */
#define DETAILS_MOST   56
#define DETAILS_GAP    2 /* cells between sheet and details */
#define GUIDE_INDENT   2
#define OVERLAY_MARGIN 1

struct layout {
    struct pm_pane heading, rule, body, guide, message, keys;
};

/* A warning and an error must be told apart from plain news without colour. */
static const char *message_mark(enum pm_role role)
{
    return role == PM_ROLE_ERROR ? "! " : role == PM_ROLE_WARNING ? "* " : "";
}

static int rows_needed(const char *text, int cells)
{
    int rows = 0;
    while (*text && rows < MESSAGE_ROWS) {
        size_t next;
        pm_wrap_next(text, cells, &next);
        text += next;
        rows++;
    }
    return rows > 1 ? rows : 1;
}

/* Rows of the strip that leads: its title and its lines. Under what is asked it gives way. */
static int guide_rows(const struct pm_app *app, int columns)
{
    if (!app->guided || pm_app_overlay(app) != NULL)
        return 0;
    return 1 + rows_needed(pm_text_get(&app->guide_text), columns - GUIDE_INDENT);
}

static void lay_out(const struct pm_pane *all, int guide, int message_rows, struct layout *out)
{
    int body = all->rows - 3 - message_rows - guide;
    out->heading = pm_pane_part(all, 0, 0, 1, all->columns);
    out->rule = pm_pane_part(all, 1, 0, 1, all->columns);
    out->body = pm_pane_part(all, 2, 0, body, all->columns);
    out->guide = pm_pane_part(all, 2 + body, 0, guide, all->columns);
    out->message = pm_pane_part(all, 2 + body + guide, 0, message_rows, all->columns);
    out->keys = pm_pane_part(all, all->rows - 1, 0, 1, all->columns);
}

static void draw_too_small(struct pm_app *app, const struct pm_pane *all)
{
    struct pm_text text = PM_TEXT_EMPTY;
    const char *unsaved = pm_app_unsaved(app);
    pm_text_addf(&text, "%s needs %d x %d cells; this is %d x %d. Enlarge the window: all is kept.",
                 app->spec.name, PM_LEAST_COLUMNS, PM_LEAST_ROWS, all->columns, all->rows);
    pm_text_addf(&text, " q leaves%s%s.", unsaved != NULL ? "; not saved: " : "",
                 unsaved != NULL ? unsaved : "");
    pm_pane_wrap(all, 0, PM_ROLE_NORMAL, pm_text_ok(&text) ? pm_text_get(&text) : "Too small.");
    pm_pane_cursor(all, 0, 0);
    pm_text_release(&text);
}

/* Cells of the details pane beside a sheet; the sheet stays as wide as on the smallest screen. */
static int details_width(const struct pm_room *room, int columns)
{
    if (!room->details || columns < PM_DETAILS_FROM)
        return 0;
    int width = columns / 3 < DETAILS_MOST ? columns / 3 : DETAILS_MOST;
    int spare = columns - PM_LEAST_COLUMNS - DETAILS_GAP - 2;
    return width < spare ? width : spare;
}

/* Rows an overlay takes of what lies under it, its title among them. */
static int overlay_rows(const struct pm_overlay *overlay, const struct pm_pane *under)
{
    int most = under->rows - 1;
    int rows = overlay->kind->rows(overlay, most, under->columns - 2 * OVERLAY_MARGIN);
    return (rows > most ? most : rows) + 1;
}

static int rows_covered(const struct pm_overlay *top, const struct pm_pane *under)
{
    int most = 0;
    for (; top != NULL; top = top->below) {
        int rows = top->closed || top->writing ? 0 : overlay_rows(top, under);
        most = rows > most ? rows : most;
    }
    return most;
}

static struct pm_canvas lay_out_room(const struct pm_app *app, const struct layout *at)
{
    const struct pm_room *room = app->spec.rooms[app->room];
    int name = (int)pm_utf8_cells(room->name);
    struct pm_canvas canvas = {
        .heading = pm_pane_part(&at->heading, 0, name + 2, 1, at->heading.columns),
        .sheet = at->body,
        .details = pm_pane_part(&at->body, 0, at->body.columns, at->body.rows, 0),
    };
    bool whole = room->whole != NULL && room->whole(app->states[app->room]);
    int width = whole ? 0 : details_width(room, at->body.columns);
    if (width > 0) {
        int sheet = at->body.columns - width - DETAILS_GAP;
        canvas.sheet = pm_pane_part(&at->body, 0, 0, at->body.rows, sheet);
        canvas.details = pm_pane_part(&at->body, 0, sheet + DETAILS_GAP, at->body.rows, width);
    }
    canvas.covered = rows_covered(app->top, &canvas.sheet);
    return canvas;
}

/* Lays everything out under that many rows of words, and has the room read what it will show. */
static struct pm_canvas prepare(struct pm_app *app, const struct pm_pane *all, int message_rows,
                                struct layout *at)
{
    const struct pm_room *room = app->spec.rooms[app->room];
    lay_out(all, guide_rows(app, all->columns), message_rows, at);
    struct pm_canvas canvas = lay_out_room(app, at);
    if (room->prepare != NULL)
        room->prepare(app->states[app->room], &canvas);
    return canvas;
}

/* ---- the other rooms ---- */

static char lower(char c)
{
    return c >= 'A' && c <= 'Z' ? (char)(c - 'A' + 'a') : c;
}

/* Whether the key is the letter that the name begins with: then the name tells it. */
static bool begins_with(const char *name, const char *key)
{
    return key[0] != '\0' && key[1] == '\0' && lower(key[0]) == lower(name[0]);
}

static int room_cells(const char *name, const char *key)
{
    const int cells = (int)pm_utf8_cells(name);
    return *key == '\0' || begins_with(name, key) ? cells : cells + 1 + (int)pm_utf8_cells(key);
}

static void put_room(const struct pm_pane *pane, int column, const char *name, const char *key)
{
    if (begins_with(name, key)) {
        pm_pane_put(pane, 0, column, PM_ROLE_FAINT, name);
        pm_pane_put(pane, 0, column, PM_ROLE_KEY, (const char[]){name[0], '\0'});
        return;
    }
    column += pm_pane_put(pane, 0, column, PM_ROLE_KEY, key);
    pm_pane_put(pane, 0, column + (*key != '\0'), PM_ROLE_FAINT, name);
}

/* The cells that a room's name takes in the rule, its key (into buf) with it; 0: it is in front. */
static int named_cells(const struct pm_app *app, size_t number, char *key)
{
    const struct pm_room *room = app->spec.rooms[number];
    char id[ID_TEXT];
    if ((int)number == app->room)
        return 0;
    snprintf(id, sizeof id, "room-%s", room->id);
    pm_keymap_key(&app->keymap, id, PM_MODE_SHEET, key);
    return room_cells(room->name, key);
}

/* The thin rule names the rooms one can go to from here, each with its key, as many as fit. */
static void draw_rooms(const struct pm_app *app, const struct pm_pane *pane)
{
    char key[PM_KEY_TEXT];
    int column = 0;
    pm_pane_rule(pane, 0, NULL);
    for (size_t i = 0; i < app->spec.room_count; i++) {
        const int cells = named_cells(app, i, key);
        if (column + cells > pane->columns)
            break;
        if (cells == 0)
            continue;
        pm_pane_blank(pane, 0, column, 1, cells + 2);
        put_room(pane, column, app->spec.rooms[i]->name, key);
        column += cells + 2;
    }
}

int pm_app_room_at(const struct pm_app *app, int row, int column)
{
    char key[PM_KEY_TEXT];
    int at = 0;
    for (size_t i = 0; row == 1 && i < app->spec.room_count; i++) {
        const int cells = named_cells(app, i, key);
        if (at + cells > app->columns)
            return -1;
        if (column >= at && column < at + cells)
            return (int)i;
        at += cells > 0 ? cells + 2 : 0;
    }
    return -1;
}

static void draw_room(struct pm_app *app, const struct layout *at, const struct pm_canvas *canvas)
{
    const struct pm_room *room = app->spec.rooms[app->room];
    pm_pane_put(&at->heading, 0, 0, PM_ROLE_HEADING, room->name);
    draw_rooms(app, &at->rule);
    if (room->read != NULL && app->seen[app->room] < 0) {
        /* What is not known must not look empty. */
        pm_pane_put(&canvas->sheet, 0, 2, PM_ROLE_NORMAL,
                    "Nothing could be read yet; the next key tries again.");
        return;
    }
    room->draw(app->states[app->room], canvas);
}

/* From the lowest to the topmost, so that what is asked lies over what asked it. */
static void draw_overlay(struct pm_overlay *overlay, const struct pm_pane *under)
{
    if (overlay == NULL)
        return;
    draw_overlay(overlay->below, under);
    if (overlay->closed || overlay->writing)
        return;
    int rows = overlay_rows(overlay, under);
    struct pm_pane panel = pm_pane_part(under, under->rows - rows, 0, rows, under->columns);
    struct pm_pane content =
        pm_pane_part(&panel, 1, OVERLAY_MARGIN, rows - 1, panel.columns - 2 * OVERLAY_MARGIN);
    pm_pane_blank(&panel, 0, 0, panel.rows, panel.columns);
    pm_pane_rule(&panel, 0, overlay->title);
    overlay->kind->draw(overlay, &content);
}

static void draw_guide(const struct pm_app *app, const struct pm_pane *pane)
{
    const struct pm_pane text =
        pm_pane_part(pane, 1, GUIDE_INDENT, pane->rows - 1, pane->columns - GUIDE_INDENT);
    if (pane->rows == 0)
        return;
    pm_pane_rule(pane, 0, pm_text_get(&app->guide_title));
    pm_pane_wrap(&text, 0, PM_ROLE_NORMAL, pm_text_get(&app->guide_text));
    if (pane->grid->speech != NULL)
        pm_speech_line(pane->grid->speech, "%s: %s", pm_text_get(&app->guide_title),
                       pm_text_get(&app->guide_text));
}

static void draw_message(const struct pm_pane *pane, enum pm_role role, const char *text)
{
    pm_pane_blank(pane, 0, 0, pane->rows, pane->columns);
    int mark = pm_pane_put(pane, 0, 0, role, message_mark(role));
    struct pm_pane rest = pm_pane_part(pane, 0, mark, pane->rows, pane->columns);
    pm_pane_wrap(&rest, 0, role, text);
}

/* The message, and where to read those it pushed away. */
static const char *message_words(const struct pm_app *app, const struct pm_message *message,
                                 struct pm_text *words)
{
    char key[PM_KEY_TEXT];
    if (app->unread == 0 || *pm_keymap_key(&app->keymap, "messages", pm_app_mode(app), key) == '\0')
        return message->text;
    pm_text_addf(words, "%s %zu more: %s.", message->text, app->unread, key);
    return pm_text_ok(words) ? pm_text_get(words) : message->text;
}

/* What the message row says: the message, otherwise the room's remark beside what the canvas shows.
 * `remark` holds the latter for as long as the text is needed. */
static const char *words_now(struct pm_app *app, const struct pm_canvas *canvas,
                             struct pm_text *remark, enum pm_role *role)
{
    const struct pm_room *room = app->spec.rooms[app->room];
    const struct pm_message *message = pm_app_message_shown(app);
    *role = PM_ROLE_NORMAL;
    if (message != NULL) {
        *role = message->role;
        app->message_seen = true;
        return message_words(app, message, remark);
    }
    /* Under a list, a page or a form what the room says of its own selection would only mislead. */
    const struct pm_overlay *overlay = pm_app_overlay(app);
    if (room->remark != NULL && (overlay == NULL || overlay->kind->mode == PM_MODE_PROMPT))
        *role = room->remark(app->states[app->room], canvas->details.columns > 0, remark);
    if (!pm_text_ok(remark)) {
        *role = PM_ROLE_ERROR;
        return "Out of memory: what should stand here cannot be worked out.";
    }
    return pm_text_get(remark);
}

void pm_app_invite(const struct pm_app *app, const struct pm_pane *pane, int row, const char *id,
                   const char *text)
{
    char key[PM_KEY_TEXT];
    pm_pane_put(pane, row, 2, PM_ROLE_KEY, pm_keymap_key(&app->keymap, id, PM_MODE_SHEET, key));
    pm_pane_put(pane, row, 7, PM_ROLE_NORMAL, text);
}

static int hint_width(const char *key, const char *name)
{
    return (int)(pm_utf8_cells(key) + 1 + pm_utf8_cells(name));
}

static int put_hint(const struct pm_pane *pane, int column, const char *key, const char *name)
{
    int used = pm_pane_put(pane, 0, column, PM_ROLE_KEY, key);
    return used + 1 + pm_pane_put(pane, 0, column + used + 1, PM_ROLE_NORMAL, name);
}

/* Ids of actions, separated by blanks. */
static const char *hints_now(const struct pm_app *app)
{
    const struct pm_overlay *overlay = pm_app_overlay(app);
    const struct pm_room *room = app->spec.rooms[app->room];
    if (overlay != NULL)
        return overlay->kind->hints;
    return room->hints != NULL
               ? room->hints[room->hint != NULL ? room->hint(app->states[app->room]) : 0]
               : "";
}

/* The next action of the hints that can be done now, and its key; NULL at their end. */
static const struct pm_action *next_hint(const struct pm_app *app, const char **hints, char *key)
{
    char id[ID_TEXT];
    while (**hints != '\0') {
        const size_t length = strcspn(*hints, " ");
        snprintf(id, sizeof id, "%.*s", (int)length, *hints);
        *hints += length + ((*hints)[length] == ' ');
        const struct pm_action *action = pm_keymap_action(&app->keymap, id, app->room);
        if (action != NULL && (action->modes & pm_app_mode(app)) &&
            *pm_keymap_key(&app->keymap, id, pm_app_mode(app), key))
            return action;
    }
    return NULL;
}

static int hints_width(const struct pm_app *app)
{
    char key[PM_KEY_TEXT];
    int width = 0;
    const struct pm_action *action;
    for (const char *hints = hints_now(app); (action = next_hint(app, &hints, key)) != NULL;)
        width += hint_width(key, pm_action_name(action)) + GAP;
    return width;
}

/* Of what is due: the action that leads to it, and its key where it works now, else "". */
static void key_of_due(const struct pm_app *app, const struct pm_due_here *due, char *key)
{
    char id[ID_TEXT];
    if (app->room != due->room)
        snprintf(id, sizeof id, "room-%s", app->spec.rooms[due->room]->id);
    else
        snprintf(id, sizeof id, "%s", due->action != NULL ? due->action : "");
    const struct pm_action *action = pm_keymap_action(&app->keymap, id, app->room);
    key[0] = '\0';
    if (action != NULL && (action->modes & pm_app_mode(app)) != 0)
        pm_keymap_key(&app->keymap, id, pm_app_mode(app), key);
}

/* All that is due, what is done in this room first, in full or brief, right-aligned at `end`;
 * returns where it begins. Without a pane it is only measured. Nothing while something is asked,
 * since no key leads there. */
static int draw_dues(const struct pm_app *app, const struct pm_pane *pane, int end, bool brief)
{
    char key[PM_KEY_TEXT];
    if (pm_app_overlay(app) != NULL)
        return end;
    for (size_t i = 0; i < 2 * PM_DUES; i++) {
        const struct pm_due_here *due = &app->due[i % PM_DUES];
        const char *note = brief ? due->brief : due->note;
        if (note[0] == '\0' || (due->room == app->room) != (i < PM_DUES))
            continue;
        key_of_due(app, due, key);
        end -= (int)pm_utf8_cells(note);
        if (pane != NULL)
            pm_pane_put(pane, 0, end, PM_ROLE_WARNING, note);
        end -= *key ? (int)pm_utf8_cells(key) + 1 : 0;
        if (pane != NULL && *key)
            pm_pane_put(pane, 0, end, PM_ROLE_KEY, key);
        end -= GAP;
    }
    return end;
}

/* The keys of the room come first: what is due is told in full where all of them have room. */
static void draw_key_line(struct pm_app *app, const struct pm_pane *pane)
{
    char key[PM_KEY_TEXT];
    int end = pane->columns, column = 0;
    const char *name = pm_action_name(pm_keymap_action(&app->keymap, "help", app->room));
    pm_pane_blank(pane, 0, 0, 1, pane->columns);
    pm_keymap_key(&app->keymap, "help", pm_app_mode(app), key);
    end -= hint_width(key, name);
    put_hint(pane, end, key, name);
    end -= GAP;
    end = draw_dues(app, pane, end, draw_dues(app, NULL, end, false) < hints_width(app) - GAP);
    const struct pm_action *action;
    for (const char *hints = hints_now(app); (action = next_hint(app, &hints, key)) != NULL;) {
        if (column + hint_width(key, pm_action_name(action)) > end)
            break;
        column += put_hint(pane, column, key, pm_action_name(action)) + GAP;
    }
}

bool pm_app_draw_front(struct pm_app *app, struct pm_grid *grid)
{
    const struct pm_room *room = app->spec.rooms[app->room];
    struct pm_overlay *overlay = pm_app_overlay(app);
    struct pm_pane all = pm_pane_all(grid);
    struct layout at;
    if (room->read != NULL && app->seen[app->room] < 0)
        return false;
    struct pm_canvas canvas = prepare(app, &all, 1, &at);
    if (overlay != NULL) {
        overlay->kind->draw(overlay, &canvas.sheet);
        return true;
    }
    /* Rooms read what comes into sight: here all of it does. */
    struct pm_canvas tall = canvas;
    tall.sheet.rows = tall.details.rows = INT16_MAX;
    if (room->prepare != NULL)
        room->prepare(app->states[app->room], &tall);
    room->draw(app->states[app->room], &canvas);
    return true;
}

/* Where one is, before what the room's table said; the sheet as it stands where none spoke. */
static void say_place(const struct pm_app *app, const struct layout *at,
                      const struct pm_canvas *canvas, struct pm_speech *speech)
{
    const struct pm_overlay *overlay = pm_app_overlay(app);
    struct pm_text said = speech->lines;
    speech->lines = (struct pm_text)PM_TEXT_EMPTY;
    if (overlay != NULL)
        pm_speech_line(speech, "%s", overlay->title);
    else
        pm_speech_pane(speech, &at->heading);
    pm_text_add(&speech->lines, pm_text_get(&said));
    pm_text_release(&said);
    if (overlay == NULL && !speech->table)
        pm_speech_pane(speech, &canvas->sheet);
    for (size_t i = 0; i < PM_DUES; i++)
        if (app->due[i].note[0] != '\0')
            pm_speech_line(speech, "Due: %s", app->due[i].note);
}

void pm_app_draw_waiting(struct pm_grid *grid, const char *line)
{
    const struct pm_pane all = pm_pane_all(grid);
    struct layout at;
    if (all.rows < PM_LEAST_ROWS)
        return;
    lay_out(&all, 0, 1, &at);
    pm_pane_blank(&at.message, 0, 0, 1, at.message.columns);
    pm_pane_put_left(&at.message, 0, 0, at.message.columns, PM_ROLE_WARNING, line);
}

void pm_app_draw(struct pm_app *app, struct pm_grid *grid)
{
    struct pm_pane all = pm_pane_all(grid);
    struct layout at;
    pm_grid_clear(grid);
    app->stale = false;
    app->rows = grid->rows;
    app->columns = grid->columns;
    app->too_small = grid->rows < PM_LEAST_ROWS || grid->columns < PM_LEAST_COLUMNS;
    if (app->too_small) {
        draw_too_small(app, &all);
        return;
    }
    struct pm_text remark = PM_TEXT_EMPTY;
    enum pm_role role;
    struct pm_canvas canvas = {0};
    /* What a room remarks may hang on what it reads before painting; a message does not. */
    const bool told = pm_app_message_shown(app) != NULL, fresh = told && !app->message_seen;
    struct pm_speech *speech = grid->speech;
    if (!told)
        canvas = prepare(app, &all, 1, &at);
    const char *words = words_now(app, &canvas, &remark, &role);
    const int rows = rows_needed(words, all.columns - (int)strlen(message_mark(role)));
    if (told || rows > 1)
        canvas = prepare(app, &all, rows, &at);
    if (speech != NULL)
        pm_speech_begin(speech);
    /* Under what is asked the room is not told; afterwards it is told again. */
    grid->speech = pm_app_overlay(app) == NULL ? speech : NULL;
    draw_room(app, &at, &canvas);
    grid->speech = speech;
    if (speech != NULL)
        say_place(app, &at, &canvas, speech);
    draw_overlay(app->top, &canvas.sheet);
    draw_guide(app, &at.guide);
    draw_message(&at.message, role, words);
    if (speech != NULL)
        pm_speech_line(speech, "%s%s%s", fresh ? (const char[]){PM_SPEECH_NEWS, '\0'} : "",
                       message_mark(role), words);
    draw_key_line(app, &at.keys);
    pm_text_release(&remark);
    if (grid->cursor_row < 0)
        pm_pane_cursor(&at.message, 0, 0);
}
