/* SPDX-License-Identifier: MIT */
/*
 * Lines brought in matched to what the library has, and corrected by the person.
 */
#include "bringing.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"

#include <ctype.h>
#include <string.h>

#define SLIP      1                 /* letters */
#define NEAR_WORK INT64_C(50000000) /* names compared before all that is left is taken as new */

const char *pm_match_word(enum pm_match match)
{
    return match == PM_MATCH_EXACT ? "exact" : match == PM_MATCH_NEAR ? "near" : "new";
}

/* ---- one name ---- */

struct found {
    enum pm_match match;
    int64_t material, accord;
    const char *name;
};

static enum pm_status keep_material(struct pm_studio *studio, struct pm_bringing *bringing,
                                    int64_t id, enum pm_match match, struct found *out,
                                    struct pm_error *err)
{
    struct pm_card *card;
    enum pm_status status = pm_studio_material(studio, id, &card, err);
    if (status == PM_OK)
        *out = (struct found){
            .match = match, .material = id, .name = pm_arena_text(&bringing->arena, card->name)};
    return status;
}

/* "Name/3", or "Name" with a kept trial: the newest. *trial is 0 when it is none. */
static enum pm_status find_accord(struct pm_studio *studio, struct pm_bringing *bringing,
                                  const char *name, struct found *out, struct pm_error *err)
{
    struct pm_error why;
    struct pm_kept *kept;
    int64_t formula = 0, trial = 0, number = 0;
    char *title = NULL;
    enum pm_status status = pm_formula_find(studio, name, &formula, &trial, &number, &why);
    struct pm_formula row = {0};
    if (status == PM_OK && number == 0)
        status = pm_formula_get(studio->library, formula, NULL, &row, &why);
    if (status == PM_OK && number == 0)
        status = row.kept == 0
                     ? PM_MISSING
                     : pm_trial_by_number(studio->library, formula, row.kept, &trial, &why);
    if (status == PM_MISSING || status == PM_INVALID)
        return PM_OK;
    if (status == PM_OK)
        status = pm_studio_kept(studio, trial, false, &kept, &why);
    if (status == PM_OK)
        status = pm_kept_title(studio, kept, &title, &why);
    if (status != PM_OK)
        return pm_fail(err, status, "%s", why.text);
    *out = (struct found){
        .match = PM_MATCH_EXACT, .accord = trial, .name = pm_arena_text(&bringing->arena, title)};
    pm_free(title);
    return PM_OK;
}

/* Exact, or new for the time being. */
static enum pm_status find_exact(struct pm_studio *studio, struct pm_bringing *bringing,
                                 const char *name, bool accords, struct found *out,
                                 struct pm_error *err)
{
    struct pm_error why;
    int64_t id = 0;
    *out = (struct found){.match = PM_MATCH_NEW, .name = name};
    enum pm_status status = pm_material_by_name(studio->library, name, &id, &why);
    if (status == PM_OK)
        return keep_material(studio, bringing, id, PM_MATCH_EXACT, out, err);
    if (status != PM_MISSING && status != PM_REFUSED) /* several share the CAS number */
        return pm_fail(err, status, "%s", why.text);
    return accords ? find_accord(studio, bringing, name, out, err) : PM_OK;
}

/* ---- near names ---- */

struct wish {
    struct pm_nearest nearest;
    const char *name;
};
struct wishes {
    struct wish *items; /* owned */
    size_t count, capacity;
    int64_t work;
    struct pm_map seen; /* hash of a folded name -> its place */
};

static int64_t hash_of(const char *folded)
{
    uint64_t hash = UINT64_C(14695981039346656037);
    for (; *folded; folded++)
        hash = (hash ^ (unsigned char)*folded) * UINT64_C(1099511628211);
    return (int64_t)(hash >> 1) + 1;
}

static bool add_wish(struct wishes *wishes, const char *name)
{
    struct pm_nearest nearest;
    if (!pm_nearest_init(&nearest, name))
        return false;
    const int64_t key = hash_of(nearest.wanted);
    if (pm_map_place(&wishes->seen, key) != PM_MAP_NONE) {
        pm_nearest_release(&nearest);
        return true;
    }
    if (!pm_grow(&wishes->items, &wishes->capacity, wishes->count + 1, sizeof *wishes->items) ||
        !pm_map_put_place(&wishes->seen, key, wishes->count)) {
        pm_nearest_release(&nearest);
        return false;
    }
    nearest.distance = SLIP + 1;
    wishes->items[wishes->count++] = (struct wish){nearest, name};
    return true;
}

static void wishes_release(struct wishes *wishes)
{
    for (size_t i = 0; i < wishes->count; i++)
        pm_nearest_release(&wishes->items[i].nearest);
    pm_free(wishes->items);
    pm_map_release(&wishes->seen);
}

/* Chemists' names differ by a letter or a digit and mean another thing: a slip is one letter that
 * is not the first, and no digit. */
static bool may_be_slip(const char *written, const char *name)
{
    if (tolower((unsigned char)*written) != tolower((unsigned char)*name))
        return false;
    for (;;) {
        while (*written && !isdigit((unsigned char)*written))
            written++;
        while (*name && !isdigit((unsigned char)*name))
            name++;
        if (*written != *name || *written == '\0')
            return *written == *name;
        written++;
        name++;
    }
}

/* False when enough were looked at. */
static bool offer(struct wishes *wishes, const struct pm_material_entry *hit)
{
    for (size_t i = 0; i < wishes->count; i++)
        if (may_be_slip(wishes->items[i].name, hit->name))
            pm_nearest_offer(&wishes->items[i].nearest, hit->name, hit->name);
    wishes->work += (int64_t)wishes->count;
    return wishes->work < NEAR_WORK;
}

struct only {
    const char *wanted; /* folded */
    int64_t id;
    size_t count;
    bool failed;
};

/* Whether the words of `wanted` stand in the name, from the beginning of a word on. */
static bool begins_words(struct only *only, const char *name)
{
    char *folded = name != NULL ? pm_fold(name) : NULL;
    bool begins = false;
    only->failed = only->failed || (name != NULL && folded == NULL);
    for (const char *at = folded; at != NULL && (at = strstr(at, only->wanted)) && !begins; at++)
        begins = at == folded || strchr(" -(,", at[-1]) != NULL;
    pm_free(folded);
    return begins;
}

static void count_hit(struct only *only, const struct pm_material_entry *hit)
{
    if (begins_words(only, hit->matched != NULL ? hit->matched : hit->name)) {
        only->id = hit->id;
        only->count++;
    }
}

/* The one material whose name holds the words ("Bergamot" for "Bergamot oil"); 0: none, or several.
 */
static enum pm_status find_only(struct pm_studio *studio, const char *name, int64_t *id,
                                struct pm_error *err)
{
    struct only only = {.wanted = NULL};
    struct pm_material_entries found = {0};
    char *wanted = pm_fold(name);
    *id = 0;
    if (wanted == NULL)
        return pm_fail_memory(err);
    enum pm_status status = PM_OK;
    only.wanted = wanted;
    if (strlen(wanted) >= 4)
        status = pm_material_search(studio->library, name, 64, false, NULL, &found, err);
    for (size_t i = 0; status == PM_OK && i < found.count && only.count < 2; i++)
        count_hit(&only, &found.items[i]);
    pm_list_release(&found);
    if (status == PM_OK && only.failed)
        status = pm_fail_memory(err);
    if (status == PM_OK && only.count == 1)
        *id = only.id;
    pm_free(wanted);
    return status;
}

static enum pm_status find_near(struct pm_studio *studio, struct pm_bringing *bringing,
                                const struct wishes *wishes, struct found *found,
                                struct pm_error *err)
{
    int64_t id = 0;
    char *folded = pm_fold(found->name);
    if (folded == NULL)
        return pm_fail_memory(err);
    const size_t at = pm_map_place(&wishes->seen, hash_of(folded));
    pm_free(folded);
    const char *best = at != PM_MAP_NONE ? wishes->items[at].nearest.best : NULL;
    enum pm_status status = best != NULL ? pm_material_by_name(studio->library, best, &id, err)
                                         : find_only(studio, found->name, &id, err);
    return status == PM_OK && id != 0
               ? keep_material(studio, bringing, id, PM_MATCH_NEAR, found, err)
               : status;
}

/* ---- lines ---- */

static void put_material(struct pm_brought_line *line, const struct found *found)
{
    line->match = found->match;
    line->material = found->material;
    line->accord = found->accord;
    line->matched = found->name;
}

static void put_solvent(struct pm_brought_line *line, const struct found *found)
{
    line->solvent_match = found->match;
    line->solvent_id = found->material;
    line->solvent_matched = found->name;
}

/* The text's only solvent; NULL when there are several, or none. */
static const char *only_solvent(const struct pm_bringing *bringing)
{
    const char *only = NULL;
    for (size_t i = 0; i < bringing->line_count; i++) {
        const char *solvent = bringing->lines[i].solvent;
        if (solvent == NULL || bringing->lines[i].left_out)
            continue;
        if (only != NULL && !pm_fold_equal(only, solvent))
            return NULL;
        only = solvent;
    }
    return only;
}

#define UNNAMED_SOLVENT "Unnamed solvent"

static const char *solvent_of(const struct pm_bringing *bringing,
                              const struct pm_brought_line *line, const char *only)
{
    return line->strength == PM_NEAT           ? NULL
           : line->solvent != NULL             ? line->solvent
           : bringing->options.solvent != NULL ? bringing->options.solvent
           : only != NULL                      ? only
                                               : UNNAMED_SOLVENT;
}

static enum pm_status match_exactly(struct pm_studio *studio, struct pm_bringing *bringing,
                                    const char *only, struct wishes *wishes, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t i = 0; status == PM_OK && i < bringing->line_count; i++) {
        struct pm_brought_line *line = &bringing->lines[i];
        const char *solvent = solvent_of(bringing, line, only);
        struct found found = {.match = PM_MATCH_NEW};
        status = pm_studio_go_on(studio, "matching names", i, bringing->line_count, err);
        if (status == PM_OK && line->name != NULL)
            status =
                find_exact(studio, bringing, line->name, line->strength == PM_NEAT, &found, err);
        put_material(line, &found);
        found = (struct found){.match = PM_MATCH_EXACT};
        if (status == PM_OK && solvent != NULL)
            status = find_exact(studio, bringing, solvent, false, &found, err);
        put_solvent(line, &found);
        if (status == PM_OK && !bringing->options.exact_only &&
            ((line->name != NULL && line->match == PM_MATCH_NEW && !add_wish(wishes, line->name)) ||
             (solvent != NULL && line->solvent_match == PM_MATCH_NEW &&
              !add_wish(wishes, solvent))))
            status = pm_fail_memory(err);
    }
    return status;
}

static enum pm_status match_nearly(struct pm_studio *studio, struct pm_bringing *bringing,
                                   struct wishes *wishes, struct pm_error *err)
{
    struct pm_material_entries all = {0};
    enum pm_status status =
        pm_material_search(studio->library, "", SIZE_MAX, false, NULL, &all, err);
    for (size_t i = 0; i < all.count && offer(wishes, &all.items[i]); i++) {
    }
    pm_list_release(&all);
    for (size_t i = 0; status == PM_OK && i < bringing->line_count; i++) {
        struct pm_brought_line *line = &bringing->lines[i];
        struct found found = {.match = PM_MATCH_NEW, .name = line->name};
        status = pm_studio_go_on(studio, "matching names", i, bringing->line_count, err);
        if (status == PM_OK && line->name != NULL && line->match == PM_MATCH_NEW &&
            !line->left_out && !line->wants_accord) {
            status = find_near(studio, bringing, wishes, &found, err);
            put_material(line, &found);
        }
        found = (struct found){.match = PM_MATCH_NEW, .name = line->solvent_matched};
        if (status == PM_OK && line->solvent_matched != NULL &&
            line->solvent_match == PM_MATCH_NEW &&
            strcmp(line->solvent_matched, UNNAMED_SOLVENT) != 0) {
            status = find_near(studio, bringing, wishes, &found, err);
            put_solvent(line, &found);
        }
    }
    return status;
}

/* What looks like a comment may be a line whose amount is missing. */
static enum pm_status doubt_below(struct pm_studio *studio, struct pm_bringing *bringing,
                                  const struct pm_brought_line *line, char *words, size_t size,
                                  struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (const char *at = line->below; status == PM_OK && *at != '\0' && words[0] == '\0';) {
        const size_t length = strcspn(at, "\n");
        const char *name = pm_arena_text_bytes(&bringing->arena, at, length);
        struct found found = {.match = PM_MATCH_NEW};
        status = name != NULL ? find_exact(studio, bringing, name, true, &found, err)
                              : pm_fail_memory(err);
        if (status == PM_OK && (found.material != 0 || found.accord != 0))
            pm_print(words, size, "\"%s\" stands below it without an amount", name);
        at += length + (at[length] == '\n');
    }
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

static enum pm_status match(struct pm_studio *studio, struct pm_bringing *bringing,
                            struct pm_error *err)
{
    struct wishes wishes = {.items = NULL};
    enum pm_status status = match_exactly(studio, bringing, only_solvent(bringing), &wishes, err);
    if (status == PM_OK && wishes.count > 0)
        status = match_nearly(studio, bringing, &wishes, err);
    wishes_release(&wishes);
    return status;
}

/* ---- formulas ---- */

static bool is_taken(struct pm_studio *studio, const struct pm_bringing *bringing, size_t formula,
                     const char *name)
{
    int64_t id;
    struct pm_error why;
    for (size_t i = 0; i < formula; i++)
        if (!bringing->formulas[i].left_out && pm_fold_equal(bringing->formulas[i].name, name))
            return true;
    return pm_formula_by_name(studio->library, name, &id, &why) == PM_OK;
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

static enum pm_status name_formula(struct pm_studio *studio, struct pm_bringing *bringing,
                                   size_t at, struct pm_error *err)
{
    struct pm_brought_formula *formula = &bringing->formulas[at];
    const char *title = bringing->options.title != NULL ? bringing->options.title : "Brought in";
    const char *wanted = NULL;
    char numbered[200];
    enum pm_status status =
        clean_name(bringing, formula->name != NULL ? formula->name : title, &wanted, err);
    if (status != PM_OK)
        return status;
    formula->name = wanted;
    for (int n = 2; is_taken(studio, bringing, at, formula->name) && n < 10000; n++) {
        pm_print(numbered, sizeof numbered, "%s %d", wanted, n);
        formula->name = pm_arena_text(&bringing->arena, numbered);
        if (formula->name == NULL)
            return pm_fail_memory(err);
    }
    if (formula->name != wanted && formula->remark == NULL) {
        pm_print(numbered, sizeof numbered, "there is a formula %s already", wanted);
        formula->remark = pm_arena_text(&bringing->arena, numbered);
    }
    return pm_arena_status(&bringing->arena, err);
}

/* ---- all of it ---- */

static void count_doubts(struct pm_bringing *bringing)
{
    bringing->doubts = bringing->fresh = 0;
    for (size_t f = 0; f < bringing->formula_count; f++) {
        const struct pm_brought_formula *formula = &bringing->formulas[f];
        if (formula->left_out)
            continue;
        bringing->doubts += formula->remark != NULL;
        for (size_t i = formula->first; i < formula->first + formula->count; i++) {
            bringing->doubts += bringing->lines[i].doubt != NULL && !bringing->lines[i].left_out;
            bringing->fresh += !bringing->lines[i].left_out && !bringing->lines[i].accord &&
                               bringing->lines[i].match == PM_MATCH_NEW;
        }
    }
}

static enum pm_status work_out(struct pm_studio *studio, struct pm_bringing *bringing,
                               struct pm_error *err)
{
    enum pm_status status = match(studio, bringing, err);
    for (size_t f = 0; status == PM_OK && f < bringing->formula_count; f++) {
        status = pm_bringing_reckon(bringing, &bringing->formulas[f], err);
        if (status == PM_OK)
            status = name_formula(studio, bringing, f, err);
    }
    for (size_t i = 0; status == PM_OK && i < bringing->line_count; i++)
        status = doubt_match(studio, bringing, &bringing->lines[i], err);
    if (status == PM_OK)
        status = pm_arena_status(&bringing->arena, err);
    if (status == PM_OK)
        count_doubts(bringing);
    return status;
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
