/* SPDX-License-Identifier: MIT */
/* The batch that is reckoned with. */
#include "bench.h"

#include "kit/overlay.h"

#include "permille/base/utf8.h"

static enum pm_status batch_accept(void *context, const char *text, struct pm_error *err)
{
    struct bench *bench = context;
    pm_mass mass = 0;
    enum pm_status status = pm_mass_read(text, &mass, err);
    if (status == PM_OK && mass <= 0)
        status = pm_fail(err, PM_INVALID, "A batch has more than no mass.");
    if (status != PM_OK)
        return status;
    bench->house->batch = mass;
    pm_app_changed(bench->app, PM_ROOM_BENCH);
    return bench_reload(bench, err);
}

static enum pm_role batch_check(void *context, const char *text, struct pm_text *out)
{
    pm_mass mass;
    struct pm_error err = {0};
    (void)context;
    if (pm_is_blank(text) || pm_mass_read(text, &mass, &err) == PM_OK) {
        pm_text_add(out, "Masses of the lines, stock, and what can be weighed go by it.");
        return PM_ROLE_FAINT;
    }
    pm_text_add(out, err.text);
    return PM_ROLE_ERROR;
}

void bench_weigh_batch(void *state)
{
    struct bench *bench = state;
    char text[PM_AMOUNT_TEXT];
    const struct pm_prompt_spec spec = {
        .title = "The batch that the rooms reckon with",
        .label = "Mass",
        .text = pm_mass_exact(pm_house_batch(bench->house), bench->house->sign, text),
        .replace = true,
        .check = batch_check,
        .accept = batch_accept,
        .context = bench};
    pm_prompt_open(bench->app, &spec);
}
