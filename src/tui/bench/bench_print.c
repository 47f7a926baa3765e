/* SPDX-License-Identifier: MIT */
/* The Bench: the formula that is shown, into a file. */
#include "bench.h"

#include "kit/printing.h"

#include "permille/studio/paper.h"

static enum pm_status print_formula(void *context, enum pm_paper paper, struct pm_text *out,
                                    struct pm_error *err)
{
    const struct bench *bench = context;
    const struct pm_sheet *sheet = pm_bench_shown(bench->app);
    if (sheet == NULL)
        return pm_fail(err, PM_MISSING, "No formula is open in the Bench.");
    return pm_paper_sheets(&sheet, 1, paper, bench->house->sign, out, err);
}

void bench_print(void *state)
{
    struct bench *bench = state;
    const struct pm_sheet *sheet = pm_bench_shown(bench->app);
    struct pm_text name = PM_TEXT_EMPTY;
    if (sheet == NULL) {
        pm_app_say(bench->app, "No formula is open.");
        return;
    }
    pm_text_add(&name, sheet->name);
    if (sheet->number > 0)
        pm_text_addf(&name, "/%lld", (long long)sheet->number);
    const struct pm_print_spec spec = {.title = "The formula into a file",
                                       .name = pm_text_get(&name),
                                       .make = print_formula,
                                       .context = bench};
    pm_print_open(bench->app, &spec);
    pm_text_release(&name);
}
