/* SPDX-License-Identifier: MIT */
/*
 * A line editor: text, cursor, limit. It knows nothing of the data behind it and says whether the
 * text changed. Its memory is fixed when it is made, so typing cannot fail.
 */
#ifndef PERMILLE_TUI_FIELD_H
#define PERMILLE_TUI_FIELD_H

#include "grid.h"

#include <stdbool.h>
#include <stddef.h>

struct pm_field {
    char *text;    /* NUL-terminated valid UTF-8, one line; owned */
    size_t length; /* bytes */
    size_t cursor; /* byte offset, between glyphs */
    size_t limit;  /* most bytes it may hold */
    bool whole;    /* all of it is selected: the first character typed takes its place */
    size_t first;  /* byte offset of the first glyph shown (kept by pm_field_draw) */
};

enum pm_field_result {
    PM_FIELD_IGNORED, /* not an editing action */
    PM_FIELD_SAME,    /* understood; the text is as before */
    PM_FIELD_CHANGED,
    PM_FIELD_FULL /* it does not fit; the text is as before, and the person should be told */
};

#define PM_FIELD_FULL_SENTENCE "That is too long to go here; nothing of it was put in."

/* False when memory ran out (the field is then empty, limit 0, and can be released). */
bool pm_field_init(struct pm_field *field, size_t limit);
void pm_field_release(struct pm_field *field);
/* Replaces the text (cut at the limit), cursor at its end. */
void pm_field_set(struct pm_field *field, const char *text);
/* The same, all of it selected: typing takes its place, moving in it goes on from it. */
void pm_field_offer(struct pm_field *field, const char *text);
/* Inserts typed or pasted text at the cursor: line ends and tabs become blanks, controls are left
 * out. All of it or nothing (PM_FIELD_FULL): half a pasted number would be another number. */
enum pm_field_result pm_field_insert(struct pm_field *field, const char *text);
/* Obeys PM_ACT_LEFT, RIGHT, FIRST, LAST, WORD_*, ERASE*, DELETE. */
enum pm_field_result pm_field_act(struct pm_field *field, int code);
/* Paints it into `cells` cells with role PM_ROLE_EDITING, scrolled so that the cursor is seen, and
 * places the hardware cursor when `focused`. */
void pm_field_draw(struct pm_field *field, const struct pm_pane *pane, int row, int column,
                   int cells, bool focused);

#endif
