/* SPDX-License-Identifier: MIT */
/* Tall letters for names that look alike. */
#include "permille/core/tall.h"

#include "permille/base/utf8.h"

#include <stdbool.h>
#include <string.h>

static char lower(char c)
{
    return c >= 'A' && c <= 'Z' ? (char)(c + 32) : c;
}

/* Whether a character begins here, so that none is cut. */
static bool at_edge(const char *text, size_t offset)
{
    return ((unsigned char)text[offset] & 0xC0) != 0x80;
}

static size_t same_front(const char *a, const char *b)
{
    size_t length = 0;
    while (a[length] && lower(a[length]) == lower(b[length]))
        length++;
    while (length > 0 && !at_edge(a, length))
        length--;
    return length;
}

static size_t same_back(const char *a, size_t a_length, const char *b, size_t b_length, size_t most)
{
    size_t length = 0;
    while (length < most && lower(a[a_length - length - 1]) == lower(b[b_length - length - 1]))
        length++;
    while (length > 0 && !at_edge(a, a_length - length))
        length--;
    return length;
}

static bool in_word(const char *text, size_t offset)
{
    return text[offset] != '\0' && text[offset] != ' ' && text[offset] != '-' && offset > 0 &&
           text[offset - 1] != ' ' && text[offset - 1] != '-';
}

struct alike {
    size_t score, from, to;
};

/* What of `name` differs from `other`, when they look alike. */
static bool compare(const char *name, const char *other, struct alike *out)
{
    const size_t length = strlen(name), other_length = strlen(other);
    const size_t shorter = length < other_length ? length : other_length;
    const size_t longer = length < other_length ? other_length : length;
    const size_t front = same_front(name, other);
    if (length == other_length && front == length)
        return false;
    const size_t back = same_back(name, length, other, other_length, shorter - front);
    const bool parts_within = front >= 4 && (in_word(name, front) || in_word(other, front));
    if (!parts_within && (front + back) * 5 < longer * 3)
        return false;
    *out = (struct alike){front + back, front, length - back};
    if (parts_within && (front + back) * 5 < longer * 3) { /* the word they part in */
        out->to = front;
        while (in_word(name, out->to) || (out->to == front && name[out->to] > ' '))
            out->to++;
    }
    if (out->to > out->from && !in_word(name, out->from)) /* a word of its own */
        while (in_word(name, out->to))
            out->to++;
    return true;
}

static void add_large(const char *text, size_t length, struct pm_text *out)
{
    for (size_t at = 0; at < length;) {
        uint32_t code;
        char bytes[4];
        at += pm_utf8_decode(text + at, length - at, &code);
        pm_text_add_bytes(out, bytes, pm_utf8_encode(pm_utf8_upper(code), bytes));
    }
}

void pm_tall_name(const char *const *names, size_t count, size_t at, struct pm_text *out)
{
    const char *name = names[at];
    struct alike best = {0}, one;
    for (size_t i = 0; i < count; i++)
        if (i != at && compare(name, names[i], &one) && one.score > best.score)
            best = one;
    pm_text_add_bytes(out, name, best.from);
    add_large(name + best.from, best.to - best.from, out);
    pm_text_add(out, name + best.to);
}
