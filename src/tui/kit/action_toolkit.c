/* SPDX-License-Identifier: MIT */
/* The toolkit's own actions: moving, typing, help, leaving. */
#include "action.h"

/* Where a room has the keys, and where letters reach it. */
#define IN_ROOM (~(uint32_t)0xFF | PM_MODE_SHEET)

#define MOVING "Moving"
#define TYPING "Typing"
#define AROUND "Everywhere"

static const struct pm_action rows[] = {
    {"up", "up", "Goes one row up.", MOVING, "Up", PM_ANY_MODE, .code = PM_ACT_UP},
    {"down", "down", "Goes one row down.", MOVING, "Down", PM_ANY_MODE, .code = PM_ACT_DOWN},
    {"left", "left", "Goes one column or character to the left.", MOVING, "Left", PM_ANY_MODE,
     .code = PM_ACT_LEFT},
    {"right", "right", "Goes one column or character to the right.", MOVING, "Right", PM_ANY_MODE,
     .code = PM_ACT_RIGHT},
    {"page-up", "page up", "Goes up by a screenful.", MOVING, "PageUp Ctrl-B", PM_ANY_MODE,
     .code = PM_ACT_PAGE_UP},
    {"page-down", "page down", "Goes down by a screenful.", MOVING, "PageDown Ctrl-D", PM_ANY_MODE,
     .code = PM_ACT_PAGE_DOWN},
    {"first", "first", "Goes to the first row, or to the start of the text.", MOVING, "Home Ctrl-A",
     PM_ANY_MODE, .code = PM_ACT_FIRST},
    {"last", "last", "Goes to the last row, or to the end of the text.", MOVING, "End Ctrl-E",
     PM_ANY_MODE, .code = PM_ACT_LAST},
    {"next", "next", "Goes to the next field, or completes the word.", MOVING, "Tab", PM_ANY_MODE,
     .code = PM_ACT_NEXT},
    {"previous", "previous", "Goes to the field before.", MOVING, "Shift-Tab", PM_ANY_MODE,
     .code = PM_ACT_PREV},
    {"accept", "accept", "Accepts what is typed or chosen.", MOVING, "Enter", PM_ANY_MODE,
     .code = PM_ACT_ACCEPT},
    {"back", "back", "Drops what is being typed, closes what is open.", MOVING, "Esc Ctrl-C",
     PM_ANY_MODE, .code = PM_ACT_CANCEL},
    {"close-page", "close", "Closes the page.", MOVING, "q", PM_MODE_PAGE, .code = PM_ACT_CANCEL},
    {"erase", "erase", "Erases the character before the cursor.", TYPING, "Backspace", PM_MODE_TEXT,
     .code = PM_ACT_ERASE},
    {"erase-here", "erase here", "Erases the character under the cursor.", TYPING, "Delete",
     PM_MODE_TEXT, .code = PM_ACT_DELETE},
    {"word-left", "word left", "Goes one word to the left.", TYPING, "Ctrl-Left Alt-b",
     PM_MODE_TEXT, .code = PM_ACT_WORD_LEFT},
    {"word-right", "word right", "Goes one word to the right.", TYPING, "Ctrl-Right Alt-f",
     PM_MODE_TEXT, .code = PM_ACT_WORD_RIGHT},
    {"erase-word", "erase word", "Erases the word before the cursor.", TYPING,
     "Ctrl-W Alt-Backspace", PM_MODE_TEXT, .code = PM_ACT_ERASE_WORD},
    {"erase-start", "erase to start", "Erases everything before the cursor.", TYPING, "Ctrl-U",
     PM_MODE_TEXT, .code = PM_ACT_ERASE_START},
    {"erase-end", "erase to end", "Erases everything from the cursor on.", TYPING, "Ctrl-K",
     PM_MODE_TEXT, .code = PM_ACT_ERASE_END},
    {"help", "all keys", "Shows every key that works here, and then all others.", AROUND,
     "? Ctrl-/ F1", PM_ANY_MODE, .code = PM_ACT_HELP},
    {"find-action", "find an action",
     "Lists what can be done here; typing part of a name narrows it, Enter does it.", AROUND,
     "; Ctrl-F", IN_ROOM | PM_MODE_EDIT, .code = PM_ACT_FIND},
    {"copy-table", "copy table",
     "Copies the table in front, all of it, as text that spreadsheets take.", AROUND, "Y",
     IN_ROOM | PM_MODE_PAGE, .code = PM_ACT_COPY},
    {"first-steps", "first steps",
     "Shows the first steps at the bottom of the rooms, or leaves them for good.", AROUND, "Ctrl-G",
     IN_ROOM, .code = PM_ACT_GUIDE},
    {"messages", "past messages", "Shows the last 200 messages.", AROUND, "Ctrl-N",
     PM_ANY_MODE & ~(uint32_t)PM_MODE_PAGE, .code = PM_ACT_MESSAGES},
    {"repaint", "repaint", "Paints the whole screen again.", AROUND, "Ctrl-L", PM_ANY_MODE,
     .code = PM_ACT_REPAINT},
    {"saved", "is it saved?", "Says whether all is saved; every change is saved as it is made.",
     AROUND, "Ctrl-S", PM_ANY_MODE, .code = PM_ACT_SAVE},
    {"suspend", "suspend", "Stops the program and goes back to the shell; fg resumes.", AROUND,
     "Alt-z", IN_ROOM | PM_MODE_EDIT, .code = PM_ACT_SUSPEND},
    {"quit", "leave", "Leaves the program; asks only when something is half typed.", AROUND,
     "q Ctrl-Q", IN_ROOM | PM_MODE_EDIT, .code = PM_ACT_QUIT},
};

const struct pm_action_table pm_toolkit_actions = {rows, sizeof rows / sizeof *rows};
