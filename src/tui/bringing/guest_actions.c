/* SPDX-License-Identifier: MIT */
/* Another library: what can be done with its rows (guest.h), as rows of the room's table. */
#include "bringing_room.h"

#include "permille/base/mem.h"

#include <string.h>

static struct guest *guest_of(void *state)
{
    struct bringing_room *room = state;
    return &room->guest;
}

/* Lists anew after something was wished, and says what did not go. */
static void wished(struct bringing_room *room, enum pm_status status, struct pm_error *err)
{
    struct pm_error why = {0};
    if (status != PM_OK)
        pm_app_say(room->app, "%s", err->text);
    if (guest_list(&room->guest, &why) != PM_OK)
        pm_app_error(room->app, &why);
}

/* What came along cannot be left alone; what needs it can. */
static void say_needed(struct bringing_room *room, size_t at)
{
    const struct pm_another *another = room->guest.another;
    const size_t by = another->wishes[at].needed_by;
    if (another->wishes[at].how == PM_OTHER_LEAVE && by != SIZE_MAX)
        pm_app_say(room->app, "It comes along: the %s %s needs it.",
                   pm_other_kind_word(another->items.items[by].kind, false),
                   another->items.items[by].name);
}

void guest_mark(void *state)
{
    struct bringing_room *room = state;
    struct guest *guest = guest_of(state);
    struct pm_error err = {0};
    size_t at;
    if (!guest_here(guest, &at))
        return;
    const struct pm_other_item *item = &guest->another->items.items[at];
    enum pm_other_how how = PM_OTHER_LEAVE;
    if (guest->another->wishes[at].how == PM_OTHER_LEAVE)
        how = pm_other_can(item, PM_OTHER_TAKE, NULL)     ? PM_OTHER_TAKE
              : pm_other_can(item, PM_OTHER_SECOND, NULL) ? PM_OTHER_SECOND
                                                          : PM_OTHER_TAKE;
    wished(room, pm_another_wish(guest->another, at, how, &err), &err);
    if (err.status == PM_OK)
        say_needed(room, at);
    guest->view.row += guest->view.row + 1 < guest->count;
}

void guest_second(void *state)
{
    struct bringing_room *room = state;
    struct guest *guest = guest_of(state);
    struct pm_error err = {0};
    size_t at;
    if (guest_here(guest, &at))
        wished(room, pm_another_wish(guest->another, at, PM_OTHER_SECOND, &err), &err);
}

/* All that is shown, or none of it where all that can come in does. */
void guest_mark_all(void *state)
{
    struct bringing_room *room = state;
    struct guest *guest = guest_of(state);
    struct pm_error err = {0};
    size_t could = 0;
    bool *which = pm_alloc_array(guest->another->items.count + 1, sizeof *which);
    if (which == NULL) {
        pm_fail_memory(&err);
        pm_app_error(room->app, &err);
        return;
    }
    for (size_t i = 0; i < guest->count; i++) {
        const size_t at = guest->listed[i];
        which[at] = true;
        could += guest->another->wishes[at].how == PM_OTHER_LEAVE &&
                 pm_other_can(&guest->another->items.items[at], PM_OTHER_TAKE, NULL);
    }
    wished(room,
           pm_another_wish_all(guest->another, which, could > 0 ? PM_OTHER_TAKE : PM_OTHER_LEAVE,
                               NULL, &err),
           &err);
    pm_free(which);
}

/* ---- another name ---- */

static enum pm_status name_accept(void *context, const char *text, struct pm_error *err)
{
    struct bringing_room *room = context;
    struct guest *guest = &room->guest;
    struct pm_error why = {0};
    size_t at;
    if (!guest_here(guest, &at))
        return PM_OK;
    const enum pm_status status = pm_another_call(guest->another, at, text, err);
    if (status == PM_OK && guest_list(guest, &why) != PM_OK)
        pm_app_error(room->app, &why);
    return status;
}

void guest_call(void *state)
{
    struct bringing_room *room = state;
    struct guest *guest = guest_of(state);
    size_t at;
    if (!guest_here(guest, &at))
        return;
    const struct pm_other_item *item = &guest->another->items.items[at];
    const bool bottle = item->kind == PM_OTHER_BOTTLE;
    const char *name = guest->another->names[at];
    const struct pm_prompt_spec spec = {.title = bottle ? "Comes in under another number"
                                                        : "Comes in under another name",
                                        .label = bottle ? "Number" : "Name",
                                        .text = name != NULL ? name
                                                : bottle     ? NULL
                                                             : item->name,
                                        .accept = name_accept,
                                        .context = room};
    pm_prompt_open(room->app, &spec);
}

/* ---- looking ---- */

static void add_field(struct pm_page *page, const struct pm_another_field *field)
{
    pm_page_addf(page, PM_ROLE_HEADING, 2, "%s", field->field);
    pm_page_addf(page, PM_ROLE_NORMAL, 9, "  here   %s", field->mine != NULL ? field->mine : "-");
    pm_page_addf(page, PM_ROLE_NORMAL, 9, "  there  %s",
                 field->theirs != NULL ? field->theirs : "-");
}

void guest_look(void *state)
{
    struct bringing_room *room = state;
    struct guest *guest = guest_of(state);
    struct pm_another_fields fields;
    struct pm_error err = {0};
    struct pm_text text = PM_TEXT_EMPTY;
    size_t at;
    if (!guest_here(guest, &at))
        return;
    if (pm_another_differences(guest->another, at, guest->sign, &fields, &err) != PM_OK) {
        pm_app_error(room->app, &err);
        return;
    }
    pm_text_addf(&text, "The %s ", pm_other_kind_word(guest->another->items.items[at].kind, false));
    pm_another_say_item(guest->another, at, guest->sign, &text);
    struct pm_page *page = pm_page_new(pm_text_get(&text));
    pm_text_clear(&text);
    pm_another_say_state(guest->another, at, &text);
    pm_page_addf(page, PM_ROLE_NORMAL, 0, "How it stands: %s.", pm_text_get(&text));
    pm_page_add(page, PM_ROLE_NORMAL, 0, "");
    for (size_t i = 0; i < fields.count; i++)
        add_field(page, &fields.items[i]);
    if (fields.count == 0)
        pm_page_add(page, PM_ROLE_FAINT, 0,
                    guest->another->items.items[at].mine == 0
                        ? "There is nothing here to hold it against."
                        : "In no field does it differ from what is here.");
    pm_page_open(room->app, page, false);
    pm_text_release(&text);
    pm_list_release(&fields);
}

void guest_all(void *state)
{
    struct guest *guest = guest_of(state);
    struct pm_error none = {0};
    guest->all = !guest->all;
    wished(state, PM_OK, &none);
}

/* Every kind, then each that there is alone. */
void guest_only(void *state)
{
    struct guest *guest = guest_of(state);
    struct pm_error none = {0};
    size_t counts[PM_OTHER_KINDS] = {0};
    for (size_t i = 0; i < guest->another->items.count; i++)
        counts[guest->another->items.items[i].kind]++;
    do
        guest->only = (guest->only + 1) % (PM_OTHER_KINDS + 1);
    while (guest->only != 0 && counts[guest->only - 1] == 0);
    wished(state, PM_OK, &none);
}

/* ---- bringing it in ---- */

static void tell_lines(struct pm_app *app, char *told)
{
    for (char *at = told; at != NULL && *at != '\0';) {
        const size_t length = strcspn(at, "\n");
        pm_app_warn(app, "%.*s", (int)length, at);
        at += length + (at[length] == '\n');
    }
}

enum pm_status guest_bring(void *state, struct pm_error *err)
{
    struct bringing_room *room = state;
    struct guest *guest = guest_of(state);
    size_t counts[PM_OTHER_KINDS];
    char undo[PM_KEY_TEXT], *told = NULL;
    struct pm_text text = PM_TEXT_EMPTY;
    pm_another_count(guest->another, counts);
    const enum pm_status status = pm_another_bring(room->house->studio, guest->another, &told, err);
    if (status != PM_OK)
        return status;
    guest_forget(guest);
    pm_app_changed(room->app, PM_ROOM_BRINGING);
    pm_another_say_counts(counts, &text);
    tell_lines(room->app, told);
    pm_app_say(room->app, "Brought in: %s. Saved. On the Shelf %s puts it out of sight again.",
               pm_text_get(&text), pm_app_key(room->app, "undo", undo));
    pm_text_release(&text);
    pm_free(told);
    return PM_OK;
}
