/* SPDX-License-Identifier: MIT */
/*
 * Keys and pastes from the bytes that a terminal sends. Where they come from is the terminal's: it
 * gives one after the other, and codes of its own for sequences that it knows as a key.
 */
#ifndef PERMILLE_TUI_KEYBOARD_H
#define PERMILLE_TUI_KEYBOARD_H

#include "event.h"
#include "permille/base/text.h"

#include <stdbool.h>
#include <stddef.h>

/* What next() gives beside bytes and the terminal's codes, which are above bytes. */
enum { PM_NO_BYTE = -1, PM_PASTE_BEGINS = 0x2001, PM_PASTE_ENDS = 0x2002 };

struct pm_keyboard {
    int (*next)(void *context);                  /* does not wait */
    bool (*named)(int code, struct pm_key *out); /* the key that a code of the terminal's means */
    void *context;
    struct pm_text pasted;
    struct pm_text text; /* of the last paste, cleaned; lent to the event */
    bool pasting;
    bool escaped;           /* a second Esc came: what follows it has not been looked at */
    struct pm_key next_key; /* a key that came together with another; code 0 for none */
    char partial[4];        /* a UTF-8 character whose other bytes have not arrived */
    size_t partial_length;
    bool heard; /* the last look found something */
};

/* One look. True with an event; false with `heard` when what came was no event. */
bool pm_keyboard_read(struct pm_keyboard *keyboard, struct pm_event *event);
/* Hands over what was pasted, though its end has not come; false when nothing of it is text. */
bool pm_keyboard_pasted(struct pm_keyboard *keyboard, struct pm_event *event);
void pm_keyboard_release(struct pm_keyboard *keyboard);

#endif
