/* SPDX-License-Identifier: MIT */
/*
 * The screen in plain lines, for a screen reader. While the application is painted into a grid that
 * carries one of these, what is in front is also told in words: the room, what stands above its
 * table, the row with the keys and the cell under the cursor with their headings, sums, what is
 * asked and typed, messages. After each paint only the lines that were not among the last ones are
 * spoken: what changed.
 */
#ifndef PERMILLE_TUI_SPEECH_H
#define PERMILLE_TUI_SPEECH_H

#include "grid.h"
#include "table.h"

#include "permille/base/text.h"

#include <stdbool.h>

#define PM_SPEECH_ROWS                                                                             \
    60 /* of the grid that is painted for it: nothing is cut for want of room                      \
        */
#define PM_SPEECH_COLUMNS 200

struct pm_speech {
    struct pm_text lines; /* a line each; one that begins with PM_SPEECH_NEWS is spoken anyhow */
    struct pm_text last;  /* those of the paint before */
    bool table;           /* the room's table has spoken: the sheet need not be read as it stands */
};
#define PM_SPEECH_NEWS '\001'

void pm_speech_release(struct pm_speech *speech);
/* Before a paint: what was told becomes what was told last. */
void pm_speech_begin(struct pm_speech *speech);
/* A line; blanks run together, rules and bars are left out, nothing for an empty one. */
void pm_speech_line(struct pm_speech *speech, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
/* The rows of a pane as they are painted, lines as above. */
void pm_speech_pane(struct pm_speech *speech, const struct pm_pane *pane);
/* What a table that was just painted has to say: see above. Nothing when it has not the keys. */
void pm_speech_table(struct pm_speech *speech, const struct pm_table *table,
                     const struct pm_table_view *view, const struct pm_pane *pane);
/* The lines that are new since the last paint, each ended by '\n'; or all. */
void pm_speech_new(const struct pm_speech *speech, bool all, struct pm_text *out);

#endif
