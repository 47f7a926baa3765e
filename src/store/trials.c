/* SPDX-License-Identifier: MIT */
/*
 * Rows of trials and their lines.
 */
#include "trials.h"
#include "checksum.h"

#include "permille/base/mem.h"
#include "permille/base/word.h"

#include <stdlib.h>
#include <string.h>

static void read_row(struct pm_query *query, struct pm_arena *arena, void *item)
{
    struct pm_trial_row *out = item;
    *out = (struct pm_trial_row){
        .id = pm_query_get_int(query, 0),
        .formula = pm_query_get_int(query, 1),
        .number = pm_query_get_int(query, 2),
        .parent = pm_query_get_int(query, 3),
        .head = pm_query_get_int(query, 4),
        .made_at = pm_query_get_int(query, 5),
        .kept_at = pm_query_get_int(query, 6),
        .note = pm_query_get_kept(query, 7, arena),
        .label = pm_query_get_kept(query, 8, arena),
        .set_aside = pm_query_get_int(query, 9) != 0,
        .base = pm_query_get_int(query, 10),
        .total = pm_query_get_int(query, 11),
        .lines = (size_t)pm_query_get_int(query, 12),
    };
}

static enum pm_status no_trial(int64_t id, struct pm_error *err)
{
    return pm_fail(err, PM_MISSING, "There is no trial with the id %lld.", (long long)id);
}

enum pm_status pm_trial_row_get(struct pm_library *library, int64_t trial, struct pm_arena *arena,
                                struct pm_trial_row *out, struct pm_error *err)
{
    struct pm_query query;
    struct pm_trial_row row;
    pm_query_open(&query, library, PM_SQL_TRIAL_ROW);
    pm_query_int(&query, trial);
    bool found = pm_query_row(&query);
    if (found)
        read_row(&query, arena, &row);
    enum pm_status status = pm_query_close(&query, err);
    if (status == PM_OK && !found)
        status = no_trial(trial, err);
    if (status == PM_OK)
        *out = row;
    return status;
}

enum pm_status pm_trial_by_number(struct pm_library *library, int64_t formula, int64_t number,
                                  int64_t *trial, struct pm_error *err)
{
    struct pm_query query;
    int64_t id = 0;
    pm_query_open(&query, library, number == 0 ? PM_SQL_TRIAL_DRAFT : PM_SQL_TRIAL_BY_NUMBER);
    pm_query_int(&query, formula);
    if (number != 0)
        pm_query_int(&query, number);
    enum pm_status status = pm_query_one(&query, &id, NULL, err);
    if (status == PM_OK && id == 0)
        return pm_fail(err, PM_MISSING, "The formula has no trial %lld.", (long long)number);
    if (status == PM_OK)
        *trial = id;
    return status;
}

enum pm_status pm_trial_list(struct pm_library *library, int64_t formula, struct pm_trial_rows *out,
                             struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_TRIAL_LIST);
    pm_query_int(&query, formula);
    return pm_query_list(&query, read_row, out, err);
}

static void read_count(struct pm_query *query, struct pm_arena *arena, void *item)
{
    (void)arena;
    *(struct pm_trial_count *)item =
        (struct pm_trial_count){pm_query_get_int(query, 0), pm_query_get_int(query, 1)};
}

enum pm_status pm_trial_counts_read(struct pm_query *query, struct pm_trial_counts *out,
                                    struct pm_error *err)
{
    return pm_query_list(query, read_count, out, err);
}

/* ---- loading ---- */

/* Reads one row of PM_SQL_LINES_GET. False: a word that is none. */
static bool read_line(struct pm_query *query, struct pm_line *line)
{
    const char *stance = pm_query_get_text(query, 6);
    line->id = pm_query_get_int(query, 0);
    line->ref = pm_query_get_int(query, 1);
    line->kind = PM_LINE_MATERIAL;
    if (line->ref == 0) {
        line->kind = PM_LINE_ACCORD;
        line->ref = pm_query_get_int(query, 2);
    }
    line->strength = pm_query_get_int(query, 3);
    line->solvent = pm_query_get_int(query, 4);
    line->parts = pm_query_get_int(query, 5);
    line->core = (int)pm_query_get_int(query, 7);
    line->weight = pm_query_get_int(query, 8);
    line->comment = pm_query_get_copy(query, 9);
    line->share = (struct pm_weight){pm_query_get_int(query, 11), pm_query_get_int(query, 12)};
    line->rested = pm_query_get_int(query, 13);
    const char *before = pm_query_get_text(query, 14);
    line->rested_as = PM_FREE;
    bool known = stance != NULL && pm_stance_from_word(stance, &line->stance) &&
                 (before == NULL || pm_stance_from_word(before, &line->rested_as));
    if (pm_weight_none(line->share))
        line->share = pm_line_plain_share(line);
    return known;
}

static enum pm_status damaged(int64_t trial, const char *what, struct pm_error *err)
{
    return pm_fail(err, PM_DAMAGED,
                   "Trial id %lld is damaged in the file: %s. \"verify\" tells more; a backup may "
                   "hold it whole.",
                   (long long)trial, what);
}

/* Reads all lines in order; *wrong says what is odd about them, or stays NULL. */
static enum pm_status read_lines(struct pm_library *library, int64_t trial, struct pm_trial *out,
                                 const char **wrong, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_LINES_GET);
    pm_query_int(&query, trial);
    while (pm_query_row(&query)) {
        void *lines = out->lines;
        if (!pm_grow(&lines, &out->capacity, out->count + 1, sizeof *out->lines)) {
            query.rc = SQLITE_NOMEM;
            break;
        }
        out->lines = lines;
        struct pm_line *line = &out->lines[out->count];
        memset(line, 0, sizeof *line);
        if (!read_line(&query, line) || pm_query_get_int(&query, 10) != (int64_t)out->count)
            *wrong = "its lines are out of order";
        out->count++;
    }
    return pm_query_close(&query, err);
}

/* What the row of a trial says about its lines. */
struct promise {
    int64_t line_count, total;
    uint64_t content;
};

static enum pm_status read_head(struct pm_library *library, int64_t trial, struct pm_trial *out,
                                struct pm_trial_head *head, struct promise *promise,
                                const char **wrong, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_TRIAL_CONTENT);
    pm_query_int(&query, trial);
    bool found = pm_query_row(&query);
    if (found) {
        const char *mode = pm_query_get_text(&query, 4);
        enum pm_mode parsed = PM_OPEN;
        if (mode == NULL || !pm_mode_from_word(mode, &parsed) || !pm_query_get_int(&query, 11))
            *wrong = "its row does not match its checksum";
        pm_trial_init(out, pm_query_get_int(&query, 5), parsed);
        head->formula = pm_query_get_int(&query, 0);
        head->number = pm_query_get_int(&query, 1);
        head->head = pm_query_get_int(&query, 3);
        out->parent = pm_query_get_int(&query, 2);
        out->settled = pm_query_get_int(&query, 6) != 0;
        out->next_id = pm_query_get_int(&query, 7);
        promise->line_count = pm_query_get_int(&query, 8);
        promise->total = pm_query_get_int(&query, 9);
        promise->content = (uint64_t)pm_query_get_int(&query, 10);
        if (pm_query_get_int(&query, 12) != 0)
            out->scale =
                (struct pm_weight){pm_query_get_int(&query, 12), pm_query_get_int(&query, 13)};
    }
    enum pm_status status = pm_query_close(&query, err);
    return status == PM_OK && !found ? no_trial(trial, err) : status;
}

/* Row and lines as they are in the file; *wrong is the first thing that does not fit, or NULL. */
static enum pm_status read_all(struct pm_library *library, int64_t trial, struct pm_trial *out,
                               struct pm_trial_head *head, const char **wrong, struct pm_error *err)
{
    struct promise promise = {0};
    *wrong = NULL;
    memset(head, 0, sizeof *head);
    pm_trial_init(out, PM_PART, PM_OPEN);
    enum pm_status status = read_head(library, trial, out, head, &promise, wrong, err);
    if (status == PM_OK)
        status = read_lines(library, trial, out, wrong, err);
    if (status != PM_OK) {
        pm_trial_release(out);
        return status;
    }
    if (*wrong == NULL && (int64_t)out->count != promise.line_count)
        *wrong = "lines are missing";
    if (*wrong == NULL && pm_crc_lines(out) != promise.content)
        *wrong = "its lines do not match their checksum";
    if (*wrong == NULL && pm_trial_total(out) != promise.total)
        *wrong = "its lines do not add up to its total";
    return PM_OK;
}

enum pm_status pm_trial_read(struct pm_library *library, int64_t trial, struct pm_trial *out,
                             struct pm_trial_head *head, struct pm_error *err)
{
    const char *wrong = NULL;
    enum pm_status status = read_all(library, trial, out, head, &wrong, err);
    if (status != PM_OK)
        return status;
    status = wrong == NULL ? pm_trial_check(out, err) : damaged(trial, wrong, err);
    if (status != PM_OK)
        pm_trial_release(out);
    return status;
}

enum pm_status pm_trial_read_as_is(struct pm_library *library, int64_t trial, struct pm_trial *out,
                                   struct pm_trial_head *head, bool *sound, struct pm_error *err)
{
    const char *wrong = NULL;
    enum pm_status status = read_all(library, trial, out, head, &wrong, err);
    if (status == PM_OK)
        *sound = wrong == NULL && pm_trial_check(out, NULL) == PM_OK;
    return status;
}

enum pm_status pm_trial_load(struct pm_library *library, int64_t trial, struct pm_trial *out,
                             struct pm_error *err)
{
    struct pm_trial_head head;
    enum pm_status status = pm_library_begin_read(library, err);
    if (status == PM_OK) {
        status = pm_trial_read(library, trial, out, &head, err);
        pm_library_end_read(library);
    }
    return status;
}

/* ---- writing ---- */

/* NULL twice for what goes without saying. */
static void bind_weight(struct pm_query *query, struct pm_weight weight, struct pm_weight plain)
{
    bool said = !pm_weight_equal(weight, plain);
    pm_query_key(query, said ? weight.digits : 0);
    pm_query_key(query, said ? weight.power : 0);
}

enum pm_status pm_trial_row_insert(struct pm_library *library, int64_t formula,
                                   const struct pm_trial *content, int64_t head, int64_t *id,
                                   struct pm_error *err)
{
    enum pm_status status = pm_store_next_id(library, PM_SQL_TRIAL_NEXT, id, err);
    if (status != PM_OK)
        return status;
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_TRIAL_INSERT);
    pm_query_int(&query, *id);
    pm_query_int(&query, formula);
    pm_query_key(&query, content->parent);
    pm_query_key(&query, head);
    pm_query_text(&query, pm_mode_word(content->mode));
    pm_query_int(&query, content->base);
    pm_query_int(&query, content->settled);
    pm_query_int(&query, content->next_id);
    pm_query_int(&query, (int64_t)content->count);
    pm_query_int(&query, pm_trial_total(content));
    pm_query_int(&query, (int64_t)pm_crc_lines(content));
    pm_query_int(&query, pm_library_now(library));
    bind_weight(&query, content->scale, pm_weight_of(1));
    return pm_query_run(&query, err);
}

static enum pm_status write_row(struct pm_library *library, int64_t draft,
                                const struct pm_trial *after, int64_t head, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_TRIAL_WRITE);
    pm_query_int(&query, draft);
    pm_query_key(&query, after->parent);
    pm_query_key(&query, head);
    pm_query_text(&query, pm_mode_word(after->mode));
    pm_query_int(&query, after->base);
    pm_query_int(&query, after->settled);
    pm_query_int(&query, after->next_id);
    pm_query_int(&query, (int64_t)after->count);
    pm_query_int(&query, pm_trial_total(after));
    pm_query_int(&query, (int64_t)pm_crc_lines(after));
    bind_weight(&query, after->scale, pm_weight_of(1));
    return pm_query_run(&query, err);
}

static void bind_line(struct pm_query *query, int64_t draft, size_t place,
                      const struct pm_line *line)
{
    bool material = line->kind == PM_LINE_MATERIAL;
    pm_query_int(query, draft);
    pm_query_int(query, line->id);
    pm_query_int(query, (int64_t)place);
    pm_query_key(query, material ? line->ref : 0);
    pm_query_key(query, material ? 0 : line->ref);
    pm_query_int(query, line->strength);
    pm_query_key(query, line->solvent);
    pm_query_int(query, line->parts);
    pm_query_text(query, pm_stance_word(line->stance));
    pm_query_int(query, line->core);
    pm_query_int(query, line->weight);
    pm_query_text(query, line->comment);
    bind_weight(query, line->share, pm_line_plain_share(line));
    pm_query_key(query, line->rested);
    pm_query_text(query, line->rested_as == PM_FREE ? NULL : pm_stance_word(line->rested_as));
}

static enum pm_status update_line(struct pm_library *library, int64_t draft, size_t place,
                                  const struct pm_line *line, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_LINE_UPDATE);
    bind_line(&query, draft, place, line);
    return pm_query_run(&query, err);
}

static enum pm_status remove_line(struct pm_library *library, int64_t draft, int64_t line,
                                  struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, library, PM_SQL_LINE_DELETE);
    pm_query_int(&query, draft);
    pm_query_int(&query, line);
    return pm_query_run(&query, err);
}

static bool same_line(const struct pm_line *a, const struct pm_line *b)
{
    return pm_weight_equal(a->share, b->share) && pm_line_same(a, b);
}

/* A line with its place, for sorting by id. */
struct placed {
    const struct pm_line *line;
    size_t place;
};

static int by_id(const void *a, const void *b)
{
    const struct placed *left = a;
    const struct placed *right = b;
    return (left->line->id > right->line->id) - (left->line->id < right->line->id);
}

static struct placed *sort_lines(const struct pm_trial *trial)
{
    struct placed *lines = pm_alloc_array(trial->count + 1, sizeof *lines);
    for (size_t i = 0; lines != NULL && i < trial->count; i++) {
        lines[i].line = &trial->lines[i];
        lines[i].place = i;
    }
    if (lines != NULL)
        qsort(lines, trial->count, sizeof *lines, by_id);
    return lines;
}

/* A draft being rewritten. */
struct rewriting {
    struct pm_library *library;
    int64_t formula, draft;
    struct placed *came; /* lines that are new, owned */
    size_t came_count;
};

/* What a line holds, the formula has held (see material_use in schema/001-library.sql). */
static enum pm_status note_use(const struct rewriting *rewriting, int64_t material,
                               struct pm_error *err)
{
    struct pm_query query;
    if (material == 0)
        return PM_OK;
    pm_query_open(&query, rewriting->library, PM_SQL_MATERIAL_USE);
    pm_query_int(&query, material);
    pm_query_int(&query, rewriting->formula);
    return pm_query_run(&query, err);
}

static enum pm_status note_uses(const struct rewriting *rewriting, const struct pm_line *line,
                                struct pm_error *err)
{
    enum pm_status status =
        line->kind == PM_LINE_MATERIAL ? note_use(rewriting, line->ref, err) : PM_OK;
    return status == PM_OK ? note_use(rewriting, line->solvent, err) : status;
}

static enum pm_status insert_lines(const struct rewriting *rewriting, enum pm_sql which,
                                   size_t from, size_t count, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, rewriting->library, which);
    for (size_t i = from; i < from + count; i++)
        bind_line(&query, rewriting->draft, rewriting->came[i].place, rewriting->came[i].line);
    return pm_query_run(&query, err);
}

/* Of all lines that stand in the file. */
static enum pm_status note_all_uses(const struct rewriting *rewriting, struct pm_error *err)
{
    struct pm_query query;
    pm_query_open(&query, rewriting->library, PM_SQL_MATERIAL_USES);
    pm_query_int(&query, rewriting->draft);
    pm_query_int(&query, rewriting->formula);
    return pm_query_run(&query, err);
}

/* Many to a statement, as far as they go: what a statement costs is more than what its row does. */
static enum pm_status write_what_came(const struct rewriting *rewriting, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    const size_t count = rewriting->came_count;
    const bool many = count >= PM_SQL_LINES_AT_ONCE;
    size_t done = 0;
    for (; status == PM_OK && done + PM_SQL_LINES_AT_ONCE <= count; done += PM_SQL_LINES_AT_ONCE)
        status = insert_lines(rewriting, PM_SQL_LINES_INSERT, done, PM_SQL_LINES_AT_ONCE, err);
    for (; status == PM_OK && done < count; done++)
        status = insert_lines(rewriting, PM_SQL_LINE_INSERT, done, 1, err);
    if (status == PM_OK && many)
        status = note_all_uses(rewriting, err);
    for (size_t i = 0; status == PM_OK && !many && i < count; i++)
        status = note_uses(rewriting, rewriting->came[i].line, err);
    return status;
}

static enum pm_status write_change(const struct rewriting *rewriting, const struct placed *was,
                                   const struct placed *is, struct pm_error *err)
{
    if (was->place == is->place && same_line(was->line, is->line))
        return PM_OK;
    enum pm_status status =
        update_line(rewriting->library, rewriting->draft, is->place, is->line, err);
    const bool same_use = was->line->kind == is->line->kind && was->line->ref == is->line->ref &&
                          was->line->solvent == is->line->solvent;
    return status == PM_OK && !same_use ? note_uses(rewriting, is->line, err) : status;
}

/* Both sorted by id: one walk finds what went, came, and changed. */
static enum pm_status merge_lines(struct rewriting *rewriting, const struct placed *old,
                                  size_t old_count, const struct placed *new, size_t new_count,
                                  struct pm_error *err)
{
    enum pm_status status = PM_OK;
    size_t i = 0, k = 0;
    while (status == PM_OK && (i < old_count || k < new_count))
        if (k == new_count || (i < old_count && old[i].line->id < new[k].line->id))
            status = remove_line(rewriting->library, rewriting->draft, old[i++].line->id, err);
        else if (i == old_count || new[k].line->id < old[i].line->id)
            rewriting->came[rewriting->came_count++] = new[k++];
        else
            status = write_change(rewriting, &old[i++], &new[k++], err);
    return status == PM_OK ? write_what_came(rewriting, err) : status;
}

enum pm_status pm_trial_rewrite(struct pm_library *library, int64_t formula, int64_t draft,
                                const struct pm_trial *before, const struct pm_trial *after,
                                int64_t head, struct pm_error *err)
{
    struct placed *old = sort_lines(before);
    struct placed *new = sort_lines(after);
    struct rewriting rewriting = {.library = library,
                                  .formula = formula,
                                  .draft = draft,
                                  .came = pm_alloc_array(after->count + 1, sizeof *new)};
    enum pm_status status = PM_OK;
    if (old == NULL || new == NULL || rewriting.came == NULL)
        status = pm_fail_memory(err);
    else
        status = merge_lines(&rewriting, old, before->count, new, after->count, err);
    if (status == PM_OK)
        status = write_row(library, draft, after, head, err);
    pm_free(old);
    pm_free(new);
    pm_free(rewriting.came);
    return status;
}

enum pm_status pm_trial_write_as_is(struct pm_library *library, int64_t trial,
                                    const struct pm_trial *content, int64_t head,
                                    struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t i = 0; status == PM_OK && i < content->count; i++)
        status = update_line(library, trial, i, &content->lines[i], err);
    return status == PM_OK ? write_row(library, trial, content, head, err) : status;
}
