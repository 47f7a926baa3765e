/* SPDX-License-Identifier: MIT */
/* The toolkit's own actions: moving, typing, help, leaving. */
#include "action.h"

/* Where a room has the keys, and where letters reach it. */
#define IN_ROOM (~(uint32_t)0xFF | PM_MODE_SHEET)

#define MOVING "Moving"
#define TYPING "Typing"
#define AROUND "Everywhere"

const struct pm_action pm_toolkit_actions[] = {
    {PM_ACT_UP, "up", "up", "Goes one row up.", MOVING, "Up", PM_ANYWHERE, PM_ANYWHERE, true},
    {PM_ACT_DOWN, "down", "down", "Goes one row down.", MOVING, "Down", PM_ANYWHERE, PM_ANYWHERE,
     true},
    {PM_ACT_LEFT, "left", "left", "Goes one column or character to the left.", MOVING, "Left",
     PM_ANYWHERE, PM_ANYWHERE, true},
    {PM_ACT_RIGHT, "right", "right", "Goes one column or character to the right.", MOVING, "Right",
     PM_ANYWHERE, PM_ANYWHERE, true},
    {PM_ACT_PAGE_UP, "page-up", "page up", "Goes up by a screenful.", MOVING, "PageUp Ctrl-B",
     PM_ANYWHERE, PM_ANYWHERE, true},
    {PM_ACT_PAGE_DOWN, "page-down", "page down", "Goes down by a screenful.", MOVING,
     "PageDown Ctrl-D", PM_ANYWHERE, PM_ANYWHERE, true},
    {PM_ACT_FIRST, "first", "first", "Goes to the first row, or to the start of the text.", MOVING,
     "Home Ctrl-A", PM_ANYWHERE, PM_ANYWHERE, true},
    {PM_ACT_LAST, "last", "last", "Goes to the last row, or to the end of the text.", MOVING,
     "End Ctrl-E", PM_ANYWHERE, PM_ANYWHERE, true},
    {PM_ACT_NEXT, "next", "next", "Goes to the next field, or completes the word.", MOVING, "Tab",
     PM_ANYWHERE, PM_ANYWHERE, true},
    {PM_ACT_PREV, "previous", "previous", "Goes to the field before.", MOVING, "Shift-Tab",
     PM_ANYWHERE, PM_ANYWHERE, true},
    {PM_ACT_ACCEPT, "accept", "accept", "Accepts what is typed or chosen.", MOVING, "Enter",
     PM_ANYWHERE, PM_ANYWHERE, true},
    {PM_ACT_CANCEL, "back", "back", "Drops what is being typed, closes what is open.", MOVING,
     "Esc Ctrl-C", PM_ANYWHERE, PM_ANYWHERE, true},
    {PM_ACT_CANCEL, "close-page", "close", "Closes the page.", MOVING, "q", PM_ANYWHERE,
     PM_MODE_PAGE, true},

    {PM_ACT_ERASE, "erase", "erase", "Erases the character before the cursor.", TYPING, "Backspace",
     PM_ANYWHERE, PM_MODE_TEXT, true},
    {PM_ACT_DELETE, "erase-here", "erase here", "Erases the character under the cursor.", TYPING,
     "Delete", PM_ANYWHERE, PM_MODE_TEXT, true},
    {PM_ACT_WORD_LEFT, "word-left", "word left", "Goes one word to the left.", TYPING,
     "Ctrl-Left Alt-b", PM_ANYWHERE, PM_MODE_TEXT, true},
    {PM_ACT_WORD_RIGHT, "word-right", "word right", "Goes one word to the right.", TYPING,
     "Ctrl-Right Alt-f", PM_ANYWHERE, PM_MODE_TEXT, true},
    {PM_ACT_ERASE_WORD, "erase-word", "erase word", "Erases the word before the cursor.", TYPING,
     "Ctrl-W Alt-Backspace", PM_ANYWHERE, PM_MODE_TEXT, true},
    {PM_ACT_ERASE_START, "erase-start", "erase to start", "Erases everything before the cursor.",
     TYPING, "Ctrl-U", PM_ANYWHERE, PM_MODE_TEXT, true},
    {PM_ACT_ERASE_END, "erase-end", "erase to end", "Erases everything from the cursor on.", TYPING,
     "Ctrl-K", PM_ANYWHERE, PM_MODE_TEXT, true},

    {PM_ACT_HELP, "help", "all keys", "Shows every key that works here, and then all others.",
     AROUND, "? Ctrl-/ F1", PM_ANYWHERE, PM_ANYWHERE, false},
    {PM_ACT_FIND, "find-action", "find an action",
     "Lists what can be done here; typing part of a name narrows it, Enter does it.", AROUND,
     "; Ctrl-F", PM_ANYWHERE, IN_ROOM | PM_MODE_EDIT, false},
    {PM_ACT_MESSAGES, "messages", "past messages", "Shows the last 200 messages.", AROUND, "Ctrl-N",
     PM_ANYWHERE, PM_ANYWHERE & ~(uint32_t)PM_MODE_PAGE, false},
    {PM_ACT_REPAINT, "repaint", "repaint", "Paints the whole screen again.", AROUND, "Ctrl-L",
     PM_ANYWHERE, PM_ANYWHERE, false},
    {PM_ACT_SAVE, "saved", "is it saved?",
     "Says whether all is saved; every change is saved as it is made.", AROUND, "Ctrl-S",
     PM_ANYWHERE, PM_ANYWHERE, false},
    {PM_ACT_SUSPEND, "suspend", "suspend",
     "Stops the program and goes back to the shell; fg resumes.", AROUND, "", PM_ANYWHERE,
     IN_ROOM | PM_MODE_EDIT, false},
    {PM_ACT_QUIT, "quit", "leave", "Leaves the program; asks only when something is half typed.",
     AROUND, "q Ctrl-Q", PM_ANYWHERE, IN_ROOM | PM_MODE_EDIT, false},
};

const size_t pm_toolkit_action_count = sizeof pm_toolkit_actions / sizeof *pm_toolkit_actions;
