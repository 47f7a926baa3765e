/* SPDX-License-Identifier: MIT */
/*
 * The inside of the Shelf, for the files that make it up.
 *
 *   shelf_room.c     the room as the application sees it
 *   shelf_state.c    what the state says, in a word
 *   shelf.c          what is selected and chosen, filters
 *   shelf_actions.c  what can be done
 *   shelf_read.c     what is read for the screen, and when
 *   shelf_cells.c    the columns of both tables: text shown, text edited, writing it
 *   shelf_draw.c     painting the list and the bottles
 *   shelf_details.c  the pane beside them
 *   shelf_edit.c     typing: the search and the cells
 *   shelf_forms.c    materials and bottles are entered, edited, set aside
 *   shelf_bottles.c  taking out, counting, moving, opening, emptying
 *   shelf_dilute.c   making a dilution
 *   shelf_lists.c    pickers: families, joining, facts of one's own
 *   shelf_plans.c    what can be made now, planned batches
 *   shelf_pages.c    facts, ledger, history, shopping
 *   shelf_print.c    the shelf into a file
 *   shelf_cost.c     what the open formula costs; rates of exchange
 *
 * The list of materials and, under it, the bottles of the selected one are two tables of the same
 * kind: a cell cursor, columns that scroll sideways, cells edited in place. One of the two has the
 * focus.
 */
#ifndef PERMILLE_TUI_ROOM_SHELF_H
#define PERMILLE_TUI_ROOM_SHELF_H

#include "kit/field.h"
#include "kit/room.h"
#include "kit/table.h"
#include "rooms.h"

#include "permille/studio/bottles.h"
#include "permille/studio/shelf.h"
#include "permille/studio/stock.h"

/* ---- the room's state ---- */

enum shelf_list_column {
    LIST_NAME,
    LIST_FAMILY,
    LIST_LEFT,
    LIST_STRENGTHS,
    LIST_STATE,
    LIST_BOTTLES,
    LIST_LEVEL,
    LIST_RATING,
    LIST_KIND,
    LIST_CAS,
    LIST_COLUMNS
};
enum shelf_bottle_column {
    BOTTLE_LABEL,
    BOTTLE_STRENGTH,
    BOTTLE_LEFT,
    BOTTLE_VOLUME,
    BOTTLE_SOLVENT,
    BOTTLE_STATE,
    BOTTLE_OPENED,
    BOTTLE_BEST_BEFORE,
    BOTTLE_PLACE,
    BOTTLE_PER_GRAM,
    BOTTLE_SUPPLIER,
    BOTTLE_LOT,
    BOTTLE_PRICE,
    BOTTLE_PRICED,
    BOTTLE_BOUGHT,
    BOTTLE_TARE,
    BOTTLE_FROM,
    BOTTLE_NOTE,
    BOTTLE_COLUMNS
};

/* Everything the screen tells about the selected material; read when the selection changes. */
struct shelf_about {
    int64_t material; /* 0: nothing read */
    struct pm_material card;
    struct pm_fact_entries facts;
    struct pm_cautions cautions;
    struct pm_bottles bottles;
    bool card_read, facts_read, cautions_read, bottles_read;
    int64_t bottle; /* whose ledger was read; 0: none */
    struct pm_movements ledger;
};

/* Materials read at first: what most shelves hold, so that the list tells how many there are. */
#define SHELF_FIRST  250
#define SHELF_CHOSEN 32 /* bottles marked to be priced by */

struct shelf {
    struct pm_app *app;
    struct pm_house *house;

    /* what the list shows */
    struct pm_field search;
    bool searching; /* the keys go to the search */
    char *family;   /* NULL: any; owned */
    bool have, low, old, over, aside;
    size_t limit; /* materials read at most; grows at the end of the list */
    struct pm_shelf_rows_found rows;
    char **strengths; /* per row, NULL until shown; owned */
    bool empty;       /* the library holds no material at all */

    struct pm_table_view list, bottles;
    int64_t material, bottle; /* ids of the selected ones; 0 */
    bool inside;              /* the bottles have the focus */
    int taking;               /* key that takes what was typed, once the screen has been painted */
    bool all_bottles;         /* those set aside as well */
    struct shelf_about about;
    int64_t chosen[SHELF_CHOSEN]; /* bottles to be priced by instead of the oldest */
    size_t chosen_count;

    bool bottles_shown; /* the bottles stood under the list then */

    int64_t asked_material, asked_bottle; /* what an open prompt, form or picker is about */
    char batch[40];                       /* masses and dosage asked for last */
    char balance[40];                     /* what it reads to */
    char solvent[256];                    /* diluted in last */
    char dosage[40];
    char product[40];
    char currency[8];
};

/* ---- the selected ones ---- */

const struct pm_shelf_row *shelf_row(const struct shelf *shelf); /* or NULL */
const struct pm_bottle *shelf_bottle(const struct shelf *shelf); /* or NULL */
bool shelf_typing(const struct shelf *shelf);                    /* into a cell of either table */
/* Its place among those chosen to be priced by; their count when it is none. */
size_t shelf_chosen_place(const struct shelf *shelf, int64_t bottle);
bool shelf_is_chosen(const struct shelf *shelf, int64_t bottle);
bool shelf_filtered(const struct shelf *shelf); /* the list leaves something out */
void shelf_show_all(struct shelf *shelf);       /* drops the search and the filters */

/* ---- shelf_read.c ---- */

/* Reads the list again as search and filters say; the selection stays on its material, else on its
 * row. Failures are told in the message row. */
void shelf_read_list(struct shelf *shelf);
/* The same; a failure changes nothing and is not told. */
enum pm_status shelf_list_again(struct shelf *shelf, struct pm_error *err);
/* Selects a row of the list and reads what is told about it. */
void shelf_select(struct shelf *shelf, size_t row);
void shelf_select_bottle(struct shelf *shelf, size_t row);
/* After something was written: reads list, bottles and ledger again. A bottle (0: the one selected)
 * becomes the selected one. */
void shelf_written(struct shelf *shelf, int64_t bottle);
/* Brings a material into the list and selects it, dropping search and filters that hide it. */
void shelf_show_material(struct shelf *shelf, int64_t material);
/* Reads what the list shows in a pane of that size and was not read with it. */
void shelf_prepare(void *shelf, const struct pm_canvas *canvas);
void shelf_about_release(struct shelf_about *about);
/* Reads more materials when the list was cut and its end is reached. */
void shelf_read_more(struct shelf *shelf);
/* As many as there will ever be read. */
void shelf_read_most(struct shelf *shelf);

/* ---- shelf_cells.c ---- */

/* The tables as they are now; the front one has the focus, with its view. */
struct pm_table shelf_list_table(struct shelf *shelf);
struct pm_table shelf_bottle_table(struct shelf *shelf);
struct pm_table shelf_front_table(struct shelf *shelf, struct pm_table_view **view);
/* "past date", "nearly empty": what to look at in a bottle, "" when there is nothing. */
const char *shelf_bottle_state(const struct pm_bottle *card);
/* "12.40 EUR/g", "" when the price is unknown. */
void shelf_per_gram(const struct shelf *shelf, const struct pm_bottle *card, struct pm_text *out);
/* "B007 10 % in Ethanol". */
void shelf_bottle_title(const struct shelf *shelf, const struct pm_bottle *card,
                        struct pm_text *out);
/* Mass and strength for tables, rounded: two decimals of a gram, four significant digits. */
char *shelf_mass(const struct shelf *shelf, pm_mass mass, char *buf);
char *shelf_strength(const struct shelf *shelf, pm_strength strength, char *buf);

/* ---- shelf_edit.c ---- */

void shelf_edit_stop(struct shelf *shelf);
/* Moving through a table, typing into its cells. */
unsigned shelf_table_act(struct shelf *shelf, int code);
unsigned shelf_edit_act(struct shelf *shelf, int code);
unsigned shelf_edit_text(struct shelf *shelf, const char *text, bool pasted);
/* The verdict on what is being typed, one line; nothing when nothing is. */
enum pm_role shelf_edit_judge(const struct shelf *shelf, struct pm_text *out);

/* ---- the actions: shelf_actions.c; what they work on is a struct shelf ---- */

extern const struct pm_action_table shelf_actions;

/* Say so and answer false when no material, no bottle is selected. */
bool shelf_needs_material(void *shelf);
bool shelf_needs_bottle(void *shelf);
bool shelf_needs_inside(void *shelf);   /* a bottle; it gets the focus */
bool shelf_needs_selected(void *shelf); /* whichever has the focus */

void shelf_go_in(void *shelf); /* shelf.c */
void shelf_show_only(void *shelf);
void shelf_show_aside(void *shelf);
void shelf_price_by(void *shelf);
enum pm_status shelf_undo(void *shelf, struct pm_error *err);
enum pm_status shelf_redo(void *shelf, struct pm_error *err);
void shelf_search_start(void *shelf); /* shelf_edit.c */
void shelf_edit_start(void *shelf);
void shelf_enter_material(void *shelf); /* shelf_forms.c */
void shelf_edit_material(void *shelf);
void shelf_own_constituent(void *shelf);
void shelf_add_bottle(void *shelf);
enum pm_status shelf_set_aside(void *shelf, struct pm_error *err);
enum pm_status shelf_starter(void *shelf, struct pm_error *err);
void shelf_take(void *shelf); /* shelf_bottles.c */
void shelf_count(void *shelf);
void shelf_move_bottle(void *shelf);
enum pm_status shelf_opened(void *shelf, struct pm_error *err);
enum pm_status shelf_empty_bottle(void *shelf, struct pm_error *err);
void shelf_dilute(void *shelf); /* shelf_dilute.c */
void shelf_join(void *shelf);   /* shelf_lists.c */
void shelf_own_value(void *shelf);
void shelf_possible(void *shelf); /* shelf_plans.c */
void shelf_facts(void *shelf);    /* shelf_pages.c */
void shelf_ledger(void *shelf);
void shelf_print(void *shelf); /* shelf_print.c */
void shelf_history(void *shelf);
void shelf_shopping(void *shelf);
void shelf_rate(void *shelf); /* shelf_cost.c */

/* shelf_lists.c: lists the families to show one of them */
void shelf_pick_family(struct shelf *shelf);

/* shelf_forms.c */
void shelf_new_material(struct shelf *shelf, const char *name);
/* What the studio's forms take for an empty field of a new thing: NULL. */
const char *shelf_given(const char *text);
/* pm_complete_fn whose context is the shelf: solvents, and places where other bottles stand. */
bool shelf_complete_place(void *context, const char *before, size_t round, struct pm_text *out);
bool shelf_complete_solvent(void *context, const char *before, size_t round, struct pm_text *out);
/* The batch to reckon with from now on, in every room: as typed, and its mass. */
void shelf_keep_batch(struct shelf *shelf, const char *text, pm_mass mass);
/* Text in a field of `cells` for pages; too long ends in an ellipsis: shelf_pages.c. */
void shelf_pad(struct pm_text *out, const char *text, int cells, bool right);
/* More is to be taken than the ledger has: asks whether to write it all the same. accept gets
 * option 1 for yes; closed as for every overlay: shelf_bottles.c. */
bool shelf_ask_below(struct shelf *shelf, const char *reason,
                     enum pm_status (*agreed)(void *context, struct pm_error *err),
                     void (*closed)(void *context), void *context, size_t context_size);

/* ---- shelf_draw.c, shelf_details.c ---- */

void shelf_draw(struct shelf *shelf, const struct pm_canvas *canvas);
void shelf_draw_details(const struct shelf *shelf, const struct pm_pane *pane);
/* The selected material or bottle in one line, for narrow screens. */
void shelf_describe(const struct shelf *shelf, struct pm_text *out);

#endif
