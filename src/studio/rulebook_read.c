/* SPDX-License-Identifier: MIT */
/*
 * Rules from the tables that came with the program and from the library's own rows.
 *
 * rule_names.csv says by which names what a row speaks of goes, and which substance is the sum of
 * others; joint_limits.csv holds what the notes of rows say about several together. Names in
 * brackets at the end of a row's name stand for themselves as well.
 */
#include "rulebook.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/store/facts.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* ---- tables ---- */

/* The program's own tables are asked by their exact headings: folding them took most of the time.
 */
const char *pm_shipped_field(const struct pm_shipped *table, const char *column)
{
    for (size_t i = 0; i < table->header->count && i < table->csv->count; i++)
        if (strcmp(table->header->fields[i], column) == 0)
            return table->csv->fields[i];
    return "";
}

enum pm_status pm_shipped_each(const char *name, pm_shipped_row *visit, void *context,
                               struct pm_error *err)
{
    struct pm_csv csv, header;
    size_t length;
    bool more = false;
    const char *text = pm_reference_table(name, &length);
    if (text == NULL)
        return pm_fail(err, PM_MISSING, "This program was built without %s.", name);
    pm_csv_init(&csv, text, length);
    pm_csv_init(&header, text, length);
    const struct pm_shipped table = {&csv, &header};
    enum pm_status status = pm_csv_next(&header, &more, err);
    if (status == PM_OK)
        status = pm_csv_next(&csv, &more, err);
    while (status == PM_OK && (status = pm_csv_next(&csv, &more, err)) == PM_OK && more)
        status = visit(context, &table, err);
    pm_csv_release(&csv);
    pm_csv_release(&header);
    return status;
}

enum pm_status pm_read_figure(const char *text, pm_strength *out, struct pm_error *err)
{
    *out = PM_UNKNOWN;
    if (strcmp(text, "NR") == 0)
        *out = PM_NO_LIMIT;
    if (text[0] == '\0' || *out == PM_NO_LIMIT)
        return PM_OK;
    enum pm_status status = pm_decimal_read(text, 7, "A limit", out, err);
    if (status == PM_OK && (*out < 0 || *out > PM_NEAT))
        status = pm_fail(err, PM_INVALID, "A limit lies between 0 and 100 %%, not %s.", text);
    return status;
}

/* ---- building ---- */

struct building {
    struct pm_studio *studio;
    struct pm_limits_world *world;
};

static const char *keep(struct building *building, const char *text)
{
    const char *kept = pm_arena_text(&building->world->arena, text != NULL ? text : "");
    return kept != NULL ? kept : "";
}

static enum pm_status add_key(struct building *building, struct pm_rule_keys *keys, size_t rule,
                              const char *text, bool fold, struct pm_error *err)
{
    char *folded = fold ? pm_fold(text) : pm_strdup(text);
    if (folded == NULL)
        return pm_fail_memory(err);
    struct pm_rule_key *key = folded[0] ? pm_list_add(keys) : NULL;
    if (key != NULL)
        *key = (struct pm_rule_key){keep(building, folded), rule};
    pm_free(folded);
    return pm_arena_status(&keys->arena, err);
}

/* Each of the parts of a list "a;b;c". */
static enum pm_status add_names(struct building *building, size_t rule, const char *list,
                                struct pm_error *err)
{
    enum pm_status status = PM_OK;
    while (*list && status == PM_OK) {
        size_t length = strcspn(list, ";");
        char *one = pm_strndup(list, length);
        if (one == NULL)
            return pm_fail_memory(err);
        status = add_key(building, &building->world->names, rule, one, true, err);
        pm_free(one);
        list += length + (list[length] == ';');
    }
    return status;
}

static enum pm_status add_numbers(struct building *building, size_t rule, const char *list,
                                  struct pm_error *err)
{
    enum pm_status status = PM_OK;
    while (*list && status == PM_OK) {
        size_t length = strcspn(list, " ");
        char *one = pm_strndup(list, length);
        if (one == NULL)
            return pm_fail_memory(err);
        status = add_key(building, &building->world->numbers, rule, one, false, err);
        pm_free(one);
        list += length + (list[length] == ' ');
    }
    return status;
}

/* The name itself, and without what stands in brackets at its end. */
static enum pm_status add_own_name(struct building *building, size_t rule, const char *name,
                                   struct pm_error *err)
{
    size_t length = strlen(name);
    const char *bracket = strrchr(name, '(');
    enum pm_status status = add_key(building, &building->world->names, rule, name, true, err);
    if (status != PM_OK || bracket == NULL || bracket == name || name[length - 1] != ')')
        return status;
    size_t before = (size_t)(bracket - name);
    while (before > 0 && name[before - 1] == ' ')
        before--;
    char *bare = pm_strndup(name, before);
    if (bare == NULL)
        return pm_fail_memory(err);
    status = add_key(building, &building->world->names, rule, bare, true, err);
    pm_free(bare);
    return status;
}

static struct pm_book_rule *find_rule(struct pm_book *book, const char *set, const char *name)
{
    for (size_t i = book->count; i-- > 0;)
        if (strcmp(book->items[i].set, set) == 0 && strcmp(book->items[i].name, name) == 0)
            return &book->items[i];
    return NULL;
}

static struct pm_book_rule *new_rule(struct building *building, const char *set, const char *name,
                                     enum pm_rule_kind kind, struct pm_error *err)
{
    struct pm_book *book = &building->world->book;
    struct pm_book_rule *rule = pm_list_add(book);
    if (rule == NULL) {
        pm_fail_memory(err);
        return NULL;
    }
    *rule = (struct pm_book_rule){.set = keep(building, set),
                                  .name = keep(building, name),
                                  .kind = kind,
                                  .replaces = "",
                                  .note = "",
                                  .source = ""};
    rule->title = rule->name;
    if (add_own_name(building, book->count - 1, name, err) != PM_OK)
        return NULL;
    return rule;
}

static enum pm_status add_figure(struct building *building, struct pm_book_rule *rule,
                                 const struct pm_figure *figure, struct pm_error *err)
{
    size_t count = rule->figure_count;
    struct pm_figure *grown = pm_arena_array(&building->world->arena, count + 1, sizeof *grown);
    if (grown == NULL)
        return pm_fail_memory(err);
    if (count > 0)
        memcpy(grown, rule->figures, count * sizeof *grown);
    grown[count] = *figure;
    rule->figures = grown;
    rule->figure_count = count + 1;
    return PM_OK;
}

static bool from_memory(const struct pm_shipped *table)
{
    return strcmp(pm_shipped_field(table, "confidence"), "memory") == 0;
}

static struct pm_figure figure_of(struct building *building, const struct pm_shipped *table,
                                  const char *scope, pm_strength limit)
{
    return (struct pm_figure){.scope = keep(building, scope),
                              .limit = limit,
                              .note = keep(building, pm_shipped_field(table, "note")),
                              .source = keep(building, pm_shipped_field(table, "source")),
                              .dated = "",
                              .memory = from_memory(table)};
}

/* ---- the trade's Standards ---- */

static const char *const categories[] = {"1",  "2",  "3", "4", "5A",  "5B",  "5C",  "5D",  "6",
                                         "7A", "7B", "8", "9", "10A", "10B", "11A", "11B", "12"};

/* A few rows record what only the law prohibits. */
static bool is_law(const struct pm_shipped *table)
{
    return strcmp(pm_shipped_field(table, "standard_type"), "prohibition") == 0 &&
           strstr(pm_shipped_field(table, "source"), "IFRA") == NULL;
}

static enum pm_status standard_row(void *context, const struct pm_shipped *table,
                                   struct pm_error *err)
{
    struct building *building = context;
    const char *type = pm_shipped_field(table, "standard_type");
    const char *note = pm_shipped_field(table, "note");
    bool as_such = strstr(note, "ot to be added as such") != NULL;
    enum pm_rule_kind kind = strcmp(type, "prohibition") == 0 || as_such ? PM_RULE_PROHIBIT
                             : strcmp(type, "specification") == 0        ? PM_RULE_CHECK
                                                                         : PM_RULE_LIMIT;
    if (is_law(table))
        return PM_OK; /* stands in the list of the law as well */
    struct pm_book_rule *rule =
        new_rule(building, PM_SET_STANDARDS, pm_shipped_field(table, "substance"), kind, err);
    if (rule == NULL)
        return pm_fail_memory(err);
    rule->blank_unknown = kind != PM_RULE_CHECK;
    rule->note = keep(building, note);
    rule->source = keep(building, pm_shipped_field(table, "source"));
    enum pm_status status =
        add_numbers(building, building->world->book.count - 1, pm_shipped_field(table, "cas"), err);
    for (size_t i = 0; i < sizeof categories / sizeof *categories && status == PM_OK; i++) {
        const char *text = pm_shipped_field(table, categories[i]);
        char scope[32];
        pm_strength limit;
        snprintf(scope, sizeof scope, "category %s", categories[i]);
        status = pm_read_figure(text, &limit, err);
        if (status != PM_OK || text[0] == '\0')
            continue;
        const struct pm_figure figure = figure_of(building, table, scope, limit);
        status = add_figure(building, rule, &figure, err);
    }
    return status;
}

/* ---- the law ---- */

static enum pm_status law_row(void *context, const struct pm_shipped *table, struct pm_error *err)
{
    struct building *building = context;
    const char *name = pm_shipped_field(table, "substance");
    const char *scope = pm_shipped_field(table, "scope");
    const char *note = pm_shipped_field(table, "note");
    bool prohibited = strcmp(pm_shipped_field(table, "annex"), "II") == 0;
    bool as_such = strstr(note, "ot to be added as such") != NULL;
    bool raw = strcmp(scope, "raw material") == 0;
    enum pm_rule_kind kind = prohibited || as_such ? PM_RULE_PROHIBIT
                             : raw                 ? PM_RULE_CHECK
                                                   : PM_RULE_LIMIT;
    struct pm_book_rule *rule = find_rule(&building->world->book, PM_SET_LAW, name);
    pm_strength limit;
    enum pm_status status = pm_read_figure(pm_shipped_field(table, "max_percent"), &limit, err);
    if (status != PM_OK)
        return status;
    /* Nothing at all is no exemption; a prohibition "except for the normal content of natural
     * essences" leaves those free. */
    if (prohibited && limit == 0)
        limit = PM_UNKNOWN;
    else if (prohibited && limit == PM_UNKNOWN &&
             strstr(note, "xcept for the normal content") != NULL)
        limit = PM_NO_LIMIT;
    if (rule == NULL || rule->kind != kind) {
        rule = new_rule(building, PM_SET_LAW, name, kind, err);
        if (rule == NULL)
            return pm_fail_memory(err);
        rule->note = keep(building, note);
        rule->source = keep(building, pm_shipped_field(table, "source"));
        status = add_numbers(building, building->world->book.count - 1,
                             pm_shipped_field(table, "cas"), err);
    }
    if (status != PM_OK || raw)
        return status;
    const struct pm_figure figure = figure_of(building, table, scope, limit);
    return add_figure(building, rule, &figure, err);
}

/* ---- what labels name ---- */

static enum pm_status add_threshold(struct building *building, struct pm_book_rule *rule,
                                    const struct pm_shipped *table, const char *scope,
                                    const char *column, struct pm_error *err)
{
    pm_strength limit;
    enum pm_status status = pm_read_figure(pm_shipped_field(table, column), &limit, err);
    const struct pm_figure figure = figure_of(building, table, scope, limit);
    return status == PM_OK ? add_figure(building, rule, &figure, err) : status;
}

static enum pm_status allergen_row(void *context, const struct pm_shipped *table,
                                   struct pm_error *err)
{
    struct building *building = context;
    const char *name = pm_shipped_field(table, "label_name");
    enum pm_status status = PM_OK;
    struct pm_book_rule *rule = find_rule(&building->world->book, PM_SET_ALLERGENS, name);
    if (rule == NULL) {
        rule = new_rule(building, PM_SET_ALLERGENS, name, PM_RULE_DECLARE, err);
        if (rule == NULL)
            return pm_fail_memory(err);
        rule->source = keep(building, pm_shipped_field(table, "source"));
        status =
            add_threshold(building, rule, table, "leave-on", "leave_on_threshold_percent", err);
        if (status == PM_OK)
            status = add_threshold(building, rule, table, "rinse-off",
                                   "rinse_off_threshold_percent", err);
        if (status == PM_OK)
            status = add_threshold(building, rule, table, "oral products",
                                   "rinse_off_threshold_percent", err);
    }
    size_t place = (size_t)(rule - building->world->book.items);
    if (status == PM_OK)
        status = add_own_name(building, place, pm_shipped_field(table, "substance"), err);
    return status == PM_OK ? add_numbers(building, place, pm_shipped_field(table, "cas"), err)
                           : status;
}

/* ---- names, wholes, joint limits ---- */

static const char *set_of_list(const char *list)
{
    return strcmp(list, "limits") == 0      ? PM_SET_STANDARDS
           : strcmp(list, "law") == 0       ? PM_SET_LAW
           : strcmp(list, "allergens") == 0 ? PM_SET_ALLERGENS
                                            : "";
}

static enum pm_status add_whole(struct building *building, const struct pm_shipped *table,
                                struct pm_error *err)
{
    struct pm_limits_world *world = building->world;
    const char *list = pm_shipped_field(table, "names");
    char *folded = pm_fold(pm_shipped_field(table, "row"));
    char *parts = pm_fold(list);
    struct pm_whole *whole = folded != NULL && parts != NULL ? pm_list_add(&world->wholes) : NULL;
    if (whole != NULL) {
        size_t most = strlen(parts) + 1;
        *whole = (struct pm_whole){keep(building, folded),
                                   pm_arena_array(&world->arena, most, sizeof(char *)), 0};
        char *rest = (char *)(uintptr_t)keep(building, list);
        while (whole->parts != NULL && rest != NULL && *rest) {
            char *one = strsep(&rest, ";"), *name = pm_fold(one);
            if (name != NULL)
                whole->parts[whole->count++] = keep(building, name);
            pm_free(name);
        }
    }
    pm_free(folded);
    pm_free(parts);
    return whole != NULL ? pm_arena_status(&world->arena, err) : pm_fail_memory(err);
}

static enum pm_status names_row(void *context, const struct pm_shipped *table, struct pm_error *err)
{
    struct building *building = context;
    if (strcmp(pm_shipped_field(table, "list"), "totals") == 0)
        return add_whole(building, table, err);
    struct pm_book *book = &building->world->book;
    const char *set = set_of_list(pm_shipped_field(table, "list"));
    const char *title = pm_shipped_field(table, "title");
    enum pm_status status = PM_OK;
    /* A name may head two rows of a set: a restriction and a specification. */
    for (size_t i = 0; i < book->count && status == PM_OK; i++) {
        struct pm_book_rule *rule = &book->items[i];
        if (strcmp(rule->set, set) != 0 || strcmp(rule->name, pm_shipped_field(table, "row")) != 0)
            continue;
        if (title[0] != '\0')
            rule->title = keep(building, title);
        status = add_names(building, i, pm_shipped_field(table, "names"), err);
    }
    return status;
}

/* The rules of a set that the list names; those it does not find are names of substances. */
static enum pm_status tie(struct building *building, struct pm_book_rule *rule, const char *list,
                          struct pm_error *err)
{
    struct pm_book *book = &building->world->book;
    size_t place = (size_t)(rule - book->items);
    enum pm_status status = PM_OK;
    rule->of = pm_arena_array(&building->world->arena, strlen(list) + 1, sizeof *rule->of);
    char *copy = (char *)(uintptr_t)keep(building, list);
    if (rule->of == NULL)
        return pm_fail_memory(err);
    while (copy != NULL && *copy && status == PM_OK) {
        char *one = strsep(&copy, ";");
        struct pm_book_rule *of = find_rule(book, rule->set, one);
        if (of != NULL && of != rule)
            rule->of[rule->of_count++] = (size_t)(of - book->items);
        else
            status = add_key(building, &building->world->names, place, one, true, err);
    }
    return status;
}

/* Without a figure of its own a sum has those of the first row it sums. */
static enum pm_status joint_figures(struct building *building, struct pm_book_rule *rule,
                                    const struct pm_shipped *table, struct pm_error *err)
{
    const char *scope = pm_shipped_field(table, "scope");
    if (scope[0] == '\0') {
        if (rule->of_count > 0 && rule->kind == PM_RULE_LIMIT) {
            const struct pm_book_rule *first = &building->world->book.items[rule->of[0]];
            rule->figures = first->figures;
            rule->figure_count = first->figure_count;
            rule->blank_unknown = first->blank_unknown;
        }
        return PM_OK;
    }
    pm_strength limit;
    enum pm_status status = pm_read_figure(pm_shipped_field(table, "percent"), &limit, err);
    const struct pm_figure figure = figure_of(building, table, scope, limit);
    return status == PM_OK ? add_figure(building, rule, &figure, err) : status;
}

static enum pm_status joint_row(void *context, const struct pm_shipped *table, struct pm_error *err)
{
    struct building *building = context;
    const char *set = set_of_list(pm_shipped_field(table, "list"));
    const char *name = pm_shipped_field(table, "name");
    enum pm_status status = PM_OK;
    bool shares = strcmp(pm_shipped_field(table, "kind"), "shares") == 0;
    bool in_use;
    status = pm_rule_set_in_use(building->studio, set, &in_use, err);
    if (status != PM_OK || !in_use)
        return status;
    struct pm_book_rule *rule = find_rule(&building->world->book, set, name);
    if (rule == NULL || rule->kind == PM_RULE_CHECK) {
        rule = new_rule(building, set, name, shares ? PM_RULE_SHARES : PM_RULE_LIMIT, err);
        if (rule == NULL)
            return pm_fail_memory(err);
        rule->note = keep(building, pm_shipped_field(table, "note"));
        rule->source = keep(building, pm_shipped_field(table, "source"));
        status = tie(building, rule, pm_shipped_field(table, "members"), err);
    }
    return status == PM_OK ? joint_figures(building, rule, table, err) : status;
}

/* ---- the library's rows ---- */

static enum pm_rule_kind kind_of(const char *word)
{
    return strcmp(word, "prohibit") == 0  ? PM_RULE_PROHIBIT
           : strcmp(word, "declare") == 0 ? PM_RULE_DECLARE
           : strcmp(word, "check") == 0   ? PM_RULE_CHECK
                                          : PM_RULE_LIMIT;
}

/* One's own figure is about what the rule it replaces is about. */
static enum pm_status tie_own(struct building *building, struct pm_book_rule *rule,
                              struct pm_error *err)
{
    struct pm_book *book = &building->world->book;
    char *wanted = pm_fold(rule->name);
    rule->of = pm_arena_array(&building->world->arena, book->count, sizeof *rule->of);
    if (wanted == NULL || rule->of == NULL) {
        pm_free(wanted);
        return pm_fail_memory(err);
    }
    for (size_t i = 0; i < book->count; i++) {
        const struct pm_book_rule *other = &book->items[i];
        if (other->own || strcmp(other->set, rule->replaces) != 0 || other->kind == PM_RULE_CHECK ||
            other->kind == PM_RULE_SHARES)
            continue;
        if (pm_fold_equal(other->title, rule->name) || pm_fold_equal(other->name, rule->name)) {
            rule->of[rule->of_count++] = i;
            rule->name = other->name; /* so that both are known as one */
            rule->title = other->title;
        }
    }
    pm_free(wanted);
    return PM_OK;
}

static enum pm_status library_row(struct building *building, const struct pm_rule_line *line,
                                  struct pm_error *err)
{
    struct pm_book *book = &building->world->book;
    struct pm_book_rule *rule = find_rule(book, line->set, line->name);
    enum pm_status status = PM_OK;
    if (rule == NULL || line->own) {
        rule = new_rule(building, line->set, line->name, kind_of(line->kind), err);
        if (rule == NULL)
            return pm_fail_memory(err);
        rule->own = line->own;
        rule->replaces = keep(building, line->replaces);
        rule->blank_unknown = !line->own && rule->kind != PM_RULE_CHECK;
        rule->note = keep(building, line->note);
        rule->source = keep(building, line->source);
        status =
            add_names(building, book->count - 1, line->members != NULL ? line->members : "", err);
        if (status == PM_OK)
            status =
                add_numbers(building, book->count - 1, line->cas != NULL ? line->cas : "", err);
        if (status == PM_OK && line->own)
            status = tie_own(building, rule, err);
    }
    const struct pm_figure figure = {.scope = keep(building, line->scope),
                                     .limit = line->percent,
                                     .note = keep(building, line->note),
                                     .source = keep(building, line->source),
                                     .dated = keep(building, line->dated)};
    return status == PM_OK ? add_figure(building, rule, &figure, err) : status;
}

static enum pm_status library_rows(struct building *building, struct pm_error *err)
{
    struct pm_rule_lines lines = {0};
    enum pm_status status = pm_rule_line_list(building->studio->library, &lines, err);
    for (size_t i = 0; i < lines.count && status == PM_OK; i++) {
        bool in_use = true;
        if (!lines.items[i].own)
            status = pm_rule_set_in_use(building->studio, lines.items[i].set, &in_use, err);
        if (status == PM_OK && in_use)
            status = library_row(building, &lines.items[i], err);
    }
    pm_list_release(&lines);
    return status;
}

/* ---- all of it ---- */

static int by_text(const void *left, const void *right)
{
    const struct pm_rule_key *a = left, *b = right;
    int order = strcmp(a->text, b->text);
    return order != 0 ? order : (a->rule > b->rule) - (a->rule < b->rule);
}

static void sort_keys(struct pm_rule_keys *keys)
{
    if (keys->count > 1)
        qsort(keys->items, keys->count, sizeof *keys->items, by_text);
}

enum pm_status pm_rule_set_in_use(struct pm_studio *studio, const char *name, bool *in_use,
                                  struct pm_error *err)
{
    char *list = NULL;
    enum pm_status status = pm_setting_get(studio->library, "limits.unused", &list, err);
    *in_use = true;
    for (char *rest = list; status == PM_OK && rest != NULL && *rest;) {
        const char *one = strsep(&rest, "\n");
        if (pm_fold_equal(one, name))
            *in_use = false;
    }
    pm_free(list);
    return status;
}

enum pm_status pm_rulebook_read(struct pm_studio *studio, struct pm_limits_world *world,
                                struct pm_error *err)
{
    static const struct {
        const char *set, *table;
        pm_shipped_row *visit;
    } lists[] = {{PM_SET_STANDARDS, "limits.csv", standard_row},
                 {PM_SET_LAW, "limits_eu_law.csv", law_row},
                 {PM_SET_ALLERGENS, "allergens_eu.csv", allergen_row}};
    struct building building = {studio, world};
    enum pm_status status = PM_OK;
    for (size_t i = 0; i < sizeof lists / sizeof *lists && status == PM_OK; i++) {
        bool in_use;
        status = pm_rule_set_in_use(studio, lists[i].set, &in_use, err);
        if (status == PM_OK && in_use)
            status = pm_shipped_each(lists[i].table, lists[i].visit, &building, err);
    }
    if (status == PM_OK)
        status = pm_shipped_each("rule_names.csv", names_row, &building, err);
    if (status == PM_OK)
        status = pm_shipped_each("joint_limits.csv", joint_row, &building, err);
    if (status == PM_OK)
        status = library_rows(&building, err);
    sort_keys(&world->names);
    sort_keys(&world->numbers);
    return status == PM_OK ? pm_arena_status(&world->arena, err) : status;
}
