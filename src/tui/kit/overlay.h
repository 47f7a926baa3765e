/* SPDX-License-Identifier: MIT */
/*
 * Overlays: panels over the lower part of a room that take the keys while they are open. They
 * stack. Five kinds: prompt, form, picker, choice, page.
 *
 * Every kind is opened with a spec that is copied; strings in it are copied unless said otherwise.
 * A context is borrowed until the overlay has gone, or, where `context_size` is given, copied: then
 * what is asked needs no memory of its own, and `closed` frees only what the copy points to.
 *
 * `accept` is called when the person says yes: PM_OK closes the overlay, anything else keeps it
 * open and shows the sentence. accept may open further overlays or change rooms. Where it writes to
 * the library, `writes` says so: then the screen is painted without the overlay first; what could
 * not be written brings it back with all that was typed. `closed` (may be
 * NULL) is called exactly once, when the overlay is gone or could not be opened, so that it can
 * free `context`.
 *
 * Opening returns false when memory ran out; the message row says so.
 */
#ifndef PERMILLE_TUI_OVERLAY_H
#define PERMILLE_TUI_OVERLAY_H

#include "action.h"
#include "grid.h"
#include "table.h"

#include "permille/base/status.h"
#include "permille/base/text.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct pm_app;
struct pm_attribute;
struct pm_entity;

/* ---- prompt: one line of text ---- */

/* Judges the text while it is being typed: one line into `out` and the role to show it in. */
typedef enum pm_role (*pm_check_fn)(void *context, const char *text, struct pm_text *out);
/* Completes: writes what should stand in place of `before`, the text before the cursor; `round`
 * counts from 0 when Tab is pressed again and again. False when there is no such completion. */
typedef bool (*pm_complete_fn)(void *context, const char *before, size_t round,
                               struct pm_text *out);

/* Goes through what there is: writes what stands in the field after `text`, or before it when step
 * is -1. False when there is nothing to go through: the key then means what it means in others. */
typedef bool (*pm_step_fn)(void *context, const char *text, int step, struct pm_text *out);

struct pm_prompt_spec {
    const char *title;
    const char *label;
    const char *text; /* to begin with, or NULL */
    size_t limit;     /* bytes; 0 means 800 */
    bool replace;     /* as in a form's field */
    pm_check_fn check;
    pm_complete_fn complete;
    enum pm_status (*accept)(void *context, const char *text, struct pm_error *err);
    bool writes;
    void (*closed)(void *context);
    void *context;
    size_t context_size; /* as in a form */
};
bool pm_prompt_open(struct pm_app *app, const struct pm_prompt_spec *spec);

/* Judges all that the form holds, its fields in order, for the line under them. */
typedef enum pm_role (*pm_form_check_fn)(void *context, const char *const values[],
                                         struct pm_text *out);

/* ---- form: labelled fields, Tab between them (after completing what was typed), Enter accepts
 * all ---- */

#define PM_FORM_FIELDS 16

struct pm_form_field {
    const char *key; /* static: an error that names it puts the cursor here (pm_error.field) */
    const char *label;
    const char *text; /* to begin with, or NULL */
    const char *hint; /* one line shown while it has the focus, or NULL */
    size_t limit;     /* bytes; 0 means 800 */
    /* NULL, or a NULL-terminated list of answers that Left and Right go through (borrowed, static);
     * `text` must be one of them. */
    const char *const *choices;
    const char *words; /* the same as "a|b|c" (copied) */
    /* The first character typed takes the place of the whole text (shown as selected). */
    bool replace;
    pm_form_check_fn check; /* while it has the focus; NULL: the form's */
    /* A warning of the check is a question: the key that would leave the field stays there once,
     * and the same again goes on. */
    bool asks;
    pm_complete_fn complete;
    pm_step_fn step; /* Up and Down go through what there is; NULL: to the next field */
    /* What it enters, or NULL; judges what is typed when nothing else does. */
    const struct pm_attribute *attribute;
};

struct pm_form_spec {
    const char *title;
    struct pm_form_field fields[PM_FORM_FIELDS];
    size_t field_count;
    size_t focus; /* the field that has the cursor first */
    /* Set by pm_form_describe(). */
    const struct pm_entity *entity;
    const void *row; /* what the fields of attributes begin with, where they have no text */
    char sign;
    int verdict_rows; /* that what is judged may take; 0: one */
    pm_form_check_fn
        check; /* of every field without one of its own; NULL: the field's hint stands */
    /* The values in order, borrowed; of a form about an entity see pm_form_describe(). On failure
     * the field that err->field names gets the focus. */
    enum pm_status (*accept)(void *context, const char *const values[], struct pm_error *err);
    bool writes;
    void (*closed)(void *context);
    void *context;
    size_t context_size; /* not 0: the form keeps a copy of so many bytes and hands that out */
};
bool pm_form_open(struct pm_app *app, const struct pm_form_spec *spec);

/*
 * Makes it a form about an entity: behind the fields that are there comes one for each attribute,
 * those that `first` names ("price|lot"; or NULL) before the others, none for those that `without`
 * names. Label, hint, limit, choices and verdict are the attribute's; it begins with what the row
 * (borrowed until the form is open; NULL: none) says of it. Then the values are by attribute, NULL
 * where there is no field, and those of the form's own fields stand behind the last attribute.
 */
void pm_form_describe(struct pm_form_spec *spec, const struct pm_entity *entity, const void *row,
                      char sign, const char *first, const char *without);
/* The field of an attribute, to say how it is completed or judged. */
struct pm_form_field *pm_form_field_of(struct pm_form_spec *spec, size_t attribute);

/* ---- picker: one row of a list, typing narrows it ---- */

#define PM_PICK_COLUMNS 6

struct pm_pick_row {
    struct pm_text cells[PM_PICK_COLUMNS]; /* empty when handed over */
    enum pm_role role;
};

struct pm_picker_spec {
    const char *title;
    const char *label;                         /* before the filter: "Material" */
    const char *text;                          /* filter to begin with, or NULL */
    struct pm_column columns[PM_PICK_COLUMNS]; /* none measured; their strings are borrowed */
    size_t column_count;
    /* Either all that can be chosen is there, `count` items, and the picker shows those whose words
     * hold what is typed (folded; without words: while nothing is typed); `index` counts the items.
     */
    size_t count;
    void (*words)(void *context, size_t index, struct pm_text *out);
    /* Or: applies the filter and returns how many rows there are now. Called once per change of the
     * filter; may cap its results and say so through `more` (shown beside the count). */
    size_t (*filter)(void *context, const char *text, bool *more);
    /* Fills one row; called for visible rows only. */
    void (*row)(void *context, size_t index, struct pm_pick_row *row);
    /* A row was chosen; `text` is the filter. */
    enum pm_status (*accept)(void *context, size_t index, const char *text, struct pm_error *err);
    bool writes;
    /* Enter without any row, e.g. to offer making it; NULL: says that nothing matches. */
    enum pm_status (*none)(void *context, const char *text, struct pm_error *err);
    const char *none_hint; /* shown instead of the list when it is empty, or NULL */
    const char *none_yet;  /* the same while nothing is typed; NULL: none_hint */
    int whole; /* rows below the list for all that the selected row's last column says */
    void (*closed)(void *context);
    void *context;
    size_t context_size; /* as in a form */
};
bool pm_picker_open(struct pm_app *app, const struct pm_picker_spec *spec);

/* ---- choice: one of a few answers ---- */

#define PM_CHOICES 6

struct pm_choice_spec {
    const char *title;
    const char *question;
    struct {
        char letter; /* ASCII letter that picks it at once */
        const char *label;
    } options[PM_CHOICES]; /* the first one has the focus: make it the harmless one */
    size_t option_count;
    enum pm_status (*accept)(void *context, size_t option, struct pm_error *err);
    /* Or, when it is yes or no: what any option but the first does; the first does nothing. */
    enum pm_status (*agreed)(void *context, struct pm_error *err);
    bool writes;
    void (*closed)(void *context);
    void *context;
    size_t context_size; /* as in a form */
};
bool pm_choice_open(struct pm_app *app, const struct pm_choice_spec *spec);

/* ---- page: a longer text to read ---- */

struct pm_page; /* being filled */
/* NULL when memory ran out; the calls below then do nothing and pm_page_open says so. */
struct pm_page *pm_page_new(const char *title);
/* One line, wrapped where it is too long, continued at `indent`. */
void pm_page_add(struct pm_page *page, enum pm_role role, int indent, const char *text);
/* A text of several lines. */
void pm_page_add_lines(struct pm_page *page, enum pm_role role, int indent, const char *text);
void pm_page_addf(struct pm_page *page, enum pm_role role, int indent, const char *format, ...)
    __attribute__((format(printf, 4, 5)));
/* The character that opened it closes it as well. */
void pm_page_close_by(struct pm_page *page, const char *key);
/* Takes the page over. Starts at its end when `at_end`. */
bool pm_page_open(struct pm_app *app, struct pm_page *page, bool at_end);

#endif
