/* SPDX-License-Identifier: MIT */
/* Another library: opening it, wishing, bringing it in (see another.h). */
#include "permille/studio/another.h"

#include "inside.h"

#include "permille/base/json_read.h"
#include "permille/base/mem.h"
#include "permille/base/utf8.h"
#include "permille/base/word.h"
#include "permille/core/bottle.h"
#include "permille/store/document.h"
#include "permille/store/other.h"

#include <string.h>

/* ---- looking ---- */

static void drop_items(struct pm_another *another)
{
    pm_list_release(&another->items);
    pm_list_release(&another->needs);
    pm_free(another->wishes);
    pm_free(another->names);
    pm_free(another->numbers);
    pm_arena_release(&another->arena);
    another->wishes = NULL;
    another->names = NULL;
    another->numbers = NULL;
}

static enum pm_status look(struct pm_another *another, struct pm_error *err)
{
    enum pm_status status = pm_other_items(another->other, &another->items, err);
    if (status == PM_OK)
        status = pm_other_needs(another->other, &another->needs, err);
    if (status != PM_OK)
        return status;
    const size_t count = another->items.count;
    another->wishes = pm_alloc_array(count + 1, sizeof *another->wishes);
    another->names = pm_alloc_array(count + 1, sizeof *another->names);
    another->numbers = pm_alloc_array(count + 1, sizeof *another->numbers);
    if (another->wishes == NULL || another->names == NULL || another->numbers == NULL)
        return pm_fail_memory(err);
    for (size_t i = 0; i < count; i++)
        another->wishes[i].how = pm_other_usual(&another->items.items[i]);
    return pm_other_follow(&another->items, &another->needs, another->wishes, err);
}

static enum pm_status begin(struct pm_another **out, struct pm_error *err)
{
    *out = pm_alloc_array(1, sizeof **out);
    return *out != NULL ? PM_OK : pm_fail_memory(err);
}

static enum pm_status opened(struct pm_another **out, enum pm_status status, struct pm_error *err)
{
    if (status == PM_OK)
        status = look(*out, err);
    if (status != PM_OK) {
        pm_another_close(*out);
        *out = NULL;
    }
    return status;
}

enum pm_status pm_another_open(struct pm_studio *studio, const char *path, struct pm_another **out,
                               struct pm_error *err)
{
    enum pm_status status = begin(out, err);
    if (status == PM_OK)
        status = pm_other_open(studio->library, path, &(*out)->other, err);
    return *out != NULL ? opened(out, status, err) : status;
}

enum pm_status pm_another_open_text(struct pm_studio *studio, const char *text, size_t length,
                                    struct pm_another **out, struct pm_error *err)
{
    struct pm_json_value *document = NULL;
    enum pm_status status = begin(out, err);
    if (status == PM_OK)
        status = pm_json_read(text, length, &document, err);
    if (status == PM_OK)
        status = pm_other_open_document(studio->library, document, &(*out)->other, err);
    pm_json_free(document);
    return *out != NULL ? opened(out, status, err) : status;
}

void pm_another_close(struct pm_another *another)
{
    if (another == NULL)
        return;
    drop_items(another);
    pm_other_close(another->other);
    pm_free(another);
}

/* What was wished of an item before, by what it is there. */
static void wish_again(struct pm_another *another, const struct pm_another *before)
{
    size_t at = 0;
    for (size_t i = 0; i < another->items.count; i++) {
        const struct pm_other_item *item = &another->items.items[i];
        /* Both are in one order, but for what was renamed there meanwhile: nothing can be. */
        while (at < before->items.count && (before->items.items[at].kind != item->kind ||
                                            before->items.items[at].id != item->id))
            at++;
        if (at == before->items.count)
            return;
        const enum pm_other_how how = before->wishes[at].how;
        if (pm_other_can(item, how, NULL))
            another->wishes[i].how = how;
        if (another->wishes[i].how == how) {
            another->names[i] = pm_arena_text(&another->arena, before->names[at]);
            another->numbers[i] = before->numbers[at];
        }
    }
}

enum pm_status pm_another_look_again(struct pm_another *another, struct pm_error *err)
{
    struct pm_another fresh = {.other = another->other};
    enum pm_status status = look(&fresh, err);
    if (status == PM_OK) {
        wish_again(&fresh, another);
        status = pm_arena_status(&fresh.arena, err);
    }
    if (status == PM_OK)
        status = pm_other_follow(&fresh.items, &fresh.needs, fresh.wishes, err);
    if (status != PM_OK) {
        drop_items(&fresh);
        return status;
    }
    drop_items(another);
    *another = fresh;
    return PM_OK;
}

/* ---- wishing ---- */

/* A name of its own for one that comes beside another. */
static enum pm_status name_second(struct pm_another *another, size_t at, struct pm_error *err)
{
    if (another->wishes[at].comes != PM_OTHER_SECOND || another->names[at] != NULL)
        return PM_OK;
    return pm_other_free_name(another->other, &another->items.items[at], &another->arena,
                              &another->names[at], err);
}

static enum pm_status follow(struct pm_another *another, struct pm_error *err)
{
    enum pm_status status = pm_other_follow(&another->items, &another->needs, another->wishes, err);
    for (size_t i = 0; status == PM_OK && i < another->items.count; i++)
        status = name_second(another, i, err);
    return status;
}

enum pm_status pm_another_wish(struct pm_another *another, size_t at, enum pm_other_how how,
                               struct pm_error *err)
{
    const char *why;
    struct pm_other_wish *wish = &another->wishes[at];
    const enum pm_other_how before = wish->how;
    if (!pm_other_can(&another->items.items[at], how, &why))
        return pm_fail(err, PM_REFUSED, "%s", why);
    wish->how = how;
    if (how != PM_OTHER_SECOND && how != before)
        another->names[at] = NULL;
    const enum pm_status status = follow(another, err);
    if (status != PM_OK)
        wish->how = before;
    return status;
}

enum pm_status pm_another_wish_all(struct pm_another *another, const bool *which,
                                   enum pm_other_how how, size_t *wished, struct pm_error *err)
{
    size_t count = 0;
    for (size_t i = 0; i < another->items.count; i++)
        if (which[i] && pm_other_can(&another->items.items[i], how, NULL)) {
            another->wishes[i].how = how;
            count++;
        }
    if (wished != NULL)
        *wished = count;
    return follow(another, err);
}

/* "B090" or "90". */
static bool read_number(const char *text, int64_t *out)
{
    const char *digits = text[0] == 'B' || text[0] == 'b' ? text + 1 : text;
    *out = 0;
    if (*digits == '\0' || strlen(digits) > 9)
        return false;
    for (; *digits != '\0'; digits++) {
        if (*digits < '0' || *digits > '9')
            return false;
        *out = *out * 10 + (*digits - '0');
    }
    return *out > 0;
}

/* Two that come in must not take one name either. */
static bool given_already(const struct pm_another *another, size_t at, const char *name,
                          int64_t number)
{
    for (size_t i = 0; i < another->items.count; i++) {
        const struct pm_other_item *item = &another->items.items[i];
        if (i == at || item->kind != another->items.items[at].kind ||
            another->wishes[i].comes == PM_OTHER_LEAVE)
            continue;
        if (item->kind == PM_OTHER_BOTTLE &&
            number == (another->numbers[i] != 0 ? another->numbers[i] : item->id))
            return true;
        if (item->kind != PM_OTHER_BOTTLE && item->kind != PM_OTHER_MATERIAL &&
            pm_same_text(name, another->names[i] != NULL ? another->names[i] : item->name))
            return true;
    }
    return false;
}

static enum pm_status check_name(struct pm_another *another, size_t at, const char *text,
                                 char **name, int64_t *number, struct pm_error *err)
{
    const enum pm_other_kind kind = another->items.items[at].kind;
    bool taken = false;
    enum pm_status status = PM_OK;
    switch (kind) {
    case PM_OTHER_BOTTLE:
        status = read_number(text, number)
                     ? PM_OK
                     : pm_fail(err, PM_INVALID, "\"%s\" is no number of a bottle.", text);
        break;
    case PM_OTHER_FORMULA:
        status = pm_rules_formula_name(text, name, err);
        break;
    case PM_OTHER_MATERIAL:
    case PM_OTHER_PANEL:
    case PM_OTHER_SERIES:
    case PM_OTHER_BALANCE:
    case PM_OTHER_RULES:
        status = pm_name_clean(text, "The name", name, err);
        break;
    default:
        status = pm_fail(err, PM_REFUSED, "A %s has no name of its own.",
                         pm_other_kind_word(kind, false));
    }
    if (status == PM_OK)
        status = pm_other_name_taken(another->other, kind, *name, *number, &taken, err);
    if (status == PM_OK && (taken || given_already(another, at, *name, *number)))
        status = pm_fail(err, PM_EXISTS, "\"%s\" is taken already.", text);
    return status;
}

enum pm_status pm_another_call(struct pm_another *another, size_t at, const char *text,
                               struct pm_error *err)
{
    const struct pm_other_item *item = &another->items.items[at];
    char *name = NULL;
    int64_t number = 0;
    if (text == NULL || text[0] == '\0') {
        another->names[at] = NULL;
        another->numbers[at] = 0;
        return follow(another, err);
    }
    enum pm_status status = check_name(another, at, text, &name, &number, err);
    const char *kept = status == PM_OK ? pm_arena_text(&another->arena, name) : NULL;
    pm_free(name);
    if (status == PM_OK)
        status = pm_arena_status(&another->arena, err);
    if (status == PM_OK)
        status = pm_another_wish(
            another, at, item->state == PM_OTHER_NEW ? PM_OTHER_TAKE : PM_OTHER_SECOND, err);
    if (status == PM_OK) {
        another->names[at] = kept;
        another->numbers[at] = number;
    }
    return status;
}

/* ---- bringing it in ---- */

void pm_another_count(const struct pm_another *another, size_t counts[PM_OTHER_KINDS])
{
    memset(counts, 0, PM_OTHER_KINDS * sizeof counts[0]);
    for (size_t i = 0; i < another->items.count; i++)
        counts[another->items.items[i].kind] += another->wishes[i].comes != PM_OTHER_LEAVE;
}

static struct pm_other_choice *choose(const struct pm_another *another, size_t *count)
{
    struct pm_other_choice *choices = pm_alloc_array(another->items.count + 1, sizeof *choices);
    for (size_t i = 0; choices != NULL && i < another->items.count; i++) {
        const struct pm_other_item *item = &another->items.items[i];
        const enum pm_other_how comes = another->wishes[i].comes;
        if (comes != PM_OTHER_LEAVE)
            choices[(*count)++] =
                (struct pm_other_choice){item->kind, item->id, comes == PM_OTHER_SECOND,
                                         another->names[i], another->numbers[i]};
    }
    return choices;
}

/* What is not as it was called there, a line for each. */
static enum pm_status tell(struct pm_another *another, struct pm_text *out, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    char label[PM_BOTTLE_LABEL], there[PM_BOTTLE_LABEL];
    for (size_t i = 0; status == PM_OK && i < another->items.count; i++) {
        const struct pm_other_item *item = &another->items.items[i];
        int64_t here = 0;
        if (another->wishes[i].comes == PM_OTHER_LEAVE)
            continue;
        if (item->kind == PM_OTHER_BOTTLE)
            status = pm_other_brought(another->other, item->kind, item->id, &here, err);
        if (here != 0 && here != item->id && another->wishes[i].comes != PM_OTHER_LEAVE &&
            item->mine != here)
            pm_text_addf(out, "Bottle %s, %s, is %s here: write that on its glass.\n",
                         pm_bottle_label(item->id, there), item->name,
                         pm_bottle_label(here, label));
        if (item->kind != PM_OTHER_BOTTLE && another->names[i] != NULL)
            pm_text_addf(out, "The %s %s is called %s here.\n",
                         pm_other_kind_word(item->kind, false), item->name, another->names[i]);
        if (another->wishes[i].comes == PM_OTHER_TAKE && item->kind == PM_OTHER_FORMULA &&
            (item->state == PM_OTHER_FORKED || item->apart) && item->gestures_left > 0)
            pm_text_addf(
                out, "Of the formula %s the draft there did not come along (%lld gesture%s).\n",
                item->name, (long long)item->gestures_left, item->gestures_left == 1 ? "" : "s");
    }
    return status == PM_OK && !pm_text_ok(out) ? pm_fail_memory(err) : status;
}

static enum pm_status bring_step(struct pm_studio *studio, struct pm_another *another,
                                 const struct pm_other_choice *choices, size_t count,
                                 struct pm_text *told, struct pm_error *err)
{
    struct pm_shelf_step step;
    size_t counts[PM_OTHER_KINDS];
    enum pm_status status = pm_step_begin(&step, studio, err);
    if (status != PM_OK)
        return status;
    status = pm_other_bring(another->other, choices, count, &step.log, err);
    if (status == PM_OK)
        status = tell(another, told, err);
    pm_another_count(another, counts);
    pm_step_say(&step, "Brought in from another library: ");
    pm_another_say_counts(counts, &step.sentence);
    return pm_step_end(&step, status, "import", err);
}

/* Why nothing comes in. */
static enum pm_status refuse_nothing(const struct pm_another *another, struct pm_error *err)
{
    bool all_here = true;
    for (size_t i = 0; i < another->items.count; i++)
        all_here = all_here && (another->items.items[i].state == PM_OTHER_SAME ||
                                another->items.items[i].state == PM_OTHER_LESS);
    return pm_fail(err, PM_REFUSED,
                   another->items.count == 0 ? "There is nothing in that library."
                   : all_here                ? "All of that library is here already."
                                             : "Nothing is chosen that could come in.");
}

enum pm_status pm_another_bring(struct pm_studio *studio, struct pm_another *another, char **told,
                                struct pm_error *err)
{
    size_t count = 0;
    struct pm_text lines = PM_TEXT_EMPTY;
    struct pm_other_choice *choices = choose(another, &count);
    enum pm_status status = choices != NULL ? PM_OK : pm_fail_memory(err);
    if (status == PM_OK && count == 0)
        status = refuse_nothing(another, err);
    if (status == PM_OK)
        status = bring_step(studio, another, choices, count, &lines, err);
    pm_limits_forget(studio);
    if (status == PM_OK && told != NULL)
        *told = pm_text_take(&lines);
    pm_text_release(&lines);
    pm_free(choices);
    return status;
}
