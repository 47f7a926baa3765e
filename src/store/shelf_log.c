/* SPDX-License-Identifier: MIT */
/*
 * The shelf's history. An entry holds the rows it changed as they were and as they became (images:
 * JSON arrays of the columns, made and read by SQLite), the movements it added, and the revisions
 * it gave to drafts:
 *
 *     [["bottle",12,"[3,1000000000,null,...]","[3,...]"],["names",7,null,"[[0,...]]"],
 *      ["movement",501],["revision",88],["event",4],["shown",20,119]]
 *
 * What undo and redo do with it, and what they refuse, is the studio's (studio/shelf_undo.c).
 */
#include "permille/store/shelf.h"
#include "search_blocks.h"
#include "store.h"

#include "permille/base/json.h"
#include "permille/base/mem.h"
#include "permille/base/word.h"
#include "permille/store/materials.h"

#include <string.h>

#define MOVEMENT "movement"
#define REVISION "revision"
#define EVENT    "event"
#define SHOWN    "shown"

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
    [PM_ROWS_FORMULA] = {"formula", PM_SQL_IMAGE_FORMULA, PM_SQL_BACK_FORMULA, PM_SQL_COUNT, NULL},
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
    pm_map_release(&log->seen);
    pm_free(log->movements);
    pm_free(log->revisions);
    pm_free(log->events);
    pm_free(log->shown);
    pm_shelf_log_init(log, log->library);
}

static int64_t key_of(enum pm_shelf_rows rows, int64_t id)
{
    return (int64_t)((uint64_t)id * PM_ROWS_COUNT + (uint64_t)rows + 1);
}

static bool is_touched(const struct pm_shelf_log *log, enum pm_shelf_rows rows, int64_t id)
{
    return pm_map_place(&log->seen, key_of(rows, id)) != PM_MAP_NONE;
}

/* Takes over `before`. */
static enum pm_status add_touched(struct pm_shelf_log *log, enum pm_shelf_rows rows, int64_t id,
                                  char *before, struct pm_error *err)
{
    if (!pm_grow(&log->touched, &log->touched_capacity, log->touched_count + 1,
                 sizeof *log->touched) ||
        !pm_map_put_place(&log->seen, key_of(rows, id), log->touched_count)) {
        pm_free(before);
        return pm_fail_memory(err);
    }
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

enum pm_status pm_shelf_log_shown(struct pm_shelf_log *log, int64_t material, struct pm_error *err)
{
    if (log->shown_count > 0 && log->shown[log->shown_count - 1] + 1 == material) {
        log->shown[log->shown_count - 1] = material;
        return PM_OK;
    }
    enum pm_status status =
        add_number(&log->shown, &log->shown_count, &log->shown_capacity, material, err);
    return status == PM_OK
               ? add_number(&log->shown, &log->shown_count, &log->shown_capacity, material, err)
               : status;
}

static enum pm_status write_touched(const struct pm_shelf_log *log,
                                    const struct pm_shelf_touched *touched, struct pm_json *json,
                                    bool *some, struct pm_error *err)
{
    char *after;
    enum pm_status status = read_image(log->library, touched->rows, touched->id, &after, err);
    if (status != PM_OK)
        return status;
    if (!pm_same_text(touched->before, after)) {
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

static void write_shown(struct pm_json *json, const struct pm_shelf_log *log)
{
    for (size_t i = 0; i + 1 < log->shown_count; i += 2) {
        pm_json_open(json, '[');
        pm_json_string(json, SHOWN);
        pm_json_int(json, log->shown[i]);
        pm_json_int(json, log->shown[i + 1]);
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
    write_shown(&json, log);
    *some = *some || log->movement_count > 0 || log->revision_count > 0 || log->event_count > 0 ||
            log->shown_count > 0;
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

enum pm_status pm_shelf_log_next(struct pm_library *library, int64_t *entry, struct pm_error *err)
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

enum pm_status pm_shelf_log_list(struct pm_library *library, size_t limit,
                                 struct pm_shelf_entries *out, struct pm_error *err)
{
    struct pm_query query;
    struct pm_shelf_entries list = {0};
    pm_query_open(&query, library, PM_SQL_SHELF_LIST);
    pm_query_int(&query, limit > INT32_MAX ? INT32_MAX : (int64_t)limit);
    while (pm_query_row(&query)) {
        struct pm_shelf_entry *entry = pm_query_add(&query, &list);
        if (entry == NULL)
            break;
        *entry = (struct pm_shelf_entry){
            .id = pm_query_get_int(&query, 0),
            .parent = pm_query_get_int(&query, 1),
            .target = pm_query_get_int(&query, 2),
            .at = pm_query_get_int(&query, 3),
            .gesture = pm_query_get_kept(&query, 4, &list.arena),
            .sentence = pm_query_get_kept(&query, 5, &list.arena),
            .undone = pm_query_get_int(&query, 6) != 0,
        };
    }
    const enum pm_status status = pm_query_close(&query, err);
    pm_list_give(&list, status, out);
    return status;
}

/* ---- a change read back ---- */

static bool find_kind(const char *word, struct pm_shelf_change *change)
{
    if (word == NULL)
        return false;
    change->what = strcmp(word, MOVEMENT) == 0   ? PM_SHELF_MOVED
                   : strcmp(word, REVISION) == 0 ? PM_SHELF_DRAFTED
                   : strcmp(word, EVENT) == 0    ? PM_SHELF_HAPPENED
                   : strcmp(word, SHOWN) == 0    ? PM_SHELF_SHOWN
                                                 : PM_SHELF_IMAGES;
    for (int i = 0; i < PM_ROWS_COUNT && change->what == PM_SHELF_IMAGES; i++) {
        if (strcmp(word, kinds[i].word) == 0) {
            change->rows = (enum pm_shelf_rows)i;
            return true;
        }
    }
    return change->what != PM_SHELF_IMAGES;
}

enum pm_status pm_shelf_log_changes(struct pm_library *library, const char *text, bool undo,
                                    struct pm_shelf_changes *out, struct pm_error *err)
{
    struct pm_query query;
    struct pm_shelf_changes list = {0};
    bool sound = text != NULL;
    pm_query_open(&query, library, PM_SQL_CHANGE_ROWS);
    pm_query_text(&query, text);
    while (sound && pm_query_row(&query)) {
        struct pm_shelf_change *change = pm_query_add(&query, &list);
        if (change == NULL)
            break;
        sound = find_kind(pm_query_get_text(&query, 0), change);
        change->id = pm_query_get_int(&query, 1);
        change->last = pm_query_get_int(&query, 2);
        change->from = pm_query_get_kept(&query, undo ? 3 : 2, &list.arena);
        change->to = pm_query_get_kept(&query, undo ? 2 : 3, &list.arena);
    }
    enum pm_status status = pm_query_close(&query, err);
    if (status == PM_OK && !sound)
        status = pm_fail(err, PM_DAMAGED, "An entry of the shelf's history cannot be read.");
    if (status == PM_OK)
        *out = list;
    else
        pm_list_release(&list);
    return status;
}

/* ---- putting images back ---- */

enum pm_status pm_shelf_image_current(struct pm_library *library,
                                      const struct pm_shelf_change *change, bool *current,
                                      struct pm_error *err)
{
    char *now;
    enum pm_status status = read_image(library, change->rows, change->id, &now, err);
    if (status != PM_OK)
        return status;
    *current = pm_same_text(now, change->from);
    pm_free(now);
    return PM_OK;
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

static enum pm_status put_row(struct pm_library *library, const struct pm_shelf_change *row,
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
enum pm_status pm_shelf_images_put(struct pm_library *library,
                                   const struct pm_shelf_changes *changes, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t i = 0; status == PM_OK && i < changes->count; i++) {
        const struct pm_shelf_change *row = &changes->items[i];
        if (row->what == PM_SHELF_IMAGES && kinds[row->rows].take != PM_SQL_COUNT)
            status = run_on(library, kinds[row->rows].take, row->id, kinds[row->rows].origin, err);
    }
    for (int materials = 1; materials >= 0; materials--) {
        for (size_t i = 0; status == PM_OK && i < changes->count; i++) {
            const struct pm_shelf_change *row = &changes->items[i];
            if (row->what == PM_SHELF_IMAGES && (row->rows == PM_ROWS_MATERIAL) == (materials == 1))
                status = put_row(library, row, err);
        }
    }
    for (size_t i = 0; status == PM_OK && i < changes->count; i++) {
        const struct pm_shelf_change *row = &changes->items[i];
        if (row->what == PM_SHELF_IMAGES && row->rows == PM_ROWS_MATERIAL && row->to == NULL)
            status = pm_material_delete(library, row->id, err);
    }
    for (size_t i = 0; status == PM_OK && i < changes->count; i++) {
        const struct pm_shelf_change *row = &changes->items[i];
        if (row->what == PM_SHELF_IMAGES &&
            (row->rows == PM_ROWS_NAMES || row->rows == PM_ROWS_MATERIAL))
            status = pm_search_refresh(library, row->id, err);
    }
    return status;
}

/* The names of those materials that are searched for, a block at a time. What is still as it was is
 * damaged: its checksum must go on saying so. */
static enum pm_status refresh_shown(struct pm_library *library, int64_t first, int64_t last,
                                    bool shown, struct pm_error *err)
{
    struct pm_query query;
    enum pm_status status = PM_OK;
    pm_query_open(&query, library, PM_SQL_MATERIALS_SHOWN);
    pm_query_int(&query, first);
    pm_query_int(&query, last);
    pm_query_int(&query, !shown);
    while (status == PM_OK && pm_query_row(&query)) {
        const int64_t id = pm_query_get_int(&query, 0), damaged = pm_query_get_int(&query, 1);
        status = damaged != 0 ? pm_fail(err, PM_DAMAGED,
                                        "Material number %lld is damaged in the file, so it stays "
                                        "as it is.",
                                        (long long)damaged)
                              : pm_search_refresh(library, id, err);
    }
    const enum pm_status closed = pm_query_close(&query, status == PM_OK ? err : NULL);
    return status == PM_OK ? closed : status;
}

enum pm_status pm_shelf_show(struct pm_library *library, int64_t first, int64_t last, bool shown,
                             struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_MATERIALS_SET_ASIDE);
    pm_query_int(&query, first);
    pm_query_int(&query, last);
    pm_query_int(&query, !shown);
    const enum pm_status status = pm_query_run(&query, err);
    return status == PM_OK ? refresh_shown(library, first, last, shown, err) : status;
}

/* ---- entries ---- */

enum pm_status pm_shelf_log_get(struct pm_library *library, int64_t id, struct pm_arena *arena,
                                struct pm_shelf_entry *out, struct pm_error *err)
{
    struct pm_query query;
    struct pm_shelf_entry entry = {.id = id};
    pm_query_open(&query, library, PM_SQL_SHELF_GET);
    pm_query_int(&query, id);
    bool found = pm_query_row(&query);
    if (found) {
        entry.parent = pm_query_get_int(&query, 0);
        entry.sentence = pm_query_get_kept(&query, 1, arena);
        entry.change = pm_query_get_kept(&query, 2, arena);
    }
    enum pm_status status = pm_query_close(&query, err);
    if (status == PM_OK && !found) {
        status = pm_fail(err, PM_DAMAGED, "The shelf's history lacks its entry number %lld.",
                         (long long)id);
    }
    if (status == PM_OK)
        *out = entry;
    return status;
}

enum pm_status pm_shelf_log_step(struct pm_library *library, int64_t target, int64_t head,
                                 bool undo, const char *sentence, struct pm_error *err)
{
    struct pm_shelf_entry row = {
        .parent = head, .target = target, .gesture = undo ? "undo" : "redo", .sentence = sentence};
    enum pm_status status = append(library, &row, err);
    return status == PM_OK ? put_head(library, head, err) : status;
}
