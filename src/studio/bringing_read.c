/* SPDX-License-Identifier: MIT */
/*
 * Sources of formulas taken apart: text, tables, JSON. Nothing is looked up here.
 */
#include "bringing.h"

#include "documents.h"

#include "permille/base/csv.h"
#include "permille/base/json_read.h"
#include "permille/base/mem.h"
#include "permille/base/text_set.h"
#include "permille/base/utf8.h"
#include "permille/base/word.h"

#include <string.h>

static struct pm_brought_formula *add_formula(struct pm_bringing *out, const char *name, size_t at)
{
    struct pm_brought_formula *formula =
        pm_arena_push(&out->arena, &out->formulas, &out->formula_count, sizeof *formula);
    if (formula != NULL)
        *formula = (struct pm_brought_formula){.name = pm_arena_text(&out->arena, name),
                                               .at = at,
                                               .first = out->line_count,
                                               .mode = PM_CORE_MODE};
    return formula;
}

/* Belongs to the formula added last. */
static struct pm_brought_line *add_line(struct pm_bringing *out)
{
    struct pm_brought_line *line =
        pm_arena_push(&out->arena, &out->lines, &out->line_count, sizeof *line);
    if (line != NULL) {
        *line = (struct pm_brought_line){.strength = PM_NEAT, .unit = PM_JOTTED_PARTS};
        out->formulas[out->formula_count - 1].count++;
    }
    return line;
}

/* ---- text ---- */

static void take_jotted(struct pm_bringing *out, const struct pm_jotted_line *from)
{
    struct pm_brought_line *line = add_line(out);
    if (line == NULL)
        return;
    line->at = from->at;
    line->text = pm_arena_text(&out->arena, from->text);
    line->name = pm_arena_text(&out->arena, from->name);
    line->has_amount = from->has_amount;
    line->amount = from->amount;
    line->unit = from->unit;
    line->strength = from->strength > 0 ? from->strength : PM_NEAT;
    if (line->strength < PM_NEAT)
        line->solvent = pm_arena_text(&out->arena, from->solvent);
    line->comment = pm_arena_text(&out->arena, from->comment);
    line->below = pm_arena_text(&out->arena, from->below);
    line->written_doubt = pm_arena_text(&out->arena, from->doubt);
}

static enum pm_status read_text(const char *text, size_t length, struct pm_bringing *out,
                                struct pm_error *err)
{
    struct pm_jotting jotting;
    enum pm_status status = pm_jotting_read(text, length, &jotting, err);
    if (status != PM_OK)
        return status;
    out->source = "text";
    for (size_t f = 0; f < jotting.formula_count; f++) {
        const struct pm_jotted_formula *from = &jotting.formulas[f];
        struct pm_brought_formula *formula = add_formula(out, from->title, from->at);
        if (formula == NULL)
            break;
        formula->has_total = from->has_total && from->total_unit == PM_JOTTED_PARTS;
        formula->written_total = from->total;
        for (size_t i = 0; i < from->count; i++)
            take_jotted(out, &jotting.lines[from->first + i]);
    }
    pm_jotting_release(&jotting);
    return PM_OK;
}

/* ---- tables ---- */

enum column {
    COLUMN_NAME,
    COLUMN_AMOUNT,
    COLUMN_STRENGTH,
    COLUMN_SOLVENT,
    COLUMN_FORMULA,
    COLUMN_BASE,
    COLUMN_COMMENT,
    COLUMN_COUNT
};

/* Headings, and the unit that amounts beneath one have. */
static const struct heading {
    enum column column;
    const char *word;
    enum pm_jotted_unit unit;
} headings[] = {
    {COLUMN_NAME, "material", PM_JOTTED_PARTS},
    {COLUMN_NAME, "ingredient", PM_JOTTED_PARTS},
    {COLUMN_NAME, "raw material", PM_JOTTED_PARTS},
    {COLUMN_NAME, "name", PM_JOTTED_PARTS},
    {COLUMN_AMOUNT, "parts", PM_JOTTED_PARTS},
    {COLUMN_AMOUNT, "amount", PM_JOTTED_PARTS},
    {COLUMN_AMOUNT, "quantity", PM_JOTTED_PARTS},
    {COLUMN_AMOUNT, "percent", PM_JOTTED_PERCENT},
    {COLUMN_AMOUNT, "%", PM_JOTTED_PERCENT},
    {COLUMN_AMOUNT, "\xE2\x80\xB0", PM_JOTTED_PERMILLE},
    {COLUMN_AMOUNT, "permille", PM_JOTTED_PERMILLE},
    {COLUMN_AMOUNT, "grams", PM_JOTTED_MASS},
    {COLUMN_AMOUNT, "gram", PM_JOTTED_MASS},
    {COLUMN_AMOUNT, "g", PM_JOTTED_MASS},
    {COLUMN_AMOUNT, "mass_g", PM_JOTTED_MASS},
    {COLUMN_AMOUNT, "mass", PM_JOTTED_MASS},
    {COLUMN_AMOUNT, "weight", PM_JOTTED_MASS},
    {COLUMN_STRENGTH, "strength", PM_JOTTED_PERCENT},
    {COLUMN_STRENGTH, "strength_percent", PM_JOTTED_PERCENT},
    {COLUMN_STRENGTH, "dilution", PM_JOTTED_PERCENT},
    {COLUMN_SOLVENT, "solvent", PM_JOTTED_PARTS},
    {COLUMN_SOLVENT, "in", PM_JOTTED_PARTS},
    {COLUMN_FORMULA, "formula", PM_JOTTED_PARTS},
    {COLUMN_BASE, "base", PM_JOTTED_PARTS},
    {COLUMN_BASE, "base_parts", PM_JOTTED_PARTS},
    {COLUMN_COMMENT, "comment", PM_JOTTED_PARTS},
    {COLUMN_COMMENT, "note", PM_JOTTED_PARTS},
};

/* A row of a table before the decimal sign is known. */
struct row {
    struct pm_brought_line line;
    size_t formula;
    const char *amount; /* as it stands there, or NULL */
    bool is_total;
};

struct table {
    struct pm_csv csv;
    size_t columns;
    int at[COLUMN_COUNT]; /* -1: not there */
    enum pm_jotted_unit unit;
    struct row *rows; /* these and their strings are the arena's */
    size_t row_count;
    struct pm_arena arena;
    struct pm_text_set names; /* of formulas, folded, by their places in `formulas` */
    size_t *formulas;         /* owned */
    size_t capacity;
    const char *above; /* the formula's name in the row above, or NULL */
    bool any[2];       /* an amount has a point, a comma */
    size_t votes[2];   /* amounts in which it can only be the decimal sign */
    char decimal;      /* '\0': no amount has one */
};

/* The first heading of the list that is there counts. */
static void find_columns(struct table *table)
{
    for (size_t i = 0; i < COLUMN_COUNT; i++)
        table->at[i] = -1;
    for (size_t i = 0; i < sizeof headings / sizeof headings[0]; i++) {
        const int at = pm_csv_column(&table->csv, headings[i].word);
        if (at < 0 || table->at[headings[i].column] >= 0)
            continue;
        table->at[headings[i].column] = at;
        if (headings[i].column == COLUMN_AMOUNT)
            table->unit = headings[i].unit;
    }
}

/* Reads the header; false when this is no table of formulas. The reader stands behind it. */
static bool open_table(struct table *table, const char *text, size_t length)
{
    bool more = false;
    *table = (struct table){.decimal = '\0'};
    pm_csv_init(&table->csv, text, length);
    if (pm_csv_next(&table->csv, &more, NULL) != PM_OK || !more)
        return false;
    table->columns = table->csv.count;
    find_columns(table);
    return table->at[COLUMN_NAME] >= 0 && table->at[COLUMN_AMOUNT] >= 0;
}

static size_t first_line(const char *text, size_t length)
{
    size_t bytes = 0;
    while (bytes < length && text[bytes] != '\n' && text[bytes] != '\r')
        bytes++;
    return bytes;
}

bool pm_bringing_is_formulas(const char *text, size_t length)
{
    static const char *const others[] = {"material", "name", "bottle"};
    struct table table;
    if (pm_is_document(text, length))
        return !pm_is_shelf_document(text, length);
    bool formulas = open_table(&table, text, length), other = false, more;
    pm_csv_release(&table.csv);
    if (formulas)
        return true;
    /* The headings tell, even where something further down is no CSV: that will be said of a table.
     */
    struct pm_csv head;
    pm_csv_init(&head, text, length);
    head.length = first_line(head.data, head.length);
    (void)pm_csv_next(&head, &more, NULL);
    for (size_t i = 0; i < sizeof others / sizeof others[0]; i++)
        other = other || pm_csv_column(&head, others[i]) >= 0;
    pm_csv_release(&head);
    return !other;
}

static const char *cell(const struct table *table, enum column column)
{
    const int at = table->at[column];
    if (at < 0 || (size_t)at >= table->csv.count || pm_is_blank(table->csv.fields[at]))
        return NULL;
    return table->csv.fields[at];
}

/* Digits behind the last comma or point; the sign goes to *sign. */
static size_t decimals_of(const char *text, char *sign)
{
    const char *last = NULL;
    for (const char *at = text; *at; at++)
        if (*at == '.' || *at == ',')
            last = at;
    *sign = last != NULL ? *last : '\0';
    return last != NULL ? strspn(last + 1, "0123456789") : 0;
}

/* An amount tells the decimal sign of its column: by other than three digits behind it, or by
 * standing behind the other sign as the last. */
static void hear_amount(struct table *table, const char *amount)
{
    char sign;
    const size_t digits = decimals_of(amount, &sign);
    if (digits == 0)
        return;
    table->any[sign == ','] = true;
    if (digits != 3 || (strchr(amount, '.') != NULL && strchr(amount, ',') != NULL) ||
        amount[0] == '0')
        table->votes[sign == ',']++;
}

/* Where nothing tells, what is not the separator. '\0': no amount has one. */
static char decimal_of(const struct table *table)
{
    return table->votes[1] > table->votes[0]                                ? ','
           : table->votes[0] > table->votes[1]                              ? '.'
           : table->any[1] && !table->any[0] && table->csv.separator != ',' ? ','
           : table->any[0]                                                  ? '.'
                                                                            : '\0';
}

/* The amount with a point as its decimal sign and without marks between thousands. */
static void take_amount(struct pm_bringing *out, const struct table *table, const char *amount,
                        struct pm_brought_line *line)
{
    struct pm_text plain = PM_TEXT_EMPTY;
    enum pm_jotted_unit unit = PM_JOTTED_PARTS;
    for (const char *at = amount; *at; at++) {
        if (*at == '.' || *at == ',') {
            if (*at == table->decimal)
                pm_text_add_char(&plain, '.');
        } else {
            pm_text_add_char(&plain, *at);
        }
    }
    out->arena.failed = out->arena.failed || !pm_text_ok(&plain);
    line->has_amount = pm_jotted_amount(pm_text_get(&plain), &line->amount, &unit);
    pm_text_release(&plain);
    line->unit = unit;
    if (!line->has_amount && line->written_doubt == NULL)
        line->written_doubt = "the amount is no number";
    else if (line->has_amount && unit == PM_JOTTED_PARTS)
        line->unit = table->unit;
    if (line->has_amount && unit == PM_JOTTED_PARTS && table->unit == PM_JOTTED_MASS &&
        line->amount > PM_MASS_MAX)
        line->has_amount = false;
    if (line->unit == PM_JOTTED_PRICE && line->written_doubt == NULL)
        line->written_doubt = "a price is no amount";
    if (line->unit == PM_JOTTED_DROPS && line->written_doubt == NULL)
        line->written_doubt = "drops, volumes and ounces are not read: weigh it";
}

static void take_row(struct pm_bringing *out, const struct table *table,
                     struct pm_brought_line *line)
{
    struct pm_text text = PM_TEXT_EMPTY;
    const char *strength = cell(table, COLUMN_STRENGTH);
    for (size_t i = 0; i < table->csv.count; i++) {
        pm_text_add(&text, i > 0 ? "  " : "");
        pm_text_add(&text, table->csv.fields[i]);
    }
    line->at = table->csv.line;
    line->text = pm_arena_text(&out->arena, pm_text_get(&text));
    out->arena.failed = out->arena.failed || !pm_text_ok(&text);
    pm_text_release(&text);
    line->name = pm_arena_text(&out->arena, cell(table, COLUMN_NAME));
    line->comment = pm_arena_text(&out->arena, cell(table, COLUMN_COMMENT));
    if (cell(table, COLUMN_AMOUNT) == NULL)
        line->written_doubt = "there is no amount";
    if (strength != NULL && pm_strength_read(strength, &line->strength, NULL) != PM_OK) {
        line->strength = PM_NEAT;
        line->written_doubt = "the strength could not be read";
    }
    if (line->strength < PM_NEAT)
        line->solvent = pm_arena_text(&out->arena, cell(table, COLUMN_SOLVENT));
    if (line->name == NULL)
        line->written_doubt = "there is no name";
}

static bool is_total_row(const struct table *table)
{
    const char *name = cell(table, COLUMN_NAME);
    return name != NULL && (pm_fold_equal(name, "total") || pm_fold_equal(name, "sum"));
}

/* The formula the row belongs to, which is added where it is new: rows of one formula may stand
 * apart, and one that names none goes with the row above. False when memory ran out. */
static bool find_formula(struct pm_bringing *out, struct table *table, size_t *formula)
{
    const char *name = cell(table, COLUMN_FORMULA);
    size_t place = 0;
    if (table->row_count > 0 && (name == NULL || pm_same_text(name, table->above))) {
        *formula = table->rows[table->row_count - 1].formula;
        return true;
    }
    char *folded = pm_fold(name != NULL ? name : "");
    const size_t before = table->names.count;
    const bool known =
        folded != NULL && pm_text_set_add(&table->names, folded, &place) &&
        pm_grow(&table->formulas, &table->capacity, table->names.count, sizeof *table->formulas);
    pm_free(folded);
    if (!known)
        return false;
    if (place == before) {
        table->formulas[place] = out->formula_count;
        if (add_formula(out, name, table->csv.line) == NULL)
            return false;
    }
    *formula = table->formulas[place];
    table->above = pm_arena_text(&table->arena, name);
    return true;
}

static bool add_row(struct pm_bringing *out, struct table *table)
{
    const char *base = cell(table, COLUMN_BASE);
    size_t at = 0;
    if (!find_formula(out, table, &at))
        return false;
    struct pm_brought_formula *formula = &out->formulas[at];
    if (base != NULL && formula->written_base == 0)
        (void)pm_parts_read(base, 0, PM_PART, &formula->written_base, NULL);
    struct row *row = pm_arena_push(&table->arena, &table->rows, &table->row_count, sizeof *row);
    if (row == NULL)
        return false;
    *row = (struct row){.line = {.strength = PM_NEAT, .unit = PM_JOTTED_PARTS},
                        .formula = at,
                        .amount = pm_arena_text(&table->arena, cell(table, COLUMN_AMOUNT)),
                        .is_total = is_total_row(table)};
    if (row->amount != NULL)
        hear_amount(table, row->amount);
    if (!row->is_total)
        take_row(out, table, &row->line);
    return !table->arena.failed;
}

/* Spreadsheets end rows with empty cells; words behind the last column belong to none. */
static enum pm_status check_width(const struct table *table, struct pm_error *err)
{
    for (size_t i = table->columns; i < table->csv.count; i++)
        if (!pm_is_blank(table->csv.fields[i]))
            return pm_fail(err, PM_INVALID, "Line %zu has %zu fields, the header has %zu.",
                           table->csv.line, table->csv.count, table->columns);
    return PM_OK;
}

static enum pm_status take_rows(struct pm_bringing *out, struct table *table, struct pm_error *err)
{
    bool more = true;
    enum pm_status status = PM_OK;
    while ((status = pm_csv_next(&table->csv, &more, err)) == PM_OK && more) {
        status = check_width(table, err);
        if (status != PM_OK)
            return status;
        if (cell(table, COLUMN_NAME) == NULL && cell(table, COLUMN_AMOUNT) == NULL)
            continue;
        if (!add_row(out, table))
            return pm_fail_memory(err);
    }
    return status;
}

/* What the total row of a formula says. */
static void take_total(struct pm_bringing *out, const struct table *table, const struct row *row)
{
    struct pm_brought_formula *formula = &out->formulas[row->formula];
    struct pm_brought_line total = {.has_amount = false};
    if (row->amount != NULL)
        take_amount(out, table, row->amount, &total);
    formula->has_total = total.has_amount && total.unit == PM_JOTTED_PARTS;
    formula->written_total = total.amount;
}

/* The rows become lines, those of a formula together, with amounts as the column means them. */
static enum pm_status sort_rows(struct pm_bringing *out, const struct table *table,
                                struct pm_error *err)
{
    size_t first = 0;
    for (size_t i = 0; i < table->row_count; i++) {
        out->formulas[table->rows[i].formula].count += !table->rows[i].is_total;
        out->line_count += !table->rows[i].is_total;
    }
    for (size_t f = 0; f < out->formula_count; f++) {
        out->formulas[f].first = first;
        first += out->formulas[f].count;
        out->formulas[f].count = 0;
    }
    out->lines = pm_arena_array(&out->arena, out->line_count, sizeof *out->lines);
    for (size_t i = 0; out->lines != NULL && i < table->row_count; i++) {
        const struct row *row = &table->rows[i];
        struct pm_brought_formula *formula = &out->formulas[row->formula];
        if (row->is_total) {
            take_total(out, table, row);
            continue;
        }
        struct pm_brought_line *line = &out->lines[formula->first + formula->count++];
        *line = row->line;
        if (row->amount != NULL)
            take_amount(out, table, row->amount, line);
    }
    return pm_arena_status(&out->arena, err);
}

static void say_dialect(struct pm_bringing *out, const struct table *table)
{
    const char *separator = table->csv.separator == '\t'  ? "a tab"
                            : table->csv.separator == ';' ? "\";\""
                                                          : "\",\"";
    const char *decimal = table->decimal == ','   ? ", decimal sign \",\""
                          : table->decimal == '.' ? ", decimal sign \".\""
                                                  : "";
    struct pm_text text = PM_TEXT_EMPTY;
    pm_text_addf(&text, "table, separator %s%s", separator, decimal);
    out->source = pm_arena_text(&out->arena, pm_text_get(&text));
    out->arena.failed = out->arena.failed || !pm_text_ok(&text);
    pm_text_release(&text);
}

static void release_table(struct table *table)
{
    pm_csv_release(&table->csv);
    pm_text_set_release(&table->names);
    pm_free(table->formulas);
    pm_arena_release(&table->arena);
}

/* *is_table is false when it is none. */
static enum pm_status read_table(const char *text, size_t length, struct pm_bringing *out,
                                 bool *is_table, struct pm_error *err)
{
    struct table table;
    enum pm_status status = PM_OK;
    *is_table = open_table(&table, text, length);
    if (*is_table)
        status = take_rows(out, &table, err);
    if (*is_table && status == PM_OK) {
        table.decimal = decimal_of(&table);
        say_dialect(out, &table);
        status = sort_rows(out, &table, err);
    }
    release_table(&table);
    return status;
}

/* ---- JSON ---- */

struct place {
    size_t formula, line;
};

static enum pm_status fail_here(const struct place *place, const char *what, struct pm_error *err)
{
    if (place->line == 0)
        return pm_fail(err, PM_INVALID, "Formula %zu of the document: %s.", place->formula, what);
    return pm_fail(err, PM_INVALID, "Formula %zu, line %zu of the document: %s.", place->formula,
                   place->line, what);
}

/* A string, or nothing; anything else is refused. */
static enum pm_status take_string(struct pm_bringing *out, const struct pm_json_value *object,
                                  const char *key, const struct place *place, const char **text,
                                  struct pm_error *err)
{
    const struct pm_json_value *value = pm_json_member(object, key);
    char what[64];
    *text = NULL;
    if (value == NULL)
        return PM_OK;
    if (pm_json_text_of(value) == NULL)
        return fail_here(place, pm_print(what, sizeof what, "\"%s\" is no text", key), err);
    *text = pm_arena_text(&out->arena, pm_json_text_of(value));
    return PM_OK;
}

static enum pm_status take_scaled(const struct pm_json_value *object, const char *key, int scale,
                                  int64_t least, int64_t most, const struct place *place,
                                  int64_t *out, bool *there, struct pm_error *err)
{
    const struct pm_json_value *value = pm_json_member(object, key);
    char what[80];
    if (there != NULL)
        *there = value != NULL;
    if (value == NULL)
        return PM_OK;
    if (pm_json_scaled_of(value, scale, out) && *out >= least && *out <= most)
        return PM_OK;
    return fail_here(place, pm_print(what, sizeof what, "\"%s\" is no number it could be", key),
                     err);
}

/* "A" is 1, "AA" 27. */
static int core_number(const char *letters)
{
    int number = 0;
    for (; *letters >= 'A' && *letters <= 'Z' && number <= PM_CORE_MAX; letters++)
        number = number * 26 + (*letters - 'A' + 1);
    return *letters == '\0' && number <= PM_CORE_MAX ? number : 0;
}

/* What it will come back with stands beside its parts, which are nothing. */
static enum pm_status take_resting(struct pm_bringing *out, const struct pm_json_value *object,
                                   const struct place *place, struct pm_brought_line *line,
                                   struct pm_error *err)
{
    const char *word = NULL;
    enum pm_status status =
        take_scaled(object, "resting_parts", 6, 0, PM_PARTS_MAX, place, &line->amount, NULL, err);
    if (status == PM_OK)
        status = take_string(out, object, "resting_as", place, &word, err);
    if (status == PM_OK && word != NULL &&
        (!pm_stance_from_word(word, &line->rested_as) || line->rested_as == PM_RESTING))
        status = fail_here(place, "\"resting_as\" is not free, held or carrier", err);
    return status;
}

static enum pm_status take_stance(struct pm_bringing *out, const struct pm_json_value *object,
                                  const struct place *place, struct pm_brought_line *line,
                                  struct pm_error *err)
{
    const char *word = NULL, *core = NULL;
    enum pm_status status = take_string(out, object, "stance", place, &word, err);
    if (status == PM_OK && word != NULL && !pm_stance_from_word(word, &line->stance))
        status = fail_here(place, "\"stance\" is not free, held, carrier or resting", err);
    if (status == PM_OK && line->stance == PM_RESTING)
        status = take_resting(out, object, place, line, err);
    if (status == PM_OK)
        status = take_string(out, object, "core", place, &core, err);
    if (status == PM_OK && core != NULL) {
        line->core = core_number(core);
        status =
            take_scaled(object, "weight", 0, 1, PM_WEIGHT_MAX, place, &line->weight, NULL, err);
        if (status == PM_OK && (line->core == 0 || line->weight == 0))
            status = fail_here(place, "\"core\" needs a letter and a \"weight\"", err);
    }
    return status;
}

static enum pm_status take_json_line(struct pm_bringing *out, const struct pm_json_value *object,
                                     const struct place *place, struct pm_error *err)
{
    struct pm_brought_line *line = add_line(out);
    const char *accord = NULL, *text = NULL;
    int64_t strength = PM_NEAT;
    if (line == NULL)
        return pm_fail_memory(err);
    line->at = place->line;
    if (!pm_json_is_object(object))
        return fail_here(place, "it is no object", err);
    enum pm_status status = take_string(out, object, "material", place, &line->name, err);
    if (status == PM_OK)
        status = take_string(out, object, "accord", place, &accord, err);
    if (status == PM_OK)
        status = take_string(out, object, "text", place, &text, err);
    if (status == PM_OK)
        status = take_string(out, object, "comment", place, &line->comment, err);
    if (status == PM_OK)
        status = take_scaled(object, "parts", 6, 0, PM_PARTS_MAX, place, &line->amount,
                             &line->has_amount, err);
    if (status == PM_OK)
        status =
            take_scaled(object, "strength_percent", 7, 1, PM_NEAT, place, &strength, NULL, err);
    line->strength = strength;
    if (status == PM_OK && line->strength < PM_NEAT)
        status = take_string(out, object, "solvent", place, &line->solvent, err);
    if (status == PM_OK)
        status = take_stance(out, object, place, line, err);
    if (line->name == NULL) {
        line->name = accord;
        line->wants_accord = accord != NULL;
    }
    line->text = text != NULL ? text : line->name;
    if (line->name == NULL)
        line->written_doubt = "there is no name";
    else if (!line->has_amount)
        line->written_doubt = "there is no amount";
    return status;
}

static enum pm_status take_json_formula(struct pm_bringing *out, const struct pm_json_value *object,
                                        size_t number, struct pm_error *err)
{
    struct place place = {number, 0};
    const struct pm_json_value *lines = pm_json_member(object, "lines");
    struct pm_brought_formula *formula = add_formula(out, NULL, number);
    const char *mode = NULL;
    if (formula == NULL)
        return pm_fail_memory(err);
    if (!pm_json_is_object(object) || !pm_json_is_array(lines))
        return fail_here(&place, "it is no object with \"lines\"", err);
    enum pm_status status = take_string(out, object, "formula", &place, &formula->name, err);
    if (status == PM_OK)
        status = take_string(out, object, "mode", &place, &mode, err);
    if (status == PM_OK && mode != NULL && !pm_mode_from_word(mode, &formula->mode))
        status = fail_here(&place, "\"mode\" is not core, share, carrier or open", err);
    if (status == PM_OK)
        status = take_scaled(object, "base_parts", 6, 1, PM_PARTS_MAX, &place,
                             &formula->written_base, NULL, err);
    if (status == PM_OK && pm_json_member(object, "accord") != NULL &&
        !pm_json_bool_of(pm_json_member(object, "accord"), &formula->accord))
        status = fail_here(&place, "\"accord\" is neither true nor false", err);
    for (size_t i = 0; status == PM_OK && i < pm_json_count(lines); i++) {
        place.line = i + 1;
        status = take_json_line(out, pm_json_item(lines, i), &place, err);
    }
    return status;
}

static enum pm_status take_json(struct pm_bringing *out, const struct pm_json_value *document,
                                struct pm_error *err)
{
    const struct pm_json_value *formulas = pm_json_member(document, "formulas");
    enum pm_status status = pm_document_check(document, "formulas", err);
    if (status != PM_OK)
        return status;
    if (pm_json_is_array(document))
        formulas = document;
    if (formulas == NULL && pm_json_member(document, "lines") != NULL)
        return take_json_formula(out, document, 1, err);
    if (!pm_json_is_array(formulas))
        return pm_fail(
            err, PM_INVALID,
            "This JSON holds no formulas: an object with \"formulas\", or with \"lines\", "
            "is needed.");
    for (size_t i = 0; status == PM_OK && i < pm_json_count(formulas); i++)
        status = take_json_formula(out, pm_json_item(formulas, i), i + 1, err);
    return status;
}

static enum pm_status read_json(const char *text, size_t length, struct pm_bringing *out,
                                struct pm_error *err)
{
    struct pm_json_value *document;
    enum pm_status status = pm_json_read(text, length, &document, err);
    if (status != PM_OK)
        return status;
    out->source = "JSON";
    status = take_json(out, document, err);
    pm_json_free(document);
    return status;
}

enum pm_status pm_bringing_take_apart(const char *text, size_t length, struct pm_bringing *out,
                                      struct pm_error *err)
{
    bool is_table = false;
    enum pm_status status = PM_OK;
    if (pm_is_document(text, length))
        status = read_json(text, length, out, err);
    else
        status = read_table(text, length, out, &is_table, err);
    if (status == PM_OK && out->source == NULL && !is_table)
        status = read_text(text, length, out, err);
    if (status == PM_OK)
        status = pm_arena_status(&out->arena, err);
    if (status == PM_OK && out->line_count == 0)
        status = pm_fail(err, PM_REFUSED, "There is no line of a formula in it.");
    return status;
}
