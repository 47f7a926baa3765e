/* SPDX-License-Identifier: MIT */
/*
 * Sets of rules: those that came with the program, the person's own figures, and whole sets that
 * were loaded. A set is checked wholly before a row of it is written, so that a broken one never
 * counts half.
 */
#include "limits.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/core/cas.h"

#include <stdio.h>
#include <string.h>

#define UNUSED     "limits.unused"
#define TEXT_BYTES 2000

static const struct {
    const char *name, *table, *what;
} shipped[] = {
    {PM_SET_STANDARDS, "limits.csv",
     "49th Amendment (2020) and 51st (2023); a trade standard; read second-hand"},
    {PM_SET_LAW, "limits_eu_law.csv",
     "Annexes II and III of Regulation (EC) 1223/2009, in part; law"},
    {PM_SET_ALLERGENS, "allergens_eu.csv",
     "Annex III as amended by Regulation (EU) 2023/1545: what labels name"},
};

/* ---- listing ---- */

static enum pm_status count_row(void *context, const struct pm_shipped *table, struct pm_error *err)
{
    (void)table;
    (void)err;
    ++*(size_t *)context;
    return PM_OK;
}

static enum pm_status add_set(struct pm_studio *studio, struct pm_rule_sets *list,
                              const struct pm_rule_set *set, struct pm_error *err)
{
    struct pm_rule_set *row = pm_list_add(list);
    if (row == NULL)
        return pm_fail_memory(err);
    *row = *set;
    row->name = pm_arena_text(&list->arena, set->name);
    row->what = pm_arena_text(&list->arena, set->what);
    row->in_use = true;
    return set->own ? PM_OK : pm_rule_set_in_use(studio, set->name, &row->in_use, err);
}

static enum pm_status add_loaded(struct pm_studio *studio, struct pm_rule_sets *list,
                                 struct pm_error *err)
{
    struct pm_rule_lines lines = {0};
    enum pm_status status = pm_rule_line_list(studio->library, &lines, err);
    for (size_t i = 0; i < lines.count && status == PM_OK; i++) {
        const struct pm_rule_line *line = &lines.items[i];
        struct pm_rule_set *last = list->count > 0 ? &list->items[list->count - 1] : NULL;
        if (last != NULL && !last->shipped && strcmp(last->name, line->set) == 0) {
            last->rules++;
            continue;
        }
        const struct pm_rule_set set = {
            .name = line->set,
            .what = line->own ? "typed in or read from a table; they count in place of the "
                                "Standards' figures"
                              : line->source,
            .rules = 1,
            .own = line->own,
        };
        status = add_set(studio, list, &set, err);
    }
    pm_list_release(&lines);
    return status;
}

static enum pm_status list_sets(struct pm_studio *studio, struct pm_rule_sets *list,
                                struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t i = 0; i < sizeof shipped / sizeof *shipped && status == PM_OK; i++) {
        struct pm_rule_set set = {
            .name = shipped[i].name, .what = shipped[i].what, .shipped = true};
        status = pm_shipped_each(shipped[i].table, count_row, &set.rules, err);
        if (status == PM_OK)
            status = add_set(studio, list, &set, err);
    }
    if (status == PM_OK)
        status = add_loaded(studio, list, err);
    return status == PM_OK ? pm_arena_status(&list->arena, err) : status;
}

enum pm_status pm_limits_sets(struct pm_studio *studio, struct pm_rule_sets *out,
                              struct pm_error *err)
{
    struct pm_rule_sets list = {0};
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_look_over(studio, list_sets(studio, &list, err));
    pm_list_give(&list, status, out);
    return status;
}

/* ---- choosing ---- */

static enum pm_status choose(struct pm_studio *studio, const char *name, bool use,
                             struct pm_error *err)
{
    struct pm_rule_sets sets = {0};
    struct pm_text unused = PM_TEXT_EMPTY;
    size_t left = 0;
    bool found = false;
    enum pm_status status = list_sets(studio, &sets, err);
    for (size_t i = 0; i < sets.count && status == PM_OK; i++) {
        struct pm_rule_set *set = &sets.items[i];
        if (pm_fold_equal(set->name, name)) {
            found = true;
            if (set->own)
                status = pm_fail(err, PM_REFUSED,
                                 "Your own limits always count; remove one "
                                 "instead.");
            set->in_use = use;
        }
        left += set->in_use && !set->own;
        if (!set->in_use)
            pm_text_addf(&unused, "%s\n", set->name);
    }
    pm_list_release(&sets);
    if (status == PM_OK && !found)
        status = pm_fail(err, PM_MISSING, "There is no set of limits called \"%s\".", name);
    if (status == PM_OK && left == 0)
        status = pm_fail(err, PM_REFUSED, "Without a set of limits nothing could be judged.");
    if (status == PM_OK && !pm_text_ok(&unused))
        status = pm_fail_memory(err);
    if (status == PM_OK)
        status = pm_setting_put(studio->library, UNUSED, pm_text_get(&unused), err);
    pm_text_release(&unused);
    return status;
}

enum pm_status pm_limits_use_set(struct pm_studio *studio, const char *name, bool use,
                                 struct pm_error *err)
{
    enum pm_status status = pm_change_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_change_end(studio, choose(studio, name, use, err), err);
    pm_limits_forget(studio);
    return status;
}

/* ---- one figure ---- */

static bool is_given(const char *text)
{
    return text != NULL && text[0] != '\0';
}

static enum pm_status read_scope(struct pm_studio *studio, const char *text, char *scope,
                                 size_t size, struct pm_error *err)
{
    struct pm_limits_wish wish = {.dosage = PM_NEAT, .category = "4"};
    const struct pm_product product = {"4", PM_LEAVE_ON, PM_FINE_FRAGRANCE};
    const char *category = strncmp(text, "category ", 9) == 0 ? text + 9 : text;
    struct pm_error ignored;
    if (strlen(category) < PM_CATEGORY_TEXT &&
        pm_limits_read_wish(studio, NULL, category, NULL, NULL, &wish, &ignored) == PM_OK) {
        snprintf(scope, size, "category %s", wish.category);
        return PM_OK;
    }
    if (strlen(text) >= size || pm_scope_covers(text, &product) == PM_COVERS_UNCLEAR)
        return pm_fail_at(err, "scope", PM_INVALID,
                          "\"%s\" is no category (1 to 12, such as 4 or 5A) nor one of: all, "
                          "leave-on, rinse-off, all but oral products.",
                          text);
    snprintf(scope, size, "%s", text);
    return PM_OK;
}

static enum pm_status read_numbers(const char *text, char out[TEXT_BYTES], struct pm_error *err)
{
    out[0] = '\0';
    while (is_given(text)) {
        char one[32], number[PM_CAS_TEXT];
        size_t length = strcspn(text, " ;,");
        if (length >= sizeof one)
            return pm_fail_at(err, "cas", PM_INVALID, "A CAS number is shorter than that.");
        memcpy(one, text, length);
        one[length] = '\0';
        if (length > 0) {
            enum pm_status status = pm_error_at(err, "cas", pm_cas_read(one, number, err));
            if (status != PM_OK)
                return status;
            if (strlen(out) + PM_CAS_TEXT + 2 > TEXT_BYTES)
                return pm_fail_at(err, "cas", PM_INVALID, "These are too many CAS numbers.");
            snprintf(out + strlen(out), TEXT_BYTES - strlen(out), "%s%s", out[0] ? " " : "",
                     number);
        }
        text += length + (text[length] != '\0');
    }
    return PM_OK;
}

struct line_texts {
    char *name, *source, *dated, *note, *members, *replaces;
    char scope[64], cas[TEXT_BYTES];
};

static void texts_release(struct line_texts *texts)
{
    pm_free(texts->name);
    pm_free(texts->source);
    pm_free(texts->dated);
    pm_free(texts->note);
    pm_free(texts->members);
    pm_free(texts->replaces);
}

/* Everything that is refused is refused here. */
static enum pm_status read_line(struct pm_studio *studio, const struct pm_own_limit *limit,
                                struct line_texts *texts, struct pm_rule_line *out,
                                struct pm_error *err)
{
    if (!is_given(limit->name))
        return pm_fail_at(err, "name", PM_INVALID, "A limit needs the name of a substance.");
    if (!is_given(limit->source))
        return pm_fail_at(err, "source", PM_INVALID,
                          "A limit needs its source: whose paper, and which edition.");
    if (!is_given(limit->scope))
        return pm_fail_at(err, "scope", PM_INVALID, "A limit needs its category.");
    enum pm_status status = pm_clean_text(limit->name, "The name", 0, &texts->name, err);
    if (status == PM_OK)
        status = pm_clean_text(limit->source, "The source", 0, &texts->source, err);
    if (status == PM_OK)
        status = pm_clean_text(limit->dated, "The date", 0, &texts->dated, err);
    if (status == PM_OK)
        status = pm_clean_text(limit->note, "The note", TEXT_BYTES, &texts->note, err);
    if (status == PM_OK)
        status = pm_clean_text(limit->members, "The members", TEXT_BYTES, &texts->members, err);
    if (status == PM_OK)
        status = pm_clean_text(limit->replaces, "The set", 0, &texts->replaces, err);
    if (status == PM_OK)
        status = read_scope(studio, limit->scope, texts->scope, sizeof texts->scope, err);
    if (status == PM_OK)
        status = read_numbers(limit->cas, texts->cas, err);
    if (status == PM_OK)
        status = pm_error_at(
            err, "percent",
            pm_read_figure(limit->percent != NULL ? limit->percent : "", &out->percent, err));
    if (status != PM_OK)
        return status;
    *out = (struct pm_rule_line){.name = texts->name,
                                 .source = texts->source,
                                 .dated = texts->dated,
                                 .note = texts->note,
                                 .members = texts->members,
                                 .replaces = texts->replaces,
                                 .scope = texts->scope,
                                 .cas = texts->cas[0] ? texts->cas : NULL,
                                 .kind = "limit",
                                 .percent = out->percent};
    return PM_OK;
}

static enum pm_status add_own(struct pm_studio *studio, const struct pm_own_limit *limit,
                              int64_t *id, struct pm_error *err)
{
    struct line_texts texts = {0};
    struct pm_rule_line line;
    enum pm_status status = read_line(studio, limit, &texts, &line, err);
    if (status == PM_OK && line.percent == PM_UNKNOWN)
        status = pm_fail_at(err, "percent", PM_INVALID,
                            "A limit of your own needs its figure in percent, or NR where the "
                            "paper says that there is none.");
    if (status == PM_OK) {
        line.set = PM_SET_OWN;
        line.own = true;
        if (line.replaces == NULL)
            line.replaces = PM_SET_STANDARDS;
        status = pm_rule_line_insert(studio->library, &line, err);
    }
    if (status == PM_OK && id != NULL)
        *id = line.id;
    texts_release(&texts);
    return status;
}

enum pm_status pm_limits_add_own(struct pm_studio *studio, const struct pm_own_limit *limit,
                                 int64_t *id, struct pm_error *err)
{
    enum pm_status status = pm_change_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_change_end(studio, add_own(studio, limit, id, err), err);
    pm_limits_forget(studio);
    return status;
}

enum pm_status pm_limits_remove_own(struct pm_studio *studio, int64_t id, struct pm_error *err)
{
    enum pm_status status = pm_change_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_change_end(studio, pm_rule_line_remove(studio->library, id, err), err);
    pm_limits_forget(studio);
    return status;
}

enum pm_status pm_limits_own(struct pm_studio *studio, struct pm_own_rows *out,
                             struct pm_error *err)
{
    struct pm_rule_lines lines = {0};
    struct pm_own_rows rows = {0};
    enum pm_status status = pm_rule_line_list(studio->library, &lines, err);
    for (size_t i = 0; i < lines.count && status == PM_OK; i++) {
        const struct pm_rule_line *line = &lines.items[i];
        struct pm_own_row *row = pm_list_add(&rows);
        if (row != NULL)
            *row = (struct pm_own_row){line->id,
                                       line->percent,
                                       pm_arena_text(&rows.arena, line->set),
                                       pm_arena_text(&rows.arena, line->name),
                                       pm_arena_text(&rows.arena, line->scope),
                                       pm_arena_text(&rows.arena, line->source),
                                       pm_arena_text(&rows.arena, line->dated),
                                       pm_arena_text(&rows.arena, line->replaces)};
        status = pm_arena_status(&rows.arena, err);
    }
    pm_list_release(&lines);
    pm_list_give(&rows, status, out);
    return status;
}

/* ---- whole tables ---- */

static const char *cell(const struct pm_csv *row, const struct pm_csv *header, const char *column)
{
    int at = pm_csv_column(header, column);
    return at >= 0 && (size_t)at < row->count ? row->fields[at] : "";
}

static bool is_kind(const char *word)
{
    return strcmp(word, "limit") == 0 || strcmp(word, "prohibit") == 0 ||
           strcmp(word, "declare") == 0 || strcmp(word, "check") == 0;
}

static enum pm_status import_row(struct pm_studio *studio, const struct pm_csv *row,
                                 const struct pm_csv *header, const char *set, struct pm_error *err)
{
    const struct pm_own_limit limit = {
        .name = cell(row, header, "name"),
        .scope = cell(row, header, "scope"),
        .percent = cell(row, header, "percent"),
        .source = cell(row, header, "source"),
        .dated = cell(row, header, "dated"),
        .note = cell(row, header, "note"),
        .cas = cell(row, header, "cas"),
        .members = cell(row, header, "members"),
        .replaces = cell(row, header, "replaces"),
    };
    if (set == NULL)
        return add_own(studio, &limit, NULL, err);
    struct line_texts texts = {0};
    struct pm_rule_line line;
    const char *kind = cell(row, header, "kind");
    enum pm_status status = read_line(studio, &limit, &texts, &line, err);
    if (status == PM_OK && kind[0] != '\0' && !is_kind(kind))
        status = pm_fail(err, PM_INVALID,
                         "A rule is a limit, prohibit, declare or check, not \"%s\".", kind);
    if (status == PM_OK) {
        line.set = set;
        line.kind = kind[0] != '\0' ? kind : "limit";
        status = pm_rule_line_insert(studio->library, &line, err);
    }
    texts_release(&texts);
    return status;
}

static enum pm_status check_headings(const struct pm_csv *header, struct pm_error *err)
{
    static const char *const needed[] = {"name", "scope", "percent", "source"};
    for (size_t i = 0; i < sizeof needed / sizeof *needed; i++)
        if (pm_csv_column(header, needed[i]) < 0)
            return pm_fail(err, PM_INVALID,
                           "A table of limits has the headings name, scope, percent and source; "
                           "\"%s\" is missing.",
                           needed[i]);
    return PM_OK;
}

static enum pm_status import_rows(struct pm_studio *studio, struct pm_csv *csv,
                                  struct pm_csv *header, const char *set, size_t *count,
                                  struct pm_error *err)
{
    bool more = false;
    enum pm_status status = pm_csv_next(header, &more, err);
    if (status == PM_OK)
        status = check_headings(header, err);
    if (status == PM_OK)
        status = pm_csv_next(csv, &more, err);
    while (status == PM_OK && (status = pm_csv_next(csv, &more, err)) == PM_OK && more) {
        struct pm_error why = {0};
        status = import_row(studio, csv, header, set, &why);
        if (status == PM_NOMEM || status == PM_FULL || status == PM_IO)
            pm_fail(err, status, "%s", why.text);
        else if (status != PM_OK)
            pm_fail(err, status, "Line %zu: %s", csv->line, why.text);
        ++*count;
    }
    if (status == PM_OK && *count == 0)
        status = pm_fail(err, PM_INVALID, "There is no limit in that table.");
    return status;
}

static bool is_shipped(const char *name)
{
    for (size_t i = 0; i < sizeof shipped / sizeof *shipped; i++)
        if (pm_fold_equal(shipped[i].name, name))
            return true;
    return pm_fold_equal(PM_SET_OWN, name);
}

static enum pm_status import(struct pm_studio *studio, const char *table, size_t length,
                             const char *set, size_t *count, struct pm_error *err)
{
    struct pm_csv csv, header;
    char *name = NULL;
    enum pm_status status = pm_clean_text(set, "The name of the set", 0, &name, err);
    if (status == PM_OK && name != NULL && is_shipped(name))
        status = pm_fail(err, PM_EXISTS, "%s is a set of its own: give yours another name.", name);
    if (status == PM_OK && name != NULL)
        status = pm_rule_set_remove(studio->library, name, err);
    pm_csv_init(&csv, table, length);
    pm_csv_init(&header, table, length);
    *count = 0;
    if (status == PM_OK)
        status = import_rows(studio, &csv, &header, name, count, err);
    pm_csv_release(&csv);
    pm_csv_release(&header);
    pm_free(name);
    return status;
}

enum pm_status pm_limits_import(struct pm_studio *studio, const char *table, size_t length,
                                const char *set, size_t *count, struct pm_error *err)
{
    enum pm_status status = pm_change_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_change_end(studio, import(studio, table, length, set, count, err), err);
    pm_limits_forget(studio);
    return status;
}
