/* SPDX-License-Identifier: MIT */
/*
 * How every call below the front ends reports failure.
 *
 * A call returns a status; the sentence for the person is written once, where the
 * reason is known, into the struct pm_error the caller passed (NULL is allowed: then
 * only the status is wanted). A failed call leaves everything as it was.
 */
#ifndef PERMILLE_BASE_STATUS_H
#define PERMILLE_BASE_STATUS_H

#include <stdarg.h>

enum pm_status {
    PM_OK = 0,
    PM_REFUSED, /* a rule of the trade forbids it; the sentence names what would work */
    PM_INVALID, /* malformed input: a number, name, date, ratio */
    PM_MISSING, /* no such formula, trial, line, material, revision */
    PM_EXISTS,  /* the name is taken */
    PM_STALE,   /* the draft changed since it was read; read again */
    PM_BUSY,    /* another process holds the file; nothing was written */
    PM_FULL,    /* no space left; nothing was written */
    PM_IO,      /* the file cannot be read or written */
    PM_DAMAGED, /* the file's content contradicts itself */
    PM_NEWER,   /* the file was made by a newer program */
    PM_FOREIGN, /* the file is not a permille library */
    PM_NOMEM,   /* out of memory */
    PM_STOPPED, /* the person gave it up (base/watch.h); nothing was changed */
    PM_UNSURE   /* the change was written, but the disk did not confirm it: a power cut may undo it.
                   Look before doing it again */
};

#define PM_ERROR_TEXT 480

struct pm_error {
    enum pm_status status;
    char text[PM_ERROR_TEXT]; /* one sentence, UTF-8, no newline; empty when status is PM_OK */
    const char *field;        /* key of the field it is about (static), or NULL */
};

/* Records status and the formatted sentence in err (if not NULL) and returns status. Text that
 * does not fit is cut, after a word where one ends nearby, and ends in an ellipsis; control
 * characters are replaced. */
enum pm_status pm_fail(struct pm_error *err, enum pm_status status, const char *format, ...)
    __attribute__((format(printf, 3, 4)));
enum pm_status pm_failv(struct pm_error *err, enum pm_status status, const char *format,
                        va_list args) __attribute__((format(printf, 3, 0)));

/* The same about one field of what was typed, by its key ("best_before"; borrowed, static): a form
 * puts the cursor there. */
enum pm_status pm_fail_at(struct pm_error *err, const char *field, enum pm_status status,
                          const char *format, ...) __attribute__((format(printf, 4, 5)));
/* Says of a call that may have failed which field it was about, unless the call said so itself.
 * Returns status. */
enum pm_status pm_error_at(struct pm_error *err, const char *field, enum pm_status status);

/* The sentence for lost memory, the same everywhere. Returns PM_NOMEM. */
enum pm_status pm_fail_memory(struct pm_error *err);

/* Sets err to PM_OK and an empty sentence. */
void pm_error_clear(struct pm_error *err);

/* A short stable word for a status ("refused", "busy"), for logs and JSON. Never NULL. */
const char *pm_status_word(enum pm_status status);

#endif
