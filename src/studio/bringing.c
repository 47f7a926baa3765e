/* SPDX-License-Identifier: MIT */
/*
 * Lines brought in: what is doubtful about them, the names of their formulas, and corrections by
 * the person.
 */
#include "bringing.h"

#include "permille/base/mem.h"
#include "permille/base/text_set.h"
#include "permille/base/utf8.h"

#include <ctype.h>
#include <string.h>

/* ---- doubts ---- */

/* Whether nothing but a few signs stands behind a name: "~6", "n/a", "tbd", "= ?". */
static bool is_little(const char *text)
{
    size_t letters = 0;
    for (; *text != '\0'; text++)
        letters += isalpha((unsigned char)*text) != 0 || (unsigned char)*text >= 0x80;
    return letters <= 3;
}

/* Whether the words are a name, or begin with one behind which little stands. */
static enum pm_status names_material(struct pm_studio *studio, struct pm_bringing *bringing,
                                     const char *words, bool *known, struct pm_error *err)
{
    enum pm_status status = pm_bringing_is_known(studio, bringing, words, known, err);
    for (size_t length = strlen(words); status == PM_OK && !*known && length > 1; length--) {
        const unsigned char before = (unsigned char)words[length - 1];
        const bool ends =
            !isalnum((unsigned char)words[length]) && (isalnum(before) || before >= 0x80);
        if (words[length] == '\0' || !ends)
            continue;
        if (!is_little(words + length))
            break;
        const char *name = pm_arena_text_bytes(&bringing->arena, words, length);
        status = name != NULL ? pm_bringing_is_known(studio, bringing, name, known, err)
                              : pm_fail_memory(err);
    }
    return status;
}

/* What looks like a comment may be a line whose amount is missing, or cannot be read. */
static enum pm_status doubt_below(struct pm_studio *studio, struct pm_bringing *bringing,
                                  const struct pm_brought_line *line, char *words, size_t size,
                                  struct pm_error *err)
{
    enum pm_status status = PM_OK;
    struct pm_text names = PM_TEXT_EMPTY;
    size_t count = 0;
    for (const char *at = line->below; status == PM_OK && *at != '\0';) {
        const size_t length = strcspn(at, "\n");
        const char *name = pm_arena_text_bytes(&bringing->arena, at, length);
        bool known = false;
        status = name != NULL ? names_material(studio, bringing, name, &known, err)
                              : pm_fail_memory(err);
        if (status == PM_OK && known)
            pm_text_addf(&names, "%s\"%s\"", count++ > 0 ? ", " : "", name);
        at += length + (at[length] == '\n');
    }
    if (status == PM_OK && !pm_text_ok(&names))
        status = pm_fail_memory(err);
    if (status == PM_OK && count > 0)
        pm_print(words, size, "%s stand%s below it without an amount", pm_text_get(&names),
                 count == 1 ? "s" : "");
    pm_text_release(&names);
    return status;
}

/* Says of lines without a doubt of their own what the match leaves open. */
static enum pm_status doubt_match(struct pm_studio *studio, struct pm_bringing *bringing,
                                  struct pm_brought_line *line, struct pm_error *err)
{
    char words[512];
    struct pm_card *card;
    enum pm_status status = PM_OK;
    if (line->doubt != NULL || line->name == NULL)
        return PM_OK;
    words[0] = '\0';
    if (line->wants_accord && line->accord == 0)
        pm_print(words, sizeof words, "no accord %s is kept here", line->name);
    else if (line->match == PM_MATCH_NEAR)
        pm_print(words, sizeof words, "\"%s\" is taken to be %s", line->name, line->matched);
    else if (line->strength < PM_NEAT && line->solvent == NULL)
        pm_print(words, sizeof words, "no solvent is named: taken as %s", line->solvent_matched);
    else if (line->solvent_match == PM_MATCH_NEAR)
        pm_print(words, sizeof words, "the solvent is taken to be %s", line->solvent_matched);
    if (line->solvent_id != 0 && line->strength < PM_NEAT) {
        status = pm_studio_material(studio, line->solvent_id, &card, err);
        if (status == PM_OK && !card->is_solvent)
            pm_print(words, sizeof words, "%s is no solvent on the shelf", card->name);
        else if (status == PM_OK && line->solvent_id == line->material)
            pm_print(words, sizeof words, "%s cannot be diluted in itself", card->name);
    }
    if (status == PM_OK && words[0] == '\0' && line->below != NULL)
        status = doubt_below(studio, bringing, line, words, sizeof words, err);
    if (words[0] != '\0')
        line->doubt = pm_arena_text(&bringing->arena, words);
    return status;
}

/* ---- formulas ---- */

/* Names of formulas, folded, that are taken by those before. */
struct taken {
    struct pm_text_set names;
    struct pm_text_set wanted; /* names that were wanted, folded, and for each the number of the
                                  last one that was not free */
    int *numbers;              /* owned */
    size_t capacity;
    struct pm_studio *studio;
    struct pm_bringing *bringing;
};

static enum pm_status is_taken(const struct taken *taken, const char *name, bool *is,
                               struct pm_error *err)
{
    int64_t id;
    struct pm_error why;
    char *folded = pm_fold(name);
    if (folded == NULL)
        return pm_fail_memory(err);
    *is = pm_text_set_place(&taken->names, folded) != PM_MAP_NONE;
    pm_free(folded);
    if (*is)
        return PM_OK;
    const enum pm_status status = pm_formula_by_name(taken->studio->library, name, &id, &why);
    *is = status == PM_OK;
    return status == PM_OK || status == PM_MISSING ? PM_OK : pm_fail(err, status, "%s", why.text);
}

static enum pm_status take_name(struct taken *taken, const char *name, struct pm_error *err)
{
    size_t place;
    char *folded = pm_fold(name);
    const bool added = folded != NULL && pm_text_set_add(&taken->names, folded, &place);
    pm_free(folded);
    return added ? PM_OK : pm_fail_memory(err);
}

/* A name that a formula may have: without '/', shortened where it is too long. */
static enum pm_status clean_name(struct pm_bringing *bringing, const char *written,
                                 const char **out, struct pm_error *err)
{
    char plain[160], *clean = NULL;
    struct pm_error why;
    pm_print(plain, sizeof plain, "%s", written);
    for (char *at = plain; *at; at++)
        *at = *at == '/' ? '-' : (unsigned char)*at < 0x20 ? ' ' : *at;
    size_t skip = strspn(plain, "# ");
    enum pm_status status = pm_rules_formula_name(plain + skip, &clean, &why);
    if (status == PM_NOMEM)
        return pm_fail_memory(err);
    *out = pm_arena_text(&bringing->arena, status == PM_OK ? clean : "Brought in");
    pm_free(clean);
    return pm_arena_status(&bringing->arena, err);
}

/* Where the number of that name is kept; NULL when memory ran out. */
static int *number_of(struct taken *taken, const char *name)
{
    const size_t before = taken->wanted.count;
    size_t place = 0;
    char *folded = pm_fold(name);
    const bool there =
        folded != NULL && pm_text_set_add(&taken->wanted, folded, &place) &&
        pm_grow(&taken->numbers, &taken->capacity, taken->wanted.count, sizeof *taken->numbers);
    pm_free(folded);
    if (there && place == before)
        taken->numbers[place] = 1;
    return there ? &taken->numbers[place] : NULL;
}

/* The name that is wanted, or the first of "Name 2", "Name 3"... that is free. */
static enum pm_status find_free(struct taken *taken, const char *wanted, const char **out,
                                struct pm_error *err)
{
    char numbered[200];
    bool is = false;
    int *number = number_of(taken, wanted);
    enum pm_status status =
        number != NULL ? is_taken(taken, wanted, &is, err) : pm_fail_memory(err);
    *out = wanted;
    if (status != PM_OK || !is)
        return status;
    while (status == PM_OK && is) {
        ++*number;
        pm_print(numbered, sizeof numbered, "%s %d", wanted, *number);
        status = is_taken(taken, numbered, &is, err);
    }
    *out = pm_arena_text(&taken->bringing->arena, numbered);
    return status == PM_OK ? pm_arena_status(&taken->bringing->arena, err) : status;
}

static enum pm_status name_formula(struct taken *taken, struct pm_brought_formula *formula,
                                   struct pm_error *err)
{
    struct pm_bringing *bringing = taken->bringing;
    const char *title = bringing->options.title != NULL ? bringing->options.title : "Brought in";
    const char *wanted = NULL;
    char remark[200];
    enum pm_status status =
        clean_name(bringing, formula->name != NULL ? formula->name : title, &wanted, err);
    if (status == PM_OK)
        status = find_free(taken, wanted, &formula->name, err);
    if (status != PM_OK)
        return status;
    if (formula->name != wanted && formula->remark == NULL) {
        pm_print(remark, sizeof remark, "there is a formula %s already", wanted);
        formula->remark = pm_arena_text(&bringing->arena, remark);
    }
    status = pm_arena_status(&bringing->arena, err);
    return status == PM_OK && !formula->left_out ? take_name(taken, formula->name, err) : status;
}

static enum pm_status name_formulas(struct pm_studio *studio, struct pm_bringing *bringing,
                                    struct pm_error *err)
{
    struct taken taken = {.studio = studio, .bringing = bringing};
    enum pm_status status = PM_OK;
    for (size_t f = 0; status == PM_OK && f < bringing->formula_count; f++)
        status = name_formula(&taken, &bringing->formulas[f], err);
    pm_text_set_release(&taken.names);
    pm_text_set_release(&taken.wanted);
    pm_free(taken.numbers);
    return status;
}

/* ---- all of it ---- */

static bool add_new(struct pm_text_set *fresh, const char *name)
{
    size_t place;
    char *folded = pm_fold(name);
    const bool added = folded != NULL && pm_text_set_add(fresh, folded, &place);
    pm_free(folded);
    return added;
}

static bool count_line(struct pm_bringing *bringing, const struct pm_brought_line *line,
                       struct pm_text_set *fresh)
{
    if (line->left_out)
        return true;
    bringing->doubts += line->doubt != NULL;
    return (line->accord != 0 || line->match != PM_MATCH_NEW || line->matched == NULL ||
            add_new(fresh, line->matched)) &&
           (line->solvent_matched == NULL || line->solvent_match != PM_MATCH_NEW ||
            add_new(fresh, line->solvent_matched));
}

static enum pm_status count(struct pm_bringing *bringing, struct pm_error *err)
{
    struct pm_text_set fresh = {.texts = NULL};
    bool counted = true;
    bringing->doubts = 0;
    for (size_t f = 0; counted && f < bringing->formula_count; f++) {
        const struct pm_brought_formula *formula = &bringing->formulas[f];
        if (formula->left_out)
            continue;
        bringing->doubts += formula->remark != NULL;
        for (size_t i = formula->first; counted && i < formula->first + formula->count; i++)
            counted = count_line(bringing, &bringing->lines[i], &fresh);
    }
    bringing->fresh = fresh.count;
    pm_text_set_release(&fresh);
    return counted ? PM_OK : pm_fail_memory(err);
}

static enum pm_status work_out(struct pm_studio *studio, struct pm_bringing *bringing,
                               struct pm_error *err)
{
    enum pm_status status = pm_bringing_match(studio, bringing, err);
    for (size_t f = 0; status == PM_OK && f < bringing->formula_count; f++)
        status = pm_bringing_reckon(bringing, &bringing->formulas[f], err);
    if (status == PM_OK)
        status = name_formulas(studio, bringing, err);
    for (size_t i = 0; status == PM_OK && i < bringing->line_count; i++)
        status = doubt_match(studio, bringing, &bringing->lines[i], err);
    if (status == PM_OK)
        status = pm_arena_status(&bringing->arena, err);
    return status == PM_OK ? count(bringing, err) : status;
}

enum pm_status pm_bringing_match_again(struct pm_studio *studio, struct pm_bringing *bringing,
                                       struct pm_error *err)
{
    enum pm_status status = pm_studio_look_begin(studio, err);
    return status == PM_OK ? pm_look_over(studio, work_out(studio, bringing, err)) : status;
}

enum pm_status pm_bringing_read(struct pm_studio *studio, const char *text, size_t length,
                                const struct pm_bringing_options *options, struct pm_bringing *out,
                                struct pm_error *err)
{
    struct pm_bringing bringing = {.formulas = NULL};
    if (options != NULL) {
        bringing.options = *options;
        bringing.options.solvent = pm_arena_text(&bringing.arena, options->solvent);
        bringing.options.title = pm_arena_text(&bringing.arena, options->title);
    }
    enum pm_status status = pm_bringing_take_apart(text, length, &bringing, err);
    for (size_t i = 0; i < bringing.line_count; i++)
        bringing.lines[i].left_out = bringing.lines[i].name == NULL;
    if (status == PM_OK)
        status = pm_bringing_match_again(studio, &bringing, err);
    if (status == PM_OK)
        *out = bringing;
    else
        pm_bringing_release(&bringing);
    return status;
}

void pm_bringing_release(struct pm_bringing *bringing)
{
    pm_arena_release(&bringing->arena);
    memset(bringing, 0, sizeof *bringing);
}

/* ---- corrections ---- */

/* One line or formula as it was, should the correction be refused. */
static enum pm_status settle_line(struct pm_studio *studio, struct pm_bringing *bringing,
                                  size_t line, const struct pm_brought_line *before,
                                  enum pm_status status, struct pm_error *err)
{
    if (status == PM_OK)
        status = pm_bringing_match_again(studio, bringing, err);
    if (status != PM_OK) {
        bringing->lines[line] = *before;
        (void)pm_bringing_match_again(studio, bringing, NULL);
    }
    return status;
}

static struct pm_brought_formula *formula_of(struct pm_bringing *bringing, size_t line)
{
    for (size_t f = 0; f < bringing->formula_count; f++)
        if (line - bringing->formulas[f].first < bringing->formulas[f].count)
            return &bringing->formulas[f];
    return NULL;
}

/* What was written gives way to parts: they stand from now on as the person sees them. */
static void settle_units(struct pm_bringing *bringing, struct pm_brought_formula *formula)
{
    for (size_t i = formula->first; i < formula->first + formula->count; i++) {
        struct pm_brought_line *line = &bringing->lines[i];
        line->amount = line->parts;
        line->has_amount = true;
        line->unit = PM_JOTTED_PARTS;
    }
    formula->written_base = formula->base;
}

static enum pm_status set_parts(struct pm_bringing *bringing, size_t at, const char *text,
                                struct pm_error *err)
{
    struct pm_brought_formula *formula = formula_of(bringing, at);
    struct pm_brought_line *line = &bringing->lines[at];
    pm_parts parts = 0;
    enum pm_status status = pm_parts_read(text, line->parts, formula->base, &parts, err);
    if (status != PM_OK)
        return status;
    settle_units(bringing, formula);
    line->amount = parts;
    line->written_doubt = line->below = NULL;
    return PM_OK;
}

static enum pm_status set_name(struct pm_bringing *bringing, const char *text, const char *what,
                               const char **out, struct pm_error *err)
{
    char *clean = NULL;
    enum pm_status status = pm_name_clean(text, what, &clean, err);
    if (status != PM_OK)
        return status;
    *out = pm_arena_text(&bringing->arena, clean);
    pm_free(clean);
    return pm_arena_status(&bringing->arena, err);
}

static enum pm_status set_field(struct pm_bringing *bringing, size_t at,
                                enum pm_brought_field field, const char *text, struct pm_error *err)
{
    struct pm_brought_line *line = &bringing->lines[at];
    switch (field) {
    case PM_BROUGHT_NAME:
        line->left_out = false;
        line->wants_accord = false;
        if (line->name == NULL)
            line->written_doubt = line->below = NULL;
        return set_name(bringing, text, "The material's name", &line->name, err);
    case PM_BROUGHT_PARTS:
        return set_parts(bringing, at, text, err);
    case PM_BROUGHT_STRENGTH:
        line->written_doubt = line->below = NULL;
        return pm_strength_read(text, &line->strength, err);
    case PM_BROUGHT_SOLVENT:
        return set_name(bringing, text, "The solvent's name", &line->solvent, err);
    }
    return PM_OK;
}

enum pm_status pm_bringing_set(struct pm_studio *studio, struct pm_bringing *bringing, size_t line,
                               enum pm_brought_field field, const char *text, struct pm_error *err)
{
    if (line >= bringing->line_count)
        return pm_fail(err, PM_MISSING, "There is no such line.");
    const struct pm_brought_line before = bringing->lines[line];
    return settle_line(studio, bringing, line, &before, set_field(bringing, line, field, text, err),
                       err);
}

enum pm_status pm_bringing_leave_line(struct pm_studio *studio, struct pm_bringing *bringing,
                                      size_t line, struct pm_error *err)
{
    if (line >= bringing->line_count)
        return pm_fail(err, PM_MISSING, "There is no such line.");
    const struct pm_brought_line before = bringing->lines[line];
    if (before.left_out && before.name == NULL)
        return pm_fail(err, PM_REFUSED, "That line has no name: give it one first.");
    bringing->lines[line].left_out = !before.left_out;
    return settle_line(studio, bringing, line, &before, PM_OK, err);
}

enum pm_status pm_bringing_title(struct pm_studio *studio, struct pm_bringing *bringing,
                                 size_t formula, const char *text, struct pm_error *err)
{
    if (formula >= bringing->formula_count)
        return pm_fail(err, PM_MISSING, "There is no such formula.");
    char *clean = NULL;
    enum pm_status status = pm_rules_formula_name(text, &clean, err);
    if (status != PM_OK)
        return status;
    const char *name = pm_arena_text(&bringing->arena, clean);
    pm_free(clean);
    if (name == NULL)
        return pm_fail_memory(err);
    bringing->formulas[formula].name = name;
    return pm_bringing_match_again(studio, bringing, err);
}

enum pm_status pm_bringing_leave_formula(struct pm_studio *studio, struct pm_bringing *bringing,
                                         size_t formula, struct pm_error *err)
{
    if (formula >= bringing->formula_count)
        return pm_fail(err, PM_MISSING, "There is no such formula.");
    bringing->formulas[formula].left_out = !bringing->formulas[formula].left_out;
    return pm_bringing_match_again(studio, bringing, err);
}
