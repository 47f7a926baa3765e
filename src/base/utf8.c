/* SPDX-License-Identifier: MIT */
/* Bytes and code points. */
#include "permille/base/utf8.h"

#include <string.h>

#define REPLACEMENT 0xFFFDU

size_t pm_utf8_decode(const char *text, size_t length, uint32_t *out)
{
    static const uint32_t least[] = {0, 0, 0x80, 0x800, 0x10000}; /* shorter forms are overlong */
    unsigned char lead = (unsigned char)text[0];
    if (lead < 0x80) { /* most of all text */
        *out = lead;
        return 1;
    }
    size_t need = lead < 0xC0 ? 0 : lead < 0xE0 ? 2 : lead < 0xF0 ? 3 : 4;
    uint32_t code = need < 2 ? lead : lead & (0xFFU >> (need + 1));

    *out = REPLACEMENT;
    if (need == 0 || lead > 0xF4 || need > length)
        return 1;
    for (size_t i = 1; i < need; i++) {
        unsigned char byte = (unsigned char)text[i];
        if ((byte & 0xC0) != 0x80)
            return 1;
        code = code << 6 | (byte & 0x3F);
    }
    if (code < least[need] || code > 0x10FFFF || (code >= 0xD800 && code <= 0xDFFF))
        return 1;
    *out = code;
    return need;
}

size_t pm_utf8_encode(uint32_t code, char out[4])
{
    if (code > 0x10FFFF || (code >= 0xD800 && code <= 0xDFFF))
        code = REPLACEMENT;
    if (code < 0x80) {
        out[0] = (char)code;
        return 1;
    }
    if (code < 0x800) {
        out[0] = (char)(0xC0 | code >> 6);
        out[1] = (char)(0x80 | (code & 0x3F));
        return 2;
    }
    if (code < 0x10000) {
        out[0] = (char)(0xE0 | code >> 12);
        out[1] = (char)(0x80 | (code >> 6 & 0x3F));
        out[2] = (char)(0x80 | (code & 0x3F));
        return 3;
    }
    out[0] = (char)(0xF0 | code >> 18);
    out[1] = (char)(0x80 | (code >> 12 & 0x3F));
    out[2] = (char)(0x80 | (code >> 6 & 0x3F));
    out[3] = (char)(0x80 | (code & 0x3F));
    return 4;
}

bool pm_utf8_valid(const char *text, size_t length)
{
    for (size_t at = 0; at < length;) {
        uint32_t code;
        size_t used = pm_utf8_decode(text + at, length - at, &code);
        if (used == 1 && code == REPLACEMENT)
            return false;
        at += used;
    }
    return true;
}

size_t pm_utf8_space(const char *text)
{
    uint32_t code;
    size_t used;

    if (text[0] == ' ' || (text[0] >= '\t' && text[0] <= '\r'))
        return 1;
    if ((unsigned char)text[0] < 0x80)
        return 0;
    used = pm_utf8_decode(text, strnlen(text, 4), &code);
    switch (code) {
    case 0x85:
    case 0xA0:
    case 0x1680:
    case 0x2028:
    case 0x2029:
    case 0x202F:
    case 0x205F:
    case 0x3000:
        return used;
    default:
        return code >= 0x2000 && code <= 0x200A ? used : 0;
    }
}

bool pm_is_blank(const char *text)
{
    size_t used;
    while ((used = pm_utf8_space(text)) > 0)
        text += used;
    return *text == '\0';
}
