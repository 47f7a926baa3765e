/* SPDX-License-Identifier: MIT */
/*
 * The scale: balances, weigh-out plans, batches that are poured, over-pours saved, fillings.
 *
 * A batch is a mass of a kept trial. Started, it has a plan: what to weigh from which bottle, line
 * by line; each pour is written at once, to the batch's record and to the bottle's ledger in one
 * transaction, so that it can be gone on with after a crash or a week. Nothing of it is ever
 * changed: a correction names the pour it takes the place of, a way out of an over-pour is a new
 * plan. The record holds what ISO 22716 (cosmetics, good manufacturing practices), as commonly
 * read, asks of one for weighing: the product and its batch number, the formula, each material with
 * its lot and supplier, how much was to be weighed and was, with which balance, by whom, when it
 * began and ended, deviations and what was done about them, corrections that leave the old entry
 * readable, and room for whoever checks it. That makes nobody conform to it.
 */
#ifndef PERMILLE_STUDIO_SCALE_H
#define PERMILLE_STUDIO_SCALE_H

#include "permille/base/text.h"
#include "permille/core/batch.h"
#include "permille/core/cost.h"
#include "permille/core/filling.h"
#include "permille/core/reading.h"
#include "permille/core/rescue.h"
#include "permille/core/weigh_plan.h"
#include "permille/core/weighed.h"
#include "permille/studio/bench.h"
#include "permille/studio/bottles.h"
#include "permille/studio/limits.h"
#include "permille/studio/paper.h"

/* ---- balances ---- */

/* Values by attribute of pm_balance_entity, as typed; NULL leaves one as it is, "" takes it away.
 * The first balance is the one in use. */
enum pm_status pm_balance_add(struct pm_studio *studio, const char *const *values, int64_t *id,
                              struct pm_error *err);
enum pm_status pm_balance_edit(struct pm_studio *studio, int64_t id, const char *const *values,
                               struct pm_error *err);
enum pm_status pm_balance_remove(struct pm_studio *studio, int64_t id, struct pm_error *err);
enum pm_status pm_balances(struct pm_studio *studio, struct pm_balance_rows *out,
                           struct pm_error *err);
enum pm_status pm_balance_find(struct pm_studio *studio, const char *name, int64_t *id,
                               struct pm_error *err);
enum pm_status pm_balance_use(struct pm_studio *studio, int64_t id, struct pm_error *err);

/* ---- a weigh-out plan ---- */

/* How it is weighed, as typed; NULL: as remembered, else the usual. */
struct pm_weigh_how {
    const char *balance;     /* its name; NULL: the one in use, without any 0.01 g */
    const char *readability; /* instead of a balance's */
    const char *least;
    const char *tolerance; /* "2%" */
    const char *order;     /* PM_WEIGH_ORDER_WORDS */
    bool as_it_is;         /* without dilutions that would have to be made first */
    bool cumulative;       /* without taring between the pours */
};

/* Which accords a weight comes from. */
struct pm_weigh_whence {
    const char *made_up;  /* the accord it is the made-up bottle of, "Root/1"; NULL: of none */
    const char **accords; /* those in the trial, at any depth, that have a line of it, or have it as
                             a solvent: "Heart/1"; those poured from bottles are not taken apart */
    size_t accord_count;  /* 0: the trial's own lines alone ask for it */
};
/* "Root/1 made up, for Heart/1", "for Heart/1, Root/1"; nothing where no accord asks for it. */
void pm_weigh_whence_say(const struct pm_weigh_whence *whence, struct pm_text *out);

struct pm_weigh_line {
    int64_t place;                           /* from 1 */
    int64_t line, material, bottle, solvent; /* line: id of the trial's first that asks for it */
    int64_t number;                          /* place of that line in the trial, from 1 */
    const char *name, *solvent_name;         /* solvent_name NULL when neat */
    const char *tall;                        /* the name, large where it differs from one like it */
    const char *label, *lot, *store; /* of the bottle: "B007", its lot, where it stands; or NULL */
    struct pm_weigh_whence whence;
    pm_strength strength;
    pm_mass target;
    int64_t target_ul; /* its volume, microlitres, for whoever uses a pipette; -1: unknown, or less
                          than half of one */
    pm_mass reads;     /* what the display shows then: of this pour, or of all so far */
    double error;      /* relative, k = 2 */
    double share;      /* of the whole formula's uncertainty */
    bool weighable;    /* within the tolerance */
    bool to_make;      /* from a dilution that is to be made first */
};
struct pm_weigh_making_line {
    int64_t material, solvent, from_bottle; /* from_bottle 0: from the dilution before it */
    const char *name, *solvent_name, *from; /* from: "B002", "the 10 % just made" */
    pm_strength from_strength, strength;
    pm_mass target, of_stock;
    int64_t stock_ul, solvent_ul; /* of what the balance shows, microlitres; -1: no density known */
};
struct pm_weighing {
    pm_mass mass;
    const char *title, *balance_name; /* balance_name NULL: none that is kept */
    struct pm_balance balance;
    pm_strength tolerance;
    bool cumulative;
    struct pm_weigh_line *items; /* in the order of pouring */
    size_t count;
    struct pm_weigh_making_line *makings;
    size_t making_count;
    size_t unweighable, missing;
    pm_mass minimum, least, least_made; /* see pm_weigh_plan */
    double combined;
    bool over_capacity; /* more than the balance can carry */
    struct pm_arena arena;
};
void pm_weighing_release(struct pm_weighing *weighing);
/* What to make first, in digits that the balance shows: "Gamma at 10 %: 0.41 g from B003 and 3.69 g
 * of Carrier make 4.10 g". */
void pm_weigh_making_say(const struct pm_weighing *weighing, size_t making, char sign,
                         struct pm_text *out);
/* PM_REFUSED for an empty sheet. */
enum pm_status pm_weigh(struct pm_studio *studio, const struct pm_sheet *sheet, pm_mass mass,
                        const struct pm_weigh_how *how, struct pm_weighing *out,
                        struct pm_error *err);
/* ---- batches ---- */

/* Starts a batch of a kept trial, or a planned one (planned > 0; trial and mass are then its own).
 * PM_REFUSED with what is to be made first, or is not on the shelf, unless how->as_it_is. made_by
 * may be NULL. */
enum pm_status pm_batch_start(struct pm_studio *studio, int64_t planned, int64_t trial,
                              pm_mass mass, const struct pm_weigh_how *how, const char *made_by,
                              int64_t *id, struct pm_error *err);

struct pm_batch_record_line {
    int64_t place, line, number, material, bottle, solvent; /* as in pm_weigh_line */
    const char *name, *tall, *solvent_name, *label, *lot, *store;
    struct pm_weigh_whence whence;
    pm_strength strength;
    pm_mass target, poured, left; /* left: in the bottle now */
    int64_t lack_ul; /* volume of what is still to be poured, microlitres; -1: unknown */
    pm_mass reads;   /* what the display is to show for what is still to be poured */
    pm_mass shows;   /* what it shows with all of this line poured: of it, or, where the plan is
                        cumulative, with all lines before it as they were poured or are meant */
    bool done, over, weighable;
    double deviation;   /* (poured - target) / target; 0 while nothing is poured */
    double error;       /* expected, k = 2 */
    int64_t poured_at;  /* last; 0 */
    int64_t pour;       /* the last one in force; 0 */
    int64_t planned;    /* bottle that the plan meant; 0 */
    pm_mass first;      /* target of the first plan, before any way out */
    pm_parts parts;     /* what it has become in the trial's base, and was meant to be, neat: as */
    pm_parts was_parts; /* parts of the trial; 0 before anything is poured */
};
struct pm_batch_record {
    struct pm_batch batch; /* with its title */
    struct pm_batch_plan plan;
    struct pm_batch_record_line *items; /* by place */
    size_t count;
    size_t next; /* place in items of the first line not done; count: all are */
    size_t over;
    pm_mass target, poured;
    pm_parts base;
    struct pm_batch_plans plans; /* the first one, and what ways out made of it */
    struct pm_batch_pours pours;
    struct pm_batch_events events;
    struct pm_arena arena;
};
/* A batch that was started. */
enum pm_status pm_batch_show(struct pm_studio *studio, int64_t id, struct pm_batch_record *out,
                             struct pm_error *err);
void pm_batch_record_release(struct pm_batch_record *record);

struct pm_pouring {
    int64_t batch, place;
    pm_mass mass;     /* what was poured now, also where the plan is cumulative */
    int64_t bottle;   /* another one than planned, of the same material and strength; 0 */
    bool even_below;  /* also when the ledger falls below zero */
    const char *note; /* or NULL */
    const char *sum;  /* NULL, or what the display shows of all pours together, as typed */
};
/* One pour, durable when it returns. *missing as pm_bottle_take. *over: it is more than was meant.
 */
enum pm_status pm_batch_pour(struct pm_studio *studio, const struct pm_pouring *pouring, bool *over,
                             pm_mass *missing, struct pm_error *err);
/* What was poured of the line as typed: a mass, or a volume where its density is known. */
enum pm_status pm_batch_amount(struct pm_studio *studio, const struct pm_pouring *pouring,
                               const char *text, pm_mass *out, struct pm_error *err);
/* The same of a pour that is to be corrected. */
enum pm_status pm_batch_pour_amount(struct pm_studio *studio, int64_t batch, int64_t pour,
                                    const char *text, pm_mass *out, struct pm_error *err);
/* The bottles a line (its place) can be poured from: of the same material, strength and solvent,
 * with something in them. */
enum pm_status pm_batch_bottles(struct pm_studio *studio, int64_t batch, int64_t place,
                                struct pm_bottles *out, struct pm_error *err);
/* The pour (its number) was in truth so much: a new row in record and ledger names the old one. */
enum pm_status pm_batch_correct(struct pm_studio *studio, int64_t batch, int64_t pour, pm_mass mass,
                                const char *note, struct pm_error *err);
/* Paused, gone on with (PM_BATCH_STARTED), given up, or a note. */
enum pm_status pm_batch_mark(struct pm_studio *studio, int64_t id, enum pm_batch_state kind,
                             const char *text, struct pm_error *err);

struct pm_rescue_step {
    int64_t place, number;
    const char *name;
    pm_mass add;   /* still to be poured, exactly */
    pm_mass reads; /* the same as the display shows it; 0: less than it can show */
    bool in_stock; /* the bottles it can be poured from hold that */
};
struct pm_rescue_offer {
    enum pm_rescue_way way;
    struct pm_rescue_step *items;
    size_t count;
    pm_mass *targets;         /* by line of the record */
    pm_mass total, left_over; /* left_over: excess that cannot be pulled down */
    bool in_stock;            /* all of it */
    enum pm_rescue_sense sense;
    struct pm_sum cost; /* of what is still added beyond the plan */
    size_t unknown;     /* bottles without a price */
};
struct pm_rescue_offers {
    struct pm_rescue_offer items[PM_RESCUE_WAYS]; /* the sensible ones first (core/rescue.h) */
    size_t count;
    pm_mass planned;           /* the batch as it was first planned */
    struct pm_balance balance; /* whose digits masses are shown in */
    struct pm_arena arena;
};
/* Behind `before`, why a way is not sensible: "more than the shelf holds", "53 times the batch:
 * absurd"; nothing of a sensible one. */
void pm_rescue_sense_say(const struct pm_rescue_offers *offers, const struct pm_rescue_offer *offer,
                         char sign, const char *before, struct pm_text *out);
void pm_rescue_offers_release(struct pm_rescue_offers *offers);
/* The ways that there are; PM_REFUSED when nothing is over. */
enum pm_status pm_batch_ways(struct pm_studio *studio, int64_t id, struct pm_rescue_offers *out,
                             struct pm_error *err);
/* Goes one of them: a new plan. */
enum pm_status pm_batch_rescue(struct pm_studio *studio, int64_t id, enum pm_rescue_way way,
                               struct pm_error *err);

/*
 * What a batch has become, or would become by a way out of its over-pours: every material's share
 * of the whole, accords and dilutions resolved, beside that of the kept trial; and what the limits
 * say of both (studio/limits.h), as asked for that formula last.
 */
struct pm_become_line {
    const char *name;
    int64_t was, is; /* of the whole, 1e-12 */
};
struct pm_become_limit {
    const char *title;
    enum pm_verdict was, is;
    int64_t was_percent, percent; /* of the product, 1e-12; was_percent -1: it was not there */
    pm_strength limit;            /* PM_UNKNOWN, PM_NO_LIMIT */
    bool least;                   /* something brings an unknown amount besides */
    const char *why;              /* "" */
};
struct pm_become {
    pm_mass total;                /* in the beaker then */
    pm_parts base;                /* of the trial, for parts */
    struct pm_become_line *items; /* what changed most first */
    size_t count;
    struct pm_become_limit *limits; /* those a rule speaks of, the worst first */
    size_t limit_count;
    size_t prohibited, over, unknown, within, without_rule;
    struct pm_limits_wish wish;
    struct pm_arena arena;
};
void pm_become_release(struct pm_become *become);
/* A line's share in parts of the formula's base. */
pm_parts pm_become_parts(const struct pm_become *become, int64_t share);
/* way NULL: as poured so far, and the rest as planned. PM_REFUSED: the way does not lead out, or
 * nothing was poured. */
enum pm_status pm_batch_become(struct pm_studio *studio, int64_t id, const enum pm_rescue_way *way,
                               struct pm_become *out, struct pm_error *err);
/* In words, a line for each; everything, or `brief`: what changed by 1 % or more of itself, and
 * what is prohibited, over, or judged otherwise than before. How many are unknown is said always.
 */
enum pm_status pm_become_text(const struct pm_become *become, bool brief, char sign,
                              struct pm_text *out, struct pm_error *err);

struct pm_batch_end {
    bool bottle;         /* it becomes a bottle: a made-up accord */
    const char *as_name; /* of the material it is a bottle of, at the first time; NULL: the title
                            of the trial with a space for '/' */
    bool trial;          /* what was weighed becomes a kept trial */
    bool even_short;     /* although lines were not poured */
};
/* *bottle and *number (may be NULL) receive the bottle and the number of the kept trial. */
enum pm_status pm_batch_finish(struct pm_studio *studio, int64_t id, const struct pm_batch_end *end,
                               int64_t *bottle, int64_t *number, struct pm_error *err);

/* ---- prints ---- */

/* The sheet to weigh from, and the record afterwards; plain text, Markdown, or a page of HTML;
 * PM_INVALID for the others. */
enum pm_status pm_weighing_print(const struct pm_weighing *weighing, enum pm_paper paper, char sign,
                                 struct pm_text *out, struct pm_error *err);
enum pm_status pm_batch_print(const struct pm_batch_record *record, enum pm_paper paper, char sign,
                              struct pm_text *out, struct pm_error *err);
/* What to be careful about while weighing, and while filling with ethanol. */
extern const char pm_weigh_caution[], pm_fill_caution[];

/* ---- filling ---- */

enum pm_status pm_filling_note(struct pm_studio *studio, struct pm_filling_row *row,
                               struct pm_error *err);
/* The same of what was worked out; batch 0: of something else. */
enum pm_status pm_filling_keep(struct pm_studio *studio, const struct pm_filling_wish *wish,
                               const struct pm_filling *made, int64_t batch, int64_t *id,
                               struct pm_error *err);
/* What was done, so that a reminder ends, or another day for it; event->filling and kind are given.
 * PM_REFUSED when it was done already, or no such day was set. */
enum pm_status pm_filling_happen(struct pm_studio *studio, const struct pm_filling_event *event,
                                 struct pm_error *err);
/* Days as they are now, and what is done with. */
enum pm_status pm_fillings(struct pm_studio *studio, struct pm_filling_rows *out,
                           struct pm_error *err);

/* A day on which a filling is to be filtered, or has matured. */
struct pm_reminder {
    int64_t filling;
    bool filter; /* else: it has matured */
    pm_day day;
    int64_t late;      /* days since then; below 0: it is still to come */
    const char *title; /* "Quay/1", "filling 3" */
};
struct pm_reminders {
    struct pm_reminder *items; /* the oldest day first; nothing that is done with */
    size_t count, due;         /* due: those whose day is today or over */
    struct pm_arena arena;
};
enum pm_status pm_reminders(struct pm_studio *studio, bool due_only, struct pm_reminders *out,
                            struct pm_error *err);
/* For the key line of every room: "filter now: Quay/1 (+1)" and "filter now (+1)", "matured:
 * Quay/1" and "matured". */
enum pm_status pm_reminder_due(struct pm_studio *studio, struct pm_due_note *out,
                               struct pm_error *err);

/* ---- a balance that sends what it shows ---- */

struct pm_balance_port;
/* Any file, pipe or serial device that delivers lines of text; a terminal device is read as it
 * comes, at the speed it is set to. Close with pm_balance_port_close. */
enum pm_status pm_balance_port_open(const char *path, struct pm_balance_port **out,
                                    struct pm_error *err);
void pm_balance_port_close(struct pm_balance_port *port); /* NULL allowed */
/* Takes all that has come, waiting up to so many milliseconds. *stable and *mass as pm_steady_feed
 * after the last of it: what was steady and then jumped is not. A mass below zero is PM_REFUSED
 * ("tare it"). PM_MISSING: it was unplugged, or the file is over; a steady reading before that is
 * given first. */
enum pm_status pm_balance_port_read(struct pm_balance_port *port, int wait_ms, bool *stable,
                                    pm_mass *mass, struct pm_error *err);
/* A new thing is put on it: what was said before does not count. */
void pm_balance_port_again(struct pm_balance_port *port);

#endif
