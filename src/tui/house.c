/* SPDX-License-Identifier: MIT */
/* What the rooms share (rooms.h). */
#include "rooms.h"

#include "permille/base/mem.h"
#include "permille/base/text.h"
#include "permille/base/utf8.h"
#include "permille/studio/bench.h"
#include "permille/studio/settings.h"
#include "permille/studio/shelf.h"
#include "permille/studio/trials.h"

#include <string.h>

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

/* ---- completing a trial ---- */

/* Whether `title` goes on from what was typed and is not named already. */
static bool offers(const char *title, const char *before, size_t stem)
{
    const char *named = strstr(before, title);
    char *typed = pm_fold(before + stem), *whole = pm_fold(title);
    const bool fits = typed != NULL && whole != NULL && strncmp(typed, whole, strlen(typed)) == 0;
    pm_free(typed);
    pm_free(whole);
    return fits && !(named != NULL && (size_t)(named - before) < stem);
}

static bool complete(const struct pm_trial_entries *trials, const char *name, const char *before,
                     size_t round, struct pm_text *out)
{
    const char *comma = strrchr(before, ',');
    size_t stem = comma != NULL ? (size_t)(comma - before) + 1 : 0;
    bool found = false;
    stem += strspn(before + stem, " ");
    for (size_t i = trials->count; i-- > 0 && !found;) {
        struct pm_text title = PM_TEXT_EMPTY;
        pm_text_addf(&title, "%s/%lld", name, (long long)trials->items[i].row.number);
        if (trials->items[i].row.number > 0 && offers(pm_text_get(&title), before, stem) &&
            round-- == 0) {
            pm_text_add_bytes(out, before, stem);
            pm_text_add(out, pm_text_get(&title));
            found = true;
        }
        pm_text_release(&title);
    }
    return found;
}

bool pm_complete_trial(const struct pm_house *house, const char *before, size_t round,
                       struct pm_text *out)
{
    struct pm_trial_entries trials;
    char *name = NULL;
    if (house->formula == 0 || pm_house_name(house, &name, NULL) != PM_OK)
        return false;
    bool found = false;
    if (pm_trials_list(house->studio, house->formula, PM_TRIALS_IN_SIGHT, &trials, NULL) == PM_OK) {
        found = complete(&trials, name, before, round, out);
        pm_list_release(&trials);
    }
    pm_free(name);
    return found;
}
