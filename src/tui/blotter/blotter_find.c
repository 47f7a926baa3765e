/* SPDX-License-Identifier: MIT */
/* The Blotter room: going to one that runs, a note, a blind test, a round by typing. */
#include "blotter.h"

#include "kit/find.h"

enum { TRIAL, MEDIUM, WHEN, WORDS, COLUMNS };

static const struct pm_column columns[COLUMNS] = {
    [TRIAL] = {.heading = "trial", .wish = 22},
    [MEDIUM] = {.heading = "on", .wish = 7},
    [WHEN] = {.heading = "when", .wish = 16},
    [WORDS] = {.heading = "words", .wish = 12, .grows = true},
};

static void running_words(const struct pm_session_entry *entry, size_t column, struct pm_text *out)
{
    if (column == TRIAL)
        pm_text_add(out, entry->title);
    else if (column == MEDIUM)
        pm_text_add(out, pm_medium_word(entry->row.medium));
    else if (column == WHEN)
        pm_text_add(out, entry->state);
    else if (entry->row.note != NULL)
        pm_text_add(out, entry->row.note);
}

static void note_words(const struct blotter *blotter, const struct pm_smell *note, size_t column,
                       struct pm_text *out)
{
    char span[PM_TIME_TEXT];
    if (column == TRIAL)
        blotter_title(blotter, note->number, out);
    else if (column == MEDIUM)
        pm_text_add(out, pm_medium_word(note->medium));
    else if (column == WHEN)
        pm_text_addf(out, "note, %s",
                     note->since == 0 ? "at once" : pm_span_about(note->since, span));
    else if (note->note != NULL)
        pm_text_add(out, note->note);
}

/* What runs, then the notes, as the arrows go through them. */
static enum pm_role cell(void *context, size_t row, size_t column, struct pm_text *out)
{
    const struct blotter *blotter = context;
    const size_t running = blotter->running.count;
    if (row < running)
        running_words(&blotter->running.items[row], column, out);
    else
        note_words(blotter, &blotter->notes.items[row - running], column, out);
    return PM_ROLE_NORMAL;
}

static struct pm_table table_now(void *state)
{
    struct blotter *blotter = state;
    if (blotter->testing)
        return tests_table(blotter);
    return (struct pm_table){.columns = columns,
                             .column_count = COLUMNS,
                             .rows = blotter->running.count + blotter->notes.count,
                             .context = blotter,
                             .cell = cell};
}

static void go(void *state, size_t row)
{
    struct blotter *blotter = state;
    if (blotter->testing)
        tests_go(blotter, row);
    else
        blotter->at = row;
    /* A note is seen in the log alone. */
    if (!blotter->testing && row >= blotter->running.count)
        blotter->view = VIEW_LOG;
}

void blotter_find(void *state)
{
    const struct blotter *blotter = state;
    const bool tests = blotter->testing;
    const struct pm_find_spec spec = {.title = !tests         ? "Find a blotter or a note"
                                               : blotter->one ? "Find a round"
                                                              : "Find a blind test",
                                      .label = !tests         ? "Note"
                                               : blotter->one ? "Round"
                                                              : "Test",
                                      .none = tests ? "There is no blind test yet."
                                                    : "Nothing runs, and nothing is noted yet.",
                                      .state = state,
                                      .table = table_now,
                                      .go = go};
    pm_find_open(blotter->app, &spec);
}
