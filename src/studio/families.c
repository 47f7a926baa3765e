/* SPDX-License-Identifier: MIT */
/* The odour families that the person's materials are sorted into. */
#include "inside.h"

#include "permille/base/mem.h"
#include "permille/store/shelf.h"
#include "permille/studio/shelf.h"

struct gathering {
    struct pm_family_entries list;
    size_t capacity;
    bool failed;
};

static bool add_family(void *context, const char *family, int64_t materials)
{
    struct gathering *gathering = context;
    char *name = pm_strdup(family);
    bool ok = pm_grow(&gathering->list.items, &gathering->capacity, gathering->list.count + 1,
                      sizeof *gathering->list.items);
    if (name == NULL || !ok) {
        pm_free(name);
        gathering->failed = true;
        return false;
    }
    gathering->list.items[gathering->list.count++] = (struct pm_family_entry){name, materials};
    return true;
}

enum pm_status pm_shelf_families(struct pm_studio *studio, struct pm_family_entries *out,
                                 struct pm_error *err)
{
    struct gathering gathering = {0};
    pm_studio_refresh(studio);
    enum pm_status status = pm_family_names(studio->library, add_family, &gathering, err);
    if (status == PM_OK && gathering.failed)
        status = pm_fail_memory(err);
    if (status != PM_OK) {
        pm_family_entries_release(&gathering.list);
        return status;
    }
    *out = gathering.list;
    return PM_OK;
}

void pm_family_entries_release(struct pm_family_entries *entries)
{
    for (size_t i = 0; i < entries->count; i++)
        pm_free(entries->items[i].name);
    pm_free(entries->items);
    *entries = (struct pm_family_entries){NULL, 0};
}
