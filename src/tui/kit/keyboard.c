/* SPDX-License-Identifier: MIT */
/* Keys and pastes from what the terminal sends (keyboard.h). */
#include "keyboard.h"

#include "input.h"
#include "permille/base/utf8.h"

#define PASTE_MOST (1024 * 1024) /* bytes of one paste; the rest is dropped */
#define BYTE_MOST  0xFF

static int next_byte(struct pm_keyboard *keyboard)
{
    int code = keyboard->next(keyboard->context);
    if (code != PM_NO_BYTE)
        keyboard->heard = true;
    /* Wherever it is met, behind an Esc or half a character: what follows is text, never keys. */
    if (code == PM_PASTE_BEGINS)
        keyboard->pasting = true;
    return code;
}

/* The rest of a UTF-8 character; false when it is not whole yet (kept for the next look) or bad. */
static bool character(struct pm_keyboard *keyboard, int byte, struct pm_key *out)
{
    size_t need = byte >= 0xF0 ? 4 : byte >= 0xE0 ? 3 : 2;
    if (keyboard->partial_length == 0)
        keyboard->partial[keyboard->partial_length++] = (char)byte;
    else
        need = (unsigned char)keyboard->partial[0] >= 0xF0   ? 4
               : (unsigned char)keyboard->partial[0] >= 0xE0 ? 3
                                                             : 2;
    while (keyboard->partial_length < need) {
        int next = next_byte(keyboard);
        if (next == PM_NO_BYTE)
            return false;
        if (next < 0x80 || next > 0xBF) {
            keyboard->partial_length = 0;
            if (next < 0x80)
                keyboard->next_key = pm_key_make((uint32_t)next, 0);
            return false;
        }
        keyboard->partial[keyboard->partial_length++] = (char)next;
    }
    uint32_t code;
    bool whole = pm_utf8_decode(keyboard->partial, need, &code) == need;
    keyboard->partial_length = 0;
    if (whole)
        *out = pm_key_make(code, 0);
    return whole && pm_utf8_width(code) >= 0;
}

/* What follows an Esc that curses could make nothing of. */
static bool after_escape(struct pm_keyboard *keyboard, struct pm_event *event)
{
    struct pm_key *out = &event->key;
    char bytes[PM_SEQUENCE_BYTES];
    size_t length = 0;
    int code = next_byte(keyboard);
    if (code == PM_NO_BYTE || code == PM_PASTE_BEGINS || code == '\033') {
        keyboard->escaped = code == '\033';
        *out = pm_key_make(PM_KEY_ESC, 0);
        return true;
    }
    if (code != '[' && code != 'O') {
        if (code > BYTE_MOST ? !keyboard->named(code, out)
            : code >= 0x80   ? !character(keyboard, code, out)
                             : false)
            return false;
        if (code < 0x80)
            *out = pm_key_make((uint32_t)code, 0);
        out->mods |= PM_MOD_ALT;
        return true;
    }
    bytes[length++] = (char)code;
    while (length < sizeof bytes && pm_sequence_goes_on(bytes, length)) {
        code = next_byte(keyboard);
        if (code == PM_NO_BYTE || code > 0x7E)
            break;
        bytes[length++] = (char)code;
    }
    if (length == 1) {
        *out = pm_key_make((uint32_t)bytes[0], PM_MOD_ALT);
        return true;
    }
    return pm_sequence_mouse(bytes, length, event) || pm_sequence_key(bytes, length, out);
}

/* Bytes between the paste brackets. True when the closing one has come. */
static bool paste_goes_on(struct pm_keyboard *keyboard)
{
    int code;
    while ((code = next_byte(keyboard)) != PM_NO_BYTE) {
        if (code == PM_PASTE_ENDS)
            return true;
        if (code <= BYTE_MOST && keyboard->pasted.length < PASTE_MOST)
            pm_text_add_char(&keyboard->pasted, (char)code);
    }
    return false;
}

bool pm_keyboard_pasted(struct pm_keyboard *keyboard, struct pm_event *event)
{
    keyboard->pasting = false;
    pm_text_clear(&keyboard->text);
    pm_paste_clean(pm_text_get(&keyboard->pasted), keyboard->pasted.length, &keyboard->text);
    pm_text_clear(&keyboard->pasted);
    event->kind = PM_EVENT_PASTE;
    event->text = pm_text_get(&keyboard->text);
    return pm_text_ok(&keyboard->text) && keyboard->text.length > 0;
}

bool pm_keyboard_read(struct pm_keyboard *keyboard, struct pm_event *event)
{
    keyboard->heard = false;
    event->kind = PM_EVENT_KEY;
    if (keyboard->next_key.code) {
        event->key = keyboard->next_key;
        keyboard->next_key.code = 0;
        return true;
    }
    if (keyboard->pasting)
        return paste_goes_on(keyboard) && pm_keyboard_pasted(keyboard, event);
    if (keyboard->escaped) {
        keyboard->escaped = false;
        return after_escape(keyboard, event);
    }
    int code = next_byte(keyboard);
    if (code == PM_NO_BYTE)
        return false;
    if (code == PM_PASTE_BEGINS)
        return paste_goes_on(keyboard) && pm_keyboard_pasted(keyboard, event);
    if (code > BYTE_MOST)
        return keyboard->named(code, &event->key);
    if (keyboard->partial_length > 0 && (code < 0x80 || code > 0xBF))
        keyboard->partial_length = 0;
    if (code == '\033')
        return after_escape(keyboard, event);
    if (keyboard->partial_length > 0) {
        keyboard->partial[keyboard->partial_length++] = (char)code;
        return character(keyboard, code, &event->key);
    }
    if (code >= 0x80)
        return code >= 0xC2 && code <= 0xF4 && character(keyboard, code, &event->key);
    event->key = pm_key_make((uint32_t)code, 0);
    return true;
}

void pm_keyboard_release(struct pm_keyboard *keyboard)
{
    pm_text_release(&keyboard->pasted);
    pm_text_release(&keyboard->text);
}
