/* SPDX-License-Identifier: MIT */
/* Escape sequences and pasted text. */
#include "input.h"

#include "event.h"

#include "permille/base/utf8.h"

bool pm_sequence_goes_on(const char *bytes, size_t length)
{
    if (length == 0)
        return true;
    if (bytes[0] == 'O')
        return length < 2;
    if (bytes[0] != '[')
        return false;
    /* Linux's console sends "[[A" for F1. */
    if (length == 2 && bytes[1] == '[')
        return true;
    return length < 2 || (unsigned char)bytes[length - 1] < 0x40 ||
           (unsigned char)bytes[length - 1] > 0x7E;
}

/* xterm's modifier parameter is 1 plus bits for Shift, Alt, Ctrl. */
static unsigned modifiers(unsigned parameter)
{
    unsigned bits = parameter > 0 ? parameter - 1 : 0;
    return (bits & 1 ? (unsigned)PM_MOD_SHIFT : 0) | (bits & 2 ? (unsigned)PM_MOD_ALT : 0) |
           (bits & 4 ? (unsigned)PM_MOD_CTRL : 0);
}

static uint32_t letter_key(char final)
{
    switch (final) {
    case 'A':
        return PM_KEY_UP;
    case 'B':
        return PM_KEY_DOWN;
    case 'C':
        return PM_KEY_RIGHT;
    case 'D':
        return PM_KEY_LEFT;
    case 'F':
        return PM_KEY_END;
    case 'H':
        return PM_KEY_HOME;
    case 'M':
        return PM_KEY_ENTER;
    case 'P':
    case 'Q':
    case 'R':
    case 'S':
        return PM_KEY_F1 + (uint32_t)(final - 'P');
    case 'Z':
        return PM_KEY_TAB;
    default:
        return PM_KEY_NONE;
    }
}

static uint32_t number_key(unsigned number)
{
    static const uint32_t low[] = {PM_KEY_NONE,      PM_KEY_HOME, PM_KEY_INSERT,
                                   PM_KEY_DELETE,    PM_KEY_END,  PM_KEY_PAGE_UP,
                                   PM_KEY_PAGE_DOWN, PM_KEY_HOME, PM_KEY_END};
    if (number < sizeof low / sizeof *low)
        return low[number];
    if (number >= 11 && number <= 15)
        return PM_KEY_F1 + number - 11;
    if (number >= 17 && number <= 21)
        return PM_KEY_F1 + number - 12;
    if (number == 23 || number == 24)
        return PM_KEY_F1 + number - 13;
    return PM_KEY_NONE;
}

bool pm_sequence_key(const char *bytes, size_t length, struct pm_key *out)
{
    unsigned numbers[2] = {0, 0};
    size_t count = 0;
    uint32_t code;
    if (length < 2 || (bytes[0] != '[' && bytes[0] != 'O'))
        return false;
    char final = bytes[length - 1];
    if (bytes[0] == '[' && bytes[1] == '[') {
        if (length != 3 || final < 'A' || final > 'E')
            return false;
        *out = pm_key_make(PM_KEY_F1 + (uint32_t)(final - 'A'), 0);
        return true;
    }
    for (size_t i = 1; i + 1 < length; i++)
        if (bytes[i] == ';')
            count++;
        else if (bytes[i] < '0' || bytes[i] > '9' || count > 1 || numbers[count] > 0x10FFFF)
            return false;
        else
            numbers[count] = numbers[count] * 10 + (unsigned)(bytes[i] - '0');
    if (count > 1)
        return false;
    unsigned mods = modifiers(numbers[1]);
    if (final == '~')
        code = number_key(numbers[0]);
    else if (final == 'u' && bytes[0] == '[')
        code = numbers[0];
    else
        code = letter_key(final);
    if (final == 'Z')
        mods |= PM_MOD_SHIFT;
    if (code == PM_KEY_NONE || code > PM_KEY_F12 || (final == 'u' && code >= PM_KEY_NONE))
        return false;
    if (final == 'u' && code < 0x20) {
        /* Enter, Tab, Esc by their control codes, not as Ctrl-letters. */
        struct pm_key plain = pm_key_make(code, 0);
        if (plain.code < PM_KEY_NONE)
            return false;
        code = plain.code;
    }
    *out = pm_key_make(code, mods);
    return true;
}

void pm_paste_clean(const char *bytes, size_t length, struct pm_text *out)
{
    for (size_t at = 0; at < length;) {
        uint32_t code;
        size_t step = pm_utf8_decode(bytes + at, length - at, &code);
        bool bad = code == 0xFFFD && step < 3;
        if (code == '\r' && at + 1 < length && bytes[at + 1] == '\n')
            step = 2;
        if (code == '\r' || code == '\n')
            pm_text_add_char(out, '\n');
        else if (code == '\t') /* between the cells of a table that was copied */
            pm_text_add_char(out, '\t');
        else if (!bad && pm_utf8_width(code) >= 0)
            pm_text_add_bytes(out, bytes + at, step);
        at += step;
    }
}

/* ---- the mouse ---- */

#define WHEEL_UP   64
#define WHEEL_DOWN 65

bool pm_sequence_mouse(const char *bytes, size_t length, struct pm_event *event)
{
    unsigned numbers[3] = {0};
    size_t at = 2, which = 0;
    if (length < 8 || bytes[0] != '[' || bytes[1] != '<' || bytes[length - 1] != 'M')
        return false;
    for (; at + 1 < length; at++)
        if (bytes[at] == ';' && which < 2)
            which++;
        else if (bytes[at] >= '0' && bytes[at] <= '9' && numbers[which] < 10000)
            numbers[which] = numbers[which] * 10 + (unsigned)(bytes[at] - '0');
        else
            return false;
    if (which != 2 || numbers[1] == 0 || numbers[2] == 0)
        return false;
    if (numbers[0] == WHEEL_UP || numbers[0] == WHEEL_DOWN) {
        *event = (struct pm_event){.kind = PM_EVENT_WHEEL, .rows = numbers[0] == WHEEL_UP ? -1 : 1};
        return true;
    }
    if (numbers[0] != 0)
        return false;
    *event = (struct pm_event){
        .kind = PM_EVENT_CLICK, .rows = (int)numbers[2] - 1, .columns = (int)numbers[1] - 1};
    return true;
}
