/* SPDX-License-Identifier: MIT */
/* Overlays with fields: the form, and the prompt, which is a form of one field. */
#include "app_inside.h"
#include "field.h"
#include "speech.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/base/word.h"
#include "permille/core/entity.h"

#include <string.h>

#define BELOW_MOST    4   /* rows below the fields */
#define DEFAULT_LIMIT 800 /* the longest name: 200 characters */
#define VALUES        (PM_ENTITY_MOST + PM_FORM_FIELDS)

struct entry {
    struct pm_field field; /* empty when there are choices */
    const char *key;       /* static, or NULL */
    char *label;           /* owned */
    char *hint;            /* owned, may be NULL */
    const char *const *choices;
    char **own_choices; /* where they were given as words: the same list, owned */
    const struct pm_attribute *attribute;
    size_t chosen;
    pm_form_check_fn check;
    pm_complete_fn complete;
    pm_step_fn step;
    bool asks, asked;       /* its warning is a question; it was put on the text as it is now */
    struct pm_text verdict; /* of the check, on the text as it is now */
    enum pm_role verdict_role;
    bool touched;        /* the person changed it */
    struct pm_text stem; /* what was completed, while rounds are going on */
    size_t round;        /* the next one; 0: nothing completed since the last typing */
};

struct form {
    struct pm_overlay overlay; /* must be first */
    struct entry entries[PM_FORM_FIELDS];
    size_t count, focus;
    int verdict_rows;
    const struct pm_entity *entity; /* the values are by its attributes; or NULL */
    bool writes;
    pm_form_check_fn check;
    enum pm_status (*accept)(void *context, const char *const values[], struct pm_error *err);
    pm_check_fn check_one; /* of a prompt, as is the next */
    enum pm_status (*accept_one)(void *context, const char *text, struct pm_error *err);
    void (*closed)(void *context);
    void *context;
    bool context_owned;
};

/* ---- entries --------------------------------------------------------------------------------- */

static const char *entry_value(const struct entry *entry)
{
    return entry->choices != NULL ? entry->choices[entry->chosen] : entry->field.text;
}

/* In the order of the fields, or by attribute and behind them those of other fields. */
static void form_values(const struct form *form, const char *values[VALUES])
{
    size_t own = form->entity != NULL ? form->entity->count : 0;
    for (size_t i = 0; i < own; i++)
        values[i] = NULL;
    for (size_t i = 0; i < form->count; i++) {
        const struct pm_attribute *attribute = form->entries[i].attribute;
        const bool described = form->entity != NULL && attribute != NULL;
        values[described ? (size_t)(attribute - form->entity->attributes) : own++] =
            entry_value(&form->entries[i]);
    }
}

/* Only what cannot be read is told; that it is needed comes with Enter. What is right only when it
 * is whole, a number with a check digit or a name, is not judged on the way. */
static enum pm_role attribute_judge(const struct pm_attribute *attribute, const char *text,
                                    struct pm_text *out)
{
    struct pm_error err = {0};
    if (text[0] != '\0' && attribute->kind != PM_ATTRIBUTE_REFERENCE &&
        attribute->kind != PM_ATTRIBUTE_CAS && pm_attribute_check(attribute, text, &err) != PM_OK)
        pm_text_add(out, err.text);
    return PM_ROLE_ERROR;
}

/* The verdict shown is that of the field with the focus, on all the values. */
static void form_judge(struct form *form)
{
    struct entry *entry = &form->entries[form->focus];
    const pm_form_check_fn check = entry->check != NULL ? entry->check : form->check;
    const char *values[VALUES];
    pm_text_clear(&entry->verdict);
    form_values(form, values);
    if (form->check_one != NULL)
        entry->verdict_role = form->check_one(form->context, values[0], &entry->verdict);
    else if (check != NULL)
        entry->verdict_role = check(form->context, values, &entry->verdict);
    else if (entry->attribute != NULL && entry->touched)
        entry->verdict_role =
            attribute_judge(entry->attribute, entry_value(entry), &entry->verdict);
}

/* "a|b|c" as the list the entry owns. */
static bool entry_split(struct entry *entry, const char *words)
{
    size_t length, count = 0;
    while (pm_word_at(words, (int)count, &length) != NULL)
        count++;
    entry->own_choices = pm_alloc_array(count + 1, sizeof *entry->own_choices);
    if (entry->own_choices == NULL)
        return false;
    for (size_t i = 0; i < count; i++) {
        const char *word = pm_word_at(words, (int)i, &length);
        entry->own_choices[i] = pm_strndup(word, length);
        if (entry->own_choices[i] == NULL)
            return false;
    }
    entry->choices = (const char *const *)entry->own_choices;
    return true;
}

/* The answers there are, "a|b"; NULL: any. */
static const char *entry_words(const struct pm_form_field *spec, char *buf)
{
    if (spec->words != NULL || spec->choices != NULL || spec->attribute == NULL)
        return spec->words;
    return spec->attribute->kind == PM_ATTRIBUTE_FLAG ? "no|yes"
                                                      : pm_attribute_words(spec->attribute, buf);
}

static bool entry_init(struct entry *entry, const struct pm_form_field *spec, const char *text)
{
    char buf[PM_WORDS_TEXT];
    const char *words = entry_words(spec, buf);
    *entry = (struct entry){.key = spec->key,
                            .choices = spec->choices,
                            .attribute = spec->attribute,
                            .check = spec->check,
                            .asks = spec->asks,
                            .complete = spec->complete,
                            .step = spec->step};
    entry->label = pm_strdup(spec->label);
    entry->hint = pm_strdup(spec->hint);
    /* What is there to be edited is never cut. */
    size_t limit = spec->limit ? spec->limit : DEFAULT_LIMIT;
    if (text != NULL && spec->choices == NULL && strlen(text) > limit)
        limit = strlen(text);
    if (words != NULL && !entry_split(entry, words))
        return false;
    bool ok = entry->label != NULL && (entry->hint != NULL || spec->hint == NULL) &&
              pm_field_init(&entry->field, limit);
    if (!ok)
        return false;
    if (entry->choices == NULL) {
        (spec->replace ? pm_field_offer : pm_field_set)(&entry->field, text != NULL ? text : "");
    } else if (text != NULL) {
        for (size_t i = 0; entry->choices[i] != NULL; i++)
            if (strcmp(entry->choices[i], text) == 0)
                entry->chosen = i;
    }
    return true;
}

/* Where the field says nothing the row does. */
static bool entry_begin(struct entry *entry, const struct pm_form_field *field,
                        const struct pm_form_spec *spec)
{
    struct pm_text text = PM_TEXT_EMPTY;
    if (field->text != NULL || field->attribute == NULL || spec->row == NULL)
        return entry_init(entry, field, field->text);
    pm_attribute_exact(field->attribute, spec->row, spec->sign, &text);
    const bool ok = entry_init(entry, field, pm_text_get(&text)) && pm_text_ok(&text);
    pm_text_release(&text);
    return ok;
}

static void entry_release(struct entry *entry)
{
    pm_field_release(&entry->field);
    pm_free(entry->label);
    pm_free(entry->hint);
    pm_text_release(&entry->verdict);
    pm_text_release(&entry->stem);
    for (size_t i = 0; entry->own_choices != NULL && entry->own_choices[i] != NULL; i++)
        pm_free(entry->own_choices[i]);
    pm_free(entry->own_choices);
}

/* The field with the focus was changed. */
static void form_changed(struct form *form)
{
    form->entries[form->focus].touched = true;
    form->entries[form->focus].asked = false;
    form->entries[form->focus].round = 0;
    form_judge(form);
}

/* Puts `text` in the place of what stands before the cursor. */
static void replace_before(struct pm_field *field, const char *text)
{
    pm_field_act(field, PM_ACT_ERASE_START);
    pm_field_insert(field, text);
}

/* The next completion; after the last one, what was typed. False when there is none at all. */
static bool form_complete(struct form *form)
{
    struct entry *entry = &form->entries[form->focus];
    struct pm_text result = PM_TEXT_EMPTY;
    if (entry->complete == NULL || entry->choices != NULL)
        return false;
    if (entry->round == 0) {
        pm_text_clear(&entry->stem);
        pm_text_add_bytes(&entry->stem, entry->field.text, entry->field.cursor);
    }
    size_t round = entry->round;
    const char *stem = pm_text_get(&entry->stem);
    bool found = pm_text_ok(&entry->stem) && entry->complete(form->context, stem, round, &result) &&
                 pm_text_ok(&result);
    if (found || round > 0) {
        replace_before(&entry->field, found ? pm_text_get(&result) : stem);
        form_changed(form);
        entry->round = found ? round + 1 : 0;
    }
    pm_text_release(&result);
    return found || round > 0;
}

/* What there is before or after what the field says. */
static bool form_step(struct form *form, int step)
{
    struct entry *entry = &form->entries[form->focus];
    struct pm_text result = PM_TEXT_EMPTY;
    const bool found = entry->step != NULL &&
                       entry->step(form->context, entry->field.text, step, &result) &&
                       pm_text_ok(&result);
    if (found) {
        pm_field_offer(&entry->field, pm_text_get(&result));
        form_changed(form);
    }
    pm_text_release(&result);
    return found;
}

static bool entry_choose(struct entry *entry, int step)
{
    size_t count = 0;
    while (entry->choices[count] != NULL)
        count++;
    entry->chosen = (entry->chosen + count + (step > 0 ? 1 : count - 1)) % count;
    return true;
}

/* Typing a letter goes to the next choice that begins with it. */
static bool choose_by_letter(struct entry *entry, const char *text)
{
    size_t was = entry->chosen;
    do {
        entry_choose(entry, 1);
        if (entry->choices[entry->chosen][0] == text[0])
            return true;
    } while (entry->chosen != was);
    return false;
}

/* ---- the overlay ----------------------------------------------------------------------------- */

static struct form *form_of(const struct pm_overlay *overlay)
{
    return (struct form *)(uintptr_t)overlay;
}

static int more_rows(int rows, const char *text, int columns)
{
    const int needed = text != NULL ? pm_wrap_rows(text, columns) : 0;
    return needed > rows ? needed : rows;
}

/* Below the fields: for the longest hint and what was judged, so that nothing jumps as one goes
 * through them. */
static int rows_below(const struct form *form, int columns)
{
    int rows = form->verdict_rows;
    for (size_t i = 0; i < form->count; i++) {
        rows = more_rows(rows, form->entries[i].hint, columns);
        rows = more_rows(rows, pm_text_get(&form->entries[i].verdict), columns);
    }
    return rows > BELOW_MOST ? BELOW_MOST : rows;
}

static int form_rows(const struct pm_overlay *overlay, int most, int columns)
{
    (void)most;
    return (int)form_of(overlay)->count + rows_below(form_of(overlay), columns);
}

static void entry_draw(struct entry *entry, const struct pm_pane *pane, int row, int label,
                       bool focused)
{
    int column = label + 2;
    pm_pane_put_left(pane, row, 0, label, focused ? PM_ROLE_HEADING : PM_ROLE_FAINT, entry->label);
    if (entry->choices != NULL) {
        enum pm_role role = focused ? PM_ROLE_EDITING : PM_ROLE_NORMAL;
        pm_pane_putf(pane, row, column, role, focused ? "< %s >" : "%s", entry_value(entry));
        if (focused)
            pm_pane_cursor(pane, row, column + 2);
        return;
    }
    int cells = pane->columns - column;
    if (entry->field.limit + 1 < (size_t)cells)
        cells = (int)entry->field.limit + 1;
    pm_field_draw(&entry->field, pane, row, column, cells, focused);
}

static void form_say(const struct form *form, struct pm_speech *speech)
{
    const struct entry *entry = &form->entries[form->focus];
    const char *value = entry_value(entry);
    pm_speech_line(speech, "%s, field %zu of %zu: %s", entry->label, form->focus + 1, form->count,
                   value[0] != '\0' ? value : "empty");
    for (size_t i = 0; entry->choices != NULL && entry->choices[i] != NULL; i++)
        pm_speech_line(speech, "Answer %zu: %s", i + 1, entry->choices[i]);
    if (entry->verdict.length > 0 && pm_text_ok(&entry->verdict))
        pm_speech_line(speech, "%s", pm_text_get(&entry->verdict));
    else if (entry->hint != NULL)
        pm_speech_line(speech, "%s", entry->hint);
}

/* What finds no room in its rows ends in an ellipsis. */
static void draw_verdict(const struct pm_pane *pane, enum pm_role role, const char *text)
{
    size_t next = 0;
    for (int row = 0; row < pane->rows && *text != '\0'; row++, text += next) {
        const size_t fits = pm_wrap_next(text, pane->columns, &next);
        const bool last = row + 1 == pane->rows;
        char *piece = last ? pm_strdup(text) : pm_strndup(text, fits);
        if (piece != NULL)
            pm_pane_put_left(pane, row, 0, pane->columns, role, piece);
        pm_free(piece);
    }
}

/* The message row says it already: Enter was refused for it. */
static bool said(const struct form *form, const struct entry *entry)
{
    const struct pm_message *message = pm_app_message_shown(form->overlay.app);
    return message != NULL && strcmp(message->text, pm_text_get(&entry->verdict)) == 0;
}

/* The rows below the fields in this pane: where it is low, fields come before long hints. */
static int rows_judged(const struct form *form, const struct pm_pane *pane)
{
    const int wanted = rows_below(form, pane->columns), spare = pane->rows - (int)form->count;
    const int most = spare > form->verdict_rows ? spare : form->verdict_rows;
    const int rows = wanted < most ? wanted : most;
    return rows < pane->rows ? rows : 1;
}

static void form_draw(struct pm_overlay *overlay, const struct pm_pane *pane)
{
    struct form *form = form_of(overlay);
    if (pane->grid->speech != NULL && overlay == pm_app_overlay(overlay->app))
        form_say(form, pane->grid->speech);
    size_t label = 0;
    for (size_t i = 0; i < form->count; i++) {
        size_t cells = pm_utf8_cells(form->entries[i].label);
        label = cells > label ? cells : label;
    }
    if (label > (size_t)pane->columns / 3)
        label = (size_t)pane->columns / 3;
    /* The last rows belong to the verdict; in a low panel the fields scroll above it. */
    const int judged = rows_judged(form, pane);
    size_t shown = pane->rows > judged ? (size_t)(pane->rows - judged) : 0;
    size_t first = form->focus >= shown ? form->focus - shown + 1 : 0;
    struct pm_pane fields = pm_pane_part(pane, 0, 0, (int)shown, pane->columns);
    for (size_t i = first; i < form->count; i++) {
        entry_draw(&form->entries[i], &fields, (int)(i - first), (int)label,
                   i == form->focus && (int)(i - first) < fields.rows);
    }
    const struct entry *entry = &form->entries[form->focus];
    const struct pm_pane below = pm_pane_part(pane, pane->rows - judged, 0, judged, pane->columns);
    if (entry->verdict.length > 0 && pm_text_ok(&entry->verdict) && !said(form, entry))
        draw_verdict(&below, entry->verdict_role, pm_text_get(&entry->verdict));
    else if (entry->hint != NULL)
        draw_verdict(&below, PM_ROLE_FAINT, entry->hint);
}

static void focus_field(struct form *form, const char *key)
{
    for (size_t i = 0; key != NULL && i < form->count; i++)
        if (form->entries[i].key != NULL && strcmp(form->entries[i].key, key) == 0)
            form->focus = i;
}

static enum pm_status form_accept(struct pm_overlay *overlay, struct pm_error *err)
{
    struct form *form = form_of(overlay);
    const char *values[VALUES];
    form_values(form, values);
    const enum pm_status status = form->accept_one != NULL
                                      ? form->accept_one(form->context, values[0], err)
                                      : form->accept(form->context, values, err);
    if (status != PM_OK)
        focus_field(form, err->field);
    return status;
}

/* The field that gets the focus is judged again: its verdict may hang on the others. */
static void form_go(struct form *form, int step)
{
    form->entries[form->focus].round = 0;
    form->focus = (form->focus + form->count + (step > 0 ? 1 : form->count - 1)) % form->count;
    form_judge(form);
}

static void form_next(struct form *form)
{
    struct entry *entry = &form->entries[form->focus];
    bool goes_on = form->count > 1 && (entry->round > 0 || !entry->touched);
    if (goes_on || !form_complete(form))
        form_go(form, 1);
}

/* Whether the key would leave a field that asks something: then it is asked, once. */
static bool form_asks(struct pm_overlay *overlay, int code)
{
    struct entry *entry = &form_of(overlay)->entries[form_of(overlay)->focus];
    const bool leaves = code == PM_ACT_ACCEPT || code == PM_ACT_NEXT || code == PM_ACT_PREV ||
                        code == PM_ACT_UP || code == PM_ACT_DOWN;
    if (!leaves || !entry->asks || entry->asked || !entry->touched || entry->verdict.length == 0 ||
        entry->verdict_role != PM_ROLE_WARNING)
        return false;
    entry->asked = true;
    pm_app_warn(overlay->app, "%s The same key again goes on.", pm_text_get(&entry->verdict));
    return true;
}

static unsigned form_act(struct pm_overlay *overlay, const struct pm_action *action)
{
    struct form *form = form_of(overlay);
    struct entry *entry = &form->entries[form->focus];
    if (form_asks(overlay, (int)action->code))
        return PM_REDRAW;
    switch (action->code) {
    case PM_ACT_ACCEPT:
        return pm_overlay_accept(overlay, form->writes);
    case PM_ACT_CANCEL:
        pm_overlay_close(overlay);
        return PM_REDRAW;
    case PM_ACT_NEXT:
        form_next(form);
        return PM_REDRAW;
    case PM_ACT_DOWN:
    case PM_ACT_UP:
        if (!form_step(form, action->code == PM_ACT_DOWN ? 1 : -1))
            form_go(form, action->code == PM_ACT_DOWN ? 1 : -1);
        return PM_REDRAW;
    case PM_ACT_PREV:
        form_go(form, -1);
        return PM_REDRAW;
    case PM_ACT_LEFT:
    case PM_ACT_RIGHT:
        if (entry->choices != NULL && entry_choose(entry, action->code == PM_ACT_RIGHT ? 1 : -1)) {
            form_changed(form);
            return PM_REDRAW;
        }
        break;
    default:
        break;
    }
    if (entry->choices != NULL)
        return PM_HANDLED;
    entry->round = 0;
    if (pm_field_act(&entry->field, (int)action->code) == PM_FIELD_CHANGED)
        form_changed(form);
    return PM_REDRAW;
}

static unsigned form_text(struct pm_overlay *overlay, const char *text)
{
    struct form *form = form_of(overlay);
    struct entry *entry = &form->entries[form->focus];
    bool changed;
    if (entry->choices != NULL) {
        changed = choose_by_letter(entry, text);
    } else {
        const enum pm_field_result result = pm_field_insert(&entry->field, text);
        changed = result == PM_FIELD_CHANGED;
        if (result == PM_FIELD_FULL) {
            pm_app_warn(overlay->app, PM_FIELD_FULL_SENTENCE);
            return PM_REDRAW;
        }
    }
    if (changed)
        form_changed(form);
    return PM_REDRAW;
}

static bool form_half_typed(const struct pm_overlay *overlay)
{
    const struct form *form = form_of(overlay);
    for (size_t i = 0; i < form->count; i++)
        if (form->entries[i].touched)
            return true;
    return false;
}

static void form_free(struct pm_overlay *overlay)
{
    struct form *form = form_of(overlay);
    for (size_t i = 0; i < form->count; i++)
        entry_release(&form->entries[i]);
    pm_overlay_context_free(form->context, form->context_owned, form->closed);
    pm_free(form);
}

#define FORM_KIND(its_mode, its_hints)                                                             \
    {                                                                                              \
        .mode = its_mode, .rows = form_rows, .draw = form_draw, .act = form_act,                   \
        .accept = form_accept, .text = form_text, .half_typed = form_half_typed,                   \
        .free = form_free, .hints = its_hints                                                      \
    }
static const struct pm_overlay_kind prompt_kind = FORM_KIND(PM_MODE_PROMPT, "accept back");
static const struct pm_overlay_kind form_kind =
    FORM_KIND(PM_MODE_FORM, "accept next previous back");
/* There is no other field to go to. */
static const struct pm_overlay_kind single_kind = FORM_KIND(PM_MODE_FORM, "accept back");

/* Adds the fields of a form that has everything else and puts it on top. */
static bool form_open(struct pm_app *app, struct form *made, const struct pm_form_spec *spec)
{
    struct form *form = pm_alloc_array(1, sizeof *form);
    if (form == NULL) {
        if (spec->closed != NULL)
            spec->closed(spec->context);
        return pm_overlay_failed(app, NULL);
    }
    *form = *made;
    form->entity = spec->entity;
    form->check = spec->check;
    form->accept = spec->accept;
    form->closed = spec->closed;
    form->writes = spec->writes;
    form->verdict_rows = spec->verdict_rows > 0 ? spec->verdict_rows : 1;
    form->focus = spec->focus;
    bool ok = pm_overlay_context_keep(spec->context, spec->context_size, &form->context) &&
              spec->field_count >= 1 && spec->field_count <= PM_FORM_FIELDS &&
              spec->focus < spec->field_count;
    form->context_owned = form->context != spec->context;
    for (size_t i = 0; ok && i < spec->field_count; i++) {
        ok = entry_begin(&form->entries[i], &spec->fields[i], spec);
        form->count = i + 1;
    }
    if (!ok)
        return pm_overlay_failed(app, &form->overlay);
    form_judge(form);
    pm_overlay_push(app, &form->overlay, spec->title);
    return true;
}

bool pm_form_open(struct pm_app *app, const struct pm_form_spec *spec)
{
    return form_open(
        app, &(struct form){.overlay.kind = spec->field_count > 1 ? &form_kind : &single_kind},
        spec);
}

bool pm_prompt_open(struct pm_app *app, const struct pm_prompt_spec *spec)
{
    const struct pm_form_spec form = {.title = spec->title,
                                      .fields = {{.label = spec->label,
                                                  .text = spec->text,
                                                  .limit = spec->limit,
                                                  .complete = spec->complete,
                                                  .replace = spec->replace}},
                                      .field_count = 1,
                                      .writes = spec->writes,
                                      .closed = spec->closed,
                                      .context = spec->context,
                                      .context_size = spec->context_size};
    return form_open(app,
                     &(struct form){.overlay.kind = &prompt_kind,
                                    .check_one = spec->check,
                                    .accept_one = spec->accept},
                     &form);
}

/* ---- forms about an entity ------------------------------------------------------------------- */

static struct pm_form_field attribute_field(const struct pm_attribute *attribute)
{
    static const size_t limits[] = {
        [PM_ATTRIBUTE_CAS] = 60,   [PM_ATTRIBUTE_NAMES] = 4000,  [PM_ATTRIBUTE_MASS] = 40,
        [PM_ATTRIBUTE_SHARE] = 20, [PM_ATTRIBUTE_STRENGTH] = 40, [PM_ATTRIBUTE_DAY] = 20,
        [PM_ATTRIBUTE_TIME] = 30,  [PM_ATTRIBUTE_SPAN] = 40,     [PM_ATTRIBUTE_MONEY] = 40,
        [PM_ATTRIBUTE_COUNT] = 20, [PM_ATTRIBUTE_DECIMAL] = 30,  [PM_ATTRIBUTE_REFERENCE] = 800,
        [PM_ATTRIBUTE_LEVEL] = 8};
    return (struct pm_form_field){
        .key = attribute->key,
        .label = attribute->title,
        .hint = attribute->hint,
        .limit = attribute->kind == PM_ATTRIBUTE_NOTE ? attribute->limit : limits[attribute->kind],
        .attribute = attribute,
    };
}

static bool is_named(const char *words, const struct pm_attribute *attribute)
{
    return words != NULL && pm_word_among(words, attribute->key);
}

static void add_attribute(struct pm_form_spec *spec, const struct pm_attribute *attribute)
{
    if (spec->field_count < PM_FORM_FIELDS)
        spec->fields[spec->field_count++] = attribute_field(attribute);
}

void pm_form_describe(struct pm_form_spec *spec, const struct pm_entity *entity, const void *row,
                      char sign, const char *first, const char *without)
{
    size_t length;
    const char *key;
    spec->entity = entity;
    spec->row = row;
    spec->sign = sign;
    for (int i = 0; first != NULL && (key = pm_word_at(first, i, &length)) != NULL; i++)
        for (size_t k = 0; k < entity->count; k++)
            if (strncmp(entity->attributes[k].key, key, length) == 0 &&
                entity->attributes[k].key[length] == '\0')
                add_attribute(spec, &entity->attributes[k]);
    for (size_t k = 0; k < entity->count; k++)
        if (!is_named(first, &entity->attributes[k]) && !is_named(without, &entity->attributes[k]))
            add_attribute(spec, &entity->attributes[k]);
}

struct pm_form_field *pm_form_field_of(struct pm_form_spec *spec, size_t attribute)
{
    size_t i = 0;
    while (spec->fields[i].attribute != &spec->entity->attributes[attribute])
        i++;
    return &spec->fields[i];
}
