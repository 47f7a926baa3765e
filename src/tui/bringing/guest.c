/* SPDX-License-Identifier: MIT */
/* Another library that is to be brought in (see guest.h). */
#include "guest.h"

#include "permille/base/mem.h"

#include <string.h>

#define DOT " \xC2\xB7 "

enum { GUEST_WHAT, GUEST_NAME, GUEST_COMES, GUEST_STANDS, GUEST_COLUMNS };

static const struct pm_column columns[GUEST_COLUMNS] = {
    [GUEST_WHAT] = {"what", "what", .wish = 11, .fixed = true},
    [GUEST_NAME] = {"name", "name", .wish = 24, .least = 14, .most = 60, .yields = 2,
                    .fixed = true},
    [GUEST_COMES] = {"comes", "comes in", .wish = 12, .least = 8, .most = 30, .yields = 1},
    [GUEST_STANDS] = {"stands", "how it stands", .wish = 25, .least = 12, .grows = true},
};

/* ---- what there is ---- */

void guest_forget(struct guest *guest)
{
    pm_another_close(guest->another);
    pm_free(guest->from);
    pm_free(guest->listed);
    guest->another = NULL;
    guest->from = NULL;
    guest->listed = NULL;
    guest->count = 0;
    guest->all = false;
    guest->only = 0;
    guest->view.row = guest->view.first = 0;
}

enum pm_status guest_take(struct guest *guest, struct pm_another *another, const char *path,
                          struct pm_error *err)
{
    const char *slash = strrchr(path, '/');
    guest_forget(guest);
    guest->another = another;
    guest->from = pm_strdup(slash != NULL ? slash + 1 : path);
    const enum pm_status status =
        guest->from != NULL ? guest_list(guest, err) : pm_fail_memory(err);
    if (status != PM_OK)
        guest_forget(guest);
    return status;
}

static bool is_listed(const struct guest *guest, size_t at)
{
    const struct pm_other_item *item = &guest->another->items.items[at];
    if (guest->only != 0 && item->kind != (enum pm_other_kind)(guest->only - 1))
        return false;
    return guest->all || guest->another->wishes[at].comes != PM_OTHER_LEAVE ||
           (item->state != PM_OTHER_SAME && item->state != PM_OTHER_LESS);
}

enum pm_status guest_list(struct guest *guest, struct pm_error *err)
{
    const size_t count = guest->another->items.count;
    size_t here = SIZE_MAX, listed_count = 0;
    size_t *listed = pm_alloc_array(count + 1, sizeof *listed);
    if (listed == NULL)
        return pm_fail_memory(err);
    guest_here(guest, &here);
    guest->view.row = 0;
    for (size_t i = 0; i < count; i++) {
        if (!is_listed(guest, i))
            continue;
        if (i <= here && here != SIZE_MAX)
            guest->view.row = listed_count;
        listed[listed_count++] = i;
    }
    pm_free(guest->listed);
    guest->listed = listed;
    guest->count = listed_count;
    pm_table_changed(&guest->view);
    return PM_OK;
}

bool guest_here(const struct guest *guest, size_t *at)
{
    if (guest->another == NULL || guest->view.row >= guest->count)
        return false;
    *at = guest->listed[guest->view.row];
    return true;
}

/* ---- the table ---- */

static enum pm_role role_of(const struct guest *guest, size_t at)
{
    const enum pm_other_state state = guest->another->items.items[at].state;
    if (guest->another->wishes[at].comes != PM_OTHER_LEAVE)
        return PM_ROLE_NORMAL;
    return state == PM_OTHER_DIFFERS || state == PM_OTHER_FORKED || state == PM_OTHER_TAKEN
               ? PM_ROLE_WARNING
               : PM_ROLE_FAINT;
}

static enum pm_role cell(void *context, size_t row, size_t column, struct pm_text *out)
{
    const struct guest *guest = context;
    const size_t at = guest->listed[row];
    const struct pm_other_item *item = &guest->another->items.items[at];
    switch (column) {
    case GUEST_WHAT:
        pm_text_add(out, pm_other_kind_word(item->kind, false));
        return item->accord ? PM_ROLE_ACCORD : PM_ROLE_FAINT;
    case GUEST_NAME:
        pm_another_say_item(guest->another, at, guest->sign, out);
        return role_of(guest, at) == PM_ROLE_FAINT ? PM_ROLE_FAINT : PM_ROLE_NORMAL;
    case GUEST_COMES:
        pm_another_say_how(guest->another, at, out);
        return role_of(guest, at) == PM_ROLE_FAINT ? PM_ROLE_FAINT : PM_ROLE_PREVIEW;
    default:
        pm_another_say_state(guest->another, at, out);
        return role_of(guest, at);
    }
}

/* A sign beside the colour: "+" what comes in, "?" where both differ. */
static enum pm_role mark(void *context, size_t row, struct pm_text *out)
{
    const struct guest *guest = context;
    const size_t at = guest->listed[row];
    if (guest->another->wishes[at].comes != PM_OTHER_LEAVE)
        pm_text_add(out, "+");
    else if (role_of(guest, at) == PM_ROLE_WARNING)
        pm_text_add(out, "?");
    return PM_ROLE_WARNING;
}

struct pm_table guest_table(struct guest *guest)
{
    return (struct pm_table){.columns = columns,
                             .column_count = GUEST_COLUMNS,
                             .rows = guest->count,
                             .context = guest,
                             .cell = cell,
                             .mark = mark,
                             .at = GUEST_NAME,
                             .above = 2,
                             .empty = "All of it is here already."};
}

/* ---- painting ---- */

static void write_state(const struct guest *guest, struct pm_text *out)
{
    size_t counts[PM_OTHER_KINDS], same = 0;
    const struct pm_another *another = guest->another;
    for (size_t i = 0; i < another->items.count; i++)
        same += another->items.items[i].state == PM_OTHER_SAME;
    pm_another_count(another, counts);
    pm_text_addf(out, "%s" DOT "to come in: ", guest->from);
    pm_another_say_counts(counts, out);
    pm_text_addf(out, DOT "%zu the same here", same);
    if (guest->only != 0)
        pm_text_addf(out, DOT "%s alone",
                     pm_other_kind_word((enum pm_other_kind)(guest->only - 1), true));
}

void guest_draw(struct guest *guest, const struct pm_canvas *canvas)
{
    struct pm_text text = PM_TEXT_EMPTY;
    struct pm_table table = guest_table(guest);
    write_state(guest, &text);
    /* The row above the table is blank where one is enough. */
    const struct pm_pane above = pm_pane_part(&canvas->sheet, 0, 0, 2, canvas->sheet.columns);
    pm_pane_wrap(&above, 0, PM_ROLE_NORMAL, pm_text_get(&text));
    pm_text_release(&text);
    table.covered = canvas->covered;
    pm_table_draw(&table, &guest->view, &canvas->sheet);
}

enum pm_role guest_remark(const struct guest *guest, struct pm_text *out)
{
    size_t at;
    if (!guest_here(guest, &at))
        return PM_ROLE_FAINT;
    pm_another_say_state(guest->another, at, out);
    return role_of(guest, at);
}
