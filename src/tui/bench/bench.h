/* SPDX-License-Identifier: MIT */
/*
 * The inside of the Bench, for the files that make it up.
 *
 *   bench_room.c      the room as the application sees it
 *   bench_state.c     what is on the screen, selected and marked, looked up
 *   bench_select.c    selecting and marking lines
 *   bench.c           what is open
 *   bench_batch.c     the batch that is reckoned with
 *   bench_actions.c   what can be done
 *   bench_figures.c   figures of a sheet as they are printed
 *   bench_table.c     the lines as a table: columns, cells, the total
 *   bench_draw.c      painting all of it
 *   bench_details.c   the pane for the selected line
 *   bench_edit.c      typing parts, preview
 *   bench_keys.c      keys while parts are typed
 *   bench_write.c     plans: paint first, then write
 *   bench_find.c      going to a line by its name
 *   bench_gestures.c  gestures that need no material
 *   bench_material.c  tuck in, swap, restrength
 *   bench_accord.c    picking an accord
 *   bench_stock.c     the sheet against the shelf
 *   bench_weigh.c     the sheet against the balance in use
 *   bench_cost.c      what lines cost and were before, what was smelled last
 *   bench_drydown.c   what leaves first, by vapour pressure
 *   bench_limits.c    the sheet against limits for skin
 *   bench_trial.c     keeping, branching, revisions, flat view
 *   bench_beside.c    side by side with the trial it came from
 *   bench_print.c     the formula into a file
 */
#ifndef PERMILLE_TUI_ROOM_BENCH_H
#define PERMILLE_TUI_ROOM_BENCH_H

#include "kit/field.h"
#include "kit/room.h"
#include "kit/table.h"
#include "rooms.h"

#include "permille/core/column.h"
#include "permille/studio/bench.h"
#include "permille/studio/bottles.h"
#include "permille/studio/drydown.h"
#include "permille/studio/limits.h"
#include "permille/studio/profile.h"
#include "permille/studio/shelf.h"
#include "permille/studio/stock.h"
#include "permille/studio/trials.h"
#include "permille/studio/weigh_budget.h"

/* ---- figures and columns ---- */

/* A printed column of parts. */
struct bench_column {
    int64_t *values; /* one per line, in the sheet's order; owned */
    struct pm_column_total total;
    int cells; /* of the widest number, the total included */
};

/* What a sheet looks like in print, worked out once per change. */
struct bench_figures {
    size_t count, capacity;
    int least; /* decimals that parts show at least */
    struct bench_column parts, neat;
    struct bench_column becomes; /* while something is previewed */
    struct bench_column masses;  /* micrograms in the batch; no cells: nothing is weighed */
    int core_cells, name_cells, strength_cells, solvent_cells, share_cells; /* of the widest */
    int diluted_cells;                   /* of the widest name of a dilution */
    int dilution_cells;                  /* of the widest name with its strength and solvent */
    int sign_cells;                      /* behind amounts, for a sign: 1 while a balance is kept */
    int64_t scale;                       /* share (1e-12) that fills a bar */
    char scale_text[PM_AMOUNT_TEXT + 8]; /* the same, over the bars: "20 %" */
    char masses_text[PM_AMOUNT_TEXT + 8]; /* over the masses: "g in 10 g" */
};

void bench_figures_release(struct bench_figures *figures);
/* Room for a sheet's lines and one that would come in; on failure the figures are as before. */
enum pm_status bench_figures_reserve(struct bench_figures *figures, size_t count,
                                     struct pm_error *err);
/* Cannot fail once there is room. */
void bench_figures_read(struct bench_figures *figures, const struct pm_sheet *sheet,
                        const struct pm_house *house);
/* What `count` lines of so many parts weigh in a batch; 0: nothing is weighed. */
void bench_figures_weigh(struct bench_figures *figures, const pm_parts *parts, size_t count,
                         pm_mass batch, char sign);
/* `preview` holds one value for each of `count` lines: those of the sheet, and one that would come
 * in. */
void bench_figures_preview(struct bench_figures *figures, const pm_parts *preview, size_t count);

#define BENCH_CORE_TEXT 40
/* How it stands, and its core: "carrier", "A:4"; "" for a free line outside cores; "A:…" when the
 * weight is longer than the column may be. For a held one of a core "A:4 h", where it is wide "A:4
 * held". */
char *bench_tie_text(const struct pm_line *line, bool wide, char *buf);

enum {
    BENCH_NUMBER,
    BENCH_STANCE,
    BENCH_NAME,
    BENCH_STRENGTH,
    BENCH_SOLVENT,
    BENCH_PARTS,
    BENCH_NEAT,
    BENCH_BECOMES,
    BENCH_MASS,
    BENCH_ERROR,
    BENCH_COST,
    BENCH_LEAVES,
    BENCH_BEFORE,
    BENCH_SHARE,
    BENCH_BAR,
    BENCH_COLUMNS
};
#define BENCH_WEIGH_FROM                                                                           \
    128 /* cells of a sheet that shows masses, and says in its facts what can be weighed */

/* Columns for a pane `cells` wide; what lines cost and when they leave is the caller's to add.
 * `typing`: what the lines would become is shown, in the place of the neat parts where there is no
 * room for both. */
void bench_columns(const struct bench_figures *figures, int cells, bool typing,
                   struct pm_column columns[BENCH_COLUMNS]);

#define BENCH_WHOLE       INT64_C(1000000000000) /* the share of everything */
#define BENCH_SHARE_CELLS 8                      /* "17.5 %  ", "0.60 ppm" */

/* What fills a bar when `most` is the largest share: rounded up, so that the bars stay put while
 * amounts change a little, and 4:3:2 looks like 4:3:2. */
int64_t bench_bar_scale(int64_t most);
/* Half cells that a share takes on a bar of `cells`, to nearest. */
int bench_bar_halves(int64_t share, int64_t scale, int cells);
/* More than nothing, less than 1 in 1000. */
bool bench_is_trace(int64_t share);
/* In the unit that fits: "12.3 %", "4.7 \xE2\x80\xB0" (per mille), "45 ppm", "" for nothing; buf
 * holds PM_AMOUNT_TEXT + 8 bytes. */
char *bench_share_text(const struct pm_house *house, int64_t share, char *buf);
/* The same with the units below each other. */
char *bench_share_cell(const struct pm_house *house, int64_t share, char *buf);
/* ---- the room's state ---- */

/* What the details pane shows of the selected line beyond the sheet; read when the line changes. */
struct bench_card {
    int64_t line, ref;
    enum pm_line_kind kind;
    struct pm_material material; /* of a material line */
    struct pm_sheet *accord;     /* of an accord line, or NULL */
    bool read;                   /* material holds something to be released */
    struct pm_bottles bottles;   /* of a material line, with something left */
    bool bottles_read;
    struct pm_text name;  /* of a material line, what tells it from names alike in tall letters */
    struct pm_text alike; /* those names */
};

/* The sheet against the shelf. */
struct bench_stock {
    struct pm_needs needs;
    bool read;
};

/* What limits for skin say of what is on the screen. */
struct bench_limits {
    bool read;
    char text[160]; /* of the tightest; "" when no known limit concerns it */
    enum pm_role role;
    bool *signs; /* owned; by line: it brings something to what is over */
    size_t count;
    struct pm_limits_wish wish;
    int64_t wish_of; /* formula it was read for; 0: to be read again */
};

/* A line that a preview would bring in. */
struct bench_fresh {
    struct pm_line line; /* with its parts */
    size_t place;        /* where it would stand */
    struct pm_text title, solvent;
    int64_t solvent_of; /* whose name `solvent` is */
};

/* The sheet against the balance in use, as it is written. */
struct bench_weigh {
    bool known; /* read is the sheet's */
    struct pm_sheet_budget read;
    struct pm_budget_item *items;             /* owned, `capacity` each */
    struct pm_budget_line *lines, *previewed; /* the line that comes in behind the others */
    size_t count, capacity;                   /* count 0: nothing is said */
    struct pm_budget now, then;               /* of the sheet; of what is previewed */
};

/* What is known of the volatility of the sheet's lines. */
struct bench_drydown {
    bool read, known; /* lines are those of the sheet; they were read for `of` */
    uint64_t of;      /* what stood in the lines, without their parts */
    struct pm_dry_lines lines;
};

/* What is on the screen, by family and by volatility. */
struct bench_profile {
    bool read;
    struct pm_profile_known known;
    struct pm_profile now;
};

/* What the lines cost in the batch. */
struct bench_cost {
    bool stale;               /* of a sheet before the one on the screen: its place is kept */
    bool read, known, priced; /* known: `of` holds something; priced: and some line has a price */
    struct pm_cost of;
    char currency[4]; /* of all of it; "" when there are several */
};

/* A material as it was used last, to be offered again. */
struct bench_use {
    int64_t material, solvent;
    pm_strength strength;
};
#define BENCH_USES 64

#define BENCH_PAST 16 /* at most: revisions shown in the details pane */

struct bench {
    struct pm_app *app;
    struct pm_house *house;

    bool begun;                         /* the newest formula has been opened */
    struct pm_sheet *sheet;             /* as the file has it; NULL: none is open */
    int64_t looked_at;                  /* revision that is looked back at, 0: none */
    int64_t looked_number, looked_time; /* of it */
    struct pm_plan *plan;               /* being written, or not yet written because that failed */
    bool writing;                       /* the plan's sheet is on the screen */
    struct pm_text saved;               /* said when the plan is written */
    char *retyped; /* what was typed for the plan that is being written; owned or NULL */

    struct bench_figures figures;
    size_t at;     /* place of the selected line */
    int64_t line;  /* its id; 0 in an empty sheet */
    int64_t asked; /* id of the line that an open prompt, form or choice is about */
    struct pm_table_view list;
    int64_t *marks; /* ids of marked lines */
    size_t mark_count, mark_capacity;

    bool typing;
    struct pm_field field;
    pm_parts *preview; /* one per line while previewing */
    size_t preview_capacity;
    bool previewing;
    bool has_fresh; /* what is previewed would bring `fresh` in */
    struct bench_fresh fresh;
    pm_parts typed;       /* what the text reads as, while previewing */
    struct pm_text check; /* the line about what is being typed or written, or "" */
    enum pm_role check_role;

    struct bench_use used[BENCH_USES]; /* dilutions used of late, newest first */
    size_t use_count;

    struct bench_card card;
    struct bench_stock stock;
    struct bench_weigh weigh;
    struct bench_limits limits;
    struct bench_drydown drydown;
    struct bench_profile profile;
    struct bench_cost cost;
    struct pm_sheet *before; /* the kept trial that the sheet came from, or NULL */
    struct pm_text smelled;  /* the newest smell note of the formula; "" */
    char *past[BENCH_PAST];  /* sentences of the draft's last revisions, newest first */
};

/* The sheet on the screen: with a plan being written, as it will be. May be NULL. */
const struct pm_sheet *bench_sheet(const struct bench *bench);
/* The selected line, or NULL. */
const struct pm_sheet_line *bench_line(const struct bench *bench);
char *bench_parts_text(const struct bench *bench, pm_parts parts, char *buf); /* exact */
/* In a sentence: rounded as they print, without the zeros behind. */
char *bench_parts_about(const struct bench *bench, pm_parts parts, char *buf);

/* bench.c */
void bench_select(struct bench *bench, size_t at);
void bench_select_line(struct bench *bench, int64_t line);
/* Its place among the marked ones; their count when it is none. */
size_t bench_mark_place(const struct bench *bench, int64_t line);
bool bench_is_marked(const struct bench *bench, int64_t line);
/* Lines that are gone are not marked any more. */
void bench_forget_marks(struct bench *bench, const struct pm_sheet *sheet);
void bench_unmark_all(struct bench *bench);
/* Takes the sheet over and shows it; the selection stays where it can. On failure the sheet is
 * freed and the one before stays. */
enum pm_status bench_take_sheet(struct bench *bench, struct pm_sheet *sheet, struct pm_error *err);
/* After the sheet on the screen changed: figures, selection, preview. */
void bench_refresh(struct bench *bench);
/* Reads the open formula again. */
enum pm_status bench_reload(struct bench *bench, struct pm_error *err);
/* Shows another thing, taken over: nothing of the one before stays selected, marked or half done.
 * looked_at: the revision it is as of, or 0. */
enum pm_status bench_show(struct bench *bench, struct pm_sheet *sheet, int64_t looked_at,
                          struct pm_error *err);
void bench_past_release(struct bench *bench);
/* A draft is open, so that gestures make sense; otherwise says what to press. */
bool bench_editable(void *bench);

/* bench_profile.c */
void bench_profile_read(struct bench *bench); /* for what is on the screen, where forgotten */
void bench_profile_forget(struct bench *bench);
void bench_profile_release(struct bench *bench); /* also what was read of the library */
/* The first broken ceiling, and its role; nothing when all are kept. */
enum pm_role bench_profile_sign(const struct bench *bench, struct pm_text *out);
/* "musk 12.0 %, wood 9.5 %, 3 more"; nothing where nothing is known. */
void bench_profile_words(const struct bench *bench, enum pm_profile_kind kind, struct pm_text *out);
void bench_made_of(void *bench); /* the list, and setting ceilings */

/* bench_drydown.c */
void bench_drydown_read(
    struct bench *bench); /* for what is on the screen, where it was forgotten */
void bench_drydown_forget(struct bench *bench);
/* Other parts may stand in the sheet: only what stands in new lines is read again. */
void bench_drydown_refresh(struct bench *bench);
/* Of the selected line: its mark and its share of top, heart and base; and the mark alone. */
void bench_drydown_say(const struct bench *bench, struct pm_text *out);
void bench_drydown_mark(const struct bench *bench, struct pm_text *out);
/* "top", "heart?" where the figure is predicted, "mixed" for an accord of several, "?" unknown. */
void bench_drydown_cell(const struct bench *bench, size_t place, struct pm_text *out);
/* What the previewed parts make of top, heart and base; nothing where that stays. */
void bench_drydown_preview(const struct bench *bench, struct pm_text *out);

/* bench_limits.c */
void bench_limits_read(struct bench *bench); /* for what is on the screen, where it was forgotten */
/* The sheet as it is shown or would become; `lines` holds room for one more. */
void bench_shown(const struct bench *bench, struct pm_line *lines, struct pm_sheet *out);
void bench_limits_forget(struct bench *bench);
void bench_limits_release(struct bench *bench);
bool bench_is_over(const struct bench *bench, size_t place);

/* bench_write.c */
/* Takes the plan over: shows it, then writes it. `typed` (may be NULL) is offered again when that
 * fails. */
void bench_write(struct bench *bench, struct pm_plan *plan, const char *typed);
/* A change could not be written, for want of room, memory or the lock. Nothing takes its place
 * until the person has written or dropped it. */
bool bench_unwritten(const struct bench *bench);
/* The sentence that nothing else can be shown before. */
enum pm_status bench_refuse(const struct bench *bench, struct pm_error *err);
/* Works a gesture out and writes it. On failure nothing is said. */
enum pm_status bench_do(struct bench *bench, const struct pm_gesture *gesture,
                        struct pm_error *err);
/* The same, failures in the message row. */
void bench_gesture(struct bench *bench, const struct pm_gesture *gesture);

/* bench_edit.c */
void bench_edit_start(struct bench *bench, const char *text, bool whole);
void bench_edit_stop(struct bench *bench);
void bench_edit_judge(struct bench *bench);
unsigned bench_edit_act(struct bench *bench, int code);
unsigned bench_edit_text(struct bench *bench, const char *text, bool pasted);
/* Shows what a gesture would make of the lines, in the sheet; says in `out` how many give way, or
 * why not. A NULL gesture ends it. */
enum pm_role bench_preview(struct bench *bench, const struct pm_gesture *gesture,
                           struct pm_text *out);
/* Rows of the table: the lines, and the one that a preview would bring in. */
size_t bench_rows(const struct bench *bench);
/* The line in a row; for the one that comes in BENCH_FRESH. */
#define BENCH_FRESH SIZE_MAX
size_t bench_row_line(const struct bench *bench, size_t row);
/* The place of the line that comes in, in arrays: behind those of the sheet. */
size_t bench_place(const struct bench *bench, size_t line);

/* ---- the actions: bench_actions.c; what they work on is a struct bench ---- */

extern const struct pm_action_table bench_actions;

bool bench_on_line(void *bench); /* bench_editable, and a line is selected */

void bench_edit(void *bench); /* bench_keys.c */
void bench_find(void *bench); /* bench_find.c */
void bench_mark(void *bench);
void bench_mark_all(void *bench);
void bench_retry(void *bench); /* bench_write.c */
void bench_more(void *bench);  /* bench_gestures.c */
void bench_less(void *bench);
void bench_scale(void *bench);
void bench_drop(void *bench);
void bench_raise(void *bench);
void bench_lower(void *bench);
void bench_comment(void *bench);
void bench_hold(void *bench);
void bench_rest(void *bench);
void bench_carry(void *bench);
void bench_next_mode(void *bench);
void bench_settle(void *bench);
void bench_base(void *bench);
void bench_core(void *bench);
void bench_fold(void *bench);
void bench_unfold(void *bench);
void bench_undo(void *bench);
void bench_redo(void *bench);
void bench_add(void *bench); /* bench_material.c */
void bench_swap(void *bench);
void bench_restrength(void *bench);
void bench_add_accord(void *bench); /* bench_accord.c */
void bench_branch(void *bench);     /* bench_trial.c */
void bench_revisions(void *bench);
void bench_flat(void *bench);
void bench_weigh_page(void *bench); /* bench_weigh.c */
void bench_weigh_batch(void *bench);
void bench_compare(void *bench); /* bench_beside.c */
void bench_print(void *bench);   /* bench_print.c */

/* bench_trial.c: Esc takes marks away, then shows the draft. */
unsigned bench_go_back(struct bench *bench);
/* bench_material.c: asks how many parts of an accord's kept trial, and tucks it in. */
void bench_ask_parts(struct bench *bench, int64_t accord, const char *name);

/* bench_stock.c */

/* Compares the sheet with the shelf; what cannot be read is not shown. */
void bench_stock_read(struct bench *bench);
void bench_stock_release(struct bench_stock *stock);
/* "short", "missing": what to look at before a batch; "" when nothing, and while nothing of the
 * whole formula is on the shelf: then nobody keeps it up to date. */
const char *bench_stock_word(const struct bench *bench, const struct pm_line *line);
/* Makes room for those words in the column of names. */
void bench_stock_widen(struct bench *bench);
/* The selected line in words: "0.23 g of 45.20 g at 10 %", "short: ...". Role of the text. */
enum pm_role bench_stock_say(const struct bench *bench, const struct pm_line *line,
                             struct pm_text *out);
/* "B017 neat, 45.20 g", and what to look at. */
enum pm_role bench_stock_bottle(const struct bench *bench, const struct pm_bottle *bottle,
                                struct pm_text *out);
/* "On the shelf: neat 12.00 g, 10 % in Ethanol 4.00 g." or "". */
void bench_stock_offer(const struct bench *bench, int64_t material, struct pm_text *out);
/* "neat, 10 %": for lists. */
void bench_stock_strengths(const struct bench *bench, int64_t material, struct pm_text *out);
/* The round-th strength on the shelf that begins so: "10 % in Ethanol". */
bool bench_stock_complete(const struct bench *bench, int64_t material, const char *before,
                          size_t round, struct pm_text *out);
/* The strength on the shelf after this one (before it when step is -1): "10 % in Ethanol". False
 * when there is none. */
bool bench_stock_step(const struct bench *bench, int64_t material, pm_strength strength,
                      int64_t solvent, int step, struct pm_text *out);
/* "29.93 g left" of what a line of this strength is poured from; "none left so". */
void bench_stock_say_left(const struct bench *bench, int64_t material, pm_strength strength,
                          int64_t solvent, struct pm_text *out);
/* At which strength on the shelf the material takes the line's place with the same neat amount: the
 * line's own where that can be weighed, else the strongest that can, else the nearest. */
bool bench_stock_for_line(const struct bench *bench, int64_t material, const struct pm_line *line,
                          pm_strength *strength, int64_t *solvent);
/* A weaker strength on the shelf at which a neat mass can be weighed: "1 % in Ethanol". */
bool bench_stock_helps(const struct bench *bench, int64_t material, pm_mass neat, pm_strength below,
                       struct pm_text *out);
/* What a line of a material that was not used before is best poured from: true when there is a
 * bottle, and none of them neat. */
bool bench_stock_usual(const struct bench *bench, int64_t material, pm_strength *strength,
                       int64_t *solvent);

/* bench_weigh.c: all of it says nothing while no balance is kept, or nothing can be read. */

void bench_weigh_read(struct bench *bench); /* for the sheet as the file has it */
void bench_weigh_release(struct bench *bench);
/* Other parts stand in the sheet; are previewed. */
void bench_weigh_refresh(struct bench *bench);
void bench_weigh_preview(struct bench *bench);
void bench_weigh_masses(struct bench *bench); /* of the lines as they are; without a balance too */
bool bench_weighs(const struct bench *bench); /* a balance is kept */
/* As it is or as it is previewed; NULL: nothing is said. */
const struct pm_budget_line *bench_weigh_line(const struct bench *bench, size_t place);
/* Whether it is (would be) too little to weigh. */
bool bench_weigh_small(const struct bench *bench, size_t place, bool previewed);
/* "< weighable at 1 %": too little to weigh, in few words; nothing when it can be weighed as it is
 * written. */
void bench_weigh_brief(const struct bench *bench, size_t place, struct pm_text *out);
/* The same with the sign, the error and the share of the uncertainty. */
void bench_weigh_say(const struct bench *bench, size_t place, struct pm_text *out);
/* "4.1 %", k = 2; buf: PM_AMOUNT_TEXT + 8. */
char *bench_weigh_error(const struct bench *bench, size_t place, char *buf);
/* "10 g ± 0.02 g". */
void bench_weigh_sum(const struct bench *bench, struct pm_text *out);
/* "18 too little to weigh, all can be from 412 g on"; brief: "< 18, all from 412 g". */
void bench_weigh_count(const struct bench *bench, bool brief, struct pm_text *out);
/* "25 lines, < 18, all from 412 g"; nothing while all can be weighed. */
void bench_weigh_total(const struct bench *bench, struct pm_text *out);
/* Makes room for that in the column of names. */
void bench_weigh_widen(struct bench *bench);
/* What a preview makes of that count; nothing where it stays. */
void bench_weigh_changes(const struct bench *bench, struct pm_text *out);
/* While no balance is kept: the keys that make one. */
void bench_weigh_invite(const struct bench *bench, struct pm_text *out);

/* bench_cost.c */

#define BENCH_COST_FROM 128 /* cells of a sheet that shows what lines cost */

void bench_cost_read(struct bench *bench, int cells); /* where it was forgotten and is shown */
void bench_cost_forget(struct bench *bench);
bool bench_costs(const struct bench *bench); /* something is known of it */
const char *bench_cost_heading(const struct bench *bench);
/* "0.42"; where the formula costs in several currencies each amount says its own, so that none can
 * be taken for another: "0.42 EUR", "0.42 EUR +" where there is more in another. "?": unknown,
 * ">0.42": at least. */
void bench_cost_cell(const struct bench *bench, size_t place, struct pm_text *out);
/* "0.42 EUR + 1.10 CHF" */
void bench_cost_say(const struct bench *bench, size_t place, struct pm_text *out);
void bench_cost_total(const struct bench *bench, struct pm_text *out);
void bench_smell_read(struct bench *bench);
void bench_before_read(struct bench *bench);
/* What the line was in the trial that the sheet came from, where that is another amount: "19.62",
 * "new", "resting"; and the heading of such amounts, "/2", "" without such a trial. */
void bench_before_say(const struct bench *bench, size_t place, struct pm_text *out);
const char *bench_before_heading(const struct bench *bench, char *buf); /* buf: PM_AMOUNT_TEXT */

/* bench_table.c: paints the lines and their total. */
void bench_draw_lines(struct bench *bench, const struct pm_pane *pane, int covered);

/* bench_draw.c, bench_details.c */
void bench_draw(struct bench *bench, const struct pm_canvas *canvas);
void bench_draw_details(struct bench *bench, const struct pm_pane *pane);
/* The selected line in one sentence, for narrow screens. */
void bench_describe(const struct bench *bench, struct pm_text *out);
/* Reads what the details need of the selected line. */
void bench_card_read(struct bench *bench);
void bench_card_release(struct bench_card *card);

#endif
