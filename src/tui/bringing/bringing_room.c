/* SPDX-License-Identifier: MIT */
/* Bringing in: the room (see bringing_room.h). */
#include "bringing_room.h"

#include "permille/base/mem.h"

#include <string.h>

#define DOT " \xC2\xB7 "

/* ---- the room ---- */

static enum pm_status room_open(struct pm_app *app, void **state, struct pm_error *err)
{
    struct bringing_room *room = pm_alloc_array(1, sizeof *room);
    if (room == NULL || !pm_table_view_init(&room->view, 800) ||
        !pm_table_view_init(&room->guest.view, 0) || !pm_table_view_init(&room->rows.view, 0)) {
        if (room != NULL) {
            pm_table_view_release(&room->view);
            pm_table_view_release(&room->guest.view);
        }
        pm_free(room);
        return pm_fail_memory(err);
    }
    room->app = app;
    room->house = pm_app_host(app);
    room->view.column = BRINGING_NAME;
    room->guest.sign = room->house->sign;
    *state = room;
    return PM_OK;
}

static void room_close(void *state)
{
    struct bringing_room *room = state;
    bringing_forget(room);
    pm_table_view_release(&room->view);
    pm_table_view_release(&room->guest.view);
    pm_table_view_release(&room->rows.view);
    pm_free(room);
}

/* What the library has may have changed, so may what matches it. */
static enum pm_status room_read(void *state, const char **what, struct pm_error *err)
{
    struct bringing_room *room = state;
    (void)what;
    if (room->guest.another != NULL) {
        const enum pm_status status = pm_another_look_again(room->guest.another, err);
        return status == PM_OK ? guest_list(&room->guest, err) : status;
    }
    if (room->rows.some) {
        pm_table_changed(&room->rows.view);
        return pm_shelf_tables_try(room->house->studio, &room->rows.tables, err);
    }
    if (!room->some)
        return PM_OK;
    pm_table_changed(&room->view);
    return pm_bringing_match_again(room->house->studio, &room->bringing, err);
}

static void draw_nothing(const struct bringing_room *room, const struct pm_pane *pane)
{
    pm_pane_put(pane, 1, 2, PM_ROLE_NORMAL,
                "Paste a formula here, or in any room: from a message, notes, a spreadsheet;");
    pm_pane_put(pane, 2, 2, PM_ROLE_NORMAL,
                "or a table of materials, bottles or movements, with its headings.");
    pm_pane_put(pane, 3, 2, PM_ROLE_FAINT,
                "Nothing is written before you have seen what was understood.");
    pm_app_invite(room->app, pane, 5, "read-file",
                  "reads a text, a CSV table, JSON, another library");
    pm_pane_cursor(pane, 5, 2);
}

/* What asks for something first: a narrow screen cuts how it was read, which is long for a table.
 */
static void write_state(const struct bringing_room *room, struct pm_text *out)
{
    const struct pm_bringing *bringing = &room->bringing;
    pm_text_addf(out, "%zu formula%s, %zu line%s" DOT "%zu new material%s" DOT,
                 bringing->formula_count, bringing->formula_count == 1 ? "" : "s",
                 bringing->line_count, bringing->line_count == 1 ? "" : "s", bringing->fresh,
                 bringing->fresh == 1 ? "" : "s");
    if (bringing->doubts > 0)
        pm_text_addf(out, "%zu to look at", bringing->doubts);
    else
        pm_text_add(out, "nothing doubtful");
    pm_text_addf(out, DOT "read as %s", bringing->source);
}

static void room_draw(void *state, const struct pm_canvas *canvas)
{
    struct bringing_room *room = state;
    struct pm_text text = PM_TEXT_EMPTY;
    if (room->guest.another != NULL) {
        guest_draw(&room->guest, canvas);
        return;
    }
    if (room->rows.some) {
        shelf_rows_draw(&room->rows, canvas);
        return;
    }
    if (!room->some) {
        draw_nothing(room, &canvas->sheet);
        return;
    }
    write_state(room, &text);
    pm_pane_put_left(&canvas->sheet, 0, 0, canvas->sheet.columns,
                     room->bringing.doubts > 0 ? PM_ROLE_WARNING : PM_ROLE_NORMAL,
                     pm_text_get(&text));
    pm_text_release(&text);
    struct pm_table table = bringing_table(room);
    table.covered = canvas->covered;
    pm_table_draw(&table, &room->view, &canvas->sheet);
}

static unsigned room_mode(const void *state)
{
    const struct bringing_room *room = state;
    if (room->guest.another != NULL)
        return BRINGING_GUEST;
    return room->view.typing ? PM_MODE_EDIT : PM_MODE_SHEET;
}

static unsigned answer(struct bringing_room *room, unsigned did, const struct pm_error *err)
{
    if (did & PM_TABLE_FULL)
        pm_app_warn(room->app, PM_FIELD_FULL_SENTENCE);
    if (did & PM_TABLE_REFUSED)
        pm_app_say(room->app, "%s", err->text);
    return did ? PM_REDRAW : PM_UNHANDLED;
}

static unsigned room_act(void *state, int code)
{
    struct bringing_room *room = state;
    struct pm_error err = {0};
    const struct pm_table table = bringing_table(room);
    if (code == PM_ACT_CANCEL && !room->view.typing) {
        pm_app_go(room->app, PM_ROOM_BENCH);
        return PM_REDRAW;
    }
    if (room->guest.another != NULL) {
        const struct pm_table guest = guest_table(&room->guest);
        return answer(room, pm_table_act(&guest, &room->guest.view, code, &err), &err);
    }
    if (room->rows.some) {
        const struct pm_table rows = shelf_rows_table(&room->rows);
        return answer(room, pm_table_act(&rows, &room->rows.view, code, &err), &err);
    }
    return room->some ? answer(room, pm_table_act(&table, &room->view, code, &err), &err)
                      : PM_UNHANDLED;
}

static unsigned room_text(void *state, const char *text, bool pasted)
{
    struct bringing_room *room = state;
    struct pm_error err = {0};
    const struct pm_table table = bringing_table(room);
    if (pasted && !room->view.typing) {
        bringing_paste(room, text);
        return PM_REDRAW;
    }
    if (room->guest.another != NULL || room->rows.some)
        return PM_UNHANDLED;
    return room->some ? answer(room, pm_table_type(&table, &room->view, text, pasted, &err), &err)
                      : PM_UNHANDLED;
}

/* All of what the row has no room for. */
static enum pm_role room_remark(const void *state, bool details, struct pm_text *out)
{
    (void)details;
    const struct bringing_room *room = state;
    if (room->guest.another != NULL)
        return guest_remark(&room->guest, out);
    if (room->rows.some)
        return shelf_rows_remark(&room->rows, out);
    if (!room->some)
        return PM_ROLE_FAINT;
    const struct bringing_row row = bringing_row_at(room, room->view.row);
    if (!row.is_line) {
        const struct pm_brought_formula *formula = &room->bringing.formulas[row.formula];
        if (formula->remark != NULL)
            pm_text_add(out, formula->remark);
        return PM_ROLE_WARNING;
    }
    const struct pm_brought_line *line = &room->bringing.lines[row.line];
    bringing_written(line, out);
    /* Words that stood between the lines. */
    if (line->comment != NULL && strstr(line->text, line->comment) == NULL)
        pm_text_addf(out, "%scomment: %s", out->length > 0 ? DOT : "", line->comment);
    if (line->doubt != NULL)
        pm_text_addf(out, "%s%s", out->length > 0 ? ": " : "", line->doubt);
    return line->doubt != NULL ? PM_ROLE_WARNING : PM_ROLE_FAINT;
}

static const char *room_unsaved(const void *state)
{
    const struct bringing_room *room = state;
    return room->some || room->rows.some || room->guest.another != NULL
               ? "What was read and not brought in"
               : NULL;
}

enum { HINT_USUAL, HINT_NOTHING, HINT_GUEST, HINT_TYPING };

static const char *const hints[] = {
    [HINT_USUAL] = "bring-in correct next-doubt leave-out forget-brought",
    [HINT_NOTHING] = "read-file back",
    [HINT_GUEST] = "bring-in-chosen choose look-closer as-second other-name only-kind also-same "
                   "forget-brought",
    [HINT_TYPING] = "accept back next down",
    NULL,
};

static size_t room_hint(const void *state)
{
    const struct bringing_room *room = state;
    if (room->guest.another != NULL)
        return HINT_GUEST;
    if (!room->some && !room->rows.some)
        return HINT_NOTHING;
    return room->view.typing ? HINT_TYPING : HINT_USUAL;
}

const struct pm_room pm_room_bringing = {
    .id = "bringing",
    .name = "Bring in",
    .keys = "I F10",
    .help =
        "Formulas or tables pasted or read from a file, or another library, before they come in.",
    .open = room_open,
    .read = room_read,
    .draw = room_draw,
    .mode = room_mode,
    .mode_heading = "With another library in front",
    .actions = &bringing_actions,
    .act = room_act,
    .text = room_text,
    .hints = hints,
    .hint = room_hint,
    .remark = room_remark,
    .unsaved = room_unsaved,
    .close = room_close,
};
