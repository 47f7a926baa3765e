/* SPDX-License-Identifier: MIT */
/* The first steps (studio/first_steps.h). */
#include "permille/studio/first_steps.h"

#include "inside.h"

#include "permille/base/mem.h"
#include "permille/store/library.h"

#include <string.h>

#define WANTED "first_steps"
#define TRACE  1000 /* of the whole, one part in so many */

/* What the draft has. */
static enum pm_status look_at(struct pm_studio *studio, int64_t formula, struct pm_first_steps *out,
                              struct pm_error *err)
{
    struct pm_sheet *sheet;
    const enum pm_status status = pm_sheet_open_draft(studio, formula, &sheet, err);
    if (status != PM_OK)
        return status;
    out->lines = sheet->trial.count;
    out->whole = sheet->total == sheet->trial.base;
    for (size_t i = 0; i < sheet->trial.count; i++) {
        const struct pm_line *line = &sheet->trial.lines[i];
        out->core = out->core || line->core > 0;
        out->trace = out->trace || (line->parts > 0 && line->parts < sheet->trial.base / TRACE);
    }
    pm_sheet_free(sheet);
    return PM_OK;
}

static enum pm_status read(struct pm_studio *studio, int64_t formula, struct pm_first_steps *out,
                           struct pm_error *err)
{
    struct pm_round_held held;
    const enum pm_status status = pm_library_held(studio->library, &held, err);
    if (status != PM_OK)
        return status;
    *out = (struct pm_first_steps){.materials = held.materials,
                                   .formulas = held.formulas,
                                   .kept = held.kept,
                                   .smelled = held.smelled};
    return formula != 0 ? look_at(studio, formula, out, err) : PM_OK;
}

enum pm_status pm_first_steps(struct pm_studio *studio, int64_t formula, struct pm_first_steps *out,
                              struct pm_error *err)
{
    const enum pm_status status = pm_studio_look_begin(studio, err);
    return status == PM_OK ? pm_look_over(studio, read(studio, formula, out, err)) : status;
}

enum pm_status pm_first_steps_wanted(struct pm_studio *studio, bool *wanted, struct pm_error *err)
{
    struct pm_round_held held;
    char *text = NULL;
    enum pm_status status = pm_setting_get(studio->library, WANTED, &text, err);
    *wanted = status == PM_OK && text != NULL && strcmp(text, "on") == 0;
    if (status == PM_OK && text == NULL && !pm_library_read_only(studio->library)) {
        status = pm_library_held(studio->library, &held, err);
        *wanted = status == PM_OK && !held.materials && !held.formulas;
        /* So that they go on after a restart, when the library is empty no more. */
        if (*wanted)
            status = pm_first_steps_want(studio, true, err);
    }
    pm_free(text);
    return status;
}

enum pm_status pm_first_steps_want(struct pm_studio *studio, bool wanted, struct pm_error *err)
{
    const enum pm_status status = pm_change_begin(studio, err);
    if (status != PM_OK)
        return status;
    return pm_change_end(studio,
                         pm_setting_put(studio->library, WANTED, wanted ? "on" : "off", err), err);
}
