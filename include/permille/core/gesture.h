/* SPDX-License-Identifier: MIT */
/*
 * Gestures: everything a person can do to a trial, as data, and the one pure function that does it.
 * The bench previews with it at every key, commands and undo go through it, and the history's
 * sentence is made from it.
 *
 * Re-balancing, in the terms of trial.h (units, shares, scale). A set line's unit gets its parts;
 * what the held units and it leave of the base is apportioned over the units that give way, by
 * their shares, with largest remainders, ties to the earlier line.
 *   core     Free cores give way; free lines outside cores keep their parts, and in the exact ratio
 *            of what was typed. Setting a core, the other free cores give way. Where no free core
 *            with parts is left to give way, it is share mode.
 *   share    All other free units give way. Only the set unit's share changes; the scale follows.
 *   carrier  The carrier line takes what is left.
 *   open     Nothing gives way.
 * While the total stays below the base nothing gives way in any mode: the trial is being filled,
 * and a line's share is what it was set to. The gesture that reaches the base settles the trial,
 * and from then on gestures in core, share and carrier mode keep the total.
 *
 * Exactness. Shares are right to 2^-62 of themselves, and their ratio changes by no gesture on
 * other lines but a rounding to that when cores give way. Products with a total are made with the
 * shares aligned to 74 digits or more (pm_weight_align), so a unit's quota is right to 2^-24 of a
 * micro-part; floors and largest remainders then make the sum exact.
 *
 * A millionth for each. A set that would leave a unit that gives way, or a line of a core, with
 * less than a micro-part is refused, naming the most that leaves each its millionth; so is a base
 * on which a line would come to less. Nothing that was something becomes nothing but by being set
 * to 0, dropped or rested.
 *
 * Setting one member of a core moves the whole core (its value is met exactly, the others follow
 * the ratio within a micro-part). Setting a held line is a deliberate act and allowed; it stays
 * held. Setting a resting line sets what it will come back with. Setting the carrier in carrier
 * mode is refused: it is what the others leave; while the trial is still being filled it can be
 * set, up to the base.
 */
#ifndef PERMILLE_CORE_GESTURE_H
#define PERMILLE_CORE_GESTURE_H

#include "permille/base/status.h"
#include "permille/base/text.h"
#include "permille/core/trial.h"

enum pm_gesture_kind {
    PM_SET,   /* line, parts */
    PM_NUDGE, /* line, steps: to the n-th next number of two significant digits, up or down (12 ->
                 13, 19.62 -> 20, 0.35 -> 0.36) */
    PM_SCALE, /* line, numerator / denominator (both > 0): its parts times that */
    PM_ADD,   /* fresh (kind, ref, strength, solvent, comment), parts, place */
    PM_DROP,  /* line */
    PM_SWAP,  /* line, fresh (kind, ref, strength, solvent), same_neat, move_held */
    PM_SET_STANCE, /* line (its whole core with it), stance, or as_it_was */
    PM_FORM_CORE,  /* lines, weights: the neat ratio (NULL: captured from the parts as they are) */
    PM_BREAK_CORE, /* line: its core is let go, parts stay */
    PM_LEAVE_CORE, /* line: this line alone leaves its core; a core left with one line is let go */
    PM_SET_MODE,   /* mode */
    PM_SET_BASE,   /* parts = new base; everything is rescaled, held lines too */
    PM_SETTLE,     /* brings the total to the base: free units scaled, or the carrier takes it up */
    PM_RESTRENGTH, /* line, strength, solvent, move_held */
    PM_FOLD,       /* lines, fresh.ref = the new accord's kept trial; see pm_fold_content */
    PM_UNFOLD,     /* line (an accord), content = that accord's trial */
    PM_MOVE,       /* line, place: reorder; place is the one it then stands at */
    PM_COMMENT,    /* line, text (NULL or "" takes it away) */
    PM_BRANCH      /* content = a trial to start from, parent = its id (0 keeps the parent) */
};

struct pm_gesture {
    enum pm_gesture_kind kind;
    int64_t line; /* id of the line meant */
    pm_parts parts;
    int steps;
    int64_t numerator, denominator;
    struct pm_line fresh; /* borrowed comment; id, parts, core, weight, stance are ignored,
                             but PM_ADD takes fresh.stance (never PM_CARRIER) */
    size_t place;         /* 0..count; larger means the end */
    bool same_neat;       /* swap: correct the parts for the new strength */
    bool move_held;       /* restrength, swap: held lines may be scaled too */
    bool as_it_was;       /* set stance: a resting line comes back with the stance it had */
    enum pm_stance stance;
    enum pm_mode mode;
    pm_strength strength;
    int64_t solvent;
    const int64_t *lines;   /* borrowed */
    const int64_t *weights; /* borrowed, as many as lines, or NULL */
    size_t line_count;
    const struct pm_trial *content; /* borrowed */
    int64_t parent;
    const char *text; /* borrowed */
};

/* What a gesture did beside the obvious, for the sentence and the status line. */
struct pm_effect {
    pm_parts was, now; /* parts of the line meant, before and after */
    size_t gave_way;   /* other lines whose parts changed */
    bool settled_now;  /* this gesture settled the trial */
    bool by_carrier;   /* the carrier (and only it) gave or took the difference */
    bool by_cores;     /* core mode: cores (and only they) gave or took the difference */
    bool all_scaled;   /* restrength: every unit was scaled by one factor */
    pm_parts lacking;  /* restrength: what a matching carrier could not pay, so the total changed */
    int64_t line;      /* the line to put the cursor on afterwards; 0 none */
};

/*
 * Applies gesture to `before`, giving a new trial in the uninitialised `after` (to be released by
 * the caller). `effect` may be NULL. On failure `after` is initialised and empty, and the sentence
 * says why, with the number that would work where there is one:
 *   PM_REFUSED  held lines leave only X; nothing is free to take up X; the carrier would fall
 *               below zero, the most this line can take is X; no carrier; a core only partly chosen
 *   PM_MISSING  no such line
 *   PM_INVALID  a value out of range
 *   PM_NOMEM
 * Numbers in sentences are in parts of the trial's base, exact, with the decimal sign '.'.
 *
 * Details fixed here so that every front end agrees:
 *   - ADD with parts 0 is allowed (a place to fill later). A place between two lines of one core
 *     becomes the one behind the last of them that follow each other: a core stays together.
 *   - DROP of the carrier in carrier mode of a settled trial is refused (name another first).
 *     Dropping the last line empties the trial; dropping one of a core of two lets the core go.
 *   - SET_MODE from open to another settles at once when the total has reached the base; otherwise
 *     the trial goes on filling. Carrier mode without a carrier line is allowed; gestures that need
 * one are then refused saying so.
 *   - SET_STANCE to carrier frees the former carrier; a core's line cannot be the carrier.
 *   - SET_STANCE to resting takes the unit's parts out as DROP does; from resting to another stance
 *     sets it to what it had. `as_it_was` takes the place of the stance: the one a resting line
 *     had, free where another line has become the carrier; another line stays as it is. The carrier
 * of a settled trial in carrier mode cannot rest.
 *   - SET_BASE brings every unit to its exact amount on the new base, each by itself, so that going
 *     back gives what there was. What roundings leave of a settled trial's total is taken up by
 *     what gives way in its mode (all free units in open mode); where nothing can, by everything.
 *   - FORM_CORE keeps the sum of its lines and brings them into the ratio. It is held when any of
 *     them was. Lines of another core, resting ones and the carrier are refused.
 *   - LEAVE_CORE and DROP may move the rest of the core by a micro-part, to keep its ratio.
 *   - SETTLE in share or open mode scales free units (held lines stay); in core mode cores take the
 *     difference, in carrier mode the carrier. Filling trials settle upwards the same way.
 *   - RESTRENGTH s -> t: parts x s / t. When a carrier line is neat and of the line's (old or new)
 *     solvent, it takes the difference and nothing else moves, in core,
 *     share and carrier mode alike; if it would fall below zero the gesture is refused with the
 * weakest strength that would work. Otherwise all units are scaled by one factor so that every
 * ratio of neat parts stays; held lines make that refuse unless move_held. A line that would come
 * to less than a millionth is refused with the strongest strength that works. In open mode, and
 * while filling below the base, only the line itself changes, and a matching carrier; where that
 * cannot give enough it stays, and the effect says what is lacking. The ratio of a core is neat, so
 * nothing but its poured parts changes.
 *   - SWAP keeps the poured parts, or with same_neat the neat parts (then as RESTRENGTH). The line
 *     keeps its id, stance, core and comment; where the poured parts of a core's line stay, its
 *     number in the ratio follows the strength.
 *   - FOLD refuses resting lines. It puts one accord line with the sum of the chosen lines at the
 * first one's place. Cores must be chosen whole; the carrier cannot be folded in carrier mode; held
 * only if all are.
 *   - UNFOLD replaces an accord line by its trial's lines, apportioned to its parts, cores
 *     renumbered. Stance follows the accord line (held, else as in the accord, a carrier becomes
 *     free). A line in a core must leave it first.
 *   - BRANCH takes everything from content but the line counter, which never goes down.
 */
enum pm_status pm_gesture_apply(const struct pm_gesture *gesture, const struct pm_trial *before,
                                struct pm_trial *after, struct pm_effect *effect,
                                struct pm_error *err);

/*
 * Only the parts line by line, into out[before->count], that an amount gesture
 * (pm_gesture_sets_amount) would give: the live preview, in one block of memory, without building a
 * trial. Same refusals; PM_INVALID for another kind.
 */
enum pm_status pm_gesture_preview(const struct pm_gesture *gesture, const struct pm_trial *before,
                                  pm_parts *out, struct pm_error *err);

/* The composition of the accord that folding these lines makes: same proportions, scaled to `base`,
 * settled, cores kept, all stances free, mode core. */
enum pm_status pm_fold_content(const struct pm_trial *trial, const int64_t *lines,
                               size_t line_count, pm_parts base, struct pm_trial *accord,
                               struct pm_error *err);

/* Verifies that `after` is what the rules promise for `gesture` on `before`: held lines stand,
 * units that give way are within one micro-part of their exact share and the others do not move,
 * cores keep their ratio, shares change only where they may, the sum is exact. For tests; builds
 * with PM_CHECK_GESTURES defined (make asan) run it after every gesture. PM_DAMAGED says which
 * promise broke. */
enum pm_status pm_gesture_check(const struct pm_gesture *gesture, const struct pm_trial *before,
                                const struct pm_trial *after, struct pm_error *err);

/* Names for sentences. Returned strings are borrowed until the next call with the same context. */
struct pm_namer {
    const char *(*name)(void *context, enum pm_line_kind kind, int64_t ref);
    void *context;
};

/* The history's sentence in the past tense, one line, no full stop: "Set Vetiver acetate from 12
 * to 14.5; 6 lines gave way". Complete for every kind. */
void pm_gesture_say(const struct pm_gesture *gesture, const struct pm_trial *before,
                    const struct pm_trial *after, const struct pm_effect *effect,
                    const struct pm_namer *namer, struct pm_text *out);

/* Stable word of a kind for the store and JSON: "set", "nudge", "add", "form-core", "restrength"...
 */
const char *pm_gesture_word(enum pm_gesture_kind kind);

/* Whether all a kind does is to give one line other parts, as PM_SET, PM_NUDGE and PM_SCALE do. */
bool pm_gesture_sets_amount(enum pm_gesture_kind kind);

/* The nudge step for an amount: one unit of its second significant digit, at least a micro-part;
 * for nothing, a tenth of a part. A nudge goes to the next multiple of it, so that the tail which
 * giving way has left goes first (19.62 -> 20, or 19), and then from one to the next; below a power
 * of ten the steps are finer (10 -> 9.9). */
pm_parts pm_nudge_step(pm_parts parts);

#endif
