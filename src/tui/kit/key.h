/* SPDX-License-Identifier: MIT */
/*
 * A key as a value: a code point or a named key, with modifiers; its printed name and the reading
 * of names. No terminal is involved.
 */
#ifndef PERMILLE_TUI_KEY_H
#define PERMILLE_TUI_KEY_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Named keys lie above all code points. */
enum pm_key_code {
    PM_KEY_NONE = 0x110000,
    PM_KEY_ENTER,
    PM_KEY_ESC,
    PM_KEY_TAB, /* with PM_MOD_SHIFT: back-tab */
    PM_KEY_BACKSPACE,
    PM_KEY_INSERT,
    PM_KEY_DELETE,
    PM_KEY_UP,
    PM_KEY_DOWN,
    PM_KEY_LEFT,
    PM_KEY_RIGHT,
    PM_KEY_HOME,
    PM_KEY_END,
    PM_KEY_PAGE_UP,
    PM_KEY_PAGE_DOWN,
    PM_KEY_F1,
    PM_KEY_F12 = PM_KEY_F1 + 11
};

enum pm_key_mod { PM_MOD_CTRL = 1, PM_MOD_ALT = 2, PM_MOD_SHIFT = 4 };

/* Letters carry their case and never PM_MOD_SHIFT; with PM_MOD_CTRL they are lower case. What
 * terminals cannot tell apart is one key: Ctrl-M and Enter, Ctrl-I and Tab, Ctrl-[ and Esc,
 * Ctrl-H and Backspace, Ctrl-_ and Ctrl-/. */
struct pm_key {
    uint32_t code; /* a code point or enum pm_key_code */
    uint8_t mods;  /* enum pm_key_mod, combined */
};

struct pm_key pm_key_make(uint32_t code, unsigned mods); /* brings it into the form above */
bool pm_key_equal(struct pm_key a, struct pm_key b);
/* A character that can be typed into a text: a code point without Ctrl and Alt. */
bool pm_key_prints(struct pm_key key);
/* These begin a number wherever one is typed without being asked for: they are no keys of actions.
 */
#define PM_NUMBER_BEGINS "0123456789.,=*("
bool pm_key_begins_number(struct pm_key key);

#define PM_KEY_TEXT 32
/* "u", "Ctrl-Z", "Shift-Tab", "PageUp", "Space". buf holds PM_KEY_TEXT bytes and is returned. */
char *pm_key_name(struct pm_key key, char *buf);
/* Reads a name (`length` bytes, case ignored except for single characters). False when it is
 * none. */
bool pm_key_read(const char *text, size_t length, struct pm_key *out);

#endif
