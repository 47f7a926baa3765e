/* SPDX-License-Identifier: MIT */
/*
 * The history's sentences. A namer's string lasts only until its next call, so every name goes into
 * the text at once.
 */
#include "permille/core/gesture.h"

#include "permille/base/utf8.h"

#include <string.h>

#define NAMES_SHOWN   4  /* of a longer list; the rest are counted */
#define COMMENT_CELLS 60 /* of a comment quoted */

/* What a sentence is made from. */
struct saying {
    const struct pm_gesture *gesture;
    const struct pm_trial *before, *after;
    struct pm_effect effect;
    const struct pm_namer *namer;
    struct pm_text *out;
};

static void say_ref(const struct saying *s, enum pm_line_kind kind, int64_t ref)
{
    const char *name = s->namer->name(s->namer->context, kind, ref);
    pm_text_add(s->out, name != NULL ? name : "something unknown");
}

static const struct pm_line *line_in(const struct pm_trial *trial, int64_t id)
{
    long place = pm_trial_find(trial, id);
    return place < 0 ? NULL : &trial->lines[place];
}

static void say_line(const struct saying *s, const struct pm_line *line)
{
    if (line == NULL)
        pm_text_add(s->out, "a line");
    else
        say_ref(s, line->kind, line->ref);
}

static void say_parts(const struct saying *s, pm_parts parts)
{
    char buf[PM_AMOUNT_TEXT];
    pm_text_add(s->out, pm_decimal_exact(parts, 6, '.', buf));
}

static void say_strength(const struct saying *s, pm_strength strength, int64_t solvent)
{
    char buf[PM_AMOUNT_TEXT];
    pm_text_add(s->out, pm_strength_format(strength, '.', buf));
    if (solvent != 0) {
        pm_text_add(s->out, " in ");
        say_ref(s, PM_LINE_MATERIAL, solvent);
    }
}

static void say_core(const struct saying *s, int core)
{
    char buf[4];
    pm_text_addf(s->out, "core %s", pm_core_letter(core, buf));
}

static void say_count(const struct saying *s, size_t count)
{
    pm_text_addf(s->out, "%zu %s", count, count == 1 ? "line" : "lines");
}

static void say_from_to(const struct saying *s, pm_parts was, pm_parts now)
{
    if (was == now) {
        pm_text_add(s->out, " as it was, ");
        say_parts(s, now);
        return;
    }
    pm_text_add(s->out, " from ");
    say_parts(s, was);
    pm_text_add(s->out, " to ");
    say_parts(s, now);
}

/* ---- lists of names ---- */

static void say_nth(const struct saying *s, const struct pm_line *line, size_t nth, size_t count)
{
    size_t shown = count > NAMES_SHOWN ? NAMES_SHOWN : count;
    if (nth >= shown)
        return;
    if (nth > 0)
        pm_text_add(s->out, nth + 1 == count ? " and " : ", ");
    say_line(s, line);
    if (nth + 1 == shown && count > shown)
        pm_text_addf(s->out, " and %zu more", count - shown);
}

static void say_chosen(const struct saying *s)
{
    const struct pm_gesture *gesture = s->gesture;
    for (size_t i = 0; i < gesture->line_count; i++)
        say_nth(s, line_in(s->before, gesture->lines[i]), i, gesture->line_count);
}

static void say_core_lines(const struct saying *s, int core)
{
    size_t count = 0;
    for (size_t i = 0; i < s->before->count; i++)
        count += s->before->lines[i].core == core;
    size_t nth = 0;
    for (size_t i = 0; i < s->before->count; i++)
        if (s->before->lines[i].core == core)
            say_nth(s, &s->before->lines[i], nth++, count);
}

static void say_ratio(const struct saying *s)
{
    for (size_t i = 0; i < s->gesture->line_count && i < NAMES_SHOWN; i++) {
        const struct pm_line *line = line_in(s->after, s->gesture->lines[i]);
        pm_text_addf(s->out, "%s%lld", i == 0 ? "" : ":",
                     (long long)(line != NULL ? line->weight : 0));
    }
    if (s->gesture->line_count > NAMES_SHOWN)
        pm_text_add(s->out, ":...");
}

/* ---- one per kind ---- */

static void say_amount(const struct saying *s, const char *verb)
{
    const struct pm_line *was = line_in(s->before, s->gesture->line);
    const struct pm_line *now = line_in(s->after, s->gesture->line);
    pm_text_add(s->out, verb);
    say_line(s, was);
    if (was == NULL || now == NULL)
        return;
    if (now->stance == PM_RESTING) {
        pm_text_add(s->out, ", which rests,");
        say_from_to(s, was->rested, now->rested);
    } else {
        say_from_to(s, was->parts, now->parts);
    }
    if (s->gesture->kind == PM_SCALE) {
        pm_text_addf(s->out, " (x %lld/%lld)", (long long)s->gesture->numerator,
                     (long long)s->gesture->denominator);
    }
    if (was->core != 0) {
        pm_text_add(s->out, " with ");
        say_core(s, was->core);
    }
}

static void say_add(const struct saying *s)
{
    const struct pm_line *fresh = &s->gesture->fresh;
    pm_text_add(s->out, "Tucked in ");
    say_parts(s, s->gesture->parts);
    pm_text_add(s->out, " of ");
    say_ref(s, fresh->kind, fresh->ref);
    if (fresh->strength != PM_NEAT) {
        pm_text_add(s->out, " at ");
        say_strength(s, fresh->strength, fresh->solvent);
    }
    if (fresh->stance == PM_HELD)
        pm_text_add(s->out, ", held");
}

static void say_drop(const struct saying *s)
{
    const struct pm_line *line = line_in(s->before, s->gesture->line);
    pm_text_add(s->out, "Dropped ");
    say_line(s, line);
    if (line != NULL) {
        pm_text_add(s->out, " (");
        say_parts(s, line->parts);
        pm_text_add(s->out, ")");
    }
}

static void say_swap(const struct saying *s)
{
    const struct pm_line *was = line_in(s->before, s->gesture->line);
    const struct pm_line *now = line_in(s->after, s->gesture->line);
    pm_text_add(s->out, "Swapped ");
    say_line(s, was);
    pm_text_add(s->out, " for ");
    say_line(s, now);
    if (was == NULL || now == NULL)
        return;
    if (was->strength != now->strength || was->solvent != now->solvent) {
        pm_text_add(s->out, " at ");
        say_strength(s, now->strength, now->solvent);
    }
    if (s->gesture->same_neat) {
        pm_text_add(s->out, ", same neat parts: poured");
        say_from_to(s, was->parts, now->parts);
    }
}

static void say_stance(const struct saying *s)
{
    const struct pm_line *line = line_in(s->before, s->gesture->line);
    static const char *const verbs[] = {[PM_FREE] = "Freed ",
                                        [PM_HELD] = "Held ",
                                        [PM_CARRIER] = "Made ",
                                        [PM_RESTING] = "Rested "};
    const struct pm_line *now = line_in(s->after, s->gesture->line);
    enum pm_stance stance = now != NULL ? now->stance : s->gesture->stance;
    bool wakes = line != NULL && line->stance == PM_RESTING && stance != PM_RESTING;
    pm_text_add(s->out, wakes ? "Brought back " : verbs[stance]);
    say_line(s, line);
    if (line != NULL && line->core != 0) {
        pm_text_add(s->out, " with ");
        say_core(s, line->core);
    }
    if (wakes && now != NULL) {
        pm_text_add(s->out, " at ");
        say_parts(s, now->parts);
        if (stance != PM_FREE)
            pm_text_addf(s->out, ", %s", stance == PM_HELD ? "held" : "the carrier");
    } else if (stance == PM_CARRIER) {
        pm_text_add(s->out, line != NULL && line->stance == PM_HELD ? " the carrier, no longer held"
                                                                    : " the carrier");
    } else if (stance == PM_RESTING && line != NULL && now != NULL) {
        pm_text_add(s->out, " (");
        say_parts(s, now->rested);
        pm_text_add(s->out, ")");
    } else if (stance == PM_HELD && line != NULL && line->core == 0) {
        pm_text_add(s->out, " at ");
        say_parts(s, line->parts);
    }
}

static void say_form_core(const struct saying *s)
{
    const struct pm_line *first =
        s->gesture->line_count > 0 ? line_in(s->after, s->gesture->lines[0]) : NULL;
    pm_text_add(s->out, "Formed ");
    say_core(s, first != NULL ? first->core : 0);
    pm_text_add(s->out, " of ");
    say_chosen(s);
    if (s->gesture->weights != NULL) {
        pm_text_add(s->out, " in the ratio ");
        say_ratio(s);
    } else {
        pm_text_add(s->out, " in the ratio they stood in");
    }
}

static void say_core_end(const struct saying *s)
{
    const struct pm_line *line = line_in(s->before, s->gesture->line);
    int core = line != NULL ? line->core : 0;
    if (s->gesture->kind == PM_LEAVE_CORE) {
        pm_text_add(s->out, "Took ");
        say_line(s, line);
        pm_text_add(s->out, " out of ");
        say_core(s, core);
        return;
    }
    pm_text_add(s->out, "Let ");
    say_core(s, core);
    pm_text_add(s->out, " go: ");
    say_core_lines(s, core);
}

static void say_restrength(const struct saying *s)
{
    const struct pm_line *was = line_in(s->before, s->gesture->line);
    const struct pm_line *now = line_in(s->after, s->gesture->line);
    pm_text_add(s->out, "Changed ");
    say_line(s, was);
    if (was == NULL || now == NULL)
        return;
    pm_text_add(s->out, " from ");
    say_strength(s, was->strength, was->solvent);
    pm_text_add(s->out, " to ");
    say_strength(s, now->strength, now->solvent);
    pm_text_add(s->out, ": poured");
    say_from_to(s, was->parts, now->parts);
}

static void say_fold(const struct saying *s)
{
    pm_text_add(s->out, "Folded ");
    say_chosen(s);
    pm_text_add(s->out, " into ");
    say_ref(s, PM_LINE_ACCORD, s->gesture->fresh.ref);
}

static void say_unfold(const struct saying *s)
{
    pm_text_add(s->out, "Unfolded ");
    say_line(s, line_in(s->before, s->gesture->line));
    pm_text_add(s->out, " into ");
    say_count(s, s->after->count - s->before->count + 1);
}

static void say_move(const struct saying *s)
{
    pm_text_add(s->out, "Moved ");
    say_line(s, line_in(s->before, s->gesture->line));
    pm_text_addf(s->out, " from place %ld to %ld", pm_trial_find(s->before, s->gesture->line) + 1,
                 pm_trial_find(s->after, s->gesture->line) + 1);
}

/* A comment on one line: what breaks lines becomes a space, and a long one is cut. */
static void say_quoted(const struct saying *s, const char *text)
{
    size_t length = pm_utf8_fit(text, COMMENT_CELLS);
    for (size_t i = 0; i < length; i++) {
        unsigned char c = (unsigned char)text[i];
        pm_text_add_char(s->out, c < 0x20 || c == 0x7f ? ' ' : (char)c);
    }
    if (text[length] != '\0')
        pm_text_add(s->out, "...");
}

static void say_comment(const struct saying *s)
{
    const struct pm_line *line = line_in(s->after, s->gesture->line);
    bool gone = line == NULL || line->comment == NULL;
    pm_text_add(s->out, gone ? "Took the comment off " : "Commented ");
    say_line(s, line);
    if (!gone) {
        pm_text_add(s->out, ": ");
        say_quoted(s, line->comment);
    }
}

static void say_branch(const struct saying *s)
{
    if (s->gesture->parent != 0) {
        pm_text_add(s->out, "Started again from ");
        say_ref(s, PM_LINE_ACCORD, s->gesture->parent);
    } else {
        pm_text_add(s->out, "Brought back an earlier state");
    }
    pm_text_add(s->out, ": ");
    say_count(s, s->after->count);
}

/* What happened to the other lines and to the total. */
static void say_effect(const struct saying *s)
{
    const struct pm_effect *effect = &s->effect;
    if (effect->by_carrier) {
        pm_text_add(s->out, "; the carrier took the difference");
    } else if (effect->all_scaled) {
        pm_text_add(s->out, "; every line was scaled by one factor");
    } else if (effect->gave_way > 0) {
        pm_text_add(s->out, "; ");
        say_count(s, effect->gave_way);
        bool whole = s->gesture->kind == PM_SETTLE || s->gesture->kind == PM_SET_MODE ||
                     s->gesture->kind == PM_FORM_CORE || s->gesture->kind == PM_LEAVE_CORE;
        pm_text_add(s->out, whole ? " moved" : " gave way");
    }
    if (effect->lacking > 0) {
        pm_text_add(s->out, "; the carrier cannot pay, ");
        say_parts(s, effect->lacking);
        pm_text_add(s->out, " are lacking: the total is ");
        say_parts(s, pm_trial_total(s->after));
    }
    if (effect->settled_now) {
        pm_text_add(s->out, "; the total reached ");
        say_parts(s, s->after->base);
    }
}

void pm_gesture_say(const struct pm_gesture *gesture, const struct pm_trial *before,
                    const struct pm_trial *after, const struct pm_effect *effect,
                    const struct pm_namer *namer, struct pm_text *out)
{
    struct saying s = {gesture, before, after, {0}, namer, out};
    if (effect != NULL)
        s.effect = *effect;
    switch (gesture->kind) {
    case PM_SET:
        say_amount(&s, "Set ");
        break;
    case PM_NUDGE:
        say_amount(&s, "Nudged ");
        break;
    case PM_SCALE:
        say_amount(&s, "Scaled ");
        break;
    case PM_ADD:
        say_add(&s);
        break;
    case PM_DROP:
        say_drop(&s);
        break;
    case PM_SWAP:
        say_swap(&s);
        break;
    case PM_SET_STANCE:
        say_stance(&s);
        break;
    case PM_FORM_CORE:
        say_form_core(&s);
        break;
    case PM_BREAK_CORE:
    case PM_LEAVE_CORE:
        say_core_end(&s);
        break;
    case PM_SET_MODE:
        pm_text_addf(out, "Changed the mode from %s to %s", pm_mode_word(before->mode),
                     pm_mode_word(after->mode));
        break;
    case PM_SET_BASE:
        pm_text_add(out, "Rescaled the base");
        say_from_to(&s, before->base, after->base);
        return; /* that every line moved goes without saying */
    case PM_SETTLE:
        pm_text_add(out, "Settled the total");
        say_from_to(&s, pm_trial_total(before), pm_trial_total(after));
        s.effect.settled_now = false; /* said already */
        break;
    case PM_RESTRENGTH:
        say_restrength(&s);
        break;
    case PM_FOLD:
        say_fold(&s);
        break;
    case PM_UNFOLD:
        say_unfold(&s);
        break;
    case PM_MOVE:
        say_move(&s);
        break;
    case PM_COMMENT:
        say_comment(&s);
        break;
    case PM_BRANCH:
        say_branch(&s);
        break;
    }
    say_effect(&s);
}
