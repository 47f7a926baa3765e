/* SPDX-License-Identifier: MIT */
/* What is shown beside the trial it came from. */
#include "bench.h"

void bench_compare(void *state)
{
    struct bench *bench = state;
    const struct pm_sheet *sheet = bench->sheet;
    struct pm_beside beside;
    struct pm_error err = {0};
    if (sheet == NULL) {
        pm_app_say(bench->app, "No formula is open.");
        return;
    }
    enum pm_status status = pm_trial_beside(bench->house->studio, sheet->trial_id, &beside, &err);
    if (status == PM_OK && beside.before == 0) {
        pm_app_say(bench->app, "This was started from nothing: there is no trial to compare it "
                               "with.");
        return;
    }
    if (status == PM_OK)
        status =
            pm_trials_compare(bench->app, (const int64_t[]){beside.before, beside.after}, 2, &err);
    if (status != PM_OK)
        pm_app_error(bench->app, &err);
}
