/* SPDX-License-Identifier: MIT */
/* What the rooms share (rooms.h). */
#include "rooms.h"

#include "permille/base/mem.h"
#include "permille/studio/bench.h"
#include "permille/studio/settings.h"
#include "permille/studio/shelf.h"

#define SOLVENTS 2000 /* materials looked through for solvents */

enum pm_status pm_house_name(const struct pm_house *house, char **out, struct pm_error *err)
{
    struct pm_sheet *sheet;
    enum pm_status status = pm_sheet_open_draft(house->studio, house->formula, &sheet, err);
    if (status != PM_OK)
        return status;
    char *name = pm_strdup(sheet->name);
    pm_sheet_free(sheet);
    if (name == NULL)
        return pm_fail_memory(err);
    *out = name;
    return PM_OK;
}

void pm_house_read_settings(struct pm_house *house)
{
    struct pm_settings settings;
    if (house->settings.base == 0)
        pm_settings_usual(&house->settings);
    if (pm_settings_now(house->studio, &settings, NULL) == PM_OK)
        house->settings = settings;
}

int64_t pm_house_batch(const struct pm_house *house)
{
    return house->batch > 0 ? house->batch : house->settings.batch;
}

bool pm_complete_solvent(const struct pm_house *house, const char *before, size_t round,
                         struct pm_text *out)
{
    struct pm_material_entries found;
    if (pm_shelf_search(house->studio, before, SOLVENTS, false, &found, NULL) != PM_OK)
        return false;
    bool any = false;
    for (size_t i = 0; i < found.count && !any; i++) {
        if (!found.items[i].is_solvent)
            continue;
        any = round == 0;
        if (any)
            pm_text_add(out, found.items[i].name);
        round--;
    }
    pm_list_release(&found);
    return any;
}
