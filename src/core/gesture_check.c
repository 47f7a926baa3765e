/* SPDX-License-Identifier: MIT */
/*
 * What the rules promise for a gesture, verified from the two states alone. None of the code that
 * re-balances is used here: the rules are said a second time, in another way, so that a mistake in
 * one of the two is found.
 */
#include "permille/base/map.h"
#include "permille/core/gesture.h"

#include "permille/base/mem.h"
#include "permille/base/word.h"

/* What a line is to the gesture. */
enum role {
    ROLE_OTHER,   /* one of those that may have to give way */
    ROLE_MEANT,   /* the line itself */
    ROLE_WITH_IT, /* in one core with it, before or after */
    ROLE_NEW      /* stands only after */
};

/* One line after, beside itself before. */
struct seen {
    const struct pm_line *was; /* NULL when it is new */
    const struct pm_line *now;
    enum role role;
};

struct checking {
    const struct pm_gesture *gesture;
    const struct pm_trial *before, *after;
    struct seen *seen; /* owned; one per line after */
    struct pm_error *err;
};

static enum pm_status broken(const struct checking *c, const char *promise)
{
    return pm_fail(c->err, PM_DAMAGED, "After %s: %s.", pm_gesture_word(c->gesture->kind), promise);
}

static enum pm_status broken_at(const struct checking *c, size_t place, const char *promise)
{
    return pm_fail(c->err, PM_DAMAGED, "After %s, line %zu: %s.", pm_gesture_word(c->gesture->kind),
                   place + 1, promise);
}

/* The id of the line meant, for the kinds that mean one; 0 for the others. */
static int64_t line_meant(const struct pm_gesture *gesture)
{
    switch (gesture->kind) {
    case PM_ADD:
    case PM_FORM_CORE:
    case PM_SET_MODE:
    case PM_SET_BASE:
    case PM_SETTLE:
    case PM_FOLD:
    case PM_BRANCH:
        return 0;
    default:
        return gesture->line;
    }
}

static bool names_line(const struct pm_gesture *gesture, int64_t id)
{
    if (gesture->kind == PM_FORM_CORE || gesture->kind == PM_FOLD) {
        for (size_t i = 0; i < gesture->line_count; i++)
            if (gesture->lines[i] == id)
                return true;
        return false;
    }
    return line_meant(gesture) == id;
}

/* The cores the line meant stood in before and stands in after; 0 for none. */
static int meant_core(const struct checking *c, const struct pm_trial *trial)
{
    long place = pm_trial_find(trial, line_meant(c->gesture));
    return place < 0 ? 0 : trial->lines[place].core;
}

static enum pm_status match(struct checking *c)
{
    struct pm_map places = {0};
    bool fits = true;
    for (size_t i = 0; i < c->before->count && fits; i++)
        fits = pm_map_put_place(&places, c->before->lines[i].id, i);
    int core = meant_core(c, c->before);
    for (size_t i = 0; i < c->after->count && fits; i++) {
        struct seen *seen = &c->seen[i];
        seen->now = &c->after->lines[i];
        size_t place = pm_map_place(&places, seen->now->id);
        seen->was = place == PM_MAP_NONE ? NULL : &c->before->lines[place];
        if (seen->was == NULL)
            seen->role = ROLE_NEW;
        else if (names_line(c->gesture, seen->now->id))
            seen->role = ROLE_MEANT;
        else if (core != 0 && seen->was->core == core)
            seen->role = ROLE_WITH_IT;
    }
    pm_map_release(&places);
    return fits ? PM_OK : pm_fail_memory(c->err);
}

/* ---- what a line is ---- */

static enum pm_status check_identity(const struct checking *c, size_t place)
{
    const struct seen *seen = &c->seen[place];
    enum pm_gesture_kind kind = c->gesture->kind;
    if (seen->was == NULL)
        return PM_OK;
    const struct pm_line *was = seen->was;
    const struct pm_line *now = seen->now;
    bool meant = seen->role == ROLE_MEANT;
    bool near = meant || seen->role == ROLE_WITH_IT;
    if ((was->kind != now->kind || was->ref != now->ref) && !(meant && kind == PM_SWAP))
        return broken_at(c, place, "it became something else");
    if ((was->strength != now->strength || was->solvent != now->solvent) &&
        !(meant && (kind == PM_SWAP || kind == PM_RESTRENGTH)))
        return broken_at(c, place, "its strength changed");
    if (!pm_same_text(was->comment, now->comment) && !(meant && kind == PM_COMMENT))
        return broken_at(c, place, "its comment changed");
    bool freed_carrier = kind == PM_SET_STANCE && was->stance == PM_CARRIER &&
                         now->stance == PM_FREE && c->gesture->stance == PM_CARRIER;
    if (was->stance != now->stance && !freed_carrier &&
        !(near && (kind == PM_SET_STANCE || kind == PM_FORM_CORE)))
        return broken_at(c, place, "its stance changed");
    bool core_moves =
        kind == PM_FORM_CORE || kind == PM_BREAK_CORE || kind == PM_LEAVE_CORE || kind == PM_DROP;
    if (was->core != now->core && !(near && core_moves))
        return broken_at(c, place, "its core changed");
    bool follows = kind == PM_SWAP && near && !c->gesture->same_neat;
    if (was->core == now->core && was->weight != now->weight && !follows)
        return broken_at(c, place, "its number in the core's ratio changed");
    return PM_OK;
}

/* ---- what a line remembers ---- */

static bool is_free(const struct pm_line *line)
{
    return line->stance == PM_FREE || line->stance == PM_CARRIER;
}

/* Weights may all be moved by one power of two. */
static bool same_share(const struct checking *c, struct pm_weight was, struct pm_weight now)
{
    if (pm_weight_equal(was, now))
        return true;
    int64_t moved = now.power - was.power;
    return was.digits == now.digits && (moved > 1000 || moved < -1000) &&
           c->after->scale.power < PM_POWER_ZERO + 64 && c->after->scale.power > PM_POWER_ZERO - 64;
}

/* Whether the line's share may change though the gesture is about another. */
static bool share_may_move(const struct checking *c, const struct seen *seen)
{
    switch (c->after->mode) {
    case PM_CORE_MODE:
        return seen->now->core != 0 || seen->now->stance == PM_CARRIER;
    case PM_SHARE:
    case PM_CARRIER_MODE:
    case PM_OPEN:
        break;
    }
    return seen->now->stance == PM_CARRIER;
}

static enum pm_status check_memory(const struct checking *c, size_t place)
{
    const struct seen *seen = &c->seen[place];
    enum pm_gesture_kind kind = c->gesture->kind;
    if (seen->was == NULL)
        return PM_OK;
    bool near = seen->role != ROLE_OTHER;
    bool rested_may =
        kind == PM_SET_BASE || (near && (kind == PM_SET_STANCE || pm_gesture_sets_amount(kind) ||
                                         kind == PM_RESTRENGTH || kind == PM_SWAP));
    if (seen->was->rested != seen->now->rested && !rested_may)
        return broken_at(c, place, "what it rests with changed");
    if (!near && is_free(seen->was) && is_free(seen->now) && !share_may_move(c, seen) &&
        !same_share(c, seen->was->share, seen->now->share))
        return broken_at(c, place, "its share changed though another line was meant");
    return PM_OK;
}

/* ---- sums of units ---- */

/* What the unit that the line at `place` is in after has and weighs; counted at its first line
 * only. Units are those after: a line that left its core counts alone. */
struct unit_sum {
    bool first;
    pm_parts now;
    struct pm_weight weight;
};

typedef struct pm_weight weigher(const struct checking *c, const struct seen *seen);

/* A line by its share as it is remembered after; a held one by its parts before. */
static struct pm_weight weigh_after(const struct checking *c, const struct seen *seen)
{
    if (seen->now->stance == PM_HELD && seen->was != NULL)
        return pm_trial_worth(c->before, seen->was->parts);
    return seen->now->share;
}

/* What a unit of these lines weighs poured, for one neat: of a line alone, or by a core's ratio. */
static struct pm_weight poured(const struct pm_line *line)
{
    struct pm_line alone = {.weight = 1, .strength = line->strength};
    return pm_line_poured(line->core != 0 ? line : &alone);
}

/* How much more is poured of the unit of the line meant, its neat parts kept. */
static struct pm_weight poured_more(const struct checking *c)
{
    struct pm_weight was = {0, 0}, now = {0, 0};
    for (size_t i = 0; i < c->after->count; i++) {
        if (c->seen[i].role == ROLE_MEANT || c->seen[i].role == ROLE_WITH_IT) {
            was = pm_weight_plus(was, poured(c->seen[i].was));
            now = pm_weight_plus(now, poured(c->seen[i].now));
        }
    }
    return pm_weight_over(now, was);
}

/* A line by its share before, those of the unit meant by what it comes to. */
static struct pm_weight weigh_neat(const struct checking *c, const struct seen *seen)
{
    struct pm_weight weight = seen->was->stance == PM_HELD
                                  ? pm_trial_worth(c->before, seen->was->parts)
                                  : seen->was->share;
    return seen->role == ROLE_OTHER ? weight : pm_weight_times(weight, poured_more(c));
}

static void sum_units(const struct checking *c, weigher *weigh, struct unit_sum *units)
{
    size_t first_of[PM_CORE_MAX + 1];
    for (size_t i = 0; i <= PM_CORE_MAX; i++)
        first_of[i] = PM_MAP_NONE;
    for (size_t i = 0; i < c->after->count; i++) {
        int core = c->after->lines[i].core;
        size_t first = core == 0 || first_of[core] == PM_MAP_NONE ? i : first_of[core];
        first_of[core] = first;
        units[i].first = first == i;
        units[first].now += c->seen[i].now->parts;
        units[first].weight = pm_weight_plus(units[first].weight, weigh(c, &c->seen[i]));
    }
}

/* Whether parts lie within a micro-part of the exact amount. Both in 2^-16 of a micro-part. */
static bool within_one(pm_parts parts, struct pm_weight exact)
{
    int64_t off = (parts << 16) - pm_weight_round(exact, 16);
    return off <= (1 << 16) + 16 && -off <= (1 << 16) + 16;
}

/* Each marked unit is within one micro-part of its share of what the marked ones have together. */
static enum pm_status check_shares(const struct checking *c, const struct unit_sum *units,
                                   const bool *marked)
{
    pm_parts now = 0;
    struct pm_weight sum = {0, 0};
    for (size_t i = 0; i < c->after->count; i++) {
        if (units[i].first && marked[i]) {
            now += units[i].now;
            sum = pm_weight_plus(sum, units[i].weight);
        }
    }
    for (size_t i = 0; i < c->after->count && !pm_weight_none(sum); i++) {
        if (!units[i].first || !marked[i])
            continue;
        struct pm_weight exact =
            pm_weight_over(pm_weight_times(pm_weight_of(now), units[i].weight), sum);
        if (!within_one(units[i].now, exact))
            return broken_at(c, i, "it is off its share by more than a micro-part");
    }
    return PM_OK;
}

/* ---- who may move ---- */

/* Only lines the gesture means (with their core) and, if allowed, the carrier have other parts. */
static enum pm_status check_still(const struct checking *c, bool carrier_may)
{
    for (size_t i = 0; i < c->after->count; i++) {
        const struct seen *seen = &c->seen[i];
        if (seen->role == ROLE_OTHER && seen->was->parts != seen->now->parts &&
            !(carrier_may && seen->now->stance == PM_CARRIER))
            return broken_at(c, i, "it moved though it had to stand still");
    }
    return PM_OK;
}

static enum pm_status check_nothing_moved(const struct checking *c)
{
    for (size_t i = 0; i < c->after->count; i++) {
        const struct seen *seen = &c->seen[i];
        if (seen->was != NULL && seen->was->parts != seen->now->parts)
            return broken_at(c, i, "its parts changed");
    }
    return PM_OK;
}

static enum pm_status check_held(const struct checking *c)
{
    for (size_t i = 0; i < c->after->count; i++) {
        const struct seen *seen = &c->seen[i];
        if (seen->role == ROLE_OTHER && seen->was->stance == PM_HELD &&
            seen->was->parts != seen->now->parts)
            return broken_at(c, i, "it is held, yet it moved");
    }
    return PM_OK;
}

/* Whether the line is one that might give way. */
static bool may_give(const struct checking *c, size_t place)
{
    const struct seen *seen = &c->seen[place];
    bool left = c->gesture->kind == PM_DROP && seen->role == ROLE_WITH_IT;
    return (seen->role == ROLE_OTHER || left) && is_free(seen->now);
}

/* In core mode: whether there is a core to give way. */
static bool cores_give(const struct checking *c)
{
    if (c->after->mode != PM_CORE_MODE)
        return false;
    for (size_t i = 0; i < c->after->count; i++)
        if (may_give(c, i) && c->seen[i].now->core != 0 && c->seen[i].was->parts > 0)
            return true;
    return false;
}

enum moving { MOVE_GIVERS, MOVE_ALL, MOVE_NEAT };

/* All units that move did so in proportion. */
static enum pm_status check_proportion(const struct checking *c, enum moving moving)
{
    size_t count = c->after->count;
    struct unit_sum *units = pm_alloc_array(count, sizeof *units);
    bool *marked = pm_alloc_array(count, sizeof *marked);
    bool cores = moving == MOVE_GIVERS && cores_give(c);
    enum pm_status status = PM_OK;
    if (units == NULL || marked == NULL) {
        status = pm_fail_memory(c->err);
    } else {
        sum_units(c, moving == MOVE_NEAT ? weigh_neat : weigh_after, units);
        for (size_t i = 0; i < count; i++) {
            marked[i] =
                moving != MOVE_GIVERS || (may_give(c, i) && (!cores || c->seen[i].now->core != 0));
        }
        status = check_shares(c, units, marked);
    }
    pm_free(units);
    pm_free(marked);
    return status;
}

/* Lines outside cores stand where cores give way. */
static enum pm_status check_outside(const struct checking *c)
{
    for (size_t i = 0; i < c->after->count; i++) {
        const struct seen *seen = &c->seen[i];
        if (seen->role == ROLE_OTHER && seen->now->core == 0 &&
            seen->was->parts != seen->now->parts)
            return broken_at(c, i, "it moved though the cores had to");
    }
    return PM_OK;
}

/* The others gave way as the mode says. */
static enum pm_status check_giving_way(const struct checking *c)
{
    if (c->gesture->kind != PM_SETTLE && (c->after->mode == PM_OPEN || !c->after->settled))
        return check_still(c, false);
    if (c->after->mode == PM_CARRIER_MODE)
        return check_still(c, true);
    if (check_still(c, false) == PM_OK)
        return PM_OK;
    enum pm_status status = check_held(c);
    if (status == PM_OK && cores_give(c))
        status = check_outside(c);
    return status == PM_OK ? check_proportion(c, MOVE_GIVERS) : status;
}

/* ---- one per group of kinds ---- */

static enum pm_status check_settling(const struct checking *c)
{
    if (c->gesture->kind == PM_SETTLE && pm_trial_total(c->after) != c->after->base)
        return broken(c, "the total is not the base");
    bool settles = c->gesture->kind == PM_SETTLE ||
                   (c->after->mode != PM_OPEN && pm_trial_total(c->before) > c->before->base);
    return settles && pm_trial_total(c->before) != c->before->base ? check_giving_way(c)
                                                                   : check_nothing_moved(c);
}

static enum pm_status check_amount(const struct checking *c)
{
    bool set = false;
    for (size_t i = 0; i < c->after->count; i++) {
        enum role role = c->seen[i].role;
        bool wanted = c->gesture->kind == PM_ADD ? role == ROLE_NEW : role == ROLE_MEANT;
        set = set || wanted;
        if (wanted && c->seen[i].now->stance != PM_RESTING &&
            (c->gesture->kind == PM_ADD || c->gesture->kind == PM_SET) &&
            c->seen[i].now->parts != c->gesture->parts)
            return broken_at(c, i, "it is not at what it was set to");
    }
    return set ? check_giving_way(c) : broken(c, "the line is not there");
}

static enum pm_status check_form_core(const struct checking *c)
{
    enum pm_status status = check_still(c, false);
    if (status == PM_OK && pm_trial_total(c->before) != pm_trial_total(c->after))
        status = broken(c, "the total changed");
    return status;
}

/* Neat parts of the line meant stay within rounding: a micro-part poured, or one neat where a core
 * has to be kept in ratio. */
static bool neat_stays(const struct checking *c, const struct seen *seen)
{
    if (seen->now->stance == PM_RESTING)
        return true;
    struct pm_weight exact = seen->was->stance == PM_HELD
                                 ? pm_weight_of(seen->was->parts)
                                 : pm_weight_over(seen->was->share, c->before->scale);
    exact = pm_weight_over(pm_weight_times(exact, pm_weight_of(seen->was->strength)),
                           pm_weight_of(seen->now->strength));
    if (seen->now->core == 0)
        return within_one(seen->now->parts, exact);
    int64_t off = seen->now->parts - pm_weight_round(exact, 0);
    int64_t room = 3 + 2 * seen->was->strength / seen->now->strength;
    return off <= room && -off <= room;
}

/* Nothing but the line, its core and the carrier moved, and the neat parts stayed. */
static bool only_line_moved(const struct checking *c)
{
    for (size_t i = 0; i < c->after->count; i++) {
        const struct seen *seen = &c->seen[i];
        pm_parts moved = seen->now->parts - seen->was->parts;
        if (seen->role == ROLE_MEANT ? !neat_stays(c, seen)
                                     : moved != 0 && seen->now->stance != PM_CARRIER) {
            bool rounding = seen->role == ROLE_WITH_IT && moved >= -2 && moved <= 2;
            if (!rounding || seen->role == ROLE_MEANT)
                return false;
        }
    }
    return true;
}

static enum pm_status check_restrength(const struct checking *c)
{
    if (only_line_moved(c))
        return PM_OK;
    if (c->after->mode == PM_OPEN || !c->after->settled)
        return broken(c, "lines moved that had to stand still");
    if (!c->gesture->move_held) {
        enum pm_status status = check_held(c);
        if (status != PM_OK)
            return status;
    }
    return check_proportion(c, MOVE_NEAT);
}

static enum pm_status check_fold(const struct checking *c)
{
    enum pm_status status = check_nothing_moved(c);
    if (status == PM_OK && pm_trial_total(c->before) != pm_trial_total(c->after))
        status = broken(c, "the total changed");
    return status;
}

static enum pm_status check_unfold(const struct checking *c)
{
    enum pm_status status = check_fold(c);
    const struct pm_trial *content = c->gesture->content;
    size_t fresh = 0;
    for (size_t i = 0; i < c->after->count; i++)
        fresh += c->seen[i].role == ROLE_NEW;
    if (status == PM_OK && (content == NULL || fresh != content->count))
        status = broken(c, "it did not bring all its lines");
    return status;
}

/* Resting takes a unit out and waking brings it back; other stances move nothing. */
static enum pm_status check_stance(const struct checking *c)
{
    bool moves = false;
    for (size_t i = 0; i < c->after->count; i++) {
        const struct seen *seen = &c->seen[i];
        bool rested = seen->was->stance == PM_RESTING;
        bool rests = seen->now->stance == PM_RESTING;
        if (seen->role == ROLE_OTHER || rested == rests)
            continue;
        moves = true;
        pm_parts had = rests ? seen->was->parts : seen->was->rested;
        pm_parts has = rests ? seen->now->rested : seen->now->parts;
        pm_parts room = rests || seen->now->core == 0 ? 0 : 2;
        if (has - had > room || had - has > room)
            return broken_at(c, i, "it did not keep its amount");
    }
    return moves ? check_giving_way(c) : check_nothing_moved(c);
}

/* A line by what it exactly comes to on the new base, in micro-parts. */
static struct pm_weight weigh_rescaled(const struct checking *c, const struct seen *seen)
{
    struct pm_weight amount = seen->was->stance == PM_HELD
                                  ? pm_weight_of(seen->was->parts)
                                  : pm_weight_over(seen->was->share, c->before->scale);
    return pm_weight_over(pm_weight_times(amount, pm_weight_of(c->after->base)),
                          pm_weight_of(c->before->base));
}

static bool carrier_gives(const struct checking *c)
{
    bool there = false;
    for (size_t i = 0; i < c->after->count; i++)
        there = there || c->after->lines[i].stance == PM_CARRIER;
    return there && c->after->mode == PM_CARRIER_MODE;
}

/* Whether every unit but those that give way came to its own exact amount, and all in sum to what
 * they have to. */
static bool each_rescaled(const struct checking *c, const struct unit_sum *units)
{
    bool cores = cores_give(c), carrier = carrier_gives(c);
    for (size_t i = 0; i < c->after->count; i++) {
        const struct pm_line *line = c->seen[i].now;
        bool gives =
            carrier ? line->stance == PM_CARRIER : is_free(line) && (!cores || line->core != 0);
        bool stands = !c->after->settled || !gives;
        if (units[i].first && stands && !within_one(units[i].now, units[i].weight))
            return false;
    }
    return c->after->settled || !c->before->settled;
}

/* Each unit came to its exact amount, and what gives way took up the roundings; where that cannot
 * be, all moved in proportion. */
static enum pm_status check_base(const struct checking *c)
{
    struct unit_sum *units = pm_alloc_array(c->after->count, sizeof *units);
    if (units == NULL)
        return pm_fail_memory(c->err);
    sum_units(c, weigh_rescaled, units);
    bool each = each_rescaled(c, units);
    pm_free(units);
    if (!each)
        return check_proportion(c, MOVE_ALL);
    bool stands = !c->after->settled || carrier_gives(c);
    return stands ? PM_OK : check_proportion(c, MOVE_GIVERS);
}

static enum pm_status check_kind(const struct checking *c)
{
    switch (c->gesture->kind) {
    case PM_SET:
    case PM_NUDGE:
    case PM_SCALE:
    case PM_ADD:
        return check_amount(c);
    case PM_DROP:
        return check_giving_way(c);
    case PM_SET_MODE:
    case PM_SETTLE:
        return check_settling(c);
    case PM_SET_BASE:
        return check_base(c);
    case PM_SWAP:
        return c->gesture->same_neat ? check_restrength(c) : check_nothing_moved(c);
    case PM_RESTRENGTH:
        return check_restrength(c);
    case PM_FORM_CORE:
        return check_form_core(c);
    case PM_LEAVE_CORE:
        return check_still(c, false);
    case PM_FOLD:
        return check_fold(c);
    case PM_UNFOLD:
        return check_unfold(c);
    case PM_SET_STANCE:
        return check_stance(c);
    case PM_BREAK_CORE:
    case PM_MOVE:
    case PM_COMMENT:
    case PM_BRANCH:
        break;
    }
    return check_nothing_moved(c);
}

static enum pm_status check_all(struct checking *c)
{
    enum pm_status status = match(c);
    for (size_t i = 0; i < c->after->count && status == PM_OK; i++)
        status = check_identity(c, i);
    for (size_t i = 0; i < c->after->count && status == PM_OK; i++)
        status = check_memory(c, i);
    if (status == PM_OK && c->gesture->kind != PM_SET_BASE && c->before->base != c->after->base)
        status = broken(c, "the base changed");
    if (status == PM_OK && c->gesture->kind != PM_SET_MODE && c->before->mode != c->after->mode)
        status = broken(c, "the mode changed");
    return status == PM_OK ? check_kind(c) : status;
}

enum pm_status pm_gesture_check(const struct pm_gesture *gesture, const struct pm_trial *before,
                                const struct pm_trial *after, struct pm_error *err)
{
    enum pm_status status = pm_trial_check(after, err);
    if (status != PM_OK || gesture->kind == PM_BRANCH)
        return status; /* a branch has nothing to do with the trial before */
    struct checking c = {gesture, before, after, NULL, err};
    if (after->next_id < before->next_id)
        return broken(&c, "ids of lines could be used twice");
    c.seen = pm_alloc_array(after->count, sizeof *c.seen);
    if (c.seen == NULL)
        return pm_fail_memory(err);
    status = check_all(&c);
    pm_free(c.seen);
    return status;
}
