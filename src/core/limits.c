/* SPDX-License-Identifier: MIT */
/* Scopes of rules, and a formula judged by a whole book of them. */
#include "permille/core/limits.h"

#include "permille/base/mem.h"
#include "permille/base/word.h"

#include <stdlib.h>
#include <string.h>

/* ---- what is made of it ---------------------------------------------------------------------- */

static const char *const contact_words[] = {
    [PM_LEAVE_ON] = "leave-on", [PM_RINSE_OFF] = "rinse-off", [PM_NO_COSMETIC] = "none"};
static const char *const use_words[] = {[PM_FINE_FRAGRANCE] = "fine fragrance",
                                        [PM_EAU_DE_TOILETTE] = "eau de toilette",
                                        [PM_FRAGRANCE_CREAM] = "fragrance cream"};

bool pm_contact_from_word(const char *word, enum pm_contact *out)
{
    const int place =
        pm_word_place(contact_words, sizeof contact_words / sizeof *contact_words, word);
    if (place >= 0)
        *out = (enum pm_contact)place;
    return place >= 0;
}

const char *pm_use_word(enum pm_use use)
{
    return use_words[use];
}

bool pm_use_from_word(const char *word, enum pm_use *out)
{
    const int place = pm_word_place(use_words, sizeof use_words / sizeof *use_words, word);
    if (place >= 0)
        *out = (enum pm_use)place;
    return place >= 0;
}

/* ---- scopes ---------------------------------------------------------------------------------- */

/* What a product is, one bit each. */
enum {
    ORAL = 1,   /* category 6 */
    LEAVES = 2, /* stays on the skin */
    RINSES = 4, /* rinsed off, not oral */
    FINE = 8,   /* category 4, sold as ... */
    TOILETTE = 16,
    CREAM = 32,
    OUTSIDE = 64, /* no cosmetic: the law on cosmetics does not speak of it */
};

static unsigned traits(const struct pm_product *product)
{
    static const unsigned uses[] = {
        [PM_FINE_FRAGRANCE] = FINE, [PM_EAU_DE_TOILETTE] = TOILETTE, [PM_FRAGRANCE_CREAM] = CREAM};
    if (strcmp(product->category, "6") == 0)
        return ORAL;
    if (strcmp(product->category, "4") == 0)
        return LEAVES | uses[product->use];
    return product->contact == PM_LEAVE_ON    ? LEAVES
           : product->contact == PM_RINSE_OFF ? RINSES
                                              : OUTSIDE;
}

#define COSMETIC (ORAL | LEAVES | RINSES)

/* Covered: has a trait of `any` and none of `not`. */
static const struct {
    const char *phrase;
    unsigned any, not ;
} phrases[] = {
    {"all", COSMETIC, 0},
    {"finished product", COSMETIC, 0},
    {"as fragrance ingredient", COSMETIC, 0},
    {"all but oral products", COSMETIC, ORAL},
    {"oral products", ORAL, 0},
    {"toothpaste and mouthwash", ORAL, 0},
    {"leave-on", LEAVES, 0},
    {"rinse-off", RINSES, 0},
    {"no cosmetic", OUTSIDE, 0},
    {"fine fragrance", FINE, 0},
    {"eau de toilette", TOILETTE, 0},
    {"fragrance cream", CREAM, 0},
    {"hydroalcoholic fragrances", FINE | TOILETTE, 0},
    {"hydroalcoholic products", TOILETTE, 0}, /* beside a figure of its own for fine fragrance */
    {"other rinse-off products", RINSES, 0},
    {"other leave-on products", LEAVES, FINE | TOILETTE},
    {"other leave-on and oral products", LEAVES | ORAL, FINE | TOILETTE | CREAM},
    {"other products", LEAVES | RINSES, FINE | TOILETTE},
    {"leave-on except the next three", LEAVES, FINE | TOILETTE | CREAM},
};

static enum pm_covers covers_category(const char *list, const char *category)
{
    size_t length = strlen(category);
    while (*list) {
        size_t here = strcspn(list, " ");
        if (here == length && strncmp(list, category, length) == 0)
            return PM_COVERS;
        list += here + (list[here] == ' ');
    }
    return PM_COVERS_NOT;
}

enum pm_covers pm_scope_covers(const char *scope, const struct pm_product *product)
{
    static const char word[] = "category ";
    unsigned has = traits(product);
    if (strncmp(scope, word, sizeof word - 1) == 0)
        return covers_category(scope + sizeof word - 1, product->category);
    for (size_t i = 0; i < sizeof phrases / sizeof *phrases; i++)
        if (strcmp(scope, phrases[i].phrase) == 0)
            return (has & phrases[i].any) && !(has & phrases[i].not ) ? PM_COVERS : PM_COVERS_NOT;
    /* Products for children under three are not told apart from others, but for baby products. */
    if (strcmp(scope, "listed products for children under 3 years") == 0 &&
        strcmp(product->category, "5D") != 0)
        return PM_COVERS_NOT;
    return PM_COVERS_UNCLEAR;
}

const struct pm_figure *pm_rule_figure(const struct pm_book_rule *rule,
                                       const struct pm_product *product, pm_strength *limit,
                                       bool *speaks)
{
    const struct pm_figure *best = NULL;
    *limit = PM_UNKNOWN;
    *speaks = rule->blank_unknown;
    for (size_t i = 0; i < rule->figure_count; i++) {
        const struct pm_figure *figure = &rule->figures[i];
        enum pm_covers covers = pm_scope_covers(figure->scope, product);
        if (covers == PM_COVERS_NOT)
            continue;
        *speaks = true;
        pm_strength counts = covers == PM_COVERS ? figure->limit : PM_UNKNOWN;
        /* A number stands over "no limit", which stands over a blank. */
        bool better = best == NULL || (counts >= 0 && (*limit < 0 || counts < *limit)) ||
                      (counts == PM_NO_LIMIT && *limit == PM_UNKNOWN);
        if (better) {
            best = figure;
            *limit = counts;
        }
    }
    return best;
}

/* ---- judging --------------------------------------------------------------------------------- */

typedef bool added_fn(void *context, size_t source, int64_t substance);

struct judging {
    const struct pm_book *book;
    const struct pm_exposure *exposure;
    const struct pm_product *product;
    pm_strength dosage;
    added_fn *added;
    void *context;
    struct pm_rule_member *members; /* room for the longest rule */
    size_t room;
    struct pm_limits_found found;
};

static bool is_there(const struct pm_exposure *exposure, int64_t key)
{
    size_t count;
    pm_exposure_find(exposure, key, &count);
    return count > 0;
}

static size_t members_there(const struct judging *judging, const struct pm_book_rule *rule,
                            int64_t *only)
{
    size_t there = 0;
    for (size_t i = 0; i < rule->member_count; i++)
        if (is_there(judging->exposure, rule->members[i])) {
            *only = rule->members[i];
            there++;
        }
    return there;
}

static bool doubted(const struct pm_book_rule *rule, const struct pm_exposure *exposure)
{
    for (size_t i = 0; i < rule->doubtful_count; i++)
        if (is_there(exposure, rule->doubtful[i]))
            return true;
    return false;
}

static bool same_name(const struct pm_book_rule *a, const struct pm_book_rule *b)
{
    return strcmp(a->name, b->name) == 0 || strcmp(a->title, b->title) == 0;
}

/* The person's own figure that counts in place of this rule's, or NULL. */
static const struct pm_book_rule *stand_in(const struct judging *judging,
                                           const struct pm_book_rule *rule)
{
    for (size_t i = 0; i < judging->book->count && !rule->own; i++) {
        const struct pm_book_rule *own = &judging->book->items[i];
        pm_strength limit;
        bool speaks;
        if (!own->own || strcmp(own->replaces, rule->set) != 0 || !same_name(own, rule))
            continue;
        if (pm_rule_figure(own, judging->product, &limit, &speaks) != NULL && limit != PM_UNKNOWN)
            return own;
    }
    return NULL;
}

/* Members with the limits of the rules that share one allowance. */
static size_t collect_shares(struct judging *judging, const struct pm_book_rule *rule)
{
    size_t count = 0;
    for (size_t i = 0; i < rule->of_count; i++) {
        const struct pm_book_rule *of = &judging->book->items[rule->of[i]];
        const struct pm_book_rule *own = stand_in(judging, of);
        pm_strength limit;
        bool speaks;
        pm_rule_figure(own != NULL ? own : of, judging->product, &limit, &speaks);
        for (size_t k = 0; k < of->member_count && count < judging->room; k++)
            judging->members[count++] = (struct pm_rule_member){of->members[k], limit};
    }
    return count;
}

static enum pm_status judge_rule(struct judging *judging, const struct pm_book_rule *rule,
                                 struct pm_error *err)
{
    struct pm_finding_rule made = {.rule = rule};
    bool speaks;
    size_t count = rule->member_count;
    made.figure = pm_rule_figure(rule, judging->product, &made.limit, &speaks);
    if (rule->kind == PM_RULE_DECLARE ||
        (!speaks && rule->kind != PM_RULE_SHARES && rule->kind != PM_RULE_CHECK))
        return PM_OK;
    size_t there = members_there(judging, rule, &made.key);
    made.doubt = doubted(rule, judging->exposure);
    if (there == 0 && !made.doubt)
        return PM_OK;
    if (there != 1)
        made.key = 0;
    /* A sum over several is the plain rule of one where there is only one. */
    if (rule->kind == PM_RULE_SHARES && there < 2)
        return PM_OK;
    if (rule->kind == PM_RULE_SHARES)
        count = collect_shares(judging, rule);
    else
        for (size_t i = 0; i < count; i++)
            judging->members[i] = (struct pm_rule_member){rule->members[i], PM_UNKNOWN};
    const struct pm_rule judged = {rule->kind == PM_RULE_CHECK ? PM_RULE_LIMIT : rule->kind,
                                   judging->members, count, made.limit};
    pm_rule_judge(&judged, judging->exposure, judging->dosage, judging->added, judging->context,
                  &made.judgement);
    if (rule->kind == PM_RULE_CHECK || (made.doubt && made.judgement.verdict == PM_WITHIN)) {
        made.judgement.verdict = PM_VERDICT_UNKNOWN;
        made.judgement.present = true;
    }
    made.replaced = stand_in(judging, rule) != NULL;
    struct pm_finding_rule *row = pm_list_add(&judging->found);
    if (row == NULL)
        return pm_fail_memory(err);
    *row = made;
    return PM_OK;
}

/* ---- groups ---------------------------------------------------------------------------------- */

static bool has_member(const struct pm_book_rule *rule, int64_t key)
{
    for (size_t i = 0; i < rule->member_count; i++)
        if (rule->members[i] == key)
            return true;
    return false;
}

/* Whether two rules are about the same substances, of those that are in the formula. */
static bool same_substances(const struct judging *judging, const struct pm_finding_rule *a,
                            const struct pm_finding_rule *b)
{
    if (a->rule->kind == PM_RULE_SHARES || b->rule->kind == PM_RULE_SHARES)
        return a->rule == b->rule;
    if (a->key != 0 || b->key != 0)
        return a->key == b->key;
    bool any = false;
    for (size_t i = 0; i < a->rule->member_count; i++) {
        int64_t key = a->rule->members[i];
        if (!is_there(judging->exposure, key))
            continue;
        any = true;
        if (!has_member(b->rule, key))
            return false;
    }
    for (size_t i = 0; i < b->rule->member_count; i++)
        if (is_there(judging->exposure, b->rule->members[i]) &&
            !has_member(a->rule, b->rule->members[i]))
            return false;
    return any;
}

int64_t pm_finding_used(const struct pm_finding_rule *finding)
{
    const struct pm_judgement *judgement = &finding->judgement;
    if (finding->rule->kind == PM_RULE_SHARES)
        return judgement->percent;
    if (finding->limit == PM_NO_LIMIT)
        return 0;
    if (finding->limit <= 0)
        return INT64_MAX;
    pm_int128 used = (pm_int128)judgement->percent * 1000000000 / finding->limit;
    return used > INT64_MAX ? INT64_MAX : (int64_t)used;
}

static int rank(const struct pm_finding_rule *finding)
{
    static const int ranks[] = {
        [PM_PROHIBITED] = 0, [PM_OVER] = 1, [PM_VERDICT_UNKNOWN] = 2, [PM_WITHIN] = 3};
    if (finding->rule->kind == PM_RULE_CHECK)
        return 5;
    return finding->replaced ? 4 : ranks[finding->judgement.verdict];
}

/* Which of two decides: the worse verdict, then the one that leaves less. */
static int stricter(const struct pm_finding_rule *a, const struct pm_finding_rule *b)
{
    if (rank(a) != rank(b))
        return rank(a) - rank(b);
    int64_t one = pm_finding_used(a), other = pm_finding_used(b);
    /* Among unknowns the one with a figure says more. */
    if (a->judgement.verdict == PM_VERDICT_UNKNOWN && (a->limit < 0) != (b->limit < 0))
        return a->limit < 0 ? 1 : -1;
    return one != other ? (one > other ? -1 : 1) : 0;
}

struct sorting {
    int rank;     /* of the group's leader */
    int64_t used; /* of it */
    size_t group;
};

static int by_leader(const void *left, const void *right)
{
    const struct sorting *a = left, *b = right;
    if (a->rank != b->rank)
        return a->rank - b->rank;
    if (a->used != b->used)
        return a->used > b->used ? -1 : 1;
    return (a->group > b->group) - (a->group < b->group);
}

static void number_groups(struct judging *judging)
{
    struct pm_limits_found *found = &judging->found;
    for (size_t i = 0; i < found->count; i++) {
        struct pm_finding_rule *finding = &found->items[i];
        finding->group = i;
        for (size_t k = 0; k < i && finding->rule->kind != PM_RULE_CHECK; k++)
            if (found->items[k].rule->kind != PM_RULE_CHECK &&
                same_substances(judging, &found->items[k], finding)) {
                finding->group = found->items[k].group;
                break;
            }
    }
}

static size_t leader_of(const struct pm_limits_found *found, size_t group)
{
    size_t best = SIZE_MAX;
    for (size_t i = 0; i < found->count; i++)
        if (found->items[i].group == group &&
            (best == SIZE_MAX || stricter(&found->items[i], &found->items[best]) < 0))
            best = i;
    return best;
}

/* Groups in their order, each with its leader first. */
static enum pm_status arrange(struct judging *judging, struct pm_error *err)
{
    struct pm_limits_found *found = &judging->found;
    size_t count = 0, written = 0;
    struct sorting *order = pm_alloc_array(found->count + 1, sizeof *order);
    struct pm_finding_rule *sorted = pm_alloc_array(found->count + 1, sizeof *sorted);
    if (order == NULL || sorted == NULL) {
        pm_free(order);
        pm_free(sorted);
        return pm_fail_memory(err);
    }
    for (size_t i = 0; i < found->count; i++)
        if (found->items[i].group == i) {
            struct pm_finding_rule *leader = &found->items[leader_of(found, i)];
            leader->leads = leader->rule->kind != PM_RULE_CHECK;
            order[count++] = (struct sorting){rank(leader), pm_finding_used(leader), i};
        }
    qsort(order, count, sizeof *order, by_leader);
    for (size_t g = 0; g < count; g++) {
        size_t leader = leader_of(found, order[g].group);
        sorted[written++] = found->items[leader];
        for (size_t i = 0; i < found->count; i++)
            if (i != leader && found->items[i].group == order[g].group)
                sorted[written++] = found->items[i];
    }
    if (found->count > 0)
        memcpy(found->items, sorted, found->count * sizeof *sorted);
    pm_free(order);
    pm_free(sorted);
    return PM_OK;
}

static size_t longest(const struct pm_book *book)
{
    size_t most = 1;
    for (size_t i = 0; i < book->count; i++) {
        const struct pm_book_rule *rule = &book->items[i];
        size_t count = rule->member_count;
        for (size_t k = 0; k < rule->of_count; k++)
            count += book->items[rule->of[k]].member_count;
        most = count > most ? count : most;
    }
    return most;
}

static enum pm_status make_room(struct judging *judging, struct pm_error *err)
{
    judging->room = longest(judging->book);
    judging->members = pm_alloc_array(judging->room, sizeof *judging->members);
    return judging->members != NULL ? PM_OK : pm_fail_memory(err);
}

enum pm_status pm_book_judge(const struct pm_book *book, const struct pm_exposure *exposure,
                             const struct pm_product *product, pm_strength dosage, added_fn *added,
                             void *context, struct pm_limits_found *out, struct pm_error *err)
{
    struct judging judging = {book, exposure, product, dosage, added, context, NULL, 0, {0}};
    enum pm_status status = make_room(&judging, err);
    for (size_t i = 0; i < book->count && status == PM_OK; i++)
        status = judge_rule(&judging, &book->items[i], err);
    number_groups(&judging);
    if (status == PM_OK)
        status = arrange(&judging, err);
    pm_free(judging.members);
    pm_list_give(&judging.found, status, out);
    return status;
}

/* ---- the label ------------------------------------------------------------------------------- */

static int by_name(const void *left, const void *right)
{
    const struct pm_label_row *a = left, *b = right;
    return strcmp(a->rule->name, b->rule->name);
}

static enum pm_status label_rule(struct judging *judging, const struct pm_book_rule *rule,
                                 struct pm_label_rows *out, struct pm_error *err)
{
    struct pm_label_row made = {.rule = rule};
    struct pm_judgement judgement;
    bool speaks;
    made.figure = pm_rule_figure(rule, judging->product, &made.threshold, &speaks);
    made.doubt = doubted(rule, judging->exposure);
    if (rule->kind != PM_RULE_DECLARE || !speaks)
        return PM_OK;
    for (size_t i = 0; i < rule->member_count; i++)
        judging->members[i] = (struct pm_rule_member){rule->members[i], PM_UNKNOWN};
    const struct pm_rule judged = {rule->kind, judging->members, rule->member_count,
                                   made.threshold};
    pm_rule_judge(&judged, judging->exposure, judging->dosage, NULL, NULL, &judgement);
    if (!judgement.present && !made.doubt)
        return PM_OK;
    made.percent = judgement.percent;
    made.verdict = judgement.declare                                       ? PM_LABEL_DECLARE
                   : judgement.verdict == PM_VERDICT_UNKNOWN || made.doubt ? PM_LABEL_UNKNOWN
                                                                           : PM_LABEL_BELOW;
    struct pm_label_row *row = pm_list_add(out);
    if (row == NULL)
        return pm_fail_memory(err);
    *row = made;
    return PM_OK;
}

enum pm_status pm_book_label(const struct pm_book *book, const struct pm_exposure *exposure,
                             const struct pm_product *product, pm_strength dosage,
                             struct pm_label_rows *out, struct pm_error *err)
{
    struct judging judging = {book, exposure, product, dosage, NULL, NULL, NULL, 0, {0}};
    struct pm_label_rows made = {0};
    enum pm_status status = make_room(&judging, err);
    for (size_t i = 0; i < book->count && status == PM_OK; i++)
        status = label_rule(&judging, &book->items[i], &made, err);
    if (made.count > 1)
        qsort(made.items, made.count, sizeof *made.items, by_name);
    pm_free(judging.members);
    pm_list_give(&made, status, out);
    return status;
}
