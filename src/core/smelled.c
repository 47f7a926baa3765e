/* SPDX-License-Identifier: MIT */
/* The smell log: its words, and the descriptions of a note and of what is put on. */
#include "permille/core/smelled.h"

#include "permille/core/smell.h"

#include "permille/base/word.h"

static const char *const medium_words[PM_MEDIA] = {"blotter", "skin", "other"};

const char *pm_medium_word(enum pm_medium medium)
{
    return medium_words[medium];
}

bool pm_medium_from_word(const char *word, enum pm_medium *out)
{
    const int place = pm_word_place(medium_words, PM_MEDIA, word);
    if (place >= 0)
        *out = (enum pm_medium)place;
    return place >= 0;
}

#define MEDIA        "blotter|skin|other"
#define TRIAL_HINT   "A kept trial; Tab goes through those of this formula."
#define SESSION_NOTE 2000
#define SCHEDULE     800

/* ---- a note ---- */

#define AT(member) .offset = offsetof(struct pm_smell, member)

static const struct pm_attribute note_attributes[PM_SMELL_ATTRIBUTES] = {
    [PM_SMELL_INTENSITY] = {.key = "intensity",
                            .title = "Intensity",
                            .hint = "0: nothing left, 10: as strong as can be.",
                            .help = "0 nothing left, 10 as strong as can be",
                            .kind = PM_ATTRIBUTE_LEVEL,
                            .most = PM_INTENSITY_MAX,
                            .unknown = -1,
                            AT(intensity)},
    [PM_SMELL_NOTE] = {.key = "note",
                       .title = "Words",
                       .called = "note",
                       .hint = "Tab completes words used before; may stay empty.",
                       .help = "in your own words",
                       .kind = PM_ATTRIBUTE_NOTE,
                       .limit = PM_SMELL_NOTE_MAX,
                       AT(note)},
    [PM_SMELL_LIKING] = {.key = "liking",
                         .title = "Liking",
                         .hint = "0: cannot bear it, 5: neither, 10: love it; may stay empty.",
                         .help = "0 cannot bear it, 5 neither, 10 love it",
                         .kind = PM_ATTRIBUTE_LEVEL,
                         .most = PM_LIKING_MAX,
                         .unknown = -1,
                         AT(liking)},
    [PM_SMELL_SINCE] = {.key = "since",
                        .json = "after_s",
                        .option = "at",
                        .title = "After",
                        .called = "time since it was put on",
                        .hint = "Time since it was put on: 15min, 2h, 1d.",
                        .help = "how long after it was put on: 15min, 2h, 3d",
                        .kind = PM_ATTRIBUTE_SPAN,
                        .unknown = -1,
                        AT(since)},
    [PM_SMELL_TRIAL] = {.key = "trial",
                        .title = "Trial",
                        .hint = TRIAL_HINT,
                        .kind = PM_ATTRIBUTE_REFERENCE,
                        .choices = "trial",
                        AT(trial)},
    [PM_SMELL_MEDIUM] = {.key = "medium",
                         .json = "on",
                         .option = "on",
                         .title = "On",
                         .help = "blotter without it",
                         .kind = PM_ATTRIBUTE_CHOICE,
                         .choices = MEDIA,
                         AT(medium)},
    [PM_SMELL_STRENGTH] = {.key = "strength",
                           .title = "Strength",
                           .hint = "Of the trial in what was smelled, 15%; may stay empty.",
                           .help = "of the trial in what is smelled",
                           .kind = PM_ATTRIBUTE_STRENGTH,
                           AT(strength)},
    [PM_SMELL_ASSESSOR] = {.key = "assessor",
                           .title = "Smelled by",
                           .called = "assessor's name",
                           .hint = "Who smelled it; empty: yourself.",
                           .help = "who smelled it; yourself without it",
                           .kind = PM_ATTRIBUTE_TEXT,
                           AT(assessor)},
    [PM_SMELL_WHEN] = {.key = "when",
                       .json = "at",
                       .title = "Smelled",
                       .help = "when it was smelled; now without it",
                       .kind = PM_ATTRIBUTE_TIME,
                       AT(at)},
    [PM_SMELL_SESSION] = {.key = "session",
                          .option = "of",
                          .title = "Of the session",
                          .help = "which one of the running session",
                          .kind = PM_ATTRIBUTE_REFERENCE,
                          .choices = "session",
                          AT(application)},
    [PM_SMELL_CORRECTS] = {.key = "corrects",
                           .option = "correct",
                           .title = "Note to correct",
                           .help = "note that this one replaces; the rest stays",
                           .kind = PM_ATTRIBUTE_COUNT,
                           .most = INT64_MAX,
                           AT(corrects)},
};
const struct pm_entity pm_smell_entity = {"smell note", note_attributes, PM_SMELL_ATTRIBUTES};

/* ---- what is put on ---- */

#undef AT
#define AT(member) .offset = offsetof(struct pm_application, member)

static const struct pm_attribute session_attributes[PM_SESSION_ATTRIBUTES] = {
    [PM_SESSION_TRIAL] = {.key = "trial",
                          .title = "Trial",
                          .hint = TRIAL_HINT,
                          .kind = PM_ATTRIBUTE_REFERENCE,
                          .choices = "trial",
                          .required = true,
                          AT(trial)},
    [PM_SESSION_MEDIUM] = {.key = "medium",
                           .json = "on",
                           .option = "on",
                           .title = "On",
                           .help = "blotter without it",
                           .kind = PM_ATTRIBUTE_CHOICE,
                           .choices = MEDIA,
                           AT(medium)},
    [PM_SESSION_STRENGTH] = {.key = "strength",
                             .title = "Strength",
                             .hint = "Of the trial in what is put on, 15%; may stay empty.",
                             .help = "of the trial in what is smelled",
                             .kind = PM_ATTRIBUTE_STRENGTH,
                             AT(strength)},
    [PM_SESSION_AGO] = {.key = "ago",
                        .title = "How long ago",
                        .hint = "When it was put on: 10min for ten minutes ago; empty: just now.",
                        .help = "put on that long ago",
                        .kind = PM_ATTRIBUTE_SPAN,
                        .typed_only = true,
                        .unknown = -1,
                        AT(ago)},
    [PM_SESSION_WHEN] = {.key = "when",
                         .json = "applied_at",
                         .title = "Put on",
                         .help = "put on then",
                         .kind = PM_ATTRIBUTE_TIME,
                         AT(applied_at)},
    [PM_SESSION_SCHEDULE] = {.key = "schedule",
                             .title = "Schedule",
                             .hint = "When to smell it, after it was put on: 0, 15min, 1h, 1d.",
                             .help = "when to smell: \"0, 15min, 1h, 1d\"",
                             .kind = PM_ATTRIBUTE_NOTE,
                             .limit = SCHEDULE,
                             AT(schedule)},
    [PM_SESSION_NOTE] = {.key = "note",
                         .title = "Note",
                         .hint = "Which blotter, where on the skin; may stay empty.",
                         .help = "which blotter, where on the skin",
                         .kind = PM_ATTRIBUTE_NOTE,
                         .limit = SESSION_NOTE,
                         AT(note)},
};
const struct pm_entity pm_session_entity = {"session", session_attributes, PM_SESSION_ATTRIBUTES};
