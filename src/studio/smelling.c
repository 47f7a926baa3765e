/* SPDX-License-Identifier: MIT */
/*
 * What the smell log and the running session share.
 */
#include "smelling.h"

#include "permille/base/mem.h"
#include "permille/base/utf8.h"

const char *pm_medium_caution(enum pm_medium medium)
{
    if (medium == PM_ON_SKIN)
        return "Skin: a patch test proves little; a few people on a few days cannot show safety.\n"
               "Testing on people can sensitise them, for life. Dilute; keep an eye on Limits.\n"
               "Air the room; asthma and migraine can follow what is breathed in.";
    return "Air the room: asthma and migraine can follow what is breathed in.";
}

void pm_smell_done_release(struct pm_smell_done *done)
{
    pm_free(done->sentence);
    pm_free(done->remark);
    *done = (struct pm_smell_done){.id = 0};
}

bool pm_given(const char *text)
{
    return text != NULL && !pm_is_blank(text);
}

enum pm_status pm_smell_title(struct pm_studio *studio, int64_t trial, char **out,
                              struct pm_error *err)
{
    struct pm_kept *kept;
    struct pm_trial_row row;
    enum pm_status status = pm_trial_row_get(studio->library, trial, NULL, &row, err);
    if (status != PM_OK)
        return status;
    if (row.number == 0)
        return pm_fail(err, PM_REFUSED,
                       "Only kept trials are smelled, so that a note tells of something that stays "
                       "as it was: keep the draft first.");
    status = pm_studio_kept(studio, trial, false, &kept, err);
    return status == PM_OK ? pm_kept_title(studio, kept, out, err) : status;
}

enum pm_status pm_smell_past(struct pm_studio *studio, int64_t when, struct pm_error *err)
{
    char then[PM_TIME_TEXT], clock[PM_TIME_TEXT];
    const int64_t now = pm_studio_now(studio);
    if (when <= now)
        return PM_OK;
    return pm_fail_at(err, "when", PM_REFUSED, "%s is still to come: it is %s now.",
                      pm_time_format(when, then), pm_time_format(now, clock));
}

enum pm_status pm_smell_span(const char *field, int64_t span, struct pm_error *err)
{
    if (span <= PM_SCHEDULE_LONGEST)
        return PM_OK;
    return pm_fail_at(err, field, PM_INVALID, "That is too long: a year is the most.");
}

enum pm_status pm_smell_finish(struct pm_text *sentence, struct pm_text *remark, int64_t id,
                               struct pm_smell_done *out, struct pm_error *err)
{
    enum pm_status status = PM_OK;
    struct pm_smell_done done = {.id = id};
    if (pm_text_ok(sentence) && pm_text_ok(remark)) {
        done.sentence = pm_text_take(sentence);
        done.remark = remark->length > 0 ? pm_text_take(remark) : NULL;
    } else {
        status = pm_fail_memory(err);
    }
    pm_text_release(sentence);
    pm_text_release(remark);
    if (status == PM_OK)
        *out = done;
    return status;
}
