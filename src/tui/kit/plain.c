/* SPDX-License-Identifier: MIT */
/* What is shown where only ASCII can be (plain.h). */
#include "plain.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"

#include <string.h>

/* What stands for a character where only ASCII can be shown. Letters lose their accents instead.
 * The per mille sign is not among them: a percent sign for it would be ten times as much. */
static const struct {
    uint32_t code;
    char ascii;
} plain_signs[] = {
    {0x2500, '-'}, {0x2502, '|'}, {0x2014, '-'}, {0x2013, '-'}, {0x2026, '~'}, {0x00B7, '.'},
    {0x2022, '*'}, {0x2039, '<'}, {0x203A, '>'}, {0x2190, '<'}, {0x2191, '^'}, {0x2192, '>'},
    {0x2193, 'v'}, {0x25B2, '^'}, {0x25BC, 'v'}, {0x25B8, '>'}, {0x25C2, '<'}, {0x25CF, 'o'},
    {0x25CB, 'o'}, {0x25C6, '*'}, {0x25C7, '*'}, {0x2713, 'v'}, {0x00D7, 'x'}, {0x2248, '~'},
    {0x2264, '<'}, {0x2265, '>'}, {0x00A0, ' '}, {0x00B5, 'u'}, {0x2588, '#'}, {0x258C, '#'},
    {0x2590, '#'}, {0x2591, '.'}, {0x2592, ':'}, {0x2593, '#'},
};

char pm_plain_sign(uint32_t code, const struct pm_cell *cell)
{
    char text[PM_CELL_BYTES + 1] = "";
    if (code < 0x7F)
        return (char)code;
    for (size_t i = 0; i < sizeof plain_signs / sizeof *plain_signs; i++)
        if (plain_signs[i].code == code)
            return plain_signs[i].ascii;
    memcpy(text, cell->bytes, cell->length);
    char *folded = pm_fold(text);
    char ascii = folded != NULL && folded[0] > ' ' && folded[0] < 0x7F ? folded[0] : '?';
    pm_free(folded);
    return ascii;
}
