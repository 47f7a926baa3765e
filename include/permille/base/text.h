/* SPDX-License-Identifier: MIT */
/*
 * Growing UTF-8 text. A failed growth marks the text (sticky) and drops further additions, so a
 * writer checks once at the end with pm_text_ok(). What is added is copied, and taken as it is:
 * that it is UTF-8 without NUL is the caller's part. Memory comes from mem.h.
 */
#ifndef PERMILLE_BASE_TEXT_H
#define PERMILLE_BASE_TEXT_H

#include <stdarg.h>
#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct pm_text {
    char *data;      /* NUL-terminated, or NULL while empty; owned */
    size_t length;   /* bytes without the NUL */
    size_t capacity; /* bytes allocated */
    bool failed;     /* memory ran out; the content is incomplete */
};

#define PM_TEXT_EMPTY                                                                              \
    {                                                                                              \
        NULL, 0, 0, false                                                                          \
    }

/* Makes it empty without freeing anything, as PM_TEXT_EMPTY does where it is declared. */
void pm_text_init(struct pm_text *text);
void pm_text_release(struct pm_text *text);  /* frees; empty and usable again afterwards */
void pm_text_clear(struct pm_text *text);    /* keeps the memory; also clears `failed` */
bool pm_text_ok(const struct pm_text *text); /* nothing added so far was dropped */
/* Borrowed until the text changes; never NULL, "" while empty. */
const char *pm_text_get(const struct pm_text *text);
/* Hands the string to the caller (free with pm_free) and empties the text. NULL when failed. */
char *pm_text_take(struct pm_text *text);

/* At the end: a string (not NULL), `length` bytes (0 allowed), one byte, a number in decimal, or as
 * printf. */
void pm_text_add(struct pm_text *text, const char *string);
void pm_text_add_bytes(struct pm_text *text, const char *bytes, size_t length);
void pm_text_add_char(struct pm_text *text, char byte);
void pm_text_add_int(struct pm_text *text, int64_t value);
void pm_text_addf(struct pm_text *text, const char *format, ...)
    __attribute__((format(printf, 2, 3)));
void pm_text_addv(struct pm_text *text, const char *format, va_list args)
    __attribute__((format(printf, 2, 0)));

/* Formats into a buffer of `size` bytes, cut to fit; returns buf. Needs no memory. */
char *pm_print(char *buf, size_t size, const char *format, ...)
    __attribute__((format(printf, 3, 4)));

#endif
