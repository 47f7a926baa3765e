/* SPDX-License-Identifier: MIT */
/* The choice: one of a few answers. */
#include "app_inside.h"
#include "speech.h"

#include "permille/base/mem.h"

#include <ctype.h>

#define ASKED_LEAST 3 /* rows kept for the question */

struct choice {
    struct pm_overlay overlay;  /* must be first */
    struct pm_choice_spec spec; /* strings owned */
    char *question;
    char *labels[PM_CHOICES];
    size_t selected;
    bool owned; /* the context is a copy */
};

static struct choice *choice_of(const struct pm_overlay *overlay)
{
    return (struct choice *)(uintptr_t)overlay;
}

static int choice_rows(const struct pm_overlay *overlay, int most, int columns)
{
    const struct choice *choice = choice_of(overlay);
    const int asked = pm_wrap_rows(choice->question, columns);
    (void)most;
    return (asked > ASKED_LEAST ? asked : ASKED_LEAST) + 1 + (int)choice->spec.option_count;
}

static void choice_say(const struct choice *choice, struct pm_speech *speech)
{
    pm_speech_line(speech, "%s", choice->question);
    for (size_t i = 0; i < choice->spec.option_count; i++)
        pm_speech_line(speech, "%c: %s", choice->spec.options[i].letter, choice->labels[i]);
    pm_speech_line(speech, "Chosen: %s", choice->labels[choice->selected]);
}

static void choice_draw(struct pm_overlay *overlay, const struct pm_pane *pane)
{
    struct choice *choice = choice_of(overlay);
    if (pane->grid->speech != NULL)
        choice_say(choice, pane->grid->speech);
    const int room = pane->rows - 1 - (int)choice->spec.option_count;
    const int most = room > ASKED_LEAST ? room : ASKED_LEAST;
    struct pm_pane question = pm_pane_part(pane, 0, 0, most, pane->columns);
    int row = pm_pane_wrap(&question, 0, PM_ROLE_NORMAL, choice->question);
    row = (row > most ? most : row) + 1;
    for (size_t i = 0; i < choice->spec.option_count; i++, row++) {
        bool selected = i == choice->selected;
        pm_pane_put(pane, row, 0, PM_ROLE_NORMAL, selected ? "\xE2\x80\xBA" : " ");
        pm_pane_putf(pane, row, 2, PM_ROLE_KEY, "%c", choice->spec.options[i].letter);
        pm_pane_put_left(pane, row, 5, pane->columns - 5, PM_ROLE_NORMAL, choice->labels[i]);
        if (selected) {
            pm_pane_overlay(pane, row, 0, 1, pane->columns, PM_ROLE_SELECTED);
            pm_pane_cursor(pane, row, 2);
        }
    }
}

static enum pm_status choice_accept(struct pm_overlay *overlay, struct pm_error *err)
{
    const struct choice *choice = choice_of(overlay);
    const struct pm_choice_spec *spec = &choice->spec;
    if (spec->agreed == NULL)
        return spec->accept(spec->context, choice->selected, err);
    return choice->selected > 0 ? spec->agreed(spec->context, err) : PM_OK;
}

static unsigned choice_act(struct pm_overlay *overlay, const struct pm_action *action)
{
    struct choice *choice = choice_of(overlay);
    size_t count = choice->spec.option_count;
    switch (action->code) {
    case PM_ACT_ACCEPT:
        return pm_overlay_accept(&choice->overlay, choice->spec.writes);
    case PM_ACT_CANCEL:
        pm_overlay_close(overlay);
        return PM_REDRAW;
    case PM_ACT_UP:
    case PM_ACT_PREV:
        choice->selected = (choice->selected + count - 1) % count;
        return PM_REDRAW;
    case PM_ACT_DOWN:
    case PM_ACT_NEXT:
        choice->selected = (choice->selected + 1) % count;
        return PM_REDRAW;
    default:
        return PM_UNHANDLED;
    }
}

static unsigned choice_text(struct pm_overlay *overlay, const char *text)
{
    struct choice *choice = choice_of(overlay);
    for (size_t i = 0; i < choice->spec.option_count; i++) {
        int letter = tolower((unsigned char)choice->spec.options[i].letter);
        if (tolower((unsigned char)text[0]) == letter && text[1] == '\0') {
            choice->selected = i;
            return pm_overlay_accept(&choice->overlay, choice->spec.writes);
        }
    }
    return PM_UNHANDLED;
}

static void choice_free(struct pm_overlay *overlay)
{
    struct choice *choice = choice_of(overlay);
    pm_free(choice->question);
    for (size_t i = 0; i < PM_CHOICES; i++)
        pm_free(choice->labels[i]);
    pm_overlay_context_free(choice->spec.context, choice->owned, choice->spec.closed);
    pm_free(choice);
}

static const struct pm_overlay_kind choice_kind = {
    .mode = PM_MODE_CHOICE,
    .rows = choice_rows,
    .draw = choice_draw,
    .act = choice_act,
    .accept = choice_accept,
    .text = choice_text,
    .free = choice_free,
    .hints = "accept back",
};

bool pm_choice_open(struct pm_app *app, const struct pm_choice_spec *spec)
{
    struct choice *choice = pm_alloc_array(1, sizeof *choice);
    if (choice == NULL) {
        if (spec->closed != NULL)
            spec->closed(spec->context);
        return pm_overlay_failed(app, NULL);
    }
    choice->overlay.kind = &choice_kind;
    choice->spec = *spec;
    bool ok = pm_overlay_context_keep(spec->context, spec->context_size, &choice->spec.context);
    choice->owned = choice->spec.context != spec->context;
    ok = (choice->question = pm_strdup(spec->question)) != NULL && ok;
    for (size_t i = 0; i < spec->option_count; i++)
        ok = (choice->labels[i] = pm_strdup(spec->options[i].label)) != NULL && ok;
    if (!ok)
        return pm_overlay_failed(app, &choice->overlay);
    pm_overlay_push(app, &choice->overlay, spec->title);
    return true;
}
