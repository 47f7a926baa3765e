/* SPDX-License-Identifier: MIT */
/*
 * The blotter: the smell log of kept trials, and the running session that says what to smell when.
 *
 * Forms hold text as it was typed: front ends pass it on and show the sentence that comes back.
 * Smell notes are never changed; a correction is a new note that names the old one. Whatever the
 * clock does, nothing is lost: a note keeps the time it was given, and the remark says what is odd.
 */
#ifndef PERMILLE_STUDIO_BLOTTER_H
#define PERMILLE_STUDIO_BLOTTER_H

#include "permille/core/smell.h"
#include "permille/core/smelled.h"
#include "permille/studio/studio.h"

/* What to heed before something is smelled on this medium, one sentence per line; static. */
const char *pm_medium_caution(enum pm_medium medium);

/* What was done, for the person. Both strings are owned; remark may be NULL. */
struct pm_smell_done {
    int64_t id;
    char *sentence, *remark;
};
void pm_smell_done_release(struct pm_smell_done *done);

/* ---- the smell log ---- */

/*
 * What was smelled: values as typed, by attribute of pm_smell_entity. NULL stands for "not given":
 * then a correction keeps what the old note said, and otherwise what was applied decides, or the
 * usual: now, on a blotter, by the person themself, as long after as is measured. "" takes away
 * what a correction would keep. A value of trial is needed unless the session or the corrected note
 * tells it; one of session unless only one that runs fits.
 */
struct pm_smell_form {
    const char *values[PM_SMELL_ATTRIBUTES];
    int64_t trial, application, corrects; /* the same by their ids; 0: as typed */
    bool withdraw;                        /* takes it back and puts nothing in its place */
};
/*
 * PM_INVALID for what cannot be read, for a note that says nothing (no intensity, liking or words),
 * and when nothing tells how long after application it was; PM_REFUSED for a draft, for times in
 * the future, when several running ones fit, and when the note was corrected already.
 */
enum pm_status pm_smells_log(struct pm_studio *studio, const struct pm_smell_form *form,
                             struct pm_smell_done *out, struct pm_error *err);

/* number 0: of all kept trials. corrected_too: also what was corrected or taken back. By trial,
 * then by time since application. *remark (may be NULL) is set when the clock was set back behind
 * some of them, else NULL; it goes with the list. */
enum pm_status pm_smells_list(struct pm_studio *studio, int64_t formula, int64_t number,
                              bool corrected_too, struct pm_smells *out, const char **remark,
                              struct pm_error *err);
/* Any note, also a corrected one; its strings go into `arena`. PM_MISSING. */
enum pm_status pm_smells_get(struct pm_studio *studio, int64_t id, struct pm_arena *arena,
                             struct pm_smell *out, struct pm_error *err);

struct pm_smell_picture {
    struct pm_plot plot;
    char **sentences; /* owned; the same told in words, one per series */
    size_t count;
};
/* Intensity over time of kept trials, each medium a series of its own ("Name/3", "Name/3 on
 * skin"). PM_REFUSED when that is more than PM_PLOT_SERIES_MAX, and for sizes as pm_smell_plot. */
enum pm_status pm_smells_plot(struct pm_studio *studio, const int64_t *trials, size_t count,
                              size_t width, size_t height, struct pm_smell_picture *out,
                              struct pm_error *err);
void pm_smell_picture_release(struct pm_smell_picture *picture);

/* Words of the notes by stage; number 0: of all kept trials. pm_words_release(). */
enum pm_status pm_smells_words(struct pm_studio *studio, int64_t formula, int64_t number,
                               struct pm_words out[PM_STAGES], struct pm_error *err);

struct pm_word_list {
    struct pm_word *items; /* owned; the most frequent first */
    size_t count;
};
/* All words used in the library's notes, for completion. */
enum pm_status pm_smells_known_words(struct pm_studio *studio, struct pm_word_list *out,
                                     struct pm_error *err);
void pm_word_list_release(struct pm_word_list *list);

/* ---- the running session ---- */

/* Puts something on, to be smelled over time; values as typed, by attribute of pm_session_entity,
 * NULL: not given. Usual are now, on a blotter, by the library's schedule. */
enum pm_status pm_session_start(struct pm_studio *studio, const char *const *values,
                                struct pm_smell_done *out, struct pm_error *err);
/* Ends one, or takes an ended one up again. PM_REFUSED when it is so already. */
enum pm_status pm_session_stop(struct pm_studio *studio, int64_t id, struct pm_smell_done *out,
                               struct pm_error *err);
enum pm_status pm_session_resume(struct pm_studio *studio, int64_t id, struct pm_smell_done *out,
                                 struct pm_error *err);
/* "4", or "Name/3" where only one of that trial is running. */
enum pm_status pm_session_find(struct pm_studio *studio, const char *text, int64_t *id,
                               struct pm_error *err);

struct pm_session_entry {
    struct pm_application row;
    const char *title;  /* "Name/3" */
    int64_t since;      /* seconds since application; 0 when the clock is behind it */
    struct pm_due due;  /* of a running one */
    int64_t due_since;  /* the scheduled time that is due or next; -1: none */
    size_t smelled;     /* notes of it */
    int last_intensity; /* of the newest note; -1 */
    const char *state;  /* "15 min due", "next 1 h, in 12 min", "all smelled" */
    const char *remark; /* or NULL: clock set back, running for over a month */
};
struct pm_session_entries {
    struct pm_session_entry *items; /* first applied first */
    size_t count;
    size_t due; /* how many are to be smelled now */
    struct pm_arena arena;
};
enum pm_status pm_session_list(struct pm_studio *studio, bool ended_too,
                               struct pm_session_entries *out, struct pm_error *err);

/* "smell now: Name/3 15 min (+2)" and "smell now (+2)", for the key line of every room: cheap, and
 * quiet when nothing is running. */
enum pm_status pm_session_due(struct pm_studio *studio, struct pm_due_note *out,
                              struct pm_error *err);

/* The schedule that new ones get: *out is a new string (pm_free). "" sets the usual one back. */
enum pm_status pm_session_schedule(struct pm_studio *studio, char **out, struct pm_error *err);
enum pm_status pm_session_set_schedule(struct pm_studio *studio, const char *text,
                                       struct pm_error *err);

#endif
