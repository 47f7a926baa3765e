/* SPDX-License-Identifier: MIT */
/*
 * The history: revisions, and the three ways to move a draft (write, move the head, keep).
 */
#include "trials.h"

#include "permille/base/mem.h"

#include <string.h>

static void read_revision(struct pm_query *query, struct pm_arena *arena, void *item)
{
    struct pm_revision *out = item;
    *out = (struct pm_revision){
        .id = pm_query_get_int(query, 0),
        .formula = pm_query_get_int(query, 1),
        .number = pm_query_get_int(query, 2),
        .trial = pm_query_get_int(query, 3),
        .parent = pm_query_get_int(query, 4),
        .target = pm_query_get_int(query, 5),
        .at = pm_query_get_int(query, 6),
        .gesture = pm_query_get_kept(query, 7, arena),
        .sentence = pm_query_get_kept(query, 8, arena),
        .undone = pm_query_get_int(query, 9) != 0,
        .change = pm_query_get_kept(query, 10, arena),
    };
}

enum pm_status pm_revision_get(struct pm_library *library, int64_t id, struct pm_arena *arena,
                               struct pm_revision *out, struct pm_error *err)
{
    struct pm_query query;
    struct pm_revision revision;
    pm_query_open(&query, library, PM_SQL_REVISION_GET);
    pm_query_int(&query, id);
    bool found = pm_query_row(&query);
    if (found)
        read_revision(&query, arena, &revision);
    enum pm_status status = pm_query_close(&query, err);
    if (status == PM_OK && !found)
        status = pm_fail(err, PM_MISSING, "There is no revision with the id %lld.", (long long)id);
    if (status == PM_OK)
        *out = revision;
    return status;
}

enum pm_status pm_revision_newest_child(struct pm_library *library, int64_t formula, int64_t parent,
                                        int64_t *id, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_REVISION_CHILD);
    pm_query_int(&query, formula);
    pm_query_key(&query, parent);
    return pm_query_one(&query, id, NULL, err);
}

enum pm_status pm_revision_list(struct pm_library *library, int64_t formula, int64_t trial,
                                struct pm_revisions *out, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_REVISION_LIST);
    pm_query_int(&query, formula);
    pm_query_key(&query, trial);
    return pm_query_list(&query, read_revision, out, err);
}

/* ---- writing ---- */

/* Reads the draft as it is now and makes sure that it is one and shows expected_head. */
static enum pm_status open_draft(struct pm_library *library, int64_t draft, int64_t expected_head,
                                 struct pm_trial *now, struct pm_trial_head *head,
                                 struct pm_error *err)
{
    enum pm_status status = pm_trial_read(library, draft, now, head, err);
    if (status != PM_OK)
        return status;
    if (head->number != 0) {
        /* Also what a window meets whose draft was kept by another. */
        status = pm_fail(err, PM_STALE,
                         "This draft has been kept as trial %lld since it was read; read the "
                         "formula again.",
                         (long long)head->number);
    } else if (head->head != expected_head) {
        status = pm_fail(err, PM_STALE, "The draft has changed since it was read; read it again.");
    }
    if (status != PM_OK)
        pm_trial_release(now);
    return status;
}

/* The end of a formula's history, to which a revision is added. */
struct tail {
    int64_t kept, revisions, chain;
};

static enum pm_status read_tail(struct pm_library *library, int64_t formula, struct tail *out,
                                struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_FORMULA_HISTORY);
    pm_query_int(&query, formula);
    if (pm_query_row(&query)) {
        out->kept = pm_query_get_int(&query, 0);
        out->revisions = pm_query_get_int(&query, 1);
        out->chain = pm_query_get_int(&query, 2);
    }
    return pm_query_close(&query, err);
}

static enum pm_status write_tail(struct pm_library *library, int64_t formula,
                                 const struct tail *tail, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_FORMULA_TOUCH);
    pm_query_int(&query, formula);
    pm_query_int(&query, pm_library_now(library));
    pm_query_int(&query, tail->kept);
    pm_query_int(&query, tail->revisions);
    pm_query_int(&query, tail->chain);
    return pm_query_run(&query, err);
}

/* Adds revision->id and the rest to the history and moves the formula's end of it. */
static enum pm_status append(struct pm_library *library, struct pm_revision *revision,
                             const char *gesture, const char *sentence, const char *change,
                             struct tail *tail, struct pm_error *err)
{
    enum pm_status status = pm_store_next_id(library, PM_SQL_REVISION_NEXT, &revision->id, err);
    if (status != PM_OK)
        return status;
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_REVISION_INSERT);
    pm_query_int(&query, revision->id);
    pm_query_int(&query, revision->formula);
    pm_query_int(&query, tail->revisions + 1);
    pm_query_int(&query, revision->trial);
    pm_query_key(&query, revision->parent);
    pm_query_key(&query, revision->target);
    pm_query_int(&query, pm_library_now(library));
    pm_query_text(&query, gesture);
    pm_query_text(&query, sentence);
    pm_query_text(&query, change);
    pm_query_int(&query, tail->chain);
    int64_t checksum = 0;
    status = pm_query_one(&query, &checksum, NULL, err);
    if (status == PM_OK) {
        tail->revisions++;
        tail->chain = checksum;
        status = write_tail(library, revision->formula, tail, err);
    }
    return status;
}

/* What is done to a draft in one step. */
struct move {
    int64_t draft, expected_head;
    const struct pm_trial *after;
    const int64_t *new_head; /* NULL: the new revision becomes the head */
    const char *gesture, *sentence, *change;
    int64_t target;
};

/* One revision, and the draft made to follow it. */
static enum pm_status move_within(struct pm_library *library, const struct move *move, int64_t *id,
                                  struct pm_error *err)
{
    struct pm_trial now;
    struct pm_trial_head head;
    struct tail tail = {0};
    enum pm_status status = open_draft(library, move->draft, move->expected_head, &now, &head, err);
    if (status != PM_OK)
        return status;
    struct pm_revision revision = {
        .formula = head.formula, .trial = move->draft, .parent = head.head, .target = move->target};
    status = read_tail(library, head.formula, &tail, err);
    if (status == PM_OK) {
        status =
            append(library, &revision, move->gesture, move->sentence, move->change, &tail, err);
    }
    if (status == PM_OK) {
        status = pm_trial_rewrite(library, head.formula, move->draft, &now, move->after,
                                  move->new_head == NULL ? revision.id : *move->new_head, err);
    }
    *id = revision.id;
    pm_trial_release(&now);
    return status;
}

static enum pm_status move_draft(struct pm_library *library, const struct move *move, int64_t *id,
                                 struct pm_error *err)
{
    enum pm_status status = pm_trial_check(move->after, err);
    if (status == PM_OK)
        status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    status = move_within(library, move, id, err);
    return pm_library_finish(library, status, err);
}

enum pm_status pm_draft_write(struct pm_library *library, int64_t draft, int64_t expected_head,
                              const struct pm_trial *after, const char *gesture,
                              const char *sentence, const char *change, int64_t *revision,
                              struct pm_error *err)
{
    const struct move move = {.draft = draft,
                              .expected_head = expected_head,
                              .after = after,
                              .gesture = gesture,
                              .sentence = sentence,
                              .change = change};
    int64_t id = 0;
    enum pm_status status = move_draft(library, &move, &id, err);
    if (status == PM_OK)
        *revision = id;
    return status;
}

enum pm_status pm_draft_move_head(struct pm_library *library, int64_t draft, int64_t expected_head,
                                  const struct pm_trial *after, int64_t new_head,
                                  const char *gesture, int64_t target, const char *sentence,
                                  struct pm_error *err)
{
    const struct move move = {.draft = draft,
                              .expected_head = expected_head,
                              .after = after,
                              .new_head = &new_head,
                              .gesture = gesture,
                              .sentence = sentence,
                              .target = target};
    int64_t id = 0;
    return move_draft(library, &move, &id, err);
}

/* ---- keeping ---- */

static enum pm_status seal(struct pm_library *library, int64_t draft, int64_t number,
                           const char *note, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_TRIAL_SEAL);
    pm_query_int(&query, draft);
    pm_query_int(&query, number);
    pm_query_int(&query, pm_library_now(library));
    pm_query_text(&query, note);
    return pm_query_run(&query, err);
}

static enum pm_status copy_lines(struct pm_library *library, int64_t from, int64_t to,
                                 struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_LINES_COPY);
    pm_query_int(&query, from);
    pm_query_int(&query, to);
    return pm_query_run(&query, err);
}

static enum pm_status keep_draft(struct pm_library *library, int64_t draft, int64_t expected_head,
                                 const char *note, const char *sentence, int64_t *number,
                                 struct pm_error *err)
{
    struct pm_trial now;
    struct pm_trial_head head;
    struct tail tail = {0};
    int64_t next = 0;
    enum pm_status status = open_draft(library, draft, expected_head, &now, &head, err);
    if (status != PM_OK)
        return status;
    status = read_tail(library, head.formula, &tail, err);
    if (status == PM_OK) {
        *number = ++tail.kept;
        status = seal(library, draft, tail.kept, note, err);
    }
    if (status == PM_OK) {
        struct pm_revision revision = {
            .formula = head.formula, .trial = draft, .parent = head.head};
        status = append(library, &revision, "keep", sentence, NULL, &tail, err);
    }
    if (status == PM_OK) {
        now.parent = draft;
        status = pm_trial_row_insert(library, head.formula, &now, head.head, &next, err);
    }
    if (status == PM_OK)
        status = copy_lines(library, draft, next, err);
    pm_trial_release(&now);
    return status;
}

enum pm_status pm_draft_keep(struct pm_library *library, int64_t draft, int64_t expected_head,
                             const char *note, const char *sentence, int64_t *number,
                             struct pm_error *err)
{
    int64_t kept = 0;
    enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    status = keep_draft(library, draft, expected_head, note, sentence, &kept, err);
    status = pm_library_finish(library, status, err);
    if (status == PM_OK)
        *number = kept;
    return status;
}

enum pm_status pm_trial_mark(struct pm_library *library, int64_t trial, const char *label,
                             bool set_aside, struct pm_error *err)
{
    int64_t id = 0;
    struct pm_trial_row row;
    enum pm_status status = pm_library_begin(library, err);
    if (status != PM_OK)
        return status;
    status = pm_trial_row_get(library, trial, NULL, &row, err);
    if (status == PM_OK && row.number == 0)
        status = pm_fail(err, PM_REFUSED, "Only kept trials are labelled and set aside.");
    if (status == PM_OK)
        status = pm_store_next_id(library, PM_SQL_MARK_NEXT, &id, err);
    if (status == PM_OK) {
        struct pm_query query;
        pm_query_open(&query, library, PM_SQL_MARK_INSERT);
        pm_query_int(&query, id);
        pm_query_int(&query, trial);
        pm_query_text(&query, label);
        pm_query_int(&query, set_aside);
        pm_query_int(&query, pm_library_now(library));
        status = pm_query_run(&query, err);
    }
    return pm_library_finish(library, status, err);
}
