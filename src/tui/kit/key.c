/* SPDX-License-Identifier: MIT */
/* Keys as values, and their names. */
#include "key.h"

#include "permille/base/utf8.h"

#include <stdio.h>
#include <string.h>
#include <strings.h>

static const struct {
    uint32_t code;
    const char *name;
} names[] = {
    {' ', "Space"},
    {PM_KEY_ENTER, "Enter"},
    {PM_KEY_ESC, "Esc"},
    {PM_KEY_TAB, "Tab"},
    {PM_KEY_BACKSPACE, "Backspace"},
    {PM_KEY_INSERT, "Insert"},
    {PM_KEY_DELETE, "Delete"},
    {PM_KEY_UP, "Up"},
    {PM_KEY_DOWN, "Down"},
    {PM_KEY_LEFT, "Left"},
    {PM_KEY_RIGHT, "Right"},
    {PM_KEY_HOME, "Home"},
    {PM_KEY_END, "End"},
    {PM_KEY_PAGE_UP, "PageUp"},
    {PM_KEY_PAGE_DOWN, "PageDown"},
};
#define NAME_COUNT (sizeof names / sizeof *names)

static const struct {
    unsigned mod;
    const char *name;
} mods[] = {
    {PM_MOD_CTRL, "Ctrl-"},
    {PM_MOD_ALT, "Alt-"},
    {PM_MOD_SHIFT, "Shift-"},
};
#define MOD_COUNT (sizeof mods / sizeof *mods)

/* What Ctrl makes of a character on a terminal: 0 when it stays a key of its own. */
static uint32_t ctrl_alias(uint32_t code)
{
    switch (code) {
    case 'm':
    case 'j':
        return PM_KEY_ENTER;
    case 'i':
        return PM_KEY_TAB;
    case 'h':
        return PM_KEY_BACKSPACE;
    case '[':
        return PM_KEY_ESC;
    default:
        return 0;
    }
}

struct pm_key pm_key_make(uint32_t code, unsigned modifiers)
{
    if (code == 0x7F) {
        code = PM_KEY_BACKSPACE;
    } else if (code < 0x20) {
        static const char last[] = {'[', '\\', ']', '^', '/'};
        code = code == 0 ? ' ' : code <= 26 ? code + 0x60 : (uint32_t)last[code - 27];
        modifiers |= PM_MOD_CTRL;
    }
    if (code < PM_KEY_NONE) {
        bool upper = code >= 'A' && code <= 'Z';
        bool lower = code >= 'a' && code <= 'z';
        if ((modifiers & PM_MOD_CTRL) && upper)
            code += 0x20;
        else if ((modifiers & PM_MOD_SHIFT) && lower && !(modifiers & PM_MOD_CTRL))
            code -= 0x20;
        modifiers &= ~(unsigned)PM_MOD_SHIFT;
    }
    if (modifiers & PM_MOD_CTRL) {
        if (code == '_')
            code = '/';
        else if (code == '@')
            code = ' ';
        uint32_t alias = ctrl_alias(code);
        if (alias) {
            code = alias;
            modifiers &= ~(unsigned)PM_MOD_CTRL;
        }
    }
    return (struct pm_key){code, (uint8_t)modifiers};
}

bool pm_key_equal(struct pm_key a, struct pm_key b)
{
    return a.code == b.code && a.mods == b.mods;
}

bool pm_key_prints(struct pm_key key)
{
    return key.code >= 0x20 && key.code < PM_KEY_NONE && key.mods == 0;
}

bool pm_key_begins_number(struct pm_key key)
{
    return pm_key_prints(key) && key.code < 0x80 && strchr(PM_NUMBER_BEGINS, (int)key.code) != NULL;
}

char *pm_key_name(struct pm_key key, char *buf)
{
    char *at = buf;
    for (size_t i = 0; i < MOD_COUNT; i++)
        if (key.mods & mods[i].mod)
            at = stpcpy(at, mods[i].name);
    for (size_t i = 0; i < NAME_COUNT; i++) {
        if (names[i].code == key.code) {
            strcpy(at, names[i].name);
            return buf;
        }
    }
    if (key.code >= PM_KEY_F1 && key.code <= PM_KEY_F12) {
        snprintf(at, 4, "F%u", (unsigned)(key.code - PM_KEY_F1 + 1) % 100);
        return buf;
    }
    /* Letters on keyboards are capitals; without Ctrl the case tells two keys apart. */
    if ((key.mods & PM_MOD_CTRL) && key.code >= 'a' && key.code <= 'z')
        key.code -= 0x20;
    at[pm_utf8_encode(key.code, at)] = '\0';
    return buf;
}

static bool same(const char *name, const char *text, size_t length)
{
    return strlen(name) == length && strncasecmp(name, text, length) == 0;
}

bool pm_key_read(const char *text, size_t length, struct pm_key *out)
{
    unsigned found = 0;
    for (size_t i = 0; i < MOD_COUNT; i++) {
        size_t prefix = strlen(mods[i].name);
        if (length > prefix && strncasecmp(text, mods[i].name, prefix) == 0) {
            found |= mods[i].mod;
            text += prefix;
            length -= prefix;
            i = (size_t)-1; /* they may come in any order */
        }
    }
    if (length == 0)
        return false;
    uint32_t code;
    if (pm_utf8_decode(text, length, &code) == length) {
        if (code == 0xFFFD || code <= 0x20 || pm_utf8_width(code) < 1)
            return false;
        *out = pm_key_make(code, found);
        return true;
    }
    for (size_t i = 0; i < NAME_COUNT; i++) {
        if (same(names[i].name, text, length)) {
            *out = pm_key_make(names[i].code, found);
            return true;
        }
    }
    for (unsigned n = 1; n <= 12; n++) {
        char name[8];
        snprintf(name, sizeof name, "F%u", n);
        if (same(name, text, length)) {
            *out = pm_key_make(PM_KEY_F1 + n - 1, found);
            return true;
        }
    }
    return false;
}
