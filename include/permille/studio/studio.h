/* SPDX-License-Identifier: MIT */
/*
 * The studio: an open library seen as use cases. Both front ends go through these calls and hold
 * no rules of their own. Cleaned names in, sentences out; one call that changes something is one
 * transaction.
 */
#ifndef PERMILLE_STUDIO_STUDIO_H
#define PERMILLE_STUDIO_STUDIO_H

#include "permille/base/clock.h"
#include "permille/base/watch.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct pm_studio;

struct pm_studio_options {
    bool create; /* make the library when there is none */
    bool read_only;
    bool scratch;                 /* changes go to a copy in memory (PM_LIBRARY_SCRATCH) */
    const struct pm_clock *clock; /* NULL: the system's; borrowed for the studio's life */
    const struct pm_watch *watch; /* who looks on while it is opened; NULL: nobody */
};

/* options NULL: as all zero. Statuses as pm_library_open. The caller closes *out, which is set only
 * with PM_OK. Materials of the starter shelf that the program knows better by now follow it. */
enum pm_status pm_studio_open(const char *path, const struct pm_studio_options *options,
                              struct pm_studio **out, struct pm_error *err);
void pm_studio_close(struct pm_studio *studio); /* NULL allowed */
/* As pm_library_unmake: what was refused leaves no new library behind. */
void pm_studio_unmake(struct pm_studio *studio);

/* Opened so, or because the file cannot be written. */
bool pm_studio_read_only(const struct pm_studio *studio);
/* As pm_library_remark; borrowed for the studio's life. */
const char *pm_studio_remark(const struct pm_studio *studio);
/* Who looks on while something long is done, and may stop it (base/watch.h, pm_library_watch): any
 * call may then end with PM_STOPPED. NULL: nobody. */
void pm_studio_watch(struct pm_studio *studio, const struct pm_watch *watch);
int64_t pm_studio_now(const struct pm_studio *studio); /* seconds since 1970, by its clock */
/* As pm_library_confirm: what was left PM_UNSURE is asked about again. */
enum pm_status pm_studio_confirm(struct pm_studio *studio, struct pm_error *err);
/* True once after another instance committed something; caches have then been dropped and what is
 * on screen should be read again. */
bool pm_studio_changed_outside(struct pm_studio *studio);

/*
 * What a person sees as one thing is read as one: between the two every read sees the file as it
 * was at the beginning, and the file is opened once for all of them. They nest; every successful
 * begin needs its end. Others cannot commit meanwhile, so it is for moments, and nothing can be
 * changed within it (PM_REFUSED). Every call of the studio that reads more than one thing looks by
 * itself.
 */
enum pm_status pm_studio_look_begin(struct pm_studio *studio, struct pm_error *err);
void pm_studio_look_end(struct pm_studio *studio);

/* What is due of one kind; the texts are "" when nothing is. */
#define PM_DUE_TEXT  256
#define PM_DUE_BRIEF 48
struct pm_due_note {
    size_t now;               /* how many */
    int64_t next_at;          /* when the next one becomes due; 0: none to come */
    char text[PM_DUE_TEXT];   /* the first of them, and how many more */
    char brief[PM_DUE_BRIEF]; /* what is to be done alone, and how many more */
};

/* Several calls as one change: what they write is written when the outermost pair ends with PM_OK,
 * or not at all. The studio's own calls nest inside. Every begun change must be ended; `status` is
 * passed on when it is not PM_OK. */
enum pm_status pm_studio_change_begin(struct pm_studio *studio, struct pm_error *err);
enum pm_status pm_studio_change_end(struct pm_studio *studio, enum pm_status status,
                                    struct pm_error *err);

/* As pm_library_backup, pm_library_verify, pm_library_salvage, which say what is promised and by
 * which statuses. A finding's sentence is borrowed for the call. */
enum pm_status pm_studio_backup(struct pm_studio *studio, const char *path, bool replace,
                                struct pm_error *err);
typedef void pm_studio_finding(void *context, const char *sentence);
enum pm_status pm_studio_verify(struct pm_studio *studio, pm_studio_finding *finding, void *context,
                                struct pm_error *err);
enum pm_status pm_studio_salvage(const char *damaged, const char *into,
                                 const struct pm_watch *watch, pm_studio_finding *finding,
                                 void *context, struct pm_error *err);

#endif
