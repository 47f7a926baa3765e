/* SPDX-License-Identifier: MIT */
/* Bringing in: what can be done. The ids are stable: people's key files name them. */
#include "bringing_room.h"

#include "kit/files.h"
#include "kit/find.h"

#include "permille/base/mem.h"

#include <string.h>

#define GROUP "Bringing in"
#define SHEET PM_MODE_SHEET
#define GUEST BRINGING_GUEST

static bool has_some(void *state)
{
    struct bringing_room *room = state;
    const bool some = bringing_holds(room);
    if (!some)
        pm_app_say(room->app,
                   "There is nothing to bring in yet: paste a formula or a table, or read a file.");
    return some;
}

static void open_cell(void *state)
{
    struct bringing_room *room = state;
    struct pm_error err = {0};
    const struct pm_table table = bringing_table(room);
    if (room->rows.some) {
        shelf_rows_edit(room);
        return;
    }
    if (pm_table_open(&table, &room->view, &err) & PM_TABLE_REFUSED)
        pm_app_say(room->app, "%s", err.text);
}

static void leave_out(void *state)
{
    struct bringing_room *room = state;
    struct pm_error err = {0};
    if (room->rows.some) {
        shelf_rows_leave(room);
        return;
    }
    const struct bringing_row row = bringing_row_at(room, room->view.row);
    const enum pm_status status =
        row.is_line
            ? pm_bringing_leave_line(room->house->studio, &room->bringing, row.line, &err)
            : pm_bringing_leave_formula(room->house->studio, &room->bringing, row.formula, &err);
    if (status != PM_OK)
        pm_app_error(room->app, &err);
    pm_table_changed(&room->view);
}

/* The next row with a doubt, going round. */
static void next_doubt(void *state)
{
    struct bringing_room *room = state;
    const size_t rows = bringing_rows(room);
    if (room->rows.some) {
        shelf_rows_next(room);
        return;
    }
    for (size_t i = 1; i <= rows; i++) {
        const size_t at = (room->view.row + i) % rows;
        if (bringing_doubtful(room, at)) {
            room->view.row = at;
            return;
        }
    }
    pm_app_say(room->app, "Nothing is doubtful.");
}

static enum pm_status file_accept(void *context, const char *path, struct pm_error *err)
{
    return bringing_open(context, path, err);
}

static void ask_path(struct bringing_room *room)
{
    const struct pm_prompt_spec spec = {.title =
                                            "Read formulas, tables or another library from a file",
                                        .label = "File",
                                        .limit = 4000,
                                        .complete = pm_complete_file,
                                        .accept = file_accept,
                                        .context = room};
    pm_prompt_open(room->app, &spec);
}

static enum pm_status file_agreed(void *context, struct pm_error *err)
{
    (void)err;
    ask_path(context);
    return PM_OK;
}

static void ask_file(void *state)
{
    struct bringing_room *room = state;
    const struct pm_choice_spec spec = {
        .title = "Bring in something else",
        .question = "Forget what was read, and what was put right in it, for another file?",
        .options = {{'n', "no, it stays"}, {'y', "read another file"}},
        .option_count = 2,
        .agreed = file_agreed,
        .context = room};
    if (bringing_holds(room))
        pm_choice_open(room->app, &spec);
    else
        ask_path(room);
}

static enum pm_status bring(void *state, struct pm_error *err)
{
    struct bringing_room *room = state;
    struct pm_error why;
    int64_t first = 0;
    char key[PM_KEY_TEXT];
    if (room->rows.some)
        return shelf_rows_bring(room, err);
    enum pm_status status = pm_bringing_commit(room->house->studio, &room->bringing, &first, err);
    if (status != PM_OK)
        return status;
    const size_t formulas = room->bringing.formula_count;
    bringing_forget(room);
    pm_app_changed(room->app, PM_ROOM_BRINGING);
    if (pm_bench_show_draft(room->app, first, &why) != PM_OK)
        pm_app_error(room->app, &why);
    pm_app_key(room->app, "undo", key);
    pm_app_say(room->app, "%s. Saved. On the Shelf %s takes all of it back.",
               formulas == 1 ? "Brought in" : "All of them are brought in", key);
    return PM_OK;
}

static enum pm_status forget_accept(void *context, struct pm_error *err)
{
    (void)err;
    bringing_forget(context);
    return PM_OK;
}

static void forget(void *state)
{
    struct bringing_room *room = state;
    const struct pm_choice_spec spec = {
        .title = "Forget it",
        .question = "Forget what was read, and everything that was put right in it?",
        .options = {{'n', "no, it stays"}, {'y', "forget it"}},
        .option_count = 2,
        .agreed = forget_accept,
        .context = room};
    pm_choice_open(room->app, &spec);
}

/* Nothing is written before all of it is brought in, and then it is the shelf's last step. */
static void no_undo(void *state)
{
    struct bringing_room *room = state;
    char open[PM_KEY_TEXT], away[PM_KEY_TEXT], undo[PM_KEY_TEXT];
    pm_app_say(room->app,
               "Nothing is written yet: %s puts a cell right again, %s takes a line in again. What "
               "was brought in, %s takes back on the Shelf.",
               pm_app_key(room->app, "correct", open), pm_app_key(room->app, "leave-out", away),
               pm_app_key(room->app, "undo", undo));
}

static struct pm_table table_now(void *state)
{
    struct bringing_room *room = state;
    return room->guest.another != NULL ? guest_table(&room->guest)
           : room->rows.some           ? shelf_rows_table(&room->rows)
                                       : bringing_table(room);
}

static void go(void *state, size_t row)
{
    struct bringing_room *room = state;
    if (room->guest.another != NULL)
        room->guest.view.row = row;
    else if (room->rows.some)
        room->rows.view.row = row;
    else
        room->view.row = row;
}

static void find(void *state)
{
    const struct bringing_room *room = state;
    const struct pm_find_spec spec = {.title = "Find a line",
                                      .label = "Line",
                                      .none = "There is nothing to look for.",
                                      .state = state,
                                      .table = table_now,
                                      .go = go};
    pm_find_open(room->app, &spec);
}

static const struct pm_action rows[] = {
    {.verb = PM_VERB_FORMULAS, .modes = SHEET | GUEST, .run = pm_formulas_list_here},
    {.verb = PM_VERB_UNDO,
     .help = "Says what can be taken back here, and how.",
     .group = GROUP,
     .modes = SHEET | GUEST,
     .run = no_undo},
    {"find-brought", "find a line", "Goes to a line: type part of its row.", GROUP, NULL,
     SHEET | GUEST, .verb = PM_VERB_SEARCH, .run = find},
    {"bring-in", "bring in", "Brings in all that is not left out, as one step that can be undone.",
     GROUP, NULL, SHEET, .verb = PM_VERB_KEEP, .ready = has_some, .write = bring,
     .also = "import accept save"},
    {"correct", "put right",
     "Opens the cell, or the row of a table: another name, other parts, strength.", GROUP, NULL,
     SHEET, .verb = PM_VERB_OPEN, .ready = has_some, .run = open_cell,
     .also = "meant match replace material"},
    {"leave-out", "leave out", "Leaves the line, the formula or the row out, or takes it in again.",
     GROUP, NULL, SHEET, .verb = PM_VERB_DROP, .ready = has_some, .run = leave_out},
    {"next-doubt", "next doubt", "Goes to the next line that should be looked at.", GROUP, "Q",
     SHEET, .ready = has_some, .run = next_doubt, .also = "meant uncertain check"},
    {"read-file", "read a file", "Reads a text, a table (CSV), JSON, or another library.", GROUP,
     NULL, SHEET | GUEST, .verb = PM_VERB_ADD, .run = ask_file, .also = "import load open paste"},
    {"forget-brought", "forget it", "Forgets what was pasted or read; nothing was written.", GROUP,
     NULL, SHEET | GUEST, .verb = PM_VERB_EMPTY, .ready = has_some, .run = forget},
    {"bring-in-chosen", "bring in", "Brings in all that is marked, as one step.", GROUP, NULL,
     GUEST, .verb = PM_VERB_KEEP, .write = guest_bring},
    {"choose", "mark", "Marks it to come in, or leaves it; what it needs comes along.", GROUP, NULL,
     GUEST, .verb = PM_VERB_MARK, .run = guest_mark},
    {"choose-all", "mark all", "Marks all that is shown, or leaves all of it.", GROUP, "Ctrl-T",
     GUEST, .run = guest_mark_all},
    {"look-closer", "difference", "Shows in what it differs from what is here, field by field.",
     GROUP, NULL, GUEST, .verb = PM_VERB_OPEN, .run = guest_look},
    {"as-second", "as a second one", "Brings it in beside the one that is here.", GROUP, NULL,
     GUEST, .verb = PM_VERB_NEW, .run = guest_second},
    {"other-name", "another name",
     "Brings it in under another name, a bottle under another number.", GROUP, NULL, GUEST,
     .verb = PM_VERB_EDIT, .run = guest_call},
    {"also-same", "show the same", "Shows also what is the same here, or not.", GROUP, NULL, GUEST,
     .verb = PM_VERB_HIDDEN, .run = guest_all},
    {"only-kind", "one kind", "Shows formulas alone, then materials, and so on.", GROUP, NULL,
     GUEST, .verb = PM_VERB_FILTER, .run = guest_only},
};

const struct pm_action_table bringing_actions = {rows, sizeof rows / sizeof *rows};
