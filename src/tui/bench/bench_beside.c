/* SPDX-License-Identifier: MIT */
/* What is shown beside the trial it came from. */
#include "bench.h"

void bench_compare(void *state)
{
    struct bench *bench = state;
    const struct pm_sheet *sheet = bench->sheet;
    struct pm_error err = {0};
    if (sheet == NULL)
        pm_app_say(bench->app, "No formula is open.");
    else if (sheet->trial.parent == 0)
        pm_app_say(bench->app, "This was started from nothing: there is no trial to compare it "
                               "with.");
    else if (pm_trials_compare(bench->app, (const int64_t[]){sheet->trial.parent, sheet->trial_id},
                               2, &err) != PM_OK)
        pm_app_error(bench->app, &err);
}
