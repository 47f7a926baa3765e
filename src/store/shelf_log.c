/* SPDX-License-Identifier: MIT */
/*
 * The shelf's history. An entry holds the rows it changed as they were and as they became (images:
 * JSON arrays of the columns, made and read by SQLite), the movements it added, and the revisions
 * it gave to drafts:
 *
 *     [["bottle",12,"[3,1000000000,null,...]","[3,...]"],["names",7,null,"[[0,...]]"],
 *      ["movement",501],["revision",88],["event",4]]
 *
 * Undo puts the earlier images back, provided the rows are still as the entry left them. What is
 * never taken away: movements, which get a correction; bottles, which are set aside; batches and
 * what happened to them, which stand again as before. A
 * draft is undone like any other gesture on it, unless it was edited since: then it stays.
 */
#include "permille/store/shelf.h"
#include "store.h"

#include "permille/base/json.h"
#include "permille/base/mem.h"
#include "permille/core/change.h"
#include "permille/store/batches.h"
#include "permille/store/bottles.h"
#include "permille/store/formulas.h"
#include "permille/store/materials.h"

#include <string.h>

#define MOVEMENT "movement"
#define REVISION "revision"
#define EVENT    "event"

static const struct kind {
    const char *word;
    enum pm_sql image, back;
    enum pm_sql take;   /* PM_SQL_COUNT: rows that are not simply taken away */
    const char *origin; /* image and take are about rows of this origin; NULL: they have none */
} kinds[PM_ROWS_COUNT] = {
    [PM_ROWS_MATERIAL] = {"material", PM_SQL_IMAGE_MATERIAL, PM_SQL_BACK_MATERIAL, PM_SQL_COUNT,
                          NULL},
    [PM_ROWS_NAMES] = {"names", PM_SQL_IMAGE_NAMES, PM_SQL_BACK_NAMES, PM_SQL_NAMES_DELETE, NULL},
    [PM_ROWS_FACTS] = {"facts", PM_SQL_IMAGE_FACTS, PM_SQL_BACK_FACTS, PM_SQL_TAKE_FACTS, "own"},
    [PM_ROWS_SHIPPED_FACTS] = {"shipped facts", PM_SQL_IMAGE_FACTS, PM_SQL_BACK_FACTS,
                               PM_SQL_TAKE_FACTS, "starter"},
    [PM_ROWS_CONSTITUENTS] = {"constituents", PM_SQL_IMAGE_CONSTITUENTS, PM_SQL_BACK_CONSTITUENTS,
                              PM_SQL_TAKE_CONSTITUENTS, "own"},
    [PM_ROWS_SHIPPED_CONSTITUENTS] = {"shipped constituents", PM_SQL_IMAGE_CONSTITUENTS,
                                      PM_SQL_BACK_CONSTITUENTS, PM_SQL_TAKE_CONSTITUENTS,
                                      "starter"},
    [PM_ROWS_STARTER] = {"starter", PM_SQL_IMAGE_STARTER, PM_SQL_BACK_STARTER, PM_SQL_TAKE_STARTER,
                         NULL},
    [PM_ROWS_BOTTLE] = {"bottle", PM_SQL_IMAGE_BOTTLE, PM_SQL_BACK_BOTTLE, PM_SQL_COUNT, NULL},
    [PM_ROWS_BATCH] = {"batch", PM_SQL_IMAGE_BATCH, PM_SQL_BACK_BATCH, PM_SQL_COUNT, NULL},
};

/* ---- images ---- */

/* *out is a new string, or NULL when there is no such row. */
static enum pm_status read_image(struct pm_library *library, enum pm_shelf_rows rows, int64_t id,
                                 char **out, struct pm_error *err)
{
    struct pm_query query;
    char *image = NULL;
    pm_query_open(&query, library, kinds[rows].image);
    pm_query_int(&query, id);
    if (kinds[rows].origin != NULL)
        pm_query_text(&query, kinds[rows].origin);
    if (pm_query_row(&query))
        image = pm_query_get_copy(&query, 0);
    enum pm_status status = pm_query_close(&query, err);
    if (status == PM_OK)
        *out = image;
    else
        pm_free(image);
    return status;
}

static bool same_image(const char *a, const char *b)
{
    return a == NULL || b == NULL ? a == b : strcmp(a, b) == 0;
}

/* ---- an entry being made ---- */

struct pm_shelf_touched {
    enum pm_shelf_rows rows;
    int64_t id;
    char *before; /* owned; NULL: there was no row */
};

void pm_shelf_log_init(struct pm_shelf_log *log, struct pm_library *library)
{
    memset(log, 0, sizeof *log);
    log->library = library;
}

void pm_shelf_log_release(struct pm_shelf_log *log)
{
    for (size_t i = 0; i < log->touched_count; i++)
        pm_free(log->touched[i].before);
    pm_free(log->touched);
    pm_free(log->movements);
    pm_free(log->revisions);
    pm_free(log->events);
    pm_shelf_log_init(log, log->library);
}

static bool is_touched(const struct pm_shelf_log *log, enum pm_shelf_rows rows, int64_t id)
{
    for (size_t i = 0; i < log->touched_count; i++)
        if (log->touched[i].rows == rows && log->touched[i].id == id)
            return true;
    return false;
}

/* Takes over `before`. */
static enum pm_status add_touched(struct pm_shelf_log *log, enum pm_shelf_rows rows, int64_t id,
                                  char *before, struct pm_error *err)
{
    void *touched = log->touched;
    if (!pm_grow(&touched, &log->touched_capacity, log->touched_count + 1, sizeof *log->touched)) {
        pm_free(before);
        return pm_fail_memory(err);
    }
    log->touched = touched;
    log->touched[log->touched_count++] = (struct pm_shelf_touched){rows, id, before};
    return PM_OK;
}

enum pm_status pm_shelf_log_touch(struct pm_shelf_log *log, enum pm_shelf_rows rows, int64_t id,
                                  struct pm_error *err)
{
    char *before;
    if (is_touched(log, rows, id))
        return PM_OK;
    enum pm_status status = read_image(log->library, rows, id, &before, err);
    return status == PM_OK ? add_touched(log, rows, id, before, err) : status;
}

enum pm_status pm_shelf_log_born(struct pm_shelf_log *log, enum pm_shelf_rows rows, int64_t id,
                                 struct pm_error *err)
{
    return is_touched(log, rows, id) ? PM_OK : add_touched(log, rows, id, NULL, err);
}

static enum pm_status add_number(int64_t **numbers, size_t *count, size_t *capacity, int64_t number,
                                 struct pm_error *err)
{
    void *grown = *numbers;
    if (!pm_grow(&grown, capacity, *count + 1, sizeof **numbers))
        return pm_fail_memory(err);
    *numbers = grown;
    (*numbers)[(*count)++] = number;
    return PM_OK;
}

enum pm_status pm_shelf_log_moved(struct pm_shelf_log *log, int64_t movement, struct pm_error *err)
{
    return add_number(&log->movements, &log->movement_count, &log->movement_capacity, movement,
                      err);
}

enum pm_status pm_shelf_log_drafted(struct pm_shelf_log *log, int64_t revision,
                                    struct pm_error *err)
{
    return add_number(&log->revisions, &log->revision_count, &log->revision_capacity, revision,
                      err);
}

enum pm_status pm_shelf_log_happened(struct pm_shelf_log *log, int64_t event, struct pm_error *err)
{
    return add_number(&log->events, &log->event_count, &log->event_capacity, event, err);
}

static enum pm_status write_touched(const struct pm_shelf_log *log,
                                    const struct pm_shelf_touched *touched, struct pm_json *json,
                                    bool *some, struct pm_error *err)
{
    char *after;
    enum pm_status status = read_image(log->library, touched->rows, touched->id, &after, err);
    if (status != PM_OK)
        return status;
    if (!same_image(touched->before, after)) {
        *some = true;
        pm_json_open(json, '[');
        pm_json_string(json, kinds[touched->rows].word);
        pm_json_int(json, touched->id);
        pm_json_string(json, touched->before);
        pm_json_string(json, after);
        pm_json_close(json, ']');
    }
    pm_free(after);
    return PM_OK;
}

static void write_numbers(struct pm_json *json, const char *word, const int64_t *numbers,
                          size_t count)
{
    for (size_t i = 0; i < count; i++) {
        pm_json_open(json, '[');
        pm_json_string(json, word);
        pm_json_int(json, numbers[i]);
        pm_json_close(json, ']');
    }
}

static enum pm_status write_change(const struct pm_shelf_log *log, struct pm_text *out, bool *some,
                                   struct pm_error *err)
{
    struct pm_json json;
    enum pm_status status = PM_OK;
    pm_json_init(&json, out);
    pm_json_open(&json, '[');
    for (size_t i = 0; status == PM_OK && i < log->touched_count; i++)
        status = write_touched(log, &log->touched[i], &json, some, err);
    write_numbers(&json, MOVEMENT, log->movements, log->movement_count);
    write_numbers(&json, REVISION, log->revisions, log->revision_count);
    write_numbers(&json, EVENT, log->events, log->event_count);
    *some = *some || log->movement_count > 0 || log->revision_count > 0 || log->event_count > 0;
    pm_json_close(&json, ']');
    return status == PM_OK && !pm_text_ok(out) ? pm_fail_memory(err) : status;
}

/* ---- rows of the history ---- */

static enum pm_status put_head(struct pm_library *library, int64_t entry, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_SHELF_HEAD_PUT);
    pm_query_key(&query, entry);
    return pm_query_run(&query, err);
}

enum pm_status pm_shelf_log_head(struct pm_library *library, int64_t *entry, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_SHELF_HEAD_GET);
    return pm_query_one(&query, entry, NULL, err);
}

/* What redo would put in force again: the newest undoable child of the head; 0: nothing. */
static enum pm_status find_next(struct pm_library *library, int64_t *entry, struct pm_error *err)
{
    int64_t head = 0;
    enum pm_status status = pm_shelf_log_head(library, &head, err);
    if (status == PM_OK) {
        struct pm_query query;
        pm_query_open(&query, library, PM_SQL_SHELF_NEXT);
        pm_query_key(&query, head);
        status = pm_query_one(&query, entry, NULL, err);
    }
    return status;
}

/* Appends a row; entry->id is filled. */
static enum pm_status append(struct pm_library *library, struct pm_shelf_entry *entry,
                             struct pm_error *err)
{
    enum pm_status status = pm_store_next_id(library, PM_SQL_SHELF_NUMBER, &entry->id, err);
    if (status != PM_OK)
        return status;
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_SHELF_INSERT);
    pm_query_int(&query, entry->id);
    pm_query_key(&query, entry->parent);
    pm_query_key(&query, entry->target);
    pm_query_int(&query, pm_library_now(library));
    pm_query_text(&query, entry->gesture);
    pm_query_text(&query, entry->sentence);
    pm_query_text(&query, entry->change);
    return pm_query_run(&query, err);
}

enum pm_status pm_shelf_log_write(struct pm_shelf_log *log, const char *gesture,
                                  const char *sentence, bool undoable, bool *written,
                                  struct pm_error *err)
{
    struct pm_text change = PM_TEXT_EMPTY;
    struct pm_shelf_entry entry = {.gesture = gesture, .sentence = sentence};
    bool some = !undoable;
    enum pm_status status = undoable ? write_change(log, &change, &some, err) : PM_OK;
    if (status == PM_OK)
        status = pm_shelf_log_head(log->library, &entry.parent, err);
    if (status == PM_OK && some) {
        entry.change = undoable ? pm_text_get(&change) : NULL;
        status = append(log->library, &entry, err);
        if (status == PM_OK && undoable)
            status = put_head(log->library, entry.id, err);
    }
    pm_text_release(&change);
    if (status == PM_OK && written != NULL)
        *written = some;
    return status;
}

enum pm_status pm_shelf_log_list(struct pm_library *library, size_t limit, pm_shelf_visit *visit,
                                 void *context, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_SHELF_LIST);
    pm_query_int(&query, limit > INT32_MAX ? INT32_MAX : (int64_t)limit);
    while (pm_query_row(&query)) {
        struct pm_shelf_entry entry = {
            .id = pm_query_get_int(&query, 0),
            .parent = pm_query_get_int(&query, 1),
            .target = pm_query_get_int(&query, 2),
            .at = pm_query_get_int(&query, 3),
            .gesture = pm_query_get_text(&query, 4),
            .sentence = pm_query_get_text(&query, 5),
            .undone = pm_query_get_int(&query, 6) != 0,
        };
        if (entry.gesture == NULL || entry.sentence == NULL || !visit(context, &entry))
            break;
    }
    return pm_query_close(&query, err);
}

/* ---- a change read back ---- */

struct row {
    enum { IMAGES, MOVED, DRAFTED, HAPPENED } what;
    enum pm_shelf_rows rows; /* IMAGES only, as from and to are */
    int64_t id;
    char *from, *to; /* images: what must be there now, what is to be there; owned or NULL */
};

struct change {
    struct row *rows; /* owned */
    size_t count, capacity;
};

static void change_release(struct change *change)
{
    for (size_t i = 0; i < change->count; i++) {
        pm_free(change->rows[i].from);
        pm_free(change->rows[i].to);
    }
    pm_free(change->rows);
}

static bool find_kind(const char *word, struct row *row)
{
    if (word == NULL)
        return false;
    row->what = strcmp(word, MOVEMENT) == 0   ? MOVED
                : strcmp(word, REVISION) == 0 ? DRAFTED
                : strcmp(word, EVENT) == 0    ? HAPPENED
                                              : IMAGES;
    for (int i = 0; i < PM_ROWS_COUNT && row->what == IMAGES; i++) {
        if (strcmp(word, kinds[i].word) == 0) {
            row->rows = (enum pm_shelf_rows)i;
            return true;
        }
    }
    return row->what != IMAGES;
}

static enum pm_status read_change(struct pm_library *library, const char *text, bool undo,
                                  struct change *out, struct pm_error *err)
{
    struct pm_query query;
    bool sound = text != NULL;
    pm_query_open(&query, library, PM_SQL_CHANGE_ROWS);
    pm_query_text(&query, text);
    while (sound && pm_query_row(&query)) {
        struct row row = {0};
        void *rows = out->rows;
        sound = find_kind(pm_query_get_text(&query, 0), &row);
        if (!sound)
            break;
        if (!pm_grow(&rows, &out->capacity, out->count + 1, sizeof *out->rows)) {
            query.rc = SQLITE_NOMEM;
            break;
        }
        out->rows = rows;
        row.id = pm_query_get_int(&query, 1);
        row.from = pm_query_get_copy(&query, undo ? 3 : 2);
        row.to = pm_query_get_copy(&query, undo ? 2 : 3);
        out->rows[out->count++] = row;
    }
    enum pm_status status = pm_query_close(&query, err);
    if (status == PM_OK && !sound)
        status = pm_fail(err, PM_DAMAGED, "An entry of the shelf's history cannot be read.");
    return status;
}

/* ---- putting a change in force ---- */

/* Bottles and batches are never deleted: undone they are set aside, given up. */
static bool stays(enum pm_shelf_rows rows)
{
    return rows == PM_ROWS_BOTTLE || rows == PM_ROWS_BATCH;
}

static enum pm_status check_current(struct pm_library *library, const struct row *row,
                                    struct pm_error *err)
{
    if (row->what != IMAGES || (row->from == NULL && stays(row->rows)))
        return PM_OK; /* what was taken back stands there, out of sight */
    char *now;
    enum pm_status status = read_image(library, row->rows, row->id, &now, err);
    if (status == PM_OK && !same_image(now, row->from)) {
        status = pm_fail(err, PM_REFUSED,
                         "What it changed has been changed since in another way, so it stays.");
    }
    if (status == PM_OK)
        pm_free(now);
    return status;
}

/* `text` is the image to put back, or the origin of the rows to take away; NULL: neither. */
static enum pm_status run_on(struct pm_library *library, enum pm_sql which, int64_t id,
                             const char *text, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, which);
    pm_query_int(&query, id);
    if (text != NULL)
        pm_query_text(&query, text);
    return pm_query_run(&query, err);
}

/* The masses of the ledger go back by a correction, or come into force again by one. */
static enum pm_status correct(struct pm_library *library, const struct row *row, bool undo,
                              struct pm_error *err)
{
    struct pm_movement movement = {.kind = PM_CORRECTED, .corrects = row->id};
    pm_mass mass = 0;
    enum pm_status status = pm_movement_get(library, row->id, &movement.bottle, &mass, err);
    if (status != PM_OK)
        return status;
    movement.mass = undo ? -mass : mass;
    movement.at = pm_library_now(library);
    movement.note = undo ? "undone" : "done again";
    return pm_movement_insert(library, &movement, NULL, err);
}

/* A batch stands again as before the event, or as after it. */
static enum pm_status turn_batch(struct pm_library *library, const struct row *row, bool undo,
                                 struct pm_error *err)
{
    struct pm_batch_event event;
    enum pm_batch_state before;
    enum pm_status status = pm_batch_event_get(library, row->id, &event, &before, err);
    if (status != PM_OK)
        return status;
    event.kind = undo ? before : event.kind;
    event.at = pm_library_now(library);
    event.text = undo ? "undone" : "done again";
    return pm_batch_event_insert(library, &event, NULL, err);
}

/* What the ledger showed right after the movement, or right before it. */
static enum pm_status read_level(struct pm_library *library, int64_t bottle, int64_t movement,
                                 bool before, pm_mass *out, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_MOVEMENT_LEVEL);
    pm_query_int(&query, bottle);
    pm_query_int(&query, before ? movement - 1 : movement);
    return pm_query_one(&query, out, NULL, err);
}

/* Below zero only as far as the person had let it fall back then. */
static enum pm_status check_left(struct pm_library *library, const struct row *row, bool undo,
                                 struct pm_error *err)
{
    int64_t id = 0;
    pm_mass mass = 0, level = 0;
    enum pm_status status = pm_movement_get(library, row->id, &id, &mass, err);
    struct pm_bottle bottle;
    if (status == PM_OK)
        status = read_level(library, id, row->id, undo, &level, err);
    if (status == PM_OK)
        status = pm_bottle_get(library, id, NULL, &bottle, err);
    if (status != PM_OK)
        return status;
    if (bottle.left < 0 && bottle.left < level && (undo ? mass > 0 : mass < 0)) {
        char short_by[PM_AMOUNT_TEXT];
        status = pm_fail(err, PM_REFUSED,
                         "Bottle B%03lld would be left with %s less than nothing: something was "
                         "poured from it since.",
                         (long long)id, pm_mass_format(-bottle.left, 2, '.', short_by));
    }
    return status;
}

static enum pm_status put_row(struct pm_library *library, const struct row *row,
                              struct pm_error *err)
{
    if (row->to != NULL)
        return run_on(library, kinds[row->rows].back, row->id, row->to, err);
    if (row->rows == PM_ROWS_BOTTLE)
        return run_on(library, PM_SQL_BOTTLE_ASIDE, row->id, NULL, err);
    return PM_OK; /* taken away before; materials come last */
}

/* Rows go in an order that keeps every reference whole: what hangs on materials away, materials
 * back, the rest back, materials away. */
static enum pm_status put_rows(struct pm_library *library, const struct change *change,
                               struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t i = 0; status == PM_OK && i < change->count; i++) {
        const struct row *row = &change->rows[i];
        if (row->what == IMAGES && kinds[row->rows].take != PM_SQL_COUNT)
            status = run_on(library, kinds[row->rows].take, row->id, kinds[row->rows].origin, err);
    }
    for (int materials = 1; materials >= 0; materials--) {
        for (size_t i = 0; status == PM_OK && i < change->count; i++) {
            const struct row *row = &change->rows[i];
            if (row->what == IMAGES && (row->rows == PM_ROWS_MATERIAL) == (materials == 1))
                status = put_row(library, row, err);
        }
    }
    for (size_t i = 0; status == PM_OK && i < change->count; i++) {
        const struct row *row = &change->rows[i];
        if (row->what == IMAGES && row->rows == PM_ROWS_MATERIAL && row->to == NULL)
            status = pm_material_delete(library, row->id, err);
    }
    return status;
}

static enum pm_status put_change(struct pm_library *library, const struct change *change, bool undo,
                                 struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t i = 0; status == PM_OK && i < change->count; i++)
        status = check_current(library, &change->rows[i], err);
    if (status == PM_OK)
        status = put_rows(library, change, err);
    for (size_t i = 0; status == PM_OK && i < change->count; i++)
        if (change->rows[i].what == MOVED)
            status = correct(library, &change->rows[i], undo, err);
        else if (change->rows[i].what == HAPPENED)
            status = turn_batch(library, &change->rows[i], undo, err);
    for (size_t i = 0; status == PM_OK && i < change->count; i++) {
        const struct row *row = &change->rows[i];
        if (row->what == MOVED)
            status = check_left(library, row, undo, err);
        else if (row->what == IMAGES &&
                 (row->rows == PM_ROWS_NAMES || row->rows == PM_ROWS_MATERIAL))
            status = pm_search_refresh(library, row->id, err);
    }
    return status;
}

/* ---- drafts that follow ---- */

/* The draft stands on the revision, or on what that was made on. */
static enum pm_status step_draft(struct pm_library *library, int64_t draft,
                                 const struct pm_revision *revision, bool undo,
                                 struct pm_error *err)
{
    struct pm_trial content;
    struct pm_text sentence = PM_TEXT_EMPTY;
    if (revision->change == NULL) {
        return pm_fail(err, PM_DAMAGED, "Revision %lld has lost what it changed.",
                       (long long)revision->number);
    }
    enum pm_status status = pm_trial_load(library, draft, &content, err);
    if (status != PM_OK)
        return status;
    pm_text_addf(&sentence, "%s: %s", undo ? "Undid" : "Redid", revision->sentence);
    status = pm_text_ok(&sentence)
                 ? pm_change_apply(revision->change, undo ? PM_BACK : PM_FORTH, &content, err)
                 : pm_fail_memory(err);
    if (status == PM_OK) {
        status =
            pm_draft_move_head(library, draft, undo ? revision->id : revision->parent, &content,
                               undo ? revision->parent : revision->id, undo ? "undo" : "redo",
                               revision->id, pm_text_get(&sentence), err);
    }
    pm_text_release(&sentence);
    pm_trial_release(&content);
    return status;
}

/* Takes the draft's revision back or does it again. `stays` receives the formula's name when the
 * draft has gone on since and stays as it is. */
static enum pm_status move_draft(struct pm_library *library, const struct pm_revision *revision,
                                 bool undo, struct pm_text *stays, struct pm_error *err)
{
    struct pm_arena arena = {0};
    struct pm_formula formula;
    struct pm_trial_row row;
    enum pm_status status = pm_formula_get(library, revision->formula, &arena, &formula, err);
    if (status == PM_OK)
        status = pm_trial_row_get(library, formula.draft, NULL, &row, err);
    if (status == PM_OK) {
        if (row.head == (undo ? revision->id : revision->parent))
            status = step_draft(library, formula.draft, revision, undo, err);
        else
            pm_text_addf(stays, "%s%s", stays->length > 0 ? ", " : "", formula.name);
    }
    pm_arena_release(&arena);
    return status;
}

static enum pm_status move_drafts(struct pm_library *library, const struct change *change,
                                  bool undo, struct pm_text *stays, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t i = 0; status == PM_OK && i < change->count; i++) {
        struct pm_arena arena = {0};
        struct pm_revision revision;
        if (change->rows[i].what != DRAFTED)
            continue;
        status = pm_revision_get(library, change->rows[i].id, &arena, &revision, err);
        if (status == PM_OK)
            status = move_draft(library, &revision, undo, stays, err);
        pm_arena_release(&arena);
    }
    return status;
}

/* ---- undo and redo ---- */

struct remembered {
    int64_t id, parent;
    char *sentence, *change; /* owned */
};

static enum pm_status read_entry(struct pm_library *library, int64_t id, struct remembered *out,
                                 struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_SHELF_GET);
    pm_query_int(&query, id);
    bool found = pm_query_row(&query);
    if (found) {
        out->id = id;
        out->parent = pm_query_get_int(&query, 0);
        out->sentence = pm_query_get_copy(&query, 1);
        out->change = pm_query_get_copy(&query, 2);
    }
    enum pm_status status = pm_query_close(&query, err);
    if (status == PM_OK && !found) {
        status = pm_fail(err, PM_DAMAGED, "The shelf's history lacks its entry number %lld.",
                         (long long)id);
    }
    return status;
}

static enum pm_status move_head(struct pm_library *library, const struct remembered *entry,
                                bool undo, struct pm_error *err)
{
    struct pm_text sentence = PM_TEXT_EMPTY;
    struct pm_shelf_entry row = {.target = entry->id, .gesture = undo ? "undo" : "redo"};
    pm_text_addf(&sentence, "%s: %s", undo ? "Undid" : "Redid", entry->sentence);
    row.sentence = pm_text_get(&sentence);
    row.parent = undo ? entry->parent : entry->id;
    enum pm_status status =
        pm_text_ok(&sentence) ? append(library, &row, err) : pm_fail_memory(err);
    pm_text_release(&sentence);
    return status == PM_OK ? put_head(library, row.parent, err) : status;
}

static enum pm_status say_what_stays(struct remembered *entry, const struct pm_text *stays,
                                     struct pm_error *err)
{
    struct pm_text sentence = PM_TEXT_EMPTY;
    pm_text_addf(&sentence, "%s. Edited since, so left as it is: the draft of %s", entry->sentence,
                 pm_text_get(stays));
    char *text = pm_text_take(&sentence);
    if (text == NULL)
        return pm_fail_memory(err);
    pm_free(entry->sentence);
    entry->sentence = text;
    return PM_OK;
}

static enum pm_status step(struct pm_library *library, bool undo, struct remembered *entry,
                           struct pm_error *err)
{
    int64_t id = 0;
    enum pm_status status =
        undo ? pm_shelf_log_head(library, &id, err) : find_next(library, &id, err);
    if (status == PM_OK && id == 0) {
        status = pm_fail(err, PM_REFUSED, "There is nothing on the shelf to %s.",
                         undo ? "undo" : "redo");
    }
    struct change change = {0};
    struct pm_text stays = PM_TEXT_EMPTY;
    if (status == PM_OK)
        status = read_entry(library, id, entry, err);
    if (status == PM_OK)
        status = read_change(library, entry->change, undo, &change, err);
    if (status == PM_OK)
        status = put_change(library, &change, undo, err);
    if (status == PM_OK)
        status = move_drafts(library, &change, undo, &stays, err);
    if (status == PM_OK && stays.length > 0)
        status = say_what_stays(entry, &stays, err);
    pm_text_release(&stays);
    change_release(&change);
    return status == PM_OK ? move_head(library, entry, undo, err) : status;
}

static enum pm_status step_once(struct pm_library *library, bool undo, char **sentence,
                                struct pm_error *err)
{
    struct remembered entry = {0};
    enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    status = pm_library_finish(library, step(library, undo, &entry, err), err);
    pm_free(entry.change);
    if (status == PM_OK && sentence != NULL)
        *sentence = entry.sentence;
    else
        pm_free(entry.sentence);
    return status;
}

enum pm_status pm_shelf_log_undo(struct pm_library *library, char **sentence, struct pm_error *err)
{
    return step_once(library, true, sentence, err);
}

enum pm_status pm_shelf_log_redo(struct pm_library *library, char **sentence, struct pm_error *err)
{
    return step_once(library, false, sentence, err);
}
