/* SPDX-License-Identifier: MIT */
/*
 * The names of lines brought in, each looked up once: what the library calls so, or what is near.
 */
#include "bringing.h"

#include "permille/base/mem.h"
#include "permille/base/text_set.h"
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

/* ---- names, each once ---- */

struct name {
    struct found found;
    struct pm_nearest nearest; /* of one that is not there */
    bool is_wanted;            /* a near one will do; nearest is filled */
};
struct names {
    struct pm_text_set written;
    struct name *items; /* of each; owned */
    size_t capacity;
};
enum { OF_LINES, OF_DILUTED, OF_SOLVENTS, NAMES_COUNT }; /* OF_LINES: may be an accord's */

struct matching {
    struct pm_studio *studio;
    struct pm_bringing *bringing;
    struct names names[NAMES_COUNT];
    struct pm_starter_names called; /* filled once a near name is wanted */
    int64_t work;                   /* names compared */
};

static void release(struct matching *matching)
{
    pm_starter_names_release(&matching->called);
    for (size_t n = 0; n < NAMES_COUNT; n++) {
        struct names *names = &matching->names[n];
        for (size_t i = 0; i < names->written.count; i++)
            if (names->items[i].is_wanted)
                pm_nearest_release(&names->items[i].nearest);
        pm_free(names->items);
        pm_text_set_release(&names->written);
    }
}

/* Asks what a name that was not met before is, exactly. */
static enum pm_status meet(struct matching *matching, size_t of, const char *written, size_t *place,
                           struct pm_error *err)
{
    struct names *names = &matching->names[of];
    if (!pm_grow(&names->items, &names->capacity, names->written.count + 1, sizeof *names->items) ||
        !pm_text_set_add(&names->written, written, place))
        return pm_fail_memory(err);
    names->items[*place] = (struct name){.is_wanted = false};
    return find_exact(matching->studio, matching->bringing, written, of == OF_LINES,
                      &names->items[*place].found, err);
}

static enum pm_status look_up(struct matching *matching, size_t of, const char *written,
                              struct found *out, struct pm_error *err)
{
    struct names *names = &matching->names[of];
    size_t place = pm_text_set_place(&names->written, written);
    const enum pm_status status =
        place == PM_MAP_NONE ? meet(matching, of, written, &place, err) : PM_OK;
    if (status == PM_OK)
        *out = names->items[place].found;
    return status;
}

/* ---- near names ---- */

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

static void offer(struct matching *matching, const struct pm_material_entry *hit)
{
    for (size_t n = 0; n < NAMES_COUNT && matching->work < NEAR_WORK; n++) {
        const struct names *names = &matching->names[n];
        for (size_t i = 0; i < names->written.count; i++)
            if (names->items[i].is_wanted && may_be_slip(names->written.texts[i], hit->name))
                pm_nearest_offer(&names->items[i].nearest, hit->name, hit->name);
        matching->work += (int64_t)names->written.count;
    }
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

/* What the trade calls it, a material may stand here by its own name alone: "DPG". 0: none. */
static enum pm_status find_called(struct matching *matching, const char *written, int64_t *id,
                                  struct pm_error *err)
{
    struct pm_error why;
    const char *name = NULL;
    *id = 0;
    if (!pm_starter_name(&matching->called, written, &name))
        return pm_fail_memory(err);
    if (name == NULL)
        return PM_OK;
    const enum pm_status status = pm_material_by_name(matching->studio->library, name, id, &why);
    return status == PM_OK || status == PM_MISSING || status == PM_REFUSED
               ? PM_OK
               : pm_fail(err, status, "%s", why.text);
}

static enum pm_status find_near(struct matching *matching, struct name *name, const char *written,
                                struct pm_error *err)
{
    int64_t id = 0;
    const char *best = name->nearest.best;
    enum pm_status status = best != NULL
                                ? pm_material_by_name(matching->studio->library, best, &id, err)
                                : find_called(matching, written, &id, err);
    if (status == PM_OK && id == 0)
        status = find_only(matching->studio, written, &id, err);
    return status == PM_OK && id != 0 ? keep_material(matching->studio, matching->bringing, id,
                                                      PM_MATCH_NEAR, &name->found, err)
                                      : status;
}

#define UNNAMED_SOLVENT "Unnamed solvent"

/* The names that are not there, but for the one that nobody wrote. */
static enum pm_status want_near(struct names *names, bool *some, struct pm_error *err)
{
    for (size_t i = 0; i < names->written.count; i++) {
        struct name *name = &names->items[i];
        if (name->found.match != PM_MATCH_NEW ||
            strcmp(names->written.texts[i], UNNAMED_SOLVENT) == 0)
            continue;
        if (!pm_nearest_init(&name->nearest, names->written.texts[i]))
            return pm_fail_memory(err);
        name->nearest.distance = SLIP + 1;
        name->is_wanted = *some = true;
    }
    return PM_OK;
}

static enum pm_status find_all_near(struct matching *matching, size_t materials,
                                    struct pm_error *err)
{
    enum pm_status status = PM_OK;
    for (size_t n = 0; n < NAMES_COUNT; n++) {
        struct names *names = &matching->names[n];
        for (size_t i = 0; status == PM_OK && i < names->written.count; i++) {
            struct name *name = &names->items[i];
            status =
                pm_studio_go_on(matching->studio, "matching names", i, names->written.count, err);
            if (status != PM_OK || !name->is_wanted ||
                (name->nearest.best == NULL && matching->work >= NEAR_WORK))
                continue;
            matching->work += name->nearest.best == NULL ? (int64_t)materials : 1;
            status = find_near(matching, name, names->written.texts[i], err);
        }
    }
    return status;
}

static enum pm_status match_nearly(struct matching *matching, struct pm_error *err)
{
    struct pm_material_entries all = {0};
    bool some = false;
    enum pm_status status = PM_OK;
    for (size_t n = 0; status == PM_OK && n < NAMES_COUNT; n++)
        status = want_near(&matching->names[n], &some, err);
    if (status != PM_OK || !some)
        return status;
    status = pm_material_search(matching->studio->library, "", SIZE_MAX, false, NULL, &all, err);
    if (status == PM_OK && all.count > 0)
        status = pm_starter_names_read(&matching->called, err);
    for (size_t i = 0; status == PM_OK && i < all.count; i++)
        offer(matching, &all.items[i]);
    if (status == PM_OK)
        status = find_all_near(matching, all.count, err);
    pm_list_release(&all);
    return status;
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

static const char *solvent_of(const struct pm_bringing *bringing,
                              const struct pm_brought_line *line, const char *only)
{
    return line->strength == PM_NEAT           ? NULL
           : line->solvent != NULL             ? line->solvent
           : bringing->options.solvent != NULL ? bringing->options.solvent
           : only != NULL                      ? only
                                               : UNNAMED_SOLVENT;
}

static size_t names_of(const struct pm_brought_line *line)
{
    return line->strength == PM_NEAT ? OF_LINES : OF_DILUTED;
}

/* Asks for every name; what is found stays with `matching`. */
static enum pm_status match_line(struct matching *matching, struct pm_brought_line *line,
                                 const char *only, struct pm_error *err)
{
    const char *solvent = solvent_of(matching->bringing, line, only);
    struct found found = {.match = PM_MATCH_NEW};
    enum pm_status status = PM_OK;
    if (line->name != NULL)
        status = look_up(matching, names_of(line), line->name, &found, err);
    if (found.match == PM_MATCH_NEAR && (line->left_out || line->wants_accord))
        found = (struct found){.match = PM_MATCH_NEW, .name = line->name};
    put_material(line, &found);
    found = (struct found){.match = PM_MATCH_EXACT};
    if (status == PM_OK && solvent != NULL)
        status = look_up(matching, OF_SOLVENTS, solvent, &found, err);
    put_solvent(line, &found);
    return status;
}

static enum pm_status match_lines(struct matching *matching, const char *only, struct pm_error *err)
{
    struct pm_bringing *bringing = matching->bringing;
    enum pm_status status = PM_OK;
    for (size_t i = 0; status == PM_OK && i < bringing->line_count; i++) {
        status = pm_studio_go_on(matching->studio, "matching names", i, bringing->line_count, err);
        if (status == PM_OK)
            status = match_line(matching, &bringing->lines[i], only, err);
    }
    return status;
}

enum pm_status pm_bringing_match(struct pm_studio *studio, struct pm_bringing *bringing,
                                 struct pm_error *err)
{
    struct matching matching = {.studio = studio, .bringing = bringing};
    const char *only = only_solvent(bringing);
    enum pm_status status = match_lines(&matching, only, err);
    if (status == PM_OK && !bringing->options.exact_only) {
        status = match_nearly(&matching, err);
        if (status == PM_OK)
            status = match_lines(&matching, only, err);
    }
    release(&matching);
    return status;
}

enum pm_status pm_bringing_is_known(struct pm_studio *studio, struct pm_bringing *bringing,
                                    const char *name, bool *known, struct pm_error *err)
{
    struct found found = {.match = PM_MATCH_NEW};
    const enum pm_status status = find_exact(studio, bringing, name, true, &found, err);
    *known = found.material != 0 || found.accord != 0;
    return status;
}
