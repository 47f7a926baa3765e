/* SPDX-License-Identifier: MIT */
/* What was filled, on record (studio/scale.h). */
#include "scale.h"

#include "permille/base/mem.h"
#include "permille/store/batches.h"

enum pm_status pm_filling_note(struct pm_studio *studio, struct pm_filling_row *row,
                               struct pm_error *err)
{
    struct pm_filling_row made = *row;
    struct pm_batch batch;
    char *note = NULL;
    enum pm_status status = pm_change_begin(studio, err);
    if (status != PM_OK)
        return status;
    if (row->batch != 0)
        status = pm_batch_get(studio->library, row->batch, NULL, &batch, err);
    if (status == PM_OK)
        status = pm_clean_text(row->note, "The note", PM_BATCH_NOTE_BYTES, &note, err);
    made.note = note;
    if (status == PM_OK)
        status = pm_filling_insert(studio->library, &made, err);
    status = pm_change_end(studio, status, err);
    pm_free(note);
    if (status == PM_OK)
        row->id = made.id;
    return status;
}

static enum pm_status list_fillings(struct pm_studio *studio, struct pm_filling_rows *out,
                                    struct pm_error *err)
{
    enum pm_status status = pm_filling_list(studio->library, out, err);
    for (size_t i = 0; status == PM_OK && i < out->count; i++) {
        struct pm_batch batch;
        if (out->items[i].batch == 0)
            continue;
        status = pm_batch_get(studio->library, out->items[i].batch, NULL, &batch, err);
        if (status == PM_OK)
            status = pm_batch_title(studio, &batch, &out->arena, err);
        out->items[i].title = status == PM_OK ? batch.title : NULL;
    }
    return status;
}

enum pm_status pm_fillings(struct pm_studio *studio, struct pm_filling_rows *out,
                           struct pm_error *err)
{
    struct pm_filling_rows rows = {0};
    enum pm_status status = pm_studio_look_begin(studio, err);
    if (status != PM_OK)
        return status;
    status = pm_look_over(studio, list_fillings(studio, &rows, err));
    pm_list_give(&rows, status, out);
    return status;
}
