/* SPDX-License-Identifier: MIT */
/*
 * A change read back and applied. The text is parsed completely before anything is touched, then
 * applied to a copy, and the copy is verified: a damaged text can only be refused.
 */
#include "permille/base/map.h"
#include "permille/core/change.h"

#include "change_format.h"
#include "permille/base/mem.h"
#include "permille/base/word.h"

#include <string.h>

#define WORD_MAX 24 /* the longest word or number, with its NUL */

/* One value before and after. */
struct pair {
    bool there;
    int64_t was, now;
};

/* One field of one line. */
struct edit {
    int64_t id;
    enum pm_line_field field;
    int64_t was, now;
    char *was_text, *now_text; /* owned; for the comment */
};

/* A line that stands on one side only. */
struct placed {
    size_t place;
    struct pm_line line; /* comment owned */
};

struct placed_list {
    struct placed *items; /* owned */
    size_t count, capacity;
};

struct change {
    bool first_format;
    enum pm_line_field fields; /* of a line as a whole: all before this one, then the comment */
    struct pair base, mode, settled, parent, next;
    bool scale_there;
    struct pm_weight scale_was, scale_now;
    struct placed_list gone, fresh;
    struct edit *edits; /* owned */
    size_t edit_count, edit_capacity;
    size_t order_place;
    int64_t *order_was, *order_now; /* owned; NULL when the order stays */
    size_t order_count;
};

/* A place in the text. Unreadable text and lost memory both end the reading, but are told apart. */
struct reader {
    const char *at;
    size_t line;
    bool no_memory;
};

static void release_placed(struct placed_list *list)
{
    for (size_t i = 0; i < list->count; i++)
        pm_free(list->items[i].line.comment);
    pm_free(list->items);
}

static void release_change(struct change *change)
{
    release_placed(&change->gone);
    release_placed(&change->fresh);
    for (size_t i = 0; i < change->edit_count; i++) {
        pm_free(change->edits[i].was_text);
        pm_free(change->edits[i].now_text);
    }
    pm_free(change->edits);
    pm_free(change->order_was);
    pm_free(change->order_now);
}

/* ---- words ---- */

/* A word up to the next space, comma or newline, which stays. */
static bool take_word(struct reader *reader, char word[WORD_MAX])
{
    size_t length = strcspn(reader->at, " ,\n");
    if (length == 0 || length >= WORD_MAX)
        return false;
    memcpy(word, reader->at, length);
    word[length] = '\0';
    reader->at += length;
    return true;
}

static bool take_sign(struct reader *reader, char sign)
{
    if (*reader->at != sign)
        return false;
    reader->at++;
    return true;
}

static bool take_number(struct reader *reader, int64_t *out)
{
    char word[WORD_MAX];
    return take_sign(reader, ' ') && take_word(reader, word) && pm_change_number(word, out);
}

static bool take_size(struct reader *reader, size_t *out)
{
    int64_t number = 0;
    if (!take_number(reader, &number) || (uint64_t)number > SIZE_MAX / 2)
        return false;
    *out = (size_t)number;
    return true;
}

static int hex_digit(char c)
{
    if (c >= '0' && c <= '9')
        return c - '0';
    return c >= 'a' && c <= 'f' ? c - 'a' + 10 : -1;
}

/* What follows a backslash; '\0' when it is nothing known. */
static char take_escape(struct reader *reader)
{
    char c = *reader->at;
    if (c == '\0')
        return '\0';
    reader->at++;
    switch (c) {
    case 'n':
        return '\n';
    case 'r':
        return '\r';
    case 't':
        return '\t';
    case '"':
    case '\\':
        return c;
    case 'x':
        break;
    default:
        return '\0';
    }
    int high = hex_digit(reader->at[0]);
    int low = high < 0 ? -1 : hex_digit(reader->at[1]);
    if (low < 0)
        return '\0';
    reader->at += 2;
    return (char)(high * 16 + low);
}

/* " -" or a space and a quoted text. *out is owned, NULL for none. */
static bool take_text(struct reader *reader, char **out)
{
    *out = NULL;
    if (!take_sign(reader, ' '))
        return false;
    if (take_sign(reader, '-'))
        return true;
    if (!take_sign(reader, '"'))
        return false;
    char *text = pm_alloc(strcspn(reader->at, "\n") + 1); /* never longer than it is written */
    if (text == NULL) {
        reader->no_memory = true;
        return false;
    }
    size_t length = 0;
    while (*reader->at != '"') {
        char c = *reader->at;
        if (c != '\0' && c != '\n') {
            reader->at++;
            c = c == '\\' ? take_escape(reader) : c;
        } else {
            c = '\0';
        }
        if (c == '\0') {
            pm_free(text);
            return false;
        }
        text[length++] = c;
    }
    reader->at++;
    text[length] = '\0';
    *out = text;
    return true;
}

/* ---- records ---- */

static bool take_pair(struct reader *reader, struct pair *pair, int64_t least, int64_t most)
{
    if (pair->there)
        return false;
    pair->there = take_number(reader, &pair->was) && take_number(reader, &pair->now) &&
                  pair->was >= least && pair->was <= most && pair->now >= least &&
                  pair->now <= most;
    return pair->there;
}

static bool take_modes(struct reader *reader, struct pair *pair)
{
    char was[WORD_MAX], now[WORD_MAX];
    enum pm_mode mode_was = PM_SHARE, mode_now = PM_SHARE;
    if (pair->there || !take_sign(reader, ' ') || !take_word(reader, was) ||
        !take_sign(reader, ' ') || !take_word(reader, now) || !pm_mode_from_word(was, &mode_was) ||
        !pm_mode_from_word(now, &mode_now))
        return false;
    *pair = (struct pair){true, mode_was, mode_now};
    return true;
}

static bool take_value(struct reader *reader, enum pm_line_field field, int64_t *out)
{
    char word[WORD_MAX];
    return take_sign(reader, ' ') && take_word(reader, word) &&
           pm_line_field_read(field, word, out);
}

static bool take_weights(struct reader *reader, struct change *change)
{
    if (change->scale_there)
        return false;
    struct pm_weight *was = &change->scale_was, *now = &change->scale_now;
    change->scale_there = take_number(reader, &was->digits) && take_number(reader, &was->power) &&
                          take_number(reader, &now->digits) && take_number(reader, &now->power);
    return change->scale_there;
}

static bool take_placed(struct reader *reader, enum pm_line_field fields, struct placed_list *list)
{
    struct placed placed;
    memset(&placed, 0, sizeof placed);
    if (!take_size(reader, &placed.place) || !take_number(reader, &placed.line.id))
        return false;
    if (list->count > 0 && placed.place <= list->items[list->count - 1].place)
        return false;
    for (int i = 0; i < (int)fields; i++) {
        int64_t value = 0;
        if (!take_value(reader, (enum pm_line_field)i, &value))
            return false;
        pm_line_field_set(&placed.line, (enum pm_line_field)i, value);
    }
    void *items = list->items;
    if (!pm_grow(&items, &list->capacity, list->count + 1, sizeof placed)) {
        reader->no_memory = true;
        return false;
    }
    list->items = items;
    if (!take_text(reader, &placed.line.comment))
        return false;
    list->items[list->count++] = placed;
    return true;
}

static bool take_edit(struct reader *reader, struct change *change)
{
    struct edit edit;
    memset(&edit, 0, sizeof edit);
    char name[WORD_MAX];
    if (!take_number(reader, &edit.id) || !take_sign(reader, ' ') || !take_word(reader, name))
        return false;
    edit.field = pm_line_field_from_name(name);
    if (edit.field == PM_FIELD_COUNT)
        return false;
    void *edits = change->edits;
    if (!pm_grow(&edits, &change->edit_capacity, change->edit_count + 1, sizeof edit)) {
        reader->no_memory = true;
        return false;
    }
    change->edits = edits;
    if (edit.field != PM_FIELD_COMMENT) {
        if (!take_value(reader, edit.field, &edit.was) ||
            !take_value(reader, edit.field, &edit.now))
            return false;
    } else if (!take_text(reader, &edit.was_text) || !take_text(reader, &edit.now_text)) {
        pm_free(edit.was_text);
        return false;
    }
    change->edits[change->edit_count++] = edit;
    return true;
}

/* A space and ids set apart by commas. */
static bool take_ids(struct reader *reader, int64_t **out, size_t *count)
{
    int64_t *ids = NULL;
    size_t capacity = 0;
    *count = 0;
    char sign = ' ';
    while (*reader->at == sign) {
        reader->at++;
        char word[WORD_MAX];
        void *grown = ids;
        bool grew = pm_grow(&grown, &capacity, *count + 1, sizeof *ids);
        ids = grown;
        reader->no_memory = reader->no_memory || !grew;
        if (!grew || !take_word(reader, word) || !pm_change_number(word, &ids[*count])) {
            pm_free(ids);
            return false;
        }
        (*count)++;
        sign = ',';
    }
    *out = ids;
    return *count > 0;
}

static bool take_order(struct reader *reader, struct change *change)
{
    size_t now = 0;
    return change->order_was == NULL && take_size(reader, &change->order_place) &&
           take_ids(reader, &change->order_was, &change->order_count) &&
           take_ids(reader, &change->order_now, &now) && now == change->order_count;
}

static bool take_record(struct reader *reader, struct change *change)
{
    char word[WORD_MAX];
    if (!take_word(reader, word))
        return false;
    if (strcmp(word, "base") == 0)
        return take_pair(reader, &change->base, 1, PM_PARTS_MAX);
    if (strcmp(word, "mode") == 0)
        return take_modes(reader, &change->mode);
    if (strcmp(word, "settled") == 0)
        return take_pair(reader, &change->settled, 0, 1);
    if (strcmp(word, "parent") == 0)
        return take_pair(reader, &change->parent, 0, INT64_MAX);
    if (strcmp(word, "next") == 0)
        return take_pair(reader, &change->next, 1, INT64_MAX);
    if (strcmp(word, "scale") == 0)
        return take_weights(reader, change);
    if (strcmp(word, "gone") == 0)
        return take_placed(reader, change->fields, &change->gone);
    if (strcmp(word, "new") == 0)
        return take_placed(reader, change->fields, &change->fresh);
    if (strcmp(word, "line") == 0)
        return take_edit(reader, change);
    return strcmp(word, "order") == 0 && take_order(reader, change);
}

static enum pm_status read_change(const char *text, struct change *change, struct pm_error *err)
{
    size_t head = strlen(PM_CHANGE_HEAD);
    bool second = strncmp(text, PM_CHANGE_HEAD_2, head) == 0;
    change->first_format = strncmp(text, PM_CHANGE_HEAD_1, head) == 0;
    change->fields = change->first_format ? PM_FIELD_RESTED
                     : second             ? PM_FIELD_REST
                                          : PM_FIELD_COMMENT;
    if (!change->first_format && !second && strncmp(text, PM_CHANGE_HEAD, head) != 0)
        return pm_fail(err, PM_DAMAGED, "The stored change does not begin as a change does.");
    struct reader reader = {text + head, 2, false};
    while (*reader.at != '\0') {
        if (!take_record(&reader, change) || !take_sign(&reader, '\n')) {
            return reader.no_memory
                       ? pm_fail_memory(err)
                       : pm_fail(err, PM_DAMAGED, "Line %zu of the stored change cannot be read.",
                                 reader.line);
        }
        reader.line++;
    }
    return PM_OK;
}

/* ---- applying ---- */

/* Turns a change around, so that applying it forth goes back. */
static void reverse_pair(struct pair *pair)
{
    int64_t was = pair->was;
    pair->was = pair->now;
    pair->now = was;
}

static void reverse(struct change *change)
{
    reverse_pair(&change->base);
    reverse_pair(&change->mode);
    reverse_pair(&change->settled);
    reverse_pair(&change->parent);
    struct pm_weight scale = change->scale_was;
    change->scale_was = change->scale_now;
    change->scale_now = scale;
    struct placed_list gone = change->gone;
    change->gone = change->fresh;
    change->fresh = gone;
    for (size_t i = 0; i < change->edit_count; i++) {
        struct edit *edit = &change->edits[i];
        struct edit was = *edit;
        edit->was = was.now;
        edit->now = was.was;
        edit->was_text = was.now_text;
        edit->now_text = was.was_text;
    }
    int64_t *ids = change->order_was;
    change->order_was = change->order_now;
    change->order_now = ids;
    change->next.there = false; /* the line counter never goes down */
}

static enum pm_status misfit(struct pm_error *err, const char *what)
{
    return pm_fail(err, PM_DAMAGED, "The stored change does not fit the trial: %s differs.", what);
}

static enum pm_status apply_head(const struct change *change, struct pm_trial *trial,
                                 struct pm_error *err)
{
    if (change->base.there && change->base.was != trial->base)
        return misfit(err, "the base");
    if (change->mode.there && change->mode.was != (int64_t)trial->mode)
        return misfit(err, "the mode");
    if (change->settled.there && change->settled.was != trial->settled && !change->first_format)
        return misfit(err, "whether it is settled");
    if (change->scale_there && !pm_weight_equal(change->scale_was, trial->scale))
        return misfit(err, "the scale");
    trial->base = change->base.there ? change->base.now : trial->base;
    trial->mode = change->mode.there ? (enum pm_mode)change->mode.now : trial->mode;
    trial->settled = change->settled.there ? change->settled.now != 0 : trial->settled;
    trial->scale = change->scale_there ? change->scale_now : trial->scale;
    /* The parent moves without a change when a trial is kept, so its old value says nothing. */
    trial->parent = change->parent.there ? change->parent.now : trial->parent;
    if (change->next.there && change->next.now > trial->next_id)
        trial->next_id = change->next.now;
    return PM_OK;
}

/* Whether two lines say the same as far as the format tells. What a line remembers it does not
 * know, and numbers in a ratio are not always exact there. */
static bool same_line(const struct pm_line *a, const struct pm_line *b, bool first_format)
{
    int fields = first_format ? PM_FIELD_WEIGHT : PM_FIELD_COMMENT;
    bool same = a->id == b->id && pm_same_text(a->comment, b->comment);
    for (int i = 0; i < fields; i++) {
        enum pm_line_field field = (enum pm_line_field)i;
        same = same && pm_line_field_get(a, field) == pm_line_field_get(b, field);
    }
    return same;
}

static enum pm_status remove_gone(const struct change *change, struct pm_trial *trial,
                                  struct pm_error *err)
{
    const struct placed_list *gone = &change->gone;
    for (size_t i = gone->count; i-- > 0;) {
        const struct placed *placed = &gone->items[i];
        if (placed->place >= trial->count)
            return misfit(err, "the number of lines");
        if (!same_line(&trial->lines[placed->place], &placed->line, change->first_format))
            return misfit(err, "a line that is to go");
        pm_trial_remove(trial, placed->place);
    }
    return PM_OK;
}

static enum pm_status apply_edit(const struct edit *edit, bool first_format, struct pm_line *line,
                                 struct pm_error *err)
{
    if (edit->field != PM_FIELD_COMMENT) {
        bool inexact = first_format && edit->field == PM_FIELD_WEIGHT;
        if (pm_line_field_get(line, edit->field) != edit->was && !inexact)
            return misfit(err, pm_line_field_name(edit->field));
        pm_line_field_set(line, edit->field, edit->now);
        return PM_OK;
    }
    if (!pm_same_text(line->comment, edit->was_text))
        return misfit(err, "a comment");
    char *comment = pm_strdup(edit->now_text);
    if (comment == NULL && edit->now_text != NULL)
        return pm_fail_memory(err);
    pm_free(line->comment);
    line->comment = comment;
    return PM_OK;
}

static enum pm_status apply_edits(const struct change *change, struct pm_trial *trial,
                                  struct pm_error *err)
{
    struct pm_map places = {0};
    enum pm_status status = PM_OK;
    for (size_t i = 0; i < trial->count && status == PM_OK; i++)
        if (!pm_map_put_place(&places, trial->lines[i].id, i))
            status = pm_fail_memory(err);
    for (size_t i = 0; i < change->edit_count && status == PM_OK; i++) {
        size_t place = pm_map_place(&places, change->edits[i].id);
        status = place == PM_MAP_NONE ? misfit(err, "a line that is to change")
                                      : apply_edit(&change->edits[i], change->first_format,
                                                   &trial->lines[place], err);
    }
    pm_map_release(&places);
    return status;
}

/* Writes the stretch's lines into `sorted` in their new order; false when the ids do not match. */
static bool sort_stretch(const struct change *change, const struct pm_line *stretch,
                         struct pm_map *places, struct pm_line *sorted, bool *no_memory)
{
    size_t count = change->order_count;
    for (size_t i = 0; i < count; i++) {
        if (stretch[i].id != change->order_was[i])
            return false;
        if (!pm_map_put_place(places, stretch[i].id, i)) {
            *no_memory = true;
            return false;
        }
    }
    for (size_t i = 0; i < count; i++) {
        size_t place = pm_map_place(places, change->order_now[i]);
        if (place >= count) /* no such id, or named a second time */
            return false;
        sorted[i] = stretch[place];
        (void)pm_map_put_place(places, change->order_now[i], PM_MAP_NONE); /* there: cannot fail */
    }
    return true;
}

static enum pm_status apply_order(const struct change *change, struct pm_trial *trial,
                                  struct pm_error *err)
{
    size_t count = change->order_count;
    if (change->order_was == NULL)
        return PM_OK;
    if (change->order_place > trial->count || count > trial->count - change->order_place)
        return misfit(err, "the order");
    struct pm_line *stretch = &trial->lines[change->order_place];
    struct pm_line *sorted = pm_alloc_array(count, sizeof *sorted);
    if (sorted == NULL)
        return pm_fail_memory(err);
    struct pm_map places = {0};
    bool no_memory = false;
    enum pm_status status = PM_OK;
    if (sort_stretch(change, stretch, &places, sorted, &no_memory))
        memcpy(stretch, sorted, count * sizeof *sorted);
    else
        status = no_memory ? pm_fail_memory(err) : misfit(err, "the order");
    pm_map_release(&places);
    pm_free(sorted);
    return status;
}

static enum pm_status insert_fresh(const struct placed_list *fresh, struct pm_trial *trial,
                                   struct pm_error *err)
{
    for (size_t i = 0; i < fresh->count; i++) {
        if (fresh->items[i].place > trial->count || fresh->items[i].line.id < 1)
            return misfit(err, "the number of lines");
        enum pm_status status =
            pm_trial_insert(trial, fresh->items[i].place, &fresh->items[i].line, err);
        if (status != PM_OK)
            return status == PM_NOMEM ? status : misfit(err, "a new line");
    }
    return PM_OK;
}

static enum pm_status apply_fields(const struct change *change, struct pm_trial *trial,
                                   struct pm_error *err)
{
    enum pm_status status = apply_head(change, trial, err);
    if (status == PM_OK)
        status = remove_gone(change, trial, err);
    if (status == PM_OK)
        status = apply_edits(change, trial, err);
    if (status == PM_OK)
        status = apply_order(change, trial, err);
    if (status == PM_OK)
        status = insert_fresh(&change->fresh, trial, err);
    return status;
}

static enum pm_status apply_to(const struct change *change, struct pm_trial *trial,
                               struct pm_error *err)
{
    if (change->first_format)
        pm_trial_poured_ratios(trial);
    enum pm_status status = apply_fields(change, trial, err);
    if (status == PM_OK && change->first_format) {
        pm_trial_neat_ratios(trial);
        pm_trial_weigh(trial);
    }
    return status == PM_OK ? pm_trial_check(trial, err) : status;
}

enum pm_status pm_change_apply(const char *change, enum pm_direction direction,
                               struct pm_trial *trial, struct pm_error *err)
{
    struct change read;
    memset(&read, 0, sizeof read);
    struct pm_trial made;
    pm_trial_init(&made, trial->base, trial->mode);
    enum pm_status status = read_change(change, &read, err);
    if (status == PM_OK) {
        if (direction == PM_BACK)
            reverse(&read);
        status = pm_trial_copy(trial, &made, err);
    }
    if (status == PM_OK)
        status = apply_to(&read, &made, err);
    release_change(&read);
    if (status != PM_OK) {
        pm_trial_release(&made);
        return status;
    }
    pm_trial_release(trial);
    *trial = made;
    return PM_OK;
}
