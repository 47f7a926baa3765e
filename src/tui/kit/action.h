/* SPDX-License-Identifier: MIT */
/*
 * Actions: everything a person can do, in tables of one type. Key lookup, the key line, the help
 * screen, the action finder and the manual are all made from them.
 *
 * Each room owns a table (room.h) whose rows carry the function that does it; the toolkit's own
 * (pm_toolkit_actions: moving, typing, help, leaving) carry a code, which whoever is in front
 * interprets. What several rooms offer, and what a key means in all of them, is a verb (verbs.h):
 * rows name it and leave out what it says. The same id in several rooms is one binding.
 *
 * Within one room and mode a key means one thing; only the toolkit's general actions (arrows,
 * Enter, Esc, ...) may be shadowed by an action that says more exactly what the key does there.
 */
#ifndef PERMILLE_TUI_ACTION_H
#define PERMILLE_TUI_ACTION_H

#include "key.h"
#include "permille/base/status.h"
#include "permille/base/text.h"
#include "verbs.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Modes, as bits. In modes of PM_MODE_TEXT characters are text and never looked up as keys. Rooms
 * may define more from PM_MODE_ROOM upwards (not for text). */
enum pm_input_mode {
    PM_MODE_SHEET = 1 << 0,  /* moving about a room */
    PM_MODE_EDIT = 1 << 1,   /* typing into a cell of a room */
    PM_MODE_PROMPT = 1 << 2, /* one line of text is asked for */
    PM_MODE_PICK = 1 << 3,   /* choosing from a list, typing narrows it */
    PM_MODE_FORM = 1 << 4,   /* several labelled fields */
    PM_MODE_PAGE = 1 << 5,   /* reading a longer text */
    PM_MODE_CHOICE = 1 << 6, /* one of a few answers */
    PM_MODE_ROOM = 1 << 8,
    PM_MODE_TEXT = PM_MODE_EDIT | PM_MODE_PROMPT | PM_MODE_PICK | PM_MODE_FORM
};

#define PM_ANY_MODE UINT32_MAX

/* What the toolkit's actions do. */
enum pm_act {
    PM_ACT_NONE,
    /* general: the room or overlay in front decides */
    PM_ACT_UP,
    PM_ACT_DOWN,
    PM_ACT_LEFT,
    PM_ACT_RIGHT,
    PM_ACT_PAGE_UP,
    PM_ACT_PAGE_DOWN,
    PM_ACT_FIRST,
    PM_ACT_LAST,
    PM_ACT_NEXT,   /* Tab: next field, column, or completion */
    PM_ACT_PREV,   /* Shift-Tab */
    PM_ACT_ACCEPT, /* Enter */
    PM_ACT_CANCEL, /* Esc */
    /* typing (pm_field_act) */
    PM_ACT_ERASE,       /* the character before the cursor */
    PM_ACT_DELETE,      /* the character under the cursor */
    PM_ACT_WORD_LEFT,   /* one word to the left */
    PM_ACT_WORD_RIGHT,  /* one word to the right */
    PM_ACT_ERASE_WORD,  /* the word before the cursor */
    PM_ACT_ERASE_START, /* everything before the cursor */
    PM_ACT_ERASE_END,   /* everything from the cursor on */
    /* the application */
    PM_ACT_HELP,
    PM_ACT_FIND,
    PM_ACT_COPY,
    PM_ACT_GUIDE,
    PM_ACT_MESSAGES,
    PM_ACT_REPAINT,
    PM_ACT_SAVE, /* harmless: says that all is saved */
    PM_ACT_SUSPEND,
    PM_ACT_QUIT,
    PM_ACT_GO, /* to room n: PM_ACT_GO + n, made from the list of rooms */
    PM_ACT_GO_END = PM_ACT_GO + 32
};

struct pm_action {
    const char *id;   /* stable word for the key file: "settle", "tuck-in" */
    const char *name; /* two or three plain words, lower case: "settle the total" */
    const char *help; /* one sentence */
    const char *group;
    const char *keys;  /* default keys, names separated by blanks; "" for none */
    uint32_t modes;    /* enum pm_input_mode, combined */
    enum pm_verb verb; /* gives whatever is NULL above; then keys must be NULL */
    const char *also;  /* other words it is looked for by, beside its verb's; or NULL */
    /* A room's: whether it can be done just now; says why not otherwise. May be NULL. */
    bool (*ready)(void *state);
    void (*run)(void *state); /* a room's: does it; the screen is painted afterwards */
    /* Or, in the place of `run`: writes to the library, after the screen has been painted, and
     * tells what was written. A failure changes nothing; its sentence is shown. */
    enum pm_status (*write)(void *state, struct pm_error *err);
    enum pm_act code; /* the toolkit's; PM_ACT_NONE in rooms */
};

struct pm_action_table {
    const struct pm_action *rows;
    size_t count;
};

const char *pm_action_id(const struct pm_action *action);
const char *pm_action_name(const struct pm_action *action);
const char *pm_action_help(const struct pm_action *action);
const char *pm_action_group(const struct pm_action *action);
const char *pm_action_keys(const struct pm_action *action);
/* May be shadowed; left out of the action finder. */
bool pm_action_general(const struct pm_action *action);

/* The toolkit's table, offered everywhere. */
extern const struct pm_action_table pm_toolkit_actions;

#define PM_ACTION_KEYS 6 /* keys an action can have */

/* The keys that an id has now. */
struct pm_binding {
    const char *id; /* borrowed */
    const char *defaults;
    struct pm_key keys[PM_ACTION_KEYS];
    size_t key_count;
};

#define PM_ANYWHERE (-1) /* in every room */

/* An action where it is offered. */
struct pm_offered {
    const struct pm_action *action; /* borrowed */
    int room;                       /* number of the room, or PM_ANYWHERE */
    size_t binding;                 /* place of its keys */
};

/* All actions of an application with the keys they have now. */
struct pm_keymap {
    struct pm_offered *offers; /* owned; in the order the tables were added */
    size_t count, capacity;
    struct pm_binding *bindings; /* owned; one per id */
    size_t binding_count, binding_capacity;
};

void pm_keymap_init(struct pm_keymap *map);
void pm_keymap_release(struct pm_keymap *map);
/* Adds the table of a room, or of what is offered everywhere (borrowed, must outlive the map).
 * PM_INVALID when a default key cannot be read, or an id stands twice in a room or for two things;
 * PM_NOMEM. */
enum pm_status pm_keymap_add(struct pm_keymap *map, int room, const struct pm_action_table *table,
                             struct pm_error *err);
/* PM_REFUSED when a key means two things in one room and mode, or a function key is the only key
 * of an action; the sentence names both. */
enum pm_status pm_keymap_check(const struct pm_keymap *map, struct pm_error *err);

/* What a key does in that room (its number) and mode (one bit); NULL for nothing. */
const struct pm_action *pm_keymap_find(const struct pm_keymap *map, struct pm_key key, int room,
                                       unsigned mode);
/* The action of that id in a room, or NULL. */
const struct pm_action *pm_keymap_action(const struct pm_keymap *map, const char *id, int room);
bool pm_offered_valid(const struct pm_offered *offer, int room, unsigned mode);
const struct pm_binding *pm_offered_binding(const struct pm_keymap *map,
                                            const struct pm_offered *offer);

/* The name of the first key that reaches the action in that mode, "" for none. */
const char *pm_keymap_key(const struct pm_keymap *map, const char *id, unsigned mode, char *buf);
/* All keys of a binding: "u, Ctrl-Z". */
void pm_binding_keys(const struct pm_binding *binding, struct pm_text *out);

/*
 * The user's own keys: lines "action-id key [key ...]"; a line that begins with '#' is a comment.
 * In the place of an action's id stands a verb's, to have the key in all rooms. They take the place
 * of the action's default characters and Ctrl- and Alt-keys; arrows, Enter, Esc and the other named
 * keys keep working. "none" leaves it at those. A line that cannot be used changes nothing and is
 * told to `complain` with its number; the others count. What was given before no longer counts.
 */
void pm_keymap_user(struct pm_keymap *map, const char *text,
                    void (*complain)(void *context, const char *sentence), void *context);

/* Whether an action, or a verb in all rooms, may have these keys instead of what it has now: names
 * separated by blanks, "none", or "" for the default ones. PM_INVALID for what is no key and for
 * too many; PM_REFUSED when one means something else already; PM_MISSING. */
enum pm_status pm_keymap_may_give(const struct pm_keymap *map, const char *id, const char *keys,
                                  struct pm_error *err);

/* One line per id, "group TAB id TAB keys TAB name TAB help", with the keys it has now; groups stay
 * together, and the verbs that actions with ids of their own share come last. */
void pm_keymap_dump(const struct pm_keymap *map, struct pm_text *out);

#endif
